//! When something is asked again: the published FSRS-6 algorithm.
//!
//! Here: the memory model (stability, difficulty, chance of recall) with its 21 default parameters, and the interval in
//! whole days that follows from it. Own code, written from the published description; checked against the PyPI package
//! `fsrs` by the histories kept in `reference/`. Not here: what is asked, and what counts as a good answer.
//!
//! Two deliberate differences from that package: the days between two tries are days of the calendar, since a session is
//! a thing of a day and not of an hour; and there are no learning steps in minutes, since a wrong item comes back within
//! its session by the count of items in between (see [`crate::session`]).
//!
//! **Invariant:** what leaves this module for others to decide on is whole days or whole per mille. The last bit of a
//! power or a logarithm may differ from one platform to another; nothing outside compares on it.
#![expect(clippy::float_arithmetic, reason = "a memory model is real numbers; no reading, limit or result is near it")]

/// How a try went, as the memory model knows it.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rating {
    /// Wrong.
    Again,
    /// Right, with help or slowly.
    Hard,
    /// Right.
    Good,
    /// Right without effort. Nothing here ever gives it: no screen can see effort. It belongs to the model.
    Easy,
}

impl Rating {
    /// 1 to 4, as the published formulas count them.
    fn grade(self) -> f64 {
        match self {
            Rating::Again => 1.0,
            Rating::Hard => 2.0,
            Rating::Good => 3.0,
            Rating::Easy => 4.0,
        }
    }
}

/// What the model holds of one item.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Memory {
    /// Days after which the chance of recall has fallen to 90 %.
    pub stability: f64,
    /// From 1, easy, to 10, hard.
    pub difficulty: f64,
}

/// The default parameters of FSRS-6, w0 to w20.
pub const PARAMETERS: [f64; 21] = [
    0.212, 1.2931, 2.3065, 8.2956, 6.4133, 0.8334, 3.0194, 0.001, 1.8722, 0.1666, 0.796, 1.4835, 0.0614, 0.2629,
    1.6483, 0.6014, 1.8729, 0.5425, 0.0912, 0.0658, 0.1542,
];

/// The least stability there is, in days.
const STABILITY_LEAST: f64 = 0.001;

/// The memory model with its settings.
///
/// ```
/// use practice::schedule::{Rating, Schedule};
///
/// let schedule = Schedule::default();
/// let mut memory = schedule.first(Rating::Good);
/// assert_eq!(schedule.interval_days(&memory), 2);
/// memory = schedule.next(&memory, Rating::Good, 2);
/// assert_eq!(schedule.interval_days(&memory), 11);
/// memory = schedule.next(&memory, Rating::Again, 11);
/// assert_eq!(schedule.interval_days(&memory), 2);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    /// w0 to w20.
    pub parameters: [f64; 21],
    /// The chance of recall at which an item is asked again.
    pub retention: f64,
    /// The longest interval.
    pub longest_days: i64,
}

impl Default for Schedule {
    /// The default parameters, a retention of 0.9, and at most a year: a licence is renewed after some years, and what
    /// was not asked for a year is worth a look.
    fn default() -> Self {
        Self { parameters: PARAMETERS, retention: 0.9, longest_days: 365 }
    }
}

impl Schedule {
    fn w(&self, n: usize) -> f64 {
        self.parameters[n]
    }

    /// The factor of the forgetting curve, so that the chance of recall after *S* days is 90 %.
    fn factor(&self) -> f64 {
        0.9_f64.powf(-1.0 / self.w(20)) - 1.0
    }

    /// The chance of recall after `days`: `R(t, S) = (1 + F · t/S)^(−w20)`.
    pub fn recall(&self, memory: &Memory, days: i64) -> f64 {
        let days = days.max(0) as f64;
        (1.0 + self.factor() * days / memory.stability).powf(-self.w(20))
    }

    /// The chance of recall after `days`, in whole per mille, for comparing and for showing.
    pub fn recall_per_mille(&self, memory: &Memory, days: i64) -> u32 {
        (self.recall(memory, days) * 1000.0).round().clamp(0.0, 1000.0) as u32
    }

    /// The memory after the first try.
    pub fn first(&self, rating: Rating) -> Memory {
        let stability = match rating {
            Rating::Again => self.w(0),
            Rating::Hard => self.w(1),
            Rating::Good => self.w(2),
            Rating::Easy => self.w(3),
        };
        Memory { stability: stability.max(STABILITY_LEAST), difficulty: self.first_difficulty(rating).clamp(1.0, 10.0) }
    }

    /// The memory after a further try, `days` after the one before; 0 is the same day.
    pub fn next(&self, memory: &Memory, rating: Rating, days: i64) -> Memory {
        let stability = if days < 1 {
            self.same_day(memory.stability, rating)
        } else {
            let recall = self.recall(memory, days);
            match rating {
                Rating::Again => self.forgotten(memory, recall),
                _ => self.recalled(memory, recall, rating),
            }
        };
        Memory {
            stability: stability.max(STABILITY_LEAST),
            difficulty: self.next_difficulty(memory.difficulty, rating),
        }
    }

    /// Whole days until the chance of recall has fallen to the wanted retention; at least one.
    pub fn interval_days(&self, memory: &Memory) -> i64 {
        let days = memory.stability / self.factor() * (self.retention.powf(-1.0 / self.w(20)) - 1.0);
        // A number too large for the type becomes its largest, which the bound then cuts.
        (days.round_ties_even() as i64).clamp(1, self.longest_days.max(1))
    }

    fn first_difficulty(&self, rating: Rating) -> f64 {
        self.w(4) - (self.w(5) * (rating.grade() - 1.0)).exp() + 1.0
    }

    /// Hard raises it, easy lowers it, less the nearer it is to 10; and it is drawn a little to that of an easy start.
    fn next_difficulty(&self, difficulty: f64, rating: Rating) -> f64 {
        let change = -self.w(6) * (rating.grade() - 3.0);
        let damped = difficulty + (10.0 - difficulty) * change / 9.0;
        let drawn = self.w(7) * self.first_difficulty(Rating::Easy) + (1.0 - self.w(7)) * damped;
        drawn.clamp(1.0, 10.0)
    }

    fn same_day(&self, stability: f64, rating: Rating) -> f64 {
        let grows = (self.w(17) * (rating.grade() - 3.0 + self.w(18))).exp() * stability.powf(-self.w(19));
        stability * if rating == Rating::Again { grows } else { grows.max(1.0) }
    }

    fn recalled(&self, memory: &Memory, recall: f64, rating: Rating) -> f64 {
        let by_rating = match rating {
            Rating::Hard => self.w(15),
            Rating::Easy => self.w(16),
            Rating::Again | Rating::Good => 1.0,
        };
        let growth = self.w(8).exp()
            * (11.0 - memory.difficulty)
            * memory.stability.powf(-self.w(9))
            * (((1.0 - recall) * self.w(10)).exp() - 1.0)
            * by_rating;
        memory.stability * (1.0 + growth)
    }

    fn forgotten(&self, memory: &Memory, recall: f64) -> f64 {
        let long = self.w(11)
            * memory.difficulty.powf(-self.w(12))
            * ((memory.stability + 1.0).powf(self.w(13)) - 1.0)
            * ((1.0 - recall) * self.w(14)).exp();
        // Forgetting never leaves more than another wrong try on the same day would.
        let short = memory.stability / (self.w(17) * self.w(18)).exp();
        long.min(short)
    }
}
