//! The nearest known name to one that is not known.
//!
//! A slip of the finger adds, drops, changes or swaps a letter; `-`, `_` and a space count as the same.
//! Nothing here knows what the names stand for.

/// Names longer than this are near to nothing, and not worth the comparison.
const LONGEST_NAME: usize = 60;

/// The candidate that was probably meant: at most about a third of its letters differ.
///
/// ```
/// use procedure::nearest::nearest;
///
/// assert_eq!(nearest("alchohol", ["level", "alcohol"]), Some("alcohol"));
/// assert_eq!(nearest("temperature", ["level", "alcohol"]), None);
/// ```
pub fn nearest<'c>(name: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let wanted = letters(name);
    let n_wanted = wanted.chars().count();
    if n_wanted == 0 || n_wanted > LONGEST_NAME {
        return None;
    }
    candidates
        .into_iter()
        .filter_map(|candidate| {
            let known = letters(candidate);
            let longer = n_wanted.max(known.chars().count());
            if longer > LONGEST_NAME || candidate == name {
                return None;
            }
            let slips = strsim::osa_distance(&wanted, &known);
            (slips <= longer.div_ceil(3).min(longer - 1)).then_some((slips, candidate))
        })
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, candidate)| candidate)
}

fn letters(name: &str) -> String {
    name.to_lowercase().chars().map(|letter| if matches!(letter, '-' | ' ') { '_' } else { letter }).collect()
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
            ("alcohol-correction", Some("alcohol_correction")),
            ("cap", Some("cup")),
            ("on", Some("no")),
            ("temperature", None),
            ("", None),
        ] {
            assert_eq!(nearest(typed, names), meant, "{typed}");
        }
    }
}
