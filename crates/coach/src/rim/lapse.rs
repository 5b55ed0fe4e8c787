//! The time between two lives of the program: how much of a run's time passed while nobody looked.
//!
//! Here: finding it out from the last line on record and the clocks of now, and saying so. Not here: reading a clock.
//!
//! **Invariant:** the count never goes on at less than the last line on record.

use engine::{Moment, Tick, Wall};

use super::clock::{self, Timepiece};
use super::record::{Gap, Loaded, Resumed};

/// What is known of a count from its record: where it was seen last, and what it was counted by.
#[derive(Clone, Debug)]
pub struct LastSeen {
    /// The last moment on record.
    pub last: Moment,
    /// The wall clock when the count was 0.
    pub began: Wall,
    /// Which start of the machine, where the system told.
    pub boot: Option<String>,
    /// What its steady clock showed when the count was 0, in milliseconds.
    pub steady_ms: i64,
    /// For simulated time: how many times as fast; 0 for a script.
    pub simulated: Option<u32>,
}

impl LastSeen {
    /// What the record of a run tells.
    pub fn of(loaded: &Loaded) -> Self {
        let opening = &loaded.opening;
        let (boot, steady_ms) = match loaded.resumes.last() {
            Some(resumed) => (resumed.boot.clone(), resumed.steady_ms),
            None => (opening.boot.clone(), opening.steady_ms),
        };
        let simulated = opening.simulated.as_ref().map(|_| opening.speed.unwrap_or(0));
        Self { last: loaded.last(), began: count_began(loaded.run.opened()), boot, steady_ms, simulated }
    }

    /// The clocks with which the count goes on, how much of its time has passed, and how that was found out.
    ///
    /// | same boot | wall clock | the count goes on at |
    /// |-----------|------------|----------------------|
    /// | yes | any | what the steady clock says, exactly |
    /// | no, or not told | at or after the last line | the last line plus the difference of the wall clocks |
    /// | no, or not told | before the last line | the last line; how long it was is not known, and that is said |
    pub fn timepiece(&self, steady_ms: i64, wall: Wall, boot: Option<String>) -> (Timepiece, u64, Gap) {
        let last = self.last;
        if let Some(speed) = self.simulated {
            let timepiece = match speed {
                0 => Timepiece::by_hand(self.began, last.tick),
                speed => Timepiece::simulated(speed, self.began, last.tick),
            };
            return (timepiece, 0, Gap::Simulated);
        }
        let (now, how) = match u64::try_from(steady_ms.saturating_sub(self.steady_ms)) {
            Ok(now) if boot.is_some() && self.boot == boot && now >= last.tick.0 => (now, Gap::SameBoot),
            _ => match u64::try_from(wall.unix_ms.saturating_sub(last.wall.unix_ms)) {
                Ok(passed) => (last.tick.0.saturating_add(passed), Gap::WallClock),
                Err(_) => (last.tick.0, Gap::Unknown),
            },
        };
        (Timepiece::live(Tick(now)), now - last.tick.0, how)
    }
}

/// The wall clock when a count was 0 that stood at `opened.tick` at `opened`.
pub fn count_began(opened: Moment) -> Wall {
    Wall { unix_ms: opened.wall.unix_ms.saturating_sub_unsigned(opened.tick.0), ..opened.wall }
}

/// [`LastSeen::timepiece`] for a run.
pub fn timepiece_after(loaded: &Loaded, steady_ms: i64, wall: Wall, boot: Option<String>) -> (Timepiece, u64, Gap) {
    LastSeen::of(loaded).timepiece(steady_ms, wall, boot)
}

/// What the person is told about the time between.
pub(super) fn said_of(gap_ms: u64, how: Gap) -> String {
    let gap = clock::lasted(gap_ms);
    match how {
        Gap::SameBoot => format!("Resumed after {gap}; the clocks went on."),
        Gap::WallClock => format!("Resumed after {gap} by the wall clock; the clocks went on."),
        Gap::Unknown => "Resumed, but the wall clock stands before the last entry: how long it was is not known. \
                         The clocks go on where they were; judge the limits yourself."
            .to_owned(),
        Gap::Simulated => "Resumed; simulated time stood still.".to_owned(),
    }
}

/// What became of a last entry that was cut off.
pub(super) fn torn_words(loaded: &Loaded) -> Option<String> {
    let torn = loaded.torn.as_ref()?;
    let kept = torn.kept_in.as_ref().and_then(|path| path.file_name()).map(|name| name.to_string_lossy().into_owned());
    let kept = kept.map_or_else(String::new, |name| format!(" (kept in {name})"));
    Some(if torn.complete_line {
        format!("The last entry was damaged and is set aside{kept}: look whether a reading is missing.")
    } else {
        format!("A last entry that had not been recorded was cut off{kept}.")
    })
}

/// [`said_of`], with what became of a last entry that was cut off.
pub(super) fn said_on_resume(loaded: &Loaded, resumed: &Resumed) -> String {
    let mut said = said_of(resumed.gap_ms, resumed.how);
    if let Some(torn) = torn_words(loaded) {
        said.push(' ');
        said.push_str(&torn);
    }
    said
}
