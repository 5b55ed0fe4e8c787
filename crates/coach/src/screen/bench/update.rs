//! What comes in at the bench, and what is to be done about it.
//!
//! Here: which run a key goes to, what one run tells another, cues of runs that are not in focus. Not here: what an act
//! does to its run; each goes through the screen of that run.
//!
//! **Invariant:** an act changes the run it is for, and what follows in others are events of their own, kept in theirs.

use bench::live;
use crossterm::event::{KeyEvent, KeyEventKind};
use engine::{Act, Event, Moment, Run, Tick};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::keys::{BenchCommand, bench_command, is_bench_key};
use super::words::{line_words, news_words};
use super::{BenchModel, Notice};
use crate::screen::cue::{Cue, CueKind};
use crate::screen::keys::{self, Command, Key};
use crate::screen::model::{BigKey, Confirm, MessageKind, Model, Overlay, Waits};
use crate::screen::shown::{Deed, Focused, Place, Sensed, Shown};
use crate::screen::update::{Effect, Input, happen, next_change, say, update};

/// What runs tell one another follows in so few rounds that more would be a mistake in their procedures.
const ROUNDS_AT_MOST: usize = 200;

impl BenchModel {
    /// Takes what came in at `now`; an answer of a store names the run it is for.
    pub fn take(&mut self, run: Option<usize>, input: Input, now: Moment) -> Vec<Deed> {
        let mut deeds = std::mem::take(&mut self.pending);
        self.pass_time(now, &mut deeds);
        match (run, input) {
            (_, Input::Planner(planner)) => self.follow(*planner, now),
            (Some(n), input) => self.give(n, input, now, &mut deeds),
            (None, Input::Key(event)) => self.key(&event, now, &mut deeds),
            // Under the overview nothing is typed.
            (None, Input::Paste(_)) if self.overview.is_some() => {}
            (None, input) => self.give(self.focus, input, now, &mut deeds),
        }
        self.settle(now, &mut deeds);
        self.replan(now);
        deeds
    }
}

impl Shown for BenchModel {
    type Deed = Deed;
    type Answer = (usize, Input);

    fn sense(&mut self, sensed: Sensed, now: Moment) -> Vec<Deed> {
        self.take(None, sensed.into(), now)
    }

    fn hear(&mut self, (run, answer): (usize, Input), now: Moment) -> Vec<Deed> {
        self.take(Some(run), answer, now)
    }

    fn next_change(&self, now: Tick) -> Option<Tick> {
        let seats = self.seats();
        let lines = (0..seats.len()).filter_map(|n| line_words(&seats, n, now).change);
        let models = self.members.iter().enumerate().filter_map(|(n, member)| {
            let model = member.model.as_ref()?;
            // The biggest number ticks only where it is seen.
            if n == self.focus { next_change(model, now) } else { quiet_change(model, now) }
        });
        // What has come since the last update is still to be said.
        let news = live::next_news(&seats, now.min(self.seen));
        lines.chain(models).chain(news).chain(self.bells.next()).min()
    }

    fn draw(&self, now: Tick, buf: &mut Buffer, area: Rect) {
        super::view::draw(self, now, buf, area);
    }

    fn repaints(&self) -> u32 {
        self.members.iter().filter_map(|member| member.model.as_ref()).map(Model::repaints).sum()
    }
}

impl Focused for BenchModel {
    fn focus(&self) -> Option<&Model> {
        self.members[self.focus].model.as_ref()
    }
    fn places(&self) -> Vec<Place<'_>> {
        let focus = self.focus;
        self.members
            .iter()
            .enumerate()
            .map(|(n, member)| Place { name: &member.name, model: member.model.as_ref(), is_focus: n == focus })
            .collect()
    }
    fn lead(&mut self, big_key: Option<BigKey>) {
        let focus = self.focus;
        for (n, member) in self.members.iter_mut().enumerate() {
            if let Some(model) = &mut member.model {
                model.big_key = big_key.clone().filter(|_| n == focus);
            }
        }
    }
}

/// When something happens by itself in a run that is not in focus.
fn quiet_change(model: &Model, now: Tick) -> Option<Tick> {
    model.run.next_wake(now.min(model.seen)).into_iter().chain(model.bells.next()).min()
}

impl BenchModel {
    /// Lets the runs that are not in focus see that time has passed, and says what is new about limits.
    fn pass_time(&mut self, now: Moment, deeds: &mut Vec<Deed>) {
        let focus = self.focus;
        for n in (0..self.members.len()).filter(|n| *n != focus) {
            self.give(n, Input::Wake, now, deeds);
        }
        if now.tick > self.seen {
            let news = live::news(&self.seats(), self.seen, now.tick);
            // What closes in one moment is said in one sentence.
            for together in news.chunk_by(|a, b| (a.at, a.kind) == (b.at, b.kind)) {
                let text = news_words(&self.seats(), together);
                self.announce(Some(together[0].window.run), text, CueKind::Due, together[0].at, deeds);
            }
            self.seen = now.tick;
        }
        if self.bells.ring(now.tick) && !self.is_silent() {
            deeds.push(Deed::Of(self.focus, Effect::Bell));
        }
    }

    fn is_silent(&self) -> bool {
        self.options.quiet || self.members[self.focus].model.as_ref().is_some_and(|model| model.is_muted)
    }

    /// Says something about a run or the sample, to be seen and heard.
    pub(super) fn announce(
        &mut self,
        run: Option<usize>,
        text: String,
        kind: CueKind,
        at: Tick,
        deeds: &mut Vec<Deed>,
    ) {
        deeds.push(Deed::Of(
            run.unwrap_or(self.focus),
            Effect::Cue(Cue { kind, text: text.clone(), at, is_clock: false }),
        ));
        if !self.is_silent() && self.bells.start(kind, at) {
            deeds.push(Deed::Of(self.focus, Effect::Bell));
        }
        self.notice = Some(Notice { run, text });
    }

    /// Hands something to the screen of one run.
    fn give(&mut self, n: usize, input: Input, now: Moment, deeds: &mut Vec<Deed>) {
        let Some(model) = self.members.get_mut(n).and_then(|member| member.model.as_mut()) else { return };
        let effects = update(model, input, now);
        self.hand_on(n, effects, deeds);
    }

    pub(super) fn hand_on(&mut self, n: usize, effects: Vec<Effect>, deeds: &mut Vec<Deed>) {
        for effect in effects {
            match effect {
                Effect::Cue(cue) => {
                    let text = format!("{}: {}", self.members[n].name, cue.text);
                    if n != self.focus {
                        self.notice = Some(Notice { run: Some(n), text: text.clone() });
                    }
                    deeds.push(Deed::Of(n, Effect::Cue(Cue { text, ..cue })));
                }
                Effect::Leave => self.leave(n, deeds),
                other => deeds.push(Deed::Of(n, other)),
            }
        }
    }

    // ------------------------------------------------------------------------------------------ keys

    fn key(&mut self, event: &KeyEvent, now: Moment, deeds: &mut Vec<Deed>) {
        if event.kind == KeyEventKind::Release {
            return;
        }
        let key = Key::of(event);
        let command = key.and_then(keys::command);
        if command == Some(Command::LeaveNow) {
            return deeds.push(Deed::Of(self.focus, Effect::Leave));
        }
        match bench_command(event) {
            Some(BenchCommand::Due) => return self.go_to_due(now, deeds),
            Some(BenchCommand::Run(n)) if n < self.members.len() => return self.go_to(n, now, deeds),
            Some(BenchCommand::Run(n)) => {
                self.notice = Some(Notice { run: None, text: format!("There is no run {} on this bench.", n + 1) });
                return;
            }
            Some(BenchCommand::CheckTest) => return self.check_test(self.overview, now, deeds),
            Some(BenchCommand::Overview) => {
                self.overview = if self.overview.is_some() { None } else { Some(self.focus) };
                return;
            }
            None if is_bench_key(event) => return,
            None => {}
        }
        if let (Some(chosen), Some(key)) = (self.overview, key)
            && !matches!(command, Some(Command::Repaint | Command::Suspend))
        {
            return self.overview_key(chosen, key, now, deeds);
        }
        if command == Some(Command::Next) && (self.next_leads_away(now, deeds) || self.next_is_too_late(now, deeds)) {
            return;
        }
        if command == Some(Command::Overrule) && self.overrules() || self.gives_reason(event, now, deeds) {
            return;
        }
        let focus = self.focus;
        let before = self.members[focus].run().map(Run::n_accepted);
        self.give(focus, Input::Key(*event), now, deeds);
        let after = self.members[focus].run().map(Run::n_accepted);
        self.share_sound(focus);
        // What was said stands until the next act.
        if before != after {
            self.notice = None;
            self.forget_refusal();
        }
        let is_asked = |overlay: &Overlay| matches!(overlay, Overlay::Confirm(Confirm::Leave));
        if !self.members[self.focus].model.as_ref().and_then(|model| model.overlay.as_ref()).is_some_and(is_asked) {
            self.leaving.clear();
        }
    }

    /// The sound is switched for the whole bench, from whatever run.
    fn share_sound(&mut self, from: usize) {
        let Some(is_muted) = self.members[from].model.as_ref().map(|model| model.is_muted) else { return };
        for model in self.members.iter_mut().filter_map(|member| member.model.as_mut()) {
            model.is_muted = is_muted;
        }
    }

    /// The big key where there is nothing to be done here: it goes where there is.
    fn next_leads_away(&mut self, now: Moment, deeds: &mut Vec<Deed>) -> bool {
        let Some(model) = self.members[self.focus].model.as_ref() else { return false };
        if model.overlay.is_some() {
            return false;
        }
        if let Some(waits) = &model.waits {
            let on = self.members.iter().position(|member| member.name == waits.run);
            self.go_to(on.unwrap_or(self.focus), now, deeds);
            return true;
        }
        if model.run.offer(now.tick).act != Act::Nothing {
            return false;
        }
        if self.are_all_closed() {
            // A pedal sends this key too, and a pedal never leaves.
            let text = "All tests are closed: q leaves.".to_owned();
            self.notice = Some(Notice { run: None, text });
        } else {
            self.go_to_due(now, deeds);
        }
        true
    }

    fn overview_key(&mut self, chosen: usize, key: Key, now: Moment, deeds: &mut Vec<Deed>) {
        let last = self.members.len().saturating_sub(1);
        self.overview = match key {
            Key::Up => Some(chosen.saturating_sub(1)),
            Key::Down => Some((chosen + 1).min(last)),
            Key::PageUp => Some(0),
            Key::PageDown => Some(last),
            Key::Esc => None,
            Key::Char('+') => return self.check_test(Some(chosen), now, deeds),
            Key::Enter | Key::Char(' ') => return self.go_to(chosen, now, deeds),
            _ => Some(chosen),
        };
    }

    // ------------------------------------------------------------------------------------------ focus

    /// Goes to what is due next, or says that it is here.
    fn go_to_due(&mut self, now: Moment, deeds: &mut Vec<Deed>) {
        let due = live::due(&self.seats(), &self.options.order, now.tick);
        match due.first() {
            Some(turn) if turn.run != self.focus => self.go_to(turn.run, now, deeds),
            Some(_) => {
                self.overview = None;
                self.notice = Some(Notice { run: None, text: "What is due next is here.".to_owned() });
            }
            None => self.notice = Some(Notice { run: None, text: "Every test of this sample is closed.".to_owned() }),
        }
    }

    /// Brings a run into focus. A test nobody has begun is begun: only then is there something to record.
    pub(super) fn go_to(&mut self, n: usize, now: Moment, deeds: &mut Vec<Deed>) {
        if n >= self.members.len() {
            return;
        }
        self.overview = None;
        self.leaving.clear();
        let before = self.focus;
        self.focus = n;
        if self.notice.as_ref().is_some_and(|notice| notice.run == Some(n) || notice.run.is_none()) {
            self.notice = None;
        }
        if self.members[n].model.is_some() {
            return;
        }
        let member = &self.members[n];
        let run = Run::open(std::sync::Arc::clone(&member.edition), member.ties, now);
        let mut model = self.model_of(n, run, now);
        model.store.is_begun = false;
        self.members[n].model = Some(model);
        self.share_sound(before);
        deeds.push(Deed::Begin { run: n, at: now });
    }

    // ------------------------------------------------------------------------------------------ what follows

    /// Whether a person is entering something in a run.
    fn is_typing(&self, n: usize) -> bool {
        let model = self.members.get(n).and_then(|member| member.model.as_ref());
        model.is_some_and(|model| model.entry.is_begun() || model.overlay.is_some())
    }

    /// Tells every run what follows from the others, until nothing follows.
    pub(super) fn settle(&mut self, now: Moment, deeds: &mut Vec<Deed>) {
        let mut answered: Vec<(usize, String)> = Vec::new();
        for _ in 0..ROUNDS_AT_MOST {
            let told = live::told(&self.seats(), &self.options.facts, now, |n| self.is_typing(n));
            if told.is_empty() {
                break;
            }
            let mut is_stuck = true;
            for (n, event) in told {
                let Some(model) = self.members[n].model.as_mut() else { continue };
                let mut effects = Vec::new();
                if happen(model, event.clone(), now, &mut effects) {
                    is_stuck = false;
                    if let Event::Answer { reading, entry, .. } = &event {
                        answered.push((n, model.run.show(*reading, entry)));
                    }
                }
                self.hand_on(n, effects, deeds);
            }
            if is_stuck {
                break;
            }
        }
        self.say_answered(&answered);
        self.say_news(now, deeds);
        self.say_waits(now.tick);
        if self.are_all_closed() && !self.is_finished {
            deeds.push(Deed::Finish { at: now });
        }
        self.is_finished = self.are_all_closed();
    }

    /// What was answered from the bench is said in its run: nobody shall think they had typed it.
    fn say_answered(&mut self, answered: &[(usize, String)]) {
        for n in 0..self.members.len() {
            let words: Vec<&str> =
                answered.iter().filter(|(run, _)| *run == n).map(|(_, words)| words.as_str()).collect();
            let Some(model) = self.members[n].model.as_mut().filter(|_| !words.is_empty()) else { continue };
            let kind = model.message.as_ref().map(|message| message.kind);
            if !matches!(kind, Some(MessageKind::Finding | MessageKind::Warned)) {
                say(model, MessageKind::Note, format!("Known on this bench: {}. Undo asks again.", words.join("; ")));
            }
        }
    }

    fn say_waits(&mut self, _now: Tick) {
        let seats = self.seats();
        let waits: Vec<Option<Waits>> = (0..seats.len())
            .map(|n| {
                let on = seats.get(live::waits_for(&seats, n)?)?.name;
                let text = format!("This moment is marked in the run “{on}”; it is left out here as soon as it is.");
                Some(Waits { run: on.to_owned(), text })
            })
            .collect();
        for (member, waits) in self.members.iter_mut().zip(waits) {
            if let Some(model) = &mut member.model {
                model.waits = waits;
            }
        }
    }

    /// The person leaves: what is not recorded or not entered in another run is asked about first.
    fn leave(&mut self, n: usize, deeds: &mut Vec<Deed>) {
        if !self.leaving.contains(&n) {
            self.leaving.push(n);
        }
        let loses = |model: &Model| !model.is_recorded() || model.entry.is_begun();
        let next = (0..self.members.len())
            .find(|n| !self.leaving.contains(n) && self.members[*n].model.as_ref().is_some_and(loses));
        match next {
            Some(next) => {
                self.focus = next;
                if let Some(model) = &mut self.members[next].model {
                    model.overlay = Some(Overlay::Confirm(Confirm::Leave));
                }
            }
            None => deeds.push(Deed::Of(n, Effect::Leave)),
        }
    }
}
