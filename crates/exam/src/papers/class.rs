//! The paper on the class: who passed what, which acts are missed, how well the marks hold.
//!
//! Every figure stands beside the number of people behind it and its 95 % interval, or says why it is undefined. Nothing
//! is called good or poor unless the class is large enough for it.

use sheet::paper::{Bar, Bars, Block, Column, Figure, Holds, Mark as Signed, Matrix, Paper, Row, Sign, Table, Tone};
use statistics::{Estimate, Undefined};

use super::words::{counted, exam_facts, ordinal, sentence, size};
use crate::class::{Agreement, ItemFigures, LEAST_FOR_VERDICTS, MethodFigures, Statistics, WhyNot, words_for_d};
use crate::{MarkSheet, Names, Standing, State};

/// No more acts than this are drawn as the most missed; the tables below have all of them.
const MOST: usize = 8;

/// The paper on the class, worked out from the marks as they stand.
pub fn render(state: &State, names: Names) -> Paper {
    of(state, &Statistics::of(state), names)
}

/// The paper on the class with its figures already worked out.
pub fn of(state: &State, figures: &Statistics, names: Names) -> Paper {
    let people = state.roster().candidates.len();
    let mut facts = exam_facts(state).split_off(1);
    facts.push(("Candidates".into(), people.to_string()));
    facts.push((
        "Trials".into(),
        state.trials().filter(|view| view.trial.counts() && view.trial.scores.is_none()).count().to_string(),
    ));
    let mut blocks = vec![Block::Figures(large(figures, people))];
    if people < LEAST_FOR_VERDICTS {
        blocks.push(Block::Note(format!(
            "{}: too few to judge an act or a method by these figures, so none is called good or poor. The intervals show \
             how far the figures can be trusted.",
            counted(people, "candidate", "candidates")
        )));
    }
    blocks.push(Block::Heading("Results".into()));
    blocks.push(Block::Matrix(matrix(state, figures, names)));
    blocks.push(Block::Heading("Methods".into()));
    blocks.push(Block::Table(methods(state, figures)));
    blocks.push(Block::Note(
        "First trials only. KR-20 says how far the acts of a sheet go together, over the sheets with a mark for every act \
         asked of everybody; n is their number."
            .into(),
    ));
    most_missed(state, figures, &mut blocks);
    acts(state, figures, &mut blocks);
    windows(state, figures, &mut blocks);
    agreement(state, &figures.agreement, names, &mut blocks);
    Paper {
        kind: "Mock practical exam".into(),
        title: "Class results".into(),
        subtitle: state.exam().title.clone(),
        facts,
        blocks,
        foot: super::foot(names),
        size: size(state),
    }
}

fn large(figures: &Statistics, people: usize) -> Vec<Figure> {
    let count =
        |is: &dyn Fn(&Standing) -> bool| figures.matrix.iter().flatten().filter(|cell| is(&cell.standing)).count();
    let all = figures
        .matrix
        .iter()
        .filter(|row| !row.is_empty() && row.iter().all(|cell| matches!(cell.standing, Standing::Passed { .. })))
        .count();
    let figure = |figure: String, words: &str| Figure { figure, words: words.to_owned(), tone: Tone::Plain };
    let again = count(&|standing| matches!(standing, Standing::Due { number } if *number > 1));
    let anew = count(&|standing| matches!(standing, Standing::ReExamination { .. }));
    let open = count(&|standing| {
        matches!(standing, Standing::Due { number: 1 } | Standing::UnderWay { .. } | Standing::Undecided { .. })
    });
    vec![
        figure(format!("{all} of {people}"), "passed every method"),
        figure(again.to_string(), if again == 1 { "further trial due" } else { "further trials due" }),
        figure(anew.to_string(), if anew == 1 { "re-examination due" } else { "re-examinations due" }),
        figure(open.to_string(), if open == 1 { "method not begun or open" } else { "methods not begun or open" }),
    ]
}

/// A short name of a method: its id in words.
fn name(sheet: &MarkSheet) -> String {
    sentence(&sheet.method.replace('-', " "))
}

fn sign(standing: &Standing) -> (Signed, String) {
    let of = |sign, letters: String, words: String| (Signed { sign, letters }, words);
    match standing {
        Standing::Passed { number, .. } => {
            of(Sign::Good, format!("P{number}"), format!("passed at the {} trial", ordinal(*number)))
        }
        Standing::Due { number: 1 } => of(Sign::None, "–".into(), "not begun".into()),
        Standing::Due { number } => of(Sign::Open, format!("D{number}"), format!("{} trial due", ordinal(*number))),
        Standing::UnderWay { number, .. } => {
            of(Sign::Told, format!("U{number}"), format!("{} trial under way", ordinal(*number)))
        }
        Standing::Undecided { number, .. } => {
            of(Sign::Told, format!("O{number}"), format!("{} trial open, acts seen by nobody", ordinal(*number)))
        }
        Standing::ReExamination { .. } => of(Sign::Bad, "RE".into(), "re-examination due".into()),
    }
}

fn matrix(state: &State, figures: &Statistics, names: Names) -> Matrix {
    let mut legend: Vec<(Signed, String)> = Vec::new();
    let people = state.roster().candidates.iter().zip(&figures.matrix);
    let rows = people.map(|(candidate, cells)| {
        let signs = cells.iter().map(|cell| {
            let key = sign(&cell.standing);
            if !legend.contains(&key) {
                legend.push(key.clone());
            }
            key.0
        });
        (names.of(candidate), signs.collect())
    });
    let rows = rows.collect();
    legend.sort_by(|(one, _), (other, _)| one.letters.cmp(&other.letters));
    Matrix {
        caption: String::new(),
        corner: "Candidate".into(),
        columns: state.sheets().iter().map(name).collect(),
        rows,
        legend,
    }
}

/// A figure with its number and interval, or why there is none.
fn said<E: std::fmt::Display>(figure: &Result<Estimate, E>) -> String {
    match figure {
        // A number and its sign stay on one line.
        Ok(figure) => figure.to_string().replace("n = ", "n\u{a0}=\u{a0}").replace("95 % ", "95\u{a0}%\u{a0}"),
        Err(why) => format!("undefined: {why}"),
    }
}

fn row(cells: Vec<String>) -> Row {
    Row { cells, tone: Tone::Plain }
}

fn methods(state: &State, figures: &Statistics) -> Table {
    let columns = vec![
        Column::new("Method", Holds::Lead, 17),
        Column::new("Passed at the first trial", Holds::Small, 27),
        Column::new("Time, median", Holds::Number, 11),
        Column::new("Shortest to longest", Holds::Small, 22),
        Column::new("Reliability, KR-20", Holds::Small, 27),
    ];
    let rows = figures.methods.iter().filter_map(|one| {
        let sheet = state.sheets().get(one.method)?;
        let median = one.times.median.map_or_else(|| "–".to_owned(), |median| median.clock());
        let mut range = match one.times.range {
            Some((least, most)) => format!("{} to {} (n = {})", least.clock(), most.clock(), one.times.n),
            None => "nobody yet".to_owned(),
        };
        if let Ok((low, high)) = one.times.interval {
            range.push_str(&format!("; median 95\u{a0}%\u{a0}{} to {}", low.clock(), high.clock()));
        }
        let mut passed = said(&one.passed_first);
        if one.broken_off > 0 {
            passed.push_str(&format!("; {} broken off", one.broken_off));
        }
        Some(row(vec![name(sheet), passed, median, range, said(&one.reliability)]))
    });
    Table { caption: String::new(), columns, rows: rows.collect() }
}

/// A share as thousandths, to be drawn.
#[expect(clippy::float_arithmetic, reason = "a share is drawn, and said in words beside it")]
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "it is held between 0 and 1,000")]
fn thousandths(share: f64) -> u16 {
    (share * 1000.0).round().clamp(0.0, 1000.0) as u16
}

/// What was missed most often, drawn with the interval of the share missed.
fn most_missed(state: &State, figures: &Statistics, blocks: &mut Vec<Block>) {
    blocks.push(Block::Heading("Acts missed most often".into()));
    if figures.most_missed.is_empty() {
        blocks.push(Block::Text("No act was missed at a first trial.".into()));
        return;
    }
    let bars = figures.most_missed.iter().take(MOST).filter_map(|act| {
        let sheet = state.sheets().get(act.method)?;
        let item = sheet.items.get(act.item)?;
        let right = figures.methods.get(act.method)?.items.get(act.item)?.difficulty.ok();
        let interval = right.and_then(|right| right.interval.ok());
        // The share missed is what is left of the share right.
        let between = interval.map(|right| (1000 - thousandths(right.high), 1000 - thousandths(right.low)));
        let words = match between {
            Some((low, high)) => {
                format!("{} of {} (95 % {} to {} %)", act.missed, act.n, percent(low), percent(high))
            }
            None => format!("{} of {}", act.missed, act.n),
        };
        Some(Bar {
            label: format!("{}: {}", name(sheet), item.short.trim_end_matches('.')),
            per_mille: u16::try_from(act.missed * 1000 / act.n.max(1)).ok(),
            between,
            words,
        })
    });
    blocks.push(Block::Bars(Bars { caption: String::new(), rows: bars.collect() }));
    let more = match figures.most_missed.len().saturating_sub(MOST) {
        0 => String::new(),
        1 => " 1 more act was missed; it stands in the tables below.".to_owned(),
        n => format!(" {n} more acts were missed; they stand in the tables below."),
    };
    blocks.push(Block::Note(format!("First trials only; the line shows the 95 % interval of the share.{more}")));
}

/// Thousandths as whole per cent.
fn percent(per_mille: u16) -> u16 {
    (per_mille + 5) / 10
}

/// Difficulty and discrimination, for the acts in which anything varies.
fn acts(state: &State, figures: &Statistics, blocks: &mut Vec<Block>) {
    blocks.push(Block::Heading("Act by act".into()));
    let judges = figures.methods.iter().any(MethodFigures::may_judge);
    let mut text = "Share right: how many did the act or told it. Discrimination: how far those who did it were right in the \
         other acts too, as a correlation from −1 to 1. D: the share right among the best 27 % less that among the last \
         27 %, a second view of the same."
        .to_owned();
    if judges {
        text.push_str(&format!(
            " Words beside D are the usual bands (Ebel), given from {LEAST_FOR_VERDICTS} complete sheets on. An act \
             that nearly everybody does right has a low D whatever it is worth."
        ));
    }
    let tied = figures.methods.iter().flat_map(|method| &method.items).filter_map(|item| item.d.ok());
    if tied.into_iter().any(|d| d.upper.is_arbitrary() || d.lower.is_arbitrary()) {
        text.push_str(" People with the same total at the edge of a group share its places.");
    }
    blocks.push(Block::Note(text));
    for method in &figures.methods {
        let Some(sheet) = state.sheets().get(method.method) else { continue };
        blocks.push(Block::Subheading(sheet.title.clone()));
        let sheets = counted(method.first_trials, "finished first trial", "finished first trials");
        let mut said = format!("{sheets}, {} of them with a mark for every act asked of everybody.", method.complete);
        let (varied, even): (Vec<&ItemFigures>, Vec<&ItemFigures>) =
            method.items.iter().partition(|item| item.missed > 0 || item.not_seen > 0);
        said.push_str(&never_missed(&even));
        if !varied.is_empty() {
            blocks.push(Block::Table(act_table(sheet, method, &varied)));
        }
        blocks.push(Block::Note(said));
    }
}

/// What is said of acts that nobody missed, so that they need no row each.
fn never_missed(even: &[&ItemFigures]) -> String {
    let seen: Vec<&&ItemFigures> = even.iter().filter(|item| item.n > 0).collect();
    let mut text = String::new();
    if let (Some(least), Some(most)) = (seen.iter().map(|item| item.n).min(), seen.iter().map(|item| item.n).max()) {
        let n = if least == most { least.to_string() } else { format!("{least} to {most}") };
        let low = seen.iter().find(|item| item.n == least).and_then(|item| item.difficulty.ok()?.low());
        let low = low.map(|low| format!(", 95 % from {low:.2} up")).unwrap_or_default();
        let acts = counted(seen.len(), "act was", "acts were");
        text.push_str(&format!(
            " {acts} missed by nobody (n = {n}{low}); discrimination is undefined there, since nothing varies."
        ));
    }
    let (some, others): (Vec<&ItemFigures>, Vec<&ItemFigures>) = even
        .iter()
        .filter(|item| item.n == 0)
        .partition(|item| matches!(item.discrimination, Err(WhyNot::AskedOfSome)));
    if !some.is_empty() {
        let acts =
            counted(some.len(), "act asked in some performances only has", "acts asked in some performances only have");
        text.push_str(&format!(" {acts} no mark."));
    }
    if !others.is_empty() {
        text.push_str(&format!(" {} no mark yet.", counted(others.len(), "act has", "acts have")));
    }
    text
}

fn act_table(sheet: &MarkSheet, method: &MethodFigures, items: &[&ItemFigures]) -> Table {
    let columns = vec![
        Column::new("Act", Holds::Words, 34),
        Column::new("Missed", Holds::Number, 11),
        Column::new("Share right", Holds::Small, 22),
        Column::new("Discrimination, item–rest", Holds::Small, 22),
        Column::new("D, 27 % groups", Holds::Small, 22),
    ];
    let rows = items.iter().filter_map(|figures| {
        let item = sheet.items.get(figures.item)?;
        let mut missed = format!("{} of {}", figures.missed, figures.n);
        if figures.not_seen > 0 {
            missed.push_str(&format!(", {} not seen", figures.not_seen));
        }
        let d: Result<Estimate, WhyNot> = figures.d.map(|d| d.d);
        let mut d_words = said(&d);
        if let Some(words) = figures.d.ok().and_then(|d| words_for_d(&d, method.complete)) {
            d_words.push_str(&format!(": {words}"));
        }
        let cells = vec![
            item.short.trim_end_matches('.').to_owned(),
            missed,
            said(&figures.difficulty),
            said(&figures.discrimination),
            d_words,
        ];
        Some(row(cells))
    });
    Table { caption: String::new(), columns, rows: rows.collect() }
}

fn windows(state: &State, figures: &Statistics, blocks: &mut Vec<Block>) {
    let mut rows = Vec::new();
    for method in &figures.methods {
        let Some(sheet) = state.sheets().get(method.method) else { continue };
        for one in method.windows.iter().filter(|one| one.n > 0) {
            let Some(window) = sheet.windows.get(one.window) else { continue };
            let late = format!("{} of {}", one.late, one.n);
            rows.push(row(vec![name(sheet), window.text.clone(), late, said(&one.kept)]));
        }
    }
    if rows.is_empty() {
        return;
    }
    let columns = vec![
        Column::new("Method", Holds::Lead, 18),
        Column::new("Limit", Holds::Words, 42),
        Column::new("Late", Holds::Number, 10),
        Column::new("Share kept", Holds::Small, 30),
    ];
    blocks.push(Block::Heading("Time limits between acts".into()));
    blocks.push(Block::Table(Table { caption: String::new(), columns, rows }));
}

fn agreement(state: &State, agreement: &Agreement, names: Names, blocks: &mut Vec<Block>) {
    blocks.push(Block::Heading("Agreement of raters".into()));
    if agreement.trials.is_empty() {
        let why = Undefined::NoPairs;
        blocks.push(Block::Text(format!("Undefined: {why}.")));
        return;
    }
    blocks.push(Block::Points(vec![
        format!("Marks alike: {}.", said(&agreement.alike)),
        format!("Cohen’s kappa, agreement beyond chance: {}.", said(&agreement.kappa)),
    ]));
    blocks.push(Block::Note(
        "n counts acts that both raters judged. Acts of one performance hang together, so the intervals over all are rather \
         too short. Where nearly all marks are the same, kappa is low or undefined even if raters seldom differ: read it \
         beside the share alike."
            .into(),
    ));
    let columns = vec![
        Column::new("Candidate", Holds::Words, 24),
        Column::new("Trial", Holds::Words, 20),
        Column::new("Alike", Holds::Small, 26),
        Column::new("Kappa", Holds::Small, 30),
    ];
    let rows = agreement.trials.iter().filter_map(|two| {
        let first = state.trial(&two.first)?;
        let mut alike = said(&two.alike);
        if two.one_sided > 0 {
            alike.push_str(&format!("; {} judged by one rater only", two.one_sided));
        }
        let trial = format!("{}, {}", name(first.sheet), first.trial.number);
        Some(row(vec![names.of(first.candidate()), trial, alike, said(&two.kappa)]))
    });
    let table = Table { caption: "Each trial with a second rater".into(), columns, rows: rows.collect() };
    blocks.push(Block::Table(table));
}
