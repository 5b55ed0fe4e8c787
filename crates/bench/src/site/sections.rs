//! The parts of a site file but its limits.
//!
//! Here: what each key of `[site]`, `[mixture]`, `[sampling]`, `[[apparatus]]`, `[[technician]]`, `[delivery]`,
//! `[figures.METHOD]` and `[specimens]` means. Not here: reading a value
//! ([`procedure::reading`], [`super::reader`]).
//!
//! **Invariant:** what a person left out stays out; nothing is filled in from elsewhere.

use std::ops::Range;

use procedure::diagnose::Diagnostic;
use procedure::nearest::nearest;
use procedure::reading::{Part, Value, listed, said};
use quantity::{System, Ties};
use toml::de::DeValue;

use super::known::{APPARATUS, AREA, DENSITY, LENGTH, MASS, METHODS, PERCENT, STRENGTH, VESSEL, VOLUME, WATER};
use super::reader::{Reader, span};
use super::{
    Apparatus, Break, Delivery, Ingredient, LANGUAGE, Material, Mixture, Sampling, SetFigure, Specimens, Technician,
};
use crate::verdict::{Conformance, Purpose};

pub(super) const SITE_KEYS: &[&str] =
    &["project", "location", "language", "system", "ties", "compare", "purpose", "people", "tests"];
const MIXTURE_KEYS: &[&str] = &[
    "name",
    "design_air",
    "design_slump",
    "strength",
    "aggregate_size",
    "aggregate_correction",
    "air_free_density",
    "design_volume",
    "batch",
    "relative_density",
    "admixtures",
];
const SAMPLING_KEYS: &[&str] =
    &["every", "every_area", "at_least_per_day", "at_least", "may_be_waived_under", "source"];
const APPARATUS_KEYS: &[&str] = &["kind", "id", "due", "volume", "cup", "record"];
const TECHNICIAN_KEYS: &[&str] = &["name", "certificate", "expires"];
const DELIVERY_KEYS: &[&str] =
    &["time_at_most", "revolutions_at_most", "water_allowed", "revolutions_after_water", "source"];
const SPECIMENS_KEYS: &[&str] = &["kind", "label", "count_by", "break", "reserve"];
const FIGURE_KEYS: &[&str] = &["is", "because"];

/// What `[site]` says.
pub(super) struct Head {
    pub project: Option<String>,
    pub location: Option<String>,
    pub ties: Ties,
    pub conformance: Conformance,
    pub purpose: Option<Purpose>,
    pub people: u32,
    pub tests: Vec<String>,
}

impl<'t> Reader<'t> {
    /// `[site]`; the unit system it names counts for all the rest. `None` if the file is for a newer program.
    pub fn head(&mut self, root: &Part<'t>) -> Option<Head> {
        let part = match root.key("site") {
            Some(key) => self.file.part(key.value, "[site]", SITE_KEYS),
            None => {
                // Its keys may be there all the same; read on as if the header were.
                let stray = root.only("[site]", SITE_KEYS);
                let first = stray.keys().first().map_or(0..0, |key| key.at.clone());
                self.file.push(
                    Diagnostic::error("missing-key", "there is no [site] header")
                        .at(first, "expected [site] above this")
                        .help("write [site], and below it the project: project = \"Harrow Bend footbridge\""),
                );
                (!stray.keys().is_empty()).then_some(stray)
            }
        };
        let Some(part) = part else { return Some(Head::silent()) };
        if let Some(language) = self.whole_of(&part, "language", 1)
            && language > LANGUAGE
        {
            let at = part.key("language").map_or(0..0, |key| self.file.place(key.value));
            self.file.faults.clear();
            self.file.push(
                Diagnostic::error("language-version", format!("this site file is written in version {language}"))
                    .at(at, format!("this program reads version {LANGUAGE}"))
                    .help("use a newer version of the program; the file itself may be right"),
            );
            return None;
        }
        self.system = self.file.word_of(&part, "system", &[("inch-pound", System::InchPound), ("SI", System::Si)]);
        // A unit system that is misspelt was said already; what follows from it is not.
        self.system_missed = part.key("system").is_some() && self.system.is_none();
        let project = self.file.need(&part, "project", "project = \"Harrow Bend footbridge\"").cloned();
        let project = project.and_then(|key| self.file.line("project", key.value)).map(str::to_owned);
        Some(Head {
            project,
            location: self.file.line_of(&part, "location"),
            ties: self.file.word_of(&part, "ties", &[("even", Ties::Even), ("up", Ties::Up)]).unwrap_or_default(),
            conformance: self
                .file
                .word_of(&part, "compare", &[("rounded", Conformance::Rounding), ("absolute", Conformance::Absolute)])
                .unwrap_or_default(),
            purpose: self.file.word_of(
                &part,
                "purpose",
                &[("acceptance", Purpose::Acceptance), ("preliminary", Purpose::Preliminary)],
            ),
            people: self.whole_of(&part, "people", 1).unwrap_or(1),
            tests: self.tests(&part),
        })
    }

    fn tests(&mut self, part: &Part<'t>) -> Vec<String> {
        let mut tests: Vec<(String, Range<usize>)> = Vec::new();
        for (name, at) in self.lines_of(part, "tests", "[\"slump\", \"temperature\"]") {
            let Some(name) = self.method(name, at.clone()) else { continue };
            if let Some((_, first)) = tests.iter().find(|(other, _)| *other == name) {
                self.file.push(
                    Diagnostic::error("duplicate", format!("`{name}` is named twice"))
                        .at(at, "second time")
                        .also(first.clone(), "first time here")
                        .help("a discarded test is repeated without being named twice: take one of the two away"),
                );
                continue;
            }
            tests.push((name, at));
        }
        tests.into_iter().map(|(name, _)| name).collect()
    }

    /// The id of a method; one that is nearly that of a method of this program is a slip.
    fn method(&mut self, name: &str, at: Range<usize>) -> Option<String> {
        let known = METHODS.iter().find(|method| method.id == name);
        let Some(method) = known else {
            if let Some(near) = nearest(name, METHODS.iter().map(|method| method.id)) {
                self.file.push(
                    Diagnostic::error("unknown-name", format!("there is no method called `{}`", said(name)))
                        .at(at, "not the name of a method")
                        .help(format!("did you mean \"{near}\"?")),
                );
                return Some(near.to_owned());
            }
            let ids: Vec<&str> = METHODS.iter().map(|method| method.id).collect();
            self.file.push(
                Diagnostic::warning("unknown-name", format!("this program has no method called `{}`", said(name)))
                    .at(at, "kept for a procedure of your own with that id")
                    .help(format!("methods of this program: {}", listed(&ids))),
            );
            return Some(name.to_owned());
        };
        if let Some(system) = self.system
            && !method.systems.contains(&system)
        {
            self.file.push(
                Diagnostic::error("unit-system", format!("`{name}` is stated in SI units alone"))
                    .at(at, format!("this file is in {system} units"))
                    .help("take another method, or write a site file in SI units"),
            );
            return None;
        }
        Some(name.to_owned())
    }

    /// The id of a method under a key that may be missing.
    pub fn method_of(&mut self, part: &Part<'t>, name: &str) -> Option<String> {
        let value = part.key(name)?.value;
        let id = self.file.line(name, value)?;
        self.method(id, self.file.place(value))
    }

    /// `[mixture]`.
    pub fn mixture(&mut self, root: &Part<'t>) -> Option<Mixture> {
        let key = root.key("mixture")?;
        let part = self.file.part(key.value, "[mixture]", MIXTURE_KEYS)?;
        let keys: Vec<&str> = Material::ALL.iter().map(|material| material.key()).collect();
        let batch = part.key("batch").and_then(|key| self.file.part(key.value, "[mixture.batch]", &keys));
        let relative =
            part.key("relative_density").and_then(|key| self.file.part(key.value, "[mixture.relative_density]", &keys));
        let ingredients = Material::ALL.into_iter().filter_map(|material| {
            let mass = batch.as_ref().and_then(|batch| self.amount_of(batch, material.key(), MASS));
            let relative_density =
                relative.as_ref().and_then(|relative| self.number_of(relative, material.key(), "3.15"));
            (mass.is_some() || relative_density.is_some()).then_some(Ingredient { material, mass, relative_density })
        });
        let ingredients = ingredients.collect();
        let admixtures = self.lines_of(&part, "admixtures", "[\"air-entraining, 0.9 fl oz per 100 lb of cement\"]");
        Some(Mixture {
            name: self.file.line_of(&part, "name"),
            design_air: self.amount_of(&part, "design_air", PERCENT),
            design_slump: self.amount_of(&part, "design_slump", LENGTH),
            strength: self.positive_of(&part, "strength", STRENGTH),
            aggregate_size: self.positive_of(&part, "aggregate_size", LENGTH),
            aggregate_correction: self.amount_of(&part, "aggregate_correction", PERCENT),
            air_free_density: self.positive_of(&part, "air_free_density", DENSITY),
            design_volume: self.positive_of(&part, "design_volume", VOLUME),
            batch: ingredients,
            admixtures: admixtures.into_iter().map(|(text, _)| text.to_owned()).collect(),
        })
    }

    /// `[sampling]`.
    pub fn sampling(&mut self, root: &Part<'t>) -> Option<Sampling> {
        let key = root.key("sampling")?;
        let part = self.file.part(key.value, "[sampling]", SAMPLING_KEYS)?;
        Some(Sampling {
            every: self.positive_of(&part, "every", VOLUME),
            every_area: self.positive_of(&part, "every_area", AREA),
            at_least_per_day: self.whole_of(&part, "at_least_per_day", 1),
            at_least: self.whole_of(&part, "at_least", 1),
            may_be_waived_under: self.positive_of(&part, "may_be_waived_under", VOLUME),
            source: self.file.line_of(&part, "source"),
        })
    }

    /// Every `[[apparatus]]`.
    pub fn apparatus(&mut self, root: &Part<'t>) -> Vec<Apparatus> {
        let mut found: Vec<(Apparatus, Range<usize>)> = Vec::new();
        for part in self.file.parts(root, "apparatus", "a piece of apparatus", APPARATUS_KEYS) {
            let Some(one) = self.one_apparatus(&part) else { continue };
            let same = |(other, _): &&(Apparatus, _)| {
                other.kind == one.kind && other.id.to_lowercase() == one.id.to_lowercase()
            };
            if let Some((_, first)) = found.iter().find(same) {
                let first = first.clone();
                self.file.push(
                    Diagnostic::error("duplicate", format!("{} {} is there twice", one.kind, one.id))
                        .at(part.at.clone(), "second time")
                        .also(first, "first time here")
                        .help("every piece has a mark of its own: take one of the two away, or mend its id"),
                );
                continue;
            }
            found.push((one, part.at.clone()));
        }
        found.into_iter().map(|(one, _)| one).collect()
    }

    fn one_apparatus(&mut self, part: &Part<'t>) -> Option<Apparatus> {
        let kind = self.file.need(part, "kind", "kind = \"volumetric-meter\"").cloned();
        let kind = kind.and_then(|key| self.kind(key.value));
        let id = self.file.need(part, "id", "id = \"V-7\"").cloned();
        let id = id.and_then(|key| self.file.line("id", key.value));
        let due = self.date_of(part, "due");
        let volume = self.positive_of(part, "volume", VESSEL);
        let cup = self.positive_of(part, "cup", PERCENT);
        let record = self.file.line_of(part, "record");
        let (kind, id) = (kind?, id?);
        for (name, has) in [
            ("volume", APPARATUS.iter().find(|(known, _)| *known == kind).is_none_or(|(_, volume)| *volume)),
            ("cup", kind == "volumetric-meter"),
        ] {
            if let Some(key) = part.key(name)
                && !has
            {
                self.file.push(
                    Diagnostic::warning(
                        "unused",
                        format!("nothing asks for the {name} of a {}", kind.replace('-', " ")),
                    )
                    .at(key.at.clone(), "not used")
                    .help("take it away, or mend the kind"),
                );
            }
        }
        Some(Apparatus { kind, id: id.to_owned(), due, volume, cup, record })
    }

    fn kind(&mut self, value: &'t Value<'t>) -> Option<String> {
        let kind = self.file.line("kind", value)?;
        if APPARATUS.iter().any(|(known, _)| *known == kind) {
            return Some(kind.to_owned());
        }
        let at = self.file.place(value);
        let known: Vec<&str> = APPARATUS.iter().map(|(known, _)| *known).collect();
        if let Some(near) = nearest(kind, known.iter().copied()) {
            self.file.push(
                Diagnostic::error("unknown-name", format!("there is no kind of apparatus called `{}`", said(kind)))
                    .at(at, "not a kind that anything asks for")
                    .help(format!("did you mean \"{near}\"?")),
            );
            return Some(near.to_owned());
        }
        let well_formed = kind.starts_with(|first: char| first.is_ascii_lowercase())
            && kind.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-');
        let fault = if well_formed {
            Diagnostic::warning("unknown-name", format!("no method of this program asks for a `{kind}`"))
                .at(at, "kept for the report and for a procedure of your own")
        } else {
            Diagnostic::error("bad-name", format!("a kind of apparatus cannot be called `{}`", said(kind)))
                .at(at, "a small letter first, then small letters, digits and -")
        };
        self.file.push(fault.help(format!("kinds the methods ask for: {}", listed(&known))));
        well_formed.then(|| kind.to_owned())
    }

    /// Every `[[technician]]`.
    pub fn technicians(&mut self, root: &Part<'t>) -> Vec<Technician> {
        let mut found: Vec<(Technician, Range<usize>)> = Vec::new();
        for part in self.file.parts(root, "technician", "a technician", TECHNICIAN_KEYS) {
            let name = self.file.need(&part, "name", "name = \"R. Okafor-Lind\"").cloned();
            let name = name.and_then(|key| self.file.line("name", key.value));
            let certificate = self.file.line_of(&part, "certificate");
            let expires = self.date_of(&part, "expires");
            let Some(name) = name else { continue };
            let same = |(other, _): &&(Technician, _)| other.name.to_lowercase() == name.to_lowercase();
            if let Some((_, first)) = found.iter().find(same) {
                let first = first.clone();
                self.file.push(
                    Diagnostic::error("duplicate", format!("{name} is there twice"))
                        .at(part.at.clone(), "second time")
                        .also(first, "first time here")
                        .help("tell two people apart by their names, or take one of the two away"),
                );
                continue;
            }
            found.push((Technician { name: name.to_owned(), certificate, expires }, part.at.clone()));
        }
        found.into_iter().map(|(one, _)| one).collect()
    }

    /// `[delivery]`.
    pub fn delivery(&mut self, root: &Part<'t>) -> Option<Delivery> {
        let key = root.key("delivery")?;
        let part = self.file.part(key.value, "[delivery]", DELIVERY_KEYS)?;
        Some(Delivery {
            time_at_most: self.span_of(&part, "time_at_most", "90 min"),
            revolutions_at_most: self.whole_of(&part, "revolutions_at_most", 1),
            water_allowed: self.amount_of(&part, "water_allowed", WATER),
            revolutions_after_water: self.whole_of(&part, "revolutions_after_water", 1),
            source: self.file.line_of(&part, "source"),
        })
    }

    /// Every `[figures.METHOD]`.
    pub fn figures(&mut self, root: &Part<'t>) -> Vec<SetFigure> {
        let Some(key) = root.key("figures") else { return Vec::new() };
        let Some(methods) = self.file.part(key.value, "[figures]", &[]) else { return Vec::new() };
        let mut found = Vec::new();
        for of_method in methods.keys() {
            let what = format!("[figures.{}]", said(&of_method.name));
            let Some(method) = self.method(&of_method.name, of_method.at.clone()) else { continue };
            let Some(figures) = self.file.part(of_method.value, what, &[]) else { continue };
            for figure in figures.keys() {
                let what = format!("figure `{}`", said(&figure.name));
                let Some(part) = self.file.part(figure.value, what, FIGURE_KEYS) else { continue };
                let is = self.file.need(&part, "is", "is = \"10 min\"").cloned();
                let is = is.and_then(|key| self.figure_is(key.value));
                let because = self.file.need(&part, "because", "because = \"Specification 03 30 00, 3.4\"").cloned();
                let because = because.and_then(|key| self.file.line("because", key.value));
                if let (Some(is), Some(because)) = (is, because) {
                    let figure = figure.name.clone();
                    found.push(SetFigure { method: method.clone(), figure, is, because: because.to_owned() });
                }
            }
        }
        found
    }

    /// The value of a figure: a number, or text with its unit. Whether it fits the figure, its procedure says.
    fn figure_is(&mut self, value: &'t Value<'t>) -> Option<String> {
        match value.get_ref() {
            DeValue::Integer(number) if number.radix() == 10 => Some(number.as_str().to_owned()),
            DeValue::Float(number) => Some(number.as_str().to_owned()),
            _ => self.file.line("is", value).map(str::to_owned),
        }
    }

    /// `[specimens]`.
    pub fn specimens(&mut self, root: &Part<'t>) -> Option<Specimens> {
        let key = root.key("specimens")?;
        let part = self.file.part(key.value, "[specimens]", SPECIMENS_KEYS)?;
        let mut breaks: Vec<(Break, Range<usize>)> = Vec::new();
        for (text, at) in self.lines_of(&part, "break", "[\"7 d: 2\", \"28 d: 2\"]") {
            let Some(one) = broken_at(text) else {
                self.file.push(
                    Diagnostic::error("not-a-time", format!("\"{}\" is no age with a number of specimens", said(text)))
                        .at(at, "expected an age, a colon and how many, such as \"28 d: 2\"")
                        .help("how much earlier or later will do may stand beside the age: \"28 d ± 20 h: 2\""),
                );
                continue;
            };
            if let Some((_, first)) = breaks.iter().find(|(other, _)| other.age == one.age) {
                self.file.push(
                    Diagnostic::error("duplicate", format!("{} is there twice", one.written))
                        .at(at, "second time")
                        .also(first.clone(), "first time here")
                        .help("write one number of specimens for each age"),
                );
                continue;
            }
            breaks.push((one, at));
        }
        Some(Specimens {
            kind: self.file.line_of(&part, "kind"),
            label: self.file.line_of(&part, "label"),
            letters: self.file.word_of(&part, "count_by", &[("numbers", false), ("letters", true)]).unwrap_or(false),
            breaks: breaks.into_iter().map(|(one, _)| one).collect(),
            reserve: self.whole_of(&part, "reserve", 0).unwrap_or(0),
        })
    }
}

impl Head {
    fn silent() -> Self {
        Self {
            project: None,
            location: None,
            ties: Ties::default(),
            conformance: Conformance::default(),
            purpose: None,
            people: 1,
            tests: Vec::new(),
        }
    }
}

/// Reads "28 d: 2" and "28 d ± 20 h: 2".
fn broken_at(text: &str) -> Option<Break> {
    const MOST_SPECIMENS: u32 = 1_000;
    let (age, count) = text.rsplit_once(':')?;
    let count: u32 = count.trim().parse().ok().filter(|count| (1..=MOST_SPECIMENS).contains(count))?;
    let parted = age.split_once('±').or_else(|| age.split_once("+/-")).or_else(|| age.split_once("+-"));
    let (age, give_or_take) = match parted {
        Some((age, around)) => (age, Some(span(around)?)),
        None => (age, None),
    };
    let written = age.trim().to_owned();
    let age = span(age)?;
    Some(Break { age, written, give_or_take: give_or_take.filter(|around| *around < age), count })
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Span;

    #[test]
    fn an_age_is_read_with_its_number_and_its_tolerance() {
        const HOUR: u64 = 3600;
        for (text, hours, around, count) in [
            ("7 d: 2", 168, None, 2),
            ("7d:2", 168, None, 2),
            ("28 d ± 20 h: 3", 672, Some(20), 3),
            ("28 d +/- 20 h: 3", 672, Some(20), 3),
            ("24 h ± 30 min: 1", 24, None, 1),
        ] {
            let read = broken_at(text).unwrap();
            assert_eq!((read.age, read.count), (Span::from_secs(hours * HOUR), count), "{text}");
            match around {
                Some(around) => assert_eq!(read.give_or_take, Some(Span::from_secs(around * HOUR)), "{text}"),
                None => assert_eq!(read.give_or_take.is_some(), text.contains('±'), "{text}"),
            }
        }
        for text in ["7 d", "7: 2", "d: 2", "7 d: 0", "7 d: two", "0 d: 2", "7 d ±: 2", "7 weeks: 2", ": 2", ""] {
            assert!(broken_at(text).is_none(), "{text}");
        }
    }
}
