//! Where the light's inner edge lies against the cut line, by the twin, over a grid of tilts,
//! lenses and hands; and whether what is stated of it is what happens.
//!
//! Marks are off as a tape leaves them, crosses as a hand leaves them. From there on nothing
//! is assumed: the marks are fitted, the demo is lit and drawn, and the twin looks for the
//! edge of the light on its table.

use crate::draws::pair;
use crate::table::Table;
use crate::{demo_folder, said};
use ghostchalk::calibration::Profile;
use ghostchalk::calibration::fit::{Believed, HAND_PX, MARKS_MM, Places, Sighted, best};
use ghostchalk::fault::Outcome;
use ghostchalk::job::Job;
use ghostchalk::rehearse::landed;
use ghostchalk::render::{Device, Wanted};
use ghostchalk::space::{Point, Rigid, Table as OnTable, Vector};
use ghostchalk::twin::lens::Lens;
use ghostchalk::twin::rig::{Optics, Rig};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

const SIZE: [u32; 2] = [1920, 1080];
/// The table, mm.
const TABLE: [f64; 2] = [1200.0, 800.0];

/// Tilts, degrees; k1 of lenses; hands, px on each axis (standard deviation); marks across
/// and deep.
struct Grid {
    tilts: &'static [f64],
    lenses: &'static [f64],
    hands: &'static [f64],
    marks: [usize; 2],
    seeds: usize,
}

const MANY: Grid = Grid {
    tilts: &[0.0, 8.0, 15.0, 25.0],
    lenses: &[0.0, -0.03, -0.06, -0.12, 0.05],
    hands: &[0.25, 0.5, 1.0, 2.0],
    marks: [5, 4],
    seeds: 5,
};

const FOUR: Grid = Grid {
    tilts: &[0.0, 15.0],
    lenses: &[0.0, -0.03, -0.06],
    hands: &[0.5],
    marks: [2, 2],
    seeds: 5,
};

const QUICK: Grid = Grid {
    tilts: &[0.0, 15.0],
    lenses: &[0.0, -0.06],
    hands: &[0.5],
    marks: [5, 4],
    seeds: 2,
};

/// Places of the cut lines: how far the light was off there, and the standard error that was
/// stated, mm.
#[derive(Debug, Clone, Default)]
struct Seen {
    places: Vec<[f64; 2]>,
    missing: usize,
}

/// `--quick`: a corner of the grid.
///
/// # Errors
/// If there is no driver, or the demo can't be lit.
pub fn run(words: &[String]) -> Outcome<()> {
    let quick = said(words, "--quick");
    let device = Device::open(Wanted::Best)?;
    let mut job = Job::open(&demo_folder())?;
    if let Some(ways) = &mut job.file.light {
        // The edge is measured all round.
        ways.creep = false;
    }
    println!(
        "The demo at {}x{} over {} x {} mm, throw ratio 1.05, the lens shifted by half the picture's \
         height, drawn on {}. A mark is {MARKS_MM} mm off on each axis, a cross as far as the hand says \
         (both 1 σ), and the program always believes {MARKS_MM} mm and {HAND_PX} px. Errors in mm across \
         the cut line, by what the twin sees in the table's plane.",
        SIZE[0],
        SIZE[1],
        TABLE[0],
        TABLE[1],
        device.name()
    );
    if quick {
        return grid(&device, &job, &QUICK);
    }
    grid(&device, &job, &MANY)?;
    grid(&device, &job, &FOUR)
}

const NUMBERS: [&str; 6] = [
    "median",
    "95 %",
    "worst",
    "stated, 1 σ",
    "within 1.96 σ, of 100",
    "not found",
];

fn grid(device: &Device, job: &Job, of: &Grid) -> Outcome<()> {
    let mut cells = Table::new([], ["tilt, °", "k1", "hand, px"].into_iter().chain(NUMBERS));
    let mut all: Vec<(f64, Seen)> = of.hands.iter().map(|h| (*h, Seen::default())).collect();
    // No two cells share their draws.
    let mut draws = 0..;
    for &tilt in of.tilts {
        for &k1 in of.lenses {
            let Some(rig) = rig(tilt, k1) else {
                let why = "no height where the picture covers the table";
                let head = [format!("{tilt}"), format!("{k1}"), why.to_owned()];
                cells.row(head.into_iter().chain(NUMBERS.map(|_| String::new())));
                continue;
            };
            for (hand, sum) in &mut all {
                let mut here = Seen::default();
                for seed in draws.by_ref().take(of.seeds) {
                    let one = seen(device, job, &rig, of.marks, *hand, seed)?;
                    here.places.extend(one.places);
                    here.missing += one.missing;
                }
                let head = [format!("{tilt}"), format!("{k1}"), format!("{hand}")];
                eprintln!("accuracy: {}", head.join(" "));
                cells.row(head.into_iter().chain(here.numbers()));
                sum.missing += here.missing;
                sum.places.extend(here.places);
            }
        }
    }
    let [across, deep] = of.marks;
    let count = across * deep;
    println!(
        "\n{count} marks, out to the table's edge; each row of {} draws, all tilts and lenses together:\n",
        of.seeds * of.tilts.len() * of.lenses.len()
    );
    let mut sums = Table::new([], ["hand, px"].into_iter().chain(NUMBERS));
    for (hand, sum) in &all {
        sums.row(std::iter::once(format!("{hand}")).chain(sum.numbers()));
    }
    sums.print();
    println!("\n{count} marks, each row of {} draws:\n", of.seeds);
    cells.print();
    Ok(())
}

impl Seen {
    /// As [`NUMBERS`] names them.
    fn numbers(&self) -> [String; 6] {
        let n = self.places.len().max(1) as f64;
        let mut off: Vec<f64> = self.places.iter().map(|p| p[0].abs()).collect();
        off.sort_by(f64::total_cmp);
        let at = |share: f64| {
            let rank = (share * off.len() as f64).ceil() as usize;
            off.get(rank.max(1) - 1).copied().unwrap_or(f64::NAN)
        };
        let stated = self.places.iter().map(|p| p[1] * p[1]).sum::<f64>() / n;
        let within = self.places.iter().filter(|p| p[0].abs() <= 1.96 * p[1]);
        [
            format!("{:.2}", at(0.5)),
            format!("{:.2}", at(0.95)),
            format!("{:.2}", at(1.0)),
            format!("{:.2}", stated.sqrt()),
            format!("{:.0}", 100.0 * within.count() as f64 / n),
            self.missing.to_string(),
        ]
    }
}

/// One table set by one hand, and where its light lies.
fn seen(
    device: &Device,
    job: &Job,
    rig: &Rig,
    marks: [usize; 2],
    hand: f64,
    seed: u64,
) -> Outcome<Seen> {
    let sighted = survey(rig, marks, hand, &mut ChaCha8Rng::seed_from_u64(seed));
    let believed = Believed {
        hand_px: HAND_PX,
        places: Places::Each(MARKS_MM),
    };
    let [w, h] = TABLE;
    let reach = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(Point::<OnTable>::from);
    let fit = best(&sighted, SIZE, &believed, &reach)?.fit;
    let profile = Profile::of_fit(&fit, &sighted, &believed, SIZE, false)?;
    let lies = |name: &str| {
        let panel = job.file.panels.iter().find(|p| p.name == name);
        let flat = Rigid::new(false, 0.0, Vector::zero());
        // What thick cloth does to a light whose lens place nobody told is another matter.
        (panel.map_or(flat, |p| p.on_table.pose()), 0.0)
    };
    let landed = landed(device, job, rig, &profile, lies)?;
    let field = fit.field(&sighted);
    let places = landed.found.iter().filter_map(|edge| {
        let stated = field.across(edge.on_table)? * fit.widened();
        Some([edge.intrudes, stated])
    });
    Ok(Seen {
        places: places.collect(),
        missing: landed.missing,
    })
}

fn survey(rig: &Rig, [across, deep]: [usize; 2], hand: f64, rng: &mut ChaCha8Rng) -> Vec<Sighted> {
    let at = |k: usize, n: usize, far: f64| far * k as f64 / (n - 1) as f64;
    let each = (0..across * deep).map(|k| {
        let (column, row) = (k % across, k / across);
        let p = Point::<OnTable>::new(at(column, across, TABLE[0]), at(row, deep, TABLE[1]));
        let [a, b] = pair(rng);
        let [u, v] = pair(rng);
        Sighted {
            name: format!("mark {}", k + 1),
            table: p + Vector::new(a, b) * MARKS_MM,
            pixel: rig.project(p.x, p.y, 0.0) + Vector::new(u, v) * hand,
        }
    });
    each.collect()
}

/// A projector tilted by so many degrees, as low as it can hang and cover the table; the
/// picture's middle lies on the table's.
fn rig(tilt: f64, k1: f64) -> Option<Rig> {
    let [width, height] = SIZE.map(f64::from);
    let focal = 1.05 * width;
    let optics = Optics {
        size: SIZE,
        focal: [focal, focal],
        centre: Point::new(width / 2.0, height),
        lens: Lens {
            k1,
            ..Lens::default()
        },
    };
    let [w, h] = TABLE;
    let middle = Point::new(w / 2.0, h / 2.0);
    // 25 mm at a time, up to 4 m.
    (0..100).find_map(|k| {
        let up = 1500.0 + 25.0 * f64::from(k);
        let lean = up * tilt.to_radians().tan();
        let mut foot = middle;
        for _ in 0..60 {
            // The axis leans away from the person, and is never quite upright.
            let lens = [foot.x, foot.y - lean, up];
            let rig = Rig::looking(lens, Point::new(foot.x, foot.y + 1e-6), 0.0, optics)?;
            let off = rig.land(Point::new(width / 2.0, height / 2.0), 0.0)? - middle;
            if off.length() < 1e-6 {
                let corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)];
                let inside = corners.iter().all(|&(x, y)| {
                    let q = rig.project(x, y, 0.0);
                    // A cross must stay in the picture, however unsteady the hand.
                    (12.0..width - 12.0).contains(&q.x) && (12.0..height - 12.0).contains(&q.y)
                });
                return inside.then_some(rig);
            }
            foot -= off;
        }
        None
    })
}
