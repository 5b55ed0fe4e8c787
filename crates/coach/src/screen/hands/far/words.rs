//! What the far view says: one word of state, a few words to do.
//!
//! Here: which word stands for where the run is, and how an instruction is made short. Not here: how big they are.
//!
//! **Invariant:** a word of alarm stands wherever the number is in alarm, and what is not on disk is said whatever else is.

use std::borrow::Cow;

use engine::{Act, ClockOf, Phase, Tick};
use procedure::{EndingKind, Step, Wants};

use crate::screen::entry::Entry;
use crate::screen::face::{Face, said};
use crate::screen::model::{MessageKind, Model, Overlay};
use crate::screen::view::overlay_title;

/// How a word is meant; it says so itself, and the colour says it once more.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Mood {
    /// The ordinary way.
    Plain,
    /// What was asked for is reached.
    Good,
    /// Something must be looked at: a field.
    Alarm,
}

/// One word for where the run stands.
///
/// | where | word |
/// |-------|------|
/// | a limit, a hold, a timed act is past its end | `LATE` |
/// | an inversion is past its end | `TURN NOW` |
/// | settling cannot succeed any more | `NO TIME` |
/// | something lies over the screen | `CHOOSE`, `SURE?` or `WRITE` |
/// | the last act was refused | `REFUSED` |
/// | it waits for another test | `WAIT` |
/// | the next right thing | `DO`, `COUNT`, `BEGIN`, `TURN`, `WAIT`, `READ`, `ANSWER`, `WRITE` |
/// | something lasts long enough | `ENOUGH` |
/// | a timed act lasts: too short, right | `NOT YET`, `IN TIME` |
/// | the attempt ended | `ENDED` or `VOID` |
/// | there is a result, the run is closed | `RESULT`, `CLOSED` |
pub(super) fn state(model: &Model, face: &Face, now: Tick) -> (&'static str, Mood) {
    let offer = model.run.offer(now);
    let wants = offer.step.map(|(_, step)| &step.wants);
    if face.is_alarm {
        let word = match (face.clock, &offer.act) {
            (Some(ClockOf::Down), _) => "TURN NOW",
            (Some(ClockOf::GiveUp), Act::GiveUp(_)) if face.change.is_some() => "NO TIME",
            _ => "LATE",
        };
        return (word, Mood::Alarm);
    }
    match &model.overlay {
        Some(Overlay::Confirm(_)) => return ("SURE?", Mood::Alarm),
        Some(Overlay::Ask { .. } | Overlay::CorrectTo { .. }) => return ("WRITE", Mood::Plain),
        Some(_) => return ("CHOOSE", Mood::Plain),
        None => {}
    }
    match offer.phase {
        Phase::AtStep => {}
        Phase::Ended => {
            let is_void = model.run.endings().last().is_some_and(|end| end.kind == EndingKind::Void);
            return (if is_void { "VOID" } else { "ENDED" }, Mood::Alarm);
        }
        Phase::Finished => return ("RESULT", Mood::Good),
        Phase::Closed { .. } => return ("CLOSED", Mood::Plain),
    }
    if model.message.as_ref().is_some_and(|message| message.kind == MessageKind::Refused) {
        return ("REFUSED", Mood::Alarm);
    }
    if model.waits.is_some() {
        return ("WAIT", Mood::Plain);
    }
    match (&offer.act, wants) {
        (Act::Confirm, Some(Wants::Count { .. })) => ("COUNT", Mood::Plain),
        (Act::Confirm, Some(Wants::Hold { .. })) => ("ENOUGH", Mood::Good),
        (Act::Confirm, Some(Wants::Timed { .. })) if face.is_good => ("IN TIME", Mood::Good),
        (Act::Confirm, Some(Wants::Timed { .. })) => ("NOT YET", Mood::Plain),
        (Act::Begin, _) => ("BEGIN", Mood::Plain),
        (Act::Turn { .. }, _) => ("TURN", Mood::Plain),
        (Act::Wait { .. }, _) => ("WAIT", Mood::Plain),
        (Act::Answer(_), _) => match model.entry {
            Entry::Words(_) => ("WRITE", Mood::Plain),
            Entry::Choice(_) => ("ANSWER", Mood::Plain),
            _ => ("READ", Mood::Plain),
        },
        _ => ("DO", Mood::Plain),
    }
}

/// The line in large letters, and whether it says all there is to say.
pub(super) fn line(model: &Model, face: &Face, now: Tick) -> (String, bool) {
    let run = &model.run;
    if let Some(overlay) = &model.overlay {
        return (overlay_title(overlay).to_owned(), true);
    }
    let offer = run.offer(now);
    match offer.phase {
        Phase::AtStep => {}
        Phase::Ended => {
            let because = run.endings().last().map(|end| end.because.clone());
            return (because.unwrap_or_default(), true);
        }
        Phase::Closed { with_result: false } => return ("Closed without a result".to_owned(), true),
        Phase::Finished | Phase::Closed { .. } => {
            let words = match run.findings().len() {
                0 => "No findings".to_owned(),
                1 => "One finding".to_owned(),
                n => format!("{n} findings"),
            };
            return (words, true);
        }
    }
    let Some((_, step)) = offer.step else { return (String::new(), true) };
    if face.number.is_empty() && face.is_alarm {
        // What is over says more than what was to be done.
        return (face.caption.to_string(), false);
    }
    if let (Act::Turn { to_down }, Wants::Hold { turns: Some(turns), .. }) = (&offer.act, &step.wants)
        && offer.standing.begun.is_some()
    {
        return (format!("Turn it {}", if *to_down { &turns.down } else { &turns.up }), false);
    }
    to_do(model, step)
}

/// What to do, in a few words: the spoken form if the procedure has one, else the first part of the instruction.
fn to_do(model: &Model, step: &Step) -> (String, bool) {
    let whole = said(&model.run, &step.instruction);
    if let Some(say) = &step.say {
        let say = said(&model.run, say).trim_end_matches('.').to_owned();
        let is_all = say == whole;
        return (say, is_all);
    }
    let short = shortened(&whole);
    (short.to_owned(), short.len() == whole.len())
}

/// Words a part of a sentence begins with that does not say what to do without the rest.
const LEANS: [&str; 17] = [
    "if", "when", "unless", "after", "before", "until", "once", "while", "as", "with", "without", "for", "in", "on",
    "at", "from", "to",
];

/// The first part of a sentence that says by itself what to do; the whole sentence if it is short or has no such part.
pub(super) fn shortened(text: &str) -> &str {
    const SHORT: usize = 24;
    if text.chars().count() <= SHORT {
        return text;
    }
    let mut rest = text;
    loop {
        let end = rest.char_indices().find(|&(at, sign)| {
            let before = rest[..at].chars().next_back();
            let after = rest[at + sign.len_utf8()..].chars().next();
            // A point or a comma inside of a figure ends nothing.
            matches!(sign, ',' | ';' | ':' | '.' | '—' | '(') && after.is_none_or(|next| next == ' ' || sign == '(')
                || sign == '?' && before.is_some()
        });
        let Some((at, sign)) = end else { break };
        let part = rest[..at].trim();
        let first = part.split(' ').next().unwrap_or("").to_lowercase();
        if part.contains(' ') && !LEANS.contains(&first.as_str()) {
            let end = if sign == '?' { at + 1 } else { at };
            return rest[..end].trim();
        }
        rest = rest[at + sign.len_utf8()..].trim_start();
    }
    if rest.is_empty() { text } else { rest }
}

/// The first of two acts.
pub(super) fn first_act(text: &str) -> Option<&str> {
    text.split_once(" and ").map(|(first, _)| first).filter(|first| first.contains(' '))
}

/// What stands small beside the number, where it is a word and no unit: a unit keeps its small letters.
pub(super) fn is_words(side: &str) -> bool {
    side.split_whitespace().all(|word| {
        matches!(word, "of" | "left" | "OVER" | "not" | "begun" | "%")
            || word.chars().all(|sign| sign.is_ascii_digit() || sign == '-')
    })
}

/// Whether something that was done is not on disk, and will not be without help.
pub(super) fn is_not_recorded(model: &Model) -> bool {
    model.store.in_memory > 0 || model.store.failed.is_some()
}

/// Why what is typed is no reading.
pub(super) fn not_a_reading(model: &Model) -> Option<Cow<'static, str>> {
    match &model.entry {
        Entry::Number(number) => match number.typed() {
            crate::screen::entry::Typed::Not(not) if !number.is_refused() => Some(not.to_string().into()),
            _ => None,
        },
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_instruction_is_shortened_to_a_part_that_says_what_to_do() {
        for (whole, short) in [
            ("Put the funnel in", "Put the funnel in"),
            (
                "Wet the inside of the bowl and leave it damp, without standing water",
                "Wet the inside of the bowl and leave it damp",
            ),
            ("Listen: is the concrete free of the bowl?", "is the concrete free of the bowl?"),
            (
                "With the syringe, bring the bottom of the meniscus to the 0 mark",
                "bring the bottom of the meniscus to the 0 mark",
            ),
            ("Add 1.25 cups of water through the funnel; slowly", "Add 1.25 cups of water through the funnel"),
            ("Before you measure it, look at its shape", "look at its shape"),
            ("Read the strength on the alcohol's label", "Read the strength on the alcohol's label"),
            ("Which moulds do you fill? One after the other", "Which moulds do you fill?"),
            ("", ""),
        ] {
            assert_eq!(shortened(whole), short, "{whole:?}");
        }
    }

    #[test]
    fn a_unit_is_never_written_in_capitals() {
        for side in ["of 25", "of 10-15", "left", "not begun", "%", "OVER"] {
            assert!(is_words(side), "{side}");
        }
        for side in ["mm", "in", "°F", "lb/ft³", "kPa", "g", "s left"] {
            assert!(!is_words(side), "{side}");
        }
    }
}
