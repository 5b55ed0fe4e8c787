//! A checker of plans that shares nothing with the search: it reads the problem and looks.

#![allow(dead_code, reason = "each test file uses its own part")]
#![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::collections::BTreeMap;

use plan::{Plan, Point, Problem, SegmentId, Time, WindowOf};

/// The largest lateness and the end of a set of starts, or what is wrong with them.
pub fn judge(problem: &Problem, starts: &BTreeMap<SegmentId, Time>) -> Result<(Time, Time), String> {
    let lasts = |id: SegmentId| problem.segment(id).unwrap().lasts;
    let moment = |point: Point| match point {
        Point::Fixed(at) => at,
        Point::Start(id) => starts[&id],
        Point::End(id) => starts[&id] + lasts(id),
        Point::Into(id, after) => starts[&id] + after,
    };
    let mut late = 0;
    let mut end = Time::MIN;
    for (index, test) in problem.tests.iter().enumerate() {
        let id = |at: usize| plan::TestId(index).segment(at);
        for (at, segment) in test.segments.iter().enumerate() {
            let start = *starts.get(&id(at)).ok_or("a segment is missing")?;
            if start < test.ready {
                return Err(format!("{} begins before it may", test.name));
            }
            end = end.max(start + segment.lasts);
            if at + 1 < test.segments.len() {
                let waited = starts[&id(at + 1)] - start - segment.lasts;
                if waited < segment.wait.at_least {
                    return Err(format!("{} waits {waited}, too short", test.name));
                }
                late = late.max(segment.wait.at_most.map_or(0, |most| waited - most));
            }
        }
    }
    for window in &problem.windows {
        let took = moment(window.to) - moment(window.from);
        if window.at_least.is_some_and(|least| took < least) {
            return Err(format!("{} took {took}, too short", window.name));
        }
        late = late.max(window.at_most.map_or(0, |most| took - most));
    }
    // At every start: how many pairs of hands are at work.
    let held: Vec<(Time, Time)> =
        starts.iter().filter(|(id, _)| lasts(**id) > 0).map(|(id, start)| (*start, start + lasts(*id))).collect();
    for (moment, _) in &held {
        let busy = held.iter().filter(|(from, to)| from <= moment && moment < to).count();
        if busy > problem.hands {
            return Err(format!("at {moment} there is work for {busy} pairs of hands"));
        }
    }
    Ok((late, end))
}

/// Checks everything a plan says of itself.
pub fn checked(problem: &Problem, plan: &Plan) -> Result<(), String> {
    let starts: BTreeMap<SegmentId, Time> = plan.work.iter().map(|work| (work.at, work.start)).collect();
    if starts.len() != plan.work.len() || starts.len() != problem.segments().count() {
        return Err("a segment is planned twice or not at all".to_owned());
    }
    let (late, end) = judge(problem, &starts)?;
    if (late, end) != (plan.lateness, plan.ends) {
        return Err(format!("it says {} late, ends {}; it is {late} late, ends {end}", plan.lateness, plan.ends));
    }
    for work in &plan.work {
        let lasts = problem.segment(work.at).unwrap().lasts;
        if work.end - work.start != lasts || work.hands.is_some() != (lasts > 0) {
            return Err("a segment has another length, or nobody's hands".to_owned());
        }
    }
    for (at, one) in plan.work.iter().enumerate() {
        for other in &plan.work[at + 1..] {
            if one.hands.is_some() && one.hands == other.hands && one.start < other.end && other.start < one.end {
                return Err("a pair of hands does two things at once".to_owned());
            }
        }
    }
    // Every longest time is accounted for, with its slack.
    let waits = problem.segments().filter(|id| {
        id.index + 1 < problem.tests[id.test.0].segments.len() && problem.segment(*id).unwrap().wait.at_most.is_some()
    });
    let stated = problem.windows.iter().filter(|window| window.at_most.is_some()).count();
    if plan.windows.len() != stated + waits.count() {
        return Err("a window is missing".to_owned());
    }
    for hold in &plan.windows {
        let moment = |point: Point| match point {
            Point::Fixed(at) => at,
            Point::Start(id) => starts[&id],
            Point::End(id) => starts[&id] + problem.segment(id).unwrap().lasts,
            Point::Into(id, after) => starts[&id] + after,
        };
        let (opens, most, reached) = match hold.of {
            WindowOf::Stated(index) => {
                let window = &problem.windows[index];
                (moment(window.from), window.at_most.unwrap(), moment(window.to))
            }
            WindowOf::Wait(id) => {
                let next = id.test.segment(id.index + 1);
                (moment(Point::End(id)), problem.segment(id).unwrap().wait.at_most.unwrap(), starts[&next])
            }
        };
        if (hold.opens, hold.due, hold.reached, hold.slack) != (opens, opens + most, reached, opens + most - reached) {
            return Err(format!("the slack of {} is told wrong", problem.name_of(hold.of)));
        }
    }
    Ok(())
}
