//! The cheapest flow through a network, by the network simplex: a basis is a tree, so that a step
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

/// An arc.
struct Line {
    from: u32,
    to: u32,
    cost: i64,
}

/// What flows through a line, of at most `most`.
struct Flow {
    most: i64,
    now: i64,
}

/// A node of the tree: what it hangs on and what hangs on it.
#[derive(Clone)]
struct Node {
    parent: usize,
    /// The line to the parent.
    line: usize,
    depth: usize,
    first_child: usize,
    before: usize,
    after: usize,
}

struct Tree {
    lines: Vec<Line>,
    /// The arc of each line, and none of the tree's own lines behind them.
    arcs: Vec<usize>,
    flows: Vec<Flow>,
    /// By line, the sign that makes a gain of its reduced cost: -1 where it is empty, 1 where it is full; 0 in the
    /// tree, or where nothing can flow. Apart from the lines, as all are gone through again and again.
    sides: Vec<i8>,
    nodes: Vec<Node>,
    /// By node.
    potentials: Vec<i64>,
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
    let lines = tree.lines.iter().zip(&tree.flows);
    let mut own = lines.skip(tree.arcs.len() + 1);
    if own.any(|(line, flow)| line.cost > 0 && flow.now > 0) {
        return Err("no flow keeps within the bounds".into());
    }
    let mut flows: Vec<u32> = bounds.iter().map(|(low, _)| *low).collect();
    for (n, flow) in tree.arcs.iter().zip(&tree.flows) {
        flows[*n] += flow.now as u32;
    }
    Ok(flows)
}

impl Tree {
    /// Each node hangs on a root by a line of its own, which is too dear to be used in the end.
    fn new(network: &Network, bounds: &[(u32, u32)], cost: &[i64]) -> Result<Self, String> {
        let (root, arcs) = (network.nodes, network.arcs.len());
        let all_lines = arcs + root + 1;
        let mut tree = Self {
            lines: Vec::with_capacity(all_lines),
            flows: Vec::with_capacity(all_lines),
            sides: Vec::with_capacity(all_lines),
            nodes: vec![Node::alone(); root + 1],
            potentials: vec![0; root + 1],
            arcs: Vec::with_capacity(arcs),
            touched: 0,
        };
        // What must flow in any case comes out of one node and into the other.
        let mut supply = vec![0_i64; root];
        let mut all = 0;
        // The arcs of a lot stand together. Mixed, a block of lines has some of many lots, and its best is better.
        let apart = arcs.isqrt() + 1;
        for n in (0..apart).flat_map(|first| (first..arcs).step_by(apart)) {
            let (arc, (low, high)) = (&network.arcs[n], bounds[n]);
            supply[arc.from] -= i64::from(low);
            supply[arc.to] += i64::from(low);
            if arc.from == SOURCE {
                all += i64::from(high);
            }
            tree.line(arc.from, arc.to, i64::from(high - low), cost[n]);
            tree.arcs.push(n);
        }
        // What comes out at the sink goes in at the source again.
        tree.line(SINK, SOURCE, all, 0);
        let dearest = cost.iter().map(|c| c.abs()).max().unwrap_or(0);
        let dear = (dearest + 1).checked_mul(2 * (root as i64 + 1));
        // A potential is a sum of costs along a path.
        let dear = dear
            .filter(|d| *d < i64::MAX / 4)
            .ok_or("costs too large")?;
        for (n, supply) in supply.into_iter().enumerate() {
            let (from, to, cost) = if supply >= 0 {
                (n, root, 0)
            } else {
                (root, n, dear)
            };
            let line = tree.line(from, to, i64::MAX / 4, cost);
            tree.flows[line].now = supply.abs();
            tree.sides[line] = 0;
            tree.hang(n, root, line);
            tree.nodes[n].depth = 1;
            tree.potentials[n] = cost;
        }
        Ok(tree)
    }

    /// Adds an empty line outside the tree.
    fn line(&mut self, from: usize, to: usize, most: i64, cost: i64) -> usize {
        let (from, to) = (from as u32, to as u32);
        self.lines.push(Line { from, to, cost });
        self.flows.push(Flow { most, now: 0 });
        let line = self.lines.len() - 1;
        self.sides.push(self.side(line));
        line
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
        match self.sides[n] {
            0 => 0,
            side => {
                let line = &self.lines[n];
                let potential = |node: u32| self.potentials[node as usize];
                i64::from(side) * (line.cost + potential(line.from) - potential(line.to))
            }
        }
    }

    /// How much more can go up from a node to its parent, or down.
    fn room(&self, node: usize, up: bool) -> i64 {
        let line = self.nodes[node].line;
        let flow = &self.flows[line];
        if (self.lines[line].from as usize == node) == up {
            flow.most - flow.now
        } else {
            flow.now
        }
    }

    /// Sends as much as can be round the circle that a line closes with the tree. What is then full or
    /// empty leaves the tree for it.
    fn step(&mut self, line: usize) {
        let Line { from, to, .. } = self.lines[line];
        let (from, to) = (from as usize, to as usize);
        // Round from the first to the second node of the line, up from there, and down to the first.
        let forward = self.flows[line].now == 0;
        let (first, second) = if forward { (from, to) } else { (to, from) };
        let (mut down, mut up) = (first, second);
        let mut most = self.flows[line].most;
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
                let along = (self.lines[line].from as usize == node) == goes_up;
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
            self.sides[old] = self.side(old);
            self.sides[line] = 0;
            self.turn(inside, outside, node, line);
        } else {
            self.sides[line] = self.side(line);
        }
    }

    /// The side of a line outside the tree.
    fn side(&self, line: usize) -> i8 {
        match self.flows[line] {
            Flow { most: 0, .. } => 0,
            Flow { now: 0, .. } => -1,
            Flow { .. } => 1,
        }
    }

    fn send(&mut self, line: usize, forward: bool, more: i64) {
        self.flows[line].now += if forward { more } else { -more };
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
        let at_outside = self.potentials[outside];
        let new = if l.from as usize == outside {
            at_outside + l.cost
        } else {
            at_outside - l.cost
        };
        let more = new - self.potentials[inside];
        let mut open = vec![inside];
        while let Some(node) = open.pop() {
            self.touched += 1;
            let depth = self.nodes[self.nodes[node].parent].depth + 1;
            self.potentials[node] += more;
            let here = &mut self.nodes[node];
            here.depth = depth;
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

impl Node {
    const fn alone() -> Self {
        Self {
            parent: NONE,
            line: NONE,
            depth: 0,
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
