//! One protocol on the calendar, and the starts of several, for the terminal.

use std::fmt::Write as _;

use super::{remark, wrapped};
use crate::base::error::{Finding, Severity};
use crate::base::time::{Zone, human_date};
use crate::planning::plan::Remark;
use crate::trade::protocol::backwards::{Backwards, GESTATION_SPREAD_DAYS, MEAN_GESTATION_DAYS};
use crate::trade::protocol::target::Target;
use crate::trade::protocol::timetable::{Part, Timetable};
use crate::trade::protocol::{Anchor, Delay, Kind, Protocol, Step};

/// Columns of the day and of the clock time.
const DAY: usize = 16;
const CLOCK: usize = 11;

/// A protocol dated from its start.
#[must_use]
pub fn dated(protocol: &Protocol, dates: &Timetable, found: &[Finding]) -> String {
    format!(
        "{}\n{}",
        title(protocol, dates.zone),
        table(protocol, dates, None, found)
    )
}

/// A protocol dated back from breeding or from the first calf.
#[must_use]
pub fn dated_back(
    protocol: &Protocol,
    target: &Target,
    back: &Backwards,
    found: &[Finding],
) -> String {
    let dates = &back.timetable;
    let step = &protocol.steps[back.step];
    let start = format!("start {}.", dates.zone.human(dates.began.at));
    let what = match target {
        Target::Breeding { .. } if step.is_timed_breeding() => format!(
            "To breed on {} ({}): {start}",
            dates.zone.human(back.wanted),
            after(protocol, back)
        ),
        Target::Breeding { .. } => format!(
            "For a heat watch that begins on {}: {start}",
            dates.zone.human(back.wanted)
        ),
        Target::FirstCalf { .. } => format!(
            "{} {} {}; {start}",
            calves(target),
            if step.is_timed_breeding() {
                "Breeding is on"
            } else {
                "The heat watch begins on"
            },
            dates.zone.human(back.wanted)
        ),
    };
    format!(
        "{}{}\n\n{}",
        title(protocol, dates.zone),
        wrapped(&what, "", ""),
        table(protocol, dates, Some(back), found)
    )
}

fn title(protocol: &Protocol, zone: Zone) -> String {
    format!(
        "{}  ({})\nTimes are local, {}.\n",
        protocol.name,
        protocol.id,
        zone.name()
    )
}

/// `66 h after pg`.
fn after(protocol: &Protocol, back: &Backwards) -> String {
    let step = &protocol.steps[back.step];
    format!("{} after {}", hours(back), anchor(protocol, step))
}

fn hours(back: &Backwards) -> String {
    let hours = back.after().num_seconds() as f64 / 3600.0;
    format!("{} h", (hours * 100.0).round() / 100.0)
}

fn anchor<'a>(protocol: &'a Protocol, step: &Step) -> &'a str {
    match step.anchor {
        Anchor::Start => "start",
        Anchor::Step(a) => protocol.steps[a].id.as_str(),
    }
}

fn calves(target: &Target) -> String {
    let (
        Target::FirstCalf {
            date,
            gestation_days,
            ..
        },
        Some((first, last)),
    ) = (target, target.calves())
    else {
        return String::new();
    };
    let source = if *gestation_days == MEAN_GESTATION_DAYS {
        "the mean of all breeds, TORELL"
    } else {
        "as given"
    };
    format!(
        "For calves on {} at {gestation_days} days of gestation ({source}). They come \
         {GESTATION_SPREAD_DAYS} days either way (TORELL): from {} to {}.",
        human_date(*date),
        human_date(first),
        human_date(last)
    )
}

fn table(
    protocol: &Protocol,
    dates: &Timetable,
    back: Option<&Backwards>,
    found: &[Finding],
) -> String {
    let mut text = format!("{:<DAY$}{:<CLOCK$}WHAT\n", "DAY", "CLOCK");
    let indent = " ".repeat(DAY + CLOCK);
    for entry in dates.diary() {
        let step = &protocol.steps[entry.step];
        let (clock, what) = match entry.part {
            Part::FirstDay => ("first day".to_owned(), step.words()),
            Part::LastDay => (
                "last day".to_owned(),
                format!("{} ({} days)", step.words(), step.lasts_days.unwrap_or(1)),
            ),
            Part::Whole(at) => (dates.zone.clock(at), step.words()),
        };
        let first = format!("{:<DAY$}{clock:<CLOCK$}", human_date(entry.day));
        let _ = writeln!(text, "{}", wrapped(&what, &first, &indent));
        let dated = &dates.steps[entry.step];
        if let (Delay::Elapsed(window), Some(between), true) =
            (step.delay, dated.hours, entry.part != Part::LastDay)
        {
            let chosen = back
                .filter(|b| {
                    b.step == entry.step && b.after() != window.aim && step.is_timed_breeding()
                })
                .map(|b| format!("; here at {}", hours(b)))
                .unwrap_or_default();
            let line = format!(
                "{} ({}, after {}{chosen})",
                dates.zone.human_range(between.earliest, between.latest),
                window.words(),
                anchor(protocol, step),
            );
            let _ = writeln!(text, "{}", wrapped(&line, &indent, &indent));
        }
    }
    if !found.is_empty() {
        text.push('\n');
        for finding in found {
            text += &(remark(&Remark::from(finding)) + "\n");
        }
    }
    text.push('\n');
    let memory = if protocol.has_unverified() {
        " Some times of this protocol are from memory: check with the current protocol sheet and \
         your veterinarian."
    } else {
        ""
    };
    let line = format!(
        "These are one animal's times: a group takes its time in the chute, which `thawline plan` \
         counts.{memory}"
    );
    text + &wrapped(&line, "", "") + "\n"
}

/// The starts of several protocols, the earliest first.
#[must_use]
pub fn starts(
    target: &Target,
    zone: Zone,
    starts: &[(&Protocol, Backwards)],
    left_out: &[(&Protocol, Finding)],
    found: &[Finding],
) -> String {
    let wanted = starts.first().map(|(_, b)| zone.human(b.wanted));
    let wanted = wanted.unwrap_or_default();
    let head = match target {
        Target::Breeding { .. } => format!(
            "To breed on {wanted}; with heat alone, for the watch to begin then. Times are local, {}.",
            zone.name()
        ),
        Target::FirstCalf { .. } => format!(
            "{} The first breeding, or heat watch, is on {wanted}. Times are local, {}.",
            calves(target),
            zone.name()
        ),
    };
    let mut text = wrapped(&head, "", "") + "\n\n";
    let _ = writeln!(text, "{:<23}{:<34}THEN", "START", "PROTOCOL");
    let mut night = false;
    for (protocol, back) in starts {
        let step = &protocol.steps[back.step];
        let mut then = match protocol.kind {
            _ if !step.is_timed_breeding() => "heat watch".to_owned(),
            Kind::EstrusDetectionThenTimed => format!("clean-up {}", hours(back)),
            Kind::SplitTime => format!("split {}", hours(back)),
            _ => format!("AI {}", hours(back)),
        };
        if !back.timetable.night_work(protocol).is_empty() {
            night = true;
            then += ", night";
        }
        let first = format!(
            "{:<23}{:<32}  ",
            zone.human(back.timetable.began.at),
            protocol.id.as_str()
        );
        let _ = writeln!(text, "{}", wrapped(&then, &first, &" ".repeat(57)));
    }
    text.push('\n');
    if night {
        text += &wrapped(
            "night: some work in the chute falls between 22:00 and 04:00 (common practice, no \
             source); another clock time of breeding moves all of it.",
            "",
            "",
        );
        text.push('\n');
    }
    if !left_out.is_empty() {
        let each: Vec<String> = left_out
            .iter()
            .map(|(p, f)| format!("{} ({})", p.id, f.expected.as_deref().unwrap_or(&f.what)))
            .collect();
        let line = format!("Left out, with what they ask: {}.", each.join("; "));
        text += &(wrapped(&line, "", "  ") + "\n");
    }
    for finding in found {
        text += &(remark(&Remark::from(finding)) + "\n");
    }
    for (protocol, back) in starts {
        for mut finding in back.findings(protocol) {
            if finding.severity > Severity::Note {
                finding.what = format!("`{}`: {}", protocol.id, finding.what);
                text += &(remark(&Remark::from(&finding)) + "\n");
            }
        }
    }
    text + "One of them with all its dates: thawline protocols ID with the same times\n"
}
