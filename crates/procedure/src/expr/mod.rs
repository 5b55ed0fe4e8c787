//! Expressions: ordinary arithmetic and comparison over named readings.
//!
//! Text is compiled against the names of one edition ([`compile`]), which settles names, units and
//! types once; what is left ([`Expr`]) can only be *unknown* while a run is under way, never wrong.
//! Numbers are exact rationals throughout. Comparisons do not chain and `/` is always exact.
//!
//! **Three values.** A reading nobody has taken yet is *unknown*, never false: `unknown and false`
//! is false, `unknown and true` is unknown.
//!
//! Here: the parts of a compiled expression, what may be asked of a run, and the way in. Beside it: words and
//! signs (`lexer`), the order of operations (`parser`), names, units and types (`check`), what it gives (`eval`).
//!
//! **Invariant:** whatever the text, [`compile`] returns; and what it returns is at most [`DEEPEST`] deep, so that
//! no walk over it can run out of stack.
//!
//! # The language
//!
//! | written | means |
//! |---|---|
//! | `2`, `0.25`, `2.5 pt`, `1 %/cup`, `45 s`, `2 min` | a number and the unit behind it; a time counts in s |
//! | `true`, `false` | a truth |
//! | `level`, `round`, `attempt` | a figure, a reading, a derived value; the round of a repeated stage; the attempt |
//! | `+ - * /` | arithmetic, exact; `+` and `-` in one unit, `*` and `/` combine units |
//! | `< <= > >= == !=` | comparison in one unit; `a < b < c` is not written |
//! | `and or not` | truths |
//! | `if c then a else b` | one of two |
//! | `abs(x)`, `min(a, b)`, `max(a, b)` | of numbers |
//! | `sqrt(x)` | the square root of a bare number: exact where there is an exact one, otherwise to 30 decimals |
//! | `sum(r)`, `was(r)`, `known(r)` | of a reading: all added up; when the attempt before ended; whether it was read |
//! | `correction(x)` | a table looked up |
//! | `heard == no` | whether a choice has this answer |

use crate::model::{ReadingId, TableId, ValueId};
use quantity::{Exact, Quantity, Unit};
use std::ops::Range;

mod check;
mod eval;
mod lexer;
mod parser;
#[cfg(test)]
mod tests;

/// The longest text of an expression, in bytes.
pub const LONGEST: usize = 2000;
/// The deepest nesting of an expression: of its brackets, and of its operations one inside the other.
pub const DEEPEST: usize = 64;
/// The most digits of one number.
pub const MOST_DIGITS: usize = 28;
/// Words with a meaning of their own: nothing in a procedure can be called by one of them.
pub const RESERVED: &[&str] = &[
    "abs", "and", "attempt", "else", "false", "if", "known", "max", "min", "not", "or", "round", "sqrt", "sum", "then",
    "true", "was",
];

/// What an expression gives.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Type {
    /// A number in a unit.
    Number(Unit),
    /// True or false.
    Truth,
    /// One of the answers of a choice reading.
    Choice(ReadingId),
}

/// A compiled expression.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Expr {
    /// A number; its unit was checked.
    Number(Exact),
    /// A truth.
    Truth(bool),
    /// An answer of a choice, by its place in the list.
    Choice(u16),
    /// The latest value of a reading in this attempt.
    Reading(ReadingId),
    /// Its value when the attempt before ended.
    Was(ReadingId),
    /// All its values in this attempt added up; 0 if there are none.
    Sum(ReadingId),
    /// Whether it has been read in this attempt.
    Known(ReadingId),
    /// Which round of a repeated stage this is, from 1.
    Round,
    /// Which attempt of the run this is, from 1.
    Attempt,
    /// A derived value.
    Value(ValueId),
    /// A table looked up.
    Table(TableId, Box<Expr>),
    /// `-x`
    Negative(Box<Expr>),
    /// `not x`
    Not(Box<Expr>),
    /// `abs(x)`
    Abs(Box<Expr>),
    /// `sqrt(x)`
    Sqrt(Box<Expr>),
    /// Two operands.
    Two(Op, Box<Expr>, Box<Expr>),
    /// `if c then a else b`
    If(Box<Expr>, Box<Expr>, Box<Expr>),
}

/// An operator with two operands.
#[derive(Copy, Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Op {
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `*`
    Multiply,
    /// `/`, exact
    Divide,
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    More,
    /// `>=`
    AtLeast,
    /// `==`
    Equal,
    /// `!=`
    NotEqual,
    /// `and`
    And,
    /// `or`
    Or,
    /// `min(a, b)`
    Min,
    /// `max(a, b)`
    Max,
}

/// What an expression gave.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Datum {
    /// A number, in the unit that was checked.
    Number(Exact),
    /// A truth.
    Truth(bool),
    /// An answer of a choice, by its place in the list.
    Choice(u16),
    /// Not to be said yet: something it rests on has not been read.
    Unknown,
}

impl Datum {
    /// True only if it is known and true.
    pub fn holds(&self) -> bool {
        *self == Datum::Truth(true)
    }
    /// The number, if it is one and known.
    pub fn number(self) -> Option<Exact> {
        match self {
            Datum::Number(value) => Some(value),
            _ => None,
        }
    }
}

/// What an expression may ask of a run.
pub trait Facts {
    /// The latest value of a reading in this attempt.
    fn reading(&self, id: ReadingId) -> Datum;
    /// Its value when the attempt before ended.
    fn was(&self, id: ReadingId) -> Datum;
    /// All its values in this attempt added up.
    fn sum(&self, id: ReadingId) -> Exact;
    /// Which round of a repeated stage this is.
    fn round(&self) -> u32;
    /// Which attempt of the run this is.
    fn attempt(&self) -> u32;
    /// A derived value's formula.
    fn formula(&self, id: ValueId) -> &Expr;
    /// A table looked up.
    fn table(&self, id: TableId, at: &Exact) -> Option<Exact>;
}

/// What a name in an expression may stand for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Named {
    /// A figure of the method.
    Figure(Quantity),
    /// A reading that is a number.
    Number {
        /// Which reading.
        id: ReadingId,
        /// Its unit.
        unit: Unit,
    },
    /// A reading that is a count.
    Tally {
        /// Which reading.
        id: ReadingId,
        /// What is counted.
        unit: Unit,
    },
    /// A reading that is one of several answers.
    Choice {
        /// Which reading.
        id: ReadingId,
        /// The names of its answers, in order.
        answers: Vec<String>,
    },
    /// A reading in free words. An expression can only ask whether it is known.
    Words {
        /// Which reading.
        id: ReadingId,
    },
    /// A derived value.
    Value {
        /// Which value.
        id: ValueId,
        /// Its unit.
        unit: Unit,
    },
    /// A table of the standard.
    Table {
        /// Which table.
        id: TableId,
        /// Unit of what is looked up.
        input: Unit,
        /// Unit of what it gives.
        output: Unit,
    },
}

/// The names an expression may use at its place in the file.
pub trait Names {
    /// What `name` stands for, if it stands for anything here.
    fn named(&self, name: &str) -> Option<Named>;
    /// Every name there is, to find the nearest to one that is not.
    fn all(&self) -> Vec<String>;
}

/// What an expression must give at its place in the file.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Want {
    /// True or false.
    Truth,
    /// A number in this unit.
    Number(Unit),
    /// Anything.
    Any,
}

/// A fault of an expression.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The place, in bytes of the expression.
    pub at: Range<usize>,
    /// A short name that stays the same when the wording changes, such as `unlike-units`.
    pub code: &'static str,
    /// What is wrong.
    pub title: String,
    /// What to say at the place.
    pub label: String,
    /// How to mend it.
    pub help: Option<String>,
}

impl Fault {
    fn new(at: Range<usize>, code: &'static str, title: impl Into<String>, label: impl Into<String>) -> Self {
        Self { at, code, title: title.into(), label: label.into(), help: None }
    }

    fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// A compiled expression, and what it rests on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Compiled {
    /// The expression.
    pub expr: Expr,
    /// What it gives.
    pub kind: Type,
    /// What it asks of a run: each thing once, in the order of the text.
    pub uses: Vec<Use>,
}

/// Something an expression asks of a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Use {
    /// The latest value of a reading.
    Reading(ReadingId),
    /// Its value when the attempt before ended.
    Was(ReadingId),
    /// All its values added up.
    Sum(ReadingId),
    /// Whether it has been read.
    Known(ReadingId),
    /// A derived value.
    Value(ValueId),
    /// A table, looked up at what this expression gives.
    Table(TableId, Expr),
    /// The round of a repeated stage.
    Round,
    /// The attempt.
    Attempt,
}

/// Compiles `src` against the names of its place in the file.
///
/// # Errors
///
/// Every [`Fault`] of the text, in the order of their places: signs and numbers that are not of the language, names
/// nobody gave, units and kinds that do not go together, and what is more than an expression may hold.
pub fn compile(src: &str, names: &dyn Names, want: Want) -> Result<Compiled, Vec<Fault>> {
    if src.len() > LONGEST {
        let from = (0..=LONGEST).rev().find(|at| src.is_char_boundary(*at)).unwrap_or(0);
        return Err(vec![
            Fault::new(
                from..src.len(),
                "too-long",
                format!("the expression is longer than {LONGEST} bytes"),
                "all this is too much",
            )
            .help("give a part of it a name of its own, as a derived value"),
        ]);
    }
    if src.trim().is_empty() {
        return Err(vec![
            Fault::new(0..src.len(), "empty", "there is no expression here", "nothing is written here")
                .help("write what must hold, such as `level > 9 %`, or take the line out"),
        ]);
    }
    let mut faults = Vec::new();
    let tokens = lexer::lex(src, &mut faults);
    let tree = parser::parse(src, &tokens, &mut faults);
    let compiled = check::check(src, &tree, names, want, &mut faults);
    if faults.is_empty() {
        return Ok(compiled);
    }
    faults.sort_by_key(|fault| (fault.at.start, fault.at.end));
    Err(faults)
}

/// How a unit is named in a sentence.
fn unit_words(unit: Unit) -> String {
    if unit == Unit::NONE { "a bare number".to_owned() } else { unit.symbol() }
}
