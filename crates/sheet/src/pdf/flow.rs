//! Rows on pages.
//!
//! **Invariant:** nothing is placed below the foot of a page. A row that does not fit goes to the next page; a row higher
//! than a page is parted between two lines of its text.

use crate::chart::Shape;

/// The size of the paper in points.
#[derive(Debug, Clone, Copy)]
pub(super) struct Paper {
    pub(super) width: f32,
    pub(super) height: f32,
}

impl Paper {
    pub(super) const SIDE: f32 = 33.0;
    pub(super) const TOP: f32 = 21.0;
    pub(super) const FOOT: f32 = 25.0;

    /// The width between the margins.
    pub(super) fn inner(self) -> f32 {
        self.width - 2.0 * Self::SIDE
    }

    pub(super) fn bottom(self) -> f32 {
        self.height - Self::FOOT
    }
}

/// The shapes of a page, counted from its upper left corner.
pub(super) type Page = Vec<Shape>;

/// A shape that stays whole, with the band of its row it stands in.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    pub(super) top: f32,
    pub(super) height: f32,
    /// Places are counted from the upper left corner of the row.
    pub(super) shape: Shape,
}

impl Piece {
    /// A shape with the band it needs.
    pub(super) fn of(shape: Shape) -> Self {
        let (top, height) = match &shape {
            Shape::Bar { y, height, .. } => (*y, *height),
            Shape::Stroke { from, to, .. } => (from.1.min(to.1), (from.1 - to.1).abs()),
            Shape::Filled { points, .. } => {
                let top = points.iter().map(|(_, y)| *y).fold(f32::INFINITY, f32::min);
                let bottom = points.iter().map(|(_, y)| *y).fold(f32::NEG_INFINITY, f32::max);
                if points.is_empty() { (0.0, 0.0) } else { (top, bottom - top) }
            }
            Shape::Words { baseline, size, .. } => (baseline - size * 0.8, *size),
        };
        Self { top, height, shape }
    }
}

/// What is placed as one.
#[derive(Debug, Clone, Default)]
pub(super) struct Row {
    pub(super) height: f32,
    pub(super) pieces: Vec<Piece>,
    /// Must not be the last on its page.
    pub(super) keep_with_next: bool,
}

impl Row {
    /// White space.
    pub(super) fn space(height: f32) -> Self {
        Self { height, ..Self::default() }
    }

    /// The row with a line along its lower edge.
    pub(super) fn ruled(mut self, x: f32, width: f32, rule: crate::palette::Ink, weight: f32) -> Self {
        let line = Shape::Stroke {
            from: (x, self.height),
            to: (x + width, self.height),
            width: weight,
            ink: rule,
            dashed: false,
        };
        self.pieces.push(Piece { top: self.height, height: 0.0, shape: line });
        self
    }
}

/// A place on the pages.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    pub(super) page: usize,
    pub(super) y: f32,
}

impl Place {
    /// The lower of two places.
    pub(super) fn lower(self, other: Self) -> Self {
        if (other.page, other.y) > (self.page, self.y) { other } else { self }
    }
}

/// Pages as they fill.
#[derive(Debug)]
pub(super) struct Pages {
    pub(super) paper: Paper,
    pub(super) pages: Vec<Page>,
    /// Where a page after the first begins: below its running head.
    pub(super) later_top: f32,
}

impl Pages {
    pub(super) fn new(paper: Paper, later_top: f32) -> Self {
        Self { paper, pages: vec![Page::new()], later_top }
    }

    pub(super) fn start(&self) -> Place {
        Place { page: 0, y: Paper::TOP }
    }

    /// Places rows one under the other, their left edge at `x`. `again` is repeated at the top of each further page.
    pub(super) fn place(&mut self, rows: &[Row], again: &[Row], x: f32, from: Place) -> Place {
        let mut at = from;
        let again_height: f32 = again.iter().map(|row| row.height).sum();
        let room = self.paper.bottom() - self.later_top - again_height;
        for (n, row) in rows.iter().enumerate() {
            // A heading needs the row it is the heading of.
            let mut needed = row.height;
            for (head, next) in rows[n..].iter().zip(&rows[n + 1..]) {
                if !head.keep_with_next {
                    break;
                }
                needed += next.height;
            }
            let needed = if needed > room { row.height.min(room * 0.25) } else { needed };
            if at.y + needed > self.paper.bottom() + 0.01 {
                at = self.next_page(at, again, x);
            }
            at = self.one(row, again, x, at);
        }
        at
    }

    fn next_page(&mut self, at: Place, again: &[Row], x: f32) -> Place {
        let mut next = Place { page: at.page + 1, y: self.later_top };
        for row in again {
            self.put(&row.pieces, 0.0, x, next);
            next.y += row.height;
        }
        next
    }

    /// Places a row, in parts if it is higher than what is left.
    fn one(&mut self, row: &Row, again: &[Row], x: f32, from: Place) -> Place {
        let mut at = from;
        let mut rest: Vec<Piece> = row.pieces.clone();
        let mut done = 0.0;
        loop {
            let left = self.paper.bottom() - at.y + 0.01;
            let height = row.height - done;
            if height <= left {
                self.put(&rest, done, x, at);
                at.y += height;
                return at;
            }
            let parts = rest.into_iter().flat_map(|piece| cut(piece, done + left));
            let (fits, later): (Vec<Piece>, Vec<Piece>) =
                parts.partition(|piece| piece.top + piece.height - done <= left + 0.01);
            self.put(&fits, done, x, at);
            let Some(next) = later.iter().map(|piece| piece.top).reduce(f32::min) else {
                at.y = self.paper.bottom();
                return at;
            };
            // A piece higher than a page cannot be; if it were it would be placed once and the loop would end.
            let stuck = fits.is_empty() && at.y <= self.later_top + 0.01;
            at = self.next_page(at, again, x);
            if stuck {
                self.put(&later, next, x, at);
                return at;
            }
            rest = later;
            done = next;
        }
    }

    fn put(&mut self, pieces: &[Piece], done: f32, x: f32, at: Place) {
        while self.pages.len() <= at.page {
            self.pages.push(Page::new());
        }
        if let Some(page) = self.pages.get_mut(at.page) {
            page.extend(pieces.iter().map(|piece| moved(&piece.shape, x, at.y - done)));
        }
    }
}

/// Parts a line that stands upright, or a field, at `y` if it reaches across; texts stay whole.
fn cut(piece: Piece, y: f32) -> Vec<Piece> {
    if piece.top >= y || piece.top + piece.height <= y {
        return vec![piece];
    }
    let (upper, lower) = match &piece.shape {
        Shape::Bar { x, width, fill, edge, .. } => {
            let bar = |y, height| Shape::Bar { x: *x, y, width: *width, height, fill: *fill, edge: *edge };
            (bar(piece.top, y - piece.top), bar(y, piece.top + piece.height - y))
        }
        Shape::Stroke { from, to, width, ink, dashed } if from.0 == to.0 => {
            let stroke = |from, to| Shape::Stroke { from, to, width: *width, ink: *ink, dashed: *dashed };
            let (high, low) = (from.1.min(to.1), from.1.max(to.1));
            (stroke((from.0, high), (from.0, y)), stroke((from.0, y), (from.0, low)))
        }
        _ => return vec![piece],
    };
    vec![
        Piece { top: piece.top, height: y - piece.top, shape: upper },
        Piece { top: y, height: piece.top + piece.height - y, shape: lower },
    ]
}

/// A shape at another place.
pub(super) fn moved(shape: &Shape, dx: f32, dy: f32) -> Shape {
    let mut shape = shape.clone();
    match &mut shape {
        Shape::Bar { x, y, .. } => {
            *x += dx;
            *y += dy;
        }
        Shape::Stroke { from, to, .. } => {
            *from = (from.0 + dx, from.1 + dy);
            *to = (to.0 + dx, to.1 + dy);
        }
        Shape::Filled { points, .. } => points.iter_mut().for_each(|(x, y)| {
            *x += dx;
            *y += dy;
        }),
        Shape::Words { x, baseline, .. } => {
            *x += dx;
            *baseline += dy;
        }
    }
    shape
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::palette::Ink;

    const PAPER: Paper = Paper { width: 200.0, height: 200.0 };

    fn bar(top: f32, height: f32) -> Piece {
        Piece::of(Shape::Bar { x: 0.0, y: top, width: 10.0, height, fill: Ink::Wash, edge: None })
    }

    /// A row of as many lines of text as it is tens of points high.
    fn row(height: f32, keep_with_next: bool) -> Row {
        let words = |n: usize| Shape::Words {
            x: 0.0,
            baseline: n as f32 * 10.0 + 8.0,
            size: 10.0,
            anchor: crate::chart::Anchor::Start,
            bold: false,
            ink: Ink::Text,
            text: format!("line {n}"),
        };
        Row { height, pieces: (0..(height / 10.0) as usize).map(|n| Piece::of(words(n))).collect(), keep_with_next }
    }

    fn lines(pages: &Pages) -> Vec<usize> {
        let is_words = |shape: &&Shape| matches!(shape, Shape::Words { .. });
        pages.pages.iter().map(|page| page.iter().filter(is_words).count()).collect()
    }

    #[test]
    fn a_row_that_does_not_fit_goes_whole_to_the_next_page() {
        let mut pages = Pages::new(PAPER, 40.0);
        let at = Place { page: 0, y: PAPER.bottom() - 25.0 };
        let end = pages.place(&[row(20.0, false), row(30.0, false)], &[], 0.0, at);
        assert_eq!(lines(&pages), [2, 3]);
        assert_eq!(end, Place { page: 1, y: 70.0 });
    }

    #[test]
    fn a_heading_is_never_the_last_on_its_page() {
        let mut pages = Pages::new(PAPER, 40.0);
        let at = Place { page: 0, y: PAPER.bottom() - 25.0 };
        pages.place(&[row(10.0, true), row(20.0, false)], &[], 0.0, at);
        assert_eq!(lines(&pages), [0, 3]);
    }

    #[test]
    fn a_row_higher_than_a_page_is_parted_between_its_lines_under_the_heading_again() {
        let mut pages = Pages::new(PAPER, 40.0);
        let at = pages.start();
        let end = pages.place(&[row(300.0, false)], &[row(10.0, true)], 0.0, at);
        let first = ((PAPER.bottom() - Paper::TOP) / 10.0) as usize;
        let later = ((PAPER.bottom() - 50.0) / 10.0) as usize;
        assert_eq!(lines(&pages), [first, later + 1, 30 - first - later + 1]);
        assert_eq!(end.page, 2);
    }

    #[test]
    fn a_field_that_reaches_over_the_foot_is_parted_there() {
        let mut pages = Pages::new(PAPER, 40.0);
        let at = pages.start();
        pages.place(&[Row { height: 300.0, pieces: vec![bar(0.0, 300.0)], keep_with_next: false }], &[], 0.0, at);
        let heights = pages.pages.iter().flatten().map(|shape| match shape {
            Shape::Bar { y, height, .. } => {
                assert!(y + height <= PAPER.bottom() + 0.1);
                *height
            }
            _ => 0.0,
        });
        assert!((heights.sum::<f32>() - 300.0).abs() < 0.1);
        assert_eq!(pages.pages.len(), 3);
    }
}
