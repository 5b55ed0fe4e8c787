//! The bench in lines: which run a line is for, what is said of which run.

use bench::calendar::Date;
use bench::site::Site;
use coach::line::NotKept;
use coach::line::sample::{BENCH_WORDS, BenchCue, BenchTalk, Place, SampleRecord};
use coach::line::script::Script;
use engine::{Event, Moment, Phase, Tick};
use procedure::ReadingId;
use quantity::Ties;

use super::desk::{CONE, PORTIONS, PROBE, WEIGH, edition, moment};

/// Records in memory, which can be made to fail.
#[derive(Default)]
pub struct Memory {
    begun: Vec<usize>,
    pub added: Vec<(usize, String)>,
    kept: Vec<(usize, Event)>,
    finished: usize,
    fails: bool,
}

impl SampleRecord for Memory {
    fn begin(&mut self, run: usize, _: Moment) -> Result<String, NotKept> {
        self.begun.push(run);
        if self.fails { Err(full()) } else { Ok(format!("run-{run}")) }
    }
    fn add(&mut self, check_of: usize, name: &str, _: Moment) {
        self.added.push((check_of, name.to_owned()));
    }
    fn keep(&mut self, run: usize, event: &Event, _: Moment, _: Option<ReadingId>) -> Result<u64, NotKept> {
        if self.fails {
            return Err(full());
        }
        self.kept.push((run, event.clone()));
        Ok(self.kept.iter().filter(|(kept, _)| *kept == run).count() as u64)
    }
    fn move_to(&mut self, folder: &str, _: Moment) -> Result<(String, u64), NotKept> {
        self.fails = false;
        Ok((folder.to_owned(), 0))
    }
    fn retry(&mut self) -> Result<u64, NotKept> {
        if self.fails { Err(full()) } else { Ok(self.kept.len() as u64) }
    }
    fn own_trouble(&mut self) -> Option<NotKept> {
        None
    }
    fn finish(&mut self, _: Moment) {
        self.finished += 1;
    }
}

fn full() -> NotKept {
    NotKept { what: "the disk is full".into(), hint: "Free some space".into() }
}

pub struct Bench {
    pub talk: BenchTalk,
    pub record: Memory,
    now: Tick,
    pub opening: Vec<String>,
}

impl Bench {
    fn new() -> Self {
        Self::on_site(None)
    }

    /// Says lines a second apart; returns what was said to the last.
    pub fn say(&mut self, lines: &[&str]) -> Vec<String> {
        let mut last = Vec::new();
        for line in lines {
            self.now.0 += 1_000;
            last = self.talk.hear(line, moment(self.now), &mut self.record).iter().map(BenchCue::to_string).collect();
        }
        last
    }

    pub fn wait(&mut self, s: u64) -> Vec<String> {
        self.now.0 += s * 1_000;
        self.talk.due(self.now).iter().map(BenchCue::to_string).collect()
    }

    fn step(&self, n: usize) -> &str {
        let run = self.talk.places()[n].run().unwrap();
        &run.offer(self.now).step.unwrap().1.id
    }

    /// On a site, whose papers and limits are said.
    pub fn on_site(site: Option<Site>) -> Self {
        let tests = [("portions", PORTIONS), ("cone", CONE), ("probe", PROBE), ("weigh", WEIGH)];
        let place = |(name, text): &(&str, &str)| {
            Place::new((*name).to_owned(), edition(text), Ties::Even, None, moment(Tick(0)))
        };
        let places = tests.iter().map(place).collect();
        let day = Date::of(moment(Tick(0)).wall);
        let talk = BenchTalk::new("pier-4".into(), places, 0, Vec::new(), Default::default(), moment(Tick(0)));
        let mut talk = talk.on_site(site, day);
        let mut record = Memory::default();
        let opening = talk.opening(moment(Tick(0)), &mut record).iter().map(BenchCue::to_string).collect();
        Self { talk, record, now: Tick(0), opening }
    }

    fn sampled() -> Self {
        let mut bench = Self::new();
        bench.say(&["Mara Lind", "T-17", "next", "next"]);
        bench
    }
}

#[test]
fn the_sample_is_named_first_and_the_first_run_is_begun() {
    let bench = Bench::new();
    assert_eq!(
        bench.opening[..3],
        ["SAMPLE pier-4 portions cone probe weigh", "[portions] FOCUS", "[portions] BEGUN run-0"]
    );
    assert_eq!(bench.record.begun, [0], "the others have no journal yet");
}

#[test]
fn a_line_is_for_the_run_in_focus_or_for_the_one_it_names() {
    let mut bench = Bench::new();
    assert_eq!(bench.say(&["Mara Lind"])[0], "[portions] RECORDED 1");
    let said = bench.say(&["cone: where"]);
    assert_eq!(
        said[..4],
        [
            "[cone] BEGUN run-1",
            "[cone] METHOD cone inch-pound A cone, an example",
            "[cone] KNOWN technician Mara Lind",
            "[cone] RECORDED 1"
        ]
    );
    assert_eq!(bench.say(&["T-17"])[0], "[portions] RECORDED 2", "a name moves no focus");
    assert_eq!(bench.say(&["focus cone"])[0], "[cone] FOCUS");
    assert_eq!(bench.say(&["CONE: readings"]).len(), 2);
}

#[test]
fn a_name_that_is_nearly_a_run_is_never_an_answer() {
    let mut bench = Bench::new();
    let said = bench.say(&["prtions: next"]);
    assert_eq!(said, ["ERROR No run is called “prtions”: is “portions” meant? As an answer: answer prtions: next"]);
    assert!(bench.record.kept.is_empty());
    bench.say(&["Pier 4: Mara Lind"]);
    assert_eq!(bench.record.kept.len(), 1, "what is no name is words");
}

#[test]
fn the_moment_is_marked_in_one_run_and_the_others_say_so() {
    let mut bench = Bench::new();
    bench.say(&["Mara Lind", "T-17", "focus cone"]);
    assert_eq!(
        bench.say(&["next"]),
        [
            "[cone] REFUSED This moment is marked in the run “portions”; it is left out here as soon as it is. Go there: focus portions."
        ]
    );
    assert_eq!(bench.say(&["done ready"])[0][..14], *"[cone] REFUSED");
    bench.say(&["portions: next"]);
    let said = bench.say(&["portions: next"]);
    let known = said.iter().position(|line| line.starts_with("[cone] KNOWN last-portion ")).unwrap();
    assert!(said[known].ends_with("marked in portions"), "{said:?}");
    assert_eq!(said[known + 1], "[cone] RECORDED 3");
    assert!(said.contains(&"[cone] CLOCK start most 5:00 left: Cone begun after the sample".to_owned()), "{said:?}");
    assert_eq!(bench.step(1), "scoop");
}

#[test]
fn what_closes_is_said_before_and_after_by_name() {
    let mut bench = Bench::sampled();
    bench.say(&["cone: where"]);
    assert_eq!(bench.wait(230), [""; 0]);
    assert_eq!(
        bench.wait(20),
        [
            "[cone] NEAR start 1:00 left: Cone begun after the sample",
            "[probe] NEAR start 1:00 left: Probe placed after the sample",
            "[weigh] NEAR start 1:00 left: Weighing begun after the sample",
        ]
    );
    assert_eq!(
        bench.wait(60),
        [
            "[cone] DUE start The time is over: Cone begun after the sample.",
            "[probe] OVER start the time is over: Probe placed after the sample",
            "[weigh] OVER start the time is over: Weighing begun after the sample",
        ]
    );
    assert_eq!(bench.wait(3_000), [""; 0]);
    let said = bench.say(&["cone: next"]);
    assert!(said.iter().any(|line| line.starts_with("[cone] FINDING scoop: The cone was begun too late")), "{said:?}");
}

#[test]
fn due_goes_where_the_time_closes_first() {
    let mut bench = Bench::sampled();
    assert_eq!(bench.say(&["due"])[0], "[cone] FOCUS");
    bench.say(&["probe: next", "probe: next"]);
    let said = bench.say(&["bench"]);
    assert_eq!(
        said,
        [
            "[portions] BENCH open: Count the portions",
            "[cone] BENCH open (within 4:56), in focus, due next: Fill the cone",
            "[probe] BENCH hands-free (in 1:59): Leave it in",
            "[weigh] BENCH not-begun (within 4:56): A weighing, an example",
        ]
    );
    let said = bench.wait(125);
    assert_eq!(said, ["[probe] DUE hold Long enough: end it when you are ready."], "the hands are called back");
    assert!(bench.say(&["bench"])[2].starts_with("[probe] BENCH ready"));
}

#[test]
fn every_limit_is_listed() {
    let mut bench = Bench::sampled();
    bench.say(&["cone: next"]);
    let said = bench.say(&["windows"]);
    assert_eq!(
        said,
        [
            "[portions] WINDOW portions kept: 0:01: From the first portion to the last (15 min)",
            "[cone] WINDOW start kept: 0:01: Cone begun after the sample (5 min)",
            "[cone] WINDOW whole within 2:29: From the first scoop to the lift (2 min 30 s)",
            "[probe] WINDOW start within 4:58: Probe placed after the sample (5 min)",
            "[weigh] WINDOW start within 4:58: Weighing begun after the sample (5 min)",
        ]
    );
}

#[test]
fn a_discarded_test_says_whether_it_may_be_repeated() {
    let mut bench = Bench::sampled();
    let said = bench.say(&["cone: next", "cone: incident sheared"]);
    assert_eq!(said.last().unwrap(), "[cone] REPEAT allowed on this sample for another 4:58");
    bench.say(&["cone: undo"]);
    bench.wait(300);
    let said = bench.say(&["cone: incident sheared"]);
    assert!(
        said.last().unwrap().starts_with("[cone] REPEAT new-sample A new sample is needed: Cone begun"),
        "{said:?}"
    );
}

#[test]
fn an_answer_that_was_known_can_be_taken_back_and_is_then_asked() {
    let mut bench = Bench::sampled();
    bench.say(&["focus cone", "undo"]);
    assert_eq!(bench.step(1), "sample");
    bench.say(&["T-18"]);
    assert_eq!(bench.step(1), "scoop");
}

#[test]
fn a_full_disk_is_said_of_the_run_and_everything_goes_on() {
    let mut bench = Bench::new();
    bench.record.fails = true;
    assert!(bench.say(&["Mara Lind"])[0].starts_with("[portions] NOT-RECORDED the disk is full."));
    assert!(bench.say(&["retry"])[0].starts_with("NOT-RECORDED"));
    assert_eq!(bench.say(&["folder /media/stick"]), ["FOLDER /media/stick"]);
    assert_eq!(bench.say(&["T-17"])[0], "[portions] RECORDED 1");
}

#[test]
fn the_sample_ends_with_its_last_test_or_when_the_person_leaves() {
    let mut bench = Bench::sampled();
    bench.say(&["2", "next"]);
    assert!(!bench.talk.is_over());
    bench.say(&["focus cone", "next", "next", "next", "4.25", "next"]);
    bench.say(&["focus probe", "next", "next"]);
    bench.wait(120);
    bench.say(&["next", "71", "next"]);
    bench.say(&["focus weigh", "yes", "next", "40.1"]);
    assert_eq!(bench.talk.places()[3].run().unwrap().phase(), Phase::Finished);
    let said = bench.say(&["next"]);
    assert_eq!(said.last().unwrap(), "CLOSED Every test of this sample is closed.");
    assert!(bench.talk.is_over());
    assert_eq!(bench.record.finished, 1);

    let mut bench = Bench::new();
    assert_eq!(bench.say(&["quit"]), ["LEFT The sample can be resumed; its clocks go on."]);
    assert!(bench.talk.is_over());
}

#[test]
fn the_page_says_every_word_of_the_bench() {
    let page = include_str!("../../LINES.md");
    for (form, _) in BENCH_WORDS {
        assert!(page.contains(&format!("`{form}`")), "LINES.md does not show “{form}”");
    }
    let mut bench = Bench::new();
    let help = bench.say(&["help"]);
    assert!(help.contains(&"HELP due: bring what is due next into focus".to_owned()));
    assert!(help.iter().any(|line| line.starts_with("HELP correct N VALUE")));
}

#[test]
fn a_script_for_a_sample_names_its_tests_and_its_site() {
    let script = "start 2026-05-14T07:30:00-05:00\ntests sampling, slump\nsite ../site.toml\nnext\nsite 4\n";
    let script = Script::read(script).unwrap();
    assert_eq!(script.head.tests, ["sampling", "slump"]);
    assert_eq!(script.head.site.as_deref(), Some("../site.toml"));
    assert_eq!(script.lines.len(), 2, "after the first act these words are an answer");
}
