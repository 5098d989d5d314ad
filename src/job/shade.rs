//! A cloth's map of shade on disk: a picture, and beside it under the same name the lines that
//! tell of it, by which it is known.

use crate::cloth::shade::{ShadeMap, Written};
use crate::disk;
use crate::fault::{Fault, Outcome};
use std::path::{Path, PathBuf};

/// The largest picture of shade that is read, bytes: 4 m² in cells of 1 mm.
const LARGEST: u64 = 64 << 20;

/// The most lines about it, bytes.
const ABOUT: u64 = 64 << 10;

const DOING: &str = "reading the map of shade";

/// Writes a panel's map into a job's folder, over no other file; gives the name that the job
/// knows it by.
///
/// # Errors
/// As [`disk::write_atomic`].
pub fn write_shade<S>(folder: &Path, panel: &str, map: &ShadeMap<S>) -> Outcome<String> {
    write(folder, panel, &map.write()?)
}

fn write(folder: &Path, name: &str, written: &Written) -> Outcome<String> {
    let plain: String = name
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { '-' })
        .collect();
    // Both names are free, or neither is taken.
    let free = (0..10_000).map(|k| match k {
        0 => format!("{plain}.shade"),
        k => format!("{plain}.shade-{k}"),
    });
    let mut free = free.filter(|stem| {
        let there = |end: &str| folder.join(format!("{stem}.{end}")).exists();
        !there("toml") && !there("png")
    });
    let Some(stem) = free.next() else {
        return Err(Fault::input(
            format!("there are ten thousand maps of {name} already"),
            "take the old ones away",
        )
        .in_file(folder));
    };
    // The lines last: they are what names the map.
    disk::write_atomic(&folder.join(format!("{stem}.png")), &written.picture)?;
    let file = format!("{stem}.toml");
    disk::write_atomic(&folder.join(&file), written.about.as_bytes())?;
    Ok(file)
}

fn read(about: &Path) -> Outcome<Written> {
    let lines = disk::read(about, DOING, ABOUT)?;
    let lines = String::from_utf8(lines)
        .map_err(|_| Fault::file(DOING, about, &std::io::ErrorKind::InvalidData.into()))?;
    Ok(Written {
        picture: disk::read(&picture_of(about), DOING, LARGEST)?,
        about: lines,
    })
}

pub(super) fn picture_of(about: &Path) -> PathBuf {
    // The ending alone: names have dots of their own, and folders may be no text.
    match about.extension() {
        Some(end) if end == "toml" => about.with_extension("png"),
        _ => {
            let mut name = about.as_os_str().to_owned();
            name.push(".png");
            PathBuf::from(name)
        }
    }
}

/// Reads a map by its file's path.
///
/// # Errors
/// If either file is missing, too large, damaged, or they do not belong together.
pub fn read_shade<S>(about: &Path) -> Outcome<ShadeMap<S>> {
    let written = read(about)?;
    ShadeMap::read(&written.picture, &written.about).map_err(|f| f.in_file(about))
}

/// Copies a map into another folder, over no other file; gives its name there.
///
/// # Errors
/// As [`read_shade`] and [`write_shade`].
pub fn copy_shade(about: &Path, to: &Path) -> Outcome<String> {
    let written = read(about)?;
    let name = about.file_name().map(|n| n.to_string_lossy().into_owned());
    let name = name.unwrap_or_default();
    let stem = name.split(".shade").next().unwrap_or_default();
    write(to, stem, &written)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cloth::shade::{Doubt, Ground};
    use crate::raster::Raster;
    use crate::space::{Bounds, Cloth, Point};

    fn map() -> ShadeMap<Cloth> {
        let bounds = Bounds::new(Point::zero(), Point::new(40.0, 30.0));
        let light = Raster::over(bounds, 1.0, |c, r, _| {
            [0.2 + 0.01 * c as f32, 0.3, 0.1 + 0.01 * r as f32]
        });
        ShadeMap::measure(&light, [0.9; 3], 2.0, Doubt::NONE, |_, _| Ground::Cloth).unwrap()
    }

    #[test]
    fn a_map_comes_back_and_is_written_over_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let first = write_shade(folder.path(), "big sling", &map()).unwrap();
        let second = write_shade(folder.path(), "big sling", &map()).unwrap();
        assert_eq!(
            [first.as_str(), second.as_str()],
            ["big-sling.shade.toml", "big-sling.shade-1.toml"]
        );
        let there: ShadeMap<Cloth> = read_shade(&folder.path().join(&second)).unwrap();
        let p = Point::new(13.0, 7.0);
        assert_eq!(there.colour(p), map().colour(p));
        let other = tempfile::tempdir().unwrap();
        let copied = copy_shade(&folder.path().join(&second), other.path()).unwrap();
        assert_eq!(copied, "big-sling.shade.toml");
        assert!(read_shade::<Cloth>(&other.path().join(copied)).is_ok());
        // Half of it is none.
        std::fs::remove_file(folder.path().join("big-sling.shade.png")).unwrap();
        assert!(read_shade::<Cloth>(&folder.path().join(&first)).is_err());
    }
}
