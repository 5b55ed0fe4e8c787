//! What can be shown about a procedure without running it: which values a formula can take, and what is never read.
//!
//! Here: the interval of an expression from the ranges of its readings, table lookups outside of the rows, readings a
//! result needs and nobody takes. Not here: walking through all ways of a procedure.
//!
//! **Invariant:** an interval holds every value the expression can take; where that cannot be shown there is none.

use std::ops::Range;

use quantity::Exact;

use super::fields::Reader;
use super::scope::{Scope, What};
use crate::diagnose::Diagnostic;
use crate::expr::{Expr, Op};
use crate::model::{Add, Between, Beyond, Edition, ReadingId, ReadingKind, Repeat, Step, Table, TableId, Wants};

/// The lowest and the highest value, included.
type Interval = (Exact, Exact);

/// What a condition above says about readings.
type Known = Vec<(ReadingId, Interval)>;

/// More marks than this are not looked at one by one.
const MOST_MARKS: usize = 2_000;

impl Reader<'_> {
    /// Reports every lookup in the formula of value `at` that can fall outside of the table.
    pub fn lookups(&mut self, is: &Expr, source: &str, is_at: Range<usize>) {
        let mut found = Vec::new();
        walk(&self.scope, is, &Vec::new(), &mut found);
        for (table, argument, known) in found {
            let name = self.scope.given(What::Table(table.0)).map(|given| given.id.clone()).unwrap_or_default();
            let place = call(source, &name).map(|call| self.inside(&is_at, source, call));
            self.lookup(table, &argument, &known, place.unwrap_or_else(|| is_at.clone()));
        }
    }

    fn lookup(&mut self, id: TableId, argument: &Expr, known: &Known, is_at: Range<usize>) {
        let Some(table) = self.scope.tables.get(id.0 as usize).and_then(Option::as_ref) else { return };
        let strict =
            table.below == Beyond::Refuse || table.beyond == Beyond::Refuse || table.between == Between::Refuse;
        let (Some(first), Some(last)) = (table.rows.first(), table.rows.last()) else { return };
        if !strict {
            return;
        }
        let reading = match argument {
            Expr::Reading(reading) => self.scope.reading(*reading),
            _ => None,
        };
        let unit = if table.input.symbol().is_empty() { String::new() } else { format!(" {}", table.input) };
        let table_at = self.scope.given(What::Table(id.0)).map_or(is_at.clone(), |given| given.at.clone());
        let Some((low, high)) = interval(&self.scope, argument, known) else {
            let fault = Diagnostic::warning(
                "table-reach",
                format!("it cannot be shown that `{}` has a row for every case", table.id),
            )
            .at(is_at, "what is looked up here may lie outside of the table")
            .also(table_at, format!("its rows run from {} to {}{unit}", first.0, last.0))
            .help("look up a reading whose range lies within the rows, or write below and beyond = \"hold\"");
            self.push(fault);
            return;
        };
        let outside = if table.beyond == Beyond::Refuse && high > last.0 {
            Some(("beyond its last row", "end", &high, &last.0))
        } else if table.below == Beyond::Refuse && low < first.0 {
            Some(("below its first row", "begin", &low, &first.0))
        } else {
            None
        };
        if let Some((where_to, ends, value, row)) = outside {
            let title = format!("`{}` can be asked {where_to}, which is for {row}{unit}", table.id);
            let label = match reading {
                Some(reading) => format!("here `{}` can be {value}{unit}", reading.id),
                None => format!("what is looked up here can come to {value}{unit}"),
            };
            let fault = match reading {
                Some(reading) => {
                    let name = reading.id.clone();
                    let fault = Diagnostic::error("table-reach", title)
                        .at(is_at, label)
                        .also(table_at, "the table gives nothing there");
                    let fault = self.pointing_at(fault, &name, "the range of this reading decides");
                    let (sign, otherwise) = if value == &high { ("<=", "more") } else { (">=", "less") };
                    fault
                        .help(format!("let the range of `{name}` {ends} at {row}, if {otherwise} is never right"))
                        .help(format!(
                            "or look it up only where it has a row: if {name} {sign} {row}{unit} then … else …"
                        ))
                }
                None => Diagnostic::warning("table-reach", title)
                    .at(is_at, label)
                    .also(table_at, "the table gives nothing there")
                    .help("make sure that this cannot happen, or write below or beyond = \"hold\""),
            };
            self.push(fault);
            return;
        }
        if table.between == Between::Refuse
            && let Some(missing) = between_rows(table, reading.map(|reading| &reading.kind), &low, &high)
        {
            let title = match &missing {
                Some(mark) => format!("`{}` has no row for {mark}{unit}, which can be read", table.id),
                None => format!("it cannot be shown that `{}` has a row for every case", table.id),
            };
            let fault = if missing.is_some() {
                Diagnostic::error("table-reach", title)
            } else {
                Diagnostic::warning("table-reach", title)
            };
            let fault = fault
                .at(is_at, "what is looked up here may lie between two rows")
                .also(table_at, "between its rows the table gives nothing")
                .help("add the missing rows, or say what holds between two: between = \"interpolate\", \"row-below\" or \"row-above\"");
            self.push(fault);
        }
    }

    /// Readings that formulas ask for and nobody takes, or not in every case.
    pub fn never_read(&mut self, edition: &Edition, asked: &[ReadingId]) {
        let mut always = vec![false; self.scope.readings.len()];
        let mut sometimes: Vec<Option<usize>> = vec![None; self.scope.readings.len()];
        for (at, step) in edition.steps.iter().enumerate() {
            for reading in reads(step) {
                let reading = reading.0 as usize;
                if never_left_out(step) {
                    always[reading] = true;
                } else {
                    sometimes[reading] = Some(at);
                }
            }
        }
        for id in asked {
            let at = id.0 as usize;
            let Some(given) = self.scope.given(What::Reading(id.0)).filter(|_| !always[at] && sometimes[at].is_none())
            else {
                continue;
            };
            let name = given.id.clone();
            let fault = Diagnostic::error("never-read", format!("`{name}` is used, but no step reads it"))
                .at(given.at.clone(), "this never gets a value")
                .help(format!("add a step that reads it: read = \"{name}\""));
            self.push(fault);
        }
        let formulas: Vec<&Expr> = edition.values.iter().map(|value| &value.is).collect();
        for result in edition.results.iter().filter(|result| result.when.is_none()) {
            let mut needed = Vec::new();
            needs(&formulas, &Expr::Value(result.value), &mut Vec::new(), &mut needed);
            let result = edition.values.get(result.value.0 as usize).map(|value| value.id.clone()).unwrap_or_default();
            for id in needed {
                let reading = id.0 as usize;
                let (false, Some(step)) = (always[reading], sometimes[reading]) else { continue };
                self.left_out(&format!("the result `{result}`"), id, step, &edition.steps[step], |fault, name| {
                    fault
                        .help("read it in a step without `when`")
                        .help(format!("or say what holds without it: if known({name}) then … else …"))
                        .help("or report the result only where it makes sense: `when` under the result")
                });
            }
        }
        for stage in &edition.stages {
            let Some(Repeat::Times(times)) = &stage.repeat else { continue };
            let mut needed = Vec::new();
            needs(&formulas, &times.times, &mut Vec::new(), &mut needed);
            for id in needed {
                let reads_it = |step: &&Step| reads(step).contains(&id);
                let steps = &edition.steps[..stage.end.0 as usize];
                if steps.iter().any(|step| reads_it(&step) && never_left_out(step)) {
                    continue;
                }
                let late = edition.steps.iter().position(|step| reads_it(&step));
                let Some(step) = steps.iter().position(|step| reads_it(&step)).or(late) else { continue };
                let what = format!("`times` of the stage `{}`", stage.id);
                self.left_out(&what, id, step, &edition.steps[step], |fault, _| {
                    fault.help("read it in a step without `when`, in this stage or before it")
                });
            }
        }
    }

    /// Something needs a reading that its step does not take in every case, or not in time.
    fn left_out(
        &mut self,
        what: &str,
        id: ReadingId,
        at: usize,
        step: &Step,
        help: impl Fn(Diagnostic, &str) -> Diagnostic,
    ) {
        let (says, label) = if step.when.is_some() {
            ("is not read in every case", "this step reads it, and `when` can leave the step out")
        } else if step.moment.is_some() {
            ("is not read in every case", "this step reads it, and is left out when another run has marked its moment")
        } else {
            ("is read too late for that", "this step reads it, after the stage is over")
        };
        let (Some(given), Some(step)) = (self.scope.given(What::Reading(id.0)), self.scope.steps.get(at)) else {
            return;
        };
        let name = given.id.clone();
        let fault = Diagnostic::error("never-read", format!("{what} needs `{name}`, which {says}"))
            .at(step.at.clone(), label)
            .also(given.at.clone(), "the reading");
        self.push(help(fault, &name));
    }
}

/// Whether a step is done in every attempt that comes past it.
fn never_left_out(step: &Step) -> bool {
    step.when.is_none() && step.moment.is_none()
}

/// Where a table is looked up, if that stands in the text once.
fn call(source: &str, table: &str) -> Option<Range<usize>> {
    let opens = format!("{table}(");
    let start = source.find(&opens)?;
    if source[start + opens.len()..].contains(&opens) {
        return None;
    }
    let mut depth = 0_usize;
    for (at, sign) in source[start..].char_indices() {
        match sign {
            '(' => depth += 1,
            ')' if depth == 1 => return Some(start..start + at + 1),
            ')' => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    None
}

/// What a step reads.
pub(super) fn reads(step: &Step) -> Vec<ReadingId> {
    let mut found = match &step.wants {
        Wants::Read(reading) => vec![*reading],
        Wants::Settle(settle) => std::iter::once(settle.reading).chain(settle.also.iter().copied()).collect(),
        _ => Vec::new(),
    };
    found.extend(step.add.iter().map(|Add { reading, .. }| *reading));
    found
}

/// Every table lookup in an expression, with what the conditions around it say.
fn walk(scope: &Scope, expr: &Expr, known: &Known, found: &mut Vec<(TableId, Expr, Known)>) {
    match expr {
        Expr::Table(table, argument) => {
            found.push((*table, (**argument).clone(), known.clone()));
            walk(scope, argument, known, found);
        }
        Expr::Negative(inner) | Expr::Not(inner) | Expr::Abs(inner) | Expr::Sqrt(inner) => {
            walk(scope, inner, known, found);
        }
        Expr::Two(_, left, right) => {
            walk(scope, left, known, found);
            walk(scope, right, known, found);
        }
        Expr::If(condition, then, otherwise) => {
            walk(scope, condition, known, found);
            if let Some(inside) = narrowed(scope, condition, true, known) {
                walk(scope, then, &inside, found);
            }
            if let Some(inside) = narrowed(scope, condition, false, known) {
                walk(scope, otherwise, &inside, found);
            }
        }
        _ => {}
    }
}

/// What is known where a condition holds (or does not); `None` where that can never be.
fn narrowed(scope: &Scope, condition: &Expr, holds: bool, known: &Known) -> Option<Known> {
    match condition {
        Expr::Not(inner) => narrowed(scope, inner, !holds, known),
        Expr::Two(Op::And, left, right) if holds => {
            let known = narrowed(scope, left, true, known)?;
            narrowed(scope, right, true, &known)
        }
        Expr::Two(Op::Or, left, right) if !holds => {
            let known = narrowed(scope, left, false, known)?;
            narrowed(scope, right, false, &known)
        }
        Expr::Two(op, left, right) => {
            let (reading, constant, op) = match (&**left, &**right) {
                (Expr::Reading(reading), Expr::Number(constant)) => (*reading, constant, *op),
                (Expr::Number(constant), Expr::Reading(reading)) => (*reading, constant, mirrored(*op)),
                _ => return Some(known.clone()),
            };
            let op = if holds { op } else { opposite(op) };
            let Some(ReadingKind::Number(scale)) = scope.reading(reading).map(|reading| &reading.kind) else {
                return Some(known.clone());
            };
            let Some((mut low, mut high)) = interval(scope, &Expr::Reading(reading), known) else {
                return Some(known.clone());
            };
            let step = Exact::from(scale.step);
            let on_mark = constant.is_multiple_of(&step);
            match op {
                Op::AtLeast => low = low.max(constant.clone()),
                Op::More => low = low.max(if on_mark { constant + &step } else { constant.clone() }),
                Op::AtMost => high = high.min(constant.clone()),
                Op::Less => high = high.min(if on_mark { constant - &step } else { constant.clone() }),
                Op::Equal => {
                    low = low.max(constant.clone());
                    high = high.min(constant.clone());
                }
                _ => {}
            }
            if low > high {
                return None;
            }
            let mut known: Known = known.iter().filter(|(other, _)| *other != reading).cloned().collect();
            known.push((reading, (low, high)));
            Some(known)
        }
        _ => Some(known.clone()),
    }
}

fn mirrored(op: Op) -> Op {
    match op {
        Op::Less => Op::More,
        Op::AtMost => Op::AtLeast,
        Op::More => Op::Less,
        Op::AtLeast => Op::AtMost,
        other => other,
    }
}

fn opposite(op: Op) -> Op {
    match op {
        Op::Less => Op::AtLeast,
        Op::AtMost => Op::More,
        Op::More => Op::AtMost,
        Op::AtLeast => Op::Less,
        Op::Equal => Op::NotEqual,
        Op::NotEqual => Op::Equal,
        other => other,
    }
}

/// Every value an expression can take lies in here.
fn interval(scope: &Scope, expr: &Expr, known: &Known) -> Option<Interval> {
    match expr {
        Expr::Number(value) => Some((value.clone(), value.clone())),
        Expr::Reading(id) => {
            if let Some((_, interval)) = known.iter().find(|(reading, _)| reading == id) {
                return Some(interval.clone());
            }
            full_range(scope, *id)
        }
        Expr::Was(id) => full_range(scope, *id),
        Expr::Sum(id) => match scope.reading(*id)?.kind {
            ReadingKind::Tally { at_most, .. } => Some((Exact::zero(), Exact::from_int(i64::from(at_most)))),
            _ => None,
        },
        Expr::Value(id) => interval(scope, scope.values.get(id.0 as usize)?.is.as_ref()?, known),
        Expr::Table(id, _) => {
            let table = scope.tables.get(id.0 as usize)?.as_ref()?;
            let low = table.rows.iter().map(|row| &row.1).min()?;
            let high = table.rows.iter().map(|row| &row.1).max()?;
            Some((low.clone(), high.clone()))
        }
        Expr::Negative(inner) => interval(scope, inner, known).map(|(low, high)| (-high, -low)),
        Expr::Abs(inner) => {
            let (low, high) = interval(scope, inner, known)?;
            let most = low.abs().max(high.abs());
            let least =
                if low.is_negative() && !high.is_negative() { Exact::zero() } else { low.abs().min(high.abs()) };
            Some((least, most))
        }
        Expr::Sqrt(inner) => {
            let (low, high) = interval(scope, inner, known)?;
            // A root that is not exact falls short of the true one, the lower end included.
            Some((low.sqrt()?, high.sqrt()?))
        }
        Expr::Two(op, left, right) => {
            let (low, high) = interval(scope, left, known)?;
            let (other_low, other_high) = interval(scope, right, known)?;
            let corners = |with: &dyn Fn(&Exact, &Exact) -> Option<Exact>| {
                let all = [(&low, &other_low), (&low, &other_high), (&high, &other_low), (&high, &other_high)];
                let all: Option<Vec<Exact>> = all.into_iter().map(|(left, right)| with(left, right)).collect();
                let all = all?;
                Some((all.iter().min()?.clone(), all.iter().max()?.clone()))
            };
            match op {
                Op::Add => Some((low + other_low, high + other_high)),
                Op::Subtract => Some((low - other_high, high - other_low)),
                Op::Min => Some((low.min(other_low), high.min(other_high))),
                Op::Max => Some((low.max(other_low), high.max(other_high))),
                Op::Multiply => corners(&|left, right| Some(left * right)),
                Op::Divide if !other_low.is_negative() && !other_low.is_zero() || other_high.is_negative() => {
                    corners(&|left, right| left.checked_div(right))
                }
                _ => None,
            }
        }
        Expr::If(condition, then, otherwise) => {
            let branch = |holds: bool, expr: &Expr| {
                narrowed(scope, condition, holds, known).map(|known| interval(scope, expr, &known))
            };
            match (branch(true, then), branch(false, otherwise)) {
                (Some(then), Some(otherwise)) => {
                    let ((low, high), (other_low, other_high)) = (then?, otherwise?);
                    Some((low.min(other_low), high.max(other_high)))
                }
                (Some(only), None) | (None, Some(only)) => only,
                (None, None) => None,
            }
        }
        _ => None,
    }
}

fn full_range(scope: &Scope, id: ReadingId) -> Option<Interval> {
    match &scope.reading(id)?.kind {
        ReadingKind::Number(scale) => Some((Exact::from(scale.min), Exact::from(scale.max))),
        ReadingKind::Tally { at_most, .. } => Some((Exact::zero(), Exact::from_int(i64::from(*at_most)))),
        _ => None,
    }
}

/// A mark between two rows (`Some(Some)`), or that it cannot be told (`Some(None)`).
fn between_rows(table: &Table, kind: Option<&ReadingKind>, low: &Exact, high: &Exact) -> Option<Option<Exact>> {
    if low == high {
        return (!table.rows.iter().any(|row| row.0 == *low)).then(|| Some(low.clone()));
    }
    let Some(ReadingKind::Number(scale)) = kind else { return Some(None) };
    let step = Exact::from(scale.step);
    let mut mark = Exact::from(scale.min);
    for _ in 0..MOST_MARKS {
        if mark > *high {
            return None;
        }
        let inside_rows =
            table.rows.first().is_some_and(|row| mark >= row.0) && table.rows.last().is_some_and(|row| mark <= row.0);
        if mark >= *low && inside_rows && !table.rows.iter().any(|row| row.0 == mark) {
            return Some(Some(mark));
        }
        mark = mark + &step;
    }
    Some(None)
}

/// The readings an expression cannot do without.
fn needs(values: &[&Expr], expr: &Expr, sure: &mut Vec<ReadingId>, needed: &mut Vec<ReadingId>) {
    match expr {
        Expr::Reading(id) if !sure.contains(id) && !needed.contains(id) => needed.push(*id),
        Expr::Value(id) => {
            if let Some(is) = values.get(id.0 as usize) {
                needs(values, is, sure, needed);
            }
        }
        Expr::Table(_, inner) | Expr::Negative(inner) | Expr::Not(inner) | Expr::Abs(inner) | Expr::Sqrt(inner) => {
            needs(values, inner, sure, needed);
        }
        Expr::Two(_, left, right) => {
            needs(values, left, sure, needed);
            needs(values, right, sure, needed);
        }
        Expr::If(condition, then, otherwise) => {
            needs(values, condition, sure, needed);
            let before = sure.len();
            sure_when(condition, true, sure);
            needs(values, then, sure, needed);
            sure.truncate(before);
            sure_when(condition, false, sure);
            needs(values, otherwise, sure, needed);
            sure.truncate(before);
        }
        _ => {}
    }
}

/// The readings that were taken wherever a condition holds (or does not).
fn sure_when(condition: &Expr, holds: bool, sure: &mut Vec<ReadingId>) {
    match condition {
        Expr::Known(id) if holds => sure.push(*id),
        Expr::Not(inner) => sure_when(inner, !holds, sure),
        Expr::Two(op @ (Op::And | Op::Or), left, right) if (*op == Op::And) == holds => {
            sure_when(left, holds, sure);
            sure_when(right, holds, sure);
        }
        _ => {}
    }
}
