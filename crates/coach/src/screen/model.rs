//! The state of the screen: the run, what is being typed, what lies over it, what is on disk.
//!
//! Here: plain data and small questions about it. Not here: what a key does and how it looks.
//!
//! **Invariant:** "recorded" is only ever said of acts that the store has acknowledged.

use std::collections::BTreeMap;

use engine::{Act, Event, Moment, Refused, Run, Tick};
use procedure::{ReadingId, StepId, Wants};

use super::cue::Bells;
use super::entry::{Asked, Entry, Field};
use super::theme::{Colours, Theme, ThemeChoice};

/// What a screen is opened with.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// No bells.
    pub quiet: bool,
    /// The colours.
    pub theme: ThemeChoice,
    /// What the run is called.
    pub run_name: String,
    /// Said at all times when the time is not real, such as `simulated time ×60`.
    pub simulated: Option<String>,
    /// The folder the record is kept in, for messages.
    pub place: String,
    /// Said once after a run was taken up again.
    pub resumed: Option<String>,
}

/// Something said to the person; it stays until the next act.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// How it is marked.
    pub kind: MessageKind,
    /// Its words.
    pub text: String,
}

/// How a message is marked.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum MessageKind {
    /// An act was refused.
    Refused,
    /// The rules noted something.
    Finding,
    /// The bench has something to say of this run that stands in none of its findings: a result outside its limit.
    Warned,
    /// The run went back.
    Back,
    /// Something was done.
    Note,
}

/// What the store has said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Store {
    /// Whether there is a journal at all: on a bench it is made when the test is begun.
    pub is_begun: bool,
    /// How many entries it last said are on disk.
    pub entries: u64,
    /// Acts handed over and not answered yet.
    pub awaited: u32,
    /// Acts it could not write.
    pub in_memory: u32,
    /// Why it failed, and what to do.
    pub failed: Option<(String, String)>,
}

/// What lies over the screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Overlay {
    /// The list of keys; the first line shown.
    Help {
        /// The first line shown.
        from: usize,
    },
    /// All steps.
    Steps {
        /// The one chosen.
        chosen: usize,
    },
    /// What can have gone wrong.
    Wrong {
        /// The line chosen.
        chosen: usize,
    },
    /// Words for something.
    Ask {
        /// For what.
        what: Ask,
        /// The words so far.
        field: Field,
    },
    /// A question before something is lost.
    Confirm(Confirm),
    /// The readings that can be corrected.
    Correct {
        /// The line chosen.
        chosen: usize,
    },
    /// The value a reading should have been.
    CorrectTo {
        /// The event that gave the reading.
        seq: u32,
        /// Which reading.
        reading: ReadingId,
        /// The new value so far.
        entry: Entry,
    },
}

/// What words are asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// A remark.
    Remark,
    /// Why the attempt is given up.
    DiscardReason,
    /// Why the procedure is overruled with this event.
    OverruleReason(Box<Event>),
    /// Why a reading is corrected.
    CorrectReason {
        /// The event that gave the reading.
        seq: u32,
        /// Which reading.
        reading: ReadingId,
        /// What it should have been.
        entry: engine::Entry,
        /// What follows from it, in words.
        follows: String,
    },
    /// Where the record is to be kept.
    Folder,
}

/// What is asked before something is lost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Confirm {
    /// The attempt ends by something the procedure names.
    Incident(u16),
    /// The attempt is given up.
    Discard(String),
    /// The run is closed without a result.
    CloseWithoutResult,
    /// The program is left with something not on disk or not yet entered.
    Leave,
}

/// What was being typed into the open step when Esc cleared it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Cleared {
    /// What stood there.
    pub entry: Entry,
    /// When its first sign was typed.
    pub typing_since: Option<Tick>,
}

/// Something typed over the screen and left with Esc.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Draft {
    /// Words, and for what.
    Words(Ask, Field),
    /// What the reading of this event should have been.
    Value(u32, Entry),
}

/// The whole state of the screen.
#[derive(Clone, Debug)]
pub struct Model {
    /// The run.
    pub run: Run,
    /// What the screen was opened with.
    pub options: Options,
    pub(crate) theme: Theme,
    pub(crate) is_muted: bool,
    /// The moment of the last update: what lies between it and the next has been crossed.
    pub(crate) seen: Tick,
    pub(crate) entry: Entry,
    pub(crate) asked: Option<Asked>,
    /// When the first sign of the entry was typed.
    pub(crate) typing_since: Option<Tick>,
    /// What Esc cleared: Esc again brings it back, as long as the same is asked.
    pub(crate) cleared: Option<Cleared>,
    pub(crate) overlay: Option<Overlay>,
    /// What was typed over the screen and left with Esc, until something is recorded.
    pub(crate) drafts: Vec<Draft>,
    pub(crate) message: Option<Message>,
    /// What is possible, said after a key that does nothing.
    pub(crate) hint: Option<String>,
    /// The last refusal and what it refused, for going on all the same.
    pub(crate) refused: Option<(Refused, Event)>,
    pub(crate) store: Store,
    pub(crate) bells: Bells,
    pub(crate) suggestions: BTreeMap<String, Vec<String>>,
    /// Grows when everything must be painted again.
    pub(crate) repaints: u32,
    /// What it is called on its bench, if it stands on one.
    pub(crate) on_bench: Option<String>,
    /// What the open step waits for in another run of the bench: it is not confirmed here.
    pub(crate) waits: Option<Waits>,
    /// What the big key does instead, while a list is chosen from.
    pub(crate) big_key: Option<BigKey>,
}

/// The big key of somebody who chooses from a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BigKey {
    /// Its name.
    pub key: &'static str,
    /// What it does now.
    pub does: String,
    /// The other keys and what they do.
    pub others: &'static [(&'static str, &'static str)],
}

/// What a step waits for in another run of the bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Waits {
    /// What that run is called.
    pub run: String,
    /// The reason, in a sentence.
    pub text: String,
}

impl Model {
    /// The screen of a run, new or taken up again.
    pub fn new(run: Run, now: Moment, options: Options) -> Self {
        let theme = Theme::new(options.theme, Colours::default());
        let message = options.resumed.clone().map(|text| Message { kind: MessageKind::Note, text });
        let store = Store { is_begun: true, entries: u64::from(run.n_accepted()), ..Store::default() };
        let mut model = Self {
            run,
            options,
            theme,
            is_muted: false,
            seen: now.tick,
            entry: Entry::Nothing,
            asked: None,
            typing_since: None,
            cleared: None,
            overlay: None,
            drafts: Vec::new(),
            message,
            hint: None,
            refused: None,
            store,
            bells: Bells::default(),
            suggestions: BTreeMap::new(),
            repaints: 0,
            on_bench: None,
            waits: None,
            big_key: None,
        };
        model.ask(now.tick);
        model
    }

    /// The same screen in as many colours as the terminal has.
    #[must_use]
    pub fn with_colours(mut self, colours: Colours) -> Self {
        self.theme = Theme::new(self.options.theme, colours);
        self
    }

    /// How often a full repaint was asked for; the terminal clears itself when this has grown.
    pub fn repaints(&self) -> u32 {
        self.repaints
    }

    /// Whether everything that was done is on disk.
    pub fn is_recorded(&self) -> bool {
        self.store.is_begun && self.store.awaited == 0 && self.store.in_memory == 0 && self.store.failed.is_none()
    }

    /// The words used before for the reading that is asked.
    pub(crate) fn used_words(&self, reading: ReadingId) -> &[String] {
        let id = &self.run.edition().reading(reading).id;
        self.suggestions.get(id).map_or(&[], Vec::as_slice)
    }

    /// The reading the open step asks for now or next, and whether it is one read beside another.
    pub(crate) fn reading_asked(&self, now: Tick) -> Option<(StepId, ReadingId, bool)> {
        let offer = self.run.offer(now);
        let (step, spec) = offer.step?;
        match (&offer.act, &spec.wants) {
            (Act::Answer(reading), Wants::Settle(settle)) => Some((step, *reading, *reading != settle.reading)),
            (Act::Answer(reading), _) => Some((step, *reading, false)),
            // Between two readings the next may be typed already: the engine says whether it is too early.
            (Act::Wait { .. } | Act::GiveUp(_), Wants::Settle(settle)) => Some((step, settle.reading, false)),
            _ => None,
        }
    }

    /// Opens a fresh entry if something else is asked than before.
    pub(crate) fn ask(&mut self, now: Tick) {
        let offer = self.run.offer(now);
        let opened = offer.standing.opened.tick;
        let n_taken = self.run.taken_now().len();
        let asked = match (self.reading_asked(now), offer.step) {
            (Some((step, reading, _)), _) => Some(Asked { step, reading: Some(reading), n_taken, opened }),
            (None, Some((step, spec))) if offer.act == Act::Confirm && matches!(spec.wants, Wants::Count { .. }) => {
                Some(Asked { step, reading: None, n_taken: 0, opened })
            }
            _ => None,
        };
        if asked == self.asked {
            return;
        }
        self.entry = match (asked, self.reading_asked(now)) {
            (None, _) => Entry::Nothing,
            (Some(_), Some((_, reading, is_beside))) => {
                let last = match self.run.latest(reading).map(|taken| &taken.entry) {
                    Some(engine::Entry::Number(value)) => Some(*value),
                    _ => None,
                };
                Entry::for_kind(&self.run.edition().reading(reading).kind, last, is_beside)
            }
            (Some(_), None) => Entry::Count(Field::default()),
        };
        self.asked = asked;
        self.typing_since = None;
        self.cleared = None;
    }

    /// Whether letters are text now.
    pub(crate) fn letters_are_text(&self) -> bool {
        match &self.overlay {
            None => matches!(self.entry, Entry::Words(_)),
            Some(Overlay::Ask { .. } | Overlay::CorrectTo { entry: Entry::Words(_), .. }) => true,
            Some(_) => false,
        }
    }

    /// The event with which the person may go on against the last refusal, without its reason.
    pub(crate) fn overrulable(&self, now: Tick) -> Option<Event> {
        let done = |step| Event::Done { step, despite: None };
        let offer = self.run.offer(now);
        // Given up, but with a reading to go on with.
        if let (Act::GiveUp(_), Some((step, _))) = (&offer.act, offer.step) {
            return (!self.run.sets_here().is_empty()).then(|| done(step));
        }
        let (refused, event) = self.refused.as_ref()?;
        refused.may_be_overruled().then(|| event.clone())
    }

    /// The incidents that can happen now.
    pub(crate) fn incidents(&self) -> impl Iterator<Item = u16> + '_ {
        let stage = self.run.offer(self.seen).step.map(|(_, step)| step.stage);
        let edition = self.run.edition();
        (0u16..)
            .zip(&edition.incidents)
            .filter(move |(_, incident)| stage.is_some_and(|stage| incident.during.contains(&stage)))
            .map(|(n, _)| n)
    }

    /// The readings that can be corrected, the latest first.
    pub(crate) fn correctable(&self) -> impl Iterator<Item = &engine::Taken> {
        self.run.taken().iter().rev().filter(|taken| !taken.carried && taken.entry != engine::Entry::One)
    }
}
