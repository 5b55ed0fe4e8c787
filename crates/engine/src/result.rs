//! What is reported: computed exactly, rounded once.

use procedure::expr::Facts;
use procedure::{ResultSpec, Term, TermOf};
use quantity::{Exact, Reported};

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

impl Run {
    /// The results of the present attempt; empty before it is finished.
    pub fn results(&self) -> Vec<Outcome<'_>> {
        if !matches!(self.phase(), Phase::Finished | Phase::Closed { with_result: true }) {
            return Vec::new();
        }
        self.edition.results.iter().filter_map(|spec| self.outcome(spec)).collect()
    }

    fn outcome<'r>(&'r self, spec: &'r ResultSpec) -> Option<Outcome<'r>> {
        let view = self.view();
        let value = &self.edition.values[spec.value.0 as usize];
        let exact = value.is.eval(&view).number()?;
        let terms = spec
            .terms
            .iter()
            .map(|term| {
                let value = match term.what {
                    TermOf::Reading(id) => view.reading(id).number(),
                    TermOf::Value(id) => self.edition.values[id.0 as usize].is.eval(&view).number(),
                };
                value.map(|value| TermValue { term, value })
            })
            .collect::<Option<Vec<_>>>()?;
        let reported = Reported::new(exact, &spec.nearest, value.unit, self.ties);
        Some(Outcome { spec, title: &value.title, id: &value.id, reported, terms })
    }
}
