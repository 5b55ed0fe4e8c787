//! Lines of words from outside: a named pipe, a socket, a program, standard input.
//!
//! Here: opening, reading without ever waiting, restarting, publishing the words valid now. Not here: what the words mean.
//!
//! No thread: everything is waited for together with the terminal.
//!
//! **Invariant:** no source can hold up the run, however much it sends or however it ends, and none can make the program
//! run or write anything but the words it publishes.

use std::os::fd::BorrowedFd;
use std::time::Duration;

use hearing::Utterance;
use hearing::line::NoLine;

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

/// All sources of lines.
#[derive(Debug)]
pub struct Ears {}

impl Ears {
    /// Opens the sources; what cannot be opened is news, never the end.
    pub fn open(_listening: &Listening) -> (Self, Vec<Ear>) {
        (Self {}, Vec::new())
    }

    /// What is to be waited for.
    pub fn fds(&self) -> Vec<BorrowedFd<'_>> {
        Vec::new()
    }

    /// How long until it has something to do by itself, such as to restart a program.
    pub fn pause(&self) -> Option<Duration> {
        None
    }

    /// Reads what waits, so much at most that the screen is drawn now and then even in a flood.
    pub fn collect(&mut self, _each: &mut dyn FnMut(EarEvent)) {}

    /// Publishes the words valid now.
    pub fn publish(&mut self, _words: &Published) -> Option<Ear> {
        None
    }

    /// Asks the program to listen, or to stop.
    pub fn talk(&mut self, _on: bool) {}
}
