//! A protocol as one line of signs, one a day, and the key to them.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::document::{Block, Cell, Row};
use crate::trade::protocol::{Kind, Mark, Protocol};

/// Columns that a timeline has.
const ROOM: usize = 46;

/// The sign of a day, and what it means.
fn sign(mark: Mark) -> (char, &'static str) {
    match mark {
        Mark::Breed => ('A', "AI at a set time"),
        Mark::PgTwice => ('2', "PG twice, hours apart"),
        Mark::GnrhAndPg => ('B', "GnRH and PG"),
        Mark::Pg => ('P', "PG"),
        Mark::Gnrh => ('G', "GnRH"),
        Mark::Estradiol => ('E', "estradiol"),
        Mark::InsertIn => ('i', "insert in"),
        Mark::InsertOut => ('o', "insert out"),
        Mark::Patch => ('h', "heat patch on"),
        Mark::Feed => ('m', "MGA fed"),
        Mark::Watch => ('w', "watch for heat and breed"),
        Mark::Insert => ('=', "insert stays in"),
        Mark::Nothing => ('.', "nothing to do"),
    }
}

fn days_a_sign(days: &[Mark]) -> usize {
    if days.len() <= ROOM {
        1
    } else {
        days.len().div_ceil(ROOM - 6)
    }
}

/// The line of a protocol: one sign a day; where that is too long, one for the
/// same number of days each, which then stands behind it, as in `x2`.
pub(super) fn line(protocol: &Protocol) -> String {
    let days = protocol.timeline();
    let each = days_a_sign(&days);
    let marks = days.chunks(each).filter_map(|days| days.iter().min());
    let mut text: String = marks.map(|mark| sign(*mark).0).collect();
    if each > 1 {
        let _ = write!(text, " x{each}");
    }
    text
}

/// What the signs in these timelines mean.
pub(super) fn key<'a>(protocols: impl IntoIterator<Item = &'a Protocol>) -> Block {
    let (mut used, mut scaled) = (BTreeSet::new(), false);
    for protocol in protocols {
        let days = protocol.timeline();
        scaled |= days_a_sign(&days) > 1;
        used.extend(days);
    }
    let signs = used.into_iter().map(sign);
    let signs = signs.map(|(sign, words)| (sign.to_string(), words));
    let more = ("x2, x3".to_owned(), "each sign stands for that many days");
    let facts = signs.chain(scaled.then_some(more));
    Block::part(
        "signs",
        "Key: one sign for each day, starting with the first treatment",
        vec![
            Block::paragraph("If two things fall on a day, the one higher in this list is shown."),
            Block::facts(facts),
        ],
    )
}

/// Protocols, each under some words, with its timeline.
pub(super) fn table<'a>(
    caption: &str,
    protocols: impl IntoIterator<Item = (String, &'a Protocol)>,
) -> Block {
    let rows = protocols.into_iter().flat_map(|(words, p)| {
        let cells = vec![
            Cell::text(p.days_to_breeding()),
            Cell::text(p.chute_passes()),
            Cell::text(breeds(p.kind)),
            Cell::text(line(p)),
        ];
        [Row::over_all(words), Row::of(cells)]
    });
    let columns = ["days", "trips", "bred by", "day by day"];
    Block::table(caption, &columns, rows)
}

/// How a protocol breeds, in a word or two.
fn breeds(kind: Kind) -> &'static str {
    match kind {
        Kind::FixedTime => "timed",
        Kind::EstrusDetection => "heat",
        Kind::EstrusDetectionThenTimed => "heat + timed",
        Kind::SplitTime => "split",
    }
}
