//! Pedals, three keys, one switch.
//!
//! Here: which key belongs to the list and which to the run; what is offered in turn to one switch. Not here: what a
//! choice does.
//!
//! One switch: everything that can be done is offered in turn, the first thing longest. After some rounds it rests, and a
//! press begins anew. While something is timed by the person's own press nothing is offered: a press is the mark.
//!
//! **Invariant:** a press goes to what stands on the screen as offered at that moment, and a bounce of a contact is no press.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use engine::{Act, Moment, Phase, Tick};
use procedure::{ReadingKind, Wants};

use super::act::Via;
use super::choices::{self, Level, Pick, Wanted};
use super::keymap::{Bounce, Role};
use super::talk::Said;
use super::{Hands, Led, focus};
use crate::screen::entry::Entry;
use crate::screen::model::Model;
use crate::screen::shown::{Deed, Focused, Sensed};

/// What is offered to one switch.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Scan {
    /// Since when the present line is offered; none until the next moment is known.
    since: Option<Tick>,
    /// How often the whole list has been offered.
    loops: u8,
    /// It rests: a press begins anew.
    is_resting: bool,
}

impl Scan {
    pub(super) fn begin_anew(&mut self) {
        *self = Self::default();
    }
}

/// Two presses of say-again within this open the list.
const TWICE_WITHIN: u64 = 3_000;

impl<S: Focused> Hands<S> {
    pub(super) fn key(&mut self, event: &KeyEvent, now: Moment, out: &mut Vec<Deed>) {
        if event.kind == KeyEventKind::Release {
            return;
        }
        if matches!(event.code, KeyCode::PageUp | KeyCode::PageDown) {
            self.has_clicker = true;
        }
        // The fifth test of a bench has F5 for its key, unless a clicker is at work.
        let is_run_key = event.code == KeyCode::F(5) && !self.has_clicker && self.inner.places().len() >= 5;
        let role = self.settings.keymap.role(event).filter(|_| !self.is_text(event) && !is_run_key);
        if role.is_none() && self.own_key(event, now, out) {
            return;
        }
        let Some(role) = role else {
            self.talk.typed();
            // A contact does not bounce over another key.
            self.bounce = Bounce::default();
            if matches!(event.code, KeyCode::Char(_)) && !event.modifiers.contains(KeyModifiers::CONTROL) {
                // Somebody types: that is the value now.
                self.question = None;
            }
            return out.extend(self.inner.sense(Sensed::Key(*event), now));
        };
        if self.bounce.is_bounce_within(event, now.tick, self.settings.bounce_ms) {
            return;
        }
        match (role, self.settings.led) {
            (Role::Talk, _) => self.open_window(now.tick, out),
            (_, Led::Switch) => self.switch(now, out),
            (Role::Next, _) => self.forward(event, now, out),
            (Role::Back, _) => self.back(event, now, out),
            (Role::Again, _) => self.say_again_or_move(now, out),
        }
    }

    /// Whether a key is text where it would be typed now, or answers what is asked.
    fn is_text(&self, event: &KeyEvent) -> bool {
        let KeyCode::Char(sign) = event.code else { return false };
        if event.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) {
            return false;
        }
        let is_pedal = match self.settings.led {
            Led::Switch => matches!(sign, ' ' | '.' | 'b'),
            Led::Clicker => matches!(sign, '.' | 'b'),
            Led::Keys => matches!(sign, '.' | 'b') && self.is_list_on(),
        };
        if is_pedal || self.question.is_some() {
            return false;
        }
        let Some(model) = focus(self) else { return false };
        if model.letters_are_text() {
            // A space before the first letter takes the words used last.
            return true;
        }
        if model.overlay.is_some() {
            return sign != '.';
        }
        match &model.entry {
            Entry::Number(number) => match sign {
                ' ' => number.space_begins_fraction(),
                // A point begins a number only at a keyboard; clickers send it too.
                '.' => !number.text.is_empty() || !(self.has_clicker || self.is_list_on()),
                _ => false,
            },
            Entry::Choice(_) => model
                .reading_asked(model.seen)
                .and_then(|(_, reading, _)| match &model.run.edition().reading(reading).kind {
                    // The commonest pedal sends a b: it must not answer.
                    ReadingKind::Choice(answers) => {
                        Some(sign != 'b' && answers.iter().any(|answer| answer.key == sign))
                    }
                    _ => None,
                })
                .unwrap_or(false),
            Entry::Nothing | Entry::Words(_) | Entry::Count(_) => false,
        }
    }

    /// What a number pad adds, which has no letters: `*` opens the list, `+` and `-` move in it, a digit is the answer with
    /// this number; false if the key is none of this.
    fn pad_key(&mut self, sign: char, now: Moment, out: &mut Vec<Deed>) -> bool {
        let Some(model) = focus(self).filter(|model| model.overlay.is_none()) else { return false };
        let is_text = model.letters_are_text() && !self.is_list_on();
        match sign {
            '*' if !is_text || !model.entry.is_begun() => {
                self.is_open = !self.is_open;
                self.go_to(Level::Main);
                self.say_offered(now.tick, out);
            }
            '+' | '-' if self.is_list_on() => self.step_list(sign == '+', now.tick, out),
            '1'..='9' if self.question.is_none() && matches!(model.entry, Entry::Choice(_)) => {
                let Wanted::Answer(answers) = choices::wanted(model, now.tick) else { return false };
                let is_a_key = answers.iter().any(|answer| answer.key == sign);
                let Some(answer) = answers.get(sign as usize - '1' as usize).filter(|_| !is_a_key) else {
                    return false;
                };
                let key = answer.key;
                self.press(KeyCode::Char(key), KeyModifiers::NONE, now, out);
            }
            _ => return false,
        }
        true
    }

    /// The keys of this layer at a keyboard; false if it is none of them.
    fn own_key(&mut self, event: &KeyEvent, now: Moment, out: &mut Vec<Deed>) -> bool {
        if let (KeyCode::Char(sign), false) = (event.code, event.modifiers.contains(KeyModifiers::CONTROL))
            && self.pad_key(sign, now, out)
        {
            return true;
        }
        let is_ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
        let letter = match event.code {
            KeyCode::Char(letter) if is_ctrl || !self.is_text(event) => letter,
            _ => return false,
        };
        let is_over = focus(self).is_some_and(|model| model.overlay.is_some());
        match (letter, is_ctrl) {
            ('v', _) if !is_over => self.is_far = !self.is_far,
            ('t', false) if !is_over && self.settings.listens => self.open_window(now.tick, out),
            ('p', false) if !is_over => match self.pacing {
                Some(_) => self.stop_counting(),
                None if focus(self).is_some_and(|model| choices::wanted(model, now.tick) == Wanted::Count) => {
                    self.count_aloud(now.tick, out);
                }
                None => return false,
            },
            _ => return false,
        }
        true
    }

    // ------------------------------------------------------------------------------------------ three keys

    fn forward(&mut self, event: &KeyEvent, now: Moment, out: &mut Vec<Deed>) {
        let is_over = focus(self).is_some_and(|model| model.overlay.is_some());
        let is_big_key = matches!(event.code, KeyCode::Char(' ') | KeyCode::Enter);
        let is_begun = focus(self).is_some_and(|model| model.entry.is_begun());
        // What was typed is the first of the list; another that is offered is what a press takes.
        let is_typed = is_begun && self.question.is_none() && self.level == Level::Main;
        if is_over || is_typed && !(self.is_list_on() && self.at > 0) {
            let code = if is_big_key { event.code } else { KeyCode::Enter };
            return self.press(code, event.modifiers, now, out);
        }
        if self.is_list_on() {
            return self.choose_offered(now, out);
        }
        if is_big_key {
            let takes_used = focus(self).is_some_and(
                |model| matches!(choices::wanted(model, now.tick), Wanted::Words(used) if !used.is_empty()),
            );
            // A number pad has no space: Enter brings the words used last as well, and then takes them.
            let code = if takes_used { KeyCode::Char(' ') } else { event.code };
            return self.press(code, event.modifiers, now, out);
        }
        let is_asked = focus(self).is_some_and(|model| {
            let is_waiting = matches!(model.run.offer(now.tick).act, Act::Wait { .. });
            let wanted = choices::wanted(model, now.tick);
            !is_waiting && !matches!(wanted, Wanted::Nothing | Wanted::Count)
        });
        if is_asked {
            // Nothing can be typed with a pedal: the list is opened instead.
            self.is_open = true;
            self.at = 0;
            return self.say_offered(now.tick, out);
        }
        self.choose(Pick::Next, Via::Press, now, out);
    }

    fn back(&mut self, event: &KeyEvent, now: Moment, out: &mut Vec<Deed>) {
        let is_over = focus(self).is_some_and(|model| model.overlay.is_some());
        if is_over || !self.is_list_on() {
            return self.press(event.code, event.modifiers, now, out);
        }
        self.step_list(false, now.tick, out);
    }

    fn say_again_or_move(&mut self, now: Moment, out: &mut Vec<Deed>) {
        if self.is_list_on() {
            return self.step_list(true, now.tick, out);
        }
        let is_twice = self.again.is_some_and(|last| now.tick.since(last).0 < TWICE_WITHIN);
        self.again = Some(now.tick);
        if is_twice {
            self.is_open = true;
            self.at = 0;
            self.say_offered(now.tick, out);
        } else {
            self.say_again(now.tick, out);
        }
    }

    fn step_list(&mut self, forward: bool, now: Tick, out: &mut Vec<Deed>) {
        let n = self.list(now).len();
        if n > 0 {
            self.at = (self.at + if forward { 1 } else { n - 1 }) % n;
        }
        self.say_offered(now, out);
    }

    fn choose_offered(&mut self, now: Moment, out: &mut Vec<Deed>) {
        let list = self.list(now.tick);
        let Some(choice) = list.get(self.at.min(list.len().saturating_sub(1))) else { return };
        self.choose(choice.pick.clone(), Via::Press, now, out);
    }

    // ------------------------------------------------------------------------------------------ one switch

    fn switch(&mut self, now: Moment, out: &mut Vec<Deed>) {
        if self.scan.is_resting && !self.is_direct(now.tick) {
            self.scan.begin_anew();
            self.at = 0;
            return self.say_offered(now.tick, out);
        }
        self.choose_offered(now, out);
        self.scan.since = None;
        self.scan.is_resting = false;
    }

    /// Whether a press is the mark of a moment: then nothing else is offered.
    fn is_direct(&self, now: Tick) -> bool {
        let is_timed = |model: &Model| {
            let offer = model.run.offer(now);
            let is_refused = model.refused.is_some();
            let is_under_way = matches!(
                (&offer.act, offer.step.map(|(_, step)| &step.wants)),
                (Act::Turn { .. }, _) | (Act::Confirm, Some(Wants::Timed { .. }))
            );
            offer.phase == Phase::AtStep && is_under_way && !is_refused
        };
        self.level == Level::Main && self.question.is_none() && focus(self).is_some_and(is_timed)
    }

    /// How long a line is offered: the first longest, and not before what was said is over.
    fn dwell(&self) -> u64 {
        if self.at > 0 {
            return self.settings.scan_ms;
        }
        (2 * self.settings.scan_ms).max(if self.scan.loops == 0 { self.talk.lasts() } else { 0 })
    }

    pub(super) fn next_scan(&self, now: Tick) -> Option<Tick> {
        if self.settings.led != Led::Switch || self.scan.is_resting || self.is_direct(now) {
            return None;
        }
        self.scan.since.map(|since| Tick(since.0 + self.dwell()))
    }

    pub(super) fn pass_scan(&mut self, now: Tick, out: &mut Vec<Deed>) {
        if self.settings.led != Led::Switch || self.scan.is_resting {
            return;
        }
        if self.is_direct(now) {
            self.at = 0;
            self.scan.since = None;
            return;
        }
        let Some(since) = self.scan.since else {
            self.scan.since = Some(now);
            return;
        };
        let due = Tick(since.0 + self.dwell());
        if now < due {
            return;
        }
        let n = self.list(now).len().max(1);
        self.at += 1;
        if self.at >= n {
            self.at = 0;
            self.scan.loops += 1;
            self.scan.is_resting = self.scan.loops >= self.settings.scan_loops;
        }
        self.scan.since = Some(now);
        if !self.scan.is_resting {
            self.say_offered(now, out);
        }
    }

    /// Whether one switch has nothing offered to it now: a press begins anew.
    pub fn is_at_rest(&self, now: Tick) -> bool {
        self.settings.led == Led::Switch && self.scan.is_resting && !self.is_direct(now)
    }

    /// Says the line that is offered.
    pub(super) fn say_offered(&mut self, now: Tick, out: &mut Vec<Deed>) {
        if !self.is_list_on() {
            return;
        }
        let label = self.list(now).get(self.at).map(|choice| choice.label.clone());
        if let Some(label) = label {
            self.say(Said::offered(&label), now, out);
        }
    }
}
