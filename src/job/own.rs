//! The files that a job is made of: nothing else is ever to be written over one.

use super::lock::LOCK_FILE;
use super::memory::JOURNAL;
use super::shade::picture_of;
use super::{Job, file_of};
use crate::disk;
use std::path::{Path, PathBuf};

impl Job {
    /// What `path` is of this job, in words, if it is one of its files: whatever way leads there,
    /// and for the journal and the lock also where there is none yet. `at` is the path by which the
    /// job was opened.
    pub fn owns(&self, at: &Path, path: &Path) -> Option<&'static str> {
        let path = disk::real(path);
        let own = self.files(at);
        let found = own.into_iter().find(|(file, _)| disk::real(file) == path);
        found.map(|(_, what)| what).or_else(|| self.keeps(&path))
    }

    fn files(&self, at: &Path) -> Vec<(PathBuf, &'static str)> {
        let file = &self.file;
        let mut all = vec![
            (file_of(at), "the job itself"),
            (self.folder.join(JOURNAL), "the job's journal"),
            (
                self.folder.join(LOCK_FILE),
                "what shows that the job is in use",
            ),
        ];
        let mut add = |name: &str, what| all.push((self.folder.join(name), what));
        for pattern in &file.patterns {
            add(&pattern.file, "a pattern of the job");
            if let Some(seams) = &pattern.seams {
                add(seams, "what is sewn to what in the job");
            }
        }
        for make in &file.makes {
            if let Some(draft) = &make.draft {
                add(draft, "a pattern of the job");
            }
        }
        if let Some(profile) = &file.profile {
            add(profile, "the profile of the job's table");
        }
        for panel in &file.panels {
            if let Some(photo) = &panel.photo {
                add(&photo.file, "a photo of the job's cloth");
            }
        }
        let looks = file.panels.iter().filter_map(|p| p.looks.as_ref());
        for about in looks.filter_map(|l| l.shade.as_ref()) {
            let about = self.folder.join(about);
            all.push((picture_of(&about), SHADE));
            all.push((about, SHADE));
        }
        all
    }

    /// The same of what the job keeps for going back: journals that were put aside, and maps of
    /// shade that only the journal names. They are told by their names.
    fn keeps(&self, path: &Path) -> Option<&'static str> {
        let folder = disk::real(&self.folder.join("."));
        if path.parent() != Some(folder.as_path()) || !path.exists() {
            return None;
        }
        let name = path.file_name()?.to_str()?;
        let (front, end) = name.rsplit_once('.')?;
        let counts = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
        if front == JOURNAL && !end.is_empty() && counts(end) {
            return Some("an earlier journal of the job");
        }
        let (_, number) = front.rsplit_once(".shade")?;
        let is_map = ["toml", "png"].contains(&end) && counts(number.trim_start_matches('-'));
        is_map.then_some(SHADE)
    }
}

const SHADE: &str = "the shade of the job's cloth";

#[cfg(test)]
mod tests {
    use super::*;

    /// A copy of the demo's files.
    fn demo() -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for entry in std::fs::read_dir("demo-data").unwrap() {
            let from = entry.unwrap().path();
            if from.is_file() {
                std::fs::copy(&from, folder.path().join(from.file_name().unwrap())).unwrap();
            }
        }
        folder
    }

    #[test]
    fn what_a_job_is_made_of_is_its_own_and_nothing_else() {
        let folder = demo();
        let at = folder.path();
        let job = Job::open(at).unwrap();
        for kept in ["journal.1", "sling.shade-1.toml", "sling.shade-1.png"] {
            std::fs::write(at.join(kept), "").unwrap();
        }
        for (name, what) in [
            ("job.toml", "the job itself"),
            ("journal", "the job's journal"),
            ("journal.1", "an earlier journal of the job"),
            (".in-use", "what shows that the job is in use"),
            ("slippers.svg", "a pattern of the job"),
            ("slippers.seams.toml", "what is sewn to what in the job"),
            ("canvas.png", "a photo of the job's cloth"),
            ("sling.shade.toml", SHADE),
            ("sling.shade.png", SHADE),
            ("sling.shade-1.toml", SHADE),
            ("sling.shade-1.png", SHADE),
        ] {
            assert_eq!(job.owns(at, &at.join(name)), Some(what), "{name}");
        }
        for name in [
            "frame.png",
            "journal.pdf",
            "journal.2",
            "shade.svg",
            "no/such/job.toml",
            "../job.toml",
        ] {
            assert_eq!(job.owns(at, &at.join(name)), None, "{name}");
        }
    }

    #[test]
    fn a_job_file_of_another_name_is_the_job_too() {
        let folder = demo();
        let at = folder.path().join("evening.toml");
        std::fs::rename(folder.path().join("job.toml"), &at).unwrap();
        let job = Job::open(&at).unwrap();
        assert_eq!(job.owns(&at, &at), Some("the job itself"));
    }

    #[cfg(unix)]
    #[test]
    fn by_way_of_a_link_it_is_the_same_file() {
        let folder = demo();
        let at = folder.path();
        let job = Job::open(at).unwrap();
        let aside = tempfile::tempdir().unwrap();
        let (file, way) = (aside.path().join("x.png"), aside.path().join("way"));
        std::os::unix::fs::symlink(at.join("canvas.png"), &file).unwrap();
        std::os::unix::fs::symlink(at, &way).unwrap();
        assert!(job.owns(at, &file).is_some());
        assert!(job.owns(at, &way.join("journal")).is_some());
        assert!(job.owns(&way, &at.join("job.toml")).is_some());
        assert_eq!(job.owns(at, &way.join("new.png")), None);
    }
}
