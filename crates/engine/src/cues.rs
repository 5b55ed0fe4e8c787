//! The moments of a run that are to be heard.
//!
//! Here: which moments, and how hard each is. Not here: the words for them, and any sound.
//!
//! **Invariant:** a cue follows from the running clocks alone, so that the same run at the same moment gives the same cues.

use quantity::Span;

use crate::moment::Tick;
use crate::offer::{ClockOf, Side};
use crate::run::Run;

/// A moment that is to be heard.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct TimeCue {
    /// When.
    pub at: Tick,
    /// The clock it belongs to.
    pub of: ClockOf,
    /// Which side of it is allowed.
    pub side: Side,
    /// What it says.
    pub what: TimeSays,
}

/// What the moment says.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum TimeSays {
    /// Half of a long wait is over; so much is left.
    Halfway(Span),
    /// So much is left.
    Left(Span),
    /// One of the last seconds: 5, 4, 3, 2, 1.
    Countdown(u8),
    /// So many seconds in a position that has a limit: a tick.
    Tick(u8),
    /// The moment itself: long enough, read now, turn it, over.
    Now,
}

impl Run {
    /// The moments after `now`, up to `ahead` later, that are to be heard if nothing else happens; in order.
    pub fn cues(&self, _now: Tick, _ahead: Span) -> Vec<TimeCue> {
        Vec::new()
    }
}
