//! Every animal due is bred once inside her own hours, or named as uncovered.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};

use super::{CLOSE, Reading, close};
use crate::planning::plan::{Pass, Session, Slot, Uncovered, Work};
use crate::trade::protocol::{Caution, Delay, Window};
use crate::trade::season::{Group, Order};

pub(super) fn check(r: &mut Reading<'_>) {
    let plan = r.plan;
    let mut by_pass: BTreeMap<&str, Vec<&Slot>> = BTreeMap::new();
    for session in &plan.sessions {
        shape(r, session);
        for slot in &session.slots {
            by_pass.entry(slot.pass.as_str()).or_default().push(slot);
        }
    }
    for pass in plan
        .passes
        .iter()
        .filter(|p| p.work == Work::Breeding && p.hours.is_some())
    {
        let slots = by_pass.remove(pass.id.as_str()).unwrap_or_default();
        let uncovered = plan.uncovered.iter();
        let missed: Vec<&Uncovered> = uncovered.filter(|u| u.pass == pass.id).collect();
        counts(r, pass, &slots, &missed);
        animals_hours(r, pass, &slots, &missed);
    }
    if let Some((pass, _)) = by_pass.into_iter().next() {
        r.wrong("sessions", "only passes of this season", pass);
    }
}

/// What a session says of itself holds together.
fn shape(r: &mut Reading<'_>, session: &Session) {
    let who = &session.id;
    for at in [session.open, session.close] {
        r.offset(who, at);
    }
    let head: u32 = session.slots.iter().map(|s| s.head).sum();
    r.same(who, &head, &session.head);
    let moments: Vec<DateTime<Utc>> = session.slots.iter().flat_map(Slot::bred_at).collect();
    for (name, wanted, given) in [
        ("first cow", moments.iter().min(), session.first_cow),
        ("last cow", moments.iter().max(), session.last_cow),
    ] {
        let fits = match (wanted, given) {
            (Some(w), Some(g)) => close(*w, g.to_utc()),
            (None, None) => true,
            _ => false,
        };
        if !fits {
            let who = format!("{who} {name}");
            r.wrong(&who, format!("{wanted:?}"), format!("{given:?}"));
        }
    }
    let (open, close) = (session.open.to_utc(), session.close.to_utc());
    for at in &moments {
        if *at < open - CLOSE || *at > close + CLOSE {
            r.wrong(who, format!("cows bred from {open} to {close}"), at);
        }
    }
    pens(r, session);
    slots(r, session);
}

/// Pens, hours and cautions of a session are those of its passes.
fn pens(r: &mut Reading<'_>, session: &Session) {
    let who = &session.id;
    let wanted = [Caution::Nitrogen, Caution::Thaw, Caution::Chute];
    r.cautions(who, &wanted, &session.cautions);
    let hours = session.pens.iter().map(|p| &p.hours);
    let all: Vec<_> = hours.flat_map(|h| [h.earliest, h.latest]).collect();
    if all.iter().min() != Some(&session.open) || all.iter().max() != Some(&session.close) {
        r.wrong(who, "the hours of its pens, from first to last", "others");
    }
    for pen in &session.pens {
        let slots = session.slots.iter();
        let bred: u32 = slots.filter(|s| s.pass == pen.pass).map(|s| s.head).sum();
        let what = format!("{who} {}", pen.pass);
        r.same(&what, &bred, &pen.bred_head);
        let pass = r.passes.get(pen.pass.as_str()).copied();
        let own = pass.and_then(|p| p.hours.as_ref());
        let found = Some(&pen.hours);
        r.same(&format!("{what} hours"), &own, &found);
        r.same(&what, &pass.map(|p| p.head), &Some(pen.head));
        let planned = pass.map(|p| p.site.as_str());
        r.same(&what, &planned, &Some(session.site.as_str()));
    }
}

/// Slots are on the season's grain, in hours that are not kept free, with cows of pens due here.
fn slots(r: &mut Reading<'_>, session: &Session) {
    let who = &session.id;
    let slot_seconds = r.season.rules.slot.num_seconds();
    for slot in &session.slots {
        let start = slot.start.timestamp();
        if start.rem_euclid(slot_seconds) != 0 {
            r.wrong(who, "slots on the season's grain", slot.start);
        }
        r.same(who, &(slot.head as usize), &slot.bred_minutes.len());
        let long = slot_seconds as f64 / 60.0;
        if slot
            .bred_minutes
            .iter()
            .any(|m| !(0.0..=long + 0.01).contains(m))
        {
            let wanted = format!("cows within {long} minutes of {}", slot.start);
            r.wrong(who, wanted, format!("{:?}", slot.bred_minutes));
        }
        // Of a step that hours kept free touch, none is used. No step is finer than a minute.
        let step = r.season.rules.grain.unwrap_or(TimeDelta::minutes(1));
        let in_free_step = |at: &DateTime<Utc>| {
            // A cow bred on a boundary counts to the step that ends there.
            let nth = (at.timestamp() - 1).div_euclid(step.num_seconds());
            let from = DateTime::UNIX_EPOCH + step * nth as i32;
            r.is_free(from, from + step)
        };
        if let Some(at) = slot.bred_at().find(in_free_step) {
            r.wrong(who, "no breeding in hours kept free", at);
        }
        if !session
            .pens
            .iter()
            .any(|p| p.pass == slot.pass && p.group == slot.group && p.pen == slot.pen)
        {
            r.wrong(who, "cows of pens that are due here", &slot.pass);
        }
    }
}

fn counts(r: &mut Reading<'_>, pass: &Pass, slots: &[&Slot], missed: &[&Uncovered]) {
    let bred: u32 = slots.iter().map(|s| s.head).sum();
    let uncovered: u32 = missed.iter().map(|u| u.head).sum();
    if bred + uncovered != pass.head {
        let wanted = format!("{} head bred or named as uncovered", pass.head);
        let got = format!("{bred} bred and {uncovered} uncovered");
        r.wrong(&pass.id, wanted, got);
    }
    let has_it = |s: &&Session| s.pens.iter().any(|p| p.pass == pass.id);
    let sessions = r.plan.sessions.iter().filter(has_it).count();
    let wanted = usize::from(pass.head > 0);
    if sessions != wanted {
        r.wrong(&pass.id, format!("{wanted} session"), sessions);
    }
    if missed.iter().any(|u| u.why.is_empty() || u.head == 0) {
        r.wrong(&pass.id, "a reason for each animal uncovered", "none");
    }
}

fn animals_hours(r: &mut Reading<'_>, pass: &Pass, slots: &[&Slot], missed: &[&Uncovered]) {
    if pass.pen.is_none() {
        let cows: Vec<DateTime<Utc>> = slots.iter().flat_map(|s| s.bred_at()).collect();
        let named = slots.iter().any(|s| !s.animals.is_empty());
        return super::heat::in_hours(r, pass, &cows, named);
    }
    let Some(group) = r.group(&pass.group) else {
        return;
    };
    let Some(step) = group
        .protocol
        .steps
        .iter()
        .find(|s| s.id.as_str() == pass.step)
    else {
        return;
    };
    let Delay::Elapsed(window) = step.delay else {
        return;
    };
    let pen = pass.pen.map_or(0, |p| p as usize - 1);
    let Some(treated) = r.treated(group, pen, step) else {
        return;
    };
    let all = treated.seconds_each * f64::from(group.pens[pen].0);
    match order_of(group, pass) {
        Order::Mixed => mixed(r, treated.start, all, &window, pass, slots),
        Order::Kept => kept(r, treated.start, all, &window, pass, slots, missed),
    }
}

/// Of a share of a pen nobody knows which animals it will be: they come in any order.
pub(super) fn order_of(group: &Group, pass: &Pass) -> Order {
    let whole = pass
        .pen
        .and_then(|p| group.pens.get(p as usize - 1))
        .is_some_and(|p| p.0 == pass.head);
    if whole { group.order } else { Order::Mixed }
}

/// Any animal may come at any moment: it must suit the first treated and the last, so many seconds later.
fn mixed(
    r: &mut Reading<'_>,
    treated: DateTime<Utc>,
    seconds: f64,
    window: &Window,
    pass: &Pass,
    slots: &[&Slot],
) {
    let last = treated + TimeDelta::milliseconds((seconds * 1000.0) as i64);
    for at in slots.iter().flat_map(|s| s.bred_at()) {
        let (longest, shortest) = (at - treated, at - last);
        if shortest < window.earliest - CLOSE || longest > window.latest + CLOSE {
            r.wrong(&pass.id, format!("{} for any animal", window.words()), at);
        }
    }
    if slots.iter().any(|s| !s.animals.is_empty()) {
        let wanted = "no animal named where the order is mixed";
        r.wrong(&pass.id, wanted, "names");
    }
}

fn kept(
    r: &mut Reading<'_>,
    treated: DateTime<Utc>,
    seconds: f64,
    window: &Window,
    pass: &Pass,
    slots: &[&Slot],
    missed: &[&Uncovered],
) {
    let each = seconds / f64::from(pass.head.max(1));
    let seen = missed.iter();
    let mut seen: Vec<u32> = seen.flat_map(|u| u.animals.iter().copied()).collect();
    for slot in slots {
        r.same(&pass.id, &(slot.head as usize), &slot.animals.len());
        for (animal, at) in slot.animals.iter().zip(slot.bred_at()) {
            seen.push(*animal);
            let place = f64::from(*animal) - 1.0;
            let from = treated + TimeDelta::milliseconds((each * place * 1000.0) as i64);
            let to = treated + TimeDelta::milliseconds((each * (place + 1.0) * 1000.0) as i64);
            if at - to < window.earliest - CLOSE || at - from > window.latest + CLOSE {
                let wanted = format!("{} after her own treatment", window.words());
                r.wrong(&format!("{} animal {animal}", pass.id), wanted, at);
            }
        }
    }
    seen.sort_unstable();
    let wanted: Vec<u32> = (1..=pass.head).collect();
    if seen != wanted {
        let wanted = format!("animals 1 to {} once each", pass.head);
        r.wrong(&pass.id, wanted, format!("{} names", seen.len()));
    }
}
