//! The values of an exam file: what is not read like in every other file.
//!
//! Here: lists in which nothing stands twice, times, days. Not here: keys, texts, words and counts
//! ([`procedure::reading`]), and what a key means ([`super::sections`]).
//!
//! **Invariant:** nothing stops at the first fault. Whatever cannot be read is reported once and left out.

use std::ops::Range;

use procedure::diagnose::Diagnostic;
use procedure::reading::{Manner, Part, Reader, Value, said};
use quantity::Span;

/// How an exam file is read.
pub(super) const MANNER: Manner = Manner {
    // A sheet has lines to put it in.
    longest_text: 120,
    no_table: |_| "write it under a header of its own, its keys below".to_owned(),
    no_text: |key, _| format!("write {key} = \"…\""),
};

/// Several texts, none of them twice.
pub(super) fn lines<'t>(
    reader: &mut Reader<'t>,
    name: &str,
    value: &'t Value<'t>,
    example: &str,
) -> Vec<(&'t str, Range<usize>)> {
    let mut found: Vec<(&str, Range<usize>)> = Vec::new();
    for (text, at) in reader.lines(name, value, example) {
        match found.iter().find(|(other, _)| *other == text) {
            Some((_, first)) => {
                let fault = Diagnostic::error("duplicate", format!("\"{}\" is named twice", said(text)))
                    .at(at, "second time")
                    .also(first.clone(), "first time here")
                    .help("take one of the two away");
                reader.push(fault);
            }
            None => found.push((text, at)),
        }
    }
    found
}

/// A time longer than nothing, at most a day, under a key that may be missing.
pub(super) fn span_of<'t>(reader: &mut Reader<'t>, part: &Part<'t>, name: &str) -> Option<Span> {
    let value = part.key(name)?.value;
    let text = reader.time_text(name, value)?;
    let day = Span::from_secs(86_400);
    let found = text.parse::<Span>().ok().filter(|span| *span > Span(0) && *span <= day);
    if found.is_none() {
        reader.push(
            Diagnostic::error("not-a-time", format!("\"{}\" is no time for a trial", said(text)))
                .at(reader.place(value), "expected a time up to a day, such as \"20 min\" or \"2 min 30 s\"")
                .help(format!("write {name} = \"20 min\"")),
        );
    }
    found
}

/// A day under a key that may be missing, in quotes or not; as it is written: year-month-day.
pub(super) fn day_of<'t>(reader: &mut Reader<'t>, part: &Part<'t>, name: &str) -> Option<String> {
    let value = part.key(name)?.value;
    let text = reader.date_text(name, value, "2026-05-15")?;
    if is_a_day(&text) {
        return Some(text);
    }
    reader.push(
        Diagnostic::error("not-a-date", format!("\"{}\" is not a date", said(&text)))
            .at(reader.place(value), "expected year, month and day of a day that there is")
            .help(format!("write {name} = 2026-05-15")),
    );
    None
}

/// A whole number from `least` to `most` under a key that may be missing.
pub(super) fn whole_of<'t>(reader: &mut Reader<'t>, part: &Part<'t>, name: &str, least: u32, most: u32) -> Option<u32> {
    reader.whole_of(part, name, least..=most, least, most.min(2))
}

fn is_a_day(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts[..] else { return false };
    let digits = |part: &str, n: usize| part.len() == n && part.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(year, 4) || !digits(month, 2) || !digits(day, 2) {
        return false;
    }
    let (Ok(year), Ok(month), Ok(day)) = (year.parse::<u32>(), month.parse::<u32>(), day.parse::<u32>()) else {
        return false;
    };
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let days = match month {
        2 => 28 + u32::from(leap),
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => 0,
    };
    (1..=days).contains(&day)
}

#[cfg(test)]
mod tests {
    use super::is_a_day;

    #[test]
    fn a_day_is_one_of_the_calendar() {
        for (text, is) in [
            ("2026-05-15", true),
            ("2024-02-29", true),
            ("2026-02-29", false),
            ("2000-02-29", true),
            ("1900-02-29", false),
            ("2026-04-31", false),
            ("2026-13-01", false),
            ("2026-5-1", false),
            ("15.05.2026", false),
            ("", false),
        ] {
            assert_eq!(is_a_day(text), is, "{text}");
        }
    }
}
