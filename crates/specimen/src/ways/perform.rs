//! An ideal technician: every act at its time and in its order, and whatever is told.
//!
//! Here: taking the next right thing until the run is closed. Not here: what is read and what goes wrong; that is told.
//!
//! **Invariant:** everything goes through [`Run::apply`]; the same edition and way give the same events at the same
//! moments.

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::{Act, Entry, Event, Moment, Phase, Refused, Run, Tick, Wall};
use procedure::expr::{Datum, Expr, Facts};
use procedure::{Consequence, Edition, ReadingId, ReadingKind, Step, StepId, TableId, ValueId, Wants};
use quantity::{Exact, Span, Ties};

use super::{Branch, Tell, Told, Way, meets_with};

/// More acts than any run of a sound procedure needs: 500 steps, each a few acts, several attempts.
const ACTS_AT_MOST: usize = 20_000;
/// Answers one reading may be given in one visit before the attempt is given up.
const ANSWERS_AT_MOST: u16 = 4;
/// How long an act takes whose time the procedure does not state, ms.
const ACT_MS: u64 = 2_000;
/// From one thing to the next inside of one act: another reading of a set, taking note of something, ms.
const BEAT_MS: u64 = 1_000;
/// A technician stays in the limited position so long, where that is allowed, ms.
const DOWN_MS: u64 = 3_000;

/// A way as it was performed.
#[derive(Clone, Debug)]
pub struct Performed {
    /// The run, closed.
    pub run: Run,
    /// Whether the branch of the way came about.
    pub met: bool,
    /// How many events of [`log`](Self::log) it took.
    pub at: Option<usize>,
    /// Every accepted event with its moment.
    pub log: Vec<(Event, Moment)>,
    /// What was refused on the way: only what the branch is about.
    pub refused: Vec<Refusal>,
}

/// An act that was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// In which step.
    pub step: StepId,
    /// Which rule of the step refused it, by its place, where it was a rule and somebody looked.
    pub rule: Option<u16>,
    /// What was said.
    pub because: String,
    /// How many events had been accepted before it.
    pub after: usize,
}

/// Performs `way` from beginning to end. What it does not tell, an ordinary technician would see or do.
pub fn perform(edition: &Arc<Edition>, way: &Way) -> Performed {
    let technician = Technician::new(edition, way.branch.clone(), Script::of(way)).work();
    let Technician { run, met_at, log, refused, .. } = technician;
    Performed { run, met: met_at.is_some(), at: met_at, log, refused }
}

/// One opening of one step.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Place {
    pub attempt: u16,
    pub step: StepId,
    pub visit: u16,
}

/// Who tells the technician what is so.
pub(super) trait Teller {
    /// What a reading is.
    fn entry(&mut self, scene: &Scene<'_>, reading: ReadingId, nth: u16) -> Entry;
    /// What else is so at a place.
    fn told(&mut self, scene: &Scene<'_>) -> Vec<Told>;
    /// Whether the next attempt is begun.
    fn goes_on(&mut self, run: &Run, is_met: bool) -> bool;
}

/// Where the technician stands.
pub(super) struct Scene<'a> {
    pub run: &'a Run,
    pub place: Place,
    pub is_met: bool,
}

/// What is told, found by its place.
struct Script {
    values: BTreeMap<(Place, ReadingId, u16), Entry>,
    others: BTreeMap<Place, Vec<Told>>,
    last_attempt: u16,
}

impl Script {
    fn of(way: &Way) -> Self {
        let mut script = Self { values: BTreeMap::new(), others: BTreeMap::new(), last_attempt: 1 };
        for tell in &way.tells {
            let Tell { attempt, step, visit, nth, told } = tell;
            let place = Place { attempt: *attempt, step: *step, visit: *visit };
            script.last_attempt = script.last_attempt.max(*attempt);
            match told {
                Told::Value { reading, entry } => {
                    script.values.insert((place, *reading, *nth), entry.clone());
                }
                other => script.others.entry(place).or_default().push(other.clone()),
            }
        }
        script
    }
}

impl Teller for Script {
    fn entry(&mut self, scene: &Scene<'_>, reading: ReadingId, nth: u16) -> Entry {
        let key = |nth: u16| (scene.place, reading, nth);
        let told = self.values.get(&key(nth)).or_else(|| Some(self.values.range(key(0)..=key(nth)).next_back()?.1));
        told.cloned().unwrap_or_else(|| ordinary(scene.run.edition(), reading))
    }
    fn told(&mut self, scene: &Scene<'_>) -> Vec<Told> {
        self.others.get(&scene.place).cloned().unwrap_or_default()
    }
    fn goes_on(&mut self, run: &Run, _is_met: bool) -> bool {
        run.attempt() < self.last_attempt
    }
}

/// What is usual for a number on an ordinary job: as the procedure has it, else the middle of the instrument.
pub(super) fn typical(reading: &procedure::Reading) -> Option<(quantity::Decimal, quantity::Decimal)> {
    let ReadingKind::Number(scale) = &reading.kind else { return None };
    reading.typical.or_else(|| {
        let half = (&quantity::Exact::from(scale.max) + &quantity::Exact::from(scale.min))
            .checked_div(&quantity::Exact::from_int(2))?;
        let middle = scale.check(&half.rounded_to(&quantity::Exact::from(scale.step), Ties::Even)).ok()?;
        Some((middle, middle))
    })
}

/// What is answered where nothing is told.
pub(super) fn ordinary(edition: &Edition, reading: ReadingId) -> Entry {
    let spec = edition.reading(reading);
    match &spec.kind {
        ReadingKind::Number(scale) => Entry::Number(typical(spec).map_or(scale.min, |(low, _)| low)),
        ReadingKind::Choice(_) => Entry::Choice(0),
        ReadingKind::Words => Entry::Words("practice".to_owned()),
        ReadingKind::Tally { .. } => Entry::One,
    }
}

/// A technician at work.
pub(super) struct Technician<T> {
    pub run: Run,
    pub teller: T,
    /// What was told and used, in order.
    pub tells: Vec<Tell>,
    pub met_at: Option<usize>,
    pub log: Vec<(Event, Moment)>,
    pub refused: Vec<Refusal>,
    branch: Branch,
    now: Tick,
    here: Option<Here>,
}

/// What has been done at the open step.
struct Here {
    place: Place,
    lasts: Option<Span>,
    down: Option<Span>,
    incident: Option<u16>,
    answers: BTreeMap<ReadingId, u16>,
    /// The answer that was refused last.
    refused: Option<Entry>,
}

impl<T: Teller> Technician<T> {
    pub(super) fn new(edition: &Arc<Edition>, branch: Branch, teller: T) -> Self {
        Self {
            run: Run::open(edition.clone(), Ties::Even, Moment::default()),
            teller,
            tells: Vec::new(),
            met_at: None,
            log: Vec::new(),
            refused: Vec::new(),
            branch,
            now: Tick(0),
            here: None,
        }
    }

    /// Works until the run is closed.
    pub(super) fn work(mut self) -> Self {
        for _ in 0..ACTS_AT_MOST {
            if matches!(self.run.phase(), Phase::Closed { .. }) || !self.act() {
                break;
            }
        }
        self
    }

    /// One act. False if nothing more can be done.
    fn act(&mut self) -> bool {
        match self.run.phase() {
            Phase::AtStep => self.at_step(),
            Phase::Ended | Phase::Finished => {
                let may = matches!(self.run.offer(self.now).act, Act::Again);
                self.wait(BEAT_MS);
                let goes_on = may && self.teller.goes_on(&self.run, self.met_at.is_some());
                self.apply(if goes_on { Event::Again } else { Event::Close }).is_ok()
            }
            Phase::Closed { .. } => false,
        }
    }

    fn at_step(&mut self) -> bool {
        let Some((step, _)) = self.run.offer(self.now).step else { return false };
        let attempt = self.run.attempt();
        let passed = self.run.passed().iter().filter(|done| done.attempt == attempt && done.step == step).count();
        let place = Place { attempt, step, visit: u16::try_from(passed).unwrap_or(u16::MAX) };
        if self.here.as_ref().is_none_or(|here| here.place != place) {
            return self.arrive(place);
        }
        let Some(here) = &self.here else { return false };
        if let Some(incident) = here.incident {
            self.wait(BEAT_MS);
            return self.apply(Event::Incident { incident }).is_ok();
        }
        self.next_thing(place)
    }

    /// A step has been opened: what is told of it comes about.
    fn arrive(&mut self, place: Place) -> bool {
        let scene = Scene { run: &self.run, place, is_met: self.met_at.is_some() };
        let all = self.teller.told(&scene);
        let mut here = Here { place, lasts: None, down: None, incident: None, answers: BTreeMap::new(), refused: None };
        let mut adds = 0;
        for told in all {
            match told {
                Told::Lasts { span } => here.lasts = Some(span),
                Told::Down { span } => here.down = Some(span),
                Told::Incident { incident } => here.incident = Some(incident),
                Told::Late { span } => self.wait(span.0),
                Told::Adds { n } => adds = n,
                Told::Value { .. } => continue,
            }
            self.tell(place, 0, told);
        }
        self.here = Some(here);
        let add = self.run.edition().step(place.step).add.as_ref().map(|add| add.reading);
        let Some(reading) = add else { return true };
        for _ in 0..adds {
            self.wait(BEAT_MS);
            if self.apply(Event::Add { step: place.step, reading }).is_err() {
                return false;
            }
        }
        true
    }

    fn next_thing(&mut self, place: Place) -> bool {
        let offer = self.run.offer(self.now);
        let id = place.step;
        let begun = offer.standing.begun;
        let n_turns = offer.standing.n_turns;
        let in_set = offer.standing.in_set;
        let act = match offer.act {
            Act::Answer(reading) => Next::Answer(reading),
            Act::Wait { until } => Next::Wait(until),
            Act::Turn { to_down } => Next::Turn { to_down },
            _ => Next::Press,
        };
        let step = self.run.edition().step(id).clone();
        let here = self.here.as_ref();
        let (lasts, down) = here.map_or((None, None), |here| (here.lasts, here.down));
        match act {
            Next::Answer(reading) => {
                let is_settle = matches!(step.wants, Wants::Settle(_));
                self.wait(if is_settle || in_set { BEAT_MS } else { act_ms(&step) });
                self.answer(place, reading)
            }
            Next::Wait(until) => {
                self.now = self.now.max(until);
                let Wants::Hold { .. } = &step.wants else { return true };
                if let (Some(span), Some(begun)) = (lasts, begun) {
                    self.now = self.now.max(begun.after(span));
                }
                self.press(id)
            }
            Next::Turn { to_down: true } => {
                self.wait(DOWN_MS);
                self.apply(Event::Turn { step: id }).is_ok()
            }
            Next::Turn { to_down: false } => {
                let most = match &step.wants {
                    Wants::Hold { turns: Some(turns), .. } => turns.down_at_most.0,
                    _ => DOWN_MS,
                };
                let down = down.filter(|_| n_turns <= 1).map_or(DOWN_MS.min(most), |span| span.0);
                self.wait(down);
                self.apply(Event::Turn { step: id }).is_ok()
            }
            Next::Press => {
                match (&step.wants, begun) {
                    (Wants::Timed { at_least, at_most, .. }, Some(begun)) => {
                        let middle = Span(at_least.0 / 2 + at_most.0 / 2);
                        self.now = self.now.max(begun.after(lasts.unwrap_or(middle)));
                    }
                    (Wants::Hold { .. }, Some(begun)) => {
                        self.now = self.now.max(begun.after(lasts.unwrap_or_default()));
                    }
                    (Wants::Hold { .. } | Wants::Timed { .. }, None) => self.wait(ACT_MS),
                    _ => self.wait(act_ms(&step)),
                }
                self.press(id)
            }
        }
    }

    /// The one press that does the next right thing; with a reason where the procedure says no.
    fn press(&mut self, id: StepId) -> bool {
        let Some(event) = self.run.press(self.now) else { return false };
        let is_done = matches!(event, Event::Done { .. });
        let Err(refused) = self.apply(event) else { return true };
        self.refuse(id, None, &refused);
        let despite = Event::Done { step: id, despite: Some("Practice".to_owned()) };
        (is_done && refused.may_be_overruled() && self.apply(despite).is_ok()) || self.give_up(&refused)
    }

    fn answer(&mut self, place: Place, reading: ReadingId) -> bool {
        let nth = self.here.as_ref().and_then(|here| here.answers.get(&reading)).copied().unwrap_or(0);
        let scene = Scene { run: &self.run, place, is_met: self.met_at.is_some() };
        let entry = self.teller.entry(&scene, reading, nth);
        let last = self.here.as_ref().and_then(|here| here.refused.clone());
        if let (Some(last), Some(refusal)) = (last, self.refused.last())
            && last == entry
        {
            // There is no other answer: the same would only be refused again.
            let reason = refusal.because.clone();
            return self.apply(Event::Discard { reason }).is_ok();
        }
        if !matches!(entry, Entry::Words(_)) {
            self.tell(place, nth, Told::Value { reading, entry: entry.clone() });
        }
        if let Some(here) = &mut self.here {
            here.answers.insert(reading, nth.saturating_add(1));
        }
        let seen = self.now;
        let event = |despite| Event::Answer { step: place.step, reading, entry: entry.clone(), seen, despite };
        let Err(refused) = self.apply(event(None)) else {
            if let Some(here) = &mut self.here {
                here.refused = None;
            }
            return true;
        };
        if let Some(here) = &mut self.here {
            here.refused = Some(entry.clone());
        }
        let rule = self.rule_against(place.step, reading, &entry, &refused);
        self.refuse(place.step, rule, &refused);
        if self.is_need(place.step, &refused) {
            return self.apply(event(Some("Practice".to_owned()))).is_ok() || self.give_up(&refused);
        }
        nth < ANSWERS_AT_MOST || self.give_up(&refused)
    }

    /// Whether a refusal is one that no other answer can change.
    fn is_need(&self, step: StepId, refused: &Refused) -> bool {
        let said = refused.to_string();
        self.run.edition().step(step).needs.iter().any(|need| super::meet::fits(&need.because, &said))
    }

    /// Which rule refused an answer: the first whose condition holds with it.
    fn rule_against(&self, step: StepId, reading: ReadingId, entry: &Entry, refused: &Refused) -> Option<u16> {
        let Refused::Rule { .. } = refused else { return None };
        let with = With { run: &self.run, reading, entry };
        let rules = (0..).zip(&self.run.edition().step(step).rules);
        let mut refusing = rules.filter(|(_, rule)| matches!(rule.then, Consequence::Refuse(_)));
        refusing.find(|(_, rule)| rule.when.eval(&with).holds()).map(|(at, _)| at)
    }

    fn refuse(&mut self, step: StepId, rule: Option<u16>, refused: &Refused) {
        self.refused.push(Refusal { step, rule, because: refused.to_string(), after: self.log.len() });
        self.look();
    }

    /// Nothing else helps: the attempt is given up, so that the run ends.
    fn give_up(&mut self, refused: &Refused) -> bool {
        self.apply(Event::Discard { reason: refused.to_string() }).is_ok()
    }

    fn tell(&mut self, place: Place, nth: u16, told: Told) {
        let Place { attempt, step, visit } = place;
        self.tells.push(Tell { attempt, step, visit, nth, told });
    }

    fn wait(&mut self, ms: u64) {
        self.now = self.now.after(Span(ms));
    }

    fn apply(&mut self, event: Event) -> Result<(), Refused> {
        let unix_ms = i64::try_from(self.now.0).unwrap_or(i64::MAX);
        let at = Moment { tick: self.now, wall: Wall { unix_ms, ..Wall::default() } };
        self.run.apply(event.clone(), at)?;
        self.log.push((event, at));
        self.look();
        Ok(())
    }

    fn look(&mut self) {
        if self.met_at.is_none() && meets_with(&self.run, &self.refused, &self.branch) {
            self.met_at = Some(self.log.len());
        }
    }
}

/// A run together with an answer that was not taken.
struct With<'a> {
    run: &'a Run,
    reading: ReadingId,
    entry: &'a Entry,
}

impl Facts for With<'_> {
    fn reading(&self, id: ReadingId) -> Datum {
        let entry = if id == self.reading { Some(self.entry) } else { self.run.latest(id).map(|taken| &taken.entry) };
        datum(entry)
    }
    fn was(&self, id: ReadingId) -> Datum {
        let before = |taken: &&engine::Taken| taken.attempt + 1 == self.run.attempt() && taken.reading == id;
        datum(self.run.taken().iter().rev().find(before).map(|taken| &taken.entry))
    }
    fn sum(&self, id: ReadingId) -> Exact {
        let so_far = self.run.tally(id);
        match self.entry {
            Entry::Number(value) if id == self.reading => &so_far + &Exact::from(*value),
            _ => so_far,
        }
    }
    fn round(&self) -> u32 {
        u32::from(self.run.offer(self.run.last().tick).round)
    }
    fn attempt(&self) -> u32 {
        u32::from(self.run.attempt())
    }
    fn formula(&self, id: ValueId) -> &Expr {
        &self.run.edition().values[usize::from(id.0)].is
    }
    fn table(&self, id: TableId, at: &Exact) -> Option<Exact> {
        self.run.edition().tables[usize::from(id.0)].at(at)
    }
}

/// What an entry is in a formula.
pub(super) fn datum(entry: Option<&Entry>) -> Datum {
    match entry {
        Some(Entry::Number(value)) => Datum::Number(Exact::from(*value)),
        Some(Entry::Choice(at)) => Datum::Choice(*at),
        Some(Entry::Words(_)) => Datum::Truth(true),
        Some(Entry::One) => Datum::Number(Exact::one()),
        None => Datum::Unknown,
    }
}

enum Next {
    Answer(ReadingId),
    Wait(Tick),
    Turn { to_down: bool },
    Press,
}

/// How long a practised person takes.
fn act_ms(step: &Step) -> u64 {
    step.lasts.map_or(ACT_MS, |lasts| lasts.typical.0)
}
