//! The journal on a real disk: files, locks, side files, and the kept journals of every version.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop")]

use std::error::Error;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use journal::{AppendError, CreateError, Damaged, Journal, OpenError, Step, read, read_bytes, salvage};
use serde_json::json;
use serde_json::value::RawValue;
use tempfile::TempDir;

fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

fn begun(path: &Path) -> Journal {
    Journal::create(path, &json!({"began": "slump"})).unwrap()
}

fn files_in(folder: &Path) -> Vec<String> {
    let name = |entry: io::Result<fs::DirEntry>| entry.unwrap().file_name().into_string().unwrap();
    let mut names: Vec<_> = fs::read_dir(folder).unwrap().map(name).collect();
    names.sort();
    names
}

fn raw(text: &str) -> Box<RawValue> {
    RawValue::from_string(text.to_owned()).unwrap()
}

#[test]
fn entries_come_back_byte_for_byte_across_runs_of_the_program() {
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    let payloads = [
        r#"{"note":"Zoë 混凝土 🧪","control":"\u0007\n\\\""}"#,
        r#"{"big":123456789012345678901234567890.0000000000000000000010,"tiny":-1.50e-400,"zero":-0.0}"#,
        r#"{"a":{"b":[{"c":[[],{},null,true]}]}}"#,
        r#"{"twice":1,"twice":2, "spaced" : [ 1 , 2 ]}"#,
        r"{}",
    ];
    let mut journal = Journal::create(&path, &raw(payloads[0])).unwrap();
    for (n, payload) in payloads.iter().enumerate().skip(1) {
        assert_eq!(journal.append(&raw(payload)).unwrap(), n as u64);
        assert_eq!(journal.last_sum(), read(&path).unwrap().last_sum, "it is in the file before it is acknowledged");
        drop(journal);
        let (again, recovered) = Journal::open(&path).unwrap();
        assert!(recovered.torn.is_none());
        assert_eq!(again.last_sum(), recovered.last_sum);
        assert_eq!(again.len(), n as u64 + 1);
        journal = again;
    }
    assert!(!journal.is_empty());
    assert_eq!(journal.path(), path);
    let entries = read(&path).unwrap().entries;
    assert_eq!(entries.iter().map(|e| e.json()).collect::<Vec<_>>(), payloads);
    assert_eq!(files_in(folder.path()), ["run.jsonl", "run.jsonl.lock"]);
}

#[test]
fn a_second_writer_is_refused_and_a_reader_is_not() {
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    let journal = begun(&path);
    let why = Journal::open(&path).unwrap_err();
    assert!(matches!(why, OpenError::Locked { .. }));
    assert_eq!(why.to_string(), format!("the journal {} is open in another program", path.display()));
    assert_eq!(why.hint(), "Close the run in the other window or program first; until then it can only be read.");
    let why = Journal::create(&path, &json!({})).unwrap_err();
    assert!(matches!(why, CreateError::Locked { .. }) && why.hint().contains("other window"));
    assert_eq!(read(&path).unwrap().entries.len(), 1);
    drop(journal);
    Journal::open(&path).unwrap();
}

/// Not a test of its own: the other half of the next one, run in a process of its own.
#[test]
fn second_process_half() {
    let Some(path) = std::env::var_os("JOURNAL_TEST_OPEN").map(PathBuf::from) else { return };
    match Journal::open(&path) {
        Err(OpenError::Locked { .. }) => println!("refused"),
        Ok(_) => println!("opened"),
        Err(why) => println!("failed: {why}"),
    }
}

#[test]
fn a_second_process_is_refused_until_the_first_lets_go() {
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    let other_process = || {
        let output = std::process::Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "second_process_half", "--nocapture"])
            .env("JOURNAL_TEST_OPEN", &path)
            .output()
            .unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    let journal = begun(&path);
    assert!(other_process().contains("refused"));
    drop(journal);
    assert!(other_process().contains("opened"));
}

#[test]
fn create_never_overwrites() {
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    fs::write(&path, "somebody's notes").unwrap();
    let why = Journal::create(&path, &json!({})).unwrap_err();
    assert!(matches!(why, CreateError::AlreadyThere { .. }), "{why}");
    assert_eq!(why.hint(), "Resume that run, or choose another name.");
    assert_eq!(fs::read(&path).unwrap(), b"somebody's notes");
}

#[test]
fn what_a_crashed_create_left_does_not_block_the_next() {
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    fs::write(folder.path().join("run.jsonl.new"), r#"{"v":1,"n""#).unwrap();
    fs::write(folder.path().join("run.jsonl.lock"), "").unwrap();
    drop(begun(&path));
    assert_eq!(read(&path).unwrap().entries.len(), 1);
    assert_eq!(files_in(folder.path()), ["run.jsonl", "run.jsonl.lock"]);
}

#[test]
fn a_torn_entry_is_kept_and_no_side_file_is_ever_overwritten() {
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    drop(begun(&path));
    let whole = fs::read(&path).unwrap();
    let mut kept = Vec::new();
    for (k, torn) in ["{\"v\":1,\"n\":1,", "{\"v\":1,\"n\":1,\"e\":{\"rea", "{"].iter().enumerate() {
        fs::write(&path, [&whole, torn.as_bytes()].concat()).unwrap();
        // Reading alone repairs nothing.
        let seen = read(&path).unwrap().torn.unwrap();
        assert!(seen.kept_in.is_none());
        assert_eq!(fs::read(&path).unwrap().len(), whole.len() + torn.len());

        let (_, recovered) = Journal::open(&path).unwrap();
        let found = recovered.torn.unwrap();
        assert_eq!((found.n, found.offset, found.bytes.as_slice()), (1, whole.len() as u64, torn.as_bytes()));
        let side = found.kept_in.unwrap();
        let ending = if k == 0 { "run.jsonl.torn-1".to_owned() } else { format!("run.jsonl.torn-1-{}", k + 1) };
        assert_eq!(side, folder.path().join(ending));
        assert_eq!(fs::read(&path).unwrap(), whole);
        kept.push((side, torn.as_bytes()));
    }
    for (side, torn) in kept {
        assert_eq!(fs::read(side).unwrap(), torn);
    }
}

#[test]
fn a_changed_last_entry_is_kept_and_called_damaged_and_the_run_goes_on() {
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    let mut journal = begun(&path);
    journal.append(&json!({"reading": "4.25"})).unwrap();
    drop(journal);
    let changed = fs::read_to_string(&path).unwrap().replace("4.25", "4.50");
    fs::write(&path, &changed).unwrap();
    let (mut journal, recovered) = Journal::open(&path).unwrap();
    let torn = recovered.torn.unwrap();
    assert!(torn.complete_line);
    assert!(fs::read_to_string(torn.kept_in.unwrap()).unwrap().contains("4.50"));
    assert_eq!(journal.append(&json!({"reading": "4.25"})).unwrap(), 1);
    assert_eq!(read(&path).unwrap().entries.len(), 2);
}

#[test]
fn damage_inside_is_refused_named_and_left_untouched() {
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    let mut journal = begun(&path);
    for reading in ["4.25", "4.00", "3.75"] {
        journal.append(&json!({ "reading": reading })).unwrap();
    }
    drop(journal);
    let changed = fs::read_to_string(&path).unwrap().replace("4.25", "4.50");
    fs::write(&path, &changed).unwrap();
    let before = files_in(folder.path());
    let offset = changed.find('\n').unwrap() as u64 + 1;
    for why in [Journal::open(&path).unwrap_err(), read(&path).unwrap_err()] {
        assert_eq!(
            why.to_string(),
            format!("entry 1 of {} (line 2, byte {offset}) is damaged, with 2 good entries after it", path.display())
        );
        assert_eq!(why.hint(), "Keep the file. Export the entries before the damage, then start a new run.");
    }
    assert_eq!(fs::read_to_string(&path).unwrap(), changed);
    assert_eq!(files_in(folder.path()), before);
    let (sound, damaged) = salvage(&path).unwrap();
    assert_eq!((sound.len(), damaged), (1, Some(Damaged::Inside { entry: 1, line: 2, offset, after: 2 })));
}

#[test]
fn a_file_with_nothing_to_resume_and_a_newer_file_are_refused() {
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    fs::write(&path, "").unwrap();
    let why = Journal::open(&path).unwrap_err();
    assert!(
        matches!(why, OpenError::NoFirstEntry { bytes: 0, .. }) && why.hint().starts_with("Nothing can be resumed")
    );
    fs::write(&path, "{\"v\":2,\"n\":0,\"e\":{}}\n").unwrap();
    let why = Journal::open(&path).unwrap_err();
    assert!(matches!(why, OpenError::NewerFormat { found: 2, line: 1, .. }) && why.hint().contains("newer version"));
}

/// Permissions do not bind the superuser, so these are failures that bind everybody.
#[test]
fn a_folder_that_is_none_or_not_there_is_named_with_what_to_do() {
    let folder = folder();
    let file = folder.path().join("file");
    fs::write(&file, "").unwrap();
    let gone = folder.path().join("gone");
    for (parent, kind) in [(&file, io::ErrorKind::NotADirectory), (&gone, io::ErrorKind::NotFound)] {
        let path = parent.join("run.jsonl");
        let why = Journal::create(&path, &json!({})).unwrap_err();
        let CreateError::Disk { step: Step::Lock, source, .. } = &why else { panic!("{why:?}") };
        #[cfg(unix)]
        assert_eq!(source.kind(), kind);
        assert!(why.source().is_some() && why.hint().contains("check the name"), "{kind} {source}: {}", why.hint());
        assert!(why.to_string().contains("run.jsonl"));
        assert!(matches!(read(&path), Err(OpenError::Disk { step: Step::Read, .. })));
        assert!(matches!(Journal::open(&path), Err(OpenError::Disk { .. })));
    }
    // A misspelt name leaves nothing behind.
    let before = files_in(folder.path());
    let why = Journal::open(&folder.path().join("rnu.jsonl")).unwrap_err();
    assert!(why.hint().starts_with("It is not there"));
    assert_eq!(files_in(folder.path()), before);
}

#[cfg(unix)]
#[test]
fn a_folder_that_can_only_be_read_is_read_but_not_written() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    drop(begun(&path));
    fs::remove_file(folder.path().join("run.jsonl.lock")).unwrap();
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o555)).unwrap();
    let read_back = read(&path).map(|recovered| recovered.entries.len());
    let superuser = fs::write(folder.path().join("probe"), "").is_ok();
    let opened = Journal::open(&path);
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!(read_back.unwrap(), 1);
    if superuser {
        println!("not tested: permissions do not bind this user (superuser), so the refusal cannot be seen");
        return;
    }
    let why = opened.unwrap_err();
    assert!(why.hint().starts_with("You may not write here"), "{why}");
}

/// A device that takes nothing, where the system has one: the real "disk is full" from the real system.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_named_and_stops_nothing_else() {
    let folder = folder();
    let path = folder.path().join("run.jsonl");
    drop(begun(&path));
    let why = fs::write("/dev/full", "x").unwrap_err();
    assert_eq!(why.kind(), io::ErrorKind::StorageFull);
    let why = AppendError::Disk { n: 3, step: Step::Write, path, source: why };
    assert!(why.to_string().starts_with("entry 3 is NOT recorded: cannot write to "));
    assert_eq!(why.hint(), "The disk is full: free some space or choose another folder.");
}

#[test]
fn every_failure_in_the_field_has_words_of_its_own() {
    let kinds = [
        (io::ErrorKind::StorageFull, "The disk is full"),
        (io::ErrorKind::QuotaExceeded, "Your share of the disk is used up"),
        (io::ErrorKind::ReadOnlyFilesystem, "The disk can only be read"),
        (io::ErrorKind::PermissionDenied, "You may not write here"),
        (io::ErrorKind::NotFound, "It is not there"),
        (io::ErrorKind::NotADirectory, "A part of that name is a file"),
        (io::ErrorKind::IsADirectory, "That name is a folder"),
        (io::ErrorKind::FileTooLarge, "The file system allows no larger file"),
        (io::ErrorKind::Other, "The disk did not do it"),
    ];
    for (kind, words) in kinds {
        let path = PathBuf::from("run.jsonl");
        let why = OpenError::Disk { step: Step::Read, path: path.clone(), source: kind.into() };
        assert!(why.hint().starts_with(words), "{kind}: {}", why.hint());
        let why = AppendError::Disk { n: 1, step: Step::Write, path, source: kind.into() };
        assert!(why.hint().starts_with(words), "{kind}: {}", why.hint());
    }
    let source = io::ErrorKind::Unsupported.into();
    let why = CreateError::Disk { step: Step::Lock, path: PathBuf::from("run.jsonl"), source };
    assert!(why.hint().starts_with("This disk may not know locks"));
}

/// Written by another program after `FORMAT.md`. It must be read for good: never change this file or this test, only
/// add a file for a new version.
#[test]
fn the_kept_journal_of_version_1_reads_for_good() {
    let bytes = include_bytes!("kept/v1.jsonl");
    let recovered = read_bytes(bytes).unwrap();
    assert!(recovered.torn.is_none());
    assert_eq!(recovered.last_sum, "08ed4569903cb5fdc11c308e1464d125");
    let found: Vec<_> = recovered.entries.iter().map(|e| e.json()).collect();
    assert_eq!(
        found,
        [
            r#"{"began":"air-volumetric","system":"SI","at":"2025-06-03T07:12:44.120+02:00"}"#,
            r#"{"step":"fill","layer":1,"strokes":25}"#,
            r#"{"reading":"4.25","unit":"%"}"#,
            r#"{"note":"Pumpe 3 – zäh, 30 °C; \"steif\"\n2nd line \\ \u0007 \u00e9 混凝土 🧪"}"#,
            r#"{"nested":{"v":1,"n":9,"e":{},"sum":"00000000000000000000000000000000"},"list":[[],{},[null,true,false]]}"#,
            r#"{"big":123456789012345678901234567890.000000000000000000010,"small":-1.50e-400,"zero":-0.0}"#,
            r#"{"twice":1,"twice":2, "spaced" : [ 1 , 2 ]}"#,
            "{}",
        ]
    );
    // And it can be continued.
    let folder = folder();
    let path = folder.path().join("v1.jsonl");
    fs::write(&path, bytes).unwrap();
    let (mut journal, _) = Journal::open(&path).unwrap();
    assert_eq!(journal.append(&json!({"reading": "4.00"})).unwrap(), 8);
    assert!(fs::read(&path).unwrap().starts_with(bytes));
}
