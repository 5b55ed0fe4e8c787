//! A session as a screen drives it.
#![allow(clippy::panic, clippy::expect_used, reason = "a test says what it expects by panicking")]

mod common;

use std::collections::BTreeMap;

use common::{FIRST_DAY, deck, moment};
use engine::Moment;
use practice::history::{Entry, History, ReadingJudged, TakenBack};
use practice::readiness::{Reason, Rule, readiness};
use practice::schedule::Schedule;
use practice::session::{NotNow, NothingToPractise, OTHERS_BETWEEN, Summary};
use practice::{
    Answer, Due, Form, Help, Mode, Onward, Performance, Question, Session, Standings, csv, judge, progress,
};

/// Drives sessions: says what the person answers and how the acts go, and writes down what was due.
struct Person<F> {
    day: i64,
    ms: u64,
    history: History,
    /// Whether this question is answered right.
    knows: F,
    seen: Vec<String>,
}

fn right(question: &Question) -> Answer {
    match &question.form {
        Form::Choices(choices) => {
            let at = (0..choices.len()).find(|at| judge(question, &Answer::Choice(*at)).right);
            Answer::Choice(at.expect("one is right"))
        }
        Form::Number(_) => question.read(&judge(question, &Answer::NotKnown).right_answer).expect("a number"),
    }
}

impl<F: FnMut(&Question) -> bool> Person<F> {
    fn new(knows: F) -> Self {
        Self { day: FIRST_DAY, ms: 0, history: History::default(), knows, seen: Vec::new() }
    }
    fn now(&mut self, later_ms: u64) -> Moment {
        self.ms += later_ms;
        moment(self.day, self.ms)
    }
    fn begin(&mut self, methods: &[&str], mode: Mode) -> Session {
        let decks = methods.iter().map(|id| deck(id)).collect();
        self.ms = 0;
        self.seen.clear();
        let at = self.now(0);
        Session::new(decks, self.history.clone(), mode, 11, at).expect("a session")
    }
    /// Drives it to its end; `runs` says how a step goes on the run and where the run goes on.
    fn drive(&mut self, mut session: Session, mut runs: impl FnMut(&str, bool) -> (Performance, Onward)) -> Summary {
        for _ in 0..2_000 {
            let kept = match session.due().clone() {
                Due::Tell(tell) => {
                    self.seen.push(format!("tell {}", tell.text));
                    session.go_on(self.now(4_000))
                }
                Due::Explain(_) => session.go_on(self.now(2_000)),
                Due::TrialAhead(_) => {
                    self.seen.push("trial".to_owned());
                    session.go_on(self.now(1_000))
                }
                Due::Ask(question) => {
                    self.seen.push(format!("ask {}", question.item));
                    let answer = if (self.knows)(&question) { right(&question) } else { wrong(&question) };
                    session.answer(&answer, self.now(8_000))
                }
                Due::Perform(perform) => {
                    let shown = if perform.shown { "shown" } else { "unshown" };
                    self.seen.push(format!("do {} {shown}", perform.step));
                    let (performance, onward) = runs(&perform.step, perform.in_trial);
                    session.performed(&perform.step, performance, onward, self.now(5_000))
                }
                Due::Finished(summary) => {
                    assert_eq!(session.history(), &self.history, "what is kept is what the session goes by");
                    let again = Standings::of(&self.history, Schedule::default());
                    assert_eq!(session.standings(), &again, "taken one by one or all at once is the same");
                    return *summary;
                }
            };
            kept.expect("the call fits").into_iter().for_each(|entry| self.history.add(entry));
        }
        panic!("the session does not end: {:?}", session.due());
    }
    fn method(&mut self, id: &str) -> Summary {
        let session = self.begin(&[id], Mode::Method { method: id.to_owned(), trial: true });
        self.drive(session, |_, _| (Performance::default(), Onward::InOrder))
    }
}

fn wrong(question: &Question) -> Answer {
    match &question.form {
        Form::Choices(choices) => {
            let at = (0..choices.len()).find(|at| !judge(question, &Answer::Choice(*at)).right);
            Answer::Choice(at.expect("one is wrong"))
        }
        Form::Number(_) => question.read("999").expect("a number"),
    }
}

#[test]
fn the_first_time_every_act_is_shown_and_done_and_the_next_time_it_is_asked() {
    let mut person = Person::new(|_| true);
    let summary = person.method("slump");
    let end_of_walk = person.seen.iter().position(|line| line.starts_with("ask ")).expect("a question");
    assert!(person.seen[..end_of_walk].iter().all(|line| !line.starts_with("ask") && !line.ends_with("unshown")));
    let first_lift = person.seen.iter().position(|line| line == "do lift shown").expect("the lift");
    assert!(person.seen[first_lift - 1].starts_with("tell Lift straight up"), "{}", person.seen[first_lift - 1]);
    let trial = summary.trial.clone().expect("a timed run");
    assert!(trial.passed(), "{trial:?}");
    assert!(person.seen.iter().any(|line| line == "ask slump/lift#most"), "told numbers are asked after the run");

    // Act told (one level less), then right in the timed run (another): the third time only the stage is named.
    person.day += 3;
    person.method("slump");
    let lift = person.seen.iter().position(|line| line.starts_with("do lift")).expect("the lift");
    assert_eq!(person.seen[lift], "do lift unshown");
    assert!(person.seen[..lift].contains(&"ask slump/lift".to_owned()));
    assert!(!person.seen.iter().any(|line| line.starts_with("tell Lift")));
}

#[test]
fn help_falls_after_a_right_try_and_rises_after_a_wrong_one() {
    use Help::{AfterTry, Nothing, Shown, StageOnly};
    for (level, right, after) in [
        (Shown, true, AfterTry),
        (Shown, false, Shown),
        (AfterTry, true, StageOnly),
        (AfterTry, false, Shown),
        (StageOnly, true, Nothing),
        (StageOnly, false, AfterTry),
        (Nothing, true, Nothing),
        (Nothing, false, StageOnly),
    ] {
        assert_eq!(level.after(right), after, "{level:?} {right}");
    }
}

#[test]
fn each_level_shows_what_it_should_and_no_more() {
    let deck = deck("slump");
    let item = deck.find("slump/layer-2").expect("an act");
    let at = |help| deck.question(item, help, false, 1);
    assert_eq!(at(Help::AfterTry).stage.as_deref(), Some("Fill the mould"));
    assert_eq!(at(Help::AfterTry).after.len(), 2);
    assert_eq!(at(Help::AfterTry).prompt, "What comes next?");
    assert_eq!(at(Help::StageOnly).stage.as_deref(), Some("Fill the mould"));
    assert!(at(Help::StageOnly).after.is_empty());
    assert_eq!(at(Help::StageOnly).prompt, "What do you do now?");
    assert_eq!(at(Help::StageOnly).choices().len(), 4);
    assert_eq!(at(Help::Nothing).stage, None);
    assert_eq!(at(Help::Nothing).choices().len(), 6);
}

#[test]
fn what_was_missed_comes_back_after_three_others_and_not_without_end() {
    let mut person = Person::new(|question: &Question| question.item != "slump/layer-2");
    // Two days of getting to know it, then a day on which everything but the second layer is right.
    for _ in 0..2 {
        person.method("slump");
        person.day += 1;
    }
    let session = person.begin(&["slump", "air-volumetric"], Mode::Today { minutes: 15 });
    person.drive(session, |_, _| unreachable!("today has no run"));
    let asked: Vec<&String> = person.seen.iter().filter(|line| line.starts_with("ask")).collect();
    let places: Vec<usize> =
        asked.iter().enumerate().filter(|(_, line)| line.ends_with("/layer-2")).map(|(at, _)| at).collect();
    assert_eq!(places.len(), 4, "once, and three times again: {asked:#?}");
    for pair in places.windows(2) {
        assert!((pair[1] - pair[0]) as u64 > OTHERS_BETWEEN, "{places:?} of {}", asked.len());
    }
}

#[test]
fn an_act_missed_on_the_run_is_shown_there_and_comes_back_before_the_timed_run() {
    let mut person = Person::new(|_| true);
    person.method("slump");
    person.day += 1;
    let mut n = 0;
    let mut person = Person {
        knows: |question: &Question| {
            n += usize::from(question.item == "slump/strike-off");
            question.item != "slump/strike-off" || n > 1
        },
        day: person.day,
        ms: 0,
        history: person.history,
        seen: Vec::new(),
    };
    let summary = person.method("slump");
    let at = |line: &str, from: usize| {
        person.seen[from..].iter().position(|seen| seen == line).map(|at| at + from).unwrap_or_else(|| panic!("{line}"))
    };
    let first = at("ask slump/strike-off", 0);
    let done = at("do strike-off shown", first);
    let again = at("ask slump/strike-off", done);
    let trial = at("trial", again);
    assert!(first < done && done < again && again < trial);
    assert_eq!(summary.put_right, 1);
    assert!(summary.still_missed.is_empty());
}

#[test]
fn the_timed_run_is_scored_as_an_examiner_would() {
    let mut person = Person::new(|question: &Question| question.item != "slump/clear-base");
    let session = person.begin(&["slump"], Mode::Trial { method: "slump".to_owned() });
    let summary = person.drive(session, |step, in_trial| {
        assert!(in_trial);
        let mut performance = Performance::default();
        match step {
            "lift" => performance.findings.push("The lift must take 3 s to 7 s".to_owned()),
            "strokes-2" => performance.refusals.push("23 strokes: 2 more".to_owned()),
            "measure" => performance
                .readings
                .push(ReadingJudged { given: "3.50 in".to_owned(), right_answers: vec!["3.75 in".to_owned()] }),
            _ => {}
        }
        (performance, Onward::InOrder)
    });
    let trial = summary.trial.expect("a timed run");
    let missed: BTreeMap<&str, &str> =
        trial.missed.iter().map(|missed| (missed.item.as_str(), missed.because.as_str())).collect();
    assert_eq!(missed.keys().copied().collect::<Vec<_>>(), ["slump/clear-base", "slump/lift", "slump/strokes-2"]);
    assert_eq!(missed["slump/strokes-2"], "23 strokes: 2 more");
    assert!(missed["slump/clear-base"].contains('“'), "{missed:?}");
    assert_eq!((trial.acts.of - trial.acts.right, trial.passed()), (3, false));
    assert_eq!((trial.readings.right, trial.readings.of), (0, 1), "reading is counted apart from acting");
    assert!(
        !person.seen.iter().any(|line| line.starts_with("tell") || line.ends_with(" shown")),
        "no help: {:?}",
        person.seen
    );
    assert_eq!(summary.tries.of, 0, "a timed run is no practice");

    // What was missed there is due again at once, whether it was named or done wrongly.
    let standings = Standings::of(&person.history, Schedule::default());
    let decks = [deck("slump")];
    let due = practice::queue::queue(&decks, &standings, person.day, 15, &practice::queue::Limits::default());
    let why = |item: &str| {
        let queued = due.items.iter().find(|queued| queued.item == item).unwrap_or_else(|| panic!("{item} is due"));
        queued.why.words(person.day + 1)
    };
    assert_eq!(why("slump/clear-base"), "missed yesterday");
    assert_eq!(why("slump/strokes-2"), "missed on a timed run yesterday");
}

#[test]
fn the_run_says_where_it_goes_on() {
    let mut person = Person::new(|_| true);
    let id = "air-pressure";
    let session = person.begin(&[id], Mode::Method { method: id.to_owned(), trial: true });
    let mut rounds = 0;
    let summary = person.drive(session, |step, _| {
        let onward = match step {
            "compaction" => Onward::To("begin".to_owned()),
            "strokes-first" | "strokes" => Onward::To("taps".to_owned()),
            "taps" => {
                rounds += 1;
                if rounds % 3 == 0 { Onward::To("proud".to_owned()) } else { Onward::To("layer".to_owned()) }
            }
            "layer" if rounds % 3 == 0 => Onward::To("strokes-first".to_owned()),
            "layer" => Onward::To("strokes".to_owned()),
            "clean" => Onward::Over,
            _ => Onward::InOrder,
        };
        (Performance::default(), onward)
    });
    let told = person.seen.iter().filter(|line| line.starts_with("tell Tap the sides smartly")).count();
    assert_eq!(told, 1, "a later round is not told again");
    assert!(!person.seen.iter().any(|line| line.contains("vibrator") || line.contains("insertions")), "left out");
    let in_trial =
        person.seen.iter().skip_while(|line| *line != "trial").filter(|line| *line == "ask air-pressure/taps").count();
    assert_eq!(in_trial, 3, "the timed run asks every round");
    let trial = summary.trial.expect("a timed run");
    assert!(trial.passed());
    assert!(trial.acts.of < 40, "{:?}: an act of several rounds counts once", trial.acts);
}

#[test]
fn an_attempt_ended_by_the_person_fails_the_timed_run() {
    let mut person = Person::new(|_| true);
    let session = person.begin(&["slump"], Mode::Trial { method: "slump".to_owned() });
    let summary = person.drive(session, |step, _| match step {
        "lift" => (Performance::default(), Onward::GivenUp("The lift took 9 s".to_owned())),
        _ => (Performance::default(), Onward::InOrder),
    });
    let trial = summary.trial.expect("a timed run");
    assert_eq!(trial.broken_off.as_deref(), Some("The lift took 9 s"));
    assert!(!trial.passed());
}

#[test]
fn a_call_that_does_not_fit_changes_nothing_and_says_what_is_wanted() {
    let mut person = Person::new(|_| true);
    let mut session = person.begin(&["slump"], Mode::Trial { method: "slump".to_owned() });
    let before = session.due().clone();
    let refused = session.answer(&Answer::Choice(0), moment(FIRST_DAY, 1)).unwrap_err();
    assert_eq!(refused.to_string(), "begin the timed run, or stop here");
    assert!(session.performed("lift", Performance::default(), Onward::Over, moment(FIRST_DAY, 2)).is_err());
    assert!(session.take_back(moment(FIRST_DAY, 3)).is_err());
    assert_eq!(session.due(), &before);
    session.go_on(moment(FIRST_DAY, 4)).expect("it begins");
    let Due::Perform(perform) = session.due().clone() else { panic!("words are simply written down") };
    let to = Onward::To("nowhere".to_owned());
    let refused = session.performed(&perform.step, Performance::default(), to, moment(FIRST_DAY, 5)).unwrap_err();
    assert_eq!(refused, NotNow::NoSuchStep { step: "nowhere".to_owned() });
    let kept = session.stop(moment(FIRST_DAY, 6));
    assert!(matches!(&kept[..], [Entry::Trial(trial)] if trial.broken_off.as_deref() == Some("stopped")), "{kept:?}");
    assert!(session.stop(moment(FIRST_DAY, 7)).is_empty(), "it is over once");
    let none =
        Session::new(vec![deck("slump")], History::default(), Mode::Today { minutes: 0 }, 1, moment(FIRST_DAY, 0));
    assert_eq!(none.unwrap_err(), NothingToPractise::NothingDue);
}

#[test]
fn a_slip_of_the_finger_is_taken_back_and_the_question_comes_again_as_one_that_was_shown() {
    let mut person = Person::new(|_| true);
    person.method("slump");
    person.day += 1;
    let mut session = person.begin(&["slump"], Mode::Method { method: "slump".to_owned(), trial: false });
    let item = loop {
        match session.due().clone() {
            Due::Ask(question) => {
                session.answer(&wrong(&question), person.now(1_000)).expect("an answer");
                break question.item;
            }
            Due::Perform(perform) => {
                let at = person.now(1_000);
                session.performed(&perform.step, Performance::default(), Onward::InOrder, at).expect("done");
            }
            _ => drop(session.go_on(person.now(1_000)).expect("on")),
        }
    };
    let before = Standings::of(&person.history, Schedule::default()).level(&item);
    assert!(session.standings().level(&item) < before, "the miss had raised the help");
    let kept = session.take_back(person.now(500)).expect("taken back");
    assert!(matches!(&kept[..], [Entry::TakenBack(TakenBack { .. })]));
    assert_eq!(session.standings().level(&item), before);
    let mut again = None;
    while again.is_none() {
        match session.due().clone() {
            Due::Ask(question) if question.item == item => again = Some(question.help),
            Due::Ask(question) => drop(session.answer(&right(&question), person.now(1_000)).expect("an answer")),
            Due::Perform(perform) => {
                let at = person.now(1_000);
                drop(session.performed(&perform.step, Performance::default(), Onward::InOrder, at).expect("done"));
            }
            Due::Finished(summary) => panic!("it never came back: {summary:?}"),
            _ => drop(session.go_on(person.now(1_000)).expect("on")),
        }
    }
    assert_eq!(again, Some(Help::Shown));
}

#[test]
fn a_history_is_kept_line_by_line_and_read_back() {
    let mut person = Person::new(|question: &Question| !question.item.ends_with("#least"));
    person.method("slump");
    let lines: Vec<String> =
        person.history.entries().iter().map(|entry| serde_json::to_string(entry).expect("a line")).collect();
    assert!(lines.iter().all(|line| !line.contains('\n')));
    let back = lines.iter().map(|line| serde_json::from_str(line).expect("an entry")).collect();
    assert_eq!(History::of(back), person.history);
    assert!(lines.iter().any(|line| line.starts_with(r#"{"what":"tried","at":{"#)), "{}", lines[0]);
    assert!(lines.iter().any(|line| line.contains(r#""slip":"wrong-number""#)));
}

#[test]
fn progress_counts_tries_without_help_apart_and_says_what_is_wanting_for_a_trial() {
    let mut person = Person::new(|question: &Question| question.item != "slump/strike-off");
    let judge_ready = |person: &Person<_>| {
        let standings = Standings::of(&person.history, Schedule::default());
        readiness(&deck("slump"), &person.history, &standings, person.day, &Rule::default())
    };
    let never = judge_ready(&person);
    assert!(matches!(&never.reasons[..], [Reason::NeverTried { .. }, Reason::NoRun { .. }]), "{never:?}");
    person.method("slump");
    let after_one = judge_ready(&person);
    let words = after_one.words();
    assert!(
        words.contains("1 act still needs more help") && words.contains("1 step missed within the last 2 days"),
        "{words}"
    );
    assert!(words.contains("last timed run") && words.contains("every act is asked for"), "{words}");

    let deck = deck("slump");
    let standings = Standings::of(&person.history, Schedule::default());
    let method = progress::progress(&deck, &person.history, &standings);
    let strike_off = method.steps.iter().find(|step| step.item == "slump/strike-off").expect("a step");
    assert_eq!((strike_off.tally.all.right, strike_off.tally.all.of), (1, 2), "done once as shown, missed once");
    assert_eq!((strike_off.tally.unhinted.right, strike_off.tally.unhinted.of), (0, 1));
    let sum: u32 = method.steps.iter().map(|step| step.tally.all.of).sum();
    assert_eq!(sum, method.tally.all.of, "no incident was asked");
    let by_stage: u32 = method.stages.iter().map(|stage| stage.tally.all.of).sum();
    assert_eq!(by_stage, sum);
    assert_eq!(method.levels.iter().sum::<u32>() as usize, method.steps.len());

    // Learnt: the same person, knowing it now.
    let mut learnt =
        Person { knows: |_: &Question| true, day: person.day + 1, ms: 0, history: person.history, seen: Vec::new() };
    for _ in 0..3 {
        learnt.method("slump");
        learnt.day += 2;
    }
    let standings = Standings::of(&learnt.history, Schedule::default());
    let ready = readiness(&deck, &learnt.history, &standings, learnt.day, &Rule::default());
    assert!(ready.is_ready(), "{}", ready.words());
    let late = readiness(&deck, &learnt.history, &standings, learnt.day + 10, &Rule::default());
    assert_eq!(late.words(), "Not ready yet: no timed run without help in the last 7 days.");

    let table = csv::progress(&[progress::progress(&deck, &learnt.history, &standings)]);
    let tries = csv::tries(&learnt.history);
    assert_eq!(table.lines().count(), 1 + method.steps.len());
    assert!(tries.lines().nth(1).expect("a try").starts_with("2026-05-14 19:0"), "{tries}");
    assert!(
        table.contains(",\"Strike the top off: roll and saw the rod across it\",")
            || table.contains("Strike the top off: roll and saw the rod across it")
    );
    assert_eq!(csv::trials(&learnt.history).lines().count(), 1 + 4);
}

#[test]
fn what_an_examiner_saw_missed_is_asked_first() {
    let mut person = Person::new(|_| true);
    person.method("slump");
    let at = practice::When::from(person.now(0));
    let missed = practice::history::MissedInExam { at, item: "slump/clear-base".to_owned(), exam: "mock".to_owned() };
    person.history.add(Entry::MissedInExam(missed));
    let standings = Standings::of(&person.history, Schedule::default());
    let decks = [deck("slump")];
    let due = practice::queue::queue(&decks, &standings, person.day, 1, &practice::queue::Limits::default());
    let first = due.items.iter().find(|queued| queued.item == "slump/clear-base").expect("it is due at once");
    assert_eq!(first.why.words(person.day + 1), "missed in an exam yesterday");
}

#[test]
fn today_takes_turns_between_methods_and_keeps_to_its_minutes() {
    let mut person = Person::new(|_| true);
    for id in ["slump", "temperature", "air-pressure"] {
        person.method(id);
    }
    person.day += 20;
    let standings = Standings::of(&person.history, Schedule::default());
    let decks = ["slump", "temperature", "air-pressure"].map(deck);
    let limits = practice::queue::Limits::default();
    for minutes in [1, 5, 15] {
        let due = practice::queue::queue(&decks, &standings, person.day, minutes, &limits);
        assert!(due.ms <= u64::from(minutes) * 60_000, "{minutes}");
        assert!(due.ms * 10 >= u64::from(minutes) * 60_000 * 8, "{minutes}: {} ms", due.ms);
        assert_eq!(due.left_over > 0, minutes < 15, "{minutes}: {}", due.left_over);
    }
    let due = practice::queue::queue(&decks, &standings, person.day, 5, &limits);
    let order: Vec<usize> = due.items.iter().map(|queued| queued.deck).collect();
    assert!(order.windows(2).take(6).all(|pair| pair[0] != pair[1]), "in turn: {order:?}");
    for (at, deck) in decks.iter().enumerate() {
        let places: Vec<usize> = due
            .items
            .iter()
            .filter(|queued| queued.deck == at)
            .map(|queued| deck.items().iter().position(|item| item.key == queued.item).expect("an item"))
            .collect();
        let is_number = |at: &&usize| deck.items()[**at].kind == practice::Kind::Number;
        let n_numbers = places.iter().filter(is_number).count();
        assert!(places[..n_numbers].iter().all(|at| is_number(&at)), "numbers first, before an act tells them");
        assert!(
            places[..n_numbers].is_sorted() && places[n_numbers..].is_sorted(),
            "as the procedure goes: {places:?}"
        );
    }
}
