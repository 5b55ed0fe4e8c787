//! The words valid now.
//!
//! Here: matching a line, and publishing the words for a recogniser. Not here: what they do.
//!
//! **Invariant:** no two entries can be mistaken for one another by their words alone, and matching is exact.

use quantity::{Decimal, Scale};

use crate::number::NotANumber;

/// At most so many phrases at once, numbers and answers not counted.
pub const PHRASES_AT_MOST: usize = 12;

/// One phrase and what it stands for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry<I> {
    /// What it stands for.
    pub means: I,
    /// The words, made alike; the first is the one that is shown and published first.
    pub phrases: Vec<String>,
}

/// The words valid now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Vocabulary<I> {
    /// The phrases.
    pub entries: Vec<Entry<I>>,
    /// The instrument that is read, if a number is asked.
    pub number: Option<Scale>,
}

/// What a line was understood as.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heard<I> {
    /// A phrase.
    Phrase(I),
    /// A mark of the instrument that is asked.
    Number(Decimal),
    /// A number, but not one that can be taken.
    NotTaken(NotANumber),
    /// Nothing that is valid now.
    NotUnderstood,
}

impl<I: Clone> Vocabulary<I> {
    /// What words that were made alike mean now: a phrase exactly, else a number if one is asked.
    pub fn hear(&self, words: &str) -> Heard<I> {
        if let Some(entry) = self.entries.iter().find(|entry| entry.phrases.iter().any(|phrase| phrase == words)) {
            return Heard::Phrase(entry.means.clone());
        }
        let Some(scale) = &self.number else { return Heard::NotUnderstood };
        match crate::number::number(words, scale) {
            Ok(value) => Heard::Number(value),
            Err(NotANumber::NoNumber) => Heard::NotUnderstood,
            Err(why) => Heard::NotTaken(why),
        }
    }

    /// One phrase a line; a line `<number> LOWEST HIGHEST GRADUATION UNIT` if a number is asked.
    pub fn list(&self) -> String {
        String::new()
    }

    /// The same as a grammar in the Java Speech Grammar Format, version 1.0, with every number that is a mark.
    pub fn jsgf(&self) -> String {
        String::new()
    }
}
