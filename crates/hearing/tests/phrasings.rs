//! Lists of phrasings: what must be understood, and what must not be taken.
//!
//! `accepted.tsv` and `refused.tsv` were written by hand, nearly all before the parser; `reference.tsv` holds the wording of two
//! outside libraries (its head names them and their versions).

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

mod support;

use hearing::NotANumber;
use hearing::number::number;
use hearing::words::alike;
use support::{Phrasing, phrasings};

fn heard(phrasing: &Phrasing) -> Result<String, NotANumber> {
    number(&alike(&phrasing.said), &phrasing.scale).map(|mark| mark.to_string())
}

fn all_are_right(list: &str, at_least: usize) {
    let list = phrasings(list);
    assert!(list.len() >= at_least, "{} phrasings", list.len());
    let wrong: Vec<String> = list
        .iter()
        .filter(|phrasing| heard(phrasing).as_ref() != Ok(&phrasing.right))
        .map(|phrasing| {
            format!("{}: {:?}: {:?}, not {}", phrasing.name, phrasing.said, heard(phrasing), phrasing.right)
        })
        .collect();
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), list.len(), wrong.join("\n"));
}

#[test]
fn what_the_trade_says_is_understood() {
    all_are_right(include_str!("data/accepted.tsv"), 400);
}

#[test]
fn what_outside_libraries_say_is_understood() {
    all_are_right(include_str!("data/reference.tsv"), 300);
}

#[test]
fn what_is_malformed_ambiguous_or_no_mark_is_refused_for_the_right_reason() {
    let list = phrasings(include_str!("data/refused.tsv"));
    assert!(list.len() >= 400, "{} phrasings", list.len());
    let mut wrong = Vec::new();
    for phrasing in &list {
        let heard = heard(phrasing);
        let kind = match &heard {
            Ok(mark) => mark,
            Err(NotANumber::NoNumber) => "nothing",
            Err(NotANumber::Ambiguous(_)) => "ambiguous",
            Err(NotANumber::NotAMark(_)) => "mark",
        };
        if kind != phrasing.right {
            wrong.push(format!("{}: {:?}: {heard:?}, not {}", phrasing.name, phrasing.said, phrasing.right));
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), list.len(), wrong.join("\n"));
}

#[test]
fn a_refusal_says_what_the_instrument_says() {
    for (name, said, why) in [
        ("neck", "five point eight", "graduated in 0.25 %: 5.75 or 6.00?"),
        ("neck", "twelve", "12 % is off the scale, which runs from 0.00 to 9.00 %"),
        ("neck", "five seventy three", "graduated in 0.25 %: 5.50 or 5.75?"),
        ("neck", "five inches", "it is read in %, not in inches"),
        ("count", "three inches", "a number without a unit is asked, not one in inches"),
        ("balance", "one forty five", "it could be 145.00 lb or 1.45 lb"),
        ("slump", "two and a third", "graduated in 0.25 in: 2.25 or 2.50?"),
        ("neck", "two no three", "that is no number"),
    ] {
        assert_eq!(number(&alike(said), &support::scale(name)).unwrap_err().to_string(), why, "{said}");
    }
}
