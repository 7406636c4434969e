//! A protocol as one line of signs, one a day, and the key to them.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::document::{Block, Cell, Row};
use crate::trade::protocol::{Kind, Mark, Protocol};

/// Columns that a timeline has.
const ROOM: usize = 46;

fn sign(mark: Mark) -> char {
    match mark {
        Mark::Breed => 'A',
        Mark::PgTwice => '2',
        Mark::GnrhAndPg => 'B',
        Mark::Pg => 'P',
        Mark::Gnrh => 'G',
        Mark::Estradiol => 'E',
        Mark::InsertIn => 'i',
        Mark::InsertOut => 'o',
        Mark::Patch => 'h',
        Mark::Feed => 'm',
        Mark::Watch => 'w',
        Mark::Insert => '=',
        Mark::Nothing => '.',
    }
}

fn words(mark: Mark) -> &'static str {
    match mark {
        Mark::Breed => "AI at a set time",
        Mark::PgTwice => "PG twice, hours apart",
        Mark::GnrhAndPg => "GnRH and PG",
        Mark::Pg => "PG",
        Mark::Gnrh => "GnRH",
        Mark::Estradiol => "estradiol",
        Mark::InsertIn => "insert in",
        Mark::InsertOut => "insert out",
        Mark::Patch => "heat patch on",
        Mark::Feed => "MGA fed",
        Mark::Watch => "watch for heat and breed",
        Mark::Insert => "insert stays in",
        Mark::Nothing => "nothing to do",
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
    let mut text: String = days
        .chunks(each)
        .filter_map(|days| days.iter().min())
        .map(|mark| sign(*mark))
        .collect();
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
    let signs = used.into_iter().map(|m| (sign(m).to_string(), words(m)));
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
