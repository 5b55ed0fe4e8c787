//! What is said: the spoken form of a step, of a time, of a result.
//!
//! Here: from the run to words a voice can say. Not here: when they are said.
//!
//! **Invariant:** whatever is said here also stands on the screen, and no digit and no symbol is left in it.

use engine::{Act, ClockOf, Entry, Offer, Outcome, Phase, Run, Standing, Tick, TimeCue, TimeSays};
use procedure::{Reading, ReadingId, ReadingKind, Step, StepId, Text, Wants};
use quantity::Span;
use voice::say::{self, sentence};

/// About as much as is spoken in two seconds, in characters: five or six words at 165 a minute.
const SHORT: usize = 44;
/// More results than these nobody keeps in mind.
const RESULTS_SAID: usize = 3;

/// What is said when the open step is reached, or the run has ended or has its result: the whole and a short form of at
/// most some two seconds.
///
/// The whole is the title of a stage that begins, the caution where it is given for the first time, the step in its
/// spoken form, and what it waits for: the question, how many, how long.
pub fn prompt(run: &Run, now: Tick) -> Option<(String, String)> {
    match run.phase() {
        Phase::AtStep => {
            let offer = run.offer(now);
            let (id, step) = offer.step?;
            Some(of_step(run, &offer, id, step, now))
        }
        Phase::Ended => Some((ended(run)?, "The attempt has ended.".to_owned())),
        Phase::Finished => {
            let short = run.results().first().map(of_outcome).filter(|said| said.chars().count() <= SHORT + 20);
            Some((result(run), short.unwrap_or_else(|| "There is a result.".to_owned())))
        }
        Phase::Closed { .. } => None,
    }
}

fn of_step(run: &Run, offer: &Offer<'_>, id: StepId, step: &Step, now: Tick) -> (String, String) {
    let order = sentence(&run.say(step.say.as_ref().unwrap_or(&step.instruction)));
    let is_fresh = is_fresh(&offer.standing, offer, run);
    let mut whole = Vec::new();
    if is_fresh {
        whole.extend(stage(run, id, offer.round));
        whole.extend(caution(run, id, step));
    }
    let short;
    match (&offer.act, &step.wants) {
        (Act::Answer(reading), wants) => {
            let question = question(run, *reading);
            // Of readings at intervals only the first is told with all that belongs to it.
            let is_order_new = matches!(wants, Wants::Read(_)) || is_fresh;
            if is_order_new && !repeats(&order, &question) {
                whole.push(order);
            }
            short = shortened(&question);
            whole.push(question);
        }
        (Act::Turn { to_down }, Wants::Hold { turns: Some(turns), .. }) => {
            let to = if *to_down { &turns.down } else { &turns.up };
            short = sentence(&format!("Turn it {to}"));
            whole.push(short.clone());
        }
        (Act::Wait { until }, wants) => {
            let left = say::span(whole_seconds(until.since(now)));
            let what = if matches!(wants, Wants::Settle(_)) { "Next reading in" } else { "Wait" };
            short = format!("{what} {left}");
            whole.push(short.clone());
        }
        (Act::GiveUp(ending), _) => {
            short = "The time to settle is over".to_owned();
            whole.push(short.clone());
            whole.push(sentence(&run.say(&ending.because)));
        }
        (Act::Confirm, Wants::Count { of, at_least, at_most, .. }) => {
            let many = count(*at_least, *at_most, of);
            short = if order.chars().count() <= SHORT { order.clone() } else { many.clone() };
            let is_told = has_words(&order, &number_words(*at_least, *at_most));
            whole.push(order);
            whole.extend((!is_told).then_some(many));
        }
        (Act::Begin, Wants::Hold { at_least, .. }) => {
            let least = say::span(*at_least);
            short = shortened(&order);
            let is_told = has_words(&order, &least);
            whole.push(order);
            whole.extend((!is_told).then(|| format!("At least {least}")));
        }
        (Act::Confirm, Wants::Hold { .. }) => {
            short = "Long enough".to_owned();
            whole.push(short.clone());
        }
        (Act::Confirm, Wants::Timed { .. }) => {
            short = "Press when it is over".to_owned();
            whole.push(short.clone());
        }
        _ => {
            short = shortened(&order);
            whole.push(order);
        }
    }
    (joined(&whole), joined(&[short]))
}

/// Whether nothing has been begun, counted or read in the open step.
fn is_fresh(standing: &Standing, offer: &Offer<'_>, run: &Run) -> bool {
    let has_read = run.taken().last().is_some_and(|taken| {
        offer.step.is_some_and(|(id, _)| taken.step == id) && taken.at.tick >= standing.opened.tick
    });
    standing.begun.is_none() && standing.count.is_none() && !standing.in_set && !has_read
}

/// The title of a stage that begins with this step.
fn stage(run: &Run, id: StepId, round: u16) -> Option<String> {
    let stage = run.edition().stage_of(id);
    (stage.first == id && round <= 1).then(|| sentence(&stage.title))
}

/// The caution of a step, unless the same was given before.
fn caution(run: &Run, id: StepId, step: &Step) -> Option<String> {
    let caution = step.caution.as_ref()?;
    let steps = &run.edition().steps;
    let is_given = |passed: StepId| {
        passed == id || steps.get(passed.0 as usize).is_some_and(|passed| passed.caution.as_ref() == Some(caution))
    };
    let given = run.passed().iter().any(|passed| is_given(passed.step));
    (!given).then(|| sentence(&run.say(caution)))
}

/// A question as it is spoken.
pub fn question(run: &Run, reading: ReadingId) -> String {
    let reading = run.edition().reading(reading);
    sentence(&run.say(asked(reading)))
}

fn asked(reading: &Reading) -> &Text {
    reading.say.as_ref().unwrap_or(&reading.ask)
}

/// The answers of a choice as they are spoken, in order; none for what is no choice.
pub fn answers(run: &Run, reading: ReadingId) -> Vec<String> {
    match &run.edition().reading(reading).kind {
        ReadingKind::Choice(choices) => choices.iter().map(|choice| sentence(&choice.label)).collect(),
        _ => Vec::new(),
    }
}

/// An entry as it is read back: a number so that it survives noise, an answer by its label, words as they are.
pub fn read_back(run: &Run, reading: ReadingId, entry: &Entry) -> String {
    say::reading(&run.show(reading, entry), run.edition().reading(reading).unit())
}

/// A refusal, or anything else the screen says in a sentence.
pub fn refusal(text: &str) -> String {
    sentence(text)
}

/// That the attempt has ended without a result: why, and how the next one is begun.
pub fn ended(run: &Run) -> Option<String> {
    let end = run.endings().last()?;
    let mut said = vec!["The attempt has ended".to_owned(), sentence(&end.because)];
    let again = end.again.and_then(|again| run.edition().agains.get(again.0 as usize));
    said.extend(again.map(|again| sentence(&run.say(&again.say))));
    Some(joined(&said))
}

/// The results as they are reported: `Air content, five point seven five percent.` Of many the first three; the rest is
/// read.
pub fn result(run: &Run) -> String {
    let results = run.results();
    let mut said: Vec<String> = results.iter().take(RESULTS_SAID).map(of_outcome).collect();
    match results.len().saturating_sub(RESULTS_SAID) {
        0 => {}
        more => said.push(format!("{} more on the screen.", capital(&say::whole(more as u64)))),
    }
    if said.is_empty() { "The test is done.".to_owned() } else { said.join(" ") }
}

fn of_outcome(outcome: &Outcome<'_>) -> String {
    let value = say::reading(&outcome.reported.to_string(), outcome.reported.unit);
    joined(&[format!("{}, {value}", sentence(outcome.title))])
}

/// What is said of a time. A tick has no words: its sound is all there is to it.
pub fn of_time(run: &Run, cue: &TimeCue) -> String {
    let step = run.edition().steps.get(run.offer(cue.at).step.map_or(usize::MAX, |(id, _)| id.0 as usize));
    let wants = step.map(|step| &step.wants);
    match cue.what {
        TimeSays::Tick(_) => String::new(),
        TimeSays::Countdown(n) => say::whole(n.into()),
        TimeSays::Halfway(left) => format!("halfway, {} left", say::span(whole_seconds(left))),
        TimeSays::Left(left) => {
            let left = say::span(left);
            match cue.of {
                ClockOf::Hold | ClockOf::NextReading | ClockOf::Down | ClockOf::Prompt => left,
                ClockOf::HoldMost => format!("at most {left} more"),
                ClockOf::GiveUp => format!("{left} left to settle"),
                ClockOf::Limit(n) => format!("{}, {left} left", limit(run, n)),
            }
        }
        TimeSays::Now => match (cue.of, wants) {
            (ClockOf::Hold, _) => "long enough".to_owned(),
            (ClockOf::HoldMost, _) => "longer than allowed".to_owned(),
            (ClockOf::Down, Some(Wants::Hold { turns: Some(turns), .. })) => sentence(&format!("turn it {}", turns.up)),
            (ClockOf::Down, _) => "turn it".to_owned(),
            (ClockOf::NextReading, _) => "read now".to_owned(),
            (ClockOf::GiveUp, _) => "the time to settle is over".to_owned(),
            (ClockOf::Prompt, _) => {
                let cue = step.and_then(|step| step.every.as_ref()).map(|every| sentence(&run.say(&every.cue)));
                cue.unwrap_or_default()
            }
            (ClockOf::Limit(n), _) => format!("{}, over", limit(run, n)),
        },
    }
}

/// What a limit across steps is called when it is spoken.
fn limit(run: &Run, n: u16) -> String {
    let limit = run.edition().limits.get(n as usize);
    limit.map_or_else(String::new, |limit| sentence(&run.say(limit.say.as_ref().unwrap_or(&limit.title))))
}

/// Whether a step may lead on by itself once its wait is over.
pub fn goes_on(step: &Step) -> bool {
    matches!(step.wants, Wants::Hold { goes_on: true, .. })
}

// ---------------------------------------------------------------------------------------------- words

/// Time left, in seconds that are not over yet.
fn whole_seconds(left: Span) -> Span {
    Span::from_secs(left.0.div_ceil(1_000))
}

/// `twenty-five strokes`, `ten to fifteen taps`.
fn count(at_least: u32, at_most: u32, of: &str) -> String {
    sentence(&format!("{} {of}", range(at_least, at_most)))
}

fn number_words(at_least: u32, at_most: u32) -> String {
    sentence(&range(at_least, at_most))
}

fn range(at_least: u32, at_most: u32) -> String {
    if at_least == at_most { at_least.to_string() } else { format!("{at_least} to {at_most}") }
}

fn bare(text: &str) -> String {
    let words = text.split(|sign: char| !sign.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(str::to_lowercase).collect::<Vec<String>>().join(" ")
}

/// Whether these words stand in a text, in this order and as whole words.
fn has_words(text: &str, words: &str) -> bool {
    format!(" {} ", bare(text)).contains(&format!(" {} ", bare(words)))
}

/// Whether an order says nothing that its question does not say.
fn repeats(order: &str, question: &str) -> bool {
    has_words(question, order) || has_words(order, question)
}

/// A text short enough, or as much of its beginning as is said in one breath.
fn shortened(text: &str) -> String {
    if text.chars().count() <= SHORT {
        return text.to_owned();
    }
    let first = text.split([',', '.', '?', '!']).next().unwrap_or_default().trim();
    if !first.is_empty() && first.chars().count() <= SHORT {
        return first.to_owned();
    }
    let mut cut = String::new();
    for word in text.split(' ') {
        if cut.chars().count() + word.chars().count() >= SHORT {
            break;
        }
        if !cut.is_empty() {
            cut.push(' ');
        }
        cut.push_str(word);
    }
    cut.trim_end_matches(',').to_owned()
}

/// Sentences one after another, each with its mark.
fn joined(sentences: &[String]) -> String {
    let mut said = String::new();
    for sentence in sentences.iter().map(|sentence| sentence.trim()).filter(|sentence| !sentence.is_empty()) {
        if !said.is_empty() {
            said.push(' ');
        }
        said.push_str(&capital(sentence));
        if !said.ends_with(['.', '?', '!']) {
            said.push('.');
        }
    }
    said
}

fn capital(text: &str) -> String {
    let mut signs = text.chars();
    signs.next().map_or_else(String::new, |first| first.to_uppercase().chain(signs).collect())
}
