//! The sample bench: one sample, several runs, and the job they are made for.
//!
//! Holds what spans runs: the site file with its limits ([`site`], [`written`]), verdicts and check tests ([`verdict`]),
//! certificates and calibrations ([`papers`]), labels and dates ([`labels`], [`calendar`]), what runs on one sample tell one
//! another ([`live`], [`fact`]), and how they fit inside their windows ([`planning`]).
//!
//! Knows no file, no terminal, no system clock; a day or a moment is an argument.
//!
//! **Invariant:** no method is known by its name: what belongs together is found by the names procedures share.

pub mod calendar;
pub mod fact;
pub mod labels;
pub mod live;
pub mod papers;
pub mod planning;
pub mod site;
pub mod verdict;
pub mod written;
