//! The names of a seams file put on the edges of a drawing.

use super::{Along, EdgeNaming, Place, SeamsFile};
use crate::fault::{Fault, Outcome};
use crate::pattern::Sewing;
use crate::pattern::{EdgeStart, PatternPiece, Polyline};
use crate::pattern::{edges, walked};
use crate::prove::walk::Laid;
use crate::shape::{along, length, signed_area};
use crate::space::{Piece as PieceSpace, Point};

/// A length that has changed by more than this share is noted.
const CHANGED: f64 = 0.02;

/// A notch this near a corner is the corner, mm.
const SAME: f64 = 0.5;

/// What a seams file comes to with the pieces that it is for.
#[derive(Debug, Clone, PartialEq)]
pub struct Applied {
    pub sewing: Sewing,
    /// What the person should check, one sentence each.
    pub notes: Vec<String>,
}

/// Where a new edge begins: mm round the outline, and its name.
#[derive(Debug)]
struct Start {
    s: f64,
    name: String,
    allowance: Option<f64>,
}

impl SeamsFile {
    /// Names the edges of the pieces, and gives what is sewn to what. Where an edge begins
    /// at a notch, its place on the walked line becomes a vertex of that line. All or
    /// nothing: on a fault the pieces are as they were.
    ///
    /// # Errors
    /// If a piece, an edge, a corner or a notch isn't there, or two named edges overlap;
    /// placed by its line.
    pub fn apply(&self, pieces: &mut [PatternPiece]) -> Outcome<Applied> {
        let mut done: Vec<Option<PatternPiece>> = pieces.iter().map(|_| None).collect();
        let mut notes = Vec::new();
        for naming in &self.edges {
            let Some(k) = pieces.iter().position(|p| p.name == naming.piece) else {
                let fault = Fault::input(
                    format!(
                        "there is no piece called \"{}\" in the pattern",
                        naming.piece
                    ),
                    "check the name, or take this out",
                );
                return Err(fault.at(format!("line {}", naming.line)));
            };
            if done[k].is_none() {
                let own = self
                    .edges
                    .iter()
                    .filter(|e| e.piece == naming.piece)
                    .collect::<Vec<_>>();
                done[k] = Some(named(&pieces[k], &own, &mut notes)?);
            }
        }
        for (piece, done) in pieces.iter_mut().zip(done) {
            if let Some(done) = done {
                *piece = done;
            }
        }
        Ok(Applied {
            sewing: self.sewing.clone(),
            notes,
        })
    }
}

fn named(
    piece: &PatternPiece,
    namings: &[&EdgeNaming],
    notes: &mut Vec<String>,
) -> Outcome<PatternPiece> {
    let laid = Laid::new(piece);
    let whole: f64 = laid.edges.iter().map(|e| e.length).sum();
    let mut begins = vec![0.0];
    for edge in &laid.edges {
        begins.push(begins.last().copied().unwrap_or(0.0) + edge.length);
    }
    begins.pop();
    // Spans counter-clockwise: from, and how far on.
    let mut spans = Vec::new();
    for naming in namings {
        let at = |f: Fault| f.at(format!("line {}", naming.line));
        let (from, on) = span(&laid, &begins, whole, naming.along).map_err(at)?;
        spans.push((from, on, *naming));
    }
    overlap(&spans, whole)?;
    // Corners stay, but for those inside a named span.
    let inside = |s: f64| {
        spans.iter().any(|&(from, on, _)| {
            let way = (s - from).rem_euclid(whole);
            way > SAME && way < on - SAME
        })
    };
    let mut starts: Vec<Start> = Vec::new();
    for (k, &s) in begins.iter().enumerate() {
        if !inside(s) && !spans.iter().any(|sp| near(sp.0, s, whole)) {
            starts.push(Start {
                s,
                name: laid.edges[k].name.clone(),
                allowance: laid.edges[k].allowance,
            });
        }
    }
    for &(from, _, naming) in &spans {
        starts.push(Start {
            s: from,
            name: naming.name.clone(),
            allowance: naming.allowance,
        });
    }
    // What is left where a named edge ends in the middle of another.
    for &(from, on, naming) in &spans {
        let to = (from + on).rem_euclid(whole);
        if !starts.iter().any(|s| near(s.s, to, whole)) {
            let mut name = format!("after {}", naming.name);
            while starts.iter().any(|s| s.name == name) {
                name.push('\'');
            }
            starts.push(Start {
                s: to,
                name,
                allowance: None,
            });
        }
    }
    let mut out = piece.clone();
    put(&mut out, &laid, &begins, starts)?;
    check(&out, namings, notes)?;
    Ok(out)
}

fn near(a: f64, b: f64, whole: f64) -> bool {
    let d = (a - b).rem_euclid(whole);
    d <= SAME || whole - d <= SAME
}

/// A part of the outline: mm round it where it begins, and its length.
fn span(laid: &Laid, begins: &[f64], whole: f64, along: Along) -> Outcome<(f64, f64)> {
    let missing = |what: &str, n: usize, count: usize| {
        let remedy = match count {
            0 => "check the drawing".to_owned(),
            count => format!("they are numbered 1 to {count}, counter-clockwise"),
        };
        Fault::input(format!("\"{}\" has no {what} {n}", laid.piece.name), remedy)
    };
    let order = laid.piece.notches_in_order();
    let place = |place: Place| match place {
        Place::Corner(n) => begins
            .get(n - 1)
            .copied()
            .ok_or_else(|| missing("corner", n, begins.len())),
        Place::Notch(n) => {
            let notch = *order
                .get(n - 1)
                .ok_or_else(|| missing("notch", n, order.len()))?;
            let mark = laid.marks.iter().find(|m| m.notch == notch);
            let mark = mark.ok_or_else(|| {
                Fault::input(
                    format!("notch {n} of \"{}\" is on no edge", laid.piece.name),
                    "draw it where it points at the net line",
                )
            })?;
            let s = (begins[mark.edge] + mark.s).rem_euclid(whole);
            // At a corner: just there.
            Ok(begins
                .iter()
                .copied()
                .find(|&b| near(b, s, whole))
                .unwrap_or(s))
        }
    };
    match along {
        Along::Number(n) => match laid.edges.get(n - 1) {
            Some(edge) => Ok((begins[n - 1], edge.length)),
            None => Err(missing("edge", n, laid.edges.len())),
        },
        Along::Between(from, to) => {
            let (from, to) = (place(from)?, place(to)?);
            let on = (to - from).rem_euclid(whole);
            Ok((from, if on <= SAME { whole } else { on }))
        }
    }
}

fn overlap(spans: &[(f64, f64, &EdgeNaming)], whole: f64) -> Outcome<()> {
    for (k, &(from, on, naming)) in spans.iter().enumerate() {
        for &(other, other_on, second) in &spans[k + 1..] {
            let ahead = (other - from).rem_euclid(whole);
            let behind = (from - other).rem_euclid(whole);
            let within = |way: f64, on: f64| way < on - SAME;
            let same = near(from, other, whole);
            let apart = |way: f64, on: f64| !within(way, on) || whole - way <= SAME;
            if same || !apart(ahead, on) || !apart(behind, other_on) {
                let fault = Fault::input(
                    format!(
                        "\"{}\" and \"{}\" are parts of the same edge",
                        naming.name, second.name
                    ),
                    "let one end where the other begins",
                );
                return Err(fault.at(format!("line {}", second.line)));
            }
        }
    }
    Ok(())
}

/// Puts the starts on the piece, as vertices of the line that is walked.
fn put(
    piece: &mut PatternPiece,
    laid: &Laid,
    begins: &[f64],
    mut starts: Vec<Start>,
) -> Outcome<()> {
    starts.sort_by(|a, b| a.s.total_cmp(&b.s));
    let ring = walked(piece);
    let mut new = Vec::new();
    piece.edges = Vec::new();
    for start in starts {
        let k = begins.iter().rposition(|&b| b <= start.s).unwrap_or(0);
        let line = &laid.edges[k].line;
        let rest = start.s - begins[k];
        let at = match line
            .iter()
            .zip(lengths(line))
            .find(|(_, s)| (s - rest).abs() < 1e-6)
        {
            Some((p, _)) => *p,
            None if laid.folded[k] => {
                return Err(Fault::input(
                    format!(
                        "an edge of \"{}\" would begin in the middle of its fold",
                        piece.name
                    ),
                    "let it begin at a corner",
                ));
            }
            None => {
                let st = along(line, rest).ok_or_else(|| {
                    Fault::input(
                        format!("\"{}\" has an edge of no length", piece.name),
                        "redraw it",
                    )
                })?;
                new.push(st.at);
                st.at
            }
        };
        piece.edges.push(EdgeStart {
            at,
            name: start.name,
            allowance: start.allowance,
        });
    }
    if new.is_empty() {
        return Ok(());
    }
    let target = piece
        .net
        .iter_mut()
        .map(|l| &mut l.points)
        .chain(piece.cut.iter_mut())
        .find(|points| same(points, &ring));
    let Some(points) = target else {
        return Err(Fault::mistake("the walked line is none of the piece's"));
    };
    for p in new {
        insert(points, p);
    }
    Ok(())
}

fn lengths(line: &[Point<PieceSpace>]) -> impl Iterator<Item = f64> + '_ {
    let steps = line.windows(2).map(|w| (w[1] - w[0]).length());
    std::iter::once(0.0).chain(steps.scan(0.0, |s, d| {
        *s += d;
        Some(*s)
    }))
}

/// Whether a line is the walked one, either way round.
fn same(points: &Polyline, ring: &Polyline) -> bool {
    let turned = || points.iter().rev().eq(ring.iter());
    points == ring || (signed_area(points) < 0.0 && turned())
}

/// A vertex more, on the side that it lies on.
fn insert(points: &mut Polyline, p: Point<PieceSpace>) {
    let n = points.len();
    let off = |k: usize| {
        let pair = [points[k], points[(k + 1) % n]];
        crate::shape::nearest(&pair, p).map_or(f64::INFINITY, |(_, d)| d)
    };
    if let Some(k) = (0..n).min_by(|&a, &b| off(a).total_cmp(&off(b))) {
        points.insert(k + 1, p);
    }
}

/// Compares the lengths that were noted with those that are.
fn check(piece: &PatternPiece, namings: &[&EdgeNaming], notes: &mut Vec<String>) -> Outcome<()> {
    let all = edges(piece);
    for naming in namings {
        let Some(edge) = all.iter().find(|e| e.name == naming.name) else {
            return Err(Fault::input(
                format!(
                    "\"{}\" could not be told on \"{}\"",
                    naming.name, piece.name
                ),
                "name it from corner to corner",
            )
            .at(format!("line {}", naming.line)));
        };
        let now = length(&edge.line);
        if let Some(was) = naming.length
            && (now - was).abs() > CHANGED * was
        {
            notes.push(format!(
                "\"{}: {}\" was {was:.1} mm long when it was named, and is {now:.1} mm now: check that it is still the edge that is meant.",
                piece.name, naming.name
            ));
        }
    }
    Ok(())
}
