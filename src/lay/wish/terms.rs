//! What wishes come to for one piece, and how far a place keeps them.

use super::samples::{edge, grid, number, of_part, seen_of};
use super::shades::{Shade, lighter, mean_about, uneven, unlike};
use super::{MOST_WEIGHT, Part, Stripes, Wish, Wished};
use crate::cloth::part_of_repeat as part;
use crate::fault::{Fault, Outcome, short};
use crate::pattern::PatternPiece;
use crate::raster::Raster;
use crate::shape::{along, length};
use crate::space::{Cloth, Piece, Point, Rigid};

/// Where a seam's stripes are looked at, as shares of its length.
const ALONG_SEAM: [f64; 7] = [0.05, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95];

/// The partner that a piece shall be like: where it lies, and the shade of its panel.
#[derive(Debug, Clone, Copy)]
pub struct Partner<'a> {
    pub pose: Rigid<Piece, Cloth>,
    /// L\*, a\*, b\*; NaN where it isn't known.
    pub shade: &'a Raster<[f32; 3], Cloth>,
}

/// The ply beneath the piece's panel, which is cut with it: it is the partner.
#[derive(Debug, Clone, Copy)]
pub struct Beneath<'a> {
    /// L\*, a\*, b\* in the cells of the upper panel's; NaN where it isn't known.
    pub shade: &'a Raster<[f32; 3], Cloth>,
    /// Its stripes, in the upper panel's cloth space.
    pub stripes: Option<Stripes>,
}

/// A piece laid already, to which this one will be sewn.
#[derive(Debug, Clone, Copy)]
pub struct Neighbour<'a> {
    pub piece: &'a PatternPiece,
    pub pose: Rigid<Piece, Cloth>,
    /// The stripes of the panel that it lies on.
    pub stripes: Stripes,
}

/// What is known beside the piece itself. Wishes about what isn't known are passed over
/// and said to be so.
#[derive(Debug, Clone, Default)]
pub struct Known<'a> {
    pub partner: Option<Partner<'a>>,
    /// The mirrored place on this panel.
    pub mirrored: Option<Rigid<Piece, Cloth>>,
    /// This panel's stripes.
    pub stripes: Option<Stripes>,
    pub neighbours: Vec<Neighbour<'a>>,
    pub beneath: Option<Beneath<'a>>,
}

impl<'a> Known<'a> {
    /// What is known of the same place in the ply beneath.
    pub fn of_beneath(&self, beneath: &Beneath<'a>) -> Self {
        Self {
            stripes: beneath.stripes,
            neighbours: self.neighbours.clone(),
            ..Self::default()
        }
    }
}

/// How far a place keeps a wish.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// So much lighter, L\*: where it shall be lighter, less where it shall be darker.
    Lighter { by: f64 },
    /// Standard deviation of the shade, ΔE\*ab.
    Uneven { spread: f64 },
    /// Mean and greatest difference between points mirrored to each other, ΔE\*ab.
    Unlike { mean: f64, most: f64 },
    /// From the mirrored place.
    Away { mm: f64, degrees: f64 },
    /// From the point to the middle of a stripe, mm.
    OffCentre { mm: f64 },
    /// Between the stripes on both sides of the seam, mean, mm.
    OffSeam { mm: f64 },
    /// The nap lies as wished.
    Napped,
    /// The shade there is not known.
    ShadeUnknown,
    /// What the wish speaks of is not there: no partner is laid, no stripes are known.
    Nothing,
}

impl Amount {
    /// What it is worth, in units of L\*. The rates of exchange are estimates: 1 mm of a
    /// stripe counts like 1 of lightness, and so do 10 mm from the mirrored place, and 1°;
    /// cloth of unknown shade comes after all other.
    pub fn worth(self) -> f64 {
        match self {
            Amount::Lighter { by } => by,
            Amount::Uneven { spread } => -spread,
            Amount::Unlike { mean, .. } => -mean,
            Amount::Away { mm, degrees } => -mm / 10.0 - degrees,
            Amount::OffCentre { mm } | Amount::OffSeam { mm } => -mm,
            Amount::Napped | Amount::Nothing => 0.0,
            Amount::ShadeUnknown => -100.0,
        }
    }

    /// Whether a person would call the wish met: lighter by 1, even or alike within 2
    /// (about what an eye tells side by side; common practice), at the mirrored place
    /// within 5 mm and 1°, stripes within 1.5 mm (common practice).
    pub fn is_met(self) -> bool {
        match self {
            Amount::Lighter { by } => by >= 1.0,
            Amount::Uneven { spread } => spread <= 2.0,
            Amount::Unlike { mean, .. } => mean <= 2.0,
            Amount::Away { mm, degrees } => mm <= 5.0 && degrees <= 1.0,
            Amount::OffCentre { mm } | Amount::OffSeam { mm } => mm <= 1.5,
            Amount::Napped => true,
            Amount::ShadeUnknown | Amount::Nothing => false,
        }
    }
}

/// A wish and how far a place keeps it.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    pub wish: Wish,
    pub weight: f64,
    pub amount: Amount,
}

/// The wishes for one piece, worked out.
#[derive(Debug, Clone)]
pub struct Terms {
    points: Vec<Point<Piece>>,
    apart: f64,
    terms: Vec<Term>,
}

#[derive(Debug, Clone)]
struct Term {
    wish: Wish,
    weight: f64,
    what: What,
}

#[derive(Debug, Clone)]
enum What {
    /// For each point how it counts as lighter and as darker: 0 or 1.
    Fade(Vec<[f32; 2]>),
    Even,
    /// What each point shall be like.
    Like(Vec<Shade>),
    At(Rigid<Piece, Cloth>),
    Centre(Point<Piece>, Stripes),
    /// Points of the seam, and the phase that each shall have.
    Seam(Vec<(Point<Piece>, f64)>, Stripes),
    Napped,
    Nothing,
}

impl Terms {
    /// Works wishes out for a piece, with about `count` points to look at.
    ///
    /// # Errors
    /// If a wish names an edge that the piece or its neighbour hasn't, a weight is not in
    /// its range, or stripes can't be used.
    pub fn settle<'w>(
        piece: &PatternPiece,
        wishes: impl IntoIterator<Item = &'w Wished>,
        known: &Known,
        count: usize,
    ) -> Outcome<Terms> {
        let (points, apart) = grid(&seen_of(piece), count.clamp(16, 20_000));
        let mut terms = Vec::new();
        for w in wishes {
            let weighs = w.weight > 0.0 && w.weight <= MOST_WEIGHT;
            if !weighs {
                return Err(Fault::input(
                    format!("a wish for {} has the weight {}", w.piece, short(w.weight)),
                    format!("give it one above 0, to {MOST_WEIGHT}; 1 is usual"),
                ));
            }
            terms.push(Term {
                what: what(&w.wish, piece, (&points, apart), known)?,
                wish: w.wish.clone(),
                weight: w.weight,
            });
        }
        Ok(Terms {
            points,
            apart,
            terms,
        })
    }

    /// The points at which the cloth is looked at.
    pub fn points(&self) -> &[Point<Piece>] {
        &self.points
    }

    /// How far apart they are, mm.
    pub fn apart(&self) -> f64 {
        self.apart
    }

    /// Whether any wish is about the cloth's shade.
    pub fn needs_shade(&self) -> bool {
        let of_shade = |t: &Term| matches!(t.what, What::Fade(_) | What::Even | What::Like(_));
        self.terms.iter().any(of_shade)
    }

    /// What a place is worth, the shade given at each of the points.
    pub fn score(&self, pose: &Rigid<Piece, Cloth>, shade: &[Shade]) -> f64 {
        let worth = |t: &Term| t.weight * t.what.amount(pose, &self.points, shade).worth();
        self.terms.iter().map(worth).sum()
    }

    /// How far a place keeps each wish, the shade given at each of the points.
    pub fn kept(&self, pose: &Rigid<Piece, Cloth>, shade: &[Shade]) -> Vec<Kept> {
        let kept = |t: &Term| Kept {
            wish: t.wish.clone(),
            weight: t.weight,
            amount: t.what.amount(pose, &self.points, shade),
        };
        self.terms.iter().map(kept).collect()
    }
}

fn what(
    wish: &Wish,
    piece: &PatternPiece,
    (points, apart): (&[Point<Piece>], f64),
    known: &Known,
) -> Outcome<What> {
    Ok(match wish {
        Wish::Fade {
            lighter: None,
            darker: None,
        } => {
            return Err(Fault::input(
                format!(
                    "a wish for the fade of {} says neither lighter nor darker",
                    piece.name
                ),
                "say where it shall be lighter, or darker, or both",
            ));
        }
        Wish::Fade { lighter, darker } => {
            let of = |part: &Option<Part>| match part {
                Some(part) => of_part(points, part, piece).map(Some),
                None => Ok(None),
            };
            let (light, dark) = (of(lighter)?, of(darker)?);
            let is = |own: &Option<Vec<bool>>, other: &Option<Vec<bool>>, k: usize| {
                // One part alone stands against all that is not of it.
                let of = own.as_ref().map(|o| o[k]);
                f32::from(of.or(other.as_ref().map(|o| !o[k])).unwrap_or(false))
            };
            let both = (0..points.len()).map(|k| [is(&light, &dark, k), is(&dark, &light, k)]);
            What::Fade(both.collect())
        }
        Wish::Even {} => What::Even,
        Wish::LikePartner {} => match &known.partner {
            Some(p) => {
                let at = |q: &Point<Piece>| mean_about(p.shade, p.pose.point(*q), apart);
                What::Like(points.iter().map(at).collect())
            }
            None => What::Nothing,
        },
        Wish::MirroredPlace {} => known.mirrored.map_or(What::Nothing, What::At),
        Wish::StripeCentred { at_mm } => match known.stripes {
            Some(stripes) => {
                stripes.check()?;
                What::Centre(Point::from(number(*at_mm)?), stripes)
            }
            None => What::Nothing,
        },
        Wish::StripeRunsOn { edge: own, of, to } => {
            let line = edge(piece, own)?;
            let neighbour = known.neighbours.iter().find(|n| n.piece.name == *of);
            match (known.stripes, neighbour) {
                (Some(stripes), Some(n)) => {
                    stripes.check()?;
                    n.stripes.check()?;
                    seam(&line, n, to, stripes)?
                }
                _ => What::Nothing,
            }
        }
        Wish::Nap { .. } => What::Napped,
    })
}

/// Edges run counter-clockwise round their pieces, so that along a seam one runs against
/// the other. Ease is spread along it.
fn seam(line: &[Point<Piece>], n: &Neighbour, to: &str, stripes: Stripes) -> Outcome<What> {
    let theirs = edge(n.piece, to)?;
    let pairs = ALONG_SEAM.iter().filter_map(|s| {
        let own = along(line, s * length(line))?;
        let other = along(&theirs, (1.0 - s) * length(&theirs))?;
        Some((own.at, n.stripes.phase(n.pose.point(other.at))))
    });
    Ok(What::Seam(pairs.collect(), stripes))
}

impl What {
    fn amount(
        &self,
        pose: &Rigid<Piece, Cloth>,
        points: &[Point<Piece>],
        shade: &[Shade],
    ) -> Amount {
        match self {
            What::Fade(counts) => lighter(counts, shade),
            What::Even => uneven(shade),
            What::Like(partner) => unlike(partner, shade, points.len()),
            What::At(place) => Amount::Away {
                mm: (pose.shift - place.shift).length(),
                degrees: {
                    let deg = (pose.turn - place.turn).to_degrees();
                    (deg - 360.0 * (deg / 360.0).round()).abs()
                },
            },
            What::Centre(at, stripes) => Amount::OffCentre {
                mm: stripes.off_centre(pose.point(*at)).abs(),
            },
            What::Seam(pairs, stripes) => {
                let map = pose.mapper();
                let off = |sign: f64| -> f64 {
                    let each = pairs
                        .iter()
                        .map(|&(p, phase)| part(stripes.phase(map(p)) - sign * phase).abs());
                    each.sum::<f64>() / pairs.len().max(1) as f64 * stripes.period_mm
                };
                let mut mm = off(1.0);
                if stripes.same_both_ways {
                    mm = mm.min(off(-1.0));
                }
                Amount::OffSeam { mm }
            }
            What::Napped => Amount::Napped,
            What::Nothing => Amount::Nothing,
        }
    }
}
