//! `light`: the live table.

use super::{demo, output};
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::{JOB_FILE, Job, copy_shade};
use crate::session::{Options, run as live};
use clap::Args;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk light slippers --output HDMI-1\n  ghostchalk light --rehearse\n\nOpens the projector's window \
    and the laptop's. Without a second output both are on the one screen; with \
    --rehearse it shows a simulated table under the light, so that all can be tried on a sofa."
)]
pub struct Words {
    /// The job folder, or its job.toml; left out, a copy of the demo to play with
    job: Option<PathBuf>,
    /// Show a simulated table under the light
    #[arg(long)]
    rehearse: bool,
    /// Another table's profile than the one the job names
    #[arg(long, value_name = "FILE")]
    profile: Option<PathBuf>,
    /// The output that the projector is on, as the desktop names it
    #[arg(long, value_name = "NAME", conflicts_with = "rehearse")]
    output: Option<String>,
}

/// The copy of the demo that may be worked on.
const COPY: &str = "rehearsal/slippers";

/// The largest file of it, bytes.
const LARGEST: u64 = 64 << 20;

pub fn run(words: Words) -> Outcome<()> {
    let job = match words.job {
        Some(job) => job,
        None => demo_copy(&demo::found(Path::new(demo::DEMO)), Path::new(COPY))?,
    };
    live(Options {
        job,
        rehearse: words.rehearse,
        profile: words.profile,
        output: words.output,
    })
}

/// A copy of the demo job, made once: the demo itself stays as it is.
fn demo_copy(demo: &Path, copy: &Path) -> Outcome<PathBuf> {
    if copy.join(JOB_FILE).is_file() {
        return Ok(copy.to_owned());
    }
    if !demo.join(JOB_FILE).is_file() {
        return Err(Fault::input(
            format!(
                "no job is named, and there is no demo in this folder ({}), nor one that was installed",
                demo.display()
            ),
            "name a job, or go to the folder that Ghostchalk was built in",
        ));
    }
    let job = Job::open(demo)?;
    let patterns = job.file.patterns.iter();
    let patterns = patterns.flat_map(|p| std::iter::once(&p.file).chain(&p.seams));
    let photos = job.file.panels.iter().filter_map(|p| p.photo.as_ref());
    let others = patterns.chain(photos.map(|p| &p.file));
    let looks = job.file.panels.iter().filter_map(|p| p.looks.as_ref());
    let shades: Vec<&String> = looks.filter_map(|l| l.shade.as_ref()).collect();
    std::fs::create_dir_all(copy).map_err(|e| Fault::file("making the folder", copy, &e))?;
    for shade in shades {
        copy_shade(&demo.join(shade), copy)?;
    }
    // The job file last: with it the copy is whole.
    for name in others.map(String::as_str).chain([JOB_FILE]) {
        let (from, to) = (demo.join(name), copy.join(name));
        let bytes = disk::read(&from, "copying the demo", LARGEST)?;
        disk::write_atomic(&to, &bytes)?;
    }
    output::tell(&format!(
        "working on a copy of the demo in {}",
        copy.display()
    ));
    Ok(copy.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::read_shade;

    #[test]
    fn the_demo_is_copied_whole_and_once() {
        let folder = tempfile::tempdir().unwrap();
        let copy = folder.path().join("a/slippers");
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join(demo::DEMO);
        assert_eq!(demo_copy(&demo, &copy), Ok(copy.clone()));
        let made = Job::open(&copy).unwrap();
        assert_eq!(made.file, Job::open(&demo).unwrap().file);
        for panel in &made.file.panels {
            assert!(copy.join(&panel.photo.as_ref().unwrap().file).is_file());
            let looks = panel.looks.as_ref().unwrap();
            read_shade::<crate::space::Cloth>(&copy.join(looks.shade.as_ref().unwrap())).unwrap();
        }
        let none = demo_copy(Path::new("no demo"), Path::new("nor copy")).unwrap_err();
        assert!(none.what.contains("no job is named"), "{none}");
        // What was done on it stays.
        std::fs::write(copy.join(JOB_FILE), "worked on").unwrap();
        assert_eq!(demo_copy(&demo, &copy), Ok(copy.clone()));
        let kept = std::fs::read_to_string(copy.join(JOB_FILE)).unwrap();
        assert_eq!(kept, "worked on");
    }
}
