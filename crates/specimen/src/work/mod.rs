//! The specimen a person works on.
//!
//! Here: what it hears, what it shows, which answers would be right, what happens by itself. Not here: the sizes of the
//! effects ([`crate::model`]) and how anything is drawn.
//!
//! Everything is found by what the edition says: names of instruments, what steps want, what their rules lead to. No
//! method is known by name.
//!
//! **Invariant:** what is shown follows from the edition, the scenario, the accepted events and the taps; what was
//! taken back leaves nothing behind.

mod happen;
mod look;
mod place;
mod seen;

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::{Entry, Event, Moment, Phase, Run, Tick};
use procedure::{Edition, ReadingId, ReadingKind, StepId, Wants};
use quantity::Span;

use crate::model;
use crate::{Happening, Scenario, Shown};

/// While something moves it is looked at anew after one of these.
const LOOK_AGAIN_MS: [u64; 10] = [200, 400, 800, 1_500, 3_000, 6_000, 15_000, 30_000, 60_000, 600_000];

/// A specimen that hears what is done to it and shows what it has become.
///
/// ```
/// # use std::sync::Arc;
/// # use engine::{Event, Moment, Run, Tick};
/// # use specimen::{Scenario, Specimen};
/// # fn demo(edition: Arc<procedure::Edition>, scenario: Scenario, run: &mut Run, reading: procedure::ReadingId) {
/// let mut specimen = Specimen::new(edition, scenario);
/// let shown = specimen.shows(run, reading, Tick(1_000));
/// let right = specimen.right_answers(run, reading, Tick(1_000));
/// # let (event, at) = (Event::Again, Moment::default());
/// match run.apply(event.clone(), at) {
///     Ok(_) => specimen.hear(run, &event, at),
///     Err(_) => specimen.hear_refused(run, &event, at),
/// }
/// # }
/// ```
#[derive(Clone, Debug)]
pub struct Specimen {
    edition: Arc<Edition>,
    scenario: Scenario,
    /// Answers the procedure refused, by the visit they were given in: another cup, another meter was taken since.
    refused: BTreeMap<(u16, StepId, u16), u16>,
    /// Taps on the gauge, by the visit they were given in.
    taps: BTreeMap<(u16, StepId, u16), Vec<Tick>>,
    /// What was shown when an answer was given, by the number of its event.
    looks: BTreeMap<u32, Vec<Entry>>,
}

/// An answer beside what would have been right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Look {
    /// The number of the event that gave the answer.
    pub seq: u32,
    /// What was read.
    pub reading: ReadingId,
    /// What was answered.
    pub given: Entry,
    /// What would have been right; empty where nothing could be read, such as a level beyond the scale.
    pub right: Vec<Entry>,
}

impl Look {
    /// Whether the answer was right.
    pub fn is_right(&self) -> bool {
        self.right.contains(&self.given)
    }
}

impl Specimen {
    /// A fresh specimen.
    pub fn new(edition: Arc<Edition>, scenario: Scenario) -> Self {
        Self { edition, scenario, refused: BTreeMap::new(), taps: BTreeMap::new(), looks: BTreeMap::new() }
    }

    /// What it is like.
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// Hears an event the run has accepted; `run` is the run after it.
    ///
    /// What the event changes is in the run. Kept here is what was to be read when an answer was given, for
    /// [`looks`](Self::looks).
    pub fn hear(&mut self, run: &Run, event: &Event, at: Moment) {
        let Event::Answer { step, reading, seen, .. } = event else { return };
        let Some(taken) = run.taken().iter().rev().find(|taken| taken.reading == *reading && taken.step == *step)
        else {
            return;
        };
        let was = self.place_of(run, taken);
        let mut right = Vec::new();
        for now in [(*seen).max(was.opened).min(at.tick), at.tick] {
            for entry in self.right_at(run, &was, *reading, now) {
                if !right.contains(&entry) {
                    right.push(entry);
                }
            }
        }
        self.looks.insert(taken.seq, right);
    }

    /// Hears an event the run has refused: after a refused answer the next one is about another cup, another meter, or
    /// the same concrete worked on a little more.
    pub fn hear_refused(&mut self, run: &Run, event: &Event, _at: Moment) {
        let Event::Answer { step, reading, entry, .. } = event else { return };
        let is_asked = self.open_step(run) == Some(*step) && self.asks(*step, *reading);
        // Only what the rules of the step refuse is replaced; a slip of the hand changes nothing.
        if is_asked && self.is_refused_by_rule(run, *step, *reading, entry) {
            let visit = self.visits(run, run.attempt(), *step);
            *self.refused.entry((run.attempt(), *step, visit)).or_default() += 1;
        }
    }

    /// Hears a tap on the gauge that is read now.
    pub fn tap(&mut self, run: &Run, at: Tick) {
        if let Some(step) = self.open_step(run) {
            let visit = self.visits(run, run.attempt(), step);
            self.taps.entry((run.attempt(), step, visit)).or_default().push(at);
        }
    }

    /// What is seen where `reading` is read, at `now`.
    pub fn shows(&self, run: &Run, reading: ReadingId, now: Tick) -> Shown {
        match self.place(run, reading) {
            Some(place) => self.look(run, &place, reading, now),
            None => Shown::Sight { says: run.say(&self.edition.reading(reading).ask) },
        }
    }

    /// The answers that would be right for what is shown at `now`: the nearest mark, or both where it stands half way;
    /// none where it lies beyond the scale. Words are right whatever they are, so those shown come back.
    pub fn right_answers(&self, run: &Run, reading: ReadingId, now: Tick) -> Vec<Entry> {
        self.place(run, reading).map(|place| self.right_at(run, &place, reading, now)).unwrap_or_default()
    }

    /// Every answer given so far that has not been taken back, beside what would have been right. After a correction
    /// the corrected answer counts.
    pub fn looks(&self, run: &Run) -> Vec<Look> {
        let live = run.taken().iter().filter(|taken| !taken.carried && taken.entry != Entry::One);
        live.filter_map(|taken| {
            let right = self.looks.get(&taken.seq)?.clone();
            Some(Look { seq: taken.seq, reading: taken.reading, given: taken.entry.clone(), right })
        })
        .collect()
    }

    /// What comes about by itself at `now` and was not acted on yet; the same answer until then. After
    /// [`Happening::Away`] the clock goes on by its span, and it is over.
    pub fn happens(&self, run: &Run, now: Tick) -> Option<Happening> {
        self.happening(run, now)
    }

    /// When what is shown or happens changes by itself next, looking no more often than an eye does.
    pub fn next_change(&self, run: &Run, now: Tick) -> Option<Tick> {
        let due = self.next_happening(run, now);
        let moves = self.open_reading(run).and_then(|reading| {
            let shown = self.shows(run, reading, now);
            if !matches!(shown, Shown::Neck { .. } | Shown::Gauge { .. } | Shown::Thermometer { .. }) {
                return None;
            }
            let later = LOOK_AGAIN_MS.iter().map(|ms| now.after(Span(*ms)));
            later.into_iter().find(|later| self.shows(run, reading, *later) != shown)
        });
        [due, moves].into_iter().flatten().min()
    }

    fn right_at(&self, run: &Run, place: &place::Place, reading: ReadingId, now: Tick) -> Vec<Entry> {
        let marks = |scale: &quantity::Scale, at| {
            model::nearest_marks(scale, at).into_iter().map(Entry::Number).collect::<Vec<_>>()
        };
        match self.look(run, place, reading, now) {
            Shown::Neck { scale, level, foam } => {
                // Foam has no end of a scale: it is judged by divisions.
                if self.is_foam(reading) { marks(&scale, foam.min(scale.max)) } else { marks(&scale, level) }
            }
            Shown::Gauge { scale, at } | Shown::Thermometer { scale, at } | Shown::Balance { scale, at } => {
                marks(&scale, at)
            }
            Shown::Rule { scale, slump, shape } => match &self.edition.reading(reading).kind {
                ReadingKind::Choice(choices) => {
                    self.choice_of_shape(choices, shape).map(Entry::Choice).into_iter().collect()
                }
                _ => marks(&scale, slump),
            },
            Shown::Paper { .. } | Shown::Sight { .. } => self.written(run, place, reading, now).into_iter().collect(),
        }
    }

    fn open_step(&self, run: &Run) -> Option<StepId> {
        let offer = run.offer(run.last().tick);
        if run.phase() == Phase::AtStep { offer.step.map(|(id, _)| id) } else { None }
    }

    /// What the open step reads.
    fn open_reading(&self, run: &Run) -> Option<ReadingId> {
        match &self.edition.step(self.open_step(run)?).wants {
            Wants::Read(reading) => Some(*reading),
            Wants::Settle(settle) => Some(settle.reading),
            _ => None,
        }
    }

    fn asks(&self, step: StepId, reading: ReadingId) -> bool {
        match &self.edition.step(step).wants {
            Wants::Read(asked) => *asked == reading,
            Wants::Settle(settle) => settle.reading == reading || settle.also.contains(&reading),
            _ => false,
        }
    }

    /// The steps of the edition with their ids.
    fn steps(&self) -> impl DoubleEndedIterator<Item = (StepId, &procedure::Step)> {
        self.edition.steps.iter().enumerate().map(|(n, step)| (StepId(n as u16), step))
    }
}
