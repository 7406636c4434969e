//! A tank from above, in characters: canisters in a ring round the neck, number 1 at the far side
//! and the others clockwise, each with its straws before and after the season.

use super::super::COLUMNS;
use crate::analysis::tank::{Canister, TankView};

/// More canisters than this do not fit round a neck of letters.
const MOST_IN_A_RING: usize = 12;

/// Columns and rows from the middle to the canisters. Neither lets a canister of any number fall
/// half-way between two rows, where machines round differently.
const ACROSS: f64 = 25.3;
const DOWN: f64 = 4.8;
const ROWS: usize = 11;

const NECK: &str = "( neck )";

/// The lines of the drawing; none for straws of no canister.
pub(super) fn drawing(tank: &TankView) -> Vec<String> {
    let ring: Vec<&Canister> = tank
        .canisters
        .iter()
        .filter(|c| c.number.is_some())
        .collect();
    if ring.is_empty() {
        return Vec::new();
    }
    if ring.len() > MOST_IN_A_RING {
        return rows(&ring);
    }
    let mut lines = vec![String::new(); ROWS];
    let middle = COLUMNS as f64 / 2.0;
    let mut labels: Vec<(usize, usize, String)> = vec![place(middle, 5.0, NECK.to_owned())];
    for (n, canister) in ring.iter().enumerate() {
        let turn = std::f64::consts::TAU * n as f64 / ring.len() as f64;
        labels.push(place(
            middle + ACROSS * turn.sin(),
            5.0 - DOWN * turn.cos(),
            label(canister),
        ));
    }
    labels.sort();
    for (row, column, label) in labels {
        let line = &mut lines[row];
        let gap = column.saturating_sub(line.chars().count());
        if gap == 0 && !line.is_empty() {
            // Two would touch: a list is better than a muddle.
            return rows(&ring);
        }
        line.push_str(&" ".repeat(gap));
        line.push_str(&label);
    }
    if lines.iter().any(|l| l.chars().count() > COLUMNS) {
        return rows(&ring);
    }
    lines
}

fn place(column: f64, row: f64, label: String) -> (usize, usize, String) {
    let left = column - label.chars().count() as f64 / 2.0;
    (row.round().max(0.0) as usize, left.max(0.0) as usize, label)
}

fn label(c: &Canister) -> String {
    let number = c.number.unwrap_or(0);
    if c.straws == 0 {
        format!("[{number}] empty")
    } else {
        format!("[{number}] {} > {}", c.straws, c.left_straws)
    }
}

/// Four to a line.
fn rows(ring: &[&Canister]) -> Vec<String> {
    ring.chunks(4)
        .map(|four| {
            let cells: Vec<String> = four.iter().map(|c| format!("{:<18}", label(c))).collect();
            format!("  {}", cells.concat().trim_end())
        })
        .collect()
}
