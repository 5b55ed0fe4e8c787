//! What a report says of runs that did not go as they should.

#![allow(clippy::unwrap_used, reason = "in a test a panic is the report")]

use coach::line::script::{Script, play};
use coach::report::{Report, Source, as_csv, as_json, as_text, text};
use coach::rim::store::Loaded;
use coach::rim::{library, store};
use quantity::Ties;

const START: &str = "start 2026-05-14T07:30:00-05:00\nsystem inch-pound\n";
const PREPARED: &str = "+8s R. Okafor-Lind\n+6s Harrow Bend\n+7s T12\n+4s V-7\n+9s 0.0752\n+4s yes\n+6s 1.01\n+5s 70\n\
                        +20s next\n+10s 1.0\n+8s none\n+30s next\n";

/// Plays lines and returns the record they leave.
fn record(lines: &str) -> Loaded {
    let data = tempfile::tempdir().unwrap();
    let script = Script::read(&format!("{START}{lines}")).unwrap();
    let found = library::find("air-volumetric", false).unwrap();
    let (mut talk, mut keeper) = script.open(&found, None, Ties::Even, data.path().to_owned()).unwrap();
    play(&script, &mut talk, &mut keeper, &mut Vec::new()).unwrap();
    keeper.load().unwrap()
}

/// A text without its line breaks, so that a wrapped sentence is found.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_run_that_was_left_is_marked_as_not_finished() {
    let loaded = record(PREPARED);
    let report = as_text(&loaded);
    assert!(report.starts_with("TEST REPORT: NOT FINISHED"), "{report}");
    assert!(report.contains("NOT FINISHED: this run has no result yet."), "{report}");
    assert!(report.contains("RESULT: none"), "{report}");
    assert!(report.contains("ATTEMPT 1: NOT FINISHED"), "{report}");
    assert!(as_json(&loaded).contains("\"standing\": \"not-finished\""));
}

#[test]
fn a_rehearsal_is_never_taken_for_a_test() {
    let loaded = record(PREPARED);
    assert!(as_text(&loaded).contains("SIMULATED TIME, SET BY A SCRIPT: a rehearsal. No concrete was tested."));
    assert!(as_json(&loaded).contains("\"simulated\": \"simulated time, set by a script\""));
    for row in as_csv(&loaded).lines().skip(1) {
        assert!(row.ends_with("\"simulated time, set by a script\""), "{row}");
    }
}

#[test]
fn what_was_corrected_overruled_taken_back_and_remarked_stands_in_the_report() {
    let loaded = record(&format!(
        "{}+3s undo\n+2s redo\n+4s undo\n+9s correct 3 V-9 because the plate says so\n+5s remark rain has begun\n+2s next\n\
         +6m next\n+20s next\n+20s count 24\nnext\n+3s despite the layer was thin\n",
        PREPARED.replace("+6s 1.01", "+6s 1.10\n+2s despite no other cup here")
    ));
    let report = flat(&as_text(&loaded));
    for said in [
        "Meter: number or mark ............................................ V-9",
        "cup-check: Done although refused (“The cup must hold 1.00 % ± 0.04 % of the bowl. Use another cup.”), because: no other cup here.",
        "layer-1: The test was begun later than 5 minutes after the last portion of the sample; it took 6 min 20 s.",
        "strokes-1: Done although refused (“24 strokes given, 25 asked: 1 to go.”), because: the layer was thin.",
        "Corrections: 07:32:17 meter from V-7 to V-9, because: the plate says so",
        "Remarks: 07:32:22 rain has begun",
        "strokes-1 24 strokes (25 asked)",
        "Acts taken back: 1; they stand in the record.",
    ] {
        assert!(report.contains(said), "{said}\n{}", as_text(&loaded));
    }
    let csv = as_csv(&loaded);
    assert!(csv.contains(",meter,wrote,meter,V-7,"), "the original stands in the record\n{csv}");
    assert!(csv.contains(",corrected,meter,V-9,,\"number 3, because: the plate says so\","), "{csv}");
    assert!(csv.lines().any(|row| row.contains("sample-ready,done") && row.contains(",yes,")), "taken back\n{csv}");
}

#[test]
fn a_discard_by_the_technician_and_an_incident_keep_their_cause() {
    let report = flat(&as_text(&record(&format!(
        "{PREPARED}+9s next\n+9s incident spilt\n+60s again\n+9s 1.0\n+8s none\n+9s discard the truck has gone\n+5s close\n"
    ))));
    for said in [
        "TEST REPORT: NO RESULT",
        "ATTEMPT 1: DISCARDED at 07:32:15, at the step layer-1 Cause: Concrete or liquid was lost from the meter",
        "ATTEMPT 2: DISCARDED at 07:33:41, at the step sample-ready, by the technician Cause: the truck has gone",
        "Carried over: technician, job, sample, meter, bowl, standardized, cup, strength.",
    ] {
        assert!(report.contains(said), "{said}\n{report}");
    }
}

#[test]
fn no_report_is_wider_than_a_page_whatever_words_are_given() {
    let long = "a rather long remark about the weather and the state of the road ".repeat(6);
    let lines =
        PREPARED.replace("T12", long.trim()).replace("V-7", &"W".repeat(60)) + "+1s remark " + long.trim() + "\n";
    let report = as_text(&record(&lines));
    for line in report.lines() {
        assert!(line.chars().count() <= text::WIDTH, "{line}");
    }
    assert!(report.contains(&"W".repeat(60)));
}

#[test]
fn a_text_that_looks_like_a_formula_stays_a_text_in_a_spreadsheet() {
    let csv = as_csv(&record(&PREPARED.replace("T12", "=HYPERLINK(0)").replace("V-7", "-7")));
    assert!(csv.contains(",'=HYPERLINK(0),"), "{csv}");
    assert!(csv.contains(",meter,-7,"), "a number stays one\n{csv}");
}

#[test]
fn the_record_behind_a_report_is_named_so_that_it_can_be_found_and_checked() {
    let loaded = record(PREPARED);
    let report = Report::new(&Source::from(&loaded));
    assert_eq!(report.record.entries, loaded.lines.len() as u64);
    assert_eq!(report.record.last_sum, loaded.last_sum);
    assert_eq!(report.record.tool, store::TOOL);
    assert_eq!(report.method.sha256, library::sha256(&library::find("air-volumetric", false).unwrap().text));
    let page = as_text(&loaded);
    for part in [&report.record.last_sum, &report.method.sha256, &report.record.run] {
        assert!(page.contains(part.as_str()), "{part}");
    }
    assert_eq!(report.acts.len() + 1, loaded.lines.len(), "one act for each entry but the first");
}
