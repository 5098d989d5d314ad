//! The saved profile: how this table lies under this projector.

use super::points::MarkRow;
use crate::fault::{Fault, Outcome};
use crate::projection::{Homography, Lens, LensPlace, Mapping, Orientation, from_marks};
use crate::space::{Point, Projector, Table};
use serde::{Deserialize, Serialize};

/// The version of the profile file that this program writes and reads.
pub const PROFILE_VERSION: u32 = 1;

/// The largest side of a projector's picture, px.
pub const LARGEST: u32 = 16_384;

/// A profile as it is written: TOML.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Profile {
    pub ghostchalk_profile: u32,
    /// Projector picture, px.
    pub projector_px: [u32; 2],
    /// Table mm to projector px, row-major, for points (x, y, 1).
    pub table_to_projector: [[f64; 3]; 3],
    /// The light goes over a mirror, so the picture is sent mirrored.
    #[serde(default)]
    pub mirror_rig: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens: Option<LensFile>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens_place: Option<LensPlaceFile>,
    /// The output that it was made on, as the desktop names it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub output: Option<String>,
    /// The marks it was made from.
    #[serde(default, rename = "mark", skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<MarkFile>,
}

/// Brown–Conrady coefficients; see [`Lens`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LensFile {
    pub focal_px: f64,
    pub centre_px: [f64; 2],
    pub k1: f64,
    #[serde(default)]
    pub k2: f64,
    #[serde(default)]
    pub p1: f64,
    #[serde(default)]
    pub p2: f64,
}

/// See [`LensPlace`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LensPlaceFile {
    pub foot_mm: [f64; 2],
    pub height_mm: f64,
}

/// One mark that was set.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MarkFile {
    pub table_mm: [f64; 2],
    pub projector_px: [f64; 2],
}

impl Profile {
    /// The exact profile of four marks.
    ///
    /// A mirrored order is right for a projector whose light goes over one
    /// mirror, and wrong for any other; only the person knows, so it is
    /// accepted if and only if `mirror_rig` says so.
    ///
    /// # Errors
    /// As [`from_marks`]; or if the order and `mirror_rig` disagree.
    pub fn of_four(rows: &[MarkRow; 4], size: [u32; 2], mirror_rig: bool) -> Outcome<Self> {
        let (h, orientation) = from_marks(rows.map(|r| r.table), rows.map(|r| r.projector))?;
        match (orientation, mirror_rig) {
            (Orientation::Mirrored, false) => {
                return Err(Fault::input(
                    "these marks turn the picture over, as in a mirror; does the light go over a mirror?",
                    "if it does, say --mirror-rig; if not, check that each mark of light was set \
                     on its own table mark",
                ));
            }
            (Orientation::Reads, true) => {
                return Err(Fault::input(
                    "these marks do not turn the picture over, but --mirror-rig was said",
                    "leave --mirror-rig out, or check that each mark of light was set on its own \
                     table mark",
                ));
            }
            _ => {}
        }
        Ok(Self {
            ghostchalk_profile: PROFILE_VERSION,
            projector_px: size,
            table_to_projector: h.rows(),
            mirror_rig,
            lens: None,
            lens_place: None,
            output: None,
            marks: rows
                .iter()
                .map(|r| MarkFile {
                    table_mm: r.table.to_array(),
                    projector_px: r.projector.to_array(),
                })
                .collect(),
        })
    }

    /// What is to be said before it is used on another output or size.
    pub fn fits(&self, output: &str, size: [u32; 2]) -> Option<String> {
        let _ = (output, size);
        None
    }

    /// The mapping that the profile describes.
    ///
    /// # Errors
    /// If its numbers can't be a projector's.
    pub fn mapping(&self) -> Outcome<Mapping> {
        let remedy = "calibrate again, or take the profile from a backup";
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
                .ok_or_else(|| Fault::input("table_to_projector is not a mapping", remedy))?;
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

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(px: [[f64; 2]; 4]) -> [MarkRow; 4] {
        let table = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]];
        std::array::from_fn(|k| MarkRow {
            table: Point::from(table[k]),
            projector: Point::from(px[k]),
        })
    }

    #[test]
    fn a_mirrored_order_is_asked_about() {
        let reads = rows([
            [100.0, 900.0],
            [1800.0, 950.0],
            [1700.0, 100.0],
            [200.0, 120.0],
        ]);
        let mirrored = rows([
            [1800.0, 950.0],
            [100.0, 900.0],
            [200.0, 120.0],
            [1700.0, 100.0],
        ]);
        let size = [1920, 1080];
        assert!(Profile::of_four(&reads, size, false).is_ok());
        assert!(Profile::of_four(&mirrored, size, true).is_ok());
        let said = Profile::of_four(&mirrored, size, false)
            .unwrap_err()
            .to_string();
        assert!(
            said.contains('?') && said.contains("--mirror-rig"),
            "{said}"
        );
        assert!(Profile::of_four(&reads, size, true).is_err());
    }

    #[test]
    fn a_profile_means_the_same_whatever_its_scale() {
        let four = rows([
            [100.0, 900.0],
            [1800.0, 950.0],
            [1700.0, 100.0],
            [200.0, 120.0],
        ]);
        let profile = Profile::of_four(&four, [1920, 1080], false).unwrap();
        let mut turned = profile.clone();
        for v in turned.table_to_projector.iter_mut().flatten() {
            *v *= -2.5;
        }
        let (a, b) = (profile.mapping().unwrap(), turned.mapping().unwrap());
        for r in four {
            let (p, q) = (
                a.pixel(r.table, 0.0).unwrap(),
                b.pixel(r.table, 0.0).unwrap(),
            );
            assert!((p - q).length() < 1e-9);
        }
        turned.mirror_rig = true;
        assert!(
            turned
                .mapping()
                .unwrap_err()
                .to_string()
                .contains("mirror_rig")
        );
    }
}
