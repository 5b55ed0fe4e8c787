//! A technician who performs any shipped procedure with the readings of an example, through the real engine.
//!
//! Here: taking the next right thing until there is a result or an ending, with the answers and the paces a test names.
//! Not here: what a procedure asks and what must come out; a number nobody named is asked for by a panic, never made up.
//!
//! **Invariant:** everything goes through [`engine::Run::apply`], and what is refused stops the test with the refusal,
//! unless the test asked for it ([`Technician::until_refused`]).

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use engine::{Act, Entry, Event, Moment, Outcome, Phase, Refused, Run, Tick, Wall};
use procedure::{Edition, ReadingId, ReadingKind, Step, StepId, Wants};
use quantity::{Exact, System, Ties};

/// What a technician does unless told otherwise takes so long.
const PAUSE_S: u64 = 1;
/// More acts than any run needs.
const ACTS_AT_MOST: usize = 2_000;

/// The shipped procedure `method` in `system`, checked anew from its file.
pub fn shipped(method: &str, system: System) -> Arc<Edition> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../procedures").join(format!("{method}.toml"));
    let text = fs::read_to_string(&file).unwrap_or_else(|why| panic!("{}: {why}", file.display()));
    let checked = procedure::check(&format!("{method}.toml"), &text);
    let procedure = checked.procedure.unwrap_or_else(|| panic!("{method} is sound: {:?}", checked.diagnostics));
    let edition = procedure.edition(system).unwrap_or_else(|| panic!("{method} is stated in {system}"));
    Arc::new(edition.clone())
}

/// A number as a test writes it.
pub fn exact(text: &str) -> Exact {
    text.parse().unwrap_or_else(|_| panic!("{text} is no number"))
}

/// Performs one run. Words are written down as `written down` and of a choice the first answer is given, unless the
/// test says otherwise; numbers must be named by the test.
#[derive(Clone, Debug)]
pub struct Technician {
    /// The run so far.
    pub run: Run,
    now: Tick,
    start: Wall,
    /// What is answered to a reading, one after the other; the last again and again.
    answers: BTreeMap<String, Vec<String>>,
    n_answered: BTreeMap<String, usize>,
    /// How long a step takes before it is done, in seconds.
    paces: BTreeMap<String, u64>,
    /// How often one is added to a tally when its step is open.
    adds: BTreeMap<String, u32>,
}

impl Technician {
    /// Begins a run of the shipped `method`, ties to the even multiple.
    pub fn of(method: &str, system: System) -> Self {
        Self::with(shipped(method, system), Ties::Even)
    }

    /// Begins a run of any edition.
    pub fn with(edition: Arc<Edition>, ties: Ties) -> Self {
        let run = Run::open(edition, ties, Moment::default());
        Self {
            run,
            now: Tick(0),
            start: Wall::default(),
            answers: BTreeMap::new(),
            n_answered: BTreeMap::new(),
            paces: BTreeMap::new(),
            adds: BTreeMap::new(),
        }
    }

    /// Answers `typed` to `reading`: as it would be typed, or the id of an answer. Called again for the same reading,
    /// it is the answer to the next time it is asked.
    #[must_use]
    pub fn reads(mut self, reading: &str, typed: &str) -> Self {
        self.known(reading);
        self.answers.entry(reading.to_owned()).or_default().push(typed.to_owned());
        self
    }

    /// Takes `seconds` for the step before pressing that it is done; for what is begun and ended, from begin to end.
    #[must_use]
    pub fn takes(mut self, step: &str, seconds: u64) -> Self {
        assert!(self.run.edition().step_named(step).is_some(), "{} has a step {step}", self.run.edition().id);
        self.paces.insert(step.to_owned(), seconds);
        self
    }

    /// Adds so many to a tally when it can first be added to.
    #[must_use]
    pub fn adds(mut self, reading: &str, n: u32) -> Self {
        self.known(reading);
        self.adds.insert(reading.to_owned(), n);
        self
    }

    fn known(&self, reading: &str) {
        assert!(self.run.edition().reading_named(reading).is_some(), "{} reads {reading}", self.run.edition().id);
    }

    /// Goes on until there is a result or the attempt ends.
    pub fn work(self) -> Run {
        match self.until_refused() {
            (run, None) => run,
            (run, Some(refused)) => panic!("{}: {refused}\nreadings: {:#?}", run.edition().id, run.taken()),
        }
    }

    /// Goes on until there is a result, the attempt ends, or an act is refused.
    pub fn until_refused(mut self) -> (Run, Option<Refused>) {
        for _ in 0..ACTS_AT_MOST {
            if self.run.phase() != Phase::AtStep {
                return (self.run, None);
            }
            if let Err(refused) = self.act() {
                return (self.run, Some(refused));
            }
        }
        panic!("{}: the run does not end", self.run.edition().id);
    }

    /// Begins the next attempt after a discard, and goes on as before.
    #[must_use]
    pub fn again(mut self) -> Self {
        self.apply(Event::Again).unwrap_or_else(|refused| panic!("{refused}"));
        self
    }

    /// As [`work`](Self::work), keeping the technician for what comes after a discard.
    #[must_use]
    pub fn on(mut self) -> Self {
        for _ in 0..ACTS_AT_MOST {
            if self.run.phase() != Phase::AtStep {
                return self;
            }
            self.act().unwrap_or_else(|refused| panic!("{}: {refused}", self.run.edition().id));
        }
        panic!("{}: the run does not end", self.run.edition().id);
    }

    fn apply(&mut self, event: Event) -> Result<(), Refused> {
        let unix_ms = self.start.unix_ms + i64::try_from(self.now.0).unwrap();
        let at = Moment { tick: self.now, wall: Wall { unix_ms, ..self.start } };
        self.run.apply(event, at).map(|_| ())
    }

    fn wait(&mut self, seconds: u64) {
        self.now = Tick(self.now.0 + seconds * 1_000);
    }

    fn act(&mut self) -> Result<(), Refused> {
        let offer = self.run.offer(self.now);
        let (id, step) = offer.step.map(|(id, step)| (id, step.clone())).unwrap();
        let act = match offer.act {
            Act::Answer(reading) => Next::Answer(reading),
            Act::Wait { until } => Next::Wait(until),
            Act::Turn { .. } => Next::Turn,
            _ => Next::Press,
        };
        let is_begun = offer.standing.begun.is_some();
        let begun = offer.standing.begun.unwrap_or(self.now);
        self.add(id, &step)?;
        match act {
            Next::Answer(reading) => {
                self.wait(self.paces.get(&step.id).copied().unwrap_or(PAUSE_S));
                let entry = self.entry(reading);
                self.apply(Event::Answer { step: id, reading, entry, seen: self.now, despite: None })
            }
            Next::Wait(until) => {
                self.now = until;
                match &step.wants {
                    Wants::Hold { .. } => {
                        self.now = self.now.max(self.end_of(&step, begun));
                        self.apply(Event::Done { step: id, despite: None })
                    }
                    _ => Ok(()),
                }
            }
            Next::Turn => {
                self.wait(3);
                self.apply(Event::Turn { step: id })
            }
            Next::Press => {
                let lasts = matches!(step.wants, Wants::Hold { .. } | Wants::Timed { .. });
                if is_begun {
                    self.now = self.now.max(self.end_of(&step, begun));
                } else if lasts {
                    self.wait(PAUSE_S);
                } else {
                    self.wait(self.paces.get(&step.id).copied().unwrap_or(PAUSE_S));
                }
                let event = self.run.press(self.now).expect("one press is enough");
                self.apply(event)
            }
        }
    }

    /// When what lasts is ended: as the test says, else in the middle of what is allowed.
    fn end_of(&self, step: &Step, begun: Tick) -> Tick {
        let middle = match &step.wants {
            Wants::Timed { at_least, at_most, .. } => (at_least.0 + at_most.0) / 2,
            Wants::Hold { at_least, .. } => at_least.0,
            _ => 0,
        };
        Tick(begun.0 + self.paces.get(&step.id).map_or(middle, |seconds| seconds * 1_000))
    }

    fn add(&mut self, id: StepId, step: &Step) -> Result<(), Refused> {
        let Some(add) = &step.add else { return Ok(()) };
        let tally = self.run.edition().reading(add.reading).id.clone();
        for _ in 0..self.adds.remove(&tally).unwrap_or(0) {
            self.apply(Event::Add { step: id, reading: add.reading })?;
        }
        Ok(())
    }

    fn entry(&mut self, id: ReadingId) -> Entry {
        let edition = self.run.edition();
        let reading = edition.reading(id);
        let n = self.n_answered.entry(reading.id.clone()).or_default();
        let answers = self.answers.get(&reading.id).map_or(&[][..], Vec::as_slice);
        let typed = answers.get((*n).min(answers.len().saturating_sub(1)));
        *n += 1;
        match (&reading.kind, typed) {
            (ReadingKind::Number(scale), Some(typed)) => {
                Entry::Number(scale.read(typed).unwrap_or_else(|why| panic!("{} {typed}: {why}", reading.id)))
            }
            (ReadingKind::Number(_), None) => panic!("{}: the test must name the number {}", edition.id, reading.id),
            (ReadingKind::Choice(choices), Some(typed)) => {
                let at = choices.iter().position(|choice| choice.id == *typed);
                Entry::Choice(at.unwrap_or_else(|| panic!("{} has no answer {typed}", reading.id)) as u16)
            }
            (ReadingKind::Choice(_), None) => Entry::Choice(0),
            (ReadingKind::Words, typed) => Entry::Words(typed.map_or("written down", String::as_str).to_owned()),
            (ReadingKind::Tally { .. }, _) => Entry::One,
        }
    }
}

enum Next {
    Answer(ReadingId),
    Wait(Tick),
    Turn,
    Press,
}

/// The result called `id`; the run must have reached one.
pub fn result<'r>(run: &'r Run, id: &str) -> Outcome<'r> {
    let results = run.results();
    let names: Vec<_> = results.iter().map(|outcome| outcome.id.to_owned()).collect();
    let endings: Vec<_> = run.endings().iter().map(|ended| ended.because.clone()).collect();
    results
        .into_iter()
        .find(|outcome| outcome.id == id)
        .unwrap_or_else(|| panic!("{}: no result {id} among {names:?}; ended: {endings:?}", run.edition().id))
}

/// A result as it is reported, such as `5.75 %`.
pub fn reported(run: &Run, id: &str) -> String {
    result(run, id).reported.to_string()
}
