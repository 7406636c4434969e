//! A part of the season as a network:
//!
//! ```text
//! source -> (short bulls -> group) -> due -> lot -> (session, slot) -> class of technicians -> sink
//! ```
//!
//! Technicians who could breed the same at every session of the part are one class with a
//! number; names are handed out afterwards. An arc from a lot to a slot exists only where the
//! slot lies wholly inside the lot's hours. The load of a class at a session leaves by arcs that
//! cost more with each slot's worth of work, so that load spreads evenly.
//!
//! Whoever cannot be everywhere is sent to whole sessions ([`Ways::Whole`]), or takes a route that
//! may divide a day between sessions ([`Ways::Routes`]).
//!
//! Distance from the aim is squared. With plain distance two late pens may be bred in turns at no cost;
//! squared, the later one goes first, and a pen is finished before the next.

use std::collections::{BTreeMap, BTreeSet};

use super::columns;
use super::model::{Class, Model, ToClass, ToSlot, Ways, able_of, road};
use crate::planning::crew::flow::network::{Capacity, Decision, Limit, Network, SINK, SOURCE};
use crate::planning::crew::routes::list::Visit;
use crate::planning::crew::sessions::parts::Short;
use crate::planning::crew::sessions::parts::{Part, clashes};
use crate::planning::crew::sessions::unstaffed::{Able, Slots, Unstaffed};
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::Season;

pub(crate) fn formulate(
    season: &Season,
    dated: &DatedSeason,
    all_unstaffed: &[Unstaffed],
    part: &Part,
    short: &Short,
    ways: Ways<'_>,
) -> Model {
    let here: Vec<&Unstaffed> = part.sessions.iter().map(|s| &all_unstaffed[*s]).collect();
    let mut model = Model {
        network: Network::new(),
        to_slot: Vec::new(),
        to_class: Vec::new(),
        classes: Vec::new(),
        assigned: BTreeMap::new(),
        at_box: BTreeMap::new(),
        clashes: Vec::new(),
        components: Vec::new(),
        wary: false,
        columns: Vec::new(),
        routed: BTreeSet::new(),
    };
    let mut supply = Supply::new(short, &mut model.network);
    let mut alone = Vec::new();
    for class in classes(season, &here) {
        let found = clashes(season, &here, class.members[0]);
        // Who of a class is free when is settled afterwards only where clashes are plain.
        if class.members.len() > 1 && !comes_in_order(&found.pairs, here.len()) {
            let members = class.members.into_iter();
            alone.extend(members.map(|m| (Class { members: vec![m] }, found.clone())));
        } else {
            model.add(class, found);
        }
    }
    for (class, found) in alone {
        model.add(class, found);
    }
    send(season, &here, &mut model, ways);
    for (s, unstaffed) in here.iter().enumerate() {
        let slots = demand(season, dated, unstaffed, s, &mut supply, &mut model);
        boxes(season, unstaffed, s, &mut model);
        staff(season, unstaffed, s, &slots, &mut model);
    }
    model
}

fn classes(season: &Season, here: &[&Unstaffed]) -> Vec<Class> {
    let mut found: Vec<Class> = Vec::new();
    'next: for t in 0..season.crew.len() {
        let mine: Vec<Option<&Able>> = here
            .iter()
            .map(|s| s.able.iter().find(|a| a.technician == t))
            .collect();
        if mine.iter().all(Option::is_none) {
            continue;
        }
        for class in &mut found {
            let (who, other) = (&season.crew[t], &season.crew[class.members[0]]);
            let alike = (who.home, who.longest_day) == (other.home, other.longest_day)
                && here
                    .iter()
                    .zip(&mine)
                    .all(|(s, a)| match (able_of(s, class), a) {
                        (Some(x), Some(y)) => {
                            (x.rounds, &x.ticks, &x.there, &x.hours, x.chain)
                                == (y.rounds, &y.ticks, &y.there, &y.hours, y.chain)
                        }
                        (None, None) => true,
                        _ => false,
                    });
            if alike {
                class.members.push(t);
                continue 'next;
            }
        }
        found.push(Class { members: vec![t] });
    }
    found
}

/// The earlier sessions that a session clashes with.
fn earlier(pairs: &[(usize, usize)], s: usize) -> Vec<usize> {
    pairs
        .iter()
        .filter_map(|(i, j)| (*j == s && i != j).then_some(*i))
        .collect()
}

/// True if the earlier sessions that a session clashes with always clash with each other: then
/// whoever is free can be told by going through sessions as they open.
fn comes_in_order(pairs: &[(usize, usize)], sessions: usize) -> bool {
    (0..sessions).all(|s| {
        let clash = earlier(pairs, s);
        clash.iter().enumerate().all(|(n, a)| {
            clash[n + 1..]
                .iter()
                .all(|b| pairs.contains(&(*a.min(b), *a.max(b))))
        })
    })
}

/// Cuts sessions into sets in which each clashes with each.
fn sets_that_clash(pairs: &[(usize, usize)], sessions: Vec<usize>) -> Vec<Vec<usize>> {
    let clash = |a: usize, b: usize| pairs.contains(&(a.min(b), a.max(b)));
    let mut sets: Vec<Vec<usize>> = Vec::new();
    for s in sessions {
        match sets.iter_mut().find(|set| set.iter().all(|o| clash(s, *o))) {
            Some(set) => set.push(s),
            None => sets.push(vec![s]),
        }
    }
    sets
}

/// Decisions who is sent where, for classes that cannot be everywhere.
fn send(season: &Season, here: &[&Unstaffed], model: &mut Model, ways: Ways<'_>) {
    for c in 0..model.classes.len() {
        if model.clashes[c].is_empty() {
            continue;
        }
        if let Ways::Routes(known) = ways {
            columns::add(season, here, model, c, &known[c]);
            continue;
        }
        let class = &model.classes[c];
        let size = class.members.len() as u32;
        for (s, unstaffed) in here.iter().enumerate() {
            if able_of(unstaffed, class).is_some() {
                let road = road(season, class.members[0], unstaffed.site);
                model.network.decisions.push(Decision {
                    most: size,
                    cost: road / season.rules.grain().num_minutes().max(1),
                });
                let decision = model.network.decisions.len() - 1;
                model.assigned.insert((c, s), decision);
            }
        }
        // Sessions come by opening time. Whoever is at one cannot be at those that clash with it and
        // opened before. Those of them that clash with each other are one limit: for several
        // technicians all do; and one for each pair would let fractions of one be everywhere.
        for s in 0..here.len() {
            let clash = earlier(&model.clashes[c], s);
            let sets = sets_that_clash(&model.clashes[c], clash);
            for mut set in sets {
                set.push(s);
                model.network.limits.push(Limit {
                    plus: set.iter().map(|k| model.assigned[&(c, *k)]).collect(),
                    minus: Vec::new(),
                    most: size,
                });
            }
        }
    }
}

/// Where animals enter the network. Bulls with enough straws for all are left out.
struct Supply<'a> {
    short: &'a Short,
    bulls: BTreeMap<usize, usize>,
    groups: BTreeMap<usize, usize>,
    /// Straws set aside for a group that is planned twice over, by group and step.
    reserved: BTreeMap<(usize, usize), usize>,
}

impl<'a> Supply<'a> {
    fn new(short: &'a Short, network: &mut Network) -> Self {
        let mut bulls = BTreeMap::new();
        for (b, straws) in &short.bulls {
            let node = network.node();
            network.arc(SOURCE, node, *straws);
            bulls.insert(*b, node);
        }
        Self {
            short,
            bulls,
            groups: BTreeMap::new(),
            reserved: BTreeMap::new(),
        }
    }

    /// The node from which a due of a group draws, and how many at the most.
    fn of(&mut self, season: &Season, due: &Due, network: &mut Network) -> (usize, u32) {
        let (group, head) = (due.group, due.head.0);
        let of = &season.groups[group];
        if let Some(straws) = self.short.reserved.get(&group) {
            // Pens of one step share them; another step may use them all again.
            let node = *self.reserved.entry((group, due.step)).or_insert_with(|| {
                let node = network.node();
                network.arc(SOURCE, node, *straws);
                node
            });
            return (node, head.min(*straws));
        }
        if !of.bulls.iter().any(|b| self.bulls.contains_key(b)) {
            return (SOURCE, head);
        }
        if let Some(node) = self.groups.get(&group) {
            return (*node, head);
        }
        let node = network.node();
        for b in &of.bulls {
            if let Some(bull) = self.bulls.get(b) {
                network.arc(*bull, node, of.head().0);
            }
        }
        self.groups.insert(group, node);
        (node, head)
    }
}

/// Dues, lots and slots of a session. Gives the node of each slot.
fn demand(
    season: &Season,
    dated: &DatedSeason,
    unstaffed: &Unstaffed,
    session: usize,
    supply: &mut Supply<'_>,
    model: &mut Model,
) -> BTreeMap<i64, usize> {
    let grain = Slots::new(season);
    let network = &mut model.network;
    let visits: Vec<&Visit> = model.columns.iter().filter_map(|p| p.at(session)).collect();
    let slots: BTreeMap<i64, usize> = (unstaffed.first..=unstaffed.last)
        .filter(|k| {
            unstaffed.able.iter().any(|a| a.cap(*k) > 0)
                || visits.iter().any(|v| v.able.cap(*k) > 0)
        })
        .map(|k| (k, network.node()))
        .collect();
    for (d, (due, lots)) in unstaffed.dues.iter().zip(&unstaffed.lots).enumerate() {
        let due = &dated.dues[*due];
        let (from, most) = supply.of(season, due, network);
        let node = network.node();
        network.arc(from, node, most);
        for (l, lot) in lots.iter().enumerate() {
            let middle = due.hours(lot.cow + lot.head / 2).aim;
            let lot_node = network.node();
            network.arc(node, lot_node, lot.head);
            if lot.last < lot.first {
                continue;
            }
            for (slot, slot_node) in slots.range(lot.first..=lot.last) {
                let arc = network.arc(lot_node, *slot_node, lot.head);
                // Squared, so that one animal far off weighs more than two a little off: of two
                // that are late the later one goes first, and pens are bred one after the other.
                network.arcs[arc].distance = grain.distance(*slot, middle).pow(2);
                network.arcs[arc].late = slot - unstaffed.first;
                model.to_slot.push(ToSlot {
                    arc,
                    session,
                    due: d,
                    lot: l,
                    slot: *slot,
                });
            }
        }
    }
    slots
}

/// Boxes for fewer than could come: who stands at a box is a decision, for each stretch with the
/// same people on duty.
fn boxes(season: &Season, unstaffed: &Unstaffed, session: usize, model: &mut Model) {
    let boxes = season.sites[unstaffed.site].breeding_boxes;
    // A route may bring somebody in hours that are not those of the whole visit.
    let by_route: BTreeSet<(usize, i64)> = model
        .columns
        .iter()
        .filter_map(|p| Some((p.class, p.at(session)?)))
        .flat_map(|(c, visit)| visit.able.there.iter().map(move |k| (c, *k)))
        .collect();
    let on_duty = |k: i64| -> Vec<usize> {
        let there =
            |c: &Class| able_of(unstaffed, c).is_some_and(|a| a.there.binary_search(&k).is_ok());
        (0..model.classes.len())
            .filter(|c| there(&model.classes[*c]) || by_route.contains(&(*c, k)))
            .collect()
    };
    let mut stretch: Option<Vec<(usize, usize)>> = None;
    let mut duty_before: Vec<usize> = Vec::new();
    let mut limited: BTreeSet<Vec<usize>> = BTreeSet::new();
    for k in unstaffed.first..=unstaffed.last {
        let duty = on_duty(k);
        let people: u32 = duty
            .iter()
            .map(|c| model.classes[*c].members.len() as u32)
            .sum();
        if people <= boxes {
            stretch = None;
        } else if stretch.is_none() || duty != duty_before {
            let mut decisions = Vec::new();
            for c in &duty {
                if model.is_routed(*c, session) {
                    continue;
                }
                model.network.decisions.push(Decision {
                    most: model.classes[*c].members.len() as u32,
                    cost: 0,
                });
                let p = model.network.decisions.len() - 1;
                if let Some(assigned) = model.assigned.get(&(*c, session)) {
                    model.network.limits.push(Limit {
                        plus: vec![p],
                        minus: vec![*assigned],
                        most: 0,
                    });
                }
                decisions.push((*c, p));
            }
            stretch = Some(decisions);
        }
        if let Some(decisions) = &stretch {
            // Whoever is here by a route stands at a box.
            let here = model.columns.iter().filter(|p| {
                let visit = p.at(session);
                visit.is_some_and(|v| v.able.there.binary_search(&k).is_ok())
            });
            let decisions = decisions.iter().map(|(_, p)| *p);
            let plus: Vec<usize> = decisions.chain(here.map(|p| p.decision)).collect();
            if !plus.is_empty() && limited.insert(plus.clone()) {
                model.network.limits.push(Limit {
                    plus,
                    minus: Vec::new(),
                    most: boxes,
                });
            }
        }
        for (c, p) in stretch.iter().flatten() {
            model.at_box.insert((*c, session, k), *p);
        }
        duty_before = duty;
    }
}

/// Technicians of a session: what each class can breed in each slot.
fn staff(
    season: &Season,
    unstaffed: &Unstaffed,
    session: usize,
    slots: &BTreeMap<i64, usize>,
    model: &mut Model,
) {
    for c in 0..model.classes.len() {
        let Some(able) = able_of(unstaffed, &model.classes[c]) else {
            continue;
        };
        let size = model.classes[c].members.len() as u32;
        let node = model.network.node();
        let mut all = 0;
        let routed = model.is_routed(c, session);
        for (slot, slot_node) in slots {
            let capacity: Capacity = if routed {
                let visits = model.visits(c, session);
                let caps = visits.map(|(p, v)| (model.columns[p].decision, v.able.cap(*slot)));
                caps.filter(|(_, cap)| *cap > 0).collect()
            } else {
                let decision = model
                    .at_box
                    .get(&(c, session, *slot))
                    .or_else(|| model.assigned.get(&(c, session)));
                decision
                    .map(|s| (*s, able.cap(*slot)))
                    .into_iter()
                    .collect()
            };
            let most = capacity.iter().map(|(_, cap)| *cap).max();
            let cap = if routed {
                most.unwrap_or(0)
            } else {
                able.cap(*slot)
            };
            if cap == 0 {
                continue;
            }
            let arc = model.network.arc(*slot_node, node, cap * size);
            if !capacity.is_empty() {
                model.network.capacities.insert(arc, capacity);
            }
            model.to_class.push(ToClass {
                arc,
                session,
                slot: *slot,
                class: c,
            });
            all += cap * size;
        }
        // A slot's worth of work for the whole class is one step of load.
        let worth = able.rounds.cows_per_hour() * season.rules.slot.num_seconds() as f64 / 3600.0;
        let width = (worth.round() as u32).max(1) * size;
        let mut step = 0;
        while all > 0 {
            let arc = model.network.arc(node, SINK, width.min(all));
            model.network.arcs[arc].load = step;
            all = all.saturating_sub(width);
            step += 1;
        }
    }
}
