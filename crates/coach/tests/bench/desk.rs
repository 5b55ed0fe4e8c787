//! A bench to test at: the model, a simulated time, and a store that answers at once.

use std::sync::Arc;

use coach::screen::{BenchModel, BenchOptions, Colours, Deed, Effect, Input, Member, Shown};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Moment, Run, Tick, Wall};
use procedure::{Edition, ReadingKind};
use quantity::{System, Ties};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

pub const PORTIONS: &str = include_str!("../../../bench/tests/bench_data/portions.toml");
pub const CONE: &str = include_str!("../../../bench/tests/bench_data/cone.toml");
pub const PROBE: &str = include_str!("../../../bench/tests/bench_data/probe.toml");
pub const WEIGH: &str = include_str!("../../../bench/tests/bench_data/weigh.toml");
pub const AIR: &str = include_str!("../../../../procedures/air-volumetric.toml");

/// Six tests on one sample, one of them twice.
pub const SIX: [(&str, &str); 6] =
    [("portions", PORTIONS), ("cone", CONE), ("probe", PROBE), ("weigh", WEIGH), ("air", AIR), ("air-2", AIR)];

pub fn edition(text: &str) -> Arc<Edition> {
    let checked = procedure::check("test.toml", text);
    let found = procedure::diagnose::render("test.toml", text, &checked.diagnostics, false);
    let procedure = checked.procedure.unwrap_or_else(|| panic!("{found}"));
    Arc::new(procedure.edition(System::InchPound).unwrap().clone())
}

pub fn moment(now: Tick) -> Moment {
    Moment { tick: now, wall: Wall { unix_ms: 1_790_000_000_000 + now.0 as i64, offset_min: -300 } }
}

pub struct Desk {
    pub bench: BenchModel,
    pub now: Tick,
    /// What was to be done outside since it was last taken.
    pub deeds: Vec<Deed>,
    /// For each run whether the store answers that it has kept what it was given.
    pub store_works: Vec<bool>,
    kept: Vec<u64>,
}

impl Desk {
    pub fn new(tests: &[(&str, &str)]) -> Self {
        Self::with(tests, BenchOptions { sample: "Pier 4".into(), place: "/data".into(), ..BenchOptions::default() })
    }

    pub fn with(tests: &[(&str, &str)], options: BenchOptions) -> Self {
        let member = |(name, text): &(&str, &str)| Member::new((*name).to_owned(), edition(text), Ties::Even);
        let members: Vec<Member> = tests.iter().map(member).collect();
        let n = members.len();
        let bench = BenchModel::new(members, Vec::new(), 0, moment(Tick(0)), options);
        let bench = bench.with_colours(Colours::True, moment(Tick(0)));
        let mut desk = Self { bench, now: Tick(0), deeds: Vec::new(), store_works: vec![true; n], kept: vec![0; n] };
        desk.input(None, Input::Wake);
        desk
    }

    pub fn input(&mut self, run: Option<usize>, input: Input) {
        for deed in self.bench.take(run, input, moment(self.now)) {
            self.deeds.push(deed.clone());
            let (run, answer) = match deed {
                // A check test: its place is the last.
                Deed::Add { .. } => {
                    self.store_works.push(true);
                    self.kept.push(0);
                    continue;
                }
                Deed::Begin { run, .. } if self.store_works[run] => (run, Input::Begun { run: format!("run-{run}") }),
                Deed::Of(run, Effect::Keep { .. }) if self.store_works[run] => {
                    self.kept[run] += 1;
                    (run, Input::Kept { entries: self.kept[run] })
                }
                Deed::Begin { run, .. } | Deed::Of(run, Effect::Keep { .. }) => {
                    let what = "the disk is full".to_owned();
                    (run, Input::StoreFailed { what, hint: "Make room, or choose another folder.".to_owned() })
                }
                _ => continue,
            };
            self.input(Some(run), answer);
        }
    }

    pub fn key(&mut self, code: KeyCode, with: KeyModifiers) -> &mut Self {
        self.input(None, Input::Key(KeyEvent::new(code, with)));
        self
    }

    pub fn press(&mut self, code: KeyCode) -> &mut Self {
        self.key(code, KeyModifiers::NONE)
    }

    pub fn tab(&mut self) -> &mut Self {
        self.press(KeyCode::Tab)
    }

    pub fn space(&mut self) -> &mut Self {
        self.press(KeyCode::Char(' '))
    }

    pub fn keys(&mut self, text: &str) -> &mut Self {
        for sign in text.chars() {
            self.press(KeyCode::Char(sign));
        }
        self
    }

    pub fn answer(&mut self, text: &str) -> &mut Self {
        self.keys(text).press(KeyCode::Enter)
    }

    /// Goes to a run by its number.
    pub fn go(&mut self, n: u8) -> &mut Self {
        self.press(KeyCode::F(n))
    }

    /// Lets time pass, waking whenever the bench asked for it; returns how often it woke.
    pub fn wait(&mut self, ms: u64) -> usize {
        let until = Tick(self.now.0 + ms);
        let mut n_wakes = 0;
        while let Some(change) = self.bench.next_change(self.now).filter(|change| *change <= until) {
            assert!(change > self.now, "the next change lies ahead");
            self.now = change;
            self.input(None, Input::Wake);
            n_wakes += 1;
        }
        self.now = until;
        n_wakes
    }

    pub fn run(&self, name: &str) -> &Run {
        let member = self.bench.members().iter().find(|member| member.name == name).unwrap();
        member.run().unwrap_or_else(|| panic!("{name} has not been begun"))
    }

    pub fn focus(&self) -> &str {
        &self.bench.members()[self.bench.focus()].name
    }

    pub fn step(&self, name: &str) -> String {
        let run = self.run(name);
        run.offer(self.now).step.unwrap().1.id.clone()
    }

    pub fn take_deeds(&mut self) -> Vec<Deed> {
        std::mem::take(&mut self.deeds)
    }

    pub fn bells(&mut self) -> usize {
        self.take_deeds().iter().filter(|deed| matches!(deed, Deed::Of(_, Effect::Bell))).count()
    }

    /// What a speaker was given.
    pub fn said(&mut self) -> Vec<String> {
        let said = self.take_deeds().into_iter().filter_map(|deed| match deed {
            Deed::Of(_, Effect::Cue(cue)) => Some(cue.text),
            _ => None,
        });
        said.collect()
    }

    pub fn lines(&self, width: u16, height: u16) -> Vec<String> {
        let area = Rect::new(0, 0, width, height);
        let mut buf = Buffer::empty(area);
        self.bench.draw(self.now, &mut buf, area);
        (0..height).map(|y| (0..width).map(|x| buf[(x, y)].symbol()).collect()).collect()
    }

    pub fn picture(&self, width: u16, height: u16) -> String {
        self.lines(width, height).iter().map(|line| format!("\"{line}\"\n")).collect()
    }

    pub fn words(&self) -> String {
        let lines = self.lines(120, 40).join(" ");
        lines.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    #[track_caller]
    pub fn sees(&mut self, words: &str) -> &mut Self {
        assert!(self.words().contains(words), "{words:?} is not on the screen:\n{}", self.picture(120, 40));
        self
    }

    /// Does the open step of the run in focus in the shortest right way; holds are waited out.
    pub fn one_act(&mut self) -> &mut Self {
        let focus = self.bench.focus();
        let run = self.bench.members()[focus].run().unwrap();
        let act = match run.offer(self.now).act {
            Act::Answer(reading) => match &run.edition().reading(reading).kind {
                ReadingKind::Number(scale) => {
                    let up = scale.up(&scale.min);
                    Some(up.to_string())
                }
                ReadingKind::Choice(choices) => return self.press(KeyCode::Char(choices[0].key)),
                _ => Some("Mara Lind".to_owned()),
            },
            _ => None,
        };
        match act {
            Some(text) => self.answer(&text),
            None => self.space(),
        }
    }

    /// The sample is taken, the last portion is in after a minute; the sampling is in focus.
    pub fn sampled(tests: &[(&str, &str)]) -> Self {
        let mut desk = Self::new(tests);
        desk.now = Tick(5_000);
        desk.answer("Mara Lind").answer("T-17").space();
        desk.wait(55_000);
        desk.space();
        desk
    }
}
