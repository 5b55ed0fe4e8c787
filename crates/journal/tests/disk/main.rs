//! The journal on a disk that fails or loses power: nothing acknowledged is lost, nothing is invented.
//!
//! Here: every call failing, every crash state of an invented disk. Not here: changed bytes, real files.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop")]

mod crash_states;
mod failing_calls;
mod fake;
