//! `rehearse`: the whole job without projector or table.

use super::output;
use crate::fault::Outcome;
use crate::rehearse::rehearse;
use crate::render::Wanted;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk rehearse demo-data --out rehearsal\n\nWrites the \
    projector's frame, the table as you would see it, a close-up of one edge and one notch, and a \
    report of where the light fell."
)]
pub struct Words {
    /// The job folder, or its job.toml
    #[arg(default_value = "demo-data")]
    job: PathBuf,
    /// The folder for pictures and report
    #[arg(long, value_name = "DIR", default_value = "rehearsal")]
    out: PathBuf,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(words: &Words) -> Outcome<()> {
    let started = std::time::Instant::now();
    // Progress goes where it does not mix with the result.
    let progress = |what: &str| {
        output::tell(&format!(
            "[{:5.1} s] {what}",
            started.elapsed().as_secs_f64()
        ));
    };
    let done = rehearse(&words.job, &words.out, Wanted::Best, &progress)?;
    if words.json {
        return output::json(&done.report.json());
    }
    output::say(&done.report.text())?;
    for path in &done.written {
        output::say(&format!("written: {}", path.display()))?;
    }
    Ok(())
}
