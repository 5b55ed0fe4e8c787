//! A run led in lines: a line and its moment in, cues out.
//!
//! Knows no clock and no stream; [`super::plain`] and [`super::script`] bring both.
//!
//! **Invariant:** the run changes only through an event the engine accepted, and every accepted event is offered to the
//! [`Record`] before anything is said about it.

use engine::{Clock, Entry, Event, Moment, Phase, Refused, Run, Tick};
use procedure::{ReadingId, ReadingKind, StepId, Wants};

use super::language::{self, Said, WORDS};
use super::{Cue, Record, tell};
use procedure::nearest::nearest;

/// Reminders of a gap the program slept through, at most: a lid closed for a night needs no hundred prompts.
const CATCH_UP_AT_MOST: usize = 40;

/// A run led in lines.
#[derive(Debug)]
pub struct Talk {
    run: Run,
    /// Everything due up to here has been said.
    said: Tick,
    /// The act refused last, if it may be done with a reason.
    refused: Option<Event>,
    left: bool,
    /// What the open step waits for in another run of the bench.
    waits: Option<String>,
    /// On a bench, what has changed is said once all that follows in one moment has happened.
    is_on_bench: bool,
    /// The run as it was when its changes were last said.
    unsaid: Option<Run>,
}

impl Talk {
    /// Leads `run` from `now` on.
    pub fn new(run: Run, now: Moment) -> Self {
        Self { run, said: now.tick, refused: None, left: false, waits: None, is_on_bench: false, unsaid: None }
    }

    /// The run.
    pub fn run(&self) -> &Run {
        &self.run
    }

    /// Whether nothing more is to be said: the person left, or the run is closed.
    pub fn is_over(&self) -> bool {
        self.left || matches!(self.run.phase(), Phase::Closed { .. })
    }

    /// What is said before the first line comes in.
    pub fn opening(&self, now: Moment) -> Vec<Cue> {
        let mut cues = self.head();
        cues.extend(self.place(now));
        cues
    }

    /// What it is a run of.
    pub(super) fn head(&self) -> Vec<Cue> {
        let edition = self.run.edition();
        let mut cues = Vec::new();
        cues.extend(edition.notice.as_ref().map(|notice| Cue::new("NOTICE", notice.clone())));
        cues.push(Cue::new("METHOD", format!("{} {} {}", edition.id, edition.system, edition.title)));
        cues
    }

    /// The same on a bench: what has changed is said when [`change`](Self::change) asks for it.
    pub(super) fn on_bench(mut self) -> Self {
        self.is_on_bench = true;
        self
    }

    /// What has changed since it was last said.
    pub(super) fn change(&mut self, now: Tick) -> Vec<Cue> {
        self.unsaid.take().map(|before| tell::change(&before, &self.run, now)).unwrap_or_default()
    }

    /// Where it stands, in full.
    pub(super) fn place(&self, now: Moment) -> Vec<Cue> {
        let mut cues = tell::step(&self.run, now.tick, true);
        cues.extend(self.clocks(now.tick));
        cues
    }

    fn clocks(&self, now: Tick) -> Vec<Cue> {
        let mut clocks: Vec<Clock> = self.run.clocks(now).collect();
        clocks.sort_by_key(|clock| clock.due);
        clocks.iter().map(|clock| tell::clock(&self.run, clock, now)).collect()
    }

    /// When something is due next that has not been said.
    pub fn next_due(&self) -> Option<Tick> {
        self.run.next_wake(self.said)
    }

    /// What has come due up to `now` and has not been said.
    pub fn due(&mut self, now: Tick) -> Vec<Cue> {
        let mut cues = Vec::new();
        let mut n_steps = 0;
        while let Some(wake) = self.run.next_wake(self.said).filter(|wake| *wake <= now) {
            n_steps += 1;
            let until = if n_steps > CATCH_UP_AT_MOST { now } else { wake };
            for clock in self.run.clocks(self.said).filter(|clock| clock.due > self.said && clock.due <= until) {
                cues.extend(tell::due(&self.run, &clock));
            }
            self.said = until;
        }
        self.said = self.said.max(now);
        cues
    }

    /// Takes one line that came in at `now`.
    pub fn hear(&mut self, line: &str, now: Moment, record: &mut dyn Record) -> Vec<Cue> {
        let mut cues = self.due(now.tick);
        match language::read(line) {
            Ok(said) => cues.extend(self.answer_to(said, now, record)),
            Err(unclear) => cues.push(Cue::new("ERROR", unclear.to_string())),
        }
        cues
    }

    fn answer_to(&mut self, said: Said, now: Moment, record: &mut dyn Record) -> Vec<Cue> {
        match self.event(said, now, record) {
            Ok(event) => {
                let is_of_step = matches!(
                    event,
                    Event::Done { .. }
                        | Event::Answer { .. }
                        | Event::Begin { .. }
                        | Event::Count { .. }
                        | Event::Turn { .. }
                );
                match self.waits.as_ref().filter(|_| is_of_step) {
                    Some(waits) => vec![refused(waits)],
                    None => self.apply(event, now, record),
                }
            }
            Err(cues) => cues,
        }
    }

    /// The event a line stands for, or what is said instead.
    fn event(&mut self, said: Said, now: Moment, record: &mut dyn Record) -> Result<Event, Vec<Cue>> {
        let open = tell::open_step(&self.run).map(|(id, _)| id);
        let here = open.ok_or_else(|| vec![refused(&self.no_step())]);
        Ok(match said {
            Said::Next => return self.run.press(now.tick).ok_or_else(|| tell::wanted(&self.run, now.tick)),
            Said::Done(None) => Event::Done { step: here?, despite: None },
            Said::Done(Some(name)) => Event::Done { step: self.step_named(&name)?, despite: None },
            Said::Begin => Event::Begin { step: here? },
            Said::Turn => Event::Turn { step: here? },
            Said::Count(n) => Event::Count { step: here?, n },
            Said::Read { reading, value } => {
                let step = here?;
                let reading = self.reading_named(&reading)?;
                self.answer(step, reading, &value, now)?
            }
            Said::Answer(text) => {
                let step = here?;
                let reading = self.asked(now)?;
                self.answer(step, reading, &text, now)?
            }
            Said::Bare(text) => return self.bare(&text, now),
            Said::Add => {
                let step = here?;
                let add = self.run.edition().step(step).add.as_ref();
                let reading = add.map(|add| add.reading);
                let reading = reading.ok_or_else(|| vec![refused(&"Nothing is tallied at this step.")])?;
                Event::Add { step, reading }
            }
            Said::Incident(name) => Event::Incident { incident: self.incident_named(&name)? },
            Said::Discard(reason) => Event::Discard { reason },
            Said::Again => Event::Again,
            Said::Close => Event::Close,
            Said::Undo => Event::Undo,
            Said::Redo => Event::Redo,
            Said::Correct { n, value, reason } => {
                let taken = self.run.taken().iter().find(|taken| taken.seq == n && !taken.carried);
                let reading = taken.map(|taken| taken.reading);
                let reading = reading
                    .ok_or_else(|| vec![refused(&format!("There is no reading number {n}; “readings” lists them."))])?;
                Event::Correct { seq: n, entry: self.entry(reading, &value)?, reason }
            }
            Said::Despite(reason) => {
                let event = self.refused.clone();
                match event.ok_or_else(|| vec![refused(&"Nothing was refused that a reason could overrule.")])? {
                    Event::Done { step, .. } => Event::Done { step, despite: Some(reason) },
                    Event::Answer { step, reading, entry, seen, .. } => {
                        Event::Answer { step, reading, entry, seen, despite: Some(reason) }
                    }
                    other => other,
                }
            }
            Said::Remark(text) => Event::Remark { text },
            Said::Folder(folder) => {
                return Err(match record.move_to(&folder, now) {
                    Ok((folder, n)) => vec![Cue::new("FOLDER", folder), Cue::new("RECORDED", n.to_string())],
                    Err(not_kept) => vec![not_recorded(&not_kept)],
                });
            }
            Said::Retry => {
                return Err(vec![match record.retry() {
                    Ok(n) => Cue::new("RECORDED", n.to_string()),
                    Err(not_kept) => not_recorded(&not_kept),
                }]);
            }
            Said::Where => return Err(self.place(now)),
            Said::Steps => return Err(tell::steps(&self.run)),
            Said::Clocks => return Err(or_none("CLOCK", self.clocks(now.tick))),
            Said::Readings => return Err(or_none("READING", tell::readings(&self.run))),
            Said::Why => return Err(self.why()),
            Said::Help => {
                return Err(WORDS
                    .iter()
                    .map(|word| Cue::new("HELP", format!("{}: {}", word.form, word.means)))
                    .collect());
            }
            Said::Quit => {
                self.left = true;
                return Err(vec![Cue::new("LEFT", "The run can be resumed; its clocks go on.")]);
            }
        })
    }

    /// Whether the person has left.
    pub(super) fn has_left(&self) -> bool {
        self.left
    }

    /// Says what the open step waits for in another run; it is not confirmed here as long as it does.
    pub(super) fn wait_for(&mut self, what: Option<String>) {
        self.waits = what;
    }

    /// Hands an event to the run and says what follows.
    pub(super) fn apply(&mut self, event: Event, now: Moment, record: &mut dyn Record) -> Vec<Cue> {
        let before = self.run.clone();
        let corrected = match &event {
            Event::Correct { seq, .. } => {
                before.taken().iter().find(|taken| taken.seq == *seq && !taken.carried).map(|taken| taken.reading)
            }
            _ => None,
        };
        let applied = match self.run.apply(event.clone(), now) {
            Ok(applied) => applied,
            Err(why) => return self.refuse(event, &why),
        };
        self.refused = None;
        let mut cues = vec![match record.keep(&event, now, corrected) {
            Ok(n) => Cue::new("RECORDED", n.to_string()),
            Err(not_kept) => not_recorded(&not_kept),
        }];
        let act = |run: &Run| run.last_act().map_or_else(String::new, |act| tell::act(run, act));
        match event {
            Event::Undo => cues.push(Cue::new("UNDONE", act(&before))),
            Event::Redo => cues.push(Cue::new("REDONE", act(&self.run))),
            _ => {}
        }
        cues.extend(applied.back_to.map(|step| Cue::new("BACK", self.run.edition().step(step).id.clone())));
        if self.is_on_bench {
            self.unsaid.get_or_insert(before);
        } else {
            cues.extend(tell::change(&before, &self.run, now.tick));
        }
        cues
    }

    fn refuse(&mut self, event: Event, why: &Refused) -> Vec<Cue> {
        let mut cues = vec![refused(&why)];
        let takes_reason = matches!(event, Event::Done { .. } | Event::Answer { .. });
        self.refused = (takes_reason && why.may_be_overruled()).then_some(event);
        if self.refused.is_some() {
            cues.push(Cue::new("DESPITE", "To do it all the same: despite REASON. It stays on the record."));
        }
        cues
    }

    fn no_step(&self) -> Refused {
        match self.run.phase() {
            Phase::Ended => Refused::AttemptOver,
            _ => Refused::RunClosed,
        }
    }

    /// What is asked now.
    fn asked(&self, now: Moment) -> Result<ReadingId, Vec<Cue>> {
        use engine::Act;
        let offer = self.run.offer(now.tick);
        match (&offer.act, offer.step.map(|(_, step)| &step.wants)) {
            (Act::Answer(reading), _) => Ok(*reading),
            // Too early, or too late: the engine says so in its own words.
            (_, Some(Wants::Settle(settle))) if self.run.phase() == Phase::AtStep => Ok(settle.reading),
            _ => {
                let mut cues = vec![Cue::new("ERROR", "No answer is asked here.")];
                cues.extend(tell::wanted(&self.run, now.tick));
                Err(cues)
            }
        }
    }

    /// A line that begins with none of the words.
    fn bare(&mut self, text: &str, now: Moment) -> Result<Event, Vec<Cue>> {
        let open = tell::open_step(&self.run).map(|(id, step)| (id, step.wants.clone()));
        let is_number = text.starts_with(|c: char| c.is_numeric() || "+-−.,".contains(c));
        match open {
            Some((step, Wants::Count { .. })) if is_number => match text.parse() {
                Ok(n) => Ok(Event::Count { step, n }),
                Err(_) => Err(vec![Cue::new("ERROR", format!("“{text}” is no whole number of that count."))]),
            },
            Some((step, Wants::Read(_) | Wants::Settle(_))) => {
                let reading = self.asked(now)?;
                match &self.run.edition().reading(reading).kind {
                    ReadingKind::Words => self.answer(step, reading, text, now),
                    ReadingKind::Choice(_) => self
                        .answer(step, reading, text, now)
                        .map_err(|_| vec![self.unknown(text), tell::ask(&self.run, reading)]),
                    _ if is_number => self.answer(step, reading, text, now),
                    _ => Err(vec![self.unknown(text), tell::ask(&self.run, reading)]),
                }
            }
            _ => Err(vec![self.unknown(text)]),
        }
    }

    fn unknown(&self, text: &str) -> Cue {
        let first = text.split_whitespace().next().unwrap_or(text);
        let meant = match nearest(first, WORDS.iter().map(|word| word.word)) {
            Some(word) => format!("Did you mean “{word}”?"),
            None => "“help” lists the words.".to_owned(),
        };
        let shown: String = first.chars().take(40).collect();
        Cue::new("ERROR", format!("“{shown}” is none of the words. {meant}"))
    }

    fn answer(&self, step: StepId, reading: ReadingId, text: &str, now: Moment) -> Result<Event, Vec<Cue>> {
        let entry = self.entry(reading, text)?;
        Ok(Event::Answer { step, reading, entry, seen: now.tick, despite: None })
    }

    /// An entry as typed, or why it is none.
    fn entry(&self, id: ReadingId, text: &str) -> Result<Entry, Vec<Cue>> {
        let reading = self.run.edition().reading(id);
        match &reading.kind {
            ReadingKind::Number(scale) => {
                let symbol = scale.unit.to_string();
                let typed = text.strip_suffix(symbol.as_str()).filter(|_| !symbol.is_empty()).unwrap_or(text).trim();
                scale.read(typed).map(Entry::Number).map_err(|why| vec![refused(&why)])
            }
            ReadingKind::Choice(choices) => {
                let is_it = |choice: &procedure::Choice| {
                    let mut key = [0; 4];
                    [choice.id.as_str(), &choice.label, choice.key.encode_utf8(&mut key)]
                        .iter()
                        .any(|name| name.to_lowercase() == text.to_lowercase())
                };
                let at = choices.iter().position(is_it);
                at.map(|at| Entry::Choice(at as u16))
                    .ok_or_else(|| vec![refused(&"One of the answers shown is asked here."), tell::ask(&self.run, id)])
            }
            ReadingKind::Words => Ok(Entry::Words(text.to_owned())),
            ReadingKind::Tally { .. } => Err(vec![refused(&"A tally grows by “add”, one by one.")]),
        }
    }

    fn step_named(&self, name: &str) -> Result<StepId, Vec<Cue>> {
        let edition = self.run.edition();
        let known = edition.steps.iter().map(|step| step.id.as_str());
        edition.step_named(name).ok_or_else(|| vec![no_such("step", name, known)])
    }

    fn reading_named(&self, name: &str) -> Result<ReadingId, Vec<Cue>> {
        let edition = self.run.edition();
        let known = edition.readings.iter().map(|reading| reading.id.as_str());
        edition.reading_named(name).ok_or_else(|| vec![no_such("reading", name, known)])
    }

    fn incident_named(&self, name: &str) -> Result<u16, Vec<Cue>> {
        let incidents = &self.run.edition().incidents;
        let known = incidents.iter().map(|incident| incident.id.as_str());
        let at = incidents.iter().position(|incident| incident.id == name);
        at.map(|at| at as u16).ok_or_else(|| vec![no_such("incident", name, known)])
    }

    fn why(&self) -> Vec<Cue> {
        let Some((_, step)) = tell::open_step(&self.run) else { return vec![Cue::new("WHY", "No step is open.")] };
        let edition = self.run.edition();
        let mut cues = Vec::new();
        cues.extend(step.why.as_ref().map(|text| Cue::new("WHY", self.run.say(text))));
        cues.extend(step.mark.as_ref().map(|text| Cue::new("WHY", format!("To be seen: {}", self.run.say(text)))));
        for cite in &step.cites {
            let Some(source) = edition.sources.get(cite.source as usize) else { continue };
            let place = cite.place.as_ref().map_or_else(String::new, |place| format!(": {place}"));
            cues.push(Cue::new("WHY", format!("Source: {}{place}", source.title)));
        }
        or_none("WHY", cues)
    }
}

fn or_none(word: &'static str, cues: Vec<Cue>) -> Vec<Cue> {
    if cues.is_empty() { vec![Cue::new(word, "none")] } else { cues }
}

fn no_such<'k>(kind: &str, name: &str, known: impl Iterator<Item = &'k str>) -> Cue {
    let meant = nearest(name, known).map_or_else(String::new, |name| format!(" Did you mean “{name}”?"));
    let shown: String = name.chars().take(40).collect();
    Cue::new("ERROR", format!("The procedure has no {kind} “{shown}”.{meant}"))
}

fn refused(why: &dyn std::fmt::Display) -> Cue {
    Cue::new("REFUSED", tell::sentence(&why.to_string()))
}

pub(super) fn not_recorded(why: &super::NotKept) -> Cue {
    Cue::new(
        "NOT-RECORDED",
        format!(
            "{} It is kept in memory. {} To try again: retry. In another folder: folder PATH",
            tell::sentence(&why.what),
            tell::sentence(&why.hint)
        ),
    )
}
