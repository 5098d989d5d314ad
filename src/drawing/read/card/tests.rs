//! Against photos that a camera model of another library made (card_photo.py).

use super::*;
use crate::pattern::{PatternPiece, Polyline};
use crate::shape::{nearest, pairs};
use crate::space::{Piece, Point, Vector};
use serde_json::Value;

fn photos() -> Value {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/card_photo.json"
    ));
    serde_json::from_str(text).unwrap()
}

fn bytes(name: &str) -> Vec<u8> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/card_photo");
    std::fs::read(format!("{folder}/{name}")).unwrap()
}

fn ring(value: &Value) -> Polyline {
    let number = |v: &Value| v.as_f64().unwrap();
    let points = value.as_array().unwrap().iter();
    points
        .map(|p| Point::new(number(&p[0]), number(&p[1])))
        .collect()
}

fn closed(ring: &[Point<Piece>]) -> Polyline {
    ring.iter().chain(ring.first()).copied().collect()
}

/// Places on a ring, at most half a millimetre from one another.
fn dense(ring: &[Point<Piece>]) -> Polyline {
    let mut out = Polyline::new();
    for (a, b) in pairs(ring) {
        let steps = ((b - a).length() / 0.5).ceil().max(1.0) as usize;
        out.extend((0..steps).map(|k| a + (b - a) * (k as f64 / steps as f64)));
    }
    out
}

/// The true ring laid on what was read, by shift and turn alone: each place goes nearer to
/// the line it is nearest to, until that settles.
fn laid(
    truth: &[Point<Piece>],
    read: &[Point<Piece>],
) -> impl Fn(Point<Piece>) -> Point<Piece> + use<> {
    let line = closed(read);
    let (mut turn, mut shift) = (0.0f64, Vector::<Piece>::zero());
    let mean = |r: &[Point<Piece>]| {
        r.iter().fold(Vector::zero(), |s: Vector<Piece>, p| {
            s + p.to_vector() / r.len() as f64
        })
    };
    let places = dense(truth);
    let middle = mean(&places).to_point();
    shift += mean(&dense(read)) - middle.to_vector();
    let put = move |turn: f64, shift: Vector<Piece>, p: Point<Piece>| {
        let (sin, cos) = turn.sin_cos();
        let d = p - middle;
        middle + shift + Vector::new(cos * d.x - sin * d.y, sin * d.x + cos * d.y)
    };
    for _ in 0..30 {
        let (mut by, mut about, mut weight) = (Vector::zero(), 0.0, 0.0);
        for &p in &places {
            let q = put(turn, shift, p);
            let (s, _) = nearest(&line, q).unwrap();
            let off = crate::shape::along(&line, s).unwrap().at - q;
            let arm = q - (middle + shift);
            by += off / places.len() as f64;
            about += arm.cross(off);
            weight += arm.square_length();
        }
        shift += by;
        turn += about / weight;
    }
    move |p| put(turn, shift, p)
}

struct Off {
    rms: f64,
    worst: f64,
    at: Point<Piece>,
}

/// Distances both ways between a ring as read and the truth laid on it.
fn off(read: &[Point<Piece>], truth: &[Point<Piece>]) -> Off {
    let mut all = Vec::new();
    for (from, to) in [(read, truth), (truth, read)] {
        let line = closed(to);
        all.extend(
            dense(from)
                .into_iter()
                .map(|p| (nearest(&line, p).unwrap().1, p)),
        );
    }
    let worst = all.iter().max_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
    let square = all.iter().map(|(d, _)| d * d).sum::<f64>() / all.len() as f64;
    Off {
        rms: square.sqrt(),
        worst: worst.0,
        at: worst.1,
    }
}

/// Greatest distance between the rings, both ways, but for 2 mm about a place.
fn apart(read: &[Point<Piece>], truth: &[Point<Piece>], but: Option<Point<Piece>>) -> f64 {
    let mut worst = 0.0f64;
    for (from, to) in [(read, truth), (truth, read)] {
        let line = closed(to);
        let clear = |p: &Point<Piece>| but.is_none_or(|b| (*p - b).length() > 2.0);
        for p in dense(from).into_iter().filter(clear) {
            worst = worst.max(nearest(&line, p).unwrap().1);
        }
    }
    worst
}

fn how(photo: &Value) -> CardPhoto {
    let number = |v: &Value| v.as_f64().unwrap();
    CardPhoto {
        sheet: [number(&photo["sheet"][0]), number(&photo["sheet"][1])],
        thickness: number(&photo["thickness"]),
        camera_height: None,
        name: "sole".into(),
        sheet_corners: None,
        card_at: None,
    }
}

/// The photo's true outline and holes laid on the piece that was read.
fn truth_on(photo: &Value, piece: &PatternPiece) -> (Polyline, Vec<Polyline>) {
    let truth = ring(&photo["outer"]);
    let put = laid(&truth, &piece.cut[0]);
    let on = |ring: Polyline| -> Polyline { ring.into_iter().map(&put).collect() };
    let holes = photo["holes"].as_array().unwrap().iter();
    (on(truth), holes.map(|h| on(ring(h))).collect())
}

fn middle(ring: &[Point<Piece>]) -> Point<Piece> {
    let n = ring.len() as f64;
    ring.iter()
        .fold(Point::zero(), |m, p| m + p.to_vector() / n)
}

#[test]
fn the_outline_is_within_half_a_millimetre() {
    for photo in photos()["photos"].as_array().unwrap() {
        let how = how(photo);
        let name = photo["file"].as_str().unwrap();
        let card = read(&bytes(name), &how).unwrap();
        let piece = &card.pattern.pieces[0];
        let (truth, holes) = truth_on(photo, piece);
        let outside = off(&piece.cut[0], &truth);
        println!(
            "{name}: rms {:.3} worst {:.3} at {:?}, stated {:.3}; height {:?}, {:#?}",
            outside.rms,
            outside.worst,
            outside.at,
            card.standard_error,
            card.camera_height,
            card.notes
        );
        // At 18 degrees the card's rim hides the last 1.2 mm of the slot's inner end: there,
        // and nowhere else, the outline may be off by as much.
        let slot = truth.iter().filter(|p| (**p - outside.at).length() < 2.0);
        let hidden = name == "tilted.jpg" && slot.count() < 5;
        let clear = apart(&piece.cut[0], &truth, hidden.then_some(outside.at));
        println!("{name}: but for the slot's end worst {clear:.3}");
        assert!(
            clear < 0.5 && outside.worst < 1.0 && outside.rms < 0.1,
            "{name}"
        );
        assert!(card.standard_error > outside.rms / 2.5 && card.standard_error < 3.0 * outside.rms);
        // A hole of 14 mm is cut out, one of 5.5 is a drill point.
        let large = holes
            .iter()
            .find(|h| nearest(h, piece.cutouts[0][0]).unwrap().1 < 3.0);
        let hole = off(&piece.cutouts[0], large.unwrap());
        println!("{name}: hole rms {:.3} worst {:.3}", hole.rms, hole.worst);
        assert!(hole.worst < 0.5);
        assert_eq!((piece.cutouts.len(), piece.drills.len()), (1, 1));
        let drilled = (0..2).map(|k| (middle(&holes[k]) - piece.drills[0]).length());
        let drilled = drilled.fold(f64::INFINITY, f64::min);
        println!("{name}: drill off {drilled:.3}");
        assert!(drilled < 0.5);
        // The vee and the slot in the edge are told.
        let cuts = card
            .notes
            .iter()
            .filter(|n| n.contains("cut into the edge"));
        assert_eq!(cuts.count(), 2);
    }
}

#[test]
fn without_its_height_the_card_is_too_large() {
    for photo in photos()["photos"].as_array().unwrap() {
        let mut how = how(photo);
        how.thickness = 0.0;
        let card = read(&bytes(photo["file"].as_str().unwrap()), &how).unwrap();
        let piece = &card.pattern.pieces[0];
        let (truth, _) = truth_on(photo, piece);
        let outside = off(&piece.cut[0], &truth);
        println!(
            "{} flat: rms {:.3} worst {:.3}",
            photo["file"], outside.rms, outside.worst
        );
        assert!(outside.worst > 0.6 && outside.rms > 0.3);
    }
}

#[test]
fn sheet_lens_and_camera_are_found() {
    for photo in photos()["photos"].as_array().unwrap() {
        let how = how(photo);
        let name = photo["file"].as_str().unwrap();
        let picture = Picture::read(&bytes(name)).unwrap();
        let coarse = coarse::Coarse::of(&picture);
        let sheet = sheet::find(&picture, &coarse, how.sheet).unwrap();
        assert_eq!(sheet.size, how.sheet);
        let plane = plane::Plane::of(&picture, &sheet).unwrap();
        for (k, p) in sheet.on_table().into_iter().enumerate() {
            let seen = plane.photo(p).unwrap();
            let truth: [f64; 2] =
                serde_json::from_value(photo["sheet_corners_px"][k].clone()).unwrap();
            let off = (seen.x - truth[0]).hypot(seen.y - truth[1]);
            println!("{name}: corner {k} off {off:.3} px");
            assert!(off < 0.12);
        }
        // OpenCV's k1 is at the focal length, ours at the picture's longer side.
        let number = |of: &str| photo[of].as_f64().unwrap();
        let k1 = number("k1") * (picture.width as f64 / number("focal")).powi(2);
        println!("{name}: k1 {} true {k1}", plane.k1());
        assert!((plane.k1() - k1).abs() < 0.003);
        // Its stated error holds, and a tilt makes it small.
        let camera = plane.camera(&picture, sheet.on_table(), None).unwrap();
        println!("{name}: {camera:?}");
        assert!((camera.height - number("camera_height")).abs() < 2.0 * camera.height_error);
        assert!(camera.height_error < 0.15 * camera.height);
        let tilt = number("tilt_degrees").to_radians();
        assert!((camera.tilt - tilt).abs() < 0.03);
    }
}

mod exif;
mod painted;
