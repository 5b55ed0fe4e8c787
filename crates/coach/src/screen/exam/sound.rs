//! What is heard of each act: patterns of the one bell a terminal has.
//!
//! Here: how many bells stand for what, and how far apart they are. Not here: any sound.
//!
//! | heard | meaning |
//! |-------|---------|
//! | one | done; a clock was started or stopped; a trial was begun or ended; something was taken back |
//! | two | missed |
//! | three | told aloud |
//! | two, far apart | not seen |
//! | five in a rattle | refused, or not on the disk: look at the screen |
//!
//! A mark sounds when it is on the disk, not when its key is pressed. Nothing sounds because a clock reaches a time: that
//! would tell the candidate.
//!
//! **Invariant:** what sounds also stands on the screen in words.

use engine::Tick;
use quantity::Span;

/// What is heard.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Sound {
    /// Done, or anything else that went as it was meant.
    Done,
    /// Missed.
    Missed,
    /// Told aloud.
    Told,
    /// Not seen.
    NotSeen,
    /// Refused, or not on the disk.
    Refused,
    /// Nothing: each stroke of a count.
    Silent,
}

impl Sound {
    /// The times from the first bell to each of those after it; `None` if there is no bell at all.
    pub const fn after_first(self) -> Option<&'static [Span]> {
        Some(match self {
            Self::Done => &[],
            Self::Missed => &[Span(180)],
            Self::Told => &[Span(180), Span(360)],
            Self::NotSeen => &[Span(600)],
            Self::Refused => &[Span(80), Span(160), Span(240), Span(320)],
            Self::Silent => return None,
        })
    }

    /// How many bells stand for it.
    pub fn bells(self) -> usize {
        self.after_first().map_or(0, |after| after.len() + 1)
    }
}

/// A pattern that sounds.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Ringing {
    from: Tick,
    left: &'static [Span],
}

impl Ringing {
    /// Starts a pattern in place of what still sounds: the last key is what the ear waits for. True if a bell is due now.
    pub(super) fn start(&mut self, sound: Sound, now: Tick) -> bool {
        let Some(left) = sound.after_first() else { return false };
        *self = Self { from: now, left };
        true
    }

    /// Whether a bell is due.
    pub(super) fn ring(&mut self, now: Tick) -> bool {
        match self.left {
            [next, rest @ ..] if now >= self.from.after(*next) => {
                self.left = rest;
                true
            }
            _ => false,
        }
    }

    /// When the next bell is due.
    pub(super) fn next(&self) -> Option<Tick> {
        self.left.first().map(|next| self.from.after(*next))
    }

    /// Silence at once.
    pub(super) fn stop(&mut self) {
        self.left = &[];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// When bells sound, from the start of the pattern.
    fn heard(sound: Sound) -> Vec<u64> {
        let mut ringing = Ringing::default();
        let mut bells = if ringing.start(sound, Tick(1_000)) { vec![0] } else { Vec::new() };
        while let Some(next) = ringing.next() {
            assert!(ringing.ring(next));
            bells.push(next.0 - 1_000);
        }
        bells
    }

    #[test]
    fn each_mark_sounds_unlike_every_other() {
        let all = [Sound::Done, Sound::Missed, Sound::Told, Sound::NotSeen, Sound::Refused, Sound::Silent];
        let heard: Vec<Vec<u64>> = all.iter().map(|sound| heard(*sound)).collect();
        assert_eq!(heard[0], [0]);
        assert_eq!(heard[1], [0, 180]);
        for (n, one) in heard.iter().enumerate() {
            assert_eq!(one.len(), all[n].bells());
            assert!(heard[n + 1..].iter().all(|other| other != one), "{:?}", all[n]);
        }
    }

    #[test]
    fn the_last_mark_is_heard_whole() {
        let mut ringing = Ringing::default();
        assert!(ringing.start(Sound::Refused, Tick(0)));
        assert!(ringing.start(Sound::Missed, Tick(100)), "a key pressed meanwhile is answered at once");
        assert_eq!(ringing.next(), Some(Tick(280)));
        assert!(ringing.start(Sound::Done, Tick(200)));
        assert_eq!(ringing.next(), None);
    }
}
