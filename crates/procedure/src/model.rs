//! What a procedure means once it is checked: stages, steps, readings, rules, figures.
//!
//! Plain data for the engine and the screens. Names of the file are resolved to numbers, texts and
//! figures to those of one unit system. Nothing here parses and nothing here judges.

use quantity::{Decimal, Exact, Quantity, Scale, Span, System, Unit};
use serde::{Deserialize, Serialize};

use crate::expr::Expr;

/// A checked procedure: the same method in each unit system it is stated in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Procedure {
    /// The name it is called by, such as `air-volumetric`.
    pub id: String,
    /// The method in words.
    pub title: String,
    /// The version its author gave this file.
    pub version: String,
    /// One edition for each unit system, in the order of the file.
    pub editions: Vec<Edition>,
}

impl Procedure {
    /// The edition in `system`, if the method is stated in it.
    pub fn edition(&self, system: System) -> Option<&Edition> {
        self.editions.iter().find(|edition| edition.system == system)
    }
}

/// A method in one unit system, ready to run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Edition {
    /// The procedure's id.
    pub id: String,
    /// The method in words.
    pub title: String,
    /// The version its author gave the file.
    pub version: String,
    /// The unit system every figure here is in.
    pub system: System,
    /// The standards it follows.
    pub basis: Vec<Basis>,
    /// What a person is told before relying on it.
    pub notice: Option<String>,
    /// How many attempts one run may have.
    pub attempts_at_most: u32,
    /// Where the durations of the steps come from.
    pub lasts_cites: Vec<Cite>,
    /// Where the figures come from.
    pub sources: Vec<Source>,
    /// Named figures.
    pub figures: Vec<Figure>,
    /// Everything a person may read, see or write down.
    pub readings: Vec<Reading>,
    /// Tables of the standard.
    pub tables: Vec<Table>,
    /// Derived values, results included, each using only those before it.
    pub values: Vec<Value>,
    /// The stages, in order.
    pub stages: Vec<Stage>,
    /// All steps, stage after stage.
    pub steps: Vec<Step>,
    /// Moments of the sample that steps mark, such as `last-portion`; in the order of the steps.
    pub moments: Vec<String>,
    /// Limits from one step to another.
    pub limits: Vec<Limit>,
    /// What can go wrong at any time.
    pub incidents: Vec<Incident>,
    /// The ways to start again.
    pub agains: Vec<Again>,
    /// What is reported.
    pub results: Vec<ResultSpec>,
    /// What is due long after the run.
    pub appointments: Vec<Appointment>,
}

/// Index of a step in [`Edition::steps`].
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct StepId(pub u16);
/// Index of a reading in [`Edition::readings`].
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ReadingId(pub u16);
/// Index of a derived value in [`Edition::values`].
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ValueId(pub u16);
/// Index of a table in [`Edition::tables`].
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct TableId(pub u16);
/// Index of a way to start again in [`Edition::agains`].
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct AgainId(pub u16);

impl Edition {
    /// The step behind an id.
    pub fn step(&self, id: StepId) -> &Step {
        &self.steps[id.0 as usize]
    }
    /// The reading behind an id.
    pub fn reading(&self, id: ReadingId) -> &Reading {
        &self.readings[id.0 as usize]
    }
    /// The step called `name`.
    pub fn step_named(&self, name: &str) -> Option<StepId> {
        self.steps.iter().position(|step| step.id == name).map(|at| StepId(at as u16))
    }
    /// The reading called `name`.
    pub fn reading_named(&self, name: &str) -> Option<ReadingId> {
        self.readings.iter().position(|reading| reading.id == name).map(|at| ReadingId(at as u16))
    }
    /// The derived value or result called `name`.
    pub fn value_named(&self, name: &str) -> Option<ValueId> {
        self.values.iter().position(|value| value.id == name).map(|at| ValueId(at as u16))
    }
    /// The moment of the sample called `name`, as its index in [`Edition::moments`].
    pub fn moment_named(&self, name: &str) -> Option<u16> {
        self.moments.iter().position(|moment| moment == name).map(|at| at as u16)
    }
    /// The stage a step belongs to.
    pub fn stage_of(&self, step: StepId) -> &Stage {
        &self.stages[self.step(step).stage as usize]
    }
}

/// A standard the procedure follows.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Basis {
    /// Designation, such as `ASTM C173/C173M`.
    pub designation: String,
    /// Which edition, and what of it was seen.
    pub edition: Option<String>,
}

/// Where figures come from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Source {
    /// The short name used before the colon.
    pub id: String,
    /// Title of the document.
    pub title: String,
    /// Edition and sections.
    pub edition: Option<String>,
    /// How far it may be trusted.
    pub note: Option<String>,
}

/// One reference to a source: which, and where in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cite {
    /// Index in [`Edition::sources`].
    pub source: u16,
    /// The place: section, step, table.
    pub place: Option<String>,
}

/// A named figure of the method.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Figure {
    /// Its name.
    pub id: String,
    /// Its value; a span of time is a quantity in `s`.
    pub is: Quantity,
    /// True if the file states it as a time (shown `45 s`, `2 min`).
    pub span: bool,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}

/// Text with places that are filled in while a run is under way. Figures are filled in already.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Text {
    /// The pieces in order.
    pub parts: Vec<Part>,
}

/// A piece of a [`Text`].
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Part {
    /// As written.
    Plain(String),
    /// The latest value of a reading.
    Reading(ReadingId),
    /// The value a reading had when the attempt before was discarded.
    Was(ReadingId),
    /// A derived value.
    Value(ValueId),
    /// The round of a repeated stage, from 1.
    Round,
}

impl Text {
    /// The text when nothing has to be filled in.
    pub fn plain(text: impl Into<String>) -> Self {
        Self { parts: vec![Part::Plain(text.into())] }
    }
    /// The whole text if it has no places to fill in.
    pub fn as_plain(&self) -> Option<&str> {
        match self.parts.as_slice() {
            [] => Some(""),
            [Part::Plain(text)] => Some(text),
            _ => None,
        }
    }
}

/// Something a person reads, sees or writes down.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reading {
    /// Its name.
    pub id: String,
    /// The question.
    pub ask: Text,
    /// The question as it is spoken, where the written one is too long for it.
    pub say: Option<Text>,
    /// What kind of answer.
    pub kind: ReadingKind,
    /// The lowest and the highest value that is usual on an ordinary job, both marks of the instrument. For practice
    /// only: nothing is judged by it.
    pub typical: Option<(Decimal, Decimal)>,
    /// The drawn instrument it belongs to, such as `neck`.
    pub instrument: Option<String>,
    /// The name under which the runs of one sample share it, such as `technician`.
    pub shared: Option<String>,
    /// Where range and graduation come from.
    pub cites: Vec<Cite>,
}

impl Reading {
    /// The unit of a number or tally; [`Unit::NONE`] for words and choices.
    pub fn unit(&self) -> Unit {
        match &self.kind {
            ReadingKind::Number(scale) => scale.unit,
            ReadingKind::Tally { unit, .. } => *unit,
            ReadingKind::Choice(_) | ReadingKind::Words => Unit::NONE,
        }
    }
}

/// What kind of answer a reading takes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum ReadingKind {
    /// A number on the marks of an instrument.
    Number(Scale),
    /// One of several things a person may see or choose.
    Choice(Vec<Choice>),
    /// Free words: a name, a ticket.
    Words,
    /// A count that grows one by one.
    Tally {
        /// What is counted.
        unit: Unit,
        /// More than this is refused as a slip of the hand.
        at_most: u32,
    },
}

/// One answer of a choice.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Choice {
    /// Its name in expressions and records.
    pub id: String,
    /// What the person sees.
    pub label: String,
    /// The key that gives it.
    pub key: char,
}

/// A table of the standard.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Table {
    /// Its name, used like a function in expressions.
    pub id: String,
    /// What it gives.
    pub title: String,
    /// Unit of the argument.
    pub input: Unit,
    /// Unit of what it gives.
    pub output: Unit,
    /// Rows with rising argument.
    pub rows: Vec<(Exact, Exact)>,
    /// Between two rows.
    pub between: Between,
    /// Below the first row.
    pub below: Beyond,
    /// Beyond the last row.
    pub beyond: Beyond,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}

/// What a table gives between two rows.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Between {
    /// A straight line.
    Interpolate,
    /// The row below.
    RowBelow,
    /// The row above.
    RowAbove,
    /// Nothing: only the rows themselves count.
    Refuse,
}

/// What a table gives outside its rows.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Beyond {
    /// The outermost row.
    Hold,
    /// Nothing; the checker makes sure that this is never asked for in a result.
    Refuse,
}

impl Table {
    /// What the table gives for `at`, exact, or `None` where it states nothing.
    pub fn at(&self, at: &Exact) -> Option<Exact> {
        let first = self.rows.first()?;
        let last = self.rows.last()?;
        if *at < first.0 {
            return (self.below == Beyond::Hold).then(|| first.1.clone());
        }
        if *at > last.0 {
            return (self.beyond == Beyond::Hold).then(|| last.1.clone());
        }
        let above = self.rows.iter().position(|row| row.0 >= *at)?;
        let (x1, y1) = &self.rows[above];
        if x1 == at {
            return Some(y1.clone());
        }
        let (x0, y0) = self.rows.get(above.checked_sub(1)?)?;
        match self.between {
            Between::Interpolate => {
                let share = (at - x0).checked_div(&(x1 - x0))?;
                Some(y0 + &(&share * &(y1 - y0)))
            }
            Between::RowBelow => Some(y0.clone()),
            Between::RowAbove => Some(y1.clone()),
            Between::Refuse => None,
        }
    }
}

/// A value derived from readings, figures and tables.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Value {
    /// Its name.
    pub id: String,
    /// What it is.
    pub title: String,
    /// Its formula.
    pub is: Expr,
    /// Its unit.
    pub unit: Unit,
    /// Where the formula comes from.
    pub cites: Vec<Cite>,
}

/// A part of the method.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stage {
    /// Its name.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Its first step.
    pub first: StepId,
    /// One past its last step.
    pub end: StepId,
    /// Whether it is done again, and until when.
    pub repeat: Option<Repeat>,
}

/// A stage that is done in rounds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Repeat {
    /// Until two rounds that follow each other agree.
    UntilAgree(UntilAgree),
    /// So many times as something read or chosen says.
    Times(Times),
}

impl Repeat {
    /// How many rounds there may be.
    pub fn rounds_at_most(&self) -> u32 {
        match self {
            Repeat::UntilAgree(agree) => agree.rounds_at_most,
            Repeat::Times(times) => times.at_most,
        }
    }
    /// What must agree, if that is what ends the rounds.
    pub fn until_agree(&self) -> Option<&UntilAgree> {
        match self {
            Repeat::UntilAgree(agree) => Some(agree),
            Repeat::Times(_) => None,
        }
    }
    /// Where it comes from.
    pub fn cites(&self) -> &[Cite] {
        match self {
            Repeat::UntilAgree(agree) => &agree.cites,
            Repeat::Times(times) => &times.cites,
        }
    }
}

/// Rounds that are known beforehand, such as the layers of a mould.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Times {
    /// How many rounds; asked at the end of each. What is unknown then, or no whole number, ends the rounds.
    pub times: Expr,
    /// More rounds than this there never are.
    pub at_most: u32,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}

/// Rounds until two that follow each other agree.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct UntilAgree {
    /// The value that must agree, as it stands at the end of a round.
    pub value: ValueId,
    /// The greatest difference, included.
    pub within: Exact,
    /// How many rounds there may be.
    pub rounds_at_most: u32,
    /// What follows when they never agree.
    pub otherwise: Ending,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}

/// One act of the method.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Step {
    /// Its name.
    pub id: String,
    /// Index of its stage.
    pub stage: u16,
    /// The sentence to do.
    pub instruction: Text,
    /// What it takes to be done.
    pub wants: Wants,
    /// Left out unless this holds.
    pub when: Option<Expr>,
    /// The moment of the sample it marks, by its index in [`Edition::moments`]. On a bench it is left out once
    /// another run of the sample has marked it.
    pub moment: Option<u16>,
    /// How long it takes, for planning.
    pub lasts: Option<Lasts>,
    /// Whether its wait leaves the hands free: a hold its least time, a settle the time between two readings.
    pub hands_free: bool,
    /// What must hold before it may be begun.
    pub needs: Vec<Need>,
    /// What follows from it.
    pub rules: Vec<Rule>,
    /// A prompt that comes back while it lasts.
    pub every: Option<Every>,
    /// A tally that may be added to while the step is open.
    pub add: Option<Add>,
    /// The reason given when it is tried before its turn.
    pub too_soon: Option<Text>,
    /// More about it, for the help.
    pub why: Option<Text>,
    /// The usual slip.
    pub slip: Option<Text>,
    /// The caution that belongs to it.
    pub caution: Option<Text>,
    /// What an examiner must see.
    pub mark: Option<Text>,
    /// The short spoken form.
    pub say: Option<Text>,
    /// Where its figures come from.
    pub cites: Vec<Cite>,
}

/// How long a step keeps the hands, for planning; nothing is judged by it.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lasts {
    /// A practised person.
    pub typical: Span,
    /// A slow one; never shorter.
    pub slow: Span,
}

/// What must hold before a step may be begun.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Need {
    /// The condition.
    pub that: Expr,
    /// Why, in the words of the trade.
    pub because: Text,
}

/// What a step takes to be done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Wants {
    /// An act to confirm.
    Act,
    /// A count, such as strokes or taps.
    Count {
        /// What is counted, such as `strokes`.
        of: String,
        /// The least.
        at_least: u32,
        /// The most.
        at_most: u32,
        /// A pace to keep, if one is asked for.
        pace: Option<Span>,
    },
    /// Something that lasts: begun by the person, ended by the person, not too early.
    Hold {
        /// The least time.
        at_least: Span,
        /// The most, after which ending it is a finding.
        at_most: Option<Span>,
        /// Two positions that alternate while it lasts.
        turns: Option<Turns>,
        /// Whether it leads on by itself once it has lasted long enough, if the person has set it so: nobody has to
        /// look or act at its end.
        goes_on: bool,
    },
    /// A duration measured by the person's own start and stop.
    Timed {
        /// The least time.
        at_least: Span,
        /// The most time.
        at_most: Span,
        /// What follows outside.
        otherwise: Consequence,
    },
    /// One reading.
    Read(ReadingId),
    /// Readings at intervals until one stands still.
    Settle(Settle),
}

/// Two positions that alternate, one of them with a limit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Turns {
    /// The limited position, such as `upside down`. The hold begins in it.
    pub down: String,
    /// The other, such as `upright`. The hold ends in it.
    pub up: String,
    /// The longest time in the limited position.
    pub down_at_most: Span,
    /// The finding when it was longer.
    pub finding: Text,
}

/// Readings at intervals until one stands still.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settle {
    /// What is read.
    pub reading: ReadingId,
    /// What is read with it each time.
    pub also: Vec<ReadingId>,
    /// What is compared; the reading itself if there is none.
    pub value: Option<ValueId>,
    /// The time from one reading to the next, at least.
    pub every: Span,
    /// The greatest change, included, that counts as standing still.
    pub change_at_most: Exact,
    /// After this, counted from the opening of the step, it is given up.
    pub give_up_after: Span,
    /// What follows then.
    pub otherwise: Ending,
}

/// A prompt that comes back while a step lasts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Every {
    /// How often.
    pub span: Span,
    /// What to do then.
    pub cue: Text,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}

/// A tally that may be added to while a step is open.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Add {
    /// The tally.
    pub reading: ReadingId,
    /// When and how.
    pub ask: Text,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}

/// What follows from a step when a condition holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rule {
    /// The condition, asked when the step is done.
    pub when: Expr,
    /// What follows.
    pub then: Consequence,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}

/// What follows.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Consequence {
    /// The answer is not taken; the reason is said and the step stays open.
    Refuse(Text),
    /// It is noted, and the run goes on.
    Finding(Text),
    /// The attempt ends.
    End(Ending),
    /// The run goes back, so many times at most; then the attempt ends.
    Back {
        /// Where to.
        to: StepId,
        /// How often in one attempt.
        at_most: u32,
        /// What follows after that.
        otherwise: Ending,
    },
}

/// An attempt that ends without a result.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ending {
    /// Discarded, or void.
    pub kind: EndingKind,
    /// The cause.
    pub because: Text,
    /// How to start again, if it may be.
    pub again: Option<AgainId>,
}

/// How an attempt ends without a result.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum EndingKind {
    /// Stopped on the way: there is nothing to report.
    Discard,
    /// Carried through, and found worthless afterwards.
    Void,
}

/// A limit from one step to another.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limit {
    /// Its name.
    pub id: String,
    /// What it is.
    pub title: Text,
    /// What it is called when it is spoken, where the title is too long for it.
    pub say: Option<Text>,
    /// It starts when this step is done.
    pub from: StepId,
    /// It stops when this step is done.
    pub to: StepId,
    /// The longest time, included.
    pub at_most: Span,
    /// What follows when it was longer.
    pub otherwise: Consequence,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}

/// Something that can go wrong at any time in some stages.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Incident {
    /// Its name.
    pub id: String,
    /// What is seen.
    pub title: Text,
    /// The stages it can happen in.
    pub during: Vec<u16>,
    /// What follows.
    pub ending: Ending,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}

/// A way to start again after an attempt without a result.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Again {
    /// Its name.
    pub id: String,
    /// The step the next attempt starts at; readings of the steps before it are carried over.
    pub from: StepId,
    /// What to do.
    pub say: Text,
    /// The change that is asked for.
    pub change: Option<Change>,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}

/// What must be different in the next attempt.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Change {
    /// The reading that must change.
    pub reading: ReadingId,
    /// What it must satisfy.
    pub require: Expr,
    /// Why, said when it does not.
    pub because: Text,
}

/// What is reported.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ResultSpec {
    /// The derived value it reports.
    pub value: ValueId,
    /// Reported only if this holds.
    pub when: Option<Expr>,
    /// The name under which the runs of one sample share it, such as `slump`.
    pub shared: Option<String>,
    /// It is rounded to a multiple of this, once.
    pub nearest: Exact,
    /// The terms shown in the report.
    pub terms: Vec<Term>,
    /// What is noted about it.
    pub rules: Vec<Rule>,
}

/// A term of a result, for the report.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Term {
    /// `+` or `-`, as it stands in the sum.
    pub sign: char,
    /// What it is.
    pub what: TermOf,
    /// What it is called in the report.
    pub label: String,
}

/// Where a term comes from.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum TermOf {
    /// A reading.
    Reading(ReadingId),
    /// A derived value.
    Value(ValueId),
}

/// Something due long after the run, such as the breaking of a specimen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Appointment {
    /// Its name.
    pub id: String,
    /// What is due.
    pub title: Text,
    /// It is counted from the moment this step is done.
    pub from: StepId,
    /// How long after that.
    pub after: Span,
    /// How much earlier or later it may be.
    pub give_or_take: Option<Span>,
    /// Only if this holds.
    pub when: Option<Expr>,
    /// How many it is due for.
    pub count: Option<TermOf>,
    /// Where it comes from.
    pub cites: Vec<Cite>,
}
