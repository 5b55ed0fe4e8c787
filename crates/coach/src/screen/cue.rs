//! Cues: what is to be heard, as data.
//!
//! Here: what a cue says and how many bells stand for it. Not here: any sound. A speaker that comes later reads the
//! same cues; the terminal's bell is only one way to give them.
//!
//! **Invariant:** every cue also stands on the screen in words: none is only heard.

use engine::Tick;
use quantity::Span;

/// Something to be heard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cue {
    /// What kind.
    pub kind: CueKind,
    /// What a voice would say.
    pub text: String,
    /// The moment it belongs to.
    pub at: Tick,
    /// It only says that the moment of a clock has come: whoever speaks has planned for that.
    pub is_clock: bool,
}

/// The kinds of cue.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum CueKind {
    /// Something is due now: a reading, a turn, a limit.
    Due,
    /// An act was refused.
    Refused,
    /// Long enough, enough, done.
    Done,
    /// A reminder while something lasts.
    Prompt,
    /// The attempt has ended without a result.
    Ended,
    /// There is a result.
    Result,
}

/// The time from one bell of a pattern to the next.
pub const BELLS_APART: Span = Span(180);

impl CueKind {
    /// How many bells stand for it.
    ///
    /// | cue              | bells |
    /// |------------------|-------|
    /// | refused, prompt  | 1     |
    /// | due, ended       | 2     |
    /// | done, result     | 3     |
    pub const fn bells(self) -> u8 {
        match self {
            CueKind::Refused | CueKind::Prompt => 1,
            CueKind::Due | CueKind::Ended => 2,
            CueKind::Done | CueKind::Result => 3,
        }
    }
}

/// The bells still to come of the pattern that sounds now.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Bells {
    left: u8,
    next: Tick,
}

impl Bells {
    /// Starts a pattern, unless a longer one is sounding; true if its first bell is due now.
    pub(crate) fn start(&mut self, kind: CueKind, now: Tick) -> bool {
        let left = kind.bells() - 1;
        if self.left > left {
            return false;
        }
        *self = Bells { left, next: now.after(BELLS_APART) };
        true
    }

    /// Whether a bell is due; a bell that is late by more than a pattern is left out, not caught up.
    pub(crate) fn ring(&mut self, now: Tick) -> bool {
        if self.left == 0 || now < self.next {
            return false;
        }
        self.left -= 1;
        self.next = now.after(BELLS_APART);
        true
    }

    /// When the next bell is due.
    pub(crate) fn next(&self) -> Option<Tick> {
        (self.left > 0).then_some(self.next)
    }

    /// Silence at once.
    pub(crate) fn stop(&mut self) {
        self.left = 0;
    }
}
