//! `practice` on the command line of the real program: what it prints, what it keeps, and its exit codes.

#![expect(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

/// Exit code, standard output, standard error.
fn practice(data: &Path, arguments: &[&str], typed: &str) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourside"));
    command.arg("practice").args(arguments).env("POURSIDE_DATA", data).env("NO_COLOR", "1");
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    // A program that has left already takes nothing more.
    let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
    let output = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

/// Notes four names, learns three acts of the slump, and leaves.
const BEGUN: &str = "\n\n\n\n\ny\n\ng\n\n\nq\ny\n";

#[test]
fn what_was_tried_is_kept_and_counted_the_next_time() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    let (code, out, err) = practice(data, &[], "");
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("Not begun yet: ") && out.contains("pourside practice METHOD"), "{out}");

    let (code, out, err) = practice(data, &["slump", "--plain", "--seed", "4", "--branch", "clean"], BEGUN);
    assert_eq!(code, 0, "{out}{err}");
    assert!(out.contains("Learn it.") && out.contains("kept in "), "{out}");

    let (_, out, _) = practice(data, &[], "");
    assert!(out.contains("slump: ") && out.contains("Not ready yet: "), "{out}");
    let (_, text, _) = practice(data, &["--progress"], "");
    assert!(text.starts_with("Slump of fresh concrete (slump)"), "{text}");
    let (_, tries, _) = practice(data, &["--export", "tries"], "");
    let rows: Vec<&str> = tries.lines().collect();
    assert_eq!(rows[0], "at,method,item,help,right,slip,took_s");
    assert!(rows.len() > 1 && rows[1..].iter().all(|row| row.contains(",slump,slump/")), "{tries}");
    let (_, other, _) = practice(data, &["--export", "tries", "--learner", "dale"], "");
    assert_eq!(other.lines().count(), 1, "another person's diary: {other}");
}

#[test]
fn an_export_is_never_written_over_another_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("progress.csv");
    let path = file.display().to_string();
    let arguments = ["slump", "--export", "progress", "--output", &path];
    assert_eq!(practice(folder.path(), &arguments, "").0, 0);
    let written = fs::read_to_string(&file).unwrap();
    assert!(written.starts_with("method,stage,item,"), "{written}");
    let (code, _, err) = practice(folder.path(), &arguments, "");
    assert!(code != 0 && err.contains("Choose another name"), "{err}");
    assert_eq!(fs::read_to_string(&file).unwrap(), written);
}

#[test]
fn each_fault_says_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    for (arguments, code, words) in [
        (&["slumpp"][..], 1, "Did you mean “slump”?"),
        (&["slump"], 1, "“--plain” works without one"),
        (&["slump", "--branch", "snow", "--plain"], 1, "--branches"),
        (&["slump", "--learner", "../x", "--plain"], 2, "letters, digits"),
        (&["slump", "--today"], 2, "cannot be used with"),
        (&["slump", "--speed", "0"], 2, "--speed"),
        (&["slump", "--trial", "--no-trial"], 2, "cannot be used with"),
        (&["--trial"], 2, "METHOD"),
    ] {
        let (found, out, err) = practice(folder.path(), arguments, "");
        assert_eq!(found, code, "{arguments:?}: {out}{err}");
        assert!(err.contains(words), "{arguments:?}: {err}");
    }
}

#[test]
fn what_can_come_about_is_listed_and_can_be_practised() {
    let folder = tempfile::tempdir().unwrap();
    let (code, out, _) = practice(folder.path(), &["slump", "--branches"], "");
    assert!(code == 0 && out.contains("lift.too-slow") && out.contains("incident-knocked"), "{out}");
    let (code, out, err) = practice(folder.path(), &["slump", "--branch", "lift.too-slow", "--plain"], "");
    assert!(code == 0, "the end of the input leaves: {out}{err}");
}

#[test]
fn a_diary_that_cannot_be_written_is_said_and_its_lines_are_given_back() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("a-file");
    fs::write(&data, "stands in the way").unwrap();
    let (code, out, err) = practice(&data, &["slump", "--plain"], BEGUN);
    assert!(code != 0 && out.contains("NOT RECORDED: "), "{code}: {out}{err}");
    assert!(format!("{out}{err}").contains("slump/"), "what was tried is not lost: {out}{err}");
}
