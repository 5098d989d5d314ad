//! The closed loop: the whole job, with the twin in place of projector, table,
//! eye and hand. The twin is shown frames and says where their light fell; it
//! is never asked what the program believes.

mod ink;
mod loops;
mod moved;
mod report;
pub mod seen;
mod wrong;

pub use loops::{Figures, Loop, known};
pub use moved::{Landed, OnCloth, landed};
pub use report::Report;
pub use wrong::{Shown, Wrong, show};

use crate::calibration::{HEADER, Profile};
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::frame::{light, picture, png};
use crate::job::{Job, toml_text};
use crate::render::{Device, Wanted};
use crate::twin::rig::Rig;
use std::path::{Path, PathBuf};

/// Everything that a rehearsal wrote and found.
#[derive(Debug)]
pub struct Rehearsed {
    pub report: Report,
    pub written: Vec<PathBuf>,
}

/// The file that marks a folder as a rehearsal's.
const STAMP: &str = "rehearsal.txt";

/// How steady the rehearsed hand is: px per axis, standard deviation.
pub const HAND_PX: f64 = 0.5;

/// Rehearses a job as it is in `job`, and writes pictures and report into `out`. `progress` is
/// told, in words, what is being done.
///
/// # Errors
/// If the job can't be lit, `out` can't be written, or there is no driver.
pub fn rehearse(
    mut job: Job,
    out: &Path,
    wanted: Wanted,
    progress: &(dyn Fn(&str) + Sync),
) -> Outcome<Rehearsed> {
    if let Some(ways) = &mut job.file.light {
        // The edge is measured all round.
        ways.creep = false;
    }
    if job.file.placed.is_empty() {
        return Err(Fault::input(
            "nothing is laid, so there is nothing to light",
            "lay its pieces with `ghostchalk light` or `ghostchalk lay --take`",
        )
        .in_file(&job.folder));
    }
    let photos = seen::cloths(&job)?;
    open_folder(out)?;
    let device = Device::open(wanted)?;
    progress(&format!("drawing on {}", device.name()));

    let plain = Rig::workshop();
    let bent = Rig::workshop_with_lens();
    progress("four marks without error: what the drawing itself does");
    let (profile, exact) = loops::exact(&device, &job, &plain)?;
    progress("four crosses set by a hand, by the light that a simulated eye sees");
    let by_hand = loops::by_hand(&device, &job, &plain, HAND_PX, false)?;
    progress("the same, seen on the top of the cloth");
    let on_cloth = loops::by_hand(&device, &job, &plain, HAND_PX, true)?;
    progress("the same, through a lens that bends");
    let through_lens = loops::by_hand(&device, &job, &bent, HAND_PX, true)?;

    let mapping = profile.mapping()?;
    let lit = light(&job, &profile, &mapping)?;
    let frame = picture(&device, lit.lamp.scene(), &mapping, profile.projector_px)?;
    let mut written = Vec::new();
    let mut write = |name: &str, bytes: &[u8]| -> Outcome<()> {
        let path = out.join(name);
        disk::write_atomic(&path, bytes)?;
        written.push(path);
        Ok(())
    };
    write(
        "projector.png",
        &png(&frame, job.file.light.unwrap_or_default().colour)?,
    )?;
    progress("looking at the table");
    let eye = seen::Eye::new(&plain, &frame, photos);
    write("table.png", &rgb_png(&eye.table(progress)?)?)?;
    progress("looking close at one edge and one notch");
    if let Some(image) = eye.close_up(&lit)? {
        write("close-up.png", &rgb_png(&image)?)?;
    }
    // What a person would have at this point, to go on with from here.
    write("marks.csv", marks_csv(&profile).as_bytes())?;
    write("table.toml", toml_text(&profile)?.as_bytes())?;
    let report = Report {
        job: job.file.name.clone(),
        device: device.name(),
        size_px: profile.projector_px,
        pieces: lit.laid.len(),
        band_mm: lit.band,
        pixel_mm: seen::pixel_sizes(&plain),
        loops: vec![exact, by_hand, on_cloth, through_lens],
        notes: crate::frame::notes(&job, &lit)?,
    };
    write("report.txt", report.text().as_bytes())?;
    write("report.json", format!("{:#}\n", report.json()).as_bytes())?;
    Ok(Rehearsed { report, written })
}

/// Makes the folder, and sees that what will be written there replaces nothing
/// but an earlier rehearsal.
fn open_folder(out: &Path) -> Outcome<()> {
    disk::make_folder(out)?;
    let stamp = out.join(STAMP);
    let ours = disk::beginning(&stamp, 1)?.is_some();
    let mut there =
        std::fs::read_dir(out).map_err(|e| Fault::file("opening the folder", out, &e))?;
    if !ours && there.next().is_some() {
        return Err(Fault::input(
            "there are files in this folder that no rehearsal wrote",
            "name a new folder with --out",
        )
        .in_file(out));
    }
    // Written first, so that a folder that can't be written to is known at once.
    disk::write_atomic(
        &stamp,
        b"Everything in this folder was written by a rehearsal, and the next one replaces it.\n",
    )
}

/// A profile's marks as the file that `calibrate` reads.
fn marks_csv(profile: &Profile) -> String {
    let mut text = HEADER.join(",") + "\n";
    for m in &profile.marks {
        let ([x, y], [u, v]) = (m.table_mm, m.projector_px);
        text += &format!("{x},{y},{u},{v}\n");
    }
    text
}

fn rgb_png(image: &image::RgbImage) -> Outcome<Vec<u8>> {
    disk::png(
        image,
        image.width(),
        image.height(),
        image::ExtendedColorType::Rgb8,
    )
}
