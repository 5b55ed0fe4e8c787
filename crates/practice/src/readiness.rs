//! Whether somebody is ready for a trial, and why not.
//!
//! **Invariant:** never "not ready" without a reason that says what to do about it, and "ready" only if there is none.

use std::fmt;

use crate::deck::{Deck, Kind};
use crate::help::Help;
use crate::history::{History, Share};
use crate::standing::Standings;

/// What is asked for before a trial. Chosen, no source: an examiner asks for every act, so the last timed run without
/// help must have had every act, be fresh, and nothing may have been missed since.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Rule {
    /// Nothing may have been missed within so many days, today included.
    pub missed_within_days: i64,
    /// There must be a timed run within so many days, today included.
    pub run_within_days: i64,
    /// The share of acts the last timed run must have, in per mille.
    pub share_per_mille: u32,
    /// No act may need more help than this.
    pub level_at_least: Help,
}

impl Default for Rule {
    fn default() -> Self {
        Self { missed_within_days: 2, run_within_days: 7, share_per_mille: 1000, level_at_least: Help::StageOnly }
    }
}

/// Why somebody is not ready.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reason {
    /// Acts were never tried.
    NeverTried {
        /// How many.
        acts: usize,
    },
    /// Acts still need help.
    NeedHelp {
        /// How many.
        acts: usize,
        /// The least help they should need.
        level: Help,
    },
    /// Something was missed lately.
    Missed {
        /// The steps, by key.
        steps: Vec<String>,
        /// Within so many days.
        days: i64,
    },
    /// There is no timed run.
    NoRun {
        /// Within so many days.
        days: i64,
    },
    /// The last timed run was broken off.
    BrokenOff,
    /// The last timed run missed acts.
    RunBelow {
        /// Its acts.
        acts: Share,
        /// The share asked for, in per mille.
        asked: u32,
    },
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let acts = |n: usize| if n == 1 { "1 act".to_owned() } else { format!("{n} acts") };
        match self {
            Reason::NeverTried { acts: n } => write!(f, "{} never tried", acts(*n)),
            Reason::NeedHelp { acts: n, level } => {
                let needs = if *n == 1 { "needs" } else { "need" };
                write!(f, "{} still {needs} more help than “{}”", acts(*n), level.words())
            }
            Reason::Missed { steps, days } => {
                let s = if steps.len() == 1 { "" } else { "s" };
                write!(f, "{} step{s} missed within the last {days} days", steps.len())
            }
            Reason::NoRun { days } => write!(f, "no timed run without help in the last {days} days"),
            Reason::BrokenOff => write!(f, "the last timed run was broken off"),
            Reason::RunBelow { acts, asked: 1000 } => {
                write!(f, "last timed run {}; every act is asked for", acts.words())
            }
            Reason::RunBelow { acts, asked } => {
                write!(f, "last timed run {}; {} % are asked for", acts.words(), asked / 10)
            }
        }
    }
}

/// Whether somebody is ready, and if not, every reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Readiness {
    /// All reasons why not; none means ready.
    pub reasons: Vec<Reason>,
}

impl Readiness {
    /// Whether somebody is ready.
    pub fn is_ready(&self) -> bool {
        self.reasons.is_empty()
    }
    /// The verdict in a sentence.
    pub fn words(&self) -> String {
        if self.is_ready() {
            return "Ready for a trial: every act right in a timed run without help, and nothing missed since."
                .to_owned();
        }
        let reasons: Vec<String> = self.reasons.iter().map(Reason::to_string).collect();
        format!("Not ready yet: {}.", reasons.join("; "))
    }
}

/// Whether somebody is ready for a trial of the method on `today`.
pub fn readiness(deck: &Deck, history: &History, standings: &Standings, today: i64, rule: &Rule) -> Readiness {
    let mut reasons = Vec::new();
    let acts: Vec<&str> =
        deck.items().iter().filter(|item| item.kind == Kind::Act).map(|item| item.key.as_str()).collect();
    let never = acts.iter().filter(|key| standings.get(key).is_none()).count();
    if never > 0 {
        reasons.push(Reason::NeverTried { acts: never });
    }
    let need_help = acts
        .iter()
        .filter(|key| standings.get(key).is_some_and(|standing| standing.level < rule.level_at_least))
        .count();
    if need_help > 0 {
        reasons.push(Reason::NeedHelp { acts: need_help, level: rule.level_at_least });
    }
    let last_run = history.trials(&deck.id).last();
    let since_run = |day: i64| last_run.is_none_or(|run| !run.passed() || day > run.at.day());
    let mut missed: Vec<String> = deck
        .items()
        .iter()
        .filter(|item| {
            let day = standings.get(&item.key).and_then(|standing| standing.last_missed);
            day.is_some_and(|day| today - day < rule.missed_within_days && since_run(day))
        })
        .map(|item| crate::progress::step_of(&item.key).to_owned())
        .collect();
    missed.dedup();
    if !missed.is_empty() {
        reasons.push(Reason::Missed { steps: missed, days: rule.missed_within_days });
    }
    match last_run {
        Some(run) if today - run.at.day() < rule.run_within_days => {
            if run.broken_off.is_some() {
                reasons.push(Reason::BrokenOff);
            } else if run.acts.per_mille().unwrap_or(0) < rule.share_per_mille {
                reasons.push(Reason::RunBelow { acts: run.acts, asked: rule.share_per_mille });
            }
        }
        _ => reasons.push(Reason::NoRun { days: rule.run_within_days }),
    }
    Readiness { reasons }
}
