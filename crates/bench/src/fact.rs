//! What is known of a sample without anybody being asked again: a job's name, a slump, the volume of a bowl.
//!
//! Here: the facts themselves, under the names that procedures share. Not here: where they come from (the site file, the
//! runs of the sample) and which readings they may answer (`live`).
//!
//! **Invariant:** a number keeps the text it was stated with, and its unit; nothing here converts or rounds.

use std::collections::BTreeMap;
use std::fmt;

/// Facts by their shared name, such as `technician` or `concrete-temperature`.
pub type Facts = BTreeMap<String, Fact>;

/// One thing that is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fact {
    /// Words: a name, a ticket, the identity of an apparatus.
    Words(String),
    /// A number as it is stated.
    Number {
        /// Its text, such as `0.0753`.
        value: String,
        /// The symbol of its unit, such as `ft³` or `ft3`; empty for a bare number.
        unit: String,
    },
    /// An answer of a choice, by its id, such as `yes`.
    Choice(String),
}

impl fmt::Display for Fact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Words(words) | Self::Choice(words) => f.write_str(words),
            Self::Number { value, unit } if unit.is_empty() => f.write_str(value),
            Self::Number { value, unit } => write!(f, "{value} {unit}"),
        }
    }
}
