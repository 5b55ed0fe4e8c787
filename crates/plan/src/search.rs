//! The exact search: which segment the hands take next, until nothing better is left.
//!
//! Branch and bound over the order in which segments are begun. A node of the search is an order of the
//! first segments; its matrix holds, for every two moments, the least time from one to the other that
//! follows from all waits, windows and the order so far (difference constraints, closed under addition).
//! A branch is cut when
//!
//! * the matrix contradicts itself,
//! * the work left does not fit between its earliest starts and latest ends, even if it could be
//!   interrupted at will (preemptive one-machine bound; several pairs of hands count as one quick pair),
//! * the same segments were begun before in another order that leaves at least the same freedom to
//!   everything still to come (dominance by the projection of the matrix on what the rest can see).
//!
//! **Invariant:** a cut never loses a plan better than the one held, so an answer within the limit of
//! nodes is proven. The order of branching is fixed: the same problem gives the same plan.

use std::collections::HashMap;

use crate::graph::{Network, ORIGIN};
use crate::problem::Time;

/// Longest-path weights; small enough that two may be added.
type Weight = i32;

/// How many weights of dominance the search may remember: 32 MB.
const REMEMBERED: usize = 8 << 20;

/// What is looked for.
#[derive(Copy, Clone, Debug)]
pub(crate) struct Goal {
    /// No limit may be later than this.
    pub late: Time,
    /// All work must end by this.
    pub ends_by: Time,
    /// Whether any plan will do, or the one that ends first is wanted.
    pub any: bool,
}

/// An order of work and the earliest starts it allows.
#[derive(Clone, Debug)]
pub(crate) struct Sequence {
    /// Nodes in the order they are begun, each with its pair of hands.
    pub order: Vec<(usize, usize)>,
    /// By node.
    pub starts: Vec<Time>,
    pub ends: Time,
}

/// What became of a search.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub best: Option<Sequence>,
    /// True if nothing was left unsearched.
    pub proven: bool,
}

/// Searches with at most `nodes` nodes, and takes what it used off them.
pub(crate) fn search(network: &Network, goal: Goal, nodes: &mut u64) -> Found {
    let mut search = Search::new(network, goal, nodes);
    let Some(root) = search.root(goal.late) else { return Found { best: None, proven: true } };
    search.levels.push(Level { matrix: root, ub: search.ub });
    let last = search.first_hands();
    let work = search.work;
    let ended = search.go_on(0, work, &last, None);
    Found { best: search.best, proven: ended != Ended::Exhausted }
}

/// True if `late` is not excluded by what can be seen before any order is tried.
pub(crate) fn may_hold(network: &Network, goal: Goal) -> bool {
    let mut nodes = 0;
    let search = Search::new(network, goal, &mut nodes);
    let Some(root) = search.root(goal.late) else { return false };
    let work = search.work;
    search.fits(&root, work)
}

/// The least lateness this order of work allows, at most `late`, which it is known to allow.
pub(crate) fn least_lateness(network: &Network, order: &[(usize, usize)], late: Time) -> Time {
    let mut last = vec![None; network.hands];
    for (at, node) in network.at_work.iter().enumerate() {
        last[at % network.hands] = Some(*node);
    }
    let mut arcs: Vec<(usize, usize, Time)> = network.hard.iter().map(|arc| (arc.from, arc.to, arc.weight)).collect();
    for (node, hand) in order {
        if let Some(before) = last[*hand].replace(*node) {
            arcs.push((before, *node, network.lasts[before]));
        }
    }
    let fixed = arcs.len();
    let (mut low, mut high) = (0, late);
    while low < high {
        let middle = low + (high - low) / 2;
        arcs.truncate(fixed);
        arcs.extend(network.soft.iter().filter(|soft| soft.open).map(|soft| soft.arc(middle)));
        if settles(network.nodes(), &arcs) { high = middle } else { low = middle + 1 }
    }
    high
}

/// Whether longest paths over these arcs exist.
fn settles(nodes: usize, arcs: &[(usize, usize, Time)]) -> bool {
    let mut reach = vec![0; nodes];
    for _ in 0..=nodes {
        let mut moved = false;
        for (from, to, weight) in arcs {
            if reach[*from] + weight > reach[*to] {
                reach[*to] = reach[*from] + weight;
                moved = true;
            }
        }
        if !moved {
            return true;
        }
    }
    false
}

#[derive(Copy, Clone, Debug, PartialEq, Eq)]
enum Ended {
    /// Everything below was seen, or may be left unseen.
    Seen,
    /// A plan was found and any will do.
    Enough,
    /// The nodes are used up.
    Exhausted,
}

struct Level {
    matrix: Vec<Weight>,
    /// The end of work this matrix already knows of.
    ub: Weight,
}

struct Search<'a> {
    network: &'a Network,
    n: usize,
    hands: usize,
    lasts: Vec<Weight>,
    /// Segments that need hands and are not begun.
    work: u128,
    /// Nodes without hands whose moments are still open.
    loose: u128,
    /// By node: nodes it has an arc to, and from; the end of all work aside.
    arcs_to: Vec<u128>,
    arcs_from: Vec<u128>,
    any: bool,
    ub: Weight,
    nodes: &'a mut u64,
    levels: Vec<Level>,
    order: Vec<(usize, usize)>,
    best: Option<Sequence>,
    seen: HashMap<u128, Vec<Box<[Weight]>>>,
    remembered: usize,
}

fn bits(mut set: u128) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        (set != 0).then(|| {
            let node = set.trailing_zeros() as usize;
            set &= set - 1;
            node
        })
    })
}

fn weight(time: Time) -> Weight {
    // Problems are checked to be far smaller; a bound on lateness may be cut off without loss.
    Weight::try_from(time).unwrap_or(if time < 0 { -(1 << 29) } else { 1 << 29 })
}

impl<'a> Search<'a> {
    fn new(network: &'a Network, goal: Goal, nodes: &'a mut u64) -> Self {
        let n = network.nodes();
        let segments = 1..network.end();
        let held = |node: usize| network.past[node] || network.at_work.contains(&node);
        let open = segments.filter(|node| !held(*node));
        let (work, loose) = open.fold((0, 0), |(work, loose), node| match network.lasts[node] {
            0 => (work, loose | 1 << node),
            _ => (work | 1 << node, loose),
        });
        let (mut arcs_to, mut arcs_from) = (vec![0; n], vec![0; n]);
        let hard = network.hard.iter().map(|arc| (arc.from, arc.to));
        let soft = network.soft.iter().filter(|soft| soft.open).map(|soft| (soft.to, soft.from));
        for (from, to) in hard.chain(soft) {
            if from != ORIGIN && to != ORIGIN && to != network.end() {
                arcs_to[from] |= 1 << to;
                arcs_from[to] |= 1 << from;
            }
        }
        Self {
            network,
            n,
            hands: network.hands,
            lasts: network.lasts.iter().map(|lasts| weight(*lasts)).collect(),
            work,
            loose,
            arcs_to,
            arcs_from,
            any: goal.any,
            ub: weight(goal.ends_by),
            nodes,
            levels: Vec::new(),
            order: Vec::new(),
            best: None,
            seen: HashMap::new(),
            remembered: 0,
        }
    }

    /// The last work of each pair of hands before any choice.
    fn first_hands(&self) -> Vec<Option<usize>> {
        let mut last = vec![None; self.hands];
        for (at, node) in self.network.at_work.iter().enumerate() {
            last[at % self.hands] = Some(*node);
        }
        last
    }

    /// The closed matrix before any choice, or `None` if no plan is left.
    fn root(&self, late: Time) -> Option<Vec<Weight>> {
        let (n, end) = (self.n, self.network.end());
        let mut first = vec![Weight::MIN; n];
        for arc in self.network.hard.iter().filter(|arc| arc.from == ORIGIN) {
            first[arc.to] = first[arc.to].max(weight(arc.weight));
        }
        first[ORIGIN] = 0;
        // Every node has a least start of its own: the first of its test's, at the least.
        let floor = first.iter().copied().filter(|least| *least > Weight::MIN).min().unwrap_or(0);
        let mut matrix = vec![0; n * n];
        for from in 0..n {
            for to in 0..n {
                // By way of the end of all work, which has its latest moment, and the origin.
                let least = if first[to] == Weight::MIN { floor } else { first[to] };
                let past_the_end = if from == ORIGIN { least } else { self.lasts[from] - self.ub + least };
                matrix[from * n + to] = if from == to { 0 } else { past_the_end };
            }
        }
        matrix[end * n + ORIGIN] = -self.ub;
        let mut put = |from: usize, to: usize, w: Weight| {
            let cell = &mut matrix[from * n + to];
            *cell = (*cell).max(w);
        };
        for arc in &self.network.hard {
            put(arc.from, arc.to, weight(arc.weight));
        }
        for soft in self.network.soft.iter().filter(|soft| soft.open) {
            let (from, to, w) = soft.arc(late);
            put(from, to, weight(w));
        }
        for under_way in &self.network.at_work {
            if self.hands == 1 {
                bits(self.work).for_each(|node| put(*under_way, node, self.lasts[*under_way]));
            }
        }
        if !close(&mut matrix, n) {
            return None;
        }
        // Fold in what two segments that share hands already say about each other.
        if self.hands == 1 && !self.pairs(&mut matrix, self.work) {
            return None;
        }
        Some(matrix)
    }

    /// With one pair of hands, of two segments one comes first: if it cannot be this one, it is the other.
    /// False if it can be neither.
    fn pairs(&self, matrix: &mut [Weight], set: u128) -> bool {
        let n = self.n;
        loop {
            let mut moved = false;
            for u in bits(set) {
                for v in bits(set & !((2 << u) - 1)) {
                    let u_first = matrix[v * n + u] + self.lasts[u] <= 0;
                    let v_first = matrix[u * n + v] + self.lasts[v] <= 0;
                    let (before, after) = match (u_first, v_first) {
                        (true, true) => continue,
                        (true, false) => (u, v),
                        (false, true) => (v, u),
                        (false, false) => return false,
                    };
                    if matrix[before * n + after] < self.lasts[before] {
                        if !insert(matrix, n, before, after, self.lasts[before]) {
                            return false;
                        }
                        moved = true;
                    }
                }
            }
            if !moved {
                return true;
            }
        }
    }

    /// Whether the work in `set` fits if it might be interrupted and shared at will.
    fn fits(&self, matrix: &[Weight], set: u128) -> bool {
        let (n, end) = (self.n, self.network.end());
        let hands = self.hands as Weight;
        let mut tasks = [(0, 0, 0); 128];
        let mut count = 0;
        for node in bits(set) {
            let row = node * n;
            let latest = (-matrix[row]).min(self.ub - matrix[row + end]);
            let task = (matrix[node] * hands, (latest + self.lasts[node]) * hands, self.lasts[node]);
            if matrix[node] > latest {
                return false;
            }
            let mut at = count;
            while at > 0 && tasks[at - 1].0 > task.0 {
                tasks[at] = tasks[at - 1];
                at -= 1;
            }
            tasks[at] = task;
            count += 1;
        }
        let tasks = &tasks[..count];
        // For every latest end: all that must be over by then, in order of its earliest start.
        tasks.iter().all(|(_, due, _)| {
            let mut now = Weight::MIN / 2;
            for (ready, by, lasts) in tasks {
                if by <= due {
                    now = now.max(*ready) + lasts;
                }
            }
            now <= *due
        })
    }

    fn go_on(&mut self, depth: usize, set: u128, last: &[Option<usize>], begun: Option<usize>) -> Ended {
        if *self.nodes == 0 {
            return Ended::Exhausted;
        }
        *self.nodes -= 1;
        if set == 0 {
            return self.keep(depth);
        }
        if !self.fits(&self.levels[depth].matrix, set) || self.dominated(depth, set, last, begun) {
            return Ended::Seen;
        }
        if self.hands == 1 {
            let mut matrix = std::mem::take(&mut self.levels[depth].matrix);
            let open = self.pairs(&mut matrix, set) && self.fits(&matrix, set);
            self.levels[depth].matrix = matrix;
            if !open {
                return Ended::Seen;
            }
        }
        for (node, hand) in self.choices(depth, set, last) {
            // A better plan found meanwhile leaves less time to the rest of this level.
            let (ub, end, n) = (self.ub, self.network.end(), self.n);
            let level = &mut self.levels[depth];
            if ub < level.ub {
                level.ub = ub;
                if !insert(&mut level.matrix, n, end, ORIGIN, -ub) || !self.fits(&self.levels[depth].matrix, set) {
                    return Ended::Seen;
                }
            }
            let rest = set & !(1 << node);
            if !self.begin(depth, node, rest, last[hand]) {
                continue;
            }
            let mut then = last.to_vec();
            then[hand] = Some(node);
            self.order.push((node, hand));
            let ended = self.go_on(depth + 1, rest, &then, Some(node));
            self.order.pop();
            if ended != Ended::Seen {
                return ended;
            }
        }
        Ended::Seen
    }

    /// A whole order: better than the one held, or it would have been cut.
    fn keep(&mut self, depth: usize) -> Ended {
        let matrix = &self.levels[depth].matrix;
        let starts: Vec<Time> = matrix[..self.n].iter().map(|start| Time::from(*start)).collect();
        let ends = matrix[self.network.end()];
        if ends > self.ub {
            return Ended::Seen;
        }
        self.ub = ends - 1;
        self.best = Some(Sequence { order: self.order.clone(), starts, ends: Time::from(ends) });
        if self.any { Ended::Enough } else { Ended::Seen }
    }

    /// What may come next, the most urgent of what could be begun first at the head.
    fn choices(&self, depth: usize, set: u128, last: &[Option<usize>]) -> Vec<(usize, usize)> {
        let (n, end) = (self.n, self.network.end());
        let matrix = &self.levels[depth].matrix;
        let soonest = bits(set).map(|node| matrix[node]).min().unwrap_or(0);
        let mut choices = Vec::new();
        for node in bits(set) {
            let holds = if self.hands == 1 { self.lasts[node] } else { 0 };
            if bits(set).any(|other| other != node && matrix[other * n + node] + holds > 0) {
                continue;
            }
            let latest = (-matrix[node * n]).min(self.ub - matrix[node * n + end]);
            let key = ((matrix[node] - soonest).max(0), latest, node);
            for hand in self.hands_for(matrix, last) {
                choices.push((key, hand));
            }
        }
        choices.sort_unstable();
        choices.into_iter().map(|((_, _, node), hand)| (node, hand)).collect()
    }

    /// Which hands may take what is begun next. Whoever is free takes it, and the pair that is free first is free:
    /// so a pair known to be free no sooner than another need not be tried.
    fn hands_for(&self, matrix: &[Weight], last: &[Option<usize>]) -> Vec<usize> {
        let no_sooner = |this: usize, other: usize| match (last[this], last[other]) {
            (None, None) => other < this,
            (Some(_), None) => true,
            (None, Some(_)) => false,
            (Some(a), Some(b)) => {
                let after = matrix[b * self.n + a] + self.lasts[a] - self.lasts[b];
                let before = matrix[a * self.n + b] + self.lasts[b] - self.lasts[a];
                after > 0 || (after == 0 && (before < 0 || other < this))
            }
        };
        let all = 0..self.hands;
        all.clone().filter(|this| !all.clone().any(|other| other != *this && no_sooner(*this, other))).collect()
    }

    /// Makes the next level's matrix with `node` begun before all of `rest`. False if that cannot be.
    fn begin(&mut self, depth: usize, node: usize, rest: u128, before: Option<usize>) -> bool {
        let n = self.n;
        if self.levels.len() == depth + 1 {
            self.levels.push(Level { matrix: vec![0; n * n], ub: self.ub });
        }
        let (above, below) = self.levels.split_at_mut(depth + 1);
        let (from, into) = (&above[depth], &mut below[0]);
        into.ub = from.ub;
        into.matrix.copy_from_slice(&from.matrix);
        if self.hands > 1
            && let Some(before) = before
            && !insert(&mut into.matrix, n, before, node, self.lasts[before])
        {
            return false;
        }
        if rest == 0 {
            return true;
        }
        let holds = if self.hands == 1 { self.lasts[node] } else { 0 };
        let mut reach = vec![Weight::MIN; n];
        for other in bits(rest) {
            let row = &into.matrix[other * n..(other + 1) * n];
            for (best, w) in reach.iter_mut().zip(row) {
                *best = (*best).max(w + holds);
            }
        }
        if reach[node] > 0 {
            return false;
        }
        for row in into.matrix.chunks_exact_mut(n) {
            let to_node = row[node];
            for (cell, w) in row.iter_mut().zip(&reach) {
                *cell = (*cell).max(to_node + w);
            }
        }
        true
    }

    /// Whether the same segments were begun in an order that leaves the rest at least as free; remembers it if not.
    fn dominated(&mut self, depth: usize, set: u128, last: &[Option<usize>], begun: Option<usize>) -> bool {
        let Some(begun) = begun else { return false };
        let (n, matrix) = (self.n, &self.levels[depth].matrix);
        let rest = set | self.loose;
        let held = |node: &usize| *node != ORIGIN && *node < self.network.end() && rest & (1 << *node) == 0;
        // What the rest sees of the past: how late these are, and how early those.
        let high: Vec<usize> = (0..n).filter(held).filter(|node| self.arcs_from[*node] & rest != 0).collect();
        let low: Vec<usize> = (0..n).filter(held).filter(|node| self.arcs_to[*node] & rest != 0).collect();
        let mut free: Vec<(usize, Weight)> = last.iter().flatten().map(|node| (*node, self.lasts[*node])).collect();
        free.sort_by_key(|(node, lasts)| (matrix[*node] + lasts, *node));
        let mut view = Vec::with_capacity((high.len() + 1) * (low.len() + free.len() + 2));
        for from in std::iter::once(ORIGIN).chain(high.iter().copied()) {
            let row = &matrix[from * n..(from + 1) * n];
            view.extend(low.iter().map(|to| row[*to]));
            view.extend(free.iter().map(|(to, lasts)| row[*to] + lasts));
            if self.hands > 1 {
                view.push(row[begun]);
            }
            if from != ORIGIN {
                view.push(row[ORIGIN]);
            }
        }
        let before = self.seen.entry(set).or_default();
        let freer = |old: &[Weight]| old.len() == view.len() && old.iter().zip(&view).all(|(old, new)| old <= new);
        if before.iter().any(|old| freer(old)) {
            return true;
        }
        if self.remembered + view.len() <= REMEMBERED {
            self.remembered += view.len();
            before.push(view.into_boxed_slice());
        }
        false
    }
}

/// Closes a matrix under addition. False if it contradicts itself.
fn close(matrix: &mut [Weight], n: usize) -> bool {
    for via in 0..n {
        let through: Vec<Weight> = matrix[via * n..(via + 1) * n].to_vec();
        for row in matrix.chunks_exact_mut(n) {
            let to_via = row[via];
            for (cell, w) in row.iter_mut().zip(&through) {
                *cell = (*cell).max(to_via + w);
            }
        }
        if (0..n).any(|node| matrix[node * n + node] > 0) {
            return false;
        }
    }
    true
}

/// Puts one arc into a closed matrix. False if it contradicts it.
fn insert(matrix: &mut [Weight], n: usize, from: usize, to: usize, w: Weight) -> bool {
    if matrix[from * n + to] >= w {
        return true;
    }
    if matrix[to * n + from] + w > 0 {
        return false;
    }
    let onward: Vec<Weight> = matrix[to * n..(to + 1) * n].iter().map(|rest| rest + w).collect();
    for row in matrix.chunks_exact_mut(n) {
        let to_from = row[from];
        for (cell, w) in row.iter_mut().zip(&onward) {
            *cell = (*cell).max(to_from + w);
        }
    }
    true
}
