//! What lies under the card, the card itself, and how much of each a pixel shows.

use super::coarse::{Coarse, components, grown};
use super::plane::Plane;
use crate::fault::{Fault, Outcome, short};
use crate::photo::Picture;
use crate::space::{Photo, Point, Table};
use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

/// A cell belongs to the ground if its light lies within so many standard deviations of
/// the ground's.
const ALIKE: f64 = 4.0;
/// Least share of the picture that a card takes.
const LEAST: f64 = 0.004;
/// Most cells that a surface is fitted to.
const MOST: usize = 20_000;
/// The share of the picture along its edge that is taken to show the table.
const RIM: f64 = 0.02;
/// Cells on either side of the middle of what is thin.
const THIN: usize = 2;
/// Differences of this share of the contrast count as noise whatever is measured: light is
/// never so even, and colour is kept more coarsely in a JPEG than light is.
const UNEVEN: f64 = 0.25;

/// Light that changes slowly over the picture: a quadratic of x and y for each colour.
pub struct Surface {
    terms: [[f64; 6]; 3],
    scale: [f64; 2],
    /// Covariance of what is left.
    pub noise: Matrix3<f64>,
}

fn powers(x: f64, y: f64) -> [f64; 6] {
    [1.0, x, y, x * x, x * y, y * y]
}

impl Surface {
    /// Fitted to the cells by least squares.
    fn fit(coarse: &Coarse, cells: &[usize]) -> Option<Self> {
        if cells.len() < 20 {
            return None;
        }
        let scale = [coarse.width, coarse.height].map(|n| (n * coarse.step) as f64);
        let mut lhs = SMatrix::<f64, 6, 6>::zeros();
        let mut rhs = SMatrix::<f64, 6, 3>::zeros();
        for &cell in cells {
            let [x, y] = coarse.middle(cell);
            let basis = powers(2.0 * x / scale[0] - 1.0, 2.0 * y / scale[1] - 1.0);
            let basis = SVector::<f64, 6>::from(basis);
            lhs += basis * basis.transpose();
            rhs += basis * vector(coarse.light[cell]).transpose();
        }
        // A small thing does not fix a quadratic of the whole picture: where it does not, the
        // flattest that suits is taken.
        for k in 1..6 {
            lhs[(k, k)] += 1e-3 * cells.len() as f64;
        }
        let found = lhs.cholesky()?.solve(&rhs);
        let mut surface = Self {
            terms: std::array::from_fn(|k| std::array::from_fn(|r| found[(r, k)])),
            scale,
            noise: Matrix3::zeros(),
        };
        for &cell in cells {
            let off = surface.off(coarse, cell);
            surface.noise += off * off.transpose() / cells.len() as f64;
        }
        Some(surface)
    }

    /// Fitted to those of the cells that are alike.
    fn robust(coarse: &Coarse, cells: &[usize]) -> Option<Self> {
        let cells = &spread(cells);
        let mut surface = Self::fit(coarse, cells)?;
        for round in 0..9 {
            let measure = surface.measure()?;
            let far = |c: usize| measure.distance(&surface.off(coarse, c));
            let mut sorted: Vec<f64> = cells.iter().map(|&c| far(c)).collect();
            sorted.sort_by(f64::total_cmp);
            // First the nearer two thirds, so that what is not of them has no say.
            let within = match round {
                0..4 => *sorted.get(sorted.len() * 2 / 3)?,
                _ => 3.0,
            };
            let near = cells.iter().copied().filter(|&c| far(c) <= within);
            let near: Vec<usize> = near.collect();
            surface = Self::fit(coarse, &near)?;
        }
        Some(surface)
    }

    /// At a place in the photo, px.
    pub fn at(&self, x: f64, y: f64) -> Vector3<f64> {
        let b = powers(2.0 * x / self.scale[0] - 1.0, 2.0 * y / self.scale[1] - 1.0);
        let sum = |k: usize| {
            b.iter()
                .zip(&self.terms[k])
                .map(|(b, t)| b * t)
                .sum::<f64>()
        };
        Vector3::new(sum(0), sum(1), sum(2))
    }

    fn off(&self, coarse: &Coarse, cell: usize) -> Vector3<f64> {
        let [x, y] = coarse.middle(cell);
        vector(coarse.light[cell]) - self.at(x, y)
    }

    fn measure(&self) -> Option<Measure> {
        // Photos hold 8 bits: nothing is more even than a code.
        let floor = Matrix3::identity() * 1e-5;
        Some(Measure((self.noise + floor).try_inverse()?))
    }
}

/// So many of the cells, evenly, as fix a surface.
fn spread(cells: &[usize]) -> Vec<usize> {
    let step = cells.len().div_ceil(MOST).max(1);
    cells.iter().step_by(step).copied().collect()
}

/// How far apart two lights are, in standard deviations (Mahalanobis).
struct Measure(Matrix3<f64>);

impl Measure {
    fn distance(&self, off: &Vector3<f64>) -> f64 {
        (off.transpose() * self.0 * off)[0].max(0.0).sqrt()
    }
}

fn vector(light: [f32; 3]) -> Vector3<f64> {
    Vector3::new(
        f64::from(light[0]),
        f64::from(light[1]),
        f64::from(light[2]),
    )
}

/// The card and what lies round it, roughly.
pub struct Found {
    /// Cells where the card may be, with some of the ground round it.
    pub about: Vec<bool>,
    card: Surface,
    ground: Surface,
    /// Which mixture of colours tells the two apart best.
    weights: Vector3<f64>,
    /// Standard deviation of either's light, as a share of the contrast: card, ground.
    pub uneven: [f64; 2],
    /// Other things seen beside it, px.
    pub others: Vec<[f64; 2]>,
    /// Lights of what lies next to the card.
    pub beside: Vec<Vector3<f64>>,
}

impl Found {
    /// The share of card that a side of it seems to show, of `part` of the light of its top.
    pub fn shade(&self, at: Point<Photo>, part: f64) -> f64 {
        let ground = self.weights.dot(&self.ground.at(at.x, at.y));
        let card = self.weights.dot(&self.card.at(at.x, at.y));
        (part * card - ground) / (card - ground)
    }

    /// The card's own light at a place.
    pub fn card_at(&self, at: Point<Photo>) -> Vector3<f64> {
        self.card.at(at.x, at.y)
    }

    /// How much card a pixel shows: 0 for ground, 1 for card, beyond for what is neither.
    pub fn share(&self, picture: &Picture, x: usize, y: usize) -> f32 {
        let (px, py) = (x as f64 + 0.5, y as f64 + 0.5);
        let ground = self.weights.dot(&self.ground.at(px, py));
        let card = self.weights.dot(&self.card.at(px, py));
        let seen = self.weights.dot(&vector(picture.light(x, y)));
        ((seen - ground) / (card - ground)).clamp(-1.0, 2.0) as f32
    }
}

/// The card: at `at`, px, or else the largest thing that is neither table nor sheet.
///
/// # Errors
/// If there is none, or it is not wholly in view, or lies across the sheet's side.
pub fn find(
    coarse: &Coarse,
    plane: &Plane,
    size: [f64; 2],
    at: Option<[f64; 2]>,
) -> Outcome<Found> {
    let (w, h) = (coarse.width, coarse.height);
    let on_sheet: Vec<bool> = (0..w * h)
        .map(|cell| {
            let [x, y] = coarse.middle(cell);
            let p: Option<Point<Table>> = plane.table(Point::new(x, y));
            p.is_some_and(|p| p.x > 0.0 && p.y > 0.0 && p.x < size[0] && p.y < size[1])
        })
        .collect();
    let sheet = grown(w, h, &on_sheet, 2, false);
    let inner = grown(w, h, &on_sheet, 2, true);
    let rim = ((RIM * w.max(h) as f64) as usize).max(2);
    let at_rim = |c: &usize| {
        let (x, y) = (c % w, c / w);
        (x < rim || y < rim || x + rim >= w || y + rim >= h) && !sheet[*c]
    };
    let none = || {
        let remedy = match at {
            Some(_) => "lay the card on a plain table of another colour or shade",
            None => {
                "lay the card on a plain table of another colour or shade, or say where in the photo it is by --at"
            }
        };
        Fault::input("no card is seen beside the sheet", remedy)
    };
    let cells: Vec<usize> = (0..w * h).filter(at_rim).collect();
    let table = from_rim(coarse, &cells, &sheet).ok_or_else(none)?;
    let edge_of_paper = grown(w, h, &inner, 4, true);
    let cells: Vec<usize> = (0..w * h)
        .filter(|&c| inner[c] && !edge_of_paper[c])
        .collect();
    let off_paper: Vec<bool> = inner.iter().map(|is| !is).collect();
    let paper = from_rim(coarse, &cells, &off_paper).ok_or_else(none)?;
    let measures = table.measure().zip(paper.measure());
    let (of_table, of_paper) = measures.ok_or_else(none)?;
    let is: Vec<bool> = (0..w * h)
        .map(|c| match (sheet[c], inner[c]) {
            (false, _) => of_table.distance(&table.off(coarse, c)) > ALIKE,
            (_, true) => of_paper.distance(&paper.off(coarse, c)) > ALIKE,
            // Along the sheet's sides cells are of both: what is there is left open.
            _ => false,
        })
        .collect();
    // A streak of the table may run from the card to the sheet: what is thin is not card, and
    // comes back with what lies about it.
    let opened = grown(w, h, &grown(w, h, &is, THIN, true), THIN, false);
    let all = components(w, h, &opened);
    let large = |c: &&super::coarse::Component| c.cells.len() as f64 > LEAST * (w * h) as f64;
    // What lies next to the sheet's sides, or on either side of them.
    let border: Vec<bool> = (0..w * h).map(|c| sheet[c] && !inner[c]).collect();
    let border = grown(w, h, &border, 1, false);
    let across = |c: &super::coarse::Component| c.cells.iter().any(|&c| border[c]);
    let chosen = match at {
        None => {
            let mut large = all.iter().filter(large);
            let first = large.clone().next();
            large.find(|c| !across(c)).or(first)
        }
        Some(at) => {
            let cell = coarse.cell(at).ok_or_else(|| {
                Fault::input(
                    format!(
                        "the place of the card, {}, {} px, lies outside the photo",
                        short(at[0]),
                        short(at[1])
                    ),
                    "give a place on the card in px from the photo's upper left",
                )
            })?;
            all.iter().find(|c| c.cells.contains(&cell))
        }
    };
    let chosen = chosen.ok_or_else(|| match at {
        None => none(),
        Some([x, y]) => Fault::input(
            format!("no card is seen at {}, {} px", short(x), short(y)),
            "give a place well inside the card, in px from the photo's upper left; without --at the largest thing beside the sheet is taken",
        ),
    })?;
    if chosen.at_edge {
        return Err(Fault::input(
            "the card is cut off by the picture's edge",
            "take the photo again with the whole card in view and table all round it",
        ));
    }
    let mut core = vec![false; w * h];
    for &c in &chosen.cells {
        core[c] = true;
    }
    let about = grown(w, h, &core, THIN + 3, false);
    let on_paper = chosen.cells.iter().any(|&c| inner[c]);
    if across(chosen) {
        return Err(Fault::input(
            "the card touches the sheet's side or lies across it",
            "lay it a finger's width beside the sheet, or wholly upon it",
        ));
    }
    let others = all
        .iter()
        .filter(large)
        .filter(|c| !std::ptr::eq(*c, chosen));
    let others = others
        .map(|c| coarse.middle(c.cells[c.cells.len() / 2]))
        .collect();
    let within = grown(w, h, &core, 2, true);
    let within: Vec<usize> = (0..w * h).filter(|&c| within[c]).collect();
    let card = Surface::robust(coarse, &within).ok_or_else(none)?;
    let ground = if on_paper { paper } else { table };
    let about: Vec<bool> = (0..w * h)
        .map(|c| about[c] && (on_paper || !sheet[c]))
        .collect();
    let at_edge = grown(w, h, &core, THIN, false);
    let beside = (0..w * h).filter(|&c| about[c] && !at_edge[c]);
    let beside = beside.map(|c| vector(coarse.light[c])).collect();
    let found = told_apart(coarse, chosen.cells[0], about, card, ground, others);
    found.map(|f| Found { beside, ..f }).ok_or_else(none)
}

/// Light of the table or the sheet: from the cells along its rim, where nothing lies, on to
/// all its cells that are alike. `other` are none of its own.
fn from_rim(coarse: &Coarse, rim: &[usize], other: &[bool]) -> Option<Surface> {
    let mut surface = Surface::robust(coarse, rim)?;
    let own: Vec<usize> = (0..other.len()).filter(|&c| !other[c]).collect();
    let own = spread(&own);
    for _ in 0..3 {
        let measure = surface.measure()?;
        let alike = |c: &usize| measure.distance(&surface.off(coarse, *c)) < 3.5;
        let cells: Vec<usize> = own.iter().copied().filter(alike).collect();
        surface = Surface::fit(coarse, &cells)?;
    }
    Some(surface)
}

/// Fisher's linear discriminant (1936) between card and ground, at a cell of the card.
fn told_apart(
    coarse: &Coarse,
    cell: usize,
    about: Vec<bool>,
    card: Surface,
    ground: Surface,
    others: Vec<[f64; 2]>,
) -> Option<Found> {
    let [x, y] = coarse.middle(cell);
    let contrast = card.at(x, y) - ground.at(x, y);
    let even = UNEVEN * UNEVEN * contrast.norm_squared();
    let pooled = card.noise + ground.noise + Matrix3::identity() * even;
    let weights = pooled.try_inverse()? * contrast;
    let across = weights.dot(&contrast);
    (across > 0.0).then_some(())?;
    let uneven =
        [&card, &ground].map(|s| weights.dot(&(s.noise * weights)).max(0.0).sqrt() / across);
    Some(Found {
        about,
        card,
        ground,
        weights,
        uneven,
        others,
        beside: Vec::new(),
    })
}
