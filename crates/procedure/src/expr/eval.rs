//! What a compiled expression gives.
//!
//! Arithmetic is exact and truths have three values. Nothing fails here: a divisor that turns out zero, the root of a
//! number below zero and a table that states nothing are *unknown*, like a reading nobody has taken.
//!
//! **Invariant:** the stack used does not grow with the number of derived values. Each uses only those before it, so
//! they are worked out in their order and remembered, never one from inside the other.

use super::{Datum, Expr, Facts, Op};
use crate::model::ValueId;
use quantity::Exact;
use std::collections::{BTreeMap, BTreeSet};

impl Expr {
    /// What the expression gives on what is known of a run.
    ///
    /// `and`, `or` and `not` are Kleene's: `unknown and false` is false, `unknown and true` is unknown. Everything
    /// else that rests on something unknown is unknown, `if` with an unknown condition included.
    pub fn eval<F: Facts + ?Sized>(&self, facts: &F) -> Datum {
        Evaluation { facts, values: BTreeMap::new(), in_order: false }.of(self)
    }

    /// The expressions directly inside this one.
    fn parts(&self) -> impl Iterator<Item = &Expr> {
        let parts: [Option<&Expr>; 3] = match self {
            Expr::Number(_)
            | Expr::Truth(_)
            | Expr::Choice(_)
            | Expr::Reading(_)
            | Expr::Was(_)
            | Expr::Sum(_)
            | Expr::Known(_)
            | Expr::Round
            | Expr::Attempt
            | Expr::Value(_) => [None, None, None],
            Expr::Table(_, x) | Expr::Negative(x) | Expr::Not(x) | Expr::Abs(x) | Expr::Sqrt(x) => {
                [Some(x), None, None]
            }
            Expr::Two(_, a, b) => [Some(a), Some(b), None],
            Expr::If(c, a, b) => [Some(c), Some(a), Some(b)],
        };
        parts.into_iter().flatten()
    }
}

struct Evaluation<'f, F: ?Sized> {
    facts: &'f F,
    /// Derived values worked out so far.
    values: BTreeMap<ValueId, Datum>,
    /// True while values are worked out one after the other: what is used by then has its turn behind it.
    in_order: bool,
}

impl<F: Facts + ?Sized> Evaluation<'_, F> {
    fn of(&mut self, expr: &Expr) -> Datum {
        match expr {
            Expr::Number(value) => Datum::Number(value.clone()),
            Expr::Truth(truth) => Datum::Truth(*truth),
            Expr::Choice(answer) => Datum::Choice(*answer),
            Expr::Reading(id) => self.facts.reading(*id),
            Expr::Was(id) => self.facts.was(*id),
            Expr::Sum(id) => Datum::Number(self.facts.sum(*id)),
            Expr::Known(id) => Datum::Truth(self.facts.reading(*id) != Datum::Unknown),
            Expr::Round => Datum::Number(Exact::from(i64::from(self.facts.round()))),
            Expr::Attempt => Datum::Number(Exact::from(i64::from(self.facts.attempt()))),
            Expr::Value(id) => self.value(*id),
            Expr::Table(id, at) => match self.of(at) {
                Datum::Number(at) => self.facts.table(*id, &at).map_or(Datum::Unknown, Datum::Number),
                _ => Datum::Unknown,
            },
            Expr::Negative(x) => match self.of(x) {
                Datum::Number(value) => Datum::Number(-&value),
                _ => Datum::Unknown,
            },
            Expr::Abs(x) => match self.of(x) {
                Datum::Number(value) => Datum::Number(value.abs()),
                _ => Datum::Unknown,
            },
            Expr::Sqrt(x) => match self.of(x) {
                Datum::Number(value) => value.sqrt().map_or(Datum::Unknown, Datum::Number),
                _ => Datum::Unknown,
            },
            Expr::Not(x) => match self.of(x) {
                Datum::Truth(truth) => Datum::Truth(!truth),
                _ => Datum::Unknown,
            },
            Expr::Two(op, left, right) => self.two(*op, left, right),
            Expr::If(condition, then, otherwise) => match self.of(condition) {
                Datum::Truth(true) => self.of(then),
                Datum::Truth(false) => self.of(otherwise),
                _ => Datum::Unknown,
            },
        }
    }

    fn two(&mut self, op: Op, left: &Expr, right: &Expr) -> Datum {
        let left = self.of(left);
        // One side settles it, whatever the other turns out to be.
        let settles = match op {
            Op::And => Some(Datum::Truth(false)),
            Op::Or => Some(Datum::Truth(true)),
            _ => None,
        };
        if let Some(settled) = settles {
            if left == settled {
                return settled;
            }
            let right = self.of(right);
            return match (left, right) {
                (_, right) if right == settled => settled,
                (Datum::Truth(_), Datum::Truth(truth)) => Datum::Truth(truth),
                _ => Datum::Unknown,
            };
        }
        if left == Datum::Unknown {
            return Datum::Unknown;
        }
        match (left, self.of(right)) {
            (Datum::Number(a), Datum::Number(b)) => numbers(op, a, b),
            (Datum::Truth(a), Datum::Truth(b)) => alike(op, a == b),
            (Datum::Choice(a), Datum::Choice(b)) => alike(op, a == b),
            _ => Datum::Unknown,
        }
    }

    fn value(&mut self, id: ValueId) -> Datum {
        if let Some(known) = self.values.get(&id) {
            return known.clone();
        }
        if self.in_order {
            return Datum::Unknown;
        }
        let mut wanted = BTreeSet::from([id]);
        let mut open = vec![id];
        while let Some(of) = open.pop() {
            let mut parts = vec![self.facts.formula(of)];
            while let Some(part) = parts.pop() {
                // A value only uses those before it; one that does not is left unknown: it must not go round for ever.
                if let Expr::Value(used) = part
                    && *used < of
                    && wanted.insert(*used)
                {
                    open.push(*used);
                }
                parts.extend(part.parts());
            }
        }
        self.in_order = true;
        for id in wanted {
            if !self.values.contains_key(&id) {
                let facts = self.facts;
                let datum = self.of(facts.formula(id));
                self.values.insert(id, datum);
            }
        }
        self.in_order = false;
        self.values.get(&id).cloned().unwrap_or(Datum::Unknown)
    }
}

fn numbers(op: Op, a: Exact, b: Exact) -> Datum {
    match op {
        Op::Add => Datum::Number(&a + &b),
        Op::Subtract => Datum::Number(&a - &b),
        Op::Multiply => Datum::Number(&a * &b),
        Op::Divide => a.checked_div(&b).map_or(Datum::Unknown, Datum::Number),
        Op::Less => Datum::Truth(a < b),
        Op::AtMost => Datum::Truth(a <= b),
        Op::More => Datum::Truth(a > b),
        Op::AtLeast => Datum::Truth(a >= b),
        Op::Equal => Datum::Truth(a == b),
        Op::NotEqual => Datum::Truth(a != b),
        Op::Min => Datum::Number(a.min(b)),
        Op::Max => Datum::Number(a.max(b)),
        Op::And | Op::Or => Datum::Unknown,
    }
}

fn alike(op: Op, same: bool) -> Datum {
    match op {
        Op::Equal => Datum::Truth(same),
        Op::NotEqual => Datum::Truth(!same),
        _ => Datum::Unknown,
    }
}
