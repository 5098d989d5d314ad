//! Left against right: two parts cut from one piece, one of them turned over, compared at
//! mirrored places.

use super::shading::Shading;
use crate::adjust::quantile;
use crate::colour::{Lab, ciede2000};
use crate::fault::{Fault, Outcome};
use crate::raster::Raster;
use crate::shape::Region;
use crate::space::{Piece, Point, Rigid};

/// Up to this far apart partners match, CIEDE2000: grade 4 of the grey scale for change in
/// colour (ISO 105-A02, 1.7 ± 0.3; from memory). There it is CIELAB's difference of greys,
/// which for middle greys is CIEDE2000's. That a pair of shoes or sleeves should keep to
/// grade 4 is common practice for new goods.
pub const MATCH: f64 = 1.7;
/// Up to this far apart they are near: grade 3 of the same scale (3.4 ± 0.4; from memory).
/// Seen side by side, passed over on two feet: *our choice*.
pub const NEAR: f64 = 3.4;
/// Share of the piece that must be seen on both cloths for a verdict (our choice).
const ENOUGH: f64 = 0.5;
/// Standard errors to either side within which the truth is looked for.
const SURE: f64 = 2.0;

/// One of two partners: the cloth that it lies on and how it lies there.
#[derive(Debug)]
pub struct Half<'a, S> {
    pub shading: &'a Shading<S>,
    pub pose: Rigid<Piece, S>,
}

/// The difference at one place of the piece, between low-passed colours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    pub at: Point<Piece>,
    /// CIEDE2000, less what noise makes of it.
    pub apart: f64,
    pub one: Lab,
    pub two: Lab,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// 95 % of all places are within [`MATCH`].
    Match,
    /// Within [`NEAR`].
    Near,
    Apart,
    /// Too little is seen of one of them, or what the photos may be wrong by spans from a
    /// match to apart.
    CantTell,
}

/// Two partners compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Partners {
    /// CIEDE2000, mean over the piece, noise taken off.
    pub mean: f64,
    /// 95 % of the piece is less apart than this.
    pub most: f64,
    pub worst: Apart,
    /// How much lighter (L*) the second is, on the mean.
    pub lighter: f64,
    /// Share of the piece that was compared, 0 to 1.
    pub seen: f64,
    /// One standard error of `most`, from both maps' doubt and the noise, CIEDE2000.
    pub error: f64,
    pub verdict: Verdict,
}

/// Places of the piece that were compared, and how many there would be.
fn compared<A, B>(
    one: &Half<'_, A>,
    two: &Half<'_, B>,
    net: &Region<Piece>,
) -> (Vec<(Apart, f64)>, usize) {
    let Some(bounds) = net.bounds() else {
        return (Vec::new(), 0);
    };
    let pitch = one.shading.window().max(two.shading.window()) / 4.0;
    // No piece is 10 m long: what is absurd is not walked.
    if bounds.width().max(bounds.height()) > 10_000.0 {
        return (Vec::new(), 0);
    }
    let grid = Raster::over(bounds, pitch, |_, _, _| ());
    let (here, there) = (one.pose.mapper(), two.pose.mapper());
    let (mut found, mut all) = (Vec::new(), 0);
    super::fill::rows_in(net, &grid, |row, columns| {
        for column in columns {
            all += 1;
            let at = grid.centre(column, row);
            let (Some(a), Some(b)) = (one.shading.soft(here(at)), two.shading.soft(there(at)))
            else {
                continue;
            };
            let noise2 = a.noise2 + b.noise2;
            let apart = ciede2000(a.lab, b.lab);
            let apart = Apart {
                at,
                apart: (apart * apart - noise2).max(0.0).sqrt(),
                one: a.lab,
                two: b.lab,
            };
            found.push((apart, noise2));
        }
    });
    (found, all)
}

/// The differences place by place, a quarter of the low pass apart: for a picture. `net` is what
/// lies inside the piece's net line, as drawn.
pub fn differences<A, B>(one: &Half<'_, A>, two: &Half<'_, B>, net: &Region<Piece>) -> Vec<Apart> {
    let found = compared(one, two, net).0.into_iter();
    found.map(|(apart, _)| apart).collect()
}

/// Compares two partners. Each place of the piece is looked at where either pose puts it, so
/// that the one turned over is compared at mirrored places. `net` is what lies inside the net
/// line, as drawn.
///
/// Places are low-passed by each cloth's own window; what the cells' noise makes of a
/// difference is taken off in squares.
///
/// # Errors
/// If there is no place whose shade is known on both cloths.
pub fn partners<A, B>(
    one: &Half<'_, A>,
    two: &Half<'_, B>,
    net: &Region<Piece>,
) -> Outcome<Partners> {
    let (found, all) = compared(one, two, net);
    let worst = found.iter().map(|(a, _)| *a);
    let mut values: Vec<f32> = found.iter().map(|(a, _)| a.apart as f32).collect();
    let (Some(worst), Some(most)) = (
        worst.max_by(|a, b| a.apart.total_cmp(&b.apart)),
        quantile(&mut values, 0.95),
    ) else {
        return Err(Fault::input(
            "the shade under both partners is not known at any place",
            "take photos that show the cloth under both, or lay them elsewhere",
        ));
    };
    let count = found.len() as f64;
    let mean = |of: fn(&(Apart, f64)) -> f64| found.iter().map(of).sum::<f64>() / count;
    let doubt = one.shading.map().doubt().colour.powi(2) + two.shading.map().doubt().colour.powi(2);
    let error = (doubt + mean(|(_, noise2)| *noise2)).sqrt();
    let seen = count / all as f64;
    let graded = |apart: f64| match apart {
        v if v <= MATCH => Verdict::Match,
        v if v <= NEAR => Verdict::Near,
        _ => Verdict::Apart,
    };
    let spans = graded(most - SURE * error) == Verdict::Match
        && graded(most + SURE * error) == Verdict::Apart;
    Ok(Partners {
        mean: mean(|(a, _)| a.apart),
        most,
        worst,
        lighter: mean(|(a, _)| a.two.l - a.one.l),
        seen,
        error,
        verdict: if spans || seen < ENOUGH {
            Verdict::CantTell
        } else {
            graded(most)
        },
    })
}
