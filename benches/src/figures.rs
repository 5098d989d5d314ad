//! Makes every table of `figures.md`, or runs one bench by itself; see the README.

#![forbid(unsafe_code)]

mod accuracy;
mod card;
mod cloths;
mod cold;
mod draws;
mod drivers;
mod fits;
mod frames;
mod grown;
mod growth;
mod live;
mod machine;
mod memory;
mod nest;
#[cfg(feature = "vello")]
mod on_card;
mod ours;
mod own;
mod page;
mod patterns;
mod peers;
mod photo;
mod place;
mod plan;
mod report;
mod scenes;
mod shades;
mod short;
mod table;
mod tags;
mod timing;

use clap::{Parser, Subcommand};
use ghostchalk::fault::{Fault, Outcome};
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

#[derive(Debug, Parser)]
#[command(
    name = "figures",
    about = "Makes the tables of benches/figures.md.",
    args_conflicts_with_subcommands = true
)]
struct Words {
    #[command(subcommand)]
    one: Option<One>,
    #[command(flatten)]
    all: plan::All,
}

#[derive(Debug, Subcommand)]
enum One {
    /// Runs one bench, to the terminal
    One {
        /// accuracy, frames, vello, cold, memory, growth, fits, patterns, shades, place, nest,
        /// photo, cloths, tags or card
        bench: String,
        /// What it is told; see the top of its source
        #[arg(trailing_var_arg = true, allow_hyphen_values = true)]
        words: Vec<String>,
    },
}

fn main() -> ExitCode {
    let words = Words::parse();
    let done = match words.one {
        Some(One::One { bench, words }) => one(&bench, &words).map(|()| true),
        None => plan::run(&words.all),
    };
    match done {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(fault) => {
            eprintln!("{fault}");
            ExitCode::FAILURE
        }
    }
}

fn one(bench: &str, words: &[String]) -> Outcome<()> {
    match bench {
        "accuracy" => accuracy::run(words)?,
        "frames" => frames::run(words)?,
        "vello" => vello(words)?,
        "cold" => cold::run(words)?,
        "memory" => memory::run(words)?,
        "growth" => grown::run(words)?,
        "fits" => fits::run(),
        "patterns" => patterns::run(),
        "shades" => shades::run(words),
        "place" => place::run(words),
        "nest" => nest::run(words),
        "photo" => photo::run(words),
        "cloths" => cloths::run(words),
        "tags" => tags::run(words),
        "card" => card::run(words)?,
        _ => {
            return Err(Fault::input(
                format!("no bench is called \"{bench}\""),
                "`figures one --help` names them",
            ));
        }
    }
    Ok(())
}

#[cfg(feature = "vello")]
fn vello(words: &[String]) -> Outcome<()> {
    on_card::run(words)
}

#[cfg(not(feature = "vello"))]
fn vello(_: &[String]) -> Outcome<()> {
    println!("The peer that draws on the card (vello 0.11) was not built here.");
    Ok(())
}

/// Whether a word is among those that a bench is told.
fn said(words: &[String], word: &str) -> bool {
    words.iter().any(|w| w == word)
}

/// An empty folder, gone with what is returned.
///
/// # Errors
/// If the machine's disk fails.
fn scratch() -> Outcome<tempfile::TempDir> {
    tempfile::tempdir().map_err(|e| Fault::file("making a folder", &std::env::temp_dir(), &e))
}

/// A path from the repository's root: from here, if this is its root, else where this was built.
fn at_root(path: &str) -> PathBuf {
    let here = PathBuf::from(path);
    match here.exists() {
        true => here,
        false => Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/..")).join(path),
    }
}

/// The demo job.
fn demo_folder() -> PathBuf {
    at_root("demo-data")
}

/// Runs one bench in a process of its own, and returns what it says.
///
/// # Errors
/// If it fails.
fn child(words: &[&str]) -> Outcome<String> {
    let failed = |why: String| {
        Fault::ours(
            format!("`one {}` failed: {why}", words.join(" ")),
            "see above",
        )
    };
    let program = std::env::current_exe().map_err(|e| failed(e.to_string()))?;
    let done = Command::new(program)
        .arg("one")
        .args(words)
        .env(table::ASKS, "1")
        .stdin(Stdio::null())
        .stderr(Stdio::inherit())
        .output()
        .map_err(|e| failed(e.to_string()))?;
    if !done.status.success() {
        return Err(failed(done.status.to_string()));
    }
    Ok(String::from_utf8_lossy(&done.stdout).into_owned())
}
