//! A person whose pointing errs, and how far the light then slips on the cloth.

use ghostchalk::cloth::Panel;
use ghostchalk::job::Job;
use ghostchalk::lay::Sighting;
use ghostchalk::shape::Region;
use ghostchalk::space::{Cloth, Point, Rigid, Table, Vector};
use ghostchalk::work::{Act, Bench, Goods, History, State, Task, Ways};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::path::Path;

pub type Pose = Rigid<Cloth, Table>;

/// A hand's error per axis, mm: given to the tests by the work to be done.
pub const HAND: f64 = 0.5;

/// How far the root mean square may be from what is claimed.
pub const WITHIN: std::ops::RangeInclusive<f64> = 0.85..=1.15;

/// A person whose pointing errs (Box and Muller, as in the twin).
pub struct Person {
    rng: ChaCha8Rng,
    pub bench: Bench,
    now: f64,
    panel: String,
}

impl Person {
    pub fn new(bench: Bench, panel: &str, seed: u64) -> Self {
        Self {
            rng: ChaCha8Rng::seed_from_u64(seed),
            bench,
            now: 0.0,
            panel: panel.into(),
        }
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.rng.random::<f64>()
    }

    pub fn error(&mut self) -> Vector<Table> {
        let radius = HAND * (-2.0 * (1.0 - self.rng.random::<f64>()).ln()).sqrt();
        let (sin, cos) = (std::f64::consts::TAU * self.rng.random::<f64>()).sin_cos();
        Vector::new(radius * cos, radius * sin)
    }

    pub fn act(&mut self, act: Act) -> (String, bool) {
        self.now += 2.0;
        let said = self.bench.act(act, self.now).said;
        said.map_or_else(Default::default, |s| (s.words, s.warning))
    }

    /// Where the program takes the panel to lie.
    pub fn pose(&self) -> Pose {
        self.panel().on_table.pose()
    }

    pub fn panel(&self) -> &Panel {
        self.bench.state().panel(&self.panel).expect("the panel")
    }

    /// Gives the cloth, which lies by `truly`, its marks.
    pub fn give(&mut self, marks: &[Point<Cloth>], truly: &Pose) {
        self.act(Act::Begin(Task::Marks(self.panel.clone())));
        for &m in marks {
            let at = truly.point(m) + self.error();
            self.act(Act::Point(at));
            self.act(Act::Press);
        }
        self.act(Act::Finish);
    }

    /// Points at these of the marks on the cloth, which now lies by `truly`.
    /// What was pointed at, what was said, and whether it was doubted first.
    pub fn carry(&mut self, marks: &[Point<Cloth>], used: &[usize], truly: &Pose) -> Carry {
        self.act(Act::Begin(Task::Moved(self.panel.clone())));
        let mut seen = Vec::new();
        for (k, &m) in marks.iter().enumerate() {
            if !used.contains(&k) {
                self.act(Act::PassOver);
                continue;
            }
            let at = truly.point(m) + self.error();
            let known = &self.panel().marks[k];
            seen.push(Sighting {
                name: known.name.clone(),
                cloth: Point::new(known.x_mm, known.y_mm),
                table: at,
            });
            self.act(Act::Point(at));
            self.act(Act::Press);
        }
        let (mut said, doubted) = self.act(Act::Finish);
        if doubted {
            said = self.act(Act::Finish).0;
        }
        Carry {
            seen,
            said,
            doubted,
        }
    }

    /// A move of the cloth from where the program takes it to lie: up to
    /// `shift` mm any way, up to `turn` degrees about a place of the cloth.
    pub fn moved(&mut self, about: Point<Cloth>, shift: f64, turn: f64) -> Pose {
        let turn = self.between(-turn, turn).to_radians();
        let way = self.between(0.0, std::f64::consts::TAU);
        let far = shift * self.between(0.0, 1.0).sqrt();
        let by = Vector::new(far * way.cos(), far * way.sin());
        about_and_by(&self.pose(), about, turn, by)
    }
}

pub struct Carry {
    pub seen: Vec<Sighting>,
    pub said: String,
    pub doubted: bool,
}

/// A pose turned about a place of the cloth, then shifted.
pub fn about_and_by(from: &Pose, about: Point<Cloth>, turn: f64, by: Vector<Table>) -> Pose {
    let pivot = from.point(about).to_vector();
    let turned: Rigid<Table, Table> = Rigid::new(false, turn, Vector::zero());
    let shift = pivot - turned.vector(pivot) + by;
    from.then(&Rigid::new(false, turn, shift))
}

/// Where a line that the program lights at `p` falls on the cloth, less where
/// it belongs.
pub fn slip(lit: &Pose, truly: &Pose, p: Point<Cloth>) -> Vector<Cloth> {
    truly.inverse().point(lit.point(p)) - p
}

/// The cut lines of all pieces on a panel, cloth space.
pub fn cut_lines(bench: &Bench, panel: &str) -> Vec<Vec<Point<Cloth>>> {
    let stock = bench.goods.stock();
    let on = bench.state().placed.values().filter(|p| p.panel == panel);
    on.flat_map(|p| {
        let pose = p.pose();
        let cut = stock.piece(&p.piece).expect("a piece").cut.clone();
        Region::new(cut).moved(&pose).rings
    })
    .collect()
}

pub fn bench_of(job: &Job) -> Bench {
    let goods = Goods {
        pieces: job.pieces.clone(),
        cloths: job.file.cloths.clone(),
        articles: job.file.articles.clone(),
    };
    let state = State::new(
        job.file.panels.clone(),
        job.file.placed.clone(),
        Ways::default(),
    );
    Bench::new(goods, state, History::default())
}

/// The job with the lay as it now is.
pub fn job_of(job: &Job, bench: &Bench) -> Job {
    let mut job = job.clone();
    job.file.panels = bench.state().panels.clone();
    job.file.placed = bench.state().placed.values().cloned().collect();
    job
}

pub fn demo() -> Job {
    Job::open(Path::new("demo-data")).unwrap()
}

/// Marks near the corners of a box in cloth space, a hand's breadth about.
pub fn corners(person: &mut Person, size: [f64; 2], n: usize) -> Vec<Point<Cloth>> {
    let share = [[0.06, 0.1], [0.94, 0.9], [0.94, 0.1], [0.06, 0.9]];
    let mut near = |s: [f64; 2]| {
        let off = [person.between(-30.0, 30.0), person.between(-15.0, 15.0)];
        Point::new(s[0] * size[0] + off[0], s[1] * size[1] + off[1])
    };
    share[..n].iter().map(|&s| near(s)).collect()
}

/// Sums of squares, as measured and as claimed.
#[derive(Default, Clone, Copy)]
pub struct Pool {
    pub actual: f64,
    pub claimed: f64,
}

impl Pool {
    pub fn add(&mut self, actual: f64, claimed: f64) {
        self.actual += actual.powi(2);
        self.claimed += claimed.powi(2);
    }

    pub fn ratio(&self) -> f64 {
        (self.actual / self.claimed).sqrt()
    }
}
