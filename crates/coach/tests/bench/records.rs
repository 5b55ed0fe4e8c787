//! The records of a sample on the disk: one journal for each run, one file that ties them together, taken up again with
//! every clock.

use std::fs::{self, OpenOptions};
use std::io::Write as _;
use std::path::Path;

use bench::live::{Role, Seat, due, pool, windows};
use coach::line::sample::{BenchCue, BenchTalk, Place};
use coach::report::sample::{Member, Source, sheet};
use coach::rim::clock::{self, Timepiece};
use coach::rim::library;
use coach::rim::sample::{Chosen, NewSample, SampleResumption, Shelf, names_of};
use coach::rim::sample_record::{self, Purpose, SampleLine, SampleOpening, SiteText, Test};
use coach::rim::store::{self, Keeper, Trouble};
use coach::rim::terminal::Records;
use coach::screen::Input;
use engine::{Clock, Moment, Run, Tick, Wall};
use proptest::prelude::*;
use quantity::{System, Ties};

use super::desk::{AIR, CONE, PORTIONS, PROBE, SIX, WEIGH};

const OPENED: Wall = Wall { unix_ms: 1_795_602_600_000, offset_min: -360 };

fn at(tick: Tick) -> Moment {
    Moment { tick, wall: Wall { unix_ms: OPENED.unix_ms + tick.0 as i64, ..OPENED } }
}

fn text_of(method: &str) -> &'static str {
    match method {
        "portions" => PORTIONS,
        "cone" => CONE,
        "probe" => PROBE,
        "weigh" => WEIGH,
        _ => AIR,
    }
}

fn chosen(test: &Test) -> Chosen {
    let found = library::check(&format!("{}.toml", test.method), text_of(&test.method).into(), false).unwrap();
    Chosen::of(&found, test.clone(), System::InchPound).unwrap()
}

fn find(_: &SampleOpening, test: &Test) -> Result<Chosen, Trouble> {
    Ok(chosen(test))
}

fn test(name: &str, method: &str) -> Test {
    Test { name: name.to_owned(), method: method.to_owned(), purpose: Purpose::Acceptance }
}

/// A sample led in lines, its records in a folder, its time moved by hand.
struct Sample {
    shelf: Shelf,
    talk: BenchTalk,
    now: Tick,
}

impl Sample {
    fn open(data: &Path) -> Self {
        Self::open_on(data, &super::verdicts::site_text("true"))
    }

    fn open_on(data: &Path, site: &str) -> Self {
        let methods = ["portions", "cone", "probe", "weigh", "air", "air"];
        let names = names_of(methods.into_iter());
        let tests = names.iter().zip(methods).map(|(name, method)| chosen(&test(name, method))).collect();
        let shelf = Shelf::create(NewSample {
            data: data.to_owned(),
            tests,
            system: System::InchPound,
            ties: Ties::Even,
            site: Some(SiteText { file: "site.toml".to_owned(), text: site.to_owned() }),
            timepiece: Timepiece::by_hand(OPENED, Tick(0)),
            opened: at(Tick(0)),
            is_script: true,
        });
        let mut sample = Self { talk: talk(&shelf, Vec::new(), Tick(0), site), shelf, now: Tick(0) };
        sample.talk.opening(at(Tick(0)), &mut sample.shelf);
        sample
    }

    fn say(&mut self, lines: &[&str]) -> Vec<String> {
        let mut last = Vec::new();
        for line in lines {
            self.now.0 += 1_000;
            last = self.talk.hear(line, at(self.now), &mut self.shelf).iter().map(BenchCue::to_string).collect();
        }
        last
    }

    /// The program dies here and is started again; returns what is said.
    fn killed(self) -> (Self, String) {
        let path = self.shelf.path().to_owned();
        drop(self);
        resumed(&path)
    }

    fn runs(&self) -> Vec<Option<Run>> {
        self.talk.places().iter().map(|place| place.run().cloned()).collect()
    }

    fn clocks(&self) -> Vec<(String, Clock)> {
        let places = self.talk.places().iter();
        places
            .flat_map(|place| {
                place.run().into_iter().flat_map(|run| run.clocks(self.now)).map(|clock| (place.name.clone(), clock))
            })
            .collect()
    }

    /// All that a bench shows, as computed from its runs.
    fn shown(&self) -> String {
        let seats = self.talk.seats();
        format!(
            "{:?}\n{:?}\n{:?}\n{:?}",
            self.clocks(),
            due(&seats, &[], self.now),
            windows(&seats, self.now),
            pool(&seats, &Default::default(), None)
        )
    }
}

fn talk(shelf: &Shelf, runs: Vec<Option<Run>>, now: Tick, site: &str) -> BenchTalk {
    let mut runs = runs.into_iter();
    let place = |chosen: &Chosen| {
        let check_of = match &chosen.test.purpose {
            Purpose::CheckOf(name) => Some(name.clone()),
            _ => None,
        };
        Place::new(chosen.test.name.clone(), chosen.edition.clone(), Ties::Even, runs.next().flatten(), at(now))
            .with_role(Role { check_of, ..Role::default() })
    };
    let places = shelf.tests().iter().map(place).collect();
    let site = bench::site::check("site.toml", site).site;
    let bench = BenchTalk::new(shelf.name().to_owned(), places, 0, Vec::new(), Default::default(), at(now));
    bench.on_site(site, None)
}

fn resumed(path: &Path) -> (Sample, String) {
    let SampleResumption { mut shelf, runs, timepiece, said, opening } = Shelf::resume(path, find).unwrap();
    let site = opening.site.unwrap().text;
    let is_open: Vec<bool> = runs.iter().map(|run| run.as_ref().is_some_and(store::is_open)).collect();
    shelf.catch_up(&is_open);
    let now = timepiece.tick();
    (Sample { talk: talk(&shelf, runs, now, &site), shelf, now }, said)
}

/// Six clocks run: the cone, the weighing and both meters must begin, the probe soaks and must come out.
fn with_six_clocks(data: &Path) -> Sample {
    let mut sample = Sample::open(data);
    sample.say(&["Mara Lind", "T-17", "next", "next", "probe: next", "probe: next"]);
    sample.say(&["cone: where", "weigh: yes", "air: where", "air-2: where", "cone: remark it is windy"]);
    sample
}

fn same(a: &[Option<Run>], b: &[Option<Run>]) -> bool {
    a.len() == b.len()
        && a.iter().zip(b).all(|pair| match pair {
            (None, None) => true,
            (Some(a), Some(b)) => a.same_state(b) && a.n_accepted() == b.n_accepted(),
            _ => false,
        })
}

#[test]
fn killed_with_six_clocks_running_everything_goes_on_where_it_was() {
    let data = tempfile::tempdir().unwrap();
    let sample = with_six_clocks(data.path());
    assert_eq!(sample.clocks().len(), 6, "{:?}", sample.clocks());
    let (runs, shown) = (sample.runs(), sample.shown());
    let (mut again, said) = sample.killed();
    assert_eq!(said, "Resumed; simulated time stood still.");
    assert!(same(&runs, &again.runs()));
    assert_eq!(again.shown(), shown, "the same bench");
    again.say(&["cone: next", "cone: next", "cone: next", "cone: 4.25"]);
    let said = again.say(&["weigh: readings"]);
    assert!(said.iter().any(|line| line.contains("slump 4.25 in")), "and one run still tells the other: {said:?}");
}

#[test]
fn a_check_test_survives_the_program_before_and_after_its_result() {
    let data = tempfile::tempdir().unwrap();
    let mut sample = Sample::open(data.path());
    sample.say(&["Mara Lind", "T-17", "next", "next", "focus cone", "next", "next", "next", "6"]);
    sample.say(&["check-test cone"]);
    assert_eq!(sample.shelf.tests().len(), 7);
    let loaded = sample_record::load_sample(sample.shelf.path()).unwrap();
    let added = loaded.tests().pop().unwrap();
    assert_eq!((added.name.as_str(), added.method.as_str()), ("cone-2", "cone"));
    assert_eq!(added.purpose, Purpose::CheckOf("cone".to_owned()));
    let runs = sample.runs();
    let (mut again, _) = sample.killed();
    assert!(same(&runs, &again.runs()), "seven tests, the check test among them");
    let said = again.say(&["cone-2: next", "cone-2: next", "cone-2: next", "cone-2: 4"]);
    let verdict = said.iter().find(|line| line.contains("VERDICT")).unwrap();
    assert!(verdict.starts_with("[cone-2] VERDICT slump within 4.00 in within 3 in to 5 in"), "{said:?}");
    assert!(verdict.ends_with("The check test keeps the limit, and it decides."), "{said:?}");
    let (mut again, _) = again.killed();
    let said = again.say(&["bench"]);
    assert!(said.iter().all(|line| !line.contains("VERDICT")), "said once: {said:?}");
    let line = said.iter().find(|line| line.starts_with("[cone-2] BENCH finished")).unwrap();
    assert!(line.contains("slump 4.00 in within 3 in to 5 in"), "and still there: {said:?}");
}

#[test]
fn the_sheet_says_whose_check_test_it_is_and_what_it_means() {
    for (check_test, note) in [
        ("true", "check test of cone. The check test keeps the limit, and it decides"),
        ("\"average\"", "average of 6 in and 4 in, compared as 5 in; it decides"),
    ] {
        let data = tempfile::tempdir().unwrap();
        let text = super::verdicts::site_text(check_test);
        let mut sample = Sample::open_on(data.path(), &text);
        sample.say(&["Mara Lind", "T-17", "next", "next", "focus cone", "next", "next", "next", "6"]);
        sample.say(&["check-test cone", "next", "next", "next", "4"]);
        let name = sample.shelf.name().to_owned();
        let path = sample.shelf.path().to_owned();
        // Only what was begun: the sheet of the others would ask for their procedure files.
        drop(sample);
        let loaded = sample_record::load_sample(&path).unwrap();
        let site = bench::site::check("site.toml", &text).site;
        let runs: Vec<(Test, store::Loaded)> = loaded
            .tests()
            .into_iter()
            .filter_map(|test| {
                let run = loaded.run_of(&test.name)?;
                let path = store::runs_folder(data.path()).join(format!("{run}.jsonl"));
                Some((test, store::load(&path).unwrap()))
            })
            .collect();
        let members: Vec<Member<'_>> = runs
            .iter()
            .map(|(test, loaded)| Member {
                name: &test.name,
                purpose: bench::verdict::Purpose::Acceptance,
                check_of: match &test.purpose {
                    Purpose::CheckOf(name) => Some(name),
                    _ => None,
                },
                edition: &loaded.edition,
                loaded: Some(loaded),
            })
            .collect();
        let sheet = sheet(&Source {
            sample: &name,
            system: System::InchPound,
            simulated: None,
            opened: at(Tick(0)),
            site: site.as_ref(),
            members: &members,
            tool: "pourside",
            version: "0",
        });
        let notes: Vec<&str> = sheet.results.iter().map(|row| row.note.as_str()).collect();
        assert!(notes.iter().any(|found| found.contains(note)), "{notes:?}");
        let slumps = sheet.results.iter().filter(|row| row.name.starts_with("Slump")).count();
        assert_eq!(slumps, if check_test == "true" { 2 } else { 3 }, "both results stand there: {notes:?}");
    }
}

#[test]
fn the_screen_puts_a_check_test_on_record_before_it_is_begun() {
    let data = tempfile::tempdir().unwrap();
    let mut sample = with_six_clocks(data.path());
    let answers = Records::add(&mut sample.shelf, 1, "cone-2".to_owned(), at(sample.now));
    assert!(answers.is_empty(), "nothing has failed");
    let answers = Records::begin(&mut sample.shelf, 6, at(sample.now));
    assert!(matches!(answers[0], (6, Input::Begun { .. })), "{answers:?}");
    let path = sample.shelf.path().to_owned();
    drop(sample);
    let (again, _) = resumed(&path);
    assert_eq!(again.talk.places().len(), 7);
    assert_eq!(again.talk.places()[6].name, "cone-2");
    assert!(again.talk.places()[6].run().is_some());
}

#[test]
fn every_command_for_one_run_works_on_a_run_of_a_sample() {
    let data = tempfile::tempdir().unwrap();
    let sample = with_six_clocks(data.path());
    let path = sample.shelf.keeper(1).unwrap().path().to_owned();
    let name = sample.shelf.name().to_owned();
    drop(sample);
    let loaded = store::load(&path).unwrap();
    let of = loaded.opening.sample.clone().unwrap();
    assert_eq!((of.name, of.test), (name, "cone".to_owned()));
    assert!(loaded.opening.opened.t > 0, "its time counts from the opening of the sample");
    let report = coach::report::as_text(&loaded);
    assert!(report.contains("A cone, an example"), "{report}");
    let resumed = Keeper::resume(&path).unwrap();
    assert_eq!(resumed.timepiece.tick(), loaded.last().tick);
    assert_eq!(resumed.timepiece.now().wall, loaded.last().wall, "the wall clock goes with the sample's count");
}

#[test]
fn a_test_nobody_has_begun_has_no_journal() {
    let data = tempfile::tempdir().unwrap();
    let mut sample = Sample::open(data.path());
    assert_eq!(store::runs(data.path()).unwrap().len(), 1);
    sample.say(&["bench", "windows", "Mara Lind"]);
    assert_eq!(store::runs(data.path()).unwrap().len(), 1);
    sample.say(&["focus probe"]);
    assert_eq!(store::runs(data.path()).unwrap().len(), 2);
    let loaded = sample_record::load_sample(sample.shelf.path()).unwrap();
    assert_eq!((loaded.run_of("probe").is_some(), loaded.run_of("cone")), (true, None));
}

#[test]
fn a_run_whose_line_in_the_sample_is_missing_is_found_by_its_own_first_line() {
    let data = tempfile::tempdir().unwrap();
    let mut sample = Sample::open(data.path());
    sample.say(&["Mara Lind", "focus air-2"]);
    let (runs, path) = (sample.runs(), sample.shelf.path().to_owned());
    drop(sample);
    // The program died between making the run's journal and the line about it.
    let text = fs::read_to_string(&path).unwrap();
    let without_last: String = text.lines().take(text.lines().count() - 1).map(|line| format!("{line}\n")).collect();
    fs::write(&path, without_last).unwrap();
    let (again, _) = resumed(&path);
    assert!(same(&runs, &again.runs()), "and it is the second of two tests with one method");
    let loaded = sample_record::load_sample(&path).unwrap();
    assert!(loaded.run_of("air-2").is_some(), "its line is written after all");
}

#[test]
fn a_line_that_was_cut_off_is_said_by_the_name_of_its_run() {
    let data = tempfile::tempdir().unwrap();
    let sample = with_six_clocks(data.path());
    let runs = sample.runs();
    let (path, torn) = (sample.shelf.path().to_owned(), sample.shelf.keeper(2).unwrap().path().to_owned());
    drop(sample);
    OpenOptions::new().append(true).open(torn).unwrap().write_all(b"{\"v\":1,\"n\":9,\"e\":{\"li").unwrap();
    let (again, said) = resumed(&path);
    assert!(same(&runs, &again.runs()));
    assert!(said.contains("probe: A last entry that had not been recorded was cut off"), "{said}");
}

#[test]
fn a_run_that_cannot_be_read_is_left_out_and_the_others_go_on() {
    let data = tempfile::tempdir().unwrap();
    let sample = with_six_clocks(data.path());
    let (path, broken) = (sample.shelf.path().to_owned(), sample.shelf.keeper(2).unwrap().path().to_owned());
    drop(sample);
    let text = fs::read_to_string(&broken).unwrap().replace("Mara Lind", "Nobody");
    fs::write(&broken, text).unwrap();
    let (mut again, said) = resumed(&path);
    assert!(said.contains("probe is left out"), "{said}");
    assert_eq!(again.talk.places().len(), 5);
    assert!(again.say(&["cone: next"])[0].starts_with("[cone] RECORDED"));
}

#[test]
fn a_closed_run_says_nothing_of_a_resume_unless_something_more_happens_to_it() {
    let data = tempfile::tempdir().unwrap();
    let mut sample = with_six_clocks(data.path());
    sample.say(&["2", "next"]);
    let closed = sample.shelf.keeper(0).unwrap().path().to_owned();
    let n = store::load(&closed).unwrap().lines.len();
    let (mut again, _) = sample.killed();
    assert_eq!(store::load(&closed).unwrap().lines.len(), n);
    let said = again.say(&["portions: readings"]);
    let seq = said.iter().find(|line| line.contains("sample T-17")).unwrap().split(' ').nth(2).unwrap().to_owned();
    let said = again.say(&[&format!("portions: correct {seq} T-18 because misheard")]);
    assert!(said[0].starts_with("[portions] RECORDED"), "{said:?}");
    let lines = store::load(&closed).unwrap().lines;
    assert_eq!(lines.len(), n + 2, "that it went on, and the correction");
}

#[test]
fn a_second_program_on_the_same_sample_is_refused() {
    let data = tempfile::tempdir().unwrap();
    let sample = with_six_clocks(data.path());
    assert!(Shelf::resume(sample.shelf.path(), find).is_err());
    assert!(Keeper::resume(sample.shelf.keeper(1).unwrap().path()).is_err());
}

#[test]
fn the_whole_sample_moves_to_another_folder() {
    let (data, other) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut sample = with_six_clocks(data.path());
    let folder = other.path().display().to_string();
    assert_eq!(sample.say(&[&format!("folder {folder}")]), [format!("FOLDER {folder}")]);
    sample.say(&["cone: next"]);
    assert!(sample.shelf.path().starts_with(other.path()));
    let runs = sample.runs();
    let (again, _) = sample.killed();
    assert!(same(&runs, &again.runs()));
    let loaded = sample_record::load_sample(again.shelf.path()).unwrap();
    assert!(loaded.lines.iter().any(|line| matches!(line, SampleLine::Moved { .. })));
}

#[test]
fn in_real_time_all_runs_go_on_with_one_clock_and_none_runs_back() {
    let data = tempfile::tempdir().unwrap();
    let timepiece = Timepiece::live(Tick(0));
    let opened = Moment { tick: Tick(0), wall: clock::wall_now() };
    let tests = SIX[..2].iter().map(|(name, _)| chosen(&test(name, name))).collect();
    let mut shelf = Shelf::create(NewSample {
        data: data.path().to_owned(),
        tests,
        system: System::InchPound,
        ties: Ties::Even,
        site: None,
        timepiece: timepiece.clone(),
        opened,
        is_script: false,
    });
    let mut bench = talk(&shelf, Vec::new(), Tick(0), &super::verdicts::site_text("true"));
    bench.opening(timepiece.now(), &mut shelf);
    for line in ["Mara Lind", "T-17", "next", "next", "cone: next"] {
        bench.hear(line, timepiece.now(), &mut shelf);
    }
    let last = bench.places().iter().map(|place| place.run().unwrap().last().tick).max().unwrap();
    let before = timepiece.tick();
    let path = shelf.path().to_owned();
    drop((shelf, bench));
    let resumed = Shelf::resume(&path, find).unwrap();
    let now = resumed.timepiece.tick();
    assert!(now >= last);
    if clock::boot().is_some() {
        assert!(now >= before && now.0 - before.0 < 60_000, "the steady clock counted on: {before:?}, then {now:?}");
        assert!(resumed.said.ends_with("the clocks went on."), "{}", resumed.said);
    }
}

#[test]
fn a_record_from_before_there_were_samples_is_still_read() {
    let opening = r#"{"line":"opened","record":1,"run":"r","procedure":"p","procedure_version":"1","procedure_sha256":"","system":"SI","ties":"even","tool":"t","opened":{"t":0,"at":"2026-05-14T07:30:00-05:00"},"steady_ms":0,"procedure_text":""}"#;
    let store::Line::Opened(opening) = serde_json::from_str(opening).unwrap() else { panic!() };
    assert_eq!(opening.sample, None);
    assert!(!serde_json::to_string(&store::Line::Opened(opening)).unwrap().contains("\"sample\""));
}

const LINES: [&str; 19] = [
    "next",
    "undo",
    "redo",
    "T-17",
    "Mara Lind",
    "yes",
    "4.25",
    "70",
    "2",
    "due",
    "focus cone",
    "focus probe",
    "focus weigh",
    "focus air-2",
    "incident sheared",
    "discard too wet",
    "again",
    "remark windy",
    "check-test cone",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Whatever was said, and wherever the program died: the journals together give the same bench again, and
    /// nothing that was answered by RECORDED is missing.
    #[test]
    fn performed_again_the_journals_give_the_same_bench(
        said in proptest::collection::vec((0..LINES.len(), 1u64..90, prop::bool::weighted(0.08)), 1..60)
    ) {
        let data = tempfile::tempdir().unwrap();
        let mut sample = Sample::open(data.path());
        for (line, seconds, dies) in said {
            sample.now.0 += seconds * 1_000;
            let cues = sample.talk.hear(LINES[line], at(sample.now), &mut sample.shelf);
            prop_assert!(cues.iter().all(|cue| cue.cue.word != "NOT-RECORDED"));
            if dies {
                let (runs, shown, now) = (sample.runs(), sample.shown(), sample.now);
                let (mut again, _) = sample.killed();
                prop_assert!(again.now <= now);
                again.now = now;
                prop_assert!(same(&runs, &again.runs()));
                prop_assert_eq!(again.shown(), shown);
                sample = again;
            }
        }
        for (n, run) in sample.runs().into_iter().enumerate() {
            let Some(run) = run else { continue };
            let loaded = store::load(sample.shelf.keeper(n).unwrap().path()).unwrap();
            prop_assert!(loaded.run.same_state(&run));
            prop_assert_eq!(loaded.run.n_accepted(), run.n_accepted());
        }
        let seats: Vec<Seat<'_>> = sample.talk.seats();
        prop_assert!(seats.len() >= 6);
    }
}
