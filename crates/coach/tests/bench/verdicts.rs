//! Results beside their limits, the check test, papers, and what no longer stands: on the screen, in lines, on the disk.

use bench::calendar::Date;
use bench::site::{self, Site};
use coach::screen::{BenchOptions, Deed, Effect};
use crossterm::event::{KeyCode, KeyModifiers};
use engine::{Event, Phase, Tick};

use super::desk::{CONE, Desk, PORTIONS, PROBE, WEIGH, moment};
use super::lines::Bench;

const FOUR: [(&str, &str); 4] = [("portions", PORTIONS), ("cone", CONE), ("probe", PROBE), ("weigh", WEIGH)];

pub fn site_text(check_test: &str) -> String {
    format!(
        "[site]\nproject = \"Harrow Bend footbridge\"\nsystem = \"inch-pound\"\n\n[[limit]]\nresult = \"slump\"\n\
         at_least = \"3 in\"\nat_most = \"5 in\"\ncheck_test = {check_test}\n"
    )
}

fn site(check_test: &str) -> Option<Site> {
    site::check("site.toml", &site_text(check_test)).site
}

fn expired() -> Option<Site> {
    let text = "[site]\nproject = \"Harrow Bend footbridge\"\n[[technician]]\nname = \"Mara Lind\"\nexpires = 2026-01-31\n\
                [[apparatus]]\nkind = \"cone\"\nid = \"C-4\"\ndue = 2026-01-31\n";
    site::check("site.toml", text).site
}

fn options(site: Option<Site>) -> BenchOptions {
    let day = Date::of(moment(Tick(0)).wall);
    BenchOptions { sample: "Pier 4".into(), place: "/data".into(), site, day, ..BenchOptions::default() }
}

/// The cone is lifted and measured, a minute and a bit after the last portion.
fn measured(check_test: &str, slump: &str) -> Desk {
    let mut desk = Desk::with(&FOUR, options(site(check_test)));
    desk.now = Tick(5_000);
    desk.answer("Mara Lind").answer("T-17").space();
    desk.wait(55_000);
    desk.space().go(2).space().space().space();
    desk.take_deeds();
    desk.answer(slump);
    desk
}

/// The words on a screen on which the run in focus has the whole width.
#[track_caller]
fn sees(desk: &Desk, words: &str) {
    let lines = desk.lines(110, 40).join(" ");
    let all = lines.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(all.contains(words), "{words:?} is not on the screen:\n{}", desk.picture(110, 40));
}

fn in_lines(check_test: &str, slump: &str) -> (Bench, Vec<String>) {
    let mut bench = Bench::on_site(site(check_test));
    bench.say(&["Mara Lind", "T-17", "next", "next", "focus cone", "next", "next", "next"]);
    let said = bench.say(&[slump]);
    (bench, said)
}

#[track_caller]
fn one<'s>(said: &'s [String], word: &str) -> &'s str {
    let found: Vec<&String> = said.iter().filter(|line| line.contains(&format!("{word} "))).collect();
    assert_eq!(found.len(), 1, "one {word} in {said:?}");
    found[0]
}

// ---------------------------------------------------------------------------------------------- verdicts

#[test]
fn result_limit_and_verdict_stand_together_on_the_screen_as_soon_as_there_is_a_result() {
    let mut desk = measured("true", "4.25");
    sees(&desk, "Slump: 4.25 in within 3 in to 5 in, compared as 4 in");
    assert!(desk.said().iter().any(|said| said == "cone: Slump: 4.25 in within 3 in to 5 in, compared as 4 in."));
    desk.space().go(3);
    sees(&desk, "✓ cone");
    sees(&desk, "slump 4.25 in within 3 in to 5 in");
    // A message of the run in focus goes with the next act; the verdict stays with the result.
    desk.go(2);
    sees(&desk, "Slump: 4.25 in within 3 in to 5 in, compared as 4 in");
}

#[test]
fn a_result_outside_says_so_in_words_and_rings_and_is_taken_back_with_the_reading() {
    let mut desk = measured("true", "6");
    sees(&desk, "6.00 in ABOVE 3 in to 5 in");
    sees(&desk, "Make a check test at once");
    sees(&desk, "Ctrl-K begins it");
    assert!(desk.bells() > 0);
    desk.keys("u");
    assert!(!desk.words().contains("ABOVE"), "{}", desk.picture(120, 40));
    desk.answer("2");
    sees(&desk, "2.00 in BELOW 3 in to 5 in");
}

#[test]
fn a_verdict_is_said_in_the_line_of_its_run_and_once() {
    let (mut bench, said) = in_lines("true", "4.25");
    assert_eq!(one(&said, "VERDICT"), "[cone] VERDICT slump within 4.25 in within 3 in to 5 in, compared as 4 in");
    let at = |word: &str| said.iter().position(|line| line.contains(word)).unwrap();
    assert!(at("RESULT slump") < at("VERDICT slump"), "{said:?}");
    let said = bench.say(&["bench"]);
    assert!(said[1].ends_with(": slump 4.25 in within 3 in to 5 in, compared as 4 in"), "{said:?}");
    assert!(said.iter().all(|line| !line.contains("VERDICT")));
}

#[test]
fn without_a_site_file_nothing_is_judged() {
    let mut bench = Bench::on_site(None);
    bench.say(&["Mara Lind", "T-17", "next", "next", "focus cone", "next", "next", "next"]);
    let said = bench.say(&["6"]);
    assert!(said.iter().all(|line| !line.contains("VERDICT")), "{said:?}");
    assert_eq!(
        bench.say(&["check-test cone"]),
        ["[cone] REFUSED cone has no result with a limit, so no check test is called for."]
    );
}

// ---------------------------------------------------------------------------------------------- check tests

#[test]
fn one_key_makes_the_check_test_on_the_same_sample_and_its_verdict_decides() {
    let mut desk = measured("true", "6");
    desk.take_deeds();
    desk.key(KeyCode::Char('k'), KeyModifiers::CONTROL);
    let deeds = desk.take_deeds();
    let at = moment(desk.now);
    assert_eq!(deeds[0], Deed::Add { check_of: 1, name: "cone-2".to_owned(), at });
    assert_eq!(deeds[1], Deed::Begin { run: 4, at }, "put on record before it is begun");
    assert_eq!((desk.focus(), desk.step("cone-2")), ("cone-2", "scoop".to_owned()), "all that is known is told");
    sees(&desk, "cone-2 (check test of cone)");
    desk.space().space().space().answer("4");
    sees(&desk, "4.00 in within 3 in to 5 in");
    sees(&desk, "The check test keeps the limit, and it decides.");
    desk.go(2).key(KeyCode::Char('k'), KeyModifiers::CONTROL);
    sees(&desk, "“cone-2” is the check test of cone already; one is made, not more.");
    assert_eq!(desk.bench.members().len(), 5);
}

#[test]
fn the_overview_offers_the_check_test_of_the_run_chosen_there() {
    let mut desk = measured("\"average\"", "6");
    desk.go(1).press(KeyCode::BackTab);
    sees(&desk, "+ check test");
    desk.keys("+");
    assert_eq!(desk.bench.members().len(), 4, "the sampling has no result to be checked");
    desk.press(KeyCode::Down).keys("+");
    assert_eq!(desk.focus(), "cone-2");
    desk.space().space().space().answer("4.25");
    sees(&desk, "Average of 6 in and 4.25 in: 5.125 in within 3 in to 5 in, compared as 5 in.");
    let mut desk = measured("true", "4");
    desk.press(KeyCode::BackTab);
    assert!(!desk.words().contains("+ check test"), "only where a result calls for one");
}

#[test]
fn a_check_test_is_refused_where_none_is_called_for_and_without_a_reason_where_it_is_too_late() {
    let mut desk = measured("false", "6");
    desk.key(KeyCode::Char('k'), KeyModifiers::CONTROL);
    sees(&desk, "The specification allows no check test");
    let mut desk = measured("true", "6");
    desk.wait(600_000);
    desk.key(KeyCode::Char('k'), KeyModifiers::CONTROL);
    sees(&desk, "A new sample is needed: Cone begun after the sample");
    assert_eq!(desk.bench.members().len(), 4);
    desk.keys("o").press(KeyCode::Enter);
    assert_eq!(desk.bench.members().len(), 4, "not without a reason");
    desk.keys("the engineer asks for it").press(KeyCode::Enter);
    assert_eq!(desk.focus(), "cone-2");
    let remark = Event::Remark {
        text: "Check test made on this sample although its time was over: the engineer asks for it".to_owned(),
    };
    let deeds = desk.take_deeds();
    let kept =
        deeds.iter().position(|deed| matches!(deed, Deed::Of(1, Effect::Keep { event, .. }) if *event == remark));
    let added = deeds.iter().position(|deed| matches!(deed, Deed::Add { .. }));
    assert!(kept.is_some() && kept < added, "the reason first: {deeds:?}");
}

#[test]
fn in_lines_a_word_makes_the_check_test() {
    let (mut bench, said) = in_lines("true", "6");
    assert_eq!(
        one(&said, "VERDICT"),
        "[cone] VERDICT slump above 6.00 in ABOVE 3 in to 5 in, compared as 6 in. Make a check test at once, on another \
         portion of the same sample; its result decides. To begin it: check-test cone"
    );
    assert!(bench.say(&["check-test conee"])[0].starts_with("ERROR No run is called “conee”. Did you mean “cone”?"));
    let said = bench.say(&["check-test cone"]);
    assert_eq!(said[..3], ["[cone-2] ADDED check test of cone", "[cone-2] FOCUS", "[cone-2] BEGUN run-4"]);
    assert_eq!(bench.record.added, [(1, "cone-2".to_owned())]);
    let said = bench.say(&["next", "next", "next", "7"]);
    assert_eq!(
        one(&said, "VERDICT"),
        "[cone-2] VERDICT slump above 7.00 in ABOVE 3 in to 5 in, compared as 7 in. The check test is outside as well: the \
         concrete fails this limit."
    );
    assert!(
        bench.say(&["check-test cone"])[0].starts_with("[cone] REFUSED “cone-2” is the check test of cone already")
    );
}

#[test]
fn in_lines_a_check_test_too_late_for_the_sample_takes_a_reason() {
    let (mut bench, _) = in_lines("true", "6");
    bench.wait(400);
    let said = bench.say(&["check-test cone"]);
    assert!(said[0].starts_with("[cone] REFUSED A new sample is needed: Cone begun after the sample within 5 min"));
    assert!(said[1].starts_with("[cone] DESPITE"));
    assert!(bench.record.added.is_empty());
    assert!(bench.say(&["check-test cone despite"])[0].starts_with("ERROR The form is"));
    let said = bench.say(&["check-test cone despite the engineer asks for it"]);
    assert!(said[0].starts_with("[cone] RECORDED"), "{said:?}");
    assert!(said.iter().any(|line| line.ends_with("its time was over: the engineer asks for it")), "{said:?}");
    assert_eq!(bench.record.added.len(), 1);
}

// ---------------------------------------------------------------------------------------------- papers

#[test]
fn a_paper_that_does_not_hold_is_said_before_the_first_act() {
    let mut desk = Desk::with(&FOUR, options(expired()));
    sees(&desk, "Mara Lind: the certification expired on 2026-01-31");
    sees(&desk, "It stays on the report.");
    assert!(!desk.words().contains("C-4"), "no test on this bench asks for that piece");
    assert!(desk.bells() > 0);
    desk.answer("Mara Lind");
    sees(&desk, "the certification expired on 2026-01-31");
    let bench = Bench::on_site(expired());
    assert!(bench.opening[1].starts_with("PAPER finding Mara Lind: the certification expired on 2026-01-31"));
}

#[test]
fn a_paper_that_does_not_hold_is_said_again_in_every_run_that_names_it() {
    let mut bench = Bench::on_site(expired());
    let said = bench.say(&["Mara Lind"]);
    assert!(one(&said, "PAPER").starts_with("[portions] PAPER finding Mara Lind:"), "{said:?}");
    let said = bench.say(&["focus cone"]);
    assert!(one(&said, "PAPER").starts_with("[cone] PAPER finding Mara Lind:"), "told is named as well: {said:?}");
    let said = bench.say(&["focus portions", "T-17"]);
    assert!(said.iter().all(|line| !line.contains("PAPER")), "once in each: {said:?}");
}

// ---------------------------------------------------------------------------------------------- too late, and stale

#[test]
fn another_attempt_on_a_sample_that_is_too_old_takes_a_reason_on_the_screen() {
    let mut desk = Desk::sampled(&FOUR);
    desk.go(2).space().keys("x1y");
    desk.wait(301_000);
    desk.space();
    assert_eq!(desk.run("cone").phase(), Phase::Ended);
    sees(&desk, "A new sample is needed: Cone begun after the sample within 5 min");
    desk.keys("o").keys("no truck is left").press(KeyCode::Enter);
    assert_eq!((desk.run("cone").phase(), desk.run("cone").attempt()), (Phase::AtStep, 2));
    let texts: Vec<String> = desk
        .take_deeds()
        .into_iter()
        .filter_map(|deed| match deed {
            Deed::Of(1, Effect::Keep { event: Event::Remark { text }, .. }) => Some(text),
            _ => None,
        })
        .collect();
    assert_eq!(texts, ["Repeated on this sample although its time was over: no truck is left"]);
}

#[test]
fn another_attempt_in_time_is_begun_as_ever() {
    let mut desk = Desk::sampled(&FOUR);
    desk.go(2).space().keys("x1y");
    desk.wait(100_000);
    desk.space();
    assert_eq!(desk.run("cone").attempt(), 2);
}

#[test]
fn another_attempt_on_a_sample_that_is_too_old_takes_a_reason_in_lines() {
    for word in ["again", "next"] {
        let mut bench = Bench::on_site(None);
        bench.say(&["Mara Lind", "T-17", "next", "next", "cone: next", "cone: incident sheared"]);
        bench.wait(400);
        let said = bench.say(&[&format!("cone: {word}")]);
        assert!(said[0].starts_with("[cone] REFUSED A new sample is needed: Cone begun after the sample"), "{said:?}");
        assert!(said[1].starts_with("[cone] DESPITE"), "{said:?}");
        assert_eq!(bench.talk.places()[1].run().unwrap().attempt(), 1);
        let said = bench.say(&["cone: despite no truck is left"]);
        assert!(said.iter().any(|line| line.ends_with("its time was over: no truck is left")), "{said:?}");
        assert_eq!(bench.talk.places()[1].run().unwrap().attempt(), 2);
    }
}

#[test]
fn a_shared_fact_that_was_corrected_is_said_where_it_was_told() {
    let mut bench = Bench::on_site(None);
    bench.say(&["Mara Lind", "T-17", "next", "next", "cone: where"]);
    let said = bench.say(&["readings"]);
    let seq = said.iter().find(|line| line.contains("sample T-17")).unwrap().split(' ').nth(2).unwrap().to_owned();
    let said = bench.say(&[&format!("correct {seq} T-18 because misread")]);
    assert_eq!(
        one(&said, "STALE"),
        "[cone] STALE the sample was corrected from T-17 to T-18 in portions; this run was told T-17: correct it here too"
    );
}

#[test]
fn a_moment_that_is_taken_back_is_said_where_it_was_told() {
    let mut desk = Desk::sampled(&FOUR);
    desk.go(2).go(1).keys("u");
    sees(&desk, "cone: the last portion was taken back; this run still counts from");
    let mut bench = Bench::on_site(None);
    bench.say(&["Mara Lind", "T-17", "next", "next", "cone: where"]);
    let said = bench.say(&["undo"]);
    assert!(
        one(&said, "STALE").starts_with("[cone] STALE the last portion was taken back; this run still counts from")
    );
}
