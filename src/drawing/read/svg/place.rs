//! Where in the file something stands.

use roxmltree::Node;

use super::drawn::place::Part;
pub use super::drawn::place::{Place, excerpt};

/// The byte offset of every line's end, so that a line number costs a search
/// and not another pass over the file.
pub struct Lines(Vec<usize>);

impl Lines {
    pub fn of(text: &str) -> Self {
        Self(text.match_indices('\n').map(|(at, _)| at).collect())
    }

    /// The line, from 1, that holds the byte at `offset`.
    fn line(&self, offset: usize) -> usize {
        self.0.partition_point(|&end| end < offset) + 1
    }

    /// Where `node` stands.
    pub fn place<'a>(&self, node: Node<'a, '_>) -> Place<'a> {
        Place {
            part: Part::Line,
            line: self.line(node.range().start),
            tag: node.tag_name().name(),
            id: node.attribute("id").filter(|id| !id.trim().is_empty()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_names_the_line_the_element_and_its_id() {
        let text = "<svg>\n<g>\r\n  <path id='cut'/>\n</g></svg>";
        let document = roxmltree::Document::parse(text).unwrap();
        let path = document
            .descendants()
            .find(|n| n.has_tag_name("path"))
            .unwrap();
        let lines = Lines::of(text);
        assert_eq!(lines.place(path).to_string(), "line 3, path \"cut\"");
        let root = lines.place(document.root_element());
        assert_eq!(root.to_string(), "line 1, svg");
    }
}
