//! What stands in one cell: numbers, scores, words and dates. What cannot be read says what it may
//! mean.

use chrono::{Days, NaiveDate};

use super::Column;
use crate::base::error::{Code, Finding, quoted};
use crate::base::time::{in_range, parse_date};
use crate::base::units::is_plain_line;

fn unreadable(column: Column, text: &str, expected: &str) -> Finding {
    let unknown = matches!(
        text.to_lowercase().as_str(),
        "-" | "--" | "?" | "." | "na" | "n/a" | "none" | "null" | "unknown" | "x" | "#n/a"
    );
    let hint = if unknown {
        "leave the cell blank: blank means not known".to_owned()
    } else if text.starts_with('#') || text.starts_with('=') {
        "that is a formula or its fault: save the file with values only".to_owned()
    } else {
        "correct the cell, or leave it blank if it is not known".to_owned()
    };
    let what = format!("{} cannot be read as {}", quoted(text), column.as_str());
    Finding::error(Code::HerdCell, what)
        .expected(expected)
        .hint(hint)
}

/// A plain decimal number. `most` and `least` are limits of what can be.
pub(super) fn number(column: Column, text: &str, least: f64, most: f64) -> Result<f64, Finding> {
    let expected = format!("a number from {least} to {most}, with a point before the fraction");
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'.')
        && text.bytes().any(|b| b.is_ascii_digit());
    let Some(value) = text.parse::<f64>().ok().filter(|_| plain) else {
        let fault = unreadable(column, text, &expected);
        return Err(match number_hint(text) {
            Some(hint) => fault.hint(hint),
            None => fault,
        });
    };
    if value < least || value > most {
        let what = format!("{} cannot be {}", column.as_str(), quoted(text));
        return Err(Finding::error(Code::OutOfRange, what)
            .expected(format!("from {least} to {most}"))
            .hint("correct the cell, or leave it blank if it is not known"));
    }
    Ok(value)
}

/// A comma in a number, or a unit behind it.
fn number_hint(text: &str) -> Option<String> {
    let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
    if let Some((whole, rest)) = text.split_once(',')
        && digits(whole)
        && digits(rest)
    {
        let fraction = format!("`{whole}.{rest}`");
        return Some(if rest.len() == 3 {
            format!("write `{whole}{rest}`, or {fraction} if the comma stands before a fraction")
        } else {
            format!("write {fraction}")
        });
    }
    let lead = text.chars().take_while(|c| c.is_ascii_digit() || *c == '.');
    let lead: String = lead.collect();
    let unit = text[lead.len()..].trim();
    (digits(lead.trim_matches('.')) && !unit.is_empty() && unit.chars().all(char::is_alphabetic))
        .then(|| format!("write `{lead}` alone: the unit stands in the column's name"))
}

/// A score in halves.
pub(super) fn half_score(
    column: Column,
    text: &str,
    least: f64,
    most: f64,
) -> Result<f64, Finding> {
    let value = number(column, text, least, most)?;
    if (value * 2.0).fract() == 0.0 {
        return Ok(value);
    }
    let (low, high) = ((value * 2.0).floor() / 2.0, (value * 2.0).ceil() / 2.0);
    let what = format!("{} goes in halves, not {}", column.as_str(), quoted(text));
    Err(Finding::error(Code::OutOfRange, what)
        .expected(format!(
            "from {least} to {most}, whole or with a half, such as 5 or 5.5"
        ))
        .hint(format!("write `{low}` or `{high}`")))
}

/// A whole score.
pub(super) fn whole_score(column: Column, text: &str, least: u8, most: u8) -> Result<u8, Finding> {
    let hint = "score again, or leave the cell blank";
    whole(column, text, (least.into(), most.into()), hint).map(|n| n as u8)
}

/// A number that counts from 1.
pub(super) fn counted(column: Column, text: &str, most: u32) -> Result<u32, Finding> {
    let hint = "correct the cell, or leave it blank if it is not known";
    whole(column, text, (1, most), hint)
}

fn whole(
    column: Column,
    text: &str,
    (least, most): (u32, u32),
    hint: &str,
) -> Result<u32, Finding> {
    let value = number(column, text, least.into(), most.into())?;
    if value.fract() == 0.0 {
        return Ok(value as u32);
    }
    let (column, text) = (column.as_str(), quoted(text));
    let what = format!("{column} has no fractions, as in {text}");
    Err(Finding::error(Code::OutOfRange, what)
        .expected(format!("a whole number from {least} to {most}"))
        .hint(hint))
}

/// Text of one line.
pub(super) fn line(column: Column, text: &str, most: usize) -> Result<String, Finding> {
    let broken = text.contains(['\n', '\r']);
    if is_plain_line(text) && text.chars().count() <= most {
        return Ok(text.to_owned());
    }
    let (text, column) = (quoted(text), column.as_str());
    let what = format!("{text} is not a line of plain text for {column}");
    Err(Finding::error(Code::BadText, what)
    .expected(format!(
        "one line of at most {most} characters, without control characters"
    ))
    .hint(if broken {
        "a quote that is not closed swallows the lines after it: close it, or take the line break out of the cell"
    } else {
        "shorten it, and remove invisible characters"
    }))
}

/// A date in ISO form between 2000 and 2100.
pub(super) fn date(column: Column, text: &str) -> Result<NaiveDate, Finding> {
    let outside = |d: NaiveDate| {
        let what = format!("{} has the date {d}, far from any season", column.as_str());
        Finding::error(Code::HerdDate, what)
            .expected("a date between 2000 and 2100")
            .hint("check the year, or leave the cell blank if it is not known")
    };
    match parse_date(text) {
        Some(date) if in_range(date) => Ok(date),
        Some(date) => Err(outside(date)),
        None => Err(other_date(column, text)),
    }
}

fn other_date(column: Column, text: &str) -> Finding {
    let meant = meanings(text);
    if meant.is_empty() {
        let mut fault = unreadable(column, text, "a date as 2027-05-17, year, month, day");
        fault.code = Code::HerdDate;
        return fault;
    }
    let offers = meant.iter();
    let offers: Vec<String> = offers.map(|(date, how)| format!("`{date}`{how}")).collect();
    let (column, text) = (column.as_str(), quoted(text));
    let what = format!("{column} has a date in another form: {text}");
    Finding::error(Code::HerdDate, what)
    .expected("a date as 2027-05-17, year, month, day")
    .hint(format!(
        "write {}; in the spreadsheet set the column's format to yyyy-mm-dd before saving as CSV",
        offers.join(" or ")
    ))
}

/// The dates that another writing may stand for, each with why.
fn meanings(text: &str) -> Vec<(NaiveDate, &'static str)> {
    let text = text.trim();
    let date = |y: i32, m: u32, d: u32| NaiveDate::from_ymd_opt(y, m, d).filter(|d| in_range(*d));
    // A date with a clock time behind it.
    let day = text.split([' ', 'T']).next().unwrap_or_default();
    if day.len() < text.len()
        && text[day.len() + 1..].contains(':')
        && !day.is_empty()
        && text.is_char_boundary(day.len() + 1)
    {
        return match parse_date(day).filter(|d| in_range(*d)) {
            Some(date) => vec![(date, "")],
            None => meanings(day),
        };
    }
    if text.bytes().all(|b| b.is_ascii_digit()) {
        return digits_alone(text, date);
    }
    let parts: Vec<&str> = text
        .split([' ', '/', '-', '.', ',', '\u{a0}'])
        .filter(|p| !p.is_empty())
        .collect();
    let [a, b, c] = parts[..] else {
        return Vec::new();
    };
    let number = |t: &str| {
        t.parse::<u32>()
            .ok()
            .filter(|_| t.len() <= 4 && t.bytes().all(|b| b.is_ascii_digit()))
    };
    let year = |t: &str| {
        let n = number(t)? as i32;
        match t.len() {
            4 => Some(n),
            2 => Some(2000 + n),
            _ => None,
        }
    };
    let found = if let Some(m) = month(b) {
        // 17-May-27
        vec![year(c).and_then(|y| Some((date(y, m, number(a)?)?, "")))]
    } else if let Some(m) = month(a) {
        // May 17, 2027
        vec![year(c).and_then(|y| Some((date(y, m, number(b)?)?, "")))]
    } else if a.len() == 4 {
        // 2027/5/17
        vec![year(a).and_then(|y| Some((date(y, number(b)?, number(c)?)?, "")))]
    } else {
        // 5/17/2027 or 17.05.2027
        let month_first = year(c).and_then(|y| date(y, number(a)?, number(b)?));
        let day_first = year(c).and_then(|y| date(y, number(b)?, number(a)?));
        if month_first == day_first {
            vec![month_first.map(|d| (d, ""))]
        } else if month_first.is_some() && day_first.is_some() {
            vec![
                month_first.map(|d| (d, " if the month stands first")),
                day_first.map(|d| (d, " if the day stands first")),
            ]
        } else {
            vec![month_first.or(day_first).map(|d| (d, ""))]
        }
    };
    found.into_iter().flatten().collect()
}

/// `20270517`, or the number of days since the end of 1899 by which spreadsheets keep dates.
fn digits_alone(
    text: &str,
    date: impl Fn(i32, u32, u32) -> Option<NaiveDate>,
) -> Vec<(NaiveDate, &'static str)> {
    match (text.len(), text.parse::<u32>()) {
        (8, Ok(n)) => date((n / 10_000) as i32, n / 100 % 100, n % 100)
            .map(|d| (d, ""))
            .into_iter()
            .collect(),
        (5, Ok(n)) => NaiveDate::from_ymd_opt(1899, 12, 30)
            .and_then(|d| d.checked_add_days(Days::new(n.into())))
            .filter(|d| in_range(*d))
            .map(|d| (d, " if it is a spreadsheet's day number"))
            .into_iter()
            .collect(),
        _ => Vec::new(),
    }
}

/// A month by its English name or the first three letters of it.
fn month(word: &str) -> Option<u32> {
    let word = word.to_lowercase();
    let named = |n: &u8| {
        let month = chrono::Month::try_from(*n);
        month.is_ok_and(|m| m.name().to_lowercase().starts_with(&word))
    };
    let found = (1..=12).find(named).filter(|_| word.len() >= 3);
    found.map(u32::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hint(text: &str) -> String {
        let f = date(Column::BirthDate, text).unwrap_err();
        assert_eq!(f.code, Code::HerdDate, "{text}");
        f.hint.unwrap()
    }

    #[test]
    fn other_forms_of_dates_offer_the_iso_one() {
        let forms = "5/17/2027|17.05.2027|17-May-27|5/17/27|2027/5/17|\
                     20270517|2027-05-17 00:00:00|2027-05-17T08:00|5/17/2027 0:00|46524";
        for text in forms.split('|') {
            assert!(hint(text).starts_with("write `2027-05-17`"), "{text}");
            assert!(!hint(text).contains(" or "), "{text}");
        }
        let both = hint("3/4/2027");
        assert!(both.contains("`2027-03-04` if the month stands first"));
        assert!(both.contains("`2027-04-03` if the day stands first"));
        assert!(!hint("4/4/2027").contains(" or "));
    }

    #[test]
    fn what_is_no_date_offers_none() {
        for text in "soon|32/13/2027|1|99999|2027-13-40|1/2|é/ü/ß|T:| :|5/5/5".split('|') {
            assert!(!hint(text).contains("write `"), "{text}");
        }
        assert!(hint("n/a").contains("blank"));
        assert!(date(Column::BirthDate, "1899-05-17").is_err());
    }

    #[test]
    fn numbers_are_plain() {
        let weight = |t: &str| number(Column::WeightLb, t, 50.0, 4000.0);
        assert!((weight("845.5").unwrap() - 845.5).abs() < 1e-9);
        let hint = |t: &str| weight(t).unwrap_err().hint.unwrap();
        assert!(hint("845,5").starts_with("write `845.5`"));
        assert!(hint("1,250").starts_with("write `1250`, or `1.250`"));
        assert!(hint("845 lb").starts_with("write `845` alone"));
        assert!(hint("#REF!").contains("formula"));
        let long = "9".repeat(400);
        for bad in ["NaN", "inf", "1e3", "-5", "+5", ".", "1.2.3", "٣", &long] {
            assert!(weight(bad).is_err(), "{bad}");
        }
        assert!(half_score(Column::BodyCondition, "5.5", 1.0, 9.0).is_ok());
        assert!(half_score(Column::BodyCondition, "5.25", 1.0, 9.0).is_err());
        assert!(whole_score(Column::TractScore, "3.5", 1, 5).is_err());
    }
}
