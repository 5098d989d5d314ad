//! Every place a millimetre and half a degree apart, told fit by the lay's checks and
//! scored from closely standing points of it: what the search is measured against. It
//! shares no code with it but the lay's checks.

use super::scene::{Scene, place};
use ghostchalk::lay::place::Place;
use ghostchalk::lay::{Along, squared};
use ghostchalk::pattern::edges;
use ghostchalk::shape::{Region, difference, intersection, nearest};
use ghostchalk::space::{Cloth, Piece, Point, Vector};

/// What is looked for.
#[derive(Debug, Clone, Copy)]
pub enum Wanted {
    /// Lighter at the toe than at the heel.
    Fade,
    Even,
}

/// A piece is looked at in points so far apart, mm.
const FINE: f64 = 0.4;

/// Areas up to this, mm², are rounding: the lay's checks forgive ten times as much.
const ROUNDING: f64 = 0.05;

/// A piece's points: of each whether it is at the toe, and at the heel.
pub struct Exhaustive<'a> {
    scene: &'a Scene,
    wanted: Wanted,
    seen: Vec<(Point<Piece>, [bool; 2])>,
}

impl<'a> Exhaustive<'a> {
    pub fn new(scene: &'a Scene, wanted: Wanted) -> Self {
        let piece = &scene.pieces[0];
        let net = Region::ring(piece.net[0].points.clone());
        let b = net.bounds().unwrap();
        let count = |length: f64| (length / FINE) as usize + 1;
        let (columns, rows) = (count(b.width()), count(b.height()));
        let all = (0..rows).flat_map(|j| (0..columns).map(move |i| (i, j)));
        let all = all.map(|(i, j)| b.min + Vector::new(i as f64 + 0.5, j as f64 + 0.5) * FINE);
        let inside: Vec<Point<Piece>> = all.filter(|p| net.contains(*p)).collect();
        let mut seen: Vec<_> = inside.into_iter().map(|p| (p, [false; 2])).collect();
        for (k, name) in ["toe", "heel"].into_iter().enumerate() {
            let edge = edges(piece).into_iter().find(|e| e.name == name).unwrap();
            let far = |p: &Point<Piece>| nearest(&edge.line, *p).unwrap().1;
            seen.sort_by(|a, b| far(&a.0).total_cmp(&far(&b.0)));
            let quarter = seen.len() / 4;
            for (_, is) in &mut seen[..quarter] {
                is[k] = true;
            }
        }
        Self {
            scene,
            wanted,
            seen,
        }
    }

    /// What a place is worth.
    pub fn score(&self, place: &Place, off: f64) -> f64 {
        let map = place.pose().mapper();
        let (mut all, mut square, mut zones) = ([0.0; 3], 0.0, [(0.0, 0.0); 2]);
        for (p, is) in &self.seen {
            let lab = self.scene.shade.at(map(*p)).unwrap().map(f64::from);
            for (sum, is) in zones.iter_mut().zip(is) {
                if *is {
                    *sum = (sum.0 + lab[0], sum.1 + 1.0);
                }
            }
            for (sum, v) in all.iter_mut().zip(lab) {
                *sum += v;
                square += v * v;
            }
        }
        let worth = match self.wanted {
            Wanted::Fade => zones[0].0 / zones[0].1 - zones[1].0 / zones[1].1,
            Wanted::Even => {
                let n = self.seen.len() as f64;
                let mean = all.iter().map(|s| (s / n).powi(2)).sum::<f64>();
                -(square / n - mean).max(0.0).sqrt()
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
        let strictly = Strict::new(scene);
        let size = scene.shade.bounds();
        let mut all = Vec::new();
        for half in -4..=4 {
            let off = (f64::from(half) * 0.5f64).clamp(-1.999, 1.999);
            for deg in [up + off, up + off + 180.0] {
                for y in size.min.y.floor() as i32..=size.max.y as i32 {
                    for x in size.min.x.floor() as i32..=size.max.x as i32 {
                        let at = Vector::new(f64::from(x), f64::from(y));
                        let there = place(at, deg, face);
                        let quickly = strictly.may(&there);
                        if quickly && around.accepts(&[(0, there)]).is_ok() && strictly.lies(&there)
                        {
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

/// The panel, the ply and the light as they lie on the cloth.
struct Strict<'a> {
    scene: &'a Scene,
    within: Vec<Region<Cloth>>,
    clear_of: Vec<Region<Cloth>>,
}

impl<'a> Strict<'a> {
    fn new(scene: &'a Scene) -> Self {
        let back = scene.panels[0].on_table.pose().inverse();
        let mut within: Vec<Region<Cloth>> = Vec::new();
        let mut clear_of = Vec::new();
        for g in scene.grounds() {
            within.push(g.outline.moved(&back));
            clear_of.extend(g.keep_outs.iter().map(|(_, r)| r.moved(&back)));
        }
        within.extend(scene.reach.iter().map(|r| r.moved(&back)));
        for (k, place, is_cut) in &scene.placed {
            if *is_cut {
                let cut = Region::new(scene.pieces[*k].cut.clone());
                clear_of.push(cut.moved(&place.pose()));
            }
        }
        Self {
            scene,
            within,
            clear_of,
        }
    }

    /// By its corners alone.
    fn may(&self, place: &Place) -> bool {
        let map = place.pose().mapper();
        let inside = |p: Point<Cloth>| self.within[0].bounds().is_some_and(|b| b.contains(p));
        self.scene.pieces[0].cut[0].iter().all(|&p| inside(map(p)))
    }

    /// To a tenth of what the checks forgive.
    fn lies(&self, place: &Place) -> bool {
        let there = Region::new(self.scene.pieces[0].cut.clone()).moved(&place.pose());
        self.within
            .iter()
            .all(|w| difference(&there, w).area() <= ROUNDING)
            && self
                .clear_of
                .iter()
                .all(|c| intersection(&there, c).area() <= ROUNDING)
    }
}
