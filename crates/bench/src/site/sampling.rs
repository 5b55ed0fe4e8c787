//! How many samples a placement needs.
//!
//! Here: exact arithmetic on volumes, areas and days. Not here: which truck is sampled; ASTM C94 and ACI 318 leave that
//! to chance, and so does this.
//!
//! **Invariant:** a part of a volume counts as a whole one, and a volume in another unit is refused, never converted.

use quantity::{Exact, Quantity, Unit};

use super::Sampling;
use crate::verdict::Incomparable;
use crate::written::Written;

/// What was placed so far, or is going to be.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Placed {
    /// Volume, yd³ or m³.
    pub volume: Option<Quantity>,
    /// Area of slab, or of one side of a wall; ft² or m².
    pub area: Option<Quantity>,
    /// Days on which concrete was placed.
    pub days: u32,
}

/// How many samples are due, and by which rule.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Due {
    /// The largest number any rule asks for.
    pub samples: u64,
    /// What each rule asks for, in words and number, in the order volume, area, day, whole job.
    pub rules: Vec<(String, u64)>,
    /// Whether the specification lets the samples be waived because so little was placed.
    pub may_be_waived: bool,
}

impl Sampling {
    /// How many samples are due by what was placed.
    ///
    /// The rule that asks for most counts, as in ACI 318-08, section 5.6 (seen restated). A part of a volume counts as a
    /// whole one: "for each 50 yd³ or part of it", the reading that never takes too few. `at_least` is about the whole
    /// job, so it counts as soon as anything was placed.
    ///
    /// # Errors
    ///
    /// [`Incomparable::Units`] if a volume or area is not in the unit of the site file.
    pub fn due(&self, placed: &Placed) -> Result<Due, Incomparable> {
        let mut rules = Vec::new();
        for (every, so_far) in [(&self.every, &placed.volume), (&self.every_area, &placed.area)] {
            if let (Some(every), Some(so_far)) = (every, so_far) {
                rules.push((format!("every {every}"), parts(so_far, every)?));
            }
        }
        if let Some(per_day) = self.at_least_per_day {
            rules.push((format!("at least {per_day} a day"), u64::from(per_day) * u64::from(placed.days)));
        }
        let anything = |so_far: &Option<Quantity>| so_far.as_ref().is_some_and(|so_far| so_far.value > Exact::zero());
        if let Some(at_least) = self.at_least
            && (anything(&placed.volume) || anything(&placed.area) || placed.days > 0)
        {
            rules.push((format!("at least {at_least} on the job"), u64::from(at_least)));
        }
        let may_be_waived = match (&self.may_be_waived_under, &placed.volume) {
            (Some(under), Some(volume)) => {
                same_unit(volume.unit, under.amount.unit)?;
                volume.value < under.amount.value
            }
            _ => false,
        };
        Ok(Due { samples: rules.iter().map(|(_, samples)| *samples).max().unwrap_or(0), rules, may_be_waived })
    }

    /// The thickness at which the rule by volume and the rule by area ask for the same: volume over area. Under it the
    /// area decides. In m for m³ and m², in yd³/ft² for yd³ and ft².
    pub fn governing_thickness(&self) -> Option<Quantity> {
        self.every.as_ref()?.amount.over(&self.every_area.as_ref()?.amount).ok()
    }
}

/// How many whole and begun parts of `every` there are.
fn parts(so_far: &Quantity, every: &Written) -> Result<u64, Incomparable> {
    same_unit(so_far.unit, every.amount.unit)?;
    if so_far.value <= Exact::zero() {
        return Ok(0);
    }
    let Some(share) = so_far.value.checked_div(&every.amount.value) else { return Ok(0) };
    let one = Exact::one();
    let nearest = share.rounded_to(&one, quantity::Ties::Up);
    let whole = if nearest < share { nearest + one } else { nearest };
    Ok(whole.show_exact().parse().unwrap_or(u64::MAX))
}

fn same_unit(result: Unit, limit: Unit) -> Result<(), Incomparable> {
    if result == limit { Ok(()) } else { Err(Incomparable::Units { result, limit }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn amount(text: &str) -> Quantity {
        text.parse().unwrap()
    }

    fn every(volume: &str, area: &str) -> Sampling {
        Sampling { every: volume.parse().ok(), every_area: area.parse().ok(), ..Sampling::default() }
    }

    fn due(sampling: &Sampling, volume: &str, days: u32) -> u64 {
        sampling.due(&Placed { volume: Some(amount(volume)), days, ..Placed::default() }).unwrap().samples
    }

    #[test]
    fn a_part_of_a_volume_counts_as_a_whole_one() {
        let sampling = every("50 yd³", "");
        for (placed, samples) in [
            ("0 yd³", 0),
            ("0.5 yd³", 1),
            ("49.9 yd³", 1),
            ("50 yd³", 1),
            ("50.25 yd³", 2),
            ("75 yd³", 2),
            ("150 yd³", 3),
        ] {
            assert_eq!(due(&sampling, placed, 1), samples, "{placed}");
        }
    }

    #[test]
    fn the_rule_that_asks_for_most_counts() {
        let sampling = Sampling {
            at_least_per_day: Some(1),
            at_least: Some(5),
            may_be_waived_under: "50 yd³".parse().ok(),
            ..every("150 yd³", "5000 ft²")
        };
        let placed =
            |volume: &str, area: &str, days| Placed { volume: Some(amount(volume)), area: Some(amount(area)), days };
        let due = sampling.due(&placed("900 yd³", "40000 ft²", 3)).unwrap();
        let rules: Vec<_> = due.rules.iter().map(|(rule, samples)| format!("{rule}: {samples}")).collect();
        assert_eq!(rules, ["every 150 yd³: 6", "every 5000 ft²: 8", "at least 1 a day: 3", "at least 5 on the job: 5"]);
        assert_eq!((due.samples, due.may_be_waived), (8, false));
        let small = sampling.due(&placed("49 yd³", "100 ft²", 1)).unwrap();
        assert_eq!((small.samples, small.may_be_waived), (5, true));
        assert_eq!(sampling.due(&Placed::default()).unwrap().samples, 0, "nothing placed, nothing due");
    }

    #[test]
    fn a_volume_in_another_unit_is_refused() {
        let placed = Placed { volume: Some(amount("40 m³")), ..Placed::default() };
        assert!(every("50 yd³", "").due(&placed).is_err());
    }
}
