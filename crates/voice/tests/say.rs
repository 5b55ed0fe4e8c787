//! What a voice says: numbers, units, times, and whole sentences of the screen.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test says what it expects by panicking")]

use proptest::prelude::*;
use quantity::{Span, Unit};
use voice::say::{Number, named, ordinal, reading, seconds, sentence, span, whole};

/// Made by another program; see the script beside it.
const NUMBERS: &str = include_str!("../reference/numbers.tsv");

/// The first sign that a voice would read in its own way: all but letters, spaces, marks of a sentence, and apostrophes
/// and hyphens between letters.
fn unspeakable(said: &str) -> Option<char> {
    let signs: Vec<char> = said.chars().collect();
    let is_letter = |at: usize| signs.get(at).is_some_and(|sign| sign.is_alphabetic());
    signs.iter().enumerate().find_map(|(at, sign)| {
        let is_sound = match sign {
            '\'' | '-' => at > 0 && is_letter(at - 1) && is_letter(at + 1),
            ' ' | ',' | '.' | '?' | '!' => true,
            sign => sign.is_alphabetic(),
        };
        (!is_sound).then_some(*sign)
    })
}

#[track_caller]
fn says(table: &[(&str, &str)]) {
    for (shown, said) in table {
        assert_eq!(sentence(shown), *said, "shown {shown:?}");
    }
}

#[test]
fn numbers_are_worded_as_another_program_words_them() {
    let mut seen = 0;
    for line in NUMBERS.lines() {
        let fields: Vec<&str> = line.split('\t').collect();
        let [kind, number, words] = fields[..] else { panic!("{line}") };
        let ours = match kind {
            "whole" => whole(number.parse().unwrap()),
            "ordinal" => ordinal(number.parse().unwrap()),
            _ => sentence(number),
        };
        assert_eq!(ours, words, "{kind} {number}");
        seen += 1;
    }
    assert!(seen >= 500, "{seen} numbers compared");
}

#[test]
fn spans_are_said_as_people_say_them() {
    for (shown, said) in [
        ("0 s", "zero seconds"),
        ("1 s", "one second"),
        ("45 s", "forty-five seconds"),
        ("1 min", "one minute"),
        ("2 min 30 s", "two minutes thirty"),
        ("1 min 5 s", "one minute five"),
        ("15 min", "fifteen minutes"),
        ("1 h", "one hour"),
        ("90 min", "one hour thirty minutes"),
        ("24 h", "twenty-four hours"),
        ("7 d", "seven days"),
        ("1 h 2 min 3 s", "one hour two minutes three seconds"),
        ("1.5 s", "one and a half seconds"),
        ("500 ms", "half a second"),
        ("1.25 s", "one point two five seconds"),
    ] {
        assert_eq!(span(shown.parse::<Span>().unwrap()), said, "{shown}");
    }
    assert_eq!((seconds(1).as_str(), seconds(10).as_str()), ("one second", "ten seconds"));
}

#[test]
fn a_reading_is_read_back_so_that_it_survives_noise() {
    for (shown, unit, said) in [
        ("2.75", "%", "two point seven five percent"),
        ("5.00", "%", "five point zero zero percent"),
        ("0.50", "%", "zero point five zero percent"),
        ("5.25 %", "%", "five point two five percent"),
        ("50", "%", "fifty, five zero percent"),
        ("15", "%", "fifteen, one five percent"),
        ("13.5", "°C", "thirteen point five, one three point five degrees Celsius"),
        ("20", "°C", "twenty degrees Celsius"),
        ("72", "°F", "seventy-two degrees Fahrenheit"),
        ("70", "°F", "seventy, seven zero degrees Fahrenheit"),
        ("72.5", "°F", "seventy-two point five degrees Fahrenheit"),
        ("1", "cup", "one cup"),
        ("1.0", "lb", "one point zero pounds"),
        ("145.2", "lb", "one four five point two pounds"),
        ("145.20", "lb", "one four five point two zero pounds"),
        ("145", "mm", "one hundred forty-five millimetres"),
        ("150", "mm", "one hundred fifty, one five zero millimetres"),
        ("115", "mm", "one hundred fifteen, one one five millimetres"),
        ("2,300", "kg/m³", "two thousand three hundred kilograms per cubic metre"),
        ("2350", "kg/m³", "two thousand three hundred fifty, two three five zero kilograms per cubic metre"),
        ("0.0752", "ft³", "zero point zero seven five two cubic feet"),
        ("-0.5", "%", "minus zero point five percent"),
        ("−4", "°C", "minus four degrees Celsius"),
        ("2.75", "in", "two and three quarter inches"),
        ("2.50", "in", "two and a half inches"),
        ("2.25 in", "in", "two and a quarter inches"),
        ("0.25", "in", "a quarter inch"),
        ("0.75", "in", "three quarters of an inch"),
        ("1.00", "in", "one inch"),
        ("1.50", "in", "one and a half inches"),
        ("4.00", "in", "four inches"),
        ("2.125", "in", "two and an eighth inches"),
        ("2.375", "in", "two and three eighths inches"),
        ("0.83", "in", "zero point eight three inches"),
        ("Whole: sunk evenly", "", "Whole, sunk evenly"),
    ] {
        assert_eq!(reading(shown, Unit::parse(unit).unwrap()), said, "{shown} in {unit:?}");
    }
}

#[test]
fn every_unit_has_words_in_the_singular_and_the_plural() {
    for symbol in Unit::all_symbols() {
        for number in [Number::One, Number::Many] {
            let said = named(symbol, number).expect(symbol);
            assert!(!said.is_empty() && unspeakable(&said).is_none(), "{symbol}: {said}");
        }
    }
    for (symbol, one, many) in [
        ("lb/ft³", "pound per cubic foot", "pounds per cubic foot"),
        ("lb/ft3", "pound per cubic foot", "pounds per cubic foot"),
        ("kg/m³", "kilogram per cubic metre", "kilograms per cubic metre"),
        ("yd³", "cubic yard", "cubic yards"),
        ("in²", "square inch", "square inches"),
        ("%/cup", "percent per cup", "percent per cup"),
        ("1/cup", "per cup", "per cup"),
        ("kg/m²/h", "kilogram per square metre per hour", "kilograms per square metre per hour"),
        ("fl oz/ft³", "fluid ounce per cubic foot", "fluid ounces per cubic foot"),
        ("", "", ""),
        ("min", "minute", "minutes"),
    ] {
        assert_eq!(named(symbol, Number::One).as_deref(), Some(one), "{symbol}");
        assert_eq!(named(symbol, Number::Many).as_deref(), Some(many), "{symbol}");
    }
    assert_eq!(named("bushel", Number::One), None);
}

#[test]
fn numbers_with_units_are_said_together() {
    says(&[
        ("Rod it 25 times", "Rod it twenty-five times"),
        ("1 inch, 1 in, 2 in", "one inch, one inch, two inches"),
        ("Layer 2 in the mould", "Layer two in the mould"),
        ("at least 5 in deep", "at least five inches deep"),
        ("145.2 lb/ft³", "one hundred forty-five point two pounds per cubic foot"),
        ("2400 kg/m³ of it", "two thousand four hundred kilograms per cubic metre of it"),
        ("12,000 psi.", "twelve thousand P S I."),
        ("5.25 %", "five point two five percent"),
        ("5.25%", "five point two five percent"),
        ("in %", "in percent"),
        ("Marked in mL?", "Marked in millilitres?"),
        ("40 °F", "forty degrees Fahrenheit"),
        ("within 0.5 °C", "within zero point five degrees Celsius"),
        ("1 °C", "one degree Celsius"),
        ("3 yd³", "three cubic yards"),
        ("20 fl oz of water", "twenty fluid ounces of water"),
        ("a 28-day strength", "a twenty-eight day strength"),
        ("2 × 2", "two by two"),
        ("100 × 200 mm", "one hundred by two hundred millimetres"),
        ("No. 4 sieve", "number four sieve"),
        ("the 1st and the 22nd", "the first and the twenty-second"),
        ("-5 °C", "minus five degrees Celsius"),
        ("> 2 %, ≥ 3 %, ≤ 4 %", "over two percent, at least three percent, at most four percent"),
        ("1, 2, 3 and 4.", "one, two, three and four."),
        ("1,2", "one, two"),
        ("0.075 ft³", "zero point zero seven five cubic feet"),
    ]);
}

#[test]
fn fractions_are_said_as_people_say_them() {
    says(&[
        ("1/4 in", "a quarter inch"),
        ("1/8 in", "an eighth inch"),
        ("3/8 in", "three eighths of an inch"),
        ("3/4 in", "three quarters of an inch"),
        ("1/2 pt", "a half pint"),
        ("1 1/2 in", "one and a half inches"),
        ("2 3/4 in", "two and three quarter inches"),
        ("1½ in", "one and a half inches"),
        ("½ full", "a half full"),
        ("1/3 of the height", "a third of the height"),
        ("to 1/4 in (5 mm)", "to a quarter inch, five millimetres"),
    ]);
}

#[test]
fn spans_ranges_and_tolerances_are_said_once() {
    says(&[
        ("3 s to 7 s", "three to seven seconds"),
        ("3-7 s", "three to seven seconds"),
        ("3–7 s", "three to seven seconds"),
        ("10 to 15 taps", "ten to fifteen taps"),
        ("5 ± 2 s", "five plus or minus two seconds"),
        ("23 °C ± 2 °C", "twenty-three plus or minus two degrees Celsius"),
        ("2 min 30 s", "two minutes thirty seconds"),
        ("45 s to 2 min", "forty-five seconds to two minutes"),
        ("1 1/2 in to 2 in", "one and a half to two inches"),
        ("2:30 left", "two minutes thirty left"),
        ("0:05", "five seconds"),
        ("1:02:03", "one hour two minutes three seconds"),
        ("at 14:05", "at fourteen oh five"),
        ("07:30", "seven thirty"),
        ("2026-05-14, 07:30", "May fourteenth, twenty twenty-six, seven thirty"),
        ("2005-01-02", "January second, two thousand five"),
    ]);
}

#[test]
fn names_are_said_digit_by_digit() {
    says(&[
        ("ASTM C173/C173M", "ASTM C one seven three, C one seven three M"),
        ("AASHTO T 121:2016", "AASHTO T one two one, twenty sixteen"),
        ("EN 12350-7", "EN one two three five zero dash seven"),
        ("EN 12350-7:2019", "EN one two three five zero dash seven, twenty nineteen"),
        ("Meter V-3", "Meter V three"),
        ("ticket 00412", "ticket zero zero four one two"),
        ("ticket 20460117", "ticket two zero four six zero one one seven"),
        ("309-05", "three hundred nine dash zero five"),
    ]);
}

#[test]
fn signs_become_pauses_or_words() {
    says(&[
        ("Whole: sunk evenly", "Whole, sunk evenly"),
        ("Press — now", "Press, now"),
        ("Look (twice), then go.", "Look, twice, then go."),
        ("“Fresh”, he said", "Fresh, he said"),
        ("the mould's rim", "the mould's rim"),
        ("wet-sieve it", "wet-sieve it"),
        ("and/or", "and or"),
        ("rod or vibrator/poker", "rod or vibrator or poker"),
        ("Ready?", "Ready?"),
        ("wait…", "wait"),
        ("a; b", "a, b"),
        ("x = y", "x equals y"),
        ("Humedezca el tazón", "Humedezca el tazón"),
        ("  two   spaces ", "two spaces"),
        ("", ""),
        ("—", ""),
        ("e.g. a mallet", "for example a mallet"),
    ]);
}

proptest! {
    /// Whatever stands on a screen, a voice can say it.
    #[test]
    fn no_digit_and_no_sign_is_left_of_anything(text in "\\PC{0,60}") {
        let said = sentence(&text);
        prop_assert_eq!(unspeakable(&said), None, "{:?} said {:?}", text, said);
        prop_assert_eq!(sentence(&said), said, "what can be said already is left as it is");
    }

    /// The same of what is nearly a sentence of the trade.
    #[test]
    fn no_digit_and_no_sign_is_left_of_numbers_with_units(
        pieces in prop::collection::vec(
            prop::sample::select(vec![
                "1", "25", "0.25", "1/4", "1 1/2", "½", " ", " ", ",", ".", ":", "-", "–", "±", "×", " to ", "in", "%",
                "lb/ft³", "°F", "s", "min", "(", ")", "C173", "T 121", "2:30", "2026-05-14", "No.", "the", "/", "1,000",
                "12350-7", "1e9",
            ]),
            0..12,
        ),
    ) {
        let text = pieces.concat();
        let said = sentence(&text);
        prop_assert_eq!(unspeakable(&said), None, "{:?} said {:?}", text, said);
        prop_assert!(!said.contains("  ") && !said.contains(" ,"), "{:?} said {:?}", text, said);
    }

    /// A value read back can be told from every other on the scale.
    #[test]
    fn no_two_marks_are_read_back_alike(
        one in 0u32..100_000,
        other in 0u32..100_000,
        unit in prop::sample::select(vec!["%", "in", "lb"]),
    ) {
        let unit = Unit::parse(unit).unwrap();
        let shown = |n: u32| format!("{}.{:02}", n / 100, n % 100);
        let (a, b) = (reading(&shown(one), unit), reading(&shown(other), unit));
        prop_assert_eq!(unspeakable(&a), None);
        prop_assert_eq!(one == other, a == b, "{} and {}: {}", shown(one), shown(other), a);
    }
}
