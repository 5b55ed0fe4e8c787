//! The two clocks of a run: a steady one for limits, the wall clock for the record.
//!
//! Here: reading the system's clocks, which nothing else in the house does, and simulated time for tests and
//! rehearsals. Not here: any judgement about time.
//!
//! | system | steady clock | goes on while the machine sleeps |
//! |--------|--------------|----------------------------------|
//! | Linux, Android | `CLOCK_BOOTTIME` | yes |
//! | macOS, iOS | `CLOCK_MONOTONIC` | yes, by its documentation; not tried here |
//! | other | the standard library's `Instant` | not promised: keep the machine awake during a test |
//!
//! **Invariant:** within one program run, ticks never run backwards.

use std::time::Duration;

use chrono::{DateTime, FixedOffset, Local, Offset, SecondsFormat, TimeZone};
use engine::{Moment, Tick, Wall};

/// Reads the clocks and counts a run's time.
#[derive(Clone, Debug)]
pub struct Timepiece {
    /// The steady clock when the count was `base`.
    origin: Duration,
    base: Tick,
    /// Run seconds per real second; 0 for a clock that is moved by hand.
    speed: u32,
    /// For simulated time: the wall clock when the count was 0.
    simulated: Option<Wall>,
}

impl Timepiece {
    /// Real time; the run's count stands at `base` now.
    pub fn live(base: Tick) -> Self {
        Self { origin: steady(), base, speed: 1, simulated: None }
    }

    /// Simulated time, `speed` times as fast as real time, for tests and rehearsals. `opened` is the wall
    /// clock when the run's count was 0; the count stands at `base` now.
    pub fn simulated(speed: u32, opened: Wall, base: Tick) -> Self {
        Self { origin: steady(), base, speed: speed.max(1), simulated: Some(opened) }
    }

    /// Simulated time that stands still until it is [put](Self::put) on: for scripts.
    pub fn by_hand(opened: Wall, base: Tick) -> Self {
        Self { origin: Duration::ZERO, base, speed: 0, simulated: Some(opened) }
    }

    /// Puts a clock that is [moved by hand](Self::by_hand) on to `tick`; never back. No other clock is changed.
    pub fn put(&mut self, tick: Tick) {
        if self.speed == 0 {
            self.base = self.base.max(tick);
        }
    }

    /// What the steady clock of this boot showed when the run's count was 0, in milliseconds: below 0 if the machine
    /// was started after the run was opened.
    pub fn origin_ms(&self) -> i64 {
        millis(self.origin).saturating_sub_unsigned(self.base.0)
    }

    /// Now.
    pub fn now(&self) -> Moment {
        let tick = self.tick();
        let wall = match self.simulated {
            Some(opened) => Wall { unix_ms: opened.unix_ms.saturating_add_unsigned(tick.0), ..opened },
            None => wall_now(),
        };
        Moment { tick, wall }
    }

    /// The run's count now.
    pub fn tick(&self) -> Tick {
        Tick((self.exact().as_millis()).try_into().unwrap_or(u64::MAX))
    }

    fn exact(&self) -> Duration {
        if self.speed == 0 {
            return Duration::from_millis(self.base.0);
        }
        let passed = steady().saturating_sub(self.origin);
        Duration::from_millis(self.base.0).saturating_add(passed.saturating_mul(self.speed))
    }

    /// How long it really is until the run's count is at `tick`; nothing if it is there.
    pub fn until(&self, tick: Tick) -> Duration {
        Duration::from_millis(tick.0).saturating_sub(self.exact()) / self.speed.max(1)
    }

    /// Where the count stood when this timepiece was made, or put last.
    pub fn base(&self) -> Tick {
        self.base
    }

    /// The same, its count never below `tick`.
    #[must_use]
    pub fn at_least(mut self, tick: Tick) -> Self {
        self.base = self.base.max(tick);
        self
    }

    /// Run seconds per real second.
    pub fn speed(&self) -> u32 {
        self.speed
    }

    /// Whether time is simulated.
    pub fn is_simulated(&self) -> bool {
        self.simulated.is_some()
    }

    /// The words that stand on the screen, in the record and in the report when time is simulated.
    pub fn said(&self) -> Option<String> {
        self.simulated.map(|_| match self.speed {
            0 => "simulated time, set by a script".to_owned(),
            speed => format!("simulated time ×{speed}"),
        })
    }
}

/// The steady clock of this boot.
#[cfg(unix)]
pub fn steady() -> Duration {
    #[cfg(any(target_os = "linux", target_os = "android"))]
    const CLOCK: rustix::time::ClockId = rustix::time::ClockId::Boottime;
    #[cfg(not(any(target_os = "linux", target_os = "android")))]
    const CLOCK: rustix::time::ClockId = rustix::time::ClockId::Monotonic;
    let now = rustix::time::clock_gettime(CLOCK);
    // Neither is ever negative on a steady clock.
    Duration::new(now.tv_sec.try_into().unwrap_or_default(), now.tv_nsec.try_into().unwrap_or_default())
}

/// The steady clock of this program run.
#[cfg(not(unix))]
pub fn steady() -> Duration {
    static FIRST: std::sync::OnceLock<std::time::Instant> = std::sync::OnceLock::new();
    FIRST.get_or_init(std::time::Instant::now).elapsed()
}

/// [`steady`] in milliseconds.
pub fn steady_ms() -> i64 {
    millis(steady())
}

fn millis(span: Duration) -> i64 {
    span.as_millis().try_into().unwrap_or(i64::MAX)
}

/// What tells one start of the machine from another; `None` where the system does not say.
pub fn boot() -> Option<String> {
    #[cfg(any(target_os = "linux", target_os = "android"))]
    {
        let id = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").ok()?;
        Some(id.trim().to_owned()).filter(|id| !id.is_empty())
    }
    #[cfg(not(any(target_os = "linux", target_os = "android")))]
    None
}

/// The wall clock with its offset.
pub fn wall_now() -> Wall {
    let now = Local::now();
    Wall { unix_ms: now.timestamp_millis(), offset_min: offset_min(now.offset().fix()) }
}

fn offset_min(offset: FixedOffset) -> i16 {
    (offset.local_minus_utc() / 60).try_into().unwrap_or_default()
}

fn date_time(wall: Wall) -> Option<DateTime<FixedOffset>> {
    let offset = FixedOffset::east_opt(i32::from(wall.offset_min) * 60)?;
    offset.timestamp_millis_opt(wall.unix_ms).single()
}

/// A wall clock reading as RFC 3339, with milliseconds and the numeric offset.
///
/// ```
/// use coach::rim::clock;
/// let wall = engine::Wall { unix_ms: 1_795_602_600_250, offset_min: -360 };
/// let text = clock::rfc3339(wall);
/// assert_eq!(text, "2026-11-25T04:30:00.250-06:00");
/// assert_eq!(clock::read_rfc3339(&text), Some(wall));
/// ```
pub fn rfc3339(wall: Wall) -> String {
    match date_time(wall) {
        Some(at) => at.to_rfc3339_opts(SecondsFormat::Millis, false),
        // Beyond the calendar: no clock shows it, but nothing is lost.
        None => format!("unix-ms {}", wall.unix_ms),
    }
}

/// Reads RFC 3339; `None` if it is none, or has no offset.
pub fn read_rfc3339(text: &str) -> Option<Wall> {
    let at = DateTime::parse_from_rfc3339(text).ok()?;
    Some(Wall { unix_ms: at.timestamp_millis(), offset_min: offset_min(*at.offset()) })
}

/// The day, for names: `2026-11-25`.
pub fn day(wall: Wall) -> String {
    date_time(wall).map_or_else(|| "undated".to_owned(), |at| at.format("%Y-%m-%d").to_string())
}

/// Day and minute, for names that sort: `2026-11-25-0430`.
pub fn day_and_minute(wall: Wall) -> String {
    date_time(wall).map_or_else(|| "undated".to_owned(), |at| at.format("%Y-%m-%d-%H%M").to_string())
}

/// Day and minute, to be read: `2026-11-25 04:30`.
pub fn shown(wall: Wall) -> String {
    date_time(wall).map_or_else(|| "?".to_owned(), |at| at.format("%Y-%m-%d %H:%M").to_string())
}

/// How long, in words: `3 min 12 s`, `2 h 5 min`.
pub fn lasted(ms: u64) -> String {
    let s = ms / 1_000;
    match (s / 86_400, s / 3_600 % 24, s / 60 % 60, s % 60) {
        (0, 0, 0, s) => format!("{s} s"),
        (0, 0, min, s) => format!("{min} min {s} s"),
        (0, h, min, _) => format!("{h} h {min} min"),
        (d, h, _, _) => format!("{d} d {h} h"),
    }
}
