//! The plan for the terminal: the verdict first, then the dated work. A plan that is longer than a
//! person reads is shortened, and the text says so.

mod crew;
mod follow;
mod session;
mod short;

use std::collections::BTreeMap;

use chrono::NaiveDate;

use self::session::Item;
use self::short::Extent;
use super::document::{Block, Document, Line, Term, TermsKind, terminal};
use super::times::{begins, ends, on_day};
use crate::base::error::Severity;
use crate::base::time::human_date;
use crate::planning::plan::{GroupHeat, Moment, Pass, Plan, Work};
use crate::trade::protocol::Caution;

/// The plan, shortened where it is long: of many sessions that fall short the worst, of many
/// findings alike the first few, and of a large season's work what a day or a session comes to.
#[must_use]
pub fn plan(plan: &Plan) -> String {
    terminal::text(&document(plan, false))
}

/// The whole plan, however long.
#[must_use]
pub fn plan_in_full(plan: &Plan) -> String {
    terminal::text(&document(plan, true))
}

/// The plan in words, whole or shortened where it is long.
pub(super) fn document(plan: &Plan, in_full: bool) -> Document {
    let extent = if in_full {
        Extent::Whole
    } else {
        Extent::of(plan)
    };
    let mut blocks = vec![
        Block::heading(1, &plan.season),
        Block::paragraph(format!(
            "Times are local, {}. Country: {}.",
            plan.zone,
            plan.country.words()
        )),
    ];
    let mut verdict = plan.verdict.words.iter();
    let first = verdict.next().map_or("No verdict", String::as_str);
    blocks.push(Block::part(
        "verdict",
        first,
        verdict.map(Block::paragraph).collect(),
    ));
    if !in_full && (extent != Extent::Whole || short::leaves_out(plan)) {
        blocks.push(Block::heading(2, SHORTENED));
    }
    blocks.extend(short::uncovered(plan, in_full));
    for (id, title, severity) in [
        ("warnings", "Warnings", Severity::Warning),
        ("notes", "Notes", Severity::Note),
    ] {
        let found = plan.findings.iter().filter(|f| f.severity == severity);
        let found: Vec<_> = found.collect();
        if !found.is_empty() {
            blocks.push(Block::part(id, title, short::findings(&found, in_full)));
        }
    }
    blocks.extend(work(plan, extent));
    blocks.push(crew::crew(plan, in_full));
    if extent == Extent::Whole {
        blocks.extend(follow::follow_up(plan, in_full));
    }
    blocks.push(take_care(plan));
    Document::new(super::page::title(plan), blocks)
}

/// Said where anything is left out.
const SHORTENED: &str = "This text is shortened. `thawline plan SEASON --full` prints every pen, session and finding; `--out DIR` writes the page and the calendars; `--json` prints the plan as data.";

fn work(plan: &Plan, extent: Extent) -> Vec<Block> {
    let days = days(plan);
    if extent == Extent::Days {
        let days = days.iter().map(|(date, work)| short::day_line(*date, work));
        let days = Block::Terms(TermsKind::Facts, days.collect());
        return vec![Block::part("days", "Day by day", vec![days])];
    }
    let day = |(date, work): (NaiveDate, Vec<Item<'_>>)| {
        let terms = match extent {
            Extent::Short => short::day(plan, &work),
            _ => work
                .iter()
                .map(|item| match item {
                    Item::Pass(p) => pass(plan, p),
                    Item::Session(s) => session::whole(plan, s),
                })
                .collect(),
        };
        let terms = Block::Terms(TermsKind::Facts, terms);
        Block::part(&format!("day-{date}"), human_date(date), vec![terms])
    };
    days.into_iter().map(day).collect()
}

fn days(plan: &Plan) -> BTreeMap<NaiveDate, Vec<Item<'_>>> {
    let mut all: Vec<(Moment, Item<'_>)> = plan
        .passes
        .iter()
        .filter(|p| p.work != Work::Breeding)
        .map(|p| (p.start, Item::Pass(p)))
        .chain(
            plan.sessions
                .iter()
                .map(|s| (s.first_cow.unwrap_or(s.open), Item::Session(s))),
        )
        .collect();
    all.sort_by_key(|(at, _)| *at);
    let mut days: BTreeMap<NaiveDate, Vec<Item<'_>>> = BTreeMap::new();
    for (at, item) in all {
        days.entry(at.date_naive()).or_default().push(item);
    }
    days
}

fn pass(plan: &Plan, p: &Pass) -> Term {
    let day = on_day(plan.units.clock, p.start.date_naive());
    let (when, what) = short::treatment(plan, &[p]);
    let mut more: Vec<Line> = Vec::new();
    if let Some(h) = &p.hours {
        more.push(if h.earliest <= h.latest {
            let (from, to) = (begins(h.earliest, day), ends(h.latest, day));
            format!("{}: start between {from} and {to}", h.window).into()
        } else {
            format!("{}: no start suits every animal", h.window).into()
        });
    }
    more.extend(p.clock.as_ref().map(Line::from));
    more.extend(plan.heats(p).map(|heat| GroupHeat::words(heat).into()));
    Term {
        more: more.into_iter().map(Block::paragraph).collect(),
        ..Term::new(when, what)
    }
}

fn take_care(plan: &Plan) -> Block {
    let used = Caution::ALL.into_iter().filter(|c| {
        plan.passes.iter().any(|p| p.cautions.contains(c))
            || plan.sessions.iter().any(|s| s.cautions.contains(c))
    });
    let drugs =
        "Drugs are prescription products: follow the label, your veterinarian and local rules.";
    let memory = plan.groups.iter().any(|g| g.unverified);
    let memory = memory.then_some("Some protocol times were not checked against the published sheet: check them before you use them (`thawline protocols ID` shows which).");
    let all = used.map(Caution::words).chain([drugs]).chain(memory);
    Block::part("care", "Take care", vec![Block::bullets(all)])
}
