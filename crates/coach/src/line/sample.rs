//! A bench in lines: several runs on one sample, each line said to one of them.
//!
//! Here: which run a line is for, the words of the bench, what one run tells another. Not here: what a line means to its
//! run; each run is led by a [`Talk`] of its own.
//!
//! **Invariant:** a line leads to one event of one run; what follows from it in others is said of them, and kept in theirs.

use std::fmt;
use std::sync::Arc;

use bench::calendar::Date;
use bench::fact::Facts;
use bench::live::{self, NewsKind, Repeat, Role, Said as News, Seat, Stand, Watch, Why};
use bench::papers::Weight;
use bench::site::Site;
use engine::{Act, Event, Moment, Phase, Run, Tick};
use procedure::nearest::nearest;
use procedure::{Edition, ReadingId};
use quantity::Ties;

use super::language::{self, CHARS_AT_MOST, Said, WORDS};
use super::talk::not_recorded;
use super::{Cue, Led, NotKept, Record, Talk};
use crate::screen::bench::{exact_line_words, exact_window_words};

/// Moments of a gap the program slept through that are said one by one.
const CATCH_UP_AT_MOST: usize = 400;
/// More rounds of telling than this would be a mistake in the procedures.
const ROUNDS_AT_MOST: usize = 200;

/// A line out: a cue, and the run it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BenchCue {
    /// The run; none if it is about the sample.
    pub run: Option<String>,
    /// What is said.
    pub cue: Cue,
}

impl fmt::Display for BenchCue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.run {
            Some(run) => write!(f, "[{run}] {}", self.cue),
            None => write!(f, "{}", self.cue),
        }
    }
}

/// Where the runs of a sample are kept.
pub trait SampleRecord {
    /// Makes the journal of a run that was begun, and returns its name.
    ///
    /// # Errors
    ///
    /// [`NotKept`]: the run goes on in memory.
    fn begin(&mut self, run: usize, at: Moment) -> Result<String, NotKept>;
    /// Puts on record that a check test of run `check_of` was added, in the last place. If that fails,
    /// [`own_trouble`](Self::own_trouble) says so.
    fn add(&mut self, check_of: usize, name: &str, at: Moment);
    /// [`Record::keep`] for one run.
    ///
    /// # Errors
    ///
    /// [`NotKept`] if it is not on the disk.
    fn keep(&mut self, run: usize, event: &Event, at: Moment, corrected: Option<ReadingId>) -> Result<u64, NotKept>;
    /// [`Record::move_to`] for the whole sample.
    ///
    /// # Errors
    ///
    /// [`NotKept`] if that folder takes it no better.
    fn move_to(&mut self, folder: &str, at: Moment) -> Result<(String, u64), NotKept>;
    /// [`Record::retry`] for the whole sample.
    ///
    /// # Errors
    ///
    /// [`NotKept`] if it is no better.
    fn retry(&mut self) -> Result<u64, NotKept>;
    /// What of the sample's own file is not on the disk, after another try.
    fn own_trouble(&mut self) -> Option<NotKept>;
    /// Every run is closed.
    fn finish(&mut self, at: Moment);
}

/// One run of a [`SampleRecord`].
struct OneOf<'a> {
    all: &'a mut dyn SampleRecord,
    run: usize,
}

impl Record for OneOf<'_> {
    fn keep(&mut self, event: &Event, at: Moment, corrected: Option<ReadingId>) -> Result<u64, NotKept> {
        self.all.keep(self.run, event, at, corrected)
    }
    fn move_to(&mut self, folder: &str, at: Moment) -> Result<(String, u64), NotKept> {
        self.all.move_to(folder, at)
    }
    fn retry(&mut self) -> Result<u64, NotKept> {
        self.all.retry()
    }
}

/// A test of the sample.
#[derive(Debug)]
pub struct Place {
    /// What it is called on the bench.
    pub name: String,
    /// The procedure it follows.
    pub edition: Arc<Edition>,
    /// The rounding rule.
    pub ties: Ties,
    /// What it is for, where that matters for its verdicts.
    role: Role,
    /// Its run, led in lines; none as long as nobody has begun it.
    talk: Option<Talk>,
}

impl Place {
    /// A test, with its run if it was begun.
    pub fn new(name: String, edition: Arc<Edition>, ties: Ties, run: Option<Run>, now: Moment) -> Self {
        let talk = run.map(|run| Talk::new(run, now).on_bench());
        Self { name, edition, ties, role: Role::default(), talk }
    }

    /// The same test with what it is for.
    #[must_use]
    pub fn with_role(mut self, role: Role) -> Self {
        self.role = role;
        self
    }

    /// Its run.
    pub fn run(&self) -> Option<&Run> {
        self.talk.as_ref().map(Talk::run)
    }
}

/// A bench led in lines.
#[derive(Debug)]
pub struct BenchTalk {
    sample: String,
    places: Vec<Place>,
    focus: usize,
    order: Vec<usize>,
    facts: Facts,
    watch: Watch,
    /// The run whose next attempt was refused for the sample's sake; a reason overrules.
    refused_again: Option<usize>,
    /// News about limits up to here has been said.
    said: Tick,
    left: bool,
    is_finished: bool,
}

/// The words of the bench, in the order of the help.
pub const BENCH_WORDS: &[(&str, &str)] = &[
    ("RUN: LINE", "the line is for that run; without a name it is for the run in focus"),
    ("focus RUN", "bring a run into focus; a test nobody has begun is begun"),
    ("due", "bring what is due next into focus"),
    ("bench", "every run in a line: how it stands, its next act, its soonest clock"),
    ("windows", "every limit and how it stands"),
    ("check-test RUN", "make the check test that a result of that run calls for; “despite REASON” behind it overrules"),
];

impl BenchTalk {
    /// A bench at `now`. `order` is the order of the plan; that of the places if it is empty.
    pub fn new(sample: String, places: Vec<Place>, focus: usize, order: Vec<usize>, facts: Facts, now: Moment) -> Self {
        let order = if order.is_empty() { (0..places.len()).collect() } else { order };
        let focus = focus.min(places.len().saturating_sub(1));
        let mut bench = Self {
            sample,
            places,
            focus,
            order,
            facts,
            watch: Watch::default(),
            refused_again: None,
            said: now.tick,
            left: false,
            is_finished: false,
        };
        bench.is_finished = bench.are_all_closed();
        bench.say_waits();
        bench
    }

    /// The same bench on a site, on the day of the sample: results are compared with its limits, and its papers are said.
    /// What stands already is not said again.
    #[must_use]
    pub fn on_site(mut self, site: Option<Site>, day: Option<Date>) -> Self {
        let mut watch = Watch::new(site, day);
        watch.take_up(&self.seats(), &self.roles(), &self.facts);
        self.watch = watch;
        self
    }

    fn roles(&self) -> Vec<Role> {
        self.places.iter().map(|place| place.role.clone()).collect()
    }

    /// The tests.
    pub fn places(&self) -> &[Place] {
        &self.places
    }

    /// The runs as they stand beside one another.
    pub fn seats(&self) -> Vec<Seat<'_>> {
        self.places.iter().map(|place| Seat { name: &place.name, edition: &place.edition, run: place.run() }).collect()
    }

    /// Whether nothing more is to be said.
    pub fn is_over(&self) -> bool {
        self.left || self.are_all_closed()
    }

    fn are_all_closed(&self) -> bool {
        let is_closed = |run: &Run| matches!(run.phase(), Phase::Closed { .. });
        self.places.iter().all(|place| place.run().is_some_and(is_closed))
    }

    fn of(&self, n: usize, cues: Vec<Cue>) -> Vec<BenchCue> {
        let run = self.places.get(n).map(|place| place.name.clone());
        cues.into_iter().map(|cue| BenchCue { run: run.clone(), cue }).collect()
    }

    fn own(word: &'static str, text: impl Into<String>) -> BenchCue {
        BenchCue { run: None, cue: Cue::new(word, text) }
    }

    /// What is said before the first line comes in. The run in focus is begun if nobody has.
    pub fn opening(&mut self, now: Moment, record: &mut dyn SampleRecord) -> Vec<BenchCue> {
        let names: Vec<&str> = self.places.iter().map(|place| place.name.as_str()).collect();
        let mut out = vec![Self::own("SAMPLE", format!("{} {}", self.sample, names.join(" ")))];
        out.extend(record.own_trouble().map(|why| BenchCue { run: None, cue: not_recorded(&why) }));
        for (weight, text) in self.watch.papers(&self.seats()) {
            out.push(Self::own("PAPER", paper_words(weight, &text)));
        }
        out.extend(self.go_to(self.focus, now, record));
        out.extend(self.settle(now, record));
        out
    }

    /// When something is due next that has not been said.
    pub fn next_due(&self) -> Option<Tick> {
        let clocks = self.places.iter().filter_map(|place| place.talk.as_ref()?.next_due());
        clocks.chain(live::next_news(&self.seats(), self.said)).min()
    }

    /// What has come due up to `now`, in the order in which it came.
    pub fn due(&mut self, now: Tick) -> Vec<BenchCue> {
        let mut out = Vec::new();
        let mut n_steps = 0;
        while let Some(next) = self.next_due().filter(|next| *next <= now) {
            n_steps += 1;
            self.pass_to(if n_steps > CATCH_UP_AT_MOST { now } else { next }, &mut out);
        }
        self.pass_to(now, &mut out);
        out
    }

    fn pass_to(&mut self, until: Tick, out: &mut Vec<BenchCue>) {
        let news = live::news(&self.seats(), self.said, until);
        for n in 0..self.places.len() {
            let cues = self.places[n].talk.as_mut().map(|talk| talk.due(until)).unwrap_or_default();
            out.extend(self.of(n, cues));
        }
        for one in news {
            let window = &one.window;
            let text = match (one.kind, window.left(one.at)) {
                (NewsKind::Near, Some(left)) => format!("{} {} left: {}", window.id, left.clock(), window.title),
                _ => format!("{} the time is over: {}", window.id, window.title),
            };
            let word = match one.kind {
                NewsKind::Near => "NEAR",
                NewsKind::Over => "OVER",
            };
            out.extend(self.of(window.run, vec![Cue::new(word, text)]));
        }
        self.said = self.said.max(until);
    }

    /// Takes one line that came in at `now`.
    pub fn hear(&mut self, line: &str, now: Moment, record: &mut dyn SampleRecord) -> Vec<BenchCue> {
        let mut out = self.due(now.tick);
        match self.address(line) {
            Err(cue) => out.push(cue),
            Ok((None, line)) => match self.bench_word(line, now, record) {
                Some(more) => out.extend(more),
                None => out.extend(self.say_to(self.focus, line, now, record)),
            },
            Ok((Some(n), line)) => out.extend(self.say_to(n, line, now, record)),
        }
        out.extend(self.settle(now, record));
        out
    }

    /// The run a line names at its beginning, and the rest. A name that was nearly hit is no answer to anything.
    fn address<'l>(&self, line: &'l str) -> Result<(Option<usize>, &'l str), BenchCue> {
        let Some((name, rest)) = line.split_once(':') else { return Ok((None, line)) };
        let name = name.trim();
        if let Some(n) = self.place_named(name) {
            return Ok((Some(n), rest.trim()));
        }
        let is_word = !name.is_empty() && !name.contains(char::is_whitespace) && name.len() > 3;
        let names = self.places.iter().map(|place| place.name.as_str());
        match nearest(name, names).filter(|_| is_word) {
            Some(meant) => Err(Self::own(
                "ERROR",
                format!("No run is called “{name}”: is “{meant}” meant? As an answer: answer {}", line.trim()),
            )),
            None => Ok((None, line)),
        }
    }

    fn place_named(&self, name: &str) -> Option<usize> {
        self.places.iter().position(|place| place.name.eq_ignore_ascii_case(name))
    }

    fn bench_word(&mut self, line: &str, now: Moment, record: &mut dyn SampleRecord) -> Option<Vec<BenchCue>> {
        if line.chars().nth(CHARS_AT_MOST).is_some() {
            return None;
        }
        let (first, rest) = line.trim().split_once(char::is_whitespace).unwrap_or((line.trim(), ""));
        let rest = rest.trim();
        Some(match (first.to_ascii_lowercase().as_str(), rest) {
            ("focus", name) => match self.place_named(name) {
                Some(n) => self.go_to(n, now, record),
                None => vec![self.no_run(name)],
            },
            ("due", "") => self.go_to_due(now, record),
            ("check-test", rest) if !rest.is_empty() => self.check_test(rest, now, record),
            ("bench", "") => self.bench_lines(now.tick),
            ("windows", "") => self.window_lines(now.tick),
            ("quit", "") => {
                self.left = true;
                vec![Self::own("LEFT", "The sample can be resumed; its clocks go on.")]
            }
            ("folder", path) if !path.is_empty() => vec![BenchCue {
                run: None,
                cue: match record.move_to(path, now) {
                    Ok((folder, _)) => Cue::new("FOLDER", folder),
                    Err(why) => not_recorded(&why),
                },
            }],
            ("retry", "") => vec![BenchCue {
                run: None,
                cue: match record.retry() {
                    Ok(n) => Cue::new("RECORDED", n.to_string()),
                    Err(why) => not_recorded(&why),
                },
            }],
            ("help", "") => {
                let own = BENCH_WORDS.iter().map(|(form, does)| Self::own("HELP", format!("{form}: {does}")));
                let of_run = WORDS.iter().map(|word| Self::own("HELP", format!("{}: {}", word.form, word.means)));
                own.chain(of_run).collect()
            }
            _ => return None,
        })
    }

    fn no_run(&self, name: &str) -> BenchCue {
        let names = self.places.iter().map(|place| place.name.as_str());
        let hint = match nearest(name, names.clone()) {
            Some(meant) => format!("Did you mean “{meant}”?"),
            None => format!("There are: {}.", names.collect::<Vec<_>>().join(", ")),
        };
        Self::own("ERROR", format!("No run is called “{name}”. {hint}"))
    }

    // ------------------------------------------------------------------------------------------ check tests

    /// `RUN` or `RUN despite REASON`: adds the check test of a run, if its result calls for one and the sample is not too
    /// old for it, or the reason says why it is made all the same.
    fn check_test(&mut self, rest: &str, now: Moment, record: &mut dyn SampleRecord) -> Vec<BenchCue> {
        let (name, reason) = match rest.split_once(char::is_whitespace) {
            None => (rest, None),
            Some((name, more)) => match more.trim().strip_prefix("despite ").map(str::trim) {
                Some(reason) if !reason.is_empty() => (name, Some(reason)),
                _ => return vec![Self::own("ERROR", "The form is: check-test RUN, or check-test RUN despite REASON")],
            },
        };
        let Some(n) = self.place_named(name) else { return vec![self.no_run(name)] };
        let seats = self.seats();
        if let Err(why) = live::may_check(self.watch.judged(), &seats, &self.roles(), n) {
            return self.of(n, vec![Cue::new("REFUSED", why)]);
        }
        let mut out = Vec::new();
        let is_late = live::too_late_for(&seats, &self.places[n].edition, now.tick);
        match (is_late, reason) {
            (None, _) => {}
            (Some(because), None) => {
                let despite =
                    format!("To do it all the same: check-test {name} despite REASON. It stays on the record.");
                let refused = Cue::new("REFUSED", format!("A new sample is needed: {because}."));
                return self.of(n, vec![refused, Cue::new("DESPITE", despite)]);
            }
            (Some(_), Some(reason)) => {
                let text = format!("Check test made on this sample although its time was over: {reason}");
                match self.remark(n, text, now, record) {
                    Ok(cues) => out.extend(cues),
                    Err(cues) => return cues,
                }
            }
        }
        let checked = &self.places[n];
        let name = live::check_name(&checked.name, self.places.iter().map(|place| place.name.as_str()));
        let role = Role { check_of: Some(checked.name.clone()), ..checked.role.clone() };
        let added = format!("check test of {}", checked.name);
        let place = Place::new(name.clone(), Arc::clone(&checked.edition), checked.ties, None, now).with_role(role);
        let new = self.places.len();
        self.places.push(place);
        self.order.push(new);
        record.add(n, &name, now);
        out.extend(self.of(new, vec![Cue::new("ADDED", added)]));
        out.extend(record.own_trouble().map(|why| BenchCue { run: None, cue: not_recorded(&why) }));
        out.extend(self.go_to(new, now, record));
        out
    }

    /// Puts a remark on the record of a run; `Err` if the run does not take it.
    fn remark(
        &mut self,
        n: usize,
        text: String,
        now: Moment,
        record: &mut dyn SampleRecord,
    ) -> Result<Vec<BenchCue>, Vec<BenchCue>> {
        let Some(talk) = self.places.get_mut(n).and_then(|place| place.talk.as_mut()) else { return Err(Vec::new()) };
        let before = talk.run().n_accepted();
        let cues = talk.apply(Event::Remark { text }, now, &mut OneOf { all: record, run: n });
        let is_taken = talk.run().n_accepted() > before;
        let cues = self.of(n, cues);
        if is_taken { Ok(cues) } else { Err(cues) }
    }

    /// Another attempt on a sample that is too old for it is refused, unless a reason is given. `None` if the line is
    /// something else.
    fn too_late_again(
        &mut self,
        n: usize,
        line: &str,
        now: Moment,
        record: &mut dyn SampleRecord,
    ) -> Option<Vec<BenchCue>> {
        let said = language::read(line).ok()?;
        let run = self.places.get(n)?.run()?;
        let is_again =
            matches!(said, Said::Again) || matches!(said, Said::Next) && run.offer(now.tick).act == Act::Again;
        let Repeat::NewSample { because } = live::repeat(&self.seats(), n, now.tick) else { return None };
        match said {
            Said::Despite(reason) if self.refused_again == Some(n) => {
                self.refused_again = None;
                let text = format!("Repeated on this sample although its time was over: {reason}");
                let mut out = match self.remark(n, text, now, record) {
                    Ok(cues) | Err(cues) => cues,
                };
                let talk = self.places.get_mut(n)?.talk.as_mut()?;
                let cues = talk.apply(Event::Again, now, &mut OneOf { all: record, run: n });
                out.extend(self.of(n, cues));
                Some(out)
            }
            _ if is_again => {
                self.refused_again = Some(n);
                let refused = Cue::new("REFUSED", format!("A new sample is needed: {because}."));
                let despite = Cue::new("DESPITE", "To do it all the same: despite REASON. It stays on the record.");
                Some(self.of(n, vec![refused, despite]))
            }
            _ => None,
        }
    }

    /// Says what is new about verdicts, papers and what was told.
    fn news(&mut self, now: Tick) -> Vec<BenchCue> {
        let mut watch = std::mem::take(&mut self.watch);
        let news = watch.look(&self.seats(), &self.roles(), &self.facts);
        self.watch = watch;
        let mut out = Vec::new();
        for said in news {
            let n = said.run();
            let cue = match said {
                News::Verdict(judged) => {
                    let mut text = format!("{} {} {}", judged.result, judged.word(), judged.words());
                    if let Some(follows) = judged.follows() {
                        text.push_str(&format!(". {follows}"));
                    }
                    if judged.wants_check {
                        text.push_str(&match live::too_late_for(&self.seats(), &self.places[n].edition, now) {
                            None => format!(" To begin it: check-test {}", self.places[n].name),
                            Some(because) => format!(" It needs a new sample: {because}."),
                        });
                    }
                    Cue::new("VERDICT", text)
                }
                News::Paper { weight, text, .. } => Cue::new("PAPER", paper_words(weight, &text)),
                News::Stale { text, .. } => Cue::new("STALE", text),
            };
            out.extend(self.of(n, vec![cue]));
        }
        out
    }

    // ------------------------------------------------------------------------------------------ focus

    fn go_to(&mut self, n: usize, now: Moment, record: &mut dyn SampleRecord) -> Vec<BenchCue> {
        self.focus = n;
        let mut out = self.of(n, vec![Cue::new("FOCUS", "")]);
        if self.places.get(n).is_some_and(|place| place.talk.is_none()) {
            out.extend(self.begin(n, now, record));
        } else if let Some(talk) = self.places.get(n).and_then(|place| place.talk.as_ref()) {
            out.extend(self.of(n, talk.place(now)));
        }
        out
    }

    /// A test nobody has begun is begun: from here on there is something to record.
    fn begin(&mut self, n: usize, now: Moment, record: &mut dyn SampleRecord) -> Vec<BenchCue> {
        let Some(place) = self.places.get_mut(n) else { return Vec::new() };
        let talk = Talk::new(Run::open(Arc::clone(&place.edition), place.ties, now), now).on_bench();
        let mut cues = vec![match record.begin(n, now) {
            Ok(name) => Cue::new("BEGUN", name),
            Err(why) => not_recorded(&why),
        }];
        cues.extend(record.own_trouble().as_ref().map(not_recorded));
        cues.extend(talk.head());
        place.talk = Some(talk);
        let mut out = self.of(n, cues);
        // What is known already is not asked first.
        out.extend(self.tell(now, record));
        let here = self.places.get_mut(n).and_then(|place| place.talk.as_mut()).map(|talk| {
            let _ = talk.change(now.tick);
            talk.place(now)
        });
        out.extend(self.of(n, here.unwrap_or_default()));
        out
    }

    fn go_to_due(&mut self, now: Moment, record: &mut dyn SampleRecord) -> Vec<BenchCue> {
        match live::due(&self.seats(), &self.order, now.tick).first() {
            Some(turn) => self.go_to(turn.run, now, record),
            None => vec![Self::own("CLOSED", "Every test of this sample is closed.")],
        }
    }

    fn bench_lines(&self, now: Tick) -> Vec<BenchCue> {
        let seats = self.seats();
        let due = live::due(&seats, &self.order, now);
        let first = due.first().map(|turn| turn.run);
        let line = |n: usize| {
            let stand = live::stand(&seats, n, now);
            let words = exact_line_words(&seats, n, now).with_verdicts(stand, self.watch.judged_of(n));
            let state = match stand {
                Stand::NotBegun => "not-begun",
                Stand::Open => "open",
                Stand::InHand => "in-hand",
                Stand::HandsFree { .. } => "hands-free",
                Stand::Ready { .. } => "ready",
                Stand::For { .. } => "waits",
                Stand::Ended => "ended",
                Stand::Finished => "finished",
                Stand::Closed { .. } => "closed",
            };
            let focus = if n == self.focus { ", in focus" } else { "" };
            let next = if Some(n) == first { ", due next" } else { "" };
            let clock = if words.clock.is_empty() { String::new() } else { format!(" ({})", words.clock) };
            let waits = due.iter().find(|turn| turn.run == n).and_then(|turn| match turn.why {
                Why::For { run } => seats.get(run).map(|seat| format!(" for {}", seat.name)),
                _ => None,
            });
            Cue::new("BENCH", format!("{state}{}{clock}{focus}{next}: {}", waits.unwrap_or_default(), words.act))
        };
        (0..seats.len()).flat_map(|n| self.of(n, vec![line(n)])).collect()
    }

    fn window_lines(&self, now: Tick) -> Vec<BenchCue> {
        let windows = live::windows(&self.seats(), now);
        if windows.is_empty() {
            return vec![Self::own("WINDOW", "none")];
        }
        let line = |window: &live::Window| {
            let text =
                format!("{} {}: {} ({})", window.id, exact_window_words(window, now), window.title, window.at_most);
            self.of(window.run, vec![Cue::new("WINDOW", text)])
        };
        windows.iter().flat_map(line).collect()
    }

    // ------------------------------------------------------------------------------------------ acts

    fn say_to(&mut self, n: usize, line: &str, now: Moment, record: &mut dyn SampleRecord) -> Vec<BenchCue> {
        let mut out = Vec::new();
        if self.places.get(n).is_some_and(|place| place.talk.is_none()) {
            out.extend(self.begin(n, now, record));
        }
        if let Some(more) = self.too_late_again(n, line, now, record) {
            out.extend(more);
            return out;
        }
        let Some(talk) = self.places.get_mut(n).and_then(|place| place.talk.as_mut()) else { return out };
        let before = talk.run().phase();
        let mut cues = talk.hear(line, now, &mut OneOf { all: &mut *record, run: n });
        self.left |= talk.has_left();
        let has_ended = talk.run().phase() == Phase::Ended && before != Phase::Ended;
        if has_ended {
            cues.extend(talk.change(now.tick));
        }
        cues.extend(record.own_trouble().as_ref().map(not_recorded));
        if has_ended {
            cues.push(self.repeat_cue(n, now.tick));
        }
        out.extend(self.of(n, cues));
        out
    }

    /// Whether the test whose attempt has just ended may be repeated on this sample.
    fn repeat_cue(&self, n: usize, now: Tick) -> Cue {
        let text = match live::repeat(&self.seats(), n, now) {
            Repeat::Allowed { until: Some(until) } => {
                format!("allowed on this sample for another {}", until.since(now).clock())
            }
            Repeat::Allowed { until: None } | Repeat::NotAsked => "allowed on this sample".to_owned(),
            Repeat::NewSample { because } => format!("new-sample A new sample is needed: {because}"),
            Repeat::NoMore => "no-more The procedure allows no further attempt".to_owned(),
        };
        Cue::new("REPEAT", text)
    }

    /// Tells every run what follows from the others, and says what has changed in each.
    fn settle(&mut self, now: Moment, record: &mut dyn SampleRecord) -> Vec<BenchCue> {
        let mut out = self.tell(now, record);
        for n in 0..self.places.len() {
            let cues = self.places[n].talk.as_mut().map(|talk| talk.change(now.tick)).unwrap_or_default();
            out.extend(self.of(n, cues));
        }
        out.extend(self.news(now.tick));
        if self.are_all_closed() && !self.is_finished {
            record.finish(now);
            out.push(Self::own("CLOSED", "Every test of this sample is closed."));
        }
        self.is_finished = self.are_all_closed();
        out
    }

    /// Tells every run what follows from the others, until nothing follows.
    fn tell(&mut self, now: Moment, record: &mut dyn SampleRecord) -> Vec<BenchCue> {
        let mut out = Vec::new();
        for _ in 0..ROUNDS_AT_MOST {
            let told = live::told(&self.seats(), &self.facts, now, |_| false);
            let mut is_stuck = true;
            for (n, event) in told {
                let known = self.known_cue(n, &event);
                let Some(talk) = self.places[n].talk.as_mut() else { continue };
                let before = talk.run().n_accepted();
                let cues = talk.apply(event, now, &mut OneOf { all: &mut *record, run: n });
                is_stuck &= talk.run().n_accepted() == before;
                out.extend(self.of(n, vec![known]));
                out.extend(self.of(n, cues));
            }
            if is_stuck {
                break;
            }
        }
        self.say_waits();
        out
    }

    fn known_cue(&self, n: usize, event: &Event) -> Cue {
        let edition = &self.places[n].edition;
        let text = match event {
            Event::Known { moment, at } => {
                let name = edition.moments.get(*moment as usize).map_or("", String::as_str);
                let by = live::marked(&self.seats(), name).map_or("", |(by, _)| self.places[by].name.as_str());
                format!("{name} {} marked in {by}", crate::report::clock_time(at.wall))
            }
            Event::Answer { reading, entry, .. } => {
                let shown = self.places[n].run().map_or_else(String::new, |run| run.show(*reading, entry));
                format!("{} {shown}", edition.reading(*reading).id)
            }
            _ => String::new(),
        };
        Cue::new("KNOWN", text)
    }

    fn say_waits(&mut self) {
        let seats = self.seats();
        let waits: Vec<Option<String>> = (0..seats.len())
            .map(|n| {
                let on = seats.get(live::waits_for(&seats, n)?)?.name;
                Some(format!(
                    "This moment is marked in the run “{on}”; it is left out here as soon as it is. Go there: focus {on}"
                ))
            })
            .collect();
        for (place, waits) in self.places.iter_mut().zip(waits) {
            if let Some(talk) = &mut place.talk {
                talk.wait_for(waits);
            }
        }
    }
}

fn paper_words(weight: Weight, text: &str) -> String {
    match weight {
        Weight::Finding => format!("finding {text}"),
        Weight::Remark => format!("remark {text}"),
    }
}

/// A bench with its records.
pub(crate) struct Several<'a> {
    pub bench: &'a mut BenchTalk,
    pub record: &'a mut dyn SampleRecord,
    /// Where its record stood at the beginning.
    pub last: Tick,
}

fn strings(cues: Vec<BenchCue>) -> Vec<String> {
    cues.iter().map(BenchCue::to_string).collect()
}

impl Led for Several<'_> {
    fn opening(&mut self, now: Moment) -> Vec<String> {
        strings(self.bench.opening(now, self.record))
    }
    fn hear(&mut self, line: &str, now: Moment) -> Vec<String> {
        strings(self.bench.hear(line, now, self.record))
    }
    fn due(&mut self, now: Tick) -> Vec<String> {
        strings(self.bench.due(now))
    }
    fn next_due(&self) -> Option<Tick> {
        self.bench.next_due()
    }
    fn is_over(&self) -> bool {
        self.bench.is_over()
    }
    fn last(&self) -> Tick {
        self.last
    }
}
