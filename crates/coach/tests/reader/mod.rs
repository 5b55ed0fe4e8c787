//! Reads the drawn instruments back, and sees nothing but the cells.
//!
//! The reader finds the close-up by its frame, the numbers and the marks they stand at, and the place of the pointer
//! to a part of a cell, and takes the value between the numbers. It knows no scale and no value.

use quantity::Decimal;
use ratatui::buffer::Buffer;

/// The signs of the cells, row by row.
pub type Cells = Vec<Vec<char>>;

pub fn cells(buf: &Buffer) -> Cells {
    let area = buf.area;
    (0..area.height)
        .map(|y| (0..area.width).map(|x| buf[(x, y)].symbol().chars().next().unwrap_or(' ')).collect())
        .collect()
}

/// The inside of the frame called a close-up.
pub fn close_up(cells: &Cells) -> Cells {
    let (top, at) = cells
        .iter()
        .enumerate()
        .find_map(|(y, row)| row.iter().collect::<String>().find("close-up").map(|byte| (y, byte)))
        .expect("a close-up");
    let row = &cells[top];
    let at = row.iter().collect::<String>()[..at].chars().count();
    let left = (0..at).rev().find(|x| row[*x] == '╭').expect("its left corner");
    let right = (at..row.len()).find(|x| row[*x] == '╮').expect("its right corner");
    let bottom = (top + 1..cells.len()).find(|y| cells[*y][left] == '╰').expect("its lower corner");
    cells[top + 1..bottom].iter().map(|row| row[left + 1..right].to_vec()).collect()
}

const LOWER: &str = " ▁▂▃▄▅▆▇█";

/// Eighths of a cell that are filled.
pub fn filled(sign: char) -> Option<i64> {
    LOWER.chars().position(|lower| lower == sign && sign != ' ').map(|eighths| eighths as i64)
}

/// The dots of a Braille sign: row by row, left and right.
pub fn dots(sign: char) -> [[bool; 2]; 4] {
    let bits = u32::from(sign).checked_sub(0x2800).filter(|bits| *bits < 256).unwrap_or(0);
    [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]].map(|row| row.map(|bit| bits & bit != 0))
}

/// The value at `at`, in parts, between the numbered marks around it.
pub fn between(numbers: &[(i64, Decimal)], at: i64) -> Decimal {
    assert!(numbers.len() >= 2, "two numbers to read between: {numbers:?}");
    let mut near = numbers.to_vec();
    near.sort_by_key(|(place, _)| (place - at).abs());
    let (a, b) = (near[0], near[1]);
    a.1 + (b.1 - a.1) * Decimal::from(at - a.0) / Decimal::from(b.0 - a.0)
}

/// An upright close-up: the column of the wall with the marks, and the numbered marks in eighths of a row.
pub fn upright(inside: &Cells) -> (usize, Vec<(i64, Decimal)>) {
    let wall = (0..inside[0].len()).max_by_key(|x| inside.iter().filter(|row| row[*x] == '┤').count()).unwrap();
    let numbers = inside.iter().enumerate().filter(|(_, row)| row[wall] == '┤').filter_map(|(y, row)| {
        let before: String = row[..wall].iter().collect();
        let text = before.trim_matches(|sign| matches!(sign, ' ' | '─' | '▏' | '│'));
        text.parse().ok().map(|number| (y as i64 * 8 + 4, number))
    });
    (wall, numbers.collect())
}

/// The lowest place of the surface in some columns, in eighths.
pub fn surface(inside: &Cells, columns: std::ops::Range<usize>) -> i64 {
    columns
        .filter_map(|x| {
            inside.iter().enumerate().find_map(|(y, row)| filled(row[x]).map(|full| y as i64 * 8 + 8 - full))
        })
        .max()
        .expect("a surface")
}

pub fn other_wall(inside: &Cells, wall: usize) -> usize {
    (wall + 1..inside[0].len()).find(|x| inside.iter().all(|row| matches!(row[*x], '│' | '├'))).expect("a tube")
}

pub fn read_tube(cells: &Cells) -> Decimal {
    let inside = close_up(cells);
    let (wall, numbers) = upright(&inside);
    between(&numbers, surface(&inside, wall + 1..other_wall(&inside, wall)))
}

/// The height of the foam: from the surface of the liquid to where the dots end, in the middle of the tube.
pub fn read_foam(cells: &Cells) -> Decimal {
    let inside = close_up(cells);
    let (wall, numbers) = upright(&inside);
    let middle = (wall + other_wall(&inside, wall)).div_ceil(2);
    let Some(crown) = inside.iter().enumerate().find_map(|(y, row)| {
        let first = dots(row[middle]).iter().position(|row| row[0] || row[1])?;
        Some(y as i64 * 8 + first as i64 * 2)
    }) else {
        return Decimal::ZERO;
    };
    read_tube(cells) - between(&numbers, crown)
}

pub fn read_rule(cells: &Cells) -> Decimal {
    let inside = close_up(cells);
    let (edge, numbers) = upright(&inside);
    between(&numbers, surface(&inside, edge + 1..edge + 2))
}

pub fn read_gauge(cells: &Cells) -> Decimal {
    let inside = close_up(cells);
    let (labels, raster) = inside.split_first().unwrap();
    let is_set = |x: usize, y: usize| dots(raster[y / 4][x / 2])[y % 4][x % 2];
    let columns = labels.len() * 2;
    let marks: Vec<usize> = (0..columns).filter(|x| (0..8).all(|y| is_set(*x, y))).collect();
    let mut numbers = Vec::new();
    let mut x = 0;
    while x < labels.len() {
        let text: String = labels[x..].iter().take_while(|sign| **sign != ' ').collect();
        if let Ok(number) = text.parse::<Decimal>() {
            let middle = x * 2 + text.len();
            let mark = marks.iter().min_by_key(|mark| mark.abs_diff(middle)).expect("a mark under the number");
            assert!(mark.abs_diff(middle) <= 3, "a number stands over its mark");
            numbers.push((*mark as i64, number));
        }
        x += text.chars().count().max(1);
    }
    let tips: Vec<usize> = (0..columns).filter(|x| is_set(*x, 8)).collect();
    assert_eq!(tips.len(), 1, "one needle");
    between(&numbers, tips[0] as i64)
}
