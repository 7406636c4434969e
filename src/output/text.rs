//! The plan for the terminal: the verdict first, then the dated work, in 80 columns. A plan that
//! is longer than a person reads is shortened, and the text says so.

mod crew;
mod follow;
mod item;
mod short;

use std::collections::BTreeMap;
use std::fmt::Write as _;

use chrono::NaiveDate;

use self::item::{Item, begins, bred_words, ends, span};
use self::short::Extent;
use super::wrapped;
use crate::base::time::human_date;
use crate::base::units::human_minutes;
use crate::planning::plan::{BullStraws, GroupHeat, Moment, Pass, Plan, Session, Work};
use crate::trade::protocol::Caution;

/// The plan, shortened where it is long: of many sessions that fall short the worst, of many
/// findings alike the first few, and of a large season's work what a day or a session comes to.
#[must_use]
pub fn plan(plan: &Plan) -> String {
    printed(plan, Extent::of(plan), false)
}

/// The whole plan, however long.
#[must_use]
pub fn plan_in_full(plan: &Plan) -> String {
    printed(plan, Extent::Whole, true)
}

fn printed(plan: &Plan, extent: Extent, in_full: bool) -> String {
    let mut text = format!(
        "{}\nTimes are local, {}.\n\n",
        wrapped(&plan.season, "", "  "),
        plan.zone
    );
    for (n, sentence) in plan.verdict.words.iter().enumerate() {
        let lead = if n == 0 { "" } else { "  " };
        let _ = writeln!(text, "{}", wrapped(sentence, lead, "  "));
    }
    if !in_full && (extent != Extent::Whole || short::leaves_out(plan)) {
        let _ = writeln!(text, "\n{}", wrapped(SHORTENED, "", "  "));
    }
    short::uncovered(plan, in_full, &mut text);
    for (title, severity) in [("Warnings", "warning"), ("Notes", "note")] {
        let found: Vec<_> = plan
            .findings
            .iter()
            .filter(|f| f.severity == severity)
            .collect();
        if !found.is_empty() {
            let _ = write!(text, "\n{title}\n");
            short::findings(&found, in_full, &mut text);
        }
    }
    if extent == Extent::Days {
        text.push_str("\nDay by day\n");
    }
    for (date, work) in days(plan) {
        if extent == Extent::Days {
            short::day_line(date, &work, &mut text);
            continue;
        }
        let _ = write!(text, "\n{}\n", human_date(date));
        if extent == Extent::Short {
            short::day(plan, &work, &mut text);
            continue;
        }
        for item in work {
            match item {
                Item::Pass(p) => pass(plan, p, &mut text),
                Item::Session(s) => session(plan, s, &mut text),
            }
        }
    }
    crew::crew(plan, in_full, &mut text);
    if extent == Extent::Whole {
        follow::follow_up(plan, in_full, &mut text);
    }
    take_care(plan, &mut text);
    text
}

/// Said where anything is left out.
const SHORTENED: &str = "This text is shortened. `thawline plan SEASON --full` prints every pen, session and finding; `--out DIR` writes the page and the calendars; `--json` prints the plan as data.";

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

fn pass(plan: &Plan, p: &Pass, text: &mut String) {
    let who = plan.group_pen(&p.group, p.pen);
    let day = p.start.date_naive();
    let when = match (p.last_day, p.work) {
        (Some(last), _) => format!("to {}", last.format("%a %-d %b")),
        _ => span(p.start, p.end, day, "-"),
    };
    let line = format!(
        "{}: {}, {} head, at {}",
        p.what,
        who,
        p.head,
        plan.site_name(&p.site)
    );
    let _ = writeln!(
        text,
        "{}",
        wrapped(&line, &format!("  {when:<13} "), &" ".repeat(16))
    );
    let mut more = Vec::new();
    if let Some(h) = &p.hours {
        more.push(if h.earliest <= h.latest {
            format!(
                "{}: begin between {} and {}",
                h.window,
                begins(h.earliest, day),
                ends(h.latest, day)
            )
        } else {
            format!("{}: no beginning keeps it for every animal", h.window)
        });
    }
    more.extend(p.clock.clone());
    more.extend(plan.heats(p).map(GroupHeat::words));
    for m in more {
        let _ = writeln!(text, "{}", wrapped(&m, &" ".repeat(16), &" ".repeat(16)));
    }
}

fn session(plan: &Plan, s: &Session, text: &mut String) {
    let day = s.first_cow.unwrap_or(s.open).date_naive();
    let when = match (s.first_cow, s.last_cow) {
        (Some(a), Some(b)) => span(a, b, day, "-"),
        _ => span(s.open, s.close, day, "-"),
    };
    let indent = " ".repeat(16);
    let by_heat = s.is_by_heat();
    let line = format!(
        "{} at {}{}",
        bred_words(s),
        plan.site_name(&s.site),
        if by_heat { ", by heat" } else { "" }
    );
    let _ = writeln!(
        text,
        "{}",
        wrapped(&line, &format!("  {when:<13} "), &indent)
    );
    let deep = " ".repeat(18);
    for pen in &s.pens {
        let short = if pen.bred_head < pen.head {
            format!(
                "{} of {} head, {} NOT COVERED",
                pen.bred_head,
                pen.head,
                pen.head - pen.bred_head
            )
        } else {
            pen.head_words()
        };
        let order = pen
            .seen_words()
            .unwrap_or_else(|| format!("order {}", pen.order));
        let hours = if pen.hours.earliest <= pen.hours.latest {
            format!(
                "{} to {}",
                begins(pen.hours.earliest, day),
                ends(pen.hours.latest, day)
            )
        } else {
            "no hour suits every animal".to_owned()
        };
        let line = format!(
            "{}: {short}, {}, {hours} ({}; {order})",
            plan.group_pen(&pen.group, pen.pen),
            pen.what,
            pen.hours.window,
        );
        let _ = writeln!(text, "{}", wrapped(&line, &indent, &deep));
    }
    for t in &s.technicians {
        let line = format!(
            "{}: {} head, {}first straws in the bath {}, cows {}, {} straw{} at once",
            plan.technician_name(&t.id),
            t.head,
            t.leaves
                .as_ref()
                .map(|l| {
                    let far = plan.drive_words(l);
                    format!("leave {} by {}{far}, ", l.site, ends(l.by, day))
                })
                .unwrap_or_default(),
            ends(t.begins, day),
            span(t.first_cow, t.last_cow, day, " to "),
            t.straws_at_once,
            if t.straws_at_once == 1 { "" } else { "s" }
        );
        let _ = writeln!(text, "{}", wrapped(&line, &indent, &deep));
    }
    if !s.straws.is_empty() {
        let straws: Vec<String> = s
            .straws
            .iter()
            .map(|b| {
                format!(
                    "{} x {}{}{}",
                    b.straws,
                    b.bull,
                    super::sexed(b),
                    to_spare(s, b)
                )
            })
            .collect();
        let line = format!("straws: {}", straws.join(", "));
        let _ = writeln!(text, "{}", wrapped(&line, &indent, &deep));
    }
    let covered = s.pens.iter().all(|p| p.bred_head == p.head);
    let line = if covered {
        format!(
            "margin: {} head, {}; {}",
            s.margin_head,
            human_minutes(s.margin_minutes),
            s.binding_words
        )
    } else {
        format!("why: {}", s.binding_words)
    };
    let _ = writeln!(text, "{}", wrapped(&line, &indent, &deep));
}

fn take_care(plan: &Plan, text: &mut String) {
    let used: Vec<Caution> = Caution::ALL
        .into_iter()
        .filter(|c| {
            plan.passes.iter().any(|p| p.cautions.contains(c))
                || plan.sessions.iter().any(|s| s.cautions.contains(c))
        })
        .collect();
    text.push_str("\nTake care\n");
    for c in used {
        let _ = writeln!(text, "{}", wrapped(c.words(), "  - ", "    "));
    }
    let drugs =
        "Drugs are prescription products: follow the label, your veterinarian and local rules.";
    let _ = writeln!(text, "{}", wrapped(drugs, "  - ", "    "));
    if plan.groups.iter().any(|g| g.unverified) {
        let unverified = "Some protocol times are from memory: check them with the current protocol sheet (thawline protocols ID shows which).";
        let _ = writeln!(text, "{}", wrapped(unverified, "  - ", "    "));
    }
}

/// Straws of a bull for cows that never come.
fn to_spare(s: &Session, straws: &BullStraws) -> String {
    s.spare_for(straws)
        .map_or_else(String::new, |b| format!(" and {} to spare", b.straws))
}
