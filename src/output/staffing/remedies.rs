//! What would help, in words: what covers, what lessens, and what was tried.

use crate::base::units::{Clock, count, human_minutes};
use crate::output::document::{Block, Item, ListKind, Row};
use crate::planning::plan::Binding;
use crate::service::staffing::{Remedies, Remedy, Tried};

/// Remarks of a plan that are shown of a remedy.
const BRINGS: usize = 2;

pub(super) fn remedies(n: usize, r: &Remedies, clock: Clock) -> Block {
    let of = r.groups.join(", ");
    let goal = if r.uncovered_head == 0 {
        format!("give {of} that margin")
    } else {
        format!("get all of {of} bred in time")
    };
    let (title, mut blocks) = if r.nothing_covers {
        nothing(r, &goal)
    } else {
        let title = format!("Ways to {goal}, easiest first");
        let each = "Each of these changes was planned and verified.";
        (title, vec![Block::paragraph(each)])
    };
    blocks.push(Block::paragraph(
        "How easy a change is, is our own ranking (common practice, no source).",
    ));
    if !r.covering.is_empty() {
        blocks.push(list(r, &r.covering, clock));
    }
    if !r.lessening.is_empty() {
        let title = format!("Ways to leave fewer than {} head unbred", r.uncovered_head);
        blocks.push(Block::heading(3, title));
        blocks.push(list(r, &r.lessening, clock));
    }
    blocks.extend(tried(r));
    Block::part(&format!("remedies-{n}"), title, blocks)
}

/// That nothing helps; or only that nothing was found, and what was not settled.
fn nothing(r: &Remedies, goal: &str) -> (String, Vec<Block>) {
    if r.proven {
        let why = "No plan does it with any change below, nor with any two of different kinds.";
        return (format!("No way to {goal}"), vec![Block::paragraph(why)]);
    }
    let mut why = vec!["Changes below were tried, and two of different kinds together.".to_owned()];
    if !r.not_tried.is_empty() {
        why.push("The search was stopped by hand.".to_owned());
    } else if !r.every_pair_counted {
        why.push("There were too many pairs of changes to count each.".to_owned());
    }
    if r.undecided > 0 {
        why.push(format!(
            "With {}, it is not certain that no other plan would.",
            count(r.undecided, "change", "changes")
        ));
    }
    (
        format!("No way was found to {goal}"),
        vec![Block::paragraph(why.join(" "))],
    )
}

fn list(of: &Remedies, all: &[Remedy], clock: Clock) -> Block {
    let items = all.iter().enumerate().map(|(n, remedy)| {
        let mut item = Item::text(format!("{}. {}", n + 1, remedy.asks.join(" And: ")));
        item.blocks.push(Block::facts(facts(of, remedy, clock)));
        item
    });
    Block::List(ListKind::Plain, items.collect())
}

fn facts(of: &Remedies, remedy: &Remedy, clock: Clock) -> Vec<(&'static str, String)> {
    let mut facts = Vec::new();
    let binding = remedy.binding.map_or("", Binding::as_str);
    if remedy.uncovered_head == 0 {
        let hours = match (remedy.first_cow, remedy.last_cow) {
            (Some(a), Some(b)) => {
                format!(", {} to {}", clock.day(a.naive_local()), clock.time(b))
            }
            _ => String::new(),
        };
        let spare = match (remedy.margin_minutes, remedy.margin_head) {
            (..=0, 0) => "none".to_owned(),
            (minutes, head) => format!("{} or {head} more head", human_minutes(minutes)),
        };
        let margin = format!("{spare} (limit: {binding})");
        facts.push(("Then", format!("all are bred{hours}")));
        facts.push(("Margin", margin));
    } else {
        let left = format!(
            "{} head are left unbred (limit: {binding})",
            remedy.uncovered_head
        );
        facts.push(("Then", left));
    }
    let more = remedy.elsewhere_uncovered_head;
    let more = more.saturating_sub(of.elsewhere_uncovered_head);
    if more > 0 {
        facts.push(("Elsewhere", format!("{more} more head are left unbred")));
    }
    let brings = remedy.brings.iter().take(BRINGS);
    facts.extend(brings.map(|b| ("Brings", b.clone())));
    let more = remedy.brings.len().saturating_sub(BRINGS);
    if more > 0 {
        facts.push(("Brings", format!("{more} more such (--json names them)")));
    }
    facts.extend(remedy.write.iter().map(|w| ("Write", w.clone())));
    facts
}

/// Kinds of change that did not help by themselves.
fn tried(r: &Remedies) -> Vec<Block> {
    let alone = |t: &&Tried| r.covering.iter().all(|c| c.kinds != [t.kind.as_str()]);
    let mut rows = Vec::new();
    let mut none = Vec::new();
    let mut counted = None;
    for t in r.tried.iter().filter(alone) {
        match t.fewest_left_head.filter(|_| t.counted > 0) {
            None => none.push(t.words.clone()),
            Some(left) => {
                // What counting lets through, the plan then did not bear out.
                counted = counted.or((left == 0).then_some(
                    "Where 0 are left, that is by counting alone: no plan was found that breeds all in time.",
                ));
                rows.push(Row::named(
                    &t.words,
                    [t.counted, left].map(|n| n.to_string()),
                ));
            }
        }
    }
    let title = if r.nothing_covers {
        "What was tried"
    } else {
        "Also tried"
    };
    let mut blocks = Vec::new();
    if !rows.is_empty() || !none.is_empty() {
        blocks.push(Block::heading(3, title));
    }
    if !rows.is_empty() {
        let columns = ["change", "tried", "fewest left"];
        blocks.push(Block::table(title, &columns, rows));
    }
    blocks.extend(counted.map(Block::paragraph));
    if !none.is_empty() {
        blocks.push(Block::paragraph(format!(
            "Did not apply here: {}.",
            none.join("; ")
        )));
    }
    blocks
}
