//! The walk over the drawing: every shape that is drawn, on the page in
//! millimetres, with the piece it belongs to and what it is said to be.

use std::collections::HashMap;

use kurbo::{Affine, BezPath, Point, Size};
use roxmltree::{Document, Node, NodeId};

use super::drawing::{Drawing, Drawn, Group, on_page};
use super::follow::Used;
use super::guard::{MAX_DEPTH, MAX_POINTS, MAX_STEPS};
use super::left_out::{LeftOut, Why};
use super::place::{Lines, Place, excerpt};
use super::roles::{self, Told};
use super::shapes::{self, too_large};
use super::sort::Sort;
use super::style::Styles;
use super::transform::{stretch, transform};
use super::units::{self, Axis};
use super::viewbox::{self, Viewport};
use super::words::decoded;
use crate::fault::{Fault, Outcome};
use crate::pattern::NotchKind;

const SVG: &str = "http://www.w3.org/2000/svg";

/// Bytes of attributes or text whose reading counts as a step.
const TEXT_PER_STEP: usize = 64;

/// What an element hands down to those within it.
#[derive(Clone, Copy)]
pub struct Handed<'a> {
    pub to_page: Affine,
    pub viewport: Option<Size>,
    pub group: Option<usize>,
    pub told: Told<'a>,
    pub notch: Option<NotchKind>,
    pub visible: bool,
    pub depth: usize,
    pub uses: usize,
    /// Set by a `use` for the one element it names.
    pub used: Option<Used<'a>>,
}

/// Walks over `document` and lists what can't be told in `left_out`.
///
/// # Errors
///
/// When the root is no SVG, an element can't be read, something reaches
/// beyond 100 m, a `use` leads back to itself, or the limits of `guard`
/// are passed.
pub fn walk<'a>(
    document: &'a Document<'a>,
    lines: &'a Lines,
    styles: &'a Styles<'a>,
    scale: f64,
    left_out: &mut LeftOut,
) -> Outcome<Drawing<'a>> {
    let root = document.root_element();
    let namespace = root.tag_name().namespace();
    if root.tag_name().name() != "svg" || namespace.is_some_and(|ns| ns != SVG) {
        let name = excerpt(root.tag_name().name());
        return Err(Fault::input(
            format!("this is not an SVG: its root element is \"{name}\""),
            "check that it is the right file",
        ));
    }
    let mut ids = HashMap::new();
    for node in document.descendants() {
        if let Some(id) = node.attribute("id") {
            ids.entry(id).or_insert(node);
        }
    }
    let mut walker = Walker {
        lines,
        styles,
        left_out,
        ids,
        namespace,
        drawing: Drawing::default(),
        steps: 0,
        points: 0,
        uses: 0,
        within: Vec::new(),
    };
    let placed = |fault: Fault| fault.at(lines.place(root));
    let (Viewport { outward, size }, note) = viewbox::root(root).map_err(placed)?;
    walker.drawing.notes.extend(note.map(str::to_owned));
    let handed = Handed {
        to_page: Affine::scale(scale) * outward,
        viewport: size,
        group: None,
        told: Told::Nothing,
        notch: None,
        visible: true,
        depth: 0,
        uses: 0,
        used: None,
    };
    walker.element(root, handed)?;
    Ok(walker.drawing)
}

pub struct Walker<'a, 'l> {
    lines: &'a Lines,
    styles: &'a Styles<'a>,
    pub left_out: &'l mut LeftOut,
    pub ids: HashMap<&'a str, Node<'a, 'a>>,
    /// The root's: SVG's, or none in a drawing that leaves it out.
    namespace: Option<&'a str>,
    drawing: Drawing<'a>,
    steps: usize,
    points: usize,
    pub uses: usize,
    /// The elements whose use is being followed.
    pub within: Vec<NodeId>,
}

impl<'a> Walker<'a, '_> {
    pub fn sort(&self, node: Node) -> Sort {
        Sort::of(node, self.namespace)
    }

    /// Counts `steps` of work, so that what is used over and over again can't
    /// make more of it than a large drawing does.
    fn spend(&mut self, steps: usize) -> Outcome<()> {
        self.steps += steps;
        if self.steps > MAX_STEPS {
            return Err(Fault::input(
                "the drawing comes to more than 5 million elements",
                "take what is not pattern out of the drawing",
            ));
        }
        Ok(())
    }

    /// Walks over `node` and all within it.
    ///
    /// # Errors
    ///
    /// As [`walk`].
    pub fn element(&mut self, node: Node<'a, 'a>, mut handed: Handed<'a>) -> Outcome<()> {
        let text: usize = node.attributes().map(|a| a.value().len()).sum();
        self.spend(1 + text / TEXT_PER_STEP)?;
        let used = handed.used.take();
        let sort = match (self.sort(node), &used) {
            (Sort::Silent, Some(_)) if node.tag_name().name() == "symbol" => Sort::Group,
            (sort, _) => sort,
        };
        if sort == Sort::Silent {
            return Ok(());
        }
        let mut place = self.lines.place(node);
        if let (Sort::Shape, Some(used)) = (sort, &used) {
            // Each use of a shape is a shape of its own, with its own name.
            place = used.place;
        }
        let placed = |fault: Fault| fault.at(place);
        handed.depth += 1;
        if handed.depth > MAX_DEPTH {
            return Err(placed(Fault::input(
                "groups and repeated shapes lie more than 256 deep within one another",
                "take the groups apart, then save the drawing again",
            )));
        }
        let look = self.styles.look(node).map_err(placed)?;
        handed.visible = look.visible().unwrap_or(handed.visible);
        if look.removed() {
            return self.hidden(node, place, handed.group).map_err(placed);
        }
        handed.to_page *= transform(node).map_err(placed)?;
        self.tell(node, used, &mut handed).map_err(placed)?;
        if look.clipped() {
            self.left_out.add(place, Why::Clipped);
        }
        match sort {
            Sort::Shape => self.shape(node, place, handed).map_err(placed),
            Sort::Text => self.text(node, place, handed).map_err(placed),
            Sort::Use => self.follow(node, place, handed),
            Sort::Switch => {
                let chosen = node.children().find(|child| {
                    child.is_element()
                        && !child.has_attribute("requiredExtensions")
                        && self.sort(*child) != Sort::Silent
                        && self.sort(*child) != Sort::Other
                });
                chosen.map_or(Ok(()), |child| self.element(child, handed))
            }
            Sort::Group | Sort::Svg => {
                let port = self.enter(node, used, handed).map_err(placed)?;
                let Some(port) = port else {
                    self.left_out.add(place, Why::NoSize);
                    return Ok(());
                };
                handed.to_page *= port.outward;
                handed.viewport = port.size;
                for child in node.children().filter(Node::is_element) {
                    self.element(child, handed)?;
                }
                Ok(())
            }
            Sort::Other => {
                self.left_out.add(place, Why::NoShape);
                Ok(())
            }
            Sort::Silent => Ok(()),
        }
    }

    /// Takes in what `node` says of its piece, its role and its notches.
    fn tell(
        &mut self,
        node: Node<'a, 'a>,
        used: Option<Used<'a>>,
        handed: &mut Handed<'a>,
    ) -> Outcome<()> {
        let name = if node.tag_name().name() == "g" {
            roles::piece_name(node)?
        } else {
            None
        };
        let Some(name) = name else {
            if node.parent_element().is_some() {
                let told = used.map_or(Told::Nothing, |used| used.told);
                handed.told = told.or(roles::told(node)).or(handed.told);
                let notch = used.and_then(|used| used.notch);
                handed.notch = notch.or(roles::notch_kind(node)?).or(handed.notch);
            }
            return Ok(());
        };
        if let Some(outer) = handed.group {
            let outer = excerpt(&self.drawing.groups[outer].name);
            return Err(Fault::input(
                format!(
                    "the piece \"{}\" is within the piece \"{outer}\"",
                    excerpt(&name)
                ),
                "draw each piece in a group of its own, side by side",
            ));
        }
        let (cut_count, pair) = roles::count_and_pair(node)?;
        handed.group = Some(self.drawing.groups.len());
        handed.told = Told::Nothing;
        handed.notch = None;
        self.drawing.grouped = true;
        self.drawing.groups.push(Group {
            place: self.lines.place(node),
            name,
            cut_count,
            pair,
            drawn: Vec::new(),
            hides: false,
            lenient: false,
        });
        Ok(())
    }

    /// Lists what is hidden, if it would draw something.
    fn hidden(
        &mut self,
        node: Node<'a, 'a>,
        place: Place<'a>,
        group: Option<usize>,
    ) -> Outcome<()> {
        let mut draws = false;
        for inner in node.descendants().filter(Node::is_element) {
            self.spend(1)?;
            draws |= !matches!(self.sort(inner), Sort::Silent | Sort::Group | Sort::Svg);
            if inner.tag_name().name() == "g" {
                self.drawing.grouped |= matches!(roles::piece_name(inner), Ok(Some(_)));
            }
        }
        if draws {
            self.left_out.add(place, Why::Hidden);
            if let Some(group) = group {
                self.drawing.groups[group].hides = true;
            }
        }
        Ok(())
    }

    /// The coordinate system inside a group; none if it shows nothing.
    fn enter(
        &self,
        node: Node<'a, 'a>,
        used: Option<Used<'a>>,
        handed: Handed<'a>,
    ) -> Outcome<Option<Viewport>> {
        let name = node.tag_name().name();
        if !matches!(name, "svg" | "symbol") || node.parent_element().is_none() {
            return Ok(Some(Viewport {
                outward: Affine::IDENTITY,
                size: handed.viewport,
            }));
        }
        let given = |name, axis| units::attribute(node, name, axis, handed.viewport);
        let corner = Point::new(
            given("x", Axis::Width)?.unwrap_or(0.0),
            given("y", Axis::Height)?.unwrap_or(0.0),
        );
        let width = match used.and_then(|used| used.width) {
            None => given("width", Axis::Width)?,
            width => width,
        };
        let height = match used.and_then(|used| used.height) {
            None => given("height", Axis::Height)?,
            height => height,
        };
        // Both are 100% unless given.
        let width = width.or(handed.viewport.map(|size| size.width));
        let height = height.or(handed.viewport.map(|size| size.height));
        viewbox::inner(node, corner, width, height)
    }

    fn shape(&mut self, node: Node<'a, 'a>, place: Place<'a>, handed: Handed<'a>) -> Outcome<()> {
        let scale = stretch(handed.to_page);
        let mut path = shapes::path(node, handed.viewport, scale)?;
        self.points += path.elements().len();
        if self.points > MAX_POINTS {
            return Err(Fault::input(
                "the drawing has more than 4 million points",
                "draw it with fewer points, or split the file",
            ));
        }
        path.apply_affine(handed.to_page);
        self.keep(place, handed, path, false)
    }

    fn text(&mut self, node: Node<'a, 'a>, place: Place<'a>, handed: Handed<'a>) -> Outcome<()> {
        self.spend(node.range().len() / TEXT_PER_STEP)?;
        let words =
            |node: Node| node.is_text() && !node.text().unwrap_or_default().trim().is_empty();
        if !node.descendants().any(words) {
            return Ok(());
        }
        // Editors write the place on the text, on its first line, or on both.
        let mut spans = node.descendants().filter(Node::is_element);
        let from = spans.find(|span| span.has_attribute("x") || span.has_attribute("y"));
        let first = |name, axis| {
            let list = from
                .and_then(|span| span.attribute(name))
                .unwrap_or_default();
            let mut each = list.split(|c: char| c == ',' || c.is_whitespace());
            match each.find(|part| !part.is_empty()) {
                None => Ok(0.0),
                Some(part) => units::user(part, axis, handed.viewport),
            }
        };
        let mut path = BezPath::new();
        path.move_to((first("x", Axis::Width)?, first("y", Axis::Height)?));
        path.apply_affine(handed.to_page);
        self.keep(place, handed, path, true)
    }

    fn keep(
        &mut self,
        place: Place<'a>,
        handed: Handed<'a>,
        path: BezPath,
        is_text: bool,
    ) -> Outcome<()> {
        if path.elements().is_empty() {
            return Ok(());
        }
        if !handed.visible {
            self.left_out.add(place, Why::Hidden);
            if let Some(group) = handed.group {
                self.drawing.groups[group].hides = true;
            }
            return Ok(());
        }
        if !on_page(&path) {
            return Err(too_large());
        }
        let drawn = Drawn {
            place,
            called: place.id.map(decoded),
            told: handed.told,
            notch: handed.notch.unwrap_or(NotchKind::Slit),
            path,
            is_text,
        };
        match handed.group {
            Some(group) => self.drawing.groups[group].drawn.push(drawn),
            None => self.drawing.loose.push(drawn),
        }
        Ok(())
    }
}
