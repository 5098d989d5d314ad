//! A piece that is drawn as half and cut on the fold, opened out: for cloth that is not
//! folded.

use super::allowance::centred;
use super::edges::walked;
use super::piece::{EdgeStart, Line, Notch, PatternPiece, Polyline};
use crate::fault::{Fault, Outcome};
use crate::shape::pairs;
use crate::space::{Piece, Point, Vector};

/// How far from the fold's line a point may lie and still be on it, mm: as far as curves
/// are read.
const ON: f64 = 0.02;

/// The line of a fold.
struct Fold {
    at: Point<Piece>,
    /// Unit vector along it.
    way: Vector<Piece>,
}

impl Fold {
    fn off(&self, p: Point<Piece>) -> f64 {
        self.way.cross(p - self.at)
    }

    fn is_on(&self, p: Point<Piece>) -> bool {
        self.off(p).abs() <= ON
    }

    fn mirrored(&self, p: Point<Piece>) -> Point<Piece> {
        p - self.normal() * (2.0 * self.off(p))
    }

    fn normal(&self) -> Vector<Piece> {
        Vector::new(-self.way.y, self.way.x)
    }

    fn turned(&self, v: Vector<Piece>) -> Vector<Piece> {
        v - self.normal() * (2.0 * v.dot(self.normal()))
    }
}

/// The piece opened out about its fold: itself and its mirror image, one outline. The fold
/// becomes an internal line. Edges that the pattern names have a partner called `… (mirrored)`;
/// the edge on the fold is gone. A notch on the fold, away from its ends, becomes a drill point.
/// The grain, the label's place and the counts stay. The origin is the middle of the whole.
///
/// # Errors
///
/// When the piece has no fold, or more than one, the fold is not straight, is not a part of
/// the cut line, the piece reaches over it, or one of its outlines leaves it more than once (an
/// opening in the middle of the fold).
pub fn unfold(piece: &PatternPiece) -> Outcome<PatternPiece> {
    let at = |what: &str, remedy: &str| {
        Fault::input(what, remedy).at(format!("piece \"{}\"", piece.name))
    };
    let line = match piece.folds.as_slice() {
        [line] => line,
        [] => return Err(at("the piece is not cut on a fold", "cut it as it is")),
        _ => {
            return Err(at(
                "the piece lies on several folds",
                "open it out in the drawing but for one of them",
            ));
        }
    };
    let ends = line.first().zip(line.last());
    let along = ends.and_then(|(&a, &b)| Some((a, (b - a).try_normalize()?)));
    let Some((from, way)) = along else {
        return Err(at(
            "the fold has no length",
            "draw it along the edge on the fold",
        ));
    };
    let fold = Fold { at: from, way };
    if line.iter().any(|&p| !fold.is_on(p)) {
        return Err(at(
            "the fold is not straight",
            "draw it as one straight line",
        ));
    }
    let cut = piece.cut.iter().flatten();
    let (low, high) = cut.fold((0.0_f64, 0.0_f64), |(low, high), &p| {
        let off = fold.off(p);
        (low.min(off), high.max(off))
    });
    if low < -ON && high > ON {
        return Err(at(
            "the piece reaches over its fold",
            "keep all of it on one side of the fold",
        ));
    }
    let mut out = piece.clone();
    out.folds.clear();
    out.cut.clear();
    let mut opened_any = false;
    for ring in &piece.cut {
        match opened(ring, &fold).map_err(|f| at(&f.what, &f.remedy))? {
            Some(whole) => {
                opened_any = true;
                out.cut.push(whole);
            }
            None => out.cut.extend([ring.clone(), image(ring, &fold)]),
        }
    }
    if !opened_any {
        return Err(at(
            "the fold is not a part of the cut line",
            "draw it along the edge on the fold",
        ));
    }
    let both = |lines: &[Polyline], turn: bool| -> Vec<Polyline> {
        let mirrored = |l: &Polyline| {
            let mut m: Polyline = l.iter().map(|&p| fold.mirrored(p)).collect();
            if turn {
                m.reverse();
            }
            m
        };
        lines
            .iter()
            .flat_map(|l| [l.clone(), mirrored(l)])
            .collect()
    };
    out.cutouts = both(&piece.cutouts, true);
    out.darts = both(&piece.darts, false);
    let opened_lines = |all: &[Line]| lines(all, &fold).map_err(|f| at(&f.what, &f.remedy));
    out.net = opened_lines(&piece.net)?;
    out.lines = opened_lines(&piece.lines)?;
    out.lines.push(Line {
        points: vec![from, line[line.len() - 1]],
        closed: false,
    });
    notches(&mut out, piece, &fold, line);
    let drills = piece.drills.iter().filter(|&&p| !fold.is_on(p));
    let mirrored: Vec<_> = drills.map(|&p| fold.mirrored(p)).collect();
    out.drills.extend(mirrored);
    out.edges = edges(piece, &out, &fold);
    centred(&mut out);
    Ok(out)
}

fn image(ring: &Polyline, fold: &Fold) -> Polyline {
    ring.iter().rev().map(|&p| fold.mirrored(p)).collect()
}

/// A ring that runs along the fold, and its mirror image, as one: without the run. None
/// if it does not.
///
/// # Errors
///
/// When it leaves the fold more than once.
fn opened(ring: &Polyline, fold: &Fold) -> Outcome<Option<Polyline>> {
    let n = ring.len();
    let on: Vec<bool> = pairs(ring)
        .map(|(a, b)| fold.is_on(a) && fold.is_on(b))
        .collect();
    // Where the run along the fold ends, and how many edges are off it.
    let mut starts = (0..n).filter(|&k| !on[k] && on[(k + n - 1) % n]);
    let Some(start) = starts.next() else {
        return Ok(None);
    };
    if starts.next().is_some() {
        return Err(Fault::input(
            "an outline leaves the fold and comes back to it more than once, as round an opening on the fold",
            "draw the piece whole, or end the opening short of the fold",
        ));
    }
    let free = (0..n).take_while(|k| !on[(start + k) % n]).count();
    let half: Polyline = (0..=free).map(|k| ring[(start + k) % n]).collect();
    let inner = half.iter().rev().skip(1).take(free - 1);
    let mut whole = half.clone();
    whole.extend(inner.map(|&p| fold.mirrored(p)));
    Ok(Some(whole))
}

/// Lines and their mirror images; those that end on the fold run on over it.
///
/// # Errors
///
/// When a closed one leaves the fold more than once.
fn lines(all: &[Line], fold: &Fold) -> Outcome<Vec<Line>> {
    let mut out = Vec::new();
    for line in all {
        let mut points = line.points.clone();
        if line.closed {
            let whole = opened(&points, fold)?;
            let one = whole.is_some();
            let closed = true;
            let rest = (!one).then(|| image(&points, fold));
            out.push(Line {
                points: whole.unwrap_or_else(|| points.clone()),
                closed,
            });
            out.extend(rest.map(|points| Line { points, closed }));
            continue;
        }
        let on = |p: Option<&Point<Piece>>| p.is_some_and(|&p| fold.is_on(p));
        if points.iter().all(|&p| fold.is_on(p)) {
            out.push(line.clone());
            continue;
        }
        if on(points.first()) && !on(points.last()) {
            points.reverse();
        }
        let mut back: Polyline = points.iter().rev().map(|&p| fold.mirrored(p)).collect();
        if !on(points.last()) {
            let closed = false;
            out.extend([line.points.clone(), back].map(|points| Line { points, closed }));
            continue;
        }
        back.remove(0);
        let closed = on(points.first());
        if closed {
            back.pop();
        }
        points.extend(back);
        out.push(Line { points, closed });
    }
    Ok(out)
}

/// Notches on both halves; on the fold itself there is no edge any more.
fn notches(out: &mut PatternPiece, piece: &PatternPiece, fold: &Fold, line: &Polyline) {
    out.notches.clear();
    for notch in &piece.notches {
        let ends = [line.first(), line.last()].into_iter().flatten();
        let at_end = ends
            .map(|&p| (p - notch.at).length())
            .fold(f64::INFINITY, f64::min)
            <= ON;
        if !fold.is_on(notch.at) {
            let mirrored = Notch {
                at: fold.mirrored(notch.at),
                inward: fold.turned(notch.inward),
                ..*notch
            };
            out.notches.extend([*notch, mirrored]);
        } else if at_end {
            // Square to the whole's edge there, which is mirrored in the fold.
            let along = fold.way * notch.inward.dot(fold.way);
            let inward = along.try_normalize().unwrap_or(notch.inward);
            out.notches.push(Notch { inward, ..*notch });
        } else {
            out.drills.push(notch.at);
        }
    }
}

/// The edges by name, on both halves.
fn edges(piece: &PatternPiece, whole: &PatternPiece, fold: &Fold) -> Vec<EdgeStart> {
    if piece.edges.is_empty() {
        return Vec::new();
    }
    let line = walked(whole);
    // Mirrored twice, a vertex is within rounding of itself: it is the line's own that counts.
    let vertex = |p: Point<Piece>| {
        let off = |q: &&Point<Piece>| (**q - p).length();
        let near = line.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
        near.copied().filter(|q| (*q - p).length() < ON)
    };
    let mut out: Vec<EdgeStart> = Vec::new();
    for edge in super::edges::edges(piece) {
        let (Some(&from), Some(&to)) = (edge.line.first(), edge.line.last()) else {
            continue;
        };
        if edge.line.iter().all(|&p| fold.is_on(p)) {
            continue;
        }
        let mirrored = format!("{} (mirrored)", edge.name);
        for (at, name) in [(from, edge.name), (fold.mirrored(to), mirrored)] {
            let at = vertex(at).filter(|at| out.iter().all(|e| e.at != *at));
            out.extend(at.map(|at| EdgeStart {
                at,
                name,
                allowance: edge.allowance,
            }));
        }
    }
    out
}

#[cfg(test)]
mod tests;
