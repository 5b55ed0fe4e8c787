//! What can come about in a run, read off the edition.

use procedure::{Consequence, Edition, Part, Step, StepId, Text, Wants};

use super::{Branch, BranchKind};

/// Every branch a run can take: the clean way, then stage by stage and step by step as in the file, then limits,
/// incidents, new starts and results.
pub fn branches(edition: &Edition) -> Vec<Branch> {
    let mut all = vec![branch("clean", "An ordinary run to a result".to_owned(), BranchKind::Clean)];
    for (index, stage) in (0..).zip(&edition.stages) {
        for at in stage.first.0..stage.end.0 {
            of_step(edition, StepId(at), &mut all);
        }
        if let Some(agree) = stage.repeat.as_ref().and_then(|repeat| repeat.until_agree()) {
            let kind = BranchKind::RoundsDisagree { stage: index };
            all.push(branch(format!("{}.rounds-disagree", stage.id), plain(&agree.otherwise.because), kind));
        }
    }
    for (index, limit) in (0..).zip(&edition.limits) {
        let title = format!("{}: later than {}", plain(&limit.title), limit.at_most);
        all.push(branch(format!("limit-{}", limit.id), title, BranchKind::Limit { limit: index }));
    }
    for (index, incident) in (0..).zip(&edition.incidents) {
        let kind = BranchKind::Incident { incident: index };
        all.push(branch(format!("incident-{}", incident.id), plain(&incident.title), kind));
    }
    if edition.attempts_at_most > 1 {
        for (index, again) in (0..).zip(&edition.agains) {
            let kind = BranchKind::Again { again: index };
            all.push(branch(format!("again-{}", again.id), plain(&again.say), kind));
            if let Some(change) = &again.change {
                let kind = BranchKind::NoChange { again: index };
                let title = format!("Refused: {}", plain(&change.because));
                all.push(branch(format!("again-{}.no-change", again.id), title, kind));
            }
        }
    }
    for (result, spec) in (0..).zip(&edition.results) {
        let value = &edition.values[usize::from(spec.value.0)];
        for (rule, it) in (0..).zip(&spec.rules) {
            let kind = BranchKind::ResultRule { result, rule };
            let id = format!("result-{}.rule-{}", value.id, rule + 1);
            all.push(branch(id, says(&it.then).map(plain).unwrap_or_default(), kind));
        }
        if spec.when.is_some() {
            for (is_reported, id, words) in
                [(true, "reported", "is reported"), (false, "not-reported", "is not reported")]
            {
                let title = format!("{} {words}", value.title);
                let kind = BranchKind::Result { result, is_reported };
                all.push(branch(format!("result-{}.{id}", value.id), title, kind));
            }
        }
    }
    all
}

fn of_step(edition: &Edition, id: StepId, all: &mut Vec<Branch>) {
    let step: &Step = edition.step(id);
    let mut push = |name: &str, title: String, kind| all.push(branch(format!("{}.{name}", step.id), title, kind));
    let instruction = plain(&step.instruction);
    if step.when.is_some() {
        push("done", format!("Asked for: {instruction}"), BranchKind::Condition { step: id, is_done: true });
        push("left-out", format!("Left out: {instruction}"), BranchKind::Condition { step: id, is_done: false });
    }
    for (need, it) in (0..).zip(&step.needs) {
        push(&format!("need-{}", need + 1), plain(&it.because), BranchKind::Need { step: id, need });
    }
    match &step.wants {
        Wants::Hold { at_most, turns, .. } => {
            if let Some(turns) = turns {
                push("down-too-long", plain(&turns.finding), BranchKind::DownTooLong { step: id });
            }
            if let Some(at_most) = at_most {
                let title = format!("Longer than {at_most}: {instruction}");
                push("held-too-long", title, BranchKind::HoldTooLong { step: id });
            }
        }
        Wants::Timed { at_least, otherwise, .. } => {
            let text = says(otherwise).map(plain).unwrap_or_default();
            if at_least.0 > 0 {
                let kind = BranchKind::Timed { step: id, too_slow: false };
                push("too-quick", format!("{text} (too quick)"), kind);
            }
            push("too-slow", format!("{text} (too slow)"), BranchKind::Timed { step: id, too_slow: true });
        }
        Wants::Settle(settle) => push("give-up", plain(&settle.otherwise.because), BranchKind::GiveUp { step: id }),
        Wants::Act | Wants::Count { .. } | Wants::Read(_) => {}
    }
    if let Some(add) = &step.add {
        push("added", plain(&add.ask), BranchKind::Added { step: id });
    }
    for (rule, it) in (0..).zip(&step.rules) {
        let kind = BranchKind::Rule { step: id, rule };
        let n = rule + 1;
        match &it.then {
            Consequence::Back { to, otherwise, .. } => {
                let to = plain(&edition.step(*to).instruction);
                push(&format!("rule-{n}"), format!("Once more from “{to}”"), kind);
                let kind = BranchKind::BackTooOften { step: id, rule };
                push(&format!("too-often-{n}"), plain(&otherwise.because), kind);
            }
            Consequence::Refuse(text) => push(&format!("rule-{n}"), format!("Refused: {}", plain(text)), kind),
            other => push(&format!("rule-{n}"), says(other).map(plain).unwrap_or_default(), kind),
        }
    }
}

fn branch(id: impl Into<String>, title: String, kind: BranchKind) -> Branch {
    Branch { id: id.into(), title, kind }
}

/// What a consequence says when it follows.
pub(super) fn says(then: &Consequence) -> Option<&Text> {
    Some(match then {
        Consequence::Refuse(text) | Consequence::Finding(text) => text,
        Consequence::End(ending) => &ending.because,
        Consequence::Back { otherwise, .. } => &otherwise.because,
    })
}

/// A text outside of any run: what only a run knows is left open.
pub(super) fn plain(text: &Text) -> String {
    let part = |part: &Part| match part {
        Part::Plain(plain) => plain.clone(),
        Part::Reading(_) | Part::Was(_) | Part::Value(_) | Part::Round => "…".to_owned(),
    };
    text.parts.iter().map(part).collect()
}
