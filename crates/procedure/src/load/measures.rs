//! Numbers, units, times, and figures by their name.
//!
//! Here: the ways a file writes a number: `25`, `"0.25"`, `"1/8 in"`, `"45 s"`, or the name of a figure. Not here:
//! what the number is for.
//!
//! **Invariant:** a number keeps every digit it was written with, and a unit of the other system is never let in.

use std::ops::Range;
use std::str::FromStr;

use quantity::{Decimal, Exact, Quantity, Span, Unit, parse_typed};

use super::fields::{Reader, shown};
use super::scope::What;
use super::tree::{Kind, Node};
use crate::diagnose::Diagnostic;

/// Units that only count things: "25 strokes" is shown as "25" where the sentence names what is counted.
const COUNTED: &[&str] = &["stroke", "tap", "cup", "layer", "turn", "piece"];

/// Whether a unit only counts things.
pub(super) fn only_counts(unit: Unit) -> bool {
    COUNTED.contains(&unit.symbol().as_str())
}

/// A unit in a sentence.
pub(super) fn unit_words(unit: Unit) -> String {
    if unit == Unit::NONE { "a bare number".to_owned() } else { unit.symbol() }
}

impl Reader<'_> {
    /// A unit, in the system of this edition.
    pub fn unit(&mut self, node: &Node, key: &str) -> Option<Unit> {
        let (text, at) = self.string(node, key)?;
        self.unit_text(text, at)
    }

    /// A unit, in the system of this edition.
    pub fn unit_text(&mut self, text: &str, at: Range<usize>) -> Option<Unit> {
        let unit = match Unit::parse(text) {
            Ok(unit) => unit,
            Err(unknown) => {
                let mut fault = Diagnostic::error("unknown-unit", format!("`{}` is no unit known here", shown(text)))
                    .at(at, "expected a unit");
                fault = match unknown.nearest {
                    Some(near) => fault.help(format!("did you mean \"{near}\"?")),
                    None => fault.help(format!(
                        "units: {}; joined with / and ·, such as lb/ft³; a bare number is \"1\"",
                        Unit::all_symbols().join(", ")
                    )),
                };
                self.push(fault);
                return None;
            }
        };
        if unit.mixes_systems() {
            self.push(
                Diagnostic::error("unit-system", format!("{unit} mixes inch-pound and SI units"))
                    .at(at, "both systems in one unit")
                    .help("use units of one system alone"),
            );
            return None;
        }
        let other = unit.system().filter(|system| *system != self.system);
        if let Some(other) = other {
            let both = self.systems.len() > 1;
            let fault = Diagnostic::error(
                "unit-system",
                format!("{unit} is an {other} unit, and this is the {} edition", self.system),
            )
            .at(at, format!("expected an {} unit, or one both systems share", self.system));
            self.push(if both {
                fault.help("give a value for each system: { inch-pound = \"…\", SI = \"…\" }")
            } else {
                fault.help(format!(
                    "the procedure says systems = [\"{}\"]: add \"{other}\" there, or use a unit of that system",
                    self.system
                ))
            });
            return None;
        }
        Some(unit)
    }

    /// A number as it is written, without a unit.
    pub fn number<'n>(&mut self, node: &'n Node, key: &str) -> Option<(&'n str, Range<usize>)> {
        let node = self.pick(node)?;
        match &node.kind {
            Kind::Number(number) => Some((number, node.at.clone())),
            Kind::Text(text) => Some((text.trim(), node.at.clone())),
            _ => self.wrong_kind(node, key, "a number", format!("write digits, such as: {key} = \"0.25\"")),
        }
    }

    /// A plain decimal, with the decimals it was written with.
    pub fn decimal(&mut self, node: &Node, key: &str) -> Option<Decimal> {
        let (text, at) = self.number(node, key)?;
        let decimal =
            Exact::from_str(text).ok().filter(|_| !text.contains('_')).and_then(|_| Decimal::from_str_exact(text).ok());
        if decimal.is_none() {
            self.push(
                Diagnostic::error("not-a-number", format!("`{key}` must be a plain decimal number"))
                    .at(at, "not a number such as 0.25 or 9")
                    .help("write digits with a decimal point, without a unit: the unit has a key of its own"),
            );
        }
        decimal
    }

    /// An amount in a known unit: a number, a text with its unit, or the name of a figure.
    pub fn amount(&mut self, node: &Node, key: &str, unit: Unit) -> Option<Exact> {
        let node = self.pick(node)?;
        let (quantity, at) = match &node.kind {
            Kind::Text(text) if is_name(text) => (self.figure_named(text, node.at.clone())?.0, node.at.clone()),
            _ => {
                let (text, at) = self.number(node, key)?;
                (self.quantity(text, at.clone(), Some(unit))?, at)
            }
        };
        if quantity.unit != unit {
            self.push(
                Diagnostic::error(
                    "unlike-units",
                    format!("`{key}` is in {}, where {} is needed", unit_words(quantity.unit), unit_words(unit)),
                )
                .at(at, format!("expected an amount in {}", unit_words(unit)))
                .help("nothing converts by itself: state the figure in the unit it is compared in"),
            );
            return None;
        }
        Some(quantity.value)
    }

    /// A number with its unit: "0.25 %", "1/8 in", "2½ in"; without one it is in `bare`, if that is known.
    pub fn quantity(&mut self, text: &str, at: Range<usize>, bare: Option<Unit>) -> Option<Quantity> {
        let (number, unit) = split_unit(text);
        let value = match parse_typed(number) {
            Ok(value) => value,
            Err(unreadable) => {
                self.push(
                    Diagnostic::error("not-a-number", format!("\"{}\" does not begin with a number", shown(text)))
                        .at(at, format!("expected {}", unreadable.expected))
                        .help("write a number and its unit, such as \"0.25 %\", \"1/8 in\" or \"45 s\""),
                );
                return None;
            }
        };
        if unit.is_empty() {
            let Some(bare) = bare else {
                self.push(
                    Diagnostic::error("missing-unit", format!("{} what? The number has no unit", shown(number)))
                        .at(at, "a number without a unit")
                        .help(format!(
                            "write the unit behind it, such as \"{number} %\", or beside it: unit = \"stroke\""
                        ))
                        .help("for a bare number write: unit = \"1\""),
                );
                return None;
            };
            return Some(Quantity::new(value, bare));
        }
        Some(Quantity::new(value, self.unit_text(unit, at)?))
    }

    /// A time, written out or by the name of a figure.
    pub fn span(&mut self, node: &Node, key: &str) -> Option<Span> {
        let node = self.pick(node)?;
        let text = match &node.kind {
            Kind::Text(text) => text,
            Kind::Number(number) => {
                let help = format!("a time needs its unit: {key} = \"{number} s\" or \"{number} min\"");
                return self.wrong_kind(node, key, "a time", help);
            }
            _ => return self.wrong_kind(node, key, "a time", format!("write {key} = \"45 s\" or \"2 min 30 s\"")),
        };
        if is_name(text) {
            let (is, span) = self.figure_named(text, node.at.clone())?;
            if !span {
                let fault =
                    Diagnostic::error("unlike-units", format!("`{key}` is a time, and the figure `{text}` is {is}"))
                        .at(node.at.clone(), "expected a figure that is a time")
                        .help("a time is written with s, min, h or d, such as \"45 s\"");
                let fault = self.pointing_at(fault, text, "the figure is given here");
                self.push(fault);
                return None;
            }
            return whole_number(&(is.value * Exact::from_int(1000))).map(Span);
        }
        match text.parse::<Span>() {
            Ok(span) if span > Span(0) => Some(span),
            Ok(_) => {
                self.push(
                    Diagnostic::error("not-a-time", format!("`{key}` must be longer than no time at all"))
                        .at(node.at.clone(), "this is no time")
                        .help(format!("write how long it lasts, such as {key} = \"45 s\"")),
                );
                None
            }
            Err(unreadable) => {
                self.push(
                    Diagnostic::error("not-a-time", format!("\"{}\" is not a time", shown(text)))
                        .at(node.at.clone(), format!("expected {}", unreadable.expected))
                        .help(match as_people_say(text) {
                            Some(meant) => format!("write {key} = \"{meant}\""),
                            None => "the name of a figure that is a time may stand here too".to_owned(),
                        }),
                );
                None
            }
        }
    }

    /// A count, written out or by the name of a figure; `of` is the unit that is counted, if it is known.
    pub fn count(&mut self, node: &Node, key: &str, of: Option<Unit>) -> Option<u32> {
        let picked = self.pick(node)?;
        let Kind::Text(text) = &picked.kind else { return self.whole(picked, key) };
        if !is_name(text) {
            return self.whole(picked, key);
        }
        let (is, _) = self.figure_named(text, picked.at.clone())?;
        if let Some(of) = of
            && is.unit != of
        {
            let fault = Diagnostic::error(
                "unlike-units",
                format!("`{key}` counts in {}, and the figure `{text}` is {is}", unit_words(of)),
            )
            .at(picked.at.clone(), format!("expected a figure in {}", unit_words(of)));
            let fault = self.pointing_at(fault, text, "the figure is given here");
            self.push(fault.help("name a figure in that unit, or write the number itself"));
            return None;
        }
        let whole = whole_number(&is.value).and_then(|count| u32::try_from(count).ok()).filter(|count| *count > 0);
        if whole.is_none() {
            let fault =
                Diagnostic::error("not-a-count", format!("the figure `{text}` is {is}, which is not a whole number"))
                    .at(picked.at.clone(), "expected a whole number from 1");
            let fault = self.pointing_at(fault, text, "the figure is given here");
            self.push(fault.help("things are counted one by one: state the figure as a whole number"));
        }
        whole
    }

    /// The figure behind a name: its value, and whether it is a time.
    pub fn figure_named(&mut self, name: &str, at: Range<usize>) -> Option<(Quantity, bool)> {
        match self.scope.name(name) {
            Some(What::Figure(id)) => {
                let found = self.scope.figures.get(id as usize)?.as_ref()?;
                Some((found.figure.is.clone(), found.figure.span))
            }
            _ => {
                self.no_such("figure", name, at, |what| matches!(what, What::Figure(_)));
                None
            }
        }
    }

    /// Adds the place where a name was given.
    pub fn pointing_at(&self, fault: Diagnostic, name: &str, says: &str) -> Diagnostic {
        match self.scope.names.iter().find(|given| given.id == name) {
            Some(given) => fault.also(given.at.clone(), says),
            None => fault,
        }
    }
}

/// The time that was meant by "5 minutes" or "90 sec".
fn as_people_say(text: &str) -> Option<Span> {
    let words = text.split_whitespace().map(|word| match word.to_lowercase().trim_end_matches('.') {
        "days" | "day" => "d".to_owned(),
        "hours" | "hour" | "hrs" | "hr" => "h".to_owned(),
        "minutes" | "minute" | "mins" | "min" | "m" => "min".to_owned(),
        "seconds" | "second" | "secs" | "sec" | "s" => "s".to_owned(),
        other => other.to_owned(),
    });
    words.collect::<Vec<_>>().join(" ").parse().ok().filter(|span| *span > Span(0))
}

/// A whole number that is not negative.
fn whole_number(value: &Exact) -> Option<u64> {
    value.show_exact().parse().ok()
}

/// Whether a text looks like the name of a figure and not like an amount.
pub(super) fn is_name(text: &str) -> bool {
    text.starts_with(|first: char| first.is_ascii_alphabetic())
        && text.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '_' || letter == '-')
}

/// Splits "1/8 in", "2½ in", "0.25 %", "-5 °C" into number and unit.
pub(super) fn split_unit(text: &str) -> (&str, &str) {
    let text = text.trim();
    let belongs = |sign: char| {
        sign.is_ascii_digit() || sign.is_whitespace() || ".,+-−/⁄".contains(sign) || "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒".contains(sign)
    };
    let end = text.find(|sign: char| !belongs(sign)).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    (number.trim(), unit.trim())
}
