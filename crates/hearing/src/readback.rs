//! The question that stands between a spoken value and the record.
//!
//! Here: asking, asking again, waiting. Not here: what is asked about, and how it is said.
//!
//! | heard | then |
//! |-------|------|
//! | a value | it is read back; nothing is taken |
//! | confirmed | it is taken |
//! | denied | it is forgotten |
//! | another value | it replaces the first; the question begins anew |
//! | nothing for a while | it is read back again, twice; then it waits, and is still not taken |
//!
//! **Invariant:** a value comes out only after it was read back and then confirmed.

/// The time from one read-back to the next, in milliseconds.
pub const ASK_AGAIN_AFTER: u64 = 8_000;
/// How often it is asked again by itself.
pub const ASKED_AGAIN_AT_MOST: u8 = 2;

/// A value that was read back and is not confirmed yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Readback<V> {
    value: V,
    asked: u8,
    last: u64,
}

/// What is to be said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asked<V> {
    /// Read it back (again).
    Again(V),
    /// It waits silently now; say so once.
    Waits(V),
}

impl<V: Clone> Readback<V> {
    /// A value was heard at `now`; the caller reads it back at once.
    pub fn new(value: V, now: u64) -> Self {
        Self { value, asked: 0, last: now }
    }

    /// The value in question.
    pub fn value(&self) -> &V {
        &self.value
    }

    /// Whether it only waits.
    pub fn is_waiting(&self) -> bool {
        self.asked > ASKED_AGAIN_AT_MOST
    }

    /// When it is asked again by itself.
    pub fn next(&self) -> Option<u64> {
        (!self.is_waiting()).then(|| self.last.saturating_add(ASK_AGAIN_AFTER))
    }

    /// Time has passed: what is to be said now, if anything.
    pub fn pass(&mut self, now: u64) -> Option<Asked<V>> {
        if self.next().is_none_or(|next| now < next) {
            return None;
        }
        self.last = now;
        self.asked += 1;
        let value = self.value.clone();
        Some(if self.is_waiting() { Asked::Waits(value) } else { Asked::Again(value) })
    }

    /// Confirmed: the value may be taken.
    pub fn confirm(self) -> V {
        self.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unanswered_it_is_asked_twice_again_and_then_waits_for_ever() {
        let mut readback = Readback::new("4 1/2", 1_000);
        assert_eq!(readback.pass(8_999), None);
        assert_eq!(readback.pass(9_000), Some(Asked::Again("4 1/2")));
        assert_eq!(readback.pass(9_001), None);
        assert_eq!(readback.pass(17_000), Some(Asked::Again("4 1/2")));
        assert_eq!(readback.pass(25_000), Some(Asked::Waits("4 1/2")));
        assert_eq!(readback.next(), None);
        assert_eq!(readback.pass(u64::MAX), None);
        assert_eq!(readback.confirm(), "4 1/2", "and can be confirmed even then");
    }
}
