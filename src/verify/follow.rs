//! What follows AI: every day of it counted again from the days of breeding and treatment in the plan.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{NaiveDate, TimeDelta};

use super::Reading;
use crate::planning::plan::{GroupFollowUp, Pass, Work};
use crate::trade::protocol::Action;
use crate::trade::season::Group;

/// An id, its first day, and its last.
type Dated = (String, NaiveDate, Option<NaiveDate>);

/// Days for meat after the last treatment: the longest that a publication states for a country. Of all else
/// nothing is listed.
const WITHDRAWAL: [(&str, &[Action], i64); 2] = [
    ("GB", &[Action::Pg, Action::PgDouble], 2),
    ("CA", &[Action::FeedMga], 1),
];

/// What is given.
const DRUGS: [Action; 7] = [
    Action::Gnrh,
    Action::Estradiol,
    Action::Pg,
    Action::PgDouble,
    Action::InsertIn,
    Action::InsertOut,
    Action::FeedMga,
];

pub(super) fn check(r: &mut Reading<'_>) {
    let plan = r.plan;
    for (site, given) in r.season.sites.iter().zip(&plan.sites) {
        let place = given.latitude.zip(given.longitude);
        r.same(&format!("where {} is", site.id), &site.position, &place);
    }
    let mut given = plan.follow_up.iter();
    let done = Done::read(r);
    for group in &r.season.groups {
        let bred = done.bred(r, group);
        let who = format!("what follows for {}", group.id);
        match given.next() {
            Some(g) if g.group == group.id.as_str() => {
                r.same(&who, &bred, &g.first_bred.zip(g.last_bred));
                days(r, &done, &who, group, bred, g);
            }
            other => r.wrong(&who, "a list", format!("{:?}", other.map(|g| &g.group))),
        }
    }
    if let Some(more) = given.next() {
        r.wrong("what follows", "each group once", &more.group);
    }
}

fn days(
    r: &mut Reading<'_>,
    done: &Done<'_>,
    who: &str,
    group: &Group,
    bred: Option<(NaiveDate, NaiveDate)>,
    given: &GroupFollowUp,
) {
    let wanted = expected(done, r.season.country.code(), group, bred);
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
        let planned = format!("{}/{}", group.id, event.kind.as_str());
        r.same(&event.id, &planned, &event.id);
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

fn expected(
    done: &Done<'_>,
    country: &str,
    group: &Group,
    bred: Option<(NaiveDate, NaiveDate)>,
) -> BTreeSet<Dated> {
    let on = |day: NaiveDate, n: i64| day + TimeDelta::days(n);
    let mut found = Vec::new();
    if let Some((first, last)) = bred {
        found.push(("return-heat", on(first, 18), Some(on(last, 24))));
        found.push(("blood-test", on(last, 30), None));
        found.push(("palpation", on(last, 45), None));
        let (aged, scan) = (on(first, 90), on(last, 28));
        found.push(("ultrasound", scan, (scan <= aged).then_some(aged)));
        let g = &group.after.gestation;
        let mean = i64::from(g.days);
        let early = mean - i64::from(g.early_days);
        found.push(("first-calving", on(first, early), Some(on(first, early))));
        found.push(("mean-calving", on(first, mean), Some(on(last, mean))));
        let inn = group.after.bulls.as_ref().map(|b| b.turned_out);
        let told = inn.map(|inn| on(inn, 30).max(on(last, 30)));
        found.extend(
            told.filter(|t| *t <= aged)
                .map(|t| ("ai-or-bull", t, Some(aged))),
        );
    }
    if let Some(bulls) = &group.after.bulls {
        let inn = bulls.turned_out;
        found.push(("bulls-in", inn, Some(inn)));
        let g = &bulls.gestation;
        let (mean, early) = (
            i64::from(g.days),
            i64::from(g.days) - i64::from(g.early_days),
        );
        let late = bulls.out.map(|o| on(o, mean + i64::from(g.late_days)));
        found.push(("bull-calving", on(inn, early), late));
        found.extend(bulls.out.map(|o| ("bulls-out", o, Some(o))));
        let bred = bred.map(|(_, last)| last);
        let checked = bulls.out.zip(bred).map(|(o, last)| on(o.max(last), 45));
        found.extend(checked.map(|day| ("last-check", day, None)));
    }
    found.extend(
        done.withdrawn(country, group)
            .map(|day| ("withdrawal", day, Some(day))),
    );
    found
        .into_iter()
        .map(|(kind, a, z)| (format!("{}/{kind}", group.id), a, z))
        .collect()
}

/// On which local days the passes of each group are done.
struct Done<'a> {
    of_group: BTreeMap<&'a str, Vec<(&'a Pass, BTreeSet<NaiveDate>)>>,
    /// Local days on which cows of each pass are bred.
    cows: BTreeMap<&'a str, BTreeSet<NaiveDate>>,
}

impl<'a> Done<'a> {
    /// Breeding is done when its cows are bred; where none is, at the aim at the latest.
    fn read(r: &Reading<'a>) -> Self {
        let mut cows: BTreeMap<&str, BTreeSet<NaiveDate>> = BTreeMap::new();
        for slot in r.plan.sessions.iter().flat_map(|s| &s.slots) {
            let days = slot.bred_at().map(|at| r.local(at).date());
            cows.entry(&slot.pass).or_default().extend(days);
        }
        let mut of_group: BTreeMap<&str, Vec<_>> = BTreeMap::new();
        for pass in &r.plan.passes {
            let end = r.local(pass.end.to_utc()).date();
            let days = cows
                .get(pass.id.as_str())
                .cloned()
                .filter(|_| pass.work == Work::Breeding)
                .unwrap_or_else(|| BTreeSet::from([pass.last_day.unwrap_or(end)]));
            of_group
                .entry(pass.group.as_str())
                .or_default()
                .push((pass, days));
        }
        Self { of_group, cows }
    }

    fn of(&self, group: &Group) -> &[(&'a Pass, BTreeSet<NaiveDate>)] {
        self.of_group
            .get(group.id.as_str())
            .map_or(&[], Vec::as_slice)
    }

    /// The days on which cows of a group are bred, the first and the last.
    fn bred(&self, r: &Reading<'_>, group: &Group) -> Option<(NaiveDate, NaiveDate)> {
        let mut found: BTreeSet<NaiveDate> = BTreeSet::new();
        let mut by_half_days = false;
        for (pass, _) in self.of(group) {
            if pass.work == Work::Breeding {
                found.extend(self.cows.get(pass.id.as_str()).into_iter().flatten());
                by_half_days |= pass.pen.is_none();
            }
        }
        let heat = &r.season.rules.heat;
        for (p, _) in self.of(group).iter().filter(|_| !by_half_days) {
            if !p.actions.contains(&Action::InseminateInHeat) {
                continue;
            }
            for (day, check) in [
                (p.first_day, heat.checks.iter().min()),
                (p.last_day, heat.checks.iter().max()),
            ] {
                let seen = day.map(|d| d.and_time(check.copied().unwrap_or_default()));
                found.extend(seen.map(|s| (s + heat.breeding.aim).date()));
            }
        }
        Some((*found.first()?, *found.last()?))
    }

    /// The last day of the longest withdrawal that is listed for the country, and not before the last drug.
    fn withdrawn(&self, country: &str, group: &Group) -> Option<NaiveDate> {
        let mut last: Option<NaiveDate> = None;
        for (pass, days) in self.of(group) {
            for action in &pass.actions {
                let mut listed = WITHDRAWAL.iter();
                let listed = listed.find(|w| w.0 == country && w.1.contains(action));
                let more = match listed {
                    Some((.., days)) => *days,
                    None if DRUGS.contains(action) => 0,
                    None => continue,
                };
                last = last.max(days.last().map(|d| *d + TimeDelta::days(more)));
            }
        }
        last
    }
}
