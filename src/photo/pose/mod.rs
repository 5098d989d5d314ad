//! Table ↔ photo from four or more marks, by least squares, with its standard error.
//!
//! The sum of squared distances in the photo is made least (Hartley & Zisserman, *Multiple
//! View Geometry*, 4.2.2), each weighed by all that it may be wrong by: the mark's place in
//! the photo, σ² px², and its place on the table, J Jᵀ σ² mm². The lens (k1, k2 about the
//! picture's middle) is always among the unknowns, together with what is believed of lenses
//! before any mark is seen (maximum a posteriori). So four marks, which say nothing of the
//! lens, leave it straight, but its bending stays in the stated error; many marks make what
//! was believed vanish.

mod camera;
mod model;
mod refused;

pub use camera::{Beforehand, Camera};

use crate::adjust::{Minimum, SLIP, Stuck, chance_of_more, marquardt};
use crate::fault::{Outcome, short};
use crate::projection::many::in_line;
use crate::projection::{Homography, Lens};
use crate::space::{Photo, Point, Table, Vector};
use model::{BELIEVED, Model, Slope, UNKNOWNS};
use nalgebra::{DMatrix, DVector, Matrix2, SMatrix, Vector2};

/// Standard deviation of a mark clicked by hand and not snapped, px on each axis
/// (*estimate*; more on a photo shown small).
pub const HAND_PX: f64 = 2.0;
/// Standard deviation of a mark's place on the table where nobody says, mm on each axis
/// (*estimate*: a cloth tape read to half a millimetre).
pub const MARKS_MM: f64 = 0.5;

/// Weights follow from the mapping and the mapping from the weights: so often.
const REWEIGHED: usize = 4;
/// With so many marks at most each is left out in turn.
const LEFT_OUT: usize = 150;
/// The lens counts as measured where the marks know its k1 this many times better than was
/// believed beforehand.
const MEASURED: f64 = 2.0;

/// A mark: its place on the table, and where it is in the photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    pub name: String,
    pub table: Point<Table>,
    pub px: Point<Photo>,
    /// Standard deviation of its place in the photo, px on each axis.
    pub px_error: f64,
    /// Standard deviation of its place on the table, mm on each axis.
    pub table_error: f64,
}

/// What the fit says of one mark.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkFit {
    pub name: String,
    /// Where it would be seen by the mapping, less where it was, px.
    pub left_px: Vector<Photo>,
    /// What is seen there by the mapping, less where the mark is, by a mapping that knows
    /// nothing of this mark, mm; `None` where the others fix none.
    pub without_mm: Option<Vector<Table>>,
    /// How likely a sound mark lies so far from what the others say; 1 where they say
    /// nothing.
    pub chance: f64,
    /// How likely the other marks scatter as they do, without this one.
    others: f64,
}

/// Standard error of a place, mm on each axis (root mean square over directions), by cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sure {
    /// By the marks' places in the photo and on the table.
    pub marks: f64,
    /// By what the lens may bend that the marks do not tell.
    pub lens: f64,
    /// By what is not known of the camera's place; 0 at height 0.
    pub height: f64,
}

impl Sure {
    /// All together, mm on each axis.
    pub fn total(&self) -> f64 {
        self.marks.hypot(self.lens).hypot(self.height)
    }
}

/// Table ↔ photo, and how sure it is.
#[derive(Debug, Clone)]
pub struct Pose {
    pub marks: Vec<MarkFit>,
    /// Root mean square of the distances left in the photo, px.
    pub rms_px: f64,
    /// The camera; `None` if the mapping is none of a camera's.
    pub camera: Option<Camera>,
    homography: Homography<Table, Photo>,
    back: Homography<Photo, Table>,
    lens: Lens,
    model: Model,
    minimum: Minimum,
    size: [usize; 2],
}

impl Pose {
    /// Fits the mapping to marks in a photo of `size` px.
    ///
    /// # Errors
    /// Fewer than four marks; marks that are in a line, repeated, crossed, mirrored, outside
    /// the photo or no numbers; places that no camera sees so.
    pub fn fit(marks: &[Mark], size: [usize; 2], known: &Beforehand) -> Outcome<Self> {
        refused::check(marks, size)?;
        let pairs = pairs(marks);
        let model = Model::new(&pairs, size);
        let start = model.start(&pairs).ok_or_else(refused::loose)?;
        let minimum = solve(&model, marks, start)?;
        let at = &minimum.unknowns;
        let homography = model.homography(at).ok_or_else(refused::loose)?;
        let back = homography.inverse().ok_or_else(refused::loose)?;
        let fits = left_out(&model, marks, &minimum)?;
        let squares: f64 = fits.iter().map(|m| m.left_px.square_length()).sum();
        let camera = camera(&model, &minimum, &homography, marks, size, known);
        Ok(Self {
            rms_px: (squares / marks.len() as f64).sqrt(),
            marks: fits,
            camera,
            homography,
            back,
            lens: model.lens(at),
            model,
            minimum,
            size,
        })
    }

    /// Where a place at `height` mm above the table is seen. Without a known camera the
    /// height does not matter. `None` behind the camera, or beyond what the lens can bend;
    /// it may lie outside the photo.
    #[inline]
    pub fn pixel(&self, p: Point<Table>, height: f64) -> Option<Point<Photo>> {
        let p = match &self.camera {
            Some(camera) if height != 0.0 => camera.shadow(p, height)?,
            _ => p,
        };
        let ideal = self.homography.point(p)?;
        Some(self.lens.bend(ideal.cast_unit())?.cast_unit())
    }

    /// What is seen at `q`, if it lies at `height` mm above the table. `None` above the
    /// horizon.
    pub fn place(&self, q: Point<Photo>, height: f64) -> Option<Point<Table>> {
        let ideal = self.lens.straighten(q.cast_unit())?;
        let p = self.back.point(ideal.cast_unit())?;
        match &self.camera {
            Some(camera) if height != 0.0 => camera.lifted(p, height),
            _ => Some(p),
        }
    }

    /// Whether a px lies in the photo.
    pub fn holds(&self, q: Point<Photo>) -> bool {
        let within = |v: f64, top: usize| v >= 0.0 && v < top as f64;
        within(q.x, self.size[0]) && within(q.y, self.size[1])
    }

    /// Standard error of [`Pose::place`] where `p` is seen, at `height`. Wider than believed
    /// where the marks scatter more. `None` where nothing is seen.
    pub fn sure(&self, p: Point<Table>, height: f64) -> Option<Sure> {
        let on_plane = match &self.camera {
            Some(camera) if height != 0.0 => camera.shadow(p, height)?,
            _ => p,
        };
        let slope = slope(&self.model, &self.minimum.unknowns, on_plane)?;
        let all: SMatrix<f64, UNKNOWNS, UNKNOWNS> = self.covariance();
        let whole = (slope * all * slope.transpose()).trace() / 2.0;
        // With the lens held: the Schur complement.
        let kk = all.fixed_view::<2, 2>(8, 8).into_owned().try_inverse()?;
        let hk = all.fixed_view::<8, 2>(0, 8).into_owned();
        let held = all.fixed_view::<8, 8>(0, 0) - hk * kk * hk.transpose();
        let own = slope.fixed_columns::<8>(0);
        let marks = ((own * held * own.transpose()).trace() / 2.0).max(0.0);
        Some(Sure {
            marks: marks.sqrt() * self.widened(),
            lens: (whole - marks).max(0.0).sqrt(),
            height: self.camera.map_or(0.0, |c| c.error(p, height)),
        })
    }

    fn covariance(&self) -> SMatrix<f64, UNKNOWNS, UNKNOWNS> {
        SMatrix::from_fn(|r, c| self.minimum.covariance[(r, c)])
    }

    /// How many px a millimetre has at `p` in the direction in which it has the most, and
    /// the least. `None` where nothing is seen.
    pub fn px_per_mm(&self, p: Point<Table>) -> Option<(f64, f64)> {
        let seen = self.model.seen(&self.minimum.unknowns, p)?;
        let sizes = seen.by_place.singular_values();
        Some((sizes.max(), sizes.min()))
    }

    /// How likely sound marks scatter at least so much; 1 where none is to spare.
    pub fn chance(&self) -> f64 {
        chance_of_more(self.minimum.chi2(), self.minimum.freedom())
    }

    /// By how much the stated error is widened: the marks scatter more than was believed,
    /// and more than chance. 1 where they don't.
    pub fn widened(&self) -> f64 {
        let freedom = self.minimum.freedom();
        if freedom == 0 || self.chance() >= 0.01 {
            return 1.0;
        }
        (self.minimum.chi2() / freedom as f64).sqrt().max(1.0)
    }

    /// k1 and k2 about the photo's middle in units of half its diagonal, each with its
    /// standard error; `None` if the marks do not tell them.
    pub fn lens(&self) -> Option<[(f64, f64); 2]> {
        let one = |k: usize| {
            let variance = self.minimum.covariance[(8 + k, 8 + k)];
            (self.minimum.unknowns[8 + k], variance.max(0.0).sqrt())
        };
        (one(0).1 * MEASURED < BELIEVED[0]).then(|| [one(0), one(1)])
    }

    /// The marks that may be wrong, most likely first: sound ones are called so once in a
    /// thousand. Several where the others can't tell which of them it is; all that stand out
    /// where no single one explains it.
    pub fn wrong(&self) -> Vec<usize> {
        let mut out: Vec<usize> = (0..self.marks.len())
            .filter(|k| self.marks[*k].chance < SLIP)
            .collect();
        out.sort_by(|a, b| self.marks[*a].chance.total_cmp(&self.marks[*b].chance));
        let alone = out.iter().filter(|k| self.marks[**k].others >= 0.01);
        let alone: Vec<usize> = alone.copied().collect();
        if alone.is_empty() { out } else { alone }
    }

    /// What the person should know, one sentence each.
    pub fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let n = self.marks.len();
        if n == 4 {
            notes.push(
                "Four marks check neither one another nor the lens; give six or more.".into(),
            );
        }
        let wrong = self.wrong();
        let name = |k: &usize| self.marks[*k].name.as_str();
        if let [one] = wrong.as_slice() {
            let by = self.marks[*one].without_mm.map_or(0.0, |v| v.length());
            notes.push(format!(
                "{} lies {} mm from where the other marks put it; check its place on the table and in the photo, and leave it out if in doubt.",
                name(one),
                short((by * 10.0).round() / 10.0)
            ));
        } else if !wrong.is_empty() {
            let names: Vec<&str> = wrong.iter().map(name).collect();
            notes.push(format!(
                "A mark is wrong, and the others can't tell which of {} it is; check them, or give more marks.",
                names.join(", ")
            ));
        }
        match self.lens() {
            Some([(k1, error), _]) => notes.push(format!(
                "The lens bends by {:.2} ± {:.2} % at the photo's corner, and that is taken out.",
                100.0 * k1,
                100.0 * error
            )),
            None => notes.push(
                "The marks do not tell what the lens bends, so its usual amount is in the stated error; give marks in the middle and out to the photo's edge to have it taken out."
                    .into(),
            ),
        }
        notes
    }
}

fn pairs(marks: &[Mark]) -> Vec<(Point<Table>, Point<Photo>)> {
    marks.iter().map(|m| (m.table, m.px)).collect()
}

/// A mark's covariance in the photo, px².
fn spread(mark: &Mark, by_place: &Matrix2<f64>) -> Matrix2<f64> {
    let own = Matrix2::identity() * (mark.px_error * mark.px_error);
    own + by_place * by_place.transpose() * (mark.table_error * mark.table_error)
}

fn solve(model: &Model, marks: &[Mark], start: DVector<f64>) -> Outcome<Minimum> {
    let mut at = start;
    let mut found = None;
    for _ in 0..REWEIGHED {
        let mut roots = Vec::with_capacity(marks.len());
        for m in marks {
            let seen = model.seen(&at, m.table).ok_or_else(refused::astray)?;
            let root = spread(m, &seen.by_place).cholesky();
            let root = root.and_then(|c| c.l().try_inverse());
            roots.push(root.ok_or_else(refused::loose)?);
        }
        let rows = 2 * marks.len() + 2;
        let minimum = marquardt(at.clone(), |at| {
            let mut r = DVector::zeros(rows);
            let mut j = DMatrix::zeros(rows, UNKNOWNS);
            for (k, (m, root)) in marks.iter().zip(&roots).enumerate() {
                let seen = model.seen(at, m.table)?;
                let left = root * Vector2::new(seen.px.x - m.px.x, seen.px.y - m.px.y);
                r.fixed_rows_mut::<2>(2 * k).copy_from(&left);
                j.fixed_view_mut::<2, UNKNOWNS>(2 * k, 0)
                    .copy_from(&(root * seen.by_unknown));
            }
            for (k, sigma) in BELIEVED.iter().enumerate() {
                r[rows - 2 + k] = at[8 + k] / sigma;
                j[(rows - 2 + k, 8 + k)] = 1.0 / sigma;
            }
            Some((r, j))
        });
        let minimum = minimum.map_err(|stuck| match stuck {
            Stuck::Loose => refused::loose(),
            Stuck::TooFew | Stuck::Astray => refused::astray(),
        })?;
        let moved = (&minimum.unknowns - &at).amax();
        at = minimum.unknowns.clone();
        found = Some(minimum);
        if moved < 1e-10 {
            break;
        }
    }
    found.ok_or_else(refused::loose)
}

/// ∂ place / ∂ unknowns, mm, of what is seen where `p` is seen.
fn slope(model: &Model, unknowns: &DVector<f64>, p: Point<Table>) -> Option<Slope> {
    let seen = model.seen(unknowns, p)?;
    // With other unknowns another px shows p; this one shows a place as far to the other
    // side.
    Some(-seen.by_place.try_inverse()? * seen.by_unknown)
}

fn left_out(model: &Model, marks: &[Mark], minimum: &Minimum) -> Outcome<Vec<MarkFit>> {
    let mut fits = Vec::with_capacity(marks.len());
    for (k, m) in marks.iter().enumerate() {
        let seen = model.seen(&minimum.unknowns, m.table);
        let seen = seen.ok_or_else(refused::astray)?;
        let mut fit = MarkFit {
            name: m.name.clone(),
            left_px: seen.px - m.px,
            without_mm: None,
            chance: 1.0,
            others: 0.0,
        };
        if marks.len() > 4 && marks.len() <= LEFT_OUT {
            let mut others = marks.to_vec();
            others.remove(k);
            if let Some((off, chance, rest)) = foretold(model, &others, m, minimum) {
                fit.without_mm = Some(off);
                fit.chance = chance;
                fit.others = rest;
            }
        }
        fits.push(fit);
    }
    Ok(fits)
}

/// How far off one mark lies by the others alone, mm; how likely that is; and how likely
/// the others' own scatter.
fn foretold(
    model: &Model,
    others: &[Mark],
    mark: &Mark,
    near: &Minimum,
) -> Option<(Vector<Table>, f64, f64)> {
    let table: Vec<_> = others.iter().map(|m| m.table.to_array()).collect();
    if in_line(&table, refused::LINE).is_some() {
        return None;
    }
    let found = solve(model, others, near.unknowns.clone()).ok()?;
    let seen = model.seen(&found.unknowns, mark.table)?;
    let off = Vector2::new(mark.px.x - seen.px.x, mark.px.y - seen.px.y);
    let by = &seen.by_unknown;
    let all: SMatrix<f64, UNKNOWNS, UNKNOWNS> = SMatrix::from_fn(|r, c| found.covariance[(r, c)]);
    let spread = spread(mark, &seen.by_place) + by * all * by.transpose();
    let chi2 = (off.transpose() * spread.try_inverse()? * off)[(0, 0)];
    let mm = seen.by_place.try_inverse()? * off;
    let rest = chance_of_more(found.chi2(), found.freedom());
    Some((Vector::new(mm.x, mm.y), chance_of_more(chi2, 2), rest))
}

fn camera(
    model: &Model,
    minimum: &Minimum,
    homography: &Homography<Table, Photo>,
    marks: &[Mark],
    size: [usize; 2],
    known: &Beforehand,
) -> Option<Camera> {
    let corner = |far: fn(f64, f64) -> f64, along: fn(f64, f64) -> f64| {
        let over = |of: fn(&Mark) -> f64, pick: fn(f64, f64) -> f64| {
            marks.iter().map(of).reduce(pick).unwrap_or(0.0)
        };
        Point::new(over(|m| m.table.x, far), over(|m| m.table.y, along))
    };
    let low: fn(f64, f64) -> f64 = f64::min;
    let high: fn(f64, f64) -> f64 = f64::max;
    let places = [
        corner(low, low),
        corner(high, low),
        corner(high, high),
        corner(low, high),
    ];
    let mut by = SMatrix::<f64, 8, 8>::zeros();
    for (k, p) in places.iter().enumerate() {
        let seen = model.seen(&minimum.unknowns, *p)?;
        by.fixed_view_mut::<2, 8>(2 * k, 0)
            .copy_from(&seen.ideal_by);
    }
    let own: SMatrix<f64, 8, 8> = SMatrix::from_fn(|r, c| minimum.covariance[(r, c)]);
    Camera::of(
        homography,
        places,
        &(by * own * by.transpose()),
        size,
        known,
    )
}

#[cfg(test)]
mod tests;
