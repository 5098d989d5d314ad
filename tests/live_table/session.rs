//! The program at work on the desktop, and what its light is compared with.

use crate::desktop::{Desktop, PROJECTOR};
use ghostchalk::calibration::{MarkRow, Profile};
use ghostchalk::job::{Job, write_toml};
use ghostchalk::projection::Mapping;
use ghostchalk::space::{Point, Projector, Table};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Child, Command};
use std::sync::{Condvar, Mutex, PoisonError};

pub const SIZE: [u32; 2] = [1920, 1080];

/// Where the four marks are, mm, and the pixels that light them: a keystoned table.
pub const MARKS: [[f64; 2]; 4] = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]];
pub const PIXELS: [[f64; 2]; 4] = [
    [60.0, 1040.0],
    [1880.0, 1020.0],
    [1760.0, 40.0],
    [170.0, 30.0],
];

/// So many desktops at a time: each takes about a processor, by itself.
const AT_A_TIME: u32 = 2;

static STANDING: Mutex<u32> = Mutex::new(0);
static GONE: Condvar = Condvar::new();

/// Room for a desktop, until it is dropped.
pub struct Room(u32);

/// Room beside another desktop.
pub fn room() -> Room {
    Room::of(1)
}

/// All the room there is: for hands that keep time.
pub fn alone() -> Room {
    Room::of(AT_A_TIME)
}

impl Room {
    fn of(wanted: u32) -> Self {
        let standing = STANDING.lock().unwrap_or_else(PoisonError::into_inner);
        let mut standing = GONE
            .wait_while(standing, |n| *n + wanted > AT_A_TIME)
            .unwrap_or_else(PoisonError::into_inner);
        *standing += wanted;
        Self(wanted)
    }
}

impl Drop for Room {
    fn drop(&mut self) {
        *STANDING.lock().unwrap_or_else(PoisonError::into_inner) -= self.0;
        GONE.notify_all();
    }
}

/// The demo job in a folder of its own.
pub fn job(folder: &Path) -> PathBuf {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let to = folder.join("slippers");
    std::fs::create_dir(&to).unwrap();
    for name in [
        "job.toml",
        "slippers.svg",
        "slippers.seams.toml",
        "canvas.png",
        "flannel.png",
        "felt.png",
    ] {
        std::fs::copy(demo.join(name), to.join(name)).unwrap();
    }
    // `frame` is of the lay alone: it has no rings round the table's marks. What
    // those add to a frame is tested in tests/watch.rs.
    let file = to.join("job.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(!text.contains("[light]"));
    std::fs::write(&file, text + "\n[light]\nwatch = false\n").unwrap();
    to
}

/// The keystoned table's profile, on the desktop's second output.
pub fn true_profile() -> Profile {
    let rows = std::array::from_fn(|k| MarkRow {
        table: Point::from(MARKS[k]),
        projector: Point::from(PIXELS[k]),
    });
    let mut profile = Profile::of_four(&rows, SIZE, false).unwrap();
    profile.output = Some(PROJECTOR.to_owned());
    profile
}

/// The demo job, with a profile beside it.
pub fn job_and_profile(folder: &Path) -> (PathBuf, PathBuf) {
    let to = job(folder);
    let at = to.join("table.toml");
    write_toml(&at, &true_profile()).unwrap();
    (to, at)
}

/// The program at work.
pub struct Session(Child);

impl Session {
    /// `light JOB …`.
    pub fn start(desktop: &Desktop, job: &Path, more: &[&str]) -> Self {
        Self::start_with(desktop, job, more, &[])
    }

    /// The same, with variables set; what it complains of goes to `said.txt`
    /// beside the job.
    pub fn start_with(desktop: &Desktop, job: &Path, more: &[&str], set: &[(&str, &str)]) -> Self {
        let mut command = desktop.command(env!("CARGO_BIN_EXE_ghostchalk"));
        let said = File::create(job.with_file_name("said.txt")).unwrap();
        command.arg("light").arg(job).args(more).stderr(said);
        command.envs(set.iter().copied());
        Self(command.spawn().unwrap())
    }

    /// Closes it as a person does, and waits.
    pub fn close(mut self, desktop: &Desktop) {
        desktop.hand(&["key", "ctrl+q"]);
        let mut code = None;
        desktop.until("the program has ended", || {
            code = self.0.try_wait().unwrap();
            code.is_some()
        });
        assert!(code.unwrap().success(), "it ended with {code:?}");
    }

    /// SIGKILL: nothing of the program runs after it.
    pub fn kill(mut self) {
        self.0.kill().unwrap();
        self.0.wait().unwrap();
    }

    pub fn signal(&self, name: &str) {
        let id = self.0.id().to_string();
        let done = Command::new("kill").args([name, &id]).status().unwrap();
        assert!(done.success());
    }

    /// Processor time it has used so far, seconds.
    pub fn processor_seconds(&self) -> f64 {
        let stat = std::fs::read_to_string(format!("/proc/{}/stat", self.0.id())).unwrap();
        // After the name in brackets: utime and stime are the 12th and 13th, in
        // hundredths of a second (USER_HZ).
        let after = stat.rsplit(')').next().unwrap();
        let fields: Vec<&str> = after.split_whitespace().collect();
        let ticks = |k: usize| fields[k].parse::<f64>().unwrap();
        (ticks(11) + ticks(12)) / 100.0
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// What `frame` draws of the job as it is on disk: codes of its pixels.
pub fn frame(job: &Path, more: &[&str]) -> Vec<u8> {
    let out = job.with_file_name("frame.png");
    let done = Command::new(env!("CARGO_BIN_EXE_ghostchalk"))
        .arg("frame")
        .arg(job)
        .args(more)
        .arg("-o")
        .arg(&out)
        .output()
        .unwrap();
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let image = image::open(&out).unwrap().to_luma8();
    std::fs::remove_file(&out).unwrap();
    image.into_raw()
}

/// Pixels that differ by more than a code value.
pub fn differ(seen: &[[u8; 3]], frame: &[u8]) -> usize {
    let pairs = seen.iter().zip(frame);
    let unlike = pairs.filter(|(s, f)| s.iter().any(|c| c.abs_diff(**f) > 1));
    unlike.count()
}

pub fn lit(seen: &[[u8; 3]]) -> usize {
    seen.iter().filter(|p| p[0] > 128).count()
}

pub fn shows(desktop: &Desktop, frame: &[u8], what: &str) {
    let mut left = 0;
    desktop.until(what, || {
        left = differ(&desktop.projector(SIZE), frame);
        left == 0
    });
}

/// Where the middle of a placed piece is in the picture.
pub fn pixel_of(job: &Path, map: &Mapping, index: usize) -> Point<Projector> {
    let job = Job::open(job).unwrap();
    let at: Point<Table> = job.laid()[index].pose.shift.to_point();
    map.pixel(at, 0.0).unwrap()
}
