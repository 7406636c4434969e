//! Degrees, distances and weights in the units that people choose to read. Data keep their own units,
//! named in their keys.
//!
//! Conversions are the exact ones of NIST SP 811, appendix B: a mile is 1.609344 km, a pound
//! 0.45359237 kg, and a degree Fahrenheit 5/9 of a degree Celsius from 32 on.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize, Serializer};

use super::clock::Clock;

/// Kilometers in a mile, exactly.
pub const KM_PER_MILE: f64 = 1.609_344;
/// Kilograms in a pound, exactly.
pub const KG_PER_LB: f64 = 0.453_592_37;

/// Degrees Celsius of degrees Fahrenheit.
#[must_use]
pub fn celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

/// Degrees Fahrenheit of degrees Celsius.
#[must_use]
pub fn fahrenheit(celsius: f64) -> f64 {
    celsius * 1.8 + 32.0
}

/// Degrees that people read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Temperature {
    /// Degrees Fahrenheit.
    F,
    /// Degrees Celsius.
    C,
}

/// Distances that people read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Distance {
    /// Miles.
    Miles,
    /// Kilometers.
    Km,
}

/// Weights that people read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Weight {
    /// Pounds.
    Lb,
    /// Kilograms.
    Kg,
}

/// Units that people read; JSON and tables keep theirs. What is not given is shown in both units, or in
/// that of its source.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Units {
    /// `F` or `C`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("x-also-called" = ["temperatures", "degrees"]))]
    pub temperature: Option<Temperature>,
    /// `miles` or `km`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("x-also-called" = ["distances", "length", "road"]))]
    pub distance: Option<Distance>,
    /// `lb` or `kg`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("x-also-called" = ["weights", "mass"]))]
    pub weight: Option<Weight>,
    /// `24h`, or `12h` for times of day with am and pm. 24h unless set.
    #[serde(default, skip_serializing_if = "Clock::is_usual")]
    #[schemars(extend("x-also-called" = ["time", "times", "hours"]))]
    pub clock: Clock,
}

impl Units {
    /// Degrees Fahrenheit, miles, pounds; the clock is a choice of its own.
    pub const US: Self = Self {
        temperature: Some(Temperature::F),
        distance: Some(Distance::Miles),
        weight: Some(Weight::Lb),
        clock: Clock::H24,
    };
    /// Degrees Celsius, kilometres, kilograms.
    pub const METRIC: Self = Self {
        temperature: Some(Temperature::C),
        distance: Some(Distance::Km),
        weight: Some(Weight::Kg),
        clock: Clock::H24,
    };

    /// The same, with times of day on a clock.
    #[must_use]
    pub const fn on(self, clock: Clock) -> Self {
        Self { clock, ..self }
    }

    /// True if nothing is chosen.
    #[must_use]
    pub fn is_open(&self) -> bool {
        *self == Self::default()
    }

    /// A temperature in both units, as the caller rounds them: `95 F (35 C)`, or the chosen one.
    #[must_use]
    pub fn degrees(self, fahrenheit: &str, celsius: &str) -> String {
        match self.temperature {
            None => format!("{fahrenheit} F ({celsius} C)"),
            Some(Temperature::F) => format!("{fahrenheit} F"),
            Some(Temperature::C) => format!("{celsius} C"),
        }
    }

    /// The same, with degrees Celsius first where both are shown.
    #[must_use]
    pub fn degrees_celsius(self, celsius: &str, fahrenheit: &str) -> String {
        match self.temperature {
            None => format!("{celsius} C ({fahrenheit} F)"),
            _ => self.degrees(fahrenheit, celsius),
        }
    }

    /// A distance, to the tenth: `21.7 miles / 34.9 km`, or the chosen one.
    #[must_use]
    pub fn far(self, km: f64) -> String {
        let miles = km / KM_PER_MILE;
        match self.distance {
            None => format!("{miles:.1} miles / {km:.1} km"),
            Some(Distance::Miles) => format!("{miles:.1} miles"),
            Some(Distance::Km) => format!("{km:.1} km"),
        }
    }

    /// A weight given in pounds, in pounds unless kilograms are chosen: the number to the hundredth, and
    /// the unit.
    #[must_use]
    pub fn pounds(self, lb: f64) -> (f64, &'static str) {
        match self.weight {
            Some(Weight::Kg) => (hundredths(lb * KG_PER_LB), "kg"),
            _ => (lb, "lb"),
        }
    }

    /// A sentence in which a published figure stands in two units, `{95 F|35 C}` or `{-196 C|-320 F}`, each
    /// as it is published: `95 F (35 C)`, or the chosen one.
    #[must_use]
    pub fn prose(self, sentence: &str) -> String {
        let mut said = String::new();
        let mut rest = sentence;
        while let Some((before, pair, after)) = marked(rest) {
            let of = |unit: &str| pair.into_iter().find(|p| p.ends_with(unit));
            let chosen = match self.temperature {
                Some(Temperature::F) => of(" F"),
                Some(Temperature::C) => of(" C"),
                None => None,
            };
            said += before;
            said += &chosen.map_or_else(|| format!("{} ({})", pair[0], pair[1]), str::to_owned);
            rest = after;
        }
        said + rest
    }
}

/// What stands before the first marked pair, the pair, and what follows.
fn marked(text: &str) -> Option<(&str, [&str; 2], &str)> {
    let (before, rest) = text.split_once('{')?;
    let (pair, after) = rest.split_once('}')?;
    let (a, b) = pair.split_once('|')?;
    Some((before, [a, b], after))
}

/// To one decimal.
#[must_use]
pub fn tenths(x: f64) -> f64 {
    rounded(x, 1)
}

/// To two decimals; never `-0`, as which an empty sum and a little less than nothing would be written.
#[must_use]
pub fn hundredths(x: f64) -> f64 {
    rounded(x, 2)
}

/// How a number that is kept as it was counted is written: to two decimals.
///
/// # Errors
/// Those of the serializer.
pub fn in_hundredths<S: Serializer>(x: &f64, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_f64(hundredths(*x))
}

/// The same to so many decimals.
#[must_use]
pub fn rounded(x: f64, decimals: i32) -> f64 {
    let by = 10_f64.powi(decimals);
    (x * by).round() / by + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST SP 811, appendix B: the definitions, and B.8's kilometres in 1 mi (1.609 344), kilograms
    /// in 1 lb (0.453 592 37). Fixed points: water freezes at 32 F and boils at 212 F; -40 is both.
    #[test]
    fn conversions_are_the_defined_ones() {
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
        for (f, c) in [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0), (95.0, 35.0)] {
            near(celsius(f), c);
            near(fahrenheit(c), f);
        }
        // A mile is 5280 feet of 0.3048 m; a pound is 7000 grains of 64.79891 mg.
        near(KM_PER_MILE, 5280.0 * 0.3048 / 1000.0);
        near(KG_PER_LB, 7000.0 * 64.798_91e-6);
        near(super::super::LB_PER_KG * KG_PER_LB, 1.0);
    }

    #[test]
    fn the_chosen_unit_alone_is_shown() {
        let none = Units::default();
        for (units, degrees, far, weight, prose) in [
            (
                none,
                "95 F (35 C)",
                "10.0 miles / 16.1 km",
                (2.0, "lb"),
                "at -196 C (-320 F), cold",
            ),
            (
                Units::US,
                "95 F",
                "10.0 miles",
                (2.0, "lb"),
                "at -320 F, cold",
            ),
            (
                Units::METRIC,
                "35 C",
                "16.1 km",
                (0.91, "kg"),
                "at -196 C, cold",
            ),
        ] {
            assert_eq!(units.degrees("95", "35"), degrees);
            assert_eq!(units.far(16.093_44), far);
            assert_eq!(units.pounds(2.0), weight);
            assert_eq!(units.prose("at {-196 C|-320 F}, cold"), prose);
        }
        assert_eq!(none.degrees_celsius("0.1", "0.2"), "0.1 C (0.2 F)");
        assert_eq!(Units::US.prose("a { b } {x"), "a { b } {x");
    }
}
