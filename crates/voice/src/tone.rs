//! Tones, as samples.
//!
//! Here: pitch and rhythm of each tone. Not here: who plays it.
//!
//! **Invariant:** none imitates a danger signal: no sweep, no two alternating pitches.

use crate::cue::Tone;

/// The samples of a tone, one channel, 16 bits, so many a second.
pub fn samples(_tone: Tone, _rate: u32) -> Vec<i16> {
    Vec::new()
}
