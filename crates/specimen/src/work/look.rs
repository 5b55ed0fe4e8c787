//! What is seen at one place: which instrument it is, what the scenario tells, and how the acts so far changed it.

use engine::{Entry, Run, Tick};
use procedure::{Choice, Consequence, ReadingId, ReadingKind, StepId, Wants};
use quantity::{Decimal, Exact, Scale, Span};

use super::Specimen;
use super::place::Place;
use super::seen::{Seen, datum};
use crate::chance::Chance;
use crate::model::{self, Agitation, Alcohol, Held, Lift, Told};
use crate::shown::{Shape, Shown};

/// Marks tried across the range, at least if there are so many, where nothing is told and the usual ones are refused.
const TRIED: u64 = 200;

impl Specimen {
    pub(super) fn look(&self, run: &Run, place: &Place, reading: ReadingId, now: Tick) -> Shown {
        let asked = self.edition.reading(reading);
        match &asked.kind {
            ReadingKind::Number(scale) => match asked.instrument.as_deref() {
                Some("neck") => self.neck(run, place, reading, scale, now),
                Some("gauge") => self.gauge(run, place, reading, scale, now),
                Some("thermometer") => self.thermometer(run, place, reading, scale, now),
                Some("cone") => self.rule(run, place, reading, scale, now),
                Some("balance") => self.balance(run, place, reading, scale),
                None if is_mass(scale) => self.balance(run, place, reading, scale),
                _ => self.paper(run, place, reading, now),
            },
            ReadingKind::Words => self.paper(run, place, reading, now),
            ReadingKind::Choice(choices) => {
                if names_shear(choices)
                    && let Some((cone, scale)) = self.cone()
                {
                    let at = self.place(run, cone).map_or(*place, |at| Place { attempt: place.attempt, ..at });
                    return self.rule(run, &at, cone, &scale, now);
                }
                let label = match self.written(run, place, reading, now) {
                    Some(Entry::Choice(at)) => choices.get(usize::from(at)).map(|choice| choice.label.clone()),
                    _ => None,
                };
                Shown::Sight { says: label.unwrap_or_default() }
            }
            ReadingKind::Tally { .. } => {
                let n = run.tally(reading).show_short();
                Shown::Sight { says: format!("Counted so far: {n}") }
            }
        }
    }

    fn paper(&self, run: &Run, place: &Place, reading: ReadingId, now: Tick) -> Shown {
        let lines = self.written(run, place, reading, now).map(|entry| run.show(reading, &entry));
        Shown::Paper { title: run.say(&self.edition.reading(reading).ask), lines: lines.into_iter().collect() }
    }

    /// The entry that is written down or seen, for what is no drawn instrument.
    pub(super) fn written(&self, run: &Run, place: &Place, reading: ReadingId, now: Tick) -> Option<Entry> {
        match &self.edition.reading(reading).kind {
            ReadingKind::Number(scale) => Some(Entry::Number(self.number(run, place, reading, scale))),
            ReadingKind::Words => Some(match self.told(place, reading).map(|told| told.entry) {
                Some(Entry::Words(words)) => Entry::Words(words.clone()),
                _ => Entry::Words(format!("Practice {}", 100 + self.chance(place, reading, "words").below(900))),
            }),
            ReadingKind::Choice(choices) => self.choice(run, place, reading, choices, now).map(Entry::Choice),
            ReadingKind::Tally { .. } => None,
        }
    }

    // ------------------------------------------------------------------ instruments

    fn neck(&self, run: &Run, place: &Place, reading: ReadingId, scale: &Scale, now: Tick) -> Shown {
        let (level, foam) = self.level_and_foam(reading);
        let agitation = self.agitation(run, place, now);
        let alcohol = self.alcohol(run, place);
        let settling = now.since(place.opened);
        let level_scale = self.scale(level).unwrap_or(scale);
        let told = self.moving(run, place, level, level_scale, now);
        let beyond = self.beyond(run, place, level);
        let rest = self.rest(place, level);
        let shown = model::level(level_scale, told, beyond, &agitation, alcohol, settling, rest);
        let foam = foam.and_then(|foam| {
            let scale = self.scale(foam)?;
            let told = self.moving(run, place, foam, scale, now);
            Some(model::foam(scale, told, alcohol, settling, self.rest(place, foam)))
        });
        Shown::Neck { scale: level_scale.clone(), level: shown, foam: foam.unwrap_or_default() }
    }

    fn gauge(&self, run: &Run, place: &Place, reading: ReadingId, scale: &Scale, now: Tick) -> Shown {
        let told = self.moving(run, place, reading, scale, now);
        let stage = self.edition.step(place.step).stage;
        let mut cooled = Vec::new();
        let mut too_few = false;
        for passed in self.done_before(run, place, now) {
            let step = self.edition.step(passed.step);
            match &step.wants {
                _ if step.stage != stage => {}
                Wants::Hold { at_least, turns: None, .. } => {
                    cooled.push(Held { lasted: lasted(passed), least: *at_least });
                }
                Wants::Count { of, at_least, .. } if of == "taps" => {
                    too_few = passed.count.is_some_and(|given| given < *at_least);
                }
                _ => {}
            }
        }
        let tapping = if too_few { Span(0) } else { now.since(place.opened) };
        let key = (place.attempt, place.step, place.visit);
        let taps = self.taps.get(&key).map_or(0, |taps| taps.iter().filter(|tap| **tap <= now).count());
        let taps = u32::try_from(taps).unwrap_or(u32::MAX);
        let mut chance = self.chance(place, reading, "hang");
        let at = model::needle(scale, told, &cooled, tapping, taps, &mut chance, self.rest(place, reading));
        Shown::Gauge { scale: scale.clone(), at }
    }

    fn thermometer(&self, run: &Run, place: &Place, reading: ReadingId, scale: &Scale, now: Tick) -> Shown {
        let told = self.moving(run, place, reading, scale, now);
        let stage = self.edition.step(place.step).stage;
        // The soak is the wait before the reading in its stage; it goes on until the thermometer is read.
        let mut soaking = None;
        for passed in self.done_before(run, place, now) {
            let step = self.edition.step(passed.step);
            if let (Wants::Hold { at_least, turns: None, .. }, Some(begun)) = (&step.wants, passed.begun)
                && step.stage == stage
            {
                soaking = Some(Held { lasted: now.since(begun), least: *at_least });
            }
        }
        let mut chance = self.chance(place, reading, "air");
        let at = model::temperature(scale, told, soaking, &mut chance, self.rest(place, reading));
        Shown::Thermometer { scale: scale.clone(), at }
    }

    fn balance(&self, run: &Run, place: &Place, reading: ReadingId, scale: &Scale) -> Shown {
        Shown::Balance { scale: scale.clone(), at: self.number(run, place, reading, scale) }
    }

    fn rule(&self, run: &Run, place: &Place, reading: ReadingId, scale: &Scale, now: Tick) -> Shown {
        let lift = self.lift(run, place, now);
        let shape = self.shape(run, place, lift);
        let is_exact = self.told(place, reading).is_some_and(|told| told.is_exact);
        let told = match shape {
            // Nothing is told to be measured of what fell apart, so most of the height is gone.
            Shape::Collapsed if !is_exact => {
                let fallen = scale.max / Decimal::from(5) * Decimal::from(4);
                fallen - fallen % scale.step
            }
            _ => self.number(run, place, reading, scale),
        };
        let slump = model::slump(scale, told, lift, self.rest(place, reading));
        Shown::Rule { scale: scale.clone(), slump, shape }
    }

    // ------------------------------------------------------------------ what the acts so far have done

    /// What was done in the attempt before the step of `place`, in the order of the run.
    fn done_before<'r>(&self, run: &'r Run, place: &Place, now: Tick) -> impl Iterator<Item = &'r engine::Passed> {
        let Place { attempt, step, .. } = *place;
        let passed = run.passed().iter().filter(move |passed| passed.attempt == attempt && passed.step < step);
        passed.filter(move |passed| passed.done.tick <= now)
    }

    /// How the meter was turned and rolled in this attempt, what is under way included.
    fn agitation(&self, run: &Run, place: &Place, now: Tick) -> Agitation {
        let is_work = |id: StepId| id < place.step && !self.edition.step(id).hands_free;
        let mut agitation = Agitation::default();
        for (id, step) in self.steps() {
            if let Wants::Hold { turns, .. } = &step.wants
                && is_work(id)
            {
                let of = if turns.is_some() { &mut agitation.turned } else { &mut agitation.rolled };
                of.get_or_insert_default();
            }
        }
        let standing = run.offer(now).standing;
        let under_way = self.open_step(run).zip(standing.begun).map(|(step, begun)| (step, now.since(begun)));
        let under_way = under_way.filter(|_| run.attempt() == place.attempt);
        let done = self.done_before(run, place, now).map(|passed| (passed.step, lasted(passed)));
        for (id, lasted) in done.chain(under_way) {
            if let Wants::Hold { at_least, turns, .. } = &self.edition.step(id).wants
                && is_work(id)
            {
                let of = if turns.is_some() { &mut agitation.turned } else { &mut agitation.rolled };
                of.get_or_insert_default().push(Held { lasted, least: *at_least });
            }
        }
        agitation
    }

    /// The reading a new attempt has to raise, such as the alcohol: what was used, beside what is told.
    fn alcohol(&self, run: &Run, place: &Place) -> Option<Alcohol> {
        let reading = self.edition.agains.iter().find_map(|again| Some(again.change.as_ref()?.reading))?;
        let used =
            match run.taken().iter().rev().find(|taken| taken.reading == reading && taken.attempt == place.attempt) {
                Some(taken) => match taken.entry {
                    Entry::Number(used) => used,
                    _ => return None,
                },
                None => return None,
            };
        let (step, _) = self.steps().find(|(id, _)| self.asks(*id, reading))?;
        let asked = Place { step, visit: 0, nth: 0, ..*place };
        match self.told(&asked, reading)?.entry {
            Entry::Number(told) => Some(Alcohol { used, told: *told }),
            _ => None,
        }
    }

    /// What lies beyond the scale because cups that are told have not been added yet; below zero if too many were.
    fn beyond(&self, run: &Run, place: &Place, level: ReadingId) -> Decimal {
        let step = self.edition.step(place.step);
        let (Wants::Settle(settle), Some(add)) = (&step.wants, &step.add) else { return Decimal::ZERO };
        let Some(value) = settle.value else { return Decimal::ZERO };
        // What one cup is worth is what the compared value gains by it.
        let worth_of = |n: i64| {
            let seen = Seen {
                edition: &self.edition,
                run,
                reading: Some((level, procedure::expr::Datum::Number(Exact::zero()))),
                tally: Some((add.reading, Exact::from_int(n))),
            };
            self.edition.values[usize::from(value.0)].is.eval(&seen).number()
        };
        let (Some(none), Some(one)) = (worth_of(0), worth_of(1)) else { return Decimal::ZERO };
        let told = self.told(place, level).map_or(0, |told| told.adds);
        let added = run.tally(add.reading);
        let missing = &Exact::from_int(i64::from(told)) - &added;
        (&(&one - &none) * &missing).to_decimal().unwrap_or_default()
    }

    /// Whether the level as it is told cannot be read, because cups are still to be added.
    pub(super) fn lies_beyond(&self, run: &Run, place: &Place, level: ReadingId) -> bool {
        let Some(scale) = self.scale(level) else { return false };
        let full = self.number(run, place, level, scale) + self.beyond(run, place, level);
        full > scale.max + scale.step
    }

    /// The lift before the step of `place`.
    fn lift(&self, run: &Run, place: &Place, now: Tick) -> Option<Lift> {
        let timed = self.done_before(run, place, now).filter_map(|passed| {
            let Wants::Timed { at_least, at_most, .. } = &self.edition.step(passed.step).wants else { return None };
            Some(Lift { lasted: lasted(passed), least: *at_least, most: *at_most })
        });
        timed.last()
    }

    fn shape(&self, run: &Run, place: &Place, lift: Option<Lift>) -> Shape {
        let told = self.shape_reading().and_then(|(reading, choices)| {
            let at = self.place(run, reading)?;
            let at = Place { attempt: place.attempt, ..at };
            match self.told(&at, reading)?.entry {
                Entry::Choice(told) => choices.get(usize::from(*told)).map(shape_of),
                _ => None,
            }
        });
        match (told.unwrap_or(Shape::True), lift) {
            (Shape::True, Some(lift)) => {
                let mut chance = Chance::named(self.scenario.seed, &format!("shear/{}", place.attempt));
                if chance.below(1_000) < model::shears_per_mille(lift) { Shape::Sheared } else { Shape::True }
            }
            (told, _) => told,
        }
    }

    // ------------------------------------------------------------------ what is told, or drawn where nothing is

    fn choice(&self, run: &Run, place: &Place, reading: ReadingId, choices: &[Choice], now: Tick) -> Option<u16> {
        let all = || (0..choices.len()).filter_map(|at| u16::try_from(at).ok());
        let told = match self.told(place, reading).map(|told| told.entry) {
            Some(Entry::Choice(told)) => Some(*told),
            _ => all().find(|at| !self.bites(run, place, reading, *at, |_| true)).or_else(|| all().next()),
        }?;
        // Concrete nobody loosened is not heard to move, and is found in the bowl.
        let agitation = self.agitation(run, place, now);
        let is_meter = self.edition.readings.iter().any(|reading| reading.instrument.as_deref() == Some("neck"));
        if is_meter && agitation.turned.is_some() && model::is_stuck(&agitation) {
            let has_turns = |id: StepId| matches!(self.edition.step(id).wants, Wants::Hold { turns: Some(_), .. });
            let was_read = self.steps().any(|(id, step)| id < place.step && self.is_seen_in(step));
            let tells_stuck = |then: &Consequence| match then {
                Consequence::Back { to, .. } => (to.0..place.step.0).any(|id| has_turns(StepId(id))),
                Consequence::End(_) => was_read,
                _ => false,
            };
            if let Some(stuck) = all().find(|at| self.bites(run, place, reading, *at, tells_stuck)) {
                return Some(stuck);
            }
        }
        Some(told)
    }

    fn is_seen_in(&self, step: &procedure::Step) -> bool {
        match &step.wants {
            Wants::Read(reading) => self.is_neck(*reading),
            Wants::Settle(settle) => self.is_neck(settle.reading),
            _ => false,
        }
    }

    /// Whether a rule of the step of one of these kinds bites on this answer.
    fn bites(&self, run: &Run, place: &Place, reading: ReadingId, at: u16, of: impl Fn(&Consequence) -> bool) -> bool {
        let entry = Entry::Choice(at);
        let seen = Seen { edition: &self.edition, run, reading: Some((reading, datum(&entry))), tally: None };
        let rules = &self.edition.step(place.step).rules;
        rules.iter().any(|rule| of(&rule.then) && rule.when.eval(&seen).holds())
    }

    /// Whether a rule of the step refuses this answer, or the new attempt has to change it.
    pub(super) fn is_refused_by_rule(&self, run: &Run, step: StepId, reading: ReadingId, entry: &Entry) -> bool {
        let seen = Seen { edition: &self.edition, run, reading: Some((reading, datum(entry))), tally: None };
        let rules = &self.edition.step(step).rules;
        let refuses =
            |rule: &procedure::Rule| matches!(rule.then, Consequence::Refuse(_)) && rule.when.eval(&seen).holds();
        let again = run.starts().last().and_then(|start| start.again);
        let change = again.and_then(|again| self.edition.agains[usize::from(again.0)].change.as_ref());
        let is_unchanged =
            change.is_some_and(|change| change.reading == reading && !change.require.eval(&seen).holds());
        rules.iter().any(refuses) || is_unchanged
    }

    fn number(&self, run: &Run, place: &Place, reading: ReadingId, scale: &Scale) -> Decimal {
        match self.told(place, reading) {
            Some(told) => match told.entry {
                // Told for another visit, it may be against the rules of this one: a new attempt wants more alcohol.
                Entry::Number(at)
                    if told.is_exact || !self.is_refused_by_rule(run, place.step, reading, told.entry) =>
                {
                    *at
                }
                _ => self.drawn(run, place, reading, scale),
            },
            None => self.drawn(run, place, reading, scale),
        }
    }

    /// A number that is told, on its way from the reading before.
    fn moving(&self, run: &Run, place: &Place, reading: ReadingId, scale: &Scale, now: Tick) -> Told {
        let to = self.number(run, place, reading, scale);
        let (Some(before), Some(nth), Wants::Settle(settle)) =
            (place.before, place.nth.checked_sub(1), &self.edition.step(place.step).wants)
        else {
            return Told::still(to);
        };
        let from = self.number(run, &Place { nth, ..*place }, reading, scale);
        Told { from, to, since: now.since(before), every: settle.every }
    }

    /// A usual number, where nothing is told: by chance among the usual ones, else from the middle of the range outwards.
    fn drawn(&self, run: &Run, place: &Place, reading: ReadingId, scale: &Scale) -> Decimal {
        // What is read again until it agrees is one thing, and looked at again it is the same.
        let is_one_thing =
            self.edition.stage_of(place.step).repeat.as_ref().is_some_and(|all| all.until_agree().is_some());
        let visit = if is_one_thing { 0 } else { place.visit };
        let mut chance = self.chance(&Place { visit, ..*place }, reading, "drawn");
        let marks = |low: Decimal, high: Decimal| u64::try_from((high - low) / scale.step).unwrap_or(0);
        let (low, high) = typical(self.edition.reading(reading)).unwrap_or((scale.min, scale.max));
        let usual = match typical(self.edition.reading(reading)) {
            Some(_) => low + Decimal::from(chance.below(marks(low, high) + 1)) * scale.step,
            None => low + Decimal::from(marks(low, high) / 2) * scale.step,
        };
        let all = marks(scale.min, scale.max);
        let apart = (all / TRIED).max(1);
        let spread = (0..=all / apart).map(|n| scale.min + Decimal::from(n * apart) * scale.step);
        let refused = |at: &Decimal| self.is_refused_by_rule(run, place.step, reading, &Entry::Number(*at));
        let tried = [usual, low, high].into_iter().chain(spread).find(|at| !refused(at));
        tried.unwrap_or(usual)
    }

    fn chance(&self, place: &Place, reading: ReadingId, what: &str) -> Chance {
        let id = &self.edition.reading(reading).id;
        let Place { attempt, visit, .. } = *place;
        Chance::named(self.scenario.seed, &format!("{what}/{id}/{attempt}/{visit}"))
    }

    /// How far off its mark the truth lies; the same for the whole attempt, so that what stands still is seen to.
    fn rest(&self, place: &Place, reading: ReadingId) -> i64 {
        let id = &self.edition.reading(reading).id;
        model::rest(&mut Chance::named(self.scenario.seed, &format!("rest/{id}/{}", place.attempt)))
    }

    // ------------------------------------------------------------------ what the edition says

    pub(super) fn is_neck(&self, reading: ReadingId) -> bool {
        self.edition.reading(reading).instrument.as_deref() == Some("neck")
    }

    /// Foam is what is read in the neck together with what settles in it.
    pub(super) fn is_foam(&self, reading: ReadingId) -> bool {
        self.level_and_foam(reading).1 == Some(reading)
    }

    fn level_and_foam(&self, reading: ReadingId) -> (ReadingId, Option<ReadingId>) {
        let settles = self.steps().filter_map(|(_, step)| match &step.wants {
            Wants::Settle(settle) if self.is_neck(settle.reading) => Some(settle),
            _ => None,
        });
        for settle in settles {
            if settle.reading == reading || settle.also.contains(&reading) {
                let foam = settle.also.iter().copied().find(|also| self.is_neck(*also));
                return (settle.reading, foam);
            }
        }
        (reading, None)
    }

    fn scale(&self, reading: ReadingId) -> Option<&Scale> {
        match &self.edition.reading(reading).kind {
            ReadingKind::Number(scale) => Some(scale),
            _ => None,
        }
    }

    fn cone(&self) -> Option<(ReadingId, Scale)> {
        let cone = self.edition.readings.iter().position(|reading| {
            reading.instrument.as_deref() == Some("cone") && matches!(reading.kind, ReadingKind::Number(_))
        })?;
        let id = ReadingId(u16::try_from(cone).ok()?);
        Some((id, self.scale(id)?.clone()))
    }

    fn shape_reading(&self) -> Option<(ReadingId, &[Choice])> {
        self.edition.readings.iter().enumerate().find_map(|(n, reading)| match &reading.kind {
            ReadingKind::Choice(choices) if names_shear(choices) => Some((ReadingId(n as u16), choices.as_slice())),
            _ => None,
        })
    }

    pub(super) fn choice_of_shape(&self, choices: &[Choice], shape: Shape) -> Option<u16> {
        let at = choices.iter().position(|choice| shape_of(choice) == shape)?;
        u16::try_from(at).ok()
    }
}

/// The lowest and highest usual value, if the procedure names them.
fn typical(reading: &procedure::Reading) -> Option<(Decimal, Decimal)> {
    reading.typical
}

fn lasted(passed: &engine::Passed) -> Span {
    passed.begun.map_or(Span(0), |begun| passed.done.tick.since(begun))
}

fn is_mass(scale: &Scale) -> bool {
    matches!(scale.unit.symbol().as_str(), "kg" | "lb" | "g")
}

/// Whether a choice is about how a slumped cone stands.
fn names_shear(choices: &[Choice]) -> bool {
    choices.iter().any(|choice| shape_of(choice) == Shape::Sheared)
}

/// The shape an answer names; what names neither a shear nor a collapse names a true slump.
fn shape_of(choice: &Choice) -> Shape {
    match choice.id.to_lowercase() {
        id if id.starts_with("shear") => Shape::Sheared,
        id if id.starts_with("collaps") => Shape::Collapsed,
        _ => Shape::True,
    }
}
