//! What all parts of a plan are made with: moments, hours, the ids of passes and sessions, and what is
//! planned of groups bred by detected heat.

use super::{ByHeat, GroupHeat, HalfDay, Hours, Moment};
use crate::base::time::Instant;
use crate::base::units::hundredths;
use crate::planning::crew::FullHalfDay;
use crate::planning::dating::{self, DatedSeason, Due, Half};
use crate::trade::protocol::Action;
use crate::trade::season::Season;

pub(super) struct Maker<'a> {
    pub(super) season: &'a Season,
    pub(super) dated: &'a DatedSeason,
    pub(super) full: &'a [FullHalfDay],
}

impl Maker<'_> {
    pub(super) fn at(&self, at: Instant) -> Moment {
        self.season.zone.moment(at)
    }

    pub(super) fn pass_id(&self, group: usize, pen: usize, step: usize) -> String {
        let g = &self.season.groups[group];
        format!("{}/{}/{}", g.id, pen + 1, g.protocol.steps[step].id)
    }

    pub(super) fn due_id(&self, due: &Due) -> String {
        match due.half_day {
            Some(half) => self.half_id(due.group, due.step, half),
            None => self.pass_id(due.group, due.pen, due.step),
        }
    }

    /// Named for its first pen's breeding pass, which is in no other session.
    pub(super) fn session_id(&self, first: &Due) -> String {
        format!(
            "{}@{}",
            self.due_id(first),
            self.season.sites[first.site].id
        )
    }

    pub(super) fn hours(&self, hours: &dating::Hours, window: String) -> Hours {
        Hours {
            earliest: self.at(hours.earliest),
            aim: self.at(hours.aim),
            latest: self.at(hours.latest),
            window,
        }
    }

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

pub(super) fn actions_words(actions: &[Action]) -> String {
    let words: Vec<&str> = actions.iter().map(|a| a.words()).collect();
    words.join(" + ")
}
