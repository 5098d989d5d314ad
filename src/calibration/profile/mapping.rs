//! What a profile says of the light, as a mapping that light is thrown by.

use super::{LARGEST, Profile};
use crate::fault::{Fault, Outcome};
use crate::projection::{Homography, Lens, LensPlace, Mapping, Orientation};
use crate::space::{Point, Projector, Table};

impl Profile {
    /// The mapping that the profile describes.
    ///
    /// # Errors
    /// If its numbers can't be a projector's.
    pub fn mapping(&self) -> Outcome<Mapping> {
        let remedy = "set the table anew, or take the profile from a backup";
        let [w, h] = self.projector_px;
        let size = 1..=LARGEST;
        if !size.contains(&w) || !size.contains(&h) {
            return Err(Fault::input(
                format!("projector_px is {w} by {h}, and a side has 1 to {LARGEST} pixels"),
                remedy,
            ));
        }
        let middle = Point::new(f64::from(w) / 2.0, f64::from(h) / 2.0);
        let homography: Homography<Table, Projector> =
            Homography::from_rows(self.table_to_projector)
                .and_then(|map| map.in_front(middle))
                .ok_or_else(|| {
                    Fault::input("table_to_projector can't be what lights a table", remedy)
                })?;
        let mirrored = homography.orientation() == Orientation::Mirrored;
        if mirrored != self.mirror_rig {
            return Err(Fault::input(
                format!(
                    "mirror_rig is {}, and table_to_projector says otherwise",
                    self.mirror_rig
                ),
                remedy,
            ));
        }
        if let Some(l) = &self.lens {
            let all = [
                l.focal_px,
                l.centre_px[0],
                l.centre_px[1],
                l.k1,
                l.k2,
                l.p1,
                l.p2,
            ];
            if !all.iter().all(|v| v.is_finite()) || l.focal_px <= 0.0 {
                return Err(Fault::input(
                    "the lens is not made of usable numbers",
                    remedy,
                ));
            }
        }
        if let Some(p) = &self.lens_place {
            let all = [p.foot_mm[0], p.foot_mm[1], p.height_mm];
            if !all.iter().all(|v| v.is_finite()) || p.height_mm <= 0.0 {
                return Err(Fault::input("lens_place is not above the table", remedy));
            }
        }
        let mapping = Mapping {
            homography,
            lens: self.lens.map(|l| Lens {
                focal: l.focal_px,
                centre: Point::from(l.centre_px),
                k1: l.k1,
                k2: l.k2,
                p1: l.p1,
                p2: l.p2,
            }),
            lens_place: self.lens_place.map(|p| LensPlace {
                foot: Point::from(p.foot_mm),
                height: p.height_mm,
            }),
        };
        // Every corner of the picture must light a place of its own.
        let corners = [(0, 0), (w, 0), (w, h), (0, h)];
        let lit = |(x, y)| {
            mapping
                .place(Point::new(f64::from(x), f64::from(y)))
                .is_some()
        };
        if self.lens.is_some() && !corners.into_iter().all(lit) {
            return Err(Fault::input(
                "the lens folds the picture over on itself",
                remedy,
            ));
        }
        Ok(mapping)
    }
}
