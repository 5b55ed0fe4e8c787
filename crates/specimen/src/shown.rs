//! What can be seen of a specimen: the picture a person reads, never the number.

use quantity::{Decimal, Scale};

/// What an instrument shows, to two decimals beyond its marks: where it stands between two marks is for the person to
/// judge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shown {
    /// The neck of the volumetric meter: the level at the bottom of the meniscus, and the height of the foam above it.
    Neck {
        /// Its marks.
        scale: Scale,
        /// The level; more than the highest mark if it lies beyond the scale, until a cup of water is added.
        level: Decimal,
        /// The height of the foam, in the unit of the marks: in the numbered divisions of the neck.
        foam: Decimal,
    },
    /// A dial with a needle.
    Gauge {
        /// Its marks.
        scale: Scale,
        /// Where the needle stands.
        at: Decimal,
    },
    /// A thermometer with a column.
    Thermometer {
        /// Its marks.
        scale: Scale,
        /// The top of the column.
        at: Decimal,
    },
    /// A rule beside the slumped cone.
    Rule {
        /// Its marks; the highest is the height of the mould.
        scale: Scale,
        /// How far the top has sunk at its displaced original centre.
        slump: Decimal,
        /// The shape that is left.
        shape: Shape,
    },
    /// A balance with a display: what it shows is a mark already.
    Balance {
        /// Its marks.
        scale: Scale,
        /// The display.
        at: Decimal,
    },
    /// Something written: a ticket, a label, a plate on the meter.
    Paper {
        /// What it is.
        title: String,
        /// What it says, line by line.
        lines: Vec<String>,
    },
    /// Something seen or heard that is no number.
    Sight {
        /// In words.
        says: String,
    },
}

/// What is left when the mould is lifted.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Shape {
    /// It sank evenly.
    True,
    /// One side slid off.
    Sheared,
    /// It fell apart.
    Collapsed,
}

/// Something that comes about without the person: a leak, an interruption, a task to do wrongly on purpose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Happening {
    /// Something the procedure names can be seen now, such as a leak. The person has to notice and act.
    Incident {
        /// Its index in the edition.
        incident: u16,
        /// What is seen.
        says: String,
    },
    /// The person is called away; so much time is gone when they are back.
    Away {
        /// How long.
        span: quantity::Span,
        /// Why.
        says: String,
    },
    /// To be done wrongly on purpose, so that what follows can be practised.
    OnPurpose {
        /// What.
        says: String,
    },
}
