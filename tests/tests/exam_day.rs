//! A mock exam of one morning: twelve candidates at three stations, marked by keys in a terminal, killed in the middle.
//!
//! Whose mark each key is stands in the script of keys alone; the record, the export and the sheets of the real program
//! are compared with it. Candidates and raters are invented (`demo/class`).

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;

use acceptance::site::payloads;
use acceptance::{Chance, Site, Terminal, house};
use rustix::process::{Pid, Resource, Rlimit, getrlimit, prlimit};
use serde_json::Value;

const STATIONS: usize = 3;
const METHODS: [&str; 4] = ["sampling", "temperature", "slump", "air-pressure"];
/// Marks of one trial, about so many; some sheets are left before their end.
const MARKS: usize = 14;

/// What a rater does, at which station.
#[derive(Clone, Debug)]
struct Stroke {
    station: usize,
    keys: Vec<&'static str>,
    /// Typed before the keys: the number of a candidate.
    number: Option<String>,
    means: Means,
}

/// The one act on record that follows from it.
#[derive(Clone, Debug, PartialEq)]
enum Means {
    Began { candidate: String, method: &'static str },
    Marked(&'static str),
    Undone,
    Ended,
}

/// The morning: every candidate does two methods; the stations are marked in turn, as hands move.
fn morning(chance: &mut Chance) -> Vec<Stroke> {
    let mut strokes = Vec::new();
    for round in 0..8 {
        let mut left: Vec<Vec<Stroke>> = (0..STATIONS)
            .map(|station| {
                let candidate = (round * STATIONS + station) % 12;
                let method = (candidate + round / 4) % METHODS.len();
                trial(station, &format!("{:02}", candidate + 1), method, chance)
            })
            .collect();
        while left.iter().any(|strokes| !strokes.is_empty()) {
            let station = chance.below(STATIONS);
            // A few acts at one station, then the eye goes to another.
            for _ in 0..=chance.below(3) {
                if !left[station].is_empty() {
                    strokes.push(left[station].remove(0));
                }
            }
        }
    }
    strokes
}

fn trial(station: usize, candidate: &str, method: usize, chance: &mut Chance) -> Vec<Stroke> {
    let digits = ["1", "2", "3", "4"];
    let mut strokes = vec![Stroke {
        station,
        keys: vec!["Enter", digits[method], "Enter"],
        number: Some(candidate.to_owned()),
        means: Means::Began { candidate: candidate.to_owned(), method: METHODS[method] },
    }];
    let mut to_undo = 0;
    for _ in 0..MARKS + chance.below(8) {
        let (key, means) = match chance.below(20) {
            0 | 1 => ("m", Means::Marked("missed")),
            2 => ("n", Means::Marked("not-seen")),
            3 | 4 if method == 0 => ("t", Means::Marked("told")),
            5 if to_undo > 0 => ("u", Means::Undone),
            6 => ("1", Means::Marked("done")),
            7 => ("2", Means::Marked("missed")),
            _ => ("d", Means::Marked("done")),
        };
        to_undo = if means == Means::Undone { to_undo - 1 } else { to_undo + 1 };
        strokes.push(Stroke { station, keys: vec![key], number: None, means });
    }
    strokes.push(Stroke { station, keys: vec!["e", "Enter"], number: None, means: Means::Ended });
    strokes
}

/// The trial of each stroke, as the record names it.
fn trials(strokes: &[Stroke]) -> Vec<String> {
    let mut at: Vec<String> = vec![String::new(); STATIONS];
    strokes
        .iter()
        .map(|stroke| {
            if let Means::Began { candidate, method } = &stroke.means {
                at[stroke.station] = format!("{candidate}/{method}/1");
            }
            at[stroke.station].clone()
        })
        .collect()
}

fn record(site: &Site) -> PathBuf {
    site.data().join("exams/morning.jsonl")
}

/// What raters did, as it is on record.
fn events(site: &Site) -> Vec<Value> {
    let lines = payloads(&record(site)).into_iter().filter(|line| line["line"] == "happened");
    lines.map(|mut line| line["event"].take()).collect()
}

/// Makes the exam of the demonstrated class.
fn make(site: &Site) {
    let class = house().join("demo/class");
    let file = |name: &str| class.join(name).display().to_string();
    let made = site.run(&["exam", "new", "--exam", &file("exam.toml"), "--roster", &file("roster.csv"), "morning"]);
    assert_eq!(made.code, Some(0), "{made:?}");
}

fn open(site: &Site, columns: u16, rows: u16) -> Terminal {
    Terminal::sized(site, columns, rows, &["exam", "morning", "--rater", "S. Vantongeren"])
}

fn press(terminal: &Terminal, stroke: &Stroke) {
    // The function keys, as terminals send them.
    terminal.send([b"\x1bOP", b"\x1bOQ", b"\x1bOR"][stroke.station]);
    if let Some(number) = &stroke.number {
        terminal.press(&["b"]);
        terminal.send(number.as_bytes());
    }
    terminal.press(&stroke.keys);
}

/// Rows of a file of comma-separated values with a header, by column.
fn rows(text: &str) -> Vec<BTreeMap<String, String>> {
    let mut all: Vec<Vec<String>> = vec![vec![String::new()]];
    let mut is_quoted = false;
    let mut signs = text.chars().peekable();
    while let Some(sign) = signs.next() {
        let row = all.last_mut().unwrap();
        match sign {
            '"' if is_quoted && signs.peek() == Some(&'"') => row.last_mut().unwrap().push(signs.next().unwrap()),
            '"' => is_quoted = !is_quoted,
            ',' if !is_quoted => row.push(String::new()),
            '\n' if !is_quoted => all.push(vec![String::new()]),
            '\r' if !is_quoted => {}
            sign => row.last_mut().unwrap().push(sign),
        }
    }
    let head = all.remove(0);
    let whole = all.into_iter().filter(|row| row.len() == head.len());
    whole.map(|row| head.iter().cloned().zip(row).collect()).collect()
}

/// The marks the keys of a trial give: one after the other, each to the next act without a mark.
fn expected(items: &[String], keys: &[&Means]) -> Vec<Option<&'static str>> {
    let mut marks: Vec<Vec<&'static str>> = vec![Vec::new(); items.len()];
    let (mut at, mut done) = (0, Vec::new());
    for means in keys {
        match means {
            Means::Marked(mark) => {
                marks[at].push(mark);
                done.push(at);
                at = (at + 1..items.len()).find(|at| marks[*at].is_empty()).unwrap_or(at);
            }
            Means::Undone => {
                at = done.pop().unwrap();
                marks[at].pop();
            }
            Means::Began { .. } | Means::Ended => {}
        }
    }
    marks.into_iter().map(|marks| marks.last().copied()).collect()
}

#[test]
fn no_mark_of_a_morning_is_lost_or_given_to_another_though_the_program_is_killed_four_times() {
    let class = house().join("demo/class");
    let site = Site::new();
    make(&site);

    let mut chance = Chance::new(4);
    let strokes = morning(&mut chance);
    let trials = trials(&strokes);
    assert_eq!(trials.iter().collect::<BTreeSet<_>>().len(), 24, "twelve candidates, two methods each");
    let kills: BTreeSet<usize> = (1..=4).map(|n| n * strokes.len() / 5 + chance.below(20)).collect();

    let mut terminal = open(&site, 80, 24);
    terminal.wait_recorded(0);
    for (n, stroke) in strokes.iter().enumerate() {
        press(&terminal, stroke);
        if !kills.contains(&n) {
            terminal.wait_recorded(n + 1);
            continue;
        }
        // In the middle of an act: nobody has been told yet that it is recorded.
        if chance.below(2) == 0 {
            terminal.wait_recorded(n + 1);
        }
        let said = terminal.screen().lines().next().unwrap_or_default().trim_end().ends_with(&format!("✓ {}", n + 1));
        terminal.kill();
        let there = events(&site).len();
        assert!(there == n + 1 || there == n && !said, "{there} acts after {n}, and “recorded” was said: {said}");
        terminal = open(&site, if n % 2 == 0 { 120 } else { 80 }, if n % 2 == 0 { 40 } else { 24 });
        terminal.wait_recorded(there);
        terminal.wait_for("Resumed after");
        if there == n {
            press(&terminal, stroke);
            terminal.wait_recorded(n + 1);
        }
    }

    // A second writer is refused while the first marks.
    let second = site.run(&["exam", "morning"]);
    assert_eq!(second.code, Some(1), "{second:?}");
    terminal.leave();

    // Act by act, in order: the same trial, the same mark.
    let on_record = events(&site);
    assert_eq!(on_record.len(), strokes.len());
    for (n, ((event, stroke), trial)) in on_record.iter().zip(&strokes).zip(&trials).enumerate() {
        assert_eq!(event["trial"], trial.as_str(), "act {n}: {event}");
        match &stroke.means {
            Means::Began { candidate, method } => {
                assert_eq!((&event["what"], &event["candidate"]), (&"began".into(), &candidate.as_str().into()));
                assert_eq!((&event["method"], &event["station"]), (&(*method).into(), &(stroke.station + 1).into()));
                assert_eq!(event["rater"], "S. Vantongeren");
            }
            Means::Marked(mark) => assert_eq!((&event["what"], &event["mark"]), (&"marked".into(), &(*mark).into())),
            Means::Undone => assert_eq!(event["what"], "undone"),
            Means::Ended => assert_eq!(event["what"], "ended"),
        }
    }

    // What the program makes of them: the same mark for the same act of the same person.
    let verified = site.run(&["verify", "morning"]);
    assert!(verified.code == Some(0) && verified.out.contains("sound"), "{verified:?}");
    let export = site.run(&["exam", "export", "morning"]);
    assert_eq!(export.code, Some(0), "{export:?}");
    let rows = rows(&export.out);
    let mut n_marks = 0;
    for trial in trials.iter().collect::<BTreeSet<_>>() {
        let of_trial = |row: &&BTreeMap<String, String>| row["trial"] == *trial && !row["item"].starts_with("limit:");
        let items: Vec<&BTreeMap<String, String>> = rows.iter().filter(of_trial).collect();
        assert!(items.len() >= 10, "{trial}: a sheet of {} acts", items.len());
        let names: Vec<String> = items.iter().map(|row| row["item"].clone()).collect();
        let keys: Vec<&Means> =
            strokes.iter().zip(&trials).filter(|(_, of)| *of == trial).map(|(one, _)| &one.means).collect();
        for (row, mark) in items.iter().zip(expected(&names, &keys)) {
            let words = match mark {
                Some("told") => "told aloud",
                Some("not-seen") => "not seen",
                Some(mark) => mark,
                None => "",
            };
            assert_eq!(row["mark"], words, "{trial}, {}", row["item"]);
            assert!(trial.starts_with(&format!("{}/", row["candidate"])));
            n_marks += usize::from(mark.is_some());
        }
    }
    assert!(n_marks > 24 * 10, "{n_marks} marks");

    // A sheet for each, with nobody else's name on it.
    let folder = site.path().join("sheets");
    let written = site.run(&["exam", "sheets", "morning", "--output", folder.to_str().unwrap()]);
    assert_eq!(written.code, Some(0), "{written:?}");
    let roster = fs::read_to_string(class.join("roster.csv")).unwrap();
    let people: Vec<(String, String)> = rows_of_roster(&roster);
    assert_eq!(people.len(), 12);
    for (number, name) in &people {
        let sheet = fs::read_to_string(folder.join(format!("candidate-{number}.txt"))).unwrap();
        assert!(sheet.contains(name.as_str()), "{number} {name}");
        for (_, other) in people.iter().filter(|(other, _)| other != number) {
            assert!(!sheet.contains(other.as_str()), "{other} on the sheet of {name}");
        }
    }
    let anonymous = site.run(&["exam", "export", "morning", "--anonymous"]).out;
    assert!(people.iter().all(|(_, name)| !anonymous.contains(name.as_str())) && !anonymous.contains("Vantongeren"));
}

fn rows_of_roster(text: &str) -> Vec<(String, String)> {
    rows(text).into_iter().map(|row| (row["number"].clone(), row["name"].clone())).collect()
}

/// Lets the program's files grow to `most` bytes, or as large as it likes: a disk that is full.
fn let_files_grow_to(pid: Pid, most: Option<u64>) {
    let maximum = getrlimit(Resource::Fsize).maximum;
    prlimit(Some(pid), Resource::Fsize, Rlimit { current: most, maximum }).unwrap();
}

#[test]
fn on_a_full_disk_every_mark_is_kept_in_memory_and_recorded_in_another_folder() {
    let site = Site::new();
    make(&site);
    // A full disk sends no signal.
    let script = r#"trap "" XFSZ; exec "$@""#;
    let terminal = Terminal::shell(&site, script, &["exam", "morning", "--rater", "S. Vantongeren"], &[]);
    terminal.wait_recorded(0);
    terminal.press(&["b", "07", "Enter", "3", "Enter", "d", "m"]);
    terminal.wait_recorded(3);
    // There is room for half of the next line: it is torn.
    let size = fs::metadata(record(&site)).unwrap().len();
    let_files_grow_to(terminal.pid(), Some(size + 60));
    terminal.press(&["d"]);
    terminal.wait_for("NOT RECORDED: 1 only in memory");
    terminal.press(&["d", "m"]);
    terminal.wait_for("NOT RECORDED: 3 only in memory");
    assert_eq!(events(&site).len(), 3, "what had been recorded is there, and no more is claimed");
    // A folder on the same full disk is no better, and nothing is lost by trying.
    let folder = |name: &str| site.path().join(name).display().to_string();
    terminal.press(&["f", &folder("no-better"), "Enter"]);
    terminal.wait_for("3 only in memory");
    let_files_grow_to(terminal.pid(), None);
    terminal.press(&["f", &folder("card"), "Enter"]);
    terminal.wait_recorded(6);
    terminal.press(&["d"]);
    terminal.wait_recorded(7);
    terminal.leave();

    let there = site.path().join("card/exams/morning.jsonl");
    let happened = payloads(&there).into_iter().filter(|line| line["line"] == "happened");
    let marks: Vec<Value> = happened.skip(1).map(|line| line["event"]["mark"].clone()).collect();
    assert_eq!(marks, ["done", "missed", "done", "done", "missed", "done"], "each once, in order");
}

#[test]
fn with_room_again_the_next_mark_puts_those_before_it_on_the_disk_too() {
    let site = Site::new();
    make(&site);
    let script = r#"trap "" XFSZ; exec "$@""#;
    let terminal = Terminal::shell(&site, script, &["exam", "morning", "--rater", "S. Vantongeren"], &[]);
    terminal.wait_recorded(0);
    terminal.press(&["b", "07", "Enter", "3", "Enter", "d"]);
    terminal.wait_recorded(2);
    let size = fs::metadata(record(&site)).unwrap().len();
    let_files_grow_to(terminal.pid(), Some(size + 60));
    terminal.press(&["m", "d"]);
    terminal.wait_for("NOT RECORDED: 2 only in memory");
    let_files_grow_to(terminal.pid(), None);
    terminal.press(&["n"]);
    terminal.wait_recorded(5);
    terminal.leave();
    let marks: Vec<Value> = events(&site).into_iter().skip(1).map(|mut event| event["mark"].take()).collect();
    assert_eq!(marks, ["done", "missed", "done", "not-seen"]);
}
