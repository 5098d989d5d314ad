//! What a program that is killed in mid-writing leaves beside its target: it stays while it might
//! be another's that still writes, and is taken away when it is old.

use crate::shim::{Stop, at_every_call, plain, program, run};
use crate::world::{self, POINTS};
use ghostchalk::job::{open_session, open_state, read_profile, write_toml};
use ghostchalk::work::Record;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, SystemTime};

const CALIBRATE: [&str; 7] = [
    "calibrate",
    "--points",
    "points.csv",
    "--projector",
    "1920x1080",
    "-o",
    "table.toml",
];

/// What lies there as litter.
fn litter(folder: &Path) -> Vec<PathBuf> {
    let files = world::files(folder).into_keys();
    files.filter(|path| world::is_litter(path)).collect()
}

/// Makes a file an hour old.
fn ages(path: &Path) {
    let hour = Duration::from_secs(3600);
    let file = File::open(path).unwrap();
    file.set_modified(SystemTime::now() - hour).unwrap();
}

#[test]
fn what_a_killed_program_left_is_taken_away_when_it_is_old() {
    let found = AtomicUsize::new(0);
    at_every_call(|n| {
        let mut reached = false;
        for stop in [Stop::Kill(n), Stop::Half(n)] {
            let folder = world::folder();
            let at = folder.path();
            std::fs::write(at.join("points.csv"), POINTS).unwrap();
            write_toml(&at.join("table.toml"), &world::profile(1)).unwrap();
            let ran = run(program(at, &CALIBRATE), at, stop);
            let told = format!("{stop:?}, {:?}", ran.calls.get(n - 1));
            reached |= ran.reached(n);
            let left = litter(at);
            assert!(left.len() <= 1, "{told}: {left:?}");
            found.fetch_add(left.len(), Ordering::SeqCst);
            // Given again at once: who knows whether another is still at it.
            let again = plain(at, &CALIBRATE);
            assert!(again.status.success(), "{told}: {}", again.err);
            assert_eq!(litter(at), left, "{told}");
            left.iter().for_each(|path| ages(&at.join(path)));
            let again = plain(at, &CALIBRATE);
            assert!(again.status.success(), "{told}: {}", again.err);
            assert!(litter(at).is_empty(), "{told}");
            assert_eq!(world::files(at).len(), 2, "{told}: something else is gone");
            assert!(read_profile(&at.join("table.toml")).is_ok(), "{told}");
        }
        reached
    });
    assert!(found.into_inner() > 2, "no stop left anything");
}

/// A file in `job` as a stop leaves one, an hour old.
fn left_in(job: &Path) -> PathBuf {
    let path = job.join(".ghostchalk-Ab3dE6gh.tmp");
    std::fs::write(&path, "half of a job fi").unwrap();
    ages(&path);
    path
}

#[test]
fn who_opens_a_job_to_work_on_it_tidies_up_and_who_only_looks_does_not() {
    let folder = world::folder();
    let job = world::job(folder.path(), "job");
    let left = left_in(&job);
    drop(open_state(&job).unwrap());
    assert!(left.exists(), "looking changed a file");
    let first = open_session::<Record>(&job).unwrap();
    assert!(!left.exists());
    // The second only looks on.
    let left = left_in(&job);
    let second = open_session::<Record>(&job).unwrap();
    assert!(second.read_only().is_some() && left.exists());
    drop((first, second));
    // One that a program still holds is not anyone's to take.
    let held = File::open(&left).unwrap();
    held.try_lock().unwrap();
    drop(open_session::<Record>(&job).unwrap());
    assert!(left.exists());
    held.unlock().unwrap();
    drop(open_session::<Record>(&job).unwrap());
    assert!(!left.exists());
}

/// Of one that was made in times to come, by a clock that was put back since, nobody can say that
/// it is old.
#[test]
fn by_a_clock_that_was_put_back_nothing_is_old() {
    let folder = world::folder();
    let job = world::job(folder.path(), "job");
    let left = left_in(&job);
    let day = Duration::from_secs(86_400);
    let file = File::open(&left).unwrap();
    file.set_modified(SystemTime::now() + day).unwrap();
    drop(file);
    drop(open_session::<Record>(&job).unwrap());
    assert!(left.exists());
}
