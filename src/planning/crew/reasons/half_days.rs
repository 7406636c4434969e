//! Whether the crew could breed as many as may be in heat on a half-day, beside those expected.
//!
//! Each half-day is tried alone, all else as planned: there are not animals enough for the most on all
//! of them at once.

use std::collections::{BTreeMap, BTreeSet};

use crate::base::error::{Code, Finding, quoted};
use crate::base::progress::{Budget, Progress};
use crate::planning::crew::sessions::parts::NEAR;
use crate::planning::crew::{Fault, count};
use crate::planning::dating::{DatedSeason, Due, Half};
use crate::trade::season::Season;

/// A half-day on which more may be in heat than the crew could breed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FullHalfDay {
    /// Group, by its place in the season.
    pub group: usize,
    /// The heat watch, by its place in the protocol.
    pub step: usize,
    /// When heat is seen.
    pub half: Half,
    /// The high end of the head in heat.
    pub high: u32,
    /// Of these, how many could not be bred, on that half-day or for it on others.
    pub missing: u32,
}

/// What was counted of half-days.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct HalfDays {
    /// Those on which more may be in heat than the crew could breed.
    pub full: Vec<FullHalfDay>,
    /// How many were too much work to be counted, by group.
    pub uncounted: BTreeMap<usize, u32>,
}

/// Work of counting all half-days, and of one, in about microseconds.
const MOST_WORK: i64 = 2_500_000;
const MOST_OF_ONE: i64 = 400_000;

fn near(a: &Due, b: &Due) -> bool {
    let (a, b) = (a.safe_hours(), b.safe_hours());
    a.earliest < b.latest + NEAR && b.earliest < a.latest + NEAR
}

/// The half-days whose high end the crew could not breed: one after the other, all other breeding
/// as planned, straws left out. Asked to stop, it leaves the rest uncounted.
///
/// # Errors
/// A [`Fault`] if the solver fails on a model that always has an answer.
pub fn full_half_days(
    season: &Season,
    dated: &DatedSeason,
    progress: &dyn Progress,
) -> Result<HalfDays, Fault> {
    let mut found = HalfDays::default();
    let all = Budget::new(progress, MOST_WORK);
    // Of half-days near each other what they are planned beside is often the same.
    let mut known: Vec<(Vec<Due>, u32)> = Vec::new();
    for heats in &dated.heats {
        let site = season.groups[heats.group].site;
        for half_day in &heats.half_days {
            let high = heats.band(half_day).high;
            if high == half_day.head || progress.by_hand() {
                continue;
            }
            let due = heats.due(season, site, half_day, high);
            let one = Budget::new(&all, MOST_OF_ONE);
            let missing = if one.stop() {
                0
            } else {
                missing(season, dated, &due, &mut known, &one)?
            };
            if progress.by_hand() {
                continue;
            }
            if one.stop() {
                *found.uncounted.entry(heats.group).or_default() += 1;
            } else if missing > 0 {
                found.full.push(FullHalfDay {
                    group: heats.group,
                    step: half_day.step,
                    half: half_day.half,
                    high,
                    missing: missing.min(high.saturating_sub(half_day.head)),
                });
            }
        }
    }
    Ok(found)
}

/// Head left more with so many of a half-day in heat, beside all others.
fn missing(
    season: &Season,
    dated: &DatedSeason,
    due: &Due,
    known: &mut Vec<(Vec<Due>, u32)>,
    progress: &dyn Progress,
) -> Result<u32, Fault> {
    let key = |d: &Due| (d.group, d.pen, d.step, d.half_day);
    let mine = |d: &Due| (d.group, d.step, d.half_day) == (due.group, due.step, due.half_day);
    let beside = || dated.dues.iter().filter(|d| near(d, due));
    let mut more: Vec<Due> = beside().filter(|d| !mine(d)).cloned().collect();
    more.push(due.clone());
    // What shares nobody with it is bred as it is, whatever its head.
    let more = count::hang_together(season, &DatedSeason::of(more), mine);
    let keys: BTreeSet<_> = more.iter().map(key).collect();
    // With everybody at whole sessions first: that is fast, and days divided between sites
    // never leave more.
    let more = DatedSeason::of(more);
    if count::left(season, &more, false, progress)? == 0 || progress.stop() {
        return Ok(0);
    }
    let left = count::left(season, &more, true, progress)?;
    if left == 0 || progress.stop() {
        return Ok(0);
    }
    let planned = beside().filter(|d| mine(d) || keys.contains(&key(d)));
    let planned: Vec<Due> = planned.cloned().collect();
    let before = known.iter().find(|(dues, _)| *dues == planned);
    let before = if let Some((_, before)) = before {
        *before
    } else {
        let of = DatedSeason::of(planned.clone());
        let before = count::left(season, &of, true, progress)?;
        if !progress.stop() {
            known.push((planned, before));
        }
        before
    };
    // Those beyond the head planned for may all be left, and nobody else for them, however
    // far either search went.
    Ok(left.saturating_sub(before))
}

/// The same as findings.
#[must_use]
pub fn full_findings(season: &Season, counted: &HalfDays) -> Vec<Finding> {
    let uncounted = counted.uncounted.iter().map(|(group, n)| {
        let group = &season.groups[*group];
        let half_days = if *n == 1 {
            "1 half-day".to_owned()
        } else {
            format!("{n} half-days")
        };
        let what = format!(
            "the heaviest heat of {} was not counted for {half_days}: too many sessions fall together",
            quoted(group.id.as_str())
        );
        Finding::note(Code::SearchStopped, what)
            .at(group.start_place.clone())
            .expected("fewer sessions on the same days")
            .hint("the plan itself holds; to have each half-day counted, start some groups on other days")
    });
    let full = counted.full.iter();
    full
        .map(|f| {
            let group = &season.groups[f.group];
            let what = format!(
                "of {}, {} may be first seen in heat on {} in the {}: {} more head than the crew could breed then",
                quoted(group.id.as_str()),
                f.high,
                crate::base::time::human_date(f.half.seen),
                f.half.part.as_str(),
                f.missing
            );
            Finding::note(Code::HalfDayFull, what)
                .at(group.start_place.clone())
                .expected("a crew for the 95 percent head of each half-day")
                .hint("ask another technician to stand by, lengthen a shift, or widen `heat_breeding_hours`")
        })
        .chain(uncounted)
        .collect()
}
