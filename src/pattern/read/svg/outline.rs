//! Outlines: the closed lines that a piece is cut along, checked and turned
//! the right way round.

use kurbo::Rect;

use super::drawing::Drawn;
use super::flatten::{self, Budget, Ground};
use super::nest::{Touch, nest};
use super::place::Place;
use crate::fault::{Fault, Outcome, short};
use crate::pattern::piece::Polyline;

/// Smallest side of an outline's bounding box, in mm.
const MIN_SIZE: f64 = 0.1;

/// What a piece is cut along.
pub struct Outlines {
    /// From the page to the piece's space, whose origin is the centre of the
    /// cut lines' exact bounding box.
    pub ground: Ground,
    /// Counter-clockwise, so that the cloth is on the left.
    pub cut: Vec<Polyline>,
    /// Clockwise, for the same reason.
    pub cutouts: Vec<Polyline>,
}

/// A closed line, and the shape that it is a part of.
struct Ring<'a> {
    place: Place<'a>,
    shape: usize,
    /// Drawn as a cutout, not as a hole of a cut line.
    is_cutout: bool,
}

/// The outlines of one piece from the shapes drawn as its cut lines and its
/// cutouts. Within a cut line of several parts, a part inside another is a
/// cutout.
///
/// # Errors
///
/// When an outline is open, too small, touches itself or another, or lies
/// where it can't.
pub fn outlines(cut: &[Drawn], cutouts: &[Drawn], budget: &mut Budget) -> Outcome<Outlines> {
    let boxes = cut.iter().filter_map(|drawn| flatten::bounds(&drawn.path));
    let bounds = boxes.reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO);
    let ground = Ground {
        origin: bounds.center(),
    };
    let mut rings = Vec::new();
    let mut lines = Vec::new();
    for (shape, drawn) in cut.iter().chain(cutouts).enumerate() {
        let before = lines.len();
        closed_lines(drawn, ground, budget, &mut lines).map_err(|fault| fault.at(drawn.place))?;
        rings.extend((before..lines.len()).map(|_| Ring {
            place: drawn.place,
            shape,
            is_cutout: shape >= cut.len(),
        }));
    }
    let parents = nest(&lines).map_err(|touch| touching(&touch, &rings, ground))?;
    let mut outlines = Outlines {
        ground,
        cut: Vec::new(),
        cutouts: Vec::new(),
    };
    for (index, mut line) in lines.into_iter().enumerate() {
        let ring = &rings[index];
        let parent = parents[index];
        let is_hole = place_of(ring, parent.map(|parent| (&rings[parent], parents[parent])))
            .map_err(|fault| fault.at(ring.place))?;
        if turns_left(&line) == is_hole {
            line.reverse();
        }
        if is_hole {
            outlines.cutouts.push(line);
        } else {
            outlines.cut.push(line);
        }
    }
    Ok(outlines)
}

/// Whether `ring` is a hole, given what it lies directly within, and what
/// that in turn lies within.
fn place_of(ring: &Ring, parent: Option<(&Ring, Option<usize>)>) -> Outcome<bool> {
    let refuse = |what, remedy| Err(Fault::input(what, remedy));
    match parent {
        None if ring.is_cutout => refuse(
            "the cutout lies outside its piece",
            "move it inside the cut line",
        ),
        None => Ok(false),
        Some((parent, above)) if parent.is_cutout || above.is_some() => refuse(
            "an outline lies within a cutout",
            "draw what is within the cutout as a piece of its own",
        ),
        Some((parent, _)) if ring.is_cutout || ring.shape == parent.shape => Ok(true),
        Some(_) => refuse(
            "a cut line lies within another of the same piece",
            "give it the role cutout, or draw it as a piece of its own",
        ),
    }
}

/// Appends the sub-paths of `drawn`, all of which must be closed.
fn closed_lines(
    drawn: &Drawn,
    ground: Ground,
    budget: &mut Budget,
    lines: &mut Vec<Polyline>,
) -> Outcome<()> {
    let before = lines.len();
    for run in flatten::runs(&drawn.path, ground, budget)? {
        if run.points.len() < 2 {
            // The pen was set down and drew nothing.
            continue;
        }
        if !run.closed {
            let ends = [run.points.first(), run.points.last()];
            let [a, b] = ends.map(|p| p.map(|&p| on_page(p, ground)).unwrap_or_default());
            return Err(Fault::input(
                format!("the outline is open: it runs from {a} to {b}"),
                "join its ends",
            ));
        }
        check_size(&run.points)?;
        lines.push(run.points);
    }
    if lines.len() == before {
        return Err(Fault::input(
            "the outline has no length",
            "draw it anew, or take it out of the piece",
        ));
    }
    Ok(())
}

fn check_size(line: &Polyline) -> Outcome<()> {
    let bounds = crate::space::Bounds::from_points(line);
    if line.len() < 3 || bounds.width() < MIN_SIZE || bounds.height() < MIN_SIZE {
        return Err(Fault::input(
            format!(
                "the outline encloses nothing: it is {} mm by {} mm",
                short(bounds.width()),
                short(bounds.height())
            ),
            "check the units and the scale of the drawing, or take it out",
        ));
    }
    Ok(())
}

/// Whether `drawn` encloses anything: all its lines are closed, and large
/// enough for an outline.
pub fn encloses(lines: &[flatten::Run]) -> bool {
    let mut drawn = lines.iter().filter(|run| run.points.len() > 1).peekable();
    drawn.peek().is_some() && drawn.all(|run| run.closed && check_size(&run.points).is_ok())
}

fn on_page(p: crate::space::Point<crate::space::Piece>, ground: Ground) -> String {
    let p = ground.page(p);
    format!("x {} mm, y {} mm", short(p.x), short(p.y))
}

fn touching(touch: &Touch, rings: &[Ring], ground: Ground) -> Fault {
    let at = on_page(touch.at, ground);
    let (a, b) = (&rings[touch.rings.0], &rings[touch.rings.1]);
    let fault = if touch.rings.0 == touch.rings.1 {
        Fault::input(
            format!("the outline crosses or touches itself at {at} from the page's top left"),
            "redraw it there without the loop",
        )
    } else {
        Fault::input(
            format!(
                "the outline crosses or touches another ({}) at {at} from the page's top left",
                b.place
            ),
            "move them apart, or draw them as one",
        )
    };
    fault.at(a.place)
}

/// Whether a closed line runs counter-clockwise.
fn turns_left(line: &Polyline) -> bool {
    let Some(&first) = line.first() else {
        return false;
    };
    let twice = |pair: &[_]| match *pair {
        [a, b] => crate::space::Vector::cross(a - first, b - first),
        _ => 0.0,
    };
    line.windows(2).map(twice).sum::<f64>() > 0.0
}
