//! Protocols as a list: name, days, passes and a timeline of each.

use std::fmt::Write as _;

use super::timeline::{INDENT, facts, key, line};
use super::wrapped;
use crate::trade::protocol::select::Selection;
use crate::trade::protocol::{Class, Protocol};

/// The protocols that suit what was wished, cows before heifers.
#[must_use]
pub fn list(selection: &Selection) -> String {
    if selection.protocols.is_empty() {
        return none_left(selection);
    }
    let mut text = String::new();
    for (class, title) in [
        (Class::Cow, "COWS"),
        (Class::Heifer, "HEIFERS"),
        (Class::Both, "COWS AND HEIFERS"),
    ] {
        let of_class: Vec<&&Protocol> = selection
            .protocols
            .iter()
            .filter(|p| p.class == class)
            .collect();
        if of_class.is_empty() {
            continue;
        }
        let _ = writeln!(text, "{title}");
        for protocol in of_class {
            text.push_str(&entry(protocol));
        }
        text.push('\n');
    }
    text.push_str(&key(selection.protocols.iter().copied()));
    text.push('\n');
    let memory = selection.protocols.iter().any(|p| p.has_unverified());
    text.push_str(&wrapped(
        &format!(
            "Days: from the first treatment to the first breeding. Passes: trips through the \
             chute, breeding included; where all are bred by heat, breeding is not counted.{}",
            if memory { MEMORY } else { "" }
        ),
        "",
        "",
    ));
    text.push_str("\n\nOne protocol with its steps and sources: thawline protocols ID\n");
    text
}

const MEMORY: &str = " * Some of its times are from memory: check with the current protocol sheet \
                      and your veterinarian.";

fn entry(protocol: &Protocol) -> String {
    let id = protocol.id.as_str();
    let research = if protocol.research { " (research)" } else { "" };
    let star = if protocol.has_unverified() { " *" } else { "" };
    let first = format!("{id:<width$}  ", width = INDENT - 2);
    let name = wrapped(
        &format!("{}{research}{star}", protocol.name),
        &first,
        &" ".repeat(INDENT),
    );
    let facts = format!("  {}", facts(protocol));
    format!("{name}\n{facts:<INDENT$}{}\n", line(protocol))
}

/// That nothing suits all of it, and what giving up one thing would leave.
pub(super) fn none_left(selection: &Selection) -> String {
    let options: Vec<String> = selection.wishes.iter().map(|w| w.option()).collect();
    let mut text = format!("No protocol suits {}.", options.join(" "));
    let helps: Vec<String> = selection
        .without
        .iter()
        .filter(|w| w.left > 0)
        .map(|w| format!("without {} there would be {}", w.wish.option(), w.left))
        .collect();
    if helps.is_empty() {
        text += " Giving up one of these alone leaves none either.";
    } else {
        let _ = write!(text, " But {}.", helps.join(", "));
    }
    wrapped(&text, "", "") + "\n"
}
