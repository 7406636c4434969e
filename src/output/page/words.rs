//! Times, counts and sentences for people.

use chrono::NaiveDate;

use crate::output::document::{Block, Heading, Kind, Line, Section, Span, words};
use crate::output::up_to_minute;
use crate::planning::plan::{Hours, Moment};

/// How dates read.
const DATE: &str = "%a %-d %b %Y";

/// `Mon 15 Mar 2027`.
pub(super) fn date(day: NaiveDate) -> String {
    day.format(DATE).to_string()
}

/// A date without its year, where the year stands nearby.
pub(super) fn short_date(day: NaiveDate) -> String {
    day.format("%a %-d %b").to_string()
}

/// A moment: the reading for people, the whole of it for programs.
fn time(at: Moment, day: NaiveDate) -> Line {
    let there = at.date_naive();
    let clock = at.format("%H:%M");
    let words = if there == day {
        clock.to_string()
    } else {
        format!("{} {clock}", short_date(there))
    };
    Span::Time(at, words).into()
}

/// The clock time of a beginning. Times are shown to the whole minute; beginnings go up and ends
/// go down, so that what is read never lies outside what is meant.
pub(super) fn begins(at: Moment, day: NaiveDate) -> Line {
    time(up_to_minute(at), day)
}

/// The clock time of an end, or of an aim.
pub(super) fn ends(at: Moment, day: NaiveDate) -> Line {
    time(at, day)
}

/// `03:02 to 10:34, aim 06:48`, or that there are no such hours.
pub(super) fn hours(hours: &Hours, day: NaiveDate) -> Line {
    let aim = || words!["aim ", ends(hours.aim, day)];
    if hours.earliest > hours.latest {
        return words!["none that are safe for every animal; ", aim()];
    }
    let inside = hours.earliest <= hours.aim && hours.aim <= hours.latest;
    words![
        begins(hours.earliest, day),
        " to ",
        ends(hours.latest, day),
        inside.then(|| words![", ", aim()])
    ]
}

/// The sentence with a capital at its beginning and a full stop at its end.
pub(super) fn sentence(text: &str) -> String {
    let mut all: String = text.chars().take(1).flat_map(char::to_uppercase).collect();
    all.extend(text.chars().skip(1));
    if !all.is_empty() && !all.ends_with(['.', '!', '?']) {
        all.push('.');
    }
    all
}

/// A sentence in which short names stand between backticks.
pub(super) fn prose(text: &str) -> Line {
    let parts: Vec<&str> = text.split('`').collect();
    // An odd backtick belongs to somebody's name: leave the sentence as it is.
    if parts.len().is_multiple_of(2) {
        return text.into();
    }
    let mut all = Line::default();
    for (n, part) in parts.into_iter().enumerate() {
        if n % 2 == 1 {
            all.add(Span::strong(part));
        } else {
            all.add(part);
        }
    }
    all
}

/// `1–4, 7, 9–12` from numbers in rising order.
pub(super) fn ranges(numbers: &[u32]) -> String {
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for n in numbers {
        match runs.last_mut() {
            Some((_, last)) if last.checked_add(1) == Some(*n) => *last = *n,
            _ => runs.push((*n, *n)),
        }
    }
    let runs: Vec<String> = runs
        .into_iter()
        .map(|(from, to)| match to - from {
            0 => from.to_string(),
            _ => format!("{from}–{to}"),
        })
        .collect();
    runs.join(", ")
}

/// A section with an anchor of its own, under a heading with another.
pub(super) fn titled(kind: Kind, id: &str, title: &str, blocks: Vec<Block>) -> Block {
    let heading = Block::Heading(Heading {
        level: 2,
        line: title.into(),
        id: Some(format!("{id}-title")),
        ..Heading::default()
    });
    Block::Section(Section {
        kind,
        id: Some(id.to_owned()),
        blocks: [heading].into_iter().chain(blocks).collect(),
        ..Section::default()
    })
}

/// What a change of the clocks does to a step.
pub(super) fn clocks_change(words: &str) -> Block {
    Block::paragraph(words![Span::strong("Clocks change:"), " ", sentence(words)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn animals_in_a_row_are_one_range() {
        assert_eq!(ranges(&[1, 2, 3, 4, 7, 9, 10]), "1–4, 7, 9–10");
        assert_eq!(ranges(&[]), "");
    }

    #[test]
    fn beginnings_go_up_and_ends_go_down_to_the_minute() {
        let at: Moment = "2027-03-15T03:01:30-06:00".parse().unwrap();
        let day = at.date_naive();
        assert_eq!(begins(at, day).plain(), "03:02");
        assert_eq!(ends(at, day).plain(), "03:01");
        let whole: Moment = "2027-03-15T03:01:00-06:00".parse().unwrap();
        assert_eq!(begins(whole, day).plain(), "03:01");
        let eve = day.pred_opt().unwrap();
        assert_eq!(begins(whole, eve).plain(), "Mon 15 Mar 03:01");
    }

    #[test]
    fn a_sentence_is_closed_and_short_names_stand_out() {
        assert_eq!(sentence("straws bind"), "Straws bind.");
        assert_eq!(sentence("Done."), "Done.");
        let parts = words!["of ", Span::strong("a<b"), " here"];
        assert_eq!(prose("of `a<b` here"), parts);
        assert_eq!(prose("a ` b"), Line::from("a ` b"));
    }
}
