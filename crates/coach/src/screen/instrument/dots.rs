//! A raster of Braille dots, two by four in a cell: lines and arcs finer than a cell, in any font that has Braille.
//!
//! **Invariant:** a dot outside the raster is not drawn, and a cell without dots is left as it is.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// The bit of each dot in a cell, by row and column.
const BITS: [[u8; 2]; 4] = [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];

/// Dots over an area.
pub(super) struct Dots {
    area: Rect,
    cells: Vec<u8>,
}

impl Dots {
    pub(super) fn new(area: Rect) -> Dots {
        Dots { area, cells: vec![0; usize::from(area.width) * usize::from(area.height)] }
    }

    /// Sets a dot, counted from the upper left.
    pub(super) fn set(&mut self, x: i64, y: i64) {
        let (width, height) = (i64::from(self.area.width), i64::from(self.area.height));
        if x < 0 || y < 0 || x >= width * 2 || y >= height * 4 {
            return;
        }
        self.cells[(y / 4 * width + x / 2) as usize] |= BITS[(y % 4) as usize][(x % 2) as usize];
    }

    /// Draws the dots; cells that hold a sign already are overwritten.
    pub(super) fn draw(&self, buf: &mut Buffer, style: Style) {
        for (at, bits) in self.cells.iter().enumerate().filter(|(_, bits)| **bits != 0) {
            let (x, y) = (at % usize::from(self.area.width), at / usize::from(self.area.width));
            let at = (self.area.x + x as u16, self.area.y + y as u16);
            let Some(cell) = buf.cell_mut(at) else { continue };
            // Dots drawn before in the same cell stay.
            let before = cell.symbol().chars().next().map_or(0, u32::from);
            let before = if (0x2800..0x2900).contains(&before) { before - 0x2800 } else { 0 };
            if let Some(sign) = char::from_u32(0x2800 + (u32::from(*bits) | before)) {
                cell.set_char(sign).set_style(style);
            }
        }
    }
}
