//! Sound files as bytes.
//!
//! Here: reading what a speech program wrote, whatever it is, writing what a player is given, and putting sounds
//! together. Not here: who wrote it, who plays it.
//!
//! A file written to a pipe cannot know its own length: its header says nought, or far more than there is. What is there
//! counts then. (RIFF and WAVE: Microsoft's "Multimedia Programming Interface and Data Specifications 1.0", 1991;
//! `WAVE_FORMAT_EXTENSIBLE`: Microsoft, "Multiple Channel Audio Data and WAVE Files"; both from memory. What speech
//! programs really write was looked at; the tests hold the headers.)
//!
//! **Invariant:** no bytes make it panic, take more memory than twice their own, or give a sound longer than
//! [`LONGEST_MS`].

use crate::cue::Tone;
use crate::tone;

/// A sound: one channel, 16 bits.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sound {
    /// Samples a second.
    pub rate: u32,
    /// The samples.
    pub samples: Vec<i16>,
}

impl Sound {
    /// How long it lasts, in milliseconds.
    pub fn millis(&self) -> u64 {
        (self.samples.len() as u64).saturating_mul(1_000).checked_div(u64::from(self.rate)).unwrap_or(0)
    }
}

/// Why bytes are no sound.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct NoSound(pub String);

/// The longest sound there is: nobody listens to one sentence for a minute.
pub const LONGEST_MS: u64 = 60_000;

/// The silence between a tone and its words, in milliseconds.
pub const TONE_GAP_MS: u32 = 60;

/// The sound before a word's first loud sample that is kept when silence is trimmed, in milliseconds: an f or an s begins softly.
const LEAD_IN_MS: u32 = 3;

/// Reads a WAV file: PCM, 8 or 16 bits, one or two channels. Two channels are made one.
///
/// Chunks it does not know are passed over; a file that breaks off is read as far as it goes.
///
/// # Errors
///
/// [`NoSound`] says what is wrong with it.
pub fn read(bytes: &[u8]) -> Result<Sound, NoSound> {
    let (b"RIFF", [_, _, _, _, b'W', b'A', b'V', b'E', chunks @ ..]) = bytes.split_at_checked(4).unwrap_or_default()
    else {
        return refused("not a WAV file: it does not begin with RIFF and WAVE");
    };
    let mut rest = chunks;
    let mut format = None;
    while let Some((name, length, body)) = chunk(rest) {
        let whole = body.get(..length);
        match name {
            b"fmt " => format = Some(Format::read(whole.unwrap_or(body))?),
            b"data" => {
                let format = format.ok_or_else(|| NoSound("its samples come before their format".to_owned()))?;
                // Nought and too much both mean that the writer could not go back to fill it in.
                let data = if length == 0 { body } else { whole.unwrap_or(body) };
                return format.sound(data);
            }
            _ => {}
        }
        // A chunk of odd length is followed by a byte that belongs to nobody.
        let next = length.saturating_add(length % 2);
        rest = body.get(next..).unwrap_or_default();
    }
    refused("it holds no samples")
}

/// Name, length as stated, and everything behind the header.
fn chunk(bytes: &[u8]) -> Option<(&[u8; 4], usize, &[u8])> {
    let (name, rest) = bytes.split_first_chunk()?;
    let (length, body) = rest.split_first_chunk()?;
    Some((name, usize::try_from(u32::from_le_bytes(*length)).unwrap_or(usize::MAX), body))
}

fn refused<T>(why: &str) -> Result<T, NoSound> {
    Err(NoSound(why.to_owned()))
}

const PCM: u16 = 1;
const EXTENSIBLE: u16 = 0xFFFE;
/// What stands behind the first two bytes of an extensible format's long name, if they are one of the plain formats.
const PLAIN_TAIL: [u8; 14] = [0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71];

struct Format {
    channels: usize,
    rate: u32,
    bytes_each: usize,
}

impl Format {
    fn read(body: &[u8]) -> Result<Self, NoSound> {
        let short = |at: usize| {
            let two = body.get(at..)?.first_chunk()?;
            Some(u16::from_le_bytes(*two))
        };
        let long = |at: usize| {
            let four = body.get(at..)?.first_chunk()?;
            Some(u32::from_le_bytes(*four))
        };
        let (Some(mut kind), Some(channels), Some(rate), Some(frame), Some(bits)) =
            (short(0), short(2), long(4), short(12), short(14))
        else {
            return refused("its format breaks off");
        };
        if kind == EXTENSIBLE {
            match (short(24), body.get(26..40)) {
                (Some(plain), Some(tail)) if tail == PLAIN_TAIL => kind = plain,
                _ => return refused("its extended format is not PCM"),
            }
        }
        if kind != PCM {
            return Err(NoSound(format!("its samples are of kind {kind}; only PCM (1) can be read")));
        }
        if !matches!(channels, 1 | 2) {
            return Err(NoSound(format!("it has {channels} channels; one or two can be read")));
        }
        if !matches!(bits, 8 | 16) {
            return Err(NoSound(format!("its samples have {bits} bits; 8 or 16 can be read")));
        }
        if !(1_000..=tone::FASTEST_RATE).contains(&rate) {
            return Err(NoSound(format!("{rate} samples a second are no sound of a voice")));
        }
        if frame != channels * bits / 8 {
            return Err(NoSound(format!("its format contradicts itself: {channels} × {bits} bits in {frame} bytes")));
        }
        Ok(Self { channels: usize::from(channels), rate, bytes_each: usize::from(bits / 8) })
    }

    fn sound(&self, data: &[u8]) -> Result<Sound, NoSound> {
        let frame = self.channels * self.bytes_each;
        let n = data.len() / frame;
        if n == 0 {
            return refused("it holds no samples");
        }
        may_last(n, self.rate)?;
        let one = |sample: &[u8]| match *sample {
            [low, high] => i32::from(i16::from_le_bytes([low, high])),
            // Eight bits are counted from nought, with silence in the middle.
            [byte] => (i32::from(byte) - 128) * 256,
            _ => 0,
        };
        let each = data.chunks_exact(frame).map(|frame| {
            let sum: i32 = frame.chunks_exact(self.bytes_each).map(one).sum();
            i16::try_from(sum / if self.channels == 2 { 2 } else { 1 }).unwrap_or(0)
        });
        Ok(Sound { rate: self.rate, samples: each.collect() })
    }
}

fn may_last(n_samples: usize, rate: u32) -> Result<(), NoSound> {
    if n_samples as u64 > u64::from(rate) * (LONGEST_MS / 1_000) {
        return Err(NoSound(format!("it lasts longer than {} seconds", LONGEST_MS / 1_000)));
    }
    Ok(())
}

/// Writes a WAV file: PCM, 16 bits, one channel.
pub fn write(sound: &Sound) -> Vec<u8> {
    // What the header cannot count is left out. No sound made here comes near.
    let n = u32::try_from(sound.samples.len()).unwrap_or(u32::MAX).min((u32::MAX - 36) / 2);
    let samples = sound.samples.get(..n as usize).unwrap_or(&sound.samples);
    let mut bytes = Vec::with_capacity(44 + samples.len() * 2);
    bytes.extend(b"RIFF");
    bytes.extend((36 + n * 2).to_le_bytes());
    bytes.extend(b"WAVEfmt ");
    bytes.extend(16_u32.to_le_bytes());
    bytes.extend(PCM.to_le_bytes());
    bytes.extend(1_u16.to_le_bytes());
    bytes.extend(sound.rate.to_le_bytes());
    bytes.extend(sound.rate.saturating_mul(2).to_le_bytes());
    bytes.extend(2_u16.to_le_bytes());
    bytes.extend(16_u16.to_le_bytes());
    bytes.extend(b"data");
    bytes.extend((n * 2).to_le_bytes());
    bytes.extend(samples.iter().flat_map(|sample| sample.to_le_bytes()));
    bytes
}

/// Puts sounds of one rate behind one another, with silence between them. Sounds without samples are passed over.
///
/// # Errors
///
/// [`NoSound`] if their rates differ or the whole would be longer than [`LONGEST_MS`].
pub fn join(sounds: &[Sound], gap_ms: u32) -> Result<Sound, NoSound> {
    let heard: Vec<&Sound> = sounds.iter().filter(|sound| !sound.samples.is_empty()).collect();
    let Some(rate) = heard.first().map(|sound| sound.rate) else {
        return Ok(Sound { rate: sounds.first().map_or(0, |sound| sound.rate), samples: Vec::new() });
    };
    if let Some(other) = heard.iter().find(|sound| sound.rate != rate) {
        return Err(NoSound(format!("sounds of {rate} and {} samples a second cannot be put together", other.rate)));
    }
    let gap = n_samples(gap_ms, rate);
    let n: usize = heard.iter().map(|sound| sound.samples.len()).sum();
    may_last(n.saturating_add(gap.saturating_mul(heard.len() - 1)), rate)?;
    let mut samples = Vec::new();
    for sound in heard {
        if !samples.is_empty() {
            samples.extend(std::iter::repeat_n(0, gap));
        }
        samples.extend(&sound.samples);
    }
    Ok(Sound { rate, samples })
}

fn n_samples(ms: u32, rate: u32) -> usize {
    usize::try_from(u64::from(ms) * u64::from(rate) / 1_000).unwrap_or(usize::MAX)
}

/// The sound without the silence before it, so that a word is heard at its moment. Silence alone leaves no samples.
///
/// What is a hundredth as loud as its loudest sample (40 dB below it) is silence.
pub fn trim_silence(mut sound: Sound) -> Sound {
    let loudest = sound.samples.iter().map(|sample| sample.unsigned_abs()).max().unwrap_or(0);
    let heard = (loudest / 100).max(16);
    let Some(first) = sound.samples.iter().position(|sample| sample.unsigned_abs() >= heard) else {
        sound.samples.clear();
        return sound;
    };
    sound.samples.drain(..first.saturating_sub(n_samples(LEAD_IN_MS, sound.rate)));
    sound
}

/// What a cue sounds like: its tone, a short silence, its words. At the words' rate; at `rate` if there are none.
pub fn tone_then(tone: Option<Tone>, words: Option<&Sound>, rate: u32) -> Sound {
    let words = words.filter(|words| !words.samples.is_empty());
    let rate = words.map_or(rate, |words| words.rate);
    let mut samples = tone.map(|tone| tone::samples(tone, rate)).unwrap_or_default();
    if let Some(words) = words {
        if !samples.is_empty() {
            samples.extend(std::iter::repeat_n(0, n_samples(TONE_GAP_MS, rate)));
        }
        samples.extend(&words.samples);
    }
    Sound { rate, samples }
}
