//! Sound files as bytes: what speech programs write, what they might, and rubbish.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test says what it expects by panicking")]

use proptest::prelude::*;
use voice::Tone;
use voice::tone;
use voice::wav::{LONGEST_MS, Sound, join, read, tone_then, trim_silence, write};

/// A file from pieces: hexadecimal bytes, or letters in quotes.
fn file(pieces: &str) -> Vec<u8> {
    let byte = |hex: &str| u8::from_str_radix(hex, 16).unwrap();
    let piece = |piece: &str| match piece.strip_prefix('\'') {
        Some(letters) => letters.trim_end_matches('\'').replace('_', " ").into_bytes(),
        None => piece.as_bytes().chunks(2).map(|two| byte(std::str::from_utf8(two).unwrap())).collect(),
    };
    pieces.split_whitespace().flat_map(piece).collect()
}

fn why(pieces: &str) -> String {
    read(&file(pieces)).unwrap_err().to_string()
}

fn sound(rate: u32, samples: &[i16]) -> Sound {
    Sound { rate, samples: samples.to_vec() }
}

#[test]
fn headers_of_real_speech_programs_are_read() {
    // The header each wrote on Debian 12; three samples put in, and their length where the program knew it.
    let cases = [
        // espeak-ng 1.51 --stdout: it cannot go back, so both lengths are far more than there is.
        (
            "'RIFF' 24f0ff7f 'WAVEfmt_' 10000000 0100 0100 22560000 44ac0000 0200 1000 'data' 00f0ff7f 0000 0100 ffff",
            sound(22_050, &[0, 1, -1]),
        ),
        // espeak-ng 1.51 -w FILE.
        (
            "'RIFF' 2a000000 'WAVEfmt_' 10000000 0100 0100 22560000 44ac0000 0200 1000 'data' 06000000 0000 0100 ffff",
            sound(22_050, &[0, 1, -1]),
        ),
        // flite 2.2 -o FILE.
        (
            "'RIFF' 2a000000 'WAVEfmt_' 10000000 0100 0100 401f0000 803e0000 0200 1000 'data' 06000000 0000 0100 ffff",
            sound(8_000, &[0, 1, -1]),
        ),
        // sox 14.4.2, 8 bits, with the byte of padding.
        (
            "'RIFF' 28000000 'WAVEfmt_' 10000000 0100 0100 401f0000 401f0000 0100 0800 'data' 03000000 80ff00 00",
            sound(8_000, &[0, 32_512, -32_768]),
        ),
    ];
    for (pieces, expected) in cases {
        assert_eq!(read(&file(pieces)).unwrap(), expected, "{pieces}");
    }
}

#[test]
fn odd_files_are_read_all_the_same() {
    const MONO: &str = "'fmt_' 10000000 0100 0100 401f0000 803e0000 0200 1000";
    let of = |chunks: &str| read(&file(&format!("'RIFF' 00000000 'WAVE' {chunks}")));
    let expected = sound(8_000, &[256, -256]);
    for (name, chunks) in [
        ("length nought", format!("{MONO} 'data' 00000000 0001 00ff")),
        ("length unknown", format!("{MONO} 'data' ffffffff 0001 00ff")),
        ("broken off in a sample", format!("{MONO} 'data' 40000000 0001 00ff 07")),
        (
            "remarks before and after",
            format!("'LIST' 03000000 616263 00 {MONO} 'data' 04000000 0001 00ff 'id3_' 01000000"),
        ),
        ("remarks in between", format!("{MONO} 'fact' 04000000 02000000 'data' 04000000 0001 00ff")),
        (
            "a longer format",
            "'fmt_' 12000000 0100 0100 401f0000 803e0000 0200 1000 0000 'data' 04000000 0001 00ff".to_owned(),
        ),
        (
            "an extended format",
            "'fmt_' 28000000 feff 0100 401f0000 803e0000 0200 1000 1600 1000 04000000 01000000 00001000800000aa00389b71
             'data' 04000000 0001 00ff"
                .to_owned(),
        ),
        (
            "two channels",
            "'fmt_' 10000000 0100 0200 401f0000 007d0000 0400 1000 'data' 08000000 0002 0000 00fe 0000".to_owned(),
        ),
        (
            "two channels of 8 bits",
            "'fmt_' 10000000 0100 0200 401f0000 803e0000 0200 0800 'data' 04000000 8280 7e80".to_owned(),
        ),
    ] {
        assert_eq!(of(&chunks).as_ref(), Ok(&expected), "{name}");
    }
}

#[test]
fn what_is_no_sound_is_refused_with_its_reason() {
    const MONO: &str = "'fmt_' 10000000 0100 0100 401f0000 803e0000 0200 1000";
    for (pieces, reason) in [
        (String::new(), "does not begin with RIFF"),
        ("'RIFF'".to_owned(), "does not begin with RIFF"),
        ("'RIFX' 00000000 'WAVE'".to_owned(), "does not begin with RIFF"),
        ("'usage:_speak_[options]'".to_owned(), "does not begin with RIFF"),
        ("'RIFF' 00000000 'WAVE'".to_owned(), "holds no samples"),
        (format!("'RIFF' 00000000 'WAVE' {MONO}"), "holds no samples"),
        (format!("'RIFF' 00000000 'WAVE' {MONO} 'data' 00000000"), "holds no samples"),
        (format!("'RIFF' 00000000 'WAVE' {MONO} 'data' 01000000 00"), "holds no samples"),
        (format!("'RIFF' 00000000 'WAVE' 'data' 02000000 0000 {MONO}"), "before their format"),
        ("'RIFF' 00000000 'WAVEfmt_' 10000000 0100".to_owned(), "breaks off"),
        ("'RIFF' 00000000 'WAVEfmt_' 04000000 0100 0100 401f0000 803e0000 0200 1000".to_owned(), "breaks off"),
        ("'RIFF' 00000000 'WAVEfmt_' 10000000 0300 0100 401f0000 007d0000 0400 2000".to_owned(), "of kind 3"),
        ("'RIFF' 00000000 'WAVEfmt_' 10000000 feff 0100 401f0000 803e0000 0200 1000".to_owned(), "extended format"),
        ("'RIFF' 00000000 'WAVEfmt_' 10000000 0100 0600 401f0000 00770100 0c00 1000".to_owned(), "6 channels"),
        ("'RIFF' 00000000 'WAVEfmt_' 10000000 0100 0100 401f0000 c05d0000 0300 1800".to_owned(), "24 bits"),
        ("'RIFF' 00000000 'WAVEfmt_' 10000000 0100 0100 00000000 00000000 0200 1000".to_owned(), "0 samples a second"),
        ("'RIFF' 00000000 'WAVEfmt_' 10000000 0100 0100 401f0000 803e0000 0400 1000".to_owned(), "contradicts itself"),
    ] {
        assert!(why(&pieces).contains(reason), "{pieces}: {}", why(&pieces));
    }
}

#[test]
fn sound_of_a_minute_is_read_and_a_longer_one_refused() {
    let mut long = sound(1_000, &[7; 60_000]);
    assert_eq!(long.millis(), LONGEST_MS);
    assert_eq!(read(&write(&long)).unwrap(), long);
    long.samples.push(7);
    assert_eq!(read(&write(&long)).unwrap_err().to_string(), "it lasts longer than 60 seconds");
}

#[test]
fn sounds_are_joined_with_silence_between_them() {
    let one = sound(1_000, &[1, 2]);
    let none = sound(8_000, &[]);
    assert_eq!(join(&[one.clone(), none.clone(), one.clone()], 3).unwrap(), sound(1_000, &[1, 2, 0, 0, 0, 1, 2]));
    assert_eq!(join(std::slice::from_ref(&none), 3).unwrap(), none);
    assert_eq!(join(&[], 3).unwrap(), Sound::default());
    let other = join(&[one.clone(), sound(2_000, &[1])], 3).unwrap_err();
    assert_eq!(other.to_string(), "sounds of 1000 and 2000 samples a second cannot be put together");
    assert!(join(&[one.clone(), one.clone()], u32::MAX).is_err(), "an endless silence is refused before it is made");
    assert!(join(&vec![sound(1_000, &[1; 30_000]); 3], 0).is_err());
}

#[test]
fn silence_before_a_word_is_trimmed_and_its_soft_beginning_kept() {
    let mut samples = vec![0_i16; 520];
    samples.extend([40, -90, 250, 9_000, -20_000, 0, 0, 0]);
    let trimmed = trim_silence(sound(10_000, &samples));
    // 3 ms before the first that is 40 dB below the loudest.
    assert_eq!(trimmed.samples, samples[522 - 30..]);
    assert_eq!(trim_silence(trimmed.clone()), trimmed, "once is enough");
    assert!(trim_silence(sound(10_000, &[0, 3, -3])).samples.is_empty(), "silence alone leaves nothing");
    assert_eq!(trim_silence(Sound::default()), Sound::default());
}

#[test]
fn tone_comes_first_then_a_short_silence_then_the_words() {
    let words = sound(8_000, &[5; 800]);
    let both = tone_then(Some(Tone::Tick), Some(&words), 44_100);
    assert_eq!((both.rate, both.millis()), (8_000, 60 + 60 + 100));
    assert_eq!(both.samples[..480], tone::samples(Tone::Tick, 8_000));
    assert_eq!(both.samples[480..960], [0; 480]);
    assert_eq!(both.samples[960..], words.samples);
    assert_eq!(tone_then(None, Some(&words), 44_100), words);
    let alone = tone_then(Some(Tone::Done), None, 44_100);
    assert_eq!((alone.rate, alone.millis()), (44_100, 600), "at the rate asked for, with no silence behind it");
    assert_eq!(tone_then(Some(Tone::Done), Some(&sound(8_000, &[])), 44_100), alone);
    assert_eq!(tone_then(None, None, 8_000).millis(), 0);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn sound_that_is_written_comes_back(rate in 1_000_u32..192_000, samples in prop::collection::vec(any::<i16>(), 1..500)) {
        let sound = Sound { rate, samples };
        prop_assert_eq!(read(&write(&sound)).unwrap(), sound);
    }

    #[test]
    fn no_bytes_are_too_much_for_it(bytes in prop::collection::vec(any::<u8>(), 0..300), as_file in any::<bool>()) {
        let bytes = if as_file { [b"RIFF\0\0\0\0WAVE".to_vec(), bytes].concat() } else { bytes };
        if let Ok(sound) = read(&bytes) {
            prop_assert!(sound.samples.len() <= bytes.len());
        }
    }

    #[test]
    fn no_damage_to_a_file_is_too_much_for_it(
        changes in prop::collection::vec((0_usize..120, any::<u8>()), 0..6),
        cut in 0_usize..160,
        is_extended in any::<bool>(),
    ) {
        let mut bytes = write(&sound(22_050, &[300; 40]));
        if is_extended {
            let format = file("28000000 feff 0100 22560000 44ac0000 0200 1000 1600 1000 04000000 01000000 00001000800000aa00389b71");
            bytes.splice(16..36, format);
        }
        for (at, byte) in changes {
            if let Some(old) = bytes.get_mut(at) {
                *old = byte;
            }
        }
        bytes.truncate(cut.max(12));
        if let Ok(sound) = read(&bytes) {
            prop_assert!(sound.samples.len() <= bytes.len() && sound.millis() <= LONGEST_MS);
            trim_silence(sound);
        }
    }
}
