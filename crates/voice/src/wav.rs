//! Sound files as bytes.
//!
//! Here: reading what a speech program wrote, whatever it is, and writing what a player is given.
//!
//! **Invariant:** no bytes make it panic or take more memory than they themselves are.

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
        (self.samples.len() as u64 * 1_000).checked_div(u64::from(self.rate)).unwrap_or(0)
    }
}

/// Why bytes are no sound.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct NoSound(pub String);

/// Reads a WAV file: PCM, 8 or 16 bits, one or two channels.
///
/// # Errors
///
/// [`NoSound`] says what is wrong with it.
pub fn read(_bytes: &[u8]) -> Result<Sound, NoSound> {
    Err(NoSound("not read yet".to_owned()))
}

/// Writes a WAV file.
pub fn write(_sound: &Sound) -> Vec<u8> {
    Vec::new()
}
