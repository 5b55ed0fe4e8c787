//! What a session shows, and what it is told back.
//!
//! Here: plain data between a session and its screen. Not here: what follows from it.
//!
//! **Invariant:** a screen needs nothing but this to show a session, and nothing here tells an answer before the try.

use crate::help::Help;
use crate::history::{ReadingJudged, Share, Trial};
use crate::question::{Judged, Question};
use crate::queue::Why;

/// What is practised.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mode {
    /// A method from its first step to its last, on a run, and then a timed run without help.
    Method {
        /// Its id.
        method: String,
        /// Whether the timed run follows.
        trial: bool,
    },
    /// What is due over all methods, without a run.
    Today {
        /// So many minutes of it.
        minutes: u32,
    },
    /// The timed run alone.
    Trial {
        /// The method, by its id.
        method: String,
    },
}

/// What is to be shown now.
#[derive(Clone, Debug, PartialEq)]
pub enum Due {
    /// Something to be learnt.
    Tell(Tell),
    /// A question.
    Ask(Question),
    /// What was right and why.
    Explain(Box<Explained>),
    /// A step to be done on the run.
    Perform(Perform),
    /// A timed run without help follows: a fresh run, a fresh specimen, one clock.
    TrialAhead(TrialAhead),
    /// The end.
    Finished(Box<Summary>),
}

/// Something to be learnt.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tell {
    /// The method in words.
    pub method: String,
    /// The stage.
    pub stage: String,
    /// The sentence to do; for an incident, what is seen.
    pub text: String,
    /// What is to be known of it, a question and its answer each.
    pub facts: Vec<(String, String)>,
    /// More about it.
    pub why: Option<String>,
    /// The usual slip.
    pub slip: Option<String>,
    /// The caution that belongs to it.
    pub caution: Option<String>,
    /// Why it is told today, where that is known.
    pub because: Option<Why>,
}

/// What was right and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Explained {
    /// What was asked.
    pub question: Question,
    /// What was answered, as a person reads it; nothing for "I don't know".
    pub given: Option<String>,
    /// The verdict.
    pub judged: Judged,
    /// The level of help before and after.
    pub level: (Help, Help),
}

/// A step to be done on the run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Perform {
    /// Its name in the procedure.
    pub step: String,
    /// Whether the instruction is shown meanwhile.
    pub shown: bool,
    /// Whether it is part of the timed run.
    pub in_trial: bool,
}

/// A timed run follows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrialAhead {
    /// The method in words.
    pub method: String,
    /// How many acts are asked for, if every one of them is needed on the way.
    pub acts: usize,
}

/// How a step went on the run.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Performance {
    /// What the run refused, in its words.
    pub refusals: Vec<String>,
    /// What the run noted, in its words.
    pub findings: Vec<String>,
    /// What was read off instruments, and what would have been right.
    pub readings: Vec<ReadingJudged>,
    /// How long it took on the run's own clock, in milliseconds.
    pub took_ms: u64,
}

/// Where the run goes on after a step.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub enum Onward {
    /// At the next step of the procedure.
    #[default]
    InOrder,
    /// At this step, by its name: some were left out, a round or an attempt begins again.
    To(String),
    /// It is over, as the procedure has it.
    Over,
    /// It ended through what the person did: too late, too early, given up. In words.
    GivenUp(String),
}

/// How a session went.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Summary {
    /// All tries, the timed run's left out.
    pub tries: Share,
    /// Those without any help.
    pub unhinted: Share,
    /// Acts done on the run without a refusal and without a finding, the timed run's left out.
    pub performed: Share,
    /// Instruments read, the timed run's left out.
    pub readings: Share,
    /// What was missed and not right since, the right answer of each.
    pub still_missed: Vec<(String, String)>,
    /// What was missed first and right in the end.
    pub put_right: usize,
    /// Missed or due today, but there was no time for it.
    pub left_over: usize,
    /// The timed run.
    pub trial: Option<Trial>,
    /// From the first thing shown to the last, in milliseconds.
    pub took_ms: u64,
}

/// A call that does not fit what is due.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotNow {
    /// Something else is wanted.
    #[error("{wanted}")]
    Wanted {
        /// What is wanted, in words.
        wanted: &'static str,
    },
    /// A step that is not the one to be done.
    #[error("the step to be done is “{step}”")]
    OtherStep {
        /// The step to be done.
        step: String,
    },
    /// The run went on at a step the method does not have.
    #[error("the method has no step “{step}”")]
    NoSuchStep {
        /// The name that was given.
        step: String,
    },
}

/// Why a session cannot be begun.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NothingToPractise {
    /// The method is not there.
    #[error("there is no method “{method}” to practise")]
    NoSuchMethod {
        /// Its id.
        method: String,
    },
    /// Nothing is due.
    #[error("nothing is due today: practise a method, or come back tomorrow")]
    NothingDue,
}
