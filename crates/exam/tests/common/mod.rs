//! A class to examine: the shipped procedures, and a short way to say what happens.
#![allow(dead_code, reason = "each test file uses a part of it")]
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use std::collections::BTreeMap;
use std::sync::OnceLock;

use engine::{Moment, Tick, Wall};
use exam::{Applied, Event, How, Mark, Refused, State, TrialId, config, roster};
use procedure::Procedure;

/// The shipped procedures by id, read once.
pub fn procedures() -> &'static BTreeMap<String, Procedure> {
    static READ: OnceLock<BTreeMap<String, Procedure>> = OnceLock::new();
    READ.get_or_init(read)
}

fn read() -> BTreeMap<String, Procedure> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../procedures");
    let mut found = BTreeMap::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ext| ext == "toml") {
            let text = std::fs::read_to_string(&path).unwrap();
            let procedure = procedure::check("x", &text).procedure.unwrap();
            found.insert(procedure.id.clone(), procedure);
        }
    }
    found
}

/// A roster of so many candidates, `01`, `02`, …
pub fn roster_of(n: usize) -> exam::Roster {
    let mut text = "number,name\n".to_owned();
    for n in 1..=n {
        text += &format!("{n:02},Candidate No {n}\n");
    }
    roster::read(&text).unwrap()
}

/// An exam in SI units with these lines under `[exam]`, and these methods with their lines.
pub fn state(head: &str, methods: &[(&str, &str)], candidates: usize) -> State {
    let procedures = procedures();
    let mut text = format!("[exam]\ntitle = \"T\"\nsystem = \"SI\"\nstations = 12\n{head}\n");
    for (id, lines) in methods {
        text += &format!("[[method]]\nid = \"{id}\"\n{lines}\n");
    }
    let find = |id: &str| procedures.get(id);
    let checked = config::check_with("exam.toml", &text, find);
    let exam = checked.exam.unwrap_or_else(|| panic!("{:?}", checked.diagnostics));
    let sheets = exam::sheets(&exam, find).unwrap();
    State::open(exam, roster_of(candidates), sheets)
}

/// So many milliseconds after the exam was opened.
pub fn at(ms: u64) -> Moment {
    Moment { tick: Tick(ms), wall: Wall { unix_ms: 1_778_832_000_000 + ms as i64, offset_min: 120 } }
}

/// An exam with a clock that is moved by hand.
pub struct Day {
    pub state: State,
    pub now: u64,
    pub log: Vec<(Event, Moment)>,
}

impl Day {
    pub fn new(state: State) -> Self {
        Self { state, now: 0, log: Vec::new() }
    }
    pub fn wait(&mut self, ms: u64) {
        self.now += ms;
    }
    pub fn take(&mut self, event: Event) -> Result<Applied, Refused> {
        let applied = self.state.apply(event.clone(), at(self.now))?;
        self.log.push((event, at(self.now)));
        Ok(applied)
    }
    pub fn try_begin(&mut self, candidate: &str, method: &str, station: u16) -> Result<TrialId, Refused> {
        let trial = self.state.new_trial(candidate, method, None);
        let (candidate, method) = (candidate.to_owned(), method.to_owned());
        let rater = "S. Vantongeren".to_owned();
        self.take(Event::Began { trial: trial.clone(), candidate, method, station, rater, scores: None })?;
        Ok(trial)
    }
    pub fn begin(&mut self, candidate: &str, method: &str) -> TrialId {
        self.try_begin(candidate, method, 1).unwrap()
    }
    pub fn second(&mut self, first: &TrialId, rater: &str) -> Result<TrialId, Refused> {
        let trial = self.state.new_trial("", "", Some(first));
        let view = self.state.trial(first).unwrap();
        let event = Event::Began {
            trial: trial.clone(),
            candidate: view.candidate().number.clone(),
            method: view.sheet.method.clone(),
            station: view.trial.station,
            rater: rater.to_owned(),
            scores: Some(first.clone()),
        };
        self.take(event)?;
        Ok(trial)
    }
    pub fn mark(&mut self, trial: &TrialId, item: &str, mark: Mark) -> Result<Applied, Refused> {
        self.take(Event::Marked { trial: trial.clone(), item: item.to_owned(), mark })
    }
    pub fn start(&mut self, trial: &TrialId, item: &str) -> Result<Applied, Refused> {
        self.take(Event::ClockStarted { trial: trial.clone(), item: item.to_owned() })
    }
    pub fn stop(&mut self, trial: &TrialId, item: &str) -> Result<Applied, Refused> {
        self.take(Event::ClockStopped { trial: trial.clone(), item: item.to_owned() })
    }
    pub fn turn(&mut self, trial: &TrialId, item: &str) -> Result<Applied, Refused> {
        self.take(Event::Turned { trial: trial.clone(), item: item.to_owned() })
    }
    pub fn count(&mut self, trial: &TrialId, item: &str, n: u32) -> Result<Applied, Refused> {
        self.take(Event::Counted { trial: trial.clone(), item: item.to_owned(), n })
    }
    pub fn overrule(&mut self, trial: &TrialId, item: &str, mark: Mark, reason: &str) -> Result<Applied, Refused> {
        let (item, reason) = (item.to_owned(), reason.to_owned());
        self.take(Event::Overruled { trial: trial.clone(), item, mark, reason })
    }
    pub fn end(&mut self, trial: &TrialId) -> exam::Outcome {
        self.finish(trial, How::Finished)
    }
    pub fn finish(&mut self, trial: &TrialId, how: How) -> exam::Outcome {
        self.take(Event::Ended { trial: trial.clone(), how }).unwrap().outcome.unwrap()
    }
    pub fn undo(&mut self, trial: &TrialId) -> Result<Applied, Refused> {
        self.take(Event::Undone { trial: trial.clone() })
    }
    /// Marks every act that is asked of everybody and has no mark yet.
    pub fn rest(&mut self, trial: &TrialId, mark: Mark) {
        let view = self.state.trial(trial).unwrap();
        let keys: Vec<String> = view
            .items()
            .filter(|status| status.mark.is_none() && !status.item.conditional)
            .map(|status| status.item.key.clone())
            .collect();
        for key in keys {
            self.mark(trial, &key, mark).unwrap();
        }
    }
    /// What was missed, by key.
    pub fn missed(&self, trial: &TrialId) -> Vec<String> {
        self.state.trial(trial).unwrap().outcome().missed.into_iter().map(|missed| missed.key).collect()
    }
}
