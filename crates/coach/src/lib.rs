//! The program `pourside`: command line, screens, clock, cues.
//!
//! Holds what a person meets: [`screen`] (one model, one update, one view), [`mod@line`] (the same run in
//! lines), [`report`] (the record as a document), [`demo`] (an invented run, played) and [`rim`] (terminal, clock, disk, command line).
//!
//! Knows nothing of any particular test method: what is asked, counted, timed and refused comes from
//! the procedure and the engine. Only `rim` touches the world.

pub mod demo;
pub mod line;
pub mod report;
pub mod rim;
pub mod screen;
