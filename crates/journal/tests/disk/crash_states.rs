//! Power is lost after any call: whatever of the unsynced bytes is left, every recorded entry is there.

use std::path::Path;

use journal::{Journal, OpenError, Step};
use serde_json::{Value, json};

use super::fake::{FakeDisk, Fault, Plan};

const PATH: &str = "site/run.jsonl";

/// What a technician does with a run once it has begun.
#[derive(Clone, Copy, Debug)]
enum Act {
    Short,
    Long,
    Resume,
}

/// What was recorded, and the one entry that was under way.
#[derive(Clone, Debug, Default)]
struct Told {
    recorded: Vec<String>,
    under_way: Option<String>,
    acts: usize,
}

impl Told {
    /// Does `act`; false once the disk (or the process) is gone.
    fn act(&mut self, disk: &FakeDisk, journal: &mut Option<Journal<FakeDisk>>, act: Act) -> bool {
        self.acts += 1;
        let payload = match act {
            Act::Resume => {
                *journal = None;
                return self.resume(disk, journal);
            }
            Act::Short => json!({ "reading": self.acts }),
            Act::Long => json!({ "note": "x".repeat(5000), "reading": self.acts }),
        };
        self.under_way = Some(payload.to_string());
        let Some(open) = journal else { return false };
        if open.append(&payload).is_err() {
            return false;
        }
        self.recorded.extend(self.under_way.take());
        true
    }

    /// Opens again; what the journal then shows is as good as recorded.
    fn resume(&mut self, disk: &FakeDisk, journal: &mut Option<Journal<FakeDisk>>) -> bool {
        let Ok((open, recovered)) = Journal::open_in(disk.clone(), Path::new(PATH)) else { return false };
        *journal = Some(open);
        self.recorded = recovered.entries.iter().map(|e| e.json().to_owned()).collect();
        self.under_way = None;
        true
    }
}

fn perform(disk: &FakeDisk, acts: &[Act]) -> Told {
    let first = json!({"began": "slump"});
    let mut told = Told { under_way: Some(first.to_string()), ..Told::default() };
    let Ok(journal) = Journal::create_in(disk.clone(), Path::new(PATH), &first) else { return told };
    told.recorded.extend(told.under_way.take());
    let mut journal = Some(journal);
    for act in acts {
        if !told.act(disk, &mut journal, *act) {
            break;
        }
    }
    told
}

/// All workloads of up to three acts.
fn workloads() -> Vec<Vec<Act>> {
    let all = [Act::Short, Act::Long, Act::Resume];
    let mut workloads = vec![vec![]];
    let mut longest = vec![vec![]];
    for _ in 0..3 {
        longest = longest.iter().flat_map(|w: &Vec<Act>| all.map(|act| [w.clone(), vec![act]].concat())).collect();
        workloads.extend(longest.clone());
    }
    workloads
}

/// Checks a disk after a crash, and returns what it shows.
fn check(disk: &FakeDisk, told: &Told, case: &str) -> Vec<String> {
    let mut expected = told.recorded.clone();
    let (mut journal, recovered) = match Journal::open_in(disk.clone(), Path::new(PATH)) {
        Ok(opened) => opened,
        Err(OpenError::Disk { step: Step::Open, .. }) if expected.is_empty() => {
            // The journal never got its name: begin again, past whatever was left unfinished.
            Journal::create_in(disk.clone(), Path::new(PATH), &json!({"again": 1})).unwrap();
            return Vec::new();
        }
        Err(why) => panic!("{case}: {why}"),
    };
    let found: Vec<_> = recovered.entries.iter().map(|e| e.json().to_owned()).collect();
    if found.len() > expected.len() {
        expected.extend(told.under_way.clone());
    }
    assert!(found == expected, "{case}: found {} entries, expected {}", found.len(), expected.len());
    if let Some(torn) = recovered.torn {
        assert!(!torn.complete_line, "{case}: a torn write is not taken for damage");
        assert_eq!(disk.file(&torn.kept_in.unwrap()), Some(torn.bytes), "{case}");
    }
    journal.append(&json!({"after": "the crash"})).unwrap();
    drop(journal);
    let (_, again) = Journal::open_in(disk.clone(), Path::new(PATH)).unwrap();
    assert_eq!(again.entries.len(), found.len() + 1, "{case}");
    assert!(again.torn.is_none(), "{case}");
    found
}

#[test]
fn a_crash_after_any_call_loses_no_recorded_entry() {
    let mut states = 0;
    for acts in workloads() {
        for at in 0.. {
            let disk = FakeDisk::default();
            disk.plan(&[Plan { at, for_good: true, fault: Fault::Dead }]);
            let told = perform(&disk, &acts);
            for (k, left) in disk.crash_states().iter().enumerate() {
                check(left, &told, &format!("{acts:?}, dead before call {at}, state {k}"));
                states += 1;
            }
            if disk.calls().len() <= at {
                break;
            }
        }
    }
    assert!(states > 1500, "only {states} crash states");
}

#[test]
fn a_crash_while_repairing_after_a_crash_loses_no_recorded_entry() {
    let mut states = 0;
    for acts in [vec![Act::Short], vec![Act::Short, Act::Long]] {
        for at in 0.. {
            let disk = FakeDisk::default();
            disk.plan(&[Plan { at, for_good: true, fault: Fault::Dead }]);
            let told = perform(&disk, &acts);
            let first = disk.crash_states().len();
            for k in 0..first {
                for again in 0.. {
                    // A fresh copy of the same crash state each time.
                    let disk = disk.crash_states().swap_remove(k);
                    disk.plan(&[Plan { at: again, for_good: true, fault: Fault::Dead }]);
                    let opened = Journal::open_in(disk.clone(), Path::new(PATH)).is_ok();
                    for left in disk.crash_states() {
                        let case = format!("{acts:?}, dead before call {at}, state {k}, then before call {again}");
                        check(&left, &told, &case);
                        states += 1;
                    }
                    if opened || disk.calls().len() <= again {
                        break;
                    }
                }
            }
            if disk.calls().len() <= at {
                break;
            }
        }
    }
    assert!(states > 300, "only {states} crash states");
}

/// The dangerous case: a sync fails, the system marks the bytes as saved, the next sync "succeeds" without them. If
/// resuming trusted what it reads, the next entry would be recorded behind a hole.
#[test]
fn after_a_failed_sync_and_a_resume_a_crash_loses_no_recorded_entry() {
    let mut states = 0;
    let clean = FakeDisk::default();
    let workload = [Act::Short, Act::Long, Act::Short];
    perform(&clean, &workload);
    for (sync, _) in clean.calls().into_iter().enumerate().filter(|(_, call)| *call == "sync").skip(1) {
        for dead in sync + 1..sync + 20 {
            let disk = FakeDisk::default();
            disk.plan(&[
                Plan { at: sync, for_good: false, fault: Fault::Io },
                Plan { at: dead, for_good: true, fault: Fault::Dead },
            ]);
            let mut told = perform(&disk, &workload);
            let mut journal = None;
            if told.resume(&disk, &mut journal) {
                for act in [Act::Short, Act::Short] {
                    if !told.act(&disk, &mut journal, act) {
                        break;
                    }
                }
            }
            for (k, left) in disk.crash_states().iter().enumerate() {
                check(left, &told, &format!("sync {sync} failed, dead before call {dead}, state {k}"));
                states += 1;
            }
        }
    }
    assert!(states > 80, "only {states} crash states");
}

#[test]
fn a_torn_entry_is_kept_beside_the_journal_before_it_is_cut_off() {
    let disk = FakeDisk::default();
    let mut journal = Journal::create_in(disk.clone(), Path::new(PATH), &json!({"began": "slump"})).unwrap();
    disk.plan(&[Plan { at: disk.calls().len(), for_good: false, fault: Fault::TornFull }]);
    journal.append(&json!({"reading": "4.25"})).unwrap_err();
    drop(journal);
    let before = disk.calls().len();
    let (_, recovered) = Journal::open_in(disk.clone(), Path::new(PATH)).unwrap();
    assert_eq!(
        disk.calls()[before..],
        [
            "exists",
            "lock",
            "open",
            "read",
            "create_new",
            "write",
            "sync",
            "sync_dir",
            "truncate",
            "write",
            "sync",
            "sync_dir"
        ]
    );
    let torn = recovered.torn.unwrap();
    assert_eq!(torn.kept_in.as_deref(), Some(Path::new("site/run.jsonl.torn-1")));
    let first: Value = recovered.entries[0].read_as().unwrap();
    assert_eq!(first, json!({"began": "slump"}));
}
