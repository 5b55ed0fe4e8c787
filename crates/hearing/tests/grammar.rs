//! The published grammar: every sentence of it is understood as the mark it names, or refused, and every mark is in it.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

#[path = "support/jsgf.rs"]
mod jsgf;
#[path = "support/slow.rs"]
mod slow;
#[path = "support/mod.rs"]
mod support;

use hearing::number::number;
use hearing::vocabulary::{Entry, Heard, Vocabulary};
use hearing::words::alike;
use jsgf::Grammar;
use quantity::{Decimal, Exact, Scale};
use slow::Slow;

fn asked(scale: &Scale) -> Vocabulary<()> {
    let entry = Entry { means: (), phrases: vec!["say again".to_owned(), "that's wrong".to_owned()] };
    Vocabulary { entries: vec![entry], number: Some(scale.clone()) }
}

/// The words without the unit at their end.
fn without_unit(words: &str, scale: &Scale) -> String {
    let units: &[&str] = match scale.unit.symbol().as_str() {
        "%" => &["percent"],
        "in" => &["inches", "inch"],
        "mm" => &["millimeters", "millimeter"],
        "lb" => &["pounds", "pound"],
        "kg" => &["kilograms", "kilogram"],
        "pt" => &["pints", "pint"],
        "L" => &["liters", "liter"],
        "gal" => &["gallons", "gallon"],
        "°F" => &["degrees fahrenheit", "degrees"],
        "°C" => &["degrees celsius", "degrees"],
        "psi" => &["pounds per square inch", "pound per square inch"],
        "ft³" => &["cubic feet", "cubic foot"],
        "yd³" => &["cubic yards", "cubic yard"],
        "lb/ft³" => &["pounds per cubic foot", "pounds a cubic foot"],
        "kg/m³" => &["kilograms per cubic meter", "kilograms a cubic meter"],
        "mi/h" => &["miles per hour", "miles an hour"],
        _ => &[],
    };
    let amount = units.iter().find_map(|unit| words.strip_suffix(unit)).unwrap_or(words).trim();
    // "three quarters of an (inch)", "half a (pint)"
    let amount = ["of a", "of an"].iter().find_map(|of| amount.strip_suffix(of)).unwrap_or(amount).trim();
    if ["half a", "half an"].contains(&amount) { "half".to_owned() } else { amount.to_owned() }
}

#[test]
fn every_sentence_is_the_mark_it_names_or_refused() {
    let slow = Slow::new();
    for (name, scale) in support::scales() {
        let words = asked(&scale);
        let grammar = Grammar::read(&words.jsgf());
        let (mut n_taken, mut n_refused) = (0, 0);
        for sentence in grammar.sentences("line", 4_000) {
            if words.hear(&sentence) == Heard::Phrase(()) {
                continue;
            }
            let marks = slow.marks(&without_unit(&sentence, &scale), &scale);
            match number(&sentence, &scale) {
                Ok(value) => {
                    assert_eq!(marks, [Exact::from(value)], "{name}: {sentence:?}");
                    n_taken += 1;
                }
                Err(why) => {
                    assert_ne!(marks.len(), 1, "{name}: {sentence:?}: {why}");
                    n_refused += 1;
                }
            }
        }
        // Wider than the marks only where a narrow rule would be long.
        assert!(n_taken > 0 && n_refused < n_taken, "{name}: {n_taken} taken, {n_refused} refused");
    }
}

#[test]
fn every_mark_can_be_said() {
    for (name, scale) in support::scales() {
        let grammar = Grammar::read(&asked(&scale).jsgf());
        let mut mark = scale.min;
        let n_marks = u64::try_from((scale.max - scale.min) / scale.step).unwrap();
        let stride = Decimal::from(n_marks / 700 + 1);
        while mark <= scale.max {
            let shown = mark.abs().normalize().to_string();
            let (whole, decimals) = shown.split_once('.').unwrap_or((&shown, ""));
            let mut said = number_words(whole.parse().unwrap());
            if !decimals.is_empty() {
                said.push_str(" point");
                for digit in decimals.bytes() {
                    said.push(' ');
                    said.push_str(&number_words(u64::from(digit - b'0')));
                }
            }
            if mark.is_sign_negative() && !mark.is_zero() {
                said.insert_str(0, "minus ");
            }
            assert!(grammar.matches("number", &said), "{name}: {said}");
            assert_eq!(number(&said, &scale).map(|value| value.normalize()), Ok(mark.normalize()), "{name}: {said}");
            mark += scale.step * stride;
        }
    }
}

/// A whole number in words, plainly.
fn number_words(n: u64) -> String {
    const SMALL: [&str; 20] = [
        "zero",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
    ];
    const TENS: [&str; 8] = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
    let at = |n: u64| usize::try_from(n).unwrap();
    let (first, rest) = match n {
        ..20 => return SMALL[at(n)].to_owned(),
        20..100 => (TENS[at(n / 10 - 2)].to_owned(), n % 10),
        100..1000 => (format!("{} hundred", SMALL[at(n / 100)]), n % 100),
        _ => (format!("{} thousand", number_words(n / 1000)), n % 1000),
    };
    if rest == 0 { first } else { format!("{first} {}", number_words(rest)) }
}

#[test]
fn what_outside_libraries_say_is_in_the_grammar() {
    let mut missing = Vec::new();
    let list = support::phrasings(include_str!("data/reference.tsv"));
    let grammars: Vec<(String, Grammar)> =
        support::scales().iter().map(|(name, scale)| (name.clone(), Grammar::read(&asked(scale).jsgf()))).collect();
    for phrasing in &list {
        let words = alike(&phrasing.said);
        // Tenths and the fractions of fine balances are understood, but not published; nor are other spellings of units.
        let is_left_out =
            words.contains("tenth") || words.contains("half") || words.contains("quarter") || words.contains("eighth");
        let grammar = &grammars.iter().find(|(name, _)| *name == phrasing.name).unwrap().1;
        let is_european =
            words.ends_with("res") || words.ends_with("psi") || words.ends_with("re") || words.ends_with("pascals");
        if !grammar.matches("number", &words) && !is_left_out && !is_european {
            missing.push(format!("{}: {words}", phrasing.name));
        }
    }
    assert!(missing.is_empty(), "{} of {}:\n{}", missing.len(), list.len(), missing.join("\n"));
}

#[test]
fn halves_and_quarters_are_published_where_they_are_marks() {
    for (name, said, is_in) in [
        ("slump", "two and three quarters inches", true),
        ("slump", "a half", true),
        ("slump", "half an inch", true),
        ("slump", "three quarters of an inch", true),
        ("alcohol", "half a pint", true),
        ("neck", "a quarter of a percent", true),
        ("slump", "two and five eighths", false),
        ("aggregate", "two and five eighths", true),
        ("aggregate mm", "nine and a half", true),
        ("aggregate mm", "nine and a quarter", false),
        ("count", "two and a half", false),
        ("thermometer C", "minus two and a half", true),
        ("neck", "twelve", false),
        ("neck", "two percent", true),
        ("neck", "two inches", false),
        ("slump mm", "one forty five", true),
        ("slump mm", "one forty six", false),
        ("slump mm", "three oh five", false),
        ("balance", "one forty five", false),
        ("density", "one four five point two", true),
    ] {
        assert_eq!(
            Grammar::read(&asked(&support::scale(name)).jsgf()).matches("number", said),
            is_in,
            "{name}: {said}"
        );
    }
}

#[test]
fn the_file_holds_words_only_and_stays_short() {
    for (name, scale) in support::scales() {
        let text = asked(&scale).jsgf();
        let (head, rules) = text.split_once("public").unwrap();
        assert_eq!(head, "#JSGF V1.0;\ngrammar valid;\n");
        assert!(
            !rules.contains(|sign: char| sign.is_ascii_digit() || sign.is_uppercase() || !sign.is_ascii()),
            "{name}:\n{text}"
        );
        assert!(text.len() < 12_000, "{name}: {} bytes", text.len());
    }
}

#[test]
fn without_a_number_there_are_the_phrases_and_without_phrases_nothing() {
    let mut words = Vocabulary { number: None, ..asked(&support::scale("neck")) };
    assert_eq!(
        words.jsgf(),
        "#JSGF V1.0;\ngrammar valid;\npublic <line> = <phrase>;\n<phrase> = say again | that's wrong;\n"
    );
    words.entries.clear();
    assert_eq!(words.jsgf(), "#JSGF V1.0;\ngrammar valid;\npublic <line> = <VOID>;\n");
}
