//! Times of day as people choose to read them: the one place that writes one. Season files, tables and
//! moments in JSON have the 24-hour clock; sentences, wherever they stand, the chosen one.

use chrono::{NaiveDateTime, NaiveTime, Timelike};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The clock that people read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Clock {
    /// `06:15`, `18:15`.
    #[default]
    #[serde(rename = "24h")]
    H24,
    /// `6:15 am`, `6:15 pm`.
    #[serde(rename = "12h")]
    H12,
}

impl Clock {
    /// True for the clock of those who choose none.
    #[must_use]
    pub fn is_usual(&self) -> bool {
        *self == Self::default()
    }

    /// `17:00`, or `5:00 pm`. Midnight is `12:00 am`, noon `12:00 pm`.
    #[must_use]
    pub fn time(self, at: impl Timelike + Copy) -> String {
        self.written(&at, "")
    }

    /// `17:00:30`, or `5:00:30 pm`.
    #[must_use]
    pub fn to_the_second(self, at: impl Timelike + Copy) -> String {
        self.written(&at, &format!(":{:02}", at.second()))
    }

    fn written(self, at: &impl Timelike, seconds: &str) -> String {
        let minute = at.minute();
        match (self, at.hour12()) {
            (Self::H24, _) => format!("{:02}:{minute:02}{seconds}", at.hour()),
            (Self::H12, (false, hour)) => format!("{hour}:{minute:02}{seconds} am"),
            (Self::H12, (true, hour)) => format!("{hour}:{minute:02}{seconds} pm"),
        }
    }

    /// A full hour of the day, from 0 to 23.
    #[must_use]
    pub fn hour(self, hour: u32) -> String {
        self.time(NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default())
    }

    /// `Tue 18 May 17:00`: where the year is plain from what stands around it.
    #[must_use]
    pub fn day(self, at: NaiveDateTime) -> String {
        format!("{} {}", at.format("%a %-d %b"), self.time(at))
    }

    /// `Tue 18 May 2027 17:00`.
    #[must_use]
    pub fn date(self, at: NaiveDateTime) -> String {
        format!("{} {}", at.format("%a %-d %b %Y"), self.time(at))
    }

    /// `24-hour clock`.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::H24 => "24-hour clock",
            Self::H12 => "12-hour clock",
        }
    }

    /// A text of this clock, with each of its times as on the 24-hour clock.
    #[must_use]
    pub fn on_24h(self, text: &str) -> String {
        let mut said = String::new();
        let mut rest = text;
        let half = |rest: &str| [" am", " pm"].iter().filter_map(|h| rest.find(h)).min();
        while let Some(at) = half(rest).filter(|_| self == Self::H12) {
            let (until, after) = rest.split_at(at + 3);
            let part = |c: char| c.is_ascii_digit() || c == ':';
            let (words, time) = until.split_at(rest[..at].trim_end_matches(part).len());
            said += words;
            said += &read(time).unwrap_or_else(|| time.to_owned());
            rest = after;
        }
        said + rest
    }
}

/// `17:00` of `5:00 pm`.
fn read(time: &str) -> Option<String> {
    let of = |form| NaiveTime::parse_from_str(time, form).ok();
    let whole = of("%I:%M %p").map(|t| Clock::H24.time(t));
    whole.or_else(|| of("%I:%M:%S %p").map(|t| Clock::H24.to_the_second(t)))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn midnight_and_noon_are_told_apart() {
        let of = |text: &str| {
            let at: NaiveTime = text.parse().unwrap();
            let all = [Clock::H24, Clock::H12].map(|c| (c.time(at), c.to_the_second(at)));
            all.map(|(time, second)| format!("{time}, {second}"))
        };
        for (at, on_12h) in [
            ("00:00:00", "12:00 am, 12:00:00 am"),
            ("00:59:59", "12:59 am, 12:59:59 am"),
            ("06:15:30", "6:15 am, 6:15:30 am"),
            ("12:00:00", "12:00 pm, 12:00:00 pm"),
            ("12:59:01", "12:59 pm, 12:59:01 pm"),
            ("23:59:09", "11:59 pm, 11:59:09 pm"),
        ] {
            let on_24h = format!("{}, {at}", &at[..5]);
            assert_eq!(of(at), [on_24h.clone(), on_12h.to_owned()]);
            assert_eq!(Clock::H12.on_24h(on_12h), on_24h);
        }
        assert_eq!(Clock::H12.hour(17), "5:00 pm");
    }

    #[test]
    fn days_and_years_stand_before_the_time() {
        let at: NaiveDateTime = "2027-05-18T17:00:00".parse().unwrap();
        assert_eq!(Clock::H24.day(at), "Tue 18 May 17:00");
        assert_eq!(Clock::H12.day(at), "Tue 18 May 5:00 pm");
        assert_eq!(Clock::H12.date(at), "Tue 18 May 2027 5:00 pm");
    }

    #[test]
    fn what_is_no_time_stays() {
        for text in "I am|25:00 pm|13:05 pm| am pm|1:2:3:4 pm|ö am|".split('|') {
            assert_eq!(Clock::H12.on_24h(text), text);
        }
        assert_eq!(Clock::H24.on_24h("5:00 pm"), "5:00 pm");
        let text = "from 5:00 am-12:05 pm; ö9:07:30 pm";
        assert_eq!(Clock::H12.on_24h(text), "from 05:00-12:05; ö21:07:30");
    }

    proptest! {
        /// No two times read alike, and each is read back.
        #[test]
        fn each_time_is_read_back(a in 0_u32..86_400, b in 0_u32..86_400, around in "[a-z ,;ö]{0,9}") {
            let time = |n| NaiveTime::from_num_seconds_from_midnight_opt(n, 0).unwrap();
            let told = |n| Clock::H12.to_the_second(time(n));
            prop_assert_eq!(told(a) == told(b), a == b);
            let minute = |n| Clock::H12.time(time(n));
            prop_assert_eq!(minute(a) == minute(b), a / 60 == b / 60);
            for (on_12h, on_24h) in [
                (told(a), Clock::H24.to_the_second(time(a))),
                (minute(b), Clock::H24.time(time(b))),
            ] {
                let text = |time: &str| format!("{around} {time}{around}");
                prop_assert_eq!(Clock::H12.on_24h(&text(&on_12h)), text(&on_24h));
            }
        }
    }
}
