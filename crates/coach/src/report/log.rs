//! Everything that happened, act by act, from the journal.
//!
//! **Invariant:** one act for each entry of the journal that holds one, taken back or not.

use engine::wire::{self, Written};
use engine::{Entry, Event, Run};
use procedure::{ReadingId, ReadingKind, StepId};
use serde::Serialize;

use super::{Source, Time, moment};
use crate::rim::clock;
use crate::rim::store::Line;

/// One act.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Act {
    /// Its entry in the journal, from 0.
    pub entry: u64,
    /// Its number, by which a reading is corrected, from 0.
    pub number: u32,
    /// When.
    pub time: Time,
    /// In which attempt.
    pub attempt: u16,
    /// In which round of a repeated stage.
    pub round: u16,
    /// At which step.
    pub step: String,
    /// What: `read`, `saw`, `wrote`, `done`, `begun`, `turned`, `counted`, `added`, `incident`, `discarded`, `again`,
    /// `closed`, `undone`, `redone`, `corrected`, `remark`, `told`.
    pub what: &'static str,
    /// Which reading.
    pub reading: Option<String>,
    /// Its value: a number as exact text, the id of a choice, words, a count.
    pub value: Option<String>,
    /// Its unit.
    pub unit: Option<String>,
    /// More about it: the words of a choice, a reason.
    pub note: Option<String>,
    /// Whether it was taken back afterwards.
    pub taken_back: bool,
}

/// All acts of a run.
pub(super) fn acts(source: &Source<'_>) -> Vec<Act> {
    let edition = source.run.edition();
    let mut run = Run::open(std::sync::Arc::new(edition.clone()), source.run.ties(), source.run.opened());
    let mut acts: Vec<Act> = Vec::new();
    // Which acts stand, and which were taken back and may come again.
    let (mut stand, mut back): (Vec<usize>, Vec<usize>) = (Vec::new(), Vec::new());
    for (entry, line) in source.lines.iter().enumerate() {
        let Line::Happened { at, event: written } = line else { continue };
        let at = moment(at);
        // The run was loaded by the same replay, so this cannot fail; if it did, the entry is shown all the same.
        let event = wire::read(edition, written).ok();
        let offer = run.offer(at.tick);
        let mut act = Act {
            entry: entry as u64,
            number: run.n_accepted(),
            time: Time::of(at),
            attempt: offer.attempt,
            round: offer.round,
            step: offer.step.map_or_else(String::new, |(_, step)| step.id.clone()),
            what: "unknown",
            reading: None,
            value: None,
            unit: None,
            note: None,
            taken_back: false,
        };
        if let Some(event) = &event {
            describe(&mut act, &run, event, written);
        }
        match &event {
            Some(Event::Undo) => {
                if let Some(last) = stand.pop() {
                    acts[last].taken_back = true;
                    back.push(last);
                }
            }
            Some(Event::Redo) => {
                if let Some(last) = back.pop() {
                    acts[last].taken_back = false;
                    stand.push(last);
                }
            }
            // Told from outside: no act of this person, so undo passes it by.
            Some(Event::Known { .. }) => {}
            _ => {
                stand.push(acts.len());
                back.clear();
            }
        }
        if let Some(event) = event
            && let Err(refused) = run.apply(event, at)
        {
            act.note = Some(format!("not taken on replay: {refused}"));
        }
        acts.push(act);
    }
    acts
}

fn describe(act: &mut Act, run: &Run, event: &Event, written: &Written) {
    let edition = run.edition();
    let step = |id: &StepId| edition.step(*id).id.clone();
    let because = |reason: &Option<String>| reason.as_ref().map(|reason| format!("despite: {reason}"));
    match event {
        Event::Begin { step: id } => (act.what, act.step) = ("begun", step(id)),
        Event::Count { step: id, n } => {
            (act.what, act.step, act.value) = ("counted", step(id), Some(n.to_string()));
            if let procedure::Wants::Count { of, .. } = &edition.step(*id).wants {
                act.unit = Some(of.clone());
            }
        }
        Event::Turn { step: id } => (act.what, act.step) = ("turned", step(id)),
        Event::Done { step: id, despite } => (act.what, act.step, act.note) = ("done", step(id), because(despite)),
        Event::Answer { step: id, reading, entry, despite, .. } => {
            act.step = step(id);
            value(act, run, *reading, entry);
            if despite.is_some() {
                act.note = because(despite);
            }
        }
        Event::Add { step: id, reading } => {
            act.step = step(id);
            value(act, run, *reading, &Entry::One);
        }
        Event::Incident { incident } => {
            act.what = "incident";
            act.note = edition.incidents.get(*incident as usize).map(|incident| run.say(&incident.title));
        }
        Event::Discard { reason } => (act.what, act.note) = ("discarded", Some(reason.clone())),
        Event::Again => act.what = "again",
        Event::Close => act.what = "closed",
        Event::Undo => act.what = "undone",
        Event::Redo => act.what = "redone",
        Event::Correct { seq, entry, reason } => {
            if let Written::Correct { reading, .. } = written
                && let Some(id) = edition.reading_named(reading)
            {
                value(act, run, id, entry);
            }
            act.what = "corrected";
            act.note = Some(format!("number {seq}, because: {reason}"));
        }
        Event::Remark { text } => (act.what, act.note) = ("remark", Some(text.clone())),
        Event::Known { moment, at } => {
            act.what = "told";
            let moment = edition.moments.get(*moment as usize).map_or("a moment", String::as_str);
            act.note = Some(format!("{moment} was at {}", clock::rfc3339(at.wall)));
        }
    }
}

fn value(act: &mut Act, run: &Run, id: ReadingId, entry: &Entry) {
    let edition = run.edition();
    let reading = edition.reading(id);
    act.what = match reading.kind {
        ReadingKind::Number(_) => "read",
        ReadingKind::Choice(_) => "saw",
        ReadingKind::Words => "wrote",
        ReadingKind::Tally { .. } => "added",
    };
    act.reading = Some(reading.id.clone());
    act.value = Some(wire::write_entry(edition, id, entry));
    act.unit = Some(reading.unit().to_string()).filter(|unit| !unit.is_empty());
    if matches!(entry, Entry::Choice(_)) {
        act.note = Some(run.show(id, entry));
    }
}
