//! Units of readings and results, and the two systems of units.
//!
//! Here: the units these methods use, their products and quotients, and their texts. Not here: conversion. `L`, `ft³`
//! and `pt` all measure volume and are still different units.
//!
//! **Invariant:** a unit has one form. Its factors are sorted, each base stands once, no exponent is zero; so equal
//! units compare, hash and print alike, and the printed symbol reads back to the same unit.

use std::fmt;
use std::str::FromStr;

use crate::typed::Unreadable;

const MOST_FACTORS: usize = 4;
const LARGEST_EXPONENT: i8 = 9;

/// One of the two systems of units. The standards keep them apart, and a run stays in one of them.
///
/// ```
/// use quantity::System;
///
/// assert_eq!("si".parse(), Ok(System::Si));
/// assert_eq!(System::InchPound.to_string(), "inch-pound");
/// ```
#[derive(Copy, Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum System {
    /// Inches, pounds, degrees Fahrenheit.
    InchPound,
    /// Metres, kilograms, degrees Celsius.
    Si,
}

impl fmt::Display for System {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::InchPound => "inch-pound",
            Self::Si => "SI",
        })
    }
}

impl FromStr for System {
    type Err = Unreadable;

    /// Reads "inch-pound" or "SI" in either case.
    ///
    /// # Errors
    ///
    /// [`Unreadable`] for any other word.
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        match text.to_ascii_lowercase().as_str() {
            "inch-pound" => Ok(Self::InchPound),
            "si" => Ok(Self::Si),
            _ => Err(Unreadable::new(text, "inch-pound or SI")),
        }
    }
}

/// The bases, in the order in which a symbol names them.
macro_rules! bases {
    ($($name:ident $symbol:literal $plural:literal $word:literal $system:expr;)*) => {
        #[derive(Copy, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        enum Base { $($name),* }

        const BASES: &[Base] = &[$(Base::$name),*];
        const SYMBOLS: &[&str] = &[$($symbol),*];
        /// The words for the bases. They are not read, only recognised to name the symbol that is.
        const WORDS: &[(&str, &str)] = &[$(($word, $symbol)),*];

        impl Base {
            const fn symbol(self) -> &'static str {
                match self { $(Self::$name => $symbol),* }
            }
            const fn plural(self) -> &'static str {
                match self { $(Self::$name => $plural),* }
            }
            const fn system(self) -> Option<System> {
                match self { $(Self::$name => $system),* }
            }
        }
    };
}

bases! {
    Percent "%" "%" "percent" None;
    Pound "lb" "lb" "pound" Some(System::InchPound);
    Ounce "oz" "oz" "ounce" Some(System::InchPound);
    Kilogram "kg" "kg" "kilogram" Some(System::Si);
    Gram "g" "g" "gram" Some(System::Si);
    Inch "in" "in" "inch" Some(System::InchPound);
    Foot "ft" "ft" "foot" Some(System::InchPound);
    Yard "yd" "yd" "yard" Some(System::InchPound);
    Mile "mi" "mi" "mile" Some(System::InchPound);
    Millimetre "mm" "mm" "millimetre" Some(System::Si);
    Metre "m" "m" "metre" Some(System::Si);
    Kilometre "km" "km" "kilometre" Some(System::Si);
    FluidOunce "fl oz" "fl oz" "fluid ounce" Some(System::InchPound);
    Pint "pt" "pt" "pint" Some(System::InchPound);
    Gallon "gal" "gal" "gallon" Some(System::InchPound);
    Millilitre "mL" "mL" "millilitre" Some(System::Si);
    Litre "L" "L" "litre" Some(System::Si);
    Fahrenheit "°F" "°F" "F" Some(System::InchPound);
    Celsius "°C" "°C" "C" Some(System::Si);
    Psi "psi" "psi" "pounds per square inch" Some(System::InchPound);
    Kilopascal "kPa" "kPa" "kilopascal" Some(System::Si);
    Megapascal "MPa" "MPa" "megapascal" Some(System::Si);
    Second "s" "s" "second" None;
    Hour "h" "h" "hour" None;
    Cup "cup" "cups" "cup" None;
    Stroke "stroke" "strokes" "stroke" None;
    Tap "tap" "taps" "tap" None;
    Layer "layer" "layers" "layer" None;
    Turn "turn" "turns" "turn" None;
    Piece "piece" "pieces" "piece" None;
}

#[derive(Copy, Clone, PartialEq, Eq, Hash)]
struct Factor {
    base: Base,
    exponent: i8,
}

/// A unit as a product of base symbols with exponents, such as lb·ft⁻³. Nothing converts.
///
/// ```
/// use quantity::Unit;
///
/// let density = Unit::parse("lb/ft3").unwrap();
/// assert_eq!(density.symbol(), "lb/ft³");
/// assert_eq!(Unit::parse("lb").unwrap().per(Unit::parse("ft³").unwrap()), Some(density));
/// assert_eq!(Unit::parse("lbs").unwrap_err().to_string(), r#"unknown unit "lbs": did you mean "lb"?"#);
/// ```
#[derive(Copy, Clone, PartialEq, Eq, Hash)]
pub struct Unit {
    factors: [Option<Factor>; MOST_FACTORS],
}

/// A text that is no unit known here.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("unknown unit {text:?}{}", .nearest.as_ref().map_or(String::new(), |near| format!(": did you mean {near:?}?")))]
pub struct UnknownUnit {
    /// The text as it stands in the file or was typed.
    pub text: String,
    /// The nearest unit that is known, if any is near.
    pub nearest: Option<String>,
}

impl Unit {
    /// No unit: a bare number.
    pub const NONE: Unit = Unit { factors: [None; MOST_FACTORS] };

    /// Reads a unit: "%", "lb/ft³", "lb/ft3", "kg/m³", "%/cup", "fl oz"; "" and "1" are a bare number.
    ///
    /// Factors are joined by `·` or `*`; everything after a `/` up to the next sign is divided by. An exponent is a
    /// superscript or a plain digit. A count may stand in the plural ("25 strokes").
    ///
    /// # Errors
    ///
    /// [`UnknownUnit`] with the nearest unit that is known.
    pub fn parse(text: &str) -> Result<Unit, UnknownUnit> {
        let text = text.trim();
        read(text)
            .map_err(|fault| UnknownUnit { text: text.to_owned(), nearest: fault.and_then(|part| nearest(text, part)) })
    }

    /// The canonical symbol: "lb/ft³", "%", "1/cup"; a bare number has the empty one.
    pub fn symbol(&self) -> String {
        let mut symbol = String::new();
        for Factor { base, exponent } in self.factors().filter(|factor| factor.exponent > 0) {
            if !symbol.is_empty() {
                symbol.push('·');
            }
            symbol.push_str(base.symbol());
            symbol.push_str(superscript(exponent));
        }
        for Factor { base, exponent } in self.factors().filter(|factor| factor.exponent < 0) {
            symbol.push_str(if symbol.is_empty() { "1/" } else { "/" });
            symbol.push_str(base.symbol());
            symbol.push_str(superscript(exponent));
        }
        symbol
    }

    /// The product of two units; `None` only if it has more than four factors or an exponent beyond 9.
    pub fn times(self, other: Unit) -> Option<Unit> {
        other.factors().try_fold(self, |product, factor| product.with(factor))
    }

    /// The quotient of two units; `None` only if it has more than four factors or an exponent beyond 9.
    pub fn per(self, other: Unit) -> Option<Unit> {
        other
            .factors()
            .map(|Factor { base, exponent }| Factor { base, exponent: -exponent })
            .try_fold(self, |quotient, factor| quotient.with(factor))
    }

    /// The system of units this belongs to; `None` for %, s, counts and bare numbers, which belong to both.
    ///
    /// A unit that mixes both systems answers with the system of its first factor; see [`Unit::mixes_systems`].
    pub fn system(&self) -> Option<System> {
        self.factors().find_map(|factor| factor.base.system())
    }

    /// Whether this has factors of both systems, such as lb/m³. No standard reports such a unit.
    pub fn mixes_systems(&self) -> bool {
        let has = |system| self.factors().any(|factor| factor.base.system() == Some(system));
        has(System::InchPound) && has(System::Si)
    }

    /// Every base symbol, for suggestions.
    pub fn all_symbols() -> &'static [&'static str] {
        SYMBOLS
    }

    /// A number with this unit after it: "5.25 %", "70".
    pub(crate) fn after(&self, number: &str) -> String {
        let symbol = self.symbol();
        if symbol.is_empty() { number.to_owned() } else { format!("{number} {symbol}") }
    }

    pub(crate) fn in_words(&self) -> String {
        if *self == Self::NONE { "a bare number".to_owned() } else { self.symbol() }
    }

    fn factors(&self) -> impl Iterator<Item = Factor> {
        self.factors.into_iter().flatten()
    }

    fn with(self, added: Factor) -> Option<Unit> {
        let mut all: Vec<Factor> = self.factors().collect();
        match all.iter_mut().find(|factor| factor.base == added.base) {
            Some(factor) => factor.exponent = factor.exponent.checked_add(added.exponent)?,
            None => all.push(added),
        }
        all.retain(|factor| factor.exponent != 0);
        all.sort_by_key(|factor| factor.base);
        if all.len() > MOST_FACTORS || all.iter().any(|factor| factor.exponent.abs() > LARGEST_EXPONENT) {
            return None;
        }
        let mut factors = [None; MOST_FACTORS];
        for (place, factor) in factors.iter_mut().zip(all) {
            *place = Some(factor);
        }
        Some(Unit { factors })
    }
}

/// `Err(Some(part))` names the part that is no unit; `Err(None)` is a unit with too many factors.
fn read(text: &str) -> Result<Unit, Option<&str>> {
    let mut unit = Unit::NONE;
    if text.is_empty() {
        return Ok(unit);
    }
    for (segment_idx, segment) in text.split('/').enumerate() {
        // "1/cup": only a bare one may stand before the first stroke, and only alone.
        if segment_idx == 0 && segment.trim() == "1" {
            continue;
        }
        for (part_idx, part) in segment.split(['·', '*']).enumerate() {
            let mut factor = read_factor(part.trim()).ok_or(Some(part.trim()))?;
            if segment_idx > 0 && part_idx == 0 {
                factor.exponent = -factor.exponent;
            }
            unit = unit.with(factor).ok_or(None)?;
        }
    }
    Ok(unit)
}

fn read_factor(part: &str) -> Option<Factor> {
    let (name, exponent) = split_exponent(part)?;
    let known = |base: &&Base| base.symbol() == name || base.plural() == name;
    let base = *BASES.iter().find(known)?;
    Some(Factor { base, exponent })
}

/// Splits "ft³", "ft3", "ft^3" and "ft⁻³"; a text without an exponent has the exponent one.
fn split_exponent(part: &str) -> Option<(&str, i8)> {
    let Some(last) = part.chars().next_back() else {
        return Some((part, 1));
    };
    let Some(exponent) = (1..=LARGEST_EXPONENT).find(|digit| {
        superscript_digit(*digit) == last || u32::try_from(*digit).is_ok_and(|digit| last.to_digit(10) == Some(digit))
    }) else {
        return Some((part, 1));
    };
    let name = part.strip_suffix(last)?;
    if let Some(name) = name.strip_suffix('⁻') {
        return Some((name, -exponent));
    }
    Some((name.strip_suffix('^').unwrap_or(name), exponent))
}

fn superscript_digit(digit: i8) -> char {
    match digit {
        1 => '¹',
        2 => '²',
        3 => '³',
        4 => '⁴',
        5 => '⁵',
        6 => '⁶',
        7 => '⁷',
        8 => '⁸',
        _ => '⁹',
    }
}

/// The exponent's size as a superscript; one is not written.
fn superscript(exponent: i8) -> &'static str {
    match exponent.abs() {
        1 => "",
        2 => "²",
        3 => "³",
        4 => "⁴",
        5 => "⁵",
        6 => "⁶",
        7 => "⁷",
        8 => "⁸",
        _ => "⁹",
    }
}

/// The whole text with its unknown part replaced by the nearest symbol.
fn nearest(text: &str, part: &str) -> Option<String> {
    let (name, _) = split_exponent(part)?;
    let n_chars = name.chars().count();
    // A name much longer than any unit is near to none, and not worth a table of distances.
    if n_chars == 0 || n_chars > 20 {
        return None;
    }
    let lower = name.to_lowercase();
    let known = SYMBOLS.iter().map(|symbol| (*symbol, *symbol)).chain(WORDS.iter().copied());
    let (distance, _, symbol) = known
        .map(|(word, symbol)| {
            (strsim::levenshtein(&lower, &word.to_lowercase()), strsim::levenshtein(name, word), symbol)
        })
        .min_by_key(|(without_case, with_case, _)| (*without_case, *with_case))?;
    // Something typed must be left standing, otherwise every letter would be near to every other.
    if distance > 2 || distance >= n_chars {
        return None;
    }
    let repaired = text.replacen(name, symbol, 1);
    Some(read(&repaired).map_or_else(|_| symbol.to_owned(), |unit| unit.symbol()))
}

impl fmt::Debug for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Unit({})", self.symbol())
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(text: &str) -> Unit {
        Unit::parse(text).unwrap()
    }

    #[test]
    fn units_are_read_in_the_ways_people_write_them_and_shown_in_one() {
        for (text, symbol) in [
            ("", ""),
            ("1", ""),
            (" ", ""),
            ("%", "%"),
            ("lb/ft³", "lb/ft³"),
            ("lb/ft3", "lb/ft³"),
            ("lb/ft^3", "lb/ft³"),
            ("lb / ft3", "lb/ft³"),
            ("lb·ft⁻³", "lb/ft³"),
            ("kg/m³", "kg/m³"),
            ("%/cup", "%/cup"),
            ("% / cups", "%/cup"),
            ("1/cup", "1/cup"),
            ("fl oz", "fl oz"),
            ("fl oz/ft³", "fl oz/ft³"),
            ("ft¹", "ft"),
            ("ft·ft²", "ft³"),
            ("ft/ft", ""),
            ("ft³/ft", "ft²"),
            ("lb/ft/ft/ft", "lb/ft³"),
            ("strokes", "stroke"),
            ("strokes/layer", "stroke/layer"),
            ("taps", "tap"),
            ("turns", "turn"),
            ("pieces", "piece"),
        ] {
            assert_eq!(unit(text).symbol(), symbol, "written {text:?}");
            assert_eq!(unit(symbol), unit(text), "{symbol:?} reads back");
        }
        for symbol in Unit::all_symbols() {
            assert_eq!(unit(symbol).to_string(), *symbol);
        }
    }

    #[test]
    fn an_unknown_unit_names_the_nearest_known_one() {
        for (text, said) in [
            ("lbs", "unknown unit \"lbs\": did you mean \"lb\"?"),
            ("Lb", "unknown unit \"Lb\": did you mean \"lb\"?"),
            ("ml", "unknown unit \"ml\": did you mean \"mL\"?"),
            ("l", "unknown unit \"l\": did you mean \"L\"?"),
            ("F", "unknown unit \"F\": did you mean \"°F\"?"),
            ("C", "unknown unit \"C\": did you mean \"°C\"?"),
            ("pints", "unknown unit \"pints\": did you mean \"pt\"?"),
            ("inches", "unknown unit \"inches\": did you mean \"in\"?"),
            ("feet", "unknown unit \"feet\": did you mean \"ft\"?"),
            ("liters", "unknown unit \"liters\": did you mean \"L\"?"),
            ("percent", "unknown unit \"percent\": did you mean \"%\"?"),
            ("pounds/ft³", "unknown unit \"pounds/ft³\": did you mean \"lb/ft³\"?"),
            ("Mpa", "unknown unit \"Mpa\": did you mean \"MPa\"?"),
            ("floz", "unknown unit \"floz\": did you mean \"fl oz\"?"),
            ("lbs/ft3", "unknown unit \"lbs/ft3\": did you mean \"lb/ft³\"?"),
            ("kgs/m³", "unknown unit \"kgs/m³\": did you mean \"kg/m³\"?"),
            ("strokse", "unknown unit \"strokse\": did you mean \"stroke\"?"),
            ("furlong", "unknown unit \"furlong\""),
            // A plain hyphen is no exponent sign: it could be a subtraction.
            ("lb·ft-3", "unknown unit \"lb·ft-3\": did you mean \"lb·ft³\"?"),
            ("lb//ft", "unknown unit \"lb//ft\""),
            ("ft0", "unknown unit \"ft0\": did you mean \"ft\"?"),
            ("2", "unknown unit \"2\""),
            ("ft9·ft", "unknown unit \"ft9·ft\""),
            ("%·lb·in·mm·s", "unknown unit \"%·lb·in·mm·s\""),
        ] {
            assert_eq!(Unit::parse(text).unwrap_err().to_string(), said, "written {text:?}");
        }
    }

    #[test]
    fn litres_pints_and_cubic_feet_stay_different_units() {
        let volumes = ["L", "mL", "pt", "fl oz", "gal", "ft³", "yd³", "in³", "m³", "mm³"].map(unit);
        for (idx, one) in volumes.iter().enumerate() {
            assert!(volumes[idx + 1..].iter().all(|other| other != one), "{one}");
        }
    }

    #[test]
    fn products_and_quotients_carry_the_units_along() {
        assert_eq!(unit("lb").per(unit("ft³")), Some(unit("lb/ft³")));
        assert_eq!(unit("lb/ft³").times(unit("ft³")), Some(unit("lb")));
        assert_eq!(unit("%").per(unit("%")), Some(Unit::NONE));
        assert_eq!(Unit::NONE.per(unit("s")), Some(unit("1/s")));
        assert_eq!(unit("ft9").times(unit("ft")), None);
        assert_eq!(unit("lb·in·mm·s").times(unit("%")), None);
        assert_eq!(unit("lb·in·mm·s").per(unit("s")), Some(unit("lb·in·mm")));
    }

    #[test]
    fn each_unit_knows_the_system_it_belongs_to() {
        for (system, symbols) in [
            (Some(System::InchPound), &["ft", "in", "yd", "lb", "oz", "fl oz", "pt", "gal", "°F", "psi"][..]),
            (Some(System::Si), &["m", "mm", "L", "mL", "kg", "g", "°C", "kPa", "MPa"][..]),
            (None, &["%", "s", "cup", "stroke", "tap", "layer", "turn", "piece", ""][..]),
        ] {
            for symbol in symbols {
                assert_eq!(unit(symbol).system(), system, "{symbol}");
                assert!(!unit(symbol).mixes_systems());
            }
        }
        assert_eq!(unit("%·lb/ft³").system(), Some(System::InchPound));
        assert!(unit("lb/m³").mixes_systems());
    }

    #[test]
    fn a_system_is_named_in_either_case() {
        assert_eq!("SI".parse(), Ok(System::Si));
        assert_eq!("Inch-Pound".parse(), Ok(System::InchPound));
        assert_eq!(
            "metric".parse::<System>().unwrap_err().to_string(),
            "cannot read \"metric\": expected inch-pound or SI"
        );
    }
}
