//! What a frame costs, here and with other rasterisers; see the README.

#![forbid(unsafe_code)]

mod cold;
mod live;
mod ours;
mod peers;
mod report;
mod scenes;
mod timing;

use clap::Parser;
use ghostchalk::fault::{Fault, Outcome};
use ghostchalk::job::Job;
use ghostchalk::projection::Mapping;
use ghostchalk::render::{Device, Wanted};
use ghostchalk::twin::exact::ExactLight;
use ours::Stage;
use report::{Report, Subject};
use scenes::{Lay, Patch, SIZES};
use std::path::PathBuf;
use std::process::ExitCode;
use timing::Plan;

#[derive(Debug, Parser)]
#[command(name = "frames", about = "Measures what a frame costs.")]
struct Options {
    /// Also write the figures to this file.
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
    /// Fewer runs: to see that it works.
    #[arg(long)]
    quick: bool,
    /// Only ours, only on Vulkan: for a machine with a graphics card.
    #[arg(long)]
    vulkan_only: bool,
    /// The demo job.
    #[arg(long, value_name = "FOLDER", default_value = concat!(env!("CARGO_MANIFEST_DIR"), "/../demo-data"))]
    job: PathBuf,
}

fn main() -> ExitCode {
    match run(&Options::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("{fault}");
            ExitCode::FAILURE
        }
    }
}

fn run(options: &Options) -> Outcome<()> {
    let plan = if options.quick {
        Plan::QUICK
    } else {
        Plan::FULL
    };
    let mut report = Report::default();
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    report.fact("cores", cores);
    let mut devices = Vec::new();
    for (wanted, by) in [(Wanted::Vulkan, "Vulkan"), (Wanted::Gl, "GL")] {
        if options.vulkan_only && wanted != Wanted::Vulkan {
            continue;
        }
        // The first start is the process's first touch of the driver.
        let start = cold::start(&options.job, wanted, by, &mut report);
        match start.and_then(|()| Device::open(wanted)) {
            Ok(device) => {
                let kind = if device.is_software() {
                    "software"
                } else {
                    "a graphics card"
                };
                report.fact(by, format!("{}, {kind}", device.name()));
                devices.push((device, by));
            }
            Err(fault) => report.fact(by, format!("none: {}", fault.what)),
        }
    }
    if devices.is_empty() {
        return Err(Fault::ours(
            "no driver could draw the demo job",
            "install a graphics driver, and name the demo job with --job",
        ));
    }
    let job = Job::open(&options.job)?;
    let pattern = scenes::pattern();
    for size in SIZES {
        let profile = scenes::profile(size)?;
        let map = profile.mapping()?;
        for mut lay in [
            scenes::demo(&job, &profile, &map)?,
            scenes::full_table(&pattern)?,
        ] {
            scene(&mut lay, &map, size, &devices, options, plan, &mut report)?;
        }
    }
    for size in SIZES {
        for (device, by) in &devices {
            let at = Subject {
                by,
                scene: "live",
                size: Some(size),
            };
            live::drag(device, size, plan, at, &mut report)?;
        }
    }
    println!("{}", report.text());
    if let Some(path) = &options.json {
        std::fs::write(path, format!("{:#}\n", report.json()))
            .map_err(|e| Fault::file("writing the figures", path, &e))?;
    }
    Ok(())
}

/// Everything about one scene in one size.
fn scene(
    lay: &mut Lay,
    map: &Mapping,
    size: [u32; 2],
    devices: &[(Device, &'static str)],
    options: &Options,
    plan: Plan,
    report: &mut Report,
) -> Outcome<()> {
    let at = Subject {
        by: "-",
        scene: lay.name,
        size: Some(size),
    };
    let drawn = lay.drawn(map, size);
    let edges: usize = drawn.iter().map(|d| d.edges().count()).sum();
    let [inside, beside] = lay.labels();
    report.fact(
        format!("scene {} at {}x{}", lay.name, size[0], size[1]),
        format!(
            "{} figures, {edges} edges, {inside} labels inside, {beside} beside",
            drawn.len()
        ),
    );
    let patches = lay.polygons(map);
    let exact = exact(&patches, size);
    let stages = devices.iter().map(|(device, by)| {
        let stage = Stage {
            device,
            map,
            size,
            plan,
        };
        (stage, at.by(by))
    });
    let stages: Vec<_> = stages.collect();
    for (stage, at) in &stages {
        report.error(*at, exact.compare(&stage.linear(lay)?));
    }
    if !options.vulkan_only {
        let merged = [patches.concat()];
        for (names, patches) in [
            (peers::NAMES, patches.as_slice()),
            (peers::NAMES_MERGED, &merged),
        ] {
            for peer in peers::all(names, patches, size, plan, at, report)? {
                report.error(at.by(peer.name), exact.compare(&peer.light));
            }
        }
    }
    // The light of the full table is the same in every size.
    if size == SIZES[0] {
        ours::light(lay, plan, Subject { size: None, ..at }, report)?;
    }
    for (stage, at) in stages {
        stage.frames(lay, at, report)?;
    }
    Ok(())
}

/// The exact light of polygons that do not overlap.
fn exact(patches: &[Patch], [width, height]: [u32; 2]) -> ExactLight {
    let mut exact = ExactLight::new(width as usize, height as usize);
    for ring in patches.iter().flatten() {
        exact.add(ring, 1.0);
    }
    exact
}
