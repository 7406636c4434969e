//! Thaw rounds walked through again: ages, the bath's places, lifts one at a time, and every straw
//! from a place that has it. Believes only the plan's moments, the season and its own arithmetic.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, NaiveDateTime, Offset, TimeDelta, TimeZone, Utc};
use thawline::error::{Code, Finding, Severity};
use thawline::plan::{self, AtSession, Moment, Pass, Plan, Session};
use thawline::protocol::Semen;
use thawline::season::{Bull, Goblet, Group, Pace, Season, Technician};
use thawline::thaw::{Round, SessionThaw, Straw, TechnicianThaw};

use super::Reading;

/// Moments are compared to the second and a half: the plan rounds to hundredths of a minute.
const CLOSE: TimeDelta = TimeDelta::milliseconds(1500);

impl<'a> Reading<'a> {
    fn group(&self, id: &str) -> Option<&'a Group> {
        self.season.groups.iter().find(|g| g.id.as_str() == id)
    }

    fn technician(&self, id: &str) -> Option<&'a Technician> {
        self.season.crew.iter().find(|t| t.id.as_str() == id)
    }

    fn bull(&self, id: &str) -> Option<&'a Bull> {
        self.season.bulls.iter().find(|b| b.id.as_str() == id)
    }

    fn pass(&self, id: &str) -> Option<&'a Pass> {
        self.plan.passes.iter().find(|p| p.id == id)
    }

    fn local(&self, at: DateTime<Utc>) -> NaiveDateTime {
        at.with_timezone(&self.season.zone).naive_local()
    }

    /// A moment must carry the offset its zone has then.
    fn offset(&mut self, who: &str, at: Moment) {
        let zone = self.season.zone;
        let right = zone.offset_from_utc_datetime(&at.naive_utc()).fix();
        if right != at.offset().fix() {
            self.wrong(who, format!("offset {right}"), at.to_rfc3339());
        }
    }

    /// True if the plan says this of a group, as a note or a warning: it stands at the group's start.
    fn told(&self, code: Code, group: &Group) -> bool {
        let place = group.start_place.to_string();
        let mut said = self.plan.findings.iter();
        said.any(|f| {
            f.code == code && f.severity != Severity::Error && f.place.as_ref() == Some(&place)
        })
    }
}

/// The technician's time a cow, and time to the first gun, for `k` straws at once.
fn paces(r: &Reading<'_>, t: &Technician, k: f64) -> (f64, f64) {
    let rules = &r.season.rules;
    let (bath, load, reset) = (rules.thaw.0, rules.load.0, rules.reset.0);
    let cow = match (t.pace, t.helper) {
        (Pace::AtTheCow(m), _) => m.0,
        (Pace::Overall(p), true) => 3600.0 / p.get(),
        (Pace::Overall(p), false) => (k * 3600.0 / p.get() - bath - k * load - reset) / k,
    };
    (cow, bath + if t.helper { load } else { k * load })
}

/// The fewest wasted, of straws of which so many are used, when the share is wasted.
fn wasted(share: f64, used: u32) -> u32 {
    let fits = |w: u32| f64::from(w) >= share * f64::from(used + w) - 1e-6;
    (0..=100_000_000).find(|w| fits(*w)).unwrap_or(0)
}

/// Straws set aside for a group of a bull and a sort beyond those of the matings of the animals bred.
pub(super) fn beyond(plan: &Plan, given: &plan::Group) -> u32 {
    let mut mated: BTreeMap<(&str, bool), u32> = BTreeMap::new();
    let slots = plan.sessions.iter().flat_map(|s| &s.slots);
    for slot in slots.filter(|s| s.group == given.id) {
        for animal in &slot.animals {
            let pens = given.animals_in_order.iter();
            let known =
                pens.filter_map(|p| p.get(slot.pen? as usize - 1)?.get(*animal as usize - 1));
            for (bull, a) in known.filter_map(|a| Some((a.bull.as_deref()?, a))) {
                *mated.entry((bull, a.sexed)).or_default() += 1;
            }
        }
    }
    let over = |s: &plan::BullStraws| {
        let of = |sexed| mated.get(&(s.bull.as_str(), sexed)).copied().unwrap_or(0);
        match s.sexed_straws {
            None => s.straws.saturating_sub(of(false) + of(true)),
            Some(n) => (s.straws - n).saturating_sub(of(false)) + n.saturating_sub(of(true)),
        }
    };
    given.straws.iter().map(over).sum()
}

/// Everything in which the rounds of sessions, which draw on the same tanks, disagree with plan and season;
/// empty for sound ones.
#[must_use]
pub(crate) fn check_all(season: &Season, plan: &Plan, all: &[SessionThaw]) -> Vec<Finding> {
    let mut r = Reading::new(season, plan);
    for told in all {
        let Some(session) = plan.sessions.iter().find(|s| s.id == told.session) else {
            r.wrong(&told.session, "a session of the plan", "none of this id");
            continue;
        };
        let who: Vec<&str> = told.technicians.iter().map(|t| t.id.as_str()).collect();
        let planned: Vec<&str> = session.technicians.iter().map(|t| t.id.as_str()).collect();
        r.same(&told.session, &planned, &who);
        for t in &told.technicians {
            technician(&mut r, session, t);
        }
        bath(&mut r, told);
        lifts(&mut r, told);
        canisters(&mut r, told);
        bulls(&mut r, session, told);
        by_tag(&mut r, told);
        waste(&mut r, session, told);
    }
    up_at_once(&mut r, all);
    places(&mut r, all);
    r.found
}

fn seconds(s: f64) -> TimeDelta {
    TimeDelta::milliseconds((s * 1000.0).round() as i64)
}

fn technician(r: &mut Reading<'_>, session: &Session, told: &TechnicianThaw) {
    let who = format!("{} at {}", told.id, session.id);
    let of = r.technician(&told.id);
    let at = session.technicians.iter().find(|t| t.id == told.id);
    let (Some(of), Some(at)) = (of, at) else {
        r.wrong(&who, "a technician of the session", "somebody else");
        return;
    };
    own_cows(r, &who, session, told);
    own_matings(r, &who, told);
    let pace = told.alone.iter().chain(&told.helped).filter(|p| p.planned);
    for row in pace {
        let near = |a: f64, b: f64| (a - b).abs() <= 0.02;
        if !near(row.last_straw_minutes, at.last_straw_minutes)
            || !near(row.late_percent, at.late_percent)
        {
            r.wrong(&who, "the plan's pace in the table", row.last_straw_minutes);
        }
    }
    let mut before: Option<&Round> = None;
    for (n, round) in told.rounds.iter().enumerate() {
        let who = format!("{who}, round {}", round.number);
        r.same(&who, &(n as u32 + 1), &round.number);
        if round.straws.is_empty() || round.straws.len() > at.straws_at_once as usize {
            let wanted = format!("1 to {} straws", at.straws_at_once);
            r.wrong(&who, wanted, round.straws.len());
        }
        moments(r, &who, of, at, round, before);
        before = Some(round);
    }
}

/// Each cow of the plan has one straw, and no other has.
fn own_cows(r: &mut Reading<'_>, who: &str, session: &Session, told: &TechnicianThaw) {
    let mut planned: Vec<(i64, &str, Option<u32>)> = Vec::new();
    for slot in session.slots.iter().filter(|s| s.technician == told.id) {
        for (n, at) in slot.bred_at().enumerate() {
            // Hundredths of a minute, of what was a whole second.
            let at = (at.timestamp_millis() + 500).div_euclid(1000);
            planned.push((at, &slot.pass, slot.animals.get(n).copied()));
        }
    }
    let straws = || told.rounds.iter().flat_map(|x| &x.straws);
    let mut has: Vec<(i64, &str, Option<u32>)> = straws()
        .map(|s| (s.bred_at.timestamp(), s.pass.as_str(), s.animal))
        .collect();
    if has.windows(2).any(|w| w[1].0 < w[0].0) {
        r.wrong(who, "cows in the order of the plan", "another");
    }
    planned.sort_unstable();
    has.sort_unstable();
    if planned != has {
        let wanted = format!("a straw for each of {} cows", planned.len());
        r.wrong(who, wanted, format!("{} straws, or other cows", has.len()));
    }
    r.same(who, &(planned.len() as u32), &told.head);
    for s in straws() {
        let group = r.group(&s.group);
        let bull = r.season.bulls.iter().position(|b| b.id.as_str() == s.bull);
        let may = group.is_some_and(|g| bull.is_some_and(|b| g.bulls.contains(&b)));
        let pass = r.pass(&s.pass);
        if !may || pass.is_none_or(|p| p.group != s.group) {
            r.wrong(who, format!("a bull of {}", s.group), &s.bull);
        }
    }
}

/// Where the order is known, each straw names the animal at her place, and is of her mating. Only where
/// the group's straws do not make up its matings it may be another.
fn own_matings(r: &mut Reading<'_>, who: &str, told: &TechnicianThaw) {
    for s in told.rounds.iter().flat_map(|x| &x.straws) {
        let group = r.plan.groups.iter().find(|g| g.id == s.group);
        let place = |n: Option<u32>| n.and_then(|n| (n as usize).checked_sub(1));
        let pens = group.and_then(|g| Some((g, g.animals_in_order.as_ref()?)));
        let known = pens.and_then(|(_, p)| p.get(place(s.pen)?)?.get(place(s.animal)?));
        r.same(who, &known.map(|k| k.animal.as_str()), &s.tag.as_deref());
        // Animals without a mating are beyond it themselves, and take nobody's straw.
        let known = pens.zip(known.and_then(|k| Some((k, k.bull.as_deref()?))));
        let Some(((group, pens), (known, bull))) = known else {
            continue;
        };
        let lots = r.bull(&s.bull);
        let lot = lots.and_then(|b| Some((b, b.places.get(place(Some(s.place))?)?)));
        let sexed = lot.is_some_and(|(b, p)| b.facts.sexed || p.sort == Semen::Sexed);
        let without = || pens.iter().flatten().filter(|k| k.bull.is_none()).count() as u32;
        let own = (bull, known.sexed) == (s.bull.as_str(), sexed);
        if !own && beyond(r.plan, group) <= without() {
            let wanted = format!("a straw of the mating of {}", known.animal);
            r.wrong(who, wanted, &s.bull);
        }
    }
}

fn moments(
    r: &mut Reading<'_>,
    who: &str,
    of: &Technician,
    at: &AtSession,
    round: &Round,
    before: Option<&Round>,
) {
    let rules = &r.season.rules;
    let (thaw, load) = (seconds(rules.thaw.0), seconds(rules.load.0));
    let limit = seconds(rules.bath_to_cow.0);
    let (cow, lead) = paces(r, of, f64::from(at.straws_at_once.max(1)));
    let Some(first) = round.straws.first() else {
        return;
    };
    let due = match before {
        None => at.begins.to_utc(),
        Some(_) => first.bred_at.to_utc() - seconds(lead + cow),
    };
    if (round.bath_at.to_utc() - due).abs() > CLOSE * 2 {
        r.wrong(who, format!("into the bath at {due}"), round.bath_at);
    }
    if let (Some(before), false) = (before.and_then(|b| b.straws.last()), of.helper)
        && round.bath_at < before.bred_at - CLOSE * 2
    {
        let wanted = "alone: into the bath when the last cow is bred";
        r.wrong(who, wanted, round.bath_at);
    }
    r.same(who, &(round.bath_at + limit), &round.cow_by);
    r.same(who, &first.out_at, &round.earliest_out);
    r.same(who, &(first.out_at + load), &round.first_gun);
    let mut free: Option<Moment> = None;
    let mut late = TimeDelta::zero();
    for (n, s) in round.straws.iter().enumerate() {
        if s.in_at < round.bath_at {
            r.wrong(who, "no straw in the bath before its round", s.in_at);
        }
        if s.out_at - s.in_at < thaw {
            r.wrong(who, format!("{} s in the bath", rules.thaw.0), s.out_at);
        }
        if free.is_some_and(|free| s.out_at < free) {
            r.wrong(who, "one gun loaded after the other", s.out_at);
        }
        free = Some(s.out_at + load);
        late = late.max(s.out_at - (round.bath_at + thaw + load * n as i32));
        if s.bred_at - round.bath_at > limit + CLOSE * 2 {
            let wanted = format!("in the cow {} s after the bath", rules.bath_to_cow.0);
            r.wrong(who, wanted, s.bred_at);
        }
        if s.out_at + load > s.bred_at + TimeDelta::seconds(round.gun_late_seconds) + CLOSE * 2 {
            r.wrong(who, "a loaded gun for the cow", s.bred_at);
        }
        r.offset(who, s.in_at);
        r.offset(who, s.bred_at);
    }
    let late = (late.num_milliseconds() + 999).div_euclid(1000);
    r.same(who, &late, &round.gun_late_seconds);
    let oldest = round
        .straws
        .last()
        .map_or(TimeDelta::zero(), |s| s.bred_at - round.bath_at);
    let minutes = oldest.num_milliseconds() as f64 / 60_000.0;
    if (minutes - round.last_straw_minutes).abs() > 0.006 {
        let wanted = format!("{minutes} min to the last cow");
        r.wrong(who, wanted, round.last_straw_minutes);
    }
}

/// In no minute more straws lie in the bath than it holds.
fn bath(r: &mut Reading<'_>, told: &SessionThaw) {
    let Some(site) = r.season.sites.iter().find(|s| s.id.as_str() == told.site) else {
        r.wrong(&told.session, "a site of the season", &told.site);
        return;
    };
    let mut minutes: BTreeMap<i64, u32> = BTreeMap::new();
    for round in told.technicians.iter().flat_map(|t| &t.rounds) {
        // Straws that wait for the tank are as much longer in it.
        let spare = CLOSE + TimeDelta::seconds(round.gun_late_seconds);
        for s in &round.straws {
            let first = (s.in_at.timestamp() + 59).div_euclid(60);
            let last = (s.out_at - spare).timestamp().div_euclid(60);
            for minute in first..=last {
                *minutes.entry(minute).or_default() += 1;
            }
        }
    }
    let most = site.thaw_bath.0;
    if let Some((minute, n)) = minutes.into_iter().find(|(_, n)| *n > most) {
        let at = DateTime::from_timestamp(minute * 60, 0).unwrap_or_default();
        let at = r.local(at);
        let who = format!("the bath at {}", told.session);
        let wanted = format!("at most {most} straws in it");
        r.wrong(&who, wanted, format!("{n} at {at}"));
    }
}

type Canister<'a> = (Option<&'a str>, Option<u32>);

fn of_straw(s: &Straw) -> Canister<'_> {
    (s.tank.as_deref(), s.canister)
}

/// From when to when, in which session.
type Lifted<'a> = (DateTime<Utc>, DateTime<Utc>, &'a str);

/// A canister is up as long as the rule says, and brings the straws of its round.
fn lifts(r: &mut Reading<'_>, told: &SessionThaw) {
    let rules = r.season.rules.straws;
    for t in &told.technicians {
        for round in &t.rounds {
            let who = format!("{} at {}, round {}", t.id, told.session, round.number);
            // Straws that each lift brought: by canister and moment.
            let mut brought: BTreeMap<(Canister<'_>, DateTime<Utc>), u32> = BTreeMap::new();
            for lift in &round.lifts {
                let canister = (lift.tank.as_deref(), lift.canister);
                *brought.entry((canister, lift.down.to_utc())).or_default() += lift.straws;
                if lift.down - lift.at != seconds(rules.lift.0) {
                    r.wrong(&who, format!("{} s a lift", rules.lift.0), lift.down);
                }
                if lift.straws == 0 || lift.straws > rules.a_lift.0 {
                    let wanted = format!("at most {} a lift", rules.a_lift.0);
                    r.wrong(&who, wanted, lift.straws);
                }
            }
            if round.lifts.windows(2).any(|w| w[1].at < w[0].down) {
                r.wrong(&who, "one lift after the other", "two at once");
            }
            for s in &round.straws {
                match brought.get_mut(&(of_straw(s), s.in_at.to_utc())) {
                    Some(n) if *n > 0 => *n -= 1,
                    _ => r.wrong(&who, "a straw that a lift brought", &s.where_words),
                }
            }
            if brought.values().any(|n| *n > 0) {
                r.wrong(&who, "no more straws lifted than thawed", "more");
            }
        }
    }
}

/// One canister of a tank is up at a time, whichever session lifts it. Where a tank's straws are at
/// several sites at once, one at each.
fn up_at_once(r: &mut Reading<'_>, all: &[SessionThaw]) {
    let mut up: BTreeMap<(Option<&str>, &str), Vec<Lifted<'_>>> = BTreeMap::new();
    for told in all {
        let rounds = told.technicians.iter().flat_map(|t| &t.rounds);
        for lift in rounds.flat_map(|r| &r.lifts) {
            let tank = lift.tank.as_deref();
            let one = tank.is_some_and(|t| r.season.places_at_once(t) == 1);
            let site = if one { "" } else { told.site.as_str() };
            up.entry((tank, site)).or_default().push((
                lift.at.to_utc(),
                lift.down.to_utc(),
                &told.session,
            ));
        }
    }
    for ((tank, _), mut all) in up {
        all.sort_unstable();
        let twice = all.windows(2).filter(|w| w[1].0 < w[0].1);
        if !twice.map(|w| [w[0].2, w[1].2]).all(|at| said_of(r, at)) {
            let tank = tank.unwrap_or("the tank");
            r.wrong(tank, "one canister up at a time", "two");
        }
    }
}

/// True if the plan says of a group of either session that its tank is wanted at two sites at once.
fn said_of(r: &Reading<'_>, sessions: [&str; 2]) -> bool {
    let all = r.plan.sessions.iter();
    let all = all.filter(|s| sessions.contains(&s.id.as_str()));
    let mut groups = all.flat_map(|s| &s.pens).filter_map(|p| r.group(&p.group));
    groups.any(|g| r.told(Code::TankTwice, g))
}

fn canisters(r: &mut Reading<'_>, told: &SessionThaw) {
    let mut counted: BTreeMap<Canister<'_>, (u32, u32)> = BTreeMap::new();
    for round in told.technicians.iter().flat_map(|t| &t.rounds) {
        for lift in &round.lifts {
            let key = (lift.tank.as_deref(), lift.canister);
            counted.entry(key).or_default().0 += 1;
        }
        for s in &round.straws {
            counted.entry(of_straw(s)).or_default().1 += 1;
        }
    }
    let said: BTreeMap<Canister<'_>, (u32, u32)> = told
        .canisters
        .iter()
        .map(|c| ((c.tank.as_deref(), c.canister), (c.lifts, c.straws)))
        .collect();
    let who = format!("canisters of {}", told.session);
    r.same(&who, &counted, &said);
    for c in &told.canisters {
        let seconds = f64::from(c.lifts) * r.season.rules.straws.lift.0;
        if (seconds - c.seconds).abs() > 1e-6 {
            r.wrong(&who, format!("{seconds} s in the neck"), c.seconds);
        }
    }
}

/// As many straws of each bull as the plan brings to the session.
fn bulls(r: &mut Reading<'_>, session: &Session, told: &SessionThaw) {
    let mut used: BTreeMap<&str, u32> = BTreeMap::new();
    for s in straws(told) {
        *used.entry(s.bull.as_str()).or_default() += 1;
    }
    let straws = session.straws.iter();
    let brought: BTreeMap<&str, u32> = straws.map(|s| (s.bull.as_str(), s.straws)).collect();
    r.same(&format!("bulls of {}", told.session), &brought, &used);
}

/// Rounds of animals whose order nobody knows say so, where they have straws of several bulls or sorts.
fn by_tag(r: &mut Reading<'_>, told: &SessionThaw) {
    let mut kinds: BTreeMap<&str, BTreeSet<(&str, bool)>> = BTreeMap::new();
    for s in straws(told) {
        let herd = r.group(&s.group).is_some_and(|g| g.herd.is_some());
        let bull = r.bull(&s.bull);
        if let Some(bull) = bull.filter(|_| herd && s.tag.is_none()) {
            let mut places = bull.places.iter().zip(1..);
            let sexed = places.any(|(p, n)| n == s.place && p.sort == Semen::Sexed);
            let kind = (s.bull.as_str(), bull.facts.sexed || sexed);
            kinds.entry(&s.group).or_default().insert(kind);
        }
    }
    for round in told.technicians.iter().flat_map(|t| &t.rounds) {
        let mut open = round.straws.iter().filter(|s| s.tag.is_none());
        let due = open.any(|s| kinds.get(s.group.as_str()).is_some_and(|k| k.len() > 1));
        r.same(&format!("rounds of {}", told.session), &due, &round.by_tag);
    }
}

fn straws(told: &SessionThaw) -> impl Iterator<Item = &Straw> {
    let rounds = told.technicians.iter().flat_map(|t| &t.rounds);
    rounds.flat_map(|x| &x.straws)
}

/// The share of a bull's straws that the rule counts as waste, over the sessions up to this one.
fn waste(r: &mut Reading<'_>, session: &Session, told: &SessionThaw) {
    let share = r.season.rules.straws.wasted;
    for bull in &r.season.bulls {
        let id = bull.id.as_str();
        let of = |s: &Session| -> u32 {
            let mine = s.straws.iter().filter(|x| x.bull == id);
            mine.map(|x| x.straws).sum()
        };
        let upto = r.plan.sessions.iter().take_while(|s| s.id != session.id);
        let before: u32 = upto.map(of).sum();
        let planned = r.plan.bulls.iter().find(|b| b.id == id);
        let most = planned.map_or(0, |b| b.planned_straws);
        let wasted = |used: u32| wasted(share, used.min(most));
        let due = wasted(before + of(session)) - wasted(before);
        let said: Vec<_> = told.waste.iter().filter(|w| w.bull == id).collect();
        let said_straws: u32 = said.iter().map(|w| w.straws).sum();
        let who = format!("waste of {id} at {}", session.id);
        r.same(&who, &due, &said_straws);
        let left = planned.map_or(0, |b| b.left_straws);
        let lacking = due.min((wasted(before) + due).saturating_sub(left));
        r.same(&who, &lacking, &said.iter().map(|w| w.lacking_straws).sum());
    }
}

/// Each straw from a place that has it, and from none more than it has. What a group that is
/// planned for two breedings takes for one of them it does not take for the other.
fn places(r: &mut Reading<'_>, all: &[SessionThaw]) {
    let mut taken: BTreeMap<(&str, u32, &str), BTreeMap<&str, u32>> = BTreeMap::new();
    for s in all.iter().flat_map(straws) {
        let bull = r.bull(&s.bull);
        let place = (s.place as usize).checked_sub(1);
        let place = bull.and_then(|b| b.places.get(place?));
        let there = place.is_some_and(|p| {
            let goblet = p.goblet.map(Goblet::as_str);
            (&p.tank, p.canister, &p.cane, goblet)
                == (&s.tank, s.canister, &s.cane, s.goblet.as_deref())
                && (p.size.millilitres() - s.straw_ml).abs() < 1e-9
        });
        if !there {
            r.wrong(&s.bull, "a straw from where it lies", &s.where_words);
        }
        let step = r.pass(&s.pass).map_or("", |p| p.step.as_str());
        let of = taken.entry((&s.bull, s.place, &s.group)).or_default();
        *of.entry(step).or_default() += 1;
    }
    let mut sums: BTreeMap<(&str, u32), u32> = BTreeMap::new();
    for ((bull, place, group), steps) in &taken {
        let pens = r.plan.sessions.iter().flat_map(|s| &s.pens);
        let due: u32 = pens.filter(|p| p.group == *group).map(|p| p.head).sum();
        let head = r.group(group).map_or(0, |g| g.head().0);
        let straws = if due > head {
            steps.values().copied().max().unwrap_or(0)
        } else {
            steps.values().sum()
        };
        *sums.entry((bull, *place)).or_default() += straws;
    }
    for ((bull, place), straws) in sums {
        let of = r.bull(bull);
        let has = of.and_then(|b| b.places.get((place as usize).checked_sub(1)?));
        let has = has.map_or(0, |p| p.straws.0);
        if straws > has {
            let wanted = format!("at most {has} straws from it");
            r.wrong(&format!("{bull}, place {place}"), wanted, straws);
        }
    }
}
