//! A piece's net line: its edges end to end, with the mirrored half, counter-clockwise.

use kurbo::{Affine, Point, Vec2};

use super::construct::chained;
use super::curve::{Curve, SAME, left};
use super::eval::{Eval, lost, mirror};
use super::make::MOST_POINTS;
use super::names::Path;
use crate::fault::{Fault, Outcome, short};

/// One edge as it lies in the net line.
pub struct Side {
    pub name: String,
    /// Which of the piece's edges it is, or is the image of.
    pub decl: usize,
    /// Whether it is a mirror image, and so begins where the drawn edge ends.
    pub image: bool,
    pub curve: Curve,
}

/// A drawn edge, with the piece on its left or (reversed) on its right.
pub struct Drawn {
    pub curve: Curve,
    pub inside_left: bool,
}

impl Drawn {
    /// The place at `s` mm along the edge as drawn, and the unit normal into the piece.
    pub fn at(&self, s: f64) -> (Point, Vec2) {
        let (p, u) = self.curve.at(s);
        (p, if self.inside_left { left(u) } else { -left(u) })
    }
}

pub struct Outline {
    /// Counter-clockwise.
    pub sides: Vec<Side>,
    /// As drawn, one for each edge of the piece.
    pub drawn: Vec<Drawn>,
    /// What mirrors the piece, if it is drawn half.
    pub mirror: Option<Affine>,
}

fn area(curves: &[&Curve]) -> f64 {
    let flat: Vec<Point> = curves.iter().flat_map(|c| c.flat()).collect();
    let ring = flat.iter().zip(flat.iter().cycle().skip(1));
    ring.map(|(a, b)| a.to_vec2().cross(b.to_vec2()))
        .sum::<f64>()
        / 2.0
}

/// The outline of the piece `p`.
///
/// # Errors
/// If its edges don't follow one another, or don't close.
pub fn outline(eval: &mut Eval, p: usize) -> Outcome<Outline> {
    let piece = &eval.draft.pieces[p];
    let mut lines = Vec::new();
    for k in 0..piece.edges.len() {
        lines.push((*eval.line(Path::Edge(p, k))?).clone());
    }
    if lines.iter().map(Curve::flat_points).sum::<usize>() > MOST_POINTS + lines.len() {
        return Err(piece.at.fault(
            format!("its edges have more than {MOST_POINTS} points"),
            "draw it smaller, or with fewer curves",
        ));
    }
    let drawn = lines.clone();
    let mut chain = chained(lines).map_err(|(k, gap)| {
        piece.edges[k].at.fault(
            format!(
                "it does not follow \"{}\": {} mm lie between them",
                piece.edges[k.saturating_sub(1)].name,
                short(gap)
            ),
            "list the edges in order, each from where the last one ends",
        )
    })?;
    let (start, end) = match (chain.first(), chain.last()) {
        (Some((a, _)), Some((b, _))) => (a.start(), b.end()),
        _ => return Err(lost()),
    };
    let axis = eval.axis(p)?;
    match axis {
        None if (end - start).hypot() > SAME => {
            return Err(piece.at.fault(
                format!(
                    "its net line does not close: from the end of \"{}\" to the beginning of \"{}\" are {} mm",
                    piece.edges[chain.len() - 1].name,
                    piece.edges[0].name,
                    short((end - start).hypot())
                ),
                "add the edge that is missing, or move a point",
            ));
        }
        None => {}
        Some((at, along)) => {
            for (point, edge) in [(start, 0), (end, chain.len() - 1)] {
                let off = along.cross(point - at).abs();
                if off > SAME {
                    return Err(piece.edges[edge].at.fault(
                        format!(
                            "it ends {} mm off the line about which the piece is mirrored",
                            short(off)
                        ),
                        "begin and end the drawn half on that line",
                    ));
                }
            }
        }
    }
    // The piece on the left of every edge; a half lies on one side of its axis, so that
    // its own ring, closed along the axis, tells.
    let turned = area(&chain.iter().map(|(c, _)| c).collect::<Vec<_>>()) < 0.0;
    let each = drawn.into_iter().zip(&chain);
    let drawn = each.map(|(curve, (_, flipped))| Drawn {
        curve,
        inside_left: turned == *flipped,
    });
    let drawn: Vec<Drawn> = drawn.collect();
    let mut order: Vec<usize> = (0..chain.len()).collect();
    if turned {
        chain.reverse();
        order.reverse();
        chain = chain.into_iter().map(|(c, f)| (c.reversed(), !f)).collect();
    }
    let sides = chain.into_iter().zip(order);
    let mut sides: Vec<Side> = sides
        .map(|((curve, _), decl)| Side {
            name: piece.edges[decl].name.clone(),
            decl,
            image: false,
            curve,
        })
        .collect();
    let affine = axis.map(|(at, along)| mirror(at, along));
    if let Some(affine) = affine {
        add_image(piece, &mut sides, affine)?;
    }
    Ok(Outline {
        sides,
        drawn,
        mirror: affine,
    })
}

fn add_image(piece: &super::decl::PieceDecl, sides: &mut Vec<Side>, by: Affine) -> Outcome<()> {
    let last = sides.len() - 1;
    let whole = |side: &Side| piece.edges[side.decl].whole;
    if let Some(side) = sides.iter().enumerate().find_map(|(k, s)| {
        let outer = k == 0 || k == last;
        (whole(s) && (!outer || last == 0)).then_some(s)
    }) {
        return Err(piece.edges[side.decl].at.fault(
            "only the first and the last of several edges can run on into the mirrored half",
            "leave \"whole\" out, or split the edge in two",
        ));
    }
    let mut images = Vec::new();
    for side in sides.iter().rev() {
        let curve = side.curve.moved(by).ok_or_else(lost)?.reversed();
        images.push(Side {
            name: piece.edges[side.decl].mirrored.clone(),
            decl: side.decl,
            image: true,
            curve,
        });
    }
    // The drawn half's last edge is followed by its own image; the image of the first is
    // followed by the first.
    if whole(&sides[last]) {
        let image = images.remove(0);
        sides[last].curve = sides[last].curve.clone().then(&image.curve);
    }
    if whole(&sides[0])
        && let Some(image) = images.pop()
    {
        sides[0].curve = image.curve.then(&sides[0].curve);
    }
    sides.extend(images);
    Ok(())
}

/// Refuses a ring, a `what`, that crosses or touches itself; `names` tells of each step of
/// the ring which edge it is of.
///
/// # Errors
/// With the edges that cross, and where.
pub fn simple(what: &str, ring: &[Point], names: &[&str]) -> Outcome<()> {
    let n = ring.len();
    let ends = |k: usize| (ring[k], ring[(k + 1) % n]);
    // Steps sorted by where they begin from the left: only those that overlap are compared.
    let mut order: Vec<(f64, f64, usize)> = (0..n)
        .map(|k| {
            let (a, b) = ends(k);
            (a.x.min(b.x), a.x.max(b.x), k)
        })
        .collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (i, &(_, right, k)) in order.iter().enumerate() {
        let (a, b) = ends(k);
        let (low, high) = (a.y.min(b.y), a.y.max(b.y));
        for &(from, _, m) in &order[i + 1..] {
            if from > right {
                break;
            }
            let (c, d) = ends(m);
            let next = (k + 1) % n == m || (m + 1) % n == k;
            if next || c.y.min(d.y) > high || c.y.max(d.y) < low {
                continue;
            }
            let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
            let (s, t) = (side(a, b, c), side(a, b, d));
            let (u, v) = (side(c, d, a), side(c, d, b));
            let crosses = (s > 0.0) != (t > 0.0) && (u > 0.0) != (v > 0.0);
            if crosses {
                let at = a + (b - a) * (u / (u - v));
                return Err(Fault::input(
                    format!(
                        "the {what} crosses itself at {}, {} mm: \"{}\" and \"{}\"",
                        short(at.x),
                        short(at.y),
                        names[k],
                        names[m]
                    ),
                    "move a point so that they stay apart",
                ));
            }
        }
    }
    Ok(())
}
