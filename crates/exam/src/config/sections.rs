//! The parts of an exam file.
//!
//! Here: what each key of `[exam]` and `[[method]]` means, and the defaults. Not here: reading a value
//! ([`procedure::reading`], [`super::reader`]).
//!
//! **Invariant:** a method's own key has the last word; what it leaves out the exam says; what that leaves out is the
//! common practice stated in the handbook.

use std::ops::Range;

use procedure::Procedure;
use procedure::diagnose::Diagnostic;
use procedure::nearest::nearest;
use procedure::reading::{Key, Part, Reader, listed, said};
use quantity::{Exact, Span, System};
use toml::de::{DeTable, DeValue};

use super::reader::{day_of, lines, span_of, whole_of};
use super::{Exam, Find, LANGUAGE, MethodRule, NotSeen, PassRule, Told};
use crate::roster::STATIONS_AT_MOST;

const ROOT_KEYS: &[&str] = &["exam", "method"];
const EXAM_KEYS: &[&str] = &[
    "title",
    "language",
    "date",
    "place",
    "system",
    "trials_at_most",
    "pass",
    "told",
    "not_seen",
    "time_limit",
    "stations",
    "raters",
];
const METHOD_KEYS: &[&str] = &[
    "id",
    "system",
    "time_limit",
    "trials_at_most",
    "pass",
    "told",
    "critical",
    "leave_out",
    "ask_always",
    "mark_also",
];
const SYSTEMS: &[(&str, System)] = &[("inch-pound", System::InchPound), ("SI", System::Si)];

/// Common practice: two trials, then a re-examination.
const TRIALS: u32 = 2;
/// More trials than this are no exam.
const TRIALS_AT_MOST: u32 = 9;
/// The method that is told aloud by common practice.
const TOLD_ALOUD: &str = "sampling";
const METHODS_AT_MOST: usize = 30;

/// What the exam says about telling.
#[derive(Copy, Clone)]
enum ToldRule {
    WhereAllowed,
    All,
    Nothing,
}

/// What the exam says for methods that say nothing.
struct Defaults {
    system: Option<System>,
    system_missed: bool,
    trials: u32,
    pass: PassRule,
    told: ToldRule,
    time_limit: Option<Span>,
}

pub(super) fn exam<'t, 'p>(
    reader: &mut Reader<'t>,
    table: &'t DeTable<'t>,
    find: Option<Find<'_, 'p>>,
) -> Option<Exam> {
    let root = reader.table(table, "an exam file", 0..0, ROOT_KEYS);
    let part = match root.key("exam") {
        Some(key) => reader.part(key.value, "[exam]", EXAM_KEYS)?,
        None => {
            reader.push(
                Diagnostic::error("missing-key", "there is no [exam] header")
                    .at(0..0, "expected [exam] above the rest")
                    .help("write [exam], and below it the title: title = \"Practical exam, spring class\""),
            );
            return None;
        }
    };
    if let Some(language) = whole_of(reader, &part, "language", 1, 1_000)
        && language > LANGUAGE
    {
        let at = part.key("language").map_or(0..0, |key| reader.place(key.value));
        reader.faults.clear();
        reader.push(
            Diagnostic::error("language-version", format!("this exam file is written in version {language}"))
                .at(at, format!("this program reads version {LANGUAGE}"))
                .help("use a newer version of the program; the file itself may be right"),
        );
        return None;
    }
    let title = reader.need(&part, "title", "title = \"Practical exam, spring class\"").cloned();
    let title = title.and_then(|key| reader.line("title", key.value)).map(str::to_owned);
    let system = reader.word_of(&part, "system", SYSTEMS);
    let told_words = [("where-allowed", ToldRule::WhereAllowed), ("all", ToldRule::All), ("none", ToldRule::Nothing)];
    let told = part.key("told").map(|key| key.value).and_then(|value| reader.word("told", value, &told_words, ""));
    let not_seen_words = [("open", NotSeen::Open), ("missed", NotSeen::Missed)];
    let not_seen = part.key("not_seen").map(|key| key.value);
    let not_seen = not_seen.and_then(|value| reader.word("not_seen", value, &not_seen_words, ""));
    let raters = part.key("raters").map(|key| key.value);
    let raters = raters.map(|value| lines(reader, "raters", value, "[\"A. Rater\", \"B. Rater\"]")).unwrap_or_default();
    let defaults = Defaults {
        system,
        // A unit system that is misspelt was said already.
        system_missed: part.key("system").is_some() && system.is_none(),
        trials: whole_of(reader, &part, "trials_at_most", 1, TRIALS_AT_MOST).unwrap_or(TRIALS),
        pass: pass_of(reader, &part).unwrap_or(PassRule::EveryAct),
        told: told.unwrap_or(ToldRule::WhereAllowed),
        time_limit: span_of(reader, &part, "time_limit"),
    };
    let (date, place) = (day_of(reader, &part, "date"), reader.line_of(&part, "place"));
    let stations = whole_of(reader, &part, "stations", 1, u32::from(STATIONS_AT_MOST)).unwrap_or(1);
    let methods = methods(reader, &root, &defaults, find);
    Some(Exam {
        title: title?,
        date,
        place,
        stations: u16::try_from(stations).unwrap_or(1),
        raters: raters.into_iter().map(|(rater, _)| rater.to_owned()).collect(),
        not_seen: not_seen.unwrap_or_default(),
        methods,
    })
}

fn methods<'t, 'p>(
    reader: &mut Reader<'t>,
    root: &Part<'t>,
    defaults: &Defaults,
    find: Option<Find<'_, 'p>>,
) -> Vec<MethodRule> {
    let parts = reader.parts(root, "method", "a method", METHOD_KEYS);
    if root.key("method").is_none() {
        reader.push(
            Diagnostic::error("missing-key", "the exam has no method")
                .at(0..0, "no [[method]] stands in this file")
                .help("write [[method]], and below it its id: id = \"slump\""),
        );
    }
    if parts.len() > METHODS_AT_MOST {
        reader.push(
            Diagnostic::error("too-many", format!("{} methods are more than one exam takes", parts.len()))
                .at(parts[METHODS_AT_MOST].at.clone(), format!("at most {METHODS_AT_MOST}"))
                .help("split the exam"),
        );
    }
    let mut found: Vec<(MethodRule, Range<usize>)> = Vec::new();
    let mut no_system = None;
    for part in &parts {
        let Some(key) = reader.need(part, "id", "id = \"slump\"").cloned() else { continue };
        let Some(id) = reader.line("id", key.value) else { continue };
        let at = reader.place(key.value);
        if let Some((_, first)) = found.iter().find(|(other, _)| other.id == id) {
            reader.push(
                Diagnostic::error("duplicate", format!("the method `{}` is there twice", said(id)))
                    .at(at, "second time")
                    .also(first.clone(), "first time here")
                    .help("a candidate does a method in one unit system: take one of the two away"),
            );
            continue;
        }
        let own = part.key("system").map(|key| key.value);
        let own_missed = own.is_some();
        let own = own.and_then(|value| reader.word("system", value, SYSTEMS, ""));
        let system = own.or(defaults.system);
        if system.is_none() && !own_missed && !defaults.system_missed {
            no_system = no_system.or(Some(at.clone()));
        }
        let rule = MethodRule {
            id: id.to_owned(),
            system: system.unwrap_or(System::InchPound),
            trials_at_most: whole_of(reader, part, "trials_at_most", 1, TRIALS_AT_MOST).unwrap_or(defaults.trials),
            time_limit: span_of(reader, part, "time_limit").or(defaults.time_limit),
            pass: pass_of(reader, part).unwrap_or_else(|| defaults.pass.clone()),
            told: told_of(reader, part).unwrap_or_else(|| told_by(defaults.told, id)),
            critical: names_of(reader, part, "critical"),
            leave_out: names_of(reader, part, "leave_out"),
            ask_always: names_of(reader, part, "ask_always"),
            mark_also: names_of(reader, part, "mark_also"),
        };
        if let Some(find) = find {
            beside_procedure(reader, part, &key, &rule, find);
        }
        warn_useless(reader, part, &rule);
        found.push((rule, at));
    }
    if let Some(at) = no_system {
        reader.push(
            Diagnostic::error("missing-key", "the file does not say in which unit system the methods are")
                .at(at, "inch-pound or SI?")
                .help("add under [exam]: system = \"inch-pound\", or one under this method"),
        );
    }
    found.into_iter().map(|(rule, _)| rule).collect()
}

/// Common practice: the sampling method is told aloud, every other one is done.
fn told_by(rule: ToldRule, id: &str) -> Told {
    match rule {
        ToldRule::WhereAllowed if id == TOLD_ALOUD => Told::All,
        ToldRule::WhereAllowed | ToldRule::Nothing => Told::Nothing,
        ToldRule::All => Told::All,
    }
}

fn told_of<'t>(reader: &mut Reader<'t>, part: &Part<'t>) -> Option<Told> {
    let value = part.key("told")?.value;
    if let DeValue::Array(_) = value.get_ref() {
        let steps = lines(reader, "told", value, "[\"apparatus\"]");
        return Some(Told::Only(steps.into_iter().map(|(step, _)| step.to_owned()).collect()));
    }
    let words = [("all", true), ("none", false)];
    let all = reader.word("told", value, &words, ", or a list of steps")?;
    Some(if all { Told::All } else { Told::Nothing })
}

fn names_of<'t>(reader: &mut Reader<'t>, part: &Part<'t>, name: &str) -> Vec<String> {
    let Some(value) = part.key(name).map(|key| key.value) else { return Vec::new() };
    lines(reader, name, value, "[\"measure\"]").into_iter().map(|(step, _)| step.to_owned()).collect()
}

fn pass_of<'t>(reader: &mut Reader<'t>, part: &Part<'t>) -> Option<PassRule> {
    let value = part.key("pass")?.value;
    let help = "write pass = \"every-act\", or a share such as pass = \"90 %\"";
    let text = match value.get_ref() {
        DeValue::Integer(_) | DeValue::Float(_) => {
            return reader.wrong_kind("pass", value, "text in quotes", "a share has its sign: pass = \"90 %\"");
        }
        _ => reader.line("pass", value)?,
    };
    if text == "every-act" {
        return Some(PassRule::EveryAct);
    }
    let hundred = Exact::from_int(100);
    let share = text.strip_suffix('%').and_then(|number| number.trim().parse::<Exact>().ok());
    let share = share.filter(|share| *share > Exact::zero() && *share <= hundred);
    match share.and_then(|share| share.checked_div(&hundred)) {
        Some(share) => Some(PassRule::Share(share)),
        None => {
            let at = reader.place(value);
            let mut fault = Diagnostic::error("unknown-word", format!("`pass` cannot be \"{}\"", said(text)))
                .at(at, "expected `every-act`, or a share above 0 % and up to 100 %");
            if nearest(text, ["every-act"]).is_some() {
                fault = fault.help("did you mean \"every-act\"?");
            }
            reader.push(fault.help(help));
            None
        }
    }
}

/// What the file names must be in the procedure.
fn beside_procedure<'t, 'p>(
    reader: &mut Reader<'t>,
    part: &Part<'t>,
    id: &Key<'t>,
    rule: &MethodRule,
    find: Find<'_, 'p>,
) {
    let at = reader.place(id.value);
    let Some(procedure): Option<&Procedure> = find(&rule.id) else {
        reader.push(
            Diagnostic::error("unknown-method", format!("there is no procedure `{}`", said(&rule.id)))
                .at(at, "no such procedure")
                .help("the list of procedures shows the ids that may stand here"),
        );
        return;
    };
    let Some(edition) = procedure.edition(rule.system) else {
        let stated: Vec<String> = procedure.editions.iter().map(|edition| edition.system.to_string()).collect();
        reader.push(
            Diagnostic::error("unit-system", format!("`{}` is not stated in {} units", rule.id, rule.system))
                .at(at, format!("it is stated in {}", stated.join(" and ")))
                .help(format!("add under this method: system = \"{}\"", stated.first().map_or("SI", String::as_str))),
        );
        return;
    };
    for (key, name) in rule.unknown_names(edition) {
        let Some(value) = part.key(key).map(|key| key.value) else { continue };
        let places = match value.get_ref() {
            DeValue::Array(items) => items.iter().find(|item| item.get_ref().as_str().map(str::trim) == Some(name)),
            _ => None,
        };
        let at = places.map_or_else(|| reader.place(value), |place| reader.place(place));
        let limits: Vec<String> = edition.limits.iter().map(|limit| format!("limit:{}", limit.id)).collect();
        let steps = edition.steps.iter().map(|step| step.id.as_str());
        let mut fault = Diagnostic::error("unknown-step", format!("`{}` has no step `{}`", rule.id, said(name)))
            .at(at, "no step of this procedure");
        if let Some(near) = nearest(name, steps.chain(limits.iter().map(String::as_str))) {
            fault = fault.help(format!("did you mean \"{near}\"?"));
        } else {
            let steps: Vec<&str> = edition.steps.iter().map(|step| step.id.as_str()).collect();
            fault = fault.help(format!("its steps: {}", listed(&steps)));
        }
        reader.push(fault);
    }
}

/// Rules that change nothing are probably meant otherwise.
fn warn_useless<'t>(reader: &mut Reader<'t>, part: &Part<'t>, rule: &MethodRule) {
    for name in rule.critical.iter().filter(|name| rule.leave_out.contains(name)) {
        let at = part.key("critical").map_or(0..0, |key| key.at.clone());
        reader.push(
            Diagnostic::error("contradiction", format!("`{}` is critical and left out", said(name)))
                .at(at, "what is not on the sheet cannot be critical")
                .help("take it out of one of the two lists"),
        );
    }
    if rule.pass == PassRule::EveryAct && !rule.critical.is_empty() {
        let at = part.key("critical").map_or(0..0, |key| key.at.clone());
        reader.push(
            Diagnostic::warning("no-effect", "every act must be done, so a critical one is nothing special")
                .at(at, "this changes nothing under pass = \"every-act\"")
                .help("write a share, such as pass = \"90 %\", or take the list away"),
        );
    }
}
