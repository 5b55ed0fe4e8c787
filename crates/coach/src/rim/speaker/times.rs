//! The run's ticks on the desk's clock.
//!
//! Here: the one mapping between them. Not here: what happens at a moment.
//!
//! **Invariant:** the same tick is always the same moment, however often it is asked; a plan told twice would otherwise be
//! two plans.

use std::time::Duration;

use engine::Tick;

use super::super::clock::{self, Timepiece};

/// The desk's clock at the start: a moment may lie before it, and be late.
pub const HEAD: u64 = 3_600_000;
/// The run's ticks on the desk's clock.
#[derive(Clone, Debug)]
pub struct Times {
    /// The steady clock when the run's count was `tick`, and the desk's [`HEAD`].
    zero: Duration,
    tick: u64,
    speed: u64,
}

impl Times {
    /// Of this clock.
    pub fn new(clock: &Timepiece) -> Self {
        // A whole tick to come: then no part of one is left over.
        let tick = Tick(clock.tick().0.saturating_add(1));
        let zero = clock::steady().saturating_add(clock.until(tick));
        Self { zero, tick: tick.0, speed: u64::from(clock.speed().max(1)) }
    }

    /// Now, on the desk's clock.
    pub fn now(&self) -> u64 {
        let steady = clock::steady();
        let ms = |span: Duration| u64::try_from(span.as_millis()).unwrap_or(u64::MAX);
        if steady >= self.zero {
            HEAD.saturating_add(ms(steady - self.zero))
        } else {
            HEAD - ms(self.zero - steady).min(HEAD)
        }
    }

    /// How long it is until the desk's clock shows this.
    pub fn until(&self, ms: u64) -> Duration {
        let since_zero = Duration::from_millis(ms.saturating_sub(HEAD));
        self.zero.saturating_add(since_zero).saturating_sub(clock::steady())
    }

    /// A tick as a moment of the desk's clock.
    pub fn of(&self, tick: u64) -> u64 {
        if tick >= self.tick {
            HEAD.saturating_add((tick - self.tick) / self.speed)
        } else {
            HEAD.saturating_sub((self.tick - tick).div_ceil(self.speed))
        }
    }

    /// A moment of the desk's clock as a tick.
    pub fn tick(&self, ms: u64) -> Tick {
        if ms >= HEAD {
            Tick(self.tick.saturating_add((ms - HEAD).saturating_mul(self.speed)))
        } else {
            Tick(self.tick.saturating_sub((HEAD - ms).saturating_mul(self.speed)))
        }
    }
}

#[cfg(test)]
mod tests {
    use engine::Wall;

    use super::*;

    #[test]
    fn a_moment_told_twice_is_the_same_moment_at_any_speed() {
        for speed in [1, 7, 60] {
            let clock = Timepiece::simulated(speed, Wall { unix_ms: 0, offset_min: 0 }, Tick(1_000_000));
            let times = Times::new(&clock);
            let tick = times.tick;
            let first: Vec<u64> = (tick - 5_000..tick + 5_000).map(|tick| times.of(tick)).collect();
            let again: Vec<u64> = (tick - 5_000..tick + 5_000).map(|tick| times.of(tick)).collect();
            assert_eq!(first, again);
            assert!(first.is_sorted());
            assert_eq!(times.of(tick + 60 * 7 * 1_000), HEAD + 60 * 7 * 1_000 / u64::from(speed));
            assert_eq!(times.tick(times.of(tick + 60 * 7 * 1_000)), Tick(tick + 60 * 7 * 1_000));
        }
    }

    #[test]
    fn a_moment_before_the_start_is_late_and_not_now() {
        let times = Times::new(&Timepiece::live(Tick(100_000)));
        assert!(times.of(90_000) <= times.now() - 10_000);
        assert_eq!(times.of(0), HEAD - 100_001);
        assert_eq!(Times::new(&Timepiece::live(Tick(0))).of(0), HEAD - 1);
    }
}
