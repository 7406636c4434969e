//! Protocols as a list: name, days, passes and a timeline of each.

use super::document::{Block, Document};
use super::timeline::{key, table};
use crate::trade::protocol::select::Selection;
use crate::trade::protocol::{Class, Protocol};

const TITLE: &str = "Protocols";

/// The protocols that suit what was wished, cows before heifers.
pub(super) fn document(selection: &Selection) -> Document {
    let mut blocks = vec![Block::heading(1, TITLE)];
    if selection.protocols.is_empty() {
        blocks.extend(none_left(selection));
    } else {
        blocks.extend(listed(selection));
    }
    Document {
        title: TITLE.to_owned(),
        blocks,
    }
}

fn listed(selection: &Selection) -> Vec<Block> {
    let all = &selection.protocols;
    let classes = [
        (Class::Cow, "Cows"),
        (Class::Heifer, "Heifers"),
        (Class::Both, "Cows and heifers"),
    ];
    let mut blocks: Vec<Block> = Vec::new();
    for (class, title) in classes {
        let of_class = all.iter().filter(|p| p.class == class);
        let mut of_class = of_class.map(|p| (named(p), *p)).peekable();
        if of_class.peek().is_some() {
            let table = table(title, of_class);
            blocks.push(Block::part(class.as_str(), title, vec![table]));
        }
    }
    blocks.push(key(all.iter().copied()));
    let memory = all.iter().any(|p| p.has_unverified());
    let notes = [
        Some("Days: from the first treatment to the first breeding."),
        Some(
            "Trips: through the chute, breeding included. Where all are bred by heat, breeding is not counted.",
        ),
        memory.then_some(
            "*: some times of this protocol were not checked against the published sheet. Check them with it and your veterinarian before you use them.",
        ),
        Some("One protocol with its steps and sources: thawline protocols ID"),
    ];
    let notes = Block::bullets(notes.into_iter().flatten());
    blocks.push(Block::part("reading", "How to read it", vec![notes]));
    blocks
}

fn named(p: &Protocol) -> String {
    let research = if p.research { " (research)" } else { "" };
    let star = if p.has_unverified() { " *" } else { "" };
    format!("{}: {}{research}{star}", p.id, p.name)
}

/// That nothing suits all of it, and what giving up one thing would leave.
fn none_left(selection: &Selection) -> Vec<Block> {
    let options: Vec<String> = selection.wishes.iter().map(|w| w.option()).collect();
    let none = format!("No protocol suits {}.", options.join(" "));
    let helps = selection.without.iter().filter(|w| w.left > 0);
    let helps = helps.map(|w| format!("without {} there would be {}", w.wish.option(), w.left));
    let helps: Vec<String> = helps.collect();
    let mut blocks = vec![Block::paragraph(none)];
    if helps.is_empty() {
        let said = "Giving up one of these alone leaves none either.";
        blocks.push(Block::paragraph(said));
    } else {
        blocks.push(Block::paragraph("Give up one of these:"));
        blocks.push(Block::bullets(helps));
    }
    blocks
}
