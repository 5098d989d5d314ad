//! The picture as a person at the table sees it, before anything is calibrated:
//! which way up it reads, and whether a mirror turns it over. Pages of light are
//! laid out in the reader's px and put into the picture by exact quarter turns.

use super::Mapping;
use crate::space::{Point, Projector, Vector};
use crate::stand::Side;

/// Pixels as the reader sees them: the origin at the far left corner of the
/// picture, x to the reader's right, y *towards* the reader. A pixel covers
/// [0,1)×[0,1), as in projector space.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reader {}

/// How the picture lies before a reader.
///
/// Without a calibration the table's sides are unknown to the picture, so
/// [`Side`] is counted from the picture itself: `Front` reads it the way the
/// projector would be looked at on a wall, its last row nearest. A mirror rig
/// turns the picture over about its upright axis first; with the four sides
/// that makes all eight ways a picture can lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Upright {
    /// The projector's picture, px.
    pub picture: [u32; 2],
    pub side: Side,
    /// The light goes over a mirror, so the picture is sent mirrored.
    pub mirror_rig: bool,
}

impl Upright {
    pub fn new(picture: [u32; 2], side: Side, mirror_rig: bool) -> Self {
        Self {
            picture,
            side,
            mirror_rig,
        }
    }

    /// The way in which a calibrated picture reads most upright for a person
    /// at `side` of the *table*, judged at the picture's middle. `None` if the
    /// middle lights nothing.
    pub fn through(mapping: &Mapping, picture: [u32; 2], side: Side) -> Option<Self> {
        let [w, h] = picture.map(f64::from);
        let middle: Point<Projector> = Point::new(w / 2.0, h / 2.0);
        let place = mapping.place(middle)?;
        // One mm to the person's right and away from them, as px.
        let step = |v: Vector<crate::stand::Person>| {
            mapping
                .pixel(place + side.to_table(v), 0.0)
                .map(|q| q - middle)
        };
        let (right, away) = (step(Vector::new(1.0, 0.0))?, step(Vector::new(0.0, 1.0))?);
        let ways = [false, true].map(|mirror| Side::ALL.map(|s| Self::new(picture, s, mirror)));
        let score = |on: &Self| {
            let from = on.pixel(Point::origin());
            let to = |x, y| on.pixel(Point::new(x, y)) - from;
            to(1.0, 0.0).dot(right.normalize()) - to(0.0, 1.0).dot(away.normalize())
        };
        let best = ways.into_iter().flatten();
        best.max_by(|a, b| score(a).total_cmp(&score(b)))
    }

    /// The picture's size as the reader sees it: to their right, and away, px.
    pub fn size(&self) -> [u32; 2] {
        let [w, h] = self.picture;
        match self.side {
            Side::Front | Side::Back => [w, h],
            Side::Right | Side::Left => [h, w],
        }
    }

    /// Where in the picture a reader's point is. Exact.
    pub fn pixel(&self, r: Point<Reader>) -> Point<Projector> {
        let [w, h] = self.picture.map(f64::from);
        let (x, y) = match self.side {
            Side::Front => (r.x, r.y),
            Side::Right => (r.y, h - r.x),
            Side::Back => (w - r.x, h - r.y),
            Side::Left => (w - r.y, r.x),
        };
        Point::new(if self.mirror_rig { w - x } else { x }, y)
    }

    /// Where the reader sees a point of the picture: the inverse of
    /// [`Upright::pixel`].
    pub fn reader(&self, q: Point<Projector>) -> Point<Reader> {
        let [w, h] = self.picture.map(f64::from);
        let (x, y) = (if self.mirror_rig { w - q.x } else { q.x }, q.y);
        match self.side {
            Side::Front => Point::new(x, y),
            Side::Right => Point::new(h - y, x),
            Side::Back => Point::new(w - x, h - y),
            Side::Left => Point::new(y, w - x),
        }
    }

    /// Column and row in the picture of a reader's whole pixel, which must lie
    /// in it.
    pub fn cell(&self, column: u32, row: u32) -> (u32, u32) {
        let [w, h] = self.picture;
        let (x, y) = match self.side {
            Side::Front => (column, row),
            Side::Right => (row, h - 1 - column),
            Side::Back => (w - 1 - column, h - 1 - row),
            Side::Left => (w - 1 - row, column),
        };
        (if self.mirror_rig { w - 1 - x } else { x }, y)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::projection::Homography;
    use crate::space::Table;

    /// A displacement in a picture that lies on the table as it would on a
    /// wall, one px to the mm.
    fn on_table(v: Vector<Projector>) -> Vector<Table> {
        Vector::new(v.x, -v.y)
    }

    fn ways() -> Vec<Upright> {
        let all = |m| Side::ALL.map(|s| Upright::new([1920, 1080], s, m));
        [all(false), all(true)].concat()
    }

    #[test]
    fn there_and_back_is_exact_and_cells_are_points() {
        for on in ways() {
            let p = Point::new(100.25, 37.5);
            assert_eq!(on.reader(on.pixel(p)), p, "{on:?}");
            let [w, h] = on.size();
            for (c, r) in [(0, 0), (w - 1, 0), (3, h - 1), (w - 1, h - 1)] {
                let q = on.pixel(Point::new(f64::from(c) + 0.5, f64::from(r) + 0.5));
                let (x, y) = on.cell(c, r);
                assert_eq!(q, Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5));
            }
        }
    }

    #[test]
    fn the_reader_of_a_straight_picture_stands_at_the_tables_side() {
        for side in Side::ALL {
            let on = Upright::new([1920, 1080], side, false);
            let from = on.pixel(Point::origin());
            let seen = |x, y| side.to_person(on_table(on.pixel(Point::new(x, y)) - from));
            assert_eq!(seen(1.0, 0.0), Vector::new(1.0, 0.0));
            assert_eq!(seen(0.0, 1.0), Vector::new(0.0, -1.0));
        }
    }

    #[test]
    fn a_mirror_swaps_left_and_right_in_the_picture() {
        let on = Upright::new([1920, 1080], Side::Front, true);
        assert_eq!(on.pixel(Point::new(0.0, 10.0)), Point::new(1920.0, 10.0));
    }

    #[test]
    fn a_calibrated_picture_is_told_in_all_eight_ways() {
        // A table of 1920 × 1080 mm lit by each of the ways, and a person at
        // each side: what they read must run to their right and towards them.
        for laid in ways() {
            let [w, h] = laid.size().map(f64::from);
            let table = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| Point::new(x, y));
            let pixels = table.map(|p: Point<Table>| laid.pixel(Point::new(p.x, h - p.y)));
            let map = Mapping::plane(Homography::through(table, pixels).unwrap());
            for side in Side::ALL {
                let on = Upright::through(&map, laid.picture, side).unwrap();
                assert_eq!(on.mirror_rig, laid.mirror_rig);
                let place = |x, y| map.place(on.pixel(Point::new(x, y))).unwrap();
                let right = side.to_person(place(301.0, 200.0) - place(300.0, 200.0));
                assert!((right - Vector::new(1.0, 0.0)).length() < 1e-6, "{on:?}");
                let down = side.to_person(place(300.0, 201.0) - place(300.0, 200.0));
                assert!((down - Vector::new(0.0, -1.0)).length() < 1e-6, "{on:?}");
            }
        }
    }
}
