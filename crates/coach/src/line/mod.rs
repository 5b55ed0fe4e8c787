//! The run in lines: one line in per input, one line out per cue.
//!
//! Here: the words that come in ([`language`]), the words that go out ([`cue`]), a run led in lines ([`Talk`]), live from
//! an input stream ([`plain`]) or from a script with simulated time ([`script`]). For screen readers, scripts and other
//! front ends; the form is documented in `LINES.md` beside this crate.
//! Not here: clocks and files. Moments come in as arguments, and what must be kept goes out through [`Record`].
//!
//! **Invariant:** a line either leads to one event that is offered to the engine, or changes nothing. `RECORDED` is said
//! only after [`Record::keep`] has answered that the event is on the disk.

pub mod command;
pub mod cue;
mod keep;
pub mod language;
pub mod plain;
pub mod sample;
mod sample_command;
pub mod script;
mod talk;
mod tell;

pub use cue::Cue;
pub use sample::{BenchCue, BenchTalk, Place, SampleRecord};
pub(crate) use sample_command::{lead_sample, play_sample, script_text};
pub use talk::Talk;
pub(crate) use tell::{
    finding as finding_text, rounding as rounding_text, settle_unit, tenths_down, tenths_up, with_unit,
};

use engine::{Event, Moment, Tick};
use procedure::ReadingId;

/// Where accepted events are kept for good.
pub trait Record {
    /// Keeps `event`, which the engine has accepted, and returns how many entries are now on the disk.
    ///
    /// # Errors
    ///
    /// [`NotKept`] if it is not on the disk: a full or failing disk, a folder that has gone.
    fn keep(&mut self, event: &Event, at: Moment, corrected: Option<ReadingId>) -> Result<u64, NotKept>;

    /// Keeps the whole run, what is in memory only included, in another folder, and returns that folder and the number
    /// of entries there.
    ///
    /// # Errors
    ///
    /// [`NotKept`] if that folder takes it no better.
    fn move_to(&mut self, folder: &str, at: Moment) -> Result<(String, u64), NotKept>;

    /// Tries again after something was not kept, and returns how many entries are on the disk then.
    ///
    /// # Errors
    ///
    /// [`NotKept`] if it is no better.
    fn retry(&mut self) -> Result<u64, NotKept>;
}

/// Something led in lines: one run, or a bench of several.
pub(crate) trait Led {
    /// What is said before the first line comes in.
    fn opening(&mut self, now: Moment) -> Vec<String>;
    /// Takes one line.
    fn hear(&mut self, line: &str, now: Moment) -> Vec<String>;
    /// What has come due.
    fn due(&mut self, now: Tick) -> Vec<String>;
    /// When something comes due next.
    fn next_due(&self) -> Option<Tick>;
    /// Whether nothing more is to be said.
    fn is_over(&self) -> bool;
    /// How far its record goes.
    fn last(&self) -> Tick;
}

/// A run with its record.
pub(crate) struct One<'a> {
    pub talk: &'a mut Talk,
    pub record: &'a mut dyn Record,
}

fn strings(cues: Vec<Cue>) -> Vec<String> {
    cues.iter().map(Cue::to_string).collect()
}

impl Led for One<'_> {
    fn opening(&mut self, now: Moment) -> Vec<String> {
        strings(self.talk.opening(now))
    }
    fn hear(&mut self, line: &str, now: Moment) -> Vec<String> {
        strings(self.talk.hear(line, now, self.record))
    }
    fn due(&mut self, now: Tick) -> Vec<String> {
        strings(self.talk.due(now))
    }
    fn next_due(&self) -> Option<Tick> {
        self.talk.next_due()
    }
    fn is_over(&self) -> bool {
        self.talk.is_over()
    }
    fn last(&self) -> Tick {
        self.talk.run().last().tick
    }
}

/// Why an event is not on the disk. It stays in memory, and the run goes on.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct NotKept {
    /// What failed.
    pub what: String,
    /// What to do next.
    pub hint: String,
}
