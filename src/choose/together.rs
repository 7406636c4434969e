//! Several groups at once: starts chosen together, so that they do not collide for crew and chutes.
//!
//! A mixed-integer model has a yes-or-no variable for each group and candidate, what each costs
//! alone, and what collisions cost. Collisions are added as they are met: the model proposes a
//! choice, the crew is counted for it as in a plan, and what the model did not know of becomes a
//! limit for all candidates. The model never knows of more than there is, so its cost is a bound;
//! where the counted cost of its proposal is no more, no choice is better.
//!
//! Straws are left out: a group wants as many, whenever it is bred.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{NaiveDate, TimeDelta};

use super::cover::{Quarter, Scene, quarters};
use super::shortlist::Judged;
use crate::expand;
use crate::season::{Group, Season, Weights};
use crate::solver::{Program, Sense, Var};
use crate::time::Instant;
use crate::workload::{self, Fault};

/// Proposals of the model before the best one so far is taken.
const MOST_ROUNDS: usize = 60;

/// Nodes that the search for one proposal may open.
const MOST_NODES: usize = 20_000;

/// Points that nobody could tell apart.
const SAME: f64 = 1e-6;

/// A candidate of a group, with what it takes up.
pub(super) struct Entry {
    group: Group,
    points: f64,
    /// Head that cannot be bred with none of the other groups there: counted in `points`.
    base: u32,
    /// Quarters of an hour in the chute in which no fixed group is.
    quarters: BTreeSet<Quarter>,
    dues: Vec<Pen>,
    /// Days that its breeding touches, a road before and after included.
    touched: BTreeSet<NaiveDate>,
}

/// A pen due to be bred at set hours.
#[derive(Clone, Copy)]
struct Pen {
    site: usize,
    earliest: Instant,
    latest: Instant,
    head: u32,
    /// The day of its aim.
    day: NaiveDate,
}

impl Pen {
    /// True if its hours lie between two moments.
    fn inside(&self, from: Instant, to: Instant) -> bool {
        from <= self.earliest && self.latest <= to && self.earliest <= self.latest
    }
}

/// Hours on the road and with the straws, before and after breeding, that could keep a technician
/// from the breeding of another day.
const ROAD: TimeDelta = TimeDelta::hours(3);

impl Entry {
    pub(super) fn new(season: &Season, scene: &Scene<'_>, group: Group, judged: &Judged) -> Self {
        let dated = expand::dates(season, std::slice::from_ref(&group));
        let mut quarters = quarters(group.site, &dated);
        quarters.retain(|q| !scene.taken(q));
        let dues: Vec<Pen> = dated
            .dues
            .iter()
            .map(|d| {
                let h = d.safe_hours();
                Pen {
                    site: d.site,
                    earliest: h.earliest,
                    latest: h.latest,
                    head: d.head.0,
                    day: season.zone.date(h.aim),
                }
            })
            .collect();
        let touched = dues.iter().flat_map(|d| {
            let from = season.zone.date(d.earliest.min(d.latest) - ROAD);
            let to = season.zone.date(d.earliest.max(d.latest) + ROAD);
            from.iter_days().take_while(move |day| *day <= to)
        });
        Self {
            touched: touched.collect(),
            points: judged.points,
            base: judged.cover.not_bred + judged.cover.other_head,
            quarters,
            dues,
            group,
        }
    }

    fn days(&self) -> BTreeSet<NaiveDate> {
        self.dues.iter().map(|d| d.day).collect()
    }
}

/// One candidate for each group.
#[derive(Clone, Debug, PartialEq)]
pub struct Picked {
    /// The candidate of each group, by its place among the group's.
    pub picks: Vec<usize>,
    /// What the choice costs in points, collisions included.
    pub points: f64,
    /// No choice costs less.
    pub bound: f64,
    /// What choosing one group after the other costs.
    pub one_by_one: f64,
    /// Head that collisions leave.
    pub head_not_bred: u32,
    /// Quarters of an hour in which a chute is wanted twice.
    pub chute_quarters: u32,
    /// Proposals that were counted.
    pub rounds: usize,
}

impl Picked {
    /// How much better another choice could be, as a share of the points.
    #[must_use]
    pub fn gap(&self) -> f64 {
        ((self.points - self.bound) / self.points.abs().max(1.0)).max(0.0)
    }
}

/// What the collisions of a choice are.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Collisions {
    head: u32,
    quarters: u32,
}

/// All groups and their candidates.
pub(super) struct Table<'s, 'a> {
    season: &'a Season,
    weights: Weights,
    groups: Vec<Vec<Entry>>,
    scene: &'s mut Scene<'a>,
    known: BTreeMap<Vec<(usize, usize)>, u32>,
}

impl<'s, 'a> Table<'s, 'a> {
    pub(super) fn new(
        season: &'a Season,
        weights: Weights,
        scene: &'s mut Scene<'a>,
        groups: Vec<Vec<Entry>>,
    ) -> Self {
        Self {
            season,
            weights,
            groups,
            scene,
            known: BTreeMap::new(),
        }
    }

    fn entry(&self, at: (usize, usize)) -> &Entry {
        &self.groups[at.0][at.1]
    }

    /// Head that cannot be bred for these being chosen together, beyond what each alone leaves.
    fn extra(&mut self, set: &[(usize, usize)]) -> Result<u32, Fault> {
        if set.len() < 2 {
            return Ok(0);
        }
        if let Some(known) = self.known.get(set) {
            return Ok(*known);
        }
        let groups: Vec<Group> = set.iter().map(|at| self.entry(*at).group.clone()).collect();
        let base: u32 = set.iter().map(|at| self.entry(*at).base).sum();
        let extra = self.scene.not_bred(&groups)?.saturating_sub(base);
        self.known.insert(set.to_vec(), extra);
        Ok(extra)
    }

    /// Sets of a choice that are bred on common days, and so may want the same people.
    fn bred_together(&self, picks: &[(usize, usize)]) -> Vec<Vec<(usize, usize)>> {
        let mut sets: Vec<(BTreeSet<NaiveDate>, Vec<(usize, usize)>)> = Vec::new();
        for at in picks {
            let (mut all, mut set) = (self.entry(*at).touched.clone(), vec![*at]);
            sets.retain(|(other, members)| {
                let apart = all.is_disjoint(other);
                if !apart {
                    set.extend(members);
                    all.extend(other);
                }
                apart
            });
            set.sort_unstable();
            sets.push((all, set));
        }
        sets.into_iter().map(|(_, set)| set).collect()
    }

    fn collisions(&mut self, picks: &[(usize, usize)]) -> Result<Collisions, Fault> {
        let mut head = 0;
        for set in self.bred_together(picks) {
            head += self.extra(&set)?;
        }
        let mut wanted: BTreeMap<Quarter, u32> = BTreeMap::new();
        for at in picks {
            for q in &self.entry(*at).quarters {
                *wanted.entry(*q).or_default() += 1;
            }
        }
        Ok(Collisions {
            head,
            quarters: wanted.values().map(|n| n - 1).sum(),
        })
    }

    fn cost_of(&self, c: Collisions) -> f64 {
        self.weights.head_not_bred * f64::from(c.head)
            + self.weights.chute_quarter * f64::from(c.quarters)
    }

    /// What a choice costs.
    fn cost(&mut self, picks: &[(usize, usize)]) -> Result<f64, Fault> {
        let alone: f64 = picks.iter().map(|at| self.entry(*at).points).sum();
        let collisions = self.collisions(picks)?;
        Ok(alone + self.cost_of(collisions))
    }

    /// Each group in the file's order takes what is best after those before it.
    pub(super) fn one_by_one(&mut self) -> Result<(Vec<(usize, usize)>, f64), Fault> {
        let mut picks: Vec<(usize, usize)> = Vec::new();
        let mut so_far = 0.0;
        for g in 0..self.groups.len() {
            let mut best: Option<(f64, usize)> = None;
            for c in 0..self.groups[g].len() {
                // Candidates come by points: collisions only add to them.
                let least = so_far + self.groups[g][c].points;
                if best.is_some_and(|(cost, _)| least >= cost) {
                    break;
                }
                picks.push((g, c));
                let cost = self.cost(&picks)?;
                picks.pop();
                if best.is_none_or(|(b, _)| cost < b) {
                    best = Some((cost, c));
                }
            }
            if let Some((cost, c)) = best {
                picks.push((g, c));
                so_far = cost;
            }
        }
        Ok((picks, so_far))
    }

    /// The choice for all groups.
    pub(super) fn pick(&mut self) -> Result<Picked, Fault> {
        let (mut best, one_by_one) = self.one_by_one()?;
        let mut points = one_by_one;
        let mut model = Model::new(self);
        let mut bound = f64::NEG_INFINITY;
        let mut rounds = 0;
        while rounds < MOST_ROUNDS && points - bound > SAME {
            rounds += 1;
            let Ok(answer) = model.program.cheapest(MOST_NODES) else {
                break;
            };
            let picks = model.picks(&answer.values);
            let cost = self.cost(&picks)?;
            if cost < points - SAME {
                (best, points) = (picks.clone(), cost);
            }
            // Of a search that stopped early, only the fractions give a bound.
            let proposed = if answer.proven {
                answer.cost
            } else {
                model.relaxed().unwrap_or(f64::NEG_INFINITY)
            };
            bound = bound.max(proposed.min(points));
            if !model.learn(self, &picks, &answer.values)? {
                break;
            }
        }
        // Once more, all groups at once.
        best.sort_unstable();
        let mut collisions = self.collisions(&best)?;
        let known = self.cost_of(collisions);
        collisions.head = self.extra(&best)?;
        points += self.cost_of(collisions) - known;
        Ok(Picked {
            picks: best.iter().map(|(_, c)| *c).collect(),
            points,
            bound: bound.min(points),
            one_by_one,
            head_not_bred: collisions.head,
            chute_quarters: collisions.quarters,
            rounds,
        })
    }
}

/// The model, as far as it knows of collisions.
struct Model {
    program: Program,
    /// The variable of each group's candidates.
    chosen: Vec<Vec<usize>>,
    /// Head left on a day, once anything is known of it.
    left: BTreeMap<NaiveDate, usize>,
    /// Quarters that are limited.
    limited: BTreeSet<Quarter>,
    head_cost: f64,
    quarter_cost: f64,
    /// No more head than this can ever be left.
    most_head: f64,
}

impl Model {
    fn new(table: &Table<'_, '_>) -> Self {
        let mut program = Program::default();
        let chosen: Vec<Vec<usize>> = table
            .groups
            .iter()
            .map(|entries| {
                entries
                    .iter()
                    .map(|e| {
                        program.var(Var {
                            low: 0.0,
                            high: 1.0,
                            cost: e.points,
                            whole: true,
                        })
                    })
                    .collect()
            })
            .collect();
        for group in &chosen {
            let one = group.iter().map(|v| (*v, 1.0)).collect();
            program.row(one, Sense::Equal, 1.0);
        }
        let most = |entries: &Vec<Entry>| {
            let head = |e: &Entry| e.dues.iter().map(|d| d.head).sum::<u32>();
            entries.iter().map(head).max().unwrap_or(0)
        };
        Self {
            program,
            chosen,
            left: BTreeMap::new(),
            limited: BTreeSet::new(),
            head_cost: table.weights.head_not_bred,
            quarter_cost: table.weights.chute_quarter,
            most_head: f64::from(table.groups.iter().map(most).sum::<u32>()),
        }
    }

    fn picks(&self, values: &[f64]) -> Vec<(usize, usize)> {
        let mut picks = Vec::new();
        for (g, vars) in self.chosen.iter().enumerate() {
            let most = vars
                .iter()
                .enumerate()
                .max_by(|(_, a), (_, b)| values[**a].total_cmp(&values[**b]));
            picks.extend(most.map(|(c, _)| (g, c)));
        }
        picks
    }

    /// What a choice in fractions costs.
    fn relaxed(&self) -> Option<f64> {
        let mut program = self.program.clone();
        for var in &mut program.vars {
            var.whole = false;
        }
        program.cheapest(0).ok().map(|a| a.cost)
    }

    fn left_on(&mut self, day: NaiveDate) -> usize {
        if let Some(var) = self.left.get(&day) {
            return *var;
        }
        let var = self.program.var(Var {
            low: 0.0,
            high: self.most_head,
            cost: self.head_cost,
            whole: false,
        });
        self.left.insert(day, var);
        var
    }

    /// Adds limits for what collides in a proposal beyond what is known. False if nothing does.
    fn learn(
        &mut self,
        table: &mut Table<'_, '_>,
        picks: &[(usize, usize)],
        values: &[f64],
    ) -> Result<bool, Fault> {
        let chutes = self.learn_chutes(table, picks);
        let mut crew = false;
        for set in table.bred_together(picks) {
            let extra = table.extra(&set)?;
            let days: BTreeSet<NaiveDate> =
                set.iter().flat_map(|at| table.entry(*at).days()).collect();
            let known: f64 = days
                .iter()
                .filter_map(|d| values.get(*self.left.get(d)?))
                .sum();
            if f64::from(extra) > known + SAME {
                crew = true;
                self.learn_hours(table, &set);
                self.learn_set(&set, extra, &days);
                self.learn_neighbours(table, &set)?;
            }
        }
        Ok(chutes || crew)
    }

    /// A chute for one group at a time, or else it costs.
    fn learn_chutes(&mut self, table: &Table<'_, '_>, picks: &[(usize, usize)]) -> bool {
        let mut wanted: BTreeMap<Quarter, u32> = BTreeMap::new();
        for at in picks {
            for q in &table.entry(*at).quarters {
                *wanted.entry(*q).or_default() += 1;
            }
        }
        // Quarters with the same candidates in them are one limit.
        let mut limits: BTreeMap<Vec<usize>, u32> = BTreeMap::new();
        for (q, _) in wanted.into_iter().filter(|(_, n)| *n > 1) {
            if self.limited.insert(q) {
                let mut inside = Vec::new();
                for (g, entries) in table.groups.iter().enumerate() {
                    for (c, e) in entries.iter().enumerate() {
                        if e.quarters.contains(&q) {
                            inside.push(self.chosen[g][c]);
                        }
                    }
                }
                *limits.entry(inside).or_default() += 1;
            }
        }
        let any = !limits.is_empty();
        for (inside, quarters) in limits {
            let twice = self.program.var(Var {
                low: 0.0,
                high: self.chosen.len() as f64,
                cost: self.quarter_cost * f64::from(quarters),
                whole: false,
            });
            let mut terms: Vec<(usize, f64)> = inside.into_iter().map(|v| (v, 1.0)).collect();
            terms.push((twice, -1.0));
            self.program.row(terms, Sense::AtMost, 1.0);
        }
        any
    }

    /// Whoever is due between two moments is bred between them, or left: for the stretch of this
    /// set's hours that asks most of the crew.
    fn learn_hours(&mut self, table: &Table<'_, '_>, set: &[(usize, usize)]) {
        let dues: Vec<_> = set.iter().flat_map(|at| &table.entry(*at).dues).collect();
        let days: BTreeSet<NaiveDate> = dues.iter().map(|d| d.day).collect();
        for day in days {
            let here: Vec<&Pen> = dues.iter().filter(|d| d.day == day).copied().collect();
            let sites: BTreeSet<Option<usize>> =
                here.iter().map(|d| Some(d.site)).chain([None]).collect();
            for site in sites {
                let mine: Vec<&Pen> = here
                    .iter()
                    .filter(|d| site.is_none_or(|s| s == d.site))
                    .copied()
                    .collect();
                let boxes = site.map_or(1000, |s| table.season.sites[s].breeding_boxes);
                let mut worst: Option<(i64, Instant, Instant, u32)> = None;
                for a in mine.iter().map(|d| d.earliest) {
                    for b in mine.iter().map(|d| d.latest) {
                        let inside = mine.iter().filter(|d| d.inside(a, b));
                        let head: u32 = inside.map(|d| d.head).sum();
                        if head == 0 {
                            continue;
                        }
                        let (all, here) = workload::most_between(table.season, a, b, boxes);
                        let cap = if site.is_some() { here } else { all };
                        let over = i64::from(head) - i64::from(cap);
                        if over > 0 && worst.is_none_or(|w| over > w.0) {
                            worst = Some((over, a, b, cap));
                        }
                    }
                }
                if let Some((_, a, b, cap)) = worst {
                    self.limit_hours(table, day, site, (a, b), cap);
                }
            }
        }
    }

    fn limit_hours(
        &mut self,
        table: &Table<'_, '_>,
        day: NaiveDate,
        site: Option<usize>,
        (a, b): (Instant, Instant),
        cap: u32,
    ) {
        let left = self.left_on(day);
        // What each candidate brings into these hours, less what it leaves alone.
        let mut brings: Vec<(usize, f64)> = Vec::new();
        for (g, entries) in table.groups.iter().enumerate() {
            for (c, e) in entries.iter().enumerate() {
                let inside = e
                    .dues
                    .iter()
                    .filter(|d| d.day == day && site.is_none_or(|s| s == d.site))
                    .filter(|d| d.inside(a, b));
                let head: u32 = inside.map(|d| d.head).sum();
                if head > 0 {
                    let brings_more = f64::from(head) - f64::from(e.base);
                    brings.push((self.chosen[g][c], brings_more));
                }
            }
        }
        let cap = f64::from(cap);
        let mut terms = brings.clone();
        terms.push((left, -1.0));
        self.program.row(terms, Sense::AtMost, cap);
        // Any two of those with more than half of it are too many: said outright, fractions of
        // candidates cannot slip through.
        let large: Vec<_> = brings.into_iter().filter(|(_, h)| 2.0 * h > cap).collect();
        let least = large.iter().map(|(_, h)| *h).fold(f64::INFINITY, f64::min);
        if large.len() > 1 {
            let over = 2.0 * least - cap;
            let mut terms: Vec<_> = large.iter().map(|(v, _)| (*v, over)).collect();
            terms.push((left, -1.0));
            self.program.row(terms, Sense::AtMost, over);
        }
    }

    /// These together leave so many.
    fn learn_set(&mut self, set: &[(usize, usize)], extra: u32, days: &BTreeSet<NaiveDate>) {
        let extra = f64::from(extra);
        let mut terms: Vec<(usize, f64)> = set
            .iter()
            .map(|(g, c)| (self.chosen[*g][*c], extra))
            .collect();
        for day in days {
            terms.push((self.left_on(*day), -1.0));
        }
        self.program
            .row(terms, Sense::AtMost, extra * (set.len() as f64 - 1.0));
    }

    /// What the set leaves with one of its groups on another start of the same days.
    fn learn_neighbours(
        &mut self,
        table: &mut Table<'_, '_>,
        set: &[(usize, usize)],
    ) -> Result<(), Fault> {
        for (n, (g, c)) in set.iter().enumerate() {
            let days = table.entry((*g, *c)).days();
            for other in 0..table.groups[*g].len() {
                if other == *c || table.entry((*g, other)).days() != days {
                    continue;
                }
                let mut near = set.to_vec();
                near[n] = (*g, other);
                if table.known.contains_key(&near) {
                    continue;
                }
                let extra = table.extra(&near)?;
                if extra > 0 {
                    let days = near.iter().flat_map(|at| table.entry(*at).days()).collect();
                    self.learn_set(&near, extra, &days);
                }
            }
        }
        Ok(())
    }
}
