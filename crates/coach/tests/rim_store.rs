//! The record of a run on the disk: kept, read back, resumed, moved, and honest when the disk is not.

#![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::borrow::Cow;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use coach::rim::clock::{self, Timepiece};
use coach::rim::library;
use coach::rim::store::{self, Gap, Keeper, Known, Line, LoadError};
use engine::{Event, Moment, Run, Tick, Wall};
use procedure::Edition;
use quantity::{System, Ties};

const OPENED: Wall = Wall { unix_ms: 1_795_602_600_000, offset_min: -360 };

struct Performed {
    keeper: Keeper,
    run: Run,
}

fn procedure() -> (Arc<Edition>, Cow<'static, str>) {
    let found = library::find("air-volumetric", false).unwrap();
    (Arc::new(found.edition(System::InchPound).unwrap()), found.text)
}

fn at(s: u64) -> Moment {
    Moment { tick: Tick(s * 1_000), wall: Wall { unix_ms: OPENED.unix_ms + s as i64 * 1_000, ..OPENED } }
}

fn opening_of(edition: &Edition, text: &str) -> store::Opening {
    store::opening(edition, text, &library::sha256(text), Ties::Even, at(0), &Timepiece::live(Tick(0)))
}

/// A run opened in `data`, not yet on the disk.
fn opened(data: &Path) -> Performed {
    let (edition, text) = procedure();
    let opening = opening_of(&edition, &text);
    let run = Run::open(Arc::clone(&edition), Ties::Even, at(0));
    Performed { keeper: Keeper::new(data.to_owned(), edition, opening), run }
}

impl Performed {
    /// Says a remark at `s` seconds, in the run and on the record.
    fn remark(&mut self, s: u64, text: &str) -> Result<u64, store::Trouble> {
        let event = Event::Remark { text: text.to_owned() };
        self.run.apply(event.clone(), at(s)).unwrap();
        self.keeper.keep(&event, at(s), None)
    }
}

fn remarks(run: &Run) -> Vec<&str> {
    run.remarks().iter().map(|remark| remark.text.as_str()).collect()
}

/// A run with two remarks, its program ended.
fn left_behind(data: &Path) -> PathBuf {
    let mut performed = opened(data);
    performed.keeper.begin().unwrap();
    assert_eq!(performed.remark(10, "truck 12"), Ok(1));
    assert_eq!(performed.remark(20, "windy"), Ok(2));
    performed.keeper.path().to_owned()
}

#[test]
fn what_was_kept_is_read_back_as_the_same_run() {
    let data = tempfile::tempdir().unwrap();
    let mut performed = opened(data.path());
    assert_eq!(performed.keeper.begin(), Ok(0));
    performed.remark(10, "truck 12").unwrap();
    performed.remark(20, "windy").unwrap();
    let loaded = store::load(performed.keeper.path()).unwrap();
    assert!(loaded.run.same_state(&performed.run));
    assert_eq!(loaded.run.last(), at(20));
    assert_eq!(loaded.opening.run, performed.keeper.name());
    assert!(loaded.opening.run.starts_with("2026-11-25-0430-air-volumetric-"), "{}", loaded.opening.run);
    assert_eq!(loaded.opening.procedure_text, procedure().1);
    assert_eq!(loaded.lines.len(), 3);
    assert!(performed.keeper.unkept().is_empty());
}

#[test]
fn two_runs_of_one_minute_have_two_names() {
    let data = tempfile::tempdir().unwrap();
    let keepers: Vec<_> = (0..5)
        .map(|_| {
            let (edition, text) = procedure();
            let opening = opening_of(&edition, &text);
            Keeper::create(data.path().to_owned(), edition, opening)
        })
        .collect();
    assert!(keepers.iter().all(|keeper| keeper.trouble().is_none()));
    assert_eq!(store::runs(data.path()).unwrap().len(), 5);
}

#[test]
fn a_run_is_resumed_by_the_steady_clock_on_the_same_boot_and_by_the_wall_clock_on_another() {
    let data = tempfile::tempdir().unwrap();
    let path = left_behind(data.path());
    let loaded = store::load(&path).unwrap();
    let boot = loaded.opening.boot.clone();
    let origin = loaded.opening.steady_ms;
    let wall = |s: i64| Wall { unix_ms: OPENED.unix_ms + s * 1_000, offset_min: 60 };
    let after = |steady_ms: i64, wall: Wall, boot: Option<&str>| {
        let (timepiece, gap_ms, how) = store::timepiece_after(&loaded, steady_ms, wall, boot.map(str::to_owned));
        (timepiece.tick().0 / 100 * 100, gap_ms, how)
    };
    if let Some(boot) = boot.as_deref() {
        // The wall clock was put right meanwhile; nobody loses or gains a second by it.
        assert_eq!(after(origin + 200_000, wall(-5_000), Some(boot)), (200_000, 180_000, Gap::SameBoot));
        assert_eq!(after(origin + 20_000, wall(9_000), Some(boot)), (20_000, 0, Gap::SameBoot));
    }
    assert_eq!(after(origin + 200_000, wall(320), Some("another boot")), (320_000, 300_000, Gap::WallClock));
    assert_eq!(after(origin + 200_000, wall(320), None), (320_000, 300_000, Gap::WallClock));
    assert_eq!(after(origin + 200_000, wall(19), Some("another boot")), (20_000, 0, Gap::Unknown));
}

#[test]
fn a_resumed_run_says_so_on_the_record_and_goes_on() {
    let data = tempfile::tempdir().unwrap();
    let path = left_behind(data.path());
    let mut resumed = Keeper::resume(&path).unwrap();
    assert!(resumed.said.starts_with("Resumed"), "{}", resumed.said);
    assert!(matches!(Keeper::resume(&path), Err(LoadError::Journal(_))), "one writer at a time");
    let event = Event::Remark { text: "back".to_owned() };
    let now = resumed.timepiece.now();
    resumed.loaded.run.apply(event.clone(), now).unwrap();
    assert_eq!(resumed.keeper.keep(&event, now, None), Ok(3));
    drop(resumed);
    let loaded = store::load(&path).unwrap();
    assert_eq!(remarks(&loaded.run), ["truck 12", "windy", "back"]);
    assert_eq!(loaded.resumes.len(), 1);
    assert!(matches!(loaded.lines[3], Line::Resumed(_)));
}

#[test]
fn simulated_time_stands_still_while_nobody_runs_it() {
    let data = tempfile::tempdir().unwrap();
    let (edition, text) = procedure();
    let clocks = Timepiece::simulated(60, OPENED, Tick(0));
    let opening = store::opening(&edition, &text, &library::sha256(&text), Ties::Even, at(0), &clocks);
    assert_eq!(opening.simulated.as_deref(), Some("simulated time ×60"));
    let mut keeper = Keeper::create(data.path().to_owned(), edition, opening);
    keeper.keep(&Event::Remark { text: "fast".to_owned() }, at(600), None).unwrap();
    let path = keeper.path().to_owned();
    drop(keeper);
    let mut resumed = Keeper::resume(&path).unwrap();
    resumed.keeper.catch_up();
    assert_eq!(resumed.loaded.opening.speed, Some(60));
    let line = store::load(&path).unwrap().resumes.pop().unwrap();
    assert_eq!((line.how, line.gap_ms), (Gap::Simulated, 0));
    assert!((600_000..606_000).contains(&line.at.t), "{}", line.at.t);
}

#[test]
fn a_line_cut_off_by_a_power_cut_is_set_aside_and_said() {
    let data = tempfile::tempdir().unwrap();
    let path = left_behind(data.path());
    let whole = fs::read(&path).unwrap();
    fs::write(&path, &whole[..whole.len() - 9]).unwrap();
    let resumed = Keeper::resume(&path).unwrap();
    assert_eq!(remarks(&resumed.loaded.run), ["truck 12"]);
    assert!(resumed.said.contains("A last entry that had not been recorded was cut off"), "{}", resumed.said);
}

#[test]
fn a_folder_that_vanishes_is_noticed_at_the_next_act_and_everything_is_written_once_it_is_back() {
    let data = tempfile::tempdir().unwrap();
    let mut performed = opened(data.path());
    performed.keeper.begin().unwrap();
    performed.remark(10, "truck 12").unwrap();
    fs::remove_dir_all(store::runs_folder(data.path())).unwrap();
    let trouble = performed.remark(20, "windy").unwrap_err();
    assert!(trouble.what.contains("has vanished"), "{}", trouble.what);
    assert_eq!(performed.keeper.unkept().len(), 3, "nothing is claimed");
    assert!(performed.remark(30, "still here").is_err(), "and nothing more until the disk was looked at");
    assert_eq!(performed.keeper.retry(), Ok(3));
    assert_eq!(performed.keeper.trouble(), None);
    performed.remark(40, "recorded again").unwrap();
    let loaded = store::load(performed.keeper.path()).unwrap();
    assert_eq!(remarks(&loaded.run), ["truck 12", "windy", "still here", "recorded again"]);
}

#[test]
fn a_run_that_could_not_be_begun_is_held_in_memory_and_moves_to_a_folder_that_takes_it() {
    let data = tempfile::tempdir().unwrap();
    let blocked = data.path().join("a-file");
    fs::write(&blocked, "in the way").unwrap();
    let mut performed = opened(&blocked);
    assert!(performed.keeper.begin().unwrap_err().what.contains("cannot make the folder"));
    assert!(performed.remark(10, "truck 12").is_err());
    assert!(performed.keeper.retry().is_err());
    assert!(performed.keeper.move_to(&blocked.join("deeper").display().to_string(), at(15)).is_err());
    let elsewhere = data.path().join("card");
    assert_eq!(performed.keeper.move_to(&elsewhere.display().to_string(), at(20)), Ok(1));
    performed.remark(30, "windy").unwrap();
    assert_eq!(performed.keeper.data(), elsewhere);
    let loaded = store::load(performed.keeper.path()).unwrap();
    assert_eq!(remarks(&loaded.run), ["truck 12", "windy"]);
}

#[test]
fn a_run_that_moves_says_where_it_comes_from_and_the_old_file_is_its_beginning() {
    let data = tempfile::tempdir().unwrap();
    let (first, second) = (data.path().join("first"), data.path().join("second"));
    let mut performed = opened(&first);
    performed.keeper.begin().unwrap();
    performed.remark(10, "truck 12").unwrap();
    let old = performed.keeper.path().to_owned();
    performed.keeper.move_to(&second.display().to_string(), at(15)).unwrap();
    performed.remark(20, "windy").unwrap();
    let loaded = store::load(performed.keeper.path()).unwrap();
    assert_eq!(remarks(&loaded.run), ["truck 12", "windy"]);
    assert!(matches!(&loaded.lines[2], Line::Moved { from, .. } if *from == first.display().to_string()));
    assert_eq!(remarks(&store::load(&old).unwrap().run), ["truck 12"]);
    // And back again: the old file is continued, not written over.
    performed.keeper.move_to(&first.display().to_string(), at(25)).unwrap();
    assert_eq!(performed.keeper.path(), old);
    assert_eq!(remarks(&store::load(&old).unwrap().run), ["truck 12", "windy"]);
}

#[test]
fn another_run_of_that_name_is_never_written_over() {
    let data = tempfile::tempdir().unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let mut performed = opened(data.path());
    performed.keeper.begin().unwrap();
    performed.remark(10, "truck 12").unwrap();
    // Somebody else's run stands there under the same name.
    let mut other = opened(elsewhere.path());
    other.keeper.begin().unwrap();
    other.remark(10, "truck 99").unwrap();
    let there = other.keeper.path().with_file_name(performed.keeper.path().file_name().unwrap());
    let other = other.keeper.path().to_owned();
    if other != there {
        fs::rename(&other, &there).unwrap();
    }
    let before = fs::read(&there).unwrap();
    let trouble = performed.keeper.move_to(&elsewhere.path().display().to_string(), at(20)).unwrap_err();
    assert!(
        trouble.what.contains("holds something else") || trouble.what.contains("another program"),
        "{}",
        trouble.what
    );
    assert_eq!(fs::read(&there).unwrap(), before);
    performed.remark(30, "windy").unwrap();
    assert_eq!(remarks(&store::load(performed.keeper.path()).unwrap().run), ["truck 12", "windy"]);
}

#[test]
fn a_record_that_was_changed_by_hand_is_refused_by_line() {
    let data = tempfile::tempdir().unwrap();
    let path = left_behind(data.path());
    let text = fs::read_to_string(&path).unwrap();
    // Soundly summed lines, but time runs back: only somebody who writes sums can make these.
    let lines: Vec<serde_json::Value> =
        text.lines().map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap()["e"].clone()).collect();
    let forged = data.path().join("forged.jsonl");
    let mut journal = journal::Journal::create(&forged, &lines[0]).unwrap();
    journal.append(&lines[2]).unwrap();
    journal.append(&lines[1]).unwrap();
    drop(journal);
    let why = store::load(&forged).unwrap_err();
    assert!(matches!(why, LoadError::Refused { line: 3, .. }), "{why}");
    // The procedure exchanged for another.
    let mut opening = lines[0].clone();
    let text = opening["procedure_text"].as_str().unwrap().replace("45 s", "25 s");
    opening["procedure_text"] = text.into();
    let exchanged = data.path().join("exchanged.jsonl");
    drop(journal::Journal::create(&exchanged, &opening).unwrap());
    assert!(matches!(store::load(&exchanged), Err(LoadError::OtherProcedure)));
    // Written by a later version.
    let mut opening = lines[0].clone();
    opening["record"] = 2.into();
    let newer = data.path().join("newer.jsonl");
    drop(journal::Journal::create(&newer, &opening).unwrap());
    assert!(matches!(store::load(&newer), Err(LoadError::Newer { found: 2 })));
}

#[test]
fn runs_are_listed_newest_first_and_found_by_a_part_of_their_names() {
    let data = tempfile::tempdir().unwrap();
    let (edition, text) = procedure();
    for day in 0..3 {
        let moment = Moment { tick: Tick(0), wall: Wall { unix_ms: OPENED.unix_ms + day * 86_400_000, ..OPENED } };
        let opening =
            store::opening(&edition, &text, &library::sha256(&text), Ties::Even, moment, &Timepiece::live(Tick(0)));
        let keeper = Keeper::create(data.path().to_owned(), Arc::clone(&edition), opening);
        assert_eq!(keeper.trouble(), None);
    }
    fs::write(store::runs_folder(data.path()).join("2026-01-01-0000-broken.jsonl"), "no journal").unwrap();
    let runs = store::runs(data.path()).unwrap();
    let days: Vec<_> = runs.iter().map(|run| &run.name[..10]).collect();
    assert_eq!(days, ["2026-11-27", "2026-11-26", "2026-11-25", "2026-01-01"]);
    let mut known = Known::default();
    let listed: Vec<_> = runs.iter().map(|run| store::listed(run, &mut known)).collect();
    assert!(listed[0].is_open && listed[0].state.starts_with("open, at “"), "{}", listed[0].state);
    assert!(listed[3].state.starts_with("cannot be read"), "{}", listed[3].state);
    assert_eq!(store::find_run(data.path(), "2026-11-26").unwrap(), runs[1]);
    assert_eq!(store::find_run(data.path(), &runs[2].path.display().to_string()).unwrap().path, runs[2].path);
    assert!(store::find_run(data.path(), "2026-11").unwrap_err().what.contains("may be one of 3"));
    assert!(store::find_run(data.path(), "nothing").is_err());
}

#[test]
fn words_used_before_are_offered_latest_first() {
    let data = tempfile::tempdir().unwrap();
    let (edition, _) = procedure();
    let (name, reading) = edition
        .readings
        .iter()
        .find(|reading| matches!(reading.kind, procedure::ReadingKind::Words))
        .map(|reading| (reading.id.clone(), edition.reading_named(&reading.id).unwrap()))
        .unwrap();
    let mut performed = opened(data.path());
    performed.keeper.begin().unwrap();
    for (s, words) in [(1, "R. Example"), (2, "T. Sample"), (3, "R. Example")] {
        let event = Event::Answer {
            step: procedure::StepId(0),
            reading,
            entry: engine::Entry::Words(words.to_owned()),
            seen: Tick(s * 1_000),
            despite: None,
        };
        performed.keeper.keep(&event, at(s), None).unwrap();
    }
    let offered = store::suggestions(data.path(), &edition, "the present run");
    assert_eq!(offered[&name], ["R. Example", "T. Sample"]);
    assert!(store::suggestions(data.path(), &edition, performed.keeper.name()).is_empty());
}

#[test]
fn a_moment_is_written_with_its_offset_and_read_back() {
    assert_eq!(clock::rfc3339(OPENED), "2026-11-25T04:30:00.000-06:00");
    for wall in [OPENED, Wall { unix_ms: -1, offset_min: 345 }, Wall { unix_ms: 4_102_444_800_999, offset_min: 0 }] {
        assert_eq!(clock::read_rfc3339(&clock::rfc3339(wall)), Some(wall));
    }
    assert_eq!(clock::read_rfc3339("2026-11-25T04:30:00"), None, "no offset");
    assert_eq!(clock::lasted(192_400), "3 min 12 s");
    assert_eq!(clock::lasted(7_500_000), "2 h 5 min");
}

#[test]
fn a_clock_moved_by_hand_stands_still_and_never_runs_back() {
    let mut clock = Timepiece::by_hand(OPENED, Tick(5));
    assert_eq!(clock.tick(), Tick(5));
    clock.put(Tick(60_000));
    clock.put(Tick(30_000));
    assert_eq!(clock.now(), at(60));
    assert!(clock.is_simulated());
    let mut live = Timepiece::live(Tick(0));
    live.put(Tick(1_000_000));
    assert!(live.tick() < Tick(1_000_000));
}
