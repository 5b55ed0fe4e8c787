//! The report as text, for a printed page.
//!
//! **Invariant:** no line is longer than [`WIDTH`] characters, unless a single word is.

use quantity::Span;

use super::{Attempt, Counted, Report, Round, Standing};
use crate::line::{tenths_down, tenths_up};

/// The width of a page in characters.
pub const WIDTH: usize = 80;

/// The report as text.
pub fn render(report: &Report) -> String {
    let mut page = Page { out: String::new() };
    head(&mut page, report);
    results(&mut page, report);
    for attempt in &report.attempts {
        one_attempt(&mut page, report, attempt);
    }
    page.rule();
    notes(&mut page, report);
    record(&mut page, report);
    page.out
}

/// Lines of at most [`WIDTH`].
struct Page {
    out: String,
}

impl Page {
    fn line(&mut self, text: &str) {
        self.out.push_str(text.trim_end());
        self.out.push('\n');
    }

    fn rule(&mut self) {
        self.line(&"-".repeat(WIDTH));
    }

    /// A text behind a label, wrapped; the lines that follow stand under the text.
    fn labelled(&mut self, label: &str, text: &str) {
        let indent = label.chars().count();
        for (n, piece) in wrap(text, WIDTH.saturating_sub(indent)).into_iter().enumerate() {
            if n == 0 {
                self.line(&format!("{label}{piece}"));
            } else {
                self.line(&format!("{}{piece}", " ".repeat(indent)));
            }
        }
    }

    /// A time, a question and its value at the end of the line.
    fn asked(&mut self, time: &str, question: &str, value: &str) {
        let indent = time.chars().count() + 2;
        let mut pieces = wrap(question, WIDTH - indent);
        let last = pieces.pop().unwrap_or_default();
        for (n, piece) in pieces.iter().enumerate() {
            let time = if n == 0 { time } else { "" };
            self.line(&format!("{time:indent$}{piece}"));
        }
        let time = if pieces.is_empty() { time } else { "" };
        let room = WIDTH.saturating_sub(indent + last.chars().count() + value.chars().count());
        if room >= 3 {
            self.line(&format!("{time:indent$}{last} {} {value}", ".".repeat(room - 2)));
        } else {
            self.line(&format!("{time:indent$}{last}"));
            for value in wrap(value, WIDTH - indent) {
                self.line(&format!("{value:>WIDTH$}"));
            }
        }
    }
}

/// Words in lines of at most `width` characters.
fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    if lines.is_empty() { vec![String::new()] } else { lines }
}

fn head(page: &mut Page, report: &Report) {
    let kind = match report.standing {
        Standing::Finished => "TEST REPORT",
        Standing::WithoutResult => "TEST REPORT: NO RESULT",
        Standing::NotFinished => "TEST REPORT: NOT FINISHED",
    };
    let run = &report.record.run;
    let gap = WIDTH.saturating_sub(kind.len() + run.chars().count()).max(1);
    page.line(&format!("{kind}{}{run}", " ".repeat(gap)));
    page.line(&report.method.title);
    for basis in &report.method.basis {
        let edition = basis.edition.as_ref().map_or_else(String::new, |edition| format!(": {edition}"));
        page.labelled("  ", &format!("{}{edition}", basis.designation));
    }
    let date = report.opened.at.get(..10).unwrap_or_default();
    let offset = report.opened.at.get(23..).unwrap_or_default();
    let units = &report.method.system;
    page.line(&format!("{date}. Times of day are {}. Units: {units}.", zone(offset)));
    if let Some(simulated) = &report.simulated {
        page.labelled("*** ", &format!("{}: a rehearsal. No concrete was tested. ***", simulated.to_uppercase()));
    }
    if report.standing == Standing::NotFinished {
        page.labelled("*** ", "NOT FINISHED: this run has no result yet. ***");
    }
    page.rule();
}

fn zone(offset: &str) -> String {
    match offset {
        "" => "local".to_owned(),
        "+00:00" | "Z" => "in UTC".to_owned(),
        offset => format!("local, UTC{offset}"),
    }
}

fn results(page: &mut Page, report: &Report) {
    if report.results.is_empty() {
        page.line("RESULT: none");
        return;
    }
    for result in &report.results {
        let unit = &result.unit;
        page.line(&format!("{}:  {} {unit}", result.title.to_uppercase(), result.value));
        for term in &result.terms {
            page.line(&format!("   {} {:>10} {unit}   {}", term.sign, term.shown, term.label));
        }
        page.labelled(&format!("   = {:>10} {unit}   ", result.exact_shown), &format!("exact; {}", result.rounding));
    }
    for table in &report.tables {
        let between = table.between;
        let outside = match (table.below, table.beyond) {
            (below, beyond) if below == beyond => format!("below its first row and beyond its last: {below}"),
            (below, beyond) => format!("below its first row: {below}; beyond its last: {beyond}"),
        };
        page.labelled("   ", &format!("Table “{}”: {between}; {outside}.", table.title));
    }
}

fn one_attempt(page: &mut Page, report: &Report, attempt: &Attempt) {
    page.rule();
    let number = attempt.number;
    let is_last = usize::from(number) == report.attempts.len();
    match &attempt.ended {
        Some(ended) => {
            let by = if ended.own_decision { ", by the technician" } else { "" };
            let kind = ended.kind.to_uppercase();
            page.line(&format!("ATTEMPT {number}: {kind} at {}, at the step {}{by}", ended.time.clock(), ended.step));
            page.labelled("   Cause: ", &ended.because);
        }
        None if is_last && report.standing == Standing::Finished => {
            page.line(&format!(
                "ATTEMPT {number}: carried through, {} to {}",
                attempt.begun.clock(),
                report.last_act.clock()
            ));
        }
        None => page.line(&format!("ATTEMPT {number}: NOT FINISHED, begun at {}", attempt.begun.clock())),
    }
    let carried: Vec<&str> =
        attempt.readings.iter().filter(|read| read.carried).map(|read| read.reading.as_str()).collect();
    if !carried.is_empty() {
        page.labelled("   Carried over: ", &format!("{}.", carried.join(", ")));
    }
    let settled_from = attempt.rounds.first().and_then(|round| round.sets.first()).map(|set| set.time.run_ms);
    let is_after = |ms: u64| settled_from.is_some_and(|from| ms > from);
    for read in attempt.readings.iter().filter(|read| !read.carried && !is_after(read.time.run_ms)) {
        page.asked(&read.time.clock(), &read.asked, &read.shown);
    }
    counts(page, attempt);
    for lasted in &attempt.lasted {
        let round = if lasted.round > 1 { format!(" (round {})", lasted.round) } else { String::new() };
        let turned = lasted.position.as_ref().map_or_else(String::new, |position| {
            let times = if lasted.n_turns == 1 { "once".to_owned() } else { format!("{} times", lasted.n_turns) };
            format!("; {times} {position}, the longest {}", tenths_up(Span(lasted.longest_ms)))
        });
        let (whole, least) = (tenths_down(Span(lasted.lasted_ms)), Span(lasted.at_least_ms));
        page.labelled(
            &format!("{}  {}{round}: ", lasted.time.clock(), lasted.step),
            &format!("{whole} (at least {least}){turned}"),
        );
    }
    for round in &attempt.rounds {
        settling(page, round);
    }
    for read in attempt.readings.iter().filter(|read| !read.carried && is_after(read.time.run_ms)) {
        page.asked(&read.time.clock(), &read.asked, &read.shown);
    }
    page.line(&format!("          {} other acts confirmed, each with its moment in the record", attempt.confirmed));
}

/// What was counted, and what was only declared to be as asked.
fn counts(page: &mut Page, attempt: &Attempt) {
    let say = |is_counted: bool| {
        let counted = attempt.counted.iter().filter(|counted| counted.given.is_some() == is_counted);
        let each: Vec<String> = counted
            .map(|counted| {
                let Counted { time, step, of, asked, given } = counted;
                match given {
                    Some(n) => format!("{} {step} {n} {of} ({asked} asked)", time.clock()),
                    None => format!("{} {step} {asked} {of}", time.clock()),
                }
            })
            .collect();
        each.join("; ")
    };
    for (label, text) in [("Counted:  ", say(true)), ("Declared: ", say(false))] {
        if !text.is_empty() {
            let how = if label == "Declared: " { ", as asked, not counted" } else { "" };
            page.labelled(label, &format!("{text}{how}"));
        }
    }
}

fn settling(page: &mut Page, round: &Round) {
    let unit = &round.unit;
    for (n, set) in round.sets.iter().enumerate() {
        if !set.added.is_empty() {
            let (n, one) = (set.added.len(), set.added.first().map_or("", String::as_str));
            page.line(&format!("          {n} × {one} added"));
        }
        let readings: Vec<String> = set.readings.iter().map(|(name, shown)| format!("{name} {shown}")).collect();
        let mut text = readings.join(", ");
        let read = set.readings.first().map_or("", |(_, shown)| shown.as_str());
        match &set.value {
            Some(value) if !same_number(value, read) => text += &format!(", compared as {value} {unit}"),
            Some(_) => {}
            None => text += ", not completed",
        }
        if let Some(change) = &set.change {
            text += &format!(", change {change} {unit}");
        }
        if set.steady {
            text += ": stands still";
        }
        let label = if n == 0 { format!("Round {}: ", round.number) } else { "         ".to_owned() };
        page.labelled(&format!("{}  {label}", set.time.clock()), &text);
    }
    if let (Some(change), Some(agrees)) = (&round.change, round.agrees) {
        let verdict = if agrees { "they agree" } else { "they do not agree" };
        page.line(&format!(
            "          Rounds {} and {} differ by {change} {unit}: {verdict}",
            round.number - 1,
            round.number
        ));
    }
}

/// Whether "6.25" and "6.25 %" are the same number.
fn same_number(exact: &str, shown: &str) -> bool {
    let number = |text: &str| text.split_whitespace().next().and_then(|text| text.parse::<quantity::Exact>().ok());
    number(exact).is_some() && number(exact) == number(shown)
}

fn notes(page: &mut Page, report: &Report) {
    if report.findings.is_empty() && report.corrections.is_empty() {
        page.line("Findings: none. Corrections: none.");
    } else {
        findings_and_corrections(page, report);
    }
    if !report.remarks.is_empty() {
        list(page, "Remarks: ", &report.remarks, |noted| format!("{} {}", noted.time.clock(), noted.text));
    }
    if report.taken_back > 0 {
        page.line(&format!("Acts taken back: {}; they stand in the record.", report.taken_back));
    }
}

fn findings_and_corrections(page: &mut Page, report: &Report) {
    list(page, "Findings: ", &report.findings, |noted| match report.attempts.len() {
        1 => format!("{} {}", noted.time.clock(), noted.text),
        _ => format!("{} attempt {}, {}", noted.time.clock(), noted.attempt.unwrap_or(1), noted.text),
    });
    list(page, "Corrections: ", &report.corrections, |correction| {
        let back =
            correction.back_to.as_ref().map_or_else(String::new, |step| format!("; the run went back to {step}"));
        format!(
            "{} {} from {} to {}, because: {}{back}",
            correction.time.clock(),
            correction.reading,
            correction.from,
            correction.to,
            correction.because
        )
    });
}

fn list<T>(page: &mut Page, label: &str, items: &[T], say: impl Fn(&T) -> String) {
    if items.is_empty() {
        page.line(&format!("{label}none"));
    }
    for (n, item) in items.iter().enumerate() {
        let label = if n == 0 { label.to_owned() } else { " ".repeat(label.chars().count()) };
        page.labelled(&label, &say(item));
    }
}

fn record(page: &mut Page, report: &Report) {
    let method = &report.method;
    let record = &report.record;
    page.rule();
    page.labelled(
        "Procedure: ",
        &format!("{} version {}, SHA-256 {}", method.procedure, method.version, method.sha256),
    );
    if !report.from_memory.is_empty() {
        page.labelled(
            "From memory: ",
            &format!(
                "{}. Not compared with the standard; the procedure names the source of every figure.",
                report.from_memory.join(", ")
            ),
        );
    }
    page.labelled("Record: ", &format!("{}, {} entries, last sum {}", record.tool, record.entries, record.last_sum));
    for resumed in &record.resumed {
        page.labelled("        ", resumed);
    }
    if let Some(torn) = &record.torn {
        page.labelled("        ", torn);
    }
    page.labelled("", method.notice.as_deref().unwrap_or_default());
    page.line("");
    page.line("Signed ______________________________   Date ______________");
}
