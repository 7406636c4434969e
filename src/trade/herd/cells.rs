//! What stands in one cell: numbers, scores and words. What cannot be read says what it may
//! mean.

use super::Column;
use crate::base::error::{Code, Finding, quoted};
use crate::base::units::is_plain_line;

pub(super) fn unreadable(column: Column, text: &str, expected: &str) -> Finding {
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

/// A whole score with a plus or a minus behind it, as half a score more or less. Common practice, no
/// source.
pub(super) fn with_sign(text: &str) -> Option<f64> {
    let (score, half) = match text.strip_suffix('+') {
        Some(score) => (score, 0.5),
        None => (text.strip_suffix('-')?, -0.5),
    };
    let whole = score.trim_end().parse::<u8>().ok();
    Some(f64::from(whole?) + half)
}

/// A score in halves.
pub(super) fn half_score(
    column: Column,
    text: &str,
    least: f64,
    most: f64,
) -> Result<f64, Finding> {
    let plain = with_sign(text).map(|score| score.to_string());
    let value = number(column, plain.as_deref().unwrap_or(text), least, most)?;
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

#[cfg(test)]
mod tests {
    use super::*;

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
