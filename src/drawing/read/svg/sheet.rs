//! The text of style sheets, cut up as far as matters here.

use roxmltree::Document;

use super::left_out::{LeftOut, Why};
use super::place::{Lines, excerpt};

/// The text of all style elements, without comments and at-rules. At-rules
/// that could hide or show something are listed.
pub fn gather(document: &Document, lines: &Lines, left_out: &mut LeftOut) -> String {
    let mut sheet = String::new();
    let styles = document
        .descendants()
        .filter(|node| node.tag_name().name() == "style" && node.is_element());
    for style in styles {
        for text in style.children().filter_map(|child| child.text()) {
            let text = without_comments(text);
            let mut rest = text.as_str();
            while let Some(at) = find(rest, b"@{") {
                let length = block_length(&rest[at..]);
                let (before, block) = rest.split_at(at);
                let (block, after) = block.split_at(length);
                sheet.push_str(before);
                if block.starts_with('{') {
                    sheet.push_str(block);
                } else if !is_harmless(block) {
                    let rule = block.split(['{', ';']).next().unwrap_or_default();
                    left_out.add(lines.place(style), Why::Rule(excerpt(rule.trim())));
                }
                rest = after;
            }
            sheet.push_str(rest);
            sheet.push('\n');
        }
    }
    sheet
}

/// Whether an at-rule can neither hide nor show anything.
fn is_harmless(rule: &str) -> bool {
    let names = [
        "@font-face",
        "@charset",
        "@namespace",
        "@page",
        "@keyframes",
    ];
    names.iter().any(|name| rule.starts_with(name))
}

/// `text` with a space for each comment.
pub fn without_comments(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("/*") {
        out.push_str(before);
        out.push(' ');
        rest = after.split_once("*/").map_or("", |(_, after)| after);
    }
    out + rest
}

/// The first of `bytes` in `text` outside quotes.
pub fn find(text: &str, bytes: &[u8]) -> Option<usize> {
    let mut quote = None;
    text.bytes().position(|byte| match quote {
        Some(open) => {
            // A line's end closes what was left open, as CSS has it.
            if byte == open || byte == b'\n' {
                quote = None;
            }
            false
        }
        None if byte == b'"' || byte == b'\'' => {
            quote = Some(byte);
            false
        }
        None => bytes.contains(&byte),
    })
}

/// `text` cut at each `byte` outside quotes.
pub fn split(text: &str, byte: u8) -> impl Iterator<Item = &str> {
    let mut rest = Some(text);
    std::iter::from_fn(move || {
        let text = rest?;
        let at = find(text, &[byte]);
        rest = at.map(|at| &text[at + 1..]);
        Some(at.map_or(text, |at| &text[..at]))
    })
}

/// One declaration of a style: `name: value` and perhaps `!important`.
pub struct Declaration<'a> {
    /// In small letters.
    pub name: String,
    pub value: &'a str,
    pub important: bool,
}

/// The declarations in `text`, which holds no comments.
pub fn declarations(text: &str) -> impl Iterator<Item = Declaration<'_>> {
    split(text, b';').filter_map(|declaration| {
        let (name, value) = declaration.split_once(':')?;
        let (value, important) = match value.rsplit_once('!') {
            Some((value, mark)) if mark.trim().eq_ignore_ascii_case("important") => (value, true),
            _ => (value, false),
        };
        Some(Declaration {
            name: name.trim().to_ascii_lowercase(),
            value: value.trim(),
            important,
        })
    })
}

/// The bytes up to the end of the balanced block in `text`, or up to the
/// semicolon that ends a rule without one.
fn block_length(text: &str) -> usize {
    let mut depth = 0_usize;
    let mut at = 0;
    while let Some(found) = find(&text[at..], b";{}") {
        let byte = text.as_bytes()[at + found];
        at += found + 1;
        match byte {
            b'{' => depth += 1,
            b'}' => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth == 0 {
            return at;
        }
    }
    text.len()
}
