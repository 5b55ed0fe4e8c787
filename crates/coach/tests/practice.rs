//! Practice, driven as a candidate does: keys in, pictures and entries of the diary out, in simulated time.
//!
//! The candidate knows the procedure by heart (or does not), hears what the deck holds right, and reads the instruments off the
//! drawn cells. Holds what is asked and done from the first key to the passed trial, what is kept, and that nothing that is to
//! be recalled is drawn. Knows no terminal and no real time.

#![expect(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "tests say what they expect by panicking")]

mod candidate;
mod reader;

use std::sync::Arc;

use coach::screen::practice::{PracticeDeed, PracticeModel, PracticeOptions};
use coach::screen::{Sensed, Shown};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Tick};
use practice::history::{Entry, Trial};
use practice::{Answer, Deck, Due, Form, Help, History, Mode, Session, judge};
use procedure::{Edition, ReadingKind, Wants};
use quantity::{Span, System};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use specimen::Scenario;

use candidate::{Candidate, LARGE, SMALL, edition, known, method, moment, right_number, shipped};

#[test]
fn a_candidate_goes_through_every_method_and_passes_the_trial_at_speed_1_and_20() {
    let mut n_read = 0;
    for (id, system) in shipped() {
        for speed in [1, 20] {
            let mut candidate = Candidate::with(id, system, method(id, true), History::default(), speed, 7);
            let summary = candidate.all_the_way(|_| true);
            let trial = summary.trial.unwrap();
            let told = format!("{id} {system} ×{speed}: {trial:#?}\n{}", candidate.text(LARGE));
            assert!(trial.passed(), "{told}");
            assert_eq!(trial.readings.right, trial.readings.of, "{told}");
            assert_eq!(candidate.trial(), Some(&trial), "it is in the diary");
            n_read += candidate.n_read;
        }
    }
    assert!(n_read > 100, "instruments were read off the cells: {n_read}");
}

/// What the screen stands at, in a word or two.
fn phase(candidate: &Candidate) -> Option<String> {
    use specimen::Shown;
    let in_trial = candidate.text(SMALL).contains("TIMED RUN ");
    let name = match candidate.screen.due() {
        Due::Tell(_) => "tell".to_owned(),
        Due::Ask(_) if in_trial => "trial: ask".to_owned(),
        Due::Ask(question) => match question.form {
            Form::Choices(_) => format!("ask, {}", question.help.words()),
            Form::Number(_) => format!("ask a number, {}", question.help.words()),
        },
        Due::Explain(explained) if explained.judged.right => "explain: right".to_owned(),
        Due::Explain(_) => "explain: wrong".to_owned(),
        Due::TrialAhead(_) => "trial ahead".to_owned(),
        Due::Finished(_) => "finished".to_owned(),
        Due::Perform(perform) => {
            let tick = candidate.run_now();
            let run = candidate.screen.run()?;
            let offer = run.offer(tick);
            let wants = offer.step.map(|(_, step)| match step.wants {
                Wants::Act => "an act",
                Wants::Count { .. } => "a count",
                Wants::Hold { .. } if offer.standing.begun.is_some() => "a hold under way",
                Wants::Hold { .. } => "a hold",
                Wants::Timed { .. } if offer.standing.begun.is_some() => "timed, under way",
                Wants::Timed { .. } => "timed",
                Wants::Read(_) | Wants::Settle(_) => "a reading",
            });
            let what = match candidate.screen.shown(candidate.now) {
                Some(Shown::Neck { .. }) => "the neck",
                Some(Shown::Gauge { .. }) => "the gauge",
                Some(Shown::Thermometer { .. }) => "the thermometer",
                Some(Shown::Rule { .. }) => "the rule",
                Some(Shown::Balance { .. }) => "the balance",
                Some(Shown::Paper { .. }) => "a paper",
                Some(Shown::Sight { .. }) => "a sight",
                None => wants.unwrap_or("the end of an attempt"),
            };
            let how = match (perform.in_trial, perform.shown) {
                (true, _) => "in the trial",
                (false, true) => "shown",
                (false, false) => "from memory",
            };
            format!("act {how}: {what}")
        }
    };
    Some(name)
}

/// Every phase there is of a method, the first picture of each, with questions answered wrong now and then.
fn phases(id: &str, size: (u16, u16)) -> String {
    let of = edition(id, System::InchPound);
    let mut seen: std::collections::BTreeMap<String, String> = std::collections::BTreeMap::new();
    for level in Help::ALL {
        let mut candidate = Candidate::with(id, System::InchPound, method(id, true), known(&of, level), 1, 11);
        candidate.size = size;
        for n in 1..4_000 {
            if let Some(name) = phase(&candidate) {
                seen.entry(name).or_insert_with(|| candidate.text(size));
            }
            if !candidate.go_on(|_| n % 7 != 0) {
                break;
            }
        }
        assert!(candidate.summary().is_some());
    }
    seen.into_iter().map(|(name, text)| format!("=== {name}\n{text}\n")).collect()
}

#[test]
fn every_phase_looks_like_this_in_both_sizes() {
    for id in ["air-volumetric", "slump", "air-pressure", "temperature"] {
        for size in [SMALL, LARGE] {
            insta::assert_snapshot!(format!("{id} {}x{}", size.0, size.1), phases(id, size));
        }
    }
}

/// What must not be seen while it is recalled or done from memory: the sentence, its numbers, the reason, the stage.
fn secrets(candidate: &Candidate) -> Vec<String> {
    let step = match candidate.screen.due() {
        Due::Perform(perform) if !perform.shown => perform.step.clone(),
        Due::Ask(question) if question.help == Help::Nothing => {
            let key = question.item.split('#').next().unwrap();
            key.split_once('/').unwrap().1.to_owned()
        }
        _ => return Vec::new(),
    };
    let Some(step) = candidate.edition.steps.iter().find(|known| known.id == step) else { return Vec::new() };
    let run = candidate.screen.run();
    let say = |text: &procedure::Text| run.map(|run| run.say(text));
    let is_asked = matches!(candidate.screen.due(), Due::Ask(_));
    let mut secrets = Vec::new();
    // Among the choices of a question the act stands itself, with its numbers left open.
    let asks = candidate.edition.readings.iter().filter_map(|reading| say(&reading.ask));
    let instruction = say(&step.instruction).filter(|text| asks.clone().all(|ask| ask != *text));
    if !is_asked {
        secrets.extend(instruction);
    }
    secrets.extend([&step.why, &step.slip, &step.caution].into_iter().flatten().filter_map(say));
    match &step.wants {
        Wants::Count { at_least, of, .. } => {
            secrets.push(format!("{at_least} {of}"));
            // Beside other acts the bare number may stand for something else.
            secrets.extend((!is_asked).then(|| at_least.to_string()));
        }
        Wants::Hold { at_least, at_most, .. } => {
            secrets.extend([at_least.to_string(), at_least.clock()]);
            secrets.extend(at_most.map(|most| most.to_string()));
        }
        Wants::Timed { at_least, at_most, .. } => secrets.extend([at_least.to_string(), at_most.to_string()]),
        Wants::Settle(settle) => secrets.push(settle.every.to_string()),
        _ => {}
    }
    secrets
}

/// What is read is told as a form would have it: its words are no secret.
fn asked_on_the_form(candidate: &Candidate) -> Option<String> {
    let run = candidate.screen.run()?;
    match run.offer(candidate.run_now()).act {
        Act::Answer(reading) => Some(run.say(&candidate.edition.reading(reading).ask)),
        _ => None,
    }
}

fn stage_of(candidate: &Candidate) -> Option<String> {
    let step = match candidate.screen.due() {
        Due::Perform(perform) if !perform.shown => &perform.step,
        Due::Ask(question) if question.help == Help::Nothing => question.item.split('#').next()?.split_once('/')?.1,
        _ => return None,
    };
    let step = candidate.edition.steps.iter().find(|known| known.id == step)?;
    Some(candidate.edition.stages[usize::from(step.stage)].title.clone())
}

/// The words of the screen without the bar above and the watch.
fn seen_words(candidate: &Candidate, size: (u16, u16)) -> String {
    let text = candidate.text(size);
    text.lines().skip(3).flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}

fn has_word(text: &str, secret: &str) -> bool {
    let is_edge = |sign: Option<char>| sign.is_none_or(|sign| !sign.is_alphanumeric() && sign != '.' && sign != '/');
    text.match_indices(secret)
        .any(|(at, _)| is_edge(text[..at].chars().next_back()) && is_edge(text[at + secret.len()..].chars().next()))
}

#[test]
fn what_is_to_be_recalled_is_nowhere_on_the_screen_before_the_try_nor_while_it_is_done_from_memory() {
    let mut n = 0;
    for (id, system) in shipped() {
        let of = edition(id, system);
        let mut candidate = Candidate::with(id, system, method(id, true), known(&of, Help::Nothing), 1, 3);
        for _ in 0..4_000 {
            for secret in secrets(&candidate) {
                n += 1;
                if asked_on_the_form(&candidate).is_some_and(|ask| has_word(&ask, &secret)) {
                    continue;
                }
                for size in [SMALL, LARGE] {
                    let words = seen_words(&candidate, size);
                    // What is asked on a form may hold a word of the sentence; the figure of a drawn scale is no secret.
                    let is_drawn = candidate.screen.shown(candidate.now).is_some();
                    let is_leaked = has_word(&words, &secret) && !(is_drawn && secret.len() < 8);
                    assert!(!is_leaked, "{id} {system}: “{secret}”\n{}", candidate.text(size));
                    let stage = stage_of(&candidate);
                    let is_stage = |line: &str| stage.as_deref() == Some(line.trim());
                    assert!(
                        !candidate.text(size).lines().any(is_stage),
                        "{id} {system}: the stage\n{}",
                        candidate.text(size)
                    );
                }
            }
            if !candidate.go_on(|_| true) {
                break;
            }
        }
        assert!(candidate.summary().is_some());
    }
    assert!(n > 2_000, "{n} secrets were looked for");
}

#[test]
fn in_the_timed_run_a_wrong_answer_is_not_said_to_be_wrong_and_counts_at_the_end() {
    let of = edition("slump", System::InchPound);
    let mode = Mode::Trial { method: "slump".to_owned() };
    let mut candidate = Candidate::with("slump", System::InchPound, mode, known(&of, Help::Nothing), 1, 3);
    assert!(candidate.text(SMALL).contains("A TIMED RUN"));
    let summary = candidate.all_the_way(|question| question.item != "slump/lift");
    let trial = summary.trial.unwrap();
    assert!(!trial.passed());
    assert_eq!(trial.missed.iter().map(|missed| missed.item.as_str()).collect::<Vec<_>>(), ["slump/lift"]);
    assert_eq!(candidate.bells, 0, "no sound helps in the timed run");
    let text = candidate.words(LARGE);
    assert!(text.contains("Not passed") && text.contains("The same specimen and questions again"), "{text}");
}

#[test]
fn whoever_answers_everything_wrong_is_shown_everything_and_fails() {
    for id in ["slump", "temperature"] {
        let of = edition(id, System::InchPound);
        let mut candidate = Candidate::with(id, System::InchPound, method(id, true), known(&of, Help::Nothing), 1, 5);
        let summary = candidate.all_the_way(|_| false);
        let trial = summary.trial.unwrap();
        assert!(!trial.passed() && !summary.still_missed.is_empty(), "{trial:?}");
        assert_eq!(trial.readings.right, trial.readings.of, "reading is judged by itself");
        assert!(summary.tries.right < summary.tries.of / 2, "{:?}", summary.tries);
        let tries = candidate.kept.iter().filter(|entry| matches!(entry, Entry::Tried(_))).count();
        assert!(tries > 10, "{tries}");
    }
}

#[test]
fn a_refusal_in_the_timed_run_says_nothing_of_what_would_be_right() {
    let of = edition("air-volumetric", System::InchPound);
    let mode = Mode::Trial { method: "air-volumetric".to_owned() };
    let mut candidate = Candidate::with("air-volumetric", System::InchPound, mode, known(&of, Help::Nothing), 1, 3);
    loop {
        let is_count = candidate.screen.run().is_some_and(|run| {
            let offer = run.offer(candidate.run_now());
            offer.step.is_some_and(|(_, step)| matches!(step.wants, Wants::Count { .. }))
        });
        if is_count && matches!(candidate.screen.due(), Due::Perform(_)) {
            break;
        }
        assert!(candidate.go_on(|_| true));
    }
    candidate.keys("7 ");
    let words = candidate.words(LARGE);
    assert!(words.contains("It cannot go on like that.") && !words.contains("25"), "{words}");
    let summary = candidate.all_the_way(|_| true);
    assert_eq!(summary.trial.unwrap().missed.len(), 1, "a refused act is a missed act");
}

#[test]
fn a_full_disk_is_said_loudly_and_another_folder_takes_everything() {
    let mut candidate = Candidate::with("slump", System::InchPound, method("slump", true), History::default(), 1, 3);
    while candidate.kept.len() < 3 {
        assert!(candidate.go_on(|_| true));
    }
    assert!(candidate.text(SMALL).contains("kept ✓"));
    candidate.disk_works = false;
    let n = candidate.kept.len();
    while candidate.kept.len() < n + 2 {
        assert!(candidate.go_on(|_| true));
    }
    let words = candidate.words(SMALL);
    assert!(words.contains("NOT RECORDED: the disk is full. Make room."), "{words}");
    assert!(words.contains("only in memory") && !words.contains("kept ✓"), "{words}");
    // The next step may ask for words: Ctrl-F works there too.
    candidate.sense(Sensed::Key(KeyEvent::new(KeyCode::Char('f'), KeyModifiers::CONTROL)));
    candidate.keys("/media/card");
    candidate.press(KeyCode::Enter);
    let words = candidate.words(SMALL);
    assert!(words.contains("kept ✓") && !words.contains("NOT RECORDED"), "{words}");
    candidate.all_the_way(|_| true);
}

#[test]
fn leaving_is_asked_and_keeps_what_was_tried() {
    let of = edition("slump", System::InchPound);
    let mode = Mode::Trial { method: "slump".to_owned() };
    let mut candidate = Candidate::with("slump", System::InchPound, mode, known(&of, Help::Nothing), 1, 3);
    while !matches!(candidate.screen.due(), Due::Ask(_)) {
        candidate.go_on(|_| true);
    }
    candidate.answer_question(true);
    candidate.keys("q");
    assert!(candidate.text(SMALL).contains("LEAVE?") && candidate.words(SMALL).contains("counts as such"));
    candidate.keys("n");
    assert!(!candidate.text(SMALL).contains("LEAVE?") && !candidate.has_left);
    candidate.keys("qy");
    assert!(candidate.has_left);
    let trial = candidate.trial().expect("the run that was broken off is in the diary");
    assert_eq!(trial.broken_off.as_deref(), Some("stopped"));
}

#[test]
fn a_slip_of_the_finger_is_taken_back_and_the_question_comes_again() {
    let of = edition("slump", System::InchPound);
    let mut candidate =
        Candidate::with("slump", System::InchPound, method("slump", false), known(&of, Help::Nothing), 1, 3);
    while !matches!(candidate.screen.due(), Due::Ask(_)) {
        candidate.go_on(|_| true);
    }
    candidate.answer_question(false);
    assert!(candidate.text(SMALL).contains("NOT THIS"));
    candidate.keys("u");
    assert!(matches!(candidate.kept.last(), Some(Entry::TakenBack(_))));
    assert!(candidate.words(SMALL).contains("That try does not count."), "{}", candidate.text(SMALL));
    let summary = candidate.all_the_way(|_| true);
    assert_eq!(summary.tries.right, summary.tries.of);
}

#[test]
fn every_branch_of_every_method_comes_about_on_the_specimen_that_was_made_for_it() {
    let mut n = 0;
    let (mut not_met, mut no_way) = (Vec::new(), Vec::new());
    for (id, system) in shipped() {
        let edition = edition(id, system);
        for branch in specimen::ways::branches(&edition) {
            let Ok(scenario) = Scenario::toward(&edition, &branch, 9) else {
                no_way.push(format!("{id} {system} {}", branch.id));
                continue;
            };
            n += 1;
            let mode = method(id, false);
            let clean = scenario.clone();
            let mut candidate =
                Candidate::on(Arc::clone(&edition), scenario, clean, mode, known(&edition, Help::AfterTry), 1, 9);
            candidate.reads_drawings = false;
            if !candidate.until_met(&branch) {
                not_met.push(format!("{id} {system} {}", branch.id));
            }
        }
    }
    assert!(n > 100, "{n} branches");
    // A rule that stands in the shadow of another one cannot come about; the tests of the specimen name them.
    assert!(no_way.len() * 50 < n, "{no_way:#?}");
    assert!(not_met.is_empty(), "{} of {n}: {not_met:#?}", not_met.len());
}

#[test]
fn what_is_due_over_all_methods_is_asked_without_a_specimen() {
    let editions: Vec<_> = ["slump", "temperature"].map(|id| edition(id, System::InchPound)).into();
    let decks = editions.iter().map(|edition| Deck::of(edition)).collect();
    let mut history = History::default();
    for edition in &editions {
        known(edition, Help::StageOnly).entries().iter().for_each(|entry| history.add(entry.clone()));
    }
    let session = Session::new(decks, history, Mode::Today { minutes: 15 }, 3, moment(Tick(0))).unwrap();
    let options = PracticeOptions { seed: 3, speed: 1, today: 20_717, ..PracticeOptions::default() };
    let screen = PracticeModel::new(session, None, moment(Tick(0)), options);
    let edition = Arc::clone(&editions[0]);
    let mut candidate = Candidate::of(screen, edition, 1);
    let first = candidate.text(SMALL);
    let mut n = 0;
    let summary = candidate.all_the_way(|_| true);
    for entry in &candidate.kept {
        n += usize::from(matches!(entry, Entry::Tried(_)));
    }
    assert!(n > 10 && summary.tries.of as usize == n, "{n} tries\n{first}");
    assert!(first.contains("what is due today"), "{first}");
    insta::assert_snapshot!("today 80x24", first);
}

/// Thirty days of practice with ups and downs, invented.
fn month(edition: &Edition, today: i64) -> History {
    use practice::history::{Missed, Share, Tried, When};
    let mut history = History::default();
    let deck = Deck::of(edition);
    for day in [28, 25, 21, 20, 14, 9, 6, 3, 1] {
        let at = When { unix_ms: (today - day) * 86_400_000 + 43_200_000, offset_min: 0 };
        for (n, item) in deck.items().iter().enumerate() {
            let skill = 40 + (28 - day) * 2;
            let right = (n as i64 * 37 + day * 11) % 100 < skill;
            let help = Help::ALL[(((28 - day) / 8) as usize).min(3)];
            if (n as i64 + day) % 3 != 0 {
                let tried =
                    Tried { at, item: item.key.clone(), help, right, slip: None, took_ms: 9_000 - n as u64 * 50 };
                history.add(Entry::Tried(tried));
            }
        }
    }
    let at = When { unix_ms: (today - 1) * 86_400_000 + 50_000_000, offset_min: 0 };
    history.add(Entry::Trial(Trial {
        at,
        method: edition.id.clone(),
        system: edition.system.to_string(),
        seed: 3,
        acts: Share { right: 19, of: 21 },
        readings: Share { right: 1, of: 1 },
        missed: vec![Missed { item: "slump/lift".into(), because: "skipped".into() }],
        took_ms: 151_000,
        broken_off: None,
    }));
    history
}

#[test]
fn progress_is_drawn_with_its_figures_and_the_reason_why_somebody_is_not_ready() {
    use coach::screen::ThemeChoice;
    use coach::screen::practice::{ProgressCard, ProgressModel};
    use practice::readiness::{Rule, readiness};
    let today = 20_717;
    let card = |id: &str| {
        let edition = edition(id, System::InchPound);
        let history = if id == "slump" { month(&edition, today) } else { History::default() };
        let (deck, standings) =
            (Deck::of(&edition), practice::Standings::of(&history, practice::schedule::Schedule::default()));
        ProgressCard {
            progress: practice::progress::progress(&deck, &history, &standings),
            ready: readiness(&deck, &history, &standings, today, &Rule::default()),
        }
    };
    let mut model = ProgressModel::new(vec![card("temperature"), card("slump")], today, ThemeChoice::Dark);
    let text = |model: &ProgressModel, (width, height): (u16, u16)| {
        let area = Rect::new(0, 0, width, height);
        let mut buf = Buffer::empty(area);
        model.draw(Tick(0), &mut buf, area);
        let rows = reader::cells(&buf);
        rows.iter().map(|row| format!("{}\n", row.iter().collect::<String>().trim_end())).collect::<String>()
    };
    let small = text(&model, SMALL);
    assert!(small.contains("Slump of fresh concrete"), "the method that was begun comes first\n{small}");
    assert!(small.contains("Not ready yet: "), "{small}");
    insta::assert_snapshot!("progress 80x24", small);
    insta::assert_snapshot!("progress 120x40", text(&model, LARGE));
    let key = |code| Sensed::Key(KeyEvent::new(code, KeyModifiers::NONE));
    let before = text(&model, SMALL);
    assert!(model.sense(key(KeyCode::Down), moment(Tick(0))).is_empty());
    assert_ne!(text(&model, SMALL), before, "the steps scroll");
    model.sense(key(KeyCode::Left), moment(Tick(0)));
    let other = text(&model, SMALL);
    assert!(other.contains("Nothing tried yet. Begin: pourside practice temperature"), "{other}");
    assert_eq!(model.sense(key(KeyCode::Char('q')), moment(Tick(0))), [PracticeDeed::Leave]);
    for (width, height) in [(1, 1), (20, 5), (60, 16), (200, 70)] {
        text(&model, (width, height));
    }
}

#[test]
fn no_size_of_the_terminal_breaks_the_screen() {
    let of = edition("air-volumetric", System::InchPound);
    let mut candidate = Candidate::with(
        "air-volumetric",
        System::InchPound,
        method("air-volumetric", true),
        known(&of, Help::AfterTry),
        1,
        4,
    );
    for _ in 0..4_000 {
        for size in [(1, 1), (10, 3), (40, 12), (60, 16), (79, 23), (200, 60)] {
            candidate.picture(size);
        }
        if !candidate.go_on(|_| true) {
            break;
        }
    }
    assert!(candidate.summary().is_some());
}

#[test]
fn a_session_in_lines_goes_all_the_way_and_says_no_secret() {
    use coach::screen::practice::{hear_line, plain_lines};
    for (id, level) in [("slump", Help::Shown), ("air-pressure", Help::Nothing), ("air-volumetric", Help::StageOnly)] {
        let of = edition(id, System::InchPound);
        let mut candidate = Candidate::with(id, System::InchPound, method(id, true), known(&of, level), 1, 6);
        for n in 0.. {
            assert!(n < 4_000, "no end of it: {:#?}", plain_lines(&candidate.screen, candidate.now));
            candidate.wait_ms(1_500);
            let lines = plain_lines(&candidate.screen, candidate.now);
            assert!(!lines.is_empty() && lines.iter().all(|line| !line.contains('\n')), "{lines:?}");
            let said = lines.join(" ");
            for secret in secrets(&candidate) {
                let is_on_form = asked_on_the_form(&candidate).is_some();
                assert!(is_on_form || !has_word(&said, &secret) || secret.len() < 4, "{secret}: {lines:#?}");
            }
            let tick = candidate.run_now();
            let act = candidate
                .screen
                .run()
                .map(|run| (run.offer(tick).act.clone(), run.offer(tick).step.map(|(_, step)| step.wants.clone())));
            let line = match candidate.screen.due().clone() {
                Due::Finished(_) => break,
                Due::Tell(_) | Due::Explain(_) | Due::TrialAhead(_) => String::new(),
                Due::Ask(question) => match &question.form {
                    Form::Choices(choices) => {
                        let right = (0..choices.len()).find(|at| judge(&question, &Answer::Choice(*at)).right);
                        (right.unwrap() + 1).to_string()
                    }
                    Form::Number(_) => right_number(&question),
                },
                Due::Perform(_) => match act.unwrap() {
                    (Act::Confirm, Some(Wants::Count { at_least, .. })) => at_least.to_string(),
                    (Act::Wait { until }, _) => {
                        candidate.wait(Span(until.since(tick).0 + 500));
                        "again".to_owned()
                    }
                    (Act::Begin, Some(Wants::Timed { at_least, at_most, .. })) => {
                        let deeds = hear_line(&mut candidate.screen, "", moment(candidate.now));
                        candidate.do_all(deeds);
                        candidate.wait(Span((at_least.0 + at_most.0) / 2));
                        String::new()
                    }
                    (Act::Answer(reading), _) => match candidate.screen.right_answers(candidate.now).first() {
                        Some(engine::Entry::Number(right)) => right.to_string(),
                        Some(engine::Entry::Choice(at)) => match &candidate.edition.reading(reading).kind {
                            ReadingKind::Choice(choices) => choices[usize::from(*at)].key.to_string(),
                            other => panic!("{other:?}"),
                        },
                        _ => String::new(),
                    },
                    _ => String::new(),
                },
            };
            let deeds = hear_line(&mut candidate.screen, &line, moment(candidate.now));
            candidate.do_all(deeds);
        }
        let trial = candidate.summary().unwrap().trial.unwrap();
        assert!(trial.passed() && trial.readings.right == trial.readings.of, "{id}: {trial:?}");
    }
}
