//! A disk that is full, cannot be written, or has gone: the run says so at once and goes on, and nothing is claimed.
//!
//! A full disk is made in two ways. Everywhere: the system lets the program's files grow no further (a limit on their
//! size, set and lifted from outside while it runs). Where mounting is allowed: a real file system of one megabyte that
//! somebody else fills. A folder that cannot be written is, for an administrator too, one below a file, one of the
//! system's own making (`/proc`), and, where mounting is allowed, a file system mounted to be read only.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::fs;
use std::path::Path;
use std::process::Command;

use acceptance::acts::{choose_alcohol, fill_and_close, identify};
use acceptance::site::{acts_on_record, records};
use acceptance::{Lines, Site, Terminal};
use rustix::process::{Pid, Resource, Rlimit, getrlimit, prlimit};

const RUN: [&str; 6] = ["run", "air-volumetric", "--system", "inch-pound", "--simulate", "1"];

fn run_in_lines(site: &Site) -> Lines {
    Lines::start(site.command(RUN.iter().chain(&["--plain"])))
}

/// The answer is that the act is not recorded, with its reason and what can be done, and nothing says the opposite.
fn expect_not_recorded(lines: &mut Lines, why: &str) {
    let answer = lines.answer();
    assert!(answer.starts_with("NOT-RECORDED"), "{answer}");
    assert!(answer.contains(why), "“{why}” is not in: {answer}");
    for words in ["kept in memory", "retry", "folder PATH"] {
        assert!(answer.contains(words), "“{words}” is not in: {answer}");
    }
}

/// Says that the whole run is to be kept in another folder, and finds every act there.
fn move_and_find(site: &Site, lines: &mut Lines, n_acts: usize) {
    let other = site.path().join("other");
    lines.say(&format!("folder {}", other.display()));
    lines.expect("FOLDER");
    lines.expect_recorded(n_acts);
    let record = records(&other).pop().unwrap();
    assert_eq!(acts_on_record(&record).len(), n_acts, "all of it is in the other folder");
}

/// Lets the program's files grow to `most` bytes, or as large as it likes.
fn let_files_grow_to(pid: Pid, most: Option<u64>) {
    let maximum = getrlimit(Resource::Fsize).maximum;
    prlimit(Some(pid), Resource::Fsize, Rlimit { current: most, maximum }).unwrap();
}

/// The program with the signal for files that grow too large switched off, as a full disk sends none.
fn limited(site: &Site) -> Lines {
    let program = site.command(RUN.iter().chain(&["--plain"]));
    let mut shell = site.shell(r#"trap "" XFSZ; exec "$@""#);
    shell.arg(program.get_program()).args(program.get_args());
    Lines::start(shell)
}

#[test]
fn on_a_full_disk_the_run_says_so_at_once_goes_on_in_memory_and_is_recorded_whole_in_another_folder() {
    let site = Site::new();
    let acts = identify();
    let mut lines = limited(&site);
    for (n, act) in acts[..3].iter().enumerate() {
        lines.perform(act);
        lines.expect_recorded(n + 1);
    }
    let record = site.record();
    let size = fs::metadata(&record).unwrap().len();
    // There is room for half of the next line: it is torn.
    let_files_grow_to(lines.pid(), Some(size + 60));
    lines.perform(&acts[3]);
    expect_not_recorded(&mut lines, "cannot write to");
    assert_eq!(acts_on_record(&record).len(), 3, "what had been recorded is there, and no more is claimed");
    for act in &acts[4..6] {
        lines.perform(act);
        expect_not_recorded(&mut lines, "cannot write to");
    }
    // Another folder on the same full disk is no better, and nothing is lost by trying.
    lines.say(&format!("folder {}", site.path().join("no-better").display()));
    assert!(lines.answer().starts_with("NOT-RECORDED"));
    lines.say("where");
    lines.expect("STEP cup-check");

    let_files_grow_to(lines.pid(), None);
    move_and_find(&site, &mut lines, 6);
    lines.perform(&acts[6]);
    lines.expect_recorded(7);
    let done = lines.end();
    assert_eq!(done.code, Some(0), "{done:?}");
}

#[test]
fn when_there_is_room_again_a_retry_records_what_was_in_memory_and_nothing_twice() {
    let site = Site::new();
    let acts = identify();
    let mut lines = limited(&site);
    lines.perform(&acts[0]);
    lines.expect_recorded(1);
    let size = fs::metadata(site.record()).unwrap().len();
    let_files_grow_to(lines.pid(), Some(size + 60));
    for act in &acts[1..3] {
        lines.perform(act);
        expect_not_recorded(&mut lines, "cannot write to");
    }
    lines.say("retry");
    assert!(lines.answer().starts_with("NOT-RECORDED"), "there is no room yet");
    let_files_grow_to(lines.pid(), None);
    lines.say("retry");
    lines.expect_recorded(3);
    let on_record = acts_on_record(&site.record());
    let names: Vec<_> = on_record.iter().map(|act| act["reading"].as_str().unwrap()).collect();
    assert_eq!(names, ["technician", "job", "sample"]);
    let done = lines.end();
    assert_eq!(done.code, Some(0), "{done:?}");
    site.verify();
}

#[test]
fn left_with_something_on_no_disk_the_program_fails_and_prints_it_to_be_copied() {
    let site = Site::new();
    let acts = identify();
    let mut lines = limited(&site);
    lines.perform(&acts[0]);
    lines.expect_recorded(1);
    let size = fs::metadata(site.record()).unwrap().len();
    let_files_grow_to(lines.pid(), Some(size + 60));
    lines.perform(&acts[1]);
    expect_not_recorded(&mut lines, "cannot write to");
    let done = lines.end();
    assert_eq!(done.code, Some(3), "{done:?}");
    assert!(done.err.contains("NOT recorded"), "{done:?}");
    assert!(done.err.contains("Harrow Bend footbridge"), "what is on no disk is printed: {done:?}");
    assert_eq!(acts_on_record(&site.record()).len(), 1);
}

#[test]
fn in_a_folder_that_cannot_be_written_the_run_says_so_before_the_first_act_and_can_be_recorded_elsewhere() {
    for (what, below) in [("a folder below a file", None), ("a folder of the system", Some("/proc/pourside"))] {
        let site = Site::new();
        let file = site.path().join("file");
        fs::write(&file, "a file, no folder").unwrap();
        let folder = below.map_or_else(|| file.join("data"), Into::into);
        let mut command = site.command(RUN.iter().chain(&["--plain"]));
        command.arg("--data").arg(&folder);
        let mut lines = Lines::start(command);
        let first = lines.answer();
        assert!(first.starts_with("NOT-RECORDED"), "{what}: {first}");
        lines.perform(&identify()[0]);
        expect_not_recorded(&mut lines, "cannot make the folder");
        move_and_find(&site, &mut lines, 1);
        lines.perform(&identify()[1]);
        lines.expect_recorded(2);
        assert_eq!(lines.end().code, Some(0), "{what}");
    }
}

#[test]
fn a_folder_that_vanishes_in_the_middle_of_the_run_is_noticed_at_the_next_act() {
    let site = Site::new();
    let acts = identify();
    let mut lines = run_in_lines(&site);
    for (n, act) in acts[..2].iter().enumerate() {
        lines.perform(act);
        lines.expect_recorded(n + 1);
    }
    fs::remove_dir_all(site.data()).unwrap();
    lines.perform(&acts[2]);
    expect_not_recorded(&mut lines, "has vanished");
    lines.perform(&acts[3]);
    expect_not_recorded(&mut lines, "has vanished");
    move_and_find(&site, &mut lines, 4);
    assert_eq!(lines.end().code, Some(0));
}

#[test]
fn the_screen_says_not_recorded_until_another_folder_has_taken_everything() {
    let site = Site::new();
    let terminal = Terminal::open(&site, &RUN);
    terminal.wait_for("Who runs this test?");
    let (mut n, acts) = (0, identify());
    terminal.perform_all(&acts[..4], &mut n);
    fs::remove_dir_all(site.data()).unwrap();
    terminal.perform(&acts[4]);
    terminal.wait_for("NOT RECORDED: 1 act only in memory");
    terminal.perform(&acts[5]);
    terminal.wait_for("NOT RECORDED: 2 acts only in memory");
    assert!(!terminal.screen().contains("recorded ✓"), "{}", terminal.screen());
    // The run goes on, and the folder is asked for with one key.
    terminal.wait_for("Read the calibrated cup's volume");
    terminal.press(&["f"]);
    terminal.wait_for("ANOTHER FOLDER FOR THE RECORD");
    terminal.press(&["/proc/nowhere", "Enter"]);
    terminal.wait_for("cannot make the folder");
    terminal.wait_for("NOT RECORDED: 2 acts only in memory");
    terminal.press(&["f"]);
    terminal.wait_for("ANOTHER FOLDER FOR THE RECORD");
    let other = site.path().join("other");
    terminal.press(&[other.to_str().unwrap(), "Enter"]);
    terminal.wait_for("Everything is recorded again");
    terminal.wait_recorded(6);
    assert_eq!(acts_on_record(&records(&other).pop().unwrap()).len(), 6);
    terminal.perform_all(&acts[6..7], &mut { 6 });
    terminal.leave();
    assert_eq!(acts_on_record(&records(&other).pop().unwrap()).len(), 7);
}

#[test]
fn two_acts_of_one_key_of_which_only_the_first_fits_on_the_disk_are_not_called_recorded() {
    let site = Site::new();
    let terminal = Terminal::shell(&site, r#"trap "" XFSZ; exec "$@""#, &RUN, &[]);
    terminal.wait_for("Who runs this test?");
    let mut n = 0;
    terminal.perform_all(&[identify(), choose_alcohol("3.0"), fill_and_close()[..2].to_vec()].concat(), &mut n);
    let size = || fs::metadata(site.record()).unwrap().len();
    // One stroke too few: the count is on record, that it is done is refused. So long is the line of a count.
    let before = size();
    terminal.press(&["24", "Enter"]);
    terminal.wait_for("24 strokes given, 25 asked");
    terminal.wait_recorded(n + 1);
    let (after, room) = (size(), size() - before + 20);
    // Enter now gives the count and says that it is done: there is room for the first of the two.
    let_files_grow_to(terminal.pid(), Some(after + room));
    terminal.press(&["25", "Enter"]);
    terminal.wait_for("NOT RECORDED: 1 act only in memory");
    assert_eq!(acts_on_record(&site.record()).len(), n + 2);
    let_files_grow_to(terminal.pid(), None);
    terminal.leave();
    assert_eq!(acts_on_record(&site.record()).len(), n + 3, "tried once more at the end");
}

#[test]
fn the_screen_left_with_something_on_no_disk_prints_it_to_be_copied_and_fails() {
    let site = Site::new();
    let terminal = Terminal::open(&site, &[&RUN[..], &["--data", "/proc/pourside"]].concat());
    terminal.wait_for("Who runs this test?");
    terminal.perform(&identify()[0]);
    terminal.wait_for("NOT RECORDED: 1 act only in memory");
    terminal.press(&["C-c"]);
    assert_eq!(terminal.wait_end().code, 3);
    let said = String::from_utf8_lossy(&terminal.bytes()).into_owned();
    let after = said.rsplit("\x1b[?1049l").next().unwrap();
    assert!(after.contains("NOT recorded") && after.contains("R. Okafor-Lind"), "{after:?}");
}

/// A file system mounted for one test.
struct Mounted<'a>(&'a Path);

impl<'a> Mounted<'a> {
    /// `None`, with the reason printed, where mounting is not allowed.
    fn new(folder: &'a Path, options: &str) -> Option<Self> {
        fs::create_dir_all(folder).unwrap();
        let mounted = Command::new("mount").args(["-t", "tmpfs", "-o", options, "none"]).arg(folder).output();
        match mounted {
            Ok(done) if done.status.success() => Some(Self(folder)),
            Ok(done) => {
                println!("left out, mounting is not allowed: {}", String::from_utf8_lossy(&done.stderr).trim());
                None
            }
            Err(why) => {
                println!("left out, there is no mount: {why}");
                None
            }
        }
    }
}

impl Drop for Mounted<'_> {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(self.0).status();
    }
}

#[test]
fn on_a_real_file_system_that_somebody_else_fills_nothing_recorded_is_lost() {
    let site = Site::new();
    let folder = site.data();
    let Some(_mounted) = Mounted::new(&folder, "size=1m") else { return };
    let mut lines = run_in_lines(&site);
    let acts = [identify(), choose_alcohol("3.0"), fill_and_close()].concat();
    lines.perform(&acts[0]);
    lines.expect_recorded(1);
    // Fills what is left to the last byte.
    let filler = folder.join("filler");
    let _ = fs::write(&filler, vec![0; 2 << 20]);
    let mut n = 1;
    let answer = loop {
        // A file system gives room by whole blocks: the acts that still fit are recorded.
        lines.perform(&acts[n]);
        n += 1;
        let answer = lines.answer();
        if answer != format!("RECORDED {n}") {
            break answer;
        }
    };
    assert!(answer.starts_with("NOT-RECORDED") && answer.contains("The disk is full"), "{answer}");
    assert_eq!(acts_on_record(&site.record()).len(), n - 1);
    fs::remove_file(&filler).unwrap();
    lines.say("retry");
    lines.expect_recorded(n);
    assert_eq!(acts_on_record(&site.record()).len(), n);
    assert_eq!(lines.end().code, Some(0));
    site.verify();
}

#[test]
fn on_a_file_system_that_can_only_be_read_the_run_says_so_and_why() {
    let site = Site::new();
    let folder = site.data();
    let Some(_mounted) = Mounted::new(&folder, "ro") else { return };
    let mut lines = run_in_lines(&site);
    assert!(lines.answer().starts_with("NOT-RECORDED"));
    lines.perform(&identify()[0]);
    let answer = lines.answer();
    assert!(answer.starts_with("NOT-RECORDED") && answer.contains("Read-only"), "{answer}");
    move_and_find(&site, &mut lines, 1);
    assert_eq!(lines.end().code, Some(0));
}
