//! Matings for the terminal, as JSON, and as tables for spreadsheets.

use std::collections::BTreeMap;

use super::answer::{Answer, Tables};
use super::document::{Block, Cell, Document, Hold, Row};
use super::table::{Table, fields, kinds, nested};
use crate::analysis::matings::{BullTotals, Count, GroupMatings, Matings, Straw};
use crate::base::error::visible;

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

impl Answer for Matings {
    /// The verdict first, then the bulls, then each group's animals.
    fn document(&self) -> Document {
        let season = visible(&self.season).clone();
        let mut blocks = vec![
            Block::heading(1, &season),
            Block::paragraph("Matings: who gets which bull."),
            Block::part(
                "verdict",
                "Verdict",
                self.verdict.words.iter().map(Block::paragraph).collect(),
            ),
        ];
        blocks.extend(super::remarks(&self.findings));
        blocks.push(Block::part("bulls", "Bulls, in straws", vec![bulls(self)]));
        for (n, g) in self.groups.iter().enumerate() {
            blocks.push(of_group(&format!("group-{}", n + 1), g));
        }
        let notes = vec![Block::bullets(NOTES)];
        blocks.push(Block::part("reading", "How to read it", notes));
        Document::new(format!("{season} – matings"), blocks)
    }

    /// Who gets which bull; of groups without a herd file, how many get which.
    fn tables(&self) -> Tables<Self> {
        kinds![animals_table as "animals", bulls_table as "bulls"]
    }
}

fn animals_table(made: &Matings) -> String {
    let mut t = Table::of(nested(&made.groups, |g| &g.animals));
    t.column("group", |(g, _)| &g.group);
    t.column("animal", |(_, a)| &a.animal);
    straw_columns(&mut t, "", |(_, a)| a.straw.as_ref());
    t.column("score", |(_, a)| a.score.map(|s| s.to_string()));
    t.column("first_choice", |(_, a)| &a.first_choice);
    straw_columns(&mut t, "backup_", |(_, a)| a.backup.as_ref());
    t.column("why", |(_, a)| &a.why);
    t.csv()
}

/// A straw and its place.
fn straw_columns<'a, R: Copy>(t: &mut Table<R>, before: &str, of: impl Fn(R) -> Option<&'a Straw>) {
    let named = |name| format!("{before}{name}");
    t.column(&named("bull"), |r| of(r).map(|s| &s.bull));
    t.column(&named("sexed"), |r| of(r).map(|s| yes_or_no(s.sexed)));
    t.column(&named("tank"), |r| of(r)?.tank.as_ref());
    t.column(&named("canister"), |r| of(r)?.canister);
    t.column(&named("cane"), |r| of(r)?.cane.as_ref());
    t.column(&named("goblet"), |r| of(r)?.goblet.as_ref());
}

fn bulls_table(made: &Matings) -> String {
    let groups = made.groups.iter().filter(|g| g.herd_file.is_none());
    let mut t = Table::of(nested(groups, |g| &g.by_bull));
    t.column("group", |(g, _)| &g.group);
    t.column("bull", |(_, c)| &c.bull);
    t.column("sexed", |(_, c)| yes_or_no(c.sexed));
    fields!(t, |(_, c)| c => head, backup_head);
    t.csv()
}

const fn yes_or_no(yes: bool) -> &'static str {
    if yes { "yes" } else { "no" }
}

fn bulls(m: &Matings) -> Block {
    let row = |b: &BullTotals| {
        let short = b.wanted_first.saturating_sub(b.straws);
        let [straws, first] = [b.straws, b.wanted_first].map(Some);
        let rest = [b.given, b.backup, b.left].map(Some);
        let figures = [straws, first, (short > 0).then_some(short)];
        Row::named(bull(&b.bull, b.sexed), figures.into_iter().chain(rest))
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
    let (name, head, first) = (visible(&g.name), g.head, g.first_choice);
    let title = format!(
        "{name} ({}): {head} head, {first} with the first choice",
        g.group
    );
    let row = |c: &Count| Row::named(bull(&c.bull, c.sexed), [c.head, c.backup_head]);
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
