//! Every step of every pen once, at the time the protocol says, in a free chute.

use std::collections::BTreeSet;

use chrono::{DateTime, Days, DurationRound, TimeDelta, Utc};

use super::{Reading, Treated};
use crate::planning::plan::{Moment, Pass, Work};
use crate::trade::protocol::{Action, Anchor, Delay, Step, Window};
use crate::trade::season::{Group, Order, PenStarts};

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
        r.wrong(
            "passes",
            format!("{} passes, each once", expected.len()),
            given.len(),
        );
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
        r.same(
            &who,
            &r.instant(group.start),
            &given.start.with_timezone(&Utc),
        );
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
        given.map(|all| all.iter().map(|at| at.with_timezone(&Utc)).collect());
    let latest = match &group.pen_starts {
        PenStarts::InTurn => return r.same(who, &None, &given),
        PenStarts::Given(starts) => {
            let wanted = starts.iter().map(|s| r.instant(*s)).collect();
            return r.same(who, &Some(wanted), &given);
        }
        PenStarts::Until(latest) => r.instant(*latest),
    };
    let first = r.instant(group.start);
    let slot = r.season.rules.slot.num_seconds();
    let fits = given.as_ref().is_some_and(|all| {
        let fit = |at: &DateTime<Utc>| {
            *at >= first && *at <= latest && (*at - first).num_seconds() % slot == 0
        };
        all.len() == group.pens.len() && all.iter().all(fit)
    });
    if !fits {
        r.wrong(
            who,
            format!("a start for each pen, by slots from {first} to {latest}"),
            format!("{given:?}"),
        );
    }
}

fn one(r: &mut Reading<'_>, group: &Group, pen: usize, step: &Step, pass: &Pass) {
    let who = pass.id.clone();
    let start = pass.start.with_timezone(&Utc);
    let end = pass.end.with_timezone(&Utc);
    r.offset(&who, pass.start);
    r.offset(&who, pass.end);
    let whole = step.lasts_days.is_some();
    let of_pen = (!whole).then_some(pen as u32 + 1);
    r.same(
        &who,
        &(group.id.as_str(), of_pen),
        &(pass.group.as_str(), pass.pen),
    );
    r.same(&who, &r.site_of(group).id.as_str(), &pass.site.as_str());
    let actions: Vec<&str> = step.actions.iter().map(|a| a.as_str()).collect();
    let given: Vec<&str> = pass.actions.iter().map(String::as_str).collect();
    r.same(&who, &actions, &given);
    for caution in step.actions.iter().flat_map(|a| a.cautions()) {
        if !pass.cautions.contains(caution) {
            r.wrong(&who, format!("the caution {}", caution.as_str()), "none");
        }
    }
    let bred_by_share = step
        .actions
        .iter()
        .any(|a| matches!(a, Action::InseminateInHeat | Action::InseminateRest));
    let head = if whole { group.head() } else { group.pens[pen] };
    if pass.head > head.0 || (!bred_by_share && pass.head != head.0) {
        r.wrong(&who, head, pass.head);
    }
    let Some(base) = base(r, group, pen, step) else {
        return;
    };
    if let Some(lasts) = step.lasts_days {
        if pen > 0 {
            return;
        }
        span(r, &who, step, lasts, base, pass);
        watched(r, &who, group, step, lasts, pass);
        return;
    }
    let Some(treated) = r
        .treated(group, pen, step)
        .filter(|_| matches!(step.delay, Delay::Elapsed(_)))
    else {
        // Days: the same clock time on the local calendar.
        if let Delay::Days(days) = step.delay {
            let wanted = r.local(base) + Days::new(u64::from(days));
            let means = r.instant(wanted);
            queued(r, &who, group, pen, step, means, start);
            r.same(
                &who,
                &(start + r.seconds_in_chute(group, step, group.pens[pen])),
                &end,
            );
        }
        return;
    };
    let Delay::Elapsed(window) = step.delay else {
        return;
    };
    if pass.work == Work::Breeding {
        hours(r, &who, group, treated, &window, pass);
        r.same(&who, &(base + window.aim), &start);
    } else {
        let long = r.seconds_in_chute(group, step, group.pens[pen]);
        r.same(&who, &(start + long), &end);
        let anchor_long = seconds(treated.seconds_each * f64::from(group.pens[pen].0));
        let half = TimeDelta::minutes((anchor_long - long).num_minutes() / 2);
        let middle = base + window.aim + half;
        let anchor = (treated.start, treated.start + anchor_long);
        let wanted = begins(group.order, &window, anchor, long, middle);
        let aim = pass.hours.as_ref().map(|h| h.aim.with_timezone(&Utc));
        r.same(&who, &Some(wanted), &aim);
        queued(r, &who, group, pen, step, wanted, start);
        chute_window(
            r,
            &who,
            group,
            &window,
            (treated.start, treated.start + anchor_long),
            (start, end),
        );
    }
}

/// The nearest moment to the middle at which a pass may begin so that each animal keeps the window: a
/// whole minute, unless the middle itself will do.
fn begins(
    order: Order,
    window: &Window,
    (first, last): (DateTime<Utc>, DateTime<Utc>),
    long: TimeDelta,
    middle: DateTime<Utc>,
) -> DateTime<Utc> {
    let kept = |at: DateTime<Utc>| {
        let (short, most) = match order {
            Order::Mixed => (at - last, at + long - first),
            Order::Kept => {
                let (a, b) = (at - first, at + long - last);
                (a.min(b), a.max(b))
            }
        };
        (short - window.earliest, window.latest - most)
    };
    let (early, late) = kept(middle);
    let none = TimeDelta::zero();
    // Too early and too late at once: no moment suits, or none was asked to.
    if early + late < none || (early >= none && late >= none) {
        return middle;
    }
    let minute = TimeDelta::minutes(1);
    if early < none {
        let at = middle - early;
        let full = at.duration_trunc(minute).unwrap_or(at);
        let full = if full < at { full + minute } else { full };
        return if kept(full).1 >= none { full } else { at };
    }
    let at = middle + late;
    let full = at.duration_trunc(minute).unwrap_or(at);
    if kept(full).0 >= none { full } else { at }
}

fn seconds(exact: f64) -> TimeDelta {
    TimeDelta::seconds((exact - 1e-6).ceil() as i64)
}

/// The moment a step counts from: the start of its anchor's pass, or the pen's own start.
fn base(r: &Reading<'_>, group: &Group, pen: usize, step: &Step) -> Option<DateTime<Utc>> {
    match step.anchor {
        Anchor::Step(a) => {
            let anchor = &group.protocol.steps[a];
            let start = |pen| {
                let pass = r.pass_of(group, pen, anchor)?;
                Some(pass.start.with_timezone(&Utc))
            };
            // Feeding and heat watch are of the whole group: they count from its first pen, and
            // a pen that begins later counts from them by as much.
            if step.lasts_days.is_some() {
                (0..group.pens.len()).filter_map(start).min()
            } else if anchor.lasts_days.is_some() && group.pen_starts != PenStarts::InTurn {
                Some(start(pen)? + (r.pen_start(group, pen) - r.instant(group.start)))
            } else {
                start(pen)
            }
        }
        Anchor::Start if step.lasts_days.is_some() => Some(r.instant(group.start)),
        Anchor::Start => Some(r.pen_start(group, pen)),
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
        .map(|p| p.end.with_timezone(&Utc));
    if start < wanted || before != Some(start) {
        r.wrong(who, format!("a start at {wanted}"), start);
    }
}

fn span(r: &mut Reading<'_>, who: &str, step: &Step, lasts: u32, base: DateTime<Utc>, pass: &Pass) {
    let start = match step.delay {
        Delay::Days(days) => r.instant(r.local(base) + Days::new(u64::from(days))),
        Delay::Elapsed(window) => base + window.earliest,
    };
    r.same(who, &start, &pass.start.with_timezone(&Utc));
    let first = r.local(start).date();
    r.same(who, &Some(first), &pass.first_day);
    // A watch goes on for the last pen.
    if step.actions.contains(&Action::FeedMga) {
        let last = first + Days::new(u64::from(lasts) - 1);
        r.same(who, &Some(last), &pass.last_day);
    }
}

/// Each pen is watched for so many days from its own first; nobody watches longer.
fn watched(r: &mut Reading<'_>, who: &str, group: &Group, step: &Step, lasts: u32, pass: &Pass) {
    if step.actions.contains(&Action::FeedMga) {
        return;
    }
    let later = |pen: usize| match group.pen_starts {
        PenStarts::InTurn => TimeDelta::zero(),
        _ => r.pen_start(group, pen) - r.instant(group.start),
    };
    let first = |pen: usize| {
        let base = match step.anchor {
            Anchor::Start => r.pen_start(group, pen),
            Anchor::Step(a) => {
                let anchor = &group.protocol.steps[a];
                let start = r.pass_of(group, pen, anchor)?.start.with_timezone(&Utc);
                if anchor.lasts_days.is_some() {
                    start + later(pen)
                } else {
                    start
                }
            }
        };
        let at = match step.delay {
            Delay::Days(days) => r.instant(r.local(base) + Days::new(u64::from(days))),
            Delay::Elapsed(window) => base + window.earliest,
        };
        Some(r.local(at).date())
    };
    let last = (0..group.pens.len()).filter_map(first).max();
    let last = last.map(|day| day + Days::new(u64::from(lasts) - 1));
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
        let given = given.with_timezone(&Utc);
        if !super::close(wanted, given) {
            r.wrong(&format!("{who} {name}"), wanted, given);
        }
    }
}

fn chute_window(
    r: &mut Reading<'_>,
    who: &str,
    group: &Group,
    window: &Window,
    anchor: (DateTime<Utc>, DateTime<Utc>),
    pass: (DateTime<Utc>, DateTime<Utc>),
) {
    let (short, long) = match group.order {
        Order::Mixed => (pass.0 - anchor.1, pass.1 - anchor.0),
        Order::Kept => {
            let (a, b) = (pass.0 - anchor.0, pass.1 - anchor.1);
            (a.min(b), a.max(b))
        }
    };
    let begins = r.passes.get(who).and_then(|p| p.hours.clone());
    let kept = short >= window.earliest && long <= window.latest;
    // The hours to begin in are as far before and after this beginning as the window leaves room.
    let room = begins.is_some_and(|h| {
        h.earliest.with_timezone(&Utc) == pass.0 - (short - window.earliest)
            && h.latest.with_timezone(&Utc) == pass.0 + (window.latest - long)
    });
    if !room {
        r.wrong(
            who,
            "hours to begin in that hold for every animal",
            "others, or none",
        );
    }
    if !kept && !reported(r, "D104", group.id.as_str()) {
        r.wrong(
            who,
            format!("{} held, or a finding D104", window.words()),
            "neither",
        );
    }
}

fn reported(r: &Reading<'_>, code: &str, name: &str) -> bool {
    r.plan
        .findings
        .iter()
        .any(|f| f.code == code && f.what.contains(&format!("`{name}`")))
}

/// Where the season or a publication says how many will be in heat, so many of each pen are
/// planned for the breeding of those, and all others for the rest.
fn shares(r: &mut Reading<'_>) {
    let season = r.season;
    for (group, given) in season.groups.iter().zip(&r.plan.groups) {
        if given.heat.is_some() {
            continue;
        }
        let published = group.protocol.steps.iter().find_map(|s| {
            let share = s.share.as_ref()?.expected;
            let in_heat = s.actions.contains(&Action::InseminateInHeat);
            Some(if in_heat { share } else { 100.0 - share })
        });
        let Some(share) = group.in_heat_percent.or(published) else {
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

fn chute_overlaps(r: &mut Reading<'_>) {
    let plan = r.plan;
    // The groups that a finding names, so that each pass in a chute already held is looked up once.
    let told: BTreeSet<&str> = plan
        .findings
        .iter()
        .filter(|f| f.code == "D105")
        .flat_map(|f| f.what.split('`'))
        .collect();
    for site in &plan.sites {
        let here = plan.passes.iter();
        let here = here.filter(|p| p.work == Work::Chute && p.site == site.id && p.head > 0);
        // Passes come by start.
        let mut held: Option<&Pass> = None;
        for pass in here {
            if held.is_some_and(|a| pass.start < a.end) && !told.contains(pass.group.as_str()) {
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
        let (from, to) = (p.start.with_timezone(&Utc), p.end.with_timezone(&Utc));
        if r.is_free(from, to) && !reported(r, "D106", &p.group) {
            r.wrong(&p.id, "a finding D106: these hours are kept free", "none");
        }
    }
}

impl Reading<'_> {
    /// True if any hours kept free touch `(from, to)`.
    pub(super) fn is_free(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> bool {
        let mut day = self.local(from).date() - Days::new(1);
        let last = self.local(to).date() + Days::new(1);
        while day <= last {
            for free in &self.season.rules.free {
                let today = match free.when {
                    crate::trade::season::When::On(d) => d == day,
                    crate::trade::season::When::Every(w) => {
                        crate::trade::season::is_weekday(w, day)
                    }
                };
                if !today {
                    continue;
                }
                let midnight = chrono::NaiveTime::MIN;
                let a = self.instant(day.and_time(free.from.unwrap_or(midnight)));
                let b = match free.to {
                    Some(t) => self.instant(day.and_time(t)),
                    None => self.instant((day + Days::new(1)).and_time(midnight)),
                };
                if a < to && from < b {
                    return true;
                }
            }
            day = day + Days::new(1);
        }
        false
    }
}
