//! The verdict, in figures and in sentences.

use super::answer::Verdict;
use super::{Question, left_in};
use crate::base::units::human_minutes;
use crate::planning::plan::{Plan, Session};
use crate::trade::season::Season;

fn plural(n: usize) -> &'static str {
    if n == 1 { "" } else { "s" }
}

pub(super) fn verdict(
    season: &Season,
    plan: &Plan,
    asked: &[&Session],
    of: &Question,
    group: Option<usize>,
) -> Verdict {
    let mine = |id: &String| of.group.as_ref().is_none_or(|g| g == id);
    let pens = asked
        .iter()
        .flat_map(|s| &s.pens)
        .filter(|p| mine(&p.group));
    let due: u32 = pens.map(|p| p.head).sum();
    let left: u32 = asked.iter().map(|s| left_in(plan, s, of)).sum();
    let thin: Vec<&&Session> = asked
        .iter()
        .filter(|s| s.margin_minutes < of.least_margin_minutes)
        .collect();
    let half_days = asked
        .iter()
        .flat_map(|s| &s.pens)
        .filter(|p| mine(&p.group) && p.by_heat.is_some());
    let by_heat: u32 = half_days.map(|p| p.head).sum();
    let unplanned = match group {
        Some(g) if asked.is_empty() => season.groups[g].head().0,
        None if of.session.is_none() => plan.verdict.unplanned_head,
        _ => 0,
    };
    let mut words = Vec::new();
    if due == 0 {
        words.push("Nobody is due at set hours: there is nothing to cover.".to_owned());
    } else if left == 0 {
        words.push(format!(
            "Covered: all {due} head are bred inside their hours, in {} session{}.",
            asked.len(),
            plural(asked.len())
        ));
        let tightest = asked
            .iter()
            .min_by_key(|s| (s.margin_minutes, s.margin_head));
        if let Some(s) = tightest {
            words.push(format!(
                "{} margin is {} or {} head, at {} on {}; {}.",
                if asked.len() == 1 { "The" } else { "The least" },
                human_minutes(s.margin_minutes),
                s.margin_head,
                plan.site_name(&s.site),
                s.first_cow.unwrap_or(s.open).format("%a %-d %b"),
                s.binding_words
            ));
        }
    } else {
        let short = asked.iter().filter(|s| left_in(plan, s, of) > 0).count();
        let all_proven = plan.search.proven == plan.search.parts;
        words.push(format!(
            "Not covered: {left} of {due} head {} inside their hours, in {short} of {} session{}.",
            if all_proven {
                "cannot be bred"
            } else {
                "are not bred"
            },
            asked.len(),
            plural(asked.len())
        ));
    }
    if left == 0 && !thin.is_empty() {
        words.push(format!(
            "{} session{} leave{} less than the margin of {} asked for.",
            thin.len(),
            plural(thin.len()),
            if thin.len() == 1 { "s" } else { "" },
            human_minutes(of.least_margin_minutes)
        ));
    }
    if by_heat > 0 {
        words.push(format!(
            "{by_heat} of these are expected by detected heat, half-day by half-day: chance will make them more or fewer."
        ));
    }
    if unplanned > 0 {
        words.push(format!(
            "{unplanned} head are bred as they come in heat, and nobody says how many on which day: this command is about set hours, and says nothing of them."
        ));
    }
    Verdict {
        covered: left == 0,
        margin_kept: left == 0 && thin.is_empty(),
        due_head: due,
        uncovered_head: left,
        elsewhere_uncovered_head: plan.verdict.uncovered_head - left,
        by_heat_head: by_heat,
        unplanned_head: unplanned,
        words,
    }
}
