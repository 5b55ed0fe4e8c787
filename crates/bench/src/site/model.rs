//! What a site file says, once checked.
//!
//! Here: plain data. Not here: reading the file ([`super`]), what follows from it ([`crate::verdict`],
//! [`crate::papers`], [`crate::labels`]).
//!
//! **Invariant:** every amount in a [`Site`] is in its unit system, in the unit its key asks for, and keeps the text
//! it was written with. What the file does not say is `None`, never a figure from somewhere else.

use quantity::{Exact, Quantity, Span, System, Ties};

use crate::calendar::Date;
use crate::verdict::{Conformance, Purpose};
use crate::written::Written;

/// A job: what is tested, against which limits, with what, by whom.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Site {
    /// The project or job, as it stands on every report.
    pub project: String,
    /// Where on the project.
    pub location: Option<String>,
    /// The unit system the file is written in; `None` only if it states no amount that has one.
    pub system: Option<System>,
    /// Where a half goes when a result is compared with a limit. Even, if the file does not say.
    pub ties: Ties,
    /// How a result is compared with a limit. By rounding, if the file does not say.
    pub conformance: Conformance,
    /// What the samples are taken for; `None` if the file leaves it to each sample.
    pub purpose: Option<Purpose>,
    /// How many people test. One, if the file does not say.
    pub people: u32,
    /// The ids of the methods done on every sample, in the order of the file.
    pub tests: Vec<String>,
    /// The mixture.
    pub mixture: Option<Mixture>,
    /// The acceptance limits, in the order of the file.
    pub limits: Vec<Limit>,
    /// How often a sample is taken.
    pub sampling: Option<Sampling>,
    /// The apparatus, in the order of the file.
    pub apparatus: Vec<Apparatus>,
    /// The technicians, in the order of the file.
    pub technicians: Vec<Technician>,
    /// The limits of delivery.
    pub delivery: Option<Delivery>,
    /// Figures of procedures the job's specification sets, in the order of the file.
    pub figures: Vec<SetFigure>,
    /// The specimens of a set.
    pub specimens: Option<Specimens>,
}

/// A mixture, as designed. Weights are of the design, not of the load in the truck.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mixture {
    /// Its name or number.
    pub name: Option<String>,
    /// Design air content, %.
    pub design_air: Option<Written>,
    /// Design slump, in or mm.
    pub design_slump: Option<Written>,
    /// Specified strength, psi or MPa.
    pub strength: Option<Written>,
    /// Nominal maximum size of the aggregate, in or mm.
    pub aggregate_size: Option<Written>,
    /// Aggregate correction factor of the pressure method, %.
    pub aggregate_correction: Option<Written>,
    /// Density with no air in it, lb/ft³ or kg/m³, as the laboratory states it.
    pub air_free_density: Option<Written>,
    /// The volume the weights below are designed to make, yd³ or m³.
    pub design_volume: Option<Written>,
    /// The ingredients that are weighed, in the order of the file.
    pub batch: Vec<Ingredient>,
    /// Admixtures and their doses, in words.
    pub admixtures: Vec<String>,
}

/// What is weighed into a batch.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Material {
    /// Portland or blended cement.
    Cement,
    /// Fly ash, slag cement, silica fume and the like.
    OtherCementitious,
    /// Fine aggregate, as used, with its moisture.
    Fine,
    /// Coarse aggregate, as used, with its moisture.
    Coarse,
    /// Water put in, without that in the aggregates.
    Water,
    /// All else that is weighed: admixtures, fibres, pigment.
    Rest,
}

impl Material {
    /// Every material, in the order they stand in a batch.
    pub const ALL: [Material; 6] =
        [Self::Cement, Self::OtherCementitious, Self::Fine, Self::Coarse, Self::Water, Self::Rest];

    /// Its key in the file.
    pub fn key(self) -> &'static str {
        match self {
            Self::Cement => "cement",
            Self::OtherCementitious => "other_cementitious",
            Self::Fine => "fine",
            Self::Coarse => "coarse",
            Self::Water => "water",
            Self::Rest => "rest",
        }
    }
}

/// One ingredient of the design.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ingredient {
    /// What it is.
    pub material: Material,
    /// Its mass in the design volume, lb or kg.
    pub mass: Option<Written>,
    /// Its relative density (specific gravity).
    pub relative_density: Option<Exact>,
}

/// An acceptance limit, as the specification states it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limit {
    /// The id of the result it is for: `slump`, `air`.
    pub result: String,
    /// Only results of this method are meant; `None`: of any.
    pub method: Option<String>,
    /// The lowest result that conforms.
    pub at_least: Option<Written>,
    /// The highest.
    pub at_most: Option<Written>,
    /// The limit in the words of the file: "3 in to 5 in", "6.0 % ± 1.5 %".
    pub as_written: String,
    /// Where it is stated.
    pub source: Option<String>,
    /// What a result outside of it leads to.
    pub check_test: CheckTest,
}

/// What the specification says about a result outside the limit.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum CheckTest {
    /// The site file does not say.
    #[default]
    NotStated,
    /// A check test on another portion of the same sample, and its result decides.
    Decides,
    /// A second test, and the two are averaged.
    Averages,
    /// None.
    None,
}

/// How often a sample is taken.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Sampling {
    /// At least one for each such volume placed, or part of it; yd³ or m³.
    pub every: Option<Written>,
    /// At least one for each such area, or part of it; ft² or m².
    pub every_area: Option<Written>,
    /// At least so many on every day on which concrete is placed.
    pub at_least_per_day: Option<u32>,
    /// At least so many on the whole job.
    pub at_least: Option<u32>,
    /// Under this volume on the whole job the specification lets the samples be waived.
    pub may_be_waived_under: Option<Written>,
    /// Where it is stated.
    pub source: Option<String>,
}

/// A piece of apparatus.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Apparatus {
    /// What it is, by its shared name: `volumetric-meter`.
    pub kind: String,
    /// The number or mark on it.
    pub id: String,
    /// The last day of its calibration.
    pub due: Option<Date>,
    /// Its calibrated volume.
    pub volume: Option<Written>,
    /// Of a volumetric meter: its calibrated cup as a share of the bowl, %.
    pub cup: Option<Written>,
    /// The calibration record.
    pub record: Option<String>,
}

/// A person who tests.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Technician {
    /// As it stands on the reports.
    pub name: String,
    /// The certification.
    pub certificate: Option<String>,
    /// Its last day.
    pub expires: Option<Date>,
}

/// The limits of delivery, as the ticket or the specification states them.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Delivery {
    /// From batching to the end of discharge.
    pub time_at_most: Option<Span>,
    /// Turns of the drum in all.
    pub revolutions_at_most: Option<u32>,
    /// Water that may be added on site; gal, gal/yd³, L or L/m³.
    pub water_allowed: Option<Written>,
    /// Turns of the drum at mixing speed after water was added.
    pub revolutions_after_water: Option<u32>,
    /// Where it is stated.
    pub source: Option<String>,
}

/// A figure of a procedure the specification sets otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetFigure {
    /// The method.
    pub method: String,
    /// The figure's name in its procedure.
    pub figure: String,
    /// What it is on this job, as text: "10 min".
    pub is: String,
    /// Where that is stated.
    pub because: String,
}

/// The specimens moulded from one sample.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Specimens {
    /// What they are: "6 in × 12 in cylinders".
    pub kind: Option<String>,
    /// What every label begins with.
    pub label: Option<String>,
    /// Whether specimens are told apart by letters instead of numbers.
    pub letters: bool,
    /// How many are broken at which age, in the order of the file: that in which a short set is shared out.
    pub breaks: Vec<Break>,
    /// How many are kept beside.
    pub reserve: u32,
}

/// Specimens broken at one age.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Break {
    /// From the end of moulding.
    pub age: Span,
    /// The age as written: "7 d".
    pub written: String,
    /// How much earlier or later will do.
    pub give_or_take: Option<Span>,
    /// How many specimens.
    pub count: u32,
}

impl Site {
    /// The limit for a result of a method: one that names the method goes before one that does not.
    pub fn limit(&self, method: &str, result: &str) -> Option<&Limit> {
        let of = |limit: &&Limit| limit.result == result;
        let named = self.limits.iter().filter(of).find(|limit| limit.method.as_deref() == Some(method));
        named.or_else(|| self.limits.iter().filter(of).find(|limit| limit.method.is_none()))
    }

    /// A technician by name, whatever the case of the letters.
    pub fn technician(&self, name: &str) -> Option<&Technician> {
        let name = name.trim().to_lowercase();
        self.technicians.iter().find(|technician| technician.name.to_lowercase() == name)
    }

    /// A piece of apparatus by its kind and mark, whatever the case of the letters.
    pub fn apparatus(&self, kind: &str, id: &str) -> Option<&Apparatus> {
        let id = id.trim().to_lowercase();
        self.apparatus.iter().find(|one| one.kind == kind && one.id.to_lowercase() == id)
    }

    /// What the job sets otherwise in a method.
    pub fn figures_of<'s>(&'s self, method: &'s str) -> impl Iterator<Item = &'s SetFigure> {
        self.figures.iter().filter(move |figure| figure.method == method)
    }
}

impl Mixture {
    /// The mass of everything weighed; `None` if nothing is.
    pub fn total_mass(&self) -> Option<Quantity> {
        let masses = self.batch.iter().filter_map(|one| one.mass.as_ref());
        masses.map(|mass| mass.amount.clone()).reduce(|sum, mass| sum.plus(&mass).unwrap_or(sum))
    }

    /// The volume of everything weighed with no air in it: the sum of mass / (relative density · density of water).
    ///
    /// `None` if an ingredient that is weighed has no relative density. The density of water is told: 62.4 lb/ft³ and
    /// 1000 kg/m³ are common (AASHTO T 121 uses 62.4), and the laboratory's own figure goes before either. Exact; nothing
    /// is rounded.
    pub fn air_free_volume(&self, water: &Quantity) -> Option<Quantity> {
        let mut sum: Option<Quantity> = None;
        for one in &self.batch {
            let Some(mass) = &one.mass else { continue };
            let density = Quantity::new(&water.value * one.relative_density.as_ref()?, water.unit);
            let volume = mass.amount.over(&density).ok()?;
            sum = match sum {
                None => Some(volume),
                Some(sum) => Some(sum.plus(&volume).ok()?),
            };
        }
        sum
    }
}
