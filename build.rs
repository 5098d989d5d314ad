//! Stamps the program with the commit that it was built from, for `--version`.
//!
//! In this order: what `GHOSTCHALK_COMMIT` says when it is built; in a crate's archive, what cargo
//! noted there; what git says of this folder. Where none of them tells, the commit is unknown.
//!
//! Only a release asks git. Whenever this script runs again the whole crate is built again, and in
//! daily work that would be after every commit; a debug build says that it is one.

use std::path::{Path, PathBuf};
use std::process::Command;

/// What the program is made of. A `+` after the commit says that some of it differs from there.
const MADE_OF: [&str; 5] = ["src", "shaders", "build.rs", "Cargo.toml", "Cargo.lock"];

/// What cargo writes into a crate's archive.
const ARCHIVED: &str = ".cargo_vcs_info.json";

fn main() {
    let var = |name: &str| std::env::var(name).unwrap_or_default();
    let here = PathBuf::from(var("CARGO_MANIFEST_DIR"));
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-env-changed=GHOSTCHALK_COMMIT");
    let release = var("PROFILE") == "release";
    if release {
        for file in watched(&here) {
            println!("cargo:rerun-if-changed={}", file.display());
        }
    }
    let stamp = match var("GHOSTCHALK_COMMIT").trim() {
        "" if release => stamp(&here),
        "" => "debug build".to_owned(),
        told => format!("commit {told}"),
    };
    println!("cargo:rustc-env=GHOSTCHALK_STAMP={stamp}");
    println!("cargo:rustc-env=GHOSTCHALK_TARGET={}", var("TARGET"));
}

/// `commit 1a2b3c4`, with a `+` if what is built differs from it, or `unknown commit`.
pub(crate) fn stamp(here: &Path) -> String {
    let found = archived(here).or_else(|| of_git(here));
    found.map_or_else(|| "unknown commit".to_owned(), |c| format!("commit {c}"))
}

/// The commit that a crate's archive was packed from.
fn archived(here: &Path) -> Option<String> {
    let text = std::fs::read_to_string(here.join(ARCHIVED)).ok()?;
    let (_, after) = text.split_once("\"sha1\"")?;
    let sha1 = after.split('"').nth(1)?;
    let short: String = sha1.chars().take(7).collect();
    let is_one = short.len() == 7 && short.chars().all(|c| c.is_ascii_hexdigit());
    let differs = if text.contains("\"dirty\": true") {
        "+"
    } else {
        ""
    };
    is_one.then(|| format!("{short}{differs}"))
}

fn of_git(here: &Path) -> Option<String> {
    // A copy of the sources inside another repository is not of that one's commit.
    if !here.join(".git").exists() {
        return None;
    }
    let short = git(here, &["rev-parse", "--short", "HEAD"])?;
    let status = ["status", "--porcelain", "--"];
    let differs = git(here, &[&status[..], &MADE_OF[..]].concat())?;
    Some(if differs.is_empty() {
        short
    } else {
        format!("{short}+")
    })
}

/// What must be looked at again before the stamp can be another. Files that are not there are left
/// out: cargo takes a missing one for a changed one, each time.
pub(crate) fn watched(here: &Path) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = MADE_OF.map(|name| here.join(name)).into();
    files.push(here.join(ARCHIVED));
    if here.join(".git").exists() {
        let branch = git(here, &["symbolic-ref", "-q", "HEAD"]);
        // A branch that is packed has no file; the log of where HEAD was still tells.
        let names = ["HEAD", "logs/HEAD", "packed-refs"].map(str::to_owned);
        for name in names.into_iter().chain(branch) {
            let path = git(here, &["rev-parse", "--git-path", &name]);
            files.extend(path.map(|p| here.join(p)));
        }
    }
    files.retain(|f| f.exists());
    files
}

/// What git says, or `None` where there is none or it refuses. It takes no lock and writes nothing.
fn git(here: &Path, words: &[&str]) -> Option<String> {
    let out = Command::new("git")
        .arg("--no-optional-locks")
        .args(words)
        .current_dir(here)
        .output()
        .ok()?;
    let text = String::from_utf8(out.stdout).ok()?;
    out.status.success().then(|| text.trim().to_owned())
}
