//! Whether a cloth lies where it lay when its shade was last read.

use crate::cloth::Panel;
use crate::cloth::shade::ShadeMap;
use crate::photo::warn::moved;
use crate::raster::Raster;
use crate::space::{Cloth, Table};

/// Cloth that lies further off has moved, mm (our choice: a cell of the map).
const MOVED: f64 = 2.0;

/// What is to be said if the cloth lies elsewhere than in the map that was read before, by
/// stripes, holes and whatever else can be known again in both. A cloth that is even all over
/// tells nothing. `error` is what a place of the map as it is now may be wrong by, mm, one standard
/// error on each axis: what lies within three of it has not moved.
pub fn elsewhere(
    panel: &Panel,
    before: &ShadeMap<Cloth>,
    (now, error): (&ShadeMap<Cloth>, f64),
) -> Option<String> {
    let pose = panel.on_table.pose();
    let bounds = panel.outline().ok()?.moved(&pose).bounds()?;
    let back = pose.inverse();
    let back = back.mapper();
    let as_lies = |map: &ShadeMap<Cloth>| -> Raster<[f32; 3], Table> {
        Raster::over(bounds, map.cell(), |_, _, p| {
            let light = map.colour(back(p)).map_or(f64::NAN, |xyz| xyz.y);
            [light as f32; 3]
        })
    };
    let limit = MOVED.max(3.0 * error);
    let warning = moved(&as_lies(before), &as_lies(now), limit)?;
    Some(format!("{}: {}", panel.name, warning.text))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cloth::shade::{CELL, Doubt, Ground};
    use crate::space::{Bounds, Point};

    /// Checked cloth of 400 by 300 mm, photographed `by` mm to the right of where it lay.
    fn map(by: f64, checks: bool) -> ShadeMap<Cloth> {
        let bounds = Bounds::new(Point::new(0.0, 0.0), Point::new(400.0, 300.0));
        let light = Raster::over(bounds, 0.5, |_, _, p: Point<Cloth>| {
            let (x, y) = (p.x - by, p.y);
            // No two blocks alike: the checks grow along the cloth.
            let odd = (x * x / 4000.0).floor() + (y * y / 3000.0).floor();
            let v = match checks && odd.rem_euclid(2.0) == 0.0 {
                true => 0.2,
                false => 0.5,
            };
            [v as f32; 3]
        });
        let ground = |_, _| Ground::Cloth;
        ShadeMap::measure(&light, [1.0; 3], CELL, Doubt::NONE, ground).unwrap()
    }

    fn panel() -> Panel {
        toml::from_str(
            "name = \"sling\"\ncloth = \"canvas\"\noutline_mm = [[0, 0], [400, 0], [400, 300], [0, 300]]\n\
             on_table = { x_mm = 50, y_mm = 300, turn_deg = 3 }\n",
        )
        .unwrap()
    }

    #[test]
    fn cloth_that_was_pushed_is_told_and_no_other() {
        let before = map(0.0, true);
        let said = elsewhere(&panel(), &before, (&map(6.0, true), 0.4)).unwrap();
        assert!(
            said.starts_with("sling: ") && said.contains("6.0 mm to the right"),
            "{said}"
        );
        for still in [map(0.0, true), map(0.7, true)] {
            assert_eq!(elsewhere(&panel(), &before, (&still, 0.4)), None);
        }
        // By a photo whose places are not known better, it has not moved.
        assert_eq!(elsewhere(&panel(), &before, (&map(6.0, true), 2.5)), None);
        // Plain cloth tells nothing.
        assert_eq!(
            elsewhere(&panel(), &map(0.0, false), (&map(6.0, false), 0.4)),
            None
        );
    }
}
