//! What is planned of groups bred by detected heat, put into the plan.

use super::maker::Maker;
use super::{ByHeat, GroupHeat, HalfDay};
use crate::base::units::hundredths;
use crate::planning::dating::{self, Due, Half};

impl Maker<'_> {
    pub(super) fn half_id(&self, group: usize, step: usize, half: Half) -> String {
        let g = &self.season.groups[group];
        format!("{}/all/{}/{}", g.id, g.protocol.steps[step].id, half.id())
    }

    /// Of the high end of a half-day, how many the crew could not breed.
    fn over(&self, group: usize, step: usize, half: Half) -> u32 {
        let same = self
            .full
            .iter()
            .find(|f| (f.group, f.step, f.half) == (group, step, half));
        same.map_or(0, |f| f.missing)
    }

    pub(super) fn heat(&self, group: usize) -> Option<GroupHeat> {
        let heats = self.dated.heats.iter().find(|h| h.group == group)?;
        let (bred, left) = (heats.bred(), heats.left());
        let (source, borrowed_from) = heats.source(&self.season.groups[group]);
        Some(GroupHeat {
            mean_hours: heats.spread.map(|s| hundredths(s.mean)),
            spread_hours: heats.spread.map(|s| hundredths(s.sd)),
            source,
            borrowed_from,
            half_days: heats
                .half_days
                .iter()
                .map(|h| self.half_day(heats, h))
                .collect(),
            bred_head: bred.head,
            bred_low_head: bred.low,
            bred_high_head: bred.high,
            left_head: left.head,
            left_low_head: left.low,
            left_high_head: left.high,
        })
    }

    fn half_day(&self, heats: &dating::Heats, h: &dating::HalfDay) -> HalfDay {
        let group = heats.group;
        let band = heats.band(h);
        let aim = h.check + self.season.rules.heat.breeding.aim;
        HalfDay {
            step: self.season.groups[group].protocol.steps[h.step]
                .id
                .to_string(),
            pass: (h.head > 0).then(|| self.half_id(group, h.step, h.half)),
            seen_day: h.half.seen,
            seen: h.half.part,
            aim: self.at(aim),
            head: band.head,
            low_head: band.low,
            high_head: band.high,
            high_uncovered_head: self.over(group, h.step, h.half),
        }
    }

    pub(super) fn by_heat(&self, due: &Due) -> Option<ByHeat> {
        let half = due.half_day?;
        let heats = self.dated.heats.iter().find(|h| h.group == due.group)?;
        let mine = |h: &&dating::HalfDay| h.step == due.step && h.half == half;
        let head = heats.band(heats.half_days.iter().find(mine)?);
        Some(ByHeat {
            seen_day: half.seen,
            seen: half.part,
            low_head: head.low,
            high_head: head.high,
            high_uncovered_head: self.over(due.group, due.step, half),
        })
    }
}
