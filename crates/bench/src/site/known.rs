//! The methods, results and kinds of apparatus a site file may name.
//!
//! Here: the names this program's own methods use, and the unit of each result. Not here: the methods themselves. A
//! laboratory may write a method of its own, so a name that is not here is no fault; one that is *nearly* here is a
//! slip.
//!
//! **Invariant:** a unit here is the one the method reports in, in the unit system named.

use quantity::System;

/// A method: its id, and the unit systems it is stated in.
pub(super) struct Method {
    pub id: &'static str,
    pub systems: &'static [System],
}

const BOTH: &[System] = &[System::InchPound, System::Si];
const SI: &[System] = &[System::Si];

/// The methods of this program.
pub(super) const METHODS: &[Method] = &[
    Method { id: "sampling", systems: BOTH },
    Method { id: "temperature", systems: BOTH },
    Method { id: "slump", systems: BOTH },
    Method { id: "slump-en", systems: SI },
    Method { id: "density", systems: BOTH },
    Method { id: "density-en", systems: SI },
    Method { id: "air-pressure", systems: BOTH },
    Method { id: "air-pressure-en", systems: SI },
    Method { id: "air-volumetric", systems: BOTH },
    Method { id: "aggregate-correction", systems: BOTH },
    Method { id: "cylinders", systems: BOTH },
    Method { id: "specimens-en", systems: SI },
    Method { id: "bowl-volume", systems: BOTH },
    Method { id: "thermometer-check", systems: BOTH },
    Method { id: "air-meter-check", systems: BOTH },
    Method { id: "delivery", systems: BOTH },
];

/// What an amount is of, with the units it may be written in.
#[derive(Copy, Clone, Debug)]
pub(super) struct Measure {
    /// For a sentence: "a slump".
    pub what: &'static str,
    /// In inch-pound units.
    pub inch_pound: &'static [&'static str],
    /// In SI units.
    pub si: &'static [&'static str],
    /// What may be written, in each.
    pub examples: [&'static str; 2],
}

impl Measure {
    pub fn units(&self, system: System) -> &'static [&'static str] {
        match system {
            System::InchPound => self.inch_pound,
            System::Si => self.si,
        }
    }

    pub fn example(&self, system: Option<System>) -> &'static str {
        match system {
            Some(System::Si) => self.examples[1],
            _ => self.examples[0],
        }
    }
}

/// What an amount is of.
macro_rules! measures {
    ($($(#[$doc:meta])* $name:ident: $what:literal, $ip:expr, $si:expr, $examples:expr;)*) => {
        $($(#[$doc])* pub(super) const $name: Measure =
            Measure { what: $what, inch_pound: $ip, si: $si, examples: $examples };)*
    };
}

measures! {
    LENGTH: "a length", &["in"], &["mm"], ["4 in", "100 mm"];
    PERCENT: "a percentage", &["%"], &["%"], ["6.0 %", "6.0 %"];
    TEMPERATURE: "a temperature", &["°F"], &["°C"], ["90 °F", "32 °C"];
    DENSITY: "a density", &["lb/ft³"], &["kg/m³"], ["145.0 lb/ft³", "2320 kg/m³"];
    VOLUME: "a volume of concrete", &["yd³", "ft³"], &["m³"], ["50 yd³", "40 m³"];
    AREA: "an area", &["ft²"], &["m²"], ["5000 ft²", "460 m²"];
    CONTENT: "a cement content", &["lb/yd³"], &["kg/m³"], ["560 lb/yd³", "330 kg/m³"];
    STRENGTH: "a strength", &["psi"], &["MPa"], ["4000 psi", "30 MPa"];
    MASS: "a mass", &["lb"], &["kg"], ["560 lb", "330 kg"];
    VESSEL: "the volume of a vessel", &["ft³"], &["L", "m³"], ["0.2494 ft³", "7.060 L"];
    WATER: "an amount of water", &["gal", "gal/yd³"], &["L", "L/m³"], ["2 gal/yd³", "10 L/m³"];
    RATIO: "a bare number", &["1"], &["1"], ["0.45", "0.45"];
    /// A result of somebody's own procedure: any unit of the file's system.
    ANYTHING: "an amount", &[], &[], ["4 in", "100 mm"];
    EVAPORATION: "a rate of evaporation", &["lb/ft²/h"], &["kg/m²/h"], ["0.20 lb/ft²/h", "1.0 kg/m²/h"];
}

/// What the methods of this program report.
pub(super) const RESULTS: &[(&str, Measure)] = &[
    ("slump", LENGTH),
    ("temperature", TEMPERATURE),
    ("air", PERCENT),
    ("density", DENSITY),
    ("yield", VOLUME),
    ("relative_yield", RATIO),
    ("cement_content", CONTENT),
    ("water_cement", RATIO),
    ("air_gravimetric", PERCENT),
    ("evaporation", EVAPORATION),
    ("correction", PERCENT),
];

/// What the methods report beside: counts, checks of apparatus, sums on the way. A limit for one of them is unusual and
/// no slip.
pub(super) const OTHER_RESULTS: &[&str] = &[
    "batch_mass",
    "curing_from",
    "curing_to",
    "error",
    "error_high",
    "error_low",
    "error_two",
    "expected_one",
    "expected_two",
    "portions",
    "specimens",
    "theoretical_density",
    "volume",
    "volume_without_air",
    "water_density",
];

/// Other words for a result, and the id that is meant.
pub(super) const OTHER_WORDS: &[(&str, &str)] = &[
    ("air-content", "air"),
    ("air_content", "air"),
    ("concrete-temperature", "temperature"),
    ("concrete_temperature", "temperature"),
    ("unit-weight", "density"),
    ("unit_weight", "density"),
    ("w/c", "water_cement"),
    ("w_c", "water_cement"),
    ("w/cm", "water_cement"),
    ("water-cement-ratio", "water_cement"),
];

/// The kinds of apparatus the methods of this program ask about, and whether each has a calibrated volume.
pub(super) const APPARATUS: &[(&str, bool)] = &[
    ("volumetric-meter", true),
    ("pressure-meter", true),
    ("cone", false),
    ("thermometer", false),
    ("measure", true),
    ("scale", false),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::written::Written;
    use quantity::Unit;

    #[test]
    fn every_unit_is_known_and_belongs_to_its_system() {
        let measures = RESULTS.iter().map(|(_, measure)| *measure);
        for measure in measures.chain([AREA, MASS, STRENGTH, VESSEL, WATER]) {
            for (system, example) in [System::InchPound, System::Si].into_iter().zip(measure.examples) {
                let units = measure.units(system);
                for symbol in units {
                    let unit = Unit::parse(symbol).unwrap();
                    assert!(unit.system().is_none_or(|own| own == system), "{symbol} in {system}");
                }
                let written = example.parse().or_else(|_| Written::bare(example)).unwrap();
                assert!(units.iter().any(|symbol| Unit::parse(symbol) == Ok(written.amount.unit)), "{example}");
            }
        }
    }
}
