//! A bump: the marks are pointed at, and the profile remembers what was found.

use crate::desktop::Desktop;
use crate::session::{MARKS, PIXELS, SIZE, Session, differ, frame, job_and_profile, room, shows};
use ghostchalk::job::read_profile;

#[test]
fn marks_are_pointed_at_and_the_profile_keeps_the_finding() {
    let _room = room();
    let folder = tempfile::tempdir().unwrap();
    let Some(desktop) = Desktop::start(folder.path()) else {
        return;
    };
    let (job, profile) = job_and_profile(folder.path());
    let before = std::fs::read_to_string(&profile).unwrap();
    let by = ["--profile", profile.to_str().unwrap()];
    desktop.point_away();
    let session = Session::start(&desktop, &job, &by);
    let whole = frame(&job, &by);
    shows(&desktop, &whole, "the demo is lit");
    desktop.hand(&["key", "v"]);
    desktop.until("crosses and words are lit", || {
        differ(&desktop.projector(SIZE), &whole) > 1000
    });
    // 12 px to the left of where the light of each mark is meant.
    for [x, y] in PIXELS {
        desktop.point(x - 12.0, y);
        desktop.hand(&["click", "1"]);
    }
    desktop.until("the profile has the check", || {
        std::fs::read_to_string(&profile).unwrap() != before
    });
    desktop.hand(&["key", "Return"]);
    // What was found stands in the light until the light is found on its marks.
    let off = std::fs::read_to_string(&profile).unwrap();
    desktop.hand(&["key", "v"]);
    for [x, y] in PIXELS {
        desktop.point(x, y);
        desktop.hand(&["click", "1"]);
    }
    desktop.until("the profile has the second check", || {
        std::fs::read_to_string(&profile).unwrap() != off
    });
    desktop.hand(&["key", "Return"]);
    desktop.point_away();
    desktop.hand(&["key", "Escape"]);
    shows(&desktop, &whole, "and the lay is lit again");
    session.close(&desktop);
    let text = std::fs::read_to_string(&profile).unwrap();
    // Its checksum is another now.
    let rest = |text: &str| {
        let rest = text.lines().filter(|l| !l.starts_with("checksum = "));
        rest.map(str::to_owned).collect::<Vec<_>>()
    };
    assert!(rest(&text).starts_with(&rest(&before)), "{text}");
    let checks = read_profile(&profile).unwrap().checks;
    assert_eq!(checks.len(), 2, "{checks:?}");
    assert_eq!(checks[0].marks, MARKS.len());
    assert_eq!(checks[1].finding, "still");
    // A pixel is 0.66 to 0.75 mm there.
    let rms = checks[0].rms_mm.unwrap();
    assert!((7.5..9.5).contains(&rms), "{rms}");
}
