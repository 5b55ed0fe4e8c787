//! The planner: which work comes first, so that every window is kept.
//!
//! Holds the scheduling of several tests by one or more pairs of hands: attended segments of work,
//! the waits between them, and windows from one moment to another ([`Problem`]); the best plan for it,
//! found by exact search ([`solve()`]); the plan from now on, when part of the work is done
//! ([`replan`]); and why it cannot be done and what would mend it ([`explain`]).
//!
//! Knows no concrete, no procedure, no clock. Times are whole numbers in one unit of the caller's
//! choice (seconds in this house), counted from a moment of the caller's choice.
//!
//! **Invariant:** a plan never breaks what cannot bend: work in hand is not interrupted, a pair of
//! hands does one thing at a time, a wait is never cut short, a fixed order is kept. What can be late
//! is told with its lateness, never hidden.
//!
//! ```
//! use plan::{Effort, Point, Problem, Segment, Test, Window};
//!
//! // Two tests on one sample, both to be begun within 300 s of it. The thermometer soaks by itself.
//! let mut day = Problem::new(1);
//! let slump = day.add(Test::new("slump", vec![Segment::new("cone", 140)]));
//! let warmth = day.add(Test::new("temperature", vec![
//!     Segment::new("probe in", 20).then_wait(120, None),
//!     Segment::new("read", 15),
//! ]));
//! day.window(Window::new("start of slump", Point::Fixed(0), Point::Start(slump.segment(0))).at_most(300));
//! day.window(Window::new("start of temperature", Point::Fixed(0), Point::Start(warmth.segment(0))).at_most(300));
//!
//! let plan = plan::solve(&day, Effort::default())?;
//! assert_eq!(plan.lateness, 0);
//! assert_eq!(plan.ends, 175); // probe in, the whole slump while it soaks, then read
//! assert_eq!(plan.work[0].at, warmth.segment(0));
//! # Ok::<(), plan::Fault>(())
//! ```

mod explain;
mod graph;
mod now;
mod problem;
mod search;
mod solve;

pub use explain::{Broken, Explanation, Mend, Trial, explain};
pub use now::{Done, Now, UnderWay, replan};
pub use problem::{Fault, Link, Point, Problem, Segment, SegmentId, Test, TestId, Time, Wait, Window, WindowOf};
pub use solve::{Effort, Hold, Plan, Proof, Work, solve, solve_granting};
