//! Outlines: the closed lines that a piece is cut along, checked and turned
//! the right way round.

use kurbo::Rect;

use super::drawing::Drawn;
use super::flatten::{self, Budget, Ground, SIMPLIFYING};
use super::join::{Stroke, join};
use super::nest::{Touch, nest};
use super::place::Place;
use super::simplify::simplify;
use crate::fault::{Fault, Outcome, short};
use crate::pattern::Polyline;
use crate::shape::signed_area;

/// Most points in the outlines of a piece once simplified: more could not be
/// offset while a person waits.
const MAX_CUT_POINTS: usize = 20_000;
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

impl Outlines {
    /// Cut lines, then cutouts.
    pub fn all(&self) -> impl Iterator<Item = &Polyline> {
        self.cut.iter().chain(&self.cutouts)
    }
}

/// The outlines of one piece from the shapes drawn as its cut lines and its
/// cutouts. Strokes that meet end to end are one line. Within a cut line of
/// several parts, a part inside another is a cutout.
///
/// # Errors
///
/// When an outline is open, too small, has too many points, touches itself or
/// another, or lies where it can't.
pub fn outlines(cut: &[Drawn], cutouts: &[Drawn], budget: &mut Budget) -> Outcome<Outlines> {
    let boxes = cut.iter().filter_map(|drawn| flatten::bounds(&drawn.path));
    let bounds = boxes.reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO);
    let ground = Ground {
        origin: bounds.center(),
    };
    let mut rings = Vec::new();
    let mut drawn_lines = Vec::new();
    for (shapes, is_cutout) in [(cut, false), (cutouts, true)] {
        for stroke in closed_lines(shapes, ground, budget)? {
            rings.push(Ring {
                place: stroke.place,
                shape: stroke.shape,
                is_cutout,
            });
            drawn_lines.push(stroke.points);
        }
    }
    let (lines, parents) = simple(&drawn_lines, &rings, ground)?;
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
        if (signed_area(&line) > 0.0) == is_hole {
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

/// `drawn` with as few points as will do, and for each line the one that it
/// lies directly within.
///
/// # Errors
///
/// When too many points are left, or lines touch.
fn simple(
    drawn: &[Polyline],
    rings: &[Ring],
    ground: Ground,
) -> Outcome<(Vec<Polyline>, Vec<Option<usize>>)> {
    let mut touched: Option<Touch> = None;
    // Lines that all but touch as drawn must not touch for being simplified.
    for within in [SIMPLIFYING, SIMPLIFYING / 10.0, 0.0] {
        let lines: Vec<Polyline> = drawn
            .iter()
            .map(|line| simplify(line, true, within))
            .collect();
        let count: usize = lines.iter().map(Vec::len).sum();
        if count > MAX_CUT_POINTS {
            let longest = (0..lines.len()).max_by_key(|&index| lines[index].len());
            let place = longest.map(|index| rings[index].place);
            return Err(touched.map_or_else(
                || {
                    let fault = too_many(count);
                    match place {
                        Some(place) => fault.at(place),
                        None => fault,
                    }
                },
                |touch| touching(&touch, rings, ground),
            ));
        }
        match nest(&lines) {
            Ok(parents) => return Ok((lines, parents)),
            Err(touch) => touched = Some(touch),
        }
    }
    Err(touched.map_or_else(
        || Fault::mistake("the outlines could not be told apart"),
        |touch| touching(&touch, rings, ground),
    ))
}

fn too_many(count: usize) -> Fault {
    Fault::input(
        format!(
            "the cut line has {count} points, more than 20 000: \
             it is too fine or too ragged to follow"
        ),
        "draw it with fewer points",
    )
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

/// The sub-paths of `shapes`, those that are open joined end to end.
fn closed_lines<'a>(
    shapes: &[Drawn<'a>],
    ground: Ground,
    budget: &mut Budget,
) -> Outcome<Vec<Stroke<'a>>> {
    let (mut closed, mut open) = (Vec::new(), Vec::new());
    for (shape, drawn) in shapes.iter().enumerate() {
        let place = drawn.place;
        let runs = flatten::runs(&drawn.path, ground, budget).map_err(|fault| fault.at(place))?;
        let before = closed.len() + open.len();
        // Of a single point, the pen was set down and drew nothing.
        for run in runs.into_iter().filter(|run| run.points.len() > 1) {
            let list = if run.closed { &mut closed } else { &mut open };
            list.push(Stroke {
                place,
                shape,
                points: run.points,
            });
        }
        if closed.len() + open.len() == before {
            return Err(Fault::input(
                "the outline has no length",
                "draw it anew, or take it out of the piece",
            )
            .at(place));
        }
    }
    closed.extend(join(open, ground)?);
    for line in &closed {
        check_size(&line.points).map_err(|fault| fault.at(line.place))?;
    }
    Ok(closed)
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

fn touching(touch: &Touch, rings: &[Ring], ground: Ground) -> Fault {
    let at = ground.say(touch.at);
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
