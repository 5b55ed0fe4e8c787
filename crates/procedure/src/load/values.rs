//! Derived values and results.
//!
//! **Invariant:** a formula uses only values above it, so no chain of formulas can run in a circle; and a formula
//! stays small enough to be worked out at once.

use std::ops::Range;

use quantity::{Exact, Unit};

use super::consequences::{Place, RULE_KEYS};
use super::fields::{Fields, Reader, shown};
use super::measures::unit_words;
use super::scope::{Derived, What};
use super::tree::{Entry, Node};
use crate::diagnose::Diagnostic;
use crate::expr::{Expr, Want};
use crate::model::{ReadingId, ReadingKind, ResultSpec, Term, TermOf, Value, ValueId};

/// The most operations a formula may come to with all formulas it uses.
const LARGEST: u32 = 2_000;

impl Reader<'_> {
    /// All `[value.*]`, then all `[result.*]`.
    pub fn values_and_results(&mut self, root: &Fields) -> (Vec<Option<Value>>, Vec<Option<ResultSpec>>) {
        let values = self.named_tables(root, "value");
        let results = self.named_tables(root, "result");
        let is_result = |at: usize| at >= values.len();
        let entries: Vec<&Entry> = values.iter().copied().chain(results).collect();
        // Units first: so a fault in one formula does not spread to those that use it.
        for (at, entry) in entries.iter().enumerate() {
            self.give(entry, if is_result(at) { "a result" } else { "a value" }, What::Value(at as u16));
            if is_result(at) {
                // A result is there to be reported; nobody has to use it.
                self.scope.name(&entry.key);
            }
            self.scope.values.push(Derived { unit: None, is: None, result: is_result(at) });
        }
        let mut sizes = Vec::new();
        let mut derived = Vec::new();
        let mut specs = Vec::new();
        for (at, entry) in entries.iter().enumerate() {
            let keys: &[&str] = if is_result(at) {
                &["title", "is", "unit", "report", "terms", "when", "shared", "rule", "source"]
            } else {
                &["title", "is", "unit", "source"]
            };
            let what = if is_result(at) { "result" } else { "value" };
            let Some(fields) = self.fields(&entry.value, format!("{what} `{}`", shown(&entry.key)), keys) else {
                sizes.push(0);
                derived.push(None);
                continue;
            };
            let value = self.value(entry, &fields, at, &mut sizes);
            if is_result(at) {
                let unit = self.scope.values[at].unit;
                let spec = self.result(&fields, ValueId(at as u16), unit);
                specs.push(spec);
            }
            derived.push(value);
        }
        (derived, specs)
    }

    fn value(&mut self, entry: &Entry, fields: &Fields, at: usize, sizes: &mut Vec<u32>) -> Option<Value> {
        let title = self.need_plain(fields, "title", "title = \"Correction for the alcohol\"");
        let unit = fields.need(self, "unit", "unit = \"%\"").and_then(|node| self.unit(node, "unit"));
        let is = fields.need(self, "is", "is = \"level - correction\"");
        let cites =
            if self.scope.values[at].result { self.need_cites(fields, "source") } else { self.cites(fields, "source") };
        let want = unit.map_or(Want::Any, Want::Number);
        let compiled = is.and_then(|node| self.expression(node, "is", want, at));
        let size = compiled.as_ref().map_or(0, |compiled| size(&compiled.expr, sizes));
        sizes.push(size);
        self.scope.values[at].unit = unit;
        self.scope.values[at].is = compiled.as_ref().map(|compiled| compiled.expr.clone());
        let is_at = is.map_or(fields.at.clone(), |node| node.at.clone());
        if size > LARGEST {
            self.push(
                Diagnostic::error("too-large", format!("{} comes to more than {LARGEST} operations", fields.what))
                    .at(is_at, "counting all the formulas it uses")
                    .help("use fewer values that are built on one another"),
            );
            return None;
        }
        let is = compiled?.expr;
        let source =
            fields.get("is").and_then(|node| self.pick(node)).and_then(super::texts::as_text).unwrap_or_default();
        self.lookups(&is, source, is_at);
        Some(Value { id: entry.key.clone(), title: title.unwrap_or_default(), is, unit: unit?, cites })
    }

    fn result(&mut self, fields: &Fields, value: ValueId, unit: Option<Unit>) -> Option<ResultSpec> {
        let report = fields.need(self, "report", "report = { nearest = \"0.25\" }");
        let nearest = report.and_then(|node| {
            let report = self.fields(node, format!("`report` of {}", fields.what), &["nearest"])?;
            let node = report.need(self, "nearest", "nearest = \"0.25\"")?;
            let nearest = self.amount(node, "nearest", unit?)?;
            if nearest <= Exact::zero() {
                self.push(
                    Diagnostic::error("not-a-number", "a result is rounded to a number above zero")
                        .at(node.at.clone(), "not above zero")
                        .help("write the increment of the report, such as nearest = \"0.25\""),
                );
                return None;
            }
            Some(nearest)
        });
        let terms = self.terms(fields, value, unit);
        let when = fields.get("when").map(|node| self.expression(node, "when", Want::Truth, value.0 as usize + 1));
        let shared = self.shared(fields);
        let mut rules = Vec::new();
        for node in self.listed_tables(fields, "rule", "result.name.rule") {
            if let Some(rule) = self.fields(node, "a rule of a result", RULE_KEYS) {
                rules.extend(self.rule(&rule, Place::Result));
            }
        }
        let when = match when {
            Some(when) => Some(when?.expr),
            None => None,
        };
        Some(ResultSpec { value, when, shared, nearest: nearest?, terms, rules })
    }

    fn terms(&mut self, fields: &Fields, value: ValueId, unit: Option<Unit>) -> Vec<Term> {
        const EXAMPLE: &str = "[{ sign = \"+\", name = \"level\", label = \"Final reading\" }]";
        let Some(node) = fields.need(self, "terms", &format!("terms = {EXAMPLE}")) else { return Vec::new() };
        let Some((items, _)) = self.list(node, "terms", EXAMPLE) else { return Vec::new() };
        let mut terms = Vec::new();
        for item in items {
            let Some(term) = self.fields(item, "a term of a result", &["sign", "name", "label"]) else { continue };
            let sign = term.need(self, "sign", "sign = \"+\"");
            let sign = sign.and_then(|node| self.word(node, "sign", &[("+", '+'), ("-", '-')]));
            let name = term.need(self, "name", "name = \"level\"").and_then(|node| self.string(node, "name"));
            let label = self.need_plain(&term, "label", "label = \"Final reading\"");
            let what = name.and_then(|(name, at)| self.term(name, at, value, unit));
            if let (Some(sign), Some(what), Some(label)) = (sign, what, label) {
                terms.push(Term { sign, what, label });
            }
        }
        terms
    }

    /// What an appointment counts: a reading or a value that is a number.
    pub fn counted_by(&mut self, node: &Node, key: &str) -> Option<TermOf> {
        let (name, at) = self.string(node, key)?;
        match self.scope.name(name) {
            Some(What::Reading(id)) => {
                let id = ReadingId(id);
                if !matches!(self.scope.reading(id)?.kind, ReadingKind::Tally { .. }) {
                    self.number_reading(id, at, "say how many")?;
                }
                Some(TermOf::Reading(id))
            }
            Some(What::Value(id)) => Some(TermOf::Value(ValueId(id))),
            _ => {
                self.no_such("reading or value", name, at, |what| matches!(what, What::Reading(_) | What::Value(_)));
                None
            }
        }
    }

    fn term(&mut self, name: &str, at: Range<usize>, value: ValueId, unit: Option<Unit>) -> Option<TermOf> {
        let (what, its_unit) = match self.scope.name(name) {
            Some(What::Reading(id)) => {
                let reading = self.scope.reading(ReadingId(id))?;
                (TermOf::Reading(ReadingId(id)), reading.unit())
            }
            Some(What::Value(id)) if id < value.0 => {
                (TermOf::Value(ValueId(id)), self.scope.values.get(id as usize)?.unit?)
            }
            _ => {
                let fits = |what| match what {
                    What::Reading(_) => true,
                    What::Value(id) => id < value.0,
                    What::Figure(_) | What::Table(_) => false,
                };
                self.no_such("reading or value above this result", name, at, fits);
                return None;
            }
        };
        if unit.is_some_and(|unit| unit != its_unit) {
            let unit = unit.map(unit_words).unwrap_or_default();
            self.push(
                Diagnostic::error(
                    "unlike-units",
                    format!("the term `{name}` is in {}, the result in {unit}", unit_words(its_unit)),
                )
                .at(at, format!("expected a term in {unit}"))
                .help("the terms are what the report adds up: name the value that is already in the result's unit"),
            );
            return None;
        }
        Some(what)
    }
}

/// How many operations an expression comes to, with all values it uses.
fn size(expr: &Expr, sizes: &[u32]) -> u32 {
    let parts: u32 = match expr {
        Expr::Value(id) => sizes.get(id.0 as usize).copied().unwrap_or(0),
        Expr::Table(_, inner) | Expr::Negative(inner) | Expr::Not(inner) | Expr::Abs(inner) | Expr::Sqrt(inner) => {
            size(inner, sizes)
        }
        Expr::Two(_, left, right) => size(left, sizes).saturating_add(size(right, sizes)),
        Expr::If(condition, then, otherwise) => {
            size(condition, sizes).saturating_add(size(then, sizes)).saturating_add(size(otherwise, sizes))
        }
        _ => 0,
    };
    parts.saturating_add(1)
}
