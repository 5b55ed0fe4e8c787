//! Moments: a steady count for limits, a wall clock for the record.
//!
//! Limits are judged on [`Tick`] alone, so a laptop lid, a time-zone change or a clock correction
//! moves none of them. [`Wall`] is what a person reads in the report a year later.

use quantity::Span;

/// Milliseconds since the run was opened, on a clock that keeps counting through suspend.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Tick(pub u64);

impl Tick {
    /// The moment `span` later.
    pub fn after(self, span: Span) -> Tick {
        Tick(self.0.saturating_add(span.0))
    }
    /// How long ago `earlier` was; nothing if it lies ahead.
    pub fn since(self, earlier: Tick) -> Span {
        Span(self.0.saturating_sub(earlier.0))
    }
}

/// A reading of the wall clock with its offset from UTC.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, Default)]
pub struct Wall {
    /// Milliseconds since 1970-01-01T00:00Z.
    pub unix_ms: i64,
    /// Minutes east of UTC.
    pub offset_min: i16,
}

/// When something happened.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, Default)]
pub struct Moment {
    /// For limits.
    pub tick: Tick,
    /// For the record.
    pub wall: Wall,
}
