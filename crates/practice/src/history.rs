//! What somebody tried, and how it went: the entries everything else here is computed from.
//!
//! Here: the entries, as they are kept one to a line, and the list of them. Not here: the file, and what follows from
//! the entries ([`crate::standing`], [`crate::progress`]).
//!
//! **Invariant:** entries are only ever added. Items are named by their keys and kinds by their names, never by numbers,
//! so that a history outlives a new version of a procedure: what is no longer there is simply no longer asked.

use engine::Moment;
use serde::{Deserialize, Serialize};

use crate::help::Help;
use crate::question::Slip;

const MS_PER_DAY: i64 = 86_400_000;
const MS_PER_MIN: i64 = 60_000;

/// When something was: the wall clock with its offset.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub struct When {
    /// Milliseconds since 1970-01-01T00:00Z.
    pub unix_ms: i64,
    /// Minutes east of UTC.
    pub offset_min: i16,
}

impl When {
    /// The day of the calendar there and then, counted from 1970-01-01.
    ///
    /// ```
    /// use practice::history::When;
    ///
    /// // Half past eleven in the evening, five hours west of Greenwich: it is still the first of January there.
    /// let late = When { unix_ms: 86_400_000 + 4 * 3_600_000 + 1_800_000, offset_min: -300 };
    /// assert_eq!(late.day(), 0);
    /// ```
    pub fn day(self) -> i64 {
        (self.unix_ms + i64::from(self.offset_min) * MS_PER_MIN).div_euclid(MS_PER_DAY)
    }

    /// The same as text: `2026-05-14 07:30`.
    pub fn show(self) -> String {
        let local = self.unix_ms + i64::from(self.offset_min) * MS_PER_MIN;
        let minutes = local.rem_euclid(MS_PER_DAY) / MS_PER_MIN;
        format!("{} {:02}:{:02}", show_day(self.day()), minutes / 60, minutes % 60)
    }
}

impl From<Moment> for When {
    fn from(moment: Moment) -> Self {
        Self { unix_ms: moment.wall.unix_ms, offset_min: moment.wall.offset_min }
    }
}

/// A day of the calendar as text: `2026-05-14`.
///
/// Source: the usual conversion from a count of days (public domain, `H. Hinnant`, days and civil dates).
pub fn show_day(day: i64) -> String {
    let z = day + 719_468;
    let era = z.div_euclid(146_097);
    let of_era = z.rem_euclid(146_097);
    let year_of_era = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let shifted = (5 * of_year + 2) / 153;
    let date = of_year - (153 * shifted + 2) / 5 + 1;
    let month = if shifted < 10 { shifted + 3 } else { shifted - 9 };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    format!("{year:04}-{month:02}-{date:02}")
}

/// One entry of a history, one line of its file.
///
/// ```
/// use practice::history::Entry;
///
/// let line = r#"{"what":"tried","at":{"unix_ms":1778761800000,"offset_min":-300},"item":"slump/lift",
///     "help":"stage-only","right":false,"slip":"skipped","took_ms":6400}"#;
/// let Entry::Tried(tried) = serde_json::from_str(line).unwrap() else { panic!("another kind of entry") };
/// assert_eq!(tried.method(), "slump");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum Entry {
    /// A try at an item.
    Tried(Tried),
    /// A step performed on a run.
    Performed(Performed),
    /// A timed run without help.
    Trial(Trial),
    /// An act an examiner saw missed, brought here from a mock exam.
    MissedInExam(MissedInExam),
    /// The last try at an item was a slip of the finger: it does not count.
    TakenBack(TakenBack),
}

/// A try at an item.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tried {
    /// When.
    pub at: When,
    /// The item's key, such as `slump/lift` or `slump/lift#least`.
    pub item: String,
    /// The help given.
    pub help: Help,
    /// Whether it was right.
    pub right: bool,
    /// What kind of slip it was, where one can be told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slip: Option<Slip>,
    /// How long it took, in milliseconds.
    pub took_ms: u64,
}

impl Tried {
    /// The method, by its id: what stands before the `/` of the key.
    pub fn method(&self) -> &str {
        method_of(&self.item)
    }
}

/// The method an item belongs to, by its key.
pub fn method_of(item: &str) -> &str {
    item.split_once('/').map_or(item, |(method, _)| method)
}

/// A step performed on a run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Performed {
    /// When it was done.
    pub at: When,
    /// The key of the step, such as `slump/lift`.
    pub item: String,
    /// Whether the act was shown meanwhile.
    pub shown: bool,
    /// What the run refused, in its words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub refusals: Vec<String>,
    /// What the run noted, in its words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub findings: Vec<String>,
    /// What was read, and what would have been right.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<ReadingJudged>,
    /// How long it took, in milliseconds of the run.
    pub took_ms: u64,
}

/// A reading of a drawn instrument, and what would have been right.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadingJudged {
    /// What was given, as a person reads it: `5.25 %`.
    pub given: String,
    /// What would have been right: the nearest mark, or both where the pointer stands half way.
    pub right_answers: Vec<String>,
}

impl ReadingJudged {
    /// Whether it was read right.
    pub fn right(&self) -> bool {
        self.right_answers.contains(&self.given)
    }
}

/// How many of how many.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Share {
    /// Right ones.
    pub right: u32,
    /// All of them.
    pub of: u32,
}

impl Share {
    /// Counts one more.
    pub fn count(&mut self, right: bool) {
        self.right += u32::from(right);
        self.of += 1;
    }
    /// The share in per mille, rounded down so that only all of them is 1000; `None` of nothing.
    pub fn per_mille(self) -> Option<u32> {
        (self.of > 0).then(|| (u64::from(self.right) * 1000 / u64::from(self.of)) as u32)
    }
    /// `23 of 25 (92 %)`.
    pub fn words(self) -> String {
        match self.per_mille() {
            Some(share) => format!("{} of {} ({} %)", self.right, self.of, share / 10),
            None => "none yet".to_owned(),
        }
    }
}

/// A timed run without help, scored as an examiner would.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Trial {
    /// When it ended.
    pub at: When,
    /// The method, by its id.
    pub method: String,
    /// The unit system, as it is written: `SI`, `inch-pound`.
    pub system: String,
    /// The seed of the session; the same one gives the same questions again.
    pub seed: u64,
    /// Acts done right at the first try.
    pub acts: Share,
    /// Instruments read right.
    pub readings: Share,
    /// The acts missed, in order, with the reason.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub missed: Vec<Missed>,
    /// How long it took, from the first question to the last act, in milliseconds.
    pub took_ms: u64,
    /// Why it ended before the end of the procedure, if it did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub broken_off: Option<String>,
}

impl Trial {
    /// The rule: every act, and carried through to the end.
    pub fn passed(&self) -> bool {
        self.broken_off.is_none() && self.acts.of > 0 && self.acts.right == self.acts.of
    }
}

/// An act missed in a timed run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Missed {
    /// The key of the step.
    pub item: String,
    /// Why it does not count.
    pub because: String,
}

/// An act an examiner saw missed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MissedInExam {
    /// When it was brought here.
    pub at: When,
    /// The key of the step.
    pub item: String,
    /// Which exam, in its own words.
    pub exam: String,
}

impl MissedInExam {
    /// The entry for a step of an exam's mark sheet. A round of a step (`strokes@2`) is the step.
    ///
    /// ```
    /// use practice::history::{MissedInExam, When};
    ///
    /// let missed = MissedInExam::of(When::default(), "slump", "strokes-1@2", "Mock exam of May");
    /// assert_eq!(missed.item, "slump/strokes-1");
    /// ```
    pub fn of(at: When, method: &str, step: &str, exam: &str) -> Self {
        let step = step.split_once('@').map_or(step, |(step, _)| step);
        Self { at, item: format!("{method}/{step}"), exam: exam.to_owned() }
    }
}

/// The last try at an item does not count.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TakenBack {
    /// When.
    pub at: When,
    /// The item's key.
    pub item: String,
}

/// All entries, the oldest first.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct History {
    entries: Vec<Entry>,
}

impl History {
    /// The history of entries that were kept.
    pub fn of(entries: Vec<Entry>) -> Self {
        Self { entries }
    }
    /// Adds one.
    pub fn add(&mut self, entry: Entry) {
        self.entries.push(entry);
    }
    /// All of them.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }
    /// The entries that count: without the tries taken back, and without the takings back.
    pub fn counting(&self) -> Vec<&Entry> {
        let mut counting: Vec<&Entry> = Vec::with_capacity(self.entries.len());
        for entry in &self.entries {
            match entry {
                Entry::TakenBack(back) => {
                    let is_it = |entry: &&Entry| matches!(entry, Entry::Tried(tried) if tried.item == back.item);
                    if let Some(at) = counting.iter().rposition(is_it) {
                        counting.remove(at);
                    }
                }
                _ => counting.push(entry),
            }
        }
        counting
    }
    /// The timed runs of a method, the oldest first.
    pub fn trials<'h>(&'h self, method: &'h str) -> impl Iterator<Item = &'h Trial> + 'h {
        self.entries.iter().filter_map(move |entry| match entry {
            Entry::Trial(trial) if trial.method == method => Some(trial),
            _ => None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_written_as_the_calendar_has_them() {
        for (day, shown) in [
            (0, "1970-01-01"),
            (-1, "1969-12-31"),
            (11_016, "2000-02-29"),
            (20_587, "2026-05-14"),
            (20_453, "2025-12-31"),
        ] {
            assert_eq!(show_day(day), shown);
        }
        let when = When { unix_ms: 1_778_761_800_000, offset_min: -300 };
        assert_eq!(when.show(), "2026-05-14 07:30");
    }

    #[test]
    fn a_try_taken_back_does_not_count_and_the_one_before_it_does() {
        let at = When::default();
        let tried = |right| {
            let item = "slump/lift".to_owned();
            Entry::Tried(Tried { at, item, help: Help::Nothing, right, slip: None, took_ms: 1 })
        };
        let back = Entry::TakenBack(TakenBack { at, item: "slump/lift".to_owned() });
        let history = History::of(vec![tried(true), tried(false), back.clone()]);
        assert_eq!(history.counting(), [&tried(true)]);
        assert_eq!(History::of(vec![back]).counting(), Vec::<&Entry>::new(), "nothing to take back");
    }

    #[test]
    fn only_every_act_is_a_hundred_per_cent() {
        assert_eq!(Share { right: 999, of: 1000 }.words(), "999 of 1000 (99 %)");
        assert_eq!(Share { right: 25, of: 25 }.words(), "25 of 25 (100 %)");
        assert_eq!(Share::default().words(), "none yet");
    }
}
