//! The three typefaces every PDF reader has: which characters they hold and how wide each is.
//!
//! Helvetica and Helvetica-Bold in the encoding called WinAnsi, and Symbol in its own for the few signs of mathematics
//! and the Greek letters that the others lack. Widths are the ones of the public AFM metrics of the base 14 typefaces,
//! in thousandths of the type size. A character that none of the three holds is spelled with others ([`spell`]).
//!
//! **Invariant:** whatever [`spell`] gives back can be set whole, and [`width`] is what a reader will make of it.

mod plain;

pub(crate) use plain::{lacks_letters, spell};

use crate::wrap::TIE;

/// A typeface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Face {
    /// Helvetica.
    Regular,
    /// Helvetica-Bold.
    Bold,
    /// Symbol.
    Symbol,
}

/// The byte of `c` in WinAnsi.
fn win_ansi(c: char) -> Option<u8> {
    let byte = match c {
        ' '..='~' => return u8::try_from(c).ok(),
        '\u{00AD}' => return None,
        '\u{00A0}'..='\u{00FF}' => return u8::try_from(u32::from(c)).ok(),
        '€' => 0x80,
        '‚' => 0x82,
        'ƒ' => 0x83,
        '„' => 0x84,
        '…' => 0x85,
        '†' => 0x86,
        '‡' => 0x87,
        'ˆ' => 0x88,
        '‰' => 0x89,
        'Š' => 0x8A,
        '‹' => 0x8B,
        'Œ' => 0x8C,
        'Ž' => 0x8E,
        '‘' => 0x91,
        '’' => 0x92,
        '“' => 0x93,
        '”' => 0x94,
        '•' => 0x95,
        '–' => 0x96,
        '—' => 0x97,
        '˜' => 0x98,
        '™' => 0x99,
        'š' => 0x9A,
        '›' => 0x9B,
        'œ' => 0x9C,
        'ž' => 0x9E,
        'Ÿ' => 0x9F,
        _ => return None,
    };
    Some(byte)
}

/// The byte and the width of `c` in Symbol.
fn symbol(c: char) -> Option<(u8, u16)> {
    SYMBOL.iter().find(|(held, ..)| *held == c).map(|(_, byte, width)| (*byte, *width))
}

/// Whether `c` can be set as it is.
fn holds(c: char) -> bool {
    win_ansi(c).is_some() || symbol(c).is_some()
}

/// Stretches of one typeface with their bytes. `text` must have been spelled; what cannot be set is left out.
pub(crate) fn runs(text: &str, bold: bool) -> Vec<(Face, Vec<u8>)> {
    let letters = if bold { Face::Bold } else { Face::Regular };
    let mut runs: Vec<(Face, Vec<u8>)> = Vec::new();
    for c in text.chars() {
        // Set, a space that ties is a space.
        let c = if c == TIE { ' ' } else { c };
        let (face, byte) = match (win_ansi(c), symbol(c)) {
            (Some(byte), _) => (letters, byte),
            (None, Some((byte, _))) => (Face::Symbol, byte),
            (None, None) => continue,
        };
        match runs.last_mut() {
            Some((last, bytes)) if *last == face => bytes.push(byte),
            _ => runs.push((face, vec![byte])),
        }
    }
    runs
}

/// How wide a text is, in thousandths of the type size.
pub(crate) fn width(text: &str, bold: bool) -> u32 {
    let table = if bold { &BOLD } else { &REGULAR };
    text.chars()
        .map(|c| match win_ansi(c) {
            Some(byte) => u32::from(table.get(usize::from(byte).wrapping_sub(32)).copied().unwrap_or_default()),
            None => symbol(c).map_or(0, |(_, width)| u32::from(width)),
        })
        .sum()
}

/// The widths of the characters 32 to 255 of a typeface, as a reader must be told them; 0 where this crate sets none.
pub(crate) fn widths(face: Face) -> [u16; 224] {
    match face {
        Face::Regular => REGULAR,
        Face::Bold => BOLD,
        Face::Symbol => {
            let mut all = [0; 224];
            for (_, byte, width) in SYMBOL {
                if let Some(place) = all.get_mut(usize::from(byte).wrapping_sub(32)) {
                    *place = width;
                }
            }
            all
        }
    }
}

/// Widths of the characters 32 to 255 of Helvetica.
#[rustfmt::skip]
const REGULAR: [u16; 224] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584, 350,
    556, 350, 222, 556, 333, 1000, 556, 556, 333, 1000, 667, 333, 1000, 350, 611, 350,
    350, 222, 222, 333, 333, 350, 556, 1000, 333, 1000, 500, 333, 944, 350, 500, 667,
    278, 333, 556, 556, 556, 556, 260, 556, 333, 737, 370, 556, 584, 333, 737, 333,
    400, 584, 333, 333, 333, 556, 537, 278, 333, 333, 365, 556, 834, 834, 834, 611,
    667, 667, 667, 667, 667, 667, 1000, 722, 667, 667, 667, 667, 278, 278, 278, 278,
    722, 722, 778, 778, 778, 778, 778, 584, 778, 722, 722, 722, 722, 667, 667, 611,
    556, 556, 556, 556, 556, 556, 889, 500, 556, 556, 556, 556, 278, 278, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 584, 611, 556, 556, 556, 556, 500, 556, 500,
];

/// Widths of the characters 32 to 255 of Helvetica-Bold.
#[rustfmt::skip]
const BOLD: [u16; 224] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611,
    975, 722, 722, 722, 722, 667, 611, 778, 722, 278, 556, 722, 611, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 333, 278, 333, 584, 556,
    333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556, 278, 889, 611, 611,
    611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584, 350,
    556, 350, 278, 556, 500, 1000, 556, 556, 333, 1000, 667, 333, 1000, 350, 611, 350,
    350, 278, 278, 500, 500, 350, 556, 1000, 333, 1000, 556, 333, 944, 350, 500, 667,
    278, 333, 556, 556, 556, 556, 280, 556, 333, 737, 370, 556, 584, 333, 737, 333,
    400, 584, 333, 333, 333, 611, 556, 278, 333, 333, 365, 556, 834, 834, 834, 611,
    722, 722, 722, 722, 722, 722, 1000, 722, 667, 667, 667, 667, 278, 278, 278, 278,
    722, 722, 778, 778, 778, 778, 778, 584, 778, 722, 722, 722, 722, 667, 667, 611,
    556, 556, 556, 556, 556, 556, 889, 556, 556, 556, 556, 556, 278, 278, 278, 278,
    611, 611, 611, 611, 611, 611, 611, 584, 611, 611, 611, 611, 611, 556, 611, 556,
];

/// Characters of Symbol that the others lack, with byte and width.
#[rustfmt::skip]
const SYMBOL: [(char, u8, u16); 41] = [
    ('Α', 0x41, 722),
    ('Β', 0x42, 667),
    ('Γ', 0x47, 603),
    ('Δ', 0x44, 612),
    ('Θ', 0x51, 741),
    ('Λ', 0x4C, 686),
    ('Π', 0x50, 768),
    ('Σ', 0x53, 592),
    ('Φ', 0x46, 763),
    ('Ψ', 0x59, 795),
    ('Ω', 0x57, 768),
    ('α', 0x61, 631),
    ('β', 0x62, 549),
    ('γ', 0x67, 411),
    ('δ', 0x64, 494),
    ('ε', 0x65, 439),
    ('θ', 0x71, 521),
    ('λ', 0x6C, 549),
    ('π', 0x70, 549),
    ('ρ', 0x72, 549),
    ('σ', 0x73, 603),
    ('τ', 0x74, 439),
    ('φ', 0x66, 521),
    ('ω', 0x77, 686),
    ('′', 0xA2, 247),
    ('″', 0xB2, 411),
    ('←', 0xAC, 987),
    ('↑', 0xAD, 603),
    ('→', 0xAE, 987),
    ('↓', 0xAF, 603),
    ('∑', 0xE5, 713),
    ('−', 0x2D, 549),
    ('√', 0xD6, 549),
    ('∝', 0xB5, 713),
    ('∞', 0xA5, 713),
    ('∼', 0x7E, 549),
    ('≈', 0xBB, 549),
    ('≠', 0xB9, 549),
    ('≡', 0xBA, 549),
    ('≤', 0xA3, 549),
    ('≥', 0xB3, 549),
];
