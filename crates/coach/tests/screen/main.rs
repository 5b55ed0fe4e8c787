//! The screen, driven as a person drives it: keys in, pictures and effects out.
//!
//! Holds walks through the whole method by keys alone, pictures of every distinct screen, and promises about keys,
//! clocks, sounds and sizes. Knows no terminal and no real time: every moment is simulated.

#![expect(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "tests say what they expect by panicking")]

mod clocks;
mod desk;
mod flood;
mod keys;
mod others;
mod pictures;
mod sizes;
mod store;
mod walks;
