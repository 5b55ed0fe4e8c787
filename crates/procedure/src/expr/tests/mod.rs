//! Expressions as a technician writes them, right and wrong.
//!
//! The names are those of a volumetric air test; every test below reads them through one site, [`Meter`].

use super::{Compiled, Datum, Expr, Facts, Fault, Named, Names, Want, compile};
use crate::model::{ReadingId, TableId, ValueId};
use quantity::{Exact, Unit};
use std::collections::BTreeMap;

mod properties;
mod right;
mod wrong;

fn unit(symbol: &str) -> Unit {
    Unit::parse(symbol).unwrap()
}

fn exact(text: &str) -> Exact {
    text.parse().unwrap()
}

/// The names of the test.
struct Meter;

impl Meter {
    const NAMES: [&str; 14] = [
        "level",
        "foam",
        "alcohol",
        "cups",
        "cup",
        "heard",
        "pieces",
        "technician",
        "change_most",
        "cup_worth",
        "none_yet",
        "settle_every",
        "settled",
        "alcohol_correction",
    ];
}

impl Names for Meter {
    fn named(&self, name: &str) -> Option<Named> {
        let figure = |text: &str| Named::Figure(text.parse().unwrap());
        let answers = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
        Some(match name {
            "level" => Named::Number { id: ReadingId(0), unit: unit("%") },
            "foam" => Named::Number { id: ReadingId(1), unit: unit("%") },
            "alcohol" => Named::Number { id: ReadingId(2), unit: unit("pt") },
            "cups" => Named::Tally { id: ReadingId(3), unit: unit("cup") },
            "cup" => Named::Number { id: ReadingId(4), unit: unit("%") },
            "heard" => Named::Choice { id: ReadingId(5), answers: answers(&["yes", "no"]) },
            "pieces" => Named::Choice { id: ReadingId(6), answers: answers(&["none", "wet-sieved"]) },
            "technician" => Named::Words { id: ReadingId(7) },
            "change_most" => figure("0.25 %"),
            "cup_worth" => figure("1 %/cup"),
            "none_yet" => figure("0 %"),
            "settle_every" => figure("120 s"),
            "settled" => Named::Value { id: ValueId(0), unit: unit("%") },
            "alcohol_correction" => Named::Table { id: TableId(0), input: unit("pt"), output: unit("%") },
            _ => return None,
        })
    }

    fn all(&self) -> Vec<String> {
        Self::NAMES.iter().map(|name| (*name).to_owned()).collect()
    }
}

/// What is known of a run.
#[derive(Default)]
struct Known {
    readings: BTreeMap<u16, Datum>,
    was: BTreeMap<u16, Datum>,
    sums: BTreeMap<u16, Exact>,
    round: u32,
    attempt: u32,
    values: Vec<Expr>,
}

impl Known {
    fn number(mut self, id: u16, value: &str) -> Self {
        self.readings.insert(id, Datum::Number(exact(value)));
        self
    }
    fn answer(mut self, id: u16, place: u16) -> Self {
        self.readings.insert(id, Datum::Choice(place));
        self
    }
}

impl Facts for Known {
    fn reading(&self, id: ReadingId) -> Datum {
        self.readings.get(&id.0).cloned().unwrap_or(Datum::Unknown)
    }
    fn was(&self, id: ReadingId) -> Datum {
        self.was.get(&id.0).cloned().unwrap_or(Datum::Unknown)
    }
    fn sum(&self, id: ReadingId) -> Exact {
        self.sums.get(&id.0).cloned().unwrap_or_else(|| Exact::from(0))
    }
    fn attempt(&self) -> u32 {
        self.attempt
    }
    fn round(&self) -> u32 {
        self.round
    }
    fn formula(&self, id: ValueId) -> &Expr {
        &self.values[usize::from(id.0)]
    }
    /// 0 % at 2 pt, rising 0.3 % per pint; nothing is stated outside 2 to 5 pt.
    fn table(&self, _: TableId, at: &Exact) -> Option<Exact> {
        (exact("2")..=exact("5")).contains(at).then(|| &(at - &exact("2")) * &exact("0.3"))
    }
}

fn compiled(src: &str) -> Compiled {
    compile(src, &Meter, Want::Any).unwrap_or_else(|faults| panic!("{src}\n{}", explained(src, &faults)))
}

fn given(src: &str, facts: &Known) -> Datum {
    compiled(src).expr.eval(facts)
}

fn number(text: &str) -> Datum {
    Datum::Number(exact(text))
}

/// The faults as a person reads them, the place underlined.
fn explained(src: &str, faults: &[Fault]) -> String {
    let mut page = String::new();
    for fault in faults {
        let before = src[..fault.at.start].chars().count();
        let under = src[fault.at.clone()].chars().count().max(1);
        page += &format!("{src}\n{}{} {}\n", " ".repeat(before), "^".repeat(under), fault.label);
        page += &format!("[{}] {}\n", fault.code, fault.title);
        if let Some(help) = &fault.help {
            page += &format!("help: {help}\n");
        }
    }
    page
}
