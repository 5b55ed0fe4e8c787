//! The screen for somebody three metres away.
//!
//! Here: the one number, one line in large letters, one word of state. Not here: when it is shown.
//!
//! **Invariant:** at 24 rows and more the number is at least 5 rows and 12 % of the rows high, every ink has a contrast of
//! at least 7 : 1 on its ground in the colours that are sent, and nothing is said by a colour alone.

use engine::Tick;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::screen::model::Model;

/// Draws the far view of a run. `heard` is a word of state from listening, such as `LISTENING`, which stands beside that
/// of the run.
pub fn draw(_model: &Model, _heard: Option<&str>, _now: Tick, _buf: &mut Buffer, _area: Rect) {}

/// When it changes by itself next.
pub fn next_change(model: &Model, now: Tick) -> Option<Tick> {
    crate::screen::next_change(model, now)
}
