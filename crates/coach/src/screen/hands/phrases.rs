//! The phrases, in one table.
//!
//! Here: which words stand for what. Not here: when each is valid (`choices`).
//!
//! Ours, from plain speech, and chosen among 132 by measurement: of each meaning the one that an offline recogniser told
//! best from the others in noise (`demo/voice` says how). Phrases rather than single words; above all, what confirms a
//! value sounds like nothing else.
//!
//! **Invariant:** each has at least two words, and no two are alike.

/// The next right thing: done, over, taken.
pub const DONE: &str = "step done";
/// What lasts begins.
pub const BEGIN: &str = "here we go";
/// The other position was taken.
pub const TURN: &str = "mark it now";
/// What is timed ends.
pub const STOP: &str = "hold it there";
/// The next attempt.
pub const ANOTHER: &str = "start over again";
/// Say it again.
pub const AGAIN: &str = "say that again";
/// The last act is taken back.
pub const UNDO: &str = "undo the last one";
/// The act taken back happens after all.
pub const REDO: &str = "keep it after all";
/// What was read back is right.
pub const CONFIRM: &str = "write it down";
/// What was read back is wrong.
pub const DENY: &str = "that is wrong";
/// How long there is.
pub const TIME: &str = "how much time";
/// The same; beside a number it is less well understood.
pub const TIME_TOO: &str = "time left";
/// Strokes counted aloud.
pub const COUNT: &str = "count along with me";
/// Fewer strokes a minute.
pub const SLOWER: &str = "not so fast";
/// No counting.
pub const SILENCE: &str = "quiet please";
/// One more on a tally.
pub const ADD: &str = "add one more";
/// What is due next on the bench.
pub const NEXT_TEST: &str = "the other one";
/// Something went wrong.
pub const WRONG: &str = "something went wrong";
/// Against a refusal.
pub const ANYWAY: &str = "go on anyway";
/// An earlier reading was wrong.
pub const CORRECT: &str = "correct a reading";
/// The far view.
pub const FAR: &str = "far view";
/// Back to the step.
pub const LEAVE_IT: &str = "leave it alone";
/// A list of what else there is.
pub const MORE: &str = "what else is there";
/// The first confirmation before an end.
pub const END: &str = "wrap up this test";
/// The second, which is another.
pub const END_FOR_SURE: &str = "yes end it";
/// A line with words of one's own begins so.
pub const WRITE: &str = "enter";
/// A remark of one's own begins so.
pub const REMARK: &str = "remark";
/// A reason of one's own begins so.
pub const BECAUSE: &str = "because";

/// One of several, by its number.
pub fn numbered(noun: &str, n: usize) -> String {
    format!("{noun} {}", voice::say::whole(n as u64 + 1))
}

/// Every phrase a recogniser may be told of.
pub const ALL: [&str; 23] = [
    DONE, BEGIN, TURN, STOP, ANOTHER, AGAIN, UNDO, REDO, CONFIRM, DENY, TIME, TIME_TOO, COUNT, SLOWER, SILENCE, ADD,
    NEXT_TEST, WRONG, ANYWAY, CORRECT, FAR, LEAVE_IT, MORE,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_has_two_words_and_no_two_are_alike_and_the_page_for_adapters_has_them_all() {
        let all: Vec<&str> = ALL.into_iter().chain([END, END_FOR_SURE]).collect();
        let page = include_str!("../../../HEARING.md");
        for (n, phrase) in all.iter().enumerate() {
            assert!(phrase.contains(' '), "{phrase} is one word");
            assert_eq!(*phrase, hearing::words::alike(phrase), "it is compared as it stands");
            assert!(!all[n + 1..].contains(phrase), "{phrase} stands for two things");
            assert!(page.contains(phrase), "HEARING.md does not name “{phrase}”");
        }
        for word in [WRITE, REMARK, BECAUSE] {
            assert!(page.contains(&format!("`{word} ")), "HEARING.md does not name “{word}”");
        }
    }
}
