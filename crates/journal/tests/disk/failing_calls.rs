//! Each call on the disk fails, once and for good, with each kind of failure.

use std::error::Error;
use std::path::Path;

use journal::{AppendError, CreateError, Journal, OpenError, Step, read_bytes};
use serde_json::json;

use super::fake::{FakeDisk, Fault, Plan};

const PATH: &str = "site/run.jsonl";

/// What a run tried to record, and what it was told is recorded.
#[derive(Default)]
struct Told {
    tried: Vec<String>,
    recorded: Vec<String>,
}

impl Told {
    /// Tries one entry that differs from all others.
    fn append(&mut self, journal: &mut Journal<FakeDisk>) -> Result<(), AppendError> {
        let payload = json!({ "reading": self.tried.len() });
        self.tried.push(payload.to_string());
        let n = journal.append(&payload)?;
        assert_eq!(n + 1, journal.len());
        self.recorded.push(payload.to_string());
        Ok(())
    }
}

/// A run that is begun, dies, and is resumed; whatever fails, it goes on as far as it is allowed to.
fn perform(disk: &FakeDisk) -> Told {
    let mut told = Told::default();
    told.tried.push(json!({"began": "slump"}).to_string());
    if let Ok(mut journal) = Journal::create_in(disk.clone(), Path::new(PATH), &json!({"began": "slump"})) {
        told.recorded.push(told.tried[0].clone());
        append_until_stopped(&mut told, disk, &mut journal, 4);
    }
    for _ in 0..2 {
        if let Ok((mut journal, recovered)) = Journal::open_in(disk.clone(), Path::new(PATH)) {
            // What is on the disk counts, told or not.
            told.recorded = recovered.entries.iter().map(|e| e.json().to_owned()).collect();
            append_until_stopped(&mut told, disk, &mut journal, 2);
        }
    }
    told
}

fn append_until_stopped(told: &mut Told, disk: &FakeDisk, journal: &mut Journal<FakeDisk>, times: usize) {
    for _ in 0..times {
        if told.append(journal).is_err() {
            assert!(journal.has_stopped());
            let calls = disk.calls();
            assert!(matches!(told.append(journal), Err(AppendError::Stopped { .. })));
            assert_eq!(disk.calls(), calls, "a stopped journal leaves the disk alone");
            return;
        }
    }
}

#[test]
fn whatever_call_fails_every_recorded_entry_is_there_afterwards() {
    let faults =
        [Fault::Full, Fault::Io, Fault::ReadOnly, Fault::Interrupted, Fault::Short, Fault::TornFull, Fault::Dead];
    let mut tried = 0;
    for fault in faults {
        for for_good in [false, true] {
            for at in 0.. {
                let disk = FakeDisk::default();
                disk.plan(&[Plan { at, for_good, fault }]);
                let told = perform(&disk);
                let reached = disk.calls().len() > at;
                disk.plan(&[]);
                let case = format!("{fault:?} at call {at}, for good: {for_good}");
                nothing_lost_nothing_invented(&disk, &told, &case);
                tried += 1;
                if !reached {
                    break;
                }
            }
        }
    }
    assert!(tried > 300, "only {tried} cases: the run no longer reaches the disk");
}

fn nothing_lost_nothing_invented(disk: &FakeDisk, told: &Told, case: &str) {
    match Journal::open_in(disk.clone(), Path::new(PATH)) {
        Ok((_, recovered)) => {
            let found: Vec<_> = recovered.entries.iter().map(|e| e.json().to_owned()).collect();
            assert!(found.starts_with(&told.recorded), "{case}: {found:?} lacks some of {:?}", told.recorded);
            assert!(found.iter().all(|entry| told.tried.contains(entry)), "{case}: {found:?} was never tried");
            assert!(found.len() <= told.recorded.len() + 1, "{case}");
        }
        Err(OpenError::Disk { step: Step::Open, .. }) => {
            assert!(told.recorded.is_empty(), "{case}: the journal is gone");
            // Whatever the failed create left behind must not be in the way of another.
            Journal::create_in(disk.clone(), Path::new(PATH), &json!({"again": 1})).unwrap();
        }
        Err(why) => panic!("{case}: {why}"),
    }
}

#[test]
fn a_disk_that_writes_little_by_little_or_is_interrupted_once_loses_nothing() {
    let whole = FakeDisk::default();
    let all = perform(&whole);
    assert_eq!(all.tried, all.recorded);
    let slow = FakeDisk::default();
    slow.plan(&[Plan { at: 0, for_good: true, fault: Fault::Short }]);
    perform(&slow);
    assert_eq!(slow.file(Path::new(PATH)), whole.file(Path::new(PATH)));
    for (at, call) in whole.calls().into_iter().enumerate().filter(|(_, call)| *call == "write") {
        let disk = FakeDisk::default();
        disk.plan(&[Plan { at, for_good: false, fault: Fault::Interrupted }]);
        let told = perform(&disk);
        assert_eq!(told.tried, told.recorded, "{call} {at}");
    }
}

#[test]
fn an_entry_costs_one_write_and_one_sync() {
    let disk = FakeDisk::default();
    let mut journal = Journal::create_in(disk.clone(), Path::new(PATH), &json!({"began": "slump"})).unwrap();
    assert_eq!(
        disk.calls(),
        ["lock", "exists", "remove", "create_new", "write", "sync", "rename", "sync_dir"],
        "the name comes last, after the bytes are on the disk"
    );
    let before = disk.calls().len();
    journal.append(&json!({"reading": "4.25"})).unwrap();
    assert_eq!(disk.calls()[before..], ["write", "sync"]);
}

#[test]
fn after_a_failed_sync_nothing_more_is_recorded_and_no_sync_is_tried_again() {
    let disk = FakeDisk::default();
    let mut journal = Journal::create_in(disk.clone(), Path::new(PATH), &json!({"began": "slump"})).unwrap();
    disk.plan(&[Plan { at: disk.calls().len() + 1, for_good: false, fault: Fault::Io }]);
    let why = journal.append(&json!({"reading": 1})).unwrap_err();
    assert!(matches!(why, AppendError::Disk { n: 1, step: Step::Sync, .. }), "{why}");
    assert_eq!(why.to_string(), "entry 1 is NOT recorded: cannot save to the disk site/run.jsonl");
    let calls = disk.calls();
    for _ in 0..3 {
        let why = journal.append(&json!({"reading": 2})).unwrap_err();
        assert!(matches!(why, AppendError::Stopped { n: 1, .. }), "{why}");
    }
    assert_eq!(disk.calls(), calls, "a stopped journal leaves the disk alone");
    assert_eq!(journal.len(), 1);
    assert!(matches!(Journal::open_in(disk.clone(), Path::new(PATH)), Err(OpenError::Locked { .. })));

    drop(journal);
    let (journal, recovered) = Journal::open_in(disk, Path::new(PATH)).unwrap();
    assert_eq!(journal.len(), recovered.entries.len() as u64);
    assert!(!journal.has_stopped());
}

#[test]
fn a_payload_that_cannot_be_written_does_not_stop_the_journal() {
    let disk = FakeDisk::default();
    let mut journal = Journal::create_in(disk.clone(), Path::new(PATH), &json!({"began": "slump"})).unwrap();
    let calls = disk.calls();
    assert!(matches!(journal.append(&json!([1])), Err(AppendError::Payload(_))));
    assert_eq!(disk.calls(), calls);
    assert_eq!(journal.append(&json!({"reading": 1})).unwrap(), 1);
    assert_eq!(read_bytes(&disk.file(Path::new(PATH)).unwrap()).unwrap().entries.len(), 2);
    // A payload that is none makes no journal, and no file at all.
    let empty = FakeDisk::default();
    assert!(matches!(Journal::create_in(empty.clone(), Path::new(PATH), &7), Err(CreateError::Payload(_))));
    assert!(empty.calls().is_empty() && empty.names().is_empty());
}

#[test]
fn a_failed_create_names_the_call_and_says_what_to_do() {
    let steps = [
        ("lock", Step::Lock),
        ("exists", Step::Look),
        ("remove", Step::ClearUnfinished),
        ("create_new", Step::Make),
        ("write", Step::Write),
        ("sync", Step::Sync),
        ("rename", Step::Name),
        ("sync_dir", Step::SyncFolder),
    ];
    for (at, (call, expected)) in steps.into_iter().enumerate() {
        let disk = FakeDisk::default();
        disk.plan(&[Plan { at, for_good: false, fault: Fault::Full }]);
        let why = Journal::create_in(disk.clone(), Path::new(PATH), &json!({"began": "slump"})).unwrap_err();
        assert_eq!(disk.calls()[at], call);
        let CreateError::Disk { step, .. } = &why else { panic!("{why}") };
        assert_eq!(*step, expected);
        assert!(why.hint().starts_with("The disk is full:") && why.hint().ends_with("choose another folder."));
        assert!(why.source().is_some());
        assert_eq!(disk.names(), [] as [&Path; 0], "{call}: nothing half-made is left");
    }
}
