//! A session of practice as a state machine a screen drives.
//!
//! Here: what is to be shown now ([`Session::due`]) and what follows from what the person did. Not here: the screen, the
//! run on the virtual specimen (the screen performs it and reports how it went), and the file (what is to be kept comes
//! back from every call as entries).
//!
//! | due | what the screen does | then calls |
//! | --- | --- | --- |
//! | [`Due::Tell`] | shows the act (or a number) that is to be learnt | [`Session::go_on`] |
//! | [`Due::Ask`] | shows the question, takes an answer | [`Session::answer`] |
//! | [`Due::Explain`] | shows what was right and why | [`Session::go_on`], or [`Session::take_back`] |
//! | [`Due::Perform`] | lets the person do the step on the run, the instruction shown or not | [`Session::performed`] |
//! | [`Due::TrialAhead`] | says that a timed run without help follows; opens a fresh run on a fresh specimen | [`Session::go_on`] |
//! | [`Due::Finished`] | shows the summary | nothing |
//!
//! **A method** is walked step by step, as the run goes. By the level of help of each act:
//!
//! | level | what happens |
//! | --- | --- |
//! | shown | Tell, Perform (shown); done without a refusal is a right try |
//! | shown after a try | Ask, Explain, Perform (shown) |
//! | stage name only | Ask, Explain, Perform (not shown) |
//! | nothing | Ask, Explain, Perform (not shown) |
//!
//! Its numbers, where they are due, are asked once the run is over. After a wrong try the act is shown while it is done. An act that comes again in a later
//! round is not asked again, unless it was missed. When the run is over, what was missed or told comes back, and then
//! follows the timed run: every act asked without help and without a word about right or wrong, done, and scored as an
//! examiner would: every act, at the first try, with no refusal and no finding.
//!
//! **Today** asks what is due over all methods, without a run. What is shown for the first time is told and asked after at
//! least three others.
//!
//! What was missed comes back within the session after at least three other questions, three times at most. Where nothing
//! else is left to ask, what is most forgotten of the rest is asked in between; only who knows hardly anything yet is
//! asked again sooner. Once the minutes are over nothing new is begun, and a miss that would have to wait waits for
//! tomorrow.
//!
//! ```
//! use engine::{Moment, Tick};
//! use practice::history::History;
//! use practice::{Answer, Deck, Due, Mode, Onward, Performance, Session};
//!
//! # let text = include_str!("../../../../procedures/slump.toml");
//! # let procedure = procedure::check("slump.toml", text).procedure.unwrap();
//! # let edition = procedure.edition(quantity::System::InchPound).unwrap();
//! # let mut now_ms = 0;
//! # let mut now = || { now_ms += 2_000; Moment { tick: Tick(now_ms), ..Moment::default() } };
//! let mut history = History::default();
//! let mode = Mode::Method { method: "slump".to_owned(), trial: true };
//! let mut session = Session::new(vec![Deck::of(edition)], history.clone(), mode, 7, now()).unwrap();
//! loop {
//!     let kept = match session.due() {
//!         Due::Tell(_) | Due::Explain(_) | Due::TrialAhead(_) => session.go_on(now()).unwrap(),
//!         Due::Ask(_) => session.answer(&Answer::Choice(0), now()).unwrap(), // always the first one
//!         Due::Perform(perform) => {
//!             let step = perform.step.clone();
//!             session.performed(&step, Performance::default(), Onward::InOrder, now()).unwrap()
//!         }
//!         Due::Finished(summary) => {
//!             let trial = summary.trial.as_ref().unwrap();
//!             assert!(!trial.passed(), "the first answer is seldom right");
//!             break;
//!         }
//!     };
//!     kept.into_iter().for_each(|entry| history.add(entry)); // and append them to the file
//! }
//! ```
//!
//! **Invariant:** the same decks, history, mode and seed with the same calls give the same session. Nothing is judged
//! twice, and a call that does not fit changes nothing.

mod due;
mod trial;

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use engine::Moment;

use crate::deck::{Deck, Kind};
use crate::help::Help;
use crate::history::{Entry, History, Performed, Share, TakenBack, Tried, When};
use crate::question::{Answer, Question, judge};
use crate::queue::{Limits, Queued, Why, queue};
use crate::schedule::Schedule;
use crate::standing::Standings;
pub use due::{
    Due, Explained, Mode, NotNow, NothingToPractise, Onward, Perform, Performance, Summary, Tell, TrialAhead,
};
use trial::TrialRun;

/// So many other questions lie between a miss and its return.
pub const OTHERS_BETWEEN: u64 = 3;
/// What was missed comes back so often in one session; then it is left for another day.
pub const RETURNS_AT_MOST: u32 = 3;

/// What was one of the last so many questions is not asked in between.
const SEEN_LATELY: usize = 8;

/// A session of practice.
#[derive(Clone, Debug)]
pub struct Session {
    decks: Vec<Deck>,
    history: History,
    standings: Standings,
    seed: u64,
    phase: Phase,
    due: Due,
    /// When what is due was shown.
    shown_at: Moment,
    begun_at: Moment,
    /// Questions asked so far, to count what lies between.
    n_asked: u64,
    /// The keys asked last.
    recent: VecDeque<String>,
    pending: VecDeque<Todo>,
    walk: Walk,
    returns: Vec<Return>,
    n_returns: BTreeMap<String, u32>,
    /// Keys whose last try in this session was wrong, with the right answer; and those that were put right since.
    missed: BTreeMap<String, String>,
    put_right: BTreeSet<String>,
    queue: VecDeque<Queued>,
    used_ms: u64,
    budget_ms: u64,
    trial: Option<TrialRun>,
    wants_trial: bool,
    summary: Summary,
}

#[derive(Copy, Clone, Debug, PartialEq, Eq)]
enum Phase {
    Walk,
    Recall,
    Trial,
    Over,
}

/// Where the walk through a method stands.
#[derive(Clone, Debug, Default)]
struct Walk {
    deck: usize,
    step: usize,
    /// Acts and numbers that had their turn.
    had: BTreeSet<String>,
    /// Whether the act is shown while it is done.
    shows: bool,
    /// Whether doing it is the try, because it was told.
    is_try: bool,
}

#[derive(Clone, Debug)]
enum Todo {
    Tell { deck: usize, keys: Vec<String>, why: Option<Why> },
    Ask { deck: usize, key: String, help: Help, is_told: bool },
    Perform,
}

/// Something that comes back.
#[derive(Clone, Debug)]
struct Return {
    deck: usize,
    key: String,
    /// Not before so many questions were asked.
    from: u64,
    /// Told just before: the try counts as one with the act shown.
    is_told: bool,
}

impl Session {
    /// A session over `decks`. For a method and a trial only its own deck counts.
    ///
    /// # Errors
    ///
    /// [`NothingToPractise`]: the method is not among the decks, or nothing is due.
    pub fn new(
        decks: Vec<Deck>,
        history: History,
        mode: Mode,
        seed: u64,
        at: Moment,
    ) -> Result<Self, NothingToPractise> {
        let standings = Standings::of(&history, Schedule::default());
        let find = |method: &str| {
            let deck = decks.iter().position(|deck| deck.id == method);
            deck.ok_or_else(|| NothingToPractise::NoSuchMethod { method: method.to_owned() })
        };
        let mut walk = Walk::default();
        let mut summary = Summary::default();
        let mut queued = VecDeque::new();
        let mut budget_ms = 0;
        let (phase, wants_trial) = match &mode {
            Mode::Method { method, trial } => {
                walk.deck = find(method)?;
                (Phase::Walk, *trial)
            }
            Mode::Trial { method } => {
                walk.deck = find(method)?;
                (Phase::Recall, true)
            }
            Mode::Today { minutes } => {
                let due = queue(&decks, &standings, When::from(at).day(), *minutes, &Limits::default());
                if due.items.is_empty() {
                    return Err(NothingToPractise::NothingDue);
                }
                summary.left_over = due.left_over;
                queued.extend(due.items);
                budget_ms = u64::from(*minutes) * 60_000;
                (Phase::Recall, false)
            }
        };
        let mut session = Self {
            decks,
            history,
            standings,
            seed,
            phase,
            due: Due::Finished(Box::default()),
            shown_at: at,
            begun_at: at,
            n_asked: 0,
            recent: VecDeque::new(),
            pending: VecDeque::new(),
            walk,
            returns: Vec::new(),
            n_returns: BTreeMap::new(),
            missed: BTreeMap::new(),
            put_right: BTreeSet::new(),
            queue: queued,
            used_ms: 0,
            budget_ms,
            trial: None,
            wants_trial,
            summary,
        };
        if phase == Phase::Walk {
            session.enter(0);
        }
        session.advance(at);
        Ok(session)
    }

    /// What is to be shown now.
    pub fn due(&self) -> &Due {
        &self.due
    }

    /// How far the session has come: so much of so much. It grows when something has to come back.
    pub fn place(&self) -> (usize, usize) {
        let back = self.returns.len();
        match self.phase {
            Phase::Walk | Phase::Trial => (self.walk.step, self.decks[self.walk.deck].steps().len()),
            Phase::Recall => {
                let done = usize::try_from(self.n_asked).unwrap_or(usize::MAX);
                (done, done.saturating_add(self.queue.len() + back))
            }
            Phase::Over => (1, 1),
        }
    }

    /// The tries of this session so far, those of the timed run left out.
    pub fn so_far(&self) -> Share {
        self.summary.tries
    }

    /// The methods it is about.
    pub fn decks(&self) -> &[Deck] {
        &self.decks
    }

    /// The history with what this session added.
    pub fn history(&self) -> &History {
        &self.history
    }

    /// How everything stands with what this session added.
    pub fn standings(&self) -> &Standings {
        &self.standings
    }

    /// Goes on after something was told or explained, or begins the timed run.
    ///
    /// # Errors
    ///
    /// [`NotNow`] while an answer or an act is wanted, or after the end.
    pub fn go_on(&mut self, at: Moment) -> Result<Vec<Entry>, NotNow> {
        match &self.due {
            Due::Tell(_) | Due::Explain(_) => {
                self.use_time(at);
                self.advance(at);
                Ok(Vec::new())
            }
            Due::TrialAhead(_) => {
                self.trial = Some(TrialRun::begun(at));
                self.phase = Phase::Trial;
                self.wants_trial = false;
                self.enter(0);
                self.advance(at);
                Ok(Vec::new())
            }
            _ => Err(self.not_now()),
        }
    }

    /// Takes an answer to the question that is due.
    ///
    /// # Errors
    ///
    /// [`NotNow`] if no question is due.
    pub fn answer(&mut self, answer: &Answer, at: Moment) -> Result<Vec<Entry>, NotNow> {
        let Due::Ask(question) = self.due.clone() else { return Err(self.not_now()) };
        let took_ms = at.tick.since(self.shown_at.tick).0;
        self.use_time(at);
        self.n_asked += 1;
        self.recent.push_back(question.item.clone());
        if self.recent.len() > SEEN_LATELY {
            self.recent.pop_front();
        }
        let judged = judge(&question, answer);
        let level = self.standings.level(&question.item);
        let tried = Tried {
            at: When::from(at),
            item: question.item.clone(),
            help: question.help,
            right: judged.right,
            slip: judged.slip,
            took_ms,
        };
        let entry = Entry::Tried(tried);
        self.keep(entry.clone());
        let kept = vec![entry];
        if self.phase == Phase::Trial {
            let step = self.walk.step;
            let key = self.decks[self.walk.deck].steps()[step].key.clone();
            if let Some(trial) = &mut self.trial {
                trial.answered(&key, &question, answer, &judged);
            }
            self.advance(at);
            return Ok(kept);
        }
        self.summary.tries.count(judged.right);
        if question.help == Help::Nothing {
            self.summary.unhinted.count(judged.right);
        }
        if judged.right {
            if self.missed.remove(&question.item).is_some() {
                self.put_right.insert(question.item.clone());
            }
        } else {
            self.put_right.remove(&question.item);
            self.missed.insert(question.item.clone(), judged.right_answer.clone());
            self.comes_back(&question.item, false);
            self.walk.shows = true;
        }
        let after = self.standings.level(&question.item);
        let given = given(&question, answer);
        self.due = Due::Explain(Box::new(Explained { question, given, judged, level: (level, after) }));
        self.shown_at = at;
        Ok(kept)
    }

    /// Takes the last answer back: it was a slip of the finger. The try does not count; since the answer has been seen by
    /// now, the question comes back later, as one whose answer was shown.
    ///
    /// # Errors
    ///
    /// [`NotNow`] unless an explanation is shown. In a timed run nothing is taken back.
    pub fn take_back(&mut self, at: Moment) -> Result<Vec<Entry>, NotNow> {
        let Due::Explain(explained) = &self.due else { return Err(self.not_now()) };
        let (item, right, help) = (explained.question.item.clone(), explained.judged.right, explained.question.help);
        let entry = Entry::TakenBack(TakenBack { at: When::from(at), item: item.clone() });
        self.history.add(entry.clone());
        self.standings = Standings::of(&self.history, Schedule::default());
        let uncount = |share: &mut Share| {
            share.of -= 1;
            share.right -= u32::from(right);
        };
        uncount(&mut self.summary.tries);
        if help == Help::Nothing {
            uncount(&mut self.summary.unhinted);
        }
        self.missed.remove(&item);
        self.put_right.remove(&item);
        self.returns.retain(|back| back.key != item);
        self.comes_back(&item, true);
        self.walk.shows = true;
        self.use_time(at);
        self.advance(at);
        Ok(vec![entry])
    }

    /// Takes how the step that is due went on the run, and where the run goes on.
    ///
    /// # Errors
    ///
    /// [`NotNow`] if no step or another one is due, or the run went on at a step the method does not have.
    pub fn performed(
        &mut self,
        step: &str,
        performance: Performance,
        onward: Onward,
        at: Moment,
    ) -> Result<Vec<Entry>, NotNow> {
        let Due::Perform(perform) = &self.due else { return Err(self.not_now()) };
        if perform.step != step {
            return Err(NotNow::OtherStep { step: perform.step.clone() });
        }
        let shown = perform.shown;
        let deck = &self.decks[self.walk.deck];
        let next = match &onward {
            Onward::InOrder => (self.walk.step + 1 < deck.steps().len()).then_some(self.walk.step + 1),
            Onward::To(name) => match deck.step_named(name) {
                Some(next) => Some(next),
                None => return Err(NotNow::NoSuchStep { step: name.clone() }),
            },
            Onward::Over | Onward::GivenUp(_) => None,
        };
        let key = deck.steps()[self.walk.step].key.clone();
        let is_asked = deck.find(&key).is_some();
        let is_clean = performance.refusals.is_empty() && performance.findings.is_empty();
        let entry = Entry::Performed(Performed {
            at: When::from(at),
            item: key.clone(),
            shown,
            refusals: performance.refusals.clone(),
            findings: performance.findings.clone(),
            readings: performance.readings.clone(),
            took_ms: performance.took_ms,
        });
        self.keep(entry.clone());
        let mut kept = vec![entry];
        if let Some(trial) = &mut self.trial {
            trial.performed(&key, is_asked, &performance);
            if let Onward::GivenUp(because) = &onward {
                trial.given_up(&key, because);
            }
        } else {
            self.summary.performed.count(is_clean);
            performance.readings.iter().for_each(|reading| self.summary.readings.count(reading.right()));
            if self.walk.is_try {
                // The act was shown, and doing it is the try.
                let right = performance.refusals.is_empty();
                let took_ms = performance.took_ms;
                let at = When::from(at);
                let tried = Tried { at, item: key.clone(), help: Help::Shown, right, slip: None, took_ms };
                let entry = Entry::Tried(tried);
                self.keep(entry.clone());
                kept.push(entry);
                self.summary.tries.count(right);
                if !right {
                    let instruction = self.decks[self.walk.deck].steps()[self.walk.step].instruction.clone();
                    self.missed.insert(key.clone(), instruction);
                    self.comes_back(&key, false);
                }
            }
        }
        match next {
            Some(next) => self.enter(next),
            None => {
                self.pending.clear();
                match self.phase {
                    Phase::Trial => kept.extend(self.close_trial(None, at)),
                    _ => self.phase = Phase::Recall,
                }
            }
        }
        self.advance(at);
        Ok(kept)
    }

    /// The run stands at another step than the session: an act was taken back, or an entry corrected.
    ///
    /// # Errors
    ///
    /// [`NotNow`] outside of a walk, or if the method has no such step.
    pub fn run_is_at(&mut self, step: &str, at: Moment) -> Result<(), NotNow> {
        if !matches!(self.phase, Phase::Walk | Phase::Trial) {
            return Err(self.not_now());
        }
        let Some(next) = self.decks[self.walk.deck].step_named(step) else {
            return Err(NotNow::NoSuchStep { step: step.to_owned() });
        };
        if next != self.walk.step {
            self.enter(next);
            self.advance(at);
        }
        Ok(())
    }

    /// Ends the session here. What was tried stays; a timed run under way is kept as broken off.
    pub fn stop(&mut self, at: Moment) -> Vec<Entry> {
        let kept = self.close_trial(Some("stopped".to_owned()), at);
        if self.phase != Phase::Over {
            self.finish(at);
        }
        kept
    }

    fn not_now(&self) -> NotNow {
        let wanted = match &self.due {
            Due::Tell(_) | Due::Explain(_) => "go on first",
            Due::Ask(_) => "an answer is wanted first",
            Due::Perform(_) => "the step is to be done first",
            Due::TrialAhead(_) => "begin the timed run, or stop here",
            Due::Finished(_) => "the session is over",
        };
        NotNow::Wanted { wanted }
    }

    fn use_time(&mut self, at: Moment) {
        self.used_ms += at.tick.since(self.shown_at.tick).0;
        // A later call on the same moment counts nothing twice.
        self.shown_at = at;
    }

    fn keep(&mut self, entry: Entry) {
        self.standings.take(&entry);
        self.history.add(entry);
    }

    /// Puts an item where it comes back after some others.
    fn comes_back(&mut self, key: &str, is_told: bool) {
        let Some(deck) = self.decks.iter().position(|deck| deck.find(key).is_some()) else { return };
        if !is_told {
            let n = self.n_returns.entry(key.to_owned()).or_default();
            if *n >= RETURNS_AT_MOST {
                return;
            }
            *n += 1;
        }
        self.returns.push(Return { deck, key: key.to_owned(), from: self.n_asked + OTHERS_BETWEEN, is_told });
    }

    /// Makes the list of what is done at a step.
    fn enter(&mut self, step: usize) {
        self.pending.clear();
        self.walk.step = step;
        self.walk.shows = false;
        self.walk.is_try = false;
        let at = self.walk.deck;
        let deck = &self.decks[at];
        let key = deck.steps()[step].key.clone();
        let is_asked = deck.find(&key).is_some();
        if self.phase == Phase::Trial {
            if is_asked {
                self.pending.push_back(Todo::Ask { deck: at, key, help: Help::Nothing, is_told: false });
            }
            self.pending.push_back(Todo::Perform);
            return;
        }
        let level = self.standings.level(&key);
        // Words are only written down: nothing to learn, so it is simply shown.
        self.walk.shows = !is_asked || level.shows_while_acting();
        let today = When::from(self.shown_at).day();
        let (mut tell, mut later) = (Vec::new(), Vec::new());
        let wants = |kind: Kind| matches!(kind, Kind::Act | Kind::Number);
        for item in deck.items_of(step).filter(|item| wants(item.kind)) {
            if self.walk.had.contains(&item.key) && !(item.key == key && self.missed.contains_key(&key)) {
                continue;
            }
            let is_due = self.standings.get(&item.key).is_none_or(|standing| standing.due <= today);
            match self.standings.level(&item.key) {
                Help::Shown => tell.push(item.key.clone()),
                help if item.key == key => {
                    let key = key.clone();
                    self.pending.push_back(Todo::Ask { deck: at, key, help, is_told: false });
                }
                // Numbers are asked once the run is over: beside the act the one answer would tell the other.
                _ if is_due => later.push((item.key.clone(), false)),
                _ => {}
            }
        }
        self.walk.had.extend(deck.items_of(step).map(|item| item.key.clone()));
        self.walk.is_try = tell.contains(&key);
        later.extend(tell.iter().filter(|told| **told != key).map(|told| (told.clone(), true)));
        if !tell.is_empty() {
            self.pending.push_back(Todo::Tell { deck: at, keys: tell, why: None });
        }
        self.pending.push_back(Todo::Perform);
        for (key, is_told) in later {
            self.returns.push(Return { deck: at, key, from: self.n_asked, is_told });
        }
    }

    /// Finds what is due next.
    fn advance(&mut self, at: Moment) {
        self.shown_at = at;
        if self.phase == Phase::Over {
            return;
        }
        if self.pending.is_empty() && self.phase == Phase::Recall {
            self.recall();
        }
        match self.pending.pop_front() {
            Some(todo) => self.due = self.show(todo),
            None if self.wants_trial => {
                let deck = &self.decks[self.walk.deck];
                let acts = deck.items().iter().filter(|item| item.kind == Kind::Act).count();
                self.due = Due::TrialAhead(TrialAhead { method: deck.title.clone(), acts });
            }
            None => self.finish(at),
        }
    }

    /// What is asked next when no run is under way.
    fn recall(&mut self) {
        let has_time = self.budget_ms == 0 || self.used_ms < self.budget_ms;
        if !has_time {
            // What comes back may take a quarter of the time more; a miss that has to wait longer waits for tomorrow,
            // and what was told is still asked.
            let is_late = self.used_ms > self.budget_ms + self.budget_ms / 4;
            let n_asked = self.n_asked;
            self.returns.retain(|back| !is_late && (back.is_told || back.from <= n_asked));
            let left = self.queue.iter().filter(|queued| queued.why != Why::New).count();
            self.summary.left_over += left;
            self.queue.clear();
        }
        let ready = self.returns.iter().position(|back| back.from <= self.n_asked);
        if ready.is_none()
            && has_time
            && self.queue.is_empty()
            && !self.returns.is_empty()
            && let Some((deck, key)) = self.in_between()
        {
            let help = self.standings.level(&key);
            self.pending.push_back(Todo::Ask { deck, key, help, is_told: true });
            return;
        }
        // Where not even that is left it comes as late as it can.
        let latest = || {
            let first = self.returns.iter().enumerate().min_by_key(|(_, back)| back.from);
            first.map(|(at, _)| at).filter(|_| self.queue.is_empty())
        };
        if let Some(back) = ready.or_else(latest) {
            let back = self.returns.remove(back);
            let help = if back.is_told { Help::Shown } else { self.standings.level(&back.key) };
            self.pending.push_back(Todo::Ask { deck: back.deck, key: back.key, help, is_told: true });
            return;
        }
        let Some(queued) = self.queue.pop_front() else { return };
        match self.standings.level(&queued.item) {
            Help::Shown => {
                self.comes_back(&queued.item, true);
                let Queued { deck, item, why, .. } = queued;
                self.pending.push_back(Todo::Tell { deck, keys: vec![item], why: Some(why) });
            }
            help => self.pending.push_back(Todo::Ask { deck: queued.deck, key: queued.item, help, is_told: true }),
        }
    }

    /// What is most forgotten of all that was tried before, is beyond being shown, and was not asked just now.
    fn in_between(&self) -> Option<(usize, String)> {
        let day = When::from(self.shown_at).day();
        let is_free = |key: &str| {
            let waits = self.returns.iter().any(|back| back.key == key);
            let is_recent = self.recent.iter().any(|recent| recent == key);
            !waits && !is_recent && self.standings.level(key) > Help::Shown
        };
        let one_of = |deck: usize| self.decks[deck].items().iter().map(move |item| (deck, item));
        let decks = if self.budget_ms > 0 { 0..self.decks.len() } else { self.walk.deck..self.walk.deck + 1 };
        decks
            .flat_map(one_of)
            .filter(|(_, item)| is_free(&item.key))
            .filter_map(|(deck, item)| Some((self.standings.recall_per_mille(&item.key, day)?, deck, &item.key)))
            .min()
            .map(|(_, deck, key)| (deck, key.clone()))
    }

    fn show(&self, todo: Todo) -> Due {
        match todo {
            Todo::Tell { deck, keys, why } => Due::Tell(tell(&self.decks[deck], &keys, why)),
            Todo::Ask { deck, key, help, is_told } => {
                let deck = &self.decks[deck];
                // Another question each time, from one seed.
                let seed = self.seed.wrapping_add(self.n_asked.wrapping_mul(0x9e37_79b9));
                match deck.find(&key) {
                    Some(item) => Due::Ask(deck.question(item, help, is_told, seed)),
                    None => self.perform(),
                }
            }
            Todo::Perform => self.perform(),
        }
    }

    fn perform(&self) -> Due {
        let in_trial = self.phase == Phase::Trial;
        Due::Perform(Perform {
            step: self.decks[self.walk.deck].steps()[self.walk.step].id.clone(),
            shown: self.walk.shows && !in_trial,
            in_trial,
        })
    }

    fn close_trial(&mut self, broken_off: Option<String>, at: Moment) -> Vec<Entry> {
        let Some(trial) = self.trial.take() else { return Vec::new() };
        let deck = &self.decks[self.walk.deck];
        let trial = trial.scored(deck, self.seed, broken_off, at);
        self.summary.trial = Some(trial.clone());
        let entry = Entry::Trial(trial);
        self.keep(entry.clone());
        self.phase = Phase::Recall;
        vec![entry]
    }

    fn finish(&mut self, at: Moment) {
        self.phase = Phase::Over;
        self.summary.took_ms = at.tick.since(self.begun_at.tick).0;
        self.summary.still_missed = self.missed.iter().map(|(key, right)| (key.clone(), right.clone())).collect();
        self.summary.put_right = self.put_right.len();
        self.due = Due::Finished(Box::new(self.summary.clone()));
    }
}

fn given(question: &Question, answer: &Answer) -> Option<String> {
    match answer {
        Answer::Choice(at) => question.choices().get(*at).map(|choice| choice.text.clone()),
        Answer::Number(number) => Some(number.show(question)),
        Answer::NotKnown => None,
    }
}

fn tell(deck: &Deck, keys: &[String], why: Option<Why>) -> Tell {
    let items: Vec<_> = keys.iter().filter_map(|key| deck.find(key)).collect();
    let stage = items.first().and_then(|item| deck.stages.get(item.stage)).cloned().unwrap_or_default();
    let act = items.first().and_then(|item| item.step).map(|step| &deck.steps()[step]);
    let mut facts = Vec::new();
    let mut text = act.map(|act| act.instruction.clone());
    for item in items.iter().filter(|item| item.kind != Kind::Act) {
        let question = deck.question(item, Help::Shown, true, 0);
        let about = question.about.filter(|_| item.kind == Kind::Number && item.key.contains("#limit:"));
        let asked = about.map_or(question.prompt.clone(), |about| format!("{about}. {}", question.prompt));
        if item.kind == Kind::Incident {
            text = deck.question(item, Help::Shown, true, 0).about;
        }
        facts.push((asked, question.right_answer));
    }
    Tell {
        method: deck.title.clone(),
        stage,
        text: text.unwrap_or_default(),
        facts,
        why: act.and_then(|act| act.why.clone()),
        slip: act.and_then(|act| act.slip.clone()),
        caution: act.and_then(|act| act.caution.clone()),
        because: why,
    }
}
