//! Cloth longer than the light: a piece is cut in two stretches, and the second
//! goes on where the first ended, as nearly as is stated.

use crate::person::{Person, Pool, Pose, WITHIN, about_and_by, bench_of, job_of, slip};
use ghostchalk::cloth::{Cloth as Kind, OnTable, Panel};
use ghostchalk::job::{JOB_VERSION, Job, JobFile};
use ghostchalk::lay::{Pointing, Position, expected_step, worst_step};
use ghostchalk::measure::Unit;
use ghostchalk::order::{Article, Part};
use ghostchalk::pattern::{PatternPiece, Sewing};
use ghostchalk::shape::Region;
use ghostchalk::space::{Cloth, Point, Table, Vector};
use ghostchalk::work::{Act, Bench, Task};
use std::path::PathBuf;

/// The projector's light on the table, mm.
pub const LIGHT: [f64; 2] = [1200.0, 800.0];

fn reach() -> Region<Table> {
    let [w, h] = LIGHT;
    let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
    Region::ring(corners.map(Point::from).to_vec())
}

/// A strip of canvas 1800 mm long with one piece of 1700 by 120 mm on it.
pub fn strip() -> Job {
    let mut piece = PatternPiece::named("sling");
    let ring = [
        (-850.0, -60.0),
        (850.0, -60.0),
        (850.0, 60.0),
        (-850.0, 60.0),
    ];
    piece.cut = vec![ring.map(|(x, y)| Point::new(x, y)).to_vec()];
    let outline = vec![[0.0, 0.0], [1800.0, 0.0], [1800.0, 260.0], [0.0, 260.0]];
    let panel = Panel {
        grain_deg: 0.0,
        on_table: OnTable {
            x_mm: 60.0,
            y_mm: 250.0,
            turn_deg: 0.0,
        },
        ..Panel::new("canvas", "canvas", outline)
    };
    let article = Article {
        name: "1".into(),
        parts: vec![Part {
            piece: "sling".into(),
            cloth: "canvas".into(),
            count: 1,
            pair: false,
            inside: None,
        }],
        ..Article::default()
    };
    let mut job = Job {
        folder: PathBuf::new(),
        file: JobFile {
            ghostchalk_job: JOB_VERSION,
            name: "A long strip".into(),
            profile: None,
            patterns: Vec::new(),
            derived: Vec::new(),
            makes: Vec::new(),
            orders: Vec::new(),
            cloths: vec![Kind {
                name: "canvas".into(),
                thickness_mm: 0.8,
                no_face: false,
            }],
            articles: vec![article.clone()],
            panels: vec![panel],
            placed: Vec::new(),
            light: Default::default(),
            trims: Vec::new(),
            wishes: Vec::new(),
            cutting: None,
        },
        pieces: vec![piece],
        articles: vec![article],
        left_out: Vec::new(),
        sewing: Sewing::default(),
        pattern_notes: Vec::new(),
        drawings: Vec::new(),
    };
    // Laid as a person lays it: under the pointer, half of it in the dark.
    let mut person = Person::new(bench_of(&job), "canvas", 0);
    person.act(Act::Point(Point::new(960.0, 380.0)));
    person.act(Act::Lay {
        article: "1".into(),
        piece: "sling".into(),
        panel: "canvas".into(),
    });
    job = job_of(&job, &person.bench);
    assert_eq!(job.file.placed.len(), 1);
    job
}

/// The cut line runs along x; both its edges are joined here, cloth space.
pub const JOIN: [[f64; 2]; 2] = [[900.0, 70.0], [900.0, 190.0]];

/// One piece in two stretches: how the first was carried (`None`: the marks were
/// given there), and by which marks the second is.
pub struct Stretches {
    pub first: Option<&'static [usize]>,
    pub second: &'static [usize],
}

/// A piece cut in two stretches.
pub struct Cut {
    pub person: Person,
    /// Where the marks truly are.
    pub marks: Vec<Point<Cloth>>,
    /// Of each stretch: by which pose it was lit, and how the cloth truly lay.
    pub poses: [(Pose, Pose); 2],
}

impl Stretches {
    fn positions(&self) -> (Position<'_>, Position<'_>) {
        let first = self.first.map_or(Position::AsGiven, Position::Carried);
        (first, Position::Carried(self.second))
    }

    /// Both stretches, the cloth drawn along between them.
    pub fn cut(&self, job: &Job, seed: u64) -> Cut {
        let mut person = Person::new(bench_of(job), "canvas", seed);
        person.bench.set_reach(reach());
        let near = [[760.0, 30.0], [1080.0, 230.0], [1050.0, 40.0]];
        let n = 1 + self
            .first
            .into_iter()
            .flatten()
            .chain(self.second)
            .max()
            .unwrap();
        let marks: Vec<Point<Cloth>> = near[..n]
            .iter()
            .map(|m| {
                let off = [person.between(-15.0, 15.0), person.between(-15.0, 15.0)];
                Point::new(m[0] + off[0], m[1] + off[1])
            })
            .collect();
        let begun = person.pose();
        person.give(&marks, &begun);
        let mut truly = begun;
        if let Some(used) = self.first {
            truly = person.moved(Point::new(600.0, 130.0), 40.0, 4.0);
            person.carry(&marks, used, &truly);
        }
        let one = (person.pose(), truly);
        // The cloth is drawn to the left.
        let (turn, x, y) = (
            person.between(-5.0, 5.0).to_radians(),
            person.between(-690.0, -610.0),
            person.between(-30.0, 30.0),
        );
        let truly = about_and_by(&truly, Point::new(900.0, 130.0), turn, Vector::new(x, y));
        person.carry(&marks, self.second, &truly);
        let two = (person.pose(), truly);
        Cut {
            poses: [one, two],
            person,
            marks,
        }
    }
}

#[test]
fn a_piece_longer_than_the_light_joins_within_its_stated_step() {
    const SEEDS: u64 = 300;
    let job = strip();
    let ways = [
        (
            "two marks, given in the first position",
            Stretches {
                first: None,
                second: &[0, 1],
            },
        ),
        (
            "three",
            Stretches {
                first: None,
                second: &[0, 1, 2],
            },
        ),
        (
            "two, carried to both",
            Stretches {
                first: Some(&[0, 1]),
                second: &[0, 1],
            },
        ),
        (
            "one of three shared",
            Stretches {
                first: Some(&[0, 1]),
                second: &[1, 2],
            },
        ),
    ];
    let pointing = Pointing::default();
    let ends = JOIN.map(Point::from);
    for (name, stretches) in ways {
        let (mut worst, mut along) = (Pool::default(), Pool::default());
        for seed in 0..SEEDS {
            let cut = stretches.cut(&job, 50_000 + seed);
            let (marks, [one, two]) = (cut.marks, cut.poses);
            let (first, second) = stretches.positions();
            let step = |p| slip(&two.0, &two.1, p) - slip(&one.0, &one.1, p);
            let stated = |p| expected_step(&marks, first, second, pointing, p).unwrap();
            let greatest = worst_step(&marks, first, second, pointing, ends).unwrap();
            let end = ends
                .into_iter()
                .max_by(|a, b| stated(*a).length().total_cmp(&stated(*b).length()));
            let end = end.unwrap();
            assert_eq!(stated(end).length(), greatest);
            worst.add(step(end).length(), greatest);
            for p in ends {
                along.add(step(p).y, stated(p).across(Vector::new(1.0, 0.0)));
            }
        }
        let rms = (worst.actual / SEEDS as f64).sqrt();
        println!(
            "{name}: step {rms:.3} mm, {:.3} of what is stated; across the line {:.3}",
            worst.ratio(),
            along.ratio()
        );
        assert!(WITHIN.contains(&worst.ratio()), "{name}: {}", worst.ratio());
        assert!(WITHIN.contains(&along.ratio()), "{name}: {}", along.ratio());
    }
}

/// The sentence after carrying a panel that reaches out of the light.
#[test]
fn the_step_at_a_join_is_said_when_the_cloth_is_carried() {
    let job = strip();
    let carry = |reach: Option<Region<Table>>, by: Vector<Table>| {
        let mut person = Person::new(bench_of(&job), "canvas", 0);
        if let Some(reach) = reach {
            person.bench.set_reach(reach);
        }
        let marks = [Point::new(760.0, 30.0), Point::new(1080.0, 230.0)];
        let begun = person.pose();
        let steady = |person: &mut Person, begin: Act, by: Vector<Table>| {
            person.act(begin);
            for m in marks {
                person.act(Act::Point(begun.point(m) + by));
                person.act(Act::Press);
            }
            person.act(Act::Finish).0
        };
        let panel = || "canvas".to_owned();
        steady(
            &mut person,
            Act::Begin(Task::Marks(panel())),
            Vector::zero(),
        );
        steady(&mut person, Act::Begin(Task::Moved(panel())), by)
    };
    let by = Vector::new(-650.0, 0.0);
    // The cloth lies at x = 60, then at −590: what is lit both times of the
    // piece (x 50 to 1750, y 70 to 190) is from 590 to 1140. With a pointing
    // variance of ½ mm² both times, per axis ½ at the marks' middle (920, 130),
    // and r² ½/(2·(160² + 100²)) by the turn: two marks 160, 100 from it.
    let farthest: f64 = 330.0 * 330.0 + 60.0 * 60.0;
    let want = (2.0 * 0.25 + farthest * 0.5 / (2.0 * 35_600.0)).sqrt();
    let said = carry(Some(reach()), by);
    let stated = format!("expected step at a join {}", Unit::Mm.show(want));
    assert!(said.ends_with(&stated), "{said}: {stated}");
    assert_eq!(Unit::Mm.show(want), "1.1 mm");
    // All in the light, or nothing known of it: no join.
    let wide = Region::disc(Point::new(600.0, 400.0), 3000.0);
    for reach in [Some(wide), None] {
        let said = carry(reach, by);
        assert!(!said.contains("join"), "{said}");
    }
    // So far that nothing of what was lit is lit again.
    let said = carry(Some(reach()), Vector::new(-1300.0, 0.0));
    assert!(said.contains("can't be joined"), "{said}");
}

#[test]
fn which_marks_carried_the_cloth_outlives_the_program() {
    let job = strip();
    let mut person = Person::new(bench_of(&job), "canvas", 0);
    let marks = [
        Point::new(760.0, 30.0),
        Point::new(1080.0, 230.0),
        Point::new(1050.0, 40.0),
    ];
    let begun = person.pose();
    person.give(&marks, &begun);
    let truly = person.moved(Point::new(600.0, 130.0), 40.0, 4.0);
    person.carry(&marks, &[0, 2], &truly);
    let kept = |bench: &Bench| job_of(&job, bench).file.panels[0].carried_by.clone();
    assert_eq!(kept(&person.bench), ["A", "C"]);
    person.act(Act::Undo);
    assert!(kept(&person.bench).is_empty());
}
