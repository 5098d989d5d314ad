//! The journal's end, where lines are put one after the other: what is on
//! disk, what is only handed to the system, what still waits. A line stays in
//! memory until the disk has confirmed it, so that a full disk loses nothing.

use std::collections::VecDeque;
use std::fs::File;
use std::io::{self, Seek, SeekFrom, Write};

/// What a journal is written to. A file, or in tests a disk that fails.
pub trait Store: Send + 'static {
    /// Writes all of `bytes` at `offset`. After an error any part may be there.
    fn put(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()>;
    /// Cuts what is beyond `length`.
    fn cut(&mut self, length: u64) -> io::Result<()>;
    /// Returns once all that was put is on disk.
    fn sync(&mut self) -> io::Result<()>;
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
