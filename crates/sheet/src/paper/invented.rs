//! Invented papers for the tests.

use super::{Bar, Bars, Block, Column, Entry, Figure, Holds, Mark, Matrix, Paper, Row, Sign, Size, Table, Tone};
use proptest::prelude::*;

fn row(cells: &[&str], tone: Tone) -> Row {
    Row { cells: cells.iter().map(|cell| (*cell).to_owned()).collect(), tone }
}

/// A page for one person.
pub(crate) fn candidate() -> Paper {
    let results = Table {
        caption: String::new(),
        columns: vec![
            Column::new("Method", Holds::Lead, 30),
            Column::new("Trial", Holds::Number, 8),
            Column::new("Time", Holds::Number, 10),
            Column::new("Result", Holds::Verdict, 30),
        ],
        rows: vec![
            row(&["Slump", "1", "4:10", "passed"], Tone::Good),
            row(&["Air, pressure meter", "1", "11:32", "second trial due"], Tone::Alarm),
            row(&["Density", "–", "–", "not begun"], Tone::Plain),
        ],
    };
    let missed = Entry {
        mark: "missed".into(),
        tone: Tone::Alarm,
        title: "Taps the gauge before reading it.".into(),
        beside: "Air, pressure meter, trial 1".into(),
        lines: vec![
            ("Why it matters".into(), "A needle that sticks reads low or high by a graduation.".into()),
            ("Usual slip".into(), String::new()),
            ("Practise".into(), "Read, tap, read again.".into()),
        ],
    };
    Paper {
        kind: "Mock practical exam".into(),
        title: "Wren Ashdown".into(),
        subtitle: "Candidate 07".into(),
        facts: vec![("Exam".into(), "Spring round".into()), ("Day".into(), "14 May 2026".into())],
        blocks: vec![
            Block::Figures(vec![
                Figure { figure: "1 of 3".into(), words: "methods passed".into(), tone: Tone::Plain },
                Figure { figure: "1".into(), words: "act missed".into(), tone: Tone::Alarm },
            ]),
            Block::Heading("Results".into()),
            Block::Table(results),
            Block::Heading("What was missed".into()),
            Block::Entry(missed),
            Block::Heading("Next".into()),
            Block::Points(vec!["The second trial of the air test.".into()]),
            Block::Bars(Bars {
                caption: "Acts done".into(),
                rows: vec![
                    Bar {
                        label: "Slump".into(),
                        per_mille: Some(1000),
                        between: Some((700, 1000)),
                        words: "9 of 9".into(),
                    },
                    Bar { label: "Density".into(), per_mille: None, between: None, words: "none yet".into() },
                ],
            }),
            Block::Note("Invented for a test.".into()),
        ],
        foot: vec!["Practice only.".into(), "Nobody is certified by this.".into()],
        size: Size::A4,
    }
}

/// A matrix of as many columns and rows.
pub(crate) fn wide_matrix(columns: usize, rows: usize) -> Paper {
    let marks = |n: usize| (0..columns).map(|k| Mark::from(Sign::ALL[(n + k) % 5])).collect();
    let matrix = Matrix {
        caption: "Results".into(),
        corner: "Candidate".into(),
        columns: (1..=columns).map(|n| format!("Method {n}")).collect(),
        rows: (1..=rows).map(|n| (format!("Candidate {n:02}"), marks(n))).collect(),
        legend: Sign::ALL.map(|sign| (Mark::from(sign), format!("{sign:?}"))).to_vec(),
    };
    Paper { title: "Class".into(), blocks: vec![Block::Matrix(matrix)], ..Paper::default() }
}

/// A long table.
pub(crate) fn long_table(rows: usize) -> Paper {
    let rows = (0..rows).map(|n| row(&[&format!("Act {n}"), "done"], Tone::Good)).collect();
    let columns = vec![Column::new("Namehead", Holds::Lead, 2), Column::new("Verdicthead", Holds::Verdict, 1)];
    let table = Table { caption: "All acts".into(), columns, rows };
    Paper {
        title: "Long".into(),
        blocks: vec![Block::Heading("Acts".into()), Block::Table(table)],
        foot: vec!["Practice only.".into()],
        ..Paper::default()
    }
}

fn tone() -> impl Strategy<Value = Tone> {
    prop_oneof![Just(Tone::Good), Just(Tone::Alarm), Just(Tone::Plain)]
}

fn words() -> impl Strategy<Value = String> {
    prop_oneof![3 => "\\PC{0,60}", 2 => "[a-z ]{0,300}", 1 => "[<>&\"'a]{0,30}"]
}

fn block() -> impl Strategy<Value = Block> {
    let holds = prop_oneof![
        Just(Holds::Lead),
        Just(Holds::Words),
        Just(Holds::Small),
        Just(Holds::Number),
        Just(Holds::Verdict)
    ];
    let list = |most| proptest::collection::vec(words(), 0..most);
    let table = (
        words(),
        proptest::collection::vec((words(), holds, 0_u32..50), 0..7),
        proptest::collection::vec((list(8), tone()), 0..40),
    )
        .prop_map(|(caption, columns, rows)| {
            Block::Table(Table {
                caption,
                columns: columns.into_iter().map(|(title, holds, share)| Column { title, holds, share }).collect(),
                rows: rows.into_iter().map(|(cells, tone)| Row { cells, tone }).collect(),
            })
        });
    let bar = (words(), proptest::option::of(0_u16..1200), proptest::option::of((0_u16..1200, 0_u16..1200)), words())
        .prop_map(|(label, per_mille, between, words)| Bar { label, per_mille, between, words });
    let mark = (0_usize..5, "\\PC{0,6}").prop_map(|(n, letters)| Mark { sign: Sign::ALL[n], letters });
    let rows = proptest::collection::vec((words(), proptest::collection::vec(mark.clone(), 0..30)), 0..20);
    let matrix = (words(), words(), list(30), rows, proptest::collection::vec((mark, words()), 0..5)).prop_map(
        |(caption, corner, columns, rows, legend)| Block::Matrix(Matrix { caption, corner, columns, rows, legend }),
    );
    let entry = (words(), tone(), words(), words(), proptest::collection::vec((words(), words()), 0..5))
        .prop_map(|(mark, tone, title, beside, lines)| Block::Entry(Entry { mark, tone, title, beside, lines }));
    let figures = proptest::collection::vec((words(), words(), tone()), 0..7).prop_map(|all| {
        Block::Figures(all.into_iter().map(|(figure, words, tone)| Figure { figure, words, tone }).collect())
    });
    prop_oneof![
        words().prop_map(Block::Heading),
        words().prop_map(Block::Subheading),
        words().prop_map(Block::Text),
        words().prop_map(Block::Note),
        list(5).prop_map(Block::Points),
        (words(), proptest::collection::vec(bar, 0..10))
            .prop_map(|(caption, rows)| Block::Bars(Bars { caption, rows })),
        figures,
        entry,
        table,
        matrix,
        Just(Block::PageBreak),
    ]
}

/// Anything somebody could put on a paper.
pub(crate) fn any() -> impl Strategy<Value = Paper> {
    let facts = proptest::collection::vec((words(), words()), 0..6);
    let blocks = proptest::collection::vec(block(), 0..8);
    let foot = proptest::collection::vec(words(), 0..3);
    let size = prop_oneof![Just(Size::Letter), Just(Size::A4)];
    (words(), words(), words(), facts, blocks, foot, size).prop_map(
        |(kind, title, subtitle, facts, blocks, foot, size)| Paper { kind, title, subtitle, facts, blocks, foot, size },
    )
}
