//! A piece looked at with so many points, in every turn: how its places are scored.

use super::lattice::Lattice;
use super::turns::Turn;
use crate::lay::wish::{Amount, Kept, Shade, Terms, unlike};
use crate::raster::Raster;
use crate::space::{Bounds, Cloth, Piece, Point, Rigid, Vector};

/// What a pair's likeness counts beside its wishes.
pub const PAIR_WEIGHT: f64 = 1.0;

/// Terms, and the cloth smoothed to how closely they look.
#[derive(Debug)]
pub struct Layer {
    pub terms: Terms,
    lattice: Option<Lattice>,
    /// For each turn, the points about the piece's origin, in steps of the lattice; of a
    /// pair twice as many.
    turned: Vec<Vec<[f32; 2]>>,
    second: Second,
}

/// Where a second is cut, if one is.
#[derive(Debug)]
pub enum Second {
    None,
    /// Mirrored by this.
    Over(Rigid<Cloth, Cloth>),
    /// In the ply beneath.
    Beneath(Lower),
}

/// The ply beneath, in the upper panel's cloth space.
#[derive(Debug)]
pub struct Lower {
    /// What is wished of the cloth.
    terms: Terms,
    lattice: Option<Lattice>,
    /// What likeness of both plies counts.
    alike: f64,
}

/// How far the same place in the ply beneath keeps the wishes, and how like both plies are.
#[derive(Debug, Clone, PartialEq)]
pub struct Below {
    pub kept: Vec<Kept>,
    pub alike: Amount,
}

impl Lower {
    /// `terms` look as closely as the layer's own; `alike` is what likeness counts.
    pub fn new(terms: Terms, shade: Option<Shading>, alike: f64) -> Self {
        Self {
            lattice: lattice(shade, &terms),
            terms,
            alike,
        }
    }
}

fn lattice(shade: Option<Shading>, terms: &Terms) -> Option<Lattice> {
    shade.map(|(shade, bounds, step)| Lattice::over(bounds, step, terms.apart(), shade))
}

/// What scoring needs room for, kept from one place to the next.
#[derive(Debug, Default)]
pub struct Scratch {
    shade: Vec<Shade>,
}

/// The panel's shade, the part of it that is looked at, and how finely, mm.
pub type Shading<'a> = (&'a Raster<[f32; 3], Cloth>, Bounds<Cloth>, f64);

impl Layer {
    pub fn new(
        terms: Terms,
        shade: Option<Shading>,
        (turns, mirrored): (&[Turn], bool),
        second: Second,
    ) -> Self {
        let lattice = lattice(shade, &terms);
        let turned = turns.iter().map(|turn| {
            let Some(lattice) = &lattice else {
                return Vec::new();
            };
            let pose: Rigid<Piece, Cloth> =
                Rigid::new(mirrored, turn.deg.to_radians(), Vector::zero());
            let linear = match &second {
                Second::Over(o) => Some(Rigid::new(o.mirrored, o.turn, Vector::zero())),
                _ => None,
            };
            let poses = [
                Some(pose),
                linear.map(|o: Rigid<Cloth, Cloth>| pose.then(&o)),
            ];
            let mut all = Vec::new();
            for pose in poses.into_iter().flatten() {
                let map = pose.mapper();
                all.extend(terms.points().iter().map(|&p| {
                    let v = map(p).to_vector() / lattice.step();
                    [v.x as f32, v.y as f32]
                }));
            }
            all
        });
        Self {
            turned: turned.collect(),
            terms,
            lattice,
            second,
        }
    }

    /// The shade under the points of the first, and of the second if there is one.
    pub fn look<'s>(
        &self,
        turn: usize,
        at: Point<Cloth>,
        scratch: &'s mut Scratch,
    ) -> (&'s [Shade], &'s [Shade]) {
        let shade = &mut scratch.shade;
        shade.clear();
        let n = self.terms.points().len();
        if let Some(lattice) = &self.lattice {
            let points = &self.turned[turn];
            let mut see = |lattice: &Lattice, points: &[[f32; 2]], at: Point<Cloth>| {
                let [x, y] = lattice.local(at);
                shade.extend(points.iter().map(|p| lattice.at([x + p[0], y + p[1]])));
            };
            see(lattice, &points[..n], at);
            match &self.second {
                Second::None => {}
                Second::Over(over) => see(lattice, &points[n..], over.point(at)),
                // Both lattices stand on the same cells.
                Second::Beneath(lower) => match &lower.lattice {
                    Some(lattice) => see(lattice, &points[..n], at),
                    None => shade.resize(2 * n, [0.0; 4]),
                },
            }
        } else {
            shade.resize(2 * n, [0.0; 4]);
        }
        let (first, second) = shade.split_at(n);
        (first, second)
    }

    /// What a place is worth by the wishes; of a pair both, and how alike they are.
    pub fn score(&self, turn: usize, pose: &Rigid<Piece, Cloth>, scratch: &mut Scratch) -> f64 {
        let (first, second) = self.look(turn, pose.shift.to_point(), scratch);
        let own = self.terms.score(pose, first);
        let alike = || unlike(first, second, first.len()).worth();
        match &self.second {
            Second::None => own,
            Second::Over(over) => {
                let other = self.terms.score(&pose.then(over), second);
                own + other + PAIR_WEIGHT * alike()
            }
            Second::Beneath(lower) => {
                let other = lower.terms.score(pose, second);
                // Where it counts nothing, what is not known counts nothing either.
                let alike = match lower.alike > 0.0 {
                    true => lower.alike * alike(),
                    false => 0.0,
                };
                own + other + alike
            }
        }
    }

    /// How far a place keeps each wish, and the same place in the ply beneath.
    pub fn kept(
        &self,
        turn: usize,
        pose: &Rigid<Piece, Cloth>,
        scratch: &mut Scratch,
    ) -> (Vec<Kept>, Option<Below>) {
        let (first, second) = self.look(turn, pose.shift.to_point(), scratch);
        let below = match &self.second {
            Second::Beneath(lower) => Some(Below {
                kept: lower.terms.kept(pose, second),
                alike: unlike(first, second, first.len()),
            }),
            _ => None,
        };
        (self.terms.kept(pose, first), below)
    }
}
