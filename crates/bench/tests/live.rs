//! Several runs on one sample: what one tells another, whose turn it is, which limits close.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

use std::sync::Arc;

use bench::fact::{Fact, Facts};
use bench::live::{
    NewsKind, Repeat, Seat, Stand, Turn, Why, WindowState, due, marked, news, next_news, pool, repeat, stand, told,
    waits_for, windows,
};
use engine::{Act, Entry, Event, Moment, Phase, Run, Tick, Wall};
use procedure::{Edition, ReadingKind};
use quantity::{Span, System, Ties};

const PORTIONS: &str = include_str!("bench_data/portions.toml");
const CONE: &str = include_str!("bench_data/cone.toml");
const PROBE: &str = include_str!("bench_data/probe.toml");
const WEIGH: &str = include_str!("bench_data/weigh.toml");

fn edition(text: &str) -> Arc<Edition> {
    let checked = procedure::check("test.toml", text);
    let found = procedure::diagnose::render("test.toml", text, &checked.diagnostics, false);
    let procedure = checked.procedure.unwrap_or_else(|| panic!("{found}"));
    Arc::new(procedure.edition(System::InchPound).unwrap().clone())
}

fn at(s: u64) -> Moment {
    Moment { tick: Tick(s * 1_000), wall: Wall { unix_ms: 1_778_761_800_000 + s as i64 * 1_000, offset_min: -300 } }
}

/// A bench for tests: the names and procedures, and the runs that have been begun.
struct Bench {
    names: Vec<&'static str>,
    editions: Vec<Arc<Edition>>,
    runs: Vec<Option<Run>>,
    facts: Facts,
}

impl Bench {
    fn of(tests: &[(&'static str, &str)]) -> Self {
        let names: Vec<_> = tests.iter().map(|(name, _)| *name).collect();
        let editions: Vec<_> = tests.iter().map(|(_, text)| edition(text)).collect();
        let runs = tests.iter().map(|_| None).collect();
        Self { names, editions, runs, facts: Facts::new() }
    }

    fn usual() -> Self {
        Self::of(&[("portions", PORTIONS), ("cone", CONE), ("probe", PROBE), ("weigh", WEIGH)])
    }

    fn seats(&self) -> Vec<Seat<'_>> {
        let all = self.names.iter().zip(&self.editions).zip(&self.runs);
        all.map(|((name, edition), run)| Seat { name, edition, run: run.as_ref() }).collect()
    }

    fn n(&self, name: &str) -> usize {
        self.names.iter().position(|known| *known == name).unwrap()
    }

    fn begin(&mut self, name: &str, s: u64) -> &mut Self {
        let n = self.n(name);
        self.runs[n] = Some(Run::open(Arc::clone(&self.editions[n]), Ties::Even, at(s)));
        self
    }

    fn run(&self, name: &str) -> &Run {
        self.runs[self.n(name)].as_ref().unwrap()
    }

    fn step(&self, name: &str) -> &str {
        let run = self.run(name);
        &run.offer(run.last().tick).step.unwrap().1.id
    }

    #[track_caller]
    fn event(&mut self, name: &str, s: u64, event: Event) -> &mut Self {
        let n = self.n(name);
        self.runs[n].as_mut().unwrap().apply(event, at(s)).unwrap();
        self
    }

    /// Does the open step: presses, or answers with `value`.
    #[track_caller]
    fn act(&mut self, name: &str, s: u64, value: &str) -> &mut Self {
        let run = self.run(name);
        let event = match run.offer(Tick(s * 1_000)).act {
            Act::Answer(reading) => {
                let (step, _) = run.offer(Tick(s * 1_000)).step.unwrap();
                let entry = match &run.edition().reading(reading).kind {
                    ReadingKind::Number(scale) => Entry::Number(scale.read(value).unwrap()),
                    ReadingKind::Choice(choices) => {
                        Entry::Choice(choices.iter().position(|choice| choice.id == value).unwrap() as u16)
                    }
                    _ => Entry::Words(value.to_owned()),
                };
                Event::Answer { step, reading, entry, seen: Tick(s * 1_000), despite: None }
            }
            _ => run.press(Tick(s * 1_000)).unwrap(),
        };
        self.event(name, s, event)
    }

    /// Hands every run what follows from the others; says what that was.
    fn tell(&mut self, s: u64) -> Vec<String> {
        let mut said = Vec::new();
        for _ in 0..100 {
            let events = told(&self.seats(), &self.facts, at(s), |_| false);
            if events.is_empty() {
                return said;
            }
            for (n, event) in events {
                said.push(match &event {
                    Event::Known { moment, at } => {
                        format!(
                            "{} {} {}",
                            self.names[n],
                            self.editions[n].moments[*moment as usize],
                            at.tick.0 / 1_000
                        )
                    }
                    Event::Answer { reading, entry, .. } => {
                        let run = self.runs[n].as_ref().unwrap();
                        format!(
                            "{} {} {}",
                            self.names[n],
                            run.edition().reading(*reading).id,
                            run.show(*reading, entry)
                        )
                    }
                    other => format!("{other:?}"),
                });
                self.runs[n].as_mut().unwrap().apply(event, at(s)).unwrap();
            }
        }
        panic!("it never ends: {said:?}");
    }

    fn turns(&self, s: u64) -> Vec<(&'static str, Why)> {
        let order: Vec<usize> = (0..self.names.len()).collect();
        due(&self.seats(), &order, Tick(s * 1_000))
            .into_iter()
            .map(|Turn { run, why }| (self.names[run], why))
            .collect()
    }

    fn window(&self, name: &str, id: &str, s: u64) -> WindowState {
        let n = self.n(name);
        let all = windows(&self.seats(), Tick(s * 1_000));
        all.into_iter().find(|window| window.run == n && window.id == id).unwrap().state
    }

    /// The sample is taken: the last portion is in at `s`.
    fn sampled(s: u64) -> Self {
        let mut bench = Self::usual();
        bench.begin("portions", 0).act("portions", 1, "Mara Lind").act("portions", 2, "T-17");
        bench.act("portions", 10, "").act("portions", s, "");
        bench
    }
}

#[test]
fn what_was_written_once_is_not_asked_again() {
    let mut bench = Bench::usual();
    bench.begin("portions", 0).act("portions", 1, "Mara Lind").act("portions", 2, "T-17");
    bench.begin("cone", 5);
    assert_eq!(bench.tell(5), ["cone technician Mara Lind", "cone sample T-17"]);
    assert_eq!(bench.step("cone"), "ready");
    assert_eq!(bench.tell(5), [""; 0], "and then nothing more follows");
}

#[test]
fn the_site_answers_first_and_a_reading_goes_before_it() {
    let mut bench = Bench::usual();
    bench.facts.insert("technician".into(), Fact::Words("Mara Lind".into()));
    bench.facts.insert("scale-in-date".into(), Fact::Choice("no".into()));
    bench.begin("weigh", 0);
    assert_eq!(bench.tell(0), ["weigh technician Mara Lind", "weigh in_date No"]);
    bench.begin("portions", 1);
    bench.tell(1);
    bench.event("portions", 2, Event::Undo).act("portions", 3, "Otto Wendt");
    bench.begin("cone", 5);
    assert_eq!(bench.tell(5), ["cone technician Otto Wendt"], "what a person read on this sample counts");
}

#[test]
fn a_fact_that_does_not_fit_the_scale_is_asked() {
    for (fact, answered) in [
        (Fact::Number { value: "4.25".into(), unit: "in".into() }, true),
        (Fact::Number { value: "4 1/4".into(), unit: "in".into() }, true),
        (Fact::Number { value: "4.3".into(), unit: "in".into() }, false),
        (Fact::Number { value: "110".into(), unit: "mm".into() }, false),
        (Fact::Number { value: "13".into(), unit: "in".into() }, false),
        (Fact::Number { value: "4.25".into(), unit: "".into() }, false),
        (Fact::Words("4.25".into()), false),
    ] {
        let mut bench = Bench::usual();
        bench.facts.insert("slump".into(), fact.clone());
        bench.begin("weigh", 0).act("weigh", 1, "Mara Lind").act("weigh", 2, "yes");
        let said = bench.tell(2);
        assert_eq!(said, if answered { vec!["weigh slump 4.25 in"] } else { vec![] }, "{fact:?}");
    }
}

#[test]
fn an_answer_taken_back_is_asked_and_one_being_typed_is_left_alone() {
    let mut bench = Bench::usual();
    bench.facts.insert("technician".into(), Fact::Words("Mara Lind".into()));
    bench.begin("cone", 0);
    assert!(told(&bench.seats(), &bench.facts, at(0), |_| true).is_empty(), "somebody is typing");
    bench.tell(0);
    bench.event("cone", 1, Event::Undo);
    assert_eq!(bench.tell(1), [""; 0], "taken back, it is asked");
    bench.act("cone", 2, "Otto Wendt");
    assert_eq!(
        bench.run("cone").show(bench.run("cone").taken()[0].reading, &bench.run("cone").taken()[0].entry),
        "Otto Wendt"
    );
}

#[test]
fn a_result_answers_the_test_that_asks_for_it_but_not_the_test_that_gives_it() {
    let mut bench = Bench::sampled(60);
    bench.tell(60);
    bench.begin("cone", 61);
    bench.tell(61);
    bench.act("cone", 70, "").act("cone", 90, "").act("cone", 120, "").act("cone", 130, "4.25");
    assert_eq!(bench.run("cone").phase(), Phase::Finished);
    assert_eq!(
        pool(&bench.seats(), &bench.facts, None)["slump"],
        Fact::Number { value: "4.25".into(), unit: "in".into() }
    );
    bench.begin("weigh", 131);
    let said = bench.tell(131);
    assert_eq!(said, ["weigh last-portion 60", "weigh technician Mara Lind"]);
    bench.act("weigh", 132, "yes");
    assert_eq!(bench.tell(132), ["weigh slump 4.25 in"]);

    let mut again = Bench::of(&[("cone", CONE), ("cone-2", CONE)]);
    again.facts.insert("slump".into(), Fact::Number { value: "4.25".into(), unit: "in".into() });
    again.begin("cone-2", 0);
    again.act("cone-2", 1, "Mara Lind").act("cone-2", 2, "T-17").act("cone-2", 3, "");
    again.act("cone-2", 4, "").act("cone-2", 5, "").act("cone-2", 6, "");
    assert_eq!(again.step("cone-2"), "measure");
    assert_eq!(again.tell(7), [""; 0], "a second cone is measured");
}

#[test]
fn the_last_portion_is_marked_once_and_every_clock_counts_from_it() {
    let mut bench = Bench::usual();
    bench.begin("portions", 0).act("portions", 1, "Mara Lind").act("portions", 2, "T-17");
    bench.begin("cone", 3).begin("probe", 3);
    bench.tell(3);
    assert_eq!(bench.step("cone"), "ready");
    let (cone, portions) = (bench.n("cone"), bench.n("portions"));
    assert_eq!(waits_for(&bench.seats(), cone), Some(portions), "the sampling leads up to the last portion");
    assert_eq!(stand(&bench.seats(), cone, Tick(3_000)), Stand::For { run: portions });
    bench.act("portions", 10, "").act("portions", 60, "");
    assert_eq!(bench.tell(61), ["cone last-portion 60", "probe last-portion 60"]);
    assert_eq!((bench.step("cone"), bench.step("probe")), ("scoop", "place"), "nobody presses a second time");
    let clock = bench.run("cone").clocks(Tick(61_000)).next().unwrap();
    assert_eq!((clock.started, clock.due), (Tick(60_000), Tick(360_000)));
    assert_eq!(bench.tell(62), [""; 0]);

    // Taken back and marked again: the new moment is told.
    bench.event("portions", 70, Event::Undo).act("portions", 80, "");
    assert_eq!(bench.tell(80), ["cone last-portion 80", "probe last-portion 80"]);
    assert_eq!(bench.run("cone").clocks(Tick(81_000)).next().unwrap().due, Tick(380_000));
}

#[test]
fn without_a_sampling_whoever_is_there_marks_the_moment() {
    let mut bench = Bench::of(&[("cone", CONE), ("probe", PROBE)]);
    bench.begin("cone", 0).act("cone", 1, "Mara Lind").act("cone", 2, "T-17").begin("probe", 3);
    bench.tell(3);
    let probe = bench.n("probe");
    assert_eq!(waits_for(&bench.seats(), probe), None);
    bench.act("probe", 10, "");
    assert_eq!(bench.tell(11), ["cone last-portion 10"]);
    assert_eq!(marked(&bench.seats(), "last-portion"), Some((probe, at(10))));
}

#[test]
fn a_sampling_that_was_given_up_is_not_waited_for() {
    let mut bench = Bench::usual();
    bench.begin("cone", 0).act("cone", 1, "Mara Lind").act("cone", 2, "T-17");
    let cone = bench.n("cone");
    assert!(waits_for(&bench.seats(), cone).is_some(), "also of a run nobody has begun");
    bench.begin("portions", 3).event("portions", 4, Event::Discard { reason: "the truck left".into() });
    assert_eq!(waits_for(&bench.seats(), cone), None);
}

#[test]
fn a_limit_counts_for_a_test_nobody_has_begun() {
    let mut bench = Bench::sampled(60);
    let running = WindowState::Running { started: Tick(60_000), due: Tick(360_000) };
    assert_eq!(bench.window("cone", "start", 100), running);
    assert_eq!(bench.window("cone", "start", 360), running, "the limit itself is kept");
    assert_eq!(bench.window("cone", "start", 361), WindowState::Missed { due: Tick(360_000) });
    assert_eq!(bench.window("cone", "whole", 100), WindowState::NotStarted);
    assert_eq!(bench.window("portions", "portions", 100), WindowState::Kept { took: Span::from_secs(50) });

    bench.begin("cone", 300);
    bench.tell(300);
    assert_eq!(bench.window("cone", "start", 301), running, "begun, it is the same");
    bench.act("cone", 370, "");
    assert_eq!(bench.window("cone", "start", 371), WindowState::Late { by: Span::from_secs(10) });
    assert!(matches!(bench.window("cone", "whole", 371), WindowState::Running { .. }));
}

#[test]
fn a_limit_is_announced_once_ahead_of_time_and_once_when_it_is_over() {
    let bench = Bench::sampled(60);
    let seats = bench.seats();
    assert_eq!(next_news(&seats, Tick(60_000)), Some(Tick(300_000)), "a minute before five minutes are over");
    let said = |from: u64, to: u64| -> Vec<(&str, NewsKind)> {
        let all = news(&seats, Tick(from * 1_000), Tick(to * 1_000 + 1));
        all.into_iter().map(|news| (bench.names[news.window.run], news.kind)).collect()
    };
    assert_eq!(said(60, 299), []);
    let three = |kind| vec![("cone", kind), ("probe", kind), ("weigh", kind)];
    assert_eq!(said(299, 300), three(NewsKind::Near));
    assert_eq!(said(301, 359), []);
    assert_eq!(said(359, 360), three(NewsKind::Over), "one moment after the limit");
    assert_eq!(said(361, 9_999), []);
}

#[test]
fn the_last_fifth_of_a_short_limit_is_near() {
    let mut bench = Bench::sampled(60);
    bench.begin("cone", 61);
    bench.tell(61);
    bench.act("cone", 100, "");
    let n = bench.n("cone");
    let all = windows(&bench.seats(), Tick(101_000));
    let whole = all.iter().find(|window| window.run == n && window.id == "whole").unwrap();
    assert_eq!(whole.near_from(), Some(Tick(100_000 + 120_000)), "30 s of 150 s");
    assert!(!whole.is_near(Tick(219_999)) && whole.is_near(Tick(220_000)));
    assert_eq!(whole.left(Tick(101_000)), Some(Span::from_secs(149)));
}

#[test]
fn what_must_not_be_late_comes_first_and_what_soaks_without_hands_last() {
    let mut bench = Bench::sampled(60);
    bench.tell(60);
    let soon = Why::Before { due: Tick(360_000) };
    assert_eq!(
        bench.turns(61),
        [("cone", soon), ("probe", soon), ("weigh", soon), ("portions", Why::Next)],
        "the plan decides among equals"
    );
    bench.begin("probe", 70);
    bench.tell(70);
    bench.act("probe", 80, "").act("probe", 81, "");
    let n = bench.n("probe");
    assert_eq!(stand(&bench.seats(), n, Tick(90_000)), Stand::HandsFree { until: Tick(201_000) });
    assert_eq!(bench.turns(90).last(), Some(&("probe", Why::Until { until: Tick(201_000) })));
    assert_eq!(stand(&bench.seats(), n, Tick(201_000)), Stand::Ready { since: Tick(201_000) });
    let turns = bench.turns(210);
    assert_eq!(turns[..2], [("cone", soon), ("weigh", soon)]);
    assert_eq!(turns[2], ("probe", Why::Before { due: Tick(681_000) }), "it must come out within ten minutes");
    let late = bench.turns(400);
    assert_eq!(late[0].0, "probe", "what is late already hurries nobody: what can be kept comes first");
}

#[test]
fn a_discarded_test_is_repeated_while_the_sample_is_fresh() {
    let mut bench = Bench::sampled(60);
    bench.tell(60);
    bench.begin("cone", 61);
    bench.tell(61);
    let n = bench.n("cone");
    assert_eq!(repeat(&bench.seats(), n, Tick(61_000)), Repeat::NotAsked);
    bench.act("cone", 100, "").event("cone", 150, Event::Incident { incident: 0 });
    assert_eq!(repeat(&bench.seats(), n, Tick(151_000)), Repeat::Allowed { until: Some(Tick(360_000)) });
    assert_eq!(bench.turns(151)[0], ("cone", Why::Before { due: Tick(360_000) }));
    let Repeat::NewSample { because } = repeat(&bench.seats(), n, Tick(365_000)) else { panic!() };
    assert_eq!(because, "Cone begun after the sample within 5 min, and that was over 5 s ago");
    bench.event("cone", 200, Event::Again);
    assert!(bench.run("cone").clocks(Tick(201_000)).any(|clock| clock.due == Tick(360_000)), "the sample is the same");
}

#[test]
fn every_open_run_stands_in_the_list_once() {
    let mut bench = Bench::sampled(60);
    bench.act("portions", 61, "2").event("portions", 62, Event::Close);
    for s in [62, 100, 400] {
        let mut names: Vec<_> = bench.turns(s).into_iter().map(|(name, _)| name).collect();
        names.sort_unstable();
        assert_eq!(names, ["cone", "probe", "weigh"]);
    }
}
