//! One protocol of the library in words.

use std::fmt::Write as _;

use super::document::{Block, Cell, Document, Hold, Row};
use super::protocol_facts;
use crate::base::error::visible;
use crate::base::units::{Units, count};
use crate::trade::protocol::{Anchor, Caution, Cited, Class, Delay, Kind, Origin, Protocol, Step};

/// One protocol as a timed table, with who it suits, its sources and cautions.
pub(super) fn document(protocol: &Protocol, units: Units) -> Document {
    let title = format!("{} ({})", protocol.name, protocol.id);
    let mut blocks = vec![
        Block::heading(1, &title),
        Block::paragraph(breeding(protocol)),
        Block::paragraph(protocol_facts::published_for(protocol)),
    ];
    if let Origin::File(file) = &protocol.origin {
        blocks.push(Block::paragraph(format!("From {}.", visible(file))));
    }
    let steps = protocol.steps.iter().enumerate().map(|(n, step)| {
        Row::of(vec![
            Cell::head(Hold::Names, step.id.as_str()),
            Cell::text(when(protocol, n)),
            Cell::text(what(step)),
        ])
    });
    let steps = Block::table("Steps", &["step", "when", "what"], steps);
    blocks.push(Block::part("steps", "Steps", vec![steps]));
    let sources = protocol.sources.iter().map(source).collect();
    for (id, title, items) in [
        ("suits", "Suits", vec![protocol.suits.clone()]),
        ("notes", "Notes", protocol.notes.clone()),
        (
            "disagreements",
            "Where sources disagree",
            protocol.disagreements.clone(),
        ),
        (
            "pregnant",
            "Published percent pregnant to AI",
            protocol_facts::pregnant(protocol),
        ),
        ("heat", "When heat comes", protocol_facts::heats(protocol)),
        (
            "doses",
            "Label doses",
            protocol_facts::doses(protocol, units),
        ),
        ("sources", "Sources", sources),
        ("care", "Take care", care(protocol)),
    ] {
        if !items.is_empty() {
            blocks.push(Block::part(id, title, vec![Block::bullets(items)]));
        }
    }
    Document { title, blocks }
}

/// For whom it is, how often they go through the chute, and when they are bred.
fn breeding(protocol: &Protocol) -> String {
    let class = match protocol.class {
        Class::Cow => "cows",
        Class::Heifer => "heifers",
        Class::Both => "cows and heifers",
    };
    let days = protocol.days_to_breeding();
    let breeding = if protocol.kind == Kind::EstrusDetection {
        format!("breeding by heat from day {days} on")
    } else {
        format!("breeding after {days} days")
    };
    format!(
        "For {class}: {}. {} through the chute, {breeding}.",
        protocol.kind.words(),
        count(protocol.chute_passes() as u32, "trip", "trips")
    )
}

fn source(c: &Cited) -> String {
    let checked = match (c.unverified, &c.tag) {
        (false, _) => "",
        (true, Some(_)) => " [not checked against the published sheet]",
        (true, None) => " [not checked]",
    };
    let tag = c.tag.as_ref().map(|t| format!("{t}, "));
    let tag = tag.unwrap_or_default();
    format!("{tag}{}: {}{checked}", c.title, c.supports)
}

fn care(protocol: &Protocol) -> Vec<String> {
    let actions = protocol.steps.iter().flat_map(|s| &s.actions);
    let called = |c: &Caution| actions.clone().any(|a| a.cautions().contains(c));
    let cautions = Caution::ALL.into_iter().filter(called);
    let prescription = "GnRH, PG and inserts are prescription products in many places. Follow the \
        label, your veterinarian and local rules.";
    cautions
        .map(|c| format!("{} ({})", c.words(), c.source()))
        .chain([prescription.to_owned()])
        .collect()
}

fn when(protocol: &Protocol, n: usize) -> String {
    let step = &protocol.steps[n];
    let from = protocol.counted_from(step);
    let day = protocol.nominal_offsets()[n].num_days();
    match (step.delay, step.lasts_days) {
        (Delay::Days(_), Some(lasts)) => {
            format!("day {day} to {}", day + i64::from(lasts) - 1)
        }
        (Delay::Elapsed(w), Some(lasts)) => {
            format!("{} after {}, for {lasts} days", w.words(), from)
        }
        (Delay::Days(0), None) if step.anchor == Anchor::Start => "day 0".to_owned(),
        (Delay::Days(_), None) => format!("day {day}, same clock time"),
        (Delay::Elapsed(w), None) => {
            format!("{} after {from}", w.words())
        }
    }
}

fn what(step: &Step) -> String {
    let mut text = step.words();
    if let Some(share) = &step.share {
        let _ = write!(
            text,
            ", about {} % of the group ({} to {}, {})",
            share.expected, share.low, share.high, share.tag
        );
    }
    if let Some(note) = &step.note {
        let _ = write!(text, ". {note}");
    }
    text
}
