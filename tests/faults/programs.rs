//! The program's commands that write, killed and failed at every call by which they change a file:
//! each file is as it was or as it should be, never between; a fault is one sentence; and the
//! command can be given again.

use crate::child::works_on;
use crate::shim::{IO, NO_ROOM, Ran, Stop, at_every_call, plain, program, run};
use crate::world::{self, PANEL, POINTS};
use ghostchalk::job::{open_state, write_toml};
use ghostchalk::work::State;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A folder with a finished job and all that a command may be given.
fn shop() -> tempfile::TempDir {
    let shop = world::folder();
    let at = shop.path();
    let job = world::job(at, "job");
    let said = works_on(&job, Stop::Never, None);
    assert!(said.closed, "{}", said.ran.out);
    std::fs::write(at.join("points.csv"), POINTS).unwrap();
    std::fs::write(at.join("pad.svg"), world::PAD).unwrap();
    // What is written over.
    write_toml(&at.join("table.toml"), &world::profile(1)).unwrap();
    std::fs::write(at.join("tickets.pdf"), "%PDF-1.7 of last week").unwrap();
    std::fs::write(at.join("ledger.csv"), "part,when,of last week\n").unwrap();
    // A sheet to be taken in.
    let made = plain(at, &["offcut", "job", "--panel", PANEL, "--to", "sheets"]);
    assert!(made.status.success(), "{}", made.err);
    shop
}

const COMMANDS: [&[&str]; 7] = [
    &[
        "calibrate",
        "--points",
        "points.csv",
        "--projector",
        "1920x1080",
        "-o",
        "table.toml",
    ],
    &["begin", "pad.svg", "--job", "new"],
    &["tickets", "job", "-o", "tickets.pdf"],
    &["ledger", "job", "--csv", "ledger.csv"],
    &["offcut", "job", "--panel", PANEL, "--to", "kept"],
    &["spread", "sheets/Rest-offcut-1.toml", "--job", "job"],
    &["read", "pad.svg", "-o", "out.svg"],
];

/// What a command makes of the shop.
struct Made {
    before: BTreeMap<PathBuf, Vec<u8>>,
    after: BTreeMap<PathBuf, Vec<u8>>,
    states: [State; 2],
}

/// Files that are told by what they say, not by their bytes.
fn is_journal(path: &Path) -> bool {
    path.ends_with("journal")
}

impl Made {
    fn by(shop: &Path, args: &[&str]) -> Self {
        let folder = world::folder();
        let at = folder.path();
        world::copy(shop, at);
        let before = world::files(at);
        let state = || open_state(&at.join("job")).unwrap().1;
        let was = state();
        let ran = plain(at, args);
        assert!(ran.status.success(), "{args:?}: {}", ran.err);
        Self {
            before,
            after: world::files(at),
            states: [was, state()],
        }
    }

    /// Every file as it was, or as it should be.
    fn is_whole(&self, at: &Path, told: &str) {
        let now = world::files(at);
        for (path, bytes) in &now {
            if world::is_litter(path) || is_journal(path) {
                continue;
            }
            let known = [self.before.get(path), self.after.get(path)];
            let known = known.contains(&Some(bytes));
            assert!(known, "{told}: {} is half made", path.display());
        }
        for path in self.before.keys() {
            assert!(now.contains_key(path), "{told}: {} is gone", path.display());
        }
        let state = open_state(&at.join("job")).unwrap().1;
        assert!(self.states.contains(&state), "{told}: another state");
    }

    /// It is given again, and now all is there. Where it was done already it says so.
    fn can_be_had(&self, at: &Path, args: &[&str], told: &str) {
        let again = plain(at, args);
        again.ended_well(told);
        let said = again.sentence();
        assert!(
            said.is_empty() || said.contains("already"),
            "{told}: {said}"
        );
        let now = world::files(at);
        for (path, bytes) in &self.after {
            if !world::is_litter(path) && !is_journal(path) {
                let there = now.get(path);
                assert!(there == Some(bytes), "{told}: {}", path.display());
            }
        }
        let state = open_state(&at.join("job")).unwrap().1;
        assert!(state == self.states[1], "{told}: another state");
    }
}

/// Gives a command in a copy of the shop, and stops it.
fn stopped(shop: &Path, args: &[&str], made: &Made, stop: Stop, n: usize) -> Ran {
    let folder = world::folder();
    let at = folder.path();
    world::copy(shop, at);
    let ran = run(program(at, args), at, stop);
    let told = format!("{}, {stop:?}, {:?}", args[0], ran.calls.get(n - 1));
    if !matches!(stop, Stop::Kill(_) | Stop::Half(_)) {
        ran.ended_well(&told);
        drop(ran.sentence());
    } else if ran.reached(n) {
        assert!(ran.was_killed(), "{told}: {}", ran.err);
    }
    made.is_whole(at, &told);
    made.can_be_had(at, args, &told);
    ran
}

/// Does something with each command at each of its calls.
fn each(stops: impl Fn(&dyn Fn(Stop, usize) -> Ran, usize) -> bool + Sync) {
    let shop = shop();
    for args in COMMANDS {
        let made = Made::by(shop.path(), args);
        at_every_call(|n| stops(&|stop, n| stopped(shop.path(), args, &made, stop, n), n));
    }
}

#[test]
fn a_command_that_is_killed_leaves_old_files_or_new_ones() {
    each(|stopped, n| {
        let ran = stopped(Stop::Kill(n), n);
        if ran.writes(n) {
            stopped(Stop::Half(n), n);
        }
        ran.reached(n)
    });
}

#[test]
fn a_command_whose_disk_fails_says_so_and_leaves_old_files_or_new_ones() {
    each(|stopped, n| {
        let full = stopped(Stop::On(n, NO_ROOM), n);
        let broken = stopped(Stop::Once(n, IO), n);
        for ran in [&full, &broken] {
            let code = ran.status.code();
            assert!(matches!(code, Some(0 | 3)), "{code:?}: {}", ran.err);
        }
        full.reached(n) || broken.reached(n)
    });
}
