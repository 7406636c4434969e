//! The tanks: a map of each from above, what is in which canister, and the day to refill.

use super::book::named;
use super::words::prose;
use crate::analysis::tank::{Canister, Holding, NitrogenAnswer, TankReport, TankView};
use crate::base::time::human_date;
use crate::base::units::Clock;
use crate::output::document::{
    Block, Cell, Heading, Hold, Line, Role, Row, Span, TableKind, words,
};
use crate::output::tank::{self, place, runs};
use crate::output::times::up_to_minute;

/// The section, if any tank is named.
pub(super) fn tanks(answer: &TankReport) -> Option<Block> {
    let named = answer.tanks.iter().filter(|t| !t.id.is_empty());
    let blocks: Vec<Block> = named.flat_map(|t| one(t, answer.clock)).collect();
    (!blocks.is_empty()).then(|| Block::part("tanks", "Tanks", blocks))
}

fn one(tank: &TankView, clock: Clock) -> Vec<Block> {
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
    if let Some(map) = tank::map(tank) {
        let words = "From above, with the straws in each canister before the season:";
        blocks.push(Block::of_role(Role::SmallSoft, words));
        blocks.push(Block::Drawing(map));
    }
    blocks.extend(tank.nitrogen.iter().flat_map(nitrogen));
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
    let title = "What is in the canisters";
    let columns = ["Canister", "Canes", "Straws", "Left"];
    blocks.push(Block::table_of(TableKind::Stack, title, &columns, rows));
    blocks.extend((!tank.sessions.is_empty()).then(|| sessions(tank, clock)));
    blocks
}

/// What each session takes and leaves.
fn sessions(tank: &TankView, clock: Clock) -> Block {
    let unit = tank.nitrogen.as_ref().map(|n| n.unit.as_str());
    let mut columns = vec!["Session", "Takes", "Straws left"];
    columns.extend(unit.map(|_| "Level that evening"));
    let caption = "What each session takes and leaves";
    let rows = tank.sessions.iter().map(|s| {
        let begins = clock.day(up_to_minute(s.begins).naive_local());
        let takes = runs(tank, s).into_iter().map(|(bull, canister, _, canes)| {
            let canister = canister.map(|n| format!(", canister {n}"));
            words![Span::strong(bull), canister, ": ", canes]
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
    Block::table_of(TableKind::Stack, caption, &columns, rows)
}

fn canes(c: &Canister) -> Line {
    let words = |h: &Holding| {
        let cane = place(h.cane.as_deref(), h.goblet.as_deref());
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
    let by = n
        .refill_by
        .map(|by| format!("Refill by {}.", human_date(by)));
    let strong = low.into_iter().chain(by).map(Span::strong);
    let strong = strong.map(Block::paragraph);
    let (_, words) = n.refill_and_rest();
    let small = words.map(|words| Block::of_role(Role::Small, prose(words)));
    strong.chain(small).collect()
}
