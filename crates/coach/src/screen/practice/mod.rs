//! The practice screen: what is asked, what is shown, and the acts on a virtual specimen.
//!
//! Here: the state ([`PracticeModel`]) and what it is made of. What comes in is taken in `update`, the acts on the run go
//! through `act`, everything is drawn in `view`. Not here: what is asked and how a try is judged (the crate `practice`), what
//! the specimen has become (the crate `specimen`), files and clocks.
//!
//! The run is an ordinary one, performed through the ordinary screen of a run; only nothing of it is kept as a record, for no
//! concrete was tested. What is kept are the tries.
//!
//! **Invariant:** what the person is to recall stands nowhere on the screen before the try, nor while it is done from memory.

mod act;
mod plain;
mod progress;
mod update;
mod view;
mod words;

use std::sync::Arc;

use engine::{Moment, Tick};
use practice::{Due, Entry, Session};
use procedure::Edition;
use quantity::Ties;
use specimen::Scenario;

use super::cue::Bells;
use super::entry::Field;
use super::theme::{Colours, Theme, ThemeChoice};

use act::Acting;
pub use plain::{PLAIN_HELP, hear_end, hear_line, plain_lines};
pub use progress::{ProgressCard, ProgressModel};

/// What a practice screen is opened with.
#[derive(Clone, Debug, Default)]
pub struct PracticeOptions {
    /// No bells.
    pub quiet: bool,
    /// The colours.
    pub theme: ThemeChoice,
    /// Whose practice it is.
    pub learner: String,
    /// The seed, so that it can be done again.
    pub seed: u64,
    /// How many times as fast as real time the specimen's clock runs while something has to be waited for.
    pub speed: u32,
    /// The folder the diary is kept in.
    pub place: String,
    /// What is to come about, in words, where the person asked for it.
    pub branch: Option<String>,
    /// The day, for “missed yesterday”.
    pub today: i64,
}

/// What a method is walked on.
#[derive(Clone, Debug)]
pub struct Bench {
    /// The procedure.
    pub edition: Arc<Edition>,
    /// The specimen it is practised on.
    pub walk: Scenario,
    /// The specimen of the timed run.
    pub trial: Scenario,
}

/// Something to be done outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PracticeDeed {
    /// Write it to the diary and flush it; answer with [`PracticeAnswer`].
    Keep(Entry),
    /// Keep the diary in another folder.
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

/// What the diary says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PracticeAnswer {
    /// So many entries are on the disk.
    Kept {
        /// How many.
        n: u64,
    },
    /// The last one is not; it is in memory.
    Failed {
        /// What failed.
        what: String,
        /// What to do about it.
        hint: String,
        /// How many entries are only in memory.
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
        /// What to do about it.
        hint: String,
    },
}

/// What the diary has said so far.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Kept {
    pub n: u64,
    pub awaited: u64,
    pub in_memory: u64,
    pub failed: Option<(String, String)>,
}

/// The try that is being given.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) enum Try {
    /// Nothing is asked.
    #[default]
    None,
    /// One of several; the one marked with the arrows.
    Choice(Option<usize>),
    /// A number, as typed so far.
    Number(Field),
}

/// What lies over the screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Over {
    /// The keys; the first line shown.
    Help(usize),
    /// Really leave?
    Leave,
    /// Where the diary is to be kept.
    Folder(Field),
}

/// The specimen's clock: it stands while something is read or asked, and runs while something is done. In the timed run it
/// never stands.
///
/// For rehearsal only waiting is made shorter: nobody lifts a mould twenty times as fast.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) struct RunClock {
    /// Where it stood when it was last stopped or put.
    stopped_at: u64,
    /// Since when it runs, on the screen's clock.
    running: Option<Tick>,
    /// How many times as fast as the screen's clock it runs.
    rate: u64,
}

impl RunClock {
    pub(crate) fn new() -> Self {
        Self { stopped_at: 0, running: None, rate: 1 }
    }
    pub(crate) fn tick(&self, now: Tick) -> Tick {
        Tick(self.stopped_at + self.running.map_or(0, |since| now.since(since).0 * self.rate))
    }
    pub(crate) fn go(&mut self, now: Tick) {
        self.running.get_or_insert(now);
    }
    pub(crate) fn stop(&mut self, now: Tick) {
        self.stopped_at = self.tick(now).0;
        self.running = None;
    }
    /// From now on it runs so many times as fast.
    pub(crate) fn set_rate(&mut self, rate: u32, now: Tick) {
        let rate = u64::from(rate.max(1));
        if rate != self.rate {
            self.stopped_at = self.tick(now).0;
            self.running = self.running.map(|_| now);
            self.rate = rate;
        }
    }
    pub(crate) fn jump(&mut self, span: quantity::Span) {
        self.stopped_at += span.0;
    }
    /// When the screen's clock shows what this one is to show at `tick`.
    pub(crate) fn when(&self, tick: Tick) -> Option<Tick> {
        let since = self.running?;
        Some(Tick(since.0 + tick.0.saturating_sub(self.stopped_at).div_ceil(self.rate)))
    }
    /// The moment of the run: its own count, and the wall clock as it is.
    pub(crate) fn moment(&self, now: Moment) -> Moment {
        Moment { tick: self.tick(now.tick), wall: now.wall }
    }
}

/// Something said; it stays until the next act.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Said {
    pub is_bad: bool,
    pub text: String,
}

/// The whole state of the practice screen.
#[derive(Clone, Debug)]
pub struct PracticeModel {
    pub(crate) session: Session,
    /// The method that is walked, with its specimens; none where only questions are asked.
    pub(crate) bench: Option<Bench>,
    pub(crate) options: PracticeOptions,
    pub(crate) theme: Theme,
    pub(crate) acting: Option<Acting>,
    pub(crate) clock: RunClock,
    /// Since when the timed run goes on, on the screen's clock.
    pub(crate) trial_since: Option<Tick>,
    pub(crate) attempt: Try,
    pub(crate) said: Option<Said>,
    pub(crate) over: Option<Over>,
    pub(crate) kept: Kept,
    pub(crate) bells: Bells,
    pub(crate) is_muted: bool,
    pub(crate) repaints: u32,
    pub(crate) seen: Tick,
    /// The first line of how it went.
    pub(crate) scrolled: usize,
    pub(crate) ties: Ties,
}

impl PracticeModel {
    /// The screen of a session. `bench` is the method that is walked, with what its specimens are like.
    pub fn new(session: Session, bench: Option<Bench>, now: Moment, options: PracticeOptions) -> Self {
        let theme = Theme::new(options.theme, Colours::default());
        let mut model = Self {
            session,
            bench,
            options,
            theme,
            acting: None,
            clock: RunClock::new(),
            trial_since: None,
            attempt: Try::None,
            said: None,
            over: None,
            kept: Kept::default(),
            bells: Bells::default(),
            is_muted: false,
            repaints: 0,
            seen: now.tick,
            scrolled: 0,
            ties: Ties::Even,
        };
        let mut deeds = Vec::new();
        model.settle(now, &mut deeds);
        debug_assert!(deeds.is_empty(), "nothing was done yet");
        model
    }

    /// The same in as many colours as the terminal has.
    #[must_use]
    pub fn with_colours(mut self, colours: Colours) -> Self {
        self.theme = Theme::new(self.options.theme, colours);
        if let Some(acting) = self.acting.take() {
            self.acting = Some(acting.with_colours(colours));
        }
        self
    }

    /// What is due now.
    pub fn due(&self) -> &Due {
        self.session.due()
    }

    /// Where the specimen's own clock stands when the screen's shows `now`.
    pub fn run_tick(&self, now: Tick) -> Tick {
        self.clock.tick(now)
    }

    /// The answers that would be right for what is read at `now`; for tests and teaching material.
    pub fn right_answers(&self, now: Tick) -> Vec<engine::Entry> {
        let tick = self.clock.tick(now);
        let reading = |acting: &Acting| {
            let (_, reading) = acting.reading(tick)?;
            Some(acting.specimen.right_answers(&acting.model.run, reading, tick))
        };
        self.acting.as_ref().and_then(reading).unwrap_or_default()
    }

    /// What the run refused last, and at which step, until something else is done.
    pub fn refusal(&self) -> Option<(procedure::StepId, String)> {
        let acting = self.acting.as_ref()?;
        let (refused, _) = acting.model.refused.as_ref()?;
        let (step, _) = acting.model.run.offer(acting.model.seen).step?;
        Some((step, refused.to_string()))
    }

    /// What has come about by itself and waits for the person.
    pub fn happening(&self) -> Option<&specimen::Happening> {
        self.acting.as_ref().and_then(|acting| acting.happening.as_ref())
    }

    /// The session.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// The run on the specimen, if one is performed.
    pub fn run(&self) -> Option<&engine::Run> {
        self.acting.as_ref().map(|acting| &acting.model.run)
    }

    /// What is seen of the specimen at `now`, where something is read.
    pub fn shown(&self, now: Tick) -> Option<specimen::Shown> {
        self.acting.as_ref().and_then(|acting| acting.shown(self.clock.tick(now)))
    }

    /// Whether everything tried is on the disk.
    pub fn is_kept(&self) -> bool {
        self.kept.awaited == 0 && self.kept.in_memory == 0 && self.kept.failed.is_none()
    }

    /// Whether a run is under way on the specimen, or about to be begun.
    pub(crate) fn is_on_run(&self) -> bool {
        let is_over = |acting: &Acting| {
            matches!(acting.model.run.phase(), engine::Phase::Finished | engine::Phase::Closed { .. })
        };
        self.bench.is_some() && !self.is_only_trial_ahead() && !self.acting.as_ref().is_some_and(is_over)
    }

    fn is_only_trial_ahead(&self) -> bool {
        matches!(self.session.due(), Due::TrialAhead(_))
    }

    /// The act an item belongs to, as the procedure says it.
    pub(crate) fn act_of(&self, item: &str) -> String {
        let step = item.split_once('#').map_or(item, |(step, _)| step);
        let mut steps = self.session.decks().iter().flat_map(practice::Deck::steps);
        steps.find(|known| known.key == step).map_or(step, |known| known.instruction.as_str()).to_owned()
    }

    /// Whether the timed run is under way.
    pub(crate) fn is_trial(&self) -> bool {
        self.trial_since.is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_concrete_waits_while_somebody_reads_and_goes_on_while_they_act() {
        let mut clock = RunClock::new();
        assert_eq!(clock.tick(Tick(5_000)), Tick(0), "nothing was begun");
        clock.go(Tick(5_000));
        assert_eq!(clock.tick(Tick(7_000)), Tick(2_000));
        clock.stop(Tick(7_000));
        clock.stop(Tick(9_000));
        assert_eq!(clock.tick(Tick(60_000)), Tick(2_000));
        clock.go(Tick(60_000));
        clock.go(Tick(61_000));
        assert_eq!(clock.tick(Tick(61_000)), Tick(3_000), "it was running already");
    }

    #[test]
    fn waiting_made_shorter_loses_no_moment_and_ends_when_it_says() {
        let mut clock = RunClock::new();
        clock.go(Tick(1_000));
        clock.set_rate(20, Tick(2_000));
        assert_eq!(clock.tick(Tick(2_000)), Tick(1_000));
        assert_eq!(clock.tick(Tick(4_000)), Tick(41_000));
        for due in [1_001, 1_020, 45_000] {
            let when = clock.when(Tick(due)).unwrap();
            assert!(clock.tick(when) >= Tick(due) && clock.tick(Tick(when.0 - 1)) < Tick(due), "{due}");
        }
        clock.set_rate(1, Tick(4_000));
        assert_eq!(clock.tick(Tick(5_000)), Tick(42_000));
        clock.jump(quantity::Span::from_secs(300));
        assert_eq!(clock.tick(Tick(5_000)), Tick(342_000), "somebody was called away");
    }
}
