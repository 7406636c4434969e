//! Pregnancy rates: what is published in general, and what several services come to.

use serde::Serialize;

use crate::base::units::{Head, Percent};

/// Pregnant after a number of services, each at the same rate: `1 - (1 - p)^services`. The rate is
/// taken to be the same for animals that did not settle before (common practice, no source).
#[must_use]
pub fn cumulative(a_service: Percent, services: u32) -> Percent {
    let open = (1.0 - a_service.of_one()).powf(f64::from(services));
    Percent::bounded(100.0 * (1.0 - open))
}

/// Pregnant after a first week of breeding by detected heat without synchronization: the share
/// seen in heat that week, times conception.
#[must_use]
pub fn first_week(seen_in_heat: Percent, conceive: Percent) -> Percent {
    Percent::bounded(seen_in_heat.get() * conceive.of_one())
}

/// Expected head pregnant: a mean, not a whole number.
#[must_use]
pub fn pregnant_head(head: Head, pregnant: Percent) -> f64 {
    f64::from(head.0) * pregnant.of_one()
}

/// A published pregnancy rate that is not of one protocol.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GeneralRate {
    /// Of what.
    pub what: &'static str,
    /// Lowest figure, in percent.
    pub low_percent: f64,
    /// What is counted with, in percent.
    pub percent: f64,
    /// Highest figure, in percent.
    pub high_percent: f64,
    /// Animals it rests on, where published.
    pub head: Option<u32>,
    /// Source tags.
    pub source: &'static str,
}

/// Published rates that hold for no protocol in particular. Rates of one protocol are in the
/// protocol: [`crate::trade::protocol::Protocol::rate`].
pub const GENERAL: [GeneralRate; 3] = [
    GeneralRate {
        what: "fixed-time AI of heifers: a realistic goal, poor and best herds",
        low_percent: 40.0,
        percent: 55.0,
        high_percent: 65.0,
        head: None,
        source: "LAMB-QA",
    },
    GeneralRate {
        what: "fixed-time AI in field demonstrations, 73 herds",
        low_percent: 62.0,
        percent: 62.0,
        high_percent: 62.0,
        head: Some(7000),
        source: "TIMED-COWS, TIMED-2010",
    },
    GeneralRate {
        what: "one service at a natural heat",
        low_percent: 65.0,
        percent: 67.5,
        high_percent: 70.0,
        head: None,
        source: "DEJ-ES",
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    fn percent(value: f64) -> Percent {
        Percent::new(value).unwrap()
    }

    #[test]
    fn none_and_all_stay_none_and_all() {
        assert_eq!(cumulative(percent(0.0), 5), percent(0.0));
        assert_eq!(cumulative(percent(100.0), 1), percent(100.0));
        assert_eq!(cumulative(percent(60.0), 0), percent(0.0));
        assert_eq!(cumulative(percent(60.0), u32::MAX), percent(100.0));
        assert_eq!(first_week(percent(100.0), percent(100.0)), percent(100.0));
    }

    #[test]
    fn general_rates_are_in_order() {
        for r in GENERAL {
            assert!(
                r.low_percent <= r.percent && r.percent <= r.high_percent,
                "{}",
                r.what
            );
            assert!(
                Percent::new(r.low_percent).is_some() && Percent::new(r.high_percent).is_some()
            );
        }
    }
}
