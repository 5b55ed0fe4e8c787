//! The marking screen of a practice exam: stations side by side, one sheet in focus, one key for each mark.
//!
//! Here: the state of the screen ([`ExamModel`]), what a key does (`update`), what is shown (`faces`, as plain data; `view`
//! and `over` draw it), what is heard (`sound`); the keys are in `keys`. Not here: what a mark means and who passes (the
//! crate `exam`), terminals, files, clocks.
//!
//! The rater's eyes are on hands. So the keys are the same whatever is in focus, every act is answered by ear, and only a
//! key ever changes which sheet is in focus.
//!
//! **Invariant:** every act of a rater is an event that names its trial; it is made from the sheet that stood on the screen
//! when the key was pressed, and is said to be recorded only when the store has said so.

mod begin;
mod face;
mod faces;
mod keys;
mod model;
mod over;
mod sound;
mod update;
mod view;

pub use keys::{EXAM_BINDINGS, ExamBinding, ExamCommand, exam_command};
pub use model::{ExamAnswer, ExamDeed, ExamModel, ExamOptions};
pub use sound::Sound;
