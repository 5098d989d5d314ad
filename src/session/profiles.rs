//! Where profiles are kept: in the job's folder, each under a name of its own,
//! so that an earlier one is never overwritten.

use crate::calibration::Profile;
use crate::fault::{Fault, Outcome};
use crate::job::write_toml;
use std::path::Path;
use time::OffsetDateTime;

/// Profiles of one day at most.
const MOST: u32 = 1000;

/// Today's date, `2031-05-17` (UTC).
pub fn today() -> String {
    OffsetDateTime::now_utc().date().to_string()
}

/// Writes a profile into a folder; returns the name it was given.
///
/// # Errors
/// If the folder can't be written to.
pub fn keep(folder: &Path, profile: &Profile) -> Outcome<String> {
    let date = today();
    let names = (1..=MOST).map(|k| match k {
        1 => format!("table-{date}.toml"),
        k => format!("table-{date}-{k}.toml"),
    });
    let mut free = names.into_iter().filter(|n| !folder.join(n).exists());
    let name = free.next().ok_or_else(|| {
        Fault::input(
            format!(
                "there are {MOST} profiles of {date} in {}",
                folder.display()
            ),
            "take some of them away",
        )
    })?;
    write_toml(&folder.join(&name), profile)?;
    Ok(name)
}
