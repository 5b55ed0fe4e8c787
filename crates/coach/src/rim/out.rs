//! From a screen to the fewest bytes that bring it about.
//!
//! Here: a ratatui backend that only fills one buffer of bytes. It remembers where the cursor stands and which
//! style is switched on, so that a clock that changes one digit costs one digit and a way to it. Not here: the
//! terminal itself; whoever owns it takes the bytes with [`Painter::bytes`] and sends them in one write.
//!
//! **Invariant:** whatever was drawn, a terminal that received every byte shows exactly the last buffer.

use std::convert::Infallible;
use std::io::Write as _;

use ratatui::backend::{Backend, ClearType, WindowSize};
use ratatui::buffer::Cell;
use ratatui::layout::{Position, Size};
use ratatui::style::{Color, Modifier};
use ratatui::text::Span;

/// How many colours the terminal can show.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Depth {
    /// None: bold, reverse and underline only (`NO_COLOR`).
    None,
    /// The 16 named ones.
    Named,
    /// 256, by number.
    Indexed,
    /// Any.
    True,
}

impl Depth {
    /// What the environment announces: the values of `NO_COLOR`, `COLORTERM` and `TERM`.
    pub fn announced(no_color: Option<&str>, colorterm: Option<&str>, term: Option<&str>) -> Self {
        if no_color.is_some_and(|value| !value.is_empty()) {
            return Self::None;
        }
        match (colorterm, term) {
            (Some("truecolor" | "24bit"), _) => Self::True,
            (_, Some(term)) if term.contains("256color") => Self::Indexed,
            (_, Some("dumb")) => Self::None,
            _ => Self::Named,
        }
    }

    /// The nearest colour the terminal can show.
    fn nearest(self, color: Color) -> Color {
        match (self, color) {
            (Self::None, _) => Color::Reset,
            (Self::True, _) | (Self::Indexed, Color::Indexed(_)) => color,
            (Self::Indexed, Color::Rgb(r, g, b)) => Color::Indexed(nearest_indexed(r, g, b)),
            (Self::Named, Color::Rgb(r, g, b)) => NAMED[nearest_of(&NAMED_RGB, [r, g, b])],
            (Self::Named, Color::Indexed(n)) => NAMED[nearest_of(&NAMED_RGB, indexed_rgb(n))],
            _ => color,
        }
    }
}

/// The 16 named colours in the order of their numbers.
const NAMED: [Color; 16] = [
    Color::Black,
    Color::Red,
    Color::Green,
    Color::Yellow,
    Color::Blue,
    Color::Magenta,
    Color::Cyan,
    Color::Gray,
    Color::DarkGray,
    Color::LightRed,
    Color::LightGreen,
    Color::LightYellow,
    Color::LightBlue,
    Color::LightMagenta,
    Color::LightCyan,
    Color::White,
];

/// What they look like in most terminals; palettes differ.
const NAMED_RGB: [[u8; 3]; 16] = [
    [0, 0, 0],
    [205, 0, 0],
    [0, 205, 0],
    [205, 205, 0],
    [0, 0, 238],
    [205, 0, 205],
    [0, 205, 205],
    [229, 229, 229],
    [127, 127, 127],
    [255, 0, 0],
    [0, 255, 0],
    [255, 255, 0],
    [92, 92, 255],
    [255, 0, 255],
    [0, 255, 255],
    [255, 255, 255],
];

/// The levels of the 6 × 6 × 6 cube.
const CUBE: [u8; 6] = [0, 95, 135, 175, 215, 255];

fn distance(a: [u8; 3], b: [u8; 3]) -> u32 {
    // Green counts most to the eye, blue least.
    [(0, 3), (1, 4), (2, 2)]
        .into_iter()
        .map(|(n, weight): (usize, u32)| {
            let by = u32::from(a[n].abs_diff(b[n]));
            weight * by * by
        })
        .sum()
}

fn nearest_of(palette: &[[u8; 3]], wanted: [u8; 3]) -> usize {
    (0..palette.len()).min_by_key(|&n| distance(palette[n], wanted)).unwrap_or_default()
}

/// What colour number `n` of 256 looks like.
pub(super) fn indexed_rgb(n: u8) -> [u8; 3] {
    match n {
        0..=15 => NAMED_RGB[usize::from(n)],
        16..=231 => {
            let n = usize::from(n - 16);
            [CUBE[n / 36], CUBE[n / 6 % 6], CUBE[n % 6]]
        }
        _ => [8 + 10 * (n - 232); 3],
    }
}

/// What a colour looks like; `default` for the terminal's own.
pub(super) fn rgb(color: Color, default: [u8; 3]) -> [u8; 3] {
    match color {
        Color::Reset => default,
        Color::Rgb(r, g, b) => [r, g, b],
        Color::Indexed(n) => indexed_rgb(n),
        named => NAMED.iter().position(|known| *known == named).map_or(default, |n| NAMED_RGB[n]),
    }
}

fn nearest_indexed(r: u8, g: u8, b: u8) -> u8 {
    let wanted = [r, g, b];
    (16..=255).min_by_key(|&n| distance(indexed_rgb(n), wanted)).unwrap_or(16)
}

/// Colours and attributes that are switched on.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
struct Pen {
    fg: Color,
    bg: Color,
    under: Color,
    attributes: Modifier,
}

const PLAIN: Pen = Pen { fg: Color::Reset, bg: Color::Reset, under: Color::Reset, attributes: Modifier::empty() };

/// Attributes that show on a blank cell.
const SEEN_ON_BLANK: Modifier = Modifier::REVERSED
    .union(Modifier::UNDERLINED)
    .union(Modifier::CROSSED_OUT)
    .union(Modifier::SLOW_BLINK)
    .union(Modifier::RAPID_BLINK);

/// A backend that turns changed cells into bytes.
///
/// ```
/// use coach::rim::out::{Depth, Painter};
/// use ratatui::{Terminal, layout::Size};
///
/// let mut screen = Terminal::new(Painter::new(Size::new(10, 2), Depth::True))?;
/// screen.draw(|frame| frame.render_widget("0:45", frame.area()))?;
/// screen.backend_mut().take();
/// screen.draw(|frame| frame.render_widget("0:44", frame.area()))?;
/// assert_eq!(screen.backend().bytes(), b"\x084");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct Painter {
    bytes: Vec<u8>,
    size: Size,
    depth: Depth,
    /// Where the cursor stands, if that is certain.
    at: Option<Position>,
    pen: Pen,
    /// Whether the cursor is shown; it is hidden when the screen is entered.
    shown: bool,
    /// Room for one change of style.
    scratch: Vec<u8>,
}

impl Painter {
    /// For a screen of this size that is empty, with the cursor hidden.
    pub fn new(size: Size, depth: Depth) -> Self {
        let (bytes, scratch) = (Vec::with_capacity(16 * 1024), Vec::with_capacity(64));
        Self { bytes, size, depth, at: None, pen: PLAIN, shown: false, scratch }
    }

    /// What is to be sent.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Forgets what has been sent.
    pub fn take(&mut self) {
        self.bytes.clear();
    }

    /// The window has another size now.
    pub fn resize(&mut self, size: Size) {
        self.size = size;
        // Terminals differ in where they put the cursor then.
        self.at = None;
    }

    /// Somebody else may have written to the terminal: nothing about it is certain any more.
    pub fn forget(&mut self) {
        self.at = None;
        self.shown = false;
        self.clear_all();
    }

    /// Adds a byte that moves nothing, such as a bell.
    pub fn add(&mut self, byte: u8) {
        self.bytes.push(byte);
    }

    fn clear_all(&mut self) {
        const CLEAR: &[u8] = b"\x1b[m\x1b[2J";
        self.pen = PLAIN;
        if !self.bytes.ends_with(CLEAR) {
            self.bytes.extend_from_slice(CLEAR);
        }
    }

    fn go(&mut self, to: Position) {
        if self.at == Some(to) {
            return;
        }
        // Writing to memory cannot fail.
        let out = &mut self.bytes;
        let _ = match self.at {
            Some(at) if at.y == to.y && to.x == 0 => out.write_all(b"\r"),
            Some(at) if at.y == to.y && to.x > at.x => match to.x - at.x {
                1 => out.write_all(b"\x1b[C"),
                by => write!(out, "\x1b[{by}C"),
            },
            Some(at) if at.y == to.y && at.x - to.x <= 3 => out.write_all(&b"\x08\x08\x08"[..usize::from(at.x - to.x)]),
            Some(at) if at.y == to.y => write!(out, "\x1b[{}D", at.x - to.x),
            Some(at) if at.x == to.x && to.y == at.y + 1 => out.write_all(b"\x1b[B"),
            Some(at) if at.x == to.x && at.y == to.y + 1 => out.write_all(b"\x1b[A"),
            Some(at) if at.x == to.x => write!(out, "\x1b[{}d", to.y + 1),
            _ => match (to.x, to.y) {
                (0, 0) => out.write_all(b"\x1b[H"),
                (0, y) => write!(out, "\x1b[{}H", y + 1),
                (x, 0) => write!(out, "\x1b[;{}H", x + 1),
                (x, y) => write!(out, "\x1b[{};{}H", y + 1, x + 1),
            },
        };
        self.at = Some(to);
    }

    fn dip(&mut self, cell: &Cell) {
        let mut wanted = Pen {
            fg: self.depth.nearest(cell.fg),
            bg: self.depth.nearest(cell.bg),
            under: self.depth.nearest(cell.underline_color),
            attributes: cell.modifier,
        };
        if !wanted.attributes.contains(Modifier::UNDERLINED) {
            wanted.under = self.pen.under;
        }
        let is_blank = cell.symbol() == " " && !(wanted.attributes | self.pen.attributes).intersects(SEEN_ON_BLANK);
        if is_blank {
            (wanted.fg, wanted.attributes) = (self.pen.fg, self.pen.attributes);
        }
        if wanted == self.pen {
            return;
        }
        self.scratch.clear();
        style(&mut self.scratch, self.pen, wanted);
        let by_change = self.scratch.len();
        style(&mut self.scratch, PLAIN, wanted);
        let afresh = self.scratch.len() - by_change;
        self.bytes.extend_from_slice(b"\x1b[");
        // `m` alone switches everything off; a leading empty number does the same before others.
        if afresh == 0 {
        } else if afresh + 1 < by_change {
            self.bytes.push(b';');
            self.bytes.extend_from_slice(&self.scratch[by_change..by_change + afresh - 1]);
        } else {
            self.bytes.extend_from_slice(&self.scratch[..by_change - 1]);
        }
        self.bytes.push(b'm');
        self.pen = wanted;
    }
}

/// Writes the numbers that lead from one style to another, each followed by `;`.
fn style(out: &mut Vec<u8>, from: Pen, to: Pen) {
    let mut on = to.attributes - from.attributes;
    let off = from.attributes - to.attributes;
    let mut put = |number: &[u8]| {
        out.extend_from_slice(number);
        out.push(b';');
    };
    if off.intersects(Modifier::BOLD | Modifier::DIM) {
        // One number switches both off.
        put(b"22");
        on |= to.attributes & (Modifier::BOLD | Modifier::DIM);
    }
    if off.intersects(Modifier::SLOW_BLINK | Modifier::RAPID_BLINK) {
        put(b"25");
        on |= to.attributes & (Modifier::SLOW_BLINK | Modifier::RAPID_BLINK);
    }
    for (attribute, number) in [
        (Modifier::ITALIC, b"23"),
        (Modifier::UNDERLINED, b"24"),
        (Modifier::REVERSED, b"27"),
        (Modifier::HIDDEN, b"28"),
        (Modifier::CROSSED_OUT, b"29"),
    ] {
        if off.contains(attribute) {
            put(number);
        }
    }
    for (attribute, number) in [
        (Modifier::BOLD, b"1"),
        (Modifier::DIM, b"2"),
        (Modifier::ITALIC, b"3"),
        (Modifier::UNDERLINED, b"4"),
        (Modifier::SLOW_BLINK, b"5"),
        (Modifier::RAPID_BLINK, b"6"),
        (Modifier::REVERSED, b"7"),
        (Modifier::HIDDEN, b"8"),
        (Modifier::CROSSED_OUT, b"9"),
    ] {
        if on.contains(attribute) {
            put(number);
        }
    }
    for (before, now, base) in [(from.fg, to.fg, 30), (from.bg, to.bg, 40), (from.under, to.under, 50)] {
        if before != now {
            color(out, now, base);
        }
    }
}

fn color(out: &mut Vec<u8>, color: Color, base: u8) {
    let number = match color {
        Color::Indexed(n) => Some(n),
        named => NAMED.iter().position(|known| *known == named).map(|n| n as u8),
    };
    // Writing to memory cannot fail.
    let _ = match (color, number) {
        (Color::Rgb(r, g, b), _) => write!(out, "{};2;{r};{g};{b};", base + 8),
        // An underline has no short form.
        (_, Some(n @ 0..=7)) if base != 50 => write!(out, "{};", base + n),
        (_, Some(n @ 8..=15)) if base != 50 => write!(out, "{};", base + 52 + n),
        (_, Some(n)) => write!(out, "{};5;{n};", base + 8),
        _ => write!(out, "{};", base + 9),
    };
}

impl Backend for Painter {
    type Error = Infallible;

    fn draw<'a, I>(&mut self, content: I) -> Result<(), Infallible>
    where
        I: Iterator<Item = (u16, u16, &'a Cell)>,
    {
        for (x, y, cell) in content {
            self.go(Position { x, y });
            self.dip(cell);
            let symbol = cell.symbol();
            // A cell that was never given a symbol, or half of a wide one, is blank.
            self.bytes.extend_from_slice(if symbol.is_empty() { " " } else { symbol }.as_bytes());
            let width = match symbol.as_bytes() {
                [] | [_] => 1,
                // What a terminal does with several characters in one cell is not certain.
                _ if symbol.chars().nth(1).is_some() => 0,
                _ => Span::raw(symbol).width() as u16,
            };
            // Beyond the last column the cursor hangs between two lines.
            self.at = match width {
                1 | 2 if x + width < self.size.width => Some(Position { x: x + width, y }),
                _ => None,
            };
        }
        Ok(())
    }

    fn hide_cursor(&mut self) -> Result<(), Infallible> {
        if self.shown {
            self.bytes.extend_from_slice(b"\x1b[?25l");
            self.shown = false;
        }
        Ok(())
    }

    fn show_cursor(&mut self) -> Result<(), Infallible> {
        if !self.shown {
            self.bytes.extend_from_slice(b"\x1b[?25h");
            self.shown = true;
        }
        Ok(())
    }

    fn get_cursor_position(&mut self) -> Result<Position, Infallible> {
        Ok(self.at.unwrap_or_default())
    }

    fn set_cursor_position<P: Into<Position>>(&mut self, position: P) -> Result<(), Infallible> {
        let to = position.into();
        // A cursor that nobody sees needs not be moved.
        if self.shown {
            self.go(to);
        }
        Ok(())
    }

    fn clear(&mut self) -> Result<(), Infallible> {
        self.clear_all();
        Ok(())
    }

    /// Only whole screens are ever cleared here.
    fn clear_region(&mut self, _region: ClearType) -> Result<(), Infallible> {
        self.clear_all();
        Ok(())
    }

    fn size(&self) -> Result<Size, Infallible> {
        Ok(self.size)
    }

    fn window_size(&mut self) -> Result<WindowSize, Infallible> {
        Ok(WindowSize { columns_rows: self.size, pixels: Size::default() })
    }

    fn flush(&mut self) -> Result<(), Infallible> {
        Ok(())
    }
}
