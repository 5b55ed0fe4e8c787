//! Numbers, times and sentences as people say them.
//!
//! Here: from what stands on a screen to what a voice says. Not here: what is said when.
//!
//! **Invariant:** no digit, sign or symbol is left: a voice reads them each in its own way. What is left are letters,
//! spaces, commas, full stops, question and exclamation marks, and apostrophes and hyphens between letters.

mod number;
mod sentence;
mod unit;

use quantity::{Span, Unit};

pub use number::{digits, ordinal, whole};
pub use sentence::sentence;
pub use unit::{Number, named};

/// So many seconds: `ten seconds`.
pub fn seconds(n: u64) -> String {
    counted(n, "second")
}

/// How long: `two minutes thirty`, `forty-five seconds`, `one and a half seconds`, `seven days`.
///
/// After minutes the word for the seconds is left out, as people do.
pub fn span(span: Span) -> String {
    const DAY: u64 = 24 * 3_600;
    let (seconds, millis) = (span.0 / 1_000, span.0 % 1_000);
    if millis > 0 && seconds < 60 {
        return match (seconds, millis) {
            (0, 500) => "half a second".to_owned(),
            (_, 500) => format!("{} and a half seconds", whole(seconds)),
            _ => format!("{} seconds", number::decimal(&format!("{seconds}.{millis:03}"))),
        };
    }
    if seconds >= 2 * DAY && seconds.is_multiple_of(DAY) {
        return counted(seconds / DAY, "day");
    }
    let (hours, minutes, seconds) = (seconds / 3_600, seconds / 60 % 60, seconds % 60);
    match (hours, minutes, seconds) {
        (0, 0, _) => self::seconds(seconds),
        (0, _, 0) => counted(minutes, "minute"),
        (0, ..) => format!("{} {}", counted(minutes, "minute"), whole(seconds)),
        (_, 0, 0) => counted(hours, "hour"),
        (_, _, 0) => format!("{} {}", counted(hours, "hour"), counted(minutes, "minute")),
        _ => format!("{} {} {}", counted(hours, "hour"), counted(minutes, "minute"), self::seconds(seconds)),
    }
}

/// Three of something: `three taps`, `one stroke`.
pub fn counted(n: u64, what: &str) -> String {
    if n == 1 { format!("one {what}") } else { format!("{} {what}s", whole(n)) }
}

/// A reading as it is read back, such as `5.25` in `%`: said so that it survives noise.
///
/// | shown       | said                            | because                                                  |
/// |-------------|---------------------------------|----------------------------------------------------------|
/// | `2.75 %`    | two point seven five percent    | nothing sounds alike                                     |
/// | `50 %`      | fifty, five zero percent        | 13 to 19 and 30 to 90 are taken for one another          |
/// | `145.2 lb`  | one four five point two pounds  | of a long number with decimals the digits are enough     |
/// | `2.75 in`   | two and three quarter inches    | a rule has fractions                                     |
///
/// What is no number is said like any sentence.
pub fn reading(shown: &str, unit: Unit) -> String {
    let shown = shown.trim();
    let symbol = unit.symbol();
    let bare = shown.strip_suffix(symbol.as_str()).map_or(shown, str::trim_end);
    let (sign, size) = match bare.strip_prefix(['-', '−']) {
        Some(size) => ("minus ", size),
        None => ("", bare),
    };
    let Some(parts) = number::Plain::read(size) else { return sentence(shown) };
    if unit_has_fractions(&symbol)
        && let Some(said) = number::as_fraction(&parts, &symbol)
    {
        return format!("{sign}{said}");
    }
    let said = number::read_back(&parts);
    let number = if parts.is_one() { Number::One } else { Number::Many };
    match named(&symbol, number) {
        Some(unit) if !unit.is_empty() => format!("{sign}{said} {unit}"),
        _ => format!("{sign}{said}"),
    }
}

/// Rules and gauges in inches are marked in halves, quarters, eighths.
fn unit_has_fractions(symbol: &str) -> bool {
    symbol == "in"
}
