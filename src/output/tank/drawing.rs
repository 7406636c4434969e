//! A tank from above: canisters in a ring round the neck, number 1 at the far side and the others
//! clockwise, each with its straws before the season. Lines and numbers only, so that it prints well
//! and needs no color.

use crate::analysis::tank::{Canister, TankView};
use crate::output::document::{Drawing, Look, Mark, Shape};

/// More canisters than this are listed without a map.
const MOST_DRAWN: usize = 16;

/// The drawing; none for straws of no canister.
pub(in crate::output) fn map(tank: &TankView) -> Option<Drawing> {
    let all = tank.canisters.iter();
    let ring: Vec<&Canister> = all.filter(|c| c.number.is_some()).collect();
    if ring.is_empty() || ring.len() > MOST_DRAWN {
        return None;
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
    Some(Drawing {
        map: true,
        label: "Canisters from above".to_owned(),
        wide: 200.0,
        high: 200.0,
        marks,
    })
}
