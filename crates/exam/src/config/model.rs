//! What an exam file says, once checked. Plain data.

use quantity::{Exact, Span, System};

/// A practical exam.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exam {
    /// Its title, as it stands on every sheet.
    pub title: String,
    /// The day, as year-month-day.
    pub date: Option<String>,
    /// Where.
    pub place: Option<String>,
    /// How many stations there are, from 1.
    pub stations: u16,
    /// Who marks; if nobody is named, anybody may.
    pub raters: Vec<String>,
    /// What becomes of an act nobody saw.
    pub not_seen: NotSeen,
    /// The methods, in the order of the file.
    pub methods: Vec<MethodRule>,
}

impl Exam {
    /// The place of a method.
    pub fn method(&self, id: &str) -> Option<usize> {
        self.methods.iter().position(|method| method.id == id)
    }
}

/// The rules of one method; what the file leaves to the exam as a whole is filled in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MethodRule {
    /// The procedure's id.
    pub id: String,
    /// In which unit system.
    pub system: System,
    /// How many trials a candidate has, before a re-examination.
    pub trials_at_most: u32,
    /// The time for one trial.
    pub time_limit: Option<Span>,
    /// What passing takes.
    pub pass: PassRule,
    /// What may be told aloud instead of done.
    pub told: Told,
    /// Steps and limits (`limit:ID`) that no share makes up for.
    pub critical: Vec<String>,
    /// Steps and limits that are not on the sheet.
    pub leave_out: Vec<String>,
    /// Steps the procedure asks in some performances only, and this exam of everybody.
    pub ask_always: Vec<String>,
    /// Steps that only write down words, and are on the sheet all the same.
    pub mark_also: Vec<String>,
}

/// What passing takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PassRule {
    /// Every act is done or, where allowed, told.
    EveryAct,
    /// At least this share of the acts that count, from 0 to 1, and every critical one.
    Share(Exact),
}

/// What may be told aloud instead of done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Told {
    /// Every act.
    All,
    /// No act.
    Nothing,
    /// These steps.
    Only(Vec<String>),
}

/// What becomes of an act that nobody saw, or that was left without a mark.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum NotSeen {
    /// The result stays open as long as such an act could change it.
    #[default]
    Open,
    /// It counts as missed.
    Missed,
}
