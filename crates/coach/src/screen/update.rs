//! What comes in, and what is to be done about it.
//!
//! Here: one function for keys, wake-ups and answers of the store; the run takes its events here. Not here: drawing,
//! files, time. What the keys of an overlay do is in `overlay`.
//!
//! **Invariant:** a refused act changes nothing but what is said, and every accepted event is handed over to be kept
//! exactly once.

mod overlay;

pub(crate) use overlay::{WrongLine, asking, wrong_lines};

use std::collections::BTreeMap;

use crossterm::event::{KeyEvent, KeyEventKind};
use engine::Run;
use engine::{Act, Applied, ClockOf, Event, FindingKind, Moment, Phase, Refused, Side, Tick};
use procedure::{ReadingId, ReadingKind, StepId, Wants};

use super::cue::{Cue, CueKind};
use super::entry::{Entry, NumberEntry};
use super::face::{self, next_shown_change, said, seconds_left};
use super::keys::{self, Command, Key};
use super::model::{Ask, Cleared, Confirm, Message, MessageKind, Model, Overlay};

/// Something that comes in.
#[derive(Clone, Debug)]
pub enum Input {
    /// A key.
    Key(KeyEvent),
    /// Pasted text.
    Paste(String),
    /// A moment named by [`next_change`] has come.
    Wake,
    /// The terminal has another size.
    Resize,
    /// The journal has everything up to here on disk.
    Kept {
        /// How many entries it holds.
        entries: u64,
    },
    /// The journal of a run that was begun on a bench is on disk.
    Begun {
        /// The name it was given.
        run: String,
    },
    /// The last act handed over is not on disk; it is kept in memory.
    StoreFailed {
        /// What failed.
        what: String,
        /// What to do about it.
        hint: String,
    },
    /// The new folder took everything.
    StoreMoved {
        /// Which.
        folder: String,
    },
    /// The new folder did not take it.
    StoreMoveFailed {
        /// What failed.
        what: String,
        /// What to do about it.
        hint: String,
    },
    /// What makes the plans a bench follows; a run alone has none.
    Planner(Box<bench::planning::Planner>),
    /// Words used before, by the id of the reading, the latest first.
    Suggestions(BTreeMap<String, Vec<String>>),
}

/// Something to be done outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Effect {
    /// Write it to the journal and flush it; answer with [`Input::Kept`] or [`Input::StoreFailed`].
    Keep {
        /// What happened.
        event: Event,
        /// When.
        at: Moment,
        /// For a correction, the reading it corrects.
        corrected: Option<ReadingId>,
    },
    /// One bell now.
    Bell,
    /// A cue for a speaker.
    Cue(Cue),
    /// Try to keep the whole run in another folder; answer with [`Input::StoreMoved`] or [`Input::StoreMoveFailed`].
    MoveStore {
        /// Which.
        folder: String,
    },
    /// End the program; the run can be taken up again.
    Leave,
    /// Stop until the person calls the program back.
    Suspend,
}

/// Takes what came in at `now` and says what is to be done.
pub fn update(model: &mut Model, input: Input, now: Moment) -> Vec<Effect> {
    let mut fx = Vec::new();
    crossings(model, now.tick, &mut fx);
    match input {
        Input::Key(event) => key(model, &event, now, &mut fx),
        Input::Paste(text) => overlay::paste(model, &text, now.tick),
        Input::Wake | Input::Resize => {}
        Input::Kept { entries } => {
            model.store.is_begun = true;
            model.store.entries = entries;
            model.store.awaited = model.store.awaited.saturating_sub(1);
            model.store.in_memory = 0;
            model.store.failed = None;
        }
        Input::Begun { run } => {
            model.options.run_name = run;
            model.store.is_begun = true;
            model.store.failed = None;
        }
        Input::StoreFailed { what, hint } => {
            // A store may also fail with nothing under way: then there is no further act in memory only.
            if model.store.awaited > 0 {
                model.store.awaited -= 1;
                model.store.in_memory += 1;
            }
            model.store.failed = Some((what, hint));
            ring(model, CueKind::Due, "Not recorded", now.tick, &mut fx);
        }
        Input::StoreMoved { folder } => {
            model.store.is_begun = true;
            model.store.in_memory = 0;
            model.store.failed = None;
            say(model, MessageKind::Note, format!("Everything is recorded again, in {folder}."));
            model.options.place = folder;
        }
        Input::StoreMoveFailed { what, hint } => {
            say(model, MessageKind::Refused, format!("{what}. {hint}"));
            model.store.failed = Some((what, hint));
            ring(model, CueKind::Refused, "That folder did not take it", now.tick, &mut fx);
        }
        Input::Suggestions(words) => model.suggestions = words,
        Input::Planner(_) => {}
    }
    if model.bells.ring(now.tick) {
        bell(model, &mut fx);
    }
    model.seen = model.seen.max(now.tick);
    model.ask(now.tick);
    fx
}

/// When the screen changes by itself next; `None` if nothing runs.
pub fn next_change(model: &Model, now: Tick) -> Option<Tick> {
    let soonest = [model.run.next_wake(now), model.bells.next(), next_shown_change(model, now)];
    soonest.into_iter().flatten().min()
}

// ---------------------------------------------------------------------------------------------- words and sounds

pub(crate) fn say(model: &mut Model, kind: MessageKind, text: String) {
    model.message = Some(Message { kind, text });
}

fn bell(model: &Model, fx: &mut Vec<Effect>) {
    if !model.options.quiet && !model.is_muted {
        fx.push(Effect::Bell);
    }
}

fn ring(model: &mut Model, kind: CueKind, text: &str, at: Tick, fx: &mut Vec<Effect>) {
    sound(model, Cue { kind, text: text.to_owned(), at, is_clock: false }, fx);
}

fn sound(model: &mut Model, cue: Cue, fx: &mut Vec<Effect>) {
    let (kind, at) = (cue.kind, cue.at);
    fx.push(Effect::Cue(cue));
    // Without sound there is no pattern either: nothing would wake for it.
    if !model.options.quiet && !model.is_muted && model.bells.start(kind, at) {
        fx.push(Effect::Bell);
    }
}

/// Clocks whose moment lies between the last update and this one.
fn crossings(model: &mut Model, now: Tick, fx: &mut Vec<Effect>) {
    let before = model.seen;
    if now <= before {
        return;
    }
    let crossed: Vec<_> = model.run.clocks(before).filter(|clock| before < clock.due && clock.due <= now).collect();
    for clock in crossed {
        let offer = model.run.offer(now);
        let wants = offer.step.map(|(_, step)| &step.wants);
        let kind = match clock.side {
            Side::Reminder => CueKind::Prompt,
            Side::AtLeast if clock.of == ClockOf::Hold => CueKind::Done,
            Side::AtLeast | Side::AtMost => CueKind::Due,
        };
        let text = match (clock.of, wants) {
            (ClockOf::Hold, _) => "Long enough".to_owned(),
            (ClockOf::Down, Some(Wants::Hold { turns: Some(turns), .. })) => format!("Turn it {}", turns.up),
            (ClockOf::Down, _) => "Turn it".to_owned(),
            (ClockOf::HoldMost, _) => "Longer than allowed".to_owned(),
            (ClockOf::NextReading, _) => "Read now".to_owned(),
            (ClockOf::GiveUp, _) => "The time to settle is over".to_owned(),
            (ClockOf::Prompt, _) => offer
                .step
                .and_then(|(_, step)| step.every.as_ref())
                .map_or_else(String::new, |every| said(&model.run, &every.cue).into_owned()),
            (ClockOf::Limit(n), _) => {
                format!("{}: over", said(&model.run, &model.run.edition().limits[n as usize].title))
            }
        };
        // What was too early is so no longer.
        if clock.side == Side::AtLeast && matches!(&model.message, Some(said) if said.kind == MessageKind::Refused) {
            model.message = None;
            model.refused = None;
        }
        sound(model, Cue { kind, text, at: clock.due, is_clock: true }, fx);
    }
}

// ---------------------------------------------------------------------------------------------- events of the run

/// Hands an event to the run; what it says about it becomes a message, a cue and an effect.
pub(crate) fn happen(model: &mut Model, event: Event, now: Moment, fx: &mut Vec<Effect>) -> bool {
    let is_of_step = matches!(
        event,
        Event::Done { .. } | Event::Answer { .. } | Event::Begin { .. } | Event::Count { .. } | Event::Turn { .. }
    );
    if let Some(waits) = model.waits.as_ref().filter(|_| is_of_step) {
        let text = waits.text.clone();
        not_taken(model, &text, now.tick, fx);
        return false;
    }
    let before = Before::of(model);
    let corrected = match &event {
        Event::Correct { seq, .. } => {
            model.run.taken().iter().find(|taken| taken.seq == *seq).map(|taken| taken.reading)
        }
        _ => None,
    };
    match model.run.apply(event.clone(), now) {
        Ok(applied) => {
            model.message = None;
            model.hint = None;
            model.refused = None;
            model.drafts.clear();
            model.store.awaited += 1;
            // Kept first: what is said about it can wait for the disk, not the other way round.
            fx.push(Effect::Keep { event: event.clone(), at: now, corrected });
            after(model, &event, &applied, &before, now.tick, fx);
            model.ask(now.tick);
            true
        }
        Err(refused) => {
            refuse(model, refused, event, now.tick, fx);
            false
        }
    }
}

/// What is compared before and after an event.
pub(crate) struct Before {
    phase: Phase,
    step: Option<StepId>,
    n_rounds: usize,
    n_sets: usize,
}

impl Before {
    pub(crate) fn of(model: &Model) -> Self {
        Self {
            phase: model.run.phase(),
            step: model.run.offer(model.seen).step.map(|(id, _)| id),
            n_rounds: model.run.rounds().len(),
            n_sets: model.run.sets().len(),
        }
    }
}

fn refuse(model: &mut Model, refused: Refused, event: Event, now: Tick, fx: &mut Vec<Effect>) {
    let text = refused.to_string();
    ring(model, CueKind::Refused, &text, now, fx);
    say(model, MessageKind::Refused, sentence(&text));
    model.hint = None;
    model.refused = Some((refused, event));
    if let Entry::Number(number) = &mut model.entry {
        number.mark_refused();
    }
}

/// How long something the person timed has lasted, once it is over.
pub(crate) fn timed_words(run: &Run, step: StepId) -> Option<String> {
    let passed = run.passed().last().filter(|passed| passed.step == step)?;
    let Wants::Timed { at_least, at_most, .. } = &run.edition().step(step).wants else { return None };
    let lasted = face::lasted(passed.done.tick.since(passed.begun?), *at_least);
    Some(format!("It took {lasted}; {at_least} to {at_most} are asked."))
}

/// What the person is told after an accepted event.
fn after(model: &mut Model, event: &Event, applied: &Applied, before: &Before, now: Tick, fx: &mut Vec<Effect>) {
    let findings = model.run.findings().get(applied.findings_before..).unwrap_or(&[]);
    if let Some(text) = findings.iter().rev().find_map(|finding| finding_words(&finding.what)) {
        say(model, MessageKind::Finding, text);
    }
    match event {
        Event::Undo => say(model, MessageKind::Note, "Taken back.".to_owned()),
        Event::Redo => say(model, MessageKind::Note, "It happened after all.".to_owned()),
        Event::Remark { .. } => say(model, MessageKind::Note, "The remark is on the record.".to_owned()),
        Event::Correct { .. } => corrected(model, applied, before),
        Event::Answer { reading, entry, .. } if model.message.is_none() && model.run.phase() == Phase::AtStep => {
            let text = model.run.show(*reading, entry);
            say(model, MessageKind::Note, format!("Taken: {text}"));
        }
        Event::Done { step, .. } if model.message.is_none() && model.run.phase() == Phase::AtStep => {
            if let Some(text) = timed_words(&model.run, *step) {
                say(model, MessageKind::Note, text);
            }
        }
        _ => {}
    }
    let phase = model.run.phase();
    if phase != before.phase {
        match phase {
            Phase::Ended => ring(model, CueKind::Ended, "The attempt has ended", now, fx),
            Phase::Finished => ring(model, CueKind::Result, "There is a result", now, fx),
            Phase::AtStep | Phase::Closed { .. } => {}
        }
    }
    let is_read = matches!(event, Event::Answer { .. });
    if is_read && phase == Phase::AtStep {
        let is_finding = matches!(model.message, Some(Message { kind: MessageKind::Finding, .. }));
        if let Some(text) = settled_words(model, before).filter(|_| !is_finding) {
            ring(model, CueKind::Done, &text, now, fx);
            say(model, MessageKind::Note, text);
        }
    }
}

/// What a finished round or a steady reading means, in words.
fn settled_words(model: &Model, before: &Before) -> Option<String> {
    let run = &model.run;
    let show = |value: &quantity::Exact| value.show(2);
    if run.rounds().len() > before.n_rounds {
        let last = run.rounds().last()?;
        let stage = &run.edition().stages[last.stage as usize];
        let repeat = stage.repeat.as_ref()?.until_agree()?;
        let value = show(&last.value);
        let still_there = run.offer(model.seen).step.is_some_and(|(id, _)| id >= stage.first && id < stage.end);
        let earlier =
            run.rounds().iter().rev().skip(1).find(|round| round.stage == last.stage && round.attempt == last.attempt);
        return Some(match (earlier, still_there) {
            (None, _) => format!(
                "Steady at {value}. Now once more, to compare: the two must agree within {}.",
                repeat.within.show_exact()
            ),
            (Some(earlier), true) => {
                let earlier = show(&earlier.value);
                format!("{earlier}, then {value}: they differ by more than {}. Once more.", repeat.within.show_exact())
            }
            (Some(earlier), false) => {
                format!("{}, then {value}: they agree. That is the final reading.", show(&earlier.value))
            }
        });
    }
    if run.sets().len() > before.n_sets {
        let last = run.sets().last()?;
        return last.steady.then(|| format!("Steady at {}.", show(&last.value)));
    }
    None
}

/// Where a correction has sent the run, in words; `None` if it stands where it stood.
///
/// The engine names the step it went back to when later acts had to be set aside. Where none had been done yet, the
/// open step alone shows it.
pub(crate) fn moved_to(run: &Run, back_to: Option<StepId>, before: &Before) -> Option<String> {
    let open = run.offer(run.last().tick).step.map(|(id, _)| id);
    let moved = back_to.or(open.filter(|_| open != before.step || run.phase() != before.phase))?;
    Some(said(run, &run.edition().step(moved).instruction).into_owned())
}

fn corrected(model: &mut Model, applied: &Applied, before: &Before) {
    let new = model.run.findings().get(applied.findings_before..).unwrap_or(&[]);
    let latest = new.last().or(model.run.findings().last()).map(|finding| &finding.what);
    let Some(FindingKind::Corrected { from, to, .. }) = latest else { return };
    let (kind, text) = match moved_to(&model.run, applied.back_to, before) {
        Some(step) => {
            let text = format!("Corrected: {from} → {to}. That leads another way: the run is back at “{step}”.");
            (MessageKind::Back, text)
        }
        None => (MessageKind::Note, format!("Corrected: {from} → {to}. Both stay on the record.")),
    };
    say(model, kind, text);
}

/// A finding in words; corrections say more than that, and are told apart.
pub(crate) fn finding_words(what: &FindingKind) -> Option<String> {
    Some(match what {
        FindingKind::Rule { text } => sentence(text),
        FindingKind::Late { took, text, .. } => format!("{text} ({}).", took.clock()),
        FindingKind::DownTooLong { lasted, text } => format!("{text}: {} s.", lasted.0 / 1_000),
        FindingKind::HeldTooLong { lasted, at_most } => {
            format!("It lasted {}; at most {at_most} was asked.", lasted.clock())
        }
        FindingKind::Overruled { reason, .. } => format!("Gone on all the same: {reason}"),
        FindingKind::Corrected { .. } => return None,
    })
}

/// A capital at the front and a full stop at the end.
fn sentence(text: &str) -> String {
    let mut signs = text.chars();
    let mut out: String = signs.next().into_iter().flat_map(char::to_uppercase).chain(signs).collect();
    if !out.ends_with(['.', '?', '!']) {
        out.push('.');
    }
    out
}

// ---------------------------------------------------------------------------------------------- keys

fn key(model: &mut Model, event: &KeyEvent, now: Moment, fx: &mut Vec<Effect>) {
    let Some(key) = Key::of(event) else { return };
    // A key that is held down repeats; only what steps a value may follow it.
    let is_repeat = event.kind == KeyEventKind::Repeat;
    match keys::command(key) {
        Some(Command::LeaveNow) => return fx.push(Effect::Leave),
        Some(Command::Repaint) => {
            model.repaints += 1;
            return;
        }
        Some(Command::Suspend) => return fx.push(Effect::Suspend),
        _ => {}
    }
    if model.overlay.is_some() {
        return overlay::key(model, key, now, fx);
    }
    if is_repeat
        && !matches!(
            keys::command(key),
            Some(Command::More | Command::Less | Command::Up | Command::Down | Command::Erase)
        )
    {
        return;
    }
    if typed(model, key, now, fx) {
        return;
    }
    match keys::command(key) {
        Some(command) => obey(model, command, now, fx),
        None => nothing_here(model, key, now.tick),
    }
}

/// What is typed into the entry of the open step; false if the key is no part of it.
fn typed(model: &mut Model, key: Key, now: Moment, fx: &mut Vec<Effect>) -> bool {
    if let (Entry::Choice(_), Key::Char(sign)) = (&model.entry, key) {
        let Some((step, reading, _)) = model.reading_asked(now.tick) else { return false };
        let ReadingKind::Choice(choices) = &model.run.edition().reading(reading).kind else { return false };
        let Some(at) = choices.iter().position(|choice| choice.key == sign) else { return false };
        let entry = engine::Entry::Choice(at as u16);
        happen(model, Event::Answer { step, reading, entry, seen: now.tick, despite: None }, now, fx);
        return true;
    }
    let was_begun = model.entry.is_begun();
    let used = match (&model.entry, model.reading_asked(now.tick)) {
        (Entry::Words(_), Some((_, reading, _))) => model.used_words(reading).to_vec(),
        _ => Vec::new(),
    };
    let took = into_entry(&mut model.entry, key, &used);
    if took {
        model.hint = None;
        // What was refused is no longer what stands there: a reason must not let the old value through.
        model.refused = None;
        if !model.entry.is_begun() {
            model.typing_since = None;
        } else if !was_begun {
            model.typing_since = Some(now.tick);
        }
    }
    took
}

/// One key into an entry; shared by the open step and the correction of an earlier reading.
pub(crate) fn into_entry(entry: &mut Entry, key: Key, used: &[String]) -> bool {
    match (entry, key) {
        (Entry::Number(number), Key::Char(sign)) if NumberEntry::takes(sign) => number.push(sign),
        (Entry::Number(number), Key::Char(' ')) if number.space_begins_fraction() => number.push(' '),
        (Entry::Number(number), Key::Char('-')) if number.hyphen_is_text() => number.push('-'),
        (Entry::Number(number), Key::Char('+' | '=') | Key::Up) => {
            number.step(true);
            true
        }
        (Entry::Number(number), Key::Char('-') | Key::Down) => {
            number.step(false);
            true
        }
        (Entry::Number(number), Key::Left) => number.pick(false),
        (Entry::Number(number), Key::Right | Key::Tab) => number.pick(true),
        (Entry::Count(field), Key::Char(sign)) => Entry::push_count(field, sign),
        // A space before the first letter takes the words used last: one key is enough for them.
        (Entry::Words(words), Key::Char(' ')) if words.field.text.is_empty() => words.complete(used),
        (Entry::Words(words), Key::Char(sign)) => {
            words.marked = None;
            words.field.push(sign)
        }
        (Entry::Words(words), Key::Tab | Key::Right) => words.complete(used),
        (Entry::Words(words), Key::Up | Key::Down) => {
            words.mark(used, key == Key::Down);
            true
        }
        (entry, Key::Backspace) => entry.backspace(),
        _ => false,
    }
}

fn obey(model: &mut Model, command: Command, now: Moment, fx: &mut Vec<Effect>) {
    // What was possible before is no longer the question.
    model.hint = None;
    match command {
        Command::Next => next(model, now, fx),
        Command::Undo => {
            happen(model, Event::Undo, now, fx);
        }
        Command::Redo => {
            happen(model, Event::Redo, now, fx);
        }
        Command::More => one_more(model, now, fx),
        Command::Up | Command::Down => move_choice(model, command == Command::Down, now.tick),
        Command::AddOne => add_one(model, now, fx),
        Command::Wrong => {
            if matches!(model.run.phase(), Phase::AtStep | Phase::Ended) {
                model.overlay = Some(Overlay::Wrong { chosen: 0 });
            } else {
                hint(
                    model,
                    "The run has its result: nothing can go wrong any more. An earlier reading can be corrected.",
                );
            }
        }
        Command::Overrule => match model.overrulable(now.tick) {
            Some(event) => ask_for(model, Ask::OverruleReason(Box::new(event))),
            None => hint(model, "There is no refusal here that a reason could overrule."),
        },
        Command::Correct => {
            if model.correctable().next().is_some() {
                model.overlay = Some(Overlay::Correct { chosen: 0 });
            } else {
                hint(model, "Nothing has been read yet.");
            }
        }
        Command::Remark => ask_for(model, Ask::Remark),
        Command::Steps => {
            let chosen = model.run.offer(now.tick).step.map_or(0, |(id, _)| id.0 as usize);
            model.overlay = Some(Overlay::Steps { chosen });
        }
        Command::Folder => ask_for(model, Ask::Folder),
        Command::Sound => {
            model.is_muted = !model.is_muted;
            model.bells.stop();
            hint(model, if model.is_muted || model.options.quiet { "Sound is off." } else { "Sound is on." });
        }
        Command::Help => model.overlay = Some(Overlay::Help { from: 0 }),
        Command::Cancel => cancel(model),
        Command::Leave => {
            if model.is_recorded() && !model.entry.is_begun() {
                fx.push(Effect::Leave);
            } else {
                model.overlay = Some(Overlay::Confirm(Confirm::Leave));
            }
        }
        Command::Less | Command::Left | Command::Right | Command::Complete | Command::Erase => {
            hint(model, "There is nothing to change here.");
        }
        // Done before anything else.
        Command::LeaveNow | Command::Repaint | Command::Suspend => {}
    }
}

pub(crate) fn hint(model: &mut Model, text: &str) {
    model.hint = Some(text.to_owned());
}

fn ask_for(model: &mut Model, what: Ask) {
    model.overlay = Some(asking(model, what));
}

/// Clears what is being typed, or brings back what was: a clicker sends this key too.
fn cancel(model: &mut Model) {
    model.hint = None;
    if model.entry.is_begun() {
        let entry = model.entry.clone();
        model.entry.clear();
        model.cleared = Some(Cleared { entry, typing_since: model.typing_since.take() });
        hint(model, "Cleared. Esc again brings it back.");
    } else if let Some(cleared) = model.cleared.take() {
        model.entry = cleared.entry;
        model.typing_since = cleared.typing_since;
        hint(model, "It is back. Esc clears it again.");
    }
}

fn nothing_here(model: &mut Model, key: Key, now: Tick) {
    let next = super::view::big_key(model, now);
    model.hint = Some(format!("“{}” does nothing here. {next}. ?: all keys.", key.name()));
}

/// The next right thing.
fn next(model: &mut Model, now: Moment, fx: &mut Vec<Effect>) {
    let offer = model.run.offer(now.tick);
    let is_typed = model.entry.is_begun();
    match (&offer.act, offer.step) {
        // A pedal sends this key too, and a pedal never leaves.
        (Act::Nothing, _) => hint(model, "The run is closed: q leaves."),
        (Act::Answer(_), _) => submit(model, now, fx),
        (Act::Wait { .. } | Act::GiveUp(_), Some((_, step))) if is_typed && matches!(step.wants, Wants::Settle(_)) => {
            submit(model, now, fx);
        }
        (Act::Wait { until }, Some((_, step))) if matches!(step.wants, Wants::Settle(_)) => {
            let left = seconds_left(*until, now.tick).map_or(0, |(left, _)| left);
            let text = format!("{} to go until the next reading.", quantity::Span::from_secs(left).clock());
            ring(model, CueKind::Refused, &text, now.tick, fx);
            say(model, MessageKind::Refused, text);
            model.refused = None;
        }
        (Act::Confirm, Some((step, _))) => {
            if let Entry::Count(field) = &model.entry
                && let Ok(n) = field.text.parse::<u32>()
            {
                if !happen(model, Event::Count { step, n }, now, fx) {
                    return;
                }
                model.entry.clear();
            }
            happen(model, Event::Done { step, despite: None }, now, fx);
        }
        _ => {
            if let Some(event) = model.run.press(now.tick) {
                happen(model, event, now, fx);
            }
        }
    }
}

/// Gives what was typed as the answer.
fn submit(model: &mut Model, now: Moment, fx: &mut Vec<Effect>) {
    let Some((step, reading, _)) = model.reading_asked(now.tick) else { return };
    let used = model.used_words(reading).to_vec();
    let entry = match &mut model.entry {
        Entry::Number(number) if number.text.trim().is_empty() => {
            return not_taken(model, "Type the reading, or step to it with + and -.", now.tick, fx);
        }
        Entry::Number(number) => match number.read() {
            Ok(value) => engine::Entry::Number(value),
            Err(not) => {
                number.mark_refused();
                return not_taken(model, &sentence(&not.to_string()), now.tick, fx);
            }
        },
        Entry::Words(words) => {
            if words.marked.is_some() {
                words.complete(&used);
            }
            if words.field.is_blank() {
                return not_taken(model, "Write a word or two.", now.tick, fx);
            }
            engine::Entry::Words(words.field.text.trim().to_owned())
        }
        Entry::Choice(Some(at)) => engine::Entry::Choice(*at as u16),
        Entry::Choice(None) => {
            let ReadingKind::Choice(choices) = &model.run.edition().reading(reading).kind else { return };
            let keys: Vec<String> = choices.iter().map(|choice| format!("“{}” {}", choice.key, choice.label)).collect();
            let text = format!("Press the key of the answer: {}.", keys.join("; "));
            return not_taken(model, &text, now.tick, fx);
        }
        Entry::Nothing | Entry::Count(_) => return,
    };
    let seen = model.typing_since.unwrap_or(now.tick);
    happen(model, Event::Answer { step, reading, entry, seen, despite: None }, now, fx);
}

/// Something that cannot be handed to the run at all, and why.
pub(crate) fn not_taken(model: &mut Model, text: &str, now: Tick, fx: &mut Vec<Effect>) {
    ring(model, CueKind::Refused, text, now, fx);
    say(model, MessageKind::Refused, text.to_owned());
    model.hint = None;
    model.refused = None;
}

/// One stroke or tap more.
fn one_more(model: &mut Model, now: Moment, fx: &mut Vec<Effect>) {
    let offer = model.run.offer(now.tick);
    match offer.step {
        Some((step, spec)) if offer.act == Act::Confirm && matches!(spec.wants, Wants::Count { .. }) => {
            let n = offer.standing.count.unwrap_or(0).saturating_add(1);
            happen(model, Event::Count { step, n }, now, fx);
            model.entry.clear();
        }
        _ => hint(model, "There is nothing to count here."),
    }
}

/// One more on the tally of the open step.
fn add_one(model: &mut Model, now: Moment, fx: &mut Vec<Effect>) {
    let offer = model.run.offer(now.tick);
    let add =
        offer.step.filter(|_| offer.phase == Phase::AtStep).and_then(|(step, spec)| Some((step, spec.add.as_ref()?)));
    let Some((step, add)) = add else {
        return hint(model, "There is nothing to add in this step.");
    };
    let reading = add.reading;
    if happen(model, Event::Add { step, reading }, now, fx) {
        let count = model.run.tally(reading).show_exact();
        let unit = model.run.edition().reading(reading).unit().symbol();
        let plural = if count == "1" { "" } else { "s" };
        say(model, MessageKind::Note, format!("Added: {count} {unit}{plural} in all."));
    }
}

/// The arrows among the answers of a choice.
fn move_choice(model: &mut Model, down: bool, now: Tick) {
    let n = match model.reading_asked(now).map(|(_, reading, _)| &model.run.edition().reading(reading).kind) {
        Some(ReadingKind::Choice(choices)) => choices.len(),
        _ => 0,
    };
    match &mut model.entry {
        Entry::Choice(marked) if n > 0 => {
            *marked = Some(match (*marked, down) {
                (None, true) => 0,
                (None, false) => n - 1,
                (Some(at), true) => (at + 1).min(n - 1),
                (Some(at), false) => at.saturating_sub(1),
            });
        }
        _ => hint(model, "There is nothing to choose here."),
    }
}
