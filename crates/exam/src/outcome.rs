//! The result of a trial by the rule, and how a candidate stands in a method.
//!
//! Here: which acts count, whether they suffice, and what is said about it. Not here: marks ([`crate::State`]), whose
//! statistics these are ([`crate::class`]).
//!
//! **Invariant:** a critical act is never bought back by others. What nobody saw decides nothing: a result that it could
//! turn is open.

use engine::measured::{is_over, to_the_tenth};
use quantity::{Exact, Span};

use crate::config::NotSeen;
use crate::event::{How, Mark, TrialId};
use crate::state::{ItemStatus, TrialPhase, TrialView, WindowStatus};

/// What a trial came to.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Passed.
    Passed,
    /// Not passed.
    Failed,
    /// Not decided: it is under way, or acts that nobody saw could turn it.
    Open,
    /// It counts as no trial.
    Void,
}

/// An act or a window that was missed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Missed {
    /// Its key.
    pub key: String,
    /// The place of its act on the sheet; for a window, of the act that came too late.
    pub item: usize,
    /// Its stage.
    pub stage: String,
    /// What should have been seen.
    pub text: String,
    /// Why it matters.
    pub why: Option<String>,
    /// The usual slip.
    pub slip: Option<String>,
    /// What the clock says, or the rater's reason.
    pub because: Option<String>,
    /// Whether nothing makes up for it.
    pub critical: bool,
}

/// The result of one trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// What it came to.
    pub verdict: Verdict,
    /// Why, in sentences; for a pass what it rests on.
    pub reasons: Vec<String>,
    /// What was missed, in order of the sheet, windows last.
    pub missed: Vec<Missed>,
    /// Acts that count and that nobody saw or marked, by place.
    pub unseen: Vec<usize>,
    /// Acts that were told aloud, by place.
    pub told: Vec<usize>,
    /// How many acts and windows were right.
    pub right: u32,
    /// Of how many that count.
    pub asked: u32,
    /// How long it took, once it has ended.
    pub took: Option<Span>,
    /// By how much the time limit was passed.
    pub over_time: Option<Span>,
}

impl Outcome {
    /// What keeps the result open, in words.
    pub fn undecided(&self) -> String {
        match self.unseen.len() {
            0 => "nothing".to_owned(),
            1 => "1 act was seen by nobody".to_owned(),
            n => format!("{n} acts were seen by nobody"),
        }
    }
}

pub(crate) fn of(view: &TrialView) -> Outcome {
    let sheet = view.sheet;
    let mut missed = Vec::new();
    let (mut unseen, mut told) = (Vec::new(), Vec::new());
    let (mut right, mut asked) = (0_u32, 0_u32);
    // What nobody saw: undecided, unless the exam counts it as missed.
    let mut open_critical = false;
    for status in view.items().filter(ItemStatus::is_asked) {
        asked += 1;
        match status.mark {
            Some(Mark::Done) => right += 1,
            Some(Mark::Told) => {
                right += 1;
                told.push(status.at);
            }
            Some(Mark::Missed) => missed.push(of_item(&status)),
            Some(Mark::NotSeen) | None => {
                unseen.push(status.at);
                open_critical |= status.item.critical;
                if sheet.not_seen == NotSeen::Missed {
                    let because = Some("nobody saw it".to_owned());
                    missed.push(Missed { because, ..of_item(&status) });
                }
            }
        }
    }
    for status in view.windows() {
        match status.mark {
            Some(Mark::Missed) => {
                asked += 1;
                missed.push(of_window(view, &status));
            }
            Some(_) => {
                asked += 1;
                right += 1;
            }
            None => {}
        }
    }
    let n_open = if sheet.not_seen == NotSeen::Open { unseen.len() as u32 } else { 0 };
    let open_critical = open_critical && n_open > 0;
    let took = view.ended().map(|(_, at)| at.tick.since(view.trial.began.tick));
    let kept_after_all = view.trial.time_overruled().map(|overrule| overrule.mark == Mark::Done);
    let over_time = sheet.time_limit.zip(took).and_then(|(limit, took)| {
        let is_late = kept_after_all.map_or_else(|| is_over(limit, took), |kept| !kept);
        is_late.then(|| Span(took.0.saturating_sub(limit.0)))
    });
    let mut outcome =
        Outcome { verdict: Verdict::Open, reasons: Vec::new(), missed, unseen, told, right, asked, took, over_time };
    decide(view, &mut outcome, n_open, open_critical);
    outcome
}

fn decide(view: &TrialView, outcome: &mut Outcome, n_open: u32, open_critical: bool) {
    let reasons = &mut outcome.reasons;
    match &view.trial.phase {
        TrialPhase::Open => {
            reasons.push("under way".to_owned());
            return;
        }
        TrialPhase::Withdrawn => {
            outcome.verdict = Verdict::Void;
            reasons.push("begun by mistake and taken back".to_owned());
            return;
        }
        TrialPhase::Ended { how: How::Void { reason }, .. } => {
            outcome.verdict = Verdict::Void;
            reasons.push(format!("broken off, and counts as no trial: {reason}"));
            return;
        }
        TrialPhase::Ended { how: How::Stopped { reason }, .. } => {
            outcome.verdict = Verdict::Failed;
            reasons.push(format!("broken off: {reason}"));
        }
        TrialPhase::Ended { how: How::Finished, .. } => {}
    }
    if let (Some(over), Some(limit)) = (outcome.over_time, view.sheet.time_limit) {
        outcome.verdict = Verdict::Failed;
        let over = to_the_tenth(over, true);
        reasons.push(match view.trial.time_overruled() {
            Some(overrule) => format!("the time limit of {limit} was not kept: {}", overrule.reason),
            None => format!("{over} over the time limit of {limit}"),
        });
    }
    let n_critical = outcome.missed.iter().filter(|missed| missed.critical).count();
    let n_missed = outcome.missed.len();
    let (right, asked) = (outcome.right, outcome.asked);
    match view.sheet.share() {
        None if n_missed > 0 => {
            outcome.verdict = Verdict::Failed;
            reasons.push(format!("{} missed; every act must be done, or told where that is allowed", acts(n_missed)));
        }
        None => {}
        Some(share) => {
            let least = percent(share);
            if n_critical > 0 {
                outcome.verdict = Verdict::Failed;
                reasons.push(format!("{} missed that nothing makes up for", acts(n_critical)));
            }
            if !reaches(right + n_open, asked, share) {
                outcome.verdict = Verdict::Failed;
                reasons.push(format!("{right} of {asked} acts; at least {least} are asked"));
            }
        }
    }
    if outcome.verdict == Verdict::Failed {
        return;
    }
    let is_open = match view.sheet.share() {
        None => n_open > 0,
        Some(share) => open_critical || !reaches(right, asked, share),
    };
    if asked == 0 {
        outcome.reasons.push("no act is marked".to_owned());
    } else if is_open {
        let what = outcome.undecided();
        outcome.reasons.push(format!("{what}, and the result hangs on it"));
    } else {
        outcome.verdict = Verdict::Passed;
        let n_told = outcome.told.len();
        let told = if n_told == 0 { String::new() } else { format!(", {n_told} of them told aloud") };
        outcome.reasons.push(format!("{right} of {asked} acts{told}"));
    }
}

/// Whether `right` of `asked` is at least `share`, exactly.
fn reaches(right: u32, asked: u32, share: &Exact) -> bool {
    Exact::ratio(i64::from(right), i64::from(asked)).is_some_and(|got| got >= *share)
}

/// A share as it is written: "90 %".
fn percent(share: &Exact) -> String {
    format!("{} %", (share * &Exact::from_int(100)).show_short())
}

fn acts(n: usize) -> String {
    if n == 1 { "1 act".to_owned() } else { format!("{n} acts") }
}

fn of_item(status: &ItemStatus) -> Missed {
    Missed {
        key: status.item.key.clone(),
        item: status.at,
        stage: status.item.stage.clone(),
        text: status.item.text.clone(),
        why: status.item.why.clone(),
        slip: status.item.slip.clone(),
        because: status.because.clone(),
        critical: status.item.critical,
    }
}

fn of_window(view: &TrialView, status: &WindowStatus) -> Missed {
    let to = &view.sheet.items[status.window.to];
    Missed {
        key: status.window.key.clone(),
        item: status.window.to,
        stage: to.stage.clone(),
        text: status.window.text.clone(),
        why: to.why.clone(),
        slip: to.slip.clone(),
        because: status.because.clone(),
        critical: status.window.critical,
    }
}

/// How a candidate stands in a method.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// A trial is due: the first, the second after a failed first one.
    Due {
        /// Which, from 1.
        number: u32,
    },
    /// A trial is under way.
    UnderWay {
        /// Its name.
        trial: TrialId,
        /// Which.
        number: u32,
    },
    /// A trial has ended, and nobody saw enough of it to decide.
    Undecided {
        /// Its name.
        trial: TrialId,
        /// Which.
        number: u32,
    },
    /// Passed.
    Passed {
        /// Its name.
        trial: TrialId,
        /// At which trial.
        number: u32,
    },
    /// Every trial was used, none passed.
    ReExamination {
        /// How many there were.
        trials: u32,
    },
}

impl Standing {
    pub(crate) fn of<'s>(trials: impl Iterator<Item = TrialView<'s>>, at_most: u32) -> Self {
        let mut had = 0;
        let mut undecided = None;
        for view in trials {
            had += 1;
            let (trial, number) = (view.trial.id.clone(), view.trial.number);
            if view.trial.is_open() {
                return Standing::UnderWay { trial, number };
            }
            match view.outcome().verdict {
                Verdict::Passed => return Standing::Passed { trial, number },
                Verdict::Open => undecided = undecided.or(Some(Standing::Undecided { trial, number })),
                Verdict::Failed | Verdict::Void => {}
            }
        }
        match undecided {
            Some(undecided) => undecided,
            None if had < at_most => Standing::Due { number: had + 1 },
            None => Standing::ReExamination { trials: had },
        }
    }

    /// What is said about it.
    pub fn words(&self) -> String {
        match self {
            Standing::Due { number: 1 } => "not yet".to_owned(),
            Standing::Due { number } => format!("{} trial due", ordinal(*number)),
            Standing::UnderWay { number, .. } => format!("{} trial under way", ordinal(*number)),
            Standing::Undecided { number, .. } => format!("{} trial open", ordinal(*number)),
            Standing::Passed { number, .. } => format!("passed at the {} trial", ordinal(*number)),
            Standing::ReExamination { .. } => "re-examination due".to_owned(),
        }
    }
}

fn ordinal(n: u32) -> String {
    match n {
        1 => "first".to_owned(),
        2 => "second".to_owned(),
        3 => "third".to_owned(),
        n => format!("{n}th"),
    }
}
