//! A candidate: one change to a season, or two together; and how much a change asks beside others.

use chrono::TimeDelta;

use super::change::{Change, pace};
use super::remedies::{Kind, Ladder};
use crate::trade::season::Season;

/// One change, or two.
#[derive(Clone)]
pub(super) struct Candidate {
    pub(super) kinds: Vec<Kind>,
    pub(super) changes: Vec<Change>,
    /// The season with all of them.
    pub(super) season: Season,
    pub(super) effort: u32,
    /// True if by counting it suffices.
    pub(super) hopeful: bool,
}

impl Candidate {
    pub(super) fn only_lessens(self) -> Self {
        Self {
            hopeful: false,
            ..self
        }
    }
}

/// The changes one after the other; `None` if one does not fit.
pub(super) fn all_applied(season: &Season, changes: &[Change]) -> Option<Season> {
    let mut now = season.clone();
    for change in changes {
        now = change.applied(&now)?;
    }
    Some(now)
}

/// True if somebody is hired, in the last change for all hours of all the others: where the hours are
/// more than a day's, no one shift holds them.
pub(super) fn last_holds_all(season: &Season, ladder: &Ladder) -> bool {
    let spans: Option<Vec<_>> = ladder.iter().map(|c| c.hired(season)).collect();
    let Some((last, all)) = spans.as_ref().and_then(|s| s.split_last()) else {
        return false;
    };
    all.iter().all(|s| last.0 <= s.0 && s.1 <= last.1)
}

impl Change {
    /// How much it asks, in points of our own (common practice, no source): what is a matter of
    /// habit first, then of clock times, then of things and people.
    #[must_use]
    pub fn effort(&self, before: &Season) -> u32 {
        let hours = |t: TimeDelta| (t.num_minutes().unsigned_abs() as u32).div_ceil(30);
        match self {
            Self::Keep { .. } => 10,
            Self::Pace {
                site,
                inserts,
                head_per_hour,
            } => {
                let now = pace(&before.sites[*site], *inserts);
                let percent = (100.0 * (head_per_hour - now) / now).round();
                // To work faster asks for more hands; to work slower for time only.
                20 + if percent > 0.0 {
                    20 + percent as u32 / 2
                } else {
                    (-percent) as u32 / 4
                }
            }
            Self::Pens { group, pens } => {
                let now = before.groups[*group].pens.len() as u32;
                20 + 5 * pens.abs_diff(now)
            }
            Self::PenStarts { group, starts } => {
                let start = before.groups[*group].start;
                let last = starts.iter().max().copied().unwrap_or(start);
                let days = (last.date() - start.date()).num_days().unsigned_abs() as u32;
                25 + 10 * days + (hours(last - start) % 48)
            }
            Self::Days { pens, starts, .. } => {
                let mut days: Vec<_> = starts.iter().map(chrono::NaiveDateTime::date).collect();
                days.sort();
                days.dedup();
                20 + 10 * (days.len() as u32 - 1).max(1) + pens.len() as u32
            }
            // Nobody works more for its being written down.
            Self::Hours { .. } => 0,
            Self::Start { group, start } => {
                let now = before.groups[*group].start;
                let days = (start.date() - now.date()).num_days().unsigned_abs() as u32;
                30 + if days > 0 { 15 + 10 * days } else { 0 } + hours(start.time() - now.time())
            }
            Self::Shifts { new, .. } => {
                let each = new.iter().filter_map(|(t, nth, from, to)| {
                    let shift = before.crew.get(*t)?.shifts.get(*nth)?;
                    Some(10 + 2 * (hours(*from - shift.from) + hours(*to - shift.to)))
                });
                20 + each.sum::<u32>()
            }
            Self::Bull { .. } => 15,
            Self::Straws { more, .. } => 25 + more / 5,
            Self::Boxes { .. } | Self::Send { .. } => 45,
            Self::Helper { .. } => 50,
            Self::Protocol {
                group, protocol, ..
            } => {
                let passes = &before.groups[*group].protocol;
                70 + 5 * (protocol.chute_passes().abs_diff(passes.chute_passes()) as u32)
            }
            Self::Hire { technician, .. } => {
                let span = technician.shifts.first().map_or(48, |s| {
                    let long = s.to - s.from;
                    let long = if long <= TimeDelta::zero() {
                        long + TimeDelta::days(1)
                    } else {
                        long
                    };
                    hours(long)
                });
                80 + 2 * span + if technician.helper { 20 } else { 0 }
            }
        }
    }
}

/// How much changes ask, one after the other.
pub(super) fn effort(season: &Season, changes: &[Change]) -> u32 {
    let mut now = season.clone();
    let mut sum = 0;
    for change in changes {
        sum += change.effort(&now);
        if let Some(next) = change.applied(&now) {
            now = next;
        }
    }
    sum
}
