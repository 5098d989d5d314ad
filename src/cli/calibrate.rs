//! `calibrate`: a profile from set marks, and what it knows of its own error.

mod notes;
mod words;

pub use words::Words;

use super::output;
use crate::calibration::account::{Account, account, svg};
use crate::calibration::fit::{Believed, Choice, Fit, Form, LENS, Places, Sighted, best};
use crate::calibration::network::{Adjusted, Network, read_tape};
use crate::calibration::raised::{LensFound, from_board, from_plumb};
use crate::calibration::{LensPlaceFile, MarkRow, NamedRow, Profile, read_points};
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::{read_profile, write_toml};
use crate::space::{Point, Table};
use std::path::{Path, PathBuf};

/// Marks that scatter so many times as much as believed are no readings of one table: even
/// a strong lens, which few marks can't show, leaves less.
const HOPELESS: f64 = 25.0;

/// Standard deviations of a plumb line's foot and of a height by tape, mm (estimates).
const PLUMB: [f64; 2] = [5.0, 5.0];

pub fn run(words: &Words) -> Outcome<()> {
    output::guard_ending(&words.output, "a profile", "toml")?;
    output::apart(&words.written(), &words.read())?;
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
    let mut notes = notes::of_marks(&marks, account.pixel_mm, words);
    if let Some((net, adjusted)) = &tape {
        if let Some(k) = adjusted.again.first() {
            // A wrong length moves marks that are set well: none is blamed for it.
            account.blames_tape(&net.name(*k));
        }
        notes.extend(notes::of_tape(net, adjusted, words));
    }
    if let Some(found) = &lens {
        notes.extend(notes::of_lens(words, found, &marks)?);
    }
    // Until it is written nobody else adds a check to the earlier one, which would be lost.
    let turn = disk::turn(&words.output)?;
    if let Some(earlier) = earlier(&words.output)? {
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
    drop(turn);
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
