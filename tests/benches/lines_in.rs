//! How long it takes from a line of words to the screen, with the real program in a pseudo-terminal.
//!
//! Here: 300 lines for each kind of source, one at a time, each while the screen is quiet; from just before the line is
//! written to the first byte of what the screen changes. Not here: what is heard; how long a recogniser takes.
//!
//! `cargo bench -p acceptance --bench lines_in`; `POURSIDE_BIN` names another program. It ends with a failure if a goal is
//! missed.
//!
//! **Invariant:** a line that changes nothing, or only after seconds, counts as that late.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a benchmark stops at the first surprise")]

use std::fs::{File, OpenOptions};
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::process::ExitCode;
use std::thread::sleep;
use std::time::{Duration, Instant};

use acceptance::{PATIENCE, Site, Terminal};

const N_LINES: usize = 300;
/// Lines before those that count.
const N_FIRST: usize = 10;
/// The goal for 99 of 100 lines.
const GOAL: Duration = Duration::from_millis(50);
/// A line that has changed nothing by then is given up.
const LOST_AFTER: Duration = Duration::from_secs(2);
/// The screen counts as quiet after so long.
const QUIET: Duration = Duration::from_millis(40);

const RUN: [&str; 5] = ["run", "air-volumetric", "--system", "inch-pound", "--quiet"];

fn main() -> ExitCode {
    if std::env::args().any(|arg| arg == "--list") {
        return ExitCode::SUCCESS;
    }
    println!(
        "line in to first byte of the screen's change, {N_LINES} lines each; goal: p99 at most {} ms",
        GOAL.as_millis()
    );
    println!("| source | p50 ms | p99 ms | worst ms | lost | verdict |");
    println!("| --- | ---: | ---: | ---: | ---: | --- |");
    let mut is_kept = true;
    for (name, open) in SOURCES {
        let site = Site::new();
        let (terminal, mut to) = open(&site);
        is_kept &= measure(name, &terminal, &mut *to);
        terminal.leave();
    }
    if is_kept { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

type Opened = (Terminal, Box<dyn std::io::Write>);

/// What is called by which name.
type Kind = (&'static str, fn(&Site) -> Opened);

const SOURCES: [Kind; 4] =
    [("FIFO", by_fifo), ("socket", by_socket), ("program", by_program), ("standard input", by_stdin)];

fn opened(site: &Site, flags: &[&str]) -> Terminal {
    let terminal = Terminal::open(site, &[&RUN, flags].concat());
    begun(&terminal);
    terminal
}

fn begun(terminal: &Terminal) {
    terminal.wait_for("Who runs this test?");
    terminal.wait_until("an empty record", |screen| screen.contains("recorded ✓"));
}

/// Waits until the program has made what is at `path`.
fn there(path: &Path) {
    let end = Instant::now() + PATIENCE;
    while !path.exists() {
        assert!(Instant::now() < end, "{} is not made", path.display());
        sleep(Duration::from_millis(1));
    }
}

fn writer(path: &Path) -> Box<File> {
    Box::new(OpenOptions::new().write(true).open(path).unwrap())
}

/// A FIFO that is there before the program.
fn made(path: &Path) {
    rustix::fs::mkfifoat(rustix::fs::CWD, path, rustix::fs::Mode::RUSR | rustix::fs::Mode::WUSR).unwrap();
}

fn by_fifo(site: &Site) -> Opened {
    let path = site.path().join("lines");
    let terminal = opened(site, &["--listen-fifo", path.to_str().unwrap()]);
    there(&path);
    let to = writer(&path);
    (terminal, to)
}

fn by_socket(site: &Site) -> Opened {
    let path = site.path().join("lines.sock");
    let terminal = opened(site, &["--listen-socket", path.to_str().unwrap()]);
    there(&path);
    (terminal, Box::new(UnixStream::connect(&path).unwrap()))
}

/// The program that is listened to passes on what it reads: one process more on the way.
fn by_program(site: &Site) -> Opened {
    let path = site.path().join("lines");
    made(&path);
    let terminal = opened(site, &["--listen-cmd", "/bin/cat", path.to_str().unwrap()]);
    (terminal, writer(&path))
}

fn by_stdin(site: &Site) -> Opened {
    let path = site.path().join("lines");
    made(&path);
    let script = format!("exec \"$@\" <{}", path.display());
    let terminal = Terminal::shell(site, &script, &[&RUN[..], &["--listen-stdin"]].concat(), &[]);
    let to = writer(&path);
    begun(&terminal);
    (terminal, to)
}

fn measure(name: &str, terminal: &Terminal, to: &mut dyn std::io::Write) -> bool {
    let mut late = Vec::new();
    let mut n_lost = 0;
    for n in 0..N_FIRST + N_LINES {
        while terminal.came_since(Instant::now(), QUIET).is_some() {}
        // A name that is read back, and words that mean nothing here.
        let line = if n % 2 == 0 { format!("enter crew number {n}\n") } else { format!("number {n} of the crew\n") };
        let from = Instant::now();
        to.write_all(line.as_bytes()).unwrap();
        to.flush().unwrap();
        let came = terminal.came_since(from, LOST_AFTER);
        if n >= N_FIRST {
            n_lost += usize::from(came.is_none());
            late.push(came.map_or(LOST_AFTER, |came| came - from));
        }
    }
    late.sort();
    // The nearest rank: of 300 lines the 150th and the 297th.
    let rank = |percent: usize| late[(late.len() * percent).div_ceil(100) - 1];
    let (p50, p99, worst) = (rank(50), rank(99), late[late.len() - 1]);
    let is_kept = p99 <= GOAL && n_lost == 0;
    let ms = |span: Duration| format!("{}.{:03}", span.as_millis(), span.subsec_micros() % 1_000);
    println!(
        "| {name} | {} | {} | {} | {n_lost} | {} |",
        ms(p50),
        ms(p99),
        ms(worst),
        if is_kept { "PASS" } else { "FAIL" }
    );
    is_kept
}
