//! A room in which a desk is heard: a player and a clock that are only numbers.
//!
//! Every word lasts 400 ms; words in brackets are not ready.
//!
//! **Invariant:** what is heard follows from the orders alone, never from the desk's own idea of it.

#![allow(dead_code, reason = "each test file uses what it needs")]

use voice::cue::{HARD_STALE_AFTER, Speech};
use voice::log::Entry;
use voice::{Class, Cue, Desk, Order, Tone, tone};

/// What was heard, from when, until when.
#[derive(Clone, Debug)]
pub struct Heard {
    pub from: u64,
    pub until: u64,
    pub cue: Cue,
}

#[derive(Default)]
pub struct Room {
    pub desk: Desk,
    pub now: u64,
    pub heard: Vec<Heard>,
    pub log: Vec<Entry>,
    pub n_turns: usize,
    pub words_are_ready: bool,
}

pub fn length(cue: &Cue) -> u64 {
    let words = cue.text.split_whitespace().count() as u64 * 400;
    let tone = cue.tone.map_or(0, tone::millis);
    words + tone + if words > 0 && tone > 0 { 60 } else { 0 }
}

impl Room {
    /// Hears what is said, and does what comes of it at once.
    pub fn hear(&mut self, speech: Speech) {
        self.desk.hear(speech, self.now);
        assert!(self.desk.next().is_some_and(|next| next <= self.now), "what is heard stirs the desk");
        self.turn();
    }

    /// Time passes, and the desk is awake whenever it wanted to be.
    pub fn until(&mut self, moment: u64) {
        while let Some(next) = self.desk.next().filter(|next| *next <= moment) {
            self.now = self.now.max(next);
            self.turn();
        }
        self.now = self.now.max(moment);
    }

    /// Time passes, and the desk is woken no earlier than then.
    pub fn sleep_until(&mut self, moment: u64) {
        self.now = moment;
        self.turn();
    }

    /// The player says that it could not begin.
    pub fn fail(&mut self, why: &str) {
        let orders = self.desk.failed(self.now, why);
        if self.heard.last().is_some_and(|last| last.until > self.now) {
            self.heard.pop();
        }
        self.obey(orders);
    }

    pub fn turn(&mut self) {
        self.n_turns += 1;
        let ready = self.words_are_ready;
        let orders = self.desk.turn(self.now, &|cue| (ready || !cue.text.starts_with('[')).then(|| length(cue)));
        self.obey(orders);
        assert!(self.desk.next().is_none_or(|next| next > self.now), "a turn leaves nothing to do at once");
    }

    fn obey(&mut self, orders: Vec<Order>) {
        for order in orders {
            match order {
                Order::Stop => self.silence(),
                Order::Play(cue) => {
                    self.silence();
                    self.heard.push(Heard { from: self.now, until: self.now + length(&cue), cue });
                }
                Order::Note(entry) => self.log.push(entry),
            }
        }
    }

    fn silence(&mut self) {
        if let Some(last) = self.heard.last_mut() {
            last.until = last.until.min(self.now);
        }
    }

    /// What was heard, a line each: `3000-3860 tick three`.
    pub fn transcript(&self) -> Vec<String> {
        let line = |heard: &Heard| {
            let tone = heard.cue.tone.map(|tone| format!(" {}", tone.name())).unwrap_or_default();
            let text = if heard.cue.text.is_empty() { String::new() } else { format!(" {}", heard.cue.text) };
            format!("{}-{}{tone}{text}", heard.from, heard.until)
        };
        self.heard.iter().map(line).collect()
    }

    /// The one entry about these words.
    pub fn entry(&self, text: &str) -> Entry {
        let about: Vec<&Entry> = self.log.iter().filter(|entry| entry.text == text).collect();
        assert_eq!(about.len(), 1, "one entry about {text:?} in {:#?}", self.log);
        about[0].clone()
    }

    /// What must be true whatever was said.
    pub fn check(&self) {
        for pair in self.heard.windows(2) {
            assert!(pair[0].until <= pair[1].from, "two sounds at once: {:#?}", self.transcript());
        }
        for heard in &self.heard {
            let cue = &heard.cue;
            assert!(heard.from >= cue.due, "begun before it was due: {cue:?} at {}", heard.from);
            assert!(cue.is_true_at(heard.from), "begun after its truth had passed: {cue:?} at {}", heard.from);
            if cue.class == Class::Hard {
                assert!(heard.from <= cue.due + HARD_STALE_AFTER, "begun late: {cue:?} at {}", heard.from);
            }
        }
    }
}

fn cue(class: Class, tone: Option<Tone>, text: &str, due: u64) -> Cue {
    Cue { class, tone, text: text.to_owned(), short: None, due, until: None }
}

pub fn hard(tone: Tone, text: &str, due: u64) -> Cue {
    cue(Class::Hard, Some(tone), text, due)
}

pub fn prompt(text: &str, due: u64) -> Cue {
    cue(Class::Prompt, None, text, due)
}

pub fn info(text: &str, due: u64) -> Cue {
    cue(Class::Info, None, text, due)
}

/// The last three seconds before `end`, and the end.
pub fn countdown(end: u64) -> Vec<Cue> {
    vec![
        hard(Tone::Tick, "three", end - 3_000),
        hard(Tone::Tick, "two", end - 2_000),
        hard(Tone::Tick, "one", end - 1_000),
        hard(Tone::Done, "enough", end),
    ]
}
