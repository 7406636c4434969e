//! One protocol on the calendar, and the starts of several, in words.

use super::answer::{Answer, Tables};
use super::document::{Block, Cell, Document, Hold, Row};
use super::table::{Table, clock, day_and_clock, fields, kinds};
use crate::base::error::{Finding, Severity};
use crate::base::time::human_date;
use crate::base::units::hundredths;
use crate::trade::protocol::backwards::{Backwards, GESTATION_SPREAD_DAYS, MEAN_GESTATION_DAYS};
use crate::trade::protocol::dates::{Dated, DatedStep, Dates, Starts};
use crate::trade::protocol::target::Target;
use crate::trade::protocol::timetable::{Entry, Part};
use crate::trade::protocol::{Delay, Kind, Protocol};

impl Answer for Dates<'_> {
    /// A protocol dated from its start, or back from breeding or from the first calf.
    fn document(&self) -> Document {
        let dated = &self.dated;
        let title = format!("{} ({})", dated.name, dated.protocol.id);
        let mut blocks = vec![Block::heading(1, &title), local(self.zone)];
        let asked_for = self.target.iter().zip(back(dated));
        blocks.extend(asked_for.flat_map(|(t, b)| asked(dated.protocol, t, b)));
        let rows = dated.timetable.diary();
        let rows = rows.iter().map(|entry| row(dated, entry));
        let table = Block::table("Work by day", &["day", "time", "work"], rows);
        blocks.push(Block::part("days", "Work by day", vec![table]));
        blocks.extend(super::findings(&dated.findings));
        let memory = dated.unverified.then_some(
        "Some times of this protocol were not checked against the published sheet. Check them with it and your veterinarian before you use them.",
    );
        let notes = [
            "These times are for one animal.",
            "A group takes its time in the chute: `thawline plan` counts it.",
        ];
        let notes = Block::bullets(notes.into_iter().chain(memory));
        blocks.push(Block::part("reading", "How to read it", vec![notes]));
        Document::new(title, blocks)
    }

    fn tables(&self) -> Tables<Self> {
        kinds![steps]
    }
}

fn local(zone: &str) -> Block {
    Block::paragraph(format!("Times are local, {zone}."))
}

/// How dates were counted back, if they were.
fn back<'a>(dated: &'a Dated<'_>) -> Option<&'a Backwards> {
    dated.counted_back_from.as_ref().map(|c| &c.back)
}

/// When to start for what was asked.
fn asked(protocol: &Protocol, target: &Target, back: &Backwards) -> Vec<Block> {
    let dates = &back.timetable;
    let step = &protocol.steps[back.step];
    let start = dates.zone.human(dates.began.at);
    let wanted = dates.zone.human(back.wanted);
    let from = protocol.counted_from(step);
    let what = match (target.calf, step.is_timed_breeding()) {
        (None, true) => {
            let after = hours(back);
            format!("To breed on {wanted} ({after} after {from}), start on {start}.")
        }
        (None, false) => {
            format!("For a heat watch that begins on {wanted}, start on {start}.")
        }
        (Some(_), true) => {
            format!("Start on {start}. Breeding is on {wanted}.")
        }
        (Some(_), false) => {
            format!("Start on {start}. The heat watch begins on {wanted}.")
        }
    };
    let mut blocks = vec![Block::paragraph(what)];
    blocks.extend(calves(target));
    blocks
}

fn hours(back: &Backwards) -> String {
    let hours = back.after().num_seconds() as f64 / 3600.0;
    format!("{} h", hundredths(hours))
}

/// What the days are counted back by, where calves are asked for.
fn calves(target: &Target) -> Vec<Block> {
    let days = target.calf.zip(target.gestation_days);
    let spread = target.calves_from.zip(target.calves_to);
    let Some(((date, gestation_days), (first, last))) = days.zip(spread) else {
        return Vec::new();
    };
    let source = if gestation_days == MEAN_GESTATION_DAYS {
        "the mean of all breeds, TORELL"
    } else {
        "your own figure"
    };
    let [first, date, last] = [first, date, last].map(human_date);
    let counted = format!(
        "This is for first calves on {first}; on average they come on {date}, at {gestation_days} days of gestation ({source})."
    );
    let spread = format!(
        "Calves come {GESTATION_SPREAD_DAYS} days either way (TORELL): from {first} to {last}."
    );
    [counted, spread].map(Block::paragraph).into()
}

/// A day of the diary; hours that leave a choice stand below the work.
fn row(dated: &Dated<'_>, entry: &Entry) -> Row {
    let (protocol, dates) = (dated.protocol, &dated.timetable);
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
        let chosen = back(dated).filter(|b| {
            b.step == entry.step && b.after() != window.aim && step.is_timed_breeding()
        });
        let chosen = chosen.map(|b| format!("; here at {}", hours(b)));
        let hours = dates.zone.human_range(between.earliest, between.latest);
        let (window, from) = (window.words(), protocol.counted_from(step));
        let chosen = chosen.unwrap_or_default();
        let said = format!("{hours} ({window}, after {from}{chosen})");
        work.lines.push(said.into());
    }
    let day = Cell::head(Hold::Words, human_date(entry.day));
    Row::of(vec![day, Cell::of(Hold::Clock, time), work])
}

impl Answer for Starts<'_> {
    /// The starts of several protocols, the earliest first.
    fn document(&self) -> Document {
        let target = &self.target;
        let title = "Starts";
        let wanted = target.zone.told().date(target.breeding.at.0.naive_local());
        let what = if target.calf.is_some() {
            format!("When to start for the first breeding, or the heat watch, to be on {wanted}.")
        } else {
            format!(
                "When to start to breed on {wanted}. With heat alone, the heat watch begins then."
            )
        };
        let mut blocks = vec![Block::heading(1, title), Block::paragraph(what)];
        blocks.extend(calves(target));
        blocks.push(local(self.zone));
        let rows = self.starts.iter().map(start_row);
        let table = Block::table("Starts", &["start", "protocol", "breeding"], rows);
        blocks.push(Block::part("starts", "The earliest first", vec![table]));
        if !self.left_out.is_empty() {
            let rows = self.left_out.iter().map(|l| {
                let asks = l.why.expected.as_deref().unwrap_or(&l.why.what);
                Row::named(l.protocol.id.as_str(), [asks])
            });
            let table = Block::table("Left out", &["protocol", "what it asks for"], rows);
            blocks.push(Block::part("left-out", "Left out", vec![table]));
        }
        blocks.extend(super::findings(&of_starts(self)));
        let [late, early] = [22, 4].map(|hour| target.zone.told().hour(hour));
        let night = self.starts.iter().any(at_night).then(|| {
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
        Document::new(title, blocks)
    }

    /// Protocols that have a start, the earliest first, and those that have none, with the reason.
    fn tables(&self) -> Tables<Self> {
        kinds![starts, left_out as "left-out"]
    }
}

/// Findings of all, and of each what is more than a note.
fn of_starts(asked: &Starts<'_>) -> Vec<Finding> {
    let each = asked.starts.iter().flat_map(|dated| {
        let found = dated.findings.iter();
        let found = found.filter(|f| f.severity > Severity::Note);
        found.map(|f| Finding {
            what: format!("`{}`: {}", dated.protocol.id, f.what),
            ..f.clone()
        })
    });
    asked.findings.iter().cloned().chain(each).collect()
}

fn at_night(dated: &Dated<'_>) -> bool {
    !dated.timetable.night_work(dated.protocol).is_empty()
}

fn start_row(dated: &Dated<'_>) -> Row {
    let timed = back(dated).filter(|b| dated.protocol.steps[b.step].is_timed_breeding());
    let mut then = match (timed, dated.protocol.kind) {
        (None, _) => "heat watch".to_owned(),
        (Some(b), Kind::EstrusDetectionThenTimed) => format!("clean-up {}", hours(b)),
        (Some(b), Kind::SplitTime) => format!("split {}", hours(b)),
        (Some(b), _) => format!("AI {}", hours(b)),
    };
    if at_night(dated) {
        then += ", night";
    }
    Row::of(vec![
        Cell::text(dated.timetable.zone.human(dated.timetable.began.at)),
        Cell::head(Hold::Names, dated.protocol.id.as_str()),
        Cell::text(then),
    ])
}

/// Work that lasts some days has its last date, too, and no clock time.
fn steps(dates: &Dates<'_>) -> String {
    let dated = &dates.dated;
    let mut t = Table::of(dated.protocol.steps.iter().zip(&dated.steps));
    fields!(t, |_| dated => protocol = protocol.id, name);
    fields!(t, |(_, d)| d => step = id, actions);
    t.column("what", |(step, _)| step.words());
    t.day(["date", "weekday"], |(_, d)| {
        Some(d.first_day.unwrap_or_else(|| d.at.0.date_naive()))
    });
    let at = |(_, d): (_, &DatedStep<'_>)| d.first_day.is_none().then_some(d.at.0);
    t.column("time", |row| at(row).map(clock));
    t.offset("utc_offset_minutes", at);
    t.day(["last_date", "last_weekday"], |(_, d)| d.last_day);
    t.column("not_before", |(_, d)| {
        d.earliest.map(|at| day_and_clock(at.0))
    });
    t.column("not_after", |(_, d)| d.latest.map(|at| day_and_clock(at.0)));
    t.csv()
}

fn starts(starts: &Starts<'_>) -> String {
    let rows = starts.starts.iter();
    let rows = rows.filter_map(|d| Some((d, d.counted_back_from.as_ref()?)));
    let mut t = Table::of(rows);
    fields!(t, |(d, _)| d => protocol = protocol.id, name);
    t.moment("start", "start", |(d, _)| d.start.0);
    t.column("step", |(_, back)| back.step);
    t.moment("step", "step_time", |(d, counted)| {
        d.steps[counted.back.step].at.0
    });
    fields!(t, |(_, back)| back => hours, exact, off_minutes);
    t.column("night_work", |(d, _)| at_night(d));
    t.column("from_memory", |(d, _)| d.unverified);
    t.csv()
}

fn left_out(starts: &Starts<'_>) -> String {
    let mut t = Table::of(&starts.left_out);
    fields!(t, |l| l => protocol = protocol.id, name = protocol.name);
    t.column("why", |l| match &l.why.expected {
        Some(expected) => format!("asks {expected}"),
        None => l.why.what.clone(),
    });
    t.csv()
}
