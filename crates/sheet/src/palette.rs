//! The colours of the sheet. Few, and each readable on what it stands on.
//!
//! **Invariant:** every pair in which text is set has the contrast that WCAG 2 asks of small text (AA, 4.5 to 1), and no
//! meaning rests on a colour alone: the sheet says the same when it is printed grey.

/// A colour by what it is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ink {
    /// Text.
    Text,
    /// Text that explains other text.
    Quiet,
    /// Headings, and hands at work on the timeline.
    Accent,
    /// Within a limit.
    Good,
    /// Outside a limit, late, overdue.
    Alarm,
    /// Fine lines.
    Rule,
    /// A plain background a little darker than paper.
    Wash,
    /// Waiting on the timeline.
    Pale,
    /// Paper.
    Paper,
}

impl Ink {
    /// Red, green and blue, 0 to 255.
    pub(crate) fn rgb(self) -> [u8; 3] {
        match self {
            Self::Text => [0x1a, 0x22, 0x2b],
            Self::Quiet => [0x55, 0x5f, 0x69],
            Self::Accent => [0x1d, 0x4e, 0x5f],
            Self::Good => [0x1f, 0x66, 0x3d],
            Self::Alarm => [0xa3, 0x1d, 0x1d],
            Self::Rule => [0xc8, 0xce, 0xd3],
            Self::Wash => [0xf3, 0xf5, 0xf5],
            Self::Pale => [0xcf, 0xdd, 0xe0],
            Self::Paper => [0xff, 0xff, 0xff],
        }
    }

    /// `#1a222b`.
    pub(crate) fn hex(self) -> String {
        let [red, green, blue] = self.rgb();
        format!("#{red:02x}{green:02x}{blue:02x}")
    }
}

/// The contrast of two colours as WCAG 2 defines it: 1 to 21.
#[cfg(test)]
#[expect(clippy::float_arithmetic, reason = "contrast is defined with powers; no reading or limit is among them")]
pub(crate) fn contrast(one: Ink, other: Ink) -> f64 {
    let luminance = |ink: Ink| {
        let part = |byte: u8| {
            let share = f64::from(byte) / 255.0;
            if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        let [red, green, blue] = ink.rgb();
        0.2126 * part(red) + 0.7152 * part(green) + 0.0722 * part(blue)
    };
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[cfg(test)]
mod tests {
    use super::{Ink, contrast};

    #[test]
    fn every_pair_of_text_and_background_can_be_read() {
        for (text, background) in [
            (Ink::Text, Ink::Paper),
            (Ink::Text, Ink::Wash),
            (Ink::Text, Ink::Pale),
            (Ink::Quiet, Ink::Paper),
            (Ink::Quiet, Ink::Wash),
            (Ink::Accent, Ink::Paper),
            (Ink::Accent, Ink::Wash),
            (Ink::Good, Ink::Paper),
            (Ink::Good, Ink::Wash),
            (Ink::Alarm, Ink::Paper),
            (Ink::Alarm, Ink::Wash),
            (Ink::Paper, Ink::Alarm),
            (Ink::Paper, Ink::Accent),
        ] {
            let contrast = contrast(text, background);
            assert!(contrast >= 4.5, "{text:?} on {background:?}: {contrast:.2}");
        }
    }
}
