//! The rigid motion in the plane that takes measured points onto where they
//! were measured again, and how sure it is at any place.
//!
//! Both sides carry error: a mark is pointed at once, and later again. If the
//! errors of each point are alike in every direction, turning does not change
//! them, and the sum of both variances is the variance of the misfit. So the
//! closed form below is the maximum likelihood estimate with errors on both
//! sides, not only on one.

use std::fmt;

/// One point, measured twice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Where it was.
    pub from: [f64; 2],
    /// Where it is now.
    pub to: [f64; 2],
    /// Standard deviation of `from`, per axis; ≥ 0.
    pub sigma_from: f64,
    /// Standard deviation of `to`, per axis; ≥ 0, and not both zero.
    pub sigma_to: f64,
}

impl Pair {
    /// A point measured twice with the same standard deviation per axis.
    pub fn even(from: [f64; 2], to: [f64; 2], sigma: f64) -> Self {
        Self {
            from,
            to,
            sigma_from: sigma,
            sigma_to: sigma,
        }
    }

    fn weight(&self) -> f64 {
        1.0 / (self.sigma_from * self.sigma_from + self.sigma_to * self.sigma_to)
    }
}

/// Why points fix no motion; points are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Degenerate {
    /// Fewer than two points.
    TooFew { given: usize },
    /// A coordinate or standard deviation is not a usable number.
    NotANumber { point: usize },
    /// All points lie in one place, before or now, so nothing tells the turn.
    Coincident,
    /// Every turn fits as well: as when the points were turned face down.
    NoTurn,
}

impl fmt::Display for Degenerate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Degenerate::TooFew { given } => write!(f, "{given} of the two points needed are given"),
            Degenerate::NotANumber { point } => write!(f, "point {} is not a number", point + 1),
            Degenerate::Coincident => write!(f, "all points lie in one place"),
            Degenerate::NoTurn => write!(f, "no turn fits the points better than another"),
        }
    }
}

impl std::error::Error for Degenerate {}

/// A fitted motion: `p ↦ R(turn)·p + shift`.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Radians, counter-clockwise, −π to π.
    pub turn: f64,
    /// Where the origin goes.
    pub shift: [f64; 2],
    /// For each point, where it is now less where the motion puts it.
    pub residuals: Vec<[f64; 2]>,
    /// Root mean square of the residuals' lengths (unweighted).
    pub rms: f64,
    /// Σ of squared residuals, each over its variance: χ² with [`Fit::freedom`]
    /// degrees of freedom if the standard deviations are right and the motion
    /// was rigid.
    pub chi2: f64,
    /// 2n − 3: what is measured beyond what a motion needs.
    pub freedom: usize,
    /// The weighted middle of the points as they were: there turn and shift
    /// are uncorrelated.
    pub centroid: [f64; 2],
    /// Variance of the motion's place at the centroid, per axis: 1/Σw.
    pub var_shift: f64,
    /// Variance of the turn, rad²: 1/Σw·r², r from the centroid.
    pub var_turn: f64,
    /// The points as they were, about the centroid, with their weights.
    arms: Vec<([f64; 2], f64)>,
}

/// A 2×2 covariance.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spread {
    pub xx: f64,
    pub xy: f64,
    pub yy: f64,
}

impl Spread {
    /// Root of the expected squared length.
    pub fn length(&self) -> f64 {
        (self.xx + self.yy).sqrt()
    }

    /// Standard deviation along a direction (of any length but zero).
    pub fn along(&self, [x, y]: [f64; 2]) -> f64 {
        let over = x * x + y * y;
        ((self.xx * x * x + 2.0 * self.xy * x * y + self.yy * y * y) / over)
            .max(0.0)
            .sqrt()
    }

    /// This and `other`'s, which are independent, together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            xx: self.xx + other.xx,
            xy: self.xy + other.xy,
            yy: self.yy + other.yy,
        }
    }

    /// The covariance of `gain`·e, e having variance `var` per axis.
    pub fn through(gain: [[f64; 2]; 2], var: f64) -> Self {
        let [[a, b], [c, d]] = gain;
        Self {
            xx: var * (a * a + b * b),
            xy: var * (a * c + b * d),
            yy: var * (c * c + d * d),
        }
    }
}

/// The weighted least squares motion, in closed form.
///
/// With both sides about their weighted centroids, the turn is
/// atan2(Σw·(p×q), Σw·(p·q)): the plane case of W. Kabsch, *A solution for the
/// best rotation to relate two sets of vectors*, Acta Cryst. A32 (1976) 922,
/// and of S. Umeyama, IEEE PAMI 13 (1991) 376. A point's weight is the inverse
/// of the sum of its two variances.
///
/// # Errors
/// See [`Degenerate`].
pub fn fit(pairs: &[Pair]) -> Result<Fit, Degenerate> {
    check(pairs)?;
    let weights: Vec<f64> = pairs.iter().map(Pair::weight).collect();
    let total: f64 = weights.iter().sum();
    let middle = |side: fn(&Pair) -> [f64; 2]| -> [f64; 2] {
        let sum = pairs.iter().zip(&weights).fold([0.0; 2], |s, (p, w)| {
            [s[0] + w * side(p)[0], s[1] + w * side(p)[1]]
        });
        [sum[0] / total, sum[1] / total]
    };
    let (centroid, target) = (middle(|p| p.from), middle(|p| p.to));
    let (mut dot, mut cross, mut inertia, mut inertia_to) = (0.0, 0.0, 0.0, 0.0);
    let mut arms = Vec::with_capacity(pairs.len());
    for (pair, &w) in pairs.iter().zip(&weights) {
        let (p, q) = (less(pair.from, centroid), less(pair.to, target));
        dot += w * (p[0] * q[0] + p[1] * q[1]);
        cross += w * (p[0] * q[1] - p[1] * q[0]);
        inertia += w * (p[0] * p[0] + p[1] * p[1]);
        inertia_to += w * (q[0] * q[0] + q[1] * q[1]);
        arms.push((p, w));
    }
    // Coordinates of metres keep about 1e-13 of themselves in a difference.
    let far = |c: [f64; 2]| total * 1e-20 * (c[0] * c[0] + c[1] * c[1]);
    if inertia <= far(centroid) || inertia_to <= far(target) {
        return Err(Degenerate::Coincident);
    }
    if dot.hypot(cross) <= 1e-9 * (inertia * inertia_to).sqrt() {
        return Err(Degenerate::NoTurn);
    }
    let turn = cross.atan2(dot);
    let (sin, cos) = turn.sin_cos();
    let turned = |p: [f64; 2]| [cos * p[0] - sin * p[1], sin * p[0] + cos * p[1]];
    let shift = less(target, turned(centroid));
    let residuals: Vec<[f64; 2]> = pairs
        .iter()
        .zip(&arms)
        .map(|(pair, (arm, _))| less(less(pair.to, target), turned(*arm)))
        .collect();
    let squares = residuals.iter().map(|r| r[0] * r[0] + r[1] * r[1]);
    let chi2 = squares.clone().zip(&weights).map(|(s, w)| w * s).sum();
    let rms = (squares.sum::<f64>() / pairs.len() as f64).sqrt();
    Ok(Fit {
        turn,
        shift,
        residuals,
        rms,
        chi2,
        freedom: 2 * pairs.len() - 3,
        centroid,
        var_shift: 1.0 / total,
        var_turn: 1.0 / inertia,
        arms,
    })
}

fn check(pairs: &[Pair]) -> Result<(), Degenerate> {
    if pairs.len() < 2 {
        return Err(Degenerate::TooFew { given: pairs.len() });
    }
    let usable = |p: &Pair| {
        let places = [p.from, p.to].concat();
        places.iter().all(|v| v.abs() < 1e9)
            && p.sigma_from >= 0.0
            && p.sigma_to >= 0.0
            && p.weight().is_finite()
            && p.weight() > 0.0
    };
    match pairs.iter().position(|p| !usable(p)) {
        Some(point) => Err(Degenerate::NotANumber { point }),
        None => Ok(()),
    }
}

impl Fit {
    /// Where the motion takes `p`.
    pub fn point(&self, p: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = self.turn.sin_cos();
        [
            cos * p[0] - sin * p[1] + self.shift[0],
            sin * p[0] + cos * p[1] + self.shift[1],
        ]
    }

    /// The covariance of where the motion puts `p`, by the stated standard
    /// deviations of both sides, in the axes of the points *as they were*
    /// (so that motions fitted to the same points can be compared).
    pub fn spread_at(&self, p: [f64; 2]) -> Spread {
        let [x, y] = less(p, self.centroid);
        Spread {
            xx: self.var_shift + y * y * self.var_turn,
            xy: -x * y * self.var_turn,
            yy: self.var_shift + x * x * self.var_turn,
        }
    }

    /// The standard error of place at `p`: the root of the expected squared
    /// distance between where the motion puts `p` and where it truly is.
    pub fn error_at(&self, p: [f64; 2]) -> f64 {
        self.spread_at(p).length()
    }

    /// How an error e of point `k` (of `to` less `from`, in the axes of the
    /// points as they were) moves the place of `p`: gain·e, to first order.
    /// [`Fit::spread_at`] is the sum of these gains' covariances.
    pub fn gain(&self, k: usize, p: [f64; 2]) -> [[f64; 2]; 2] {
        let [x, y] = less(p, self.centroid);
        let ([u, v], w) = self.arms[k];
        let (s, t) = (w * self.var_shift, w * self.var_turn);
        // A turn by δ moves p by δ·(−y, x), and δ = t·(u e_y − v e_x).
        [[s + t * y * v, -t * y * u], [-t * x * v, s + t * x * u]]
    }

    /// The factor by which the points scatter more (or less) than their
    /// stated standard deviations: √(χ²/freedom). Times a stated standard
    /// deviation it is the one that the points themselves suggest; from few
    /// points it is a rough figure (with one degree of freedom, ± 70 %).
    pub fn unit(&self) -> f64 {
        (self.chi2 / self.freedom as f64).sqrt()
    }
}

fn less(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}
