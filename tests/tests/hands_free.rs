//! Whole tests led with no ordinary key, from the start to the sheet, by the real program: by lines, by three clicker keys,
//! by one switch.
//!
//! The scripts in `tests/hands` are what a simulated person did (`crates/coach/tests/hands` makes them); beside each lies
//! the transcript: what was said, recorded and shown. `POURSIDE_UPDATE_HANDS=1` writes the transcripts anew.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

use std::fs;
use std::path::{Path, PathBuf};

use acceptance::{Site, house, records};

const MEANS: [&str; 3] = ["lines", "clicker", "switch"];

fn kept(name: &str) -> PathBuf {
    house().join("tests/hands").join(name)
}

fn text(site: &Site, arguments: &[&str]) -> String {
    let done = site.run(arguments);
    assert_eq!(done.code, Some(0), "{arguments:?}: {}", done.err);
    done.out
}

fn stem(path: &Path) -> String {
    path.file_stem().unwrap().to_str().unwrap().to_owned()
}

/// Plays a script that is kept; the transcript must be the one beside it.
fn play(name: &str) -> Site {
    let script = kept(&format!("{name}.keys"));
    let head = fs::read_to_string(&script).unwrap();
    let said = head.lines().next().unwrap().strip_prefix("# pourside ").unwrap().split(" --keys ").next().unwrap();
    let site = Site::new();
    let script = script.display().to_string();
    let arguments: Vec<&str> = said.split(' ').chain(["--keys", &script]).collect();
    let mut transcript = text(&site, &arguments);
    // What follows is about files; names of runs end by chance.
    let end = transcript.find("\nThe ").unwrap_or(transcript.len());
    transcript.truncate(end + 1);
    for path in records(&site.data()).into_iter().chain(site.sample()) {
        transcript = transcript.replace(&stem(&path), &"R".repeat(stem(&path).len()));
    }
    let beside = kept(&format!("{name}.transcript"));
    if std::env::var_os("POURSIDE_UPDATE_HANDS").is_some() {
        fs::write(&beside, &transcript).unwrap();
    }
    let kept = fs::read_to_string(&beside).unwrap_or_default();
    for (n, (now, then)) in transcript.lines().zip(kept.lines()).enumerate() {
        assert_eq!(now, then, "{name}: line {} of the transcript", n + 1);
    }
    assert_eq!(transcript.lines().count(), kept.lines().count(), "{name}: lines of the transcript");
    site
}

#[test]
fn a_volumetric_test_goes_from_the_start_to_its_report_by_each_means() {
    for means in MEANS {
        let site = play(&format!("air-volumetric-{means}"));
        site.verify();
        let report = text(&site, &["report"]);
        assert!(report.contains("Air content") && report.contains('%'), "{means}: {report}");
    }
}

#[test]
fn a_slump_test_with_its_lift_goes_to_its_report_by_each_means() {
    for means in MEANS {
        let site = play(&format!("slump-{means}"));
        site.verify();
        assert_eq!(site.result().0, "4.25 in", "{means}");
        // A moment that a spoken line marked is called so.
        let report = text(&site, &["report"]);
        assert_eq!(report.contains("marked by a spoken line"), means == "lines", "{means}: {report}");
    }
}

#[test]
fn a_sample_with_four_tests_goes_to_its_sheet_by_each_means() {
    for means in MEANS {
        let site = play(&format!("sample-{means}"));
        site.verify_sample();
        assert_eq!(site.runs().len(), 4, "{means}");
        let sample = stem(&site.sample().unwrap());
        let sheet = text(&site, &["report", &sample]);
        for result in ["slump", "air content", "temperature"] {
            assert!(sheet.to_lowercase().contains(result), "{means}: no {result} in\n{sheet}");
        }
        assert!(text(&site, &["list"]).contains("4 of 4 tests begun, 0 open"), "{means}");
    }
}
