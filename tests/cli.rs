//! The program as a person or a script meets it: what it prints, what it
//! writes, and one sentence for each kind of bad input.

#[path = "cli/answers.rs"]
mod answers;
#[path = "cli/calibrate.rs"]
mod calibrate;
#[path = "cli/card.rs"]
mod card;
#[path = "cli/cloth.rs"]
mod cloth;
#[path = "cli/files.rs"]
mod files;
#[path = "cli/frame.rs"]
mod frame;
#[path = "cli/hang.rs"]
mod hang;
#[path = "cli/job.rs"]
mod job;
#[path = "cli/order.rs"]
mod order;
#[path = "cli/pattern.rs"]
mod pattern;
#[path = "cli/seen.rs"]
mod seen;
#[path = "cli/shell.rs"]
mod shell;
#[path = "cli/standing.rs"]
mod standing;

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::{PoisonError, RwLock, RwLockWriteGuard};

/// Between its birth and its own program a child has the files that we have open, and with
/// them a job's lock: none is born while a test itself has a job open.
static OPEN: RwLock<()> = RwLock::new(());

/// Held while a test has a job open.
fn alone() -> RwLockWriteGuard<'static, ()> {
    OPEN.write().unwrap_or_else(PoisonError::into_inner)
}

fn run(args: &[&str]) -> Output {
    let born = OPEN.read().unwrap_or_else(PoisonError::into_inner);
    let child = Command::new(env!("CARGO_BIN_EXE_ghostchalk"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(args)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(born);
    child.wait_with_output().unwrap()
}

fn stdout(o: &Output) -> String {
    String::from_utf8(o.stdout.clone()).unwrap()
}

/// What the program itself said; drivers may say more.
fn sentence(o: &Output) -> String {
    let text = String::from_utf8_lossy(&o.stderr).into_owned();
    let ours: Vec<&str> = text
        .lines()
        .filter(|l| l.starts_with("ghostchalk: "))
        .collect();
    assert_eq!(ours.len(), 1, "one sentence: {text}");
    assert!(!text.contains("panicked"), "{text}");
    ours[0].to_owned()
}

/// Bad input: exit code 2, one sentence that names `place` and ends in a remedy.
fn refused(args: &[&str], place: &str) -> String {
    let o = run(args);
    assert_eq!(
        o.status.code(),
        Some(2),
        "{args:?}: {}",
        String::from_utf8_lossy(&o.stderr)
    );
    let said = sentence(&o);
    assert!(said.contains(place), "{said}");
    assert!(
        said.contains("; ") && said.ends_with('.'),
        "no remedy: {said}"
    );
    said
}

struct Bench {
    dir: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        Self {
            dir: tempfile::tempdir().unwrap(),
        }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn str(&self, name: &str) -> String {
        self.path(name).to_str().unwrap().to_owned()
    }

    fn write(&self, name: &str, text: impl AsRef<[u8]>) -> String {
        std::fs::write(self.path(name), text).unwrap();
        self.str(name)
    }

    fn profile(&self) -> String {
        let out = self.str("table.toml");
        let points = self.write("points.csv", POINTS);
        let o = run(&[
            "calibrate",
            "--points",
            &points,
            "--projector",
            "1920x1080",
            "-o",
            &out,
        ]);
        assert!(o.status.success(), "{}", String::from_utf8_lossy(&o.stderr));
        out
    }

    /// A copy of the demo job in which `from` has become `to`.
    fn demo(&self, from: &str, to: &str) -> String {
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
        let text = std::fs::read_to_string(demo.join("job.toml")).unwrap();
        assert!(text.contains(from), "the demo job has no {from}");
        std::fs::create_dir_all(self.path("job")).unwrap();
        for file in ["slippers.svg", "slippers.seams.toml"] {
            std::fs::copy(demo.join(file), self.path("job").join(file)).unwrap();
        }
        self.write("job/job.toml", text.replacen(from, to, 1));
        self.str("job")
    }
}

const POINTS: &str = "table_x_mm,table_y_mm,projector_x_px,projector_y_px\n\
    0,0,60.5,1040\n1200,0,1850,1033.25\n1200,800,1660,60\n0,800,250,75\n";

#[test]
fn help_of_each_command_has_an_example() {
    for command in [
        "rehearse",
        "begin",
        "calibrate",
        "budget",
        "cut-test",
        "frame",
        "hang",
        "seen",
        "sheets",
        "shell",
    ] {
        let o = run(&[command, "--help"]);
        assert_eq!(o.status.code(), Some(0));
        let text = stdout(&o);
        assert!(
            text.contains("Example:") && text.contains("--json"),
            "{text}"
        );
    }
    assert!(stdout(&run(&["--help"])).contains("Exit codes"));
    assert_eq!(run(&[]).status.code(), Some(2));
    assert_eq!(run(&["frame"]).status.code(), Some(2));
}
