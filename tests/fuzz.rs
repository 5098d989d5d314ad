//! A short run of every fuzz target: its seeds, what was once found, and some thousands of
//! mutations of them, the same each time. `fuzz/run` goes on from there with a fuzzer.

// Not every target's workings are needed here.
#[allow(dead_code)]
#[path = "../fuzz/src/targets/mod.rs"]
mod targets;

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use targets::{ALL, Target};

/// Mutations of a target's inputs; fewer where one takes a fifth of a second.
fn mutations(name: &str) -> usize {
    match name {
        "band" | "fit" => 30,
        "pdf" | "saved" | "sought" => 150,
        _ => 400,
    }
}
/// How many bytes all of a target's mutations may have together.
const MOST_BYTES: usize = 1 << 21;
/// Larger seeds are run as they are, and not mutated: the fuzzer has time for those.
const LARGEST: usize = 1 << 15;

/// The files that a seed's pattern means: a folder, and a name with one star or none.
fn files(pattern: &str) -> Vec<PathBuf> {
    let (folder, name) = pattern.rsplit_once('/').unwrap();
    let (before, after) = name.split_once('*').unwrap_or((name, ""));
    let whole = !name.contains('*');
    let mut found: Vec<PathBuf> = (std::fs::read_dir(folder).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            let n = path.file_name().unwrap().to_string_lossy();
            if whole {
                n == name
            } else {
                n.starts_with(before) && n.ends_with(after)
            }
        })
        .collect();
    found.sort();
    found
}

/// Panics with the input's name, and what of it to keep.
fn try_one(target: &Target, name: &str, input: &[u8]) {
    if catch_unwind(AssertUnwindSafe(|| (target.run)(input))).is_err() {
        let kept = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{}-finding", target.name));
        std::fs::write(&kept, input).unwrap();
        panic!(
            "{} fails on {name}; the input is {}",
            target.name,
            kept.display()
        );
    }
}

/// Bytes that a reader's author may not have thought of.
const ODD: &[&[u8]] = &[
    b"-1",
    b"0",
    b"1e308",
    b"-1e308",
    b"nan",
    b"inf",
    b"4294967296",
    b"99999999999999999999",
    b"[",
    b"{",
    b"(",
    b"\"",
    b"\0",
    b"\n",
    b"\xff\xfe",
    b"\xc3\xa4",
    b"<",
    b">",
    b"=",
    b",",
];

fn mutated(random: &mut ChaCha8Rng, seeds: &[Vec<u8>]) -> Vec<u8> {
    let mut input = seeds[random.random_range(0..seeds.len())].clone();
    for _ in 0..random.random_range(1..5) {
        let at = random.random_range(0..=input.len());
        let to = (at + random.random_range(0..32)).min(input.len());
        match random.random_range(0..6) {
            0 if at < input.len() => input[at] ^= 1 << random.random_range(0..8),
            1 => drop(input.drain(at..to)),
            2 => {
                let again = input[at..to].to_vec();
                input.splice(at..at, again);
            }
            3 => drop(input.splice(
                at..to,
                ODD[random.random_range(0..ODD.len())].iter().copied(),
            )),
            4 => {
                // Another's end after this one's beginning.
                let other = &seeds[random.random_range(0..seeds.len())];
                let from = random.random_range(0..=other.len());
                input.truncate(at);
                input.extend_from_slice(&other[from..]);
            }
            _ => {
                let mut noise = [0; 8];
                random.fill_bytes(&mut noise);
                input.splice(at..to, noise);
            }
        }
    }
    input
}

fn smoke(name: &str) {
    let target = ALL.iter().find(|t| t.name == name).unwrap();
    let mut seeds = Vec::new();
    for pattern in target.seeds {
        let found = files(pattern);
        assert!(!found.is_empty(), "{name}: there is no {pattern}");
        for path in found {
            let bytes = std::fs::read(&path).unwrap();
            try_one(target, &path.display().to_string(), &bytes);
            seeds.push(bytes);
        }
    }
    let regressions = format!("fuzz/regressions/{name}");
    if Path::new(&regressions).is_dir() {
        for path in files(&format!("{regressions}/*")) {
            try_one(
                target,
                &path.display().to_string(),
                &std::fs::read(&path).unwrap(),
            );
        }
    }
    seeds.retain(|bytes| bytes.len() <= LARGEST);
    seeds.push(Vec::new());
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let mut bytes = 0;
    for k in 0..mutations(name) {
        let input = mutated(&mut random, &seeds);
        bytes += input.len();
        if bytes > MOST_BYTES {
            break;
        }
        try_one(target, &format!("mutation {k}"), &input);
    }
}

/// A test of its own for each, so that they run side by side.
macro_rules! smoke {
    ($($name:ident)*) => {
        const TRIED: &[&str] = &[$(stringify!($name)),*];
        $(#[test] fn $name() { smoke(stringify!($name)); })*
    };
}

smoke!(svg pdf dxf draft formula seams job offcut saved journal order points tape profile photo exif
    colours shade length words reading offset walk band place sought fit);

#[test]
fn every_target_is_tried_and_can_be_built() {
    let named: Vec<&str> = ALL.iter().map(|t| t.name).collect();
    assert_eq!(named, TRIED);
    let bins = std::fs::read_to_string("fuzz/Cargo.toml").unwrap();
    for name in named {
        assert!(
            bins.contains(&format!("path = \"fuzz_targets/{name}.rs\"")),
            "{name} is no bin"
        );
        let file = std::fs::read_to_string(format!("fuzz/fuzz_targets/{name}.rs")).unwrap();
        assert!(
            file.contains(&format!("::{}.run", name.to_uppercase())),
            "{name}.rs runs another"
        );
    }
}
