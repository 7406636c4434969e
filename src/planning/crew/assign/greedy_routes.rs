//! Who takes which route, by plain rules: one technician after the other the route that adds most
//! head, then one for another as long as that covers more.

use std::collections::BTreeSet;

use super::greedy::Greedy;
use super::model::RouteColumn;
use crate::planning::crew::routes::list::Visit;

/// Sessions that are counted for changes of routes of a part, at the most: counted, not timed.
const MOST_COUNTED: usize = 6_000;

impl Greedy<'_> {
    /// True if one more of its class can take a route: someone is left, and has a box.
    fn may_take(&self, n: usize) -> bool {
        let column = &self.model.columns[n];
        let same = |p: &RouteColumn| p.class == column.class && p.component == column.component;
        let all = self.model.columns.iter().zip(&self.taken);
        let busy: u32 = all.filter(|(p, _)| same(p)).map(|(_, t)| t).sum();
        busy < self.model.classes[column.class].members.len() as u32
            && column.route.iter().all(|v| self.has_box(v))
    }

    /// True if one more on a route finds a box throughout a visit, beside others on routes.
    fn has_box(&self, visit: &Visit) -> bool {
        let s = visit.session;
        let there = |v: &Visit, k: &i64| v.able.there.binary_search(k).is_ok();
        let full = |k: &i64| {
            let here = self.visiting[s].iter().filter(|n| self.taken[**n] > 0);
            let people: u32 = here
                .filter(|n| self.model.columns[**n].at(s).is_some_and(|v| there(v, k)))
                .map(|n| self.taken[*n])
                .sum();
            people >= self.boxes(s)
        };
        !visit.able.there.iter().any(full)
    }

    /// What a change of routes adds: head covered at its sessions, less those known to be covered
    /// before. Nothing where none of its sessions has anybody left.
    fn gain_of(&mut self, routes: &[usize], now: &[u32]) -> u32 {
        let model = self.model;
        let visits = routes.iter().flat_map(|n| &model.columns[*n].route);
        let sessions: BTreeSet<usize> = visits.map(|v| v.session).collect();
        let mut gain = 0i64;
        for s in sessions {
            self.counted += 1;
            gain += i64::from(self.cover(s)) - i64::from(now[s]);
        }
        u32::try_from(gain).unwrap_or(0)
    }

    fn now(&self) -> Vec<u32> {
        (0..self.here.len()).map(|s| self.cover(s)).collect()
    }

    /// True if a route visits a session that has somebody left.
    fn helps(&self, n: usize, now: &[u32]) -> bool {
        let left = |v: &Visit| now[v.session] < self.due[v.session];
        self.model.columns[n].route.iter().any(left)
    }

    /// What was known of the sessions of a route no longer holds.
    fn crew_changed(&mut self, n: usize) {
        for visit in &self.model.columns[n].route {
            self.gains[visit.session].clear();
        }
    }

    /// Sends one more technician on the route that adds most head; of equals, the one with the
    /// shortest road.
    pub(crate) fn take_one(&mut self) -> bool {
        let now = self.now();
        let mut best: Option<((u32, i64), usize)> = None;
        for n in 0..self.model.columns.len() {
            if self.counted > MOST_COUNTED || !self.helps(n, &now) || !self.may_take(n) {
                continue;
            }
            self.taken[n] += 1;
            let gain = self.gain_of(&[n], &now);
            self.taken[n] -= 1;
            let road = self.model.network.decisions[self.model.columns[n].decision].cost;
            if gain > 0 && best.is_none_or(|(b, _)| (gain, -road) > b) {
                best = Some(((gain, -road), n));
            }
        }
        if let Some((_, n)) = best {
            self.taken[n] += 1;
            self.crew_changed(n);
        }
        best.is_some()
    }

    /// Lets one technician take another route, where that covers more head.
    pub(crate) fn take_better(&mut self) -> bool {
        let now = self.now();
        let mut best: Option<(u32, (usize, usize))> = None;
        let model = self.model;
        for old in 0..self.taken.len() {
            if self.taken[old] == 0 {
                continue;
            }
            let of = &model.columns[old];
            for new in 0..self.taken.len() {
                let column = &model.columns[new];
                let other =
                    new != old && column.class == of.class && column.component == of.component;
                if !other || self.counted > MOST_COUNTED || !self.helps(new, &now) {
                    continue;
                }
                self.taken[old] -= 1;
                if self.may_take(new) {
                    self.taken[new] += 1;
                    let gain = self.gain_of(&[old, new], &now);
                    self.taken[new] -= 1;
                    if gain > 0 && best.is_none_or(|(g, _)| gain > g) {
                        best = Some((gain, (old, new)));
                    }
                }
                self.taken[old] += 1;
            }
        }
        if let Some((_, (old, new))) = best {
            self.taken[old] -= 1;
            self.taken[new] += 1;
            self.crew_changed(old);
            self.crew_changed(new);
        }
        best.is_some()
    }
}
