//! What each attempt of a run brought: readings, settling, durations, counts, its end.

use engine::{Entry, Run, Taken, wire};
use procedure::{EndingKind, ReadingKind, StepId, Wants};
use quantity::{Exact, Span};
use serde::Serialize;

use super::Time;
use crate::line::{settle_unit, with_unit};

/// One attempt.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Attempt {
    /// From 1.
    pub number: u16,
    /// When it was begun.
    pub begun: Time,
    /// How it ended without a result, if it did.
    pub ended: Option<Ended>,
    /// Readings, observations and names, settling readings excepted.
    pub readings: Vec<Read>,
    /// Settling, round after round.
    pub rounds: Vec<Round>,
    /// What lasted.
    pub lasted: Vec<Lasted>,
    /// What was counted.
    pub counted: Vec<Counted>,
    /// How many acts were confirmed by a press.
    pub confirmed: usize,
}

/// How an attempt ended without a result.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Ended {
    /// `discarded` or `void`.
    pub kind: &'static str,
    /// When.
    pub time: Time,
    /// At which step.
    pub step: String,
    /// Why.
    pub because: String,
    /// Whether it was the person's own decision.
    pub own_decision: bool,
}

/// A reading, an observation or a name.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Read {
    /// By which it is corrected.
    pub number: u32,
    /// When.
    pub time: Time,
    /// At which step.
    pub step: String,
    /// Which.
    pub reading: String,
    /// The question.
    pub asked: String,
    /// A number as exact text, the id of a choice, words.
    pub value: String,
    /// Its unit.
    pub unit: Option<String>,
    /// As a person reads it.
    pub shown: String,
    /// Whether it was carried over from the attempt before.
    pub carried: bool,
}

/// One round of a repeated stage.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Round {
    /// From 1.
    pub number: u16,
    /// Its settling readings.
    pub sets: Vec<SetRead>,
    /// The value it came to, if it was completed.
    pub value: Option<String>,
    /// By how much that differs from the round before.
    pub change: Option<String>,
    /// The unit of both.
    pub unit: String,
    /// Whether it agrees with the round before.
    pub agrees: Option<bool>,
}

/// One settling reading with what was read beside it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SetRead {
    /// When.
    pub time: Time,
    /// The readings: name and value as a person reads it.
    pub readings: Vec<(String, String)>,
    /// What was added on a tally before it, since the reading before.
    pub added: Vec<String>,
    /// The value compared; none if the set is not complete.
    pub value: Option<String>,
    /// By how much it differs from the set before.
    pub change: Option<String>,
    /// The unit of both.
    pub unit: String,
    /// Whether it stood still.
    pub steady: bool,
}

/// Something that lasted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Lasted {
    /// When it was ended.
    pub time: Time,
    /// Which step.
    pub step: String,
    /// In which round.
    pub round: u16,
    /// How long, in milliseconds.
    pub lasted_ms: u64,
    /// The least asked, in milliseconds.
    pub at_least_ms: u64,
    /// The position with a limit, if it has one.
    pub position: Option<String>,
    /// How often that was taken.
    pub n_turns: u32,
    /// The longest time in it, in milliseconds.
    pub longest_ms: u64,
}

/// Something that was counted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Counted {
    /// When it was done.
    pub time: Time,
    /// Which step.
    pub step: String,
    /// What was counted.
    pub of: String,
    /// How many are asked: `25`, `10 to 15`.
    pub asked: String,
    /// How many were given; none if it was only declared to be as asked.
    pub given: Option<u32>,
}

/// All attempts of a run.
pub(super) fn attempts(run: &Run) -> Vec<Attempt> {
    run.starts()
        .iter()
        .enumerate()
        .map(|(n, start)| {
            let number = n as u16 + 1;
            let passed = || run.passed().iter().filter(move |passed| passed.attempt == number);
            Attempt {
                number,
                begun: Time::of(start.at),
                ended: run.endings().iter().find(|ended| ended.attempt == number).map(|ended| Ended {
                    kind: match ended.kind {
                        EndingKind::Discard => "discarded",
                        EndingKind::Void => "void",
                    },
                    time: Time::of(ended.at),
                    step: run.edition().step(ended.step).id.clone(),
                    because: ended.because.clone(),
                    own_decision: ended.own,
                }),
                readings: readings(run, number),
                rounds: rounds(run, number),
                lasted: passed().filter_map(|passed| lasted(run, passed)).collect(),
                counted: passed().filter_map(|passed| counted(run, passed)).collect(),
                confirmed: passed().filter(|passed| run.edition().step(passed.step).wants == Wants::Act).count(),
            }
        })
        .collect()
}

fn is_settling(run: &Run, step: StepId) -> bool {
    matches!(run.edition().step(step).wants, Wants::Settle(_))
}

fn readings(run: &Run, attempt: u16) -> Vec<Read> {
    let edition = run.edition();
    let taken = run.taken().iter().filter(|taken| taken.attempt == attempt && !is_settling(run, taken.step));
    taken
        .map(|taken| {
            let reading = edition.reading(taken.reading);
            Read {
                number: taken.seq,
                time: Time::of(taken.at),
                step: edition.step(taken.step).id.clone(),
                reading: reading.id.clone(),
                asked: run.say(&reading.ask),
                value: wire::write_entry(edition, taken.reading, &taken.entry),
                unit: Some(reading.unit().to_string()).filter(|unit| !unit.is_empty()),
                shown: run.show(taken.reading, &taken.entry),
                carried: taken.carried,
            }
        })
        .collect()
}

fn rounds(run: &Run, attempt: u16) -> Vec<Round> {
    let mut rounds: Vec<Round> = Vec::new();
    for step in (0..run.edition().steps.len()).map(|n| StepId(n as u16)).filter(|step| is_settling(run, *step)) {
        let taken: Vec<&Taken> = run
            .taken()
            .iter()
            .filter(|taken| taken.attempt == attempt && taken.step == step && !taken.carried)
            .collect();
        let mut numbers: Vec<u16> = taken.iter().map(|taken| taken.round).collect();
        numbers.dedup();
        for number in numbers {
            let here: Vec<&Taken> = taken.iter().filter(|taken| taken.round == number).copied().collect();
            rounds.push(round(run, attempt, step, number, &here));
        }
    }
    rounds
}

fn round(run: &Run, attempt: u16, step: StepId, number: u16, taken: &[&Taken]) -> Round {
    let edition = run.edition();
    let unit = settle_unit(run, step);
    let Wants::Settle(settle) = &edition.step(step).wants else {
        return Round { number, sets: Vec::new(), value: None, change: None, unit: unit.to_string(), agrees: None };
    };
    let mut sets: Vec<SetRead> = Vec::new();
    let mut added: Vec<String> = Vec::new();
    let mut before: Option<&Exact> = None;
    for taken in taken {
        let reading = edition.reading(taken.reading);
        if let (Entry::One, ReadingKind::Tally { unit, .. }) = (&taken.entry, &reading.kind) {
            added.push(with_unit("1", *unit));
            continue;
        }
        let shown = (reading.id.clone(), run.show(taken.reading, &taken.entry));
        if taken.reading != settle.reading {
            if let Some(set) = sets.last_mut() {
                set.readings.push(shown);
            }
            continue;
        }
        // Rounds of other attempts may bear the same number; the moment tells them apart.
        let judged = run.sets().iter().find(|set| set.step == step && set.round == number && set.at == taken.at.tick);
        let change = judged.zip(before).map(|(set, before)| (&set.value - before).abs().show_exact());
        before = judged.map(|set| &set.value);
        sets.push(SetRead {
            time: Time::of(taken.at),
            readings: vec![shown],
            added: std::mem::take(&mut added),
            value: judged.map(|set| set.value.show_exact()),
            change,
            unit: unit.to_string(),
            steady: judged.is_some_and(|set| set.steady),
        });
    }
    let stage = edition.step(step).stage;
    let mine = |other: &&engine::Round| other.attempt == attempt && other.stage == stage;
    let this = run.rounds().iter().filter(mine).find(|round| round.round == number);
    let last = run.rounds().iter().filter(mine).find(|round| round.round + 1 == number);
    let change = this.zip(last).map(|(this, last)| (&this.value - &last.value).abs());
    let within = edition
        .stages
        .get(stage as usize)
        .and_then(|stage| stage.repeat.as_ref()?.until_agree())
        .map(|agree| &agree.within);
    Round {
        number,
        sets,
        value: this.map(|this| this.value.show_exact()),
        change: change.as_ref().map(Exact::show_exact),
        unit: unit.to_string(),
        agrees: change.zip(within).map(|(change, within)| change <= *within),
    }
}

fn lasted(run: &Run, passed: &engine::Passed) -> Option<Lasted> {
    let step = run.edition().step(passed.step);
    let begun = passed.begun?;
    let (at_least, position) = match &step.wants {
        Wants::Hold { at_least, turns, .. } => (*at_least, turns.as_ref().map(|turns| turns.down.clone())),
        Wants::Timed { at_least, .. } => (*at_least, None),
        _ => return None,
    };
    let Span(lasted_ms) = passed.done.tick.since(begun);
    Some(Lasted {
        time: Time::of(passed.done),
        step: step.id.clone(),
        round: passed.round,
        lasted_ms,
        at_least_ms: at_least.0,
        position,
        n_turns: passed.n_turns,
        longest_ms: passed.longest_down.0,
    })
}

fn counted(run: &Run, passed: &engine::Passed) -> Option<Counted> {
    let step = run.edition().step(passed.step);
    let Wants::Count { of, at_least, at_most, .. } = &step.wants else { return None };
    Some(Counted {
        time: Time::of(passed.done),
        step: step.id.clone(),
        of: of.clone(),
        asked: if at_least == at_most { at_least.to_string() } else { format!("{at_least} to {at_most}") },
        given: passed.count,
    })
}
