//! What the keys do while something lies over the screen.
//!
//! Here: choosing in lists, typing reasons, saying yes or no. Not here: what is drawn.
//!
//! **Invariant:** Escape always closes an overlay and nothing has happened, nor is what was typed lost; only Enter, or `y` where something is
//! lost, makes something happen.

use engine::{Event, Moment, Tick};
use procedure::ReadingKind;

use super::{Effect, MessageKind, happen, hint, into_entry, not_taken, say};
use crate::screen::bench::BENCH_BINDINGS;
use crate::screen::entry::{Entry, Field};
use crate::screen::keys::{self, Command, Key};
use crate::screen::model::{Ask, Confirm, Draft, Model, Overlay};

/// What the list of what went wrong offers.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) enum WrongLine {
    /// Something the procedure names.
    Incident(u16),
    /// Another reason, typed.
    Other,
    /// The run is closed without a result.
    Close,
}

/// The lines of that list.
pub(crate) fn wrong_lines(model: &Model) -> Vec<WrongLine> {
    if model.run.phase() == engine::Phase::Ended {
        return vec![WrongLine::Close];
    }
    model.incidents().map(WrongLine::Incident).chain([WrongLine::Other]).collect()
}

/// Pasted text goes where typed text would go.
pub(crate) fn paste(model: &mut Model, text: &str, now: Tick) {
    match &mut model.overlay {
        Some(Overlay::Ask { field, .. }) => field.paste(text),
        Some(Overlay::CorrectTo { entry, .. }) => entry.paste(text),
        Some(_) => {}
        None => {
            let was_begun = model.entry.is_begun();
            model.entry.paste(text);
            if !was_begun && model.entry.is_begun() {
                model.typing_since = Some(now);
            }
        }
    }
}

/// A key while something lies over the screen.
pub(crate) fn key(model: &mut Model, key: Key, now: Moment, fx: &mut Vec<Effect>) {
    if key == Key::Esc {
        let left = model.overlay.take();
        // From the new value back to the list it was chosen from; from everywhere else to the screen.
        if matches!(left, Some(Overlay::CorrectTo { .. })) {
            model.overlay = Some(Overlay::Correct { chosen: 0 });
        }
        model.hint = None;
        keep_draft(model, left);
        return;
    }
    let Some(overlay) = model.overlay.take() else { return };
    model.overlay = match overlay {
        Overlay::Help { from } => help(from, key, model.on_bench.is_some()),
        Overlay::Steps { chosen } => steps(model, chosen, key, now, fx),
        Overlay::Wrong { chosen } => wrong(model, chosen, key),
        Overlay::Ask { what, field } => ask(model, what, field, key, now, fx),
        Overlay::Confirm(what) => confirm(model, what, key, now, fx),
        Overlay::Correct { chosen } => correct(model, chosen, key),
        Overlay::CorrectTo { seq, reading, entry } => correct_to(model, seq, reading, entry, key, now, fx),
    };
}

// ---------------------------------------------------------------------------------------------- drafts

/// Asks for words; those that were left with Esc stand there again.
pub(crate) fn asking(model: &mut Model, what: Ask) -> Overlay {
    let kept = take_draft(model, |draft| matches!(draft, Draft::Words(of, _) if is_same_question(of, &what)));
    match kept {
        Some(Draft::Words(_, field)) => {
            hint(model, "These are your words from before; Backspace takes them away.");
            Overlay::Ask { what, field }
        }
        _ => Overlay::Ask { what, field: Field::default() },
    }
}

/// Keeps what was typed over the screen when it is closed without having happened.
fn keep_draft(model: &mut Model, left: Option<Overlay>) {
    let draft = match left {
        Some(Overlay::Ask { what, field }) if !field.is_blank() => Draft::Words(what, field),
        Some(Overlay::Confirm(Confirm::Discard(reason))) => Draft::Words(Ask::DiscardReason, Field::with(&reason)),
        Some(Overlay::CorrectTo { seq, entry, .. }) if entry.is_begun() => Draft::Value(seq, entry),
        _ => return,
    };
    take_draft(model, |kept| match (kept, &draft) {
        (Draft::Words(kept, _), Draft::Words(what, _)) => is_same_question(kept, what),
        (Draft::Value(kept, _), Draft::Value(seq, _)) => kept == seq,
        _ => false,
    });
    model.drafts.push(draft);
    hint(model, "What you typed is kept: open the same again, before anything else is recorded.");
}

fn take_draft(model: &mut Model, is_it: impl Fn(&Draft) -> bool) -> Option<Draft> {
    let at = model.drafts.iter().position(is_it)?;
    Some(model.drafts.remove(at))
}

/// Whether words for the one are words for the other: a reason belongs to the step or the reading, not to a moment.
fn is_same_question(one: &Ask, other: &Ask) -> bool {
    match (one, other) {
        (Ask::OverruleReason(one), Ask::OverruleReason(other)) => match (one.as_ref(), other.as_ref()) {
            (
                Event::Done { step: one, .. } | Event::Answer { step: one, .. },
                Event::Done { step: other, .. } | Event::Answer { step: other, .. },
            ) => one == other,
            (one, other) => one == other,
        },
        (Ask::CorrectReason { seq: one, .. }, Ask::CorrectReason { seq: other, .. }) => one == other,
        (one, other) => one == other,
    }
}

// ---------------------------------------------------------------------------------------------- keys

/// The line chosen after a key in a list of `n`; the arrows and the page keys move.
fn moved(chosen: usize, n: usize, key: Key) -> Option<usize> {
    let last = n.saturating_sub(1);
    match key {
        Key::Up => Some(chosen.saturating_sub(1)),
        Key::Down => Some((chosen + 1).min(last)),
        Key::PageUp => Some(chosen.saturating_sub(10)),
        Key::PageDown => Some((chosen + 10).min(last)),
        _ => None,
    }
}

fn is_choose(key: Key) -> bool {
    matches!(key, Key::Enter | Key::Char(' '))
}

fn help(from: usize, key: Key, is_on_bench: bool) -> Option<Overlay> {
    let own = if is_on_bench { BENCH_BINDINGS.len() } else { 0 };
    moved(from, keys::BINDINGS.len() + own, key).map(|from| Overlay::Help { from })
}

fn steps(model: &mut Model, chosen: usize, key: Key, now: Moment, fx: &mut Vec<Effect>) -> Option<Overlay> {
    let n = model.run.edition().steps.len();
    if let Some(chosen) = moved(chosen, n, key) {
        return Some(Overlay::Steps { chosen });
    }
    if keys::command(key) == Some(Command::Steps) {
        return None;
    }
    if !is_choose(key) {
        return Some(Overlay::Steps { chosen });
    }
    // Trying a step out of its turn is answered by the engine, in the words of the procedure.
    let step = procedure::StepId(chosen as u16);
    let is_open = model.run.offer(now.tick).step.is_some_and(|(open, _)| open == step);
    if is_open && model.run.phase() == engine::Phase::AtStep {
        return None;
    }
    if happen(model, Event::Done { step, despite: None }, now, fx) {
        return None;
    }
    Some(Overlay::Steps { chosen })
}

fn wrong(model: &mut Model, chosen: usize, key: Key) -> Option<Overlay> {
    let lines = wrong_lines(model);
    if let Some(chosen) = moved(chosen, lines.len(), key) {
        return Some(Overlay::Wrong { chosen });
    }
    let picked = match key {
        Key::Char(digit @ '1'..='9') => (digit as usize) - ('1' as usize),
        key if is_choose(key) => chosen,
        _ => return Some(Overlay::Wrong { chosen }),
    };
    match lines.get(picked) {
        Some(WrongLine::Incident(incident)) => Some(Overlay::Confirm(Confirm::Incident(*incident))),
        Some(WrongLine::Other) => Some(asking(model, Ask::DiscardReason)),
        Some(WrongLine::Close) => Some(Overlay::Confirm(Confirm::CloseWithoutResult)),
        None => Some(Overlay::Wrong { chosen }),
    }
}

fn confirm(model: &mut Model, what: Confirm, key: Key, now: Moment, fx: &mut Vec<Effect>) -> Option<Overlay> {
    match key {
        Key::Char('y' | 'Y') => {}
        Key::Char('n' | 'N') => {
            keep_draft(model, Some(Overlay::Confirm(what)));
            return None;
        }
        _ => return Some(Overlay::Confirm(what)),
    }
    let event = match what {
        Confirm::Incident(incident) => Event::Incident { incident },
        Confirm::Discard(reason) => Event::Discard { reason },
        Confirm::CloseWithoutResult => Event::Close,
        Confirm::Leave => {
            fx.push(Effect::Leave);
            return None;
        }
    };
    happen(model, event, now, fx);
    None
}

fn ask(model: &mut Model, what: Ask, mut field: Field, key: Key, now: Moment, fx: &mut Vec<Effect>) -> Option<Overlay> {
    match key {
        Key::Char(sign) => {
            field.push(sign);
        }
        Key::Backspace => {
            field.backspace();
        }
        Key::Enter if field.is_blank() => {
            let text = if what == Ask::Folder {
                "Type the name of a folder."
            } else {
                "Say it in a few words: it stays on the record."
            };
            not_taken(model, text, now.tick, fx);
        }
        Key::Enter => return asked(model, what, field, now, fx),
        _ => {}
    }
    Some(Overlay::Ask { what, field })
}

/// The words are there: what they were asked for happens.
fn asked(model: &mut Model, what: Ask, field: Field, now: Moment, fx: &mut Vec<Effect>) -> Option<Overlay> {
    let words = field.text.trim().to_owned();
    let event = match what {
        Ask::DiscardReason => return Some(Overlay::Confirm(Confirm::Discard(words))),
        Ask::Folder => {
            say(model, MessageKind::Note, format!("Trying {words} …"));
            fx.push(Effect::MoveStore { folder: words });
            return None;
        }
        Ask::Remark => Event::Remark { text: words },
        Ask::CorrectReason { seq, entry, .. } => Event::Correct { seq, entry, reason: words },
        Ask::OverruleReason(mut event) => {
            match event.as_mut() {
                Event::Done { despite, .. } | Event::Answer { despite, .. } => *despite = Some(words),
                _ => return None,
            }
            *event
        }
    };
    happen(model, event, now, fx);
    None
}

fn correct(model: &mut Model, chosen: usize, key: Key) -> Option<Overlay> {
    let n = model.correctable().count();
    if let Some(chosen) = moved(chosen, n, key) {
        return Some(Overlay::Correct { chosen });
    }
    if !is_choose(key) {
        return Some(Overlay::Correct { chosen });
    }
    let Some(taken) = model.correctable().nth(chosen) else { return Some(Overlay::Correct { chosen: 0 }) };
    let last = match &taken.entry {
        engine::Entry::Number(value) => Some(*value),
        _ => None,
    };
    let kind = &model.run.edition().reading(taken.reading).kind;
    let entry = Entry::for_kind(kind, last, false);
    let (seq, reading) = (taken.seq, taken.reading);
    let entry = match take_draft(model, |draft| matches!(draft, Draft::Value(of, _) if *of == seq)) {
        Some(Draft::Value(_, entry)) => entry,
        _ => entry,
    };
    Some(Overlay::CorrectTo { seq, reading, entry })
}

fn correct_to(
    model: &mut Model,
    seq: u32,
    reading: procedure::ReadingId,
    mut entry: Entry,
    key: Key,
    now: Moment,
    fx: &mut Vec<Effect>,
) -> Option<Overlay> {
    let choices = match &model.run.edition().reading(reading).kind {
        ReadingKind::Choice(choices) => choices.as_slice(),
        _ => &[],
    };
    let mut is_given = key == Key::Enter || (key == Key::Char(' ') && !matches!(entry, Entry::Words(_)));
    if let (Entry::Choice(marked), Key::Char(sign)) = (&mut entry, key)
        && let Some(at) = choices.iter().position(|choice| choice.key == sign)
    {
        *marked = Some(at);
        is_given = true;
    }
    if let (Entry::Choice(marked), Key::Up | Key::Down) = (&mut entry, key) {
        *marked = moved(marked.unwrap_or(0), choices.len(), if marked.is_none() { Key::Up } else { key });
    }
    let used = if matches!(entry, Entry::Words(_)) { model.used_words(reading).to_vec() } else { Vec::new() };
    if into_entry(&mut entry, key, &used) || !is_given {
        return Some(Overlay::CorrectTo { seq, reading, entry });
    }
    let value = match &entry {
        Entry::Number(number) => number.read().map(engine::Entry::Number).map_err(|not| not.to_string()),
        Entry::Words(words) if words.field.is_blank() => Err("Write a word or two.".to_owned()),
        Entry::Words(words) => Ok(engine::Entry::Words(words.field.text.trim().to_owned())),
        Entry::Choice(Some(at)) => Ok(engine::Entry::Choice(*at as u16)),
        Entry::Choice(None) | Entry::Nothing | Entry::Count(_) => Err("Choose one of the answers.".to_owned()),
    };
    let value = match value {
        Ok(value) => value,
        Err(text) => {
            not_taken(model, &text, now.tick, fx);
            return Some(Overlay::CorrectTo { seq, reading, entry });
        }
    };
    // What would follow is found out on a copy, so that the person knows before saying why.
    let mut copy = model.run.clone();
    let event = Event::Correct { seq, entry: value.clone(), reason: "?".to_owned() };
    match copy.apply(event, now) {
        Ok(applied) => {
            let follows = match super::moved_to(&copy, applied.back_to, &super::Before::of(model)) {
                Some(step) => format!("The run will go back to “{step}”; what was done after it is set aside."),
                None => "The run stays where it is; what follows is computed anew.".to_owned(),
            };
            let what = Ask::CorrectReason { seq, reading, entry: value, follows };
            Some(asking(model, what))
        }
        Err(refused) => {
            not_taken(model, &refused.to_string(), now.tick, fx);
            hint(model, "Esc leaves the reading as it is.");
            Some(Overlay::CorrectTo { seq, reading, entry })
        }
    }
}
