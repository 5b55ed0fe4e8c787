//! What a terminal shows: one run, or a bench of several.
//!
//! Here: what the loop that serves the outside world needs to know of either. Not here: the loop.
//!
//! **Invariant:** as for one run: drawing changes nothing, and between two moments named by `next_change` the same picture
//! is drawn.

use engine::{Moment, Tick};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::model::Model;
use super::update::{Effect, Input, next_change, update};
use super::view::draw;

/// Something to be done outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Deed {
    /// An effect of one run, by its place on the bench; a run alone has place 0.
    Of(usize, Effect),
    /// A test of the bench was begun: its journal is to be made. Answer with [`Input::Begun`] or
    /// [`Input::StoreFailed`].
    Begin {
        /// Its place on the bench.
        run: usize,
        /// When.
        at: Moment,
    },
    /// A check test was added to the bench, in the last place; it is to be put on record before it is begun.
    Add {
        /// The place of the test it checks.
        check_of: usize,
        /// What it is called.
        name: String,
        /// When.
        at: Moment,
    },
    /// Every test of the bench is closed.
    Finish {
        /// When.
        at: Moment,
    },
}

/// Something that takes what comes in and draws itself.
pub trait Shown {
    /// Takes what came in at `now`; an answer of a store names the run it is for.
    fn take(&mut self, run: Option<usize>, input: Input, now: Moment) -> Vec<Deed>;
    /// When the picture changes by itself next.
    fn next_change(&self, now: Tick) -> Option<Tick>;
    /// Draws it.
    fn draw(&self, now: Tick, buf: &mut Buffer, area: Rect);
    /// How often a full repaint was asked for.
    fn repaints(&self) -> u32;
}

impl Shown for Model {
    fn take(&mut self, _run: Option<usize>, input: Input, now: Moment) -> Vec<Deed> {
        update(self, input, now).into_iter().map(|effect| Deed::Of(0, effect)).collect()
    }
    fn next_change(&self, now: Tick) -> Option<Tick> {
        next_change(self, now)
    }
    fn draw(&self, now: Tick, buf: &mut Buffer, area: Rect) {
        draw(self, now, buf, area);
    }
    fn repaints(&self) -> u32 {
        Model::repaints(self)
    }
}
