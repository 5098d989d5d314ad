//! What a frame costs, here and with other rasterisers; see the README.

use crate::drivers::{DRIVERS, told};
use crate::report::{Report, Subject};
use crate::scenes::{self, Lay, Patch, SIZES};
use crate::timing::Plan;
use crate::{demo_folder, live, ours, peers, said};
use ghostchalk::fault::{Fault, Outcome};
use ghostchalk::job::Job;
use ghostchalk::projection::Mapping;
use ghostchalk::render::Device;
use ghostchalk::twin::exact::ExactLight;
use ours::Stage;

/// `--quick`: fewer runs, of the smaller picture alone, to see that it works. `--no-peers`:
/// ours alone.
///
/// # Errors
/// If no driver can draw the demo.
pub fn run(words: &[String]) -> Outcome<()> {
    let (plan, sizes, ways) = match said(words, "--quick") {
        true => (Plan::QUICK, 1, 1),
        false => (Plan::FULL, SIZES.len(), WAYS.len()),
    };
    let ways = if said(words, "--no-peers") { 0 } else { ways };
    let mut report = Report::default();
    let mut devices = Vec::new();
    for (wanted, by) in DRIVERS {
        match Device::open(wanted) {
            Ok(device) => {
                report.fact(by, told(&device));
                devices.push((device, by));
            }
            Err(fault) => report.fact(by, format!("none: {}", fault.what)),
        }
    }
    if devices.is_empty() {
        return Err(Fault::ours(
            "no driver could draw the demo job",
            "install a graphics driver",
        ));
    }
    let job = Job::open(&demo_folder())?;
    let pattern = scenes::pattern();
    for size in SIZES.into_iter().take(sizes) {
        let profile = scenes::profile(size)?;
        let map = profile.mapping()?;
        for mut lay in [
            scenes::demo(&job, &profile, &map)?,
            scenes::full_table(&pattern)?,
        ] {
            scene(&mut lay, &map, size, &devices, ways, plan, &mut report)?;
        }
    }
    for size in SIZES.into_iter().take(sizes) {
        for (device, by) in &devices {
            let at = Subject {
                by,
                scene: "live",
                size: Some(size),
            };
            live::drag(device, size, plan, at, &mut report)?;
        }
    }
    report.print();
    Ok(())
}

/// The two ways in which the peers draw.
const WAYS: [[&str; 3]; 2] = [peers::NAMES, peers::NAMES_MERGED];

/// Everything about one scene in one size; the peers draw in so many ways.
fn scene(
    lay: &mut Lay,
    map: &Mapping,
    size: [u32; 2],
    devices: &[(Device, &'static str)],
    ways: usize,
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
    let merged = [patches.concat()];
    let patches = [patches.as_slice(), merged.as_slice()];
    for (names, patches) in WAYS.into_iter().zip(patches).take(ways) {
        for peer in peers::all(names, patches, size, plan, at, report)? {
            report.error(at.by(peer.name), exact.compare(&peer.light));
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
pub fn exact(patches: &[Patch], [width, height]: [u32; 2]) -> ExactLight {
    let mut exact = ExactLight::new(width as usize, height as usize);
    for ring in patches.iter().flatten() {
        exact.add(ring, 1.0);
    }
    exact
}
