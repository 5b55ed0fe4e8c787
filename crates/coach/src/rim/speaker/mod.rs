//! Whoever speaks: a thread that plays what is due, with the programs the machine has.
//!
//! Here: finding programs, rendering words ahead, playing, the cue log. Not here: what may sound when (`voice::desk`).
//!
//! **Invariant:** whatever the programs do, hang or die, the run goes on and the next cue is on time.

use std::path::PathBuf;

use engine::Tick;
use voice::Speech;

use super::clock::Timepiece;
use crate::screen::Mouth;

/// What turns words into sound.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Speak {
    /// What the machine has.
    #[default]
    Auto,
    /// Nothing: tones only.
    Off,
    /// A program and its arguments; `{text}` and `{file}` stand for the words and the sound file to be written.
    Command(Vec<String>),
}

/// What plays sound.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Play {
    /// What the machine has.
    #[default]
    Auto,
    /// The terminal's bell.
    Bell,
    /// Nothing.
    Off,
    /// A program and its arguments; `{file}` stands for the sound file.
    Command(Vec<String>),
}

/// How sound is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sound {
    /// What turns words into sound.
    pub speak: Speak,
    /// What plays it.
    pub play: Play,
    /// Words a minute.
    pub rate_wpm: u16,
    /// How much earlier a sound is begun, for loudspeakers that are late.
    pub lead_ms: u16,
    /// The cue log, added to.
    pub log: Option<PathBuf>,
}

impl Default for Sound {
    fn default() -> Self {
        Self { speak: Speak::Auto, play: Play::Auto, rate_wpm: 160, lead_ms: 0, log: None }
    }
}

/// Whoever speaks.
#[derive(Debug)]
pub struct Speaker {}

impl Speaker {
    /// Looks for programs and begins to listen to what it is told. Nothing here waits for a program.
    pub fn start(_sound: &Sound, _clock: Timepiece) -> Self {
        Self {}
    }

    /// Tells it something; its moments are ticks of the clock it was started with. Never waits.
    pub fn tell(&self, _speech: Speech) {}

    /// Until when a cue sounds, if one does.
    pub fn sounding_until(&self) -> Option<Tick> {
        None
    }

    /// How sound stands, if that has changed since it was asked last.
    pub fn news(&mut self) -> Option<Mouth> {
        None
    }

    /// Readable when there are news.
    #[cfg(unix)]
    pub fn fd(&self) -> Option<std::os::fd::BorrowedFd<'_>> {
        None
    }
}
