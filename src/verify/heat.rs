//! Groups bred by detected heat: who is seen on which half-day, worked out animal by animal.

mod law;

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Timelike, Utc};
use statrs::distribution::{Binomial, Normal};

use super::{Reading, close, pass_id};
use crate::base::error::Code;
use crate::planning::plan::{self, ByHeat, GroupHeat, HalfOfDay, Pass, Work};
use crate::trade::protocol::heat::Heats;
use crate::trade::protocol::{Action, Anchor, Kind, Step};
use crate::trade::season::Group;

/// Expected head may differ by this much between two ways of adding up.
const HEAD: f64 = 1e-3;
/// And the chance of at most so many by this much.
const CHANCE: f64 = 1e-6;
/// A heat lasts 12 hours, nearly (HALL59).
const LASTS: TimeDelta = TimeDelta::hours(12);

type Seen = (usize, NaiveDate, HalfOfDay);

/// What is expected of a group: by watch, day and half, and by pen.
struct Expected {
    seen: BTreeMap<Seen, f64>,
    pens: Vec<f64>,
    /// Mean and standard deviation of the last watch, if its animals are treated.
    spread: Option<(f64, f64)>,
}

/// Checks all groups, and gives the ids of the passes of their half-days.
pub(super) fn check(r: &mut Reading<'_>) -> BTreeSet<String> {
    let mut ids = BTreeSet::new();
    let (season, plan) = (r.season, r.plan);
    for (group, given) in season.groups.iter().zip(&plan.groups) {
        let who = format!("heats of {}", group.id);
        match (expected(r, group), &given.heat) {
            (None, None) => {}
            (Some(wanted), Some(heat)) => one(r, &who, group, &wanted, heat, &mut ids),
            (wanted, heat) => r.same(&who, &wanted.is_some(), &heat.is_some()),
        }
    }
    for pen in plan.sessions.iter().flat_map(|s| &s.pens) {
        r.same(&pen.pass, &ids.contains(&pen.pass), &pen.by_heat.is_some());
        if pen.by_heat.is_some()
            && (pen.counted_from != pen.counted_to
                || pen.order != crate::trade::season::Order::Mixed)
        {
            r.wrong(&pen.pass, "hours from one check, in any order", pen.order);
        }
    }
    ids
}

fn one(
    r: &mut Reading<'_>,
    who: &str,
    group: &Group,
    wanted: &Expected,
    given: &GroupHeat,
    ids: &mut BTreeSet<String>,
) {
    let all = group.head().0;
    let chance = |head: f64| head / f64::from(all.max(1));
    let mut off = Vec::new();
    let mut listed: BTreeMap<Seen, &plan::HalfDay> = BTreeMap::new();
    for day in &given.half_days {
        let mut steps = group.protocol.steps.iter();
        let step = steps.position(|s| s.id.as_str() == day.step);
        let key = (step.unwrap_or(usize::MAX), day.seen_day, day.seen);
        if listed.insert(key, day).is_some() || !wanted.seen.contains_key(&key) {
            r.wrong(who, "half-days of the watch, each once", day.seen_day);
        }
    }
    if given.half_days.windows(2).any(|w| w[0].aim > w[1].aim) {
        r.wrong(who, "half-days by time", "another order");
    }
    for (key, expected) in &wanted.seen {
        let day = listed.get(key);
        let (low, head, high) = day.map_or((0, 0, 0), |d| (d.low_head, d.head, d.high_head));
        off.push(expected - f64::from(head));
        let what = format!("{who} seen {} {}", key.1, key.2.as_str());
        band(r, &what, all, chance(*expected), (low, head, high));
        if let Some(day) = day {
            half_day(r, group, *key, day, ids);
        }
    }
    let sum: f64 = wanted.seen.values().sum();
    largest_remainders(r, who, &off);
    let bred: u32 = given.half_days.iter().map(|d| d.head).sum();
    let found = (given.bred_head, given.left_head);
    r.same(who, &(bred, all - bred), &found);
    if (sum - f64::from(bred)).abs() > 0.5 + HEAD {
        r.wrong(who, format!("{sum} head by heat"), bred);
    }
    let ends = (given.bred_low_head, bred, given.bred_high_head);
    band(r, who, all, chance(sum), ends);
    let ends = (given.left_low_head, all - bred, given.left_high_head);
    band(r, who, all, 1.0 - chance(sum), ends);
    spread(r, who, wanted, given);
    clean_up(r, who, group, wanted, bred);
}

fn spread(r: &mut Reading<'_>, who: &str, wanted: &Expected, given: &GroupHeat) {
    let near = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() < 0.0051,
        (a, b) => a.is_none() && b.is_none(),
    };
    let (mean, sd) = (wanted.spread.map(|s| s.0), wanted.spread.map(|s| s.1));
    if !near(mean, given.mean_hours) || !near(sd, given.spread_hours) {
        let got = format!("{:?} and {:?}", given.mean_hours, given.spread_hours);
        r.wrong(who, format!("{mean:?} and {sd:?} hours"), got);
    }
}

/// Rounded up are those with the largest remainders: no two are further apart than one head.
fn largest_remainders(r: &mut Reading<'_>, who: &str, off: &[f64]) {
    let most = off.iter().fold(0.0f64, |a, b| a.max(*b));
    let least = off.iter().fold(0.0f64, |a, b| a.min(*b));
    if most - least > 1.0 + HEAD || most >= 1.0 + HEAD || least <= -1.0 - HEAD {
        r.wrong(who, "the largest remainders rounded up", format!("{off:?}"));
    }
}

/// Fewer than `low` come in fewer than 5 of 100, more than `high` in at most 5; both as near to
/// the expected head as that allows, which lies between.
fn band(r: &mut Reading<'_>, who: &str, all: u32, chance: f64, (low, head, high): (u32, u32, u32)) {
    let Ok(binomial) = Binomial::new(chance.clamp(0.0, 1.0), u64::from(all)) else {
        return;
    };
    let below = |n: u32| law::below(&binomial, all, chance, n);
    let at_most = |n: u32| below(n.saturating_add(1));
    let low_fits =
        low <= head && below(low) < 0.05 + CHANCE && (low == head || at_most(low) >= 0.05 - CHANCE);
    let high_fits = high >= head
        && at_most(high) >= 0.95 - CHANCE
        && (high == head || below(high) < 0.95 + CHANCE);
    if !low_fits || !high_fits {
        let wanted = format!("5 and 95 percent ends for {chance} of {all}");
        r.wrong(who, wanted, format!("{low} to {high} about {head}"));
    }
}

/// A half-day's own pass, hours and session.
fn half_day(
    r: &mut Reading<'_>,
    group: &Group,
    (step, day, part): Seen,
    given: &plan::HalfDay,
    ids: &mut BTreeSet<String>,
) {
    let breeding = r.season.rules.heat.breeding;
    let id = format!(
        "{}/all/{}/{day}-{}",
        group.id,
        group.protocol.steps[step].id,
        match part {
            HalfOfDay::Morning => "am",
            HalfOfDay::Evening => "pm",
        }
    );
    let check = counted_from(r, day, part);
    let wanted = (given.head > 0).then(|| id.clone());
    r.same(&id, &wanted, &given.pass);
    r.same(&id, &(check + breeding.aim), &given.aim.to_utc());
    r.offset(&id, given.aim);
    let over = given.high_uncovered_head;
    let beyond = given.high_head.saturating_sub(given.head);
    if over > beyond {
        let wanted =
            format!("at most {beyond} head beyond the crew of those beyond the head planned for");
        r.wrong(&id, wanted, over);
    }
    if over > 0 && !r.told(Code::HalfDayFull, group) {
        r.wrong(&id, "a finding W107 for head beyond the crew", over);
    }
    if given.head == 0 {
        return;
    }
    ids.insert(id.clone());
    let Some(pass) = r.passes.get(id.as_str()).copied() else {
        r.wrong(&id, "a pass", "none");
        return;
    };
    of_half_day(r, group, pass, given, check);
    let sessions = r.plan.sessions.iter();
    let due = sessions.flat_map(|s| &s.pens).find(|p| p.pass == id);
    let by_heat = due.and_then(|d| d.by_heat.as_ref());
    let told = ByHeat {
        seen_day: day,
        seen: part,
        low_head: given.low_head,
        high_head: given.high_head,
        high_uncovered_head: over,
    };
    r.same(&id, &Some(&told), &by_heat);
}

/// The pass of a half-day is of the whole group, at its aim, with hours from its check.
fn of_half_day(
    r: &mut Reading<'_>,
    group: &Group,
    pass: &Pass,
    given: &plan::HalfDay,
    check: DateTime<Utc>,
) {
    let breeding = r.season.rules.heat.breeding;
    let form = (pass.group.as_str(), pass.pen, pass.work, pass.head);
    let planned = (group.id.as_str(), None, Work::Breeding, given.head);
    r.same(&pass.id, &planned, &form);
    r.same(&pass.id, &r.site_of(group).id.as_str(), &pass.site.as_str());
    r.same(&pass.id, &vec![Action::InseminateInHeat], &pass.actions);
    let wanted = Action::InseminateInHeat.cautions();
    r.cautions(&pass.id, wanted, &pass.cautions);
    r.same(&pass.id, &given.aim, &pass.start);
    r.same(&pass.id, &given.aim, &pass.end);
    let hours = pass.hours.as_ref();
    let fits = hours.is_some_and(|h| {
        close(check + breeding.earliest, h.earliest.to_utc())
            && close(check + breeding.aim, h.aim.to_utc())
            && close(check + breeding.latest, h.latest.to_utc())
    });
    if !fits {
        let wanted = format!("{} from {check}", breeding.words());
        r.wrong(&pass.id, wanted, "other hours");
    }
}

/// Cows of a half-day are bred in its hours, and none is named.
pub(super) fn in_hours(r: &mut Reading<'_>, pass: &Pass, cows: &[DateTime<Utc>], named: bool) {
    let Some(hours) = &pass.hours else { return };
    let (from, to) = (hours.earliest.to_utc(), hours.latest.to_utc());
    for at in cows {
        if *at < from - super::CLOSE || *at > to + super::CLOSE {
            r.wrong(&pass.id, format!("cows from {from} to {to}"), at);
        }
    }
    if named {
        let wanted = "no animal named: nobody knows who it will be";
        r.wrong(&pass.id, wanted, "names");
    }
}

/// All that are not bred by heat are left for the clean-up, pen by pen.
fn clean_up(r: &mut Reading<'_>, who: &str, group: &Group, wanted: &Expected, bred: u32) {
    for step in group.protocol.steps.iter().filter(|s| is_rest(s)) {
        let mut off = Vec::new();
        let mut by_heat = 0;
        for (pen, head) in group.pens.iter().enumerate() {
            let Some(pass) = r.pass_of(group, pen, step) else {
                return;
            };
            let mine = head.0.saturating_sub(pass.head);
            off.push(wanted.pens[pen] - f64::from(mine));
            by_heat += mine;
        }
        r.same(&format!("{who} before {}", step.id), &bred, &by_heat);
        largest_remainders(r, who, &off);
    }
}

fn is_rest(step: &Step) -> bool {
    step.is_timed_breeding() && step.actions.contains(&Action::InseminateRest)
}

fn half_of_day(clock: NaiveTime) -> HalfOfDay {
    if clock.hour() >= 12 {
        HalfOfDay::Evening
    } else {
        HalfOfDay::Morning
    }
}

/// The check that hours to breeding count from: of the morning the first, of the rest the last.
fn counted_from(r: &Reading<'_>, day: NaiveDate, part: HalfOfDay) -> DateTime<Utc> {
    let checks = &r.season.rules.heat.checks;
    let mine = checks.iter();
    let mine: Vec<NaiveTime> = mine.copied().filter(|c| half_of_day(*c) == part).collect();
    let clock = match part {
        HalfOfDay::Morning => mine.iter().min(),
        HalfOfDay::Evening => mine.iter().max(),
    };
    r.instant(day.and_time(clock.copied().unwrap_or(NaiveTime::MIN)))
}

fn expected(r: &Reading<'_>, group: &Group) -> Option<Expected> {
    let heat_kinds = [Kind::EstrusDetection, Kind::EstrusDetectionThenTimed];
    if !heat_kinds.contains(&group.protocol.kind) {
        return None;
    }
    let steps = &group.protocol.steps;
    // What comes after the rest is bred has nobody left.
    let rest = steps.iter().position(is_rest);
    let until = rest.unwrap_or(steps.len());
    let watches: Vec<usize> = (0..until)
        .filter(|n| steps[*n].is_heat_breeding())
        .collect();
    let mut looks: BTreeMap<DateTime<Utc>, Seen> = BTreeMap::new();
    for n in &watches {
        let pass = r
            .passes
            .get(pass_id(group, 0, &steps[*n]).as_str())
            .copied()?;
        let (first, last) = (pass.first_day?, pass.last_day?);
        for day in first.iter_days().take_while(|d| *d <= last) {
            for clock in &r.season.rules.heat.checks {
                let at = r.instant(day.and_time(*clock));
                looks.entry(at).or_insert((*n, day, half_of_day(*clock)));
            }
        }
    }
    let mut seen: BTreeMap<Seen, f64> = looks.values().map(|s| (*s, 0.0)).collect();
    let mut pens = Vec::new();
    for pen in 0..group.pens.len() {
        let share = of_pen(r, group, pen, &watches, until, &looks)?;
        let head = f64::from(group.pens[pen].0);
        pens.push(head * share.values().sum::<f64>());
        for (key, chance) in share {
            *seen.entry(key).or_default() += head * chance;
        }
    }
    let last = watches.last()?;
    Some(Expected {
        seen,
        pens,
        spread: law::numbers(group, &steps[*last]).map(|(mean, sd, _)| (mean, sd)),
    })
}

/// The chance of a pen's animals on each half-day.
fn of_pen(
    r: &Reading<'_>,
    group: &Group,
    pen: usize,
    watches: &[usize],
    until: usize,
    looks: &BTreeMap<DateTime<Utc>, Seen>,
) -> Option<BTreeMap<Seen, f64>> {
    let steps = &group.protocol.steps;
    let rest = match steps.get(until) {
        Some(step) => Some(r.pass_of(group, pen, step)?.start.to_utc()),
        None => None,
    };
    let bred_by = |seen: &Seen| {
        let at = counted_from(r, seen.1, seen.2) + r.season.rules.heat.breeding.aim;
        rest.is_none_or(|rest| at <= rest)
    };
    let mut found: BTreeMap<Seen, f64> = BTreeMap::new();
    let mut open = 1.0;
    for n in watches {
        let mut before: Option<DateTime<Utc>> = None;
        let share = share_between(r, group, pen, *n, until)?;
        for (at, seen) in looks {
            let from = before.map_or(*at - LASTS, |b| b.max(*at - LASTS));
            before = Some(*at);
            if seen.0 == *n && bred_by(seen) {
                *found.entry(*seen).or_default() += open * share(from, *at);
            }
        }
        open = (1.0 - found.values().sum::<f64>()).max(0.0);
    }
    let all: f64 = found.values().sum();
    if let (Some(percent), true) = (said(group), all > 1e-9) {
        for share in found.values_mut() {
            *share *= percent / 100.0 / all;
        }
    }
    Some(found)
}

/// The percent that the season or a publication says will be seen in heat.
pub(super) fn said(group: &Group) -> Option<f64> {
    let published = group.protocol.steps.iter().find_map(|s| {
        let share = s.share.as_ref()?.expected;
        let in_heat = s.actions.contains(&Action::InseminateInHeat);
        Some(if in_heat { share } else { 100.0 - share })
    });
    group.in_heat_percent.or(published)
}

type Share = Box<dyn Fn(DateTime<Utc>, DateTime<Utc>) -> f64>;

/// The chance of a heat between two moments, over the animals of a pen.
fn share_between(
    r: &Reading<'_>,
    group: &Group,
    pen: usize,
    n: usize,
    until: usize,
) -> Option<Share> {
    let step = &group.protocol.steps[n];
    let hours = |t: TimeDelta| t.num_milliseconds() as f64 / 3_600_000.0;
    if let Some(Heats::Cycling { days, .. }) = step.heat.as_ref().map(|h| &h.heats) {
        let each_hour = 1.0 / (days * 24.0);
        return Some(Box::new(move |a, b| {
            (hours(b - a).max(0.0) * each_hour).min(1.0)
        }));
    }
    let (mean, sd, shows) = law::numbers(group, step)?;
    let (start, seconds_each) = treated(r, group, pen, step, until)?;
    let long = seconds_each * f64::from(group.pens[pen].0) / 3600.0;
    let normal = Normal::new(mean, sd).ok()?;
    Some(Box::new(move |a, b| {
        let by = |at: DateTime<Utc>| law::in_heat_by(&normal, sd, hours(at - start), long);
        shows * (by(b) - by(a)).max(0.0)
    }))
}

/// When the treatment that hours to heat count from began in a pen, and its seconds an animal.
fn treated(
    r: &Reading<'_>,
    group: &Group,
    pen: usize,
    step: &Step,
    until: usize,
) -> Option<(DateTime<Utc>, f64)> {
    let steps = &group.protocol.steps;
    let named = match step.heat.as_ref().map(|h| &h.heats) {
        Some(Heats::After { step: id, .. }) => Some(steps.iter().position(|s| s.id == *id)?),
        _ => steps.iter().rposition(|s| {
            s.lasts_days.is_none()
                && s.actions
                    .iter()
                    .any(|a| matches!(a, Action::Pg | Action::PgDouble | Action::InsertOut))
        }),
    };
    let at = match (named, step.anchor) {
        (Some(at), _) | (None, Anchor::Step(at)) => at,
        (None, Anchor::Start) => return Some((r.pen_start(group, pen), 0.0)),
    };
    let counted = steps.get(at).filter(|_| at < until)?;
    let pass = r.pass_of(group, pen, counted)?;
    Some((pass.start.to_utc(), r.seconds_each(group, counted)))
}
