//! A journal that is read while another session may be writing to it. A last line without its end
//! is then most likely one that is just being written, and nothing to be told of.

use super::journal::{End, Opened};
use crate::fault::Outcome;
use std::time::Duration;

/// How often a journal is read anew whose last line is being written, and how long is waited
/// before each time.
const TRIES: u32 = 5;
const WAIT: Duration = Duration::from_millis(20);

/// Lets the other session go on.
pub(super) fn wait() {
    std::thread::sleep(WAIT);
}

/// Reads, by `read`, a journal that is not ours to write; `held` says whether another session has
/// it now, and `wait` lets that one go on.
///
/// A line that is still unfinished after a few tries is left out without a word while another
/// session has the job. A damaged one is told all the same.
///
/// # Errors
/// As `read`.
pub(super) fn look<T>(
    read: impl Fn() -> Outcome<Opened<T>>,
    held: impl Fn() -> bool,
    mut wait: impl FnMut(),
) -> Outcome<Opened<T>> {
    let mut opened = read()?;
    for _ in 0..TRIES {
        if !matches!(opened.end, End::Torn | End::Damaged) {
            return Ok(opened);
        }
        let busy = held();
        if busy {
            wait();
        }
        // Also if nobody has it: who had it a moment ago may have ended its line since.
        opened = read()?;
        if !busy {
            return Ok(opened);
        }
    }
    match held() {
        true if opened.end == End::Torn => opened.note = None,
        true => {}
        false => opened = read()?,
    }
    Ok(opened)
}

#[cfg(test)]
mod tests {
    use super::super::journal::open_journal;
    use super::*;
    use crate::fault::Fault;
    use std::cell::Cell;
    use std::path::Path;

    /// The journal of two steps, and where the second begins.
    fn two_steps(path: &Path) -> (Vec<u8>, usize) {
        let mut writer = open_journal::<String>(path, Ok(()))
            .unwrap()
            .writer
            .unwrap();
        writer.append(&"one".to_owned()).unwrap();
        writer.sync().unwrap();
        let second = std::fs::read(path).unwrap().len();
        writer.append(&"two".to_owned()).unwrap();
        writer.close().unwrap();
        (std::fs::read(path).unwrap(), second)
    }

    fn read(path: &Path) -> Outcome<Opened<String>> {
        open_journal(path, Err(Fault::input("another has it", "wait")))
    }

    #[test]
    fn a_line_that_is_being_written_is_waited_for() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("journal");
        let (whole, second) = two_steps(&path);
        for after in 1..=TRIES {
            std::fs::write(&path, &whole[..second + 9]).unwrap();
            let waited = Cell::new(0);
            let wait = || {
                waited.set(waited.get() + 1);
                if waited.get() == after {
                    std::fs::write(&path, &whole).unwrap();
                }
            };
            let opened = look(|| read(&path), || true, wait).unwrap();
            assert_eq!((opened.records.len(), opened.note), (2, None));
            assert_eq!(waited.get(), after);
        }
    }

    #[test]
    fn what_stays_unfinished_is_told_unless_another_has_the_job() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("journal");
        let (whole, second) = two_steps(&path);
        std::fs::write(&path, &whole[..second + 9]).unwrap();
        let waited = Cell::new(0);
        let wait = || waited.set(waited.get() + 1);
        let opened = look(|| read(&path), || true, wait).unwrap();
        assert_eq!((opened.records.len(), opened.note), (1, None));
        assert_eq!(waited.take(), TRIES);
        let opened = look(|| read(&path), || false, wait).unwrap();
        assert!(opened.note.unwrap().contains("unfinished"));
        assert_eq!(waited.take(), 0, "nobody is waited for");
        // It had the job, and let it go when it had ended its line.
        let held = || {
            std::fs::write(&path, &whole).unwrap();
            false
        };
        let opened = look(|| read(&path), held, wait).unwrap();
        assert_eq!((opened.records.len(), opened.note), (2, None));
        // It was killed while it was waited for.
        std::fs::write(&path, &whole[..second + 9]).unwrap();
        let held = || waited.get() < TRIES;
        let opened = look(|| read(&path), held, wait).unwrap();
        assert!(opened.note.unwrap().contains("unfinished"));
    }

    #[test]
    fn a_damaged_line_is_told_whoever_has_the_job() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("journal");
        let (mut whole, second) = two_steps(&path);
        whole[second + 4] ^= 1;
        std::fs::write(&path, &whole).unwrap();
        let opened = look(|| read(&path), || true, || ()).unwrap();
        assert_eq!(opened.records.len(), 1);
        assert!(opened.note.unwrap().contains("damaged"));
    }
}
