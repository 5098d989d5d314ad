//! Limits that keep a hostile or broken file from costing more than a fault.

use std::collections::HashSet;

pub use super::drawn::limits::{MAX_MM, MAX_POINTS};
use crate::fault::{Fault, Outcome};

/// Largest file read: 64 MiB.
pub const MAX_BYTES: usize = 64 << 20;
/// Deepest nesting of elements, and of groups and uses while walking.
pub const MAX_DEPTH: usize = 256;
/// Most XML nodes in a file.
pub const MAX_NODES: u32 = 2_000_000;
/// Most `use` elements followed, counted each time one is.
pub const MAX_USES: usize = 10_000;
/// Most `use` elements within one another.
pub const MAX_USE_DEPTH: usize = 32;
/// Most elements walked, with what is used counted each time.
pub const MAX_STEPS: usize = 5_000_000;

/// Most attributes on one element: the parser compares each with each.
const MAX_ATTRIBUTES: usize = 512;
/// Most namespace prefixes in a file: the parser copies those in scope to
/// every element that declares one more.
const MAX_PREFIXES: usize = 64;
/// Most namespace declarations in a file, for the same reason.
const MAX_DECLARATIONS: usize = 100_000;

/// The bytes of a file as text, once they can be an SVG at all.
///
/// # Errors
///
/// When the file is empty, larger than [`MAX_BYTES`], not UTF-8, or does not
/// begin as XML does.
pub fn text(bytes: &[u8]) -> Outcome<&str> {
    const NOT_SVG: &str = "this is not an SVG";
    const CHECK: &str = "check that it is the right file";
    if bytes.is_empty() {
        return Err(Fault::input("the file is empty", "save the drawing again"));
    }
    if bytes.len() > MAX_BYTES {
        return Err(Fault::input(
            "the file is larger than 64 MiB",
            "take pictures, and all that is not pattern, out of the drawing",
        ));
    }
    if bytes.starts_with(&[0x1f, 0x8b]) {
        return Err(Fault::input(
            "the file is compressed",
            "save it uncompressed: the name ends in .svg, not .svgz",
        ));
    }
    if is_utf16(bytes) {
        return Err(Fault::input(
            "the text is UTF-16",
            "save the drawing as UTF-8",
        ));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if !bytes.trim_ascii_start().starts_with(b"<") || bytes.contains(&0) {
        return Err(Fault::input(NOT_SVG, CHECK));
    }
    std::str::from_utf8(bytes).map_err(|error| {
        let before = &bytes[..error.valid_up_to()];
        Fault::input("the text is not UTF-8", "save the drawing as UTF-8")
            .at(format!("line {}", newlines(before) + 1))
    })
}

fn is_utf16(bytes: &[u8]) -> bool {
    let marks: [&[u8]; 4] = [b"\xff\xfe", b"\xfe\xff", b"<\0", b"\0<"];
    marks.iter().any(|mark| bytes.starts_with(mark))
}

fn newlines(bytes: &[u8]) -> usize {
    bytes.iter().filter(|&&b| b == b'\n').count()
}

/// Checks nesting and attribute counts in one pass, before the XML parser
/// spends time or stack on them. What is not well-formed is let through: the
/// parser says so better.
///
/// # Errors
///
/// When elements nest deeper than [`MAX_DEPTH`], or one carries more than 512
/// attributes, or the file names too many kinds of additions (namespaces).
pub fn scan(text: &str) -> Outcome<()> {
    let refuse = |at: usize, what: &str, remedy: &str| {
        let line = newlines(&text.as_bytes()[..at]) + 1;
        Err(Fault::input(what, remedy).at(format!("line {line}")))
    };
    let mut depth = 0_usize;
    let mut declarations = 0;
    let mut prefixes = HashSet::new();
    let mut at = 0;
    while let Some(start) = text[at..].find('<').map(|found| at + found) {
        let rest = &text[start..];
        let past = |end: &str| rest.find(end).map(|found| start + found + end.len());
        let next = if rest.starts_with("<!--") {
            past("-->")
        } else if rest.starts_with("<![CDATA[") {
            past("]]>")
        } else if rest.starts_with("<?") {
            past("?>")
        } else if rest.starts_with("</") {
            depth = depth.saturating_sub(1);
            past(">")
        } else {
            let tag = Tag::of(rest);
            if tag.attributes > MAX_ATTRIBUTES {
                return refuse(
                    start,
                    "a shape carries more than 512 settings",
                    "save the drawing again as SVG, without what the editor adds of its own",
                );
            }
            declarations += tag.prefixes.len();
            prefixes.extend(tag.prefixes);
            if declarations > MAX_DECLARATIONS || prefixes.len() > MAX_PREFIXES {
                return refuse(
                    start,
                    "the file names too many kinds of additions (namespaces)",
                    "save the drawing again as SVG, without what the editor adds of its own",
                );
            }
            if !tag.empty {
                depth += 1;
            }
            if depth > MAX_DEPTH {
                return refuse(
                    start,
                    "groups lie more than 256 deep within one another",
                    "take the groups apart, then save the drawing again",
                );
            }
            tag.length.map(|length| start + length)
        };
        let Some(next) = next else { break };
        at = next;
    }
    Ok(())
}

/// What the pre-scan needs to know of one start tag.
struct Tag<'a> {
    attributes: usize,
    /// Prefixes it declares; the default namespace counts as `xmlns`.
    prefixes: Vec<&'a str>,
    /// Whether it closes itself.
    empty: bool,
    /// Bytes up to and with the `>`; none if the file ends before.
    length: Option<usize>,
}

impl<'a> Tag<'a> {
    fn of(text: &'a str) -> Self {
        let bytes = text.as_bytes();
        let mut tag = Tag {
            attributes: 0,
            prefixes: Vec::new(),
            empty: false,
            length: None,
        };
        let mut word = 1;
        let mut quote = None;
        for (at, &byte) in bytes.iter().enumerate() {
            match (quote, byte) {
                (Some(open), _) if open == byte => quote = None,
                (Some(_), _) => {}
                (None, b'"' | b'\'') => quote = Some(byte),
                (None, b'=') => {
                    tag.attributes += 1;
                    let name = text[word..at].trim();
                    if name.starts_with("xmlns") {
                        tag.prefixes.push(name);
                    }
                }
                (None, b'>') => {
                    tag.empty = bytes[at - 1] == b'/';
                    tag.length = Some(at + 1);
                    break;
                }
                (None, b' ' | b'\t' | b'\r' | b'\n') => word = at + 1,
                (None, _) => {}
            }
        }
        tag
    }
}

/// The XML parser's error as a fault.
pub fn xml_fault(error: roxmltree::Error) -> Fault {
    use roxmltree::Error as E;
    match error {
        E::UnclosedRootNode | E::UnexpectedEndOfStream | E::NoRootNode => Fault::input(
            "the file ends before the drawing does",
            "it was cut short: save or copy it again",
        ),
        E::NodesLimitReached => Fault::input(
            "the file holds more than 2 million elements",
            "take what is not pattern out of the drawing",
        ),
        other => {
            let line = other.pos().row;
            Fault::input(
                format!("the file is damaged ({other})"),
                "save the drawing again as SVG, without what the editor adds of its own",
            )
            .at(format!("line {line}"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn what(bytes: &[u8]) -> String {
        text(bytes).unwrap_err().what
    }

    #[test]
    fn only_text_that_begins_as_xml_passes() {
        assert_eq!(what(b""), "the file is empty");
        assert_eq!(what(b"\x1f\x8b\x08"), "the file is compressed");
        assert_eq!(what(b"\xff\xfe<\0s\0"), "the text is UTF-16");
        assert_eq!(what(b"<\0s\0v\0"), "the text is UTF-16");
        assert_eq!(what(b"\x89PNG\r\n"), "this is not an SVG");
        assert_eq!(what(b"hello"), "this is not an SVG");
        assert_eq!(what(b"<svg>\0</svg>"), "this is not an SVG");
        assert_eq!(what(b"<svg>\n\xe4</svg>"), "the text is not UTF-8");
        assert_eq!(text(b"\xef\xbb\xbf <svg/>").unwrap(), " <svg/>");
        assert!(what(&vec![b'<'; MAX_BYTES + 1]).contains("64 MiB"));
    }

    #[test]
    fn depth_counts_open_elements_only() {
        let nested = |n: usize| "<g>".repeat(n) + &"</g>".repeat(n);
        assert!(scan(&nested(MAX_DEPTH)).is_ok());
        assert!(scan(&nested(MAX_DEPTH + 1)).is_err());
        assert!(scan(&"<g/>".repeat(1000)).is_ok());
        assert!(scan(&"<!--<g>--><![CDATA[<g>]]><?p <g>?>".repeat(1000)).is_ok());
        assert!(scan(&"<g a='/>'></g>".repeat(1000)).is_ok());
    }

    #[test]
    fn attributes_are_counted_an_element_at_a_time() {
        let with = |n: usize| {
            let list: String = (0..n).map(|i| format!(" a{i}='=\"='")).collect();
            format!("<g{list}/>")
        };
        assert!(scan(&with(MAX_ATTRIBUTES).repeat(3)).is_ok());
        assert!(scan(&with(MAX_ATTRIBUTES + 1)).is_err());
    }

    #[test]
    fn namespace_floods_are_refused_and_repeats_of_a_few_are_not() {
        let one = "<g xmlns='a' xmlns:x = 'b'/>";
        assert!(scan(&one.repeat(1000)).is_ok());
        let many: String = (0..100).map(|i| format!("<g xmlns:n{i}='a'/>")).collect();
        assert!(scan(&many).is_err());
    }
}
