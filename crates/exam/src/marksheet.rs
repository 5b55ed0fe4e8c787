//! The sheet of one method: the acts a rater marks, in order, and the windows between them.
//!
//! Here: which steps of a procedure are marked, how each can be judged, what of it is critical or may be told aloud.
//! Not here: anybody's marks ([`crate::State`]).
//!
//! **Invariant:** a key is on a sheet once, and stays the same however the sheet is ordered.

mod build;

use engine::measured::Bounds;
use quantity::{Exact, Span, System};

pub use build::{NoSheet, NoSheetWhy, sheets};

/// What a rater marks of one method.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MarkSheet {
    /// The method's id.
    pub method: String,
    /// The method in words.
    pub title: String,
    /// The unit system its texts are in.
    pub system: System,
    /// The acts, in order.
    pub items: Vec<Item>,
    /// Limits from one act to another.
    pub windows: Vec<Window>,
    /// How many trials a candidate has.
    pub trials_at_most: u32,
    /// The time for one trial.
    pub time_limit: Option<Span>,
    /// What passing takes.
    pub pass: crate::PassRule,
    /// What becomes of an act nobody saw.
    pub not_seen: crate::NotSeen,
}

/// An act to mark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// Its key: the step's id, with `@2` for the second of a fixed number of rounds.
    pub key: String,
    /// The step's id.
    pub step: String,
    /// The title of its stage.
    pub stage: String,
    /// What the rater must see.
    pub text: String,
    /// The short form, for a small card; the text itself if there is none.
    pub short: String,
    /// Why it matters.
    pub why: Option<String>,
    /// The usual slip.
    pub slip: Option<String>,
    /// Whether it may be told aloud instead of done.
    pub tellable: bool,
    /// Whether a share of the other acts cannot make up for it.
    pub critical: bool,
    /// Whether it is asked for in some performances only. Unmarked it then counts for nothing.
    pub conditional: bool,
    /// Whether it comes back in rounds whose number is not fixed. Every time it is timed or counted must then be right;
    /// otherwise the last one counts.
    pub repeats: bool,
    /// How a clock judges it.
    pub clock: Option<ClockSpec>,
    /// The least and the most a count may be, and what is counted.
    pub count: Option<CountSpec>,
}

/// How a clock judges an act.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockSpec {
    /// The least time from start to stop; for settling readings from one to the next.
    pub at_least: Span,
    /// The most time from start to stop.
    pub at_most: Option<Span>,
    /// The longest time in the limited position. The clock starts in it, and each turn changes it.
    pub down_at_most: Option<Span>,
    /// What the limited position is called, such as `upside down`.
    pub down: Option<String>,
    /// What the other is called.
    pub up: Option<String>,
    /// Readings at intervals: a turn is the next reading, and `at_least` is the time between two.
    pub by_readings: bool,
}

impl ClockSpec {
    /// The bounds of what is timed.
    pub fn bounds(&self) -> Bounds {
        Bounds { at_least: self.at_least, at_most: self.at_most }
    }
}

/// What is counted in an act.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountSpec {
    /// What is counted, such as `strokes`.
    pub of: String,
    /// The least.
    pub at_least: u32,
    /// The most.
    pub at_most: u32,
}

/// A limit from one act to another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Window {
    /// Its key: `limit:` and the limit's id.
    pub key: String,
    /// What it is.
    pub text: String,
    /// It starts when this item is done.
    pub from: usize,
    /// It ends when this item is done.
    pub to: usize,
    /// The longest time, included.
    pub at_most: Span,
    /// Whether a share of the acts cannot make up for it.
    pub critical: bool,
}

impl MarkSheet {
    /// The place of an act.
    pub fn item(&self, key: &str) -> Option<usize> {
        self.items.iter().position(|item| item.key == key)
    }

    /// The place of a window.
    pub fn window(&self, key: &str) -> Option<usize> {
        self.windows.iter().position(|window| window.key == key)
    }

    /// The stages: title, first item, one past the last.
    pub fn stages(&self) -> Vec<(&str, usize, usize)> {
        let mut stages: Vec<(&str, usize, usize)> = Vec::new();
        for (at, item) in self.items.iter().enumerate() {
            match stages.last_mut() {
                Some((title, _, end)) if *title == item.stage => *end = at + 1,
                _ => stages.push((&item.stage, at, at + 1)),
            }
        }
        stages
    }

    /// The share of the acts that passes, if the rule is a share.
    pub fn share(&self) -> Option<&Exact> {
        match &self.pass {
            crate::PassRule::EveryAct => None,
            crate::PassRule::Share(share) => Some(share),
        }
    }
}
