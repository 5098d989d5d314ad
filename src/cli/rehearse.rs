//! `rehearse`: the whole job without projector or table.

use super::{demo, output};
use crate::fault::Outcome;
use crate::rehearse::{Wrong, rehearse, show};
use crate::render::Wanted;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk rehearse demo-data --out rehearsal\n\nWrites the \
    projector's frame, the table as you would see it, a close-up of one edge and one notch, and a \
    report of where the light fell. With --fault it plays one thing that goes wrong instead, and \
    writes `seen.png`: the light as it was set, and beside it as it falls then."
)]
pub struct Words {
    /// The job folder, or its job.toml
    #[arg(default_value = demo::DEMO)]
    job: PathBuf,
    /// The folder for pictures and report
    #[arg(long, value_name = "DIR", default_value = "rehearsal")]
    out: PathBuf,
    /// Play what goes wrong: keystone, overscan, dimming, warm-up, table, cloth, mark or shadow
    #[arg(long, value_name = "FAULT", value_parser = wrong)]
    fault: Option<Wrong>,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

fn wrong(name: &str) -> Result<Wrong, String> {
    Wrong::named(name).ok_or_else(|| {
        let all = Wrong::ALL.map(Wrong::name);
        format!("write one of {}", all.join(", "))
    })
}

/// What goes wrong, shown and said.
fn play(words: &Words, fault: Wrong) -> Outcome<()> {
    let (job, _) = output::open_state(&demo::found(&words.job))?;
    let shown = show(fault, job, &words.out, Wanted::Best)?;
    if words.json {
        return output::json(&shown.json());
    }
    output::say(&shown.text())?;
    output::say(&format!("written: {}", shown.written.display()))
}

pub fn run(words: &Words) -> Outcome<()> {
    if let Some(fault) = words.fault {
        return play(words, fault);
    }
    let started = std::time::Instant::now();
    // Progress goes where it does not mix with the result.
    let progress = |what: &str| {
        output::tell(&format!(
            "[{:5.1} s] {what}",
            started.elapsed().as_secs_f64()
        ));
    };
    progress("reading the job and its pattern");
    let (job, _) = output::open_state(&demo::found(&words.job))?;
    let done = rehearse(job, &words.out, Wanted::Best, &progress)?;
    if words.json {
        return output::json(&done.report.json());
    }
    output::say(&done.report.text())?;
    for path in &done.written {
        output::say(&format!("written: {}", path.display()))?;
    }
    Ok(())
}
