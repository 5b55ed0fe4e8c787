//! Texts of a procedure without a run: what a run would fill in is left open.

use procedure::{Edition, Part, Text};

/// What stands where a run would fill something in, or where a number is asked for.
const OPEN: &str = "…";

/// A text with everything left open that only a run knows.
pub(crate) fn open(text: &Text) -> String {
    let mut out = String::new();
    for part in &text.parts {
        match part {
            Part::Plain(plain) => out.push_str(plain),
            Part::Reading(_) | Part::Was(_) | Part::Value(_) | Part::Round => out.push_str(OPEN),
        }
    }
    out
}

/// Where figures come from, as a person looks it up: the title of the document and the place in it.
pub(crate) fn sources(edition: &Edition, cites: &[procedure::Cite]) -> Vec<String> {
    let named = |cite: &procedure::Cite| {
        let title = &edition.sources.get(usize::from(cite.source))?.title;
        Some(match &cite.place {
            Some(place) => format!("{title}: {place}"),
            None => title.clone(),
        })
    };
    cites.iter().filter_map(named).collect()
}

const WORDS: [&str; 13] =
    ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];

fn is_number_char(c: char) -> bool {
    c.is_ascii_digit() || "½⅓⅔¼¾⅛⅜⅝⅞".contains(c)
}

/// The text with every number in it left open, so that it does not tell the one that is asked for; `whole` is the asked
/// number where it is a small whole one that might stand there as a word.
pub(crate) fn without_numbers(text: &str, whole: Option<u32>) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(is_number_char) {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        let mut end = 0;
        for (n, c) in from.char_indices() {
            let next = n + c.len_utf8();
            let goes_on = from[next..].chars().next().is_some_and(is_number_char);
            if is_number_char(c) || (goes_on && matches!(c, '.' | ',' | '/' | ' ' | ':')) {
                end = next;
            } else {
                break;
            }
        }
        out.push_str(OPEN);
        rest = &from[end..];
    }
    out.push_str(rest);
    let Some(word) = whole.and_then(|whole| WORDS.get(whole as usize)) else { return out };
    let mut open = String::new();
    for piece in out.split_inclusive(|c: char| !c.is_alphanumeric()) {
        let bare = piece.trim_end_matches(|c: char| !c.is_alphanumeric());
        if bare.eq_ignore_ascii_case(word) {
            open.push_str(OPEN);
            open.push_str(&piece[bare.len()..]);
        } else {
            open.push_str(piece);
        }
    }
    open
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_for_a_number_does_not_tell_it() {
        for (text, whole, open) in [
            ("Rod it 25 times, through its depth", Some(25), "Rod it … times, through its depth"),
            ("Tap the sides, 10 to 15 times", Some(10), "Tap the sides, … to … times"),
            ("about 1 1/2 in into it", None, "about … in into it"),
            ("Read to 0.25 %, no 2½ steps", None, "Read to … %, no … steps"),
            ("Fill two layers, twofold", Some(2), "Fill … layers, twofold"),
            ("one hand on the neck", Some(2), "one hand on the neck"),
            ("Wait.", None, "Wait."),
        ] {
            assert_eq!(without_numbers(text, whole), open, "{text}");
        }
    }
}
