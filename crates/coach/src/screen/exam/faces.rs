//! What the marking screen shows and says, found out from the exam as it stands.
//!
//! Here: questions about trials, acts and clocks, answered in words. Not here: what a mark means (the crate `exam`), where
//! the words stand (`view`).
//!
//! Times of whole trials and of limits tick together, on the whole seconds of the exam, so that many stations cost one
//! picture a second. The clock of an act ticks on its own seconds: it is what a mark hangs on.
//!
//! **Invariant:** between two moments named by `next_second` the same words are found.

use engine::Tick;
use exam::{
    ClockSpec, CountSpec, Event, How, Item, ItemStatus, Mark, Standing, TrialId, TrialPhase, TrialView,
    Verdict as Came, WindowState,
};
use quantity::Span;

use super::begin::station_key;
use super::face::{RowFace, SheetFace, Sign, StageFace, StationFace, Verdict, WindowFace};
use super::model::ExamModel;
use crate::screen::entry::Field;

/// A second.
const SECOND: u64 = 1_000;

/// Something that can be overruled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Target {
    /// Its key.
    pub key: String,
    /// What it is, and how it stands.
    pub text: String,
}

impl ExamModel {
    /// After a start: every open sheet at its station, else what ended there last; the station of the last act in focus.
    pub(super) fn take_up(&mut self) {
        let mut last: Option<(Tick, usize)> = None;
        for view in self.state.trials().filter(|view| view.trial.phase != TrialPhase::Withdrawn) {
            let (trial, at) = (view.trial, usize::from(view.trial.station).saturating_sub(1));
            let Some(sheets) = self.sheets.get_mut(at) else { continue };
            let is_open = |id: &TrialId| self.state.trial(id).is_some_and(|view| view.trial.is_open());
            if trial.is_open() || !sheets.iter().any(is_open) {
                sheets.retain(is_open);
                sheets.push(trial.id.clone());
            }
            self.methods[at] = Some(trial.method);
            let ended = view.ended().map(|(_, at)| at.tick);
            let touched = trial.acts().last().map(|(_, at)| at.tick).max(ended).unwrap_or(trial.began.tick);
            if last.is_none_or(|(tick, _)| touched >= tick) {
                last = Some((touched, at));
            }
            // Where the hand was: behind the act touched last.
            let item = trial.acts().iter().rev().find_map(|(event, _)| view.sheet.item(event.item()?));
            let place = item.map(|item| if view.item(item).is_running { item } else { next_unmarked(&view, item) });
            self.present.insert(trial.id.clone(), place.unwrap_or(0));
        }
        if let Some((_, station)) = last {
            self.station = station;
        }
    }

    pub(super) fn view_of(&self, trial: &TrialId) -> Option<TrialView<'_>> {
        self.state.trial(trial)
    }

    /// The station in focus as the record numbers it.
    pub(super) fn station_number(&self) -> u16 {
        u16::try_from(self.station + 1).unwrap_or(u16::MAX)
    }

    /// Whose trial it is, in words.
    pub(super) fn who(&self, trial: &TrialId) -> String {
        self.view_of(trial).map_or_else(String::new, |view| who_words(&view))
    }

    pub(super) fn is_ended(&self, trial: &TrialId) -> bool {
        self.view_of(trial).is_none_or(|view| !view.trial.is_open())
    }

    pub(super) fn candidate_and_method(&self, trial: &TrialId) -> Option<(String, String)> {
        let view = self.view_of(trial)?;
        Some((view.candidate().number.clone(), view.sheet.method.clone()))
    }

    pub(super) fn method_title(&self, trial: &TrialId) -> String {
        self.view_of(trial).map_or_else(String::new, |view| view.sheet.title.clone())
    }

    pub(super) fn trial_words(&self, trial: &TrialId) -> String {
        self.view_of(trial).map_or_else(String::new, |view| trial_words(&view))
    }

    // ------------------------------------------------------------------------------------------ acts

    /// The place of the act in focus.
    pub(super) fn place(&self, trial: &TrialId) -> usize {
        let n = self.view_of(trial).map_or(0, |view| view.sheet.items.len());
        self.present.get(trial).copied().unwrap_or(0).min(n.saturating_sub(1))
    }

    pub(super) fn present_key(&self, trial: &TrialId) -> Option<String> {
        let view = self.view_of(trial)?;
        view.sheet.items.get(self.place(trial)).map(|item| item.key.clone())
    }

    fn item<'a>(&'a self, trial: &TrialId, key: &str) -> Option<ItemStatus<'a>> {
        let view = self.view_of(trial)?;
        view.sheet.item(key).map(|at| view.item(at))
    }

    /// An act, a limit or the time, in few words.
    pub(super) fn short(&self, trial: &TrialId, key: &str) -> String {
        let Some(view) = self.view_of(trial) else { return String::new() };
        if let Some(at) = view.sheet.item(key) {
            return view.sheet.items[at].short.clone();
        }
        match view.sheet.window(key) {
            Some(at) => view.sheet.windows[at].text.clone(),
            None => "the time of the trial".to_owned(),
        }
    }

    pub(super) fn counts(&self, trial: &TrialId, key: &str) -> bool {
        self.item(trial, key).is_some_and(|status| status.item.count.is_some() && status.item.clock.is_none())
    }

    pub(super) fn has_clock(&self, trial: &TrialId, key: &str) -> bool {
        self.item(trial, key).is_some_and(|status| status.item.clock.is_some())
    }

    /// The acts whose clocks run.
    pub(super) fn running_items(&self, trial: &TrialId) -> Vec<String> {
        let Some(view) = self.view_of(trial) else { return Vec::new() };
        view.items().filter(|status| status.is_running).map(|status| status.item.key.clone()).collect()
    }

    /// The count of the present round.
    pub(super) fn counted(&self, trial: &TrialId, key: &str) -> u32 {
        self.item(trial, key).and_then(|status| status.count).unwrap_or(0)
    }

    /// What speaks against a mark of done before the exam is asked: a count that was begun and not brought to its end.
    pub(super) fn count_short_of(&self, trial: &TrialId, key: &str) -> Option<String> {
        let status = self.item(trial, key)?;
        let (spec, n) = (status.item.count.as_ref()?, status.count?);
        (n < spec.at_least && status.overruled.is_none()).then(|| {
            let asked = count_words(spec);
            format!(
                "{n} counted, {asked} asked: count on, take the count back with u, or o says it was done all the same."
            )
        })
    }

    /// Whether a count is one that is asked, neither too few nor too many, for the first time.
    pub(super) fn is_count_wanted(&self, trial: &TrialId, key: &str, n: u32) -> bool {
        self.item(trial, key).and_then(|status| status.item.count.as_ref()).is_some_and(|count| n == count.at_least)
    }

    /// The mark of an act with what the clock says of it.
    pub(super) fn mark_words(&self, trial: &TrialId, key: &str) -> String {
        let Some(status) = self.item(trial, key) else { return String::new() };
        match (status.mark, &status.because) {
            (Some(mark), Some(because)) => format!("{}, {because}", Sign::of(mark).words()),
            (Some(mark), None) => Sign::of(mark).words().to_owned(),
            (None, _) => "stopped".to_owned(),
        }
    }

    /// In which position an act is after a turn, or how many readings there were.
    pub(super) fn position_words(&self, trial: &TrialId, key: &str) -> String {
        let Some(status) = self.item(trial, key) else { return String::new() };
        let (Some(spec), Some(run)) = (&status.item.clock, status.runs.last()) else { return String::new() };
        if spec.by_readings {
            return format!("reading {}", run.turns.len() + 1);
        }
        let words = if run.is_down() { &spec.down } else { &spec.up };
        words.clone().unwrap_or_else(|| "turned".to_owned())
    }

    /// To the next act that has no mark; at the end of the sheet it stays, so that no further key falls on another act.
    pub(super) fn go_to_next(&mut self, trial: &TrialId) {
        let here = self.place(trial);
        let Some(view) = self.view_of(trial) else { return };
        let next = next_unmarked(&view, here);
        self.present.insert(trial.clone(), next);
    }

    pub(super) fn move_by(&mut self, trial: &TrialId, by: isize) {
        let n = self.view_of(trial).map_or(0, |view| view.sheet.items.len());
        let to = self.place(trial).saturating_add_signed(by).min(n.saturating_sub(1));
        self.present.insert(trial.clone(), to);
        self.message = None;
    }

    /// To the first act without a mark of the stage after or before; to the first if all have one.
    pub(super) fn move_stage(&mut self, trial: &TrialId, is_after: bool) {
        let here = self.place(trial);
        let Some(view) = self.view_of(trial) else { return };
        let stages = view.sheet.stages();
        let at = stages.iter().position(|(_, first, end)| (*first..*end).contains(&here)).unwrap_or(0);
        let to = if is_after { (at + 1).min(stages.len().saturating_sub(1)) } else { at.saturating_sub(1) };
        let Some((_, first, end)) = stages.get(to).copied() else { return };
        let unmarked = (first..end).find(|at| view.item(*at).mark.is_none()).unwrap_or(first);
        if to != at {
            self.present.insert(trial.clone(), unmarked);
        }
        self.message = None;
    }

    /// What can be overruled: the act in focus, what was missed, limits, the time.
    pub(super) fn overrulable(&self, trial: &TrialId) -> Vec<Target> {
        let Some(view) = self.view_of(trial) else { return Vec::new() };
        let here = self.place(trial);
        let missed = view.items().filter(|status| status.mark == Some(Mark::Missed) && status.at != here);
        let mut places: Vec<usize> = missed.map(|status| status.at).collect();
        // What a clock or a rater marked last is what is most likely meant.
        places.sort_by_key(|at| std::cmp::Reverse(view.item(*at).touched.map(|at| at.tick)));
        places.insert(0, here);
        let acts = places.into_iter().map(|at| {
            let status = view.item(at);
            let mark = match (status.mark, &status.because) {
                (Some(mark), Some(because)) => format!("{} ({because})", Sign::of(mark).words()),
                (Some(mark), None) => Sign::of(mark).words().to_owned(),
                (None, _) => "no mark yet".to_owned(),
            };
            Target { key: status.item.key.clone(), text: format!("{mark}: {}", status.item.text) }
        });
        let windows = view.windows().filter(|status| status.mark.is_some()).map(|status| {
            let because = status.because.clone().unwrap_or_default();
            let mark = if status.mark == Some(Mark::Missed) { "LATE" } else { "kept" };
            Target { key: status.window.key.clone(), text: format!("{mark} ({because}): {}", status.window.text) }
        });
        let time = view
            .sheet
            .time_limit
            .map(|limit| Target { key: "time".to_owned(), text: format!("the time of the trial, at most {limit}") });
        acts.chain(windows).chain(time).collect()
    }

    /// What the sheet says of the act taken back, in words.
    pub(super) fn event_words(&self, event: &Event) -> String {
        let trial = event.trial();
        let short = event.item().map(|item| self.short(trial, item)).unwrap_or_default();
        match event {
            Event::Began { .. } => "the beginning of the trial".to_owned(),
            Event::Marked { mark, .. } => format!("{}: {short}", mark.word()),
            Event::ClockStarted { .. } => format!("start of the clock: {short}"),
            Event::ClockStopped { .. } => format!("stop of the clock: {short}"),
            Event::Turned { .. } => format!("a turn: {short}"),
            Event::Counted { n, .. } => format!("count {n}: {short}"),
            Event::Noted { text, .. } => format!("the note “{text}”"),
            Event::Overruled { .. } => format!("the overrule of: {short}"),
            Event::Ended { .. } => "the end of the trial".to_owned(),
            Event::Undone { .. } | Event::Moved { .. } => "a move".to_owned(),
        }
    }

    /// The result of a trial that has ended, and what comes next for the candidate.
    pub(super) fn next_words(&self, trial: &TrialId) -> String {
        let Some(view) = self.view_of(trial) else { return String::new() };
        let (word, _) = came_words(view.outcome().verdict);
        match next_of(&view) {
            Some(next) => format!("{word}. {next}"),
            None => word.to_owned(),
        }
    }

    /// Who is meant by what was typed: the whole name, or the only one it is part of; nothing typed means the first offered.
    /// Where the exam names its raters it is one of them.
    pub(super) fn rater_meant(&self, field: &Field, scores: Option<&TrialId>) -> Option<String> {
        let typed = field.text.trim();
        let offered = self.raters_offered(field, scores);
        if let Some(exact) = offered.iter().find(|name| name.eq_ignore_ascii_case(typed)) {
            return Some(exact.clone());
        }
        match offered.as_slice() {
            [first, ..] if typed.is_empty() => Some(first.clone()),
            [one] => Some(one.clone()),
            _ if typed.is_empty() || !self.state.exam().raters.is_empty() => None,
            _ => Some(typed.to_owned()),
        }
    }

    /// The raters that fit what was typed, who marked last first; who marks the sheet already is none for a second one.
    pub(super) fn raters_offered(&self, field: &Field, scores: Option<&TrialId>) -> Vec<String> {
        let typed = field.text.trim().to_lowercase();
        let first = scores.and_then(|trial| self.view_of(trial)).map(|view| view.trial.rater.clone());
        let raters = self.state.raters().into_iter().filter(|name| Some(*name) != first.as_deref());
        let mut offered: Vec<String> =
            raters.filter(|name| name.to_lowercase().contains(&typed)).map(str::to_owned).collect();
        let last = self.state.trials().filter(|view| view.trial.scores.is_some() == scores.is_some()).last();
        offered.sort_by_key(|name| last.is_none_or(|last| last.trial.rater != *name));
        offered
    }

    /// Acts that count and have no mark.
    pub(super) fn unmarked(&self, trial: &TrialId) -> Vec<String> {
        let Some(view) = self.view_of(trial) else { return Vec::new() };
        let open = view.items().filter(|status| status.is_asked() && status.mark.is_none());
        open.map(|status| status.item.text.clone()).collect()
    }

    // ------------------------------------------------------------------------------------------ time

    /// When the words change by themselves next.
    pub(super) fn next_second(&self, now: Tick) -> Option<Tick> {
        let shown = || self.sheets.iter().flatten().filter_map(|sheet| self.view_of(sheet));
        let is_open = shown().any(|view| view.trial.is_open());
        let whole = is_open.then(|| Tick((now.0 / SECOND + 1) * SECOND));
        let own = shown()
            .flat_map(|view| view.items())
            .filter(|status| status.is_running)
            .filter_map(|status| status.runs.last())
            .flat_map(|run| [run.started.tick, run.turned().tick])
            .map(|from| Tick(from.0 + (now.since(from).0 / SECOND + 1) * SECOND));
        whole.into_iter().chain(own).min()
    }

    // ------------------------------------------------------------------------------------------ faces

    /// The stations, in order.
    pub(super) fn station_faces(&self, now: Tick) -> Vec<StationFace> {
        let faces = self.sheets.iter().enumerate().map(|(n, sheets)| {
            let key = station_key(n);
            let Some(view) = sheets.last().and_then(|sheet| self.view_of(sheet)) else {
                return StationFace {
                    key,
                    who: None,
                    what: String::new(),
                    time: String::new(),
                    stand: String::new(),
                    clock: String::new(),
                    is_loud: false,
                    n_sheets: 0,
                };
            };
            let trial = view.trial;
            let second = if trial.scores.is_some() { " 2nd rater" } else { "" };
            let (time, is_over) = trial_time(&view, now);
            let mut is_loud = is_over && trial.is_open();
            let stand = match view.ended() {
                None => {
                    let (marked, asked) = view.progress();
                    let missed = view.items().filter(|status| status.mark == Some(Mark::Missed)).count();
                    let missed = if missed > 0 { format!("  ✗{missed}") } else { String::new() };
                    format!("{marked}/{asked}{missed}")
                }
                Some(_) => {
                    let (word, is_passed) = came_words(view.outcome().verdict);
                    is_loud = !is_passed;
                    word.to_owned()
                }
            };
            let running = view.items().find(|status| status.is_running);
            let clock = running
                .and_then(|status| status.runs.last())
                .map_or_else(String::new, |run| format!("◷ {}", now.since(run.started.tick).clock()));
            let more = if sheets.len() > 1 { format!(" +{}", sheets.len() - 1) } else { String::new() };
            StationFace {
                key,
                who: Some(who_words(&view)),
                what: format!("{} {}{second}{more}", view.sheet.method, trial.number),
                time,
                stand,
                clock,
                is_loud,
                n_sheets: sheets.len(),
            }
        });
        faces.collect()
    }

    /// The sheet in focus.
    pub(super) fn sheet_face(&self, now: Tick) -> Option<SheetFace> {
        let view = self.focus().and_then(|trial| self.view_of(trial))?;
        let (trial, sheet) = (view.trial, view.sheet);
        let stages = sheet.stages();
        let is_marked = |at: &usize| view.item(*at).mark.is_some();
        let stage_faces = stages.iter().map(|(title, first, end)| StageFace {
            title: (*title).to_owned(),
            n_marked: (*first..*end).filter(is_marked).count(),
            n: end - first,
        });
        let rows = view.items().map(|status| {
            let stage = stages.iter().position(|(_, first, end)| (*first..*end).contains(&status.at)).unwrap_or(0);
            row_face(&status, stage, now)
        });
        let windows = view.windows().filter_map(|status| {
            let limit = status.window.at_most;
            let (text, is_over) = match status.state {
                WindowState::Unknown => return None,
                WindowState::Running { from, .. } => {
                    let gone = aligned(from, now);
                    (format!("{} of {limit}: {}", gone.clock(), status.window.text), gone > limit)
                }
                WindowState::Kept { .. } | WindowState::Late { .. } => {
                    let because = status.because.clone().unwrap_or_default();
                    (format!("{because}: {}", status.window.text), status.mark == Some(Mark::Missed))
                }
            };
            Some(WindowFace { text, is_over })
        });
        Some(SheetFace {
            number: view.candidate().number.clone(),
            name: view.candidate().name.clone(),
            method: sheet.title.clone(),
            trial: trial_words(&view),
            rater: trial.rater.clone(),
            is_second: trial.scores.is_some(),
            lasted: match view.ended() {
                Some(_) => view.took(now),
                None => aligned(trial.began.tick, now),
            },
            limit: sheet.time_limit,
            stages: stage_faces.collect(),
            rows: rows.collect(),
            present: self.place(&trial.id),
            verdict: view.ended().map(|(how, _)| verdict_of(&view, how)),
            windows: windows.collect(),
            notes: trial.notes().iter().map(|note| note.text.clone()).collect(),
        })
    }

    /// Who is planned for this station and still has something to do here.
    pub(super) fn waiting_words(&self, at_most: usize) -> Vec<String> {
        let here = self.begin_rows("").into_iter().filter(|row| row.is_free);
        here.take(at_most).map(|row| format!("{}  {}", row.who, row.stand)).collect()
    }
}

/// The act after `here` that has no mark; `here` itself if there is none.
fn next_unmarked(view: &TrialView<'_>, here: usize) -> usize {
    (here + 1..view.sheet.items.len()).find(|at| view.item(*at).mark.is_none()).unwrap_or(here)
}

fn who_words(view: &TrialView<'_>) -> String {
    let candidate = view.candidate();
    format!("{} {}", candidate.number, candidate.name)
}

fn trial_words(view: &TrialView<'_>) -> String {
    let of = format!("trial {} of {}", view.trial.number, view.sheet.trials_at_most);
    if view.trial.scores.is_some() { format!("{of}, SECOND SHEET") } else { of }
}

/// How long ago something was, on the whole seconds of the exam.
fn aligned(from: Tick, now: Tick) -> Span {
    Span((now.0 / SECOND).saturating_sub(from.0 / SECOND) * SECOND)
}

fn trial_time(view: &TrialView<'_>, now: Tick) -> (String, bool) {
    let lasted = if view.trial.is_open() { aligned(view.trial.began.tick, now) } else { view.took(now) };
    let is_over = view.sheet.time_limit.is_some_and(|limit| lasted > limit);
    (if is_over { format!("! {}", lasted.clock()) } else { lasted.clock() }, is_over)
}

fn came_words(came: Came) -> (&'static str, bool) {
    match came {
        Came::Passed => ("PASSED", true),
        Came::Failed => ("NOT PASSED", false),
        Came::Open => ("OPEN", false),
        Came::Void => ("VOID", false),
    }
}

/// What comes next for the candidate in this method.
fn next_of(view: &TrialView<'_>) -> Option<String> {
    if view.trial.scores.is_some() {
        return Some("The first rater's sheet decides.".to_owned());
    }
    match view.state.standing(view.trial.candidate, view.trial.method) {
        Standing::Due { number } if number > view.trial.number => Some(format!("Trial {number} is due: b begins it.")),
        Standing::Due { .. } => Some("The trial can be begun again: b.".to_owned()),
        Standing::ReExamination { trials } => Some(format!("{trials} trials used: a re-examination is due.")),
        Standing::Undecided { .. } => {
            Some("Nobody saw what it hangs on: o overrules each with what it was, or u takes the end back.".to_owned())
        }
        Standing::Passed { .. } | Standing::UnderWay { .. } => None,
    }
}

fn verdict_of(view: &TrialView<'_>, how: &How) -> Verdict {
    let outcome = view.outcome();
    let (word, is_passed) = came_words(outcome.verdict);
    let mut reasons = outcome.reasons.clone();
    if matches!(how, How::Finished) || !outcome.missed.is_empty() {
        reasons.extend(outcome.missed.iter().map(|missed| match &missed.because {
            Some(because) => format!("✗ {} ({because})", missed.text),
            None => format!("✗ {}", missed.text),
        }));
    }
    let next = next_of(view);
    Verdict { word, is_passed, reasons, next }
}

impl Sign {
    /// The sign of a mark.
    pub(super) const fn of(mark: Mark) -> Self {
        match mark {
            Mark::Done => Self::Done,
            Mark::Missed => Self::Missed,
            Mark::Told => Self::Told,
            Mark::NotSeen => Self::NotSeen,
        }
    }
}

fn row_face(status: &ItemStatus<'_>, stage: usize, now: Tick) -> RowFace {
    let Item { text, why, slip, tellable, critical, clock, count, conditional, .. } = status.item;
    let beside = match (&status.because, status.overruled) {
        (Some(because), Some(_)) => format!("overruled: {because}"),
        (Some(because), None) => because.clone(),
        (None, _) => String::new(),
    };
    let clock_live = clock.as_ref().filter(|_| status.is_running).and_then(|spec| {
        let run = status.runs.last()?;
        let gone = now.since(run.started.tick).clock();
        Some(match (spec.by_readings, spec.down_at_most) {
            (true, _) => {
                format!("{gone}, reading {} at {}", run.turns.len() + 1, now.since(run.turned().tick).clock())
            }
            (false, Some(_)) => {
                let words = if run.is_down() { &spec.down } else { &spec.up };
                let words = words.clone().unwrap_or_default();
                format!("{gone}, {words} {}", now.since(run.turned().tick).clock())
            }
            (false, None) => gone,
        })
    });
    let count_live = count.as_ref().zip(status.count).map(|(spec, n)| format!("{n} of {}", count_words(spec)));
    RowFace {
        stage,
        text: text.clone(),
        mark: status.mark.map(Sign::of),
        beside,
        wants: match (clock, count) {
            (Some(spec), _) => clock_words(spec),
            (None, Some(_)) if count_live.is_some() => String::new(),
            (None, Some(spec)) => count_words(spec),
            (None, None) => String::new(),
        },
        live: clock_live.or(count_live),
        is_running: status.is_running,
        tellable: *tellable,
        critical: *critical,
        is_conditional: *conditional,
        why: why.clone(),
        slip: slip.clone(),
    }
}

fn clock_words(spec: &ClockSpec) -> String {
    if spec.by_readings {
        return format!("readings {} apart", spec.at_least);
    }
    let whole = match spec.at_most {
        Some(at_most) if spec.at_least == Span(0) => format!("at most {at_most}"),
        Some(at_most) => format!("{} to {at_most}", spec.at_least),
        None => format!("at least {}", spec.at_least),
    };
    match (spec.down_at_most, &spec.down) {
        (Some(limit), Some(down)) => format!("{whole}, {down} at most {limit}"),
        _ => whole,
    }
}

fn count_words(spec: &CountSpec) -> String {
    if spec.at_least == spec.at_most {
        format!("{} {}", spec.at_least, spec.of)
    } else {
        format!("{} to {} {}", spec.at_least, spec.at_most, spec.of)
    }
}
