//! How things stand: which planned segments are done, which is under way.
//!
//! Read off the runs. Where a run went another way than was rehearsed, the segments it has left behind count as done.

use engine::{Entry, Passed, Phase, Run, Tick};
use plan::{Done, Now, TestId, Time, UnderWay};
use procedure::ReadingKind;

use super::{Chosen, Day, Placed};

/// One test of the plan and its run.
#[derive(Copy, Clone, Debug)]
pub struct Seated<'r> {
    /// The run; `None` as long as nobody has begun it.
    pub run: Option<&'r Run>,
    /// When the last portion was in, in milliseconds on the run's own count.
    pub last_portion_ms: i64,
}

impl Seated<'_> {
    /// Whole seconds after the last portion.
    fn seconds(&self, tick: Tick) -> Time {
        (i64::try_from(tick.0).unwrap_or(i64::MAX) - self.last_portion_ms).div_euclid(1_000)
    }
}

/// How the plan stands `at` seconds after the last portion. `seats` are the tests of the plan, in its order.
pub fn stand(day: &Day, seats: &[Seated<'_>], at: Time) -> Now {
    let mut now = Now { at, ..Now::default() };
    for (test, seat) in seats.iter().enumerate().take(day.tests.len()) {
        let Some(run) = seat.run else { continue };
        // A discarded attempt is begun again from the start.
        if run.phase() == Phase::Ended {
            continue;
        }
        let is_over = run.phase() != Phase::AtStep;
        let segments = &day.tests[test].segments;
        let reached = segments.iter().rposition(|steps| steps.iter().any(|placed| is_done(run, placed)));
        for (index, steps) in segments.iter().enumerate() {
            let segment = TestId(test).segment(index);
            let start = steps.first().and_then(|first| opened(run, first)).map(|tick| seat.seconds(tick).min(at));
            let end = steps.last().and_then(|last| done(run, last)).map(|tick| seat.seconds(tick).min(at));
            let left_behind = is_over || reached.is_some_and(|reached| reached > index);
            let begun = reached == Some(index) || steps.iter().any(|placed| is_held(run, placed, at, seat));
            if let Some(end) = end.or(left_behind.then_some(at)) {
                let start = start.unwrap_or(end).min(end);
                now.done.push(Done { segment, start, end });
            } else if begun {
                now.under_way.push(UnderWay { segment, since: start.unwrap_or(at) });
            }
        }
    }
    now
}

/// What of the attempt is done.
fn passed<'r>(run: &'r Run, placed: &Placed) -> Option<&'r Passed> {
    let mut passed = run.passed().iter().rev().take_while(|passed| passed.attempt == run.attempt());
    passed.find(|passed| passed.step == placed.step && passed.round == placed.round)
}

/// When a placed step was done: a wait counts as done when it is begun, a settling reading when it is taken.
fn done(run: &Run, placed: &Placed) -> Option<Tick> {
    let passed = passed(run, placed);
    let settles = matches!(run.edition().step(placed.step).wants, procedure::Wants::Settle(_));
    if settles && (placed.begins_wait || passed.is_none()) {
        let since = opened(run, placed)?;
        let here =
            run.sets().iter().filter(|set| set.step == placed.step && set.round == placed.round && set.at >= since);
        return here.map(|set| set.at).nth((placed.set as usize).checked_sub(1)?);
    }
    if placed.begins_wait {
        let offer = run.offer(run.last().tick);
        let open = offer.step.filter(|(step, _)| *step == placed.step && offer.round == placed.round);
        return passed.and_then(|passed| passed.begun).or_else(|| open.and(offer.standing.begun));
    }
    passed.map(|passed| passed.done.tick)
}

fn is_done(run: &Run, placed: &Placed) -> bool {
    done(run, placed).is_some()
}

/// When a placed step was opened.
fn opened(run: &Run, placed: &Placed) -> Option<Tick> {
    let offer = run.offer(run.last().tick);
    let open = offer
        .step
        .filter(|(step, _)| run.phase() == Phase::AtStep && *step == placed.step && offer.round == placed.round);
    passed(run, placed).map(|passed| passed.opened.tick).or_else(|| open.map(|_| offer.standing.opened.tick))
}

/// Whether the open step is one that lasts, begun, with the hands on it.
fn is_held(run: &Run, placed: &Placed, at: Time, seat: &Seated<'_>) -> bool {
    let offer = run.offer(run.last().tick);
    let is_open = offer.step.is_some_and(|(step, _)| step == placed.step) && offer.round == placed.round;
    let begun = offer.standing.begun.filter(|begun| seat.seconds(*begun) <= at);
    run.phase() == Phase::AtStep && is_open && begun.is_some() && !placed.begins_wait
}

/// The same choice, with the answers this run has been given in its present attempt as those expected.
pub(super) fn with_answers(chosen: &Chosen, run: &Run) -> Chosen {
    let mut chosen = chosen.clone();
    for taken in run.taken_now() {
        let reading = run.edition().reading(taken.reading);
        let typed = match (&taken.entry, &reading.kind) {
            (Entry::Number(number), _) => number.to_string(),
            (Entry::Choice(at), ReadingKind::Choice(choices)) => {
                choices.get(*at as usize).map_or_else(String::new, |choice| choice.id.clone())
            }
            (Entry::Words(words), _) => words.clone(),
            (Entry::Choice(_) | Entry::One, _) => continue,
        };
        chosen.expected.insert(reading.id.clone(), typed);
    }
    chosen
}
