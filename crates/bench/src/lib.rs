//! The sample bench.

pub mod calendar;
pub mod fact;
pub mod labels;
pub mod live;
pub mod papers;
pub mod planning;
pub mod site;
pub mod verdict;
pub mod written;
