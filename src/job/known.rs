//! The job file as a session knows it, looked at again while the job is open: another program may
//! change it meanwhile, and that must be said while something can be done about it.

use super::toml_file::read_text;
use crate::disk::crc32c;
use crate::fault::Fault;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::SystemTime;

const LOOKING: &str = "looking at the job";

/// What was last read or written, shared with who looks at it again.
#[derive(Debug, Clone)]
pub struct Known(Arc<Mutex<Text>>);

/// The job file's text, by its CRC-32C.
#[derive(Debug)]
pub struct Text {
    path: PathBuf,
    crc: u32,
    /// Length and time of the file when it was last looked at.
    seen: Option<(u64, SystemTime)>,
    /// What was wrong with it then.
    found: Option<Fault>,
}

impl Known {
    pub fn new(path: &Path, text: &str) -> Self {
        Self(Arc::new(Mutex::new(Text {
            path: path.to_owned(),
            crc: crc32c(text.as_bytes()),
            seen: None,
            found: None,
        })))
    }

    /// Nobody looks at the file until this is dropped: it is being written.
    pub fn hold(&self) -> MutexGuard<'_, Text> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What has become of the file, if it is another now. It is read only where its length or its
    /// time is another than when it was last looked at.
    pub fn look(&self) -> Option<Fault> {
        self.hold().look()
    }

    /// The same; it is read whatever its time says.
    pub fn read(&self) -> Option<Fault> {
        let mut text = self.hold();
        text.seen = None;
        text.look()
    }
}

impl Text {
    /// The file says this now.
    pub fn now_says(&mut self, text: &str) {
        self.crc = crc32c(text.as_bytes());
        self.seen = None;
        self.found = None;
    }

    fn look(&mut self) -> Option<Fault> {
        // Before it is read: what changes in between is seen the next time.
        let about = std::fs::metadata(&self.path);
        let seen = about.and_then(|a| Ok((a.len(), a.modified()?))).ok();
        if seen.is_none() || seen != self.seen {
            self.found = self.found_now();
            self.seen = seen;
        }
        self.found.clone()
    }

    fn found_now(&self) -> Option<Fault> {
        let gone = || {
            let about = std::fs::symlink_metadata(&self.path);
            about.is_err_and(|e| e.kind() == ErrorKind::NotFound)
        };
        let what = match read_text(&self.path, LOOKING) {
            Ok(text) if crc32c(text.as_bytes()) == self.crc => return None,
            Ok(_) => "it was changed by another program while the job was open",
            Err(_) if gone() => "it was taken away while the job was open",
            Err(why) => return Some(why),
        };
        let fault = Fault::input(
            what,
            "put the file back as it was, and what is done here goes into it; if you can't, end: \
             the file as it was is then kept beside it, and you are told how to go on",
        );
        Some(fault.in_file(&self.path))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_another_program_makes_of_the_file_is_seen_and_that_it_is_put_back() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("job.toml");
        std::fs::write(&path, "ours").unwrap();
        let known = Known::new(&path, "ours");
        assert_eq!(known.look(), None);
        std::fs::write(&path, "theirs, longer").unwrap();
        let said = known.look().unwrap().to_string();
        assert!(said.contains("changed by another program"), "{said}");
        assert_eq!(known.look().unwrap().to_string(), said);
        std::fs::write(&path, "ours").unwrap();
        assert_eq!(known.look(), None);
        std::fs::remove_file(&path).unwrap();
        let said = known.look().unwrap().to_string();
        assert!(said.contains("taken away"), "{said}");
        // What is written here is known.
        std::fs::write(&path, "ours too").unwrap();
        known.hold().now_says("ours too");
        assert_eq!(known.look(), None);
        // As long and as old as it was: only who reads it sees that.
        let time = std::fs::metadata(&path).unwrap().modified().unwrap();
        std::fs::write(&path, "theirs!!").unwrap();
        let file = std::fs::File::options().write(true).open(&path).unwrap();
        file.set_modified(time).unwrap();
        assert_eq!(known.look(), None);
        assert!(known.read().is_some() && known.look().is_some());
    }
}
