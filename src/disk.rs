//! Files in and out: read only so far, written whole or not at all.

mod checksum;
mod leftover;
mod turn;

pub use checksum::{crc32c, crc32c_of};
pub use leftover::take_away_leftovers;
pub use turn::{Turn, turn};

use crate::fault::{Fault, Outcome};
use image::{ExtendedColorType, ImageEncoder};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// `64 MB`, `3 kB`: a limit as it is told.
fn size(bytes: u64) -> String {
    match bytes {
        b if b >= 1 << 20 => format!("{} MB", b >> 20),
        b if b >= 1 << 10 => format!("{} kB", b >> 10),
        b => format!("{b} bytes"),
    }
}

/// Reads a file of at most `limit` bytes. Devices and pipes are refused, for
/// they may never end.
///
/// # Errors
/// If it is not there, not a file, can't be read, or is too large.
pub fn read(path: &Path, doing: &str, limit: u64) -> Outcome<Vec<u8>> {
    let fail = |e: std::io::Error| Fault::file(doing, path, &e);
    let about = std::fs::metadata(path).map_err(fail)?;
    if about.is_dir() {
        return Err(fail(std::io::ErrorKind::IsADirectory.into()));
    }
    if !about.is_file() {
        return Err(
            Fault::input(format!("{doing} failed: this is not a file"), "name a file")
                .in_file(path),
        );
    }
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(fail)?;
    // A file can grow between the look and the read.
    file.take(limit + 1).read_to_end(&mut bytes).map_err(fail)?;
    if bytes.len() as u64 > limit {
        return Err(Fault::input(
            format!("{doing} failed: it is larger than {}", size(limit)),
            "check that it is the right file",
        )
        .in_file(path));
    }
    Ok(bytes)
}

/// The first bytes of what is there, or `None` if nothing is.
///
/// # Errors
/// If something is there that is not a file, or can't be read.
pub fn beginning(path: &Path, length: u64) -> Outcome<Option<Vec<u8>>> {
    let fail = |e: std::io::Error| Fault::file("writing", path, &e);
    let about = match std::fs::metadata(path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        other => other.map_err(fail)?,
    };
    if about.is_dir() {
        return Err(fail(std::io::ErrorKind::IsADirectory.into()));
    }
    if !about.is_file() {
        return Err(
            Fault::input("writing failed: this is not a file", "name a file").in_file(path),
        );
    }
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(fail)?;
    file.take(length).read_to_end(&mut bytes).map_err(fail)?;
    Ok(Some(bytes))
}

/// Makes a folder, and all on the way to it.
pub fn make_folder(path: &Path) -> Outcome<()> {
    if path.is_file() {
        return Err(Fault::input(
            "there is a file where the folder should be",
            "give another name",
        )
        .in_file(path));
    }
    std::fs::create_dir_all(path).map_err(|e| Fault::file("making the folder", path, &e))
}

/// Refuses a file that someone has marked read-only. The system alone would not: it lets a
/// file be replaced in a folder that can be written, and asks a superuser nothing.
///
/// # Errors
/// If it is there and so marked.
pub fn refuse_marked(path: &Path) -> Outcome<()> {
    match std::fs::metadata(path) {
        Ok(about) if about.is_file() && about.permissions().readonly() => Err(Fault::input(
            "writing failed: the file is marked read-only",
            "take that mark off, or give another name",
        )
        .in_file(path)),
        _ => Ok(()),
    }
}

/// Writes `bytes` to `path`: into a temporary file beside it, flushed to disk,
/// then renamed over it, then the folder flushed too. After any failure the
/// old file is as it was or, if only the folder could not be flushed, the new
/// one is there whole. A link is followed: the file it names is replaced. One
/// that is marked read-only is not. What earlier stops in mid-writing left in
/// the folder is taken away.
pub fn write_atomic(path: &Path, bytes: &[u8]) -> Outcome<()> {
    let fault = |e: std::io::Error| Fault::file("writing", path, &e);
    if path.is_dir() {
        return Err(fault(std::io::ErrorKind::IsADirectory.into()));
    }
    refuse_marked(path)?;
    let target = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let folder = folder_of(&target);
    if !folder.is_dir() {
        return Err(Fault::input(
            "writing failed: the folder isn't there",
            "make the folder first",
        )
        .in_file(path));
    }
    #[cfg_attr(not(unix), expect(unused_mut))]
    let mut builder = leftover::builder();
    // A temporary file is private by default; what replaces a file, or stands
    // for a new one, should be as readable as any other.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder).map_err(fault)?;
    leftover::hold(file.as_file());
    file.write_all(bytes).map_err(fault)?;
    file.as_file().sync_all().map_err(fault)?;
    leftover::let_go(file.as_file());
    file.persist(&target).map_err(|e| fault(e.error))?;
    sync_folder(folder).map_err(fault)?;
    // Last: the file is what counts.
    take_away_leftovers(folder);
    Ok(())
}

/// The folder that a file is in.
pub fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    }
}

/// Flushes a folder, so that a file made, renamed or taken away in it stays
/// so after a power cut. Only Unix needs it and can do it, and there not on every disk: some of
/// a network flush no folder and say so. No second try would help, so that is no failure.
///
/// # Errors
/// If the disk fails.
pub fn sync_folder(folder: &Path) -> std::io::Result<()> {
    #[cfg(unix)]
    match std::fs::File::open(folder)?.sync_all() {
        Err(e) if flushes_no_folder(&e) => {}
        done => done?,
    }
    let _ = folder;
    Ok(())
}

/// Whether the disk has no such thing as a flush of a folder (`EINVAL`, `ENOTSUP`, `ENOSYS`).
#[cfg(unix)]
fn flushes_no_folder(error: &std::io::Error) -> bool {
    use std::io::ErrorKind::{InvalidInput, Unsupported};
    matches!(error.kind(), InvalidInput | Unsupported)
}

/// Where a path leads, by whatever links; of what isn't there yet, where it would come to be. Two
/// paths of one file are alike so.
pub fn real(path: &Path) -> PathBuf {
    if let Ok(there) = std::fs::canonicalize(path) {
        return there;
    }
    match (std::fs::canonicalize(folder_of(path)), path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path.to_owned(),
    }
}

/// A name beside `path` that nothing has: the first of `path.1`, `path.2` and
/// so on. It stays free only while no one else makes such files.
pub fn free_name(path: &Path) -> Outcome<PathBuf> {
    for n in 1..10_000 {
        let mut name = path.as_os_str().to_owned();
        name.push(format!(".{n}"));
        let free = PathBuf::from(name);
        match std::fs::symlink_metadata(&free) {
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(free),
            Err(e) => return Err(Fault::file("putting a file aside", path, &e)),
            Ok(_) => {}
        }
    }
    Err(Fault::input(
        "there are ten thousand of it already",
        "move the old ones to another folder",
    )
    .in_file(path))
}

/// Gives a file a free name beside it, and returns that. Nothing is written
/// over.
///
/// # Errors
/// If the folder can't be changed.
pub fn put_aside(path: &Path) -> Outcome<PathBuf> {
    let fault = |e: std::io::Error| Fault::file("putting a file aside", path, &e);
    let aside = free_name(path)?;
    std::fs::rename(path, &aside).map_err(fault)?;
    // It has its new name. Should a power cut take that back, the file is under its old one, and
    // can be put aside again: no failure, or nobody would be told where it is now.
    drop(sync_folder(folder_of(path)));
    Ok(aside)
}

/// Pixels, row by row from the top left, as the bytes of a PNG file.
///
/// # Errors
/// If there are not as many pixels as the size says.
pub fn png(pixels: &[u8], width: u32, height: u32, colour: ExtendedColorType) -> Outcome<Vec<u8>> {
    let mut bytes = Vec::new();
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(pixels, width, height, colour)
        .map_err(|e| Fault::mistake(format!("a picture can't be encoded: {e}")))?;
    Ok(bytes)
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

    #[test]
    fn what_is_marked_read_only_is_not_replaced() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.toml");
        write_atomic(&path, b"old").unwrap();
        let mark = |on| {
            let mut mode = std::fs::metadata(&path).unwrap().permissions();
            mode.set_readonly(on);
            std::fs::set_permissions(&path, mode).unwrap();
        };
        mark(true);
        let said = write_atomic(&path, b"new").unwrap_err().to_string();
        assert!(said.contains("marked read-only"), "{said}");
        assert_eq!(std::fs::read(&path).unwrap(), b"old");
        mark(false);
    }

    #[test]
    fn reading_stops_at_the_limit() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a");
        write_atomic(&path, &[7; 100]).unwrap();
        assert_eq!(read(&path, "reading", 100).unwrap().len(), 100);
        assert!(
            read(&path, "reading", 99)
                .unwrap_err()
                .to_string()
                .contains("larger than 99")
        );
        assert_eq!(beginning(&path, 4).unwrap(), Some(vec![7; 4]));
        assert_eq!(beginning(&dir.path().join("b"), 4).unwrap(), None);
    }

    #[test]
    fn what_is_put_aside_never_lands_on_another() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("journal");
        for (k, text) in ["one", "two", "three"].iter().enumerate() {
            write_atomic(&path, text.as_bytes()).unwrap();
            let aside = put_aside(&path).unwrap();
            assert_eq!(aside, dir.path().join(format!("journal.{}", k + 1)));
        }
        assert!(!path.exists() && put_aside(&path).is_err());
        let first = std::fs::read(dir.path().join("journal.1")).unwrap();
        assert_eq!(first, b"one");
    }

    #[cfg(unix)]
    #[test]
    fn devices_are_refused_at_once() {
        let zero = Path::new("/dev/zero");
        assert!(read(zero, "reading", 10).is_err() && beginning(zero, 10).is_err());
    }
}
