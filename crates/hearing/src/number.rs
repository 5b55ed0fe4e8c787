//! Numbers as the trade says them.
//!
//! Here: from words to a mark of an instrument. Not here: read-back.
//!
//! **Invariant:** every way to understand the words is tried; only if exactly one of them is a mark of the instrument is
//! it taken.

use quantity::{Decimal, Scale};

/// Why words are no reading.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotANumber {
    /// No number is said.
    #[error("that is no number")]
    NoNumber,
    /// It can be understood in several ways, all of them marks of the instrument.
    #[error("it could be {}", .0.join(" or "))]
    Ambiguous(Vec<String>),
    /// It is a number, but no mark of the instrument; the reason in words.
    #[error("{0}")]
    NotAMark(String),
}

/// Reads words that were [made alike](crate::words::alike) as a mark of an instrument.
///
/// # Errors
///
/// [`NotANumber`] says why they are none.
pub fn number(_words: &str, _scale: &Scale) -> Result<Decimal, NotANumber> {
    Err(NotANumber::NoNumber)
}
