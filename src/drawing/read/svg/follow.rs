//! Following a `use` to what it names, within the file and within limits.

use kurbo::{Affine, Point};
use roxmltree::Node;

use super::guard::{MAX_USE_DEPTH, MAX_USES};
use super::left_out::Why;
use super::place::{Place, excerpt};
use super::roles::{self, Told};
use super::sort::Sort;
use super::units::{self, Axis};
use super::walk::{Handed, Walker};
use crate::fault::{Fault, Outcome};
use crate::pattern::NotchKind;

const XLINK: &str = "http://www.w3.org/1999/xlink";

/// What a `use` says in place of the element it names.
#[derive(Clone, Copy)]
pub struct Used<'a> {
    pub place: Place<'a>,
    pub told: Told<'a>,
    pub notch: Option<NotchKind>,
    pub width: Option<f64>,
    pub height: Option<f64>,
}

impl<'a> Walker<'a, '_> {
    /// Walks over what `node`, a `use`, names.
    ///
    /// # Errors
    ///
    /// When it leads back to itself or the limits are passed, and where what
    /// it names can't be read.
    pub fn follow(
        &mut self,
        node: Node<'a, 'a>,
        place: Place<'a>,
        handed: Handed<'a>,
    ) -> Outcome<()> {
        let placed = |fault: Fault| fault.at(place);
        let refuse = |what, remedy| Err(placed(Fault::input(what, remedy)));
        self.uses += 1;
        if self.uses > MAX_USES || handed.uses >= MAX_USE_DEPTH {
            return refuse(
                "shapes are repeated too often, or too deep within one another",
                "make each repeated shape a shape of its own, then save the drawing again",
            );
        }
        let href = node.attribute("href");
        let Some(href) = href.or_else(|| node.attribute((XLINK, "href"))) else {
            self.left_out.add(place, Why::UsesNothing);
            return Ok(());
        };
        let href = href.trim();
        let Some(id) = href.strip_prefix('#') else {
            let file = excerpt(href);
            self.left_out.add(place, Why::UsesElsewhere(file));
            return Ok(());
        };
        let target = self.ids.get(id).copied();
        let target = target.filter(|&target| {
            let sort = self.sort(target);
            sort != Sort::Silent || target.tag_name().name() == "symbol"
        });
        let Some(target) = target else {
            self.left_out.add(place, Why::UsesMissing(excerpt(id)));
            return Ok(());
        };
        if self.within.contains(&target.id()) {
            return refuse(
                "it repeats itself without end",
                "make the repeated shape one of its own, then save the drawing again",
            );
        }
        let given = |name, axis| units::attribute(node, name, axis, handed.viewport);
        let shift = Point::new(
            given("x", Axis::Width).map_err(placed)?.unwrap_or(0.0),
            given("y", Axis::Height).map_err(placed)?.unwrap_or(0.0),
        );
        let used = Used {
            place,
            told: roles::told(node),
            notch: roles::notch_kind(node).map_err(placed)?,
            width: given("width", Axis::Width).map_err(placed)?,
            height: given("height", Axis::Height).map_err(placed)?,
        };
        self.within.push(target.id());
        let result = self.element(
            target,
            Handed {
                to_page: handed.to_page * Affine::translate(shift.to_vec2()),
                uses: handed.uses + 1,
                used: Some(used),
                ..handed
            },
        );
        self.within.pop();
        result
    }
}
