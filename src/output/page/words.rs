//! Times, counts and sentences for people.

use crate::output::document::{Block, Kind, Line, Span, words};
use crate::output::times::{self, OnDay};
use crate::planning::plan::{Hours, Moment};

/// The clock time of a beginning: the reading for people, the whole of it for programs.
pub(super) fn begins(at: Moment, day: OnDay) -> Line {
    ends(times::up_to_minute(at), day)
}

/// The clock time of an end, or of an aim.
pub(super) fn ends(at: Moment, day: OnDay) -> Line {
    Span::Time(at, times::ends(at, day)).into()
}

/// `03:02 to 10:34, aim 06:48`, or that there are no such hours.
pub(super) fn hours(hours: &Hours, day: OnDay) -> Line {
    let aim = || words!["aim ", ends(hours.aim, day)];
    if hours.earliest > hours.latest {
        return words!["no time suits every animal; ", aim()];
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

/// A section with an anchor of its own, under a heading with another.
pub(super) fn titled(kind: Kind, id: &str, title: &str, blocks: Vec<Block>) -> Block {
    let mut block = Block::headed(kind, &format!("{id}-title"), title, blocks);
    if let Block::Section(section) = &mut block {
        section.id = Some(id.to_owned());
    }
    block
}

/// What a change of the clocks does to a step.
pub(super) fn clocks_change(words: &str) -> Block {
    Block::paragraph(words![Span::strong("Clocks change:"), " ", sentence(words)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sentence_is_closed_and_short_names_stand_out() {
        assert_eq!(sentence("limit: straws"), "Limit: straws.");
        assert_eq!(sentence("Done."), "Done.");
        let parts = words!["of ", Span::strong("a<b"), " here"];
        assert_eq!(prose("of `a<b` here"), parts);
        assert_eq!(prose("a ` b"), Line::from("a ` b"));
    }
}
