//! Whoever reads a file, changes what it says and writes it back has it alone meanwhile: of two
//! that did so at once, one would lose what the other wrote.

use super::folder_of;
use crate::fault::{Fault, Outcome};
use std::fs::{File, OpenOptions, TryLockError};
use std::path::Path;
use std::time::Duration;

/// The lock file's name, beside the file; one for all files of a folder, for turns are short. It
/// stays there: taking it away would let two programs lock two files of one name.
const LOCK_FILE: &str = ".in-turn";

/// How often a lock that is held is tried again, and how long is waited each time: two seconds
/// in all, many times what reading and writing a small file takes.
const TRIES: u32 = 80;
const WAIT: Duration = Duration::from_millis(25);

/// A turn at a file, until it is dropped. The system ends it with the process.
#[derive(Debug)]
pub struct Turn {
    _file: Option<File>,
}

/// Waits for the turn at the file `path`, two seconds at most. What is not there yet is nobody's
/// to lose. Where there are no locks, or the folder can't be written to, there is nothing to
/// wait for: who can't write is told so on writing.
///
/// # Errors
/// If another program has it all that time.
pub fn turn(path: &Path) -> Outcome<Turn> {
    let Ok(target) = std::fs::canonicalize(path) else {
        return Ok(Turn { _file: None });
    };
    let lock = folder_of(&target).join(LOCK_FILE);
    let open = OpenOptions::new()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .open(&lock);
    // Another user's lock file can't be written to, but locked.
    let Ok(file) = open.or_else(|_| File::open(&lock)) else {
        return Ok(Turn { _file: None });
    };
    for left in (0..TRIES).rev() {
        match file.try_lock() {
            Ok(()) => break,
            Err(TryLockError::WouldBlock) if left > 0 => std::thread::sleep(WAIT),
            Err(TryLockError::WouldBlock) => {
                return Err(Fault::input(
                    "another program is just changing it",
                    "wait for that to end, then try again",
                )
                .in_file(path));
            }
            Err(TryLockError::Error(_)) => return Ok(Turn { _file: None }),
        }
    }
    Ok(Turn { _file: Some(file) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_waits_for_the_other_and_is_told_in_the_end() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("table.toml");
        // Nothing is there, and no lock file is left behind.
        drop((turn(&path).unwrap(), turn(&path).unwrap()));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
        std::fs::write(&path, "a").unwrap();
        let first = turn(&path).unwrap();
        let said = turn(&path).unwrap_err().to_string();
        assert!(
            said.contains("table.toml: another program") && said.contains("try again"),
            "{said}"
        );
        std::thread::scope(|scope| {
            let second = scope.spawn(|| turn(&path));
            std::thread::sleep(2 * WAIT);
            drop(first);
            assert!(second.join().unwrap().is_ok());
        });
    }

    /// As another user's is: `root` may write to it all the same.
    #[test]
    fn a_lock_file_that_cant_be_written_to_is_a_lock_too() {
        let folder = tempfile::tempdir().unwrap();
        let (path, lock) = (folder.path().join("a"), folder.path().join(LOCK_FILE));
        for file in [&path, &lock] {
            std::fs::write(file, "").unwrap();
        }
        let mut marked = std::fs::metadata(&lock).unwrap().permissions();
        marked.set_readonly(true);
        std::fs::set_permissions(&lock, marked).unwrap();
        let first = turn(&path).unwrap();
        assert!(turn(&path).is_err());
        drop(first);
        assert!(turn(&path).is_ok());
    }

    #[cfg(unix)]
    #[test]
    fn by_way_of_a_link_it_is_the_same_turn() {
        let folder = tempfile::tempdir().unwrap();
        let elsewhere = tempfile::tempdir().unwrap();
        let path = folder.path().join("table.toml");
        let link = elsewhere.path().join("link.toml");
        std::fs::write(&path, "a").unwrap();
        std::os::unix::fs::symlink(&path, &link).unwrap();
        let first = turn(&path).unwrap();
        assert!(turn(&link).is_err());
        drop(first);
        assert!(turn(&link).is_ok());
    }
}
