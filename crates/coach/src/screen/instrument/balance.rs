//! The display of a balance, in big digits.
//!
//! **Invariant:** every digit of the graduation is there, noughts at the end too, as on a display.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use quantity::{Decimal, Scale};

use super::{clear, frame};
use crate::screen::digits::{self, Size};
use crate::screen::theme::Theme;

fn number(scale: &Scale, at: Decimal) -> String {
    let mut at = at.normalize();
    if at.scale() < scale.places() {
        at.rescale(scale.places());
    }
    at.to_string()
}

/// Columns beside the digits: frame, room, and the unit.
fn beside(scale: &Scale) -> u16 {
    5 + scale.unit.to_string().chars().count() as u16
}

pub(super) fn least(scale: &Scale, at: Decimal) -> (u16, u16) {
    (Size::Small.width(&number(scale, at)).unwrap_or(u16::MAX / 2) + beside(scale), Size::Small.height() + 2)
}

pub(super) fn draw(scale: &Scale, at: Decimal, buf: &mut Buffer, area: Rect, theme: &Theme) -> bool {
    let text = number(scale, at);
    let Some(size) = Size::fitting(&text, area.width - beside(scale), area.height - 2) else { return false };
    let Some(width) = size.width(&text) else { return false };
    clear(buf, area, theme);
    // Room above and below the digits, and the pan and feet of the balance, where there is some.
    let pad = u16::from(area.height >= size.height() + 4);
    let outer = Rect { width: width + beside(scale), height: size.height() + 2 + 2 * pad, ..area };
    let spare = area.height - outer.height;
    let pan = spare >= 2;
    let outer = Rect { y: area.y + if pan { 2 } else { 0 }, ..outer };
    if pan {
        let (left, right) = (outer.x + 2, outer.right() - 3);
        for x in left..=right {
            super::put(buf, x, area.y, "▄", theme.quiet);
        }
        super::put(buf, (left + right) / 2, area.y + 1, "┃", theme.quiet);
    }
    let inner = frame(buf, outer, "", theme.quiet);
    let digits = Rect { x: inner.x + 1, y: inner.y + pad, width, height: size.height() };
    let drawn = digits::draw(buf, digits, &text, size, theme.number);
    let unit = scale.unit.to_string();
    buf.set_string(digits.right() + 1, digits.bottom() - 1, unit, theme.strong);
    drawn
}
