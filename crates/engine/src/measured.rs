//! What a clock or a counter can judge, for a run and for whoever marks one.
//!
//! Here: whether something lasted long enough and not too long, whether a count is as asked, whether a limited position
//! or a limit across steps was kept. Not here: what follows from it: a run refuses or finds, an examiner marks.
//!
//! **Invariant:** there is one rule for each of these in the whole house. A bound is included: exactly the least and
//! exactly the most are kept.

use std::fmt;

use procedure::Wants;
use quantity::Span;

/// How long something must last, and how long it may.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// The least time, included.
    pub at_least: Span,
    /// The most time, included, if there is one.
    pub at_most: Option<Span>,
}

/// How long something lasted, judged.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Lasted {
    /// Within its bounds.
    Kept {
        /// How long.
        lasted: Span,
    },
    /// Ended too early.
    TooShort {
        /// How long.
        lasted: Span,
        /// The least.
        at_least: Span,
    },
    /// Ended too late.
    TooLong {
        /// How long.
        lasted: Span,
        /// The most.
        at_most: Span,
    },
}

impl Bounds {
    /// The bounds of a step that lasts; `None` if it does not.
    ///
    /// For readings that settle it is the time from one reading to the next.
    pub fn of(wants: &Wants) -> Option<Bounds> {
        match wants {
            Wants::Hold { at_least, at_most, .. } => Some(Bounds { at_least: *at_least, at_most: *at_most }),
            Wants::Timed { at_least, at_most, .. } => Some(Bounds { at_least: *at_least, at_most: Some(*at_most) }),
            Wants::Settle(settle) => Some(Bounds { at_least: settle.every, at_most: None }),
            Wants::Act | Wants::Count { .. } | Wants::Read(_) => None,
        }
    }

    /// Judges a span.
    pub fn judge(self, lasted: Span) -> Lasted {
        if lasted < self.at_least {
            return Lasted::TooShort { lasted, at_least: self.at_least };
        }
        match self.at_most {
            Some(at_most) if is_over(at_most, lasted) => Lasted::TooLong { lasted, at_most },
            _ => Lasted::Kept { lasted },
        }
    }
}

impl Lasted {
    /// Whether the bounds were kept.
    pub fn is_kept(self) -> bool {
        matches!(self, Lasted::Kept { .. })
    }
}

impl fmt::Display for Lasted {
    /// "38 s; at least 45 s"
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Lasted::Kept { lasted } => write!(f, "{}", to_the_tenth(*lasted, false)),
            Lasted::TooShort { lasted, at_least } => {
                write!(f, "{}; at least {at_least}", to_the_tenth(*lasted, false))
            }
            Lasted::TooLong { lasted, at_most } => write!(f, "{}; at most {at_most}", to_the_tenth(*lasted, true)),
        }
    }
}

/// A time for a sentence: to a tenth of a second, away from the bound it broke, so that "45 s; at least 45 s" is never
/// said of 44.98 s.
pub fn to_the_tenth(span: Span, up: bool) -> Span {
    Span(if up { span.0.div_ceil(100) } else { span.0 / 100 } * 100)
}

/// Judges how long a step lasted; `None` if the step is none that lasts.
///
/// ```
/// use engine::measured::{Lasted, judge_span};
/// use procedure::Wants;
/// use quantity::Span;
///
/// let shake = Wants::Hold { at_least: Span::from_secs(45), at_most: None, turns: None, goes_on: false };
/// assert!(judge_span(&shake, Span::from_secs(45)).unwrap().is_kept());
/// assert_eq!(judge_span(&shake, Span::from_secs(38)).unwrap().to_string(), "38 s; at least 45 s");
/// ```
pub fn judge_span(wants: &Wants, lasted: Span) -> Option<Lasted> {
    Bounds::of(wants).map(|bounds| bounds.judge(lasted))
}

/// Whether something that may take `at_most` took longer: a limit across steps, a limited position, a whole trial.
pub fn is_over(at_most: Span, took: Span) -> bool {
    took > at_most
}

/// A count, judged.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Counted {
    /// As asked.
    Right,
    /// Some are missing.
    TooFew {
        /// How many.
        missing: u32,
    },
    /// Some are too many.
    TooMany {
        /// How many.
        over: u32,
    },
}

/// Judges a count against the least and the most, both included.
pub fn judge_count(at_least: u32, at_most: u32, given: u32) -> Counted {
    if given < at_least {
        Counted::TooFew { missing: at_least - given }
    } else if given > at_most {
        Counted::TooMany { over: given - at_most }
    } else {
        Counted::Right
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bound_is_included_and_a_millisecond_beyond_it_is_not() {
        let lift = Bounds { at_least: Span(3_000), at_most: Some(Span(7_000)) };
        for (lasted, said, kept) in [
            (2_999, "2.9 s; at least 3 s", false),
            (3_000, "3 s", true),
            (7_000, "7 s", true),
            (7_001, "7.1 s; at most 7 s", false),
        ] {
            let judged = lift.judge(Span(lasted));
            assert_eq!((judged.to_string().as_str(), judged.is_kept()), (said, kept), "{lasted} ms");
        }
        assert!(Bounds { at_least: Span(3_000), at_most: None }.judge(Span(u64::MAX)).is_kept());
    }

    #[test]
    fn a_count_says_how_many_are_missing_or_too_many() {
        for (given, judged) in [
            (24, Counted::TooFew { missing: 1 }),
            (25, Counted::Right),
            (26, Counted::Right),
            (28, Counted::TooMany { over: 2 }),
        ] {
            assert_eq!(judge_count(25, 26, given), judged, "{given}");
        }
    }

    #[test]
    fn an_act_without_a_time_has_nothing_to_judge() {
        assert_eq!(judge_span(&Wants::Act, Span(1)), None);
    }
}
