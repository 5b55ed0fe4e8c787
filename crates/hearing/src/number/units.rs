//! Units as they are said after a number.
//!
//! Here: which words name which unit. Not here: conversion; there is none.
//!
//! **Invariant:** words that name a unit are never skipped: they are the instrument's own, or the number is refused.

use quantity::Unit;

/// The symbol of each unit and the words for it, written and spoken, those of recognisers' dictionaries first. Units
/// that no instrument here has are known too, so that they are refused by name.
const UNITS: &[(&str, &[&str])] = &[
    ("%", &["percent", "per cent"]),
    ("in", &["inches", "inch", "in"]),
    ("ft", &["feet", "foot", "ft"]),
    ("yd", &["yards", "yard", "yd"]),
    ("mi", &["miles", "mile"]),
    ("mm", &["millimeters", "millimeter", "millimetres", "millimetre", "mm"]),
    ("cm", &["centimeters", "centimeter", "centimetres", "centimetre", "cm"]),
    ("m", &["meters", "meter", "metres", "metre", "m"]),
    ("km", &["kilometers", "kilometer", "kilometres", "kilometre", "km"]),
    ("lb", &["pounds", "pound", "lbs", "lb"]),
    ("oz", &["ounces", "ounce", "oz"]),
    ("kg", &["kilograms", "kilogram", "kilogrammes", "kilogramme", "kilos", "kilo", "kgs", "kg"]),
    ("g", &["grams", "gram", "grammes", "gramme", "g"]),
    ("t", &["tons", "ton", "tonnes", "tonne"]),
    ("fl oz", &["fluid ounces", "fluid ounce", "fl oz"]),
    ("pt", &["pints", "pint", "pt"]),
    ("qt", &["quarts", "quart"]),
    ("gal", &["gallons", "gallon", "gal"]),
    ("cup", &["cups", "cup"]),
    ("mL", &["milliliters", "milliliter", "millilitres", "millilitre", "ml"]),
    ("L", &["liters", "liter", "litres", "litre", "l"]),
    ("ft³", &["cubic feet", "cubic foot", "ft³", "ft3"]),
    ("yd³", &["cubic yards", "cubic yard", "yd³", "yd3"]),
    ("in³", &["cubic inches", "cubic inch", "in³", "in3"]),
    ("m³", &["cubic meters", "cubic meter", "cubic metres", "cubic metre", "m³", "m3"]),
    ("lb/ft³", &["pounds per cubic foot", "pounds a cubic foot", "pound per cubic foot", "lb/ft³", "lb/ft3"]),
    ("lb/yd³", &["pounds per cubic yard", "pounds a cubic yard", "pound per cubic yard", "lb/yd³", "lb/yd3"]),
    (
        "kg/m³",
        &[
            "kilograms per cubic meter",
            "kilograms a cubic meter",
            "kilograms per cubic metre",
            "kilograms a cubic metre",
            "kilos per cubic metre",
            "kilos per cubic meter",
            "kg/m³",
            "kg/m3",
        ],
    ),
    ("°F", &["degrees fahrenheit", "degrees", "degree", "degree fahrenheit", "fahrenheit", "degrees f", "f"]),
    ("°C", &["degrees celsius", "degrees", "degree", "degree celsius", "celsius", "degrees c", "c"]),
    ("psi", &["pounds per square inch", "pound per square inch", "psi"]),
    ("kPa", &["kilopascals", "kilopascal", "kpa"]),
    ("MPa", &["megapascals", "megapascal", "mpa"]),
    ("s", &["seconds", "second"]),
    ("min", &["minutes", "minute"]),
    ("h", &["hours", "hour"]),
    ("mi/h", &["miles per hour", "miles an hour", "mile per hour", "mile an hour", "mph"]),
    ("km/h", &["kilometers per hour", "kilometers an hour", "kilometres per hour", "kilometres an hour", "km/h"]),
    ("kn", &["knots", "knot"]),
    ("stroke", &["strokes", "stroke"]),
    ("tap", &["taps", "tap"]),
    ("layer", &["layers", "layer"]),
    ("turn", &["turns", "turn"]),
    ("piece", &["pieces", "piece"]),
];

/// The words at the end that name a unit.
pub(super) struct Named {
    /// How many words they are.
    pub n_words: usize,
    /// Whether they name the instrument's own unit.
    pub is_own: bool,
}

/// The longest unit that is named at the end of the words: "pounds per cubic foot", not "foot".
pub(super) fn at_the_end(words: &[&str], own: Unit) -> Option<Named> {
    let own = own.symbol();
    let mut longest: Option<Named> = None;
    for (symbol, phrase) in all() {
        let n_words = phrase.split(' ').count();
        if n_words > words.len() || !words[words.len() - n_words..].iter().copied().eq(phrase.split(' ')) {
            continue;
        }
        let is_own = symbol == own;
        longest = match longest {
            Some(best) if best.n_words > n_words => Some(best),
            // "degrees" alone are those of the thermometer at hand.
            Some(best) if best.n_words == n_words => Some(Named { n_words, is_own: is_own || best.is_own }),
            _ => Some(Named { n_words, is_own }),
        };
    }
    longest
}

/// The words for a unit that recognisers know: the plural and its nearest other form. None for a bare number, and none
/// for pascals and "per cent": a recogniser may refuse a whole grammar for one word that its dictionary lacks.
///
/// Source: `cmudict-en-us.dict` of the US English model of pocketsphinx 0.8, Debian 12; every other word that is
/// published stands in it.
pub(crate) fn spoken(unit: Unit) -> impl Iterator<Item = &'static str> {
    let symbol = unit.symbol();
    let words = UNITS.iter().find(|(known, _)| *known == symbol).map_or(&[][..], |(_, words)| words);
    words.iter().copied().take(2).filter(|words| !words.contains("pascal") && *words != "per cent")
}

fn all() -> impl Iterator<Item = (&'static str, &'static str)> {
    UNITS.iter().flat_map(|(symbol, words)| words.iter().map(move |words| (*symbol, *words)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

    use super::*;

    #[test]
    fn no_words_name_two_units_but_degrees() {
        let mut seen = std::collections::BTreeSet::new();
        for (symbol, words) in all() {
            assert!(seen.insert(words) || words.starts_with("degree"), "{words} for {symbol}");
        }
    }

    #[test]
    fn every_base_unit_has_words() {
        for symbol in Unit::all_symbols() {
            assert!(all().any(|(known, _)| known == *symbol), "{symbol}");
        }
    }

    #[test]
    fn the_longest_unit_counts() {
        let named = |text: &str, unit: &str| {
            let words: Vec<&str> = text.split(' ').collect();
            at_the_end(&words, Unit::parse(unit).unwrap()).map(|named| (named.n_words, named.is_own))
        };
        assert_eq!(named("five pounds per cubic foot", "lb/ft³"), Some((4, true)));
        assert_eq!(named("five pounds per cubic foot", "ft"), Some((4, false)));
        assert_eq!(named("five degrees", "°C"), Some((1, true)));
        assert_eq!(named("five degrees", "°F"), Some((1, true)));
        assert_eq!(named("five degrees f", "°C"), Some((2, false)));
        assert_eq!(named("five", "°C"), None);
    }
}
