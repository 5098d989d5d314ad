//! Which tables there are, and how they are made.

use crate::page::{Figures, Run};
use crate::table::{Table, parted};
use crate::{at_root, child, machine};
use clap::Args;
use ghostchalk::disk;
use ghostchalk::fault::{Fault, Outcome};
use std::path::PathBuf;
use std::time::Instant;

#[derive(Debug, Args)]
pub struct All {
    /// Fewer runs and sizes: all of it in three minutes, to see that it works; into target/figures
    #[arg(long)]
    quick: bool,
    /// Only these tables, with commas between them
    #[arg(long, value_delimiter = ',', value_name = "TABLES")]
    only: Vec<String>,
    /// What this machine is called on the page
    #[arg(long)]
    name: Option<String>,
    /// The commit that is measured, where git can't tell
    #[arg(long)]
    commit: Option<String>,
    /// The folder of figures.json and figures.md
    #[arg(long, value_name = "FOLDER")]
    into: Option<PathBuf>,
    /// Runs nothing: adds what figures.json of another machine has
    #[arg(long, value_name = "FILE")]
    merge: Vec<PathBuf>,
}

/// One table, or several that belong together: each call makes some of it.
#[derive(Debug)]
pub struct Entry {
    pub key: &'static str,
    pub title: &'static str,
    pub about: &'static str,
    full: &'static [&'static [&'static str]],
    quick: &'static [&'static [&'static str]],
}

/// In the order of the page.
pub const TABLES: [Entry; 12] = [
    Entry {
        key: "accuracy",
        title: "Where the light lies",
        about: "The closed loop: a simulated table is set by a simulated tape and hand, and the twin finds \
                the inner edge of the light of every cut line. *Stated* is the standard error that the \
                program tells of the same places; if it is true, 95 of 100 places lie within 1.96 of it.",
        full: &[&["accuracy"]],
        quick: &[&["accuracy", "--quick"]],
    },
    Entry {
        key: "frames",
        title: "Frames, beside other rasterisers",
        about: "Peers draw the same polygons in the same run, on one thread of the processor (vello: on the \
                card, or its stand-in). *One path*: all patches filled as one, where nothing is blended \
                over another. Rounding to 8-bit sRGB alone is wrong by .00135 (mean) and .0045 (worst).",
        full: &[&["frames"], &["vello"]],
        quick: &[&["frames", "--quick"], &["vello", "--quick"]],
    },
    Entry {
        key: "cold",
        title: "Cold start",
        about: "From nothing to the first frame of the demo in memory.",
        full: &[&["cold"]],
        quick: &[&["cold", "--quick"]],
    },
    Entry {
        key: "memory",
        title: "Memory",
        about: "The most that a process of its own has held.",
        full: &[&["memory"]],
        quick: &[&["memory", "--quick"]],
    },
    Entry {
        key: "growth",
        title: "Growth",
        about: "An exponent of 1: twice as much takes twice as long. Fitted to the logarithms by least \
                squares, over all sizes and over the upper half, with its standard error.",
        full: &[
            &["growth", "pieces"],
            &["growth", "cloth"],
            &["growth", "photo"],
        ],
        quick: &[
            &["growth", "pieces", "--quick"],
            &["growth", "cloth", "--quick"],
            &["growth", "photo", "--quick"],
        ],
    },
    Entry {
        key: "solve",
        title: "A calibration solved",
        about: "Homography with k1, p1, p2, marks' places weighed, leave-one-out and tests of every mark \
                included. *By differences*: the same unknowns by Gauss-Newton with numeric slopes, started \
                at the answer, weights fixed, and nothing said of the marks. Medians of 31.",
        full: &[&["fits"]],
        quick: &[&["fits"]],
    },
    Entry {
        key: "import",
        title: "Patterns drawn and read",
        about: "A draft drawn anew when a measure changes, large files read.",
        full: &[&["patterns"]],
        quick: &[&["patterns"]],
    },
    Entry {
        key: "shade",
        title: "The shade under a piece",
        about: "Asked while the piece moves; and whether what is stated of it is what happens.",
        full: &[&["shades"]],
        quick: &[&["shades", "times"]],
    },
    Entry {
        key: "place",
        title: "Places for a piece",
        about: "How long the search takes, and how far its best is from the best of every place there is.",
        full: &[&["place"]],
        quick: &[&["place", "times", "--quick"]],
    },
    Entry {
        key: "fit",
        title: "A lay as dense as it can be",
        about: "Two instances of garments from the ESICUP collection on strips of fixed width; the best \
                published (20 minutes on 16 cores): shirts 90.92, trousers 92.58.",
        full: &[&["nest", "--seconds", "60", "--processor", "--seeds", "1"]],
        quick: &[&["nest", "--seconds", "5", "--processor", "--seeds", "1"]],
    },
    Entry {
        key: "photo",
        title: "From a photo to the table",
        about: "Each step by itself; and whether what is stated of marks and mapping is what happens, over \
                many draws of marks and lenses.",
        full: &[&["photo"]],
        quick: &[&["photo", "--quick"]],
    },
    Entry {
        key: "cloths",
        title: "How truly a cloth is found in its photo",
        about: "Cloths drawn by formula. The finder was made with seeds 0 to 49; 2000 to 2049 were held back.",
        full: &[&["cloths", "--only-sums"]],
        quick: &[&["cloths", "--only-sums", "0..4"]],
    },
];

/// Makes what is asked for, a table at a time: each is on the page before the next begins.
/// Whether all could be made.
///
/// # Errors
/// If a table is unknown, or the page can't be read or written.
pub fn run(all: &All) -> Outcome<bool> {
    let known = |key: &String| TABLES.iter().any(|t| t.key == key);
    if let Some(odd) = all.only.iter().find(|key| !known(key)) {
        let keys = TABLES.map(|t| t.key).join(", ");
        return Err(Fault::input(
            format!("there is no table \"{odd}\""),
            format!("take of {keys}"),
        ));
    }
    let usual = match all.quick {
        true => PathBuf::from("target/figures"),
        false => at_root("benches"),
    };
    let readme = (all.into.is_none() && !all.quick).then(|| at_root("README.md"));
    let folder = all.into.clone().unwrap_or(usual);
    disk::make_folder(&folder)?;
    let mut figures = Figures::of_folder(&folder)?;
    if !all.merge.is_empty() {
        for file in &all.merge {
            figures.merge(Figures::read(file)?);
        }
        figures.write(&folder, readme.as_deref())?;
        return Ok(true);
    }
    let facts = machine::facts();
    let name = all.name.clone().unwrap_or_else(|| machine::name(&facts));
    let commit = all.commit.clone().or_else(machine::commit);
    let commit = commit.unwrap_or_else(|| "unknown".to_owned());
    let mut sound = true;
    let wanted = |t: &&Entry| all.only.is_empty() || all.only.iter().any(|key| t.key == key);
    for entry in TABLES.iter().filter(wanted) {
        eprintln!("== {}", entry.key);
        let calls = if all.quick { entry.quick } else { entry.full };
        let mut run = Run {
            commit: commit.clone(),
            date: machine::today(),
            quick: all.quick,
            load: machine::load(),
            ..Run::default()
        };
        let (start, mut made) = (Instant::now(), 0);
        for call in calls {
            let command = format!("figures one {}", call.join(" "));
            let said = child(call).map(|said| parted(&said));
            match said {
                Ok((words, raw)) => {
                    run.raw.extend(raw);
                    run.text += words.trim();
                    made += 1;
                }
                Err(fault) => {
                    eprintln!("{fault}");
                    run.text += &format!("`{command}` could not be run here.");
                    sound = false;
                }
            }
            run.text += "\n\n";
            run.commands.push(command);
        }
        run.seconds = start.elapsed().as_secs_f64().round();
        run.tables = Table::read_all(&run.text);
        if made > 0 {
            figures.put(&name, &facts, entry.key, run);
            figures.write(&folder, readme.as_deref())?;
        }
    }
    eprintln!("{}", folder.join("figures.md").display());
    Ok(sound)
}
