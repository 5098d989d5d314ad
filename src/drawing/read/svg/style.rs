//! Styles, as far as they decide what is drawn and where: whether an element
//! is hidden, clipped, or moved by a style instead of an attribute.

use std::cell::Cell;

use roxmltree::Node;
use simplecss::{AttributeOperator, PseudoClass, Selector};

use super::sheet::{declarations, find, split, without_comments};
use crate::fault::{Fault, Outcome};

/// Longest selector read, in bytes; the matching of one calls itself once a
/// part.
const MAX_SELECTOR: usize = 1000;
/// Most steps spent on matching selectors in one file.
const MAX_STEPS: u32 = 100_000_000;

/// Properties that move what they style, which is only read as attributes.
const MOVING: [&str; 6] = [
    "transform",
    "translate",
    "rotate",
    "scale",
    "zoom",
    "offset-path",
];
/// Properties that give a shape its geometry, for the same reason.
const SHAPING: [&str; 10] = [
    "d", "x", "y", "cx", "cy", "r", "rx", "ry", "width", "height",
];

/// A value, and whether it was marked as important.
type Said<T> = Option<(T, bool)>;

/// What a set of declarations says.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Look {
    shown: Said<bool>,
    visible: Said<bool>,
    clipped: Said<bool>,
    pivot: Said<bool>,
    moved: Option<&'static str>,
    shaped: Option<&'static str>,
}

impl Look {
    /// Whether it is taken out of the drawing, with all within it.
    pub fn removed(&self) -> bool {
        self.shown.is_some_and(|(shown, _)| !shown)
    }

    /// Whether it is visible, if it says so; else as what holds it.
    pub fn visible(&self) -> Option<bool> {
        self.visible.map(|(visible, _)| visible)
    }

    /// Whether a clip path or mask cuts it.
    pub fn clipped(&self) -> bool {
        self.clipped.is_some_and(|(clipped, _)| clipped)
    }

    fn declare(&mut self, name: &str, value: &str, important: bool) {
        let set = |slot: &mut Said<bool>, value| {
            if important || !slot.is_some_and(|(_, important)| important) {
                *slot = Some((value, important));
            }
        };
        let is = |word: &str| value.eq_ignore_ascii_case(word);
        let idle = is("none") || is("auto");
        match name {
            "display" => set(&mut self.shown, !is("none")),
            "visibility" if is("inherit") => {}
            "visibility" => set(&mut self.visible, !is("hidden") && !is("collapse")),
            "clip-path" | "mask" => set(&mut self.clipped, !idle),
            "transform-origin" => set(&mut self.pivot, true),
            _ if idle => {}
            _ => {
                let known = |list: &[&'static str]| list.iter().copied().find(|p| *p == name);
                self.moved = known(&MOVING).or(self.moved);
                self.shaped = known(&SHAPING).or(self.shaped);
            }
        }
    }

    fn read(&mut self, text: &str) {
        for said in declarations(text) {
            self.declare(&said.name, said.value, said.important);
        }
    }

    fn overlay(&mut self, later: &Look) {
        let over = |slot: &mut Said<bool>, later: Said<bool>| {
            let held = slot.is_some_and(|(_, important)| important);
            if later.is_some_and(|(_, important)| important || !held) {
                *slot = later;
            }
        };
        over(&mut self.shown, later.shown);
        over(&mut self.visible, later.visible);
        over(&mut self.clipped, later.clipped);
        over(&mut self.pivot, later.pivot);
        self.moved = later.moved.or(self.moved);
        self.shaped = later.shaped.or(self.shaped);
    }
}

/// The file's style rules, weakest first.
pub struct Styles<'a> {
    rules: Vec<(Selector<'a>, Look)>,
    steps: Cell<u32>,
}

impl<'a> Styles<'a> {
    /// The rules of `sheet` that say anything of [`Look`].
    ///
    /// # Errors
    ///
    /// When such a rule has a selector beyond any a person would write.
    pub fn parse(sheet: &'a str) -> Outcome<Self> {
        let mut rules = Vec::new();
        let mut rest = sheet;
        while let Some(open) = find(rest, b"{") {
            let (selectors, body) = (&rest[..open], &rest[open + 1..]);
            let end = find(body, b"}").unwrap_or(body.len());
            let mut look = Look::default();
            look.read(&body[..end]);
            rest = body.get(end + 1..).unwrap_or_default();
            if look == Look::default() {
                continue;
            }
            for selector in split(selectors, b',') {
                if selector.len() > MAX_SELECTOR {
                    return Err(too_heavy());
                }
                rules.extend(Selector::parse(selector.trim()).map(|parsed| (parsed, look)));
            }
        }
        // Stable, so that of equal ones the last stays last.
        rules.sort_by_cached_key(|(selector, _)| selector.specificity());
        Ok(Self {
            rules,
            steps: Cell::new(0),
        })
    }

    /// What the styles say of `node` itself.
    ///
    /// # Errors
    ///
    /// When it is moved or shaped by a style rather than an attribute, or the
    /// style sheet takes too long to apply.
    pub fn look(&self, node: Node) -> Outcome<Look> {
        let mut look = Look::default();
        for name in [
            "display",
            "visibility",
            "clip-path",
            "mask",
            "transform-origin",
        ] {
            if let Some(value) = node.attribute(name) {
                look.declare(name, value.trim(), false);
            }
        }
        let element = Styled {
            node,
            steps: &self.steps,
        };
        for (selector, said) in &self.rules {
            element.step(None);
            if selector.matches(&element) {
                look.overlay(said);
            }
        }
        if self.steps.get() > MAX_STEPS {
            return Err(too_heavy());
        }
        if let Some(style) = node.attribute("style") {
            let mut said = Look::default();
            match style.contains("/*") {
                true => said.read(&without_comments(style)),
                false => said.read(style),
            }
            look.overlay(&said);
        }
        let pivot = look.pivot.is_some() && node.has_attribute("transform");
        let pivot = pivot.then_some("transform-origin");
        let group = matches!(node.tag_name().name(), "svg" | "symbol" | "g" | "text");
        let shaped = look.shaped.filter(|_| !group);
        match look.moved.or(pivot).or(shaped) {
            None => Ok(look),
            Some(property) => Err(Fault::input(
                format!(
                    "\"{property}\" is set by a style, and is read only where the shape says it"
                ),
                "set it on the shape itself, then save the drawing again",
            )),
        }
    }
}

fn too_heavy() -> Fault {
    Fault::input(
        "the style sheet is too heavy to apply",
        "give each shape its look itself, not by a common style sheet, then save the drawing again",
    )
}

/// A node as the selectors see it. Matching can take exponential time, so
/// every step is counted and beyond the limit nothing matches.
struct Styled<'a, 'd> {
    node: Node<'a, 'd>,
    steps: &'a Cell<u32>,
}

impl Styled<'_, '_> {
    fn step(&self, node: Option<Self>) -> Option<Self> {
        self.steps.set(self.steps.get().saturating_add(1));
        node.filter(|_| self.steps.get() <= MAX_STEPS)
    }
}

impl simplecss::Element for Styled<'_, '_> {
    fn parent_element(&self) -> Option<Self> {
        let node = self.node.parent_element();
        self.step(node.map(|node| Self { node, ..*self }))
    }

    fn prev_sibling_element(&self) -> Option<Self> {
        let node = self.node.prev_sibling_element();
        self.step(node.map(|node| Self { node, ..*self }))
    }

    fn has_local_name(&self, name: &str) -> bool {
        self.steps.set(self.steps.get().saturating_add(1));
        self.node.tag_name().name() == name
    }

    fn attribute_matches(&self, name: &str, operator: AttributeOperator<'_>) -> bool {
        let value = self.node.attribute(name);
        // A long one takes longer to look through.
        let looks = value.map_or(1, |v| 1 + v.len() / 64);
        let looks = u32::try_from(looks).unwrap_or(u32::MAX);
        self.steps.set(self.steps.get().saturating_add(looks));
        value.is_some_and(|value| operator.matches(value))
    }

    fn pseudo_class_matches(&self, class: PseudoClass<'_>) -> bool {
        class == PseudoClass::FirstChild && self.node.prev_sibling_element().is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::super::left_out::LeftOut;
    use super::super::place::Lines;
    use super::super::sheet::gather;
    use super::*;
    use roxmltree::Document;

    fn look(sheet: &str, element: &str) -> Outcome<Look> {
        let text = format!("<svg><style>{sheet}</style><g>{element}</g></svg>");
        let document = Document::parse(&text).unwrap();
        let sheet = gather(&document, &Lines::of(&text), &mut LeftOut::default());
        let node = document.descendants().rfind(Node::is_element).unwrap();
        Styles::parse(&sheet)?.look(node)
    }

    fn removed(sheet: &str, element: &str) -> bool {
        look(sheet, element).unwrap().removed()
    }

    #[test]
    fn hidden_by_attribute_style_class_id_element_or_descent() {
        assert!(removed("", "<path display='none'/>"));
        assert!(removed("", "<path style='font:12px/1 A;display : none'/>"));
        assert!(removed(".a{display:none}", "<path class='b a'/>"));
        assert!(removed("#a, b {display:none}", "<path id='a'/>"));
        assert!(removed("g > path {display:none}", "<path/>"));
        assert!(removed("<![CDATA[ svg path {display:none} ]]>", "<path/>"));
        assert!(!removed(".a{display:none}", "<path class='ab'/>"));
        assert!(!removed("g rect{display:none}", "<path/>"));
        let hidden = look("", "<path visibility='hidden'/>").unwrap();
        assert_eq!(hidden.visible(), Some(false));
    }

    #[test]
    fn the_stronger_declaration_wins() {
        let sheet = "#a{display:inline} path{display:none}";
        assert!(!removed(sheet, "<path id='a'/>"));
        assert!(removed(sheet, "<path/>"));
        assert!(!removed(
            "path{display:none}",
            "<path style='display:inline'/>"
        ));
        let important = "path{display:none !important}";
        assert!(removed(important, "<path style='display:inline'/>"));
        assert!(!removed(
            "path{display:none} path{display:inline}",
            "<path/>"
        ));
    }

    #[test]
    fn comments_at_rules_and_strings_do_not_confuse_it() {
        let sheet = "@import url(x.css); @font-face{src:'}'} /* path{} */ \
            @media print{path{display:none}} .a{content:'}';b:url(a@b);display:none}";
        assert!(removed(sheet, "<path class='a'/>"));
        assert!(!removed(sheet, "<path/>"));
    }

    #[test]
    fn a_style_that_moves_or_shapes_is_a_fault() {
        assert!(look("", "<path style='transform:rotate(3deg)'/>").is_err());
        assert!(look("path{scale:2}", "<path/>").is_err());
        assert!(look("", "<rect style='width:3px'/>").is_err());
        assert!(look("", "<path style='transform:none;rotate:none'/>").is_ok());
        assert!(look("", "<svg style='width:100%'/>").is_ok());
        assert!(look("", "<path transform-origin='1 1'/>").is_ok());
        let pivot = "<path transform-origin='1 1' transform='scale(2)'/>";
        assert!(look("", pivot).is_err());
    }

    #[test]
    fn selectors_made_to_take_forever_end_in_a_fault() {
        let groups = ("<g>".repeat(200), "</g>".repeat(200));
        let text = format!("<svg>{}<path/>{}</svg>", groups.0, groups.1);
        let document = Document::parse(&text).unwrap();
        let path = document.descendants().find(|n| n.has_tag_name("path"));
        let sheet = format!("x {} path{{display:none}}", "g ".repeat(100));
        let styles = Styles::parse(&sheet).unwrap();
        assert!(styles.look(path.unwrap()).is_err());
        let long = format!("{}{{display:none}}", "a+".repeat(1000));
        assert!(Styles::parse(&long).is_err());
    }
}
