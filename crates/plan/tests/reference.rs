//! Every reference instance: the same lateness and the same end as an independent solver has proven.
//!
//! How they are made anew stands in `reference/README.md`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

mod common;

use plan::{Effort, Point, Problem, Proof, Segment, Test, TestId, Time, Window};
use serde::Deserialize;

#[derive(Deserialize)]
struct Reference {
    generator: String,
    reference: String,
    seed: u64,
    instances: Vec<Instance>,
}

/// Length, least wait after it, longest wait after it.
type Part = (Time, Time, Option<Time>);

/// What kind of moment, and which.
type Moment = (u8, Time, usize);

#[derive(Deserialize)]
struct Instance {
    name: String,
    hands: usize,
    tests: Vec<(Time, Vec<Part>)>,
    windows: Vec<(Moment, Moment, Option<Time>, Option<Time>)>,
    lateness: Time,
    ends: Time,
}

fn problem(instance: &Instance) -> Problem {
    let mut problem = Problem::new(instance.hands);
    for (index, (ready, work)) in instance.tests.iter().enumerate() {
        let segment = |(at, (lasts, least, most)): (usize, &Part)| {
            Segment::new(format!("part {}", at + 1), *lasts).then_wait(*least, *most)
        };
        let segments = work.iter().enumerate().map(segment).collect();
        problem.add(Test::new(format!("test {}", index + 1), segments).not_before(*ready));
    }
    let point = |(kind, at, segment): Moment| match kind {
        0 => Point::Fixed(at),
        1 => Point::Start(TestId(at as usize).segment(segment)),
        _ => Point::End(TestId(at as usize).segment(segment)),
    };
    for (index, (from, to, least, most)) in instance.windows.iter().enumerate() {
        let mut window = Window::new(format!("window {}", index + 1), point(*from), point(*to));
        (window.at_least, window.at_most) = (*least, *most);
        problem.window(window);
    }
    problem
}

fn reference() -> Reference {
    serde_json::from_str(include_str!("reference.json")).unwrap()
}

#[test]
fn every_reference_instance_has_the_proven_lateness_and_end() {
    let reference = reference();
    assert_eq!(reference.generator, "crates/plan/reference/generate.py");
    assert!(reference.reference.contains("CP-SAT") && reference.seed > 0);
    assert!(reference.instances.len() >= 200, "only {} instances", reference.instances.len());
    for instance in &reference.instances {
        let problem = problem(instance);
        let plan = plan::solve(&problem, Effort { nodes: 2_000_000 }).unwrap();
        common::checked(&problem, &plan).unwrap_or_else(|wrong| panic!("{}: {wrong}", instance.name));
        let got = (plan.lateness, plan.ends, plan.proof);
        assert_eq!(got, (instance.lateness, instance.ends, Proof::Optimal), "{} ({} nodes)", instance.name, plan.nodes);
    }
}

#[test]
fn the_reference_holds_days_of_every_kind() {
    let instances = reference().instances;
    let count = |that: &dyn Fn(&Instance) -> bool| instances.iter().filter(|instance| that(instance)).count();
    for tests in 1..=12 {
        assert!(count(&|it| it.tests.len() == tests) >= 5, "days of {tests} tests");
    }
    assert!(count(&|it| it.lateness > 0) >= 40, "days that cannot be kept");
    assert!(count(&|it| it.lateness == 0) >= 40, "days that can");
    assert!(count(&|it| it.hands == 2) >= 20, "two pairs of hands");
    assert!(count(&|it| it.windows.iter().any(|window| window.2.is_some())) >= 40, "least times between tests");
    let no_wait = |it: &Instance| it.tests.iter().any(|(_, work)| work.iter().any(|part| part.2 == Some(0)));
    assert!(count(&no_wait) >= 15, "segments that follow at once");
}
