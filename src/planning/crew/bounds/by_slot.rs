//! Head that no plan in slots breeds, however technicians divide their days: by counting, without the solver.
//!
//! Rounds begin anew with each visit, so what a technician breeds in a slot hangs on where he or she
//! was before. Over a stretch of hours that matters little: in `t` seconds at work nobody breeds more
//! than `t` times the pace of whole rounds, and a burst more, for the round that is under way as the
//! stretch begins. Animals whose hours lie within a stretch and are more than the crew could breed in
//! it are left, at one site or at all sites together; stretches that share no slot add up.

use std::collections::BTreeMap;

use chrono::TimeDelta;

use crate::base::time::Instant;
use crate::planning::crew::sessions::place::{self, NIGHT, Relax};
use crate::planning::crew::sessions::unstaffed::{Lot, Slots, lots};
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::pace::{Rounds, rounds_at};
use crate::trade::season::{Order, Season, Technician};

/// Longer stretches are not looked at: a bound needs not all of them.
const LONGEST: TimeDelta = TimeDelta::hours(48);

/// What a technician's rounds give, at one site or at the best of several.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Pace {
    /// Head a second over whole rounds.
    rate: f64,
    /// Head more than that in any stretch.
    burst: f64,
    /// Seconds that a visit gains as it begins: whoever thaws alone need not reset before the first
    /// round.
    begin: f64,
}

impl Pace {
    fn of(rounds: &Rounds) -> Self {
        let k = rounds.straws.0;
        let rate = f64::from(k) / rounds.period.0;
        let at = |n: u32| rounds.since_first_gun(n);
        let mut burst: f64 = 1.0;
        let mut begin: f64 = 0.0;
        for first in 0..k {
            for more in 0..=k {
                let long = at(first + more) - at(first);
                burst = burst.max(f64::from(more + 1) - rate * long);
            }
            // From the first straws on, `first + 1` are bred.
            let since = rounds.lead.0 + at(first);
            begin = begin.max(f64::from(first + 1) / rate - since);
        }
        Self { rate, burst, begin }
    }

    fn or(self, other: Self) -> Self {
        Self {
            rate: self.rate.max(other.rate),
            burst: self.burst.max(other.burst),
            begin: self.begin.max(other.begin),
        }
    }
}

/// A technician over the slots of the season looked at.
struct Person {
    pace: Pace,
    /// Seconds there before each slot.
    seconds: Vec<i64>,
    /// Times before each slot at which work begins, or goes on after hours kept free.
    begins: Vec<u32>,
    /// Longest day, and rest after so many seconds of work.
    longest: Option<i64>,
    rest: Option<(i64, i64)>,
}

/// The slots looked at.
#[derive(Clone, Copy)]
struct Span {
    slots: Slots,
    first: i64,
    last: i64,
}

impl Span {
    fn from(self) -> Instant {
        self.slots.start(self.first)
    }

    fn to(self) -> Instant {
        self.slots.start(self.last + 1)
    }

    fn place(self, slot: i64) -> usize {
        usize::try_from(slot - self.first).unwrap_or(0)
    }
}

impl Person {
    fn new(
        season: &Season,
        who: &Technician,
        span: Span,
        stretches: &[(Instant, Instant)],
        free: &[(Instant, Instant)],
        pace: Pace,
    ) -> Self {
        let mut person = Self {
            pace,
            seconds: vec![0],
            begins: vec![0],
            longest: who
                .longest_day
                .or(season.rules.longest_day)
                .map(|l| l.num_seconds()),
            rest: season
                .rules
                .rest
                .map(|r| (r.after.num_seconds(), r.long.num_seconds())),
        };
        let mut was_free = false;
        // Both come by their beginning: of a long season only those about a slot are looked at.
        let mut free = free.iter().peekable();
        let mut free_until = span.from();
        let mut over = 0;
        for slot in span.first..=span.last {
            let (a, b) = (span.slots.start(slot), span.slots.start(slot + 1));
            while let Some((_, to)) = free.next_if(|(from, _)| *from < b) {
                free_until = free_until.max(*to);
            }
            let is_free = a < free_until;
            over += stretches[over..].iter().take_while(|s| s.1 < a).count();
            let mut seconds = 0;
            let mut begins = u32::from(was_free);
            if !is_free {
                let here = stretches[over..].iter();
                for (from, to) in here.take_while(|s| s.0 < b) {
                    seconds += ((*to).min(b) - (*from).max(a)).num_seconds().max(0);
                    begins += u32::from(a < *from && *from < b);
                    // At the very beginning of a slot it begins anew for stretches across it.
                    begins += u32::from(a == *from && slot > span.first);
                }
            }
            was_free = is_free;
            person
                .seconds
                .push(person.seconds[person.seconds.len() - 1] + seconds);
            person
                .begins
                .push(person.begins[person.begins.len() - 1] + begins);
        }
        person
    }

    /// Bursts at a first slot beyond one: where work ends and begins in it.
    fn more_at(&self, i: usize) -> u32 {
        let here = self.begins[i + 1] - self.begins[i];
        let before = i == 0 || self.seconds[i] > self.seconds[i - 1];
        if here == 1 && !before { 0 } else { here }
    }

    /// Head in the slots from place `i` to before place `j`, in so many sessions at the most.
    fn most(&self, i: usize, j: usize, sessions: u32, slot: i64) -> u32 {
        let there = self.seconds[j] - self.seconds[i];
        if there == 0 {
            return 0;
        }
        let window = (j - i) as i64 * slot;
        let mut work = there;
        if let Some(longest) = self.longest {
            // So many days, with nights between them.
            let days = |d: i64| (window - (d - 1) * NIGHT.num_seconds()).min(d * longest);
            work = work.min((1..=7).map(days).max().unwrap_or(there));
        }
        if let Some((after, long)) = self.rest.filter(|(after, _)| *after > 0) {
            let so_many = |n: i64| (window - n * long).min((n + 1) * after);
            work = work.min((0..=window / after).map(so_many).max().unwrap_or(there));
        }
        let begins = self.begins[j] - self.begins[i + 1] + self.more_at(i);
        // A rest puts nothing in order for the next round, so it gains nothing.
        let visits = sessions.saturating_sub(1);
        // Moments are rounded up to whole seconds.
        let seconds = work.max(0) as f64 + f64::from(visits) * self.pace.begin + 1.0;
        // The first cow of each session is bred as its hours open.
        let opened = f64::from(sessions.max(1));
        let head = self.pace.rate * seconds + f64::from(1 + begins) * self.pace.burst + opened;
        (head + 1e-6).floor() as u32
    }
}

/// The crew at one site, or at all.
struct Crew {
    people: Vec<Person>,
    /// Head before each slot that fit through the boxes; none where all sites are looked at.
    boxes: Option<Vec<u32>>,
}

impl Crew {
    fn most(&self, i: usize, j: usize, sessions: u32, slot: i64) -> u32 {
        let each = self.people.iter().map(|p| p.most(i, j, sessions, slot));
        let all = each.sum::<u32>();
        match &self.boxes {
            Some(boxes) => all.min(boxes[j] - boxes[i]),
            None => all,
        }
    }
}

fn crew_at(
    season: &Season,
    span: Span,
    free: &[(Instant, Instant)],
    sites: &[usize],
    comes: &dyn Fn(usize) -> bool,
) -> Crew {
    let mut people = Vec::new();
    let those = season.crew.iter().enumerate();
    for (_, who) in those.filter(|(t, _)| comes(*t)) {
        let mut pace: Option<Pace> = None;
        let mut stretches: Vec<(Instant, Instant)> = Vec::new();
        for site in sites {
            let Some(rounds) = rounds_at(season, who, &season.sites[*site]) else {
                continue;
            };
            let of = Pace::of(&rounds);
            pace = Some(pace.map_or(of, |p| p.or(of)));
            let there = (span.from(), span.to());
            stretches.extend(place::present(
                season,
                who,
                *site,
                there.0,
                there.1,
                Relax::default(),
            ));
        }
        let Some(pace) = pace else { continue };
        let joined = place::joined(stretches);
        people.push(Person::new(season, who, span, &joined, free, pace));
    }
    let boxes = match sites {
        [site] => {
            let most = season.sites[*site].breeding_boxes as usize;
            // With a box for everybody nobody takes turns.
            (people.len() > most).then(|| through_boxes(&people, span, most))
        }
        _ => None,
    };
    Crew { people, boxes }
}

/// Head before each slot, if in each those stand at the boxes who could breed most.
fn through_boxes(people: &[Person], span: Span, boxes: usize) -> Vec<u32> {
    let slot = span.slots.seconds();
    let mut before = vec![0];
    for place in 0..=span.place(span.last) {
        let each = people.iter().map(|p| p.most(place, place + 1, 1, slot));
        let mut each: Vec<u32> = each.collect();
        each.sort_unstable_by(|a, b| b.cmp(a));
        let most: u32 = each.iter().take(boxes).sum();
        before.push(before[place] + most);
    }
    before
}

/// Animals that are left at the least, where no more than `most` can be bred from one slot to
/// another.
fn left(lots: &[Lot], longest: i64, most: impl Fn(i64, i64) -> u32) -> u32 {
    let mut by_last: Vec<Lot> = lots.iter().filter(|l| l.first <= l.last).copied().collect();
    by_last.sort_by_key(|l| (l.last, l.first));
    let mut firsts: Vec<i64> = by_last.iter().map(|l| l.first).collect();
    firsts.sort_unstable();
    firsts.dedup();
    // What stretches from each of the first slots on leave together, the last first.
    let mut from: BTreeMap<i64, u32> = BTreeMap::new();
    for first in firsts.into_iter().rev() {
        let mut best = from.range(first..).next().map_or(0, |(_, n)| *n);
        let mut head = 0;
        for (n, lot) in by_last.iter().enumerate() {
            if lot.last > first + longest {
                break;
            }
            if lot.first >= first {
                head += lot.head;
            }
            let same = by_last.get(n + 1).is_some_and(|next| next.last == lot.last);
            if same || lot.first < first {
                continue;
            }
            let short = head.saturating_sub(most(first, lot.last));
            if short > 0 {
                let after = from.range(lot.last + 1..).next().map_or(0, |(_, n)| *n);
                best = best.max(short + after);
            }
        }
        from.insert(first, best);
    }
    from.into_values().next().unwrap_or(0)
}

/// Head due, and the most of them that any plan breeds, with days divided between sites in any way
/// in which nobody comes to a session twice.
#[must_use]
pub fn bound_by_slot(season: &Season, dated: &DatedSeason) -> (u32, u32) {
    let slots = Slots::new(season);
    let anybody = |_: usize| true;
    covered_in(season, &dated.dues, slots, &|d| lots(d, slots), &anybody)
}

/// About how much work that is, in microseconds.
pub(crate) fn work(season: &Season, dated: &DatedSeason) -> usize {
    let hours = dated.dues.iter().map(Due::safe_hours);
    let first = hours.clone().map(|h| h.earliest.min(h.latest)).min();
    let last = hours.map(|h| h.earliest.max(h.latest)).max();
    let long = first.zip(last).map_or(0, |(a, b)| (b - a).num_seconds());
    let slots = usize::try_from(long / Slots::new(season).seconds()).unwrap_or(0);
    100 + season.crew.len() * (season.sites.len() + 1) * slots / 30
}

/// No more of these dues than this are bred by these technicians, whatever the slots: every minute that
/// their hours touch counts.
pub(crate) fn by_the_minute(
    season: &Season,
    dues: &[Due],
    comes: &dyn Fn(usize) -> bool,
) -> (u32, u32) {
    let mut season = season.clone();
    season.rules.grain = Some(TimeDelta::minutes(1));
    let slots = Slots::new(&season);
    covered_in(&season, dues, slots, &|d| outer_lots(d, slots), comes)
}

/// The lots of a due by the slots that its hours touch.
fn outer_lots(due: &Due, slots: Slots) -> Vec<Lot> {
    let cows = match due.order {
        Order::Mixed => 1,
        Order::Kept => due.head.0,
    };
    let head = due.head.0 / cows.max(1);
    let lot = |cow| {
        let hours = due.hours(cow);
        let (from, to) = (hours.earliest.timestamp(), hours.latest.timestamp());
        let (first, last) = (
            from.div_euclid(slots.seconds()),
            (to - 1).div_euclid(slots.seconds()),
        );
        Lot {
            cow,
            head,
            first,
            // Who has no hours at all cannot be bred.
            last: if to < from {
                first - 1
            } else {
                last.max(first)
            },
        }
    };
    (0..cows).map(lot).collect()
}

fn covered_in(
    season: &Season,
    dues: &[Due],
    slots: Slots,
    lots: &dyn Fn(&Due) -> Vec<Lot>,
    comes: &dyn Fn(usize) -> bool,
) -> (u32, u32) {
    let mut all: Vec<(usize, Vec<Lot>)> = Vec::new();
    let mut sessions: Vec<(usize, Instant, Instant)> = Vec::new();
    for due in dues {
        all.push((due.site, lots(due)));
        let hours = due.safe_hours();
        let (a, b) = (hours.earliest, hours.latest);
        sessions.push((due.site, a.min(b), a.max(b)));
    }
    let due: u32 = all.iter().flat_map(|(_, l)| l).map(|l| l.head).sum();
    let usable = || {
        let lots = all.iter().flat_map(|(_, l)| l);
        lots.filter(|l| l.first <= l.last)
    };
    let never = due - usable().map(|l| l.head).sum::<u32>();
    let (Some(first), Some(last)) = (
        usable().map(|l| l.first).min(),
        usable().map(|l| l.last).max(),
    ) else {
        return (due, 0);
    };
    let span = Span { slots, first, last };
    let sessions = joined(sessions);
    let free = season.free_between(span.from(), span.to()).into_iter();
    let free: Vec<(Instant, Instant)> = free.map(|(a, b, _)| (a, b)).collect();
    let mut sites: Vec<usize> = all.iter().map(|(s, _)| *s).collect();
    sites.sort_unstable();
    sites.dedup();
    let of = |sites: &[usize]| {
        let crew = crew_at(season, span, &free, sites, comes);
        let here: Vec<Lot> = all
            .iter()
            .filter(|(s, _)| sites.contains(s))
            .flat_map(|(_, l)| l.iter().copied())
            .collect();
        let longest = LONGEST.num_seconds() / slots.seconds();
        left(&here, longest, |i, j| {
            let (a, b) = (slots.start(i), slots.start(j + 1));
            let touching =
                |s: &&(usize, Instant, Instant)| sites.contains(&s.0) && s.1 < b && a < s.2;
            let visits = sessions.iter().filter(touching).count() as u32;
            let (i, j) = (span.place(i), span.place(j) + 1);
            crew.most(i, j, visits, slots.seconds())
        })
    };
    let each: u32 = sites.iter().map(|s| of(&[*s])).sum();
    let together = if sites.len() > 1 { of(&sites) } else { 0 };
    (due, due - never - each.max(together))
}

/// Hours of one site that touch are one session's.
fn joined(mut hours: Vec<(usize, Instant, Instant)>) -> Vec<(usize, Instant, Instant)> {
    hours.sort_unstable();
    let mut found: Vec<(usize, Instant, Instant)> = Vec::new();
    for (site, a, b) in hours {
        match found.last_mut() {
            Some(last) if last.0 == site && a <= last.2 => last.2 = last.2.max(b),
            _ => found.push((site, a, b)),
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_that_share_no_slot_add_up() {
        let two_a_slot = |i: i64, j: i64| 2 * (j - i + 1) as u32;
        // 5 in 2 slots, 9 in 3 slots, and 1 that may wait.
        let lots = [
            Lot::within(0, 1, 5),
            Lot::within(2, 4, 9),
            Lot::within(0, 9, 1),
        ];
        assert_eq!(left(&lots, 100, two_a_slot), 1 + 3);
        // With no more than 2 slots in a stretch the second is not seen.
        assert_eq!(left(&lots, 1, two_a_slot), 1);
        // Those of one slot within another's hours.
        assert_eq!(
            left(
                &[Lot::within(0, 3, 6), Lot::within(1, 1, 4)],
                100,
                two_a_slot
            ),
            2
        );
    }
}
