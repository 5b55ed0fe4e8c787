//! A run among others on one sample: moments told from outside, layers, results that need not be, appointments.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

mod common;

use std::sync::Arc;

use common::{Technician, edition_of, moment};
use engine::{ClockOf, Entry, Event, FindingKind, Moment, Phase, Refused, Run, Status, Tick, wire};
use procedure::Edition;
use quantity::{Decimal, Exact, System, Ties};

const STACK: &str = include_str!("../../procedure/tests/procedures/stack.toml");

fn stack() -> Arc<Edition> {
    edition_of(STACK, System::Si)
}

/// A run opened twenty minutes after its sample's count began.
fn technician() -> Technician {
    let now_ms = 1_200_000;
    Technician { run: Run::open(stack(), Ties::Even, moment(now_ms)), now_ms }
}

impl Technician {
    fn told(&mut self, name: &str, at_ms: u64) -> &mut Self {
        let moment_id = self.run.edition().moment_named(name).unwrap();
        self.event(Event::Known { moment: moment_id, at: moment(at_ms) })
    }
    fn status(&self, step: &str) -> Status {
        self.run.status(self.run.edition().step_named(step).unwrap())
    }
    fn known(&self, name: &str) -> Option<Moment> {
        self.run.known(self.run.edition().moment_named(name).unwrap())
    }
    fn marked(&self, name: &str) -> Option<Moment> {
        self.run.marked(self.run.edition().moment_named(name).unwrap())
    }
    /// When the limit from the last portion to the first layer started, if its clock runs.
    fn limit(&self) -> Option<u64> {
        let mut clocks = self.run.clocks(Tick(self.now_ms));
        clocks.find(|clock| matches!(clock.of, ClockOf::Limit(0))).map(|clock| clock.started.0)
    }
    fn late(&self) -> Option<u64> {
        self.run.findings().iter().find_map(|finding| match &finding.what {
            FindingKind::Late { took, .. } => Some(took.0),
            _ => None,
        })
    }
    fn undo(&mut self) -> &mut Self {
        self.event(Event::Undo)
    }
    /// Everything of the first stage but the moment of the last portion.
    fn prepared(&mut self, size: &str, layers: &str) -> &mut Self {
        self.read("technician", "T. Example").read("size", size).read("layers", layers)
    }
    /// The layers and the soaking and turning.
    fn layers(&mut self, n: usize) -> &mut Self {
        for _ in 0..n {
            assert_eq!(self.step_name(), "rod");
            self.wait(30).press();
        }
        self.press().wait(60).press();
        self.press().wait(4).press().wait(4).press()
    }
    fn end(&mut self, n_7: &str) -> &mut Self {
        self.read("ready", "yes").read("n_7", n_7).wait(10).press()
    }
}

// ---------------------------------------------------------------------------- moments

#[test]
fn a_moment_told_before_its_step_leaves_the_step_out_and_starts_its_limit() {
    let mut tech = technician();
    tech.told("last-portion", 1_100_000);
    assert_eq!((tech.known("last-portion"), tech.marked("last-portion")), (Some(moment(1_100_000)), None));
    assert_eq!(tech.limit(), Some(1_100_000), "counted from before the run was opened");
    assert_eq!(tech.status("last-in"), Status::LeftOut);
    tech.prepared("small", "2");
    assert_eq!(tech.step_name(), "rod", "nobody is asked for what is known");
    assert_eq!(tech.status("last-in"), Status::LeftOut);
    tech.wait(199).press();
    assert_eq!(tech.late(), None, "1:59 and 1:40 make less than five minutes");
    assert_eq!(tech.limit(), None, "the limit is over");
}

#[test]
fn lateness_is_judged_from_the_moment_as_it_was_told() {
    let mut tech = technician();
    tech.told("last-portion", 1_000_000).prepared("small", "1").wait(101).press();
    assert_eq!(tech.late(), Some(301_000));
    assert_eq!(tech.run.passed()[3].step, tech.run.edition().step_named("rod").unwrap());
}

#[test]
fn a_moment_told_at_its_open_step_goes_on_to_the_next() {
    let mut tech = technician();
    tech.prepared("small", "1");
    assert_eq!(tech.step_name(), "last-in");
    tech.wait(5).told("last-portion", 1_190_000);
    assert_eq!((tech.step_name().as_str(), tech.run.passed().len()), ("rod", 3));
    assert_eq!(tech.run.offer(Tick(tech.now_ms)).standing.opened, tech.now());
}

#[test]
fn a_step_done_by_this_run_itself_counts_more_than_what_is_told() {
    let mut tech = technician();
    tech.prepared("small", "1").press();
    let own = tech.now();
    tech.wait(20).told("last-portion", 600_000);
    assert_eq!((tech.step_name().as_str(), tech.status("last-in")), ("rod", Status::Done));
    assert_eq!((tech.marked("last-portion"), tech.limit()), (Some(own), Some(own.tick.0)));
    tech.wait(30).press();
    assert_eq!(tech.late(), None);
}

#[test]
fn a_moment_that_lies_ahead_counts_from_when_it_was_told() {
    let mut tech = technician();
    tech.told("last-portion", 1_900_000);
    assert_eq!(tech.known("last-portion"), Some(tech.now()));
}

#[test]
fn a_later_word_replaces_the_one_before() {
    let mut tech = technician();
    tech.told("last-portion", 600_000).told("last-portion", 1_150_000).prepared("small", "1").wait(30).press();
    assert_eq!((tech.known("last-portion"), tech.late()), (Some(moment(1_150_000)), None));
}

#[test]
fn what_is_told_stays_for_every_attempt() {
    let mut tech = technician();
    tech.told("last-portion", 1_190_000).prepared("small", "1").layers(1);
    tech.read("ready", "no");
    assert_eq!(tech.run.phase(), Phase::Ended);
    tech.event(Event::Again);
    assert_eq!((tech.step_name().as_str(), tech.limit()), ("rod", Some(1_190_000)));
    assert_eq!(tech.status("last-in"), Status::LeftOut);
    tech.wait(300).press();
    assert!(tech.late().is_some(), "the second attempt has the same five minutes");
    assert_eq!(tech.step_name(), "look", "a step for later attempts alone");
}

#[test]
fn undo_takes_back_the_last_act_and_what_was_told_stays_in_force() {
    let mut tech = technician();
    tech.prepared("small", "1");
    let layers = tech.run.last_act().unwrap().clone();
    tech.wait(5).told("last-portion", 1_190_000);
    assert_eq!(tech.run.last_act(), Some(&layers), "what was told is no act");
    tech.undo();
    assert_eq!((tech.step_name().as_str(), tech.known("last-portion")), ("layers", Some(moment(1_190_000))));
    assert_ne!(tech.run.last_act(), Some(&layers));
    tech.event(Event::Redo);
    assert_eq!(tech.step_name(), "rod", "read again, and on past the step that is not needed");

    // Undo down to the first act: what was told is no act.
    while tech.run.can_undo() {
        tech.undo();
    }
    assert_eq!((tech.step_name().as_str(), tech.known("last-portion")), ("technician", Some(moment(1_190_000))));
    assert_eq!(tech.try_event(Event::Undo), Err(Refused::NothingToUndo));
    for _ in 0..3 {
        tech.event(Event::Redo);
    }
    assert_eq!(tech.step_name(), "rod");
}

#[test]
fn what_was_taken_back_can_still_happen_after_something_was_told() {
    let mut tech = technician();
    tech.read("technician", "T. Example").undo().told("last-portion", 1_190_000);
    assert!(tech.run.can_redo());
    tech.event(Event::Redo);
    assert_eq!(tech.step_name(), "size");
}

#[test]
fn a_correction_keeps_what_was_told_before_and_after_the_fork() {
    let mut tech = technician();
    tech.told("last-portion", 1_150_000).prepared("large", "1").layers(1);
    tech.read("height", "100").read("width", "200").told("moulded", 1_195_000);
    let size = tech.run.edition().reading_named("size").unwrap();
    let seq = tech.run.taken().iter().find(|taken| taken.reading == size).unwrap().seq;
    tech.event(Event::Correct { seq, entry: Entry::Choice(0), reason: "read the wrong mould".to_owned() });
    assert_eq!(tech.step_name(), "ready", "a small one has no height");
    assert_eq!(tech.known("last-portion"), Some(moment(1_150_000)));
    assert_eq!(tech.known("moulded"), Some(moment(1_195_000)));
    tech.undo();
    assert_eq!(tech.known("moulded"), Some(moment(1_195_000)));
    tech.read("ready", "yes").read("n_7", "2");
    assert_eq!(tech.run.phase(), Phase::Finished, "the last step only marks what is known");
}

#[test]
fn a_step_that_was_begun_is_not_taken_out_of_anybodys_hands() {
    let text = STACK.replace(
        "  moment = \"last-portion\"",
        "  moment = \"last-portion\"\n  hold   = { at_least = \"5 s\" }\n  source = \"ours\"",
    );
    let mut tech = Technician { run: Run::open(edition_of(&text, System::Si), Ties::Even, moment(0)), now_ms: 0 };
    tech.prepared("small", "1").wait(1).press().wait(1).told("last-portion", 500);
    assert_eq!(tech.step_name(), "last-in", "it is under way");
    tech.wait(9).press();
    assert_eq!(tech.marked("last-portion"), Some(moment(11_000)));
}

#[test]
fn a_closed_run_is_told_nothing_and_a_moment_nobody_marks_is_none() {
    let mut tech = technician();
    assert_eq!(tech.try_event(Event::Known { moment: 9, at: moment(0) }), Err(Refused::NoSuchMoment));
    tech.prepared("small", "1").press().layers(1).end("0");
    assert_eq!(tech.run.phase(), Phase::Finished);
    tech.told("last-portion", 1_000_000);
    tech.event(Event::Close);
    assert_eq!(tech.try_event(Event::Known { moment: 0, at: moment(0) }), Err(Refused::RunClosed));
}

#[test]
fn what_was_told_is_written_by_name_and_reads_back() {
    let event = Event::Known { moment: 0, at: moment(1_190_000) };
    let written = wire::write(&stack(), &event, None);
    let text = serde_json::to_string(&written).unwrap();
    insta::assert_snapshot!(text, @r#"{"what":"known","moment":"last-portion","at":{"t":1190000,"unix_ms":1778762990000,"offset_min":-300}}"#);
    assert_eq!(wire::read(&stack(), &serde_json::from_str(&text).unwrap()), Ok(event));
    let other = text.replace("last-portion", "composite");
    let refused = wire::read(&stack(), &serde_json::from_str(&other).unwrap()).unwrap_err();
    assert_eq!(refused.to_string(), "the procedure has no moment called “composite”");
}

// ---------------------------------------------------------------------------- layers

#[test]
fn a_stage_is_done_as_often_as_was_read_and_never_more_than_its_most() {
    for (layers, rounds) in [("0", 1), ("1", 1), ("2", 2), ("3", 3), ("4", 4), ("5", 4), ("9", 4)] {
        let mut tech = technician();
        tech.prepared("small", layers).press();
        let mut n = 0;
        while tech.step_name() == "rod" {
            n += 1;
            let wanted = if layers == "0" { None } else { Some(rounds) };
            assert_eq!(tech.run.rounds_wanted(), wanted, "known before they are done");
            let step = tech.run.offer(Tick(tech.now_ms)).step.unwrap().1;
            assert_eq!(
                tech.run.say(&step.instruction),
                format!("Rod layer {n} 25 times, no more than 3 mm proud"),
                "the text says which layer it is"
            );
            tech.wait(30).press();
        }
        assert_eq!((n, tech.step_name().as_str()), (rounds, "soak"), "{layers} layers");
        assert!(tech.run.endings().is_empty() && tech.run.rounds().is_empty(), "nothing is compared");
    }
}

#[test]
fn a_round_that_is_taken_back_is_done_again() {
    let mut tech = technician();
    tech.prepared("small", "2").press().press();
    assert_eq!(tech.run.offer(Tick(tech.now_ms)).round, 2);
    tech.undo();
    assert_eq!(tech.run.offer(Tick(tech.now_ms)).round, 1);
    tech.press().press();
    assert_eq!(tech.step_name(), "soak");
}

#[test]
fn rounds_whose_number_is_unknown_or_no_whole_number_end_after_the_first() {
    // The checker lets no such file through; a formula can still come to nothing.
    for times in
        ["layers / 2", "layers / 0 layer", "layers / (layers - 3 layer)", "sqrt(layers / 1 layer)", "0 layer - layers"]
    {
        let text = STACK.replace("times = \"layers\"", &format!("times = \"{times}\""));
        if times.contains("/ 0") {
            assert!(!procedure::check("stack.toml", &text).is_sound());
            continue;
        }
        let mut tech = Technician { run: Run::open(edition_of(&text, System::Si), Ties::Even, moment(0)), now_ms: 0 };
        tech.prepared("small", "3").press().press();
        assert_eq!(tech.step_name(), "soak", "{times}");
    }
}

// ---------------------------------------------------------------------------- results and appointments

#[test]
fn a_result_is_reported_only_where_its_condition_holds() {
    let mut small = technician();
    small.prepared("small", "1").press().layers(1).end("2");
    assert_eq!(small.run.phase(), Phase::Finished, "a run without a result is finished all the same");
    assert!(small.run.results().is_empty() && small.run.findings().is_empty());
    small.event(Event::Close);
    assert_eq!(small.run.phase(), Phase::Closed { with_result: true });

    let mut large = technician();
    large.prepared("large", "1").press().layers(1).read("height", "200").read("width", "100").end("2");
    let reported = |tech: &Technician| tech.run.results().first().map(|result| result.reported.to_string());
    assert_eq!(reported(&large).as_deref(), Some("1.41"));
    assert_eq!(large.run.results()[0].reported.exact.show(20), "≈ 1.41421356237309504880");
    assert_eq!(large.run.findings().len(), 1, "higher than wide");
}

#[test]
fn a_result_that_rests_on_nothing_read_is_not_reported() {
    let text = STACK.replace("when   = \"size == large\"\nshared", "when   = \"known(technician)\"\nshared");
    let mut tech = Technician { run: Run::open(edition_of(&text, System::Si), Ties::Even, moment(0)), now_ms: 0 };
    tech.prepared("small", "1").press().layers(1).end("0");
    assert_eq!((tech.run.phase(), tech.run.results().len()), (Phase::Finished, 0));
}

#[test]
fn an_appointment_is_due_so_long_after_its_step_by_the_wall_clock_of_the_site() {
    let mut tech = technician();
    tech.prepared("small", "1").press().layers(1);
    assert!(tech.run.appointments().is_empty(), "nothing is moulded yet");
    tech.end("3");
    let done = tech.run.passed().last().unwrap().done;
    let due = tech.run.appointments();
    let [broken, moved] = due.as_slice() else { panic!("{due:?}") };
    assert_eq!(
        (broken.spec.id.as_str(), tech.run.say(&broken.spec.title).as_str()),
        ("break-7", "Break 3 piece at 7 days")
    );
    assert_eq!(broken.at.wall.unix_ms - done.wall.unix_ms, 7 * 86_400_000);
    assert_eq!(broken.at.wall.offset_min, -300);
    assert_eq!(broken.count, Some(Exact::from_int(3)));
    assert_eq!(broken.spec.give_or_take.map(|span| span.to_string()).as_deref(), Some("6 h"));
    assert_eq!((moved.at.wall.unix_ms - done.wall.unix_ms, &moved.count), (86_400_000, &None));

    // None are broken at 7 days: no appointment for it.
    let n_7 = tech.run.edition().reading_named("n_7").unwrap();
    let seq = tech.run.latest(n_7).unwrap().seq;
    tech.event(Event::Correct { seq, entry: Entry::Number(Decimal::ZERO), reason: "all at 28 days".to_owned() });
    assert_eq!(tech.run.appointments().len(), 1);
}

#[test]
fn a_discarded_attempt_leaves_no_appointment() {
    let mut tech = technician();
    tech.prepared("small", "1").press().layers(1);
    tech.told("moulded", 1_100_000);
    assert_eq!(tech.run.appointments().len(), 1, "moulded elsewhere; how many for 7 days is not read yet");
    tech.event(Event::Discard { reason: "dropped".to_owned() });
    assert!(tech.run.appointments().is_empty());
}
