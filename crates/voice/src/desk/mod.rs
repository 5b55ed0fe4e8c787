//! Which sound may sound when.
//!
//! Here: the policy, as a pure state machine. Not here: who plays.
//!
//! Whoever plays goes round like this: sleep until [`Desk::next`] or until something is said; then [`Desk::hear`] what was
//! said, and do what [`Desk::turn`] orders. A turn that comes too often does no harm; one must also come when words that
//! were not ready have become so. After a turn, the next one is later than this one, or never: nothing costs nothing.
//!
//! | class  | begun                                  | cut by                              | if it cannot be begun            |
//! |--------|----------------------------------------|-------------------------------------|----------------------------------|
//! | hard   | at its moment, whatever sounds         | a later hard cue                    | dropped: later it would be false |
//! | prompt | if it ends before the next hard cue,   | a hard cue (then begun anew), a     | waits while it is the newest and |
//! |        | whole or short; cuts an info           | newer prompt (then gone)            | true                             |
//! | info   | if it ends before the next hard cue    | a hard cue, a prompt (then gone)    | dropped when a prompt waits      |
//!
//! Several clocks may want to be heard at once. Each hard cue has a weight: the one whose moment is now ([`Tone::Done`],
//! [`Tone::Refused`]) the most, a tick the least. Of those due nearer to one another than [`NEAR`], the heavier has the
//! moment; the lighter keeps its tone where that ends in time, else it is dropped; nothing lighter cuts a heavier one
//! that has just begun. Among equals the later one cuts, and the earlier one, known to be cut, is its tone alone.
//!
//! A prompt cut with less than a quarter of it left is not begun anew: whoever heard three quarters knows what to do, and
//! hearing it all again right after a countdown is one sentence too many.
//!
//! **Invariant:** the end of a sound follows from its length, never from somebody saying that it has ended.

mod hard;
mod soft;

use std::mem;

use crate::cue::{Class, Cue, Speech, Tone};
use crate::log::Entry;

/// Two hard cues due nearer to one another than this are in one another's way, in milliseconds: no word is shorter.
pub const NEAR: u64 = 400;

/// The silence a softer cue leaves before the next hard one, in milliseconds.
pub const ROOM: u64 = 300;

/// More than so many infos do not wait: the oldest is dropped.
pub const INFOS_AT_MOST: usize = 8;

/// What the player is to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Order {
    /// Stop what sounds.
    Stop,
    /// Play this: tone, then words (the words already are the form chosen); stop what sounds first.
    Play(Cue),
    /// A line for the cue log.
    Note(Entry),
}

/// Says how long the sound of a cue lasts, in milliseconds, if it is ready.
type Length<'a> = &'a dyn Fn(&Cue) -> Option<u64>;

/// What is to be heard, and what sounds now.
#[derive(Clone, Debug, Default)]
pub struct Desk {
    /// Hard cues to come, by when they are due.
    hard: Vec<Hard>,
    /// Planned cues whose moment has come: a plan that repeats them does not repeat their sound.
    met: Vec<Cue>,
    /// Prompts, in the order in which they were said; those due but the newest are dropped.
    prompts: Vec<Soft>,
    /// Infos, in the order in which they were said.
    infos: Vec<Soft>,
    sounding: Option<Sounding>,
    /// What has come about by hearing, to be handed over at the next turn.
    owed: Vec<Order>,
    /// There is something new since then.
    stirred: Option<u64>,
}

#[derive(Clone, Debug)]
struct Hard {
    cue: Cue,
    /// A new plan may take it back. What was said stays said.
    is_planned: bool,
}

#[derive(Clone, Debug)]
struct Soft {
    cue: Cue,
    /// What has already happened to it, if it was cut and is to be begun anew.
    entry: Entry,
    /// Its moment has come, as far as the last turn knows.
    is_due: bool,
}

#[derive(Clone, Debug)]
struct Sounding {
    cue: Cue,
    entry: Entry,
    begun: u64,
    ends: u64,
    is_planned: bool,
}

impl Desk {
    /// Takes what it is told at `now`. What comes of it is ordered by the next [`Desk::turn`], which is due at once.
    ///
    /// A new plan stops a sounding countdown word if what follows it on the same beat is no longer planned: then it counts
    /// something that has ended otherwise, or moved. A done is not stopped: it told what has been.
    pub fn hear(&mut self, speech: Speech, now: u64) {
        self.stirred = Some(now);
        self.end_what_has_ended(now);
        match speech {
            Speech::Plan(cues) => self.plan(cues, now),
            Speech::Say(cue) => self.say(cue),
            Speech::Hush => self.hush(now),
        }
    }

    /// When it next has something to do.
    pub fn next(&self) -> Option<u64> {
        let hard = self.hard.first().map(|hard| hard.cue.due);
        let end = self.sounding.as_ref().map(|sounding| sounding.ends);
        [self.stirred, hard, end, self.next_soft()].into_iter().flatten().min()
    }

    /// What is to be done at `now`. `length` says how long the sound of a cue (tone and words) lasts, in
    /// milliseconds, if its words are ready to be played; a hard cue whose words are not ready is its tone alone: it is
    /// asked for again with empty words.
    pub fn turn(&mut self, now: u64, length: &dyn Fn(&Cue) -> Option<u64>) -> Vec<Order> {
        self.end_what_has_ended(now);
        self.begin_hard(now, length);
        self.begin_soft(now, length);
        self.stirred = None;
        mem::take(&mut self.owed)
    }

    /// The player could not begin what it was told to play. It is not tried again: the next cue has its own moment.
    pub fn failed(&mut self, now: u64, why: &str) -> Vec<Order> {
        self.end_what_has_ended(now);
        if let Some(Sounding { mut entry, .. }) = self.sounding.take() {
            self.stirred = Some(now);
            // What was heard before a cut was heard; this time nothing was.
            if entry.again.take().is_none() {
                entry.begun = None;
            }
            entry.dropped = Some(format!("it could not be played: {why}"));
            self.note(entry);
        }
        mem::take(&mut self.owed)
    }

    /// Until when something sounds.
    pub fn sounding_until(&self) -> Option<u64> {
        self.sounding.as_ref().map(|sounding| sounding.ends)
    }

    fn say(&mut self, cue: Cue) {
        let entry = Entry::of(&cue);
        match cue.class {
            Class::Hard => {
                let at = self.hard.partition_point(|hard| hard.cue.due <= cue.due);
                self.hard.insert(at, Hard { cue, is_planned: false });
            }
            Class::Prompt => self.prompts.push(Soft { cue, entry, is_due: false }),
            Class::Info => {
                self.infos.push(Soft { cue, entry, is_due: false });
                if self.infos.len() > INFOS_AT_MOST {
                    let oldest = self.infos.remove(0);
                    self.note_dropped(oldest.entry, "too many were waiting");
                }
            }
        }
    }

    fn hush(&mut self, now: u64) {
        const BY: &str = "silence";
        if let Some(sounding) = self.sounding.take() {
            self.owed.push(Order::Stop);
            self.note_cut(sounding, BY, now);
        }
        for Hard { cue, is_planned } in mem::take(&mut self.hard) {
            if !is_planned || cue.due <= now {
                self.note_dropped(Entry::of(&cue), "silence was wanted");
            }
            if is_planned && cue.due <= now {
                self.met.push(cue);
            }
        }
        let waiting = mem::take(&mut self.prompts).into_iter().chain(mem::take(&mut self.infos));
        for soft in waiting.collect::<Vec<_>>() {
            self.note_dropped(soft.entry, "silence was wanted");
        }
    }

    fn end_what_has_ended(&mut self, now: u64) {
        if let Some(mut sounding) = self.sounding.take_if(|sounding| sounding.ends <= now) {
            sounding.entry.ended = Some(sounding.ends);
            self.note(sounding.entry);
        }
    }

    /// `form` is begun now; `cue` is what it is a form of.
    fn begin(&mut self, cue: Cue, form: Cue, mut entry: Entry, length: u64, now: u64, is_planned: bool) {
        if entry.begun.is_none() {
            entry.begun = Some(now);
        } else {
            entry.again = Some(now);
        }
        let ends = now.saturating_add(length);
        self.sounding = Some(Sounding { cue, entry, begun: now, ends, is_planned });
        self.owed.push(Order::Play(form));
    }

    fn note_cut(&mut self, sounding: Sounding, by: &str, now: u64) {
        let Sounding { mut entry, .. } = sounding;
        entry.ended = Some(now);
        entry.cut_by = Some(by.to_owned());
        self.note(entry);
    }

    fn note_dropped(&mut self, mut entry: Entry, why: impl Into<String>) {
        entry.dropped = Some(why.into());
        self.note(entry);
    }

    fn note(&mut self, entry: Entry) {
        self.owed.push(Order::Note(entry));
    }
}

/// Who has the moment, where several want it.
fn weight(cue: &Cue) -> u8 {
    match cue.tone {
        Some(Tone::Done | Tone::Refused) => 2,
        Some(Tone::Begin | Tone::Halfway | Tone::Elsewhere) | None => 1,
        Some(Tone::Tick) => 0,
    }
}
