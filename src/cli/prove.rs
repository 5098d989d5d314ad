//! `prove`: all checks of a pattern before it is cut.

use super::drawn::Drawn;
use super::output;
use super::unit::unit;
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::Patterns;
use crate::measure::Unit;
use crate::pattern::Finding;
use crate::prove::{Asked, Proof, prove, svg, text};
use clap::Args;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  ghostchalk prove demo-data\n  ghostchalk prove slippers.svg --seams \
    slippers.seams.toml --picture proof.svg\n\nWalks the seams that are declared, fits the rings, \
    looks for notches that are missing, edges that stretch, and counts that don't suit the pieces. \
    Exit code 1: something would spoil the work."
)]
pub struct Words {
    /// A job folder, its job.toml, or a pattern file
    what: PathBuf,
    /// What is sewn to what, for a pattern file alone
    #[arg(long, value_name = "SEAMS.toml")]
    seams: Option<PathBuf>,
    #[command(flatten)]
    drawn: Drawn,
    /// Draw the pieces with what was found marked on them
    #[arg(long, value_name = "PROOF.svg")]
    picture: Option<PathBuf>,
    /// Don't propose seams that nobody declared
    #[arg(long)]
    no_proposals: bool,
    /// The unit that lengths are told in: mm, cm or in; JSON is always in mm
    #[arg(long, value_name = "UNIT", default_value = "mm", value_parser = unit)]
    unit: Unit,
    /// Print it as JSON
    #[arg(long)]
    json: bool,
}

/// Whether something would spoil the work.
pub fn run(words: &Words) -> Outcome<bool> {
    let patterns = read(words)?;
    if let Some(to) = &words.picture {
        output::is_svg(to)?;
        output::guard_ours(to, &words.what)?;
    }
    patterns.0.check_sewing().map_err(|f| {
        let from = words.seams.as_ref().unwrap_or(&words.what);
        f.in_file(from)
    })?;
    let asked = Asked {
        propose: !words.no_proposals,
        findings: patterns.1,
        ..Asked::default()
    };
    let patterns = patterns.0;
    let proof = prove(&patterns.pieces, &patterns.sewing, &asked);
    let unit = words.unit;
    if let Some(to) = &words.picture {
        disk::write_atomic(to, svg(&proof, &patterns.pieces, unit).as_bytes())?;
    }
    for note in &patterns.notes {
        output::tell(&unit.in_sentence(&format!("note: {note}")));
    }
    for left in &patterns.left_out {
        output::tell(&unit.in_sentence(&format!("left out: {left}")));
    }
    if words.json {
        output::json(&as_json(&proof, &patterns)?)?;
    } else {
        output::say(text(&proof, unit).trim_end())?;
    }
    Ok(proof.spoils())
}

/// The pieces, and what the job's order finds of them.
fn read(words: &Words) -> Outcome<(Patterns, Vec<Finding>)> {
    let is_job = words.what.is_dir() || words.what.file_name() == Some("job.toml".as_ref());
    match (is_job, &words.seams) {
        (true, Some(_)) => Err(Fault::input(
            "a job names the seams of its patterns itself",
            "leave --seams out, or give a pattern file instead of the job",
        )
        .in_file(&words.what)),
        (true, None) if !words.drawn.is_silent() => Err(Fault::input(
            "a job says itself how its patterns are read",
            "leave the options for a pattern file out, or give the file instead of the job",
        )
        .in_file(&words.what)),
        (true, None) => {
            let (job, state) = output::open_state(&words.what)?;
            if let Some(to) = &words.picture {
                output::guard_job(to, &words.what, &job)?;
            }
            let findings = job.miscounts(&job.pieces, &state);
            let patterns = Patterns {
                pieces: job.pieces,
                sewing: job.sewing,
                left_out: job.left_out,
                drawings: job.drawings,
                notes: job.pattern_notes,
            };
            Ok((patterns, findings))
        }
        (false, seams) => {
            let mut file = words.drawn.of(words.what.display().to_string())?;
            file.seams = seams.as_ref().map(|s| s.display().to_string());
            Ok((Patterns::read(Path::new(""), &[file])?, Vec::new()))
        }
    }
}

fn as_json(proof: &Proof, patterns: &Patterns) -> Outcome<serde_json::Value> {
    let failed = |e: serde_json::Error| Fault::mistake(format!("the report can't be written: {e}"));
    let mut value = serde_json::to_value(proof).map_err(failed)?;
    value["spoils"] = proof.spoils().into();
    value["notes"] = patterns.notes.clone().into();
    value["left_out"] = patterns.left_out.clone().into();
    Ok(value)
}
