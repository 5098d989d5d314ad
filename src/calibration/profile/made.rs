//! A profile of marks that were set, and back from a profile to its marks.

use super::{BelievedFile, LensFile, MarkFile, PROFILE_VERSION, Profile};
use crate::calibration::fit::{Believed, Fit, Form, HAND_PX, MARKS_MM, Places, Sighted};
use crate::calibration::points::{MOST, MarkRow};
use crate::fault::{Fault, Outcome};
use crate::projection::{Orientation, from_marks};
use nalgebra::DMatrix;

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
            "these marks turn the picture over, as in a mirror",
            "if the light goes over a mirror, say --mirror-rig; if not, check that each mark of \
             light was set on its own table mark",
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
            checksum: None,
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
}
