//! A problem as arcs between moments: "this starts at least so much after that".
//!
//! Holds the translation, what cannot bend kept apart from what may be late, and the search for
//! statements that contradict each other. Decides no order of work.

use crate::now::Now;
use crate::problem::{Fault, Link, Point, Problem, SegmentId, TestId, Time, WindowOf};

/// The moment all others are counted from.
pub(crate) const ORIGIN: usize = 0;

/// Node `to` is at least `weight` after node `from`.
#[derive(Clone, Debug)]
pub(crate) struct Arc {
    pub from: usize,
    pub to: usize,
    pub weight: Time,
    pub why: Link,
}

/// A limit that may be late: `to + to_off` should be at most `most` after `from + from_off`.
#[derive(Clone, Debug)]
pub(crate) struct Soft {
    pub of: WindowOf,
    pub from: usize,
    pub from_off: Time,
    pub to: usize,
    pub to_off: Time,
    pub most: Time,
    /// False once its end is a thing of the past: then no plan changes it, and no plan is judged by it.
    pub open: bool,
    /// True once it has been settled how late it may be: then `most` is all it has.
    pub settled: bool,
}

impl Soft {
    /// The arc that keeps it, if it may be `late`.
    pub fn arc(&self, late: Time) -> (usize, usize, Time) {
        let late = if self.settled { 0 } else { late };
        (self.to, self.from, self.to_off - self.from_off - self.most - late)
    }

    /// When it opens and when it was reached, in a plan with these starts.
    pub fn moments(&self, starts: &[Time]) -> (Time, Time) {
        (starts[self.from] + self.from_off, starts[self.to] + self.to_off)
    }
}

/// The starts of all segments as nodes 1 to `n`, with the origin before them and the end of all work after them.
#[derive(Clone, Debug)]
pub(crate) struct Network {
    pub ids: Vec<SegmentId>,
    /// By node; zero for the origin and the end.
    pub lasts: Vec<Time>,
    pub hard: Vec<Arc>,
    pub soft: Vec<Soft>,
    pub hands: usize,
    /// Nodes whose work is over. They hold no hands.
    pub past: Vec<bool>,
    /// Nodes under way: each holds hands until its end.
    pub at_work: Vec<usize>,
    /// Known starts, by node.
    pub fixed: Vec<Option<Time>>,
    /// The moment of planning, if it is not before all work.
    pub now: Option<Time>,
}

impl Network {
    /// How many nodes there are, the origin and the end included.
    pub fn nodes(&self) -> usize {
        self.ids.len() + 2
    }

    /// The node that stands for the end of all work.
    pub fn end(&self) -> usize {
        self.ids.len() + 1
    }

    /// A moment no plan needs to go beyond, whatever the order of work: no chain of work and waits is longer.
    pub fn horizon(&self) -> Time {
        let mut most = self.lasts.clone();
        let soft = self.soft.iter().map(|soft| soft.arc(0)).map(|(from, _, weight)| (from, weight));
        for (from, weight) in self.hard.iter().map(|arc| (arc.from, arc.weight)).chain(soft) {
            most[from] = most[from].max(weight);
        }
        most.iter().sum()
    }

    /// All of `problem`, from `now` on if that is told.
    pub fn of(problem: &Problem, now: Option<&Now>) -> Self {
        let ids: Vec<SegmentId> = problem.segments().collect();
        let mut lasts: Vec<Time> = vec![0];
        lasts.extend(ids.iter().map(|id| problem.segment(*id).map_or(0, |segment| segment.lasts)));
        lasts.push(0);
        let mut fixed = vec![None; lasts.len()];
        let mut past = vec![false; lasts.len()];
        let mut at_work = Vec::new();
        let node_of = |id: SegmentId| ids.iter().position(|it| *it == id).map_or(ORIGIN, |at| at + 1);
        if let Some(now) = now {
            for done in &now.done {
                let node = node_of(done.segment);
                fixed[node] = Some(done.start);
                lasts[node] = done.end - done.start;
                past[node] = true;
            }
            for under_way in &now.under_way {
                let node = node_of(under_way.segment);
                let end = (under_way.since + lasts[node]).max(now.at);
                fixed[node] = Some(under_way.since);
                lasts[node] = end - under_way.since;
                at_work.push(node);
            }
            at_work.sort_by_key(|node| (fixed[*node].unwrap_or(0) + lasts[*node], *node));
        }
        let (hands, now) = (problem.hands, now.map(|now| now.at));
        let mut network = Self { ids, lasts, hard: Vec::new(), soft: Vec::new(), hands, past, at_work, fixed, now };
        network.state(problem, now);
        network
    }

    fn node(&self, id: SegmentId) -> usize {
        self.ids.iter().position(|it| *it == id).map_or(ORIGIN, |at| at + 1)
    }

    /// The node of a point, and how far after that node it lies.
    fn point(&self, point: Point) -> (usize, Time) {
        match point {
            Point::Fixed(moment) => (ORIGIN, moment),
            Point::Start(id) => (self.node(id), 0),
            Point::End(id) => {
                let node = self.node(id);
                (node, self.lasts[node])
            }
            Point::Into(id, after) => {
                let node = self.node(id);
                (node, after.min(self.lasts[node]))
            }
        }
    }

    fn state(&mut self, problem: &Problem, now: Option<Time>) {
        for (index, test) in problem.tests.iter().enumerate() {
            let test_id = TestId(index);
            for (at, segment) in test.segments.iter().enumerate() {
                let (id, node) = (test_id.segment(at), self.node(test_id.segment(at)));
                let ready = test.ready.max(now.unwrap_or(Time::MIN));
                if at == 0 || now.is_some() {
                    let weight = if at == 0 { ready } else { now.unwrap_or(test.ready) };
                    self.hard(ORIGIN, node, weight, Link::Ready(test_id));
                }
                if at + 1 < test.segments.len() {
                    let next = self.node(test_id.segment(at + 1));
                    let lasts = self.lasts[node];
                    self.hard(node, next, lasts + segment.wait.at_least, Link::Wait(id));
                    if let Some(most) = segment.wait.at_most {
                        self.soft(WindowOf::Wait(id), (node, lasts), (next, 0), most);
                    }
                }
                let end = self.end();
                self.hard(node, end, self.lasts[node], Link::Lasts(id));
            }
        }
        for (index, window) in problem.windows.iter().enumerate() {
            let (from, to) = (self.point(window.from), self.point(window.to));
            if let Some(least) = window.at_least {
                self.hard(from.0, to.0, least + from.1 - to.1, Link::Window(index));
            }
            if let Some(most) = window.at_most {
                self.soft(WindowOf::Stated(index), from, to, most);
            }
        }
        for node in 0..self.nodes() {
            if let Some(start) = self.fixed[node] {
                let why = Link::Lasts(self.ids[node - 1]);
                self.hard.push(Arc { from: ORIGIN, to: node, weight: start, why: why.clone() });
                self.hard.push(Arc { from: node, to: ORIGIN, weight: -start, why });
            }
        }
    }

    /// What happened is not judged again: an arc into the past says nothing any more.
    fn hard(&mut self, from: usize, to: usize, weight: Time, why: Link) {
        let settled = |node: usize| node == ORIGIN || self.fixed[node].is_some();
        let into_the_past = to != ORIGIN && self.fixed[to].is_some();
        let both_known = settled(from) && settled(to);
        if !into_the_past && !both_known {
            self.hard.push(Arc { from, to, weight, why });
        }
    }

    fn soft(&mut self, of: WindowOf, from: (usize, Time), to: (usize, Time), most: Time) {
        // Of work under way only what lies ahead is still open.
        let ahead = self.fixed[to.0].is_none_or(|start| to.1 > 0 && start + to.1 >= self.now.unwrap_or(Time::MIN));
        let open = to.0 != ORIGIN && !self.past[to.0] && ahead;
        self.soft.push(Soft { of, from: from.0, from_off: from.1, to: to.0, to_off: to.1, most, open, settled: false });
    }

    /// The least lateness each open limit has in any plan, even with hands without number.
    pub fn unavoidable(&self) -> Vec<Time> {
        let longest: Vec<Option<Vec<Option<Time>>>> = (0..self.nodes()).map(|from| self.longest_from(from)).collect();
        let over = |soft: &Soft| {
            let between = longest[soft.from].as_ref().and_then(|row| row[soft.to]);
            between.map_or(0, |span| (span + soft.to_off - soft.from_off - soft.most).max(0))
        };
        self.soft.iter().map(|soft| if soft.open { over(soft) } else { 0 }).collect()
    }

    /// Longest way from `from` to every node over what cannot bend; `None` if that goes round and round.
    fn longest_from(&self, from: usize) -> Option<Vec<Option<Time>>> {
        let mut reach = vec![None; self.nodes()];
        reach[from] = Some(0);
        for _ in 0..=self.nodes() {
            let mut moved = false;
            for arc in &self.hard {
                if let Some(at) = reach[arc.from]
                    && reach[arc.to].is_none_or(|old| old < at + arc.weight)
                {
                    reach[arc.to] = Some(at + arc.weight);
                    moved = true;
                }
            }
            if !moved {
                return Some(reach);
            }
        }
        None
    }
}

/// Looks for statements that contradict each other: what cannot bend, with the time work takes; and all that is
/// said within one test, even if work took no time.
pub(crate) fn contradiction(problem: &Problem) -> Result<(), Fault> {
    let network = Network::of(problem, None);
    cycle(problem, network.nodes(), &network.hard)?;
    let mut quick = problem.clone();
    quick.tests.iter_mut().flat_map(|test| &mut test.segments).for_each(|segment| segment.lasts = 0);
    let network = Network::of(&quick, None);
    let test_of = |node: usize| node.checked_sub(1).and_then(|at| network.ids.get(at)).map(|id| id.test);
    let mut arcs: Vec<Arc> = network.hard.clone();
    for soft in &network.soft {
        let (from, to, weight) = soft.arc(0);
        let why = match soft.of {
            WindowOf::Stated(index) => Link::Window(index),
            WindowOf::Wait(id) => Link::Wait(id),
        };
        arcs.push(Arc { from, to, weight, why });
    }
    // Between tests, or from the sample to a test, it is a matter of planning, and told as lateness.
    arcs.retain(|arc| test_of(arc.from).is_some() && test_of(arc.from) == test_of(arc.to));
    cycle(problem, network.nodes(), &arcs)
}

/// A cycle that is longer than nothing, told as a fault.
fn cycle(problem: &Problem, nodes: usize, arcs: &[Arc]) -> Result<(), Fault> {
    let mut reach = vec![0; nodes];
    let mut by: Vec<Option<usize>> = vec![None; nodes];
    let mut moved = None;
    for _ in 0..=nodes {
        moved = None;
        for (at, arc) in arcs.iter().enumerate() {
            if reach[arc.from] + arc.weight > reach[arc.to] {
                reach[arc.to] = reach[arc.from] + arc.weight;
                by[arc.to] = Some(at);
                moved = Some(arc.to);
            }
        }
        if moved.is_none() {
            return Ok(());
        }
    }
    // After so many rounds whoever still moves is fed by the cycle: walk back into it, then round it once.
    let back = |node: usize| by[node].map_or(node, |at| arcs[at].from);
    let inside = (0..nodes).fold(moved.unwrap_or(ORIGIN), |node, _| back(node));
    let (mut node, mut cycle, mut over) = (inside, Vec::new(), 0);
    loop {
        if let Some(at) = by[node] {
            cycle.push(arcs[at].why.clone());
            over += arcs[at].weight;
        }
        node = back(node);
        if node == inside {
            break;
        }
    }
    cycle.reverse();
    let names = cycle.iter().map(|link| name(problem, link)).collect();
    Err(Fault::Contradiction { cycle, names, over })
}

fn name(problem: &Problem, link: &Link) -> String {
    match link {
        Link::Window(index) => problem.name_of(WindowOf::Stated(*index)),
        Link::Wait(id) => problem.name_of(WindowOf::Wait(*id)),
        Link::Lasts(id) => format!("length of {}", problem.segment_name(*id)),
        Link::Ready(test) => format!("beginning of {}", problem.tests.get(test.0).map_or("?", |test| &test.name)),
    }
}
