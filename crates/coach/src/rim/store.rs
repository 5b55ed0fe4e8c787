//! Where runs are kept, and the record of a live run.
//!
//! Here: the data folder, names of runs, finding them, and the [`Keeper`], which holds the journal of the run that is
//! being performed. Not here: what a line means (`record`).
//!
//! | what fails | what the keeper does |
//! |------------|----------------------|
//! | no journal could be made | keeps every event in memory and says so; `retry` or another folder begins it |
//! | a write or a flush | stops claiming anything; `retry` reads what is really on the disk and adds only what is missing |
//! | another folder does not take it either | goes on in memory, nothing is lost, nothing is claimed |
//!
//! **Invariant:** `Ok` from the keeper means: every event so far is on the disk, in order, in one file.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use engine::{Event, Moment, Phase, Run, Wall, wire};
use journal::{CreateError, Journal};
use procedure::{Edition, ReadingId, ReadingKind};
use quantity::{System, Ties};

use super::clock::{self, Timepiece};
use super::lapse::said_on_resume;
pub use super::lapse::{LastSeen, timepiece_after};
pub use super::record::{
    Gap, Known, Line, LoadError, Loaded, OfSample, Opening, RECORD, Resumed, Stamp, lines, load, load_knowing, replay,
    stamp,
};

/// The program and its version, as it stands in the record.
pub const TOOL: &str = concat!("pourside ", env!("CARGO_PKG_VERSION"));
/// What the file of a run ends in.
pub(super) const ENDING: &str = ".jsonl";

/// The folder that holds `runs/`: what the command line says, else `POURSIDE_DATA`, else the platform's place.
///
/// # Errors
///
/// A sentence, if the platform names no place.
pub fn data_folder(told: Option<&Path>) -> Result<PathBuf, Trouble> {
    if let Some(folder) = told {
        return Ok(whole(folder));
    }
    if let Some(folder) = std::env::var_os("POURSIDE_DATA").filter(|folder| !folder.is_empty()) {
        return Ok(whole(Path::new(&folder)));
    }
    directories::ProjectDirs::from("", "", "pourside").map(|dirs| dirs.data_dir().to_owned()).ok_or_else(|| Trouble {
        what: "this account has no folder for data".to_owned(),
        hint: "Name one with --data FOLDER, or in the environment variable POURSIDE_DATA.".to_owned(),
    })
}

/// A path that leads to the same place from everywhere.
fn whole(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_owned())
}

/// The folder of the runs in a data folder.
pub fn runs_folder(data: &Path) -> PathBuf {
    data.join("runs")
}

/// Something is not on the disk.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct Trouble {
    /// What failed, and why.
    pub what: String,
    /// What to do.
    pub hint: String,
}

impl Trouble {
    pub(super) fn new(why: &dyn std::error::Error, hint: &str) -> Self {
        let mut what = why.to_string();
        let mut source = why.source();
        while let Some(deeper) = source {
            // Writing to memory cannot fail.
            let _ = write!(what, ": {deeper}");
            source = deeper.source();
        }
        Self { what, hint: hint.to_owned() }
    }

    fn folder(path: &Path, why: &io::Error) -> Self {
        Self {
            what: format!("cannot make the folder {}: {why}", path.display()),
            hint: "Choose another folder.".to_owned(),
        }
    }
}

/// The opening of a new run at `opened`. Its name is given when it is first written.
pub fn opening(
    edition: &Edition,
    text: &str,
    sha256: &str,
    ties: Ties,
    opened: Moment,
    timepiece: &Timepiece,
) -> Opening {
    Opening {
        record: RECORD,
        run: String::new(),
        procedure: edition.id.clone(),
        procedure_version: edition.version.clone(),
        procedure_sha256: sha256.to_owned(),
        system: edition.system,
        ties,
        tool: TOOL.to_owned(),
        simulated: timepiece.said(),
        speed: timepiece.is_simulated().then(|| timepiece.speed()),
        sample: None,
        opened: Stamp::of(opened),
        boot: clock::boot(),
        steady_ms: timepiece.origin_ms(),
        procedure_text: text.to_owned(),
    }
}

/// A name for a run that sorts by time and says what it is: `2026-11-25-0430-air-volumetric-3f`.
pub fn run_name(opened: Wall, procedure: &str, salt: u32) -> String {
    // The last two digits only tell runs of one minute apart.
    let mixed = (opened.unix_ms as u32 ^ std::process::id()).wrapping_add(salt).wrapping_mul(0x9e37_79b9) >> 24;
    format!("{}-{procedure}-{mixed:02x}", clock::day_and_minute(opened))
}

/// A name that no run in the folder has yet.
pub fn free_name(data: &Path, opened: Wall, procedure: &str) -> String {
    (0..256)
        .map(|salt| run_name(opened, procedure, salt))
        .find(|name| !file_of(data, name).exists())
        .unwrap_or_else(|| run_name(opened, procedure, 0))
}

/// The record of a live run.
#[derive(Debug)]
pub struct Keeper {
    data: PathBuf,
    edition: Arc<Edition>,
    /// Everything that belongs in the journal, in order.
    lines: Vec<Line>,
    /// How many of them are on the disk for certain.
    n_kept: usize,
    /// How many of those are events.
    n_events: u64,
    journal: Option<Journal>,
    /// Where the journal is or would be.
    path: PathBuf,
    /// Which file the journal is, where the system tells.
    is_file: Option<(u64, u64)>,
    trouble: Option<Trouble>,
}

impl Keeper {
    /// Holds a new run in memory; nothing is on the disk before [`begin`](Self::begin).
    pub fn new(data: PathBuf, edition: Arc<Edition>, mut opening: Opening) -> Self {
        let opened = opening.opened.moment().unwrap_or_default().wall;
        if opening.run.is_empty() {
            opening.run = run_name(opened, &opening.procedure, 0);
        }
        let path = file_of(&data, &opening.run);
        let lines = vec![Line::Opened(Box::new(opening))];
        Self { data, edition, lines, n_kept: 0, n_events: 0, journal: None, path, is_file: None, trouble: None }
    }

    /// [`new`](Self::new) and [`begin`](Self::begin): the opening is on the disk, or [`trouble`](Self::trouble) says why not.
    pub fn create(data: PathBuf, edition: Arc<Edition>, opening: Opening) -> Self {
        let mut keeper = Self::new(data, edition, opening);
        // What failed is remembered.
        let _ = keeper.begin();
        keeper
    }

    /// Makes the journal and writes everything that waits.
    ///
    /// # Errors
    ///
    /// [`Trouble`]: everything stays in memory.
    pub fn begin(&mut self) -> Result<u64, Trouble> {
        let outcome = self.make();
        self.settle(outcome)
    }

    fn make(&mut self) -> Result<(), Trouble> {
        make_folder(&runs_folder(&self.data))?;
        let Some(Line::Opened(opening)) = self.lines.first_mut() else { return Ok(()) };
        let opened = opening.opened.moment().unwrap_or_default().wall;
        let mut salt = 0;
        let journal = loop {
            let path = file_of(&self.data, &opening.run);
            match Journal::create(&path, &Line::Opened(opening.clone())) {
                Ok(journal) => {
                    self.is_file = identity(&path);
                    self.path = path;
                    break journal;
                }
                // Another run has the name: nothing is ever written over.
                Err(CreateError::AlreadyThere { .. } | CreateError::Locked { .. }) if salt < 256 => {
                    salt += 1;
                    opening.run = run_name(opened, &opening.procedure, salt);
                }
                Err(why) => return Err(Trouble::new(&why, why.hint())),
            }
        };
        let system = opening.simulated.is_none().then_some(opening.system);
        self.journal = Some(journal);
        self.n_kept = 1;
        if let Some(system) = system {
            // Only a convenience for the next run.
            let _ = fs::write(self.data.join(LAST_SYSTEM), format!("{system}\n"));
        }
        self.append_waiting()
    }

    /// Goes on with a run that is on the disk: takes its lock, reads it, performs it again.
    ///
    /// The time between is found out and becomes a line of its own, which [`catch_up`](Self::catch_up) puts on the disk.
    ///
    /// # Errors
    ///
    /// [`LoadError`].
    pub fn resume(path: &Path) -> Result<Resumption, LoadError> {
        let reopened = Self::reopen(path, &mut Known::default())?;
        let last = LastSeen::of(&reopened.loaded);
        let (timepiece, _, how) = last.timepiece(clock::steady_ms(), clock::wall_now(), clock::boot());
        Ok(reopened.go_on(timepiece, how))
    }

    /// The first half of [`resume`](Self::resume): takes the lock and performs the run again. Whoever goes on with several
    /// runs at once finds out their common time between the halves.
    ///
    /// # Errors
    ///
    /// [`LoadError`].
    pub fn reopen(path: &Path, known: &mut Known) -> Result<Reopened, LoadError> {
        let (journal, recovered) = Journal::open(path)?;
        let loaded = replay(recovered, known)?;
        Ok(Reopened { path: path.to_owned(), journal, loaded })
    }

    /// Puts on the disk what waits in memory: after a resume, the line that says so. What fails is remembered as
    /// [`trouble`](Self::trouble); then the run goes on in memory.
    pub fn catch_up(&mut self) {
        if self.trouble.is_none() {
            let outcome = self.append_waiting();
            self.trouble = outcome.err();
        }
    }

    /// Puts an event on the disk. `corrected` is the reading that a correction is about.
    ///
    /// # Errors
    ///
    /// [`Trouble`]: the event is in memory and not on the disk.
    pub fn keep(&mut self, event: &Event, at: Moment, corrected: Option<ReadingId>) -> Result<u64, Trouble> {
        let event = wire::write(&self.edition, event, corrected);
        self.add(Line::Happened { at: Stamp::of(at), event })
    }

    fn add(&mut self, line: Line) -> Result<u64, Trouble> {
        self.lines.push(line);
        match &self.trouble {
            // Stopped: nothing is claimed until the disk has been looked at.
            Some(trouble) => Err(trouble.clone()),
            None => {
                let outcome = self.append_waiting();
                self.settle(outcome)
            }
        }
    }

    fn append_waiting(&mut self) -> Result<(), Trouble> {
        let Some(journal) = &mut self.journal else {
            return Err(Trouble { what: "the record has not been begun".to_owned(), hint: RETRY.to_owned() });
        };
        while let Some(line) = self.lines.get(self.n_kept) {
            journal.append(line).map_err(|why| Trouble::new(&why, why.hint()))?;
            self.n_kept += 1;
            self.n_events += u64::from(is_event(line));
        }
        // A file that was removed takes bytes and flushes them all the same; nobody would ever find them.
        match (self.is_file, identity(&self.path)) {
            (Some(ours), Some(there)) if ours == there => Ok(()),
            (None, Some(_)) => Ok(()),
            _ => {
                (self.journal, self.n_kept, self.n_events) = (None, 0, 0);
                Err(Trouble {
                    what: format!("{} has vanished", self.path.display()),
                    hint: "Was the card or the folder removed? Put it back and try again, or choose another folder."
                        .to_owned(),
                })
            }
        }
    }

    fn settle(&mut self, outcome: Result<(), Trouble>) -> Result<u64, Trouble> {
        self.trouble = outcome.err();
        self.trouble.clone().map_or_else(|| Ok(self.n_events_kept()), Err)
    }

    /// Looks at what is really on the disk and adds only what is missing.
    ///
    /// # Errors
    ///
    /// [`Trouble`]: everything stays in memory.
    pub fn retry(&mut self) -> Result<u64, Trouble> {
        let outcome = match self.journal.take() {
            None if self.is_file.is_none() && self.n_kept == 0 => self.make(),
            stopped => {
                // Its lock goes with it.
                drop(stopped);
                make_folder(&runs_folder(&self.data)).and_then(|()| self.adopt(&self.path.clone()))
            }
        };
        self.settle(outcome)
    }

    /// Writes the whole run in another data folder, reads it back, and goes on there. The same folder, or none named,
    /// means [`retry`](Self::retry).
    ///
    /// # Errors
    ///
    /// [`Trouble`]: everything stays in memory and as it was before.
    pub fn move_to(&mut self, folder: &str, at: Moment) -> Result<u64, Trouble> {
        let data = with_home(folder.trim());
        if folder.trim().is_empty() || data == self.data {
            return self.retry();
        }
        let moved = Line::Moved { at: Stamp::of(at), from: self.data.display().to_string() };
        let n_lines = self.lines.len();
        if self.n_kept > 0 {
            self.lines.push(moved);
        }
        let path = file_of(&data, self.name());
        let was = (self.journal.take(), self.n_kept, self.n_events, self.is_file, self.path.clone());
        let outcome = make_folder(&runs_folder(&data)).and_then(|()| self.adopt(&path));
        match outcome {
            Ok(()) => {
                self.data = data;
                self.settle(Ok(()))
            }
            Err(trouble) => {
                // As it was before: sound if it was sound, in trouble if it was in trouble.
                self.lines.truncate(n_lines);
                (self.journal, self.n_kept, self.n_events, self.is_file, self.path) = was;
                Err(trouble)
            }
        }
    }

    /// Makes the journal at `path` hold exactly the lines in memory: made anew, or opened and continued if what it
    /// holds is their beginning. Then reads it back.
    fn adopt(&mut self, path: &Path) -> Result<(), Trouble> {
        let is_there = path.try_exists().map_err(|why| Trouble::folder(path, &why))?;
        let (journal, n_there) = if is_there {
            let (journal, recovered) = Journal::open(path).map_err(|why| Trouble::new(&why, why.hint()))?;
            let n_there = recovered.entries.len();
            if n_there > self.lines.len() || !self.agrees(&recovered.entries) {
                return Err(Trouble {
                    what: format!("{} holds something else than this run", path.display()),
                    hint: "Choose another folder; nothing there was changed.".to_owned(),
                });
            }
            (journal, n_there)
        } else {
            let Some(first) = self.lines.first() else { return Ok(()) };
            (Journal::create(path, first).map_err(|why| Trouble::new(&why, why.hint()))?, 1)
        };
        (self.journal, self.n_kept) = (Some(journal), n_there);
        self.n_events = events_of(&self.lines[..n_there]);
        (self.path, self.is_file) = (path.to_owned(), identity(path));
        let outcome = self.append_waiting().and_then(|()| self.read_back(path));
        if outcome.is_err() {
            self.journal = None;
        }
        outcome
    }

    fn read_back(&self, path: &Path) -> Result<(), Trouble> {
        let there = journal::read(path).map_err(|why| Trouble::new(&why, why.hint()))?;
        if there.entries.len() == self.lines.len() && self.agrees(&there.entries) {
            return Ok(());
        }
        Err(Trouble {
            what: format!("{} does not hold what was written to it", path.display()),
            hint: "Choose another folder on another disk.".to_owned(),
        })
    }

    fn agrees(&self, entries: &[journal::Entry]) -> bool {
        entries.iter().zip(&self.lines).all(|(entry, line)| entry.read_as::<Line>().is_ok_and(|read| read == *line))
    }

    /// The run's name.
    pub fn name(&self) -> &str {
        match self.lines.first() {
            Some(Line::Opened(opening)) => &opening.run,
            _ => "",
        }
    }

    /// The procedure it is a run of.
    pub fn edition(&self) -> &Edition {
        &self.edition
    }

    /// The data folder.
    pub fn data(&self) -> &Path {
        &self.data
    }

    /// The journal's file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What is not on the disk, and why; `None` if everything is.
    pub fn trouble(&self) -> Option<&Trouble> {
        self.trouble.as_ref()
    }

    /// How many events are on the disk for certain.
    pub fn n_events_kept(&self) -> u64 {
        self.n_events
    }

    /// What is not on the disk, as it would be written: the last resort is to print it.
    pub fn unkept(&self) -> Vec<String> {
        let unkept = &self.lines[self.n_kept.min(self.lines.len())..];
        unkept.iter().filter_map(|line| serde_json::to_string(line).ok()).collect()
    }

    /// The record so far, as it would be read back: for a report at the end of a run.
    ///
    /// # Errors
    ///
    /// [`LoadError`].
    pub fn load(&self) -> Result<Loaded, LoadError> {
        load(&self.path)
    }
}

fn is_event(line: &Line) -> bool {
    matches!(line, Line::Happened { .. })
}

fn events_of(lines: &[Line]) -> u64 {
    lines.iter().filter(|line| is_event(line)).count() as u64
}

/// Which file a path leads to; `None` if to none, or if the system does not tell.
pub(super) fn identity(path: &Path) -> Option<(u64, u64)> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt as _;
        fs::metadata(path).ok().map(|file| (file.dev(), file.ino()))
    }
    #[cfg(not(unix))]
    fs::metadata(path).ok().map(|_| (0, 0))
}

pub(super) const RETRY: &str = "Free some space or put the card back and try again, or choose another folder.";
const LAST_SYSTEM: &str = "last-system";

/// A run whose record was read and whose lock was taken, but which does not go on yet.
#[derive(Debug)]
pub struct Reopened {
    /// Its file.
    pub path: PathBuf,
    journal: Journal,
    /// What was read back.
    pub loaded: Loaded,
}

impl Reopened {
    /// The second half of [`Keeper::resume`]: the run goes on with this time, which was found out as `how` says.
    ///
    /// The time between becomes a line of its own, which [`Keeper::catch_up`] puts on the disk.
    pub fn go_on(self, timepiece: Timepiece, how: Gap) -> Resumption {
        let Self { path, journal, loaded } = self;
        let at = timepiece.now();
        let resumed = Resumed {
            at: Stamp::of(at),
            boot: clock::boot(),
            steady_ms: timepiece.origin_ms(),
            gap_ms: at.tick.since(loaded.last().tick).0,
            how,
            tool: TOOL.to_owned(),
        };
        let said = said_on_resume(&loaded, &resumed);
        let mut keeper = Keeper {
            data: data_of(&path),
            edition: Arc::clone(&loaded.edition),
            n_kept: loaded.lines.len(),
            n_events: events_of(&loaded.lines),
            lines: loaded.lines.clone(),
            journal: Some(journal),
            is_file: identity(&path),
            path,
            trouble: None,
        };
        keeper.lines.push(Line::Resumed(resumed));
        Resumption { keeper, loaded, timepiece, said }
    }
}

/// A run that goes on.
#[derive(Debug)]
pub struct Resumption {
    /// Its record.
    pub keeper: Keeper,
    /// What was read back.
    pub loaded: Loaded,
    /// Its clocks.
    pub timepiece: Timepiece,
    /// What the person is told.
    pub said: String,
}

/// The unit system of the newest run, to be offered for the next one.
pub fn last_system(data: &Path) -> Option<System> {
    fs::read_to_string(data.join(LAST_SYSTEM)).ok()?.trim().parse().ok()
}

fn file_of(data: &Path, run: &str) -> PathBuf {
    runs_folder(data).join(format!("{run}{ENDING}"))
}

pub(super) fn data_of(path: &Path) -> PathBuf {
    path.parent().and_then(Path::parent).unwrap_or(Path::new("")).to_owned()
}

pub(super) fn with_home(folder: &str) -> PathBuf {
    let home = || directories::BaseDirs::new().map(|dirs| dirs.home_dir().to_owned());
    match folder.strip_prefix('~') {
        Some("") => home(),
        Some(rest) if rest.starts_with(['/', '\\']) => home().map(|home| home.join(&rest[1..])),
        _ => None,
    }
    .unwrap_or_else(|| whole(Path::new(folder)))
}

/// Makes a folder and those above it, their names on the disk when this returns.
pub(super) fn make_folder(folder: &Path) -> Result<(), Trouble> {
    if folder.is_dir() {
        return Ok(());
    }
    let failed = |why: io::Error| Trouble::folder(folder, &why);
    let missing: Vec<_> =
        folder.ancestors().take_while(|above| !above.as_os_str().is_empty() && !above.exists()).collect();
    fs::create_dir_all(folder).map_err(failed)?;
    for made in missing {
        let above = made.parent().filter(|above| !above.as_os_str().is_empty()).unwrap_or(Path::new("."));
        // Some file systems offer no sync of a folder; there is nothing more to ask of them.
        let _ = File::open(above).and_then(|above| above.sync_all());
    }
    Ok(())
}

/// A run on the disk, by name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// Its name.
    pub name: String,
    /// Its file.
    pub path: PathBuf,
}

/// All runs, newest first. A folder that is not there holds none.
///
/// # Errors
///
/// [`Trouble`] if the folder cannot be read.
pub fn runs(data: &Path) -> Result<Vec<Named>, Trouble> {
    journals_in(&runs_folder(data))
}

/// The journals of a folder by name, newest first. A folder that is not there holds none.
///
/// # Errors
///
/// [`Trouble`] if the folder cannot be read.
pub(super) fn journals_in(folder: &Path) -> Result<Vec<Named>, Trouble> {
    let failed = |why: io::Error| Trouble {
        what: format!("cannot read the folder {}: {why}", folder.display()),
        hint: "Check the name of the folder and that you may read it.".to_owned(),
    };
    let entries = match fs::read_dir(folder) {
        Err(why) if why.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        other => other.map_err(failed)?,
    };
    let mut journals = Vec::new();
    for entry in entries {
        let entry = entry.map_err(failed)?;
        if let Some(name) = entry.file_name().to_str().and_then(|name| name.strip_suffix(ENDING)) {
            journals.push(Named { name: name.to_owned(), path: entry.path() });
        }
    }
    // Names begin with day and minute.
    journals.sort_by(|a, b| b.name.cmp(&a.name));
    Ok(journals)
}

/// The run called `name`: its whole name, the only one that begins or ends so, or a path of its file.
///
/// # Errors
///
/// [`Trouble`] with the nearest name, or with the names that fit.
pub fn find_run(data: &Path, name: &str) -> Result<Named, Trouble> {
    let path = Path::new(name);
    if (name.ends_with(ENDING) || name.contains(['/', '\\'])) && path.is_file() {
        let stem = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
        return Ok(Named { name: stem, path: path.to_owned() });
    }
    let runs = runs(data)?;
    if let Some(exact) = runs.iter().find(|run| run.name == name) {
        return Ok(exact.clone());
    }
    let fits: Vec<_> = runs
        .iter()
        .filter(|run| !name.is_empty() && (run.name.starts_with(name) || run.name.ends_with(name)))
        .collect();
    match fits.as_slice() {
        [one] => Ok(Named::clone(one)),
        [] => Err(Trouble {
            what: format!("there is no run called “{name}” in {}", runs_folder(data).display()),
            hint: procedure::nearest::nearest(name, runs.iter().map(|run| run.name.as_str())).map_or_else(
                || "“pourside list” shows the runs.".to_owned(),
                |nearest| format!("Did you mean “{nearest}”?"),
            ),
        }),
        several => Err(Trouble {
            what: format!("“{name}” may be one of {} runs", several.len()),
            hint: several.iter().take(8).fold("Write more of it:".to_owned(), |hint, run| hint + "\n  " + &run.name),
        }),
    }
}

/// A run as it stands in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// Its name.
    pub name: String,
    /// When it was opened, to be read.
    pub opened: String,
    /// Where it stands, in words.
    pub state: String,
    /// Whether it can go on.
    pub is_open: bool,
    /// Its results, with units.
    pub results: Vec<String>,
    /// Whether its time was simulated.
    pub simulated: bool,
}

/// What stands in the list about a run. A run that cannot be read is listed with the reason.
pub fn listed(named: &Named, known: &mut Known) -> Listed {
    let name = named.name.clone();
    match load_knowing(&named.path, known) {
        Ok(loaded) => Listed {
            name,
            opened: clock::shown(loaded.run.opened().wall),
            state: state_in_words(&loaded.run),
            is_open: is_open(&loaded.run),
            results: loaded
                .run
                .results()
                .iter()
                .map(|outcome| format!("{} {}", outcome.id, outcome.reported))
                .collect(),
            simulated: loaded.opening.simulated.is_some(),
        },
        Err(why) => Listed {
            name,
            opened: String::new(),
            state: format!("cannot be read: {why}"),
            is_open: false,
            results: Vec::new(),
            simulated: false,
        },
    }
}

/// Whether the last act on record closed the run. A look at the end of the file, without checking it: what goes on with
/// the run checks everything.
pub fn seems_closed(path: &Path) -> bool {
    let bytes = fs::read(path).unwrap_or_default();
    let has = |line: &[u8], words: &[u8]| line.windows(words.len()).any(|part| part == words);
    let acts = bytes.rsplit(|byte| *byte == b'\n').find(|line| has(line, b"\"line\":\"happened\""));
    acts.is_some_and(|line| has(line, b"\"what\":\"close\""))
}

/// Whether a run can go on.
pub fn is_open(run: &Run) -> bool {
    !matches!(run.phase(), Phase::Closed { .. })
}

/// Where a run stands, in a few words.
pub fn state_in_words(run: &Run) -> String {
    match run.phase() {
        Phase::AtStep => {
            let stage = run.offer(run.last().tick).step.map(|(step, _)| run.edition().stage_of(step).title.clone());
            let attempt = match run.attempt() {
                1 => String::new(),
                n => format!(", attempt {n}"),
            };
            format!("open, at “{}”{attempt}", stage.unwrap_or_default())
        }
        Phase::Ended => format!("open, attempt {} ended without a result", run.attempt()),
        Phase::Finished => "open, with a result".to_owned(),
        Phase::Closed { with_result: true } => "closed".to_owned(),
        Phase::Closed { with_result: false } => "closed without a result".to_owned(),
    }
}

/// Words given before for the same reading, latest first, from the newest runs.
pub fn suggestions(data: &Path, edition: &Edition, but_not: &str) -> BTreeMap<String, Vec<String>> {
    const RUNS_AT_MOST: usize = 8;
    const WORDS_AT_MOST: usize = 6;
    let mut found: BTreeMap<String, Vec<String>> = BTreeMap::new();
    // Suggestions are a convenience: what cannot be read suggests nothing.
    let newest = runs(data).unwrap_or_default();
    for named in newest.iter().filter(|named| named.name != but_not).take(RUNS_AT_MOST) {
        let Ok(recovered) = journal::read(&named.path) else { continue };
        // The names of a rehearsal are nobody's.
        if recovered.entries.first().is_none_or(|first| first.json().contains(r#""simulated":""#)) {
            continue;
        }
        for entry in recovered.entries.iter().skip(1).rev() {
            let Ok(Line::Happened { event: wire::Written::Answer { reading, value, .. }, .. }) = entry.read_as() else {
                continue;
            };
            let is_words = edition
                .reading_named(&reading)
                .is_some_and(|id| matches!(edition.reading(id).kind, ReadingKind::Words));
            let words = found.entry(reading).or_default();
            if is_words && words.len() < WORDS_AT_MOST && !words.contains(&value) {
                words.push(value);
            }
        }
    }
    found.retain(|_, words| !words.is_empty());
    found
}
