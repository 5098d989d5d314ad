//! `photo`: a photo of the table becomes the shade of each panel.

use super::marks::{Marks, two};
use super::{found, output};
use crate::cloth::Panel;
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::{Job, read_shade, write_shade};
use crate::look::{Asked, Looked, OwnMarks, elsewhere, look};
use crate::measure::numbers;
use crate::raster::Raster;
use crate::space::{Bounds, Photo, Point, Table};
use crate::work::{Op, State};
use clap::Args;
use image::ExtendedColorType;
use std::path::{Path, PathBuf};

/// The largest photo, bytes.
const LARGEST: u64 = 256 << 20;

#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  ghostchalk photo slippers table.jpg --mark 0,0=212,2790 --mark \
    1200,0=3820,2802 --mark 1200,800=3555,310 --mark 0,800=480,305 --white 20,740,120,790\n  \
    ghostchalk photo slippers table.jpg --tag-sheet 950,40 --keep\n  ghostchalk photo slippers table.jpg --tag-sheet 950,40 \
    --panel sling --find --found-picture found.png --take outline,holes,grain\n  ghostchalk photo \
    slippers lower.jpg --tag-sheet 950,40 --panel lower --cloth-mark cross=812,1210 --cloth-mark \
    patch=3105,1188 --keep\n\nA mark is named by its place on \
    the table in mm (or by its number in the job's profile) and about where it is in the photo, in \
    pixels from the top left; its middle is found by itself. Print tags with `ghostchalk sheets`."
)]
pub struct Words {
    /// The job's folder
    pub(super) job: PathBuf,
    /// The photo: JPEG, PNG, WebP or TIFF
    pub(super) photo: PathBuf,
    #[command(flatten)]
    marks: Marks,
    /// A white sheet: left, bottom, right, top on the table, mm
    #[arg(long, value_name = "L,B,R,T")]
    white: Vec<String>,
    /// Bare table, alike wherever it is named: left, bottom, right, top, mm
    #[arg(long, value_name = "L,B,R,T")]
    bare: Vec<String>,
    /// These panels alone; else all that are spread
    #[arg(long = "panel", value_name = "NAME")]
    pub(super) panels: Vec<String>,
    /// The panel lies otherwise than in the job: the lower ply, turned over. A mark of its own,
    /// by its name, and about where it is in the photo, px; two or more
    #[arg(
        long = "cloth-mark",
        value_name = "NAME=PX,PY",
        requires = "panels",
        conflicts_with = "find"
    )]
    cloth_marks: Vec<String>,
    /// The table seen straight from above, as a PNG
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// Look for the panel's cloth: outline, holes, stains and the like, grain, stripes
    #[arg(long, requires = "panels")]
    find: bool,
    /// A place that is cloth, mm on the table, where cloth and table look alike
    #[arg(long, value_name = "X,Y", requires = "find")]
    pub(super) cloth_at: Vec<String>,
    /// A place that is table, likewise
    #[arg(long, value_name = "X,Y", requires = "find")]
    pub(super) table_at: Vec<String>,
    /// What was found, drawn over the table seen from above, as a PNG
    #[arg(long, value_name = "FILE", requires = "find")]
    pub(super) found_picture: Option<PathBuf>,
    /// Take of it into the job, between commas: outline, holes, grain, stripes, or candidates'
    /// numbers
    #[arg(long, value_name = "WHAT", requires = "find")]
    pub(super) take: Option<String>,
    /// Keep the shade in the job
    #[arg(long)]
    keep: bool,
    /// Say it as JSON
    #[arg(long)]
    pub(super) json: bool,
}

pub fn run(words: &Words) -> Outcome<()> {
    let pictures = [&words.picture, &words.found_picture];
    let pictures: Vec<&Path> = pictures
        .into_iter()
        .flatten()
        .map(PathBuf::as_path)
        .collect();
    output::apart(&pictures, &[&words.photo])?;
    for picture in &pictures {
        output::guard_png(picture)?;
    }
    let (mut job, mut state) = output::open_state(&words.job)?;
    for picture in &pictures {
        output::guard_job(picture, &words.job, &job)?;
    }
    let asked = asked(words, &job)?;
    let bytes = disk::read(&words.photo, "reading the photo", LARGEST)?;
    if words.find {
        found::run(words, &asked, &bytes, (&job, &state))?;
        if !words.keep && words.picture.is_none() {
            return Ok(());
        }
        // The shade is of the outline that may just have been taken.
        (job, state) = output::open_state(&words.job)?;
    }
    let panels = chosen(words, &state)?;
    let mut watch = output::progress(words.json);
    let mut looked = look(&bytes, &asked, &panels, &job.stock(), &mut watch)
        .map_err(|f| f.in_file(&words.photo))?
        .ok_or_else(|| Fault::mistake("the photo was left off"))?;
    for (name, now) in &looked.maps {
        let Some(panel) = state.panel(name) else {
            continue;
        };
        let file = panel.looks.as_ref().and_then(|l| l.shade.as_ref());
        // A map that can't be read is made anew.
        let before = file.and_then(|file| read_shade(&job.folder.join(file)).ok());
        looked
            .notes
            .extend(before.and_then(|b| elsewhere(panel, &b, (now, looked.error))));
    }
    if let Some(picture) = &words.picture {
        disk::write_atomic(picture, &above(&looked.above)?)?;
    }
    let mut kept = Vec::new();
    if words.keep {
        kept = keep(words, &looked)?;
    }
    if words.json {
        let marks = looked.pose.marks.iter().map(|m| {
            serde_json::json!({
                "name": m.name, "left_px": [m.left_px.x, m.left_px.y], "chance": m.chance,
            })
        });
        let maps = looked.maps.iter().map(|(name, _)| name.as_str());
        return output::json(&serde_json::json!({
            "rms_px": looked.pose.rms_px,
            "standard_error_mm": looked.error,
            "turned_over": looked.lying.as_ref().map(|l| l.turned_over),
            "uneven": looked.uneven,
            "marks": marks.collect::<Vec<_>>(),
            "panels": maps.collect::<Vec<_>>(),
            "kept": kept,
            "notes": looked.notes,
        }));
    }
    for n in &looked.notes {
        output::tell(&format!("note: {n}"));
    }
    output::say(&format!(
        "{} marks agree to {:.2} px; a place on the cloth is told with a typical miss of {:.2} mm \
         (two in three are nearer than that).",
        looked.pose.marks.len(),
        looked.pose.rms_px,
        looked.error
    ))?;
    if let Some(uneven) = looked.uneven {
        let most = uneven.into_iter().fold(0.0, f64::max);
        output::say(&format!(
            "The light is made even; {:.1} % of unevenness is left where it was looked at.",
            100.0 * most
        ))?;
    }
    for (name, map) in &looked.maps {
        let b = map.bounds();
        output::say(&format!(
            "{name}: shade in {:.0} mm cells over {:.0} × {:.0} mm.",
            map.cell(),
            b.width(),
            b.height()
        ))?;
    }
    output::say(match words.keep {
        true => "The shade is kept in the job.",
        false => "Nothing is kept; say --keep to keep the shade in the job.",
    })
}

fn keep(words: &Words, looked: &Looked) -> Outcome<Vec<String>> {
    output::note(&words.job, |at| {
        let mut ops = Vec::new();
        let mut files = Vec::new();
        for (name, map) in &looked.maps {
            let Some(panel) = at.state.panel(name) else {
                continue;
            };
            let file = write_shade(&at.job.folder, name, map)?;
            files.push(file.clone());
            let mut looks = panel.looks.clone().unwrap_or_default();
            looks.shade = Some(file);
            ops.push(Op::Looks {
                panel: name.clone(),
                from: panel.looks.clone(),
                to: Some(looks),
            });
        }
        Ok((ops, files))
    })
}

fn chosen<'a>(words: &Words, state: &'a State) -> Outcome<Vec<&'a Panel>> {
    if words.panels.is_empty() {
        return Ok(state.panels.iter().filter(|p| p.spread).collect());
    }
    let named = words.panels.iter().map(|name| {
        state.panel(name).ok_or_else(|| {
            let all: Vec<&str> = state.panels.iter().map(|p| p.name.as_str()).collect();
            Fault::input(
                format!("there is no panel \"{name}\""),
                format!("name one of {}", all.join(", ")),
            )
        })
    });
    named.collect()
}

fn rectangle(what: &str, text: &str) -> Outcome<Bounds<Table>> {
    let v = numbers(what, text, &[4])?;
    let bounds = Bounds::new(Point::new(v[0], v[1]), Point::new(v[2], v[3]));
    if bounds.is_empty() {
        return Err(Fault::input(
            format!("{what} is \"{text}\", which encloses nothing"),
            "write left, bottom, right and top in mm",
        ));
    }
    Ok(bounds)
}

fn own_mark(text: &str) -> Outcome<(String, Point<Photo>)> {
    let (name, px) = two("a mark of the cloth", text)?;
    let px = numbers("its place in the photo", px, &[2])?;
    Ok((name.trim().to_owned(), Point::new(px[0], px[1])))
}

fn asked(words: &Words, job: &Job) -> Outcome<Asked> {
    let rectangles = |what: &str, all: &[String]| -> Outcome<Vec<Bounds<Table>>> {
        all.iter().map(|t| rectangle(what, t)).collect()
    };
    let own = match (words.cloth_marks.as_slice(), words.panels.as_slice()) {
        ([], _) => None,
        (marks, [panel]) => Some(OwnMarks {
            panel: panel.clone(),
            clicks: marks.iter().map(|m| own_mark(m)).collect::<Outcome<_>>()?,
        }),
        _ => {
            return Err(Fault::input(
                "marks of a panel are given, and several panels",
                "name the one panel that the photo shows by its own marks",
            ));
        }
    };
    Ok(Asked {
        own,
        white: rectangles("a white sheet", &words.white)?,
        bare: rectangles("bare table", &words.bare)?,
        ..words.marks.asked(job)?
    })
}

/// The table from above, far side up, in sRGB.
fn above(raster: &Raster<[f32; 3], Table>) -> Outcome<Vec<u8>> {
    let (width, height) = (raster.width(), raster.height());
    let mut pixels = Vec::with_capacity(3 * width * height);
    for row in (0..height).rev() {
        for column in 0..width {
            let light = raster.get(column, row).copied().unwrap_or([0.0; 3]);
            // Where the photo doesn't reach it is black.
            pixels.extend(light.map(|v| {
                let v = if v.is_finite() { f64::from(v) } else { 0.0 };
                (255.0 * crate::colour::encode_srgb(v.clamp(0.0, 1.0))).round() as u8
            }));
        }
    }
    disk::png(
        &pixels,
        width as u32,
        height as u32,
        ExtendedColorType::Rgb8,
    )
}
