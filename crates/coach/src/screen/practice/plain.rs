//! Practice in lines: for a screen reader, or where there is no screen.
//!
//! Here: what stands on the practice screen as sentences, one cue a line, and what a typed line means in keys. What happens is
//! the same as on the screen, for it goes through the same state. Not here: reading and writing the lines.
//!
//! An instrument is said by its pointer between two marks; which mark is nearer is left to the person.
//!
//! **Invariant:** as on the screen: what is to be recalled is not said before the try, nor while it is done from memory.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Moment, Tick};
use practice::{Due, Form};
use procedure::{ReadingKind, Wants};
use quantity::{Decimal, Exact, Scale};
use specimen::{Happening, Shape, Shown as Seen};

use super::words::summary_lines;
use super::{Over, PracticeDeed, PracticeModel};
use crate::screen::entry::Entry;
use crate::screen::face::said;
use crate::screen::model::{Confirm, Overlay};
use crate::screen::shown::{Sensed, Shown as _};
use crate::screen::update::{WrongLine, wrong_lines};

/// What can be typed, in one line.
pub const PLAIN_HELP: &str = "An empty line goes on: done, begin, turn. A number answers. Also: ? (don't know), u (take back), \
x (something went wrong), o (go on anyway, with a reason), t (tap), c (one more added), again (say it again), q (leave).";

/// What is to be done about the end of the input: leave, and keep what is under way as broken off.
pub fn hear_end(model: &mut PracticeModel, now: Moment) -> Vec<PracticeDeed> {
    model.sense(Sensed::Key(KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL)), now)
}

/// Takes a typed line as the keys it stands for.
pub fn hear_line(model: &mut PracticeModel, typed: &str, now: Moment) -> Vec<PracticeDeed> {
    let typed = typed.trim();
    let mut deeds = model.sense(Sensed::Wake, now);
    let is_question = matches!(model.due(), Due::Ask(_));
    let keys: Vec<KeyCode> = match typed {
        "again" => Vec::new(),
        "" if is_question => Vec::new(),
        "" if model.letters_are_text() => vec![KeyCode::Enter],
        "" => vec![KeyCode::Char(' ')],
        "?" if is_question => {
            vec![if matches!(model.attempt, super::Try::Number(_)) { KeyCode::Tab } else { KeyCode::Char('0') }]
        }
        "q" if model.over.is_none() => {
            deeds.extend(model.sense(Sensed::Key(KeyEvent::new(KeyCode::Char('q'), KeyModifiers::CONTROL)), now));
            return deeds;
        }
        _ => {
            let mut keys: Vec<KeyCode> = typed.chars().map(KeyCode::Char).collect();
            let is_command = typed.chars().count() == 1
                && !model.letters_are_text()
                && !typed.starts_with(|sign: char| sign.is_ascii_digit());
            let is_choice = is_question && matches!(model.attempt, super::Try::Choice(_));
            let is_answer = model.acting.as_ref().is_some_and(|acting| matches!(acting.model.entry, Entry::Choice(_)));
            let is_key = is_answer && !is_question && typed.chars().count() == 1;
            if !is_command && !is_choice && !is_key && model.over.is_none() {
                keys.push(KeyCode::Enter);
            }
            keys
        }
    };
    let mut press = |model: &mut PracticeModel, code: KeyCode| {
        deeds.extend(model.sense(Sensed::Key(KeyEvent::new(code, KeyModifiers::NONE)), now));
    };
    for code in keys {
        // A list of what can go wrong is answered by its number.
        let chosen = match (model.acting.as_ref().and_then(|acting| acting.model.overlay.as_ref()), code) {
            (Some(Overlay::Wrong { .. }), KeyCode::Char(sign)) => sign.to_digit(10),
            _ => None,
        };
        match chosen {
            Some(n) => {
                (1..n).for_each(|_| press(model, KeyCode::Down));
                press(model, KeyCode::Enter);
                break;
            }
            None => press(model, code),
        }
    }
    deeds
}

/// What is to be said now, line by line.
pub fn plain_lines(model: &PracticeModel, now: Tick) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some((what, hint)) = &model.kept.failed {
        lines.push(format!("NOT RECORDED: {what}. {hint}"));
    }
    if let Some(said) = &model.said {
        lines.push(said.text.clone());
    }
    if let Some(Over::Leave) = &model.over {
        lines.push("Leave? Everything tried so far is kept. y: leave, n: go on.".to_owned());
        return lines;
    }
    match model.due() {
        Due::Tell(tell) => {
            lines.push(format!("Learn it. {}: {}", tell.stage, tell.text));
            lines.extend(tell.facts.iter().map(|(asked, answer)| format!("{asked} {answer}")));
            lines.extend(tell.caution.iter().map(|text| format!("Caution: {text}")));
            lines.extend(tell.why.iter().map(|text| format!("Why: {text}")));
            lines.extend(tell.slip.iter().map(|text| format!("The usual slip: {text}")));
        }
        Due::Ask(question) => {
            lines.extend(question.stage.iter().cloned());
            lines.extend(question.after.iter().map(|text| format!("Done: {text}")));
            lines.extend(question.given.iter().cloned());
            lines.extend(question.about.iter().cloned());
            lines.push(match &question.form {
                Form::Choices(_) => question.prompt.clone(),
                Form::Number(number) => format!("{} Type it in {}.", question.prompt, number.unit),
            });
            lines.extend((1..).zip(question.choices()).map(|(n, choice)| format!("{n}: {}", choice.text)));
        }
        Due::Explain(explained) => {
            let verdict = if explained.judged.right { "Right" } else { "Not this" };
            lines.push(format!("{verdict}: {}", explained.given.as_deref().unwrap_or("not known")));
            lines.push(explained.judged.because.clone());
            if !explained.judged.right {
                lines.push(format!("Right is: {}", explained.judged.right_answer));
            }
            lines.extend(explained.judged.sources.iter().map(|source| format!("Source: {source}")));
        }
        Due::TrialAhead(ahead) => {
            lines.push(format!("A timed run without help follows: {}, up to {} acts.", ahead.method, ahead.acts));
        }
        Due::Perform(perform) => act_lines(model, perform.shown, now, &mut lines),
        Due::Finished(summary) => {
            lines.extend(summary_lines(model, summary).into_iter().map(|(mark, text)| format!("{mark}{text}")));
        }
    }
    lines.retain(|text| !text.trim().is_empty());
    lines
}

fn act_lines(model: &PracticeModel, is_shown: bool, now: Tick, lines: &mut Vec<String>) {
    let Some(acting) = &model.acting else { return };
    let tick = model.clock.tick(now);
    let run = &acting.model.run;
    lines.extend(acting.was_away.clone());
    match &acting.happening {
        Some(Happening::Incident { says, .. }) => lines.push(format!("You see: {says}")),
        Some(Happening::OnPurpose { says }) => lines.push(says.clone()),
        Some(Happening::Away { .. }) | None => {}
    }
    if let Some(message) = acting.model.message.as_ref().filter(|_| !model.is_trial()) {
        lines.push(message.text.clone());
    }
    match &acting.model.overlay {
        Some(Overlay::Wrong { .. }) => {
            lines.push("What went wrong? Type its number; you are asked once more.".to_owned());
            for (n, what) in (1..).zip(wrong_lines(&acting.model)) {
                let text = match what {
                    WrongLine::Incident(at) => run.say(&run.edition().incidents[usize::from(at)].title),
                    WrongLine::Other => "Something else: give this attempt up, with a reason".to_owned(),
                    WrongLine::Close => "Close the run without a result".to_owned(),
                };
                lines.push(format!("{n}: {text}"));
            }
            return;
        }
        Some(Overlay::Confirm(Confirm::Leave)) => return lines.push("Leave? y or n.".to_owned()),
        Some(Overlay::Confirm(_)) => return lines.push("Is that so? The attempt ends. y or n.".to_owned()),
        Some(Overlay::Ask { .. }) => return lines.push("Why? Type the reason.".to_owned()),
        Some(_) | None => {}
    }
    let offer = run.offer(tick);
    let Some((_, step)) = offer.step.filter(|_| run.phase() == engine::Phase::AtStep) else {
        let because = run.endings().last().map_or("", |ended| ended.because.as_str());
        return lines.push(format!("The attempt has ended: {because}. An empty line goes on."));
    };
    if is_shown {
        lines.push(format!("Do it: {}", said(run, &step.instruction)));
        lines.extend(step.caution.iter().map(|text| format!("Caution: {}", run.say(text))));
        if let Some(add) = &step.add {
            lines.push(format!("c: {}", run.say(&add.ask)));
        }
    } else if acting.reading(tick).is_none() {
        lines.push("Do it from memory.".to_owned());
    }
    match (&step.wants, offer.standing.begun) {
        (Wants::Count { .. }, _) if acting.reading(tick).is_none() => lines.push("Type how many.".to_owned()),
        (Wants::Hold { .. } | Wants::Timed { .. }, None) => lines.push("An empty line begins it.".to_owned()),
        (Wants::Hold { turns, .. }, Some(begun)) => {
            let gone = crate::screen::face::seconds_gone(begun, tick).0;
            let side = turns.as_ref().map_or("", |turns| if offer.standing.is_down { &turns.down } else { &turns.up });
            lines.push(format!("Under way for {gone} s. {side}").trim_end().to_owned());
        }
        (Wants::Timed { .. }, Some(_)) => lines.push("Under way. An empty line ends it.".to_owned()),
        _ => {}
    }
    if let Some((_, reading)) = acting.reading(tick) {
        let spec = run.edition().reading(reading);
        lines.push(said(run, &spec.ask).into_owned());
        if let ReadingKind::Choice(choices) = &spec.kind {
            lines.extend(choices.iter().map(|choice| format!("{}: {}", choice.key, choice.label)));
        }
        if let (Some(shown), true) = (acting.shown(tick), !matches!(acting.model.entry, Entry::Nothing)) {
            lines.push(seen_words(&shown));
        }
    }
}

/// What is seen, in words: a pointer by the marks it stands between.
fn seen_words(shown: &Seen) -> String {
    match shown {
        Seen::Neck { scale, level, foam } => {
            if *level > scale.max {
                return format!("The level lies above the mark {}, beyond the scale.", scale.max.normalize());
            }
            let top = between(scale, (*level - *foam).max(scale.min));
            format!("The bottom of the meniscus is {}; the top of the foam is {top}.", between(scale, *level))
        }
        Seen::Gauge { scale, at } => format!("The needle is {}.", between(scale, *at)),
        Seen::Thermometer { scale, at } => format!("The top of the column is {}.", between(scale, *at)),
        Seen::Rule { scale, slump, shape } => {
            let shape = match shape {
                Shape::True => "It stands whole, sunk evenly",
                Shape::Sheared => "One side has slid off",
                Shape::Collapsed => "It has run out, no cone is left",
            };
            format!("{shape}. Its top is, down from the height of the mould, {}.", between(scale, *slump))
        }
        Seen::Balance { scale, at } => format!("The display shows {at} {}.", scale.unit.symbol()),
        Seen::Paper { title, lines } => format!("Written there: {title}: {}", lines.join("; ")),
        Seen::Sight { says } => format!("You see: {says}"),
    }
}

/// Where a pointer stands, in tenths of the way from one mark to the next.
fn between(scale: &Scale, at: Decimal) -> String {
    let unit = scale.unit.symbol();
    let steps = (at - scale.min) / scale.step;
    let below = scale.min + steps.floor() * scale.step;
    let tenths = ((at - below) / scale.step * Decimal::TEN).round_dp(0);
    if tenths == Decimal::ZERO || tenths == Decimal::TEN {
        let mark = if tenths == Decimal::ZERO { below } else { below + scale.step };
        return format!("on the mark {} {unit}", mark.normalize());
    }
    let (from, to) = (Exact::from(below), Exact::from(below + scale.step));
    format!("{tenths} tenths of the way from the mark {} to the mark {} {unit}", from.show_short(), to.show_short())
}
