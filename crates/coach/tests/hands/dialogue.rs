//! What is said to and fro: read-back, refusals, ends, corrections, the window of the microphone, the words published.

use coach::screen::hands::choices::Pick;
use coach::screen::hands::phrases;
use coach::screen::{Model, Settings};
use crossterm::event::{KeyCode, KeyModifiers};
use engine::{Act, Entry, Event, FindingKind, Phase, Tick};
use procedure::{ReadingKind, Wants};
use quantity::{Decimal, Scale, System};

use super::person::Means;
use super::room::{Happened, Room, Stand, person_at, stands_of, with_lines};

/// A reading of the volumetric test that takes a number, a choice, words.
const NUMBER: &str = "alcohol";

fn at_number() -> Room<Model> {
    Room::asking("air-volumetric", NUMBER, with_lines())
}

fn at_words() -> Room<Model> {
    Room::asking("air-volumetric", "technician", with_lines())
}

/// A room at a step of a slump test that is done by pressing.
fn at_act(settings: Settings) -> Room<Model> {
    Room::where_("slump", System::InchPound, settings, |stand| {
        let offer = stand.run.offer(stand.now);
        stand.run.taken().len() > 1
            && offer.act == Act::Confirm
            && matches!(offer.step, Some((_, step)) if matches!(step.wants, Wants::Act))
    })
}

/// What a line brings: what is said, and what is kept.
fn brings(room: &mut Room<Model>, raw: &str) -> (Vec<String>, Vec<Event>) {
    let from = room.log.len();
    room.line(raw);
    (room.said_since(from), room.kept_since(from))
}

fn is_kept(room: &Room<Model>) -> bool {
    room.log.iter().any(|happened| matches!(happened, Happened::Kept(..)))
}

fn n_asked(said: &[String]) -> usize {
    said.iter().filter(|text| text.contains(phrases::CONFIRM)).count()
}

// ---------------------------------------------------------------------------------------------- read-back

#[test]
fn an_unanswered_read_back_is_asked_twice_more_and_then_waits_and_is_never_taken() {
    let mut room = at_number();
    let (said, _) = brings(&mut room, "two and a half");
    assert_eq!(n_asked(&said), 1, "{said:?}");
    let from = room.log.len();
    room.wait(24_000);
    let said = room.said_since(from);
    assert_eq!(n_asked(&said), 2, "{said:?}");
    assert_eq!(said.last().unwrap(), "It is not taken. I wait.");
    let from = room.log.len();
    room.wait(3_600_000);
    assert_eq!(n_asked(&room.said_since(from)), 0);
    assert!(!is_kept(&room));
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    assert!(matches!(kept.as_slice(), [Event::Answer { .. }]), "it can still be confirmed: {kept:?}");
}

#[test]
fn another_value_replaces_the_first_and_a_denial_forgets_it() {
    let mut room = at_number();
    room.line("two and a half").line("one and a half");
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    let one_and_a_half = Entry::Number("1.5".parse().unwrap());
    assert!(matches!(kept.as_slice(), [Event::Answer { entry, .. }] if *entry == one_and_a_half), "{kept:?}");
    let mut room = at_number();
    room.line("two and a half").line(phrases::DENY).line(phrases::CONFIRM);
    assert!(!is_kept(&room));
}

#[test]
fn a_question_does_not_outlive_its_step() {
    let mut room = at_number();
    room.line("two and a half");
    // Somebody at the keyboard takes the step before back, and it happens after all.
    room.press(KeyCode::Char('u'), KeyModifiers::CONTROL);
    room.press(KeyCode::Char('y'), KeyModifiers::CONTROL);
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    assert!(kept.is_empty(), "{kept:?}");
}

#[test]
fn a_value_that_is_typed_meanwhile_replaces_the_one_that_was_said() {
    let mut room = at_number();
    room.line("two and a half");
    let from = room.log.len();
    for sign in "1.5".chars() {
        room.press(KeyCode::Char(sign), KeyModifiers::NONE);
    }
    room.key(KeyCode::Enter);
    let typed = Entry::Number("1.5".parse().unwrap());
    let kept = room.kept_since(from);
    assert!(matches!(kept.as_slice(), [Event::Answer { entry, .. }] if *entry == typed), "{kept:?}");
}

#[test]
fn noise_while_a_value_is_read_back_does_not_make_it_unknown() {
    let mut room = at_number();
    room.line("two and a half");
    room.line("where is the truck");
    let (said, kept) = brings(&mut room, phrases::AGAIN);
    assert!(kept.is_empty());
    assert!(
        said[0].to_lowercase().starts_with("two point five"),
        "say again says the value that is in question: {said:?}"
    );
}

#[test]
fn a_number_that_is_no_mark_or_lies_beyond_the_instrument_is_refused_with_the_reason_and_never_rounded() {
    for (words, why) in [("two point three three", "graduated"), ("ninety", "to"), ("two inches", "inches")] {
        let mut room = at_number();
        let (said, _) = brings(&mut room, words);
        assert_eq!(said.len(), 1, "{words}: {said:?}");
        assert!(said[0].starts_with("Heard"), "{words}: {said:?}");
        let reason = said[0].split_once(words).map_or("", |(_, reason)| reason);
        assert!(reason.contains(why), "{words} has a reason: {said:?}");
        room.line(phrases::CONFIRM);
        assert!(!is_kept(&room), "{words}");
    }
}

#[test]
fn a_reading_below_zero_is_entered_as_it_was_said() {
    let mut room = Room::where_("temperature", System::Si, with_lines(), |stand| number(stand).is_some_and(is_below));
    let scale = number_now(&room).unwrap();
    let lowest = voice::say::reading(&scale.min.to_string(), quantity::Unit::NONE);
    room.line(lowest.split(',').next().unwrap());
    let (said, kept) = brings(&mut room, phrases::CONFIRM);
    let lowest = Entry::Number(scale.min);
    let is_it = kept.iter().any(|event| matches!(event, Event::Answer { entry, .. } if *entry == lowest));
    // A reading that low may be refused, but then with its reason.
    assert!(is_it || !said.is_empty(), "{kept:?} {said:?}");
    assert!(kept.is_empty() || is_it, "{kept:?}");
}

fn is_below(scale: Scale) -> bool {
    scale.min < Decimal::ZERO
}

fn number(stand: &Stand) -> Option<Scale> {
    match stand.run.offer(stand.now).act {
        Act::Answer(reading) => match &stand.run.edition().reading(reading).kind {
            ReadingKind::Number(scale) => Some(scale.clone()),
            _ => None,
        },
        _ => None,
    }
}

fn number_now(room: &Room<Model>) -> Option<Scale> {
    let reading = super::room::asked(room.run(), room.now)?;
    match &room.run().edition().reading(reading).kind {
        ReadingKind::Number(scale) => Some(scale.clone()),
        _ => None,
    }
}

#[test]
fn a_value_said_in_time_and_confirmed_late_counts_as_in_time_as_it_does_when_it_is_typed() {
    // The second reading of a settling: it has a moment, and a limit that can pass while it is being confirmed.
    for by_voice in [true, false] {
        let mut room = Room::where_("air-volumetric", System::InchPound, with_lines(), |stand| {
            let offer = stand.run.offer(stand.now);
            matches!(offer.step, Some((_, step)) if matches!(step.wants, Wants::Settle(_)))
                && number(stand).is_some()
                && stand.run.clocks(stand.now).any(|clock| clock.side == engine::Side::AtMost)
        });
        let due = room.run().clocks(room.now).filter(|clock| clock.side == engine::Side::AtMost).map(|clock| clock.due);
        let due = due.min().unwrap();
        let before = room.run().findings().len();
        room.wait(due.0.saturating_sub(room.now.0) - 3_000);
        let reading = super::room::asked(room.run(), room.now);
        let Some(reading) = reading else { panic!("{:?}", room.run().offer(room.now)) };
        let right = room.specimen.as_ref().unwrap().right_answers(room.run(), reading, room.now);
        let Entry::Number(value) = right[0] else { panic!("{right:?}") };
        let from = room.log.len();
        let begun = if by_voice {
            let words = voice::say::reading(&value.to_string(), quantity::Unit::NONE);
            room.line(words.split(',').next().unwrap());
            let begun = room.now;
            room.wait(20_000);
            room.line(phrases::CONFIRM);
            begun
        } else {
            let begun = room.now;
            for sign in value.to_string().chars() {
                room.press(KeyCode::Char(sign), KeyModifiers::NONE);
            }
            room.wait(20_000);
            room.key(KeyCode::Enter);
            begun
        };
        let kept = room.kept_since(from);
        let Some(Event::Answer { seen, .. }) = kept.first() else {
            panic!("by voice {by_voice}: {kept:?} {:?}", room.said_since(from));
        };
        assert_eq!(*seen, begun, "by voice {by_voice}");
        let late = room.run().findings()[before..].iter().filter(|one| matches!(one.what, FindingKind::Late { .. }));
        assert_eq!(late.count(), 0, "by voice {by_voice}: {:?}", &room.run().findings()[before..]);
    }
}

#[test]
fn the_moment_of_a_spoken_value_is_when_its_sound_began_but_not_before_what_happened_last() {
    let mut room = at_number();
    room.wait(10_000);
    room.line("ago=900 two and a half");
    let began = Tick(room.now.0 - 900);
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    assert!(matches!(kept.as_slice(), [Event::Answer { seen, .. }] if *seen == began), "{kept:?}");
    let mut room = at_number();
    let last = room.run().last().tick;
    room.line("ago=60000 two and a half");
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    assert!(matches!(kept.as_slice(), [Event::Answer { seen, .. }] if *seen >= last), "{kept:?}");
}

// ---------------------------------------------------------------------------------------------- words of one's own

#[test]
fn names_and_remarks_are_said_in_words_of_ones_own_and_read_back_too() {
    let mut room = at_words();
    let (said, kept) = brings(&mut room, "enter Ada Lamp-Oil");
    assert!(kept.is_empty() && said[0].starts_with("Ada Lamp"), "{said:?}");
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    let name = Entry::Words("Ada Lamp-Oil".to_owned());
    assert!(matches!(kept.as_slice(), [Event::Answer { entry, .. }] if *entry == name), "{kept:?}");
    room.line("remark Cold wind from the north");
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    assert_eq!(kept, [Event::Remark { text: "Cold wind from the north".to_owned() }]);
    let (_, kept) = brings(&mut room, "enter");
    assert!(kept.is_empty());
    // Every letter there is, and signs that are keys elsewhere.
    for words in ["q x u y e r o f s ? + - y y", "Ünal Ó Łuk", "4 1/2 Z", "yes end it"] {
        let mut room = at_words();
        room.line(&format!("enter {words}"));
        let (_, kept) = brings(&mut room, phrases::CONFIRM);
        let words = Entry::Words(words.to_owned());
        assert!(matches!(kept.as_slice(), [Event::Answer { entry, .. }] if *entry == words), "{kept:?}");
    }
}

#[test]
fn what_somebody_began_to_type_over_the_screen_is_not_mixed_with_what_is_said() {
    // A remark that was begun at the keyboard and left.
    let mut room = at_act(with_lines());
    room.press(KeyCode::Char('r'), KeyModifiers::CONTROL);
    for sign in "half a rem".chars() {
        room.press(KeyCode::Char(sign), KeyModifiers::NONE);
    }
    room.line("remark cold wind");
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    assert_eq!(kept, [Event::Remark { text: "cold wind".to_owned() }]);
}

#[test]
fn the_longest_words_are_entered_whole() {
    let mut room = at_words();
    let words = "a".repeat(120) + " " + &"b".repeat(120);
    room.line(&format!("enter {words}"));
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    assert!(matches!(kept.as_slice(), [Event::Answer { entry: Entry::Words(kept), .. }] if *kept == words), "{kept:?}");
}

// ---------------------------------------------------------------------------------------------- ends

/// A room before the question that ends the attempt because something went wrong.
fn before_an_end() -> Room<Model> {
    let mut room = Room::where_("air-volumetric", System::InchPound, with_lines(), |stand| {
        let offer = stand.run.offer(stand.now);
        let stage = offer.step.map(|(_, step)| step.stage);
        let can_happen =
            stand.run.edition().incidents.iter().any(|one| stage.is_some_and(|stage| one.during.contains(&stage)));
        can_happen && offer.act == Act::Confirm
    });
    room.line(phrases::WRONG);
    room.line("reason one");
    assert!(room.hands.list(room.now).iter().any(|choice| choice.pick == Pick::End), "{:?}", room.hands.list(room.now));
    room
}

#[test]
fn an_end_takes_both_phrases_in_their_order_and_nothing_else_does_it() {
    let mut room = before_an_end();
    for wrong in [phrases::END_FOR_SURE, phrases::CONFIRM, phrases::DONE, "yes", "end it", "wrap up"] {
        let (_, kept) = brings(&mut room, wrong);
        assert!(kept.is_empty(), "{wrong}: {kept:?}");
    }
    room.line(phrases::END);
    for wrong in [phrases::END, phrases::CONFIRM, phrases::DONE, "yes", "end it", "wrap up"] {
        let (_, kept) = brings(&mut room, wrong);
        assert!(kept.is_empty(), "{wrong}: {kept:?}");
    }
    let (_, kept) = brings(&mut room, phrases::END_FOR_SURE);
    assert!(matches!(kept.as_slice(), [Event::Incident { .. }]), "{kept:?}");
    let (_, kept) = brings(&mut room, phrases::UNDO);
    assert_eq!(kept, [Event::Undo], "and it can be taken back");
    assert_eq!(room.phase(), Phase::AtStep);
}

#[test]
fn before_an_end_everything_can_be_left_alone() {
    for after_first in [false, true] {
        let mut room = before_an_end();
        if after_first {
            room.line(phrases::END);
        }
        room.line(phrases::LEAVE_IT).line(phrases::END).line(phrases::END_FOR_SURE);
        assert!(!is_kept(&room));
        assert_eq!(room.phase(), Phase::AtStep);
    }
}

#[test]
fn giving_up_for_another_reason_takes_the_reason_and_both_phrases() {
    let mut room = at_act(with_lines());
    room.line(phrases::WRONG);
    let list = room.hands.list(room.now);
    let other = list.iter().find(|choice| choice.label.contains("another reason")).unwrap().phrases[0].clone();
    room.line(&other).line("because the cone was kicked over").line(phrases::CONFIRM);
    room.line(phrases::END);
    assert!(!is_kept(&room));
    let (_, kept) = brings(&mut room, phrases::END_FOR_SURE);
    assert_eq!(kept, [Event::Discard { reason: "the cone was kicked over".to_owned() }]);
}

#[test]
fn a_run_is_closed_by_both_phrases_only() {
    let stand = |stand: &Stand| stand.run.offer(stand.now).act == Act::Close;
    let mut room = Room::where_("slump", System::InchPound, with_lines(), stand);
    room.line(phrases::DONE);
    for wrong in [phrases::DONE, phrases::END_FOR_SURE, phrases::CONFIRM] {
        room.line(wrong);
    }
    assert!(!is_kept(&room));
    room.line(phrases::END).line(phrases::END);
    assert!(!is_kept(&room));
    let (_, kept) = brings(&mut room, phrases::END_FOR_SURE);
    assert_eq!(kept, [Event::Close]);
    assert_eq!(room.phase(), Phase::Closed { with_result: true });
    for line in [phrases::DONE, phrases::END, phrases::END_FOR_SURE, phrases::ANOTHER] {
        room.line(line);
    }
    assert!(!room.has_left(), "nobody leaves by voice");
}

#[test]
fn to_go_on_anyway_takes_a_reason_that_stays_on_the_record() {
    let mut room = Room::where_("air-volumetric", System::InchPound, with_lines(), |stand| {
        matches!(stand.run.offer(stand.now).step, Some((_, step)) if matches!(step.wants, Wants::Hold { turns: None, .. }))
            && matches!(stand.run.offer(stand.now).act, Act::Begin)
    });
    room.line(phrases::BEGIN);
    room.line(phrases::DONE);
    let (_, kept) = brings(&mut room, phrases::ANYWAY);
    assert!(kept.is_empty());
    let (said, kept) = brings(&mut room, "reason one");
    assert!(kept.is_empty() && said[0].starts_with("Directed by the engineer on site"), "{said:?}");
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    let reason = Some("Directed by the engineer on site".to_owned());
    assert!(matches!(kept.first(), Some(Event::Done { despite, .. }) if *despite == reason), "{kept:?}");
}

#[test]
fn a_reason_for_a_refusal_that_time_has_overtaken_does_nothing_else() {
    let is_hold = |stand: &Stand| {
        let offer = stand.run.offer(stand.now);
        let is_plain = |wants: &Wants| matches!(wants, Wants::Hold { turns: None, .. });
        offer.act == Act::Begin && offer.step.is_some_and(|(_, step)| is_plain(&step.wants))
    };
    for reason in ["reason one", "reason two", "because u x y e s q r"] {
        let mut room = Room::where_("air-volumetric", System::InchPound, with_lines(), is_hold);
        room.line(phrases::BEGIN).line(phrases::DONE).line(phrases::ANYWAY).line(reason);
        // Long enough by now: there is no refusal any more.
        room.wait(600_000);
        let from = room.log.len();
        room.line(phrases::CONFIRM);
        let kept = room.kept_since(from);
        let is_fine = |event: &Event| matches!(event, Event::Done { .. });
        assert!(kept.iter().all(is_fine), "{reason}: {kept:?}\n{}", room.screen(80, 24));
        let from = room.log.len();
        room.line("remark cold wind").line(phrases::CONFIRM);
        assert_eq!(room.kept_since(from), [Event::Remark { text: "cold wind".to_owned() }]);
    }
}

/// What is entered is what was read back, whatever the person at the keyboard does to the screen meanwhile.
#[test]
fn keys_pressed_between_read_back_and_confirmation_change_nothing_of_the_value() {
    let keys =
        ["r", "x", "e", "s", "?", "f", "m", "+", "-", "7", "z", "rab", "ex", "x9", "c", "o", "g", "p", "v", "12"];
    for (what, line) in [("a number", "two and a half"), ("a remark", "remark cold wind")] {
        for pressed in keys {
            let mut room = at_number();
            room.line(line);
            for sign in pressed.chars() {
                room.press(KeyCode::Char(sign), KeyModifiers::NONE);
            }
            let from = room.log.len();
            room.line(phrases::CONFIRM);
            let kept = room.kept_since(from);
            let half: Decimal = "2.5".parse().unwrap();
            let is_it = match kept.as_slice() {
                [] => true,
                [Event::Answer { entry: Entry::Number(value), .. }] => what == "a number" && *value == half,
                [Event::Remark { text }] => what == "a remark" && text == "cold wind",
                _ => false,
            };
            assert!(is_it, "{what}, {pressed}: {kept:?}");
        }
    }
}

// ---------------------------------------------------------------------------------------------- corrections

#[test]
fn an_earlier_reading_is_corrected_by_voice_with_value_and_reason_both_read_back() {
    let mut room = Room::where_("air-volumetric", System::InchPound, with_lines(), |stand| {
        let last = stand.run.taken().last();
        last.is_some_and(|last| stand.run.edition().reading(last.reading).id == NUMBER)
    });
    let last = room.run().taken().last().unwrap().clone();
    let (_, kept) = brings(&mut room, phrases::CORRECT);
    assert!(kept.is_empty());
    room.line("reading one");
    let (said, _) = brings(&mut room, "one and a half");
    assert!(said[0].to_lowercase().starts_with("one point five"), "{said:?}");
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    assert!(kept.is_empty(), "{kept:?}");
    room.line("because I read the wrong line");
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    let entry = Entry::Number("1.5".parse().unwrap());
    assert_eq!(kept, [Event::Correct { seq: last.seq, entry, reason: "I read the wrong line".to_owned() }]);
}

#[test]
fn a_correction_that_is_refused_leaves_nothing_open() {
    let mut room = Room::where_("air-volumetric", System::InchPound, with_lines(), |stand| {
        let last = stand.run.taken().last();
        last.is_some_and(|last| stand.run.edition().reading(last.reading).id == NUMBER)
    });
    let Entry::Number(value) = room.run().taken().last().unwrap().entry else { panic!("no number") };
    let same = voice::say::reading(&value.to_string(), quantity::Unit::NONE);
    let from = room.log.len();
    room.line(phrases::CORRECT).line("reading one").line(same.split(',').next().unwrap()).line(phrases::CONFIRM);
    room.line("because of 3 or 4 reasons").line(phrases::CONFIRM);
    assert!(room.kept_since(from).is_empty(), "{:?}", room.kept_since(from));
    assert!(room.said_since(from).iter().any(|text| text.contains("already on record")), "it is said why");
    // A pedal does the next thing, and nothing of the correction.
    room.line("remark cold wind");
    let from = room.log.len();
    room.key(KeyCode::PageDown);
    assert_eq!(room.kept_since(from), [Event::Remark { text: "cold wind".to_owned() }], "{}", room.screen(80, 24));
    // Nor does anything of it stand in the next one.
    let from = room.log.len();
    room.line(phrases::CORRECT).line("reading one").line("one and a half").line(phrases::CONFIRM);
    room.line("because of 3 or 4 reasons").line(phrases::CONFIRM);
    let kept = room.kept_since(from);
    let right = Entry::Number("1.5".parse().unwrap());
    let [Event::Correct { entry, reason, .. }] = kept.as_slice() else { panic!("{kept:?}") };
    assert_eq!((entry, reason.as_str()), (&right, "of 3 or 4 reasons"));
}

#[test]
fn a_right_value_somebody_began_to_type_is_not_mixed_with_the_one_that_is_said() {
    let mut room = Room::where_("air-volumetric", System::InchPound, with_lines(), |stand| {
        let last = stand.run.taken().last();
        last.is_some_and(|last| stand.run.edition().reading(last.reading).id == NUMBER)
    });
    room.press(KeyCode::Char('e'), KeyModifiers::CONTROL);
    room.press(KeyCode::Enter, KeyModifiers::NONE);
    room.press(KeyCode::Char('2'), KeyModifiers::NONE);
    room.press(KeyCode::Esc, KeyModifiers::NONE);
    room.press(KeyCode::Esc, KeyModifiers::NONE);
    let from = room.log.len();
    room.line(phrases::CORRECT).line("reading one").line("one and a half").line(phrases::CONFIRM);
    room.line("reason three").line(phrases::CONFIRM);
    let kept = room.kept_since(from);
    let right = Entry::Number("1.5".parse().unwrap());
    assert!(matches!(kept.as_slice(), [Event::Correct { entry, .. }] if *entry == right), "{kept:?}");
}

#[test]
fn an_answer_corrected_to_what_it_was_changes_nothing() {
    for (method, system) in [("air-volumetric", System::InchPound), ("slump", System::Si), ("density", System::Si)] {
        let stands = stands_of(method, system)
            .iter()
            .filter(|stand| stand.run.taken().last().is_some_and(|last| matches!(last.entry, Entry::Choice(_))));
        for stand in stands.step_by(3) {
            let last = stand.run.taken().last().unwrap();
            let Entry::Choice(n) = last.entry else { panic!("no answer") };
            for reason in ["reason one", "reason three", "reason five"] {
                let mut room = Room::at(stand, with_lines());
                let answer = format!("answer {}", voice::say::whole(u64::from(n) + 1));
                room.line(phrases::CORRECT).line("reading one").line(&answer).line(phrases::CONFIRM);
                room.line(reason).line(phrases::CONFIRM);
                assert!(!is_kept(&room), "{method}: {:?}", room.kept_since(0));
            }
        }
    }
}

/// Three clicker keys correct words that were entered before, at a step that asks for something else.
#[test]
fn a_name_is_corrected_letter_by_letter_and_nothing_else_happens() {
    for means in [Means::Clicker, Means::Switch] {
        let stand = stands_of("slump", System::InchPound).iter().find(|stand| {
            let taken = stand.run.taken();
            stand.run.offer(stand.now).act == Act::Confirm && !taken.is_empty()
        });
        let stand = stand.unwrap();
        let words = stand.run.taken().iter().rev().position(|taken| matches!(taken.entry, Entry::Words(_)));
        let at = words.unwrap();
        let mut person = person_at(stand, means);
        let before = person.run().n_accepted();
        person.choose(|choice| choice.pick == Pick::More);
        person.choose(|choice| choice.pick == Pick::CorrectList);
        person.choose(|choice| choice.pick == Pick::Correct(at));
        person.words("XQ");
        assert_eq!(person.run().n_accepted(), before, "{means:?}: {:?}", person.transcript.last());
        person.choose(|choice| choice.pick == Pick::Reason(2));
        person.confirm();
        let taken = person.run().taken().iter().rev().filter(|taken| taken.entry != Entry::One).nth(at).unwrap();
        assert_eq!(taken.entry, Entry::Words("Xq".to_owned()), "{means:?}");
        assert_eq!(person.run().n_accepted(), before + 1, "{means:?}");
    }
}

#[test]
fn a_reading_is_corrected_with_a_clicker_and_with_one_switch() {
    for means in Means::ALL {
        let stand = stands_of("air-volumetric", System::InchPound).iter().find(|stand| {
            let last = stand.run.taken().last();
            last.is_some_and(|last| stand.run.edition().reading(last.reading).id == NUMBER)
        });
        let mut person = person_at(stand.unwrap(), means);
        if means == Means::Lines {
            person.line(phrases::CORRECT);
        } else {
            person.choose(|choice| choice.pick == Pick::More);
            person.choose(|choice| choice.pick == Pick::CorrectList);
        }
        person.choose(|choice| choice.pick == Pick::Correct(0));
        person.number("1.50".parse().unwrap(), "one and a half");
        person.choose(|choice| choice.pick == Pick::Reason(2));
        person.confirm();
        let corrected = person.run().taken().last().unwrap().entry.clone();
        assert_eq!(corrected, Entry::Number("1.5".parse().unwrap()), "{means:?}");
        assert!(person.transcript.iter().any(|line| line.contains("Correct {") && line.contains("Entered by mistake")));
    }
}

// ---------------------------------------------------------------------------------------------- the microphone

#[test]
fn a_microphone_is_heeded_only_in_its_window_and_not_over_a_cue_and_when_it_is_sure() {
    let line = |raw: &str| format!("{raw} {}", phrases::DONE);
    let does = |settings: Settings, before: &[&str], raw: &str, wait: u64, is_over_cue: bool| {
        let mut room = at_act(settings);
        for line in before {
            room.line_now(line.as_bytes(), false);
        }
        room.wait(wait);
        room.line_now(line(raw).as_bytes(), is_over_cue);
        is_kept(&room)
    };
    let usual = with_lines;
    assert!(!does(usual(), &[], "src=mic", 0, false), "the window is closed");
    assert!(does(usual(), &["talk on"], "src=mic", 3_900, false));
    assert!(!does(usual(), &["talk on"], "src=mic", 4_000, false), "the window is over");
    assert!(!does(usual(), &["talk on", "talk off"], "src=mic", 0, false));
    assert!(does(usual(), &["talk on"], "src=mic ago=1500", 5_000, false), "said in the window, recognised later");
    assert!(!does(usual(), &["talk on"], "src=mic ago=900", 5_000, false), "said after the window");
    assert!(!does(usual(), &["talk on"], "src=mic ago=20000", 16_000, false), "said before the window");
    assert!(!does(usual(), &["talk on"], "src=mic ago=12000", 12_500, false), "said in the window, but long ago");
    assert!(!does(usual(), &["talk on", "talk off"], "src=mic ago=100", 2_000, false), "said after it was closed");
    assert!(!does(usual(), &["talk on"], "src=mic", 100, true), "it would hear the program");
    assert!(does(Settings { headset: true, ..usual() }, &["talk on"], "src=mic", 100, true), "a headset does not");
    assert!(does(Settings { open_microphone: true, ..usual() }, &[], "src=mic", 0, false));
    assert!(does(usual(), &[], "", 0, true), "a line that is no microphone's is heeded always");
    assert!(does(usual(), &[], "src=pedal", 0, true));
    assert!(!does(usual(), &[], "conf=0.49", 0, false), "not sure enough");
    assert!(does(usual(), &[], "conf=0.50", 0, false));
    assert!(!does(Settings { confidence_at_least: 80, ..usual() }, &[], "conf=0.79", 0, false));
    assert!(!does(usual(), &["src=mic talk on"], "src=mic", 100, false), "a microphone does not open itself");
}

#[test]
fn the_window_is_asked_for_and_closed_again() {
    let mut room = at_act(with_lines());
    let talks = |room: &Room<Model>| -> Vec<bool> {
        let talk = |happened: &Happened| if let Happened::Talk(is_on, _) = happened { Some(*is_on) } else { None };
        room.log.iter().filter_map(talk).collect()
    };
    room.line("talk on");
    assert!(room.screen(80, 24).contains("LISTENING"));
    room.wait(5_000);
    assert_eq!(talks(&room), [true, false]);
    assert!(room.screen(80, 24).contains("MICROPHONE OFF"));
    room.line("talk on").line("talk off").line("talk off");
    assert_eq!(talks(&room), [true, false, true, false]);
    room.key(KeyCode::Char('t'));
    assert_eq!(talks(&room).last(), Some(&true));
}

#[test]
fn a_moment_marked_by_voice_is_called_so_on_the_record() {
    for (tag, when) in [("ago=700 ", "the moment its sound began"), ("", "the moment the line came")] {
        let mut room = Room::where_("air-volumetric", System::InchPound, with_lines(), |stand| {
            let offer = stand.run.offer(stand.now);
            offer.act == Act::Begin && matches!(offer.step, Some((_, step)) if matches!(step.wants, Wants::Hold { .. }))
        });
        room.wait(5_000);
        let from = room.log.len();
        room.line(&format!("{tag}{}", phrases::BEGIN));
        let spoken = room.now;
        let kept = room.kept_since(from);
        let [Event::Begin { .. }, Event::Remark { text }] = kept.as_slice() else { panic!("{kept:?}") };
        assert!(text.contains(when), "{text}");
        let at = room.log[from..].iter().find_map(|happened| match happened {
            Happened::Kept(Event::Begin { .. }, at) => Some(at.tick),
            _ => None,
        });
        assert_eq!(at, Some(if tag.is_empty() { spoken } else { Tick(spoken.0 - 700) }));
        // The same by a pedal needs no remark.
        let (_, kept) = brings(&mut room, phrases::UNDO);
        assert_eq!(kept, [Event::Undo]);
    }
}

#[test]
fn a_turn_marked_by_voice_anew_after_it_was_taken_back_has_its_remark_anew() {
    let mut room = Room::where_("air-volumetric", System::InchPound, with_lines(), |stand| {
        let offer = stand.run.offer(stand.now);
        let turns = |wants: &Wants| matches!(wants, Wants::Hold { turns: Some(_), .. });
        offer.act == Act::Begin && offer.step.is_some_and(|(_, step)| turns(&step.wants))
    });
    room.line(phrases::BEGIN);
    for n in 0..2 {
        room.wait(5_000);
        room.line(phrases::TURN);
        let marks = room.run().remarks().iter().filter(|remark| remark.text.starts_with("The turn")).count();
        assert_eq!(marks, 1, "time {n}: {:?}", room.run().remarks());
        room.line(phrases::UNDO);
        assert!(matches!(room.run().offer(room.now).act, Act::Turn { .. }));
    }
}

#[test]
fn what_is_marked_by_voice_anew_after_it_was_taken_back_has_its_remark_anew() {
    let mut room = Room::where_("air-volumetric", System::InchPound, with_lines(), |stand| {
        let offer = stand.run.offer(stand.now);
        offer.act == Act::Begin && matches!(offer.step, Some((_, step)) if matches!(step.wants, Wants::Hold { .. }))
    });
    for n in 0..2 {
        room.wait(3_000);
        room.line(phrases::BEGIN);
        let marks = room.run().remarks().iter().filter(|remark| remark.text.contains("spoken line")).count();
        assert!(marks > 0, "time {n}: {:?}", room.run().remarks());
        for _ in 0..3 {
            if room.run().offer(room.now).standing.begun.is_some() {
                room.line(phrases::UNDO);
            }
        }
        assert!(room.run().offer(room.now).standing.begun.is_none());
    }
}

#[test]
fn a_microphone_is_open_to_no_number_while_one_is_read_back() {
    let mut room = at_number();
    room.line("two and a half");
    let list = room.published().unwrap().list.clone();
    assert_eq!(list, format!("{}\n{}\n{}\n", phrases::CONFIRM, phrases::DENY, phrases::AGAIN));
    room.line("talk on");
    room.line("src=mic one and a half");
    let (_, kept) = brings(&mut room, phrases::CONFIRM);
    let first = Entry::Number("2.5".parse().unwrap());
    assert!(matches!(kept.as_slice(), [Event::Answer { entry, .. }] if *entry == first), "{kept:?}");
}
