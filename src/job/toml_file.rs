//! TOML files that carry a version: read so that a wrong key is named.

use crate::disk;
use crate::fault::{Fault, Outcome};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::ops::RangeInclusive;
use std::path::Path;

/// The largest file of ours that is read, bytes. A job of a thousand pieces
/// is a few hundred kilobytes.
const LARGEST: u64 = 16 << 20;

/// Reads a file whose key `stamp` must hold `version`.
///
/// # Errors
/// If it is missing, not text, not TOML, of another kind or version, or has a
/// key that is not known: named with its line.
pub fn read_versioned<T: DeserializeOwned>(
    path: &Path,
    doing: &str,
    stamp: &str,
    version: u32,
) -> Outcome<T> {
    parse(&read_text(path, doing)?, stamp, version).map_err(|f| f.in_file(path))
}

/// A file of ours as text.
///
/// # Errors
/// If it is missing, too large, or not text.
pub fn read_text(path: &Path, doing: &str) -> Outcome<String> {
    let bytes = disk::read(path, doing, LARGEST)?;
    String::from_utf8(bytes)
        .map_err(|_| Fault::file(doing, path, &std::io::ErrorKind::InvalidData.into()))
}

/// The value in a text whose key `stamp` must hold `version`; errors as
/// [`read_versioned`].
pub fn parse<T: DeserializeOwned>(text: &str, stamp: &str, version: u32) -> Outcome<T> {
    parse_among(text, stamp, version..=version)
}

/// The value in a text whose key `stamp` must hold one of `versions`; errors as
/// [`read_versioned`].
pub(super) fn parse_among<T: DeserializeOwned>(
    text: &str,
    stamp: &str,
    versions: RangeInclusive<u32>,
) -> Outcome<T> {
    if is_empty(text) {
        return Err(nothing_in("make the file anew"));
    }
    let table: toml::Table = toml::from_str(text).map_err(|e| fault(text, &e))?;
    let (oldest, newest) = (*versions.start(), *versions.end());
    match table.get(stamp).and_then(toml::Value::as_integer) {
        None => {
            return Err(Fault::input(
                format!("there is no {stamp} in it, so this is another kind of file"),
                format!("name the right file, or give it the line {stamp} = {newest}"),
            ));
        }
        Some(v) if !(i64::from(oldest)..=i64::from(newest)).contains(&v) => {
            let known = match oldest == newest {
                true => format!("version {newest}"),
                false => format!("versions {oldest} to {newest}"),
            };
            return Err(Fault::input(
                format!("it is of version {v}, and this program knows {known}"),
                "use the program that wrote it, or a newer one",
            ));
        }
        Some(_) => {}
    }
    toml::from_str(text).map_err(|e| fault(text, &e))
}

/// Whether nothing at all stands in a text: as where a disk was full, or the power was cut, while
/// another program wrote it. Some disks then leave bytes of nought.
pub(super) fn is_empty(text: &str) -> bool {
    text.chars().all(|c| c.is_whitespace() || c == '\0')
}

/// What is told of a file in which nothing stands; `anew` is how it is made again.
pub(super) fn nothing_in(anew: &str) -> Fault {
    Fault::input(
        "the file is empty",
        format!("put a copy of it back, or {anew}"),
    )
}

fn fault(text: &str, e: &toml::de::Error) -> Fault {
    Fault::in_text(e.message(), text, e.span().map(|s| s.start))
}

/// A value of ours as TOML.
pub fn toml_text<T: Serialize>(value: &T) -> Outcome<String> {
    toml::to_string_pretty(value)
        .map_err(|e| Fault::mistake(format!("it can't be written as TOML: {e}")))
}

/// Writes a file of ours, whole or not at all.
pub fn write_toml<T: Serialize>(path: &Path, value: &T) -> Outcome<()> {
    let text = toml_text(value).map_err(|f| f.in_file(path))?;
    disk::write_atomic(path, text.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde::Deserialize;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    struct Small {
        stamp: u32,
        name: String,
    }

    fn said(text: &str) -> String {
        parse::<Small>(text, "stamp", 1).unwrap_err().to_string()
    }

    #[test]
    fn an_unknown_key_is_named_with_its_line() {
        let text = said("stamp = 1\nname = \"a\"\nnmae = \"b\"\n");
        assert!(text.contains("line 3") && text.contains("nmae"), "{text}");
    }

    #[test]
    fn versions_and_kinds_are_told_apart() {
        assert!(said("name = \"a\"").contains("no stamp"));
        let other = said("stamp = 2\nother = 3");
        assert!(other.contains("version 2") && other.contains("knows version 1"));
        let text = "stamp = 3\nname = \"a\"";
        let among = |versions| parse_among::<Small>(text, "stamp", versions);
        let other = among(1..=2).unwrap_err().to_string();
        assert!(other.contains("version 3") && other.contains("knows versions 1 to 2"));
        assert!(among(1..=3).is_ok() && among(4..=5).is_err());
        assert!(said("stamp = ").contains("line 1"));
        for empty in ["", " \n", "\0\0\0"] {
            assert_eq!(
                said(empty),
                "the file is empty; put a copy of it back, or make the file anew."
            );
        }
    }
}
