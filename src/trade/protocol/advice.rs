//! What is worth knowing of a protocol file of one's own, though nothing in it is wrong.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};

use super::timetable::timetable;
use super::{Action, Anchor, Delay, Library, Protocol, library};
use crate::base::document::Tree;
use crate::base::error::{Code, Finding, quoted, sort_findings};
use crate::base::time::Zone;
use crate::base::units::Clock;

/// Hours of the day at which chute work usually begins (common practice, no source).
const USUAL_STARTS: std::ops::RangeInclusive<u32> = 7..=17;

/// Protocol files read with care.
#[derive(Debug)]
pub struct Checked {
    /// Each protocol that can be used, with its file.
    pub protocols: Vec<(String, Protocol)>,
    /// Every finding of every file, worst first.
    pub found: Vec<Finding>,
}

/// Reads protocol files, given as name and bytes, and says everything that is wrong or worth
/// knowing, times of day on a clock.
#[must_use]
pub fn check<'a>(files: impl IntoIterator<Item = (&'a str, &'a [u8])>, told: Clock) -> Checked {
    let library::Files { read, found, .. } = library::Files::read(files);
    let built_in = Library::built_in();
    let mut checked = Checked {
        protocols: Vec::new(),
        found,
    };
    for (tree, protocol) in read {
        checked
            .found
            .extend(remarks(&tree, &protocol, &built_in, told));
        checked.protocols.push((tree.file().to_owned(), protocol));
    }
    sort_findings(&mut checked.found);
    checked
}

fn remarks(tree: &Tree, protocol: &Protocol, built_in: &Library, told: Clock) -> Vec<Finding> {
    let mut found = Vec::new();
    found.extend(nothing_owned(protocol).map(|f| f.at(tree.place("sources"))));
    found.extend(night_by_design(protocol, told).map(|f| f.at(tree.place("steps"))));
    let step_of = |action: Action| {
        let step = protocol.steps.iter().find(|s| s.actions.contains(&action));
        let json = tree.root().to_json();
        let at = json["steps"].as_array().and_then(|steps| {
            steps
                .iter()
                .position(|s| step.is_some_and(|step| s["id"] == step.id.as_str()))
        });
        tree.place(&at.map_or_else(|| "steps".to_owned(), |n| format!("steps[{n}]")))
    };
    found.extend(insert_long(protocol, built_in).map(|f| f.at(step_of(Action::InsertOut))));
    found
}

/// Everything is said to stand in publications, checked.
fn nothing_owned(protocol: &Protocol) -> Option<Finding> {
    let owned = |s: &super::Cited| s.tag.is_none() || s.unverified;
    (!protocol.sources.iter().any(owned)).then(|| {
        let what = "every source is a listed publication, and none is marked `unverified`";
        Finding::note(Code::NothingOwned, what)
        .hint("cite your veterinarian or your sheet with `cite`, and mark what you did not look up with `unverified: true`")
    })
}

/// The hours of the protocol put chute work into the night for most usual hours of the start.
fn night_by_design(protocol: &Protocol, told: Clock) -> Option<Finding> {
    let by_hours = |n: &usize| {
        let mut next = Anchor::Step(*n);
        while let Anchor::Step(k) = next {
            if matches!(protocol.steps[k].delay, Delay::Elapsed(_)) {
                return true;
            }
            next = protocol.steps[k].anchor;
        }
        false
    };
    let zone = Zone::parse("UTC").ok()?;
    let midnight = NaiveDate::from_ymd_opt(2027, 6, 1)?.and_time(chrono::NaiveTime::MIN);
    let at = |hour: u32| -> NaiveDateTime { midnight + TimeDelta::hours(i64::from(hour)) };
    let nights = |hour: u32| -> Vec<usize> {
        let dates = timetable(protocol, zone, at(hour));
        let mut nights = dates.night_work(protocol);
        nights.retain(by_hours);
        nights
    };
    let by_day: Vec<String> = USUAL_STARTS
        .filter(|h| nights(*h).is_empty())
        .map(|h| told.hour(h))
        .collect();
    let night = USUAL_STARTS.count() - by_day.len();
    let step = USUAL_STARTS.flat_map(nights).next()?;
    (night * 2 > USUAL_STARTS.count()).then(|| {
        let step = &protocol.steps[step];
        let (work, id) = (step.words(), quoted(step.id.as_str()));
        let [from, to] = [USUAL_STARTS.start(), USUAL_STARTS.end()].map(|h| told.hour(*h));
        let what = format!(
            "chute work, such as {work} in step {id}, falls in the night for {night} of the {} \
             full hours from {from} to {to} (common practice, no source) to start at",
            USUAL_STARTS.count()
        );
        Finding::note(Code::NightByDesign, what).hint(if by_day.is_empty() {
            "look over the hours: no usual start keeps all of it by day".to_owned()
        } else {
            format!("start at {}", by_day.join(", "))
        })
    })
}

fn insert_long(protocol: &Protocol, built_in: &Library) -> Option<Finding> {
    let days = protocol.longest_insert_days()?;
    let (most, longest) = built_in
        .iter()
        .filter_map(|p| Some((p.longest_insert_days()?, p)))
        .min_by_key(|(days, _)| std::cmp::Reverse(*days))?;
    (days > most).then(|| {
        let what = format!("the insert stays in for {days} days");
        Finding::warning(Code::InsertLong, what)
            .expected(format!(
                "at most {most} days, the longest of the built-in protocols ({})",
                quoted(longest.id.as_str())
            ))
            .hint("check the day it comes out; where your sheet says so, cite it")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_built_in_protocol_is_warned_of() {
        let built_in = Library::built_in();
        for protocol in built_in.iter() {
            assert_eq!(insert_long(protocol, &built_in), None);
        }
    }
}
