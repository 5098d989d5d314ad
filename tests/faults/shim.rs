//! What stands between a program and the disk (`stop.c`): built once, and told what to do.

use crate::world;
use std::ffi::OsStr;
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitStatus, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

// How a call fails, as the kernel numbers it.
pub const IO: i32 = 5;
pub const DENIED: i32 = 13;
pub const CANNOT: i32 = 22;
pub const NO_ROOM: i32 = 28;
pub const READ_ONLY: i32 = 30;

/// What happens at the so-manieth call that changes a file, from 1.
#[derive(Debug, Clone, Copy)]
pub enum Stop {
    /// Nothing: the calls are only counted.
    Never,
    /// The program is killed before it.
    Kill(usize),
    /// The program is killed when half of its bytes are written.
    Half(usize),
    /// It fails, and no other.
    Once(usize, i32),
    /// It and all after it fail; of its own bytes half are still written.
    On(usize, i32),
}

/// What became of a program.
pub struct Ran {
    pub status: ExitStatus,
    pub out: String,
    pub err: String,
    /// The calls that were counted, each with its number, its kind and its file.
    pub calls: Vec<String>,
}

impl Ran {
    /// Whether there was a call of that number.
    pub fn reached(&self, n: usize) -> bool {
        self.calls.len() >= n
    }

    /// Whether the so-manieth call writes bytes.
    pub fn writes(&self, n: usize) -> bool {
        let call = self.calls.get(n - 1);
        call.is_some_and(|c| c.contains(" write ") || c.contains(" writev "))
    }

    pub fn was_killed(&self) -> bool {
        self.status.signal() == Some(9)
    }

    /// It came to its end by itself, without a panic.
    pub fn ended_well(&self, told: &str) {
        let ended = self.status.code().is_some_and(|c| c <= 3);
        assert!(
            ended && !self.err.contains("panicked"),
            "{told}: {:?}\n{}\n{}",
            self.status,
            self.out,
            self.err
        );
    }

    /// What the program itself says of a fault: nothing, or one sentence.
    pub fn sentence(&self) -> String {
        let ours = |l: &&str| l.starts_with("ghostchalk: ");
        let all: Vec<&str> = self.err.lines().filter(ours).collect();
        let wanted = usize::from(!self.status.success());
        assert_eq!(all.len(), wanted, "{:?}: {}", self.status, self.err);
        let said = all.first().copied().unwrap_or_default().to_owned();
        assert!(said.is_empty() || is_sentence(&said), "{said}");
        said
    }
}

/// What is wrong, then what to do.
pub fn is_sentence(said: &str) -> bool {
    said.ends_with('.') && said.contains("; ")
}

/// `stop.c`, built for this machine.
fn built() -> &'static Path {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(|| {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
        let new = folder.join(format!("stop-{}.so", std::process::id()));
        let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/faults/stop.c");
        let made = Command::new("cc")
            .args(["-shared", "-fPIC", "-O1", "-o"])
            .args([&new, &source])
            .status()
            .expect("a C compiler, which every linker of Rust programs comes with");
        assert!(made.success(), "tests/faults/stop.c is not built");
        // Under its name at once, or another run of these tests could load half of it.
        let path = folder.join("stop.so");
        std::fs::rename(&new, &path).unwrap();
        path
    })
}

/// The program, at work in a folder.
pub fn program(folder: &Path, args: &[impl AsRef<OsStr>]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ghostchalk"));
    command.current_dir(folder).args(args);
    command
}

/// Runs a program to its end; what is under the folder `under` it gets at by way of `stop`.
pub fn run(command: Command, under: &Path, stop: Stop) -> Ran {
    run_till(command, under, stop, None)
}

/// The same; nothing fails any more once there is a file `over`.
pub fn run_till(mut command: Command, under: &Path, stop: Stop, over: Option<&Path>) -> Ran {
    let aside = world::folder();
    let log = aside.path().join("log");
    let (what, at, error) = match stop {
        Stop::Never => ("", 0, 0),
        Stop::Kill(n) => ("kill", n, 0),
        Stop::Half(n) => ("half", n, 0),
        Stop::Once(n, error) => ("once", n, error),
        Stop::On(n, error) => ("on", n, error),
    };
    command
        .env("LD_PRELOAD", built())
        .env("FAULTS_UNDER", std::fs::canonicalize(under).unwrap())
        .env("FAULTS_LOG", &log)
        .env("FAULTS_DO", what)
        .env("FAULTS_AT", at.to_string())
        .env("FAULTS_ERRNO", error.to_string());
    if let Some(over) = over {
        command.env("FAULTS_OVER", over);
    }
    let done = command.stdin(Stdio::null()).output().unwrap();
    let err = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_ne!(done.status.code(), Some(97), "{err}");
    // The loader takes a space in the path of what it shall load for its end.
    let log = std::fs::read(&log).expect("stop.so was loaded: no space in the target's path");
    let calls = String::from_utf8_lossy(&log);
    Ran {
        status: done.status,
        out: String::from_utf8_lossy(&done.stdout).into_owned(),
        err,
        calls: calls.lines().map(str::to_owned).collect(),
    }
}

/// The program, untouched by anything.
pub fn plain(folder: &Path, args: &[impl AsRef<OsStr>]) -> Ran {
    run(program(folder, args), folder, Stop::Never)
}

/// More calls than any program here makes.
const MOST: usize = 2000;

/// Does `one` with 1, 2, 3 and so on until it says that there was no such call; as many at a time
/// as there are processors.
pub fn at_every_call(one: impl Fn(usize) -> bool + Sync) {
    let next = AtomicUsize::new(1);
    let over = AtomicBool::new(false);
    let tried = AtomicUsize::new(0);
    let work = || {
        while !over.load(Ordering::SeqCst) {
            let n = next.fetch_add(1, Ordering::SeqCst);
            assert!(n < MOST, "it never ends");
            if one(n) {
                tried.fetch_add(1, Ordering::SeqCst);
            } else {
                over.store(true, Ordering::SeqCst);
            }
        }
    };
    let workers = std::thread::available_parallelism().map_or(2, |n| n.get().min(8));
    std::thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(work);
        }
    });
    let tried = tried.load(Ordering::SeqCst);
    assert!(tried > 2, "it makes no calls: {tried}");
}
