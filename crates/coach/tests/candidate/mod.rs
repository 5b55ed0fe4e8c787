//! A candidate at the practice screen: presses keys, waits, and reads what is drawn.
//!
//! Knows the answers from the deck, the acts from the run's offer, and the readings from the drawn cells; hears what the screen
//! wants kept.

use std::sync::Arc;

use coach::rim::library;
use coach::screen::practice::{Bench, PracticeAnswer, PracticeDeed, PracticeModel, PracticeOptions};
use coach::screen::{Sensed, Shown};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Moment, Tick, Wall};
use practice::history::{Entry, Trial};
use practice::session::Summary;
use practice::{Answer, Deck, Due, Form, Help, History, Mode, Question, Session, judge};
use procedure::{Edition, ReadingKind, Wants};
use quantity::{Decimal, Span, System};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use specimen::{Happening, Scenario};

use crate::reader;

pub const SMALL: (u16, u16) = (80, 24);
pub const LARGE: (u16, u16) = (120, 40);

pub fn moment(now: Tick) -> Moment {
    Moment { tick: now, wall: Wall { unix_ms: 1_790_000_000_000 + now.0 as i64, offset_min: -300 } }
}

pub fn edition(id: &str, system: System) -> Arc<Edition> {
    let shipped = library::SHIPPED.iter().find(|shipped| shipped.id == id).unwrap();
    Arc::new(shipped.edition(system).unwrap())
}

/// A person who practises.
pub struct Candidate {
    pub screen: PracticeModel,
    pub edition: Arc<Edition>,
    pub now: Tick,
    pub speed: u32,
    pub disk_works: bool,
    pub kept: Vec<Entry>,
    pub in_memory: u64,
    pub bells: usize,
    pub has_left: bool,
    /// The size of the screen instruments are read from.
    pub size: (u16, u16),
    /// Readings taken off the drawn cells.
    pub n_read: usize,
    pub n_keys: usize,
    /// Whether instruments are read off the drawn cells, or the right mark is given.
    pub reads_drawings: bool,
    /// What the run refused.
    pub refused: Vec<specimen::ways::Refusal>,
}

impl Candidate {
    pub fn with(id: &str, system: System, mode: Mode, history: History, speed: u32, seed: u64) -> Self {
        let edition = edition(id, system);
        let scenario = |seed| Scenario::clean(&edition, seed).unwrap();
        Self::on(Arc::clone(&edition), scenario(seed), scenario(seed + 1), mode, history, speed, seed)
    }

    pub fn on(
        edition: Arc<Edition>,
        walk: Scenario,
        trial: Scenario,
        mode: Mode,
        history: History,
        speed: u32,
        seed: u64,
    ) -> Self {
        let now = Tick(0);
        let session = Session::new(vec![Deck::of(&edition)], history, mode, seed, moment(now)).unwrap();
        let options = PracticeOptions { seed, speed, place: "/data".into(), ..PracticeOptions::default() };
        let bench = Bench { edition: Arc::clone(&edition), walk, trial };
        let screen = PracticeModel::new(session, Some(bench), moment(now), options);
        Self::of(screen, edition, speed)
    }

    pub fn of(screen: PracticeModel, edition: Arc<Edition>, speed: u32) -> Self {
        let now = Tick(0);
        Self {
            screen,
            edition,
            now,
            speed,
            disk_works: true,
            kept: Vec::new(),
            in_memory: 0,
            bells: 0,
            has_left: false,
            size: SMALL,
            n_read: 0,
            n_keys: 0,
            reads_drawings: true,
            refused: Vec::new(),
        }
    }

    pub fn do_all(&mut self, deeds: Vec<PracticeDeed>) {
        for deed in deeds {
            let answer = match deed {
                PracticeDeed::Bell => {
                    self.bells += 1;
                    continue;
                }
                PracticeDeed::Leave => {
                    self.has_left = true;
                    continue;
                }
                PracticeDeed::Suspend => continue,
                PracticeDeed::Keep(entry) => {
                    self.kept.push(entry);
                    self.answer()
                }
                PracticeDeed::MoveStore { folder } => {
                    self.disk_works = true;
                    self.in_memory = 0;
                    let more = self.screen.hear(PracticeAnswer::Moved { folder }, moment(self.now));
                    assert!(more.is_empty());
                    self.answer()
                }
            };
            assert!(self.screen.hear(answer, moment(self.now)).is_empty());
        }
    }

    pub fn answer(&mut self) -> PracticeAnswer {
        if self.disk_works {
            return PracticeAnswer::Kept { n: self.kept.len() as u64 };
        }
        self.in_memory += 1;
        let (what, hint) = ("the disk is full".to_owned(), "Make room.".to_owned());
        PracticeAnswer::Failed { what, hint, in_memory: self.in_memory }
    }

    pub fn sense(&mut self, sensed: Sensed) {
        let deeds = self.screen.sense(sensed, moment(self.now));
        self.do_all(deeds);
        if let Some((step, because)) = self.screen.refusal() {
            let after = self.screen.run().map_or(0, |run| run.n_accepted() as usize);
            let refusal = specimen::ways::Refusal { step, rule: None, because, after };
            if self.refused.last() != Some(&refusal) {
                self.refused.push(refusal);
            }
        }
    }

    pub fn press(&mut self, code: KeyCode) {
        self.n_keys += 1;
        self.sense(Sensed::Key(KeyEvent::new(code, KeyModifiers::NONE)));
    }

    pub fn keys(&mut self, text: &str) {
        text.chars().for_each(|sign| self.press(KeyCode::Char(sign)));
    }

    /// Waits on the screen's clock, as a terminal does: woken whenever the picture changes.
    pub fn wait_ms(&mut self, ms: u64) {
        let until = Tick(self.now.0 + ms);
        while let Some(change) = self.screen.next_change(self.now).filter(|change| *change <= until) {
            self.now = Tick(change.0.max(self.now.0 + 1));
            self.sense(Sensed::Wake);
        }
        self.now = self.now.max(until);
    }

    /// Waits so long on the specimen's clock, which may run faster than the screen's.
    pub fn wait(&mut self, span: Span) {
        if self.speed == 1 {
            return self.wait_ms(span.0);
        }
        let until = Tick(self.run_now().0 + span.0);
        while self.run_now() < until && matches!(self.screen.due(), Due::Perform(_)) {
            let change = self.screen.next_change(self.now).map_or(u64::MAX, |change| change.since(self.now).0);
            self.wait_ms(change.clamp(1, 100));
        }
    }

    pub fn picture(&self, (width, height): (u16, u16)) -> Buffer {
        let area = Rect::new(0, 0, width, height);
        let mut buf = Buffer::empty(area);
        self.screen.draw(self.now, &mut buf, area);
        buf
    }

    pub fn text(&self, size: (u16, u16)) -> String {
        let cells = reader::cells(&self.picture(size));
        cells.iter().map(|row| format!("{}\n", row.iter().collect::<String>().trim_end())).collect()
    }

    /// The text as one line, for looking something up that may be broken into several.
    pub fn words(&self, size: (u16, u16)) -> String {
        self.text(size).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    pub fn run_now(&self) -> Tick {
        self.screen.run_tick(self.now)
    }

    pub fn summary(&self) -> Option<Summary> {
        match self.screen.due() {
            Due::Finished(summary) => Some((**summary).clone()),
            _ => None,
        }
    }

    pub fn trial(&self) -> Option<&Trial> {
        self.kept.iter().rev().find_map(|entry| match entry {
            Entry::Trial(trial) => Some(trial),
            _ => None,
        })
    }

    /// Answers a question, right or wrong, by its keys.
    pub fn answer_question(&mut self, is_right: bool) {
        let Due::Ask(question) = self.screen.due().clone() else { panic!("nothing is asked") };
        self.wait_ms(2_000);
        match &question.form {
            Form::Choices(choices) => {
                let at = (0..choices.len())
                    .find(|at| judge(&question, &Answer::Choice(*at)).right == is_right)
                    .expect("a right and a wrong one");
                self.keys(&(at + 1).to_string());
            }
            Form::Number(_) => {
                self.keys(&if is_right { right_number(&question) } else { "99999".to_owned() });
                self.press(KeyCode::Enter);
            }
        }
        assert!(
            !matches!(self.screen.due(), Due::Ask(same) if *same == question),
            "the answer was taken\n{}",
            self.text(SMALL)
        );
    }

    /// Reads what is shown, off the cells where it is drawn.
    pub fn read(&mut self) -> Option<Decimal> {
        use specimen::Shown;
        if !self.reads_drawings {
            return None;
        }
        let tick = self.run_now();
        let run = self.screen.run().unwrap();
        let Act::Answer(asked) = run.offer(tick).act else { return None };
        let spec = self.edition.reading(asked);
        let ReadingKind::Number(scale) = &spec.kind else { return None };
        let shown = self.screen.shown(self.now)?;
        let is_foam = scale.unit.symbol() == "div" || spec.id.contains("foam");
        let cells = || reader::cells(&self.picture(self.size));
        let read = match shown {
            Shown::Neck { .. } if is_foam => reader::read_foam(&cells()),
            Shown::Neck { .. } | Shown::Thermometer { .. } => reader::read_tube(&cells()),
            Shown::Gauge { .. } => reader::read_gauge(&cells()),
            Shown::Rule { .. } => reader::read_rule(&cells()),
            _ => return None,
        };
        self.n_read += 1;
        let n = ((read - scale.min) / scale.step).round_dp(0).max(Decimal::ZERO);
        Some((scale.min + n * scale.step).min(scale.max))
    }

    pub fn give_reading(&mut self) {
        let (tick, run) = (self.run_now(), self.screen.run().unwrap());
        let Act::Answer(asked) = run.offer(tick).act else { panic!("nothing is read") };
        let kind = self.edition.reading(asked).kind.clone();
        if matches!(self.screen.shown(self.now), Some(specimen::Shown::Gauge { .. })) {
            // A needle hangs until somebody taps.
            self.keys("ttt");
            self.wait(Span::from_secs(3));
        }
        // Beyond the scale there is nothing to read: a cup of water brings it back.
        if self.screen.right_answers(self.now).is_empty() && matches!(kind, ReadingKind::Number(_)) {
            return self.keys("c");
        }
        let right = self.screen.right_answers(self.now);
        match (&kind, right.first()) {
            (ReadingKind::Number(scale), Some(engine::Entry::Number(right))) => {
                let text = match self.read() {
                    Some(read) => {
                        // The reader is as good as an eye; half way between two marks both are right.
                        let off = (read - *right).abs() / scale.step;
                        assert!(off <= Decimal::ONE, "read {read}, right is {right}\n{}", self.text(self.size));
                        let is_right = self.screen.right_answers(self.now).contains(&engine::Entry::Number(read));
                        if is_right { read } else { *right }
                    }
                    None => *right,
                };
                self.keys(&text.to_string());
                self.press(KeyCode::Enter);
            }
            (ReadingKind::Choice(choices), Some(engine::Entry::Choice(at))) => {
                let key = choices[usize::from(*at)].key;
                self.press(KeyCode::Char(key));
            }
            (ReadingKind::Words, _) => {
                // What stands on the paper, with one key.
                self.press(KeyCode::Enter);
            }
            other => panic!("{other:?} cannot be given\n{}", self.text(SMALL)),
        }
    }

    /// The next act on the run, as the procedure asks it.
    pub fn act(&mut self) {
        let is_begun = self.screen.run().is_some_and(|run| run.offer(self.run_now()).standing.begun.is_some());
        if !is_begun && self.screen.happening().is_none() {
            // Somebody looks first, and what goes wrong meanwhile is seen.
            self.wait(Span::from_secs(2));
            if !matches!(self.screen.due(), Due::Perform(_)) {
                return;
            }
        }
        let wrong = match self.screen.happening().cloned() {
            Some(Happening::Incident { incident, .. }) => return self.something_went_wrong(incident),
            Some(Happening::OnPurpose { says }) => OnPurpose::heard(&says),
            Some(Happening::Away { .. }) | None => OnPurpose::default(),
        };
        let tick = self.run_now();
        let run = self.screen.run().unwrap();
        let offer = run.offer(tick);
        match (&offer.act, offer.step.map(|(_, step)| step.wants.clone())) {
            (Act::Confirm, Some(Wants::Count { at_least, .. })) => {
                self.keys(&at_least.to_string());
                self.press(KeyCode::Char(' '));
            }
            (Act::Begin, Some(Wants::Timed { at_least, at_most, .. })) => {
                self.press(KeyCode::Char(' '));
                self.wait(wrong.lasts.unwrap_or(Span((at_least.0 + at_most.0) / 2)));
                self.press(KeyCode::Char(' '));
            }
            (Act::Begin, Some(Wants::Hold { .. })) => {
                self.press(KeyCode::Char(' '));
                if let Some(span) = wrong.lasts {
                    self.wait(span);
                    self.press(KeyCode::Char(' '));
                }
            }
            (Act::Turn { to_down: true }, _) if wrong.down.is_some() => {
                self.press(KeyCode::Char(' '));
                self.wait(wrong.down.unwrap());
                self.press(KeyCode::Char(' '));
            }
            (_, _) if wrong.adds > 0 => self.keys("c"),
            (Act::GiveUp(_), _) => self.press(KeyCode::Char(' ')),
            (Act::Wait { until }, _) => {
                let span = Span(until.since(tick).0 + 500);
                self.wait(span);
            }
            (Act::Answer(_), _) => self.give_reading(),
            (Act::Turn { .. }, _) => {
                self.wait(Span::from_secs(1));
                self.press(KeyCode::Char(' '));
            }
            (Act::Close, _) => {
                self.press(KeyCode::Char(' '));
                self.keys("y");
            }
            (Act::Confirm | Act::Begin | Act::Again, _) => {
                self.wait(Span::from_secs(3));
                self.press(KeyCode::Char(' '));
            }
            other => panic!("{other:?}\n{}", self.text(SMALL)),
        }
    }

    /// Says that it happened: the line of its name in the list of what can go wrong.
    pub fn something_went_wrong(&mut self, incident: u16) {
        self.keys("x");
        let run = self.screen.run().unwrap();
        let stage = run.offer(self.run_now()).step.unwrap().1.stage;
        let may = |n: &u16| self.edition.incidents[usize::from(*n)].during.contains(&stage);
        let at = (0..self.edition.incidents.len() as u16).filter(may).position(|n| n == incident).unwrap();
        (0..at).for_each(|_| self.press(KeyCode::Down));
        self.press(KeyCode::Enter);
        self.keys("y");
    }

    /// One thing of the session; false at its end.
    pub fn go_on(&mut self, is_right: impl Fn(&Question) -> bool) -> bool {
        match self.screen.due().clone() {
            Due::Tell(_) | Due::Explain(_) | Due::TrialAhead(_) => {
                self.wait_ms(1_500);
                self.press(KeyCode::Char(' '));
            }
            Due::Ask(question) => self.answer_question(is_right(&question)),
            Due::Perform(_) => self.act(),
            Due::Finished(_) => return false,
        }
        true
    }

    /// Goes on until a branch has come about; false if it never does.
    pub fn until_met(&mut self, branch: &specimen::ways::Branch) -> bool {
        for _ in 0..1_500 {
            let run = self.screen.run();
            if run.is_some_and(|run| specimen::ways::meets_with(run, &self.refused, branch)) {
                return true;
            }
            if matches!(self.screen.due(), Due::Finished(_)) {
                return false;
            }
            self.go_on(|_| true);
        }
        false
    }

    pub fn all_the_way(&mut self, is_right: impl Fn(&Question) -> bool + Copy) -> Summary {
        for _ in 0..4_000 {
            if !self.go_on(is_right) {
                return self.summary().unwrap();
            }
        }
        panic!("no end of it\n{}", self.text(SMALL));
    }
}

/// What the screen asks to be done wrongly.
#[derive(Debug, Default)]
pub struct OnPurpose {
    pub lasts: Option<Span>,
    pub down: Option<Span>,
    pub adds: u32,
}

impl OnPurpose {
    /// As a person takes it from the sentence.
    pub fn heard(says: &str) -> Self {
        let after = |start: &str, end: &str| {
            let rest = says.split_once(start)?.1;
            Some(rest.split_once(end)?.0.trim().to_owned())
        };
        let span = |text: Option<String>| text.and_then(|text| text.parse::<Span>().ok());
        Self {
            lasts: span(after("let it last ", ". Right")),
            down: span(after(" for ", " once")),
            adds: after("add ", " here").map_or(0, |n| n.parse().unwrap()),
        }
    }
}

/// The right number as somebody types it who knows it.
pub fn right_number(question: &Question) -> String {
    judge(question, &Answer::NotKnown).right_answer
}

pub fn method(id: &str, trial: bool) -> Mode {
    Mode::Method { method: id.to_owned(), trial }
}

/// A history in which everything of a method stands at a level of help.
pub fn known(edition: &Edition, level: Help) -> History {
    use practice::history::{Tried, When};
    let mut history = History::default();
    let day_ms = 86_400_000;
    for (n, help) in Help::ALL.iter().take_while(|help| **help < level).enumerate() {
        let at = When { unix_ms: 1_790_000_000_000 - (40 - n as i64 * 3) * day_ms, offset_min: -300 };
        for item in Deck::of(edition).items() {
            let tried = Tried { at, item: item.key.clone(), help: *help, right: true, slip: None, took_ms: 3_000 };
            history.add(Entry::Tried(tried));
        }
    }
    history
}

pub fn shipped() -> Vec<(&'static str, System)> {
    library::SHIPPED.iter().flat_map(|shipped| shipped.systems().map(|system| (shipped.id, system))).collect()
}
