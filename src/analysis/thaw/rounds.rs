//! The plan's rounds with their straws, and the lifts that fetch them.
//!
//! Lifts follow the round's moment. The plan's limit counts from the first straw in the bath, so the
//! first lift ends at that moment: a straw that is lifted later is younger, never older than planned.
//! It must still thaw, so where lifts are slower than loading, or two people want one tank, a gun is
//! ready some seconds after the plan (`W111`). Cows keep the plan's moments.

use std::collections::{BTreeMap, VecDeque};

use chrono::{DateTime, TimeDelta, Utc};

use super::stock::{Lot, Supply};
use super::{Lift, Round, Straw, place_words};
use crate::analysis::simulate::rounds_of_plan;
use crate::base::units::hundredths;
use crate::planning::plan::{AtSession, Moment, Plan, Session};
use crate::trade::season::Season;
use crate::trade::season::pace::rounds_of;

struct Cow {
    at: Moment,
    group: String,
    pen: Option<u32>,
    pass: String,
    animal: Option<u32>,
    /// Her id, where her order is known.
    tag: Option<String>,
    /// The straw of her mating then: bull by his place in the season, and whether it is sexed.
    own: Option<(usize, bool)>,
}

/// A round before its canisters are lifted.
struct Wanted {
    technician: usize,
    bath: Moment,
    cows: Vec<(Cow, Lot)>,
}

/// When the last canister of each tank is down again.
pub(super) type Free = BTreeMap<Option<String>, DateTime<Utc>>;

/// The rounds of each technician of a session, in the session's order.
pub(super) fn of_session(
    season: &Season,
    plan: &Plan,
    session: &Session,
    mut supply: Supply,
    mut free: Free,
) -> Vec<Vec<Round>> {
    let mut wanted = Vec::new();
    let crew = session.technicians.iter();
    let mut all: Vec<Vec<(Cow, Option<Lot>)>> = crew
        .map(|at| {
            let cows = cows(season, plan, session, at).into_iter();
            cows.map(|cow| (cow, None)).collect()
        })
        .collect();
    // Straws of known matings first; of the rest each technician has a run of its own.
    for known in [true, false] {
        for (cow, lot) in all.iter_mut().flatten().filter(|(_, lot)| lot.is_none()) {
            let own = cow.own.filter(|_| known);
            if known && own.is_none() {
                continue;
            }
            let lots = supply.get_mut(&cow.group);
            *lot = lots.and_then(|l| one(season, l, own));
        }
    }
    for ((nth, at), cows) in session.technicians.iter().enumerate().zip(all) {
        wanted.extend(with_straws(season, session, at, nth, cows));
    }
    wanted.sort_by_key(|w| (w.bath, w.technician));
    let mut all: Vec<Vec<Round>> = vec![Vec::new(); session.technicians.len()];
    for w in wanted {
        let rounds = &mut all[w.technician];
        let number = rounds.len() as u32 + 1;
        rounds.push(lifted(season, number, &w, &mut free));
    }
    all
}

/// The next straw; for an animal that is known the next one of her mating, if there is one.
fn one(season: &Season, lots: &mut VecDeque<Lot>, own: Option<(usize, bool)>) -> Option<Lot> {
    let of = |l: &Lot| {
        let bull = &season.bulls[l.bull];
        own == Some((l.bull, bull.is_sexed(l.place_in(season))))
    };
    let n = match own {
        Some(_) => lots.iter().position(of)?,
        None => 0,
    };
    let lot = lots.get_mut(n)?;
    let taken = Lot { straws: 1, ..*lot };
    lot.straws -= 1;
    if lot.straws == 0 {
        lots.remove(n);
    }
    Some(taken)
}

fn seconds(s: f64) -> TimeDelta {
    TimeDelta::milliseconds((s * 1000.0).round() as i64)
}

/// A moment with the offset that its zone has then: clocks may change within a round.
fn local(season: &Season, at: Moment) -> Moment {
    season.zone.moment(at.to_utc())
}

/// A technician's cows in the order in which they are bred.
fn cows(season: &Season, plan: &Plan, session: &Session, at: &AtSession) -> Vec<Cow> {
    let bulls = season.bulls_by_id();
    let mut cows = Vec::new();
    for slot in session.slots.iter().filter(|s| s.technician == at.id) {
        if !session.pens.iter().any(|p| p.pass == slot.pass) {
            continue;
        }
        let group = plan.group(&slot.group);
        for (at, animal) in slot.cows() {
            let known = group.and_then(|g| g.in_order(slot.pen, animal));
            let bull = known.and_then(|k| bulls.get(k.bull.as_deref()?));
            cows.push(Cow {
                at,
                group: slot.group.clone(),
                pen: slot.pen,
                pass: slot.pass.clone(),
                animal,
                tag: known.map(|k| k.animal.clone()),
                own: bull.zip(known).map(|(b, k)| (*b, k.sexed)),
            });
        }
    }
    cows.sort_by_key(|c| c.at);
    cows
}

/// A technician's cows cut into the plan's rounds, each with a straw.
fn with_straws(
    season: &Season,
    session: &Session,
    at: &AtSession,
    technician: usize,
    cows: Vec<(Cow, Option<Lot>)>,
) -> Vec<Wanted> {
    let of = season.crew.iter().find(|t| t.id.as_str() == at.id);
    let pace = of.and_then(|t| rounds_of(t, &season.rules, at.straws_at_once.max(1)));
    let Some(pace) = pace else {
        return Vec::new();
    };
    let before_first = seconds(pace.lead.0 + pace.cow.0);
    let mut cows = cows.into_iter();
    let mut all: Vec<Wanted> = Vec::new();
    for size in rounds_of_plan(season, session, at) {
        let mine: Vec<(Cow, Option<Lot>)> = cows.by_ref().take(size).collect();
        let Some((first, _)) = mine.first() else {
            break;
        };
        let bath = if all.is_empty() {
            at.begins
        } else {
            let bath = first.at - before_first;
            // Whole seconds.
            bath - TimeDelta::milliseconds(i64::from(bath.timestamp_subsec_millis()))
        };
        let with = mine.into_iter().filter_map(|(cow, lot)| Some((cow, lot?)));
        let cows: Vec<(Cow, Lot)> = with.collect();
        all.push(Wanted {
            technician,
            bath,
            cows,
        });
    }
    all
}

/// Lifts for a round, and when each of its straws is in the bath: canisters in the order of their
/// first straw, a few straws a lift, one canister of a tank up at a time. The first straws are in the
/// bath at the round's moment.
fn lifts(season: &Season, wanted: &Wanted, free: &mut Free) -> (Vec<Lift>, Vec<Moment>) {
    let rules = &season.rules;
    let lift = seconds(rules.straws.lift.0);
    let mut canisters: Vec<(Option<String>, Option<u32>, Vec<usize>)> = Vec::new();
    for (n, (_, lot)) in wanted.cows.iter().enumerate() {
        let p = lot.place_in(season);
        match canisters
            .iter_mut()
            .find(|c| (&c.0, c.1) == (&p.tank, p.canister))
        {
            Some(c) => c.2.push(n),
            None => canisters.push((p.tank.clone(), p.canister, vec![n])),
        }
    }
    let mut lifts = Vec::new();
    let mut in_at = vec![wanted.bath; wanted.cows.len()];
    let mut done = wanted.bath - lift;
    for (tank, canister, straws) in canisters {
        for few in straws.chunks(rules.straws.a_lift.0.max(1) as usize) {
            let at = free
                .get(&tank)
                .map_or(done, |free| done.max(free.with_timezone(done.offset())));
            done = at + lift;
            free.insert(tank.clone(), done.to_utc());
            for n in few {
                in_at[*n] = done;
            }
            lifts.push(Lift {
                at: local(season, at),
                down: local(season, done),
                tank: tank.clone(),
                canister,
                straws: few.len() as u32,
            });
        }
    }
    (lifts, in_at)
}

/// A round with its lifts: one straw after the other comes out, is dried and loaded.
fn lifted(season: &Season, number: u32, wanted: &Wanted, free: &mut Free) -> Round {
    let (lifts, in_at) = lifts(season, wanted, free);
    let rules = &season.rules;
    let (bath, thaw, load) = (wanted.bath, seconds(rules.thaw.0), seconds(rules.load.0));
    let (mut out, mut late) = (bath + thaw, TimeDelta::zero());
    let mut straws = Vec::new();
    for (n, (cow, lot)) in wanted.cows.iter().enumerate() {
        out = out.max(in_at[n] + thaw);
        late = late.max(out - (bath + thaw + load * n as i32));
        let p = lot.place_in(season);
        straws.push(Straw {
            bull: season.bulls[lot.bull].id.to_string(),
            straw_ml: p.size.millilitres(),
            place: lot.place as u32 + 1,
            where_words: place_words(p),
            tank: p.tank.clone(),
            canister: p.canister,
            cane: p.cane.clone(),
            goblet: p.goblet.map(|g| g.as_str().to_owned()),
            in_at: local(season, in_at[n]),
            out_at: local(season, out),
            bred_at: local(season, cow.at),
            group: cow.group.clone(),
            pen: cow.pen,
            pass: cow.pass.clone(),
            animal: cow.animal,
            tag: cow.tag.clone(),
        });
        out += load;
    }
    let first_out = straws.first().map_or(bath + thaw, |s| s.out_at);
    let last = straws.last().map_or(bath, |s| s.bred_at);
    Round {
        number,
        bath_at: local(season, bath),
        earliest_out: local(season, first_out),
        first_gun: local(season, first_out + load),
        cow_by: local(season, bath + seconds(rules.bath_to_cow.0)),
        last_straw_minutes: hundredths((last - bath).num_milliseconds() as f64 / 60_000.0),
        gun_late_seconds: late.num_seconds() + i64::from(late.subsec_nanos() > 0),
        by_tag: false,
        lifts,
        straws,
    }
}
