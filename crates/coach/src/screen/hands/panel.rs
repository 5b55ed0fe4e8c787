//! What stands on the screen of hands-free working.
//!
//! Here: the rows under the run: the question, the list, what was said last, how listening and speaking stand. Not here:
//! the far view.
//!
//! **Invariant:** the run loses rows only for what there is to be said here.

use std::borrow::Cow;

use engine::{Side, Tick};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::choices::{self, Choice, Pick, Wanted};
use super::lines::Word;
use super::{Hands, Led, far, focus};
use crate::screen::face::{clock_words, is_over};
use crate::screen::model::{BigKey, Model};
use crate::screen::shown::{Focused, Mouth};
use crate::screen::theme::Theme;
use crate::screen::view::paint::{line, line_right, push_cut};

/// The keys that move in the list.
const MOVES: &[(&str, &str)] = &[(".", "next"), ("PgUp", "before")];
/// Rows below which nothing of this layer but a question takes a row away.
const LOW: u16 = 16;

impl<S: Focused> Hands<S> {
    pub(super) fn draw_all(&self, now: Tick, buf: &mut Buffer, area: Rect) {
        let Some(model) = focus(self) else { return self.inner.draw(now, buf, area) };
        let rows = self.rows(area);
        let upper = Rect { height: area.height - rows, ..area };
        let from_afar;
        let theme = if self.is_far {
            from_afar = model.theme.far();
            self.draw_far(model, now, buf, upper);
            &from_afar
        } else {
            self.inner.draw(now, buf, upper);
            &model.theme
        };
        if rows == 0 {
            return;
        }
        let row = |n: u16| Rect {
            x: area.x + 1.min(area.width),
            y: upper.bottom() + n,
            width: area.width.saturating_sub(2),
            height: 1,
        };
        super::super::view::ground(theme, buf, Rect { y: upper.bottom(), height: rows, ..area });
        let list = if self.is_list_on() && !self.is_far { self.list(now) } else { Vec::new() };
        if !self.is_far && self.question.is_some() || !list.is_empty() {
            self.list_row(&list, theme, now, buf, row(0));
        }
        if rows > 1 || list.is_empty() {
            self.state_row(theme, now, buf, row(rows - 1));
        }
    }

    /// The run from afar, with the question, what is offered, and the soonest moment of the other tests.
    fn draw_far(&self, model: &Model, now: Tick, buf: &mut Buffer, area: Rect) {
        let heard = self.heard_words(now);
        let asked = self.question.as_ref().map(|question| {
            let (number, side) = question.shown.split_once(' ').unwrap_or((&question.shown, ""));
            let is_number = number.starts_with(|sign: char| sign.is_ascii_digit() || sign == '-');
            let (number, side) = if is_number { (number, side) } else { (question.shown.as_str(), "") };
            far::Asked { number, side, line: "Take it?" }
        });
        let offered = self.offered(now);
        // A number that is given digit by digit is the number that matters: what stands, what is offered, what is to come.
        let part = offered.as_ref().filter(|choice| matches!(choice.pick, Pick::Piece(_)));
        let part = part.map(|choice| choice.label.replace('_', "-"));
        let side = match choices::wanted(model, now) {
            // What is corrected may have another unit than what the step asks for.
            Wanted::Number(scale, _) if self.correcting.is_none() => scale.unit.symbol(),
            _ => String::new(),
        };
        let asked = asked.or(part.as_ref().map(|part| far::Asked { number: part, side: &side, line: "Next digit" }));
        let other = self.soonest_elsewhere(now);
        let beside = far::Beside {
            heard: heard.as_deref(),
            asked,
            other: other.as_ref().map(|(words, is_over)| (words.as_str(), *is_over)),
            offered: offered.as_ref().map(|choice| choice.label.as_str()).filter(|_| !self.is_at_rest(now)),
        };
        far::draw_beside(model, &beside, now, buf, area);
    }

    /// The soonest moment of the tests that are not in focus, in words, and whether it is over.
    fn soonest_elsewhere(&self, now: Tick) -> Option<(String, bool)> {
        let places = self.inner.places();
        let clocks = places.iter().filter(|place| !place.is_focus).filter_map(|place| {
            let model = place.model?;
            let clock =
                model.run.clocks(now).filter(|clock| clock.side != Side::Reminder).min_by_key(|clock| clock.due)?;
            Some((clock, place.name, model))
        });
        let (clock, name, model) = clocks.min_by_key(|(clock, ..)| clock.due)?;
        let mut words = format!("{name}: ");
        let step = model.run.offer(now).step.map(|(_, step)| step);
        clock_words(&model.run, step, &clock, now, &mut words);
        Some((words, is_over(&clock, now)))
    }

    /// What the big key does while something is chosen, for the foot of the run.
    pub(super) fn big_key(&self, now: Tick) -> Option<BigKey> {
        let offered = self.offered(now)?;
        let model = focus(self)?;
        let does = if self.is_at_rest(now) { "begin choosing".to_owned() } else { offered.label };
        // Somebody at the keyboard has begun to type: the big key takes that.
        if self.settings.led == Led::Keys && self.question.is_none() && model.entry.is_begun() {
            return None;
        }
        Some(match self.settings.led {
            Led::Switch => BigKey { key: "PRESS", does, others: &[] },
            Led::Clicker => BigKey { key: "PgDn", does, others: MOVES },
            Led::Keys => BigKey { key: "SPACE", does, others: MOVES },
        })
    }

    /// How many rows it takes.
    fn rows(&self, area: Rect) -> u16 {
        let has_list = self.is_list_on();
        let has_state = self.settings.listens || self.settings.speaks || has_list;
        match (has_list && !self.is_far, has_state) {
            (false, false) => 0,
            _ if area.height < LOW => u16::from(self.question.is_some() && area.height > 3),
            (true, _) => 2,
            (false, true) => 1,
        }
    }

    /// The list as one row, what is offered in a field, and what stands beside it.
    fn list_row(&self, list: &[Choice], theme: &Theme, now: Tick, buf: &mut Buffer, area: Rect) {
        let rests = self.is_at_rest(now);
        let lead = match (&self.question, rests) {
            (Some(_), _) => "READ BACK ".into(),
            (None, true) => "PRESS TO CHOOSE ".into(),
            (None, false) if self.letters.is_empty() => Cow::from("CHOOSE "),
            (None, false) => format!("“{}” ", self.letters).into(),
        };
        let mut x = line(buf, area, &lead, if self.question.is_some() { theme.alarm } else { theme.quiet });
        let n = list.len();
        for shift in 0..n {
            let choice = &list[(self.at + shift) % n];
            let room = area.right().saturating_sub(x) as usize;
            if room < 6 {
                break;
            }
            let mut label = String::new();
            push_cut(&mut label, &choice.label, room.saturating_sub(4).min(44));
            let (text, style) = match shift {
                0 if !rests => (format!(" ▶ {label} "), theme.chosen),
                _ => (format!(" {label} "), theme.plain),
            };
            if shift > 0 {
                x = line(buf, Rect { x, width: area.right() - x, ..area }, "│", theme.quiet);
            }
            x = line(buf, Rect { x, width: area.right().saturating_sub(x), ..area }, &text, style);
        }
    }

    /// How listening and speaking stand, and what was said last.
    fn state_row(&self, theme: &Theme, now: Tick, buf: &mut Buffer, area: Rect) {
        let mut x = area.x;
        let put = |x: u16, text: &str, style, buf: &mut Buffer| {
            line(buf, Rect { x, width: area.right().saturating_sub(x), ..area }, text, style)
        };
        // From afar it stands large beside the state of the run.
        if let Some(heard) = self.heard_words(now).filter(|_| !self.is_far) {
            let is_bad = matches!(self.ears.word, Some((Word::Not | Word::Closed, _)));
            x = put(x, &format!(" {heard} "), if is_bad { theme.warn } else { theme.key }, buf) + 1;
        }
        if let Some((n, of)) = self.counted(now) {
            x = put(x, &format!("counting {n} of {of} "), theme.strong, buf) + 1;
        }
        let end = match self.lost_words() {
            Some(lost) => line_right(buf, Rect { x, width: area.right().saturating_sub(x), ..area }, &lost, theme.warn),
            None => area.right(),
        };
        if self.settings.speaks || self.is_list_on() {
            let caption = self.talk.caption();
            let room = end.saturating_sub(x + 1) as usize;
            if !caption.is_empty() && room > 8 {
                let mut text = String::from("♪ ");
                push_cut(&mut text, caption, room - 2);
                put(x, &text, theme.quiet, buf);
            }
        }
    }

    /// How listening stands, in a word or two.
    pub(super) fn heard_words(&self, now: Tick) -> Option<String> {
        if let Some((word, _)) = &self.ears.word {
            return Some(match word {
                Word::Heard(words) => {
                    let mut text = String::from("HEARD “");
                    push_cut(&mut text, words, 28);
                    text.push('”');
                    text
                }
                Word::Not => match self.ears.n_not {
                    1 => "NOT UNDERSTOOD".to_owned(),
                    n => format!("NOT UNDERSTOOD ({n})"),
                },
                Word::Closed => "MICROPHONE OFF".to_owned(),
            });
        }
        if !self.settings.listens {
            return None;
        }
        Some(if self.is_listening(now) { "LISTENING" } else { "MICROPHONE OFF" }.to_owned())
    }

    /// What is lost of speaking and listening.
    fn lost_words(&self) -> Option<String> {
        let mouth = match &self.mouth {
            Mouth::Tones(why) | Mouth::Bell(why) if self.settings.speaks => {
                // The whole reason would fill the row for the whole test.
                let short = why.split(':').next().unwrap_or(why);
                Some(format!("{short}: “pourside sound-check” says why"))
            }
            _ => None,
        };
        let ears = self.lost.iter().map(|(name, why)| format!("{name}: {why}"));
        let all: Vec<String> = ears.chain(mouth).collect();
        (!all.is_empty()).then(|| all.join("; "))
    }
}
