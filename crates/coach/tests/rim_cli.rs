//! The command line of the real program: what it prints, what it changes, and its exit codes.

#![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

fn pourside(data: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourside"));
    command.args(arguments).env("POURSIDE_DATA", data).env("NO_COLOR", "1").stdin(Stdio::null());
    command.output().unwrap()
}

/// Exit code, standard output, standard error.
fn said(output: &Output) -> (i32, String, String) {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
}

fn demo(name: &str) -> String {
    format!("{}/../../demo/{name}.lines", env!("CARGO_MANIFEST_DIR"))
}

fn procedure() -> String {
    format!("{}/../../procedures/air-volumetric.toml", env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn each_kind_of_failure_has_its_exit_code_and_says_what_to_do() {
    let data = tempfile::tempdir().unwrap();
    fs::write(data.path().join("faulty.toml"), "[procedure]\nid = 7\n").unwrap();
    let faulty = data.path().join("faulty.toml").display().to_string();
    let a_file = format!("{faulty}/deeper");
    let plain = demo("plain-run");
    for (arguments, code, words) in [
        (&["run", "air-volumetrix"][..], 1, "Did you mean “air-volumetric”?"),
        (&["run", "no-such-file.toml"], 1, "cannot read no-such-file.toml"),
        (&["run", &faulty], 1, "Mend these faults"),
        (&["run", "air-volumetric"], 1, "“--plain” works without one"),
        (&["run", "air-volumetric", "--system", "metric"], 2, "inch-pound or SI"),
        (&["run", "air-volumetric", "--set", "technician"], 2, "Write it like"),
        (&["run", "air-volumetric", "--simulate", "0"], 2, "--simulate"),
        (&["run", "air-volumetric", "--simulate-from", "yesterday"], 2, "Write it like 2026"),
        (&["resume"], 1, "no run is open"),
        (&["resume", "nothing"], 1, "there is no run called “nothing”"),
        (&["report"], 1, "no runs in"),
        (&["verify", "nothing"], 1, "there is no run called “nothing”"),
        (&["check", "no-such-file.toml"], 1, "cannot read no-such-file.toml"),
        (&["run", "air-volumetric", "--script", "no-such-script"], 1, "no-such-script"),
        (&["run", "air-volumetric", "--script", &plain, "--data", &a_file], 3, "cannot make the folder"),
        (&["pour"], 2, "unrecognized subcommand"),
    ] {
        let (found, out, err) = said(&pourside(data.path(), arguments));
        assert_eq!(found, code, "{arguments:?}: {out}{err}");
        assert!(err.contains(words), "{arguments:?}: {err}");
    }
}

#[test]
fn a_run_from_a_script_is_listed_verified_shown_and_reported() {
    let data = tempfile::tempdir().unwrap();
    let (code, out, err) = said(&pourside(data.path(), &["run", "air-volumetric", "--script", &demo("plain-run")]));
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    let (code, list, _) = said(&pourside(data.path(), &["list"]));
    assert_eq!(code, 0);
    assert!(list.contains("closed") && list.contains("air 6.00 %") && list.contains("(simulated time)"), "{list}");
    let name = list.split_whitespace().next().unwrap();
    let (code, verified, _) = said(&pourside(data.path(), &["verify", name]));
    assert_eq!(code, 0);
    assert!(verified.contains(": sound."), "{verified}");
    let (code, shown, _) = said(&pourside(data.path(), &["show", name]));
    assert_eq!(code, 0);
    assert!(shown.contains("opened: ") && shown.contains("run closed"), "{shown}");
    for (format, words) in [("text", "6.00 %"), ("json", "\"air\""), ("csv", ",")] {
        let (code, report, _) = said(&pourside(data.path(), &["report", name, "--format", format]));
        assert_eq!(code, 0);
        assert!(report.contains(words), "{report}");
    }
    // Without a name only an open run is gone on with; by its name a closed one is opened, to correct a reading.
    let (code, _, err) = said(&pourside(data.path(), &["resume"]));
    assert_eq!(code, 1);
    assert!(err.contains("no run is open"), "{err}");
    let (code, _, err) = said(&pourside(data.path(), &["resume", name, "--plain"]));
    assert_eq!(code, 0, "{err}");
}

#[test]
fn a_report_is_never_written_over_a_file() {
    let data = tempfile::tempdir().unwrap();
    pourside(data.path(), &["run", "air-volumetric", "--script", &demo("plain-run")]);
    let file = data.path().join("report.txt");
    let path = file.display().to_string();
    assert_eq!(said(&pourside(data.path(), &["report", "--output", &path])).0, 0);
    let before = fs::read(&file).unwrap();
    let (code, _, err) = said(&pourside(data.path(), &["report", "--output", &path]));
    assert_eq!(code, 3);
    assert!(err.contains("nothing is written over"), "{err}");
    assert_eq!(fs::read(&file).unwrap(), before);
}

#[test]
fn damage_in_a_record_is_named_and_what_is_sound_is_still_shown() {
    let data = tempfile::tempdir().unwrap();
    pourside(data.path(), &["run", "air-volumetric", "--script", &demo("plain-run")]);
    let file = fs::read_dir(data.path().join("runs"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .find(|path| path.extension().is_some_and(|ending| ending == "jsonl"))
        .unwrap();
    let text = fs::read_to_string(&file).unwrap();
    let third = text.match_indices('\n').nth(1).unwrap().0;
    let mut bytes = text.into_bytes();
    bytes[third + 40] ^= 1;
    fs::write(&file, &bytes).unwrap();
    let path = file.display().to_string();
    let (code, _, err) = said(&pourside(data.path(), &["verify", &path]));
    assert_eq!(code, 1);
    assert!(err.contains("line 3") && err.contains("is damaged"), "{err}");
    let (code, out, err) = said(&pourside(data.path(), &["show", &path]));
    assert_eq!((code, out.lines().count()), (1, 2), "{out}{err}");
    assert_eq!(fs::read(&file).unwrap(), bytes, "reading changes nothing");
}

#[test]
fn a_procedure_is_checked_in_words_and_in_json() {
    let data = tempfile::tempdir().unwrap();
    let (code, out, _) = said(&pourside(data.path(), &["check", &procedure()]));
    assert_eq!(code, 0);
    assert!(out.contains("fine (air-volumetric"), "{out}");
    let faulty = data.path().join("faulty.toml");
    fs::write(&faulty, "[procedure]\nid = 7\n").unwrap();
    let path = faulty.display().to_string();
    let (code, out, _) = said(&pourside(data.path(), &["check", &path, &procedure()]));
    assert_eq!(code, 1, "{out}");
    let (code, out, _) = said(&pourside(data.path(), &["check", &path, &path, "--format", "json"]));
    assert_eq!(code, 1);
    let faults: Vec<serde_json::Value> = serde_json::from_str(&out).unwrap();
    assert!(faults.len() >= 2 && faults.iter().all(|fault| fault["file"] == path.as_str()), "{out}");
    let (code, out, _) = said(&pourside(data.path(), &["check", &procedure(), "--format", "json"]));
    assert_eq!((code, out.trim()), (0, "[]"));
}

#[test]
fn without_a_command_it_says_what_to_type_and_what_is_open() {
    let data = tempfile::tempdir().unwrap();
    let (code, out, _) = said(&pourside(data.path(), &[]));
    assert_eq!(code, 0);
    assert!(out.contains("pourside run air-volumetric"), "{out}");
    assert!(!out.contains("open"), "{out}");
    let (code, _, err) = said(&pourside(data.path(), &["run", "air-volumetric", "--plain"]));
    assert_eq!(code, 0, "{err}");
    let (_, out, _) = said(&pourside(data.path(), &[]));
    assert!(out.contains("One run is open"), "{out}");
}

#[test]
fn a_picture_of_the_screen_is_made_from_a_method_or_a_run() {
    let data = tempfile::tempdir().unwrap();
    let (code, svg, err) = said(&pourside(data.path(), &["shot", "air-volumetric", "--size", "80x24"]));
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(svg.starts_with("<svg ") && svg.trim_end().ends_with("</svg>") && svg.contains("<text "), "{svg}");
    assert!(!data.path().join("runs").exists(), "a picture leaves no run");
}

#[test]
fn the_shells_are_served() {
    let data = tempfile::tempdir().unwrap();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let (code, out, _) = said(&pourside(data.path(), &["completions", shell]));
        assert_eq!(code, 0);
        assert!(out.contains("pourside"), "{shell}");
    }
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_is_a_quiet_end() {
    let data = tempfile::tempdir().unwrap();
    let script = format!("'{}' completions bash | head -n 1", env!("CARGO_BIN_EXE_pourside"));
    let output = Command::new("sh").args(["-c", &script]).env("POURSIDE_DATA", data.path()).output().unwrap();
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
}

/// The system lets no file grow beyond 64 KiB: to the program that is a disk that is full in the middle of a run.
#[cfg(target_os = "linux")]
#[test]
fn a_disk_that_is_full_in_the_middle_of_a_run_is_said_at_once() {
    let data = tempfile::tempdir().unwrap();
    let opening = {
        pourside(data.path(), &["run", "air-volumetric", "--plain"]);
        let runs = fs::read_dir(data.path().join("runs")).unwrap();
        let file = runs.map(|entry| entry.unwrap().path()).find(|p| p.extension().is_some_and(|e| e == "jsonl"));
        fs::metadata(file.unwrap()).unwrap().len()
    };
    // Room for the opening and a few acts, in blocks of 512 bytes.
    let blocks = opening / 512 + 4;
    let script = format!(
        "trap '' XFSZ; ulimit -f {blocks}; exec '{}' run air-volumetric --script '{}'",
        env!("CARGO_BIN_EXE_pourside"),
        demo("plain-run")
    );
    let output = Command::new("sh").args(["-c", &script]).env("POURSIDE_DATA", data.path()).output().unwrap();
    let (code, out, err) = said(&output);
    assert_eq!(code, 3, "{out}{err}");
    assert!(err.contains("NOT recorded"), "{err}");
    let first_failure = out.lines().position(|line| line.starts_with("NOT-RECORDED")).unwrap();
    assert!(out.lines().take(first_failure).any(|line| line.starts_with("RECORDED")), "{out}");
    assert!(
        !out.lines().skip(first_failure).any(|line| line.starts_with("RECORDED")),
        "nothing is claimed after it: {out}"
    );
}
