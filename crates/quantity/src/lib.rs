//! Exact numbers with units, the marks of instruments, and rounding.
//!
//! Here: exact rationals ([`Exact`]), units that never convert ([`Unit`]), a value with its unit ([`Quantity`]),
//! spans of time ([`Span`]), numbers as people type them ([`parse_typed`]), the marks of an instrument ([`Scale`])
//! and a value rounded once for a report ([`Reported`]).
//!
//! Not here: concrete, files, clocks, screens. Nothing in this crate reads anything but its arguments.
//!
//! **Invariant:** no value is ever rounded on the way. A third stays a third and 0.25 is 0.25; only
//! [`Exact::rounded_to`] and [`Reported`] round, because they were asked to, and a text that had to round says "≈".

mod exact;
mod quantity;
mod rounding;
mod scale;
mod span;
mod typed;
mod unit;
mod written;

pub use exact::Exact;
pub use quantity::{NotAQuantity, Quantity, QuantityError};
pub use rounding::{Reported, Ties};
pub use rust_decimal::Decimal;
pub use scale::{BadScale, NotAReading, Scale};
pub use span::Span;
pub use typed::{Unreadable, parse_typed};
pub use unit::{System, Unit, UnknownUnit};
