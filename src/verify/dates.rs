//! Every step of every pen once, at the time the protocol says, in a free chute.

use std::collections::BTreeSet;

use chrono::{DateTime, Days, DurationRound, TimeDelta, Utc};

use super::{Reading, Treated};
use crate::base::error::Code;
use crate::planning::plan::{Moment, Pass, Work};
use crate::trade::protocol::{Action, Anchor, Delay, Step, Window};
use crate::trade::season::{FreeHours, Group, Order, PenStarts, Stops};

/// `expected` are the passes of half-days, which are looked at elsewhere.
pub(super) fn check(r: &mut Reading<'_>, mut expected: BTreeSet<String>) {
    for group in &r.season.groups {
        for pen in 0..group.pens.len() {
            for step in &group.protocol.steps {
                expected.insert(super::pass_id(group, pen, step));
                match r.pass_of(group, pen, step) {
                    Some(pass) => one(r, group, pen, step, pass),
                    None => r.wrong(
                        &format!("{} pen {}", group.id, pen + 1),
                        format!("a pass for step {}", step.id),
                        "none",
                    ),
                }
            }
        }
    }
    let given: Vec<&str> = r.plan.passes.iter().map(|p| p.id.as_str()).collect();
    if given.len() != expected.len() || !given.iter().all(|id| expected.contains(*id)) {
        let wanted = format!("{} passes, each once", expected.len());
        r.wrong("passes", wanted, given.len());
    }
    groups(r);
    shares(r);
    chute_overlaps(r);
    free_hours(r);
}

fn groups(r: &mut Reading<'_>) {
    let (season, plan) = (r.season, r.plan);
    r.same("groups", &season.groups.len(), &plan.groups.len());
    for (group, given) in season.groups.iter().zip(&plan.groups) {
        let who = format!("group {}", group.id);
        r.same(&who, &group.id.as_str(), &given.id.as_str());
        r.same(&who, &r.instant(group.start), &given.start.to_utc());
        r.offset(&who, given.start);
        pen_starts(r, &who, group, given.pen_starts.as_deref());
        let pens: Vec<u32> = group.pens.iter().map(|p| p.0).collect();
        r.same(&who, &pens, &given.pen_head);
        r.same(&who, &group.protocol.id.as_str(), &given.protocol.as_str());
    }
}

/// Starts of their own are those of the season, or whole slots after the group's start and not
/// after the latest.
fn pen_starts(r: &mut Reading<'_>, who: &str, group: &Group, given: Option<&[Moment]>) {
    for at in given.into_iter().flatten() {
        r.offset(who, *at);
    }
    let given: Option<Vec<DateTime<Utc>>> =
        given.map(|all| all.iter().map(Moment::to_utc).collect());
    let latest = match &group.pen_starts {
        PenStarts::InTurn => return r.same(who, &None, &given),
        PenStarts::Given(starts) => {
            let wanted = starts.iter().map(|s| r.instant(*s)).collect();
            return r.same(who, &Some(wanted), &given);
        }
        PenStarts::Until(latest) => r.instant(*latest),
    };
    let first = r.instant(group.start);
    // A later reading of a clock that skips an hour may be no later as a moment.
    let latest = latest.max(first);
    let slot = r.season.rules.slot.num_seconds();
    let fits = given.as_ref().is_some_and(|all| {
        let fit = |at: &DateTime<Utc>| {
            *at >= first && *at <= latest && (*at - first).num_seconds() % slot == 0
        };
        all.len() == group.pens.len() && all.iter().all(fit)
    });
    if !fits {
        let wanted = format!("a start for each pen, by slots from {first} to {latest}");
        r.wrong(who, wanted, format!("{given:?}"));
    }
}

fn one(r: &mut Reading<'_>, group: &Group, pen: usize, step: &Step, pass: &Pass) {
    let who = pass.id.clone();
    let start = pass.start.to_utc();
    let end = pass.end.to_utc();
    r.offset(&who, pass.start);
    r.offset(&who, pass.end);
    let whole = step.lasts_days.is_some();
    let of_pen = (!whole).then_some(pen as u32 + 1);
    let found = (pass.group.as_str(), pass.pen);
    r.same(&who, &(group.id.as_str(), of_pen), &found);
    r.same(&who, &r.site_of(group).id.as_str(), &pass.site.as_str());
    r.same(&who, &step.actions, &pass.actions);
    for action in &step.actions {
        r.cautions(&who, action.cautions(), &pass.cautions);
    }
    let bred_by_share = step
        .actions
        .iter()
        .any(|a| matches!(a, Action::InseminateInHeat | Action::InseminateRest));
    let head = if whole { group.head() } else { group.pens[pen] };
    if pass.head > head.0 || (!bred_by_share && pass.head != head.0) {
        r.wrong(&who, head, pass.head);
    }
    let Some(treated) = r.treated(group, pen, step) else {
        return;
    };
    if let Some(lasts) = step.lasts_days {
        if pen == 0 {
            days(r, &who, group, step, lasts, pass);
        }
        return;
    }
    let long = r.seconds_in_chute(group, step, group.pens[pen]);
    let Delay::Elapsed(window) = step.delay else {
        queued(
            r,
            &who,
            group,
            pen,
            step,
            due(r, step, treated.start),
            start,
        );
        r.same(&who, &(start + long), &end);
        return;
    };
    if pass.work == Work::Breeding {
        hours(r, &who, group, treated, &window, pass);
        r.same(&who, &(treated.start + window.aim), &start);
        return;
    }
    r.same(&who, &(start + long), &end);
    let anchor_long = seconds(treated.seconds_each * f64::from(group.pens[pen].0));
    let half = TimeDelta::minutes((anchor_long - long).num_minutes() / 2);
    let anchor = (treated.start, treated.start + anchor_long);
    let room = to_begin_in(group.order, &window, anchor, long);
    let wanted = nearest(room, treated.start + window.aim + half);
    let given = pass.hours.as_ref();
    let aim = given.map(|h| h.aim.to_utc());
    r.same(&who, &Some(wanted), &aim);
    queued(r, &who, group, pen, step, wanted, start);
    let given = given.map(|h| (h.earliest.to_utc(), h.latest.to_utc()));
    r.same(&who, &Some(room), &given);
    let kept = room.0 <= start && start <= room.1;
    if !kept && !r.told(Code::PassOutsideWindow, group) {
        let wanted = format!("{} held, or a finding D104", window.words());
        r.wrong(&who, wanted, "neither");
    }
}

/// The first and the last moment at which a pass may begin so that each animal keeps the window: the
/// first later than the last where no moment suits all.
fn to_begin_in(
    order: Order,
    window: &Window,
    (first, last): (DateTime<Utc>, DateTime<Utc>),
    long: TimeDelta,
) -> (DateTime<Utc>, DateTime<Utc>) {
    let (from_last, from_first) = match order {
        Order::Mixed => (last, first - long),
        // The animal treated first and the one treated last, each from her own treatment.
        Order::Kept => (first.max(last - long), first.min(last - long)),
    };
    (from_last + window.earliest, from_first + window.latest)
}

/// The moment of these that is nearest to the middle: a whole minute, unless the middle itself will do.
fn nearest(
    (earliest, latest): (DateTime<Utc>, DateTime<Utc>),
    middle: DateTime<Utc>,
) -> DateTime<Utc> {
    if earliest > latest || (earliest <= middle && middle <= latest) {
        return middle;
    }
    let minute = TimeDelta::minutes(1);
    let whole = |at: DateTime<Utc>| at.duration_trunc(minute).unwrap_or(at);
    let (edge, full) = if middle < earliest {
        (
            earliest,
            whole(earliest + minute - TimeDelta::nanoseconds(1)),
        )
    } else {
        (latest, whole(latest))
    };
    if earliest <= full && full <= latest {
        full
    } else {
        edge
    }
}

fn seconds(exact: f64) -> TimeDelta {
    TimeDelta::seconds((exact - 1e-6).ceil() as i64)
}

/// When a step is due that counts from this moment: days later at the same clock time on the local
/// calendar, or at the first of its hours.
fn due(r: &Reading<'_>, step: &Step, from: DateTime<Utc>) -> DateTime<Utc> {
    match step.delay {
        Delay::Days(days) => r.instant(r.local(from) + Days::new(u64::from(days))),
        Delay::Elapsed(window) => from + window.earliest,
    }
}

/// A pass starts when it should, or when the pen before it is through.
fn queued(
    r: &mut Reading<'_>,
    who: &str,
    group: &Group,
    pen: usize,
    step: &Step,
    wanted: DateTime<Utc>,
    start: DateTime<Utc>,
) {
    if start == wanted {
        return;
    }
    // Pens with starts of their own come in the order of these.
    let turn = |p: usize| (r.pen_start(group, p), p);
    let earlier = (0..group.pens.len()).filter(|p| turn(*p) < turn(pen));
    let before = earlier
        .max_by_key(|p| turn(*p))
        .and_then(|p| r.pass_of(group, p, step))
        .map(|p| p.end.to_utc());
    if start < wanted || before != Some(start) {
        r.wrong(who, format!("a start at {wanted}"), start);
    }
}

/// Feeding and heat watch are of the whole group: they begin with its first pen. A watch goes on for the
/// last: each pen is watched for so many days from its own first, and nobody watches longer.
fn days(r: &mut Reading<'_>, who: &str, group: &Group, step: &Step, lasts: u32, pass: &Pass) {
    let pens = 0..group.pens.len();
    let base = match step.anchor {
        Anchor::Start => Some(r.instant(group.start)),
        Anchor::Step(a) => {
            let passes = pens
                .clone()
                .filter_map(|pen| r.pass_of(group, pen, &group.protocol.steps[a]));
            passes.map(|p| p.start.to_utc()).min()
        }
    };
    let Some(base) = base else { return };
    let start = due(r, step, base);
    r.same(who, &start, &pass.start.to_utc());
    let first = r.local(start).date();
    r.same(who, &Some(first), &pass.first_day);
    let first_of_last = if step.actions.contains(&Action::FeedMga) {
        Some(first)
    } else {
        let of_pen = |pen| {
            Some(
                r.local(due(r, step, r.treated(group, pen, step)?.start))
                    .date(),
            )
        };
        pens.filter_map(of_pen).max()
    };
    let last = first_of_last.map(|day| day + Days::new(u64::from(lasts) - 1));
    r.same(who, &last, &pass.last_day);
}

fn hours(
    r: &mut Reading<'_>,
    who: &str,
    group: &Group,
    treated: Treated,
    window: &Window,
    pass: &Pass,
) {
    let Some(hours) = &pass.hours else {
        r.wrong(who, "breeding hours", "none");
        return;
    };
    let pen = pass.pen.map_or(0, |p| p as usize - 1);
    let all = f64::from(group.pens[pen].0);
    let end = treated.start + seconds(treated.seconds_each * all);
    let (earliest, latest) = match super::sessions::order_of(group, pass) {
        Order::Mixed => (end + window.earliest, treated.start + window.latest),
        Order::Kept => {
            let each = treated.seconds_each * all / f64::from(pass.head.max(1));
            (
                treated.start + seconds(each) + window.earliest,
                treated.start
                    + TimeDelta::seconds(
                        (each * f64::from(pass.head.max(1) - 1) + 1e-6).floor() as i64
                    )
                    + window.latest,
            )
        }
    };
    // Best for the middle of the pen, as near as the hours allow.
    let middle = treated.start + (end - treated.start) / 2 + window.aim;
    let aim = if earliest <= latest {
        middle.max(earliest).min(latest)
    } else {
        middle
    };
    for (name, wanted, given) in [
        ("earliest", earliest, hours.earliest),
        ("latest", latest, hours.latest),
        ("aim", aim, hours.aim),
    ] {
        r.offset(who, given);
        let given = given.to_utc();
        if !super::close(wanted, given) {
            r.wrong(&format!("{who} {name}"), wanted, given);
        }
    }
}

/// Where the season or a publication says how many will be in heat, so many of each pen are
/// planned for the breeding of those, and all others for the rest.
fn shares(r: &mut Reading<'_>) {
    let season = r.season;
    for (group, given) in season.groups.iter().zip(&r.plan.groups) {
        if given.heat.is_some() {
            continue;
        }
        let Some(share) = super::heat::said(group) else {
            continue;
        };
        for (pen, head) in group.pens.iter().enumerate() {
            let in_heat = (f64::from(head.0) * share / 100.0).round() as u32;
            for step in group
                .protocol
                .steps
                .iter()
                .filter(|s| s.is_timed_breeding())
            {
                let wanted = if step.actions.contains(&Action::InseminateInHeat) {
                    in_heat
                } else if step.actions.contains(&Action::InseminateRest) {
                    head.0 - in_heat
                } else {
                    continue;
                };
                if let Some(pass) = r.pass_of(group, pen, step) {
                    r.same(&pass.id, &wanted, &pass.head);
                }
            }
        }
    }
}

fn told(r: &Reading<'_>, code: Code, pass: &Pass) -> bool {
    r.group(&pass.group).is_some_and(|g| r.told(code, g))
}

fn chute_overlaps(r: &mut Reading<'_>) {
    let plan = r.plan;
    for site in &plan.sites {
        let here = plan.passes.iter();
        let here = here.filter(|p| p.work == Work::Chute && p.site == site.id && p.head > 0);
        let mut here: Vec<&Pass> = here.collect();
        here.sort_by_key(|p| (p.start, p.end));
        let mut held: Option<&Pass> = None;
        for pass in here {
            if held.is_some_and(|a| pass.start < a.end) && !told(r, Code::ChuteBusy, pass) {
                r.wrong(&pass.id, "a finding D105: the chute is held", "none");
            }
            if held.is_none_or(|a| a.end < pass.end) {
                held = Some(pass);
            }
        }
    }
    if plan.passes.windows(2).any(|w| w[0].start > w[1].start) {
        r.wrong("passes", "an order by start", "another");
    }
}

fn free_hours(r: &mut Reading<'_>) {
    let plan = r.plan;
    for p in plan.passes.iter().filter(|p| p.work == Work::Chute) {
        let (from, to) = (p.start.to_utc(), p.end.to_utc());
        if r.is_free(from, to) && !told(r, Code::NoWorkHours, p) {
            r.wrong(&p.id, "a finding D106: these hours are kept free", "none");
        }
    }
}

impl Reading<'_> {
    /// True if any hours kept free touch `(from, to)`.
    pub(super) fn is_free(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> bool {
        self.meets(from, to, |_| true)
    }

    /// True if hours without any work do.
    pub(super) fn is_idle(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> bool {
        self.meets(from, to, |free| free.stops == Stops::AllWork)
    }

    fn meets(&self, from: DateTime<Utc>, to: DateTime<Utc>, of: fn(&FreeHours) -> bool) -> bool {
        let rules = self.season.rules.free.iter().filter(|free| of(free));
        let first = self.local(from).date() - Days::new(1);
        let last = self.local(to).date() + Days::new(1);
        let days = || first.iter_days().take_while(|day| *day <= last);
        rules
            .flat_map(|free| days().filter_map(|day| free.of(day)))
            .any(|(a, b)| self.instant(a) < to && from < self.instant(b))
    }
}
