//! The state of the marking screen: the exam, the station in focus, the act in focus of every sheet, what lies over it.
//!
//! Here: plain data and small questions about it. Not here: what a key does and how it looks.
//!
//! **Invariant:** "recorded" is only ever said of acts that the store has acknowledged.

use std::collections::{BTreeMap, VecDeque};

use engine::{Moment, Tick};
use exam::{Event, Mark, State, TrialId};

use super::begin::Begin;
use super::sound::{Ringing, Sound};
use crate::screen::entry::Field;
use crate::screen::theme::{Colours, Theme, ThemeChoice};

/// What a marking screen is opened with.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ExamOptions {
    /// Who marks; asked at the first trial if nobody is named.
    pub rater: Option<String>,
    /// No bells.
    pub quiet: bool,
    /// The colours.
    pub theme: ThemeChoice,
    /// Said at all times when the time is not real.
    pub simulated: Option<String>,
    /// The folder the record is kept in.
    pub place: String,
    /// Said once after the exam was taken up again.
    pub resumed: Option<String>,
}

/// Something to be done outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ExamDeed {
    /// Put it on the disk; answer with [`ExamAnswer::Kept`] or [`ExamAnswer::Failed`].
    Keep {
        /// What happened.
        event: Event,
        /// When.
        at: Moment,
    },
    /// Go on in another folder; answer with [`ExamAnswer::Moved`] or [`ExamAnswer::MoveFailed`].
    MoveStore {
        /// Which.
        folder: String,
    },
    /// One bell now.
    Bell,
    /// Stop until the person calls the program back.
    Suspend,
    /// End the program.
    Leave,
}

/// What the store says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ExamAnswer {
    /// Everything so far is on the disk.
    Kept {
        /// How many acts.
        n: u64,
    },
    /// Something is only in memory.
    Failed {
        /// What failed.
        what: String,
        /// What to do.
        hint: String,
        /// How many acts are only in memory.
        in_memory: u64,
    },
    /// The new folder took everything.
    Moved {
        /// Which.
        folder: String,
    },
    /// The new folder did not take it.
    MoveFailed {
        /// What failed.
        what: String,
        /// What to do.
        hint: String,
    },
}

/// What the store has said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Store {
    /// How many acts it last said are on disk.
    pub n: u64,
    /// Acts handed over and not answered yet.
    pub awaited: u32,
    /// Acts it could not write.
    pub in_memory: u64,
    /// Why it failed, and what to do.
    pub failed: Option<(String, String)>,
}

/// Something said to the rater.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Message {
    pub kind: MessageKind,
    pub text: String,
}

/// How a message is marked.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum MessageKind {
    /// An act was refused.
    Refused,
    /// Something was marked.
    Marked,
    /// Anything else.
    Note,
}

/// What lies over the screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Overlay {
    /// The list of keys; the first line shown.
    Help { from: usize },
    /// Who begins with what.
    Begin(Begin),
    /// Who marks: at the first trial, or as the second rater of a trial.
    Rater { field: Field, scores: Option<TrialId> },
    /// Whether and how the trial ends.
    End { trial: TrialId },
    /// Why it is broken off; void if the candidate is not to blame.
    StopReason { trial: TrialId, is_void: bool, field: Field },
    /// What is to be overruled.
    Overrule { trial: TrialId, chosen: usize },
    /// Why.
    OverruleReason { trial: TrialId, item: String, mark: Mark, field: Field },
    /// A note on an act, or on the trial.
    Note { trial: TrialId, item: Option<String>, field: Field },
    /// To which station.
    MoveStation { trial: TrialId },
    /// Everybody's results; the first line shown, which page, and the sheet of the class.
    Results { from: usize, page: Page, class: Vec<String> },
    /// Another folder.
    Folder { field: Field },
    /// Something would be lost.
    Leave,
}

/// A page of the results.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Page {
    /// Candidates and methods.
    Everybody,
    /// What is missed most, and agreement.
    Class,
}

/// The whole state of the screen.
#[derive(Clone, Debug)]
pub struct ExamModel {
    pub(super) state: State,
    pub(super) options: ExamOptions,
    pub(super) theme: Theme,
    pub(super) is_muted: bool,
    /// The station in focus, from 0.
    pub(super) station: usize,
    /// The sheets of each station, the one shown last.
    pub(super) sheets: Vec<Vec<TrialId>>,
    /// The act in focus of each sheet.
    pub(super) present: BTreeMap<TrialId, usize>,
    /// The method begun last at each station.
    pub(super) methods: Vec<Option<usize>>,
    pub(super) overlay: Option<Overlay>,
    pub(super) message: Option<Message>,
    pub(super) store: Store,
    /// What is to be heard when the acts handed over are on the disk.
    pub(super) to_sound: VecDeque<Sound>,
    pub(super) ringing: Ringing,
    pub(super) repaints: u32,
}

impl ExamModel {
    /// The screen of an exam, new or taken up again: every sheet that is open lies at its station, the station of the last
    /// act is in focus.
    pub fn new(state: State, options: ExamOptions) -> Self {
        let theme = Theme::new(options.theme, Colours::default());
        let n = usize::from(state.exam().stations).max(1);
        let message = options
            .resumed
            .clone()
            .filter(|text| !text.is_empty())
            .map(|text| Message { kind: MessageKind::Note, text });
        let mut model = Self {
            state,
            options,
            theme,
            is_muted: false,
            station: 0,
            sheets: vec![Vec::new(); n],
            present: BTreeMap::new(),
            methods: vec![None; n],
            overlay: None,
            message,
            store: Store::default(),
            to_sound: VecDeque::new(),
            ringing: Ringing::default(),
            repaints: 0,
        };
        model.take_up();
        model
    }

    /// The same in as many colours as the terminal has.
    #[must_use]
    pub fn with_colours(mut self, colours: Colours) -> Self {
        self.theme = Theme::new(self.options.theme, colours);
        self
    }

    /// The exam as it stands.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The trial whose sheet is in focus.
    pub fn focus(&self) -> Option<&TrialId> {
        self.sheets.get(self.station)?.last()
    }

    pub(super) fn is_silent(&self) -> bool {
        self.options.quiet || self.is_muted
    }

    /// Whether everything that was done is on the disk.
    pub(super) fn is_recorded(&self) -> bool {
        self.store.awaited == 0 && self.store.in_memory == 0 && self.store.failed.is_none()
    }

    pub(super) fn title(&self) -> String {
        self.state.exam().title.clone()
    }

    pub(super) fn say(&mut self, kind: MessageKind, text: impl Into<String>) {
        self.message = Some(Message { kind, text: text.into() });
    }

    /// Whether letters are text now.
    pub(super) fn field(&mut self) -> Option<&mut Field> {
        match &mut self.overlay {
            Some(Overlay::Begin(begin)) => Some(&mut begin.field),
            Some(
                Overlay::Rater { field, .. }
                | Overlay::StopReason { field, .. }
                | Overlay::OverruleReason { field, .. }
                | Overlay::Note { field, .. }
                | Overlay::Folder { field },
            ) => Some(field),
            _ => None,
        }
    }

    /// The next moment a bell is due.
    pub(super) fn next_bell(&self) -> Option<Tick> {
        self.ringing.next()
    }
}
