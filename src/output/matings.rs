//! Matings for the terminal, as JSON, and as a table for spreadsheets.

use std::collections::BTreeMap;

use super::document::{Block, Cell, Document, Hold, Row, terminal};
use crate::analysis::mate::{BullTotals, Count, GroupMatings, Mating, Matings, Straw};
use crate::base::error::visible;

/// The verdict first, then the bulls, then each group's animals. With `group`, only that one.
#[must_use]
pub fn document(m: &Matings, group: Option<&str>) -> Document {
    let season = visible(&m.season).clone();
    let mut blocks = vec![
        Block::heading(1, &season),
        Block::paragraph("Matings: who gets which bull."),
        Block::part(
            "verdict",
            "Verdict",
            m.verdict.words.iter().map(Block::paragraph).collect(),
        ),
    ];
    blocks.extend(super::remarks(&m.findings));
    blocks.push(Block::part("bulls", "Bulls, in straws", vec![bulls(m)]));
    for (n, g) in m.groups.iter().enumerate() {
        if group.is_none_or(|id| id == g.group) {
            blocks.push(of_group(&format!("group-{}", n + 1), g));
        }
    }
    let notes = vec![Block::bullets(NOTES)];
    blocks.push(Block::part("reading", "How to read it", notes));
    Document {
        title: format!("{season} – matings"),
        blocks,
    }
}

/// The document for the terminal.
#[must_use]
pub fn text(m: &Matings, group: Option<&str>) -> String {
    terminal::text(&document(m, group))
}

const NOTES: [&str; 7] = [
    "Straw: the one that her session takes (`thawline tank`, `thawline thaw`). A backup comes from the \
     straws that are left.",
    "A straw's place is tank/canister/cane, and the goblet if it is given. ?/?/? means that the plan \
     takes that straw for an animal that has no mating.",
    "First choice: the bull of the group with the highest score, whether she may have him or not. \
     Animals that may not have him do not count as \"wanted first\".",
    "Without scores the order of the group's bulls counts. Of n bulls the first is worth 100, and each \
     next one 100/n less.",
    "As many animals as can get a bull come first, calving ease for heifers second.",
    "Then the straws are shared for the highest sum of scores. Prices for the straws prove that no \
     other sharing has a higher sum.",
    "Animals that should wait get a bull too. `thawline herd` lists them.",
];

/// `thawline.matings/1`. With `group`, only that one among the groups.
#[must_use]
pub fn json(m: &Matings, group: Option<&str>) -> String {
    let mut m = m.clone();
    m.groups.retain(|g| group.is_none_or(|id| id == g.group));
    super::json::text(&m)
}

const COLUMNS_OF: usize = 18;

/// The columns of the table.
const COLUMNS_OF_TABLE: [&str; COLUMNS_OF] = [
    "group",
    "animal",
    "head",
    "bull",
    "sexed",
    "tank",
    "canister",
    "cane",
    "goblet",
    "score",
    "first_choice",
    "backup_bull",
    "backup_sexed",
    "backup_tank",
    "backup_canister",
    "backup_cane",
    "backup_goblet",
    "why",
];

/// One row an animal, or a bull of a group without a herd. Cells that a spreadsheet would run as
/// formulas begin with an apostrophe.
#[must_use]
pub fn csv(m: &Matings, group: Option<&str>) -> String {
    let mut rows = vec![COLUMNS_OF_TABLE.map(str::to_owned)];
    for g in m
        .groups
        .iter()
        .filter(|g| group.is_none_or(|id| id == g.group))
    {
        rows.extend(g.animals.iter().map(|a| animal_row(g, a)));
        if g.herd_file.is_none() {
            rows.extend(g.by_bull.iter().map(|c| count_row(g, c)));
        }
    }
    super::table::table(&rows)
}

fn animal_row(g: &GroupMatings, a: &Mating) -> [String; COLUMNS_OF] {
    let [bull, sexed, tank, canister, cane, goblet] = cells(a.straw.as_ref());
    let [
        backup,
        backup_sexed,
        backup_tank,
        backup_canister,
        backup_cane,
        backup_goblet,
    ] = cells(a.backup.as_ref());
    [
        g.group.clone(),
        a.animal.clone(),
        "1".to_owned(),
        bull,
        sexed,
        tank,
        canister,
        cane,
        goblet,
        a.score.map_or(String::new(), |s| s.to_string()),
        a.first_choice.clone().unwrap_or_default(),
        backup,
        backup_sexed,
        backup_tank,
        backup_canister,
        backup_cane,
        backup_goblet,
        a.why.clone(),
    ]
}

fn count_row(g: &GroupMatings, c: &Count) -> [String; COLUMNS_OF] {
    let mut row: [String; COLUMNS_OF] = Default::default();
    row[0].clone_from(&g.group);
    row[2] = c.head.to_string();
    row[3].clone_from(&c.bull);
    yes_or_no(c.sexed).clone_into(&mut row[4]);
    row[COLUMNS_OF - 1] = format!("no herd file; {} more as backup", c.backup_head);
    row
}

const fn yes_or_no(yes: bool) -> &'static str {
    if yes { "yes" } else { "no" }
}

fn cells(straw: Option<&Straw>) -> [String; 6] {
    let Some(s) = straw else {
        return Default::default();
    };
    [
        s.bull.clone(),
        yes_or_no(s.sexed).to_owned(),
        s.tank.clone().unwrap_or_default(),
        s.canister.map_or(String::new(), |c| c.to_string()),
        s.cane.clone().unwrap_or_default(),
        s.goblet.clone().unwrap_or_default(),
    ]
}

fn bulls(m: &Matings) -> Block {
    let row = |b: &BullTotals| {
        let short = b.wanted_first.saturating_sub(b.straws);
        Row::of(vec![
            Cell::head(Hold::Names, bull(&b.bull, b.sexed)),
            Cell::text(b.straws),
            Cell::text(b.wanted_first),
            Cell::text((short > 0).then_some(short)),
            Cell::text(b.given),
            Cell::text(b.backup),
            Cell::text(b.left),
        ])
    };
    let columns = [
        "bull",
        "on hand",
        "wanted first",
        "short by",
        "given",
        "backup",
        "left",
    ];
    Block::table("Bulls, in straws", &columns, m.bulls.iter().map(row))
}

fn bull(name: &str, sexed: bool) -> String {
    format!("{name}{}", if sexed { ", sexed" } else { "" })
}

fn of_group(id: &str, g: &GroupMatings) -> Block {
    let title = format!(
        "{} ({}): {} head, {} with the first choice",
        visible(&g.name),
        g.group,
        g.head,
        g.first_choice
    );
    let row = |c: &Count| {
        Row::of(vec![
            Cell::head(Hold::Names, bull(&c.bull, c.sexed)),
            Cell::text(c.head),
            Cell::text(c.backup_head),
        ])
    };
    let rows = g.by_bull.iter().map(row);
    let mut blocks = vec![Block::table(
        "Head by bull",
        &["bull", "head", "more as backup"],
        rows,
    )];
    if !g.animals.is_empty() {
        blocks.extend(animals(g));
    }
    Block::part(id, title, blocks)
}

/// Each animal with the number of its reason, then the reasons: many animals have the same.
fn animals(g: &GroupMatings) -> Vec<Block> {
    let (mut reasons, mut numbers) = (Vec::new(), BTreeMap::new());
    let rows = g.animals.iter().map(|a| {
        let number = (!a.why.is_empty()).then(|| {
            *numbers.entry(a.why.as_str()).or_insert_with(|| {
                reasons.push((reasons.len() + 1, &a.why));
                reasons.len()
            })
        });
        let straw = a.straw.as_ref();
        let backup = a.backup.as_ref();
        Row::of(vec![
            Cell::head(Hold::Names, &a.animal),
            Cell::of(Hold::Names, straw.map_or("none", |s| s.bull.as_str())),
            Cell::of(Hold::Names, straw.map(place)),
            Cell::of(Hold::Names, backup.map_or("-", |s| s.bull.as_str())),
            Cell::text(number),
        ])
    });
    let columns = ["animal", "bull", "straw", "backup", "reason"];
    let mut blocks = vec![
        Block::heading(3, "Each animal"),
        Block::table("Each animal", &columns, rows),
    ];
    if !reasons.is_empty() {
        blocks.extend([Block::heading(3, "Reasons"), Block::facts(reasons)]);
    }
    blocks
}

/// Tank, canister and cane, as far as they are known.
fn place(s: &Straw) -> String {
    let tank = s.tank.as_deref().unwrap_or("?");
    let canister = s.canister.map_or("?".to_owned(), |c| c.to_string());
    let cane = s.cane.as_deref().unwrap_or("?");
    let sexed = if s.sexed { " sexed" } else { "" };
    let goblet = s.goblet.as_ref().map_or(String::new(), |g| format!("/{g}"));
    format!("{tank}/{canister}/{cane}{goblet}{sexed}")
}
