//! The card as a piece, and what is to be said of it.

use super::super::drawn::simplify::simplify;
use super::agree::Look;
use super::edge::Seen;
use super::ground::Found;
use super::hole::{self, Within};
use super::notes::{self, Cut};
use super::plane::Plane;
use super::redraw::View;
use super::sheet::Sheet;
use super::wall::Outlines;
use super::{Card, CardPhoto};
use crate::fault::{Fault, Outcome};
use crate::pattern::{Pattern, PatternPiece, Polyline};
use crate::photo::{Camera, Picture};
use crate::shape::{
    Region, bounds, centroid, connected, difference, offset, perimeter, signed_area, union,
};
use crate::space::{Piece, Point, Table, Vector};

/// mm: how far the outline may be from what was seen for having fewer points.
const SIMPLIFYING: f64 = 0.05;
/// Most points of a piece's outlines.
const MOST: usize = 20_000;
/// Holes this large are cut out, mm across.
const CUTOUT: f64 = 8.0;
/// What is smaller than this, mm across, is a speck.
const SPECK: f64 = 1.2;
/// A drill point is about round: 4πA/P² of a circle is 1, of a square 0.79.
const ROUND: f64 = 0.8;
/// A smaller hole, mm across, is taken for print or a mark.
const DRILL: f64 = 2.0;
/// What is cut out is at least so wide, mm; print has finer strokes.
const STROKE: f64 = 2.0;
/// Where light doesn't tell a hole from print, what is cut out is at least so wide, mm, and
/// encloses this share of its convex hull; and a drill point is rounder.
const PLAIN: f64 = 4.0;
const SOLID: f64 = 0.93;
const ROUNDER: f64 = 0.93;
/// px: what lens and drawing leave of a place on the edge, measured on photos that
/// card_seeds.py makes.
const LENS: f64 = 0.2;
/// A cut's inner end is hidden if height moves the rim by so much of the cut's width, and the
/// card's side there has this much of the light of its top, for then nothing tells the two
/// apart. Measured on photos that card_seeds.py makes.
const HIDES: f64 = 0.45;
const LIGHT: f64 = 0.4;
/// mm about a cut's inner end that is looked at, and the card's side that is wide enough to
/// have a light of its own.
const NEAR: f64 = 1.0;
const SEEN: f64 = 0.3;
/// Cuts in the edge no wider than this, mm, are told as notches'.
const WIDE: f64 = 7.0;
/// mm; a shallower dent is the edge's own.
const DEEP: f64 = 1.5;

/// # Errors
/// If the outline is no outline, or has too many points.
#[expect(clippy::too_many_arguments, reason = "what each step of reading found")]
pub fn card(
    picture: &Picture,
    plane: &Plane,
    sheet: &Sheet,
    found: &Found,
    seen: &Seen,
    outlines: &Outlines,
    looks: &[Look],
    camera: Option<Camera>,
    how: &CardPhoto,
) -> Outcome<Card> {
    let no_outline = || {
        Fault::input(
            "the card's edge does not make an outline",
            "lay the card flat on a plain table that differs more from it, in even light",
        )
    };
    let about = bounds(outlines.rings[0].iter().copied()).ok_or_else(no_outline)?;
    let middle = about.center();
    let to_piece = |ring: &Vec<Point<Table>>| -> Polyline {
        ring.iter()
            .map(|&p| (p - middle).to_point().cast_unit())
            .collect()
    };
    // Where rim and foot of the edge change over, places may step back by a hair.
    let rings = outlines.rings.iter().map(to_piece).collect();
    let mut whole = connected(&union([&Region::new(rings)]));
    whole.sort_by(|a, b| b.area().total_cmp(&a.area()));
    let region = whole.into_iter().next().ok_or_else(no_outline)?;
    let mut piece = PatternPiece::named(how.name.clone());
    let mut left_out = Vec::new();
    let islands: Polyline = to_piece(&seen.islands);
    let above = camera.filter(|_| how.thickness > 0.0);
    let view = View {
        plane,
        camera: above.map(|c| (c, how.thickness)),
    };
    let mut printed = Vec::new();
    for ring in &region.rings {
        if signed_area(ring) > 0.0 {
            piece.cut.push(simplify(ring, true, SIMPLIFYING));
            continue;
        }
        let across = across(ring);
        let on_table: Vec<Point<Table>> = ring
            .iter()
            .map(|p| p.cast_unit() + middle.to_vector())
            .collect();
        let within = hole::within(&on_table, picture, found, view);
        // Letters have eyes; so has a hole over cloth of which some is as light as the card.
        let is_eyed = |p: &Point<Piece>| Region::ring(turned(ring)).contains(*p);
        let eyed = islands.iter().any(is_eyed);
        let solid = hole::solidity(ring) >= SOLID;
        let sure = within == Within::Ground && !eyed;
        let fair = within != Within::Ink && solid && (!eyed || within == Within::Ground);
        let round = roundness(ring);
        if across >= CUTOUT && (sure && is_wide(ring, STROKE) || fair && is_wide(ring, PLAIN)) {
            piece.cutouts.push(simplify(ring, true, SIMPLIFYING));
        } else if (DRILL..CUTOUT).contains(&across)
            && (sure && round >= ROUND || fair && round >= ROUNDER)
        {
            piece.drills.push(middle_of(ring));
        } else if across >= SPECK && (within == Within::Ink || eyed) {
            printed.push((middle_of(ring), across));
        } else if across >= SPECK {
            left_out.push(notes::mark(middle_of(ring), across));
        }
    }
    left_out.extend(notes::printed(&printed));
    let count: usize = piece.cut.iter().chain(&piece.cutouts).map(Vec::len).sum();
    if piece.cut.len() != 1 || count > MOST {
        return Err(no_outline());
    }
    let mut cuts = cuts(&Region::ring(piece.cut[0].clone()));
    if let Some(camera) = above {
        let aside =
            |p: Point<Table>| ((p - camera.foot) * (how.thickness / camera.height)).length();
        for cut in &mut cuts {
            cut.hidden = hidden(cut, middle, aside, plane, looks);
        }
    }
    let plane_error2 = plane_error2(picture, plane, outlines);
    let edge_error = edge_error(found, seen);
    let standard_error = (plane_error2 + edge_error * edge_error + outlines.height_error2).sqrt();
    let about = notes::About {
        sheet,
        plane,
        found,
        seen,
        outlines,
        looks,
        camera,
        piece: &piece,
        cuts: &cuts,
        standard_error,
        thickness: how.thickness,
    };
    let notes = notes::notes(&about);
    let (doubtful, doubtful_at) = notes::doubtful(&about);
    let height = camera.filter(|c| how.thickness > 0.0 || c.height_error < 0.1 * c.height);
    Ok(Card {
        pattern: Pattern {
            pieces: vec![piece],
            left_out,
            notes: notes.clone(),
        },
        standard_error,
        doubtful,
        doubtful_at,
        camera_height: height.map(|c| c.height),
        notes,
    })
}

fn turned(ring: &Polyline) -> Polyline {
    ring.iter().rev().copied().collect()
}

/// Whether a disc so wide, mm, goes into a hole.
fn is_wide(ring: &Polyline, width: f64) -> bool {
    !offset(&Region::ring(turned(ring)), -width / 2.0).is_empty()
}

/// Greatest side of the box, mm.
fn across(ring: &Polyline) -> f64 {
    bounds(ring.iter().copied()).map_or(0.0, |b| b.width().max(b.height()))
}

fn roundness(ring: &Polyline) -> f64 {
    let round = perimeter(ring);
    2.0 * std::f64::consts::TAU * signed_area(ring).abs() / (round * round)
}

fn middle_of(ring: &Polyline) -> Point<Piece> {
    centroid(std::slice::from_ref(ring), ring[0]).unwrap_or(ring[0])
}

/// Narrow cuts into the edge: what a disc as wide as [`WIDE`] can't get into from outside.
fn cuts(card: &Region<Piece>) -> Vec<Cut> {
    let closed = offset(&offset(card, WIDE / 2.0), -WIDE / 2.0);
    // A hair's breadth along the whole edge is only rounding.
    let filled = difference(&closed, &offset(card, 0.05));
    let cut = |region: Region<Piece>| {
        let ring = region.rings.first()?;
        let edge = closed.rings.first()?;
        let line: Polyline = edge.iter().chain(edge.first()).copied().collect();
        let depth = |p: &Point<Piece>| crate::shape::nearest(&line, *p).map_or(0.0, |(_, d)| d);
        let deepest = ring.iter().max_by(|a, b| depth(a).total_cmp(&depth(b)))?;
        let depth = depth(deepest);
        // What a triangle or a slot of this area and depth has between: told roughly.
        (depth >= DEEP).then(|| Cut {
            at: *deepest,
            depth,
            width: region.area() / depth,
            hidden: 0.0,
        })
    };
    connected(&filled).into_iter().filter_map(cut).collect()
}

/// How much of a cut's inner end the card's side may hide, mm: where height moves the rim by
/// a good part of the cut's width, and the side that is seen there is light.
fn hidden(
    cut: &Cut,
    middle: Point<Table>,
    aside: impl Fn(Point<Table>) -> f64,
    plane: &Plane,
    looks: &[Look],
) -> f64 {
    let at: Point<Table> = cut.at.cast_unit() + middle.to_vector();
    let aside = aside(at);
    let reach = 0.5 * cut.depth.min(cut.width) + NEAR;
    let is_near = |l: &&Look| {
        plane
            .table(l.photo)
            .is_some_and(|p| (p - at).length() < reach)
    };
    let near = looks.iter().filter(is_near).filter(|l| l.breadth > SEEN);
    let lightest = near.map(|l| l.side).fold(f64::NEG_INFINITY, f64::max);
    if aside > HIDES * cut.width && lightest > LIGHT {
        aside
    } else {
        0.0
    }
}

/// Mean square of what the corners' and the lens' errors make of the outline, mm², once it
/// is laid on itself: a card moved as a whole is the same card.
fn plane_error2(picture: &Picture, plane: &Plane, outlines: &Outlines) -> f64 {
    let ring = &outlines.rings[0];
    let step = ring.len().div_ceil(100);
    let places: Vec<Point<Table>> = ring.iter().step_by(step).copied().collect();
    let photo: Vec<_> = places.iter().map(|&p| plane.photo(p)).collect();
    // Each column: the places' moves for one unknown.
    let column = |k: usize| -> Option<Vec<Vector<Table>>> {
        let by = if k == 8 { 1e-4 } else { 0.1 };
        let moved = plane.moved(picture, k, by)?;
        let moves = photo
            .iter()
            .zip(&places)
            .map(|(q, &p)| Some((moved.table((*q)?)? - p) / by));
        let moves: Vec<Vector<Table>> = moves.collect::<Option<_>>()?;
        Some(without_motion(&places, moves))
    };
    let columns: Vec<Option<Vec<Vector<Table>>>> = (0..9).map(column).collect();
    let mut sum = 0.0;
    for (r, a) in columns.iter().enumerate() {
        for (c, b) in columns.iter().enumerate() {
            let (Some(a), Some(b)) = (a, b) else { continue };
            let product: f64 = a.iter().zip(b).map(|(a, b)| a.dot(*b)).sum();
            sum += product * plane.covariance[r][c];
        }
    }
    // Of the two directions only the one across the edge shows.
    (sum / places.len() as f64 / 2.0).max(0.0)
}

/// Moves less the shift and the turn in them.
fn without_motion(places: &[Point<Table>], moves: Vec<Vector<Table>>) -> Vec<Vector<Table>> {
    let n = places.len() as f64;
    let mean =
        |v: &mut dyn Iterator<Item = Vector<Table>>| v.fold(Vector::zero(), |s, v| s + v / n);
    let middle = mean(&mut places.iter().map(|p| p.to_vector()));
    let shift = mean(&mut moves.iter().copied());
    let arm = |p: &Point<Table>| p.to_vector() - middle;
    let turned: f64 = places
        .iter()
        .zip(&moves)
        .map(|(p, m)| arm(p).cross(*m - shift))
        .sum();
    let weight: f64 = places.iter().map(|p| arm(p).square_length()).sum();
    let turn = turned / weight.max(f64::MIN_POSITIVE);
    let rest = |(p, m): (&Point<Table>, Vector<Table>)| {
        let arm = arm(p);
        m - shift - Vector::new(-arm.y, arm.x) * turn
    };
    places.iter().zip(moves).map(rest).collect()
}

/// Standard deviation of a place of the edge as seen, mm: uneven light of card and ground
/// over the slope of the fall.
fn edge_error(found: &Found, seen: &Seen) -> f64 {
    let uneven = found.uneven[0].hypot(found.uneven[1]) / 2.0;
    let uneven = uneven * seen.blur * std::f64::consts::TAU.sqrt();
    uneven.hypot(LENS) / seen.fineness
}
