//! Text as XML 1.0 may hold it, for the pictures that are written as SVG.

/// `text` within an element. Control codes, line ends too, become blanks; U+FFFE and U+FFFF,
/// which XML can't hold either, are left out.
pub fn xml_text(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '\u{fffe}' | '\u{ffff}' => {}
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// `text` within an attribute in double quotes; it may stand in an element, too.
pub fn xml_attribute(text: &str) -> String {
    xml_text(text).replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_means_something_to_xml_is_said_otherwise() {
        assert_eq!(xml_text("\"a\" < b & c > d"), "\"a\" &lt; b &amp; c &gt; d");
        assert_eq!(xml_attribute("12\" & <"), "12&quot; &amp; &lt;");
        assert_eq!(xml_text("&amp;"), "&amp;amp;");
    }

    #[test]
    fn what_xml_can_not_hold_is_not_written() {
        assert_eq!(xml_text("a\u{1}b\nc\u{ffff}d ü"), "a b cd ü");
    }
}
