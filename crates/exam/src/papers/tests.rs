//! Papers of an invented class.

use super::invented::{NAMES, RATERS};
use super::{Names, candidate, class, invented};
use sheet::paper::Paper;

/// All three forms of a paper in one text.
fn forms(paper: &Paper) -> String {
    format!("{}\n{}\n{}", paper.text(100), paper.html(), String::from_utf8_lossy(&paper.pdf()))
}

fn black(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

#[test]
fn with_names_left_out_no_name_is_on_any_paper() {
    let state = invented::class(12);
    let mut papers = vec![class(&state, Names::LeftOut)];
    papers.extend((0..12).filter_map(|n| candidate(&state, n, Names::LeftOut)));
    assert_eq!(papers.len(), 13);
    for paper in &papers {
        let all = forms(paper);
        for name in NAMES.iter().chain(&RATERS).flat_map(|name| name.split(' ')) {
            assert!(!all.contains(name), "{name} on {}", paper.title);
        }
        assert!(!all.contains("looked away"), "a note may hold a name");
        assert!(!all.contains("seen from the side"), "a reason may hold a name");
    }
    // The same search finds them where they are shown.
    let shown = forms(&candidate(&state, 0, Names::Shown).unwrap());
    assert!(shown.contains("Wren Ashdown") && shown.contains("Dorothea"));
    let pdf = candidate(&state, 0, Names::Shown).unwrap().pdf();
    assert!(String::from_utf8_lossy(&pdf).contains("Ashdown"), "a PDF can be searched");
    assert!(forms(&class(&state, Names::Shown)).contains("Thea Kestrel"));
}

#[test]
fn a_candidates_paper_says_every_act_that_was_missed_with_its_reason() {
    let state = invented::class(12);
    let mut n_missed = 0;
    for person in 0..12 {
        let paper = candidate(&state, person, Names::Shown).unwrap();
        let text = black(&paper.text(400));
        for method in 0..state.sheets().len() {
            for view in state.trials_of(person, method) {
                for missed in view.outcome().missed {
                    n_missed += 1;
                    for words in [Some(&missed.text), missed.why.as_ref(), missed.slip.as_ref()].into_iter().flatten() {
                        assert!(text.contains(&black(words)), "{words:?} is not on the paper of {person}");
                    }
                }
                for note in view.trial.notes() {
                    assert!(text.contains(&black(&note.text)));
                }
            }
            let standing = state.standing(person, method);
            if let crate::Standing::Due { number: 2 } = standing {
                assert!(text.contains("Secondtrialdue:"), "{person}");
            }
        }
    }
    assert!(n_missed > 20, "{n_missed}");
}

#[test]
fn what_nobody_did_yet_is_not_made_up() {
    let state = invented::opened(3);
    let text = candidate(&state, 1, Names::Shown).unwrap().text(100);
    assert!(text.contains("0 of 5 methods passed") && text.contains("not begun") && text.contains("Not begun: "));
    assert!(!text.contains("What to practise"), "{text}");
    assert!(candidate(&state, 3, Names::Shown).is_none(), "there are three");
}

#[test]
fn a_small_class_is_given_figures_with_intervals_and_no_verdict() {
    let state = invented::class(12);
    let text = class(&state, Names::LeftOut).text(400);
    for word in ["poor", "marginal", "good", "very good", "substantial", "moderate"] {
        let said = text.split(|c: char| !c.is_alphabetic()).filter(|one| *one == word).count();
        // "none is called good or poor" is said once.
        let allowed = usize::from(["poor", "good"].contains(&word));
        assert_eq!(said, allowed, "{word}");
    }
    assert!(text.contains("12 candidates: too few to judge"));
    let large = class(&invented::class(24), Names::LeftOut).text(400);
    assert!(large.contains("): poor") && !large.contains("too few to judge"), "{large}");
}

#[test]
fn every_estimate_has_its_number_and_its_interval_or_says_why_not() {
    for people in [1, 2, 12, 24] {
        let state = invented::class(people);
        let figures = crate::class::Statistics::of(&state);
        let text = black(&class(&state, Names::Shown).text(600));
        let mut n_said = 0;
        let mut look_for = |words: String| {
            n_said += 1;
            assert!(text.contains(&black(&words)), "{words} of {people}");
        };
        for method in &figures.methods {
            let all = [&method.passed_first, &method.reliability];
            let items = method.items.iter().filter(|item| item.missed > 0);
            for figure in all.into_iter().chain(items.map(|item| &item.difficulty)) {
                match figure {
                    Ok(figure) => look_for(figure.to_string()),
                    Err(why) => look_for(format!("undefined: {why}")),
                }
            }
        }
        assert!(n_said >= 10, "{n_said}");
        assert!(text.contains("n="), "{people}");
    }
}

#[test]
fn a_class_that_has_not_begun_has_a_paper_without_a_figure_made_up() {
    let text = class(&invented::opened(4), Names::Shown).text(100);
    assert!(text.contains("0 of 4 passed every method"), "{text}");
    assert!(text.contains("undefined: ") && text.contains("No act was missed at a first trial."));
    assert!(!text.contains("NaN") && !text.contains("inf "));
}

#[test]
fn the_matrix_has_every_candidate_and_every_sign_in_its_legend() {
    let state = invented::class(12);
    let paper = class(&state, Names::Shown);
    let matrix = paper.blocks.iter().find_map(|block| match block {
        sheet::paper::Block::Matrix(matrix) => Some(matrix),
        _ => None,
    });
    let matrix = matrix.unwrap();
    assert_eq!((matrix.rows.len(), matrix.columns.len()), (12, 5));
    for mark in matrix.rows.iter().flat_map(|(_, marks)| marks) {
        assert_eq!(matrix.legend.iter().filter(|(known, _)| known == mark).count(), 1, "{mark:?}");
    }
}

#[test]
fn most_candidates_have_one_page() {
    let state = invented::class(12);
    let pages = |paper: &Paper| String::from_utf8_lossy(&paper.pdf()).matches("/Type /Page\n").count();
    let single = (0..12).filter_map(|n| candidate(&state, n, Names::Shown)).filter(|paper| pages(paper) == 1).count();
    assert!(single >= 10, "{single} of 12");
}

#[test]
fn a_file_is_named_by_the_number_alone() {
    let state = invented::opened(3);
    assert_eq!(super::file_stem(&state, 1), "candidate-02");
}
