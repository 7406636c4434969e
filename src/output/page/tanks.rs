//! The tanks: a map of each from above, what is in which canister, and the day to refill.
//!
//! The map is lines and numbers only, so that it prints well and needs no colour.

use super::book::{Book, named};
use super::words::{date, prose, short_date};
use crate::analysis::tank::{Answer, Canister, Holding, NitrogenAnswer, Taken, TankView};
use crate::output::document::{
    Block, Cell, Drawing, Heading, Hold, Line, Look, Mark, Role, Row, Shape, Span, Table,
    TableKind, words,
};
use crate::output::up_to_minute;

/// More canisters than this are listed without a map.
const MOST_DRAWN: usize = 16;

/// The section, if any tank is named.
pub(super) fn tanks<'a>(answer: &'a Answer, book: &Book<'a>) -> Option<Block> {
    let named = answer.tanks.iter().filter(|t| !t.id.is_empty());
    let blocks: Vec<Block> = named.flat_map(|tank| one(tank, book)).collect();
    (!blocks.is_empty()).then(|| Block::part("tanks", "Tanks", blocks))
}

fn one<'a>(tank: &'a TankView, book: &Book<'a>) -> Vec<Block> {
    let straws = tank.straws;
    let mut blocks = vec![
        Block::Heading(Heading {
            level: 3,
            line: named(&tank.name, &tank.id),
            part: true,
            ..Heading::default()
        }),
        Block::paragraph(format!(
            "{straws} straws; {} left after the season.",
            tank.left_straws
        )),
    ];
    blocks.extend(map(tank));
    blocks.extend(tank.nitrogen.iter().flat_map(nitrogen));
    let mut table = Table::new(
        TableKind::Stack,
        "What is in the canisters",
        &["Canister", "Canes", "Straws", "Left"],
    );
    let full = tank.canisters.iter().filter(|c| !c.holdings.is_empty());
    let rows = full.map(|c| {
        let name = match c.number {
            Some(n) => format!("Canister {n}"),
            None => "No canister named".to_owned(),
        };
        Row::of(vec![
            Cell::head(Hold::Names, name),
            Cell::of(Hold::Names, canes(c)),
            Cell::text(c.straws),
            Cell::text(c.left_straws),
        ])
    });
    table.parts = vec![rows.collect()];
    blocks.push(Block::Table(table));
    blocks.extend((!tank.sessions.is_empty()).then(|| sessions(tank, book)));
    blocks
}

/// What each session takes and leaves.
fn sessions<'a>(tank: &'a TankView, book: &Book<'a>) -> Block {
    let unit = tank.nitrogen.as_ref().map(|n| n.unit.as_str());
    let mut columns = vec!["Session", "Takes", "Straws left"];
    columns.extend(unit.map(|_| "Level that evening"));
    let caption = "What each session takes and leaves";
    let mut table = Table::new(TableKind::Stack, caption, &columns);
    let rows = tank.sessions.iter().map(|s| {
        let clock = up_to_minute(s.begins).format("%H:%M");
        let begins = format!("{} {clock}", short_date(s.begins.date_naive()));
        let runs = runs(&s.taken, book).into_iter();
        let takes = runs.map(|(bull, canister, canes)| {
            words![Span::strong(bull), canister, ": ", canes.join(", ")]
        });
        let mut cells = vec![
            Cell::head(Hold::Names, begins),
            Cell::of(Hold::Names, Line::joined(takes, Span::Break)),
            Cell::text(s.left_straws),
        ];
        cells.extend(unit.map(|unit| {
            let level = s.level.map(|level| format!("{level:.1} {unit}"));
            Cell::text(level.unwrap_or_else(|| "not known".to_owned()))
        }));
        Row::of(cells)
    });
    table.parts = vec![rows.collect()];
    Block::Table(table)
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
fn map(tank: &TankView) -> Vec<Block> {
    let ring: Vec<&Canister> = tank
        .canisters
        .iter()
        .filter(|c| c.number.is_some())
        .collect();
    if ring.is_empty() || ring.len() > MOST_DRAWN {
        return Vec::new();
    }
    let radius = if ring.len() > 10 { 13.0 } else { 18.0 };
    let mut marks = vec![
        Mark::new(Look::Plain, Shape::Ring([100.0, 100.0, 97.0])),
        Mark::new(Look::Dashed, Shape::Ring([100.0, 100.0, 38.0])),
        Mark::words(Look::Plain, [100.0, 106.0], "neck"),
    ];
    for (n, c) in ring.iter().enumerate() {
        let turn = std::f64::consts::TAU * n as f64 / ring.len() as f64;
        let x = (100.0 + 68.3 * turn.sin()).round();
        let y = (100.0 - 68.3 * turn.cos()).round();
        let number = c.number.unwrap_or(0).to_string();
        marks.extend([
            Mark::new(Look::Plain, Shape::Ring([x, y, radius])),
            Mark::words(Look::Number, [x, y - 1.0], number),
            Mark::words(Look::Plain, [x, y + 11.0], c.straws.to_string()),
        ]);
    }
    vec![
        Block::of_role(
            Role::SmallSoft,
            "From above, with the straws in each canister before the season:",
        ),
        Block::Drawing(Drawing {
            map: true,
            label: "Canisters from above".to_owned(),
            wide: 200.0,
            high: 200.0,
            marks,
        }),
    ]
}

fn canes(c: &Canister) -> Line {
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
    let runs = runs.into_iter().map(|(h, all)| {
        let what = format!(", {} mL, {}: ", h.straw_ml, h.sort);
        words![Span::strong(&h.bull_name), what, all.join(", ")]
    });
    Line::joined(runs, Span::Break)
}

fn nitrogen(n: &NitrogenAnswer) -> Vec<Block> {
    let low = "The nitrogen runs low before the last session.";
    let low = n.runs_low.then(|| low.to_owned());
    let by = n.refill_by.map(|by| format!("Refill by {}.", date(by)));
    let strong = low.into_iter().chain(by).map(Span::strong);
    let strong = strong.map(Block::paragraph);
    let words = n.words.iter();
    let words = words.filter(|w| !w.is_empty() && !w.starts_with("REFILL"));
    let small = words.map(|words| Block::of_role(Role::Small, prose(words)));
    strong.chain(small).collect()
}
