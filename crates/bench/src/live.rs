//! Several runs on one sample: what one knows and another asks, whose turn it is, which limits are closing.
//!
//! Here: questions about runs that stand side by side. What a run is to be told becomes an ordinary event, which the
//! caller hands to that run and keeps in that run's journal. Not here: keeping, drawing, clocks; how long anything is
//! planned to last (`planning`).
//!
//! | part | question |
//! |------|----------|
//! | [`told`] | which events follow in one run from what stands in the others |
//! | [`waits_for`] | which run's act a step waits for |
//! | [`due`] | which run should be in hand next, and why |
//! | [`windows`] | how every limit stands, also of tests not yet begun |
//! | [`repeat`] | whether a discarded test may be repeated on this sample |
//! | [`judged`] | every result beside its limit, and whether a check test is called for |
//! | [`Watch`] | what of verdicts, papers and things told is new |
//!
//! **Invariant:** everything is computed from the runs and the moment given, so runs read back from their journals
//! stand on the same bench as before.

mod due;
mod results;
mod tell;
mod watch;
mod windows;

pub use due::{Stand, Turn, Why, due, soonest_clock, stand};
pub use results::{Judged, Role, check_name, judged, may_check, too_late_for};
pub use tell::{marked, pool, told, waits_for};
pub use watch::{Said, Watch};
pub use windows::{News, NewsKind, Repeat, Window, WindowState, news, next_news, repeat, windows};

use engine::{Phase, Run};
use procedure::{Edition, Part, StepId, Text};

/// One place on the bench: a test that belongs to the sample, begun or not.
#[derive(Copy, Clone, Debug)]
pub struct Seat<'r> {
    /// What it is called on this bench, such as `slump`.
    pub name: &'r str,
    /// The procedure it follows.
    pub edition: &'r Edition,
    /// The run; `None` as long as nobody has begun it.
    pub run: Option<&'r Run>,
}

impl<'r> Seat<'r> {
    /// The run, if one of its steps is open.
    fn at_step(&self) -> Option<&'r Run> {
        self.run.filter(|run| run.phase() == Phase::AtStep)
    }

    /// The procedure's number for a moment of the sample.
    fn moment_id(&self, moment: &str) -> Option<u16> {
        self.edition.moments.iter().position(|name| name == moment).map(|at| at as u16)
    }

    /// The name of the moment that `step` marks.
    fn moment_of(&self, step: StepId) -> Option<&'r str> {
        let moment = self.edition.steps.get(step.0 as usize)?.moment?;
        self.edition.moments.get(moment as usize).map(String::as_str)
    }

    /// A text of the procedure; what only a run could fill in is a dash.
    fn say(&self, text: &Text) -> String {
        match self.run {
            Some(run) => run.say(text),
            None => text.parts.iter().map(|part| if let Part::Plain(plain) = part { plain } else { "—" }).collect(),
        }
    }
}
