//! One protocol on the calendar, and the starts of several, in words.

use super::document::{Block, Cell, Document, Hold, Row};
use super::protocol_facts::anchor;
use crate::base::error::{Finding, Severity};
use crate::base::time::{Zone, human_date};
use crate::planning::plan::Remark;
use crate::trade::protocol::backwards::{Backwards, GESTATION_SPREAD_DAYS, MEAN_GESTATION_DAYS};
use crate::trade::protocol::target::Target;
use crate::trade::protocol::timetable::{Entry, Part, Timetable};
use crate::trade::protocol::{Delay, Kind, Protocol};

/// One protocol on the calendar, as it is printed.
pub struct Dated<'a> {
    /// The protocol.
    pub protocol: &'a Protocol,
    /// Its dates.
    pub dates: &'a Timetable,
    /// What it was dated back from.
    pub back: Option<(&'a Target, &'a Backwards)>,
    /// What is to be said of it.
    pub found: &'a [Finding],
}

/// Starts of several protocols, as they are printed.
pub struct Starts<'a> {
    /// What they are for.
    pub target: &'a Target,
    /// The zone of local times.
    pub zone: Zone,
    /// Those that have one.
    pub starts: &'a [(&'a Protocol, Backwards)],
    /// Those that have none.
    pub left_out: &'a [(&'a Protocol, Finding)],
    /// What is to be said of them.
    pub found: &'a [Finding],
}

/// A protocol dated from its start, or back from breeding or from the first calf.
#[must_use]
pub(super) fn document(dated: &Dated<'_>) -> Document {
    let &Dated {
        protocol,
        dates,
        back,
        found,
    } = dated;
    let title = format!("{} ({})", protocol.name, protocol.id);
    let mut blocks = vec![Block::heading(1, &title), local(dates.zone)];
    blocks.extend(back.iter().flat_map(|(t, b)| asked(protocol, t, b)));
    let back = back.map(|(_, back)| back);
    let rows = dates.diary();
    let rows = rows.iter().map(|entry| row(protocol, dates, back, entry));
    let table = Block::table("Work by day", &["day", "time", "work"], rows);
    blocks.push(Block::part("days", "Work by day", vec![table]));
    blocks.extend(super::findings(found));
    let memory = protocol.has_unverified().then_some(
        "Some times of this protocol were not checked against the published sheet. Check them with it and your veterinarian before you use them.",
    );
    let notes = [
        "These times are for one animal.",
        "A group takes its time in the chute: `thawline plan` counts it.",
    ];
    let notes = Block::bullets(notes.into_iter().chain(memory));
    blocks.push(Block::part("reading", "How to read it", vec![notes]));
    Document { title, blocks }
}

fn local(zone: Zone) -> Block {
    Block::paragraph(format!("Times are local, {}.", zone.name()))
}

/// When to start for what was asked.
fn asked(protocol: &Protocol, target: &Target, back: &Backwards) -> Vec<Block> {
    let dates = &back.timetable;
    let step = &protocol.steps[back.step];
    let start = dates.zone.human(dates.began.at);
    let wanted = dates.zone.human(back.wanted);
    let from = anchor(protocol, step);
    let what = match (target, step.is_timed_breeding()) {
        (Target::Breeding { .. }, true) => {
            let after = hours(back);
            format!("To breed on {wanted} ({after} after {from}), start on {start}.")
        }
        (Target::Breeding { .. }, false) => {
            format!("For a heat watch that begins on {wanted}, start on {start}.")
        }
        (Target::FirstCalf { .. }, true) => {
            format!("Start on {start}. Breeding is on {wanted}.")
        }
        (Target::FirstCalf { .. }, false) => {
            format!("Start on {start}. The heat watch begins on {wanted}.")
        }
    };
    let mut blocks = vec![Block::paragraph(what)];
    blocks.extend(calves(target));
    blocks
}

/// Elapsed hours of the breeding after the step that it is counted from; none if it is not by the clock.
pub(super) fn hours_after(protocol: &Protocol, back: &Backwards) -> Option<f64> {
    let timed = protocol.steps[back.step].is_timed_breeding();
    timed.then(|| back.after().num_seconds() as f64 / 3600.0)
}

/// Minutes by which the target is missed.
pub(super) fn off_minutes(back: &Backwards) -> f64 {
    back.off.num_seconds() as f64 / 60.0
}

fn hours(back: &Backwards) -> String {
    let hours = back.after().num_seconds() as f64 / 3600.0;
    format!("{} h", (hours * 100.0).round() / 100.0)
}

/// What the days are counted back by, where calves are asked for.
fn calves(target: &Target) -> Vec<Block> {
    let (
        Target::FirstCalf {
            date,
            gestation_days,
            ..
        },
        Some((first, last)),
    ) = (target, target.calves())
    else {
        return Vec::new();
    };
    let source = if *gestation_days == MEAN_GESTATION_DAYS {
        "the mean of all breeds, TORELL"
    } else {
        "your own figure"
    };
    let counted = format!(
        "This is for calves on {} at {gestation_days} days of gestation ({source}).",
        human_date(*date)
    );
    let spread = format!(
        "Calves come {GESTATION_SPREAD_DAYS} days either way (TORELL): from {} to {}.",
        human_date(first),
        human_date(last)
    );
    [counted, spread].map(Block::paragraph).into()
}

/// A day of the diary; hours that leave a choice stand below the work.
fn row(protocol: &Protocol, dates: &Timetable, back: Option<&Backwards>, entry: &Entry) -> Row {
    let step = &protocol.steps[entry.step];
    let (time, what) = match entry.part {
        Part::FirstDay => ("first day".to_owned(), step.words()),
        Part::LastDay => {
            let days = step.lasts_days.unwrap_or(1);
            let what = format!("{} ({days} days)", step.words());
            ("last day".to_owned(), what)
        }
        Part::Whole(at) => (dates.zone.clock(at), step.words()),
    };
    let mut work = Cell::of(Hold::Entries, what);
    if let (Delay::Elapsed(window), Some(between), true) = (
        step.delay,
        dates.steps[entry.step].hours,
        entry.part != Part::LastDay,
    ) {
        let chosen = back.filter(|b| {
            b.step == entry.step && b.after() != window.aim && step.is_timed_breeding()
        });
        let chosen = chosen.map(|b| format!("; here at {}", hours(b)));
        let said = format!(
            "{} ({}, after {}{})",
            dates.zone.human_range(between.earliest, between.latest),
            window.words(),
            anchor(protocol, step),
            chosen.unwrap_or_default()
        );
        work.lines.push(said.into());
    }
    let day = Cell::head(Hold::Words, human_date(entry.day));
    Row::of(vec![day, Cell::of(Hold::Clock, time), work])
}

/// The starts of several protocols, the earliest first.
#[must_use]
pub(super) fn starts_document(asked: &Starts<'_>) -> Document {
    let &Starts {
        target,
        zone,
        starts,
        left_out,
        found,
    } = asked;
    let title = "Starts";
    let wanted = starts.first().map(|(_, b)| zone.human(b.wanted));
    let wanted = wanted.unwrap_or_default();
    let what = match target {
        Target::Breeding { .. } => format!(
            "When to start to breed on {wanted}. With heat alone, the heat watch begins then."
        ),
        Target::FirstCalf { .. } => {
            format!("When to start for the first breeding, or the heat watch, to be on {wanted}.")
        }
    };
    let mut blocks = vec![Block::heading(1, title), Block::paragraph(what)];
    blocks.extend(calves(target));
    blocks.push(local(zone));
    let rows = starts.iter().map(|(p, back)| start_row(zone, p, back));
    let table = Block::table("Starts", &["start", "protocol", "breeding"], rows);
    blocks.push(Block::part("starts", "The earliest first", vec![table]));
    if !left_out.is_empty() {
        let rows = left_out.iter().map(|(p, f)| {
            let asks = f.expected.as_deref().unwrap_or(&f.what);
            Row::of(vec![
                Cell::head(Hold::Names, p.id.as_str()),
                Cell::text(asks),
            ])
        });
        let table = Block::table("Left out", &["protocol", "what it asks for"], rows);
        blocks.push(Block::part("left-out", "Left out", vec![table]));
    }
    blocks.extend(super::remarks(&of_starts(starts, found)));
    let [late, early] = [22, 4].map(|hour| zone.told().hour(hour));
    let night = starts.iter().any(|(p, b)| at_night(p, b)).then(|| {
        format!("night: some work in the chute falls between {late} and {early} (common practice, no source). Another clock time of breeding moves all of it.")
    });
    let notes = [
        "AI 66 h: AI is 66 h after the step that its hours count from.",
        "One of them with all its dates: thawline protocols ID with the same times",
    ];
    let notes = vec![Block::bullets(
        night.into_iter().chain(notes.map(str::to_owned)),
    )];
    blocks.push(Block::part("reading", "How to read it", notes));
    Document {
        title: title.to_owned(),
        blocks,
    }
}

/// Findings of all, and of each what is more than a note.
fn of_starts(starts: &[(&Protocol, Backwards)], found: &[Finding]) -> Vec<Remark> {
    let each = starts.iter().flat_map(|(protocol, back)| {
        let found = back.findings(protocol).into_iter();
        let found = found.filter(|f| f.severity > Severity::Note);
        found.map(|mut f| {
            f.what = format!("`{}`: {}", protocol.id, f.what);
            Remark::from(&f)
        })
    });
    found.iter().map(Remark::from).chain(each).collect()
}

pub(super) fn at_night(protocol: &Protocol, back: &Backwards) -> bool {
    !back.timetable.night_work(protocol).is_empty()
}

fn start_row(zone: Zone, protocol: &Protocol, back: &Backwards) -> Row {
    let step = &protocol.steps[back.step];
    let mut then = match protocol.kind {
        _ if !step.is_timed_breeding() => "heat watch".to_owned(),
        Kind::EstrusDetectionThenTimed => format!("clean-up {}", hours(back)),
        Kind::SplitTime => format!("split {}", hours(back)),
        _ => format!("AI {}", hours(back)),
    };
    if at_night(protocol, back) {
        then += ", night";
    }
    Row::of(vec![
        Cell::text(zone.human(back.timetable.began.at)),
        Cell::head(Hold::Names, protocol.id.as_str()),
        Cell::text(then),
    ])
}
