//! What is heard: lines of words, spoken numbers, the words valid now, read-back before record.
//!
//! Holds the line that comes in ([`mod@line`]), words made alike ([`words`]), numbers as the trade says them
//! ([`number`]), the words valid now and their grammar ([`vocabulary`]), and the question that stands between a spoken
//! value and the record ([`readback`]).
//!
//! Knows no microphone, no file, no clock, and nothing of concrete.
//!
//! **Invariant:** what is not understood for certain is refused, never guessed and never rounded.

pub mod line;
pub mod number;
pub mod readback;
pub mod vocabulary;
pub mod words;

pub use line::{Source, Utterance};
pub use number::NotANumber;
pub use readback::{Asked, Readback};
pub use vocabulary::{Heard, Vocabulary};
