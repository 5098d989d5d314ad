//! How far two colours look apart.

use super::lab::Lab;

/// CIEDE2000 (ISO/CIE 11664-6) with kL = kC = kH = 1, in the steps of Sharma, Wu & Dalal,
/// Color Res. Appl. 30(1), 2005. About 1 is just visible side by side.
///
/// It is no metric: it fits small differences (to about 5), and jumps a little where hues lie
/// opposite.
pub fn ciede2000(one: Lab, two: Lab) -> f64 {
    let (c1, c2) = (one.a.hypot(one.b), two.a.hypot(two.b));
    // Greys are given a little more of a*.
    let stretch = 1.0 + 0.5 * (1.0 - fading((c1 + c2) / 2.0));
    let (a1, a2) = (stretch * one.a, stretch * two.a);
    let (c1, c2) = (a1.hypot(one.b), a2.hypot(two.b));
    let (h1, h2) = (hue(a1, one.b), hue(a2, two.b));

    let grey = c1 * c2 == 0.0;
    let turn = match h2 - h1 {
        _ if grey => 0.0,
        d if d > 180.0 => d - 360.0,
        d if d < -180.0 => d + 360.0,
        d => d,
    };
    let dl = two.l - one.l;
    let dc = c2 - c1;
    let dh = 2.0 * (c1 * c2).sqrt() * (turn / 2.0).to_radians().sin();

    let l = (one.l + two.l) / 2.0;
    let c = (c1 + c2) / 2.0;
    let h = match h1 + h2 {
        sum if grey => sum,
        sum if (h1 - h2).abs() <= 180.0 => sum / 2.0,
        sum if sum < 360.0 => (sum + 360.0) / 2.0,
        sum => (sum - 360.0) / 2.0,
    };
    let cos = |degrees: f64| degrees.to_radians().cos();
    let t = 1.0 - 0.17 * cos(h - 30.0) + 0.24 * cos(2.0 * h) + 0.32 * cos(3.0 * h + 6.0)
        - 0.20 * cos(4.0 * h - 63.0);
    let off = (l - 50.0).powi(2);
    let sl = 1.0 + 0.015 * off / (20.0 + off).sqrt();
    let sc = 1.0 + 0.045 * c;
    let sh = 1.0 + 0.015 * c * t;
    let blue = 30.0 * (-((h - 275.0) / 25.0).powi(2)).exp();
    let rt = -2.0 * fading(c) * (2.0 * blue).to_radians().sin();

    let (l, c, h) = (dl / sl, dc / sc, dh / sh);
    (l * l + c * c + h * h + rt * c * h).max(0.0).sqrt()
}

/// √(C⁷ / (C⁷ + 25⁷))
fn fading(chroma: f64) -> f64 {
    let c7 = chroma.powi(7);
    (c7 / (c7 + 25f64.powi(7))).sqrt()
}

/// Degrees, 0 to 360; 0 for grey.
fn hue(a: f64, b: f64) -> f64 {
    if a == 0.0 && b == 0.0 {
        return 0.0;
    }
    let h = b.atan2(a).to_degrees();
    if h < 0.0 { h + 360.0 } else { h }
}
