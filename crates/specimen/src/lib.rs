//! A virtual specimen: practice without a meter, a cone or concrete.
//!
//! Here: the ways through a checked procedure, found by walking it ([`ways`]); a teaching model of fresh concrete that
//! answers the acts ([`model`]); the specimen a person works on ([`Specimen`]) and what can be seen of it ([`Shown`]).
//! Not here: how an instrument is drawn, and whether the person did well.
//!
//! It is a teaching model, made so that good work and poor work look different; it is no physics of record.
//!
//! **Invariant:** what a specimen shows is a function of the edition, the scenario and the events it heard.

mod chance;
pub mod model;
mod scenario;
mod shown;
pub mod ways;
mod work;

pub use chance::Chance;
pub use scenario::Scenario;
pub use shown::{Happening, Shape, Shown};
pub use work::{Look, Specimen};
