//! From flows back to cows and people: names are handed out to technicians who are alike, cows
//! to slots in their order, and each cow to a moment of a technician's round.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::moments;
use crate::base::error::{Code, Finding, quoted};
use crate::base::progress::Progress;
use crate::base::time::Instant;
use crate::base::units::Head;
use crate::planning::crew::assign::best::Way;
use crate::planning::crew::assign::model::{Model, RouteColumn};
use crate::planning::crew::flow::solve::Solved;
use crate::planning::crew::margin::Margin;
use crate::planning::crew::routes::list::Visit;
use crate::planning::crew::sessions::parts::Part;
use crate::planning::crew::sessions::unstaffed::{Able, Lot, Slots, Unstaffed};
use crate::planning::crew::{Binding, Bred, Present, Session, Uncovered};
use crate::planning::dating::{DatedSeason, Work};
use crate::trade::season::{Order, Season};

/// The sessions of a part, as planned.
pub(crate) fn sessions(
    season: &Season,
    dated: &DatedSeason,
    all_unstaffed: &[Unstaffed],
    part: &Part,
    way: &Way,
    progress: &dyn Progress,
) -> Vec<Session> {
    part.sessions
        .iter()
        .enumerate()
        .map(|(s, unstaffed)| session(season, dated, &all_unstaffed[*unstaffed], s, way, progress))
        .collect()
}

fn session(
    season: &Season,
    dated: &DatedSeason,
    unstaffed: &Unstaffed,
    s: usize,
    way: &Way,
    progress: &dyn Progress,
) -> Session {
    let (model, solved) = (&way.model, &way.solved);
    // Head by (slot, due), and by (due, lot).
    let mut by_slot: BTreeMap<(i64, usize), u32> = BTreeMap::new();
    let mut by_lot: BTreeMap<(usize, usize), u32> = BTreeMap::new();
    for to in model.to_slot.iter().filter(|t| t.session == s) {
        let head = solved.flow[to.arc];
        if head > 0 {
            *by_slot.entry((to.slot, to.due)).or_default() += head;
            *by_lot.entry((to.due, to.lot)).or_default() += head;
        }
    }
    let mut queues: Vec<VecDeque<u32>> = Vec::new();
    for (d, lots) in unstaffed.lots.iter().enumerate() {
        queues.push(bred_of(lots, |l| by_lot.get(&(d, l)).copied().unwrap_or(0)));
    }
    let mut hands = Hands::new(unstaffed, s, model, solved);
    let mut bred = Vec::new();
    for slot in unstaffed.first..=unstaffed.last {
        let mut work: Vec<(usize, u32)> = by_slot
            .range((slot, 0)..=(slot, usize::MAX))
            .map(|((_, d), head)| (*d, *head))
            .collect();
        for (technician, mut ticks) in hands.of_slot(slot) {
            while !ticks.is_empty() && !work.is_empty() {
                // Stay with the pen last served, if it has more.
                let at = hands
                    .last_due
                    .get(&technician)
                    .and_then(|d| work.iter().position(|(w, _)| w == d))
                    .unwrap_or(0);
                let (d, left) = work[at];
                let take = (ticks.len() as u32).min(left);
                let cows: Vec<u32> = queues[d].drain(..take as usize).collect();
                let kept = dated.dues[unstaffed.dues[d]].order == Order::Kept;
                bred.push(Bred {
                    slot: Slots::row(season, ticks[0]),
                    due: unstaffed.dues[d],
                    technician,
                    at: ticks.drain(..take as usize).collect(),
                    cows: if kept { cows } else { Vec::new() },
                });
                hands.last_due.insert(technician, d);
                work[at].1 -= take;
                if work[at].1 == 0 {
                    work.remove(at);
                }
            }
        }
    }
    let able = |t| (hands.able(t), hands.visits.contains_key(&t));
    moments::lay(season, dated, unstaffed, &mut bred, &able, progress);
    let uncovered = uncovered(dated, unstaffed, &bred);
    let crew = hands.present(&bred);
    Session {
        site: unstaffed.site,
        dues: unstaffed.dues.clone(),
        open: unstaffed.open,
        close: unstaffed.close,
        crew,
        bred,
        uncovered,
        margin: Margin::default(),
    }
}

/// Cows of a due that the flow breeds: of each lot the first so many.
fn bred_of(lots: &[Lot], head: impl Fn(usize) -> u32) -> VecDeque<u32> {
    let of = |(l, lot): (usize, &Lot)| lot.cow..lot.cow + head(l);
    lots.iter().enumerate().flat_map(of).collect()
}

/// What is due at a session and not bred.
fn uncovered(dated: &DatedSeason, unstaffed: &Unstaffed, bred: &[Bred]) -> Vec<Uncovered> {
    let mut found = Vec::new();
    for due in &unstaffed.dues {
        let all = &dated.dues[*due];
        let mine = || bred.iter().filter(|b| b.due == *due);
        let head: u32 = mine().map(|b| b.at.len() as u32).sum();
        let cows: BTreeSet<u32> = mine().flat_map(|b| b.cows.iter().copied()).collect();
        let missed = (0..all.head.0).filter(|c| all.order == Order::Kept && !cows.contains(c));
        if head < all.head.0 {
            found.push(Uncovered {
                due: *due,
                head: Head(all.head.0 - head),
                cows: missed.collect(),
                binding: Binding::Pace,
                lifted: Vec::new(),
                hints: Vec::new(),
                at_most: None,
                why: Vec::new(),
            });
        }
    }
    found
}

/// Technicians at a session, and how much each has done.
struct Hands<'a> {
    unstaffed: &'a Unstaffed,
    /// Members of each class sent here.
    assigned: Vec<Vec<usize>>,
    /// What those can do who are here for a visit of a route.
    visits: BTreeMap<usize, &'a Visit>,
    /// Head by class and slot.
    head: BTreeMap<(i64, usize), u32>,
    done: BTreeMap<usize, u32>,
    last_due: BTreeMap<usize, usize>,
    s: usize,
    model: &'a Model,
    solved: &'a Solved,
    /// Who of a class stands at a box, by decision.
    at_box: BTreeMap<usize, Vec<usize>>,
}

impl<'a> Hands<'a> {
    fn new(unstaffed: &'a Unstaffed, s: usize, model: &'a Model, solved: &'a Solved) -> Self {
        let mut head = BTreeMap::new();
        for to in model.to_class.iter().filter(|t| t.session == s) {
            if solved.flow[to.arc] > 0 {
                head.insert((to.slot, to.class), solved.flow[to.arc]);
            }
        }
        let mut visits = BTreeMap::new();
        let assigned = model
            .classes
            .iter()
            .enumerate()
            .map(|(c, class)| {
                if model.is_routed(c, s) {
                    let mine = on_routes(model, solved, c, s);
                    let members: Vec<usize> = mine.iter().map(|(n, _)| class.members[*n]).collect();
                    visits.extend(members.iter().copied().zip(mine.iter().map(|(_, v)| *v)));
                    return members;
                }
                // Members not wanted elsewhere at the same time: earlier sessions take from the
                // front, as `greedy` limits their numbers.
                let free = model.members_at(c, s, &solved.decisions).into_iter();
                free.map(|n| class.members[n]).collect()
            })
            .collect();
        Self {
            unstaffed,
            assigned,
            visits,
            head,
            done: BTreeMap::new(),
            last_due: BTreeMap::new(),
            s,
            model,
            solved,
            at_box: BTreeMap::new(),
        }
    }

    /// Those of a class who may breed in a slot: where boxes are few, the same few for as long as
    /// the same people are on duty, whoever has done least first.
    fn at_boxes(&mut self, c: usize, slot: i64) -> Vec<usize> {
        let mut members = self.assigned[c].clone();
        members.sort_by_key(|t| (self.done.get(t).copied().unwrap_or(0), *t));
        let Some(decision) = self.model.at_box.get(&(c, self.s, slot)) else {
            return members;
        };
        let most = self.solved.decisions[*decision] as usize;
        self.at_box
            .entry(*decision)
            .or_insert_with(|| members.into_iter().take(most).collect())
            .clone()
    }

    fn able(&self, technician: usize) -> &'a Able {
        if let Some(visit) = self.visits.get(&technician) {
            return &visit.able;
        }
        self.unstaffed
            .able
            .iter()
            .find(|a| a.technician == technician)
            .expect("only those who are able are assigned")
    }

    /// Who breeds in a slot, and at which moments: those of a class who did least go first.
    fn of_slot(&mut self, slot: i64) -> Vec<(usize, Vec<Instant>)> {
        let mut all = Vec::new();
        for c in 0..self.assigned.len() {
            let Some(mut left) = self.head.get(&(slot, c)).copied() else {
                continue;
            };
            let order = self.at_boxes(c, slot);
            let mut share: BTreeMap<usize, u32> = BTreeMap::new();
            // One at a time to whoever has done least, as long as the slot has room.
            while left > 0 {
                let next = order
                    .iter()
                    .filter(|t| share.get(t).copied().unwrap_or(0) < self.able(**t).cap(slot))
                    .min_by_key(|t| {
                        self.done.get(t).copied().unwrap_or(0) + share.get(t).copied().unwrap_or(0)
                    });
                let Some(next) = next else { break };
                *share.entry(*next).or_default() += 1;
                left -= 1;
            }
            for (t, n) in share {
                *self.done.entry(t).or_default() += n;
                all.push((t, self.able(t).ticks.of(slot).take(n as usize).collect()));
            }
        }
        all
    }

    fn present(&self, bred: &[Bred]) -> Vec<Present> {
        let mut found = Vec::new();
        for members in &self.assigned {
            for t in members {
                let mine: Vec<Instant> = bred
                    .iter()
                    .filter(|b| b.technician == *t)
                    .flat_map(|b| b.at.iter().copied())
                    .collect();
                if mine.is_empty() {
                    continue;
                }
                let rounds = self.able(*t).rounds;
                let first = mine.iter().min().copied();
                found.push(Present {
                    technician: *t,
                    rounds,
                    head: Head(mine.len() as u32),
                    begins: first.map(|f| {
                        f - chrono::TimeDelta::seconds((rounds.lead.0 + rounds.cow.0).ceil() as i64)
                    }),
                    cows: first.zip(mine.iter().max().copied()),
                    stay: self.visits.get(t).filter(|v| v.cut).map(|v| v.able.span),
                });
            }
        }
        found.sort_by_key(|p| p.technician);
        found
    }
}

/// Which members of a class come to a session by which visit: those of the first route first.
fn on_routes<'a>(
    model: &'a Model,
    solved: &Solved,
    class: usize,
    session: usize,
) -> Vec<(usize, &'a Visit)> {
    let mut found = Vec::new();
    let component = model.visits(class, session).next();
    let component = component.map(|(n, _)| model.columns[n].component);
    let mine = |p: &&RouteColumn| p.class == class && Some(p.component) == component;
    let mut next = 0;
    for column in model.columns.iter().filter(mine) {
        let taken = solved.decisions[column.decision] as usize;
        if let Some(visit) = column.at(session) {
            found.extend((next..next + taken).map(|n| (n, visit)));
        }
        next += taken;
    }
    found
}

/// Chute work at a site while animals are bred there.
pub(crate) fn chute_in_use(
    season: &Season,
    dated: &DatedSeason,
    sessions: &[Session],
) -> Vec<Finding> {
    let mut found = Vec::new();
    for s in sessions {
        let first = s.crew.iter().filter_map(|c| c.begins).min();
        let last = s.crew.iter().filter_map(|c| c.cows).map(|c| c.1).max();
        let (Some(first), Some(last)) = (first, last) else {
            continue;
        };
        for p in dated.passes.iter().filter(|p| {
            p.work == Work::Chute
                && season.groups[p.group].site == s.site
                && p.start < last
                && first < p.end
        }) {
            let group = &season.groups[p.group];
            found.push(
                Finding::note(
                    Code::ChuteAndBreeding,
                    format!(
                        "while animals are bred at {} ({}), {} of {} needs the chute there from {}",
                        quoted(season.sites[s.site].id.as_str()),
                        season.zone.human_range(first, last),
                        group.protocol.steps[p.step].words(),
                        quoted(group.id.as_str()),
                        season.zone.clock(p.start)
                    ),
                )
                .at(group.start_place.clone())
                .hint("see that there are people and alleys for both, or start one group at another hour"),
            );
        }
    }
    found
}
