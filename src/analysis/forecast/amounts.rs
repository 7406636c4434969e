//! Sums of money, rounded once, and how they are told.

use chrono::NaiveDate;

use super::answer::Entry;
use crate::base::units::{hundredths, rounded};
use crate::trade::figures::Money;

pub(super) fn cents(m: Money) -> Money {
    Money(hundredths(m.0))
}

pub(super) fn over(cost: Money, head: f64) -> Option<Money> {
    (head > 0.0).then(|| cents(cost * (1.0 / head)))
}

/// Most digits behind the point that are told of units and prices.
const DIGITS: i32 = 9;

/// An amount with its units and price told to as many digits as the amount needs: what is told of
/// them, multiplied, is the amount to the cent.
pub(super) fn entry(what: &str, units: f64, unit: &str, price: f64) -> Entry {
    // Rounded first: a product between two cents must not hang on digits that nobody is told.
    let (units, price) = (rounded(units, DIGITS), rounded(price, DIGITS));
    let amount = cents(Money(units * price));
    let enough = |d: &i32| cents(Money(units * rounded(price, *d))) == amount;
    let price = (2..DIGITS)
        .find(enough)
        .map_or(price, |d| rounded(price, d));
    let whole = |d: &i32| cents(Money(rounded(units, *d) * price)) == amount;
    Entry {
        what: what.to_owned(),
        units: (2..DIGITS).find(whole).map_or(units, |d| rounded(units, d)),
        unit: unit.to_owned(),
        price,
        amount,
    }
}

impl Entry {
    /// The same by another unit, of which one of its own holds so many.
    pub(crate) fn sold_by(&self, unit: &str, held: f64) -> Self {
        entry(&self.what, self.units * held, unit, self.price / held)
    }
}

/// Bulls that are needed at one time: those of groups that do not overlap are the same ones.
pub(super) fn at_one_time(stays: &[(NaiveDate, NaiveDate, u32)]) -> u32 {
    let at = |day: NaiveDate| -> u32 {
        let there = stays.iter().filter(|s| s.0 <= day && day <= s.1);
        there.map(|s| s.2).sum()
    };
    stays.iter().map(|s| at(s.0)).max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is told, multiplied, is the amount to the cent: by hand 175.457 x 35 = 6140.995, between two
    /// cents, whichever side of it the units are on by a hair.
    #[test]
    fn units_times_price_is_the_amount() {
        for off in [-1e-12, -3e-14, 0.0, 3e-14, 1e-12] {
            for (units, price) in [(175.457, 35.0), (0.096_153_8, 20.0), (344.0, 47.427_384_1)] {
                let e = entry("calves", units + off, "calf", price);
                assert_eq!(cents(Money(e.units * e.price)), e.amount, "{e:?}");
                assert!((e.amount.0 - units * price).abs() < 0.005_001, "{e:?}");
            }
        }
    }
}
