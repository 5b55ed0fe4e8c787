//! Tones, as samples.
//!
//! Here: pitch and rhythm of each tone. Not here: who plays it.
//!
//! Each tone keeps to one pitch, so that the rhythm alone would do in noise and the pitch alone at a distance; all
//! pitches are between 500 and 1500 Hz, where hearing protection and age leave most. Only a done differs from a tick by
//! its length alone: it is the tick that does not stop, and the end of the same countdown.
//!
//! | tone      | pitch   | rhythm                            |
//! |-----------|---------|-----------------------------------|
//! | begin     | 750 Hz  | short, long                       |
//! | halfway   | 1200 Hz | long, short                       |
//! | tick      | 1000 Hz | one very short                    |
//! | done      | 1000 Hz | one very long                     |
//! | refused   | 500 Hz  | two of middling length            |
//! | elsewhere | 1450 Hz | three short                       |
//!
//! Sources: 500 to 3000 Hz preferred, distinctive within the first half second: MIL-STD-1472E, 5.3.3 and 5.3.4. Below
//! 1500 Hz for people with ear protection: common practice, from memory.
//!
//! **Invariant:** none imitates a danger signal: no sweep, no two alternating pitches. Each beep begins and ends in
//! silence, through a ramp, so that none clicks.

#![expect(clippy::float_arithmetic, reason = "a wave of sound is made of sines; no reading or limit is among them")]

use std::f32::consts::PI;

use crate::cue::Tone;

/// One beep of a tone.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Beep {
    /// Its pitch.
    pub hz: u32,
    /// How long it sounds, ramps included, in milliseconds.
    pub ms: u32,
    /// How long it is silent after it, in milliseconds.
    pub gap_ms: u32,
}

const fn beep(hz: u32, ms: u32, gap_ms: u32) -> Beep {
    Beep { hz, ms, gap_ms }
}

/// How long a beep swells and fades, in milliseconds.
pub const RAMP_MS: u32 = 5;

/// How far a beep swings: below full scale, so that no player clips it.
pub const LOUDEST: i16 = 26_000;

/// No more samples a second than this are made; no loudspeaker asks for more.
pub const FASTEST_RATE: u32 = 192_000;

/// The beeps of a tone. The last one has no gap after it.
pub fn pattern(tone: Tone) -> &'static [Beep] {
    match tone {
        Tone::Begin => const { &[beep(750, 80, 60), beep(750, 240, 0)] },
        Tone::Halfway => const { &[beep(1_200, 240, 60), beep(1_200, 80, 0)] },
        Tone::Tick => const { &[beep(1_000, 60, 0)] },
        Tone::Done => const { &[beep(1_000, 600, 0)] },
        Tone::Refused => const { &[beep(500, 120, 80), beep(500, 120, 0)] },
        Tone::Elsewhere => const { &[beep(1_450, 80, 70), beep(1_450, 80, 70), beep(1_450, 80, 0)] },
    }
}

/// How long a tone lasts, in milliseconds.
pub fn millis(tone: Tone) -> u64 {
    pattern(tone).iter().map(|beep| u64::from(beep.ms + beep.gap_ms)).sum()
}

/// The samples of a tone, one channel, 16 bits, so many a second. None at all at no rate, or above [`FASTEST_RATE`].
pub fn samples(tone: Tone, rate: u32) -> Vec<i16> {
    let mut samples = Vec::new();
    if rate <= FASTEST_RATE {
        for beep in pattern(tone) {
            add(&mut samples, *beep, rate);
            samples.extend(std::iter::repeat_n(0, n_samples(beep.gap_ms, rate)));
        }
    }
    samples
}

fn n_samples(ms: u32, rate: u32) -> usize {
    usize::try_from(u64::from(ms) * u64::from(rate) / 1_000).unwrap_or(0)
}

#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "a beep has some thousand samples, each within 16 bits"
)]
fn add(samples: &mut Vec<i16>, beep: Beep, rate: u32) {
    let n = n_samples(beep.ms, rate);
    let ramp = n_samples(RAMP_MS, rate).max(1);
    for i in 0..n {
        let to_edge = i.min(n - 1 - i).min(ramp);
        // Half a cosine has no corner at either end.
        let swell = (1.0 - (PI * to_edge as f32 / ramp as f32).cos()) / 2.0;
        // Whole turns are taken off before anything is divided: a wave is as clean at its end as at its beginning.
        let turn = (i as u64 * u64::from(beep.hz)) % u64::from(rate);
        let wave = (2.0 * PI * turn as f32 / rate as f32).sin();
        samples.push((f32::from(LOUDEST) * swell * wave).round() as i16);
    }
}
