//! `offcut`: what is left of a cloth is kept; `spread`: an offcut is taken into another job.

use super::output;
use crate::cloth::{OnTable, Panel};
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::{Offcut, copy_shade, offcut_name, offcuts, uncut};
use crate::work::Op;
use clap::Args;
use std::path::{Path, PathBuf};

/// What falls away round a piece if nobody says otherwise, mm: the band of light.
pub const BORDER: f64 = 3.0;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk offcut demo-data --panel sling --to offcuts\n\nWhat is \
    left when all that has been cut from the panel is gone, each sheet in a file of its own, with \
    its stains and its map of shade; under pieces that are not cut yet the cloth is still there, and \
    counts. `ghostchalk spread` takes one into another job."
)]
pub struct Words {
    /// The job's folder
    job: PathBuf,
    /// The panel that was cut from
    #[arg(long, value_name = "NAME")]
    panel: String,
    /// The folder that the offcuts are kept in; made if it isn't there
    #[arg(long, value_name = "DIR")]
    to: PathBuf,
    /// What fell away round each piece, mm
    #[arg(long, value_name = "MM", default_value_t = BORDER, value_parser = border)]
    border: f64,
    /// Say what was kept, as JSON
    #[arg(long)]
    json: bool,
}

fn border(text: &str) -> Result<f64, String> {
    let mm = output::number(text).ok();
    let mm = mm.filter(|v| (0.0..=50.0).contains(v));
    mm.ok_or_else(|| "give 0 to 50 mm".to_owned())
}

pub fn run(words: &Words) -> Outcome<()> {
    let (job, state) = output::open_state(&words.job)?;
    let left = offcuts(
        &job.file.name,
        &job.stock(),
        &state,
        &words.panel,
        words.border,
    )?;
    if left.is_empty() {
        return output::say(&format!(
            "Nothing of {} is large enough to keep.",
            words.panel
        ));
    }
    disk::make_folder(&words.to)?;
    let mut kept = Vec::new();
    for mut offcut in left {
        with_shade(&job.folder, &words.to, &mut offcut.panel)?;
        let (name, path) = free(&words.to, &words.panel)?;
        offcut.panel.name = name;
        offcut.write(&path)?;
        kept.push((path, offcut));
    }
    let uncut = uncut(&state, &words.panel);
    if !uncut.is_empty() {
        output::tell(&format!(
            "note: what lies uncut on {} is counted as left with it: {}; cut it first, or take it away.",
            words.panel,
            few(&uncut)
        ));
    }
    if words.json {
        let all = kept.iter().map(|(path, o)| {
            serde_json::json!({
                "file": path.to_string_lossy(), "panel": o.panel.name, "cloth": o.cloth.name,
                "area_cm2": o.area_cm2, "keep_out": o.panel.keep_out.len(), "uncut": uncut,
            })
        });
        return output::json(&all.collect());
    }
    for (path, o) in &kept {
        output::say(&format!(
            "{}: {} cm² of {}, kept in {}.",
            o.panel.name,
            o.area_cm2.round(),
            o.cloth.name,
            path.display()
        ))?;
    }
    Ok(())
}

/// The first of so many names, and how many more there are.
fn few(names: &[String]) -> String {
    const SHOWN: usize = 6;
    let more = match names.len().saturating_sub(SHOWN) {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    names[..names.len().min(SHOWN)].join(", ") + &more
}

/// Offcuts of a panel are kept in one folder at most.
const MOST: usize = 10_000;

/// The next offcut's name, and its file in a folder: the first number that nothing there has.
fn free(to: &Path, panel: &str) -> Outcome<(String, PathBuf)> {
    for n in 1..MOST {
        let name = offcut_name(panel, n);
        let path = to.join(format!("{}.toml", name.replace([' ', '/', '\\'], "-")));
        if path.symlink_metadata().is_err() {
            return Ok((name, path));
        }
    }
    Err(Fault::input(
        format!("there are ten thousand offcuts of {panel} already"),
        "move the old ones to another folder",
    )
    .in_file(to))
}

/// The sheet's map of shade is copied beside it, so that the offcut needs the job no more.
fn with_shade(from: &Path, to: &Path, panel: &mut Panel) -> Outcome<()> {
    if let Some(looks) = &mut panel.looks
        && let Some(file) = &looks.shade
    {
        looks.shade = Some(copy_shade(&from.join(file), to)?);
    }
    Ok(())
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk spread offcuts/sling-offcut-1.toml --job slippers-2 --at \
    100,300\n\nThe offcut becomes a panel of the job, where you lay it on the table."
)]
pub struct SpreadWords {
    /// The offcut's file
    offcut: PathBuf,
    /// The job that takes it
    #[arg(long, value_name = "DIR")]
    job: PathBuf,
    /// Where its lower left corner lies on the table, mm
    #[arg(long, value_name = "X,Y", default_value = "50,50", value_parser = place)]
    at: [f64; 2],
    /// What it is called there
    #[arg(long = "as", value_name = "NAME", value_parser = output::name)]
    name: Option<String>,
}

/// What lies so far from the table's origin is no place on it, mm.
const FAR: f64 = 1e5;

fn place(text: &str) -> Result<[f64; 2], String> {
    let mm = |t: &str| t.trim().parse().ok().filter(|v: &f64| v.is_finite());
    let (x, y) = text.split_once(',').unwrap_or((text, ""));
    match (mm(x), mm(y)) {
        (Some(x), Some(y)) if x.abs().max(y.abs()) >= FAR => {
            Err("that is too far off the table; write X,Y in mm, below 100 m each way".to_owned())
        }
        (Some(x), Some(y)) => Ok([x, y]),
        _ => Err("write a place on the table as X,Y in mm, such as 100,300".to_owned()),
    }
}

pub fn spread(words: &SpreadWords) -> Outcome<()> {
    let offcut = Offcut::read(&words.offcut)?;
    let (name, twice) = output::note(&words.job, |at| {
        let cloths = &at.job.file.cloths;
        if !cloths.iter().any(|c| c.name == offcut.cloth.name) {
            let all: Vec<&str> = cloths.iter().map(|c| c.name.as_str()).collect();
            return Err(Fault::input(
                format!(
                    "this job has no cloth \"{}\", of which the offcut is",
                    offcut.cloth.name
                ),
                format!("add it to the job, which has {}", all.join(", ")),
            )
            .in_file(&words.job));
        }
        let name = words.name.clone().unwrap_or(offcut.panel.name.clone());
        if name.trim().is_empty() {
            return Err(
                Fault::input("the offcut's name is blank", "give it one with --as")
                    .in_file(&words.offcut),
            );
        }
        if at.state.panel(&name).is_some() {
            return Err(Fault::input(
                format!("the job has a panel \"{name}\" already"),
                "give the offcut another name with --as",
            ));
        }
        let mut panel = offcut.panel.clone();
        with_shade(disk::folder_of(&words.offcut), &at.job.folder, &mut panel)?;
        let corner = panel
            .outline()?
            .bounds()
            .map_or([0.0; 2], |b| [b.min.x, b.min.y]);
        panel.on_table = OnTable {
            x_mm: words.at[0] - corner[0],
            y_mm: words.at[1] - corner[1],
            turn_deg: 0.0,
        };
        panel.name.clone_from(&name);
        let of = offcut.left_of().and_then(|of| at.state.panel(of));
        let of = of.filter(|p| p.spread && offcut.from == at.job.file.name);
        let twice = of.map(|p| p.name.clone());
        let op = Op::Panel {
            at: at.state.panels.len(),
            from: None,
            to: Some(Box::new(panel)),
        };
        Ok((vec![op], (name, twice)))
    })?;
    if let Some(of) = twice {
        output::tell(&format!(
            "note: {of} lies in this job still, and the offcut was left from it: its cloth counts twice \
             until you put {of} away."
        ));
    }
    output::say(&format!(
        "{name} is in the job: {} cm² of {}. Lay it with its lower left corner at {}, {} mm, then \
         move it into its outline of light.",
        offcut.area_cm2.round(),
        offcut.cloth.name,
        words.at[0],
        words.at[1]
    ))
}
