//! Every name of a procedure: what it stands for, where it was given, whether anybody uses it.
//!
//! Here: sources, names for expressions, stages, steps, ways to start again. Not here: reading their definitions.
//!
//! **Invariant:** a name that was given is known, even if its definition is broken; so one fault is reported once,
//! where it is, and not again wherever the name is used.

use std::cell::Cell;
use std::ops::Range;

use quantity::Unit;

use crate::expr::{Expr, Named, Names};
use crate::model::{AgainId, Figure, Reading, ReadingId, ReadingKind, Source, StepId, Table, TableId, ValueId};

/// Something with a name.
pub(super) struct Given<T> {
    pub id: String,
    pub at: Range<usize>,
    /// Whether anybody uses it.
    pub used: Cell<bool>,
    pub what: T,
}

impl<T> Given<T> {
    pub fn new(id: impl Into<String>, at: Range<usize>, what: T) -> Self {
        Self { id: id.into(), at, used: Cell::new(false), what }
    }
}

/// What a name in expressions stands for; the number is its place among its kind.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum What {
    Figure(u16),
    Reading(u16),
    Table(u16),
    Value(u16),
}

/// A derived value as far as it is known.
pub(super) struct Derived {
    /// Its unit, if it could be read.
    pub unit: Option<Unit>,
    /// Its formula, if it could be read.
    pub is: Option<Expr>,
    /// Whether it is reported.
    pub result: bool,
}

/// A figure and how the file wrote it.
pub(super) struct FigureText {
    pub figure: Figure,
    /// "25", "1/8 in", "45 s": what a text shows in its place.
    pub text: String,
}

/// A step before it is read.
pub(super) struct StepName {
    /// Index of its stage.
    pub stage: u16,
}

/// The ids of several things, in order.
pub(super) fn ids<T>(all: &[Given<T>]) -> Vec<String> {
    all.iter().map(|given| given.id.clone()).collect()
}

/// Every name defined so far.
#[derive(Default)]
pub(super) struct Scope {
    pub sources: Vec<Given<Source>>,
    pub names: Vec<Given<What>>,
    pub figures: Vec<Option<FigureText>>,
    pub readings: Vec<Option<Reading>>,
    pub tables: Vec<Option<Table>>,
    pub values: Vec<Derived>,
    pub stages: Vec<Given<()>>,
    pub steps: Vec<Given<StepName>>,
    pub agains: Vec<Given<()>>,
    /// Moments of the sample, each where a step first marks it.
    pub moments: Vec<Given<()>>,
    /// Names under which readings and results are shared.
    pub shared: Vec<Given<()>>,
}

/// A place a number may be taken from: any may be seen, values only up to some.
pub(super) struct View<'s> {
    pub scope: &'s Scope,
    /// Values before this one may be used.
    pub values_before: usize,
}

/// Whether a name can be used, and why not.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Standing {
    /// Nobody gave it.
    Unknown,
    /// Its own definition has a fault, which was reported there.
    Broken,
    /// A value defined further down, or the one being defined.
    Later,
    /// It can be used.
    Sound,
}

impl Scope {
    /// The name for expressions, if it was given. It counts as used from now on.
    pub fn name(&self, name: &str) -> Option<What> {
        let given = self.names.iter().find(|given| given.id == name)?;
        given.used.set(true);
        Some(given.what)
    }

    pub fn step(&self, name: &str) -> Option<StepId> {
        self.steps.iter().position(|step| step.id == name).map(|at| StepId(at as u16))
    }

    pub fn again(&self, name: &str) -> Option<AgainId> {
        let at = self.agains.iter().position(|again| again.id == name)?;
        self.agains[at].used.set(true);
        Some(AgainId(at as u16))
    }

    pub fn reading(&self, id: ReadingId) -> Option<&Reading> {
        self.readings.get(id.0 as usize)?.as_ref()
    }

    /// The names of one kind.
    pub fn names_of(&self, kind: impl Fn(What) -> bool) -> Vec<&str> {
        self.names.iter().filter(|given| kind(given.what)).map(|given| given.id.as_str()).collect()
    }

    /// The name a reading was given, with its place.
    pub fn given(&self, what: What) -> Option<&Given<What>> {
        self.names.iter().find(|given| given.what == what)
    }
}

impl View<'_> {
    pub fn standing(&self, name: &str) -> Standing {
        let Some(given) = self.scope.names.iter().find(|given| given.id == name) else {
            return Standing::Unknown;
        };
        match given.what {
            What::Value(id) if id as usize >= self.values_before => Standing::Later,
            _ if self.meaning(given.what).is_none() => Standing::Broken,
            _ => Standing::Sound,
        }
    }

    fn meaning(&self, what: What) -> Option<Named> {
        let scope = self.scope;
        Some(match what {
            What::Figure(id) => Named::Figure(scope.figures.get(id as usize)?.as_ref()?.figure.is.clone()),
            What::Reading(id) => {
                let id = ReadingId(id);
                match &scope.reading(id)?.kind {
                    ReadingKind::Number(scale) => Named::Number { id, unit: scale.unit },
                    ReadingKind::Tally { unit, .. } => Named::Tally { id, unit: *unit },
                    ReadingKind::Choice(choices) => {
                        Named::Choice { id, answers: choices.iter().map(|choice| choice.id.clone()).collect() }
                    }
                    ReadingKind::Words => Named::Words { id },
                }
            }
            What::Table(id) => {
                let table = scope.tables.get(id as usize)?.as_ref()?;
                Named::Table { id: TableId(id), input: table.input, output: table.output }
            }
            What::Value(id) => {
                if id as usize >= self.values_before {
                    return None;
                }
                Named::Value { id: ValueId(id), unit: scope.values.get(id as usize)?.unit? }
            }
        })
    }
}

impl Names for View<'_> {
    fn named(&self, name: &str) -> Option<Named> {
        self.scope.name(name).and_then(|what| self.meaning(what))
    }

    fn all(&self) -> Vec<String> {
        let visible = self.scope.names.iter().filter(|given| self.meaning(given.what).is_some());
        visible.map(|given| given.id.clone()).collect()
    }
}
