//! The journal's end, where lines are put one after the other: what is on
//! disk, what is only handed to the system, what still waits. A line stays in
//! memory until the disk has confirmed it, so that a full disk loses nothing.

use crate::disk;
use crate::fault::{Fault, Outcome};
use std::collections::VecDeque;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

const KEEPING: &str = "looking after the journal";

/// What a journal is written to. A file, or in tests a disk that fails.
pub trait Store: Send + 'static {
    /// Writes all of `bytes` at `offset`. After an error any part may be there.
    fn put(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()>;
    /// Cuts what is beyond `length`.
    fn cut(&mut self, length: u64) -> io::Result<()>;
    /// Returns once all that was put is on disk.
    fn sync(&mut self) -> io::Result<()>;
    /// Sees to it that what is written to is what stands at `path`: `true` if it had been taken
    /// away, and its first `length` bytes, all that was written, stand there anew. What else
    /// stands there is left as it is.
    ///
    /// # Errors
    /// If something else stands there, or the disk won't have it.
    fn stay_at(&mut self, path: &Path, length: u64) -> Outcome<bool> {
        let _ = (path, length);
        Ok(false)
    }
    /// Keeps the first `length` bytes, all that was written, under a free name beside `path`, and
    /// says which.
    ///
    /// # Errors
    /// If the disk won't have it.
    fn keep_beside(&mut self, path: &Path, length: u64) -> Outcome<Option<PathBuf>> {
        let _ = (path, length);
        Ok(None)
    }
}

impl Store for File {
    fn put(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()> {
        self.seek(SeekFrom::Start(offset))?;
        self.write_all(bytes)
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.set_len(length)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.sync_data()
    }

    fn stay_at(&mut self, path: &Path, length: u64) -> Outcome<bool> {
        let fail = |e: io::Error| Fault::file(KEEPING, path, &e);
        match std::fs::symlink_metadata(path) {
            Err(e) if e.kind() == io::ErrorKind::NotFound => {
                // The file that is open has gone with its folder, and goes on there.
                if !disk::folder_of(path).is_dir() {
                    return Err(Fault::input(
                        "the job's folder was moved or renamed while the job was open",
                        "give it its old name and place again",
                    )
                    .in_file(path));
                }
            }
            Err(e) => return Err(fail(e)),
            Ok(_) if is_at(self, path).map_err(fail)? => return Ok(false),
            Ok(_) => {
                return Err(Fault::input(
                    "another file stands where the journal was",
                    "move that file to another folder, and the journal is written there again; \
                     until then what is done here is not found by the next start",
                )
                .in_file(path));
            }
        }
        let bytes = written(self, length).map_err(fail)?;
        if let Err(why) = disk::write_atomic(path, &bytes) {
            // Only the folder may not have been flushed: then it is there all the same.
            let there = disk::read(path, KEEPING, length);
            if there.as_ref() != Ok(&bytes) {
                return Err(why);
            }
        }
        let file = OpenOptions::new().read(true).write(true).open(path);
        *self = file.map_err(fail)?;
        Ok(true)
    }

    fn keep_beside(&mut self, path: &Path, length: u64) -> Outcome<Option<PathBuf>> {
        let bytes = written(self, length).map_err(|e| Fault::file(KEEPING, path, &e))?;
        let copy = disk::free_name(path)?;
        disk::write_atomic(&copy, &bytes)?;
        Ok(Some(copy))
    }
}

/// The first `length` bytes. A file that was taken away can still be read by who has it open.
fn written(file: &mut File, length: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    file.seek(SeekFrom::Start(0))?;
    Read::take(&*file, length).read_to_end(&mut bytes)?;
    match bytes.len() as u64 == length {
        true => Ok(bytes),
        false => Err(io::ErrorKind::UnexpectedEof.into()),
    }
}

/// Whether this file is the one at `path`.
#[cfg(unix)]
fn is_at(file: &File, path: &Path) -> io::Result<bool> {
    use std::os::unix::fs::MetadataExt;
    let (ours, there) = (file.metadata()?, std::fs::metadata(path)?);
    Ok((ours.dev(), ours.ino()) == (there.dev(), there.ino()))
}

/// Elsewhere a file that is open keeps its name.
#[cfg(not(unix))]
fn is_at(_: &File, _: &Path) -> io::Result<bool> {
    Ok(true)
}

/// The end of a journal.
#[derive(Debug)]
pub struct Tail<S> {
    store: S,
    /// Bytes that are on disk for certain.
    confirmed: u64,
    /// Bytes of whole lines that the store has taken.
    written: u64,
    /// The lines that are not confirmed, oldest first.
    lines: VecDeque<Vec<u8>>,
    /// How many of them the store has taken.
    taken: usize,
    /// Whether half a line may stand beyond `written`.
    torn: bool,
}

impl<S: Store> Tail<S> {
    /// Goes on after the first `length` bytes, which are on disk.
    pub fn new(store: S, length: u64) -> Self {
        Self {
            store,
            confirmed: length,
            written: length,
            lines: VecDeque::new(),
            taken: 0,
            torn: false,
        }
    }

    /// Puts a line in the queue.
    pub fn push(&mut self, line: Vec<u8>) {
        self.lines.push_back(line);
    }

    /// How many lines are not confirmed.
    pub fn waiting(&self) -> usize {
        self.lines.len()
    }

    /// Hands to the store what waits, in order. After an error it may be
    /// called again: half a line is cut off before it is written anew.
    pub fn write(&mut self) -> io::Result<()> {
        if self.torn {
            self.store.cut(self.written)?;
            self.torn = false;
        }
        while let Some(line) = self.lines.get(self.taken) {
            self.torn = true;
            self.store.put(self.written, line)?;
            self.torn = false;
            self.written += line.len() as u64;
            self.taken += 1;
        }
        Ok(())
    }

    /// Hands over what waits, and returns once it is on disk.
    pub fn sync(&mut self) -> io::Result<()> {
        self.write()?;
        if self.lines.is_empty() {
            return Ok(());
        }
        if let Err(e) = self.store.sync() {
            // The system may have dropped what it had taken, and would call
            // the next attempt a success: so all of it is written once more.
            self.written = self.confirmed;
            self.taken = 0;
            return Err(e);
        }
        self.confirmed = self.written;
        self.lines.clear();
        self.taken = 0;
        Ok(())
    }

    /// [`Store::stay_at`], once all is confirmed.
    pub fn stay_at(&mut self, path: &Path) -> Outcome<bool> {
        self.store.stay_at(path, self.confirmed)
    }

    /// [`Store::keep_beside`], once all is confirmed.
    pub fn keep_beside(&mut self, path: &Path) -> Outcome<Option<PathBuf>> {
        self.store.keep_beside(path, self.confirmed)
    }
}

#[cfg(test)]
pub mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::sync::{Arc, Mutex};

    /// A disk with so much room, that can be told to fail.
    #[derive(Debug, Default)]
    pub struct Disk {
        /// What a reader would see.
        pub seen: Vec<u8>,
        /// What a power cut would leave.
        pub safe: Vec<u8>,
        pub room: usize,
        pub sync_fails: bool,
        pub cut_fails: bool,
    }

    #[derive(Debug, Clone, Default)]
    pub struct Shared(pub Arc<Mutex<Disk>>);

    impl Store for Shared {
        fn put(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()> {
            let mut disk = self.0.lock().unwrap();
            let at = usize::try_from(offset).unwrap();
            assert!(at <= disk.seen.len(), "a hole in the journal");
            let end = (at + bytes.len()).min(disk.room.max(at));
            let length = disk.seen.len().max(end);
            disk.seen.resize(length, 0);
            disk.seen[at..end].copy_from_slice(&bytes[..end - at]);
            if end - at < bytes.len() {
                return Err(io::ErrorKind::StorageFull.into());
            }
            Ok(())
        }

        fn cut(&mut self, length: u64) -> io::Result<()> {
            let mut disk = self.0.lock().unwrap();
            if disk.cut_fails {
                return Err(io::ErrorKind::Other.into());
            }
            disk.seen.truncate(usize::try_from(length).unwrap());
            Ok(())
        }

        fn sync(&mut self) -> io::Result<()> {
            let mut disk = self.0.lock().unwrap();
            if disk.sync_fails {
                // As some systems do: what could not be written is forgotten.
                let kept = disk.safe.len().min(disk.seen.len());
                disk.seen[kept..].fill(0);
                return Err(io::ErrorKind::Other.into());
            }
            disk.safe = disk.seen.clone();
            Ok(())
        }
    }

    #[test]
    fn half_a_line_is_cut_off_before_it_is_written_again() {
        let disk = Shared::default();
        disk.0.lock().unwrap().room = 7;
        let mut tail = Tail::new(disk.clone(), 0);
        tail.push(b"first\n".to_vec());
        tail.push(b"second\n".to_vec());
        assert!(tail.sync().is_err());
        assert_eq!(disk.0.lock().unwrap().seen, b"first\ns");
        tail.push(b"3\n".to_vec());
        disk.0.lock().unwrap().cut_fails = true;
        disk.0.lock().unwrap().room = 99;
        assert!(tail.sync().is_err());
        assert_eq!(disk.0.lock().unwrap().seen, b"first\ns");
        disk.0.lock().unwrap().cut_fails = false;
        tail.sync().unwrap();
        assert_eq!(disk.0.lock().unwrap().safe, b"first\nsecond\n3\n");
        assert_eq!(tail.waiting(), 0);
    }

    #[derive(Debug, Clone)]
    enum Event {
        Line(usize),
        Write,
        Sync,
        Room(usize),
        SyncFails(bool),
        CutFails(bool),
    }

    fn event() -> impl Strategy<Value = Event> {
        prop_oneof![
            4 => (1usize..30).prop_map(Event::Line),
            3 => Just(Event::Write),
            3 => Just(Event::Sync),
            2 => (0usize..300).prop_map(Event::Room),
            1 => any::<bool>().prop_map(Event::SyncFails),
            1 => any::<bool>().prop_map(Event::CutFails),
        ]
    }

    proptest! {
        /// Whatever fails and in whatever order: what was confirmed is safe at
        /// that moment, and when the disk works again all lines are there,
        /// once, in order.
        #[test]
        fn nothing_is_lost_or_doubled(events in prop::collection::vec(event(), 0..80)) {
            let disk = Shared::default();
            let mut tail = Tail::new(disk.clone(), 0);
            let mut all = Vec::new();
            for (k, event) in events.into_iter().enumerate() {
                match event {
                    Event::Line(length) => {
                        let letter = b'a' + u8::try_from(k % 26).unwrap();
                        let mut line = vec![letter; length];
                        line.push(b'\n');
                        all.extend_from_slice(&line);
                        tail.push(line);
                    }
                    Event::Write => drop(tail.write()),
                    Event::Sync => {
                        if tail.sync().is_ok() {
                            prop_assert!(disk.0.lock().unwrap().safe == all);
                        }
                    }
                    Event::Room(room) => disk.0.lock().unwrap().room = room,
                    Event::SyncFails(yes) => disk.0.lock().unwrap().sync_fails = yes,
                    Event::CutFails(yes) => disk.0.lock().unwrap().cut_fails = yes,
                }
            }
            {
                let mut disk = disk.0.lock().unwrap();
                (disk.room, disk.sync_fails, disk.cut_fails) = (1 << 20, false, false);
            }
            tail.sync().unwrap();
            let disk = disk.0.lock().unwrap();
            prop_assert_eq!(&disk.seen, &all);
            // Nothing new to confirm leaves the disk as it was confirmed.
            prop_assert_eq!(&disk.safe, &all);
        }
    }
}
