//! The paper a candidate takes home: how it went, what comes next, what to practise and why.
//!
//! The tone is kind and factual: what was missed is named as an act to do, with the reason the procedure gives for it.

use sheet::paper::{Block, Column, Entry, Figure, Holds, Paper, Row, Table, Tone};

use super::words::{counted, exam_facts, ordinal, reason, sentence, size, stopped};
use crate::{Item, ItemStatus, Mark, MarkSheet, Missed, Names, Overrule, Standing, State, TrialView, Verdict};

/// What a result says of the rule, which a paper says once.
const EVERY_ACT: &str = "; every act must be done, or told where that is allowed";

/// The paper of the candidate at a place of the roster; `None` if there is nobody at it.
pub fn render(state: &State, candidate: usize, names: Names) -> Option<Paper> {
    let person = state.roster().candidates.get(candidate)?;
    let number = format!("Candidate {}", person.number);
    let (title, subtitle) = match names {
        Names::Shown => (person.name.clone(), number),
        Names::LeftOut => (number, String::new()),
    };
    let mut facts = exam_facts(state);
    let raters = raters(state, candidate, names);
    if !raters.is_empty() {
        facts.push(("Marked by".to_owned(), raters));
    }
    let all: Vec<ToPractise> =
        (0..state.sheets().len()).flat_map(|method| to_practise(state, candidate, method)).collect();

    let mut blocks = vec![Block::Figures(figures(state, candidate, all.len()))];
    blocks.push(Block::Heading("Results".into()));
    blocks.push(Block::Table(results(state, candidate, names)));
    blocks.extend(rules(state).map(Block::Note));
    blocks.push(Block::Heading("What comes next".into()));
    blocks.push(Block::Points(next(state, candidate)));
    practise(state, &all, names, &mut blocks);
    unseen(state, candidate, &mut blocks);
    overruled(state, candidate, names, &mut blocks);
    others(state, candidate, names, &mut blocks);
    notes(state, candidate, names, &mut blocks);
    Some(Paper {
        kind: "Mock practical exam".into(),
        title,
        subtitle,
        facts,
        blocks,
        foot: super::foot(names),
        size: size(state),
    })
}

/// The first raters' trials of a candidate, method by method.
fn trials(state: &State, candidate: usize) -> impl Iterator<Item = TrialView<'_>> {
    (0..state.sheets().len()).flat_map(move |method| state.trials_of(candidate, method))
}

fn raters(state: &State, candidate: usize, names: Names) -> String {
    let mut raters: Vec<String> = Vec::new();
    for rater in trials(state, candidate).map(|view| names.of_rater(state, &view.trial.rater)) {
        if !rater.is_empty() && !raters.contains(&rater) {
            raters.push(rater);
        }
    }
    raters.join(", ")
}

fn figures(state: &State, candidate: usize, missed: usize) -> Vec<Figure> {
    let methods = state.sheets().len();
    let standings: Vec<Standing> = (0..methods).map(|method| state.standing(candidate, method)).collect();
    let count = |is: &dyn Fn(&Standing) -> bool| standings.iter().filter(|standing| is(standing)).count();
    let passed = count(&|standing| matches!(standing, Standing::Passed { .. }));
    let again = count(&|standing| matches!(standing, Standing::Due { number } if *number > 1));
    let anew = count(&|standing| matches!(standing, Standing::ReExamination { .. }));
    let figure = |figure: String, words: &str, tone| Figure { figure, words: words.to_owned(), tone };
    let mut figures = vec![figure(
        format!("{passed} of {methods}"),
        if methods == 1 { "method passed" } else { "methods passed" },
        if passed == methods { Tone::Good } else { Tone::Plain },
    )];
    if again > 0 {
        figures.push(figure(
            again.to_string(),
            if again == 1 { "further trial due" } else { "further trials due" },
            Tone::Plain,
        ));
    }
    if anew > 0 {
        let words = if anew == 1 { "re-examination due" } else { "re-examinations due" };
        figures.push(figure(anew.to_string(), words, Tone::Alarm));
    }
    figures.push(figure(
        missed.to_string(),
        if missed == 1 { "act to practise" } else { "acts to practise" },
        Tone::Plain,
    ));
    figures
}

fn results(state: &State, candidate: usize, names: Names) -> Table {
    let columns = vec![
        Column::new("Method", Holds::Lead, 31),
        Column::new("Trial", Holds::Number, 7),
        Column::new("Time", Holds::Number, 9),
        Column::new("Result", Holds::Verdict, 17),
        Column::new("By the rule", Holds::Small, 36),
    ];
    let mut rows = Vec::new();
    for (method, sheet) in state.sheets().iter().enumerate() {
        let before = rows.len();
        for view in state.trials_of(candidate, method) {
            let outcome = view.outcome();
            let (words, tone) = verdict(outcome.verdict);
            // The rule itself stands under the table.
            let reasons = outcome.reasons.iter().map(|text| text.strip_suffix(EVERY_ACT).unwrap_or(text));
            let reasons: Vec<String> = reasons.map(|text| reason(&view, names, text)).collect();
            // The method is named once.
            let title = if rows.len() == before { sheet.title.clone() } else { String::new() };
            let took = outcome.took.map_or_else(|| "–".to_owned(), |took| took.clock());
            let cells = vec![title, view.trial.number.to_string(), took, words.to_owned(), reasons.join("; ")];
            rows.push(Row { cells, tone });
        }
        if rows.len() == before {
            let cells = [sheet.title.as_str(), "–", "–", "not begun", ""].map(str::to_owned).to_vec();
            rows.push(Row { cells, tone: Tone::Plain });
        }
    }
    Table { caption: String::new(), columns, rows }
}

fn verdict(verdict: Verdict) -> (&'static str, Tone) {
    match verdict {
        Verdict::Passed => ("passed", Tone::Good),
        Verdict::Failed => ("not passed", Tone::Alarm),
        Verdict::Open => ("open", Tone::Plain),
        Verdict::Void => ("no trial", Tone::Plain),
    }
}

/// The rule, once if it is the same for all methods.
fn rules(state: &State) -> impl Iterator<Item = String> {
    let of = |sheet: &MarkSheet| {
        let pass = match sheet.share() {
            None => "every act is done or, where that is allowed, told aloud".to_owned(),
            Some(share) => {
                let percent = (share * &quantity::Exact::from_int(100)).show_short();
                format!("at least {percent} % of the acts are done or told, and every critical one")
            }
        };
        let trials = counted(usize::try_from(sheet.trials_at_most).unwrap_or(usize::MAX), "trial", "trials");
        format!("passed when {pass}; {trials} a method, then a re-examination")
    };
    let limit =
        |sheet: &MarkSheet| sheet.time_limit.map(|limit| format!("{} {limit}", sheet.title)).unwrap_or_default();
    let mut all: Vec<(String, Vec<&str>)> = Vec::new();
    for sheet in state.sheets() {
        let rule = of(sheet);
        match all.iter_mut().find(|(known, _)| *known == rule) {
            Some((_, titles)) => titles.push(&sheet.title),
            None => all.push((rule, vec![&sheet.title])),
        }
    }
    let alone = all.len() == 1;
    let rules: Vec<String> = all
        .into_iter()
        .map(|(rule, titles)| if alone { sentence(&rule) } else { format!("{}: {rule}", titles.join(", ")) })
        .map(|rule| format!("{rule}."))
        .collect();
    let limits: Vec<String> = state.sheets().iter().map(limit).filter(|limit| !limit.is_empty()).collect();
    let limits = (!limits.is_empty()).then(|| format!("Time limits: {}.", limits.join(", ")));
    let text = rules.into_iter().chain(limits).collect::<Vec<_>>().join(" ");
    Some(text).filter(|text| text.len() > 1).into_iter()
}

/// What comes next by the rule, the pressing things first; methods of which the same is said stand together.
fn next(state: &State, candidate: usize) -> Vec<String> {
    let mut said: Vec<(u32, String, Vec<&str>, usize)> = Vec::new();
    for (method, sheet) in state.sheets().iter().enumerate() {
        let (rank, words) = match state.standing(candidate, method) {
            Standing::Passed { .. } => continue,
            Standing::ReExamination { .. } => (0, "Re-examination due".to_owned()),
            Standing::Due { number: 1 } => (u32::MAX, "Not begun".to_owned()),
            Standing::Due { number } => (number, sentence(&format!("{} trial due", ordinal(number)))),
            Standing::UnderWay { number, .. } => (100, sentence(&format!("{} trial under way", ordinal(number)))),
            Standing::Undecided { number, .. } => {
                (101, sentence(&format!("{} trial open until the acts that nobody saw are marked", ordinal(number))))
            }
        };
        let missed = to_practise(state, candidate, method).len();
        match said.iter_mut().find(|(known, words_known, ..)| (*known, words_known.as_str()) == (rank, words.as_str()))
        {
            Some((_, _, titles, all)) => {
                titles.push(&sheet.title);
                *all += missed;
            }
            None => said.push((rank, words, vec![&sheet.title], missed)),
        }
    }
    said.sort_by_key(|(rank, ..)| *rank);
    let points = said.into_iter().map(|(rank, words, titles, missed)| {
        let advice = match (rank, missed) {
            (0, _) => " Go through the whole method again before it.",
            (2..100, 1) => " Practise the act named below first.",
            (2..100, 2..) => " Practise the acts named below first.",
            _ => "",
        };
        format!("{words}: {}.{advice}", titles.join("; "))
    });
    let points: Vec<String> = points.collect();
    if points.is_empty() {
        return vec!["Nothing is due: every method is passed. A run from memory now and then keeps it so.".into()];
    }
    points
}

/// An act to practise, with the trials in which it was missed.
struct ToPractise<'s> {
    method: usize,
    missed: Missed,
    /// Number of the trial, what the clock or the rater said, and whether a person said it.
    trials: Vec<(u32, Option<String>, bool)>,
    sheet: &'s MarkSheet,
}

/// What was missed in any trial that counts, each act once, in the order of the sheet.
fn to_practise(state: &State, candidate: usize, method: usize) -> Vec<ToPractise<'_>> {
    let mut all: Vec<ToPractise> = Vec::new();
    for view in state.trials_of(candidate, method) {
        for missed in view.outcome().missed {
            let typed = match view.sheet.window(&missed.key) {
                Some(window) => view.window(window).overruled.is_some(),
                None => view.item(missed.item).overruled.is_some(),
            };
            let said = (view.trial.number, missed.because.clone(), typed);
            match all.iter_mut().find(|known| known.missed.key == missed.key) {
                Some(known) => known.trials.push(said),
                None => all.push(ToPractise { method, missed, trials: vec![said], sheet: view.sheet }),
            }
        }
    }
    all.sort_by_key(|one| (one.missed.item, one.missed.key.clone()));
    all
}

fn practise(state: &State, all: &[ToPractise<'_>], names: Names, blocks: &mut Vec<Block>) {
    if all.is_empty() {
        return;
    }
    blocks.push(Block::Heading("What to practise".into()));
    for (method, sheet) in state.sheets().iter().enumerate() {
        let of_method: Vec<&ToPractise> = all.iter().filter(|one| one.method == method).collect();
        if of_method.is_empty() {
            continue;
        }
        blocks.push(Block::Subheading(sheet.title.clone()));
        blocks.extend(of_method.into_iter().map(|one| Block::Entry(entry(one, names))));
    }
}

fn entry(one: &ToPractise<'_>, names: Names) -> Entry {
    let missed = &one.missed;
    let numbers: Vec<String> = one.trials.iter().map(|(number, ..)| number.to_string()).collect();
    let which = match numbers.as_slice() {
        [number] => format!("trial {number}"),
        numbers => format!("trials {}", numbers.join(" and ")),
    };
    let said: Vec<String> = one
        .trials
        .iter()
        .filter_map(|(number, because, typed)| {
            let because = because.as_deref().filter(|text| !text.is_empty())?;
            let because = if *typed { names.words(because) } else { because };
            Some(if one.trials.len() > 1 { format!("trial {number}: {because}") } else { because.to_owned() })
        })
        .collect();
    let line = |name: &str, words: String| (name.to_owned(), words);
    Entry {
        mark: if missed.critical { "critical".into() } else { "missed".into() },
        tone: if missed.critical { Tone::Alarm } else { Tone::Plain },
        title: missed.text.clone(),
        beside: if missed.stage.is_empty() { which } else { format!("{which} · {}", missed.stage) },
        lines: vec![
            line("What was seen", stopped(&said.join("; "))),
            line("Why it matters", stopped(missed.why.as_deref().unwrap_or_default())),
            line("Usual slip", stopped(missed.slip.as_deref().unwrap_or_default())),
            line("Practise", how(one)),
        ],
    }
}

/// How an act is practised: against a clock, by counting, or in its place among the others.
fn how(one: &ToPractise<'_>) -> String {
    let sheet = one.sheet;
    if let Some(window) = sheet.window(&one.missed.key).and_then(|at| sheet.windows.get(at)) {
        let short = |at: usize| sheet.items.get(at).map_or("", |item| item.short.trim_end_matches('.'));
        return format!(
            "Go from “{}” to “{}” with a watch running, until it takes no longer than {}.",
            short(window.from),
            short(window.to),
            window.at_most
        );
    }
    let Some(item) = sheet.items.get(one.missed.item) else { return String::new() };
    let mut said = Vec::new();
    said.extend(clock(item));
    if let Some(count) = &item.count {
        let n = if count.at_least == count.at_most {
            count.at_least.to_string()
        } else {
            format!("{} to {}", count.at_least, count.at_most)
        };
        said.push(format!("Count aloud: {n} {}.", count.of));
    }
    said.extend(among(sheet, one.missed.item));
    if item.tellable {
        said.push("It may be told aloud: say it in your own words.".into());
    }
    said.join(" ")
}

fn clock(item: &Item) -> Option<String> {
    let clock = item.clock.as_ref()?;
    let mut text = match (clock.by_readings, clock.at_most) {
        (true, _) => format!("Do it with a watch running: at least {} between two readings", clock.at_least),
        (false, Some(most)) if clock.at_least == quantity::Span(0) => {
            format!("Do it with a watch running: at most {most}")
        }
        (false, Some(most)) => format!("Do it with a watch running: {} to {most}", clock.at_least),
        (false, None) => format!("Do it with a watch running: at least {}", clock.at_least),
    };
    if let Some(down) = clock.down_at_most {
        let position = clock.down.as_deref().unwrap_or("in the limited position");
        text.push_str(&format!(", {position} never longer than {down}"));
    }
    text.push('.');
    Some(text)
}

/// Between which acts it stands.
fn among(sheet: &MarkSheet, at: usize) -> Option<String> {
    let short = |item: &Item| item.short.trim_end_matches('.').to_owned();
    let before = at.checked_sub(1).and_then(|at| sheet.items.get(at)).map(short);
    let after = sheet.items.get(at + 1).map(short);
    match (before, after) {
        (Some(before), Some(after)) => Some(format!("Its place: after “{before}”, before “{after}”.")),
        (Some(before), None) => Some(format!("Its place: last, after “{before}”.")),
        (None, Some(after)) => Some(format!("Its place: first, before “{after}”.")),
        (None, None) => None,
    }
}

/// Acts nobody saw, of trials that have ended.
fn unseen(state: &State, candidate: usize, blocks: &mut Vec<Block>) {
    let mut points = Vec::new();
    for view in trials(state, candidate).filter(|view| view.ended().is_some()) {
        let outcome = view.outcome();
        // What counts as missed is told there.
        let seen_as_missed = |at: &usize| outcome.missed.iter().any(|missed| missed.item == *at);
        let acts: Vec<&str> = outcome
            .unseen
            .iter()
            .filter(|at| !seen_as_missed(at))
            .filter_map(|at| view.sheet.items.get(*at))
            .map(|item| item.short.trim_end_matches('.'))
            .collect();
        if !acts.is_empty() {
            points.push(format!("{}: {}.", which(&view), acts.join("; ")));
        }
    }
    if !points.is_empty() {
        blocks.push(Block::Heading("Seen by nobody".into()));
        blocks.push(Block::Text("These acts were not marked, which says nothing about how they were done.".into()));
        blocks.push(Block::Points(points));
    }
}

/// "Slump, trial 2".
fn which(view: &TrialView<'_>) -> String {
    format!("{}, trial {}", view.sheet.title, view.trial.number)
}

fn overruled(state: &State, candidate: usize, names: Names, blocks: &mut Vec<Block>) {
    let mut entries = Vec::new();
    for view in trials(state, candidate) {
        let entry = |title: &str, overrule: &Overrule, before: String| {
            Block::Entry(Entry {
                mark: "overruled".into(),
                tone: Tone::Plain,
                title: title.to_owned(),
                beside: which(&view),
                lines: vec![
                    ("Counts as".into(), stopped(overrule.mark.word())),
                    ("Before".into(), stopped(&before)),
                    ("Reason".into(), stopped(names.words(&overrule.reason))),
                ],
            })
        };
        for status in view.items() {
            if let Some(overrule) = status.overruled {
                entries.push(entry(&status.item.text, overrule, before(&status)));
            }
        }
        for status in view.windows() {
            if let Some(overrule) = status.overruled {
                let before = match status.state {
                    crate::WindowState::Kept { took } => format!("it took {took}; at most {}", status.window.at_most),
                    crate::WindowState::Late { took } => format!("it took {took}; at most {}", status.window.at_most),
                    crate::WindowState::Running { .. } | crate::WindowState::Unknown => String::new(),
                };
                entries.push(entry(&status.window.text, overrule, before));
            }
        }
        if let (Some(overrule), Some(limit)) = (view.trial.time_overruled(), view.sheet.time_limit) {
            let took = view.outcome().took.map(|took| format!("it took {took}")).unwrap_or_default();
            entries.push(entry(&format!("The time limit of {limit}"), overrule, took));
        }
    }
    if !entries.is_empty() {
        blocks.push(Block::Heading("Decided by the instructor".into()));
        blocks.extend(entries);
    }
}

/// What stood before somebody overruled it.
fn before(status: &ItemStatus<'_>) -> String {
    let given = status.given.map(|mark| format!("marked {}", mark.word()));
    let judged =
        status.judged.as_ref().map(|(mark, because)| format!("{} by the clock or count: {because}", mark.word()));
    given.into_iter().chain(judged).collect::<Vec<_>>().join("; ")
}

/// What other raters saw of the same performances.
fn others(state: &State, candidate: usize, names: Names, blocks: &mut Vec<Block>) {
    let mut points = Vec::new();
    for first in trials(state, candidate) {
        for other in state.second_sheets(&first.trial.id).filter(|other| other.ended().is_some()) {
            let (mut same, mut both) = (0_usize, 0_usize);
            let mut missed: Vec<&str> = Vec::new();
            for (one, two) in first.items().zip(other.items()) {
                if let (Some(one), Some(two)) = (one.own_mark(), two.own_mark())
                    && one != Mark::NotSeen
                    && two != Mark::NotSeen
                {
                    both += 1;
                    same += usize::from(one == two);
                }
                if two.own_mark() == Some(Mark::Missed) && one.own_mark() != Some(Mark::Missed) {
                    missed.push(two.item.short.trim_end_matches('.'));
                }
            }
            let rater = names.of_rater(state, &other.trial.rater);
            let mut point =
                format!("{} was marked by {rater} as well: {same} of {both} marks are the same.", which(&first));
            if !missed.is_empty() {
                point.push_str(&format!(" Seen as missed by {rater} only: “{}”.", missed.join("”, “")));
            }
            points.push(point);
        }
    }
    if !points.is_empty() {
        blocks.push(Block::Note(format!("{} The result is that of the first rater.", points.join(" "))));
    }
}

fn notes(state: &State, candidate: usize, names: Names, blocks: &mut Vec<Block>) {
    let mut points = Vec::new();
    for view in trials(state, candidate) {
        for note in view.trial.notes() {
            let about = note.item.and_then(|at| view.sheet.items.get(at));
            let about = about.map(|item| format!(", “{}”", item.short.trim_end_matches('.'))).unwrap_or_default();
            points.push(format!("{}{about}: {}", which(&view), note.text));
        }
    }
    if points.is_empty() {
        return;
    }
    blocks.push(Block::Heading("Notes".into()));
    match names {
        Names::Shown => blocks.push(Block::Points(points)),
        Names::LeftOut => {
            let n = counted(points.len(), "note is", "notes are");
            blocks.push(Block::Text(format!("{n} left out with the names.")));
        }
    }
}
