//! `light`: the live table.

use crate::fault::Outcome;
use crate::session::{Options, run as live};
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk light demo-data --rehearse\n\nOpens the projector's window \
    and the panel. Without a second output the projector's window is an ordinary one; with \
    --rehearse it shows a simulated table under the light, so that all can be tried on a sofa."
)]
pub struct Words {
    /// The job folder, or its job.toml
    #[arg(default_value = "demo-data")]
    job: PathBuf,
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

pub fn run(words: Words) -> Outcome<()> {
    live(Options {
        job: words.job,
        rehearse: words.rehearse,
        profile: words.profile,
        output: words.output,
    })
}
