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

use std::collections::{BTreeMap, VecDeque};
use std::io;
use std::time::Duration;

use engine::{Run, Tick};
use procedure::Edition;

use super::clock::Timepiece;
use super::frames::Frames;
use super::out::{Depth, Painter};
use super::store::{self, Keeper};
use super::tty::{self, Sent, Tty};
use crate::screen::view::draw;
use crate::screen::{Colours, Effect, Input, Model, Options, next_change, update};

/// What a run on the screen starts from.
pub struct Live {
    /// The run.
    pub run: Run,
    /// Its clocks.
    pub timepiece: Timepiece,
    /// What the screen is told.
    pub options: Options,
    /// Makes or hands over the record. Called once the first screen is painted.
    pub keeper: Box<dyn FnOnce() -> Keeper>,
    /// Words to offer before those of earlier runs.
    pub suggestions: BTreeMap<String, Vec<String>>,
    /// What the terminal can show.
    pub depth: Depth,
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

/// Performs a run on the screen. The keeper is handed back for what has to be said afterwards.
///
/// # Errors
///
/// If there is no terminal, or it cannot be set.
pub fn perform(live: Live) -> io::Result<(Ended, Keeper)> {
    tty::restore_on_panic();
    let mut tty = Tty::enter()?;
    let Live { run, timepiece, options, keeper, suggestions, depth } = live;
    let now = timepiece.now();
    let mut screen = Screen {
        frames: Frames::new(Painter::new(tty.size(), depth)),
        model: Model::new(run, now, options).with_colours(colours(depth)),
        repaints: 0,
        timepiece,
    };
    screen.draw(&mut tty)?;
    panic_if_asked();

    // Only now, so that the first screen does not wait for the disk.
    let mut keeper = keeper();
    let mut waiting: VecDeque<Input> = VecDeque::new();
    waiting.push_back(match keeper.trouble() {
        None => Input::Kept { entries: keeper.n_events_kept() },
        Some(trouble) => failed(trouble),
    });
    let words = with_earlier_words(suggestions, &keeper, screen.model.run.edition());
    if !words.is_empty() {
        waiting.push_back(Input::Suggestions(words));
    }

    let mut due = None;
    loop {
        let mut must_stop = false;
        while let Some(input) = waiting.pop_front() {
            match screen.take(input, &mut keeper, &mut waiting) {
                Next::GoOn => {}
                Next::Stop => must_stop = true,
                Next::Leave => return Ok((Ended::Left, keeper)),
            }
        }
        if must_stop {
            tty.stop(true)?;
            screen.begin_anew(&mut tty);
            continue;
        }
        if screen.repaints != screen.model.repaints() {
            screen.repaints = screen.model.repaints();
            screen.begin_anew(&mut tty);
        }
        if screen.draw(&mut tty).is_err() {
            return Ok((Ended::Gone, keeper));
        }

        let tick = screen.timepiece.tick();
        let next = next_change(&screen.model, tick);
        let pause = next.map(|next| {
            let pause = screen.timepiece.until(next);
            if next <= tick && due == Some(next) { pause.max(LEAST_SLEEP) } else { pause }
        });
        due = next;
        let woken = tty.sleep(pause);

        if let Some(signal) = woken.end {
            return Ok((Ended::Signal(signal), keeper));
        }
        if woken.gone {
            return Ok((Ended::Gone, keeper));
        }
        if woken.stop {
            tty.stop(false)?;
            screen.begin_anew(&mut tty);
        } else if woken.continued {
            // Stopped without being asked; a shell may have set the terminal its own way meanwhile.
            tty.take()?;
            screen.begin_anew(&mut tty);
        }
        if woken.resized {
            // Also when the size is what it was: in between the terminal may have been smaller and cut the screen off.
            screen.begin_anew(&mut tty);
            waiting.push_back(Input::Resize);
        }
        if due.is_some_and(|due: Tick| screen.timepiece.tick() >= due) {
            waiting.push_back(Input::Wake);
        }
        if woken.input {
            let collected = tty.collect(&mut |sent| {
                waiting.push_back(match sent {
                    Sent::Key(key) => Input::Key(key),
                    Sent::Pasted(text) => Input::Paste(text),
                });
            });
            if collected.is_err() {
                return Ok((Ended::Gone, keeper));
            }
        }
    }
}

struct Screen {
    frames: Frames,
    model: Model,
    /// How many repaints the person has asked for and got.
    repaints: u32,
    timepiece: Timepiece,
}

enum Next {
    GoOn,
    Stop,
    Leave,
}

impl Screen {
    /// Draws what is different now, in one write; nothing while the terminal has not taken the frame before.
    fn draw(&mut self, tty: &mut Tty) -> io::Result<()> {
        if !tty.is_ready() {
            return Ok(());
        }
        let now = self.timepiece.now();
        let model = &self.model;
        self.frames.draw(|buf, area| draw(model, now.tick, buf, area));
        let painter = self.frames.painter();
        if painter.bytes().is_empty() && !tty.has_unsent() {
            return Ok(());
        }
        let sent = tty.send(painter.bytes());
        painter.take();
        sent
    }

    /// The terminal may show anything: draws everything again.
    fn begin_anew(&mut self, tty: &mut Tty) {
        self.frames.begin_anew(tty.size());
    }

    fn take(&mut self, input: Input, keeper: &mut Keeper, waiting: &mut VecDeque<Input>) -> Next {
        let mut next = Next::GoOn;
        // Answered at once, before the next key is looked at, and in the order in which it was asked: a failure said
        // before an earlier success would be taken for mended by it.
        let mut answers = Vec::new();
        let now = self.timepiece.now();
        for effect in update(&mut self.model, input, now) {
            match effect {
                Effect::Keep { event, at, corrected } => {
                    answers.push(match keeper.keep(&event, at, corrected) {
                        Ok(entries) => Input::Kept { entries },
                        Err(trouble) => failed(&trouble),
                    });
                }
                Effect::MoveStore { folder } => match keeper.move_to(&folder, now) {
                    Ok(entries) => {
                        answers.push(Input::StoreMoved { folder: keeper.data().display().to_string() });
                        answers.push(Input::Kept { entries });
                    }
                    Err(trouble) => {
                        answers.push(Input::StoreMoveFailed { what: trouble.what, hint: trouble.hint });
                    }
                },
                Effect::Bell => self.frames.painter().add(0x07),
                // A speaker would be given it here.
                Effect::Cue(_) => {}
                Effect::Suspend => next = Next::Stop,
                Effect::Leave => return Next::Leave,
            }
        }
        for answer in answers.into_iter().rev() {
            waiting.push_front(answer);
        }
        next
    }
}

fn colours(depth: Depth) -> Colours {
    match depth {
        Depth::None | Depth::Named => Colours::Sixteen,
        Depth::Indexed => Colours::TwoHundredFiftySix,
        Depth::True => Colours::True,
    }
}

fn failed(trouble: &store::Trouble) -> Input {
    Input::StoreFailed { what: trouble.what.clone(), hint: trouble.hint.clone() }
}

fn with_earlier_words(
    mut first: BTreeMap<String, Vec<String>>,
    keeper: &Keeper,
    edition: &Edition,
) -> BTreeMap<String, Vec<String>> {
    for (reading, words) in store::suggestions(keeper.data(), edition, keeper.name()) {
        let offered = first.entry(reading).or_default();
        let new: Vec<_> = words.into_iter().filter(|word| !offered.contains(word)).collect();
        offered.extend(new);
    }
    first
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
