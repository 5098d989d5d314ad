//! Where profiles are kept: in the job's folder, each under a name of its own,
//! so that an earlier one is never overwritten.

use crate::calibration::Profile;
use crate::calibration::still::CheckFile;
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::{parse_profile, read_profile, read_text, toml_text, write_toml};
use serde::Serialize;
use std::path::Path;
use time::OffsetDateTime;

/// Profiles of one day at most.
const MOST: u32 = 1000;

/// What is added to a profile's text.
#[derive(Serialize)]
struct Added<'a> {
    check: &'a [CheckFile],
}

/// Adds checks to a profile's history, at the end of its file: what a person wrote
/// there, comments too, stays as it is. Its checksum becomes that of the whole, and its version
/// the one that has a checksum. Of two programs that do so at once neither loses the other's.
///
/// # Errors
/// If it can't be read or written, or would not be read back; then it is as it was.
pub fn add_checks(path: &Path, checks: &[CheckFile]) -> Outcome<()> {
    let _turn = disk::turn(path)?;
    let mut profile = read_profile(path)?;
    profile.checks.extend_from_slice(checks);
    let mut text = read_text(path, "reading the profile")?;
    if !text.ends_with('\n') {
        text.push('\n');
    }
    text.push('\n');
    text.push_str(&toml_text(&Added { check: checks })?);
    let sealed = profile.sealed_anew(text).ok();
    let Some(text) = sealed.filter(|t| parse_profile(t).as_ref() == Ok(&profile)) else {
        let fault = Fault::input(
            "the profile is written otherwise than Ghostchalk writes it, so the check can't be kept in it",
            "set the table anew",
        );
        return Err(fault.in_file(path));
    };
    disk::write_atomic(path, text.as_bytes())
}

/// Today's date, `2031-05-17` (UTC).
pub fn today() -> String {
    OffsetDateTime::now_utc().date().to_string()
}

/// Writes a profile into a folder; returns the name it was given.
///
/// # Errors
/// If the folder can't be written to.
pub fn keep(folder: &Path, profile: &Profile) -> Outcome<String> {
    let date = today();
    let names = (1..=MOST).map(|k| match k {
        1 => format!("table-{date}.toml"),
        k => format!("table-{date}-{k}.toml"),
    });
    let mut free = names.into_iter().filter(|n| !folder.join(n).exists());
    let name = free.next().ok_or_else(|| {
        Fault::input(
            format!(
                "there are {MOST} profiles of {date} in {}",
                folder.display()
            ),
            "take some of them away",
        )
    })?;
    write_toml(&folder.join(&name), profile)?;
    Ok(name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::MarkRow;
    use crate::calibration::still::Noted;
    use crate::space::Point;
    use std::path::PathBuf;

    /// A profile of four marks, kept in `folder`.
    fn kept(folder: &Path) -> (Profile, PathBuf) {
        let corners = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]];
        let rows = corners.map(|[x, y]| MarkRow {
            table: Point::new(x, y),
            projector: Point::new(100.0 + x, 900.0 - y),
        });
        let profile = Profile::of_four(&rows, [1920, 1080], false).unwrap();
        let name = keep(folder, &profile).unwrap();
        (profile, folder.join(name))
    }

    fn check(k: usize) -> CheckFile {
        Noted::by_eye(k).on("2031-05-17".to_owned())
    }

    #[test]
    fn checks_are_added_to_the_profile_on_disk_and_a_persons_words_stay() {
        let folder = tempfile::tempdir().unwrap();
        let (profile, path) = kept(folder.path());
        let by_hand = std::fs::read_to_string(&path).unwrap() + "# the mount creaks";
        std::fs::write(&path, &by_hand).unwrap();
        add_checks(&path, &[check(1), check(2)]).unwrap();
        add_checks(&path, &[check(3)]).unwrap();
        let read = read_profile(&path).unwrap();
        assert_eq!(read.checks, [check(1), check(2), check(3)]);
        assert_eq!(
            Profile {
                checks: Vec::new(),
                ..read
            },
            profile
        );
        let text = std::fs::read_to_string(&path).unwrap();
        let words = |text: &str| {
            let own = text.lines().filter(|l| !l.starts_with("checksum = "));
            own.map(str::to_owned).collect::<Vec<_>>()
        };
        assert!(words(&text).starts_with(&words(&by_hand)), "{text}");
        // A list of another style is left alone, and said.
        let inline = by_hand.replacen("ghostchalk", "check = []\nghostchalk", 1);
        std::fs::write(&path, &inline).unwrap();
        assert!(add_checks(&path, &[check(4)]).is_err());
        assert_eq!(std::fs::read_to_string(&path).unwrap(), inline);
    }

    #[test]
    fn checks_that_are_added_at_once_are_all_kept() {
        let folder = tempfile::tempdir().unwrap();
        let (_, path) = kept(folder.path());
        std::thread::scope(|scope| {
            for thread in 0..4 {
                let path = &path;
                scope.spawn(move || {
                    for k in 0..3 {
                        add_checks(path, &[check(10 * thread + k)]).unwrap();
                    }
                });
            }
        });
        let mut all: Vec<usize> = read_profile(&path)
            .unwrap()
            .checks
            .iter()
            .map(|c| c.marks)
            .collect();
        all.sort_unstable();
        assert_eq!(all, [0, 1, 2, 10, 11, 12, 20, 21, 22, 30, 31, 32]);
    }

    #[test]
    fn a_profile_without_a_checksum_gets_one_with_its_first_check() {
        let folder = tempfile::tempdir().unwrap();
        let (_, path) = kept(folder.path());
        let text = std::fs::read_to_string(&path).unwrap();
        let lines = text.lines().filter(|l| !l.starts_with("checksum = "));
        let without = lines.collect::<Vec<_>>().join("\n");
        let older = without.replacen("ghostchalk_profile = 2", "ghostchalk_profile = 1 # mine", 1);
        std::fs::write(&path, older).unwrap();
        add_checks(&path, &[check(4)]).unwrap();
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(
            text.starts_with("ghostchalk_profile = 2 # mine\nchecksum = \""),
            "{text}"
        );
        assert_eq!(read_profile(&path).unwrap().checks, [check(4)]);
        // From now on a changed digit is told.
        std::fs::write(&path, text.replacen("1200.0", "1201.0", 1)).unwrap();
        assert!(read_profile(&path).is_err());
    }
}
