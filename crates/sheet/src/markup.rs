//! Text inside HTML and SVG.

/// A text that stays a text between tags and inside quoted attributes. What XML cannot hold at all is “�”.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(c),
            c if c.is_control() || matches!(c, '\u{FFFE}' | '\u{FFFF}') => out.push(char::REPLACEMENT_CHARACTER),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::escape;

    #[test]
    fn nothing_typed_can_become_a_tag() {
        assert_eq!(escape("<script>\"'&\u{1b}</script>"), "&lt;script&gt;&quot;&#39;&amp;\u{FFFD}&lt;/script&gt;");
    }
}
