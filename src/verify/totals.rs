//! Straws, people's shares and the verdict add up.

use std::collections::{BTreeMap, BTreeSet};

use super::Reading;
use crate::base::error::{Code, Severity};
use crate::planning::plan::{BullStraws, Work};
use crate::trade::protocol::Step;

pub(super) fn check(r: &mut Reading<'_>) {
    straws(r);
    technicians(r);
    verdict(r);
    search(r);
    ids(r);
}

/// What is said of the search adds up: heads bred, bounds, and the gap between them.
fn search(r: &mut Reading<'_>) {
    let plan = r.plan;
    let given = &plan.search;
    let planned = given.parts.saturating_sub(given.proven);
    let found = given.open.len() as u32;
    r.same("search: parts not proven", &planned, &found);
    let gap = |covered: u32, bound: u32| {
        let apart = f64::from(bound.saturating_sub(covered));
        100.0 * apart / f64::from(bound.max(1))
    };
    let mut told = BTreeSet::new();
    let mut more = 0;
    for part in &given.open {
        let who = format!("search: {}", part.sessions.first().map_or("", |s| s));
        let sessions = plan.sessions.iter();
        let here: Vec<_> = sessions.filter(|s| part.sessions.contains(&s.id)).collect();
        let bred: u32 = here.iter().map(|s| s.head).sum();
        let due: u32 = here.iter().flat_map(|s| &s.pens).map(|p| p.head).sum();
        r.same(&who, &part.sessions.len(), &here.len());
        r.same(&who, &bred, &part.covered_head);
        if part.bound_head < bred || part.bound_head > due {
            let wanted = format!("a bound from {bred} to {due}");
            r.wrong(&who, wanted, part.bound_head);
        }
        let exact = gap(bred, part.bound_head);
        if !(exact - 1e-6..exact + 0.0101).contains(&part.gap_percent) {
            r.wrong(&who, format!("a gap of {exact} %"), part.gap_percent);
        }
        more += part.bound_head.saturating_sub(bred);
        if !part.sessions.iter().all(|s| told.insert(s.as_str())) {
            r.wrong(&who, "each session in one part", "one in two");
        }
    }
    let bred: u32 = plan.sessions.iter().map(|s| s.head).sum();
    let exact = gap(bred, bred + more);
    if !(exact - 1e-6..exact + 0.0101).contains(&given.gap_percent) {
        r.wrong("search", format!("a gap of {exact} %"), given.gap_percent);
    }
}

fn straws(r: &mut Reading<'_>) {
    let (season, plan) = (r.season, r.plan);
    let timed = timed_head(r);
    let twice = planned_twice(r, &timed);
    r.same("bulls", &season.bulls.len(), &plan.bulls.len());
    for (bull, given) in season.bulls.iter().zip(&plan.bulls) {
        let who = format!("bull {}", bull.id);
        let straws = plan.groups.iter().flat_map(|g| &g.straws);
        let straws = straws.filter(|s| s.bull == bull.id.as_str());
        let planned: u32 = straws.map(|s| s.straws).sum();
        let stock: u32 = bull.places.iter().map(|p| p.straws.0).sum();
        r.same(&who, &bull.id.as_str(), &given.id.as_str());
        let found = (given.straws, given.planned_straws);
        r.same(&who, &(stock, planned), &found);
        if planned > stock || given.left_straws != stock - planned.min(stock) {
            r.wrong(&who, format!("at most {stock} straws"), planned);
        }
        let brought: u32 = plan
            .sessions
            .iter()
            .filter(|s| !s.pens.iter().any(|p| twice.contains(p.group.as_str())))
            .flat_map(|s| &s.straws)
            .filter(|s| s.bull == bull.id.as_str())
            .map(|s| s.straws)
            .sum();
        if brought > planned {
            let wanted = format!("at most {planned} straws brought to sessions");
            r.wrong(&who, wanted, brought);
        }
    }
    of_groups(r, &timed);
    brought(r);
    spare(r);
}

/// Each group has a straw an animal bred, of its bulls, and lacks no more than it says.
fn of_groups(r: &mut Reading<'_>, timed: &BTreeMap<&str, u32>) {
    let (season, plan) = (r.season, r.plan);
    let mut unbred: BTreeMap<&str, u32> = BTreeMap::new();
    for u in &plan.uncovered {
        *unbred.entry(&u.group).or_default() += u.head;
    }
    for (group, given) in season.groups.iter().zip(&plan.groups) {
        let who = format!("straws of {}", group.id);
        let allowed = group.bulls.iter();
        let allowed: Vec<&str> = allowed.map(|b| season.bulls[*b].id.as_str()).collect();
        if given
            .straws
            .iter()
            .any(|s| !allowed.contains(&s.bull.as_str()))
        {
            r.wrong(&who, format!("bulls {allowed:?}"), "another bull");
        }
        let straws: u32 = given.straws.iter().map(|s| s.straws).sum();
        let head = group.head().0;
        let of = |heads: &BTreeMap<&str, u32>| heads.get(given.id.as_str()).copied().unwrap_or(0);
        let (timed, missed) = (of(timed), of(&unbred));
        // Animals in no session are bred by heat.
        let wanted = head.min(head.saturating_sub(timed) + timed - missed.min(timed));
        // Straws may be short for animals bred by heat, where the plan says so. A group planned
        // twice over needs a straw an animal at the most.
        let told = || timed < head && r.told(Code::StrawsShort, group);
        let short = straws < wanted && timed <= head && !told();
        if straws > head || short {
            r.wrong(&who, wanted, straws);
        }
        // Nobody is short of straws while some are left, nor for more than the animals without one.
        let mut bulls = plan.bulls.iter();
        let left = bulls.any(|b| allowed.contains(&b.id.as_str()) && b.left_straws > 0);
        if given.straws_short > head - straws.min(head) || (left && given.straws_short > 0) {
            let most = if left { 0 } else { head - straws.min(head) };
            let who = format!("straws short of {}", group.id);
            r.wrong(&who, format!("at most {most}"), given.straws_short);
        }
    }
}

/// The fewest wasted, of straws of which so many are used, when the share is wasted.
fn wasted(share: f64, used: u32) -> u32 {
    let fits = |w: u32| f64::from(w) >= share * f64::from(used + w) - 1e-6;
    (0..=100_000_000).find(|w| fits(*w)).unwrap_or(0)
}

/// What is brought for cows that never come, session by session, as far as straws are left.
fn spare(r: &mut Reading<'_>) {
    let (share, plan) = (r.season.rules.straws.wasted, r.plan);
    for bull in &plan.bulls {
        let of = |all: &[BullStraws]| -> u32 {
            let mine = all.iter().filter(|s| s.bull == bull.id);
            mine.map(|s| s.straws).sum()
        };
        let (mut used, mut aside) = (0, 0);
        for s in &plan.sessions {
            let before = wasted(share, used.min(bull.planned_straws));
            used += of(&s.straws);
            let due = wasted(share, used.min(bull.planned_straws)) - before;
            let there = due.min(bull.left_straws - aside);
            aside += there;
            let who = format!("straws of {} to spare at {}", bull.id, s.id);
            r.same(&who, &there, &of(&s.spare_straws));
        }
        let who = format!("straws of {} to spare", bull.id);
        r.same(&who, &aside, &bull.spare_straws);
    }
}

/// Each session gets a straw an animal, of bulls of the groups bred there.
fn brought(r: &mut Reading<'_>) {
    let (season, plan) = (r.season, r.plan);
    let bulls_of = season.groups.iter().map(|g| {
        let bulls = g.bulls.iter().map(|b| season.bulls[*b].id.as_str());
        (g.id.as_str(), bulls.collect())
    });
    let bulls_of: BTreeMap<&str, Vec<&str>> = bulls_of.collect();
    for session in &plan.sessions {
        let allowed = |bull: &str| {
            let pens = session.pens.iter();
            let groups = pens.filter_map(|p| bulls_of.get(p.group.as_str()));
            groups.flatten().any(|b| *b == bull)
        };
        if let Some(other) = session.straws.iter().find(|s| !allowed(&s.bull)) {
            let who = format!("straws at {}", session.id);
            r.wrong(&who, "bulls of the groups bred here", &other.bull);
        }
        let brought: u32 = session.straws.iter().map(|s| s.straws).sum();
        if brought != session.head {
            r.wrong(&format!("straws at {}", session.id), session.head, brought);
        }
    }
}

/// Head of each group in its breeding passes.
fn timed_head<'a>(r: &Reading<'a>) -> BTreeMap<&'a str, u32> {
    let mut heads = BTreeMap::new();
    for p in r.plan.passes.iter().filter(|p| p.work == Work::Breeding) {
        *heads.entry(p.group.as_str()).or_default() += p.head;
    }
    heads
}

/// Groups whose breeding steps together plan for more head than they have.
fn planned_twice<'a>(r: &Reading<'a>, timed: &BTreeMap<&'a str, u32>) -> BTreeSet<&'a str> {
    let groups = r.season.groups.iter().map(|g| (g.id.as_str(), g.head().0));
    let more = groups.filter(|(id, head)| timed.get(id).is_some_and(|t| t > head));
    more.map(|(id, _)| id).collect()
}

fn technicians(r: &mut Reading<'_>) {
    let (season, plan) = (r.season, r.plan);
    r.same("technicians", &season.crew.len(), &plan.technicians.len());
    for given in &plan.technicians {
        let mine = || {
            let people = plan.sessions.iter().flat_map(|s| &s.technicians);
            people.filter(|a| a.id == given.id)
        };
        let who = format!("technician {}", given.id);
        let wanted = (mine().count() as u32, mine().map(|a| a.head).sum::<u32>());
        r.same(&who, &wanted, &(given.sessions, given.head));
        let seconds: i64 = mine().map(|a| (a.last_cow - a.begins).num_seconds()).sum();
        if (seconds as f64 / 3600.0 - given.hours).abs() > 0.006 {
            r.wrong(&who, seconds as f64 / 3600.0, given.hours);
        }
    }
}

fn verdict(r: &mut Reading<'_>) {
    let (season, plan) = (r.season, r.plan);
    let v = &plan.verdict;
    let due = plan.passes.iter();
    let due = due.filter(|p| p.work == Work::Breeding && p.hours.is_some());
    let due: u32 = due.map(|p| p.head).sum();
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
    let found = (v.by_heat_head, v.unplanned_head, v.not_seen_head);
    r.same("verdict: by heat", &(by_heat, unplanned, not_seen), &found);
    let broken = plan.findings.iter().any(|f| f.severity != Severity::Note);
    r.same("verdict: rules broken", &broken, &v.rules_broken);
    if plan.findings.iter().any(|f| f.severity == Severity::Error) {
        r.wrong("findings", "no error in a plan", "one");
    }
    if missed > 0
        && !plan
            .findings
            .iter()
            .any(|f| matches!(f.code, Code::Uncovered | Code::StrawsShort))
    {
        r.wrong("findings", "one that names what is uncovered", "none");
    }
    if v.words.is_empty() {
        r.wrong("verdict", "words", "none");
    }
}

fn ids(r: &mut Reading<'_>) {
    let plan = r.plan;
    let passes = plan.passes.iter().map(|p| p.id.as_str());
    let sessions = plan.sessions.iter().map(|s| s.id.as_str());
    let mut ids: Vec<&str> = passes.chain(sessions).collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    r.same("ids", &ids.len(), &all);
    let wanted = crate::planning::plan::FORMAT;
    r.same("format", &wanted, &plan.format.as_str());
    r.same("zone", &r.season.zone.name(), &plan.zone.as_str());
}
