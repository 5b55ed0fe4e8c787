//! The acceptance limits of a site file.
//!
//! Here: `[[limit]]`, as bounds or as a target with its tolerance, each keeping the text it was written with. Not here:
//! comparing anything with them ([`crate::verdict`]).
//!
//! **Invariant:** no limit is known but from the file. The tolerances of ASTM C94 for a nominal slump are not here: they
//! were recalled and never seen, so a file that means them writes them out.

use procedure::diagnose::Diagnostic;
use procedure::nearest::nearest;
use procedure::reading::{Key, Part, listed, said};
use quantity::Quantity;
use toml::de::DeValue;

use super::known::{ANYTHING, Measure, OTHER_RESULTS, OTHER_WORDS, RESULTS};
use super::reader::Reader;
use super::{CheckTest, Limit};
use crate::written::{NotATolerance, Tolerance, Written};

const LIMIT_KEYS: &[&str] =
    &["result", "method", "at_least", "at_most", "target", "tolerance", "to_nearest", "check_test", "source"];

impl<'t> Reader<'t> {
    /// Every `[[limit]]`.
    pub fn limits(&mut self, root: &Part<'t>) -> Vec<Limit> {
        let mut limits: Vec<(Limit, std::ops::Range<usize>)> = Vec::new();
        for part in self.file.parts(root, "limit", "a limit", LIMIT_KEYS) {
            let Some(limit) = self.limit(&part) else { continue };
            let same = |(other, _): &&(Limit, _)| other.result == limit.result && other.method == limit.method;
            if let Some((_, first)) = limits.iter().find(same) {
                let first = first.clone();
                self.file.push(
                    Diagnostic::error("duplicate", format!("there are two limits for `{}`", limit.result))
                        .at(part.at.clone(), "the second one")
                        .also(first, "the first one")
                        .help("write both bounds in one limit: at_least and at_most")
                        .help("for one method alone, name it: method = \"air-pressure\""),
                );
                continue;
            }
            limits.push((limit, part.at.clone()));
        }
        limits.into_iter().map(|(limit, _)| limit).collect()
    }

    fn limit(&mut self, part: &Part<'t>) -> Option<Limit> {
        let named = self.file.need(part, "result", "result = \"slump\"").cloned();
        let named = named.and_then(|key| self.result(&key));
        let method = self.method_of(part, "method");
        let source = self.file.line_of(part, "source");
        let check_test = self.check_test(part);
        let (result, measure) = named?;
        let to_nearest = self.positive_of(part, "to_nearest", measure);
        let bounds = if part.key("target").is_some() || part.key("tolerance").is_some() {
            self.around_a_target(part, measure)
        } else {
            self.between_bounds(part, measure)
        };
        let (mut at_least, mut at_most, mut as_written) = bounds?;
        if let (Some(least), Some(most)) = (&at_least, &at_most)
            && least.amount.value > most.amount.value
        {
            let place = |name: &str| part.key(name).map(|key| self.file.place(key.value));
            let (from, to) =
                (place("at_least").unwrap_or(part.at.clone()), place("at_most").unwrap_or(part.at.clone()));
            self.file.push(
                Diagnostic::error("wrong-limits", format!("no {result} can be at least {least} and at most {most}"))
                    .at(to, "this is the smaller one")
                    .also(from, "and this the larger one")
                    .help("exchange the two, or mend the one that is wrong"),
            );
            return None;
        }
        if let Some(to_nearest) = to_nearest {
            for bound in [&mut at_least, &mut at_most].into_iter().flatten() {
                bound.place = to_nearest.amount.value.clone();
            }
            as_written = format!("{as_written}, compared to the nearest {to_nearest}");
        }
        Some(Limit { result, method, at_least, at_most, as_written, source, check_test })
    }

    /// The result a limit is for, and what kind of amount that is.
    fn result(&mut self, key: &Key<'t>) -> Option<(String, Option<Measure>)> {
        let name = self.file.line("result", key.value)?;
        if let Some((_, measure)) = RESULTS.iter().find(|(known, _)| *known == name) {
            return Some((name.to_owned(), Some(*measure)));
        }
        if OTHER_RESULTS.contains(&name) {
            return Some((name.to_owned(), None));
        }
        let other = OTHER_WORDS.iter().find(|(word, _)| *word == name).map(|(_, meant)| *meant);
        let near = other.or_else(|| nearest(name, RESULTS.iter().map(|(known, _)| *known)));
        let at = self.file.place(key.value);
        if let Some(near) = near {
            self.file.push(
                Diagnostic::error("unknown-name", format!("no method reports a result called `{}`", said(name)))
                    .at(at, "not the name of a result")
                    .help(format!("did you mean \"{near}\"?")),
            );
            // Read on as if it were right, so that one slip is one fault.
            return RESULTS
                .iter()
                .find(|(known, _)| *known == near)
                .map(|(id, measure)| (id.to_string(), Some(*measure)));
        }
        let known: Vec<&str> = RESULTS.iter().map(|(known, _)| *known).collect();
        self.file.push(
            Diagnostic::warning("unknown-name", format!("no method of this program reports `{}`", said(name)))
                .at(at, "kept for a procedure of your own that reports it")
                .help(format!("results of this program: {}", listed(&known))),
        );
        Some((name.to_owned(), None))
    }

    fn between_bounds(&mut self, part: &Part<'t>, measure: Option<Measure>) -> Option<Bounds> {
        if part.key("at_least").is_none() && part.key("at_most").is_none() {
            let example = measure.unwrap_or(ANYTHING).example(self.system);
            self.file.push(
                Diagnostic::error("missing-key", "this limit limits nothing")
                    .at(part.at.clone(), "expected at_least, at_most or both")
                    .help(format!("add a line such as: at_most = \"{example}\""))
                    .help("or a target with its tolerance: target = \"4 in\" and tolerance = \"+1 in -1 in\""),
            );
            return None;
        }
        let mut bound = |name: &str| match part.key(name) {
            None => Ok(None),
            Some(_) => self.amount_of(part, name, measure).map(Some).ok_or(()),
        };
        let (least, most) = (bound("at_least"), bound("at_most"));
        let (least, most) = (least.ok()?, most.ok()?);
        let as_written = match (&least, &most) {
            (Some(least), Some(most)) => format!("{least} to {most}"),
            (Some(least), None) => format!("at least {least}"),
            (None, Some(most)) => format!("at most {most}"),
            (None, None) => return None,
        };
        Some((least, most, as_written))
    }

    fn around_a_target(&mut self, part: &Part<'t>, measure: Option<Measure>) -> Option<Bounds> {
        if let Some(key) = part.key("at_least").or(part.key("at_most")) {
            self.file.push(
                Diagnostic::error("wrong-limits", "a limit is written with bounds or with a target, not with both")
                    .at(key.at.clone(), "a bound beside a target")
                    .help("take this away, or write at_least and at_most alone"),
            );
            return None;
        }
        let measured = measure.unwrap_or(ANYTHING);
        let example = measured.example(self.system);
        let target_key = self.file.need(part, "target", &format!("target = \"{example}\"")).cloned();
        let tolerance_key = self.file.need(part, "tolerance", "tolerance = \"± 1.5 %\"").cloned();
        let target = self.amount_of(part, "target", measure);
        let (target_key, tolerance_key) = (target_key?, tolerance_key?);
        let tolerance = self.tolerance(&tolerance_key, measure);
        let (target, tolerance) = (target?, tolerance?);
        let bound = |distance: &Written, up: bool| {
            let (a, b) = (&target.amount.value, &distance.amount.value);
            let value = if up { a + b } else { a - b };
            let place = target.place.clone().min(distance.place.clone());
            value.is_multiple_of(&place).then(|| Written::made(Quantity::new(value, target.amount.unit), place))
        };
        let (least, most) = (bound(&tolerance.minus, false), bound(&tolerance.plus, true));
        if least.is_none() || most.is_none() {
            self.file.push(
                Diagnostic::error("wrong-limits", "target and tolerance are not written to the same places")
                    .at(
                        self.file.place(tolerance_key.value),
                        format!("added to {target}, this ends between two places"),
                    )
                    .also(self.file.place(target_key.value), "the target")
                    .help("write the bounds out as the specification means them: at_least and at_most"),
            );
            return None;
        }
        let as_written = format!("{target} {}", tolerance.text);
        Some((least, most, as_written))
    }

    fn tolerance(&mut self, key: &Key<'t>, measure: Option<Measure>) -> Option<Tolerance> {
        let text = self.file.line("tolerance", key.value)?;
        let at = self.file.place(key.value);
        let unit = measure.unwrap_or(ANYTHING).example(self.system).rsplit(' ').next().unwrap_or("in");
        let example = if unit.starts_with(|first: char| first.is_ascii_digit()) {
            "tolerance = \"± 0.02\"".to_owned()
        } else {
            format!("tolerance = \"± 1 {unit}\"")
        };
        match text.parse::<Tolerance>() {
            Ok(tolerance) => {
                let measure = measure.unwrap_or(ANYTHING);
                let mut fits = |side: &Written| self.fits("tolerance", at.clone(), side, measure);
                (fits(&tolerance.plus) && fits(&tolerance.minus)).then_some(tolerance)
            }
            Err(NotATolerance::NoSigns) => {
                self.file.push(
                    Diagnostic::error("wrong-limits", format!("\"{}\" is no tolerance", said(text)))
                        .at(at, NotATolerance::NoSigns.to_string())
                        .help(format!("write {example}")),
                );
                None
            }
            Err(NotATolerance::Amount(why)) => {
                let fault = self.not_written(&why, text, at, "± 1.5 %").help(format!("write {example}"));
                self.file.push(fault);
                None
            }
        }
    }

    fn check_test(&mut self, part: &Part<'t>) -> CheckTest {
        let Some(key) = part.key("check_test") else { return CheckTest::NotStated };
        let help = "write check_test = true, false or \"average\"";
        match key.value.get_ref() {
            DeValue::Boolean(true) => CheckTest::Decides,
            DeValue::Boolean(false) => CheckTest::None,
            DeValue::String(word) if word == "average" => CheckTest::Averages,
            DeValue::String(word) => {
                let fault = Diagnostic::error("unknown-word", format!("`check_test` cannot be \"{}\"", said(word)))
                    .at(self.file.place(key.value), "expected true, false or \"average\"");
                self.file.push(match nearest(word, ["average"]) {
                    Some(near) => fault.help(format!("did you mean \"{near}\"?")),
                    None => fault.help(help),
                });
                CheckTest::NotStated
            }
            _ => self.file.wrong_kind("check_test", key.value, "true, false or \"average\"", help).unwrap_or_default(),
        }
    }
}

/// The two bounds, and the limit as it is said.
type Bounds = (Option<Written>, Option<Written>, String);
