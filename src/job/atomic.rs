//! Writing a file so that it is there whole, or not at all.

use crate::fault::{Fault, Outcome};
use std::io::Write;
use std::path::Path;

/// Writes `bytes` to `path`: into a temporary file beside it, flushed to disk,
/// then renamed over it, then the folder flushed too. After any failure the
/// old file is as it was.
pub fn write_atomic(path: &Path, bytes: &[u8]) -> Outcome<()> {
    let fault = |e: std::io::Error| Fault::file("writing", path, &e);
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    if path.is_dir() {
        return Err(fault(std::io::ErrorKind::IsADirectory.into()));
    }
    let mut builder = tempfile::Builder::new();
    // A temporary file is private by default; what replaces a file, or stands
    // for a new one, should be as readable as any other.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder).map_err(fault)?;
    file.write_all(bytes).map_err(fault)?;
    file.as_file().sync_all().map_err(fault)?;
    file.persist(path).map_err(|e| fault(e.error))?;
    #[cfg(unix)]
    std::fs::File::open(folder)
        .and_then(|d| d.sync_all())
        .map_err(fault)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failed_write_leaves_the_old_file() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.toml");
        write_atomic(&path, b"old").unwrap();
        assert!(write_atomic(&dir.path().join("no/such/a.toml"), b"x").is_err());
        assert!(write_atomic(dir.path(), b"x").is_err());
        assert_eq!(std::fs::read(&path).unwrap(), b"old");
        write_atomic(&path, b"new").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"new");
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1);
    }
}
