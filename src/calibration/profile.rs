//! The saved profile: how this table lies under this projector.

use super::fit::{Believed, Fit, Form, HAND_PX, MARKS_MM, Places, Sighted};
use super::points::{MOST, MarkRow};
use super::still::CheckFile;
use crate::fault::{Fault, Outcome};
use crate::projection::{Homography, Lens, LensPlace, Mapping, Orientation, from_marks};
use crate::space::{Point, Projector, Table};
use nalgebra::DMatrix;
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
    /// The day on which it was made, as `2031-05-17`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub made: Option<String>,
    /// The name of the output that it was made on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub output: Option<String>,
    /// The length of a pixel of the projector, across and down, in pixels of
    /// the picture, where it rescales what it is sent. The mapping is in sent
    /// pixels all the same; see [`Profile::finest`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub effective_px: Option<[f64; 2]>,
    /// The darkest sRGB code that could be told from darkness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_code: Option<u8>,
    /// One-pixel lines of red and blue were as clear as white ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour_lines_clean: Option<bool>,
    /// What a tape said of the check picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked: Option<CheckedFile>,
    /// What was believed of the marks it was made from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub believed: Option<BelievedFile>,
    /// Whether it was still true, check by check.
    #[serde(default, rename = "check", skip_serializing_if = "Vec::is_empty")]
    pub checks: Vec<CheckFile>,
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

/// What a tape laid on the check picture said.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CheckedFile {
    /// The reading furthest out for its tolerance was too long by this, mm.
    pub furthest_mm: f64,
    /// What it may be out by, mm.
    pub tolerance_mm: f64,
    /// How many of the six lengths were read.
    pub readings: usize,
}

/// What was believed of the marks: see [`Believed`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BelievedFile {
    /// Standard deviation of the hand that set the light, px on each axis.
    pub hand_px: f64,
    /// Standard deviation of a mark's place, mm on each axis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marks_mm: Option<f64>,
    /// Covariance of all the marks' coordinates as a tape gave it, x and y of each in
    /// turn, mm².
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub marks_mm2: Vec<Vec<f64>>,
}

/// One mark that was set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MarkFile {
    /// What it is called, where it has a name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    pub table_mm: [f64; 2],
    pub projector_px: [f64; 2],
}

fn sighted((k, mark): (usize, &MarkFile)) -> Sighted {
    Sighted {
        name: mark
            .name
            .clone()
            .unwrap_or_else(|| format!("mark {}", k + 1)),
        table: mark.table_mm.into(),
        pixel: mark.projector_px.into(),
    }
}

/// A mirrored order of the marks is right for a projector whose light goes over one
/// mirror, and wrong for any other; only the person knows.
fn agree(orientation: Orientation, mirror_rig: bool) -> Outcome<()> {
    match (orientation, mirror_rig) {
        (Orientation::Mirrored, false) => Err(Fault::input(
            "these marks turn the picture over, as in a mirror; does the light go over a mirror?",
            "if it does, say --mirror-rig; if not, check that each mark of light was set on its \
             own table mark",
        )),
        (Orientation::Reads, true) => Err(Fault::input(
            "these marks do not turn the picture over, but --mirror-rig was said",
            "leave --mirror-rig out, or check that each mark of light was set on its own table \
             mark",
        )),
        _ => Ok(()),
    }
}

impl From<&MarkFile> for MarkRow {
    fn from(mark: &MarkFile) -> Self {
        Self {
            table: mark.table_mm.into(),
            projector: mark.projector_px.into(),
        }
    }
}

/// What a profile has for an output's name where the light was in a window, for want of one.
pub const NO_OUTPUT: &str = "window";

/// Where the light went, by a profile's name for it, in words.
pub fn light_on(output: &str) -> String {
    match output {
        NO_OUTPUT => "a window".to_owned(),
        name => format!("the output {name}"),
    }
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
        agree(orientation, mirror_rig)?;
        let mark = |r: &MarkRow| MarkFile {
            name: None,
            table_mm: r.table.to_array(),
            projector_px: r.projector.to_array(),
        };
        let marks = rows.iter().map(mark).collect();
        Ok(Self::plain(h.rows(), size, mirror_rig, marks))
    }

    /// The profile of a mapping that was fitted to marks.
    ///
    /// # Errors
    /// If their order and `mirror_rig` disagree.
    pub fn of_fit(
        fit: &Fit,
        marks: &[Sighted],
        believed: &Believed,
        size: [u32; 2],
        mirror_rig: bool,
    ) -> Outcome<Self> {
        agree(fit.mapping.homography.orientation(), mirror_rig)?;
        let mark = |m: &Sighted| MarkFile {
            name: Some(m.name.clone()),
            table_mm: m.table.to_array(),
            projector_px: m.pixel.to_array(),
        };
        let marks = marks.iter().map(mark).collect();
        let (marks_mm, marks_mm2) = match &believed.places {
            Places::Each(mm) => (Some(*mm), Vec::new()),
            Places::Covariance(c) => {
                let row = |r| c.row(r).iter().copied().collect();
                (None, (0..c.nrows()).map(row).collect())
            }
        };
        let lens = fit.mapping.lens.map(|l| LensFile {
            focal_px: l.focal,
            centre_px: l.centre.to_array(),
            k1: l.k1,
            k2: l.k2,
            p1: l.p1,
            p2: l.p2,
        });
        Ok(Self {
            lens,
            believed: Some(BelievedFile {
                hand_px: believed.hand_px,
                marks_mm,
                marks_mm2,
            }),
            ..Self::plain(fit.mapping.homography.rows(), size, mirror_rig, marks)
        })
    }

    /// The marks it was made from, and the fit to them with what was believed of them
    /// (of an older profile: [`HAND_PX`] and [`MARKS_MM`]): it knows how sure the light
    /// is of its place. `None` if the marks fix nothing, or are not kept.
    pub fn refit(&self) -> Option<(Vec<Sighted>, Believed, Fit)> {
        let marks: Vec<Sighted> = self.marks.iter().enumerate().map(sighted).collect();
        if marks.len() > MOST {
            return None;
        }
        let n = 2 * marks.len();
        let places = match &self.believed {
            None => Places::Each(MARKS_MM),
            Some(b) if b.marks_mm2.is_empty() => {
                let mm = b.marks_mm.filter(|mm| (0.0..1e3).contains(mm))?;
                Places::Each(mm)
            }
            Some(b) => {
                let square = b.marks_mm2.len() == n && b.marks_mm2.iter().all(|r| r.len() == n);
                let finite = b.marks_mm2.iter().flatten().all(|v| v.is_finite());
                if !(square && finite) {
                    return None;
                }
                let even =
                    |r: usize, c: usize| (b.marks_mm2[r][c] - b.marks_mm2[c][r]).abs() < 1e-6;
                if !(0..n).all(|r| (0..r).all(|c| even(r, c))) {
                    return None;
                }
                Places::Covariance(DMatrix::from_fn(n, n, |r, c| b.marks_mm2[r][c]))
            }
        };
        let hand_px = self.believed.as_ref().map_or(HAND_PX, |b| b.hand_px);
        if !(1e-3..1e3).contains(&hand_px) {
            return None;
        }
        let believed = Believed { hand_px, places };
        let form = match (&self.believed, &self.lens) {
            (Some(_), Some(l)) if l.k2 != 0.0 => Form::LensK2,
            (Some(_), Some(_)) => Form::Lens,
            _ => Form::Plane,
        };
        let fit = Fit::new(&marks, self.projector_px, &believed, form).ok()?;
        Some((marks, believed, fit))
    }

    fn plain(rows: [[f64; 3]; 3], size: [u32; 2], mirror_rig: bool, marks: Vec<MarkFile>) -> Self {
        Self {
            ghostchalk_profile: PROFILE_VERSION,
            projector_px: size,
            table_to_projector: rows,
            mirror_rig,
            lens: None,
            lens_place: None,
            made: None,
            output: None,
            effective_px: None,
            least_code: None,
            colour_lines_clean: None,
            checked: None,
            believed: None,
            checks: Vec::new(),
            marks,
        }
    }

    /// Why this profile is not for a picture of `size` px on `output`, in one
    /// sentence without a full stop; `None` if it is. A profile that names no
    /// output is for any.
    pub fn fits(&self, output: &str, size: [u32; 2]) -> Option<String> {
        let made = match &self.made {
            Some(day) => format!("the profile of {day}"),
            None => "the profile".to_owned(),
        };
        if self.projector_px != size {
            let [[a, b], [w, h]] = [self.projector_px, size];
            return Some(format!(
                "{made} was made for a picture of {a} × {b} px, and this one has {w} × {h}: light \
                 would fall in the wrong place"
            ));
        }
        match &self.output {
            Some(own) if own != output => Some(format!(
                "{made} was made on {}, and this is {output}: if another projector \
                 hangs on it, light would fall in the wrong place",
                light_on(own)
            )),
            _ => None,
        }
    }

    /// The width of the finest line of light, in pixels of the picture: a
    /// pixel, or a longer one of a projector that has fewer. What is stated in
    /// pixels, such as the least width of a band, is this many times wider.
    pub fn finest(&self) -> f64 {
        let each = self.effective_px.into_iter().flatten();
        each.filter(|v| v.is_finite()).fold(1.0, f64::max)
    }

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

    #[test]
    fn another_output_or_size_is_said() {
        let four = rows([
            [100.0, 900.0],
            [1800.0, 950.0],
            [1700.0, 100.0],
            [200.0, 120.0],
        ]);
        let mut profile = Profile::of_four(&four, [1920, 1080], false).unwrap();
        assert_eq!(profile.fits("HDMI-1", [1920, 1080]), None);
        let said = profile.fits("HDMI-1", [1280, 720]).unwrap();
        assert!(
            said.contains("1920 × 1080") && said.contains("1280 × 720"),
            "{said}"
        );
        profile.made = Some("2031-05-17".to_owned());
        profile.output = Some("HDMI-1".to_owned());
        assert_eq!(profile.fits("HDMI-1", [1920, 1080]), None);
        let said = profile.fits("DP-2", [1920, 1080]).unwrap();
        assert!(
            said.contains("of 2031-05-17 was made on the output HDMI-1, and this is DP-2"),
            "{said}"
        );
    }

    #[test]
    fn what_was_looked_at_is_kept_and_older_files_are_read() {
        let four = rows([
            [100.0, 900.0],
            [1800.0, 950.0],
            [1700.0, 100.0],
            [200.0, 120.0],
        ]);
        let plain = Profile::of_four(&four, [1920, 1080], false).unwrap();
        let text = toml::to_string(&plain).unwrap();
        // Nothing new is written of what was not looked at.
        for new in ["made", "output", "effective", "least", "colour", "check"] {
            assert!(!text.contains(new), "{text}");
        }
        assert_eq!(toml::from_str::<Profile>(&text).unwrap(), plain);
        assert_eq!(plain.finest(), 1.0);
        let full = Profile {
            made: Some("2031-05-17".to_owned()),
            output: Some("HDMI-1".to_owned()),
            effective_px: Some([0.98, 1.25]),
            least_code: Some(6),
            colour_lines_clean: Some(false),
            checked: Some(CheckedFile {
                furthest_mm: -0.5,
                tolerance_mm: 1.4,
                readings: 4,
            }),
            checks: vec![CheckFile {
                day: "2031-06-01".to_owned(),
                marks: 3,
                rms_mm: Some(4.25),
                finding: "shift".to_owned(),
            }],
            ..plain
        };
        let text = toml::to_string(&full).unwrap();
        assert_eq!(toml::from_str::<Profile>(&text).unwrap(), full);
        assert_eq!(full.finest(), 1.25);
    }
}
