//! `frame`: exactly what the projector would show.

use super::output;
use crate::disk;
use crate::fault::{Fault, Outcome, counted};
use crate::frame::{Lit, light, notes, picture, png};
use crate::job::{Job, read_profile};
use crate::light::LabelAt;
use crate::measure::Unit;
use crate::pattern::PatternPiece;
use crate::render::{Device, Wanted};
use crate::shape::bounds;
use clap::Args;
use std::panic::resume_unwind;
use std::path::PathBuf;
use std::thread;

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  ghostchalk frame demo-data --profile table.toml -o frame.png")]
pub struct Words {
    /// The job folder, or its job.toml
    job: PathBuf,
    /// The table's profile [default: the one that the job names]
    #[arg(long, value_name = "PROFILE")]
    profile: Option<PathBuf>,
    /// Where to write the picture
    #[arg(short, long, value_name = "FRAME.png")]
    output: PathBuf,
    /// The projector's picture in pixels; must be the profile's
    #[arg(long, value_name = "WxH", value_parser = output::size)]
    size: Option<[u32; 2]>,
    /// List each piece's cut outlines, in table mm, and the band's width
    #[arg(long)]
    json: bool,
}

pub fn run(words: &Words) -> Outcome<()> {
    let (job, _) = output::open_state(&words.job)?;
    let (profile, name) = match &words.profile {
        Some(path) => (read_profile(path)?, path.clone()),
        None => {
            let profile = job.profile()?.ok_or_else(|| {
                Fault::input(
                    "the job names no profile",
                    "give one with --profile; `ghostchalk calibrate` makes it",
                )
                .in_file(&words.job)
            })?;
            (
                profile,
                job.folder
                    .join(job.file.profile.clone().unwrap_or_default()),
            )
        }
    };
    let [width, height] = profile.projector_px;
    if let Some([w, h]) = words.size.filter(|s| *s != profile.projector_px) {
        return Err(Fault::input(
            format!("the profile is for a projector of {width}x{height} px, not {w}x{h}"),
            "make a profile for this projector, or leave --size out",
        )
        .in_file(&name));
    }
    let mapping = profile.mapping().map_err(|f| f.in_file(&name))?;
    output::guard_job(&words.output, &words.job, &job)?;
    output::guard_png(&words.output)?;
    // A driver takes as long to start as the lay to be lit. It is waited for in any case: none
    // likes the program to end while it starts.
    let (lit, device) = thread::scope(|scope| {
        let opening = scope.spawn(|| Device::open(Wanted::Best));
        let lit = light(&job, &profile, &mapping);
        let device = opening.join().unwrap_or_else(|panic| resume_unwind(panic));
        (lit, device)
    });
    let (lit, device) = (lit?, device?);
    let frame = picture(&device, &lit.scene(), &mapping, profile.projector_px)?;
    let colour = job.file.light.unwrap_or_default().colour;
    disk::write_atomic(&words.output, &png(&frame, colour)?)?;
    let notes = notes(&job, &lit)?;
    if words.json {
        return output::json(&described(&job, &lit, profile.projector_px, &notes));
    }
    for note in notes {
        output::tell(&format!("note: {note}"));
    }
    output::say(&sizes(&job.pieces, Unit::Mm))?;
    output::say(&format!(
        "{} lit in {}: {width}x{height} px, band {:.2} mm, drawn on {}.",
        counted(lit.count(), "piece", "pieces"),
        words.output.display(),
        lit.band,
        device.name()
    ))
}

/// Width and height of a piece's cut outlines, in its own space.
pub fn size_mm(piece: &PatternPiece) -> [f64; 2] {
    let b = bounds(piece.cut.iter().flatten().copied());
    b.map_or([0.0; 2], |b| [b.width(), b.height()])
}

/// The pieces and their sizes, a line each, so that a wrong scale is seen.
pub fn sizes<'a>(pieces: impl IntoIterator<Item = &'a PatternPiece>, unit: Unit) -> String {
    let line = |p: &PatternPiece| {
        let [w, h] = size_mm(p).map(|mm| unit.show(mm));
        let notches = counted(p.notches.len(), "notch", "notches");
        format!("  {}: {w} x {h}, {notches}", p.name)
    };
    pieces.into_iter().map(line).collect::<Vec<_>>().join("\n")
}

fn described(job: &Job, lit: &Lit, size: [u32; 2], notes: &[String]) -> serde_json::Value {
    let pieces: Vec<serde_json::Value> = lit
        .laid
        .iter()
        .enumerate()
        .map(|(k, l)| {
            let rings = &lit.lamp.inside(k).rings;
            let outlines: Vec<Vec<[f64; 2]>> = rings
                .iter()
                .map(|r| r.iter().map(|p| p.to_array()).collect())
                .collect();
            serde_json::json!({
                "piece": l.piece.name,
                "article": l.article,
                "cloth": l.cloth,
                "panel": l.panel,
                "face": l.face,
                // Then it is not lit.
                "is_cut": l.is_cut,
                "size_mm": size_mm(l.piece),
                "label": match lit.lamp.label(k) {
                    LabelAt::Inside => "inside",
                    LabelAt::Beside => "beside",
                    LabelAt::Nowhere => "nowhere",
                },
                // Outer outlines counter-clockwise, cut-outs clockwise.
                "cut_outlines_mm": outlines,
            })
        })
        .collect();
    serde_json::json!({
        "job": job.file.name,
        "size_px": size,
        "band_mm": lit.band,
        "colour": job.file.light.unwrap_or_default().colour,
        "pieces": pieces,
        "notes": notes,
    })
}
