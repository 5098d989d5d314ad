//! Highlights that are blown out: their colour is not in the photo.

use super::{About, Warning};
use crate::photo::{Picture, Pose};
use crate::space::{Bounds, Photo, Point, Table};

/// A channel at or above this share of the highest code is blown out: 253 of 255, for
/// compression moves it a little.
const FULL: f32 = 0.991;
/// A smaller share of what is looked at does not matter: glints of thread. *Estimate.*
const SHARE: f64 = 0.002;
/// Pixels or places that are looked at, a side.
const LOOKED: usize = 1000;
/// The photo's parts by which a place is named, a side.
const PARTS: usize = 3;

/// Whether parts of the whole photo are blown out.
pub fn blown(picture: &Picture) -> Option<Warning> {
    let step = picture.width.max(picture.height).div_ceil(LOOKED);
    let (mut parts, mut all) = ([[0usize; PARTS]; PARTS], 0usize);
    for y in (step / 2..picture.height).step_by(step) {
        for x in (step / 2..picture.width).step_by(step) {
            all += 1;
            if full(picture, x, y) {
                parts[PARTS * y / picture.height][PARTS * x / picture.width] += 1;
            }
        }
    }
    let count: usize = parts.iter().flatten().sum();
    let share = count as f64 / all.max(1) as f64;
    if share < SHARE {
        return None;
    }
    let spots = (0..PARTS).flat_map(|r| (0..PARTS).map(move |c| (r, c)));
    let (r, c) = spots.max_by_key(|(r, c)| parts[*r][*c])?;
    let (row, column) = (
        ["upper", "middle", "lower"][r],
        ["left", "middle", "right"][c],
    );
    let place = match (row, column) {
        ("middle", "middle") => "in the middle".to_owned(),
        ("middle", side) => format!("at the {side}"),
        (side, "middle") => format!("in the {side} middle"),
        (row, side) => format!("at the {row} {side}"),
    };
    Some(Warning {
        about: About::Blown,
        text: text(share, "the photo", &place),
        at: None,
    })
}

/// Whether parts of the table within some bounds, such as the cloth's, are blown out.
pub fn blown_within(picture: &Picture, pose: &Pose, bounds: Bounds<Table>) -> Option<Warning> {
    let step = bounds.width().max(bounds.height()) / LOOKED as f64;
    if !(step > 0.0 && step.is_finite()) {
        return None;
    }
    let many = |length: f64| ((length / step).ceil() as usize).max(1);
    let (columns, rows) = (many(bounds.width()), many(bounds.height()));
    let (mut count, mut all) = (0usize, 0usize);
    let mut sum = Point::<Table>::zero();
    for r in 0..rows {
        for c in 0..columns {
            let p = bounds.min + Point::new(c as f64 + 0.5, r as f64 + 0.5).to_vector() * step;
            let Some(q) = pose.pixel(p, 0.0).filter(|q: &Point<Photo>| pose.holds(*q)) else {
                continue;
            };
            all += 1;
            if full(picture, q.x as usize, q.y as usize) {
                count += 1;
                sum += p.to_vector();
            }
        }
    }
    let share = count as f64 / all.max(1) as f64;
    if share < SHARE {
        return None;
    }
    let at = (sum.to_vector() / count as f64).to_point();
    let place = format!("about ({:.0}, {:.0}) mm", at.x, at.y);
    Some(Warning {
        about: About::Blown,
        text: text(share, "this part of the table", &place),
        at: Some(at),
    })
}

fn full(picture: &Picture, x: usize, y: usize) -> bool {
    picture.code(x, y).iter().any(|v| *v >= FULL)
}

fn text(share: f64, of: &str, place: &str) -> String {
    let percent = 100.0 * share;
    let share = if percent < 10.0 {
        format!("{percent:.1} %")
    } else {
        format!("{percent:.0} %")
    };
    format!(
        "{share} of {of} is so bright that its colour is lost, most of it {place}: take the photo darker (exposure −1 or −2), or turn the lamp away."
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::{Beforehand, Mark};

    fn photo(bright: impl Fn(usize, usize) -> bool) -> Picture {
        let pixels = (0..240usize).flat_map(|y| (0..320usize).map(move |x| (x, y)));
        let codes = pixels.flat_map(|(x, y)| {
            if bright(x, y) {
                // One channel is enough.
                [255, 240, 200]
            } else {
                [180, 252, 120]
            }
        });
        Picture::from_srgb(320, 240, codes.collect()).unwrap()
    }

    #[test]
    fn a_blown_corner_is_told_with_its_share_and_place() {
        let warning = blown(&photo(|x, y| x >= 256 && y >= 192)).unwrap();
        assert!(
            warning.text.starts_with("4.0 % of the photo"),
            "{}",
            warning.text
        );
        assert!(warning.text.contains("at the lower right") && warning.text.contains("darker"));
    }

    #[test]
    fn bright_cloth_and_glints_are_not_blown() {
        assert_eq!(blown(&photo(|_, _| false)), None);
        assert_eq!(blown(&photo(|x, y| x % 40 == 3 && y % 40 == 5)), None);
    }

    #[test]
    fn outside_the_cloth_it_does_not_matter() {
        let picture = photo(|x, _| x < 60);
        let marks = [[0.0, 0.0], [320.0, 0.0], [320.0, 240.0], [0.0, 240.0]].map(|px| Mark {
            name: format!("{px:?}"),
            table: Point::new(px[0], 240.0 - px[1]),
            px: px.into(),
            px_error: 0.1,
            table_error: 0.0,
        });
        let pose = Pose::fit(&marks, [320, 240], &Beforehand::default()).unwrap();
        let cloth = Bounds::new(Point::new(80.0, 20.0), Point::new(300.0, 200.0));
        assert_eq!(blown_within(&picture, &pose, cloth), None);
        let all = Bounds::new(Point::new(0.0, 0.0), Point::new(320.0, 240.0));
        let warning = blown_within(&picture, &pose, all).unwrap();
        let at = warning.at.unwrap();
        assert!(
            (at.x - 30.0).abs() < 2.0 && (at.y - 120.0).abs() < 2.0,
            "{at:?}"
        );
        assert!(
            warning.text.starts_with("19 % of this part"),
            "{}",
            warning.text
        );
    }
}
