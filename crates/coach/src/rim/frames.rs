//! Frames: what is on the screen, what should be, and the bytes between them.
//!
//! Here: two screens' worth of cells, and the comparison row by row. Not here: how a cell becomes bytes (`out`), and
//! what is drawn (the screen).
//!
//! Most of a frame is what it was before, and looking at that is what a key press cost most. A row whose cells are all
//! the same is passed over with a look at colours first and letters last; only the others are handed to ratatui's own
//! comparison, which knows about wide letters.

use ratatui::backend::Backend as _;
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::{Rect, Size};

use super::out::Painter;

/// What the terminal shows, and what is to be shown next.
#[derive(Debug)]
pub struct Frames {
    painter: Painter,
    shown: Buffer,
    next: Buffer,
}

impl Frames {
    /// For a screen that is empty and as large as the painter's.
    pub fn new(painter: Painter) -> Self {
        let area = Rect::from((ratatui::layout::Position::ORIGIN, size_of(&painter)));
        Self { painter, shown: Buffer::empty(area), next: Buffer::empty(area) }
    }

    /// Draws a frame and leaves the bytes that are missing on the screen with the painter.
    pub fn draw(&mut self, draw: impl FnOnce(&mut Buffer, Rect)) {
        let area = Rect::from((ratatui::layout::Position::ORIGIN, size_of(&self.painter)));
        if area != self.shown.area {
            self.shown = Buffer::empty(area);
            self.next = Buffer::empty(area);
            self.painter.forget();
        }
        self.next.reset();
        draw(&mut self.next, area);
        let width = usize::from(area.width).max(1);
        for (y, (shown, next)) in self.shown.content.chunks(width).zip(self.next.content.chunks(width)).enumerate() {
            if shown.iter().zip(next).all(|(shown, next)| is_same(shown, next)) {
                continue;
            }
            let area = Rect { y: y as u16, height: 1, ..area };
            let row = |cells: &[Cell]| Buffer { area, content: cells.to_vec() };
            let (shown, next) = (row(shown), row(next));
            match self.painter.draw(shown.diff(&next).into_iter()) {
                Ok(()) => {}
                Err(never) => match never {},
            }
        }
        std::mem::swap(&mut self.shown, &mut self.next);
    }

    /// The terminal may show anything: the next frame is drawn whole.
    pub fn begin_anew(&mut self, size: Size) {
        self.painter.take();
        self.painter.resize(size);
        self.painter.forget();
        self.shown.reset();
    }

    /// The painter, whose bytes are to be sent.
    pub fn painter(&mut self) -> &mut Painter {
        &mut self.painter
    }
}

fn size_of(painter: &Painter) -> Size {
    match painter.size() {
        Ok(size) => size,
        Err(never) => match never {},
    }
}

/// The same look. Colours differ more often than letters, and blank cells share one text.
fn is_same(a: &Cell, b: &Cell) -> bool {
    let (letters, others) = (a.symbol(), b.symbol());
    a.fg == b.fg
        && a.bg == b.bg
        && a.modifier == b.modifier
        && a.underline_color == b.underline_color
        && a.diff_option == b.diff_option
        && (std::ptr::eq(letters, others) || letters == others)
}

#[cfg(test)]
mod tests {
    use ratatui::Terminal;
    use ratatui::style::{Color, Style};

    use super::super::out::Depth;
    use super::*;

    type Words = (u16, u16, &'static str, Style);

    fn write(buf: &mut Buffer, words: &[Words]) {
        for (x, y, text, style) in words {
            buf.set_string(*x, *y, text, *style);
        }
    }

    #[test]
    fn the_bytes_are_those_of_a_terminal_that_compares_everything() {
        let size = Size::new(12, 4);
        let painter = || Painter::new(size, Depth::True);
        let mut frames = Frames::new(painter());
        let mut terminal = Terminal::new(painter()).unwrap();
        let red = Style::new().fg(Color::Rgb(200, 10, 10));
        let plain = Style::new();
        let screens: [&[Words]; 6] = [
            &[(0, 0, "0:45", plain), (3, 2, "wide 語", red)],
            &[(0, 0, "0:44", plain), (3, 2, "wide 語", red)],
            &[(0, 0, "0:44", red), (3, 2, "wide語 x", red)],
            &[],
            &[(0, 3, "the last row", plain)],
            &[(0, 3, "the last row", plain)],
        ];
        for words in screens {
            frames.draw(|buf, _| write(buf, words));
            terminal.draw(|frame| write(frame.buffer_mut(), words)).unwrap();
            assert_eq!(frames.painter().bytes(), terminal.backend().bytes());
            frames.painter().take();
            terminal.backend_mut().take();
        }
    }

    #[test]
    fn another_size_begins_anew() {
        let mut frames = Frames::new(Painter::new(Size::new(6, 2), Depth::None));
        frames.draw(|buf, _| write(buf, &[(0, 0, "0:45", Style::new())]));
        frames.begin_anew(Size::new(4, 1));
        frames.draw(|buf, area| {
            assert_eq!((area.width, area.height), (4, 1));
            write(buf, &[(0, 0, "0:45", Style::new())]);
        });
        assert!(frames.painter().bytes().ends_with(b"0:45"), "{:?}", frames.painter().bytes());
    }
}
