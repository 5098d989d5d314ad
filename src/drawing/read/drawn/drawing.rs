//! All that is drawn, on the page in millimetres, before it is made sense of.

use std::borrow::Cow;

use kurbo::{BezPath, PathEl, Point};

use super::limits::MAX_MM;
use super::place::Place;
use super::roles::Told;
use crate::pattern::NotchKind;

/// One thing drawn.
pub struct Drawn<'a> {
    pub place: Place<'a>,
    /// What the file calls it, should it be a piece.
    pub called: Option<Cow<'a, str>>,
    pub told: Told<'a>,
    pub notch: NotchKind,
    /// On the page: mm, y down. A text is the one point where it stands.
    pub path: BezPath,
    pub is_text: bool,
}

/// A piece group and what is drawn in it.
pub struct Group<'a> {
    pub place: Place<'a>,
    pub name: Cow<'a, str>,
    pub cut_count: u32,
    pub pair: bool,
    pub drawn: Vec<Drawn<'a>>,
    /// Whether something in it was hidden.
    pub hides: bool,
    /// Whether the file is another's, or its roles were told by their looks: then
    /// a mark that is not sound is listed, and so is a piece, and neither
    /// ends the reading.
    pub lenient: bool,
}

/// A whole drawing.
#[derive(Default)]
pub struct Drawing<'a> {
    pub groups: Vec<Group<'a>>,
    /// Drawn outside every piece group.
    pub loose: Vec<Drawn<'a>>,
    /// Whether there are piece groups at all, be they hidden.
    pub grouped: bool,
    /// What the person should check.
    pub notes: Vec<String>,
}

/// Whether all of `path`, control points too, is within `MAX_MM`.
pub fn on_page(path: &BezPath) -> bool {
    let near = |p: &Point| p.x.abs() <= MAX_MM && p.y.abs() <= MAX_MM;
    path.elements().iter().all(|element| match element {
        PathEl::MoveTo(p) | PathEl::LineTo(p) => near(p),
        PathEl::QuadTo(p1, p2) => near(p1) && near(p2),
        PathEl::CurveTo(p1, p2, p3) => near(p1) && near(p2) && near(p3),
        PathEl::ClosePath => true,
    })
}
