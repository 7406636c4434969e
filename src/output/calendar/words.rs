//! What an event says: a summary for a locked phone, and a description with the rest.

mod breeding;

use crate::base::time::{Instant, Zone, human_date};
use crate::output::times::{first_and_last, follow_days, up_to_minute};
use crate::planning::plan::{FollowUp, Group, Hours, Moment, Pass, Plan, Work};
use crate::trade::protocol::{Action, Caution};
use crate::trade::season::Allowed;
use crate::trade::sources;

/// A summary's share for a name, in characters: a locked phone shows about forty in all.
const NAME_CHARACTERS: usize = 32;

const DRUGS: &str = "Drugs: follow the label and your veterinarian.";

/// Words for the events of a plan.
pub(super) struct Words<'a> {
    pub(super) plan: &'a Plan,
    pub(super) zone: Zone,
}

impl<'a> Words<'a> {
    /// `PG + insert out: Mature cows pen 1, 80 head`.
    pub(super) fn pass_summary(&self, p: &Pass) -> String {
        let what = match p.work {
            Work::HeatWatch if p.actions.iter().any(|a| a.breeds()) => {
                "Watch for heat and breed".to_owned()
            }
            Work::HeatWatch => "Watch for heat".to_owned(),
            _ => capital(&p.what),
        };
        let until = p.last_day.map(|d| d.format(" to %-d %b").to_string());
        let (until, pen) = (until.unwrap_or_default(), self.pen_short(&p.group, p.pen));
        format!("{what}{until}: {pen}, {} head", p.head)
    }

    /// The description of a pass.
    pub(super) fn pass(&self, p: &Pass) -> String {
        let what = capital(&p.what);
        let mut lines = vec![
            format!("{}: {} head", self.pen(&p.group, p.pen), p.head),
            match (p.first_day, p.last_day) {
                (Some(first), Some(last)) => {
                    let [first, last] = [first, last].map(human_date);
                    format!("{what} every day from {first} to {last}, both included")
                }
                _ => format!("{what}, {}", self.range(p.start, p.end)),
            },
        ];
        if let Some(heat) = self.plan.heats(p) {
            lines.push(format!("{}:", capital(&heat.words())));
            let half_days = heat.half_days.iter();
            lines.extend(half_days.map(|d| d.words(self.zone.told())));
        }
        lines.extend(self.group(&p.group).map(protocol));
        let hours = p.hours.as_ref().map(|h| self.hours(h));
        lines.extend(hours.map(|h| format!("Start within: {h}")));
        lines.extend(p.note.as_ref().map(|n| format!("Note: {n}")));
        lines.extend(self.group(&p.group).into_iter().flat_map(said));
        lines.extend(p.clock.as_ref().map(|c| format!("Clock: {c}.")));
        if p.actions.iter().any(|a| is_drug(*a)) {
            lines.push(DRUGS.to_owned());
        }
        lines.extend(cautions(&p.cautions));
        lines.join("\n")
    }

    /// `Watch for return heat to 14 Jun: Mature cows, 150 head`.
    pub(super) fn follow_summary(&self, group: &str, f: &FollowUp) -> String {
        let last = f.last_day.filter(|last| *last != f.first_day);
        let until = last.map(|d| d.format(" to %-d %b").to_string());
        let (what, until) = (capital(&f.what), until.unwrap_or_default());
        format!(
            "{what}{until}: {}, {} head",
            self.pen_short(group, None),
            f.head
        )
    }

    /// Who, when, why then, and from where that is known.
    pub(super) fn follow(&self, group: &str, f: &FollowUp) -> String {
        let several = f.last_day.is_some_and(|last| last != f.first_day);
        let both = if several { ", both included" } else { "" };
        let mut lines = vec![
            format!("{}: at most {} head", self.pen(group, None), f.head),
            format!("{}: {}{both}", capital(&f.what), follow_days(f)),
        ];
        lines.extend(f.words.iter().cloned());
        for tag in &f.sources {
            let title = sources::find(tag).map_or("", |s| s.title.as_str());
            lines.push(format!("Source: {title} [{tag}]"));
        }
        lines.join("\n")
    }

    fn group(&self, id: &str) -> Option<&'a Group> {
        self.plan.group(id)
    }

    fn group_name<'b>(&self, id: &'b str) -> &'b str
    where
        'a: 'b,
    {
        self.group(id).map_or(id, |g| g.name.as_str())
    }

    /// `Mature cows, pen 1 of 2`, or the group alone where it has one pen or all of it is meant.
    fn pen(&self, group: &str, pen: impl Into<Option<u32>>) -> String {
        let name = self.group_name(group);
        match (self.pens(group), pen.into()) {
            (2.., Some(pen)) => format!("{name}, pen {pen} of {}", self.pens(group)),
            _ => name.to_owned(),
        }
    }

    /// `Mature cows pen 1`, the name cut short if it is long.
    fn pen_short(&self, group: &str, pen: impl Into<Option<u32>>) -> String {
        let name = short(self.group_name(group));
        match (self.pens(group), pen.into()) {
            (2.., Some(pen)) => format!("{name} pen {pen}"),
            _ => name,
        }
    }

    fn pens(&self, group: &str) -> usize {
        self.group(group).map_or(0, |g| g.pen_head.len())
    }

    /// `Thu 27 May 03:13 to 10:58, aim 06:24; 60 to 66 h, aim 63`.
    fn hours(&self, h: &Hours) -> String {
        let same_day = self.zone.date(utc(h.aim)) == self.zone.date(utc(h.latest));
        let aim = if same_day {
            self.clock(h.aim)
        } else {
            self.zone.human_short(utc(h.aim))
        };
        if h.earliest <= h.latest {
            let range = self.range(h.earliest, h.latest);
            return format!("{range}, aim {aim}; {}", h.window);
        }
        let aim = self.zone.human_short(utc(h.aim));
        let none = "no time suits every animal, as the treatment before takes long";
        format!("{none}; aim {aim}; {}", h.window)
    }

    fn range(&self, from: Moment, to: Moment) -> String {
        if from == to {
            return self.zone.human_short(utc(from));
        }
        let (first, last) = first_and_last(from, to);
        self.zone.human_range(utc(up_to_minute(first)), utc(last))
    }

    /// A beginning goes up to the minute and an end down, here as on paper: no reading lies outside the
    /// hours. First straws in the bath are no such limit: people are there in the minute before.
    fn begins(&self, at: Moment) -> String {
        self.clock(up_to_minute(at))
    }

    fn clock(&self, at: Moment) -> String {
        self.zone.clock(utc(at))
    }
}

fn utc(at: Moment) -> Instant {
    at.with_timezone(&chrono::Utc)
}

fn protocol(group: &Group) -> String {
    let doubt = if group.unverified {
        " (some times not checked against the published sheet)"
    } else {
        ""
    };
    format!("Protocol: {}{doubt}", group.protocol_name)
}

/// True for what is given or taken out under a label.
/// What stands with the group on every sheet.
fn said(group: &Group) -> Vec<String> {
    let marks = group.allowed.iter().map(Allowed::words);
    let note = group.note.iter().map(|n| format!("Group note: {n}"));
    marks.chain(note).collect()
}

const fn is_drug(action: Action) -> bool {
    matches!(
        action,
        Action::Gnrh
            | Action::Pg
            | Action::PgDouble
            | Action::Estradiol
            | Action::InsertIn
            | Action::InsertOut
            | Action::FeedMga
    )
}

fn cautions(found: &[Caution]) -> impl Iterator<Item = String> {
    found
        .iter()
        .map(|c| format!("Caution: {} [{}]", c.words(), c.source()))
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or(String::new(), |c| c.to_uppercase().chain(chars).collect())
}

/// The beginning of a long name.
fn short(name: &str) -> String {
    if name.chars().count() <= NAME_CHARACTERS {
        return name.to_owned();
    }
    let cut: String = name.chars().take(NAME_CHARACTERS - 1).collect();
    format!("{}…", cut.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_names_are_cut_by_characters() {
        assert_eq!(short("Mature cows"), "Mature cows");
        assert_eq!(short(&"牛".repeat(32)), "牛".repeat(32));
        assert_eq!(short(&"牛".repeat(33)), format!("{}…", "牛".repeat(31)));
        assert_eq!(capital("pG + x"), "PG + x");
        assert_eq!(capital(""), "");
    }
}
