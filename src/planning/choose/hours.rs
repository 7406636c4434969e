//! What the crew could breed at the most in stretches of hours: as limits of the model, and as prices.
//!
//! Of all pens due within a stretch of hours, those are left that are more than the crew could breed in it. With `x` the
//! shares in which candidates are chosen, `h` the head that each brings into the stretch beyond what it leaves alone,
//! `m` the most that can be bred in it and `l` the head left on its day, each stretch is the limit `Σ h x - l <= m`.
//! Stretches are found by what the cheapest choice in fractions breaks, until it breaks none.
//!
//! The prices `p` of these limits (their dual values) say what an hour of the crew is worth on each day. For any prices
//! of at least zero that add up to no more than the cost of a head on each day, no choice costs less than the sum of each
//! group's least `cost + Σ p h`, less `Σ p m` (weak duality). That holds for starts that the crew was never counted for,
//! so prices say what cannot be better, and which starts to take in.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use crate::base::time::Instant;
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::Season;

/// A pen due to be bred at set hours.
#[derive(Clone, Copy)]
pub(super) struct Pen {
    pub(super) site: usize,
    pub(super) earliest: Instant,
    pub(super) latest: Instant,
    pub(super) head: u32,
    /// The day of its aim.
    pub(super) day: NaiveDate,
}

impl Pen {
    /// True if its hours lie between two moments.
    pub(super) fn inside(&self, from: Instant, to: Instant) -> bool {
        from <= self.earliest && self.latest <= to && self.earliest <= self.latest
    }
}

/// The pens of dated groups.
pub(super) fn pens(season: &Season, dated: &DatedSeason) -> Vec<Pen> {
    let pen = |d: &Due| {
        let h = d.safe_hours();
        Pen {
            site: d.site,
            earliest: h.earliest,
            latest: h.latest,
            head: d.head.0,
            day: season.zone.date(h.aim),
        }
    };
    dated.dues.iter().map(pen).collect()
}

/// What a start asks of the crew: its pens, and head that it leaves alone.
#[derive(Clone, Copy)]
pub(super) struct Asked<'a> {
    pub(super) dues: &'a [Pen],
    pub(super) base: u32,
}

/// A stretch of hours of a day, at a site or anywhere, in which no more than `most` head can be bred.
#[derive(Clone, Copy, PartialEq)]
pub(super) struct Hours {
    pub(super) day: NaiveDate,
    pub(super) site: Option<usize>,
    pub(super) from: Instant,
    pub(super) to: Instant,
    pub(super) most: u32,
}

impl Hours {
    /// Head that a start brings into it beyond what it leaves alone; none if it brings nobody.
    pub(super) fn brought(&self, asked: Asked<'_>) -> Option<f64> {
        let here = |d: &&Pen| d.day == self.day && self.site.is_none_or(|s| s == d.site);
        let mine = asked.dues.iter().filter(here);
        let mine = mine.filter(|d| d.inside(self.from, self.to));
        let head: u32 = mine.map(|d| d.head).sum();
        (head > 0).then(|| f64::from(head) - f64::from(asked.base))
    }
}

/// Head that starts leave together at the least, beside what each leaves alone.
pub(super) fn left_at_least(hours: &[Hours], all: &[Asked<'_>]) -> f64 {
    let mut of_day: BTreeMap<NaiveDate, f64> = BTreeMap::new();
    for h in hours {
        let brought: f64 = all.iter().filter_map(|asked| h.brought(*asked)).sum();
        let most = of_day.entry(h.day).or_default();
        *most = most.max(brought - f64::from(h.most));
    }
    of_day.values().sum()
}

/// What hours of the crew are worth.
pub(super) struct Prices {
    of_day: BTreeMap<NaiveDate, Vec<(Hours, f64)>>,
    /// What all that the crew could breed in these hours is worth.
    worth: f64,
}

impl Prices {
    /// Prices of hours. On no day do they add up to more than a head left costs.
    pub(super) fn new(priced: impl IntoIterator<Item = (Hours, f64)>, head: f64) -> Self {
        let mut of_day: BTreeMap<NaiveDate, Vec<(Hours, f64)>> = BTreeMap::new();
        for (hours, price) in priced {
            if price.is_finite() && price > 0.0 {
                of_day.entry(hours.day).or_default().push((hours, price));
            }
        }
        let mut worth = 0.0;
        for priced in of_day.values_mut() {
            let all: f64 = priced.iter().map(|(_, price)| price).sum();
            for (hours, price) in priced {
                *price *= (head / all).min(1.0);
                worth += *price * f64::from(hours.most);
            }
        }
        Self { of_day, worth }
    }

    /// What a start of so many points costs with the crew that it asks for.
    pub(super) fn cost(&self, points: f64, asked: Asked<'_>) -> f64 {
        let days: BTreeSet<NaiveDate> = asked.dues.iter().map(|d| d.day).collect();
        let each = days.iter().filter_map(|day| self.of_day.get(day)).flatten();
        let crew = each.filter_map(|(h, price)| h.brought(asked).map(|more| price * more));
        points + crew.sum::<f64>()
    }

    /// No choice costs less, if each group costs at the least so much with the crew that it asks for.
    pub(super) fn bound(&self, least: &[f64]) -> f64 {
        least.iter().sum::<f64>() - self.worth
    }

    /// True if no hours of the crew are wanted by too many.
    pub(super) fn are_none(&self) -> bool {
        self.of_day.is_empty()
    }
}
