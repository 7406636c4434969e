//! What follows AI, group by group: return heats, bulls, pregnancy checks, calving, withdrawal.

use super::book::Book;

use crate::output::document::{Block, Heading, Item, ListKind, Role, Span, words};
use crate::output::times::follow_days as days;
use crate::planning::plan::FollowUp;

/// The section; nothing where nothing follows.
pub(super) fn after(book: &Book) -> Option<Block> {
    let mut blocks = Vec::new();
    for (g, f) in book.plan.follow_up.iter().enumerate() {
        let group = book.group_name(&f.group);
        let events = f.events.iter().enumerate();
        let rows = events.map(|(n, event)| row(event, format!("after-{g}-{n}"), group));
        blocks.extend([
            Block::Heading(Heading {
                level: 3,
                line: group.into(),
                part: true,
                ..Heading::default()
            }),
            Block::List(ListKind::Rows, rows.collect()),
        ]);
    }
    (!blocks.is_empty()).then(|| Block::part("after", "After AI", blocks))
}

/// A row with what today and next tell of it: its days, and a line of words.
fn row(event: &FollowUp, anchor: String, group: &str) -> Item {
    let last = event.last_day.unwrap_or(event.first_day);
    let told = format!("{group}: {}, {}", event.what, days(event));
    let what = words![Span::strong(days(event)), ": ", &event.what];
    let mut blocks = vec![Block::Text(what)];
    blocks.extend(event.words.iter().map(|w| Block::of_role(Role::Small, w)));
    if !event.sources.is_empty() {
        let sources = format!("Sources: {}.", event.sources.join(", "));
        blocks.push(Block::of_role(Role::SmallSoft, sources));
    }
    Item {
        tick: true,
        id: Some(anchor),
        data: vec![
            ("follow", event.id.clone()),
            ("from", event.first_day.to_string()),
            ("to", last.to_string()),
            ("told", told),
        ],
        blocks,
        ..Item::default()
    }
}
