//! What is drawn: the demo job, and a table full of small pieces.

use ghostchalk::calibration::{MarkRow, Profile};
use ghostchalk::cloth::Panel;
use ghostchalk::fault::{Fault, Outcome};
use ghostchalk::frame;
use ghostchalk::job::Job;
use ghostchalk::lay::{Face, Laid};
use ghostchalk::light::{LabelAt, Lamp, Settings};
use ghostchalk::pattern::{Notch, NotchKind, PatternPiece};
use ghostchalk::projection::Mapping;
use ghostchalk::render::{Drawn, draw_all};
use ghostchalk::shape::Region;
use ghostchalk::space::{Point, Projector, Rigid, Table, Vector};

pub const SIZES: [[u32; 2]; 2] = [[1920, 1080], [3840, 2160]];

/// The table, mm.
const TABLE: [f64; 2] = [1200.0, 800.0];
/// From one piece of a grid to the next, mm, and the box of a piece: 8 mm from its neighbours.
const PITCH: [f64; 2] = [60.0, 80.0];
const BOX: [f64; 2] = [52.0, 72.0];
/// Points of an outline: the curve is within 0.03 mm of its chords.
const POINTS: usize = 120;
/// One letter a piece, none wide or with a tail: labels are 12 mm high.
const NAMES: &str = "abcdefhiklnorstuvxzE";
const ARTICLES: [&str; 10] = ["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"];

/// A lit lay.
pub struct Lay<'a> {
    pub name: &'static str,
    pub laid: Vec<Laid<'a>>,
    pub lamp: Lamp,
    /// The piece that is moved over its neighbours.
    pub mover: usize,
    /// The table, mm.
    pub table: [f64; 2],
}

impl Lay<'_> {
    /// The whole table, where labels may stand.
    pub fn reach(&self) -> Region<Table> {
        let [w, h] = self.table;
        Region::ring(vec![
            Point::new(0.0, 0.0),
            Point::new(w, 0.0),
            Point::new(w, h),
            Point::new(0.0, h),
        ])
    }

    /// All figures in px.
    pub fn drawn(&self, map: &Mapping, [width, height]: [u32; 2]) -> Vec<Drawn> {
        draw_all(&self.lamp.scene().figures, map, width, height)
    }

    /// Labels inside their pieces, and beside them.
    pub fn labels(&self) -> [usize; 2] {
        [LabelAt::Inside, LabelAt::Beside].map(|at| {
            (0..self.laid.len())
                .filter(|&k| self.lamp.label(k) == at)
                .count()
        })
    }

    /// Patches as rings of pixels, for other rasterisers.
    pub fn polygons(&self, map: &Mapping) -> Vec<Patch> {
        let figures = self.lamp.scene().figures.iter();
        figures
            .flat_map(|f| {
                f.patches.iter().map(|p| {
                    let ring = |r: &Vec<Point<Table>>| {
                        r.iter()
                            .filter_map(|&q| map.pixel(q, f.height))
                            .collect::<Vec<_>>()
                    };
                    p.region.rings.iter().map(ring).collect()
                })
            })
            .collect()
    }
}

/// An area as rings of pixels, holes turning the other way.
pub type Patch = Vec<Vec<Point<Projector>>>;

/// The table with a marked keystone, straight lines kept straight.
pub fn profile(size: [u32; 2]) -> Outcome<Profile> {
    profile_over(TABLE, size)
}

/// The same over a table of other size, mm.
pub fn profile_over([w, h]: [f64; 2], size: [u32; 2]) -> Outcome<Profile> {
    let table = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
    let share = [[0.02, 0.97], [0.985, 0.955], [0.9, 0.04], [0.1, 0.025]];
    let rows = std::array::from_fn(|k| MarkRow {
        table: Point::from(table[k]),
        projector: Point::new(
            share[k][0] * f64::from(size[0]),
            share[k][1] * f64::from(size[1]),
        ),
    });
    Profile::of_four(&rows, size, false)
}

/// The demo job, lit.
pub fn demo<'a>(job: &'a Job, profile: &Profile, map: &Mapping) -> Outcome<Lay<'a>> {
    let lit = frame::light(job, profile, map)?;
    Ok(Lay {
        name: "demo",
        laid: lit.laid,
        lamp: lit.lamp,
        mover: 2,
        table: TABLE,
    })
}

/// Twenty pieces, none like another.
pub fn pattern() -> Vec<PatternPiece> {
    (0..NAMES.len()).map(piece).collect()
}

/// Each piece of the pattern ten times on the table.
pub fn full_table(pattern: &[PatternPiece]) -> Outcome<Lay<'_>> {
    grid(pattern, "200", 200)
}

/// So many pieces in a grid on a table that is just large enough: 1200 × 800 mm for 200.
pub fn grid<'a>(pattern: &'a [PatternPiece], name: &'static str, count: usize) -> Outcome<Lay<'a>> {
    let columns = (2.0 * count as f64).sqrt().round().max(1.0) as usize;
    let rows = count.div_ceil(columns);
    let laid: Vec<Laid> = (0..count)
        .map(|k| {
            let (column, row) = (k % columns, k / columns);
            let at = Vector::new(
                (column as f64 + 0.5) * PITCH[0],
                (row as f64 + 0.5) * PITCH[1],
            );
            // Every other one is turned about.
            let turn = ((column + row) % 2) as f64 * std::f64::consts::PI;
            Laid {
                piece: &pattern[column % pattern.len()],
                article: ARTICLES[row % ARTICLES.len()],
                cloth: "c",
                panel: "panel",
                cut_note: "2".to_owned(),
                is_cut: false,
                trim: 0.0,
                face: Face::Up,
                pose: Rigid::new(false, turn, at),
                height: 0.0,
            }
        })
        .collect();
    let mut lay = Lay {
        name,
        mover: (columns * (rows / 2) + columns / 2).min(count - 1),
        laid,
        lamp: Lamp::new(Settings::default())?,
        table: [PITCH[0] * columns as f64, PITCH[1] * rows as f64],
    };
    let reach = lay.reach();
    lay.lamp.light(&lay.laid, &reach);
    if lay.labels()[0] < lay.laid.len() {
        let said = format!("labels inside and beside: {:?}", lay.labels());
        return Err(Fault::ours(said, "make room in the bench's pieces"));
    }
    Ok(lay)
}

/// A spread panel of single cloth that covers a table of so many mm, and nothing more.
pub fn panel(name: &str, cloth: &str, [w, h]: [f64; 2]) -> Panel {
    let outline = vec![[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
    Panel::new(name, cloth, outline)
}

/// A smooth outline with two notches, grain and a drill point.
fn piece(seed: usize) -> PatternPiece {
    let s = seed as f64;
    let round: Vec<[f64; 2]> = (0..POINTS)
        .map(|k| {
            let a = std::f64::consts::TAU * k as f64 / POINTS as f64;
            let r = 1.0 + 0.05 * (2.0 * a + s).sin() + 0.03 * (3.0 * a + 2.3 * s).cos();
            // Fuller than an ellipse, as pattern pieces are.
            let full = |v: f64| v.signum() * v.abs().powf(0.7);
            [r * full(a.cos()), r * full(a.sin())]
        })
        .collect();
    // Stretched to fill its box, which has the origin in its middle.
    let fit = |axis: usize| {
        let low = round.iter().map(|p| p[axis]).fold(f64::INFINITY, f64::min);
        let high = round
            .iter()
            .map(|p| p[axis])
            .fold(f64::NEG_INFINITY, f64::max);
        move |p: &[f64; 2]| BOX[axis] * ((p[axis] - low) / (high - low) - 0.5)
    };
    let (x, y) = (fit(0), fit(1));
    let ring: Vec<_> = round.iter().map(|p| Point::new(x(p), y(p))).collect();
    let notch = |k: usize, kind| {
        let (a, b) = (ring[k], ring[k + 1]);
        let along = (b - a).normalize();
        Notch {
            at: a + (b - a) * 0.5,
            inward: Vector::new(-along.y, along.x),
            depth: 3.0,
            kind,
        }
    };
    let mut piece = PatternPiece::named(&NAMES[seed..=seed]);
    piece.notches = vec![
        notch(POINTS / 6 + seed % 4, NotchKind::Slit),
        notch(POINTS * 2 / 3 + seed % 4, NotchKind::Vee),
    ];
    piece.cut = vec![ring];
    piece.grain = Some([Point::new(20.5, -10.0), Point::new(20.5, 10.0)]);
    piece.drills = vec![Point::new(10.5, 0.0)];
    piece
}
