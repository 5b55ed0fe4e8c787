//! What is reported: computed exactly, rounded once; and what is due afterwards.

use procedure::expr::Facts;
use procedure::{Appointment, Consequence, Limit, ResultSpec, Step, StepId, Term, TermOf, Wants};
use quantity::{Exact, Reported};

use crate::facts::View;
use crate::moment::{Moment, Wall};
use crate::run::Run;
use crate::state::Phase;

/// A result with its terms.
#[derive(Clone, Debug)]
pub struct Outcome<'r> {
    /// What the procedure says about it.
    pub spec: &'r ResultSpec,
    /// What it is called.
    pub title: &'r str,
    /// Its name in the procedure.
    pub id: &'r str,
    /// The value, exact and rounded.
    pub reported: Reported,
    /// Its terms, exact.
    pub terms: Vec<TermValue<'r>>,
}

/// A term of a result.
#[derive(Clone, Debug)]
pub struct TermValue<'r> {
    /// What the procedure says about it.
    pub term: &'r Term,
    /// Its exact value.
    pub value: Exact,
}

/// Something due long after the run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due<'r> {
    /// What the procedure says about it.
    pub spec: &'r Appointment,
    /// When: so long after its step was done, with the offset from UTC the wall clock had then.
    pub at: Moment,
    /// How many it is due for, exact; `None` if the procedure does not say or nobody has read it.
    pub count: Option<Exact>,
}

/// Whether a result is reported: it can be worked out, all its terms too, and its condition holds.
pub(crate) fn is_reported(spec: &ResultSpec, view: &View<'_>) -> bool {
    spec.when.as_ref().is_none_or(|when| when.eval(view).holds())
        && value_of(TermOf::Value(spec.value), view).is_some()
        && spec.terms.iter().all(|term| value_of(term.what, view).is_some())
}

fn value_of(what: TermOf, view: &View<'_>) -> Option<Exact> {
    match what {
        TermOf::Reading(id) if view.is_tally(id) => Some(view.sum(id)),
        TermOf::Reading(id) => view.reading(id).number(),
        TermOf::Value(id) => view.edition.values[id.0 as usize].is.eval(view).number(),
    }
}

impl Run {
    /// What is due long after the present attempt: appointments whose step is done and whose condition holds. None
    /// once the attempt has ended without a result.
    pub fn appointments(&self) -> Vec<Due<'_>> {
        if matches!(self.phase(), Phase::Ended | Phase::Closed { with_result: false }) {
            return Vec::new();
        }
        self.edition.appointments.iter().filter_map(|spec| self.due(spec)).collect()
    }

    fn due<'r>(&self, spec: &'r Appointment) -> Option<Due<'r>> {
        let view = self.view();
        let Appointment { from, after, when, count, .. } = spec;
        let from = self.state.done_or_known(&self.edition, *from)?;
        if !when.as_ref().is_none_or(|when| when.eval(&view).holds()) {
            return None;
        }
        let unix_ms = from.wall.unix_ms.saturating_add_unsigned(after.0);
        let at = Moment { tick: from.tick.after(*after), wall: Wall { unix_ms, ..from.wall } };
        Some(Due { spec, at, count: count.and_then(|count| value_of(count, &view)) })
    }

    /// The results of the present attempt; empty before it is finished. One with a condition is reported only if it
    /// holds and nothing it needs is unknown, so a finished run may report nothing at all.
    pub fn results(&self) -> Vec<Outcome<'_>> {
        if !matches!(self.phase(), Phase::Finished | Phase::Closed { with_result: true }) {
            return Vec::new();
        }
        self.edition.results.iter().filter_map(|spec| self.outcome(spec)).collect()
    }

    /// The results, and before the run is finished those that nothing to come can change: what is left are plain acts
    /// without a rule, outside every limit that would end the attempt. The slump stands when it is measured, not when
    /// the mould is washed.
    pub fn standing_results(&self) -> Vec<Outcome<'_>> {
        if self.phase() == Phase::AtStep && self.is_only_clearing_up() {
            return self.edition.results.iter().filter_map(|spec| self.outcome(spec)).collect();
        }
        self.results()
    }

    fn is_only_clearing_up(&self) -> bool {
        let cursor = &self.state.cursor;
        let left = &self.edition.steps[usize::from(cursor.step.0).min(self.edition.steps.len())..];
        let is_plain = |step: &Step| step.wants == Wants::Act && step.rules.is_empty();
        let may_go_wrong = |stage: u16| self.edition.incidents.iter().any(|incident| incident.during.contains(&stage));
        let is_bound = |at: StepId| {
            let ends = |limit: &Limit| matches!(limit.otherwise, Consequence::End(_) | Consequence::Back { .. });
            self.edition.limits.iter().any(|limit| ends(limit) && limit.to >= at)
        };
        let repeats = |stage: u16| self.edition.stages[usize::from(stage)].repeat.is_some();
        !left.is_empty()
            && left.iter().all(|step| is_plain(step) && !may_go_wrong(step.stage) && !repeats(step.stage))
            && !is_bound(cursor.step)
    }

    fn outcome<'r>(&'r self, spec: &'r ResultSpec) -> Option<Outcome<'r>> {
        let view = self.view();
        if !is_reported(spec, &view) {
            return None;
        }
        let value = &self.edition.values[spec.value.0 as usize];
        let exact = value_of(TermOf::Value(spec.value), &view)?;
        let terms = spec
            .terms
            .iter()
            .map(|term| value_of(term.what, &view).map(|value| TermValue { term, value }))
            .collect::<Option<Vec<_>>>()?;
        let reported = Reported::new(exact, &spec.nearest, value.unit, self.ties);
        Some(Outcome { spec, title: &value.title, id: &value.id, reported, terms })
    }
}
