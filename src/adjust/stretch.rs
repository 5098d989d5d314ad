//! Whether points that should have moved rigidly have been stretched.
//!
//! A rigid motion has three numbers and an affine one six; the three more are
//! an even stretch: by how much, along which direction, and across it. If they
//! take away more of the misfit than pointing errors would, χ² with three
//! degrees of freedom, the cloth has changed shape. One point in the wrong
//! place looks much the same, so from four points on the two are weighed
//! against each other.

use super::rigid::{Degenerate, Fit, Pair, fit};
use nalgebra::{Matrix3, Vector3};
use statrs::function::erf::erfc;
use statrs::function::gamma::gamma_ur;

/// How often honest pointing may be taken for a stretch: 1 in 100. The choice
/// is ours; the test is the likelihood ratio of nested linear models (K.-R.
/// Koch, *Parameter Estimation and Hypothesis Testing in Linear Models*, 1999,
/// section 4.2), with known variance. Single points are tried the same way
/// (W. Baarda, *A testing procedure for use in geodetic networks*, 1968).
pub const SIGNIFICANCE: f64 = 0.01;

/// The chance that χ² of `freedom` degrees of freedom exceeds `chi2`.
pub fn chance_of_more(chi2: f64, freedom: usize) -> f64 {
    match freedom {
        0 => 1.0,
        // Beyond that nothing is left, and the series takes long.
        _ if chi2 >= 1e6 => 0.0,
        n if chi2 > 0.0 => gamma_ur(n as f64 / 2.0, chi2 / 2.0),
        // A difference of two that are equal but for rounding.
        _ => 1.0,
    }
}

/// The chance that a normal error is greater in size than `sigmas` standard
/// deviations.
pub fn chance_of_size(sigmas: f64) -> f64 {
    erfc(sigmas.abs() / std::f64::consts::SQRT_2)
}

/// An even change of size, in the axes of the points as they were.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strain {
    /// Direction of the greater change, radians from x, 0 to π.
    pub direction: f64,
    /// Relative growth along it (0.003 is 3 mm a metre); negative: shrunk.
    pub along: f64,
    /// Relative growth across it.
    pub across: f64,
}

/// How the points were stretched.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    pub strain: Strain,
    /// How far the points reach along the strain's direction.
    pub reach: f64,
    /// The chance of so great a misfit by pointing alone.
    pub chance: f64,
}

/// What the misfit of a rigid fit comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// Pointing errors explain it.
    Rigid,
    /// It takes a stretch. With three points, or `Some` point named, one point
    /// in a wrong place would explain it too.
    Stretched {
        stretch: Stretch,
        or_point: Option<usize>,
    },
    /// One point, counted from 0, is off by this much, and the others agree.
    OnePoint { point: usize, off: [f64; 2] },
    /// Neither one point nor an even stretch explains it.
    Uneven,
}

/// Judges a fit of `pairs`.
///
/// # Errors
/// As [`fit`].
pub fn judge(pairs: &[Pair], rigid: &Fit) -> Result<Verdict, Degenerate> {
    if pairs.len() == 2 {
        return Ok(judge_two(pairs, rigid));
    }
    let whole = chance_of_more(rigid.chi2, rigid.freedom);
    let (strain, left) = match affine(pairs) {
        Some((strain, chi2)) => (Some(strain), chi2),
        // Points in a line tell the growth along it only.
        None => in_line(pairs, rigid),
    };
    // Degrees of freedom of the affine map beyond the rigid one.
    let more = if affine(pairs).is_some() { 3 } else { 1 };
    let by_stretch = chance_of_more(rigid.chi2 - left, more);
    if whole >= SIGNIFICANCE && by_stretch >= SIGNIFICANCE {
        return Ok(Verdict::Rigid);
    }
    let after_stretch = chance_of_more(left, rigid.freedom - more);
    let odd = if pairs.len() >= 4 {
        one_off(pairs)?
    } else {
        None
    };
    let odd = odd.filter(|o| o.chance >= SIGNIFICANCE);
    let stretched = strain
        .filter(|_| by_stretch < SIGNIFICANCE && after_stretch >= SIGNIFICANCE)
        .map(|strain| Stretch {
            reach: reach(pairs, strain.direction),
            strain,
            chance: by_stretch,
        });
    Ok(match (stretched, odd) {
        // A tenth as likely is no rival.
        (Some(stretch), Some(o)) if after_stretch >= 0.1 * o.chance => Verdict::Stretched {
            stretch,
            or_point: (o.chance > 0.1 * after_stretch).then_some(o.point),
        },
        (Some(stretch), None) => Verdict::Stretched {
            stretch,
            or_point: None,
        },
        (_, Some(o)) => Verdict::OnePoint {
            point: o.point,
            off: o.off,
        },
        (None, None) => Verdict::Uneven,
    })
}

/// Two points: only the distance between them can have changed.
fn judge_two(pairs: &[Pair], rigid: &Fit) -> Verdict {
    let chance = chance_of_more(rigid.chi2, 1);
    if chance >= SIGNIFICANCE {
        return Verdict::Rigid;
    }
    let [a, b] = [pairs[0].from, pairs[1].from];
    let [c, d] = [pairs[0].to, pairs[1].to];
    let (before, now) = (
        (b[0] - a[0]).hypot(b[1] - a[1]),
        (d[0] - c[0]).hypot(d[1] - c[1]),
    );
    Verdict::Stretched {
        stretch: Stretch {
            strain: Strain {
                direction: upper(b[0] - a[0], b[1] - a[1]),
                along: now / before - 1.0,
                across: 0.0,
            },
            reach: before,
            chance,
        },
        or_point: None,
    }
}

/// The direction of (x, y) or its opposite, radians, 0 to π.
fn upper(x: f64, y: f64) -> f64 {
    y.atan2(x).rem_euclid(std::f64::consts::PI)
}

fn reach(pairs: &[Pair], direction: f64) -> f64 {
    let (sin, cos) = direction.sin_cos();
    let along = pairs.iter().map(|p| cos * p.from[0] + sin * p.from[1]);
    along.clone().fold(f64::NEG_INFINITY, f64::max) - along.fold(f64::INFINITY, f64::min)
}

/// The weighted least squares affine map's strain, and the χ² it leaves.
/// `None` if the points lie in a line.
///
/// The map's linear part is R·U with U symmetric (polar decomposition); U's
/// eigenvalues are the growths and its eigenvectors their directions.
fn affine(pairs: &[Pair]) -> Option<(Strain, f64)> {
    let mut normal = Matrix3::zeros();
    let mut rhs = [Vector3::zeros(), Vector3::zeros()];
    let total: f64 = pairs.iter().map(weight).sum();
    let mid = |k: usize| pairs.iter().map(|p| weight(p) * p.from[k]).sum::<f64>() / total;
    let (mx, my) = (mid(0), mid(1));
    for p in pairs {
        let row = Vector3::new(p.from[0] - mx, p.from[1] - my, 1.0);
        normal += weight(p) * row * row.transpose();
        for (axis, sum) in rhs.iter_mut().enumerate() {
            *sum += weight(p) * p.to[axis] * row;
        }
    }
    // In a line (to a thousandth of their length) the cross growth is unknown.
    let (a, b, c) = (normal[(0, 0)], normal[(0, 1)], normal[(1, 1)]);
    let (half, root) = ((a + c) / 2.0, ((a - c) / 2.0).hypot(b));
    if half - root <= 1e-6 * (half + root) {
        return None;
    }
    let inverse = normal.try_inverse()?;
    let [r, s] = rhs.map(|v| inverse * v);
    let chi2 = pairs.iter().map(|p| {
        let row = Vector3::new(p.from[0] - mx, p.from[1] - my, 1.0);
        let e = (p.to[0] - r.dot(&row)).powi(2) + (p.to[1] - s.dot(&row)).powi(2);
        weight(p) * e
    });
    // AᵀA = U²: its eigenvalues are the squared growths.
    let (xx, xy, yy) = (
        r.x * r.x + s.x * s.x,
        r.x * r.y + s.x * s.y,
        r.y * r.y + s.y * s.y,
    );
    let (half, root) = ((xx + yy) / 2.0, ((xx - yy) / 2.0).hypot(xy));
    let long = 0.5 * (2.0 * xy).atan2(xx - yy);
    let (up, down) = (
        (half + root).sqrt() - 1.0,
        (half - root).max(0.0).sqrt() - 1.0,
    );
    let (direction, along, across) = if up.abs() >= down.abs() {
        (long, up, down)
    } else {
        (long + std::f64::consts::FRAC_PI_2, down, up)
    };
    let strain = Strain {
        direction: direction.rem_euclid(std::f64::consts::PI),
        along,
        across,
    };
    Some((strain, chi2.sum()))
}

/// Points in a line: the growth along it, and the χ² that it leaves.
fn in_line(pairs: &[Pair], rigid: &Fit) -> (Option<Strain>, f64) {
    let (sin, cos) = rigid.turn.sin_cos();
    let (mut dot, mut own, mut direction, mut longest) = (0.0, 0.0, 0.0, 0.0);
    for (p, e) in pairs.iter().zip(&rigid.residuals) {
        let arm = [p.from[0] - rigid.centroid[0], p.from[1] - rigid.centroid[1]];
        let turned = [cos * arm[0] - sin * arm[1], sin * arm[0] + cos * arm[1]];
        let square = arm[0] * arm[0] + arm[1] * arm[1];
        dot += weight(p) * (turned[0] * e[0] + turned[1] * e[1]);
        own += weight(p) * square;
        if square > longest {
            (longest, direction) = (square, upper(arm[0], arm[1]));
        }
    }
    let along = dot / own;
    let strain = Strain {
        direction,
        along,
        across: 0.0,
    };
    (Some(strain), rigid.chi2 - dot * along)
}

fn weight(p: &Pair) -> f64 {
    1.0 / (p.sigma_from * p.sigma_from + p.sigma_to * p.sigma_to)
}

struct Odd {
    point: usize,
    off: [f64; 2],
    /// The chance of the misfit of the others, by pointing alone.
    chance: f64,
}

/// The point without which the others agree best.
fn one_off(pairs: &[Pair]) -> Result<Option<Odd>, Degenerate> {
    let mut best: Option<Odd> = None;
    for point in 0..pairs.len() {
        let mut others = pairs.to_vec();
        let out = others.remove(point);
        let Ok(rest) = fit(&others) else { continue };
        let chance = chance_of_more(rest.chi2, rest.freedom);
        if best.as_ref().is_none_or(|b| chance > b.chance) {
            let at = rest.point(out.from);
            best = Some(Odd {
                point,
                off: [out.to[0] - at[0], out.to[1] - at[1]],
                chance,
            });
        }
    }
    Ok(best)
}
