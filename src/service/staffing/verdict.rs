//! The verdict, in figures and in sentences.

use super::answer::Verdict;
use super::{Question, left_in};
use crate::base::units::{count, human_minutes};
use crate::planning::plan::{Plan, Session};
use crate::trade::season::Season;

pub(super) fn verdict(
    season: &Season,
    plan: &Plan,
    asked: &[&Session],
    of: &Question,
    group: Option<usize>,
) -> Verdict {
    let mine = |id: &String| of.group.as_ref().is_none_or(|g| g == id);
    let pens = asked.iter().flat_map(|s| &s.pens);
    let pens = pens.filter(|p| mine(&p.group));
    let due: u32 = pens.clone().map(|p| p.head).sum();
    let left: u32 = asked.iter().map(|s| left_in(plan, s, of)).sum();
    let thin = asked
        .iter()
        .filter(|s| s.margin_minutes < of.least_margin_minutes)
        .count();
    let half_days = pens.filter(|p| p.by_heat.is_some());
    let by_heat: u32 = half_days.map(|p| p.head).sum();
    let unplanned = match group {
        Some(g) if asked.is_empty() => season.groups[g].head().0,
        None if of.session.is_none() => plan.verdict.unplanned_head,
        _ => 0,
    };
    let mut verdict = Verdict {
        covered: left == 0,
        margin_kept: left == 0 && thin == 0,
        due_head: due,
        uncovered_head: left,
        elsewhere_uncovered_head: plan.verdict.uncovered_head - left,
        by_heat_head: by_heat,
        unplanned_head: unplanned,
        words: Vec::new(),
    };
    verdict.words = if due == 0 {
        vec!["No animal is to be bred at a set time: there is nothing to staff.".to_owned()]
    } else if left == 0 {
        covered(plan, asked, due)
    } else {
        vec![not_covered(plan, asked, of, &verdict)]
    };
    if left == 0 && thin > 0 {
        verdict.words.push(format!(
            "{} less room than the {} you asked for.",
            count(thin as u32, "session leaves", "sessions leave"),
            human_minutes(of.least_margin_minutes)
        ));
    }
    if by_heat > 0 {
        verdict.words.push(format!(
            "{by_heat} of these are expected in heat, half-day by half-day: the real number will be higher or lower."
        ));
    }
    if unplanned > 0 {
        verdict.words.push(format!(
            "{unplanned} head are bred as they come in heat, and the file does not say how many on which day: they are left out here."
        ));
    }
    verdict
}

fn covered(plan: &Plan, asked: &[&Session], due: u32) -> Vec<String> {
    let sessions = count(asked.len() as u32, "session", "sessions");
    let mut words = vec![format!(
        "On time: all {due} head are bred in their AI windows, in {sessions}."
    )];
    let tightest = asked
        .iter()
        .min_by_key(|s| (s.margin_minutes, s.margin_head));
    words.extend(tightest.map(|s| {
        format!(
            "{} room to spare is {} or {} head, at {} on {}; {}.",
            if asked.len() == 1 { "The" } else { "The least" },
            human_minutes(s.margin_minutes),
            s.margin_head,
            plan.site_name(&s.site),
            s.first_cow.unwrap_or(s.open).format("%a %-d %b"),
            s.binding_words
        )
    }));
    words
}

fn not_covered(plan: &Plan, asked: &[&Session], of: &Question, verdict: &Verdict) -> String {
    let (left, due) = (verdict.uncovered_head, verdict.due_head);
    let short = asked.iter().filter(|s| left_in(plan, s, of) > 0).count();
    let are = if plan.search.proven == plan.search.parts {
        "cannot be bred"
    } else {
        "are not bred"
    };
    let sessions = count(asked.len() as u32, "session", "sessions");
    format!("Short: {left} of {due} head {are} in their AI windows, in {short} of {sessions}.")
}
