//! Pictures of the other methods, at 80 × 24 and 120 × 40: their invented runs are played by the keys a person presses.

use std::path::Path;
use std::sync::Arc;

use coach::line::language::{Said, read};
use coach::line::script::{Script, What};
use coach::screen::{Colours, Model, Options};
use engine::{Act, Run, Tick};
use procedure::ReadingKind;
use quantity::Ties;

use crate::desk::{Desk, moment};

/// A run in `demo/methods`, played line by line.
pub struct Played {
    pub desk: Desk,
    script: Script,
    next: usize,
}

impl Played {
    pub fn new(name: &str) -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
        let text = std::fs::read_to_string(root.join(format!("demo/methods/{name}.lines"))).unwrap();
        let script = Script::read(&text).unwrap();
        let method = script.head.method.clone().expect("it names its method");
        let text = std::fs::read_to_string(root.join(format!("procedures/{method}.toml"))).unwrap();
        let procedure = procedure::check(&method, &text).procedure.expect("a sound procedure");
        let system = script.head.system.unwrap_or_else(|| procedure.editions[0].system);
        let edition = procedure.edition(system).unwrap().clone();
        let run = Run::open(Arc::new(edition), Ties::Even, moment(Tick(0)));
        let options = Options { run_name: name.to_owned(), place: "/data".to_owned(), ..Options::default() };
        let mut desk = Desk::new();
        desk.model = Model::new(run, moment(Tick(0)), options).with_colours(Colours::True);
        Self { desk, script, next: 0 }
    }

    /// Plays the next line by keys; what it was, or `None` after the last.
    pub fn line(&mut self) -> Option<String> {
        let line = self.script.lines.get(self.next)?.clone();
        self.next += 1;
        self.desk.wait(line.at.0.saturating_sub(self.desk.now.0));
        let What::Say(said) = line.what else { return Some(String::new()) };
        let asked = match self.desk.model.run.offer(self.desk.now).act {
            Act::Answer(reading) => Some(reading),
            _ => None,
        };
        match read(&said).unwrap() {
            Said::Count(n) => {
                self.desk.keys(&n.to_string());
            }
            Said::Add => {
                self.desk.keys("c");
            }
            Said::Undo => {
                self.desk.keys("u");
            }
            Said::Bare(text) | Said::Answer(text) | Said::Read { value: text, .. } => self.give(asked, &text),
            // A step tried out of turn: the list of steps is for that.
            Said::Done(Some(_)) => {}
            Said::Next | Said::Done(None) | Said::Begin | Said::Turn | Said::Again | Said::Close => {
                self.desk.enter();
            }
            _ => return None,
        }
        Some(said)
    }

    fn give(&mut self, asked: Option<procedure::ReadingId>, text: &str) {
        let Some(reading) = asked else {
            self.desk.keys(text);
            return;
        };
        match self.desk.model.run.edition().reading(reading).kind.clone() {
            ReadingKind::Choice(choices) => {
                let is_it = |choice: &&procedure::Choice| {
                    choice.id == text || choice.label == text || choice.key.to_string() == text
                };
                let key = choices.iter().find(is_it).unwrap_or_else(|| panic!("no answer {text}")).key;
                self.desk.keys(&key.to_string());
                // A key that is a command too only marks the answer.
                if self.desk.words().contains("take the marked answer") {
                    self.desk.enter();
                }
            }
            ReadingKind::Words => {
                self.desk.answer(text);
            }
            _ => {
                let before = self.desk.model.run.n_accepted();
                self.desk.answer(&text.replace(' ', "-"));
                if self.desk.model.run.n_accepted() == before {
                    self.desk.press(crossterm::event::KeyCode::Esc);
                }
            }
        }
    }

    /// Plays on until `step` is open.
    pub fn go_to(&mut self, step: &str) -> &mut Self {
        for _ in 0..500 {
            if self.desk.step() == step {
                return self;
            }
            self.line().unwrap_or_else(|| panic!("{step} is not reached"));
        }
        self
    }
}

#[track_caller]
fn shoot(name: &str, desk: &Desk) {
    let both = format!("{}\n{}", desk.picture(80, 24), desk.picture(120, 40));
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, both);
    });
}

fn at(script: &str, step: &str) -> Desk {
    let mut played = Played::new(script);
    played.go_to(step);
    played.desk
}

#[test]
fn the_lift_of_the_slump_cone_is_timed_large() {
    let mut desk = at("slump", "lift");
    desk.space();
    desk.wait(2_200);
    shoot("slump_lift_too_soon", &desk);
    desk.wait(2_400);
    shoot("slump_lift_in_time", &desk);
    let mut late = at("slump", "lift");
    late.space();
    late.wait(7_600);
    shoot("slump_lift_over", &late);
    desk.space();
    desk.sees("It took 4.6 s; 3 s to 7 s are asked.");
    shoot("slump_lift_stopped", &desk);
    late.space();
    late.sees("It took 7.6 s; 3 s to 7 s are asked.");
    shoot("slump_lift_discarded", &late);
}

#[test]
fn the_cone_is_drawn_beside_the_slump_as_it_is_typed() {
    let mut desk = at("slump", "measure");
    shoot("slump_reading", &desk);
    desk.keys("4-1/4");
    shoot("slump_typed", &desk);
}

#[test]
fn the_hands_are_free_while_the_sensor_soaks() {
    let mut desk = at("temperature", "soak");
    desk.space();
    desk.wait(41_000);
    desk.sees("Your hands are free.");
    shoot("temperature_soaking", &desk);
}

#[test]
fn a_refused_answer_says_what_to_do() {
    let mut desk = at("temperature", "device");
    desk.keys("i");
    shoot("temperature_refused", &desk);
}

#[test]
fn masses_are_asked_by_their_names() {
    let mut desk = at("density", "weigh-full");
    shoot("density_full", &desk);
    desk.keys("4.43").enter();
    shoot("density_full_refused", &desk);
}

#[test]
fn every_result_has_its_name() {
    let mut played = Played::new("density");
    while played.desk.model.run.phase() == engine::Phase::AtStep {
        played.line().unwrap();
    }
    shoot("density_results", &played.desk);
}

#[test]
fn the_gauge_is_read_with_the_valve_open() {
    shoot("pressure_gauge", &at("air-pressure", "read"));
}

#[test]
fn a_layer_is_one_of_so_many() {
    let mut played = Played::new("cylinders-si");
    while played.desk.model.run.offer(played.desk.now).round < 2 {
        played.line().unwrap();
    }
    played.desk.sees("round 2 of");
    shoot("cylinders_second_layer", &played.desk);
}
