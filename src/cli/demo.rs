//! Where the demo lies: in the folder that the person is in, or with an installed program.

use crate::job::JOB_FILE;
use std::path::{Path, PathBuf};

/// The demo's folder, as it is named where nothing else is.
pub const DEMO: &str = "demo-data";

/// Where an installed program's files lie, from the folder that holds the one of the program.
const SHARED: &str = "share/ghostchalk";

/// `named`, or the installed demo if that is what is named and it is not in this folder.
pub fn found(named: &Path) -> PathBuf {
    let program = std::env::current_exe().ok();
    // A link to the program is not where the rest of it lies.
    let program = program.and_then(|p| std::fs::canonicalize(p).ok());
    found_by(named, Path::new(""), program.as_deref())
}

/// As [`found`], for one who is in the folder `here`.
fn found_by(named: &Path, here: &Path, program: Option<&Path>) -> PathBuf {
    if named != Path::new(DEMO) || here.join(named).exists() {
        return named.to_owned();
    }
    let installed = || {
        let demo = program?.parent()?.parent()?.join(SHARED).join(DEMO);
        demo.join(JOB_FILE).is_file().then_some(demo)
    };
    installed().unwrap_or_else(|| named.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_installed_demo_stands_in_for_one_that_is_not_here() {
        let dir = tempfile::tempdir().unwrap();
        let (here, demo) = (dir.path(), Path::new(DEMO));
        let program = dir.path().join("bin/ghostchalk");
        let found = |named| found_by(named, here, Some(&program));
        assert_eq!(found(demo), demo);
        let installed = dir.path().join(SHARED).join(DEMO);
        std::fs::create_dir_all(&installed).unwrap();
        assert_eq!(found(demo), demo);
        std::fs::write(installed.join(JOB_FILE), "").unwrap();
        assert_eq!(found(demo), installed);
        assert_eq!(found_by(demo, here, None), demo);
        // Another job is never taken for it, nor is one that is here.
        assert_eq!(found(Path::new("coat")), Path::new("coat"));
        std::fs::create_dir(here.join(DEMO)).unwrap();
        assert_eq!(found(demo), demo);
    }
}
