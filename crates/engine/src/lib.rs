//! A run as a pure state machine: what happened goes in, what may happen next comes out.
//!
//! Holds one performance of one procedure on one sample ([`Run`]): its attempts, readings, findings
//! and result. Three questions, all pure: what may happen now ([`Run::offer`]), may this happen at
//! this moment ([`Run::apply`]), and when do you next want to be asked ([`Run::next_wake`]).
//!
//! Knows no file, no terminal, no system clock: every moment is an argument.
//!
//! **Invariant:** the state is a function of the edition and the accepted events with their moments.
//! A refused event changes nothing. Live use and replay are the same function.

mod cues;
mod event;
mod facts;
pub mod measured;
mod moment;
mod offer;
mod refuse;
mod result;
mod run;
mod state;
mod transition;
pub mod wire;

pub use cues::{TimeCue, TimeSays};
pub use event::{Entry, Event};
pub use moment::{Moment, Tick, Wall};
pub use offer::{Act, Clock, ClockOf, Offer, Side, Standing, Status};
pub use refuse::Refused;
pub use result::{Due, Outcome, TermValue};
pub use run::{Applied, Run};
pub use state::{Ended, Finding, FindingKind, Passed, Phase, Remark, Round, Set, Started, Taken};
