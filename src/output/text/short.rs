//! What a person can take in of a large plan: the worst first, what is alike once, and where all
//! of it is.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use chrono::NaiveDate;

use super::super::{remark, wrapped};
use super::{Item, ends, span};
use crate::base::time::human_date;
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
pub(super) fn uncovered(plan: &Plan, in_full: bool, text: &mut String) {
    if plan.uncovered.len() <= crate::planning::plan::PENS_NAMED {
        return;
    }
    let mut at: BTreeMap<&str, Vec<&Uncovered>> = BTreeMap::new();
    for u in &plan.uncovered {
        at.entry(&u.session).or_default().push(u);
    }
    let head = |pens: &[&Uncovered]| pens.iter().map(|u| u.head).sum::<u32>();
    // In the order of the plan, by time, where as many are missed.
    let mut short: Vec<(&Session, Vec<&Uncovered>)> = plan
        .sessions
        .iter()
        .filter_map(|s| Some((s, at.remove(s.id.as_str())?)))
        .collect();
    short.sort_by_key(|(_, pens)| std::cmp::Reverse(head(pens)));
    let most = if in_full { short.len() } else { WORST };
    text.push_str("\nNot covered, the most head first\n");
    for (s, pens) in short.iter().take(most) {
        let day = s.pens.first().map_or(s.open, |p| p.hours.aim);
        let due: u32 = s.pens.iter().map(|p| p.head).sum();
        let mut pens = pens.clone();
        pens.sort_by_key(|u| std::cmp::Reverse(u.head));
        let mut named: Vec<String> = pens
            .iter()
            .take(3)
            .map(|u| format!("{} of {}", u.head, plan.group_pen(&u.group, u.pen)))
            .collect();
        if pens.len() > 3 {
            let more = pens.len() - 3;
            let plural = if more == 1 { "" } else { "s" };
            named.push(format!("{} in {more} pen{plural} more", head(&pens[3..])));
        }
        let line = format!(
            "{} of {due} head, {} at {}: {}",
            head(&pens),
            day.format("%a %-d %b"),
            plan.site_name(&s.site),
            named.join(", ")
        );
        let _ = writeln!(text, "{}", wrapped(&line, "  ", "    "));
        let why = format!("why: {}", pens[0].why.join("; "));
        let _ = writeln!(text, "{}", wrapped(&why, "    ", "    "));
    }
    if short.len() > most {
        let rest: u32 = short[most..].iter().map(|(_, pens)| head(pens)).sum();
        let line = format!(
            "and {} sessions more with {rest} head: `uncovered` in the plan's JSON has every pen",
            short.len() - most
        );
        let _ = writeln!(text, "{}", wrapped(&line, "  ", "    "));
    }
}

/// Findings under a title; of many with the same code the first few, and how many more.
pub(super) fn findings(found: &[&Remark], in_full: bool, text: &mut String) {
    let mut all: BTreeMap<&str, usize> = BTreeMap::new();
    for f in found {
        *all.entry(&f.code).or_default() += 1;
    }
    let mut found = found.to_vec();
    if !in_full && all.values().any(|n| *n > ALIKE) {
        // What is alike stands together, so that "more like these" is right below its like.
        let codes: Vec<&str> = found.iter().map(|f| f.code.as_str()).collect();
        found.sort_by_key(|f| codes.iter().position(|c| *c == f.code));
    }
    let mut shown: BTreeMap<&str, usize> = BTreeMap::new();
    for f in found {
        let all = all[f.code.as_str()];
        let n = shown.entry(&f.code).or_default();
        *n += 1;
        if in_full || all <= ALIKE || *n <= FIRST {
            let _ = writeln!(text, "{}", remark(f));
        }
        if !in_full && all > ALIKE && *n == FIRST {
            let _ = writeln!(
                text,
                "  and {} {}s {} more like these",
                all - FIRST,
                f.severity,
                f.code
            );
        }
    }
}

/// True if anything of this code is left out.
pub(super) fn leaves_out(plan: &Plan) -> bool {
    let mut all: BTreeMap<&str, usize> = BTreeMap::new();
    for f in &plan.findings {
        *all.entry(&f.code).or_default() += 1;
    }
    all.values().any(|n| *n > ALIKE)
}

/// A day's work with each session in a few lines and the pens of a treatment together.
pub(super) fn day(plan: &Plan, work: &[Item<'_>], text: &mut String) {
    let mut done = vec![false; work.len()];
    for (n, item) in work.iter().enumerate() {
        match item {
            Item::Session(s) => session(plan, s, text),
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
                passes(plan, &pens, text);
            }
            Item::Pass(_) => {}
        }
    }
}

/// One treatment of a group's pens.
fn passes(plan: &Plan, pens: &[&Pass], text: &mut String) {
    let first = pens[0];
    let day = first.start.date_naive();
    let last = pens.iter().map(|p| p.end).max().unwrap_or(first.end);
    let when = match first.last_day {
        Some(last) => format!("to {}", last.format("%a %-d %b")),
        None => span(first.start, last, day, "-"),
    };
    let who = if pens.len() == 1 {
        plan.group_pen(&first.group, first.pen)
    } else {
        format!("{}, {} pens", first.group, pens.len())
    };
    let head: u32 = pens.iter().map(|p| p.head).sum();
    let mut line = format!(
        "{}: {who}, {head} head, at {}",
        first.what,
        plan.site_name(&first.site)
    );
    for clock in pens.iter().filter_map(|p| p.clock.as_ref()) {
        let _ = write!(line, "; {clock}");
    }
    let _ = writeln!(
        text,
        "{}",
        wrapped(&line, &format!("  {when:<13} "), &" ".repeat(16))
    );
}

fn session(plan: &Plan, s: &Session, text: &mut String) {
    let day = s.first_cow.unwrap_or(s.open).date_naive();
    let when = match (s.first_cow, s.last_cow) {
        (Some(a), Some(b)) => span(a, b, day, "-"),
        _ => span(s.open, s.close, day, "-"),
    };
    let due: u32 = s.pens.iter().map(|p| p.head).sum();
    let about = if s.is_by_heat() { "about " } else { "" };
    let head = match s.head {
        0 => super::bred_words(s),
        head if head < due => format!("BREED {about}{head} of {due} head"),
        _ => format!("BREED {about}{due} head"),
    };
    let mut groups: Vec<&str> = s.pens.iter().map(|p| p.group.as_str()).collect();
    groups.sort_unstable();
    groups.dedup();
    let line = format!(
        "{head} at {}: {}{}",
        plan.site_name(&s.site),
        groups.join(", "),
        if s.head == 0 {
            String::new()
        } else if s.head < due {
            format!("; {} NOT COVERED", due - s.head)
        } else {
            format!("; margin {} head", s.margin_head)
        }
    );
    let indent = " ".repeat(16);
    let _ = writeln!(
        text,
        "{}",
        wrapped(&line, &format!("  {when:<13} "), &indent)
    );
    let people: Vec<String> = s
        .technicians
        .iter()
        .map(|t| {
            let begins = ends(t.begins, day);
            format!("{}: {} from {begins}", plan.technician_name(&t.id), t.head)
        })
        .collect();
    if !people.is_empty() {
        let _ = writeln!(text, "{}", wrapped(&people.join("; "), &indent, &indent));
    }
}

/// A day in numbers.
pub(super) fn day_line(date: NaiveDate, work: &[Item<'_>], text: &mut String) {
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
        let missed = if bred < due {
            format!(" of {due} head, {} NOT COVERED", due - bred)
        } else {
            " head".to_owned()
        };
        let words = match bred {
            0 if due == 0 => "no cows to breed".to_owned(),
            0 => format!("NOT COVERED: none of {due} head bred"),
            _ => format!("BREED {bred}{missed}"),
        };
        parts.push(format!("{words}, {}", many(sessions, "session")));
    }
    if chute > 0 {
        parts.push(format!("chute {treated} head, {}", many(chute, "pen")));
    }
    if others > 0 {
        parts.push(format!("{} begun", many(others, "feeding or watch")));
    }
    let _ = writeln!(
        text,
        "{}",
        wrapped(
            &parts.join("; "),
            &format!("  {:<17}", human_date(date)),
            &" ".repeat(19)
        )
    );
}

fn many(n: u32, what: &str) -> String {
    match (n, what) {
        (1, _) => format!("1 {what}"),
        (_, "feeding or watch") => format!("{n} feedings or watches"),
        _ => format!("{n} {what}s"),
    }
}
