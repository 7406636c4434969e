//! What a technician could breed at one session: when there, in which rounds, and until when.
//!
//! A technician's cows are bred at fixed moments of the rounds, from the start of work. These moments
//! are counted in each slot: capacities are whole, no fraction of a cow is lost at a slot's end, and
//! every cow has a minute.
//!
//! Everyone at a box may have straws in the bath at the same moment. So a round holds at most the
//! bath's straws divided by the people there can be.

use chrono::{Days, TimeDelta};

use super::unstaffed::{Able, Slots, Ticks, Unstaffed};
use crate::base::time::Instant;
use crate::trade::season::pace::{Rounds, rounds_at};
use crate::trade::season::{Rest, Season, Technician};

/// Limits that may be lifted to see whether they bind.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Relax {
    pub(crate) shifts: bool,
    pub(crate) free_hours: bool,
    /// The longest day.
    pub(crate) day: bool,
}

/// What each technician could breed at a session.
pub(crate) fn able(
    season: &Season,
    unstaffed: &Unstaffed,
    slots: Slots,
    relax: Relax,
) -> Vec<Able> {
    let place = Place::new(season, unstaffed, slots, relax);
    let all = (0..season.crew.len()).filter_map(|t| place.able(t, None, None));
    // Routes find their own: large services have a great many of these.
    let whole = |able| Able {
        ends: Vec::new(),
        ..able
    };
    all.map(whole).collect()
}

/// When a technician can be at a session.
pub(crate) struct Hours {
    technician: usize,
    rounds: Rounds,
    /// When the first straws may go into the bath.
    pub(crate) early: Instant,
    stretches: Vec<(Instant, Instant)>,
}

impl Hours {
    /// Whole seconds from coming to the first cow, at the least.
    pub(crate) fn lead_seconds(&self) -> i64 {
        self.rounds.lead.0.floor() as i64
    }
}

/// A visit from one arrival on, in numbers alone.
#[derive(Clone, Default)]
pub(crate) struct Stay {
    /// Slots of it, counted from the session's first, with the cows bred in each.
    pub(crate) slots: Vec<(usize, u32)>,
    pub(crate) ends: Vec<End>,
}

/// A round that is done.
#[derive(Clone, Copy)]
pub(crate) struct End {
    /// Place among the stay's slots.
    pub(crate) slot: usize,
    /// Cows bred in that slot until then.
    pub(crate) cows: u32,
    /// When: seconds since the epoch, as the road is counted a great many times.
    pub(crate) at: i64,
}

/// From when to when, one after the other.
pub(crate) type Stretches = Vec<(Instant, Instant)>;

/// A session as a place of work, to ask what a technician could breed there.
pub(crate) struct Place<'a> {
    season: &'a Season,
    unstaffed: &'a Unstaffed,
    slots: Slots,
    relax: Relax,
    open: Instant,
    close: Instant,
    free: Vec<(Instant, Instant)>,
}

impl<'a> Place<'a> {
    pub(crate) fn new(
        season: &'a Season,
        unstaffed: &'a Unstaffed,
        slots: Slots,
        relax: Relax,
    ) -> Self {
        let open = slots.start(unstaffed.first);
        let close = slots.start(unstaffed.last + 1);
        let free = if relax.free_hours || unstaffed.last < unstaffed.first {
            Vec::new()
        } else {
            let free = season.free_between(slots.start(unstaffed.first - 1), close);
            let free = free.into_iter();
            free.map(|(a, b, _)| (a, b)).collect()
        };
        Self {
            season,
            unstaffed,
            slots,
            relax,
            open,
            close,
            free,
        }
    }

    /// When a technician can be here at all. `None` for never.
    pub(crate) fn hours(&self, technician: usize) -> Option<Hours> {
        let unstaffed = self.unstaffed;
        if unstaffed.last < unstaffed.first {
            return None;
        }
        let who = &self.season.crew[technician];
        let rounds = rounds_at(self.season, who, &self.season.sites[unstaffed.site])?;
        // Straws may thaw before the hours open, so that the first cow is bred as they do.
        let early = (self.open - rounds.to_first_cow()).max(unstaffed.after);
        if early >= self.close {
            return None;
        }
        let stretches = present(
            self.season,
            who,
            unstaffed.site,
            early,
            self.close,
            self.relax,
        );
        Some(Hours {
            technician,
            rounds,
            early,
            stretches,
        })
    }

    /// What a technician could breed here, if there no sooner and no longer than that. `None` for
    /// nothing.
    pub(crate) fn able(
        &self,
        technician: usize,
        from: Option<Instant>,
        to: Option<Instant>,
    ) -> Option<Able> {
        self.able_in(&self.hours(technician)?, from, to)
    }

    /// The hours somebody who has those could be here, if no sooner and no longer than that; and what
    /// the rules of rest and of the longest day leave of them. `None` for nothing.
    fn reach(
        &self,
        hours: &Hours,
        from: Option<Instant>,
        to: Option<Instant>,
    ) -> Option<(Stretches, Stretches)> {
        let who = &self.season.crew[hours.technician];
        let early = from.map_or(hours.early, |from| from.max(hours.early));
        let late = to.map_or(self.close, |to| to.min(self.close));
        let mut stretches = hours.stretches.clone();
        stretches.retain(|(a, b)| *a < late && early < *b);
        for (a, b) in &mut stretches {
            (*a, *b) = ((*a).max(early), (*b).min(late));
        }
        let all = stretches.clone();
        if let Some(rest) = self.season.rules.rest {
            for n in 1..stretches.len() {
                stretches[n].0 = stretches[n].0.max(stretches[n - 1].1 + rest.long);
            }
            stretches.retain(|(a, b)| a < b);
        }
        if let Some(longest) = self.longest_at(who) {
            let middle = self.open + (self.close - self.open) / 2;
            stretches = within_days(&stretches, longest, middle);
        }
        (early < late && !stretches.is_empty()).then_some((all, stretches))
    }

    /// Slots that begin to end with a stretch of work, as far as they are of the session.
    fn slots_of(&self, (begin, end): (Instant, Instant)) -> std::ops::RangeInclusive<i64> {
        let (a, b) = (
            self.slots.holding(begin + TimeDelta::seconds(1)),
            self.slots.holding(end),
        );
        a.max(self.unstaffed.first)..=b.min(self.unstaffed.last)
    }

    fn rest(&self) -> Option<Rest> {
        self.season.rules.rest.filter(|_| !self.relax.shifts)
    }

    /// True if hours without chute work touch a slot.
    fn blocked(&self, slot: i64) -> bool {
        let (a, b) = (self.slots.start(slot), self.slots.start(slot + 1));
        self.free.iter().any(|(from, to)| *from < b && a < *to)
    }

    /// True if a cow may be bred at the moment the hours open. Whoever leaves then holds a box for that
    /// moment and for none of the slots in which boxes are counted: only where each has a box.
    fn may_breed_as_they_open(&self, stretches: &[(Instant, Instant)]) -> bool {
        let boxes = self.season.sites[self.unstaffed.site].breeding_boxes as usize;
        let stays = || {
            stretches
                .iter()
                .any(|(from, to)| *from <= self.open && self.open < *to)
        };
        !self.blocked(self.unstaffed.first - 1) && (boxes >= self.season.crew.len() || stays())
    }

    /// What a technician could breed here, in numbers alone, and from when to when; as
    /// [`Self::able_in`] says it.
    pub(crate) fn stay(
        &self,
        hours: &Hours,
        from: Option<Instant>,
        to: Option<Instant>,
    ) -> Option<(Stay, (Instant, Instant))> {
        let (_, stretches) = self.reach(hours, from, to)?;
        let (first, last) = (self.unstaffed.first, self.unstaffed.last);
        let slots = usize::try_from(last - first + 1).ok()?;
        let mut there = vec![false; slots];
        let mut cows = vec![0u32; slots];
        let place = |k: i64| usize::try_from(k - first).ok().filter(|k| *k < slots);
        let mut ends: Vec<(i64, u32, i64)> = Vec::new();
        for (begin, end) in &stretches {
            for k in self.slots_of((*begin, *end)) {
                there[(k - first) as usize] = true;
            }
        }
        let opens = self.open.timestamp();
        let slot = |at: i64| (at - 1).div_euclid(self.slots.seconds()).max(first);
        let as_they_open = self.may_breed_as_they_open(&stretches);
        each_bred(&hours.rounds, self.rest(), &stretches, |at, done| {
            if !done && at == opens && !as_they_open {
                return;
            }
            if done {
                let cows = place(slot(at)).map_or(0, |k| cows[k]);
                ends.push((slot(at) - first, cows, at));
            } else if let Some(slot) = place(slot(at)) {
                cows[slot] += 1;
            }
        });
        for (k, there) in there.iter_mut().enumerate() {
            if *there && self.blocked(first + k as i64) {
                *there = false;
                cows[k] = 0;
            }
        }
        if cows.iter().all(|n| *n == 0) {
            return None;
        }
        let all: Vec<usize> = (0..slots).filter(|k| there[*k]).collect();
        // The last cow of a round may come when none may be bred here: those before her were.
        let end = |(slot, bred, at): (i64, u32, i64)| {
            let before = all.partition_point(|k| (*k as i64) < slot);
            if all.get(before).is_some_and(|k| *k as i64 == slot) {
                let (slot, cows) = (before, bred);
                return Some(End { slot, cows, at });
            }
            let slot = before.checked_sub(1)?;
            let cows = cows[all[slot]];
            Some(End { slot, cows, at })
        };
        let mut ends: Vec<End> = ends.into_iter().filter_map(end).collect();
        ends.dedup_by_key(|e| (e.slot, e.cows));
        let slots = all.into_iter().map(|k| (k, cows[k])).collect();
        let span = (stretches[0].0, stretches[stretches.len() - 1].1);
        Some((Stay { slots, ends }, span))
    }

    /// The same, with the hours at hand.
    pub(crate) fn able_in(
        &self,
        hours: &Hours,
        from: Option<Instant>,
        to: Option<Instant>,
    ) -> Option<Able> {
        let (unstaffed, slots) = (self.unstaffed, self.slots);
        let (technician, rounds) = (hours.technician, hours.rounds);
        let (all, stretches) = self.reach(hours, from, to)?;
        let (mut ticks, mut ends) = (Vec::new(), Vec::new());
        let as_they_open = self.may_breed_as_they_open(&stretches);
        each_bred(&rounds, self.rest(), &stretches, |at, done| {
            let at = Instant::from_timestamp(at, 0).unwrap_or_default();
            if !done && at == self.open && !as_they_open {
                return;
            }
            // A cow bred as the hours open counts to the slot that begins then.
            let slot = slots.holding(at).max(unstaffed.first);
            if done {
                ends.push(at);
            } else if (unstaffed.first..=unstaffed.last).contains(&slot) && !self.blocked(slot) {
                ticks.push((slot, at));
            }
        });
        if ticks.is_empty() {
            return None;
        }
        let there = stretches.iter().flat_map(|stretch| self.slots_of(*stretch));
        let mut there: Vec<i64> = there.filter(|slot| !self.blocked(*slot)).collect();
        there.sort_unstable();
        there.dedup();
        there.shrink_to_fit();
        ends.shrink_to_fit();
        Some(Able {
            technician,
            rounds,
            ticks: Ticks::new(&ticks),
            there,
            ends,
            span: (stretches[0].0, stretches[stretches.len() - 1].1),
            stretches,
            chain: None,
            hours: all,
        })
    }

    /// From when to when one could be here else, where the longest day leaves only a part of the hours: from
    /// the first moment, from the beginning of a slot, or to the last.
    pub(crate) fn other_days(&self, hours: &Hours) -> Vec<(Instant, Instant)> {
        let who = &self.season.crew[hours.technician];
        let stretches = &hours.stretches;
        let (Some(longest), Some(first), Some(last)) =
            (self.longest_at(who), stretches.first(), stretches.last())
        else {
            return Vec::new();
        };
        let (begin, end) = (first.0.max(hours.early), last.1.min(self.close));
        if end - begin <= longest || !are_one_day(stretches) {
            return Vec::new();
        }
        let latest = next_minute(end - longest);
        let slots = self.unstaffed.first..=self.unstaffed.last;
        let slots = slots.map(|k| next_minute(self.slots.start(k)));
        let between: Vec<Instant> = slots.filter(|at| begin < *at && *at < latest).collect();
        let stride = between.len() / MOST_DAYS + 1;
        let between = between.into_iter().step_by(stride);
        let all = std::iter::once(begin).chain(between).chain([latest]);
        all.map(|from| (from, from + longest)).collect()
    }

    /// The longest day at this site, less the road from and to the home site.
    fn longest_at(&self, who: &Technician) -> Option<TimeDelta> {
        if self.relax.shifts || self.relax.day {
            return None;
        }
        let longest = who.longest_day.or(self.season.rules.longest_day)?;
        let road = self.season.road_home(who, self.unstaffed.site);
        Some((longest - road * 2).max(TimeDelta::zero()))
    }
}

/// When a technician may be at work at a session whose hours are open to the second: whole slots leave
/// out minutes at either end. Where a rest or the longest day bounds the work, whole slots must do:
/// what goes before and after was chosen by them.
pub(crate) fn to_the_second(season: &Season, unstaffed: &Unstaffed, able: &Able) -> Stretches {
    let who = &season.crew[able.technician];
    let longest = who.longest_day.or(season.rules.longest_day);
    if season.rules.rest.is_some() || longest.is_some() {
        return able.stretches.clone();
    }
    let (open, close) = unstaffed.with_straws;
    let from = (open - able.rounds.to_first_cow()).max(unstaffed.after);
    let mut stretches = present(season, who, unstaffed.site, from, close, Relax::default());
    for (a, b) in &mut stretches {
        (*a, *b) = ((*a).max(from), (*b).min(close));
    }
    stretches.retain(|(a, b)| a < b);
    stretches
}

/// Tells of each cow bred in these stretches of work by one who rests as the rules say, and once more, with
/// true, after the last one of each round: seconds since the epoch. A rest or a break puts nothing in
/// order for the next round.
fn each_bred(
    rounds: &Rounds,
    rest: Option<Rest>,
    stretches: &[(Instant, Instant)],
    mut tell: impl FnMut(i64, bool),
) {
    let mut last: Option<i64> = None;
    for (begin, end) in stretches {
        let mut from = *begin;
        while from < *end {
            let last_at = last.and_then(|at| Instant::from_timestamp(at, 0));
            from = last_at.map_or(from, |at| from.max(at + rounds.reset()));
            let until = rest.map_or(*end, |r| (from + r.after).min(*end));
            let (mut open, mut bred) = (None, None);
            for (n, at) in rounds.breedings(from, until).enumerate() {
                tell(at, false);
                let done = (n + 1) % rounds.straws.0 as usize == 0;
                if done {
                    tell(at, true);
                }
                open = Some(at).filter(|_| !done);
                last = Some(at);
                bred = Instant::from_timestamp(at, 0);
            }
            if let Some(at) = open {
                tell(at, true);
            }
            // A rest begins as the last cow is bred that fits before it.
            from = match rest {
                Some(r) => bred.unwrap_or(from + r.after) + r.long,
                None => *end,
            };
        }
    }
}

/// True if no night lies between these stretches of work.
fn are_one_day(stretches: &[(Instant, Instant)]) -> bool {
    stretches.windows(2).all(|w| w[1].0 - w[0].1 < NIGHT)
}

/// True if the longest day leaves a technician only a part of the hours at a session, all of one day: which
/// part is then a choice.
pub(crate) fn is_cut_by_day(able: &Able) -> bool {
    able.span != able.presence() && are_one_day(&able.hours)
}

/// Work apart by at least this is of two days, with a night between (common practice, no source).
pub(crate) const NIGHT: TimeDelta = TimeDelta::hours(8);

/// The whole minute that a moment is in.
pub(crate) fn whole_minute(at: Instant) -> Instant {
    at - TimeDelta::seconds(at.timestamp().rem_euclid(60))
}

/// The whole minute that a moment is, or that comes next: when somebody is asked to be there.
pub(crate) fn next_minute(at: Instant) -> Instant {
    whole_minute(at + TimeDelta::seconds(59))
}

/// Cuts stretches of work so that no day of them is longer than `longest`: those hours are kept
/// that lie round `middle`.
fn within_days(
    stretches: &[(Instant, Instant)],
    longest: TimeDelta,
    middle: Instant,
) -> Vec<(Instant, Instant)> {
    let mut days: Vec<Vec<(Instant, Instant)>> = Vec::new();
    for s in stretches {
        match days.last_mut() {
            Some(day) if s.0 - day[day.len() - 1].1 < NIGHT => day.push(*s),
            _ => days.push(vec![*s]),
        }
    }
    let mut kept = Vec::new();
    for day in days {
        let (begin, end) = (day[0].0, day[day.len() - 1].1);
        let latest = (end - longest).max(begin);
        // On a whole minute: people are asked to come at 6:20, not at 6:20:30.
        let from = whole_minute((middle - longest / 2).clamp(begin, latest)).max(begin);
        let clipped = day
            .iter()
            .map(|(a, b)| ((*a).max(from), (*b).min(from + longest)));
        kept.extend(clipped.filter(|(a, b)| a < b));
    }
    kept
}

/// Beginnings between that are looked at, at the most: of many slots only every second, third ...
const MOST_DAYS: usize = 12;

/// A stretch of work may begin and end days away: only its own ends are shortened by the road.
const DAYS_AROUND: u64 = 3;

/// The stretches in which a technician can be at a site, within `[from, to]`, joined where they
/// touch. The road from and to the home site is taken from each shift, and lies in no hours without any
/// work.
pub(crate) fn present(
    season: &Season,
    technician: &Technician,
    site: usize,
    from: Instant,
    to: Instant,
    relax: Relax,
) -> Vec<(Instant, Instant)> {
    let road = season.road_home(technician, site);
    let idle = if relax.free_hours {
        Vec::new()
    } else {
        season.idle_between(from - road, to + road)
    };
    if relax.shifts {
        return outside(vec![(from, to)], &idle, road);
    }
    let zone = season.zone;
    let at = |local| zone.resolve(local).at;
    let mut found: Stretches = Vec::new();
    let mut date = zone.date(from) - Days::new(DAYS_AROUND);
    let last = zone.date(to) + Days::new(DAYS_AROUND);
    while date <= last {
        let hours = technician.hours_of(date).into_iter();
        found.extend(hours.map(|(a, b)| (at(a), at(b))));
        date = date.succ_opt().unwrap_or(date + TimeDelta::days(1));
    }
    let hours = joined(found)
        .into_iter()
        .map(|(a, b)| (a + road, b - road))
        .filter(|(a, b)| a < b && *a < to && from < *b)
        .collect();
    outside(hours, &idle, road)
}

/// What lies outside hours without any work, in which nobody is on the road either.
fn outside(mut hours: Stretches, idle: &[(Instant, Instant)], road: TimeDelta) -> Stretches {
    for (a, b) in idle {
        let (a, b) = (*a - road, *b + road);
        hours = hours
            .into_iter()
            .flat_map(|(from, to)| [(from, to.min(a)), (from.max(b), to)])
            .filter(|(from, to)| from < to)
            .collect();
    }
    hours
}

/// Stretches by their beginning, those that touch as one.
pub(crate) fn joined(mut stretches: Vec<(Instant, Instant)>) -> Vec<(Instant, Instant)> {
    stretches.sort();
    let mut joined: Vec<(Instant, Instant)> = Vec::new();
    for (a, b) in stretches {
        match joined.last_mut() {
            Some(last) if a <= last.1 => last.1 = last.1.max(b),
            _ => joined.push((a, b)),
        }
    }
    joined
}
