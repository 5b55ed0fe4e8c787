//! What the expressions of a procedure may ask of a run.

use procedure::expr::{Datum, Expr, Facts};
use procedure::{Edition, Part, ReadingId, ReadingKind, TableId, Text, ValueId};
use quantity::{Exact, Unit};

use crate::event::Entry;
use crate::state::{State, Taken};

/// An edition and a state, seen together.
pub(crate) struct View<'a> {
    pub edition: &'a Edition,
    pub state: &'a State,
}

fn latest(taken: &[Taken], id: ReadingId) -> Option<&Entry> {
    taken.iter().rev().find(|taken| taken.reading == id).map(|taken| &taken.entry)
}

fn datum(entry: Option<&Entry>) -> Datum {
    match entry {
        Some(Entry::Number(value)) => Datum::Number(Exact::from(*value)),
        Some(Entry::Choice(at)) => Datum::Choice(*at),
        // Words are only ever asked for as "known".
        Some(Entry::Words(_)) => Datum::Truth(true),
        Some(Entry::One) => Datum::Number(Exact::from_int(1)),
        None => Datum::Unknown,
    }
}

impl Facts for View<'_> {
    fn reading(&self, id: ReadingId) -> Datum {
        datum(latest(self.state.taken_now(), id))
    }
    fn was(&self, id: ReadingId) -> Datum {
        datum(latest(self.state.taken_before(), id))
    }
    fn sum(&self, id: ReadingId) -> Exact {
        let mut sum = Exact::zero();
        for taken in self.state.taken_now().iter().filter(|taken| taken.reading == id) {
            match &taken.entry {
                Entry::Number(value) => sum = &sum + &Exact::from(*value),
                Entry::One => sum = &sum + &Exact::one(),
                Entry::Choice(_) | Entry::Words(_) => {}
            }
        }
        sum
    }
    fn round(&self) -> u32 {
        u32::from(self.state.cursor.round)
    }
    fn attempt(&self) -> u32 {
        u32::from(self.state.cursor.attempt)
    }
    fn formula(&self, id: ValueId) -> &Expr {
        &self.edition.values[id.0 as usize].is
    }
    fn table(&self, id: TableId, at: &Exact) -> Option<Exact> {
        self.edition.tables[id.0 as usize].at(at)
    }
}

impl View<'_> {
    /// A text with its places filled in.
    pub(crate) fn say(&self, text: &Text) -> String {
        let mut out = String::new();
        for part in &text.parts {
            match part {
                Part::Plain(plain) => out.push_str(plain),
                Part::Reading(id) => out.push_str(&self.show(*id, latest(self.state.taken_now(), *id))),
                Part::Was(id) => out.push_str(&self.show(*id, latest(self.state.taken_before(), *id))),
                Part::Round => out.push_str(&self.state.cursor.round.to_string()),
                Part::Value(id) => {
                    let value = &self.edition.values[id.0 as usize];
                    match value.is.eval(self).number() {
                        Some(number) => out.push_str(&with_unit(number.show_short(), value.unit)),
                        None => out.push('—'),
                    }
                }
            }
        }
        out
    }

    /// Whether a reading counts one by one.
    pub(crate) fn is_tally(&self, id: ReadingId) -> bool {
        matches!(self.edition.reading(id).kind, ReadingKind::Tally { .. })
    }

    fn show(&self, id: ReadingId, entry: Option<&Entry>) -> String {
        entry.map_or_else(|| "—".to_owned(), |entry| show_entry(self.edition, id, entry))
    }
}

/// An entry as a person reads it: `5.25 %`, the label of a choice, the words.
pub(crate) fn show_entry(edition: &Edition, id: ReadingId, entry: &Entry) -> String {
    match (entry, &edition.reading(id).kind) {
        (Entry::Number(value), ReadingKind::Number(scale)) => scale.show(value),
        (Entry::Number(value), _) => value.to_string(),
        (Entry::Choice(at), ReadingKind::Choice(choices)) => {
            choices.get(*at as usize).map_or_else(|| at.to_string(), |choice| choice.label.clone())
        }
        (Entry::Choice(at), _) => at.to_string(),
        (Entry::Words(words), _) => words.clone(),
        (Entry::One, _) => "1".to_owned(),
    }
}

fn with_unit(number: String, unit: Unit) -> String {
    if unit == Unit::NONE { number } else { format!("{number} {unit}") }
}
