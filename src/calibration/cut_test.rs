//! The cut test: a strip of light on a scrap of the real cloth, cut the usual way and
//! measured, tells what the hand and its tool add to every edge, and what scale is left.

use crate::fault::{Fault, Outcome};
use crate::measure::Unit;

/// The strip that is lit: length and width, mm.
pub const STRIP: [f64; 2] = [240.0, 60.0];

/// Standard deviation of one reading of the strip, mm (estimate: a steel rule).
pub const READING: f64 = 0.3;

/// A reading further from the strip than this, mm, is another strip, or a slip.
const FURTHEST: f64 = 12.0;

/// Two readings of one length differ by no more than this, mm: 4 standard deviations of
/// a difference.
const APART: f64 = 4.0 * std::f64::consts::SQRT_2 * READING;

/// What the strip said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredTrim {
    /// So much the hand leaves outside each edge, mm; negative: it cuts inside.
    pub edge: f64,
    /// So much longer all lengths come out, as a share of one.
    pub scale: f64,
    /// Covariance of the two.
    covariance: [[f64; 2]; 2],
}

/// What a strip's two lengths, each read twice, say.
///
/// With w and l the strip's width and length, o what the hand leaves at each edge, and s
/// the scale: w′ = w(1 + s) + 2o, l′ = l(1 + s) + 2o.
///
/// # Errors
/// A reading that is no such strip's, or two readings that disagree.
pub fn cut_test(length: [f64; 2], width: [f64; 2]) -> Outcome<MeasuredTrim> {
    let [l, w] = STRIP;
    for (name, want, [a, b]) in [("length", l, length), ("width", w, width)] {
        let far = [a, b]
            .into_iter()
            .find(|v| v.is_nan() || (v - want).abs() > FURTHEST);
        if let Some(v) = far {
            return Err(Fault::input(
                format!(
                    "the strip's {name} is given as {}, and its light is {}",
                    Unit::Mm.show(v),
                    Unit::Mm.show(want)
                ),
                "check the number and its unit; if it is right, set the table anew",
            ));
        }
        if (a - b).abs() > APART {
            return Err(Fault::input(
                format!(
                    "the two readings of the {name}, {} and {}, do not agree",
                    Unit::Mm.show(a),
                    Unit::Mm.show(b)
                ),
                "read both again, at the same places of the strip",
            ));
        }
    }
    let [long, wide] = [length, width].map(|[a, b]| (a + b) / 2.0);
    let scale = ((long - wide) - (l - w)) / (l - w);
    let edge = (wide - w * (1.0 + scale)) / 2.0;
    // Linear in the two means, each with half a reading's variance.
    let v = READING * READING / 2.0;
    let by_long = [-w / (2.0 * (l - w)), 1.0 / (l - w)];
    let by_wide = [l / (2.0 * (l - w)), -1.0 / (l - w)];
    let c = |i: usize, k: usize| v * (by_long[i] * by_long[k] + by_wide[i] * by_wide[k]);
    Ok(MeasuredTrim {
        edge,
        scale,
        covariance: [[c(0, 0), c(0, 1)], [c(1, 0), c(1, 1)]],
    })
}

impl MeasuredTrim {
    /// Standard errors of the edge, mm, and of the scale.
    pub fn errors(&self) -> [f64; 2] {
        [self.covariance[0][0].sqrt(), self.covariance[1][1].sqrt()]
    }

    /// What a length comes out too long by, cut by the same hand, and the standard error
    /// of that, mm.
    pub fn of(&self, mm: f64) -> [f64; 2] {
        let c = &self.covariance;
        let variance = 4.0 * c[0][0] + 2.0 * 2.0 * mm * c[0][1] + mm * mm * c[1][1];
        [2.0 * self.edge + mm * self.scale, variance.max(0.0).sqrt()]
    }

    /// Whether the edge is more than reading the strip explains (at two standard errors).
    pub fn is_worth_it(&self) -> bool {
        self.edge.abs() > 2.0 * self.errors()[0]
    }

    /// Whether the scale is.
    pub fn is_out_of_scale(&self) -> bool {
        self.scale.abs() > 2.0 * self.errors()[1]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_short_side_tells_the_hand_and_the_long_one_the_scale() {
        // 0.4 mm outside each edge, and all 0.2 % too long.
        let (o, s) = (0.4, 0.002);
        let cut = |v: f64| v * (1.0 + s) + 2.0 * o;
        let got = cut_test([cut(240.0); 2], [cut(60.0); 2]).unwrap();
        assert!((got.edge - o).abs() < 1e-12 && (got.scale - s).abs() < 1e-12);
        assert!((got.of(300.0)[0] - (0.6 + 0.8)).abs() < 1e-9);
        assert!(got.is_worth_it() && !got.is_out_of_scale());
        let large = |v: f64| v * 1.006;
        let got = cut_test([large(240.0); 2], [large(60.0); 2]).unwrap();
        assert!(!got.is_worth_it() && got.is_out_of_scale());
    }

    #[test]
    fn another_strip_and_readings_that_disagree_are_refused() {
        let said = cut_test([9.5, 9.5], [60.0, 60.0]).unwrap_err().to_string();
        assert!(said.contains("length is given as 9.5 mm"), "{said}");
        let said = cut_test([240.0, 240.0], [58.0, 62.0])
            .unwrap_err()
            .to_string();
        assert!(said.contains("width, 58.0 mm and 62.0 mm"), "{said}");
        assert!(cut_test([f64::NAN, 240.0], [60.0, 60.0]).is_err());
    }
}
