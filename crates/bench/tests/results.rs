//! What is said once on a bench when it becomes true: verdicts and check tests, papers, what no longer stands.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

use std::sync::Arc;

use bench::fact::{Fact, Facts};
use bench::live::{Role, Said, Seat, Watch, check_name, may_check, told, too_late_for};
use bench::papers::Weight;
use bench::site::{self, Site};
use engine::{Act, Entry, Event, Moment, Run, Tick, Wall};
use procedure::{Edition, ReadingKind};
use quantity::{System, Ties};

const PORTIONS: &str = include_str!("bench_data/portions.toml");
const CONE: &str = include_str!("bench_data/cone.toml");

fn site_with(limit: &str) -> Site {
    let text = format!(
        "[site]\nproject = \"Harrow Bend footbridge\"\nsystem = \"inch-pound\"\n{limit}\n\
         [[technician]]\nname = \"Mara Lind\"\nexpires = \"2026-05-01\"\n\
         [[technician]]\nname = \"Ole Brandt\"\nexpires = \"2029-05-01\"\n"
    );
    let checked = site::check("site.toml", &text);
    let shown = procedure::diagnose::render("site.toml", &text, &checked.diagnostics, false);
    checked.site.unwrap_or_else(|| panic!("{shown}"))
}

fn slump_limit(check_test: &str) -> String {
    format!("[[limit]]\nresult = \"slump\"\nat_least = \"3 in\"\nat_most = \"5 in\"\n{check_test}")
}

fn at(s: u64) -> Moment {
    Moment { tick: Tick(s * 1_000), wall: Wall { unix_ms: 1_778_761_800_000 + s as i64 * 1_000, offset_min: -300 } }
}

/// A bench under watch.
struct Bench {
    names: Vec<String>,
    editions: Vec<Arc<Edition>>,
    runs: Vec<Option<Run>>,
    roles: Vec<Role>,
    facts: Facts,
    watch: Watch,
    s: u64,
}

impl Bench {
    fn on(site: Site) -> Self {
        let day = Some("2026-05-14".parse().unwrap());
        let mut bench = Self {
            names: Vec::new(),
            editions: Vec::new(),
            runs: Vec::new(),
            roles: Vec::new(),
            facts: Facts::new(),
            watch: Watch::new(Some(site), day),
            s: 0,
        };
        bench.add("portions", PORTIONS, Role::default());
        bench.add("cone", CONE, Role::default());
        bench
    }

    fn add(&mut self, name: &str, text: &str, role: Role) {
        let checked = procedure::check("test.toml", text).procedure.unwrap();
        let edition = Arc::new(checked.edition(System::InchPound).unwrap().clone());
        self.runs.push(Some(Run::open(Arc::clone(&edition), Ties::Even, at(self.s))));
        self.names.push(name.to_owned());
        self.editions.push(edition);
        self.roles.push(role);
    }

    fn seats(&self) -> Vec<Seat<'_>> {
        let all = self.names.iter().zip(&self.editions).zip(&self.runs);
        all.map(|((name, edition), run)| Seat { name, edition, run: run.as_ref() }).collect()
    }

    /// Does the open steps of a run with these answers; an empty one is a press. Says what is new after each.
    #[track_caller]
    fn acts(&mut self, n: usize, answers: &[&str]) -> Vec<String> {
        let mut said = Vec::new();
        for answer in answers {
            self.s += 1;
            let now = at(self.s);
            let run = self.runs[n].as_ref().unwrap();
            let offer = run.offer(now.tick);
            let event = match offer.act {
                Act::Answer(reading) => {
                    let (step, _) = offer.step.unwrap();
                    let entry = match &run.edition().reading(reading).kind {
                        ReadingKind::Number(scale) => Entry::Number(scale.read(answer).unwrap()),
                        _ => Entry::Words((*answer).to_owned()),
                    };
                    Event::Answer { step, reading, entry, seen: now.tick, despite: None }
                }
                _ => run.press(now.tick).unwrap(),
            };
            said.extend(self.event(n, event));
        }
        said
    }

    #[track_caller]
    fn event(&mut self, n: usize, event: Event) -> Vec<String> {
        let now = at(self.s);
        self.runs[n].as_mut().unwrap().apply(event, now).unwrap();
        while let Some((n, event)) = told(&self.seats(), &self.facts, now, |_| false).into_iter().next() {
            self.runs[n].as_mut().unwrap().apply(event, now).unwrap();
        }
        self.look()
    }

    fn look(&mut self) -> Vec<String> {
        let mut watch = std::mem::take(&mut self.watch);
        let said = watch.look(&self.seats(), &self.roles, &self.facts);
        self.watch = watch;
        let name = |said: &Said| self.names[said.run()].clone();
        said.iter()
            .map(|said| match said {
                Said::Verdict(judged) => {
                    format!("{} {}: {} / {:?}", name(said), judged.word(), judged.words(), judged.follows())
                }
                Said::Paper { weight, text, .. } => format!("{} {weight:?} {text}", name(said)),
                Said::Stale { text, .. } => format!("{} STALE {text}", name(said)),
            })
            .collect()
    }

    /// The sample is taken by somebody whose certification holds, and the cone is filled and lifted.
    fn lifted(site: Site) -> Self {
        let mut bench = Self::on(site);
        bench.acts(0, &["Ole Brandt", "T-17", "", ""]);
        bench.acts(1, &["", "", ""]);
        bench
    }

    fn measured(check_test: &str, slump: &str) -> (Self, Vec<String>) {
        let mut bench = Self::lifted(site_with(&slump_limit(check_test)));
        let said = bench.acts(1, &[slump]);
        (bench, said)
    }

    fn check(&mut self, slump: &str) -> Vec<String> {
        self.add("cone-2", CONE, Role { check_of: Some("cone".to_owned()), ..Role::default() });
        let n = self.names.len() - 1;
        self.acts(n, &["Ole Brandt"]);
        self.acts(n, &["", "", "", slump])
    }

    fn may_check(&self, n: usize) -> Result<(), String> {
        may_check(self.watch.judged(), &self.seats(), &self.roles, n)
    }
}

#[test]
fn a_result_stands_beside_its_limit_at_once_and_is_said_once() {
    let advice = "Make a check test at once, on another portion of the same sample; its result decides.";
    for (slump, expected, wants_check) in [
        ("4.25", "cone within: 4.25 in within 3 in to 5 in, compared as 4 in / None".to_owned(), false),
        ("4", "cone within: 4.00 in within 3 in to 5 in, compared as 4 in / None".to_owned(), false),
        ("6", format!("cone above: 6.00 in ABOVE 3 in to 5 in, compared as 6 in / Some({advice:?})"), true),
        ("2.25", format!("cone below: 2.25 in BELOW 3 in to 5 in, compared as 2 in / Some({advice:?})"), true),
    ] {
        let (mut bench, said) = Bench::measured("check_test = true", slump);
        assert_eq!(said, [expected]);
        assert_eq!(bench.look(), [""; 0], "once");
        assert_eq!(bench.watch.judged()[0].wants_check, wants_check);
        assert_eq!(bench.may_check(1).is_ok(), wants_check);
    }
}

#[test]
fn a_result_taken_back_and_read_anew_is_judged_anew() {
    let (mut bench, _) = Bench::measured("check_test = true", "6");
    bench.event(1, Event::Undo);
    assert_eq!(bench.watch.judged(), []);
    assert_eq!(bench.acts(1, &["4"]).len(), 1);
    assert!(bench.may_check(1).unwrap_err().starts_with("cone keeps its limit, so no check test is called for"));
}

#[test]
fn a_check_test_decides_or_is_averaged_as_the_specification_says() {
    for (check_test, second, follows, conforms) in [
        ("check_test = true", "4", "The check test keeps the limit, and it decides.", true),
        ("check_test = true", "7", "The check test is outside as well: the concrete fails this limit.", false),
        (
            "check_test = \"average\"",
            "4",
            "Average of 6 in and 4 in: 5 in within 3 in to 5 in. The average of the two keeps the limit.",
            true,
        ),
        (
            "check_test = \"average\"",
            "5.25",
            "Average of 6 in and 5.25 in: 5.625 in ABOVE 3 in to 5 in, compared as 6 in. The average of the two is \
             outside: the concrete fails this limit.",
            false,
        ),
    ] {
        let (mut bench, _) = Bench::measured(check_test, "6");
        let said = bench.check(second);
        assert_eq!(said.len(), 1, "only the new result is said: {said:?}");
        assert!(said[0].contains(&format!("{follows:?}")), "{said:?}");
        assert!(said[0].starts_with("cone-2 "), "{said:?}");
        let judged = bench.watch.judged_of(2).next().unwrap();
        assert_eq!(judged.retest.as_ref().unwrap().verdict().unwrap().conforms(), conforms);
        assert!(bench.watch.judged().iter().all(|judged| !judged.wants_check), "one check test, not more");
        assert_eq!(
            bench.may_check(1).unwrap_err(),
            "“cone-2” is the check test of cone already; one is made, not more."
        );
        assert_eq!(bench.may_check(2).unwrap_err(), "“cone-2” is itself the check test of cone.");
    }
}

#[test]
fn where_no_check_test_is_allowed_none_is_offered_and_where_nothing_is_said_it_can_be_made() {
    let (bench, _) = Bench::measured("check_test = false", "6");
    assert_eq!(
        bench.may_check(1).unwrap_err(),
        "The specification allows no check test: say so to whoever decides about the load."
    );
    let (bench, said) = Bench::measured("", "6");
    assert!(said[0].contains("ask before the load is rejected"), "{said:?}");
    assert!(!bench.watch.judged()[0].wants_check, "not offered");
    assert_eq!(bench.may_check(1), Ok(()), "but the person may have asked");
}

#[test]
fn a_preliminary_sample_accepts_nothing_and_calls_for_no_check_test() {
    let mut bench = Bench::lifted(site_with(&slump_limit("check_test = true")));
    bench.facts.insert("sample-purpose".to_owned(), Fact::Choice("preliminary".to_owned()));
    let said = bench.acts(1, &["6"]);
    assert!(
        said[0].contains("6.00 in ABOVE 3 in to 5 in, compared as 6 in (for adjusting, not acceptance)"),
        "{said:?}"
    );
    assert!(said[0].contains("A preliminary sample: adjust the load"), "{said:?}");
    assert!(bench.may_check(1).is_err());
    // The same if the test alone is preliminary.
    let mut bench = Bench::lifted(site_with(&slump_limit("check_test = true")));
    bench.roles[1].is_preliminary = true;
    assert!(bench.acts(1, &["4"])[0].contains("(for adjusting, not acceptance)"));
}

#[test]
fn without_a_limit_and_without_a_site_nothing_is_said() {
    let mut bench = Bench::lifted(site_with(""));
    assert_eq!(bench.acts(1, &["6"]), [""; 0]);
    assert_eq!(bench.may_check(1).unwrap_err(), "cone has no result with a limit, so no check test is called for.");
    let mut bench = Bench::lifted(site_with(""));
    bench.watch = Watch::default();
    assert_eq!(bench.acts(1, &["6"]), [""; 0]);
}

#[test]
fn a_check_test_has_the_first_name_that_is_free() {
    for (of, taken, name) in [
        ("slump", &["slump", "air"][..], "slump-2"),
        ("slump", &["slump", "slump-2"], "slump-3"),
        ("slump-2", &["slump", "slump-2"], "slump-3"),
        ("slump-en", &["slump-en"], "slump-en-2"),
    ] {
        assert_eq!(check_name(of, taken.iter().copied()), name, "{of} beside {taken:?}");
    }
}

#[test]
fn a_sample_too_old_for_a_check_test_is_known_by_the_limit_that_is_over() {
    let (bench, _) = Bench::measured("check_test = true", "6");
    // The last portion was in at 4 s; five minutes are allowed.
    assert_eq!(too_late_for(&bench.seats(), &bench.editions[1], Tick(304_000)), None, "the limit itself is kept");
    assert_eq!(
        too_late_for(&bench.seats(), &bench.editions[1], Tick(364_000)).unwrap(),
        "Cone begun after the sample within 5 min, and that was over 1 min ago"
    );
}

#[test]
fn papers_are_said_before_the_first_act_and_in_every_run_that_names_them() {
    let mut bench = Bench::on(site_with(""));
    let papers = bench.watch.papers(&bench.seats());
    let text = "Mara Lind: the certification expired on 2026-05-01, 13 days ago".to_owned();
    assert_eq!(papers, [(Weight::Finding, text.clone())]);
    let said = bench.acts(0, &["Mara Lind", "T-17"]);
    assert_eq!(said, [format!("portions Finding {text}"), format!("cone Finding {text}")]);
    let mut bench = Bench::on(site_with(""));
    let said = bench.acts(0, &["Somebody"]);
    assert_eq!(said.len(), 1, "that nobody knows is said once: {said:?}");
    assert!(said[0].contains("nobody knows whether it holds"), "{said:?}");
    assert_eq!(Bench::on(site_with("")).acts(0, &["Ole Brandt"]), [""; 0]);
}

#[test]
fn a_fact_corrected_where_it_came_from_is_said_in_the_runs_that_were_told_it() {
    let mut bench = Bench::on(site_with(""));
    bench.acts(0, &["Ole Brandt", "T-17"]);
    let seq = bench.runs[0].as_ref().unwrap().taken()[1].seq;
    let entry = Entry::Words("T-18".to_owned());
    let correct = Event::Correct { seq, entry, reason: "misread".to_owned() };
    let said = "cone STALE the sample was corrected from T-17 to T-18 in portions; this run was told T-17: correct it \
                here too";
    assert_eq!(bench.event(0, correct), [said]);
    assert_eq!(bench.look(), [""; 0], "once");
    let theirs = bench.runs[1].as_ref().unwrap().taken()[1].seq;
    let entry = Entry::Words("T-18".to_owned());
    let correct = Event::Correct { seq: theirs, entry, reason: "misread".to_owned() };
    assert_eq!(bench.event(1, correct), [""; 0], "and when it is corrected there, all is well");
}

#[test]
fn a_moment_taken_back_is_said_in_every_run_that_counts_from_it() {
    let mut bench = Bench::on(site_with(""));
    bench.acts(0, &["Ole Brandt", "T-17", "", ""]);
    assert!(bench.runs[1].as_ref().unwrap().known(0).is_some());
    let said = bench.event(0, Event::Undo);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        said[0].starts_with("cone STALE the last portion was taken back; this run still counts from 07:30:04"),
        "{said:?}"
    );
    assert_eq!(bench.look(), [""; 0], "once");
    assert_eq!(bench.acts(0, &[""]), [""; 0], "marked again");
    assert_eq!(bench.event(0, Event::Undo).len(), 1, "and taken back again");
}

#[test]
fn what_stood_when_the_bench_was_taken_up_again_is_not_said_again() {
    let (bench, _) = Bench::measured("check_test = true", "6");
    let mut watch = Watch::new(Some(site_with(&slump_limit("check_test = true"))), Some("2026-05-14".parse().unwrap()));
    watch.take_up(&bench.seats(), &bench.roles, &bench.facts);
    assert_eq!(watch.judged().len(), 1, "but it is there to be looked at");
    assert_eq!(watch.look(&bench.seats(), &bench.roles, &bench.facts), []);
}
