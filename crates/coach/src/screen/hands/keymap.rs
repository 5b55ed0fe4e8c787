//! Which key of a pedal, a clicker or a switch stands for what.
//!
//! Here: roles, the keys out of the box, keys that were taught, and bounce. Not here: what a role does at a moment.
//!
//! **Invariant:** no key of a pedal or a clicker ends the program or loses anything.

use crossterm::event::KeyEvent;
use engine::Tick;

/// What a key of a pedal stands for.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// The next right thing; takes what is offered.
    Next,
    /// Back: what is offered before; else take the last act back.
    Back,
    /// What is offered after; else say it again.
    Again,
    /// Open the microphone for a while.
    Talk,
}

/// Keys and their roles.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Keymap {
    /// Keys that were taught; they win over those out of the box.
    pub taught: Vec<(KeyEvent, Role)>,
}

impl Keymap {
    /// The role of a key.
    pub fn role(&self, _key: &KeyEvent) -> Option<Role> {
        None
    }
}

/// Presses that come too soon after one another to be two.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bounce {}

impl Bounce {
    /// Whether a press of a key at `now` is only a bounce of the one before.
    pub fn is_bounce(&mut self, _key: &KeyEvent, _now: Tick) -> bool {
        false
    }
}
