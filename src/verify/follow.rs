//! What follows AI: every day of it counted again from the days of breeding and treatment in the plan.

use std::collections::BTreeSet;

use chrono::{NaiveDate, TimeDelta, Utc};

use super::Reading;
use crate::plan::{GroupFollowUp, Pass, Work};
use crate::season::Group;

/// An id, its first day, and its last.
type Dated = (String, NaiveDate, Option<NaiveDate>);

/// Days for meat after the last treatment: the longest that a listed publication states.
const WITHDRAWAL: [(&[&str], i64); 3] = [
    (&["pg", "pg-double"], 2),
    (&["insert-in", "insert-out"], 0),
    (&["feed-mga"], 1),
];

/// Drugs for which nothing is listed.
const NOT_LISTED: [&str; 2] = ["gnrh", "estradiol"];

pub(super) fn check(r: &mut Reading<'_>) {
    let plan = r.plan;
    for (site, given) in r.season.sites.iter().zip(&plan.sites) {
        let place = given.latitude.zip(given.longitude);
        r.same(&format!("where {} is", site.id), &site.position, &place);
    }
    let mut given = plan.follow_up.iter();
    for group in &r.season.groups {
        let Some((first, last)) = bred(r, group) else {
            continue;
        };
        let who = format!("what follows for {}", group.id);
        match given.next() {
            Some(g) if g.group == group.id.as_str() => {
                r.same(&who, &(first, last), &(g.first_bred, g.last_bred));
                days(r, &who, group, g);
            }
            other => r.wrong(&who, "a list", format!("{:?}", other.map(|g| &g.group))),
        }
    }
    if let Some(more) = given.next() {
        r.wrong("what follows", "each group that is bred once", &more.group);
    }
}

fn days(r: &mut Reading<'_>, who: &str, group: &Group, given: &GroupFollowUp) {
    let wanted = expected(r, group, given.first_bred, given.last_bred);
    let got: BTreeSet<Dated> = given
        .events
        .iter()
        .map(|e| (e.id.clone(), e.first_day, e.last_day))
        .collect();
    if got.len() != given.events.len() || wanted != got {
        r.wrong(who, format!("{wanted:?}"), format!("{got:?}"));
    }
    for event in &given.events {
        r.same(&event.id, &group.head().0, &event.head);
        r.same(
            &event.id,
            &format!("{}/{}", group.id, event.kind.as_str()),
            &event.id,
        );
        if event.words.is_empty() {
            r.wrong(&event.id, "why then", "no words");
        }
    }
    let ordered = given
        .events
        .windows(2)
        .all(|w| w[0].first_day <= w[1].first_day);
    if !ordered {
        r.wrong(who, "by first day", "another order");
    }
}

fn expected(r: &Reading<'_>, group: &Group, first: NaiveDate, last: NaiveDate) -> BTreeSet<Dated> {
    let on = |day: NaiveDate, n: i64| day + TimeDelta::days(n);
    let mut found = vec![
        ("return-heat", on(first, 18), Some(on(last, 24))),
        ("blood-test", on(last, 30), None),
        ("palpation", on(last, 45), None),
    ];
    let aged = on(first, 90);
    let scan = on(last, 28);
    found.push(("ultrasound", scan, (scan <= aged).then_some(aged)));
    let g = &group.after.gestation;
    let mean = i64::from(g.days);
    let early = mean - i64::from(g.early_days);
    found.push(("first-calving", on(first, early), Some(on(first, early))));
    found.push(("mean-calving", on(first, mean), Some(on(last, mean))));
    if let Some(bulls) = &group.after.bulls {
        let inn = bulls.turned_out;
        found.push(("bulls-in", inn, Some(inn)));
        let late = bulls.out.map(|o| on(o, mean + i64::from(g.late_days)));
        found.push(("bull-calving", on(inn, early), late));
        found.extend(bulls.out.map(|o| ("bulls-out", o, Some(o))));
        let told = on(inn, 30).max(on(last, 30));
        if told <= aged {
            found.push(("ai-or-bull", told, Some(aged)));
        }
    }
    found.extend(withdrawn(r, group).map(|day| ("withdrawal", day, Some(day))));
    found
        .into_iter()
        .map(|(kind, a, z)| (format!("{}/{kind}", group.id), a, z))
        .collect()
}

/// The days on which a group is bred, the first and the last.
fn bred(r: &Reading<'_>, group: &Group) -> Option<(NaiveDate, NaiveDate)> {
    let mut found: BTreeSet<NaiveDate> = BTreeSet::new();
    let passes = || {
        r.plan
            .passes
            .iter()
            .filter(|p| p.group == group.id.as_str())
    };
    for pass in passes().filter(|p| p.work == Work::Breeding) {
        found.extend(bred_by(r, pass));
    }
    if !passes().any(|p| p.work == Work::Breeding && p.pen.is_none()) {
        let heat = &r.season.rules.heat;
        for p in passes().filter(|p| p.actions.iter().any(|a| a == "inseminate-in-heat")) {
            for (day, check) in [
                (p.first_day, heat.checks.iter().min()),
                (p.last_day, heat.checks.iter().max()),
            ] {
                let seen = day.map(|d| d.and_time(check.copied().unwrap_or_default()));
                found.extend(seen.map(|s| (s + heat.breeding.aim).date()));
            }
        }
    }
    Some((*found.first()?, *found.last()?))
}

fn bred_by(r: &Reading<'_>, pass: &Pass) -> BTreeSet<NaiveDate> {
    let slots = r.plan.sessions.iter().flat_map(|s| &s.slots);
    let mut days: BTreeSet<NaiveDate> = slots
        .filter(|s| s.pass == pass.id)
        .map(|s| r.local(s.start.with_timezone(&Utc)).date())
        .collect();
    if days.is_empty() {
        days.insert(r.local(pass.start.with_timezone(&Utc)).date());
    }
    days
}

/// The last day of the longest withdrawal that is listed, and not before the last drug.
fn withdrawn(r: &Reading<'_>, group: &Group) -> Option<NaiveDate> {
    let mut last: Option<NaiveDate> = None;
    for pass in r
        .plan
        .passes
        .iter()
        .filter(|p| p.group == group.id.as_str())
    {
        let day = if pass.work == Work::Breeding {
            bred_by(r, pass).last().copied()
        } else {
            let end = r.local(pass.end.with_timezone(&Utc)).date();
            Some(pass.last_day.unwrap_or(end))
        };
        for action in &pass.actions {
            let listed = WITHDRAWAL.iter().find(|w| w.0.contains(&action.as_str()));
            let days = match listed {
                Some((_, days)) => *days,
                None if NOT_LISTED.contains(&action.as_str()) => 0,
                None => continue,
            };
            last = last.max(day.map(|d| d + TimeDelta::days(days)));
        }
    }
    last
}
