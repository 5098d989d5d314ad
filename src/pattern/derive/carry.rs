//! What is marked on a piece, carried onto a part of it.

use super::super::allowance::place;
use super::super::piece::{Line, Notch, PatternPiece, Polyline};
use crate::shape::{
    Offset, Region, Sided, chords, difference, intersection, length, nearest, ray, signed_area,
    within,
};
use crate::space::{Piece, Point, Vector};

/// Farthest that a notch goes in with its edge, mm: what can be carved, and turn of cloth.
const NOTCH_REACH: f64 = 60.0;

/// How far off its edge's own stretch a notch may land, mm.
const OWN_EDGE: f64 = 1.0;

/// Carries cutouts, notches, grain, lines, darts, drills and the label's place of `piece`
/// onto `part`, whose outline is `outline`; `net` is the piece's. What is left out is noted.
pub fn onto(
    part: &mut PatternPiece,
    piece: &PatternPiece,
    outline: &Offset<Piece>,
    net: &Sided<Piece>,
    notes: &mut Vec<String>,
) {
    let rings = outline.outer.iter().chain(&outline.holes);
    let mut region = Region::new(rings.map(|s| s.ring.clone()).collect());
    part.cutouts = outline.holes.iter().map(|s| s.ring.clone()).collect();
    for cutout in &piece.cutouts {
        region = cut_out(part, &region, cutout, notes);
    }
    part.notches = Vec::new();
    for (k, notch) in piece.notches.iter().enumerate() {
        match carried(notch, outline, net) {
            Some(notch) => part.notches.push(notch),
            None => notes.push(format!(
                "notch {} of the piece has no place on the part's edge.",
                k + 1
            )),
        }
    }
    part.drills = Vec::new();
    for &at in &piece.drills {
        if region.contains(at) {
            part.drills.push(at);
        } else {
            notes.push(format!(
                "the drill point at {} lies off the part.",
                place(&[at])
            ));
        }
    }
    part.label_at = piece.label_at.filter(|&p| region.contains(p));
    part.grain = piece
        .grain
        .and_then(|grain| grain_on(grain, &region, notes));
    let kept = |line: &Polyline| {
        let parts = within(line, &region);
        let whole = length(line) - 1e-3;
        let left: f64 = parts.iter().map(|p| length(p)).sum();
        (parts, left < whole)
    };
    part.lines = Vec::new();
    for line in &piece.lines {
        let mut points = line.points.clone();
        points.extend(line.points.first().copied().filter(|_| line.closed));
        let (parts, shorter) = kept(&points);
        if !shorter {
            part.lines.push(line.clone());
            continue;
        }
        notes.push(off(&parts, "line", &points));
        let closed = false;
        part.lines
            .extend(parts.into_iter().map(|points| Line { points, closed }));
    }
    part.darts = Vec::new();
    for dart in &piece.darts {
        let (parts, shorter) = kept(dart);
        if shorter {
            notes.push(off(&parts, "dart", dart));
        }
        part.darts.extend(parts);
    }
}

fn off(left: &[Polyline], what: &str, line: &Polyline) -> String {
    let at = place(line);
    match left {
        [] => format!("the {what} at {at} lies off the part."),
        _ => format!("the {what} at {at} lies only partly on the part."),
    }
}

/// The region without a cutout, which is kept if it lies within, and cut into the
/// outline if it reaches over its edge.
fn cut_out(
    part: &mut PatternPiece,
    region: &Region<Piece>,
    cutout: &Polyline,
    notes: &mut Vec<String>,
) -> Region<Piece> {
    let mut hole = cutout.clone();
    hole.reverse();
    let size = Region::ring(hole.clone()).area();
    let hole = Region::ring(hole);
    let inside = intersection(region, &hole).area();
    let left = difference(region, &hole);
    if inside < 1e-3 {
        notes.push(format!(
            "the cutout at {} lies off the part.",
            place(cutout)
        ));
        return region.clone();
    }
    if inside > size - 1e-3 {
        part.cutouts.push(cutout.clone());
        return left;
    }
    notes.push(format!(
        "the cutout at {} reaches over the part's edge and is cut into it.",
        place(cutout)
    ));
    // The edges' corners are to be found on the outline still; those that are not begin
    // nowhere any more.
    let (outer, holes): (Vec<_>, Vec<_>) = left
        .rings
        .iter()
        .cloned()
        .partition(|r| signed_area(r) > 0.0);
    let on = |p: &mut Point<Piece>| {
        let all = outer.iter().flatten();
        let near = all.min_by(|a, b| (**a - *p).length().total_cmp(&(**b - *p).length()));
        let near = near.copied().filter(|q| (*q - *p).length() < 1e-4);
        near.is_some_and(|q| {
            *p = q;
            true
        })
    };
    part.edges.retain_mut(|e| on(&mut e.at));
    part.folds.retain_mut(|f| f.iter_mut().all(on));
    part.cut = outer;
    part.cutouts = holes;
    left
}

/// The notch, straight in on the part's outline, if that is its own edge there.
fn carried(notch: &Notch, outline: &Offset<Piece>, net: &Sided<Piece>) -> Option<Notch> {
    // Which edge of the net line it belongs to: straight in from the cut line.
    let (_, on_net) = ray([&net.ring], notch.at, notch.inward)?;
    let sides: Vec<usize> = near_sides(net, on_net);
    let rings = outline.outer.iter().map(|s| &s.ring);
    // Larger for a turn of cloth, the part may reach beyond the notch.
    let region = Region::new(outline.outer.iter().map(|s| s.ring.clone()).collect());
    let way = if region.contains(notch.at) {
        -notch.inward
    } else {
        notch.inward
    };
    let (far, at) = ray(rings, notch.at, way)?;
    let own = outline
        .outer
        .iter()
        .flat_map(Sided::runs)
        .any(|(side, line)| {
            let off = nearest(&line, at).map_or(f64::INFINITY, |(_, d)| d);
            sides.contains(&side) && off < OWN_EDGE
        });
    (own && far <= NOTCH_REACH).then_some(Notch { at, ..*notch })
}

/// The sides that come as near to a place as the nearest, within a hundredth.
fn near_sides(net: &Sided<Piece>, at: Point<Piece>) -> Vec<usize> {
    let runs = net.runs();
    let off: Vec<f64> = runs
        .iter()
        .map(|(_, line)| nearest(line, at).map_or(f64::INFINITY, |(_, d)| d))
        .collect();
    let least = off.iter().copied().fold(f64::INFINITY, f64::min);
    let near = runs.iter().zip(&off).filter(|(_, d)| **d <= least + 0.01);
    near.map(|((side, _), _)| *side).collect()
}

/// The grain where it lies on the part: shortened, else moved.
fn grain_on(
    grain: [Point<Piece>; 2],
    region: &Region<Piece>,
    notes: &mut Vec<String>,
) -> Option<[Point<Piece>; 2]> {
    let [tail, head] = grain;
    let parts = within(&grain, region);
    let long = |l: &Polyline| length(l);
    let best = parts.into_iter().max_by(|a, b| long(a).total_cmp(&long(b)));
    let ends = best.as_ref().and_then(|l| l.first().zip(l.last()));
    let enough = |(from, to): &(&Point<Piece>, &Point<Piece>)| {
        (**to - **from).length() > (head - tail).length() / 4.0
    };
    if let Some((&from, &to)) = ends.filter(enough) {
        return Some([from, to]);
    }
    let way: Vector<Piece> = (head - tail).try_normalize()?;
    notes.push("the grain line lies off the part and is moved onto it.".to_owned());
    let across = Vector::new(-way.y, way.x);
    let reach = |p: &Point<Piece>| (*p - tail).dot(across);
    let each = region.rings.iter().flatten().map(reach);
    let (low, high) = each.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
        (l.min(v), h.max(v))
    });
    // Where the part is longest along the grain, of a few places.
    let lines = (1..16).flat_map(|k| {
        let at = tail + across * (low + (high - low) * f64::from(k) / 16.0);
        chords(region, at, way)
    });
    let longest = lines.max_by(|a, b| a.length().total_cmp(&b.length()))?;
    let (from, to) = (longest.from(), longest.to());
    Some([from.lerp(to, 0.2), from.lerp(to, 0.8)])
}
