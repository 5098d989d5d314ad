//! A piece looked at with so many points, in every turn: how its places are scored.

use super::lattice::Lattice;
use super::turns::Turn;
use crate::lay::wish::{Shade, Terms, unlike};
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
    /// A pair's second is the first mirrored by this.
    over: Option<Rigid<Cloth, Cloth>>,
}

/// What scoring needs room for, kept from one place to the next.
#[derive(Debug, Default)]
pub struct Scratch {
    shade: Vec<Shade>,
}

/// The panel's shade, the part of it that is looked at, and how finely, mm.
type Shading<'a> = (&'a Raster<[f32; 3], Cloth>, Bounds<Cloth>, f64);

impl Layer {
    pub fn new(
        terms: Terms,
        shade: Option<Shading>,
        (turns, mirrored): (&[Turn], bool),
        over: Option<Rigid<Cloth, Cloth>>,
    ) -> Self {
        let lattice =
            shade.map(|(shade, bounds, step)| Lattice::over(bounds, step, terms.apart(), shade));
        let turned = turns.iter().map(|turn| {
            let Some(lattice) = &lattice else {
                return Vec::new();
            };
            let pose: Rigid<Piece, Cloth> =
                Rigid::new(mirrored, turn.deg.to_radians(), Vector::zero());
            let linear = over.map(|o| Rigid::new(o.mirrored, o.turn, Vector::zero()));
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
            over,
        }
    }

    /// The shade under the points of the first, and of the second of a pair.
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
            let mut see = |points: &[[f32; 2]], at: Point<Cloth>| {
                let [x, y] = lattice.local(at);
                shade.extend(points.iter().map(|p| lattice.at([x + p[0], y + p[1]])));
            };
            see(&points[..n], at);
            if let Some(over) = &self.over {
                see(&points[n..], over.point(at));
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
        let Some(over) = &self.over else {
            return own;
        };
        let other = self.terms.score(&pose.then(over), second);
        own + other + PAIR_WEIGHT * unlike(first, second, first.len()).worth()
    }
}
