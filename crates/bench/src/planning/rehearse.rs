//! A rehearsal: the steps a test will very likely have, found by running the procedure with likely answers.
//!
//! What is rodded or vibrated, how many layers there are, whether a step is left out: the procedure itself
//! knows, once it has its answers. So a run is performed in no time, with the answers the caller expects and,
//! where none is expected, with answers that lead on: the first choice that does, a number from the middle of
//! the instrument. Nothing of it is kept but the order of the steps.
//!
//! **Invariant:** a rehearsal always ends, and says where it had to guess that the rest is as the file stands.

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::{Act, Entry, Event, Moment, Phase, Run, Tick};
use procedure::{Edition, ReadingId, ReadingKind, StepId, Wants};
use quantity::{Decimal, Ties};

/// Acts one rehearsal may have, and ways it may turn back to, before the rest is guessed.
const ACTS_AT_MOST: usize = 2_000;
const TURNS_AT_MOST: usize = 400;

/// One step of a rehearsed test.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) struct Beat {
    pub step: StepId,
    /// Of a repeated stage, from 1.
    pub round: u16,
    /// How many sets of readings it takes; 1 for what does not settle.
    pub sets: u32,
}

/// The steps in their order, and the step from which on they are guessed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Rehearsal {
    pub beats: Vec<Beat>,
    pub guessed_from: Option<StepId>,
}

/// Runs `edition` with what is `expected`: answers as typed, by the name of the reading or its shared name.
pub(super) fn rehearse(edition: &Arc<Edition>, expected: &BTreeMap<String, String>) -> Rehearsal {
    let mut run = Run::open(edition.clone(), Ties::Even, Moment::default());
    let mut now = Tick(0);
    // Where another answer could have been given, with the answers not tried yet.
    let mut forks: Vec<(Run, Tick, Vec<Event>)> = Vec::new();
    let mut furthest = run.clone();
    let mut turns = 0;
    for _ in 0..ACTS_AT_MOST {
        match run.phase() {
            Phase::Finished | Phase::Closed { .. } => {
                return Rehearsal { beats: beats(&run), guessed_from: None };
            }
            Phase::AtStep => {
                if run.passed().len() > furthest.passed().len() {
                    furthest = run.clone();
                }
                if let Some(mut ways) = ways(&run, &mut now, expected) {
                    if let Some(first) = ways.pop() {
                        if !ways.is_empty() {
                            forks.push((run.clone(), now, ways));
                        }
                        if run.apply(first, at(now)).is_ok() {
                            continue;
                        }
                    }
                } else if act(&mut run, &mut now) {
                    continue;
                }
            }
            Phase::Ended => {}
        }
        // A dead end: the latest answer that could have been another.
        turns += 1;
        let Some((fork, then, mut ways)) = forks.pop().filter(|_| turns < TURNS_AT_MOST) else { break };
        (run, now) = (fork, then);
        if let Some(way) = ways.pop() {
            let before = run.clone();
            if run.apply(way, at(now)).is_err() {
                run = before;
            }
            forks.push((run.clone(), now, ways));
            forks.retain(|(_, _, ways)| !ways.is_empty());
        }
    }
    guess(edition, &furthest)
}

fn at(tick: Tick) -> Moment {
    Moment { tick, ..Moment::default() }
}

/// The answers the open step may take, the likeliest last; `None` if it asks for none now.
fn ways(run: &Run, now: &mut Tick, expected: &BTreeMap<String, String>) -> Option<Vec<Event>> {
    let offer = run.offer(*now);
    let Act::Answer(reading) = offer.act else { return None };
    let (step, _) = offer.step?;
    *now = Tick(now.0 + 500);
    let mut ranked: Vec<(u8, usize, Event)> = Vec::new();
    for (place, entry) in entries(run, reading, expected).into_iter().enumerate() {
        let event = Event::Answer { step, reading, entry, seen: *now, despite: None };
        let mut tried = run.clone();
        if tried.apply(event.clone(), at(*now)).is_err() {
            continue;
        }
        let onward = tried.offer(*now).step.is_none_or(|(next, _)| next >= step);
        let rank = match (tried.phase(), onward, tried.findings().len() > run.findings().len()) {
            (Phase::Ended, _, _) => 3,
            (_, false, _) => 2,
            (_, _, true) => 1,
            _ => 0,
        };
        ranked.push((rank, place, event));
    }
    ranked.sort_by_key(|(rank, place, _)| std::cmp::Reverse((*rank, *place)));
    Some(ranked.into_iter().map(|(_, _, event)| event).collect())
}

/// What might be answered, the likeliest first.
fn entries(run: &Run, reading: ReadingId, expected: &BTreeMap<String, String>) -> Vec<Entry> {
    let spec = run.edition().reading(reading);
    let wanted = expected.get(&spec.id).or_else(|| expected.get(spec.shared.as_ref()?));
    let mut entries = Vec::new();
    match &spec.kind {
        ReadingKind::Number(scale) => {
            entries.extend(wanted.and_then(|typed| scale.read(typed).ok()).map(Entry::Number));
            // What stands still is read twice alike.
            entries.extend(run.latest(reading).map(|taken| taken.entry.clone()));
            let marks = (scale.max - scale.min).checked_div(scale.step).unwrap_or_default().floor();
            for percent in [50, 0, 100, 25, 75, 10, 90, 5, 35, 65] {
                let mark = (marks * Decimal::new(percent, 2)).floor();
                entries.push(Entry::Number(scale.min + mark * scale.step));
            }
        }
        ReadingKind::Choice(choices) => {
            let at = wanted.and_then(|id| choices.iter().position(|choice| choice.id == **id));
            entries.extend(at.into_iter().chain(0..choices.len()).map(|at| Entry::Choice(at as u16)));
        }
        ReadingKind::Words => entries.push(Entry::Words(wanted.map_or("as planned", |words| words).to_owned())),
        ReadingKind::Tally { .. } => entries.push(Entry::One),
    }
    entries
}

/// Does what is to be done, as it should be. False if that cannot be done.
fn act(run: &mut Run, now: &mut Tick) -> bool {
    let offer = run.offer(*now);
    let Some((_, step)) = offer.step else { return false };
    let later = match (&offer.act, &step.wants) {
        (Act::Wait { until }, _) => *until,
        (Act::Confirm, Wants::Timed { at_least, at_most, .. }) => {
            let middle = at_least.0 + at_most.0.saturating_sub(at_least.0) / 2;
            offer.standing.begun.map_or(*now, |begun| Tick(begun.0 + middle))
        }
        (Act::Turn { to_down: false }, Wants::Hold { turns: Some(turns), .. }) => {
            Tick(now.0 + turns.down_at_most.0.saturating_sub(500).max(1))
        }
        _ => Tick(now.0 + 500),
    };
    let waits = matches!(offer.act, Act::Wait { .. });
    *now = later.max(*now);
    match run.press(*now) {
        Some(event) => run.apply(event, at(*now)).is_ok(),
        // A reading that was not due yet is due now.
        None => waits,
    }
}

fn beats(run: &Run) -> Vec<Beat> {
    let last = run.attempt();
    let passed = run.passed().iter().filter(|passed| passed.attempt == last);
    let sets = |step: StepId, round: u16| {
        let sets = run.sets().iter().filter(|set| set.step == step && set.round == round).count();
        u32::try_from(sets).unwrap_or(u32::MAX).max(1)
    };
    passed.map(|it| Beat { step: it.step, round: it.round, sets: sets(it.step, it.round) }).collect()
}

/// What was rehearsed, then every step that has no condition.
fn guess(edition: &Edition, furthest: &Run) -> Rehearsal {
    let mut beats = beats(furthest);
    let open = furthest.offer(furthest.last().tick).step.map_or(StepId(0), |(step, _)| step);
    for (at, step) in edition.steps.iter().enumerate().skip(open.0 as usize) {
        let id = StepId(at as u16);
        if id == open || step.when.is_none() {
            let sets = if matches!(step.wants, Wants::Settle(_)) { 2 } else { 1 };
            beats.push(Beat { step: id, round: 1, sets });
        }
    }
    Rehearsal { beats, guessed_from: Some(open) }
}
