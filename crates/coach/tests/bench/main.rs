//! The bench, driven as a person drives it: several runs on one sample, on the screen and in lines, live and taken up
//! again.
//!
//! Holds pictures of the bench, promises about its keys, cues and clocks, and its records on the disk. The procedures are
//! invented and small; they stand beside the tests of the crate `bench`. Knows no terminal and no real time.

#![expect(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

mod desk;
mod keys;
mod lines;
mod pictures;
mod records;
mod verdicts;
