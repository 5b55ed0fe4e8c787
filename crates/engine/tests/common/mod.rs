//! A technician for the tests: performs acts on a run, at moments the test chooses.
#![allow(dead_code, reason = "each test file uses its own part")]
#![allow(clippy::panic, clippy::expect_used, reason = "a test says what it expects by panicking")]

use std::sync::Arc;

use engine::{Act, Entry, Event, Moment, Phase, Refused, Run, Tick, Wall};
use procedure::{Edition, ReadingKind, StepId, Wants};
use quantity::{Decimal, System, Ties};

pub const AIR: &str = include_str!("../../../../procedures/air-volumetric.toml");

pub fn edition_of(text: &str, system: System) -> Arc<Edition> {
    let checked = procedure::check("procedure.toml", text);
    let found = checked.diagnostics;
    let procedure = checked.procedure.unwrap_or_else(|| panic!("the procedure does not load: {found:?}"));
    Arc::new(procedure.edition(system).expect("the method is stated in this system").clone())
}

pub fn air(system: System) -> Arc<Edition> {
    edition_of(AIR, system)
}

pub fn moment(tick_ms: u64) -> Moment {
    // An invented morning: 2026-05-14, 07:30, five hours west of Greenwich.
    Moment { tick: Tick(tick_ms), wall: Wall { unix_ms: 1_778_761_800_000 + tick_ms as i64, offset_min: -300 } }
}

/// Somebody who performs the test.
#[derive(Clone)]
pub struct Technician {
    pub run: Run,
    pub now_ms: u64,
}

impl Technician {
    pub fn new(edition: Arc<Edition>) -> Self {
        Self { run: Run::open(edition, Ties::Even, moment(0)), now_ms: 0 }
    }
    pub fn air() -> Self {
        Self::new(air(System::InchPound))
    }
    pub fn now(&self) -> Moment {
        moment(self.now_ms)
    }
    pub fn wait(&mut self, seconds: u64) -> &mut Self {
        self.now_ms += seconds * 1_000;
        self
    }
    pub fn step(&self) -> StepId {
        self.run.offer(Tick(self.now_ms)).step.expect("there is always a step").0
    }
    pub fn step_name(&self) -> String {
        self.run.edition().step(self.step()).id.clone()
    }
    pub fn try_event(&mut self, event: Event) -> Result<(), Refused> {
        self.run.apply(event, self.now()).map(|_| ())
    }
    #[track_caller]
    pub fn event(&mut self, event: Event) -> &mut Self {
        let at = self.step_name();
        if let Err(refused) = self.try_event(event.clone()) {
            panic!("{event:?} at {at} was refused: {refused}");
        }
        self
    }
    #[track_caller]
    pub fn press(&mut self) -> &mut Self {
        let event = self.run.press(Tick(self.now_ms)).unwrap_or_else(|| {
            panic!("nothing to press at {}: {:?}", self.step_name(), self.run.offer(Tick(self.now_ms)).act)
        });
        self.event(event)
    }
    pub fn entry(&self, reading: &str, typed: &str) -> (procedure::ReadingId, Entry) {
        let edition = self.run.edition();
        let id = edition.reading_named(reading).unwrap_or_else(|| panic!("no reading {reading}"));
        let entry = match &edition.reading(id).kind {
            ReadingKind::Number(_) => Entry::Number(Decimal::from_str_exact(typed).expect("a number")),
            ReadingKind::Choice(choices) => {
                let at = choices.iter().position(|choice| choice.id == typed);
                Entry::Choice(at.unwrap_or_else(|| panic!("{reading} has no answer {typed}")) as u16)
            }
            ReadingKind::Words => Entry::Words(typed.to_owned()),
            ReadingKind::Tally { .. } => Entry::One,
        };
        (id, entry)
    }
    pub fn answer_event(&self, reading: &str, typed: &str) -> Event {
        let (id, entry) = self.entry(reading, typed);
        Event::Answer { step: self.step(), reading: id, entry, seen: Tick(self.now_ms), despite: None }
    }
    pub fn try_read(&mut self, reading: &str, typed: &str) -> Result<(), Refused> {
        let event = self.answer_event(reading, typed);
        self.try_event(event)
    }
    #[track_caller]
    pub fn read(&mut self, reading: &str, typed: &str) -> &mut Self {
        let event = self.answer_event(reading, typed);
        self.event(event)
    }
    pub fn add_cup(&mut self) -> &mut Self {
        let reading = self.run.edition().reading_named("cups").expect("the method has cups");
        let step = self.step();
        self.event(Event::Add { step, reading })
    }
    pub fn done_named(&mut self, step: &str) -> Result<(), Refused> {
        let step = self.run.edition().step_named(step).unwrap_or_else(|| panic!("no step {step}"));
        self.try_event(Event::Done { step, despite: None })
    }

    /// Answers and presses until `step` is open, everything as it should be, 5 s an act.
    #[track_caller]
    pub fn up_to(&mut self, step: &str) -> &mut Self {
        for _ in 0..400 {
            if self.run.phase() != Phase::AtStep {
                panic!("the attempt ended before {step}: {:?}", self.run.endings());
            }
            if self.step_name() == step {
                return self;
            }
            self.as_it_should_be();
        }
        panic!("{step} was not reached");
    }

    /// One act, done as it should be.
    #[track_caller]
    pub fn as_it_should_be(&mut self) {
        let offer = self.run.offer(Tick(self.now_ms));
        let act = offer.act.clone();
        let wants = offer.step.expect("a step").1.wants.clone();
        match act {
            Act::Answer(id) => {
                let name = self.run.edition().reading(id).id.clone();
                let is_si = self.run.edition().system == System::Si;
                let typed = match name.as_str() {
                    "bowl" if is_si => "2.112",
                    "bowl" => "0.0752",
                    "cup" => "1.00",
                    "strength" => "70",
                    "alcohol" if is_si => "0.70",
                    "alcohol" => "1.50",
                    "water" if is_si => "0.6",
                    "water" => "1.25",
                    "standardized" | "in_neck" | "heard" => "yes",
                    "pieces" => "none",
                    "packed" => "no",
                    "level" => "5.25",
                    "foam" => "0.50",
                    "technician" => "T. Example",
                    "job" => "Bridge deck",
                    "sample" => "12",
                    "meter" => "V-3",
                    other => panic!("no usual answer for {other}"),
                };
                self.wait(5).read(&name, typed);
            }
            Act::Wait { until } => {
                self.now_ms = until.0;
                // A hold that has lasted is ended by a press; a reading that is due is read.
                if matches!(wants, Wants::Hold { .. }) {
                    self.press();
                }
            }
            Act::Turn { .. } => {
                self.wait(4).press();
            }
            _ => {
                self.wait(5).press();
            }
        }
    }

    /// The whole settling: level and foam, as often as given, 2 minutes apart.
    #[track_caller]
    pub fn settle(&mut self, levels: &[&str], foam: &str) -> &mut Self {
        self.up_to("settle");
        for (n, level) in levels.iter().enumerate() {
            if n > 0 {
                self.wait(120);
            }
            self.read("level", level).read("foam", foam);
        }
        self
    }

    pub fn finish(&mut self) -> &mut Self {
        for _ in 0..50 {
            if self.run.phase() != Phase::AtStep {
                return self;
            }
            self.as_it_should_be();
        }
        self
    }

    pub fn air_reported(&self) -> (String, String) {
        let results = self.run.results();
        let air = results.first().expect("a result");
        (air.reported.exact.show_exact(), air.reported.to_string())
    }
}
