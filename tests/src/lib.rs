//! What the acceptance tests hold in their hands: the real program, a terminal, a pipe, a technician.
//!
//! * [`program`]: the release binary, built once, or the one named by `POURSIDE_BIN`;
//! * [`Site`]: a folder of its own for every test, so that no test sees another's runs or the person's own;
//! * [`Terminal`]: the program in a pseudo-terminal, its keys and its screen;
//! * [`Lines`]: the program in the line form, through pipes;
//! * [`technician`]: performs any shipped procedure with the readings of an example;
//! * [`day`]: a whole day on one sample, line by line, each with its run and its moment;
//! * [`acts`]: what a technician does, act by act, both as keys and as lines;
//! * [`Chance`]: numbers that look random and come again from the same seed.
//!
//! Not here: what is expected. That stands in the tests, each of them a sentence about the trade.
//!
//! **Invariant:** whatever is waited for is a condition with a generous end, never a pause that decides; where the
//! end is reached, the test stops and shows the screen or the lines it saw.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "this is all test harness: what cannot go on must stop the test and say why"
)]

pub mod acts;
mod chance;
pub mod day;
mod lines;
mod program;
pub mod site;
pub mod technician;
mod terminal;

use std::time::Duration;

pub use acts::{Act, When};
pub use chance::Chance;
pub use day::Day;
pub use lines::{Killed, Lines, recorded, words_of};
pub use program::{house, program};
pub use site::{Done, Site, records};
pub use terminal::{Ended, Terminal, keys};

/// How long anything may take before a test gives it up. Never a measure of speed.
pub const PATIENCE: Duration = Duration::from_secs(30);
