//! Light spread over a plane of pixels.

/// Gaussian blur of standard deviation `sigma` pixels over a plane of rows of
/// `width`. Beyond its borders the plane is dark. A `sigma` that is not
/// positive and finite changes nothing.
pub(super) fn gaussian(plane: &mut [f32], width: usize, sigma: f64) {
    if !(sigma > 0.0 && sigma.is_finite()) {
        return;
    }
    let reach = (4.0 * sigma).ceil() as usize;
    let weight = |i: usize| (-0.5 * (i as f64 / sigma).powi(2)).exp();
    let sum = 1.0 + 2.0 * (1..=reach).map(weight).sum::<f64>();
    // From the middle outwards, of sum 1 over both sides.
    let kernel: Vec<f32> = (0..=reach).map(|i| (weight(i) / sum) as f32).collect();
    along_lines(plane, width, |line| {
        let sharp = line.to_vec();
        let at = |i: Option<usize>| i.and_then(|i| sharp.get(i)).copied().unwrap_or(0.0);
        for (i, value) in line.iter_mut().enumerate() {
            *value = kernel[0] * sharp[i];
            for (k, weight) in kernel.iter().enumerate().skip(1) {
                *value += weight * (at(i.checked_sub(k)) + at(i.checked_add(k)));
            }
        }
    });
}

/// As [`gaussian`], to the eye, at a cost that does not grow with `sigma`:
/// three running means, whose variances add up to the same.
pub(super) fn soft(plane: &mut [f32], width: usize, sigma: f64) {
    // A mean over 2r + 1 pixels has the variance r(r + 1)/3.
    let reach = (sigma * sigma + 0.25).sqrt() - 0.5;
    // Written so that NaN fails.
    if !(1.0..1e6).contains(&reach) {
        return gaussian(plane, width, sigma);
    }
    let reach = reach.round() as usize;
    along_lines(plane, width, |line| {
        for _ in 0..3 {
            running_mean(line, reach);
        }
    });
}

/// The mean of each pixel and its `reach` neighbours on both sides.
fn running_mean(line: &mut [f32], reach: usize) {
    let sharp = line.to_vec();
    let share = 1.0 / (2 * reach + 1) as f64;
    let at = |i: usize| f64::from(sharp.get(i).copied().unwrap_or(0.0));
    let mut sum: f64 = (0..reach).map(at).sum();
    for (i, value) in line.iter_mut().enumerate() {
        sum += at(i + reach);
        *value = (sum * share) as f32;
        if let Some(left) = i.checked_sub(reach) {
            sum -= at(left);
        }
    }
}

/// Passes first every row of a plane, then every column, through `f`.
fn along_lines(plane: &mut [f32], width: usize, f: impl Fn(&mut [f32])) {
    if width == 0 {
        return;
    }
    plane.chunks_exact_mut(width).for_each(&f);
    let mut column = Vec::with_capacity(plane.len() / width);
    for x in 0..width {
        column.clear();
        column.extend(plane.iter().skip(x).step_by(width));
        f(&mut column);
        for (to, from) in plane.iter_mut().skip(x).step_by(width).zip(&column) {
            *to = *from;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sum, and variances along x and y, of a point of light after `blur`.
    fn spot(side: usize, blur: impl Fn(&mut [f32], usize)) -> [f64; 3] {
        let middle = side / 2;
        let mut plane = vec![0.0; side * (side + 2)];
        plane[(middle + 1) * side + middle] = 1.0;
        blur(&mut plane, side);
        let mut found = [0.0; 3];
        for (i, &v) in plane.iter().enumerate() {
            let (x, y) = ((i % side) as f64, (i / side) as f64);
            found[0] += f64::from(v);
            found[1] += f64::from(v) * (x - middle as f64).powi(2);
            found[2] += f64::from(v) * (y - middle as f64 - 1.0).powi(2);
        }
        found
    }

    #[test]
    fn both_keep_the_light_and_spread_it_as_told() {
        let [sum, x, y] = spot(41, |p, w| gaussian(p, w, 2.0));
        assert!((sum - 1.0).abs() < 1e-5);
        assert!((x - 4.0).abs() < 0.01 && (y - 4.0).abs() < 0.01, "{x} {y}");
        // Whole pixels of reach: 5·6 = 30 is the nearest to 36.
        let [sum, x, y] = spot(61, |p, w| soft(p, w, 30.0_f64.sqrt()));
        assert!((sum - 1.0).abs() < 1e-5);
        assert!(
            (x - 30.0).abs() < 0.01 && (y - 30.0).abs() < 0.01,
            "{x} {y}"
        );
    }

    #[test]
    fn no_width_is_no_blur() {
        for sigma in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let [sum, x, y] = spot(9, |p, w| soft(p, w, sigma));
            assert_eq!([sum, x, y], [1.0, 0.0, 0.0]);
        }
        gaussian(&mut [], 0, 1.0);
    }
}
