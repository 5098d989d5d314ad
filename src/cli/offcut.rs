//! `offcut`: what is left of a cloth is kept; `spread`: an offcut is taken into another job.

use super::output;
use crate::cloth::OnTable;
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::{Offcut, copy_shade, offcuts};
use crate::work::Op;
use clap::Args;
use std::path::{Path, PathBuf};

/// What falls away round a piece if nobody says otherwise, mm: the band of light.
pub const BORDER: f64 = 3.0;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk offcut demo-data --panel sling --to offcuts\n\nWhat is \
    left when all that has been cut from the panel is gone, each sheet in a file of its own, with \
    its stains and its map of shade. `ghostchalk spread` takes one into another job."
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
    let mm = text.parse().ok().filter(|v: &f64| (0.0..=50.0).contains(v));
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
    for offcut in left {
        let name = format!("{}.toml", offcut.panel.name.replace([' ', '/', '\\'], "-"));
        let plain = words.to.join(name);
        let path = match plain.exists() {
            true => disk::free_name(&plain)?,
            false => plain,
        };
        let offcut = Offcut {
            panel: with_shade(&job.folder, &words.to, &offcut)?,
            ..offcut
        };
        offcut.write(&path)?;
        kept.push((path, offcut));
    }
    if words.json {
        let all = kept.iter().map(|(path, o)| {
            serde_json::json!({
                "file": path.to_string_lossy(), "panel": o.panel.name, "cloth": o.cloth.name,
                "area_cm2": o.area_cm2, "keep_out": o.panel.keep_out.len(),
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

/// The sheet with its map of shade copied beside it, so that the offcut needs the job no more.
fn with_shade(from: &Path, to: &Path, offcut: &Offcut) -> Outcome<crate::cloth::Panel> {
    let mut panel = offcut.panel.clone();
    if let Some(looks) = &mut panel.looks
        && let Some(file) = &looks.shade
    {
        looks.shade = Some(copy_shade(&from.join(file), to)?);
    }
    Ok(panel)
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

fn place(text: &str) -> Result<[f64; 2], String> {
    let mm = |t: &str| t.trim().parse().ok().filter(|v: &f64| v.abs() < 1e5);
    let (x, y) = text.split_once(',').unwrap_or((text, ""));
    match (mm(x), mm(y)) {
        (Some(x), Some(y)) => Ok([x, y]),
        _ => Err("write a place on the table as X,Y in mm, such as 100,300".to_owned()),
    }
}

pub fn spread(words: &SpreadWords) -> Outcome<()> {
    let offcut = Offcut::read(&words.offcut)?;
    let name = output::note(&words.job, |at| {
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
        if at.state.panel(&name).is_some() {
            return Err(Fault::input(
                format!("the job has a panel \"{name}\" already"),
                "give the offcut another name with --as",
            ));
        }
        let mut panel = with_shade(disk::folder_of(&words.offcut), &at.job.folder, &offcut)?;
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
        let op = Op::Panel {
            at: at.state.panels.len(),
            from: None,
            to: Some(Box::new(panel)),
        };
        Ok((vec![op], name))
    })?;
    output::say(&format!(
        "{name} is in the job: {} cm² of {}. Lay it with its lower left corner at {}, {} mm, and draw \
         or point it to its place in the light.",
        offcut.area_cm2.round(),
        offcut.cloth.name,
        words.at[0],
        words.at[1]
    ))
}
