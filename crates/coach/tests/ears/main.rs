//! Lines of words from outside: whatever a source sends, however it ends, the run goes on and the next line is heard.
//!
//! Here: each source by itself, hostile lines, floods, programs that die or do not read, paths that lead elsewhere, the
//! published words. Not here: what a line means, and the real program in a terminal (`tests/tests/lines_in.rs`).
//!
//! **Invariant:** nothing is measured in time; a test that is held up says so, and what is waited for has a generous end.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

mod hostile;
mod program;
mod published;
mod sources;

use std::fs::{self, File, OpenOptions};
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use coach::rim::config::Listening;
use coach::rim::ears::{EarEvent, Ears, Limits};
use coach::screen::Ear;
use hearing::Utterance;
use hearing::line::NoLine;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use tempfile::TempDir;

/// So long at most for anything.
const PATIENCE: Duration = Duration::from_secs(60);

/// Limits that are no hindrance, and paths that are looked at often.
const QUICK: Limits = Limits {
    lines_a_second: u32::MAX,
    bytes_a_second: usize::MAX,
    look: Duration::from_millis(10),
    first_rest: Duration::from_millis(5),
    last_rest: Duration::from_millis(20),
    long_life: Duration::from_secs(60),
};

/// Ears, and what they have heard.
struct Listener {
    ears: Ears,
    lines: Vec<Result<Utterance, NoLine>>,
    news: Vec<Ear>,
}

impl Listener {
    fn new(listening: &Listening, limits: Limits) -> Self {
        let (ears, news) = Ears::open_with(listening, limits);
        Self { ears, lines: Vec::new(), news }
    }

    /// One turn of the loop: wait as the terminal does, take what has come.
    fn turn(&mut self) {
        {
            let fds = self.ears.fds();
            let mut ready: Vec<_> = fds.iter().map(|fd| PollFd::from_borrowed_fd(*fd, PollFlags::IN)).collect();
            let pause = self.ears.pause().unwrap_or(PATIENCE).min(Duration::from_millis(20));
            let nanos = Timespec { tv_sec: 0, tv_nsec: pause.subsec_nanos().into() };
            let _ = poll(&mut ready, Some(&nanos));
        }
        let (lines, news) = (&mut self.lines, &mut self.news);
        self.ears.collect(&mut |event| match event {
            EarEvent::Line(line) => lines.push(line),
            EarEvent::News(ear) => news.push(ear),
        });
    }

    fn until(&mut self, what: &str, is_so: impl Fn(&Self) -> bool) {
        let end = Instant::now() + PATIENCE;
        while !is_so(self) {
            assert!(Instant::now() < end, "waited in vain for {what}: {:?}, {} lines", self.news, self.lines.len());
            self.turn();
        }
    }

    fn until_heard(&mut self, words: &str) {
        self.until(words, |listener| listener.heard().any(|heard| heard == words));
    }

    fn until_lost(&mut self, why: &str) {
        let is_so =
            |news: &[Ear]| news.last().is_some_and(|ear| ear.lost.as_ref().is_some_and(|lost| lost.contains(why)));
        self.until(why, |listener| is_so(&listener.news));
    }

    fn until_back(&mut self) {
        self.until("the source is back", |listener| listener.news.last().is_some_and(|ear| ear.lost.is_none()));
    }

    fn heard(&self) -> impl Iterator<Item = &str> {
        self.lines.iter().flatten().map(|line| line.verbatim.as_str())
    }
}

/// Performs a test, and says so if it is held up for good.
fn in_time(test: impl FnOnce() + Send + 'static) {
    let (done, is_done) = mpsc::channel();
    let body = thread::spawn(move || {
        test();
        let _ = done.send(());
    });
    match is_done.recv_timeout(4 * PATIENCE) {
        Err(mpsc::RecvTimeoutError::Timeout) => panic!("something holds the test up"),
        Ok(()) | Err(mpsc::RecvTimeoutError::Disconnected) => {
            if let Err(why) = body.join() {
                std::panic::resume_unwind(why);
            }
        }
    }
}

fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

fn fifo(path: &Path) -> Listening {
    Listening { fifo: Some(path.to_owned()), ..Listening::default() }
}

fn socket(path: &Path) -> Listening {
    Listening { socket: Some(path.to_owned()), ..Listening::default() }
}

/// A shell script as the program that is listened to.
fn script(script: &str) -> Listening {
    let command = ["/bin/sh", "-c", script].map(str::to_owned).to_vec();
    Listening { command: Some(command), ..Listening::default() }
}

/// Opens a FIFO for writing, as another program would.
fn writer(path: &Path) -> File {
    OpenOptions::new().write(true).open(path).unwrap()
}

fn mode(path: &Path) -> u32 {
    use std::os::unix::fs::PermissionsExt as _;
    fs::symlink_metadata(path).unwrap().permissions().mode() & 0o7777
}

fn names_in(folder: &Path) -> Vec<PathBuf> {
    let mut names: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    names.sort();
    names
}
