//! `calibrate`: a profile from four set marks.

use super::output;
use crate::calibration::{MarkRow, Profile, read_points};
use crate::fault::{Outcome, short};
use crate::job::write_toml;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk calibrate --points calibration/worked/four-marks.csv \
    --projector 1920x1080 -o table.toml\n\nThe CSV has the header \
    table_x_mm,table_y_mm,projector_x_px,projector_y_px and four rows. Table x runs along your \
    edge to the right, y away from you; projector px count from the picture's top left corner, \
    where the first pixel's middle is (0.5, 0.5)."
)]
pub struct Words {
    /// The four marks, as CSV
    #[arg(long, value_name = "FILE.csv")]
    points: PathBuf,
    /// The projector's picture, in pixels
    #[arg(long, value_name = "WxH", value_parser = output::size)]
    projector: [u32; 2],
    /// Where to write the profile
    #[arg(short, long, value_name = "PROFILE")]
    output: PathBuf,
    /// The light goes over a mirror
    #[arg(long)]
    mirror_rig: bool,
    /// Print the mapping, table mm to projector px, as a row-major 3×3
    #[arg(long)]
    json: bool,
}

pub fn run(words: &Words) -> Outcome<()> {
    let rows = read_points(&words.points)?;
    let profile = Profile::of_four(&rows, words.projector, words.mirror_rig)
        .map_err(|f| f.in_file(&words.points))?;
    output::guard(&words.output, "a profile", |bytes| {
        let text = String::from_utf8_lossy(bytes);
        text.lines().any(|l| l.starts_with("ghostchalk_profile ="))
    })?;
    write_toml(&words.output, &profile)?;
    let mapping = profile.mapping()?;
    let sizes = rows.iter().filter_map(|r| mapping.pixel_size(r.table, 0.0));
    let pixel = sizes.fold([f64::INFINITY, 0.0], |[l, h], s| [s.min(l), s.max(h)]);
    let notes = notes(&rows, words.projector, pixel);
    if words.json {
        return output::json(&serde_json::json!({
            "table_to_projector": profile.table_to_projector,
            "projector_px": profile.projector_px,
            "mirror_rig": profile.mirror_rig,
            "profile": words.output,
            "pixel_mm": pixel,
            "notes": notes,
        }));
    }
    for note in &notes {
        output::tell(&format!("note: {note}"));
    }
    output::say(&format!(
        "At the marks a projector pixel is {:.2} to {:.2} mm long.",
        pixel[0], pixel[1]
    ))?;
    output::say(&format!(
        "Profile written to {}. Four points fix the mapping exactly, so they cannot show their own \
         error: lay a tape on the light before you cut.",
        words.output.display()
    ))
}

/// What looks odd about the marks, a sentence each.
fn notes(rows: &[MarkRow; 4], [width, height]: [u32; 2], pixel: [f64; 2]) -> Vec<String> {
    let mut notes = Vec::new();
    for (k, r) in rows.iter().enumerate() {
        let (x, y) = (r.projector.x, r.projector.y);
        if x < 0.0 || y < 0.0 || x > f64::from(width) || y > f64::from(height) {
            notes.push(format!(
                "mark {} is at ({}, {}) px, outside the picture of {width}x{height}; is the size right?",
                k + 1,
                short(x),
                short(y)
            ));
        }
    }
    // A pixel between a tenth of a millimetre and 3 is what projectors over
    // tables have.
    if pixel[0] < 0.1 || pixel[1] > 3.0 {
        notes.push(format!(
            "a pixel would be {} to {} mm long; are the marks in mm?",
            short(pixel[0]),
            short(pixel[1])
        ));
    }
    notes
}
