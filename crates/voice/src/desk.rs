//! Which sound may sound when.
//!
//! Here: the policy, as a pure state machine. Not here: who plays.
//!
//! **Invariant:** the end of a sound follows from its length, never from somebody saying that it has ended.

use crate::cue::{Cue, Speech};
use crate::log::Entry;

/// What the player is to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Order {
    /// Stop what sounds.
    Stop,
    /// Play this: tone, then words (the words already are the form chosen); stop what sounds first.
    Play(Cue),
    /// A line for the cue log.
    Note(Entry),
}

/// What is to be heard, and what sounds now.
#[derive(Clone, Debug, Default)]
pub struct Desk {}

impl Desk {
    /// Takes what it is told at `now`.
    pub fn hear(&mut self, _speech: Speech, _now: u64) {}

    /// When it next has something to do.
    pub fn next(&self) -> Option<u64> {
        None
    }

    /// What is to be done at `now`. `length` says how long the sound of a cue (tone and words) lasts, in
    /// milliseconds, if its words are ready to be played; a hard cue whose words are not ready is its tone alone.
    pub fn turn(&mut self, _now: u64, _length: &dyn Fn(&Cue) -> Option<u64>) -> Vec<Order> {
        Vec::new()
    }

    /// The player could not begin what it was told to play.
    pub fn failed(&mut self, _now: u64, _why: &str) -> Vec<Order> {
        Vec::new()
    }

    /// Until when something sounds.
    pub fn sounding_until(&self) -> Option<u64> {
        None
    }
}
