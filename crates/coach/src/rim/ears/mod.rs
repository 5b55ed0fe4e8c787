//! Lines of words from outside: a named pipe, a socket, a program, standard input.
//!
//! Here: opening, reading without ever waiting, restarting, publishing the words valid now. Not here: what the words mean.
//!
//! No thread: everything is waited for together with the terminal. Whoever floods is read slowly and heard in part:
//! keys, clocks and drawing come first.
//!
//! **Invariant:** no source can hold up the run, however much it sends or however it ends, and none can make the program
//! run or write anything but the words it publishes.

pub mod args;
mod fifo;
mod program;
mod socket;
mod stdin;
mod stream;
mod words;

use std::os::fd::BorrowedFd;
use std::time::{Duration, Instant};

use hearing::Utterance;
use hearing::line::NoLine;

use self::fifo::Fifo;
use self::program::Program;
use self::socket::Socket;
use self::stdin::StandardInput;
use self::words::Words;
use super::config::Listening;
use crate::screen::{Ear, Published};

/// What comes from a source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EarEvent {
    /// A line.
    Line(Result<Utterance, NoLine>),
    /// The source stands otherwise than before.
    News(Ear),
}

/// How much a source may send, and how long something is waited for.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Lines a source may send within a second; what is above is dropped.
    pub lines_a_second: u32,
    /// Bytes a source may send within a second.
    pub bytes_a_second: usize,
    /// How often a path is looked at, whether it still leads where it did; and how often what was lost is tried again.
    pub look: Duration,
    /// How long a program that has ended rests before it is started again; doubled each time.
    pub first_rest: Duration,
    /// The longest rest.
    pub last_rest: Duration,
    /// A program that has lived so long rests the [`first_rest`](Self::first_rest) again.
    pub long_life: Duration,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            lines_a_second: 200,
            bytes_a_second: 64 * 1024,
            look: Duration::from_secs(2),
            first_rest: Duration::from_secs(1),
            last_rest: Duration::from_secs(8),
            long_life: Duration::from_secs(60),
        }
    }
}

/// One source.
trait Source: std::fmt::Debug {
    /// What is to be waited for at `now`.
    fn fds<'a>(&'a self, now: Instant, fds: &mut Vec<BorrowedFd<'a>>);
    /// When it has something to do by itself.
    fn next(&self) -> Option<Instant>;
    /// Reads what waits and looks after itself.
    fn turn(&mut self, now: Instant, each: &mut dyn FnMut(EarEvent));
    /// Drops what waits.
    fn forget(&mut self);
    /// How it stands, if that is not what was said last.
    fn news(&mut self) -> Option<Ear>;
    /// How it stands.
    fn standing(&mut self) -> Ear;
}

/// All sources of lines.
#[derive(Debug)]
pub struct Ears {
    fifo: Option<Fifo>,
    socket: Option<Socket>,
    program: Option<Program>,
    stdin: Option<StandardInput>,
    words: Option<Words>,
}

impl Ears {
    /// Opens the sources and says how each stands; what cannot be opened is news, never the end.
    pub fn open(listening: &Listening) -> (Self, Vec<Ear>) {
        Self::open_with(listening, Limits::default())
    }

    /// The same with other limits.
    pub fn open_with(listening: &Listening, limits: Limits) -> (Self, Vec<Ear>) {
        let now = Instant::now();
        let mut ears = Self {
            fifo: listening.fifo.clone().map(|path| Fifo::open(path, limits, now)),
            socket: listening.socket.clone().map(|path| Socket::open(path, limits, now)),
            program: listening.command.clone().and_then(|command| Program::open(command, limits, now)),
            stdin: listening.stdin.then(|| StandardInput::open(limits)),
            words: listening.words_out.clone().map(Words::new),
        };
        let mut standings: Vec<Ear> = ears.sources_mut().map(Source::standing).collect();
        standings.extend(ears.words.as_mut().and_then(Words::news));
        (ears, standings)
    }

    fn sources(&self) -> impl Iterator<Item = &dyn Source> {
        let fifo = self.fifo.as_ref().map(|source| source as &dyn Source);
        let socket = self.socket.as_ref().map(|source| source as &dyn Source);
        let program = self.program.as_ref().map(|source| source as &dyn Source);
        let stdin = self.stdin.as_ref().map(|source| source as &dyn Source);
        [fifo, socket, program, stdin].into_iter().flatten()
    }

    fn sources_mut(&mut self) -> impl Iterator<Item = &mut (dyn Source + 'static)> {
        let fifo = self.fifo.as_mut().map(|source| source as &mut dyn Source);
        let socket = self.socket.as_mut().map(|source| source as &mut dyn Source);
        let program = self.program.as_mut().map(|source| source as &mut dyn Source);
        let stdin = self.stdin.as_mut().map(|source| source as &mut dyn Source);
        [fifo, socket, program, stdin].into_iter().flatten()
    }

    /// What is to be waited for.
    pub fn fds(&self) -> Vec<BorrowedFd<'_>> {
        let now = Instant::now();
        let mut fds = Vec::new();
        for source in self.sources() {
            source.fds(now, &mut fds);
        }
        fds
    }

    /// How long until it has something to do by itself, such as to restart a program.
    pub fn pause(&self) -> Option<Duration> {
        let next = self.sources().filter_map(Source::next).min()?;
        Some(next.saturating_duration_since(Instant::now()))
    }

    /// Reads what waits, so much at most that the screen is drawn now and then even in a flood.
    pub fn collect(&mut self, each: &mut dyn FnMut(EarEvent)) {
        let now = Instant::now();
        for source in self.sources_mut() {
            source.turn(now, each);
            if let Some(ear) = source.news() {
                each(EarEvent::News(ear));
            }
        }
    }

    /// Drops what waits: it was said while nobody listened.
    pub fn forget(&mut self) {
        self.sources_mut().for_each(Source::forget);
    }

    /// Publishes the words valid now; news if the file could not be written, or can be again.
    pub fn publish(&mut self, published: &Published) -> Option<Ear> {
        let words = self.words.as_mut()?;
        if words.publish(published)
            && let Some(program) = &mut self.program
        {
            program.tell_words(words.path());
        }
        words.news()
    }

    /// Asks the program to listen, or to stop.
    pub fn talk(&mut self, on: bool) {
        if let Some(program) = &mut self.program {
            program.talk(on);
        }
    }
}

/// What a path looks like in words: nothing in it can move a cursor.
fn shown(path: &std::path::Path) -> String {
    path.display().to_string().chars().map(|c| if c.is_control() { '?' } else { c }).collect()
}
