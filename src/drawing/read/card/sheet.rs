//! The sheet of paper: found as what is bright, four-sided and of the right proportion.

use super::coarse::{Coarse, components};
use super::sides::{Sides, sides};
use crate::fault::{Fault, Outcome, short};
use crate::photo::Picture;
use crate::projection::Homography;
use crate::shape::{Hull, signed_area};
use crate::space::{Photo, Point, Table};

/// How many levels of light the picture is cut at.
const LEVELS: usize = 40;
/// Least share of the picture that the sheet takes: less is too coarse a measure.
const LEAST: f64 = 0.015;
/// How much of its hull a four-sided thing fills, seen in cells.
const FILLS: f64 = 0.96;
/// How far the proportion may be off: less than lies between A4 (1.414) and US letter
/// (1.294), and more than a coarse look and a tilt make.
const PROPORTION: f64 = 0.045;
/// A thing this much darker than the brightest sheet is no second sheet: white paper
/// reflects some 80 %, light card 60 %.
const DARKER: f64 = 0.75;
/// What lies within a four-sided thing is its lighter part if the whole has at least this
/// share of its light: light falls off across a sheet.
const WITHIN: f64 = 0.6;

pub type Corners = [Point<Photo>; 4];

/// The sheet as the photo shows it.
pub struct Sheet {
    /// Its sides, measured, from the lower left corner of the photo on: lower, right,
    /// upper, left.
    pub sides: Sides,
    /// Width and height as it lies in the photo, mm.
    pub size: [f64; 2],
}

impl Sheet {
    /// Its corners on the table, mm: its lower left corner is the origin.
    pub fn on_table(&self) -> [Point<Table>; 4] {
        on_table(self.size)
    }
}

fn on_table([w, h]: [f64; 2]) -> [Point<Table>; 4] {
    [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| Point::new(x, y))
}

/// The sheet whose corners lie near `corners`, in any order.
///
/// # Errors
/// If there is no such sheet.
pub fn near(picture: &Picture, corners: [[f64; 2]; 4], size: [f64; 2]) -> Outcome<Sheet> {
    let places = corners.map(|[x, y]| Point::new(x, y));
    let outside = |p: &Point<Photo>| {
        let (w, h) = (picture.width as f64, picture.height as f64);
        !(p.x >= 0.0 && p.y >= 0.0 && p.x <= w && p.y <= h)
    };
    if let Some(p) = places.iter().find(|p| outside(p)) {
        return Err(Fault::input(
            format!(
                "the sheet's corner at {}, {} px lies outside the photo",
                short(p.x),
                short(p.y)
            ),
            "give the sheet's four corners in px from the photo's upper left",
        ));
    }
    let hull = Hull::of(places);
    let ordered = hull.and_then(|h| upright(h.corners())).ok_or_else(|| {
        Fault::input(
            "the sheet's four corners do not make a four-sided figure",
            "give each corner of the sheet once",
        )
    })?;
    let reach = 0.012 * picture.diagonal();
    let size = as_it_lies(picture, &ordered, size).0;
    let sides = sides(picture, &ordered, reach)?;
    Ok(Sheet { sides, size })
}

/// The one sheet in the picture.
///
/// # Errors
/// If there is none, more than one, or one that is not wholly seen.
pub fn find(picture: &Picture, coarse: &Coarse, size: [f64; 2]) -> Outcome<Sheet> {
    let light = coarse.luminance();
    let mut found: Vec<(Corners, f64)> = Vec::new();
    let mut seen = Seen::default();
    for level in levels(&light) {
        let is: Vec<bool> = light.iter().map(|&l| l > level).collect();
        for component in components(coarse.width, coarse.height, &is) {
            let share = component.cells.len() as f64 / light.len() as f64;
            if share < LEAST {
                break;
            }
            let mean = component.cells.iter().map(|&c| f64::from(light[c]));
            let mean = mean.sum::<f64>() / component.cells.len() as f64;
            if component.at_edge {
                if share < 0.5 && is_bright(&light, level) {
                    seen.cut_off = seen.cut_off.max(mean);
                }
                continue;
            }
            let Some(corners) = quadrangle(coarse, &component.cells) else {
                let [x, y] = coarse.middle(component.cells[component.cells.len() / 2]);
                if !seen.is_part(Point::new(x, y), mean) {
                    seen.odd = seen.odd.max(mean);
                }
                continue;
            };
            let (_, off) = as_it_lies(picture, &corners, size);
            if off > PROPORTION {
                seen.others.push((corners, mean));
                continue;
            }
            found.push((corners, mean));
        }
    }
    let distinct = distinct(found, picture.diagonal());
    let reach = 3.0 * coarse.step as f64 + 4.0;
    let mut fault = None;
    let mut sheets = Vec::new();
    for (corners, mean) in distinct {
        match sides(picture, &corners, reach) {
            Ok(sides) => sheets.push((sides, corners, mean)),
            Err(e) => fault = Some(e),
        }
    }
    let brightest = sheets.iter().map(|s| s.2).fold(0.0, f64::max);
    sheets.retain(|s| s.2 >= DARKER * brightest);
    if sheets.len() > 1 {
        return Err(Fault::input(
            "there are two things in the photo that look like the sheet",
            "leave one sheet on the table, and take the photo again",
        ));
    }
    let Some((sides, corners, _)) = sheets.pop() else {
        return Err(fault.unwrap_or_else(|| seen.fault(size)));
    };
    let size = as_it_lies(picture, &corners, size).0;
    Ok(Sheet { sides, size })
}

/// The brightest that was seen when no sheet was: linear light, 0 for nothing.
#[derive(Default)]
struct Seen {
    cut_off: f64,
    /// Four-sided, in another proportion, each with its mean.
    others: Vec<(Corners, f64)>,
    /// Not four-sided.
    odd: f64,
}

impl Seen {
    /// Whether a thing at `p`, on the mean so bright, is a part of a four-sided one that was
    /// seen at a lower level.
    fn is_part(&self, p: Point<Photo>, mean: f64) -> bool {
        self.others.iter().any(|(corners, whole)| {
            // They go round with the inside on the right, as y runs down.
            let inside = |k: usize| {
                let from = corners[k];
                (corners[(k + 1) % 4] - from).cross(p - from) <= 0.0
            };
            *whole >= WITHIN * mean && (0..4).all(inside)
        })
    }

    fn fault(&self, size: [f64; 2]) -> Fault {
        let other = self.others.iter().map(|(_, mean)| *mean);
        let other = other.fold(0.0, f64::max);
        if other > self.cut_off.max(self.odd) {
            return Fault::input(
                format!(
                    "what looks like the sheet is not in the proportion of {} by {} mm",
                    short(size[0]),
                    short(size[1])
                ),
                "say with --sheet which sheet lies there: a4 (210 by 297), letter (215.9 by 279.4), or its two sides",
            );
        }
        if self.cut_off > self.odd {
            return Fault::input(
                "the sheet is cut off by the picture's edge",
                "take the photo again with the whole sheet and the whole card in view",
            );
        }
        Fault::input(
            "no sheet of paper with four free corners is seen in the photo",
            "lay one wholly in view on a darker, plain table, with nothing over its corners",
        )
    }
}

/// Whether light above `level` stands out from most of the picture.
fn is_bright(light: &[f32], level: f32) -> bool {
    let mut sorted = light.to_vec();
    sorted.sort_by(f32::total_cmp);
    level > 2.0 * sorted[sorted.len() / 3]
}

/// Levels from the dark to the bright, even in their ratios as light falls off.
fn levels(light: &[f32]) -> Vec<f32> {
    let mut sorted = light.to_vec();
    sorted.sort_by(f32::total_cmp);
    let at = |share: f64| sorted[((sorted.len() - 1) as f64 * share) as usize].max(1e-3);
    let (low, high) = (at(0.05), at(0.995));
    let step = (high / low).powf(1.0 / LEVELS as f32);
    (1..LEVELS as i32).map(|k| low * step.powi(k)).collect()
}

/// The four-sided figure that the cells fill, if they do, in the order of [`Sheet::sides`].
fn quadrangle(coarse: &Coarse, cells: &[usize]) -> Option<Corners> {
    // Only a row's ends can be corners of the hull.
    let mut ends = std::collections::BTreeMap::<usize, (usize, usize)>::new();
    for &cell in cells {
        let (x, y) = (cell % coarse.width, cell / coarse.width);
        let row = ends.entry(y).or_insert((x, x));
        *row = (row.0.min(x), row.1.max(x));
    }
    let step = coarse.step as f64;
    let corners: Vec<Point<Photo>> = ends
        .iter()
        .flat_map(|(&y, &(from, to))| {
            let at = |x: usize, y: usize| Point::new(x as f64 * step, y as f64 * step);
            [
                at(from, y),
                at(to + 1, y),
                at(from, y + 1),
                at(to + 1, y + 1),
            ]
        })
        .collect();
    let hull = Hull::of(corners)?;
    let hull = hull.corners();
    let whole = signed_area(hull).abs();
    let quad = largest(hull)?;
    (signed_area(&quad).abs() > FILLS * whole).then_some(())?;
    upright(&quad)
}

/// The largest four-sided figure on corners of a convex outline.
fn largest(hull: &[Point<Photo>]) -> Option<Corners> {
    let n = hull.len();
    let mut best: Option<(f64, [usize; 4])> = None;
    for i in 0..n {
        for j in i + 2..n {
            let away = |k: usize| (hull[j] - hull[i]).cross(hull[k] - hull[i]).abs();
            let one = (i + 1..j).max_by(|&a, &b| away(a).total_cmp(&away(b)));
            let other = (j + 1..n + i).max_by(|&a, &b| away(a % n).total_cmp(&away(b % n)));
            let (Some(one), Some(other)) = (one, other) else {
                continue;
            };
            let area = away(one) + away(other % n);
            if best.is_none_or(|(most, _)| area > most) {
                best = Some((area, [i, one, j, other % n]));
            }
        }
    }
    best.map(|(_, at)| at.map(|k| hull[k]))
}

/// Four corners of a convex figure so that they go round counter-clockwise to the eye, the
/// first side being the one that runs most nearly to the right.
fn upright(corners: &[Point<Photo>]) -> Option<Corners> {
    let mut four: Corners = corners.try_into().ok()?;
    // y runs down.
    if signed_area(&four) > 0.0 {
        four.reverse();
    }
    let right = |k: usize| {
        let side = four[(k + 1) % 4] - four[k];
        side.x / side.length()
    };
    let first = (0..4).max_by(|&a, &b| right(a).total_cmp(&right(b)))?;
    Some(std::array::from_fn(|k| four[(first + k) % 4]))
}

/// The sheet's size turned as it lies, and by how much the proportion is off at the focal
/// length that suits it best: from 20 to 90 mm on film, as telephones and cameras have.
fn as_it_lies(picture: &Picture, corners: &Corners, size: [f64; 2]) -> ([f64; 2], f64) {
    let off = |size: [f64; 2]| {
        let Some(h) = Homography::through(on_table(size), *corners) else {
            return f64::INFINITY;
        };
        let h = h.rows();
        let (cx, cy) = (picture.width as f64 / 2.0, picture.height as f64 / 2.0);
        let ratio = |f: f64| {
            let long = |c: usize| {
                let x = (h[0][c] - cx * h[2][c]) / f;
                let y = (h[1][c] - cy * h[2][c]) / f;
                x.hypot(y).hypot(h[2][c])
            };
            (long(0) / long(1)).ln()
        };
        let ends = [0.46, 0.65, 0.9, 1.3, 2.1].map(|f| ratio(f * picture.diagonal()));
        let least = ends.iter().copied().fold(f64::INFINITY, f64::min);
        let most = ends.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        least.max(-most).max(0.0)
    };
    let turned = [size[1], size[0]];
    let (a, b) = (off(size), off(turned));
    if b < a { (turned, b) } else { (size, a) }
}

/// One of those that lie on one another: the one whose light is in the middle.
fn distinct(found: Vec<(Corners, f64)>, diagonal: f64) -> Vec<(Corners, f64)> {
    let mut groups: Vec<Vec<(Corners, f64)>> = Vec::new();
    let middle = |c: &Corners| c.iter().fold(Point::zero(), |m, p| m + p.to_vector() / 4.0);
    for one in found {
        let at = middle(&one.0);
        let near = |group: &&mut Vec<(Corners, f64)>| {
            let other: Point<Photo> = middle(&group[0].0);
            (other - at).length() < 0.05 * diagonal
        };
        match groups.iter_mut().find(near) {
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    let one = |mut group: Vec<(Corners, f64)>| group.swap_remove(group.len() / 2);
    groups.into_iter().map(one).collect()
}
