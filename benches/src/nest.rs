//! How densely parts are laid on a strip of fixed width, over time: two instances of garments
//! from the ESICUP collection.

use crate::own::worked;
use clap::Parser;
use ghostchalk::lay::fit::{Effort, StripPart, strip};
use ghostchalk::shape::{Region, intersection, signed_area};
use ghostchalk::space::{Cloth, Piece, Point};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Instances in the JSON form of benches/data.
#[derive(Debug, Parser)]
struct Args {
    /// Instances; those of benches/data if none is named.
    files: Vec<PathBuf>,
    /// Seconds, for each instance and seed.
    #[arg(long, default_value_t = 60.0)]
    seconds: f64,
    /// Of the processor instead of the clock: for a machine that is shared. All threads count.
    #[arg(long)]
    processor: bool,
    #[arg(long, default_value_t = 2)]
    workers: usize,
    #[arg(long, default_values_t = [1, 2, 3])]
    seeds: Vec<u64>,
}

/// Densities are told so often.
const STATIONS: [f64; 6] = [0.02, 0.1, 0.25, 0.5, 0.75, 1.0];

pub fn run(words: &[String]) {
    let mut args =
        Args::parse_from(std::iter::once("nest").chain(words.iter().map(String::as_str)));
    if args.files.is_empty() {
        args.files = ["shirts.json", "trousers.json"]
            .map(|f| crate::at_root("benches/data").join(f))
            .to_vec();
    }
    let of = if args.processor { "processor" } else { "clock" };
    print!("| instance | seed |");
    for s in STATIONS {
        print!(" {:.0} s |", s * args.seconds);
    }
    println!(" length | passes | places tried | worst overlap |");
    println!("| --- | ---: |{}", " ---: |".repeat(STATIONS.len() + 4));
    for file in &args.files {
        let (parts, width) = read(file);
        for &seed in &args.seeds {
            lay(file, &parts, width, seed, &args);
        }
    }
    println!(
        "\nDensity, per cent, by seconds of the {of}; overlap in the instance's unit, squared."
    );
}

fn read(file: &Path) -> (Vec<StripPart>, f64) {
    let text = std::fs::read_to_string(file).expect("an instance that can be read");
    let instance: Value = serde_json::from_str(&text).expect("JSON");
    let number = |v: &Value| v.as_f64().expect("a number");
    let list = |v: &Value| v.as_array().cloned().expect("a list");
    let mut parts = Vec::new();
    for item in list(&instance["items"]) {
        let corners = list(&item["shape"]["data"]);
        let mut ring: Vec<Point<Piece>> = corners
            .iter()
            .map(|p| Point::new(number(&p[0]), number(&p[1])))
            .collect();
        if ring.first() == ring.last() {
            ring.pop();
        }
        if signed_area(&ring) < 0.0 {
            ring.reverse();
        }
        let part = StripPart {
            outline: Region::ring(ring),
            turns_deg: list(&item["allowed_orientations"])
                .iter()
                .map(number)
                .collect(),
        };
        parts.extend(vec![part; number(&item["demand"]) as usize]);
    }
    (parts, number(&instance["strip_height"]))
}

fn lay(file: &Path, parts: &[StripPart], width: f64, seed: u64, args: &Args) {
    let effort = Effort {
        seed,
        passes: u64::MAX,
        workers: args.workers,
    };
    let (began, used) = (Instant::now(), worked());
    let spent = || match args.processor {
        true => worked() - used,
        false => began.elapsed().as_secs_f64(),
    };
    let mut told = Vec::new();
    let lay = strip(parts, width, &effort, &mut |p| {
        let now = spent();
        while told.len() < STATIONS.len() && now >= STATIONS[told.len()] * args.seconds {
            told.push(p.density);
        }
        now < args.seconds
    });
    let lay = lay.expect("an instance that can be laid");
    let laid: Vec<Region<Cloth>> = (parts.iter().zip(&lay.poses))
        .map(|(p, pose)| p.outline.moved(pose))
        .collect();
    let pairs = (0..laid.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
    let overlaps = pairs.map(|(a, b)| intersection(&laid[a], &laid[b]).area().abs());
    let name = file.file_stem().unwrap_or_default().to_string_lossy();
    print!("| {name} | {seed} |");
    for d in &told {
        print!(" {d:.2} |");
    }
    println!(
        " {:.3} | {} | {} | {:.0e} |",
        lay.length,
        lay.passes,
        lay.tried,
        overlaps.fold(0.0, f64::max)
    );
}
