//! What is to be heard: cues, their spoken forms, tones, and which sound may sound when.
//!
//! Holds the cue ([`cue`]), the words of numbers, times and sentences as people say them ([`say`]), tones as samples
//! ([`tone`]), sound files as bytes ([`wav`]), the policy of what sounds when ([`desk`]) and the cue log ([`log`]).
//!
//! Knows no loudspeaker, no process, no clock: a moment is an argument, in milliseconds.
//!
//! **Invariant:** a hard cue is never late because of a softer one, and a cue whose truth has passed is never begun.

pub mod cue;
pub mod desk;
pub mod log;
pub mod say;
pub mod tone;
pub mod wav;

pub use cue::{Class, Cue, Speech, Tone};
pub use desk::{Desk, Order};
