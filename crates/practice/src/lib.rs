//! Recall with fading help: what to ask, how to judge a try, when to ask it again, how far somebody has come.
//!
//! Here: what can be asked of a procedure ([`deck`]), the levels of help ([`Help`]), the verdict on a try ([`judge`]), the
//! memory model ([`schedule`]) and the [`queue`](mod@queue) it makes, the [`session`] a screen drives, progress and its
//! reasons, tables for a spreadsheet. Not here: the screen, the clock, the file the history is kept in, the specimen.
//!
//! The history is a list of entries ([`history::Entry`]), kept one to a line. Everything else is computed from it:
//!
//! ```
//! use practice::history::History;
//! use practice::schedule::Schedule;
//! use practice::{Deck, Standings, progress, queue, readiness};
//!
//! # let text = include_str!("../../../procedures/slump.toml");
//! # let procedure = procedure::check("slump.toml", text).procedure.unwrap();
//! # let edition = procedure.edition(quantity::System::InchPound).unwrap();
//! let decks = [Deck::of(edition)];
//! let history = History::default(); // or what was read from the file
//! let standings = Standings::of(&history, Schedule::default());
//!
//! let today = 20_587;
//! let due = queue::queue(&decks, &standings, today, 15, &queue::Limits::default());
//! assert_eq!(due.items[0].why.words(today), "new");
//! let ready = readiness::readiness(&decks[0], &history, &standings, today, &readiness::Rule::default());
//! assert!(ready.words().starts_with("Not ready yet: "));
//! assert_eq!(progress::progress(&decks[0], &history, &standings).tally.all.words(), "none yet");
//! ```
//!
//! **Invariant:** what is due and how far somebody has come is a function of the decks and the history alone.

pub mod csv;
pub mod deck;
mod help;
pub mod history;
pub mod progress;
pub mod question;
pub mod queue;
pub mod readiness;
pub mod schedule;
pub mod session;
pub mod standing;
mod text;

pub use deck::{Deck, Item, Kind};
pub use help::Help;
pub use history::{Entry, History, When};
pub use question::{Answer, Form, Judged, Question, Slip, judge};
pub use session::{Due, Mode, Onward, Performance, Session};
pub use standing::Standings;
