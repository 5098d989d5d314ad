//! How long patterns take: a draft drawn anew when a measure changes, the demo proven, and
//! large PDF and SVG files read, with the memory that it took.

use crate::own::most_memory;
use crate::table::Table;
use crate::timing::{Laps, Samples};
use ghostchalk::draft::{Measures, parse};
use ghostchalk::drawing::read::pdf::{Order, Tiles};
use ghostchalk::drawing::read::{self, ReadOptions};
use ghostchalk::prove::{Asked, prove};
use std::fmt::Write;
use std::time::Instant;

const DRAFT: &str = include_str!("../../demo-data/slippers.draft.toml");

pub fn run() {
    drafts();
    let (one, tiled) = (ReadOptions::default(), laid_together());
    println!();
    let numbers = ["size, MB", "read, s", "most memory so far, MB"];
    let mut table = Table::new(["file"], numbers);
    let files = [
        ("PDF, 50 tiled pages", tiles(), &tiled),
        ("PDF, one page of curves", pdf(160_000), &one),
        ("SVG, one page of curves", svg(160_000), &one),
    ];
    for (name, bytes, options) in files {
        let from = Instant::now();
        let pattern = read::parse(&bytes, options);
        let seconds = from.elapsed().as_secs_f64();
        let size = bytes.len() as f64 / 1e6;
        let read = match pattern {
            Ok(p) => format!("{} pieces", p.pieces.len()),
            Err(fault) => fault.to_string(),
        };
        table.row([
            format!("{name} ({read})"),
            format!("{size:.1}"),
            format!("{seconds:.2}"),
            format!("{:.0}", most_memory()),
        ]);
    }
    table.print();
}

/// How the tiled pages are laid together.
pub fn laid_together() -> ReadOptions {
    ReadOptions {
        tiles: Some(Tiles {
            columns: COLUMNS,
            order: Order::Rows,
            overlap: [0.0; 2],
            trim: [TRIM * 25.4 / 72.0; 4],
        }),
        ..ReadOptions::default()
    }
}

fn drafts() {
    let numbers = ["drawn anew, median, ms", "slowest of 201", "proven, ms"];
    let mut table = Table::new(["draft"], numbers);
    table.row(drawn(DRAFT));
    table.row(drawn(&fourfold()));
    table.print();
}

/// The demo's pieces four times, each set with searches of its own.
fn fourfold() -> String {
    let (head, rest) = DRAFT.split_once("[[piece]]").expect("pieces");
    let (pieces, tail) = rest.split_once("[[seam]]").expect("seams");
    let searches = head.lines().filter(|l| l.contains("until"));
    let searches: Vec<&str> = searches.collect();
    let own = |text: &str, k: usize| {
        let mut text = text.to_owned();
        for name in [
            "sole",
            "upper",
            "heel band",
            "heel band lining",
            "felt sole",
            "binding",
        ] {
            text = text.replace(
                &format!("name = \"{name}\""),
                &format!("name = \"{name} {k}\""),
            );
            for before in ["\"", "(", " "] {
                let from = format!("{before}{name}: ");
                text = text.replace(&from, &format!("{before}{name} {k}: "));
            }
        }
        for name in ["band reach", "throat depth", "throat shift"] {
            text = text.replace(name, &format!("{name} {k}"));
        }
        text
    };
    let mut all = head.to_owned();
    for k in 2..=4 {
        for search in &searches {
            all += &own(search, k);
            all += "\n";
        }
    }
    all += "\n[[piece]]";
    all += pieces;
    for k in 2..=4 {
        all += "[[piece]]";
        all += &own(pieces, k);
    }
    all + "[[seam]]" + tail
}

/// Its row.
fn drawn(text: &str) -> [String; 4] {
    let draft = parse(text).expect("the demo's draft");
    let draw = |k: u32| {
        let foot = 235.0 + 0.3 * f64::from(k);
        let asked = Measures::default()
            .with("foot length", foot)
            .with("instep girth", foot);
        draft.draw(&asked).expect("a size in its range")
    };
    let pieces = draw(0).pieces.len();
    let times = (0..201).map(|k| {
        let mut laps = Laps::start();
        std::hint::black_box(draw(k));
        laps.lap()
    });
    let times = Samples::of(times.collect());
    let (pattern, sewing) = draw(50).finished().expect("allowances");
    let mut laps = Laps::start();
    let proof = prove(&pattern.pieces, &sewing, &Asked::default());
    let proven = laps.lap();
    [
        format!("{pieces} pieces, {} seams", proof.seams.len()),
        format!("{:.2}", times.quantile(0.5)),
        format!("{:.2}", times.quantile(1.0)),
        format!("{proven:.1}"),
    ]
}

/// Pages in a row and in a column, and what is cut off each at every side, pt.
const COLUMNS: usize = 5;
const ROWS: usize = 10;
const TRIM: f64 = 30.0;

/// Fifty pages that show their part of one drawing: twelve ovals of 400 curves, 6000 strokes in
/// them, all of it drawn on every page and clipped there, as print programs do.
pub fn tiles() -> Vec<u8> {
    let (w, h) = (595.0 - 2.0 * TRIM, 842.0 - 2.0 * TRIM);
    let (wide, high) = (w * COLUMNS as f64, h * ROWS as f64);
    let mut drawing = String::from("1 w\n");
    for oval in 0..12 {
        let (cx, cy) = (
            wide * (0.17 + 0.33 * f64::from(oval % 3)),
            high * (0.125 + 0.25 * f64::from(oval / 3)),
        );
        let at = |k: f64| {
            let t = k / 400.0 * std::f64::consts::TAU;
            (cx + 0.15 * wide * t.cos(), cy + 0.11 * high * t.sin())
        };
        for k in 0..400 {
            let third = |n: f64| at(f64::from(k) + n / 3.0);
            let (a, b, c, d) = (third(0.0), third(1.0), third(2.0), third(3.0));
            if k == 0 {
                let _ = writeln!(drawing, "{:.3} {:.3} m", a.0, a.1);
            }
            let _ = writeln!(
                drawing,
                "{:.3} {:.3} {:.3} {:.3} {:.3} {:.3} c",
                b.0, b.1, c.0, c.1, d.0, d.1
            );
        }
        drawing += "h S\n";
        for k in 0..500 {
            let x = cx - 0.08 * wide + 0.16 * wide * f64::from(k % 25) / 25.0;
            let y = cy - 0.06 * high + 0.12 * high * f64::from(k / 25) / 20.0;
            let _ = writeln!(drawing, "{x:.3} {y:.3} m {:.3} {:.3} l S", x + 6.0, y + 3.0);
        }
    }
    let pages = (0..COLUMNS * ROWS).map(|k| {
        let (c, r) = ((k % COLUMNS) as f64, (k / COLUMNS) as f64);
        format!(
            "q {TRIM} {TRIM} {w} {h} re W n 1 0 0 1 {:.3} {:.3} cm /P Do Q\n",
            TRIM - c * w,
            TRIM - (high - (r + 1.0) * h)
        )
    });
    document(&pages.collect::<Vec<_>>(), Some((&drawing, [wide, high])))
}

/// A page with one outline, and so many curves within it.
pub fn pdf(curves: usize) -> Vec<u8> {
    let mut page = String::from("1 w\n");
    // One outline of a piece, and hatching within it.
    page += "50 50 m 545 50 l 545 790 l 50 790 l h S\n";
    for k in 0..curves {
        let x = 60.0 + (k % 400) as f64 * 1.15;
        let y = 60.0 + (k / 400) as f64 * 1.7 % 700.0;
        let _ = writeln!(
            page,
            "{x:.3} {y:.3} m {:.3} {:.3} {:.3} {:.3} {:.3} {y:.3} c S",
            x + 0.3,
            y + 0.5,
            x + 0.7,
            y - 0.5,
            x + 1.0
        );
    }
    document(&[page], None)
}

/// A file of these pages; the form `P` can be drawn on each.
fn document(pages: &[String], form: Option<(&str, [f64; 2])>) -> Vec<u8> {
    let count = pages.len();
    let shared = format!("<< /XObject << /P {} 0 R >> >>", 3 + 2 * count);
    let resources = if form.is_some() {
        shared.as_str()
    } else {
        "<< >>"
    };
    let mut objects = vec![
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        format!(
            "<< /Type /Pages /Count {count} /Kids [{}] >>",
            (0..count)
                .map(|k| format!("{} 0 R", 3 + 2 * k))
                .collect::<Vec<_>>()
                .join(" ")
        ),
    ];
    for (k, page) in pages.iter().enumerate() {
        objects.push(format!(
            "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents {} 0 R /Resources {resources} >>",
            4 + 2 * k
        ));
        objects.push(format!(
            "<< /Length {} >>\nstream\n{page}\nendstream",
            page.len()
        ));
    }
    if let Some((drawing, [w, h])) = form {
        objects.push(format!(
            "<< /Type /XObject /Subtype /Form /BBox [0 0 {w} {h}] /Length {} >>\nstream\n{drawing}\nendstream",
            drawing.len()
        ));
    }
    let mut out = String::from("%PDF-1.7\n");
    let mut at = Vec::new();
    for (k, object) in objects.iter().enumerate() {
        at.push(out.len());
        let _ = write!(out, "{} 0 obj\n{object}\nendobj\n", k + 1);
    }
    let start = out.len();
    let _ = write!(out, "xref\n0 {}\n0000000000 65535 f \n", at.len() + 1);
    for a in &at {
        let _ = writeln!(out, "{a:010} 00000 n ");
    }
    let _ = write!(
        out,
        "trailer << /Size {} /Root 1 0 R >>\nstartxref\n{start}\n%%EOF\n",
        at.len() + 1
    );
    out.into_bytes()
}

/// One piece with so many curves drawn on it.
fn svg(curves: usize) -> Vec<u8> {
    let mut out = String::from(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"600mm\" height=\"800mm\" viewBox=\"0 0 600 800\">\
         <g data-piece=\"panel\"><path class=\"cut\" d=\"M10 10H590V790H10Z\"/><path class=\"line\" d=\"",
    );
    for k in 0..curves {
        let x = 20.0 + (k % 400) as f64 * 1.4;
        let y = 20.0 + (k / 400) as f64 * 1.8 % 740.0;
        let _ = write!(
            out,
            "M{x:.4} {y:.4}C{:.4} {:.4} {:.4} {:.4} {:.4} {y:.4}",
            x + 0.3,
            y + 0.5,
            x + 0.7,
            y - 0.5,
            x + 1.0
        );
    }
    out += "\"/></g></svg>";
    out.into_bytes()
}
