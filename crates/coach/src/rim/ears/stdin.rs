//! Standard input, when it is no terminal.
//!
//! Here: reading it without waiting. Not here: lines, and the keys, which come from the terminal itself.
//!
//! **Invariant:** its end is news, never the end of the run; and how it is set for others who read it is not changed.

use std::io::{self, IsTerminal as _};
use std::os::fd::{AsFd as _, BorrowedFd, OwnedFd};
use std::time::Instant;

use rustix::event::{PollFd, PollFlags, Timespec, poll};

use super::stream::{Cutter, Dry, Gate, Standing, drain_while, forget};
use super::{EarEvent, Limits, Source};
use crate::screen::Ear;

/// Standard input that is read.
#[derive(Debug)]
pub struct StandardInput {
    input: Result<OwnedFd, String>,
    cutter: Cutter,
    gate: Gate,
    standing: Standing,
}

impl StandardInput {
    /// Begins to read it.
    pub fn open(limits: Limits) -> Self {
        let input = if io::stdin().is_terminal() {
            Err("it is the terminal, where keys come from: lead lines into it, as in “recogniser | pourside …”".into())
        } else {
            own().map_err(|why| format!("it cannot be read: {why}"))
        };
        let standing = Standing::new("standard input".into());
        Self { input, cutter: Cutter::default(), gate: Gate::new(limits), standing }
    }

    fn lost(&self) -> Option<String> {
        self.input.as_ref().err().cloned().or_else(|| self.gate.flood())
    }
}

/// A handle of our own. Where the system lets us, a pipe is opened once more without blocking; to set the handle we were
/// given would set it for everybody who holds it.
fn own() -> io::Result<OwnedFd> {
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{FileType, Mode, OFlags, fstat, open};
        let is_pipe = fstat(io::stdin()).is_ok_and(|stat| FileType::from_raw_mode(stat.st_mode).is_fifo());
        let flags = OFlags::RDONLY | OFlags::NONBLOCK | OFlags::CLOEXEC;
        if is_pipe && let Ok(again) = open("/proc/self/fd/0", flags, Mode::empty()) {
            return Ok(again);
        }
    }
    io::stdin().as_fd().try_clone_to_owned()
}

/// Whether reading would not wait.
fn waits(input: &OwnedFd) -> bool {
    let mut ready = [PollFd::new(input, PollFlags::IN)];
    poll(&mut ready, Some(&Timespec { tv_sec: 0, tv_nsec: 0 })).is_ok_and(|n| n > 0)
}

impl Source for StandardInput {
    fn fds<'a>(&'a self, now: Instant, fds: &mut Vec<BorrowedFd<'a>>) {
        if let Ok(input) = &self.input
            && self.gate.is_open(now)
        {
            fds.push(input.as_fd());
        }
    }

    fn next(&self) -> Option<Instant> {
        self.gate.next()
    }

    fn turn(&mut self, now: Instant, each: &mut dyn FnMut(EarEvent)) {
        self.gate.roll(now);
        if let Ok(input) = &self.input
            && self.gate.is_open(now)
            && drain_while(input, &|| waits(input), &mut self.cutter, &mut self.gate, now, each).0 == Dry::ForGood
        {
            self.input = Err("it has ended: nothing comes from there any more".into());
        }
    }

    fn forget(&mut self) {
        if let Ok(input) = &self.input {
            forget(input, &|| waits(input), &mut self.cutter);
        }
    }

    fn news(&mut self) -> Option<Ear> {
        let lost = self.lost();
        self.standing.news(lost)
    }

    fn standing(&mut self) -> Ear {
        let lost = self.lost();
        self.standing.say(lost)
    }
}
