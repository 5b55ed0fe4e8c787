//! What is spoken of the shipped procedures: every text of theirs, and every step as it is prompted.

#![allow(clippy::unwrap_used, clippy::panic, clippy::expect_used, reason = "tests say what they expect by panicking")]

use std::sync::Arc;

use coach::screen::hands::words;
use engine::{Act, ClockOf, Entry, Event, Moment, Phase, Run, Side, Tick, TimeCue, TimeSays};
use procedure::{Consequence, Edition, Part, Procedure, ReadingId, ReadingKind, Text, Wants};
use quantity::{Decimal, Span, System, Ties};
use voice::say::sentence;

/// About six seconds at 165 words a minute, in characters.
const LONGEST_PROMPT: usize = 90;
/// About two seconds.
const LONGEST_SHORT: usize = 44;
/// What nobody listens to the end of: half a minute. Such a text is read, not heard.
const LONGEST_TEXT: usize = 420;

fn shipped() -> Vec<Procedure> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../procedures");
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .collect();
    paths.sort();
    paths
        .iter()
        .map(|path| {
            let text = std::fs::read_to_string(path).unwrap();
            procedure::check(path.to_str().unwrap(), &text).procedure.expect("a shipped procedure loads")
        })
        .collect()
}

fn editions() -> Vec<Edition> {
    shipped().into_iter().flat_map(|procedure| procedure.editions).collect()
}

/// A text with its places filled in by something long enough.
fn filled(edition: &Edition, text: &Text) -> String {
    let mut all = String::new();
    for part in &text.parts {
        match part {
            Part::Plain(words) => all.push_str(words),
            Part::Reading(id) | Part::Was(id) => match &edition.reading(*id).kind {
                ReadingKind::Number(scale) => {
                    let usual = edition.reading(*id).typical.map_or(scale.max, |typical| typical.1);
                    all.push_str(&scale.show(&usual));
                }
                ReadingKind::Choice(choices) => all.push_str(&choices[0].label),
                ReadingKind::Words => all.push_str("HB-14"),
                ReadingKind::Tally { .. } => all.push('3'),
            },
            Part::Value(id) => {
                let unit = edition.values[id.0 as usize].unit;
                all.push_str(format!("12.5 {unit}").trim_end());
            }
            Part::Round => all.push('2'),
        }
    }
    all
}

fn consequence(edition: &Edition, then: &Consequence, texts: &mut Vec<String>) {
    match then {
        Consequence::Refuse(text) | Consequence::Finding(text) => texts.push(filled(edition, text)),
        Consequence::End(ending) | Consequence::Back { otherwise: ending, .. } => {
            texts.push(filled(edition, &ending.because));
        }
    }
}

/// Every text of an edition that a person may be told.
fn texts(edition: &Edition) -> Vec<String> {
    let mut texts = vec![edition.title.clone()];
    texts.extend(edition.basis.iter().map(|basis| basis.designation.clone()));
    texts.extend(edition.notice.clone());
    for reading in &edition.readings {
        texts.push(filled(edition, &reading.ask));
        texts.extend(reading.say.as_ref().map(|say| filled(edition, say)));
        if let ReadingKind::Choice(choices) = &reading.kind {
            texts.extend(choices.iter().map(|choice| choice.label.clone()));
        }
        if let ReadingKind::Number(scale) = &reading.kind {
            texts.extend([scale.show(&scale.min), scale.show(&scale.max), scale.unit.symbol()]);
        }
    }
    texts.extend(edition.tables.iter().map(|table| table.title.clone()));
    texts.extend(edition.values.iter().map(|value| value.title.clone()));
    for stage in &edition.stages {
        texts.push(stage.title.clone());
        if let Some(agree) = stage.repeat.as_ref().and_then(|repeat| repeat.until_agree()) {
            texts.push(filled(edition, &agree.otherwise.because));
        }
    }
    for step in &edition.steps {
        let of_step = [&step.too_soon, &step.why, &step.slip, &step.caution, &step.mark, &step.say];
        texts.push(filled(edition, &step.instruction));
        texts.extend(of_step.into_iter().flatten().map(|text| filled(edition, text)));
        texts.extend(step.every.iter().map(|every| filled(edition, &every.cue)));
        texts.extend(step.add.iter().map(|add| filled(edition, &add.ask)));
        texts.extend(step.needs.iter().map(|need| filled(edition, &need.because)));
        for rule in &step.rules {
            consequence(edition, &rule.then, &mut texts);
        }
        match &step.wants {
            Wants::Hold { turns: Some(turns), .. } => {
                texts.extend([turns.down.clone(), turns.up.clone(), filled(edition, &turns.finding)]);
            }
            Wants::Timed { otherwise, .. } => consequence(edition, otherwise, &mut texts),
            Wants::Settle(settle) => texts.push(filled(edition, &settle.otherwise.because)),
            Wants::Count { of, at_least, at_most, .. } => texts.push(format!("{at_least}-{at_most} {of}")),
            _ => {}
        }
    }
    for limit in &edition.limits {
        texts.push(filled(edition, &limit.title));
        texts.extend(limit.say.as_ref().map(|say| filled(edition, say)));
        texts.push(limit.at_most.to_string());
        consequence(edition, &limit.otherwise, &mut texts);
    }
    for incident in &edition.incidents {
        texts.extend([filled(edition, &incident.title), filled(edition, &incident.ending.because)]);
    }
    for again in &edition.agains {
        texts.push(filled(edition, &again.say));
        texts.extend(again.change.as_ref().map(|change| filled(edition, &change.because)));
    }
    for result in &edition.results {
        texts.extend(result.terms.iter().map(|term| term.label.clone()));
        for rule in &result.rules {
            consequence(edition, &rule.then, &mut texts);
        }
    }
    texts.extend(edition.appointments.iter().map(|appointment| filled(edition, &appointment.title)));
    texts
}

/// The first sign that a voice would read in its own way.
fn unspeakable(said: &str) -> Option<char> {
    said.chars().find(|sign| !sign.is_alphabetic() && !" ,.?!'-".contains(*sign))
}

#[test]
fn every_text_of_every_shipped_procedure_can_be_spoken() {
    let mut seen = 0;
    for edition in editions() {
        for text in texts(&edition) {
            let said = sentence(&text);
            let of = format!("{} {}: {text:?} said {said:?}", edition.id, edition.system);
            assert_eq!(unspeakable(&said), None, "{of}");
            assert!(!said.is_empty() || text.is_empty(), "{of}");
            assert!(said.chars().count() <= LONGEST_TEXT, "{} characters: {of}", said.chars().count());
            seen += 1;
        }
    }
    assert!(seen > 5_000, "only {seen} texts were looked at");
}

/// The spoken form of a step, a question or a limit.
fn spoken(edition: &Edition, say: Option<&Text>, written: &Text) -> String {
    sentence(&filled(edition, say.unwrap_or(written)))
}

#[test]
fn no_step_question_or_limit_takes_longer_to_say_than_six_seconds() {
    let mut long = Vec::new();
    for edition in editions() {
        let steps = edition.steps.iter().map(|step| (&step.id, step.say.as_ref(), &step.instruction));
        let readings = edition.readings.iter().map(|reading| (&reading.id, reading.say.as_ref(), &reading.ask));
        let limits = edition.limits.iter().map(|limit| (&limit.id, limit.say.as_ref(), &limit.title));
        for (id, say, written) in steps.chain(readings).chain(limits) {
            let said = spoken(&edition, say, written);
            let first = said.split([',', '.', '?', '!']).next().unwrap_or_default();
            let (all, clause) = (said.chars().count(), first.chars().count());
            if all > LONGEST_PROMPT || clause > LONGEST_SHORT {
                long.push(format!("{} {} {id} {all}/{clause}: {said}", edition.id, edition.system));
            }
        }
    }
    assert!(long.is_empty(), "{} are too long, or their first clause is:\n{}", long.len(), long.join("\n"));
}

// ---------------------------------------------------------------------------------------------- while a run goes on

fn moment(ms: u64) -> Moment {
    Moment { tick: Tick(ms), ..Moment::default() }
}

fn open(id: &str, system: System) -> Walk {
    let found = shipped().into_iter().find(|procedure| procedure.id == id).expect("a shipped procedure");
    Walk::new(found.edition(system).expect("the method is stated in this system").clone())
}

/// Somebody who does what is asked for, and notes what is said.
struct Walk {
    run: Run,
    now: u64,
    heard: Vec<(String, String, String)>,
}

impl Walk {
    fn new(edition: Edition) -> Self {
        let mut walk = Self { run: Run::open(Arc::new(edition), Ties::Even, moment(0)), now: 0, heard: Vec::new() };
        walk.listen();
        walk
    }

    fn step(&self) -> String {
        let (id, _) = self.run.offer(Tick(self.now)).step.expect("a step");
        self.run.edition().step(id).id.clone()
    }

    fn listen(&mut self) {
        if let Some((whole, short)) = words::prompt(&self.run, Tick(self.now)) {
            self.heard.push((self.step(), whole, short));
        }
    }

    fn entries(&self, reading: ReadingId) -> Vec<Entry> {
        let reading = self.run.edition().reading(reading);
        match &reading.kind {
            ReadingKind::Number(scale) => {
                let typical = reading.typical.map_or([scale.min, scale.max], |(low, high)| [low, high]);
                let middle = scale.step * ((scale.min + scale.max) / scale.step / Decimal::TWO).floor();
                typical.into_iter().chain([middle, scale.min, scale.max]).map(Entry::Number).collect()
            }
            ReadingKind::Choice(choices) => (0..choices.len() as u16).map(Entry::Choice).collect(),
            ReadingKind::Words => vec![Entry::Words("HB-14".to_owned())],
            ReadingKind::Tally { .. } => vec![Entry::One],
        }
    }

    /// One act, as it is asked for; false if there is none.
    fn act(&mut self) -> bool {
        let offer = self.run.offer(Tick(self.now));
        let Some((step, _)) = offer.step.filter(|_| offer.phase == Phase::AtStep) else { return false };
        let tried: Vec<Event> = match &offer.act {
            Act::Answer(reading) => self
                .entries(*reading)
                .into_iter()
                .map(|entry| Event::Answer { step, reading: *reading, entry, seen: Tick(self.now), despite: None })
                .collect(),
            Act::Wait { until } => {
                self.now = until.0;
                self.listen();
                return true;
            }
            _ => self.run.press(Tick(self.now)).into_iter().collect(),
        };
        self.now += 4_000;
        let at = moment(self.now);
        let done = tried.into_iter().any(|event| self.run.apply(event, at).is_ok());
        if done {
            self.listen();
        }
        done
    }

    fn up_to(&mut self, step: &str) -> &(String, String, String) {
        for _ in 0..400 {
            if self.step() == step {
                return self.heard.last().unwrap();
            }
            assert!(self.act(), "nothing goes on at {}", self.step());
        }
        panic!("{step} was not reached");
    }

    #[track_caller]
    fn says(&mut self, step: &str, whole: &str, short: &str) {
        let (_, said, brief) = self.up_to(step);
        assert_eq!((said.as_str(), brief.as_str()), (whole, short), "at {step}");
    }
}

#[test]
fn whatever_is_prompted_in_a_run_can_be_spoken_and_has_a_short_form() {
    let (mut n_steps, mut n_prompts) = (0, 0);
    for edition in editions() {
        let of = format!("{} {}", edition.id, edition.system);
        let mut walk = Walk::new(edition);
        for _ in 0..600 {
            if !walk.act() {
                break;
            }
        }
        let mut steps: Vec<&String> = walk.heard.iter().map(|(step, ..)| step).collect();
        steps.sort();
        steps.dedup();
        n_steps += steps.len();
        n_prompts += walk.heard.len();
        for (step, whole, short) in &walk.heard {
            for said in [whole, short] {
                assert_eq!(unspeakable(said), None, "{of} {step}: {said}");
                assert!(said.ends_with(['.', '?', '!']), "{of} {step}: {said}");
                assert_eq!(sentence(said), *said, "{of} {step}: it is left as it is");
            }
            // Words a person wrote can be as long as they like.
            assert!(short.chars().count() <= LONGEST_SHORT + 26, "{of} {step}: {short}");
            assert!(whole.chars().count() <= LONGEST_TEXT, "{of} {step}: {whole}");
        }
        // What is heard of the clocks that still run.
        for cue in walk.run.cues(Tick(walk.now), Span::from_secs(86_400)) {
            assert_eq!(unspeakable(&words::of_time(&walk.run, &cue)), None);
        }
    }
    assert!(n_steps > 500 && n_prompts > 600, "{n_steps} steps, {n_prompts} prompts");
}

#[test]
fn a_step_is_said_with_its_stage_its_caution_and_what_it_waits_for() {
    let mut slump = open("slump", System::InchPound);
    slump.says("technician", "Prepare. Who runs this test? Technician.", "Technician.");
    slump.says(
        "apparatus",
        "Fresh concrete is caustic, gloves and glasses on, wash skin at once. Lay out scoop, rule, cloth and rod.",
        "Lay out scoop, rule, cloth and rod.",
    );
    slump.says(
        "dampen",
        "Fill the mould. Wet the mould inside and the base, no puddle.",
        "Wet the mould inside and the base, no puddle.",
    );
    slump.says("strokes-1", "Rod twenty-five times, through its depth.", "Rod twenty-five times, through its depth.");
    slump.says(
        "measure",
        "Measure now, from the height of the mould. Down to the displaced centre of the top.",
        "Down to the displaced centre of the top.",
    );
}

#[test]
fn a_wait_and_an_inversion_are_said_as_they_stand() {
    let mut air = open("air-volumetric", System::InchPound);
    let (_, whole, _) = air.up_to("invert");
    assert!(whole.ends_with("At least forty-five seconds.") || whole.contains("forty-five seconds"), "{whole}");
    air.act();
    assert_eq!(air.heard.last().unwrap().1, "Turn it upright.");
    air.act();
    assert_eq!(air.heard.last().unwrap().1, "Turn it upside down.");

    let mut temperature = open("temperature", System::Si);
    let (_, whole, short) = temperature.up_to("soak").clone();
    assert!(whole.ends_with("Press, the wait begins. Your hands are free. At least two minutes."), "{whole}");
    assert_eq!(short, "Press, the wait begins. Your hands are free.");
    temperature.act();
    assert_eq!(temperature.heard.last().unwrap().1, "Wait two minutes.");
    temperature.now += 61_000;
    assert_eq!(words::prompt(&temperature.run, Tick(temperature.now)).unwrap().1, "Wait fifty-nine seconds.");
}

#[test]
fn only_true_waits_of_shipped_procedures_lead_on_by_themselves() {
    let mut leading: Vec<String> = editions()
        .iter()
        .flat_map(|edition| {
            let leads = edition.steps.iter().filter(|step| words::goes_on(step));
            leads.map(|step| format!("{} {}", edition.id, step.id)).collect::<Vec<String>>()
        })
        .collect();
    leading.sort();
    leading.dedup();
    assert_eq!(
        leading,
        [
            "aggregate-correction cool",
            "aggregate-correction soak",
            "air-meter-check leak-wait",
            "air-pressure cool",
            "air-pressure-en cool",
            "slump-en look-again",
            "temperature soak",
            "temperature soak-big",
            "thermometer-check cool-soak",
            "thermometer-check warm-soak",
        ]
    );
}

#[test]
fn times_are_said_with_what_they_are_of() {
    let air = open("air-volumetric", System::InchPound);
    let said = |of, what| words::of_time(&air.run, &TimeCue { at: Tick(0), of, side: Side::AtLeast, what });
    let left = |seconds| TimeSays::Left(Span::from_secs(seconds));
    for (of, what, words) in [
        (ClockOf::Hold, TimeSays::Halfway(Span::from_secs(60)), "halfway, one minute left"),
        (ClockOf::Hold, left(10), "ten seconds"),
        (ClockOf::Hold, TimeSays::Countdown(5), "five"),
        (ClockOf::Hold, TimeSays::Now, "long enough"),
        (ClockOf::HoldMost, left(10), "at most ten seconds more"),
        (ClockOf::HoldMost, TimeSays::Now, "longer than allowed"),
        (ClockOf::NextReading, TimeSays::Now, "read now"),
        (ClockOf::GiveUp, left(60), "one minute left to settle"),
        (ClockOf::GiveUp, TimeSays::Now, "the time to settle is over"),
        (ClockOf::Limit(0), left(60), "Start of the test after the sample, one minute left"),
        (ClockOf::Limit(0), TimeSays::Now, "Start of the test after the sample, over"),
        // Its sound is all there is to it.
        (ClockOf::Down, TimeSays::Tick(3), ""),
    ] {
        assert_eq!(said(of, what), words, "{of:?} {what:?}");
    }
    let mut air = open("air-volumetric", System::InchPound);
    air.up_to("invert");
    air.act();
    let cues = air.run.cues(Tick(air.now), Span::from_secs(5));
    assert_eq!(words::of_time(&air.run, cues.last().unwrap()), "turn it upright");
}

#[test]
fn a_result_and_an_end_are_said() {
    let mut slump = open("slump", System::InchPound);
    while slump.act() {}
    assert_eq!(slump.run.phase(), Phase::Finished);
    let (_, whole, short) = slump.heard.last().unwrap();
    assert_eq!((whole.as_str(), short.as_str()), ("Slump, three inches.", "Slump, three inches."));

    let mut slump = open("slump", System::InchPound);
    slump.up_to("lift");
    slump.run.apply(Event::Incident { incident: 0 }, moment(slump.now)).unwrap();
    assert_eq!(
        words::prompt(&slump.run, Tick(slump.now)).unwrap(),
        (
            "The attempt has ended. The mould did not stand still while it was filled. Clean the mould and the base, \
             take a fresh portion of the sample, and start again."
                .to_owned(),
            "The attempt has ended.".to_owned()
        )
    );
}

#[test]
fn a_value_is_read_back_with_its_unit_and_an_answer_by_its_label() {
    let slump = open("slump", System::InchPound);
    let reading = |name: &str| slump.run.edition().reading_named(name).unwrap();
    let (measured, shape) = (reading("measured"), reading("shape"));
    let said = words::read_back(&slump.run, measured, &Entry::Number(Decimal::new(375, 2)));
    assert_eq!(said, "three and three quarter inches");
    assert_eq!(words::read_back(&slump.run, shape, &Entry::Choice(0)), "Whole, sunk evenly");
    assert_eq!(words::answers(&slump.run, shape).len(), 3);
    assert_eq!(words::question(&slump.run, shape), "How does the concrete stand?");
}
