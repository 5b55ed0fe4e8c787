//! A run's record in words, line by line.
//!
//! Here: one sentence for each line, for a person who wants to know what stands in the file. Not here: what follows
//! from the lines (that is the report).
//!
//! A damaged file is printed as far as it is sound, and the damage is named.

use std::fmt::Write as _;
use std::path::Path;

use engine::wire::Written;
use procedure::Edition;

use super::cli::Failure;
use super::clock;
use super::store::{self, Gap, Line, Loaded};

/// The lines of a record in words, and what is wrong with it, if anything is.
///
/// # Errors
///
/// [`Failure`] if there is nothing to print at all.
pub fn record(path: &Path) -> Result<(String, Option<Failure>), Failure> {
    let mut text = String::new();
    match store::load(path) {
        Ok(loaded) => {
            for (n, line) in loaded.lines.iter().enumerate() {
                one(&mut text, n, line, Some(&loaded));
            }
            if let Some(torn) = &loaded.torn {
                // Writing to memory cannot fail.
                let _ = writeln!(text, "(a last line of {} bytes is torn)", torn.bytes.len());
            }
            Ok((text, None))
        }
        Err(why) => {
            let (entries, _) = journal::salvage(path)
                .map_err(|why| Failure::refused(format!("cannot read {}: {why}", path.display()), why.hint()))?;
            for (n, entry) in entries.iter().enumerate() {
                match entry.read_as::<Line>() {
                    Ok(line) => one(&mut text, n, &line, None),
                    Err(_) => {
                        let _ = writeln!(text, "{:>5}  {}", n + 1, entry.json());
                    }
                }
            }
            Ok((text, Some(Failure::refused(why.to_string(), why.hint()))))
        }
    }
}

fn one(text: &mut String, n: usize, line: &Line, loaded: Option<&Loaded>) {
    let stamp = store::stamp(line);
    let (s, ms) = (stamp.t / 1_000, stamp.t % 1_000);
    let said = match line {
        Line::Opened(opening) => format!(
            "opened: {} ({}, version {}), {}, ties {}, {}{}",
            opening.run,
            opening.procedure,
            opening.procedure_version,
            opening.system,
            opening.ties,
            opening.tool,
            opening.simulated.as_ref().map_or_else(String::new, |simulated| format!(", {simulated}")),
        ),
        Line::Happened { event, .. } => happened(event, loaded),
        Line::Resumed(resumed) => format!(
            "resumed after {} ({}), {}",
            clock::lasted(resumed.gap_ms),
            match resumed.how {
                Gap::SameBoot => "the steady clock had counted on",
                Gap::WallClock => "by the wall clock",
                Gap::Unknown => "the wall clock stood before the last line: how long is not known",
                Gap::Simulated => "simulated time stood still",
            },
            resumed.tool
        ),
        Line::Moved { from, .. } => format!("the record was moved here from {from}"),
    };
    // Writing to memory cannot fail.
    let _ =
        writeln!(text, "{:>5}  {}:{:02}:{:02}.{ms:03}  {}  {said}", n + 1, s / 3_600, s / 60 % 60, s % 60, stamp.at);
}

fn happened(event: &Written, loaded: Option<&Loaded>) -> String {
    let step = |id: &String| match loaded.and_then(|loaded| instruction(loaded, id)) {
        Some(instruction) => format!("“{instruction}”"),
        None => format!("step {id}"),
    };
    let reading = |id: &String| match loaded.and_then(|loaded| question(loaded, id)) {
        Some(question) => format!("“{question}”"),
        None => id.clone(),
    };
    let shown = |id: &String, value: &String| {
        loaded.and_then(|loaded| with_unit(&loaded.edition, id, value, loaded)).unwrap_or_else(|| value.clone())
    };
    let despite = |why: &Option<String>| {
        why.as_ref().map_or_else(String::new, |why| format!(", although the procedure said no: “{why}”"))
    };
    match event {
        Written::Begin { step: id } => format!("begun: {}", step(id)),
        Written::Count { step: id, n } => format!("counted {n}: {}", step(id)),
        Written::Turn { step: id } => format!("turned: {}", step(id)),
        Written::Done { step: id, despite: why } => format!("done: {}{}", step(id), despite(why)),
        Written::Answer { reading: id, value, seen, despite: why, .. } => {
            format!("{}: {}{} (seen at {} s)", reading(id), shown(id, value), despite(why), seen / 1_000)
        }
        Written::Add { reading: id, .. } => format!("one more: {}", reading(id)),
        Written::Incident { incident } => format!("it happened: {incident}"),
        Written::Discard { reason } => format!("attempt given up: “{reason}”"),
        Written::Again => "next attempt begun".to_owned(),
        Written::Close => "run closed".to_owned(),
        Written::Undo => "last act taken back".to_owned(),
        Written::Redo => "act taken back happened after all".to_owned(),
        Written::Correct { seq, reading: id, value, reason } => {
            format!("{} of event {seq} corrected to {}: “{reason}”", reading(id), shown(id, value))
        }
        Written::Remark { text } => format!("remark: “{text}”"),
        Written::Known { moment, at } => {
            let wall = engine::Wall { unix_ms: at.unix_ms, offset_min: at.offset_min };
            format!("told by another run of the sample: {moment} was at {}", clock::rfc3339(wall))
        }
    }
}

fn instruction(loaded: &Loaded, step: &str) -> Option<String> {
    let id = loaded.edition.step_named(step)?;
    Some(loaded.run.say(&loaded.edition.step(id).instruction))
}

fn question(loaded: &Loaded, reading: &str) -> Option<String> {
    let id = loaded.edition.reading_named(reading)?;
    Some(loaded.run.say(&loaded.edition.reading(id).ask))
}

fn with_unit(edition: &Edition, reading: &str, value: &str, loaded: &Loaded) -> Option<String> {
    let id = edition.reading_named(reading)?;
    let entry = engine::wire::read_entry(edition, id, value).ok()?;
    Some(loaded.run.show(id, &entry))
}
