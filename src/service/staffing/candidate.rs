//! A candidate: one change to a season, or two together; and how much a change asks beside others.

use std::collections::BTreeSet;

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};

use super::change::{Change, OfGroup, pace};
use super::remedies::{Kind, Ladder};
use crate::trade::season::{Group, Season};

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

/// Half hours begun.
fn halves(t: TimeDelta) -> u32 {
    (t.num_minutes().unsigned_abs() as u32).div_ceil(30)
}

fn days(a: NaiveDateTime, b: NaiveDateTime) -> u32 {
    (a.date() - b.date()).num_days().unsigned_abs() as u32
}

impl Change {
    /// How much it asks, in points of our own (common practice, no source): what is a matter of
    /// habit first, then of clock times, then of things and people.
    pub(super) fn effort(&self, before: &Season) -> u32 {
        match self {
            Self::Group(g, change) => change.effort(&before.groups[*g]),
            Self::Pace(site, inserts, head_per_hour) => {
                let now = pace(&before.sites[*site], *inserts);
                let percent = (100.0 * (head_per_hour - now) / now).round();
                // To work faster asks for more hands; to work slower for time only.
                20 + if percent > 0.0 {
                    20 + percent as u32 / 2
                } else {
                    (-percent) as u32 / 4
                }
            }
            // Nobody works more for its being written down.
            Self::Hours(..) => 0,
            Self::Shifts(_, new) => {
                let each = new.iter().filter_map(|(t, nth, from, to)| {
                    let shift = before.crew.get(*t)?.shifts.get(*nth)?;
                    Some(10 + 2 * (halves(*from - shift.from) + halves(*to - shift.to)))
                });
                20 + each.sum::<u32>()
            }
            Self::Straws(_, more) => 25 + more / 5,
            Self::Boxes(..) | Self::Send(_) => 45,
            Self::Helper(..) => 50,
            Self::Hire { technician, .. } => {
                let span = technician.shifts.first().map_or(48, |s| {
                    let over_night = TimeDelta::days(i64::from(s.to <= s.from));
                    halves(s.to - s.from + over_night)
                });
                80 + 2 * span + if technician.helper { 20 } else { 0 }
            }
        }
    }
}

impl OfGroup {
    fn effort(&self, now: &Group) -> u32 {
        match self {
            Self::Keep => 10,
            Self::Bull(_) => 15,
            Self::Pens(pens) => 20 + 5 * pens.abs_diff(now.pens.len() as u32),
            Self::PenStarts(starts) => {
                let last = starts.iter().max().copied().unwrap_or(now.start);
                25 + 10 * days(last, now.start) + (halves(last - now.start) % 48)
            }
            Self::Days(pens, starts) => {
                let days: BTreeSet<NaiveDate> = starts.iter().map(NaiveDateTime::date).collect();
                20 + 10 * (days.len() as u32 - 1).max(1) + pens.len() as u32
            }
            Self::Start(start) => {
                let days = days(*start, now.start);
                let clock = halves(start.time() - now.start.time());
                30 + if days > 0 { 15 + 10 * days } else { 0 } + clock
            }
            Self::Protocol(protocol, _) => {
                let passes = now.protocol.chute_passes();
                70 + 5 * protocol.chute_passes().abs_diff(passes) as u32
            }
        }
    }
}

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
