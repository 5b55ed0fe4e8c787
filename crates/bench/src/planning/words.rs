//! A plan in plain words, and as a timeline for a screen.

use plan::{Hold, Mend, Proof, SegmentId, Time, WindowOf};
use quantity::Span;

use super::{DayPlan, Pace};

/// A moment after the last portion as a clock shows it: `+2:30`; before it, `-0:20`.
pub fn clock(at: Time) -> String {
    let sign = if at < 0 { '-' } else { '+' };
    format!("{sign}{}", Span::from_secs(at.unsigned_abs()).clock())
}

/// A length in words: `2 min 30 s`.
fn length(span: Time) -> String {
    Span::from_secs(span.unsigned_abs()).to_string()
}

fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn hands(count: usize) -> String {
    match count {
        1 => "One pair of hands".to_owned(),
        2 => "Two pairs of hands".to_owned(),
        more => format!("{more} pairs of hands"),
    }
}

/// The plan in sentences, one a line: whether it can be done, the order with times from the last portion, where the
/// hands are free, what is left of every window, and if one breaks, by how much and what would mend it.
pub fn explain(planned: &DayPlan) -> Vec<String> {
    let mut lines = vec![verdict(planned)];
    lines.extend(breaks(planned));
    lines.extend(mends(planned));
    lines.extend(preparation(planned));
    lines.extend(order(planned));
    lines.extend(windows(planned));
    lines.extend(doubts(planned));
    lines
}

fn pace(planned: &DayPlan) -> &'static str {
    match planned.day.pace {
        Pace::Typical => "at the usual pace",
        Pace::Slow => "at a slow pace",
    }
}

fn verdict(planned: &DayPlan) -> String {
    let (problem, plan) = (&planned.day.problem, &planned.told.plan);
    if problem.tests.is_empty() {
        return "No test is chosen: there is nothing to plan.".to_owned();
    }
    let tests = list(&problem.tests.iter().map(|test| test.name.clone()).collect::<Vec<_>>());
    let who = hands(problem.hands);
    let can = if planned.told.broken.is_empty() { "can" } else { "cannot" };
    let ends = format!("The work ends at {}.", clock(plan.ends));
    format!("{who} {can} do {tests} inside every window {}. {ends}", pace(planned))
}

fn breaks(planned: &DayPlan) -> Vec<String> {
    let broken = planned.told.broken.iter().map(|it| {
        let name = window_name(planned, it.of);
        let alone = match it.alone {
            0 => String::new(),
            alone if alone == it.by => {
                " No number of hands keeps it: the work up to its end takes too long.".to_owned()
            }
            alone => format!(" No number of hands makes it less than {} late.", length(alone)),
        };
        format!("This window breaks by {}: {name}.{alone}", length(it.by))
    });
    broken.collect()
}

fn mends(planned: &DayPlan) -> Vec<String> {
    let told = &planned.told;
    let test = |id: plan::TestId| planned.day.problem.tests.get(id.0).map_or("?", |test| &test.name);
    let mut lines: Vec<String> = Vec::new();
    let takes_sample = |mend: &Mend| match mend {
        Mend::LeaveOut(id) => planned.day.tests.get(id.0).is_some_and(|test| test.takes_sample),
        Mend::MoreHands | Mend::TypicalPace => false,
    };
    for trial in told.mends().filter(|trial| !takes_sample(&trial.mend)) {
        lines.push(match trial.mend {
            Mend::MoreHands => format!("A second pair of hands would mend it: the work ends at {}.", clock(trial.ends)),
            Mend::LeaveOut(id) => {
                let name = test(id);
                format!("Without {name} it can be done: leave {name} out, or do it on another sample.")
            }
            Mend::TypicalPace => format!("At the usual pace it can be done: the work ends at {}.", clock(trial.ends)),
        });
    }
    if planned.day.problem.hands > 1 {
        lines.iter_mut().for_each(|line| *line = line.replace("A second pair", "One more pair"));
    }
    if lines.is_empty() && !told.trials.is_empty() {
        // The change that helps most, if nothing mends it.
        if let Some(best) = told
            .trials
            .iter()
            .filter(|trial| !takes_sample(&trial.mend))
            .min_by_key(|trial| (trial.lateness, trial.late))
        {
            let change = match best.mend {
                Mend::MoreHands => "one more pair of hands".to_owned(),
                Mend::LeaveOut(id) => format!("leaving {} out", test(id)),
                Mend::TypicalPace => "the usual pace".to_owned(),
            };
            let left = length(best.lateness);
            lines.push(format!(
                "No single change mends it. What helps most is {change}: then the latest window breaks by {left}."
            ));
        }
    }
    lines
}

fn preparation(planned: &DayPlan) -> Option<String> {
    let prepared = planned.day.tests.iter().filter(|test| test.preparation > 0);
    let each: Vec<String> =
        prepared.clone().map(|test| format!("{} {}", test.name, length(test.preparation))).collect();
    let all: Time = prepared.map(|test| test.preparation).sum();
    (!each.is_empty()).then(|| {
        let all = if each.len() > 1 { format!(", {} in all", length(all)) } else { String::new() };
        format!("To be done before the last portion is in: {}{all}.", list(&each))
    })
}

fn segment_name(planned: &DayPlan, id: SegmentId) -> String {
    let problem = &planned.day.problem;
    let test = problem.tests.get(id.test.0).map_or("?", |test| &test.name);
    match problem.tests.get(id.test.0).map_or(0, |test| test.segments.len()) {
        1 => test.to_owned(),
        _ => format!("{test}: {}", problem.segment(id).map_or("?", |segment| &segment.name)),
    }
}

/// What a window is called; the longest wait after a segment has no name of its own.
fn window_name(planned: &DayPlan, of: WindowOf) -> String {
    match of {
        WindowOf::Stated(_) => planned.day.problem.name_of(of),
        WindowOf::Wait(id) => {
            let problem = &planned.day.problem;
            let test = problem.tests.get(id.test.0).map_or("?", |test| &test.name);
            format!("{test}: longest wait after {}", problem.segment(id).map_or("?", |segment| &segment.name))
        }
    }
}

/// Work and free hands, in the order of time.
fn order(planned: &DayPlan) -> Vec<String> {
    let plan = &planned.told.plan;
    let several = planned.day.problem.hands > 1;
    let mut lines: Vec<(Time, Time, String)> = Vec::new();
    for work in plan.work.iter().filter(|work| work.end > work.start) {
        let whose = match work.hands {
            Some(hands) if several => format!(" (hands {})", hands + 1),
            _ => String::new(),
        };
        let name = segment_name(planned, work.at);
        lines.push((work.start, work.end, format!("{} to {}  {name}{whose}", clock(work.start), clock(work.end))));
    }
    for pair in 0..planned.day.problem.hands {
        let whose = if several { format!(" {}", pair + 1) } else { String::new() };
        for (from, to) in plan.free(pair) {
            let free = format!("{} to {}  hands{whose} free for {}", clock(from), clock(to), length(to - from));
            lines.push((from, to, free));
        }
    }
    lines.sort();
    lines.into_iter().map(|(_, _, line)| line).collect()
}

fn windows(planned: &DayPlan) -> Vec<String> {
    let line = |hold: &Hold| {
        let name = window_name(planned, hold.of);
        let what = match hold.slack {
            0 => "nothing left".to_owned(),
            slack if slack > 0 => format!("{} left", length(slack)),
            late => format!("{} late", length(late)),
        };
        format!("{name}: by {}, planned for {}, {what}.", clock(hold.due), clock(hold.reached))
    };
    planned.told.plan.windows.iter().map(line).collect()
}

fn doubts(planned: &DayPlan) -> Vec<String> {
    let mut lines = Vec::new();
    for test in &planned.day.tests {
        if let Some(step) = &test.guessed_from {
            lines.push(format!(
                "{}: which steps follow from {step} on is guessed; state the answers you expect.",
                test.name
            ));
        }
        if !test.without_length.is_empty() {
            let steps = list(&test.without_length);
            lines.push(format!("{}: no length is stated for {steps}; they count as no time.", test.name));
        }
    }
    match planned.told.plan.proof {
        Proof::Optimal => {}
        Proof::Lateness => lines.push("An earlier end was not ruled out in the time allowed for planning.".to_owned()),
        Proof::Unproven { lateness_at_least: 0 } => {
            lines.push("A plan that keeps every window was not ruled out in the time allowed for planning.".to_owned());
        }
        Proof::Unproven { lateness_at_least } => {
            let least = length(lateness_at_least);
            lines.push(format!("A better plan was not ruled out; every plan is late by {least} at least."));
        }
    }
    lines
}

/// A plan as rows of blocks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Timeline {
    /// One row a test, in the order they were chosen.
    pub rows: Vec<Row>,
    /// The first moment shown, in seconds after the last portion; never after it.
    pub from: Time,
    /// The last moment shown: the end of all work, and of every window.
    pub to: Time,
}

/// The row of one test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// What the test is called.
    pub name: String,
    /// Its work and its waits, in the order of time.
    pub blocks: Vec<Block>,
    /// The windows that end in this test: when each closes, and whether it is kept.
    pub closes: Vec<(Time, bool)>,
}

/// A stretch of a row.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// From, in seconds after the last portion.
    pub from: Time,
    /// To.
    pub to: Time,
    /// What it is.
    pub kind: BlockKind,
}

/// What a stretch of a row is.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum BlockKind {
    /// Hands are on it.
    Attended,
    /// It waits without hands.
    Waiting,
}

/// The plan as a timeline.
pub fn timeline(planned: &DayPlan) -> Timeline {
    let (problem, plan) = (&planned.day.problem, &planned.told.plan);
    let rows = problem.tests.iter().enumerate().map(|(at, test)| {
        let mut blocks: Vec<Block> = Vec::new();
        for work in plan.work.iter().filter(|work| work.at.test.0 == at) {
            if let Some(before) = blocks.last().map(|block| block.to).filter(|before| *before < work.start) {
                blocks.push(Block { from: before, to: work.start, kind: BlockKind::Waiting });
            }
            blocks.push(Block { from: work.start, to: work.end, kind: BlockKind::Attended });
        }
        let ends_here = |hold: &&Hold| match hold.of {
            plan::WindowOf::Stated(index) => {
                let to = problem.windows.get(index).and_then(|window| window.to.segment());
                to.is_some_and(|segment| segment.test.0 == at)
            }
            plan::WindowOf::Wait(segment) => segment.test.0 == at,
        };
        let closes = plan.windows.iter().filter(ends_here).map(|hold| (hold.due, hold.slack >= 0)).collect();
        Row { name: test.name.clone(), blocks, closes }
    });
    let rows: Vec<Row> = rows.collect();
    let moments = rows.iter().flat_map(|row| {
        row.blocks.iter().flat_map(|block| [block.from, block.to]).chain(row.closes.iter().map(|(due, _)| *due))
    });
    let (from, to) = moments.fold((0, 0), |(from, to), moment| (from.min(moment), to.max(moment)));
    Timeline { rows, from, to }
}
