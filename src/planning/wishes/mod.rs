//! A group's wishes as tests that a protocol and its dates pass or fail.
//!
//! `bred` says when a group is bred. A choice keeps the wishes that must hold, and so does a plan that
//! spreads a group over days.
//!
//! Wishes must bound breeding on both sides. Then what fits is a finite set that every wish makes
//! smaller, and a test holds that a wish added never adds a choice. Starts three weeks to either side
//! are looked at only to tell what a wish keeps out.

mod bred;

use std::cell::LazyCell;
use std::ops::Range;

use chrono::{NaiveDate, NaiveTime, TimeDelta};

use crate::base::time::{Instant, human_date, in_range};
use crate::planning::dating::{DatedSeason, Pass, Work};
use crate::trade::protocol::{Protocol, Step};
use crate::trade::season::{Group, HeatWatch, Season, WishName, Wishes};

pub(crate) use bred::Bred;

/// The wishes that a choice breaks, one bit each.
pub(crate) type Broken = u128;

/// No more wishes than bits.
const MOST: usize = 128;

/// One wish.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Demand {
    pub(crate) name: WishName,
    pub(crate) what: What,
    /// In words, as in "give up: ...".
    pub(crate) words: String,
}

/// What a wish asks for.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum What {
    /// No breeding before.
    From(NaiveDate),
    /// No breeding after.
    To(NaiveDate),
    /// One of the protocols named.
    Only,
    /// None of those named.
    LeaveOut,
    /// Trips through the chute.
    Passes(u32),
    /// Days to the first breeding.
    Days(u32),
    /// With or without heat watch.
    Watch(HeatWatch),
    /// Chute work between two clock times.
    Hours(NaiveTime, NaiveTime),
    /// Hours kept free, by their places in the season's rules.
    Free(Range<usize>),
}

/// The first few ids of a list.
fn some(ids: &[String]) -> String {
    const SHOWN: usize = 4;
    let more = ids.len().saturating_sub(SHOWN);
    let shown = ids
        .iter()
        .take(SHOWN)
        .cloned()
        .collect::<Vec<_>>()
        .join(", ");
    if more > 0 {
        format!("{shown} and {more} more")
    } else {
        shown
    }
}

/// Hours kept free, as so many wishes at the most: of hundreds of free days the first are wishes of their
/// own, the rest are one together.
fn free_hours(season: &Season, most: usize) -> Vec<Demand> {
    let free = &season.rules.free;
    let own = free.len().min(most - 1);
    let demand = |which, words| Demand {
        name: WishName::NoWork,
        what: What::Free(which),
        words,
    };
    let told = season.zone.told();
    let each = free[..own].iter().enumerate();
    let mut list: Vec<Demand> = each
        .map(|(n, hours)| demand(n..n + 1, format!("no work {}", hours.words(told))))
        .collect();
    if own < free.len() {
        let words = format!("no work on {} more days or hours", free.len() - own);
        list.push(demand(own..free.len(), words));
    }
    list
}

/// The wishes of a list of which something is true.
fn bits(list: &[Demand], is: impl Fn(&Demand) -> bool) -> Broken {
    let those = list.iter().enumerate().filter(|(_, d)| is(d));
    those.fold(0, |bits, (n, _)| bits | 1 << n)
}

/// All wishes of a group, those of the season for everybody included.
#[derive(Clone, Debug)]
pub(crate) struct Demands<'a> {
    pub(crate) list: Vec<Demand>,
    /// Those that must hold.
    pub(crate) hard: Broken,
    season: &'a Season,
    wishes: &'a Wishes,
}

impl<'a> Demands<'a> {
    pub(crate) fn new(season: &'a Season, wishes: &'a Wishes) -> Self {
        let w = wishes;
        let mut list = Vec::new();
        let mut add = |name, what, words: String| list.push(Demand { name, what, words });
        if let Some(d) = w.breed_from {
            add(
                WishName::BreedFrom,
                What::From(d),
                format!("no breeding before {}", human_date(d)),
            );
        }
        if let Some(d) = w.breed_to {
            add(
                WishName::BreedTo,
                What::To(d),
                format!("no breeding after {}", human_date(d)),
            );
        }
        if let (Some(d), Some(calves)) = (w.first_for_calves(), w.first_calves_from) {
            let words = format!(
                "no calves before {} (breeding from {}: {} days less {})",
                human_date(calves),
                human_date(d),
                w.gestation.days,
                w.gestation.early_days
            );
            add(WishName::FirstCalvesFrom, What::From(d), words);
        }
        if let (Some(d), Some(bulls)) = (w.last_before_bulls(), w.bulls_in) {
            let words = format!(
                "{} days from the last AI to the bulls on {}",
                w.bulls_gap_days,
                human_date(bulls)
            );
            add(WishName::BullsIn, What::To(d), words);
        }
        if !w.protocols.is_empty() {
            let words = format!("only {}", some(&w.protocols));
            add(WishName::Protocols, What::Only, words);
        }
        if !w.leave_out.is_empty() {
            let words = format!("not {}", some(&w.leave_out));
            add(WishName::LeaveOut, What::LeaveOut, words);
        }
        if let Some(n) = w.most_passes {
            let words = format!(
                "at most {n} trip{} through the chute",
                if n == 1 { "" } else { "s" }
            );
            add(WishName::MostPasses, What::Passes(n), words);
        }
        if let Some(n) = w.most_days {
            let words = format!("at most {n} days from the first treatment to breeding");
            add(WishName::MostDays, What::Days(n), words);
        }
        if let Some(watch) = w.heat_watch {
            let words = match watch {
                HeatWatch::Wanted => "heat watch wanted",
                HeatWatch::Unwanted => "no heat watch",
            };
            add(WishName::HeatWatch, What::Watch(watch), words.into());
        }
        if let Some((from, to)) = w.work_hours {
            let told = season.zone.told();
            let words = format!(
                "treatments between {} and {}",
                told.time(from),
                told.time(to)
            );
            add(WishName::WorkHours, What::Hours(from, to), words);
        }
        list.extend(free_hours(season, MOST - list.len()));
        let hard = bits(&list, |d| !w.may_break.contains(&d.name));
        Self {
            list,
            hard,
            season,
            wishes,
        }
    }

    /// The dates between which the first breeding must lie, as far as wishes bound it.
    pub(crate) fn bounds(&self) -> (Option<NaiveDate>, Option<NaiveDate>) {
        let from = self.list.iter().filter_map(|d| match d.what {
            What::From(d) => Some(d),
            _ => None,
        });
        let to = self.list.iter().filter_map(|d| match d.what {
            What::To(d) => Some(d),
            _ => None,
        });
        (from.max(), to.min())
    }

    fn broken_where(&self, breaks: impl Fn(&What) -> bool) -> Broken {
        bits(&self.list, |d| breaks(&d.what))
    }

    /// What a protocol breaks at any start.
    pub(crate) fn of_protocol(&self, protocol: &Protocol) -> Broken {
        let named = |list: &[String]| list.iter().any(|id| id == protocol.id.as_str());
        let watched = protocol.steps.iter().any(Step::is_heat_breeding);
        self.broken_where(|what| match what {
            What::Only => !named(&self.wishes.protocols),
            What::LeaveOut => named(&self.wishes.leave_out),
            What::Passes(most) => protocol.chute_passes() > *most as usize,
            What::Days(most) => protocol.days_to_breeding() > i64::from(*most),
            What::Watch(HeatWatch::Wanted) => !watched,
            What::Watch(HeatWatch::Unwanted) => watched,
            _ => false,
        })
    }

    /// When a group is bred, and what its dates break; `None` for one that is not bred.
    pub(crate) fn of_dates(&self, group: &Group, dated: &DatedSeason) -> Option<(Bred, Broken)> {
        let bred = Bred::of(self.season, group, dated)?;
        let passes = &dated.passes;
        // Looked up once for all wishes.
        let zone = self.season.zone;
        let held = |p: &Pass| hours(p).map(|(a, b)| (a, b, zone.date(a), zone.date(b)));
        let all_held: LazyCell<Vec<_>, _> = LazyCell::new(|| passes.iter().map(held).collect());
        let broken = self.broken_where(|what| match what {
            What::From(d) => bred.first_day < *d,
            What::To(d) => bred.last_day > *d,
            What::Hours(from, to) => passes
                .iter()
                .filter(|p| p.work == Work::Chute)
                .any(|p| !self.within(p, *from, *to)),
            What::Free(which) => passes
                .iter()
                .zip(all_held.iter())
                .any(|(p, held)| self.in_free_hours(p, *held, which)),
            _ => false,
        });
        Some((bred, broken))
    }

    fn within(&self, pass: &Pass, from: NaiveTime, to: NaiveTime) -> bool {
        let (a, b) = (
            self.season.zone.local(pass.start),
            self.season.zone.local(pass.end),
        );
        a.date() == b.date() && from <= a.time() && b.time() <= to
    }

    /// Chute work that meets the free hours; breeding whose hours lie wholly in them; heat watch on
    /// a day that is free as a whole. Feeding goes on every day.
    fn in_free_hours(
        &self,
        pass: &Pass,
        held: Option<(Instant, Instant, NaiveDate, NaiveDate)>,
        which: &Range<usize>,
    ) -> bool {
        let zone = self.season.zone;
        if let (Work::HeatWatch, Some((first, last))) = (pass.work, pass.days) {
            let whole = self.season.rules.free[which.clone()]
                .iter()
                .filter(|f| f.from.is_none() && f.to.is_none());
            let days = || first.iter_days().take_while(|d| *d <= last);
            return whole
                .into_iter()
                .any(|f| days().any(|day| f.on(zone, day).is_some()));
        }
        let Some((from, to, mut date, last)) = held else {
            return false;
        };
        // Hours over midnight are two stretches; what lies in both lies in neither alone.
        while date <= last && in_range(date) {
            let stretches = self.season.rules.free[which.clone()].iter();
            let meets = stretches
                .filter_map(|free| free.on(zone, date))
                .any(|(a, b)| match pass.work {
                    Work::Chute => a < to && from < b,
                    _ => a <= from && to <= b,
                });
            if meets {
                return true;
            }
            date += TimeDelta::days(1);
        }
        false
    }

    /// The wishes of a set, in words.
    pub(crate) fn words(&self, broken: Broken) -> Vec<String> {
        self.list
            .iter()
            .enumerate()
            .filter(|(n, _)| broken >> n & 1 == 1)
            .map(|(_, d)| d.words.clone())
            .collect()
    }
}

/// The hours of a pass that must not lie in hours kept free.
fn hours(pass: &Pass) -> Option<(Instant, Instant)> {
    match (pass.work, pass.hours) {
        (Work::Chute, _) => Some((pass.start, pass.end)),
        (Work::Breeding, Some(hours)) => Some((hours.earliest, hours.latest)),
        _ => None,
    }
}
