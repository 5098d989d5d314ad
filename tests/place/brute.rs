//! Every place a millimetre and half a degree apart, told fit by the lay's checks and
//! scored from every cell of the cloth's shade: what the search is measured against. It
//! shares no code with it but the lay's checks.

use super::scene::{Scene, place};
use ghostchalk::lay::place::Place;
use ghostchalk::lay::{Along, squared};
use ghostchalk::pattern::edges;
use ghostchalk::shape::{Region, nearest};
use ghostchalk::space::{Piece, Point, Vector};

/// What is looked for.
#[derive(Debug, Clone, Copy)]
pub enum Wanted {
    /// Lighter at the toe than at the heel.
    Fade,
    Even,
}

/// What is seen of a piece, mm cells of it, in its own space.
pub struct Exhaustive<'a> {
    scene: &'a Scene,
    net: Region<Piece>,
    /// How near to the toe, and to the heel, a quarter of the piece lies, mm.
    zones: [(Vec<Point<Piece>>, f64); 2],
    wanted: Wanted,
}

impl<'a> Exhaustive<'a> {
    pub fn new(scene: &'a Scene, wanted: Wanted) -> Self {
        let piece = &scene.pieces[0];
        let net = Region::ring(piece.net[0].points.clone());
        let b = net.bounds().unwrap();
        let mut inside = Vec::new();
        let count = |length: f64| (length / 0.25) as i32;
        for (i, j) in
            (0..count(b.width())).flat_map(|i| (0..count(b.height())).map(move |j| (i, j)))
        {
            let p = b.min + Vector::new(f64::from(i) + 0.5, f64::from(j) + 0.5) * 0.25;
            if net.contains(p) {
                inside.push(p);
            }
        }
        let zones = ["toe", "heel"].map(|name| {
            let edge = edges(piece).into_iter().find(|e| e.name == name).unwrap();
            let far = |p: &Point<Piece>| nearest(&edge.line, *p).unwrap().1;
            let mut all: Vec<f64> = inside.iter().map(far).collect();
            all.sort_by(f64::total_cmp);
            let quarter = all[all.len() / 4];
            (edge.line, quarter)
        });
        Self {
            scene,
            net,
            zones,
            wanted,
        }
    }

    /// What a place is worth.
    pub fn score(&self, place: &Place, off: f64) -> f64 {
        let pose = place.pose();
        let back = pose.inverse();
        let there = self.net.moved(&pose);
        let b = there.bounds().unwrap();
        let shade = &self.scene.shade;
        let (mut all, mut zones) = (Vec::new(), [(0.0, 0.0); 2]);
        for row in 0..shade.height() {
            for column in 0..shade.width() {
                let p = shade.centre(column, row);
                if !b.contains(p) || !there.contains(p) {
                    continue;
                }
                let [l, a, b] = shade.get(column, row).unwrap().map(f64::from);
                all.push([l, a, b]);
                let q = back.point(p);
                for (sum, (edge, quarter)) in zones.iter_mut().zip(&self.zones) {
                    if nearest(edge, q).unwrap().1 <= *quarter {
                        *sum = (sum.0 + l, sum.1 + 1.0);
                    }
                }
            }
        }
        let worth = match self.wanted {
            Wanted::Fade => zones[0].0 / zones[0].1 - zones[1].0 / zones[1].1,
            Wanted::Even => {
                let n = all.len() as f64;
                let var = (0..3).map(|k| {
                    let mean = all.iter().map(|v| v[k]).sum::<f64>() / n;
                    all.iter().map(|v| (v[k] - mean).powi(2)).sum::<f64>() / n
                });
                -var.sum::<f64>().sqrt()
            }
        };
        let now = self.scene.placed[0].1;
        let far = (place.x_mm - now.x_mm).hypot(place.y_mm - now.y_mm);
        worth - 0.1 * off.abs() - 1e-3 * far
    }

    /// Every place that the lay's checks accept, and its score; the best first.
    pub fn all(&self) -> Vec<(f64, Place)> {
        let scene = self.scene;
        let piece = &scene.pieces[0];
        let face = scene.placed[0].1.face;
        let warp = scene.panels[0].grain_deg;
        let up = squared(piece.grain.unwrap(), face, 0.0, warp, Along::Warp, true).unwrap();
        let (laid, grounds) = (scene.laid(), scene.grounds());
        let around = scene.around(&laid, &grounds);
        let size = scene.shade.bounds();
        let mut all = Vec::new();
        for half in -4..=4 {
            let off = (f64::from(half) * 0.5f64).clamp(-1.999, 1.999);
            for deg in [up + off, up + off + 180.0] {
                for y in size.min.y.floor() as i32..=size.max.y as i32 {
                    for x in size.min.x.floor() as i32..=size.max.x as i32 {
                        let at = Vector::new(f64::from(x), f64::from(y));
                        let there = place(at, deg, face);
                        if around.accepts(&[(0, there)]).is_ok() {
                            all.push((self.score(&there, off), there));
                        }
                    }
                }
            }
        }
        all.sort_by(|a, b| b.0.total_cmp(&a.0));
        all
    }

    /// How far below the best a place's score is, as a share of how far the median lies
    /// below it.
    pub fn gap(&self, all: &[(f64, Place)], place: &Place, off: f64) -> f64 {
        let (best, median) = (all[0].0, all[all.len() / 2].0);
        (best - self.score(place, off)) / (best - median).max(1e-9)
    }
}
