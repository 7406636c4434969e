//! What stands before the work: the answer, what falls short, what was noticed, what can hurt.

use std::collections::{BTreeMap, BTreeSet};

use super::book::{Book, named};
use super::words::{hours, prose, sentence, titled};
use crate::base::error::{Code, Severity};
use crate::base::time::human_date;
use crate::output::document::{
    self, Block, Item, Kind, Line, ListKind, Role, Span, Style, Term, TermsKind, Verdict, words,
};
use crate::output::{mark, ranges};
use crate::planning::plan::{Plan, Remark, Uncovered};
use crate::trade::protocol::Caution;

/// The answer.
pub(super) fn verdict(plan: &Plan) -> Block {
    let verdict = if !plan.verdict.covered {
        Verdict::Short
    } else if plan.verdict.rules_broken {
        Verdict::Warned
    } else {
        Verdict::Well
    };
    let mut words = plan.verdict.words.iter();
    let first = words.next().map_or("No verdict", String::as_str);
    // What is said of single pens stands in the list of those not covered, with more.
    let pen = |u: &Uncovered| u.words(&plan.group_pen(&u.group, u.pen));
    let pens: Vec<String> = plan.uncovered.iter().map(pen).collect();
    let rest = words.filter(|w| !pens.contains(w));
    let rest = rest.map(|sentence| Block::paragraph(prose(sentence)));
    Block::headed(
        Kind::Verdict(verdict),
        "verdict",
        prose(first),
        rest.collect(),
    )
}

/// Who cannot be bred, and why.
pub(super) fn uncovered(book: &Book) -> Option<Block> {
    let list = &book.plan.uncovered;
    let items = list.iter().map(|u| one_uncovered(book, u)).collect();
    let list_of = || vec![Block::List(ListKind::Plain, items)];
    (!list.is_empty()).then(|| Block::part("uncovered", "Not bred in time", list_of()))
}

fn one_uncovered(book: &Book, u: &Uncovered) -> Item {
    let day = u.hours.earliest.date_naive();
    let group = match book.group(&u.group) {
        Some(g) => named(&g.name, &g.id),
        None => (&u.group).into(),
    };
    let pen = book.pen(&u.group, u.pen).map(|pen| format!(", {pen}"));
    let head = Span::strong(words![u.head, " head"]);
    let when = match book.session_anchor(&u.session) {
        Some(anchor) => Span::link(anchor, human_date(day)).into(),
        None => Line::from(human_date(day)),
    };
    let window = format!(" ({}).", u.hours.window);
    let mut blocks = vec![
        Block::of_role(Role::Lead, words![head, " of ", group, pen]),
        Block::paragraph(words![
            when,
            ". AI window: ",
            hours(&u.hours, book.on(day)),
            window
        ]),
    ];
    if !u.animals.is_empty() {
        let animals = ranges(&u.animals, "–");
        let words = format!("Animals no. {animals} in the order of the last treatment.");
        blocks.push(Block::paragraph(words));
    }
    if !u.why.is_empty() {
        blocks.push(Block::paragraph("Why:"));
        blocks.push(Block::bullets(
            u.why.iter().map(|why| prose(&sentence(why))),
        ));
    }
    Item {
        mark: document::Remark::Short,
        blocks,
        ..Item::default()
    }
}

/// Warnings first, then notes.
pub(super) fn findings(plan: &Plan) -> Vec<Block> {
    let all = plan.findings.iter();
    let (notes, warnings): (Vec<_>, Vec<_>) = all.partition(|f| f.severity == Severity::Note);
    let lists = [
        ("warnings", "Warnings", warnings),
        ("notes", "Worth knowing", notes),
    ];
    let some = lists.into_iter().filter(|(.., all)| !all.is_empty());
    some.map(|(id, title, all)| {
        let items = alike(&all).iter().map(|alike| remark(alike)).collect();
        Block::part(id, title, vec![Block::List(ListKind::Plain, items)])
    })
    .collect()
}

/// Findings of one kind with one remedy together, in the order of the first.
fn alike<'a>(findings: &[&'a Remark]) -> Vec<Vec<&'a Remark>> {
    let mut found: Vec<Vec<&'a Remark>> = Vec::new();
    let mut places: BTreeMap<(Severity, Code, Option<&str>), usize> = BTreeMap::new();
    for f in findings {
        let place = *places
            .entry((f.severity, f.code, f.hint.as_deref()))
            .or_insert_with(|| {
                found.push(Vec::new());
                found.len() - 1
            });
        found[place].push(f);
    }
    found
}

/// Findings that share a remedy; never empty.
fn remark(alike: &[&Remark]) -> Item {
    let first = alike[0];
    let single = alike.len() == 1;
    let times = (!single).then(|| format!(", {} times", alike.len()));
    let severity = sentence(first.severity.as_str());
    let word = Style::Word.of(words![severity.trim_end_matches('.'), times, "."]);
    let words = single.then(|| words![" ", said(first)]);
    let mut blocks = vec![Block::paragraph(words![word, words])];
    if !single {
        blocks.push(Block::bullets(alike.iter().map(|f| said(f))));
    }
    if let Some(hint) = &first.hint {
        let hint = prose(&sentence(hint));
        blocks.push(Block::paragraph(words![
            Span::strong("What to do:"),
            " ",
            hint
        ]));
    }
    Item {
        mark: mark(first.severity),
        blocks,
        ..Item::default()
    }
}

/// What is wrong, what was expected, and where.
fn said(f: &Remark) -> Line {
    let expected = f.expected.as_ref();
    let expected = expected.map(|expected| words![" Expected: ", prose(expected), "."]);
    let place = f.place.as_ref().map(|place| format!(" {place}"));
    let code = words!["[", f.code.as_str(), place, "]"];
    words![
        prose(&sentence(&f.what)),
        expected,
        " ",
        Style::Soft.of(code)
    ]
}

/// The warnings that the season's work calls for, each once, with its source.
pub(super) fn care(book: &Book) -> Block {
    let plan = book.plan;
    let of_passes = plan.passes.iter().flat_map(|p| &p.cautions);
    let of_sessions = plan.sessions.iter().flat_map(|s| &s.cautions);
    let called: BTreeSet<Caution> = of_passes.chain(of_sessions).copied().collect();
    let mut blocks = vec![Block::paragraph(
        "The products given here are animal medicines, in many places on prescription only: \
         their labels and your veterinarian come before this page.",
    )];
    if plan.groups.iter().any(|g| g.unverified) {
        let marked = Span::link("from-memory", "the groups are marked");
        blocks.push(Block::paragraph(words![
            "Some protocol times were not checked against the published sheet: check them before you use them; ",
            marked,
            "."
        ]));
    }
    let terms = Caution::ALL.into_iter().filter(|c| called.contains(c));
    let terms = terms.map(|caution| {
        let source = Style::Soft.of(words!["Source: ", caution.source(), "."]);
        Term {
            id: Some(format!("care-{}", caution.as_str())),
            ..Term::new(label(caution), words![caution.words(), " ", source])
        }
    });
    if !called.is_empty() {
        blocks.push(Block::Terms(TermsKind::Care, terms.collect()));
    }
    titled(Kind::Part, "care", "Take care", blocks)
}

/// Short words beside the work, each leading to its warning.
pub(super) fn markers(cautions: &[Caution]) -> Option<Block> {
    let used = Caution::ALL.into_iter().filter(|c| cautions.contains(c));
    let links = used.map(|c| Span::link(format!("care-{}", c.as_str()), label(c)));
    let words = words![Span::strong("Take care:"), " ", Line::joined(links, ", ")];
    (!cautions.is_empty()).then(|| Block::of_role(Role::Cautions, words))
}

const fn label(caution: Caution) -> &'static str {
    match caution {
        Caution::Prostaglandin => "PG",
        Caution::Insert => "inserts",
        Caution::Mga => "MGA",
        Caution::Nitrogen => "nitrogen",
        Caution::Thaw => "thaw bath",
        Caution::Needles => "needles",
        Caution::Chute => "chute",
    }
}
