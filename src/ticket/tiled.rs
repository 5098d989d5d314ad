//! A piece at full size on pages to be laid together: for a day without the projector, or for
//! a card template.

use crate::fault::{Fault, Outcome};
use crate::measure::Unit;
use crate::pattern::PatternPiece;
use crate::shape::bounds;
use crate::sheet::{Page, Paper, Path, broken};
use crate::space::{Bounds, Piece, Point, Vector};

/// Left clear round a page's part of the piece, mm: printers reach that far, and below it is
/// room for the line to check.
const SIDES: f64 = 12.0;
const FOOT: f64 = 24.0;
/// Neighbours share so much, mm, to be glued.
const OVERLAP: f64 = 10.0;
/// Half a register mark, mm.
const MARK: f64 = 4.0;
/// The line to check is so long, mm.
const CHECK: f64 = 100.0;
const TEXT: f64 = 3.2;
/// Pages at most.
const MOST: usize = 400;

/// A piece on pages.
pub struct Tiled {
    pub pages: Vec<Page>,
    pub columns: usize,
    pub rows: usize,
}

/// A piece at full size, mirrored if asked; with a page before it that shows how they lie, if
/// there are several.
///
/// # Errors
/// If it has no outline, or takes more than 400 pages.
pub fn tiled(piece: &PatternPiece, mirrored: bool, paper: Paper, unit: Unit) -> Outcome<Tiled> {
    let Some(b) = bounds(piece.cut.iter().flatten().copied()) else {
        return Err(Fault::input(
            format!("\"{}\" has no outline", piece.name),
            "name another piece",
        ));
    };
    let (wide, high) = paper.size_mm();
    let own = Vector::new(wide - 2.0 * SIDES, high - SIDES - FOOT);
    let step = own - Vector::new(OVERLAP, OVERLAP);
    let count = |length: f64, own: f64, step: f64| {
        1 + ((length - own) / step - 1e-9).ceil().max(0.0) as usize
    };
    // Lines have a width.
    let b = b.inflate(1.0, 1.0);
    let columns = count(b.width(), own.x, step.x);
    let rows = count(b.height(), own.y, step.y);
    if columns.saturating_mul(rows) > MOST {
        return Err(Fault::input(
            format!("\"{}\" takes {} pages", piece.name, columns * rows),
            "check its size, or print it on a plotter from its SVG",
        ));
    }
    let lines = lines(piece, mirrored);
    let b = if mirrored { mirrored_box(&b) } else { b };
    let mut tiled = Tiled {
        pages: Vec::new(),
        columns,
        rows,
    };
    if columns * rows > 1 {
        tiled.pages.push(overview(piece, mirrored, &tiled, paper));
    }
    // From the top left, as one reads.
    for row in 0..rows {
        for column in 0..columns {
            let corner = Point::new(
                b.min.x + column as f64 * step.x,
                b.max.y - own.y - row as f64 * step.y,
            );
            let tile = Bounds::new(corner, corner + own);
            let mut page = Page::new(paper);
            // From the piece to the page.
            let at = |p: Point<Piece>| (p.x - tile.min.x + SIDES, p.y - tile.min.y + FOOT);
            for line in &lines {
                for run in within(&line.points, line.closed, &tile) {
                    page.path(Path {
                        points: run.into_iter().map(at).collect(),
                        closed: false,
                        width: line.width,
                        dash: line.dash,
                    });
                }
            }
            let ends = (row > 0, row + 1 < rows, column > 0, column + 1 < columns);
            register(&mut page, paper, ends);
            foot(&mut page, piece, mirrored, (column, row), &tiled, unit);
            tiled.pages.push(page);
        }
    }
    Ok(tiled)
}

fn mirrored_box(b: &Bounds<Piece>) -> Bounds<Piece> {
    Bounds::new(Point::new(-b.max.x, b.min.y), Point::new(-b.min.x, b.max.y))
}

/// What a tile is called: `B3` is the second of the third row.
fn name(column: usize, row: usize) -> String {
    let mut letters = String::new();
    let mut k = column;
    loop {
        letters.insert(0, char::from(b'A' + (k % 26) as u8));
        if k < 26 {
            break;
        }
        k = k / 26 - 1;
    }
    format!("{letters}{}", row + 1)
}

struct Drawn {
    points: Vec<Point<Piece>>,
    closed: bool,
    width: f64,
    dash: Option<(f64, f64)>,
}

fn lines(piece: &PatternPiece, mirrored: bool) -> Vec<Drawn> {
    let over = |p: &Point<Piece>| match mirrored {
        true => Point::new(-p.x, p.y),
        false => *p,
    };
    let mut all = Vec::new();
    let mut add = |points: &[Point<Piece>], closed: bool, width: f64, dash| {
        all.push(Drawn {
            points: points.iter().map(over).collect(),
            closed,
            width,
            dash,
        });
    };
    for ring in piece.cut.iter().chain(&piece.cutouts) {
        add(ring, true, 0.3, None);
    }
    for net in &piece.net {
        add(&net.points, net.closed, 0.2, Some((3.0, 1.5)));
    }
    for fold in &piece.folds {
        add(fold, false, 0.8, Some((8.0, 2.0)));
    }
    for line in &piece.lines {
        add(&line.points, line.closed, 0.2, Some((1.0, 1.0)));
    }
    for dart in &piece.darts {
        add(dart, false, 0.2, None);
    }
    for n in &piece.notches {
        add(&[n.at, n.at + n.inward * n.depth], false, 0.3, None);
    }
    if let Some([tail, head]) = piece.grain {
        add(&[tail, head], false, 0.2, None);
        let back = (tail - head) / (tail - head).length().max(1e-9) * 6.0;
        let across = Vector::new(-back.y, back.x) * 0.35;
        add(
            &[head + back + across, head, head + back - across],
            false,
            0.2,
            None,
        );
    }
    for &d in &piece.drills {
        let (x, y) = (Vector::new(2.0, 0.0), Vector::new(0.0, 2.0));
        add(&[d - x, d + x], false, 0.2, None);
        add(&[d - y, d + y], false, 0.2, None);
    }
    all
}

/// The runs of a line within a tile (each stretch cut by Liang & Barsky, ACM TOG 3(1), 1984).
fn within(points: &[Point<Piece>], closed: bool, tile: &Bounds<Piece>) -> Vec<Vec<Point<Piece>>> {
    let mut runs: Vec<Vec<Point<Piece>>> = Vec::new();
    let last = if closed {
        points.len()
    } else {
        points.len().saturating_sub(1)
    };
    let mut open = false;
    for k in 0..last {
        let (p, q) = (points[k], points[(k + 1) % points.len()]);
        let d = q - p;
        let (mut from, mut to) = (0.0f64, 1.0f64);
        let sides = [
            (-d.x, p.x - tile.min.x),
            (d.x, tile.max.x - p.x),
            (-d.y, p.y - tile.min.y),
            (d.y, tile.max.y - p.y),
        ];
        let seen = sides.iter().all(|&(slope, room)| {
            if slope == 0.0 {
                return room >= 0.0;
            }
            let t = room / slope;
            match slope < 0.0 {
                true => from = from.max(t),
                false => to = to.min(t),
            }
            true
        });
        if !seen || from > to {
            open = false;
            continue;
        }
        let (a, b) = (p + d * from, p + d * to);
        match runs.last_mut().filter(|_| open && from == 0.0) {
            Some(run) => run.push(b),
            None => runs.push(vec![a, b]),
        }
        open = to == 1.0;
    }
    runs
}

/// Crosses where the parts of neighbouring pages meet: a page's lie on its neighbour's.
fn register(page: &mut Page, paper: Paper, (above, below, left, right): (bool, bool, bool, bool)) {
    let (wide, high) = paper.size_mm();
    let half = OVERLAP / 2.0;
    let (x0, x1) = (SIDES + half, wide - SIDES - half);
    let (y0, y1) = (FOOT + half, high - SIDES - half);
    let mut cross = |x: f64, y: f64| {
        page.line((x - MARK, y), (x + MARK, y), 0.15);
        page.line((x, y - MARK), (x, y + MARK), 0.15);
    };
    let corners = [
        (x0, y1, above || left),
        (x1, y1, above || right),
        (x0, y0, below || left),
        (x1, y0, below || right),
    ];
    for (x, y, wanted) in corners {
        if wanted {
            cross(x, y);
        }
    }
    let (mx, my) = (f64::midpoint(x0, x1), f64::midpoint(y0, y1));
    for (x, y, wanted) in [
        (mx, y1, above),
        (mx, y0, below),
        (x0, my, left),
        (x1, my, right),
    ] {
        if wanted {
            cross(x, y);
        }
    }
}

/// The line to check, and what the page is of.
fn foot(
    page: &mut Page,
    piece: &PatternPiece,
    mirrored: bool,
    (column, row): (usize, usize),
    tiled: &Tiled,
    unit: Unit,
) {
    let y = 12.0;
    let (from, to) = (SIDES, SIDES + CHECK);
    page.line((from, y), (to, y), 0.2);
    for x in [from, to] {
        page.line((x, y - 2.0), (x, y + 2.0), 0.2);
    }
    let says = match unit {
        Unit::Inch => "100 mm (3 15/16 in): measure it before anything is cut".to_owned(),
        _ => "100 mm: measure it before anything is cut".to_owned(),
    };
    page.words((from, y + 2.6), TEXT - 0.6, &says);
    let way = if mirrored { ", mirrored" } else { "" };
    let which = match tiled.columns * tiled.rows {
        1 => String::new(),
        n => format!(
            "; page {} ({} of {n})",
            name(column, row),
            row * tiled.columns + column + 1
        ),
    };
    let what = format!("{}{way}{which}", piece.name);
    page.words((to + 8.0, y), TEXT, &what);
}

/// How the pages lie together, with the piece on them.
fn overview(piece: &PatternPiece, mirrored: bool, tiled: &Tiled, paper: Paper) -> Page {
    let mut page = Page::new(paper);
    let (wide, high) = paper.size_mm();
    let way = if mirrored { ", mirrored" } else { "" };
    page.words((SIDES, high - 20.0), 6.0, &format!("{}{way}", piece.name));
    let words = format!(
        "Print the {} pages that follow at 100 %, \"actual size\", and measure the 100 mm line of each. Lay them \
         together by this picture, cross on cross, and glue them.",
        tiled.columns * tiled.rows
    );
    for (k, line) in broken(&words, TEXT + 0.4, wide - 2.0 * SIDES)
        .iter()
        .enumerate()
    {
        page.words((SIDES, high - 30.0 - 5.0 * k as f64), TEXT + 0.4, line);
    }
    let own = Vector::<Piece>::new(wide - 2.0 * SIDES, high - SIDES - FOOT);
    let step = own - Vector::new(OVERLAP, OVERLAP);
    let whole = Vector::<Piece>::new(
        own.x + step.x * (tiled.columns - 1) as f64,
        own.y + step.y * (tiled.rows - 1) as f64,
    );
    let room = Vector::<Piece>::new(wide - 2.0 * SIDES, high - 70.0);
    let scale = (room.x / whole.x).min(room.y / whole.y);
    let top = high - 50.0;
    for row in 0..tiled.rows {
        for column in 0..tiled.columns {
            let (x, y) = (
                SIDES + column as f64 * step.x * scale,
                top - row as f64 * step.y * scale,
            );
            let (w, h) = (own.x * scale, own.y * scale);
            let corners = [(x, y), (x + w, y), (x + w, y - h), (x, y - h)];
            page.path(Path {
                points: corners.to_vec(),
                closed: true,
                width: 0.15,
                dash: Some((1.5, 1.0)),
            });
            let size = (h / 5.0).clamp(2.0, 6.0);
            page.text_centred(x + w / 2.0, y - h / 2.0, size, &name(column, row));
        }
    }
    let lines = lines(piece, mirrored);
    let b = bounds(piece.cut.iter().flatten().copied()).unwrap_or_default();
    let b = b.inflate(1.0, 1.0);
    let b = if mirrored { mirrored_box(&b) } else { b };
    for line in lines.iter().filter(|l| l.width > 0.25) {
        page.path(Path {
            points: line
                .points
                .iter()
                .map(|p| {
                    (
                        SIDES + (p.x - b.min.x) * scale,
                        top - (b.max.y - p.y) * scale,
                    )
                })
                .collect(),
            closed: line.closed,
            width: 0.3,
            dash: None,
        });
    }
    page
}
