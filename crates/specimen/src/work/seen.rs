//! What the expressions of a procedure say of a run if one reading were different.

use engine::{Entry, Run};
use procedure::expr::{Datum, Expr, Facts};
use procedure::{Edition, ReadingId, TableId, ValueId};
use quantity::Exact;

/// A run as it stands, with one reading and one tally put in place.
pub(super) struct Seen<'a> {
    pub edition: &'a Edition,
    pub run: &'a Run,
    pub reading: Option<(ReadingId, Datum)>,
    pub tally: Option<(ReadingId, Exact)>,
}

/// An entry as expressions see it.
pub(super) fn datum(entry: &Entry) -> Datum {
    match entry {
        Entry::Number(value) => Datum::Number(Exact::from(*value)),
        Entry::Choice(at) => Datum::Choice(*at),
        Entry::Words(_) => Datum::Truth(true),
        Entry::One => Datum::Number(Exact::one()),
    }
}

impl Facts for Seen<'_> {
    fn reading(&self, id: ReadingId) -> Datum {
        match &self.reading {
            Some((put, datum)) if *put == id => datum.clone(),
            _ => self.run.latest(id).map_or(Datum::Unknown, |taken| datum(&taken.entry)),
        }
    }
    fn was(&self, id: ReadingId) -> Datum {
        let before = self.run.attempt().wrapping_sub(1);
        let taken = self.run.taken().iter().rev().find(|taken| taken.attempt == before && taken.reading == id);
        taken.map_or(Datum::Unknown, |taken| datum(&taken.entry))
    }
    fn sum(&self, id: ReadingId) -> Exact {
        match &self.tally {
            Some((put, sum)) if *put == id => sum.clone(),
            _ => self.run.tally(id),
        }
    }
    fn round(&self) -> u32 {
        u32::from(self.run.offer(self.run.last().tick).round)
    }
    fn attempt(&self) -> u32 {
        u32::from(self.run.attempt())
    }
    fn formula(&self, id: ValueId) -> &Expr {
        &self.edition.values[id.0 as usize].is
    }
    fn table(&self, id: TableId, at: &Exact) -> Option<Exact> {
        self.edition.tables[id.0 as usize].at(at)
    }
}
