//! What follows AI: the next dates of each group in a line, or everything with its reasons.

use std::fmt::Write as _;

use super::super::line;
use crate::base::time::human_date;
use crate::planning::plan::{FollowKind, FollowUp, Plan};

/// What a line tells of each group; `--full` has the rest.
const IN_SHORT: [(FollowKind, &str); 4] = [
    (FollowKind::ReturnHeat, "return heats"),
    (FollowKind::Ultrasound, "ultrasound from"),
    (FollowKind::FirstCalving, "first calves"),
    (FollowKind::MeanCalving, "mean"),
];

pub(super) fn follow_up(plan: &Plan, in_full: bool, text: &mut String) {
    if plan.follow_up.is_empty() {
        return;
    }
    text.push_str("\nAfter AI\n");
    for group in &plan.follow_up {
        if in_full {
            let _ = writeln!(text, "  {}", group.group);
            for event in &group.events {
                line(text, &in_words(event), "    ");
                for said in &event.words {
                    line(text, said, "      ");
                }
                if !event.sources.is_empty() {
                    line(text, &format!("[{}]", event.sources.join(", ")), "      ");
                }
            }
            continue;
        }
        let told: Vec<String> = IN_SHORT
            .iter()
            .filter_map(|(kind, what)| {
                let event = group.events.iter().find(|e| e.kind == *kind)?;
                let until = match (kind, event.last_day) {
                    (FollowKind::ReturnHeat, Some(last)) => format!(" to {}", human_date(last)),
                    _ => String::new(),
                };
                Some(format!("{what} {}{until}", human_date(event.first_day)))
            })
            .collect();
        let told = if told.is_empty() {
            "no cow is bred".to_owned()
        } else {
            told.join(", ")
        };
        line(text, &format!("{}: {told}", group.group), "  ");
    }
    if !in_full {
        line(
            text,
            "Pregnancy checks, bulls, withdrawal and where the days come from: `--full`.",
            "  ",
        );
    }
}

/// `Mon 14 Jun 2027 to Sun 20 Jun 2027  watch for return heat`.
fn in_words(event: &FollowUp) -> String {
    let first = human_date(event.first_day);
    let days = match event.last_day {
        Some(last) if last == event.first_day => first,
        Some(last) => format!("{first} to {}", human_date(last)),
        None => format!("from {first} on"),
    };
    format!("{days}: {}", event.what)
}
