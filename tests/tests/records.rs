//! Records: one writer, the list, the words, the check, the report, and time that was not real.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::fs;

use acceptance::acts::identify;
use acceptance::{Lines, Site, Terminal};

const RUN: [&str; 4] = ["run", "air-volumetric", "--system", "inch-pound"];

#[test]
fn a_run_that_is_open_in_one_terminal_is_refused_to_a_second_one_and_can_still_be_read() {
    let site = Site::new();
    let terminal = Terminal::open(&site, &RUN);
    let mut n = 0;
    terminal.perform_all(&identify()[..2], &mut n);
    let second = site.run(&["resume", "--plain"]);
    assert_eq!(second.code, Some(1), "{second:?}");
    assert!(second.err.contains("is open in another program"), "{second:?}");
    assert!(second.err.contains("Close the run in the other window or program first"), "{second:?}");
    site.verify();
    // Nothing was touched, and the first goes on.
    terminal.perform_all(&identify()[2..3], &mut n);
    terminal.leave();
    // Now it can be taken up again.
    let mut lines = Lines::start(site.command(["resume", "--plain"]));
    lines.expect("RESUMED");
    lines.expect("STEP meter");
    assert_eq!(lines.end().code, Some(0));
}

#[test]
fn the_list_says_of_every_run_when_it_was_where_it_stands_and_what_came_of_it() {
    let site = Site::new();
    let empty = site.run(&["list"]);
    assert_eq!((empty.code, empty.out.starts_with("No runs in")), (Some(0), true), "{empty:?}");
    site.demonstration("plain-run");
    site.demonstration("voided-bowl");
    let mut lines = Lines::start(site.command(RUN.iter().chain(&["--plain"])));
    lines.perform(&identify()[0]);
    lines.expect_recorded(1);
    assert_eq!(lines.end().code, Some(0));

    let list = site.run(&["list"]);
    assert_eq!(list.code, Some(0), "{list:?}");
    let rows: Vec<&str> = list.out.lines().collect();
    assert_eq!(rows.len(), 3, "{list:?}");
    assert!(rows[0].contains("open, at “Prepare”") && !rows[0].contains("simulated"), "the newest first: {list:?}");
    assert!(rows[1].contains("2026-05-14 15:20") && rows[1].contains("closed without a result"), "{list:?}");
    assert!(rows[2].contains("closed") && rows[2].contains("air 6.00 %"), "{list:?}");
    assert!(rows[2].contains("(simulated time)"), "{list:?}");
}

#[test]
fn the_record_is_told_in_words_and_reported_in_three_forms() {
    let site = Site::new();
    let record = site.demonstration("plain-run");
    let name = record.file_stem().unwrap().to_str().unwrap();
    let show = site.run(&["show", name]);
    assert_eq!(show.code, Some(0), "{show:?}");
    for words in ["opened: 2026-05-14-0730-air-volumetric", "R. Okafor-Lind", "6.25 %", "run closed"] {
        assert!(show.out.contains(words), "“{words}” is not in:\n{}", show.out);
    }
    let verify = site.run(&["verify", name]);
    assert_eq!(verify.code, Some(0), "{verify:?}");
    assert!(verify.out.contains("sound") && verify.out.contains("Last sum: "), "{verify:?}");

    let text = site.run(&["report", name]);
    assert_eq!(text.code, Some(0), "{text:?}");
    assert!(text.out.contains("AIR CONTENT:  6.00 %"), "{}", text.out);
    let sum = verify.out.split("Last sum: ").nth(1).unwrap().split_whitespace().next().unwrap();
    assert!(text.out.contains(sum), "the report stands for every byte of the record up to this sum");
    assert!(text.out.lines().count() <= 66, "it fits a printed page");
    assert_eq!(site.result(), ("6.00 %".to_owned(), "5.95".to_owned()));
    let csv = site.run(&["report", name, "--format", "csv"]);
    assert_eq!(csv.code, Some(0), "{csv:?}");
    assert!(csv.out.lines().next().unwrap().contains(','), "{csv:?}");

    // Into a file, and never over another.
    let to_file = ["report", name, "--output", "report.txt"];
    assert_eq!(site.run(&to_file).code, Some(0));
    assert_eq!(fs::read_to_string(site.path().join("report.txt")).unwrap(), text.out);
    let again = site.run(&to_file);
    assert_eq!(again.code, Some(3), "{again:?}");
    assert!(again.err.contains("nothing is written over"), "{again:?}");
}

#[test]
fn every_refusal_has_its_exit_code_and_says_what_to_do() {
    let site = Site::new();
    site.demonstration("plain-run");
    let faulty = site.path().join("faulty.toml");
    fs::write(&faulty, "[procedure]\nid = \"x\"\n").unwrap();
    let faulty = faulty.to_str().unwrap();
    let cases: &[(&[&str], i32, &str)] = &[
        (&["show", "nothing-like-it"], 1, "pourside list"),
        (&["report", "2027"], 1, "there is no run called “2027”"),
        (&["resume"], 1, "pourside run METHOD"),
        (&["run", "air-volumetrik", "--plain"], 1, "air-volumetric"),
        (&["run"], 2, "METHOD"),
        (&["run", "air-volumetric", "--system", "imperial"], 2, "inch-pound"),
        (&["frobnicate"], 2, "unrecognized"),
        (&["check", faulty], 1, "faulty.toml"),
        (&["run", faulty, "--plain"], 1, "faulty.toml"),
        (&["methods"], 0, "air-volumetric"),
        (&["--version"], 0, "pourside 0.1.0"),
    ];
    for (args, code, words) in cases {
        let done = site.run(args);
        assert_eq!(done.code, Some(*code), "{args:?}: {done:?}");
        assert!(format!("{}{}", done.out, done.err).contains(words), "{args:?}: “{words}” is not in {done:?}");
    }
}

#[test]
fn an_entry_that_was_tampered_with_is_found_and_named() {
    let site = Site::new();
    let record = site.demonstration("plain-run");
    let text = fs::read_to_string(&record).unwrap();
    // A level of 6.25 becomes 5.25, as somebody would who wants another result.
    let line = text.lines().position(|line| line.contains(r#""reading":"level","value":"6.25""#)).unwrap();
    fs::write(&record, text.replacen(r#""value":"6.25""#, r#""value":"5.25""#, 1)).unwrap();
    let verify = site.run(&["verify", record.to_str().unwrap()]);
    assert_eq!(verify.code, Some(1), "{verify:?}");
    assert!(verify.err.contains(&format!("entry {line} of")), "{verify:?}");
    assert!(verify.err.contains(&format!("(line {}, ", line + 1)), "{verify:?}");
    for command in ["report", "resume"] {
        let done = site.run(&[command, record.to_str().unwrap()]);
        assert_eq!(done.code, Some(1), "no {command} is made from it: {done:?}");
        assert_eq!(done.out, "", "{done:?}");
    }
    // What is sound before it can still be read.
    let show = site.run(&["show", record.to_str().unwrap()]);
    assert_eq!(show.code, Some(1), "{show:?}");
    assert!(show.out.contains("R. Okafor-Lind"), "{show:?}");
}

#[test]
fn time_that_was_not_real_is_stamped_on_the_screen_into_the_record_and_into_the_report() {
    let site = Site::new();
    let terminal = Terminal::open(&site, &["run", "air-volumetric", "--simulate", "60"]);
    terminal.wait_for("SIMULATED TIME ×60");
    terminal.wait_for("Who runs this test?");
    let mut n = 0;
    terminal.perform_all(&identify()[..1], &mut n);
    terminal.leave();
    // Taken up again it is still not real.
    let terminal = Terminal::open(&site, &["resume"]);
    terminal.wait_for("SIMULATED TIME ×60");
    terminal.wait_for("Which job is it for?");
    terminal.leave();

    let first = fs::read_to_string(site.record()).unwrap().lines().next().unwrap().to_owned();
    assert!(first.contains(r#""simulated":"simulated time ×60""#), "{}", &first[..400]);
    let report = site.run(&["report"]);
    assert!(report.out.contains("SIMULATED TIME ×60"), "{report:?}");
    assert_eq!(site.report()["simulated"], "simulated time ×60");
    let show = site.run(&["show", site.record().to_str().unwrap()]);
    assert!(show.out.contains("simulated time ×60"), "{show:?}");

    // And a real one says nothing of the kind.
    let site = Site::new();
    let terminal = Terminal::open(&site, &RUN);
    terminal.wait_for("Who runs this test?");
    assert!(!terminal.screen().to_lowercase().contains("simulated"), "{}", terminal.screen());
    terminal.leave();
    assert!(site.report()["simulated"].is_null());
}

#[test]
fn what_is_said_at_the_end_can_be_typed_as_it_stands_wherever_the_record_is() {
    let site = Site::new();
    for args in [&RUN[..], &[&RUN[..], &["--data", "elsewhere"]].concat()] {
        let terminal = Terminal::open(&site, args);
        let mut n = 0;
        terminal.perform_all(&identify()[..1], &mut n);
        terminal.leave();
        let said = terminal.screen().replace('\n', " ");
        let run = said.split("pourside resume ").nth(1).unwrap().split("pourside report").next().unwrap().trim();
        let done = site.run(&["report", run]);
        assert_eq!(done.code, Some(0), "“{run}”: {done:?}");
        let resumed = Terminal::open(&site, &["resume", run]);
        resumed.wait_for("Which job is it for?");
        resumed.leave();
    }
}
