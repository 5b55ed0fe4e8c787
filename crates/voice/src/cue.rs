//! A cue: what is to be heard, when, and how long it stays true.
//!
//! Here: plain data. Not here: when it is played (`desk`) and how it sounds (`tone`, and whatever speaks).
//!
//! **Invariant:** moments are milliseconds on one clock that whoever makes the cue and whoever plays it share.

/// How hard a cue's moment is.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Class {
    /// Of use for a while: dropped when it is stale, never in anybody's way.
    Info,
    /// The present step: cut by a hard cue and begun anew if it is still the newest.
    Prompt,
    /// A countdown, a limit, a refusal: begins on time, cuts whatever sounds, is never queued.
    Hard,
}

/// A sound that needs no words, told from the others by pitch and rhythm.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Tone {
    /// Something timed begins.
    Begin,
    /// Half of it is over.
    Halfway,
    /// One of the last seconds, or one stroke of a pace.
    Tick,
    /// Long enough, enough, done; a limit is reached.
    Done,
    /// Refused, or not understood.
    Refused,
    /// Another test needs you.
    Elsewhere,
}

impl Tone {
    /// All of them, in the order in which a check plays them.
    pub const ALL: [Tone; 6] = [Tone::Begin, Tone::Halfway, Tone::Tick, Tone::Done, Tone::Refused, Tone::Elsewhere];

    /// Its name, as the cue log writes it.
    pub const fn name(self) -> &'static str {
        match self {
            Tone::Begin => "begin",
            Tone::Halfway => "halfway",
            Tone::Tick => "tick",
            Tone::Done => "done",
            Tone::Refused => "refused",
            Tone::Elsewhere => "elsewhere",
        }
    }
}

/// What is to be heard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cue {
    /// How hard its moment is.
    pub class: Class,
    /// The tone before the words, if there is one.
    pub tone: Option<Tone>,
    /// The words as they are spoken; empty for a tone alone.
    pub text: String,
    /// A shorter form, where the whole would not end before the next hard cue.
    pub short: Option<String>,
    /// When it is due, in milliseconds.
    pub due: u64,
    /// Until when it may still be begun; after that it would not be true any more. None: until another prompt replaces it.
    pub until: Option<u64>,
}

impl Cue {
    /// What a log calls it: its words, or the name of its tone.
    pub fn name(&self) -> &str {
        match self.tone {
            Some(tone) if self.text.is_empty() => tone.name(),
            _ => &self.text,
        }
    }

    /// The same without words.
    pub fn without_words(&self) -> Self {
        Self { text: String::new(), short: None, ..self.clone() }
    }

    /// The same in its short form, if it has one.
    pub fn in_short(&self) -> Option<Self> {
        let text = self.short.clone()?;
        Some(Self { text, short: None, ..self.clone() })
    }

    /// Whether there is anything in it to be heard.
    pub fn is_empty(&self) -> bool {
        self.tone.is_none() && self.text.is_empty()
    }

    /// Whether it may still be begun at `now`, as far as its own `until` goes.
    pub fn is_true_at(&self, now: u64) -> bool {
        self.until.is_none_or(|until| now <= until)
    }
}

/// How late a hard cue may be begun, in milliseconds: then the next true one is the better.
pub const HARD_STALE_AFTER: u64 = 250;

/// What whoever speaks is told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Speech {
    /// All hard cues that are to come as things stand now. It replaces what was planned before, so that a countdown ends
    /// with what it counted. Whatever is in it is taken as hard. What is already past need not be in it, and does no harm.
    Plan(Vec<Cue>),
    /// This, now or as soon as its class allows.
    Say(Cue),
    /// Silence at once; what was to be said is forgotten, the plan too.
    Hush,
}
