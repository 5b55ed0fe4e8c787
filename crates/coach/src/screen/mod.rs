//! The screen of a live run: what a key does, what is drawn, and when it changes by itself.
//!
//! Here: the state of the screen ([`Model`]), one function that takes what comes in and says what is to be done
//! ([`update()`]), one that draws ([`view()`]), and one that says when the screen changes by itself ([`next_change`]).
//! Not here: terminals, files, clocks. Every moment is an argument, and everything to be done outside is an [`Effect`].
//!
//! **Invariant:** `view` changes nothing, `update` draws nothing, and between two moments named by `next_change`
//! the same model draws the same screen.

pub mod bench;
pub mod cone;
pub mod cue;
pub mod digits;
pub mod entry;
pub mod exam;
pub mod face;
pub mod hands;
pub mod instrument;
pub mod keys;
pub mod model;
pub mod neck;
pub mod practice;
pub mod shown;
pub mod teach;
pub mod theme;
pub mod update;
pub mod view;

pub use bench::{BenchModel, BenchOptions, Member};
pub use cue::{Cue, CueKind};
pub use hands::{Hands, Settings};
pub use model::{Model, Options};
pub use shown::{Deed, Ear, Focused, Line, Mouth, Place, Published, Sensed, Shown};
pub use theme::{Colours, Theme, ThemeChoice};
pub use update::{Effect, Input, next_change, update};
pub use view::view;
