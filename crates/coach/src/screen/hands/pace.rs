//! Strokes counted aloud.
//!
//! Here: when each stroke is to be heard. Not here: how many were given; the person says that.
//!
//! **Invariant:** counting aloud is a help and no act: nothing of it goes on the record.

use engine::Tick;
use procedure::Wants;
use voice::{Class, Cue, Tone};

use super::choices::Level;
use super::talk::Said;
use super::{Hands, Pace, focus};
use crate::screen::shown::{Deed, Focused};

/// Strokes being counted aloud.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Pacing {
    /// When the first is heard.
    first: Tick,
    /// The time from one to the next.
    apart: u64,
    /// How many.
    n: u32,
}

/// The time from the wish to the first stroke: the rod is taken up.
const READY: u64 = 2_000;
/// Where the procedure names no pace and the person has set none.
const APART: u64 = 1_000;
/// Slower by a fifth each time, at most to this.
const APART_AT_MOST: u64 = 4_000;

impl<S: Focused> Hands<S> {
    pub(super) fn count_aloud(&mut self, now: Tick, out: &mut Vec<Deed>) {
        let Some((n, pace)) = focus(self).and_then(|model| {
            let offer = model.run.offer(now);
            match offer.step.map(|(_, step)| &step.wants) {
                Some(Wants::Count { at_least, pace, .. }) => Some((*at_least, *pace)),
                _ => None,
            }
        }) else {
            return;
        };
        let set = self.settings.strokes_a_minute.filter(|n| *n > 0).map(|n| 60_000 / u64::from(n));
        let apart = set.or(pace.map(|pace| pace.0)).unwrap_or(APART).max(200);
        self.pacing = Some(Pacing { first: Tick(now.0 + READY), apart, n });
        self.go_to(Level::Main);
        self.say(Said::prompt("Ready."), now, out);
    }

    /// Slower from here on: the strokes heard so far stay heard.
    pub(super) fn count_slower(&mut self, now: Tick, out: &mut Vec<Deed>) {
        let Some(pacing) = &mut self.pacing else { return };
        let heard = pacing.heard(now);
        let apart = (pacing.apart + pacing.apart / 5).min(APART_AT_MOST);
        // The next one comes a slow stroke from now.
        let next = now.0 + apart;
        pacing.first = Tick(next.saturating_sub(u64::from(heard) * apart));
        pacing.apart = apart;
        self.go_to(Level::Main);
        self.say(Said::note("Slower."), now, out);
    }

    pub(super) fn stop_counting(&mut self) {
        self.pacing = None;
        self.go_to(Level::Main);
    }

    pub(super) fn pass_pace(&mut self, now: Tick) {
        if self.pacing.as_ref().is_some_and(|pacing| now > Tick(pacing.last().0 + pacing.apart)) {
            self.pacing = None;
        }
    }

    pub(super) fn next_pace(&self, now: Tick) -> Option<Tick> {
        let pacing = self.pacing.as_ref()?;
        let next = Tick(pacing.first.0 + u64::from(pacing.heard(now)) * pacing.apart);
        Some(if next > now { next } else { Tick(pacing.last().0 + pacing.apart + 1) })
    }

    /// The strokes that are still to be heard.
    pub(super) fn pace_cues(&self, now: Tick) -> Vec<Cue> {
        let Some(pacing) = &self.pacing else { return Vec::new() };
        let is_counted = self.settings.pace == Pace::Count;
        (1..=pacing.n)
            .map(|n| (n, Tick(pacing.first.0 + u64::from(n - 1) * pacing.apart)))
            .filter(|(_, at)| *at > now)
            .map(|(n, at)| {
                let is_last = n == pacing.n;
                Cue {
                    class: Class::Hard,
                    tone: Some(if is_last { Tone::Done } else { Tone::Tick }),
                    text: if is_counted || is_last { voice::say::whole(u64::from(n)) } else { String::new() },
                    short: None,
                    due: at.0,
                    until: Some(at.0 + pacing.apart / 2),
                }
            })
            .collect()
    }

    /// How many strokes have been heard, of how many; for the panel.
    pub(super) fn counted(&self, now: Tick) -> Option<(u32, u32)> {
        self.pacing.as_ref().map(|pacing| (pacing.heard(now), pacing.n))
    }
}

impl Pacing {
    /// How many are over at `now`.
    fn heard(&self, now: Tick) -> u32 {
        match now.0.checked_sub(self.first.0) {
            Some(since) => u32::try_from(since / self.apart + 1).unwrap_or(self.n).min(self.n),
            None => 0,
        }
    }

    fn last(&self) -> Tick {
        Tick(self.first.0 + u64::from(self.n.saturating_sub(1)) * self.apart)
    }
}
