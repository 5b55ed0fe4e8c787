//! The tones, measured as samples.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test says what it expects by panicking")]
#![allow(clippy::float_arithmetic, reason = "pitch is measured; no reading or limit is among it")]

use voice::Tone;
use voice::tone::{self, Beep, LOUDEST, RAMP_MS, pattern, samples};

const RATES: [u32; 6] = [8_000, 16_000, 22_050, 44_100, 48_000, 192_000];

/// How many whole waves a beep has, by its crossings of nought upwards.
fn measured_hz(beep: &[i16], rate: u32) -> f64 {
    let ups: Vec<usize> = (1..beep.len()).filter(|&i| beep[i - 1] <= 0 && beep[i] > 0).collect();
    let (first, last) = (ups[0], ups[ups.len() - 1]);
    (ups.len() - 1) as f64 * f64::from(rate) / (last - first) as f64
}

/// The beeps of a sound as an ear tells them: runs of sound between silences of at least 20 ms.
fn beeps(samples: &[i16], rate: u32) -> Vec<(usize, usize)> {
    let silence = rate as usize / 50;
    let mut found: Vec<(usize, usize)> = Vec::new();
    for i in (0..samples.len()).filter(|&i| samples[i] != 0) {
        match found.last_mut() {
            Some((_, end)) if i - *end < silence => *end = i,
            _ => found.push((i, i)),
        }
    }
    found
}

#[test]
fn tone_lasts_as_long_as_its_pattern_says() {
    for tone in Tone::ALL {
        for rate in RATES {
            let lasts = samples(tone, rate).len() as u64 * 1_000 / u64::from(rate);
            assert!(lasts.abs_diff(tone::millis(tone)) <= 1, "{tone:?} at {rate}");
        }
    }
    assert_eq!(tone::millis(Tone::Refused), 320);
    assert_eq!(tone::millis(Tone::Done), 600);
}

#[test]
fn measured_pitch_and_rhythm_are_those_of_the_pattern() {
    for tone in Tone::ALL {
        for rate in RATES {
            let samples = samples(tone, rate);
            let found = beeps(&samples, rate);
            assert_eq!(found.len(), pattern(tone).len(), "{tone:?} at {rate}: {found:?}");
            for ((from, to), beep) in found.iter().zip(pattern(tone)) {
                let hz = measured_hz(&samples[*from..=*to], rate);
                assert!((hz - f64::from(beep.hz)).abs() < f64::from(beep.hz) / 50.0, "{tone:?} at {rate}: {hz}");
                let ms = (to - from) as f64 * 1_000.0 / f64::from(rate);
                assert!((ms - f64::from(beep.ms)).abs() < 2.0, "{tone:?} at {rate}: {ms} ms");
            }
        }
    }
}

#[test]
fn no_tone_clips_or_clicks() {
    for tone in Tone::ALL {
        for rate in RATES {
            let samples = samples(tone, rate);
            assert_eq!((samples[0], *samples.last().unwrap()), (0, 0), "{tone:?} at {rate}: silence at both ends");
            let loudest = samples.iter().map(|sample| sample.unsigned_abs()).max().unwrap();
            assert!(
                loudest <= LOUDEST.unsigned_abs() && loudest > LOUDEST.unsigned_abs() / 10 * 9,
                "{tone:?} at {rate}"
            );
            // The steepest a sine of this pitch can be, and the swelling of the ramp on top of it.
            let hz = f64::from(pattern(tone)[0].hz);
            let a_sample = std::f64::consts::PI / f64::from(rate);
            let steepest = f64::from(LOUDEST) * a_sample * (2.0 * hz + 500.0 / f64::from(RAMP_MS)) + 1.0;
            for (i, pair) in samples.windows(2).enumerate() {
                let step = f64::from(pair[1]) - f64::from(pair[0]);
                assert!(step.abs() <= steepest, "{tone:?} at {rate}: a jump of {step} at sample {i}");
            }
            // The first and last half millisecond of each beep are nearly silent.
            for (from, to) in beeps(&samples, rate) {
                let edge = rate as usize / 2_000;
                let edges = samples[from..from + edge].iter().chain(&samples[to - edge..to]);
                assert!(
                    edges.map(|sample| sample.unsigned_abs()).max().unwrap() < 1_000,
                    "{tone:?} at {rate}: a soft edge"
                );
            }
        }
    }
}

#[test]
fn no_two_tones_could_be_taken_for_one_another() {
    // Pitches a minor third apart, or a rhythm of another number of beeps or at least another length.
    let differ = |a: &[Beep], b: &[Beep]| {
        let pitch = a[0].hz.max(b[0].hz) * 100 / a[0].hz.min(b[0].hz) >= 119;
        let length = |beeps: &[Beep]| beeps.iter().map(|beep| beep.ms).collect::<Vec<_>>();
        let twice = |a: &Vec<u32>, b: &Vec<u32>| a.iter().zip(b).any(|(a, b)| a.max(b) >= &(2 * *a.min(b)));
        let (a, b) = (length(a), length(b));
        (pitch, a.len() != b.len() || twice(&a, &b))
    };
    for (i, one) in Tone::ALL.iter().enumerate() {
        for other in &Tone::ALL[i + 1..] {
            let (pitch, rhythm) = differ(pattern(*one), pattern(*other));
            assert!(rhythm, "{one:?} and {other:?} have one rhythm");
            let is_countdown = matches!((one, other), (Tone::Tick, Tone::Done));
            assert!(pitch || is_countdown, "{one:?} and {other:?} have one pitch");
        }
    }
}

#[test]
fn first_half_second_tells_all_tones_apart() {
    // In tenths of a second: how much of each is sound. A done is the only one that does not stop.
    let rate = 8_000;
    let shape = |tone| {
        let mut samples = samples(tone, rate);
        samples.resize(rate as usize / 2, 0);
        let loud = |part: &[i16]| part.iter().filter(|sample| sample.unsigned_abs() > 1_000).count() / 40;
        (pattern(tone)[0].hz, samples.chunks(rate as usize / 10).map(loud).collect::<Vec<_>>())
    };
    for (i, one) in Tone::ALL.iter().enumerate() {
        for other in &Tone::ALL[i + 1..] {
            assert_ne!(shape(*one), shape(*other), "{one:?} and {other:?}");
        }
    }
    for tone in Tone::ALL {
        assert!(tone == Tone::Done || tone::millis(tone) <= 500, "{tone:?} is over within half a second");
    }
}

#[test]
fn no_tone_sweeps_or_alternates_or_is_out_of_hearing() {
    for tone in Tone::ALL {
        let beeps = pattern(tone);
        assert!(beeps.iter().all(|beep| beep.hz == beeps[0].hz), "{tone:?} keeps to one pitch");
        assert!((500..=1_500).contains(&beeps[0].hz), "{tone:?}");
        assert_eq!(beeps.last().unwrap().gap_ms, 0, "{tone:?} ends with its last beep");
    }
}

#[test]
fn rate_no_loudspeaker_has_gives_no_samples() {
    for rate in [0, 192_001, u32::MAX] {
        assert!(samples(Tone::Done, rate).is_empty());
    }
    for rate in 1..50 {
        samples(Tone::Elsewhere, rate);
    }
}
