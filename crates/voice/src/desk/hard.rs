//! Hard cues: planned, due, begun.
//!
//! Here: which of them has the moment, and in what form. Not here: softer cues, which are only cut here.
//!
//! **Invariant:** a hard cue is begun between its moment and 250 ms after it, or never; no softer cue has a say in it.

use std::cmp::Reverse;
use std::mem;

use super::{Desk, Hard, Length, NEAR, Order, Soft, weight};
use crate::cue::{Class, Cue, HARD_STALE_AFTER};
use crate::log::Entry;

/// The beat of a countdown: its cues are whole seconds apart.
const BEAT_MS: u64 = 1_000;

/// What becomes of a hard cue whose moment has come.
enum Form {
    Whole(u64),
    /// Its tone, and why not its words.
    ToneAlone(u64, String),
    Dropped(String),
}

impl Desk {
    /// Replaces the plan. Cues of the old one that were not due yet are gone without a word.
    pub(super) fn plan(&mut self, cues: Vec<Cue>, now: u64) {
        let mut new: Vec<Cue> = Vec::with_capacity(cues.len());
        for cue in cues {
            let cue = Cue { class: Class::Hard, ..cue };
            if !new.contains(&cue) {
                new.push(cue);
            }
        }
        let (old, mut kept): (Vec<_>, Vec<_>) = mem::take(&mut self.hard).into_iter().partition(|hard| hard.is_planned);
        if let Some(sounding) =
            self.sounding.take_if(|sounding| sounding.is_planned && counts_no_more(&sounding.cue, &old, &new, now))
        {
            self.owed.push(Order::Stop);
            self.note_cut(sounding, "a new plan", now);
        }
        self.met.retain(|cue| cue.due.saturating_add(HARD_STALE_AFTER) >= now || new.contains(cue));
        new.retain(|cue| !self.met.contains(cue));
        // Whoever plans leaves out what is past, and may have been quicker than whoever plays: what was due and has not
        // been begun is not gone for that.
        for Hard { cue, .. } in old.iter().filter(|hard| hard.cue.due <= now && !new.contains(&hard.cue)) {
            if counts_no_more(cue, &old, &new, now) {
                self.note_dropped(Entry::of(cue), "a new plan came before it was begun");
                self.met.push(cue.clone());
            } else {
                kept.push(Hard { cue: cue.clone(), is_planned: true });
            }
        }
        kept.extend(new.into_iter().map(|cue| Hard { cue, is_planned: true }));
        kept.sort_by_key(|hard| hard.cue.due);
        self.hard = kept;
    }

    /// When the next hard cue is due that can be begun at all.
    pub(super) fn next_hard(&self) -> Option<u64> {
        self.hard.iter().map(|hard| &hard.cue).find(|cue| cue.is_true_at(cue.due)).map(|cue| cue.due)
    }

    /// Begins the hard cue that has this moment, if there is one.
    pub(super) fn begin_hard(&mut self, now: u64, length: Length) {
        let n_due = self.hard.partition_point(|hard| hard.cue.due <= now);
        if n_due == 0 {
            return;
        }
        let mut due: Vec<Hard> = self.hard.drain(..n_due).collect();
        self.met.extend(due.iter().filter(|hard| hard.is_planned).map(|hard| hard.cue.clone()));
        due.retain(|Hard { cue, .. }| {
            let why = if now - cue.due > HARD_STALE_AFTER {
                "too late"
            } else if cue.is_true_at(now) {
                return true;
            } else {
                "not true any more"
            };
            self.note_dropped(Entry::of(cue), why);
            false
        });
        // The heaviest; among equals the one due last, which is the truest; then the one named first.
        let best = (0..due.len()).max_by_key(|&i| due.get(i).map(|hard| (weight(&hard.cue), hard.cue.due, Reverse(i))));
        let Some(Hard { cue, is_planned }) = best.map(|i| due.remove(i)) else { return };
        for other in due {
            self.note_dropped(Entry::of(&other.cue), format!("it gave way to: {}", cue.name()));
        }
        self.begin_this(cue, is_planned, now, length);
    }

    fn begin_this(&mut self, cue: Cue, is_planned: bool, now: u64, length: Length) {
        let mut entry = Entry::of(&cue);
        let (form, ms) = match self.form(&cue, now, length) {
            Form::Whole(ms) => (cue.clone(), ms),
            Form::ToneAlone(ms, why) => {
                entry.dropped = (!cue.text.is_empty()).then_some(why);
                (cue.without_words(), ms)
            }
            Form::Dropped(why) => return self.note_dropped(entry, why),
        };
        self.cut_for_hard(cue.name(), now);
        self.begin(cue, form, entry, ms, now, is_planned);
    }

    fn form(&self, cue: &Cue, now: u64, length: Length) -> Form {
        if cue.is_empty() {
            return Form::Dropped("there is nothing in it to be heard".to_owned());
        }
        let heavier = self.sounding.as_ref().map(|sounding| &sounding.cue).filter(|before| {
            before.class == Class::Hard && weight(before) > weight(cue) && cue.due.abs_diff(before.due) < NEAR
        });
        if let Some(before) = heavier {
            return Form::Dropped(format!("it gave way to: {}", before.name()));
        }
        let mut near = self.hard.iter().map(|hard| &hard.cue).take_while(|other| other.due - cue.due < NEAR);
        let after = near.find(|other| weight(other) >= weight(cue) && other.is_true_at(other.due));
        let fits = |ms: u64| after.is_none_or(|after| now.saturating_add(ms) <= after.due);
        let heard = |cue: &Cue| length(cue).filter(|&ms| ms > 0);
        let whole = heard(cue);
        if let Some(ms) = whole.filter(|&ms| fits(ms)) {
            return Form::Whole(ms);
        }
        let why = match after {
            Some(after) if whole.is_some() => format!("only its tone: nearly at one with {}", after.name()),
            _ => "only its tone: its words were not ready".to_owned(),
        };
        let tone = cue.tone.and_then(|_| heard(&cue.without_words()));
        match (tone, after) {
            (Some(ms), _) if fits(ms) => Form::ToneAlone(ms, why),
            // Two moments of equal weight: the first is heard at least until the second.
            (Some(ms), Some(after)) if weight(cue) > 0 && weight(after) == weight(cue) => Form::ToneAlone(ms, why),
            (_, Some(after)) if whole.is_some() => Form::Dropped(format!("it gave way to: {}", after.name())),
            _ => Form::Dropped("its sound was not ready".to_owned()),
        }
    }

    /// Makes room. A prompt that had more than a quarter left is to be begun anew.
    fn cut_for_hard(&mut self, by: &str, now: u64) {
        let Some(sounding) = self.sounding.take() else { return };
        let (left, length) = (sounding.ends.saturating_sub(now), sounding.ends.saturating_sub(sounding.begun));
        if sounding.cue.class == Class::Prompt && left.saturating_mul(4) >= length {
            let mut entry = sounding.entry;
            entry.ended = Some(now);
            entry.cut_by = Some(by.to_owned());
            // It was the newest when it was begun; those said since stand behind it.
            self.prompts.insert(0, Soft { cue: sounding.cue, entry, is_due: true });
        } else {
            self.note_cut(sounding, by, now);
        }
    }
}

/// Whether a countdown word has lost what it counts: what was to follow it on its beat is not planned any more.
///
/// A cue does not say to which clock it belongs; those of one clock are whole seconds apart, and two clocks begun by hand
/// hardly ever share the millisecond.
fn counts_no_more(cue: &Cue, old: &[Hard], new: &[Cue], now: u64) -> bool {
    let follows = |other: &&Hard| {
        other.cue.due > now && other.cue.due > cue.due && (other.cue.due - cue.due).is_multiple_of(BEAT_MS)
    };
    weight(cue) < 2 && old.iter().find(follows).is_some_and(|next| !new.contains(&next.cue))
}
