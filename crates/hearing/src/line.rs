//! One line: one utterance.
//!
//! Here: from bytes to words with their tags. Not here: what the words mean.
//!
//! | tag | says |
//! |-----|------|
//! | `conf=0.83` | how sure the recogniser is, from 0 to 1 |
//! | `src=mic`, `src=pedal` | where the line comes from |
//! | `ago=640` | how many milliseconds before the line the sound began, at most [`AGO_AT_MOST`] |
//!
//! Tags stand before the words, in any order, each at most once. A sign of equality in the words themselves is no tag.
//!
//! **Invariant:** bytes that are no such line have no effect but to be counted.

use crate::words::alike;

/// At most so many bytes of words in a line, tags and the end of the line not counted.
pub const WORDS_AT_MOST: usize = 256;

/// A sound that began longer ago than so many milliseconds is no utterance any more.
pub const AGO_AT_MOST: u64 = 60_000;

/// Three tags, their spaces and the words fit easily; what is longer is not looked at.
const LINE_AT_MOST: usize = 1024;

/// Where a line came from, by its own account.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq, Hash)]
pub enum Source {
    /// It does not say: a script, another program, a pedal.
    #[default]
    Unsaid,
    /// A microphone.
    Microphone,
    /// A pedal or a button.
    Pedal,
}

/// A line that was read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Utterance {
    /// Its words, [made alike](crate::words::alike).
    pub words: String,
    /// Its words as they came, trimmed; for names and remarks.
    pub verbatim: String,
    /// How sure the recogniser is, in per cent.
    pub confidence: Option<u8>,
    /// Where it came from.
    pub source: Source,
    /// How many milliseconds before the line the sound began.
    pub ago_ms: Option<u64>,
}

/// Why bytes are no line.
#[derive(Copy, Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoLine {
    /// More than [`WORDS_AT_MOST`].
    #[error("the line is too long")]
    TooLong,
    /// Not text, or with signs no voice makes.
    #[error("the line is not plain text")]
    NotText,
    /// A tag is wrong.
    #[error("a tag of the line is not as described")]
    BadTag,
    /// Nothing in it.
    #[error("the line is empty")]
    Empty,
}

/// Reads one line, without its end; a carriage return before the end may be there still.
///
/// # Errors
///
/// [`NoLine`] says why it is none.
///
/// # Example
///
/// ```
/// let line = hearing::line::read(b"ago=640 conf=0.83 Two and three-quarters.").unwrap();
/// assert_eq!((line.words.as_str(), line.confidence, line.ago_ms), ("two and three quarters", Some(83), Some(640)));
/// ```
pub fn read(bytes: &[u8]) -> Result<Utterance, NoLine> {
    let bytes = bytes.strip_suffix(b"\r").unwrap_or(bytes);
    if bytes.len() > LINE_AT_MOST {
        return Err(NoLine::TooLong);
    }
    let text = std::str::from_utf8(bytes).map_err(|_| NoLine::NotText)?;
    if text.chars().any(is_no_sound) {
        return Err(NoLine::NotText);
    }
    let text = text.replace('\t', " ");
    let (tags, said) = tags_and_words(text.trim());
    let mut line = Utterance::default();
    let mut named = Vec::new();
    for (name, value) in tags {
        if named.contains(&name) {
            return Err(NoLine::BadTag);
        }
        tag(&mut line, name, value).ok_or(NoLine::BadTag)?;
        named.push(name);
    }
    if said.len() > WORDS_AT_MOST {
        return Err(NoLine::TooLong);
    }
    line.words = alike(said);
    said.clone_into(&mut line.verbatim);
    if line.words.is_empty() { Err(NoLine::Empty) } else { Ok(line) }
}

/// The tags before the first word that is none, and the rest.
fn tags_and_words(mut text: &str) -> (Vec<(&str, &str)>, &str) {
    let mut tags = Vec::new();
    loop {
        let (first, rest) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
        let Some(tag) = first.split_once('=') else { return (tags, text) };
        tags.push(tag);
        text = rest.trim_start();
    }
}

fn tag(line: &mut Utterance, name: &str, value: &str) -> Option<()> {
    match name {
        "conf" => line.confidence = Some(per_cent(value)?),
        "src" => {
            line.source = match value {
                "mic" => Source::Microphone,
                "pedal" => Source::Pedal,
                _ => return None,
            };
        }
        "ago" => line.ago_ms = Some(digits(value)?.parse().ok().filter(|ago| *ago <= AGO_AT_MOST)?),
        _ => return None,
    }
    Some(())
}

/// "0.83" is 83. What is finer than a per cent is dropped, so that nobody looks surer than they are.
fn per_cent(value: &str) -> Option<u8> {
    let (whole, parts) = match value.split_once('.') {
        Some((whole, parts)) => (digits(whole)?, digits(parts)?),
        None => (digits(value)?, "0"),
    };
    match whole {
        "1" => parts.bytes().all(|digit| digit == b'0').then_some(100),
        "0" => format!("{parts}0").get(..2)?.parse().ok(),
        _ => None,
    }
}

fn digits(text: &str) -> Option<&str> {
    (!text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())).then_some(text)
}

/// Signs that steer a terminal or hide in a text; none of them is ever said. A tab is only a space.
fn is_no_sound(sign: char) -> bool {
    (sign.is_control() && sign != '\t')
        || matches!(sign,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{feff}'
            | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
            | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

    use super::*;

    fn said(text: &str) -> Utterance {
        Utterance { words: text.to_lowercase(), verbatim: text.to_owned(), ..Utterance::default() }
    }

    #[test]
    fn tags_in_any_order_stand_before_the_words() {
        let all = Utterance {
            confidence: Some(83),
            source: Source::Microphone,
            ago_ms: Some(640),
            ..said("Five point two five")
        };
        for line in [
            "conf=0.83 src=mic ago=640 Five point two five",
            "ago=640 conf=0.83 src=mic Five point two five",
            "  src=mic   ago=640\tconf=0.8399999 Five point two five \r",
        ] {
            assert_eq!(read(line.as_bytes()), Ok(all.clone()), "{line:?}");
        }
        assert_eq!(read(b"Five point two five"), Ok(said("Five point two five")));
        let pedal = Utterance { source: Source::Pedal, ..said("next step") };
        assert_eq!(read(b"src=pedal next step"), Ok(pedal));
        for (tag, per_cent) in [("1", 100), ("0", 0), ("1.00", 100), ("0.999", 99), ("0.05", 5), ("0.5", 50)] {
            assert_eq!(read(format!("conf={tag} x").as_bytes()).unwrap().confidence, Some(per_cent), "{tag}");
        }
    }

    #[test]
    fn a_sign_of_equality_after_the_first_word_belongs_to_the_words() {
        assert_eq!(read(b"mix c=40 src=mic").unwrap().verbatim, "mix c=40 src=mic");
    }

    #[test]
    fn a_tag_that_is_not_as_described_spoils_the_line() {
        for line in [
            "conf=2 x",
            "conf=1.1 x",
            "conf=-0.5 x",
            "conf=83 x",
            "conf= x",
            "conf=.5 x",
            "conf=0. x",
            "conf=8e-1 x",
            "conf=nan x",
            "conf=0,8 x",
            "conf=0.8% x",
            "src=MIC x",
            "src=keyboard x",
            "src= x",
            "ago=-1 x",
            "ago=+1 x",
            "ago=1.5 x",
            "ago=60001 x",
            "ago=99999999999999999999999 x",
            "ago= x",
            "Conf=0.5 x",
            "t=640 x",
            "path=/etc/passwd x",
            "=x",
            "x=",
            "conf=0.5 conf=0.5 x",
            "src=mic src=pedal x",
            "ago=1 t=2 x",
            "conf=0.5conf=0.5 x",
            "slump=5",
        ] {
            assert_eq!(read(line.as_bytes()), Err(NoLine::BadTag), "{line:?}");
        }
    }

    #[test]
    fn what_no_voice_says_is_no_text() {
        for line in [
            &b"\x1b[2J next"[..],
            b"next\x1b",
            b"next\x00step",
            b"next\x07",
            b"\xff\xfe",
            b"next \xc3",
            b"a\nb",
            b"a\rb",
            b"a\x7fb",
            b"\xed\xa0\x80",
            b"a\x0bb",
            b"\x80",
        ] {
            assert_eq!(read(line), Err(NoLine::NotText), "{line:?}");
        }
        for sign in
            ['\u{202e}', '\u{2066}', '\u{200b}', '\u{feff}', '\u{9b}', '\u{85}', '\u{2028}', '\u{ad}', '\u{e0041}']
        {
            assert_eq!(read(format!("next {sign}step").as_bytes()), Err(NoLine::NotText), "{sign:?}");
        }
    }

    #[test]
    fn words_are_at_most_256_bytes_whatever_stands_around_them() {
        let most = "a ".repeat(127) + "ab";
        assert_eq!(most.len(), 256);
        let tagged = format!("conf=0.5 src=mic ago=1   {most}   \r");
        assert_eq!(read(tagged.as_bytes()).unwrap().verbatim, most);
        assert_eq!(read(format!("{most}c").as_bytes()), Err(NoLine::TooLong));
        assert_eq!(read(format!("{}é", "a".repeat(255)).as_bytes()), Err(NoLine::TooLong));
        assert_eq!(read(&vec![0xff; 100_000]), Err(NoLine::TooLong));
    }

    #[test]
    fn a_line_without_words_is_empty() {
        for line in ["", "   ", "\r", "\t", "conf=0.5", "conf=0.5 src=mic  ", "...", "?!"] {
            assert_eq!(read(line.as_bytes()), Err(NoLine::Empty), "{line:?}");
        }
    }
}
