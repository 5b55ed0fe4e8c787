//! The timed run without help, scored as an examiner would.
//!
//! An act counts if it was named at the first try and done with no refusal and no finding. What was missed stays missed,
//! whatever comes after it; an act that comes in several rounds counts once, and every round of it must be right.
//!
//! **Invariant:** an act is counted once, and the first reason it was missed for is the one that stands.

use engine::Moment;

use crate::deck::Deck;
use crate::history::{Missed, Share, Trial, When};
use crate::question::{Answer, Judged, Question};
use crate::session::Performance;

/// A timed run under way.
#[derive(Clone, Debug)]
pub(super) struct TrialRun {
    begun: Moment,
    /// The acts so far, in the order of their first turn, and why one does not count.
    acts: Vec<(String, Option<String>)>,
    readings: Share,
    broken_off: Option<String>,
}

impl TrialRun {
    pub fn begun(at: Moment) -> Self {
        Self { begun: at, acts: Vec::new(), readings: Share::default(), broken_off: None }
    }

    fn mark(&mut self, key: &str, missed: Option<String>) {
        match self.acts.iter_mut().find(|(act, _)| act == key) {
            Some((_, before)) => {
                if before.is_none() {
                    *before = missed;
                }
            }
            None => self.acts.push((key.to_owned(), missed)),
        }
    }

    pub fn answered(&mut self, key: &str, question: &Question, answer: &Answer, judged: &Judged) {
        let missed = (!judged.right).then(|| match super::given(question, answer) {
            Some(given) => match judged.slip {
                Some(slip) => format!("{}: “{given}”", slip.words()),
                None => format!("“{given}”"),
            },
            None => "not known".to_owned(),
        });
        self.mark(key, missed);
    }

    pub fn performed(&mut self, key: &str, is_asked: bool, performance: &Performance) {
        performance.readings.iter().for_each(|reading| self.readings.count(reading.right()));
        let fault = performance.refusals.first().or(performance.findings.first()).cloned();
        if is_asked || fault.is_some() {
            self.mark(key, fault);
        }
    }

    pub fn given_up(&mut self, key: &str, because: &str) {
        self.mark(key, Some(because.to_owned()));
        self.broken_off = Some(because.to_owned());
    }

    pub fn scored(self, deck: &Deck, seed: u64, broken_off: Option<String>, at: Moment) -> Trial {
        let mut acts = Share::default();
        self.acts.iter().for_each(|(_, missed)| acts.count(missed.is_none()));
        Trial {
            at: When::from(at),
            method: deck.id.clone(),
            system: deck.system.clone(),
            seed,
            acts,
            readings: self.readings,
            missed: self
                .acts
                .into_iter()
                .filter_map(|(item, because)| because.map(|because| Missed { item, because }))
                .collect(),
            took_ms: at.tick.since(self.begun.tick).0,
            broken_off: self.broken_off.or(broken_off),
        }
    }
}
