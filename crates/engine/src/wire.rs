//! Events as they are written down: with the procedure's names, numbers as exact text.
//!
//! What stands in a journal for years must not depend on the order of a file, so steps, readings
//! and answers are written by name.

use procedure::{Edition, ReadingId, ReadingKind, StepId};
use quantity::Decimal;
use serde::{Deserialize, Serialize};

use crate::event::{Entry, Event};
use crate::moment::{Moment, Tick, Wall};

/// An event in names.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Written {
    /// [`Event::Begin`]
    Begin {
        /// Step.
        step: String,
    },
    /// [`Event::Count`]
    Count {
        /// Step.
        step: String,
        /// How many.
        n: u32,
    },
    /// [`Event::Turn`]
    Turn {
        /// Step.
        step: String,
    },
    /// [`Event::Done`]
    Done {
        /// Step.
        step: String,
        /// Reason.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        despite: Option<String>,
    },
    /// [`Event::Answer`]
    Answer {
        /// Step.
        step: String,
        /// Reading.
        reading: String,
        /// A number as exact text, the id of a choice, or words.
        value: String,
        /// Milliseconds since the run was opened.
        seen: u64,
        /// Reason.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        despite: Option<String>,
    },
    /// [`Event::Add`]
    Add {
        /// Step.
        step: String,
        /// Tally.
        reading: String,
    },
    /// [`Event::Incident`]
    Incident {
        /// Incident.
        incident: String,
    },
    /// [`Event::Discard`]
    Discard {
        /// Reason.
        reason: String,
    },
    /// [`Event::Again`]
    Again,
    /// [`Event::Close`]
    Close,
    /// [`Event::Undo`]
    Undo,
    /// [`Event::Redo`]
    Redo,
    /// [`Event::Correct`]
    Correct {
        /// Number of the event corrected.
        seq: u32,
        /// Reading, so that the value can be read back.
        reading: String,
        /// The corrected value.
        value: String,
        /// Reason.
        reason: String,
    },
    /// [`Event::Remark`]
    Remark {
        /// Words.
        text: String,
    },
    /// [`Event::Known`]
    Known {
        /// The moment of the sample.
        moment: String,
        /// When it was.
        at: WrittenMoment,
    },
}

/// A moment told from outside.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WrittenMoment {
    /// Milliseconds on the run's own count.
    pub t: u64,
    /// The wall clock, in milliseconds since 1970-01-01T00:00Z.
    pub unix_ms: i64,
    /// Its offset from UTC, in minutes east.
    pub offset_min: i16,
}

/// Why a written event does not fit the procedure.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WireError {
    /// No such step, reading, incident or moment.
    #[error("the procedure has no {kind} called “{name}”")]
    NoSuch {
        /// What was looked for.
        kind: &'static str,
        /// Its name.
        name: String,
    },
    /// The value is not one of that reading.
    #[error("“{value}” is not a value of “{reading}”")]
    Value {
        /// The reading.
        reading: String,
        /// The value.
        value: String,
    },
}

/// Writes an event down in names. `correct` needs to know which reading `seq` gave; the caller tells.
pub fn write(edition: &Edition, event: &Event, corrected: Option<ReadingId>) -> Written {
    let step = |id: &StepId| edition.step(*id).id.clone();
    let reading = |id: &ReadingId| edition.reading(*id).id.clone();
    match event {
        Event::Begin { step: id } => Written::Begin { step: step(id) },
        Event::Count { step: id, n } => Written::Count { step: step(id), n: *n },
        Event::Turn { step: id } => Written::Turn { step: step(id) },
        Event::Done { step: id, despite } => Written::Done { step: step(id), despite: despite.clone() },
        Event::Answer { step: id, reading: what, entry, seen, despite } => Written::Answer {
            step: step(id),
            reading: reading(what),
            value: write_entry(edition, *what, entry),
            seen: seen.0,
            despite: despite.clone(),
        },
        Event::Add { step: id, reading: what } => Written::Add { step: step(id), reading: reading(what) },
        Event::Incident { incident } => Written::Incident {
            incident: edition.incidents.get(*incident as usize).map_or_else(String::new, |known| known.id.clone()),
        },
        Event::Discard { reason } => Written::Discard { reason: reason.clone() },
        Event::Again => Written::Again,
        Event::Close => Written::Close,
        Event::Undo => Written::Undo,
        Event::Redo => Written::Redo,
        Event::Correct { seq, entry, reason } => Written::Correct {
            seq: *seq,
            reading: corrected.map_or_else(String::new, |id| reading(&id)),
            value: corrected.map_or_else(String::new, |id| write_entry(edition, id, entry)),
            reason: reason.clone(),
        },
        Event::Remark { text } => Written::Remark { text: text.clone() },
        Event::Known { moment, at } => Written::Known {
            moment: edition.moments.get(*moment as usize).cloned().unwrap_or_default(),
            at: WrittenMoment { t: at.tick.0, unix_ms: at.wall.unix_ms, offset_min: at.wall.offset_min },
        },
    }
}

/// Reads a written event back.
///
/// # Errors
///
/// [`WireError`] if the procedure at hand does not have that step, reading, answer or incident: it
/// is not the procedure the record was made with.
pub fn read(edition: &Edition, written: &Written) -> Result<Event, WireError> {
    let step =
        |name: &String| edition.step_named(name).ok_or_else(|| WireError::NoSuch { kind: "step", name: name.clone() });
    let reading = |name: &String| {
        edition.reading_named(name).ok_or_else(|| WireError::NoSuch { kind: "reading", name: name.clone() })
    };
    Ok(match written {
        Written::Begin { step: name } => Event::Begin { step: step(name)? },
        Written::Count { step: name, n } => Event::Count { step: step(name)?, n: *n },
        Written::Turn { step: name } => Event::Turn { step: step(name)? },
        Written::Done { step: name, despite } => Event::Done { step: step(name)?, despite: despite.clone() },
        Written::Answer { step: name, reading: what, value, seen, despite } => {
            let what = reading(what)?;
            Event::Answer {
                step: step(name)?,
                reading: what,
                entry: read_entry(edition, what, value)?,
                seen: Tick(*seen),
                despite: despite.clone(),
            }
        }
        Written::Add { step: name, reading: what } => Event::Add { step: step(name)?, reading: reading(what)? },
        Written::Incident { incident } => Event::Incident {
            incident: edition
                .incidents
                .iter()
                .position(|known| known.id == *incident)
                .ok_or_else(|| WireError::NoSuch { kind: "incident", name: incident.clone() })?
                as u16,
        },
        Written::Discard { reason } => Event::Discard { reason: reason.clone() },
        Written::Again => Event::Again,
        Written::Close => Event::Close,
        Written::Undo => Event::Undo,
        Written::Redo => Event::Redo,
        Written::Correct { seq, reading: what, value, reason } => {
            let what = reading(what)?;
            Event::Correct { seq: *seq, entry: read_entry(edition, what, value)?, reason: reason.clone() }
        }
        Written::Remark { text } => Event::Remark { text: text.clone() },
        Written::Known { moment, at } => Event::Known {
            moment: edition
                .moment_named(moment)
                .ok_or_else(|| WireError::NoSuch { kind: "moment", name: moment.clone() })?,
            at: Moment { tick: Tick(at.t), wall: Wall { unix_ms: at.unix_ms, offset_min: at.offset_min } },
        },
    })
}

/// An entry as exact text.
pub fn write_entry(edition: &Edition, reading: ReadingId, entry: &Entry) -> String {
    match (entry, &edition.reading(reading).kind) {
        (Entry::Number(value), _) => value.to_string(),
        (Entry::Choice(at), ReadingKind::Choice(choices)) => {
            choices.get(*at as usize).map_or_else(String::new, |choice| choice.id.clone())
        }
        (Entry::Choice(at), _) => at.to_string(),
        (Entry::Words(words), _) => words.clone(),
        (Entry::One, _) => "1".to_owned(),
    }
}

/// Reads an entry from exact text.
///
/// # Errors
///
/// [`WireError::Value`] if it is not a number, or not one of the answers.
pub fn read_entry(edition: &Edition, reading: ReadingId, value: &str) -> Result<Entry, WireError> {
    let wrong = || WireError::Value { reading: edition.reading(reading).id.clone(), value: value.to_owned() };
    match &edition.reading(reading).kind {
        ReadingKind::Number(_) => Decimal::from_str_exact(value).map(Entry::Number).map_err(|_| wrong()),
        ReadingKind::Choice(choices) => {
            choices.iter().position(|choice| choice.id == value).map(|at| Entry::Choice(at as u16)).ok_or_else(wrong)
        }
        ReadingKind::Words => Ok(Entry::Words(value.to_owned())),
        ReadingKind::Tally { .. } => Ok(Entry::One),
    }
}
