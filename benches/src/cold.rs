//! From nothing to the first frame in memory, within a running process.

use crate::report::{Report, Subject};
use crate::scenes::{SIZES, demo, profile};
use crate::timing::{Laps, Samples};
use ghostchalk::fault::Outcome;
use ghostchalk::job::Job;
use ghostchalk::render::{Canvas, Device, Rect, Wanted};
use std::path::Path;

/// Later starts, when the driver's library and its kept shaders are at hand.
const AGAIN: usize = 4;

const PARTS: [&str; 6] = [
    "read the job",
    "open the device",
    "make the canvas",
    "light",
    "project, draw and wait",
    "all",
];

/// Starts several times; the first is told apart.
pub fn start(folder: &Path, wanted: Wanted, by: &'static str, report: &mut Report) -> Outcome<()> {
    let size = SIZES[0];
    let at = Subject {
        by,
        scene: "demo",
        size: Some(size),
    };
    let first = once(folder, wanted, size)?;
    for (part, ms) in PARTS.iter().zip(first) {
        report.time(at, &format!("first start: {part}"), &Samples::of(vec![ms]));
    }
    let mut again: [Vec<f64>; 6] = Default::default();
    for _ in 0..AGAIN {
        for (kept, ms) in again.iter_mut().zip(once(folder, wanted, size)?) {
            kept.push(ms);
        }
    }
    for (part, times) in PARTS.iter().zip(again) {
        report.time(at, &format!("start again: {part}"), &Samples::of(times));
    }
    Ok(())
}

fn once(folder: &Path, wanted: Wanted, size: [u32; 2]) -> Outcome<[f64; 6]> {
    let mut laps = Laps::start();
    let job = Job::open(folder)?;
    let read = laps.lap();
    let device = Device::open(wanted)?;
    let open = laps.lap();
    let mut canvas = Canvas::new(&device, size[0], size[1])?;
    let make = laps.lap();
    let profile = profile(size)?;
    let map = profile.mapping()?;
    let lay = demo(&job, &profile, &map)?;
    let light = laps.lap();
    let drawn = lay.drawn(&map, size);
    canvas.redraw(Rect::of_size(size[0], size[1]), &drawn);
    device.wait()?;
    let draw = laps.lap();
    Ok([
        read,
        open,
        make,
        light,
        draw,
        read + open + make + light + draw,
    ])
}
