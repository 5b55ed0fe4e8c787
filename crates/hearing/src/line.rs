//! One line: one utterance.
//!
//! Here: from bytes to words with their tags. Not here: what the words mean.
//!
//! **Invariant:** bytes that are no such line have no effect but to be counted.

/// At most so many bytes of words in a line, tags and the end of the line not counted.
pub const WORDS_AT_MOST: usize = 256;

/// Where a line came from, by its own account.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq, Hash)]
pub enum Source {
    /// It does not say: a script, another program, a pedal.
    #[default]
    Unsaid,
    /// A microphone.
    Microphone,
    /// A pedal or a button.
    Pedal,
}

/// A line that was read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Utterance {
    /// Its words, [made alike](crate::words::alike).
    pub words: String,
    /// Its words as they came, trimmed; for names and remarks.
    pub verbatim: String,
    /// How sure the recogniser is, in per cent.
    pub confidence: Option<u8>,
    /// Where it came from.
    pub source: Source,
    /// How many milliseconds before the line the sound began.
    pub ago_ms: Option<u64>,
}

/// Why bytes are no line.
#[derive(Copy, Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoLine {
    /// More than [`WORDS_AT_MOST`].
    #[error("the line is too long")]
    TooLong,
    /// Not text, or with signs no voice makes.
    #[error("the line is not plain text")]
    NotText,
    /// A tag is wrong.
    #[error("a tag of the line is not as described")]
    BadTag,
    /// Nothing in it.
    #[error("the line is empty")]
    Empty,
}

/// Reads one line, without its end.
///
/// # Errors
///
/// [`NoLine`] says why it is none.
pub fn read(_bytes: &[u8]) -> Result<Utterance, NoLine> {
    Err(NoLine::Empty)
}
