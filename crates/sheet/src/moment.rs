//! Moments and spans as a person reads them.
//!
//! The one form read is RFC 3339 (`2026-05-14T07:44:30-05:00`) for moments and `2026-05-14` for days. Nothing here asks
//! what time it is.
//!
//! **Invariant:** a text that is not in that form is shown as it stands, never dropped and never guessed at.

use crate::Measured;

const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const WEEKDAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

/// A day of the calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Day {
    year: i64,
    month: i64,
    day: i64,
}

/// A moment of the wall clock with its offset from UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Moment {
    day: Day,
    second_of_day: i64,
    offset_s: i64,
}

impl Day {
    /// Reads `2026-05-14`.
    pub(crate) fn read(text: &str) -> Option<Self> {
        let bytes = text.as_bytes();
        if bytes.len() != 10 || bytes[4] != b'-' || bytes[7] != b'-' {
            return None;
        }
        let day = Self { year: digits(&text[0..4])?, month: digits(&text[5..7])?, day: digits(&text[8..10])? };
        // The day must exist: through the count of days and back it stays the same.
        ((1..=12).contains(&day.month) && Self::of_count(day.count()) == day).then_some(day)
    }

    /// Days since 1 March 0000 of the proleptic Gregorian calendar, so that leap days come last in a year.
    fn count(self) -> i64 {
        let year = if self.month <= 2 { self.year - 1 } else { self.year };
        let month = (self.month + 9) % 12;
        let century_part = year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400);
        365 * year + century_part + (153 * month + 2) / 5 + self.day - 1
    }

    fn of_count(count: i64) -> Self {
        let era = count.div_euclid(146_097);
        let of_era = count.rem_euclid(146_097);
        let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
        let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let month = (5 * of_year + 2) / 153;
        let calendar_month = if month < 10 { month + 3 } else { month - 9 };
        let year = era * 400 + year_of_era + i64::from(calendar_month <= 2);
        Self { year, month: calendar_month, day: of_year - (153 * month + 2) / 5 + 1 }
    }

    fn month_name(self) -> &'static str {
        usize::try_from(self.month - 1).ok().and_then(|n| MONTHS.get(n)).copied().unwrap_or_default()
    }

    /// `14 May 2026`.
    pub(crate) fn words(self) -> String {
        format!("{} {} {}", self.day, self.month_name(), self.year)
    }

    fn weekday(self) -> &'static str {
        // 1 March 0000 was a Wednesday.
        let n = (self.count() + 2).rem_euclid(7);
        usize::try_from(n).ok().and_then(|n| WEEKDAYS.get(n)).copied().unwrap_or_default()
    }
}

fn digits(text: &str) -> Option<i64> {
    text.bytes().all(|byte| byte.is_ascii_digit()).then(|| text.parse().ok()).flatten()
}

impl Moment {
    /// Reads `2026-05-14T07:44:30-05:00`, with or without parts of a second, which are left out.
    pub(crate) fn read(text: &str) -> Option<Self> {
        if !text.is_ascii() || text.len() < 20 || !matches!(text.as_bytes()[10], b'T' | b't' | b' ') {
            return None;
        }
        let day = Day::read(&text[..10])?;
        let clock = &text.as_bytes()[11..19];
        if clock[2] != b':' || clock[5] != b':' {
            return None;
        }
        let (hours, minutes, seconds) = (digits(&text[11..13])?, digits(&text[14..16])?, digits(&text[17..19])?);
        // A leap second is 60.
        if hours > 23 || minutes > 59 || seconds > 60 {
            return None;
        }
        let mut rest = &text[19..];
        if let Some(fraction) = rest.strip_prefix('.') {
            let end = fraction.find(|c: char| !c.is_ascii_digit())?;
            if end == 0 {
                return None;
            }
            rest = &fraction[end..];
        }
        let offset_s = offset(rest)?;
        Some(Self { day, second_of_day: hours * 3600 + minutes * 60 + seconds, offset_s })
    }

    /// Seconds since a fixed day, in UTC: to order moments by.
    pub(crate) fn utc_s(self) -> i64 {
        self.day.count() * 86_400 + self.second_of_day - self.offset_s
    }

    /// The form of iCalendar: `20260521T130500Z`.
    pub(crate) fn utc_basic(self) -> String {
        let utc = self.utc_s();
        let day = Day::of_count(utc.div_euclid(86_400));
        let (hours, minutes, seconds) = clock(utc.rem_euclid(86_400));
        format!("{:04}{:02}{:02}T{hours:02}{minutes:02}{seconds:02}Z", day.year, day.month, day.day)
    }

    /// `07:44:30`.
    fn clock_words(self) -> String {
        let (hours, minutes, seconds) = clock(self.second_of_day);
        format!("{hours:02}:{minutes:02}:{seconds:02}")
    }

    /// `Thu 21 May 2026, 08:05`. Nobody comes to another day's appointment by the second.
    fn long_words(self) -> String {
        let (hours, minutes, _) = clock(self.second_of_day);
        format!("{} {}, {hours:02}:{minutes:02}", self.day.weekday(), self.day.words())
    }

    fn offset_words(self) -> String {
        let sign = if self.offset_s < 0 { '\u{2212}' } else { '+' };
        let minutes = self.offset_s.abs() / 60;
        format!("UTC{sign}{:02}:{:02}", minutes / 60, minutes % 60)
    }
}

fn clock(second_of_day: i64) -> (i64, i64, i64) {
    (second_of_day / 3600, second_of_day / 60 % 60, second_of_day % 60)
}

/// `Z` or `±hh:mm` in seconds.
fn offset(text: &str) -> Option<i64> {
    if matches!(text, "Z" | "z") {
        return Some(0);
    }
    let bytes = text.as_bytes();
    if !text.is_ascii() || bytes.len() != 6 || bytes[3] != b':' {
        return None;
    }
    let (hours, minutes) = (digits(&text[1..3])?, digits(&text[4..6])?);
    if hours > 23 || minutes > 59 {
        return None;
    }
    match bytes[0] {
        b'+' => Some(hours * 3600 + minutes * 60),
        b'-' => Some(-(hours * 3600 + minutes * 60)),
        _ => None,
    }
}

/// `2026-05-14` as `14 May 2026`.
pub(crate) fn day_words(text: &str) -> String {
    Day::read(text).map_or_else(|| text.to_owned(), Day::words)
}

/// `-05:00` as `UTC−05:00`.
pub(crate) fn offset_words(text: &str) -> String {
    match offset(text) {
        Some(offset_s) => Moment { day: Day { year: 0, month: 3, day: 1 }, second_of_day: 0, offset_s }.offset_words(),
        None if text.is_empty() => String::new(),
        None => format!("UTC {text}"),
    }
}

/// A moment on a sheet of the day `on` and the offset `here`: the clock alone on that day, else the day as well, and the
/// offset where it is another one.
pub(crate) fn at_words(text: &str, on: &str, here: &str) -> String {
    let Some(moment) = Moment::read(text) else { return text.to_owned() };
    let words = if Day::read(on) == Some(moment.day) { moment.clock_words() } else { moment.long_words() };
    let elsewhere = offset(here).is_some_and(|here| here != moment.offset_s);
    if elsewhere { format!("{words} {}", moment.offset_words()) } else { words }
}

/// A moment with its weekday and day, and its offset where that is not `here`.
pub(crate) fn due_words(text: &str, here: &str) -> String {
    at_words(text, "", here)
}

/// A span in seconds as `2 min 30 s`; anything else as it stands.
pub(crate) fn span_words(span: &Measured) -> String {
    if span.unit != "s" {
        return span.to_string();
    }
    let (whole, part) = span.value.split_once('.').map_or((span.value.as_str(), ""), |(whole, part)| (whole, part));
    let (sign, whole) = whole.strip_prefix('-').map_or(("", whole), |whole| ("\u{2212}", whole));
    let part = part.trim_end_matches('0');
    let Some(total) = digits(whole).filter(|_| !whole.is_empty()) else { return span.to_string() };
    let (hours, minutes, seconds) = (total / 3600, total / 60 % 60, total % 60);
    let seconds_words = if part.is_empty() { format!("{seconds} s") } else { format!("{seconds}.{part} s") };
    let mut words = Vec::new();
    if hours > 0 {
        words.push(format!("{hours} h"));
    }
    if minutes > 0 {
        words.push(format!("{minutes} min"));
    }
    if seconds > 0 || !part.is_empty() || words.is_empty() {
        words.push(seconds_words);
    }
    format!("{sign}{}", words.join(" "))
}

/// A span of less than an hour as a stopwatch shows it, `4:24`, under a minute `4.7 s`; a longer one in words.
pub(crate) fn stopwatch(span: &Measured) -> String {
    let (whole, part) = span.value.split_once('.').unwrap_or((&span.value, ""));
    match digits(whole).filter(|_| span.unit == "s" && !whole.is_empty()) {
        Some(total @ 60..3600) => {
            let part = part.trim_end_matches('0');
            let point = if part.is_empty() { "" } else { "." };
            format!("{}:{:02}{point}{part}", total / 60, total % 60)
        }
        _ => span_words(span),
    }
}

/// A span of `s`, `min`, `h` or `d` in whole seconds, if it is one.
pub(crate) fn span_s(span: &Measured) -> Option<i64> {
    let each = match span.unit.as_str() {
        "s" => 1,
        "min" => 60,
        "h" => 3600,
        "d" => 86_400,
        _ => return None,
    };
    let (whole, part) = span.value.split_once('.').unwrap_or((&span.value, ""));
    if whole.is_empty() || part.len() > 9 {
        return None;
    }
    let part_s = if part.is_empty() {
        0
    } else {
        digits(part)?.checked_mul(each)? / 10_i64.pow(u32::try_from(part.len()).ok()?)
    };
    digits(whole)?.checked_mul(each)?.checked_add(part_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_day_of_eight_centuries_is_the_day_after_the_one_before() {
        let mut day = Day { year: 1600, month: 1, day: 1 };
        assert_eq!(day.weekday(), "Sat");
        let mut count = day.count();
        while day.year < 2400 {
            assert_eq!(Day::of_count(count), day);
            let leap = day.year % 4 == 0 && (day.year % 100 != 0 || day.year % 400 == 0);
            let long =
                [31, if leap { 29 } else { 28 }, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][(day.month - 1) as usize];
            day = if day.day < long {
                Day { day: day.day + 1, ..day }
            } else if day.month < 12 {
                Day { day: 1, month: day.month + 1, ..day }
            } else {
                Day { day: 1, month: 1, year: day.year + 1 }
            };
            count += 1;
        }
    }

    #[test]
    fn a_moment_is_told_as_shortly_as_the_page_allows() {
        let here = "-05:00";
        for (text, words) in [
            ("2026-05-14T07:44:30-05:00", "07:44:30"),
            ("2026-05-14T07:44:30.25-05:00", "07:44:30"),
            ("2026-05-21T08:05:59-05:00", "Thu 21 May 2026, 08:05"),
            ("2026-05-14T12:44:30Z", "12:44:30 UTC+00:00"),
            ("2026-02-30T12:44:30Z", "2026-02-30T12:44:30Z"),
            ("2026-05-14T24:00:00Z", "2026-05-14T24:00:00Z"),
            ("soon", "soon"),
            ("", ""),
        ] {
            assert_eq!(at_words(text, "2026-05-14", here), words, "{text}");
        }
    }

    #[test]
    fn utc_crosses_the_ends_of_days_and_years() {
        for (text, utc) in [
            ("2026-05-21T08:05:00-05:00", "20260521T130500Z"),
            ("2026-12-31T23:30:00-01:00", "20270101T003000Z"),
            ("2028-03-01T00:30:00+05:45", "20280229T184500Z"),
        ] {
            assert_eq!(Moment::read(text).unwrap().utc_basic(), utc);
        }
    }

    #[test]
    fn spans_are_told_in_hours_minutes_and_seconds() {
        for (value, words) in [
            ("150", "2 min 30 s"),
            ("300", "5 min"),
            ("0", "0 s"),
            ("4.7", "4.7 s"),
            ("60.50", "1 min 0.5 s"),
            ("172800", "48 h"),
            ("-12", "−12 s"),
            ("about 3", "about 3 s"),
        ] {
            assert_eq!(span_words(&Measured::new(value, "s")), words);
        }
        assert_eq!(span_words(&Measured::new("6", "h")), "6 h");
        for (value, words) in [("264", "4:24"), ("300", "5:00"), ("4.7", "4.7 s"), ("98.50", "1:38.5"), ("3600", "1 h")]
        {
            assert_eq!(stopwatch(&Measured::new(value, "s")), words);
        }
        assert_eq!(stopwatch(&Measured::new("6", "h")), "6 h");
        for (value, unit, seconds) in [
            ("6", "h", Some(21_600)),
            ("0.5", "h", Some(1800)),
            ("1", "d", Some(86_400)),
            ("x", "h", None),
            ("1", "in", None),
        ] {
            assert_eq!(span_s(&Measured::new(value, unit)), seconds, "{value} {unit}");
        }
    }
}
