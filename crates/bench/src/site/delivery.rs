//! A load against the limits of delivery.
//!
//! Here: time, turns of the drum and water added, each "not more than", so equal passes. Not here: any limit of its own.
//! ASTM C94 had 90 minutes before 2021 and leaves it to purchaser and producer since (seen restated), so there is no
//! default: the site file or the ticket says.
//!
//! **Invariant:** what was not told is not judged.

use std::fmt;

use quantity::{Quantity, Span};

use super::Delivery;

/// A load, as far as it is known.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Load {
    /// Since batching.
    pub age: Option<Span>,
    /// Turns of the drum in all.
    pub revolutions: Option<u32>,
    /// Water added on site, in the unit of the limit.
    pub water_added: Option<Quantity>,
    /// Turns at mixing speed since water was added.
    pub revolutions_after_water: Option<u32>,
}

/// A limit of delivery that was not kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Broken {
    /// Which.
    pub what: &'static str,
    /// What it is on this load.
    pub is: String,
    /// The limit, in words: "at most 90 min".
    pub limit: String,
}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}, {}", self.what, self.is, self.limit)
    }
}

impl Delivery {
    /// The limits a load does not keep. Water in another unit than the limit's is said as such, not converted.
    pub fn broken_by(&self, load: &Load) -> Vec<Broken> {
        let mut broken = Vec::new();
        if let (Some(most), Some(age)) = (self.time_at_most, load.age)
            && age > most
        {
            broken.push(Broken { what: "time since batching", is: age.to_string(), limit: format!("at most {most}") });
        }
        if let (Some(most), Some(turns)) = (self.revolutions_at_most, load.revolutions)
            && turns > most
        {
            broken.push(Broken { what: "turns of the drum", is: turns.to_string(), limit: format!("at most {most}") });
        }
        if let (Some(most), Some(water)) = (&self.water_allowed, &load.water_added)
            && (water.unit != most.amount.unit || water.value > most.amount.value)
        {
            broken.push(Broken { what: "water added", is: water.to_string(), limit: format!("at most {most}") });
        }
        let watered = load.water_added.as_ref().is_some_and(|water| !water.value.is_zero());
        if let (Some(least), Some(turns), true) = (self.revolutions_after_water, load.revolutions_after_water, watered)
            && turns < least
        {
            broken.push(Broken {
                what: "turns after water was added",
                is: turns.to_string(),
                limit: format!("at least {least}"),
            });
        }
        broken
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_load_at_its_limits_is_good_and_beyond_them_it_is_said_by_how_much() {
        let limits = Delivery {
            time_at_most: "90 min".parse().ok(),
            revolutions_at_most: Some(300),
            water_allowed: "2.0 gal/yd³".parse().ok(),
            revolutions_after_water: Some(30),
            source: None,
        };
        let load = |age: &str, turns, water: &str, after| Load {
            age: age.parse().ok(),
            revolutions: Some(turns),
            water_added: water.parse().ok(),
            revolutions_after_water: Some(after),
        };
        assert!(limits.broken_by(&load("90 min", 300, "2 gal/yd³", 30)).is_empty());
        assert!(limits.broken_by(&load("10 min", 70, "0 gal/yd³", 0)).is_empty(), "no water, no turns after it");
        assert!(limits.broken_by(&Load::default()).is_empty(), "what was not told is not judged");
        let broken = limits.broken_by(&load("90 min 1 s", 301, "2.1 gal/yd³", 29));
        let told: Vec<String> = broken.iter().map(ToString::to_string).collect();
        assert_eq!(
            told,
            [
                "time since batching: 1 h 30 min 1 s, at most 1 h 30 min",
                "turns of the drum: 301, at most 300",
                "water added: 2.1 gal/yd³, at most 2.0 gal/yd³",
                "turns after water was added: 29, at least 30",
            ]
        );
        assert_eq!(limits.broken_by(&load("1 min", 1, "1 L/m³", 30)).len(), 1, "litres are not gallons");
    }
}
