//! What is due later, as iCalendar (RFC 5545), so that a phone reminds the lab.
//!
//! **Invariant:** lines end in CR LF and are at most 75 octets long without parting a character; the same sample and
//! appointment have the same `UID` however often the file is made, so a calendar replaces rather than doubles them.

use crate::moment::{self, Moment};
use crate::{Appointment, Sheet, words};

/// How long an entry is shown. The moment is what counts; a length of nothing is hidden by some calendars.
const SHOWN: &str = "PT15M";

/// A moment that cannot be put into a calendar.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("“{text}” for {what} is not a moment: it must read like 2026-05-21T08:05:00-05:00")]
pub struct NotATime {
    /// What it was meant for.
    pub what: String,
    /// What was given.
    pub text: String,
}

/// The appointments as a calendar, `None` if there are none (a calendar must hold something).
///
/// * `stamp`: when the file is made, RFC 3339.
///
/// # Errors
///
/// [`NotATime`] if the stamp or the moment of an appointment cannot be read. Nothing is left out silently.
pub fn render(sheet: &Sheet, stamp: &str) -> Result<Option<String>, NotATime> {
    if sheet.appointments.is_empty() {
        return Ok(None);
    }
    let stamp = read("the making of the calendar", stamp)?.utc_basic();
    let mut out = Calendar { out: String::new() };
    let (tool, version) = (&sheet.head.tool, &sheet.head.version);
    let maker = format!("-//{tool}//{version}//EN").replace(['\r', '\n', ';'], " ");
    out.plain("BEGIN", "VCALENDAR");
    out.plain("VERSION", "2.0");
    out.text("PRODID", &maker);
    out.plain("CALSCALE", "GREGORIAN");
    out.plain("METHOD", "PUBLISH");
    let mut used: Vec<String> = Vec::new();
    for appointment in &sheet.appointments {
        let own = uid(sheet, appointment);
        let before = used.iter().filter(|uid| **uid == own).count();
        used.push(own.clone());
        let own = if before == 0 { own } else { format!("{own}-{}", before + 1) };
        event(&mut out, sheet, appointment, &own, &stamp)?;
    }
    out.plain("END", "VCALENDAR");
    Ok(Some(out.out))
}

fn read(what: &str, text: &str) -> Result<Moment, NotATime> {
    Moment::read(text).ok_or_else(|| NotATime { what: what.to_owned(), text: text.to_owned() })
}

/// The name of an entry: appointment and sample, with what is not a letter or a digit written as its bytes.
fn uid(sheet: &Sheet, appointment: &Appointment) -> String {
    format!("{}.{}", named(&appointment.id), named(&sheet.head.sample))
}

fn named(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || byte == b'-' {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("_{byte:02x}"));
        }
    }
    out
}

fn event(out: &mut Calendar, sheet: &Sheet, appointment: &Appointment, uid: &str, stamp: &str) -> Result<(), NotATime> {
    let head = &sheet.head;
    let at = read(&format!("“{}”", appointment.title), &appointment.at)?;
    let pieces = words::pieces(appointment);
    let summary = words::joined(": ", &[&appointment.title, &pieces]);
    let mut said = vec![
        words::joined(", ", &[&words::joined(" ", &["Sample", &head.sample]), &head.project, &head.location]),
        head.mixture.clone(),
        format!("Due {}", words::due(sheet, appointment)),
    ];
    if let Some(count) = appointment.count {
        said.push(format!("How many: {count}"));
    }
    if !appointment.labels.is_empty() {
        said.push(format!("Labels: {}", appointment.labels.join(", ")));
    }
    if let Some(notice) = &head.simulated {
        said.push(notice.clone());
    }
    said.retain(|line| !line.is_empty());
    out.plain("BEGIN", "VEVENT");
    out.plain("UID", &format!("{uid}@pourside.invalid"));
    out.plain("DTSTAMP", stamp);
    out.plain("DTSTART", &at.utc_basic());
    out.plain("DURATION", SHOWN);
    out.text("SUMMARY", &summary);
    out.text("DESCRIPTION", &said.join("\n"));
    if !head.project.is_empty() || !head.location.is_empty() {
        out.text("LOCATION", &words::joined(", ", &[&head.project, &head.location]));
    }
    out.plain("CATEGORIES", "Concrete,Specimens");
    out.plain("TRANSP", "TRANSPARENT");
    out.plain("STATUS", "CONFIRMED");
    let early = appointment.give_or_take.as_ref().and_then(moment::span_s).filter(|early_s| *early_s > 0);
    // Once the day before, and again when it may first be done.
    alarm(out, "-P1D", &format!("Tomorrow: {summary}"));
    match early {
        Some(early_s) => alarm(out, &format!("-PT{early_s}S"), &format!("From now on: {summary}")),
        None => alarm(out, "-PT1H", &format!("In an hour: {summary}")),
    }
    out.plain("END", "VEVENT");
    Ok(())
}

fn alarm(out: &mut Calendar, before: &str, words: &str) {
    out.plain("BEGIN", "VALARM");
    out.plain("ACTION", "DISPLAY");
    out.plain("TRIGGER", before);
    out.text("DESCRIPTION", words);
    out.plain("END", "VALARM");
}

/// Lines of a calendar.
struct Calendar {
    out: String,
}

impl Calendar {
    /// A value that needs no escaping.
    fn plain(&mut self, name: &str, value: &str) {
        self.folded(&format!("{name}:{value}"));
    }

    /// A value of the type TEXT.
    fn text(&mut self, name: &str, value: &str) {
        self.folded(&format!("{name}:{}", escaped(value)));
    }

    fn folded(&mut self, line: &str) {
        let mut octets = 0;
        for c in line.chars() {
            // The space that begins a folded line counts as well.
            if octets + c.len_utf8() > 75 {
                self.out.push_str("\r\n ");
                octets = 1;
            }
            self.out.push(c);
            octets += c.len_utf8();
        }
        self.out.push_str("\r\n");
    }
}

/// A text as RFC 5545, 3.3.11, wants it; control characters it forbids become spaces.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let text = text.replace("\r\n", "\n");
    for c in text.chars() {
        match c {
            '\\' => out.push_str("\\\\"),
            ';' => out.push_str("\\;"),
            ',' => out.push_str("\\,"),
            '\n' | '\r' => out.push_str("\\n"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// What a reader does: lines joined again, escapes undone.
    fn unfolded(text: &str) -> String {
        text.replace("\r\n ", "")
    }

    fn unescaped(text: &str) -> String {
        let mut out = String::new();
        let mut chars = text.chars();
        while let Some(c) = chars.next() {
            match c {
                '\\' => match chars.next() {
                    Some('n' | 'N') => out.push('\n'),
                    Some(c) => out.push(c),
                    None => panic!("an escape at the end"),
                },
                c => out.push(c),
            }
        }
        out
    }

    proptest! {
        #[test]
        fn folding_and_escaping_are_undone_by_a_reader(text in "(\\PC|\n){0,300}") {
            let mut calendar = Calendar { out: String::new() };
            calendar.text("SUMMARY", &text);
            for line in calendar.out.strip_suffix("\r\n").unwrap().split("\r\n") {
                prop_assert!(line.len() <= 75, "{}", line.len());
            }
            let whole = unfolded(&calendar.out);
            let value = whole.strip_prefix("SUMMARY:").unwrap().strip_suffix("\r\n").unwrap();
            prop_assert_eq!(unescaped(value), text);
        }

        #[test]
        fn different_samples_never_share_a_name(a in "\\PC{0,12}", b in "\\PC{0,12}") {
            prop_assert_eq!(named(&a) == named(&b), a == b);
        }
    }

    #[test]
    fn an_unreadable_moment_is_said_and_not_left_out() {
        let broken = Appointment { title: "Break".into(), at: "next week".into(), ..Appointment::default() };
        let sheet = Sheet { appointments: vec![broken], ..Sheet::default() };
        let error = render(&sheet, "2026-05-14T12:00:00Z").unwrap_err();
        assert_eq!(
            error.to_string(),
            "“next week” for “Break” is not a moment: it must read like 2026-05-21T08:05:00-05:00"
        );
        assert!(render(&sheet, "now").is_err());
        assert_eq!(render(&Sheet::default(), "now"), Ok(None));
    }

    #[test]
    fn two_appointments_of_one_name_stay_two() {
        let one =
            Appointment { id: "break-7".into(), at: "2026-05-21T08:05:00-05:00".into(), ..Appointment::default() };
        let sheet = Sheet { appointments: vec![one.clone(), one], ..Sheet::default() };
        let text = render(&sheet, "2026-05-14T12:00:00Z").unwrap().unwrap();
        assert!(
            text.contains("UID:break-7.@pourside.invalid\r\n") && text.contains("UID:break-7.-2@pourside.invalid\r\n")
        );
    }
}
