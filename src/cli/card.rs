//! `card`: a card template that hung on a nail, from a photo to a pattern piece.

use super::frame::sizes;
use super::output;
use crate::disk;
use crate::drawing::read::card::{Card, CardPhoto, DOUBTFUL, read};
use crate::drawing::write;
use crate::fault::{Fault, Outcome};
use crate::measure::{Unit, parse_length, parse_sides};
use clap::Args;
use std::path::PathBuf;

/// The largest photo, bytes.
const LARGEST: u64 = 128 << 20;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk card sole.jpg --thickness 1.5mm --name sole -o sole.svg\n\nLay \
    the card flat beside a white sheet of paper on a darker table, and take the photo from above, \
    all of both in it. The card's edge becomes a cut line; how far it may be off is said. Measure \
    the piece against the card before cutting."
)]
pub struct Words {
    /// The photo, JPEG or PNG
    photo: PathBuf,
    /// The sheet beside the card: a4, letter, or its two sides such as 200x300 (mm)
    #[arg(long, default_value = "a4", value_parser = sheet)]
    sheet: [f64; 2],
    /// The card's thickness: its upper edge is nearer to the camera; 0mm allows for nothing
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    thickness: f64,
    /// From the lens straight down to the sheet, if it was measured
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    camera_height: Option<f64>,
    /// What the piece is called
    #[arg(long, default_value = "card", value_parser = output::name)]
    name: String,
    /// A place on the card in the photo, px, if another thing is taken for it
    #[arg(long, value_name = "X,Y", value_parser = place)]
    at: Option<[f64; 2]>,
    /// Write the piece as SVG
    #[arg(short, long, value_name = "PIECE.svg")]
    output: PathBuf,
    /// Write the piece also where parts of its edge can't be told from the ground
    #[arg(long)]
    even_so: bool,
    /// Print what was found as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(words: &Words) -> Outcome<()> {
    output::guard_ending(&words.output, "an SVG", "svg")?;
    let bytes = disk::read(&words.photo, "reading the photo", LARGEST)?;
    let how = CardPhoto {
        sheet: words.sheet,
        thickness: words.thickness,
        camera_height: words.camera_height,
        name: words.name.clone(),
        sheet_corners: None,
        card_at: words.at,
    };
    let card = read(&bytes, &how).map_err(|f| f.in_file(&words.photo))?;
    if !words.even_so {
        told(&card).map_err(|f| f.in_file(&words.photo))?;
    }
    output::guard_ours(&words.output, &words.photo)?;
    disk::write_atomic(&words.output, write::svg(&card.pattern.pieces).as_bytes())?;
    if words.json {
        return output::json(&serde_json::json!({
            "standard_error_mm": card.standard_error,
            "doubtful_share": card.doubtful,
            "camera_height_mm": card.camera_height,
            "notes": card.notes,
        }));
    }
    output::say(&sizes(&card.pattern.pieces, Unit::Mm))?;
    let doubt = match card.doubtful > DOUBTFUL {
        true => format!(
            ", but for {:.0} % of it, where it may be millimetres off: measure it there",
            100.0 * card.doubtful
        ),
        false => String::new(),
    };
    output::say(&format!(
        "The outline is true to {:.2} mm (typical miss){doubt}.",
        card.standard_error
    ))?;
    for note in &card.notes {
        output::tell(&format!("note: {note}"));
    }
    Ok(())
}

/// # Errors
/// If the card is not told from the ground along a part of its edge: no error can be stated
/// for what is read there.
fn told(card: &Card) -> Outcome<()> {
    if card.doubtful <= DOUBTFUL {
        return Ok(());
    }
    let at = card
        .doubtful_at
        .map(|[x, y]| format!(", as at {x:.0}, {y:.0} px"));
    Err(Fault::input(
        format!(
            "along {:.0} % of the card's edge{}, the ground is nearly as the card is, or lies in its shadow: there its \
             outline may be read millimetres off",
            100.0 * card.doubtful,
            at.unwrap_or_default(),
        ),
        "lay the card on plain ground of another shade and light it from several sides; or write the piece all \
         the same with --even-so, and measure it there",
    ))
}

fn sheet(text: &str) -> Result<[f64; 2], String> {
    match text.to_lowercase().as_str() {
        // ISO 216; ANSI/ASME Y14.1.
        "a4" => Ok([210.0, 297.0]),
        "letter" => Ok([215.9, 279.4]),
        text => parse_sides(text)
            .map_err(|_| "write a4, letter, or two sides, such as 200x300mm".to_owned()),
    }
}

fn length(text: &str) -> Result<f64, String> {
    let mm = parse_length(text, Unit::Mm).map_err(|f| f.to_string())?;
    if (0.0..=10_000.0).contains(&mm) {
        return Ok(mm);
    }
    Err(Fault::input("it is no such length", "write a length from 0 to 10 m").to_string())
}

fn place(text: &str) -> Result<[f64; 2], String> {
    let (x, y) = text.split_once(',').unwrap_or((text, ""));
    match (x.trim().parse(), y.trim().parse()) {
        (Ok(x), Ok(y)) => Ok([x, y]),
        _ => Err("write a place in the photo as X,Y in pixels".to_owned()),
    }
}
