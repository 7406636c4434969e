//! The one home of time zones: local readings against instants, days against elapsed hours.
//!
//! * A step in **days** keeps its clock time on the local calendar.
//! * A step in **hours** is elapsed time, whatever the clocks do.
//! * A local time that comes twice means the earlier one; a local time that the clocks skip is
//!   moved on by as much as they skip. This is the rule of RFC 5545, section 3.3.5. Either case
//!   is reported as a [`Doubt`], never settled in silence.
//!
//! Nothing here reads a clock: "now" is always an argument.

mod moment;
pub mod read;
mod zone;

use chrono::{
    DateTime, Datelike, Days, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta,
    TimeZone, Timelike, Utc,
};

pub use moment::{Moment, Reading, Timestamp};
pub use zone::{Instant, ReadZone, Source, Zone, ZoneOffset, data_version, use_source};

use crate::base::error::{Code, Finding};

/// A local reading that the clocks skip or repeat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// The clocks skip this time; `used` is the reading that was taken.
    Gap {
        /// What was asked for.
        asked: NaiveDateTime,
        /// What it became.
        used: NaiveDateTime,
    },
    /// This time comes twice; the earlier was taken.
    Fold {
        /// What was asked for.
        asked: NaiveDateTime,
    },
}

impl Doubt {
    /// What was done about it, in words.
    #[must_use]
    pub fn words(self, zone: Zone) -> String {
        let told = |at| zone.told().date(at);
        let (Self::Gap { asked, .. } | Self::Fold { asked }) = self;
        let (asked, name) = (told(asked), zone.name());
        match self {
            Self::Gap { used, .. } => {
                let used = told(used);
                format!("{asked} does not exist in {name}: the clocks skip it; {used} is planned")
            }
            Self::Fold { .. } => {
                format!("{asked} comes twice in {name}: the earlier one is planned")
            }
        }
    }

    /// As a warning, without a place.
    pub fn finding(self, zone: Zone) -> Finding {
        let code = match self {
            Self::Gap { .. } => Code::ClockGap,
            Self::Fold { .. } => Code::ClockFold,
        };
        Finding::warning(code, self.words(zone))
            .expected("a time at which the clocks do not change")
    }
}

/// An instant with the doubt, if any, that was settled to get it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[must_use]
pub struct Resolved {
    /// The instant.
    pub at: Instant,
    /// The doubt.
    pub doubt: Option<Doubt>,
}

/// A change of the clocks: at `at` the offset goes from `before` to `after` seconds east of UTC.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Transition {
    /// When.
    pub at: Instant,
    /// Offset before, seconds east.
    pub before: i32,
    /// Offset after, seconds east.
    pub after: i32,
    /// Abbreviation after, such as `MDT`.
    pub name: String,
}

impl Zone {
    /// A zone that somebody may mean by another name: the zones of the United States by their
    /// abbreviations and names, and any zone by its city alone.
    #[must_use]
    pub fn meant_by(word: &str) -> Option<&'static str> {
        let plain = word.trim().to_lowercase().replace([' ', '-'], "_");
        let common = match plain.trim_end_matches("_time") {
            "est" | "edt" | "est5edt" | "eastern" | "us/eastern" => "America/New_York",
            "cst" | "cdt" | "cst6cdt" | "central" | "us/central" => "America/Chicago",
            "mst" | "mdt" | "mst7mdt" | "mountain" | "us/mountain" => "America/Denver",
            "pst" | "pdt" | "pst8pdt" | "pacific" | "us/pacific" => "America/Los_Angeles",
            "akst" | "akdt" | "alaska" => "America/Anchorage",
            _ => "",
        };
        if !common.is_empty() {
            return Some(common);
        }
        let is_it = |(_, city): (&str, &str)| city.to_lowercase() == plain;
        Self::names().find(|name| name.rsplit_once('/').is_some_and(is_it))
    }

    /// The instant of a local reading, by the rule of this module.
    pub fn resolve(self, local: NaiveDateTime) -> Resolved {
        let asked = local;
        let (at, doubt) = match self.from_local_datetime(&local) {
            LocalResult::Single(at) => (at.with_timezone(&Utc), None),
            LocalResult::Ambiguous(first, second) => {
                let first = first.min(second).with_timezone(&Utc);
                (first, Some(Doubt::Fold { asked }))
            }
            LocalResult::None => {
                // The offset in force before the gap, read well before it. Applied to the
                // skipped reading it lands as far behind the gap as the reading lay in it.
                let before = self.offset_seconds(local.and_utc() - TimeDelta::hours(24));
                let at = local.and_utc() - TimeDelta::seconds(i64::from(before));
                let used = self.local(at);
                (at, Some(Doubt::Gap { asked, used }))
            }
        };
        Resolved { at, doubt }
    }

    /// Every local time that [`Zone::resolve`] takes for this instant, the plain reading first.
    /// None where the instant is the second of two of one reading; two where a skipped reading is
    /// moved on to it.
    #[must_use]
    pub fn readings(self, at: Instant) -> Vec<NaiveDateTime> {
        let plain = self.local(at);
        // No gap is longer than a day.
        let changes = self.transitions(at - TimeDelta::hours(24), at).into_iter();
        let skipped = changes.map(|t| plain - TimeDelta::seconds(i64::from(t.after - t.before)));
        let all = std::iter::once(plain).chain(skipped);
        all.filter(|reading| self.resolve(*reading).at == at)
            .collect()
    }

    /// Every instant at which the clocks show this reading: none, one or two, the earlier first.
    #[must_use]
    pub fn showing(self, local: NaiveDateTime) -> Vec<Instant> {
        let mut found: Vec<Instant> = match self.from_local_datetime(&local) {
            LocalResult::None => Vec::new(),
            LocalResult::Single(at) => vec![at.with_timezone(&Utc)],
            LocalResult::Ambiguous(a, b) => vec![a.with_timezone(&Utc), b.with_timezone(&Utc)],
        };
        found.sort();
        found
    }

    /// The local reading of an instant.
    #[must_use]
    pub fn local(self, at: Instant) -> NaiveDateTime {
        at.with_timezone(&self).naive_local()
    }

    /// The local date of an instant.
    #[must_use]
    pub fn date(self, at: Instant) -> NaiveDate {
        self.local(at).date()
    }

    /// Seconds east of UTC at an instant.
    #[must_use]
    pub fn offset_seconds(self, at: Instant) -> i32 {
        self.clocks_at(at).offset
    }

    /// The abbreviation in force, such as `MDT`, or `-03` where the zone has no letters for it.
    #[must_use]
    pub fn abbreviation(self, at: Instant) -> String {
        self.clocks_at(at).name.to_owned()
    }

    /// True if the clocks are ahead of the zone's winter time. Ireland and Morocco count winter
    /// or Ramadan as set back from standard time in the time-zone database; calendars know the
    /// same clocks as summer time and standard time, and so does this.
    #[must_use]
    pub fn is_daylight(self, at: Instant) -> bool {
        // Every half year holds both kinds of time where there are two, and none is shorter than a month.
        let near = (-14..=14).map(|n| self.clocks_at(at + TimeDelta::days(14 * n)));
        let now = self.clocks_at(at);
        let ahead = if now.summer { 1 } else { -1 };
        near.filter(|other| other.summer != now.summer)
            .min_by_key(|other| (other.offset - now.offset).abs())
            .map_or(now.summer, |other| {
                let set_back = (now.offset - other.offset) * ahead < 0;
                now.summer != set_back
            })
    }

    /// The same clock time, `days` days later on the local calendar. Two steps a day apart may
    /// be 23 or 25 elapsed hours apart when the clocks change between them.
    ///
    /// # Panics
    /// Never for dates that [`in_range`] accepts and days below a thousand.
    pub fn same_clock(self, at: Instant, days: u32) -> Resolved {
        let local = self.local(at);
        let later = local.checked_add_days(Days::new(u64::from(days)));
        self.resolve(later.expect("dates are kept between 2000 and 2100"))
    }

    /// Midnight, or the first moment, of a local date.
    #[must_use]
    pub fn start_of_day(self, date: NaiveDate) -> Instant {
        self.resolve(date.and_time(NaiveTime::MIN)).at
    }

    /// Changes of the clocks in `(from, to]`, found by bisection over offsets.
    #[must_use]
    pub fn transitions(self, from: Instant, to: Instant) -> Vec<Transition> {
        let mut found = Vec::new();
        // Zones change at most twice within any stretch of days; a step of two days is safe.
        let step = TimeDelta::days(2);
        let mut low = from;
        while low < to {
            let high = (low + step).min(to);
            let (before, after) = (self.offset_seconds(low), self.offset_seconds(high));
            if before != after {
                let (mut a, mut b) = (low, high);
                while b - a > TimeDelta::seconds(1) {
                    let middle = a + (b - a) / 2;
                    if self.offset_seconds(middle) == before {
                        a = middle;
                    } else {
                        b = middle;
                    }
                }
                let at = DateTime::from_timestamp(b.timestamp(), 0).unwrap_or(b);
                found.push(Transition {
                    at,
                    before,
                    after,
                    name: self.abbreviation(at),
                });
            }
            low = high;
        }
        found
    }

    /// `Tue 18 May 2027 17:00`.
    #[must_use]
    pub fn human(self, at: Instant) -> String {
        self.told().date(self.local(at))
    }

    /// `Tue 18 May 17:00`: where the year is plain from what stands around it.
    #[must_use]
    pub fn human_short(self, at: Instant) -> String {
        self.told().day(self.local(at))
    }

    /// `17:00`.
    #[must_use]
    pub fn clock(self, at: Instant) -> String {
        self.told().time(self.local(at))
    }

    /// `05:00 to 11:00`, or with the day where the end falls on another one.
    #[must_use]
    pub fn human_range(self, from: Instant, to: Instant) -> String {
        if self.date(from) == self.date(to) {
            format!("{} to {}", self.human_short(from), self.clock(to))
        } else {
            format!("{} to {}", self.human_short(from), self.human_short(to))
        }
    }
}

/// `Tue 18 May 2027`.
#[must_use]
pub fn human_date(date: NaiveDate) -> String {
    date.format("%a %-d %b %Y").to_string()
}

/// Seasons lie between 2000 and 2100; other dates are slips of the hand.
#[must_use]
pub fn in_range(date: NaiveDate) -> bool {
    (2000..=2100).contains(&date.year())
}

/// True if the text has a digit for each `0` of the form, and is else the same: chrono reads signs,
/// blanks and single digits where this program wants none.
fn has_form(text: &str, form: &str) -> bool {
    text.len() == form.len()
        && text.bytes().zip(form.bytes()).all(|(t, f)| match f {
            b'0' => t.is_ascii_digit(),
            _ => t == f,
        })
}

/// Reads `2027-05-18T07:00`, with `T` or a space, seconds optional; and `18 May 2027 7am`. No offset: it is
/// local time.
#[must_use]
pub fn parse_local(text: &str) -> Option<NaiveDateTime> {
    let exact = [
        ("0000-00-00T00:00:00", "%Y-%m-%dT%H:%M:%S"),
        ("0000-00-00 00:00:00", "%Y-%m-%d %H:%M:%S"),
    ];
    if let Some((_, read)) = exact.iter().find(|(form, _)| has_form(text, form)) {
        let time = NaiveDateTime::parse_from_str(text, read).ok();
        // A 61st second reads as a leap second, which no local calendar knows.
        return time.filter(|t| t.nanosecond() == 0);
    }
    let mut ends = text.match_indices(['T', ' ']).map(|(n, _)| n);
    ends.find_map(|n| {
        let clock = text[n + 1..].trim();
        let date = parse_date(text[..n].trim_end_matches(','))?;
        Some(date.and_time(parse_clock(clock).filter(|_| clock != "24:00")?))
    })
}

/// Reads `2027-05-18`, `18 May 2027` and `May 18, 2027`.
#[must_use]
pub fn parse_date(text: &str) -> Option<NaiveDate> {
    if has_form(text, "0000-00-00") {
        return NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
    }
    let words: Vec<&str> = text.split([' ', ',']).filter(|w| !w.is_empty()).collect();
    let year = words.last().is_some_and(|y| has_form(y, "0000"));
    let forms = ["%d %B %Y", "%B %d %Y"].iter();
    let mut read = forms.filter_map(|form| NaiveDate::parse_from_str(&words.join(" "), form).ok());
    read.next().filter(|_| year && words.len() == 3)
}

/// Reads `07:00`, `7:00` and `7am`; `24:00` is read as the end of the day, midnight.
#[must_use]
pub fn parse_clock(text: &str) -> Option<NaiveTime> {
    if text == "24:00" {
        return Some(NaiveTime::MIN);
    }
    if has_form(text, "00:00") || has_form(text, "0:00") {
        return NaiveTime::parse_from_str(text, "%H:%M").ok();
    }
    let upper = text.to_ascii_uppercase().replace([' ', '.'], "");
    let (clock, half) = upper.split_at_checked(upper.len().checked_sub(2)?)?;
    let full = if clock.contains(':') {
        format!("{clock}{half}")
    } else {
        format!("{clock}:00{half}")
    };
    let time = NaiveTime::parse_from_str(&full, "%I:%M%p").ok();
    time.filter(|_| clock.starts_with(|c: char| c.is_ascii_digit()))
}

/// Elapsed hours, which may be a fraction, as a length of time to the second.
#[must_use]
pub fn hours(hours: f64) -> TimeDelta {
    TimeDelta::seconds((hours * 3600.0).round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn denver() -> Zone {
        Zone::parse("America/Denver").unwrap()
    }

    fn local(text: &str) -> NaiveDateTime {
        parse_local(text).unwrap()
    }

    /// In 2027 the clocks of the USA go from 02:00 to 03:00 on 14 March, and back on 7 November.
    #[test]
    fn a_skipped_time_moves_on_and_a_repeated_one_is_the_earlier() {
        let got = denver().resolve(local("2027-03-14T02:30"));
        assert_eq!(denver().rfc3339(got.at), "2027-03-14T03:30:00-06:00");
        assert!(matches!(got.doubt, Some(Doubt::Gap { .. })));
        let got = denver().resolve(local("2027-11-07T01:30"));
        assert_eq!(denver().rfc3339(got.at), "2027-11-07T01:30:00-06:00");
        assert!(matches!(got.doubt, Some(Doubt::Fold { .. })));
    }

    #[test]
    fn readings_undo_what_resolve_does() {
        let zone = denver();
        for (text, expected) in [
            // The clocks skip 02:30, which is read as 03:30.
            (
                "2027-03-14T03:30:00-06:00",
                "2027-03-14T03:30 2027-03-14T02:30",
            ),
            ("2027-03-14T04:00:00-06:00", "2027-03-14T04:00"),
            // The second 01:30 of the night is never meant.
            ("2027-11-07T01:30:00-07:00", ""),
        ] {
            let at: Instant = DateTime::parse_from_rfc3339(text).unwrap().into();
            let expected: Vec<_> = expected.split_whitespace().map(local).collect();
            assert_eq!(zone.readings(at), expected, "{text}");
        }
        assert_eq!(zone.showing(local("2027-11-07T01:30")).len(), 2);
        assert!(zone.showing(local("2027-03-14T02:30")).is_empty());
    }

    #[test]
    fn days_keep_the_clock_and_hours_do_not() {
        let zone = denver();
        let friday = zone.resolve(local("2027-03-12T17:00")).at;
        let monday = zone.rfc3339(zone.same_clock(friday, 3).at);
        assert_eq!(monday, "2027-03-15T17:00:00-06:00");
        let later = zone.rfc3339(friday + hours(72.0));
        assert_eq!(later, "2027-03-15T18:00:00-06:00");
    }

    #[test]
    fn transitions_of_a_year() {
        let zone = denver();
        let from = zone.resolve(local("2027-01-01T00:00")).at;
        let to = zone.resolve(local("2027-12-31T00:00")).at;
        let found = zone.transitions(from, to);
        assert_eq!(found.len(), 2);
        assert_eq!(zone.rfc3339(found[0].at), "2027-03-14T03:00:00-06:00");
        assert_eq!((found[0].before, found[0].after), (-25_200, -21_600));
        assert_eq!(found[1].name, "MST");
    }

    #[test]
    fn daylight_is_the_time_ahead_of_winter_time() {
        for (zone, july, december) in [
            ("America/Denver", true, false),
            ("America/Phoenix", false, false),
            ("Europe/Dublin", true, false),
            ("Australia/Lord_Howe", false, true),
        ] {
            let zone = Zone::parse(zone).unwrap();
            let daylight = |text| zone.is_daylight(zone.resolve(local(text)).at);
            assert_eq!(daylight("2027-07-15T12:00"), july, "{}", zone.name());
            assert_eq!(daylight("2027-12-15T12:00"), december, "{}", zone.name());
        }
        let morocco = Zone::parse("Africa/Casablanca").unwrap();
        let daylight = |text| morocco.is_daylight(morocco.resolve(local(text)).at);
        assert!(daylight("2024-07-15T12:00") && daylight("2024-12-15T12:00"));
        // Ramadan of 2025; since autumn 2026 the clocks stay.
        assert!(!daylight("2025-03-15T12:00") && !daylight("2027-07-15T12:00"));
    }

    #[test]
    fn an_unknown_zone_offers_the_nearest() {
        assert_eq!(Zone::parse("America/Denvr"), Err(Some("America/Denver")));
        assert_eq!(Zone::parse("Atlantis/Deep One Place"), Err(None));
    }

    #[test]
    fn clock_forms() {
        assert_eq!(parse_local("2027-02-30T07:00"), None);
        let form = "2027-05-18T07:00Z|+2027-05-18T07:00|2027-5-18T07:00|2027-05-18T24:00|\
                    2027-05-18T07:00:60";
        for bad in form.split('|') {
            assert_eq!(parse_local(bad), None, "{bad}");
        }
        assert!(parse_local("2027-05-18 07:00").is_some());
        let seven = NaiveTime::from_hms_opt(7, 0, 0);
        for clock in ["07:00", "7:00", "7am", "7 AM", "7:00 a.m."] {
            assert_eq!(parse_clock(clock), seven, "{clock}");
        }
        assert_eq!(parse_clock("12am"), NaiveTime::from_hms_opt(0, 0, 0));
        for clock in ["13pm", "0am", "am", "7", "é:am", "7:0"] {
            assert_eq!(parse_clock(clock), None, "{clock}");
        }
        for day in ["2027-03-01", "1 March 2027", "mar 1, 2027", "01 Mar 2027"] {
            assert_eq!(
                parse_date(day),
                NaiveDate::from_ymd_opt(2027, 3, 1),
                "{day}"
            );
            assert_eq!(
                parse_local(&format!("{day} 7am")),
                Some(local("2027-03-01T07:00"))
            );
        }
        for day in [
            "31 June 2027",
            "1 March 27",
            "March 2027",
            "1 2 2027",
            "1 Marble 2027",
        ] {
            assert_eq!(parse_date(day), None, "{day}");
        }
        assert_eq!(parse_clock(" 7:00"), None);
        assert!(parse_clock("24:00").is_some());
        assert_eq!(parse_date("18.05.2027"), None);
    }
}
