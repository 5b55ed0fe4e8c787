//! A desk to test at: the model, a simulated time, and a store that answers at once.

use std::sync::Arc;

use coach::screen::{Colours, Effect, Input, Model, Options, next_change, update, view};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Moment, Run, Tick, Wall};
use procedure::Edition;
use quantity::{System, Ties};
use ratatui::Terminal;
use ratatui::backend::TestBackend;

/// Everything a test needs of the program, without the program.
pub struct Desk {
    pub model: Model,
    pub now: Tick,
    /// Effects since they were last taken.
    pub effects: Vec<Effect>,
    /// Whether the store answers that it has kept what it was given.
    pub store_works: bool,
    kept: u64,
}

pub fn edition(system: System) -> Arc<Edition> {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../../procedures/air-volumetric.toml"));
    let checked = procedure::check("air-volumetric.toml", &text.unwrap());
    let faults: Vec<_> = checked.diagnostics.iter().map(|fault| fault.title.clone()).collect();
    let procedure = checked.procedure.unwrap_or_else(|| panic!("{faults:?}"));
    Arc::new(procedure.edition(system).unwrap().clone())
}

pub fn moment(now: Tick) -> Moment {
    Moment { tick: now, wall: Wall { unix_ms: 1_790_000_000_000 + now.0 as i64, offset_min: -300 } }
}

impl Desk {
    pub fn new() -> Self {
        Self::with(Options { run_name: "pier-4".to_owned(), place: "/data".to_owned(), ..Options::default() })
    }

    pub fn with(options: Options) -> Self {
        Self::of(System::InchPound, options)
    }

    pub fn of(system: System, options: Options) -> Self {
        let run = Run::open(edition(system), Ties::Even, moment(Tick(0)));
        let model = Model::new(run, moment(Tick(0)), options).with_colours(Colours::True);
        Self { model, now: Tick(0), effects: Vec::new(), store_works: true, kept: 1 }
    }

    pub fn input(&mut self, input: Input) {
        let effects = update(&mut self.model, input, moment(self.now));
        for effect in effects {
            let is_keep = matches!(effect, Effect::Keep { .. });
            self.effects.push(effect);
            if is_keep && self.store_works {
                self.kept += 1;
                self.input(Input::Kept { entries: self.kept });
            } else if is_keep {
                let what = "the disk is full".to_owned();
                let hint = "Make room, or choose another folder.".to_owned();
                self.input(Input::StoreFailed { what, hint });
            }
        }
    }

    pub fn press(&mut self, code: KeyCode) -> &mut Self {
        self.input(Input::Key(KeyEvent::new(code, KeyModifiers::NONE)));
        self
    }

    pub fn ctrl(&mut self, sign: char) -> &mut Self {
        self.input(Input::Key(KeyEvent::new(KeyCode::Char(sign), KeyModifiers::CONTROL)));
        self
    }

    /// Types signs, each a key.
    pub fn keys(&mut self, text: &str) -> &mut Self {
        for sign in text.chars() {
            self.press(KeyCode::Char(sign));
        }
        self
    }

    pub fn enter(&mut self) -> &mut Self {
        self.press(KeyCode::Enter)
    }

    pub fn space(&mut self) -> &mut Self {
        self.press(KeyCode::Char(' '))
    }

    /// Types an answer and gives it.
    pub fn answer(&mut self, text: &str) -> &mut Self {
        self.keys(text).enter()
    }

    /// Lets time pass, waking whenever the screen asked for it; returns how often it woke.
    pub fn wait(&mut self, ms: u64) -> usize {
        let until = Tick(self.now.0 + ms);
        let mut n_wakes = 0;
        while let Some(change) = next_change(&self.model, self.now).filter(|change| *change <= until) {
            assert!(change > self.now, "the next change lies ahead");
            self.now = change;
            self.input(Input::Wake);
            n_wakes += 1;
        }
        self.now = until;
        n_wakes
    }

    pub fn take_effects(&mut self) -> Vec<Effect> {
        std::mem::take(&mut self.effects)
    }

    pub fn bells(&mut self) -> usize {
        self.take_effects().iter().filter(|effect| **effect == Effect::Bell).count()
    }

    pub fn step(&self) -> String {
        let (id, _) = self.model.run.offer(self.now).step.unwrap();
        self.model.run.edition().step(id).id.clone()
    }

    pub fn act(&self) -> String {
        let act = format!("{:?}", self.model.run.offer(self.now).act);
        act.split(|c: char| !c.is_alphanumeric()).next().unwrap().to_owned()
    }

    pub fn has_next_act(&self) -> bool {
        self.model.run.offer(self.now).act != Act::Nothing
    }

    /// The screen as lines in quotes.
    pub fn picture(&self, width: u16, height: u16) -> String {
        let mut out = String::new();
        for line in self.lines(width, height) {
            out.push_str(&format!("\"{line}\"\n"));
        }
        out
    }

    pub fn lines(&self, width: u16, height: u16) -> Vec<String> {
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(|frame| view(&self.model, moment(self.now), frame)).unwrap();
        let buf = terminal.backend().buffer();
        (0..height).map(|y| (0..width).map(|x| buf[(x, y)].symbol()).collect()).collect()
    }

    /// Everything on the screen in one line of words.
    pub fn words(&self) -> String {
        let lines = self.lines(120, 40).join(" ");
        lines.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    #[track_caller]
    pub fn sees(&mut self, words: &str) -> &mut Self {
        assert!(self.words().contains(words), "{words:?} is not on the screen:\n{}", self.picture(120, 40));
        self
    }

    // ------------------------------------------------------------------ on the way through the method

    /// Goes on to the step called `step` by the shortest right way.
    pub fn go_to(&mut self, step: &str) -> &mut Self {
        for _ in 0..200 {
            if self.step() == step {
                return self;
            }
            self.one_right_act();
        }
        panic!("{step} was not reached; the run is at {}", self.step());
    }

    /// One right act, whatever the step asks.
    pub fn one_right_act(&mut self) {
        self.wait(500);
        let step = self.step();
        let is_si = self.model.run.edition().system == System::Si;
        match (step.as_str(), self.act().as_str()) {
            ("technician", _) => self.answer("Mara Lind"),
            ("job", _) => self.answer("Pier 4"),
            ("sample", _) => self.answer("T-17"),
            ("meter", _) => self.answer("V-2"),
            ("bowl-volume", _) => self.answer(if is_si { "2.130" } else { "0.0752" }),
            ("meter-check", _) => self.keys("y"),
            ("cup-check", _) => self.answer("1.01"),
            ("alcohol-strength", _) => self.answer("70"),
            ("alcohol-amount", _) => self.answer(if is_si { "1.65" } else { "3.5" }),
            ("pieces", _) => self.keys("n"),
            ("water-first", _) => self.answer("1.5"),
            ("water-up", _) => self.keys("y"),
            ("heard", _) => self.keys("y"),
            ("inspect", _) => self.keys("n"),
            ("settle", "Wait") => {
                self.wait(120_000);
                &mut *self
            }
            ("settle", _) => {
                let in_set = self.model.run.offer(self.now).standing.in_set;
                self.answer(if in_set { "0.5" } else { "5.5" })
            }
            ("invert", "Turn") => {
                self.wait(3_000);
                self.space()
            }
            ("roll", "Wait") => {
                self.wait(60_000);
                self.space()
            }
            _ => self.space(),
        };
        assert!(self.has_next_act(), "{step} leads to a screen without a next act");
    }
}
