//! The journal: all that was done to a job, one record a line, only ever added
//! to. Opening it verifies every line; what can't be verified is never
//! written over.

use super::line::{Bad, LONGEST, Line, decode};
use super::tail::Tail;
use super::writer::{Head, Writer};
use crate::disk;
use crate::fault::{Fault, Outcome};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fs::{File, OpenOptions};
use std::path::{Path, PathBuf};

/// The first line: kind and version.
pub(super) const FIRST: &str = "ghostchalk journal 1\n";

/// What every version's first line begins with.
const KIND: &str = "ghostchalk journal ";

/// The largest journal, bytes: a piece dragged about without rest for three
/// hundred hours.
pub(super) const LARGEST: u64 = 256 << 20;

/// A journal, read and verified.
#[derive(Debug)]
pub struct Opened<T> {
    /// The verified lines, oldest first.
    pub records: Vec<Line<T>>,
    /// How it ended when it was read.
    pub end: End,
    /// What the person should know of its state, one sentence.
    pub note: Option<String>,
    /// What adds to it, or why nothing can be added.
    pub writer: Outcome<Writer<T>>,
}

/// Opens the journal at `path`; where there is none yet, a new one begins.
/// `may_write` says why it must not be written to, if so: then nothing on disk
/// is touched.
///
/// A last line that is torn is cut off; if it is not half a line but a damaged
/// one, a copy of the journal as it was is kept beside it. A bad line before
/// the last ends the records there, and nothing can be added.
///
/// # Errors
/// If what is there is not a journal of this version, is too large, or can't
/// be read. It is left as it is.
pub fn open_journal<T>(path: &Path, may_write: Outcome<()>) -> Outcome<Opened<T>>
where
    T: Serialize + DeserializeOwned,
{
    let bytes = match std::fs::symlink_metadata(path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Vec::new(),
        _ => disk::read(path, "reading the journal", LARGEST)?,
    };
    let found = read::<T>(&bytes).map_err(|f| f.in_file(path))?;
    let mut note = None;
    let mut may_write = may_write;
    match &found.end {
        End::Whole => {}
        End::Torn => {
            note = Some(format!(
                "{}: the last line is unfinished and left out: \
                 the program stopped while it was written.",
                path.display()
            ));
        }
        End::Damaged => {
            let said = format!("{}: the last line is damaged and left out", path.display());
            let kept = may_write.and_then(|()| copy_aside(path, &bytes));
            note = Some(match &kept {
                Ok(copy) => format!(
                    "{said}; the journal as it was is kept in {}.",
                    copy.display()
                ),
                Err(_) => format!("{said}."),
            });
            may_write = kept.map(|_| ());
        }
        End::Bad { line, why } => {
            let fault = Fault::input(
                format!("{why}, so what was done from there on can't be told"),
                "the job can be looked at, not changed; to go on from what the job file holds, move \
                 the journal to another folder and keep it",
            )
            .at(format!("line {line}"))
            .in_file(path);
            note = Some(fault.to_string());
            may_write = may_write.and(Err(fault));
        }
    }
    let head = Head {
        path: path.to_owned(),
        next: found.records.len() as u64 + 1,
        length: found.good.max(FIRST.len()) as u64,
    };
    let writer = may_write.and_then(|()| {
        let file = writable(path, bytes.len(), found.good)?;
        let mut tail = Tail::new(file, found.good as u64);
        if found.good == 0 {
            tail.push(FIRST.as_bytes().to_vec());
        }
        Writer::start(tail, head)
    });
    Ok(Opened {
        records: found.records,
        end: found.end,
        note,
        writer,
    })
}

/// Keeps the bytes of a journal under a free name beside it.
fn copy_aside(path: &Path, bytes: &[u8]) -> Outcome<PathBuf> {
    let copy = disk::free_name(path)?;
    disk::write_atomic(&copy, bytes)?;
    Ok(copy)
}

/// The journal's file, open for writing and cut to its good part.
fn writable(path: &Path, length: usize, good: usize) -> Outcome<File> {
    disk::refuse_marked(path)?;
    let open = || -> std::io::Result<File> {
        // Not opened to append, for then half a line could not be cut off on
        // every system.
        let file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)?;
        if good < length {
            file.set_len(good as u64)?;
            file.sync_all()?;
        }
        if length == 0 {
            // The name, too, should outlast a power cut.
            disk::sync_folder(disk::folder_of(path))?;
        }
        Ok(file)
    };
    open().map_err(|e| Fault::file("opening the journal to write", path, &e))
}

/// How a journal ends.
#[derive(Debug, PartialEq)]
pub enum End {
    /// With a whole line.
    Whole,
    /// After the good part comes the beginning of a line.
    Torn,
    /// After the good part comes one line that ends as a line does, but is not
    /// what was written: blocks of it may have reached the disk and others not.
    Damaged,
    /// After the good part comes a line that can't be used. The first line of
    /// the file is line 1.
    Bad { line: usize, why: String },
}

/// What is in a journal.
#[derive(Debug)]
pub struct Found<T> {
    /// What was read, in order.
    pub records: Vec<Line<T>>,
    /// How many bytes are good, from the beginning.
    pub good: usize,
    pub end: End,
}

/// Verifies the bytes of a journal.
///
/// # Errors
/// If they are no journal of ours, or another version's.
pub fn read<T: DeserializeOwned>(bytes: &[u8]) -> Outcome<Found<T>> {
    let mut found = Found {
        records: Vec::new(),
        good: 0,
        end: End::Whole,
    };
    let Some(rest) = bytes.strip_prefix(FIRST.as_bytes()) else {
        if FIRST.as_bytes().starts_with(bytes) {
            if !bytes.is_empty() {
                found.end = End::Torn;
            }
            return Ok(found);
        }
        return Err(stranger(bytes));
    };
    found.good = FIRST.len();
    for chunk in rest.split_inclusive(|&b| b == b'\n') {
        let number = found.records.len() as u64 + 1;
        let last = found.good + chunk.len() == bytes.len();
        let bad = |why: String| End::Bad {
            // The first record is on line 2.
            line: found.records.len() + 2,
            why,
        };
        let Some(line) = chunk.strip_suffix(b"\n") else {
            found.end = End::Torn;
            break;
        };
        let long = line.len() >= LONGEST;
        let read = if long {
            Err(Bad::Damaged)
        } else {
            decode(line)
        };
        match read {
            Ok((n, record)) if n == number => found.records.push(record),
            Ok((n, _)) => {
                found.end = bad(format!(
                    "a step is missing or out of order: number {n} stands where {number} should"
                ));
                break;
            }
            Err(Bad::Damaged) if last && !long => {
                found.end = End::Damaged;
                break;
            }
            Err(Bad::Damaged) => {
                found.end = bad("the line is damaged".to_owned());
                break;
            }
            Err(Bad::Unknown(why)) => {
                found.end = bad(format!("this program does not know the step ({why})"));
                break;
            }
        }
        found.good += chunk.len();
    }
    Ok(found)
}

/// What to say of a file that does not begin as our journal does.
fn stranger(bytes: &[u8]) -> Fault {
    match bytes.strip_prefix(KIND.as_bytes()) {
        Some(rest) => {
            let word: Vec<u8> = rest.iter().copied().take_while(|&b| b != b'\n').collect();
            let version: String = String::from_utf8_lossy(&word).chars().take(12).collect();
            Fault::input(
                format!(
                    "the journal is of version \"{}\", and this program knows version 1",
                    version.trim()
                ),
                "use the program that wrote it, or a newer one",
            )
        }
        None => Fault::input(
            "this is not a journal",
            "move it to another folder, so that a journal can begin here",
        ),
    }
    .at("line 1")
}

#[cfg(test)]
mod tests {
    use super::super::line::encode;
    use super::*;

    /// A journal of five records, and where each line ends.
    fn sample() -> (Vec<u8>, Vec<Line<String>>, Vec<usize>) {
        let mut bytes = FIRST.as_bytes().to_vec();
        let mut ends = vec![bytes.len()];
        let step = |k: i32| Line::Op(format!("step {k}"));
        let records = vec![
            Line::Base { job_crc: 77 },
            step(1),
            step(2),
            Line::Saving { job_crc: 78 },
            step(3),
        ];
        for (k, record) in records.iter().enumerate() {
            let by_ref = match record {
                Line::Base { job_crc } => Line::Base { job_crc: *job_crc },
                Line::Saving { job_crc } => Line::Saving { job_crc: *job_crc },
                Line::Op(s) => Line::Op(s),
            };
            bytes.extend(encode(k as u64 + 1, &by_ref).unwrap());
            ends.push(bytes.len());
        }
        (bytes, records, ends)
    }

    fn open_at(path: &Path) -> Outcome<Opened<String>> {
        open_journal(path, Ok(()))
    }

    #[test]
    fn every_torn_length_keeps_the_whole_lines_and_goes_on() {
        let (bytes, records, ends) = sample();
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("journal");
        for length in 0..=bytes.len() {
            std::fs::write(&path, &bytes[..length]).unwrap();
            let opened = open_at(&path).unwrap();
            let whole = ends.iter().filter(|&&e| e <= length).count();
            let kept = whole.saturating_sub(1);
            assert_eq!(opened.records, records[..kept], "{length}");
            let clean = length == 0 || ends.contains(&length);
            assert_eq!(opened.note.is_none(), clean, "{length}: {:?}", opened.note);
            let mut writer = opened.writer.unwrap();
            writer.append(&"after".to_owned()).unwrap();
            writer.close().unwrap();
            let again = open_at(&path).unwrap();
            assert_eq!(again.note, None, "{length}");
            assert_eq!(again.records[..kept], records[..kept]);
            assert_eq!(again.records[kept..], [Line::Op("after".to_owned())]);
            drop(again);
            let text = std::fs::read(&path).unwrap();
            let good = if whole == 0 { FIRST.len() } else { ends[kept] };
            assert_eq!(text[..good], bytes[..good]);
        }
    }

    #[test]
    fn every_flipped_bit_is_found_and_nothing_is_written_over() {
        let (bytes, records, ends) = sample();
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("journal");
        let last_begins = ends[ends.len() - 2];
        for at in 0..bytes.len() {
            for bit in 0..8 {
                let mut bad = bytes.clone();
                bad[at] ^= 1 << bit;
                std::fs::write(&path, &bad).unwrap();
                // The records before the line that was hit.
                let kept = ends.iter().filter(|&&e| e <= at).count().saturating_sub(1);
                match open_at(&path) {
                    Err(fault) => {
                        assert!(at < FIRST.len(), "{at}.{bit}: {fault}");
                        assert_eq!(std::fs::read(&path).unwrap(), bad);
                    }
                    Ok(opened) => {
                        assert!(at >= FIRST.len(), "{at}.{bit}");
                        assert_eq!(opened.records, records[..kept], "{at}.{bit}");
                        let note = opened.note.expect("damage is told");
                        let cut = opened.writer.is_ok();
                        drop(opened.writer);
                        let left = std::fs::read(&path).unwrap();
                        if cut {
                            // Only what is now the last line is cut off, and
                            // unless it is a half one, a copy is kept.
                            assert!(at >= last_begins - 1, "{at}.{bit}");
                            assert_eq!(left, bytes[..ends[kept]]);
                            let copy = dir.path().join("journal.1");
                            if bad.ends_with(b"\n") {
                                assert_eq!(std::fs::read(&copy).unwrap(), bad);
                                assert!(note.contains("journal.1"), "{note}");
                                std::fs::remove_file(copy).unwrap();
                            }
                            assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1);
                        } else {
                            assert_eq!(left, bad);
                            assert!(note.contains(&format!("line {}", kept + 2)), "{note}");
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn a_lost_line_and_one_not_understood_end_the_records_and_are_named() {
        let (bytes, records, ends) = sample();
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("journal");
        // The third record lost.
        let lost = [&bytes[..ends[2]], &bytes[ends[3]..]].concat();
        // A whole line that this program can't read, as the last: not torn.
        let mut newer = bytes.clone();
        newer.extend(encode(6, &Line::Op(&4.5)).unwrap());
        // Lines from another journal after the last.
        let twice = [&bytes[..], &bytes[ends[3]..]].concat();
        for (text, kept, line, word) in [
            (lost, 2, 4, "number 4 stands where 3 should"),
            (newer, 5, 7, "does not know the step"),
            (twice, 5, 7, "number 4 stands"),
        ] {
            std::fs::write(&path, &text).unwrap();
            let opened = open_at(&path).unwrap();
            assert_eq!(opened.records, records[..kept]);
            let said = opened.writer.unwrap_err().to_string();
            assert!(
                said.contains(&format!("line {line}: ")) && said.contains(word),
                "{said}"
            );
            assert_eq!(opened.note, Some(said));
            assert_eq!(std::fs::read(&path).unwrap(), text);
        }
    }

    #[test]
    fn another_version_another_kind_and_a_device_are_refused_and_left_alone() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("journal");
        for (text, word) in [
            ("ghostchalk journal 2\n1 00000000 {}\n", "version \"2\""),
            ("dear diary\n", "not a journal"),
        ] {
            std::fs::write(&path, text).unwrap();
            let said = open_at(&path).unwrap_err().to_string();
            assert!(said.contains(word) && said.contains("line 1"), "{said}");
            assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
        }
        assert!(open_at(dir.path()).is_err());
        #[cfg(unix)]
        assert!(open_at(Path::new("/dev/zero")).is_err());
    }

    #[test]
    fn a_huge_line_is_not_parsed() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("journal");
        let mut text = FIRST.as_bytes().to_vec();
        text.resize(text.len() + LONGEST, b'[');
        text.push(b'\n');
        std::fs::write(&path, &text).unwrap();
        let opened = open_at(&path).unwrap();
        assert!(opened.writer.unwrap_err().to_string().contains("line 2"));
        assert_eq!(
            std::fs::metadata(&path).unwrap().len(),
            text.len() as u64,
            "left as it is"
        );
    }

    #[test]
    fn a_huge_journal_is_refused_before_it_is_read() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("journal");
        // A file of holes takes no room on disk.
        File::create(&path).unwrap().set_len(LARGEST + 1).unwrap();
        let said = open_at(&path).unwrap_err().to_string();
        assert!(said.contains("larger than"), "{said}");
    }

    #[test]
    fn who_may_not_write_touches_nothing() {
        let (bytes, records, ends) = sample();
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("journal");
        let torn = &bytes[..ends[4] + 3];
        let why = || Err(Fault::input("another session has it", "wait"));
        let none = open_journal::<String>(&path, why()).unwrap();
        assert!(none.records.is_empty() && none.writer.is_err() && !path.exists());
        std::fs::write(&path, torn).unwrap();
        let opened = open_journal::<String>(&path, why()).unwrap();
        assert_eq!(opened.records, records[..4]);
        assert!(
            opened
                .writer
                .unwrap_err()
                .to_string()
                .contains("another session")
        );
        assert_eq!(std::fs::read(&path).unwrap(), torn);
    }
}
