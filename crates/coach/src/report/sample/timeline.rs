//! What was done when, for the picture on the sheet.
//!
//! The record holds when an act was done, not when the hands came to it. So the time before an act belongs to the test
//! the act belongs to, back to the act before it on any test: one pair of hands is in one place. What is longer than a
//! slow hand needs for that step is shown as nothing.
//!
//! **Invariant:** two attended stretches never overlap.

use engine::{Moment, Phase, Run, Tick};
use procedure::Wants;
use quantity::Span;
use sheet::{Block, BlockKind, Mark, Timeline, TimelineRow, WindowEnd};

use super::{Member, Source, limit_times, names, point, stamp};
use crate::rim::store::Line;

/// The longest time before an act that counts as work on it, where the procedure does not say how long it lasts.
const WORK_AT_MOST: Span = Span::from_secs(180);

pub(super) fn timeline(source: &Source<'_>) -> Timeline {
    let zero = marked(source, names::LAST_PORTION);
    let first_act = source.members.iter().filter_map(Member::run).map(Run::opened).min_by_key(|at| at.tick);
    let Some(origin) = zero.or(first_act) else { return Timeline::default() };
    let from_origin = |at: Tick| {
        let ms = i64::try_from(at.0).unwrap_or(i64::MAX) - i64::try_from(origin.tick.0).unwrap_or(i64::MAX);
        ms.div_euclid(1_000)
    };
    let mut acts: Vec<(Tick, usize)> = Vec::new();
    for (n, member) in source.members.iter().enumerate() {
        acts.extend(acts_of(member).into_iter().map(|at| (at, n)));
    }
    acts.sort_unstable();
    let rows = source.members.iter().enumerate().filter_map(|(n, member)| {
        let run = member.run()?;
        let mut blocks = Vec::new();
        for passed in run.passed() {
            let step = run.edition().step(passed.step);
            let waits = step.hands_free || matches!(step.wants, Wants::Settle(_));
            let from = passed.begun.unwrap_or(passed.opened.tick);
            if waits && passed.done.tick > from {
                let kind = kind_of(run, passed.done.tick, BlockKind::Waiting);
                blocks.push(Block { from_s: from_origin(from), to_s: from_origin(passed.done.tick), kind });
            }
        }
        for (at, before) in acts
            .iter()
            .enumerate()
            .filter(|(_, act)| act.1 == n)
            .map(|(i, act)| (act.0, i.checked_sub(1).and_then(|i| acts.get(i)).map(|act| act.0)))
        {
            let longest = longest_work(run, at);
            let from = before.unwrap_or(at).max(Tick(at.0.saturating_sub(longest.0)));
            if from < at {
                let kind = kind_of(run, at, BlockKind::Attended);
                push(&mut blocks, Block { from_s: from_origin(from), to_s: from_origin(at), kind });
            }
        }
        let windows = run.edition().limits.iter().filter(|limit| run.edition().step(limit.from).moment.is_some());
        let windows = windows.filter_map(|limit| {
            let (from, to) = limit_times(run, limit)?;
            let closes = from.tick.after(limit.at_most);
            Some(WindowEnd {
                closes_at_s: from_origin(closes),
                name: format!("{} ≤ {}", point(run.edition(), limit.to), stopwatch(limit.at_most)),
                kept: to.map(|to| to.tick <= closes),
            })
        });
        // The portions have lines of their own across all rows.
        let is_on_axis = |name: &str| [names::FIRST_PORTION, names::LAST_PORTION].contains(&name);
        let marks =
            run.edition().moments.iter().enumerate().filter(|(_, name)| !is_on_axis(name)).filter_map(|(id, name)| {
                let at = run.marked(u16::try_from(id).ok()?)?;
                Some(Mark { at_s: from_origin(at.tick), words: name.replace('-', " ") })
            });
        Some(TimelineRow {
            name: member.name.replace('-', " "),
            blocks,
            marks: marks.collect(),
            windows: windows.collect(),
        })
    });
    Timeline {
        rows: rows.collect(),
        first_portion_s: marked(source, names::FIRST_PORTION).map(|at| from_origin(at.tick)),
        zero: zero.map(stamp),
    }
}

/// A moment of the sample, as the run that marked it has it.
pub(super) fn marked(source: &Source<'_>, name: &str) -> Option<Moment> {
    source.members.iter().filter_map(Member::run).find_map(|run| {
        let id = run.edition().moments.iter().position(|moment| moment == name)?;
        run.marked(u16::try_from(id).ok()?)
    })
}

/// The moments of a run's acts, those the program made by itself included: they come at the moment of another act.
fn acts_of(member: &Member<'_>) -> Vec<Tick> {
    let Some(loaded) = member.loaded else { return Vec::new() };
    let happened = loaded.lines.iter().filter_map(|line| match line {
        Line::Happened { at, .. } => Some(Tick(at.t)),
        _ => None,
    });
    happened.collect()
}

/// A span under an hour as a stopwatch shows it: `2:30`. There is little room beside the bars.
fn stopwatch(span: Span) -> String {
    let seconds = span.0 / 1_000;
    if span.0.is_multiple_of(1_000) && (60..3_600).contains(&seconds) {
        format!("{}:{:02}", seconds / 60, seconds % 60)
    } else {
        span.to_string()
    }
}

/// How long the work on the step that was open before `at` may have taken.
fn longest_work(run: &Run, at: Tick) -> Span {
    let passed = run.passed().iter().find(|passed| passed.opened.tick <= at && at <= passed.done.tick);
    let lasts = passed.and_then(|passed| run.edition().step(passed.step).lasts.as_ref());
    lasts.map_or(WORK_AT_MOST, |lasts| Span(lasts.slow.0.saturating_mul(2).max(60_000)))
}

/// What lies in an attempt without a result was thrown away.
fn kind_of(run: &Run, at: Tick, otherwise: BlockKind) -> BlockKind {
    let ended_after = run.endings().iter().any(|ended| at <= ended.at.tick);
    let has_result = matches!(run.phase(), Phase::AtStep | Phase::Finished | Phase::Closed { with_result: true });
    if ended_after || (!has_result && !run.endings().is_empty()) { BlockKind::Discarded } else { otherwise }
}

/// Adds a stretch, as one with the last if it goes on from there.
fn push(blocks: &mut Vec<Block>, block: Block) {
    match blocks.last_mut() {
        Some(last) if last.kind == block.kind && last.to_s >= block.from_s && last.from_s <= block.from_s => {
            last.to_s = last.to_s.max(block.to_s);
        }
        _ => blocks.push(block),
    }
}
