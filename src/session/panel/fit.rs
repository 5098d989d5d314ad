//! The plan's scale: table mm to points of the window, the person's side at the
//! bottom.

use crate::shape::bounds;
use crate::space::Bounds;
use crate::space::Point;
use crate::space::Table;
use crate::space::Vector;
use crate::stand::Side;
use egui::{Pos2, Rect, pos2};

/// From the table to the window, and back.
#[derive(Debug, Clone, Copy)]
pub struct Fit {
    side: Side,
    /// Points of the window a mm.
    pub scale: f32,
    /// What lies in the middle, as the person sees it, mm.
    middle: (f64, f64),
    at: Pos2,
}

impl Fit {
    /// All of `what` inside `into`; a table of 1200 by 800 mm if there is nothing.
    pub fn new(side: Side, what: impl Iterator<Item = Point<Table>>, into: Rect) -> Self {
        let seen = what.map(|p| side.to_person(p.to_vector()).to_point());
        let all = bounds(seen).filter(|b| b.width() > 0.0 && b.height() > 0.0);
        let all = all.unwrap_or_else(|| Bounds::new(Point::origin(), Point::new(1200.0, 800.0)));
        let scale = (f64::from(into.width()) / all.width())
            .min(f64::from(into.height()) / all.height())
            .max(1e-6);
        Self {
            side,
            scale: scale as f32,
            middle: (all.center().x, all.center().y),
            at: into.center(),
        }
    }

    /// Where a place on the table is drawn.
    pub fn at(&self, p: Point<Table>) -> Pos2 {
        let p = self.side.to_person(p.to_vector());
        let s = f64::from(self.scale);
        let (x, y) = ((p.x - self.middle.0) * s, (p.y - self.middle.1) * s);
        pos2(self.at.x + x as f32, self.at.y - y as f32)
    }

    /// Which place on the table is drawn there.
    pub fn back(&self, p: Pos2) -> Point<Table> {
        let s = f64::from(self.scale);
        let x = f64::from(p.x - self.at.x) / s + self.middle.0;
        let y = f64::from(self.at.y - p.y) / s + self.middle.1;
        self.side.to_table(Vector::new(x, y)).to_point()
    }

    /// A line, without the points that lie too close to be told apart.
    pub fn line(&self, points: impl IntoIterator<Item = Point<Table>>) -> Vec<Pos2> {
        let mut line: Vec<Pos2> = Vec::new();
        for p in points {
            let p = self.at(p);
            if line.last().is_none_or(|l| l.distance(p) > 0.8) {
                line.push(p);
            }
        }
        line
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_persons_side_is_at_the_bottom_and_the_scale_is_even() {
        let into = Rect::from_min_max(pos2(10.0, 20.0), pos2(410.0, 320.0));
        let corners = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 800.0), (0.0, 800.0)];
        let corners = corners.map(|(x, y)| Point::<Table>::new(x, y));
        // The middle of each side of the table, by the words of `Side`.
        let edges = [
            (Side::Front, (600.0, 0.0)),
            (Side::Right, (1200.0, 400.0)),
            (Side::Back, (600.0, 800.0)),
            (Side::Left, (0.0, 400.0)),
        ];
        for (side, (x, y)) in edges {
            let fit = Fit::new(side, corners.into_iter(), into);
            let at = fit.at(Point::new(x, y));
            assert!(
                (at.x - 210.0).abs() < 1e-3 && at.y > 170.0 + 100.0,
                "{side:?} {at}"
            );
            for p in corners {
                let at = fit.at(p);
                assert!(into.expand(1e-3).contains(at), "{side:?} {at}");
                assert!((fit.back(at) - p).length() < 0.01);
            }
            let across = fit.at(corners[0]).distance(fit.at(corners[1]));
            assert!((across - 1200.0 * fit.scale).abs() < 1e-2);
        }
    }

    #[test]
    fn with_nothing_there_is_a_table_still() {
        let into = Rect::from_min_max(pos2(0.0, 0.0), pos2(120.0, 80.0));
        let fit = Fit::new(Side::Front, std::iter::empty(), into);
        assert!((fit.scale - 0.1).abs() < 1e-6);
        assert!((fit.back(pos2(0.0, 80.0)) - Point::origin()).length() < 1e-3);
    }
}
