//! What happens to windows: another resolution, a lost graphics device, a sleep,
//! a second program on the same job, a job that can't be written, and nothing.

use crate::desktop::Desktop;
use crate::session::{
    SIZE, Session, differ, frame, job_and_profile, lit, pixel_of, room, shows, true_profile,
};
use std::os::unix::fs::PermissionsExt;
use std::time::{Duration, Instant};

/// What of a frame is lit when nothing but a sentence is.
const FEW: usize = 60_000;

/// Whether a sentence stands over the lay's own light.
fn says(desktop: &Desktop, whole: &[u8]) -> bool {
    let seen = desktop.projector(SIZE);
    let off = differ(&seen, whole);
    let bright = whole.iter().filter(|c| **c > 128).count();
    lit(&seen) * 10 > bright * 9 && (1000..FEW).contains(&off)
}

#[test]
fn another_resolution_is_said_and_nothing_is_lit_wrongly() {
    let _room = room();
    let folder = tempfile::tempdir().unwrap();
    let Some(desktop) = Desktop::start(folder.path()) else {
        return;
    };
    let (job, profile) = job_and_profile(folder.path());
    let by = ["--profile", profile.to_str().unwrap()];
    desktop.point_away();
    let session = Session::start(&desktop, &job, &by);
    let whole = frame(&job, &by);
    shows(&desktop, &whole, "the demo is lit");
    let small = [1280, 720];
    desktop.plug_in(small);
    // A sentence, small against the guides, instead of the lay.
    let mut seen = Vec::new();
    let mut same = 0;
    desktop.until("a sentence stands in the light", || {
        let now = desktop.projector(small);
        same = if now == seen { same + 1 } else { 0 };
        seen = now;
        same >= 6 && (500..FEW).contains(&lit(&seen))
    });
    desktop.plug_in(SIZE);
    shows(&desktop, &whole, "with its own resolution the lay is back");
    session.close(&desktop);
}

#[test]
fn a_lost_device_a_sleep_and_a_second_program_lose_nothing() {
    let _room = room();
    let folder = tempfile::tempdir().unwrap();
    let Some(desktop) = Desktop::start(folder.path()) else {
        return;
    };
    let (job, profile) = job_and_profile(folder.path());
    let by = ["--profile", profile.to_str().unwrap()];
    desktop.point_away();
    let whole = frame(&job, &by);
    let lose = [("GHOSTCHALK_LOSE_DEVICE_AFTER", "6")];
    let session = Session::start_with(&desktop, &job, &by, &lose);

    // The device goes, which is noticed with the next thing drawn; what the
    // program says of it stands in the light.
    desktop.until("the loss is said", || {
        desktop.point(960.0, 540.0);
        desktop.point_away();
        says(&desktop, &whole)
    });
    desktop.hand(&["key", "Escape"]);
    shows(&desktop, &whole, "the light is back on another device");

    // Stopped as in a sleep, and unplugged meanwhile.
    session.signal("-STOP");
    desktop.unplug();
    std::thread::sleep(Duration::from_millis(1500));
    desktop.plug_in(SIZE);
    session.signal("-CONT");
    shows(&desktop, &whole, "it wakes");

    // A second program looks on, and says so; what is done there is not kept.
    let second = Session::start(&desktop, &job, &by);
    let at = pixel_of(&job, &true_profile().mapping().unwrap(), 2);
    desktop.until("the second says so", || says(&desktop, &whole));
    desktop.point(at.x, at.y);
    desktop.hand(&["key", "space"]);
    desktop.hand(&["key", "Right"]);
    desktop.point_away();
    std::thread::sleep(Duration::from_millis(500));
    second.close(&desktop);
    assert_eq!(frame(&job, &by), whole, "the second program wrote");

    // The first one still can.
    shows(&desktop, &whole, "the first has the light again");
    // By the mouse: which window the desktop gives the keyboard to is its own affair.
    desktop.point(at.x, at.y);
    desktop.until("the pointer is seen", || {
        differ(&desktop.projector(SIZE), &whole) > 20
    });
    desktop.hand(&["mousedown", "1"]);
    for step in 1..=4 {
        desktop.point(at.x + 10.0 * f64::from(step), at.y);
    }
    desktop.hand(&["mouseup", "1"]);
    desktop.point_away();
    desktop.until("the piece has moved", || {
        differ(&desktop.projector(SIZE), &whole) > 1000
    });
    session.close(&desktop);
    let before = at.x;
    let after = pixel_of(&job, &true_profile().mapping().unwrap(), 2);
    assert!((after.x - before).abs() > 5.0, "{before} to {after:?}");
}

#[test]
fn a_job_that_cannot_be_written_is_lit_and_idle_costs_nothing() {
    let _room = room();
    let folder = tempfile::tempdir().unwrap();
    let Some(desktop) = Desktop::start(folder.path()) else {
        return;
    };
    let (job, profile) = job_and_profile(folder.path());
    let by = ["--profile", profile.to_str().unwrap()];
    desktop.point_away();
    let session = Session::start(&desktop, &job, &by);
    let whole = frame(&job, &by);
    shows(&desktop, &whole, "the demo is lit");
    // No redraws while nothing happens.
    std::thread::sleep(Duration::from_secs(2));
    let (began, used) = (Instant::now(), session.processor_seconds());
    std::thread::sleep(Duration::from_secs(5));
    let share = (session.processor_seconds() - used) / began.elapsed().as_secs_f64();
    println!("idle: {:.2} % of a core", 100.0 * share);
    // Processor time, not the clock's: a loop that draws would take all of it.
    assert!(share < 0.05, "idle takes {share} of a core");
    session.close(&desktop);

    let saved = std::fs::read(job.join("job.toml")).unwrap();
    std::fs::set_permissions(&job, std::fs::Permissions::from_mode(0o555)).unwrap();
    if std::fs::write(job.join("probe"), "").is_ok() {
        // A superuser may write anywhere.
        std::fs::remove_file(job.join("probe")).unwrap();
        eprintln!("passed over: this user can write into a read-only folder");
        return;
    }
    let session = Session::start(&desktop, &job, &by);
    desktop.until("there is light", || lit(&desktop.projector(SIZE)) > 1000);
    session.close(&desktop);
    std::fs::set_permissions(&job, std::fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!(saved, std::fs::read(job.join("job.toml")).unwrap());
}
