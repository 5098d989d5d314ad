//! `calibrate`: a profile from set marks, and what it knows of its own error.

use super::output;
use crate::calibration::account::{Account, account, svg};
use crate::calibration::fit::{
    Believed, Choice, Fit, Form, HAND_PX, LENS, MARKS_MM, Places, Sighted, best,
};
use crate::calibration::network::{Adjusted, Network, one_more, read_tape};
use crate::calibration::raised::{LensFound, TIMES, from_board, from_plumb};
use crate::calibration::{LensPlaceFile, MarkRow, NamedRow, Profile, read_points};
use crate::disk;
use crate::fault::{Fault, Outcome, short};
use crate::job::{read_profile, write_toml};
use crate::measure::{Unit, parse_length};
use crate::space::{Point, Table};
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
    points: PathBuf,
    /// Distances between the marks by a tape, as CSV: from,to,length
    #[arg(long, value_name = "FILE.csv")]
    tape: Option<PathBuf>,
    /// What the tape shows where it should show so much, such as 998.5/1000; all its
    /// readings are put right by it
    #[arg(long, value_name = "READ/TRUE", requires = "tape", value_parser = ratio)]
    tape_shows: Option<f64>,
    /// The tape's unit where a reading names none: mm, cm or in
    #[arg(long, value_name = "UNIT", default_value = "mm", value_parser = super::unit::unit)]
    unit: Unit,
    /// The projector's picture, in pixels
    #[arg(long, value_name = "WxH", value_parser = output::size)]
    projector: [u32; 2],
    /// How far the table reaches from the origin, such as 1200x800mm
    #[arg(long, value_name = "LENGTHxLENGTH", value_parser = output::table)]
    table: Option<[f64; 2]>,
    /// How unsteadily marks of light are set, typically, px
    #[arg(long, value_name = "PX", default_value_t = HAND_PX, value_parser = positive)]
    hand: f64,
    /// How wrong the marks' places typically are, mm (with --tape it follows
    /// from the readings)
    #[arg(long, value_name = "MM", default_value_t = MARKS_MM, value_parser = natural)]
    marks: f64,
    /// Leave this mark out
    #[arg(long, value_name = "MARK")]
    without: Vec<String>,
    /// Marks on a raised board, as CSV like the points: the places of the table that they
    /// stand over, and the pixels set on them; they tell where the lens is
    #[arg(long, value_name = "FILE.csv", requires = "board")]
    raised: Option<PathBuf>,
    /// The board's thickness
    #[arg(long, value_name = "LENGTH", requires = "raised", value_parser = length)]
    board: Option<f64>,
    /// The thickest stack of cloth that will be cut
    #[arg(long, value_name = "LENGTH", default_value = "5mm", value_parser = length)]
    stack: f64,
    /// The point straight below the lens, by plumb line, and the lens' height: X,Y,H in mm
    #[arg(long, value_name = "X,Y,H", conflicts_with = "raised", value_parser = plumb)]
    lens: Option<[f64; 3]>,
    /// Where to write the profile
    #[arg(short, long, value_name = "PROFILE")]
    output: PathBuf,
    /// The light goes over a mirror
    #[arg(long)]
    mirror_rig: bool,
    /// Write the account of the error as text and picture into this folder
    #[arg(long, value_name = "DIR")]
    report: Option<PathBuf>,
    /// Print all that was worked out as JSON: the mapping, what is left at each mark, the map of errors, advice
    #[arg(long)]
    json: bool,
}

/// Marks that scatter so many times as much as believed are no readings of one table: even
/// a strong lens, which few marks can't show, leaves less.
const HOPELESS: f64 = 25.0;

/// Standard deviations of a plumb line's foot and of a height by tape, mm (estimates).
const PLUMB: [f64; 2] = [5.0, 5.0];

pub fn run(words: &Words) -> Outcome<()> {
    let at = |f: Fault| f.in_file(&words.points);
    let rows = read_points(&words.points, words.tape.is_some())?;
    let tape = words
        .tape
        .as_deref()
        .map(|path| taped(words, path))
        .transpose()?;
    let (marks, believed) = marks(words, &rows, tape.as_ref())?;
    output::guard(&words.output, "a profile", |bytes| {
        let text = String::from_utf8_lossy(bytes);
        text.lines().any(|l| l.starts_with("ghostchalk_profile ="))
    })?;
    disk::refuse_marked(&words.output)?;
    let earlier = earlier(&words.output)?;
    if let Some(folder) = &words.report {
        guard_report(folder)?;
    }
    let choice = fitted(words, &marks, &believed).map_err(at)?;
    let size = words.projector;
    let mut profile =
        Profile::of_fit(&choice.fit, &marks, &believed, size, words.mirror_rig).map_err(at)?;
    let lens = lens(words, &choice.fit)?;
    if let Some(found) = &lens {
        profile.lens_place = Some(LensPlaceFile {
            foot_mm: found.place.foot.to_array(),
            height_mm: found.place.height,
        });
    }
    profile.mapping().map_err(at)?;
    let table = words.table.map(|[w, d]| [Point::zero(), Point::new(w, d)]);
    let mut account = account(&choice, &marks, size, &believed, table);
    let mut notes = notes(&marks, account.pixel_mm);
    if let Some((net, adjusted)) = &tape {
        if let Some(k) = adjusted.again.first() {
            // A wrong length moves marks that are set well: none is blamed for it.
            account.blames_tape(&net.name(*k));
        }
        notes.extend(tape_notes(net, adjusted, words));
    }
    if let Some(found) = &lens {
        notes.extend(lens_notes(words, found, &marks)?);
    }
    if let Some(earlier) = earlier {
        profile.checks = earlier.checks;
        if earlier.lens_place.is_some() && profile.lens_place.is_none() {
            notes.push(
                "the earlier profile knew where the lens is; this one does not: say --raised or \
                 --lens"
                    .to_owned(),
            );
        }
    }
    if let Some(folder) = &words.report {
        report(folder, &account, &notes)?;
    }
    // Last, so that nothing is written where something is refused.
    write_toml(&words.output, &profile)?;
    if words.json {
        return output::json(&serde_json::json!({
            "table_to_projector": profile.table_to_projector,
            "projector_px": profile.projector_px,
            "mirror_rig": profile.mirror_rig,
            "profile": words.output.to_string_lossy(),
            "pixel_mm": account.pixel_mm,
            "lens_place": profile.lens_place,
            "lens_place_error_mm": lens.map(|l| l.errors()),
            "account": account,
            "notes": notes,
        }));
    }
    for note in &notes {
        output::tell(&format!("note: {note}"));
    }
    output::say(&account.to_string())?;
    let [small, large] = account.pixel_mm;
    output::say(&format!(
        "At the marks a projector pixel is {small:.2} to {large:.2} mm long."
    ))?;
    let written = format!("Profile written to {}.", words.output.display());
    if choice.fit.freedom > 0 {
        return output::say(&written);
    }
    output::say(&format!(
        "{written} Four marks fit exactly, whatever they are wrong by, so they can't show their own error: lay a measuring \
         tape on the light before you cut."
    ))
}

/// The marks' places by their tape, put right by what the tape shows of a known length.
fn taped(words: &Words, path: &Path) -> Outcome<(Network, Adjusted)> {
    let mut net = read_tape(path, words.unit)?;
    for r in &mut net.readings {
        r.mm /= words.tape_shows.unwrap_or(1.0);
    }
    let adjusted = net.adjust().map_err(|f| f.in_file(path))?;
    Ok((net, adjusted))
}

/// The marks with their places, and what is believed of them.
fn marks(
    words: &Words,
    rows: &[NamedRow],
    tape: Option<&(Network, Adjusted)>,
) -> Outcome<(Vec<Sighted>, Believed)> {
    let at = |f: Fault| f.in_file(&words.points);
    for name in &words.without {
        if !rows.iter().any(|r| r.name == *name) {
            return Err(at(Fault::input(
                format!("there is no mark {name} to leave out"),
                "name it as the file does; without names they are mark 1, mark 2, …",
            )));
        }
    }
    let kept = rows.iter().filter(|r| !words.without.contains(&r.name));
    let mut marks = Vec::new();
    let mut known = Vec::new();
    for r in kept {
        let table = match tape {
            None => r.table,
            Some((net, adjusted)) => {
                let k = net.names.iter().position(|n| *n == r.name);
                known.extend(k);
                k.map(|k| adjusted.marks[k])
            }
        };
        let table = table.ok_or_else(|| {
            at(Fault::input(
                format!("the tape's readings name no mark {}", r.name),
                "measure from it to three others, or leave it out with --without",
            ))
        })?;
        marks.push(Sighted {
            name: r.name.clone(),
            table,
            pixel: r.projector,
        });
    }
    let places = match tape {
        None => Places::Each(words.marks),
        Some((_, adjusted)) => {
            let n = 2 * known.len();
            let of = |k: usize| 2 * known[k / 2] + k % 2;
            let c = |r: usize, c: usize| adjusted.covariance[(of(r), of(c))];
            Places::Covariance(nalgebra::DMatrix::from_fn(n, n, c))
        }
    };
    let believed = Believed {
        hand_px: words.hand,
        places,
    };
    Ok((marks, believed))
}

fn fitted(words: &Words, marks: &[Sighted], believed: &Believed) -> Outcome<Choice> {
    if let [a, b, c, d] = marks {
        // Crossed, or turned over? Of four marks that is seen.
        let row = |m: &Sighted| MarkRow {
            table: m.table,
            projector: m.pixel,
        };
        Profile::of_four(&[a, b, c, d].map(row), words.projector, words.mirror_rig)?;
        let fit = Fit::new(marks, words.projector, believed, Form::Plane)?;
        return Ok(Choice {
            fit,
            because: "four marks say nothing of the lens".to_owned(),
        });
    }
    let hopeless = |c: &Choice| c.fit.scatter().is_some_and(|s| s > HOPELESS);
    let corners = words
        .table
        .map(|[w, d]| [(0.0, 0.0), (w, 0.0), (w, d), (0.0, d)].map(Point::<Table>::from));
    let reach = corners.as_ref().map_or(&[][..], |c| &c[..]);
    let choice = best(marks, words.projector, believed, reach)?;
    if marks.len() >= LENS && hopeless(&choice) {
        let mut worst: Vec<_> = choice.fit.marks.iter().collect();
        worst.sort_by(|a, b| b.chi2.total_cmp(&a.chi2));
        let names: Vec<&str> = worst.iter().take(3).map(|m| m.name.as_str()).collect();
        return Err(Fault::input(
            format!(
                "the marks do not go together, furthest off {}: some are set on others' places, or \
                 mistyped",
                names.join(", ")
            ),
            "check these first; --without MARK leaves one out",
        ));
    }
    Ok(choice)
}

fn lens(words: &Words, fit: &Fit) -> Outcome<Option<LensFound>> {
    if let Some([x, y, h]) = words.lens {
        return from_plumb(Point::new(x, y), h, PLUMB).map(Some);
    }
    let (Some(path), Some(thick)) = (&words.raised, words.board) else {
        return Ok(None);
    };
    let rows = read_points(path, false)?;
    let marks: Vec<Sighted> = rows
        .iter()
        .filter_map(|r| {
            Some(Sighted {
                name: r.name.clone(),
                table: r.table?,
                pixel: r.projector,
            })
        })
        .collect();
    from_board(fit, &marks, thick, [words.hand, words.marks])
        .map(Some)
        .map_err(|f| f.in_file(path))
}

/// The profile that is written over, if there is one: its checks are the table's history. One
/// that can't be read may hold what this program doesn't know, and is not written over.
fn earlier(path: &Path) -> Outcome<Option<Profile>> {
    if disk::beginning(path, 1)?.is_none() {
        return Ok(None);
    }
    read_profile(path).map(Some).map_err(|f| Fault {
        what: format!(
            "there is a profile here that can't be read, so it was not written over: {}",
            f.what
        ),
        remedy: "give another name, or put this file elsewhere first".to_owned(),
        ..f
    })
}

/// The account's files are its own, or are not there yet.
fn guard_report(folder: &Path) -> Outcome<()> {
    let [text, picture] = report_files(folder);
    output::guard(&text, "a calibration's account", |b| {
        b.starts_with(b"Light is true")
    })?;
    output::guard(&picture, "an SVG picture", |b| b.starts_with(b"<svg"))
}

fn report_files(folder: &Path) -> [PathBuf; 2] {
    ["calibration.txt", "calibration.svg"].map(|name| folder.join(name))
}

fn report(folder: &Path, account: &Account, notes: &[String]) -> Outcome<()> {
    disk::make_folder(folder)?;
    let [text, picture] = report_files(folder);
    let mut all = account.to_string();
    for note in notes {
        all += &format!("\n{note}");
    }
    disk::write_atomic(&text, (all + "\n").as_bytes())?;
    disk::write_atomic(&picture, svg(account).as_bytes())
}

/// What the tape's readings say of one another.
fn tape_notes(net: &Network, adjusted: &Adjusted, words: &Words) -> Vec<String> {
    let unit = words.unit;
    let mut notes = vec![format!(
        "the tape's readings go together to {}; marks are placed to {:.2} mm",
        unit.show(adjusted.closure()),
        adjusted.error()
    )];
    if !adjusted.again.is_empty() {
        let each = adjusted.again.iter().map(|k| net.name(*k));
        let each: Vec<String> = each.collect();
        notes.push(format!(
            "a reading does not go with the others; take again: {}",
            each.join(", ")
        ));
    }
    match adjusted.least_slip(net.sigma()) {
        Some(mm) => notes.push(format!(
            "a slip of the tape is noticed from {} on (four times in five)",
            unit.show(mm)
        )),
        None => notes.push("some readings are checked by no other: a slip there stays".to_owned()),
    }
    if let Some(more) = one_more(net, adjusted) {
        notes.push(format!(
            "one more mark near ({:.0}, {:.0}) mm, measured from all others, would show slips from \
             {} on and leave {:.1} readings in doubt",
            more.place.x,
            more.place.y,
            unit.show(more.least_slip),
            more.in_doubt
        ));
    }
    if words.tape_shows.is_none() {
        notes.push(
            "that the tape itself is too long or too short shows nowhere: a common one (class II) may \
             err by 0.2 mm a metre; hold it against a steel rule and say --tape-shows READ/TRUE"
                .to_owned(),
        );
    }
    notes
}

/// Where the lens is, and what thickness does here.
fn lens_notes(words: &Words, found: &LensFound, marks: &[Sighted]) -> Outcome<Vec<String>> {
    let [foot, height] = found.errors();
    let place = found.place;
    let mut notes = vec![format!(
        "the lens hangs {:.0} mm above the table (give or take {height:.0}), its foot at ({:.0}, \
         {:.0}) mm ({foot:.0})",
        place.height, place.foot.x, place.foot.y
    )];
    if let Some(board) = words.board.filter(|b| *b < TIMES * words.stack) {
        notes.push(format!(
            "a board of {} is thin for stacks of {}: {} or more makes the lens' place sure",
            Unit::Mm.show(board),
            Unit::Mm.show(words.stack),
            Unit::Mm.show(TIMES * words.stack)
        ));
    }
    let mut worst = 0.0_f64;
    let (mut size, mut left) = (0.0_f64, 0.0_f64);
    for m in marks {
        let e = found.height_error(m.table, words.stack)?;
        worst = worst.max(e.displaced);
        size = e.size;
        left = left.max(e.left);
    }
    notes.push(format!(
        "cloth of {} shifts light by up to {worst:.1} mm and a piece of 300 mm by {size:.2} mm in \
         size; both are corrected, to {left:.2} mm",
        Unit::Mm.show(words.stack)
    ));
    if worst > 0.0 {
        notes.push(format!(
            "without the correction light is within 0.3 mm up to a thickness of {:.1} mm",
            0.3 / worst * words.stack
        ));
    }
    Ok(notes)
}

/// What looks odd about the marks, a sentence each.
fn notes(marks: &[Sighted], pixel: [f64; 2]) -> Vec<String> {
    // A pixel between a tenth of a millimetre and 3 is what projectors over tables have.
    if !marks.is_empty() && (pixel[0] < 0.1 || pixel[1] > 3.0) {
        return vec![format!(
            "a pixel would be {} to {} mm long; are the marks in mm?",
            short(pixel[0]),
            short(pixel[1])
        )];
    }
    Vec::new()
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
    let all: Vec<f64> = text
        .split(',')
        .map(output::number)
        .collect::<Result<_, _>>()?;
    all.try_into()
        .map_err(|_| "write three numbers: X,Y,H in mm".to_owned())
}
