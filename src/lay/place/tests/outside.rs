//! Against Shapely, SciPy and trying all: `tests/reference/place.json`.

use super::super::cells::{Cells, Grid, Run};
use super::super::engine::{As, Engine, Spot};
use super::super::fits::Free;
use super::super::why::largest_rectangle;
use super::*;
use serde_json::Value;

fn load() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/place.json");
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn ring<S>(v: &Value) -> Vec<Point<S>> {
    let points = v.as_array().unwrap().iter();
    points
        .map(|p| Point::new(p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
        .collect()
}

fn rings<S>(v: &Value) -> Vec<Region<S>> {
    let all = v.as_array().unwrap().iter();
    all.map(|r| Region::ring(ring(r))).collect()
}

fn rows(v: &Value) -> Vec<&[u8]> {
    let all = v.as_array().unwrap().iter();
    all.map(|r| r.as_str().unwrap().as_bytes()).collect()
}

fn set(rows: &[&[u8]], pad: usize) -> Cells {
    let mut cells = Cells::none(rows[0].len(), rows.len(), pad);
    for run in runs(rows) {
        cells.put(run, true);
    }
    cells
}

fn runs(rows: &[&[u8]]) -> Vec<Run> {
    let mut runs = Vec::new();
    for (row, line) in (0..).zip(rows) {
        let mut from = 0;
        for part in line.chunk_by(|a, b| a == b) {
            let to = from + part.len() as i32;
            if part[0] == b'1' {
                runs.push(Run { row, from, to });
            }
            from = to;
        }
    }
    runs
}

#[test]
fn cells_touched_and_held_are_shapelys() {
    for (k, case) in load()["cells"].as_array().unwrap().iter().enumerate() {
        let mut region: Region<Cloth> = Region::ring(ring(&case["outer"]));
        for hole in case["holes"].as_array().unwrap() {
            region.rings.push(ring(hole));
        }
        let grid = Grid {
            origin: Point::zero(),
            cell: case["cell"].as_f64().unwrap(),
        };
        let want = rows(&case["rows"]);
        let (columns, lines) = (want[0].len(), want.len());
        let mut touched = Cells::none(columns, lines, 0);
        let mut within = touched.clone();
        for run in grid.touched(&region, 0, lines as i32) {
            touched.put(run, true);
        }
        for run in grid.within(&region, 0, lines as i32) {
            within.put(run, true);
        }
        for (y, line) in want.iter().enumerate() {
            for (x, &c) in line.iter().enumerate() {
                let (x, y) = (x as i32, y as i32);
                assert_eq!(touched.has(x, y), c != b'0', "case {k}, cell {x}, {y}");
                assert_eq!(within.has(x, y), c == b'2', "case {k}, cell {x}, {y}");
            }
        }
    }
}

#[test]
fn erosion_is_scipys_correlation() {
    for case in load()["erode"].as_array().unwrap() {
        let piece = rows(&case["piece"]);
        let free = rows(&case["free"]);
        let width = piece[0].len();
        let free = Free::new(set(&free, width / 64 + 3), width);
        let (runs, corner) = super::super::room::from_corner(runs(&piece));
        let fits = free.erode(&runs);
        for (y, line) in rows(&case["fits"]).iter().enumerate() {
            for (x, &c) in line.iter().enumerate() {
                let (x, y) = (x as i32 + corner.0, y as i32 + corner.1);
                assert_eq!(fits.has(x, y), c == b'1', "{x}, {y}");
            }
        }
    }
}

#[test]
fn the_largest_rectangle_is_that_of_all() {
    for case in load()["rectangles"].as_array().unwrap() {
        let [w, h] = largest_rectangle(&set(&rows(&case["free"]), 0));
        assert_eq!((w * h) as u64, case["area"].as_u64().unwrap());
    }
}

#[test]
fn it_fits_where_shapely_says_so() {
    for (k, case) in load()["fits"].as_array().unwrap().iter().enumerate() {
        let mut piece = PatternPiece::named("blob");
        piece.cut = vec![ring(&case["piece"])];
        let bed = Bed {
            within: vec![Region::ring(ring(&case["outline"]))],
            clear_of: rings(&case["holes"]),
            taken: rings(&case["taken"]),
            gap: case["gap"].as_f64().unwrap(),
            warp_deg: 90.0,
        };
        let mut ask = ask(&piece, &bed);
        ask.hand.turn_deg = case["turn_deg"].as_f64().unwrap();
        if case["mirrored"].as_bool().unwrap() {
            ask.hand.face = Face::Down;
        }
        ask.limits.tolerance_deg = 0.0;
        let engine = Engine::prepare(&ask, As::One, &|_| true).unwrap().unwrap();
        let first = ring::<Cloth>(&serde_json::json!([case["first"]]))[0];
        let step = case["step"].as_i64().unwrap() as i32;
        let (mut sure, mut exact) = (0, 0);
        for (row, line) in (0..).zip(rows(&case["rows"])) {
            for (column, &c) in (0..).zip(line) {
                let at = first - engine.grid.origin;
                let spot = Spot {
                    turn: 0,
                    i: at.x as i32 + step * column,
                    j: at.y as i32 + step * row,
                };
                let place = engine.place(spot);
                // Where there is room all round it is seen, and only where it fits.
                match engine.fits(spot) {
                    true => assert!(c >= b'2', "case {k}: {place:?}"),
                    false => assert_ne!(c, b'3', "case {k}: {place:?}"),
                }
                assert_eq!(engine.fits_exactly(spot), c != b'0', "case {k}: {place:?}");
                sure += i32::from(engine.fits(spot));
                exact += i32::from(c != b'0');
            }
        }
        assert!(5 * sure > 3 * exact, "case {k}: {sure} of {exact}");
    }
}
