//! The settings file.
//!
//! Here: where it is, what may stand in it, its faults in words. Not here: what the settings do.
//!
//! **Invariant:** a faulty file is named with its line and never keeps a test from being run: what is wrong counts as not
//! written.

use std::path::PathBuf;

use super::speaker::Sound;
use crate::screen::Settings;

/// What is listened to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Listening {
    /// A named pipe that lines are read from; made if it is missing.
    pub fifo: Option<PathBuf>,
    /// A unix socket of the owner's alone.
    pub socket: Option<PathBuf>,
    /// A program and its arguments, started and restarted.
    pub command: Option<Vec<String>>,
    /// Standard input, when it is no terminal.
    pub stdin: bool,
    /// Where the words valid now are written: this file, and beside it the grammar with the ending `.jsgf`.
    pub words_out: Option<PathBuf>,
}

/// Everything that can be set.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Config {
    /// How the hands are kept free.
    pub hands: Settings,
    /// What speaks and plays.
    pub sound: Sound,
    /// What is listened to.
    pub listening: Listening,
    /// Faults of the file, in words.
    pub faults: Vec<String>,
}

/// Reads the settings file; without one, everything is as it comes.
pub fn load() -> Config {
    Config::default()
}
