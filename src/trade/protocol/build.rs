//! From a raw form whose rules were checked to a [`Protocol`], its steps in the order of time.

use super::heat::{ByHours, Heat, Heats};
use super::{
    Anchor, Cattle, Cited, Delay, Origin, Pregnant, Protocol, Semen, Share, Step, Window,
    nominal_offsets, raw,
};
use crate::base::time::hours;
use crate::base::units::Id;
use crate::trade::sources;

pub(super) fn build(raw: &raw::Protocol, order: &[usize]) -> Protocol {
    let id = |text: &str| Id::new(text).expect("ids were checked");
    let steps = order.iter().map(|n| {
        let s = &raw.steps[*n];
        Step {
            id: id(&s.id),
            actions: s.actions.clone(),
            anchor: if s.after == "start" {
                Anchor::Start
            } else {
                let at = order.iter().position(|k| raw.steps[*k].id == s.after);
                Anchor::Step(at.expect("anchors were checked"))
            },
            delay: match (s.days, s.hours) {
                (Some(days), _) => Delay::Days(days.unsigned_abs()),
                (None, Some(h)) => Delay::Elapsed(Window {
                    earliest: hours(h.earliest),
                    aim: hours(h.aim),
                    latest: hours(h.latest),
                }),
                (None, None) => unreachable!("step forms were checked"),
            },
            lasts_days: s.lasts_days,
            share: s.share_percent.clone(),
            heat: s.heat.as_ref().map(heat),
            note: s.note.clone(),
        }
    });
    let steps: Vec<Step> = steps.collect();
    let pregnant = raw.pregnancy_percent.iter().map(|p| Pregnant {
        low: p.low,
        high: p.high,
        head: p.head,
        place: p.place.clone(),
        year: p.year,
        of: p.of.clone(),
        semen: p.semen.unwrap_or_default(),
        tag: p.tag.clone(),
    });
    let sources = raw.sources.iter().map(|c| Cited {
        tag: c.tag.clone(),
        title: c.cite.clone().or_else(|| listed(c)).unwrap_or_default(),
        supports: c.supports.clone(),
        unverified: c.unverified,
    });
    let conventional = || vec![Semen::Conventional];
    Protocol {
        id: id(&raw.id),
        origin: Origin::BuiltIn,
        name: raw.name.clone(),
        class: raw.class,
        cattle: raw.cattle.clone().unwrap_or_else(|| vec![Cattle::Beef]),
        semen: raw.semen.clone().unwrap_or_else(conventional),
        research: raw.research,
        second_service: raw.second_service,
        kind: raw.kind,
        suits: raw.suits.clone(),
        notes: raw.notes.clone(),
        disagreements: raw.disagreements.clone(),
        pregnant: pregnant.collect(),
        sources: sources.collect(),
        steps: in_time_order(&steps),
    }
}

/// The title of a listed publication.
fn listed(cited: &raw::Cited) -> Option<String> {
    Some(sources::find(cited.tag.as_deref()?)?.title.clone())
}

/// When animals come in heat, from a form whose rules were checked.
pub(super) fn heat(raw: &raw::Heat) -> Heat {
    let heats = match (&raw.every_days, &raw.after, &raw.shows_percent) {
        (None, Some(after), Some(shows)) => Heats::After {
            step: Id::new(after).expect("steps were checked"),
            shows: shows.clone(),
            by_hours: raw
                .by_hours
                .iter()
                .map(|p| ByHours {
                    hours: p.hours,
                    share: Share {
                        low: p.low,
                        expected: p.expected,
                        high: p.high,
                        tag: p.tag.clone(),
                    },
                    head: p.head,
                })
                .collect(),
            mean: raw.mean_hours.clone(),
            spread: raw.spread_hours.clone(),
        },
        (Some(every), ..) => Heats::Cycling {
            days: every.days,
            tag: every.tag.clone(),
        },
        _ => unreachable!("forms of heat were checked"),
    };
    Heat {
        heats,
        borrowed: raw.borrowed_from.clone(),
    }
}

/// Puts steps in the order they happen. A step never falls before its anchor, so a stable sort by
/// nominal time keeps anchors first.
fn in_time_order(steps: &[Step]) -> Vec<Step> {
    let offsets = nominal_offsets(steps);
    let mut order: Vec<usize> = (0..offsets.len()).collect();
    order.sort_by_key(|n| offsets[*n]);
    let sorted = order.iter().map(|n| {
        let mut step = steps[*n].clone();
        if let Anchor::Step(a) = step.anchor {
            let at = order.iter().position(|k| *k == a);
            step.anchor = Anchor::Step(at.expect("every step is in the order"));
        }
        step
    });
    sorted.collect()
}
