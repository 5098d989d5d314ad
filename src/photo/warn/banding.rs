//! Coloured bands across a photo: a projector that shows its colours one after the other, or
//! a lamp that flickers, read row by row.

use super::{About, Warning};
use crate::adjust::median;
use crate::photo::Picture;

/// The photo is looked at in so many strips across the bands, and so many steps along them.
const STRIPS: usize = 12;
const STEPS: usize = 640;
/// Columns that are read in a strip, at most.
const READ: usize = 48;
/// Bands over the photo, at least and at most. *Estimate*, of 5 to 35 ms from first to last
/// row, and colours that come round 60 to 720 times a second.
const FEWEST: f64 = 2.5;
const MOST: f64 = 60.0;
/// Amplitude of a colour's share from which bands matter, relative. *Estimate.*
const MATTERS: f64 = 0.006;
/// A period stands out of the others by so many times their median: of noise, one in thirty
/// million does (Rayleigh).
const CLEAR: f64 = 5.0;
/// Changes beyond so many times the median's size are none of a wave.
const JUMP: f64 = 6.0;
/// Strips that must show it: as strongly as half the common amplitude, and in its phase to
/// within this, in periods.
const SHOWN: f64 = 0.75;
const PHASE: f64 = 0.12;
/// Rows are read in step: bands lie along them to within so much of a period across the
/// whole photo. Stripes of a cloth hardly do.
const ALONG: f64 = 0.08;

/// Whether bands lie across the photo, along its rows or, if it was turned, its columns.
pub fn banding(picture: &Picture) -> Option<Warning> {
    let found = [false, true]
        .into_iter()
        .filter_map(|turned| bands(picture, turned));
    let (bands, amplitude) = found.max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(Warning {
        about: About::Banding,
        text: format!(
            "About {bands:.0} coloured bands of {:.1} % lie across the photo, as a projector or a flickering lamp makes them: take it in room light with the projector dark, or with a slower shutter (1/30 s or more).",
            100.0 * amplitude
        ),
        at: None,
    })
}

/// How many bands, and their amplitude.
fn bands(picture: &Picture, turned: bool) -> Option<(f64, f64)> {
    // Of both ratios of colours, the one with more in it.
    let both = ratios(picture, turned);
    let found = both.iter().filter_map(|columns| {
        let strips = columns.chunks(columns.len().div_ceil(STRIPS));
        let strips: Vec<Vec<f64>> = strips.filter_map(profile).collect();
        if strips.len() * 2 <= STRIPS {
            return None;
        }
        common(&profile(columns)?, &strips)
    });
    found.max_by(|a, b| a.1.total_cmp(&b.1))
}

/// Along so many columns across the photo, step by step, the logarithms of red by green and
/// of blue by green; NaN where it is too dark or too bright.
fn ratios(picture: &Picture, turned: bool) -> [Vec<Vec<f64>>; 2] {
    let (across, along) = match turned {
        false => (picture.width, picture.height),
        true => (picture.height, picture.width),
    };
    let steps = STEPS.min(along);
    let many = (STRIPS * READ).min(across);
    let light = |a: usize, l: usize| match turned {
        false => picture.light(a, l),
        true => picture.light(l, a),
    };
    let pair = |a: usize, step: usize| {
        let (first, last) = (along * step / steps, along * (step + 1) / steps);
        let mut sum = [0.0f32; 3];
        let (mut count, skip) = (0.0, ((last - first) / 4).max(1));
        for l in (first..last).step_by(skip) {
            for (sum, v) in sum.iter_mut().zip(light(a, l)) {
                *sum += v;
            }
            count += 1.0;
        }
        let [r, g, b] = sum.map(|v| f64::from(v / count));
        let known = [r, g, b].iter().all(|v| (0.006..0.97).contains(v));
        if known {
            [(r / g).ln(), (b / g).ln()]
        } else {
            [f64::NAN; 2]
        }
    };
    let columns = (0..many).map(|column| {
        let a = across * column / many;
        (0..steps)
            .map(|step| pair(a, step))
            .map(|[r, b]| (r, b))
            .unzip()
    });
    let (red, blue) = columns.unzip();
    [red, blue]
}

/// How the ratio changes from step to step along some columns: the medians over them. So an
/// edge of cloth or a stripe, which few columns have at the same step, is no change. `None`
/// if too little of them is known.
fn profile(columns: &[Vec<f64>]) -> Option<Vec<f64>> {
    let steps = columns.first()?.len();
    let mut known = 0;
    let mut out = Vec::with_capacity(steps);
    for step in 1..steps {
        let changes = columns.iter().map(|c| c[step] - c[step - 1]);
        let mut changes: Vec<f64> = changes.filter(|v| v.is_finite()).collect();
        if changes.len() * 3 > columns.len() {
            known += 1;
            out.push(median(&mut changes));
        } else {
            out.push(0.0);
        }
    }
    // An edge that lies along the rows all the way: bands change step by step.
    let mut sizes: Vec<f64> = out.iter().map(|v| v.abs()).collect();
    let knee = JUMP * median(&mut sizes);
    for v in &mut out {
        if v.abs() > knee {
            *v = 0.0;
        }
    }
    (known * 2 > steps).then_some(out)
}

/// The period that all strips have in common, from the changes over all and in each strip:
/// bands over the photo, and amplitude. `None` if there is none.
fn common(shared: &[f64], strips: &[Vec<f64>]) -> Option<(f64, f64)> {
    let n = shared.len();
    let most = MOST.min(n as f64 / 4.0);
    let steps = ((most - FEWEST) / 0.25) as usize;
    let waves: Vec<(f64, f64)> = (0..=steps)
        .map(|k| FEWEST + 0.25 * k as f64)
        .map(|f| (f, size(wave(shared, f))))
        .collect();
    // Noise has all periods alike in its changes.
    let noise = median(&mut waves.iter().map(|w| w.1).collect::<Vec<f64>>());
    // A wave's amplitude from that of its changes.
    let whole = |f: f64, change: f64| change / (2.0 * (std::f64::consts::PI * f / n as f64).sin());
    let (bands, change) = waves
        .into_iter()
        .filter(|(_, change)| *change > CLEAR * noise)
        .max_by(|a, b| whole(a.0, a.1).total_cmp(&whole(b.0, b.1)))?;
    if whole(bands, change) < MATTERS {
        return None;
    }
    let wave = wave(shared, bands);
    let phase = wave[1].atan2(wave[0]);
    // Each strip's phase by the common one, in periods, and its strength.
    let each: Vec<(f64, f64)> = strips
        .iter()
        .map(|s| {
            let own = self::wave(s, bands);
            let off = (own[1].atan2(own[0]) - phase) / std::f64::consts::TAU;
            (off - off.round(), size(own))
        })
        .collect();
    let shown = each
        .iter()
        .filter(|(off, size)| off.abs() < PHASE && *size > 0.5 * change);
    if (shown.clone().count() as f64) < SHOWN * strips.len() as f64 {
        return None;
    }
    // A slope of the phase over the strips, by the median of all pairs (Theil and Sen).
    let mut slopes = Vec::new();
    for (i, a) in each.iter().enumerate() {
        for (j, b) in each.iter().enumerate().skip(i + 1) {
            let near = a.0.abs() < 2.0 * PHASE && b.0.abs() < 2.0 * PHASE;
            if near {
                slopes.push((b.0 - a.0) / (j - i) as f64);
            }
        }
    }
    let lean = median(&mut slopes) * strips.len() as f64;
    (lean.abs() < ALONG).then_some((bands, whole(bands, change)))
}

/// Cosine and sine parts of a wave that comes round so many times.
fn wave(values: &[f64], times: f64) -> [f64; 2] {
    let n = values.len() as f64;
    let step = std::f64::consts::TAU * times / n;
    let (mut c, mut s) = (0.0, 0.0);
    // Turned step by step: sines of all angles would take longer than the rest.
    let (sin, cos) = step.sin_cos();
    let (mut x, mut y) = (1.0f64, 0.0f64);
    for v in values {
        c += v * x;
        s += v * y;
        (x, y) = (x * cos - y * sin, x * sin + y * cos);
    }
    [2.0 * c / n, 2.0 * s / n]
}

fn size([c, s]: [f64; 2]) -> f64 {
    c.hypot(s)
}

#[cfg(test)]
mod tests {
    use super::*;

    const W: usize = 480;
    const H: usize = 360;

    /// A striped cloth on a table with sheets, its light changed by `by` of place and
    /// channel.
    fn photo(tilt: f64, by: impl Fn(usize, usize) -> [f64; 3]) -> Picture {
        let mut seed = 9u32;
        let mut codes = Vec::with_capacity(3 * W * H);
        for y in 0..H {
            for x in 0..W {
                let cloth = (90..400).contains(&x) && (60..310).contains(&y);
                let sheet = x < 60 && (100..220).contains(&y);
                let across = y as f64 + tilt * x as f64;
                let v = if sheet {
                    [0.8, 0.8, 0.78]
                } else if !cloth {
                    [0.4, 0.33, 0.25]
                } else if (across / 14.0).floor() as i64 % 2 == 0 {
                    [0.1, 0.2, 0.35]
                } else {
                    [0.5, 0.45, 0.35]
                };
                let by = by(x, y);
                for k in 0..3 {
                    seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    let noise = f64::from(seed >> 8) / f64::from(1u32 << 24) - 0.5;
                    let light = (v[k] * by[k] + 0.02 * noise).clamp(0.0, 1.0);
                    let code = if light <= 0.003_130_8 {
                        12.92 * light
                    } else {
                        1.055 * light.powf(1.0 / 2.4) - 0.055
                    };
                    codes.push((255.0 * code).round() as u8);
                }
            }
        }
        Picture::from_srgb(W, H, codes).unwrap()
    }

    /// Colours in turn, a third of a period apart.
    fn wheel(at: f64, amplitude: f64) -> [f64; 3] {
        let turn = std::f64::consts::TAU / 3.0;
        [0.0, 1.0, 2.0].map(|k| 1.0 + amplitude * (at + k * turn).sin())
    }

    #[test]
    fn a_colour_wheels_bands_are_told_both_ways() {
        for amplitude in [0.02, 0.1] {
            let rows = photo(0.02, |_, y| {
                wheel(y as f64 * std::f64::consts::TAU / 51.0, amplitude)
            });
            let warning = banding(&rows).expect("bands along the rows");
            assert!(
                warning.text.starts_with("About 7 coloured bands"),
                "{}",
                warning.text
            );
            assert!(warning.text.contains("slower shutter"));
            let columns = photo(0.02, |x, _| {
                wheel(x as f64 * std::f64::consts::TAU / 40.0, amplitude)
            });
            let warning = banding(&columns).expect("bands along the columns");
            assert!(
                warning.text.starts_with("About 12 coloured bands"),
                "{}",
                warning.text
            );
        }
    }

    #[test]
    fn stripes_of_cloth_and_uneven_light_are_no_bands() {
        for tilt in [0.0, 0.02, 0.3] {
            assert_eq!(banding(&photo(tilt, |_, _| [1.0; 3])), None, "{tilt}");
        }
        let slope = |x: usize, y: usize| {
            let (u, v) = (x as f64 / W as f64, y as f64 / H as f64);
            [1.0 - 0.3 * u, 0.9 - 0.2 * v, 0.6 + 0.3 * u * v]
        };
        assert_eq!(banding(&photo(0.02, slope)), None);
        // Cloth dyed in soft waves: along the rows but not all over the photo, and all over
        // it but leaning by half a degree.
        let wave = |at: f64| wheel(at * std::f64::consts::TAU / 45.0, 0.15);
        let dyed = |x: usize, y: usize| match x {
            90..400 => wave(y as f64),
            _ => [1.0; 3],
        };
        assert_eq!(banding(&photo(0.3, dyed)), None);
        let leaning = |x: usize, y: usize| wave(y as f64 + 0.0087 * x as f64);
        assert_eq!(banding(&photo(0.3, leaning)), None);
    }
}
