//! What the system says of a call that failed, in plain words, and who has to act.

use super::Kind;
use std::io::{Error, ErrorKind as K};

/// How Unix numbers what has no kind of its own in the library (POSIX `errno`): a disk that
/// fails, too many files open in all and here, and links that lead round.
#[cfg(unix)]
const BROKEN: &[i32] = &[5];
#[cfg(unix)]
const OPEN: &[i32] = &[23, 24];
#[cfg(any(target_os = "linux", target_os = "android"))]
const ROUND: &[i32] = &[40];
#[cfg(all(unix, not(any(target_os = "linux", target_os = "android"))))]
const ROUND: &[i32] = &[62];

/// And Windows (`ERROR_CRC`, `ERROR_IO_DEVICE`; `ERROR_TOO_MANY_OPEN_FILES`;
/// `ERROR_CANT_RESOLVE_FILENAME`).
#[cfg(not(unix))]
const BROKEN: &[i32] = &[23, 1117];
#[cfg(not(unix))]
const OPEN: &[i32] = &[4];
#[cfg(not(unix))]
const ROUND: &[i32] = &[1921];

/// How the library writes a number after the system's words.
const NUMBER: &str = " (os error ";

/// Who has to act, what is wrong, and what to do about it. What the person named amiss is bad
/// input; a disk that is full or fails is the machine's own fault, and so is what has no name.
pub(super) fn told(error: &Error) -> (Kind, String, &'static str) {
    let (kind, what, remedy) = match error.kind() {
        K::NotFound => (
            Kind::Input,
            "there is no such file",
            "check the name and the folder",
        ),
        K::PermissionDenied => (
            Kind::Input,
            "access is denied",
            "check the file's permissions",
        ),
        K::IsADirectory => (
            Kind::Input,
            "this is a folder, not a file",
            "name a file inside it",
        ),
        K::NotADirectory => (
            Kind::Input,
            "a part of the path is a file, not a folder",
            "check the path",
        ),
        K::InvalidData => (
            Kind::Input,
            "the file is not text",
            "check that it is the right file",
        ),
        K::InvalidFilename => (
            Kind::Input,
            "the name is too long, or not one that this disk takes",
            "give a shorter, plain name",
        ),
        // The system was not even asked.
        K::InvalidInput if number(error).is_none() => (
            Kind::Input,
            "no file can have this name",
            "give a plain name",
        ),
        K::ReadOnlyFilesystem => (
            Kind::Input,
            "the disk is read-only",
            "use a disk that can be written",
        ),
        K::ResourceBusy | K::ExecutableFileBusy => (
            Kind::Input,
            "another program is using it",
            "close that, then try again",
        ),
        K::StorageFull => (Kind::Ours, "the disk is full", "make room, then try again"),
        K::QuotaExceeded => (
            Kind::Ours,
            "your share of the disk is used up",
            "make room, then try again",
        ),
        K::FileTooLarge => (
            Kind::Ours,
            "the disk takes no file as large as this",
            "use another disk, then try again",
        ),
        K::OutOfMemory => (
            Kind::Ours,
            "the machine has no memory left",
            "close other programs, then try again",
        ),
        K::StaleNetworkFileHandle | K::TimedOut | K::NetworkDown | K::NetworkUnreachable => (
            Kind::Ours,
            "the network's disk does not answer",
            "check the network, then try again",
        ),
        _ => return by_number(error),
    };
    (kind, what.to_owned(), remedy)
}

/// The system's number for it. Where a library has wrapped what the system said (`tempfile` adds
/// the path), it stands in the words alone.
fn number(error: &Error) -> Option<i32> {
    error.raw_os_error().or_else(|| {
        let said = error.to_string();
        let (_, rest) = said.split_once(NUMBER)?;
        rest.split_once(')')?.0.parse().ok()
    })
}

fn by_number(error: &Error) -> (Kind, String, &'static str) {
    let number = number(error);
    let is = |all: &[i32]| number.is_some_and(|n| all.contains(&n));
    if is(ROUND) {
        let what = "links lead round in a circle there".to_owned();
        return (Kind::Input, what, "check the links on the path");
    }
    let (what, remedy) = if is(BROKEN) {
        (
            "the disk fails".to_owned(),
            "check the disk, then try again",
        )
    } else if is(OPEN) {
        (
            "too many files are open on this machine".to_owned(),
            "close other programs, then try again",
        )
    } else {
        (without_number(error), "check the disk, then try again")
    };
    (Kind::Ours, what, remedy)
}

/// The system's own words, without the number that only it knows.
fn without_number(error: &Error) -> String {
    let said = error.to_string();
    let end = said.find(NUMBER).unwrap_or(said.len());
    said[..end].trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(error: Error) -> (Kind, String) {
        let (kind, what, remedy) = told(&error);
        assert!(!remedy.is_empty() && !remedy.ends_with('.'));
        (kind, what)
    }

    #[test]
    fn a_disk_that_is_full_or_fails_is_the_machine_s_fault_and_a_name_the_person_s() {
        for kind in [K::StorageFull, K::QuotaExceeded, K::FileTooLarge, K::Other] {
            assert_eq!(of(kind.into()).0, Kind::Ours, "{kind:?}");
        }
        for kind in [
            K::NotFound,
            K::PermissionDenied,
            K::ReadOnlyFilesystem,
            K::InvalidFilename,
            K::InvalidInput,
        ] {
            assert_eq!(of(kind.into()).0, Kind::Input, "{kind:?}");
        }
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn the_system_s_numbers_are_told_in_words() {
        for (number, kind, what) in [
            (5, Kind::Ours, "the disk fails"),
            (24, Kind::Ours, "too many files are open on this machine"),
            (28, Kind::Ours, "the disk is full"),
            (30, Kind::Input, "the disk is read-only"),
            (
                36,
                Kind::Input,
                "the name is too long, or not one that this disk takes",
            ),
            (40, Kind::Input, "links lead round in a circle there"),
            (122, Kind::Ours, "your share of the disk is used up"),
        ] {
            let said = of(Error::from_raw_os_error(number));
            assert_eq!(said, (kind, what.to_owned()), "{number}");
        }
        // Nobody has words for all of them.
        for number in 1..134 {
            let (_, what) = of(Error::from_raw_os_error(number));
            assert!(!what.contains("os error") && !what.is_empty(), "{what}");
        }
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn what_a_library_has_wrapped_is_known_all_the_same() {
        let folder = tempfile::tempdir().unwrap();
        let wrapped = tempfile::NamedTempFile::new_in(folder.path().join("no such"));
        assert_eq!(number(&wrapped.unwrap_err()), Some(2));
        let twice = Error::other(Error::other(Error::from_raw_os_error(5)));
        assert_eq!(of(twice), (Kind::Ours, "the disk fails".to_owned()));
    }
}
