//! The season's lists: groups, technicians, bulls and the publications named.

use std::collections::BTreeSet;

use super::book::{Book, named};
use super::words::{begins, prose, sentence};
use crate::base::error::Code;
use crate::base::time::human_date;
use crate::output::document::{
    Block, Cell, Hold, Line, Role, Row, Section, Span, Style, TableKind, Term, TermsKind, words,
};
use crate::output::{order_words, sexed};
use crate::planning::plan::{Group, Plan};
use crate::trade::sources::{self, Source};

/// The groups and their protocols.
pub(super) fn groups(book: &Book) -> Block {
    let columns = ["Group", "Protocol", "Animals", "Start", "Straws"];
    let rows = book.plan.groups.iter().map(|g| group(book, g));
    let title = "Groups of the season";
    let mut blocks = vec![Block::table_of(TableKind::Stack, title, &columns, rows)];
    if book.plan.groups.iter().any(|g| g.unverified) {
        blocks.push(Block::Section(Section {
            id: Some("from-memory".to_owned()),
            blocks: vec![Block::paragraph(words![
                Span::strong("* Some times not checked against the published sheet:"),
                " check them with it and your veterinarian before you use them.",
            ])],
            ..Section::default()
        }));
    }
    Block::part("groups", "Groups", blocks)
}

fn group(book: &Book, g: &Group) -> Row {
    let day = g.start.date_naive();
    let all: u32 = g.pen_head.iter().sum();
    let marked = || Span::link("from-memory", "some times not checked*");
    let unverified = g.unverified.then(|| words!["; ", marked()]);
    let pens = Line::joined(g.pen_head.iter().copied(), " + ");
    let pens = (g.pen_head.len() > 1).then(|| words!["; pens of ", pens]);
    let (class, site) = (g.class.as_str(), book.site_name(&g.site));
    let animals = words![
        format!("{all} head, {class}, {site}"),
        pens,
        "; ",
        order_words(g.order),
        Line::joined(g.said().map(|note| words![". ", sentence(&note)]), ""),
    ];
    let straws = g.straws.iter().map(|s| {
        let bull = book.bull_name(&s.bull);
        format!("{} of {bull}{}", s.straws, sexed(s))
    });
    let straws = if g.straws.is_empty() {
        "none set aside".into()
    } else {
        Line::joined(straws, Span::Break)
    };
    Row::of(vec![
        Cell::head(Hold::Names, named(&g.name, &g.id)),
        Cell::of(Hold::Names, words![&g.protocol_name, unverified]),
        Cell::of(Hold::Names, animals),
        Cell::text(words![human_date(day), " ", begins(g.start, book.on(day))]),
        Cell::of(Hold::Names, straws),
    ])
}

/// The technicians' share.
pub(super) fn technicians(plan: &Plan) -> Block {
    let mut columns = vec!["Name", "Sessions", "Head", "Breeding time"];
    columns.extend(plan.road.as_ref().map(|_| "On the road"));
    let rows = plan.technicians.iter().map(|t| {
        let helper = t.helper.then(|| Style::Short.of(", with a helper"));
        let mut cells = vec![
            Cell::head(Hold::Names, words![named(&t.name, &t.id), helper]),
            Cell::text(t.sessions),
            Cell::text(t.head),
            Cell::of(Hold::Figure, words![t.hours, " h"]),
        ];
        if plan.road.is_some() {
            let road = t.road.as_ref().map(|road| plan.road_figures(road));
            cells.push(Cell::text(road.unwrap_or_else(|| "no home".to_owned())));
        }
        Row::of(cells)
    });
    let title = "Share of the season";
    let mut blocks = vec![Block::table_of(TableKind::Stack, title, &columns, rows)];
    let total = plan.road_total();
    blocks.extend(total.iter().map(|s| Block::of_role(Role::Soft, prose(s))));
    Block::part("technicians", "Technicians", blocks)
}

/// The bulls' straws.
pub(super) fn bulls(plan: &Plan) -> Block {
    let columns = ["Bull", "Straws on hand", "Planned", "Left"];
    let rows = plan.bulls.iter().map(|b| {
        let straws = [b.straws, b.planned_straws, b.left_straws];
        Row::named(named(&b.name, &b.id), straws)
    });
    let table = Block::table("Straws", &columns, rows);
    Block::part("bulls", "Bulls", vec![table])
}

/// The publications whose tags stand in the notes and warnings shown.
pub(super) fn sources(plan: &Plan) -> Option<Block> {
    let notes = plan.passes.iter().filter_map(|p| p.note.as_deref());
    let cautions = plan.passes.iter().flat_map(|p| &p.cautions);
    let cautions = cautions.map(|c| c.source());
    let after = plan.follow_up.iter().flat_map(|f| &f.events);
    let after = after.flat_map(|e| e.words.iter().chain(&e.sources));
    let law = plan.groups.iter().flat_map(|g| &g.allowed);
    let law = law.map(|a| a.why.as_str());
    let found = plan.findings.iter().filter(|f| f.code == Code::LabelUse);
    let law = law.chain(found.map(|f| f.what.as_str()));
    let texts = notes.chain(cautions).chain(after.map(String::as_str));
    let texts = texts.chain(law);
    let texts: BTreeSet<&str> = texts.collect();
    let is_named = |s: &&Source| texts.iter().any(|text| names(text, &s.tag));
    let named = sources::all().iter().filter(is_named);
    let terms: Vec<Term> = named.map(|s| Term::new(&s.tag, &s.title)).collect();
    let list = |terms| vec![Block::Terms(TermsKind::Sources, terms)];
    (!terms.is_empty()).then(|| Block::part("sources", "Sources", list(terms)))
}

/// True if the tag stands in the text as a word of its own.
fn names(text: &str, tag: &str) -> bool {
    text.split(|c: char| !(c.is_alphanumeric() || c == '-'))
        .any(|word| word == tag)
}
