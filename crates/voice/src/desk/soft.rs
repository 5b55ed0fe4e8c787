//! Prompts and infos: waiting, begun, dropped.
//!
//! Here: which of them may sound in the room the hard cues leave. Not here: hard cues.
//!
//! **Invariant:** none is begun that would still sound [`ROOM`] before the next hard cue known.

use std::mem;

use super::{Desk, Length, Order, ROOM, Soft};
use crate::cue::{Class, Cue};

impl Desk {
    /// When a cue that waits is due, or not true any more.
    pub(super) fn next_soft(&self) -> Option<u64> {
        let all = self.prompts.iter().chain(&self.infos);
        all.filter_map(|soft| if soft.is_due { soft.cue.until?.checked_add(1) } else { Some(soft.cue.due) }).min()
    }

    /// Begins a prompt or an info, if one may.
    pub(super) fn begin_soft(&mut self, now: u64, length: Length) {
        for soft in self.prompts.iter_mut().chain(&mut self.infos) {
            soft.is_due = soft.cue.due <= now;
        }
        let is_cut = self.keep_the_newest_prompt(now);
        self.drop_what_cannot_be_said(now);
        self.begin_prompt(now, length);
        if self.prompts.iter().any(|prompt| prompt.is_due) {
            for info in take(&mut self.infos, |info| info.is_due) {
                self.note_dropped(info.entry, "a prompt was waiting");
            }
        }
        self.begin_info(now, length);
        if is_cut && self.sounding.is_none() {
            self.owed.push(Order::Stop);
        }
    }

    /// Drops the prompts said before the newest one that is due, and cuts the one that sounds. True if it did that.
    fn keep_the_newest_prompt(&mut self, now: u64) -> bool {
        let Some(newest) = self.prompts.iter().rposition(|prompt| prompt.is_due) else { return false };
        let older: Vec<Soft> = self.prompts.drain(..newest).collect();
        for prompt in older {
            self.note_dropped(prompt.entry, "a newer prompt came");
        }
        let by = self.prompts.first().map(|prompt| prompt.cue.name().to_owned()).unwrap_or_default();
        // What sounds was taken from the head of the same list: it is older than all that are left.
        let Some(sounding) = self.sounding.take_if(|sounding| sounding.cue.class == Class::Prompt) else {
            return false;
        };
        self.note_cut(sounding, &by, now);
        true
    }

    fn drop_what_cannot_be_said(&mut self, now: u64) {
        let cannot = |soft: &Soft| soft.is_due && (!soft.cue.is_true_at(now) || soft.cue.is_empty());
        for soft in take(&mut self.prompts, cannot).into_iter().chain(take(&mut self.infos, cannot)) {
            let why = if soft.cue.is_empty() { "there is nothing in it to be heard" } else { "not true any more" };
            self.note_dropped(soft.entry, why);
        }
    }

    fn begin_prompt(&mut self, now: u64, length: Length) {
        let Some(at) = self.prompts.iter().position(|prompt| prompt.is_due) else { return };
        if self.sounding.as_ref().is_some_and(|sounding| sounding.cue.class == Class::Hard) {
            return;
        }
        let Some((form, ms)) = self.prompts.get(at).and_then(|prompt| self.form_that_fits(&prompt.cue, now, length))
        else {
            return;
        };
        let prompt = self.prompts.remove(at);
        if let Some(info) = self.sounding.take() {
            self.note_cut(info, prompt.cue.name(), now);
        }
        self.begin_form(prompt, form, ms, now);
    }

    fn begin_info(&mut self, now: u64, length: Length) {
        if self.sounding.is_some() {
            return;
        }
        let fits = self.infos.iter().enumerate().filter(|(_, info)| info.is_due);
        let Some((at, (form, ms))) =
            fits.filter_map(|(at, info)| Some((at, self.form_that_fits(&info.cue, now, length)?))).next()
        else {
            return;
        };
        let info = self.infos.remove(at);
        self.begin_form(info, form, ms, now);
    }

    fn begin_form(&mut self, soft: Soft, form: Cue, ms: u64, now: u64) {
        let Soft { cue, mut entry, .. } = soft;
        let is_whole = form.text == cue.text;
        entry.dropped = (!is_whole).then(|| "only its short form: the next hard cue was near".to_owned());
        self.begin(cue, form, entry, ms, now, false);
    }

    /// The whole if it ends in time, else the short form if that does. None as well while the words are not ready: they
    /// will be at once, and half a sentence now is not better than all of it then.
    fn form_that_fits(&self, cue: &Cue, now: u64, length: Length) -> Option<(Cue, u64)> {
        let next = self.next_hard();
        let fits = |ms: u64| next.is_none_or(|due| now.saturating_add(ms).saturating_add(ROOM) <= due);
        let heard = |cue: &Cue| length(cue).filter(|&ms| ms > 0);
        let whole = heard(cue)?;
        if fits(whole) {
            return Some((cue.clone(), whole));
        }
        let short = cue.in_short()?;
        let ms = heard(&short).filter(|&ms| fits(ms))?;
        Some((short, ms))
    }
}

/// Takes those out of a list that are so.
fn take(list: &mut Vec<Soft>, is_so: impl Fn(&Soft) -> bool) -> Vec<Soft> {
    let (taken, left) = mem::take(list).into_iter().partition(is_so);
    *list = left;
    taken
}
