//! What a net piece must be before a cut line can be drawn round it.

use super::super::net::NetPiece;
use super::super::piece::Polyline;
use super::{MOST, is_left_handed};
use crate::fault::{Fault, Outcome, short};
use crate::shape::{Region, Sided, length, signed_area, union};
use crate::space::Piece;

/// Farthest from the middle of the drawing that a point may be, mm.
const FARTHEST: f64 = 1e6;

/// How far a fold may bow, and the piece reach over it, mm: as far as curves are read.
pub const STRAIGHT: f64 = 0.02;

/// The net line with the edges' numbers.
///
/// # Errors
///
/// When anything of what [`NetPiece`] promises is not so.
pub fn checked(net: &NetPiece) -> Outcome<Sided<Piece>> {
    let piece = &net.piece;
    let ring = match piece.net.first() {
        Some(line) if line.closed && line.points.len() > 2 => &line.points,
        _ => {
            return Err(Fault::input(
                "the piece has no closed net line",
                "close the line where it is sewn",
            ));
        }
    };
    sound(ring)?;
    if piece.edges.is_empty() || piece.edges.len() != net.makes.len() {
        return Err(Fault::input(
            "the piece's edges are not told",
            "name its edges, with an allowance for each",
        ));
    }
    let mut starts = Vec::new();
    for (k, edge) in piece.edges.iter().enumerate() {
        let named = |fault: Fault| fault.at(format!("edge \"{}\"", edge.name));
        let at = ring.iter().position(|&p| p == edge.at);
        let at = at.ok_or_else(|| {
            named(Fault::input(
                "the edge does not begin on the net line",
                "begin it at one of the net line's corners",
            ))
        })?;
        let twice = piece.edges[..k]
            .iter()
            .any(|e| e.name == edge.name || e.at == edge.at);
        if twice {
            return Err(named(Fault::input(
                "two edges have this name or begin here",
                "give each a name and a corner of its own",
            )));
        }
        match edge.allowance {
            _ if net.makes[k].on_fold => {}
            Some(mm) => allowance(&edge.name, mm)?,
            None => {
                return Err(named(Fault::input(
                    "the edge has no allowance",
                    "give it one; 0 if it is cut on its net line",
                )));
            }
        }
        let stitched = net.makes[k].stitched;
        if !(0.0..=MOST).contains(&stitched) {
            return Err(named(Fault::input(
                format!(
                    "stitching {} mm into the allowance is not possible",
                    short(stitched)
                ),
                "give a length from 0 mm to the allowance",
            )));
        }
        starts.push((at, k));
    }
    starts.sort_unstable();
    let mut side = vec![starts[starts.len() - 1].1; ring.len()];
    for (k, &(from, edge)) in starts.iter().enumerate() {
        let to = starts.get(k + 1).map_or(ring.len(), |s| s.0);
        side[from..to].fill(edge);
    }
    let sided = Sided {
        ring: ring.clone(),
        side,
    };
    for (edge, line) in sided.runs() {
        if net.makes[edge].on_fold {
            fold(&line, ring).map_err(|f| f.at(format!("edge \"{}\"", piece.edges[edge].name)))?;
        }
    }
    Ok(sided)
}

/// # Errors
///
/// When an allowance is out of range, or not a number.
pub fn allowance(edge: &str, mm: f64) -> Outcome<()> {
    if (0.0..=MOST).contains(&mm) {
        return Ok(());
    }
    Err(Fault::input(
        format!("an allowance of {} mm is not possible", short(mm)),
        format!("give one from 0 to {MOST} mm"),
    )
    .at(format!("edge \"{edge}\"")))
}

/// # Errors
///
/// When a closed line is no outline: not finite, clockwise, or crossing itself.
fn sound(ring: &Polyline) -> Outcome<()> {
    let far = |v: f64| !v.is_finite() || v.abs() > FARTHEST;
    if ring.iter().any(|p| far(p.x) || far(p.y)) {
        return Err(Fault::input(
            "the net line goes out of all bounds",
            "check the units and the scale of the drawing",
        ));
    }
    let equal = ring
        .iter()
        .zip(ring.iter().cycle().skip(1))
        .any(|(a, b)| a == b);
    if equal || !is_left_handed(ring) {
        return Err(Fault::input(
            "the net line does not run counter-clockwise from point to point",
            "draw it anew",
        ));
    }
    // What it winds round twice or the wrong way has another area, united.
    let whole = Region::ring(ring.clone());
    let off = (union([&whole]).area() - signed_area(ring)).abs();
    if off > 1e-5 * length(ring) {
        return Err(Fault::input(
            "the net line crosses itself",
            "redraw it without the loop",
        ));
    }
    Ok(())
}

/// # Errors
///
/// When a fold is not straight, or the piece not all on its left.
pub fn fold(line: &Polyline, ring: &Polyline) -> Outcome<()> {
    let (Some(&from), Some(&to)) = (line.first(), line.last()) else {
        return Ok(());
    };
    let way = (to - from).try_normalize();
    let bowed = way.is_none_or(|way| {
        let off = |p: &crate::space::Point<Piece>| way.cross(*p - from).abs() > STRAIGHT;
        line.iter().any(off)
    });
    if bowed {
        return Err(Fault::input(
            "the edge on the fold is not straight",
            "draw it as one straight line",
        ));
    }
    let over = way.is_some_and(|way| ring.iter().any(|p| way.cross(*p - from) < -STRAIGHT));
    if over {
        return Err(Fault::input(
            "the piece reaches over its fold",
            "keep all of it on one side of the fold",
        ));
    }
    Ok(())
}
