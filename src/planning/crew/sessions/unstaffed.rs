//! Sessions in slots: who is due at one, and what each technician could breed there.

use chrono::TimeDelta;

use crate::base::time::Instant;
use crate::planning::dating::Due;
use crate::trade::season::Season;
use crate::trade::season::pace::Rounds;

/// The time grain: slot `k` is the stretch after `k` times its length up to the next, counted
/// from the epoch, so that slots of all sites agree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slots {
    seconds: i64,
}

impl Slots {
    /// The season's grain.
    #[must_use]
    pub fn new(season: &Season) -> Self {
        Self {
            seconds: season.rules.grain().num_seconds().max(60),
        }
    }

    /// The first moment of the plan's row that holds a moment.
    pub(crate) fn row(season: &Season, at: Instant) -> Instant {
        let rows = Self {
            seconds: season.rules.slot.num_seconds().max(60),
        };
        rows.start(rows.holding(at))
    }

    /// Seconds of a slot.
    pub(crate) const fn seconds(self) -> i64 {
        self.seconds
    }

    /// Slots in so many hours.
    pub(crate) fn in_hours(self, hours: i64) -> i64 {
        hours * 3600 / self.seconds
    }

    /// First moment of a slot.
    #[must_use]
    pub fn start(self, slot: i64) -> Instant {
        Instant::from_timestamp(slot * self.seconds, 0).unwrap_or_default()
    }

    /// The slot in which something done at `at` counts; a boundary counts to the slot it ends.
    #[must_use]
    pub fn holding(self, at: Instant) -> i64 {
        (at.timestamp() - 1).div_euclid(self.seconds)
    }

    /// Slots that lie wholly in `[from, to]`, as a range that may be empty.
    #[must_use]
    pub fn within(self, from: Instant, to: Instant) -> (i64, i64) {
        let first = (from.timestamp() + self.seconds - 1).div_euclid(self.seconds);
        let last = to.timestamp().div_euclid(self.seconds) - 1;
        (first, last)
    }

    /// The distance of a slot's middle from a moment, in whole slots.
    #[must_use]
    pub fn distance(self, slot: i64, from: Instant) -> i64 {
        let middle = slot * self.seconds + self.seconds / 2;
        (middle - from.timestamp()).abs() / self.seconds
    }
}

/// Animals of a due whose hours hold the same slots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Lot {
    /// First of them, by place in the pen.
    pub(crate) cow: u32,
    /// How many.
    pub(crate) head: u32,
    /// First slot.
    pub(crate) first: i64,
    /// Last slot; before `first` if there is none.
    pub(crate) last: i64,
}

#[cfg(test)]
impl Lot {
    /// So many animals from a slot to another.
    pub(crate) const fn within(first: i64, last: i64, head: u32) -> Self {
        Self {
            cow: 0,
            head,
            first,
            last,
        }
    }
}

/// The lots of a due: one for order mixed, one for each run of equal slots for order kept.
pub(crate) fn lots(due: &Due, slots: Slots) -> Vec<Lot> {
    let mut found: Vec<Lot> = Vec::new();
    if due.order == crate::trade::season::Order::Mixed {
        let hours = due.safe_hours_with_straws();
        let (first, last) = slots.within(hours.earliest, hours.latest);
        return vec![Lot {
            cow: 0,
            head: due.head.0,
            first,
            last,
        }];
    }
    for cow in 0..due.head.0 {
        let hours = due.hours_with_straws(cow);
        let (first, last) = slots.within(hours.earliest, hours.latest);
        match found.last_mut() {
            Some(lot) if lot.first == first && lot.last == last => lot.head += 1,
            _ => found.push(Lot {
                cow,
                head: 1,
                first,
                last,
            }),
        }
    }
    found
}

/// A session before anyone is sent there.
#[derive(Clone, Debug)]
pub(crate) struct Unstaffed {
    pub(crate) site: usize,
    /// Places in `DatedSeason::dues`.
    pub(crate) dues: Vec<usize>,
    /// Lots of each of them.
    pub(crate) lots: Vec<Vec<Lot>>,
    pub(crate) open: Instant,
    pub(crate) close: Instant,
    /// The same, as far as tanks that go from site to site are here.
    pub(crate) with_straws: (Instant, Instant),
    /// When the session before it at this site closes: thawing for this one begins no earlier.
    pub(crate) after: Instant,
    /// First and last slot; none if `last < first`.
    pub(crate) first: i64,
    pub(crate) last: i64,
    pub(crate) able: Vec<Able>,
}

impl Unstaffed {
    /// People times slots.
    pub(crate) fn people_slots(&self) -> u64 {
        let slots = u64::try_from(self.last - self.first + 1).unwrap_or(0);
        self.able.len() as u64 * slots
    }

    /// The lots of all dues, those of the same slots as one, in order of the first slot.
    pub(crate) fn all_lots(&self) -> Vec<Lot> {
        let mut lots: Vec<Lot> = self.lots.iter().flatten().copied().collect();
        lots.sort_unstable_by_key(|l| (l.first, l.last, l.cow));
        lots.dedup_by(|lot, before| {
            let same = (lot.first, lot.last) == (before.first, before.last);
            before.head += if same { lot.head } else { 0 };
            same
        });
        lots
    }

    /// Head due.
    pub(crate) fn head(&self) -> u32 {
        self.lots.iter().flatten().map(|l| l.head).sum()
    }

    /// Lots times their slots.
    pub(crate) fn lot_slots(&self) -> u64 {
        let slots = |lot: &Lot| u64::try_from(lot.last - lot.first + 1).unwrap_or(0);
        self.lots.iter().flatten().map(slots).sum()
    }
}

/// When each cow could be bred, by slot. There is one for every technician at every session, so moments and slots
/// are counted from the first.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Ticks {
    first: (i64, Instant),
    /// Seconds.
    at: Vec<u32>,
    /// Slots in order, each with the end of its moments in the list.
    slots: Vec<(u32, u32)>,
}

impl Ticks {
    /// Moments, each with its slot, which come in the order of time; none is days from another.
    pub(crate) fn new(moments: &[(i64, Instant)]) -> Self {
        let mut ticks = Self {
            first: moments.first().copied().unwrap_or_default(),
            at: Vec::with_capacity(moments.len()),
            slots: Vec::new(),
        };
        for (slot, at) in moments {
            ticks.at.push((*at - ticks.first.1).num_seconds() as u32);
            let slot = (slot - ticks.first.0) as u32;
            let end = ticks.at.len() as u32;
            match ticks.slots.last_mut() {
                Some(last) if last.0 == slot => last.1 = end,
                _ => ticks.slots.push((slot, end)),
            }
        }
        ticks.slots.shrink_to_fit();
        ticks
    }

    /// Slots with the number of cows that could be bred in each.
    pub(crate) fn caps(&self) -> impl Iterator<Item = (i64, u32)> {
        let from = std::iter::once(0).chain(self.slots.iter().map(|s| s.1));
        let slots = self.slots.iter().zip(from);
        slots.map(|((slot, to), from)| (self.first.0 + i64::from(*slot), to - from))
    }

    /// The moments of a slot.
    pub(crate) fn of(&self, slot: i64) -> impl ExactSizeIterator<Item = Instant> {
        let nth = u32::try_from(slot - self.first.0);
        let n = nth
            .ok()
            .and_then(|k| self.slots.binary_search_by_key(&k, |s| s.0).ok());
        let range = n.map_or(0..0, |n| {
            let from = n.checked_sub(1).map_or(0, |before| self.slots[before].1);
            from as usize..self.slots[n].1 as usize
        });
        let at = self.at[range].iter();
        at.map(|s| self.first.1 + TimeDelta::seconds(i64::from(*s)))
    }
}

/// What a technician could breed at a session.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Able {
    pub(crate) technician: usize,
    pub(crate) rounds: Rounds,
    pub(crate) ticks: Ticks,
    /// Slots in which the technician is there at all.
    pub(crate) there: Vec<i64>,
    /// Moments at which a round is done, so that the technician could leave; none of a whole session.
    pub(crate) ends: Vec<Instant>,
    /// From when to when the technician is at work here.
    pub(crate) span: (Instant, Instant),
    /// The same, without the hours off between.
    pub(crate) stretches: Vec<(Instant, Instant)>,
    /// The first of the sessions that hang together by hours too short for a night or a rest, where
    /// all of them would be too long a day, or too much without a rest.
    pub(crate) chain: Option<Instant>,
    /// When the technician could be at work here, whatever the longest day.
    pub(crate) hours: Vec<(Instant, Instant)>,
}

impl Able {
    /// From when to when the technician could be at work here, on a visit of any length.
    pub(crate) fn presence(&self) -> (Instant, Instant) {
        let first = self.hours.first().map_or(self.span.0, |h| h.0);
        (first, self.hours.last().map_or(self.span.1, |h| h.1))
    }

    pub(crate) fn cap(&self, slot: i64) -> u32 {
        self.ticks.of(slot).len() as u32
    }
}
