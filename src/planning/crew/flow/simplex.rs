//! The cheapest flow through a large network, by the network simplex: a basis is a tree, so that a step
//! costs a few of its arcs, where a general simplex goes through whole rows and columns.
//!
//! The tree stays strongly feasible (from each node something more could be sent to the root), which
//! rules out going in circles. `optimal_face` proves what comes out of it.

use super::network::{Network, SINK, SOURCE};
use crate::base::progress::Progress;

/// Lines and nodes looked at in a microsecond.
const TOUCHED: usize = 100;

/// No node, no arc.
const NONE: usize = usize::MAX;

/// An arc with what flows through it, of at most `most`.
struct Line {
    from: usize,
    to: usize,
    most: i64,
    cost: i64,
    flow: i64,
    in_tree: bool,
}

/// A node of the tree: what it hangs on and what hangs on it.
#[derive(Clone)]
struct Node {
    parent: usize,
    /// The line to the parent.
    line: usize,
    depth: usize,
    potential: i64,
    first_child: usize,
    before: usize,
    after: usize,
}

struct Tree {
    lines: Vec<Line>,
    nodes: Vec<Node>,
    /// Lines and nodes looked at so far.
    touched: usize,
}

/// A cheapest flow within bounds, in whole numbers.
pub(crate) fn cheapest(
    network: &Network,
    bounds: &[(u32, u32)],
    cost: &[i64],
    progress: &dyn Progress,
) -> Result<Vec<u32>, String> {
    let mut tree = Tree::new(network, bounds, cost)?;
    tree.improve();
    progress.worked(tree.touched / TOUCHED);
    if tree.lines[network.arcs.len() + 1..]
        .iter()
        .any(|l| l.cost > 0 && l.flow > 0)
    {
        return Err("no flow keeps within the bounds".into());
    }
    let flows = tree.lines.iter().zip(bounds);
    Ok(flows.map(|(l, (low, _))| low + l.flow as u32).collect())
}

impl Tree {
    /// Each node hangs on a root by a line of its own, which is too dear to be used in the end.
    fn new(network: &Network, bounds: &[(u32, u32)], cost: &[i64]) -> Result<Self, String> {
        let root = network.nodes;
        let mut lines: Vec<Line> = Vec::with_capacity(network.arcs.len() + root + 1);
        // What must flow in any case comes out of one node and into the other.
        let mut supply = vec![0_i64; root];
        let mut all = 0;
        for (n, arc) in network.arcs.iter().enumerate() {
            let (low, high) = bounds[n];
            supply[arc.from] -= i64::from(low);
            supply[arc.to] += i64::from(low);
            all += if arc.from == SOURCE {
                i64::from(high)
            } else {
                0
            };
            lines.push(Line::new(arc.from, arc.to, i64::from(high - low), cost[n]));
        }
        // What comes out at the sink goes in at the source again.
        lines.push(Line::new(SINK, SOURCE, all, 0));
        let dearest = cost.iter().map(|c| c.abs()).max().unwrap_or(0);
        let dear = (dearest + 1).checked_mul(2 * (root as i64 + 1));
        // A potential is a sum of costs along a path.
        let dear = dear
            .filter(|d| *d < i64::MAX / 4)
            .ok_or("costs too large")?;
        let mut tree = Self {
            lines,
            nodes: vec![Node::alone(); root + 1],
            touched: 0,
        };
        for (n, supply) in supply.into_iter().enumerate() {
            let (from, to, cost) = if supply >= 0 {
                (n, root, 0)
            } else {
                (root, n, dear)
            };
            let mut line = Line::new(from, to, i64::MAX / 4, cost);
            (line.flow, line.in_tree) = (supply.abs(), true);
            tree.lines.push(line);
            tree.hang(n, root, tree.lines.len() - 1);
            tree.nodes[n].depth = 1;
            tree.nodes[n].potential = if supply >= 0 { 0 } else { cost };
        }
        Ok(tree)
    }

    /// Steps as long as a line outside the tree makes the flow cheaper: the best of a block of lines,
    /// block after block.
    fn improve(&mut self) {
        let all = self.lines.len();
        let block = ((all as f64).sqrt() as usize).max(20);
        let mut at = 0;
        let mut seen = 0;
        let mut best: (i64, usize) = (0, NONE);
        while seen < all {
            let stop = (at + block).min(all);
            for n in at..stop {
                let gain = self.gain(n);
                if gain > best.0 {
                    best = (gain, n);
                }
            }
            seen += stop - at;
            self.touched += stop - at;
            at = if stop == all { 0 } else { stop };
            if best.1 != NONE {
                self.step(best.1);
                (best, seen) = ((0, NONE), 0);
            }
        }
    }

    /// How much cheaper one more, or one less, through a line makes the flow.
    fn gain(&self, n: usize) -> i64 {
        let l = &self.lines[n];
        if l.in_tree || l.most == 0 {
            return 0;
        }
        let reduced = l.cost + self.nodes[l.from].potential - self.nodes[l.to].potential;
        if l.flow == 0 { -reduced } else { reduced }
    }

    /// How much more can go up from a node to its parent, or down.
    fn room(&self, node: usize, up: bool) -> i64 {
        let l = &self.lines[self.nodes[node].line];
        if (l.from == node) == up {
            l.most - l.flow
        } else {
            l.flow
        }
    }

    /// Sends as much as can be round the circle that a line closes with the tree. What is then full or
    /// empty leaves the tree for it.
    fn step(&mut self, line: usize) {
        let l = &self.lines[line];
        // Round from the first to the second node of the line, up from there, and down to the first.
        let forward = l.flow == 0;
        let (first, second) = if forward {
            (l.from, l.to)
        } else {
            (l.to, l.from)
        };
        let (mut down, mut up) = (first, second);
        let mut most = l.most;
        let mut leaves: Option<(usize, bool)> = None;
        // Of several, the last on the way round from the top leaves: so the tree stays strongly feasible.
        // The line itself comes after those on the way down, and before those on the way up.
        while down != up {
            if self.nodes[down].depth >= self.nodes[up].depth {
                let room = self.room(down, false);
                if room < most {
                    (most, leaves) = (room, Some((down, true)));
                }
                down = self.nodes[down].parent;
            } else {
                let room = self.room(up, true);
                if room <= most {
                    (most, leaves) = (room, Some((up, false)));
                }
                up = self.nodes[up].parent;
            }
        }
        let top = down;
        self.send(line, forward, most);
        for (mut node, goes_up) in [(first, false), (second, true)] {
            while node != top {
                let line = self.nodes[node].line;
                let along = (self.lines[line].from == node) == goes_up;
                self.send(line, along, most);
                node = self.nodes[node].parent;
            }
        }
        if let Some((node, on_first)) = leaves {
            let (inside, outside) = if on_first {
                (first, second)
            } else {
                (second, first)
            };
            let old = self.nodes[node].line;
            self.lines[old].in_tree = false;
            self.lines[line].in_tree = true;
            self.turn(inside, outside, node, line);
        }
    }

    fn send(&mut self, line: usize, forward: bool, more: i64) {
        self.lines[line].flow += if forward { more } else { -more };
    }

    /// The part of the tree below `top` hangs on `outside` from now on, by `line` from `inside`.
    fn turn(&mut self, inside: usize, outside: usize, top: usize, line: usize) {
        let (mut node, mut parent, mut by) = (inside, outside, line);
        loop {
            let (next, next_by) = (self.nodes[node].parent, self.nodes[node].line);
            self.cut(node);
            self.hang(node, parent, by);
            if node == top {
                break;
            }
            (parent, by, node) = (node, next_by, next);
        }
        // All below has another depth, and a potential that differs by as much.
        let l = &self.lines[line];
        let at_outside = self.nodes[outside].potential;
        let new = if l.from == outside {
            at_outside + l.cost
        } else {
            at_outside - l.cost
        };
        let more = new - self.nodes[inside].potential;
        let mut open = vec![inside];
        while let Some(node) = open.pop() {
            self.touched += 1;
            let depth = self.nodes[self.nodes[node].parent].depth + 1;
            let here = &mut self.nodes[node];
            (here.depth, here.potential) = (depth, here.potential + more);
            let mut child = here.first_child;
            while child != NONE {
                open.push(child);
                child = self.nodes[child].after;
            }
        }
    }

    fn cut(&mut self, node: usize) {
        let Node {
            parent,
            before,
            after,
            ..
        } = self.nodes[node];
        if before == NONE {
            self.nodes[parent].first_child = after;
        } else {
            self.nodes[before].after = after;
        }
        if after != NONE {
            self.nodes[after].before = before;
        }
    }

    fn hang(&mut self, node: usize, parent: usize, line: usize) {
        let after = self.nodes[parent].first_child;
        if after != NONE {
            self.nodes[after].before = node;
        }
        self.nodes[parent].first_child = node;
        let here = &mut self.nodes[node];
        (here.parent, here.line, here.before, here.after) = (parent, line, NONE, after);
    }
}

impl Line {
    const fn new(from: usize, to: usize, most: i64, cost: i64) -> Self {
        Self {
            from,
            to,
            most,
            cost,
            flow: 0,
            in_tree: false,
        }
    }
}

impl Node {
    const fn alone() -> Self {
        Self {
            parent: NONE,
            line: NONE,
            depth: 0,
            potential: 0,
            first_child: NONE,
            before: NONE,
            after: NONE,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::optimal_face::optimal_face;
    use super::*;
    use crate::base::dice::Dice;
    use crate::base::progress::NoProgress;
    use crate::base::solver::{Program, Sense, Var};

    /// Lots, slots and technicians, with hours, paces and costs of all kinds.
    fn network(seed: u64) -> (Network, Vec<i64>) {
        let mut dice = Dice::seeded(seed);
        let mut below = |n: u64| dice.below(n);
        let mut n = Network::new();
        let slots: Vec<usize> = (0..3 + below(20)).map(|_| n.node()).collect();
        let technicians: Vec<usize> = (0..=below(3)).map(|_| n.node()).collect();
        let bull = n.node();
        n.arc(SOURCE, bull, below(40) as u32);
        for _ in 0..=below(25) {
            let lot = n.node();
            let head = below(12) as u32;
            n.arc(if below(3) == 0 { bull } else { SOURCE }, lot, head);
            let first = below(slots.len() as u64) as usize;
            for slot in slots.iter().skip(first).take(1 + below(9) as usize) {
                n.arc(lot, *slot, head);
            }
        }
        for slot in &slots {
            for technician in &technicians {
                n.arc(*slot, *technician, below(8) as u32);
            }
        }
        for technician in technicians {
            for _ in 0..4 {
                n.arc(technician, SINK, below(30) as u32);
            }
        }
        let whole = below(1000) as i64;
        let costs = n.arcs.iter();
        let costs = costs.map(|a| below(50) as i64 - if a.from == SOURCE { whole } else { 0 });
        let costs = costs.collect();
        (n, costs)
    }

    /// What the solver's own simplex calls cheapest.
    fn by_program(network: &Network, bounds: &[(u32, u32)], cost: &[i64]) -> i64 {
        let mut program = Program::default();
        let mut balance = vec![Vec::new(); network.nodes];
        for ((arc, (low, high)), cost) in network.arcs.iter().zip(bounds).zip(cost) {
            let var = program.var(Var {
                low: f64::from(*low),
                high: f64::from(*high),
                cost: *cost as f64,
                whole: false,
            });
            balance[arc.from].push((var, -1.0));
            balance[arc.to].push((var, 1.0));
        }
        for terms in balance.into_iter().skip(2) {
            program.row(terms, Sense::Equal, 0.0);
        }
        program.cheapest(0).unwrap().cost.round() as i64
    }

    #[test]
    fn a_flow_costs_as_little_as_by_the_solver_and_its_face_proves_it() {
        for seed in 0..400 {
            let (network, cost) = network(seed);
            let uppers: Vec<u32> = network.arcs.iter().map(|a| a.upper).collect();
            let mut bounds: Vec<(u32, u32)> = uppers.iter().map(|u| (0, *u)).collect();
            let mut costs = cost.clone();
            for again in [false, true] {
                let flow = cheapest(&network, &bounds, &costs, &NoProgress).unwrap();
                let balance = |node: usize| -> i64 {
                    let arcs = network.arcs.iter().zip(&flow);
                    let at = |(a, f): (&super::super::network::Arc, &u32)| {
                        i64::from(*f) * (i64::from(a.to == node) - i64::from(a.from == node))
                    };
                    arcs.map(at).sum()
                };
                assert!((2..network.nodes).all(|n| balance(n) == 0), "{seed}");
                let within = flow.iter().zip(&bounds);
                assert!(within.clone().all(|(f, (a, b))| a <= f && f <= b), "{seed}");
                let all: i64 = flow
                    .iter()
                    .zip(&costs)
                    .map(|(f, c)| i64::from(*f) * c)
                    .sum();
                assert_eq!(all, by_program(&network, &bounds, &costs), "{seed}");
                if !again {
                    // Among the cheapest of these, the cheapest of others: some arcs are then full.
                    bounds = optimal_face(&network, &uppers, &flow, &costs).unwrap();
                    costs = cost.iter().map(|c| (c * 7919).rem_euclid(101)).collect();
                }
            }
        }
    }

    #[test]
    fn bounds_that_no_flow_keeps_are_an_error() {
        let mut n = Network::new();
        let node = n.node();
        n.arc(SOURCE, node, 5);
        n.arc(node, SINK, 3);
        let found = cheapest(&n, &[(4, 5), (0, 3)], &[0, 0], &NoProgress);
        assert!(found.is_err());
    }
}
