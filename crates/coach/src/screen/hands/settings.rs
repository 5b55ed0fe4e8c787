//! How the hands are kept free, as a person has set it.
//!
//! Here: plain data. Not here: the file it is read from.

use super::keymap::{BOUNCE_MS, Keymap};

/// With what the program is led.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq)]
pub enum Led {
    /// A keyboard; a pedal or a clicker beside it.
    #[default]
    Keys,
    /// Three keys: forward, back, take.
    Clicker,
    /// One switch: what can be done is offered in turn.
    Switch,
}

/// Whether strokes are counted aloud.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq)]
pub enum Pace {
    /// Silence.
    Off,
    /// A tick for each.
    #[default]
    Tick,
    /// A number for each.
    Count,
}

/// How the hands are kept free.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// With what the program is led.
    pub led: Led,
    /// How long one thing is offered to one switch, in milliseconds: 500 to 5000.
    pub scan_ms: u64,
    /// How often all of it is offered before it rests.
    pub scan_loops: u8,
    /// How strokes are counted.
    pub pace: Pace,
    /// Strokes a minute; else the procedure's pace.
    pub strokes_a_minute: Option<u16>,
    /// A wait that has ended leads on by itself, where the procedure allows it.
    pub goes_on: bool,
    /// The far view from the start.
    pub far: bool,
    /// What is said when a step opens: all of it, or only its short form.
    pub is_terse: bool,
    /// A headset: what is heard is no echo of what is said.
    pub headset: bool,
    /// The microphone is always open; not advised.
    pub open_microphone: bool,
    /// How long a tap of the talk key opens the microphone, in milliseconds.
    pub listen_ms: u64,
    /// Less sure than this, in per cent, is not understood.
    pub confidence_at_least: u8,
    /// Which keys stand for what.
    pub keymap: Keymap,
    /// The same key of a pedal sooner than this after the last press is a bounce of its contact, in milliseconds; 0
    /// takes every press.
    pub bounce_ms: u64,
    /// Whether cues are made: wished for, and, once it is known, somebody there who plays them.
    pub speaks: bool,
    /// Whether there is any source of lines.
    pub listens: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            led: Led::Keys,
            scan_ms: 1_500,
            scan_loops: 3,
            pace: Pace::Tick,
            strokes_a_minute: None,
            goes_on: false,
            far: false,
            is_terse: false,
            headset: false,
            open_microphone: false,
            listen_ms: 4_000,
            confidence_at_least: 50,
            keymap: Keymap::default(),
            bounce_ms: BOUNCE_MS,
            speaks: true,
            listens: false,
        }
    }
}
