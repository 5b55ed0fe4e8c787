//! Any words at all: no panic, and never a value that a second, slow reading does not give.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

#[path = "support/slow.rs"]
mod slow;
#[path = "support/mod.rs"]
mod support;

use std::sync::LazyLock;

use hearing::line;
use hearing::number::number;
use hearing::words::alike;
use hearing::{NotANumber, Utterance};
use proptest::prelude::*;
use quantity::{Exact, Scale};
use slow::Slow;

static SLOW: LazyLock<Slow> = LazyLock::new(Slow::new);
static SCALES: LazyLock<Vec<(String, Scale)>> = LazyLock::new(support::scales);

/// Words of numbers alone, and pieces of numbers, so that long numbers come up too.
const PIECES: [&str; 78] = [
    "zero",
    "oh",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "niner",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fifteen",
    "nineteen",
    "twenty",
    "thirty",
    "forty",
    "fifty",
    "seventy",
    "ninety",
    "hundred",
    "thousand",
    "point",
    "point",
    "point",
    "and",
    "and",
    "a",
    "an",
    "half",
    "quarter",
    "quarters",
    "eighth",
    "eighths",
    "third",
    "thirds",
    "fifths",
    "tenth",
    "tenths",
    "sixteenths",
    "hundredths",
    "thousandths",
    "halves",
    "fourths",
    "a quarter",
    "a half",
    "three quarters",
    "and a half",
    "and three quarters",
    "five eighths",
    "an eighth",
    "two thousand",
    "one thousand",
    "three hundred",
    "one hundred",
    "two hundred and",
    "twenty three",
    "forty five",
    "seventy two",
    "five seventy five",
    "one forty five",
    "point two five",
    "point seventy five",
    "point five",
    "point oh five",
    "twenty five",
    "thirty six",
    "fourteen",
    "sixty",
    "eighty",
    "sixteen",
    "one four five",
    "twenty three forty",
    "two three",
];
/// What else may stand in a line.
const OTHERS: [&str; 38] = [
    "to",
    "too",
    "for",
    "ate",
    "won",
    "o",
    "minus",
    "negative",
    "plus",
    "below zero",
    "percent",
    "inches",
    "inch",
    "in",
    "of an inch",
    "half an inch",
    "pounds",
    "degrees",
    "degrees c",
    "f",
    "psi",
    "pounds per cubic foot",
    "of a",
    "of",
    "5",
    "2 3/4",
    "3/4",
    "1/0",
    "145.2",
    ",5",
    "-5",
    "5-",
    "1e5",
    "no",
    "…",
    "-",
    "%",
    "next step",
];

fn said(pieces: &'static [&'static str], at_most: usize) -> impl Strategy<Value = String> {
    prop::collection::vec(prop::sample::select(pieces), 1..=at_most).prop_map(|pieces| pieces.join(" "))
}

fn is_a_mark(value: &Exact, scale: &Scale) -> bool {
    let on_scale = *value >= Exact::from(scale.min) && *value <= Exact::from(scale.max);
    on_scale && value.checked_div(&Exact::from(scale.step)).unwrap().decimal_places() == Some(0)
}

fn agrees(words: &str, scale: &Scale) {
    let slow = SLOW.marks(words, scale);
    let quick = number(words, scale);
    match (slow.as_slice(), &quick) {
        ([mark], Ok(value)) if Exact::from(value) == *mark => {}
        ([], Err(NotANumber::NoNumber | NotANumber::NotAMark(_))) => {}
        ([_, _, ..], Err(NotANumber::Ambiguous(marks))) if marks.len() == slow.len() => {}
        _ => panic!("{words:?}: {quick:?}, slowly {slow:?}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_second_slow_reading_agrees_on_all_words_of_numbers(words in said(&PIECES, 5), minus in any::<bool>(), n in 0..33_usize) {
        let words = if minus { format!("minus {words}") } else { words };
        agrees(&words, &SCALES[n].1);
    }

    #[test]
    fn a_value_is_always_a_mark(numbers in said(&PIECES, 3), others in said(&OTHERS, 2), order in any::<bool>(), n in 0..33_usize) {
        let words = if order { format!("{numbers} {others}") } else { format!("{others} {numbers}") };
        let scale = &SCALES[n].1;
        if let Ok(value) = number(&words, scale) {
            prop_assert!(is_a_mark(&Exact::from(value), scale), "{words:?}: {value}");
        }
    }

    #[test]
    fn no_bytes_make_a_line_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = line::read(&bytes);
    }

    #[test]
    fn no_text_makes_anything_panic_and_what_is_read_is_clean(text in "(conf=|src=|ago=|mic|0\\.5|7| |\\PC|[0-9.,/%°'\"-]){0,40}") {
        let once = alike(&text);
        prop_assert_eq!(alike(&once), once.clone(), "made alike twice: {:?}", text);
        let _ = number(&once, &SCALES[0].1);
        if let Ok(Utterance { words, verbatim, .. }) = line::read(text.as_bytes()) {
            prop_assert!(!verbatim.is_empty() && verbatim.len() <= line::WORDS_AT_MOST);
            prop_assert!(words.chars().all(|sign| !sign.is_control()), "{:?}", words);
            prop_assert_eq!(words.to_lowercase(), words);
        }
    }
}

#[test]
fn every_two_and_many_three_words_of_numbers_are_read_as_the_slow_reading_does() {
    let words: Vec<&str> = PIECES[..48].iter().copied().filter(|word| *word != "niner").collect();
    for first in &words {
        for second in &words {
            for (_, scale) in SCALES.iter().step_by(4) {
                agrees(&format!("{first} {second}"), scale);
            }
        }
    }
    let scales = ["slump", "alcohol"].map(support::scale);
    for first in ["two", "twenty", "point"] {
        for second in &words {
            for third in &words {
                agrees(&format!("{first} {second} {third}"), &scales[0]);
                agrees(&format!("{first} {second} {third}"), &scales[1]);
            }
        }
    }
}

#[test]
fn the_longest_line_of_numbers_takes_no_time_to_speak_of() {
    for word in ["one ", "twenty one ", "and ", "point ", "a hundred and ", "half ", "5 ", "one and a half "] {
        let words = word.repeat(line::WORDS_AT_MOST / word.len());
        for (_, scale) in SCALES.iter() {
            assert!(number(words.trim(), scale).is_err(), "{words}");
        }
    }
}
