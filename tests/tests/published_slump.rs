//! The worked examples of sampling, temperature and slump, each run through the real engine with the shipped procedure;
//! and the limits of these methods, each on its last allowed and its first forbidden value.
//!
//! Every example names its source in `data/examples.toml`; so does every failure here.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "in a test a panic is the report")]

use std::fs;
use std::path::Path;

use acceptance::technician::{Technician, exact, reported, result, shipped};
use engine::{Act, Entry, Event, FindingKind, Moment, Phase, Run, Tick, Wall};
use procedure::{EndingKind, ReadingKind};
use quantity::{Exact, Reported, System, Ties, parse_typed};

// ------------------------------------------------------------------------------------------------ the published examples

/// One example of the data file.
struct Example<'a> {
    table: &'a toml::Table,
    name: String,
}

impl<'a> Example<'a> {
    fn may(&self, part: &str, key: &str) -> Option<&'a toml::Value> {
        self.table[part].as_table().unwrap().get(key)
    }
    fn value(&self, part: &str, key: &str) -> &'a toml::Value {
        self.may(part, key).unwrap_or_else(|| panic!("{}: no {part}.{key}", self.name))
    }
    fn text(&self, part: &str, key: &str) -> &'a str {
        self.value(part, key).as_str().unwrap_or_else(|| panic!("{}: {part}.{key} is no text", self.name))
    }
    /// A number, with the digits the file has.
    fn number(&self, part: &str, key: &str) -> Exact {
        exact(&self.value(part, key).to_string())
    }
    /// A number of minutes, in milliseconds.
    fn minutes(&self, key: &str) -> u64 {
        u64::try_from(self.value("expected", key).as_integer().unwrap()).unwrap() * 60_000
    }
    fn says(&self, key: &str) -> bool {
        self.value("expected", key).as_bool().unwrap()
    }
}

#[test]
fn every_worked_example_of_slump_and_of_the_times_of_a_sample_comes_out_of_a_real_run() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/examples.toml");
    let text = fs::read_to_string(file).unwrap();
    let data: toml::Table = text.parse().unwrap();
    let is_ours = |line: &&str| line.starts_with("method = \"slump.") || line.starts_with("method = \"sampling.time_");
    // Counted in the bare text, so that an example the loop below passes over is missed.
    let n_present = text.lines().filter(is_ours).count();
    let mut n_run = 0;
    for table in data["example"].as_array().unwrap().iter().filter_map(toml::Value::as_table) {
        let method = table.get("method").and_then(toml::Value::as_str).unwrap_or_default();
        let name = format!("{} ({})", table["id"].as_str().unwrap(), table["source"].as_str().unwrap());
        let example = Example { table, name };
        match method {
            "slump.layer_height" => layer_height(&example),
            "slump.precision" => precision(&example),
            "sampling.time_windows" => time_windows(&example),
            _ => continue,
        }
        n_run += 1;
    }
    assert_eq!(n_run, n_present, "every example that is present is run");
    assert!(n_run >= 5, "the data file holds at least the five examples known when this was written");
}

/// The depth of a third of the cone's volume, as the procedure asks for it in words.
///
/// The source printed 65 mm beside 2 5/8 in, which is 66.7 mm; the procedure gives each system the printed figure.
fn layer_height(example: &Example<'_>) {
    let name = &example.name;
    for (system, unit, printed) in [
        (System::InchPound, "in", parse_typed(example.text("expected", "depth_in")).unwrap()),
        (System::Si, "mm", example.number("expected", "depth_mm")),
    ] {
        let edition = shipped("slump", system);
        let figure = edition.figures.iter().find(|figure| figure.id == "layer_1").unwrap();
        assert_eq!((&figure.is.value, figure.is.unit.symbol().as_str()), (&printed, unit), "{name}");
        let fill = edition.step(edition.step_named("layer-1").unwrap());
        let words = fill.instruction.as_plain().unwrap();
        let asked = words.split(&format!(" {unit} deep")).next().unwrap().rsplit(", ").next().unwrap();
        assert_eq!(parse_typed(asked).unwrap(), printed, "{name}: {words}");
    }
}

/// How far two people may differ: the slump of a run, and the ends of the printed span, each rounded as that run rounds.
fn precision(example: &Example<'_>) {
    let name = &example.name;
    let first = example.value("inputs", "first_result_in").to_string();
    let run = slump(System::InchPound, &first).work();
    let Reported { exact: found, increment, unit, ties, .. } = result(&run, "slump").reported;
    assert_eq!(found, exact(&first), "{name}");
    let apart = example.number("inputs", "limit_d2s_in");
    for (end, key) in [(&found - &apart, "low_in"), (&found + &apart, "high_in")] {
        let end = Reported::new(end, &increment, unit, ties);
        assert_eq!(end.rounded, example.number("expected", key), "{name}: {key}");
    }
}

/// The windows of a sample, each between two steps of the methods they belong to; a moment of the sample is told from
/// the run that marked it to the runs that count from it.
fn time_windows(example: &Example<'_>) {
    let name = &example.name;
    let time = |key: &str| example.may("inputs", key).and_then(toml::Value::as_str);
    let mut last = None;
    if let (Some(first), Some(last_portion)) = (time("first_portion"), time("final_portion")) {
        let mut sampling = Clocked::open("sampling", first);
        sampling.numbers = &[("planned", "2"), ("out_1", "20"), ("out_last", "60")];
        sampling.until("portion-1", first);
        sampling.until("last-portion", last_portion);
        let lasted = sampling.done("last-portion").since(sampling.done("portion-1"));
        assert_eq!(lasted.0, example.minutes("portions_min"), "{name}: from the first portion to the last");
        assert_eq!(sampling.run.phase() == Phase::AtStep, example.says("portions_ok"), "{name}: the sample stands");
        if let Some(action) = example.may("expected", "action").and_then(toml::Value::as_str) {
            let ended = sampling.run.endings().last().expect("the sample was discarded");
            assert_eq!(ended.kind, EndingKind::Discard, "{name}");
            assert!(action.starts_with("discard; "), "{name}: {action}");
            let again = &sampling.run.edition().agains[ended.again.expect("it says how to go on").0 as usize];
            assert!(again.say.as_plain().unwrap().contains("take a new sample"), "{name}: {action}");
        } else {
            last = sampling.marked("last-portion");
            assert!(last.is_some(), "{name}: the moment is known");
        }
        if let Some(made) = time("composite_made") {
            sampling.until("remix", made);
            assert!(sampling.marked("composite").is_some(), "{name}: the moment is known");
        }
    }
    if let (Some(start), Some(last), Some(_)) = (time("slump_start"), last, example.may("expected", "slump_ok")) {
        let mut slump = Clocked::open("slump", time("final_portion").unwrap());
        slump.tell("last-portion", last);
        slump.until("first-scoop", start);
        let delay = slump.done("first-scoop").since(last.tick);
        assert_eq!(delay.0, example.minutes("slump_delay_min"), "{name}: the start of the slump");
        assert_eq!(slump.run.findings().is_empty(), example.says("slump_ok"), "{name}: {:?}", slump.run.findings());
    }
    if let (Some(made), Some(start)) = (time("composite_made"), time("molding_start")) {
        let mut moulding = Clocked::open("cylinders", made);
        moulding.numbers = MOULDING;
        let made = moulding.now;
        moulding.tell("composite", made);
        moulding.until("first-scoop", start);
        let delay = moulding.done("first-scoop").since(made.tick);
        assert_eq!(delay.0, example.minutes("molding_delay_min"), "{name}: the start of moulding");
        let wall = moulding.run.passed().last().unwrap().done.wall.unix_ms - made.wall.unix_ms;
        assert_eq!(u64::try_from(wall).unwrap(), delay.0, "{name}: the wall clock agrees");
        let is_late = moulding.run.findings().iter().any(|finding| matches!(finding.what, FindingKind::Late { .. }));
        assert_eq!(!is_late, example.says("molding_ok"), "{name}: {:?}", moulding.run.findings());
    }
}

/// The numbers a person moulding cylinders is asked for before the first scoop.
const MOULDING: &[(&str, &str)] = &[("strength", "4000"), ("aggregate", "0.75"), ("moulds", "6"), ("slump", "4.00")];

/// A run whose steps are done at times of day: what comes before a step is done at once, the step itself at its time.
struct Clocked {
    run: Run,
    now: Moment,
    numbers: &'static [(&'static str, &'static str)],
}

impl Clocked {
    /// Opens the inch-pound edition of `method` at a time of day.
    fn open(method: &str, time: &str) -> Self {
        let now = clock(time, Moment::default());
        Self { run: Run::open(shipped(method, System::InchPound), Ties::Even, now), now, numbers: &[] }
    }

    fn apply(&mut self, event: Event) {
        self.run.apply(event, self.now).unwrap_or_else(|refused| panic!("{}: {refused}", self.run.edition().id));
    }

    fn moment(&self, name: &str) -> u16 {
        let moments = &self.run.edition().moments;
        moments.iter().position(|moment| moment == name).unwrap_or_else(|| panic!("no moment {name}")) as u16
    }
    fn marked(&self, name: &str) -> Option<Moment> {
        self.run.marked(self.moment(name))
    }
    fn tell(&mut self, name: &str, at: Moment) {
        let moment = self.moment(name);
        self.apply(Event::Known { moment, at });
    }

    /// When `step` was done.
    fn done(&self, step: &str) -> Tick {
        let id = self.run.edition().step_named(step).unwrap();
        self.run.passed().iter().rev().find(|passed| passed.step == id).expect("it was done").done.tick
    }

    /// Does what comes before `step` now, and `step` at `time`.
    fn until(&mut self, step: &str, time: &str) {
        let last = self.run.edition().step_named(step).unwrap_or_else(|| panic!("no step {step}"));
        loop {
            let offer = self.run.offer(self.now.tick);
            let (id, _) = offer.step.expect("the run goes on");
            let act = match offer.act {
                Act::Answer(reading) => Some(reading),
                Act::Confirm => None,
                other => panic!("{step}: {other:?} takes time of its own"),
            };
            if id == last {
                self.now = clock(time, self.now);
            }
            match act {
                Some(reading) => {
                    let entry = self.entry(reading);
                    self.apply(Event::Answer { step: id, reading, entry, seen: self.now.tick, despite: None });
                }
                None => self.apply(Event::Done { step: id, despite: None }),
            }
            if id == last {
                return;
            }
        }
    }

    fn entry(&self, id: procedure::ReadingId) -> Entry {
        let reading = self.run.edition().reading(id);
        match &reading.kind {
            ReadingKind::Number(scale) => {
                let named = self.numbers.iter().find(|number| number.0 == reading.id);
                let (_, typed) = named.unwrap_or_else(|| panic!("the test must name {}", reading.id));
                Entry::Number(scale.read(typed).unwrap_or_else(|why| panic!("{}: {why}", reading.id)))
            }
            ReadingKind::Choice(_) => Entry::Choice(0),
            ReadingKind::Words => Entry::Words("written down".to_owned()),
            ReadingKind::Tally { .. } => Entry::One,
        }
    }
}

/// A time of day such as `23:52`, the first one not before `from`: past midnight it is the next day's.
fn clock(time: &str, from: Moment) -> Moment {
    const DAY_MS: u64 = 24 * 3_600_000;
    let (hours, minutes) = time.split_once(':').unwrap();
    let of_day = (hours.parse::<u64>().unwrap() * 60 + minutes.parse::<u64>().unwrap()) * 60_000;
    let days = from.tick.0.saturating_sub(of_day).div_ceil(DAY_MS);
    let tick = Tick(days * DAY_MS + of_day);
    // 2026-05-14 in UTC, like every invented day here.
    let unix_ms = 1_778_716_800_000 + i64::try_from(tick.0).unwrap();
    Moment { tick, wall: Wall { unix_ms, offset_min: 0 } }
}

// ------------------------------------------------------------------------------------------------ the limits

fn slump(system: System, measured: &str) -> Technician {
    Technician::of("slump", system).reads("measured", measured)
}

fn slump_en(measured: &str) -> Technician {
    Technician::of("slump-en", System::Si).reads("measured", measured)
}

/// The findings of a run, in words.
fn findings(run: &Run) -> Vec<String> {
    let said = run.findings().iter().map(|finding| match &finding.what {
        FindingKind::Rule { text } | FindingKind::Late { text, .. } => text.clone(),
        other => format!("{other:?}"),
    });
    said.collect()
}

/// Why the last attempt ended, if it did.
fn ending(run: &Run) -> Option<(EndingKind, String)> {
    run.endings().last().map(|ended| (ended.kind, ended.because.clone()))
}

#[test]
fn a_slump_is_reported_on_the_marks_of_its_system() {
    for (system, measured, shown) in [
        (System::InchPound, "0.5", "0.50 in"),
        (System::InchPound, "4 1/4", "4.25 in"),
        (System::InchPound, "9", "9.00 in"),
        (System::Si, "15", "15 mm"),
        (System::Si, "105", "105 mm"),
        (System::Si, "230", "230 mm"),
    ] {
        let run = slump(system, measured).work();
        assert_eq!(reported(&run, "slump"), shown);
        assert!(findings(&run).is_empty(), "{shown}: {:?}", findings(&run));
    }
}

#[test]
fn a_slump_too_small_or_too_great_to_say_much_is_noted() {
    for (system, measured, noted) in [
        (System::InchPound, "0.25", "Under 1/2 in"),
        (System::InchPound, "9.25", "Over 9 in"),
        (System::Si, "10", "Under 15 mm"),
        (System::Si, "235", "Over 230 mm"),
    ] {
        let run = slump(system, measured).work();
        assert_eq!(result(&run, "slump").reported.exact, exact(measured), "it is reported all the same");
        let [only] = &findings(&run)[..] else { panic!("{measured}: {:?}", findings(&run)) };
        assert!(only.starts_with(noted), "{measured}: {only}");
    }
}

/// A slump of 4 in, 100 mm, by a method in the first unit system it is stated in.
fn usual(method: &str) -> Technician {
    match method {
        "slump" => slump(System::InchPound, "4"),
        _ => slump_en("100"),
    }
}

#[test]
fn a_lift_out_of_its_time_ends_the_attempt() {
    for (method, seconds, is_good) in [
        ("slump", 2, false),
        ("slump", 3, true),
        ("slump", 7, true),
        ("slump", 8, false),
        ("slump-en", 1, false),
        ("slump-en", 2, true),
        ("slump-en", 5, true),
        ("slump-en", 6, false),
    ] {
        let run = usual(method).takes("lift", seconds).work();
        assert_eq!(run.phase() == Phase::Finished, is_good, "{method}: a lift of {seconds} s; {:?}", ending(&run));
        if !is_good {
            let (kind, because) = ending(&run).unwrap();
            assert_eq!(kind, EndingKind::Discard);
            assert!(because.contains("lift"), "{because}");
            assert!(run.endings()[0].again.is_some(), "with a fresh portion it may be tried again");
        }
    }
}

#[test]
fn the_mould_is_off_two_and_a_half_minutes_after_the_first_scoop_or_the_attempt_ends() {
    for method in ["slump", "slump-en"] {
        // Seven acts of a second lie between the first layer and the lift, one before it; the lift takes 5 s.
        for (first_layer, is_good) in [(137, true), (138, false)] {
            let run = usual(method).takes("layer-1", first_layer).takes("lift", 5).work();
            let done = |step| {
                let id = run.edition().step_named(step).unwrap();
                run.passed().iter().find(|passed| passed.step == id).unwrap().done.tick
            };
            assert_eq!(done("lift").since(done("first-scoop")).0, (first_layer + 13) * 1_000, "{method}");
            assert_eq!(run.phase() == Phase::Finished, is_good, "{method}: {:?}", ending(&run));
            assert_eq!(run.endings().len(), usize::from(!is_good));
        }
    }
}

#[test]
fn a_test_begun_late_is_noted_and_goes_on() {
    for (method, reading, number, step, at_most_s) in [
        ("slump", "measured", "4", "dampen", 300),
        ("slump-en", "measured", "100", "dampen", 900),
        ("temperature", "shown", "72.4", "fill", 300),
    ] {
        let system = shipped_systems(method)[0];
        for (late_by, is_late) in [(0, false), (1, true)] {
            // Two more acts of a second lie between this one and the one that counts.
            let mut technician =
                Technician::of(method, system).reads(reading, number).takes(step, at_most_s - 2 + late_by);
            if method == "temperature" {
                technician = technician.reads("aggregate", "0.75");
            }
            let run = technician.work();
            assert_eq!(run.phase(), Phase::Finished, "{method}");
            let late: Vec<_> = findings(&run).into_iter().filter(|text| text.contains("later than")).collect();
            assert_eq!(late.len(), usize::from(is_late), "{method}, {late_by} s late: {late:?}");
        }
    }
}

fn shipped_systems(method: &str) -> Vec<System> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../procedures").join(format!("{method}.toml"));
    let checked = procedure::check(&format!("{method}.toml"), &fs::read_to_string(file).unwrap());
    checked.procedure.unwrap().editions.iter().map(|edition| edition.system).collect()
}

#[test]
fn a_specimen_that_shears_is_repeated_once_and_then_the_test_is_not_applicable() {
    for method in ["slump", "slump-en"] {
        let once = usual(method).reads("shape", "sheared").reads("shape", "whole").on();
        let (kind, because) = ending(&once.run).unwrap();
        assert_eq!(kind, EndingKind::Discard, "{method}: {because}");
        assert!(once.run.endings()[0].again.is_some(), "{method}: with a fresh portion");
        let run = once.again().work();
        assert_eq!(run.results().len(), 1, "{method}: the second specimen stood whole");

        let run = usual(method).reads("shape", "sheared").reads("shape", "sheared").on().again().work();
        let (kind, because) = ending(&run).unwrap();
        assert_eq!(kind, EndingKind::Void, "{method}");
        assert!(because.starts_with("Not applicable: sheared twice running"), "{method}: {because}");
        assert_eq!(run.endings().last().unwrap().again, None, "{method}: nothing is tried again");
        assert!(run.results().is_empty(), "{method}: no number is reported");
    }
}

#[test]
fn an_attempt_stopped_between_two_sheared_specimens_is_no_test_of_the_concrete() {
    let stopped = slump(System::InchPound, "4").reads("shape", "sheared").on().again();
    let mut quick = stopped.takes("lift", 1).on();
    assert!(ending(&quick.run).unwrap().1.contains("lift"));
    quick = quick.again().takes("lift", 5).on();
    let (kind, because) = ending(&quick.run).unwrap();
    assert_eq!((kind, quick.run.attempt()), (EndingKind::Discard, 3), "{because}");
}

#[test]
fn each_slump_after_the_en_has_its_class_and_none_lies_between_two() {
    let class = |mm: u32| match mm {
        10..=40 => Some("S1"),
        50..=90 => Some("S2"),
        100..=150 => Some("S3"),
        160..=210 => Some("S4"),
        220.. => Some("S5"),
        _ => None,
    };
    for mm in (0..=300).step_by(10) {
        let run = slump_en(&mm.to_string()).work();
        assert_eq!(reported(&run, "slump"), format!("{mm} mm"));
        let said = findings(&run);
        let classes: Vec<&str> = said.iter().filter_map(|text| text.strip_prefix("Slump class ")?.get(..2)).collect();
        assert_eq!(classes, class(mm).into_iter().collect::<Vec<_>>(), "{mm} mm");
        let is_outside = said.iter().any(|text| text.starts_with("Outside 10 mm to 210 mm"));
        assert_eq!(is_outside, !(10..=210).contains(&mm), "{mm} mm: {said:?}");
    }
}

#[test]
fn after_the_en_only_a_true_slump_counts() {
    let run = slump_en("250").reads("shape", "collapsed").work();
    let (kind, because) = ending(&run).unwrap();
    assert_eq!(kind, EndingKind::Void);
    assert!(because.starts_with("Not applicable"), "{because}");
    // After ASTM it is measured, and noted.
    let run = slump(System::InchPound, "9").reads("shape", "collapsed").work();
    assert_eq!(reported(&run, "slump"), "9.00 in");
    assert_eq!(findings(&run).len(), 1);
}

#[test]
fn the_portions_lie_between_a_tenth_and_nine_tenths_of_the_load() {
    for (reading, percent, is_taken) in [
        ("out_1", "9", false),
        ("out_1", "10", true),
        ("out_1", "90", true),
        ("out_1", "91", false),
        ("out_last", "90", true),
        ("out_last", "91", false),
    ] {
        let (first, last) = if reading == "out_1" { (percent, "91") } else { ("50", percent) };
        let technician = Technician::of("sampling", System::InchPound).reads("planned", "2").reads("amount", "1.5");
        let (run, refused) = technician.reads("out_1", first).reads("out_last", last).until_refused();
        let n_taken = run.taken().iter().filter(|taken| run.edition().reading(taken.reading).id == reading).count();
        assert_eq!(n_taken == 1, is_taken, "{reading} {percent} %: {refused:?}");
    }
}

#[test]
fn fifteen_minutes_from_the_first_portion_to_the_last_are_enough_and_no_second_more() {
    for (system, planned, amount) in [(System::InchPound, "2", "1.0"), (System::Si, "5", "28")] {
        for (late_by, is_good) in [(0, true), (1, false)] {
            let n_between = 2 * (planned.parse::<u64>().unwrap() - 2) + 1;
            let run = Technician::of("sampling", system)
                .reads("planned", planned)
                .reads("amount", amount)
                .reads("out_1", "15")
                .reads("out_2", "30")
                .reads("out_3", "45")
                .reads("out_4", "60")
                .reads("out_last", "75")
                .takes("last-portion", 900 - n_between + late_by)
                .work();
            assert_eq!(run.phase() == Phase::Finished, is_good, "{planned} portions: {:?}", ending(&run));
            if is_good {
                assert_eq!(result(&run, "portions").reported.rounded, exact(planned));
                assert!(findings(&run).is_empty(), "{:?}", findings(&run));
            } else {
                assert_eq!(ending(&run).unwrap().0, EndingKind::Discard);
            }
        }
    }
}

#[test]
fn strength_specimens_need_a_cubic_foot_of_sample() {
    for (system, amount, is_enough) in [
        (System::InchPound, "0.9", false),
        (System::InchPound, "1.0", true),
        (System::Si, "27", false),
        (System::Si, "28", true),
    ] {
        let technician = Technician::of("sampling", system).reads("planned", "2").reads("amount", amount);
        let run = technician.reads("out_1", "20").reads("out_last", "70").work();
        assert_eq!(findings(&run).is_empty(), is_enough, "{amount}: {:?}", findings(&run));
    }
}

#[test]
fn a_preliminary_sample_is_one_early_portion_and_says_what_it_is_for() {
    let technician = Technician::of("sampling", System::InchPound).reads("purpose", "preliminary");
    let run = technician.reads("out_last", "3").reads("amount", "0.3").work();
    assert_eq!(result(&run, "portions").reported.rounded, exact("1"));
    let [only] = &findings(&run)[..] else { panic!("{:?}", findings(&run)) };
    assert!(only.starts_with("A preliminary sample"), "{only}");
    let moment = run.edition().moments.iter().position(|moment| moment == "last-portion").unwrap();
    assert!(run.marked(moment as u16).is_some(), "its tests count from its one portion");
}

#[test]
fn a_temperature_is_read_in_place_after_two_minutes_and_within_five() {
    let read = |aggregate: &str, soak| {
        let technician = Technician::of("temperature", System::InchPound).reads("aggregate", aggregate);
        technician.reads("shown", "72.4").takes("soak", soak)
    };
    for (soak, n_late) in [(120, 0), (298, 0), (299, 1)] {
        // Begun a second after the concrete was pressed round it, read a second after the wait.
        let run = read("0.75", soak).work();
        assert_eq!(reported(&run, "temperature"), "72 °F");
        assert_eq!(findings(&run).len(), n_late, "{soak} s: {:?}", findings(&run));
    }
}

#[test]
fn a_sensor_is_not_read_before_its_two_minutes() {
    let mut temperature = Clocked::open("temperature", "09:00");
    temperature.numbers = &[("aggregate", "0.75")];
    temperature.until("press-round", "09:01");
    let soak = temperature.run.edition().step_named("soak").unwrap();
    temperature.apply(Event::Begin { step: soak });
    for (ms, is_taken) in [(119_999, false), (120_000, true)] {
        let tick = Tick(temperature.now.tick.0 + ms);
        let done = Event::Done { step: soak, despite: None };
        let taken = temperature.run.apply(done, Moment { tick, ..temperature.now });
        assert_eq!(taken.is_ok(), is_taken, "{ms} ms: {taken:?}");
    }
}

#[test]
fn a_temperature_is_reported_to_one_degree_fahrenheit_or_half_a_degree_celsius() {
    for (system, aggregate, shown, said) in [
        (System::InchPound, "0.75", "72.4", "72 °F"),
        (System::InchPound, "0.75", "72.5", "72 °F"),
        (System::InchPound, "0.75", "73.5", "74 °F"),
        (System::Si, "19", "22.2", "22.0 °C"),
        (System::Si, "19", "22.3", "22.5 °C"),
    ] {
        let technician = Technician::of("temperature", system).reads("aggregate", aggregate);
        assert_eq!(reported(&technician.reads("shown", shown).work(), "temperature"), said);
    }
}

#[test]
fn the_sensor_needs_three_inches_of_concrete_or_three_times_the_aggregate() {
    for (system, aggregate, cover) in [
        (System::InchPound, "0.75", "3 in"),
        (System::InchPound, "1", "3 in"),
        (System::InchPound, "1.5", "4.5 in"),
        (System::Si, "19", "75 mm"),
        (System::Si, "25", "75 mm"),
        (System::Si, "37.5", "112.5 mm"),
    ] {
        let technician = Technician::of("temperature", system).reads("aggregate", aggregate).reads("cover", "no");
        let (_, refused) = technician.until_refused();
        let refused = refused.expect("too little concrete is refused").to_string();
        assert!(refused.contains(&format!("needs {cover} of concrete")), "{aggregate}: {refused}");
    }
}

#[test]
fn big_aggregate_gives_its_heat_in_twenty_minutes() {
    for (aggregate, step, least_s) in [("3", "soak", 120), ("3.125", "soak-big", 1_200)] {
        let technician = Technician::of("temperature", System::InchPound).reads("aggregate", aggregate);
        let run = technician.reads("shown", "60.0").work();
        let id = run.edition().step_named(step).unwrap();
        let waited = run.passed().iter().find(|passed| passed.step == id).expect("this wait was the one");
        assert!(waited.done.tick.since(waited.begun.unwrap()).0 >= least_s * 1_000, "{aggregate} in");
    }
}
