//! The words that come in.
//!
//! Here: what one line says, as a [`Said`], without any knowledge of the run. Not here: whether it is possible now.
//!
//! **Invariant:** reading a line never fails in a way that could become an act: what is not understood is an
//! [`Unclear`], and a word with too much behind it is refused, never cut short.

/// The longest line that is read, in characters.
pub const CHARS_AT_MOST: usize = 400;

/// What a line says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Said {
    /// The big key: the next right thing.
    Next,
    /// A step is done; the open one if none is named.
    Done(Option<String>),
    /// What lasts begins.
    Begin,
    /// The other position was taken.
    Turn,
    /// So many were given.
    Count(u32),
    /// A reading by name.
    Read {
        /// The reading.
        reading: String,
        /// Its value as typed.
        value: String,
    },
    /// The answer to what is asked.
    Answer(String),
    /// One more on the tally.
    Add,
    /// Something the procedure names went wrong.
    Incident(String),
    /// The attempt is given up.
    Discard(String),
    /// The next attempt.
    Again,
    /// Close the run.
    Close,
    /// Take the last act back.
    Undo,
    /// Let it happen after all.
    Redo,
    /// An earlier reading was wrong.
    Correct {
        /// Its number.
        n: u32,
        /// What it should have been.
        value: String,
        /// Why.
        reason: String,
    },
    /// Do the refused act all the same.
    Despite(String),
    /// A remark for the record.
    Remark(String),
    /// Record the run in another folder.
    Folder(String),
    /// Try again to record what is not on the disk.
    Retry,
    /// Where does it stand?
    Where,
    /// All steps.
    Steps,
    /// All clocks.
    Clocks,
    /// All readings.
    Readings,
    /// More about this step.
    Why,
    /// The words.
    Help,
    /// Leave; the run can be resumed.
    Quit,
    /// None of the words: a number, or words that answer what is asked.
    Bare(String),
}

/// Why a line says nothing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unclear {
    /// Too long.
    #[error("The line is longer than {CHARS_AT_MOST} characters; nothing was taken from it.")]
    TooLong,
    /// Control characters, or bytes that are no text.
    #[error("The line holds something other than text; nothing was taken from it.")]
    NotText,
    /// Something is missing behind a word.
    #[error("“{word}” needs more: {form}")]
    Incomplete {
        /// The word.
        word: &'static str,
        /// Its whole form.
        form: &'static str,
    },
    /// Something stands behind a word that takes nothing.
    #[error("“{word}” stands alone. To give these words as an answer: answer {line}")]
    TooMuch {
        /// The word.
        word: &'static str,
        /// The line.
        line: String,
    },
    /// Not a whole number where one is needed.
    #[error("“{typed}” is no whole number: {form}")]
    NotANumber {
        /// What was typed.
        typed: String,
        /// The whole form.
        form: &'static str,
    },
}

/// A word that may come in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Word {
    /// The word.
    pub word: &'static str,
    /// Its whole form.
    pub form: &'static str,
    /// What it does.
    pub means: &'static str,
}

const fn word(word: &'static str, form: &'static str, means: &'static str) -> Word {
    Word { word, form, means }
}

/// All words, in the order of the help.
pub const WORDS: &[Word] = &[
    word("next", "next", "the next right thing; an empty line does the same"),
    word("done", "done [STEP]", "this step, or the named one, is done"),
    word("begin", "begin", "what lasts begins now"),
    word("turn", "turn", "the other position was taken"),
    word("count", "count N", "so many were given, all together"),
    word("read", "read READING VALUE", "a reading by its name"),
    word("answer", "answer TEXT", "the answer to what is asked; needed only if it begins with one of these words"),
    word("add", "add", "one more on the tally, such as a cup"),
    word("incident", "incident NAME", "something went wrong that the procedure names"),
    word("discard", "discard REASON", "give this attempt up"),
    word("again", "again", "begin the next attempt"),
    word("close", "close", "close the run: nothing more will be done on it"),
    word("undo", "undo", "take the last act back"),
    word("redo", "redo", "let the act taken back happen after all"),
    word("correct", "correct N VALUE because REASON", "an earlier reading was wrong; N is in the list of readings"),
    word("despite", "despite REASON", "do the act just refused all the same; the reason stays on the record"),
    word("remark", "remark TEXT", "a remark for the record"),
    word("folder", "folder PATH", "record the whole run in another folder"),
    word("retry", "retry", "try again to record what is not on the disk"),
    word("where", "where", "the open step, what it asks, what runs"),
    word("steps", "steps", "all steps and how they stand"),
    word("clocks", "clocks", "all running clocks"),
    word("readings", "readings", "all readings with the numbers to correct them by"),
    word("why", "why", "more about this step"),
    word("help", "help", "these words"),
    word("quit", "quit", "leave; the run can be resumed"),
];

/// Reads one line.
///
/// A line that begins with none of [`WORDS`] is [`Said::Bare`]: a number or words for what is asked.
///
/// # Errors
///
/// [`Unclear`] if it is too long, no text, or a word with too little or too much behind it.
///
/// ```
/// use coach::line::language::{Said, read};
///
/// assert_eq!(read("correct 12 5.25 because misread the neck"), Ok(Said::Correct {
///     n: 12, value: "5.25".into(), reason: "misread the neck".into(),
/// }));
/// assert_eq!(read("5 1/4"), Ok(Said::Bare("5 1/4".into())));
/// ```
pub fn read(line: &str) -> Result<Said, Unclear> {
    if line.chars().nth(CHARS_AT_MOST).is_some() {
        return Err(Unclear::TooLong);
    }
    let line = line.trim();
    if line.chars().any(|c| (c.is_control() && c != '\t') || c == char::REPLACEMENT_CHARACTER) {
        return Err(Unclear::NotText);
    }
    if line.is_empty() {
        return Ok(Said::Next);
    }
    let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    let Some(known) = WORDS.iter().find(|known| known.word.eq_ignore_ascii_case(first)) else {
        return Ok(Said::Bare(line.to_owned()));
    };
    let Word { word, form, .. } = *known;
    let alone = |said: Said| {
        if rest.is_empty() { Ok(said) } else { Err(Unclear::TooMuch { word, line: line.to_owned() }) }
    };
    let text = || if rest.is_empty() { Err(Unclear::Incomplete { word, form }) } else { Ok(rest.to_owned()) };
    let name = || if rest.contains(char::is_whitespace) { Err(too_much(word, line)) } else { text() };
    match word {
        "next" => alone(Said::Next),
        "done" if rest.is_empty() => Ok(Said::Done(None)),
        "done" => name().map(|step| Said::Done(Some(step))),
        "begin" => alone(Said::Begin),
        "turn" => alone(Said::Turn),
        "count" => whole(&text()?, form).map(Said::Count),
        "read" => match text()?.split_once(char::is_whitespace) {
            Some((reading, value)) => Ok(Said::Read { reading: reading.to_owned(), value: value.trim().to_owned() }),
            None => Err(Unclear::Incomplete { word, form }),
        },
        "answer" => text().map(Said::Answer),
        "add" => alone(Said::Add),
        "incident" => name().map(Said::Incident),
        "discard" => text().map(Said::Discard),
        "again" => alone(Said::Again),
        "close" => alone(Said::Close),
        "undo" => alone(Said::Undo),
        "redo" => alone(Said::Redo),
        "correct" => correct(&text()?, word, form),
        "despite" => text().map(Said::Despite),
        "remark" => text().map(Said::Remark),
        "folder" => text().map(Said::Folder),
        "retry" => alone(Said::Retry),
        "where" => alone(Said::Where),
        "steps" => alone(Said::Steps),
        "clocks" => alone(Said::Clocks),
        "readings" => alone(Said::Readings),
        "why" => alone(Said::Why),
        "help" => alone(Said::Help),
        _ => alone(Said::Quit),
    }
}

fn too_much(word: &'static str, line: &str) -> Unclear {
    Unclear::TooMuch { word, line: line.to_owned() }
}

fn whole(typed: &str, form: &'static str) -> Result<u32, Unclear> {
    let is_plain = typed.chars().all(|c| c.is_ascii_digit());
    let number = if is_plain { typed.parse().ok() } else { None };
    number.ok_or_else(|| Unclear::NotANumber { typed: typed.to_owned(), form })
}

fn correct(rest: &str, word: &'static str, form: &'static str) -> Result<Said, Unclear> {
    let incomplete = || Unclear::Incomplete { word, form };
    let (n, rest) = rest.split_once(char::is_whitespace).ok_or_else(incomplete)?;
    let n = whole(n, form)?;
    let (value, reason) = rest.split_once(" because ").ok_or_else(incomplete)?;
    let (value, reason) = (value.trim().to_owned(), reason.trim().to_owned());
    if value.is_empty() || reason.is_empty() {
        return Err(incomplete());
    }
    Ok(Said::Correct { n, value, reason })
}
