//! What would help, for the terminal: what covers, what lessens, and what was tried.

use std::fmt::Write as _;

use super::super::{line, wrapped};
use crate::base::units::human_minutes;
use crate::service::cover::{Remedies, Remedy};

/// Remarks of a plan that are shown of a remedy.
const BRINGS: usize = 2;

pub(super) fn remedies(text: &mut String, r: &Remedies) {
    text.push('\n');
    let of = r.groups.join(", ");
    let thin = r.uncovered_head == 0;
    if r.nothing_covers {
        let what = if thin {
            "gives that margin to the breeding"
        } else {
            "covers the breeding"
        };
        line(text, &nothing(r, what, &of), "");
    } else {
        line(
            text,
            &format!(
                "What {} of {of}, the least asked first; each is planned and verified:",
                if thin {
                    "gives that margin to the breeding"
                } else {
                    "covers the breeding"
                }
            ),
            "",
        );
        for (n, remedy) in r.covering.iter().enumerate() {
            one(text, r, remedy, n + 1);
        }
    }
    if !r.lessening.is_empty() {
        line(
            text,
            &format!(
                "What only lessens the shortfall of {} head:",
                r.uncovered_head
            ),
            "",
        );
        for (n, remedy) in r.lessening.iter().enumerate() {
            one(text, r, remedy, n + 1);
        }
    }
    tried(text, r);
}

/// That nothing helps; or only that nothing was found, and what was not settled.
fn nothing(r: &Remedies, what: &str, of: &str) -> String {
    if r.proven {
        return format!(
            "Nothing {what} of {of}: no plan does with any change below, nor with any two of different kinds."
        );
    }
    let mut why = Vec::new();
    if !r.not_tried.is_empty() {
        why.push("the search was stopped by hand".to_owned());
    } else if !r.every_pair_counted {
        why.push("there were too many pairs of changes to count each".to_owned());
    }
    if r.undecided > 0 {
        why.push(format!(
            "of {} changes it is not certain that no other plan would",
            r.undecided
        ));
    }
    format!(
        "Nothing was found that {what} of {of}, with any change below or with two of different kinds; {}.",
        why.join(", and ")
    )
}

fn one(text: &mut String, of: &Remedies, remedy: &Remedy, n: usize) {
    let asks = remedy.asks.join(" And: ");
    let _ = writeln!(text, "{}", wrapped(&asks, &format!("{n:>4}. "), "      "));
    let left = if remedy.uncovered_head == 0 {
        let hours = match (remedy.first_cow, remedy.last_cow) {
            (Some(a), Some(b)) => format!(
                ", cows {} to {}",
                a.format("%a %-d %b %H:%M"),
                b.format("%H:%M")
            ),
            _ => String::new(),
        };
        format!(
            "Leaves nobody{hours}; margin {} or {} head ({}).",
            human_minutes(remedy.margin_minutes),
            remedy.margin_head,
            remedy.binding
        )
    } else {
        format!(
            "Leaves {} head ({}).",
            remedy.uncovered_head, remedy.binding
        )
    };
    let more = remedy
        .elsewhere_uncovered_head
        .saturating_sub(of.elsewhere_uncovered_head);
    let elsewhere = if more > 0 {
        format!(" {more} head more are left elsewhere.")
    } else {
        String::new()
    };
    let _ = writeln!(
        text,
        "{}",
        wrapped(&format!("{left}{elsewhere}"), "      ", "        ")
    );
    for remark in remedy.brings.iter().take(BRINGS) {
        let _ = writeln!(
            text,
            "{}",
            wrapped(&format!("Brings: {remark}"), "      ", "        ")
        );
    }
    if remedy.brings.len() > BRINGS {
        let more = remedy.brings.len() - BRINGS;
        let _ = writeln!(text, "      Brings {more} more such (--json names them).");
    }
    for write in &remedy.write {
        let _ = writeln!(
            text,
            "{}",
            wrapped(&format!("Write: {write}"), "      ", "        ")
        );
    }
}

fn tried(text: &mut String, r: &Remedies) {
    let useless: Vec<String> = r
        .tried
        .iter()
        .filter(|t| r.covering.iter().all(|c| c.kinds != [t.kind.as_str()]))
        .map(|t| match (t.counted, t.fewest_left_head) {
            (0, _) | (_, None) => format!("{}: none to try", t.words),
            // What counting lets through, the plan then did not bear out.
            (n, Some(0)) => format!("{}: {n} tried, 0 left by counting", t.words),
            (n, Some(left)) => format!("{}: {n} tried, {left} left at the least", t.words),
        })
        .collect();
    if !useless.is_empty() {
        let head = if r.nothing_covers {
            "Tried"
        } else {
            "Tried as well"
        };
        line(text, &format!("{head}: {}.", useless.join("; ")), "");
    }
    line(
        text,
        "What is asked is weighed in points of our own (common practice, no source).",
        "",
    );
}
