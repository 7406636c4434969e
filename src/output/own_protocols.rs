//! What a user's own protocol files hold, where nothing in them is wrong.

use super::document::{Block, Document};
use super::timeline::{key, table};
use crate::base::error::visible;
use crate::trade::protocol::advice::Checked;

/// Each file with its protocol and timeline, then findings.
pub(super) fn document(checked: &Checked) -> Document {
    let title = "Protocol files";
    let entries = checked.protocols.iter().map(|(file, p)| {
        let words = format!("{}: can be used. {} ({})", visible(file), p.name, p.id);
        (words, p)
    });
    let mut blocks = vec![Block::heading(1, title), table(title, entries)];
    blocks.extend(super::findings(&checked.found));
    blocks.push(key(checked.protocols.iter().map(|(_, p)| p)));
    Document {
        title: title.to_owned(),
        blocks,
    }
}
