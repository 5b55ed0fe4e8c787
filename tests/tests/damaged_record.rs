//! A record that was cut off or changed anywhere: what is sound is read as it was, the rest is reported or refused.
//!
//! The record is that of a finished run, made by the real program from a demonstration script. Its first line holds the
//! procedure's whole text and is by far the longest, so: every byte of every line after it is cut and changed, and of
//! the first line a sample of [`SAMPLE`] places drawn from a printed seed.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::fs;
use std::path::Path;

use acceptance::{Chance, Site};
use coach::rim::store::{Known, replay};
use engine::Run;
use journal::{Damaged, Entry, Recovered, read_bytes};

/// Places in the first line.
const SAMPLE: usize = 300;

struct Record {
    bytes: Vec<u8>,
    /// Where each line begins, and where the last one ends.
    lines: Vec<usize>,
    entries: Vec<Entry>,
    /// How the run stood after so many lines: computed once, since the same entries always give the same run.
    runs: Vec<Run>,
}

impl Record {
    fn of_a_finished_run() -> Self {
        let mut known = Known::default();
        let site = Site::new();
        let bytes = fs::read(site.demonstration("plain-run")).unwrap();
        let mut lines = vec![0];
        lines.extend(bytes.iter().enumerate().filter(|(_, byte)| **byte == b'\n').map(|(at, _)| at + 1));
        let runs = lines[1..].iter().map(|end| replay(read_bytes(&bytes[..*end]).unwrap(), &mut known).unwrap().run);
        let runs: Vec<Run> = runs.collect();
        assert_eq!(runs.last().unwrap().results()[0].reported.to_string(), "6.00 %");
        let Recovered { entries, .. } = read_bytes(&bytes).unwrap();
        Self { lines, entries, runs, bytes }
    }

    fn places(&self) -> Vec<usize> {
        let mut chance = Chance::new(20_260_514);
        let first = self.lines[1];
        let mut places: Vec<usize> = (0..SAMPLE).map(|_| chance.below(first)).collect();
        // Where the fields of the frame begin and end, and the last bytes of the line.
        places.extend(0..20);
        places.extend(first - 60..first);
        places.extend(first..self.bytes.len());
        places
    }

    /// How many lines end at or before this byte.
    fn whole_lines(&self, at: usize) -> usize {
        self.lines[1..].partition_point(|end| *end <= at)
    }

    /// Whether what was read is the record as it stood after so many lines, and nothing else.
    fn is_as_after(&self, n_lines: usize, recovered: &Recovered) -> bool {
        recovered.entries == self.entries[..n_lines]
    }

    /// Whether the run read back from it is the one that stood after so many lines.
    fn gives_the_run_after(&self, n_lines: usize, recovered: Recovered) -> bool {
        replay(recovered, &mut Known::default()).is_ok_and(|loaded| loaded.run.same_state(&self.runs[n_lines - 1]))
    }
}

#[test]
fn a_record_cut_off_at_any_byte_is_the_run_as_it_stood_then_with_what_was_torn_reported() {
    let record = Record::of_a_finished_run();
    let mut seen = 0;
    for cut in record.places() {
        let n_lines = record.whole_lines(cut);
        let outcome = read_bytes(&record.bytes[..cut]);
        if n_lines == 0 {
            let bytes = cut as u64;
            assert_eq!(outcome, Err(Damaged::NoFirstEntry { bytes }), "cut at byte {cut}");
            continue;
        }
        let recovered = outcome.unwrap_or_else(|why| panic!("cut at byte {cut}: {why}"));
        let torn = record.bytes[record.lines[n_lines]..cut].to_vec();
        match &recovered.torn {
            None => assert!(torn.is_empty(), "cut at byte {cut}: what was torn is not reported"),
            Some(found) => {
                assert_eq!((&found.bytes, found.complete_line), (&torn, false), "cut at byte {cut}");
            }
        }
        assert!(record.is_as_after(n_lines, &recovered), "cut at byte {cut}");
        // The same entries give the same run: performing them again once for every number of lines is enough.
        if seen < n_lines {
            seen = n_lines;
            assert!(record.gives_the_run_after(n_lines, recovered), "cut at byte {cut}");
        }
    }
}

#[test]
fn a_record_with_any_byte_changed_is_refused_or_its_last_line_is_set_aside_and_never_another_result() {
    let record = Record::of_a_finished_run();
    let mut chance = Chance::new(20_260_515);
    let n_lines = record.runs.len();
    let (mut refused, mut set_aside) = (0, 0);
    for at in record.places() {
        let mut bytes = record.bytes.clone();
        bytes[at] ^= u8::try_from(1 + chance.below(255)).unwrap();
        let line = record.whole_lines(at);
        match read_bytes(&bytes) {
            Ok(recovered) => {
                // Only in the last line can it be told from nothing else that came after it.
                assert_eq!(line, n_lines - 1, "byte {at} of line {} was changed and nobody noticed", line + 1);
                assert!(recovered.torn.is_some(), "byte {at}");
                assert!(record.is_as_after(n_lines - 1, &recovered), "byte {at}");
                set_aside += 1;
            }
            Err(Damaged::Inside { line: named, .. }) => {
                // The changed line is named; a changed newline shows at the line it ended or the one it swallowed.
                let named = usize::try_from(named).unwrap();
                assert!((line + 1..=line + 2).contains(&named), "byte {at} of line {}: line {named} named", line + 1);
                refused += 1;
            }
            Err(Damaged::NoFirstEntry { .. }) => {
                assert_eq!(line, 0, "byte {at}");
                refused += 1;
            }
            Err(Damaged::NewerFormat { .. }) => panic!("byte {at} passes for a newer format"),
        }
    }
    println!("{refused} changed bytes refused, {set_aside} in the last line set aside");
    assert!(refused > 10_000 && set_aside > 100);
}

/// What the program answers to a record: the exit codes of verify, show and resume, and what each says.
fn answers(site: &Site, record: &Path) -> [(Option<i32>, String); 3] {
    let name = record.to_str().unwrap();
    ["verify", "show", "resume"].map(|command| {
        let mut args = vec![command, name];
        if command == "resume" {
            args.push("--plain");
        }
        let done = site.run(&args);
        (done.code, format!("{}{}", done.out, done.err))
    })
}

#[test]
fn the_program_says_of_a_damaged_record_what_is_wrong_where_and_what_to_do() {
    let site = Site::new();
    // A run that is still open: it was left before the last act.
    let script = fs::read_to_string(acceptance::house().join("demo/plain-run.lines")).unwrap();
    let open = script.split("+5s close").next().unwrap();
    fs::write(site.path().join("open.lines"), open).unwrap();
    let done = site.run(&["run", "air-volumetric", "--script", "open.lines"]);
    assert_eq!(done.code, Some(0), "{done:?}");
    let whole = fs::read(site.record()).unwrap();
    let lines: Vec<usize> = whole.iter().enumerate().filter(|(_, b)| **b == b'\n').map(|(at, _)| at + 1).collect();
    let n = lines.len();

    let cut = |at: usize| whole[..at].to_vec();
    let change = |at: usize| {
        let mut bytes = whole.clone();
        bytes[at] ^= 0x04;
        bytes
    };
    let without_line = |line: usize| [&whole[..lines[line - 1]], &whole[lines[line]..]].concat();
    // What was done to it, the bytes, the exit code of verify, words of verify, whether it can be resumed.
    let inside = |line: usize| format!("(line {line}, byte {})", lines[line - 2]);
    let cases: Vec<(&str, Vec<u8>, i32, String, bool)> = vec![
        ("nothing", whole.clone(), 0, "sound".to_owned(), true),
        ("cut to nothing", cut(0), 1, "no whole first entry".to_owned(), false),
        ("cut in the first line", cut(lines[0] / 2), 1, "no whole first entry".to_owned(), false),
        ("cut before the first newline", cut(lines[0] - 1), 1, "no whole first entry".to_owned(), false),
        ("cut after line 20", cut(lines[19]), 0, "sound".to_owned(), true),
        ("cut within line 21", cut(lines[19] + 40), 0, "never finished, so never recorded".to_owned(), true),
        ("cut within the last line", cut(whole.len() - 10), 0, "never finished, so never recorded".to_owned(), true),
        ("cut before the last newline", cut(whole.len() - 1), 0, "never finished, so never recorded".to_owned(), true),
        ("a byte of the first line changed", change(2_000), 1, "entry 0".to_owned(), false),
        ("a byte of line 30 changed", change(lines[28] + 30), 1, inside(30), false),
        ("a newline in the middle changed", change(lines[39] - 1), 1, inside(40), false),
        ("a byte of the last line changed", change(whole.len() - 20), 1, "may have been recorded".to_owned(), true),
        ("line 25 taken out", without_line(24), 1, inside(25), false),
    ];
    for (what, bytes, code, words, can_go_on) in cases {
        let site = Site::new();
        let folder = site.data().join("runs");
        fs::create_dir_all(&folder).unwrap();
        let record = folder.join("2026-05-14-0730-air-volumetric-aa.jsonl");
        fs::write(&record, &bytes).unwrap();
        let [verify, show, resume] = answers(&site, &record);
        assert_eq!(verify.0, Some(code), "{what}: {verify:?}");
        assert!(verify.1.contains(&words), "{what}: “{words}” is not in: {}", verify.1);
        assert_eq!(resume.0 == Some(0), can_go_on, "{what}: {resume:?}");
        if can_go_on {
            assert_eq!(show.0, Some(0), "{what}: {show:?}");
            let (_, after) = site.run(&["verify", "aa"]).into_code_and_text();
            assert!(after.contains("sound"), "{what}, resumed: {after}");
        } else {
            assert_eq!(show.0, Some(1), "{what}: {show:?}");
            assert!(resume.1.contains("new run"), "{what}: what to do is said: {}", resume.1);
            assert_eq!(fs::read(&record).unwrap(), bytes, "{what}: a refused file is left as it is");
        }
        // What was cut off is set aside, never thrown away.
        let n_aside = fs::read_dir(&folder)
            .unwrap()
            .filter(|f| f.as_ref().unwrap().file_name().to_string_lossy().contains(".torn-"));
        let is_torn = words.contains("never finished") || words.contains("may have been");
        assert_eq!(n_aside.count(), usize::from(is_torn), "{what}");
    }
    assert!(n > 60);
}
