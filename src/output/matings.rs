//! Matings for the terminal, as JSON, and as tables for spreadsheets.

use std::collections::BTreeMap;

use serde::Serialize;

use super::answer::{Answer, Kind};
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

/// Who gets which bull; of groups without a herd file, how many get which.
const TABLES: &[Kind] = &[
    Kind {
        name: "animals",
        columns: &[
            "group animal bull sexed tank canister cane goblet score first_choice backup_bull",
            "backup_sexed backup_tank backup_canister backup_cane backup_goblet why",
        ],
    },
    Kind {
        name: "bulls",
        columns: &["group bull sexed head backup_head"],
    },
];

/// Matings as they are printed: of all groups, or of one.
pub struct Printed<'a> {
    /// The matings.
    pub made: &'a Matings,
    /// The one group.
    pub group: Option<&'a str>,
}

impl Answer for Printed<'_> {
    fn document(&self) -> Document {
        document(self.made, self.group)
    }

    fn json(&self) -> String {
        json(self.made, self.group)
    }

    fn tables(&self) -> &'static [Kind] {
        TABLES
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&rows(self.made, self.group))
    }
}

#[derive(Default, Serialize)]
struct Listed<'a> {
    row: &'static str,
    group: &'a str,
    animal: &'a str,
    head: Option<u32>,
    bull: &'a str,
    sexed: &'static str,
    tank: &'a str,
    canister: Option<u32>,
    cane: &'a str,
    goblet: &'a str,
    score: String,
    first_choice: &'a str,
    backup_head: Option<u32>,
    backup_bull: &'a str,
    backup_sexed: &'static str,
    backup_tank: &'a str,
    backup_canister: Option<u32>,
    backup_cane: &'a str,
    backup_goblet: &'a str,
    why: &'a str,
}

fn rows<'a>(m: &'a Matings, group: Option<&str>) -> Vec<Listed<'a>> {
    let mut rows = Vec::new();
    for g in &m.groups {
        if group.is_some_and(|id| id != g.group) {
            continue;
        }
        rows.extend(g.animals.iter().map(|a| animal_row(g, a)));
        if g.herd_file.is_none() {
            rows.extend(g.by_bull.iter().map(|c| Listed {
                row: "bulls",
                group: &g.group,
                head: Some(c.head),
                bull: &c.bull,
                sexed: yes_or_no(c.sexed),
                backup_head: Some(c.backup_head),
                ..Listed::default()
            }));
        }
    }
    rows
}

fn animal_row<'a>(g: &'a GroupMatings, a: &'a Mating) -> Listed<'a> {
    let (straw, backup) = (a.straw.as_ref(), a.backup.as_ref());
    let text = |s: Option<&'a String>| s.map_or("", String::as_str);
    Listed {
        row: "animals",
        group: &g.group,
        animal: &a.animal,
        bull: text(straw.map(|s| &s.bull)),
        sexed: straw.map_or("", |s| yes_or_no(s.sexed)),
        tank: text(straw.and_then(|s| s.tank.as_ref())),
        canister: straw.and_then(|s| s.canister),
        cane: text(straw.and_then(|s| s.cane.as_ref())),
        goblet: text(straw.and_then(|s| s.goblet.as_ref())),
        score: a.score.map_or(String::new(), |s| s.to_string()),
        first_choice: text(a.first_choice.as_ref()),
        backup_bull: text(backup.map(|s| &s.bull)),
        backup_sexed: backup.map_or("", |s| yes_or_no(s.sexed)),
        backup_tank: text(backup.and_then(|s| s.tank.as_ref())),
        backup_canister: backup.and_then(|s| s.canister),
        backup_cane: text(backup.and_then(|s| s.cane.as_ref())),
        backup_goblet: text(backup.and_then(|s| s.goblet.as_ref())),
        why: &a.why,
        ..Listed::default()
    }
}

const fn yes_or_no(yes: bool) -> &'static str {
    if yes { "yes" } else { "no" }
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
