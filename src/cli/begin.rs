//! `begin`: a first job from a pattern alone.

use super::drawn::Drawn;
use super::output;
use crate::disk;
use crate::fault::{Fault, Outcome, counted};
use crate::job::{JOB_FILE, Patterns, first_job, write_toml};
use crate::measure::Unit;
use clap::Args;
use std::path::{Path, PathBuf};

/// The largest pattern that is copied, bytes; the reader takes no larger one.
const LARGEST: u64 = 64 << 20;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk begin demo-data/slippers.svg --job slippers\n\nMakes \
    the folder with a copy of the pattern and a job.toml that lays every part in rows, grain up, on \
    one cloth. Edit the places, cloths and counts in it; demo-data is a worked example."
)]
pub struct Words {
    /// The pattern: SVG, PDF, DXF, or a draft
    pattern: PathBuf,
    #[command(flatten)]
    drawn: Drawn,
    /// The job's folder, made if it isn't there
    #[arg(long, value_name = "DIR")]
    job: PathBuf,
    /// The table along your edge, and away from you
    #[arg(long, value_name = "LENGTHxLENGTH", default_value = "1200x800mm", value_parser = output::table)]
    table: [f64; 2],
    /// What the cloth is called
    #[arg(long, value_name = "NAME", default_value = "cloth", value_parser = output::name)]
    cloth: String,
    /// Say what was laid, as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(words: &Words) -> Outcome<()> {
    let read = words.drawn.of(words.pattern.display().to_string())?;
    let pattern = Patterns::read(Path::new(""), &[read])?;
    let stem = |p: &PathBuf| p.file_name().map(|n| n.to_string_lossy().into_owned());
    let file = stem(&words.pattern).unwrap_or_default();
    let name = stem(&words.job).unwrap_or_else(|| file.clone());
    let table = words.table;
    let mut job = first_job(&name, &file, &pattern.pieces, &words.cloth, table)
        .map_err(|f| f.in_file(&words.pattern))?;
    job.patterns = vec![words.drawn.of(file.clone())?];
    // A pattern may be called as the job file is.
    if file == JOB_FILE {
        return Err(Fault::input(
            "the job file will have this name, beside a copy of the pattern",
            "give the pattern another name",
        )
        .in_file(&words.pattern));
    }
    disk::make_folder(&words.job)?;
    let (target, copy) = (words.job.join(JOB_FILE), words.job.join(&file));
    if target.exists() {
        return Err(
            Fault::input("there is a job here already", "name another folder").in_file(&target),
        );
    }
    let bytes = disk::read(&words.pattern, "reading the pattern", LARGEST)?;
    output::guard(&copy, "this pattern", |there| bytes.starts_with(there))?;
    disk::write_atomic(&copy, &bytes)?;
    write_toml(&target, &job)?;
    if words.json {
        return output::json(&serde_json::json!({
            "job": target.to_string_lossy(),
            "placed": job.placed,
            "left_out": pattern.left_out,
            "notes": pattern.notes,
        }));
    }
    for l in &pattern.left_out {
        output::tell(&format!("note: left out: {l}"));
    }
    for n in &pattern.notes {
        output::tell(&format!("note: {n}"));
    }
    let outlines = job.panels.iter().flat_map(|p| &p.outline_mm);
    let reach = outlines.map(|corner| corner[1]).fold(0.0, f64::max);
    if reach > table[1] {
        output::tell(&format!(
            "note: the rows reach {} from your edge, and the table {}; lay what is beyond it \
             elsewhere, or later.",
            Unit::Mm.show(reach),
            Unit::Mm.show(table[1])
        ));
    }
    output::say(&super::frame::sizes(&pattern.pieces, Unit::Mm))?;
    output::say(&format!(
        "{} of {} laid in {}.",
        counted(job.placed.len(), "part", "parts"),
        counted(pattern.pieces.len(), "piece", "pieces"),
        target.display()
    ))
}
