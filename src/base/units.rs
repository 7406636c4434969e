//! Quantities with their unit in the type, and ids. A value of one of these types is valid.

mod clock;
mod measure;

use std::fmt;

pub use clock::Clock;
pub use measure::{
    Distance, KG_PER_LB, KM_PER_MILE, Temperature, Units, Weight, celsius, fahrenheit, hundredths,
    in_hundredths, rounded, tenths,
};

use schemars::JsonSchema;
use serde::Serialize;

use crate::base::error::is_hidden;

/// Pounds in a kilogram: a pound is 0.45359237 kg by definition.
pub const LB_PER_KG: f64 = 1.0 / KG_PER_LB;

/// A number of animals.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, JsonSchema,
)]
#[serde(transparent)]
#[schemars(inline)]
pub struct Head(pub u32);

impl fmt::Display for Head {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} head", self.0)
    }
}

/// A number of straws of semen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Straws(pub u32);

impl fmt::Display for Straws {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} straw{}", self.0, if self.0 == 1 { "" } else { "s" })
    }
}

/// `1 straw`, `2 straws`.
#[must_use]
pub fn count(n: u32, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// A pace in animals an hour: finite and above zero.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct HeadPerHour(f64);

impl HeadPerHour {
    /// `None` unless finite and above zero.
    #[must_use]
    pub fn new(value: f64) -> Option<Self> {
        (value.is_finite() && value > 0.0).then_some(Self(value))
    }

    /// Animals an hour.
    #[must_use]
    pub fn get(self) -> f64 {
        self.0
    }

    /// Whole seconds until `head` animals are done, rounded up.
    #[must_use]
    pub fn seconds_for(self, head: Head) -> i64 {
        // The small allowance keeps 60 head at 60 an hour at exactly one hour.
        (f64::from(head.0) * 3600.0 / self.0 - 1e-6).ceil() as i64
    }
}

/// A length of time in seconds, as a real number: paces are means, not clock readings.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Seconds(pub f64);

impl Seconds {
    /// From minutes.
    #[must_use]
    pub fn from_minutes(minutes: f64) -> Self {
        Self(minutes * 60.0)
    }

    /// In minutes.
    #[must_use]
    pub fn minutes(self) -> f64 {
        self.0 / 60.0
    }
}

/// A share in percent: finite, from 0 to 100.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Percent(f64);

impl Percent {
    /// `None` unless from 0 to 100.
    #[must_use]
    pub fn new(value: f64) -> Option<Self> {
        (0.0..=100.0).contains(&value).then_some(Self(value))
    }

    /// For sums that are shares but for rounding.
    pub(crate) fn bounded(value: f64) -> Self {
        Self(value.clamp(0.0, 100.0))
    }

    /// From 0 to 100.
    #[must_use]
    pub fn get(self) -> f64 {
        self.0
    }

    /// From 0 to 1.
    #[must_use]
    pub fn of_one(self) -> f64 {
        self.0 / 100.0
    }
}

impl fmt::Display for Percent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} %", tenths(self.0))
    }
}

/// The size of a straw.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StrawSize {
    /// 0.25 mL.
    Quarter,
    /// 0.5 mL.
    Half,
}

impl StrawSize {
    /// Volume in millilitres.
    #[must_use]
    pub const fn millilitres(self) -> f64 {
        match self {
            Self::Quarter => 0.25,
            Self::Half => 0.5,
        }
    }
}

impl fmt::Display for StrawSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mL", self.millilitres())
    }
}

/// The short name of a thing in a file: letters, digits, spaces, `-`, `_`, `.`, `/` and `#`,
/// beginning with a letter or digit, at most 40 characters. Nothing in it can be mistaken for
/// markup, a formula or a line break.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, JsonSchema)]
#[serde(transparent)]
#[schemars(inline)]
pub struct Id(String);

impl Id {
    /// The most characters an id may have.
    pub const MOST: usize = 40;

    /// What an id may look like, for messages.
    pub const FORM: &'static str = "1 to 40 letters, digits, spaces, '-', '_', '.', '/' or '#', beginning with a letter or digit";

    /// `None` if the text is no id.
    #[must_use]
    pub fn new(text: &str) -> Option<Self> {
        let fits = !text.is_empty()
            && text.chars().count() <= Self::MOST
            && text.chars().next().is_some_and(char::is_alphanumeric)
            && !text.ends_with(' ')
            && text
                .chars()
                .all(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_' | '.' | '/' | '#'));
        fits.then(|| Self(text.to_owned()))
    }

    /// The text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// All-digit ids of this length or more are meant as electronic ones: tags are shorter.
const MEANT: usize = 14;

/// The digits of an id that is meant as an electronic one, without blanks, hyphens and dots;
/// `None` for any other id.
#[must_use]
pub fn digits(id: &str) -> Option<String> {
    // Most ids are tags: no text is made for them.
    let mut count = 0;
    for c in id.chars() {
        match c {
            '0'..='9' => count += 1,
            ' ' | '-' | '.' | '\u{a0}' => {}
            _ => return None,
        }
    }
    (count >= MEANT).then(|| id.chars().filter(char::is_ascii_digit).collect())
}

/// What two writings of one id have in common: upper and lower case are the same, and so are an
/// electronic id with and without blanks.
#[must_use]
pub fn same_id(id: &str) -> String {
    digits(id).unwrap_or_else(|| id.trim().to_lowercase())
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Free text for people, one line: no control characters, at most 200 characters.
#[must_use]
pub fn is_plain_line(text: &str) -> bool {
    text.chars().count() <= 200 && !text.chars().any(is_hidden)
}

/// `1 hour`, `2 h 30 min`, `45 min`: a length of time for people, to the minute.
#[must_use]
pub fn human_minutes(minutes: i64) -> String {
    let (h, m) = (minutes / 60, minutes % 60);
    match (h, m) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_keep_out_what_could_run() {
        for good in ["B204", "bull 7", "3/4-blood", "Nº1x", "a.b#2"] {
            assert!(Id::new(good).is_some(), "{good}");
        }
        for bad in [
            "",
            "=1+2",
            "a\nb",
            "<b>",
            "@x",
            "-x",
            "+x",
            "🐂",
            "x ",
            &"x".repeat(41),
        ] {
            assert!(Id::new(bad).is_none(), "{bad}");
        }
    }

    #[test]
    fn a_pass_takes_head_over_pace() {
        let pace = HeadPerHour::new(60.0).unwrap();
        assert_eq!(pace.seconds_for(Head(60)), 3600);
        assert_eq!(pace.seconds_for(Head(0)), 0);
        assert!(HeadPerHour::new(f64::NAN).is_none());
        assert!(HeadPerHour::new(-3.0).is_none());
    }

    #[test]
    fn a_percentage_is_of_a_hundred() {
        for bad in [-0.1, 100.1, f64::NAN, f64::INFINITY] {
            assert!(Percent::new(bad).is_none(), "{bad}");
        }
        assert_eq!(Percent::new(62.04).unwrap().to_string(), "62 %");
    }

    #[test]
    fn minutes_for_people() {
        assert_eq!(human_minutes(45), "45 min");
        assert_eq!(human_minutes(120), "2 h");
        assert_eq!(human_minutes(135), "2 h 15 min");
    }
}
