//! What can be done now, as a list.
//!
//! Here: for each moment the things that can be chosen, each with its name on the screen, its spoken name and its phrases.
//! Three clicker keys, one switch and lines all choose from this list. Not here: what choosing does.
//!
//! **Invariant:** the first of the list is the next right thing, and what ends a test stands behind two questions that are
//! answered differently.

use engine::{Act, Phase, Tick};
use procedure::{Choice as Answer, ReadingKind, Wants};
use quantity::{Decimal, Scale};

use super::dial::{Dial, Piece};
use super::phrases;
use crate::screen::entry::Entry;
use crate::screen::model::Model;
use crate::screen::update::{WrongLine, wrong_lines};
use crate::screen::view::next_words;

/// Something that can be chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pick {
    /// The next right thing.
    Next,
    /// The last act is taken back.
    Undo,
    /// The act taken back happens after all.
    Redo,
    /// What was said last is said again.
    Again,
    /// The other things.
    More,
    /// Back to the first list; nothing happens.
    Back,
    /// A piece of a number.
    Piece(Piece),
    /// What was given of the number is forgotten.
    ClearDial,
    /// An answer, by its place.
    Answer(usize),
    /// Words used before.
    Used(String),
    /// To the letters.
    Letters,
    /// A group of letters.
    Group(usize),
    /// A letter, or a space.
    Letter(char),
    /// The last letter is taken back.
    Erase,
    /// The words are complete.
    Written,
    /// What was read back is right.
    Take,
    /// What was read back is wrong.
    Deny,
    /// One more on the tally.
    Add,
    /// Strokes are counted aloud.
    Count,
    /// Slower.
    Slower,
    /// Not any more.
    Silence,
    /// How long there is.
    TimeLeft,
    /// What is due next on the bench.
    Due,
    /// A run of the bench.
    Run(usize),
    /// The list of what can have gone wrong.
    WrongList,
    /// One of it.
    Wrong(usize),
    /// To go on against a refusal.
    Anyway,
    /// A reason, by its place among those that are offered.
    Reason(usize),
    /// The list of readings that can be corrected.
    CorrectList,
    /// One of them.
    Correct(usize),
    /// The first confirmation.
    End,
    /// The second.
    EndForSure,
    /// The far view, on or off.
    Far,
}

/// A line of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// What it does.
    pub pick: Pick,
    /// Its name on the screen.
    pub label: String,
    /// Its phrases; none if it cannot be said.
    pub phrases: Vec<String>,
}

impl Choice {
    fn new(pick: Pick, label: impl Into<String>, phrase: &str) -> Self {
        let phrases = if phrase.is_empty() { Vec::new() } else { vec![phrase.to_owned()] };
        Self { pick, label: label.into(), phrases }
    }

    fn with(pick: Pick, label: impl Into<String>, phrases: Vec<String>) -> Self {
        Self { pick, label: label.into(), phrases }
    }
}

/// What is ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ending {
    /// Something that went wrong, by its place in the list.
    Wrong(usize),
    /// The attempt, as the rule of the step says.
    GiveUp,
    /// The run, which has its result or can have none.
    Close,
}

/// What a reason is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Because {
    /// The attempt is given up.
    Discard(usize),
    /// The procedure is overruled.
    Anyway,
    /// A reading is corrected: which, and what it should have been, as it is typed.
    Correct(usize, String),
}

/// Which list is open.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Level {
    /// The first.
    #[default]
    Main,
    /// The other things.
    More,
    /// Letters.
    Letters,
    /// One group of them.
    Group(usize),
    /// What can have gone wrong.
    Wrong,
    /// Reasons that are used often.
    Reasons(Because),
    /// Before an end.
    End(Ending),
    /// Once more, and differently.
    EndForSure(Ending),
    /// Readings that can be corrected.
    Correct,
    /// The right value of one of them.
    CorrectTo(usize),
}

/// Reasons that are used often, for those who cannot type.
pub const REASONS: [&str; 5] = [
    "Directed by the engineer on site",
    "Apparatus or concrete at hand allows nothing else",
    "Entered by mistake",
    "Misheard or misread",
    "See the remarks of the technician, to be added",
];

/// Groups of letters, for those who cannot type.
pub const GROUPS: [&str; 6] = ["ABCDEF", "GHIJKL", "MNOPQR", "STUVWX", "YZ.-/", "0123456789"];

/// What is asked to be given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// A mark of an instrument.
    Number(Scale, Option<Decimal>),
    /// One of several answers.
    Answer(Vec<Answer>),
    /// Words, with those used before.
    Words(Vec<String>),
    /// How many strokes, if not as many as are asked.
    Count,
    /// Nothing: an act.
    Nothing,
}

/// What the run in focus asks to be given at `now`.
pub fn wanted(model: &Model, now: Tick) -> Wanted {
    match (model.reading_asked(now), &model.entry) {
        (Some((_, reading, _)), _) => of_kind(model, reading),
        (None, Entry::Count(_)) => Wanted::Count,
        (None, _) => Wanted::Nothing,
    }
}

/// What a reading takes.
pub fn of_kind(model: &Model, reading: procedure::ReadingId) -> Wanted {
    let spec = model.run.edition().reading(reading);
    match &spec.kind {
        ReadingKind::Number(scale) => {
            let last = match model.run.latest(reading).map(|taken| &taken.entry) {
                Some(engine::Entry::Number(value)) => Some(*value),
                _ => None,
            };
            let usual = last.or_else(|| spec.typical.map(|(low, high)| (low + high) / Decimal::TWO));
            Wanted::Number(scale.clone(), usual)
        }
        ReadingKind::Choice(answers) => Wanted::Answer(answers.clone()),
        ReadingKind::Words => Wanted::Words(model.used_words(reading).to_vec()),
        ReadingKind::Tally { .. } => Wanted::Nothing,
    }
}

/// What the list is made from, beside the run.
#[derive(Debug)]
pub struct Around<'a> {
    /// Which list is open.
    pub level: &'a Level,
    /// The number that is being given.
    pub dial: Option<&'a Dial>,
    /// The words that are being given letter by letter.
    pub letters: &'a str,
    /// What was read back, if a question is open.
    pub asked: Option<&'a str>,
    /// The runs of the bench, the one in focus among them; a run alone has one.
    pub runs: &'a [(&'a str, bool)],
    /// Whether strokes are being counted aloud.
    pub is_counting: bool,
}

/// Whether the next right thing ends a test.
pub fn ends(model: &Model, now: Tick) -> Option<Ending> {
    match model.run.offer(now).act {
        Act::GiveUp(_) if !model.entry.is_begun() => Some(Ending::GiveUp),
        Act::Close => Some(Ending::Close),
        _ => None,
    }
}

/// The list at `now`.
pub fn choices(model: &Model, around: &Around<'_>, now: Tick) -> Vec<Choice> {
    if let Some(asked) = around.asked {
        return vec![
            Choice::new(Pick::Take, format!("take {asked}"), phrases::CONFIRM),
            Choice::new(Pick::Deny, "not that", phrases::DENY),
            Choice::new(Pick::Again, "say again", phrases::AGAIN),
        ];
    }
    let back = || Choice::new(Pick::Back, "back to the step", phrases::LEAVE_IT);
    match around.level {
        Level::Main => main(model, around, now),
        Level::More => more(model, around, now).into_iter().chain([back()]).collect(),
        Level::Letters => {
            let group = |(n, letters): (usize, &&str)| Choice::new(Pick::Group(n), spread(letters), "");
            let mut list: Vec<Choice> = Vec::new();
            if !around.letters.trim().is_empty() {
                list.push(Choice::new(Pick::Written, format!("take “{}”", around.letters), ""));
            }
            list.extend(GROUPS.iter().enumerate().map(group));
            list.push(Choice::new(Pick::Letter(' '), "space", ""));
            list.push(Choice::new(Pick::Erase, "erase one", ""));
            list.push(back());
            list
        }
        Level::Group(n) => {
            let letters = GROUPS.get(*n).copied().unwrap_or("");
            let letter = |letter: char| Choice::new(Pick::Letter(letter), letter.to_string(), "");
            letters.chars().map(letter).chain([Choice::new(Pick::Letters, "other letters", "")]).collect()
        }
        Level::Wrong => {
            let lines = wrong_lines(model);
            let line = |(n, line): (usize, &WrongLine)| {
                Choice::new(Pick::Wrong(n), wrong_words(model, *line), &phrases::numbered("reason", n))
            };
            lines.iter().enumerate().map(line).chain([back()]).collect()
        }
        Level::Reasons(_) => {
            let reason = |(n, text): (usize, &&str)| {
                Choice::new(Pick::Reason(n), (*text).to_owned(), &phrases::numbered("reason", n))
            };
            REASONS.iter().enumerate().map(reason).chain([back()]).collect()
        }
        // What changes nothing stands first, so that a press too many ends nothing.
        Level::End(ending) => vec![
            back(),
            Choice::new(Pick::End, format!("{}?", ending_words(model, ending)), phrases::END),
            Choice::new(Pick::Again, "say again", phrases::AGAIN),
        ],
        Level::EndForSure(ending) => vec![
            back(),
            Choice::new(Pick::Again, "say again", phrases::AGAIN),
            Choice::new(Pick::EndForSure, format!("yes: {}", ending_words(model, ending)), phrases::END_FOR_SURE),
        ],
        Level::Correct => {
            let line = |(n, taken): (usize, &engine::Taken)| {
                let text = model.run.show(taken.reading, &taken.entry);
                Choice::new(Pick::Correct(n), text, &phrases::numbered("reading", n))
            };
            model.correctable().take(9).enumerate().map(line).chain([back()]).collect()
        }
        Level::CorrectTo(n) => {
            let wanted = model.correctable().nth(*n).map_or(Wanted::Nothing, |taken| of_kind(model, taken.reading));
            given(&wanted, around).into_iter().chain([back()]).collect()
        }
    }
}

/// What an end is called.
pub fn ending_words(model: &Model, ending: &Ending) -> String {
    match ending {
        Ending::Wrong(n) => match wrong_lines(model).get(*n) {
            Some(WrongLine::Incident(_)) => {
                format!("end this attempt: {}", wrong_words(model, wrong_lines(model)[*n]))
            }
            Some(WrongLine::Close) => "close the run without a result".to_owned(),
            Some(WrongLine::Other) | None => "end this attempt".to_owned(),
        },
        Ending::GiveUp => "end this attempt".to_owned(),
        Ending::Close => "close the run".to_owned(),
    }
}

fn wrong_words(model: &Model, line: WrongLine) -> String {
    match line {
        WrongLine::Incident(n) => {
            let incident = model.run.edition().incidents.get(n as usize);
            incident.map_or_else(String::new, |incident| {
                crate::screen::face::said(&model.run, &incident.title).into_owned()
            })
        }
        WrongLine::Other => "another reason".to_owned(),
        WrongLine::Close => "close the run without a result".to_owned(),
    }
}

/// A group of letters in a few words: the first and the last of them.
fn spread(letters: &str) -> String {
    match (letters.chars().next(), letters.chars().last()) {
        (Some(first), Some(last)) if last.is_alphanumeric() => format!("{first} to {last}"),
        _ => "Y, Z and signs".to_owned(),
    }
}

fn main(model: &Model, around: &Around<'_>, now: Tick) -> Vec<Choice> {
    let offer = model.run.offer(now);
    let mut list = Vec::new();
    let wanted = wanted(model, now);
    let is_typed = model.entry.is_begun();
    let is_waiting = matches!(offer.act, Act::Wait { .. });
    if is_typed || matches!(wanted, Wanted::Nothing | Wanted::Count) {
        list.push(next(model, now));
    } else if let Some(ending) = ends(model, now) {
        list.push(Choice::new(Pick::Next, ending_words(model, &ending), phrases::DONE));
    } else if !is_waiting {
        list.extend(given(&wanted, around));
    }
    if matches!(wanted, Wanted::Count) {
        if around.is_counting {
            list.push(Choice::new(Pick::Silence, "stop counting", phrases::SILENCE));
            list.push(Choice::new(Pick::Slower, "count slower", phrases::SLOWER));
        } else {
            list.push(Choice::new(Pick::Count, "count them aloud", phrases::COUNT));
        }
    }
    let adds = offer.phase == Phase::AtStep && offer.step.is_some_and(|(_, step)| step.add.is_some());
    if adds {
        list.push(Choice::new(Pick::Add, "add one", phrases::ADD));
    }
    if around.runs.len() > 1 {
        list.push(Choice::new(Pick::Due, "what is due next", phrases::NEXT_TEST));
    }
    list.push(Choice::new(Pick::Again, "say again", phrases::AGAIN));
    if model.run.can_undo() {
        list.push(Choice::new(Pick::Undo, "take the last act back", phrases::UNDO));
    }
    list.push(Choice::new(Pick::More, "more", phrases::MORE));
    list
}

/// The ways to give what is wanted.
fn given(wanted: &Wanted, around: &Around<'_>) -> Vec<Choice> {
    match wanted {
        Wanted::Number(..) => {
            let Some(dial) = around.dial else { return Vec::new() };
            let piece = |piece: Piece| Choice::new(Pick::Piece(piece.clone()), dial.label(&piece), "");
            let mut list: Vec<Choice> = dial.pieces().into_iter().map(piece).collect();
            let mut fresh = dial.clone();
            if fresh.clear() {
                list.push(Choice::new(Pick::ClearDial, "begin the number anew", ""));
            }
            list
        }
        Wanted::Answer(answers) => answers
            .iter()
            .enumerate()
            .map(|(n, answer)| {
                let words = hearing::words::alike(&voice::say::sentence(&answer.label));
                let mut phrases = vec![phrases::numbered("answer", n)];
                // A single short word is too easily heard in chatter.
                if words.contains(' ') && words.split(' ').count() <= 8 {
                    phrases.insert(0, words);
                }
                Choice::with(Pick::Answer(n), answer.label.clone(), phrases)
            })
            .collect(),
        Wanted::Words(used) => {
            let word = |(n, words): (usize, &String)| {
                Choice::new(Pick::Used(words.clone()), words.clone(), &phrases::numbered("entry", n))
            };
            let mut list: Vec<Choice> = used.iter().take(9).enumerate().map(word).collect();
            list.push(Choice::new(Pick::Letters, "letter by letter", ""));
            list
        }
        Wanted::Count | Wanted::Nothing => Vec::new(),
    }
}

fn next(model: &Model, now: Tick) -> Choice {
    let offer = model.run.offer(now);
    let phrase = match (&offer.act, offer.step.map(|(_, step)| &step.wants)) {
        (Act::Begin, _) => phrases::BEGIN,
        (Act::Turn { .. }, _) => phrases::TURN,
        (Act::Confirm, Some(Wants::Timed { .. })) => phrases::STOP,
        (Act::Again, _) => phrases::ANOTHER,
        _ => phrases::DONE,
    };
    Choice::new(Pick::Next, next_words(model, now), phrase)
}

fn more(model: &Model, around: &Around<'_>, now: Tick) -> Vec<Choice> {
    let time = vec![phrases::TIME.to_owned(), phrases::TIME_TOO.to_owned()];
    let mut list = vec![Choice::with(Pick::TimeLeft, "time left", time)];
    if model.run.can_redo() {
        list.push(Choice::new(Pick::Redo, "put back what was taken back", phrases::REDO));
    }
    if model.overrulable(now).is_some() {
        list.push(Choice::new(Pick::Anyway, "go on against the refusal", phrases::ANYWAY));
    }
    if around.runs.len() > 1 {
        for (n, (name, is_focus)) in around.runs.iter().enumerate() {
            if !is_focus {
                let phrase = phrases::numbered("test", n);
                list.push(Choice::with(Pick::Run(n), format!("go to {name}"), vec![phrase]));
            }
        }
    }
    if matches!(model.run.phase(), Phase::AtStep | Phase::Ended) {
        list.push(Choice::new(Pick::WrongList, "something went wrong", phrases::WRONG));
    }
    if model.correctable().next().is_some() {
        list.push(Choice::new(Pick::CorrectList, "correct a reading", phrases::CORRECT));
    }
    list.push(Choice::new(Pick::Far, "far view", phrases::FAR));
    list
}
