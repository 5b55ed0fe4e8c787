//! Labels of specimens, and what they are made for.
//!
//! Here: the labels of a set, which of its specimens are broken at which age, when that is, and within what time. Not
//! here: a calendar file, which the sheet writes; the ages, which the site file or the procedure states.
//!
//! **Invariant:** every specimen has one label and one use, and none is invented: what is missing from a short set is
//! said.

use engine::Wall;
use quantity::Span;

use crate::calendar::{Date, earlier, later};
use crate::site::Specimens;

/// The labels of a set: "HB-14-1", "HB-14-2", or with letters "HB-14-A", "HB-14-B".
///
/// After Z come AA, AB and so on. An empty prefix or set is left out with its hyphen.
///
/// ```
/// use bench::labels::labels;
///
/// assert_eq!(labels("HB", "14", 2, false), ["HB-14-1", "HB-14-2"]);
/// assert_eq!(labels("HB", "14", 2, true), ["HB-14-A", "HB-14-B"]);
/// ```
pub fn labels(prefix: &str, set: &str, count: u32, letters: bool) -> Vec<String> {
    (1..=count)
        .map(|number| {
            let number = if letters { lettered(number) } else { number.to_string() };
            let parts = [prefix.trim(), set.trim(), &number];
            parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
        })
        .collect()
}

/// 1 is A, 26 is Z, 27 is AA.
fn lettered(number: u32) -> String {
    let mut rest = number;
    let mut letters = Vec::new();
    while rest > 0 {
        letters.push(char::from(b'A' + u8::try_from((rest - 1) % 26).unwrap_or(0)));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}

/// What specimens are wanted for: an appointment of a procedure, or an age of the site file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wanted {
    /// What happens, such as "Break at 7 d".
    pub what: String,
    /// When.
    pub at: Wall,
    /// How much earlier or later will do.
    pub give_or_take: Option<Span>,
    /// How many specimens; `None` if it is not about specimens.
    pub count: Option<u32>,
}

/// Something due on a day, with the specimens it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Appointment {
    /// What happens.
    pub what: String,
    /// When.
    pub at: Wall,
    /// The day it falls on; `None` only beyond the ends of the calendar.
    pub date: Option<Date>,
    /// The earliest and the latest moment that will do, if that is stated.
    pub window: Option<(Wall, Wall)>,
    /// The labels of the specimens.
    pub labels: Vec<String>,
    /// How many specimens are missing because the set is short.
    pub missing: u32,
}

/// A set shared out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shared {
    /// In the order wanted.
    pub appointments: Vec<Appointment>,
    /// The labels that are left: the reserve.
    pub reserve: Vec<String>,
    /// How many of the reserve wanted are missing.
    pub reserve_missing: u32,
}

/// Shares the specimens of a set out, in the order wanted; what is left is the reserve, which comes last.
///
/// A short set is missing at the end of that order: which age may do without is for the laboratory to say, by the order
/// in which it lists them.
pub fn share(labels: &[String], wanted: &[Wanted], reserve: u32) -> Shared {
    let mut left = labels.iter().cloned();
    let appointments = wanted
        .iter()
        .map(|wanted| {
            let count = wanted.count.unwrap_or(0);
            let labels: Vec<String> = left.by_ref().take(count as usize).collect();
            let missing = count - u32::try_from(labels.len()).unwrap_or(count);
            let window = wanted.give_or_take.map(|span| (earlier(wanted.at, span), later(wanted.at, span)));
            Appointment { what: wanted.what.clone(), at: wanted.at, date: Date::of(wanted.at), window, labels, missing }
        })
        .collect();
    let reserve_labels: Vec<String> = left.collect();
    let reserve_missing = reserve.saturating_sub(u32::try_from(reserve_labels.len()).unwrap_or(reserve));
    Shared { appointments, reserve: reserve_labels, reserve_missing }
}

/// What the site file wants of a set moulded at a moment, age by age.
pub fn wanted(specimens: &Specimens, moulded: Wall) -> Vec<Wanted> {
    let one = |age: &crate::site::Break| Wanted {
        what: format!("Break at {}", age.written),
        at: later(moulded, age.age),
        give_or_take: age.give_or_take,
        count: Some(age.count),
    };
    specimens.breaks.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calendar::said;
    use crate::site::Break;

    /// 2026-05-14 07:30 in a place five hours behind UTC.
    const MOULDED: Wall = Wall { unix_ms: 1_778_761_800_000, offset_min: -300 };
    const DAY: Span = Span::from_secs(86_400);

    fn six() -> Specimens {
        let age = |days: u64, count, hours: u64| Break {
            age: Span(days * DAY.0),
            written: format!("{days} d"),
            give_or_take: Some(Span::from_secs(hours * 3600)),
            count,
        };
        Specimens {
            label: Some("HB".to_owned()),
            breaks: vec![age(7, 2, 6), age(28, 2, 20)],
            reserve: 2,
            ..Specimens::default()
        }
    }

    #[test]
    fn specimens_are_numbered_or_lettered() {
        assert_eq!(labels("HB", "14", 6, false).last().unwrap(), "HB-14-6");
        assert_eq!(labels("", "14", 1, false), ["14-1"]);
        assert_eq!(labels("HB", "", 1, true), ["HB-A"]);
        assert!(labels("HB", "14", 0, false).is_empty());
        let many = labels("", "", 703, true);
        assert_eq!(
            [&many[25], &many[26], &many[51], &many[52], &many[701], &many[702]],
            ["Z", "AA", "AZ", "BA", "ZZ", "AAA"]
        );
        let unique: std::collections::BTreeSet<_> = many.iter().collect();
        assert_eq!(unique.len(), 703);
    }

    #[test]
    fn a_full_set_is_shared_out_by_age_and_the_rest_is_the_reserve() {
        let shared = share(&labels("HB", "14", 6, false), &wanted(&six(), MOULDED), 2);
        let told: Vec<_> = shared
            .appointments
            .iter()
            .map(|one| format!("{}: {} {}", one.what, said(one.at).unwrap(), one.labels.join(" ")))
            .collect();
        assert_eq!(
            told,
            [
                "Break at 7 d: Thursday 2026-05-21, 07:30 HB-14-1 HB-14-2",
                "Break at 28 d: Thursday 2026-06-11, 07:30 HB-14-3 HB-14-4",
            ]
        );
        assert_eq!(shared.reserve, ["HB-14-5", "HB-14-6"]);
        assert_eq!(shared.reserve_missing, 0);
        let (from, to) = shared.appointments[1].window.unwrap();
        assert_eq!(said(from).unwrap(), "Wednesday 2026-06-10, 11:30");
        assert_eq!(said(to).unwrap(), "Friday 2026-06-12, 03:30");
    }

    #[test]
    fn what_a_short_set_lacks_is_said() {
        let shared = share(&labels("HB", "14", 3, false), &wanted(&six(), MOULDED), 2);
        let missing: Vec<u32> = shared.appointments.iter().map(|one| one.missing).collect();
        assert_eq!((missing, shared.reserve_missing), (vec![0, 1], 2));
        assert_eq!(shared.appointments[1].labels, ["HB-14-3"]);
        assert!(shared.reserve.is_empty());
        let shared = share(&labels("HB", "14", 8, false), &wanted(&six(), MOULDED), 2);
        assert_eq!(shared.reserve.len(), 4, "more than was wanted is reserve too");
    }
}
