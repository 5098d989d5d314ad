//! Tables of marks and of tape readings, and the profile that comes of them.

use ghostchalk::calibration::fit::{Believed, Fit, Form, HAND_PX, MARKS_MM, Places, Sighted};
use ghostchalk::calibration::network::parse_tape;
use ghostchalk::calibration::{HEADER, MarkRow, NamedRow, Profile, parse_points};
use ghostchalk::job::{parse_profile, toml_text};
use ghostchalk::measure::Unit;
use ghostchalk::space::Point;

use super::{Target, is_itself};

pub const POINTS: Target = Target {
    name: "points",
    run: points,
    seeds: &["calibration/worked/*-marks.csv"],
};

pub const TAPE: Target = Target {
    name: "tape",
    run: tape,
    seeds: &["calibration/worked/tape.csv"],
};

pub const PROFILE: Target = Target {
    name: "profile",
    run: profile,
    seeds: &["calibration/worked/*.toml"],
};

/// The picture that marks are set in.
const SIZE: [u32; 2] = [1920, 1080];

/// A fit of more marks than this takes longer than an input is worth.
const MOST: usize = 24;

fn points(data: &[u8]) {
    if let Ok(rows) = parse_points(data, true) {
        assert!(rows.iter().all(|r| r.table.is_none()));
    }
    let Ok(rows) = parse_points(data, false) else {
        return;
    };
    let back = parse_points(written(&rows).as_bytes(), false);
    assert_eq!(back.as_ref(), Ok(&rows), "written and read again");
    let marks: Vec<Sighted> = rows.iter().filter_map(sighted).collect();
    assert_eq!(marks.len(), rows.len(), "a mark without a place");
    if let [a, b, c, d] = marks.as_slice() {
        four([a, b, c, d].map(row));
    }
    if marks.len() <= MOST {
        fitted(&marks);
    }
}

/// The rows as a table that says the same.
fn written(rows: &[NamedRow]) -> String {
    let mut out = format!("mark,{}\n", HEADER.join(","));
    for row in rows {
        let at = row.table.unwrap_or_default();
        let px = row.projector;
        let name = row.name.replace('"', "\"\"");
        out += &format!("\"{name}\",{},{},{},{}\n", at.x, at.y, px.x, px.y);
    }
    out
}

fn sighted(row: &NamedRow) -> Option<Sighted> {
    Some(Sighted {
        name: row.name.clone(),
        table: row.table?,
        pixel: row.projector,
    })
}

fn row(mark: &Sighted) -> MarkRow {
    MarkRow {
        table: mark.table,
        projector: mark.pixel,
    }
}

/// Four marks fix a mapping that sends each to its pixel, and only one way round.
fn four(rows: [MarkRow; 4]) {
    let both = [false, true].map(|mirror_rig| Profile::of_four(&rows, SIZE, mirror_rig));
    assert!(
        both.iter().filter(|p| p.is_ok()).count() < 2,
        "both ways round"
    );
    for profile in both.into_iter().flatten() {
        told_again(&profile);
        let Ok(mapping) = profile.mapping() else {
            continue;
        };
        for row in rows {
            let lit = mapping.pixel(row.table, 0.0);
            let off = lit.map(|lit| (lit - row.projector).length());
            let off = off.unwrap_or(f64::INFINITY);
            let far = row.projector.to_vector().length();
            assert!(!apart(&rows) || off <= 1e-4 * (1.0 + far), "{off} px");
        }
    }
}

/// Whether the marks are a millimetre and a pixel apart at least: nearer, and far from the
/// origin, no number has digits enough.
fn apart(rows: &[MarkRow; 4]) -> bool {
    let first = rows[0];
    let far = |r: &MarkRow| (r.table - first.table).length() >= 1.0;
    let seen = |r: &MarkRow| (r.projector - first.projector).length() >= 1.0;
    rows[1..].iter().any(far) && rows[1..].iter().any(seen)
}

/// What is fitted says how sure it is, in numbers.
fn fitted(marks: &[Sighted]) {
    let believed = Believed {
        hand_px: HAND_PX,
        places: Places::Each(MARKS_MM),
    };
    for form in [Form::Plane, Form::Lens] {
        let Ok(fit) = Fit::new(marks, SIZE, &believed, form) else {
            continue;
        };
        let numbers = [fit.rms_px, fit.chi2, fit.chance(), fit.widened()];
        assert!(numbers.iter().all(|v| v.is_finite()), "{numbers:?}");
        assert_eq!(fit.marks.len(), marks.len());
        for mirror_rig in [false, true] {
            let of_fit = Profile::of_fit(&fit, marks, &believed, SIZE, mirror_rig);
            if let Ok(profile) = of_fit {
                told_again(&profile);
            }
        }
    }
}

/// A profile as a file, read again, is the very same.
fn told_again(profile: &Profile) {
    let text = toml_text(profile);
    let text = text.unwrap_or_else(|fault| panic!("{fault}"));
    let back = parse_profile(&text).unwrap_or_else(|fault| panic!("{fault}\n{text}"));
    assert!(back == *profile || !is_itself(profile), "{text}");
}

fn tape(data: &[u8]) {
    for unit in [Unit::Mm, Unit::Inch] {
        let Ok(net) = parse_tape(data, unit) else {
            continue;
        };
        let names = net.names.len();
        for reading in &net.readings {
            assert!(reading.from < names && reading.to < names);
            assert!(reading.from != reading.to && reading.mm.is_finite());
        }
        if names > MOST {
            continue;
        }
        let Ok(found) = net.adjust() else { continue };
        assert_eq!(found.marks.len(), names);
        assert!(found.marks.iter().all(|p| p.is_finite()));
        assert!(found.chi2.is_finite() && found.residuals.len() == net.readings.len());
    }
}

fn profile(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else {
        return;
    };
    let Ok(profile) = parse_profile(text) else {
        return;
    };
    told_again(&profile);
    assert!(profile.finest() >= 1.0 && profile.finest().is_finite());
    let fits = profile.fits("an output", profile.projector_px);
    assert!(fits.is_none() || profile.output.is_some());
    if let Ok(mapping) = profile.mapping() {
        let [w, h] = profile.projector_px.map(f64::from);
        for (x, y) in [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h), (w / 2.0, h / 2.0)] {
            let Some(place) = mapping.place(Point::new(x, y)) else {
                continue;
            };
            let _ = mapping.pixel(place, 10.0);
            let size = mapping.pixel_size(place, 0.0);
            assert!(size.is_none_or(|mm| mm > 0.0), "{size:?} mm a pixel");
        }
    }
    if profile.marks.len() <= MOST
        && let Some((marks, _, fit)) = profile.refit()
    {
        assert_eq!(marks.len(), fit.marks.len());
        assert!(fit.chi2.is_finite());
    }
}
