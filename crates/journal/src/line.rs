//! One line of a journal: its frame, its sum, and nothing else.
//!
//! Here: writing a line and taking one apart, byte for byte. Not here: what a bad line means (see `scan`).
//!
//! **Invariant:** [`parse`] accepts exactly the bytes [`encode`] can write, so no changed byte goes unnoticed.

use std::io::Write;

use serde::Serialize;
use serde_json::value::RawValue;
use sha2::{Digest, Sha256};

use crate::PayloadError;

/// The format version this crate writes, and the highest it reads.
pub const VERSION: u64 = 1;

/// What stands between the payload and the sum.
pub(crate) const BEFORE_SUM: &[u8] = br#","sum":""#;
/// What closes a line, before its newline.
const AFTER_SUM: &[u8] = br#""}"#;
/// What every line of this version starts with.
pub(crate) const START: &[u8] = br#"{"v":1,"n":"#;
/// Length of the sum in hexadecimal digits: the first 16 of SHA-256's 32 bytes. Half is enough to find decay
/// and edits, and keeps a line readable.
const SUM_LEN: usize = 32;

/// A sum as it stands in the file: 32 lower-case hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Sum([u8; SUM_LEN]);

impl Sum {
    /// What the first line is chained to.
    pub(crate) const ZERO: Self = Self([b'0'; SUM_LEN]);

    /// The sum text of `bytes`, if it is one.
    pub(crate) fn read(bytes: &[u8]) -> Option<Self> {
        let digits: [u8; SUM_LEN] = bytes.try_into().ok()?;
        digits.iter().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')).then_some(Self(digits))
    }

    /// The sum of a line whose bytes before `,"sum":"` are `summed`, after a line whose sum is `previous`.
    pub(crate) fn of(previous: Self, summed: &[u8]) -> Self {
        let mut hash = Self::chain(previous);
        hash.update(summed);
        Self::finish(hash)
    }

    /// A hash that has taken in the sum of the line before.
    pub(crate) fn chain(previous: Self) -> Sha256 {
        let mut hash = Sha256::new();
        hash.update(previous.0);
        hash
    }

    /// The sum text of a finished hash.
    pub(crate) fn finish(hash: Sha256) -> Self {
        const HEX: &[u8; 16] = b"0123456789abcdef";
        let digest = hash.finalize();
        let mut digits = [b'0'; SUM_LEN];
        for (pair, byte) in digits.chunks_exact_mut(2).zip(digest.iter()) {
            pair[0] = HEX[usize::from(byte >> 4)];
            pair[1] = HEX[usize::from(byte & 0x0f)];
        }
        Self(digits)
    }

    /// The 32 digits as text.
    pub(crate) fn as_str(&self) -> &str {
        // Only hexadecimal digits are ever stored, so this cannot fail.
        std::str::from_utf8(&self.0).unwrap_or_default()
    }
}

/// Replaces `line` by the whole line of entry `n`, newline included, and returns its sum.
///
/// # Errors
///
/// [`PayloadError`] if the payload is no JSON object or has a line break of its own (text taken over raw from a
/// file laid out for reading). `line` is then of no use.
pub(crate) fn encode<T: Serialize + ?Sized>(
    line: &mut Vec<u8>,
    n: u64,
    previous: Sum,
    payload: &T,
) -> Result<Sum, PayloadError> {
    line.clear();
    line.extend_from_slice(START);
    // Writing to memory cannot fail.
    let _ = write!(line, "{n},\"e\":");
    let payload_at = line.len();
    serde_json::to_writer(&mut *line, payload).map_err(PayloadError::NotJson)?;
    if line.get(payload_at) != Some(&b'{') {
        return Err(PayloadError::NotAnObject);
    }
    if line.contains(&b'\n') {
        return Err(PayloadError::LineBreak);
    }
    let sum = Sum::of(previous, line);
    line.extend_from_slice(BEFORE_SUM);
    line.extend_from_slice(&sum.0);
    line.extend_from_slice(AFTER_SUM);
    line.push(b'\n');
    Ok(sum)
}

/// A line taken apart. Whether `sum` is right, and `n` the one expected, is for the caller to say.
#[derive(Debug)]
pub(crate) struct Frame<'a> {
    pub(crate) n: u64,
    pub(crate) payload: &'a RawValue,
    pub(crate) sum: Sum,
    /// The bytes that are summed.
    pub(crate) summed: &'a [u8],
}

impl Frame<'_> {
    /// Whether this line's sum fits its bytes and the line before.
    pub(crate) fn follows(&self, previous: Sum) -> bool {
        Sum::of(previous, self.summed) == self.sum
    }
}

/// Takes a whole line (without its newline) apart; `None` if any byte of the frame is not as written here.
pub(crate) fn parse(line: &[u8]) -> Option<Frame<'_>> {
    let (summed, sum) = split_sum(line)?;
    let (n, rest) = number(summed.strip_prefix(START)?)?;
    let payload = rest.strip_prefix(br#","e":"#)?;
    if payload.first() != Some(&b'{') || payload.last() != Some(&b'}') {
        return None;
    }
    let payload: &RawValue = serde_json::from_str(std::str::from_utf8(payload).ok()?).ok()?;
    Some(Frame { n, payload, sum, summed })
}

/// Splits a line (without its newline) into its summed bytes and its sum text.
pub(crate) fn split_sum(line: &[u8]) -> Option<(&[u8], Sum)> {
    let line = line.strip_suffix(AFTER_SUM)?;
    let (line, digits) = line.split_at_checked(line.len().checked_sub(SUM_LEN)?)?;
    Some((line.strip_suffix(BEFORE_SUM)?, Sum::read(digits)?))
}

/// The version and the rest of a line that starts as lines of every version do: `{"v":<number>,`.
pub(crate) fn version(line: &[u8]) -> Option<u64> {
    let (v, rest) = number(line.strip_prefix(br#"{"v":"#)?)?;
    rest.starts_with(b",").then_some(v)
}

/// If an entry that fits the one before stands whole at the start of `piece`, its length without the newline.
///
/// Used for a piece whose newline is missing or changed: the entry itself may still be sound.
pub(crate) fn whole_at_start(piece: &[u8], previous: Sum) -> Option<usize> {
    // One pass for every place the payload might end, so that a hostile file costs no more than an honest one.
    let mut hash = Sum::chain(previous);
    let mut hashed = 0;
    while let Some(step) = find(&piece[hashed..], BEFORE_SUM) {
        let sum_mark = hashed + step;
        hash.update(&piece[hashed..sum_mark]);
        let digits_at = sum_mark + BEFORE_SUM.len();
        let end = digits_at + SUM_LEN + AFTER_SUM.len();
        if let Some(closing) = piece.get(digits_at..end)
            && closing.ends_with(AFTER_SUM)
            && Sum::read(&closing[..SUM_LEN]) == Some(Sum::finish(hash.clone()))
        {
            return Some(end);
        }
        hash.update(&piece[sum_mark..digits_at]);
        hashed = digits_at;
    }
    None
}

/// A decimal number as written here: no sign, no leading zero.
fn number(bytes: &[u8]) -> Option<(u64, &[u8])> {
    let len = bytes.iter().take_while(|b| b.is_ascii_digit()).count();
    let (digits, rest) = bytes.split_at(len);
    if len > 1 && digits[0] == b'0' {
        return None;
    }
    Some((std::str::from_utf8(digits).ok()?.parse().ok()?, rest))
}

/// Where `needle` first stands in `hay`.
pub(crate) fn find(hay: &[u8], needle: &[u8]) -> Option<usize> {
    hay.windows(needle.len()).position(|window| window == needle)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn first_line_is_the_one_in_the_format_page() {
        let mut line = Vec::new();
        let sum = encode(&mut line, 0, Sum::ZERO, &serde_json::json!({"a": 1})).unwrap();
        let text = String::from_utf8(line).unwrap();
        assert_eq!(text, format!("{{\"v\":1,\"n\":0,\"e\":{{\"a\":1}},\"sum\":\"{}\"}}\n", sum.as_str()));
        let page = include_str!("../FORMAT.md");
        assert!(page.contains(text.trim_end()), "FORMAT.md should show this line: {text}");
    }

    #[test]
    fn a_number_has_one_spelling() {
        assert_eq!(number(b"0,"), Some((0, &b","[..])));
        assert_eq!(number(b"10"), Some((10, &b""[..])));
        for bad in ["", "00", "01", "+1", "-1", "x", "18446744073709551616"] {
            assert_eq!(number(bad.as_bytes()), None, "{bad}");
        }
    }

    #[test]
    fn a_line_is_taken_apart_only_if_every_byte_of_its_frame_is_right() {
        let mut line = Vec::new();
        encode(&mut line, 7, Sum::ZERO, &serde_json::json!({"a": [1, {"b": "é"}]})).unwrap();
        line.pop();
        let frame = parse(&line).unwrap();
        assert_eq!((frame.n, frame.payload.get()), (7, r#"{"a":[1,{"b":"é"}]}"#));
        assert!(frame.follows(Sum::ZERO) && !frame.follows(frame.sum));
        let text = String::from_utf8(line).unwrap();
        for (from, to) in [
            ("{\"v\"", " {\"v\""),
            ("\"v\":1", "\"v\": 1"),
            ("\"v\":1", "\"v\":2"),
            ("\"n\":7", "\"n\":07"),
            ("\"e\":{", "\"e\": {"),
            ("},\"sum\"", "} ,\"sum\""),
            ("[1", "[01"),
            ("\"}", "\"} "),
            ("\"}", "\"}\r"),
            ("},\"sum\"", ",\"sum\""),
        ] {
            // The last place: the payload may hold the same characters.
            let changed = to.to_owned() + &text[text.rfind(from).unwrap() + from.len()..];
            let changed = text[..text.rfind(from).unwrap()].to_owned() + &changed;
            assert_ne!(changed, text);
            assert!(parse(changed.as_bytes()).is_none(), "{changed}");
        }
        assert!(parse(text.to_uppercase().as_bytes()).is_none());
    }

    #[test]
    fn a_payload_must_be_one_object_on_one_line() {
        let mut line = Vec::new();
        for bad in ["[]", "1", "null", "\"{\""] {
            let raw: &RawValue = serde_json::from_str(bad).unwrap();
            assert!(matches!(encode(&mut line, 0, Sum::ZERO, raw), Err(PayloadError::NotAnObject)), "{bad}");
        }
        let raw: &RawValue = serde_json::from_str("{\n}").unwrap();
        assert!(matches!(encode(&mut line, 0, Sum::ZERO, raw), Err(PayloadError::LineBreak)));
        let keyed_by_pairs = std::collections::BTreeMap::from([((1, 2), 3)]);
        assert!(matches!(encode(&mut line, 0, Sum::ZERO, &keyed_by_pairs), Err(PayloadError::NotJson(_))));
    }
}
