//! What the site file answers before anybody asks.
//!
//! Here: the shared facts of a sample that follow from the site file, for a person, the apparatus and a day. Not here:
//! which reading takes which fact; a reading says so itself, by its shared name.
//!
//! | shared name                       | what it is                                       | from                          |
//! |-----------------------------------|--------------------------------------------------|-------------------------------|
//! | `job`                             | project and location, text                       | `[site]`                      |
//! | `sample-purpose`                  | `acceptance` or `preliminary`                    | `purpose`                     |
//! | `technician`                      | name, text                                       | the only one, or the one picked |
//! | a kind, such as `cone`            | number or mark, text                             | the only one, or the one picked |
//! | a kind and `-in-date`             | `yes` or `no`; not there if no date is known     | `due`                         |
//! | a kind and `-volume`              | amount                                           | `volume`                      |
//! | `volumetric-meter-cup`            | %                                                | `cup`                         |
//! | `aggregate-size`                  | in or mm                                         | `[mixture]`                   |
//! | `aggregate-correction`            | %                                                | `[mixture]`                   |
//! | `design-air`, `design-slump`, `specified-strength`, `design-volume`, `air-free-density` | amount | `[mixture]`   |
//! | `delivery-minutes-most`, `delivery-revolutions-most` | bare number; beside each `…-stated`, `yes` | `[delivery]`    |
//! | `delivery-water-most`             | gal or gal/yd³, L or L/m³                        | `[delivery]`                  |
//! | `specimens-28-d` and so on, `specimens-reserve` | bare number; a proposal, a set may be short | `[specimens]`  |
//! | `batch-cement` and so on          | lb or kg; a proposal, since the ticket decides   | `[mixture.batch]`             |
//! | `relative-density-cement` and so on | bare number                                    | `[mixture.relative_density]`  |
//!
//! **Invariant:** an amount is given only in the unit system of the file; for the other one there is none, since
//! nothing converts. A fact that could be one of two is not given. What a design says about a load is no fact: see
//! [`Site::proposals`].

use std::collections::BTreeMap;

use procedure::{Amended, Amendment};
use quantity::{Exact, Quantity, System, Unit};

use super::{Apparatus, Site, Technician};
use crate::calendar::Date;
use crate::fact::{Fact, Facts};
use crate::papers::Standing;
use crate::written::Written;

/// Who tests with what, on which day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picked<'p> {
    /// The technician's name; `None` takes the only one in the file.
    pub technician: Option<&'p str>,
    /// The mark picked for a kind of apparatus; a kind that is not here takes the only one in the file.
    pub apparatus: BTreeMap<&'p str, &'p str>,
    /// The day of the sample.
    pub day: Date,
}

impl<'p> Picked<'p> {
    /// Nobody and nothing picked yet.
    pub fn on(day: Date) -> Self {
        Self { technician: None, apparatus: BTreeMap::new(), day }
    }
}

impl Site {
    /// The facts for runs in a unit system.
    pub fn facts(&self, system: System, picked: &Picked) -> Facts {
        let mut facts = self.none_yet(system);
        facts.words("job", &self.job());
        if let Some(purpose) = self.purpose {
            facts.found.insert("sample-purpose".to_owned(), Fact::Choice(purpose.word().to_owned()));
        }
        if let Some(technician) = self.picked_technician(picked.technician) {
            facts.words("technician", &technician.name);
        }
        let mut kinds: Vec<&str> = self.apparatus.iter().map(|one| one.kind.as_str()).collect();
        kinds.dedup();
        for kind in kinds {
            if let Some(one) = self.picked_apparatus(kind, picked.apparatus.get(kind).copied()) {
                facts.apparatus(one, picked.day);
            }
        }
        self.mixture_facts(&mut facts);
        self.delivery_facts(&mut facts);
        facts.found
    }

    /// The facts about one piece of apparatus on a day: its mark, its volume, whether its calibration holds.
    pub fn apparatus_facts(&self, system: System, kind: &str, id: &str, day: Date) -> Facts {
        let mut facts = self.none_yet(system);
        if let Some(one) = self.apparatus(kind, id) {
            facts.apparatus(one, day);
        }
        facts.found
    }

    /// What is to be offered and not to be taken as read: the weights of the design, under the names `batch-cement` and
    /// so on (those of the load stand on its ticket), and how many specimens are wanted, `specimens-28-d` and
    /// `specimens-reserve` (a set may be short).
    pub fn proposals(&self, system: System) -> Facts {
        let mut facts = self.none_yet(system);
        for one in self.mixture.iter().flat_map(|mixture| &mixture.batch) {
            facts.written(&format!("batch-{}", one.material.key().replace('_', "-")), one.mass.as_ref());
        }
        if let Some(specimens) = &self.specimens {
            let mut count = |name: String, count: u32| {
                facts.amount(name, &Quantity::new(Exact::from_int(i64::from(count)), Unit::NONE));
            };
            for age in &specimens.breaks {
                count(format!("specimens-{}", age.written.replace(' ', "-")), age.count);
            }
            count("specimens-reserve".to_owned(), specimens.reserve);
        }
        facts.found
    }

    /// The figures the job sets otherwise in a method, for [`procedure::amend`]. A figure in a unit of one system is set
    /// for that system; any other for both.
    pub fn amendments(&self, method: &str) -> Vec<Amendment> {
        let set = |figure: &super::SetFigure| Amendment {
            figure: figure.figure.clone(),
            is: match figure.is.parse::<Written>().ok().and_then(|is| is.amount.unit.system()) {
                Some(system) => Amended::Each(vec![(system, figure.is.clone())]),
                None => Amended::All(figure.is.clone()),
            },
            because: figure.because.clone(),
        };
        self.figures.iter().filter(|figure| figure.method == method).map(set).collect()
    }

    fn none_yet(&self, system: System) -> Found {
        Found { found: Facts::new(), amounts: self.system.is_none_or(|own| own == system) }
    }

    /// Project and location in one line, as they stand on a report.
    pub fn job(&self) -> String {
        match &self.location {
            Some(location) => format!("{}, {location}", self.project),
            None => self.project.clone(),
        }
    }

    fn picked_technician(&self, name: Option<&str>) -> Option<&Technician> {
        match (name, &self.technicians[..]) {
            (Some(name), _) => self.technician(name),
            (None, [only]) => Some(only),
            (None, _) => None,
        }
    }

    fn picked_apparatus(&self, kind: &str, id: Option<&str>) -> Option<&Apparatus> {
        let mut of_kind = self.apparatus.iter().filter(|one| one.kind == kind);
        match id {
            Some(id) => self.apparatus(kind, id),
            None => of_kind.next().filter(|_| of_kind.next().is_none()),
        }
    }

    fn delivery_facts(&self, facts: &mut Found) {
        let Some(delivery) = &self.delivery else { return };
        let minutes = delivery.time_at_most.and_then(|most| Exact::ratio(i64::try_from(most.0).ok()?, 60_000));
        let revolutions = delivery.revolutions_at_most.map(|most| Exact::from_int(i64::from(most)));
        for (name, most) in [("delivery-minutes", minutes), ("delivery-revolutions", revolutions)] {
            if let Some(most) = most {
                facts.amount(format!("{name}-most"), &Quantity::new(most, Unit::NONE));
                // Where the file is silent the ticket may still state one, so there is no "no".
                facts.found.insert(format!("{name}-stated"), Fact::Choice("yes".to_owned()));
            }
        }
        facts.written("delivery-water-most", delivery.water_allowed.as_ref());
    }

    fn mixture_facts(&self, facts: &mut Found) {
        let Some(mixture) = &self.mixture else { return };
        for (name, amount) in [
            ("aggregate-size", &mixture.aggregate_size),
            ("aggregate-correction", &mixture.aggregate_correction),
            ("design-air", &mixture.design_air),
            ("design-slump", &mixture.design_slump),
            ("specified-strength", &mixture.strength),
            ("design-volume", &mixture.design_volume),
            ("air-free-density", &mixture.air_free_density),
        ] {
            facts.written(name, amount.as_ref());
        }
        for one in &mixture.batch {
            if let Some(relative) = &one.relative_density {
                let key = one.material.key().replace('_', "-");
                facts.amount(format!("relative-density-{key}"), &Quantity::new(relative.clone(), Unit::NONE));
            }
        }
    }
}

/// Facts being collected.
struct Found {
    found: Facts,
    /// Whether amounts in units of one system may be given.
    amounts: bool,
}

impl Found {
    fn words(&mut self, name: &str, words: &str) {
        self.found.insert(name.to_owned(), Fact::Words(words.to_owned()));
    }

    fn amount(&mut self, name: String, amount: &Quantity) {
        if amount.unit.system().is_none() || self.amounts {
            let fact = Fact::Number { value: amount.value.show_exact(), unit: amount.unit.symbol() };
            self.found.insert(name, fact);
        }
    }

    fn written(&mut self, name: &str, written: Option<&Written>) {
        if let Some(written) = written {
            self.amount(name.to_owned(), &written.amount);
        }
    }

    fn apparatus(&mut self, one: &Apparatus, day: Date) {
        let kind = &one.kind;
        self.words(kind, &one.id);
        if let Some(holds) = Standing::on(day, one.due).holds() {
            let answer = if holds { "yes" } else { "no" };
            self.found.insert(format!("{kind}-in-date"), Fact::Choice(answer.to_owned()));
        }
        self.written(&format!("{kind}-volume"), one.volume.as_ref());
        self.written(&format!("{kind}-cup"), one.cup.as_ref());
    }
}
