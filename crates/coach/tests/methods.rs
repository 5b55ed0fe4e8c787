//! Every shipped method runs to its end from a script and from the keyboard, in each unit system it is stated in.
//!
//! The scripts in `demo` and `demo/methods` are invented runs with the sum worked out by hand; each is played as lines, and once
//! more as the keys a person would press at the same moments. Both must come to the same results.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "in a test a panic is the report")]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use coach::line::language::{Said, read};
use coach::line::script::{Script, What, play};
use coach::rim::library;
use coach::screen::{Effect, Input, Model, Options, next_change, update};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Phase, Run, Tick};
use procedure::ReadingKind;
use quantity::{System, Ties};

fn folder(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(path)
}

fn names(path: &str, ending: &str) -> Vec<String> {
    let entries = fs::read_dir(folder(path)).unwrap();
    let mut names: Vec<String> = entries
        .filter_map(|entry| entry.unwrap().file_name().to_str()?.strip_suffix(ending).map(str::to_owned))
        .collect();
    names.sort();
    names
}

/// The scripts of the methods, and the demonstrations.
fn scripts() -> Vec<String> {
    let methods = names("demo/methods", ".lines").into_iter().map(|name| format!("methods/{name}"));
    methods.chain(names("demo", ".lines")).collect()
}

fn script(name: &str) -> Script {
    let text = fs::read_to_string(folder("demo").join(format!("{name}.lines"))).unwrap();
    Script::read(&text).unwrap_or_else(|faulty| panic!("{name}: {faulty}"))
}

/// Plays a script as lines.
fn by_lines(name: &str) -> Run {
    let script = script(name);
    let data = tempfile::tempdir().unwrap();
    let found = library::find(script.head.method.as_deref().expect("it names its method"), false).unwrap();
    let (mut talk, mut keeper) = script.open(&found, None, Ties::Even, data.path().to_owned()).unwrap();
    let mut said = Vec::new();
    if let Err(stopped) = play(&script, &mut talk, &mut keeper, &mut said) {
        panic!("{name}: {stopped}\n\n{}", String::from_utf8_lossy(&said));
    }
    assert!(keeper.load().unwrap().run.same_state(talk.run()), "{name}: the record holds what was done");
    talk.run().clone()
}

/// A person at the keys.
struct Hands {
    model: Model,
    script: Script,
    now: Tick,
    kept: u64,
}

impl Hands {
    fn new(script: Script) -> Self {
        let found = library::find(script.head.method.as_deref().unwrap(), false).unwrap();
        let system = script.head.system.unwrap_or_else(|| found.systems()[0]);
        let edition = Arc::new(found.edition(system).unwrap());
        let opened = script.moment(Tick(0));
        let run = Run::open(edition, script.head.ties.unwrap_or(Ties::Even), opened);
        let model = Model::new(run, opened, Options::default());
        Self { model, script, now: Tick(0), kept: 1 }
    }

    fn input(&mut self, input: Input) {
        let now = self.script.moment(self.now);
        for effect in update(&mut self.model, input, now) {
            if matches!(effect, Effect::Keep { .. }) {
                self.kept += 1;
                self.input(Input::Kept { entries: self.kept });
            }
        }
    }

    fn wait(&mut self, until: Tick) {
        while let Some(change) = next_change(&self.model, self.now).filter(|change| *change <= until) {
            self.now = change;
            self.input(Input::Wake);
        }
        self.now = until;
    }

    fn press(&mut self, code: KeyCode) {
        self.input(Input::Key(KeyEvent::new(code, KeyModifiers::NONE)));
    }

    fn keys(&mut self, text: &str) {
        for sign in text.chars() {
            self.press(KeyCode::Char(sign));
        }
    }

    /// The keys for a line; false if the line has none that are as short.
    fn do_line(&mut self, said: &str) -> bool {
        let asked = match self.model.run.offer(self.now).act {
            Act::Answer(reading) => Some(reading),
            _ => None,
        };
        match read(said) {
            Ok(Said::Next | Said::Done(None) | Said::Begin | Said::Turn | Said::Again | Said::Close) => {
                self.press(KeyCode::Enter);
            }
            // Typed now, taken with the press that ends the step.
            Ok(Said::Count(n)) => self.keys(&n.to_string()),
            Ok(Said::Add) => self.keys("c"),
            Ok(Said::Undo) => self.keys("u"),
            Ok(Said::Bare(text) | Said::Answer(text) | Said::Read { value: text, .. }) => {
                let Some(reading) = asked else {
                    // A bare number at a count.
                    self.keys(&text);
                    return true;
                };
                match &self.model.run.edition().reading(reading).kind {
                    ReadingKind::Choice(choices) => {
                        let is_it = |choice: &&procedure::Choice| {
                            choice.id == text || choice.label == text || choice.key.to_string() == text
                        };
                        let key = choices.iter().find(is_it).unwrap_or_else(|| panic!("no answer {text}")).key;
                        self.press(KeyCode::Char(key));
                        // A key that stands for something else here chooses and does not take.
                        if self.model.run.offer(self.now).act == Act::Answer(reading)
                            && self.model.run.latest(reading).is_none()
                        {
                            self.press(KeyCode::Enter);
                        }
                    }
                    ReadingKind::Words => {
                        self.keys(&text);
                        self.press(KeyCode::Enter);
                    }
                    _ => {
                        // On the screen a fraction is typed with a dash: the space is the big key.
                        self.keys(&text.replace(' ', "-"));
                        let before = self.model.run.n_accepted();
                        self.press(KeyCode::Enter);
                        if self.model.run.n_accepted() == before {
                            // Refused: what was typed is cleared for the next try.
                            self.press(KeyCode::Esc);
                        }
                    }
                }
            }
            Ok(Said::Where | Said::Steps | Said::Clocks | Said::Readings | Said::Why | Said::Help) => {}
            _ => return false,
        }
        true
    }
}

/// Plays a script as keys; `None` if it holds a line that is more than a few keys, such as a correction.
fn by_keys(name: &str) -> Option<Run> {
    let script = script(name);
    let lines = script.lines.clone();
    let mut hands = Hands::new(script);
    for line in lines {
        hands.wait(line.at);
        if let What::Say(said) = &line.what
            && !hands.do_line(said)
        {
            return None;
        }
    }
    Some(hands.model.run)
}

fn outcome(run: &Run) -> (Phase, Vec<String>, Vec<String>) {
    let results = run.results().iter().map(|outcome| format!("{}: {}", outcome.id, outcome.reported)).collect();
    let endings = run.endings().iter().map(|ended| ended.because.clone()).collect();
    (run.phase(), results, endings)
}

#[test]
fn every_script_of_a_method_comes_to_the_same_end_by_lines_and_by_keys() {
    for name in scripts() {
        let lines = by_lines(&name);
        if let Some(keys) = by_keys(&name) {
            assert_eq!(outcome(&keys), outcome(&lines), "{name}: by keys, by lines");
        }
    }
}

#[test]
fn every_method_reaches_a_result_by_lines_and_by_keys_in_each_unit_system() {
    let mut wanted = BTreeSet::new();
    for method in names("procedures", ".toml") {
        for system in library::find(&method, false).unwrap().systems() {
            wanted.insert((method.clone(), system.to_string()));
        }
    }
    let mut reached = BTreeSet::new();
    for name in scripts() {
        let Some(run) = by_keys(&name) else { continue };
        let has_result = matches!(run.phase(), Phase::Finished | Phase::Closed { with_result: true });
        if has_result && !run.results().is_empty() && outcome(&by_lines(&name)) == outcome(&run) {
            reached.insert((run.edition().id.clone(), run.edition().system.to_string()));
        }
    }
    let missing: Vec<_> = wanted.difference(&reached).collect();
    assert!(missing.is_empty(), "no script in demo/methods brings these to a result: {missing:?}");
    assert!(wanted.len() >= 25, "the methods known when this was written are there: {wanted:?}");
    assert!(wanted.iter().any(|(_, system)| *system == System::Si.to_string()));
}
