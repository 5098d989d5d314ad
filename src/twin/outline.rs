//! Cut lines as the projector sees them.

use crate::space::{Point, Projector, Table, Vector};

use super::rig::Rig;

/// Edges are split to this length, in mm, before they are mapped, so that the
/// bow a lens puts into a straight edge is followed.
const SPLIT: f64 = 0.5;

/// Edges that meet at more than this turn, in degrees, meet at a corner;
/// smaller turns are those of a flattened curve.
const CORNER: f64 = 3.0;

/// How far along the line, in pixels, a pixel's surroundings reach.
const REACH: f64 = 5.0;

/// One vertex of a cut line, on the table and in the picture.
#[derive(Debug, Clone, Copy)]
pub(super) struct Station {
    pub(super) table: Point<Table>,
    pub(super) pixel: Point<Projector>,
    /// Along the outline from its first vertex, in mm.
    pub(super) run: f64,
}

/// A closed cut line, finely split. The lit side is on the right of the
/// direction of travel.
#[derive(Debug)]
pub(super) struct Outline {
    pub(super) stations: Vec<Station>,
    /// Where it turns a corner, in the picture.
    pub(super) corners: Vec<Point<Projector>>,
}

impl Outline {
    /// Maps a closed polygon at `height` mm through `rig`. Vertices that
    /// repeat are dropped; what is left may be empty.
    pub(super) fn new(rig: &Rig, polygon: &[Point<Table>], height: f64) -> Self {
        let mut vertices = polygon.to_vec();
        vertices.dedup_by(|a, b| (*a - *b).length() < 1e-9);
        while vertices.len() > 1 && (vertices[0] - vertices[vertices.len() - 1]).length() < 1e-9 {
            vertices.pop();
        }
        let mut outline = Self {
            stations: Vec::new(),
            corners: Vec::new(),
        };
        if vertices.len() < 3 {
            return outline;
        }
        let project = |p: Point<Table>| rig.project(p.x, p.y, height);
        let mut run = 0.0;
        for (i, &from) in vertices.iter().enumerate() {
            let before = vertices[(i + vertices.len() - 1) % vertices.len()];
            let to = vertices[(i + 1) % vertices.len()];
            let (came, goes) = (from - before, to - from);
            let turn = came.cross(goes).atan2(came.dot(goes));
            if turn.to_degrees().abs() > CORNER {
                outline.corners.push(project(from));
            }
            let length = goes.length();
            // Far more than any table needs, so that a stray vertex costs little.
            let parts = (length / SPLIT).ceil().clamp(1.0, 1e5);
            for part in 0..parts as usize {
                let share = part as f64 / parts;
                let table = from.lerp(to, share);
                outline.stations.push(Station {
                    table,
                    pixel: project(table),
                    run: run + share * length,
                });
            }
            run += length;
        }
        outline
    }

    /// The line about station `index`, from 5 px before it to 5 px after, or
    /// less where the whole outline is shorter.
    pub(super) fn around(&self, index: usize) -> Vec<Point<Projector>> {
        let n = self.stations.len();
        let here = self.stations[index].pixel;
        let near = |i: &usize| (self.stations[*i].pixel - here).length() < REACH;
        let ahead = (0..n / 2).take_while(|&k| near(&((index + k) % n))).count();
        let behind = (0..n / 2)
            .take_while(|&k| near(&((index + n - k) % n)))
            .count();
        (index + n - behind..=index + n + ahead)
            .map(|i| self.stations[i % n].pixel)
            .collect()
    }

    /// The direction of travel at station `index`, of length 1 in the picture.
    pub(super) fn heading(&self, index: usize) -> Vector<Projector> {
        let n = self.stations.len();
        let before = self.stations[(index + n - 1) % n].pixel;
        (self.stations[(index + 1) % n].pixel - before).normalize()
    }
}

/// A line's way through one pixel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Crossing {
    /// Where it enters.
    pub(super) entry: Point<Projector>,
    /// Where it leaves.
    pub(super) exit: Point<Projector>,
    /// The area between the line and its chord, counted positive where the
    /// line bows to the left: that much more of the right side is lit.
    pub(super) bow: f64,
}

/// The way of `line` through the pixel whose top left corner is `corner`.
///
/// `None` if it does not cross the pixel, crosses it more than once, or ends
/// in it: there the pixel's light says nothing about one edge.
pub(super) fn cross(line: &[Point<Projector>], corner: Point<Projector>) -> Option<Crossing> {
    let mut found: Option<Crossing> = None;
    // Whether the last piece went on beyond its segment.
    let mut inside = false;
    for (k, pair) in line.windows(2).enumerate() {
        let Some((from, to)) = clip(pair[0], pair[1], corner) else {
            inside = false;
            continue;
        };
        let (a, b) = (pair[0].lerp(pair[1], from), pair[0].lerp(pair[1], to));
        match &mut found {
            Some(crossing) if inside => {
                // The triangle that this piece adds to the area.
                let (old, new) = (crossing.exit - crossing.entry, b - crossing.entry);
                crossing.bow += old.cross(new) / 2.0;
                crossing.exit = b;
            }
            Some(_) => return None,
            // A segment may begin on the pixel's border; a line may not
            // begin within.
            None if from > 0.0 || k > 0 => {
                found = Some(Crossing {
                    entry: a,
                    exit: b,
                    bow: 0.0,
                });
            }
            None => return None,
        }
        inside = to >= 1.0;
    }
    found.filter(|_| !inside)
}

/// The stretch of the segment `a`–`b`, as shares of it, within the pixel at
/// `corner`, after Liang and Barsky, *A New Concept and Method for Line
/// Clipping* (1984). `None` if it has no length.
fn clip(a: Point<Projector>, b: Point<Projector>, corner: Point<Projector>) -> Option<(f64, f64)> {
    let d = b - a;
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (step, start, low) in [(d.x, a.x, corner.x), (d.y, a.y, corner.y)] {
        if step == 0.0 {
            if start < low || start >= low + 1.0 {
                return None;
            }
            continue;
        }
        let (t, u) = ((low - start) / step, (low + 1.0 - start) / step);
        from = from.max(t.min(u));
        to = to.min(t.max(u));
    }
    (from < to).then_some((from, to))
}
