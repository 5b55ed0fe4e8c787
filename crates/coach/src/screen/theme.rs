//! Colours: three themes, each in the colours a terminal has.
//!
//! Here: one style for each thing a colour is used for. Not here: any meaning that only a colour carries; words,
//! signs and reversed fields say everything first. Blue and orange are told apart by colour-blind eyes too.
//!
//! **Invariant:** every ink has a contrast of at least 4.5 : 1 on its ground, and one for the far view of at least 7 : 1, by
//! the formula of WCAG 2 (from memory).

use ratatui::style::{Color, Modifier, Style};

/// Which theme.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq)]
pub enum ThemeChoice {
    /// Light ink on a dark ground.
    #[default]
    Dark,
    /// Dark ink on a light ground: for the sun.
    Light,
    /// No colour at all: bold and reversed only.
    Mono,
}

/// How many colours the terminal has.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq)]
pub enum Colours {
    /// The sixteen of old, in the terminal's own shades.
    #[default]
    Sixteen,
    /// The palette of 256.
    TwoHundredFiftySix,
    /// Any shade.
    True,
}

/// One style for each thing a colour is used for.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Theme {
    /// Which theme it is.
    pub choice: ThemeChoice,
    /// In how many colours.
    pub colours: Colours,
    /// The ground, and plain text on it.
    pub plain: Style,
    /// What stands back.
    pub quiet: Style,
    /// The sentence to do.
    pub strong: Style,
    /// The number that matters.
    pub number: Style,
    /// Good: done, long enough, recorded.
    pub good: Style,
    /// A warning in words: blocked, caution.
    pub warn: Style,
    /// An alarm: over, not recorded. A field, not only an ink.
    pub alarm: Style,
    /// The name of a key. A field.
    pub key: Style,
    /// The line chosen in a list. A field.
    pub chosen: Style,
    /// The liquid in the neck.
    pub liquid: Style,
    /// The foam above it.
    pub foam: Style,
}

/// Ink and ground of one theme.
struct Shades {
    ground: Color,
    text: Color,
    quiet: Color,
    number: Color,
    good: Color,
    warn: Color,
    on_field: Color,
    alarm: Color,
    key: Color,
    liquid: Color,
    foam: Color,
}

const fn rgb(hex: u32) -> Color {
    Color::Rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

impl Theme {
    /// The theme for a choice and the colours there are.
    pub fn new(choice: ThemeChoice, colours: Colours) -> Theme {
        let shades = match (choice, colours) {
            (ThemeChoice::Mono, _) => return Theme::mono(),
            (ThemeChoice::Dark, Colours::True) => Shades {
                ground: rgb(0x0c1014),
                text: rgb(0xe9edf1),
                quiet: rgb(0xa3aeb9),
                number: rgb(0xfff6e0),
                good: rgb(0x86c8f5),
                warn: rgb(0xf7b05b),
                on_field: rgb(0x0c1014),
                alarm: rgb(0xf7a23f),
                key: rgb(0x9fd0f2),
                liquid: rgb(0x4f9fd8),
                foam: rgb(0xd8d2c4),
            },
            (ThemeChoice::Light, Colours::True) => Shades {
                ground: rgb(0xfbfaf6),
                text: rgb(0x14191e),
                quiet: rgb(0x4b5660),
                number: rgb(0x000000),
                good: rgb(0x0b4f86),
                warn: rgb(0x8f3d00),
                on_field: rgb(0xffffff),
                alarm: rgb(0x9c4200),
                key: rgb(0x0b4f86),
                liquid: rgb(0x2a72ad),
                foam: rgb(0x6d6a60),
            },
            (ThemeChoice::Dark, Colours::TwoHundredFiftySix) => Shades {
                ground: Color::Indexed(233),
                text: Color::Indexed(255),
                quiet: Color::Indexed(249),
                number: Color::Indexed(230),
                good: Color::Indexed(117),
                warn: Color::Indexed(215),
                on_field: Color::Indexed(233),
                alarm: Color::Indexed(215),
                key: Color::Indexed(153),
                liquid: Color::Indexed(74),
                foam: Color::Indexed(252),
            },
            (ThemeChoice::Light, Colours::TwoHundredFiftySix) => Shades {
                ground: Color::Indexed(231),
                text: Color::Indexed(233),
                quiet: Color::Indexed(240),
                number: Color::Indexed(16),
                good: Color::Indexed(24),
                warn: Color::Indexed(94),
                on_field: Color::Indexed(231),
                alarm: Color::Indexed(94),
                key: Color::Indexed(24),
                liquid: Color::Indexed(25),
                foam: Color::Indexed(241),
            },
            // The terminal's own shades: nobody knows what they are, so only pairs that every palette keeps apart.
            (ThemeChoice::Dark, Colours::Sixteen) => Shades {
                ground: Color::Reset,
                text: Color::Reset,
                quiet: Color::Reset,
                number: Color::Reset,
                good: Color::LightCyan,
                warn: Color::LightYellow,
                on_field: Color::Black,
                alarm: Color::LightYellow,
                key: Color::LightCyan,
                liquid: Color::LightCyan,
                foam: Color::Reset,
            },
            (ThemeChoice::Light, Colours::Sixteen) => Shades {
                ground: Color::White,
                text: Color::Black,
                quiet: Color::Black,
                number: Color::Black,
                good: Color::Blue,
                warn: Color::Red,
                on_field: Color::White,
                alarm: Color::Red,
                key: Color::Blue,
                liquid: Color::Blue,
                foam: Color::Black,
            },
        };
        Theme::of(choice, colours, &shades)
    }

    /// The same theme for somebody three metres away, perhaps in the sun: black and white, and no ink below 7 : 1.
    ///
    /// Of the sixteen colours nobody knows the shades: there it is the terminal's own two or black and white, and what
    /// is a field stays one by being reversed. Without colour it is bold and reversed as ever. Neither can be computed.
    #[must_use]
    pub fn far(&self) -> Theme {
        let indexed = Color::Indexed;
        let (ground, text, quiet, good, warn) = match (self.choice, self.colours) {
            (ThemeChoice::Mono, _) => return Theme::mono(),
            (ThemeChoice::Dark, Colours::True) => {
                (rgb(0x000000), rgb(0xffffff), rgb(0xc6ccd2), rgb(0x8fd0ff), rgb(0xffb040))
            }
            (ThemeChoice::Light, Colours::True) => {
                (rgb(0xffffff), rgb(0x000000), rgb(0x383f46), rgb(0x003a70), rgb(0x7a2a00))
            }
            (ThemeChoice::Dark, Colours::TwoHundredFiftySix) => {
                (indexed(16), indexed(231), indexed(252), indexed(117), indexed(215))
            }
            (ThemeChoice::Light, Colours::TwoHundredFiftySix) => {
                (indexed(231), indexed(16), indexed(237), indexed(18), indexed(88))
            }
            (ThemeChoice::Dark, Colours::Sixteen) => return Theme { colours: self.colours, ..Theme::mono() },
            (ThemeChoice::Light, Colours::Sixteen) => {
                (Color::White, Color::Black, Color::Black, Color::Black, Color::Black)
            }
        };
        let (number, on_field, alarm, key, liquid, foam) = (text, ground, warn, text, text, quiet);
        let shades = Shades { ground, text, quiet, number, good, warn, on_field, alarm, key, liquid, foam };
        Theme::of(self.choice, self.colours, &shades)
    }

    fn of(choice: ThemeChoice, colours: Colours, shades: &Shades) -> Theme {
        let ink = |color| Style::new().fg(color).bg(shades.ground);
        let field = |color| Style::new().fg(shades.on_field).bg(color);
        Theme {
            choice,
            colours,
            plain: ink(shades.text),
            quiet: ink(shades.quiet),
            strong: ink(shades.text).add_modifier(Modifier::BOLD),
            number: ink(shades.number),
            good: ink(shades.good),
            warn: ink(shades.warn).add_modifier(Modifier::BOLD),
            alarm: field(shades.alarm).add_modifier(Modifier::BOLD),
            key: field(shades.key).add_modifier(Modifier::BOLD),
            chosen: field(shades.key),
            liquid: ink(shades.liquid),
            foam: ink(shades.foam),
        }
    }

    fn mono() -> Theme {
        let plain = Style::new();
        let bold = plain.add_modifier(Modifier::BOLD);
        let field = bold.add_modifier(Modifier::REVERSED);
        Theme {
            choice: ThemeChoice::Mono,
            colours: Colours::default(),
            plain,
            quiet: plain,
            strong: bold,
            number: plain,
            good: plain,
            warn: bold,
            alarm: field,
            key: field,
            chosen: plain.add_modifier(Modifier::REVERSED),
            liquid: plain,
            foam: plain,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The shade of a colour whose shade is known: true colours, and the palette above its first sixteen.
    fn shade(color: Color) -> Option<[u8; 3]> {
        let level = |n: u8| if n == 0 { 0 } else { 55 + 40 * n };
        match color {
            Color::Rgb(r, g, b) => Some([r, g, b]),
            Color::Indexed(at @ 232..) => Some([8 + 10 * (at - 232); 3]),
            Color::Indexed(at @ 16..) => {
                let at = at - 16;
                Some([level(at / 36), level(at / 6 % 6), level(at % 6)])
            }
            _ => None,
        }
    }

    #[expect(clippy::float_arithmetic, reason = "contrast of colours is no reading of an instrument")]
    fn luminance(shade: [u8; 3]) -> f64 {
        let [r, g, b] = shade.map(|part| {
            let part = f64::from(part) / 255.0;
            if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    #[expect(clippy::float_arithmetic, reason = "contrast of colours is no reading of an instrument")]
    fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn every_ink_can_be_read_on_its_ground_in_the_sun() {
        for choice in [ThemeChoice::Dark, ThemeChoice::Light] {
            for colours in [Colours::True, Colours::TwoHundredFiftySix] {
                assert_contrast(&Theme::new(choice, colours), 4.5);
                assert_contrast(&Theme::new(choice, colours).far(), 7.0);
            }
        }
    }

    fn assert_contrast(theme: &Theme, at_least: f64) {
        for (name, style) in [
            ("plain", theme.plain),
            ("quiet", theme.quiet),
            ("strong", theme.strong),
            ("number", theme.number),
            ("good", theme.good),
            ("warn", theme.warn),
            ("alarm", theme.alarm),
            ("key", theme.key),
            ("chosen", theme.chosen),
            ("liquid", theme.liquid),
            ("foam", theme.foam),
        ] {
            let ink = shade(style.fg.unwrap()).unwrap();
            let ground = shade(style.bg.unwrap()).unwrap();
            let contrast = contrast(ink, ground);
            assert!(contrast >= at_least, "{:?} {:?} {name}: {contrast:.2}", theme.choice, theme.colours);
        }
    }

    #[test]
    fn without_colour_nothing_is_coloured() {
        let theme = Theme::new(ThemeChoice::Mono, Colours::True);
        for style in [theme.plain, theme.warn, theme.alarm, theme.key, theme.liquid, theme.foam, theme.number] {
            assert_eq!((style.fg, style.bg), (None, None));
        }
        assert_eq!(theme.far(), Theme { colours: Colours::default(), ..theme });
    }
}
