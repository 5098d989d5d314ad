//! `sheets`: what a person prints.

use super::output;
use crate::calibration::target::corner_target;
use crate::disk;
use crate::fault::Outcome;
use crate::sheet::Paper;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk sheets --out calibration\n\nPrint at 100 %, \"actual \
    size\", and measure the 100 mm line before you trust the sheet."
)]
pub struct Words {
    /// The folder to write to
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Name the files that were written, as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(words: &Words) -> Outcome<()> {
    disk::make_folder(&words.out)?;
    let mut written = Vec::new();
    for (paper, name) in [
        (Paper::A4, "corner-target-a4.pdf"),
        (Paper::Letter, "corner-target-letter.pdf"),
    ] {
        let path = words.out.join(name);
        output::guard(&path, "a PDF", |b| b.starts_with(b"%PDF-"))?;
        disk::write_atomic(&path, &corner_target(paper).into_pdf())?;
        written.push(path);
    }
    if words.json {
        return output::json(&serde_json::json!({ "written": written }));
    }
    for path in &written {
        output::say(&path.display().to_string())?;
    }
    Ok(())
}
