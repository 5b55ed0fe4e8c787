//! The nearest known name to one that is not known.
//!
//! A slip of the finger drops, doubles, changes or swaps a letter; each counts as one. Nothing here knows what the
//! names stand for.

/// Names longer than this are near to nothing, and not worth the comparison.
const LONGEST_NAME: usize = 60;

/// The candidate nearest to `name`, if it is near enough to have been meant: about a third of its letters may differ.
pub(super) fn nearest<'c>(name: &str, candidates: impl Iterator<Item = &'c str>) -> Option<&'c str> {
    let wanted: Vec<char> = name.to_lowercase().chars().collect();
    if wanted.len() > LONGEST_NAME {
        return None;
    }
    candidates
        .filter_map(|candidate| {
            let letters: Vec<char> = candidate.to_lowercase().chars().collect();
            let longer = wanted.len().max(letters.len());
            if longer > LONGEST_NAME || candidate == name {
                return None;
            }
            let slips = slips(&wanted, &letters);
            (slips <= longer / 3).then_some((slips, candidate))
        })
        .min_by(|a, b| a.cmp(b))
        .map(|(_, candidate)| candidate)
}

/// How many letters must be added, dropped, changed or swapped with their neighbour.
fn slips(from: &[char], to: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, b) in to.iter().enumerate() {
            let mut least = (last[j] + usize::from(a != b)).min(last[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && *a == to[j - 1] && from[i - 1] == *b {
                least = least.min(before[j - 1] + 1);
            }
            row.push(least);
        }
        before = std::mem::replace(&mut last, row);
    }
    last.last().copied().unwrap_or(from.len())
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_is_near_and_another_word_is_not() {
        let names = ["level", "foam", "alcohol", "alcohol_correction", "cup", "no"];
        for (typed, meant) in [
            ("levl", Some("level")),
            ("leevl", Some("level")),
            ("Level", Some("level")),
            ("foma", Some("foam")),
            ("alchohol", Some("alcohol")),
            ("alcohol_corection", Some("alcohol_correction")),
            ("cap", Some("cup")),
            ("on", None),
            ("temperature", None),
            ("", None),
        ] {
            assert_eq!(nearest(typed, names.into_iter()), meant, "{typed}");
        }
    }
}
