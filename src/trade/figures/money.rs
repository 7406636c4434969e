//! Money: budgets in the user's own currency. The sums are common practice, no source; what is
//! checked against published figures says so.
//!
//! Amounts are real numbers, not accounts: they are rounded where they are shown, never between.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Mul, Sub};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::base::units::{Head, Percent};

/// An amount in the currency of the prices it comes from; negative is a loss.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, PartialOrd, Deserialize, Serialize, JsonSchema,
)]
#[serde(transparent)]
#[must_use]
pub struct Money(pub f64);

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2}", self.0)
    }
}

impl Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Money {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Mul<f64> for Money {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self(self.0 * by)
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::default(), Add::add)
    }
}

/// A price that the user gives: finite, 0 or more, in the season's currency.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Deserialize, Serialize, JsonSchema)]
#[serde(try_from = "f64", into = "f64")]
#[schemars(inline, extend("minimum" = 0, "maximum" = 1_000_000))]
pub struct Price(f64);

impl Price {
    /// The highest price.
    pub const MOST: f64 = 1_000_000.0;

    /// `None` unless from 0 to [`Self::MOST`].
    #[must_use]
    pub fn new(value: f64) -> Option<Self> {
        (0.0..=Self::MOST).contains(&value).then_some(Self(value))
    }

    /// For one unit.
    pub fn each(self) -> Money {
        Money(self.0)
    }

    /// For a number of units.
    pub fn times(self, units: f64) -> Money {
        Money(self.0 * units)
    }
}

impl TryFrom<f64> for Price {
    type Error = String;
    fn try_from(value: f64) -> Result<Self, String> {
        Self::new(value).ok_or_else(|| format!("a price is from 0 to {}, not {value}", Self::MOST))
    }
}

impl From<Price> for f64 {
    fn from(price: Price) -> Self {
        price.0
    }
}

/// What a change of practice brings and costs, for the whole herd.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PartialBudget {
    /// Revenue that the change adds.
    pub extra_revenue: Money,
    /// Cost that it saves.
    pub reduced_cost: Money,
    /// Cost that it adds.
    pub extra_cost: Money,
    /// Revenue that it loses.
    pub reduced_revenue: Money,
}

impl PartialBudget {
    /// Revenue of calves that would not have been born: head x weight x price, weight in the unit
    /// that the price is for. For calves born earlier, the weight is what they gain by that.
    pub fn calves(head: f64, weight: f64, price: Price) -> Money {
        price.times(head * weight)
    }

    /// What is left of the gains.
    pub fn net(&self) -> Money {
        self.extra_revenue + self.reduced_cost - (self.extra_cost + self.reduced_revenue)
    }

    /// The same a head; `None` for no head.
    #[must_use]
    pub fn net_a_head(&self, head: Head) -> Option<Money> {
        (head.0 > 0).then(|| self.net() * (1.0 / f64::from(head.0)))
    }
}

/// A cost with the interest for carrying it: `cost x (1 + rate x years)`, not compounded. A cost
/// that falls evenly over a year is carried half a year, as in the published bull budget
/// (BULL-BUDGET; found by working its figures back).
pub fn with_interest(cost: Money, a_year: Percent, years: f64) -> Money {
    cost * (1.0 + a_year.of_one() * years)
}

/// What a bull for natural service is bought for, kept for and used for. All of it is the user's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bull {
    /// Price when bought.
    pub price: Price,
    /// Value when sold after the last season.
    pub sold_for: Price,
    /// Seasons of use, one a year.
    pub seasons: u32,
    /// Chance that he is lost in a year.
    pub lost_a_year: Percent,
    /// Feed, pasture, health and the rest, a year.
    pub keep_a_year: Price,
    /// Interest a year, on his mean value and on the keep, which is carried half a year.
    pub interest_a_year: Percent,
    /// Cows a season.
    pub cows: Head,
    /// Of those, pregnant.
    pub pregnant: Percent,
}

/// What a bull costs a year, and for each pregnancy.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BullCost {
    /// Loss of value, a year.
    pub depreciation: Money,
    /// Chance of losing him, times his mean value.
    pub risk: Money,
    /// Interest on his mean value, a year.
    pub interest: Money,
    /// Keep with its interest, a year.
    pub keep: Money,
    /// All of it, a year.
    pub a_year: Money,
    /// All of it, for each pregnancy.
    pub a_pregnancy: Money,
}

impl Bull {
    /// Annual cost over pregnancies a year. `None` without seasons, cows or pregnancies.
    #[must_use]
    pub fn cost(&self) -> Option<BullCost> {
        let pregnancies = f64::from(self.cows.0) * self.pregnant.of_one();
        if self.seasons == 0 || pregnancies <= 0.0 {
            return None;
        }
        let (bought, sold) = (self.price.each(), self.sold_for.each());
        let value = (bought + sold) * 0.5;
        let depreciation = (bought - sold) * (1.0 / f64::from(self.seasons));
        let risk = value * self.lost_a_year.of_one();
        let interest = value * self.interest_a_year.of_one();
        let keep = with_interest(self.keep_a_year.each(), self.interest_a_year, 0.5);
        let a_year = depreciation + risk + interest + keep;
        Some(BullCost {
            depreciation,
            risk,
            interest,
            keep,
            a_year,
            a_pregnancy: a_year * (1.0 / pregnancies),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn percent(value: f64) -> Percent {
        Percent::new(value).unwrap()
    }

    fn price(value: f64) -> Price {
        Price::new(value).unwrap()
    }

    #[test]
    fn prices_are_never_negative() {
        for bad in [-0.01, f64::NAN, f64::INFINITY, 1_000_001.0] {
            assert!(Price::new(bad).is_none(), "{bad}");
        }
        assert!(serde_json::from_str::<Price>("-1").is_err());
        assert_eq!(serde_json::from_str::<Price>("3").unwrap(), price(3.0));
        assert_eq!(serde_json::to_string(&price(2.5)).unwrap(), "2.5");
    }

    #[test]
    fn a_budget_weighs_four_sides() {
        let budget = PartialBudget {
            extra_revenue: Money(100.0),
            reduced_cost: Money(30.0),
            extra_cost: Money(50.0),
            reduced_revenue: Money(5.0),
        };
        assert_eq!(budget.net(), Money(75.0));
        assert_eq!(budget.net_a_head(Head(50)), Some(Money(1.5)));
        assert_eq!(budget.net_a_head(Head(0)), None);
    }

    #[test]
    fn a_bull_by_hand() {
        let bull = Bull {
            price: price(3000.0),
            sold_for: price(1000.0),
            seasons: 4,
            lost_a_year: percent(10.0),
            keep_a_year: price(600.0),
            interest_a_year: percent(8.0),
            cows: Head(25),
            pregnant: percent(80.0),
        };
        let cost = bull.cost().unwrap();
        assert!((cost.depreciation.0 - 500.0).abs() < 1e-9);
        assert!((cost.risk.0 - 200.0).abs() < 1e-9);
        assert!((cost.interest.0 - 160.0).abs() < 1e-9);
        assert!((cost.keep.0 - 624.0).abs() < 1e-9);
        assert_eq!(cost.a_year.to_string(), "1484.00");
        assert_eq!(cost.a_pregnancy.to_string(), "74.20");
        assert!(Bull { seasons: 0, ..bull }.cost().is_none());
        let none = percent(0.0);
        assert!(
            Bull {
                pregnant: none,
                ..bull
            }
            .cost()
            .is_none()
        );
    }
}
