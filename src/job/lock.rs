//! One session writes to a job. The system holds the lock and drops it with
//! the process, so a program that was killed leaves none behind.

use crate::fault::{Fault, Outcome};
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// The lock file's name in the job's folder. It stays there: taking it away
/// would let two sessions lock two files of one name.
pub(super) const LOCK_FILE: &str = ".in-use";

/// How often a lock that is held is tried again, and how long is waited each time. A program
/// that this one is starting may hold what this one has given up, until it runs.
const TRIES: u32 = 10;
const WAIT: Duration = Duration::from_millis(25);

/// A job held by this session, until it is dropped.
#[derive(Debug)]
pub struct JobLock {
    _file: File,
}

impl JobLock {
    /// Takes the job in `folder`.
    ///
    /// # Errors
    /// Why the job can be looked at but not changed: another session has it
    /// (which, and for how long), or the folder can't be written to.
    pub fn take(folder: &Path) -> Outcome<Self> {
        let open = |path: &Path| {
            OpenOptions::new()
                .read(true)
                .write(true)
                .create(true)
                .truncate(false)
                .open(path)
        };
        Self::take_with(folder, open)
    }

    /// Whether a session has the job in `folder` now. Nothing is changed to find out; where that
    /// can't be told, none has it.
    pub fn is_held(folder: &Path) -> bool {
        let Ok(file) = File::open(folder.join(LOCK_FILE)) else {
            return false;
        };
        matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock))
    }

    fn take_with(
        folder: &Path,
        open: impl FnOnce(&Path) -> std::io::Result<File>,
    ) -> Outcome<Self> {
        let path = folder.join(LOCK_FILE);
        let fail = |e: &std::io::Error| {
            let fault = Fault::file("opening the job", &path, e);
            Fault {
                what: format!("the job can be looked at, not changed: {}", fault.what),
                ..fault
            }
        };
        let mut file = open(&path).map_err(|e| fail(&e))?;
        for left in (0..TRIES).rev() {
            match file.try_lock() {
                Ok(()) => break,
                Err(TryLockError::WouldBlock) if left > 0 => std::thread::sleep(WAIT),
                Err(TryLockError::WouldBlock) => return Err(taken(folder, &mut file)),
                Err(TryLockError::Error(e)) => return Err(fail(&e)),
            }
        }
        // Who holds it is for people only; without it the lock is as good.
        drop(sign(&mut file));
        Ok(Self { _file: file })
    }
}

/// Writes who holds the lock: process and time, seconds since 1970.
fn sign(file: &mut File) -> std::io::Result<()> {
    file.set_len(0)?;
    file.rewind()?;
    writeln!(file, "{} {}", std::process::id(), now().as_secs())
}

fn taken(folder: &Path, file: &mut File) -> Fault {
    // Some systems let no one read a locked file.
    let mut text = String::new();
    let read = file.take(64).read_to_string(&mut text);
    let holder = read.ok().and_then(|_| holder(&text, now()));
    let who = holder.map_or_else(String::new, |h| format!(" ({h})"));
    Fault::input(
        format!("this job is open in another Ghostchalk{who}, so it can be looked at, not changed"),
        "close that one, then open the job again",
    )
    .in_file(folder)
}

/// `process 4242, begun 12 min ago`.
fn holder(text: &str, now: Duration) -> Option<String> {
    let (process, since) = text.trim().split_once(' ')?;
    let process: u32 = process.parse().ok()?;
    let since = Duration::from_secs(since.parse().ok()?);
    let minutes = now.saturating_sub(since).as_secs() / 60;
    let ago = match minutes {
        0 => "just now".to_owned(),
        1..=119 => format!("{minutes} min ago"),
        120..=2879 => format!("{} h ago", minutes / 60),
        _ => format!("{} days ago", minutes / 1440),
    };
    Some(format!("process {process}, begun {ago}"))
}

fn now() -> Duration {
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_is_told_who_has_it_and_gets_it_after() {
        let dir = tempfile::tempdir().unwrap();
        assert!(!JobLock::is_held(dir.path()), "there is no lock file yet");
        let first = JobLock::take(dir.path()).unwrap();
        assert!(JobLock::is_held(dir.path()));
        let said = JobLock::take(dir.path()).unwrap_err().to_string();
        let process = format!("process {}, begun just now", std::process::id());
        assert!(
            said.contains("another Ghostchalk") && said.contains("not changed"),
            "{said}"
        );
        #[cfg(unix)]
        assert!(said.contains(&process), "{said}");
        drop((first, process));
        assert!(!JobLock::is_held(dir.path()));
        drop(JobLock::take(dir.path()).unwrap());
    }

    #[test]
    fn a_folder_that_cannot_be_written_is_said() {
        let dir = tempfile::tempdir().unwrap();
        for (kind, word) in [
            (std::io::ErrorKind::PermissionDenied, "access is denied"),
            (std::io::ErrorKind::ReadOnlyFilesystem, "disk is read-only"),
        ] {
            let fault = JobLock::take_with(dir.path(), |_| Err(kind.into())).unwrap_err();
            let said = fault.to_string();
            assert!(
                said.contains(word) && said.contains("not changed"),
                "{said}"
            );
        }
        assert!(JobLock::take(&dir.path().join("gone")).is_err());
    }

    #[test]
    fn time_is_told_in_round_numbers() {
        let at = |s: u64| holder("42 1000", Duration::from_secs(s)).unwrap();
        assert_eq!(at(1030), "process 42, begun just now");
        assert_eq!(at(1000 + 12 * 60 + 5), "process 42, begun 12 min ago");
        assert_eq!(at(1000 + 3 * 3600), "process 42, begun 3 h ago");
        assert_eq!(at(1000 + 80 * 3600), "process 42, begun 3 days ago");
        // A clock that was put back.
        assert_eq!(at(0), "process 42, begun just now");
        assert_eq!(holder("", Duration::ZERO), None);
        assert_eq!(holder("a b", Duration::ZERO), None);
    }
}
