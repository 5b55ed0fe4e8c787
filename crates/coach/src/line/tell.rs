//! Cues computed from a run: what is open, what is asked, what runs, what came of an act.
//!
//! Pure: a run and a moment in, cues out.

use engine::{Act, Clock, ClockOf, Event, Finding, FindingKind, Phase, Run, Side, Status, Tick};
use procedure::{EndingKind, ReadingId, ReadingKind, Step, StepId, Wants};
use quantity::{Exact, Span, Ties, Unit};

use super::Cue;

/// The open step in full: stage if asked, sentence, caution, slip, and what it wants.
pub(super) fn step(run: &Run, now: Tick, with_stage: bool) -> Vec<Cue> {
    let mut cues = Vec::new();
    let Some((id, step)) = open_step(run) else { return standing(run, now) };
    if with_stage {
        cues.push(stage(run, id));
    }
    cues.push(Cue::new("STEP", format!("{} {}", step.id, run.say(&step.instruction))));
    cues.extend(step.caution.as_ref().map(|text| Cue::new("CAUTION", run.say(text))));
    cues.extend(step.slip.as_ref().map(|text| Cue::new("SLIP", run.say(text))));
    cues.extend(wanted(run, now));
    cues
}

fn stage(run: &Run, id: StepId) -> Cue {
    let stage = run.edition().stage_of(id);
    let round = match stage.repeat {
        Some(_) => format!(", round {}", run.offer(Tick(0)).round),
        None => String::new(),
    };
    Cue::new("STAGE", format!("{} {}{round}", stage.id, stage.title))
}

/// The open step, if one is open.
pub(super) fn open_step(run: &Run) -> Option<(StepId, &Step)> {
    if run.phase() != Phase::AtStep {
        return None;
    }
    // Which step is open does not depend on the moment.
    run.offer(run.last().tick).step
}

/// Where a run without an open step stands.
fn standing(run: &Run, now: Tick) -> Vec<Cue> {
    let mut cues = Vec::new();
    match run.phase() {
        Phase::AtStep => {}
        Phase::Ended => {
            cues.extend(run.endings().last().map(|ended| ended_cue(run, ended)));
            let again = run.endings().last().and_then(|ended| ended.again);
            let again = again.and_then(|again| run.edition().agains.get(again.0 as usize));
            cues.extend(again.map(|again| Cue::new("AGAIN", run.say(&again.say))));
        }
        Phase::Finished | Phase::Closed { with_result: true } => cues.extend(results(run)),
        Phase::Closed { with_result: false } => {}
    }
    if matches!(run.phase(), Phase::Closed { .. }) {
        cues.push(Cue::new("CLOSED", "Nothing more will be done on this run."));
    } else {
        cues.extend(press(run, now));
    }
    cues
}

fn ended_cue(run: &Run, ended: &engine::Ended) -> Cue {
    let kind = match ended.kind {
        EndingKind::Discard => "discard",
        EndingKind::Void => "void",
    };
    let step = &run.edition().step(ended.step).id;
    Cue::new("ENDED", format!("{kind} attempt {} at {step}: {}", ended.attempt, sentence(&ended.because)))
}

/// What the open step wants now: a count, a reading, a press.
pub(super) fn wanted(run: &Run, now: Tick) -> Vec<Cue> {
    let mut cues = Vec::new();
    let offer = run.offer(now);
    let Some((_, step)) = open_step(run) else { return cues };
    if let Wants::Count { of, at_least, at_most, pace } = &step.wants {
        let asked = if at_least == at_most { at_least.to_string() } else { format!("{at_least} to {at_most}") };
        let pace = pace.map_or_else(String::new, |pace| format!(", one each {pace}"));
        cues.push(Cue::new("COUNT", format!("{} {asked} {of}{pace}", step.id)));
    }
    if let Act::Answer(reading) = offer.act {
        cues.push(ask(run, reading));
        if let Some(add) = step.add.as_ref().filter(|_| !offer.standing.in_set) {
            cues.push(Cue::new("ADD", format!("{} {}", run.edition().reading(add.reading).id, run.say(&add.ask))));
        }
    }
    cues.extend(press(run, now));
    cues
}

/// What the big key would do.
pub(super) fn press(run: &Run, now: Tick) -> Option<Cue> {
    let offer = run.offer(now);
    let down_up = match offer.step.map(|(_, step)| &step.wants) {
        Some(Wants::Hold { turns: Some(turns), .. }) => Some((turns.down.clone(), turns.up.clone())),
        _ => None,
    };
    let text = match (&offer.act, down_up) {
        (Act::Confirm, _) => "next: it is done".to_owned(),
        (Act::Begin, Some((down, _))) => format!("next: it begins, {down}"),
        (Act::Begin, None) => "next: it begins".to_owned(),
        (Act::Turn { to_down: true }, Some((down, _))) => format!("next: it is {down}"),
        (Act::Turn { to_down: false }, Some((_, up))) => format!("next: it is {up}"),
        (Act::Turn { .. }, None) => "next: it was turned".to_owned(),
        (Act::Wait { until }, _) => format!("wait: {} left", until.since(now).clock_up()),
        (Act::GiveUp(ending), _) => {
            format!("next: the attempt ends here. {}", sentence(&run.say(&ending.because)))
        }
        (Act::Again, _) => "again: begin the next attempt; close: close the run".to_owned(),
        (Act::Close, _) => "next: close the run".to_owned(),
        (Act::Answer(_) | Act::Nothing, _) => return None,
    };
    Some(Cue::new("PRESS", text))
}

/// A question with what may be answered.
pub(super) fn ask(run: &Run, id: ReadingId) -> Cue {
    let reading = run.edition().reading(id);
    let may = match &reading.kind {
        ReadingKind::Number(scale) => {
            let number = |value: &quantity::Decimal| Exact::from(*value).show(scale.places());
            format!("[{} to {}, graduation {}]", number(&scale.min), scale.show(&scale.max), scale.show(&scale.step))
        }
        ReadingKind::Choice(choices) => {
            let choices: Vec<String> =
                choices.iter().map(|choice| format!("{}: {}", choice.id, choice.label)).collect();
            format!("[{}]", choices.join(" | "))
        }
        ReadingKind::Words => "[words]".to_owned(),
        ReadingKind::Tally { at_most, unit } => {
            format!("[add one by one, at most {}]", with_unit(&at_most.to_string(), *unit))
        }
    };
    Cue::new("ASK", format!("{} {} {may}", reading.id, run.say(&reading.ask)))
}

/// The name of a clock.
pub(super) fn clock_name(run: &Run, of: ClockOf) -> String {
    match of {
        ClockOf::Hold => "hold".to_owned(),
        ClockOf::HoldMost => "hold-most".to_owned(),
        ClockOf::Down => "turned".to_owned(),
        ClockOf::Prompt => "prompt".to_owned(),
        ClockOf::NextReading => "next-reading".to_owned(),
        ClockOf::GiveUp => "give-up".to_owned(),
        ClockOf::Limit(n) => run.edition().limits.get(n as usize).map_or_else(String::new, |limit| limit.id.clone()),
    }
}

/// A running clock.
pub(super) fn clock(run: &Run, clock: &Clock, now: Tick) -> Cue {
    let side = match clock.side {
        Side::AtLeast => "least",
        Side::AtMost => "most",
        Side::Reminder => "reminder",
    };
    let left = if now > clock.due {
        format!("over by {}", now.since(clock.due).clock())
    } else {
        format!("{} left", clock.due.since(now).clock_up())
    };
    let text = match (clock.of, open_step(run)) {
        (ClockOf::Hold, _) => "it must last so long".to_owned(),
        (ClockOf::HoldMost, _) => "it must not last longer".to_owned(),
        (ClockOf::Down, Some((_, Step { wants: Wants::Hold { turns: Some(turns), .. }, .. }))) => {
            format!("{} at one time", turns.down)
        }
        (ClockOf::Down, _) => "at one time".to_owned(),
        (ClockOf::Prompt, Some((_, Step { every: Some(every), .. }))) => run.say(&every.cue),
        (ClockOf::Prompt, _) => "the next prompt".to_owned(),
        (ClockOf::NextReading, _) => "until the next reading".to_owned(),
        (ClockOf::GiveUp, Some((_, Step { wants: Wants::Settle(settle), .. }))) => {
            format!("or else: {}", run.say(&settle.otherwise.because))
        }
        (ClockOf::GiveUp, _) => "until it is given up".to_owned(),
        (ClockOf::Limit(n), _) => {
            run.edition().limits.get(n as usize).map_or_else(String::new, |limit| run.say(&limit.title))
        }
    };
    Cue::new("CLOCK", format!("{} {side} {left}: {text}", clock_name(run, clock.of)))
}

/// What it means that the moment of a clock has come.
pub(super) fn due(run: &Run, clock: &Clock) -> Vec<Cue> {
    let name = clock_name(run, clock.of);
    let say = |text: String| Cue::new("DUE", format!("{name} {text}"));
    let open = open_step(run).map(|(_, step)| step);
    match clock.of {
        ClockOf::Hold => match open.map(|step| &step.wants) {
            Some(Wants::Hold { turns: Some(turns), .. }) => {
                vec![say(format!("Long enough: end it when it is {}.", turns.up))]
            }
            _ => vec![say("Long enough: end it when you are ready.".to_owned())],
        },
        ClockOf::HoldMost => vec![say("The most time is reached: end it now.".to_owned())],
        ClockOf::Down => match open.map(|step| &step.wants) {
            Some(Wants::Hold { turns: Some(turns), .. }) => vec![say(format!("Bring it {} now.", turns.up))],
            _ => vec![say("Turn it now.".to_owned())],
        },
        ClockOf::Prompt => open
            .and_then(|step| step.every.as_ref())
            .map(|every| Cue::new("PROMPT", run.say(&every.cue)))
            .into_iter()
            .collect(),
        ClockOf::NextReading => {
            let mut cues = vec![say("Read now.".to_owned())];
            if let Act::Answer(reading) = run.offer(clock.due).act {
                cues.push(ask(run, reading));
            }
            cues
        }
        ClockOf::GiveUp => vec![say("This is the last moment for a reading.".to_owned())],
        ClockOf::Limit(n) => {
            let title = run.edition().limits.get(n as usize).map_or_else(String::new, |limit| run.say(&limit.title));
            vec![say(format!("The time is over: {title}."))]
        }
    }
}

/// A finding in a sentence.
pub(crate) fn finding(run: &Run, finding: &Finding) -> String {
    let step = &run.edition().step(finding.step).id;
    match &finding.what {
        FindingKind::Rule { text } => format!("{step}: {}", sentence(text)),
        FindingKind::Late { took, text, .. } => format!("{step}: {text}; it took {took}."),
        FindingKind::DownTooLong { lasted, text } => format!("{step}: {text}; it was {}.", tenths_up(*lasted)),
        FindingKind::HeldTooLong { lasted, at_most } => {
            format!("{step}: It lasted {}, and {at_most} is the most.", tenths_up(*lasted))
        }
        FindingKind::Overruled { refusal, reason } => {
            format!("{step}: Done although refused (“{refusal}”), because: {}", sentence(reason))
        }
        FindingKind::Corrected { reading, from, to, reason, back_to, .. } => {
            let back = back_to
                .map_or_else(String::new, |back| format!(" The run went back to {}.", run.edition().step(back).id));
            let reading = &run.edition().reading(*reading).id;
            format!("{step}: {reading} corrected from {from} to {to}, because: {}{back}", sentence(reason))
        }
    }
}

/// The results with their terms and the exact sum.
pub(super) fn results(run: &Run) -> Vec<Cue> {
    let mut cues = Vec::new();
    for outcome in run.results() {
        cues.push(Cue::new("RESULT", format!("{} {} {}", outcome.id, outcome.reported, outcome.title)));
        for term in &outcome.terms {
            let value = with_unit(&term.value.show_short(), outcome.reported.unit);
            cues.push(Cue::new("TERM", format!("{} {value} {}", term.term.sign, term.term.label)));
        }
        let exact = with_unit(&outcome.reported.exact.show_short(), outcome.reported.unit);
        cues.push(Cue::new("EXACT", format!("{} {exact} before rounding {}", outcome.id, rounding(&outcome.reported))));
    }
    cues
}

/// "to the nearest 0.25 %, a half to the even multiple".
pub(crate) fn rounding(reported: &quantity::Reported) -> String {
    let nearest = with_unit(&reported.increment.show_exact(), reported.unit);
    let half = match reported.ties {
        Ties::Even => "a half to the even multiple",
        Ties::Up => "a half away from zero",
    };
    format!("to the nearest {nearest}, {half}")
}

/// A number with its unit.
pub(crate) fn with_unit(number: &str, unit: Unit) -> String {
    if unit == Unit::NONE { number.to_owned() } else { format!("{number} {unit}") }
}

/// With a full stop, unless it ends in one.
pub(crate) fn sentence(text: &str) -> String {
    if text.ends_with(['.', '!', '?', '”']) { text.to_owned() } else { format!("{text}.") }
}

/// An act in words, for undo and redo.
pub(super) fn act(run: &Run, event: &Event) -> String {
    let edition = run.edition();
    match event {
        Event::Begin { step } => format!("{} begun", edition.step(*step).id),
        Event::Count { step, n } => format!("{} counted {n}", edition.step(*step).id),
        Event::Turn { step } => format!("{} turned", edition.step(*step).id),
        Event::Done { step, .. } => format!("{} done", edition.step(*step).id),
        Event::Answer { reading, entry, .. } => {
            format!("{} {}", edition.reading(*reading).id, run.show(*reading, entry))
        }
        Event::Add { reading, .. } => format!("one more on {}", edition.reading(*reading).id),
        Event::Incident { incident } => edition
            .incidents
            .get(*incident as usize)
            .map_or_else(|| "incident".to_owned(), |incident| format!("incident {}", incident.id)),
        Event::Discard { .. } => "the discard".to_owned(),
        Event::Again => "the next attempt".to_owned(),
        Event::Close => "the close".to_owned(),
        Event::Undo => "undo".to_owned(),
        Event::Redo => "redo".to_owned(),
        Event::Correct { seq, .. } => format!("the correction of {seq}"),
        Event::Remark { text } => format!("the remark “{text}”"),
        Event::Known { moment, .. } => {
            format!("{} known", edition.moments.get(*moment as usize).map_or("a moment", String::as_str))
        }
    }
}

/// Everything that differs after an accepted event, most telling first.
pub(super) fn change(before: &Run, run: &Run, now: Tick) -> Vec<Cue> {
    let mut cues = Vec::new();
    cues.extend(position(before, run));
    let new_findings = run.findings().iter().filter(|finding| !before.findings().contains(finding));
    cues.extend(new_findings.map(|found| Cue::new("FINDING", finding(run, found))));
    if run.sets().len() > before.sets().len() {
        cues.extend(set(run));
    }
    if run.rounds().len() > before.rounds().len() {
        cues.extend(round(run));
    }
    if run.remarks().len() > before.remarks().len() {
        cues.extend(run.remarks().last().map(|remark| Cue::new("REMARK", remark.text.clone())));
    }
    if run.attempt() != before.attempt() {
        cues.push(Cue::new("ATTEMPT", run.attempt().to_string()));
    }
    let (was, is) = (before.offer(now), run.offer(now));
    let moved = (was.phase, was.attempt, was.round, was.standing.opened)
        != (is.phase, is.attempt, is.round, is.standing.opened)
        || was.step.map(|(id, _)| id) != is.step.map(|(id, _)| id);
    if moved {
        let stage_of = |offer: &engine::Offer<'_>| offer.step.map(|(_, step)| step.stage);
        let other_stage = stage_of(&was) != stage_of(&is) || was.round != is.round || was.attempt != is.attempt;
        cues.extend(step(run, now, other_stage));
    } else if let Some((_, open)) = open_step(run) {
        if is.standing.count != was.standing.count
            && let Some(n) = is.standing.count
        {
            cues.push(Cue::new("COUNTED", format!("{} {n}", open.id)));
        }
        if let Some(add) = &open.add
            && run.tally(add.reading) != before.tally(add.reading)
        {
            let reading = run.edition().reading(add.reading);
            let tally = with_unit(&run.tally(add.reading).show_exact(), reading.unit());
            cues.push(Cue::new("TALLY", format!("{} {tally}", reading.id)));
        }
        let changes_want = was.act != is.act || was.standing != is.standing;
        if changes_want {
            cues.extend(wanted(run, now));
        }
    }
    // A clock is known by what it measures and since when; one that only moved its moment is no news.
    let known: Vec<(ClockOf, Tick)> = before.clocks(now).map(|clock| (clock.of, clock.started)).collect();
    let mut new: Vec<Clock> = run.clocks(now).filter(|clock| !known.contains(&(clock.of, clock.started))).collect();
    new.sort_by_key(|clock| clock.due);
    cues.extend(new.iter().map(|new| clock(run, new, now)));
    cues
}

/// The position of something that is turned.
fn position(before: &Run, run: &Run) -> Option<Cue> {
    let (was, is) = (before.offer(Tick(0)).standing, run.offer(Tick(0)).standing);
    let (_, step) = open_step(run)?;
    let Wants::Hold { turns: Some(turns), .. } = &step.wants else { return None };
    let same = was.is_down == is.is_down && was.n_turns == is.n_turns && was.begun == is.begun;
    if same || is.begun.is_none() {
        return None;
    }
    let now = if is.is_down { &turns.down } else { &turns.up };
    let longest = if is.longest_down == Span(0) { String::new() } else { format!(", longest {}", is.longest_down) };
    Some(Cue::new("TURNED", format!("{now}, {} times {}{longest}", is.n_turns, turns.down)))
}

/// The settling set just completed.
fn set(run: &Run) -> Option<Cue> {
    let set = run.sets().last()?;
    let n = run.sets().iter().rev().take_while(|other| other.step == set.step && other.round == set.round).count();
    let unit = settle_unit(run, set.step);
    let value = with_unit(&set.value.show_exact(), unit);
    let before = run.sets().iter().rev().nth(1).filter(|_| n > 1);
    let judged = match before {
        None => "the first".to_owned(),
        Some(before) => {
            let change = with_unit(&(&set.value - &before.value).abs().show_exact(), unit);
            if set.steady { format!("change {change}: it stands still") } else { format!("change {change}: not yet") }
        }
    };
    Some(Cue::new("SET", format!("round {} {value} {judged}", set.round)))
}

/// The unit of what a settling step compares.
pub(crate) fn settle_unit(run: &Run, step: StepId) -> Unit {
    match &run.edition().step(step).wants {
        Wants::Settle(settle) => match settle.value {
            Some(value) => run.edition().values.get(value.0 as usize).map_or(Unit::NONE, |value| value.unit),
            None => run.edition().reading(settle.reading).unit(),
        },
        _ => Unit::NONE,
    }
}

/// The round just completed.
fn round(run: &Run) -> Option<Cue> {
    let round = run.rounds().last()?;
    let stage = run.edition().stages.get(round.stage as usize)?;
    let repeat = stage.repeat.as_ref()?.until_agree()?;
    let unit = run.edition().values.get(repeat.value.0 as usize).map_or(Unit::NONE, |value| value.unit);
    let value = with_unit(&round.value.show_exact(), unit);
    let before = run.rounds().iter().rev().nth(1);
    let before = before.filter(|before| before.attempt == round.attempt && before.stage == round.stage);
    let judged = match before {
        None => "the first: one more to compare with".to_owned(),
        Some(before) => {
            let change = (&round.value - &before.value).abs();
            let verdict = if change <= repeat.within { "they agree" } else { "they do not agree" };
            format!("differs by {} from the round before: {verdict}", with_unit(&change.show_exact(), unit))
        }
    };
    Some(Cue::new("ROUND", format!("{} {value} {judged}", round.round)))
}

/// All steps and how they stand.
pub(super) fn steps(run: &Run) -> Vec<Cue> {
    let edition = run.edition();
    (0..edition.steps.len())
        .map(|n| {
            let id = StepId(n as u16);
            let step = edition.step(id);
            let stands = match run.status(id) {
                Status::Done => "done",
                Status::Carried => "carried-over",
                Status::Now => "now",
                Status::LeftOut => "left-out",
                Status::ToCome => "to-come",
            };
            Cue::new("LIST", format!("{} {stands} {}", step.id, run.say(&step.instruction)))
        })
        .collect()
}

/// All readings with the numbers to correct them by.
pub(super) fn readings(run: &Run) -> Vec<Cue> {
    run.taken()
        .iter()
        .map(|taken| {
            let carried = if taken.carried { " (carried over)" } else { "" };
            Cue::new(
                "READING",
                format!(
                    "{} {} attempt {} {} {}{carried}",
                    taken.seq,
                    crate::report::clock_time(taken.at.wall),
                    taken.attempt,
                    run.edition().reading(taken.reading).id,
                    run.show(taken.reading, &taken.entry)
                ),
            )
        })
        .collect()
}

/// A time held against a least one, as a person reads it: never shown longer than it was.
pub fn tenths_down(lasted: Span) -> Span {
    Span(lasted.0 / 100 * 100)
}

/// A time held against a most one, as a person reads it: never shown shorter than it was.
pub fn tenths_up(lasted: Span) -> Span {
    Span(lasted.0.div_ceil(100) * 100)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shown_time_never_flatters_the_person() {
        for (ms, down, up) in [(45_011, "45 s", "45.1 s"), (5_040, "5 s", "5.1 s"), (60_000, "1 min", "1 min")] {
            assert_eq!((tenths_down(Span(ms)).to_string(), tenths_up(Span(ms)).to_string()), (down.into(), up.into()));
        }
    }
}
