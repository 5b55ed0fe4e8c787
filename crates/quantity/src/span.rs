//! Spans of time, in whole milliseconds.
//!
//! Here: how a span is written in a procedure and shown beside a clock. Not here: any clock; nothing knows what
//! time it is.
//!
//! **Invariant:** a span is never negative and its text reads back to the same span.

use std::fmt;
use std::str::FromStr;

use crate::exact::Exact;
use crate::typed::Unreadable;

const EXPECTED: &str = r#"a span of time such as "45 s", "2 min", "2 min 30 s", "24 h" or "7 d""#;

const MS_PER_S: u64 = 1_000;
const MS_PER_MIN: u64 = 60 * MS_PER_S;
const MS_PER_H: u64 = 60 * MS_PER_MIN;
const MS_PER_D: u64 = 24 * MS_PER_H;

/// A span of time in whole milliseconds.
///
/// ```
/// use quantity::Span;
///
/// let whole_test: Span = "2 min 30 s".parse().unwrap();
/// assert_eq!(whole_test, Span::from_secs(150));
/// assert_eq!(whole_test.clock(), "2:30");
/// assert_eq!("1.5 s".parse(), Ok(Span(1500)));
/// ```
#[derive(Copy, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Debug, serde::Serialize, serde::Deserialize)]
pub struct Span(
    /// Milliseconds.
    pub u64,
);

impl Span {
    /// A span of whole seconds; one too long to count in milliseconds becomes the longest span there is.
    pub const fn from_secs(seconds: u64) -> Self {
        Self(seconds.saturating_mul(MS_PER_S))
    }

    /// The span in milliseconds.
    pub const fn as_millis(self) -> u64 {
        self.0
    }

    /// Time gone by, as a clock shows it: "2:30", "0:05", "1:02:03". A second counts once it is over.
    pub fn clock(self) -> String {
        clock_text(self.0 / MS_PER_S)
    }

    /// Time left, as a clock shows it: a second counts until it is over, so "0:00" means that no time is left.
    pub fn clock_up(self) -> String {
        clock_text(self.0.div_ceil(MS_PER_S))
    }
}

fn clock_text(seconds: u64) -> String {
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    if hours > 0 { format!("{hours}:{minutes:02}:{seconds:02}") } else { format!("{minutes}:{seconds:02}") }
}

impl fmt::Display for Span {
    /// "24 h", "2 min 30 s", "1.5 s"; nothing at all is "0 s".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (hours, minutes, millis) = (self.0 / MS_PER_H, self.0 % MS_PER_H / MS_PER_MIN, self.0 % MS_PER_MIN);
        let mut parts = Vec::with_capacity(3);
        if hours > 0 {
            parts.push(format!("{hours} h"));
        }
        if minutes > 0 {
            parts.push(format!("{minutes} min"));
        }
        if millis > 0 || parts.is_empty() {
            let decimals = format!("{:03}", millis % MS_PER_S);
            let decimals = decimals.trim_end_matches('0');
            let point = if decimals.is_empty() { "" } else { "." };
            parts.push(format!("{}{point}{decimals} s", millis / MS_PER_S));
        }
        f.pad(&parts.join(" "))
    }
}

impl FromStr for Span {
    type Err = Unreadable;

    /// Reads numbers each followed by d (24 h), h, min, s or ms, the larger unit first, each unit at most once.
    ///
    /// # Errors
    ///
    /// [`Unreadable`] for a number without a unit, another unit, a negative number, a part of a millisecond, or a
    /// span too long to count.
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let unreadable = |expected: &str| Unreadable::new(text, expected);
        let mut rest = text.trim();
        let mut total = Exact::zero();
        let mut last_unit_ms = u64::MAX;
        if rest.is_empty() {
            return Err(unreadable(EXPECTED));
        }
        while !rest.is_empty() {
            let number_end = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
            let (number, after) = rest.split_at(number_end);
            let after = after.trim_start();
            let word_end = after.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(after.len());
            let (word, after) = after.split_at(word_end);
            let unit_ms = match word {
                "d" => MS_PER_D,
                "h" => MS_PER_H,
                "min" => MS_PER_MIN,
                "s" => MS_PER_S,
                "ms" => 1,
                _ => return Err(unreadable(EXPECTED)),
            };
            if unit_ms >= last_unit_ms {
                return Err(unreadable(
                    "days, hours, minutes and seconds in that order, each once, such as \"2 min 30 s\"",
                ));
            }
            last_unit_ms = unit_ms;
            let number: Exact = number.parse().map_err(|_| unreadable(EXPECTED))?;
            let unit_ms = i64::try_from(unit_ms).map_err(|_| unreadable(EXPECTED))?;
            total = total + number * Exact::from_int(unit_ms);
            rest = after.trim_start();
        }
        if !total.is_whole() {
            return Err(unreadable("a whole number of milliseconds"));
        }
        total.to_u64().map(Span).ok_or_else(|| unreadable("a shorter span"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_read_and_shown_as_a_procedure_writes_them() {
        for (text, millis, shown) in [
            ("45 s", 45_000, "45 s"),
            ("45s", 45_000, "45 s"),
            ("2 min", 120_000, "2 min"),
            ("2 min 30 s", 150_000, "2 min 30 s"),
            ("2min30s", 150_000, "2 min 30 s"),
            (" 2  min  30  s ", 150_000, "2 min 30 s"),
            ("2.5 min", 150_000, "2 min 30 s"),
            ("150 s", 150_000, "2 min 30 s"),
            ("1.5 s", 1_500, "1.5 s"),
            ("5 min", 300_000, "5 min"),
            ("24 h", 86_400_000, "24 h"),
            ("7 d", 604_800_000, "168 h"),
            ("1 d 12 h", 129_600_000, "36 h"),
            ("90 min", 5_400_000, "1 h 30 min"),
            ("1 h 2 min 3 s 4 ms", 3_723_004, "1 h 2 min 3.004 s"),
            ("500 ms", 500, "0.5 s"),
            ("0 s", 0, "0 s"),
            ("18446744073709551615 ms", u64::MAX, "5124095576030 h 25 min 51.615 s"),
        ] {
            let span: Span = text.parse().unwrap();
            assert_eq!((span.as_millis(), span.to_string().as_str()), (millis, shown), "written {text:?}");
            assert_eq!(shown.parse(), Ok(span), "shown {shown:?}");
        }
    }

    #[test]
    fn a_span_nobody_can_time_is_refused() {
        for text in [
            "",
            " ",
            "45",
            "s",
            "45 x",
            "45 sec",
            "-1 s",
            "+1 s",
            "1,5 s",
            "1. s",
            ".5 s",
            "30 s 2 min",
            "2 s 3 s",
            "2 min 30",
            "2 min, 30 s",
            "0.5 ms",
            "1e3 s",
            "18446744073709551616 ms",
            "6000000000000 h",
            "2 µs",
            "٣ s",
        ] {
            assert!(text.parse::<Span>().is_err(), "written {text:?}");
        }
        assert_eq!(
            "45".parse::<Span>().unwrap_err().to_string(),
            r#"cannot read "45": expected a span of time such as "45 s", "2 min", "2 min 30 s", "24 h" or "7 d""#
        );
    }

    #[test]
    fn time_gone_by_rounds_down_and_time_left_rounds_up() {
        for (millis, gone, left) in [
            (0, "0:00", "0:00"),
            (1, "0:00", "0:01"),
            (5_000, "0:05", "0:05"),
            (59_999, "0:59", "1:00"),
            (150_000, "2:30", "2:30"),
            (3_599_001, "59:59", "1:00:00"),
            (3_723_000, "1:02:03", "1:02:03"),
            (86_400_000, "24:00:00", "24:00:00"),
        ] {
            assert_eq!((Span(millis).clock().as_str(), Span(millis).clock_up().as_str()), (gone, left), "{millis} ms");
        }
        assert_eq!(Span::from_secs(u64::MAX), Span(u64::MAX));
        assert_eq!(Span(u64::MAX).clock_up(), "5124095576030:25:52");
    }
}
