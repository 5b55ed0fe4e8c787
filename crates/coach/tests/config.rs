//! The settings file: what is read from it, what is said of its faults, and the commands around it.

#![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::fs;
use std::path::Path;
use std::process::Command;

use coach::rim::cli::Theme;
use coach::rim::config::{
    Config, SETTINGS, as_it_comes, forget, keys_place, load_from, read, read_keys, save, show_keys,
};
use coach::rim::config_args::HandsArgs;
use coach::rim::speaker::{Play, Speak};
use coach::screen::hands::keymap::{Keymap, Role, key_named};
use coach::screen::hands::settings::{Led, Pace};

/// Exit code, standard output, standard error.
fn pourside(settings: &Path, arguments: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourside"));
    command.args(arguments).env("POURSIDE_CONFIG", settings).env("NO_COLOR", "1");
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

#[test]
fn without_a_line_everything_is_as_it_comes() {
    for text in ["", "\n# nothing\n", "[hands]\n[voice]\n", &as_it_comes()] {
        assert_eq!(read(text), Config::default(), "{text:?}");
    }
}

#[test]
fn every_default_in_the_written_file_is_the_default() {
    let without_examples: String = as_it_comes()
        .lines()
        .filter(|line| SETTINGS.iter().all(|setting| setting.example.is_empty() || !line.ends_with(setting.example)))
        .map(|line| uncommented(line) + "\n")
        .collect();
    assert_eq!(read(&without_examples), Config::default());
    let all: String = as_it_comes().lines().map(|line| uncommented(line) + "\n").collect();
    let config = read(&all);
    assert_eq!(config.faults, Vec::<String>::new(), "the examples can be written as they stand");
    let unset = SETTINGS.iter().filter(|setting| (setting.show)(&config).is_none());
    assert_eq!(unset.count(), 0, "every key was read");
    for (n, setting) in SETTINGS.iter().enumerate() {
        // Under a header that cannot be read, a key falls to the section before: its name must not mean something there.
        assert!(SETTINGS[..n].iter().all(|before| before.key != setting.key), "{}", setting.key);
        assert!(!setting.about.is_empty() && !setting.range.is_empty(), "{}", setting.key);
    }
}

/// A line of the written file without the `#` that stands right before a key.
fn uncommented(line: &str) -> String {
    let is_key = line.strip_prefix('#').filter(|rest| rest.starts_with(|sign: char| sign.is_ascii_lowercase()));
    is_key.unwrap_or(line).to_owned()
}

#[test]
fn what_is_written_holds() {
    let config = read(
        "[hands]\nled = \"switch\"\nscan_seconds = 0.75\nscan_loops = 20\ngo_on = true\n\
         [pace]\nstrokes = \"count\"\na_minute = 45\n\
         [voice]\non = true\nspeak = [\"say-it\", \"{text}\"]\nplay = \"bell\"\nrate = 150\nlead_ms = 40\nterse = true\nlog = \"/var/cues\"\n\
         [listen]\nfifo = \"/run/words\"\ncommand = [\"hear\", \"-x\"]\nwords_out = \"/run/valid\"\nheadset = true\n\
         open_microphone = true\nlisten_seconds = 6\nconfidence = 0.85\n\
         [view]\nfar = true\ntheme = \"light\"\n",
    );
    assert_eq!(config.faults, Vec::<String>::new());
    let hands = &config.hands;
    assert_eq!((hands.led, hands.scan_ms, hands.scan_loops, hands.goes_on), (Led::Switch, 750, 20, true));
    assert_eq!((hands.pace, hands.strokes_a_minute, hands.is_terse), (Pace::Count, Some(45), true));
    assert_eq!((hands.headset, hands.open_microphone, hands.listen_ms), (true, true, 6_000));
    assert_eq!((hands.confidence_at_least, hands.far, hands.speaks, hands.listens), (85, true, true, true));
    assert_eq!(config.sound.speak, Speak::Command(vec!["say-it".into(), "{text}".into()]));
    assert_eq!((config.sound.play, config.sound.rate_wpm, config.sound.lead_ms), (Play::Bell, 150, 40));
    assert_eq!(config.sound.log.as_deref(), Some(Path::new("/var/cues")));
    assert_eq!(config.listening.fifo.as_deref(), Some(Path::new("/run/words")));
    assert_eq!(config.listening.command, Some(vec!["hear".into(), "-x".into()]));
    assert_eq!(config.theme, Some(Theme::Light));
}

#[test]
fn a_fault_names_its_line_and_costs_only_its_own_key() {
    for (line, said) in [
        ("leed = \"switch\"", "line 2: [hands] has no key “leed”: it counts as not written. Did you mean “led”?"),
        ("led = \"swich\"", "line 2: [hands] led = \"swich\" is not possible; “keys”, “clicker” or “switch”."),
        ("led = 3", "line 2: [hands] led = 3 is not possible"),
        ("scan_seconds = 0.4", "line 2: [hands] scan_seconds = 0.4 is not possible; 0.5 to 5."),
        ("scan_seconds = 5.001", "5.001 is not possible"),
        ("scan_seconds = -1", "-1 is not possible"),
        ("scan_seconds = nan", "nan is not possible"),
        ("scan_seconds = 1e0", "1e0 is not possible"),
        ("scan_seconds = \"1.5\"", "\"1.5\" is not possible"),
        ("scan_loops = 0", "scan_loops = 0 is not possible; 1 to 20."),
        ("scan_loops = 300", "300 is not possible"),
        ("scan_loops = 2.5", "2.5 is not possible"),
        ("scan_loops = 99999999999999999999", "is not possible"),
        ("go_on = \"yes\"", "go_on = \"yes\" is not possible; true or false."),
        ("scan_loops = ", "line 2: this is not written as a settings file is"),
        ("scan_loops = [1,\n2", "line 2: this is not written as a settings file is"),
        ("led = \"switch", "line 2: this is not written as a settings file is"),
        ("[hands", "line 2: this is not written as a settings file is"),
        ("scan_loops", "line 2: this is not written as a settings file is"),
        ("\"\\u001b[2J\" = 1", "[hands] has no key “ [2J”"),
    ] {
        let config = read(&format!("[hands]\n{line}\n[voice]\nrate = 155\n[hands2]\n[view]\nfar = true\n"));
        assert!(config.faults[0].contains(said), "{line}: {:?}", config.faults);
        let other = "no section [hands2]: it counts as not written. Did you mean “hands”?";
        assert!(config.faults.iter().any(|fault| fault.contains(other)), "{line}: {:?}", config.faults);
        assert_eq!((config.sound.rate_wpm, config.hands.far), (155, true), "{line}: the rest holds");
        assert_eq!((config.hands.led, config.hands.scan_ms, config.hands.scan_loops), (Led::Keys, 1_500, 3), "{line}");
        assert!(config.faults.iter().all(|fault| !fault.contains('\u{1b}')), "no terminal code is said back");
    }
}

#[test]
fn of_two_equal_keys_the_first_holds() {
    let config = read("[hands]\nscan_loops = 1\nscan_loops = 2\n[view]\nfar = true\n");
    assert_eq!((config.hands.scan_loops, config.hands.far), (1, true));
    assert!(config.faults[0].contains("line 3: ") && config.faults[0].contains("duplicate key"), "{:?}", config.faults);
}

#[test]
fn a_key_without_its_header_and_a_header_that_is_none_are_said() {
    let config = read("rate = 155\nvoice = 3\n");
    assert_eq!(config.faults.len(), 2, "{:?}", config.faults);
    assert!(config.faults[0].contains("line 1: rate belongs under the header [voice]"), "{:?}", config.faults);
    assert!(config.faults[1].contains("line 2: [voice] is a section"), "{:?}", config.faults);
}

#[test]
fn paths_and_commands_are_whole_or_not_taken() {
    for line in [
        "fifo = \"words\"",
        "fifo = \"../words\"",
        "fifo = \"\"",
        "fifo = \"/\"",
        "command = []",
        "command = [\"\"]",
        "command = [\" \", \"x\"]",
        "command = \"hear -x\"",
        "command = [\"hear\", 3]",
        "confidence = 1.01",
        "confidence = 0.555",
        "listen_seconds = 0",
    ] {
        let config = read(&format!("[listen]\n{line}\n"));
        assert_eq!(config.faults.len(), 1, "{line}: {:?}", config.faults);
        assert_eq!(Config { faults: Vec::new(), ..config }, Config::default(), "{line}");
    }
}

#[test]
fn hostile_files_are_read_to_their_end_and_faults_stay_few() {
    for text in [
        "\u{feff}",
        "[[hands]]\n",
        "hands.led = \"switch\"\n",
        "[hands",
        "\"",
        "= = =\n",
        "a.b.c.d = {x = [1,{y=2}]}\n",
    ] {
        read(text);
    }
    let config = read(&"bad = 1\n[x]\n".repeat(5_000));
    assert!(config.faults.len() <= 22, "{}", config.faults.len());
    let nested = format!("[hands]\nled = {}\n", "[".repeat(5_000));
    assert_eq!(read(&nested).hands.led, Led::Keys);
}

#[test]
fn a_missing_file_is_no_fault_and_an_unreadable_one_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("config.toml");
    assert_eq!(load_from(&path), Config::default());
    fs::write(&path, [0xff, 0xfe, 0x00]).unwrap();
    let config = load_from(&path);
    assert!(config.faults[0].contains("config.toml cannot be read"), "{:?}", config.faults);
    fs::write(&path, "x".repeat(300 * 1024)).unwrap();
    assert!(load_from(&path).faults[0].contains("far too long"));
    fs::remove_file(&path).unwrap();
    fs::create_dir(&path).unwrap();
    assert!(load_from(&path).faults[0].contains("cannot be read"));
}

#[test]
fn taught_keys_are_kept_as_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let settings = folder.path().join("deep/er/config.toml");
    let path = keys_place(&settings);
    let mut keymap = Keymap::default();
    for (name, role) in
        [("F13", Role::Next), ("Ctrl-x", Role::Next), ("\"", Role::Back), ("\\", Role::Again), ("U+00A0", Role::Talk)]
    {
        keymap.teach(&key_named(name).unwrap(), role);
    }
    save(&path, &keymap).unwrap();
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.starts_with("# Written by “pourside keys”"), "{text}");
    let loaded = load_from(&settings);
    assert_eq!((loaded.hands.keymap, loaded.faults), (keymap.clone(), Vec::new()));
    save(&path, &Keymap::default()).unwrap();
    assert_eq!(load_from(&settings).hands.keymap, Keymap::default(), "written over whole");
    assert_eq!(fs::read_dir(path.parent().unwrap()).unwrap().count(), 1, "nothing else is left there");
    assert_eq!(forget(&path), Ok(true));
    assert_eq!(forget(&path), Ok(false));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        save(&path, &keymap).unwrap();
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o077, 0, "only for its owner");
    }
    assert_eq!(read_keys(&show_keys(&keymap)), (keymap, Vec::new()));
}

#[test]
fn a_fault_among_taught_keys_costs_only_that_key() {
    let (keymap, faults) =
        read_keys("next = [\"F13\", \"F99\", 3]\nback = [\"F13\", \"F14\"]\nagian = [\"x\"]\ntalk = \"y\"\n");
    assert_eq!(keymap.taught, [(key_named("F13").unwrap(), Role::Next), (key_named("F14").unwrap(), Role::Back)]);
    let all = faults.join("\n");
    for said in [
        "line 1: \"F99\" is no name",
        "line 1: 3 is no name",
        "line 2: \"F13\" stands for next already",
        "“agian”: it counts as not written. Did you mean “again”?",
        "line 4: talk must be a list",
    ] {
        assert!(all.contains(said), "{said}: {all}");
    }
}

#[test]
fn the_command_line_goes_before_the_file_and_leaves_the_rest() {
    #[derive(clap::Parser)]
    struct Line {
        #[command(flatten)]
        hands: HandsArgs,
    }
    let over = |arguments: &[&str], text: &str| {
        let line = std::iter::once("pourside").chain(arguments.iter().copied());
        let line = <Line as clap::Parser>::try_parse_from(line).unwrap();
        line.hands.over(read(text).hands)
    };
    let file = "[hands]\nled = \"clicker\"\nscan_seconds = 2\n[view]\nfar = true\n";
    assert_eq!(over(&[], file), read(file).hands);
    let settings =
        over(&["--hands", "switch", "--scan-seconds", "0.5", "--pace", "count", "--headset", "--go-on"], file);
    assert_eq!((settings.led, settings.scan_ms, settings.pace), (Led::Switch, 500, Pace::Count));
    assert!(settings.headset && settings.goes_on && settings.far);
    for wrong in ["0.4", "5.1", "x", "-1", ""] {
        let line = ["pourside", "--scan-seconds", wrong];
        assert!(<Line as clap::Parser>::try_parse_from(line).is_err(), "{wrong:?}");
    }
}

// ---------------------------------------------------------------------------------------------- the program

#[test]
fn config_says_where_the_file_is_and_what_is_different() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("made/config.toml");
    let (code, out, _) = pourside(&path, &["config"]);
    assert_eq!(code, 0);
    assert!(out.contains("made/config.toml (there is none)"), "{out}");
    assert!(out.contains("Everything is set as it comes.") && out.contains("config --write"), "{out}");

    let (code, out, err) = pourside(&path, &["config", "--write"]);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("Written: "), "{out}");
    assert_eq!(fs::read_to_string(&path).unwrap(), as_it_comes());
    let (code, _, err) = pourside(&path, &["config", "--write"]);
    assert!(code != 0 && err.contains("there is a settings file already"), "{err}");

    fs::write(&path, "[hands]\nled = \"clicker\"\nscan_seconds = 9\n").unwrap();
    let (code, out, _) = pourside(&path, &["config"]);
    assert_eq!(code, 0, "faults are said, and refuse nothing");
    assert!(out.contains("  [hands]\n  led = \"clicker\"   (else \"keys\")"), "{out}");
    assert!(out.contains("line 3: [hands] scan_seconds = 9 is not possible; 0.5 to 5."), "{out}");
    let (code, _, err) = pourside(&path, &["config", "--check"]);
    assert!(code == 1 && err.contains("line 3: "), "{err}");
    fs::write(&path, "[view]\nfar = true\n").unwrap();
    let (code, out, _) = pourside(&path, &["config", "--check"]);
    assert!(code == 0 && out.contains("no faults"), "{out}");
}

/// A file stands where the folder should be made: nobody can write there, whoever runs the test.
#[test]
fn where_nothing_can_be_written_it_is_said_with_a_way_out() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("file"), "").unwrap();
    let path = folder.path().join("file/config.toml");
    let (code, _, err) = pourside(&path, &["config", "--write"]);
    assert_ne!(code, 0);
    assert!(err.contains("cannot write ") && err.contains("POURSIDE_CONFIG"), "{err}");
    let (code, out, _) = pourside(&path, &["config"]);
    assert_eq!(code, 0);
    assert!(out.contains("cannot be read"), "{out}");
}

#[test]
fn keys_are_listed_and_forgotten() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("config.toml");
    let (code, out, _) = pourside(&path, &["keys", "--list"]);
    assert!(code == 0 && out.contains("NEXT   PageDown, Space, Enter, F5: "), "{out}");
    assert!(out.contains("TALK   no key: "), "{out}");
    fs::write(keys_place(&path), "next = [\"F13\", \"oops\"]\ntalk = [\"PageDown\"]\n").unwrap();
    let (_, out, _) = pourside(&path, &["keys", "--list"]);
    assert!(out.contains("NEXT   F13 (taught), Space, Enter, F5: ") && out.contains("\"oops\" is no name"), "{out}");
    let (_, out, _) = pourside(&path, &["config"]);
    assert!(out.contains("Keys that were taught:\n  NEXT   F13\n  TALK   PageDown"), "{out}");
    let (code, out, _) = pourside(&path, &["keys", "--forget"]);
    assert!(code == 0 && out.starts_with("Forgotten: ") && !keys_place(&path).exists(), "{out}");
    let (code, out, _) = pourside(&path, &["keys", "--forget"]);
    assert!(code == 0 && out.contains("No keys were taught."), "{out}");
}
