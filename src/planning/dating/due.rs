//! Who is due to be bred when: the hours of a pen, and of each of its animals.
//!
//! Where only a share of a pen is bred, nobody knows which animals: the hours must suit any of them,
//! even where the order is kept.

use chrono::TimeDelta;

use super::half::Half;
use crate::base::time::Instant;
use crate::base::units::{Head, HeadPerHour};
use crate::trade::protocol::Window;
use crate::trade::season::Order;

/// The hours that hold for a pen's step. For chute work these are hours to *begin* in, so that
/// the window holds from the first animal to the last; `latest` is before `earliest` where no
/// beginning suits them all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hours {
    /// Not sooner. For breeding: the pen's first animal's earliest for order kept, the last's
    /// for mixed.
    pub earliest: Instant,
    /// Not later. For breeding: the pen's last animal's latest for order kept, the first's for
    /// mixed.
    pub latest: Instant,
    /// Best; for breeding, for the animal in the middle of the pen, as near as these hours allow.
    pub aim: Instant,
}

impl Hours {
    /// The best moment, moved into the hours: what is best for the middle of a pen may come too early
    /// for its last animal, or too late for its first. Where no moment suits them all it stays.
    fn aimed_inside(self) -> Self {
        if self.earliest > self.latest {
            return self;
        }
        Self {
            aim: self.aim.clamp(self.earliest, self.latest),
            ..self
        }
    }
}

/// A pen that is due to be bred at set hours, or a group's animals seen in heat on a half-day.
#[derive(Clone, Debug, PartialEq)]
pub struct Due {
    /// Group, by its place in the season.
    pub group: usize,
    /// Pen, from 0.
    pub pen: usize,
    /// Step, by its place in the protocol.
    pub step: usize,
    /// Where those seen in heat are bred: when they are seen. The due is of the whole group then,
    /// its hours count from the check, and `pen` is 0.
    pub half_day: Option<Half>,
    /// Site, by its place in the season.
    pub site: usize,
    /// Animals planned for.
    pub head: Head,
    /// Order at the breeding chute.
    pub order: Order,
    /// The pass that the hours count from.
    pub from: Synchronizing,
    /// The protocol's window.
    pub window: Window,
    /// When the straws are at the site, where their tank serves other sites as well.
    pub turn: Option<Turn>,
}

/// A due's turn of a tank that goes from site to site.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Turn {
    /// From when on cows can be bred with its straws.
    pub from: Option<Instant>,
    /// Until when.
    pub to: Option<Instant>,
    /// Head of this due, and of all, that were left if the tank were everywhere at once.
    pub left_anyway: [u32; 2],
    /// Where the tank is else, in words.
    pub words: Vec<String>,
}

/// The pass that breeding hours count from: each animal's own treatment time follows from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Synchronizing {
    /// First animal in.
    pub start: Instant,
    /// All animals of the pen, of whom [`Due::head`] are bred here.
    pub head: Head,
    /// Pace.
    pub pace: HeadPerHour,
}

impl Synchronizing {
    /// The moments between which the animal in place `n` (from 0) of `of` is treated.
    #[must_use]
    pub fn treated(&self, n: u32, of: u32) -> (Instant, Instant) {
        let each = 3600.0 / self.pace.get() * f64::from(self.head.0) / f64::from(of.max(1));
        let at = |k: u32, round: fn(f64) -> f64| {
            self.start + TimeDelta::seconds(round(f64::from(k) * each) as i64)
        };
        // A small allowance keeps whole seconds whole.
        (
            at(n, |x| (x + 1e-6).floor()),
            at(n + 1, |x| (x - 1e-6).ceil()),
        )
    }

    /// Last animal out.
    #[must_use]
    pub fn end(&self) -> Instant {
        self.start + TimeDelta::seconds(self.pace.seconds_for(self.head))
    }
}

impl Due {
    /// Its place among others: by hours, then by group, pen, step and half-day.
    pub(super) fn place(&self) -> (Instant, usize, usize, usize, Option<Half>) {
        let earliest = self.safe_hours().earliest;
        (earliest, self.group, self.pen, self.step, self.half_day)
    }

    /// From the first to the last of its hours, whichever comes first.
    pub(crate) fn span(&self) -> (Instant, Instant) {
        let h = self.safe_hours();
        (h.earliest.min(h.latest), h.earliest.max(h.latest))
    }

    /// [`Self::hours`], as far as the straws are at the site.
    pub(crate) fn hours_with_straws(&self, n: u32) -> Hours {
        self.in_turn(self.hours(n))
    }

    /// [`Self::safe_hours`], as far as the straws are at the site.
    pub(crate) fn safe_hours_with_straws(&self) -> Hours {
        self.in_turn(self.safe_hours())
    }

    fn in_turn(&self, hours: Hours) -> Hours {
        let Some(turn) = &self.turn else { return hours };
        Hours {
            earliest: turn.from.map_or(hours.earliest, |t| t.max(hours.earliest)),
            latest: turn.to.map_or(hours.latest, |t| t.min(hours.latest)),
            ..hours
        }
    }

    /// The hours in which the animal in place `n` may be bred, and the best moment.
    #[must_use]
    pub fn hours(&self, n: u32) -> Hours {
        match self.order {
            Order::Mixed => self.safe_hours(),
            Order::Kept => {
                let (first, last) = self.from.treated(n, self.head.0);
                let hours = Hours {
                    earliest: last + self.window.earliest,
                    latest: first + self.window.latest,
                    aim: first + (last - first) / 2 + self.window.aim,
                };
                hours.aimed_inside()
            }
        }
    }

    /// The hours of the whole pen: for order mixed those in which any animal may be bred, for
    /// order kept from the first animal's earliest to the last one's latest.
    #[must_use]
    pub fn safe_hours(&self) -> Hours {
        let (start, end) = (self.from.start, self.from.end());
        let aim = start + (end - start) / 2 + self.window.aim;
        let hours = match self.order {
            Order::Mixed => Hours {
                earliest: end + self.window.earliest,
                latest: start + self.window.latest,
                aim,
            },
            Order::Kept => {
                let n = self.head.0.max(1);
                Hours {
                    earliest: self.from.treated(0, n).1 + self.window.earliest,
                    latest: self.from.treated(n - 1, n).0 + self.window.latest,
                    aim,
                }
            }
        };
        hours.aimed_inside()
    }
}

/// When a pass of length `long` may begin so that every animal keeps the window since `anchor`; the
/// aim is moved to the nearest of these moments, a whole minute if there is one.
pub(super) fn begin_hours(
    order: Order,
    anchor: &Synchronizing,
    window: &Window,
    long: TimeDelta,
    aim: Instant,
) -> Hours {
    let (first, last) = (anchor.start, anchor.end());
    let (earliest, latest) = match order {
        // The last treated may come first, and the first treated last.
        Order::Mixed => (last + window.earliest, first + window.latest - long),
        // Both go at an even pace: the first and the last animal are the extremes.
        Order::Kept => (
            (first + window.earliest).max(last + window.earliest - long),
            (first + window.latest).min(last + window.latest - long),
        ),
    };
    let hours = Hours {
        earliest,
        latest,
        aim,
    };
    let inside = hours.aimed_inside();
    let beyond = inside.aim.timestamp().rem_euclid(60);
    let minute = if beyond == 0 || inside.aim == aim {
        inside.aim
    } else if inside.aim > aim {
        inside.aim + TimeDelta::seconds(60 - beyond)
    } else {
        inside.aim - TimeDelta::seconds(beyond)
    };
    if (earliest..=latest).contains(&minute) {
        Hours {
            aim: minute,
            ..inside
        }
    } else {
        inside
    }
}

/// A pace so fast that the whole pen is through at once, without a second passing.
pub(super) fn instant_pace(head: Head) -> HeadPerHour {
    HeadPerHour::new(3600.0e10 * f64::from(head.0.max(1))).expect("above zero")
}
