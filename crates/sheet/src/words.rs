//! The words every form of the sheet shares: verdicts, the summary at its head, what happened in order of time.
//!
//! **Invariant:** text, HTML and PDF say the same about the same sheet, because they take it from here.

use crate::moment::{self, Moment};
use crate::wrap::TIE;
use crate::{Judged, Kept, Measured, Purpose, Sheet, Standing, Status, System, TestResult, Verdict, Window};

/// What the page says of itself, beside the notices it was given.
pub(crate) const UNSIGNED: &str = "This page is not signed until both lines are filled in by hand.";

/// How a verdict is to be seen: by its shape first, then by its colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// As it should be.
    Good,
    /// Not as it should be.
    Alarm,
    /// Neither.
    Plain,
}

impl Verdict {
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::Below => "below",
            Self::Above => "above",
            Self::NotJudged => "not judged",
            Self::NotAcceptance => "not for acceptance",
        }
    }

    pub(crate) fn tone(self) -> Tone {
        match self {
            Self::Within => Tone::Good,
            Self::Below | Self::Above => Tone::Alarm,
            Self::NotJudged | Self::NotAcceptance => Tone::Plain,
        }
    }
}

impl Status {
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Result => "result",
            Self::Discarded => "discarded",
            Self::Void => "void",
            Self::NotApplicable => "not applicable",
            Self::NotDone => "not done",
        }
    }
}

impl Standing {
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::InDate => "in date",
            Self::DueSoon => "due soon",
            Self::Overdue => "overdue",
            Self::NotTold => "no date told",
        }
    }

    pub(crate) fn tone(self) -> Tone {
        match self {
            Self::InDate => Tone::Good,
            Self::Overdue => Tone::Alarm,
            Self::DueSoon | Self::NotTold => Tone::Plain,
        }
    }
}

impl Purpose {
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Acceptance => "Acceptance sample",
            Self::Preliminary => "Preliminary sample: accepts nothing",
            Self::Practice => "Practice: nobody’s concrete",
        }
    }
}

impl System {
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::InchPound => "inch-pound units",
            Self::Si => "SI units",
        }
    }
}

impl Kept {
    /// `kept`, `late by 12 s`, `open`.
    pub(crate) fn words(&self) -> String {
        match self {
            Self::Kept => "kept".to_owned(),
            Self::Late { by } => format!("late by {}", moment::span_words(by)),
            Self::Open => "open".to_owned(),
        }
    }

    pub(crate) fn tone(&self) -> Tone {
        match self {
            Self::Kept => Tone::Good,
            Self::Late { .. } => Tone::Alarm,
            Self::Open => Tone::Plain,
        }
    }
}

impl TestResult {
    /// The verdict, or how the test ended if it did not end with a result.
    pub(crate) fn verdict_words(&self) -> &'static str {
        if self.status == Status::Result { self.verdict.words() } else { self.status.words() }
    }

    pub(crate) fn tone(&self) -> Tone {
        match self.status {
            Status::Result => self.verdict.tone(),
            Status::Discarded | Status::Void => Tone::Alarm,
            Status::NotApplicable | Status::NotDone => Tone::Plain,
        }
    }

    /// How the value was found, nothing left out: terms, exact value, rounding, attempts, note.
    pub(crate) fn how(&self) -> String {
        let terms: Vec<String> =
            self.terms.iter().map(|term| format!("{} {}", term.name, shown(&term.value))).collect();
        let exact = tied(&minus(&self.exact));
        let attempts = if self.attempts > 1 { format!("{} attempts", self.attempts) } else { String::new() };
        let (before, after) = if self.value.is_none() { (self.note.as_str(), "") } else { ("", self.note.as_str()) };
        let rounded = joined(", ", &[&exact, &self.rounding]);
        joined("; ", &[before, &terms.join(", "), &rounded, &attempts, after])
    }

    /// How the value was found, without what stands beside it already: workings, the step it was rounded to, attempts,
    /// note.
    pub(crate) fn workings(&self) -> String {
        let terms: Vec<String> =
            self.telling_terms().map(|term| format!("{} {}", term.name, shown(&term.value))).collect();
        let attempts = if self.attempts > 1 { format!("{} attempts", self.attempts) } else { String::new() };
        let rounding = if self.rounding_shows() { "" } else { self.rounding.as_str() };
        let (before, after) = if self.value.is_none() { (self.note.as_str(), "") } else { ("", self.note.as_str()) };
        joined("; ", &[before, &terms.join(" · "), rounding, &attempts, after])
    }

    /// The value before rounding; empty if it is the reported one.
    pub(crate) fn unrounded(&self) -> String {
        let number = self.exact.split_whitespace().next().unwrap_or_default();
        if self.exact.is_empty() || self.value.as_ref().is_some_and(|value| is_same(&value.value, number)) {
            return String::new();
        }
        // The unit is the one of the value beside it.
        let unit = self.value.as_ref().filter(|value| !value.unit.is_empty()).map(|value| format!(" {}", value.unit));
        let bare = unit.and_then(|unit| self.exact.strip_suffix(&unit)).unwrap_or(&self.exact);
        tied(&minus(bare))
    }

    /// The workings, except a single one that says no more than the value itself, rounded or not.
    fn telling_terms(&self) -> impl Iterator<Item = &crate::Term> {
        let exact = self.exact.split_whitespace().next().unwrap_or_default();
        let says_nothing = match (self.terms.as_slice(), &self.value) {
            ([only], Some(value)) => is_same(&only.value.value, &value.value) || is_same(&only.value.value, exact),
            _ => false,
        };
        self.terms.iter().filter(move |_| !says_nothing)
    }

    /// Whether the places of the value show what it was rounded to: to the nearest 0.01 if it has two.
    pub(crate) fn rounding_shows(&self) -> bool {
        let is_number = |word: &&str| word.starts_with(|c: char| c.is_ascii_digit());
        let mut numbers = self.rounding.split_whitespace().filter(is_number);
        let (Some(step), None, Some(value)) = (numbers.next(), numbers.next(), &self.value) else { return false };
        let places = value.value.split_once('.').map_or(0, |(_, places)| places.len());
        let last = if places == 0 { "1".to_owned() } else { format!("0.{}1", "0".repeat(places - 1)) };
        step == last
    }

    /// The designation of the method, or its title if it has none.
    pub(crate) fn source_words(&self) -> &str {
        let needs_title = self.basis.is_empty() && self.test.to_lowercase() != self.name.to_lowercase();
        if needs_title { &self.test } else { &self.basis }
    }

    /// The value as it is printed, and its unit. Pieces are counted without a unit.
    pub(crate) fn value_words(&self) -> (String, &str) {
        match &self.value {
            Some(value) => (minus(&value.value), if value.unit == PIECE { "" } else { &value.unit }),
            None => ("–".to_owned(), ""),
        }
    }
}

/// The unit of things that are counted.
const PIECE: &str = "piece";

/// Whether two decimals are the same number: `4.20` and `4.2`.
fn is_same(one: &str, other: &str) -> bool {
    let bare = |text: &str| match text.split_once('.') {
        Some((whole, part)) => joined(".", &[whole, part.trim_end_matches('0')]),
        None => text.to_owned(),
    };
    bare(one) == bare(other)
}

/// The name of a test as it is printed: names of methods are written with hyphens in the records.
pub(crate) fn test_words(test: &str) -> String {
    test.replace('-', " ")
}

impl Window {
    pub(crate) fn took_words(&self) -> String {
        self.took.as_ref().map_or_else(|| "–".to_owned(), moment::stopwatch)
    }

    pub(crate) fn allowed_words(&self) -> String {
        moment::stopwatch(&self.allowed)
    }

    /// `last portion to first scoop`.
    pub(crate) fn between(&self) -> String {
        joined(" to ", &[&self.from, &self.to])
    }

    /// From which moment to which.
    pub(crate) fn clock(&self, sheet: &Sheet) -> String {
        match &self.ended {
            Some(ended) => format!("{}–{}", at(sheet, &self.started), at(sheet, ended)),
            None if self.started.is_empty() => String::new(),
            None => format!("from {}", at(sheet, &self.started)),
        }
    }
}

impl Judged {
    pub(crate) fn limit_words(&self) -> String {
        match &self.limit {
            Some(limit) if self.limit_source.is_empty() => limit.clone(),
            Some(limit) => format!("{limit} ({})", self.limit_source),
            None => "no limit".to_owned(),
        }
    }
}

/// A value as people read it: spans in minutes and seconds, a true minus.
pub(crate) fn shown(value: &Measured) -> String {
    match value.unit.as_str() {
        "s" => moment::span_words(value),
        PIECE => minus(&value.value),
        _ => tied(&minus(&value.to_string())),
    }
}

/// A number and its unit, which stay on one line.
fn tied(text: &str) -> String {
    text.replace(' ', &TIE.to_string())
}

/// The minus before a number as a sign of its own; hyphens elsewhere stay.
pub(crate) fn minus(text: &str) -> String {
    match text.strip_prefix('-') {
        Some(rest) if rest.starts_with(|c: char| c.is_ascii_digit()) => format!("\u{2212}{rest}"),
        _ => text.to_owned(),
    }
}

/// The parts that are not empty.
pub(crate) fn joined(between: &str, parts: &[&str]) -> String {
    parts.iter().filter(|part| !part.trim().is_empty()).copied().collect::<Vec<_>>().join(between)
}

/// `1 attempt`, `2 attempts`.
pub(crate) fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// One of the four things said at the head of the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Headline {
    /// The figure: `5 of 6`.
    pub(crate) figure: String,
    /// What it counts.
    pub(crate) words: String,
    pub(crate) tone: Tone,
}

/// What the page comes to: values within limits, time limits kept, papers in date, things to read.
pub(crate) fn headlines(sheet: &Sheet) -> [Headline; 4] {
    [values(sheet), windows(sheet), papers(sheet), happened(sheet)]
}

fn share(good: usize, all: usize, words: &str, none: &str, trouble: &[String], waiting: bool) -> Headline {
    if all == 0 {
        return Headline { figure: "–".to_owned(), words: none.to_owned(), tone: Tone::Plain };
    }
    let mut said = vec![words.to_owned()];
    // The tables below say each of them; here the first few are enough.
    said.extend_from_slice(&trouble[..trouble.len().min(3)]);
    if trouble.len() > 3 {
        said.push(format!("and {} more", trouble.len() - 3));
    }
    let tone = match (trouble.is_empty(), waiting) {
        (false, _) => Tone::Alarm,
        (true, true) => Tone::Plain,
        (true, false) => Tone::Good,
    };
    Headline { figure: format!("{good} of {all}"), words: said.join("; "), tone }
}

fn values(sheet: &Sheet) -> Headline {
    let results = sheet
        .results
        .iter()
        .filter(|result| result.status == Status::Result)
        .map(|result| (result.name.as_str(), result.verdict));
    let delivery = sheet.delivery.judged.iter().map(|judged| (judged.name.as_str(), judged.verdict));
    let judged: Vec<_> = results
        .chain(delivery)
        .filter(|(_, verdict)| matches!(verdict, Verdict::Within | Verdict::Below | Verdict::Above))
        .collect();
    let outside: Vec<String> = judged
        .iter()
        .filter(|(_, verdict)| *verdict != Verdict::Within)
        .map(|(name, verdict)| format!("{} {}", if name.is_empty() { "a value" } else { name }, verdict.words()))
        .collect();
    let good = judged.len() - outside.len();
    share(good, judged.len(), "judged values within their limits", "no value judged against a limit", &outside, false)
}

fn windows(sheet: &Sheet) -> Headline {
    let kept = sheet.windows.iter().filter(|window| window.verdict == Kept::Kept).count();
    let late = sheet.windows.iter().filter(|window| matches!(window.verdict, Kept::Late { .. }));
    let name = |window: &Window| match (window.test.as_str(), window.name.as_str()) {
        ("", "") => "one".to_owned(),
        ("", name) => name.to_owned(),
        (test, _) => test_words(test),
    };
    let mut tests: Vec<String> = late.clone().map(name).collect();
    let open = sheet.windows.len() - kept - late.count();
    tests.dedup();
    let more = tests.len().saturating_sub(3);
    tests.truncate(3);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let late = if tests.is_empty() { vec![] } else { vec![format!("{}{more} late", tests.join(", "))] };
    let words = if open > 0 { format!("time limits kept; {open} still open") } else { "time limits kept".to_owned() };
    share(kept, sheet.windows.len(), &words, "no time limit ran", &late, open > 0)
}

fn papers(sheet: &Sheet) -> Headline {
    let technician = &sheet.head.technician;
    let told = !technician.name.is_empty() || !technician.certificate.is_empty();
    let person = told.then_some(("certificate", technician.standing));
    let apparatus = sheet.apparatus.iter().map(|piece| (piece.kind.as_str(), piece.standing));
    let all: Vec<_> = person.into_iter().chain(apparatus).collect();
    let good = all.iter().filter(|(_, standing)| matches!(standing, Standing::InDate | Standing::DueSoon)).count();
    let overdue: Vec<String> = all
        .iter()
        .filter(|(_, standing)| *standing == Standing::Overdue)
        .map(|(kind, standing)| format!("{kind} {}", standing.words()))
        .collect();
    let waiting = good + overdue.len() < all.len();
    let words = "certificate and apparatus in date";
    share(good, all.len(), words, "no certificate or apparatus told", &overdue, waiting)
}

fn happened(sheet: &Sheet) -> Headline {
    let counts = [
        (sheet.discarded.len(), "attempt discarded", "attempts discarded"),
        (sheet.findings.len(), "finding", "findings"),
        (sheet.overruled.len(), "refusal overruled", "refusals overruled"),
        (sheet.corrections.len(), "correction", "corrections"),
    ];
    let all: usize = counts.iter().map(|(n, ..)| n).sum();
    if all == 0 {
        return Headline {
            figure: "nothing".to_owned(),
            words: "discarded, found, overruled or corrected".to_owned(),
            tone: Tone::Good,
        };
    }
    let words: Vec<String> =
        counts.iter().filter(|(n, ..)| *n > 0).map(|(n, one, many)| counted(*n, one, many)).collect();
    Headline { figure: counted(all, "note", "notes"), words: words.join(", "), tone: Tone::Plain }
}

/// Something that happened, for the list in order of time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Happening {
    pub(crate) at: String,
    pub(crate) test: String,
    /// `Discarded`, `Finding`, `Overruled`, `Corrected`.
    pub(crate) kind: &'static str,
    pub(crate) words: String,
    pub(crate) tone: Tone,
}

/// Findings, discarded attempts, corrections and overruled refusals in order of time.
pub(crate) fn happenings(sheet: &Sheet) -> Vec<Happening> {
    let mut all = Vec::new();
    for found in &sheet.findings {
        all.push(Happening {
            at: found.at.clone(),
            test: test_words(&found.test),
            kind: "Finding",
            words: found.words.clone(),
            tone: Tone::Plain,
        });
    }
    for gone in &sheet.discarded {
        all.push(Happening {
            at: gone.at.clone(),
            test: test_words(&gone.test),
            kind: "Discarded",
            words: joined(" ", &[&format!("Attempt {}:", gone.attempt), &sentence(&gone.why), &sentence(&gone.again)]),
            tone: Tone::Alarm,
        });
    }
    for refused in &sheet.overruled {
        all.push(Happening {
            at: refused.at.clone(),
            test: test_words(&refused.test),
            kind: "Overruled",
            words: joined(" ", &[&sentence(&refused.refusal), &because(&refused.why)]),
            tone: Tone::Alarm,
        });
    }
    for put_right in &sheet.corrections {
        let quoted = |text: &str| if text.is_empty() { "nothing".to_owned() } else { minus(text) };
        let change = format!("{} instead of {}.", quoted(&put_right.to), quoted(&put_right.from));
        let change = joined(": ", &[&put_right.reading, &change]);
        all.push(Happening {
            at: put_right.at.clone(),
            test: test_words(&put_right.test),
            kind: "Corrected",
            words: joined(" ", &[&change, &because(&put_right.why)]),
            tone: Tone::Plain,
        });
    }
    // What has no readable moment comes last, in the order it was given.
    all.sort_by_key(|happening| Moment::read(&happening.at).map_or(i64::MAX, Moment::utc_s));
    all
}

fn because(why: &str) -> String {
    if why.is_empty() { String::new() } else { sentence(&format!("Reason given: {why}")) }
}

/// A text that ends like a sentence.
fn sentence(text: &str) -> String {
    let text = text.trim();
    if text.is_empty() || text.ends_with(['.', '!', '?', '…', '”']) { text.to_owned() } else { format!("{text}.") }
}

/// The weather as pairs of name and value; what was not told is left out.
pub(crate) fn weather(sheet: &Sheet) -> Vec<(&'static str, String)> {
    let weather = &sheet.weather;
    [
        ("Air", &weather.air),
        ("Humidity", &weather.humidity),
        ("Wind", &weather.wind),
        ("Concrete", &weather.concrete),
        ("Evaporation", &weather.evaporation),
    ]
    .into_iter()
    .filter_map(|(name, value)| value.as_ref().map(|value| (name, shown(value))))
    .collect()
}

/// The facts of the delivery that are not judged, water included.
pub(crate) fn delivery(sheet: &Sheet) -> Vec<(String, String)> {
    let facts = sheet.delivery.facts.iter().map(|fact| (fact.name.clone(), fact.words.clone()));
    let water = sheet.delivery.water_added.as_ref().map(|water| ("Water added on site".to_owned(), shown(water)));
    facts.chain(water).collect()
}

/// The day and the clock the sheet's times are told in.
pub(crate) fn day_words(sheet: &Sheet) -> String {
    moment::day_words(&sheet.head.date)
}

/// A moment as this sheet tells it.
pub(crate) fn at(sheet: &Sheet, text: &str) -> String {
    moment::at_words(text, &sheet.head.date, &sheet.head.offset)
}

/// The certificate in one line.
pub(crate) fn certificate(sheet: &Sheet) -> String {
    let technician = &sheet.head.technician;
    let words = if technician.words.is_empty() {
        match &technician.expires {
            Some(day) => format!("{} ({})", technician.standing.words(), moment::day_words(day)),
            None => technician.standing.words().to_owned(),
        }
    } else {
        technician.words.clone()
    };
    if technician.certificate.is_empty() && technician.name.is_empty() {
        return technician.words.clone();
    }
    joined(", ", &[&technician.certificate, &words])
}

/// How a piece of apparatus stands.
pub(crate) fn standing(piece: &crate::Apparatus) -> String {
    if !piece.words.is_empty() {
        return piece.words.clone();
    }
    match &piece.due {
        Some(due) => format!("{}, due {}", piece.standing.words(), moment::day_words(due)),
        None => piece.standing.words().to_owned(),
    }
}

/// What is due, how many, and how exactly.
pub(crate) fn due(sheet: &Sheet, appointment: &crate::Appointment) -> String {
    let at = moment::due_words(&appointment.at, &sheet.head.offset);
    match &appointment.give_or_take {
        Some(give_or_take) => format!("{at} ± {}", moment::span_words(give_or_take)),
        None => at,
    }
}

/// Labels that differ only in their last part, that part alone after the first: `HB-07-1, -2`, and three or more in
/// order as `HB-07-1 to -6`.
pub(crate) fn labels(labels: &[String]) -> String {
    let Some(first) = labels.first() else { return String::new() };
    let stem = first.rfind(['-', '/', '.']).map_or("", |end| &first[..end]);
    let ends: Option<Vec<&str>> = labels
        .iter()
        .map(|label| label.strip_prefix(stem).filter(|end| end.len() > 1 && end.rfind(['-', '/', '.']) == Some(0)))
        .collect();
    match ends.filter(|ends| !stem.is_empty() && ends.len() > 1) {
        Some(ends) if ends.len() > 2 && follow(&ends) => format!("{first} to {}", ends[ends.len() - 1]),
        Some(ends) => format!("{first}, {}", ends[1..].join(", ")),
        None => labels.join(", "),
    }
}

/// Whether the ends of labels are whole numbers one after the other.
fn follow(ends: &[&str]) -> bool {
    let numbers: Option<Vec<u64>> = ends.iter().map(|end| end.get(1..).and_then(|end| end.parse().ok())).collect();
    numbers.is_some_and(|numbers| numbers.windows(2).all(|two| two[0].checked_add(1) == Some(two[1])))
}

/// What a set is: the size, and how many.
pub(crate) fn set_words(set: &crate::SpecimenSet) -> String {
    match set.labels.len() {
        0 => set.size.clone(),
        n => joined(" ", &[&set.size, &format!("({n})")]),
    }
}

/// What is known of a set beside its labels, as pairs of name and value; what was not told is left out.
pub(crate) fn set_facts(sheet: &Sheet, set: &crate::SpecimenSet) -> Vec<(&'static str, String)> {
    let until = set.curing.until.as_ref().map(|until| format!("until {}", at(sheet, until))).unwrap_or_default();
    let transport = set.transport_from.as_ref().map(|from| at(sheet, from)).unwrap_or_default();
    let all = [
        ("Moulded", at(sheet, &set.moulded)),
        ("Not moved before", transport),
        ("Initial curing", joined(", ", &[&set.curing.range, &until])),
    ];
    all.into_iter().filter(|(_, value)| !value.is_empty()).collect()
}

/// How many specimens and which.
pub(crate) fn pieces(appointment: &crate::Appointment) -> String {
    let labels = labels(&appointment.labels);
    match appointment.count {
        Some(count) if labels.is_empty() => counted(usize::try_from(count).unwrap_or(usize::MAX), "piece", "pieces"),
        Some(count) if usize::try_from(count).ok() != Some(appointment.labels.len()) => format!("{count}: {labels}"),
        _ => labels,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_says_first_what_is_outside_and_late() {
        let mut sheet = Sheet::default();
        let said = |sheet: &Sheet| headlines(sheet).map(|line| format!("{} {}", line.figure, line.words));
        assert_eq!(said(&sheet)[0], "– no value judged against a limit");
        assert_eq!(said(&sheet)[3], "nothing discarded, found, overruled or corrected");
        for (name, verdict) in [("Slump", Verdict::Above), ("Air", Verdict::Within), ("Yield", Verdict::NotJudged)] {
            sheet.results.push(TestResult { name: name.into(), verdict, ..TestResult::default() });
        }
        sheet.results.push(TestResult { status: Status::Void, verdict: Verdict::Within, ..TestResult::default() });
        for verdict in [Kept::Kept, Kept::Late { by: Measured::new("65", "s") }, Kept::Open] {
            sheet.windows.push(Window { name: "Begin slump".into(), verdict, ..Window::default() });
        }
        assert_eq!(said(&sheet)[0], "1 of 2 judged values within their limits; Slump above");
        assert_eq!(said(&sheet)[1], "1 of 3 time limits kept; 1 still open; Begin slump late");
        assert_eq!(headlines(&sheet)[0].tone, Tone::Alarm);
    }

    #[test]
    fn a_preliminary_sample_is_never_counted_as_within() {
        let mut sheet = Sheet::default();
        sheet.results.push(TestResult { verdict: Verdict::NotAcceptance, ..TestResult::default() });
        assert_eq!(headlines(&sheet)[0].figure, "–");
    }

    #[test]
    fn labels_of_one_set_are_told_by_their_ends() {
        for (all, told) in [
            (vec!["HB-07-1", "HB-07-2", "HB-07-3"], "HB-07-1 to -3"),
            (vec!["HB-07-1", "HB-07-3", "HB-07-4"], "HB-07-1, -3, -4"),
            (vec!["HB-07-1", "HB-07-2"], "HB-07-1, -2"),
            (vec!["HB-07-1"], "HB-07-1"),
            (vec!["HB-07-1", "HB-08-1"], "HB-07-1, HB-08-1"),
            (vec!["A", "B"], "A, B"),
            (vec!["-1", "-2"], "-1, -2"),
            (vec![], ""),
        ] {
            let all: Vec<String> = all.into_iter().map(str::to_owned).collect();
            assert_eq!(labels(&all), told);
        }
    }

    #[test]
    fn a_minus_is_a_minus_and_a_hyphen_stays_one() {
        assert_eq!(shown(&Measured::new("-0.3", "%")), "−0.3\u{a0}%");
        assert_eq!(minus("air-free"), "air-free");
        assert_eq!(minus("-x"), "-x");
    }
}
