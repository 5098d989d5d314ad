//! `cut-test`: what the hand and its tool leave at every edge.

use super::output;
use crate::calibration::cut_test::{MeasuredTrim, STRIP, cut_test};
use crate::fault::{Fault, Outcome};
use crate::lay::{self, MOST_TRIM};
use crate::measure::{Unit, parse_length};
use clap::Args;
use std::path::{Path, PathBuf};

/// What the cloth is called where nobody says.
const UNNAMED: &str = "this cloth";

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk cut-test --length 240.9,240.7 --width 60.8,60.6 --tool \
    shears --cloth canvas --plies 1\n\nCut a strip of 240 x 60 mm of light out of a scrap of the \
    real cloth as you always do, one ply or two, and measure length and width twice each, at \
    different places. The width tells what the hand leaves at each edge, the length adds the scale. \
    Nothing is corrected by this: it says what a correction would be. Exit code 1 when the light is \
    the wrong size, or the cloth stretched: no correction mends that."
)]
pub struct Words {
    /// The strip's length, read twice
    #[arg(long, value_name = "A,B")]
    length: String,
    /// The strip's width, read twice
    #[arg(long, value_name = "A,B")]
    width: String,
    /// What it was cut with
    #[arg(long, default_value = "shears", value_parser = output::name)]
    tool: String,
    /// The cloth it was cut from
    #[arg(long, default_value = UNNAMED, value_parser = output::name)]
    cloth: String,
    /// How many plies were cut at once
    #[arg(long, default_value_t = 1, value_parser = plies)]
    plies: u32,
    /// Keep it in this job, off: it is turned on at the live table, and the light says so
    #[arg(long, value_name = "JOB")]
    keep: Option<PathBuf>,
    /// Print it as JSON
    #[arg(long)]
    json: bool,
}

fn plies(text: &str) -> Result<u32, String> {
    let read = text.trim().parse::<u32>().ok();
    read.filter(|n| (1..=20).contains(n))
        .ok_or_else(|| "write a whole number of plies, from 1 to 20".to_owned())
}

/// Whether the strip's size is wrong by more than its edges explain.
pub fn run(words: &Words) -> Outcome<bool> {
    let trim = cut_test(
        twice("length", &words.length)?,
        twice("width", &words.width)?,
    )?;
    let [edge_error, scale_error] = trim.errors();
    let [by, error] = trim.of(300.0);
    let wrong_size = trim.is_out_of_scale();
    match &words.keep {
        Some(_) if wrong_size => output::tell(
            "not kept: the strip's length is off by more than its edges explain, and a trim can't \
             mend light of the wrong size; check the light on its marks (V at the table), then cut \
             another strip.",
        ),
        Some(job) => {
            keep(job, words, &trim)?;
            output::tell(&format!(
                "kept in {}, off: turn it on at the live table, on the leaf \"light\"",
                job.display()
            ));
        }
        None => {}
    }
    if words.json {
        output::json(&serde_json::json!({
            "tool": words.tool,
            "cloth": words.cloth,
            "plies": words.plies,
            "edge_mm": trim.edge,
            "edge_error_mm": edge_error,
            "scale": trim.scale,
            "scale_error": scale_error,
            "too_long_on_300_mm": by,
            "too_long_error_mm": error,
            "worth_it": trim.is_worth_it(),
            "out_of_scale": wrong_size,
        }))?;
    } else {
        output::say(&account(words, &trim))?;
    }
    Ok(wrong_size)
}

/// Notes the trim in a job's journal, off.
fn keep(path: &Path, words: &Words, found: &MeasuredTrim) -> Outcome<()> {
    let trim = lay::Trim {
        tool: words.tool.clone(),
        cloth: words.cloth.clone(),
        plies: words.plies,
        edge_mm: (found.edge * 100.0).round() / 100.0,
        error_mm: (found.errors()[0] * 100.0).round() / 100.0,
        on: false,
    };
    output::note(path, |at| {
        let there = &at.job.file.cloths;
        let cloths: Vec<&str> = there.iter().map(|c| c.name.as_str()).collect();
        can_be_kept(&trim, &cloths).map_err(|f| f.in_file(path))?;
        Ok((vec![at.state.noting(trim)], ()))
    })
}

/// # Errors
/// Which of it a job of these cloths can't keep.
fn can_be_kept(trim: &lay::Trim, cloths: &[&str]) -> Outcome<()> {
    let not = |why: String, remedy: String| Err(Fault::input(format!("not kept: {why}"), remedy));
    if !cloths.contains(&trim.cloth.as_str()) {
        let why = match trim.cloth.as_str() {
            UNNAMED => "it is not said which of the job's cloths was cut".to_owned(),
            name => format!("the job has no cloth \"{name}\""),
        };
        return not(why, format!("name one with --cloth: {}", cloths.join(", ")));
    }
    if !trim.is_sound() {
        return not(
            format!(
                "{} at each edge is more than the {} that a hand leaves",
                Unit::Mm.show(trim.edge_mm.abs()),
                Unit::Mm.show(MOST_TRIM)
            ),
            "measure the strip of light itself, then cut another strip".to_owned(),
        );
    }
    Ok(())
}

fn account(words: &Words, trim: &MeasuredTrim) -> String {
    let [edge_error, scale_error] = trim.errors();
    let [by, error] = trim.of(300.0);
    let plies = match words.plies {
        1 => "one ply".to_owned(),
        n => format!("{n} plies"),
    };
    let side = if trim.edge < 0.0 { "inside" } else { "outside" };
    let advice = match (trim.is_worth_it(), trim.is_out_of_scale()) {
        (true, false) => format!(
            "a trim of {:+.2} mm at each edge would put it right; nothing is trimmed by itself",
            -trim.edge
        ),
        (_, true) => {
            "the light is the wrong size, or the cloth stretched under the blade: measure the \
             strip of light itself, and if it is not 240 by 60 mm set the table anew"
                .to_owned()
        }
        _ => "a ruler is misread by as much: correct nothing".to_owned(),
    };
    format!(
        "By {} in {}, {plies}: {:.2} mm {side} each edge (give or take {edge_error:.2}), lengths \
         {:+.2} % (give or take {:.2}).\nA length of 300 mm comes out {by:+.2} mm (give or take {error:.2}). {}",
        words.tool,
        words.cloth,
        trim.edge.abs(),
        100.0 * trim.scale,
        100.0 * scale_error,
        capital(&advice)
    )
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    let first = chars.next().into_iter().flat_map(char::to_uppercase);
    format!("{}{}.", first.collect::<String>(), chars.as_str())
}

/// Two readings, with or without a unit.
fn twice(name: &str, text: &str) -> Outcome<[f64; 2]> {
    let [l, w] = STRIP;
    let like = || {
        Fault::input(
            format!("the {name} is \"{text}\", which is not two readings"),
            format!("write both, such as {l},{l} or {w}mm,{w}mm"),
        )
    };
    // With a semicolon between them they may have commas of their own.
    let both = text.split_once(';').or_else(|| text.split_once(','));
    let (a, b) = both.ok_or_else(like)?;
    let read = |t: &str| parse_length(t, Unit::Mm).map_err(|_| like());
    Ok([read(a)?, read(b)?])
}
