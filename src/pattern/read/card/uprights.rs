//! The card's upright edges. Where the edge as seen changes from the foot of the card's side
//! to its rim, one looks along a line that goes straight up from the foot: all its places
//! stand on one place of the table.

use super::camera::Camera;
use super::edge::Place;
use crate::space::{Point, Table};

/// mm: how far a place may lie off the line of an upright, for pixels and blur.
const OFF: f64 = 0.2;
/// The sine of the angle within which the edge is seen to run along an upright.
const ALONG: f64 = 0.35;

/// Puts the places that lie on an upright where it stands. `low` are the places as they are
/// without, `is_foot` tells where the foot of the card's side is what is seen.
pub fn stood(
    places: &[Place],
    is_foot: &[bool],
    low: &mut [Point<Table>],
    camera: Camera,
    thickness: f64,
) {
    let n = places.len() as i64;
    if n < 40 {
        return;
    }
    let index = |k: i64| k.rem_euclid(n) as usize;
    let at = |k: i64| places[index(k)].table;
    for k in 0..n {
        for step in [1, -1] {
            if !is_foot[index(k)] || is_foot[index(k + step)] {
                continue;
            }
            // Away from the camera's foot, as the rim is moved against the foot.
            let away = at(k) - camera.foot;
            let length = away.length() * thickness / camera.height;
            let up = away.normalize();
            // Noise may have put the change anywhere on the upright: back to where it begins.
            let mut start = k;
            while (k - start).abs() < n / 4 && (at(k) - at(start)).length() < length {
                let run = at(start + step) - at(start - 2 * step);
                if run.dot(up) <= 0.0 || run.cross(up).abs() > ALONG * run.length() {
                    break;
                }
                start -= step;
            }
            let base = low[index(start)] - at(start);
            let mut next = start + step;
            while (next - start).abs() < n / 4 {
                let from = at(next) - at(start);
                let high = from.dot(up);
                if high < -OFF || high >= length || from.cross(up).abs() > OFF {
                    break;
                }
                low[index(next)] = at(next) - up * high + base;
                next += step;
            }
        }
    }
}
