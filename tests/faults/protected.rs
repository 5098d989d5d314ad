//! Where nothing can be written: a medium that is read-only, one that denies access, and files
//! that someone has marked read-only. The work can be looked at; what is changed is refused in a
//! sentence, or kept where it can be.

use crate::child::works_on;
use crate::killed::all_is_there;
use crate::shim::{DENIED, READ_ONLY, Stop, plain, program, run};
use crate::world::{self, Model, PANEL, POINTS, STEPS};
use ghostchalk::job::{open_session, write_toml};
use ghostchalk::work::Record;
use std::path::Path;

/// A shop with a finished job and a sheet for it.
fn shop() -> tempfile::TempDir {
    let shop = world::folder();
    let at = shop.path();
    let job = world::job(at, "job");
    assert!(works_on(&job, Stop::Never, None).closed);
    std::fs::write(at.join("points.csv"), POINTS).unwrap();
    write_toml(&at.join("table.toml"), &world::profile(1)).unwrap();
    let args = ["offcut", "job", "--panel", PANEL, "--to", "sheets"];
    assert!(plain(at, &args).status.success());
    shop
}

const CALIBRATE: [&str; 7] = [
    "calibrate",
    "--points",
    "points.csv",
    "--projector",
    "1920x1080",
    "-o",
    "table.toml",
];

/// From the first call on nothing can be written, also where the tests' user may write anywhere.
#[test]
fn on_a_medium_that_cannot_be_written_the_job_is_looked_at() {
    let shop = shop();
    let at = shop.path();
    let before = world::files(at);
    for (error, word) in [(READ_ONLY, "read-only"), (DENIED, "access is denied")] {
        let said = works_on(&at.join("job"), Stop::On(1, error), None);
        said.ran.ended_well(word);
        assert!(said.shut && said.faults.len() == 1, "{:?}", said.faults);
        let why = &said.faults[0];
        assert!(why.contains(word) && why.contains("looked at"), "{why}");
        let looks = run(program(at, &["ledger", "job"]), at, Stop::On(1, error));
        assert!(looks.status.success(), "{}", looks.err);
        assert!(looks.out.contains("pad 1 in felt"), "{}", looks.out);
        for args in [
            &["spread", "sheets/Rest-offcut-1.toml", "--job", "job"][..],
            &["begin", "job/pad.svg", "--job", "new"],
            &["ledger", "job", "--csv", "ledger.csv"],
            &CALIBRATE,
        ] {
            let ran = run(program(at, args), at, Stop::On(1, error));
            assert_eq!(ran.status.code(), Some(2), "{args:?}: {}", ran.err);
            let said = ran.sentence();
            assert!(said.contains(word), "{args:?}: {said}");
        }
        assert_eq!(world::files(at), before);
    }
}

fn mark(path: &Path, on: bool) {
    use std::os::unix::fs::PermissionsExt;
    let mode = if on { 0o444 } else { 0o644 };
    std::fs::set_permissions(path, PermissionsExt::from_mode(mode)).unwrap();
}

#[test]
fn a_job_file_that_is_marked_read_only_stays_and_the_journal_has_the_work() {
    let states = world::states();
    let folder = world::folder();
    let job = world::job(folder.path(), "job");
    let file = job.join("job.toml");
    let text = std::fs::read(&file).unwrap();
    mark(&file, true);
    let said = works_on(&job, Stop::Never, None);
    assert!(said.closed && !said.faults.is_empty(), "{}", said.ran.out);
    for fault in &said.faults {
        assert!(fault.contains("marked read-only"), "{fault}");
    }
    assert_eq!(std::fs::read(&file).unwrap(), text);
    let mut memory = open_session::<Record>(&job).unwrap();
    assert_eq!(memory.steps.len(), STEPS);
    let model = Model::of(&memory);
    assert!(model.state == states[STEPS]);
    // Without the mark it is saved as ever.
    mark(&file, false);
    let now = model.file(&memory.job.file);
    memory.save(&now).unwrap();
    memory.close().unwrap();
    all_is_there(&job, &states, "unmarked");
}

#[test]
fn a_journal_that_is_marked_read_only_is_only_looked_at() {
    let shop = shop();
    let job = shop.path().join("job");
    mark(&job.join("journal"), true);
    let before = world::files(shop.path());
    let memory = open_session::<Record>(&job).unwrap();
    let why = memory.read_only().unwrap().to_string();
    assert!(why.contains("marked read-only"), "{why}");
    assert_eq!(memory.notes, [why]);
    assert_eq!(memory.steps.len(), STEPS);
    memory.close().unwrap();
    let args = ["spread", "sheets/Rest-offcut-1.toml", "--job", "job"];
    let ran = plain(shop.path(), &args);
    assert_eq!(ran.status.code(), Some(2), "{}", ran.err);
    assert!(ran.sentence().contains("marked read-only"));
    assert_eq!(world::files(shop.path()), before);
}

#[test]
fn a_profile_that_is_marked_read_only_is_not_replaced() {
    let shop = shop();
    mark(&shop.path().join("table.toml"), true);
    let before = world::files(shop.path());
    let ran = plain(shop.path(), &CALIBRATE);
    assert_eq!(ran.status.code(), Some(2), "{}", ran.err);
    assert!(ran.sentence().contains("marked read-only"));
    assert_eq!(world::files(shop.path()), before);
}
