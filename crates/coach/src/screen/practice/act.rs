//! The acts on the run: keys go through the ordinary screen of a run, and the specimen hears what happened.
//!
//! **Invariant:** the specimen hears every accepted event once, in order; the session is told of a step when the run has
//! left it.

use std::sync::Arc;

use engine::{Act, Entry, Event, FindingKind, Moment, Phase, Run, Tick};
use practice::history::ReadingJudged;
use practice::{Onward, Performance};
use procedure::{Edition, ReadingId, ReadingKind, StepId, Wants};
use quantity::{Span, Ties};
use specimen::{Happening, Scenario, Shown, Specimen};

use crate::screen::model::{Model, Options};
use crate::screen::theme::{Colours, ThemeChoice};
use crate::screen::update::{Effect, Input, finding_words, update};

/// A run on a specimen.
#[derive(Clone, Debug)]
pub(crate) struct Acting {
    pub model: Model,
    pub specimen: Specimen,
    /// The step the session has asked for, by its name, and what the run held when it was.
    step: Option<Step>,
    /// Something that came about by itself and is to be noticed.
    pub happening: Option<Happening>,
    /// Said once after the person was away.
    pub was_away: Option<String>,
    /// The person was called away: what comes too late from then on is not their fault.
    is_late_excused: bool,
}

#[derive(Clone, Debug)]
struct Step {
    name: String,
    began: Tick,
    n_passed: usize,
    attempt: u16,
    n_findings: usize,
    refusals: Vec<String>,
    /// Something was to be done wrongly here: what follows is not their fault.
    is_on_purpose: bool,
    /// Events that gave readings off instruments.
    read: Vec<u32>,
}

/// What a key has brought about.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Outcome {
    pub bells: u8,
    pub refused: bool,
    pub leave: bool,
}

/// Whether the picture is one of an instrument, which has to be read.
pub(crate) fn is_instrument(shown: &Shown) -> bool {
    !matches!(shown, Shown::Paper { .. } | Shown::Sight { .. })
}

impl Acting {
    /// A fresh run on a fresh specimen at `at` of its own count.
    pub(crate) fn new(edition: &Arc<Edition>, scenario: &Scenario, ties: Ties, at: Moment, options: Options) -> Self {
        let run = Run::open(Arc::clone(edition), ties, at);
        Self {
            model: Model::new(run, at, options),
            specimen: Specimen::new(Arc::clone(edition), scenario.clone()),
            step: None,
            happening: None,
            was_away: None,
            is_late_excused: false,
        }
    }

    pub(crate) fn with_colours(mut self, colours: Colours) -> Self {
        self.model = self.model.with_colours(colours);
        self
    }

    /// Options of the run's own screen.
    pub(crate) fn options(quiet: bool, theme: ThemeChoice) -> Options {
        Options { quiet, theme, run_name: "practice".to_owned(), ..Options::default() }
    }

    /// The open step's name.
    pub(crate) fn open_step(&self, now: Tick) -> Option<&str> {
        let run = &self.model.run;
        if run.phase() != Phase::AtStep {
            return None;
        }
        run.offer(now).step.map(|(_, step)| step.id.as_str())
    }

    /// What is read now.
    pub(crate) fn reading(&self, now: Tick) -> Option<(StepId, ReadingId)> {
        self.model.reading_asked(now).map(|(step, reading, _)| (step, reading))
    }

    /// Whether the reading that is asked now is answered with this key.
    pub(crate) fn has_answer(&self, sign: char, now: Tick) -> bool {
        let Some((_, reading)) = self.reading(now) else { return false };
        match &self.model.run.edition().reading(reading).kind {
            ReadingKind::Choice(choices) => choices.iter().any(|choice| choice.key == sign),
            _ => false,
        }
    }

    /// Whether there is nothing to do but wait. A hold stays one after its least time: that the clock slows down would
    /// tell somebody who does it from memory that it is over.
    pub(crate) fn is_waiting(&self, now: Tick) -> bool {
        let offer = self.model.run.offer(now);
        let standing = &offer.standing;
        match offer.step.map(|(_, step)| &step.wants) {
            Some(Wants::Hold { at_most: None, .. }) => standing.begun.is_some() && !standing.is_down,
            Some(Wants::Hold { .. } | Wants::Settle(_)) => matches!(offer.act, Act::Wait { .. }) && !standing.is_down,
            _ => false,
        }
    }

    /// What is seen of the specimen now, where something is read.
    pub(crate) fn shown(&self, now: Tick) -> Option<Shown> {
        let (_, reading) = self.reading(now)?;
        Some(self.specimen.shows(&self.model.run, reading, now))
    }

    /// The session asks for a step: from here on what happens is counted for it.
    pub(crate) fn asked_for(&mut self, name: &str, now: Tick) {
        let run = &self.model.run;
        if let Some(step) = self.step.as_mut().filter(|step| step.name == name) {
            // Acts taken back: it is left when the run has come further than this again.
            step.n_passed = step.n_passed.min(run.passed().len());
            return;
        }
        self.step = Some(Step {
            name: name.to_owned(),
            began: now,
            n_passed: run.passed().len(),
            attempt: run.attempt(),
            n_findings: run.findings().len(),
            refusals: Vec::new(),
            is_on_purpose: false,
            read: Vec::new(),
        });
        self.model.message = None;
        self.model.hint = None;
    }

    /// Takes a key or what else comes in, on the run's own count.
    pub(crate) fn take(&mut self, input: Input, now: Moment) -> Outcome {
        let refused_before = self.model.refused.clone();
        let is_read_off = self.shown(now.tick).is_some_and(|shown| is_instrument(&shown));
        let asked = self.reading(now.tick).map(|(_, reading)| reading);
        let right =
            asked.map(|reading| self.specimen.right_answers(&self.model.run, reading, now.tick)).unwrap_or_default();
        self.was_away = None;
        let mut outcome = Outcome::default();
        for effect in update(&mut self.model, input, now) {
            match effect {
                Effect::Keep { event, at, .. } => self.happened(&event, at, is_read_off, now),
                Effect::Bell => outcome.bells += 1,
                Effect::Leave => outcome.leave = true,
                Effect::MoveStore { .. } | Effect::Cue(_) | Effect::Suspend => {}
            }
        }
        if let Some((refused, event)) = self.model.refused.clone().filter(|_| self.model.refused != refused_before) {
            self.specimen.hear_refused(&self.model.run, &event, now);
            // A specimen of which the procedure takes no such reading is no fault of the person who read it right.
            let is_of_specimen = matches!(&event, Event::Answer { entry, .. } if right.contains(entry));
            outcome.refused = !is_of_specimen;
            if let Some(step) = self.step.as_mut().filter(|_| !is_of_specimen) {
                step.refusals.push(refused.to_string());
            }
        }
        outcome
    }

    fn happened(&mut self, event: &Event, at: Moment, is_read_off: bool, now: Moment) {
        self.specimen.hear(&self.model.run, event, at);
        // There is no record of a rehearsal that could fail.
        let entries = u64::from(self.model.run.n_accepted());
        let _ = update(&mut self.model, Input::Kept { entries }, now);
        if let (Event::Answer { entry: Entry::Number(_), .. }, true, Some(step)) = (event, is_read_off, &mut self.step)
            && let Some(taken) = self.model.run.taken().last()
        {
            step.read.push(taken.seq);
        }
    }

    /// Notices what comes about by itself; how far the clock jumps because of it.
    pub(crate) fn notice(&mut self, now: Tick) -> Option<Span> {
        if self.model.run.phase() != Phase::AtStep {
            self.happening = None;
            return None;
        }
        match self.specimen.happens(&self.model.run, now) {
            Some(Happening::Away { span, says }) => {
                self.was_away = Some(says);
                self.is_late_excused = true;
                self.happening = None;
                Some(span)
            }
            other => {
                if let (Some(Happening::OnPurpose { .. }), Some(step)) = (&other, &mut self.step) {
                    step.is_on_purpose = true;
                }
                self.happening = other;
                None
            }
        }
    }

    /// How the step that was asked for went, once the run has left it.
    pub(crate) fn done(&mut self, now: Tick) -> Option<(String, Performance, Onward)> {
        let run = &self.model.run;
        let step = self.step.as_ref()?;
        let has_moved = run.passed().len() > step.n_passed || run.attempt() > step.attempt;
        let onward = match run.phase() {
            Phase::AtStep if has_moved => Onward::To(self.open_step(now)?.to_owned()),
            // What ends an attempt is looked at, and the next one begun, before anything else is asked.
            Phase::AtStep | Phase::Ended => return None,
            Phase::Finished | Phase::Closed { with_result: true } => Onward::Over,
            Phase::Closed { with_result: false } => match run.endings().last() {
                Some(ended) if ended.own => Onward::GivenUp(ended.because.clone()),
                _ => Onward::Over,
            },
        };
        let findings = run.findings().get(step.n_findings..).unwrap_or(&[]);
        let looks = self.specimen.looks(run);
        let judged = looks.iter().filter(|look| step.read.contains(&look.seq) && !look.right.is_empty());
        let performance = Performance {
            refusals: if step.is_on_purpose { Vec::new() } else { step.refusals.clone() },
            findings: findings
                .iter()
                .filter(|finding| !step.is_on_purpose && self.is_fault(finding.step, &finding.what))
                .filter_map(|finding| finding_words(&finding.what))
                .collect(),
            readings: judged
                .map(|look| ReadingJudged {
                    given: run.show(look.reading, &look.given),
                    right_answers: look.right.iter().map(|right| run.show(look.reading, right)).collect(),
                })
                .collect(),
            took_ms: now.since(step.began).0,
        };
        Some((self.step.take()?.name, performance, onward))
    }

    /// Whether a finding says something of the person's work. What the rules note of a reading says something of the
    /// concrete, and whether it was read right is judged by itself.
    fn is_fault(&self, step: StepId, what: &FindingKind) -> bool {
        match what {
            FindingKind::Rule { .. } => matches!(self.model.run.edition().step(step).wants, Wants::Timed { .. }),
            FindingKind::Late { .. } => !self.is_late_excused,
            FindingKind::Corrected { .. } => false,
            FindingKind::DownTooLong { .. } | FindingKind::HeldTooLong { .. } | FindingKind::Overruled { .. } => true,
        }
    }

    /// What stands on a paper can be taken over with one key: writing it down is not what is practised.
    pub(crate) fn suggest(&mut self, now: Tick) {
        let Some((_, reading)) = self.reading(now) else { return };
        let spec = self.model.run.edition().reading(reading);
        if !matches!(spec.kind, ReadingKind::Words) || self.model.suggestions.contains_key(&spec.id) {
            return;
        }
        let id = spec.id.clone();
        if let Some(Shown::Paper { lines, .. }) = self.shown(now) {
            self.model.suggestions.insert(id, lines);
        }
    }

    /// The step the run stands at, if it is behind the one the session asked for: an act was taken back.
    pub(crate) fn went_back(&self, now: Tick) -> Option<String> {
        let step = self.step.as_ref()?;
        let open = self.open_step(now)?;
        (open != step.name && self.model.run.passed().len() <= step.n_passed).then(|| open.to_owned())
    }

    /// The clock has jumped: whatever ran out meanwhile has run out.
    pub(crate) fn take_away(&mut self, at: Moment) {
        let said = self.was_away.clone();
        self.take(Input::Wake, at);
        self.was_away = said;
    }

    /// What is asked for next is counted anew.
    pub(crate) fn forget_step(&mut self) {
        self.step = None;
    }
}
