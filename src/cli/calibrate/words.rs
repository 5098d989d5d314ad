//! The words of `calibrate`.

use crate::calibration::fit::{HAND_PX, MARKS_MM};
use crate::cli::{output, unit};
use crate::measure::{Unit, parse_length};
use clap::Args;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk calibrate --points calibration/worked/twenty-marks.csv \
    --projector 1920x1080 -o table.toml --report report\n  ghostchalk calibrate --points \
    calibration/worked/set-marks.csv --tape calibration/worked/tape.csv --projector 1920x1080 -o \
    table.toml\n\nThe points have the header \
    table_x_mm,table_y_mm,projector_x_px,projector_y_px, perhaps a column mark with names, and four \
    rows or more. Table x runs along your edge to the right, y away from you; projector px count \
    from the picture's top left corner, where the first pixel's middle is (0.5, 0.5). With --tape \
    the points need mark,projector_x_px,projector_y_px, and the tape's file has from,to,length: \
    its first mark is the table's origin, the second lies to its right, the third beyond them."
)]
pub struct Words {
    /// The set marks, as CSV
    #[arg(long, value_name = "FILE.csv")]
    pub(super) points: PathBuf,
    /// Distances between the marks by a tape, as CSV: from,to,length
    #[arg(long, value_name = "FILE.csv")]
    pub(super) tape: Option<PathBuf>,
    /// What the tape shows where it should show so much, such as 998.5/1000; all its
    /// readings are put right by it
    #[arg(long, value_name = "READ/TRUE", requires = "tape", value_parser = ratio)]
    pub(super) tape_shows: Option<f64>,
    /// The tape's unit where a reading names none: mm, cm or in
    #[arg(long, value_name = "UNIT", default_value = "mm", value_parser = unit::unit)]
    pub(super) unit: Unit,
    /// The projector's picture, in pixels
    #[arg(long, value_name = "WxH", value_parser = output::size)]
    pub(super) projector: [u32; 2],
    /// How far the table reaches from the origin, such as 1200x800mm
    #[arg(long, value_name = "LENGTHxLENGTH", value_parser = output::table)]
    pub(super) table: Option<[f64; 2]>,
    /// How unsteadily marks of light are set, typically, px
    #[arg(long, value_name = "PX", default_value_t = HAND_PX, value_parser = positive)]
    pub(super) hand: f64,
    /// How wrong the marks' places typically are, mm (with --tape it follows
    /// from the readings)
    #[arg(long, value_name = "MM", default_value_t = MARKS_MM, value_parser = natural)]
    pub(super) marks: f64,
    /// Leave this mark out
    #[arg(long, value_name = "MARK")]
    pub(super) without: Vec<String>,
    /// Marks on a raised board, as CSV like the points: the places of the table that they
    /// stand over, and the pixels set on them; they tell where the lens is
    #[arg(long, value_name = "FILE.csv", requires = "board")]
    pub(super) raised: Option<PathBuf>,
    /// The board's thickness
    #[arg(long, value_name = "LENGTH", requires = "raised", value_parser = length)]
    pub(super) board: Option<f64>,
    /// The thickest stack of cloth that will be cut
    #[arg(long, value_name = "LENGTH", default_value = "5mm", value_parser = length)]
    pub(super) stack: f64,
    /// The point straight below the lens, by plumb line, and the lens' height: X,Y,H in mm
    #[arg(long, value_name = "X,Y,H", conflicts_with = "raised", value_parser = plumb)]
    pub(super) lens: Option<[f64; 3]>,
    /// Where to write the profile
    #[arg(short, long, value_name = "PROFILE")]
    pub(super) output: PathBuf,
    /// The light goes over a mirror
    #[arg(long)]
    pub(super) mirror_rig: bool,
    /// Write the account of the error as text and picture into this folder
    #[arg(long, value_name = "DIR")]
    pub(super) report: Option<PathBuf>,
    /// Print all that was worked out as JSON: the mapping, what is left at each mark, the map of errors, advice
    #[arg(long)]
    pub(super) json: bool,
}

impl Words {
    /// What is written, and what is read.
    pub(super) fn written(&self) -> Vec<&Path> {
        let report = self.report.as_deref();
        report.into_iter().chain([self.output.as_path()]).collect()
    }

    pub(super) fn read(&self) -> Vec<&Path> {
        let more = [&self.tape, &self.raised].into_iter().flatten();
        more.chain([&self.points]).map(PathBuf::as_path).collect()
    }
}

fn length(text: &str) -> Result<f64, String> {
    let mm = parse_length(text, Unit::Mm).map_err(|f| f.to_string())?;
    (0.0..=2000.0)
        .contains(&mm)
        .then_some(mm)
        .ok_or_else(|| "write a thickness from 0 to 2 m".to_owned())
}

fn positive(text: &str) -> Result<f64, String> {
    let value = output::number(text)?;
    (value > 1e-3 && value < 1e3)
        .then_some(value)
        .ok_or_else(|| "write a number above 0.001".to_owned())
}

fn natural(text: &str) -> Result<f64, String> {
    let value = output::number(text)?;
    (0.0..1e3)
        .contains(&value)
        .then_some(value)
        .ok_or_else(|| "write a number from 0 on".to_owned())
}

fn ratio(text: &str) -> Result<f64, String> {
    let both = text
        .split_once('/')
        .map(|(a, b)| (output::number(a), output::number(b)));
    match both {
        Some((Ok(read), Ok(real))) if real > 0.0 && (read / real - 1.0).abs() < 0.05 => {
            Ok(read / real)
        }
        _ => Err("write what it shows and what is true, such as 998.5/1000".to_owned()),
    }
}

fn plumb(text: &str) -> Result<[f64; 3], String> {
    // With semicolons between them they may have commas of their own.
    let between = if text.contains(';') { ';' } else { ',' };
    let all: Vec<f64> = text
        .split(between)
        .map(output::number)
        .collect::<Result<_, _>>()?;
    all.try_into()
        .map_err(|_| "write three numbers: X,Y,H in mm".to_owned())
}
