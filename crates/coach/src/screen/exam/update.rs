//! What comes in at the marking screen, and what is to be done about it.
//!
//! Here: keys, answers of the store, the passing of time. Not here: what a mark means; the exam judges that.
//!
//! **Invariant:** an accepted act is handed over to be kept exactly once; a refused one changes nothing but what is said.
//! The sheet in focus changes only by a key, and an act goes to the trial that was in focus when its key was pressed.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use engine::{Moment, Tick};
use exam::{Applied, Event, How, Mark, TrialId, Verdict};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::begin::{self, Begin};
use super::keys::{EXAM_BINDINGS, ExamCommand, exam_command};
use super::model::{ExamAnswer, ExamDeed, ExamModel, MessageKind, Overlay, Page};
use super::sound::Sound;
use crate::screen::entry::Field;
use crate::screen::shown::{Sensed, Shown};

impl Shown for ExamModel {
    type Deed = ExamDeed;
    type Answer = ExamAnswer;

    fn sense(&mut self, sensed: Sensed, now: Moment) -> Vec<ExamDeed> {
        let mut deeds = Vec::new();
        self.pass_time(now.tick, &mut deeds);
        match sensed {
            Sensed::Key(event) if event.kind != KeyEventKind::Release => self.key(&event, now, &mut deeds),
            Sensed::Paste(text) => {
                if let Some(field) = self.field() {
                    field.paste(&text);
                }
            }
            // An exam is silent and listens to nobody but its rater.
            Sensed::Key(_) | Sensed::Wake | Sensed::Resize | Sensed::Line(_) | Sensed::Mouth(_) | Sensed::Ear(_) => {}
        }
        deeds
    }

    fn hear(&mut self, answer: ExamAnswer, now: Moment) -> Vec<ExamDeed> {
        let mut deeds = Vec::new();
        self.pass_time(now.tick, &mut deeds);
        match answer {
            ExamAnswer::Kept { n } => {
                self.store.n = n;
                self.store.awaited = self.store.awaited.saturating_sub(1);
                (self.store.in_memory, self.store.failed) = (0, None);
                if let Some(sound) = self.to_sound.pop_front() {
                    self.sound(sound, now.tick, &mut deeds);
                }
            }
            ExamAnswer::Failed { what, hint, in_memory } => {
                self.store.awaited = self.store.awaited.saturating_sub(1);
                self.to_sound.pop_front();
                self.store.in_memory = in_memory;
                self.store.failed = Some((what, hint));
                self.sound(Sound::Refused, now.tick, &mut deeds);
            }
            ExamAnswer::Moved { folder } => {
                self.say(MessageKind::Note, format!("Everything is recorded again, in {folder}."));
                self.options.place = folder;
            }
            ExamAnswer::MoveFailed { what, hint } => {
                self.say(MessageKind::Refused, format!("{what}. {hint}"));
                self.store.failed = Some((what, hint));
                self.sound(Sound::Refused, now.tick, &mut deeds);
            }
        }
        deeds
    }

    fn next_change(&self, now: Tick) -> Option<Tick> {
        self.next_bell().into_iter().chain(self.next_second(now)).min()
    }

    fn draw(&self, now: Tick, buf: &mut Buffer, area: Rect) {
        super::view::draw(self, now, buf, area);
    }

    fn repaints(&self) -> u32 {
        self.repaints
    }
}

impl ExamModel {
    fn pass_time(&mut self, now: Tick, deeds: &mut Vec<ExamDeed>) {
        if self.ringing.ring(now) && !self.is_silent() {
            deeds.push(ExamDeed::Bell);
        }
    }

    fn sound(&mut self, sound: Sound, now: Tick, deeds: &mut Vec<ExamDeed>) {
        if !self.is_silent() && self.ringing.start(sound, now) {
            deeds.push(ExamDeed::Bell);
        }
    }

    pub(super) fn refuse(&mut self, text: impl Into<String>, now: Tick, deeds: &mut Vec<ExamDeed>) {
        self.say(MessageKind::Refused, text);
        self.sound(Sound::Refused, now, deeds);
    }

    /// Lets something happen, to be heard as `sound` says once it is on the disk. Refused, it is said why and nothing has
    /// changed.
    pub(super) fn happen(
        &mut self,
        event: Event,
        sound: impl FnOnce(&Applied) -> Sound,
        now: Moment,
        deeds: &mut Vec<ExamDeed>,
    ) -> Option<Applied> {
        match self.state.apply(event.clone(), now) {
            Err(why) => {
                self.refuse(why.to_string(), now.tick, deeds);
                None
            }
            Ok(applied) => {
                self.store.awaited += 1;
                self.to_sound.push_back(sound(&applied));
                deeds.push(ExamDeed::Keep { event, at: now });
                Some(applied)
            }
        }
    }

    // ------------------------------------------------------------------------------------------ keys

    fn key(&mut self, event: &KeyEvent, now: Moment, deeds: &mut Vec<ExamDeed>) {
        let command = exam_command(event);
        match command {
            Some(ExamCommand::LeaveNow) => return deeds.push(ExamDeed::Leave),
            Some(ExamCommand::Repaint) => {
                self.repaints += 1;
                return;
            }
            Some(ExamCommand::Suspend) => return deeds.push(ExamDeed::Suspend),
            _ => {}
        }
        if let Some(overlay) = self.overlay.take() {
            self.message = None;
            self.overlay = self.overlay_key(overlay, event, now, deeds);
            return;
        }
        if event.code == KeyCode::Esc {
            self.message = None;
            return;
        }
        match command {
            Some(command) => {
                self.command(command, now, deeds);
                // What was said belongs to the sheet under it.
                if self.overlay.is_some() {
                    self.message = None;
                }
            }
            None if event.kind == KeyEventKind::Press => {
                self.refuse("This key does nothing here; ? lists the keys.", now.tick, deeds);
            }
            None => {}
        }
    }

    fn command(&mut self, command: ExamCommand, now: Moment, deeds: &mut Vec<ExamDeed>) {
        use ExamCommand as To;
        match command {
            To::Station(n) => return self.go_to(n, now, deeds),
            To::NextStation => return self.go_to((self.station + 1) % self.sheets.len(), now, deeds),
            To::StationBefore => {
                let n = self.sheets.len();
                return self.go_to((self.station + n - 1) % n, now, deeds);
            }
            To::Begin => return self.ask_begin(now, deeds),
            To::Results => {
                self.overlay = Some(self.results(Page::Everybody));
                return;
            }
            To::Help => {
                self.overlay = Some(Overlay::Help { from: 0 });
                return;
            }
            To::Folder => {
                self.overlay = Some(Overlay::Folder { field: Field::default() });
                return;
            }
            To::Sound => {
                self.is_muted = !self.is_muted;
                self.ringing.stop();
                let words = if self.is_silent() { "Sound is off." } else { "Sound is on." };
                return self.say(MessageKind::Note, words);
            }
            To::Leave if self.is_recorded() => return deeds.push(ExamDeed::Leave),
            To::Leave => {
                self.overlay = Some(Overlay::Leave);
                return;
            }
            To::LeaveNow | To::Repaint | To::Suspend => return,
            _ => {}
        }
        // Everything else is about the sheet in focus.
        let Some(trial) = self.focus().cloned() else {
            let text = format!("Nobody is at station {}: b begins a trial.", self.station + 1);
            return self.refuse(text, now.tick, deeds);
        };
        match command {
            To::Done => self.mark(&trial, Mark::Done, now, deeds),
            To::Missed => self.mark(&trial, Mark::Missed, now, deeds),
            To::Told => self.mark(&trial, Mark::Told, now, deeds),
            To::NotSeen => self.mark(&trial, Mark::NotSeen, now, deeds),
            To::Clock => self.clock(&trial, now, deeds),
            To::Count => self.count(&trial, now, deeds),
            To::Undo => self.undo(&trial, now, deeds),
            To::Up => self.move_by(&trial, -1),
            To::Down => self.move_by(&trial, 1),
            To::StageBefore => self.move_stage(&trial, false),
            To::StageAfter => self.move_stage(&trial, true),
            To::End if self.is_ended(&trial) => {
                let text =
                    format!("{}: the trial has ended. b begins the next; u takes the end back.", self.who(&trial));
                self.refuse(text, now.tick, deeds);
            }
            To::End => self.overlay = Some(Overlay::End { trial }),
            To::Overrule => self.overlay = Some(Overlay::Overrule { trial, chosen: 0 }),
            To::Note => {
                let item = if self.is_ended(&trial) { None } else { self.present_key(&trial) };
                self.overlay = Some(Overlay::Note { trial, item, field: Field::default() });
            }
            To::SecondRater => self.overlay = Some(Overlay::Rater { field: Field::default(), scores: Some(trial) }),
            To::MoveStation => self.overlay = Some(Overlay::MoveStation { trial }),
            _ => {}
        }
    }

    /// Goes to a station; to the one in focus again: to the other sheet that is open there.
    fn go_to(&mut self, n: usize, now: Moment, deeds: &mut Vec<ExamDeed>) {
        if n >= self.sheets.len() {
            let text = format!("There is no station {}: this exam has {}.", n + 1, self.sheets.len());
            return self.refuse(text, now.tick, deeds);
        }
        if n == self.station
            && let Some(sheets) = self.sheets.get_mut(n)
            && sheets.len() > 1
        {
            sheets.rotate_right(1);
        }
        self.station = n;
        self.message = None;
    }

    // ------------------------------------------------------------------------------------------ marks

    fn mark(&mut self, trial: &TrialId, mark: Mark, now: Moment, deeds: &mut Vec<ExamDeed>) {
        let Some(item) = self.present_key(trial) else { return };
        if let Some(short) = self.count_short_of(trial, &item).filter(|_| mark == Mark::Done) {
            return self.refuse(format!("{}: {short}", self.who(trial)), now.tick, deeds);
        }
        let event = Event::Marked { trial: trial.clone(), item: item.clone(), mark };
        // A clock that ran is stopped by the mark, and may say otherwise: what counts is heard.
        let sound = |applied: &Applied| sound_of(applied.mark.unwrap_or(mark));
        if self.happen(event, sound, now, deeds).is_some() {
            let text = format!("{}: {}: {}", self.who(trial), self.mark_words(trial, &item), self.short(trial, &item));
            self.say(MessageKind::Marked, text);
            self.go_to_next(trial);
        }
    }

    fn clock(&mut self, trial: &TrialId, now: Moment, deeds: &mut Vec<ExamDeed>) {
        let Some(here) = self.present_key(trial) else { return };
        if self.counts(trial, &here) {
            return self.count(trial, now, deeds);
        }
        // One clock runs, and the act in focus has none: it is that clock the hand means.
        let running = self.running_items(trial);
        let item = match running.as_slice() {
            [one] if !self.has_clock(trial, &here) => one.clone(),
            _ => here.clone(),
        };
        let short = self.short(trial, &item);
        if !running.contains(&item) {
            let event = Event::ClockStarted { trial: trial.clone(), item };
            if self.happen(event, |_| Sound::Done, now, deeds).is_some() {
                let text = format!("{}: clock started: {short}", self.who(trial));
                self.say(MessageKind::Marked, text);
            }
            return;
        }
        let event = Event::ClockStopped { trial: trial.clone(), item: item.clone() };
        // What the clock says is heard as if a key had said it.
        let sound = |applied: &Applied| applied.mark.map_or(Sound::Done, sound_of);
        if self.happen(event, sound, now, deeds).is_some() {
            let text = format!("{}: clock stopped: {}: {short}", self.who(trial), self.mark_words(trial, &item));
            self.say(MessageKind::Marked, text);
            if item == here {
                self.go_to_next(trial);
            }
        }
    }

    fn count(&mut self, trial: &TrialId, now: Moment, deeds: &mut Vec<ExamDeed>) {
        let Some(here) = self.present_key(trial) else { return };
        let running = self.running_items(trial);
        let turning = match running.as_slice() {
            [one] if !self.counts(trial, &here) => Some(one.clone()),
            _ => running.iter().find(|item| **item == here).cloned(),
        };
        if let Some(item) = turning {
            let short = self.short(trial, &item);
            let event = Event::Turned { trial: trial.clone(), item: item.clone() };
            if self.happen(event, |_| Sound::Silent, now, deeds).is_some() {
                let text = format!("{}: {}: {short}", self.who(trial), self.position_words(trial, &item));
                self.say(MessageKind::Marked, text);
            }
            return;
        }
        let n = self.counted(trial, &here).saturating_add(1);
        let is_enough = self.is_count_wanted(trial, &here, n);
        let short = self.short(trial, &here);
        let sound = if is_enough { Sound::Done } else { Sound::Silent };
        if self.happen(Event::Counted { trial: trial.clone(), item: here, n }, |_| sound, now, deeds).is_some() {
            let text = format!("{}: {n}: {short}", self.who(trial));
            self.say(MessageKind::Marked, text);
        }
    }

    fn undo(&mut self, trial: &TrialId, now: Moment, deeds: &mut Vec<ExamDeed>) {
        // Afterwards the trial may be none.
        let who = self.who(trial);
        let Some(applied) = self.happen(Event::Undone { trial: trial.clone() }, |_| Sound::Done, now, deeds) else {
            return;
        };
        let Some(Some(event)) = applied.undone else {
            self.say(
                MessageKind::Note,
                format!("{who}: taken back: the beginning of the trial; it counts for nothing."),
            );
            for sheets in &mut self.sheets {
                sheets.retain(|sheet| sheet != trial);
            }
            return;
        };
        let text = format!("{who}: taken back: {}", self.event_words(&event));
        self.say(MessageKind::Note, text);
        // The hand marks the same act again.
        if let Some(at) = applied.item.filter(|_| !matches!(event, Event::Overruled { .. })) {
            self.present.insert(trial.clone(), at);
        }
    }

    // ------------------------------------------------------------------------------------------ begin and end

    fn ask_begin(&mut self, now: Moment, deeds: &mut Vec<ExamDeed>) {
        let open = self.sheets[self.station].iter().find(|sheet| !self.is_ended(sheet)).cloned();
        if let Some(open) = open {
            let text = format!("{} is at this station: e ends that trial first.", self.who(&open));
            return self.refuse(text, now.tick, deeds);
        }
        if self.options.rater.is_none() {
            self.overlay = Some(Overlay::Rater { field: Field::default(), scores: None });
            return;
        }
        self.overlay = Some(Overlay::Begin(Begin::default()));
    }

    pub(super) fn begin(&mut self, candidate: &str, method: usize, now: Moment, deeds: &mut Vec<ExamDeed>) -> bool {
        let (Some(rater), Some(rule)) = (self.options.rater.clone(), self.state.exam().methods.get(method)) else {
            return false;
        };
        let method_id = rule.id.clone();
        let event = Event::Began {
            trial: self.state.new_trial(candidate, &method_id, None),
            candidate: candidate.to_owned(),
            method: method_id,
            station: self.station_number(),
            rater,
            scores: None,
        };
        let trial = event.trial().clone();
        if self.happen(event, |_| Sound::Done, now, deeds).is_none() {
            return false;
        }
        let text = format!("{} begins {}, {}.", self.who(&trial), self.method_title(&trial), self.trial_words(&trial));
        self.say(MessageKind::Note, text);
        self.methods[self.station] = Some(method);
        // What has ended here makes room; it is found again in the results.
        self.sheets[self.station] = vec![trial];
        true
    }

    fn begin_second(&mut self, scores: &TrialId, rater: String, now: Moment, deeds: &mut Vec<ExamDeed>) -> bool {
        let Some((candidate, method)) = self.candidate_and_method(scores) else { return false };
        let trial = self.state.new_trial(&candidate, &method, Some(scores));
        let station = self.station_number();
        let event =
            Event::Began { trial: trial.clone(), candidate, method, station, rater, scores: Some(scores.clone()) };
        if self.happen(event, |_| Sound::Done, now, deeds).is_none() {
            return false;
        }
        let key = begin::station_key(self.station);
        let text = format!("{}: a second sheet, its marks are its own; {key} goes to the other.", self.who(&trial));
        self.say(MessageKind::Note, text);
        self.sheets[self.station].push(trial);
        true
    }

    fn end(&mut self, trial: &TrialId, how: How, now: Moment, deeds: &mut Vec<ExamDeed>) {
        let sound = |applied: &Applied| match applied.outcome.as_ref().map(|outcome| outcome.verdict) {
            Some(Verdict::Failed) => Sound::Missed,
            Some(Verdict::Open) => Sound::NotSeen,
            _ => Sound::Done,
        };
        if self.happen(Event::Ended { trial: trial.clone(), how }, sound, now, deeds).is_some() {
            let text = format!("{}: ended: {}", self.who(trial), self.next_words(trial));
            self.say(MessageKind::Note, text);
        }
    }

    // ------------------------------------------------------------------------------------------ overlays

    /// A key while something lies over the screen; what lies over it then. Escape closes it and nothing has happened.
    fn overlay_key(
        &mut self,
        overlay: Overlay,
        event: &KeyEvent,
        now: Moment,
        deeds: &mut Vec<ExamDeed>,
    ) -> Option<Overlay> {
        if event.code == KeyCode::Esc {
            return match overlay {
                // One step back.
                Overlay::Begin(Begin { candidate: Some(_), .. }) => Some(Overlay::Begin(Begin::default())),
                Overlay::OverruleReason { trial, .. } => Some(Overlay::Overrule { trial, chosen: 0 }),
                Overlay::StopReason { trial, .. } => Some(Overlay::End { trial }),
                _ => None,
            };
        }
        match overlay {
            Overlay::Help { from } => {
                let help = matches!(event.code, KeyCode::Char('?') | KeyCode::Enter);
                (!help).then(|| Overlay::Help { from: moved(from, EXAM_BINDINGS.len(), event) })
            }
            Overlay::Begin(begin) => self.begin_key(begin, event, now, deeds).map(Overlay::Begin),
            Overlay::Rater { mut field, scores } => {
                if event.code != KeyCode::Enter {
                    typed(&mut field, event);
                    return Some(Overlay::Rater { field, scores });
                }
                let rater = self.rater_meant(&field, scores.as_ref());
                let Some(rater) = rater else {
                    let raters = self.raters_offered(&Field::default(), scores.as_ref()).join(", ");
                    let text = if raters.is_empty() {
                        "Type the name of the rater.".to_owned()
                    } else {
                        format!("Choose one of the raters: {raters}.")
                    };
                    self.refuse(text, now.tick, deeds);
                    return Some(Overlay::Rater { field, scores });
                };
                match scores {
                    Some(scores) => {
                        if self.begin_second(&scores, rater, now, deeds) {
                            None
                        } else {
                            Some(Overlay::Rater { field, scores: Some(scores) })
                        }
                    }
                    None => {
                        self.options.rater = Some(rater);
                        Some(Overlay::Begin(Begin::default()))
                    }
                }
            }
            Overlay::End { trial } => match event.code {
                KeyCode::Enter | KeyCode::Char('e' | 'E' | 'y' | 'Y') => {
                    self.end(&trial, How::Finished, now, deeds);
                    None
                }
                KeyCode::Char('s' | 'S') => {
                    Some(Overlay::StopReason { trial, is_void: false, field: Field::default() })
                }
                KeyCode::Char('v' | 'V') => Some(Overlay::StopReason { trial, is_void: true, field: Field::default() }),
                _ => Some(Overlay::End { trial }),
            },
            Overlay::StopReason { trial, is_void, mut field } => {
                if event.code != KeyCode::Enter {
                    typed(&mut field, event);
                    return Some(Overlay::StopReason { trial, is_void, field });
                }
                let reason = field.text.trim().to_owned();
                let how = if is_void { How::Void { reason } } else { How::Stopped { reason } };
                if field.is_blank() {
                    self.refuse("Say why, in a few words: it stays on the sheet.", now.tick, deeds);
                    return Some(Overlay::StopReason { trial, is_void, field });
                }
                self.end(&trial, how, now, deeds);
                None
            }
            Overlay::Overrule { trial, chosen } => {
                let targets = self.overrulable(&trial);
                let chosen = moved(chosen, targets.len(), event).min(targets.len().saturating_sub(1));
                let mark = match exam_command(event) {
                    Some(ExamCommand::Done) => Mark::Done,
                    Some(ExamCommand::Missed) => Mark::Missed,
                    Some(ExamCommand::Told) => Mark::Told,
                    Some(ExamCommand::NotSeen) => Mark::NotSeen,
                    _ => return Some(Overlay::Overrule { trial, chosen }),
                };
                let item = targets.into_iter().nth(chosen)?.key;
                Some(Overlay::OverruleReason { trial, item, mark, field: Field::default() })
            }
            Overlay::OverruleReason { trial, item, mark, mut field } => {
                if event.code != KeyCode::Enter {
                    typed(&mut field, event);
                    return Some(Overlay::OverruleReason { trial, item, mark, field });
                }
                let reason = field.text.trim().to_owned();
                let what = self.short(&trial, &item);
                let act = Event::Overruled { trial: trial.clone(), item: item.clone(), mark, reason };
                if self.happen(act, |_| sound_of(mark), now, deeds).is_some() {
                    let text = format!("{}: overruled, {}: {what}", self.who(&trial), mark.word());
                    self.say(MessageKind::Marked, text);
                    return None;
                }
                Some(Overlay::OverruleReason { trial, item, mark, field })
            }
            Overlay::Note { trial, item, mut field } => {
                if event.code != KeyCode::Enter {
                    typed(&mut field, event);
                    return Some(Overlay::Note { trial, item, field });
                }
                let text = field.text.trim().to_owned();
                let note = Event::Noted { trial: trial.clone(), item: item.clone(), text: text.clone() };
                if self.happen(note, |_| Sound::Done, now, deeds).is_some() {
                    let text = format!("{}: noted: {text}", self.who(&trial));
                    self.say(MessageKind::Marked, text);
                    return None;
                }
                Some(Overlay::Note { trial, item, field })
            }
            Overlay::MoveStation { trial } => {
                let to = match (event.code, exam_command(event)) {
                    (_, Some(ExamCommand::Station(n))) => n,
                    (KeyCode::Char(digit @ '1'..='9'), _) => digit as usize - '1' as usize,
                    _ => return Some(Overlay::MoveStation { trial }),
                };
                self.move_to_station(&trial, to, now, deeds);
                None
            }
            Overlay::Results { from, page, class } => {
                let n = self.n_result_rows(page, &class);
                match event.code {
                    KeyCode::Char('r' | 'R') | KeyCode::Tab | KeyCode::Left | KeyCode::Right => {
                        let page = if page == Page::Everybody { Page::Class } else { Page::Everybody };
                        Some(self.results(page))
                    }
                    KeyCode::Enter => None,
                    _ => Some(Overlay::Results { from: moved(from, n, event), page, class }),
                }
            }
            Overlay::Folder { mut field } => {
                if event.code != KeyCode::Enter {
                    typed(&mut field, event);
                    return Some(Overlay::Folder { field });
                }
                let folder = field.text.trim().to_owned();
                let place = if folder.is_empty() { self.options.place.clone() } else { folder.clone() };
                self.say(MessageKind::Note, format!("Trying {place} …"));
                deeds.push(ExamDeed::MoveStore { folder });
                None
            }
            Overlay::Leave => match event.code {
                KeyCode::Char('y' | 'Y') => {
                    deeds.push(ExamDeed::Leave);
                    None
                }
                KeyCode::Char('n' | 'N') => None,
                _ => Some(Overlay::Leave),
            },
        }
    }

    fn move_to_station(&mut self, trial: &TrialId, to: usize, now: Moment, deeds: &mut Vec<ExamDeed>) {
        let station = u16::try_from(to + 1).unwrap_or(u16::MAX);
        if self.happen(Event::Moved { trial: trial.clone(), station }, |_| Sound::Done, now, deeds).is_none() {
            return;
        }
        for sheets in &mut self.sheets {
            sheets.retain(|sheet| sheet != trial);
        }
        let ended: Vec<bool> = self.sheets[to].iter().map(|sheet| self.is_ended(sheet)).collect();
        let mut ended = ended.into_iter();
        self.sheets[to].retain(|_| !ended.next().unwrap_or(false));
        self.sheets[to].push(trial.clone());
        // The person pressed the key of that station: the focus goes there with the sheet.
        self.station = to;
        let text = format!("{} is at station {} now.", self.who(trial), to + 1);
        self.say(MessageKind::Note, text);
    }
}

/// What a mark sounds like.
pub(super) fn sound_of(mark: Mark) -> Sound {
    match mark {
        Mark::Done => Sound::Done,
        Mark::Missed => Sound::Missed,
        Mark::Told => Sound::Told,
        Mark::NotSeen => Sound::NotSeen,
    }
}

/// The line chosen after a key in a list of `n`.
pub(super) fn moved(at: usize, n: usize, event: &KeyEvent) -> usize {
    let last = n.saturating_sub(1);
    match event.code {
        KeyCode::Up => at.saturating_sub(1),
        KeyCode::Down => (at + 1).min(last),
        KeyCode::PageUp => at.saturating_sub(10),
        KeyCode::PageDown => (at + 10).min(last),
        KeyCode::Home => 0,
        KeyCode::End => last,
        _ => at,
    }
}

/// Types into a field.
pub(super) fn typed(field: &mut Field, event: &KeyEvent) {
    let is_text = !event.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT | KeyModifiers::SUPER);
    match event.code {
        KeyCode::Char(sign) if is_text => {
            field.push(sign);
        }
        KeyCode::Backspace => {
            field.backspace();
        }
        _ => {}
    }
}
