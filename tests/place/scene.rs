//! Random cloth with pieces on it, and a fade over it.

use ghostchalk::cloth::{KeepOut, OnTable, Panel};
use ghostchalk::lay::place::{Around, Place};
use ghostchalk::lay::{Face, Ground, Laid, grounds};
use ghostchalk::pattern::{EdgeStart, Line, PatternPiece};
use ghostchalk::raster::Raster;
use ghostchalk::shape::Region;
use ghostchalk::space::{Bounds, Cloth, Piece, Point, Table, Vector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::TAU;

pub struct Scene {
    pub pieces: Vec<PatternPiece>,
    pub panels: Vec<Panel>,
    /// Piece, place, whether it is cut.
    pub placed: Vec<(usize, Place, bool)>,
    pub shade: Raster<[f32; 3], Cloth>,
    pub band: f64,
    pub reach: Option<Region<Table>>,
}

/// A closed outline of `n` corners about the origin, `size` mm from side to side, as
/// ragged as `rough` (0: as good as an ellipse half as high).
pub fn blob(rng: &mut ChaCha8Rng, n: usize, size: [f64; 2], rough: f64) -> Vec<[f64; 2]> {
    let corner = |k: usize, far: f64| {
        let (sin, cos) = (TAU * k as f64 / n as f64).sin_cos();
        [far * size[0] / 2.0 * cos, far * size[1] / 2.0 * sin]
    };
    (0..n)
        .map(|k| corner(k, 1.0 - rough * rng.random::<f64>()))
        .collect()
}

/// A piece: its cut line, a net line inside it, a grain; its edges are a toe, to the
/// right, and a heel.
pub fn piece(rng: &mut ChaCha8Rng, name: &str, size: [f64; 2], rough: f64) -> PatternPiece {
    let mut piece = PatternPiece::named(name);
    let ring: Vec<Point<Piece>> = blob(rng, 24, size, rough)
        .into_iter()
        .map(Point::from)
        .collect();
    let net: Vec<Point<Piece>> = ring.iter().map(|p| *p * 0.85).collect();
    let start = |k: usize, name: &str| EdgeStart {
        at: net[k],
        name: name.to_owned(),
        allowance: None,
    };
    // From straight down to straight up, and back.
    piece.edges = vec![start(18, "toe"), start(6, "heel")];
    piece.net = vec![Line {
        points: net.clone(),
        closed: true,
    }];
    piece.cut = vec![ring];
    let lean = rng.random_range(-0.4..0.4f64);
    piece.grain = Some([Point::new(0.0, 0.0), Point::new(10.0 * lean, 10.0)]);
    piece
}

fn panel(name: &str, outline: Vec<[f64; 2]>, on_table: OnTable) -> Panel {
    Panel {
        on_table,
        ..Panel::new(name, "canvas", outline)
    }
}

/// A fade over a box with a blotch and some noise in it, L* 40 to 80.
pub fn fade(rng: &mut ChaCha8Rng, size: [f64; 2]) -> Raster<[f32; 3], Cloth> {
    let corner = Point::new(size[0] / 2.0, size[1] / 2.0);
    let (sin, cos) = rng.random_range(0.0..TAU).sin_cos();
    let blotch = Point::new(
        rng.random_range(-0.4..0.4) * size[0],
        rng.random_range(-0.4..0.4) * size[1],
    );
    let wide = 0.2 * size[0];
    let bounds = Bounds::new(-corner, corner);
    Raster::over(bounds, 1.0, |_, _, p: Point<Cloth>| {
        let along = (cos * p.x / size[0] + sin * p.y / size[1]) * 25.0;
        let far = (p - blotch).length() / wide;
        let l = 60.0 + along - 10.0 * (-far * far).exp() + rng.random_range(-1.0..1.0);
        [l as f32, 2.0, (0.2 * l) as f32]
    })
}

impl Scene {
    /// A ragged panel about the cloth's origin, `size` mm, with places to keep out of,
    /// sometimes a ply beneath and a light that doesn't reach everywhere; `others` pieces
    /// anywhere on it, some of them cut. The first piece is the one in hand.
    pub fn random(seed: u64, size: [f64; 2], own: [f64; 2], others: usize) -> Scene {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let on = |rng: &mut ChaCha8Rng| OnTable {
            x_mm: rng.random_range(-50.0..50.0),
            y_mm: rng.random_range(-50.0..50.0),
            turn_deg: rng.random_range(-180.0..180.0),
        };
        let lies = on(&mut rng);
        let mut top = panel("sling", blob(&mut rng, 30, size, 0.15), lies);
        top.grain_deg = rng.random_range(-180.0..180.0);
        let somewhere = |rng: &mut ChaCha8Rng| {
            let mut at = |s: f64| rng.random_range(-0.4..0.4) * s;
            Vector::<Cloth>::new(at(size[0]), at(size[1]))
        };
        for k in 0..rng.random_range(0..3) {
            let by = somewhere(&mut rng);
            let small = [own[0] / 4.0, own[1] / 3.0];
            let hole = blob(&mut rng, 9, small, 0.3);
            top.keep_out.push(KeepOut {
                name: format!("hole {k}"),
                outline_mm: hole.iter().map(|p| [p[0] + by.x, p[1] + by.y]).collect(),
            });
        }
        let mut panels = vec![top];
        if rng.random::<f64>() < 0.4 {
            let beneath = OnTable {
                x_mm: lies.x_mm + rng.random_range(-0.1..0.1) * size[0],
                ..lies
            };
            let mut under = panel("beneath", blob(&mut rng, 20, size, 0.1), beneath);
            under.under = Some("sling".to_owned());
            panels.push(under);
        }
        let mut pieces = vec![piece(&mut rng, "upper", own, 0.25)];
        let mut placed = vec![];
        let face = match rng.random::<bool>() {
            true => Face::Up,
            false => Face::Down,
        };
        placed.push((0, place(somewhere(&mut rng), 0.0, face), false));
        for k in 0..others {
            let share = rng.random_range(0.4..1.0);
            let size = own.map(|v| v * share);
            pieces.push(piece(&mut rng, &format!("other {k}"), size, 0.3));
            let turn = rng.random_range(-180.0..180.0);
            let there = place(somewhere(&mut rng), turn, Face::Up);
            placed.push((k + 1, there, rng.random::<f64>() < 0.2));
        }
        let reach = (rng.random::<f64>() < 0.3).then(|| {
            let middle = Point::new(lies.x_mm, lies.y_mm);
            Region::disc(middle, 0.45 * size[0])
        });
        let shade = fade(&mut rng, size);
        Scene {
            pieces,
            panels,
            placed,
            shade,
            band: rng.random_range(1.0..4.0),
            reach,
        }
    }

    pub fn laid(&self) -> Vec<Laid<'_>> {
        let on = self.panels[0].on_table.pose();
        let laid = self.placed.iter().map(|(k, place, is_cut)| Laid {
            piece: &self.pieces[*k],
            article: "1",
            cloth: "canvas",
            panel: "sling",
            cut_note: String::new(),
            face: place.face,
            pose: place.pose().then(&on),
            height: 0.0,
            is_cut: *is_cut,
            trim: 0.0,
        });
        laid.collect()
    }

    pub fn grounds(&self) -> Vec<Ground<'_>> {
        grounds(&self.panels).unwrap()
    }

    pub fn around<'a>(&'a self, laid: &'a [Laid<'a>], grounds: &'a [Ground<'a>]) -> Around<'a> {
        Around {
            laid,
            grounds,
            reach: self.reach.as_ref(),
            band: self.band,
            panel: "sling",
            on_table: self.panels[0].on_table.pose(),
        }
    }
}

pub fn place(at: Vector<Cloth>, turn_deg: f64, face: Face) -> Place {
    Place {
        x_mm: at.x,
        y_mm: at.y,
        turn_deg,
        face,
    }
}
