//! The real route from a voice to the record: a synthetic voice speaks into a sound file, Debian's recogniser makes words
//! of it with the grammar that is published at that moment, the adapter of `demo/voice` makes lines of them, and the real
//! program leads a test to its result.
//!
//! Needs Debian's pocketsphinx, pocketsphinx-en-us, flite and Python 3. Where one of them is missing nothing is tested,
//! and the test says so.
//!
//! The person at the microphone does what people do: what is not understood is said once more, by another voice; a value
//! that is read back wrong is denied. There is no microphone, no loudspeaker and no noise here: how often that is needed
//! on a site is not measured by this test (`demo/voice/README.md` says what was).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stderr,
    reason = "a test says what it expects by panicking, and why it was skipped"
)]

use std::fs::{self, File, OpenOptions};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use acceptance::{PATIENCE, Site, Terminal, house};
use serde_json::Value;

/// Voices of flite, the clearest first.
const VOICES: [&str; 3] = ["slt", "rms", "awb"];
/// Simulated seconds in a real one: two minutes in the concrete are half a minute here.
const SPEED: &str = "4";

/// What is missing for the route, if anything.
fn missing() -> Option<String> {
    let is_there = |program: &str| {
        let paths = std::env::var_os("PATH").unwrap_or_default();
        std::env::split_paths(&paths).any(|folder| folder.join(program).is_file())
    };
    let programs = [("pocketsphinx_batch", "pocketsphinx"), ("flite", "flite"), ("python3", "python3")];
    let lacks = programs.iter().filter(|(program, _)| !is_there(program)).map(|(_, package)| *package);
    let model = Path::new("/usr/share/pocketsphinx/model/en-us/en-us");
    let lacks: Vec<&str> = lacks.chain((!model.is_dir()).then_some("pocketsphinx-en-us")).collect();
    (!lacks.is_empty()).then(|| format!("apt-get install {}", lacks.join(" ")))
}

/// Whether the route is complete; says why not.
fn is_complete() -> bool {
    let missing = missing();
    if let Some(way_out) = &missing {
        eprintln!("SKIPPED: the real route was not exercised, this machine cannot speak or recognise. {way_out}");
    }
    missing.is_none()
}

fn speak(voice: &str, text: &str, to: &Path) {
    // Under its own name only when it is whole.
    let part = to.with_extension("part");
    let status = Command::new("flite").args(["-voice", voice, "-t", text, "-o"]).arg(&part).status().unwrap();
    assert!(status.success(), "flite cannot say {text:?}");
    fs::rename(part, to).unwrap();
}

/// A line of the adapter.
#[derive(Clone, Debug, PartialEq)]
struct Heard {
    /// In hundredths.
    sure: u32,
    words: String,
}

impl Heard {
    fn read(line: &str) -> Self {
        let mut rest = line;
        let mut tag = |name: &str| {
            let (value, after) = rest.strip_prefix(name)?.split_once(' ')?;
            rest = after;
            Some(value.to_owned())
        };
        let sure = tag("conf=").unwrap_or_else(|| panic!("no confidence: {line:?}"));
        assert_eq!(tag("src=").as_deref(), Some("mic"), "{line:?}");
        let ago = tag("ago=").unwrap_or_else(|| panic!("no beginning: {line:?}"));
        assert!(ago.parse::<u64>().is_ok_and(|ago| ago <= 60_000), "{line:?}");
        Self { sure: sure.replace('.', "").parse().unwrap(), words: rest.to_owned() }
    }

    fn is_trusted(&self) -> bool {
        self.sure >= 50
    }
}

/// Somebody with a voice, a pedal for the microphone, and the program before them.
struct Speaker {
    site: Site,
    terminal: Terminal,
    pedal: File,
    n_said: usize,
    /// Acts on record.
    n: usize,
    /// Every value that was read back and confirmed, as the record is to hold it.
    confirmed: Vec<String>,
    /// Every value that was read back and denied.
    denied: Vec<String>,
    /// What had to be said again.
    again: Vec<String>,
}

impl Speaker {
    /// The names are known beforehand and offered; everything else is spoken.
    fn at(method: &str, names: &[&str]) -> Self {
        let site = Site::new();
        let settings = site.path().join("home/.config/pourside");
        fs::create_dir_all(&settings).unwrap();
        // The clock runs faster than the recogniser.
        fs::write(settings.join("config.toml"), "[listen]\nlisten_seconds = 30\nheadset = true\n").unwrap();
        fs::create_dir(site.path().join("sound")).unwrap();
        let adapter = house().join("demo/voice/listen");
        let script = r#"TMPDIR="$PWD" exec python3 "$0" --from-files sound | tee -a lines"#;
        let pedal = site.path().join("pedal");
        let mut args =
            vec!["run", method, "--system", "inch-pound", "--simulate", SPEED, "--speak", "off", "--play", "off"];
        args.extend(names.iter().flat_map(|name| ["--set", *name]));
        args.extend(["--words-out", "words", "--listen-fifo", "pedal"]);
        args.extend(["--listen-cmd", "sh", "-c", script, adapter.to_str().unwrap()]);
        let terminal = Terminal::open(&site, &args);
        terminal.wait_for("Who runs this test?");
        wait_until("the pedal's pipe", || pedal.exists());
        let pedal = OpenOptions::new().write(true).open(pedal).unwrap();
        Self { site, terminal, pedal, n_said: 0, n: 0, confirmed: vec![], denied: vec![], again: vec![] }
    }

    /// Waits until all acts so far are on record, and no more.
    fn wait_recorded(&self) {
        // Before the first act nothing is counted.
        if self.n > 0 {
            self.terminal.wait_recorded(self.n);
        }
    }

    fn file(&self, name: &str) -> PathBuf {
        self.site.path().join(name)
    }

    /// What can be said now.
    fn words(&self) -> String {
        fs::read_to_string(self.file("words")).unwrap_or_default()
    }

    fn wait_for_words(&self, what: &str) {
        let is_there = || self.words().lines().any(|line| line == what || line.starts_with(&format!("{what} ")));
        wait_or("what can be said", is_there, || {
            format!("{what:?} cannot be said. Only:\n{}\n{}", self.words(), self.terminal.screen())
        });
    }

    /// Presses the pedal and speaks; what the recogniser made of it.
    fn utter(&mut self, voice: &str, text: &str) -> Heard {
        self.n_said += 1;
        let n = self.n_said;
        speak(voice, text, &self.file("sound").join(format!("{n:03}.wav")));
        self.pedal.write_all(b"talk on\n").unwrap();
        let lines = || fs::read_to_string(self.file("lines")).unwrap_or_default();
        wait_or("a line", || lines().matches('\n').count() >= n, || self.terminal.screen());
        assert_eq!(lines().matches('\n').count(), n, "one press, one line");
        let heard = Heard::read(lines().lines().last().unwrap());
        if heard.words != text || !heard.is_trusted() {
            self.again.push(format!("{text} ({voice}): {heard:?}"));
        }
        heard
    }

    /// Says a phrase until it is understood.
    fn phrase(&mut self, phrase: &str) {
        self.wait_for_words(phrase);
        for voice in VOICES {
            let heard = self.utter(voice, phrase);
            if heard.is_trusted() {
                // The wrong phrase may have done something; a person would put that right, this test stops.
                assert_eq!(heard.words, phrase, "said by {voice}");
                return;
            }
            self.terminal.wait_for("NOT UNDERSTOOD");
        }
        panic!("{phrase:?} is not understood, whoever says it");
    }

    /// Says a phrase that is an act, and waits until it is on record.
    fn act(&mut self, phrase: &str) {
        self.phrase(phrase);
        self.n += 1;
        self.wait_recorded();
    }

    /// Says a phrase that begins or ends what is timed: a remark says that it was a voice and no hand.
    fn timed_act(&mut self, phrase: &str) {
        self.phrase(phrase);
        self.n += 2;
        self.wait_recorded();
    }

    /// Says a number until it is read back right, and confirms it.
    fn number(&mut self, said: &str, shown: &str, recorded: &str) {
        self.value(said, "<number>", shown, recorded);
    }

    /// Says an answer by its own words, or by its place.
    fn answer(&mut self, said: &str, shown: &str, recorded: &str) {
        self.value(said, said, shown, recorded);
    }

    /// Says a value until it is read back as `shown`, and confirms it. `valid` is what is published for it.
    fn value(&mut self, said: &str, valid: &str, shown: &str, recorded: &str) {
        for voice in VOICES {
            if self.value_as(voice, said, valid) == Some(shown.to_owned()) {
                self.phrase("write it down");
                self.n += 1;
                self.wait_recorded();
                self.confirmed.push(recorded.to_owned());
                return;
            }
        }
        panic!("{said:?} is not understood, whoever says it: {:#?}", self.again);
    }

    /// Says a value; what is read back. What is not what was meant is denied by [`Speaker::deny`].
    fn value_as(&mut self, voice: &str, said: &str, valid: &str) -> Option<String> {
        self.wait_for_words(valid);
        let heard = self.utter(voice, said);
        if !heard.is_trusted() {
            self.terminal.wait_for("NOT UNDERSTOOD");
            return None;
        }
        self.terminal.wait_until("an answer", |screen| read_back(screen).is_some() || screen.contains("HEARD “"));
        self.wait_recorded();
        let Some(back) = read_back(&self.terminal.screen()) else {
            // Off the scale, or between two marks: it has said so, and there is nothing to deny.
            return None;
        };
        if heard.words != said {
            self.deny(&back);
            return None;
        }
        Some(back)
    }

    fn deny(&mut self, back: &str) {
        self.phrase("that is wrong");
        self.terminal.wait_until("no question", |screen| read_back(screen).is_none());
        self.wait_recorded();
        self.denied.push(back.to_owned());
    }
}

/// What is read back on the screen.
fn read_back(screen: &str) -> Option<String> {
    let (_, rest) = screen.split_once("READ BACK ")?;
    let label = rest.lines().next()?.split('│').next()?;
    let label = label.trim().trim_start_matches('▶').trim();
    Some(label.strip_prefix("take ")?.to_owned())
}

fn wait_until(what: &str, is_so: impl Fn() -> bool) {
    wait_or(what, is_so, String::new);
}

fn wait_or(what: &str, is_so: impl Fn() -> bool, seen: impl Fn() -> String) {
    let end = Instant::now() + PATIENCE;
    while !is_so() {
        assert!(Instant::now() < end, "waited in vain for {what}\n{}", seen());
        sleep(Duration::from_millis(10));
    }
}

/// What was read of the concrete and answered, in order.
fn entries(report: &Value) -> Vec<String> {
    let acts = report["acts"].as_array().map_or(&[][..], Vec::as_slice);
    acts.iter().filter_map(|act| act["value"].as_str()).map(str::to_owned).collect()
}

/// By hand: aggregate of 3/4 in wants 3 × 0.75 = 2.25 in of cover, less than 3 in, so 3 in; 72.4 °F to the nearest 1 °F is
/// 72 °F.
#[test]
fn a_temperature_is_taken_by_voice_alone_and_the_record_holds_what_was_read_back_and_confirmed() {
    if !is_complete() {
        return;
    }
    let names = ["technician=R. Okafor-Lind", "job=Harrow Bend footbridge", "sample=S-14", "thermometer=T-7"];
    let mut voice = Speaker::at("temperature", &names);
    for name in names {
        let (_, name) = name.split_once('=').unwrap();
        voice.answer("entry one", &format!("“{name}”"), name);
    }
    voice.answer("yes in date", "Yes, in date", "yes");
    voice.answer("answer one", "Yes", "yes");
    voice.answer("electronic probe", "Electronic probe", "probe");
    voice.number("zero point seven five", "0.750 in", "0.750");
    voice.answer("in a container on the sample", "In a container, on the sample", "container");
    for _ in 0..3 {
        voice.act("step done"); // ready, the last portion is in, the container is full
    }
    voice.answer("yes on every side", "Yes, on every side", "yes");
    voice.act("step done"); // the sensor is in
    voice.act("step done"); // pressed round it
    voice.timed_act("here we go");
    voice.terminal.wait_for_caption("LONG ENOUGH");
    voice.timed_act("step done");
    // Read off wrongly, and noticed when it is read back.
    let said = VOICES.iter().find_map(|one| voice.value_as(one, "seven one point four", "<number>"));
    assert_eq!(said.as_deref(), Some("71.4 °F"), "{:#?}", voice.again);
    voice.deny("71.4 °F");
    voice.number("seven two point four", "72.4 °F", "72.4");
    voice.act("step done"); // out, and wiped
    voice.terminal.wait_for("72 °F");
    voice.phrase("step done"); // closing is asked about twice, and answered differently
    voice.phrase("wrap up this test");
    voice.act("yes end it");
    voice.terminal.leave();

    voice.site.verify();
    let report = voice.site.report();
    assert_eq!(report["record"]["entries"], voice.n as u64 + 1, "every act is on record, after the opening");
    assert_eq!(voice.site.result(), ("72 °F".to_owned(), "72.4".to_owned()));
    assert!(voice.denied.contains(&"71.4 °F".to_owned()));
    let intended = [
        "R. Okafor-Lind",
        "Harrow Bend footbridge",
        "S-14",
        "T-7",
        "yes",
        "yes",
        "probe",
        "0.750",
        "container",
        "yes",
        "72.4",
    ];
    assert_eq!(entries(&report), intended);
    assert_eq!(voice.confirmed, intended, "nothing is on record but what was read back and confirmed");
    eprintln!("said again: {:#?}", voice.again);
}

/// Each step of the route by itself, so that a break names its place.
#[test]
fn a_voice_in_a_file_becomes_a_line_that_means_what_was_said() {
    if !is_complete() {
        return;
    }
    let site = Site::new();
    let sound = site.path().join("sound");
    fs::create_dir(&sound).unwrap();
    let valid = "#JSGF V1.0;\ngrammar valid;\npublic <line> = <phrase> | <number>;\n\
        <phrase> = say that again | write it down;\n<number> = (four | five) and (a | one) half [<unit>];\n\
        <unit> = inches | inch;\n";
    fs::write(site.path().join("words.jsgf"), valid).unwrap();
    let said = ["write it down", "four and a half inches", "say that again"];
    for (n, text) in said.iter().enumerate() {
        speak("slt", text, &sound.join(format!("{n}.wav")));
    }
    // Not a sound: it says so, sends nothing that could be taken, and goes on.
    fs::write(sound.join("1b.wav"), b"RIFF, but no sound").unwrap();
    let mut child = Command::new("python3")
        .arg(house().join("demo/voice/listen"))
        .args(["--from-files", "sound"])
        .current_dir(site.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    stdin.write_all(b"words words\n").unwrap();
    for name in ["0.wav", "1.wav", "1b.wav", "2.wav"] {
        stdin.write_all(b"talk on\n").unwrap();
        wait_until("the file to be taken", || !sound.join(name).exists());
    }
    drop(stdin);
    let out = String::from_utf8(child.wait_with_output().unwrap().stdout).unwrap();
    let heard: Vec<Heard> = out.lines().map(Heard::read).collect();
    let trusted: Vec<&str> =
        heard.iter().filter(|heard| heard.is_trusted()).map(|heard| heard.words.as_str()).collect();
    assert_eq!(trusted, said, "{out}");
}
