//! The tanks: a map of each from above, what is in which canister, and the day to refill.
//!
//! The map is lines and numbers only, so that it prints well and needs no colour.

use maud::{Markup, html};

use super::book::{Book, named};
use super::words::{date, prose, short_date};
use crate::analysis::tank::{Answer, Canister, Holding, NitrogenAnswer, Taken, TankView};
use crate::output::up_to_minute;

/// More canisters than this are listed without a map.
const MOST_DRAWN: usize = 16;

/// The section, if any tank is named.
pub(super) fn tanks<'a>(answer: &'a Answer, book: &Book<'a>) -> Markup {
    let named: Vec<&'a TankView> = answer.tanks.iter().filter(|t| !t.id.is_empty()).collect();
    html! {
        @if !named.is_empty() {
            section aria-labelledby="tanks" {
                h2 id="tanks" { "Tanks" }
                @for tank in named { (one(tank, book)) }
            }
        }
    }
}

fn one<'a>(tank: &'a TankView, book: &Book<'a>) -> Markup {
    html! {
        h3 class="part" { (named(&tank.name, &tank.id)) }
        p { (tank.straws) " straws; " (tank.left_straws) " left after the season." }
        (map(tank))
        @if let Some(n) = &tank.nitrogen { (nitrogen(n)) }
        table class="stack" {
            caption class="unseen" { "What is in the canisters" }
            thead {
                tr {
                    th scope="col" { "Canister" }
                    th scope="col" { "Canes" }
                    th scope="col" { "Straws" }
                    th scope="col" { "Left" }
                }
            }
            tbody {
                @for c in tank.canisters.iter().filter(|c| !c.holdings.is_empty()) {
                    tr {
                        th scope="row" class="any" {
                            @match c.number {
                                Some(n) => { "Canister " (n) }
                                None => { "No canister named" }
                            }
                        }
                        td class="any" data-label="Canes" { span { (canes(c)) } }
                        td data-label="Straws" { span { (c.straws) } }
                        td data-label="Left" { span { (c.left_straws) } }
                    }
                }
            }
        }
        @if !tank.sessions.is_empty() { (sessions(tank, book)) }
    }
}

/// What each session takes and leaves.
fn sessions<'a>(tank: &'a TankView, book: &Book<'a>) -> Markup {
    let unit = tank.nitrogen.as_ref().map(|n| n.unit.as_str());
    html! {
        table class="stack" {
            caption class="unseen" { "What each session takes and leaves" }
            thead {
                tr {
                    th scope="col" { "Session" }
                    th scope="col" { "Takes" }
                    th scope="col" { "Straws left" }
                    @if unit.is_some() { th scope="col" { "Level that evening" } }
                }
            }
            tbody {
                @for s in &tank.sessions {
                    tr {
                        th scope="row" class="any" { (short_date(s.begins.date_naive())) " " (up_to_minute(s.begins).format("%H:%M")) }
                        td class="any" data-label="Takes" {
                            span {
                                @for (n, (bull, canister, canes)) in runs(&s.taken, book).iter().enumerate() {
                                    @if n > 0 { br; }
                                    b { (bull) } (canister) ": " (canes.join(", "))
                                }
                            }
                        }
                        td data-label="Straws left" { span { (s.left_straws) } }
                        @if let Some(unit) = unit {
                            td data-label="Level that evening" {
                                span {
                                    @match s.level {
                                        Some(level) => { (format!("{level:.1} {unit}")) }
                                        None => { "not known" }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Runs of one bull and one canister, with the straws from each cane.
fn runs<'a>(taken: &'a [Taken], book: &Book<'a>) -> Vec<(&'a str, String, Vec<String>)> {
    let mut runs: Vec<(&str, String, Vec<String>)> = Vec::new();
    for t in taken {
        let bull = book.bull_name(&t.bull);
        let canister = t
            .canister
            .map_or_else(String::new, |n| format!(", canister {n}"));
        let place = [t.cane.as_deref(), t.goblet.as_deref()];
        let place: Vec<&str> = place.into_iter().flatten().collect();
        let words = format!("{} {}", place.join(" "), t.straws);
        match runs.last_mut() {
            Some(run) if run.0 == bull && run.1 == canister => run.2.push(words),
            _ => runs.push((bull, canister, vec![words])),
        }
    }
    runs
}

/// The ring of canisters round the neck; number 1 at the far side, the others clockwise.
fn map(tank: &TankView) -> Markup {
    let ring: Vec<&Canister> = tank
        .canisters
        .iter()
        .filter(|c| c.number.is_some())
        .collect();
    let radius = if ring.len() > 10 { 13 } else { 18 };
    html! {
        @if !ring.is_empty() && ring.len() <= MOST_DRAWN {
            p class="small soft" { "From above, with the straws in each canister before the season:" }
            svg class="map" viewBox="0 0 200 200" role="img" aria-label="Canisters from above" {
                circle cx="100" cy="100" r="97" {}
                circle cx="100" cy="100" r="38" stroke-dasharray="6 5" {}
                text x="100" y="106" { "neck" }
                @for (n, c) in ring.iter().enumerate() {
                    @let turn = std::f64::consts::TAU * n as f64 / ring.len() as f64;
                    @let x = (100.0 + 68.3 * turn.sin()).round();
                    @let y = (100.0 - 68.3 * turn.cos()).round();
                    circle cx=(x) cy=(y) r=(radius) {}
                    text class="number" x=(x) y=(y - 1.0) { (c.number.unwrap_or(0)) }
                    text x=(x) y=(y + 11.0) { (c.straws) }
                }
            }
        }
    }
}

fn canes(c: &Canister) -> Markup {
    let words = |h: &Holding| {
        let cane = match (&h.cane, &h.goblet) {
            (Some(cane), Some(goblet)) => format!("{cane} {goblet}"),
            (Some(cane), None) => cane.clone(),
            (None, Some(goblet)) => goblet.clone(),
            (None, None) => "no cane named".to_owned(),
        };
        if h.left_straws == h.straws {
            format!("{cane} {}", h.straws)
        } else {
            format!("{cane} {} \u{2192} {}", h.straws, h.left_straws)
        }
    };
    // Runs of one bull, size and sort are named once.
    let mut runs: Vec<(&Holding, Vec<String>)> = Vec::new();
    for h in &c.holdings {
        match runs.last_mut() {
            Some((first, all))
                if (&first.bull, &first.sort, first.straw_ml.to_bits())
                    == (&h.bull, &h.sort, h.straw_ml.to_bits()) =>
            {
                all.push(words(h));
            }
            _ => runs.push((h, vec![words(h)])),
        }
    }
    html! {
        @for (n, (h, all)) in runs.iter().enumerate() {
            @if n > 0 { br; }
            b { (h.bull_name) } ", " (h.straw_ml) " mL, " (h.sort) ": " (all.join(", "))
        }
    }
}

fn nitrogen(n: &NitrogenAnswer) -> Markup {
    html! {
        @if n.runs_low { p { b { "The nitrogen runs low before the last session." } } }
        @if let Some(by) = n.refill_by { p { b { "Refill by " (date(by)) "." } } }
        @for words in n.words.iter().filter(|w| !w.is_empty() && !w.starts_with("REFILL")) {
            p class="small" { (prose(words)) }
        }
    }
}
