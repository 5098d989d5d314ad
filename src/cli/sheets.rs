//! `sheets`: what a person prints.

use super::output;
use crate::calibration::tag_sheet::tag_sheet;
use crate::calibration::target::corner_target;
use crate::calibration::vernier::vernier_sheet;
use crate::disk;
use crate::fault::Outcome;
use crate::sheet::{Page, Paper};
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk sheets --out calibration\n\nPrint at 100 %, \"actual \
    size\", and measure the 100 mm lines before you trust a sheet."
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
    for (paper, name) in [(Paper::A4, "a4"), (Paper::Letter, "letter")] {
        let pdf = |page: Page| ("pdf", page.into_pdf());
        let svg = |page: Page| ("svg", page.into_svg().into_bytes());
        let sheets = [
            ("corner-target", pdf(corner_target(paper))),
            ("vernier", pdf(vernier_sheet(paper))),
            ("vernier", svg(vernier_sheet(paper))),
            ("tags", pdf(tag_sheet(paper))),
            ("tags", svg(tag_sheet(paper))),
        ];
        for (sheet, (ending, bytes)) in sheets {
            let path = words.out.join(format!("{sheet}-{name}.{ending}"));
            match ending {
                "pdf" => output::guard(&path, "a PDF", |b| b.starts_with(b"%PDF-"))?,
                _ => output::guard(&path, "an SVG", |b| b.starts_with(b"<svg "))?,
            }
            disk::write_atomic(&path, &bytes)?;
            written.push(path);
        }
    }
    if words.json {
        let written: Vec<_> = written.iter().map(|p| p.to_string_lossy()).collect();
        return output::json(&serde_json::json!({ "written": written }));
    }
    for path in &written {
        output::say(&path.display().to_string())?;
    }
    Ok(())
}
