//! Zones, dates and times as people write them, and what to say where they cannot be read. The
//! findings carry no place: whoever asks knows where the text stands.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

use super::{Zone, in_range, parse_clock, parse_date, parse_local};
use crate::base::error::{Code, Finding, did_you_mean, quoted};

/// The zone of a place.
///
/// # Errors
/// A finding that offers the zone which may be meant.
pub fn zone(name: &str) -> Result<Zone, Finding> {
    // An abbreviation such as `MST` is an IANA name too, of a zone whose clocks never change:
    // hardly what a ranch lives by.
    let abbreviated = !name.contains('/') && name != "UTC";
    let near = match Zone::parse(name) {
        Ok(zone) if !abbreviated => return Ok(zone),
        Ok(_) => None,
        Err(near) => near,
    };
    let near = Zone::meant_by(name).or(near.filter(|_| !abbreviated));
    let name = quoted(name);
    let what = format!("{name} is not a time zone that this program takes");
    let other = "write one such as `America/Denver` or `America/Chicago`";
    Err(Finding::error(Code::BadZone, what)
        .expected("the time zone of a place, as continent/city")
        .hint(did_you_mean(near, other)))
}

/// A local date and time between 2000 and 2100.
///
/// # Errors
/// A finding that says what to write.
pub fn local(text: &str) -> Result<NaiveDateTime, Finding> {
    let wants = "a local date and time between 2000 and 2100, such as `2027-05-17T17:00`";
    let time = parse_local(text).filter(|t| in_range(t.date()));
    time.ok_or_else(|| bad(text, wants))
}

/// A date between 2000 and 2100.
///
/// # Errors
/// A finding that says what to write.
pub fn date(text: &str) -> Result<NaiveDate, Finding> {
    let wants = "a date between 2000 and 2100, such as `2027-03-01`";
    let date = parse_date(text).filter(|d| in_range(*d));
    date.ok_or_else(|| bad(text, wants))
}

/// A clock time of a day.
///
/// # Errors
/// A finding that says what to write.
pub fn clock(text: &str) -> Result<NaiveTime, Finding> {
    let time = parse_clock(text).filter(|_| text != "24:00");
    time.ok_or_else(|| bad(text, "a clock time from `00:00` to `23:59`"))
}

/// A clock time such as an example; the end of hours may be 24:00.
///
/// # Errors
/// A finding that says what to write.
pub fn clock_like(text: &str, ends: bool, like: &str) -> Result<NaiveTime, Finding> {
    let time = parse_clock(text).filter(|_| ends || text != "24:00");
    time.ok_or_else(|| bad(text, &format!("a clock time such as `{like}`")))
}

/// A finding for a date or time that cannot be read, or lies outside the years of the program.
pub fn bad(text: &str, wants: &str) -> Finding {
    Finding::error(Code::BadTime, format!("{} cannot be read", quoted(text)))
        .expected(wants)
        .hint(meant(text))
}

const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/// What to write in place of a date or time that cannot be read.
fn meant(text: &str) -> String {
    let date = text.split(['T', ' ']).next().unwrap_or_default();
    let digits = |t: &str| t.len() == 10 && t.chars().all(|c| c.is_ascii_digit() || c == '-');
    if digits(date) && parse_date(date).is_none() {
        let date = quoted(date);
        return format!("there is no day {date}: check the month and its length");
    }
    let start = text.get(..3).map(str::to_lowercase).unwrap_or_default();
    if DAYS.contains(&start.as_str()) && text.chars().all(char::is_alphabetic) {
        return format!(
            "a weekday is no date: write each date, or for every week the weekdays that are worked, as `shifts: [{{days: [mon, tue], from: \"05:00\", to: \"19:00\"}}]`; under `no_chute_work` write `- {{weekday: {start}}}`"
        );
    }
    if !digits(date)
        && let (Some(other), Some(own)) = (slashed(date, "%d/%m/%Y"), slashed(date, "%m/%d/%Y"))
        && other != own
    {
        return format!("day/month or month/day? Write {own} or {other}");
    }
    if let Some(day) = slashed(date, "%d/%m/%Y").or_else(|| slashed(date, "%m/%d/%Y")) {
        return format!("write {day}");
    }
    if parse_date(text).is_some() {
        return format!("write the hour as well, such as {text} 7:00");
    }
    "write dates as 2027-05-17 and times on a 24-hour clock as 06:00; no time zone behind them"
        .to_owned()
}

/// A date with slashes, read one way.
fn slashed(text: &str, form: &str) -> Option<NaiveDate> {
    NaiveDate::parse_from_str(text, form).ok()
}
