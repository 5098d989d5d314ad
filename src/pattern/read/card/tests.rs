//! Against photos that a camera model of another library made (card_photo.py).

use super::*;
use crate::pattern::piece::Polyline;
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
    points.map(|p| Point::new(number(&p[0]), number(&p[1]))).collect()
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
fn laid(truth: &[Point<Piece>], read: &[Point<Piece>]) -> impl Fn(Point<Piece>) -> Point<Piece> + use<> {
    let line = closed(read);
    let (mut turn, mut shift) = (0.0f64, Vector::<Piece>::zero());
    let mean = |r: &[Point<Piece>]| r.iter().fold(Vector::zero(), |s: Vector<Piece>, p| s + p.to_vector() / r.len() as f64);
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
        all.extend(dense(from).into_iter().map(|p| (nearest(&line, p).unwrap().1, p)));
    }
    let worst = all.iter().max_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
    let square = all.iter().map(|(d, _)| d * d).sum::<f64>() / all.len() as f64;
    Off {
        rms: square.sqrt(),
        worst: worst.0,
        at: worst.1,
    }
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

fn show(photo: &Value, how: &CardPhoto) {
    let t = std::time::Instant::now();
    match read(&bytes(photo["file"].as_str().unwrap()), how) {
        Ok(card) => {
            println!("{:?} {:#?} {:?} se {}", t.elapsed(), card.notes, card.camera_height, card.standard_error);
            let piece = &card.pattern.pieces[0];
            let truth = ring(&photo["outer"]);
            let put = laid(&truth, &piece.cut[0]);
            let truth: Polyline = truth.into_iter().map(&put).collect();
            let o = off(&piece.cut[0], &truth);
            println!("{} t={} points {} rms {:.3} worst {:.3} at {:?}", photo["file"], how.thickness, piece.cut[0].len(), o.rms, o.worst, o.at);
            for hole in photo["holes"].as_array().unwrap() {
                let truth: Polyline = ring(hole).into_iter().map(&put).collect();
                for cut in &piece.cutouts {
                    let o = off(cut, &truth);
                    println!("   hole rms {:.3} worst {:.3}", o.rms, o.worst);
                }
                let m = truth.iter().fold(Vector::zero(), |s: Vector<Piece>, p| s + p.to_vector() / truth.len() as f64);
                println!("   hole at {m:?} drills {:?}", piece.drills);
            }
        }
        Err(e) => println!("{} {e}", photo["file"]),
    }
}

#[test]
fn the_sheets_corners_and_the_lens_are_found() {
    for photo in photos()["photos"].as_array().unwrap() {
        let how = how(photo);
        let picture = picture::Picture::read(&bytes(photo["file"].as_str().unwrap())).unwrap();
        let t = std::time::Instant::now();
        let coarse = coarse::Coarse::of(&picture);
        println!("coarse {:?}", t.elapsed());
        let sheet = sheet::find(&picture, &coarse, how.sheet).unwrap();
        println!("sheet {:?} {:?}", t.elapsed(), sheet.size);
        let plane = plane::Plane::of(&picture, &sheet).unwrap();
        println!("plane {:?} {:?} noise {} k1 {}", t.elapsed(), plane.unknowns, plane.noise, plane.k1());
        for (k, p) in sheet.on_table().into_iter().enumerate() {
            println!("{:?} {:?} se {}", plane.photo(p), photo["sheet_corners_px"][k], plane.covariance[2*k][2*k].sqrt());
        }
        let found = ground::find(&coarse, &plane, sheet.size, None).unwrap();
        println!("ground {:?}", t.elapsed());
        let seen = edge::Seen::of(&picture, &coarse, &found, &plane).unwrap();
        println!("edge {:?}", t.elapsed());
        let camera = camera::Camera::of(&picture, &plane, sheet.on_table(), how.camera_height);
        println!("camera {:?} {camera:?}", t.elapsed());
        let _ = wall::lowered(&seen, &plane, &sheet, camera, how.thickness);
        println!("wall {:?}", t.elapsed());
    }
}

#[test]
fn try_it() {
    for photo in photos()["photos"].as_array().unwrap() {
        let mut how = how(photo);
        show(photo, &how);
        how.camera_height = photo["camera_height"].as_f64();
        show(photo, &how);
        how.thickness = 0.0;
        show(photo, &how);
    }
}
