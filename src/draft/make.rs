//! Drawn edges made into a piece: the flattened net line, notches, darts and marks.

use std::collections::HashSet;

use kurbo::{Affine, Point, Vec2};

use super::curve::{Curve, SAME};
use super::decl::{DartDecl, NotchDecl, PieceDecl, Spot};
use super::eval::{DEEPEST, Eval};
use super::outline::{Outline, outline, simple};
use super::{Sketch, names};
use crate::fault::{Fault, Outcome, short};
use crate::pattern::{Corner, EdgeMake, EdgeStart, Line, NetPiece, Notch, PatternPiece, Polyline};
use crate::shape::{Region, counter_clockwise, difference, signed_area};
use crate::space::{self, Piece};

/// A notch is as deep as half the allowance unless it is said (the most that is usual,
/// common practice), and so deep where nothing is said of the allowance either, mm.
const USUAL_DEPTH: f64 = 3.0;

/// The most points that a net line may have (as in [`PatternPiece::cut`]).
pub const MOST_POINTS: usize = 20_000;

/// The most points that all lines of a piece may have, mirrored ones too.
const MOST_DRAWN: usize = 400_000;

/// So much of a cutout may lie outside the net line, mm²: what rounding leaves.
const OUTSIDE: f64 = 0.01;

/// Which notches of which pieces are being looked for, to see a circle.
type Looking = HashSet<(usize, usize)>;

fn place(p: Point) -> space::Point<Piece> {
    space::Point::new(p.x, p.y)
}

/// `left`: how many points the piece may have yet.
fn polyline(curve: &Curve, by: Affine, left: &mut usize) -> Outcome<Polyline> {
    let Some(moved) = curve.moved(by) else {
        return Ok(Vec::new());
    };
    let rest = left.checked_sub(moved.flat_points()).ok_or_else(|| {
        Fault::input(
            format!("the piece's lines have more than {MOST_DRAWN} points"),
            "draw it smaller, or with fewer lines",
        )
    })?;
    *left = rest;
    Ok(moved.flat().into_iter().map(place).collect())
}

/// A line that is cut out of the piece, clockwise; `net` is what it is cut out of.
fn cutout(line: &[space::Point<Piece>], name: &str, net: &[Line]) -> Outcome<Polyline> {
    // Its end is its first point again.
    let ring = line[..line.len().saturating_sub(1)].to_vec();
    if ring.len() < 3 || signed_area(&ring) == 0.0 {
        return Err(Fault::input(
            "the cutout holds no area",
            "give it three points or more that lie in no line",
        ));
    }
    if ring.len() > MOST_POINTS {
        return Err(Fault::input(
            format!("the cutout has more than {MOST_POINTS} points"),
            "draw it smaller, or with fewer curves",
        ));
    }
    let points: Vec<Point> = ring.iter().map(|p| Point::new(p.x, p.y)).collect();
    simple("cutout", &points, &vec![name; points.len()])?;
    let mut ring = counter_clockwise(ring);
    let whole = Region::new(net.iter().map(|l| l.points.clone()).collect());
    if difference(&Region::ring(ring.clone()), &whole).area() > OUTSIDE {
        return Err(Fault::input(
            "the cutout reaches beyond the net line",
            "move it inside",
        ));
    }
    ring.reverse();
    Ok(ring)
}

/// Draws the piece `p`, scaled by `scale(grain direction)`.
///
/// # Errors
/// If its net line is none, or something lies beyond its edge.
pub fn draw(
    eval: &mut Eval,
    p: usize,
    scale: impl Fn(Vec2) -> Affine,
) -> Outcome<(NetPiece, Sketch)> {
    let piece = &eval.draft.pieces[p];
    let outline = piece.at.within(outline(eval, p))?;
    let grain = match piece.grain {
        None => None,
        Some([a, b]) => {
            let (a, b) = (eval.point(a)?, eval.point(b)?);
            if (b - a).hypot() < SAME {
                return Err(piece
                    .at
                    .fault("its grain runs from a point to the same place", "move one"));
            }
            Some([a, b])
        }
    };
    let warp = grain.map_or(Vec2::new(0.0, 1.0), |[a, b]| (b - a).normalize());
    let by = scale(warp);

    let mut out = PatternPiece::named(&piece.name);
    let makes = net_line(eval, piece, &outline, by, &mut out)?;
    out.cut_count = piece.cut;
    out.pair = piece.pair;
    out.grain = grain.map(|ends| ends.map(|p| place(by * p)));
    out.label_at = match piece.label {
        Some(at) => Some(place(by * eval.point(at)?)),
        None => None,
    };
    let images = |once: bool| -> Vec<Affine> {
        let image = outline.mirror.filter(|_| !once);
        std::iter::once(by).chain(image.map(|m| by * m)).collect()
    };
    for drill in &piece.drills {
        let at = eval.point(*drill)?;
        for image in images(false) {
            let at = place(image * at);
            if out.drills.iter().all(|d| (*d - at).length() > SAME) {
                out.drills.push(at);
            }
        }
    }
    let mut sketch = Sketch::default();
    let mut left = MOST_DRAWN;
    for (k, line) in piece.lines.iter().enumerate() {
        let curve = eval.line(names::Path::Line(p, k))?;
        let mut drawn = |by| line.at.within(polyline(&curve, by, &mut left));
        sketch.lines.push((line.name.clone(), drawn(by)?));
        if line.cutout {
            if !curve.closed() {
                return Err(line.at.fault("a cutout must close", "draw its last part"));
            }
            for image in images(line.once) {
                let ring = cutout(&drawn(image)?, &line.name, &out.net);
                out.cutouts.push(line.at.within(ring)?);
            }
        } else if line.show {
            for image in images(line.once) {
                let mut points = drawn(image)?;
                let closed = curve.closed();
                if closed {
                    points.pop();
                }
                out.lines.push(Line { points, closed });
            }
        }
    }
    for k in 0..piece.points.len() {
        let at = eval.point((p, k))?;
        sketch
            .points
            .push((piece.points[k].name.clone(), place(by * at)));
    }
    for (k, decl) in piece.notches.iter().enumerate() {
        for image in images(decl.once) {
            let notch = decl.at.within(notch(eval, (p, k), &outline, decl, image))?;
            let same = |n: &Notch| (n.at - notch.at).length() <= SAME;
            if !out.notches.iter().any(same) {
                out.notches.push(notch);
            }
        }
    }
    for decl in &piece.darts {
        let legs = decl.at.within(dart(eval, &outline, decl))?;
        for image in images(decl.once) {
            out.darts
                .push(legs.iter().map(|p| place(image * *p)).collect());
        }
    }
    Ok((NetPiece { piece: out, makes }, sketch))
}

fn net_line(
    eval: &mut Eval,
    piece: &PieceDecl,
    outline: &Outline,
    by: Affine,
    out: &mut PatternPiece,
) -> Outcome<Vec<EdgeMake>> {
    let too_many = || {
        piece.at.fault(
            format!("its net line has more than {MOST_POINTS} points"),
            "draw it smaller, or with fewer curves",
        )
    };
    let (mut ring, mut of): (Vec<Point>, Vec<&str>) = (Vec::new(), Vec::new());
    let mut makes = Vec::new();
    for side in &outline.sides {
        let decl = &piece.edges[side.decl];
        let mut not_negative = |formula: &Option<_>, usual: &Option<_>, what: &str| {
            let Some(formula) = formula.as_ref().or(usual.as_ref()) else {
                return Ok(None);
            };
            let value = decl.at.within(eval.length(formula))?;
            if value < 0.0 {
                return Err(decl.at.fault(
                    format!("its {what} is less than nothing"),
                    "write 0mm or more",
                ));
            }
            Ok(Some(value))
        };
        let allowance = if decl.fold {
            Some(0.0)
        } else {
            not_negative(&decl.allowance, &piece.allowance, "allowance")?
        };
        makes.push(EdgeMake {
            corner: if side.image {
                Corner::Mitred
            } else {
                decl.corner
            },
            on_fold: decl.fold,
            stitched: not_negative(&decl.stitched, &piece.stitched, "stitching")?.unwrap_or(0.0),
        });
        let moved = side.curve.moved(by);
        let moved = moved.ok_or_else(super::eval::lost)?;
        if ring.len() + moved.flat_points() > MOST_POINTS + outline.sides.len() {
            return Err(too_many());
        }
        let mut flat = moved.flat();
        // The next edge's first point is this one's last.
        flat.pop();
        let Some(first) = flat.first() else {
            return Err(super::eval::lost());
        };
        out.edges.push(EdgeStart {
            at: place(*first),
            name: side.name.clone(),
            allowance,
        });
        of.extend(flat.iter().map(|_| side.name.as_str()));
        ring.extend(flat);
    }
    // An image ends where the drawn edge begins: there the next edge begins.
    let count = outline.sides.len();
    for (k, side) in outline.sides.iter().enumerate().filter(|(_, s)| s.image) {
        let decl = &piece.edges[side.decl];
        match decl.corner {
            Corner::Mitred => {}
            Corner::Squared => makes[(k + 1) % count].corner = Corner::Squared,
            Corner::Folded => {
                return Err(decl.at.fault(
                    "a folded corner has no mirror image: there it would be the other edge that is folded",
                    "draw this piece whole, or choose another corner",
                ));
            }
        }
    }
    if ring.len() > MOST_POINTS {
        return Err(too_many());
    }
    piece.at.within(simple("net line", &ring, &of))?;
    if ring.len() < 3 {
        return Err(piece.at.fault(
            "its net line holds no area",
            "draw more edges, or curved ones",
        ));
    }
    let points = ring.into_iter().map(place).collect();
    out.net.push(Line {
        points,
        closed: true,
    });
    Ok(makes)
}

/// How far along its edge as drawn a spot is, mm.
fn spot(eval: &mut Eval, curve: &Curve, spot: &Spot, looking: &mut Looking) -> Outcome<f64> {
    match spot {
        Spot::At { at, back } => eval.along(at, curve.length(), *back),
        Spot::Point(p) => eval.station(curve, *p),
        Spot::As {
            run,
            notch,
            reversed,
            shared,
        } => {
            if !looking.insert(*notch) {
                return Err(Fault::input(
                    "these notches are placed by one another",
                    "place one of them by its length",
                ));
            }
            if looking.len() > DEEPEST {
                return Err(Fault::input(
                    format!("more than {DEEPEST} notches are placed one by the other"),
                    "place some of them by their length",
                ));
            }
            let other = eval.line(*run)?;
            let theirs = &eval.draft.pieces[notch.0].notches[notch.1];
            let drawn = eval.line(names::Path::Edge(notch.0, theirs.edge))?;
            let at = theirs
                .at
                .within(self::spot(eval, &drawn, &theirs.spot, looking))?;
            // A whole edge is measured from its own start, wherever the drawn half begins.
            let (there, _) = drawn.at(at);
            let mut s = match run {
                names::Path::Whole(..) => other.nearest(there).0,
                _ => at,
            };
            let (own, whole) = (curve.length(), other.length());
            if *reversed {
                s = whole - s;
            }
            if *shared {
                s *= own / whole;
            } else if s > own + SAME {
                return Err(Fault::input(
                    format!(
                        "the notch falls at {} mm, {} mm beyond this edge",
                        short(s),
                        short(s - own)
                    ),
                    "make the edges equal, or walk = \"in proportion\"",
                ));
            }
            looking.remove(notch);
            Ok(s.clamp(0.0, own))
        }
    }
}

fn notch(
    eval: &mut Eval,
    own: (usize, usize),
    outline: &Outline,
    decl: &NotchDecl,
    by: Affine,
) -> Outcome<Notch> {
    let drawn = &outline.drawn[decl.edge];
    let mut looking = Looking::from([own]);
    let s = spot(eval, &drawn.curve, &decl.spot, &mut looking)?;
    let (at, inward) = drawn.at(s);
    let edge = &eval.draft.pieces[own.0].edges[decl.edge];
    if edge.fold {
        return Err(Fault::input(
            format!("\"{}\" lies on the fold and is not cut", edge.name),
            "put the notch on another edge, or mark the place by a drill point",
        ));
    }
    let allowance = edge.allowance.as_ref();
    let allowance = allowance.or(eval.draft.pieces[own.0].allowance.as_ref());
    let depth = match (&decl.depth, allowance) {
        (Some(depth), _) => eval.length(depth)?,
        (None, Some(allowance)) => eval.length(allowance)? / 2.0,
        (None, None) => USUAL_DEPTH,
    };
    // A normal goes with the inverse transpose; a mirror turns it over by itself.
    let m = by.inverse().as_coeffs();
    let inward = Vec2::new(
        m[0] * inward.x + m[1] * inward.y,
        m[2] * inward.x + m[3] * inward.y,
    );
    let inward = inward.normalize();
    if depth <= 0.0 || !inward.is_finite() {
        return Err(Fault::input(
            format!("the notch is {} mm deep", short(depth)),
            "give it a depth above 0, or the edge an allowance",
        ));
    }
    Ok(Notch {
        at: place(by * at),
        inward: space::Vector::new(inward.x, inward.y),
        depth,
        kind: decl.kind,
    })
}

/// Both legs: from one side of the mouth over the dart's point to the other.
fn dart(eval: &mut Eval, outline: &Outline, decl: &DartDecl) -> Outcome<[Point; 3]> {
    let drawn = &outline.drawn[decl.edge];
    let s = spot(eval, &drawn.curve, &decl.spot, &mut Looking::new())?;
    let width = eval.length(&decl.width)?;
    let whole = drawn.curve.length();
    let past = (width / 2.0 - s).max(s + width / 2.0 - whole);
    if width <= 0.0 || past > SAME {
        return Err(Fault::input(
            format!(
                "a mouth of {} mm does not fit on the edge there",
                short(width)
            ),
            "make it narrower (and wider than 0), or move it",
        ));
    }
    let (a, _) = drawn.at((s - width / 2.0).max(0.0));
    let (b, _) = drawn.at((s + width / 2.0).min(whole));
    let tip = match (&decl.depth, decl.tip) {
        (_, Some(tip)) => eval.point(tip)?,
        (Some(depth), None) => {
            let depth = eval.length(depth)?;
            if depth <= 0.0 {
                return Err(Fault::input(
                    "the dart has no depth",
                    "make it deeper than 0",
                ));
            }
            let across = super::curve::left((b - a).normalize());
            let inward = if drawn.inside_left { across } else { -across };
            a.midpoint(b) + inward * depth
        }
        (None, None) => return Err(super::eval::lost()),
    };
    Ok([a, tip, b])
}
