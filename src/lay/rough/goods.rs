//! What the search for rough cuts knows of the pieces: hulls, a place of each
//! on the sheet, and for each two what lies between them.

use super::ROUNDING;
use crate::shape::{Chord, Hull, Region, chords, connected, gap, intersection, pairs};
use crate::space::{Bounds, Point, Table, Vector};

/// The pieces, with all that is worked out once.
pub struct Goods<'a> {
    pub kept: &'a [Region<Table>],
    /// `None` for what has no outline.
    pub hulls: Vec<Option<Hull<Table>>>,
    pub clear: f64,
    /// All pairs, the closest first.
    pub pairs: Vec<Pair>,
    boxes: Vec<Option<Bounds<Table>>>,
    /// A place of each piece on the sheet, by which it is known where it is.
    places: Vec<Option<Point<Table>>>,
}

/// Two pieces.
pub struct Pair {
    pub of: [usize; 2],
    /// Between their hulls, mm; 0 if those meet.
    pub apart: f64,
    /// Half-way between the places where the hulls are nearest, if they do not meet.
    pub middle: Point<Table>,
    /// Unit vectors along which lines are worth a look: across the shortest
    /// way between the hulls, and along the lines that touch both from the
    /// same side.
    pub along: Vec<Vector<Table>>,
}

impl Pair {
    fn new(of: [usize; 2], a: &Hull<Table>, b: &Hull<Table>) -> Self {
        let nearest = a.nearest(b);
        let unit = |(p, q): (Point<Table>, Point<Table>)| (q - p).normalize();
        let across = nearest.map(unit).map(|n| Vector::new(-n.y, n.x));
        let touching = [a.tangent(b), b.tangent(a)].map(|t| t.map(unit));
        let (p, q) = nearest.unwrap_or_default();
        Self {
            of,
            apart: (q - p).length(),
            middle: p.lerp(q, 0.5),
            along: touching.into_iter().chain([across]).flatten().collect(),
        }
    }
}

impl<'a> Goods<'a> {
    pub fn new(sheet: &Region<Table>, kept: &'a [Region<Table>], clear: f64) -> Self {
        let hull = |r: &Region<Table>| Hull::of(r.rings.iter().flatten().copied());
        let hulls: Vec<_> = kept.iter().map(hull).collect();
        let mut found = Vec::new();
        for (j, b) in hulls.iter().enumerate() {
            for (i, a) in hulls[..j].iter().enumerate() {
                if let (Some(a), Some(b)) = (a, b) {
                    found.push(Pair::new([i, j], a, b));
                }
            }
        }
        found.sort_by(|a, b| a.apart.total_cmp(&b.apart));
        Self {
            kept,
            hulls,
            clear,
            pairs: found,
            boxes: kept.iter().map(Region::bounds).collect(),
            places: kept.iter().map(|k| place_on(sheet, k)).collect(),
        }
    }

    /// Whether any of a piece lies on the sheet.
    pub fn on_sheet(&self, k: usize) -> bool {
        self.places[k].is_some() && self.hulls[k].is_some()
    }

    /// The connected parts of some cloth on which any of these pieces lie,
    /// with those, by the first of them; pieces that lie on none go with others.
    pub fn groups(&self, cloth: &Region<Table>, mut pieces: Vec<usize>) -> Vec<super::Group> {
        let mut groups = Vec::new();
        for part in connected(cloth) {
            let Some(area) = part.bounds() else { continue };
            let here = |k: &mut usize| {
                self.places[*k].is_some_and(|p| area.contains_inclusive(p) && part.contains(p))
            };
            let own: Vec<usize> = pieces.extract_if(.., here).collect();
            if !own.is_empty() {
                groups.push((part, own));
            }
        }
        // Only where a place lies on an outline to the last digit.
        if let Some((_, own)) = groups.first_mut() {
            own.append(&mut pieces);
            own.sort_unstable();
        }
        groups.sort_by(|a, b| a.1.cmp(&b.1));
        groups
    }

    /// Whether a stretch keeps clear of the hulls of these pieces.
    pub fn misses(&self, chord: &Chord<Table>, pieces: &[usize]) -> bool {
        let Some(own) = Hull::of([chord.from(), chord.to()]) else {
            return false;
        };
        let reach = Bounds::from_points([chord.from(), chord.to()]).inflate(self.clear, self.clear);
        pieces
            .iter()
            .all(|&k| match (&self.hulls[k], &self.boxes[k]) {
                (Some(hull), Some(b)) if meets(&reach, b) => hull
                    .nearest(&own)
                    .is_some_and(|(p, q)| (q - p).length() >= self.clear - ROUNDING),
                _ => true,
            })
    }

    /// From a stretch to the nearest of all that must not be touched, mm.
    pub fn clearance(&self, chord: &Chord<Table>) -> f64 {
        let (from, to) = (chord.from(), chord.to());
        let own = Region::ring(vec![from, to]);
        let area = Bounds::from_points([from, to]);
        let mut best = f64::INFINITY;
        let near = (0..self.kept.len()).filter_map(|k| Some((k, away(&area, &self.boxes[k]?))));
        let mut near: Vec<(usize, f64)> = near.collect();
        near.sort_by(|a, b| a.1.total_cmp(&b.1));
        for (k, least) in near {
            if least >= best {
                break;
            }
            best = gap(&own, &self.kept[k], best);
        }
        best
    }
}

fn meets(a: &Bounds<Table>, b: &Bounds<Table>) -> bool {
    a.min.x <= b.max.x && b.min.x <= a.max.x && a.min.y <= b.max.y && b.min.y <= a.max.y
}

/// Between two boxes, at least, mm.
fn away(a: &Bounds<Table>, b: &Bounds<Table>) -> f64 {
    let d = (a.min - b.max).max(b.min - a.max);
    d.x.max(d.y).max(0.0)
}

/// A place well inside a piece and on the sheet, if there is any.
fn place_on(sheet: &Region<Table>, piece: &Region<Table>) -> Option<Point<Table>> {
    let own = well_inside(piece)?;
    if sheet.contains(own) {
        return Some(own);
    }
    let shared = connected(&intersection(piece, sheet));
    let most = shared.iter().max_by(|a, b| a.area().total_cmp(&b.area()))?;
    well_inside(most)
}

/// The middle of the longest stretch of a few lines across a region.
fn well_inside(region: &Region<Table>) -> Option<Point<Table>> {
    let area = region.bounds()?;
    let lines = [0.5, 0.3, 0.7, 0.1, 0.9].map(|share| {
        let at = Point::new(area.min.x, area.min.y + share * area.height());
        chords(region, at, Vector::new(1.0, 0.0))
    });
    let longest = lines
        .iter()
        .flatten()
        .max_by(|a, b| a.length().total_cmp(&b.length()))?;
    Some(longest.from().lerp(longest.to(), 0.5))
}

/// Whether every straight line lies in the region in one stretch.
pub fn is_convex(region: &Region<Table>) -> bool {
    let [ring] = &region.rings[..] else {
        return false;
    };
    let Some((a, b)) = ring.last().zip(ring.first()) else {
        return true;
    };
    let mut before = *b - *a;
    pairs(ring).all(|(p, q)| {
        let turn = before.cross(q - p);
        before = q - p;
        turn >= 0.0
    })
}
