//! The whole volumetric air test from keys alone, on the real screen: to its result, and down every branch.
//!
//! Time is simulated, and the record says so. The hand calculation stands above each test.

#![allow(clippy::panic, reason = "a test says what it expects by panicking")]

use acceptance::acts::{charge, choose_alcohol, empty_and_close, fill_and_close, free, identify, roll};
use acceptance::{Act, Site, Terminal};
use serde_json::Value;

/// A technician with the program before them.
struct Technician {
    site: Site,
    terminal: Terminal,
    /// Acts on record.
    n: usize,
}

impl Technician {
    fn at(speed: u32) -> Self {
        let site = Site::new();
        let speed = speed.to_string();
        let terminal =
            Terminal::open(&site, &["run", "air-volumetric", "--system", "inch-pound", "--simulate", &speed]);
        terminal.wait_for("Who runs this test?");
        Self { site, terminal, n: 0 }
    }

    fn does(&mut self, acts: &[Act]) {
        self.terminal.perform_all(acts, &mut self.n);
    }

    /// Tries what is refused: the sentence is on the screen, and nothing is on record that was not there before.
    fn is_refused(&self, keys: &[&str], sentence: &str) {
        self.terminal.press(keys);
        self.terminal.wait_for(sentence);
        self.terminal.wait_recorded(self.n);
    }

    /// Closes what lies over the screen. Escape stands alone until the rest of a key would have come.
    fn goes_back(&self, from: &str) {
        self.terminal.press(&["Esc"]);
        self.terminal.wait_until(&format!("no “{from}”"), |screen| !screen.contains(from));
    }

    /// Leaves, and returns the report of a record that is sound.
    fn leaves(self) -> (Site, Value) {
        // The big key never leaves: a pedal sends it too.
        self.terminal.press(&["Space"]);
        self.terminal.wait_for("The run is closed: q leaves.");
        self.terminal.press(&["q"]);
        let ended = self.terminal.wait_end();
        let said = self.terminal.screen();
        assert_eq!((ended.code, ended.signal), (0, None), "{said}");
        assert!(said.contains("pourside report ") && !said.contains("pourside resume "), "it is closed: {said}");
        self.site.verify();
        let report = self.site.report();
        assert_eq!(report["record"]["entries"], self.n as u64 + 1, "every act is on record, after the opening");
        (self.site, report)
    }
}

/// What was read of one kind in an attempt, in order.
fn read(report: &Value, attempt: u64, reading: &str) -> Vec<String> {
    let acts = report["acts"].as_array().map_or(&[][..], Vec::as_slice);
    let of_kind = acts.iter().filter(|act| act["attempt"] == attempt && act["reading"] == reading);
    of_kind.map(|act| act["value"].as_str().unwrap_or("?").to_owned()).collect()
}

/// The terms of the result as a technician would add them up.
fn terms(report: &Value) -> Vec<String> {
    let terms = report["results"][0]["terms"].as_array().map_or(&[][..], Vec::as_slice);
    let text = |value: &Value| value.as_str().unwrap_or("?").to_owned();
    terms.iter().map(|term| format!("{}{}", text(&term["sign"]), text(&term["value"]))).collect()
}

/// By hand: the level stands at 6.25 % after the second rolling, the same as after the first; 3.0 pt of alcohol take
/// off 0.3 %; no cups. 6.25 − 0.3 + 0 = 5.95, and 5.95 / 0.25 = 23.8, so 24 × 0.25 = 6.00 %.
#[test]
fn from_keys_alone_the_test_reaches_the_result_of_the_hand_calculation_and_every_wrong_move_is_refused() {
    let mut hand = Technician::at(20);
    let t = |hand: &Technician, words: &str| hand.terminal.wait_for(words);

    hand.does(&identify()[..4]);
    // A bowl that cannot be, a bowl that is too small, a number between two marks.
    hand.is_refused(&["0.9", "Enter"], "off the scale");
    hand.is_refused(&["0.0600", "Enter"], "The bowl must hold at least 0.075 ft³. Use another meter.");
    hand.is_refused(&["0.07525", "Enter"], "Graduated in 0.0001 ft³: 0.0752 or 0.0753?");
    hand.does(&identify()[4..5]);
    // A key that is no answer of this question.
    hand.is_refused(&["j"], "“j” does nothing here.");
    hand.does(&identify()[5..6]);
    hand.is_refused(&["1.10", "Enter"], "The cup must hold 1.00 % ± 0.04 % of the bowl. Use another cup.");
    hand.does(&identify()[6..]);
    hand.is_refused(&["6", "Enter"], "off the scale");
    hand.does(&choose_alcohol("3.0"));

    // The first layer is rodded too little, then as asked.
    hand.does(&fill_and_close()[..2]);
    hand.terminal.press(&["24", "Enter"]);
    hand.n += 1;
    t(&hand, "24 strokes given, 25 asked");
    hand.terminal.wait_recorded(hand.n);
    hand.terminal.press(&["25", "Enter"]);
    hand.n += 2;
    hand.terminal.wait_recorded(hand.n);
    hand.does(&fill_and_close()[3..12]);

    // Everything is closed, and the funnel is still lying there: out of its turn is out of its turn.
    t(&hand, "Put the funnel in");
    hand.terminal.press(&["s"]);
    t(&hand, "STEPS");
    hand.is_refused(&["Down", "Enter"], "Water goes in only through the funnel: put the funnel in first.");
    hand.goes_back("STEPS");
    hand.does(&fill_and_close()[12..]);

    // Too little water; the alcohol before it; the funnel out before the liquid shows.
    hand.is_refused(&["0.5", "Enter"], "At least 1 pt of water goes in before the alcohol.");
    hand.does(&charge()[..2]);
    hand.is_refused(&["n"], "Go on adding water until the liquid shows in the neck; the funnel stays in.");
    hand.terminal.press(&["s"]);
    t(&hand, "STEPS");
    hand.is_refused(&["Down", "Enter"], "The funnel stays in until the liquid shows in the neck.");
    hand.goes_back("STEPS");
    hand.does(&charge()[2..]);

    hand.does(&free());
    let first = roll(1, &[("6.5", "0.5"), ("6.25", "0.25")]);
    hand.does(&first[..1]);
    // Rolled for far less than a minute.
    hand.is_refused(&["Space"], "takes at least 1 min");
    hand.does(&first[1..3]);
    hand.is_refused(&["9.5", "Enter"], "off the scale");
    hand.is_refused(&["6.3", "Enter"], "Graduated in 0.25 %: 6.25 or 6.50?");
    hand.does(&first[3..5]);
    // Two minutes are not over.
    hand.is_refused(&["6.25", "Enter"], "the time between two readings takes at least 2 min.");
    hand.terminal.press(&["Esc"]);
    hand.terminal.wait_for_caption("NEXT READING IN");
    hand.does(&first[5..]);
    hand.does(&roll(2, &[("6.25", "0.25"), ("6.25", "0.25")]));
    hand.does(&empty_and_close()[..4]);
    t(&hand, "5.95 %");
    t(&hand, "Reported to the nearest 0.25 %, half to even: 6.00 %");
    hand.does(&empty_and_close()[4..]);

    let (site, report) = hand.leaves();
    assert_eq!(site.result(), ("6.00 %".to_owned(), "5.95".to_owned()));
    assert_eq!(terms(&report), ["+6.25", "-0.3", "+0"]);
    assert_eq!(report["attempts"].as_array().map(Vec::len), Some(1));
}

/// By hand: at first 1.0 pt of alcohol and 2.5 % of foam at a level that stands still, more than 2: discarded. Then
/// 2.5 pt, half-way between 2.0 pt (0.0 %) and 3.0 pt (0.3 %): 0.15 %. The level stands at 5.75 %.
/// 5.75 − 0.15 = 5.60, and 5.60 / 0.25 = 22.4, so 22 × 0.25 = 5.50 %.
#[test]
fn foam_discards_the_attempt_and_more_alcohol_brings_the_next_one_to_its_result() {
    let mut hand = Technician::at(60);
    hand.does(&[identify(), choose_alcohol("1.0"), fill_and_close(), charge(), free()].concat());
    hand.does(&roll(1, &[("6", "3"), ("6", "2.5")]));
    hand.terminal.wait_for("DISCARDED");
    hand.terminal.wait_for("Attempt 1 has no result: More than 2 full % divisions of foam");
    hand.terminal.wait_for("start again with more alcohol");
    // The next attempt. The same amount of alcohol as before changes nothing.
    hand.does(&[Act::press()]);
    hand.is_refused(
        &["1.0", "Enter"],
        "The attempt before was discarded with 1.00 pt of alcohol; this one needs more.",
    );
    hand.does(&[choose_alcohol("2.5"), fill_and_close(), charge(), free()].concat());
    hand.does(&roll(1, &[("6", "1"), ("5.75", "0.75")]));
    hand.does(&roll(2, &[("5.75", "0.5"), ("5.75", "0.5")]));
    hand.does(&empty_and_close());

    let (site, report) = hand.leaves();
    assert_eq!(site.result(), ("5.50 %".to_owned(), "5.6".to_owned()));
    assert_eq!(terms(&report), ["+5.75", "-0.15", "+0"]);
    assert_eq!(report["attempts"].as_array().map(Vec::len), Some(2), "the discarded attempt keeps its record");
    assert_eq!(read(&report, 1, "foam"), ["3.00", "2.50"], "with its readings");
    assert_eq!(read(&report, 2, "level"), ["6.00", "5.75", "5.75", "5.75"]);
}

/// By hand: the level lies below the 9 % mark, so two calibrated cups bring it back, 1 % each; it stands at 8.50 %;
/// 2.0 pt of alcohol are below 2.5 pt and take nothing off. 8.50 − 0 + 2 = 10.50 %, a mark already.
#[test]
fn cups_of_water_bring_a_level_beyond_the_scale_back_and_are_added_to_the_result() {
    let mut hand = Technician::at(60);
    hand.does(&[identify(), choose_alcohol("2.0"), fill_and_close(), charge(), free()].concat());
    let first = roll(1, &[("8.75", "1.5"), ("8.5", "1.25")]);
    hand.does(&first[..3]);
    hand.is_refused(&["10.75", "Enter"], "off the scale");
    // A cup is one key, also while a number stands there that was refused.
    hand.does(&[Act::answer("c", "add")]);
    hand.terminal.wait_for("Added: 1 cup in all.");
    hand.does(&[Act::answer("c", "add")]);
    hand.terminal.wait_for("Added: 2 cups in all.");
    hand.does(&first[3..]);
    hand.does(&roll(2, &[("8.5", "1"), ("8.5", "1")]));
    hand.does(&empty_and_close());

    let (site, report) = hand.leaves();
    assert_eq!(site.result(), ("10.50 %".to_owned(), "10.5".to_owned()));
    assert_eq!(terms(&report), ["+8.5", "-0", "+2"]);
}

/// By hand: 5.50 % after the first rolling, 6.00 % after the second: 0.50 apart. 6.25 % after the third: 0.25 from the
/// second, so it is final. 4.0 pt take off 0.6 %. 6.25 − 0.6 = 5.65, and 5.65 / 0.25 = 22.6, so 23 × 0.25 = 5.75 %.
#[test]
fn a_second_rolling_that_does_not_agree_leads_to_a_third_compared_with_the_second() {
    let mut hand = Technician::at(60);
    hand.does(&[identify(), choose_alcohol("4.0"), fill_and_close(), charge(), free()].concat());
    hand.does(&roll(1, &[("5.25", "0.5"), ("5.5", "0.5")]));
    hand.does(&roll(2, &[("6", "0.5"), ("6", "0.25")]));
    hand.terminal.wait_for("they differ by more than 0.25. Once more.");
    hand.does(&roll(3, &[("6.25", "0.25"), ("6.25", "0.25")]));
    hand.terminal.wait_for("they agree. That is the final reading.");
    hand.does(&empty_and_close());

    let (site, report) = hand.leaves();
    assert_eq!(site.result(), ("5.75 %".to_owned(), "5.65".to_owned()));
    assert_eq!(terms(&report), ["+6.25", "-0.6", "+0"]);
}

/// By hand: two rollings agree at 4.75 %, but packed concrete is found in the bowl. Not all its air was counted: no
/// result, whatever the readings say.
#[test]
fn undisturbed_concrete_in_the_bowl_voids_the_test_whatever_was_read() {
    let mut hand = Technician::at(60);
    hand.does(&[identify(), choose_alcohol("1.5"), fill_and_close(), charge(), free()].concat());
    hand.does(&roll(1, &[("5", "0.5"), ("4.75", "0.5")]));
    hand.does(&roll(2, &[("4.75", "0.25"), ("4.75", "0.25")]));
    hand.does(&empty_and_close()[..2]);
    hand.does(&[Act::answer("y", "yes")]);
    hand.terminal.wait_for("VOID");
    hand.terminal.wait_for("Attempt 1 has no result: Undisturbed concrete was left in the bowl");
    // Closed without a result; that is asked about first, since it cannot be taken back.
    hand.terminal.press(&["x"]);
    hand.terminal.wait_for("WHAT WENT WRONG?");
    hand.terminal.press(&["Enter"]);
    hand.terminal.wait_for("IS THAT SO?");
    hand.does(&[Act::answer("y", "close")]);
    hand.terminal.wait_for("The run is closed without a result.");

    let (_, report) = hand.leaves();
    assert_eq!(report["standing"], "without-result");
    assert_eq!(report["results"].as_array().map(Vec::len), Some(0), "{report:#}");
}

/// Two readings two minutes apart need four minutes at most; who reads only after six has no result.
#[test]
fn a_reading_begun_after_six_minutes_comes_too_late_and_the_attempt_ends_with_its_readings_kept() {
    let mut hand = Technician::at(120);
    hand.does(&[identify(), choose_alcohol("2.0"), fill_and_close(), charge(), free()].concat());
    hand.does(&roll(1, &[("6", "1")]));
    hand.terminal.wait_for_caption("THE TIME TO SETTLE IS OVER");
    hand.is_refused(&["6", "Enter"], "✗ The level did not settle within 6 minutes.");
    hand.terminal.press(&["Esc"]);
    hand.terminal.wait_for_caption("THE TIME TO SETTLE IS OVER");
    hand.does(&[Act::press()]);
    hand.terminal.wait_for("DISCARDED");
    hand.terminal.wait_for("Attempt 1 has no result: The level did not settle within 6 minutes");
    hand.terminal.leave();
    hand.site.verify();
    let report = hand.site.report();
    assert_eq!(
        (read(&report, 1, "level"), read(&report, 1, "foam")),
        (vec!["6.00".to_owned()], vec!["1.00".to_owned()])
    );
    assert_eq!(report["results"].as_array().map(Vec::len), Some(0), "{report:#}");
}
