//! Figures of the published examples; `published.rs` names each source.

#![allow(dead_code, reason = "each test file uses its own part")]

/// Two raters, 20 people, six levels: data set anxiety of the R package irr, raters 2 and 3. Nobody used level 5.
pub const ANXIETY: [(usize, usize); 20] = [
    (3, 2),
    (6, 1),
    (4, 4),
    (6, 4),
    (2, 3),
    (4, 2),
    (2, 1),
    (4, 6),
    (3, 1),
    (3, 1),
    (2, 1),
    (3, 2),
    (3, 3),
    (3, 3),
    (2, 1),
    (2, 1),
    (1, 3),
    (3, 3),
    (3, 2),
    (4, 2),
];

/// Six targets, four judges: Shrout and Fleiss 1979, Table 2.
pub const SHROUT_FLEISS: [[u8; 4]; 6] =
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]];

/// Ten students, ten items: Wuensch, KR20 notes, East Carolina University.
pub const WUENSCH: [[u8; 10]; 10] = [
    [1, 1, 1, 1, 1, 1, 0, 1, 1, 0],
    [1, 0, 1, 1, 0, 1, 1, 1, 0, 1],
    [1, 1, 1, 1, 0, 1, 1, 0, 0, 1],
    [0, 0, 1, 0, 0, 0, 1, 0, 0, 0],
    [0, 0, 0, 0, 0, 1, 0, 0, 1, 0],
    [1, 1, 1, 0, 1, 1, 1, 1, 1, 1],
    [1, 1, 0, 1, 1, 1, 0, 1, 1, 1],
    [1, 1, 1, 1, 1, 1, 1, 1, 0, 1],
    [0, 1, 0, 1, 1, 1, 1, 1, 0, 1],
    [1, 1, 0, 1, 1, 0, 1, 1, 1, 0],
];

/// Twelve people, eleven items: pingouin 0.7.0, cronbach_wide_missing, blanks set to the column median.
pub const TWELVE: [[u8; 11]; 12] = [
    [1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1],
    [1, 1, 1, 1, 1, 1, 1, 1, 0, 1, 0],
    [1, 0, 1, 1, 1, 1, 1, 1, 1, 0, 0],
    [1, 1, 1, 0, 1, 1, 0, 1, 1, 0, 0],
    [1, 1, 1, 1, 1, 0, 0, 0, 1, 0, 0],
    [0, 1, 1, 0, 1, 1, 1, 1, 0, 0, 0],
    [1, 1, 1, 1, 0, 0, 1, 0, 0, 0, 0],
    [1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0],
    [0, 1, 0, 1, 1, 0, 0, 0, 0, 1, 0],
    [1, 0, 0, 1, 0, 1, 0, 0, 0, 0, 0],
    [1, 1, 1, 0, 0, 0, 0, 0, 0, 0, 0],
    [1, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0],
];

/// Patterns of right and wrong with how many gave them: five LSAT items, Bock and Lieberman 1970.
pub const LSAT: [(&str, usize); 30] = [
    ("00000", 3),
    ("00001", 6),
    ("00010", 2),
    ("00011", 11),
    ("00100", 1),
    ("00101", 1),
    ("00110", 3),
    ("00111", 4),
    ("01000", 1),
    ("01001", 8),
    ("01011", 16),
    ("01101", 3),
    ("01110", 2),
    ("01111", 15),
    ("10000", 10),
    ("10001", 29),
    ("10010", 14),
    ("10011", 81),
    ("10100", 3),
    ("10101", 28),
    ("10110", 15),
    ("10111", 80),
    ("11000", 16),
    ("11001", 56),
    ("11010", 21),
    ("11011", 173),
    ("11100", 11),
    ("11101", 61),
    ("11110", 28),
    ("11111", 298),
];

/// 50 filter transmittances: NIST Statistical Reference Datasets, Mavro.
pub const MAVRO: [f64; 50] = [
    2.0018, 2.0017, 2.0018, 2.0019, 2.0018, 2.0017, 2.0015, 2.0014, 2.0015, 2.0015, 2.0017, 2.0018, 2.0018, 2.0019,
    2.0019, 2.0021, 2.0020, 2.0016, 2.0014, 2.0013, 2.0013, 2.0015, 2.0015, 2.0016, 2.0015, 2.0014, 2.0013, 2.0014,
    2.0015, 2.0014, 2.0015, 2.0016, 2.0015, 2.0016, 2.0019, 2.0020, 2.0020, 2.0021, 2.0022, 2.0023, 2.0024, 2.0025,
    2.0027, 2.0026, 2.0026, 2.0026, 2.0027, 2.0026, 2.0025, 2.0024,
];

/// The marks as numbers.
pub fn numbers<const N: usize>(rows: &[[u8; N]]) -> Vec<Vec<f64>> {
    rows.iter().map(|row| row.iter().map(|mark| f64::from(*mark)).collect()).collect()
}

/// The marks as right or wrong.
pub fn right<const N: usize>(rows: &[[u8; N]]) -> Vec<Vec<bool>> {
    rows.iter().map(|row| row.iter().map(|mark| *mark == 1).collect()).collect()
}

/// The thousand people of [`LSAT`], one row each.
pub fn lsat() -> Vec<Vec<bool>> {
    let row = |pattern: &str| pattern.chars().map(|mark| mark == '1').collect::<Vec<bool>>();
    LSAT.iter().flat_map(|(pattern, people)| vec![row(pattern); *people]).collect()
}
