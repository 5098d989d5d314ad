//! A piece laid out to be walked: its edges, and where along them its notches and darts
//! are.
//!
//! Notches are drawn on the cut line, seams are walked on the net line. A notch belongs
//! to the place where its inward ray meets the line that is walked.

use super::form;
use crate::pattern::{Edge, ON_FOLD, edges};
use crate::pattern::{Notch, NotchKind, PatternPiece, Polyline};
use crate::shape::{along, nearest};
use crate::space::{Piece as PieceSpace, Point};
use std::cell::OnceCell;
use std::collections::HashMap;

type At = Point<PieceSpace>;

/// A notch or an end nearer than this to the end of an edge is at the corner, mm: half of
/// what a hand clips true to (estimate).
pub const AT_CORNER: f64 = 0.5;

/// An allowance is no wider than this, mm (common practice: 30 is wide).
const WIDEST: f64 = 60.0;

/// A dart's end that is this near an edge stands on it, mm.
const TOUCHES: f64 = 0.2;

/// The two legs of a dart end within this of one another, mm.
const SAME_TIP: f64 = 1.0;

/// More notches than that on a piece are not walked; more darts, or of more points, not
/// closed.
const MOST: usize = 500;
const MOST_DARTS: usize = 100;
const MOST_STROKES: usize = 16;

/// Where a notch is on an edge. One at a corner is on both edges there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// Its place in the piece's `notches`.
    pub notch: usize,
    pub edge: usize,
    /// mm from the edge's start, counter-clockwise, darts open.
    pub s: f64,
    pub kind: NotchKind,
}

/// What a dart takes up of an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dart {
    pub edge: usize,
    /// mm from the edge's start, counter-clockwise; from < to.
    pub from: f64,
    pub to: f64,
}

/// A notch that is on no edge, or a dart that could not be closed.
#[derive(Debug, Clone, PartialEq)]
pub struct Adrift {
    pub what: String,
    pub at: At,
}

/// A piece laid out to be walked.
#[derive(Debug)]
pub struct Laid<'a> {
    pub piece: &'a PatternPiece,
    pub edges: Vec<Edge>,
    /// For each edge, whether it lies on the fold.
    pub folded: Vec<bool>,
    pub marks: Vec<Mark>,
    pub darts: Vec<Dart>,
    pub adrift: Vec<Adrift>,
    numbers: HashMap<String, usize>,
    symmetric: Vec<OnceCell<bool>>,
}

impl<'a> Laid<'a> {
    pub fn new(piece: &'a PatternPiece) -> Self {
        let edges = edges(piece);
        let folded = edges.iter().map(|e| on_fold(piece, &e.line)).collect();
        let numbers = edges.iter().enumerate().rev();
        let numbers = numbers.map(|(k, e)| (e.name.clone(), k)).collect();
        let symmetric = edges.iter().map(|_| OnceCell::new()).collect();
        let mut laid = Self {
            piece,
            edges,
            folded,
            marks: Vec::new(),
            darts: Vec::new(),
            adrift: Vec::new(),
            numbers,
            symmetric,
        };
        if laid.edges.is_empty() {
            return laid;
        }
        laid.set_darts();
        for (k, notch) in piece.notches.iter().enumerate() {
            if k == MOST {
                laid.adrift.push(Adrift {
                    what: format!("only the first {MOST} notches are walked"),
                    at: notch.at,
                });
                break;
            }
            laid.set_mark(k, notch);
        }
        laid
    }

    /// The number of an edge by its name.
    pub fn edge(&self, name: &str) -> Option<usize> {
        self.numbers.get(name).copied()
    }

    /// Whether the piece is its own mirror image about the middle of an edge.
    pub fn symmetric(&self, edge: usize) -> bool {
        let known = self.symmetric.get(edge);
        known.is_some_and(|c| *c.get_or_init(|| form::symmetric(&self.edges, edge)))
    }

    /// The edge before or after one, going round.
    pub fn neighbour(&self, edge: usize, after: bool) -> usize {
        let n = self.edges.len();
        (edge + if after { 1 } else { n - 1 }) % n
    }

    /// mm that darts take up of an edge.
    pub fn taken(&self, edge: usize) -> f64 {
        let own = self.darts.iter().filter(|d| d.edge == edge);
        own.map(|d| d.to - d.from).sum()
    }

    fn set_mark(&mut self, k: usize, notch: &Notch) {
        let near = self.edges.iter().filter_map(|e| nearest(&e.line, notch.at));
        let near = near.map(|(_, d)| d).fold(f64::INFINITY, f64::min);
        let told = self.edges.iter().filter_map(|e| e.allowance);
        let told = told.fold(0.0, f64::max);
        if near > WIDEST {
            self.adrift.push(Adrift {
                what: format!("a notch lies {near:.1} mm from the net line"),
                at: notch.at,
            });
            return;
        }
        let reach = 2.0 * near.max(told) + 1.0;
        let Some((edge, s)) = self.met(notch, reach) else {
            self.adrift.push(Adrift {
                what: format!("a notch points past the net line: nothing within {reach:.0} mm"),
                at: notch.at,
            });
            return;
        };
        let kind = notch.kind;
        let mut put = |edge: usize, s: f64| {
            self.marks.push(Mark {
                notch: k,
                edge,
                s,
                kind,
            });
        };
        let (n, whole) = (self.edges.len(), self.edges[edge].length);
        put(edge, s);
        if s < AT_CORNER {
            let before = (edge + n - 1) % n;
            put(before, self.edges[before].length);
        } else if s > whole - AT_CORNER {
            put((edge + 1) % n, 0.0);
        }
    }

    /// Where a notch's inward ray first meets an edge.
    fn met(&self, notch: &Notch, reach: f64) -> Option<(usize, f64)> {
        let mut best: Option<(f64, usize, f64)> = None;
        for (k, edge) in self.edges.iter().enumerate() {
            let mut s = 0.0;
            for w in edge.line.windows(2) {
                let step = w[1] - w[0];
                let across = notch.inward.cross(step);
                let len = step.length();
                if across.abs() > 1e-12 * len {
                    let to = w[0] - notch.at;
                    let t = to.cross(step) / across;
                    let u = to.cross(notch.inward) / across;
                    let on = (-1e-9..=1.0 + 1e-9).contains(&u);
                    if on && t >= -1.0 && t <= reach && best.is_none_or(|(b, ..)| t < b) {
                        best = Some((t, k, s + u.clamp(0.0, 1.0) * len));
                    }
                }
                s += len;
            }
        }
        best.map(|(_, k, s)| (k, s))
    }

    fn set_darts(&mut self) {
        let mut legs: HashMap<usize, Vec<(f64, At)>> = HashMap::new();
        for (k, dart) in self.piece.darts.iter().enumerate() {
            if k == MOST_DARTS {
                self.adrift.push(Adrift {
                    what: format!("only the first {MOST_DARTS} darts are closed"),
                    at: dart.first().copied().unwrap_or_default(),
                });
                break;
            }
            if dart.len() > MOST_STROKES {
                self.adrift.push(Adrift {
                    what: format!("a dart of more than {MOST_STROKES} points is not closed"),
                    at: dart.first().copied().unwrap_or_default(),
                });
                continue;
            }
            for (edge, e) in self.edges.iter().enumerate() {
                let feet = feet(&e.line, dart);
                match feet.as_slice() {
                    [from, to] => self.darts.push(Dart {
                        edge,
                        from: *from,
                        to: *to,
                    }),
                    [foot] => {
                        let Some(st) = along(&e.line, *foot) else {
                            continue;
                        };
                        let ends = dart.first().into_iter().chain(dart.last()).copied();
                        let tip = ends
                            .max_by(|a, b| (*a - st.at).length().total_cmp(&(*b - st.at).length()));
                        if let Some(tip) = tip {
                            legs.entry(edge).or_default().push((*foot, tip));
                        }
                    }
                    _ => {}
                }
            }
        }
        // A dart whose legs were drawn as two strokes.
        for (edge, mut feet) in legs {
            feet.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut k = 0;
            while k + 1 < feet.len() {
                let ((from, tip), (to, other)) = (feet[k], feet[k + 1]);
                if (tip - other).length() <= SAME_TIP && to > from {
                    self.darts.push(Dart { edge, from, to });
                    k += 1;
                }
                k += 1;
            }
        }
        let key = |d: &Dart| (d.edge, d.from);
        self.darts.sort_by(|a, b| {
            key(a)
                .partial_cmp(&key(b))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        // Darts that overlap would take the same cloth twice.
        self.darts
            .dedup_by(|b, a| a.edge == b.edge && b.from < a.to);
    }
}

/// Where a dart's legs stand on a line: mm along it, in order.
fn feet(line: &[At], dart: &Polyline) -> Vec<f64> {
    let mut out = Vec::new();
    let mut s = 0.0;
    for w in line.windows(2) {
        let step = w[1] - w[0];
        for leg in dart.windows(2) {
            let d = leg[1] - leg[0];
            let across = step.cross(d);
            if across == 0.0 {
                continue;
            }
            let to = leg[0] - w[0];
            let (u, v) = (to.cross(d) / across, to.cross(step) / across);
            if (0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v) {
                out.push(s + u * step.length());
            }
        }
        s += step.length();
    }
    for end in dart.first().into_iter().chain(dart.last()) {
        out.extend(
            nearest(line, *end)
                .filter(|(_, d)| *d <= TOUCHES)
                .map(|(s, _)| s),
        );
    }
    out.sort_by(f64::total_cmp);
    out.dedup_by(|b, a| *b - *a < AT_CORNER);
    out
}

/// Whether a line lies on one of the piece's folds.
pub fn on_fold(piece: &PatternPiece, line: &[At]) -> bool {
    let (Some(&first), Some(&last)) = (line.first(), line.last()) else {
        return false;
    };
    let length = crate::shape::length(line);
    let Some(middle) = along(line, length / 2.0) else {
        return false;
    };
    let near = |fold: &Polyline, p: At| nearest(fold, p).is_some_and(|(_, d)| d <= ON_FOLD);
    piece
        .folds
        .iter()
        .any(|f| [first, middle.at, last].into_iter().all(|p| near(f, p)))
}
