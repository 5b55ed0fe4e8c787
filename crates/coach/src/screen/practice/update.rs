//! What comes in on the practice screen, and what is to be done about it.
//!
//! **Invariant:** a call that does not fit what is due changes nothing, and every entry of the session is handed over to be
//! kept exactly once.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind};
use engine::{Moment, Tick};
use practice::{Answer, Due, Entry, Form, Help};

use super::act::{Acting, Outcome};
use super::{Over, PracticeAnswer, PracticeDeed, PracticeModel, Said, Try};
use crate::screen::cue::CueKind;
use crate::screen::entry::Entry::Words;
use crate::screen::entry::Field;
use crate::screen::face::seconds_gone;
use crate::screen::keys::{self, Command, Key};
use crate::screen::shown::{Sensed, Shown};
use crate::screen::update::{self, Input};

/// More steps than one input ever leads through by itself.
const STEPS_AT_ONCE: usize = 64;

impl Shown for PracticeModel {
    type Deed = PracticeDeed;
    type Answer = PracticeAnswer;

    fn sense(&mut self, sensed: Sensed, now: Moment) -> Vec<PracticeDeed> {
        let mut deeds = Vec::new();
        match sensed {
            Sensed::Key(event) => {
                if let Some(key) = Key::of(&event) {
                    self.key(key, event.kind == KeyEventKind::Repeat, &Sensed::Key(event), now, &mut deeds);
                }
            }
            Sensed::Paste(text) => self.paste(text, now, &mut deeds),
            Sensed::Wake => {
                if self.bells.ring(now.tick) {
                    self.bell(&mut deeds);
                }
                self.act_on_run(Input::Wake, now, &mut deeds);
            }
            // Practice does not listen.
            Sensed::Resize | Sensed::Line(_) | Sensed::Mouth(_) | Sensed::Ear(_) => {}
        }
        self.settle(now, &mut deeds);
        self.set_rate(now.tick);
        self.seen = now.tick;
        deeds
    }

    fn hear(&mut self, answer: PracticeAnswer, _now: Moment) -> Vec<PracticeDeed> {
        match answer {
            PracticeAnswer::Kept { n } => {
                (self.kept.n, self.kept.awaited, self.kept.in_memory, self.kept.failed) = (n, 0, 0, None);
            }
            PracticeAnswer::Failed { what, hint, in_memory } => {
                (self.kept.awaited, self.kept.in_memory, self.kept.failed) = (0, in_memory, Some((what, hint)));
            }
            PracticeAnswer::Moved { folder } => {
                self.say(false, format!("The diary goes on in {folder}."));
                self.options.place = folder;
            }
            PracticeAnswer::MoveFailed { what, hint } => self.say(true, format!("{what}. {hint}")),
        }
        Vec::new()
    }

    fn next_change(&self, now: Tick) -> Option<Tick> {
        let mut soonest = self.bells.next();
        let mut at = |tick: Option<Tick>| soonest = [soonest, tick].into_iter().flatten().min();
        if let (Due::Perform(_), Some(acting)) = (self.session.due(), &self.acting) {
            let run_now = self.clock.tick(now);
            let model = &acting.model;
            let begun = model.run.offer(run_now).standing.begun;
            for change in [
                update::next_change(model, run_now),
                acting.specimen.next_change(&model.run, run_now),
                begun.map(|begun| seconds_gone(begun, run_now).1),
            ] {
                at(change.and_then(|tick| self.clock.when(tick)));
            }
        }
        at(self.trial_since.map(|since| seconds_gone(since, now).1));
        soonest
    }

    fn draw(&self, now: Tick, buf: &mut ratatui::buffer::Buffer, area: ratatui::layout::Rect) {
        super::view::draw(self, now, buf, area);
    }

    fn repaints(&self) -> u32 {
        self.repaints
    }
}

impl PracticeModel {
    fn say(&mut self, is_bad: bool, text: String) {
        self.said = Some(Said { is_bad, text });
    }

    fn bell(&self, deeds: &mut Vec<PracticeDeed>) {
        if !self.options.quiet && !self.is_muted {
            deeds.push(PracticeDeed::Bell);
        }
    }

    fn ring(&mut self, kind: CueKind, now: Tick, deeds: &mut Vec<PracticeDeed>) {
        if !self.options.quiet && !self.is_muted && self.bells.start(kind, now) {
            deeds.push(PracticeDeed::Bell);
        }
    }

    fn keep(&mut self, entries: Vec<Entry>, deeds: &mut Vec<PracticeDeed>) {
        self.kept.awaited += entries.len() as u64;
        deeds.extend(entries.into_iter().map(PracticeDeed::Keep));
    }

    /// Whether letters are text now.
    pub(super) fn letters_are_text(&self) -> bool {
        match (&self.over, &self.attempt, self.session.due(), &self.acting) {
            (Some(Over::Folder(_)), ..) => true,
            (Some(_), ..) => false,
            (None, Try::Number(_), Due::Ask(_), _) => true,
            (None, _, Due::Perform(_), Some(acting)) => acting.model.letters_are_text(),
            _ => false,
        }
    }

    /// Whether a key is the key of an answer of the open step: then it is nothing else.
    fn is_own_answer(&self, key: Key, now: Tick) -> bool {
        let (Due::Perform(_), Some(acting), Key::Char(sign)) = (self.session.due(), &self.acting, key) else {
            return false;
        };
        acting.model.overlay.is_none() && acting.has_answer(sign, self.clock.tick(now))
    }

    // ------------------------------------------------------------------------------------------ what follows by itself

    /// Goes on until something is wanted of the person.
    pub(super) fn settle(&mut self, now: Moment, deeds: &mut Vec<PracticeDeed>) {
        for _ in 0..STEPS_AT_ONCE {
            let due = self.session.due();
            match due {
                Due::Ask(question) => {
                    if self.attempt == Try::None {
                        self.attempt = match question.form {
                            Form::Choices(_) => Try::Choice(None),
                            Form::Number(_) => Try::Number(Field::default()),
                        };
                    }
                    return self.hold_the_clock(now.tick);
                }
                Due::Perform(perform) => {
                    let name = perform.step.clone();
                    self.attempt = Try::None;
                    if !self.perform(&name, now, deeds) {
                        return;
                    }
                }
                Due::Finished(_) => {
                    self.attempt = Try::None;
                    self.trial_since = None;
                    return self.clock.stop(now.tick);
                }
                Due::Tell(_) | Due::Explain(_) | Due::TrialAhead(_) => {
                    self.attempt = Try::None;
                    return self.hold_the_clock(now.tick);
                }
            }
        }
    }

    /// Only waiting is made shorter.
    fn set_rate(&mut self, now: Tick) {
        let is_act = matches!(self.session.due(), Due::Perform(_));
        let waits = |acting: &Acting| acting.is_waiting(self.clock.tick(now));
        let is_waiting = is_act && self.acting.as_ref().is_some_and(waits);
        self.clock.set_rate(if is_waiting { self.options.speed } else { 1 }, now);
    }

    /// The concrete waits while something is read; in the timed run it does not.
    fn hold_the_clock(&mut self, now: Tick) {
        if !self.is_trial() {
            self.clock.stop(now);
        }
    }

    /// Whether the session went on.
    fn perform(&mut self, name: &str, now: Moment, deeds: &mut Vec<PracticeDeed>) -> bool {
        let Some(bench) = &self.bench else { return false };
        if self.acting.is_none() {
            let scenario = if self.is_trial() { &bench.trial } else { &bench.walk };
            let edition = &bench.edition;
            let options = Acting::options(self.options.quiet, self.options.theme);
            let at = self.clock.moment(now);
            let mut acting = Acting::new(edition, scenario, self.ties, at, options);
            acting.model.theme = self.theme;
            self.acting = Some(acting);
        }
        self.clock.go(now.tick);
        let Some(acting) = &mut self.acting else { return false };
        acting.asked_for(name, self.clock.tick(now.tick));
        if let Some(span) = acting.notice(self.clock.tick(now.tick)) {
            self.clock.jump(span);
            let at = self.clock.moment(now);
            acting.take_away(at);
            self.ring(CueKind::Due, now.tick, deeds);
            return true;
        }
        let tick = self.clock.tick(now.tick);
        acting.suggest(tick);
        let result = (acting.model.run.phase() == engine::Phase::Finished).then(|| acting.model.face(tick));
        if let Some((step, performance, onward)) = acting.done(tick) {
            if let Some(face) = result {
                self.said = Some(Said {
                    is_bad: false,
                    text: format!("The run is done. {}: {} {}", face.caption, face.number, face.side),
                });
            }
            return match self.session.performed(&step, performance, onward, now) {
                Ok(entries) => {
                    self.keep(entries, deeds);
                    true
                }
                Err(not) => {
                    self.say(true, not.to_string());
                    false
                }
            };
        }
        match acting.went_back(tick) {
            Some(open) => {
                acting.forget_step();
                self.session.run_is_at(&open, now).is_ok()
            }
            None => false,
        }
    }

    /// Something for the run on the specimen.
    fn act_on_run(&mut self, input: Input, now: Moment, deeds: &mut Vec<PracticeDeed>) {
        if !matches!(self.session.due(), Due::Perform(_)) {
            return;
        }
        let at = self.clock.moment(now);
        let Some(acting) = &mut self.acting else { return };
        let Outcome { bells, refused, leave } = acting.take(input, at);
        if self.trial_since.is_some() {
            acting.model.message = None;
            acting.model.hint = None;
        }
        // What is done from memory is not helped by a sound at the right moment; in the timed run nothing is said about
        // right or wrong at all.
        let is_shown = matches!(self.session.due(), Due::Perform(perform) if perform.shown);
        if bells > 0 && !self.is_trial() && (is_shown || refused) {
            self.bell(deeds);
        }
        if refused && self.is_trial() {
            self.say(true, "It cannot go on like that.".to_owned());
        }
        if leave {
            self.over = Some(Over::Leave);
        }
    }

    // ------------------------------------------------------------------------------------------ keys

    fn paste(&mut self, text: String, now: Moment, deeds: &mut Vec<PracticeDeed>) {
        match (&mut self.over, &mut self.attempt) {
            (Some(Over::Folder(field)), _) => field.paste(&text),
            (Some(_), _) => {}
            (None, Try::Number(field)) => field.paste(text.trim()),
            (None, _) => self.act_on_run(Input::Paste(text), now, deeds),
        }
    }

    fn key(&mut self, key: Key, is_repeat: bool, sensed: &Sensed, now: Moment, deeds: &mut Vec<PracticeDeed>) {
        match keys::command(key) {
            Some(Command::LeaveNow) => return self.leave(now, deeds),
            Some(Command::Repaint) => {
                self.repaints += 1;
                return;
            }
            Some(Command::Suspend) => return deeds.push(PracticeDeed::Suspend),
            _ => {}
        }
        if self.over.is_some() {
            return self.key_over(key, now, deeds);
        }
        let is_text = self.letters_are_text();
        let is_inner = matches!(self.session.due(), Due::Perform(_))
            && self.acting.as_ref().is_some_and(|acting| acting.model.overlay.is_some());
        if !is_inner && (!is_text || !matches!(key, Key::Char(_))) && !self.is_own_answer(key, now.tick) {
            match keys::command(key) {
                Some(Command::Help) => return self.over = Some(Over::Help(0)),
                Some(Command::Leave) => return self.ask_to_leave(deeds),
                Some(Command::Cancel) if !matches!(self.session.due(), Due::Perform(_)) => {
                    return match &mut self.attempt {
                        Try::Number(field) if !field.text.is_empty() => field.clear(),
                        _ => self.ask_to_leave(deeds),
                    };
                }
                Some(Command::Folder) if self.kept.failed.is_some() => {
                    return self.over = Some(Over::Folder(Field::default()));
                }
                Some(Command::Sound) => {
                    self.is_muted = !self.is_muted;
                    self.bells.stop();
                    let text = if self.is_muted || self.options.quiet { "Sound is off." } else { "Sound is on." };
                    return self.say(false, text.to_owned());
                }
                _ => {}
            }
        }
        if is_repeat && !matches!(key, Key::Up | Key::Down | Key::Backspace | Key::Char('+' | '-' | '=')) {
            return;
        }
        match self.session.due() {
            Due::Tell(_) | Due::TrialAhead(_) => self.key_onward(key, now, deeds),
            Due::Explain(_) if key == Key::Char('u') => {
                if let Ok(entries) = self.session.take_back(now) {
                    self.keep(entries, deeds);
                    self.attempt = Try::None;
                    self.say(false, "That try does not count. The question comes back later.".to_owned());
                }
            }
            Due::Explain(_) => self.key_onward(key, now, deeds),
            Due::Ask(_) => self.key_try(key, now, deeds),
            Due::Perform(_) => self.key_act(key, sensed, now, deeds),
            Due::Finished(_) => match key {
                Key::Char(' ') | Key::Enter => self.ask_to_leave(deeds),
                Key::Up => self.scrolled = self.scrolled.saturating_sub(1),
                Key::Down => self.scrolled = (self.scrolled + 1).min(200),
                _ => self.nothing_here(key, "Space: leave"),
            },
        }
    }

    fn nothing_here(&mut self, key: Key, instead: &str) {
        self.say(true, format!("“{}” does nothing here. {instead}. ?: all keys.", key.name()));
    }

    fn key_onward(&mut self, key: Key, now: Moment, deeds: &mut Vec<PracticeDeed>) {
        if !matches!(key, Key::Char(' ') | Key::Enter) {
            return self.nothing_here(key, "Space: go on");
        }
        let is_trial = matches!(self.session.due(), Due::TrialAhead(_));
        if is_trial {
            // A fresh run on a fresh specimen, with one clock for all of it.
            self.acting = None;
            self.clock = super::RunClock::new();
            self.clock.go(now.tick);
            self.trial_since = Some(now.tick);
        }
        if let Ok(entries) = self.session.go_on(now) {
            self.said = None;
            self.keep(entries, deeds);
        }
    }

    fn key_try(&mut self, key: Key, now: Moment, deeds: &mut Vec<PracticeDeed>) {
        let Due::Ask(question) = self.session.due() else { return };
        let n = question.choices().len();
        self.said = None;
        let answer = match (&mut self.attempt, key) {
            (Try::Choice(_), Key::Char('0')) | (Try::Number(_), Key::Tab) => Answer::NotKnown,
            (Try::Choice(_), Key::Char(sign @ '1'..='9')) if (sign as usize - '0' as usize) <= n => {
                Answer::Choice(sign as usize - '1' as usize)
            }
            (Try::Choice(marked), Key::Up | Key::Down) => {
                let down = key == Key::Down;
                *marked = Some(match *marked {
                    None => {
                        if down {
                            0
                        } else {
                            n.saturating_sub(1)
                        }
                    }
                    Some(at) if down => (at + 1).min(n.saturating_sub(1)),
                    Some(at) => at.saturating_sub(1),
                });
                return;
            }
            (Try::Choice(Some(at)), Key::Char(' ') | Key::Enter) => Answer::Choice(*at),
            (Try::Choice(_), _) => return self.nothing_here(key, "1, 2, 3 …: an answer; 0: I don't know"),
            (Try::Number(field), Key::Enter) => match question.read(&field.text) {
                Ok(answer) => answer,
                Err(not) => {
                    let text = not.to_string();
                    return self.say(true, text);
                }
            },
            (Try::Number(field), Key::Backspace) => {
                field.backspace();
                return;
            }
            (Try::Number(field), Key::Char(sign)) => {
                field.push(sign);
                return;
            }
            _ => return,
        };
        self.answer(&answer, now, deeds);
    }

    fn answer(&mut self, answer: &Answer, now: Moment, deeds: &mut Vec<PracticeDeed>) {
        let Ok(entries) = self.session.answer(answer, now) else { return };
        self.attempt = Try::None;
        self.keep(entries, deeds);
        if let Due::Explain(explained) = self.session.due() {
            let kind = if explained.judged.right { CueKind::Done } else { CueKind::Refused };
            self.ring(kind, now.tick, deeds);
        }
    }

    fn key_act(&mut self, key: Key, sensed: &Sensed, now: Moment, deeds: &mut Vec<PracticeDeed>) {
        self.said = None;
        let tick = self.clock.tick(now.tick);
        let is_own = self.is_own_answer(key, now.tick);
        let Some(acting) = &mut self.acting else { return };
        let is_plain = !is_own && acting.model.overlay.is_none() && !acting.model.letters_are_text();
        if is_plain && key == Key::Char('t') && matches!(acting.shown(tick), Some(specimen::Shown::Gauge { .. })) {
            let Acting { model, specimen, .. } = acting;
            specimen.tap(&model.run, tick);
            return self.say(false, "Tapped.".to_owned());
        }
        let command = keys::command(key);
        if is_plain && command == Some(Command::Steps) {
            // They would tell what is asked later.
            return self.say(true, "In practice the list of steps stays closed.".to_owned());
        }
        if is_plain && matches!(command, Some(Command::Remark | Command::Folder)) {
            return self.nothing_here(key, "A rehearsal keeps no record of its own");
        }
        let Sensed::Key(event) = sensed else { return };
        let is_empty = matches!(&acting.model.entry, Words(words) if words.field.text.is_empty());
        if is_empty && key == Key::Enter && acting.model.overlay.is_none() {
            // Writing down what stands on a paper is not what is practised: one key is enough.
            self.act_on_run(Input::Key(KeyEvent::new(KeyCode::Tab, event.modifiers)), now, deeds);
        }
        self.act_on_run(Input::Key(*event), now, deeds);
    }

    fn key_over(&mut self, key: Key, now: Moment, deeds: &mut Vec<PracticeDeed>) {
        match (self.over.take(), key) {
            (Some(Over::Help(from)), Key::Up) => self.over = Some(Over::Help(from.saturating_sub(1))),
            (Some(Over::Help(from)), Key::Down) => self.over = Some(Over::Help(from + 1)),
            (Some(Over::Leave), Key::Char('y' | 'Y')) => self.leave(now, deeds),
            (Some(over @ Over::Leave), _) if !matches!(key, Key::Esc | Key::Char('n' | 'N')) => self.over = Some(over),
            (Some(Over::Folder(field)), Key::Enter) => deeds.push(PracticeDeed::MoveStore { folder: field.text }),
            (Some(Over::Folder(mut field)), Key::Char(sign)) => {
                field.push(sign);
                self.over = Some(Over::Folder(field));
            }
            (Some(Over::Folder(mut field)), Key::Backspace) => {
                field.backspace();
                self.over = Some(Over::Folder(field));
            }
            _ => {}
        }
    }

    fn ask_to_leave(&mut self, deeds: &mut Vec<PracticeDeed>) {
        if matches!(self.session.due(), Due::Finished(_)) && self.is_kept() {
            deeds.push(PracticeDeed::Leave);
        } else {
            self.over = Some(Over::Leave);
        }
    }

    /// Ends here: what was tried stays.
    fn leave(&mut self, now: Moment, deeds: &mut Vec<PracticeDeed>) {
        let entries = self.session.stop(now);
        self.keep(entries, deeds);
        deeds.push(PracticeDeed::Leave);
    }

    /// How much help is given now.
    pub(super) fn help_now(&self) -> Option<Help> {
        match self.session.due() {
            Due::Ask(question) => Some(question.help),
            Due::Explain(explained) => Some(explained.level.1),
            Due::Tell(_) => Some(Help::Shown),
            _ => None,
        }
    }
}
