//! A way in plain words: what an instructor wants to know beforehand, and a candidate does not.

use engine::Entry;
use procedure::{Edition, ReadingId, ReadingKind};

use super::list::plain;
use super::perform::typical;
use super::{Tell, Told, Way};

impl Way {
    /// What will happen, in plain words: what goes wrong, what is late, and every reading and answer, attempt by
    /// attempt. For an instructor; it gives everything away.
    pub fn says(&self, edition: &Edition) -> Vec<String> {
        let mut lines = vec![self.branch.title.clone()];
        let mut attempt = 1;
        for tell in &self.tells {
            if tell.attempt != attempt {
                attempt = tell.attempt;
                lines.push(format!("Attempt {attempt}:"));
            }
            lines.push(says(edition, tell));
        }
        lines
    }
}

fn says(edition: &Edition, tell: &Tell) -> String {
    let step = plain(&edition.step(tell.step).instruction);
    match &tell.told {
        Told::Value { reading, entry } => {
            let ask = plain(&edition.reading(*reading).ask);
            let ask = ask.trim_end_matches('?');
            let which = match (tell.visit, tell.nth) {
                (0, 0) => String::new(),
                (0, nth) => format!(" (reading {})", nth + 1),
                (visit, 0) => format!(" (time {})", visit + 1),
                (visit, nth) => format!(" (time {}, reading {})", visit + 1, nth + 1),
            };
            let unusual = if is_usual(edition, *reading, entry) { "" } else { " — not usual" };
            format!("{ask}{which}: {}{unusual}", show(edition, *reading, entry))
        }
        Told::Lasts { span } => format!("Lasts {span}, on purpose: {step}"),
        Told::Late { span } => format!("{span} are lost before: {step}"),
        Told::Down { span } => format!("Kept {span} in the limited position, once: {step}"),
        Told::Adds { n } => {
            let ask = edition.step(tell.step).add.as_ref().map(|add| plain(&add.ask)).unwrap_or_default();
            format!("Added {n} ×: {ask}")
        }
        Told::Incident { incident } => {
            let title = edition.incidents.get(usize::from(*incident)).map(|it| plain(&it.title)).unwrap_or_default();
            format!("Goes wrong at “{step}”: {title}")
        }
    }
}

fn show(edition: &Edition, reading: ReadingId, entry: &Entry) -> String {
    match (entry, &edition.reading(reading).kind) {
        (Entry::Number(value), ReadingKind::Number(scale)) => scale.show(value),
        (Entry::Choice(at), ReadingKind::Choice(choices)) => {
            choices.get(usize::from(*at)).map_or_else(|| at.to_string(), |choice| choice.label.clone())
        }
        (Entry::Number(value), _) => value.to_string(),
        (Entry::Choice(at), _) => at.to_string(),
        (Entry::Words(words), _) => words.clone(),
        (Entry::One, _) => "1".to_owned(),
    }
}

fn is_usual(edition: &Edition, reading: ReadingId, entry: &Entry) -> bool {
    match (entry, typical(edition.reading(reading))) {
        (Entry::Number(value), Some((low, high))) if edition.reading(reading).typical.is_some() => {
            (low..=high).contains(value)
        }
        _ => true,
    }
}
