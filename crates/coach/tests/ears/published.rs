//! The words valid now, for whoever reads them; and mouth and ears beside the records.

use std::fs;
use std::os::unix::fs::{MetadataExt as _, symlink};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use coach::rim::clock::Timepiece;
use coach::rim::config::Listening;
use coach::rim::ears::Ears;
use coach::rim::hands::{Rim, WithRim};
use coach::rim::terminal::{Answer, Serves, Wish};
use coach::screen::{Deed, Published, Sensed};
use engine::{Moment, Tick};

use super::{folder, in_time, mode, names_in};

fn words_out(path: &Path) -> Listening {
    Listening { words_out: Some(path.to_owned()), ..Listening::default() }
}

fn words(list: &str) -> Published {
    Published { list: list.to_owned(), jsgf: format!("#JSGF V1.0;\n// {list}") }
}

#[test]
fn whoever_reads_the_words_never_sees_a_part_of_them() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("words");
        let (mut ears, _) = Ears::open(&words_out(&path));
        let list = |n: usize| format!("phrase {n}\n").repeat(500 + n % 7);
        ears.publish(&words(&list(0)));
        let is_over = Arc::new(AtomicBool::new(false));
        let (seen_path, until) = (path.clone(), Arc::clone(&is_over));
        let reader = thread::spawn(move || {
            let mut n_seen = 0;
            while !until.load(Ordering::SeqCst) {
                let text = fs::read_to_string(&seen_path).unwrap();
                let first = text.lines().next().unwrap();
                let n: usize = first.strip_prefix("phrase ").unwrap().parse().unwrap();
                assert_eq!(text, list(n));
                n_seen += 1;
            }
            n_seen
        });
        for n in 0..3_000 {
            assert_eq!(ears.publish(&words(&list(n))), None);
        }
        is_over.store(true, Ordering::SeqCst);
        assert!(reader.join().unwrap() > 0);
        let grammar = folder.path().join("words.jsgf");
        assert_eq!(names_in(folder.path()), [path.clone(), grammar.clone()], "nothing else is left there");
        assert_eq!((mode(&path), mode(&grammar)), (0o600, 0o600));
    });
}

#[test]
fn words_that_have_not_changed_are_not_written_again() {
    let folder = folder();
    let path = folder.path().join("words");
    let (mut ears, _) = Ears::open(&words_out(&path));
    let which = || fs::metadata(&path).unwrap().ino();
    ears.publish(&words("next step\n"));
    let first = which();
    ears.publish(&words("next step\n"));
    assert_eq!(which(), first);
    ears.publish(&words("say again\n"));
    assert_ne!(which(), first);
}

#[test]
fn words_that_cannot_be_written_are_news_once_and_again_when_they_can() {
    let outer = folder();
    let folder = outer.path().join("run");
    let (mut ears, news) = Ears::open(&words_out(&folder.join("words")));
    assert!(news.is_empty(), "nothing is known yet");
    let lost = ears.publish(&words("next step\n")).unwrap();
    assert!(lost.lost.as_ref().unwrap().contains("cannot be published"), "{lost:?}");
    assert_eq!(ears.publish(&words("next step\n")), None, "once");
    fs::create_dir(&folder).unwrap();
    assert_eq!(ears.publish(&words("next step\n")).unwrap().lost, None);
    assert_eq!(fs::read_to_string(folder.join("words")).unwrap(), "next step\n");
}

#[test]
fn only_an_ordinary_file_is_replaced() {
    let folder = folder();
    let [file, link, inner] = ["file", "link", "inner"].map(|name| folder.path().join(name));
    fs::write(&file, "mine").unwrap();
    symlink(&file, &link).unwrap();
    fs::create_dir(&inner).unwrap();
    for path in [&link, &inner, Path::new("/dev/null"), Path::new("/")] {
        let (mut ears, _) = Ears::open(&words_out(path));
        assert!(ears.publish(&words("next step\n")).unwrap().lost.is_some(), "{}", path.display());
    }
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    let (mut ears, news) = Ears::open(&words_out(&folder.path().join("two\nlines")));
    assert!(news[0].lost.as_ref().unwrap().contains("no line can hold"), "{news:?}");
    assert!(!news[0].name.contains('\n'), "nothing in a name can move a cursor");
    assert_eq!(ears.publish(&words("next step\n")), None);
    assert_eq!(names_in(folder.path()).len(), 3);
}

/// Records that note what they are asked.
#[derive(Default)]
struct Noted(Vec<Deed>);

impl Serves<Deed, Answer> for Noted {
    fn carry_out(&mut self, deed: Deed, _now: Moment, _answers: &mut Vec<Answer>) -> Wish {
        self.0.push(deed);
        Wish::Bell
    }
}

fn all_deeds() -> Vec<Deed> {
    vec![
        Deed::Publish(words("next step\n")),
        Deed::Talk(true),
        Deed::Speak(voice::Speech::Hush),
        Deed::Finish { at: Moment::default() },
    ]
}

#[test]
fn what_is_for_mouth_and_ears_never_reaches_the_records_and_everything_else_does() {
    let folder = folder();
    let path = folder.path().join("words");
    let clock = Timepiece::live(Tick(0));
    for rim in [None, Some(Rim::start(None, &words_out(&path), &clock))] {
        let is_there = rim.is_some();
        let mut records = WithRim { records: Noted::default(), rim };
        let wishes: Vec<_> =
            all_deeds().into_iter().map(|deed| records.carry_out(deed, Moment::default(), &mut Vec::new())).collect();
        assert_eq!(wishes, [Wish::Nothing, Wish::Nothing, Wish::Nothing, Wish::Bell]);
        assert_eq!(records.records.0, [Deed::Finish { at: Moment::default() }]);
        assert_eq!(path.exists(), is_there);
    }
}

#[test]
fn a_failure_to_publish_is_told_to_what_is_shown() {
    let folder = folder();
    let clock = Timepiece::live(Tick(0));
    let rim = Rim::start(None, &words_out(&folder.path().join("missing/words")), &clock);
    let mut records = WithRim { records: Noted::default(), rim: Some(rim) };
    records.carry_out(Deed::Publish(words("next step\n")), Moment::default(), &mut Vec::new());
    let rim = records.rim.as_mut().unwrap();
    assert!(rim.pause().is_some_and(|pause| pause.is_zero()), "the loop does not sleep over it");
    let mut told = Vec::new();
    rim.collect(&clock, &mut |sensed| told.push(sensed));
    assert!(matches!(&told[..], [Sensed::Ear(ear)] if ear.lost.is_some()), "{told:?}");
    assert_eq!(rim.pause(), None);
}
