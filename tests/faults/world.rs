//! A small job, and a course of work on it whose every state is known.

use ghostchalk::calibration::still::CheckFile;
use ghostchalk::calibration::{
    BelievedFile, CheckedFile, LensFile, LensPlaceFile, MarkRow, Profile,
};
use ghostchalk::cloth::shade::{Doubt, Ground, ShadeMap};
use ghostchalk::cloth::{ClothMark, KeepOut, OnTable};
use ghostchalk::job::{Job, JobFile, Remembered};
use ghostchalk::lay::{CutPart, Face, Marking};
use ghostchalk::raster::Raster;
use ghostchalk::space::{Bounds, Cloth, Point};
use ghostchalk::work::{History, Op, Record, Spot, State, Ways, apply_all, replay};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

const JOB: &str = r#"# The shop keeps this line.
ghostchalk_job = 1
name = "Topflappen"
profile = "table.toml"

[[pattern]]
file = "pad.svg"

[[cloth]]
name = "felt"
thickness_mm = 1.0

[[article]]
name = "1"

[[article.part]]
piece = "pad"
cloth = "felt"
count = 1
pair = false

[[article.part]]
piece = "strap"
cloth = "felt"
count = 1
pair = false

[[panel]]
name = "Rest"
cloth = "felt"
outline_mm = [[0, 0], [600, 0], [600, 400], [0, 400]]
grain_deg = 90

[panel.on_table]
x_mm = 20
y_mm = 30
turn_deg = 0

[[placed]]
piece = "pad"
article = "1"
panel = "Rest"
x_mm = 100
y_mm = 100

[[placed]]
piece = "strap"
article = "1"
panel = "Rest"
x_mm = 300
y_mm = 150
turn_deg = 15
"#;

pub const PAD: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='200mm' height='100mm' \
    viewBox='0 0 200 100'><path id='pad' d='M10 10H80V60L60 90H10Z'/>\
    <path id='strap' d='M110 10H190V40H110Z'/></svg>";

pub const POINTS: &str = "table_x_mm,table_y_mm,projector_x_px,projector_y_px\n\
    0,0,60.5,1040\n1200,0,1850,1033.25\n1200,800,1660,60\n0,800,250,75\n";

pub const PANEL: &str = "Rest";

/// How many steps the course of work has.
pub const STEPS: usize = 14;

/// A folder of its own, in memory where that can be had: much is flushed here.
pub fn folder() -> tempfile::TempDir {
    tempfile::tempdir_in("/dev/shm").unwrap_or_else(|_| tempfile::tempdir().unwrap())
}

/// The job in a folder `name` of `folder`.
pub fn job(folder: &Path, name: impl AsRef<Path>) -> PathBuf {
    let job = folder.join(name);
    std::fs::create_dir_all(&job).unwrap();
    std::fs::write(job.join("job.toml"), JOB).unwrap();
    std::fs::write(job.join("pad.svg"), PAD).unwrap();
    job
}

/// The work at one time, and the way there.
pub struct Model {
    pub state: State,
    history: History,
    /// How many steps it has come.
    pub steps: usize,
}

impl Model {
    /// As a job was left.
    pub fn of(memory: &Remembered<Record>) -> Self {
        let mut state = memory.job.state();
        let (history, wrong) = replay(&mut state, &memory.steps, memory.replay_from);
        assert!(wrong.is_none(), "{wrong:?}");
        let steps = memory.steps.len();
        Self {
            state,
            history,
            steps,
        }
    }

    /// Does a step of the course.
    pub fn step(&mut self, k: usize) -> Record {
        let record = record(k, &self.state);
        let ops = self.history.take(&record);
        apply_all(&mut self.state, &ops).unwrap();
        self.steps += 1;
        record
    }

    /// The job file as it would be saved now.
    pub fn file(&self, was: &JobFile) -> JobFile {
        let state = &self.state;
        JobFile {
            panels: state.panels.clone(),
            placed: state.placed.values().cloned().collect(),
            light: Some(state.ways),
            trims: state.trims.clone(),
            wishes: state.wishes.clone(),
            cutting: (!state.cuts.is_empty()).then(|| state.cuts.clone()),
            ..was.clone()
        }
    }
}

/// The states of the course: before the first step, and after each.
pub fn states() -> Vec<State> {
    let folder = folder();
    let job = Job::open(&job(folder.path(), "job")).unwrap();
    let mut model = Model {
        state: job.state(),
        history: History::default(),
        steps: 0,
    };
    let mut states = vec![model.state.clone()];
    for k in 0..STEPS {
        model.step(k);
        states.push(model.state.clone());
    }
    states
}

/// The steps: a drag in two parts, undone and done again; what is noted of cloth and light; both
/// pieces cut, one of them taken back and cut after all; the light once more.
fn record(k: usize, state: &State) -> Record {
    let panel = || PANEL.to_owned();
    let drag = |x_mm: f64| {
        let from = Spot::of(&state.placed[&1]);
        let turn_deg = 7.25;
        let to = Spot {
            x_mm,
            turn_deg,
            ..from.clone()
        };
        Record::Do {
            ops: vec![Op::Move { id: 1, from, to }],
            gesture: Some(1),
        }
    };
    let op = match k {
        0 => return drag(120.5),
        1 => return drag(131.0 + 1.0 / 3.0),
        2 | 11 => return Record::Undo,
        3 | 12 => return Record::Redo,
        4 => Op::Lock {
            id: 2,
            from: false,
            to: true,
        },
        5 => Op::KeepOut {
            panel: panel(),
            at: 0,
            from: None,
            to: Some(KeepOut {
                name: "Mottenloch, groß".to_owned(),
                outline_mm: vec![[400.0, 10.0], [430.0, 10.0], [415.0, 40.0]],
            }),
        },
        6 => Op::Mark {
            panel: panel(),
            at: 0,
            from: None,
            to: Some(ClothMark {
                name: "stitch \"a\"".to_owned(),
                x_mm: 5.0,
                y_mm: 6.1,
            }),
        },
        7 => Op::Light {
            from: state.ways,
            to: Ways {
                work_light: 1,
                ..state.ways
            },
        },
        8 => Op::Lie {
            panel: panel(),
            from: state.panel(PANEL).unwrap().on_table,
            to: OnTable {
                x_mm: 22.0,
                y_mm: 31.7,
                turn_deg: 0.1,
            },
        },
        9 => Op::Cut {
            parts: vec![part(1, "pad")],
        },
        10 => Op::Cut {
            parts: vec![part(2, "strap")],
        },
        // Without it the job file would be again what it was after the eleventh.
        13 => Op::Light {
            from: state.ways,
            to: Ways {
                work_light: 2,
                ..state.ways
            },
        },
        _ => panic!("the course has {STEPS} steps"),
    };
    Record::Do {
        ops: vec![op],
        gesture: None,
    }
}

fn part(id: u32, piece: &str) -> CutPart {
    CutPart {
        id,
        placed: id,
        piece: piece.to_owned(),
        article: "1".to_owned(),
        cloth: "felt".to_owned(),
        panel: PANEL.to_owned(),
        face: Face::Up,
        plies: 1,
        clipped_late: Vec::new(),
        marking: Marking::Waived,
        spoilt: false,
        by: None,
    }
}

/// The table's profile, measured for the so-manieth time.
pub fn profile(time: u32) -> Profile {
    let off = f64::from(time);
    let corners = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]];
    let rows = corners.map(|[x, y]| MarkRow {
        table: Point::new(x, y),
        projector: Point::new(100.0 + off + 1.25 * x, 1050.0 - 1.25 * y),
    });
    Profile::of_four(&rows, [1920, 1080], false).unwrap()
}

/// A profile that says all that one can say.
pub fn full_profile() -> Profile {
    Profile {
        lens: Some(LensFile {
            focal_px: 1820.5,
            centre_px: [930.25, 930.0],
            k1: -0.06,
            k2: 0.0,
            p1: 1e-4,
            p2: 0.0,
        }),
        lens_place: Some(LensPlaceFile {
            foot_mm: [620.0, 450.0],
            height_mm: 1500.0,
        }),
        made: Some("2031-05-17".to_owned()),
        output: Some("HDMI-1, über Eck".to_owned()),
        effective_px: Some([0.98, 1.25]),
        least_code: Some(6),
        colour_lines_clean: Some(false),
        checked: Some(CheckedFile {
            furthest_mm: -0.5,
            tolerance_mm: 1.4,
            readings: 4,
        }),
        believed: Some(BelievedFile {
            hand_px: 0.5,
            marks_mm: Some(0.5),
            marks_mm2: Vec::new(),
        }),
        checks: vec![CheckFile {
            day: "2031-06-01".to_owned(),
            marks: 3,
            rms_mm: Some(4.25),
            finding: "shift".to_owned(),
        }],
        ..profile(1)
    }
}

/// What a photo might have told of the panel.
pub fn shade() -> ShadeMap<Cloth> {
    let bounds = Bounds::new(Point::zero(), Point::new(40.0, 30.0));
    let light = Raster::over(bounds, 1.0, |c, r, _| {
        [0.2 + 0.01 * c as f32, 0.3, 0.1 + 0.01 * r as f32]
    });
    ShadeMap::measure(&light, [0.9; 3], 2.0, Doubt::NONE, |_, _| Ground::Cloth).unwrap()
}

/// All files under a folder, by their path from there; but for locks, which say no more than
/// who had the job last, and nothing of whose turn it was.
pub fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut all = BTreeMap::new();
    let mut folders = vec![PathBuf::new()];
    while let Some(at) = folders.pop() {
        for entry in std::fs::read_dir(folder.join(&at)).unwrap() {
            let entry = entry.unwrap();
            let path = at.join(entry.file_name());
            if [".in-use", ".in-turn"]
                .iter()
                .any(|lock| entry.file_name() == *lock)
            {
                continue;
            }
            match entry.file_type().unwrap().is_dir() {
                true => folders.push(path),
                false => drop(all.insert(path, std::fs::read(entry.path()).unwrap())),
            }
        }
    }
    all
}

/// A copy of all that is in a folder.
pub fn copy(from: &Path, to: &Path) {
    for (path, bytes) in files(from) {
        let path = to.join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
}

/// Whether a file is what a stop in mid-writing leaves beside.
pub fn is_litter(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    name.starts_with(".ghostchalk-")
}
