//! Lines of words into the real program: from every source at once, hostile ones, sources that fail; and the terminal is
//! a terminal as before.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use acceptance::site::acts_on_record;
use acceptance::{Chance, PATIENCE, Site, Terminal};
use rustix::process::Signal;

const RUN: [&str; 5] = ["run", "air-volumetric", "--system", "inch-pound", "--quiet"];

fn wait(what: &str, is_so: impl Fn() -> bool) {
    let end = Instant::now() + PATIENCE;
    while !is_so() {
        assert!(Instant::now() < end, "waited in vain for {what}");
        sleep(Duration::from_millis(5));
    }
}

fn begun(terminal: &Terminal) {
    terminal.wait_for("Who runs this test?");
    terminal.wait_until("an empty record", |screen| screen.contains("recorded ✓"));
}

fn opened(site: &Site, flags: &[&str]) -> Terminal {
    let terminal = Terminal::open(site, &[&RUN, flags].concat());
    begun(&terminal);
    terminal
}

fn writer(path: &Path) -> File {
    wait("the FIFO", || path.exists());
    OpenOptions::new().write(true).open(path).unwrap()
}

fn made(path: &Path) {
    rustix::fs::mkfifoat(rustix::fs::CWD, path, rustix::fs::Mode::RUSR | rustix::fs::Mode::WUSR).unwrap();
}

fn path(site: &Site, name: &str) -> PathBuf {
    site.path().join(name)
}

/// The program with every source at once: a FIFO, a socket, a program that passes on what it reads, standard input.
fn all_at_once(site: &Site) -> (Terminal, Vec<Box<dyn Write>>) {
    let [fifo, socket, told, stdin] = ["fifo", "socket", "told", "stdin"].map(|name| path(site, name));
    made(&told);
    made(&stdin);
    let [fifo_at, socket_at, told_at] = [&fifo, &socket, &told].map(|path| path.to_str().unwrap());
    let flags = ["--listen-fifo", fifo_at, "--listen-socket", socket_at, "--listen-stdin"];
    let flags = [&RUN[..], &flags, &["--listen-cmd", "/bin/cat", told_at]].concat();
    let terminal = Terminal::shell(site, &format!("exec \"$@\" <{}", stdin.display()), &flags, &[]);
    let stdin = writer(&stdin);
    begun(&terminal);
    let fifo = writer(&fifo);
    wait("the socket", || socket.exists());
    let socket = UnixStream::connect(&socket).unwrap();
    let told = writer(&told);
    (terminal, vec![Box::new(fifo), Box::new(socket), Box::new(told), Box::new(stdin)])
}

fn nothing_recorded(terminal: &Terminal) {
    terminal.wait_until("no act on record", |screen| {
        screen.lines().next().is_some_and(|line| line.trim_end().ends_with("recorded ✓"))
    });
}

/// A name by line: read back, not recorded before it is confirmed.
fn name_by_line(terminal: &Terminal, to: &mut dyn Write, name: &str, n_recorded: usize) {
    to.write_all(format!("enter {name}\n").as_bytes()).unwrap();
    terminal.wait_for("READ BACK");
    terminal.wait_for(name);
    if n_recorded == 0 {
        nothing_recorded(terminal);
    } else {
        terminal.wait_recorded(n_recorded);
    }
    to.write_all(b"write it down\n").unwrap();
    terminal.wait_recorded(n_recorded + 1);
}

#[test]
fn every_source_is_heard_and_what_it_says_is_read_back_first() {
    let site = Site::new();
    let (terminal, mut sources) = all_at_once(&site);
    for (n, to) in sources.iter_mut().enumerate() {
        name_by_line(&terminal, to, &format!("entry number {n} of four"), n);
    }
    // Keys still come from the terminal.
    terminal.press(&["0.0752", "Enter"]);
    terminal.wait_recorded(5);
    terminal.leave();
    site.verify();
    assert!(!path(&site, "fifo").exists() && !path(&site, "socket").exists(), "what was made is removed");
    assert!(path(&site, "told").exists() && path(&site, "stdin").exists(), "what was there stays");
}

/// One line that must do nothing, without its end. What would move a cursor or set a title carries a mark.
fn hostile(chance: &mut Chance) -> Vec<u8> {
    const CODES: [&str; 7] = [
        "\x1b[7777;7777H",
        "\x1b]0;owned\x07",
        "\x1bP+qowned\x1b\\",
        "\u{9b}7777m",
        "\u{202e}owned",
        "owned\x08\x08\x7f\0",
        "\x1b[?7777l\x1b[7777n",
    ];
    const ALMOST: [&str; 9] = [
        "write it downn",
        "conf=0.1 write it down",
        "conf=7 write it down",
        "src=root write it down",
        "yes end it; reboot",
        "$(touch owned)",
        "`touch owned`",
        "words ../owned",
        "wrap up this test wrap up this test",
    ];
    match chance.below(5) {
        0 => vec![b'x'; 257 + chance.below(3_000)],
        1 => (0..chance.below(300)).map(|_| u8::try_from(128 + chance.below(128)).unwrap()).collect(),
        2 => ALMOST[chance.below(ALMOST.len())].as_bytes().to_vec(),
        3 => format!("write it {}down", CODES[chance.below(CODES.len())]).into_bytes(),
        _ => format!("enter {}", CODES[chance.below(CODES.len())]).into_bytes(),
    }
}

#[test]
fn ten_thousand_hostile_lines_do_nothing_end_nothing_and_send_nothing_to_the_terminal() {
    let site = Site::new();
    let (terminal, mut sources) = all_at_once(&site);
    let mut chance = Chance::new(10_000);
    // Slow enough that few are dropped as a flood: they are all to be looked at.
    for _ in 0..10_000 / 8 {
        for to in &mut sources {
            for _ in 0..2 {
                let mut line = hostile(&mut chance);
                line.push(b'\n');
                to.write_all(&line).unwrap();
            }
        }
        sleep(Duration::from_millis(15));
    }
    sources[0].write_all(b"the last of them\n").unwrap();
    terminal.wait_until("most of them counted", |screen| {
        let counted = screen.split("NOT UNDERSTOOD (").nth(1).and_then(|rest| rest.split(')').next());
        counted.and_then(|n| n.parse().ok()).is_some_and(|n: usize| n > 5_000)
    });
    nothing_recorded(&terminal);
    assert!(acts_on_record(&site.record()).is_empty());
    let bytes = terminal.bytes();
    for mark in ["7777", "owned", "\u{9b}", "\u{202e}"] {
        let is_there = bytes.windows(mark.len()).any(|window| window == mark.as_bytes());
        assert!(!is_there, "{mark:?} was sent to the terminal");
    }
    assert!(!path(&site, "owned").exists(), "nothing was run");
    // And all is as before.
    name_by_line(&terminal, &mut *sources[0], "R. Okafor-Lind", 0);
    terminal.press(&["Harrow Bend", "Enter"]);
    terminal.wait_recorded(2);
    terminal.leave();
    site.verify();
}

#[test]
fn in_a_flood_keys_are_keys() {
    let site = Site::new();
    let terminal = opened(&site, &["--listen-cmd", "/usr/bin/yes", "that is no phrase"]);
    terminal.wait_for("it floods");
    terminal.press(&["R. Okafor-Lind", "Enter"]);
    terminal.wait_recorded(1);
    terminal.leave();
    site.verify();
}

#[test]
fn what_is_lost_is_said_and_the_run_goes_on() {
    let site = Site::new();
    let terminal = opened(&site, &["--listen-cmd", "/missing/recogniser"]);
    terminal.wait_for("there is no such program");
    terminal.press(&["R. Okafor-Lind", "Enter"]);
    terminal.wait_recorded(1);
    terminal.leave();
    let site = Site::new();
    fs::write(path(&site, "taken"), "mine").unwrap();
    let terminal = opened(&site, &["--listen-fifo", path(&site, "taken").to_str().unwrap()]);
    terminal.wait_for("is no FIFO");
    terminal.press(&["R. Okafor-Lind", "Enter"]);
    terminal.wait_recorded(1);
    terminal.leave();
    assert_eq!(fs::read_to_string(path(&site, "taken")).unwrap(), "mine");
}

#[test]
fn the_end_of_standard_input_is_news_and_keys_go_on() {
    let site = Site::new();
    let terminal = Terminal::shell(&site, "\"$@\" </dev/null", &[&RUN[..], &["--listen-stdin"]].concat(), &[]);
    begun(&terminal);
    terminal.wait_for("it has ended");
    terminal.press(&["R. Okafor-Lind", "Enter"]);
    terminal.wait_recorded(1);
    terminal.press(&["C-c"]);
    assert_eq!(terminal.wait_end().code, 0);
    site.verify();
}

#[test]
fn without_lines_on_standard_input_it_must_be_a_terminal() {
    let site = Site::new();
    let terminal = Terminal::shell(&site, "\"$@\" </dev/null", &RUN, &[]);
    terminal.wait_for("this is no terminal");
    assert_ne!(terminal.wait_end().code, 0);
}

#[test]
fn what_was_said_while_the_program_stood_still_is_forgotten() {
    let site = Site::new();
    let fifo = path(&site, "fifo");
    let terminal = opened(&site, &["--listen-fifo", fifo.to_str().unwrap()]);
    let mut to = writer(&fifo);
    terminal.signal(Signal::STOP);
    wait("it stands still", || {
        let stat = fs::read_to_string(format!("/proc/{}/stat", terminal.pid().as_raw_nonzero())).unwrap_or_default();
        !cfg!(target_os = "linux") || stat.rsplit(')').next().is_some_and(|rest| rest.trim_start().starts_with('T'))
    });
    to.write_all(b"enter somebody else\nwrite it down\n").unwrap();
    terminal.signal(Signal::CONT);
    let n_before = terminal.n_bytes();
    wait("the screen is drawn anew", || terminal.n_bytes() > n_before + 500);
    name_by_line(&terminal, &mut to, "R. Okafor-Lind", 0);
    terminal.leave();
    site.verify();
}

#[test]
fn a_signal_ends_the_program_and_what_it_listens_to() {
    let site = Site::new();
    let [fifo, numbers] = ["fifo", "numbers"].map(|name| path(&site, name));
    let script = format!("echo $$ >{0}.new; mv {0}.new {0}; exec sleep 1000", numbers.display());
    let flags = ["--listen-fifo", fifo.to_str().unwrap(), "--listen-cmd", "/bin/sh", "-c", &script];
    let terminal = opened(&site, &flags);
    wait("the program that is listened to", || numbers.exists());
    let number = fs::read_to_string(&numbers).unwrap();
    terminal.signal(Signal::TERM);
    assert_eq!(terminal.wait_end().code, 128 + 15);
    assert!(!fifo.exists());
    let pid = rustix::process::Pid::from_raw(number.trim().parse().unwrap()).unwrap();
    assert!(rustix::process::test_kill_process(pid).is_err(), "it lives on");
}
