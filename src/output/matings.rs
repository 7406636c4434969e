//! Matings for the terminal, as JSON, and as a table for spreadsheets.

use std::fmt::Write as _;

use super::{COLUMNS, remark, wrapped};
use crate::analysis::mate::{Count, GroupMatings, Mating, Matings, Straw};
use crate::base::error::visible;

/// The verdict first, then each group's animals, then the bulls. With `group`, only that one.
#[must_use]
pub fn text(m: &Matings, group: Option<&str>) -> String {
    let mut text = format!("{}\nMatings: who gets which bull.\n\n", visible(&m.season));
    for sentence in &m.verdict.words {
        let _ = writeln!(text, "{}", wrapped(sentence, "  ", "    "));
    }
    if !m.findings.is_empty() {
        text.push_str("\nFindings\n");
        for f in &m.findings {
            let _ = writeln!(text, "{}", remark(f));
        }
    }
    text.push_str("\nBulls, in straws\n");
    bulls(m, &mut text);
    for g in &m.groups {
        if group.is_none_or(|id| id == g.group) {
            of_group(g, &mut text);
        }
    }
    text.push_str("\nHow to read it\n");
    for note in NOTES {
        let _ = writeln!(text, "{}", wrapped(note, "  - ", "    "));
    }
    text
}

const NOTES: [&str; 5] = [
    "A quotation mark at the end of a line: for the same reason as the animal before.",
    "The straw is the one that her session takes (`thawline tank`, `thawline thaw`); a backup is from what \
     is left. The place is tank/canister/cane, and goblet if it is given; ?/?/? where the plan has taken \
     it for an animal that has no mating.",
    "First choice: the bull of the group with the highest score, whether she may have him or not; those \
     who may not are not among \"wanted first\". \
     Without a score the order of the group's bulls counts: of n bulls the first is worth 100, each next \
     one 100/n less.",
    "The straws are shared for the best sum of scores that there is, proven by prices; as many as can get \
     a bull come first, and calving ease for heifers second.",
    "Animals that should wait get a bull too: `thawline herd` lists them.",
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

fn bulls(m: &Matings, text: &mut String) {
    let wide = width(m.bulls.iter().map(|b| b.bull.as_str()), 18);
    let _ = writeln!(
        text,
        "  {:<wide$}  on hand  wanted first  given  backup  left",
        ""
    );
    for b in &m.bulls {
        let short = match b.wanted_first.saturating_sub(b.straws) {
            0 => String::new(),
            n => format!("  short by {n}"),
        };
        // A long name has a line of its own.
        let name = if chars(&b.bull) > wide {
            let _ = writeln!(text, "  {}", b.bull);
            ""
        } else {
            &b.bull
        };
        let _ = writeln!(
            text,
            "  {}  {:>7}  {:>12}  {:>5}  {:>6}  {:>4}{short}{}",
            padded(name, wide),
            b.straws,
            b.wanted_first,
            b.given,
            b.backup,
            b.left,
            if b.sexed { "  sexed" } else { "" }
        );
    }
}

fn of_group(g: &GroupMatings, text: &mut String) {
    let _ = writeln!(text);
    let said = format!(
        "{} ({}): {} head, {} with the first choice",
        visible(&g.name),
        g.group,
        g.head,
        g.first_choice
    );
    let _ = writeln!(text, "{}", wrapped(&said, "", "  "));
    for c in &g.by_bull {
        let sort = if c.sexed { ", sexed" } else { "" };
        let _ = writeln!(
            text,
            "{}",
            wrapped(
                &format!("{}{sort}; {} more as backup", c.bull, c.backup_head),
                &format!("  {:>5}  ", c.head),
                "         "
            )
        );
    }
    if g.animals.is_empty() {
        return;
    }
    let animal = width(g.animals.iter().map(|a| a.animal.as_str()), 16);
    let straws = g
        .animals
        .iter()
        .flat_map(|a| a.straw.iter().chain(&a.backup));
    let bull = width(straws.map(|s| s.bull.as_str()), 18);
    let places: Vec<String> = g
        .animals
        .iter()
        .filter_map(|a| a.straw.as_ref())
        .map(place)
        .collect();
    let spot = width(places.iter().map(String::as_str), 20);
    let _ = write!(
        text,
        "\n  {}  {}  {}  backup\n",
        padded("animal", animal),
        padded("bull", bull),
        padded("straw", spot)
    );
    let mut reason = "";
    for a in &g.animals {
        row(a, [animal, bull, spot], text);
        // The same words for many in turn are said once.
        if !a.why.is_empty() && a.why != reason {
            let _ = writeln!(text, "{}", wrapped(&a.why, "      ", "      "));
        } else if !a.why.is_empty() {
            text.truncate(text.trim_end().len());
            text.push_str(" \"\n");
        }
        reason = &a.why;
    }
}

fn row(a: &Mating, wide: [usize; 3], text: &mut String) {
    let bull = a.straw.as_ref().map_or("none", |s| s.bull.as_str());
    let spot = a.straw.as_ref().map_or(String::new(), place);
    let backup = a.backup.as_ref().map_or("-", |s| s.bull.as_str());
    let mut said = format!(
        "  {}  {}  {}  {backup}",
        padded(&a.animal, wide[0]),
        padded(bull, wide[1]),
        padded(&spot, wide[2])
    );
    if chars(&said) > COLUMNS - 2 {
        said = wrapped(
            &format!("{}  {bull}  {spot}  backup {backup}", a.animal),
            "  ",
            "      ",
        );
    }
    let _ = writeln!(text, "{said}");
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

fn chars(text: &str) -> usize {
    textwrap::core::display_width(text)
}

fn width<'a>(texts: impl Iterator<Item = &'a str>, most: usize) -> usize {
    texts.map(chars).max().unwrap_or(0).clamp(6, most)
}

fn padded(text: &str, wide: usize) -> String {
    format!("{text}{}", " ".repeat(wide.saturating_sub(chars(text))))
}
