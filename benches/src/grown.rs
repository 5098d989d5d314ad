//! What grows: pieces on the table, cloth, and the photo of it.

use crate::growth::Growth;
use crate::ours::{Motion, Stage};
use crate::scenes::{self, SIZES};
use crate::shades::{lit, oval};
use crate::timing::{Laps, Plan, Samples, median};
use crate::{photo, place, said, scratch};
use ghostchalk::cloth::shade::{CELL, Doubt, Ground, ShadeMap, Shading};
use ghostchalk::disk;
use ghostchalk::drawing::write;
use ghostchalk::fault::{Fault, Outcome};
use ghostchalk::job::{JOB_FILE, Job, first_job, open_session, write_toml};
use ghostchalk::lay::{Checked, grounds};
use ghostchalk::pattern::PatternPiece;
use ghostchalk::render::{Device, Wanted};
use ghostchalk::space::{Cloth, Rigid, Vector};
use ghostchalk::work::Record;
use std::hint::black_box;
use std::path::Path;

/// `pieces`, `cloth` or `photo`; `--quick` for fewer sizes.
///
/// # Errors
/// If there is no driver, or the machine's disk fails.
pub fn run(words: &[String]) -> Outcome<()> {
    let quick = said(words, "--quick");
    match words.first().map(String::as_str) {
        Some("pieces") => pieces(quick),
        Some("cloth") => cloth(quick),
        Some("photo") => photo(quick),
        _ => Err(Fault::input(
            "nothing that grows is named",
            "say `growth pieces`, `growth cloth` or `growth photo`",
        )),
    }
}

/// All of them, or every third.
fn some<T: Copy>(all: &[T], quick: bool) -> Vec<T> {
    let step = if quick { 3 } else { 1 };
    all.iter().copied().step_by(step).collect()
}

const COUNTS: [usize; 8] = [10, 20, 50, 100, 200, 500, 1000, 2000];

const PIECES: [&str; 9] = [
    "all light anew",
    "one moved: light",
    "one moved: CPU before submit",
    "one moved: wall",
    "whole frame: wall",
    "all checks",
    "checks of one",
    "job opened",
    "job saved",
];

fn pieces(quick: bool) -> Outcome<()> {
    let device = Device::open(Wanted::Best)?;
    let plan = Plan::QUICK;
    let size = SIZES[0];
    let pattern = scenes::pattern();
    let mut growth = Growth::new("pieces", &PIECES);
    for count in some(&COUNTS, quick) {
        let mut lay = scenes::grid(&pattern, "grid", count)?;
        let map = scenes::profile_over(lay.table, size)?.mapping()?;
        let reach = lay.reach();
        let [anew] = plan.repeat(|_| {
            let mut laps = Laps::start();
            lay.lamp.light(&lay.laid, &reach);
            Ok([laps.lap()])
        })?;
        let panels = [scenes::panel("panel", "c", lay.table)];
        let grounds = grounds(&panels)?;
        let band = 3.0;
        let [all, one] = plan.repeat(|_| {
            let mut laps = Laps::start();
            let checked = Checked::new(&lay.laid, &grounds, Some(&reach), band);
            black_box(checked.all());
            let all = laps.lap();
            black_box(checked.of(lay.mover));
            Ok([all, laps.lap()])
        })?;
        let stage = Stage {
            device: &device,
            map: &map,
            size,
            plan,
        };
        let mut canvas = stage.canvas()?;
        let [.., whole] = stage.whole(&mut canvas, &lay)?;
        let mover = lay.mover;
        let [light, _, _, cpu, wall] = stage.one(&mut canvas, &mut lay, mover, Motion::Over)?;
        let [opened, saved] = kept(&pattern, count, lay.table, plan)?;
        let middle = [
            &anew, &light, &cpu, &wall, &whole, &all, &one, &opened, &saved,
        ];
        growth.add(
            count as f64,
            middle.iter().map(|s| s.quantile(0.5)).collect(),
        );
    }
    println!(
        "Pieces of 52 x 72 mm, 8 mm apart, on a table that grows with them (200: 1200 x 800 mm), at \
         {}x{} on {}; medians, ms. A job saved has one piece moved, and is on the disk.\n",
        size[0],
        size[1],
        device.name()
    );
    growth.print();
    Ok(())
}

/// A job of so many pieces in a folder of its own.
///
/// # Errors
/// If it can't be written.
pub fn write_job(folder: &Path, pattern: &[PatternPiece], count: usize, width: f64) -> Outcome<()> {
    let mut pieces = pattern.to_vec();
    let (each, over) = (count / pieces.len(), count % pieces.len());
    for (k, piece) in pieces.iter_mut().enumerate() {
        piece.cut_count = (each + usize::from(k < over)) as u32;
    }
    pieces.retain(|p| p.cut_count > 0);
    // Rows are as wide as the table, with room at its ends.
    let table = [width + 100.0, 100.0];
    let job = first_job("grown", "pieces.svg", &pieces, "c", table)?;
    disk::write_atomic(&folder.join("pieces.svg"), write::svg(&pieces).as_bytes())?;
    write_toml(&folder.join(JOB_FILE), &job)
}

/// The job opened, and saved with one piece moved.
fn kept(
    pattern: &[PatternPiece],
    count: usize,
    table: [f64; 2],
    plan: Plan,
) -> Outcome<[Samples; 2]> {
    let folder = scratch()?;
    write_job(folder.path(), pattern, count, table[0])?;
    let [opened] = plan.repeat(|_| {
        let mut laps = Laps::start();
        black_box(Job::open(folder.path())?);
        Ok([laps.lap()])
    })?;
    let mut session = open_session::<Record>(folder.path())?;
    let mut file = session.job.file.clone();
    let [saved] = plan.repeat(|_| {
        file.placed[0].x_mm += 0.125;
        let mut laps = Laps::start();
        session.save(&file)?;
        Ok([laps.lap()])
    })?;
    session.close()?;
    Ok([opened, saved])
}

/// Half the sides of a cloth, mm.
const CLOTHS: [[f64; 2]; 7] = [
    [300.0, 200.0],
    [375.0, 250.0],
    [450.0, 300.0],
    [600.0, 400.0],
    [750.0, 500.0],
    [900.0, 600.0],
    [1200.0, 800.0],
];

const CLOTH: [&str; 6] = [
    "light averaged into cells",
    "made ready",
    "kept as files",
    "read from them",
    "under a piece of 250 x 110 mm",
    "a place sought by the shade",
];

fn cloth(quick: bool) -> Outcome<()> {
    let mut growth = Growth::new("cloth, m2", &CLOTH);
    for half in some(&CLOTHS, quick) {
        let light = lit(half, 0.5, 0.0, |p| 60.0 + 0.03 * p.x + 0.02 * p.y, 1);
        let measure = || {
            ShadeMap::measure(&light, [1.0; 3], CELL, Doubt::default(), |_, _| {
                Ground::Cloth
            })
        };
        let map = measure()?;
        let measured = median(3, &mut || {
            let _ = black_box(measure());
        });
        let ready = median(3, &mut || {
            black_box(Shading::new(map.clone(), Some(24.0)));
        });
        let files = map.write()?;
        let written = median(3, &mut || {
            let _ = black_box(map.write());
        });
        let read = median(3, &mut || {
            let _ = black_box(ShadeMap::<Cloth>::read(&files.picture, &files.about));
        });
        let shading = Shading::new(map, None);
        let piece = oval(125.0, 55.0);
        let mut turn = 0.0;
        let under = median(101, &mut || {
            turn += 0.01;
            let pose = Rigid::new(false, turn, Vector::new(40.0 * turn, 10.0));
            let _ = black_box(shading.under(&piece.moved(&pose), &pose));
        });
        drop(light);
        let [w, h] = half.map(|v| 2.0 * v);
        let sought = place::seek([w, h]);
        let area = (w * h / 1e3).round() / 1e3;
        growth.add(area, vec![measured, ready, written, read, under, sought]);
    }
    println!(
        "Light every 0.5 mm, cells of {CELL} mm; a place for a piece of 190 x 110 mm on bare cloth, 1 mm \
         and half a degree apart, all cores; medians, ms.\n"
    );
    growth.print();
    Ok(())
}

/// Photos, px.
const PHOTOS: [[usize; 2]; 5] = [
    [2000, 1500],
    [2828, 2121],
    [4000, 3000],
    [5656, 4242],
    [8000, 6000],
];

const PHOTO: [&str; 5] = ["read", "12 marks", "from above", "light", "warnings"];

fn photo(quick: bool) -> Outcome<()> {
    let mut growth = Growth::new("photo, MP", &PHOTO);
    let mut missed = Vec::new();
    let step = if quick { 2 } else { 1 };
    let most = if quick { 3 } else { PHOTOS.len() };
    for size in PHOTOS.into_iter().take(most).step_by(step) {
        let bytes = photo::drawn(size);
        let t = photo::timed(&bytes, size, 3);
        let ms = [t.read, t.marks, t.above, t.light, t.warnings].map(|s| 1e3 * s.wall);
        let mp = (size[0] * size[1]) as f64 / 1e6;
        growth.add((10.0 * mp).round() / 10.0, ms.to_vec());
        missed.push(t.missed.to_string());
    }
    println!(
        "A JPEG of 1300 x 975 mm of table, laid out over 1200 x 800 mm in cells of 0.5 mm; wall, the least \
         of three, ms. Crosses not found within a pixel, of 12, size by size: {}.\n",
        missed.join(", ")
    );
    growth.print();
    Ok(())
}
