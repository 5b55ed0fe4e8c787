//! Agreement, reliability and item analysis for marks given by people.
//!
//! Here: percent agreement and kappa ([`cohen_kappa`]), [`fleiss_kappa`], [`krippendorff_alpha`], intraclass
//! correlations ([`icc`]), [`kr20`] and [`cronbach_alpha`], difficulty and discrimination of items
//! ([`ItemAnalysis`]), means, medians and trends; each with n and a 95 % interval. Not here: who was marked and for
//! what, and words such as "substantial" for a kappa: the bands behind them are arbitrary (Landis and Koch 1977, from
//! memory), so a number is shown with its interval and nothing is called good or poor.
//!
//! Where numbers are squared they may reach from 1e-140 to 1e140; beyond that the answer is [`Undefined::OutOfReach`].
//!
//! Binary floats are at home here and nowhere else: these are estimates about people, never readings or limits.
//!
//! **Invariant:** what is undefined is returned as [`Undefined`] with its reason, never as a number.

mod agreement;
mod describe;
mod estimate;
mod fleiss;
mod icc;
mod items;
mod krippendorff;
mod proportion;
mod reliability;
pub mod special;
mod trend;

pub use agreement::{Table, Weights, cohen_kappa, percent_agreement};
pub use describe::{Spread, mean, median, quantile, range, spread};
pub use estimate::{Estimate, Interval, Undefined};
pub use fleiss::fleiss_kappa;
pub use icc::{IccForm, icc};
pub use items::{
    DIndex, Groups, ItemAnalysis, ItemFigures, Tie, correlation, d_index, difficulty, item_rest, item_total,
};
pub use krippendorff::{Level, krippendorff_alpha};
pub use proportion::proportion;
pub use reliability::{alpha_without, cronbach_alpha, kr20};
pub use trend::{Trend, trend};
