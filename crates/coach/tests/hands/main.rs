//! Every method led with no ordinary key: by lines, by three clicker keys, by one switch.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "in a test a panic is the report")]

mod dialogue;
mod doubt;
mod hostile;
mod person;
mod pressing;
mod room;
mod speaking;
mod witness;

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use coach::rim::library;
use coach::screen::{BenchModel, BenchOptions, Colours, Member, Model, Options};
use engine::{Phase, Run, Tick};
use person::{Means, Person, moment, specimen};
use procedure::Edition;
use quantity::{System, Ties};

fn edition(method: &str, system: System) -> Arc<Edition> {
    Arc::new(library::find(method, false).unwrap().edition(system).unwrap())
}

fn person(method: &str, system: System, means: Means) -> Person<Model> {
    let edition = edition(method, system);
    let run = Run::open(Arc::clone(&edition), Ties::Even, moment(Tick(0)));
    let model = Model::new(run, moment(Tick(0)), Options::default());
    Person::new(model, means, vec![Some(specimen(&edition, 7))])
}

/// The folder of the scripts that are kept, which the real program plays too.
fn kept(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/hands").join(format!("{name}.keys"))
}

/// What was done is what is kept; `POURSIDE_UPDATE_HANDS=1` keeps it anew.
fn assert_kept(name: &str, arguments: &str, script: &[String]) {
    let mut text = format!("# pourside {arguments} --keys {name}.keys\nstart 2026-05-14T07:30:00-05:00\n");
    for (n, line) in script.iter().enumerate() {
        let _ = writeln!(text, "{line}");
        if n % 25 == 24 {
            text.push_str("+0s see\n");
        }
    }
    text.push_str("+0s see\n");
    let path = kept(name);
    if std::env::var_os("POURSIDE_UPDATE_HANDS").is_some() {
        fs::write(&path, &text).unwrap();
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    assert!(kept == text, "{} is no longer what a person does; POURSIDE_UPDATE_HANDS=1 writes it anew", path.display());
}

fn flag(means: Means) -> &'static str {
    match means {
        Means::Lines | Means::NumberPad => "--hands keys",
        Means::Clicker => "--hands clicker",
        Means::Switch => "--hands switch",
    }
}

fn name(means: Means) -> &'static str {
    match means {
        Means::Lines => "lines",
        Means::Clicker => "clicker",
        Means::Switch => "switch",
        Means::NumberPad => "pad",
    }
}

#[test]
fn a_whole_volumetric_test_and_a_whole_slump_test_are_led_by_each_means() {
    for method in ["air-volumetric", "slump"] {
        let mut results = Vec::new();
        for means in Means::ALL {
            let mut person = person(method, System::InchPound, means);
            person.perform();
            assert_eq!(person.run().phase(), Phase::Closed { with_result: true }, "{method} by {means:?}");
            let script = format!("{method}-{}", name(means));
            assert_kept(&script, &format!("run {method} --system inch-pound {}", flag(means)), &person.script);
            results.push(person.run().results().iter().map(|one| one.reported.to_string()).collect::<Vec<_>>());
        }
        assert!(!results[0].is_empty());
    }
}

#[test]
fn a_whole_test_is_led_with_a_number_pad_alone() {
    for method in ["slump", "air-volumetric", "density"] {
        let mut person = person(method, System::InchPound, Means::NumberPad);
        person.perform();
        assert_eq!(person.run().phase(), Phase::Closed { with_result: true }, "{method}");
        let is_on_a_pad = |line: &String| {
            let key = line.rsplit("key ").next().unwrap();
            key == "Enter" || key.len() == 1 && key.chars().all(|sign| sign.is_ascii_digit() || ".+-*/".contains(sign))
        };
        assert!(person.script.iter().all(is_on_a_pad), "{:?}", person.script);
    }
}

#[test]
fn a_sample_with_four_tests_at_once_is_led_to_its_end_by_each_means() {
    for means in Means::ALL {
        let editions: Vec<_> = ["temperature", "slump", "air-volumetric", "cylinders"]
            .into_iter()
            .map(|method| edition(method, System::InchPound))
            .collect();
        let member = |edition: &Arc<Edition>| Member::new(edition.id.clone(), Arc::clone(edition), Ties::Even);
        let members = editions.iter().map(member).collect();
        let bench = BenchModel::new(members, vec![None; 4], 0, moment(Tick(0)), BenchOptions::default())
            .with_colours(Colours::True, moment(Tick(0)));
        let specimens = editions.iter().map(|edition| Some(specimen(edition, 7))).collect();
        let mut person = Person::new(bench, means, specimens);
        person.perform_all();
        assert!(person.is_finished, "{means:?}");
        let tests = "temperature,slump,air-volumetric,cylinders";
        let arguments = format!("sample --tests {tests} --system inch-pound {}", flag(means));
        assert_kept(&format!("sample-{}", name(means)), &arguments, &person.script);
        for member in person.hands.inner.members() {
            let run = member.run().unwrap();
            assert_eq!(run.phase(), Phase::Closed { with_result: true }, "{} by {means:?}", member.name);
        }
    }
}
