//! Plain spellings of what the typefaces lack.
//!
//! Letters with marks lose the marks, Cyrillic is written in Latin letters, signs become the signs a typewriter has.
//! What is left (Chinese, Arabic, pictures) is written as its number in Unicode, `[U+6A4B]`: ugly, and nothing is lost.
//!
//! **Invariant:** what comes out holds only characters that can be set, and each character of the text has left something.

use super::holds;

/// The text on one line, with everything the typefaces lack spelled plainly.
pub(crate) fn spell(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in crate::wrap::words(text) {
        if !out.is_empty() {
            out.push(' ');
        }
        for c in word.chars() {
            spell_one(c, &mut out);
        }
    }
    out
}

/// Whether a text holds letters that have no plain spelling and stand as numbers.
pub(crate) fn lacks_letters(text: &str) -> bool {
    text.chars().any(|c| !c.is_whitespace() && !holds(c) && plain(c).is_none())
}

fn spell_one(c: char, out: &mut String) {
    if holds(c) {
        out.push(c);
    } else if let Some(plain) = plain(c) {
        out.push_str(plain);
    } else {
        out.push_str(&format!("[U+{:04X}]", u32::from(c)));
    }
}

fn plain(c: char) -> Option<&'static str> {
    let sign = match c {
        '\u{2010}' | '\u{2011}' | '\u{FE63}' | '\u{FF0D}' => "-",
        '\u{2012}' | '\u{2015}' => "\u{2013}",
        '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}' | '\u{FEFF}' | '\u{00AD}' => "",
        // A mark that stands on the letter before it.
        '\u{0300}'..='\u{036F}' | '\u{FE00}'..='\u{FE0F}' => "",
        '₀' | '⁰' => "0",
        '₁' => "1",
        '₂' => "2",
        '₃' => "3",
        '₄' | '⁴' => "4",
        '₅' | '⁵' => "5",
        '₆' | '⁶' => "6",
        '₇' | '⁷' => "7",
        '₈' | '⁸' => "8",
        '₉' | '⁹' => "9",
        '⁻' => "-",
        '⅓' => "1/3",
        '⅔' => "2/3",
        '⅛' => "1/8",
        '⅜' => "3/8",
        '⅝' => "5/8",
        '⅞' => "7/8",
        '⁄' | '∕' => "/",
        '‛' => "'",
        '‟' => "\"",
        '∙' | '⋅' => "·",
        '℃' => "°C",
        '℉' => "°F",
        '№' => "No.",
        '✓' | '✔' => "yes",
        '✗' | '✘' => "no",
        '\u{FFFD}' => "?",
        'ﬁ' => "fi",
        'ﬂ' => "fl",
        // Between and beyond the scripts of the table there is nothing to look for.
        '\u{0530}'..='\u{1DFF}' | '\u{1F00}'.. => return None,
        _ => return LETTERS.iter().find(|(letters, _)| letters.contains(c)).map(|(_, plain)| *plain),
    };
    Some(sign)
}

/// Letters, and how they are written plainly.
#[rustfmt::skip]
const LETTERS: [(&str, &str); 99] = [
    ("ъЪ", "\""),
    ("ьЬ", "'"),
    ("ŉ", "'n"),
    ("ĀĂĄǍǞǠǺȀȂȦḀẠẢẤẦẨẪẬẮẰẲẴẶА", "A"),
    ("ḂḄḆБ", "B"),
    ("ĆĈĊČḈЋ", "C"),
    ("ЧΧ", "Ch"),
    ("ĎĐƉḊḌḎḐḒД", "D"),
    ("ǄǱ", "DZ"),
    ("Ђ", "Dj"),
    ("ǅǲЏ", "Dz"),
    ("ĒĔĖĘĚƏȄȆȨḔḖḘḚḜẸẺẼẾỀỂỄỆЕЭΈΕ", "E"),
    ("ḞФ", "F"),
    ("ĜĞĠĢǦǴḠГҐ", "G"),
    ("ĤĦȞḢḤḦḨḪ", "H"),
    ("ĨĪĬĮİǏȈȊḬḮỈỊИІΉΊΗΙ", "I"),
    ("Ĳ", "IJ"),
    ("ĴЙЈ", "J"),
    ("ĶǨḰḲḴКΚ", "K"),
    ("Х", "Kh"),
    ("ĹĻĽĿŁḶḸḺḼЛ", "L"),
    ("Ǉ", "LJ"),
    ("ǈЉ", "Lj"),
    ("ḾṀṂМΜ", "M"),
    ("ŃŅŇǸṄṆṈṊНΝ", "N"),
    ("Ǌ", "NJ"),
    ("Ŋ", "Ng"),
    ("ǋЊ", "Nj"),
    ("ŌŎŐƠǑǪǬȌȎȪȬȮȰṌṎṐṒỌỎỐỒỔỖỘỚỜỞỠỢОΌΟ", "O"),
    ("ṔṖП", "P"),
    ("ŔŖŘȐȒṘṚṜṞРΡ", "R"),
    ("ŚŜŞȘṠṢṤṦṨС", "S"),
    ("ẞ", "SS"),
    ("Ш", "Sh"),
    ("Щ", "Shch"),
    ("ŢŤŦȚṪṬṮṰТΤ", "T"),
    ("Ц", "Ts"),
    ("ŨŪŬŮŰŲƯǓǕǗǙǛȔȖṲṴṶṸṺỤỦỨỪỬỮỰУ", "U"),
    ("ṼṾВ", "V"),
    ("ŴẀẂẄẆẈЎ", "W"),
    ("ẊẌΞ", "X"),
    ("ŶȲẎỲỴỶỸЫΎΥ", "Y"),
    ("Я", "Ya"),
    ("Є", "Ye"),
    ("Ї", "Yi"),
    ("Ё", "Yo"),
    ("Ю", "Yu"),
    ("ŹŻẐẒẔЗΖ", "Z"),
    ("Ж", "Zh"),
    ("āăąǎǟǡǻȁȃȧḁạảấầẩẫậắằẳẵặа", "a"),
    ("ḃḅḇб", "b"),
    ("ćĉċčḉћ", "c"),
    ("чχ", "ch"),
    ("ďđḋḍḏḑḓɖд", "d"),
    ("ђ", "dj"),
    ("ǆǳџ", "dz"),
    ("ēĕėęěȅȇȩḕḗḙḛḝẹẻẽếềểễệəеэ", "e"),
    ("ḟф", "f"),
    ("ĝğġģǧǵḡгґ", "g"),
    ("ĥħȟḣḥḧḩḫẖ", "h"),
    ("ĩīĭįıǐȉȋḭḯỉịиіήίηιϊΐ", "i"),
    ("ĳ", "ij"),
    ("ĵǰȷйј", "j"),
    ("ķĸǩḱḳḵкκ", "k"),
    ("х", "kh"),
    ("ĺļľŀłḷḹḻḽл", "l"),
    ("ǉљ", "lj"),
    ("ḿṁṃм", "m"),
    ("ńņňǹṅṇṉṋнν", "n"),
    ("ŋ", "ng"),
    ("ǌњ", "nj"),
    ("ōŏőơǒǫǭȍȏȫȭȯȱṍṏṑṓọỏốồổỗộớờởỡợоόο", "o"),
    ("ṕṗп", "p"),
    ("ψ", "ps"),
    ("ŕŗřȑȓṙṛṝṟр", "r"),
    ("śŝşſșṡṣṥṧṩẛс", "s"),
    ("ш", "sh"),
    ("щ", "shch"),
    ("ţťŧțṫṭṯṱẗт", "t"),
    ("ц", "ts"),
    ("ũūŭůűųưǔǖǘǚǜȕȗṳṵṷṹṻụủứừửữựу", "u"),
    ("ṽṿв", "v"),
    ("ŵẁẃẅẇẉẘў", "w"),
    ("ẋẍξ", "x"),
    ("ŷȳẏẙỳỵỷỹыύυϋΰ", "y"),
    ("я", "ya"),
    ("є", "ye"),
    ("ї", "yi"),
    ("ё", "yo"),
    ("ю", "yu"),
    ("źżẑẓẕзζ", "z"),
    ("ж", "zh"),
    ("μ", "µ"),
    ("Ά", "Α"),
    ("Ώ", "Ω"),
    ("ά", "α"),
    ("έ", "ε"),
    ("ς", "σ"),
    ("ώ", "ω"),
];

#[cfg(test)]
mod tests {
    use super::super::{holds, runs, width};
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn signs_of_the_trade_are_set_as_they_are() {
        for sign in ["³", "°", "±", "×", "–", "—", "“", "”", "’", "½", "¼", "≤", "≥", "−", "≈", "µ", "·", "é", "Š"]
        {
            assert_eq!(spell(sign), sign);
            assert!(width(sign, false) > 0, "{sign}");
        }
    }

    #[test]
    fn letters_of_other_tongues_are_spelled_plainly_or_numbered() {
        for (text, plain) in [
            ("Łukasz Dvořák", "Lukasz Dvorák"),
            ("Жук", "Zhuk"),
            ("Gül Ağaç", "Gül Agaç"),
            ("橋", "[U+6A4B]"),
            ("CO₂ m⁴ ⅜", "CO2 m4 3/8"),
            ("a\u{7}b", "a[U+0007]b"),
        ] {
            assert_eq!(spell(text), plain, "{text}");
        }
        assert!(lacks_letters("橋") && !lacks_letters("Жук 4 in"));
    }

    #[test]
    fn a_width_is_the_sum_of_the_metrics() {
        // H 722, a 556, r 333, r 333, o 556, w 722.
        assert_eq!(width("Harrow", false), 3222);
        assert_eq!(width("0.25 %", true), 556 * 3 + 278 + 278 + 889);
    }

    proptest! {
        #[test]
        fn whatever_is_spelled_can_be_set(text in "\\PC{0,60}") {
            let spelled = spell(&text);
            prop_assert!(spelled.chars().all(holds), "{spelled}");
            let bytes: usize = runs(&spelled, false).iter().map(|(_, bytes)| bytes.len()).sum();
            prop_assert_eq!(bytes, spelled.chars().count());
        }
    }
}
