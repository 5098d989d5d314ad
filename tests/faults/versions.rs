//! Files of other versions, and of none: refused in a sentence, by the library and by the program,
//! and left as they are.

use crate::child::works_on;
use crate::shim::{Stop, is_sentence, plain};
use crate::world::{self, PANEL, POINTS};
use ghostchalk::calibration::PROFILE_VERSION;
use ghostchalk::job::{
    JOB_VERSION, OFFCUT_VERSION, open_session, read_profile, read_shade, write_toml,
};
use ghostchalk::space::Cloth;
use ghostchalk::work::Record;
use std::path::Path;

/// How a file that says its version, the newest, by `stamp` may say another, and what is told of
/// that.
fn others(stamp: &str, newest: u32) -> [(String, &'static str); 6] {
    let word = "of version";
    [
        (format!("{stamp} = 0"), word),
        (format!("{stamp} = {}", newest + 1), word),
        (format!("{stamp} = 99"), word),
        (format!("{stamp} = -1"), word),
        (format!("{stamp} = \"{newest}\""), "another kind of file"),
        (String::new(), "another kind of file"),
    ]
}

/// Every command that reads the job refuses it, says `word`, and changes nothing.
fn is_refused(at: &Path, word: &str) {
    let before = world::files(at);
    let said = open_session::<Record>(&at.join("job")).unwrap_err();
    let said = said.to_string();
    assert!(is_sentence(&said) && said.contains(word), "{said}");
    for args in [
        &["ledger", "job", "--csv", "ledger.csv"][..],
        &["tickets", "job", "-o", "tickets.pdf"],
        &["spread", "sheets/Rest-offcut-1.toml", "--job", "job"],
    ] {
        let ran = plain(at, args);
        assert_eq!(ran.status.code(), Some(2), "{args:?}: {}", ran.err);
        let said = ran.sentence();
        assert!(said.contains(word), "{args:?}: {said}");
    }
    assert_eq!(world::files(at), before, "{word}: something was written");
}

fn shop() -> tempfile::TempDir {
    let shop = world::folder();
    let job = world::job(shop.path(), "job");
    assert!(works_on(&job, Stop::Never, None).closed);
    let args = ["offcut", "job", "--panel", PANEL, "--to", "sheets"];
    assert!(plain(shop.path(), &args).status.success());
    shop
}

#[test]
fn a_job_file_of_another_version_is_left_alone() {
    let shop = shop();
    let file = shop.path().join("job/job.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    for (line, word) in others("ghostchalk_job", JOB_VERSION) {
        std::fs::write(&file, text.replace("ghostchalk_job = 1", &line)).unwrap();
        is_refused(shop.path(), word);
    }
}

#[test]
fn a_journal_of_another_version_is_left_alone() {
    let shop = shop();
    let file = shop.path().join("job/journal");
    let text = std::fs::read_to_string(&file).unwrap();
    for (line, word) in [
        ("ghostchalk journal 0", "of version \"0\""),
        ("ghostchalk journal 2", "of version \"2\""),
        ("ghostchalk journal 99", "of version \"99\""),
        ("ghostchalk journal", "not a journal"),
        ("", "not a journal"),
    ] {
        let other = text.replacen("ghostchalk journal 1", line, 1);
        std::fs::write(&file, other).unwrap();
        is_refused(shop.path(), word);
    }
}

#[test]
fn a_profile_of_another_version_is_left_alone() {
    let folder = world::folder();
    let at = folder.path();
    let file = at.join("table.toml");
    write_toml(&file, &world::profile(1)).unwrap();
    std::fs::write(at.join("points.csv"), POINTS).unwrap();
    let text = std::fs::read_to_string(&file).unwrap();
    for (line, word) in others("ghostchalk_profile", PROFILE_VERSION) {
        let other = text.replace("ghostchalk_profile = 2", &line);
        assert_ne!(other, text);
        std::fs::write(&file, &other).unwrap();
        let said = read_profile(&file).unwrap_err().to_string();
        assert!(is_sentence(&said) && said.contains(word), "{said}");
        let again = [
            "calibrate",
            "--points",
            "points.csv",
            "--projector",
            "1920x1080",
            "-o",
        ];
        let ran = plain(at, &[&again[..], &["table.toml"]].concat());
        assert_eq!(ran.status.code(), Some(2), "{line}: {}", ran.err);
        drop(ran.sentence());
        assert_eq!(std::fs::read_to_string(&file).unwrap(), other, "{line}");
    }
}

/// Profiles of the version before had no checksum. One that should have it and does not is told.
#[test]
fn an_older_profile_is_read_and_a_newer_one_without_its_checksum_is_not() {
    let folder = world::folder();
    let file = folder.path().join("table.toml");
    let profile = world::full_profile();
    write_toml(&file, &profile).unwrap();
    let text = std::fs::read_to_string(&file).unwrap();
    let lines = text.lines().filter(|l| !l.starts_with("checksum = "));
    let without = lines.collect::<Vec<_>>().join("\n");
    let sum = text.lines().find(|l| l.starts_with("checksum = ")).unwrap();
    std::fs::write(&file, &without).unwrap();
    let said = read_profile(&file).unwrap_err().to_string();
    assert!(is_sentence(&said) && said.contains("no checksum"), "{said}");
    // Who wrote it so is told how to say that it is right.
    assert!(said.contains(sum), "{said}");
    let older = without.replacen("ghostchalk_profile = 2", "ghostchalk_profile = 1", 1);
    std::fs::write(&file, &older).unwrap();
    assert!(read_profile(&file).unwrap() == profile);
    for kept in ["table.toml", "twenty-marks.toml"] {
        let worked = Path::new("calibration/worked").join(kept);
        assert!(read_profile(&worked).unwrap().mapping().is_ok());
    }
}

#[test]
fn an_offcut_of_another_version_is_not_taken_in() {
    let shop = shop();
    let file = shop.path().join("sheets/Rest-offcut-1.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    for (line, word) in others("ghostchalk_offcut", OFFCUT_VERSION) {
        std::fs::write(&file, text.replace("ghostchalk_offcut = 1", &line)).unwrap();
        let before = world::files(shop.path());
        let ran = plain(
            shop.path(),
            &["spread", "sheets/Rest-offcut-1.toml", "--job", "job"],
        );
        assert_eq!(ran.status.code(), Some(2), "{line}: {}", ran.err);
        assert!(ran.sentence().contains(word), "{line}");
        assert_eq!(world::files(shop.path()), before, "{line}");
    }
}

#[test]
fn a_map_of_shade_of_another_form_is_told() {
    let shop = shop();
    let file = shop.path().join("job/Rest.shade.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    for form in ["shade of cloth 0", "shade of cloth 2", "map"] {
        std::fs::write(&file, text.replace("shade of cloth 1", form)).unwrap();
        let said = read_shade::<Cloth>(&file).unwrap_err().to_string();
        assert!(is_sentence(&said) && said.contains(form), "{said}");
    }
}
