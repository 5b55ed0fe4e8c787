//! Numbers and units as text in other files: exact, and read back as the same.
//!
//! Here: how serde writes and reads the types whose inside nobody else may touch. Not here: what people type.
//!
//! **Invariant:** what is read back is what was written, and cannot be anything these types do not allow.

use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::{Exact, Unit};

impl Serialize for Exact {
    /// A plain decimal, or a fraction where no decimal ends: "5.35", "1/3".
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.show_exact())
    }
}

impl<'de> Deserialize<'de> for Exact {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = std::borrow::Cow::<str>::deserialize(deserializer)?;
        let part = |part: &str| part.parse::<Exact>().map_err(D::Error::custom);
        match text.split_once('/') {
            None => part(&text),
            Some((above, below)) => part(above)?
                .checked_div(&part(below)?)
                .ok_or_else(|| D::Error::custom(format!("{text} divides by zero"))),
        }
    }
}

impl Serialize for Unit {
    /// Its canonical symbol.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.symbol())
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = std::borrow::Cow::<str>::deserialize(deserializer)?;
        Unit::parse(&text).map_err(D::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_reads_back_as_the_same() {
        for value in ["0", "5.35", "-0.25", "123456789012345678901234567890.5"] {
            let value: Exact = value.parse().unwrap();
            let text = postcard::to_stdvec(&value).unwrap();
            assert_eq!(postcard::from_bytes::<Exact>(&text).unwrap(), value);
        }
        let third = Exact::ratio(-1, 3).unwrap();
        assert_eq!(postcard::from_bytes::<Exact>(&postcard::to_stdvec(&third).unwrap()).unwrap(), third);
        for symbol in Unit::all_symbols().iter().copied().chain(["", "lb/ft³", "%/cup", "1/cup", "lb·ft"]) {
            let unit = Unit::parse(symbol).unwrap();
            assert_eq!(postcard::from_bytes::<Unit>(&postcard::to_stdvec(&unit).unwrap()).unwrap(), unit, "{symbol}");
        }
    }

    #[test]
    fn what_is_no_number_or_unit_is_not_read() {
        for text in ["", "1/0", "x", "1/2/3"] {
            assert!(postcard::from_bytes::<Exact>(&postcard::to_stdvec(text).unwrap()).is_err(), "{text}");
        }
        assert!(postcard::from_bytes::<Unit>(&postcard::to_stdvec("furlong").unwrap()).is_err());
    }
}
