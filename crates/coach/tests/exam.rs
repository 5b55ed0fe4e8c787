//! The marking screen, driven as a rater drives it: keys in, pictures, bells and events out.
//!
//! Holds what a key does to whose sheet, what is heard, what is lost (nothing), and pictures at both sizes. Knows no
//! terminal and no real time: every moment is simulated. Candidates, raters and the exam are invented.

#![expect(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use coach::rim::library;
use coach::screen::exam::{
    EXAM_BINDINGS, ExamAnswer, ExamCommand, ExamDeed, ExamModel, ExamOptions, Sound, exam_command,
};
use coach::screen::{Sensed, Shown};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Moment, Tick, Wall};
use exam::{Event, How, Mark, State, TrialId, Verdict, config, roster};
use procedure::Procedure;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

const EXAM: &str = r#"
[exam]
title = "Harrow Bend class"
system = "inch-pound"
stations = 3

[[method]]
id = "slump"
time_limit = "10 min"
told = ["apparatus"]

[[method]]
id = "air-volumetric"
"#;

const ROSTER: &str = "number,name,station,note\n\
    01,Ines Marlowe,1,\n02,Tom Abara,2,\n03,Greta Lindqvarn,3,\n04,Oskar Pell,1,left-handed\n\
    07,Zoë Ångström-Vandermeulen,2,\n";

fn procedures() -> Vec<Procedure> {
    let of = |id: &str| {
        let shipped = library::SHIPPED.iter().find(|shipped| shipped.id == id).unwrap();
        procedure::check(shipped.file, shipped.text).procedure.unwrap()
    };
    vec![of("slump"), of("air-volumetric")]
}

fn state() -> State {
    let procedures = procedures();
    let of = |id: &str| procedures.iter().find(|procedure| procedure.id == id);
    let checked = config::check_with("exam.toml", EXAM, of);
    let exam = checked.exam.unwrap_or_else(|| panic!("{:#?}", checked.diagnostics));
    let sheets = exam::sheets(&exam, of).unwrap();
    State::open(exam, roster::read(ROSTER).unwrap(), sheets)
}

fn moment(now: Tick) -> Moment {
    Moment { tick: now, wall: Wall { unix_ms: 1_790_000_000_000 + now.0 as i64, offset_min: -300 } }
}

/// A rater's desk: the screen, a simulated time, a store that answers at once.
struct Desk {
    screen: ExamModel,
    now: Tick,
    disk_works: bool,
    /// What the store was given, in order.
    kept: Vec<(Event, Moment)>,
    in_memory: u64,
    /// When bells sounded.
    bells: Vec<u64>,
    has_left: bool,
}

impl Desk {
    fn new() -> Self {
        Self::with(ExamOptions { rater: Some("R. Example".into()), place: "/data".into(), ..ExamOptions::default() })
    }

    fn with(options: ExamOptions) -> Self {
        let screen = ExamModel::new(state(), options);
        Self {
            screen,
            now: Tick(0),
            disk_works: true,
            kept: Vec::new(),
            in_memory: 0,
            bells: Vec::new(),
            has_left: false,
        }
    }

    fn do_all(&mut self, deeds: Vec<ExamDeed>) {
        for deed in deeds {
            let answer = match deed {
                ExamDeed::Bell => {
                    self.bells.push(self.now.0);
                    continue;
                }
                ExamDeed::Leave => {
                    self.has_left = true;
                    continue;
                }
                ExamDeed::Suspend => continue,
                ExamDeed::Keep { event, at } => {
                    self.kept.push((event, at));
                    if self.disk_works {
                        self.in_memory = 0;
                        ExamAnswer::Kept { n: self.kept.len() as u64 }
                    } else {
                        self.in_memory += 1;
                        let (what, hint) = ("the disk is full".to_owned(), "Make room.".to_owned());
                        ExamAnswer::Failed { what, hint, in_memory: self.in_memory }
                    }
                }
                ExamDeed::MoveStore { folder } => {
                    self.disk_works = true;
                    self.in_memory = 0;
                    let moved = self.screen.hear(ExamAnswer::Moved { folder }, moment(self.now));
                    self.do_all(moved);
                    ExamAnswer::Kept { n: self.kept.len() as u64 }
                }
            };
            let more = self.screen.hear(answer, moment(self.now));
            self.do_all(more);
        }
    }

    fn press(&mut self, code: KeyCode) -> &mut Self {
        let deeds = self.screen.sense(Sensed::Key(KeyEvent::new(code, KeyModifiers::NONE)), moment(self.now));
        self.do_all(deeds);
        self
    }

    fn keys(&mut self, text: &str) -> &mut Self {
        for sign in text.chars() {
            self.press(KeyCode::Char(sign));
        }
        self
    }

    fn enter(&mut self) -> &mut Self {
        self.press(KeyCode::Enter)
    }

    fn go(&mut self, station: u8) -> &mut Self {
        self.press(KeyCode::F(station))
    }

    /// Begins a trial of a candidate at the station in focus; the method by its place.
    fn begin(&mut self, number: &str, method: char) -> &mut Self {
        self.keys("b").keys(number).enter().press(KeyCode::Char(method)).enter()
    }

    fn wait(&mut self, ms: u64) -> &mut Self {
        let until = Tick(self.now.0 + ms);
        while let Some(next) = self.screen.next_change(self.now).filter(|next| *next <= until) {
            assert!(next > self.now, "the next change lies ahead");
            self.now = next;
            let deeds = self.screen.sense(Sensed::Wake, moment(self.now));
            self.do_all(deeds);
        }
        self.now = until;
        self
    }

    /// The bells since they were listened to last, from the first of them.
    fn heard(&mut self) -> Vec<u64> {
        self.wait(2_000);
        let bells = std::mem::take(&mut self.bells);
        bells.iter().map(|at| at - bells[0]).collect()
    }

    fn focus(&self) -> String {
        self.screen.focus().map(ToString::to_string).unwrap_or_default()
    }

    /// The marks of a trial so far, in order of the sheet.
    fn marks(&self, trial: &str) -> Vec<Option<Mark>> {
        let view = self.screen.state().trial(&TrialId(trial.to_owned())).unwrap();
        view.items().map(|item| item.mark).collect()
    }

    fn n_marked(&self, trial: &str) -> usize {
        self.marks(trial).iter().flatten().count()
    }

    fn picture(&self, columns: u16, rows: u16) -> String {
        let area = Rect::new(0, 0, columns, rows);
        let mut buffer = Buffer::empty(area);
        self.screen.draw(self.now, &mut buffer, area);
        let row = |y: u16| -> String { (0..columns).map(|x| buffer[(x, y)].symbol()).collect() };
        (0..rows).map(|y| row(y).trim_end().to_owned() + "\n").collect()
    }

    fn shows(&self, words: &str) -> bool {
        self.picture(120, 40).contains(words)
    }

    /// Moves to the act with this key, by the arrow.
    fn to(&mut self, item: &str) -> &mut Self {
        let trial = self.screen.focus().unwrap().clone();
        let view = self.screen.state().trial(&trial).unwrap();
        let at = view.sheet.item(item).unwrap_or_else(|| panic!("no act {item}"));
        let n = view.sheet.items.len();
        for _ in 0..n {
            self.press(KeyCode::Up);
        }
        for _ in 0..at {
            self.press(KeyCode::Down);
        }
        self
    }
}

// ---------------------------------------------------------------------------------------------- whose sheet

#[test]
fn a_trial_begins_with_a_candidate_and_a_method_and_nothing_begins_before_both_are_chosen() {
    let mut desk = Desk::new();
    desk.keys("b").keys("grét");
    assert!(desk.shows("Nobody on the roster fits."));
    for _ in 0..4 {
        desk.press(KeyCode::Backspace);
    }
    desk.keys("lindq").enter();
    assert!(desk.kept.is_empty(), "a method is still to be chosen");
    assert!(desk.shows("03 Greta Lindqvarn"));
    desk.enter();
    let expected = Event::Began {
        trial: TrialId("03/slump/1".into()),
        candidate: "03".into(),
        method: "slump".into(),
        station: 1,
        rater: "R. Example".into(),
        scores: None,
    };
    assert_eq!(desk.kept[0].0, expected);
    assert_eq!(desk.focus(), "03/slump/1");
}

#[test]
fn those_planned_for_a_station_are_offered_first_and_those_who_are_busy_last() {
    let mut desk = Desk::new();
    desk.begin("01", '1').go(2).keys("b");
    let picture = desk.picture(80, 24);
    let at = |name: &str| picture.lines().skip(4).position(|line| line.contains(name)).unwrap();
    assert!(at("Tom Abara") < at("Greta"), "{picture}");
    assert!(at("Oskar") < at("Ines"), "{picture}");
    assert!(picture.contains("at station 1 now"), "{picture}");
    desk.press(KeyCode::Esc);
    assert_eq!(desk.kept.len(), 1, "Escape: nobody begins");
    desk.begin("1", '1');
    assert_eq!(desk.kept.len(), 1, "1 is 01, who stands at station 1");
    assert!(desk.shows("End that trial first"));
}

#[test]
fn marks_go_to_the_sheet_in_focus_and_only_a_key_changes_the_focus() {
    let mut desk = Desk::new();
    desk.begin("01", '1').go(2).begin("02", '1').go(3).begin("03", '1');
    desk.go(1)
        .keys("dm")
        .go(3)
        .keys("t")
        .go(2)
        .keys("dd")
        .press(KeyCode::Tab)
        .keys("n")
        .press(KeyCode::BackTab)
        .keys("m");
    desk.wait(700_000);
    assert_eq!(desk.focus(), "02/slump/1", "time has passed, every limit with it, and nothing has moved");
    let of = |trial: &str| -> Vec<Mark> {
        let marks = desk.kept.iter().filter_map(|(event, _)| match event {
            Event::Marked { trial: of, mark, .. } if of.0 == trial => Some(*mark),
            _ => None,
        });
        marks.collect()
    };
    assert_eq!(of("01/slump/1"), [Mark::Done, Mark::Missed]);
    assert_eq!(of("02/slump/1"), [Mark::Done, Mark::Done, Mark::Missed]);
    assert_eq!(of("03/slump/1"), [Mark::NotSeen], "telling the first act is not allowed, and was not kept");
}

#[test]
fn every_picture_of_a_sheet_says_whose_it_is() {
    let mut desk = Desk::new();
    desk.begin("01", '1').go(2).begin("02", '2').keys("ddm");
    for (key, name) in [(1, "01 Ines Marlowe"), (2, "02 Tom Abara")] {
        desk.go(key);
        for overlay in ["", "e", "o", "/", "s", "g"] {
            desk.keys(overlay);
            for (columns, rows) in [(80, 24), (120, 40), (60, 16), (40, 10)] {
                let picture = desk.picture(columns, rows);
                // Number and first name have room everywhere.
                let says = if columns < 60 { &name[..6] } else { name };
                assert!(picture.contains(says), "{overlay:?} {columns}×{rows}:\n{picture}");
            }
            desk.press(KeyCode::Esc);
        }
    }
    // In big letters too.
    assert!(desk.picture(80, 24).contains("█▀█ ▀▀█     ▀█▀ █▀█ █▄█"), "{}", desk.picture(80, 24));
}

// ---------------------------------------------------------------------------------------------- marks

#[test]
fn one_key_is_one_mark_and_the_next_act_is_in_focus() {
    for (letters, digits) in [("dmtn", "1234")] {
        for keys in [letters, digits] {
            let mut desk = Desk::new();
            desk.begin("01", '1').to("apparatus").press(KeyCode::Up).press(KeyCode::Up);
            // Done, missed, told where it is allowed, not seen: four acts, one after the other.
            desk.keys(keys);
            let marks: Vec<Mark> = desk.marks("01/slump/1").into_iter().flatten().collect();
            assert_eq!(marks, [Mark::Done, Mark::Missed, Mark::Told, Mark::NotSeen], "{keys}");
            assert_eq!(desk.kept.len(), 5);
        }
    }
}

#[test]
fn at_the_end_of_the_sheet_no_key_falls_on_another_act() {
    let mut desk = Desk::new();
    desk.begin("01", '1');
    let n = desk.marks("01/slump/1").len();
    for _ in 0..n {
        desk.press(KeyCode::Down);
    }
    desk.keys("dddd");
    assert_eq!(desk.n_marked("01/slump/1"), 1, "the last act, and no other");
}

#[test]
fn each_mark_is_heard_once_it_is_on_the_disk() {
    let mut desk = Desk::new();
    desk.begin("01", '1').heard();
    desk.keys("d");
    assert_eq!(desk.heard(), [0], "done: one");
    desk.keys("m");
    assert_eq!(desk.heard(), [0, 180], "missed: two");
    desk.keys("t");
    assert_eq!(desk.heard().len(), 3, "told: three");
    desk.keys("n");
    assert_eq!(desk.heard(), [0, 600], "not seen: two, far apart");
    desk.keys("t");
    assert_eq!(desk.heard().len(), Sound::Refused.bells(), "refused: a rattle");
    desk.keys("z");
    assert_eq!(desk.heard().len(), Sound::Refused.bells(), "a key that is none");
    desk.disk_works = false;
    desk.keys("d");
    assert_eq!(desk.heard().len(), Sound::Refused.bells(), "not on the disk: never the sound of a mark");
    desk.disk_works = true;
    let silent = ExamOptions { rater: Some("R".into()), quiet: true, ..ExamOptions::default() };
    let mut desk = Desk::with(silent);
    desk.begin("01", '1').keys("dmtz");
    assert!(desk.heard().is_empty());
}

#[test]
fn the_clock_judges_and_its_verdict_is_heard() {
    for (held_ms, mark, bells) in [(1_200, Mark::Missed, 2), (5_000, Mark::Done, 1), (9_000, Mark::Missed, 2)] {
        let mut desk = Desk::new();
        desk.begin("01", '1').to("lift").keys(" ").wait(held_ms).bells.clear();
        desk.keys(" ");
        assert_eq!(desk.heard().len(), bells, "lifted in {held_ms} ms");
        let view = desk.screen.state().trial(&TrialId("01/slump/1".into())).unwrap();
        let item = view.item(view.sheet.item("lift").unwrap());
        assert_eq!((item.mark, item.given), (Some(mark), None), "{:?}", item.because);
        if mark == Mark::Missed {
            desk.to("lift").keys("d");
            assert!(desk.shows("Overrule it with a reason"), "{}", desk.picture(120, 40));
            desk.keys("od").keys("my thumb was late").enter();
            assert!(desk.marks("01/slump/1").contains(&Some(Mark::Done)));
            let last = &desk.kept.last().unwrap().0;
            assert!(matches!(last, Event::Overruled { item, mark: Mark::Done, reason, .. }
                if item == "lift" && reason == "my thumb was late"));
        }
    }
}

#[test]
fn a_clock_runs_on_while_other_acts_and_other_people_are_marked() {
    let mut desk = Desk::new();
    desk.begin("01", '1').to("lift").keys(" ");
    desk.go(2).begin("02", '1').keys("dd").wait(4_000);
    assert!(desk.shows("◷ 0:04"), "the card of station 1 shows it:\n{}", desk.picture(120, 40));
    desk.go(1).press(KeyCode::Up).keys(" ");
    let view = desk.screen.state().trial(&TrialId("01/slump/1".into())).unwrap();
    let item = view.item(view.sheet.item("lift").unwrap());
    assert_eq!(
        item.mark,
        Some(Mark::Done),
        "the act in focus has no clock, and one runs: it is that one that is meant"
    );
}

#[test]
fn a_count_goes_up_by_one_key_and_a_short_one_is_not_called_done() {
    let mut desk = Desk::new();
    desk.begin("01", '1').to("strokes-1");
    desk.keys("   ").keys("d");
    assert!(desk.shows("3 counted, 25 strokes asked"), "{}", desk.picture(120, 40));
    desk.heard();
    for _ in 0..21 {
        desk.keys("+");
    }
    assert!(desk.heard().is_empty(), "single strokes are silent");
    desk.keys("5");
    assert_eq!(desk.heard(), [0], "the last one asked is heard");
    desk.keys("d");
    assert_eq!(desk.n_marked("01/slump/1"), 1);
    assert!(desk.marks("01/slump/1").contains(&Some(Mark::Done)));
}

#[test]
fn undo_takes_back_the_last_act_of_the_trial_in_focus_and_of_no_other() {
    let mut desk = Desk::new();
    desk.begin("01", '1').keys("dm").go(2).begin("02", '1').keys("ddd").go(1).keys("u");
    assert_eq!(desk.kept.last().unwrap().0, Event::Undone { trial: TrialId("01/slump/1".into()) });
    assert_eq!((desk.n_marked("01/slump/1"), desk.n_marked("02/slump/1")), (1, 3));
    assert!(desk.shows("01 Ines Marlowe: taken back: missed"));
    desk.keys("d");
    let marks: Vec<Mark> = desk.marks("01/slump/1").into_iter().flatten().collect();
    assert_eq!(marks, [Mark::Done, Mark::Done], "the hand marks the same act again");
    desk.keys("uuu");
    assert_eq!(desk.focus(), "", "even the beginning is taken back");
    desk.begin("04", '1');
    assert_eq!(desk.n_marked("04/slump/1"), 0, "and nothing of it comes to the next one");
}

// ---------------------------------------------------------------------------------------------- the end

/// Marks everything on the sheet in focus as done, whatever its clock or count would say.
fn all_done(desk: &mut Desk) {
    let n = desk.screen.state().trial(&desk.screen.focus().unwrap().clone()).unwrap().sheet.items.len();
    for _ in 0..n {
        desk.keys("d");
    }
}

#[test]
fn the_result_comes_at_once_and_the_second_trial_is_offered() {
    let mut desk = Desk::new();
    desk.begin("01", '1').keys("m");
    all_done(&mut desk);
    desk.keys("e");
    assert!(desk.shows("Every act has a mark."));
    desk.enter();
    assert!(desk.shows("NOT PASSED") && desk.shows("Trial 2 is due: b begins it."), "{}", desk.picture(120, 40));
    let marks = desk.kept.len();
    desk.keys("d");
    assert_eq!(desk.kept.len(), marks, "an ended sheet takes no mark");
    desk.begin("01", '1');
    assert_eq!(desk.focus(), "01/slump/2");
    assert_eq!(desk.n_marked("01/slump/2"), 0, "a new sheet");
    all_done(&mut desk);
    desk.keys("e").enter();
    assert!(desk.shows("PASSED"));
    let view = desk.screen.state().trial(&TrialId("01/slump/2".into())).unwrap();
    assert_eq!(view.outcome().verdict, Verdict::Passed);
    desk.begin("01", '1');
    assert!(desk.shows("has passed"), "who has passed has no further trial: {}", desk.picture(120, 40));
}

#[test]
fn ending_says_what_has_no_mark_and_escape_goes_on() {
    let mut desk = Desk::new();
    desk.begin("01", '1').keys("dde");
    assert!(desk.shows("acts have no mark yet"));
    desk.press(KeyCode::Esc);
    assert!(!desk.kept.iter().any(|(event, _)| matches!(event, Event::Ended { .. })));
    desk.keys("es").enter();
    assert!(desk.shows("Say why"), "a trial is not stopped without a reason");
    desk.keys("too dark").enter();
    let stopped = How::Stopped { reason: "too dark".into() };
    assert_eq!(desk.kept.last().unwrap().0, Event::Ended { trial: TrialId("01/slump/1".into()), how: stopped });
    desk.keys("u").keys("ev").keys("meter broke").enter();
    assert!(desk.shows("VOID"));
    desk.begin("01", '1');
    assert!(desk.focus().starts_with("01/slump/1"), "a void trial counts as none: {}", desk.focus());
}

#[test]
fn a_station_in_use_takes_nobody_else() {
    let mut desk = Desk::new();
    desk.begin("01", '1').keys("b");
    assert!(desk.shows("01 Ines Marlowe is at this station"));
    assert_eq!(desk.kept.len(), 1);
    desk.keys("g").press(KeyCode::F(3));
    assert_eq!(desk.kept.last().unwrap().0, Event::Moved { trial: TrialId("01/slump/1".into()), station: 3 });
    assert_eq!(desk.focus(), "01/slump/1", "the focus went along with the key of that station");
    desk.go(1).begin("04", '1').keys("d").go(3).keys("m");
    assert_eq!((desk.n_marked("04/slump/1"), desk.n_marked("01/slump/1")), (1, 1));
}

#[test]
fn a_second_rater_has_an_empty_sheet_of_the_same_performance() {
    let mut desk = Desk::new();
    desk.begin("01", '1').keys("ddm").keys("s").keys("L. Other").enter();
    let second = desk.focus();
    assert_ne!(second, "01/slump/1");
    assert_eq!(desk.n_marked(&second), 0, "without the first rater's marks");
    assert!(desk.shows("SECOND SHEET") && desk.shows("rater L. Other"));
    desk.keys("dm").go(1);
    assert_eq!(desk.focus(), "01/slump/1", "the key of the station goes to its other sheet");
    desk.keys("d").go(1);
    assert_eq!(desk.focus(), second);
    assert_eq!((desk.n_marked("01/slump/1"), desk.n_marked(&second)), (4, 2));
    desk.keys("s").keys("R. Example").enter();
    assert!(desk.shows("needs another rater") || desk.shows("belongs to the first rater"), "{}", desk.picture(120, 40));
}

#[test]
fn who_marks_is_asked_once_and_stands_on_every_sheet() {
    let mut desk = Desk::with(ExamOptions::default());
    desk.keys("b");
    assert!(desk.shows("WHO MARKS?"));
    desk.enter();
    assert!(desk.shows("Type the name of the rater."));
    desk.keys("S. Sample").enter().keys("01").enter().enter();
    desk.go(2).begin("02", '1');
    let raters: Vec<&str> = desk
        .kept
        .iter()
        .filter_map(|(event, _)| match event {
            Event::Began { rater, .. } => Some(rater.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(raters, ["S. Sample", "S. Sample"]);
}

#[test]
fn notes_stand_on_the_sheet_of_the_act_and_a_blank_one_is_none() {
    let mut desk = Desk::new();
    desk.begin("01", '1').keys("d/").enter();
    assert!(desk.shows("The note has no words."));
    desk.keys("d t m q").enter();
    assert!(matches!(&desk.kept.last().unwrap().0, Event::Noted { text, item: Some(_), .. } if text == "d t m q"));
    assert_eq!(desk.n_marked("01/slump/1"), 1, "letters of a note are no marks");
    assert!(!desk.has_left);
}

// ---------------------------------------------------------------------------------------------- nothing lost

#[test]
fn on_a_full_disk_marks_go_on_in_memory_and_the_screen_says_so() {
    let mut desk = Desk::new();
    desk.begin("01", '1').keys("d");
    desk.disk_works = false;
    desk.keys("m");
    for (columns, rows) in [(80, 24), (120, 40), (60, 16), (40, 10)] {
        assert!(desk.picture(columns, rows).contains("NOT RECORDED"), "{columns}×{rows}");
    }
    desk.keys("dd");
    assert_eq!(desk.n_marked("01/slump/1"), 4, "marking goes on");
    assert!(desk.shows("3 only in memory"));
    desk.keys("q");
    assert!(desk.shows("LEAVE?") && !desk.has_left, "it is asked before they are lost");
    desk.keys("n").keys("f").keys("/card").enter();
    assert!(desk.shows("Everything is recorded again, in /card."));
    assert!(!desk.shows("NOT RECORDED"));
    desk.keys("q");
    assert!(desk.has_left);
}

#[test]
fn taken_up_again_every_sheet_lies_where_it_lay_and_clocks_run_on() {
    let mut desk = Desk::new();
    desk.begin("01", '1').keys("dm").go(3).begin("03", '1').to("lift").keys(" ").go(2).begin("02", '2').keys("ddd");
    let mut again = state();
    for (event, at) in &desk.kept {
        again.apply(event.clone(), *at).unwrap();
    }
    assert_eq!(&again, desk.screen.state(), "replay is the same function");
    let options = ExamOptions { rater: Some("R. Example".into()), ..ExamOptions::default() };
    let mut later = Desk { screen: ExamModel::new(again, options), now: Tick(5_000), ..Desk::new() };
    assert_eq!(later.focus(), "02/air-volumetric/1", "the station of the last act");
    later.keys("d").go(1).keys("d").go(3).keys(" ");
    assert_eq!(later.n_marked("02/air-volumetric/1"), 4);
    let marks: Vec<Mark> = later.marks("01/slump/1").into_iter().flatten().collect();
    assert_eq!(marks, [Mark::Done, Mark::Missed, Mark::Done], "behind the act marked last");
    let view = later.screen.state().trial(&TrialId("03/slump/1".into())).unwrap();
    assert_eq!(view.item(view.sheet.item("lift").unwrap()).mark, Some(Mark::Done), "5 s, the time away counted");
}

// ---------------------------------------------------------------------------------------------- keys and pictures

#[test]
fn every_key_that_does_something_is_in_the_help_and_works_as_a_capital_too() {
    for sign in ' '..='~' {
        let of = |code: KeyCode| exam_command(&KeyEvent::new(code, KeyModifiers::NONE));
        let command = of(KeyCode::Char(sign));
        if let Some(command) = command {
            let shown = |keys: &str| keys.split("  ").any(|key| key == sign.to_ascii_lowercase().to_string());
            let listed = EXAM_BINDINGS.iter().find(|row| row.command == command).unwrap();
            assert!(
                shown(listed.keys) || matches!((sign, command), (' ', ExamCommand::Clock) | ('=', ExamCommand::Count)),
                "{sign:?}: {listed:?}"
            );
        }
        assert_eq!(command, of(KeyCode::Char(sign.to_ascii_uppercase())), "{sign:?}");
    }
}

#[test]
fn no_size_makes_it_panic_and_nothing_changes_between_two_moments_it_names() {
    let mut desk = Desk::new();
    desk.begin("01", '1').to("lift").keys(" ").go(2).begin("07", '2').keys("dm");
    for overlay in ["", "?", "b", "e", "o", "/", "s", "g", "r", "f"] {
        desk.go(1).keys(overlay);
        for columns in [1, 2, 19, 39, 59, 60, 80, 116, 120, 200] {
            for rows in [1, 2, 5, 9, 16, 24, 30, 40, 60] {
                let _ = desk.picture(columns, rows);
            }
        }
        desk.press(KeyCode::Esc);
    }
    for _ in 0..40 {
        let next = desk.screen.next_change(desk.now).unwrap();
        let before = desk.picture(120, 40);
        desk.now = Tick(next.0 - 1);
        assert_eq!(desk.picture(120, 40), before);
        desk.now = next;
        desk.screen.sense(Sensed::Wake, moment(desk.now));
    }
}

#[test]
fn what_the_screen_looks_like() {
    let mut desk = Desk::new();
    desk.begin("01", '1').keys("dmd").go(2).begin("07", '2').keys("ddd").go(3).begin("03", '1').to("lift").keys(" ");
    desk.wait(3_200).go(1);
    insta::assert_snapshot!("marking_80x24", desk.picture(80, 24));
    insta::assert_snapshot!("marking_120x40", desk.picture(120, 40));
    desk.go(2);
    insta::assert_snapshot!("other_name_80x24", desk.picture(80, 24));
    desk.go(3);
    insta::assert_snapshot!("clock_runs_80x24", desk.picture(80, 24));
    desk.keys(" ").keys("e");
    insta::assert_snapshot!("end_80x24", desk.picture(80, 24));
    desk.enter().go(1).keys("e").enter();
    insta::assert_snapshot!("ended_80x24", desk.picture(80, 24));
    insta::assert_snapshot!("ended_120x40", desk.picture(120, 40));
    desk.keys("r");
    insta::assert_snapshot!("results_80x24", desk.picture(80, 24));
    desk.press(KeyCode::Esc).keys("?");
    insta::assert_snapshot!("help_120x40", desk.picture(120, 40));
    desk.press(KeyCode::Esc).keys("b").keys("0");
    insta::assert_snapshot!("begin_80x24", desk.picture(80, 24));
    desk.press(KeyCode::Esc).go(2);
    desk.disk_works = false;
    desk.keys("m");
    insta::assert_snapshot!("not_recorded_80x24", desk.picture(80, 24));
}
