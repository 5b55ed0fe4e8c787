//! The procedure language: one TOML file says how one test method is performed.
//!
//! Holds the language: reading a file ([`load`]), its expressions ([`expr`]), what it means once
//! checked ([`model`]) and how its faults are explained ([`diagnose`]). What is loaded is complete:
//! every name is resolved, every unit agrees, every figure names its source. Files of other kinds that people write
//! are taken apart in the same manner ([`reading`]).
//!
//! Knows no clock, no screen, no disk: text comes in, a checked procedure or a list of faults goes out.
//!
//! **Invariant:** an [`Edition`] is in one unit system from start to end, and nothing in it can fail
//! for want of a name, a unit or a table row while a run is under way.

pub mod diagnose;
pub mod expr;
pub mod load;
pub mod model;
pub mod nearest;
pub mod reading;

pub use diagnose::{Diagnostic, Severity};
pub use load::{Amended, Amendment, Checked, amend, check};
pub use model::*;
