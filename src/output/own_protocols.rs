//! What a user's own protocol files hold, where nothing in them is wrong.

use super::document::{Block, Document, ListKind, terminal};
use super::timeline::{entry, key};
use crate::base::error::visible;
use crate::trade::protocol::advice::Checked;

/// Each file with its protocol and timeline, then findings.
#[must_use]
pub fn document(checked: &Checked) -> Document {
    let title = "Protocol files";
    let entries = checked.protocols.iter().map(|(file, p)| {
        let lead = format!("{}: can be used. {} ({})", visible(file), p.name, p.id);
        entry(&lead, p)
    });
    let mut blocks = vec![
        Block::heading(1, title),
        Block::List(ListKind::Plain, entries.collect()),
    ];
    blocks.extend(super::findings(&checked.found));
    blocks.push(key(checked.protocols.iter().map(|(_, p)| p)));
    Document {
        title: title.to_owned(),
        blocks,
    }
}

/// The document for the terminal.
#[must_use]
pub fn text(checked: &Checked) -> String {
    terminal::text(&document(checked))
}
