//! What a plan says of groups bred by detected heat.

use super::assemble::{Maker, hundredths};
use super::{ByHeat, GroupHeat, HalfDay};
use crate::expand::{self, Due, Half};

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
        let heats = self.expanded.heats.iter().find(|h| h.group == group)?;
        Some(GroupHeat {
            mean_hours: heats.spread.map(|s| hundredths(s.mean)),
            spread_hours: heats.spread.map(|s| hundredths(s.sd)),
            source: heats.source.clone(),
            borrowed_from: heats.borrowed.clone(),
            half_days: heats
                .half_days
                .iter()
                .map(|h| self.half_day(group, h))
                .collect(),
            bred_head: heats.bred.head,
            bred_low_head: heats.bred.low,
            bred_high_head: heats.bred.high,
            left_head: heats.left.head,
            left_low_head: heats.left.low,
            left_high_head: heats.left.high,
        })
    }

    fn half_day(&self, group: usize, h: &expand::HalfDay) -> HalfDay {
        let aim = h.check + self.season.rules.heat.breeding.aim;
        HalfDay {
            step: self.season.groups[group].protocol.steps[h.step]
                .id
                .to_string(),
            pass: (h.head.head > 0).then(|| self.half_id(group, h.step, h.half)),
            seen_day: h.half.seen,
            seen: h.half.word().to_owned(),
            aim: self.at(aim),
            head: h.head.head,
            low_head: h.head.low,
            high_head: h.head.high,
            high_uncovered_head: self.over(group, h.step, h.half),
        }
    }

    pub(super) fn by_heat(&self, due: &Due) -> Option<ByHeat> {
        let half = due.half_day?;
        let heats = self.expanded.heats.iter().find(|h| h.group == due.group)?;
        let mine = |h: &&expand::HalfDay| h.step == due.step && h.half == half;
        let head = heats.half_days.iter().find(mine)?.head;
        Some(ByHeat {
            seen_day: half.seen,
            seen: half.word().to_owned(),
            low_head: head.low,
            high_head: head.high,
            high_uncovered_head: self.over(due.group, due.step, half),
        })
    }
}
