//! Whole sets of sheets: nothing leaves the paper, nothing is lost, the same bytes each time.

use proptest::prelude::*;

use super::blocks::{Part, parts, plain};
use super::draw::{Draw, Measures};
use super::letters::Letters;
use super::print::lay;
use super::*;
use crate::analysis::thaw;
use crate::base::units::Clock;
use crate::output::demo;
use crate::output::document::{
    Block, Cell, Document, Heading, Hold, Item, Kind, Line, ListKind, Role, Row, Span, Table,
    TableKind, Verdict, words as line,
};
use crate::service::pipeline;

const MEASURES: Measures = Measures {
    wide: 532.0,
    high: 680.0,
    size: 10.5,
    small: 9.0,
};

/// Bars of frames and cards stand so little over the first and under the last line.
const BAR: f32 = 9.0;

fn text(words: &str) -> Line {
    let first: String = words.chars().take(9).collect();
    let rest = words[first.len()..].to_owned();
    line![Span::strong(first), rest]
}

fn laid(letters: &Letters, blocks: &[Block]) -> sheets::Sheets {
    lay(letters, &parts(blocks), MEASURES).1
}

/// The left, upper, right and lower edge of what is drawn, on its sheet.
fn edges(letters: &Letters, placed: &sheets::Placed) -> [f32; 4] {
    let top = placed.down;
    match &placed.draw {
        Draw::Words {
            x,
            y,
            face,
            size,
            text,
            ..
        } => {
            let wide = letters.width(*face, text.trim_end(), *size);
            // Highest and lowest ink of the type: 0.93 above, 0.24 below where letters stand.
            [*x, top + y - 0.93 * size, x + wide, top + y + 0.24 * size]
        }
        Draw::SheetOf { x, y, size, .. } => [x - 3.0 * size, top + y - 0.93 * size, *x, top + y],
        Draw::Tick { x, y, side } => [*x, top + y, x + side, top + y + side],
        Draw::Chain { points, .. } => points.iter().fold(
            [f32::MAX, f32::MAX, f32::MIN, f32::MIN],
            |[a, b, c, d], (x, y)| [a.min(*x), b.min(top + y), c.max(*x), d.max(top + y)],
        ),
        Draw::Ring { at, radius: r, .. } => {
            let y = top + at.1;
            [at.0 - r, y - r, at.0 + r, y + r]
        }
        Draw::Rule { from, to, .. } => [from.0, top + from.1, to.0, top + to.1],
    }
}

/// All words drawn once, in order.
fn said(all: &sheets::Sheets) -> String {
    let draws = all.laid.iter().flat_map(|s| &s.draws).filter(|d| !d.again);
    words_of(draws).join("\n")
}

fn words_of<'a>(draws: impl Iterator<Item = &'a sheets::Placed>) -> Vec<&'a str> {
    let words = draws.filter_map(|d| match &d.draw {
        Draw::Words { text, part, .. } => part.map(|_| text.as_str()),
        _ => None,
    });
    words.collect()
}

fn bare(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// What parts say, each once.
fn wanted(all: &[Part<'_>]) -> String {
    let mut out = String::new();
    for part in all {
        match part {
            Part::Heading { text, .. }
            | Part::Paragraph { text, .. }
            | Part::Entry { text, .. } => {
                out += &plain(text);
            }
            Part::List(_, items) => {
                let each = items.iter().map(|i| wanted(&parts(&i.blocks)));
                out.extend(each);
            }
            Part::Framed(inner) | Part::Card(inner) => out += &wanted(&parts(inner)),
            Part::Whole(inner) => out += &wanted(inner),
            Part::Table(_) | Part::Drawing(_) | Part::Sheet | Part::Day(_) => {}
        }
    }
    out
}

fn words() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-zé0-9]{1,9}( [a-zé0-9]{1,9}){0,30}",
        "[a-zA-Z]{90,140}",
        "[a-z ]{200,1500}",
    ]
}

fn a_table() -> impl Strategy<Value = Block> {
    let cells = |columns| prop::collection::vec(words(), columns);
    let table = (1_usize..8).prop_flat_map(move |columns| {
        (cells(columns), prop::collection::vec(cells(columns), 0..25))
    });
    table.prop_map(|(head, rows)| {
        let row =
            |cells: &Vec<String>| Row::of(cells.iter().map(|c| Cell::text(text(c))).collect());
        Block::Table(Table {
            caption: "A table".to_owned(),
            caption_shown: true,
            columns: head.iter().map(|c| Cell::text(text(c))).collect(),
            parts: vec![rows.iter().map(row).collect()],
            ..Table::default()
        })
    })
}

fn a_block() -> impl Strategy<Value = Block> {
    let leaf = prop_oneof![
        (1_u8..5, words()).prop_map(|(level, t)| Block::heading(level, text(&t))),
        (any::<bool>(), words()).prop_map(|(small, t)| {
            Block::of_role(if small { Role::Small } else { Role::Plain }, text(&t))
        }),
        words().prop_map(|t| entry("x", text(&t))),
        a_table(),
    ];
    leaf.prop_recursive(3, 30, 6, |inner| {
        let some = || prop::collection::vec(inner.clone(), 1..6);
        prop_oneof![
            some().prop_map(|all| Block::section(Kind::Card, all)),
            some().prop_map(|all| Block::section(Kind::Day, all)),
            some().prop_map(|all| Block::section(Kind::Sheet, all)),
            some().prop_map(|all| Block::section(Kind::Verdict(Verdict::Well), all)),
            (any::<bool>(), prop::collection::vec(some(), 1..4)).prop_map(|(plain, bodies)| {
                let items = bodies.into_iter().zip([true, false].into_iter().cycle());
                let items = items.map(|(blocks, tick)| Item {
                    tick,
                    blocks,
                    ..Item::default()
                });
                let kind = if plain {
                    ListKind::Plain
                } else {
                    ListKind::Bullets
                };
                Block::List(kind, items.collect())
            }),
        ]
    })
}

/// A line of the contents.
fn entry(anchor: &str, words: Line) -> Block {
    let item = Item::text(Span::link(anchor, words));
    Block::List(ListKind::Days, vec![item])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Whatever is to be said: all of it stands within the margins, and words stand in their order.
    #[test]
    fn nothing_leaves_the_sheet(blocks in prop::collection::vec(a_block(), 0..12)) {
        let letters = Letters::new().unwrap();
        let (structure, all) = lay(&letters, &parts(&blocks), MEASURES);
        for placed in all.laid.iter().flat_map(|s| &s.draws) {
            let [left, top, right, foot] = edges(&letters, placed);
            prop_assert!(left >= 0.0 && right <= MEASURES.wide + 0.1, "{placed:?}");
            prop_assert!(top >= -BAR && foot <= MEASURES.high + BAR, "{placed:?}");
        }
        let no_tables: Vec<Block> = blocks.iter().filter(|b| !has_table(b)).cloned().collect();
        let plain_ones = laid(&letters, &no_tables);
        prop_assert_eq!(bare(&said(&plain_ones)), bare(&wanted(&parts(&no_tables))));
        // Each part of the structure stands behind its parent.
        for (n, (_, parent)) in structure.0.iter().enumerate().skip(1) {
            prop_assert!(*parent < n);
        }
    }
}

fn has_table(block: &Block) -> bool {
    match block {
        Block::Table(_) => true,
        Block::Section(s) => s.blocks.iter().any(has_table),
        Block::List(_, items) => items.iter().any(|i| i.blocks.iter().any(has_table)),
        _ => false,
    }
}

#[test]
fn each_cell_of_a_long_table_is_there_once_and_its_head_on_each_sheet() {
    let letters = Letters::new().unwrap();
    let rows =
        (0..120).map(|n| Row::named(text(&format!("row{n}.")), [text(&format!("cell{n}."))]));
    let all = laid(&letters, &[Block::table("", &["Name", "Value"], rows)]);
    assert_eq!(all.laid.len(), 4);
    let once = said(&all);
    for said in (0..120).flat_map(|n| [format!("row{n}."), format!("cell{n}.")]) {
        assert_eq!(once.matches(&said).count(), 1, "{said}");
    }
    for (n, sheet) in all.laid.iter().enumerate() {
        let again = sheet.draws.iter().filter(|d| d.again).count();
        assert_eq!(again > 0, n > 0);
    }
}

/// Rounds of a thaw table on the next sheet still say where their straws are.
#[test]
fn what_is_said_of_rows_comes_again_with_them() {
    let letters = Letters::new().unwrap();
    let cell = |words: &str| Cell::text(text(words));
    let rows = ["caneA.", "caneB."].into_iter().flat_map(|cane| {
        let rounds = (0..70).map(move |n| Row::of(vec![cell(&format!("{cane}{n}.")), cell("x")]));
        std::iter::once(Row::over_all(text(cane))).chain(rounds)
    });
    let all = laid(&letters, &[Block::table("", &["No.", "Time"], rows)]);
    assert!(all.laid.len() > 3);
    for (n, sheet) in all.laid.iter().enumerate() {
        let sheet = words_of(sheet.draws.iter()).concat().replace(' ', "");
        for cane in ["caneA.", "caneB."] {
            let rounds = sheet.matches(cane).count();
            let round = |r: &i32| sheet.contains(&format!("{cane}{r}."));
            let alone = (0..70).filter(round).count();
            assert!(alone == 0 || rounds > alone, "sheet {n}: {cane} {sheet}");
        }
    }
}

#[test]
fn contents_name_the_sheet_of_their_anchor() {
    let letters = Letters::new().unwrap();
    let there = Block::Heading(Heading {
        level: 3,
        line: text("There"),
        id: Some("there".to_owned()),
        ..Heading::default()
    });
    let blocks = [
        entry("there", text("Work")),
        Block::heading(2, text("Under this")),
        Block::section(Kind::Sheet, vec![there, Block::paragraph("It is.")]),
    ];
    let all = laid(&letters, &blocks);
    // The heading above goes along to the new sheet.
    assert_eq!(all.anchors["there"], 1);
    assert!(all.marks.len() == 2 && all.marks.iter().all(|m| m.sheet == 1));
}

/// Any names make a file that holds the rules of PDF/UA which the writer checks.
#[test]
fn hostile_names_make_a_file() {
    let names = [
        "\u{5d0}\u{5d1}\u{5d2} \u{202e}abc",
        "\u{1f402}\u{1f404}\u{fe0f}",
        "e\u{301}\u{302}\u{303}",
        "",
        "   ",
        "\u{0}\u{fffe}",
        &"W".repeat(300),
    ];
    for name in names {
        let answer = vec![Block::heading(2, name), Block::paragraph(name)];
        let work = Block::List(ListKind::Plain, vec![Item::to_tick(name)]);
        let row = |name: &str| Cell::head(Hold::Names, name);
        let table = Table {
            parts: vec![vec![
                Row::of(vec![row(name), Cell::text(name)]),
                Row::over_all(name),
            ]],
            caption_shown: true,
            ..Table::new(TableKind::Stack, name, &[name, "b"])
        };
        let document = Document {
            title: name.to_owned(),
            blocks: vec![
                Block::heading(1, name),
                Block::heading(2, line![name, " x"]),
                Block::section(Kind::Verdict(Verdict::Well), answer),
                Block::section(Kind::Card, vec![Block::heading(4, name), work]),
                Block::Table(table),
            ],
        };
        for paper in [Paper::Letter, Paper::A4] {
            let print = || print(document.clone(), name, 10.5, "0", paper);
            let made = print().unwrap_or_else(|e| panic!("{name:?}: {e}"));
            assert!(made.bytes.starts_with(b"%PDF-1.7"));
            assert_eq!(made, print().unwrap());
        }
    }
}

#[test]
fn letters_written_otherwise_are_told_on_the_first_sheet() {
    let print = |heading: &str| {
        let document = Document {
            title: "t".to_owned(),
            blocks: vec![Block::heading(1, heading)],
        };
        print(document, "t", 10.5, "0", Paper::Letter).unwrap()
    };
    let words = print("\u{1f402} \u{5317}").instead_words().unwrap();
    assert!(
        words.ends_with("otherwise: U+5317 as Bei, U+1F402 as ox."),
        "{words}"
    );
    assert_eq!(print("x").instead_words(), None);
}

/// On either clock the same stands on paper, and no time of day is parted from its am or pm.
#[test]
fn times_stand_whole_on_either_clock() {
    let letters = Letters::new().unwrap();
    let [on_12h, on_24h] = [Clock::H12, Clock::H24].map(|clock| {
        let (mut season, _) = demo::season();
        season.tell_in(season.units.on(clock));
        let plan = pipeline::plan(&season, &[]).unwrap();
        let sessions = plan.sessions.iter();
        let rounds = sessions.filter_map(|s| thaw::of_plan(&season, &plan, Some(&s.id)).session);
        let rounds: Vec<_> = rounds.collect();
        let document = page::on_paper(&plan, None, None, &rounds);
        let (_, sheets) = lay(&letters, &parts(&document.blocks), MEASURES);
        said(&sheets)
    });
    let times = |text: &str| text.matches(" am").count() + text.matches(" pm").count();
    assert!(times(&on_24h) == 0 && times(&on_12h) > 300);
    let same = Clock::H12.on_24h(&on_12h);
    let same = same.replace("12-hour", "24-hour");
    assert_eq!(bare(&same), bare(&on_24h));
}
