//! Dates and moments as people write them.
//!
//! Here: a date ([`Date`]) read and written as RFC 3339 full-date, days between two dates, and a moment shown with its
//! own offset from UTC. The one place in this crate that leans on a calendar library. Not here: what day it is today;
//! that is always told.
//!
//! **Invariant:** nothing here asks a clock, and a moment keeps the offset it was told with: seven days later is 168
//! hours later, whatever a country does to its clocks in between.

use std::fmt;
use std::str::FromStr;

use chrono::{DateTime, Datelike, FixedOffset, NaiveDate};
use engine::Wall;
use quantity::Span;

/// A day of the calendar.
///
/// ```
/// use bench::calendar::Date;
///
/// let due: Date = "2026-09-30".parse().unwrap();
/// assert_eq!("2026-09-01".parse::<Date>().unwrap().days_until(due), 29);
/// assert!("2026-02-29".parse::<Date>().is_err());
/// ```
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(NaiveDate);

/// Why a text is no date.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotADate {
    /// Not the form year-month-day.
    #[error("expected a date written year-month-day, such as 2026-09-30")]
    Form,
    /// The form is right, and the calendar has no such day.
    #[error("the calendar has no such day")]
    NoSuchDay,
}

impl Date {
    /// The day a moment falls on, where its clock hangs.
    pub fn of(moment: Wall) -> Option<Date> {
        local(moment).map(|moment| Date(moment.date_naive()))
    }

    /// How many days later `other` is; negative if it is earlier.
    pub fn days_until(self, other: Date) -> i64 {
        other.0.signed_duration_since(self.0).num_days()
    }

    /// The name of the day of the week.
    pub fn weekday(self) -> &'static str {
        match self.0.weekday() {
            chrono::Weekday::Mon => "Monday",
            chrono::Weekday::Tue => "Tuesday",
            chrono::Weekday::Wed => "Wednesday",
            chrono::Weekday::Thu => "Thursday",
            chrono::Weekday::Fri => "Friday",
            chrono::Weekday::Sat => "Saturday",
            chrono::Weekday::Sun => "Sunday",
        }
    }
}

impl FromStr for Date {
    type Err = NotADate;

    /// Reads an RFC 3339 full-date: four digits, two, two.
    ///
    /// # Errors
    ///
    /// [`NotADate`].
    fn from_str(text: &str) -> Result<Self, NotADate> {
        let parts: Vec<&str> = text.split('-').collect();
        let digits = |part: &str, n: usize| part.len() == n && part.bytes().all(|byte| byte.is_ascii_digit());
        let [year, month, day] = parts[..] else { return Err(NotADate::Form) };
        if !(digits(year, 4) && digits(month, 2) && digits(day, 2)) {
            return Err(NotADate::Form);
        }
        let number = |part: &str| part.parse::<u32>().map_err(|_| NotADate::Form);
        let year = i32::try_from(number(year)?).map_err(|_| NotADate::Form)?;
        NaiveDate::from_ymd_opt(year, number(month)?, number(day)?).map(Date).ok_or(NotADate::NoSuchDay)
    }
}

impl fmt::Display for Date {
    /// RFC 3339 full-date.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0.format("%Y-%m-%d").to_string())
    }
}

/// The moment `span` later, with the same offset. A moment too far off to count stays at the end of what can be.
pub fn later(moment: Wall, span: Span) -> Wall {
    let span = i64::try_from(span.0).unwrap_or(i64::MAX);
    Wall { unix_ms: moment.unix_ms.saturating_add(span), ..moment }
}

/// The moment `span` earlier, with the same offset.
pub fn earlier(moment: Wall, span: Span) -> Wall {
    let span = i64::try_from(span.0).unwrap_or(i64::MAX);
    Wall { unix_ms: moment.unix_ms.saturating_sub(span), ..moment }
}

/// RFC 3339 to the minute's second: "2026-05-21T09:40:00-05:00". `None` for a moment no calendar reaches.
pub fn rfc3339(moment: Wall) -> Option<String> {
    local(moment).map(|moment| moment.format("%Y-%m-%dT%H:%M:%S%:z").to_string())
}

/// As it is said to a person: "Thursday 2026-05-21, 09:40". `None` for a moment no calendar reaches.
pub fn said(moment: Wall) -> Option<String> {
    let date = Date::of(moment)?;
    local(moment).map(|moment| format!("{} {date}, {}", date.weekday(), moment.format("%H:%M")))
}

fn local(moment: Wall) -> Option<DateTime<FixedOffset>> {
    let offset = FixedOffset::east_opt(i32::from(moment.offset_min) * 60)?;
    let utc = DateTime::from_timestamp_millis(moment.unix_ms)?;
    // Near the ends of the calendar the offset itself may lead out of it.
    utc.naive_utc().checked_add_offset(offset)?;
    Some(utc.with_timezone(&offset))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2026-05-14 07:30 in a place five hours behind UTC.
    const START: Wall = Wall { unix_ms: 1_778_761_800_000, offset_min: -300 };

    #[test]
    fn a_date_is_read_in_one_form_and_must_exist() {
        for text in ["2026-05-14", "2024-02-29", "0001-01-01", "9999-12-31"] {
            assert_eq!(text.parse::<Date>().unwrap().to_string(), text);
        }
        for (text, why) in [
            ("2026-02-29", NotADate::NoSuchDay),
            ("2026-13-01", NotADate::NoSuchDay),
            ("2026-00-10", NotADate::NoSuchDay),
            ("2026-5-14", NotADate::Form),
            ("14.05.2026", NotADate::Form),
            ("05/14/2026", NotADate::Form),
            ("2026-05-14T07:30:00Z", NotADate::Form),
            ("+026-05-14", NotADate::Form),
            ("", NotADate::Form),
        ] {
            assert_eq!(text.parse::<Date>(), Err(why), "{text}");
        }
    }

    #[test]
    fn days_are_counted_over_the_ends_of_months_and_leap_years() {
        let days = |from: &str, to: &str| from.parse::<Date>().unwrap().days_until(to.parse().unwrap());
        assert_eq!(days("2026-05-14", "2026-05-14"), 0);
        assert_eq!(days("2026-05-14", "2026-06-11"), 28);
        assert_eq!(days("2024-02-28", "2024-03-01"), 2);
        assert_eq!(days("2026-05-14", "2026-05-13"), -1);
    }

    #[test]
    fn seven_days_later_is_the_same_time_of_day_with_the_same_offset() {
        let due = later(START, Span::from_secs(7 * 86_400));
        assert_eq!(rfc3339(START).unwrap(), "2026-05-14T07:30:00-05:00");
        assert_eq!(rfc3339(due).unwrap(), "2026-05-21T07:30:00-05:00");
        assert_eq!(said(due).unwrap(), "Thursday 2026-05-21, 07:30");
        assert_eq!(earlier(due, Span::from_secs(7 * 86_400)), START);
    }

    #[test]
    fn the_day_is_the_day_where_the_clock_hangs() {
        let late = Wall { unix_ms: START.unix_ms + 20 * 3_600_000, ..START };
        assert_eq!(Date::of(late).unwrap().to_string(), "2026-05-15");
        let utc = Wall { offset_min: 0, ..late };
        assert_eq!(Date::of(utc).unwrap().to_string(), "2026-05-15");
        let west = Wall { unix_ms: START.unix_ms + 14 * 3_600_000, ..START };
        assert_eq!(Date::of(west).unwrap().to_string(), "2026-05-14", "21:30 here, 02:30 of the next day in UTC");
        assert_eq!(Date::of(Wall { offset_min: 0, ..west }).unwrap().to_string(), "2026-05-15");
    }

    #[test]
    fn a_moment_no_calendar_reaches_is_no_date_and_no_panic() {
        for unix_ms in [i64::MIN, i64::MAX, 8_210_266_876_799_999, -8_334_601_228_800_000] {
            for offset_min in [i16::MIN, -300, 0, 300, i16::MAX] {
                let moment = Wall { unix_ms, offset_min };
                let _ = (Date::of(moment), rfc3339(moment), said(moment));
            }
        }
        assert_eq!(Date::of(Wall { unix_ms: i64::MAX, offset_min: 0 }), None);
    }
}
