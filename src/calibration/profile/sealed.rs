//! A profile's checksum: a CRC-32C in its file, so that one changed digit does not send the light
//! elsewhere unnoticed.
//!
//! It is over what the profile says, not over how that is written: comments, layout, the order of
//! the keys and the spelling of numbers are the person's own. What is said is spelled out a line a
//! value, by [`spell`]: its keys on the way there, each after a dot and sorted by their bytes
//! (entries of a list by their number from 0), then `=` and the value. The key `checksum` is not
//! in it, and the version is as the file has it.

use super::{PROFILE_VERSION, Profile};
use crate::disk::crc32c;
use crate::fault::{Fault, Outcome};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use toml::{Spanned, Table, Value};

/// The version that had no checksum yet.
const WITHOUT: u32 = 1;

/// A profile as a file has it, not yet held against its checksum.
#[derive(Debug)]
pub struct AsWritten(Profile);

impl<'de> Deserialize<'de> for AsWritten {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        // Not the one below, but what is derived.
        Profile::deserialize(from).map(Self)
    }
}

impl AsWritten {
    /// The profile, if it is as it was written.
    ///
    /// # Errors
    /// If its checksum is of something else; or if it has none, though its version has.
    pub fn checked(self) -> Outcome<Profile> {
        let Self(mut profile) = self;
        let stated = profile.checksum.take();
        if stated.is_some() || profile.ghostchalk_profile != WITHOUT {
            let own = profile.sum()?;
            // Where the line goes is said, too: at the end it would be another table's.
            let wrong = match stated {
                Some(sum) if sum == own => None,
                Some(_) => Some((
                    "it was changed since Ghostchalk wrote it",
                    "change its own to",
                )),
                None => Some((
                    "it has no checksum, so it may not be as it was written",
                    "put under its line ghostchalk_profile",
                )),
            };
            if let Some((what, change)) = wrong {
                let remedy = format!(
                    "set the table anew, or take the profile from a backup; only if you changed \
                     it yourself, {change} checksum = \"{own}\""
                );
                return Err(Fault::input(what, remedy));
            }
        }
        profile.ghostchalk_profile = PROFILE_VERSION;
        Ok(profile)
    }
}

impl<'de> Deserialize<'de> for Profile {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let written = AsWritten::deserialize(from)?;
        let wrong = |fault: Fault| <D::Error as serde::de::Error>::custom(fault.what);
        written.checked().map_err(wrong)
    }
}

impl Serialize for Profile {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut sealed = self.clone();
        sealed.ghostchalk_profile = PROFILE_VERSION;
        let wrong = |fault: Fault| <S::Error as serde::ser::Error>::custom(fault.what);
        sealed.checksum = Some(sealed.sum().map_err(wrong)?);
        // Not this one, but what is derived.
        Self::serialize(&sealed, to)
    }
}

/// A profile as it stands, checksum and all.
struct Plain<'a>(&'a Profile);

impl Serialize for Plain<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        Profile::serialize(self.0, to)
    }
}

/// Where a text has its version and its checksum.
#[derive(Deserialize)]
struct Stated {
    ghostchalk_profile: Spanned<u32>,
    checksum: Option<Spanned<String>>,
}

impl Profile {
    /// `text`, which says this profile but for version and checksum, with the right ones in
    /// their places: a checksum that is not there yet comes under the version's line.
    ///
    /// # Errors
    /// If it is not TOML, or says no version.
    pub fn sealed_anew(&self, mut text: String) -> Outcome<String> {
        let stated: Stated = toml::from_str(&text)
            .map_err(|e| Fault::in_text(e.message(), &text, e.span().map(|s| s.start)))?;
        let mut sealed = self.clone();
        sealed.ghostchalk_profile = PROFILE_VERSION;
        let sum = format!("\"{}\"", sealed.sum()?);
        let version = stated.ghostchalk_profile.span();
        let mut changes = vec![(version.clone(), PROFILE_VERSION.to_string())];
        changes.push(match stated.checksum {
            Some(there) => (there.span(), sum),
            None => {
                if !text.ends_with('\n') {
                    text.push('\n');
                }
                let rest = text.get(version.end..).and_then(|rest| rest.find('\n'));
                let under = rest.map_or(text.len(), |end| version.end + end + 1);
                (under..under, format!("checksum = {sum}\n"))
            }
        });
        // From the end, so that no change moves the place of another.
        changes.sort_by_key(|(at, _)| std::cmp::Reverse(at.start));
        for (at, said) in changes {
            text.replace_range(at, &said);
        }
        Ok(text)
    }

    /// The checksum of what it says, eight digits to the base of 16.
    fn sum(&self) -> Outcome<String> {
        let unfit =
            |e: toml::ser::Error| Fault::mistake(format!("the profile can't be written: {e}"));
        let mut table = Table::try_from(Plain(self)).map_err(unfit)?;
        table.remove("checksum");
        let mut said = String::new();
        spell(&Value::Table(table), "", &mut said);
        Ok(format!("{:08x}", crc32c(said.as_bytes())))
    }
}

/// Adds what a value says to `out`, and where it stands. Nothing hangs on how a library writes
/// numbers or texts: of those that may have a fraction the 64 bits are written, of a text its
/// length in bytes and then itself, of a list its length before its entries.
fn spell(value: &Value, at: &str, out: &mut String) {
    let said = match value {
        Value::Table(table) => {
            let mut all: Vec<(&String, &Value)> = table.iter().collect();
            all.sort_unstable_by(|a, b| a.0.cmp(b.0));
            for (key, value) in all {
                spell(value, &format!("{at}.{key}"), out);
            }
            return;
        }
        Value::Array(list) => format!("[{}]", list.len()),
        Value::Float(x) if x.is_nan() => "nan".to_owned(),
        Value::Float(x) => format!("{:016x}", x.to_bits()),
        Value::Integer(n) => n.to_string(),
        Value::Boolean(yes) => yes.to_string(),
        Value::String(text) => format!("{} {text}", text.len()),
        Value::Datetime(time) => time.to_string(),
    };
    out.push_str(&format!("{at}={said}\n"));
    if let Value::Array(list) = value {
        for (k, value) in list.iter().enumerate() {
            spell(value, &format!("{at}.{k}"), out);
        }
    }
}
