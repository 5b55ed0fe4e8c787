//! What one run has found out and another asks for: moments of the sample, and facts with a shared name.
//!
//! **Invariant:** nothing is told that the run would refuse, and nothing that a person has just taken back or is about
//! to type.

use std::collections::BTreeMap;

use engine::{Act, Entry, Event, Moment, Outcome, Phase, Run, Tick};
use procedure::{Edition, Reading, ReadingKind, StepId, Wants};
use quantity::Unit;

use super::Seat;
use crate::fact::{Fact, Facts};

/// Who has marked a moment of the sample, and when it was.
///
/// If several have, it is the one whose acts lead up to it; else the earliest counts, so that no limit becomes longer.
pub fn marked(seats: &[Seat<'_>], moment: &str) -> Option<(usize, Moment)> {
    let marks = seats.iter().enumerate().filter_map(|(n, seat)| {
        let id = seat.moment_id(moment)?;
        Some((n, !leads_to(seat.edition, id), marked_in(seat.run?, id)?))
    });
    marks.min_by_key(|(n, only_notes, at)| (*only_notes, at.tick, *n)).map(|(n, _, at)| (n, at))
}

/// When a run marked a moment by a step of its own, in whatever attempt: the sample stays the same.
fn marked_in(run: &Run, moment: u16) -> Option<Moment> {
    let marks = |step: StepId| run.edition().step(step).moment == Some(moment);
    run.passed().iter().rev().find(|passed| marks(passed.step)).map(|passed| passed.done)
}

/// Whether the acts of a procedure lead up to a moment: it marks another one before. The sampling leads from the first
/// portion to the last; a test for which the last portion comes first only takes note of it.
fn leads_to(edition: &Edition, moment: u16) -> bool {
    let mut marks = edition.steps.iter().filter_map(|step| step.moment);
    marks.next().is_some_and(|first| first != moment) && edition.steps.iter().any(|step| step.moment == Some(moment))
}

/// The run whose act the open step of run `n` waits for: the step marks a moment of the sample, and another run is
/// there to lead up to it. The person marks it there; here it is left out as soon as that has happened.
pub fn waits_for(seats: &[Seat<'_>], n: usize) -> Option<usize> {
    let seat = seats.get(n)?;
    let run = seat.at_step()?;
    let (step, _) = run.offer(run.last().tick).step?;
    let moment = seat.moment_of(step)?;
    let own = seat.moment_id(moment)?;
    if leads_to(seat.edition, own) || marked(seats, moment).is_some() {
        return None;
    }
    seats.iter().enumerate().position(|(other, seat)| {
        let leads = seat.moment_id(moment).is_some_and(|id| leads_to(seat.edition, id));
        // An attempt that has ended leads nowhere; a run nobody has begun still may.
        let is_there = seat.run.is_none_or(|run| run.phase() == Phase::AtStep);
        other != n && leads && is_there
    })
}

/// What is known of the sample: what the site file states, then what the runs have read, then their results. Of two
/// readings with one name the later counts. `but_not` leaves one run out.
pub fn pool(seats: &[Seat<'_>], facts: &Facts, but_not: Option<usize>) -> Facts {
    let mut known = facts.clone();
    let others = || seats.iter().enumerate().filter(|(n, _)| Some(*n) != but_not).filter_map(|(_, seat)| seat.run);
    let mut read: Vec<_> = others()
        .flat_map(|run| {
            run.taken().iter().filter(|taken| taken.attempt == run.attempt()).map(move |taken| (run, taken))
        })
        .collect();
    read.sort_by_key(|(_, taken)| taken.at.tick);
    for (run, taken) in read {
        let reading = run.edition().reading(taken.reading);
        if let (Some(name), Some(fact)) = (&reading.shared, fact_of(reading, &taken.entry)) {
            known.insert(name.clone(), fact);
        }
    }
    let mut done: Vec<&Run> = others().collect();
    done.sort_by_key(|run| run.last().tick);
    for outcome in done.into_iter().flat_map(Run::standing_results) {
        if let Some(name) = &outcome.spec.shared {
            known.insert(name.clone(), fact_of_result(&outcome));
        }
    }
    known
}

/// What a run states under shared names in its present attempt, and since when: its readings, then its results.
pub(super) fn stated(run: &Run) -> BTreeMap<String, (Fact, Tick)> {
    let mut stated = BTreeMap::new();
    for taken in run.taken().iter().filter(|taken| taken.attempt == run.attempt()) {
        let reading = run.edition().reading(taken.reading);
        if let (Some(name), Some(fact)) = (&reading.shared, fact_of(reading, &taken.entry)) {
            stated.insert(name.clone(), (fact, taken.at.tick));
        }
    }
    for outcome in run.standing_results() {
        if let Some(name) = &outcome.spec.shared {
            stated.insert(name.clone(), (fact_of_result(&outcome), run.last().tick));
        }
    }
    stated
}

fn fact_of_result(outcome: &Outcome<'_>) -> Fact {
    let shown = outcome.reported.to_string();
    let value = shown.split(' ').next().unwrap_or(&shown).to_owned();
    Fact::Number { value, unit: outcome.reported.unit.symbol() }
}

fn fact_of(reading: &Reading, entry: &Entry) -> Option<Fact> {
    match (entry, &reading.kind) {
        (Entry::Words(words), _) => Some(Fact::Words(words.clone())),
        (Entry::Number(value), _) => Some(Fact::Number { value: value.to_string(), unit: reading.unit().symbol() }),
        (Entry::Choice(at), ReadingKind::Choice(choices)) => {
            choices.get(*at as usize).map(|choice| Fact::Choice(choice.id.clone()))
        }
        (Entry::Choice(_) | Entry::One, _) => None,
    }
}

/// A fact as the answer to a reading; `None` if it is of another kind or unit, or off the scale. Nothing is converted.
fn entry_of(reading: &Reading, fact: &Fact) -> Option<Entry> {
    match (&reading.kind, fact) {
        (ReadingKind::Words, Fact::Words(words)) => Some(Entry::Words(words.clone())),
        (ReadingKind::Number(scale), Fact::Number { value, unit }) => {
            let stated = if unit.is_empty() { Unit::NONE } else { Unit::parse(unit).ok()? };
            (stated == scale.unit).then(|| scale.read(value).ok()).flatten().map(Entry::Number)
        }
        (ReadingKind::Choice(choices), Fact::Choice(id)) => {
            choices.iter().position(|choice| choice.id == *id).map(|at| Entry::Choice(at as u16))
        }
        _ => None,
    }
}

/// What follows in each run from what stands in the others and in `facts`: at most one event for each run, in the order
/// of the seats. The caller hands each to its run and asks again until nothing follows.
///
/// * A moment that another run has marked, or an attempt before, is told, and told again when it has changed.
/// * An open reading with a shared name is answered, if the fact fits its scale. It is not while `is_typing` says that the
///   person is entering it, nor after the answer has been taken back: then it is asked.
/// * A run that reports a fact itself is not told it by another: a second slump test reads its own slump.
pub fn told(seats: &[Seat<'_>], facts: &Facts, now: Moment, is_typing: impl Fn(usize) -> bool) -> Vec<(usize, Event)> {
    let mut events = Vec::new();
    for (n, seat) in seats.iter().enumerate() {
        let Some(run) = seat.run else { continue };
        let event = moment_to_tell(seats, run)
            .or_else(|| if is_typing(n) { None } else { answer_to_give(seats, facts, n, run, now) });
        events.extend(event.filter(|event| run.would_refuse(event.clone(), now).is_none()).map(|event| (n, event)));
    }
    events
}

fn moment_to_tell(seats: &[Seat<'_>], run: &Run) -> Option<Event> {
    (0u16..).zip(&run.edition().moments).find_map(|(moment, name)| {
        if run.marked(moment).is_some() {
            return None;
        }
        // It may be this run itself, in an attempt before: the next one is on the same sample.
        let (_, at) = marked(seats, name)?;
        (run.known(moment) != Some(at)).then_some(Event::Known { moment, at })
    })
}

fn answer_to_give(seats: &[Seat<'_>], facts: &Facts, n: usize, run: &Run, now: Moment) -> Option<Event> {
    let offer = run.offer(now.tick);
    let (step, spec) = offer.step?;
    let (Wants::Read(_), Act::Answer(reading), false) = (&spec.wants, offer.act, run.can_redo()) else { return None };
    let asked = run.edition().reading(reading);
    let name = asked.shared.as_ref()?;
    if run.edition().results.iter().any(|result| result.shared.as_ref() == Some(name)) {
        return None;
    }
    let known = pool(seats, facts, Some(n));
    let entry = entry_of(asked, known.get(name)?)?;
    Some(Event::Answer { step, reading, entry, seen: now.tick, despite: None })
}
