//! Words in lines of a given width.
//!
//! **Invariant:** no line is wider than asked, and nothing but white space is lost: a word too long for a line is parted
//! between two characters. Only a width in which not even one character fits is exceeded.

/// A space at which no line ends: between a number and its unit.
pub(crate) const TIE: char = '\u{a0}';

/// The words of a text; what is tied is one word.
pub(crate) fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| c.is_whitespace() && c != TIE).filter(|word| !word.is_empty())
}

/// Parts `text` into lines no wider than `most`, as `width` measures them. A text without words gives no line.
pub(crate) fn wrap<W: PartialOrd>(text: &str, most: &W, width: impl Fn(&str) -> W) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in words(text) {
        let before = line.len();
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
        if width(&line) <= *most {
            continue;
        }
        line.truncate(before);
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if line.chars().count() > 1 && width(&line) > *most {
                line.pop();
                lines.push(std::mem::take(&mut line));
                line.push(c);
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// How many columns of a plain page a text takes: two for the wide characters of East Asia, none for marks that stand on
/// another character.
pub(crate) fn columns(text: &str) -> usize {
    text.chars().map(columns_of).sum()
}

fn columns_of(c: char) -> usize {
    match u32::from(c) {
        0x0300..=0x036F | 0x0483..=0x0487 | 0x0591..=0x05BD | 0x064B..=0x065F | 0x200B..=0x200F | 0x202A..=0x202E => 0,
        0x20D0..=0x20F0 | 0x2060..=0x2064 | 0xFE00..=0xFE0F | 0xFE20..=0xFE2F | 0xFEFF => 0,
        0x1100..=0x115F | 0x2E80..=0x303E | 0x3041..=0x33FF | 0x3400..=0x4DBF | 0x4E00..=0x9FFF | 0xA000..=0xA4CF => 2,
        0xAC00..=0xD7A3 | 0xF900..=0xFAFF | 0xFE30..=0xFE6F | 0xFF00..=0xFF60 | 0xFFE0..=0xFFE6 => 2,
        0x1F300..=0x1F64F | 0x1F680..=0x1F6FF | 0x1F900..=0x1F9FF | 0x20000..=0x3FFFD => 2,
        _ => 1,
    }
}

/// A text on one line with no character that could steer a terminal or break a page: white space is one space, anything
/// else that cannot be printed is “�”.
pub(crate) fn printable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in words(text) {
        if !out.is_empty() {
            out.push(' ');
        }
        out.extend(word.chars().map(|c| if c.is_control() { char::REPLACEMENT_CHARACTER } else { c }));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_long_word_is_parted_and_nothing_is_lost() {
        assert_eq!(wrap("one reallylong word", &6, columns), ["one", "really", "long", "word"]);
        assert_eq!(wrap("of 5.95\u{a0}% x", &8, columns), ["of", "5.95\u{a0}% x"]);
        assert_eq!(wrap("  ", &6, columns), Vec::<String>::new());
        assert_eq!(wrap("橋脚二号", &5, columns), ["橋脚", "二号"]);
    }

    proptest! {
        #[test]
        fn no_line_is_too_wide_and_no_character_is_lost(text in "\\PC{0,200}", most in 2_usize..40) {
            let lines = wrap(&text, &most, columns);
            for line in &lines {
                prop_assert!(columns(line) <= most, "{line:?}");
            }
            let black = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            prop_assert_eq!(black(&lines.concat()), black(&text));
        }
    }
}
