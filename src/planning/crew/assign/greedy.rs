//! Who goes where, by plain rules: a good first choice, and often the best one.
//!
//! One technician after the other goes where he or she adds most head; of equals, the one with
//! the shortest road. Then whoever is left goes where a box is free, to the session with most
//! work for its crew. At the boxes of a session stand those who can breed most.
//!
//! Plain rules go before the search because who goes where is a yes-or-no choice: with forty
//! technicians the search took minutes. The rules cover as many in nearly every season, and an
//! arithmetic bound proves it. The solver is asked only where they fall short, or where the choices are
//! few.

use std::collections::{BTreeMap, BTreeSet};

use super::model::{Model, able_of, road};
use crate::planning::crew::bounds::coverage::{best_at, covered, places};
use crate::planning::crew::flow::guess::{Guess, MOST_NODE_ARCS};
use crate::planning::crew::sessions::unstaffed::{Ticks, Unstaffed};
use crate::trade::season::Season;

/// The choice by plain rules.
pub(crate) fn by_rule(season: &Season, here: Vec<&Unstaffed>, model: &Model) -> Guess {
    // Each session for itself, with everyone who could come and the best at its boxes.
    let bound = (0..here.len())
        .map(|s| {
            let lots = here[s].all_lots();
            covered(&lots, &most_places(season, here[s], s, model))
        })
        .sum();
    let mut assignment = Greedy::new(season, here, model);
    while assignment.send_one(true) {}
    while assignment.take_one() {}
    assignment.improve();
    while assignment.take_better() {}
    while assignment.send_one(true) || assignment.send_one(false) || assignment.take_one() {}
    let mut decisions = vec![0; model.network.decisions.len()];
    for ((c, s), decision) in &model.assigned {
        decisions[*decision] = assignment.number(*c, *s);
    }
    for (column, taken) in model.columns.iter().zip(&assignment.taken) {
        decisions[column.decision] = *taken;
    }
    assignment.at_boxes(&mut decisions);
    let places = (0..assignment.here.len())
        .map(|s| assignment.places_with(s, &decisions))
        .collect();
    Guess {
        decisions,
        bound,
        node_arcs: MOST_NODE_ARCS,
        only_head: false,
        places,
    }
}

/// Places by slot with everyone who could come. Rounds begin anew with each visit of a route, and a
/// short one needs no rest: in a slot, a visit may breed more than one who is there throughout.
fn most_places(season: &Season, unstaffed: &Unstaffed, s: usize, model: &Model) -> Places {
    let mut by_slot: BTreeMap<i64, Vec<u32>> = BTreeMap::new();
    for (c, class) in model.classes.iter().enumerate() {
        let whole = able_of(unstaffed, class).into_iter();
        let visits = model.visits(c, s).map(|(_, v)| &v.able);
        let mut most: BTreeMap<i64, u32> = BTreeMap::new();
        for (slot, cap) in whole.chain(visits).flat_map(|a| a.ticks.caps()) {
            let most = most.entry(slot).or_default();
            *most = (*most).max(cap);
        }
        for (slot, cap) in most {
            let all = by_slot.entry(slot).or_default();
            all.extend(class.members.iter().map(|_| cap));
        }
    }
    best_at(by_slot, season.sites[unstaffed.site].breeding_boxes)
}

/// Places by slot.
type Places = BTreeMap<i64, u32>;

/// What the best of all choices covers, where they are few enough to try each.
pub(crate) struct Tried {
    /// No choice covers more head.
    pub(crate) most: u32,
    /// Head covered by session of the part, and places a slot; where the plain rule for who stands
    /// at the boxes covers as much.
    pub(crate) exact: Option<(Vec<u32>, Vec<Places>)>,
}

/// Choices that are tried, at the most, and crews of a session that are counted.
const MOST_TRIED: (usize, usize) = (4_096, 400);

/// Tries every choice of who goes where. `None` where there are too many.
pub(crate) fn by_trying(season: &Season, here: Vec<&Unstaffed>, model: &Model) -> Option<Tried> {
    let mut assignment = Greedy::new(season, here, model);
    let keys: Vec<(usize, usize)> = model.assigned.keys().copied().collect();
    let mut tries = Tries::default();
    tries.each(&mut assignment, &keys)?;
    let (most, assigned) = tries.best?;
    assignment.assigned = assigned;
    let mut decisions = vec![0; model.network.decisions.len()];
    assignment.at_boxes(&mut decisions);
    let places: Vec<_> = (0..assignment.here.len())
        .map(|s| assignment.places_with(s, &decisions))
        .collect();
    let head: Vec<u32> = places
        .iter()
        .enumerate()
        .map(|(s, p)| covered(&assignment.here[s].all_lots(), p))
        .collect();
    let same = head.iter().sum::<u32>() == most;
    Some(Tried {
        most,
        exact: same.then_some((head, places)),
    })
}

/// How many of a class are sent to a session, where that is a decision.
pub(crate) type Assigned = BTreeMap<(usize, usize), u32>;

#[derive(Default)]
struct Tries {
    ways: usize,
    /// Head covered at a session by so many of each class.
    known: BTreeMap<(usize, Vec<u32>), u32>,
    best: Option<(u32, Assigned)>,
}

impl Tries {
    /// Tries every number for each key that is left. `None` if that takes too long.
    fn each(&mut self, assignment: &mut Greedy<'_>, keys: &[(usize, usize)]) -> Option<()> {
        let Some((first, rest)) = keys.split_first() else {
            return self.count(assignment);
        };
        self.each(assignment, rest)?;
        let mut more = 0;
        while assignment.may_go(first.0, first.1) {
            *assignment.assigned.entry(*first).or_default() += 1;
            more += 1;
            self.each(assignment, rest)?;
        }
        *assignment.assigned.entry(*first).or_default() -= more;
        Some(())
    }

    fn count(&mut self, assignment: &Greedy<'_>) -> Option<()> {
        self.ways += 1;
        let mut all = 0;
        for s in 0..assignment.here.len() {
            let classes = 0..assignment.model.classes.len();
            let crew: Vec<u32> = classes.map(|c| assignment.number(c, s)).collect();
            all += *self
                .known
                .entry((s, crew))
                .or_insert_with(|| assignment.cover(s));
        }
        if self.best.as_ref().is_none_or(|(most, _)| all > *most) {
            self.best = Some((all, assignment.assigned.clone()));
        }
        (self.ways < MOST_TRIED.0 && self.known.len() < MOST_TRIED.1).then_some(())
    }
}

/// Classes taken from sessions, and sent to sessions.
type Change = (Vec<(usize, usize)>, Vec<(usize, usize)>);

pub(crate) struct Greedy<'a> {
    pub(crate) season: &'a Season,
    pub(crate) here: Vec<&'a Unstaffed>,
    pub(crate) model: &'a Model,
    pub(crate) assigned: Assigned,
    /// How many take each route.
    pub(crate) taken: Vec<u32>,
    /// Routes that visit each session.
    pub(crate) visiting: Vec<Vec<usize>>,
    /// Animals due at each session.
    pub(crate) due: Vec<u32>,
    /// Sessions counted for changes of routes so far.
    pub(crate) counted: usize,
    /// What one more of a class adds at each session, as far as it is known of those who are there.
    pub(crate) gains: Vec<BTreeMap<(usize, bool), i64>>,
}

impl<'a> Greedy<'a> {
    fn new(season: &'a Season, here: Vec<&'a Unstaffed>, model: &'a Model) -> Self {
        let visiting = (0..here.len())
            .map(|s| {
                let columns = model.columns.iter().enumerate();
                let mine = columns.filter(|(_, p)| p.at(s).is_some());
                mine.map(|(n, _)| n).collect()
            })
            .collect();
        Self {
            gains: vec![BTreeMap::new(); here.len()],
            due: here.iter().map(|s| s.head()).collect(),
            season,
            here,
            model,
            assigned: BTreeMap::new(),
            taken: vec![0; model.columns.len()],
            visiting,
            counted: 0,
        }
    }

    /// How many of a class are at a session for all of it: everyone where nobody has to choose.
    fn number(&self, c: usize, s: usize) -> u32 {
        if self.model.assigned.contains_key(&(c, s)) {
            self.assigned.get(&(c, s)).copied().unwrap_or(0)
        } else if self.model.is_routed(c, s) {
            0
        } else if able_of(self.here[s], &self.model.classes[c]).is_some() {
            self.model.classes[c].members.len() as u32
        } else {
            0
        }
    }

    fn crew(&self, s: usize) -> Vec<&'a Ticks> {
        let mut crew = Vec::new();
        for (c, class) in self.model.classes.iter().enumerate() {
            if let Some(able) = able_of(self.here[s], class) {
                crew.extend((0..self.number(c, s)).map(|_| &able.ticks));
            }
        }
        for n in &self.visiting[s] {
            let visit = self.model.columns[*n].at(s);
            let ticks = visit.map(|v| &v.able.ticks);
            crew.extend((0..self.taken[*n]).filter_map(|_| ticks));
        }
        crew
    }

    pub(crate) fn boxes(&self, s: usize) -> u32 {
        self.season.sites[self.here[s].site].breeding_boxes
    }

    /// True if one more of a class can go to a session.
    fn may_go(&self, c: usize, s: usize) -> bool {
        let size = self.model.classes[c].members.len() as u32;
        let now = self.number(c, s);
        // Whoever is at a clashing session is busy; sessions that clash with this one and not
        // with each other may share people, so counting them all is on the safe side.
        let busy: u32 = self.model.clashes[c]
            .iter()
            .filter_map(|(a, b)| match (*a == s, *b == s) {
                (true, true) => None,
                (true, _) => Some(*b),
                (_, true) => Some(*a),
                _ => None,
            })
            .map(|other| self.number(c, other))
            .sum();
        now + busy < size
    }

    /// Sends one technician more. `for_head`: only where that covers more head; else only where
    /// a box is free.
    fn send_one(&mut self, for_head: bool) -> bool {
        let mut best: Option<((i64, i64), (usize, usize))> = None;
        for (c, s) in self.model.assigned.keys().copied() {
            let Some(gain) = self.gain_at(c, s, for_head).filter(|gain| *gain > 0) else {
                continue;
            };
            let class = &self.model.classes[c];
            let road = road(self.season, class.members[0], self.here[s].site);
            if best.is_none_or(|(b, _)| (gain, -road) > b) && self.may_go(c, s) {
                best = Some(((gain, -road), (c, s)));
            }
        }
        if let Some((_, at)) = best {
            self.shift(&[], &[at]);
        }
        best.is_some()
    }

    /// What one more of a class adds at a session: head; or places, by the work there is for each.
    fn gain_at(&mut self, c: usize, s: usize, for_head: bool) -> Option<i64> {
        if let Some(known) = self.gains[s].get(&(c, for_head)) {
            return Some(*known);
        }
        let unstaffed = self.here[s];
        let able = able_of(unstaffed, &self.model.classes[c])?;
        let mut crew = self.crew(s);
        let lots = unstaffed.all_lots();
        let before = places(crew.iter().copied(), self.boxes(s));
        crew.push(&able.ticks);
        let after = places(crew.iter().copied(), self.boxes(s));
        let gain = if for_head {
            i64::from(covered(&lots, &after)) - i64::from(covered(&lots, &before))
        } else {
            let room = |p: &BTreeMap<i64, u32>| i64::from(p.values().sum::<u32>());
            let head = i64::from(unstaffed.head());
            // Work for each place there is so far, where this one adds places.
            if room(&after) > room(&before) {
                1 + 1000 * head / (1 + room(&before))
            } else {
                0
            }
        };
        self.gains[s].insert((c, for_head), gain);
        Some(gain)
    }

    /// Head covered at a session by those sent there.
    pub(crate) fn cover(&self, s: usize) -> u32 {
        let lots = self.here[s].all_lots();
        covered(&lots, &places(self.crew(s), self.boxes(s)))
    }

    /// Moves one technician, or lets two change places, as long as that covers more head.
    fn improve(&mut self) {
        // Each round covers at least one head more, so this ends; the bound is for large parts.
        for _ in 0..200 {
            let now: Vec<u32> = (0..self.here.len()).map(|s| self.cover(s)).collect();
            let assigned: Vec<(usize, usize)> = self
                .assigned
                .iter()
                .filter(|(_, n)| **n > 0)
                .map(|(at, _)| *at)
                .collect();
            let mut best: Option<(u32, Change)> = None;
            let mut moves: Vec<Change> = Vec::new();
            for (n, from) in assigned.iter().enumerate() {
                for to in self
                    .model
                    .assigned
                    .keys()
                    .filter(|to| to.0 == from.0 && to != &from)
                {
                    moves.push((vec![*from], vec![*to]));
                }
                for other in &assigned[n + 1..] {
                    if from.0 != other.0 && from.1 != other.1 {
                        moves.push((
                            vec![*from, *other],
                            vec![(from.0, other.1), (other.0, from.1)],
                        ));
                    }
                }
            }
            for (out, into) in moves {
                // Whoever comes to a session adds nothing where all are bred.
                let left = into.iter().any(|(_, s)| now[*s] < self.due[*s]);
                if !left || into.iter().any(|at| !self.model.assigned.contains_key(at)) {
                    continue;
                }
                if let Some(gain) = self.gain(&now, &out, &into)
                    && best.as_ref().is_none_or(|(g, _)| gain > *g)
                {
                    best = Some((gain, (out, into)));
                }
            }
            let Some((_, (out, into))) = best else { return };
            self.shift(&out, &into);
        }
    }

    fn shift(&mut self, out: &[(usize, usize)], into: &[(usize, usize)]) {
        for at in out {
            *self.assigned.entry(*at).or_default() -= 1;
        }
        for at in into {
            *self.assigned.entry(*at).or_default() += 1;
        }
        for (_, s) in out.iter().chain(into) {
            self.gains[*s].clear();
        }
    }

    /// How much more a change covers, if it can be made and covers more.
    fn gain(
        &mut self,
        now: &[u32],
        out: &[(usize, usize)],
        into: &[(usize, usize)],
    ) -> Option<u32> {
        self.shift(out, &[]);
        let mut fits = true;
        for (n, (c, s)) in into.iter().enumerate() {
            fits = fits && self.may_go(*c, *s);
            self.shift(&[], &into[n..=n]);
        }
        let touched: BTreeSet<usize> = out.iter().chain(into).map(|(_, s)| *s).collect();
        let gain = if fits {
            let before: u32 = touched.iter().map(|s| now[*s]).sum();
            let after: u32 = touched.iter().map(|s| self.cover(*s)).sum();
            after.checked_sub(before).filter(|g| *g > 0)
        } else {
            None
        };
        self.shift(into, out);
        gain
    }

    /// Places a slot, by those who stand at the boxes.
    fn places_with(&self, s: usize, decisions: &[u32]) -> BTreeMap<i64, u32> {
        let mut found = BTreeMap::new();
        for (c, class) in self.model.classes.iter().enumerate() {
            let Some(able) = able_of(self.here[s], class) else {
                continue;
            };
            let assigned = self.number(c, s);
            for (slot, cap) in able.ticks.caps() {
                let at_boxes = self.model.at_box.get(&(c, s, slot));
                let there =
                    at_boxes.map_or(assigned, |decision| decisions[*decision].min(assigned));
                *found.entry(slot).or_default() += there * cap;
            }
        }
        for n in self.visiting[s].iter().filter(|n| self.taken[**n] > 0) {
            let visit = self.model.columns[*n].at(s);
            for (slot, cap) in visit.iter().flat_map(|v| v.able.ticks.caps()) {
                *found.entry(slot).or_default() += self.taken[*n] * cap;
            }
        }
        found
    }

    /// At each stretch of a session those who can breed most in it; of equals, those who stood
    /// there before.
    fn at_boxes(&self, decisions: &mut [u32]) {
        let mut stretches: BTreeMap<(usize, i64), Vec<(usize, usize)>> = BTreeMap::new();
        let mut slots_of: BTreeMap<usize, Vec<i64>> = BTreeMap::new();
        for ((c, s, slot), decision) in &self.model.at_box {
            let slots = slots_of.entry(*decision).or_default();
            if slots.is_empty() {
                stretches
                    .entry((*s, *slot))
                    .or_default()
                    .push((*c, *decision));
            }
            slots.push(*slot);
        }
        let mut before: BTreeMap<(usize, usize), u32> = BTreeMap::new();
        for ((s, _), mut people) in stretches {
            people.sort_by_key(|(c, decision)| {
                let able = able_of(self.here[s], &self.model.classes[*c]);
                let ticks: u32 = slots_of[decision]
                    .iter()
                    .map(|k| able.map_or(0, |a| a.cap(*k)))
                    .sum();
                let stood = before.get(&(*c, s)).copied().unwrap_or(0);
                (std::cmp::Reverse((ticks, stood)), *c)
            });
            let on_routes = |k: &i64| -> u32 {
                let mine = self.visiting[s].iter();
                mine.filter(|n| {
                    let visit = self.model.columns[**n].at(s);
                    visit.is_some_and(|v| v.able.there.binary_search(k).is_ok())
                })
                .map(|n| self.taken[*n])
                .sum()
            };
            let slots = people.iter().flat_map(|(_, decision)| &slots_of[decision]);
            let taken = slots.map(on_routes).max().unwrap_or(0);
            let mut left = self.boxes(s).saturating_sub(taken);
            for (c, decision) in people {
                let n = left.min(self.number(c, s));
                decisions[decision] = n;
                before.insert((c, s), n);
                left -= n;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planning::crew::assign::formulate::formulate;
    use crate::planning::crew::assign::model::Ways;
    use crate::planning::crew::sessions::parts::{self, Short};
    use crate::planning::crew::sessions::{gather, unstaffed::Slots};
    use crate::planning::crew::unstaffed_of;
    use crate::planning::dating;

    /// What is known of a session from an earlier crew would send the next technician to the wrong place.
    #[test]
    fn what_one_more_adds_is_counted_anew_where_the_crew_has_changed() {
        let text = "format: thawline.season/1
name: Made
zone: America/Denver
sites:
  - {id: a, injections_head_per_hour: 90, breeding_boxes: 3, minutes_to: {b: 60}}
  - {id: b, injections_head_per_hour: 90, breeding_boxes: 3}
groups:
  - {id: g, site: a, class: cow, head: 150, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T14:00\", bulls: [Ash 1]}
  - {id: h, site: b, class: cow, head: 120, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T14:00\", bulls: [Ash 1]}
crew:
  - {id: t, minutes_per_cow: 4}
  - {id: u, minutes_per_cow: 5}
  - {id: v, minutes_per_cow: 6}
semen: [{bull: Ash 1, straws: 300}]
";
        let library = crate::trade::protocol::Library::built_in();
        let (season, _) = crate::trade::season::read("s.yaml", text.as_bytes(), &library).unwrap();
        let dated = dating::date(&season);
        let all_unstaffed = gather::sessions(&season, &dated, Slots::new(&season));
        let short = Short::default();
        let part = &parts::cut(&season, &dated, &all_unstaffed, &short)[0];
        let model = formulate(&season, &dated, &all_unstaffed, part, &short, Ways::Whole);
        let mut assignment = Greedy::new(&season, unstaffed_of(part, &all_unstaffed), &model);
        let all = |assignment: &mut Greedy<'_>| -> Vec<Option<i64>> {
            let keys = model.assigned.keys();
            let each = keys.flat_map(|(c, s)| [true, false].map(|for_head| (*c, *s, for_head)));
            each.map(|(c, s, for_head)| assignment.gain_at(c, s, for_head))
                .collect()
        };
        let mut sent = 0;
        let mut before = all(&mut assignment);
        while assignment.send_one(true) || assignment.send_one(false) {
            let known = all(&mut assignment);
            let none = vec![BTreeMap::new(); assignment.here.len()];
            let kept = std::mem::replace(&mut assignment.gains, none);
            assert_eq!(known, all(&mut assignment));
            assignment.gains = kept;
            assert_ne!(known, before);
            (before, sent) = (known, sent + 1);
        }
        assert_eq!(sent, 3);
    }
}
