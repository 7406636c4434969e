//! What follows AI: the next dates of each group in a line, or everything with its reasons.

use crate::base::time::human_date;
use crate::output::document::{Block, Heading, Item, ListKind};
use crate::output::times::follow_days;
use crate::planning::plan::{FollowKind, FollowUp, Plan};

/// What a line tells of each group; `--full` has the rest.
const IN_SHORT: [(FollowKind, &str); 4] = [
    (FollowKind::ReturnHeat, "watch for return heat"),
    (FollowKind::Ultrasound, "ultrasound from"),
    (FollowKind::FirstCalving, "earliest calves"),
    (FollowKind::MeanCalving, "average due date"),
];

pub(super) fn follow_up(plan: &Plan, in_full: bool) -> Option<Block> {
    let groups = plan.follow_up.iter();
    let mut blocks: Vec<Block> = if in_full {
        groups.flat_map(|f| of_group(&f.group, &f.events)).collect()
    } else {
        groups.map(|f| next_dates(&f.group, &f.events)).collect()
    };
    if !in_full {
        blocks.push(Block::paragraph(
            "For pregnancy checks, bulls, withdrawal and where the days come from: `--full`.",
        ));
    }
    (!plan.follow_up.is_empty()).then(|| Block::part("after", "After AI", blocks))
}

fn of_group(group: &str, events: &[FollowUp]) -> Vec<Block> {
    let events = events.iter().map(|event| {
        let mut item = Item::text(in_words(event));
        item.blocks.extend(event.words.iter().map(Block::paragraph));
        if !event.sources.is_empty() {
            let sources = format!("[{}]", event.sources.join(", "));
            item.blocks.push(Block::paragraph(sources));
        }
        item
    });
    let events = Block::List(ListKind::Plain, events.collect());
    let heading = Heading {
        level: 3,
        line: group.into(),
        tight: true,
        ..Heading::default()
    };
    vec![Block::Heading(heading), events]
}

fn next_dates(group: &str, events: &[FollowUp]) -> Block {
    let dates = IN_SHORT.iter().filter_map(|(kind, what)| {
        let event = events.iter().find(|e| e.kind == *kind)?;
        let until = match (kind, event.last_day) {
            (FollowKind::ReturnHeat, Some(last)) => format!(" to {}", human_date(last)),
            _ => String::new(),
        };
        Some(format!("{what} {}{until}", human_date(event.first_day)))
    });
    let mut dates = dates.collect::<Vec<_>>().join(", ");
    if dates.is_empty() {
        "no cow is bred".clone_into(&mut dates);
    }
    Block::paragraph(format!("{group}: {dates}"))
}

/// `Mon 14 Jun 2027 to Sun 20 Jun 2027  watch for return heat`.
fn in_words(event: &FollowUp) -> String {
    format!("{}: {}", follow_days(event), event.what)
}
