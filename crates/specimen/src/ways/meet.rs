//! Whether a branch came about, asked from the run.
//!
//! Nothing of the way is asked: endings, findings, starts, steps done and results say what happened, and the texts of
//! the procedure say which of them it was.

use engine::{Entry, FindingKind, Passed, Phase, Run};
use procedure::{Consequence, Ending, Part, ReadingId, StepId, Text, Wants};
use quantity::Span;

use super::field::reads;
use super::list::says;
use super::perform::Refusal;
use super::{Branch, BranchKind};

/// Whether `branch` came about in `run`.
///
/// What the procedure refused leaves no trace in a run unless the person went on with a reason: see [`meets_with`].
pub fn meets(run: &Run, branch: &Branch) -> bool {
    meets_with(run, &[], branch)
}

/// Whether `branch` came about in `run`, on which these answers were refused.
pub fn meets_with(run: &Run, refused: &[Refusal], branch: &Branch) -> bool {
    let edition = run.edition();
    let ended = |step: StepId, ending: &Ending| {
        run.endings().iter().any(|ended| {
            ended.step == step && ended.kind == ending.kind && !ended.own && fits(&ending.because, &ended.because)
        })
    };
    let noted = |step: StepId, text: &Text| {
        run.findings().iter().any(|finding| match &finding.what {
            FindingKind::Rule { text: said } => finding.step == step && fits(text, said),
            _ => false,
        })
    };
    let was_refused = |step: StepId, rule: Option<u16>, text: &Text| {
        let overruled = run.findings().iter().any(|finding| match &finding.what {
            FindingKind::Overruled { refusal, .. } => finding.step == step && fits(text, refusal),
            _ => false,
        });
        // Several rules of a step may say the same words; which of them it was is known where somebody looked.
        let is_it = |refusal: &Refusal| refusal.rule.is_none() || rule.is_none() || refusal.rule == rule;
        overruled
            || refused.iter().any(|refusal| refusal.step == step && fits(text, &refusal.because) && is_it(refusal))
    };
    let followed = |step: StepId, rule: Option<u16>, then: &Consequence| match then {
        Consequence::Refuse(text) => was_refused(step, rule, text),
        Consequence::Finding(text) => noted(step, text),
        Consequence::End(ending) => ended(step, ending),
        Consequence::Back { to, .. } => went_back(run, step, *to),
    };
    let rule_of = |step: StepId, rule: u16| edition.steps.get(usize::from(step.0))?.rules.get(usize::from(rule));
    match branch.kind {
        BranchKind::Clean => is_clean(run),
        BranchKind::Rule { step, rule } => rule_of(step, rule).is_some_and(|it| followed(step, Some(rule), &it.then)),
        BranchKind::BackTooOften { step, rule } => rule_of(step, rule).is_some_and(|rule| match &rule.then {
            Consequence::Back { otherwise, .. } => ended(step, otherwise),
            _ => false,
        }),
        BranchKind::Timed { step, too_slow } => {
            let Wants::Timed { at_least, at_most, otherwise } = &edition.step(step).wants else { return false };
            let off = |lasted: Span| if too_slow { lasted > *at_most } else { lasted < *at_least };
            let is_off = |passed: &Passed| passed.begun.is_some_and(|begun| off(passed.done.tick.since(begun)));
            run.passed().iter().any(|passed| passed.step == step && is_off(passed)) && followed(step, None, otherwise)
        }
        BranchKind::HoldTooLong { step } => run
            .findings()
            .iter()
            .any(|finding| finding.step == step && matches!(finding.what, FindingKind::HeldTooLong { .. })),
        BranchKind::DownTooLong { step } => run
            .findings()
            .iter()
            .any(|finding| finding.step == step && matches!(finding.what, FindingKind::DownTooLong { .. })),
        BranchKind::GiveUp { step } => match &edition.step(step).wants {
            Wants::Settle(settle) => ended(step, &settle.otherwise),
            _ => false,
        },
        BranchKind::RoundsDisagree { stage } => {
            let stage = &edition.stages[usize::from(stage)];
            let agree = stage.repeat.as_ref().and_then(|repeat| repeat.until_agree());
            agree.is_some_and(|agree| (stage.first.0..stage.end.0).any(|step| ended(StepId(step), &agree.otherwise)))
        }
        BranchKind::Limit { limit } => {
            let spec = &edition.limits[usize::from(limit)];
            match &spec.otherwise {
                Consequence::Finding(_) => run
                    .findings()
                    .iter()
                    .any(|finding| matches!(finding.what, FindingKind::Late { limit: passed, .. } if passed == limit)),
                other => took_longer(run, spec.from, spec.to, spec.at_most) && followed(spec.to, None, other),
            }
        }
        BranchKind::Incident { incident } => {
            let spec = &edition.incidents[usize::from(incident)];
            let during = |step: StepId| spec.during.contains(&edition.step(step).stage);
            run.endings().iter().any(|it| during(it.step) && ended(it.step, &spec.ending))
        }
        BranchKind::Again { again } => {
            run.starts().iter().any(|start| start.again.is_some_and(|begun| begun.0 == again))
        }
        BranchKind::NoChange { again } => {
            let change = edition.agains[usize::from(again)].change.as_ref();
            let steps = |reading: ReadingId| {
                let all = (0..).map(StepId).zip(&edition.steps);
                all.filter(move |(_, step)| reads(&step.wants).contains(&reading)).map(|(id, _)| id)
            };
            change.is_some_and(|change| steps(change.reading).any(|step| was_refused(step, None, &change.because)))
        }
        BranchKind::Condition { step, is_done: true } => run.passed().iter().any(|passed| passed.step == step),
        BranchKind::Condition { step, is_done: false } => was_left_out(run, step),
        BranchKind::Need { step, need } => {
            edition.step(step).needs.get(usize::from(need)).is_some_and(|need| was_refused(step, None, &need.because))
        }
        BranchKind::ResultRule { result, rule } => {
            let text = edition.results[usize::from(result)].rules.get(usize::from(rule)).and_then(|it| says(&it.then));
            // What is noted about a result is noted when all steps are behind.
            let last = u16::try_from(edition.steps.len()).unwrap_or(u16::MAX).saturating_sub(1);
            text.is_some_and(|text| is_finished(run) && noted(StepId(last), text))
        }
        BranchKind::Result { result, is_reported } => {
            let value = edition.results[usize::from(result)].value;
            is_finished(run) && run.results().iter().any(|outcome| outcome.spec.value == value) == is_reported
        }
        BranchKind::Added { step } => {
            run.taken().iter().any(|taken| taken.step == step && taken.entry == Entry::One && !taken.carried)
        }
    }
}

fn is_finished(run: &Run) -> bool {
    matches!(run.phase(), Phase::Finished | Phase::Closed { with_result: true })
}

/// A result at the first attempt, and nothing noted but what results say of themselves, such as their class.
fn is_clean(run: &Run) -> bool {
    let of_results = |said: &str| {
        let rules = run.edition().results.iter().flat_map(|spec| &spec.rules);
        rules.filter_map(|rule| says(&rule.then)).any(|text| fits(text, said))
    };
    let is_note = |kind: &FindingKind| matches!(kind, FindingKind::Rule { text } if of_results(text));
    is_finished(run) && run.endings().is_empty() && run.findings().iter().all(|finding| is_note(&finding.what))
}

/// Whether a step was done and the run then stood at an earlier one in the same round.
fn went_back(run: &Run, step: StepId, to: StepId) -> bool {
    let passed = run.passed();
    let stands = run.offer(run.last().tick).step.filter(|_| run.phase() == Phase::AtStep);
    passed.iter().enumerate().filter(|(_, done)| done.step == step).any(|(at, done)| {
        let next = match passed.get(at + 1) {
            Some(next) if next.attempt == done.attempt && next.round == done.round => Some(next.step),
            Some(_) => None,
            None => {
                let here = run.offer(run.last().tick);
                stands.map(|(id, _)| id).filter(|_| (here.attempt, here.round) == (done.attempt, done.round))
            }
        };
        next.is_some_and(|next| to <= next && next <= step)
    })
}

/// Whether the run went past a step without doing it.
fn was_left_out(run: &Run, step: StepId) -> bool {
    let edition = run.edition();
    let stage = edition.step(step).stage;
    let passed = run.passed();
    (1..).zip(run.starts()).filter(|(_, start)| start.from <= step).any(|(attempt, _)| {
        let mut here = passed.iter().filter(|done| done.attempt == attempt);
        let done_in =
            |round: u16| passed.iter().any(|done| done.attempt == attempt && done.step == step && done.round == round);
        let is_last = usize::from(attempt) == run.starts().len();
        let finished = is_last && is_finished(run);
        // A later step of the same round, or anything of a later stage, shows that it was passed by.
        here.any(|done| {
            let at = edition.step(done.step).stage;
            (at == stage && done.step > step && !done_in(done.round)) || (at > stage && !done_in(1))
        }) || (finished && !done_in(1))
    })
}

/// Whether so much lay between two steps in any attempt.
fn took_longer(run: &Run, from: StepId, to: StepId, at_most: Span) -> bool {
    run.passed().iter().filter(|done| done.step == to).any(|end| {
        let begun =
            |done: &&Passed| done.attempt == end.attempt && done.step == from && done.done.tick <= end.done.tick;
        let start = run.passed().iter().rev().find(begun);
        start.is_some_and(|start| end.done.tick.since(start.done.tick) > at_most)
    })
}

/// Whether `said` is `text` with its places filled in somehow.
pub(super) fn fits(text: &Text, said: &str) -> bool {
    let mut rest = said;
    let mut is_open = false;
    for part in &text.parts {
        let Part::Plain(plain) = part else {
            is_open = true;
            continue;
        };
        let Some(at) = rest.find(plain.as_str()).filter(|at| is_open || *at == 0) else { return false };
        rest = &rest[at + plain.len()..];
        is_open = false;
    }
    // The words a text ends with may stand in what was filled in, too.
    let ends_alike = || matches!(text.parts.as_slice(), [_, .., Part::Plain(end)] if rest.ends_with(end.as_str()));
    is_open || rest.is_empty() || ends_alike()
}
