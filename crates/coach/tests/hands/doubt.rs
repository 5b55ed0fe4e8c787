//! A thousand sessions with a recogniser that gets every fifth word wrong.
//!
//! | who | knows |
//! |-----|-------|
//! | the person | what is shown on the list, what was said, what is right at this moment; confirms only what was meant |
//! | the recogniser | nothing: it puts other phrases, other numbers, other words, halves of lines and chatter in their place |
//! | the witness | only what came in, what was said and what was kept, in its order |
//!
//! Values, reasons and remarks count as values. Acts (done, begun, turned, one more on a tally) are no values: they are
//! taken back, not confirmed.

use coach::screen::hands::choices::Pick;
use coach::screen::hands::phrases;
use coach::screen::{Model, Settings};
use crossterm::event::{KeyCode, KeyModifiers};
use engine::{Act, Entry, Event, Phase, Tick};
use procedure::{ReadingId, ReadingKind, Wants};
use quantity::{Scale, System, Unit};

use super::room::{Chance, Happened, Room, asked, stands_of, with_lines};
use super::witness::{Seen, read_back, sentence, witness};

const SESSIONS: u64 = 1_000;
/// Things that a person sets about in a session, at most.
const THINGS: usize = 10;
/// Lines in a session, at most.
const LINES: usize = 60;

const METHODS: [&str; 4] = ["slump", "temperature", "air-volumetric", "density"];
const NUMBER_WORDS: [&str; 24] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "fifteen",
    "fifty",
    "sixteen",
    "sixty",
    "twenty",
    "thirty",
    "point",
    "and",
    "half",
    "quarter",
    "three quarters",
    "hundred",
    "oh",
];
const CHATTER: [&str; 8] = [
    "where did you park the truck",
    "that is about right",
    "five of them went home",
    "write it up tomorrow",
    "is it wrong",
    "mark it on the wall",
    "two more loads are coming",
    "yes",
];

// ---------------------------------------------------------------------------------------------- the recogniser

struct Recogniser {
    chance: Chance,
    n_words: usize,
    n_wrong: usize,
}

impl Recogniser {
    /// What it makes of the words.
    fn hears(&mut self, words: &str, published: &str) -> String {
        let said: Vec<&str> = words.split_whitespace().collect();
        self.n_words += said.len();
        let phrases: Vec<&str> = published.lines().filter(|line| !line.starts_with('<')).collect();
        let is_number = published.contains("<number>");
        let chance = &mut self.chance;
        match chance.below(100) {
            0..5 => {
                let other = *chance.of(&phrases);
                self.n_wrong += if other == words { 0 } else { said.len() };
                return other.to_owned();
            }
            5..8 if is_number => {
                self.n_wrong += said.len();
                let n = 1 + chance.below(3);
                return (0..n).map(|_| *chance.of(&NUMBER_WORDS)).collect::<Vec<_>>().join(" ");
            }
            8..10 => {
                self.n_wrong += said.len();
                return (*chance.of(&CHATTER)).to_owned();
            }
            10..14 if said.len() > 1 => {
                let kept = 1 + chance.below(said.len() - 1);
                self.n_wrong += said.len() - kept;
                return said[..kept].join(" ");
            }
            _ => {}
        }
        let others: Vec<&str> = phrases.iter().flat_map(|phrase| phrase.split(' ')).chain(NUMBER_WORDS).collect();
        let mut heard = Vec::new();
        for word in said {
            let is_wrong = chance.is_in(12);
            let word = if is_wrong { *chance.of(&others) } else { word };
            self.n_wrong += usize::from(is_wrong);
            heard.push(word);
        }
        heard.join(" ")
    }
}

// ---------------------------------------------------------------------------------------------- the person

/// What a person means to enter.
#[derive(Clone, Debug)]
struct Meant {
    words: String,
    /// As it is to be read back.
    read_back: String,
}

struct Session {
    room: Room<Model>,
    recogniser: Recogniser,
    chance: Chance,
    is_mic: bool,
    n_lines: usize,
    /// What is being read back, as far as the person has heard.
    asks: Option<String>,
    /// What was right when a reading was kept, by the number of its event.
    right: Vec<(u32, Vec<Entry>)>,
    /// As far as that has been heard.
    heard: usize,
    /// As the run stood at the beginning.
    start: engine::Run,
}

impl Session {
    fn new(seed: u64) -> Self {
        let mut chance = Chance(seed);
        let method = *chance.of(&METHODS);
        let system = if chance.is_in(50) { System::InchPound } else { System::Si };
        let stands = stands_of(method, system);
        let stand = chance.of(stands);
        let settings = Settings { is_terse: false, ..with_lines() };
        let recogniser = Recogniser { chance: Chance(seed ^ 0x5eed), n_words: 0, n_wrong: 0 };
        let is_mic = chance.is_in(50);
        let room = Room::at(stand, settings);
        Self {
            room,
            recogniser,
            chance,
            is_mic,
            n_lines: 0,
            asks: None,
            right: Vec::new(),
            heard: 0,
            start: stand.run.clone(),
        }
    }

    /// Says something: the microphone is opened by the foot, the words go through the recogniser.
    fn say(&mut self, words: &str) {
        self.n_lines += 1;
        // Who only hands lines on publishes what a microphone may say; it is near enough.
        let published = self.room.published().map(|published| published.list.clone()).unwrap_or_default();
        let heard = self.recogniser.hears(words, &published);
        let is_right = heard == words;
        let sure = if is_right { 40 + self.chance.below(60) } else { 20 + self.chance.below(80) };
        let mut raw = String::new();
        if self.is_mic {
            self.room.wait(300);
            // Now and then the foot forgets.
            if !self.chance.is_in(3) {
                self.room.line_now(b"talk on", false);
            }
            raw.push_str("src=mic ");
        }
        self.room.wait(900 + self.chance.below(900) as u64);
        if self.chance.is_in(80) {
            raw.push_str(&format!("conf=0.{sure:02} "));
        }
        if self.chance.is_in(50) {
            raw.push_str(&format!("ago={} ", 200 + self.chance.below(1_500)));
        }
        raw.push_str(&heard);
        let is_over_cue = self.chance.is_in(4);
        self.note_right(|session| {
            session.room.line_now(raw.as_bytes(), is_over_cue);
        });
        self.listen();
    }

    fn pedal(&mut self) {
        self.note_right(|session| session.room.key(KeyCode::PageDown));
        self.listen();
    }

    /// Does something and keeps what would have been right for a reading that comes of it.
    fn note_right(&mut self, does: impl FnOnce(&mut Self)) {
        let now = self.room.now;
        let before = self.room.run().taken().len();
        let right = asked(self.room.run(), now).and_then(|reading| {
            let specimen = self.room.specimen.as_ref()?;
            Some(specimen.right_answers(self.room.run(), reading, now))
        });
        does(self);
        if let (Some(right), Some(taken)) = (right, self.room.run().taken().get(before)) {
            let right = right.into_iter().map(|entry| match entry {
                Entry::Words(_) => Entry::Words("Ada".to_owned()),
                entry => entry,
            });
            self.right.push((taken.seq, right.collect()));
        }
    }

    /// What the person has heard since it was listened last.
    fn listen(&mut self) {
        let from = std::mem::replace(&mut self.heard, self.room.log.len());
        for text in self.room.said_since(from) {
            match read_back(&text) {
                Some(value) => self.asks = Some(value.to_owned()),
                None if text.starts_with("Not understood") || text.starts_with("It is not taken") => {}
                None => self.asks = None,
            }
        }
        // Asked again while nobody listened: it still stands on the screen.
        let is_open = self.room.hands.list(self.room.now).iter().any(|choice| choice.pick == Pick::Take);
        if !is_open {
            self.asks = None;
        }
    }

    /// Says something until it has been read back as meant and is taken; gives up after a while.
    fn enter(&mut self, meant: &Meant) {
        self.enter_in(meant, false);
    }

    /// The same where a list is open on purpose: until another is, or none.
    fn enter_in(&mut self, meant: &Meant, is_in_list: bool) {
        let before = self.room.run().n_accepted();
        let list = |session: &Self| -> Vec<String> {
            let list = session.room.hands.list(session.room.now);
            list.into_iter().map(|choice| choice.label).collect()
        };
        let here = list(self);
        let mut is_said = false;
        for _ in 0..12 {
            if self.n_lines >= LINES || is_said && self.asks.is_none() && self.room.run().n_accepted() > before {
                return;
            }
            match self.asks.clone() {
                Some(asks) if asks == meant.read_back => match self.chance.below(10) {
                    0..3 => self.pedal(),
                    3 => {
                        // Now and then somebody is called away.
                        if self.chance.is_in(15) {
                            self.room.now = Tick(self.room.now.0 + 300_000);
                        }
                        self.room.wait(9_000);
                        self.listen();
                    }
                    _ => self.say(phrases::CONFIRM),
                },
                Some(_) => self.say(phrases::DENY),
                None if is_in_list && list(self) != here => return,
                None if !is_in_list && self.leaves_lists() => {}
                None => {
                    self.say(&meant.words);
                    is_said = true;
                }
            }
            if self.room.phase() != Phase::AtStep && !is_in_list {
                return;
            }
        }
    }

    /// Leaves whatever list was opened by mistake; false if none is.
    fn leaves_lists(&mut self) -> bool {
        let is_list = self.room.hands.list(self.room.now).iter().any(|choice| choice.pick == Pick::Back);
        if is_list {
            self.say(phrases::LEAVE_IT);
        }
        is_list
    }

    /// What was not meant is denied and left.
    fn tidy(&mut self) {
        for _ in 0..6 {
            if self.n_lines >= LINES {
                return;
            }
            if self.asks.is_some() {
                self.say(phrases::DENY);
            } else if !self.leaves_lists() {
                return;
            }
        }
    }

    fn meant(&self, reading: ReadingId) -> Option<Meant> {
        let run = self.room.run();
        let right = self.room.specimen.as_ref()?.right_answers(run, reading, self.room.now);
        let (words, back) = match (&run.edition().reading(reading).kind, right.first()?) {
            (ReadingKind::Number(scale), Entry::Number(value)) => spoken(*value, scale),
            (ReadingKind::Choice(answers), Entry::Choice(n)) => {
                let label = &answers[*n as usize].label;
                let phrase = self.room.hands.list(self.room.now).into_iter().find_map(|choice| {
                    (choice.pick == Pick::Answer(*n as usize)).then(|| choice.phrases.first().cloned()).flatten()
                })?;
                (phrase, sentence(label))
            }
            (ReadingKind::Words, _) => (format!("{} Ada", phrases::WRITE), "Ada".to_owned()),
            _ => return None,
        };
        Some(Meant { words, read_back: back })
    }

    /// The next right thing.
    fn right_thing(&mut self) {
        let now = self.room.now;
        match self.room.run().offer(now).act {
            Act::Wait { until } => {
                // Nobody looks at every second of a long wait.
                self.room.now = Tick(until.0.saturating_sub(500)).max(now);
                self.room.wait(600);
            }
            Act::Answer(reading) => {
                let taken = self.room.run().taken().len();
                let Some(meant) = self.meant(reading) else { return };
                self.enter(&meant);
                let last = self.room.run().taken().get(taken).cloned();
                let is_wrong = last.is_some_and(|taken| self.is_wrong(taken.seq, &taken.entry));
                if is_wrong && self.chance.is_in(70) {
                    self.say(phrases::UNDO);
                }
            }
            Act::Nothing => {}
            act => {
                let (is_turn, is_close) = (matches!(act, Act::Turn { .. }), act == Act::Close);
                if is_turn {
                    self.room.wait(3_000);
                }
                let begun = self.room.run().offer(now).standing.begun;
                let wants = self.room.run().offer(now).step.map(|(_, step)| step.wants.clone());
                if let (Some(Wants::Timed { at_least, at_most, .. }), Some(begun)) = (wants, begun) {
                    let middle = u64::midpoint(at_least.0, at_most.0).saturating_sub(1_500);
                    self.room.wait((begun.0 + middle).saturating_sub(now.0));
                }
                let next = self.room.hands.list(self.room.now).into_iter().find(|choice| choice.pick == Pick::Next);
                let Some(phrase) = next.and_then(|choice| choice.phrases.first().cloned()) else { return };
                self.say(&phrase);
                if is_close && self.chance.is_in(50) {
                    self.ends();
                }
            }
        }
    }

    fn is_wrong(&self, seq: u32, entry: &Entry) -> bool {
        self.right.iter().any(|(of, right)| *of == seq && !right.contains(entry))
    }

    /// Through both questions, as long as they are there.
    fn ends(&mut self) {
        for (pick, phrase) in [(Pick::End, phrases::END), (Pick::EndForSure, phrases::END_FOR_SURE)] {
            for _ in 0..3 {
                let list = self.room.hands.list(self.room.now);
                if list.iter().any(|choice| choice.pick == pick) && self.n_lines < LINES {
                    self.say(phrase);
                }
            }
        }
    }

    /// Something else than the next right thing.
    fn other_thing(&mut self) {
        match self.chance.below(10) {
            0 => self.say(phrases::AGAIN),
            1 => self.say(phrases::TIME),
            2 | 3 => {
                self.say(phrases::UNDO);
                if self.chance.is_in(50) {
                    self.say(phrases::REDO);
                }
            }
            4 | 5 => {
                let text = *self.chance.of(&["cold wind from the north", "the third truck", "sample from the chute"]);
                self.enter(&Meant { words: format!("{} {text}", phrases::REMARK), read_back: sentence(text) });
            }
            6 | 7 => self.corrects(),
            8 => {
                let n = self.chance.below(3);
                self.say(phrases::WRONG);
                self.say(&phrases::numbered("reason", n));
                if self.chance.is_in(40) {
                    self.ends();
                }
            }
            _ => {
                self.say(phrases::ANYWAY);
                let list = self.room.hands.list(self.room.now);
                if list.iter().any(|choice| choice.pick == Pick::Reason(0)) {
                    self.reason(0);
                }
            }
        }
    }

    fn reason(&mut self, n: usize) {
        let reason = coach::screen::hands::choices::REASONS[n];
        self.enter_in(&Meant { words: phrases::numbered("reason", n), read_back: sentence(reason) }, true);
    }

    /// An earlier reading is corrected to what it was, or to the mark above.
    fn corrects(&mut self) {
        for _ in 0..3 {
            if !self.is_choosing() {
                self.say(phrases::CORRECT);
            }
        }
        if !self.is_choosing() {
            return;
        }
        let run = self.room.run();
        let readings: Vec<_> = run.taken().iter().rev().filter(|taken| taken.entry != Entry::One).take(3).collect();
        let mut numbers: Vec<usize> = (0..readings.len()).collect();
        numbers.retain(|n| matches!(readings[*n].entry, Entry::Number(_)));
        let Some(n) = numbers.first().copied() else { return };
        let (reading, entry) = (readings[n].reading, readings[n].entry.clone());
        let (ReadingKind::Number(scale), Entry::Number(value)) = (run.edition().reading(reading).kind.clone(), entry)
        else {
            return;
        };
        for _ in 0..3 {
            if self.is_choosing() {
                self.say(&phrases::numbered("reading", n));
            }
        }
        if self.is_choosing() {
            return;
        }
        // The mark beside it.
        let other = if value + scale.step <= scale.max { value + scale.step } else { value - scale.step };
        let (words, back) = spoken(other, &scale);
        self.enter_in(&Meant { words, read_back: back }, true);
        let list = self.room.hands.list(self.room.now);
        if list.iter().any(|choice| choice.pick == Pick::Reason(2)) {
            self.reason(2);
        }
    }

    /// Whether a reading is to be chosen.
    fn is_choosing(&self) -> bool {
        self.room.hands.list(self.room.now).iter().any(|choice| matches!(choice.pick, Pick::Correct(_)))
    }

    fn go(&mut self) {
        for _ in 0..THINGS {
            if self.n_lines >= LINES || matches!(self.room.phase(), Phase::Closed { .. }) {
                return;
            }
            self.tidy();
            if self.chance.is_in(15) {
                self.other_thing();
            } else {
                self.right_thing();
            }
        }
    }

    /// Readings of this session that stand on the record, and how many of them are not what was right. A session
    /// with a correction is left out: what stands there was meant otherwise.
    fn readings(&self) -> (usize, usize) {
        let mut n = 0;
        let mut n_wrong = 0;
        let is_corrected =
            self.room.log.iter().any(|happened| matches!(happened, Happened::Kept(Event::Correct { .. }, _)));
        for taken in self.room.run().taken().iter().filter(|_| !is_corrected) {
            if let Some((_, right)) = self.right.iter().rev().find(|(seq, _)| *seq == taken.seq) {
                n += 1;
                n_wrong += usize::from(!right.contains(&taken.entry));
            }
        }
        (n, n_wrong)
    }
}

/// How a person says a mark, and how it is read back.
fn spoken(value: quantity::Decimal, scale: &Scale) -> (String, String) {
    let mut value = value;
    value.rescale(scale.places());
    let text = value.to_string();
    let words = voice::say::reading(&text, Unit::NONE);
    let words = words.split(',').next().unwrap().replace('-', " ");
    (words, sentence(&voice::say::reading(&text, scale.unit)))
}

#[test]
fn in_a_thousand_sessions_with_every_fifth_word_wrong_nothing_is_kept_that_was_not_read_back_and_confirmed() {
    let first = Chance::first_seed(20_260_514);
    let is_one = std::env::var_os("POURSIDE_SEED").is_some();
    let mut all = Seen::default();
    let (mut n_words, mut n_wrong_words) = (0, 0);
    let (mut n_readings, mut n_wrong, mut n_judged, mut n_as_meant, mut n_lines) = (0, 0, 0, 0, 0);
    for seed in first..first + if is_one { 1 } else { SESSIONS } {
        let mut session = Session::new(seed);
        session.go();
        let seen = witness(&session.room.log, &session.start).unwrap_or_else(|(at, why)| {
            let log: Vec<String> = session.room.log[at.saturating_sub(25)..=at]
                .iter()
                .filter(|happened| !matches!(happened, Happened::Published(_)))
                .map(|happened| format!("{happened:?}"))
                .collect();
            panic!("POURSIDE_SEED={seed}: {why}\n{}", log.join("\n"));
        });
        let (readings, wrong) = session.readings();
        n_readings += readings;
        n_wrong += wrong;
        n_judged += u64::from(readings > 0);
        n_as_meant += u64::from(readings > 0 && wrong == 0);
        n_lines += session.n_lines;
        n_words += session.recogniser.n_words;
        n_wrong_words += session.recogniser.n_wrong;
        all.n_values += seen.n_values;
        all.n_corrections += seen.n_corrections;
        all.n_remarks += seen.n_remarks;
        all.n_ends += seen.n_ends;
        all.n_marks += seen.n_marks;
        all.n_undone += seen.n_undone;
        all.unremarked.extend(seen.unremarked.into_iter().map(|what| format!("POURSIDE_SEED={seed}: {what}")));
    }
    println!("{n_lines} lines, {n_wrong_words} of {n_words} words wrong");
    println!(
        "{} values, {} corrections, {} remarks, {} ends, {} marks, {} taken back",
        all.n_values, all.n_corrections, all.n_remarks, all.n_ends, all.n_marks, all.n_undone
    );
    println!("{n_readings} readings stand, {n_wrong} of them not as meant");
    println!("{n_as_meant} of {n_judged} sessions with readings have all of them as meant");
    assert!(all.unremarked.is_empty(), "{} marks: {}", all.unremarked.len(), all.unremarked[0]);
    if !is_one {
        // A test that exercises nothing proves nothing.
        assert!(n_wrong_words * 100 >= n_words * 18, "too few words were wrong");
        assert!(all.n_values > 1_000 && all.n_corrections > 5 && all.n_remarks > 20 && all.n_ends > 5, "{all:?}");
        assert!(all.n_marks > 100 && all.n_undone > 50, "{all:?}");
    }
}

/// Sessions that are forged for the witness.
const FORGED: u64 = 60;

#[test]
fn the_witness_sees_a_forged_session() {
    let is_said = |happened: &Happened| matches!(happened, Happened::Said(text) if read_back(text).is_some());
    let is_confirm = |happened: &Happened| match happened {
        Happened::Came(utterance, ..) => utterance.words == phrases::CONFIRM,
        Happened::Pressed => true,
        _ => false,
    };
    let is_value = |happened: &Happened| matches!(happened, Happened::Kept(Event::Answer { .. }, _));
    let mut n_forged = 0;
    for seed in 1..=FORGED {
        let mut session = Session::new(seed);
        session.go();
        let (log, start) = (session.room.log, session.start);
        assert!(witness(&log, &start).is_ok());
        let Some(value) = log.iter().position(is_value) else { continue };
        let confirm = log[..value].iter().rposition(is_confirm).unwrap();
        // Without its confirmation; without any read-back; read back only after it was confirmed; another number.
        let mut without = log.clone();
        without.remove(confirm);
        let mut unsaid: Vec<Happened> = log[..value].to_vec();
        unsaid.retain(|happened| !is_said(happened));
        unsaid.push(log[value].clone());
        let mut late = log.clone();
        let said = log[..confirm].iter().rposition(is_said).unwrap();
        let again: Vec<usize> = (0..confirm).filter(|n| is_said(&log[*n])).collect();
        let moved = late.remove(said);
        late.insert(confirm, moved);
        for n in again.into_iter().rev().filter(|n| *n < said) {
            late.remove(n);
        }
        let mut other = log.clone();
        if let Happened::Kept(Event::Answer { entry, .. }, _) = &mut other[value] {
            *entry = match entry {
                Entry::Number(value) => Entry::Number(*value + quantity::Decimal::ONE),
                Entry::Choice(n) => Entry::Choice(if *n == 0 { 1 } else { 0 }),
                Entry::Words(_) | Entry::One => Entry::Words("Bea".to_owned()),
            };
        }
        for (what, forged) in [("unconfirmed", without), ("unsaid", unsaid), ("late", late), ("other", other)] {
            assert!(witness(&forged, &start).is_err(), "seed {seed}: {what}");
        }
        n_forged += 1;
    }
    assert!(n_forged > FORGED / 3, "only {n_forged}");
}

/// A key of the keyboard that does not leave.
fn typed(chance: &mut Chance) -> (KeyCode, KeyModifiers) {
    const CTRL: [char; 6] = ['r', 'e', 'x', 'o', 'u', 'y'];
    const PLAIN: [KeyCode; 6] =
        [KeyCode::Esc, KeyCode::Enter, KeyCode::Up, KeyCode::Down, KeyCode::Backspace, KeyCode::Tab];
    match chance.below(4) {
        0 => (KeyCode::Char(*chance.of(&CTRL)), KeyModifiers::CONTROL),
        1 => (*chance.of(&PLAIN), KeyModifiers::NONE),
        2 => (KeyCode::Char(char::from(b'0' + u8::try_from(chance.below(10)).unwrap())), KeyModifiers::NONE),
        _ => (KeyCode::Char(*chance.of(&['a', 'b', 'n', 'y', 's', '.', '+', '-', 'x', 'r', 'e'])), KeyModifiers::NONE),
    }
}

/// Sessions with somebody who says whatever can be said, and lines in each; in every second one somebody types, too.
const WILD: u64 = 500;
const WILD_LINES: usize = 50;

#[test]
fn whoever_says_whatever_can_be_said_keeps_nothing_that_was_not_read_back_and_confirmed() {
    const OWN: [&str; 7] = [
        "enter Ada",
        "remark x u y e r o f s ? 7 z",
        "because u y x e q r s 4 1/2",
        "remark 3",
        "because it rains",
        "enter q u x y 9",
        "because 2",
    ];
    let first = Chance::first_seed(9_000_000);
    let is_one = std::env::var_os("POURSIDE_SEED").is_some();
    let mut all = [0; 6];
    for seed in first..first + if is_one { 1 } else { WILD } {
        let mut session = Session::new(seed);
        let mut chance = Chance(seed ^ 0x11d);
        for _ in 0..WILD_LINES {
            let room = &mut session.room;
            let published = room.published().map(|published| published.list.clone()).unwrap_or_default();
            let phrases: Vec<&str> = published.lines().filter(|line| !line.starts_with('<')).collect();
            let words = match chance.below(20) {
                0..3 if phrases.contains(&phrases::CONFIRM) => phrases::CONFIRM.to_owned(),
                3 => (*chance.of(&[phrases::END, phrases::END_FOR_SURE])).to_owned(),
                4 | 5 => (*chance.of(&OWN)).to_owned(),
                6 => (*chance.of(&[phrases::ANYWAY, phrases::CORRECT, phrases::WRONG])).to_owned(),
                7 => {
                    let n = chance.below(4);
                    phrases::numbered(["reason", "reading", "answer"][chance.below(3)], n)
                }
                8..11 => chance.of(&NUMBER_WORDS).to_string(),
                _ => chance.of(&phrases).to_string(),
            };
            let pause = match chance.below(20) {
                0 => 300_000,
                1 => 30_000,
                _ => 300 + chance.below(3_000) as u64,
            };
            if pause > 20_000 {
                room.now = Tick(room.now.0 + pause);
            }
            room.wait(pause.min(3_000));
            if seed % 2 == 1 && chance.is_in(15) {
                for _ in 0..=chance.below(4) {
                    let (code, with) = typed(&mut chance);
                    room.typed(code, with);
                }
            }
            room.line_now(words.as_bytes(), false);
        }
        let seen = witness(&session.room.log, &session.start).unwrap_or_else(|(at, why)| {
            let log: Vec<String> = session.room.log[at.saturating_sub(30)..=at]
                .iter()
                .filter(|happened| !matches!(happened, Happened::Published(_)))
                .map(|happened| format!("{happened:?}"))
                .collect();
            panic!("POURSIDE_SEED={seed}: {why}\n{}", log.join("\n"));
        });
        assert!(seen.unremarked.is_empty(), "POURSIDE_SEED={seed}: {:?}", seen.unremarked);
        let these = [seen.n_values, seen.n_corrections, seen.n_remarks, seen.n_ends, seen.n_marks, seen.n_undone];
        for (all, this) in all.iter_mut().zip(these) {
            *all += this;
        }
    }
    let [values, corrections, remarks, ends, marks, undone] = all;
    println!(
        "{values} values, {corrections} corrections, {remarks} remarks, {ends} ends, {marks} marks, {undone} taken back"
    );
    assert!(is_one || all.iter().all(|n| *n > 10), "{all:?}");
}
