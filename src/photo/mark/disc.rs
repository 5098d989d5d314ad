//! A disc: the patch about a click that differs from its ground, and the ellipse that its
//! edge is.

use super::grey::Grey;
use crate::adjust::median;
use nalgebra::{Matrix5, Vector5};

/// Smallest disc, px of radius.
const LEAST: f64 = 2.5;
/// Edge readings round it.
const RAYS: usize = 72;
/// Less contrast is no mark; see `ring`.
const CONTRAST: f64 = 0.08;
const CLEAR: f64 = 5.0;
/// Its edge must keep to an ellipse, as a share of its radius.
const ROUND: f64 = 0.045;

/// A disc's middle, its standard error on each axis, its mean radius, px, and whether it is
/// light. Nearest to `click`, its patch within `reach` of it.
pub(super) fn find(grey: &Grey, click: [f64; 2], reach: f64) -> Option<([f64; 2], f64, f64, bool)> {
    let [w, h] = grey.size();
    let mut rim: Vec<f64> = (0..w)
        .flat_map(|c| [grey.value(c, 0), grey.value(c, h - 1)])
        .chain((0..h).flat_map(|r| [grey.value(0, r), grey.value(w - 1, r)]))
        .collect();
    let ground = median(&mut rim);
    let found = [false, true].into_iter().filter_map(|light| {
        let patch = patch(grey, click, reach, ground, light)?;
        let (middle, error) = ellipse(grey, &patch)?;
        let off = (middle[0] - click[0]).hypot(middle[1] - click[1]);
        (off <= reach + patch.radius).then_some((middle, error, patch.radius, light))
    });
    let off = |m: &[f64; 2]| (m[0] - click[0]).hypot(m[1] - click[1]);
    found.min_by(|a, b| off(&a.0).total_cmp(&off(&b.0)))
}

struct Patch {
    middle: [f64; 2],
    /// Of the disc of its area.
    radius: f64,
    /// Second moments about the middle.
    moments: [f64; 3],
}

/// Pixels nearer to the extreme than to the ground, that hang together with the one by the
/// click that differs the most.
fn patch(grey: &Grey, click: [f64; 2], reach: f64, ground: f64, light: bool) -> Option<Patch> {
    let [w, h] = grey.size();
    let sign = if light { 1.0 } else { -1.0 };
    let depth = |c: usize, r: usize| sign * (grey.value(c, r) - ground);
    let [cx, cy] = grey.pixel(click);
    let near = reach.ceil() as usize;
    let spots = (cy.saturating_sub(near)..(cy + near + 1).min(h))
        .flat_map(|r| (cx.saturating_sub(near)..(cx + near + 1).min(w)).map(move |c| (c, r)));
    let (c, r) = spots.max_by(|a, b| depth(a.0, a.1).total_cmp(&depth(b.0, b.1)))?;
    let most = depth(c, r);
    let contrast = most / (2.0 * ground + sign * most).abs().max(1e-9);
    if contrast < CONTRAST || most < CLEAR * grey.noise {
        return None;
    }
    let mut seen = vec![false; w * h];
    let mut todo = vec![(c, r)];
    seen[r * w + c] = true;
    let mut all = Vec::new();
    while let Some((c, r)) = todo.pop() {
        // A patch that leaves the part is no disc of this size.
        if c == 0 || r == 0 || c + 1 == w || r + 1 == h {
            return None;
        }
        all.push(grey.centre(c, r));
        for (c, r) in [(c - 1, r), (c + 1, r), (c, r - 1), (c, r + 1)] {
            if !seen[r * w + c] && depth(c, r) > most / 2.0 {
                seen[r * w + c] = true;
                todo.push((c, r));
            }
        }
    }
    let n = all.len() as f64;
    let middle: [f64; 2] = std::array::from_fn(|k| all.iter().map(|p| p[k]).sum::<f64>() / n);
    let moment = |a: usize, b: usize| {
        let each = all.iter().map(|p| (p[a] - middle[a]) * (p[b] - middle[b]));
        each.sum::<f64>() / n + if a == b { 1.0 / 12.0 } else { 0.0 }
    };
    let moments = [moment(0, 0), moment(0, 1), moment(1, 1)];
    let root = (moments[0] * moments[2] - moments[1] * moments[1])
        .max(0.0)
        .sqrt();
    let radius = (n / std::f64::consts::PI).sqrt();
    // A full ellipse of these moments has the area 4π √det.
    let full = n / (4.0 * std::f64::consts::PI * root);
    (radius >= LEAST && (full - 1.0).abs() < 0.1).then_some(Patch {
        middle,
        radius,
        moments,
    })
}

/// The ellipse through the edge, by rays from the middle: its own middle, and the standard
/// error of that.
fn ellipse(grey: &Grey, patch: &Patch) -> Option<([f64; 2], f64)> {
    let [xx, xy, yy] = patch.moments;
    let mut points = Vec::with_capacity(RAYS);
    for k in 0..RAYS {
        let (sin, cos) = (std::f64::consts::TAU * k as f64 / RAYS as f64).sin_cos();
        // The ellipse of these moments: vᵀ M⁻¹ v = 4.
        let det = xx * yy - xy * xy;
        let q = (yy * cos * cos - 2.0 * xy * cos * sin + xx * sin * sin) / det;
        let out = 2.0 / q.sqrt();
        let reach = (0.6 * out).min(5.0);
        let at = |t: f64| {
            grey.at(
                patch.middle[0] + (out + t) * cos,
                patch.middle[1] + (out + t) * sin,
            )
        };
        let side = |s: f64| (at(s * reach) + at(s * (reach - 0.4))) / 2.0;
        let (inner, outer) = (side(-1.0), side(1.0));
        if (inner - outer).abs() < 4.0 * grey.noise.max(1e-6) {
            continue;
        }
        let count = 20;
        let each =
            (0..count).map(|i| at(reach * ((f64::from(i) + 0.5) * 2.0 / f64::from(count) - 1.0)));
        let mean = each.sum::<f64>() / f64::from(count);
        let off = reach * (2.0 * mean - inner - outer) / (inner - outer);
        if off.abs() < 0.9 * reach {
            let far = (out + off) / patch.radius;
            points.push([far * cos, far * sin]);
        }
    }
    if points.len() < RAYS * 3 / 4 {
        return None;
    }
    // A x² + B x y + C y² + D x + E y = 1, twice: the second time without what stands out.
    let mut kept = points.clone();
    let mut found = conic(&kept)?;
    for _ in 0..2 {
        let mut all: Vec<f64> = kept.iter().map(|p| radial(&found, p).abs()).collect();
        let knee = 3.0 * (median(&mut all) / 0.6745).max(1e-4);
        kept.retain(|p| radial(&found, p).abs() <= knee);
        found = conic(&kept)?;
    }
    let [a, b, c, d, e] = <[f64; 5]>::from(found);
    let det = 4.0 * a * c - b * b;
    if det <= 0.0 || kept.len() < RAYS / 2 {
        return None;
    }
    let own = [(b * e - 2.0 * c * d) / det, (b * d - 2.0 * a * e) / det];
    let squares: f64 = points.iter().map(|p| radial(&found, p).powi(2)).sum();
    let scatter = (squares / points.len() as f64).sqrt();
    if scatter > ROUND + 0.1 / patch.radius {
        return None;
    }
    // x̂ of n even readings on a circle: σ √(2 / n); readings alike over two px count once.
    let apart = (std::f64::consts::TAU * patch.radius / 2.0).min(kept.len() as f64);
    let middle = std::array::from_fn(|k| patch.middle[k] + patch.radius * own[k]);
    Some((middle, scatter * patch.radius * (2.0 / apart).sqrt()))
}

fn row([x, y]: &[f64; 2]) -> Vector5<f64> {
    Vector5::new(x * x, x * y, y * y, *x, *y)
}

fn conic(points: &[[f64; 2]]) -> Option<Vector5<f64>> {
    let (mut n, mut r) = (Matrix5::zeros(), Vector5::zeros());
    for p in points {
        let row = row(p);
        n += row * row.transpose();
        r += row;
    }
    Some(n.cholesky()?.solve(&r))
}

/// How far a point lies from a conic, to first order, in radii.
fn radial(conic: &Vector5<f64>, p: &[f64; 2]) -> f64 {
    let [a, b, c, d, e] = <[f64; 5]>::from(*conic);
    let [x, y] = *p;
    let slope = (2.0 * a * x + b * y + d).hypot(b * x + 2.0 * c * y + e);
    (conic.dot(&row(p)) - 1.0) / slope.max(1e-9)
}
