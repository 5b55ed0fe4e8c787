//! Demonstrations: an invented run, played on the real screen in fast time, with its record and report.
//!
//! Here: the scripts that come with the program ([`DEMOS`]) and the player. A script is played through the same lines,
//! engine and journal as `--script`; the screen shows the run as it stands after each line, and what is typed as it is
//! typed; it is silent. Not here: what the screen shows.
//!
//! **Invariant:** the record a demonstration leaves is that of its script, at the script's own moments: how fast it was
//! watched, and whether it was paused, is not in it.

use std::collections::VecDeque;
use std::io;
use std::path::PathBuf;
use std::process::ExitCode;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Tick};
use procedure::{ReadingKind, Wants};
use quantity::{Span, Ties};

use crate::line::language::{self, Said};
use crate::line::script::{Script, What};
use crate::line::{Cue, Talk};
use crate::rim::cli::{self, Failure};
use crate::rim::clock::Timepiece;
use crate::rim::library;
use crate::rim::store::Keeper;
use crate::screen::model::{Message, MessageKind};
use crate::screen::{Input, Model, Options, update};
use procedure::nearest::nearest;

/// Run seconds to one real second.
pub const SPEED: u32 = 30;

/// A demonstration.
#[derive(Copy, Clone, Debug)]
pub struct Demo {
    /// What it is called by.
    pub name: &'static str,
    /// Its script.
    pub script: &'static str,
}

/// All demonstrations, in the order they are listed.
pub const DEMOS: &[Demo] = &[
    Demo { name: "plain-run", script: include_str!("../../../demo/plain-run.lines") },
    Demo { name: "foam-again", script: include_str!("../../../demo/foam-again.lines") },
    Demo { name: "cups-over-range", script: include_str!("../../../demo/cups-over-range.lines") },
    Demo { name: "third-roll-si", script: include_str!("../../../demo/third-roll-si.lines") },
    Demo { name: "voided-bowl", script: include_str!("../../../demo/voided-bowl.lines") },
];

/// Why a demonstration cannot be played.
#[derive(Debug, thiserror::Error)]
pub enum NotPlayed {
    /// There is none of that name.
    #[error("there is no demonstration called “{name}”")]
    Unknown {
        /// What was asked for.
        name: String,
        /// What to do: the nearest name, or all of them.
        hint: String,
    },
    /// Its script is faulty, or came out otherwise than it expects.
    #[error("the demonstration {name}: {what}")]
    Faulty {
        /// Which.
        name: &'static str,
        /// What is wrong.
        what: String,
    },
    /// Its record cannot be kept.
    #[error("{what}")]
    NotKept {
        /// What failed.
        what: String,
        /// What to do.
        hint: String,
    },
    /// The terminal cannot be used.
    #[error("cannot use this terminal: {0}")]
    Terminal(#[from] io::Error),
}

/// The demonstration called `name`; the first if none is named.
///
/// # Errors
///
/// [`NotPlayed::Unknown`] with the names there are.
pub fn find(name: Option<&str>) -> Result<&'static Demo, NotPlayed> {
    let Some(name) = name else { return Ok(&DEMOS[0]) };
    DEMOS.iter().find(|demo| demo.name == name).ok_or_else(|| NotPlayed::Unknown {
        name: name.to_owned(),
        hint: match nearest(name, DEMOS.iter().map(|demo| demo.name)) {
            Some(nearest) => format!("Did you mean “{nearest}”?"),
            None => format!("There are: {}.", DEMOS.iter().map(|demo| demo.name).collect::<Vec<_>>().join(", ")),
        },
    })
}

/// A demonstration being played. Knows no terminal: whoever shows it says how far its time has come.
pub struct Player {
    demo: &'static Demo,
    script: Script,
    talk: Talk,
    keeper: Keeper,
    /// The screen.
    pub model: Model,
    /// The next line.
    next: usize,
    /// What is typed before the next line, and when.
    typing: VecDeque<(Tick, char)>,
    now: Tick,
    last: Vec<Cue>,
    unheard: Vec<Cue>,
}

impl Player {
    /// Opens the run of `demo` in the data folder `data`. `options` says how the screen looks; names and stamps are
    /// filled in here.
    ///
    /// # Errors
    ///
    /// [`NotPlayed`].
    pub fn open(demo: &'static Demo, data: PathBuf, options: Options) -> Result<Self, NotPlayed> {
        let faulty = |what: String| NotPlayed::Faulty { name: demo.name, what };
        let script = Script::read(demo.script).map_err(|why| faulty(why.to_string()))?;
        let method = script.head.method.clone().ok_or_else(|| faulty("it names no method".to_owned()))?;
        let found = library::find(&method, false).map_err(|why| faulty(why.to_string()))?;
        let place = data.display().to_string();
        let (talk, keeper) = script
            .open(&found, None, Ties::Even, data)
            .map_err(|why| NotPlayed::NotKept { what: why.what, hint: why.hint })?;
        let options = Options { run_name: keeper.name().to_owned(), simulated: Some(stamp(false)), place, ..options };
        let model = Model::new(talk.run().clone(), script.moment(Tick(0)), options);
        let opening = talk.opening(script.moment(Tick(0)));
        let mut player = Self {
            demo,
            script,
            talk,
            keeper,
            model,
            next: 0,
            typing: VecDeque::new(),
            now: Tick(0),
            last: Vec::new(),
            unheard: opening,
        };
        player.look_ahead();
        Ok(player)
    }

    /// The clock it is shown by, from where it stands.
    pub fn clock(&self, is_paused: bool) -> Timepiece {
        let opened = self.script.head.start;
        if is_paused { Timepiece::by_hand(opened, self.now) } else { Timepiece::simulated(SPEED, opened, self.now) }
    }

    /// Says on the screen whether it is paused.
    pub fn pause(&mut self, is_paused: bool) {
        self.model.options.simulated = Some(stamp(is_paused));
    }

    /// When it does something next; none at its end.
    pub fn next_moment(&self) -> Option<Tick> {
        let line = self.script.lines.get(self.next).map(|line| line.at);
        self.typing.front().map(|(at, _)| *at).into_iter().chain(line).min()
    }

    /// Does everything up to `now`.
    ///
    /// # Errors
    ///
    /// [`NotPlayed::Faulty`] if something comes out otherwise than the script expects.
    pub fn advance(&mut self, now: Tick) -> Result<(), NotPlayed> {
        while let Some(at) = self.next_moment().filter(|at| *at <= now) {
            match self.typing.front() {
                Some((typed_at, sign)) if *typed_at <= at => {
                    let key = KeyEvent::new(KeyCode::Char(*sign), KeyModifiers::NONE);
                    let moment = self.script.moment(*typed_at);
                    // The line itself, not these keys, is what is recorded: whatever they bring about is put back below.
                    update(&mut self.model, Input::Key(key), moment);
                    self.typing.pop_front();
                }
                _ => self.line()?,
            }
        }
        self.now = self.now.max(now);
        update(&mut self.model, Input::Wake, self.script.moment(self.now));
        Ok(())
    }

    fn line(&mut self) -> Result<(), NotPlayed> {
        let Some(line) = self.script.lines.get(self.next).cloned() else { return Ok(()) };
        let moment = self.script.moment(line.at);
        match &line.what {
            What::Say(said) => {
                self.last = self.talk.hear(said, moment, &mut self.keeper);
                self.unheard.extend(self.last.clone());
            }
            What::Wait => {
                self.last = self.talk.due(line.at);
                self.unheard.extend(self.last.clone());
            }
            What::Expect(words) => {
                let more = self.talk.due(line.at);
                self.unheard.extend(more.clone());
                self.last.extend(more);
                if !self.last.iter().any(|cue| cue.to_string().contains(words.as_str())) {
                    let what = format!("line {}: expected “{words}”", line.number);
                    return Err(NotPlayed::Faulty { name: self.demo.name, what });
                }
            }
        }
        self.now = self.now.max(line.at);
        self.next += 1;
        if matches!(line.what, What::Say(_)) {
            self.show(moment);
        }
        self.look_ahead();
        Ok(())
    }

    /// Brings the screen to where the run stands.
    fn show(&mut self, moment: engine::Moment) {
        // A fresh question is asked by the model itself; after a refusal what was typed is cleared for the next try.
        let is_refused = self.last.iter().any(|cue| cue.word == "REFUSED");
        let key = KeyEvent::new(KeyCode::Esc, KeyModifiers::NONE);
        if is_refused {
            update(&mut self.model, Input::Key(key), moment);
        }
        self.model.run = self.talk.run().clone();
        self.model.overlay = None;
        self.model.message = None;
        let told = self.last.iter().find_map(|cue| match cue.word {
            "REFUSED" => Some((MessageKind::Refused, cue.text.clone())),
            "FINDING" => Some((MessageKind::Finding, cue.text.clone())),
            "BACK" => Some((MessageKind::Back, format!("The run went back to {}.", cue.text))),
            "REMARK" => Some((MessageKind::Note, format!("Remark: {}", cue.text))),
            _ => None,
        });
        self.model.message = told.map(|(kind, text)| Message { kind, text });
        let kept = match self.keeper.trouble() {
            None => Input::Kept { entries: self.keeper.n_events_kept() },
            Some(trouble) => Input::StoreFailed { what: trouble.what.clone(), hint: trouble.hint.clone() },
        };
        update(&mut self.model, kept, moment);
    }

    /// Spreads what the next line types over the second half of the time before it.
    fn look_ahead(&mut self) {
        self.typing.clear();
        let Some(line) = self.script.lines.get(self.next) else { return };
        let What::Say(said) = &line.what else { return };
        let typed: Vec<char> = self.typed(said).chars().collect();
        let Span(gap) = line.at.since(self.now);
        for (n, sign) in typed.iter().enumerate() {
            let share = gap * (typed.len() + n) as u64 / (2 * typed.len()) as u64;
            self.typing.push_back((self.now.after(Span(share)), *sign));
        }
    }

    /// What a person would type for this line: a number, a count or words; choices and presses are one key.
    fn typed(&self, said: &str) -> String {
        let run = self.talk.run();
        let offer = run.offer(self.now);
        let wants = offer.step.map(|(_, step)| &step.wants);
        let text = match language::read(said) {
            Ok(Said::Bare(text) | Said::Answer(text) | Said::Read { value: text, .. }) => text,
            Ok(Said::Count(n)) => n.to_string(),
            _ => return String::new(),
        };
        let asked = match (&offer.act, wants) {
            (Act::Answer(reading), _) => Some(*reading),
            (_, Some(Wants::Settle(settle))) => Some(settle.reading),
            _ => None,
        };
        let is_typed = match asked.map(|id| &run.edition().reading(id).kind) {
            Some(ReadingKind::Number(_) | ReadingKind::Words) => true,
            Some(_) => false,
            None => matches!(wants, Some(Wants::Count { .. })),
        };
        let is_number = asked.is_none_or(|id| matches!(run.edition().reading(id).kind, ReadingKind::Number(_)));
        match (is_typed, is_number) {
            (false, _) => String::new(),
            // On the screen a fraction is typed with a dash: the space is the big key.
            (true, true) => text.replace(' ', "-"),
            (true, false) => text,
        }
    }

    /// What was said since this was asked last.
    pub fn said(&mut self) -> Vec<Cue> {
        std::mem::take(&mut self.unheard)
    }

    /// Whether the script has come to its end.
    pub fn is_over(&self) -> bool {
        self.next >= self.script.lines.len()
    }

    /// The record it leaves.
    pub fn into_keeper(self) -> Keeper {
        self.keeper
    }
}

fn stamp(is_paused: bool) -> String {
    let keys = if is_paused { "paused, Space goes on" } else { "Space pauses, q stops" };
    format!("simulated time ×{SPEED}: {keys}")
}

#[cfg(unix)]
pub use shown::{Shown, perform};

/// `pourside demo`: plays one, says where its record is, and prints its report. In plain lines nothing waits.
///
/// # Errors
///
/// [`Failure`] with the names there are, or if it cannot be played or kept.
#[cfg(unix)]
pub fn command(
    name: Option<&str>,
    data: PathBuf,
    options: Options,
    depth: crate::rim::out::Depth,
    in_lines: bool,
) -> Result<ExitCode, Failure> {
    let demo = find(name)?;
    if in_lines {
        let mut player = Player::open(demo, data, options)?;
        let mut text = String::new();
        while let Some(at) = player.next_moment() {
            player.advance(at)?;
            for cue in player.said() {
                text.push_str(&format!("{cue}\n"));
            }
        }
        cli::say(&text)?;
        return leave(&player.into_keeper(), true);
    }
    let shown = perform(demo, data, options, depth)?;
    if let Some(signal) = shown.signal {
        return Ok(ExitCode::from(128_u8.wrapping_add(signal as u8)));
    }
    leave(&shown.keeper, shown.to_the_end)
}

/// Says where the record is, and prints the report.
#[cfg(unix)]
fn leave(keeper: &Keeper, to_the_end: bool) -> Result<ExitCode, Failure> {
    let loaded = keeper.load().map_err(|why| Failure::refused(why.to_string(), why.hint()))?;
    let stopped = if to_the_end { "" } else { "The demonstration was stopped before its end.\n" };
    cli::say(&format!(
        "{}\n{stopped}The record is kept in {}\n  pourside report {name}\n  pourside verify {name}\n",
        crate::report::as_text(&loaded),
        keeper.path().display(),
        name = keeper.name()
    ))
}

impl From<NotPlayed> for Failure {
    fn from(why: NotPlayed) -> Self {
        let what = why.to_string();
        match why {
            NotPlayed::Unknown { hint, .. } => Failure::refused(what, hint),
            NotPlayed::Faulty { .. } => Failure::refused(what, "This is a fault of the program: please report it."),
            NotPlayed::NotKept { hint, .. } => Failure::store(what, hint),
            NotPlayed::Terminal(_) => Failure::refused(what, "“pourside demo --plain” works without one."),
        }
    }
}

#[cfg(unix)]
mod shown {
    //! The player on a real terminal.

    use std::time::Duration;

    use ratatui::Terminal;

    use super::{Demo, NotPlayed, Options, PathBuf, Player, io};
    use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

    use crate::rim::clock::Timepiece;
    use crate::rim::out::{Depth, Painter};
    use crate::rim::store::Keeper;
    use crate::rim::tty::{self, Sent, Tty};
    use crate::screen::{Model, next_change, view};

    /// The last screen stays so long, in real time, or until a key.
    const LAST_LOOK: Duration = Duration::from_secs(4);

    /// How a demonstration came to its end.
    #[derive(Debug)]
    pub struct Shown {
        /// The record it left.
        pub keeper: Keeper,
        /// Whether it was played to its end.
        pub to_the_end: bool,
        /// The signal that ended it.
        pub signal: Option<i32>,
    }

    enum Asked {
        Pause,
        Stop,
    }

    fn asked(key: &KeyEvent) -> Option<Asked> {
        match key.code {
            KeyCode::Char(' ') => Some(Asked::Pause),
            KeyCode::Char('q' | 'Q') | KeyCode::Esc => Some(Asked::Stop),
            KeyCode::Char('c') if key.modifiers.contains(KeyModifiers::CONTROL) => Some(Asked::Stop),
            _ => None,
        }
    }

    /// Plays a demonstration on this terminal. q, Esc or Ctrl-C stop it, Space pauses it.
    ///
    /// # Errors
    ///
    /// [`NotPlayed`].
    pub fn perform(demo: &'static Demo, data: PathBuf, options: Options, depth: Depth) -> Result<Shown, NotPlayed> {
        let mut player = Player::open(demo, data, options)?;
        tty::restore_on_panic();
        let mut tty = Tty::enter(tty::Input::Terminal)?;
        let outcome = play(&mut player, &mut tty, depth);
        drop(tty);
        let (to_the_end, signal) = outcome?;
        Ok(Shown { keeper: player.into_keeper(), to_the_end, signal })
    }

    fn play(player: &mut Player, tty: &mut Tty, depth: Depth) -> Result<(bool, Option<i32>), NotPlayed> {
        let mut terminal = infallible(Terminal::new(Painter::new(tty.size(), depth)));
        let mut is_paused = false;
        let mut clock = player.clock(false);
        loop {
            if !is_paused {
                player.advance(clock.tick())?;
            }
            draw(&mut terminal, tty, &player.model, &clock)?;
            let is_over = player.is_over();
            let tick = clock.tick();
            let soonest = player.next_moment().into_iter().chain(next_change(&player.model, tick)).min();
            // Faster than the eye is no use.
            let pause = soonest.map(|soonest| clock.until(soonest).max(Duration::from_millis(15)));
            let at_most = match (is_over, is_paused) {
                (true, _) => Some(LAST_LOOK),
                (false, true) => None,
                (false, false) => pause,
            };
            let woken = tty.sleep(at_most, &[]);
            if woken.end.is_some() || woken.gone {
                return Ok((is_over, woken.end.or(Some(1).filter(|_| woken.gone))));
            }
            if woken.stop || woken.continued {
                if woken.stop {
                    tty.stop(false)?;
                } else {
                    tty.take()?;
                }
                anew(&mut terminal, tty);
                // The time it was away is not played.
                clock = player.clock(is_paused);
            }
            if woken.resized {
                terminal.backend_mut().resize(tty.size());
            }
            let mut keys = Vec::new();
            if woken.input {
                tty.collect(&mut |sent| {
                    if let Sent::Key(key) = sent {
                        keys.push(key);
                    }
                })?;
            }
            if is_over {
                let was_only_resized = woken.resized || woken.stop || woken.continued;
                if !keys.is_empty() || !was_only_resized {
                    return Ok((true, None));
                }
                continue;
            }
            for key in keys {
                match asked(&key) {
                    Some(Asked::Stop) => return Ok((false, None)),
                    Some(Asked::Pause) => {
                        is_paused = !is_paused;
                        player.pause(is_paused);
                        clock = player.clock(is_paused);
                    }
                    None => {}
                }
            }
        }
    }

    fn draw(terminal: &mut Terminal<Painter>, tty: &mut Tty, model: &Model, clock: &Timepiece) -> io::Result<()> {
        if !tty.is_ready() {
            return Ok(());
        }
        let now = clock.now();
        infallible(terminal.draw(|frame| view(model, now, frame)));
        let painter = terminal.backend_mut();
        if painter.bytes().is_empty() && !tty.has_unsent() {
            return Ok(());
        }
        let sent = tty.send(painter.bytes());
        painter.take();
        sent
    }

    /// The terminal may show anything: everything is drawn again.
    fn anew(terminal: &mut Terminal<Painter>, tty: &Tty) {
        let painter = terminal.backend_mut();
        painter.take();
        painter.resize(tty.size());
        painter.forget();
        infallible(terminal.clear());
    }

    fn infallible<T>(outcome: Result<T, std::convert::Infallible>) -> T {
        match outcome {
            Ok(value) => value,
            Err(never) => match never {},
        }
    }
}
