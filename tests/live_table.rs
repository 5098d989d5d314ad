//! The live table end to end: the built program on a desktop with two outputs,
//! worked with keys and mouse, its light compared with what `frame` draws.

#![cfg(all(feature = "live", target_os = "linux"))]

mod desktop;

use desktop::{Desktop, PROJECTOR};
use ghostchalk::calibration::{MarkRow, Profile};
use ghostchalk::job::{Job, write_toml};
use ghostchalk::projection::Mapping;
use ghostchalk::space::{Point, Table};
use std::path::{Path, PathBuf};
use std::process::{Child, Command};

const SIZE: [u32; 2] = [1920, 1080];

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data")
}

/// The demo job in a folder of its own, with a profile of a keystoned table.
fn job(folder: &Path) -> (PathBuf, PathBuf) {
    let to = folder.join("slippers");
    std::fs::create_dir(&to).unwrap();
    for name in [
        "job.toml",
        "slippers.svg",
        "canvas.png",
        "flannel.png",
        "felt.png",
    ] {
        std::fs::copy(demo().join(name), to.join(name)).unwrap();
    }
    let table = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]];
    let px = [
        [60.0, 1040.0],
        [1880.0, 1020.0],
        [1760.0, 40.0],
        [170.0, 30.0],
    ];
    let rows = std::array::from_fn(|k| MarkRow {
        table: Point::from(table[k]),
        projector: Point::from(px[k]),
    });
    let mut profile = Profile::of_four(&rows, SIZE, false).unwrap();
    profile.output = Some(PROJECTOR.to_owned());
    let at = to.join("table.toml");
    write_toml(&at, &profile).unwrap();
    (to, at)
}

/// The program at work.
struct Session(Child);

impl Session {
    fn start(desktop: &Desktop, job: &Path, profile: &Path) -> Self {
        let mut command = desktop.command(env!("CARGO_BIN_EXE_ghostchalk"));
        command.arg("light").arg(job).arg("--profile").arg(profile);
        Self(command.spawn().unwrap())
    }

    /// Closes it as a person does, and waits.
    fn close(mut self, desktop: &Desktop) {
        desktop.hand(&["key", "ctrl+q"]);
        let mut code = None;
        desktop.until("the program has ended", || {
            code = self.0.try_wait().unwrap();
            code.is_some()
        });
        assert!(code.unwrap().success(), "it ended with {code:?}");
    }

    fn kill(mut self) {
        // SIGKILL: nothing of the program runs after it.
        self.0.kill().unwrap();
        self.0.wait().unwrap();
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// What `frame` draws of the job as it is on disk: codes of its pixels.
fn frame(job: &Path, profile: &Path) -> Vec<u8> {
    let out = job.join("frame.png");
    let done = Command::new(env!("CARGO_BIN_EXE_ghostchalk"))
        .arg("frame")
        .arg(job)
        .arg("--profile")
        .arg(profile)
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
    image.into_raw()
}

/// Pixels that differ by more than a code value.
fn differ(seen: &[[u8; 3]], frame: &[u8]) -> usize {
    let pairs = seen.iter().zip(frame);
    let unlike = pairs.filter(|(s, f)| s.iter().any(|c| c.abs_diff(**f) > 1));
    unlike.count()
}

fn lit(seen: &[[u8; 3]]) -> usize {
    seen.iter().filter(|p| p[0] > 128).count()
}

fn shows(desktop: &Desktop, frame: &[u8], what: &str) {
    let mut left = 0;
    desktop.until(what, || {
        left = differ(&desktop.projector(SIZE), frame);
        left == 0
    });
}

/// Where the middle of a placed piece is in the picture.
fn pixel_of(job: &Path, map: &Mapping, index: usize) -> (f64, f64) {
    let job = Job::open(job).unwrap();
    let laid = job.laid();
    let at: Point<Table> = laid[index].pose.shift.to_point();
    let q = map.pixel(at, 0.0).unwrap();
    (q.x, q.y)
}

#[test]
fn a_lay_is_set_moved_killed_unplugged_and_still_there() {
    let folder = tempfile::tempdir().unwrap();
    let Some(desktop) = Desktop::start(folder.path()) else {
        return;
    };
    let (job, profile) = job(folder.path());
    let map = ghostchalk::job::read_profile(&profile)
        .unwrap()
        .mapping()
        .unwrap();
    desktop.point_away();
    let session = Session::start(&desktop, &job, &profile);
    let begun = frame(&job, &profile);
    shows(&desktop, &begun, "the projector shows the demo's frame");

    // A sole is taken hold of and dragged 90 px to the right.
    let (x, y) = pixel_of(&job, &map, 2);
    desktop.point(x, y);
    desktop.until("the pointer is seen", || {
        differ(&desktop.projector(SIZE), &begun) > 20
    });
    desktop.hand(&["mousedown", "1"]);
    for step in 1..=9 {
        desktop.point(x + 10.0 * f64::from(step), y);
    }
    // Killed in mid-drag, after the quarter of a second in which a drag is
    // written down.
    std::thread::sleep(std::time::Duration::from_millis(900));
    session.kill();
    desktop.hand(&["mouseup", "1"]);
    desktop.point_away();

    let session = Session::start(&desktop, &job, &profile);
    desktop.until("there is light again", || {
        lit(&desktop.projector(SIZE)) > 1000
    });
    session.close(&desktop);
    let moved = frame(&job, &profile);
    let (there, _) = pixel_of(&job, &map, 2);
    assert!(
        (there - x - 90.0).abs() < 12.0,
        "the sole went from {x} to {there}"
    );
    assert_ne!(begun, moved);

    // The moved lay is the one that is lit; the undo reaches across both starts.
    let session = Session::start(&desktop, &job, &profile);
    shows(&desktop, &moved, "the moved lay is lit");
    desktop.unplug();
    std::thread::sleep(std::time::Duration::from_millis(2500));
    desktop.plug_in(SIZE);
    shows(&desktop, &moved, "the projector has come back");
    desktop.hand(&["key", "ctrl+z"]);
    desktop.until("the drag is undone", || {
        differ(&desktop.projector(SIZE), &moved) > 200
    });
    session.close(&desktop);
    let undone = frame(&job, &profile);
    assert_eq!(begun, undone, "undo across a restart");
}
