//! A tank that is wanted at two sites at one time goes to one after the other.
//!
//! Which comes first, and when the tank leaves, is chosen pair by pair: moments of leaving are tried
//! on a grid that gets finer round the best, and judged by counting what the crew then breeds.
//!
//! Tanks are put in turn after a plan: which tank a session needs is known when straws are set aside,
//! after the crew. Most seasons need no turns. Where one tank would be at two sites at once, the hours
//! of both sessions are narrowed and the plan is made again. A pair is settled for good, so this ends.
//! What a due leaves in the first plan tells whether the tank is the reason.

use chrono::TimeDelta;

use super::stays::{Stay, clashes, stays};
use crate::base::error::{Code, Finding, quoted};
use crate::base::progress::Progress;
use crate::base::time::Instant;
use crate::planning::crew::{self, Fault, Workload};
use crate::planning::dating::{DatedSeason, Due, Turn};
use crate::planning::plan::Plan;
use crate::trade::season::Season;
use crate::trade::season::pace::rounds_at;

/// Times that a plan is made anew for tanks that go in turn.
///
/// A pair is settled once, so a season has to have hundreds of sessions at one time to need as many.
pub(crate) const MOST_ROUNDS: usize = 200;

/// Moments of leaving that are tried at once.
const TRIED: i64 = 8;

/// Sessions so near may share technicians with those of a pair.
const NEAR: TimeDelta = TimeDelta::hours(24);

/// Dues of one stay of a tank, by their place in [`DatedSeason::dues`].
struct Visit {
    site: usize,
    dues: Vec<usize>,
    /// From the tank's coming to the first cow.
    before: TimeDelta,
}

/// Head covered, and the least spare of the two sessions.
type Worth = (u32, TimeDelta);

/// The tank leaves the first visit, and comes to the other.
#[derive(Clone, Copy)]
struct Order {
    turned: bool,
    leaves: Instant,
    comes: Instant,
}

/// Settles the stays of tanks that cannot both be, as far as they have nothing to do with each other,
/// by narrowing the hours of `dated`. False if there are none. Of a clash that comes when the work is used
/// up, one way is counted for each order of the two. `left_anyway` is what each due leaves
/// where tanks are everywhere.
///
/// # Errors
/// A [`Fault`] if the crew cannot be counted.
pub(crate) fn settle(
    season: &Season,
    dated: &mut DatedSeason,
    workload: &Workload,
    plan: &Plan,
    left_anyway: &[u32],
    progress: &dyn Progress,
) -> Result<bool, Fault> {
    let all = stays(season, plan);
    let mut settled: Vec<usize> = Vec::new();
    for (first, then) in clashes(season, &all, |tank| season.places_at_once(tank)) {
        let pair = [first.session, then.session];
        if pair.iter().any(|s| settled.contains(s)) {
            continue;
        }
        settled.extend(pair);
        let visits = [first, then].map(|s| visit(season, dated, workload, s));
        let order = best(season, dated, &visits, progress)?;
        apply(season, dated, &first.tank, &visits, order, left_anyway);
    }
    Ok(!settled.is_empty())
}

fn visit(season: &Season, dated: &DatedSeason, workload: &Workload, stay: &Stay) -> Visit {
    // Sessions and groups of the plan are in the workload's and the season's order.
    let all = &workload.sessions[stay.session].dues;
    let of = |d: &&usize| stay.groups.contains(&dated.dues[**d].group);
    let dues: Vec<usize> = all.iter().filter(of).copied().collect();
    let rules = &season.rules;
    // Technicians who breed others before have straws for both in one round.
    let before = if dues.len() == all.len() {
        let crew = season.crew.iter();
        let rounds = crew.filter_map(|t| rounds_at(season, t, &season.sites[stay.site]));
        rounds
            .map(|r| r.lead.0 + r.cow.0)
            .fold(0.0, f64::max)
            .min(rules.bath_to_cow.0)
    } else {
        rules.bath_to_cow.0
    };
    Visit {
        site: stay.site,
        dues,
        before: TimeDelta::seconds(before.ceil() as i64 + rules.straws.lift.0.ceil() as i64),
    }
}

/// First and last moment of the hours of some dues.
fn hours(dated: &DatedSeason, dues: &[usize]) -> (Instant, Instant) {
    let all = dues.iter().map(|d| dated.dues[*d].safe_hours_with_straws());
    let first = all.clone().map(|h| h.earliest).min();
    let last = all.map(|h| h.latest).max();
    (first.unwrap_or_default(), last.unwrap_or_default())
}

fn best(
    season: &Season,
    dated: &DatedSeason,
    visits: &[Visit; 2],
    progress: &dyn Progress,
) -> Result<Order, Fault> {
    let near = near(dated, visits);
    let slot = season.rules.slot.num_seconds().max(60);
    let mut best: Option<(Worth, Order)> = None;
    for turned in [false, true] {
        let (first, then) = in_order(visits, turned);
        let (open, close) = hours(dated, &first.dues);
        let (next_open, next_close) = hours(dated, &then.dues);
        let gap = season.sites[first.site].road[then.site];
        let later = gap + then.before;
        // Left at the end of its hours, or as soon as the other can be begun.
        let (low, high) = (open.max(next_open - later), close.min(next_close - later));
        // The first whole slot is in both.
        let low = low + TimeDelta::seconds((slot - low.timestamp()).rem_euclid(slot));
        let order = |leaves: Instant| Order {
            turned,
            leaves,
            comes: leaves + gap,
        };
        let mut step = ((high - low).num_seconds() / TRIED / slot * slot).max(slot);
        let mut tried: Vec<Instant> = (0..=TRIED + 1)
            .map(|n| low + TimeDelta::seconds(n * step))
            .filter(|at| *at < high)
            // One of them may have the tank all the time.
            .chain([high.max(low), low, close, next_open - later])
            .collect();
        let mut here: Option<(Worth, Order)> = None;
        loop {
            for at in &tried {
                if here.is_some() && progress.stop() {
                    break;
                }
                let worth = worth(season, dated, &near, visits, order(*at), progress)?;
                if here.as_ref().is_none_or(|(w, _)| worth > *w) {
                    here = Some((worth, order(*at)));
                }
            }
            let Some((_, found)) = here.as_ref().filter(|_| step > slot && !progress.stop()) else {
                break;
            };
            let middle = found.leaves;
            step = (step / 2 / slot * slot).max(slot);
            tried = [-1, 1]
                .map(|n| middle + TimeDelta::seconds(n * step))
                .into_iter()
                .filter(|at| low <= *at && *at <= high)
                .collect();
        }
        if let Some((worth, order)) = here
            && best.as_ref().is_none_or(|(w, _)| worth > *w)
        {
            best = Some((worth, order));
        }
    }
    let (_, order) = best.expect("both orders are tried");
    Ok(order)
}

const fn in_order(visits: &[Visit; 2], turned: bool) -> (&Visit, &Visit) {
    let [a, b] = visits;
    if turned { (b, a) } else { (a, b) }
}

/// Dues that may share technicians with those of a pair, and the pair's own.
fn near(dated: &DatedSeason, visits: &[Visit; 2]) -> Vec<usize> {
    let own: Vec<usize> = visits.iter().flat_map(|v| &v.dues).copied().collect();
    let (open, close) = hours(dated, &own);
    let is_near = |n: &usize| {
        let h = dated.dues[*n].safe_hours();
        own.contains(n) || (h.latest > open - NEAR && h.earliest < close + NEAR)
    };
    (0..dated.dues.len()).filter(is_near).collect()
}

/// What is bred if the tank goes so.
fn worth(
    season: &Season,
    dated: &DatedSeason,
    near: &[usize],
    visits: &[Visit; 2],
    order: Order,
    progress: &dyn Progress,
) -> Result<Worth, Fault> {
    let dues: Vec<Due> = near
        .iter()
        .map(|n| narrowed(&dated.dues[*n], *n, visits, order))
        .collect();
    let some = DatedSeason {
        dues,
        ..DatedSeason::default()
    };
    let counted = crew::count(season, &some, progress)?;
    let own = |d: &usize| visits.iter().any(|v| v.dues.contains(&near[*d]));
    let spare = counted.iter().filter(|c| c.dues.iter().any(own));
    let spare = spare.map(|c| c.spare).min().unwrap_or_default();
    Ok((counted.iter().map(|c| c.covered).sum(), spare))
}

/// A due with the hours that the order leaves.
fn narrowed(due: &Due, n: usize, visits: &[Visit; 2], order: Order) -> Due {
    let (first, then) = in_order(visits, order.turned);
    let mut due = due.clone();
    if first.dues.contains(&n) {
        let turn = due.turn.get_or_insert_default();
        turn.to = Some(turn.to.map_or(order.leaves, |t| t.min(order.leaves)));
    }
    if then.dues.contains(&n) {
        let turn = due.turn.get_or_insert_default();
        let from = order.comes + then.before;
        turn.from = Some(turn.from.map_or(from, |t| t.max(from)));
    }
    due
}

fn apply(
    season: &Season,
    dated: &mut DatedSeason,
    tank: &str,
    visits: &[Visit; 2],
    order: Order,
    left_anyway: &[u32],
) {
    let (first, then) = in_order(visits, order.turned);
    let at = |visit: &Visit| season.sites[visit.site].name.clone();
    let when = |at: Instant| season.zone.human_short(at);
    let (open, _) = hours(dated, &first.dues);
    let (_, close) = hours(dated, &then.dues);
    let words = if order.leaves <= open {
        format!("the tank {} is at {}", quoted(tank), at(then))
    } else if order.comes + then.before >= close {
        format!("the tank {} is at {}", quoted(tank), at(first))
    } else {
        format!(
            "the tank {} leaves {} at {} and is at {} from {}",
            quoted(tank),
            at(first),
            when(order.leaves),
            at(then),
            when(order.comes)
        )
    };
    for n in first.dues.iter().chain(&then.dues) {
        let mut due = narrowed(&dated.dues[*n], *n, visits, order);
        let turn: &mut Turn = due.turn.get_or_insert_default();
        let own = left_anyway.get(*n).copied().unwrap_or(0);
        turn.left_anyway = [own, left_anyway.iter().sum()];
        if !turn.words.contains(&words) {
            turn.words.push(words.clone());
        }
        dated.dues[*n] = due;
    }
}

/// What is said of tanks that go in turn, and of those that are wanted at two sites all the same.
pub(crate) fn findings(season: &Season, dated: &DatedSeason, plan: &Plan) -> Vec<Finding> {
    let mut said: Vec<String> = Vec::new();
    let mut found = Vec::new();
    for due in &dated.dues {
        for words in due.turn.iter().flat_map(|t| &t.words) {
            if said.contains(words) {
                continue;
            }
            said.push(words.clone());
            let finding = Finding::note(Code::TankInTurn, words.clone())
                    .at(season.groups[due.group].start_place.clone())
                    .hint("its sessions are planned one after the other; if a second tank goes along with a part of the straws, set `places_at_once: 2` for the tank");
            found.push(finding);
        }
    }
    let all = stays(season, plan);
    // Where more tanks go along, each pair is said once, as one to carry.
    for (first, then) in clashes(season, &all, |_| 1) {
        let site = |s: &Stay| season.sites[s.site].name.clone();
        let when = |s: &Stay| season.zone.human_range(s.from, s.to);
        let what = format!(
            "straws of the tank {} are thawed at {} {} and at {} {}",
            quoted(&first.tank),
            site(first),
            when(first),
            site(then),
            when(then)
        );
        let mut finding = if season.places_at_once(&first.tank) > 1 {
            Finding::note(Code::TankTwice, what)
                .hint("take a part of its straws in another tank, as `places_at_once` says")
        } else {
            Finding::warning(Code::TankTwice, what)
                .expected("a tank at one site at a time, with the drive between")
                .hint("start one of the groups on another day, or take more tanks along and set `places_at_once` of this one")
        };
        let group = then.groups.first().and_then(|g| season.groups.get(*g));
        finding.place = group.map(|g| g.start_place.clone());
        found.push(finding);
    }
    found
}
