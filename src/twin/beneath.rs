//! The table as it lies under each pixel of the projector's picture: what a
//! window shows behind the light, so that all can be tried without a projector.

use super::panel::{ClothSeen, Panel};
use super::rig::Rig;
use super::surface;
use super::tone::encode;
use crate::space::{Bounds, Point, Table};

/// Arms and half width of a mark stuck on the table, mm.
const MARK: (f64, f64) = (14.0, 1.0);

/// The table under the picture, to be asked again when cloth has moved.
#[derive(Debug)]
pub struct Beneath {
    size: [usize; 2],
    /// Where each pixel's middle lands; `None` beyond the lens's reach.
    places: Vec<Option<Point<Table>>>,
    /// Reflectance of table, marks and floor.
    bare: Vec<[f32; 3]>,
}

impl Beneath {
    /// A table of the given extent with crosses stuck on it at `marks`.
    pub fn new(rig: &Rig, table: &Bounds<Table>, marks: &[Point<Table>]) -> Self {
        let [width, height] = rig.optics().size.map(|n| n as usize);
        let place = |k: usize| {
            let (x, y) = (k % width, k / width);
            rig.land(Point::new(x as f64 + 0.5, y as f64 + 0.5), 0.0)
        };
        let places: Vec<_> = (0..width * height).map(place).collect();
        let bare = |p: &Option<Point<Table>>| match p {
            Some(p) if marks.iter().any(|m| on_mark(*m, *p)) => [0.02; 3],
            Some(p) if table.contains(*p) => surface::wood(*p).map(|v| v as f32),
            Some(p) => surface::floor(*p).map(|v| v as f32),
            None => [0.0; 3],
        };
        Self {
            size: [width, height],
            bare: places.iter().map(bare).collect(),
            places,
        }
    }

    /// Width and height, px.
    pub fn size(&self) -> [usize; 2] {
        self.size
    }

    /// The reflectance seen in each pixel, as sRGB codes, with cloth on the
    /// table; what comes later lies on top.
    pub fn with(&self, cloths: &[ClothSeen]) -> Vec<u8> {
        let panels: Vec<Panel> = cloths.iter().filter_map(Panel::new).collect();
        let seen = |(place, bare): (&Option<Point<Table>>, &[f32; 3])| {
            let mut light = bare.map(f64::from);
            if let Some(p) = place {
                for panel in &panels {
                    let [r, g, b, cover] = panel.at(*p);
                    light = std::array::from_fn(|c| [r, g, b][c] + (1.0 - cover) * light[c]);
                }
            }
            light.map(|l| (encode(l) * 255.0).round() as u8)
        };
        self.places.iter().zip(&self.bare).flat_map(seen).collect()
    }
}

fn on_mark(mark: Point<Table>, p: Point<Table>) -> bool {
    let off = p - mark;
    let (reach, half) = MARK;
    let arm = |along: f64, across: f64| along.abs() <= reach && across.abs() <= half;
    arm(off.x, off.y) || arm(off.y, off.x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_is_seen_where_the_rig_projects_to() {
        let rig = Rig::workshop();
        let table = Bounds::new(Point::new(0.0, 0.0), Point::new(1200.0, 800.0));
        let mark = Point::new(300.0, 500.0);
        let under = Beneath::new(&rig, &table, &[mark]);
        let codes = under.with(&[]);
        let q = rig.project(mark.x, mark.y, 0.0);
        let [width, _] = under.size();
        let at = |x: f64, y: f64| codes[3 * (y as usize * width + x as usize)];
        assert!(at(q.x, q.y) < 60, "{}", at(q.x, q.y));
        assert!(at(q.x + 40.0, q.y + 40.0) > 80);
    }
}
