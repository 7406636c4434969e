//! The library of protocols as a list, and one protocol of it, in words and as tables.

use std::fmt::Write as _;

use serde::Serialize;

use super::answer::{Answer, Tables};
use super::document::{Block, Document, Row};
use super::protocol_facts;
use super::table::{Table, fields, kinds};
use super::timeline::{key, table};
use crate::base::error::visible;
use crate::base::units::{Units, count};
use crate::trade::protocol::select::Selection;
use crate::trade::protocol::{Anchor, Caution, Cited, Class, Delay, Kind, Origin, Protocol, Step};

impl Answer for Selection<'_> {
    /// The protocols that suit what was wished, cows before heifers.
    fn document(&self) -> Document {
        let title = "Protocols";
        let mut blocks = vec![Block::heading(1, title)];
        if self.protocols.is_empty() {
            blocks.extend(none_left(self));
        } else {
            blocks.extend(listed(self));
        }
        Document::new(title, blocks)
    }

    fn tables(&self) -> Tables<Self> {
        kinds![protocols]
    }
}

/// One protocol as it is printed.
#[derive(Serialize)]
#[serde(transparent)]
pub struct One<'a> {
    /// The protocol.
    pub protocol: &'a Protocol,
    /// The units of its text.
    #[serde(skip)]
    pub units: Units,
}

impl Answer for One<'_> {
    /// A timed table, with who it suits, its sources and cautions.
    fn document(&self) -> Document {
        let protocol = self.protocol;
        let title = format!("{} ({})", protocol.name, protocol.id);
        let mut blocks = vec![
            Block::heading(1, &title),
            Block::paragraph(breeding(protocol)),
            Block::paragraph(protocol_facts::published_for(protocol)),
        ];
        if let Origin::File(file) = &protocol.origin {
            blocks.push(Block::paragraph(format!("From {}.", visible(file))));
        }
        let steps = protocol.steps.iter().enumerate();
        let steps =
            steps.map(|(n, step)| Row::named(step.id.as_str(), [when(protocol, n), what(step)]));
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
                protocol_facts::doses(protocol, self.units),
            ),
            ("law", "Law and labels", protocol_facts::law(protocol)),
            ("sources", "Sources", sources),
            ("care", "Take care", care(protocol)),
        ] {
            if !items.is_empty() {
                blocks.push(Block::part(id, title, vec![Block::bullets(items)]));
            }
        }
        Document::new(title, blocks)
    }

    fn tables(&self) -> Tables<Self> {
        kinds![steps]
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
    let refused = protocol_facts::refused_in(p);
    let refused = if refused.is_empty() {
        String::new()
    } else {
        format!(" (not permitted in {})", refused.join(", "))
    };
    format!("{}: {}{research}{refused}{star}", p.id, p.name)
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
    let trips = count(protocol.chute_passes() as u32, "trip", "trips");
    let kind = protocol.kind.words();
    format!("For {class}: {kind}. {trips} through the chute, {breeding}.")
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

fn protocols(selection: &Selection<'_>) -> String {
    let mut t = Table::of(selection.protocols.iter().copied());
    fields!(t, |p| p => protocol = id, name);
    t.column("origin", |p| p.origin.as_str());
    fields!(t, |p| p => class, cattle, semen, kind);
    t.column("days_to_breeding", Protocol::days_to_breeding);
    t.column("chute_passes", Protocol::chute_passes);
    t.column("pregnancy", protocol_facts::pregnant);
    fields!(t, |p| p => research, second_service);
    t.column("from_memory", Protocol::has_unverified);
    t.column("not_permitted_in", |p| {
        protocol_facts::refused_in(p).join(" ")
    });
    t.column("suits", |p| &p.suits);
    t.csv()
}

fn steps(one: &One<'_>) -> String {
    let protocol = one.protocol;
    let steps = protocol.steps.iter().zip(protocol.nominal_offsets());
    let rows: Vec<_> = steps.map(|(s, at)| (s.shown(protocol), s, at)).collect();
    let mut t = Table::of(&rows);
    fields!(t, |_| protocol => protocol = id, name);
    fields!(t, |(s, ..)| s => step = id, actions);
    t.column("what", |(_, step, _)| step.words());
    t.column("after", |(s, ..)| s.after);
    t.column("day", |(.., offset)| offset.num_days());
    fields!(t, |(s, ..)| s =>
        after_days = days, earliest_hours, aim_hours, latest_hours, lasts_days, share_percent,
        cautions, note);
    t.csv()
}
