//! What is said, and when.
//!
//! Here: from what has changed on the screen to cues, the plan of cues to come, the caption. Not here: the words of steps
//! and times (`words`), and which of two cues sounds (`voice::desk`).
//!
//! **Invariant:** whatever is said has stood on the screen: as its number, its sentence, its message, or as the caption.

use engine::{ClockOf, Moment, Side, Tick, TimeCue, TimeSays};
use quantity::Span;
use voice::{Class, Cue, Speech, Tone};

use super::act::level_words;
use super::choices::Level;
use super::{Hands, Here, focus, words};
use crate::screen::cue::CueKind;
use crate::screen::model::{MessageKind, Model};
use crate::screen::shown::{Deed, Focused};
use crate::screen::update::Effect;

/// How far ahead cues are planned.
const PLANNED_AHEAD: Span = Span::from_secs(20 * 60);
/// When they are planned anew at the latest.
const PLANNED_AGAIN_AFTER: Span = Span::from_secs(10 * 60);
/// A moment of the run in focus this near leaves no room for the countdown of another.
const NEAR: u64 = 8_000;
/// How long a word takes, roughly, at 160 a minute.
const WORD_TAKES: u64 = 375;

/// What has been said and what is planned.
#[derive(Debug, Default)]
pub(super) struct Talk {
    /// Where the run stood when its step was said.
    said_at: Option<Here>,
    /// The step as it was said, with its short form.
    step: Option<(String, String)>,
    /// What stands as the caption.
    caption: String,
    /// The message that was said last, with the number of acts at that time.
    message: Option<(String, u32)>,
    /// What is said instead of the next message.
    instead: Option<String>,
    /// Whether something was under way when that was last looked at.
    was_running: bool,
    plan: Vec<Cue>,
    /// When it is made anew at the latest.
    plan_until: Option<Tick>,
    is_muted: bool,
}

impl Talk {
    pub(super) fn caption(&self) -> &str {
        &self.caption
    }

    /// How long what was said last takes, roughly, in milliseconds.
    pub(super) fn lasts(&self) -> u64 {
        self.caption.split_whitespace().count() as u64 * WORD_TAKES
    }

    /// A key was typed: what was said before is old.
    pub(super) fn typed(&mut self) {
        // Only the caption of something that was offered or asked goes; the step stays said.
        if let Some((whole, _)) = &self.step {
            self.caption.clone_from(whole);
        }
    }
}

/// Something to be said now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Said {
    class: Class,
    tone: Option<Tone>,
    text: String,
    short: Option<String>,
}

impl Said {
    /// What is to be done or answered now.
    pub(super) fn prompt(text: &str) -> Self {
        Self { class: Class::Prompt, tone: None, text: text.to_owned(), short: None }
    }

    /// Of use for a moment.
    pub(super) fn note(text: &str) -> Self {
        Self { class: Class::Info, tone: None, text: text.to_owned(), short: None }
    }

    /// A line of the list.
    pub(super) fn offered(label: &str) -> Self {
        Self { class: Class::Prompt, tone: None, text: label.to_owned(), short: None }
    }

    /// A refusal.
    pub(super) fn refused(text: &str) -> Self {
        Self { class: Class::Hard, tone: Some(Tone::Refused), text: text.to_owned(), short: None }
    }

    /// A value that is read back, and how it is taken.
    pub(super) fn read_back(value: &str, how: &str) -> Self {
        let text = format!("{value}. {how}");
        Self { class: Class::Prompt, tone: None, text, short: Some(format!("{value}?")) }
    }
}

impl<S: Focused> Hands<S> {
    /// Says something now.
    pub(super) fn say(&mut self, said: Said, now: Tick, out: &mut Vec<Deed>) {
        self.talk.caption.clone_from(&said.text);
        if !self.settings.speaks || self.is_mute() {
            return;
        }
        let cue = Cue {
            class: said.class,
            tone: said.tone,
            text: voice::say::sentence(&said.text),
            short: said.short.as_deref().map(voice::say::sentence),
            due: now.0,
            until: (said.class == Class::Info).then_some(now.0 + 2_000),
        };
        out.push(Deed::Speak(Speech::Say(cue)));
    }

    fn is_mute(&self) -> bool {
        focus(self).is_some_and(|model| model.is_muted)
    }

    /// The step once more, or the question that is open.
    pub(super) fn say_again(&mut self, now: Tick, out: &mut Vec<Deed>) {
        if self.question.is_some() {
            return self.read_back(now, out);
        }
        if self.level != Level::Main {
            return match focus(self).and_then(|model| level_words(model, &self.level)) {
                Some(text) => self.say(Said::prompt(&text), now, out),
                None => self.say_offered(now, out),
            };
        }
        let step = focus(self).and_then(|model| words::prompt(&model.run, now));
        if let Some((whole, short)) = step {
            self.say(Said { short: Some(short), ..Said::prompt(&whole) }, now, out);
        }
    }

    /// How long there is, of the soonest clock.
    pub(super) fn say_time(&mut self, now: Tick, out: &mut Vec<Deed>) {
        let text = focus(self).map(|model| time_words(model, now));
        self.say(Said::prompt(&text.unwrap_or_else(|| "No clock runs.".to_owned())), now, out);
    }

    /// Says what is new, and plans what is to come.
    pub(super) fn speak(&mut self, now: Moment, out: &mut Vec<Deed>) {
        self.mute_or_not(out);
        let mut first = Vec::new();
        for n in 0..out.len() {
            let Deed::Of(place, Effect::Cue(cue)) = &out[n] else { continue };
            let (place, kind, text) = (*place, cue.kind, cue.text.clone());
            // The moment of a clock is in the plan; an end or a result is said as the step is.
            if cue.is_clock || matches!(kind, CueKind::Ended | CueKind::Result) && place == self.place() {
                continue;
            }
            match kind {
                CueKind::Refused => self.say(Said::refused(&text), now.tick, out),
                CueKind::Due if place != self.place() => {
                    let said = Said { class: Class::Hard, tone: Some(Tone::Elsewhere), ..Said::prompt(&text) };
                    self.say(said, now.tick, out);
                }
                CueKind::Due => self.say(Said { tone: Some(Tone::Refused), ..Said::prompt(&text) }, now.tick, out),
                CueKind::Done | CueKind::Prompt | CueKind::Ended | CueKind::Result => first.push(text),
            }
        }
        if let Some(text) = self.new_message() {
            // On a bench a cue has the name of its run before it.
            if !first.iter().any(|said| said.ends_with(&text)) {
                first.push(text);
            }
        }
        self.say_begun(now.tick, out);
        self.say_step(&first, now.tick, out);
        self.plan(now.tick, out);
    }

    fn mute_or_not(&mut self, out: &mut Vec<Deed>) {
        let is_mute = self.is_mute();
        if is_mute && !self.talk.is_muted && self.settings.speaks {
            out.push(Deed::Speak(Speech::Hush));
            self.talk.plan.clear();
        }
        self.talk.is_muted = is_mute;
    }

    /// What the screen of the run says and has not been said yet.
    fn new_message(&mut self) -> Option<String> {
        let is_another_run = self.talk.said_at.map(|here| here.place) != self.here.map(|here| here.place);
        let model = focus(self)?;
        let n = model.run.n_accepted();
        let Some(message) = model.message.as_ref().filter(|message| message.kind != MessageKind::Refused) else {
            self.talk.message = None;
            return None;
        };
        let key = (message.text.clone(), n);
        if self.talk.message.as_ref() == Some(&key) {
            return None;
        }
        self.talk.message = Some(key.clone());
        if is_another_run && self.talk.said_at.is_some() {
            // It was said when it was new.
            return None;
        }
        // A remark the voice made by itself is no news; what it followed is.
        Some(self.talk.instead.take().unwrap_or(key.0)).filter(|text| !text.is_empty())
    }

    /// What the screen says now is said, and not what the remark that follows will say of itself.
    pub(super) fn keep_message(&mut self) {
        let message = focus(self).and_then(|model| model.message.as_ref()).map(|message| message.text.clone());
        self.talk.instead = Some(message.unwrap_or_default());
    }

    /// A tone for the moment at which something timed begins.
    fn say_begun(&mut self, now: Tick, out: &mut Vec<Deed>) {
        let is_running = focus(self).is_some_and(|model| model.run.offer(now).standing.begun.is_some());
        let is_new = is_running && !self.talk.was_running && self.talk.said_at.is_some();
        self.talk.was_running = is_running;
        if is_new && self.settings.speaks && !self.is_mute() {
            let cue = Cue {
                class: Class::Hard,
                tone: Some(Tone::Begin),
                text: String::new(),
                short: None,
                due: now.0,
                until: None,
            };
            out.push(Deed::Speak(Speech::Say(cue)));
        }
    }

    /// The step, once it is another.
    fn say_step(&mut self, first: &[String], now: Tick, out: &mut Vec<Deed>) {
        let is_new = self.here != self.talk.said_at;
        self.talk.said_at = self.here;
        let is_asking = self.question.is_some() || self.level != Level::Main;
        let step =
            if is_new && !is_asking { focus(self).and_then(|model| words::prompt(&model.run, now)) } else { None };
        let before: Vec<String> = first.iter().map(|text| closed(text)).collect();
        let before = before.join(" ");
        let join = |text: &str| if before.is_empty() { text.to_owned() } else { format!("{before} {text}") };
        match step {
            Some((whole, short)) => {
                let said = if self.settings.is_terse { &short } else { &whole };
                let said = Said { short: Some(short.clone()), ..Said::prompt(&join(said)) };
                self.talk.step = Some((whole, short));
                self.say(said, now, out);
            }
            None if !before.is_empty() => self.say(Said::prompt(&before), now, out),
            None => {}
        }
    }

    // ------------------------------------------------------------------------------------------ the plan

    /// Plans every moment that is to be heard if nothing else happens.
    fn plan(&mut self, now: Tick, out: &mut Vec<Deed>) {
        if !self.settings.speaks || self.talk.is_muted {
            return;
        }
        let mut plan = self.pace_cues(now);
        let mut own: Vec<u64> = Vec::new();
        let places = self.inner.places();
        let many = places.len() > 1;
        for place in &places {
            let Some(model) = place.model.filter(|_| place.is_focus) else { continue };
            for cue in model.run.cues(now, PLANNED_AHEAD) {
                own.push(cue.at.0);
                plan.push(planned(model, &cue, None));
            }
        }
        for place in places.iter().filter(|place| !place.is_focus) {
            let Some(model) = place.model else { continue };
            for cue in model.run.cues(now, PLANNED_AHEAD) {
                let is_near = own.iter().any(|at| at.abs_diff(cue.at.0) < NEAR);
                if !matches!(cue.what, TimeSays::Countdown(_) | TimeSays::Tick(_)) || !is_near {
                    plan.push(planned(model, &cue, many.then_some(place.name)));
                }
            }
        }
        plan.sort_by_key(|cue| cue.due);
        let is_old = self.talk.plan_until.is_none_or(|until| now >= until);
        // What has passed meanwhile is no difference.
        let still: Vec<&Cue> = self.talk.plan.iter().filter(|cue| cue.due > now.0).collect();
        let is_same = still.len() == plan.len() && still.iter().zip(&plan).all(|(a, b)| **a == *b);
        if is_same && !is_old {
            return;
        }
        self.talk.plan_until = (!plan.is_empty()).then(|| now.after(PLANNED_AGAIN_AFTER));
        if is_same && plan.is_empty() {
            return;
        }
        self.talk.plan.clone_from(&plan);
        out.push(Deed::Speak(Speech::Plan(plan)));
    }

    pub(super) fn next_plan(&self) -> Option<Tick> {
        self.talk.plan_until.filter(|_| self.settings.speaks)
    }
}

/// A sentence with its full stop, so that the voice pauses there.
fn closed(text: &str) -> String {
    if text.ends_with(['.', '?', '!']) { text.to_owned() } else { format!("{text}.") }
}

/// A moment as a cue; of a run that is not in focus with its name.
fn planned(model: &Model, cue: &TimeCue, name: Option<&str>) -> Cue {
    let text = voice::say::sentence(&words::of_time(&model.run, cue));
    let tone = match (cue.what, cue.side) {
        (TimeSays::Halfway(_), _) => Some(Tone::Halfway),
        (TimeSays::Left(_), _) => None,
        (TimeSays::Countdown(_) | TimeSays::Tick(_), _) => Some(Tone::Tick),
        (TimeSays::Now, _) if name.is_some() => Some(Tone::Elsewhere),
        (TimeSays::Now, Side::AtLeast) => Some(Tone::Done),
        (TimeSays::Now, Side::AtMost) if cue.of == ClockOf::Down => Some(Tone::Done),
        (TimeSays::Now, Side::AtMost) => Some(Tone::Refused),
        (TimeSays::Now, Side::Reminder) => Some(Tone::Begin),
    };
    let is_count = matches!(cue.what, TimeSays::Countdown(_) | TimeSays::Tick(_));
    let text = match name {
        // The seconds of another test are ticks: its name would take longer than they do.
        Some(_) if is_count => String::new(),
        Some(name) => format!("{}: {text}", voice::say::sentence(&name.replace('-', " "))),
        None => text,
    };
    Cue {
        class: Class::Hard,
        tone,
        text,
        short: None,
        due: cue.at.0,
        // A second that is over is not said in the next.
        until: is_count.then_some(cue.at.0 + 500),
    }
}

/// The soonest clock in words.
fn time_words(model: &Model, now: Tick) -> String {
    let soonest = model.run.clocks(now).filter(|clock| clock.due > now && clock.side != Side::Reminder);
    let Some(clock) = soonest.min_by_key(|clock| clock.due) else { return "No clock runs.".to_owned() };
    let left = Span::from_secs(clock.due.since(now).0.div_ceil(1_000));
    let left = voice::say::span(left);
    match clock.of {
        ClockOf::Limit(n) => {
            let title = model.run.edition().limits.get(n as usize).map(|limit| model.run.say(&limit.title));
            format!("{left} left: {}.", title.unwrap_or_default())
        }
        _ => format!("{left} left."),
    }
}
