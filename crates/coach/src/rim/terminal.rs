//! The loop: sleep, read everything that waits, carry out what follows, draw once.
//!
//! Here: the order in which the outside world is served. Not here: what a key means or what is shown (the screen), how
//! a terminal is set (`tty`), how a record is kept (`store`).
//!
//! One thread. It sleeps until a key, a signal or the moment the screen changes by itself; with no clock running it
//! sleeps for good. A terminal that does not read gets no frames, but keys, clocks and the record go on.
//!
//! **Invariant:** an act is shown as recorded only after the keeper has said so, and on every way out the terminal is
//! given back.

use std::collections::VecDeque;
use std::io;
use std::time::Duration;

use engine::{Event, Moment, Tick};
use procedure::ReadingId;

use super::clock::Timepiece;
use super::config::Listening;
use super::frames::Frames;
use super::hands::{ForRim, Rim, WithRim};
use super::out::{Depth, Painter};
use super::speaker::Sound;
use super::store::{self, Keeper};
use super::tty::{self, Sent, Tty};
use crate::screen::{Colours, Deed, Effect, Input, Sensed, Shown};

/// Carries out what is shown wants done outside, and answers it.
pub trait Serves<D, A> {
    /// Carries it out; answers go behind those already there. What the terminal is to do about it is returned.
    fn carry_out(&mut self, deed: D, now: Moment, answers: &mut Vec<A>) -> Wish;
}

/// What the terminal itself is to do.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Nothing.
    Nothing,
    /// One bell now.
    Bell,
    /// Stop until the person calls the program back.
    Suspend,
    /// End the program.
    Leave,
}

/// An answer of the records of runs, and the run it is for.
pub type Answer = (usize, Input);

impl<R: Records> Serves<Deed, Answer> for R {
    fn carry_out(&mut self, deed: Deed, now: Moment, answers: &mut Vec<Answer>) -> Wish {
        match deed {
            Deed::Begin { run, at } => answers.extend(self.begin(run, at)),
            Deed::Add { check_of, name, at } => answers.extend(self.add(check_of, name, at)),
            Deed::Finish { at } => self.finish(at),
            Deed::Of(run, Effect::Keep { event, at, corrected }) => {
                answers.extend(self.keep(run, &event, at, corrected));
            }
            Deed::Of(run, Effect::MoveStore { folder }) => answers.extend(self.move_to(run, &folder, now)),
            // Heard where somebody speaks and listens: `WithRim` stands before the records.
            Deed::Of(_, Effect::Cue(_)) | Deed::Speak(_) | Deed::Publish(_) | Deed::Talk(_) => {}
            Deed::Of(_, Effect::Bell) => return Wish::Bell,
            Deed::Of(_, Effect::Suspend) => return Wish::Suspend,
            Deed::Of(_, Effect::Leave) => return Wish::Leave,
        }
        Wish::Nothing
    }
}

/// Where the acts of runs are kept.
pub trait Records {
    /// Makes the journal of a run that was begun on a bench.
    fn begin(&mut self, run: usize, at: Moment) -> Vec<Answer>;
    /// Adds a check test of run `check_of` to a sample. A run alone has none.
    fn add(&mut self, _check_of: usize, _name: String, _at: Moment) -> Vec<Answer> {
        Vec::new()
    }
    /// Puts an event of a run on the disk.
    fn keep(&mut self, run: usize, event: &Event, at: Moment, corrected: Option<ReadingId>) -> Vec<Answer>;
    /// Goes on in another folder; asked for in `run`.
    fn move_to(&mut self, run: usize, folder: &str, at: Moment) -> Vec<Answer>;
    /// Every run is closed.
    fn finish(&mut self, at: Moment);
}

impl Records for Keeper {
    fn begin(&mut self, run: usize, _at: Moment) -> Vec<Answer> {
        vec![(run, Input::Begun { run: self.name().to_owned() })]
    }
    fn keep(&mut self, run: usize, event: &Event, at: Moment, corrected: Option<ReadingId>) -> Vec<Answer> {
        vec![(run, kept(Keeper::keep(self, event, at, corrected)))]
    }
    fn move_to(&mut self, run: usize, folder: &str, at: Moment) -> Vec<Answer> {
        match Keeper::move_to(self, folder, at) {
            Ok(entries) => {
                let folder = self.data().display().to_string();
                vec![(run, Input::StoreMoved { folder }), (run, Input::Kept { entries })]
            }
            Err(trouble) => vec![(run, Input::StoreMoveFailed { what: trouble.what, hint: trouble.hint })],
        }
    }
    fn finish(&mut self, _at: Moment) {}
}

/// What a screen starts from.
pub struct Live<S: Shown, K> {
    /// What is shown.
    pub shown: S,
    /// Its clocks.
    pub timepiece: Timepiece,
    /// Makes or hands over the records, and says what the screen is told first. Called once the first screen is painted.
    pub records: Box<dyn FnOnce() -> (K, Vec<S::Answer>)>,
    /// What the terminal can show.
    pub depth: Depth,
    /// Who speaks and who listens, for what is shown hands-free.
    pub rim: Option<RimToBe>,
}

/// Mouth and ears, to be made once the first screen is painted.
pub struct RimToBe {
    /// Lines are read from standard input, so that it need not be a terminal.
    pub reads_stdin: bool,
    /// Makes them.
    pub start: Box<dyn FnOnce() -> Rim>,
}

impl RimToBe {
    /// What speaks, if sound is wanted, and what listens; none if nobody does.
    pub fn of(sound: Option<Sound>, listening: Listening, clock: &Timepiece) -> Option<Self> {
        if sound.is_none() && listening == Listening::default() {
            return None;
        }
        let (reads_stdin, clock) = (listening.stdin, clock.clone());
        let start = Box::new(move || Rim::start(sound.as_ref(), &listening, &clock));
        Some(Self { reads_stdin, start })
    }
}

/// How a run on the screen came to its end.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Ended {
    /// The person left it.
    Left,
    /// A signal asked for it.
    Signal(i32),
    /// The terminal is gone.
    Gone,
}

/// A moment that has come is waited for at least so long, so that a mistake in it cannot burn a battery.
const LEAST_SLEEP: Duration = Duration::from_millis(2);

/// Something that waits to be taken.
enum Coming<A> {
    Sensed(Sensed),
    Answer(A),
}

/// Performs what is shown on the screen. The records are handed back for what has to be said afterwards.
///
/// # Errors
///
/// If there is no terminal, or it cannot be set.
pub fn perform<S: Shown<Deed: ForRim>, K: Serves<S::Deed, S::Answer>>(live: Live<S, K>) -> io::Result<(Ended, K)> {
    tty::restore_on_panic();
    let Live { shown, timepiece, records, depth, rim } = live;
    let reads_lines = rim.as_ref().is_some_and(|rim| rim.reads_stdin);
    let mut tty = Tty::enter(if reads_lines { tty::Input::Any } else { tty::Input::Terminal })?;
    let mut screen = Screen { frames: Frames::new(Painter::new(tty.size(), depth)), shown, repaints: 0, timepiece };
    screen.draw(&mut tty)?;
    panic_if_asked();

    // Only now, so that the first screen does not wait for the disk, nor for whoever speaks and listens.
    let (records, first) = records();
    let mut records = WithRim { records, rim: rim.map(|rim| (rim.start)()) };
    let ended = serve(&mut screen, &mut tty, &mut records, first);
    // The terminal is given back before programs that speak or listen are ended.
    drop(tty);
    Ok((ended?, records.records))
}

/// Serves the outside world until the end.
fn serve<S: Shown<Deed: ForRim>, K: Serves<S::Deed, S::Answer>>(
    screen: &mut Screen<S>,
    tty: &mut Tty,
    records: &mut WithRim<K>,
    first: Vec<S::Answer>,
) -> io::Result<Ended> {
    let mut waiting: VecDeque<Coming<S::Answer>> = VecDeque::new();
    // A bench hands over first what it began before there were records.
    waiting.push_back(Coming::Sensed(Sensed::Wake));
    waiting.extend(first.into_iter().map(Coming::Answer));

    let mut due = None;
    loop {
        let mut must_stop = false;
        while let Some(coming) = waiting.pop_front() {
            match screen.take(coming, records, &mut waiting) {
                Next::GoOn => {}
                Next::Stop => must_stop = true,
                Next::Leave => return Ok(Ended::Left),
            }
        }
        if must_stop {
            screen.stop(true, tty, &mut records.rim)?;
            continue;
        }
        if screen.repaints != screen.shown.repaints() {
            screen.repaints = screen.shown.repaints();
            screen.begin_anew(tty);
        }
        if screen.draw(tty).is_err() {
            return Ok(Ended::Gone);
        }

        let tick = screen.timepiece.tick();
        let next = screen.shown.next_change(tick);
        let pause = next.map(|next| {
            let pause = screen.timepiece.until(next);
            if next <= tick && due == Some(next) { pause.max(LEAST_SLEEP) } else { pause }
        });
        due = next;
        let woken = match &records.rim {
            None => tty.sleep(pause, &[]),
            Some(rim) => {
                let pause = pause.into_iter().chain(rim.pause()).min();
                tty.sleep(pause, &rim.fds())
            }
        };

        if let Some(signal) = woken.end {
            return Ok(Ended::Signal(signal));
        }
        if woken.gone {
            return Ok(Ended::Gone);
        }
        if woken.stop {
            screen.stop(false, tty, &mut records.rim)?;
        } else if woken.continued {
            // Stopped without being asked; a shell may have set the terminal its own way meanwhile.
            tty.take()?;
            screen.go_on(tty, &mut records.rim);
        }
        if woken.resized {
            // Also when the size is what it was: in between the terminal may have been smaller and cut the screen off.
            screen.begin_anew(tty);
            waiting.push_back(Coming::Sensed(Sensed::Resize));
        }
        if due.is_some_and(|due: Tick| screen.timepiece.tick() >= due) {
            waiting.push_back(Coming::Sensed(Sensed::Wake));
        }
        if woken.input {
            let collected = tty.collect(&mut |sent| {
                let sensed = match sent {
                    Sent::Key(key) => Sensed::Key(key),
                    Sent::Pasted(text) => Sensed::Paste(text),
                };
                waiting.push_back(Coming::Sensed(sensed));
            });
            if collected.is_err() {
                return Ok(Ended::Gone);
            }
        }
        if let Some(rim) = &mut records.rim
            && (woken.others || rim.pause().is_some_and(|pause| pause.is_zero()))
        {
            rim.collect(&screen.timepiece, &mut |sensed| waiting.push_back(Coming::Sensed(sensed)));
        }
    }
}

struct Screen<S> {
    frames: Frames,
    shown: S,
    /// How many repaints the person has asked for and got.
    repaints: u32,
    timepiece: Timepiece,
}

enum Next {
    GoOn,
    Stop,
    Leave,
}

impl<S: Shown> Screen<S> {
    /// Draws what is different now, in one write; nothing while the terminal has not taken the frame before.
    fn draw(&mut self, tty: &mut Tty) -> io::Result<()> {
        if !tty.is_ready() {
            return Ok(());
        }
        let now = self.timepiece.tick();
        let shown = &self.shown;
        self.frames.draw(|buf, area| shown.draw(now, buf, area));
        let painter = self.frames.painter();
        if painter.bytes().is_empty() && !tty.has_unsent() {
            return Ok(());
        }
        let sent = tty.send(painter.bytes());
        painter.take();
        sent
    }

    /// Stops the program as Ctrl-Z would, in silence, until it is called back.
    fn stop(&mut self, whole_job: bool, tty: &mut Tty, rim: &mut Option<Rim>) -> io::Result<()> {
        if let Some(rim) = rim {
            rim.hush(&self.timepiece);
        }
        tty.stop(whole_job)?;
        self.go_on(tty, rim);
        Ok(())
    }

    /// The program was stopped and goes on.
    fn go_on(&mut self, tty: &mut Tty, rim: &mut Option<Rim>) {
        self.begin_anew(tty);
        if let Some(rim) = rim {
            rim.go_on();
        }
    }

    /// The terminal may show anything: draws everything again.
    fn begin_anew(&mut self, tty: &mut Tty) {
        self.frames.begin_anew(tty.size());
    }

    fn take(
        &mut self,
        coming: Coming<S::Answer>,
        records: &mut impl Serves<S::Deed, S::Answer>,
        waiting: &mut VecDeque<Coming<S::Answer>>,
    ) -> Next {
        let mut next = Next::GoOn;
        // Answered at once, before the next key is looked at, and in the order in which it was asked: a failure said
        // before an earlier success would be taken for mended by it.
        let mut answers = Vec::new();
        let now = self.timepiece.now();
        let deeds = match coming {
            Coming::Sensed(sensed) => self.shown.sense(sensed, now),
            Coming::Answer(answer) => self.shown.hear(answer, now),
        };
        for deed in deeds {
            match records.carry_out(deed, now, &mut answers) {
                Wish::Nothing => {}
                Wish::Bell => self.frames.painter().add(0x07),
                Wish::Suspend => next = Next::Stop,
                Wish::Leave => return Next::Leave,
            }
        }
        for answer in answers.into_iter().rev() {
            waiting.push_front(Coming::Answer(answer));
        }
        next
    }
}

/// The colours of a terminal.
pub fn colours(depth: Depth) -> Colours {
    match depth {
        Depth::None | Depth::Named => Colours::Sixteen,
        Depth::Indexed => Colours::TwoHundredFiftySix,
        Depth::True => Colours::True,
    }
}

/// What a screen is told about an event that was to be kept.
pub(super) fn kept(outcome: Result<u64, store::Trouble>) -> Input {
    match outcome {
        Ok(entries) => Input::Kept { entries },
        Err(trouble) => Input::StoreFailed { what: trouble.what, hint: trouble.hint },
    }
}

/// For the test that a panic gives the terminal back: `POURSIDE_TEST_PANIC` brings one about.
fn panic_if_asked() {
    if std::env::var_os("POURSIDE_TEST_PANIC").is_some() {
        #[expect(clippy::panic, reason = "that is what the test asks for")]
        {
            panic!("asked for by POURSIDE_TEST_PANIC");
        }
    }
}
