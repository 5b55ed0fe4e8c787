//! The records of a sample: its own file, and one journal for each run.
//!
//! Here: the [`Shelf`], which holds the sample's own file together with the keepers of the runs. Not here: what a line
//! means (`sample_record`), how the sample's file is kept (`ledger`), how one run is kept (`store`).
//!
//! One journal for each run, because each is evidence of its own: it can be shown, verified, reported, corrected and
//! handed over alone. The sample's file holds only what belongs to no run: which tests were chosen, which run is which, the
//! site file as it was.
//!
//! A run's journal is made when the test is begun, and its line in the sample's file follows. If the program dies between
//! the two, the run is found by the sample's name in its own first line.
//!
//! **Invariant:** as with one run, `Ok` means: on the disk, in order.

use std::borrow::Cow;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use engine::{Event, Moment, Phase, Run};
use journal::Journal;
use procedure::{Edition, ReadingId};
use quantity::{System, Ties};

use super::clock::{self, Timepiece};
use super::lapse::{self, LastSeen};
use super::ledger::Ledger;
use super::library::Found;
use super::record::{Gap, Known, LoadError, OfSample, Opening, RECORD, Resumed, Stamp};
use super::sample_record::{
    LoadedSample, Purpose, SAMPLE, SampleLine, SampleOpening, SiteText, Test, read_sample, runs_that_belong,
    sample_file,
};
use super::store::{self, Keeper, RETRY, Reopened, TOOL, Trouble, data_of, with_home};

/// A test chosen for the sample, with the procedure it follows.
#[derive(Clone, Debug)]
pub struct Chosen {
    /// What it is called on the bench, how it was found, what it is for.
    pub test: Test,
    /// The procedure in the sample's unit system.
    pub edition: Arc<Edition>,
    /// The procedure's text.
    pub text: Cow<'static, str>,
    /// The SHA-256 of the text.
    pub sha256: Cow<'static, str>,
}

impl Chosen {
    /// The test of `method`, found as `found`, in the unit system `system`, or in the only one it is stated in.
    ///
    /// # Errors
    ///
    /// [`Trouble`] if it is stated in neither.
    pub fn of(found: &Found, test: Test, system: System) -> Result<Self, Trouble> {
        let stated = found.systems();
        let only = stated.first().copied().filter(|_| stated.len() == 1);
        let system = if stated.contains(&system) { Some(system) } else { only };
        let edition = system.and_then(|system| found.edition(system)).ok_or_else(|| Trouble {
            what: format!("{} is stated in no unit system", found.id()),
            hint: "Check the procedure file.".to_owned(),
        })?;
        let (text, sha256) = (found.text.clone(), found.sha256.clone());
        Ok(Self { test, edition: Arc::new(edition), text, sha256 })
    }
}

/// What each test is called on the bench: the id of its procedure, and a number where one comes again.
pub fn names_of<'i>(ids: impl Iterator<Item = &'i str>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for id in ids {
        let n = (1..).find(|n| !names.contains(&numbered(id, *n)));
        names.push(numbered(id, n.unwrap_or(1)));
    }
    names
}

fn numbered(id: &str, n: usize) -> String {
    if n == 1 { id.to_owned() } else { format!("{id}-{n}") }
}

// ---------------------------------------------------------------------------------------------- all records together

/// The records of a sample: its own file and the journals of its runs.
#[derive(Debug)]
pub struct Shelf {
    data: PathBuf,
    ledger: Ledger<SampleLine>,
    tests: Vec<Chosen>,
    keepers: Vec<Option<Keeper>>,
    ties: Ties,
    timepiece: Timepiece,
    /// Whether the names of the runs come from a script, and are the same every time.
    is_script: bool,
}

/// What a sample is opened with.
#[derive(Debug)]
pub struct NewSample {
    /// The data folder.
    pub data: PathBuf,
    /// The tests, in the order of the bench.
    pub tests: Vec<Chosen>,
    /// The unit system.
    pub system: System,
    /// Where a half goes.
    pub ties: Ties,
    /// The site file.
    pub site: Option<SiteText>,
    /// The clocks of the sample; their count is 0 at its opening.
    pub timepiece: Timepiece,
    /// When it is opened.
    pub opened: Moment,
    /// What stands in the record in place of the program's process: a script gives the same names every time.
    pub is_script: bool,
}

impl Shelf {
    /// The records of a new sample; its file is on the disk, or [`trouble`](Self::trouble) says why not.
    pub fn create(new: NewSample) -> Self {
        let NewSample { data, tests, system, ties, site, timepiece, opened, is_script } = new;
        let sample = if is_script {
            let name = format!("{}-sample-script", clock::day_and_minute(opened.wall));
            free(&name, |name| sample_file(&data, name).exists())
        } else {
            let salted = |salt| store::run_name(opened.wall, "sample", salt);
            (0..256).map(salted).find(|name| !sample_file(&data, name).exists()).unwrap_or_else(|| salted(0))
        };
        let opening = SampleOpening {
            sample_record: SAMPLE,
            sample,
            tests: tests.iter().map(|chosen| chosen.test.clone()).collect(),
            system,
            ties,
            tool: TOOL.to_owned(),
            simulated: timepiece.said(),
            speed: timepiece.is_simulated().then(|| timepiece.speed()),
            opened: Stamp::of(opened),
            boot: if is_script { None } else { clock::boot() },
            steady_ms: if is_script { 0 } else { timepiece.origin_ms() },
            site,
        };
        let name = opening.sample.clone();
        let ledger = Ledger::create(&data, &name, SampleLine::Opened(Box::new(opening)));
        let keepers = tests.iter().map(|_| None).collect();
        Self { data, ledger, tests, keepers, ties, timepiece, is_script }
    }

    /// The sample's name.
    pub fn name(&self) -> &str {
        self.ledger.name()
    }

    /// The data folder.
    pub fn data(&self) -> &Path {
        &self.data
    }

    /// The sample's own file.
    pub fn path(&self) -> &Path {
        self.ledger.path()
    }

    /// The tests, in the order of the bench.
    pub fn tests(&self) -> &[Chosen] {
        &self.tests
    }

    /// The keeper of a run that was begun.
    pub fn keeper(&self, n: usize) -> Option<&Keeper> {
        self.keepers.get(n)?.as_ref()
    }

    /// The first thing that is not on the disk, and why.
    pub fn trouble(&self) -> Option<&Trouble> {
        self.keepers.iter().flatten().find_map(Keeper::trouble).or(self.ledger.trouble())
    }

    /// What is not on the disk, as it would be written.
    pub fn unkept(&self) -> Vec<String> {
        let runs = self.keepers.iter().flatten().flat_map(|keeper| keeper.unkept());
        self.ledger.unkept().into_iter().chain(runs).collect()
    }

    /// A test is added to those chosen at first, such as a check test.
    pub fn add(&mut self, chosen: Chosen, at: Moment) {
        self.ledger.add(SampleLine::Added { at: Stamp::of(at), test: chosen.test.clone() });
        self.tests.push(chosen);
        self.keepers.push(None);
    }

    /// The check test of test `of` is added under `name`: the same method on the same sample.
    pub fn add_check(&mut self, of: usize, name: String, at: Moment) {
        let Some(checked) = self.tests.get(of) else { return };
        let purpose = Purpose::CheckOf(checked.test.name.clone());
        let test = Test { name, purpose, ..checked.test.clone() };
        self.add(Chosen { test, ..checked.clone() }, at);
    }

    /// Makes the journal of a test that is begun at `at`, and says so in the sample's file. Returns the run's name.
    ///
    /// # Errors
    ///
    /// [`Trouble`]: the run goes on in memory.
    pub fn begin(&mut self, n: usize, at: Moment) -> Result<String, Trouble> {
        let Some(chosen) = self.tests.get(n) else {
            return Err(Trouble { what: "there is no such test on this bench".to_owned(), hint: String::new() });
        };
        let name = &chosen.test.name;
        let run = if self.is_script {
            let name = format!("{}-{name}-script", clock::day_and_minute(at.wall));
            free(&name, |name| store::runs_folder(&self.data).join(format!("{name}{}", store::ENDING)).exists())
        } else {
            store::free_name(&self.data, at.wall, name)
        };
        let opening = Opening {
            record: RECORD,
            run,
            procedure: chosen.edition.id.clone(),
            procedure_version: chosen.edition.version.clone(),
            procedure_sha256: chosen.sha256.clone().into_owned(),
            system: chosen.edition.system,
            ties: self.ties,
            tool: TOOL.to_owned(),
            simulated: self.timepiece.said(),
            speed: self.timepiece.is_simulated().then(|| self.timepiece.speed()),
            sample: Some(OfSample { name: self.ledger.name().to_owned(), test: name.clone() }),
            opened: Stamp::of(at),
            boot: if self.is_script { None } else { clock::boot() },
            steady_ms: if self.is_script { 0 } else { self.timepiece.origin_ms() },
            procedure_text: chosen.text.clone().into_owned(),
        };
        let line = |run: &str| SampleLine::Run {
            at: Stamp::of(at),
            test: chosen.test.name.clone(),
            run: run.to_owned(),
            procedure: chosen.edition.id.clone(),
            purpose: chosen.test.purpose.clone(),
        };
        let mut keeper = Keeper::new(self.data.clone(), Arc::clone(&chosen.edition), opening);
        let outcome = keeper.begin();
        let run = keeper.name().to_owned();
        let line = line(&run);
        self.ledger.add(line);
        self.keepers[n] = Some(keeper);
        outcome.map(|_| run)
    }

    /// Puts an event of run `n` on the disk.
    ///
    /// # Errors
    ///
    /// [`Trouble`]: the event is in memory and not on the disk.
    pub fn keep(&mut self, n: usize, event: &Event, at: Moment, corrected: Option<ReadingId>) -> Result<u64, Trouble> {
        match self.keepers.get_mut(n).and_then(Option::as_mut) {
            Some(keeper) => keeper.keep(event, at, corrected),
            None => Err(Trouble { what: "the record has not been begun".to_owned(), hint: RETRY.to_owned() }),
        }
    }

    /// Every test begun is closed.
    pub fn close(&mut self, at: Moment) {
        self.ledger.add(SampleLine::Closed { at: Stamp::of(at) });
    }

    /// A remark about the sample as a whole.
    pub fn remark(&mut self, text: &str, at: Moment) {
        self.ledger.add(SampleLine::Remark { at: Stamp::of(at), text: text.to_owned() });
    }

    /// What is not on the disk of the sample's own file, after another try.
    pub fn mend_ledger(&mut self) -> Option<Trouble> {
        self.ledger.trouble()?;
        let Trouble { what, hint } = self.ledger.retry().err()?;
        Some(Trouble { what: format!("the file of the sample: {what}"), hint })
    }

    /// Tries everything again that is not on the disk; returns how many events of run `n` are there then.
    ///
    /// # Errors
    ///
    /// [`Trouble`] with the first that failed again.
    pub fn retry(&mut self, n: usize) -> Result<u64, Trouble> {
        let mut first = self.ledger.trouble().is_some().then(|| self.ledger.retry().err()).flatten();
        for keeper in self.keepers.iter_mut().flatten().filter(|keeper| keeper.trouble().is_some()) {
            let outcome = keeper.retry();
            first = first.or(outcome.err());
        }
        first.map_or_else(|| Ok(self.n_kept(n)), Err)
    }

    /// How many events of run `n` are on the disk for certain.
    pub fn n_kept(&self, n: usize) -> u64 {
        self.keeper(n).map_or(0, Keeper::n_events_kept)
    }

    /// How many events of all runs are on the disk for certain.
    pub fn n_kept_in_all(&self) -> u64 {
        self.keepers.iter().flatten().map(Keeper::n_events_kept).sum()
    }

    /// Goes on with everything in another data folder.
    ///
    /// # Errors
    ///
    /// [`Trouble`] with the first that does not go; what did go stays there, and everything is in memory.
    pub fn move_to(&mut self, folder: &str, at: Moment) -> Result<(), Trouble> {
        let data = with_home(folder.trim());
        if folder.trim().is_empty() || data == self.data {
            return self.retry(0).map(|_| ());
        }
        // The sample's file last: until it is there, the whole is found in the folder before.
        for keeper in self.keepers.iter_mut().flatten() {
            keeper.move_to(folder, at)?;
        }
        self.ledger.move_to(&data, at)?;
        self.data = data;
        Ok(())
    }
}

/// `name`, or with the first number behind it that makes it free.
fn free(name: &str, is_taken: impl Fn(&str) -> bool) -> String {
    let numbered = (1..256).map(|n| numbered(name, n));
    numbered.into_iter().find(|name| !is_taken(name)).unwrap_or_else(|| name.to_owned())
}

// ---------------------------------------------------------------------------------------------- going on

/// A sample that goes on.
#[derive(Debug)]
pub struct SampleResumption {
    /// Its records.
    pub shelf: Shelf,
    /// How it was opened.
    pub opening: SampleOpening,
    /// The runs, in the order of the shelf's tests; none for a test nobody has begun.
    pub runs: Vec<Option<Run>>,
    /// The one clock of all runs.
    pub timepiece: Timepiece,
    /// What the person is told.
    pub said: String,
}

impl Shelf {
    /// Goes on with a sample: takes the locks of its file and of every run, performs all of them again, and finds one time
    /// for them all: the latest any of their records leads to, so that no run's time runs back. `find` finds the procedure
    /// of a test nobody has begun.
    ///
    /// A run that cannot be read back is left out, and that is said; the others go on.
    ///
    /// # Errors
    ///
    /// [`LoadError`] if the sample's own file cannot be read.
    pub fn resume(
        path: &Path,
        find: impl Fn(&SampleOpening, &Test) -> Result<Chosen, Trouble>,
    ) -> Result<SampleResumption, LoadError> {
        let (journal, recovered) = Journal::open(path)?;
        let loaded = read_sample(recovered)?;
        let data = data_of(path);
        let mut said: Vec<String> = Vec::new();
        let belonging = belonging(&data, &loaded, &mut said);
        let (mut tests, mut reopened) = (Vec::new(), Vec::new());
        for test in loaded.tests() {
            match belonging.iter().position(|(name, _)| *name == test.name) {
                Some(at) => match &belonging[at].1 {
                    Ok(run) => {
                        let opening = &run.loaded.opening;
                        tests.push(Chosen {
                            test,
                            edition: Arc::clone(&run.loaded.edition),
                            text: opening.procedure_text.clone().into(),
                            sha256: opening.procedure_sha256.clone().into(),
                        });
                        reopened.push(Some(at));
                    }
                    Err(why) => said.push(format!("{} is left out: {why}.", test.name)),
                },
                None => match find(&loaded.opening, &test) {
                    Ok(chosen) => {
                        tests.push(chosen);
                        reopened.push(None);
                    }
                    Err(why) => said.push(format!("{} is left out: {}.", test.name, why.what)),
                },
            }
        }
        let mut belonging: Vec<Option<Reopened>> = belonging.into_iter().map(|(_, run)| run.ok()).collect();
        let runs: Vec<Option<Reopened>> =
            reopened.into_iter().map(|at| at.and_then(|at| belonging[at].take())).collect();
        let (timepiece, gap_ms, how) = common_time(&loaded, &runs);
        said.insert(0, lapse::said_of(gap_ms, how));
        for (chosen, run) in tests.iter().zip(&runs) {
            let torn = run.as_ref().and_then(|run| lapse::torn_words(&run.loaded));
            said.extend(torn.map(|torn| format!("{}: {torn}", chosen.test.name)));
        }
        let mut ledger = Ledger::reopened(&data, &loaded.opening.sample, path, journal, loaded.lines.clone());
        let at = timepiece.now();
        for (chosen, run) in tests.iter().zip(&runs) {
            let Some(run) = run.as_ref().filter(|_| loaded.run_of(&chosen.test.name).is_none()) else { continue };
            // The program ended between making this run's journal and the sample's line about it.
            ledger.push(SampleLine::Run {
                at: Stamp::of(at),
                test: chosen.test.name.clone(),
                run: run.loaded.opening.run.clone(),
                procedure: chosen.edition.id.clone(),
                purpose: chosen.test.purpose.clone(),
            });
        }
        ledger.push(SampleLine::Resumed(Resumed {
            at: Stamp::of(at),
            boot: clock::boot(),
            steady_ms: timepiece.origin_ms(),
            gap_ms,
            how,
            tool: TOOL.to_owned(),
        }));
        let (mut keepers, mut live) = (Vec::new(), Vec::new());
        for run in runs {
            let resumption = run.map(|run| run.go_on(timepiece.clone(), how));
            let (keeper, run) = resumption.map_or((None, None), |one| (Some(one.keeper), Some(one.loaded.run)));
            keepers.push(keeper);
            live.push(run);
        }
        let is_script = loaded.opening.speed == Some(0);
        let ties = loaded.opening.ties;
        let shelf = Self { data, ledger, tests, keepers, ties, timepiece: timepiece.clone(), is_script };
        let said = said.join(" ");
        Ok(SampleResumption { shelf, opening: loaded.opening, runs: live, timepiece, said })
    }

    /// Puts on the disk that the sample and its open runs go on. A run that is closed says so only if something more
    /// happens to it.
    pub fn catch_up(&mut self, runs: &[bool]) {
        self.ledger.catch_up();
        for (keeper, is_open) in self.keepers.iter_mut().zip(runs) {
            if let Some(keeper) = keeper.as_mut().filter(|_| *is_open) {
                keeper.catch_up();
            }
        }
    }
}

type Belonging = (String, Result<Reopened, LoadError>);

/// The runs of a sample, by the names of their tests: those its file names, and those that name it themselves.
fn belonging(data: &Path, loaded: &LoadedSample, said: &mut Vec<String>) -> Vec<Belonging> {
    let mut known = Known::default();
    let folder = store::runs_folder(data);
    let mut all: Vec<Belonging> = Vec::new();
    let mut paths = Vec::new();
    for test in loaded.tests() {
        if let Some(run) = loaded.run_of(&test.name) {
            let path = folder.join(format!("{run}{}", store::ENDING));
            all.push((test.name, Keeper::reopen(&path, &mut known)));
            paths.push(path);
        }
    }
    let own = &loaded.opening.sample;
    for named in runs_that_belong(data, own) {
        if paths.contains(&named.path) {
            continue;
        }
        let reopened = Keeper::reopen(&named.path, &mut known);
        let of = reopened.as_ref().ok().and_then(|run| run.loaded.opening.sample.clone());
        match of {
            Some(of) if of.name == *own && all.iter().all(|(test, _)| *test != of.test) => {
                all.push((of.test, reopened))
            }
            _ => said.push(format!("The run {} names this sample too and is left alone.", named.name)),
        }
    }
    all
}

/// The latest time that the records of a sample lead to.
fn common_time(loaded: &LoadedSample, runs: &[Option<Reopened>]) -> (Timepiece, u64, Gap) {
    let (steady_ms, wall, boot) = (clock::steady_ms(), clock::wall_now(), clock::boot());
    let opening = &loaded.opening;
    let (anchor, anchor_ms) = loaded.anchor();
    let own = LastSeen {
        last: loaded.last(),
        began: lapse::count_began(opening.opened.moment().unwrap_or_default()),
        boot: anchor,
        steady_ms: anchor_ms,
        simulated: opening.simulated.as_ref().map(|_| opening.speed.unwrap_or(0)),
    };
    let all: Vec<LastSeen> =
        std::iter::once(own).chain(runs.iter().flatten().map(|run| LastSeen::of(&run.loaded))).collect();
    let last = all.iter().map(|seen| seen.last.tick).max().unwrap_or_default();
    let times = all.iter().map(|seen| seen.timepiece(steady_ms, wall, boot.clone()));
    // A steady clock that counted on is exact; among wall clocks the longest time counts, so that no limit gets longer.
    let best = times.max_by_key(|(timepiece, _, how)| (*how == Gap::SameBoot, timepiece.base()));
    let (timepiece, _, how) = best.unwrap_or_else(|| (Timepiece::live(last), 0, Gap::Unknown));
    let gap = timepiece.base().since(last);
    (timepiece.at_least(last), gap.0, how)
}

/// Whether anything can still happen on a bench with these runs.
pub fn is_sample_open(runs: &[Option<Run>]) -> bool {
    runs.iter().any(|run| run.as_ref().is_none_or(|run| !matches!(run.phase(), Phase::Closed { .. })))
}
