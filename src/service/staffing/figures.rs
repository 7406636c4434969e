//! The figures behind a session: its pens' hours, the first and the last cow, straws, work, and what
//! each limit costs.

use std::cmp::Reverse;

use chrono::TimeDelta;

use super::answer::{AtWork, Cow, Limit, PenFigures, SessionFigures};
use super::largest::Alone;
use super::words::window;
use crate::base::error::Error;
use crate::base::units::{HeadPerHour, Seconds, Straws, hundredths};
use crate::planning::plan::{DuePen, Moment, Plan, Session, Slot};
use crate::trade::season::pace::MOST_STRAWS;
use crate::trade::season::{Order, Season};

fn hours(span: TimeDelta) -> f64 {
    span.num_seconds() as f64 / 3600.0
}

/// The hours from her own treatment of an animal bred at a moment: for order kept, by her place in
/// the pen; for mixed order she may have been the first or the last.
fn since(pen: &DuePen, bred: Moment, animal: Option<u32>) -> (f64, f64) {
    let long = pen.counted_to - pen.counted_from;
    let at = |place: u32| {
        let share = f64::from(place) / f64::from(pen.head.max(1));
        pen.counted_from + TimeDelta::milliseconds((long.num_milliseconds() as f64 * share) as i64)
    };
    let (first, last) = match animal {
        Some(n) => (at(n - 1), at(n)),
        None => (pen.counted_from, pen.counted_to),
    };
    (hours(bred - last), hours(bred - first))
}

fn cows(session: &Session, pen: &DuePen) -> Vec<Cow> {
    let mut found: Vec<Cow> = session
        .slots
        .iter()
        .filter(|s| s.pass == pen.pass)
        .flat_map(Slot::cows)
        .map(|(bred, animal)| {
            let (fewest, most) = since(pen, bred, animal);
            Cow {
                bred,
                animal,
                fewest_hours: hundredths(fewest),
                most_hours: hundredths(most),
            }
        })
        .collect();
    found.sort_by_key(|c| (c.bred, c.animal));
    found
}

fn pen(season: &Season, session: &Session, pen: &DuePen) -> PenFigures {
    let cows = cows(session, pen);
    let group = season.groups.iter().find(|g| g.id.as_str() == pen.group);
    PenFigures {
        group: pen.group.clone(),
        pen: pen.pen,
        what: pen.what.clone(),
        order: pen.order,
        due_head: pen.head,
        bred_head: pen.bred_head,
        window: pen.hours.window.clone(),
        counted_from_what: match group.and_then(window) {
            _ if pen.by_heat.is_some() => "being first seen in heat".to_owned(),
            Some((_, from)) => from,
            None => "the last treatment".to_owned(),
        },
        counted_from: pen.counted_from,
        counted_to: pen.counted_to,
        earliest: pen.hours.earliest,
        latest: pen.hours.latest,
        fewest_hours: cows.iter().map(|c| c.fewest_hours).min_by(f64::total_cmp),
        most_hours: cows.iter().map(|c| c.most_hours).max_by(f64::total_cmp),
        first_cow: cows.first().cloned(),
        last_cow: cows.last().cloned(),
    }
}

/// A session as the plan has it; what limits cost is counted for those looked at closely.
pub(super) fn figures(season: &Season, plan: &Plan, session: &Session) -> SessionFigures {
    let oldest = session
        .technicians
        .iter()
        .max_by(|a, b| a.last_straw_minutes.total_cmp(&b.last_straw_minutes));
    let technicians: Vec<AtWork> = session
        .technicians
        .iter()
        .map(|t| AtWork {
            id: t.id.clone(),
            name: plan.technician_name(&t.id).to_owned(),
            head: t.head,
            begins: t.begins,
            first_cow: t.first_cow,
            last_cow: t.last_cow,
            work_hours: hundredths(hours(t.last_cow - t.begins)),
            straws_at_once: t.straws_at_once,
            oldest_straw_minutes: t.last_straw_minutes,
        })
        .collect();
    let mut groups: Vec<String> = session.pens.iter().map(|p| p.group.clone()).collect();
    groups.dedup();
    SessionFigures {
        id: session.id.clone(),
        site: session.site.clone(),
        site_name: plan.site_name(&session.site).to_owned(),
        groups,
        looked_at_closely: false,
        covered: session.pens.iter().all(|p| p.head == p.bred_head),
        open: session.open,
        close: session.close,
        due_head: session.pens.iter().map(|p| p.head).sum(),
        bred_head: session.pens.iter().map(|p| p.bred_head).sum(),
        margin_head: session.margin_head,
        margin_minutes: session.margin_minutes,
        binding: session.binding,
        binding_words: session.binding_words.clone(),
        work_hours: hundredths(technicians.iter().map(|t| t.work_hours).sum()),
        first_cow: session.first_cow,
        last_cow: session.last_cow,
        oldest_straw_minutes: oldest.map(|t| t.last_straw_minutes),
        most_straw_minutes: hundredths(season.rules.bath_to_cow.minutes()),
        late_percent: oldest.map(|t| t.late_percent),
        pens: session
            .pens
            .iter()
            .map(|p| pen(season, session, p))
            .collect(),
        technicians,
        limits: Vec::new(),
    }
}

type Lift = (&'static str, String, fn(&mut Season));

/// Limits of a group whose order is kept or not: what is lifted in words, and how.
fn lifts(kept: bool) -> [Lift; 6] {
    [
        (
            "straws-at-once",
            format!("with {MOST_STRAWS} straws thawed at once, however old they get"),
            |s| {
                let everyone = s.crew.len() as u32;
                s.rules.bath_to_cow = Seconds::from_minutes(600.0);
                s.sites
                    .iter_mut()
                    .for_each(|x| x.thaw_bath = Straws(MOST_STRAWS * everyone.max(1)));
                s.crew.iter_mut().for_each(|t| t.straws_at_once = None);
            },
        ),
        (
            "window",
            "in the order of the last treatment, each in her own AI window".to_owned(),
            |s| s.groups[0].order = Order::Kept,
        ),
        (
            "chute",
            if kept {
                "with treatments at half the pace, which spreads the AI windows".to_owned()
            } else {
                "with treatments at twice the pace".to_owned()
            },
            |s| {
                let by = if s.groups[0].order == Order::Kept {
                    0.5
                } else {
                    2.0
                };
                let site = &mut s.sites[s.groups[0].site];
                for pace in [&mut site.injections, &mut site.inserts] {
                    *pace = HeadPerHour::new(pace.get() * by).unwrap_or(*pace);
                }
            },
        ),
        (
            "shifts",
            "with shifts through the whole AI window".to_owned(),
            |s| {
                for t in &mut s.crew {
                    t.shifts.clear();
                    t.days_off.clear();
                }
            },
        ),
        (
            "boxes",
            "with a breeding box for everyone".to_owned(),
            |s| {
                let everyone = s.crew.len() as u32;
                s.sites
                    .iter_mut()
                    .for_each(|x| x.set_boxes(x.breeding_boxes.max(everyone)));
            },
        ),
        (
            "free-hours",
            "without the hours kept free of work".to_owned(),
            |s| {
                s.rules.free.clear();
            },
        ),
    ]
}

/// Each limit lifted, and the largest group then; the dearest first. Those that cost nothing are
/// left out.
pub(super) fn limits(season: &Season, group: usize) -> Result<Vec<Limit>, Error> {
    let alone = Alone::new(season, group);
    let Some(now) = alone.head()? else {
        return Ok(Vec::new());
    };
    let kept = season.groups[group].order == Order::Kept;
    let mut found = Vec::new();
    for (limit, words, lift) in lifts(kept) {
        let lifted = alone.with(lift).head()?;
        if lifted.is_none_or(|l| l > now) {
            found.push(Limit {
                limit: limit.to_owned(),
                words,
                largest_head: now,
                lifted_head: lifted,
            });
        }
    }
    found.sort_by_key(|l| Reverse(l.lifted_head.unwrap_or(u32::MAX)));
    Ok(found)
}
