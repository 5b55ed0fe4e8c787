//! The journal of a run as a [`Record`], and a run opened for a script.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use engine::{Event, Moment, Run, Tick};
use procedure::ReadingId;
use quantity::{System, Ties};

use super::plain::Hours;
use super::script::Script;
use super::{NotKept, Record, Talk};
use crate::rim::clock::{self, Timepiece};
use crate::rim::library::Found;
use crate::rim::store::{Keeper, Opening, RECORD, Stamp, TOOL, Trouble};

/// What is stamped into the record of a script.
pub const SIMULATED: &str = "simulated time, set by a script";

impl Hours for Timepiece {
    fn now(&self) -> Moment {
        Timepiece::now(self)
    }

    fn until(&self, tick: Tick) -> Duration {
        Timepiece::until(self, tick)
    }
}

impl From<Trouble> for NotKept {
    fn from(trouble: Trouble) -> Self {
        let Trouble { what, hint } = trouble;
        Self { what, hint }
    }
}

impl Record for Keeper {
    fn keep(&mut self, event: &Event, at: Moment, corrected: Option<ReadingId>) -> Result<u64, NotKept> {
        Ok(Keeper::keep(self, event, at, corrected)?)
    }

    fn move_to(&mut self, folder: &str, at: Moment) -> Result<(String, u64), NotKept> {
        let n = Keeper::move_to(self, folder, at)?;
        Ok((self.data().display().to_string(), n))
    }

    fn retry(&mut self) -> Result<u64, NotKept> {
        Ok(Keeper::retry(self)?)
    }
}

impl Script {
    /// Opens a run for this script, with its journal in the data folder `data`. Everything in that journal comes from
    /// the script and the procedure, so it is the same every time; only a run of the same name that is there already
    /// gives it another name.
    ///
    /// `asked` and `ties` are the unit system and the rounding rule asked for elsewhere; the script's own come first. If
    /// nobody asks for a unit system it is the first the procedure has.
    ///
    /// # Errors
    ///
    /// [`NotKept`] if the procedure is not stated in that unit system, or the journal cannot be begun.
    pub fn open(
        &self,
        found: &Found,
        asked: Option<System>,
        ties: Ties,
        data: PathBuf,
    ) -> Result<(Talk, Keeper), NotKept> {
        let system = self.head.system.or(asked).or(found.systems().first().copied());
        let edition = system.and_then(|system| found.edition(system)).ok_or_else(|| NotKept {
            what: format!("{} is not stated in that unit system", found.id()),
            hint: "Choose the other one".to_owned(),
        })?;
        let edition = Arc::new(edition);
        let ties = self.head.ties.unwrap_or(ties);
        let opened = self.moment(Tick(0));
        let opening = Opening {
            record: RECORD,
            run: format!("{}-{}-script", clock::day_and_minute(opened.wall), edition.id),
            procedure: edition.id.clone(),
            procedure_version: edition.version.clone(),
            procedure_sha256: found.sha256.clone().into_owned(),
            system: edition.system,
            ties,
            tool: TOOL.to_owned(),
            simulated: Some(SIMULATED.to_owned()),
            speed: Some(0),
            sample: None,
            opened: Stamp::of(opened),
            boot: None,
            steady_ms: 0,
            procedure_text: found.text.clone().into_owned(),
        };
        let mut keeper = Keeper::new(data, Arc::clone(&edition), opening);
        keeper.begin()?;
        Ok((Talk::new(Run::open(edition, ties, opened), opened), keeper))
    }
}
