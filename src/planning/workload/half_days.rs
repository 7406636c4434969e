//! Whether the crew could breed as many as may be in heat on a half-day, beside those expected.
//!
//! Each half-day is tried alone, all else as planned: there are not animals enough for the most on all
//! of them at once.

use chrono::TimeDelta;

use super::{Fault, count};
use crate::base::error::{Code, Finding, quoted};
use crate::base::watch::Watch;
use crate::planning::expand::{Due, Expanded, Half};
use crate::trade::season::Season;

/// Breeding further apart than this shares no technician: no road takes more than a day, no
/// breeding window more than two.
pub(crate) const NEAR: TimeDelta = TimeDelta::days(3);

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
    expanded: &Expanded,
    watch: &dyn Watch,
) -> Result<Vec<FullHalfDay>, Fault> {
    let mut found = Vec::new();
    // Of half-days near each other the rest of the season is often the same.
    let mut last: Option<(Expanded, u32)> = None;
    for heats in &expanded.heats {
        let site = season.groups[heats.group].site;
        for half_day in &heats.half_days {
            let high = heats.band(half_day).high;
            if high == half_day.head || watch.stop() {
                continue;
            }
            let due = heats.due(season, site, half_day, high);
            let mine =
                |d: &Due| (d.group, d.step, d.half_day) == (due.group, due.step, due.half_day);
            let beside = expanded.dues.iter().filter(|d| near(d, &due));
            let planned = Expanded {
                dues: beside.cloned().collect(),
                ..Expanded::default()
            };
            let mut more: Vec<Due> = planned.dues.iter().filter(|d| !mine(d)).cloned().collect();
            more.push(due.clone());
            // With everybody at whole sessions first: that is fast, and days divided between sites
            // never leave more.
            let more = Expanded::of(more);
            let whole = count::count(season, &more)?;
            if whole.iter().all(|c| c.covered == c.head) {
                continue;
            }
            let left = count::left_as_planned(season, &more, watch)?;
            // Those beyond the head planned for may all be left, and nobody else for them, however
            // far either search went.
            let before = match last.take() {
                Some((known, left)) if known == planned => left,
                _ => count::left_as_planned(season, &planned, watch)?,
            };
            let missing = left
                .saturating_sub(before)
                .min(high.saturating_sub(half_day.head));
            last = Some((planned, before));
            if missing > 0 && !watch.stop() {
                found.push(FullHalfDay {
                    group: heats.group,
                    step: half_day.step,
                    half: half_day.half,
                    high,
                    missing,
                });
            }
        }
    }
    Ok(found)
}

/// The same as findings.
#[must_use]
pub fn full_findings(season: &Season, full: &[FullHalfDay]) -> Vec<Finding> {
    full.iter()
        .map(|f| {
            let group = &season.groups[f.group];
            let what = format!(
                "of {}, {} may be first seen in heat on {} in the {}: {} head more than the crew could breed then",
                quoted(group.id.as_str()),
                f.high,
                crate::base::time::human_date(f.half.seen),
                f.half.word(),
                f.missing
            );
            Finding::note(Code::HalfDayFull, what)
                .at(group.start_place.clone())
                .expected("a crew for the 95 percent head of each half-day")
                .hint("ask another technician to stand by, lengthen a shift, or widen `heat_breeding_hours`")
        })
        .collect()
}
