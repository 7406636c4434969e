//! Straws, people's shares and the verdict add up.

use super::Reading;
use crate::plan::Work;
use crate::protocol::Step;

pub(super) fn check(r: &mut Reading<'_>) {
    straws(r);
    technicians(r);
    verdict(r);
    ids(r);
}

fn straws(r: &mut Reading<'_>) {
    let (season, plan) = (r.season, r.plan);
    r.same("bulls", &season.bulls.len(), &plan.bulls.len());
    for (bull, given) in season.bulls.iter().zip(&plan.bulls) {
        let who = format!("bull {}", bull.id);
        let planned: u32 = plan
            .groups
            .iter()
            .flat_map(|g| &g.straws)
            .filter(|s| s.bull == bull.id.as_str())
            .map(|s| s.straws)
            .sum();
        let stock: u32 = bull.places.iter().map(|p| p.straws.0).sum();
        r.same(&who, &bull.id.as_str(), &given.id.as_str());
        r.same(
            &who,
            &(stock, planned),
            &(given.straws, given.planned_straws),
        );
        if planned > stock || given.left_straws != stock - planned.min(stock) {
            r.wrong(&who, format!("at most {stock} straws"), planned);
        }
        let brought: u32 = plan
            .sessions
            .iter()
            .filter(|s| !s.pens.iter().any(|p| planned_twice(r, &p.group)))
            .flat_map(|s| &s.straws)
            .filter(|s| s.bull == bull.id.as_str())
            .map(|s| s.straws)
            .sum();
        if brought > planned {
            r.wrong(
                &who,
                format!("at most {planned} straws brought to sessions"),
                brought,
            );
        }
    }
    for (group, given) in season.groups.iter().zip(&plan.groups) {
        let who = format!("straws of {}", group.id);
        let allowed: Vec<&str> = group
            .bulls
            .iter()
            .map(|b| season.bulls[*b].id.as_str())
            .collect();
        if given
            .straws
            .iter()
            .any(|s| !allowed.contains(&s.bull.as_str()))
        {
            r.wrong(&who, format!("bulls {allowed:?}"), "another bull");
        }
        let straws: u32 = given.straws.iter().map(|s| s.straws).sum();
        let head = group.head().0;
        let passes = || {
            plan.passes
                .iter()
                .filter(|p| p.group == given.id && p.work == Work::Breeding)
        };
        let timed: u32 = passes().map(|p| p.head).sum();
        let missed: u32 = plan
            .uncovered
            .iter()
            .filter(|u| u.group == given.id)
            .map(|u| u.head)
            .sum();
        // Animals in no session are bred by heat.
        let wanted = head.min(head.saturating_sub(timed) + timed - missed.min(timed));
        // Straws may be short for animals bred by heat, where the plan says so. A group planned
        // twice over needs a straw an animal at the most.
        let told = || {
            plan.findings
                .iter()
                .any(|f| f.code == "W103" && f.what.contains(&format!("`{}`", given.id)))
        };
        let short = straws < wanted && timed <= head && !(timed < head && told());
        if straws > head || short {
            r.wrong(&who, wanted, straws);
        }
    }
    for session in &plan.sessions {
        let allowed = |bull: &str| {
            let groups = session.pens.iter().filter_map(|p| r.group(&p.group));
            groups
                .flat_map(|g| &g.bulls)
                .any(|b| season.bulls[*b].id.as_str() == bull)
        };
        if let Some(other) = session.straws.iter().find(|s| !allowed(&s.bull)) {
            let who = format!("straws at {}", session.id);
            r.wrong(&who, "bulls of the groups bred here", &other.bull);
        }
        let brought: u32 = session.straws.iter().map(|s| s.straws).sum();
        let twice = session.pens.iter().any(|p| planned_twice(r, &p.group));
        if brought > session.head || (brought < session.head && !twice) {
            r.wrong(&format!("straws at {}", session.id), session.head, brought);
        }
    }
}

/// True for a group whose breeding steps together plan for more head than it has.
fn planned_twice(r: &Reading<'_>, group: &str) -> bool {
    let passes = r.plan.passes.iter();
    let timed: u32 = passes
        .filter(|p| p.group == group && p.work == Work::Breeding)
        .map(|p| p.head)
        .sum();
    r.group(group).is_some_and(|g| timed > g.head().0)
}

fn technicians(r: &mut Reading<'_>) {
    let (season, plan) = (r.season, r.plan);
    r.same("technicians", &season.crew.len(), &plan.technicians.len());
    for given in &plan.technicians {
        let mine = || {
            plan.sessions
                .iter()
                .flat_map(|s| &s.technicians)
                .filter(|a| a.id == given.id)
        };
        let who = format!("technician {}", given.id);
        r.same(
            &who,
            &(mine().count() as u32, mine().map(|a| a.head).sum::<u32>()),
            &(given.sessions, given.head),
        );
        let seconds: i64 = mine().map(|a| (a.last_cow - a.begins).num_seconds()).sum();
        if (seconds as f64 / 3600.0 - given.hours).abs() > 0.006 {
            r.wrong(&who, seconds as f64 / 3600.0, given.hours);
        }
    }
}

fn verdict(r: &mut Reading<'_>) {
    let (season, plan) = (r.season, r.plan);
    let v = &plan.verdict;
    let due: u32 = plan
        .passes
        .iter()
        .filter(|p| p.work == Work::Breeding && p.hours.is_some())
        .map(|p| p.head)
        .sum();
    let missed: u32 = plan.uncovered.iter().map(|u| u.head).sum();
    let bred: u32 = plan.sessions.iter().map(|s| s.head).sum();
    r.same(
        "verdict",
        &(season.head().0, due, bred, missed, missed == 0),
        &(
            v.season_head,
            v.due_head,
            v.covered_head,
            v.uncovered_head,
            v.covered,
        ),
    );
    let halves = || plan.groups.iter().filter_map(|g| g.heat.as_ref());
    let by_heat: u32 = halves().map(|h| h.bred_head).sum();
    let watched = season.groups.iter().zip(&plan.groups);
    let (mut unplanned, mut not_seen) = (0, 0);
    for (group, given) in
        watched.filter(|(g, _)| g.protocol.steps.iter().any(Step::is_heat_breeding))
    {
        let passes = plan.passes.iter();
        let mine = passes.filter(|p| p.group == given.id && p.work == Work::Breeding);
        let left = group.head().0.saturating_sub(mine.map(|p| p.head).sum());
        *(if given.heat.is_some() {
            &mut not_seen
        } else {
            &mut unplanned
        }) += left;
    }
    r.same(
        "verdict: by heat",
        &(by_heat, unplanned, not_seen),
        &(v.by_heat_head, v.unplanned_head, v.not_seen_head),
    );
    let broken = plan.findings.iter().any(|f| f.severity != "note");
    r.same("verdict: rules broken", &broken, &v.rules_broken);
    if plan.findings.iter().any(|f| f.severity == "error") {
        r.wrong("findings", "no error in a plan", "one");
    }
    if missed > 0
        && !plan
            .findings
            .iter()
            .any(|f| f.code == "W102" || f.code == "W103")
    {
        r.wrong("findings", "one that names what is uncovered", "none");
    }
    if v.words.is_empty() {
        r.wrong("verdict", "words", "none");
    }
}

fn ids(r: &mut Reading<'_>) {
    let plan = r.plan;
    let mut ids: Vec<&str> = plan
        .passes
        .iter()
        .map(|p| p.id.as_str())
        .chain(plan.sessions.iter().map(|s| s.id.as_str()))
        .collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    r.same("ids", &ids.len(), &all);
    r.same("format", &crate::plan::FORMAT, &plan.format.as_str());
    r.same("zone", &r.season.zone.name(), &plan.zone.as_str());
}
