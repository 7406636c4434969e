//! A protocol as one line of signs, one a day, and the key to them.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::COLUMNS;
use crate::trade::protocol::{Kind, Mark, Protocol};

/// Columns in front of a timeline.
pub(super) const INDENT: usize = 34;

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

/// The line of a protocol: one sign a day; where that is too long for the terminal, one for the
/// same number of days each, which then stands behind it, as in `x2`.
pub(super) fn line(protocol: &Protocol) -> String {
    let days = protocol.timeline();
    let room = COLUMNS - INDENT;
    let scaled = room - 6;
    let each = if days.len() <= room {
        1
    } else {
        days.len().div_ceil(scaled)
    };
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
pub(super) fn key<'a>(protocols: impl IntoIterator<Item = &'a Protocol>) -> String {
    let (mut used, mut lines) = (BTreeSet::new(), Vec::new());
    for protocol in protocols {
        used.extend(protocol.timeline());
        lines.push(line(protocol));
    }
    let mut text = super::wrapped(
        "One sign a day, from the first treatment on. Of several things on one day the first of \
         these is drawn:",
        "",
        "",
    );
    let mut column = COLUMNS;
    for mark in used {
        let item = format!("{} {}", sign(mark), words(mark));
        if column + 3 + item.len() > COLUMNS {
            text += "\n  ";
            column = 2;
        } else {
            text += "   ";
            column += 3;
        }
        text += &item;
        column += item.len();
    }
    if lines.iter().any(|l| l.contains(" x")) {
        text += "\n  x2, x3, ... each sign stands for that many days";
    }
    text + "\n"
}

/// How a protocol breeds, in a word or two.
pub(super) fn breeds(kind: Kind) -> &'static str {
    match kind {
        Kind::FixedTime => "timed",
        Kind::EstrusDetection => "heat",
        Kind::EstrusDetectionThenTimed => "heat + timed",
        Kind::SplitTime => "split",
    }
}

/// `10 days, 3 passes, timed`.
pub(super) fn facts(protocol: &Protocol) -> String {
    let passes = protocol.chute_passes();
    format!(
        "{} days, {passes} {}, {}",
        protocol.days_to_breeding(),
        if passes == 1 { "pass" } else { "passes" },
        breeds(protocol.kind)
    )
}
