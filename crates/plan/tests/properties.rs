//! What must hold of any plan for any problem, on problems made up at random.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

mod common;

use std::collections::BTreeMap;

use plan::{Done, Effort, Now, Point, Problem, Proof, Segment, SegmentId, Test, TestId, Time, UnderWay, Window};
use proptest::prelude::*;

fn segment() -> impl Strategy<Value = Segment> {
    let wait = prop_oneof![
        Just((0, None)),
        (0..30i64).prop_map(|least| (least, None)),
        (0..30i64, 0..30i64).prop_map(|(least, more)| (least, Some(least + more))),
    ];
    (0..25i64, wait).prop_map(|(lasts, (least, most))| Segment::new("work", lasts).then_wait(least, most))
}

/// Windows go from a test to itself or a later one, so that least times never go round in a circle.
fn problem(hands: std::ops::RangeInclusive<usize>) -> impl Strategy<Value = Problem> {
    let test = (proptest::collection::vec(segment(), 1..4), prop_oneof![Just(0), -20..40i64]);
    let window = (any::<[u8; 4]>(), 0..60i64, 0..120i64, 0..4u8);
    (hands, proptest::collection::vec(test, 1..5), proptest::collection::vec(window, 0..6)).prop_map(
        |(hands, tests, windows)| {
            let mut problem = Problem::new(hands);
            for (segments, ready) in tests {
                problem.add(Test::new("test", segments).not_before(ready));
            }
            let count = problem.tests.len();
            for ([one, other, a, b], least, most, kind) in windows {
                let (one, other) = (one as usize % count, other as usize % count);
                let (one, other) = (one.min(other), one.max(other));
                let at =
                    |test: usize, index: u8| TestId(test).segment(index as usize % problem.tests[test].segments.len());
                let (from, to) = (at(one, a), at(other, b));
                let window = match kind {
                    0 => Window::new("from the sample", Point::Fixed(0), Point::Start(to)).at_most(most),
                    1 if one < other => {
                        Window::new("after", Point::End(from), Point::Start(to)).at_least(least).at_most(least + most)
                    }
                    2 if one < other => Window::new("order", Point::Start(from), Point::Start(to)).at_least(least),
                    _ => Window::new("within", Point::Start(from.min(to)), Point::End(from.max(to))).at_most(most),
                };
                problem.window(window);
            }
            problem
        },
    )
}

/// Takes the segments in the order of `keys`, each as soon as it may; no thought for what comes after.
/// Longest times are not looked at: they are what suffers.
fn as_they_come(problem: &Problem, keys: &[u32]) -> Option<BTreeMap<SegmentId, Time>> {
    let ids: Vec<SegmentId> = problem.segments().collect();
    let mut starts: BTreeMap<SegmentId, Time> = BTreeMap::new();
    let mut hands = vec![Time::MIN; problem.hands];
    while starts.len() < ids.len() {
        let open = |id: &&SegmentId| {
            let follows = id.index == 0 || starts.contains_key(&id.test.segment(id.index - 1));
            let waits =
                problem.windows.iter().filter(|window| window.at_least.is_some() && window.to.segment() == Some(**id));
            let after = waits.filter_map(|window| window.from.segment()).all(|from| starts.contains_key(&from));
            !starts.contains_key(id) && follows && after
        };
        let next = *ids.iter().filter(open).min_by_key(|id| {
            let at = ids.iter().position(|it| it == *id).unwrap();
            (keys[at % keys.len()], at)
        })?;
        let lasts = problem.segment(next).unwrap().lasts;
        let mut start = problem.tests[next.test.0].ready;
        if next.index > 0 {
            let before = next.test.segment(next.index - 1);
            let it = problem.segment(before).unwrap();
            start = start.max(starts[&before] + it.lasts + it.wait.at_least);
        }
        for window in problem.windows.iter().filter(|window| window.to == Point::Start(next)) {
            let from = match window.from {
                Point::Fixed(at) => at,
                Point::Start(id) => starts.get(&id).copied().unwrap_or(Time::MIN / 2),
                Point::End(id) => starts.get(&id).map_or(Time::MIN / 2, |at| at + problem.segment(id).unwrap().lasts),
                Point::Into(id, after) => starts.get(&id).map_or(Time::MIN / 2, |at| at + after),
            };
            start = start.max(window.at_least.map_or(Time::MIN, |least| from + least));
        }
        if lasts > 0 {
            let free = hands.iter_mut().min().unwrap();
            start = start.max(*free);
            *free = start + lasts;
        }
        starts.insert(next, start);
    }
    Some(starts)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_plan_is_what_it_says_and_no_order_is_better(
        problem in problem(1..=2),
        orders in proptest::collection::vec(proptest::collection::vec(any::<u32>(), 12), 12),
    ) {
        let Ok(plan) = plan::solve(&problem, Effort::default()) else {
            // Longest times shorter than least ones, which the generator may state.
            prop_assert!(problem.check().is_err());
            return Ok(());
        };
        prop_assert_eq!(plan.proof, Proof::Optimal);
        common::checked(&problem, &plan).map_err(TestCaseError::fail)?;
        for keys in orders.iter().chain([&vec![0], &(0..12).rev().collect()]) {
            let Some(starts) = as_they_come(&problem, keys) else { continue };
            let (late, ends) = common::judge(&problem, &starts).map_err(TestCaseError::fail)?;
            prop_assert!((plan.lateness, plan.ends) <= (late, ends), "{:?} {:?}: {late} {ends}", plan, problem);
        }
    }

    #[test]
    fn the_same_problem_has_the_same_plan(problem in problem(1..=2)) {
        prop_assert_eq!(plan::solve(&problem, Effort::default()), plan::solve(&problem, Effort::default()));
    }

    #[test]
    fn more_hands_are_never_later(problem in problem(1..=1)) {
        let more = Problem { hands: 2, ..problem.clone() };
        if let (Ok(one), Ok(two)) = (plan::solve(&problem, Effort::default()), plan::solve(&more, Effort::default())) {
            prop_assert!((two.lateness, two.ends) <= (one.lateness, one.ends));
        }
    }

    #[test]
    fn granting_is_never_later_and_lets_no_window_be_late_that_need_not_be(problem in problem(1..=2)) {
        let Ok(plain) = plan::solve(&problem, Effort::default()) else { return Ok(()) };
        let granting = plan::solve_granting(&problem, Effort::default()).unwrap();
        prop_assert_eq!(granting.proof, Proof::Optimal);
        // Beyond what no plan can save, the largest lateness is as small as it can be.
        let beyond = |plan: &plan::Plan| {
            let over = plan.windows.iter().zip(&granting.windows).map(|(hold, granted)| -hold.slack - granted.granted);
            over.max().unwrap_or(0).max(0)
        };
        prop_assert!(granting.lateness == beyond(&granting) && granting.lateness <= beyond(&plain));
        if plain.lateness == 0 {
            prop_assert_eq!((granting.lateness, granting.ends), (0, plain.ends));
        }
        if granting.windows.iter().all(|hold| hold.granted == 0) {
            prop_assert_eq!(granting.lateness, plain.lateness);
            let late = |plan: &plan::Plan| {
                let mut late: Vec<Time> = plan.windows.iter().map(|hold| (-hold.slack).max(0)).collect();
                late.sort_unstable_by_key(|late| -late);
                late.get(1).copied().unwrap_or(0)
            };
            // The second latest is no later than in a plan that only looked at the latest, if that is the same one.
            let latest = |plan: &plan::Plan| plan.late().first().map(|hold| hold.of);
            let one = plain.windows.iter().filter(|hold| -hold.slack == plain.lateness).count() == 1;
            if one && latest(&plain) == latest(&granting) {
                prop_assert!(late(&granting) <= late(&plain), "{granting:?} {plain:?}");
            }
        }
    }

    #[test]
    fn with_little_effort_the_plan_is_still_a_plan_and_claims_no_more_than_it_knows(problem in problem(1..=2)) {
        let Ok(best) = plan::solve(&problem, Effort::default()) else { return Ok(()) };
        let plan = plan::solve(&problem, Effort { nodes: 1 }).unwrap();
        common::checked(&problem, &plan).map_err(TestCaseError::fail)?;
        match plan.proof {
            Proof::Optimal => prop_assert_eq!((plan.lateness, plan.ends), (best.lateness, best.ends)),
            Proof::Lateness => prop_assert_eq!(plan.lateness, best.lateness),
            Proof::Unproven { lateness_at_least } => {
                prop_assert!(lateness_at_least <= best.lateness && best.lateness <= plan.lateness);
            }
        }
    }

    #[test]
    fn who_follows_the_plan_and_plans_again_on_the_way_ends_no_later(problem in problem(1..=2), at in 0..200i64) {
        let Ok(first) = plan::solve_granting(&problem, Effort::default()) else { return Ok(()) };
        let mut now = Now { at, ..Now::default() };
        for work in &first.work {
            if work.end <= at {
                now.done.push(Done { segment: work.at, start: work.start, end: work.end });
            } else if work.start <= at {
                now.under_way.push(UnderWay { segment: work.at, since: work.start });
            }
        }
        let again = plan::replan(&problem, &now, Effort::default()).unwrap();
        prop_assert_eq!(again.proof, Proof::Optimal);
        for hold in &again.windows {
            prop_assert_eq!(hold.slack, hold.due - hold.reached);
        }
        // What is done stays where it was, what is not begun lies ahead, and the rest of the old plan is still open to us.
        for work in &again.work {
            let old = first.at(work.at).unwrap();
            let stands = if old.start <= at { work.start == old.start } else { work.start >= at };
            prop_assert!(stands, "{work:?} {old:?}");
        }
        prop_assert!(again.ends <= first.ends || again.lateness < first.lateness, "{again:?} {first:?}");
    }
}
