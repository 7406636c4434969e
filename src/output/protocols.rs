//! The protocol library for the terminal.

use std::fmt::Write as _;

use comfy_table::{ColumnConstraint, ContentArrangement, Table, presets};

use super::{COLUMNS, protocol_facts, wrapped};
use crate::base::units::Units;
use crate::trade::protocol::{
    Anchor, Caution, Class, Delay, Kind, Library, Origin, Protocol, Step,
};

pub(super) fn table(header: &[&str]) -> Table {
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(COLUMNS as u16)
        .set_header(header.iter().map(|h| h.to_uppercase()));
    for column in table.column_iter_mut() {
        column.set_padding((0, 2));
    }
    table
}

pub(super) fn lines(table: &Table) -> String {
    let mut text = String::new();
    for line in table.lines() {
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

/// Keeps a column's entries on one line each.
fn whole(table: &mut Table, column: usize) {
    if let Some(column) = table.column_mut(column) {
        column.set_constraint(ColumnConstraint::ContentWidth);
    }
}

/// One protocol as a timed table, with who it suits, its sources and cautions.
#[must_use]
pub fn show(protocol: &Protocol, library: &Library) -> String {
    show_in(protocol, library, Units::default())
}

/// The same, with weights in the units chosen.
#[must_use]
pub fn show_in(protocol: &Protocol, library: &Library, units: Units) -> String {
    let mut text = String::new();
    let class = match protocol.class {
        Class::Cow => "cows",
        Class::Heifer => "heifers",
        Class::Both => "cows and heifers",
    };
    let _ = writeln!(text, "{}  ({})", protocol.name, protocol.id);
    let passes = protocol.chute_passes();
    let trips = if passes == 1 { "trip" } else { "trips" };
    let days = protocol.days_to_breeding();
    let breeding = if protocol.kind == Kind::EstrusDetection {
        format!("and breeding by heat from day {days} on")
    } else {
        format!("breeding after {days} days")
    };
    let passes = format!(
        "For {class}: {}; {passes} {trips} through the chute, {breeding}.",
        protocol.kind.words()
    );
    let _ = writeln!(text, "{}", wrapped(&passes, "", ""));
    let published_for = protocol_facts::published_for(protocol);
    let _ = writeln!(text, "{}", wrapped(&published_for, "", ""));
    if let Some(Origin::File(file)) = library.origin(protocol.id.as_str()) {
        let _ = writeln!(text, "From {}.", crate::base::error::visible(file));
    }
    text.push('\n');
    let mut table = table(&["step", "when", "what"]);
    for (n, step) in protocol.steps.iter().enumerate() {
        table.add_row([step.id.to_string(), when(protocol, n), what(step)]);
    }
    whole(&mut table, 0);
    text.push_str(&lines(&table));
    text.push('\n');
    let mut section = |title: &str, items: &[String]| {
        if !items.is_empty() {
            let _ = writeln!(text, "{title}");
            for item in items {
                let _ = writeln!(text, "{}", wrapped(item, "  - ", "    "));
            }
            text.push('\n');
        }
    };
    section("Suits", std::slice::from_ref(&protocol.suits));
    section("Notes", &protocol.notes);
    section("Where sources disagree", &protocol.disagreements);
    section(
        "Published percent pregnant to AI",
        &protocol_facts::pregnant(protocol),
    );
    section("When heat comes", &protocol_facts::heats(protocol));
    section("Label doses", &protocol_facts::doses(protocol, units));
    let sources: Vec<String> = protocol
        .sources
        .iter()
        .map(|c| {
            format!(
                "{}{}: {}{}",
                c.tag.as_ref().map(|t| format!("{t}, ")).unwrap_or_default(),
                c.title,
                c.supports,
                match (c.unverified, &c.tag) {
                    (false, _) => "",
                    (true, Some(_)) => " [from memory: check with the current sheet]",
                    (true, None) => " [not checked]",
                }
            )
        })
        .collect();
    section("Sources", &sources);
    let cautions: Vec<String> = Caution::ALL
        .into_iter()
        .filter(|c| {
            protocol
                .steps
                .iter()
                .flat_map(|s| &s.actions)
                .any(|a| a.cautions().contains(c))
        })
        .map(|c| format!("{} ({})", c.words(), c.source()))
        .collect();
    section("Take care", &cautions);
    text.push_str(&wrapped(
        "GnRH, PG and inserts are prescription products in many places: follow the label, your \
         veterinarian and local rules.",
        "",
        "",
    ));
    text.push('\n');
    text
}

fn when(protocol: &Protocol, n: usize) -> String {
    let step = &protocol.steps[n];
    let from = match step.anchor {
        Anchor::Start => None,
        Anchor::Step(a) => Some(protocol.steps[a].id.as_str()),
    };
    let day = protocol.nominal_offsets()[n].num_days();
    match (step.delay, step.lasts_days) {
        (Delay::Days(_), Some(lasts)) => {
            format!("day {day} to {}", day + i64::from(lasts) - 1)
        }
        (Delay::Elapsed(w), Some(lasts)) => format!(
            "{} after {}, for {lasts} days",
            w.words(),
            from.unwrap_or("start")
        ),
        (Delay::Days(0), None) if from.is_none() => "day 0".to_owned(),
        (Delay::Days(_), None) => format!("day {day}, same clock time"),
        (Delay::Elapsed(w), None) => {
            format!("{} after {}", w.words(), from.unwrap_or("start"))
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
