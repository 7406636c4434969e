//! One technician's pace, by arithmetic: how many straws at once, and when each cow is bred.
//!
//! With `m` the time a cow takes, `L` to dry a straw and load a gun, `T` in the bath, `R` the
//! reset between two rounds and `k` straws a round:
//!
//! * alone: the last straw's age is `T + kL + km`, and a round takes that plus `R`;
//! * with a helper: the last straw's age is `T + L + km`, and the next round thaws while this one
//!   is bred, so a round takes `km`, or `T + kL` if the helper needs longer.
//!
//! Minutes a cow vary. With a standard deviation `s` a cow, the `k` cows of a round take `km` on
//! average with a deviation of `s √k`; taken as normal, that gives the chance that the last straw
//! is older than allowed. The largest `k` whose chance stays within the season's risk is used.

use chrono::TimeDelta;
use statrs::distribution::{ContinuousCDF, Normal};

use super::{Pace, Rules, Season, Site, Technician};
use crate::base::time::Instant;
use crate::base::units::{Seconds, Straws};

/// No more straws than this in the bath at once, whatever the pace (SUMMER-AI).
pub const MOST_STRAWS: u32 = 10;

/// A technician's rounds at a site.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rounds {
    /// Straws at once.
    pub straws: Straws,
    /// Time a cow takes with loaded guns at hand.
    pub cow: Seconds,
    /// Mean age of the last straw of a round when it is in the cow.
    pub last_age: Seconds,
    /// Chance that it is older than the season allows.
    pub late: f64,
    /// From one round to the next.
    pub period: Seconds,
    /// From the start of work to the first gun at the first cow.
    pub lead: Seconds,
    /// Between two guns that a helper loads while cows are bred; none if all are loaded first.
    pub load: Seconds,
}

impl Rounds {
    /// From the last cow of a round to the begin of the next, in whole seconds; none where a helper loads.
    #[must_use]
    pub fn reset(&self) -> TimeDelta {
        let seconds = (self.period.0 - self.last_age.0).max(0.0);
        // A small allowance keeps whole seconds whole.
        TimeDelta::seconds((seconds - 1e-6).ceil() as i64)
    }

    /// From the first straws in the bath to the first cow bred, in whole seconds.
    #[must_use]
    pub fn to_first_cow(&self) -> TimeDelta {
        let seconds = self.lead.0 + self.cow.0;
        // A small allowance keeps whole seconds whole.
        TimeDelta::seconds((seconds - 1e-6).ceil() as i64)
    }

    /// Cows an hour over whole rounds.
    #[must_use]
    pub fn cows_per_hour(&self) -> f64 {
        f64::from(self.straws.0) * 3600.0 / self.period.0
    }

    /// Seconds from the first gun at the first cow until the cow of place `n` (from 0) is bred.
    #[must_use]
    pub fn since_first_gun(&self, n: u32) -> f64 {
        let (round, place) = (n / self.straws.0, n % self.straws.0 + 1);
        // A cow waits for her gun where the helper is slower than the breeding.
        let bred = f64::from(place) * self.cow.0;
        let loaded = f64::from(place - 1) * self.load.0 + self.cow.0;
        f64::from(round) * self.period.0 + bred.max(loaded)
    }

    /// When each cow is bred, from `begin` (the first straws go into the bath) to `end`, in
    /// whole seconds since the epoch.
    pub fn breedings(&self, begin: Instant, end: Instant) -> impl Iterator<Item = i64> {
        let rounds = *self;
        let start = begin.timestamp() as f64;
        let end = end.timestamp();
        (0u32..)
            .map(move |n| {
                let at = start + rounds.lead.0 + rounds.since_first_gun(n);
                at.ceil() as i64
            })
            .take_while(move |at| *at <= end)
    }
}

/// Seconds at the cow at the least, whatever an overall pace leaves of them (our own limit): as the least
/// `minutes_per_cow`.
pub(crate) const LEAST_AT_COW: f64 = 6.0;

/// The rounds of `k` straws, if the pace allows any such.
#[must_use]
pub fn rounds_of(technician: &Technician, rules: &Rules, k: u32) -> Option<Rounds> {
    let (t, l, r) = (rules.thaw.0, rules.load.0, rules.reset.0);
    let n = f64::from(k);
    let cow = match technician.pace {
        Pace::AtTheCow(m) => m.0,
        Pace::Overall(pace) if technician.helper => 3600.0 / pace.get(),
        // The overall pace of one who works alone holds the thawing, loading and reset.
        Pace::Overall(pace) => 3600.0 / pace.get() - l - (t + r) / n,
    };
    if cow < LEAST_AT_COW {
        return None;
    }
    let (last_age, period, lead) = if technician.helper {
        (
            (t + l + n * cow).max(t + n * l + cow),
            (n * cow).max(t + n * l),
            t + l,
        )
    } else {
        let age = t + n * l + n * cow;
        (age, age + r, t + n * l)
    };
    Some(Rounds {
        straws: Straws(k),
        cow: Seconds(cow),
        last_age: Seconds(last_age),
        late: chance_late(
            last_age,
            technician.spread_at(Seconds(cow)).0 * n.sqrt(),
            rules.bath_to_cow.0,
        ),
        period: Seconds(period),
        lead: Seconds(lead),
        load: Seconds(if technician.helper { l } else { 0.0 }),
    })
}

/// The largest rounds within the season's risk, the site's bath and the technician's wish.
/// `None` if even one straw is too late.
#[must_use]
pub fn rounds_at(season: &Season, technician: &Technician, site: &Site) -> Option<Rounds> {
    let wish = technician.straws_at_once.map_or(MOST_STRAWS, |s| s.0);
    // Everyone at a box may have straws in the bath at the same moment.
    let people = site.breeding_boxes.min(season.crew.len() as u32).max(1);
    let share = site.thaw_bath.0 / people;
    safest(technician, &season.rules, wish.min(share.max(1)))
}

/// The largest rounds that the pace and the risk allow, up to `most` straws.
#[must_use]
pub fn safest(technician: &Technician, rules: &Rules, most: u32) -> Option<Rounds> {
    (1..=most.min(MOST_STRAWS))
        .rev()
        .filter_map(|k| rounds_of(technician, rules, k))
        .find(|r| r.last_age.0 <= rules.bath_to_cow.0 && r.late <= rules.late_straw_risk)
}

fn chance_late(mean: f64, deviation: f64, limit: f64) -> f64 {
    if deviation <= 0.0 {
        return if mean > limit { 1.0 } else { 0.0 };
    }
    Normal::new(mean, deviation).map_or(1.0, |n| n.sf(limit))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::units::{HeadPerHour, Id};
    use crate::trade::season::Technician;

    fn rules() -> Rules {
        Rules {
            slot: chrono::TimeDelta::minutes(15),
            grain: None,
            bath_to_cow: Seconds::from_minutes(15.0),
            late_straw_risk: 0.05,
            thaw: Seconds(60.0),
            load: Seconds(30.0),
            reset: Seconds(60.0),
            straws: crate::trade::season::StrawRules::default(),
            road: chrono::TimeDelta::minutes(60),
            rest: None,
            longest_day: None,
            road_a_head: chrono::TimeDelta::minutes(10),
            free: Vec::new(),
            heat: crate::trade::season::HeatRules::default(),
            ready: crate::trade::season::ReadyRules::default(),
        }
    }

    fn person(pace: Pace, helper: bool, spread: f64) -> Technician {
        Technician {
            id: Id::new("t").unwrap(),
            name: "t".into(),
            pace,
            spread: Some(Seconds(spread)),
            helper,
            home: None,
            straws_at_once: None,
            longest_day: None,
            shifts: Vec::new(),
            days_off: Vec::new(),
        }
    }

    /// One who takes so many seconds at the cow.
    fn at_cow(seconds: f64, helper: bool, spread: f64) -> Technician {
        person(Pace::AtTheCow(Seconds(seconds)), helper, spread)
    }

    #[test]
    fn alone_and_with_a_helper_by_hand() {
        // T 1 min, L 0.5 min, m 3 min, no spread. Alone: 1 + 3.5 k <= 15 gives k = 4, age 15.
        let safest = |helper| {
            let r = safest(&at_cow(180.0, helper, 0.0), &rules(), 10).unwrap();
            (r.straws.0, r.last_age.minutes(), r.period.minutes())
        };
        assert_eq!(safest(false), (4, 15.0, 16.0));
        // Helper: 1 + 0.5 + 3 k <= 15 gives k = 4, age 13.5; a round takes 12.
        assert_eq!(safest(true), (4, 13.5, 12.0));
    }

    #[test]
    fn spread_asks_for_fewer_straws() {
        let k = |spread| {
            let person = at_cow(180.0, true, spread);
            safest(&person, &rules(), 10).unwrap().straws.0
        };
        assert!(k(60.0) < k(0.0));
    }

    /// A third of the mean at the cow, which for one who works alone is less than 60 min by the
    /// cows an hour.
    #[test]
    fn a_spread_not_given_is_a_third_of_the_mean_at_the_cow() {
        for (pace, helper) in [
            (Pace::AtTheCow(Seconds(200.0)), false),
            (Pace::Overall(HeadPerHour::new(13.0).unwrap()), false),
            (Pace::Overall(HeadPerHour::new(13.0).unwrap()), true),
        ] {
            let open = Technician {
                spread: None,
                ..person(pace, helper, 0.0)
            };
            for k in 1..5 {
                let r = rounds_of(&open, &rules(), k).unwrap();
                assert_eq!(open.spread_at(r.cow), Seconds(r.cow.0 / 3.0));
                let given = person(pace, helper, r.cow.0 / 3.0);
                assert_eq!(rounds_of(&given, &rules(), k).unwrap(), r);
            }
        }
    }

    #[test]
    fn an_overall_pace_is_kept_over_whole_rounds() {
        let pace = HeadPerHour::new(16.0).unwrap();
        let r = safest(&person(Pace::Overall(pace), false, 0.0), &rules(), 10).unwrap();
        assert!((r.cows_per_hour() - 16.0).abs() < 1e-9);
        // Age of the last straw is the round without the reset: k · 3.75 - 1 <= 15, k = 4.
        assert_eq!(r.straws.0, 4);
    }

    #[test]
    fn breedings_follow_the_rounds() {
        let r = rounds_of(&at_cow(120.0, false, 0.0), &rules(), 2).unwrap();
        let at = |second| chrono::DateTime::from_timestamp(second, 0).unwrap();
        let bred: Vec<_> = r.breedings(at(0), at(1000)).collect();
        // T + 2L = 120, cows at 240 and 360; next round begins at 420: cows at 660 and 780.
        assert_eq!(bred, [240, 360, 660, 780]);
    }

    /// 30 s a cow over all leave a second or two at the cow, once guns are loaded.
    #[test]
    fn an_overall_pace_that_leaves_no_time_at_the_cow_is_none() {
        let mut loads_long = rules();
        loads_long.load = Seconds(19.0);
        let pace = HeadPerHour::new(120.0).unwrap();
        let alone = person(Pace::Overall(pace), false, 0.0);
        assert!(safest(&alone, &loads_long, MOST_STRAWS).is_none());
        let helped = person(Pace::Overall(pace), true, 0.0);
        assert!(safest(&helped, &loads_long, MOST_STRAWS).is_some());
    }

    #[test]
    fn too_slow_is_none() {
        let slow = at_cow(900.0, true, 0.0);
        assert!(safest(&slow, &rules(), 10).is_none());
    }
}
