//! The words valid now.
//!
//! Here: matching a line, and publishing the words for a recogniser. Not here: what they do.
//!
//! **Invariant:** no two entries can be mistaken for one another by their words alone, and matching is exact.

mod jsgf;
mod marks;

use quantity::{Decimal, Scale};

use crate::number::{NotANumber, number};
use crate::words::alike;

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
        match number(words, scale) {
            Ok(value) => Heard::Number(value),
            Err(NotANumber::NoNumber) => Heard::NotUnderstood,
            Err(why) => Heard::NotTaken(why),
        }
    }

    /// One phrase a line; a line `<number> LOWEST HIGHEST GRADUATION UNIT` if a number is asked.
    pub fn list(&self) -> String {
        let mut list: String = self.phrases().map(|phrase| format!("{phrase}\n")).collect();
        if let Some(Scale { step, min, max, unit }) = &self.number {
            let line = format!("<number> {} {} {} {unit}", min.normalize(), max.normalize(), step.normalize());
            list.push_str(line.trim_end());
            list.push('\n');
        }
        list
    }

    /// The same as a grammar in the Java Speech Grammar Format, version 1.0, with every number that is a mark.
    ///
    /// It is as narrow as is short to say: what it allows beyond the marks is refused when it is heard.
    pub fn jsgf(&self) -> String {
        jsgf::grammar(self.phrases(), self.number.as_ref())
    }

    /// What is wrong with these words, if anything: they could be mistaken, or are too many.
    pub fn fault(&self) -> Option<String> {
        self.fault_but(|_| false)
    }

    /// The same, not counting answers to what is asked among the phrases.
    pub fn fault_but(&self, is_answer: impl Fn(&I) -> bool) -> Option<String> {
        let mut seen: Vec<&str> = Vec::new();
        for phrase in self.phrases() {
            if let Some(why) = self.fault_of(phrase) {
                return Some(format!("{phrase:?} {why}"));
            }
            if seen.contains(&phrase) {
                return Some(format!("{phrase:?} is there twice"));
            }
            seen.push(phrase);
        }
        let commands = self.entries.iter().filter(|entry| !is_answer(&entry.means));
        let n_phrases: usize = commands.map(|entry| entry.phrases.len()).sum();
        (n_phrases > PHRASES_AT_MOST)
            .then(|| format!("{n_phrases} phrases, at most {PHRASES_AT_MOST} can be told apart"))
    }

    fn fault_of(&self, phrase: &str) -> Option<&'static str> {
        if phrase.is_empty() || alike(phrase) != phrase {
            return Some("is not as words are compared");
        }
        if !phrase.chars().all(|sign| sign.is_alphabetic() || matches!(sign, ' ' | '\'')) {
            return Some("has signs that nobody says");
        }
        if !phrase.contains(' ') && syllables(phrase) < 3 {
            return Some("is one short word: two words or three syllables at least");
        }
        let is_number = self.number.as_ref().is_some_and(|scale| number(phrase, scale) != Err(NotANumber::NoNumber));
        is_number.then_some("is a number too")
    }

    fn phrases(&self) -> impl Iterator<Item = &str> {
        self.entries.iter().flat_map(|entry| entry.phrases.iter().map(String::as_str))
    }
}

/// About so many: groups of vowels, but for a silent e at the end.
fn syllables(word: &str) -> usize {
    let is_vowel = |sign: char| matches!(sign, 'a' | 'e' | 'i' | 'o' | 'u' | 'y');
    let word = word.strip_suffix('e').filter(|rest| !rest.ends_with(['l', 'e'])).unwrap_or(word);
    word.split(|sign| !is_vowel(sign)).filter(|vowels| !vowels.is_empty()).count()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

    use quantity::Unit;

    use super::*;

    fn vocabulary(phrases: &[&[&str]]) -> Vocabulary<usize> {
        let entry = |(means, phrases): (usize, &&[&str])| Entry {
            means,
            phrases: phrases.iter().map(|phrase| (*phrase).to_owned()).collect(),
        };
        let neck = Scale::new("0.25".parse().unwrap(), Decimal::ZERO, Decimal::from(9), Unit::parse("%").unwrap());
        Vocabulary { entries: phrases.iter().enumerate().map(entry).collect(), number: neck.ok() }
    }

    #[test]
    fn a_phrase_counts_exactly_and_else_a_number_if_one_is_asked() {
        let mut words = vocabulary(&[&["next step", "carry on"], &["say again"]]);
        assert_eq!(words.hear("next step"), Heard::Phrase(0));
        assert_eq!(words.hear("carry on"), Heard::Phrase(0));
        assert_eq!(words.hear("say again"), Heard::Phrase(1));
        assert_eq!(words.hear("five and a quarter"), Heard::Number("5.25".parse().unwrap()));
        let why = NotANumber::NotAMark("graduated in 0.25 %: 5.25 or 5.50?".to_owned());
        assert_eq!(words.hear("five point three"), Heard::NotTaken(why));
        for near in ["next steps", "next", "step next", "the next step", "next step next step", "", "carry on five"] {
            assert_eq!(words.hear(near), Heard::NotUnderstood, "{near:?}");
        }
        words.number = None;
        assert_eq!(words.hear("five and a quarter"), Heard::NotUnderstood);
    }

    #[test]
    fn the_list_has_a_phrase_a_line_and_the_instrument_at_its_end() {
        let mut words = vocabulary(&[&["next step", "carry on"], &["say again"]]);
        assert_eq!(words.list(), "next step\ncarry on\nsay again\n<number> 0 9 0.25 %\n");
        words.number = words.number.map(|scale| Scale { unit: Unit::NONE, ..scale });
        assert!(words.list().ends_with("\n<number> 0 9 0.25\n"));
        words.number = None;
        assert_eq!(words.list(), "next step\ncarry on\nsay again\n");
    }

    #[test]
    fn words_that_could_be_mistaken_are_a_fault() {
        for (phrases, fault) in [
            (&[&["next step"][..], &["say again", "affirmative"]][..], None),
            (&[&["next step"][..], &["say again", "next step"]][..], Some("\"next step\" is there twice")),
            (&[&["next"][..]][..], Some("\"next\" is one short word: two words or three syllables at least")),
            (&[&["repeat"][..]][..], Some("\"repeat\" is one short word: two words or three syllables at least")),
            (&[&["Next step"][..]][..], Some("\"Next step\" is not as words are compared")),
            (&[&[""][..]][..], Some("\"\" is not as words are compared")),
            (&[&["step 2"][..]][..], Some("\"step 2\" has signs that nobody says")),
            (&[&["five and a quarter"][..]][..], Some("\"five and a quarter\" is a number too")),
            (&[&["ninety nine"][..]][..], Some("\"ninety nine\" is a number too")),
        ] {
            assert_eq!(vocabulary(phrases).fault().as_deref(), fault);
        }
        let many: Vec<String> = ('a'..='m').map(|letter| format!("do {letter}")).collect();
        let many: Vec<[&str; 1]> = many.iter().map(|phrase| [phrase.as_str()]).collect();
        let many: Vec<&[&str]> = many.iter().map(|phrases| &phrases[..]).collect();
        let words = vocabulary(&many);
        assert_eq!(words.fault().unwrap(), "13 phrases, at most 12 can be told apart");
        assert_eq!(words.fault_but(|means| *means == 0), None, "an answer is not counted");
    }

    #[test]
    fn syllables_are_about_right() {
        for (word, n) in [("next", 1), ("time", 1), ("repeat", 2), ("negative", 3), ("affirmative", 4), ("example", 3)]
        {
            assert_eq!(syllables(word), n, "{word}");
        }
    }
}
