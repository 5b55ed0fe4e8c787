//! Units in words.
//!
//! Here: the words for every unit a reading can have, and for spans of time. Not here: numbers.
//!
//! **Invariant:** whatever [`quantity::Unit`] can name has words here.

use quantity::Unit;

/// Whether a unit stands beside exactly one.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Number {
    /// `inch`.
    One,
    /// `inches`.
    Many,
}

/// Symbol, one of it, several of it.
const WORDS: &[(&str, &str, &str)] = &[
    ("%", "percent", "percent"),
    ("lb", "pound", "pounds"),
    ("oz", "ounce", "ounces"),
    ("kg", "kilogram", "kilograms"),
    ("g", "gram", "grams"),
    ("in", "inch", "inches"),
    ("ft", "foot", "feet"),
    ("yd", "yard", "yards"),
    ("mi", "mile", "miles"),
    ("mm", "millimetre", "millimetres"),
    ("m", "metre", "metres"),
    ("km", "kilometre", "kilometres"),
    ("fl oz", "fluid ounce", "fluid ounces"),
    ("pt", "pint", "pints"),
    ("gal", "gallon", "gallons"),
    ("mL", "millilitre", "millilitres"),
    ("L", "litre", "litres"),
    ("°F", "degree Fahrenheit", "degrees Fahrenheit"),
    ("°C", "degree Celsius", "degrees Celsius"),
    ("psi", "P S I", "P S I"),
    ("kPa", "kilopascal", "kilopascals"),
    ("MPa", "megapascal", "megapascals"),
    ("s", "second", "seconds"),
    ("h", "hour", "hours"),
    ("cup", "cup", "cups"),
    ("stroke", "stroke", "strokes"),
    ("tap", "tap", "taps"),
    ("layer", "layer", "layers"),
    ("turn", "turn", "turns"),
    ("piece", "piece", "pieces"),
    // Times and angles, which no reading is in.
    ("ms", "millisecond", "milliseconds"),
    ("min", "minute", "minutes"),
    ("d", "day", "days"),
    ("°", "degree", "degrees"),
];

/// A unit in words: `pounds per cubic foot`; nothing for a bare number, `None` for what is no unit.
pub fn named(symbol: &str, number: Number) -> Option<String> {
    let symbol = symbol.trim();
    if symbol.is_empty() || symbol == "1" {
        return Some(String::new());
    }
    let plain = |symbol: &str, number: Number| {
        let (_, one, many) = WORDS.iter().find(|words| words.0 == symbol)?;
        Some(if number == Number::One { *one } else { *many })
    };
    if let Some(word) = plain(symbol, number) {
        return Some(word.to_owned());
    }
    let unit = Unit::parse(symbol).ok()?.symbol();
    let mut said = String::new();
    for (n, segment) in unit.split('/').enumerate() {
        if segment == "1" {
            continue;
        }
        let mut factors = segment.split('·').peekable();
        let mut words = Vec::new();
        while let Some(factor) = factors.next() {
            let (base, power) = powered(factor)?;
            // Only the last factor of what is counted stands in the plural: foot pounds.
            let number = if n == 0 && factors.peek().is_none() { number } else { Number::One };
            let word = plain(base, number)?;
            words.push(match power {
                1 => word.to_owned(),
                2 => format!("square {word}"),
                3 => format!("cubic {word}"),
                power => format!("{word} to the {}", super::number::ordinal(power)),
            });
        }
        if n > 0 {
            said.push_str(if said.is_empty() { "per " } else { " per " });
        }
        said.push_str(&words.join(" "));
    }
    Some(said)
}

fn powered(factor: &str) -> Option<(&str, u64)> {
    const POWERS: [char; 9] = ['¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let last = factor.chars().next_back()?;
    match POWERS.iter().position(|power| *power == last) {
        Some(at) => Some((factor.strip_suffix(last)?, at as u64 + 1)),
        None => Some((factor, 1)),
    }
}
