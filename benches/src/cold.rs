//! From nothing to the first frame in memory: each time in a process of its own.

use crate::drivers::DRIVERS;
use crate::scenes::{SIZES, demo, profile};
use crate::table::Table;
use crate::timing::{Laps, Samples};
use crate::{child, demo_folder, said};
use ghostchalk::fault::{Fault, Outcome};
use ghostchalk::job::Job;
use ghostchalk::render::{Canvas, Device, Rect, Wanted};
use std::time::Instant;

/// Starts of each driver, and when it need only be seen that it works.
const STARTS: usize = 9;
const QUICK: usize = 3;

const PARTS: [&str; 6] = [
    "read the job",
    "light",
    "open the device, meanwhile",
    "make the canvas",
    "project, draw and wait",
    "all together",
];

/// `--quick` for fewer starts. With a driver's name: one start, in this process, told as
/// numbers of ms.
///
/// # Errors
/// If no driver can draw the demo.
pub fn run(words: &[String]) -> Outcome<()> {
    let named = |(_, by): &&(Wanted, &str)| said(words, by);
    if let Some((wanted, _)) = DRIVERS.iter().find(named) {
        let ms = once(*wanted, SIZES[0])?.map(|v| v.to_string());
        println!("{}", ms.join(" "));
        return Ok(());
    }
    let quick = said(words, "--quick");
    let starts = if quick { QUICK } else { STARTS };
    let mut columns: Vec<(&str, Vec<Samples>)> = Vec::new();
    for (_, by) in DRIVERS {
        let mut times: [Vec<f64>; PARTS.len() + 1] = Default::default();
        for _ in 0..starts {
            let start = Instant::now();
            let Ok(said) = child(&["cold", by]) else {
                break;
            };
            let all = start.elapsed().as_secs_f64() * 1e3;
            let parts = said.split_whitespace().filter_map(|w| w.parse().ok());
            for (kept, ms) in times.iter_mut().zip(parts.chain([all])) {
                kept.push(ms);
            }
        }
        if times[PARTS.len()].len() == starts {
            columns.push((by, times.map(Samples::of).into()));
        }
    }
    if columns.is_empty() {
        return Err(Fault::ours(
            "no driver could draw the demo job",
            "install a graphics driver, and run this in the repository's folder",
        ));
    }
    let [w, h] = SIZES[0];
    println!(
        "The demo at {w}x{h}; median of {starts} processes, ms, and in brackets the slowest. Files and \
         the driver's kept shaders are in the system's memory from the start before.\n"
    );
    let mut table = Table::new(["part"], columns.iter().map(|(by, _)| *by));
    let end = ["the process, from its start to its end"];
    for (k, part) in PARTS.iter().chain(&end).enumerate() {
        let cells = columns.iter().map(|(_, times)| {
            let of = &times[k];
            format!("{:.1} ({:.1})", of.quantile(0.5), of.quantile(1.0))
        });
        table.row(std::iter::once((*part).to_owned()).chain(cells));
    }
    table.print();
    Ok(())
}

fn once(wanted: Wanted, size: [u32; 2]) -> Outcome<[f64; 6]> {
    let mut all = Laps::start();
    let mut laps = Laps::start();
    let job = Job::open(&demo_folder())?;
    let read = laps.lap();
    // As `ghostchalk frame` does it.
    let opening = std::thread::spawn(move || {
        let mut laps = Laps::start();
        (Device::open(wanted), laps.lap())
    });
    let profile = profile(size)?;
    let map = profile.mapping()?;
    let lay = demo(&job, &profile, &map)?;
    let light = laps.lap();
    let (device, open) = opening.join().expect("a driver that starts or says why");
    let device = device?;
    laps.lap();
    let mut canvas = Canvas::new(&device, size[0], size[1])?;
    let make = laps.lap();
    let drawn = lay.drawn(&map, size);
    canvas.redraw(Rect::of_size(size[0], size[1]), &drawn);
    device.wait()?;
    let draw = laps.lap();
    Ok([read, light, open, make, draw, all.lap()])
}
