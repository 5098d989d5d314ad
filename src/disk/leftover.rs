//! What a stop in mid-writing leaves behind: a temporary file beside the one that was being
//! written. It is known by its name, and taken away when something is written there again.
//!
//! Only what nobody can be writing is taken: a file, not a link, of our own kind of name, old
//! enough, and locked by none. Who writes one holds it locked until it has its final name, and the
//! system drops the lock of a program that was killed. Age alone would not do, for a program may
//! have been put to sleep; the lock alone would not either, for it is taken a moment after the
//! file is made, and is no lock for another machine on some disks of a network.

use std::fs::{DirEntry, File};
use std::path::Path;
use std::time::{Duration, SystemTime};

/// How the name of a temporary file of ours begins and ends.
const PREFIX: &str = ".ghostchalk-";
const SUFFIX: &str = ".tmp";

/// How many letters and digits stand between, drawn by chance.
const DRAWN: usize = 8;

/// A temporary file that was last written to so long ago is no longer being written.
const OLD: Duration = Duration::from_secs(600);

/// What makes temporary files of ours.
pub(super) fn builder() -> tempfile::Builder<'static, 'static> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX).suffix(SUFFIX).rand_bytes(DRAWN);
    builder
}

/// Marks a temporary file as being written, until it is closed. Where the disk has no locks it
/// is as good without.
pub(super) fn hold(file: &File) {
    drop(file.try_lock());
}

/// Lets go of a file that is about to have its final name: some systems let no one read a locked
/// file.
pub(super) fn let_go(file: &File) {
    drop(file.unlock());
}

/// Takes away what stops in mid-writing have left in a folder. What can't be taken away stays,
/// and is no failure: it harms nothing.
pub fn take_away_leftovers(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten().filter(is_ours) {
        let path = entry.path();
        let Ok(file) = File::open(&path) else {
            continue;
        };
        if is_old(&file) && file.try_lock().is_ok() {
            drop(std::fs::remove_file(&path));
        }
    }
}

/// Whether it is a file with such a name as only we give.
fn is_ours(entry: &DirEntry) -> bool {
    let name = entry.file_name();
    let drawn = name
        .to_str()
        .and_then(|n| n.strip_prefix(PREFIX)?.strip_suffix(SUFFIX));
    let drawn =
        drawn.is_some_and(|d| d.len() == DRAWN && d.bytes().all(|b| b.is_ascii_alphanumeric()));
    drawn && entry.file_type().is_ok_and(|kind| kind.is_file())
}

/// By the clock as it is; one that was put back makes a file younger, and it stays.
fn is_old(file: &File) -> bool {
    let written = file.metadata().and_then(|about| about.modified());
    let age = written.map(|at| SystemTime::now().duration_since(at));
    matches!(age, Ok(Ok(age)) if age >= OLD)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file in `folder`, last written to `ago`.
    fn file(folder: &Path, name: &str, ago: Duration) -> File {
        let file = File::create(folder.join(name)).unwrap();
        file.set_modified(SystemTime::now() - ago).unwrap();
        file
    }

    fn left(folder: &Path) -> Vec<String> {
        let entries = std::fs::read_dir(folder).unwrap();
        let name = |e: std::io::Result<DirEntry>| e.unwrap().file_name().into_string().unwrap();
        let mut names: Vec<String> = entries.map(name).collect();
        names.sort();
        names
    }

    #[test]
    fn only_what_is_ours_old_and_in_no_hands_is_taken() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        let old = 2 * OLD;
        drop(file(at, ".ghostchalk-Ab3dE6gh.tmp", old));
        // Just written; by the clock, in times to come.
        drop(file(at, ".ghostchalk-young000.tmp", Duration::ZERO));
        let coming = file(at, ".ghostchalk-coming00.tmp", Duration::ZERO);
        coming.set_modified(SystemTime::now() + old).unwrap();
        // A program still writes it.
        let held = file(at, ".ghostchalk-held0000.tmp", old);
        hold(&held);
        // Names that are not ours, or not quite.
        let others = [
            ".ghostchalk-a.tmp",
            ".ghostchalk-Ab-dE6gh.tmp",
            ".ghostchalk-Ab3dE6gh.tmp.1",
            ".ghostchalk-Ab3dE6gh9.tmp",
            ".tmpAb3dE6",
            "ghostchalk-Ab3dE6gh.tmp",
            "notes.tmp",
        ];
        for name in others {
            drop(file(at, name, old));
        }
        std::fs::create_dir(at.join(".ghostchalk-folder00.tmp")).unwrap();
        take_away_leftovers(at);
        let mut wanted: Vec<String> = others.map(str::to_owned).into();
        wanted.extend(
            ["coming00", "folder00", "held0000", "young000"]
                .map(|n| format!("{PREFIX}{n}{SUFFIX}")),
        );
        wanted.sort();
        assert_eq!(left(at), wanted);
        let_go(&held);
        take_away_leftovers(at);
        wanted.retain(|n| !n.contains("held"));
        assert_eq!(left(at), wanted);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_left_and_what_it_names_too() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        drop(file(at, "precious", 2 * OLD));
        std::os::unix::fs::symlink("precious", at.join(".ghostchalk-link0000.tmp")).unwrap();
        take_away_leftovers(at);
        assert_eq!(left(at), [".ghostchalk-link0000.tmp", "precious"]);
        take_away_leftovers(&at.join("gone"));
    }

    #[test]
    fn what_is_made_for_writing_is_known_again() {
        let folder = tempfile::tempdir().unwrap();
        let made = builder().tempfile_in(folder.path()).unwrap();
        made.as_file()
            .set_modified(SystemTime::now() - 2 * OLD)
            .unwrap();
        hold(made.as_file());
        take_away_leftovers(folder.path());
        assert!(made.path().exists(), "it is being written");
        let (file, path) = made.keep().unwrap();
        let_go(&file);
        take_away_leftovers(folder.path());
        assert!(!path.exists());
    }
}
