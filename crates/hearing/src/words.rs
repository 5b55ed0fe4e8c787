//! Words made alike, so that they can be compared.
//!
//! Here: capitals, punctuation, hyphens, signs for units and fractions. Not here: what words mean, and words that sound
//! alike.
//!
//! | as it came | made alike |
//! |------------|------------|
//! | `Next step, please!` | `next step please` |
//! | `Twenty-five` | `twenty five` |
//! | `That’s it` | `that's it` |
//! | `2¾"` | `2 3/4 inches` |
//! | `5.25%.` | `5.25 percent` |
//! | `-5 °F` | `-5 degrees f` |
//! | `12lb` | `12 lb` |
//!
//! **Invariant:** only what says nothing is dropped. A sign that could mean something, such as a minus, a bracket or a
//! pause in the middle (`…`), stays, and whoever reads the words refuses it.

/// Small letters, single spaces, no punctuation that says nothing; numbers in digits stay as they are.
pub fn alike(text: &str) -> String {
    let signs = with_signs_in_words(text);
    let mut out = String::with_capacity(text.len());
    let mut before = ' ';
    for (idx, sign) in signs.iter().copied().enumerate() {
        clean(&mut out, before, sign, signs.get(idx + 1).copied().unwrap_or(' '));
        before = sign;
    }
    let words: Vec<&str> = out.split_whitespace().collect();
    // A pause at the end is only the voice falling silent.
    let said = words.iter().rposition(|word| *word != "…").map_or(0, |last| last + 1);
    words[..said].join(" ")
}

/// Small letters, one sign for those that are drawn in several ways, and words for signs that stand for words.
fn with_signs_in_words(text: &str) -> Vec<char> {
    let text: String = text.replace("...", "…").to_lowercase().chars().map(plain).collect();
    let mut out = Vec::with_capacity(text.len());
    let mut signs = text.chars().peekable();
    let mut after_number = false;
    while let Some(sign) = signs.next() {
        let words = match sign {
            '%' => Some(" percent "),
            '°' => Some(" degrees "),
            '℃' => Some(" degrees c "),
            '℉' => Some(" degrees f "),
            '"' if after_number => Some(" inches "),
            '\'' if after_number && !signs.peek().is_some_and(|next| next.is_alphanumeric()) => Some(" feet "),
            _ => fraction(sign),
        };
        match words {
            Some(words) => out.extend(words.chars()),
            None => out.push(sign),
        }
        after_number = sign.is_ascii_digit() || fraction(sign).is_some();
    }
    out
}

fn plain(sign: char) -> char {
    match sign {
        '\u{2018}' | '\u{2019}' | '\u{201b}' | '\u{2bc}' | '\u{2032}' | '`' | '\u{b4}' => '\'',
        '\u{201c}'..='\u{201f}' | '\u{2033}' => '"',
        '\u{2010}'..='\u{2015}' | '\u{2212}' => '-',
        '\u{2044}' | '\u{2215}' => '/',
        'º' | '˚' => '°',
        _ if sign.is_whitespace() => ' ',
        _ => sign,
    }
}

/// Writes one sign between its neighbours, or a space where it says nothing.
fn clean(out: &mut String, before: char, sign: char, after: char) {
    let starts_number = after.is_ascii_digit() && matches!(before, ' ' | '-' | '+');
    let inside_number = after.is_ascii_digit() && before.is_ascii_digit();
    let beside_letter = |one: char, other: char| one.is_alphabetic() && other.is_alphanumeric();
    match sign {
        '.' | ',' if starts_number || inside_number => out.push(sign),
        ':' if inside_number => out.push(sign),
        '.' | ',' | ':' | ';' | '!' | '?' | '¡' | '¿' | '"' | '«' | '»' => out.push(' '),
        '\'' if before.is_alphanumeric() && after.is_alphabetic() => out.push(sign),
        '\'' => out.push(' '),
        '-' if beside_letter(before, after) || beside_letter(after, before) => out.push(' '),
        '-' if inside_number || (before == ' ' && (after.is_ascii_digit() || after == '.')) => out.push(sign),
        '-' | '…' => out.extend([' ', sign, ' ']),
        // "12lb" is two words; "ft3" is one.
        _ if sign.is_alphabetic() && before.is_ascii_digit() => out.extend([' ', sign]),
        _ => out.push(sign),
    }
}

fn fraction(sign: char) -> Option<&'static str> {
    Some(match sign {
        '½' => " 1/2 ",
        '⅓' => " 1/3 ",
        '⅔' => " 2/3 ",
        '¼' => " 1/4 ",
        '¾' => " 3/4 ",
        '⅕' => " 1/5 ",
        '⅖' => " 2/5 ",
        '⅗' => " 3/5 ",
        '⅘' => " 4/5 ",
        '⅙' => " 1/6 ",
        '⅚' => " 5/6 ",
        '⅐' => " 1/7 ",
        '⅛' => " 1/8 ",
        '⅜' => " 3/8 ",
        '⅝' => " 5/8 ",
        '⅞' => " 7/8 ",
        '⅑' => " 1/9 ",
        '⅒' => " 1/10 ",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_says_nothing_is_dropped() {
        for (text, words) in [
            ("", ""),
            ("  Next \t STEP ", "next step"),
            ("Next step, please!", "next step please"),
            ("Twenty-five.", "twenty five"),
            ("two and three\u{2011}quarter inches", "two and three quarter inches"),
            ("That\u{2019}s it", "that's it"),
            ("'next step'", "next step"),
            ("\"Next step\"", "next step"),
            ("next step...", "next step"),
            ("two... three", "two … three"),
            ("2\u{be}", "2 3/4"),
            ("2 \u{bd}", "2 1/2"),
            ("\u{bc}", "1/4"),
            ("2 3\u{2044}4", "2 3/4"),
            ("2\u{be}\"", "2 3/4 inches"),
            ("2 3/4\u{2033}", "2 3/4 inches"),
            ("5'", "5 feet"),
            ("5's", "5's"),
            ("5.25%.", "5.25 percent"),
            ("72\u{b0}F", "72 degrees f"),
            ("72 \u{2109}", "72 degrees f"),
            ("-5 \u{b0}C", "-5 degrees c"),
            ("\u{2212}5", "-5"),
            ("\u{2013}5", "-5"),
            ("-.5", "-.5"),
            ("- 5", "- 5"),
            ("-five", "- five"),
            ("five \u{2014} six", "five - six"),
            ("2-3/4", "2-3/4"),
            ("2-inch", "2 inch"),
            (",5", ",5"),
            (".5", ".5"),
            ("five,25", "five 25"),
            ("5, 25", "5 25"),
            ("5,25", "5,25"),
            ("5.", "5"),
            ("5:25", "5:25"),
            ("12lb", "12 lb"),
            ("145.2 lb/ft3", "145.2 lb/ft3"),
            ("kg/m\u{b3}", "kg/m\u{b3}"),
            ("~5", "~5"),
            ("(5)", "(5)"),
            ("\u{2026}", ""),
        ] {
            assert_eq!(alike(text), words, "{text:?}");
            assert_eq!(alike(words), words, "made alike once more: {text:?}");
        }
    }
}
