//! The most memory that each piece of work takes: each in a process of its own.

use crate::own::most_memory;
use crate::scenes::{self, SIZES};
use crate::table::Table;
use crate::timing::Plan;
use crate::{child, demo_folder, live, patterns, photo, place, said, scratch, shades};
use ghostchalk::cloth::shade::{CELL, Doubt, Ground, ShadeMap, Shading};
use ghostchalk::drawing::read::{self, ReadOptions};
use ghostchalk::fault::{Fault, Outcome};
use ghostchalk::job::Job;
use ghostchalk::render::{Canvas, Device, Rect, Wanted};
use std::hint::black_box;

/// A name, what it is, and whether it is quickly done.
const WORK: [(&str, &str, bool); 11] = [
    ("nothing", "the program alone", true),
    ("job", "the demo job opened", true),
    ("demo", "the demo's frame, 1920x1080", true),
    ("demo 4k", "the demo's frame, 3840x2160", true),
    ("200", "200 pieces, 3840x2160", false),
    ("2000", "2000 pieces, 1920x1080", false),
    (
        "live",
        "the live table: 40 pieces, one dragged, 1920x1080",
        true,
    ),
    ("pdf", "a PDF of 160 000 curves read, 11 MB", false),
    ("tiles", "a PDF of 50 tiled pages read", true),
    (
        "shade",
        "the shade of 1200 x 800 mm, from light every 0.5 mm",
        true,
    ),
    ("place", "a place sought on 1200 x 800 mm of cloth", true),
];

/// Photos, px: read, their marks found, laid out from above.
const PHOTOS: [(&str, [usize; 2]); 2] = [("12 MP", [4000, 3000]), ("48 MP", [8000, 6000])];

/// `--quick` leaves out what takes long. A name does that work in this process and tells of
/// it in MB.
///
/// # Errors
/// If some work can't be done.
pub fn run(words: &[String]) -> Outcome<()> {
    let quick = said(words, "--quick");
    match words {
        [name] if !quick => {
            work(name)?;
            println!("{}", most_memory());
            return Ok(());
        }
        [name, path] => {
            from_photo(name, path)?;
            println!("{}", most_memory());
            return Ok(());
        }
        _ => {}
    }
    let mut table = Table::new(["work"], ["most memory, MB"]);
    for (name, what, _) in WORK.iter().filter(|w| w.2 || !quick) {
        table.row([(*what).to_owned(), told(&["memory", name])]);
    }
    let folder = scratch()?;
    for (name, size) in PHOTOS.into_iter().take(if quick { 1 } else { 2 }) {
        // Drawn here: only reading it shall count.
        let path = folder.path().join("photo.jpg");
        std::fs::write(&path, photo::drawn(size))
            .map_err(|e| Fault::file("writing the photo", &path, &e))?;
        let mb = told(&["memory", name, &path.to_string_lossy()]);
        table.row([format!("a photo of {name}, from above"), mb]);
    }
    println!(
        "The driver's own memory counts where it is in this process: all of a software driver's.\n"
    );
    table.print();
    Ok(())
}

fn told(words: &[&str]) -> String {
    let said = child(words).ok().and_then(|s| s.trim().parse::<f64>().ok());
    said.map_or("not done".to_owned(), |mb| format!("{mb:.0}"))
}

fn work(name: &str) -> Outcome<()> {
    match name {
        "nothing" => {}
        "job" => drop(black_box(Job::open(&demo_folder())?)),
        "demo" => demo(SIZES[0])?,
        "demo 4k" => demo(SIZES[1])?,
        "200" => grid(200, SIZES[1])?,
        "2000" => grid(2000, SIZES[0])?,
        "live" => {
            let mut report = crate::report::Report::default();
            let at = crate::report::Subject {
                by: "-",
                scene: "live",
                size: Some(SIZES[0]),
            };
            let device = Device::open(Wanted::Best)?;
            live::drag(&device, SIZES[0], Plan::QUICK, at, &mut report)?;
        }
        "pdf" => drop(black_box(read::parse(
            &patterns::pdf(160_000),
            &ReadOptions::default(),
        )?)),
        "tiles" => drop(black_box(read::parse(
            &patterns::tiles(),
            &patterns::laid_together(),
        )?)),
        "shade" => {
            let lightness =
                |p: ghostchalk::space::Point<ghostchalk::space::Cloth>| 60.0 + 0.03 * p.x;
            let light = shades::lit([600.0, 400.0], 0.5, 0.0, lightness, 1);
            let all = |_, _| Ground::Cloth;
            let map = ShadeMap::measure(&light, [1.0; 3], CELL, Doubt::default(), all)?;
            black_box(Shading::new(map, Some(24.0)));
        }
        "place" => {
            black_box(place::seek([1200.0, 800.0]));
        }
        _ => {
            return Err(Fault::input(
                format!("no work is called \"{name}\""),
                "leave the name out",
            ));
        }
    }
    Ok(())
}

fn demo(size: [u32; 2]) -> Outcome<()> {
    let job = Job::open(&demo_folder())?;
    let profile = scenes::profile(size)?;
    let map = profile.mapping()?;
    frame(&scenes::demo(&job, &profile, &map)?, size)
}

fn grid(count: usize, size: [u32; 2]) -> Outcome<()> {
    frame(&scenes::grid(&scenes::pattern(), "grid", count)?, size)
}

fn frame(lay: &scenes::Lay, size: [u32; 2]) -> Outcome<()> {
    let map = scenes::profile_over(lay.table, size)?.mapping()?;
    let device = Device::open(Wanted::Best)?;
    let mut canvas = Canvas::new(&device, size[0], size[1])?;
    canvas.redraw(Rect::of_size(size[0], size[1]), &lay.drawn(&map, size));
    black_box(canvas.read()?);
    Ok(())
}

fn from_photo(name: &str, path: &str) -> Outcome<()> {
    let known = PHOTOS.iter().find(|p| p.0 == name);
    let (_, size) = known.ok_or_else(|| {
        Fault::input(
            format!("no photo is called \"{name}\""),
            "leave the words out",
        )
    })?;
    let path = std::path::Path::new(path);
    let bytes = std::fs::read(path).map_err(|e| Fault::file("reading the photo", path, &e))?;
    black_box(photo::timed(&bytes, *size, 1));
    Ok(())
}
