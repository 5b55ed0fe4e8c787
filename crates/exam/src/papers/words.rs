//! Small words both papers use.

use quantity::System;
use sheet::paper::Size;

use crate::{How, Names, State, TrialPhase, TrialView};

/// "1 act", "2 acts".
pub(super) fn counted(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}

/// "first", "second", "4th".
pub(super) fn ordinal(n: u32) -> String {
    match n {
        1 => "first".to_owned(),
        2 => "second".to_owned(),
        3 => "third".to_owned(),
        n => format!("{n}th"),
    }
}

/// With a capital letter.
pub(super) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|first| first.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

/// As a sentence with its full stop; nothing stays nothing.
pub(super) fn stopped(text: &str) -> String {
    let text = sentence(text.trim());
    if text.is_empty() || text.ends_with(['.', '!', '?', ')', '…']) { text } else { format!("{text}.") }
}

/// `2026-05-14` as "14 May 2026"; anything else as it is.
pub(super) fn day(text: &str) -> String {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts.as_slice() else { return text.to_owned() };
    let month = month.parse::<usize>().ok().and_then(|month| MONTHS.get(month.checked_sub(1)?));
    match (month, day.parse::<u32>()) {
        (Some(month), Ok(day)) => format!("{day} {month} {year}"),
        _ => text.to_owned(),
    }
}

/// The paper of the exam's units: Letter where any method is in inch-pound units.
pub(super) fn size(state: &State) -> Size {
    let inch_pound = state.exam().methods.iter().any(|method| method.system == System::InchPound);
    if inch_pound { Size::Letter } else { Size::A4 }
}

/// Title, day and place of the exam.
pub(super) fn exam_facts(state: &State) -> Vec<(String, String)> {
    let exam = state.exam();
    let mut facts = vec![("Exam".to_owned(), exam.title.clone())];
    facts.extend(exam.date.as_ref().map(|date| ("Day".to_owned(), day(date))));
    facts.extend(exam.place.as_ref().map(|place| ("Place".to_owned(), place.clone())));
    facts
}

/// A line of the rule without what somebody typed into it, where names are left out.
pub(super) fn reason(view: &TrialView<'_>, names: Names, text: &str) -> String {
    if names == Names::Shown {
        return text.to_owned();
    }
    let mut typed: Vec<&str> = Vec::new();
    if let TrialPhase::Ended { how: How::Stopped { reason } | How::Void { reason }, .. } = &view.trial.phase {
        typed.push(reason);
    }
    typed.extend(view.trial.time_overruled().map(|overrule| overrule.reason.as_str()));
    // What was typed stands at the end of the line.
    let before =
        typed.into_iter().filter(|typed| !typed.is_empty()).find_map(|typed| Some((text.strip_suffix(typed)?, typed)));
    before.map_or_else(|| text.to_owned(), |(before, typed)| format!("{before}{}", names.words(typed)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_said_in_words() {
        for (given, said) in [("2026-05-04", "4 May 2026"), ("2026-13-04", "2026-13-04"), ("spring", "spring")] {
            assert_eq!(day(given), said);
        }
    }

    #[test]
    fn one_is_one_and_two_are_many() {
        assert_eq!(counted(1, "act", "acts"), "1 act");
        assert_eq!(counted(0, "act", "acts"), "0 acts");
        assert_eq!(ordinal(2), "second");
        assert_eq!(sentence("second trial due"), "Second trial due");
    }
}
