//! What a person can take in of a large plan: the worst first, what is alike once, and where all
//! of it is.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::session::{Item, bred_words, span, when};
use crate::base::error::Code;
use crate::base::time::human_date;
use crate::base::units::count;
use crate::output::document::{self, Block, Line, ListKind, Term, words};
use crate::output::remark_item;
use crate::output::times::{ends, on_day, short_date};
use crate::planning::plan::{Pass, Plan, Remark, Session, Uncovered, Work};

/// How much of the dated work is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Extent {
    /// All of it.
    Whole,
    /// A session in a few lines, the pens of a treatment together.
    Short,
    /// A day in a few lines.
    Days,
}

impl Extent {
    /// By the number of sessions and passes.
    pub(super) fn of(plan: &Plan) -> Self {
        match (plan.sessions.len(), plan.passes.len()) {
            (0..=40, 0..=300) => Self::Whole,
            (0..=250, 0..=2000) => Self::Short,
            _ => Self::Days,
        }
    }
}

/// Sessions listed that fall short.
const WORST: usize = 10;
/// Findings of one code that are all printed; of more, only the first few are.
const ALIKE: usize = 5;
const FIRST: usize = 3;

/// Sessions that fall short, the most head first, where the verdict does not name each pen.
pub(super) fn uncovered(plan: &Plan, in_full: bool) -> Option<Block> {
    if plan.uncovered.len() <= crate::planning::plan::PENS_NAMED {
        return None;
    }
    let mut at: BTreeMap<&str, Vec<&Uncovered>> = BTreeMap::new();
    for u in &plan.uncovered {
        at.entry(&u.session).or_default().push(u);
    }
    // In the order of the plan, by time, where as many are missed.
    let short = plan.sessions.iter();
    let short = short.filter_map(|s| Some((s, at.remove(s.id.as_str())?)));
    let mut short: Vec<(&Session, Vec<&Uncovered>)> = short.collect();
    short.sort_by_key(|(_, pens)| std::cmp::Reverse(head(pens)));
    let most = if in_full { short.len() } else { WORST };
    let items = short.iter().take(most);
    let items = items.map(|(s, pens)| falls_short(plan, s, pens)).collect();
    let mut blocks = vec![Block::List(ListKind::Plain, items)];
    if short.len() > most {
        let rest: u32 = short[most..].iter().map(|(_, pens)| head(pens)).sum();
        blocks.push(Block::paragraph(format!(
            "and {} more sessions with {rest} head: `uncovered` in the plan's JSON has every pen",
            short.len() - most
        )));
    }
    let title = "Not bred in time, the most head first";
    Some(Block::part("uncovered", title, blocks))
}

fn head(pens: &[&Uncovered]) -> u32 {
    pens.iter().map(|u| u.head).sum()
}

fn falls_short(plan: &Plan, s: &Session, pens: &[&Uncovered]) -> document::Item {
    let day = s.pens.first().map_or(s.open, |p| p.hours.aim);
    let due: u32 = s.pens.iter().map(|p| p.head).sum();
    let mut pens = pens.to_vec();
    pens.sort_by_key(|u| std::cmp::Reverse(u.head));
    let named = pens.iter().take(3);
    let named = named.map(|u| format!("{} of {}", u.head, plan.group_pen(&u.group, u.pen)));
    let mut named: Vec<String> = named.collect();
    if let Some(more @ [_, ..]) = pens.get(3..) {
        let many = count(more.len() as u32, "pen", "pens");
        named.push(format!("{} in {many} more", head(more)));
    }
    let (left, day) = (head(&pens), short_date(day.date_naive()));
    let (site, named) = (plan.site_name(&s.site), named.join(", "));
    let said = format!("{left} of {due} head, {day} at {site}: {named}");
    let mut item = document::Item::text(said);
    let why = format!("why: {}", pens[0].why.join("; "));
    item.blocks.push(Block::paragraph(why));
    item
}

/// Findings; of many with the same code the first few, and how many more.
pub(super) fn findings(found: &[&Remark], in_full: bool) -> Vec<Block> {
    let all = by_code(found.iter().copied());
    let mut found = found.to_vec();
    if !in_full && all.values().any(|n| *n > ALIKE) {
        // What is alike stands together, so that "more like these" is right below its like.
        let codes: Vec<Code> = found.iter().map(|f| f.code).collect();
        found.sort_by_key(|f| codes.iter().position(|c| *c == f.code));
    }
    let mut shown: BTreeMap<Code, usize> = BTreeMap::new();
    let mut items = Vec::new();
    for f in found {
        let all = all[&f.code];
        let n = shown.entry(f.code).or_default();
        *n += 1;
        if in_full || all <= ALIKE || *n <= FIRST {
            items.push(remark_item(f));
        }
        if !in_full && all > ALIKE && *n == FIRST {
            let more = all - FIRST;
            let words = format!("and {more} {}s {} more like these", f.severity, f.code);
            items.push(document::Item::text(words));
        }
    }
    vec![Block::List(ListKind::Plain, items)]
}

/// True if anything of this code is left out.
pub(super) fn leaves_out(plan: &Plan) -> bool {
    by_code(&plan.findings).values().any(|n| *n > ALIKE)
}

/// How many findings have each code.
fn by_code<'a>(found: impl IntoIterator<Item = &'a Remark>) -> BTreeMap<Code, usize> {
    let mut all: BTreeMap<Code, usize> = BTreeMap::new();
    for f in found {
        *all.entry(f.code).or_default() += 1;
    }
    all
}

/// A day's work with each session in a few lines and the pens of a treatment together.
pub(super) fn day(plan: &Plan, work: &[Item<'_>]) -> Vec<Term> {
    let mut done = vec![false; work.len()];
    let mut terms = Vec::new();
    for (n, item) in work.iter().enumerate() {
        match item {
            Item::Session(s) => terms.push(of_session(plan, s)),
            Item::Pass(p) if !done[n] => {
                let mut pens = vec![*p];
                for (later, other) in work.iter().enumerate().skip(n + 1) {
                    if let Item::Pass(other) = other
                        && (&other.group, &other.step) == (&p.group, &p.step)
                        && other.work == p.work
                    {
                        pens.push(other);
                        done[later] = true;
                    }
                }
                let clocks = pens.iter().filter_map(|p| p.clock.as_ref());
                let clocks = Line::joined(clocks.map(|clock| format!("; {clock}")), "");
                let (when, what) = treatment(plan, &pens);
                terms.push(Term::new(when, words![what, clocks]));
            }
            Item::Pass(_) => {}
        }
    }
    terms
}

/// One treatment of a group's pens: when, and what.
pub(super) fn treatment(plan: &Plan, pens: &[&Pass]) -> (String, String) {
    let first = pens[0];
    let day = on_day(plan.units.clock, first.start.date_naive());
    let last = pens.iter().map(|p| p.end).max().unwrap_or(first.end);
    let when = match first.last_day {
        Some(last) => format!("to {}", short_date(last)),
        None => span(first.start, last, day, "-"),
    };
    let who = if pens.len() == 1 {
        plan.group_pen(&first.group, first.pen)
    } else {
        format!("{}, {} pens", first.group, pens.len())
    };
    let head: u32 = pens.iter().map(|p| p.head).sum();
    let (what, site) = (&first.what, plan.site_name(&first.site));
    (when, format!("{what}: {who}, {head} head, at {site}"))
}

fn of_session(plan: &Plan, s: &Session) -> Term {
    let day = s.first_cow.unwrap_or(s.open).date_naive();
    let day = on_day(plan.units.clock, day);
    let due: u32 = s.pens.iter().map(|p| p.head).sum();
    let about = if s.is_by_heat() { "about " } else { "" };
    let head = match s.head {
        0 => bred_words(s),
        head if head < due => format!("BREED {about}{head} of {due} head"),
        _ => format!("BREED {about}{due} head"),
    };
    let mut groups: Vec<&str> = s.pens.iter().map(|p| p.group.as_str()).collect();
    groups.sort_unstable();
    groups.dedup();
    let room = match s.head {
        0 => String::new(),
        head if head < due => format!("; {} NOT BRED", due - head),
        _ => format!("; room for {}", s.margin_head),
    };
    let site = plan.site_name(&s.site);
    let said = format!("{head} at {site}: {}{room}", groups.join(", "));
    let people = s.technicians.iter().map(|t| {
        let begins = ends(t.begins, day);
        format!("{}: {} from {begins}", plan.technician_name(&t.id), t.head)
    });
    let people: Vec<String> = people.collect();
    let more = (!people.is_empty()).then(|| Block::paragraph(people.join("; ")));
    Term {
        more: more.into_iter().collect(),
        ..Term::new(when(plan, s), said)
    }
}

/// A day in numbers.
pub(super) fn day_line(date: NaiveDate, work: &[Item<'_>]) -> Term {
    let (mut chute, mut treated, mut others) = (0, 0, 0);
    let (mut sessions, mut bred, mut due) = (0, 0, 0);
    for item in work {
        match item {
            Item::Pass(p) if p.work == Work::Chute => {
                chute += 1;
                treated += p.head;
            }
            Item::Pass(_) => others += 1,
            Item::Session(s) => {
                sessions += 1;
                bred += s.head;
                due += s.pens.iter().map(|p| p.head).sum::<u32>();
            }
        }
    }
    let mut parts = Vec::new();
    if sessions > 0 {
        let words = match bred {
            0 if due == 0 => "no cows to breed".to_owned(),
            0 => format!("NOT BRED: none of {due} head"),
            _ if bred < due => format!("BREED {bred} of {due} head, {} NOT BRED", due - bred),
            _ => format!("BREED {bred} head"),
        };
        let sessions = count(sessions, "session", "sessions");
        parts.push(format!("{words}, {sessions}"));
    }
    if chute > 0 {
        let pens = count(chute, "pen", "pens");
        parts.push(format!("chute {treated} head, {pens}"));
    }
    if others > 0 {
        let begun = count(others, "feeding or watch", "feedings or watches");
        parts.push(format!("{begun} begun"));
    }
    Term::new(human_date(date), parts.join("; "))
}
