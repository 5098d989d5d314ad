//! `seen`: whether the guides are seen on this cloth, in this room, and what helps most.

mod picture;

use super::marks::Marks;
use super::output;
use crate::cloth::Panel;
use crate::cloth::seen::{Advice, Guide, Remedy, Sight};
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::frame::band;
use crate::job::Job;
use crate::lay::Laid;
use crate::look::{SeenLay, Stretch, seen};
use crate::work::{BANDS, State, WASTE, Ways};
use clap::Args;
use std::path::PathBuf;

/// The largest photo, bytes.
const LARGEST: u64 = 256 << 20;

/// Stretches that are told of one piece at most, and the shortest, mm: a hand that knows the
/// way steers over less. The picture and JSON have them all.
const TOLD: usize = 4;
const LEAST: f64 = 10.0;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk seen slippers dark.jpg white.jpg --tag-sheet 950,40 \
    --picture seen.png\n\nPut the camera on a stand, lock its exposure and white balance with the \
    table lit white (key 4: plain light), take that photo, then the one with the table dark (key 5). \
    Have the room's light as it will be while you cut. Marks are named as for `ghostchalk photo`; \
    both photos are placed by the same."
)]
pub struct Words {
    /// The job's folder
    job: PathBuf,
    /// The photo with the projector dark: JPEG, PNG, WebP or TIFF
    dark: PathBuf,
    /// The photo with the projector white
    white: PathBuf,
    #[command(flatten)]
    marks: Marks,
    /// The table from above with its guides: solid where they are seen, dashed where they are
    /// hard to see, dotted where they will be lost; as a PNG
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// Say it as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(words: &Words) -> Outcome<()> {
    if let Some(picture) = &words.picture {
        output::apart(&[picture], &[&words.dark, &words.white])?;
        output::guard_png(picture)?;
    }
    let (job, state) = output::open_state(&words.job)?;
    if let Some(picture) = &words.picture {
        output::guard_job(picture, &words.job, &job)?;
    }
    let asked = words.marks.asked(&job)?;
    let stock = job.stock();
    let placed = state.placed.iter().filter(|(id, p)| {
        let spread = state.panel(&p.panel).is_some_and(|q| q.spread);
        spread && !state.cuts.has(**id)
    });
    let laid: Vec<Laid> = placed
        .filter_map(|(_, p)| stock.laid(p, &state.panels))
        .collect();
    let open = |p: &&Panel| p.spread && p.under.is_none();
    let panels: Vec<&Panel> = state.panels.iter().filter(open).collect();
    let guide = guide(&job, &state, &laid)?;
    let read = |path: &PathBuf| disk::read(path, "reading the photo", LARGEST);
    let (dark, white) = (read(&words.dark)?, read(&words.white)?);
    let files = format!("{} and {}", words.dark.display(), words.white.display());
    let mut watch = output::progress(words.json);
    let found = seen([&dark, &white], &asked, &laid, &panels, &guide, &mut watch)
        .map_err(|f| f.at(&files))?
        .ok_or_else(|| Fault::mistake("the photos were left off"))?;
    if found.advice.places() == 0 {
        return Err(Fault::input(
            "along the guides nothing can be measured from the two photos",
            "check the marks, and lock an exposure at which the cloth is neither black nor white",
        )
        .at(&files));
    }
    if let Some(path) = &words.picture {
        disk::write_atomic(path, &picture::png(&found)?)?;
    }
    if words.json {
        return output::json(&json(&found, &guide));
    }
    for note in &found.notes {
        output::tell(&format!("note: {note}"));
    }
    say(&found, &guide, &state.ways)
}

/// How the lay's guides are lit, by the job's light; the band as wide as it is lit, where the
/// table is set.
fn guide(job: &Job, state: &State, laid: &[Laid]) -> Outcome<Guide> {
    let ways = &state.ways;
    let work_light = f64::from(ways.work_light) / 100.0;
    let wished = ways.lit_width();
    let band = match job.profile()? {
        Some(profile) => band(laid, &profile.mapping()?, &profile, wished)?,
        None => wished,
    };
    Ok(Guide {
        // A guide is lit with what the work light leaves.
        brightness: work_light + (1.0 - work_light) * f64::from(ways.brightness) / 100.0,
        work_light,
        tint: ways.colour,
        band,
        widest: *BANDS.end(),
        waste: WASTE,
    })
}

/// Contrast at its worst, and in the middle of all.
fn contrasts(advice: &Advice) -> [f64; 2] {
    let mut all: Vec<f64> = advice.measured().map(|s| s.contrast).collect();
    all.sort_by(f64::total_cmp);
    [0, all.len() / 2].map(|k| all.get(k).copied().unwrap_or(1.0))
}

fn word(sight: Sight) -> &'static str {
    match sight {
        Sight::Seen => "seen",
        Sight::Hard => "hard to see",
        Sight::Lost => "lost",
    }
}

/// All of the lay's guides that are seen so, mm.
fn length(found: &SeenLay, sight: Option<Sight>) -> f64 {
    found.pieces.iter().map(|p| p.length(sight)).sum()
}

fn say(found: &SeenLay, guide: &Guide, ways: &Ways) -> Outcome<()> {
    let advice = &found.advice;
    let [worst, typical] = contrasts(advice);
    let lit = match ways.waste {
        true => "the waste lit".to_owned(),
        false => format!("a band of {:.1} mm", guide.band),
    };
    output::say(&format!(
        "With {} guides at {} %, work light at {} % and {lit}, their contrast is {worst:.2} : 1 at its \
         worst and {typical:.2} : 1 typically.",
        ways.colour.words(),
        ways.brightness,
        ways.work_light
    ))?;
    let [seen, hard, lost] =
        [Sight::Seen, Sight::Hard, Sight::Lost].map(|s| length(found, Some(s)));
    output::say(&format!(
        "Of {:.0} mm of guide {seen:.0} mm is plainly seen, {hard:.0} mm is hard to see, {lost:.0} mm \
         will be lost.",
        seen + hard + lost
    ))?;
    let unknown = length(found, None);
    if unknown > 0.0 {
        output::say(&format!(
            "Of {unknown:.0} mm more it can't be told: it is too dark, blown out or not in the photos."
        ))?;
    }
    for piece in &found.pieces {
        let mut all = piece.stretches();
        all.retain(|s| s.length >= LEAST);
        all.sort_by(|a, b| a.sight.cmp(&b.sight).then(b.length.total_cmp(&a.length)));
        if all.is_empty() {
            continue;
        }
        let more = match all.len().saturating_sub(TOLD) {
            0 => String::new(),
            n => format!("; {n} more"),
        };
        let each: Vec<String> = all.iter().take(TOLD).map(place).collect();
        output::say(&format!("{}: {}{more}.", piece.name, each.join("; ")))?;
    }
    helps(advice, ways)
}

fn place(s: &Stretch) -> String {
    format!(
        "{} for {:.0} mm about ({:.0}, {:.0}) mm, contrast {:.2}",
        word(s.sight),
        s.length,
        s.at.x,
        s.at.y,
        s.contrast
    )
}

/// What helps most.
fn helps(advice: &Advice, ways: &Ways) -> Outcome<()> {
    if advice.tried.is_empty() {
        return output::say("The guides are seen: nothing need be done.");
    }
    let places = advice.places();
    let share = |short: usize| 100.0 * short as f64 / places as f64;
    for t in &advice.tried {
        if Some(t.remedy) != advice.enough() {
            output::say(&format!(
                "Not enough by itself: {} ({:.0} % of the guides would not be plainly seen).",
                t.remedy,
                share(t.still_short)
            ))?;
        }
    }
    match advice.enough() {
        Some(Remedy::Creep) if ways.creep => output::say(
            "No light alone is enough; the dashes creep already, and how well movement is seen is \
             not measured here.",
        ),
        Some(Remedy::Creep) => output::say(&format!(
            "No light alone is enough. What is left is {}: movement is seen where nothing else is, \
             but how well is not measured here.",
            Remedy::Creep
        )),
        Some(remedy) => output::say(&format!("What helps: {remedy}.")),
        None => Ok(()),
    }
}

fn json(found: &SeenLay, guide: &Guide) -> serde_json::Value {
    let advice = &found.advice;
    let [worst, typical] = contrasts(advice);
    let stretch = |s: &Stretch| {
        serde_json::json!({
            "seen": word(s.sight), "length_mm": s.length, "at_mm": s.at.to_array(),
            "contrast": s.contrast,
        })
    };
    let pieces = found.pieces.iter().map(|p| {
        serde_json::json!({
            "piece": p.name,
            "seen_mm": p.length(Some(Sight::Seen)),
            "hard_to_see_mm": p.length(Some(Sight::Hard)),
            "lost_mm": p.length(Some(Sight::Lost)),
            "not_measured_mm": p.length(None),
            "stretches": p.stretches().iter().map(stretch).collect::<Vec<_>>(),
        })
    });
    let tried = advice.tried.iter().map(|t| {
        serde_json::json!({
            "remedy": t.remedy.to_string(),
            "not_seen_share": t.still_short as f64 / advice.places() as f64,
        })
    });
    serde_json::json!({
        "band_mm": guide.band,
        "colour": guide.tint,
        "contrast": { "worst": worst, "typical": typical },
        "seen_mm": length(found, Some(Sight::Seen)),
        "hard_to_see_mm": length(found, Some(Sight::Hard)),
        "lost_mm": length(found, Some(Sight::Lost)),
        "not_measured_mm": length(found, None),
        "pieces": pieces.collect::<Vec<_>>(),
        "tried": tried.collect::<Vec<_>>(),
        "helps": advice.enough().map(|r| r.to_string()),
        "notes": found.notes,
    })
}
