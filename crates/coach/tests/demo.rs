//! Every demonstration runs to the end it expects, the same every time, and its report stands beside it.

#![allow(clippy::unwrap_used, clippy::panic, reason = "in a test a panic is the report")]

use std::fs;
use std::path::{Path, PathBuf};

use coach::line::script::{Script, play};
use coach::report::{Report, Source, csv, json, text};
use coach::rim::{library, store};
use quantity::Ties;

const DEMOS: [&str; 5] = ["plain-run", "foam-again", "cups-over-range", "third-roll-si", "voided-bowl"];

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo")
}

/// Plays a script and returns what it said and the record it left.
fn played(name: &str) -> (String, store::Loaded) {
    let data = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(demo().join(format!("{name}.lines"))).unwrap();
    let script = Script::read(&text).unwrap_or_else(|faulty| panic!("{name}: {faulty}"));
    let found = library::find(script.head.method.as_deref().unwrap(), false).unwrap();
    let (mut talk, mut keeper) = script.open(&found, None, Ties::Even, data.path().to_owned()).unwrap();
    let mut said = Vec::new();
    let outcome = play(&script, &mut talk, &mut keeper, &mut said);
    let said = String::from_utf8(said).unwrap();
    if let Err(stopped) = outcome {
        panic!("{name}: {stopped}\n\n{said}");
    }
    let loaded = keeper.load().unwrap();
    assert!(loaded.run.same_state(talk.run()), "{name}: the record holds what was done");
    (said, loaded)
}

#[test]
fn every_demonstration_runs_to_its_end_the_same_every_time() {
    let mut there: Vec<String> = fs::read_dir(demo())
        .unwrap()
        .filter_map(|entry| entry.unwrap().file_name().to_str()?.strip_suffix(".lines").map(str::to_owned))
        .collect();
    there.sort();
    let mut listed = DEMOS.to_vec();
    listed.sort_unstable();
    assert_eq!(there, listed, "the scripts in the folder are those played here");
    for name in DEMOS {
        let (said, loaded) = played(name);
        let (said_again, loaded_again) = played(name);
        assert_eq!(said, said_again, "{name}");
        assert_eq!(loaded.last_sum, loaded_again.last_sum, "{name}: the same journal to the byte");
        let [first, again] = [&loaded, &loaded_again].map(|loaded| Report::new(&Source::from(loaded)));
        assert_eq!(first, again, "{name}");
    }
}

#[test]
fn the_reports_beside_the_demonstrations_are_those_the_program_makes() {
    let update = std::env::var_os("POURSIDE_UPDATE_DEMO").is_some();
    for name in DEMOS {
        let (_, loaded) = played(name);
        let report = text::render(&Report::new(&Source::from(&loaded)));
        let path = demo().join("reports").join(format!("{name}.txt"));
        if update {
            fs::write(&path, &report).unwrap();
        }
        let beside = fs::read_to_string(&path).unwrap_or_default();
        assert_eq!(
            beside, report,
            "demo/reports/{name}.txt is stale; make it anew: POURSIDE_UPDATE_DEMO=1 cargo test -p coach --test demo"
        );
    }
}

#[test]
fn the_report_of_each_demonstration_in_its_other_forms() {
    for name in DEMOS {
        let (_, loaded) = played(name);
        let report = Report::new(&Source::from(&loaded));
        insta::assert_snapshot!(format!("{name}.json"), json::render(&report));
        insta::assert_snapshot!(format!("{name}.csv"), csv::render(&report));
    }
}

#[test]
fn what_a_plain_run_says_line_by_line() {
    insta::assert_snapshot!(played("plain-run").0);
}

#[test]
fn an_ordinary_report_fits_a_printed_page() {
    for name in ["plain-run", "voided-bowl"] {
        let report = text::render(&Report::new(&Source::from(&played(name).1)));
        let lines: Vec<&str> = report.lines().collect();
        assert!(lines.len() <= 60, "{name}: {} lines\n{report}", lines.len());
        for line in lines {
            assert!(line.chars().count() <= text::WIDTH, "{name}: too wide: {line}");
        }
    }
}

#[test]
fn a_demonstration_watched_on_the_screen_leaves_the_record_of_its_script() {
    for demo in coach::demo::DEMOS {
        let data = tempfile::tempdir().unwrap();
        let options = coach::screen::Options::default();
        let mut player = coach::demo::Player::open(demo, data.path().to_owned(), options).unwrap();
        let mut now = engine::Tick(0);
        // Frames of a third of a second of the run, with a pause in the middle.
        while !player.is_over() {
            now = engine::Tick(now.0 + 333);
            player.advance(now).unwrap();
            player.pause(now.0.is_multiple_of(2));
        }
        let watched = player.into_keeper().load().unwrap();
        let (_, loaded) = played(demo.name);
        assert_eq!(watched.last_sum, loaded.last_sum, "{}: the same journal to the byte", demo.name);
    }
    let names: Vec<&str> = coach::demo::DEMOS.iter().map(|demo| demo.name).collect();
    assert_eq!(names, DEMOS, "every script in the folder can be watched");
}

#[test]
fn a_demonstration_says_at_all_times_that_its_time_is_simulated() {
    let data = tempfile::tempdir().unwrap();
    let demo = coach::demo::find(Some("plain-run")).unwrap();
    let mut player =
        coach::demo::Player::open(demo, data.path().to_owned(), coach::screen::Options::default()).unwrap();
    for is_paused in [false, true] {
        player.pause(is_paused);
        assert!(player.model.options.simulated.as_deref().is_some_and(|said| said.contains("simulated time")));
    }
    let why = coach::demo::find(Some("plain-rum")).unwrap_err();
    assert!(matches!(why, coach::demo::NotPlayed::Unknown { hint, .. } if hint == "Did you mean “plain-run”?"));
}
