//! A lay is changed, killed in mid-drag, unplugged, undone.

use crate::desktop::Desktop;
use crate::session::{
    SIZE, Session, differ, frame, job_and_profile, lit, pixel_of, room, shows, true_profile,
};
use std::time::Duration;

#[test]
fn a_lay_is_moved_killed_unplugged_and_still_there() {
    let _room = room();
    let folder = tempfile::tempdir().unwrap();
    let Some(desktop) = Desktop::start(folder.path()) else {
        return;
    };
    let (job, profile) = job_and_profile(folder.path());
    let map = true_profile().mapping().unwrap();
    let by = ["--profile", profile.to_str().unwrap()];
    desktop.point_away();
    let session = Session::start(&desktop, &job, &by);
    let begun = frame(&job, &by);
    shows(&desktop, &begun, "the projector shows the demo's frame");

    // A sole is taken hold of and dragged 90 px to the right.
    let from = pixel_of(&job, &map, 2);
    desktop.point(from.x, from.y);
    desktop.until("the pointer is seen", || {
        differ(&desktop.projector(SIZE), &begun) > 20
    });
    desktop.hand(&["mousedown", "1"]);
    for step in 1..=9 {
        desktop.point(from.x + 10.0 * f64::from(step), from.y);
    }
    // Killed in mid-drag, after the quarter of a second in which a drag is
    // written down.
    std::thread::sleep(Duration::from_millis(900));
    session.kill();
    desktop.hand(&["mouseup", "1"]);
    desktop.point_away();

    let session = Session::start(&desktop, &job, &by);
    desktop.until("there is light again", || {
        lit(&desktop.projector(SIZE)) > 1000
    });
    session.close(&desktop);
    let moved = frame(&job, &by);
    let there = pixel_of(&job, &map, 2);
    assert!(
        (there.x - from.x - 90.0).abs() < 12.0,
        "the sole went from {from:?} to {there:?}"
    );
    assert_ne!(begun, moved);

    // The moved lay is the one that is lit; the undo reaches across both starts.
    let session = Session::start(&desktop, &job, &by);
    shows(&desktop, &moved, "the moved lay is lit");
    desktop.unplug();
    std::thread::sleep(Duration::from_millis(2500));
    desktop.plug_in(SIZE);
    shows(&desktop, &moved, "the projector has come back");
    desktop.hand(&["key", "ctrl+z"]);
    desktop.until("the drag is undone", || {
        differ(&desktop.projector(SIZE), &moved) > 200
    });
    session.close(&desktop);
    let undone = frame(&job, &by);
    assert_eq!(begun, undone, "undo across a restart");
}
