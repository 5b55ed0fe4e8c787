//! Whole days on one sample, through the real program: one person, one pair of hands, time set by a script.
//!
//! What must come out is worked out by hand here and at the head of each script. The times of the limits are computed
//! from the journals of the runs, act by act, and then compared with what the sheet says.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::collections::BTreeMap;
use std::fs;

use acceptance::day::millis;
use acceptance::site::{happened, payloads};
use acceptance::{Day, Site};
use serde_json::Value;

const RUNS: [&str; 6] = ["sampling", "temperature", "slump", "density", "air-volumetric", "cylinders"];

/// A limit: its run, the step or moment it counts from, the step that ends it, how many seconds it allows.
type Limit = (&'static str, &'static str, &'static str, u64);

/// Every limit of the six tests, in the order of the sheet. A moment of the sample stands as `@moment`. The site file gives
/// the density 15 min.
const LIMITS: [Limit; 10] = [
    ("sampling", "portion-1", "last-portion", 900),
    ("temperature", "@last-portion", "place", 300),
    ("temperature", "@last-portion", "read", 600),
    ("temperature", "press-round", "read", 300),
    ("slump", "@last-portion", "first-scoop", 300),
    ("slump", "first-scoop", "lift", 150),
    ("density", "@last-portion", "first-scoop", 900),
    ("air-volumetric", "@last-portion", "layer-1", 300),
    ("cylinders", "@composite", "first-scoop", 900),
    ("cylinders", "moulded", "stored", 900),
];

fn played(day: &str) -> (Site, String) {
    let site = Site::new();
    let done = site.day(day);
    assert_eq!(done.code, Some(0), "{day}: {}", done.err);
    for word in ["NOT-RECORDED", "ERROR", "DESPITE"] {
        assert!(!done.out.contains(word), "{day}: {word} was said");
    }
    (site, done.out)
}

/// The report of one run of a sample, as programs read it.
fn report(site: &Site, run: &str) -> Value {
    site.json(&["report", site.runs()[run].to_str().unwrap(), "--format", "json"])
}

fn sheet(site: &Site) -> Value {
    let of = payloads(&site.runs()["sampling"])[0]["sample"]["name"].as_str().unwrap().to_owned();
    site.json(&["report", &of, "--format", "json"])
}

/// The reported results of a run: `slump 4.25 in`.
fn results(report: &Value) -> Vec<String> {
    let text = |result: &Value, name: &str| result[name].as_str().unwrap_or_default().to_owned();
    let result = |result: &Value| {
        format!("{} {} {}", text(result, "id"), text(result, "value"), text(result, "unit")).trim_end().to_owned()
    };
    report["results"].as_array().unwrap().iter().map(result).collect()
}

/// When each step of a run was done last, and each moment of the sample that it was told, in milliseconds of the sample's
/// clock; straight from the journal.
fn done(site: &Site, run: &str) -> BTreeMap<String, u64> {
    let mut done = BTreeMap::new();
    for act in happened(&site.runs()[run]) {
        let (event, at) = (&act["event"], act["at"]["t"].as_u64().unwrap());
        match (event["what"].as_str().unwrap(), event["step"].as_str(), event["moment"].as_str()) {
            ("done" | "answer", Some(step), _) => {
                done.insert(step.to_owned(), at);
            }
            ("known", _, Some(moment)) => {
                done.insert(format!("@{moment}"), event["at"]["t"].as_u64().unwrap_or(at));
            }
            _ => {}
        }
    }
    done
}

/// How long each limit took, in milliseconds, by the journals.
fn took(site: &Site) -> Vec<u64> {
    let runs: BTreeMap<&str, _> = RUNS.into_iter().map(|run| (run, done(site, run))).collect();
    let took = |(run, from, to, _): &Limit| {
        let at = |step: &str| *runs[run].get(step).unwrap_or_else(|| panic!("{run}: {step} is not on record"));
        at(to) - at(from)
    };
    LIMITS.iter().map(took).collect()
}

// ---------------------------------------------------------------------------------------------- every window kept

/// How long each limit takes in `kept.lines`, worked out by hand from its moments, in seconds.
const KEPT_S: [u64; 10] = [280, 87, 226, 134, 108, 98, 238, 266, 805, 270];

#[test]
fn one_person_performs_six_tests_on_one_sample_and_keeps_every_window() {
    let (site, said) = played("kept");
    let last = said.lines().last().unwrap();
    assert_eq!(last, "CLOSED Every test of this sample is closed.");

    let took = took(&site);
    assert_eq!(took, KEPT_S.map(|s| s * 1_000));
    for ((run, from, to, at_most), took) in LIMITS.iter().zip(&took) {
        assert!(*took <= at_most * 1_000, "{run}: {from} to {to} took {took} ms");
    }
    for run in RUNS {
        let report = report(&site, run);
        assert_eq!(report["standing"], "finished", "{run}");
        assert_eq!(report["findings"], Value::Array(vec![]), "{run}");
        assert_eq!(report["attempts"].as_array().unwrap().len(), 1, "{run}");
        assert_eq!(report["taken_back"], 0, "{run}");
    }
    assert!(!said.contains("] OVER") && !said.contains("] FINDING"), "nothing was late");
}

#[test]
fn the_results_of_the_day_are_those_worked_out_by_hand() {
    let (site, _) = played("kept");
    let expected: [(&str, &[&str]); 6] = [
        ("sampling", &["portions 3"]),
        ("temperature", &["temperature 72 °F"]),
        ("slump", &["slump 4.25 in"]),
        (
            "density",
            &[
                "density 142.0 lb/ft³",
                "yield 7.95 yd³",
                "relative_yield 0.99",
                "cement_content 484 lb/yd³",
                "water_cement 0.44",
                "air_gravimetric 5.9 %",
            ],
        ),
        ("air-volumetric", &["air 6.00 %"]),
        ("cylinders", &["specimens 6", "curing_from 60 °F", "curing_to 80 °F"]),
    ];
    for (run, expected) in expected {
        let reported: Vec<String> =
            results(&report(&site, run)).into_iter().map(|result| result.trim_end_matches(" 1").to_owned()).collect();
        assert_eq!(&reported[..expected.len()], expected, "{run}");
    }
}

#[test]
fn the_sheet_of_the_sample_says_of_every_window_what_the_journals_say() {
    for (day, n_late) in [("kept", 0), ("slow-slump", 1)] {
        let (site, _) = played(day);
        let sheet = sheet(&site);
        let windows: Vec<&Value> = sheet["windows"].as_array().unwrap().iter().collect();
        let took = took(&site);
        assert_eq!(windows.len(), LIMITS.len(), "{day}");
        let mut late = 0;
        for ((limit, took), window) in LIMITS.iter().zip(took).zip(windows) {
            assert_eq!(window["allowed"]["value"].as_str(), Some(limit.3.to_string().as_str()), "{day}: {limit:?}");
            assert_eq!(window["took"]["value"].as_str(), Some((took / 1_000).to_string().as_str()), "{day}: {limit:?}");
            let is_kept = took <= limit.3 * 1_000;
            assert_eq!(window["verdict"]["is"] == "kept", is_kept, "{day}: {limit:?}: {window}");
            late += usize::from(!is_kept);
        }
        assert_eq!(late, n_late, "{day}");
    }
}

#[test]
fn a_sample_is_listed_with_its_runs_and_the_record_of_each_stands_alone() {
    let (site, _) = played("kept");
    let list = site.run(&["list"]);
    assert_eq!(list.code, Some(0), "{list:?}");
    assert!(
        list.out.contains("2026-05-14-0830-sample-script") && list.out.contains("6 of 6 tests begun, 0 open"),
        "{list:?}"
    );
    site.verify_sample();
    let runs = site.runs();
    assert_eq!(runs.len(), RUNS.len());
    for run in RUNS {
        let file = &runs[run];
        let name = file.file_stem().unwrap().to_str().unwrap();
        assert!(list.out.contains(name), "{name} is not in the list:\n{}", list.out);
        site.verify_file(file);

        // Handed over alone, without the sample's file and the other runs.
        let elsewhere = Site::new();
        fs::create_dir_all(elsewhere.data().join("runs")).unwrap();
        let copy = elsewhere.data().join("runs").join(file.file_name().unwrap());
        fs::copy(file, &copy).unwrap();
        elsewhere.verify_file(&copy);
        for what in [&["show"][..], &["report"], &["report", "--format", "json"], &["report", "--format", "csv"]] {
            let said = |site: &Site| {
                let mut args = vec![what[0], name];
                args.extend(&what[1..]);
                let done = site.run(&args);
                assert_eq!(done.code, Some(0), "{run}: {what:?}: {done:?}");
                assert!(done.out.lines().count() > 5, "{run}: {what:?}: {done:?}");
                done.out
            };
            assert_eq!(said(&elsewhere), said(&site), "{run}: {what:?}");
        }
    }
}

#[test]
fn the_same_day_leaves_the_same_records_every_time() {
    let records = |day: &str| {
        let (site, said) = played(day);
        let files = site.runs().into_iter().map(|(run, file)| (run, fs::read_to_string(file).unwrap()));
        (said, files.collect::<Vec<_>>())
    };
    for day in ["slow-slump", "mended"] {
        assert_eq!(records(day), records(day), "{day}");
    }
}

// ---------------------------------------------------------------------------------------------- announced, then broken

/// Whether the program has said `words` by `at_ms`, when the day is led no further.
fn is_said_by(day: &Day, at_ms: u64, words: &str) -> bool {
    let site = Site::new();
    let script = site.path().join("until.lines");
    fs::write(&script, day.until(at_ms)).unwrap();
    let done = site.run(&["sample", "--script", script.to_str().unwrap()]);
    assert_eq!(done.code, Some(0), "{done:?}");
    done.out.lines().any(|line| line.contains(words))
}

/// A limit of the slow day: its place in [`LIMITS`], what it is called, when it is announced, when its time is over.
struct Announced {
    limit: usize,
    id: &'static str,
    at: &'static str,
    over: &'static str,
    /// Whether it was kept after all.
    is_kept: bool,
}

/// Worked out by hand: a limit is announced a fifth of it before its end, at most a minute.
///
/// * The slump's 2 min 30 s from 31:48 are over at 34:18; a fifth is 30 s.
/// * The air test is to be begun by 35:00; a fifth of 5 min is a minute.
/// * The sensor is in from 31:32 and to be read by 36:32; a fifth of 5 min is a minute.
/// * The moulding is to be begun by 45:55; a fifth of 15 min would be three minutes, so it is one.
const ANNOUNCED: [Announced; 4] = [
    Announced { limit: 5, id: "whole-test", at: "33:48", over: "34:18", is_kept: false },
    Announced { limit: 7, id: "start-of-test", at: "34:00", over: "35:00", is_kept: false },
    Announced { limit: 3, id: "in-the-concrete", at: "35:32", over: "36:32", is_kept: true },
    Announced { limit: 8, id: "begin-moulding", at: "44:55", over: "45:55", is_kept: true },
];

#[test]
fn a_window_that_a_slow_slump_breaks_is_announced_before_it_breaks() {
    let day = Day::read("slow-slump");
    for Announced { limit, id, at, over, is_kept } in ANNOUNCED {
        let run = LIMITS[limit].0;
        let (near, due) = (format!("[{run}] NEAR {id} "), format!("[{run}] DUE {id} "));
        let (at, over) = (millis(at), millis(over));
        assert!(at < over);
        assert!(!is_said_by(&day, at - 1, &near), "{run}: {id} is announced too early");
        assert!(is_said_by(&day, at, &near), "{run}: {id} is not announced at its time");
        assert!(!is_said_by(&day, over - 1, &due), "{run}: {id} is said to be over, and it is not");
        assert_eq!(is_said_by(&day, over + 1, &due), !is_kept, "{run}: {id}");
    }
}

#[test]
fn what_the_slow_slump_breaks_is_a_discarded_attempt_and_one_finding_and_nothing_else() {
    let (site, said) = played("slow-slump");
    let near = |run: &str| said.lines().filter(|line| line.starts_with(&format!("[{run}] NEAR "))).count();
    assert_eq!(RUNS.map(near), [0, 1, 1, 0, 1, 1]);

    // By the journals: the first slump from 31:48 to 34:29, 2 min 41 s; the second is the one that counts.
    let slump = report(&site, "slump");
    let attempts = slump["attempts"].as_array().unwrap();
    assert_eq!(attempts.len(), 2);
    let ended = &attempts[0]["ended"];
    assert_eq!(ended["kind"], "discarded");
    assert!(ended["because"].as_str().unwrap().contains("within 2 min 30 s of the first scoop"), "{ended}");
    assert_eq!(ended["time"]["run_ms"].as_u64(), Some(millis("34:29")));
    assert_eq!(attempts[1]["ended"], Value::Null);
    assert_eq!(results(&slump), ["slump 4.25 in"]);

    for run in RUNS {
        let report = report(&site, run);
        assert_eq!(report["standing"], "finished", "{run}");
        let findings = report["findings"].as_array().unwrap();
        let late: Vec<_> = findings.iter().filter(|finding| finding["kind"] == "late").collect();
        assert_eq!(findings.len(), late.len(), "{run}: {findings:?}");
        match run {
            "air-volumetric" => {
                // To be begun by 35:00, begun at 37:06.
                assert_eq!(late.len(), 1);
                assert_eq!(late[0]["time"]["run_ms"].as_u64(), Some(millis("37:06")));
                assert!(late[0]["text"].as_str().unwrap().contains("it took 7 min 6 s"), "{}", late[0]);
            }
            _ => assert!(late.is_empty(), "{run}: {late:?}"),
        }
    }
    site.verify_sample();
    // From 31:48 on only the order and the times were others, so the results are those of the other day.
    let (kept, _) = played("kept");
    for run in RUNS {
        assert_eq!(results(&report(&site, run)), results(&report(&kept, run)), "{run}");
    }
}

// ---------------------------------------------------------------------------------------------- mended

#[test]
fn a_sheared_slump_is_made_again_in_time_and_a_figure_written_down_wrongly_is_corrected() {
    let (site, said) = played("mended");
    // Sheared at 15:28, and 5 min after the last portion are over at 17:00.
    assert!(said.contains("[slump] REPEAT allowed on this sample for another 1:32"));
    let slump = report(&site, "slump");
    assert_eq!(slump["attempts"].as_array().unwrap().len(), 2);
    assert_eq!(results(&slump), ["slump 4.00 in"]);
    // Begun again at 16:09, 4 min 9 s after the last portion: no finding.
    let again = done(&site, "slump");
    assert_eq!(again["first-scoop"] - again["@last-portion"], 249_000);
    assert_eq!(slump["findings"], Value::Array(vec![]));

    let temperature = report(&site, "temperature");
    assert_eq!(results(&temperature), ["temperature 72 °F"]);
    let corrections = temperature["corrections"].as_array().unwrap();
    assert_eq!(corrections.len(), 1);
    let text = |name: &str| corrections[0][name].as_str().unwrap_or_default().to_owned();
    assert!(text("from").contains("74.2") && text("to").contains("72.4"), "{corrections:?}");
    assert!(text("because").contains("swapped"), "{corrections:?}");

    assert_eq!(results(&report(&site, "air-volumetric")), ["air 5.50 %"]);
    assert_eq!(results(&report(&site, "sampling")), ["portions 2"]);
    site.verify_sample();
}
