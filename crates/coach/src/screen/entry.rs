//! What a person is typing: words, a number on an instrument's marks, a count, an answer.
//!
//! Here: the text so far, stepping from mark to mark, and the first moment of typing. Not here: whether the procedure
//! takes the answer; the engine judges that.
//!
//! **Invariant:** a number is never moved to a mark by itself: between two marks the person picks one.

use engine::Tick;
use procedure::{ReadingId, ReadingKind, StepId};
use quantity::{Decimal, Exact, NotAReading, Scale};

/// Words at most; longer ones would be cut on the record.
const WORDS_AT_MOST: usize = 400;
/// Characters of a number at most.
const NUMBER_AT_MOST: usize = 40;
/// Digits of a count at most.
const COUNT_AT_MOST: usize = 4;

/// A line of text that is typed at its end.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Field {
    /// The text so far.
    pub text: String,
    n_chars: usize,
}

impl Field {
    /// A field with a text in it.
    pub fn with(text: &str) -> Self {
        let mut field = Self::default();
        field.paste(text);
        field
    }

    /// Types one character; false if there is no room or it cannot be shown.
    pub fn push(&mut self, sign: char) -> bool {
        let fits = self.n_chars < WORDS_AT_MOST && !sign.is_control();
        if fits {
            self.text.push(sign);
            self.n_chars += 1;
        }
        fits
    }

    /// Types a whole text; line breaks become spaces, what does not fit is left out.
    pub fn paste(&mut self, text: &str) {
        for sign in text.chars().map(|sign| if sign == '\n' || sign == '\r' { ' ' } else { sign }) {
            if self.n_chars >= WORDS_AT_MOST {
                break;
            }
            self.push(sign);
        }
    }

    /// Takes the last character back; false if there is none.
    pub fn backspace(&mut self) -> bool {
        let had_one = self.text.pop().is_some();
        self.n_chars = self.n_chars.saturating_sub(usize::from(had_one));
        had_one
    }

    /// Empties it.
    pub fn clear(&mut self) {
        self.text.clear();
        self.n_chars = 0;
    }

    /// True if nothing but spaces stands in it.
    pub fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

/// A number being typed or stepped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NumberEntry {
    /// The marks of the instrument.
    pub scale: Scale,
    /// The text so far.
    pub text: String,
    /// Where stepping starts.
    base: Decimal,
    /// Whether `base` is a reading taken before, so that the first step goes on from it.
    base_is_reading: bool,
    /// True if the text came from stepping: it stands on a mark, and a digit begins anew.
    stepped: bool,
    /// True after a refusal: a digit begins anew.
    refused: bool,
}

/// What the text of a number says so far.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Typed {
    /// Nothing yet.
    Nothing,
    /// The beginning of a number, such as `5.` or `2 3/`.
    Unfinished,
    /// A mark of the instrument.
    Mark(Decimal),
    /// No reading of this instrument, and why.
    Not(NotAReading),
}

impl NumberEntry {
    /// An empty entry; stepping goes on from `last`, or starts at the middle mark (the lowest if `from_min`).
    pub fn new(scale: &Scale, last: Option<Decimal>, from_min: bool) -> Self {
        let middle = || {
            let two = Exact::from_int(2);
            let sum = Exact::from(scale.min) + Exact::from(scale.max);
            let half = sum.checked_div(&two).and_then(|half| half.to_decimal()).unwrap_or(scale.min);
            // From one mark up and down again: the nearest mark that is not above the middle.
            scale.down(&scale.up(&half))
        };
        let base = last.unwrap_or_else(|| if from_min { scale.min } else { middle() });
        Self {
            scale: scale.clone(),
            text: String::new(),
            base,
            base_is_reading: last.is_some(),
            stepped: false,
            refused: false,
        }
    }

    /// Whether fractions are typed on this instrument: a balance marked in whole units has none.
    fn takes_fractions(&self) -> bool {
        self.scale.step < Decimal::ONE
    }

    fn is_whole_digits(&self) -> bool {
        !self.stepped && !self.refused && !self.text.is_empty() && self.text.bytes().all(|b| b.is_ascii_digit())
    }

    /// Whether a space typed now begins a fraction, as in `2 3/4`.
    pub fn space_begins_fraction(&self) -> bool {
        self.takes_fractions() && self.is_whole_digits()
    }

    /// Whether a hyphen typed now belongs to the number: `2-3/4`, or a reading below zero.
    pub fn hyphen_is_text(&self) -> bool {
        let below_zero = self.scale.min < Decimal::ZERO && (self.text.is_empty() || self.refused || self.stepped);
        below_zero || self.space_begins_fraction()
    }

    /// Whether this sign can stand in a number.
    pub fn takes(sign: char) -> bool {
        sign.is_ascii_digit() || matches!(sign, '.' | ',' | '/' | '¼' | '½' | '¾' | '⅛' | '⅜' | '⅝' | '⅞')
    }

    /// Types one sign of a number; false if there is no room for it.
    pub fn push(&mut self, sign: char) -> bool {
        if self.stepped || self.refused {
            self.text.clear();
        }
        self.stepped = false;
        self.refused = false;
        let fits = self.text.chars().count() < NUMBER_AT_MOST;
        if fits {
            self.text.push(sign);
        }
        fits
    }

    /// Takes the last sign back; false if there is none.
    pub fn backspace(&mut self) -> bool {
        self.stepped = false;
        self.refused = false;
        self.text.pop().is_some()
    }

    /// Empties it.
    pub fn clear(&mut self) {
        self.text.clear();
        self.stepped = false;
        self.refused = false;
    }

    /// Goes to the next mark.
    pub fn step(&mut self, is_up: bool) {
        let mut from = quantity::parse_typed(&self.text).ok().and_then(|typed| typed.to_decimal());
        if self.text.is_empty() && !self.base_is_reading {
            self.set(self.base);
            return;
        }
        let from = *from.get_or_insert(self.base);
        self.set(if is_up { self.scale.up(&from) } else { self.scale.down(&from) });
    }

    fn set(&mut self, mark: Decimal) {
        let mut mark = mark;
        mark.rescale(self.scale.places());
        self.text = mark.to_string();
        self.stepped = true;
        self.refused = false;
    }

    /// Takes one of the two marks beside what was typed; false if it stands on none or is no number.
    pub fn pick(&mut self, above: bool) -> bool {
        let Typed::Not(NotAReading::BetweenMarks { below, above: upper, .. }) = self.typed() else { return false };
        let Some(mark) = (if above { upper.or(below) } else { below.or(upper) }) else { return false };
        self.set(mark);
        true
    }

    /// Whether it was refused, and nothing has been typed since.
    pub fn is_refused(&self) -> bool {
        self.refused
    }

    /// The refusal is over with the next digit.
    pub fn mark_refused(&mut self) {
        self.refused = true;
    }

    /// What the text says so far.
    pub fn typed(&self) -> Typed {
        let text = self.text.trim();
        if text.is_empty() {
            return Typed::Nothing;
        }
        match self.scale.read(text) {
            Ok(mark) => Typed::Mark(mark),
            Err(NotAReading::Unreadable(_)) if text.ends_with(['.', ',', '/', '-']) => Typed::Unfinished,
            Err(NotAReading::Unreadable(_)) if self.is_fraction_begun(text) => Typed::Unfinished,
            Err(refused) => Typed::Not(refused),
        }
    }

    /// `2 3` and `2-3` may become `2 3/4`.
    fn is_fraction_begun(&self, text: &str) -> bool {
        let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
        self.takes_fractions()
            && text.split_once([' ', '-']).is_some_and(|(whole, numerator)| digits(whole) && digits(numerator))
    }

    /// The reading, or why there is none. A point or comma at the end says nothing and is left out.
    ///
    /// # Errors
    ///
    /// [`NotAReading`] if the text is no number, off the scale or between two marks.
    pub fn read(&self) -> Result<Decimal, NotAReading> {
        self.scale.read(self.text.trim().trim_end_matches(['.', ',']))
    }
}

/// A name, a ticket, a remark of the procedure, with those used before.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WordsEntry {
    /// The text so far.
    pub field: Field,
    /// The words used before that is marked, counted among those that match.
    pub marked: Option<usize>,
}

impl WordsEntry {
    /// The words used before that begin like what was typed.
    pub fn matching<'a>(&'a self, used: &'a [String]) -> impl Iterator<Item = &'a str> + 'a {
        let typed = self.field.text.trim_start();
        used.iter().map(String::as_str).filter(move |words| {
            *words != typed && words.get(..typed.len()).is_some_and(|start| start.eq_ignore_ascii_case(typed))
        })
    }

    /// Takes the marked words, or the first that match; false if there are none.
    pub fn complete(&mut self, used: &[String]) -> bool {
        let Some(words) = self.matching(used).nth(self.marked.unwrap_or(0)).map(str::to_owned) else { return false };
        self.field = Field::with(&words);
        self.marked = None;
        true
    }

    /// Marks the next or the previous of the words that match.
    pub fn mark(&mut self, used: &[String], down: bool) {
        let n = self.matching(used).count();
        self.marked = match (self.marked, down) {
            _ if n == 0 => None,
            (None, true) => Some(0),
            (None, false) => None,
            (Some(at), true) => Some((at + 1).min(n - 1)),
            (Some(at), false) => at.checked_sub(1),
        };
    }
}

/// What the open step asks to be typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Entry {
    /// Nothing.
    #[default]
    Nothing,
    /// A number on an instrument's marks.
    Number(NumberEntry),
    /// Words.
    Words(WordsEntry),
    /// One of the answers shown; the one marked with the arrows.
    Choice(Option<usize>),
    /// A number of strokes or taps.
    Count(Field),
}

/// What an entry is for; another entry begins when this changes.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// The open step.
    pub step: StepId,
    /// The reading, if one is asked.
    pub reading: Option<ReadingId>,
    /// How many readings were on record when it was asked.
    pub n_taken: usize,
    /// When the step was opened.
    pub opened: Tick,
}

impl Entry {
    /// An empty entry for a kind of reading.
    pub fn for_kind(kind: &ReadingKind, last: Option<Decimal>, from_min: bool) -> Entry {
        match kind {
            ReadingKind::Number(scale) => Entry::Number(NumberEntry::new(scale, last, from_min)),
            ReadingKind::Words => Entry::Words(WordsEntry::default()),
            ReadingKind::Choice(_) => Entry::Choice(None),
            ReadingKind::Tally { .. } => Entry::Nothing,
        }
    }

    /// True if the person has typed, stepped or marked something.
    pub fn is_begun(&self) -> bool {
        match self {
            Entry::Nothing => false,
            Entry::Number(number) => !number.text.is_empty(),
            Entry::Words(words) => !words.field.text.is_empty() || words.marked.is_some(),
            Entry::Choice(marked) => marked.is_some(),
            Entry::Count(field) => !field.text.is_empty(),
        }
    }

    /// Empties it.
    pub fn clear(&mut self) {
        match self {
            Entry::Nothing => {}
            Entry::Number(number) => number.clear(),
            Entry::Words(words) => *words = WordsEntry::default(),
            Entry::Choice(marked) => *marked = None,
            Entry::Count(field) => field.clear(),
        }
    }

    /// Takes the last sign back; false if there is none.
    pub fn backspace(&mut self) -> bool {
        match self {
            Entry::Number(number) => number.backspace(),
            Entry::Words(words) => {
                words.marked = None;
                words.field.backspace()
            }
            Entry::Count(field) => field.backspace(),
            Entry::Nothing | Entry::Choice(_) => false,
        }
    }

    /// Types a digit of a count; false if it is none.
    pub fn push_count(field: &mut Field, sign: char) -> bool {
        sign.is_ascii_digit() && field.n_chars < COUNT_AT_MOST && field.push(sign)
    }

    /// Types a whole text, as far as it can stand here.
    pub fn paste(&mut self, text: &str) {
        match self {
            Entry::Number(number) => {
                for sign in text.trim().chars().take(NUMBER_AT_MOST) {
                    if NumberEntry::takes(sign) || sign == ' ' || sign == '-' {
                        number.push(sign);
                    }
                }
            }
            Entry::Words(words) => {
                words.marked = None;
                words.field.paste(text);
            }
            Entry::Count(field) => {
                for sign in text.trim().chars().take(COUNT_AT_MOST) {
                    Self::push_count(field, sign);
                }
            }
            Entry::Nothing | Entry::Choice(_) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Unit;

    fn neck() -> NumberEntry {
        let scale = Scale::new(Decimal::new(25, 2), Decimal::ZERO, Decimal::from(9), Unit::parse("%").unwrap());
        NumberEntry::new(&scale.unwrap(), None, false)
    }

    fn typing(text: &str) -> NumberEntry {
        let mut number = neck();
        for sign in text.chars() {
            assert!(number.push(sign));
        }
        number
    }

    #[test]
    fn a_number_is_judged_while_it_is_typed() {
        for (text, said) in [
            ("", "nothing"),
            ("5", "5.00"),
            ("5.", "unfinished"),
            ("5.7", "graduated in 0.25 %: 5.50 or 5.75?"),
            ("5.75", "5.75"),
            ("2 ", "2.00"),
            ("2 3", "unfinished"),
            ("2-3", "unfinished"),
            ("2-3/", "unfinished"),
            ("2-3/4", "2.75"),
            ("12", "12 % is off the scale, which runs from 0.00 to 9.00 %"),
        ] {
            let typed = match typing(text).typed() {
                Typed::Nothing => "nothing".to_owned(),
                Typed::Unfinished => "unfinished".to_owned(),
                Typed::Mark(mark) => mark.to_string(),
                Typed::Not(refused) => refused.to_string(),
            };
            assert_eq!(typed, said, "typed {text:?}");
        }
        assert_eq!(typing("5.").read().unwrap(), Decimal::new(500, 2), "a point at the end says nothing");
    }

    #[test]
    fn stepping_starts_in_the_middle_or_goes_on_from_the_last_reading() {
        let mut number = neck();
        number.step(true);
        assert_eq!(number.text, "4.50");
        number.step(true);
        assert_eq!(number.text, "4.75");
        number.push('6');
        assert_eq!(number.text, "6", "a digit after stepping begins anew");
        let mut again = NumberEntry::new(&number.scale, Some(Decimal::new(575, 2)), false);
        again.step(false);
        assert_eq!(again.text, "5.50");
        let mut foam = NumberEntry::new(&number.scale, None, true);
        foam.step(true);
        assert_eq!(foam.text, "0.00");
    }

    #[test]
    fn between_two_marks_the_person_picks_one() {
        for (above, mark) in [(false, "2.75"), (true, "3.00")] {
            let mut number = typing("2.8");
            assert!(number.pick(above));
            assert_eq!(number.text, mark);
        }
        assert!(!typing("2.75").pick(true));
    }

    #[test]
    fn a_hyphen_after_whole_digits_begins_a_fraction_and_steps_otherwise() {
        assert!(typing("2").hyphen_is_text());
        assert!(!typing("2.5").hyphen_is_text());
        assert!(!neck().hyphen_is_text());
        let mut stepped = neck();
        stepped.step(true);
        assert!(!stepped.hyphen_is_text());
    }

    #[test]
    fn words_used_before_complete_what_is_typed() {
        let used = ["Mara Lind".to_owned(), "Marek".to_owned(), "Otto".to_owned()];
        let mut words = WordsEntry::default();
        words.field.paste("mar");
        assert_eq!(words.matching(&used).collect::<Vec<_>>(), ["Mara Lind", "Marek"]);
        words.mark(&used, true);
        words.mark(&used, true);
        assert!(words.complete(&used));
        assert_eq!(words.field.text, "Marek");
        assert!(!words.complete(&used), "nothing longer begins so");
    }

    #[test]
    fn a_paste_of_a_million_signs_is_cut() {
        let mut field = Field::default();
        field.paste(&"wet\n".repeat(1_000_000));
        assert_eq!(field.text.chars().count(), WORDS_AT_MOST);
        assert!(!field.text.contains('\n'));
    }
}
