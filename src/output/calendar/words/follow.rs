//! What is said of a follow-up.

use super::{Words, capital};
use crate::base::time::human_date;
use crate::planning::plan::FollowUp;
use crate::trade::sources;

impl Words<'_> {
    /// `Watch for return heat to 14 Jun: Mature cows, 150 head`.
    pub(in super::super) fn follow_summary(&self, group: &str, f: &FollowUp) -> String {
        let until = f
            .last_day
            .filter(|last| *last != f.first_day)
            .map_or(String::new(), |d| format!(" to {}", d.format("%-d %b")));
        format!(
            "{}{until}: {}, {} head",
            capital(&f.what),
            self.pen_short(group, None),
            f.head
        )
    }

    /// Who, when, why then, and from where that is known.
    pub(in super::super) fn follow(&self, group: &str, f: &FollowUp) -> String {
        let first = human_date(f.first_day);
        let mut lines = vec![
            format!("{}: at most {} head", self.pen(group, None), f.head),
            match f.last_day {
                Some(last) if last == f.first_day => format!("{}: {first}", capital(&f.what)),
                Some(last) => format!(
                    "{}: {first} to {}, both included",
                    capital(&f.what),
                    human_date(last)
                ),
                None => format!("{}: from {first} on", capital(&f.what)),
            },
        ];
        lines.extend(f.words.iter().cloned());
        for tag in &f.sources {
            let title = sources::find(tag).map_or("", |s| s.title.as_str());
            lines.push(format!("Source: {title} [{tag}]"));
        }
        lines.join("\n")
    }
}
