//! The ways through every shipped procedure, walked by somebody who sees nothing but the specimen.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "tests say what they expect by panicking")]

use std::fs;
use std::path::Path;
use std::sync::Arc;

use engine::{Act, Entry, Event, Moment, Phase, Run, Tick, Wall};
use procedure::{Edition, ReadingId, ReadingKind, StepId, Wants};
use quantity::Ties;
use specimen::ways::{Refusal, Told, branches, meets_with, perform};
use specimen::{Happening, Scenario, Specimen};

const ACTS_AT_MOST: usize = 5_000;

fn editions() -> Vec<Arc<Edition>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|extension| extension == "toml"));
    files.sort();
    let read = |file: &std::path::PathBuf| {
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        let checked = procedure::check(&name, &fs::read_to_string(file).unwrap());
        checked.procedure.unwrap_or_else(|| panic!("{name}: {:?}", checked.diagnostics)).editions
    };
    let editions: Vec<_> = files.iter().flat_map(read).map(Arc::new).collect();
    assert!(editions.len() >= 25, "{} editions", editions.len());
    editions
}

/// Somebody who reads what is shown, tells what goes wrong, is away when called, and does wrongly what is asked so.
struct Candidate {
    run: Run,
    specimen: Specimen,
    now: Tick,
    refused: Vec<Refusal>,
    n_events: usize,
    /// Since when the present happening has been dealt with.
    away: Vec<(StepId, Tick)>,
}

impl Candidate {
    fn new(edition: &Arc<Edition>, scenario: Scenario) -> Self {
        let run = Run::open(edition.clone(), Ties::Even, Moment::default());
        let specimen = Specimen::new(edition.clone(), scenario);
        Self { run, specimen, now: Tick(0), refused: Vec::new(), n_events: 0, away: Vec::new() }
    }

    fn at(&self) -> Moment {
        Moment { tick: self.now, wall: Wall { unix_ms: i64::try_from(self.now.0).unwrap(), offset_min: 0 } }
    }

    fn wait(&mut self, ms: u64) {
        self.now = Tick(self.now.0 + ms);
    }

    /// Whether it was accepted.
    fn apply(&mut self, step: StepId, event: Event) -> bool {
        let at = self.at();
        match self.run.apply(event.clone(), at) {
            Ok(_) => {
                self.specimen.hear(&self.run, &event, at);
                self.n_events += 1;
                true
            }
            Err(refused) => {
                self.specimen.hear_refused(&self.run, &event, at);
                self.refused.push(Refusal { step, rule: None, because: refused.to_string(), after: self.n_events });
                false
            }
        }
    }

    /// Goes on to the last attempt the scenario tells of, and ends the run.
    fn work(mut self) -> Self {
        let tells = &self.specimen.scenario().way.tells;
        let attempts = tells.iter().map(|tell| tell.attempt).max().unwrap_or(1);
        for _ in 0..ACTS_AT_MOST {
            match self.run.phase() {
                Phase::AtStep => self.act(),
                Phase::Ended if self.run.attempt() < attempts && self.run.offer(self.now).act == Act::Again => {
                    self.wait(1_000);
                    let step = self.run.offer(self.now).step.unwrap().0;
                    self.apply(step, Event::Again);
                }
                _ => return self,
            }
        }
        panic!("{}: the run does not end", self.run.edition().id);
    }

    /// The wrong time asked for at the open step.
    fn wrong(&self, step: StepId, of: impl Fn(&Told) -> Option<u64>) -> Option<u64> {
        let attempt = self.run.attempt();
        let done = self.run.passed().iter().filter(|done| done.attempt == attempt && done.step == step).count();
        let place = (attempt, step, u16::try_from(done).unwrap());
        let tells = &self.specimen.scenario().way.tells;
        tells.iter().filter(|tell| (tell.attempt, tell.step, tell.visit) == place).find_map(|tell| of(&tell.told))
    }

    fn act(&mut self) {
        let (id, step) = self.run.offer(self.now).step.map(|(id, step)| (id, step.clone())).unwrap();
        match self.specimen.happens(&self.run, self.now) {
            Some(Happening::Incident { incident, .. }) => {
                assert!(self.apply(id, Event::Incident { incident }), "{}: what is seen can be told", step.id);
                return;
            }
            Some(Happening::Away { span, .. }) => {
                assert!(!self.away.contains(&(id, self.now)), "called away once");
                self.wait(span.0);
                self.away.push((id, self.now));
            }
            Some(Happening::OnPurpose { .. }) => {
                if let (Some(add), Some(n)) = (&step.add, self.wrong(id, adds)) {
                    for _ in 0..n {
                        self.wait(1_000);
                        assert!(self.apply(id, Event::Add { step: id, reading: add.reading }));
                    }
                }
            }
            None => {}
        }
        // Nothing is done before it could be seen that something goes wrong.
        if self.run.sets_here().is_empty()
            && let Some(next) = self.specimen.next_change(&self.run, self.now)
            && next.0 - self.now.0 <= 1_500
            && matches!(self.specimen.happens(&self.run, next), Some(Happening::Incident { .. }))
        {
            self.now = next;
            return;
        }
        let offer = self.run.offer(self.now);
        let (begun, is_down, n_turns) = (offer.standing.begun, offer.standing.is_down, offer.standing.n_turns);
        let is_first = self.run.sets_here().is_empty() && !offer.standing.in_set;
        let usual = step.lasts.map_or(5_000, |lasts| lasts.typical.0);
        let lasts = self.wrong(id, |told| if let Told::Lasts { span } = told { Some(span.0) } else { None });
        let down = self.wrong(id, |told| if let Told::Down { span } = told { Some(span.0) } else { None });
        match offer.act {
            Act::Answer(reading) => {
                self.wait(if is_first { usual } else { 1_000 });
                self.answer(id, &step, reading);
            }
            Act::Wait { until } => {
                let due = self.specimen.next_change(&self.run, self.now).filter(|due| *due < until);
                let goes_wrong =
                    |due: &Tick| matches!(self.specimen.happens(&self.run, *due), Some(Happening::Incident { .. }));
                if let Some(due) = due.filter(goes_wrong) {
                    self.now = due;
                    return;
                }
                self.now = until;
                if let (Some(begun), Some(ms)) = (begun, lasts) {
                    self.now = self.now.max(Tick(begun.0 + ms));
                }
                if matches!(step.wants, Wants::Hold { .. }) {
                    self.press(id);
                }
            }
            Act::Turn { .. } => {
                self.wait(if is_down && n_turns <= 1 { down.unwrap_or(3_000) } else { 3_000 });
                self.apply(id, Event::Turn { step: id });
            }
            _ => {
                match (&step.wants, begun) {
                    (Wants::Timed { at_least, at_most, .. }, Some(begun)) => {
                        self.now = Tick(begun.0 + lasts.unwrap_or((at_least.0 + at_most.0) / 2)).max(self.now);
                    }
                    (Wants::Hold { .. }, Some(begun)) => self.now = self.now.max(Tick(begun.0 + lasts.unwrap_or(0))),
                    (Wants::Hold { .. } | Wants::Timed { .. }, None) => self.wait(2_000),
                    _ => self.wait(usual),
                }
                self.press(id);
            }
        }
    }

    fn press(&mut self, id: StepId) {
        let event = self.run.press(self.now).expect("one press is enough");
        if !self.apply(id, event.clone()) {
            let Event::Done { step, .. } = event else { panic!("{}: refused", self.run.edition().id) };
            assert!(self.apply(id, Event::Done { step, despite: Some("Practice".to_owned()) }));
        }
    }

    fn answer(&mut self, id: StepId, step: &procedure::Step, reading: ReadingId) {
        let Some(entry) = self.specimen.right_answers(&self.run, reading, self.now).first().cloned() else {
            let add = step.add.as_ref().unwrap_or_else(|| panic!("{}: nothing can be read", step.id));
            assert!(self.apply(id, Event::Add { step: id, reading: add.reading }));
            return;
        };
        let event = |despite: Option<String>| {
            let entry = entry.clone();
            Event::Answer { step: id, reading, entry, seen: self.now, despite }
        };
        let (plain, overruled) = (event(None), event(Some("Practice".to_owned())));
        if !self.apply(id, plain) {
            // Shown the same again, only what must hold beforehand can be in the way.
            let again = self.specimen.right_answers(&self.run, reading, self.now);
            if again.first() == Some(&entry) {
                assert!(self.apply(id, overruled), "{}: {:?}", step.id, self.refused.last());
            }
        }
    }
}

fn adds(told: &Told) -> Option<u64> {
    if let Told::Adds { n } = told { Some(u64::from(*n)) } else { None }
}

/// What was read, words left out: those are the person's own.
fn read(run: &Run) -> Vec<(u16, StepId, ReadingId, Entry)> {
    let taken = run.taken().iter().filter(|taken| !matches!(taken.entry, Entry::Words(_)));
    taken.map(|taken| (taken.attempt, taken.step, taken.reading, taken.entry.clone())).collect()
}

fn results(run: &Run) -> Vec<String> {
    run.results().iter().map(|outcome| format!("{} {}", outcome.id, outcome.reported)).collect()
}

#[test]
fn what_is_read_off_an_ordinary_specimen_is_what_its_way_tells() {
    for edition in editions() {
        for seed in 0..3 {
            let name = format!("{} {} seed {seed}", edition.id, edition.system);
            let scenario = Scenario::clean(&edition, seed).unwrap();
            let told = perform(&edition, &scenario.way);
            let candidate = Candidate::new(&edition, scenario).work();
            assert_eq!(candidate.run.phase(), Phase::Finished, "{name}: {:?}", candidate.run.endings());
            assert_eq!(read(&candidate.run), read(&told.run), "{name}");
            assert_eq!(results(&candidate.run), results(&told.run), "{name}");
            assert!(candidate.specimen.looks(&candidate.run).iter().all(specimen::Look::is_right), "{name}");
        }
    }
}

#[test]
fn who_does_what_is_right_for_what_is_seen_comes_to_every_branch_there_is_a_way_to() {
    let (mut n_ways, mut missed) = (0, Vec::new());
    for edition in editions() {
        for branch in branches(&edition) {
            let Ok(scenario) = Scenario::toward(&edition, &branch, 11) else { continue };
            n_ways += 1;
            let candidate = Candidate::new(&edition, scenario).work();
            if !meets_with(&candidate.run, &candidate.refused, &branch) {
                missed.push(format!("{} {}: {}", edition.id, edition.system, branch.id));
            }
        }
    }
    assert!(n_ways > 500, "{n_ways} ways");
    assert_eq!(missed, Vec::<String>::new(), "{} of {n_ways}", missed.len());
}

#[test]
fn every_seed_makes_a_specimen_and_the_same_seed_the_same() {
    for edition in editions() {
        let mut branches: Vec<String> = Vec::new();
        for seed in 0..6 {
            let scenario = Scenario::by_seed(&edition, seed).unwrap();
            if seed == 0 {
                assert_eq!(Scenario::by_seed(&edition, seed).unwrap(), scenario);
            }
            branches.push(scenario.way.branch.id.clone());
        }
        branches.sort();
        branches.dedup();
        assert!(branches.len() > 2, "{}: seeds lead to {branches:?} only", edition.id);
    }
}

#[test]
fn words_are_invented_and_never_empty() {
    for edition in editions() {
        let candidate = Candidate::new(&edition, Scenario::clean(&edition, 1).unwrap());
        for (n, asked) in edition.readings.iter().enumerate() {
            if asked.kind == ReadingKind::Words {
                let reading = ReadingId(u16::try_from(n).unwrap());
                let right = candidate.specimen.right_answers(&candidate.run, reading, Tick(0));
                assert!(matches!(&right[..], [Entry::Words(words)] if words.starts_with("Practice ")), "{}", asked.id);
            }
        }
    }
}
