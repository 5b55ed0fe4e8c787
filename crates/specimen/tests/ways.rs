//! Every branch of every shipped procedure can be practised: a way is found to it, and the run itself says that it came
//! about.

#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::sync::Arc;

use engine::{Entry, FindingKind, Phase, Run};
use procedure::{Consequence, Edition, Procedure, Wants};
use quantity::System;
use specimen::ways::{
    Branch, BranchKind, Performed, Told, Ways, branches, by_seed, clean, meets, meets_with, perform, way_to,
};

fn shipped() -> Vec<Procedure> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let mut files: Vec<_> = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|ext| ext == "toml"));
    files.sort();
    let read = |file: &std::path::PathBuf| {
        let text = fs::read_to_string(file).unwrap();
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        procedure::check(&name, &text).procedure.unwrap_or_else(|| panic!("{name} is sound"))
    };
    files.iter().map(read).collect()
}

fn editions() -> Vec<Arc<Edition>> {
    shipped().into_iter().flat_map(|procedure| procedure.editions).map(Arc::new).collect()
}

/// Branches no run can take, and why. Each is a plain check that can never bite with the instruments and figures as the
/// procedure has them; a site that sets a figure otherwise may wake it.
const CANNOT_COME_ABOUT: [(&str, &str, &str); 3] = [
    ("air-meter-check", "canister.rule-1", "the largest canister that can be typed is smaller than the smallest bowl"),
    ("cylinders", "size.rule-2", "aggregate that is over a third of the small mould is refused by the rule above it"),
    ("cylinders", "consolidation.rule-2", "no slump over the height of the cone can be typed"),
];

fn is_dead(edition: &Edition, branch: &Branch) -> bool {
    CANNOT_COME_ABOUT.iter().any(|(method, id, _)| edition.id == *method && branch.id == *id)
}

fn name(edition: &Edition, branch: &Branch) -> String {
    format!("{} in {}: {} ({})", edition.id, edition.system, branch.title, branch.id)
}

/// The words that must stand in the run, where the procedure has them without places to fill in.
fn words(edition: &Edition, kind: BranchKind) -> Option<(String, Where)> {
    let of = |then: &Consequence| match then {
        Consequence::Refuse(text) => Some((text.as_plain()?.to_owned(), Where::Refused)),
        Consequence::Finding(text) => Some((text.as_plain()?.to_owned(), Where::Noted)),
        Consequence::End(ending) => Some((ending.because.as_plain()?.to_owned(), Where::Ended)),
        Consequence::Back { .. } => None,
    };
    match kind {
        BranchKind::Rule { step, rule } => of(&edition.step(step).rules[usize::from(rule)].then),
        BranchKind::BackTooOften { step, rule } => match &edition.step(step).rules[usize::from(rule)].then {
            Consequence::Back { otherwise, .. } => Some((otherwise.because.as_plain()?.to_owned(), Where::Ended)),
            _ => None,
        },
        BranchKind::Limit { limit } => of(&edition.limits[usize::from(limit)].otherwise),
        BranchKind::Incident { incident } => {
            Some((edition.incidents[usize::from(incident)].ending.because.as_plain()?.to_owned(), Where::Ended))
        }
        BranchKind::ResultRule { result, rule } => {
            of(&edition.results[usize::from(result)].rules[usize::from(rule)].then)
        }
        BranchKind::Timed { step, .. } => match &edition.step(step).wants {
            Wants::Timed { otherwise, .. } => of(otherwise),
            _ => None,
        },
        _ => None,
    }
}

#[derive(Copy, Clone, Debug, PartialEq, Eq)]
enum Where {
    Refused,
    Noted,
    Ended,
}

fn is_said(done: &Performed, said: &str, place: Where) -> bool {
    match place {
        Where::Refused => done.refused.iter().any(|refusal| refusal.because == said),
        Where::Ended => done.run.endings().iter().any(|ended| ended.because == said),
        Where::Noted => done.run.findings().iter().any(|finding| match &finding.what {
            FindingKind::Rule { text } | FindingKind::Late { text, .. } => text == said,
            _ => false,
        }),
    }
}

#[test]
fn every_branch_of_every_shipped_procedure_is_found_and_met() {
    let mut missing = Vec::new();
    let mut n = 0;
    for edition in editions() {
        let ways = Ways::of(&edition);
        for branch in branches(&edition) {
            n += 1;
            let way = match ways.to(&branch, 1) {
                Ok(way) if is_dead(&edition, &branch) => {
                    missing.push(format!("{} can come about after all: {:?}", name(&edition, &branch), way.tells));
                    continue;
                }
                Ok(way) => way,
                Err(_) if is_dead(&edition, &branch) => continue,
                Err(no) => {
                    missing.push(format!("{}: {no}", name(&edition, &branch)));
                    continue;
                }
            };
            let done = perform(&edition, &way);
            let is_met = done.met && meets_with(&done.run, &done.refused, &branch);
            let is_said = words(&edition, branch.kind).is_none_or(|(said, place)| is_said(&done, &said, place));
            if !is_met || !is_said {
                missing.push(format!("{} does not come about on its way", name(&edition, &branch)));
            }
        }
    }
    assert!(missing.is_empty(), "of {n}:\n{}", missing.join("\n"));
    assert!(n > 900, "the shipped procedures have many branches, not {n}");
}

#[test]
fn a_way_comes_to_an_end_the_same_each_time_and_nothing_is_refused_but_what_it_is_about() {
    for edition in editions() {
        let ways = Ways::of(&edition);
        for branch in branches(&edition) {
            let Ok(way) = ways.to(&branch, 2) else { continue };
            let of = name(&edition, &branch);
            assert_eq!(ways.to(&branch, 2).as_ref(), Ok(&way), "{of}: the same seed, the same way");
            let (first, second) = (perform(&edition, &way), perform(&edition, &way));
            assert_eq!(first.log, second.log, "{of}");
            assert!(matches!(first.run.phase(), Phase::Closed { .. }), "{of} ends at {:?}", first.run.phase());
            let at = first.at.unwrap_or_else(|| panic!("{of} is met"));
            assert!(at <= first.log.len(), "{of}");
            let is_refusal = match branch.kind {
                BranchKind::Rule { step, rule } => {
                    matches!(edition.step(step).rules[usize::from(rule)].then, Consequence::Refuse(_))
                }
                BranchKind::Need { .. } | BranchKind::NoChange { .. } => true,
                _ => false,
            };
            assert_eq!(first.refused.len(), usize::from(is_refusal), "{of}: {:?}", first.refused);
            // The events alone give the same run: nothing was done behind the engine's back.
            let mut again = Run::open(edition.clone(), quantity::Ties::Even, first.run.opened());
            for (event, moment) in &first.log {
                again.apply(event.clone(), *moment).unwrap_or_else(|refused| panic!("{of}: {refused}"));
            }
            assert!(again.same_state(&first.run), "{of}");
        }
    }
}

#[test]
fn an_ordinary_day_has_usual_values_a_result_and_nothing_to_note() {
    let mut unusual = BTreeSet::new();
    for edition in editions() {
        let mut ways = Vec::new();
        for seed in 0..4 {
            let way = clean(&edition, seed).unwrap_or_else(|no| panic!("{} in {}: {no}", edition.id, edition.system));
            for tell in &way.tells {
                let Told::Value { reading, entry } = &tell.told else {
                    panic!("{}: {:?} on a clean way", edition.id, tell.told)
                };
                let reading = edition.reading(*reading);
                if let (Entry::Number(value), Some((low, high))) = (entry, reading.typical)
                    && !(low..=high).contains(value)
                {
                    unusual.insert(format!("{} {}", edition.id, reading.id));
                }
            }
            let done = perform(&edition, &way);
            assert_eq!((done.run.attempt(), done.run.endings().len()), (1, 0), "{}", edition.id);
            let has_sure_result = edition.results.iter().any(|result| result.when.is_none());
            assert!(!has_sure_result || !done.run.results().is_empty(), "{} reports something", edition.id);
            // What may come about on a clean way: steps done and left out, results reported and not, and their rules.
            for branch in branches(&edition) {
                let may_be = matches!(
                    branch.kind,
                    BranchKind::Clean
                        | BranchKind::Condition { .. }
                        | BranchKind::Result { .. }
                        | BranchKind::ResultRule { .. }
                );
                assert!(may_be || !meets(&done.run, &branch), "clean, and yet {}", name(&edition, &branch));
            }
            ways.push(way.tells);
        }
        let has_room = edition.readings.iter().any(|reading| reading.typical.is_some_and(|(low, high)| low < high));
        ways.dedup();
        assert!(!has_room || ways.len() > 1, "{}: another seed, another day", edition.id);
    }
    // Counts that have to add up leave what is usual where the other counts are as they are.
    unusual.remove("cylinders n_28");
    assert_eq!(unusual, BTreeSet::new());
}

#[test]
fn a_reason_stands_for_one_rule_of_its_step_so_that_the_run_says_which_it_was() {
    for edition in editions() {
        for step in &edition.steps {
            let texts = step.rules.iter().filter_map(|rule| match &rule.then {
                Consequence::Refuse(_) => None,
                Consequence::Finding(text) => Some(format!("noted {text:?}")),
                Consequence::End(ending) => Some(format!("ended {:?}", ending.because)),
                Consequence::Back { to, .. } => Some(format!("back to {to:?}")),
            });
            let mut texts: Vec<_> = texts.collect();
            let n = texts.len();
            texts.sort();
            texts.dedup();
            assert_eq!(texts.len(), n, "{}: {}", edition.id, step.id);
        }
    }
}

#[test]
fn every_branch_has_its_own_name_and_is_told_in_words() {
    for edition in editions() {
        let all = branches(&edition);
        let mut ids: Vec<_> = all.iter().map(|branch| &branch.id).collect();
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), all.len(), "{}", edition.id);
        assert!(all.iter().all(|branch| branch.title.chars().count() > 8), "{all:#?}");
    }
}

fn edition_of(method: &str, system: System) -> Arc<Edition> {
    let found = editions().into_iter().find(|edition| edition.id == method && edition.system == system);
    found.unwrap_or_else(|| panic!("{method} in {system}"))
}

fn branch_of(edition: &Edition, id: &str) -> Branch {
    branches(edition).into_iter().find(|branch| branch.id == id).unwrap_or_else(|| panic!("{id}"))
}

#[test]
fn seeds_lead_to_the_rare_branches_as_often_as_to_the_others() {
    let edition = edition_of("air-volumetric", System::InchPound);
    let all = branches(&edition);
    let mut counts: BTreeMap<String, u32> = BTreeMap::new();
    let n = 40 * u32::try_from(all.len()).unwrap();
    for seed in 0..u64::from(n) {
        *counts.entry(by_seed(&edition, seed).unwrap().branch.id).or_default() += 1;
    }
    assert_eq!(counts.len(), all.len(), "each comes up: {counts:?}");
    assert!(counts.values().all(|count| (15..=80).contains(count)), "none is rarer than chance makes it: {counts:?}");
}

#[test]
fn a_level_that_never_settles_sinks_and_the_next_attempt_has_more_alcohol() {
    let edition = edition_of("air-volumetric", System::InchPound);
    let way = way_to(&edition, &branch_of(&edition, "settle.give-up"), 3).unwrap();
    let values = |name: &str, attempt: u16| -> Vec<quantity::Decimal> {
        let id = edition.reading_named(name).unwrap();
        let numbers = way.tells.iter().filter(|tell| tell.attempt == attempt).filter_map(|tell| match &tell.told {
            Told::Value { reading, entry: Entry::Number(value) } if *reading == id => Some(*value),
            _ => None,
        });
        numbers.collect()
    };
    let level = values("level", 1);
    assert!(level.len() >= 3 && level.windows(2).all(|pair| pair[1] < pair[0]), "{level:?}");
    assert!(values("alcohol", 2)[0] > values("alcohol", 1)[0]);
    assert!(perform(&edition, &way).run.results().len() == 1, "and so it comes to a result");
}

#[test]
fn a_limit_is_passed_by_losing_time_at_one_step_where_it_hurts_nothing_else() {
    for edition in editions() {
        for branch in branches(&edition) {
            let BranchKind::Limit { limit } = branch.kind else { continue };
            let spec = &edition.limits[usize::from(limit)];
            let way = way_to(&edition, &branch, 5).unwrap();
            let late: Vec<_> = way.tells.iter().filter(|tell| matches!(tell.told, Told::Late { .. })).collect();
            assert!(matches!(late[..], [tell] if spec.from < tell.step && tell.step <= spec.to), "{late:?}");
            let done = perform(&edition, &way);
            let others = done.run.endings().iter().filter(|ended| ended.step != spec.to).count();
            assert_eq!(others, 0, "{}", name(&edition, &branch));
        }
    }
}

#[test]
fn an_instructor_reads_beforehand_what_will_happen() {
    let edition = edition_of("air-volumetric", System::InchPound);
    let says = |id: &str| way_to(&edition, &branch_of(&edition, id), 1).unwrap().says(&edition);
    for (id, line) in [
        ("incident-leak", "Liquid leaks from the cap or the clamp"),
        ("settle.added", "Added "),
        ("invert.down-too-long", "in the limited position, once"),
        ("limit-start-of-test", "are lost before"),
        ("inspect.rule-1", "Yes, some is left"),
        ("inspect.rule-1", "Attempt 2:"),
    ] {
        let lines = says(id);
        assert!(lines.iter().any(|said| said.contains(line)), "{id}: {lines:#?}");
    }
}

/// An invented procedure with what no shipped one has: a need, a hold with an end, a finding for a wrong time, a new
/// attempt judged by a number of the one before, sums, and a rule that can never bite.
const INVENTED: &str = r#"
[procedure]
id       = "bucket"
title    = "Water in a bucket, invented"
language = 1
version  = "1"
systems  = ["SI"]
basis    = [{ designation = "None: made up" }]
attempts_at_most = 3
attempts_source  = "ours"
[source.ours]
title = "Invented"
[reading.level]
ask = "Level"
unit = "mm"
graduation = "1"
range = ["0", "300"]
typical = ["100", "120"]
source = "ours"
[reading.drop]
ask = "How far has it fallen?"
unit = "mm"
graduation = "1"
range = ["0", "300"]
typical = ["5", "10"]
source = "ours"
[reading.clear]
kind = "choice"
ask = "Is it clear?"
choices = [{ id = "yes", label = "Clear", key = "y" }, { id = "no", label = "Cloudy", key = "n" }]
[value.share]
title = "Share that is gone"
is = "drop * 100 % / level"
unit = "%"
[result.left]
title = "What is left"
is = "level - drop"
unit = "mm"
report = { nearest = "1" }
terms = []
source = "ours"
  [[result.left.rule]]
  if = "abs(left - 37 mm) < 1 mm"
  finding = "Just thirty-seven are left"
  source = "ours"
[again.refill]
from = "fill"
say = "Fill it again"
[[stage]]
id = "work"
title = "Work"
  [[stage.step]]
  id = "fill"
  do = "Fill it to the mark and read the level"
  read = "level"
    [[stage.step.rule]]
    if = "known(level) and was(level) > 0 mm and level > was(level) + 100 mm"
    finding = "Far more than the time before"
    source = "ours"
  [[stage.step]]
  id = "look"
  do = "Look whether it is clear"
  read = "clear"
  [[stage.step]]
  id = "stir"
  do = "Stir it for a while"
  hold = { at_least = "10 s", at_most = "20 s" }
  source = "ours"
  [[stage.step]]
  id = "pour"
  do = "Pour slowly"
  timed = { at_least = "5 s", at_most = "8 s", finding = "Poured at the wrong pace" }
  needs = [{ that = "clear == yes", because = "Only clear water is poured" }]
  source = "ours"
  [[stage.step]]
  id = "fallen"
  do = "Read how far it has fallen"
  read = "drop"
    [[stage.step.rule]]
    if = "drop > level"
    refuse = "It cannot fall by more than there was"
    source = "ours"
    [[stage.step.rule]]
    if = "share > 61 % and share < 62 %"
    discard = "Nearly the golden part is gone"
    again = "refill"
    source = "ours"
    [[stage.step.rule]]
    if = "drop > 300 mm"
    finding = "Never"
    source = "ours"
"#;

#[test]
fn the_ways_of_any_procedure_are_found_and_what_cannot_be_is_said_so() {
    let checked = procedure::check("bucket.toml", INVENTED);
    let procedure = checked.procedure.unwrap_or_else(|| panic!("{:#?}", checked.diagnostics));
    let edition = Arc::new(procedure.editions[0].clone());
    let mut not_found = Vec::new();
    for branch in branches(&edition) {
        match way_to(&edition, &branch, 11) {
            Ok(way) => {
                let done = perform(&edition, &way);
                assert!(done.met, "{branch:?}");
                assert!(matches!(done.run.phase(), Phase::Closed { .. }), "{branch:?}");
            }
            Err(no) => not_found.push(no),
        }
    }
    assert!(matches!(&not_found[..], [no] if no.branch.id == "fallen.rule-3" && no.n_tried > 0), "{not_found:#?}");
    let kinds: Vec<_> = branches(&edition).into_iter().map(|branch| branch.id).collect();
    for id in ["pour.need-1", "stir.held-too-long", "pour.too-quick", "pour.too-slow", "fill.rule-1", "again-refill"] {
        assert!(kinds.iter().any(|kind| kind == id), "{id} is among {kinds:?}");
    }
}
