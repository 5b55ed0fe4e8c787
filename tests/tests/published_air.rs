//! The published and derived worked examples of the volumetric air test, each run through the real engine with the
//! shipped procedure.
//!
//! Every example names its source in `data/examples.toml`; so does every failure here.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "in a test a panic is the report")]

use std::fs;
use std::path::Path;

use acceptance::technician::{Technician, exact, shipped};
use engine::{Outcome, Phase, Run};
use quantity::{Exact, System};

fn beside(path: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap()
}

/// A run with the readings of an example, everything else as it should be. `levels`: where each rolling settles.
fn perform(system: System, alcohol: &str, cups: u32, levels: &[&str]) -> Run {
    let (bowl, water) = match system {
        System::InchPound => ("0.0750", "1"),
        System::Si => ("2.100", "0.5"),
    };
    let mut technician = Technician::of("air-volumetric", system)
        .reads("alcohol", alcohol)
        .reads("bowl", bowl)
        .reads("water", water)
        .reads("cup", "1.00")
        .reads("strength", "70")
        .reads("foam", "0")
        .adds("cups", cups);
    for level in levels {
        // Twice, so that it stands still.
        technician = technician.reads("level", level).reads("level", level);
    }
    technician.work()
}

fn only(run: &Run) -> Outcome<'_> {
    let results = run.results();
    assert_eq!(results.len(), 1);
    results.into_iter().next().unwrap()
}

fn term(outcome: &Outcome<'_>, label: &str) -> Exact {
    outcome.terms.iter().find(|term| term.term.label == label).unwrap().value.clone()
}

/// One example of the data file.
struct Example<'a> {
    table: &'a toml::Table,
    name: String,
}

impl<'a> Example<'a> {
    fn text(&self, part: &str, key: &str) -> &'a str {
        self.table[part][key].as_str().unwrap_or_else(|| panic!("{}: {part}.{key}", self.name))
    }
}

#[test]
fn every_worked_example_of_the_volumetric_method_comes_out_of_a_real_run() {
    let text = beside("data/examples.toml");
    let data: toml::Table = text.parse().unwrap();
    let all = data["example"].as_array().unwrap();
    // Counted in the bare text, so that an example the loop below passes over is missed.
    let n_present = text.lines().filter(|line| line.starts_with("method = \"volumetric.")).count();
    let mut n_run = 0;
    for table in all.iter().filter_map(toml::Value::as_table) {
        // Examples of other kinds, such as plain rounding, name no method.
        let Some(method) = table.get("method").and_then(toml::Value::as_str) else { continue };
        if !method.starts_with("volumetric.") {
            continue;
        }
        let name = format!("{} ({})", table["id"].as_str().unwrap(), table["source"].as_str().unwrap());
        let example = Example { table, name };
        match method {
            "volumetric.alcohol_correction" => alcohol_row(&example),
            "volumetric.air" => air(&example),
            "volumetric.roll_rule" => rolls(&example),
            other => panic!("{}: no way to run {other}", example.name),
        }
        n_run += 1;
    }
    assert_eq!(n_run, n_present, "every example that is present is run");
    assert!(n_run >= 12, "the data file holds at least the twelve examples known when this was written");
}

/// A row of the table, in pints and in litres: from the table itself, and as the correction of a whole run.
fn alcohol_row(example: &Example<'_>) {
    let name = &example.name;
    let expected = exact(example.text("expected", "correction_pct"));
    for (system, key) in [(System::InchPound, "pints"), (System::Si, "litres")] {
        let alcohol = example.text("inputs", key);
        let edition = shipped("air-volumetric", system);
        let table = edition.tables.iter().find(|table| table.id == "alcohol_correction").unwrap();
        assert_eq!(table.at(&exact(alcohol)), Some(expected.clone()), "{name}: {alcohol} {key}, from the table");
        // The table's rows stop where the measure's range does, so every row can be a run.
        let run = perform(system, alcohol, 0, &["6.00", "6.00"]);
        let outcome = only(&run);
        assert_eq!(term(&outcome, "Correction for the alcohol"), expected, "{name}: {alcohol} {key}, in a run");
        assert_eq!(outcome.reported.exact, exact("6.00") - &expected, "{name}: {alcohol} {key}, the sum");
    }
}

/// A whole run: the correction, the exact sum, the reported value.
fn air(example: &Example<'_>) {
    let name = &example.name;
    let level = example.text("inputs", "final_reading_pct");
    let cups = example.text("inputs", "cups").parse().unwrap();
    let run = perform(System::InchPound, example.text("inputs", "alcohol_pt"), cups, &[level, level]);
    let outcome = only(&run);
    assert_eq!(
        term(&outcome, "Correction for the alcohol"),
        exact(example.text("expected", "correction_pct")),
        "{name}: correction"
    );
    let reported = &outcome.reported;
    assert_eq!(reported.exact, exact(example.text("expected", "air_pct_unrounded")), "{name}: before rounding");
    assert_eq!(reported.rounded, exact(example.text("expected", "air_pct_report")), "{name}: as reported");
    assert_eq!(reported.to_string(), format!("{} %", example.text("expected", "air_pct_report")), "{name}: as shown");
}

/// Two or three rollings: which reading is final, or that the attempt is discarded.
fn rolls(example: &Example<'_>) {
    let name = &example.name;
    let readings = example.table["inputs"]["readings_pct"].as_array().unwrap();
    let levels: Vec<&str> = readings.iter().map(|level| level.as_str().unwrap()).collect();
    let run = perform(System::InchPound, "1.0", 0, &levels);
    assert_eq!(run.rounds().len(), levels.len(), "{name}: rollings");
    let final_reading = example.text("expected", "final_reading_pct");
    match example.text("expected", "outcome") {
        "discard" => {
            assert_eq!(run.phase(), Phase::Ended, "{name}");
            assert!(run.results().is_empty(), "{name}: nothing is reported");
            assert_eq!(run.endings().len(), 1, "{name}");
            assert_eq!(final_reading, "none", "{name}");
        }
        "accept_second" | "accept_third" => {
            let outcome = only(&run);
            assert_eq!(term(&outcome, "Final meter reading"), exact(final_reading), "{name}");
            assert_eq!(outcome.reported.exact, exact(final_reading), "{name}: no alcohol correction, no cups");
        }
        other => panic!("{name}: an outcome called {other} is not known"),
    }
}
