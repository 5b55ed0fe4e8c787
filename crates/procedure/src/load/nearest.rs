//! The nearest known name to one that is not known.
//!
//! A slip of the finger adds, drops, changes or swaps a letter; `-` and `_` count as the same.

const LONGEST_NAME: usize = 60;

/// The candidate that was probably meant: at most a third of its letters differ.
pub(super) fn nearest<'c>(name: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let wanted = letters(name);
    if wanted.is_empty() || wanted.len() > LONGEST_NAME {
        return None;
    }
    candidates
        .into_iter()
        .filter_map(|candidate| {
            let known = letters(candidate);
            let longer = wanted.len().max(known.len());
            if longer > LONGEST_NAME {
                return None;
            }
            let slips = slips(&wanted, &known);
            (slips <= longer.div_ceil(3).min(longer - 1)).then_some((slips, candidate))
        })
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, candidate)| candidate)
}

fn letters(name: &str) -> Vec<char> {
    name.to_lowercase().chars().map(|letter| if letter == '-' || letter == ' ' { '_' } else { letter }).collect()
}

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
