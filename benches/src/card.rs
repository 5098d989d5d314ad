//! How true a card template is read from photos that it was never tuned on: outline beside
//! truth, for every photo of a folder that `tests/reference/card_seeds.py` has filled.

use ghostchalk::drawing::read::card::{Card, CardPhoto, read};
use ghostchalk::fault::{Fault, Outcome};
use ghostchalk::pattern::Polyline;
use ghostchalk::shape::{along, nearest, pairs};
use ghostchalk::space::{Piece, Point, Vector};
use serde_json::Value;
use std::path::Path;
use std::time::Instant;

/// mm between the places that are measured.
const APART: f64 = 0.2;
/// mm: what is asked of every place of an outline.
const ASKED: f64 = 0.5;

/// `FOLDER [NUMBER]`: photos and their truth, as card_seeds.py makes them.
///
/// # Errors
/// If no folder is named.
pub fn run(words: &[String]) -> Outcome<()> {
    let folder = words
        .first()
        .ok_or_else(|| Fault::input("no folder is named", "say `card FOLDER [NUMBER]`"))?;
    let only = words.get(1);
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .expect("the folder can be read")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .filter(|path| only.is_none_or(|o| path.ends_with(format!("{o}.json"))))
        .collect();
    files.sort();
    println!(
        "| photo | table | card | mm thick | tilt | rms | 95 % | worst | at (piece) | stated | worst hole | drill off | untold % | said |"
    );
    println!(
        "| --- | --- | --- | ---: | ---: | ---: | ---: | ---: | --- | ---: | ---: | ---: | ---: | --- |"
    );
    let mut all = Vec::new();
    let mut refused = 0;
    for path in &files {
        match row(path, only.is_some()) {
            Some(off) => all.push(off),
            None => refused += 1,
        }
    }
    summary(&all, refused);
    Ok(())
}

/// How far one photo's outlines are off, mm.
struct Off {
    rms: f64,
    most: f64,
    worst: f64,
    holes: f64,
    drills: f64,
    stated: f64,
    ms: f64,
}

fn row(path: &Path, wordy: bool) -> Option<Off> {
    let truth: Value = serde_json::from_slice(&std::fs::read(path).expect("the truth is there"))
        .expect("the truth is JSON");
    let text = |of: &str| truth[of].as_str().unwrap_or_default().to_owned();
    let number = |v: &Value| v.as_f64().unwrap_or(f64::NAN);
    let how = CardPhoto {
        sheet: [number(&truth["sheet"][0]), number(&truth["sheet"][1])],
        thickness: number(&truth["thickness"]),
        camera_height: None,
        name: "card".into(),
        sheet_corners: None,
        card_at: None,
    };
    let bytes = std::fs::read(path.with_extension("jpg")).expect("the photo is there");
    let start = Instant::now();
    let card = read(&bytes, &how);
    let ms = start.elapsed().as_secs_f64() * 1e3;
    let kind = if truth["words"] == Value::Bool(true) {
        "+words"
    } else {
        ""
    };
    let head = format!(
        "| {} | {} | {}{kind} | {:.1} | {:.0}",
        path.file_stem().unwrap_or_default().to_string_lossy(),
        text("table"),
        text("card"),
        how.thickness,
        number(&truth["tilt_degrees"]),
    );
    match card {
        Err(fault) => {
            println!("{head} | | | | | | | | | refused: {fault} |");
            None
        }
        Ok(card) => {
            let (off, at) = measured(&card, &truth);
            println!(
                "{head} | {:.3} | {:.3} | {:.3} | {:.0}, {:.0} | {:.3} | {:.3} | {:.3} | {:.1} | {} |",
                off.rms,
                off.most,
                off.worst,
                at.x,
                at.y,
                off.stated,
                off.holes,
                off.drills,
                100.0 * card.doubtful,
                said(&card)
            );
            if wordy {
                println!(
                    "{:#?} height {:?} true {:.0}",
                    card.notes,
                    card.camera_height,
                    number(&truth["camera_height"])
                );
            }
            Some(Off { ms, ..off })
        }
    }
}

/// What of the notes speaks against the edge.
fn said(card: &Card) -> String {
    let words = [
        "shadow",
        "blurred",
        "can't be told",
        "hidden",
        "hides",
        "px to a mm",
    ];
    let holds = |w: &&str| card.notes.iter().any(|n| n.contains(*w));
    words
        .iter()
        .copied()
        .filter(|w| holds(w))
        .collect::<Vec<_>>()
        .join(" ")
}

fn ring(value: &Value) -> Polyline {
    let number = |v: &Value| v.as_f64().unwrap_or(f64::NAN);
    let points = value.as_array().expect("a ring").iter();
    points
        .map(|p| Point::new(number(&p[0]), number(&p[1])))
        .collect()
}

fn measured(card: &Card, truth: &Value) -> (Off, Point<Piece>) {
    let piece = &card.pattern.pieces[0];
    let outer = ring(&truth["outer"]);
    let put = laid(&outer, &piece.cut[0]);
    let on = |ring: Polyline| -> Polyline { ring.into_iter().map(&put).collect() };
    let outer = on(outer);
    let mut far = distances(&piece.cut[0], &outer);
    far.sort_by(|a, b| a.0.total_cmp(&b.0));
    let square = far.iter().map(|(d, _)| d * d).sum::<f64>() / far.len() as f64;
    let &(worst, at) = far.last().expect("an outline has places");
    let (mut holes, mut drills) = (0.0f64, 0.0f64);
    let mut found = 0;
    for hole in truth["holes"].as_array().expect("holes") {
        let hole = on(ring(hole));
        let middle = middle(&hole);
        let drill = piece.drills.iter().map(|d| (*d - middle).length());
        let drill = drill.fold(f64::INFINITY, f64::min);
        let near = |c: &&Polyline| (self::middle(c) - middle).length() < 3.0;
        if let Some(cutout) = piece.cutouts.iter().find(near) {
            holes = distances(cutout, &hole)
                .iter()
                .fold(holes, |m, d| m.max(d.0));
            found += 1;
        } else {
            drills = drills.max(drill.min(99.0));
            found += 1;
        }
    }
    let extra = piece.drills.len() + piece.cutouts.len();
    if extra != found {
        holes = 99.0;
    }
    if let Ok(path) = std::env::var("CARD_DUMP") {
        let flat = |r: &[Point<Piece>]| r.iter().map(|p| vec![p.x, p.y]).collect::<Vec<_>>();
        let rings: Vec<_> = std::iter::once(&piece.cut[0])
            .chain(&piece.cutouts)
            .map(|r| flat(r))
            .collect();
        let truths: Vec<_> = std::iter::once(outer.clone())
            .chain(
                truth["holes"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|h| on(ring(h))),
            )
            .map(|r| flat(&r))
            .collect();
        std::fs::write(
            path,
            serde_json::json!({"read": rings, "true": truths, "worst": [worst, at.x, at.y]})
                .to_string(),
        )
        .unwrap();
    }
    let off = Off {
        rms: square.sqrt(),
        most: far[far.len() * 95 / 100].0,
        worst,
        holes,
        drills,
        stated: card.standard_error,
        ms: 0.0,
    };
    (off, at)
}

fn summary(all: &[Off], refused: usize) {
    let share = |is: &dyn Fn(&Off) -> bool| {
        100.0 * all.iter().filter(|o| is(o)).count() as f64 / all.len().max(1) as f64
    };
    let at = |of: &dyn Fn(&Off) -> f64, share: f64| {
        let mut values: Vec<f64> = all.iter().map(of).collect();
        values.sort_by(f64::total_cmp);
        let k = ((values.len() as f64 * share).ceil() as usize).clamp(1, values.len().max(1)) - 1;
        values.get(k).copied().unwrap_or(f64::NAN)
    };
    println!("\n{} read, {refused} refused", all.len());
    for (name, of) in [
        ("rms", &(|o: &Off| o.rms) as &dyn Fn(&Off) -> f64),
        ("95 % of places", &|o| o.most),
        ("worst", &|o| o.worst),
        ("worst of holes cut out", &|o| o.holes),
        ("drill points", &|o| o.drills),
        ("rms over what is stated", &|o| o.rms / o.stated),
        ("ms", &|o| o.ms),
    ] {
        println!(
            "{name}: median {:.3}, 90 % {:.3}, 95 % {:.3}, all {:.3}",
            at(of, 0.5),
            at(of, 0.9),
            at(of, 0.95),
            at(of, 1.0)
        );
    }
    println!(
        "worst within {ASKED} mm: {:.0} %",
        share(&|o| o.worst < ASKED)
    );
}

fn closed(ring: &[Point<Piece>]) -> Polyline {
    ring.iter().chain(ring.first()).copied().collect()
}

fn dense(ring: &[Point<Piece>]) -> Polyline {
    let mut out = Polyline::new();
    for (a, b) in pairs(ring) {
        let steps = ((b - a).length() / APART).ceil().max(1.0) as usize;
        out.extend((0..steps).map(|k| a + (b - a) * (k as f64 / steps as f64)));
    }
    out
}

/// Distances both ways between two rings.
fn distances(read: &[Point<Piece>], truth: &[Point<Piece>]) -> Vec<(f64, Point<Piece>)> {
    let one_way = |from: &[Point<Piece>], to: &[Point<Piece>]| -> Vec<(f64, Point<Piece>)> {
        let line = closed(to);
        let far = |p: Point<Piece>| Some((nearest(&line, p)?.1, p));
        dense(from).into_iter().filter_map(far).collect()
    };
    let mut all = one_way(read, truth);
    all.extend(one_way(truth, read));
    all
}

fn middle(ring: &[Point<Piece>]) -> Point<Piece> {
    let places = dense(ring);
    let n = places.len() as f64;
    places
        .iter()
        .fold(Point::zero(), |m, p| m + p.to_vector() / n)
}

/// The true ring laid on what was read, by shift and turn alone: each place goes nearer to
/// the line it is nearest to, until that settles. Begun at the turn, of many, that suits best.
fn laid(
    truth: &[Point<Piece>],
    read: &[Point<Piece>],
) -> impl Fn(Point<Piece>) -> Point<Piece> + use<> {
    let line = closed(read);
    let places = dense(truth);
    let (from, to) = (middle(truth), middle(read));
    let put = move |turn: f64, shift: Vector<Piece>, p: Point<Piece>| {
        let (sin, cos) = turn.sin_cos();
        let d = p - from;
        to + shift + Vector::new(cos * d.x - sin * d.y, sin * d.x + cos * d.y)
    };
    let settle = |mut turn: f64, rounds: usize, step: usize| {
        let mut shift = Vector::<Piece>::zero();
        let mut square = f64::INFINITY;
        for _ in 0..rounds {
            let (mut by, mut about, mut weight) = (Vector::zero(), 0.0, 0.0);
            square = 0.0;
            for &p in places.iter().step_by(step) {
                let q = put(turn, shift, p);
                let Some((s, d)) = nearest(&line, q) else {
                    continue;
                };
                let Some(on) = along(&line, s) else { continue };
                let (off, arm) = (on.at - q, q - (to + shift));
                square += d * d;
                by += off * (step as f64 / places.len() as f64);
                about += arm.cross(off);
                weight += arm.square_length();
            }
            shift += by;
            turn += about / weight;
        }
        (square, turn, shift)
    };
    let starts = (0..72).map(|k| settle(f64::from(k) * std::f64::consts::TAU / 72.0, 4, 60));
    let best = starts
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .expect("there are starts");
    let (_, turn, first) = settle(best.1, 30, 7);
    move |p| put(turn, first, p)
}
