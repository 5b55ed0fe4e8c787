//! What the practice screen says of its keys and of how it went.

use practice::Due;
use practice::session::Summary;
use quantity::Span;

use super::{Over, PracticeModel, Try};
use crate::screen::model::Overlay;

/// The big key with what it does, and the other keys that do something now.
pub(super) type Keys = ((String, String), Vec<(&'static str, &'static str)>);

/// The keys that do something now.
pub(super) fn keys_now(model: &PracticeModel) -> Keys {
    let big = |key: &str, does: &str| (format!("  {key}  "), does.to_owned());
    match &model.over {
        Some(Over::Help(_)) => return (big("ESC", "back"), vec![("↑ ↓", "scroll")]),
        Some(Over::Leave) => return (big("Y", "leave"), vec![("N", "go on")]),
        Some(Over::Folder(_)) => return (big("ENTER", "take it"), vec![("Esc", "back")]),
        None => {}
    }
    let end = [("?", "keys"), ("q", "leave")];
    let with = |own: &[(&'static str, &'static str)]| own.iter().chain(&end).copied().collect::<Vec<_>>();
    match model.session.due() {
        Due::Tell(_) => (big("SPACE", "go on"), with(&[])),
        Due::Explain(_) => (big("SPACE", "go on"), with(&[("u", "a slip of the finger: it does not count")])),
        Due::TrialAhead(_) => (big("SPACE", "begin"), with(&[])),
        Due::Finished(_) => (big("SPACE", "leave"), vec![("↑ ↓", "scroll"), ("?", "keys")]),
        Due::Ask(question) => match &model.attempt {
            Try::Number(_) => {
                (big("ENTER", "take it"), vec![("Tab", "I don't know"), ("F1", "keys"), ("Esc", "leave")])
            }
            _ => (
                big(&format!("1 – {}", question.choices().len()), "an answer"),
                with(&[("↑ ↓", "choose"), ("0", "I don't know")]),
            ),
        },
        Due::Perform(_) => {
            let acting = model.acting.as_ref();
            if let Some(overlay) = acting.and_then(|acting| acting.model.overlay.as_ref()) {
                return (big("ENTER", "take it"), overlay_keys(overlay).to_vec());
            }
            if model.letters_are_text() {
                return (big("ENTER", "take it"), vec![("Ctrl-U", "take back"), ("F1", "keys"), ("Ctrl-Q", "leave")]);
            }
            let tick = model.clock.tick(model.seen);
            let mut keys = Vec::new();
            if acting.is_some_and(|acting| matches!(acting.shown(tick), Some(specimen::Shown::Gauge { .. }))) {
                keys.push(("t", "tap the gauge"));
            }
            let adds =
                |acting: &super::Acting| acting.model.run.offer(tick).step.is_some_and(|(_, step)| step.add.is_some());
            if acting.is_some_and(adds) {
                keys.push(("c", "one more added"));
            }
            keys.extend([("u", "take back"), ("x", "went wrong"), ("o", "go on anyway"), ("e", "correct")]);
            keys.extend(end);
            (big("SPACE", "do it"), keys)
        }
    }
}

/// Every key, for the help.
pub(super) fn help_lines() -> Vec<(&'static str, &'static str)> {
    vec![
        ("Space, Enter", "the next right thing: go on, done, begin, turn, take the reading"),
        ("1 to 9", "an answer, at once; arrows and Enter do the same"),
        ("0, Tab", "I don't know: it is explained, and comes back"),
        ("u", "a slip of the finger: the try does not count; on the run, the last act is taken back"),
        ("digits", "a reading, as you read it off the instrument; + and - move by one mark"),
        ("t", "tap the gauge"),
        ("c", "add one, such as a cup of water"),
        ("e", "correct an earlier reading, with a reason"),
        ("x", "something went wrong: what you see of the specimen has a consequence"),
        ("o", "go on despite a refusal, with a reason"),
        ("m", "sound off and on"),
        ("f", "keep the diary in another folder, where the disk takes nothing"),
        ("q, Esc", "leave; everything tried is kept"),
        ("Ctrl-C", "leave at once; everything tried is kept"),
        ("", ""),
        ("", "The clock of the concrete stands while you read; in the timed run it never does."),
        ("", "While an act is done from memory neither it nor its numbers are shown."),
        ("", "The specimen is a model made for teaching. It is no physics of record."),
    ]
}

/// How a session went, line by line with its mark.
pub(super) fn summary_lines(model: &PracticeModel, summary: &Summary) -> Vec<(&'static str, String)> {
    let mut lines = Vec::new();
    let act = |item: &str| model.act_of(item);
    if let Some(trial) = &summary.trial {
        let verdict = if trial.passed() { ("✓ ", "Passed") } else { ("✗ ", "Not passed") };
        let time = Span(trial.took_ms / 1_000 * 1_000).clock();
        lines.push((verdict.0, format!("{}: the timed run, {time}", verdict.1)));
        lines.push(("  ", format!("Acts right at the first try: {}", trial.acts.words())));
        lines.push(("  ", format!("Instruments read right: {}", trial.readings.words())));
        if let Some(why) = &trial.broken_off {
            lines.push(("✗ ", format!("Broken off: {why}")));
        }
        for missed in &trial.missed {
            lines.push(("✗ ", act(&missed.item)));
            lines.push(("  ", format!("— {}", missed.because)));
        }
        lines.push(("", String::new()));
    }
    if summary.tries.of > 0 {
        lines.push(("  ", format!("Questions: {}; without help {}", summary.tries.words(), summary.unhinted.words())));
    }
    if summary.performed.of > 0 {
        lines.push(("  ", format!("Acts without a fault: {}", summary.performed.words())));
    }
    if summary.readings.of > 0 {
        lines.push(("  ", format!("Instruments read right: {}", summary.readings.words())));
    }
    if summary.put_right > 0 {
        lines.push(("✓ ", format!("Missed first and right in the end: {}", summary.put_right)));
    }
    for (item, right) in &summary.still_missed {
        let act = act(item);
        let right = if *right == act { String::new() } else { format!(": {right}") };
        lines.push(("✗ ", format!("Still missed, comes back soon: {act}{right}")));
    }
    if summary.left_over > 0 {
        lines.push(("  ", format!("Left for another day: {}", summary.left_over)));
    }
    lines.push(("  ", format!("It took {}", Span(summary.took_ms / 1_000 * 1_000).clock())));
    if let Some(bench) = &model.bench {
        lines.push(("", String::new()));
        let came = &bench.walk.way.branch;
        lines.push(("  ", format!("What this specimen had in store: {}", came.title)));
        let text = format!(
            "The same specimen and questions again: pourside practice {} --seed {}",
            bench.edition.id, model.options.seed
        );
        lines.push(("  ", text));
    }
    lines
}

fn overlay_keys(overlay: &Overlay) -> &'static [(&'static str, &'static str)] {
    match overlay {
        Overlay::Confirm(_) => &[("Y", "yes"), ("N", "no")],
        Overlay::Help { .. } => &[("↑ ↓", "scroll"), ("Esc", "back")],
        Overlay::Ask { .. } | Overlay::CorrectTo { .. } => &[("Esc", "back, nothing happens")],
        Overlay::Steps { .. } | Overlay::Wrong { .. } | Overlay::Correct { .. } => {
            &[("↑ ↓", "choose"), ("Esc", "back, nothing happens")]
        }
    }
}
