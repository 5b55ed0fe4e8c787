//! What rests on what in an edition: which readings feed a condition, and which values of a reading matter to it.
//!
//! Here: the conditions of an edition with what they rest on ([`Field`]), and a set of supposed readings they can be
//! asked about ([`Guess`]). Not here: finding values that make them so (`solve`).
//!
//! **Invariant:** a guess knows a reading only if some step that reads it is not left out, as a run does.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use engine::{Entry, Run};
use procedure::expr::{Datum, Expr, Facts, Op};
use procedure::{Consequence, Edition, ReadingId, ReadingKind, StepId, TableId, ValueId, Wants};
use quantity::{Decimal, Exact, Scale, Ties};

use super::perform::{datum, typical};
use crate::chance::Chance;

/// Something a condition rests on: a reading, what it was in the attempt before, the round, the attempt.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Var {
    Reading(ReadingId),
    Was(ReadingId),
    Round,
    Attempt,
}

pub(super) type Vars = BTreeSet<Var>;

/// What a condition should be.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Want {
    /// Known and true.
    True,
    /// Known and false.
    False,
    /// False or not known.
    NotTrue,
    /// True or not known.
    NotFalse,
}

/// A condition and what it should be.
#[derive(Clone, Debug)]
pub(super) struct Claim<'e> {
    pub expr: Cow<'e, Expr>,
    pub want: Want,
    /// It only counts if this step is done.
    pub at: Option<StepId>,
    /// How much it weighs against others.
    pub weight: u32,
    pub needs: Vars,
}

/// A goal weighs more than all else together.
pub(super) const GOAL: u32 = 100_000;
/// What refuses, ends or goes back.
pub(super) const HARD: u32 = 100;
/// What is noted.
pub(super) const SOFT: u32 = 1;

/// An edition with what rests on what.
pub(super) struct Field<'e> {
    pub edition: &'e Edition,
    /// The steps that read it, by reading.
    pub read_at: Vec<Vec<StepId>>,
    /// What the condition of a step rests on, by step.
    when_needs: Vec<Vars>,
    /// What decides whether a reading is taken, by reading.
    gates: Vec<Vars>,
    value_needs: Vec<Vars>,
    /// What should be so on a clean way.
    pub claims: Vec<Claim<'e>>,
    /// The claims that rest on a reading.
    pub claims_of: BTreeMap<Var, Vec<usize>>,
    /// Values of a reading at which something may change, in order.
    pub marks: Vec<Vec<Exact>>,
}

impl<'e> Field<'e> {
    pub(super) fn of(edition: &'e Edition) -> Self {
        let n = edition.readings.len();
        let mut field = Self {
            edition,
            read_at: vec![Vec::new(); n],
            when_needs: Vec::new(),
            gates: vec![Vars::new(); n],
            value_needs: Vec::new(),
            claims: Vec::new(),
            claims_of: BTreeMap::new(),
            marks: vec![Vec::new(); n],
        };
        for value in &edition.values {
            let needs = field.directly(&value.is);
            field.value_needs.push(needs);
        }
        for (at, step) in (0..).zip(&edition.steps) {
            let when = step.when.as_ref().map(|when| field.needs(when)).unwrap_or_default();
            for reading in reads(&step.wants) {
                field.read_at[usize::from(reading.0)].push(StepId(at));
                field.gates[usize::from(reading.0)].extend(when.iter().copied());
            }
            field.when_needs.push(when);
        }
        field.claim_all();
        for (at, claim) in field.claims.iter().enumerate() {
            for var in &claim.needs {
                field.claims_of.entry(*var).or_default().push(at);
            }
        }
        field.mark_all();
        field
    }

    /// What an expression rests on, what decides whether that is read included.
    pub(super) fn needs(&self, expr: &Expr) -> Vars {
        let mut needs = self.directly(expr);
        for var in needs.clone() {
            if let Var::Reading(id) = var {
                needs.extend(self.gates[usize::from(id.0)].iter().copied());
            }
        }
        needs
    }

    /// The readings an expression uses, by way of derived values too.
    pub(super) fn directly(&self, expr: &Expr) -> Vars {
        let mut vars = Vars::new();
        let mut open = vec![expr];
        while let Some(expr) = open.pop() {
            match expr {
                Expr::Reading(id) | Expr::Sum(id) | Expr::Known(id) => {
                    vars.insert(Var::Reading(*id));
                }
                Expr::Was(id) => {
                    vars.insert(Var::Was(*id));
                }
                Expr::Round => {
                    vars.insert(Var::Round);
                }
                Expr::Attempt => {
                    vars.insert(Var::Attempt);
                }
                Expr::Value(id) => vars.extend(self.value_needs.get(usize::from(id.0)).into_iter().flatten().copied()),
                _ => {}
            }
            open.extend(parts(expr));
        }
        vars
    }

    pub(super) fn claim(&self, expr: Cow<'e, Expr>, want: Want, at: Option<StepId>, weight: u32) -> Claim<'e> {
        let mut needs = self.needs(&expr);
        if let Some(at) = at {
            needs.extend(self.when_needs[usize::from(at.0)].iter().copied());
        }
        Claim { expr, want, at, weight, needs }
    }

    fn claim_all(&mut self) {
        let edition = self.edition;
        let mut claims = Vec::new();
        for (at, step) in (0..).map(StepId).zip(&edition.steps) {
            for need in &step.needs {
                claims.push(self.claim(Cow::Borrowed(&need.that), Want::True, Some(at), HARD));
            }
            for rule in &step.rules {
                let weight = if matches!(rule.then, Consequence::Finding(_)) { SOFT } else { HARD };
                claims.push(self.claim(Cow::Borrowed(&rule.when), Want::NotTrue, Some(at), weight));
            }
        }
        for rule in edition.results.iter().flat_map(|spec| &spec.rules) {
            claims.push(self.claim(Cow::Borrowed(&rule.when), Want::NotTrue, None, SOFT));
        }
        self.claims = claims;
    }

    /// Every expression of the edition that something follows from.
    fn exprs(&self) -> Vec<&'e Expr> {
        let edition = self.edition;
        let of_steps = edition.steps.iter().flat_map(|step| {
            let rules = step.rules.iter().map(|rule| &rule.when);
            step.when.iter().chain(step.needs.iter().map(|need| &need.that)).chain(rules)
        });
        let of_results =
            edition.results.iter().flat_map(|spec| spec.when.iter().chain(spec.rules.iter().map(|rule| &rule.when)));
        let of_stages = edition.stages.iter().filter_map(|stage| match &stage.repeat {
            Some(procedure::Repeat::Times(times)) => Some(&times.times),
            _ => None,
        });
        let of_agains = edition.agains.iter().filter_map(|again| again.change.as_ref().map(|change| &change.require));
        of_steps.chain(of_results).chain(of_stages).chain(of_agains).collect()
    }

    fn mark_all(&mut self) {
        let n = self.edition.readings.len();
        let mut marks: Vec<BTreeSet<Exact>> = vec![BTreeSet::new(); n];
        let exprs = self.exprs();
        let values = self.edition.values.iter().map(|value| &value.is);
        for expr in exprs.into_iter().chain(values) {
            let mut constants = Vec::new();
            self.constants(expr, &mut BTreeSet::new(), &mut constants);
            for var in self.directly(expr) {
                let Var::Reading(id) = var else { continue };
                let ReadingKind::Number(scale) = &self.edition.reading(id).kind else { continue };
                for constant in &constants {
                    marks[usize::from(id.0)].extend(around(scale, constant));
                }
            }
        }
        for (reading, marks) in self.edition.readings.iter().zip(&mut marks) {
            let ReadingKind::Number(scale) = &reading.kind else { continue };
            marks.extend([Exact::from(scale.min), Exact::from(scale.max)]);
            if let Some((low, high)) = typical(reading) {
                marks.extend([Exact::from(low), Exact::from(high)]);
            }
        }
        self.marks = marks.into_iter().map(|marks| marks.into_iter().collect()).collect();
    }

    /// The numbers that stand in an expression, in the values it uses and in its tables.
    fn constants(&self, expr: &Expr, seen: &mut BTreeSet<ValueId>, out: &mut Vec<Exact>) {
        let mut open = vec![expr];
        while let Some(expr) = open.pop() {
            match expr {
                Expr::Number(value) => out.push(value.clone()),
                Expr::Table(id, _) => {
                    out.extend(self.edition.tables[usize::from(id.0)].rows.iter().map(|(x, _)| x.clone()));
                }
                Expr::Value(id) if seen.insert(*id) => open.push(&self.edition.values[usize::from(id.0)].is),
                _ => {}
            }
            open.extend(parts(expr));
        }
    }
}

/// The marks at and on both sides of a number, as far as they are on the scale.
fn around(scale: &Scale, number: &Exact) -> Vec<Exact> {
    let step = Exact::from(scale.step);
    let at = number.rounded_to(&step, Ties::Even);
    let all = [&at - &step, at.clone(), &at + &step];
    all.into_iter().filter(|mark| scale.check(mark).is_ok()).collect()
}

/// The readings a step takes.
pub(super) fn reads(wants: &Wants) -> Vec<ReadingId> {
    match wants {
        Wants::Read(reading) => vec![*reading],
        Wants::Settle(settle) => std::iter::once(settle.reading).chain(settle.also.iter().copied()).collect(),
        _ => Vec::new(),
    }
}

/// The expressions directly inside of one.
pub(super) fn parts(expr: &Expr) -> Vec<&Expr> {
    match expr {
        Expr::Table(_, x) | Expr::Negative(x) | Expr::Not(x) | Expr::Abs(x) | Expr::Sqrt(x) => vec![x],
        Expr::Two(_, a, b) => vec![a, b],
        Expr::If(c, a, b) => vec![c, a, b],
        _ => Vec::new(),
    }
}

/// Supposed readings of one attempt.
#[derive(Clone)]
pub(super) struct Guess<'f> {
    field: &'f Field<'f>,
    pub values: Vec<Entry>,
    pub was: Vec<Option<Entry>>,
    present: Vec<bool>,
    /// Readings that were taken in this attempt already, whatever is left out.
    carried: Vec<bool>,
    /// How often one is added to each tally.
    pub adds: u32,
    pub round: u32,
    pub attempt: u32,
}

impl<'f> Guess<'f> {
    /// Usual values, varied by `chance`; with `wild` any of those that matter.
    pub(super) fn usual(field: &'f Field<'f>, chance: &mut Chance, wild: bool) -> Self {
        let edition = field.edition;
        let values = edition.readings.iter().enumerate().map(|(at, reading)| match &reading.kind {
            ReadingKind::Number(scale) => {
                let any = if wild { chance.one_of(&field.marks[at]).cloned() } else { None };
                let mark = any.or_else(|| {
                    let (low, high) = typical(reading)?;
                    let step = Exact::from(scale.step);
                    let n = (&Exact::from(high) - &Exact::from(low)).checked_div(&step)?.to_u64()?;
                    let k = i64::try_from(chance.below(n.saturating_add(1))).ok()?;
                    Some(&Exact::from(low) + &(&step * &Exact::from_int(k)))
                });
                Entry::Number(mark.and_then(|mark| scale.check(&mark).ok()).unwrap_or(scale.min))
            }
            ReadingKind::Choice(choices) if wild => {
                Entry::Choice(u16::try_from(chance.below(choices.len() as u64)).unwrap_or(0))
            }
            ReadingKind::Choice(_) => Entry::Choice(0),
            ReadingKind::Words => Entry::Words("practice".to_owned()),
            ReadingKind::Tally { .. } => Entry::One,
        });
        let n = edition.readings.len();
        let mut guess = Self {
            field,
            values: values.collect(),
            was: vec![None; n],
            present: vec![false; n],
            carried: vec![false; n],
            adds: 0,
            round: 1,
            attempt: 1,
        };
        guess.settle();
        guess
    }

    /// Takes over what a run knows: readings of this attempt, and of the one before.
    pub(super) fn learn(&mut self, run: &Run) {
        self.attempt = u32::from(run.attempt());
        for taken in run.taken_now() {
            let at = usize::from(taken.reading.0);
            self.values[at] = taken.entry.clone();
            self.carried[at] = true;
        }
        for was in &mut self.was {
            *was = None;
        }
        for taken in run.taken().iter().filter(|taken| taken.attempt + 1 == run.attempt()) {
            self.was[usize::from(taken.reading.0)] = Some(taken.entry.clone());
        }
        self.settle();
    }

    /// Supposes that something is so.
    pub(super) fn set(&mut self, var: Var, entry: Entry) {
        match var {
            Var::Reading(id) => {
                self.values[usize::from(id.0)] = entry;
                let is_gate = self.field.when_needs.iter().any(|needs| needs.contains(&var));
                if is_gate {
                    self.settle();
                }
            }
            Var::Was(id) => self.was[usize::from(id.0)] = Some(entry),
            Var::Round | Var::Attempt => {}
        }
    }

    pub(super) fn get(&self, var: Var) -> Option<&Entry> {
        match var {
            Var::Reading(id) => self.values.get(usize::from(id.0)),
            Var::Was(id) => self.was.get(usize::from(id.0))?.as_ref(),
            Var::Round | Var::Attempt => None,
        }
    }

    /// Works out which readings are taken, step after step.
    pub(super) fn settle(&mut self) {
        let field = self.field;
        self.present.clone_from(&self.carried);
        for step in &field.edition.steps {
            let reads = reads(&step.wants);
            // A condition on the round holds in one round or another.
            let by_round = |needs: &Vars| needs.contains(&Var::Round);
            let at = usize::from(reads.first().map_or(u16::MAX, |reading| reading.0));
            if reads.is_empty() || self.present.get(at) == Some(&true) {
                continue;
            }
            let is_done = step
                .when
                .as_ref()
                .is_none_or(|when| by_round(&field.directly(when)) || when.eval(self) != Datum::Truth(false));
            for reading in reads {
                self.present[usize::from(reading.0)] |= is_done;
            }
        }
    }

    /// Whether a claim holds.
    pub(super) fn keeps(&self, claim: &Claim<'_>) -> bool {
        if let Some(at) = claim.at
            && let Some(when) = &self.field.edition.step(at).when
            && when.eval(self) == Datum::Truth(false)
        {
            return true;
        }
        let datum = claim.expr.eval(self);
        match claim.want {
            Want::True => datum == Datum::Truth(true),
            Want::False => datum == Datum::Truth(false),
            Want::NotTrue => datum != Datum::Truth(true),
            Want::NotFalse => datum != Datum::Truth(false),
        }
    }

    /// How far an expression is from being `want`: 0 if it is, 1 and more for every part that is not, with a share
    /// that says how far off numbers are.
    pub(super) fn distance(&self, expr: &Expr, want: bool) -> Exact {
        if expr.eval(self) == Datum::Truth(want) {
            return Exact::zero();
        }
        match expr {
            Expr::Not(x) => self.distance(x, !want),
            Expr::Two(Op::And | Op::Or, a, b) => {
                let both = matches!(expr, Expr::Two(Op::And, ..)) == want;
                let (a, b) = (self.distance(a, want), self.distance(b, want));
                if both { &a + &b } else { a.min(b) }
            }
            Expr::If(c, a, b) => match c.eval(self) {
                Datum::Truth(true) => self.distance(a, want),
                Datum::Truth(false) => self.distance(b, want),
                _ => &self.distance(c, true) + &self.distance(a, want),
            },
            Expr::Two(op, a, b) if is_comparison(*op) => match (a.eval(self), b.eval(self)) {
                (Datum::Number(a), Datum::Number(b)) => {
                    let off = (&a - &b).abs();
                    let share = off.checked_div(&(&off + &Exact::one())).unwrap_or_else(Exact::zero);
                    &Exact::one() + &share
                }
                (Datum::Unknown, _) | (_, Datum::Unknown) => Exact::from_int(3),
                _ => Exact::one(),
            },
            _ => Exact::from_int(2),
        }
    }
}

pub(super) fn is_comparison(op: Op) -> bool {
    matches!(op, Op::Less | Op::AtMost | Op::More | Op::AtLeast | Op::Equal | Op::NotEqual)
}

impl Facts for Guess<'_> {
    fn reading(&self, id: ReadingId) -> Datum {
        let at = usize::from(id.0);
        let is_known = match self.field.edition.readings[at].kind {
            ReadingKind::Tally { .. } => self.adds > 0,
            _ => self.present[at],
        };
        if is_known { datum(self.values.get(at)) } else { Datum::Unknown }
    }
    fn was(&self, id: ReadingId) -> Datum {
        datum(self.was[usize::from(id.0)].as_ref())
    }
    fn sum(&self, id: ReadingId) -> Exact {
        let at = usize::from(id.0);
        match (&self.field.edition.readings[at].kind, &self.values[at]) {
            (ReadingKind::Tally { .. }, _) => Exact::from_int(i64::from(self.adds)),
            (_, Entry::Number(value)) if self.present[at] => Exact::from(*value),
            _ => Exact::zero(),
        }
    }
    fn round(&self) -> u32 {
        self.round
    }
    fn attempt(&self) -> u32 {
        self.attempt
    }
    fn formula(&self, id: ValueId) -> &Expr {
        &self.field.edition.values[usize::from(id.0)].is
    }
    fn table(&self, id: TableId, at: &Exact) -> Option<Exact> {
        self.field.edition.tables[usize::from(id.0)].at(at)
    }
}

/// A number as it is entered.
pub(super) fn entry(scale: &Scale, mark: &Exact) -> Option<Entry> {
    scale.check(mark).ok().map(Entry::Number)
}

/// How many hundredths of its range a value lies from what is usual.
pub(super) fn off_usual(reading: &procedure::Reading, entry: &Entry) -> Exact {
    let (ReadingKind::Number(scale), Entry::Number(value), Some((low, high))) =
        (&reading.kind, entry, typical(reading))
    else {
        return Exact::zero();
    };
    let off = if *value < low {
        low.checked_sub(*value)
    } else if *value > high {
        value.checked_sub(high)
    } else {
        Some(Decimal::ZERO)
    };
    let span = scale.max.checked_sub(scale.min).map_or_else(Exact::one, Exact::from);
    let off = off.map_or_else(Exact::zero, Exact::from);
    off.checked_div(&span).unwrap_or_else(Exact::zero)
}
