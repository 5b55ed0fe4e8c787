//! How an item stands: its level of help, what the memory model holds of it, when it is due.
//!
//! **Invariant:** a standing is a function of the entries that count and the schedule; taking them one by one gives the
//! same as taking them all.

use std::collections::BTreeMap;

use crate::help::Help;
use crate::history::{Entry, History, When};
use crate::schedule::{Memory, Rating, Schedule};

/// A right answer that took longer than this counts as a slow one. Chosen, no source: who has to think for half a minute
/// what comes next does not know it yet.
pub const SLOW_MS: u64 = 30_000;

/// How an item stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// The help of its next try.
    pub level: Help,
    /// What the memory model holds.
    pub memory: Memory,
    /// The day of the first try.
    pub first: i64,
    /// The day of the last one.
    pub last: i64,
    /// The day it is due.
    pub due: i64,
    /// The days from the last try to the one it is due on, as the model gave them: 0 after a wrong try.
    pub interval: i64,
    /// The last try, if it was wrong.
    pub missed: Option<Miss>,
    /// The day of the last wrong try, whatever came after it.
    pub last_missed: Option<i64>,
    /// Tries so far.
    pub tries: u32,
    /// Times of the right tries at which the act was not shown, in milliseconds.
    pub took_ms: Vec<u64>,
}

/// Where something was missed.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Miss {
    /// At a question.
    InPractice,
    /// On a timed run, where it was named rightly but not done rightly.
    OnRun,
    /// In a mock exam.
    InExam,
}

/// How all items stand that were tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Standings {
    schedule: Schedule,
    items: BTreeMap<String, Standing>,
}

impl Standings {
    /// How everything stands after `history`.
    pub fn of(history: &History, schedule: Schedule) -> Self {
        let mut standings = Self { schedule, items: BTreeMap::new() };
        for entry in history.counting() {
            standings.take(entry);
        }
        standings
    }

    /// Takes one entry more. A taking back is not one it can take: make the standings again from the history.
    pub fn take(&mut self, entry: &Entry) {
        match entry {
            Entry::Tried(tried) => {
                let rating = match tried.right {
                    false => Rating::Again,
                    true if tried.help.is_help() || tried.took_ms > SLOW_MS => Rating::Hard,
                    true => Rating::Good,
                };
                // With the act shown it is the time of doing or of copying, not of remembering.
                let took_ms = (tried.help != Help::Shown).then_some(tried.took_ms);
                self.tried(&tried.item, tried.at, rating, Miss::InPractice, took_ms);
            }
            Entry::MissedInExam(missed) => {
                self.tried(&missed.item, missed.at, Rating::Again, Miss::InExam, None);
            }
            Entry::Trial(trial) => {
                for missed in &trial.missed {
                    // What was named wrongly counts already; what was named rightly and done wrongly comes back too.
                    if self.get(&missed.item).is_some_and(|standing| standing.missed.is_none()) {
                        self.tried(&missed.item, trial.at, Rating::Again, Miss::OnRun, None);
                    }
                }
            }
            Entry::Performed(_) | Entry::TakenBack(_) => {}
        }
    }

    fn tried(&mut self, item: &str, at: When, rating: Rating, miss: Miss, took_ms: Option<u64>) {
        let day = at.day();
        let right = rating != Rating::Again;
        let before = self.items.remove(item);
        let memory = match &before {
            // A clock set back makes no time run backwards.
            Some(before) => self.schedule.next(&before.memory, rating, (day - before.last).max(0)),
            None => self.schedule.first(rating),
        };
        let interval = if right { self.schedule.interval_days(&memory) } else { 0 };
        let (level, first, last_missed, tries, mut times) = match before {
            Some(before) => (before.level, before.first, before.last_missed, before.tries, before.took_ms),
            None => (Help::Shown, day, None, 0, Vec::new()),
        };
        if right {
            times.extend(took_ms);
        }
        let standing = Standing {
            level: level.after(right),
            memory,
            first,
            last: day,
            due: day + interval,
            interval,
            missed: (!right).then_some(miss),
            last_missed: if right { last_missed } else { Some(day) },
            tries: tries + 1,
            took_ms: times,
        };
        self.items.insert(item.to_owned(), standing);
    }

    /// How an item stands; `None` if it was never tried.
    pub fn get(&self, item: &str) -> Option<&Standing> {
        self.items.get(item)
    }

    /// The help of an item's next try.
    pub fn level(&self, item: &str) -> Help {
        self.get(item).map_or(Help::Shown, |standing| standing.level)
    }

    /// All that were tried, by key.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Standing)> {
        self.items.iter().map(|(key, standing)| (key.as_str(), standing))
    }

    /// The chance of recall on `day`, in per mille, as the memory model has it; `None` if it was never tried.
    pub fn recall_per_mille(&self, item: &str, day: i64) -> Option<u32> {
        let standing = self.get(item)?;
        Some(self.schedule.recall_per_mille(&standing.memory, day - standing.last))
    }
}

/// The middle one of some times; of two, the shorter.
pub(crate) fn median(times: &[u64]) -> Option<u64> {
    let mut sorted = times.to_vec();
    sorted.sort_unstable();
    sorted.get(sorted.len().checked_sub(1)? / 2).copied()
}
