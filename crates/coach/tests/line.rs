//! The run in lines: what each line is taken for, what is answered, and that nothing hostile becomes an act.

#![allow(clippy::unwrap_used, clippy::panic, reason = "in a test a panic is the report")]

use std::io::{BufReader, Read};
use std::sync::{Arc, Mutex, OnceLock};
use std::time::Duration;

use coach::line::language::{Said, Unclear, WORDS, read};
use coach::line::script::{Script, Stopped, play, span_of, wall};
use coach::line::{Cue, NotKept, Record, Talk, cue, plain};
use coach::rim::library;
use engine::{Event, Moment, Run, Tick, Wall};
use procedure::ReadingId;
use procedure::nearest::nearest;
use proptest::prelude::*;
use quantity::{Span, System, Ties};

/// A record in memory, which can be made to fail.
#[derive(Default)]
struct Memory {
    kept: Vec<Event>,
    waiting: usize,
    fails: bool,
}

impl Record for Memory {
    fn keep(&mut self, event: &Event, _: Moment, _: Option<ReadingId>) -> Result<u64, NotKept> {
        if self.fails {
            self.waiting += 1;
            return Err(NotKept { what: "the disk is full".into(), hint: "Free some space".into() });
        }
        self.kept.push(event.clone());
        Ok(self.kept.len() as u64)
    }
    fn move_to(&mut self, folder: &str, _: Moment) -> Result<(String, u64), NotKept> {
        self.fails = false;
        Ok((folder.to_owned(), (self.kept.len() + std::mem::take(&mut self.waiting)) as u64))
    }
    fn retry(&mut self) -> Result<u64, NotKept> {
        if self.fails {
            return Err(NotKept { what: "the disk is full".into(), hint: "Free some space".into() });
        }
        Ok((self.kept.len() + std::mem::take(&mut self.waiting)) as u64)
    }
}

fn run() -> Run {
    static EDITION: OnceLock<Arc<procedure::Edition>> = OnceLock::new();
    let edition = EDITION.get_or_init(|| {
        let found = library::find("air-volumetric", false).unwrap();
        Arc::new(found.edition(System::InchPound).unwrap())
    });
    Run::open(Arc::clone(edition), Ties::Even, Moment::default())
}

fn at(seconds: u64) -> Moment {
    Moment { tick: Tick(seconds * 1_000), ..Moment::default() }
}

/// A talk led by lines one second apart; returns what was said to the last.
fn after(lines: &[&str]) -> (Talk, Memory, Vec<String>) {
    let mut talk = Talk::new(run(), at(0));
    let mut record = Memory::default();
    let mut last = Vec::new();
    for (n, line) in lines.iter().enumerate() {
        last = talk.hear(line, at(n as u64 + 1), &mut record).iter().map(Cue::to_string).collect();
    }
    (talk, record, last)
}

const NAMED: [&str; 4] = ["R. Okafor-Lind", "Harrow Bend footbridge, pier 2", "Truck 12", "V-7"];

fn named(more: &[&'static str]) -> Vec<&'static str> {
    NAMED.iter().chain(more).copied().collect()
}

#[test]
fn every_line_is_taken_for_what_it_says() {
    let text = |text: &str| text.to_owned();
    let correct = |n, value: &str, reason: &str| Said::Correct { n, value: text(value), reason: text(reason) };
    for (line, said) in [
        ("", Said::Next),
        ("   ", Said::Next),
        ("next", Said::Next),
        ("NEXT", Said::Next),
        ("done", Said::Done(None)),
        ("done funnel-out", Said::Done(Some(text("funnel-out")))),
        ("begin", Said::Begin),
        ("turn", Said::Turn),
        ("count 25", Said::Count(25)),
        ("read level 5 1/4", Said::Read { reading: text("level"), value: text("5 1/4") }),
        ("answer yes", Said::Answer(text("yes"))),
        ("answer close to pier 2", Said::Answer(text("close to pier 2"))),
        ("add", Said::Add),
        ("incident leak", Said::Incident(text("leak"))),
        ("discard the bowl was knocked over", Said::Discard(text("the bowl was knocked over"))),
        ("again", Said::Again),
        ("close", Said::Close),
        ("undo", Said::Undo),
        ("redo", Said::Redo),
        ("correct 12 2 3/4 because misread", correct(12, "2 3/4", "misread")),
        ("correct 3 V-9 because it was V-9 because I looked", correct(3, "V-9", "it was V-9 because I looked")),
        ("despite no time left", Said::Despite(text("no time left"))),
        ("remark rain has begun", Said::Remark(text("rain has begun"))),
        ("folder /media/card", Said::Folder(text("/media/card"))),
        ("retry", Said::Retry),
        ("where", Said::Where),
        ("steps", Said::Steps),
        ("clocks", Said::Clocks),
        ("readings", Said::Readings),
        ("why", Said::Why),
        ("help", Said::Help),
        ("quit", Said::Quit),
        ("5.25", Said::Bare(text("5.25"))),
        ("  5 1/4\t", Said::Bare(text("5 1/4"))),
        ("nextt", Said::Bare(text("nextt"))),
        ("Ticket # 5", Said::Bare(text("Ticket # 5"))),
    ] {
        assert_eq!(read(line), Ok(said), "{line:?}");
    }
}

#[test]
fn a_line_with_too_little_or_too_much_says_what_is_missing() {
    for (line, said) in [
        ("count", "“count” needs more: count N"),
        ("count twenty", "“twenty” is no whole number: count N"),
        ("count -5", "“-5” is no whole number: count N"),
        ("count 99999999999", "“99999999999” is no whole number: count N"),
        ("read level", "“read” needs more: read READING VALUE"),
        ("remark", "“remark” needs more: remark TEXT"),
        ("discard", "“discard” needs more: discard REASON"),
        ("correct 12 5.25", "“correct” needs more: correct N VALUE because REASON"),
        ("correct 12 5.25 because", "“correct” needs more: correct N VALUE because REASON"),
        ("correct five 5.25 because misread", "“five” is no whole number: correct N VALUE because REASON"),
        ("undo twice", "“undo” stands alone. To give these words as an answer: answer undo twice"),
        ("done the rodding", "“done” stands alone. To give these words as an answer: answer done the rodding"),
        ("quit \u{7}", "The line holds something other than text; nothing was taken from it."),
        ("5.\u{0}25", "The line holds something other than text; nothing was taken from it."),
    ] {
        assert_eq!(read(line).unwrap_err().to_string(), said, "{line:?}");
    }
    assert_eq!(read(&"x".repeat(401)), Err(Unclear::TooLong));
    assert_eq!(read(&"é".repeat(400)), Ok(Said::Bare("é".repeat(400))));
}

#[test]
fn an_unknown_word_is_answered_with_the_nearest() {
    for (line, nearest_word) in
        [("udno", "undo"), ("discrad leak", "discard"), ("reding", "readings"), ("whre", "where")]
    {
        let (talk, record, said) = after(&named(&[line]));
        assert!(said[0].starts_with("ERROR"), "{said:?}");
        assert!(said[0].contains(&format!("Did you mean “{nearest_word}”?")), "{line}: {said:?}");
        assert_eq!((record.kept.len(), talk.run().n_accepted()), (4, 4), "{line}");
    }
    assert_eq!(nearest("xylophone", WORDS.iter().map(|word| word.word)), None);
}

#[test]
fn an_act_is_answered_first_by_what_became_of_it() {
    for (lines, first) in [
        (vec!["R. Okafor-Lind"], "RECORDED 1"),
        (named(&["0.0752"]), "RECORDED 5"),
        (named(&["0.0752 ft³"]), "RECORDED 5"),
        (named(&["read bowl 0.0752"]), "RECORDED 5"),
        (named(&["answer 0.0752"]), "RECORDED 5"),
        (named(&["0.07525"]), "REFUSED graduated in 0.0001 ft³: 0.0752 or 0.0753?"),
        (named(&["5"]), "REFUSED 5 ft³ is off the scale, which runs from 0.0500 to 0.3000 ft³."),
        (named(&["0.06"]), "REFUSED The bowl must hold at least 0.075 ft³. Use another meter."),
        (named(&["0.0752", "y"]), "RECORDED 6"),
        (named(&["0.0752", "Yes, in date"]), "RECORDED 6"),
        (named(&["0.0752", "perhaps"]), "ERROR “perhaps” is none of the words. “help” lists the words."),
        (
            named(&["answer perhaps"]),
            "REFUSED cannot read \"perhaps\": expected a number such as 2.75, 2,75, 2 3/4 or 2¾.",
        ),
        (named(&["done zero"]), "REFUSED The zero is set after the funnel is out."),
        (
            named(&["done technician"]),
            "REFUSED “Who runs this test?” is done already. Take it back with undo, or correct its reading.",
        ),
        (named(&["done zeroo"]), "ERROR The procedure has no step “zeroo”. Did you mean “zero”?"),
        (named(&["read bowel 5"]), "ERROR The procedure has no reading “bowel”. Did you mean “bowl”?"),
        (named(&["incident leek"]), "ERROR The procedure has no incident “leek”. Did you mean “leak”?"),
        (named(&["incident leak"]), "REFUSED That cannot happen in this part of the test."),
        (named(&["add"]), "REFUSED Nothing is tallied at this step."),
        (named(&["again"]), "REFUSED The attempt is still going on. Finish it, or discard it with a reason."),
        (named(&["correct 3 V-9 because the plate says so"]), "RECORDED 5"),
        (
            named(&["correct 99 V-9 because the plate says so"]),
            "REFUSED There is no reading number 99; “readings” lists them.",
        ),
        (named(&["despite I am in a hurry"]), "REFUSED Nothing was refused that a reason could overrule."),
        (named(&["0.06", "despite the only meter on the site"]), "RECORDED 5"),
        (named(&["undo"]), "RECORDED 5"),
        (named(&["undo", "redo"]), "RECORDED 6"),
        (named(&["redo"]), "REFUSED Nothing was taken back."),
        (named(&["discard the truck has gone", "close"]), "RECORDED 6"),
        (named(&["discard the truck has gone", "5"]), "ERROR “5” is none of the words. “help” lists the words."),
        (
            named(&["discard the truck has gone", "done"]),
            "REFUSED This attempt has ended. Start again, or close the run.",
        ),
        (named(&["quit"]), "LEFT The run can be resumed; its clocks go on."),
        (named(&["clocks"]), "CLOCK none"),
        (named(&["where"]), "STAGE prepare Prepare"),
    ] {
        let (_, _, said) = after(&lines);
        assert_eq!(said.first().map(String::as_str), Some(first), "{lines:?}\n{said:#?}");
    }
}

#[test]
fn an_empty_line_where_a_reading_is_asked_asks_again_and_records_nothing() {
    let (_, record, said) = after(&named(&[""]));
    assert!(said[0].starts_with("ASK bowl"), "{said:?}");
    assert_eq!(record.kept.len(), 4);
}

#[test]
fn every_word_that_goes_out_is_a_documented_one() {
    let documented: Vec<&str> = cue::WORDS.iter().map(|(word, _)| *word).collect();
    let page = include_str!("../LINES.md");
    for (word, _) in cue::WORDS {
        assert!(page.contains(&format!("`{word}`")), "LINES.md does not say what {word} is");
    }
    for word in WORDS {
        assert!(page.contains(&format!("`{}`", word.form)), "LINES.md does not show “{}”", word.form);
    }
    for lines in
        [named(&["help"]), named(&["steps"]), named(&["readings"]), named(&["why"]), named(&["remark dry", "undo"])]
    {
        for said in after(&lines).2 {
            let word = said.split(' ').next().unwrap();
            assert!(documented.contains(&word), "{said}");
        }
    }
}

#[test]
fn a_full_disk_is_said_at_once_and_nothing_is_lost() {
    let mut talk = Talk::new(run(), at(0));
    let mut record = Memory { fails: true, ..Memory::default() };
    let said = talk.hear("R. Okafor-Lind", at(1), &mut record);
    assert_eq!(said[0].word, "NOT-RECORDED");
    assert!(said[0].text.contains("the disk is full") && said[0].text.contains("folder PATH"), "{}", said[0]);
    assert_eq!(talk.run().n_accepted(), 1, "the act is kept in memory");
    assert_eq!(talk.hear("retry", at(2), &mut record)[0].word, "NOT-RECORDED");
    let said: Vec<String> = talk.hear("folder /media/card", at(3), &mut record).iter().map(Cue::to_string).collect();
    assert_eq!(said, ["FOLDER /media/card", "RECORDED 1"]);
}

#[test]
fn a_night_with_the_lid_closed_is_caught_up_without_a_flood() {
    // Up to the first rolling, which prompts every 15 s.
    let script = include_str!("../../../demo/plain-run.lines").split("wait 60 s").next().unwrap();
    let script = Script::read(script).unwrap();
    let start = script.moment(Tick(0));
    let mut talk = Talk::new(Run::open(Arc::new(run().edition().clone()), Ties::Even, start), start);
    play(&script, &mut talk, &mut Memory::default(), &mut Vec::new()).unwrap();
    assert!(talk.next_due().is_some(), "the rolling is timed");
    let said = talk.due(Tick(12 * 3_600_000));
    assert_eq!(said.iter().filter(|cue| cue.word == "DUE").count(), 1, "the least time is over: said once");
    let n_prompts = said.iter().filter(|cue| cue.word == "PROMPT").count();
    assert!((1..=45).contains(&n_prompts), "{n_prompts} prompts");
    assert!(talk.due(Tick(12 * 3_600_000)).is_empty(), "nothing is said twice");
}

// ------------------------------------------------------------------------------------------------ scripts

const START: &str = "start 2026-05-14T07:30:00-05:00\n";

fn faulty(lines: &str) -> String {
    match Script::read(&format!("{START}{lines}")) {
        Err(faulty) => faulty.to_string(),
        Ok(script) => {
            let mut out = Vec::new();
            let start = script.moment(Tick(0));
            let run = Run::open(Arc::new(run().edition().clone()), Ties::Even, start);
            match play(&script, &mut Talk::new(run, start), &mut Memory::default(), &mut out) {
                Err(Stopped::Faulty(faulty)) => faulty.to_string(),
                other => panic!("{lines:?}: {other:?}"),
            }
        }
    }
}

#[test]
fn a_faulty_script_is_refused_with_its_line_and_reason() {
    for (lines, said) in [
        ("+2x next", "line 2: “+2x” is no time: +2s, +1m30s"),
        ("at 45 next", "line 2: “at 45” is no time since the start: at 0:45"),
        ("at 0:45 R\nat 0:44 next", "line 3: “at 0:44” lies before the line above"),
        ("wait", "line 2: wait how long? wait 45 s"),
        ("wait a while", "line 2: wait how long? wait 45 s"),
        ("expect", "line 2: expect what? The words that must be in the last output"),
        ("expct STEP", "line 2: “expct”: is “expect” or “wait” meant? As an answer: answer expct STEP"),
        ("next\nsystem SI", "line 3: “system” belongs at the head, before the first act"),
        ("system metric", "line 2: “metric” is no unit system: inch-pound or SI"),
        ("start noon", "line 2: “noon” is no moment: start 2026-05-14T07:30:00-05:00"),
        ("wait 9999999 h", "line 2: a script lasts 7 days at most"),
        ("quit\nnext", "line 3: the run is over; nothing more can be said to it"),
    ] {
        assert_eq!(faulty(lines), said, "{lines:?}");
    }
    let said = faulty("+4s R. Okafor-Lind\nexpect RESULT air 5.00 %");
    assert!(said.starts_with("line 3: expected “RESULT air 5.00 %”, but there was:\n  RECORDED 1\n"), "{said}");
    assert_eq!(
        Script::read("next").unwrap_err().to_string().split(':').nth(1),
        Some(" the script must say when it starts")
    );
}

#[test]
fn script_time_is_read_exactly() {
    for (text, ms) in [
        ("45 s", 45_000),
        ("45s", 45_000),
        ("1m30s", 90_000),
        ("2 min", 120_000),
        ("1h", 3_600_000),
        ("500ms", 500),
        ("0s", 0),
    ] {
        assert_eq!(span_of(text), Some(Span(ms)), "{text}");
    }
    for text in ["", "45", "s", "1.5s", "30s1m", "-2s", "99999999999999999999s", "18446744073709551615h"] {
        assert_eq!(span_of(text), None, "{text}");
    }
    assert_eq!(wall("2026-05-14T07:30:00-05:00"), Some(Wall { unix_ms: 1_778_761_800_000, offset_min: -300 }));
    let script =
        Script::read(&format!("{START}+2s a # why\n# all comment\nwait 1 min\nat 1:30.250 b\nTicket #5")).unwrap();
    let times: Vec<u64> = script.lines.iter().map(|line| line.at.0).collect();
    assert_eq!(times, [2_000, 62_000, 90_250, 90_250]);
    assert_eq!(script.lines[3].what, coach::line::script::What::Say("Ticket #5".into()));
}

// ------------------------------------------------------------------------------------------------ live

/// A clock that stands still but for what is waited.
struct Patient(Mutex<u64>);

impl plain::Hours for Patient {
    fn now(&self) -> Moment {
        Moment { tick: Tick(*self.0.lock().unwrap()), ..Moment::default() }
    }
    fn until(&self, tick: Tick) -> Duration {
        // Whoever waits for a moment finds it come.
        *self.0.lock().unwrap() = tick.0;
        Duration::ZERO
    }
}

fn live(input: impl Read + Send + 'static) -> (Talk, Memory, String) {
    let hours = Patient(Mutex::new(1_000));
    let mut talk = Talk::new(run(), at(1));
    let mut record = Memory::default();
    let mut out = Vec::new();
    plain::live(&mut talk, &hours, &mut record, &[], BufReader::new(input), &mut out).unwrap();
    (talk, record, String::from_utf8(out).unwrap())
}

#[test]
fn the_end_of_the_input_leaves_a_run_that_can_be_resumed() {
    let (talk, record, said) = live("R. Okafor-Lind\r\nHarrow Bend".as_bytes());
    assert_eq!(record.kept.len(), 2);
    assert_eq!(talk.run().n_accepted(), 2);
    assert!(said.ends_with("LEFT The input has ended. The run can be resumed; its clocks go on.\n"), "{said}");
}

#[test]
fn an_endless_line_and_bytes_that_are_no_text_are_refused_without_harm() {
    let endless = std::io::repeat(b'x').take(3_000_000).chain(&b"\nR. Okafor-Lind\n\xff\xfe\n"[..]);
    let (_, record, said) = live(endless);
    assert_eq!(record.kept.len(), 1);
    assert!(said.contains("ERROR The line is longer than 400 characters"), "{said}");
    assert!(said.contains("ERROR The line holds something other than text"), "{said}");
}

// ------------------------------------------------------------------------------------------------ hostile lines

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    /// At a question for a number, only a number of that instrument is ever recorded.
    #[test]
    fn no_hostile_line_panics_or_records(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        let line = String::from_utf8_lossy(&bytes).replace(['\n', '\r'], " ");
        let is_a_line_of_ours = match read(&line) {
            Ok(Said::Bare(text)) => text.chars().any(|c| c.is_numeric()),
            Ok(_) => true,
            Err(_) => false,
        };
        prop_assume!(!is_a_line_of_ours);
        let mut lines = NAMED.to_vec();
        lines.push(&line);
        let (talk, record, said) = after(&lines);
        prop_assert_eq!(record.kept.len(), 4);
        prop_assert_eq!(talk.run().n_accepted(), 4);
        // Signs a number may hold, such as a lone plus, are an answer that cannot be read; all else is no line.
        prop_assert!(said[0].starts_with("ERROR") || said[0].starts_with("REFUSED"), "{:?}", said);
        prop_assert!(said.iter().all(|cue| !cue.chars().any(char::is_control)));
    }

    /// Whatever words follow one another, what is recorded is what the engine took, in that order.
    #[test]
    fn any_sequence_of_words_keeps_record_and_run_together(
        picks in proptest::collection::vec((0..WORDS.len(), prop_oneof![
            Just(""), Just("5"), Just("leak"), Just("zero"), Just("3 V-9 because so"), Just("level 5.25"), Just("a reason"),
        ]), 0..40)
    ) {
        let lines: Vec<String> = picks.iter().map(|(n, rest)| format!("{} {rest}", WORDS[*n].word)).collect();
        let mut talk = Talk::new(run(), at(0));
        let mut record = Memory::default();
        for (n, line) in lines.iter().enumerate() {
            let before = record.kept.len();
            let said = talk.hear(line, at(n as u64 + 1), &mut record);
            for cue in &said {
                prop_assert!(!cue.to_string().contains('\n'));
            }
            let taken = said.iter().any(|cue| cue.word == "RECORDED") && !line.starts_with("retry") && !line.starts_with("folder");
            prop_assert_eq!(record.kept.len() > before, taken, "{}", line);
        }
        prop_assert_eq!(record.kept.len() as u32, talk.run().n_accepted());
        let mut again = run();
        for (n, event) in record.kept.iter().enumerate() {
            // The moments do not matter for these first steps.
            prop_assert!(again.apply(event.clone(), at(n as u64 + 1)).is_ok(), "{:?}", event);
        }
    }
}
