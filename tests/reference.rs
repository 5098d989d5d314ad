//! Calculations against values that other libraries made: `tests/reference/`
//! holds the numbers, the scripts and their versions.

use ghostchalk::calibration::{MarkRow, Profile};
use ghostchalk::colour::{decode_srgb, encode_srgb};
use ghostchalk::lay::{Face, Placement};
use ghostchalk::projection::{Homography, Lens, LensPlace, Mapping, Orientation, from_marks};
use ghostchalk::shape::{Region, difference, offset, union};
use ghostchalk::space::{Point, Projector, Table};
use ghostchalk::twin::exact::ExactLight;
use serde_json::Value;

fn load(name: &str) -> Value {
    let path = format!("{}/tests/reference/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// A number, or one of the strings that stand for what JSON cannot say.
fn number(v: &Value) -> f64 {
    match v.as_str() {
        Some(text) => text.parse().unwrap(),
        None => v.as_f64().unwrap(),
    }
}

fn points<S>(v: &Value) -> Vec<Point<S>> {
    v.as_array()
        .unwrap()
        .iter()
        .map(|p| Point::new(number(&p[0]), number(&p[1])))
        .collect()
}

fn four<S>(v: &Value) -> [Point<S>; 4] {
    points(v).try_into().unwrap()
}

fn rows(v: &Value) -> [[f64; 3]; 3] {
    std::array::from_fn(|r| std::array::from_fn(|c| number(&v[r][c])))
}

#[test]
fn homography_agrees_with_numpy_and_opencv() {
    let all = load("homography");
    let grid: Vec<Point<Table>> = points(&all["grid_mm"]);
    for case in all["cases"].as_array().unwrap() {
        let (marks, pixels) = (four(&case["table_mm"]), four(&case["px"]));
        let (h, orientation) = from_marks(marks, pixels).unwrap();
        for (a, b) in marks.iter().zip(pixels) {
            assert!(
                (h.point(*a).unwrap() - b).length() <= 1e-9,
                "{}",
                case["name"]
            );
        }
        assert_eq!(
            orientation == Orientation::Mirrored,
            case["mirrored"].as_bool().unwrap()
        );
        let numpy: Vec<Point<Projector>> = points(&case["grid_px_numpy"]);
        let opencv: Vec<Point<Projector>> = points(&case["grid_px_opencv"]);
        for ((p, n), c) in grid.iter().zip(numpy).zip(opencv) {
            let q = h.point(*p).unwrap();
            assert!(
                (q - n).length() <= 1e-6,
                "{}: {:e}",
                case["name"],
                (q - n).length()
            );
            assert!(
                (q - c).length() <= 1e-3,
                "{}: {:e}",
                case["name"],
                (q - c).length()
            );
        }
    }
}

#[test]
fn marks_that_fix_nothing_are_refused_by_name() {
    let all = load("homography");
    let list = all["degenerate"].as_array().unwrap();
    assert!(list.len() >= 10);
    for case in list {
        let rows: [MarkRow; 4] = {
            let (m, p) = (
                four::<Table>(&case["table_mm"]),
                four::<Projector>(&case["px"]),
            );
            std::array::from_fn(|k| MarkRow {
                table: m[k],
                projector: p[k],
            })
        };
        let said = Profile::of_four(&rows, [1920, 1080], false)
            .unwrap_err()
            .to_string();
        assert!(said.contains("mark"), "{}: {said}", case["name"]);
    }
    for case in all["nearly_degenerate"].as_array().unwrap() {
        // No answer is set; it must only be one.
        if let Ok((h, _)) = from_marks(four(&case["table_mm"]), four(&case["px"])) {
            assert!(
                h.rows().iter().flatten().all(|v| v.is_finite()),
                "{}",
                case["name"]
            );
        }
    }
}

fn lens(case: &Value) -> Lens {
    let n = |key: &str| number(&case[key]);
    Lens {
        focal: n("f_px"),
        centre: Point::new(number(&case["centre_px"][0]), number(&case["centre_px"][1])),
        k1: n("k1"),
        k2: n("k2"),
        p1: n("p1"),
        p2: n("p2"),
    }
}

#[test]
fn lens_agrees_with_opencv() {
    for case in load("lens")["cases"].as_array().unwrap() {
        let lens = lens(case);
        let ideal: Vec<Point<Projector>> = points(&case["ideal_px"]);
        for (p, want) in ideal.iter().zip(points(&case["distorted_px"])) {
            let got = lens.bend(*p).unwrap();
            assert!(
                (got - want).length() <= 1e-7,
                "{}: {:e}",
                case["name"],
                (got - want).length()
            );
            assert!(
                (lens.straighten(got).unwrap() - *p).length() <= 1e-7,
                "{}",
                case["name"]
            );
        }
    }
}

#[test]
fn light_for_thick_cloth_goes_where_opencv_says() {
    for pose in load("lens")["poses"].as_array().unwrap() {
        let at = &pose["lens_mm"];
        let map = Mapping {
            homography: Homography::from_rows(rows(&pose["h_table_to_ideal_px"])).unwrap(),
            lens: Some(lens(pose)),
            lens_place: Some(LensPlace {
                foot: Point::new(number(&at[0]), number(&at[1])),
                height: number(&at[2]),
            }),
        };
        let spots: Vec<Point<Table>> = points(&pose["spots_mm"]);
        for level in pose["levels"].as_array().unwrap() {
            let t = number(&level["thickness_mm"]);
            let moved = level["displacement_length_mm"].as_array().unwrap();
            for ((p, want), d) in spots.iter().zip(points(&level["distorted_px"])).zip(moved) {
                let off = (map.pixel(*p, t).unwrap() - want).length();
                assert!(off <= 1e-6, "{} t={t}: {off:e} px", pose["name"]);
                // Closed form: light aimed at p lands d·t/h short, so the aim
                // for p goes d·t/(h−t) further out.
                let aimed = (map.aim(*p, t).unwrap() - *p).length();
                assert!((aimed - number(d)).abs() <= 1e-6, "{} t={t}", pose["name"]);
            }
        }
    }
}

/// By the matrix of a plane rotation, counter-clockwise; face down mirrors x first.
#[test]
fn a_placement_turns_as_the_rotation_matrix_does() {
    let (sin, cos) = 0.5f64.asin().sin_cos();
    for (face, flip) in [(Face::Up, 1.0), (Face::Down, -1.0)] {
        let placed = Placement {
            id: None,
            piece: "upper".into(),
            article: "1".into(),
            panel: "sling".into(),
            x_mm: 300.0,
            y_mm: -40.0,
            turn_deg: 30.0,
            face,
            locked: false,
        };
        let (x, y) = (70.0 * flip, 11.0);
        let there = placed.pose().point(Point::new(70.0, 11.0));
        let is = Point::new(300.0 + cos * x - sin * y, -40.0 + sin * x + cos * y);
        assert!((there - is).length() < 1e-9, "{face:?}: {there:?} {is:?}");
    }
}

#[test]
fn srgb_is_iec_61966_2_1() {
    let all = load("srgb");
    for (i, code) in all["codes"].as_array().unwrap().iter().enumerate() {
        let got = (255.0 * encode_srgb(i as f64 / 1000.0)).round();
        assert_eq!(got, number(code), "{i}");
    }
    for (code, linear) in all["decode"].as_array().unwrap().iter().enumerate() {
        assert!((decode_srgb(code as f64 / 255.0) - number(linear)).abs() < 1e-12);
    }
    assert_eq!((255.0 * encode_srgb(0.5)).round(), 188.0);
}

fn region(case: &Value) -> Region<Table> {
    let ring = |v: &Value, outer: bool| {
        let mut ring = points(v);
        if (ghostchalk::shape::signed_area(&ring) > 0.0) != outer {
            ring.reverse();
        }
        ring
    };
    let mut rings = vec![ring(&case["outer"], true)];
    rings.extend(
        case["holes"]
            .as_array()
            .unwrap()
            .iter()
            .map(|h| ring(h, false)),
    );
    Region::new(rings)
}

/// The sum of all left turns of all rings, rad.
fn turning(region: &Region<Table>) -> f64 {
    let left = |ring: &Vec<Point<Table>>| -> f64 {
        let n = ring.len();
        (0..n)
            .map(|k| {
                let (a, b, c) = (ring[k], ring[(k + 1) % n], ring[(k + 2) % n]);
                (b - a).angle_to(c - b).radians.max(0.0)
            })
            .sum()
    };
    region.rings.iter().map(left).sum()
}

#[test]
fn offsets_and_bands_have_shapelys_areas() {
    for case in load("offset")["cases"].as_array().unwrap() {
        let shape = region(case);
        let near: Vec<Region<Table>> = case["neighbours"]
            .as_array()
            .unwrap()
            .iter()
            .map(|n| {
                if n.is_array() {
                    Region::ring(points(n))
                } else {
                    region(n)
                }
            })
            .collect();
        assert!(
            (shape.area() - number(&case["area"])).abs() < 1e-4,
            "{}",
            case["name"]
        );
        for result in case["results"].as_array().unwrap() {
            let w = number(&result["w"]);
            let grown = offset(&shape, w);
            let band = difference(&difference(&grown, &shape), &union(&near));
            // Round joins are chords, ours up to ARC_ERROR inside, along w times
            // all the turning to the left.
            let arcs = turning(&shape) * w * ghostchalk::shape::ARC_ERROR
                + number(&result["area_too_small_by_at_most"]);
            for (got, want) in [(grown.area(), "buffer_area"), (band.area(), "band_area")] {
                let off = got - number(&result[want]);
                assert!(
                    off.abs() < arcs,
                    "{} w={w} {want}: {off} of {arcs}",
                    case["name"]
                );
            }
            let inside = ghostchalk::shape::intersection(&band, &shape).area();
            assert!(
                inside < 1e-4,
                "{}: {inside} mm² of band in the piece",
                case["name"]
            );
        }
    }
}

#[test]
fn exact_light_has_shapelys_pixel_areas() {
    for case in load("coverage")["cases"].as_array().unwrap() {
        let mut exact = ExactLight::new(48, 32);
        exact.add(&points(&case["outer"]), 1.0);
        for hole in case["holes"].as_array().unwrap() {
            exact.add(&points(hole), 1.0);
        }
        for (y, row) in case["coverage"].as_array().unwrap().iter().enumerate() {
            for (x, want) in row.as_array().unwrap().iter().enumerate() {
                let got = exact.light[y * 48 + x].abs();
                assert!(
                    (got - number(want)).abs() < 1e-8,
                    "{} ({x}, {y})",
                    case["name"]
                );
            }
        }
    }
}

/// Discs, drawn, against where OpenCV warps them to: half a pixel out in the
/// pixel convention would show as 0.7 px here.
#[test]
fn drawn_discs_lie_where_opencv_warps_them() {
    let device = ghostchalk::render::Device::open(ghostchalk::render::Wanted::Best).unwrap();
    let all = load("warp");
    let radius = number(&all["disc_radius_mm"]);
    let [width, height] = [0, 1].map(|k| number(&all["size_px"][k]) as u32);
    for case in all["cases"].as_array().unwrap() {
        let (h, _) = from_marks(four(&case["table_mm"]), four(&case["px"])).unwrap();
        let map = Mapping::plane(h);
        for disc in case["discs"].as_array().unwrap() {
            let centre = Point::new(number(&disc["centre_mm"][0]), number(&disc["centre_mm"][1]));
            let scene = ghostchalk::scene::Scene {
                figures: vec![ghostchalk::scene::Figure {
                    patches: vec![ghostchalk::scene::Patch {
                        region: Region::disc(centre, radius),
                        level: ghostchalk::scene::Level::FULL,
                    }],
                    height: 0.0,
                }],
            };
            let frame = ghostchalk::frame::picture(&device, &scene, &map, [width, height]).unwrap();
            let (mut sum, mut at) = (0.0, (0.0, 0.0));
            for (k, code) in frame.codes.iter().enumerate().filter(|(_, c)| **c > 0) {
                let light = decode_srgb(f64::from(*code) / 255.0);
                let (x, y) = (
                    (k as u32 % width) as f64 + 0.5,
                    (k as u32 / width) as f64 + 0.5,
                );
                sum += light;
                at = (at.0 + light * x, at.1 + light * y);
            }
            let got = Point::<Projector>::new(at.0 / sum, at.1 / sum);
            for key in ["centroid_px", "opencv_centroid_px"] {
                let want = Point::new(number(&disc[key][0]), number(&disc[key][1]));
                assert!(
                    (got - want).length() < 0.005,
                    "{}: {got:?} {want:?}",
                    case["name"]
                );
            }
            assert!((sum / number(&disc["area_px2"]) - 1.0).abs() < 1e-3);
        }
    }
}

#[test]
fn physical_units_are_w3cs() {
    for unit in load("units")["units"].as_array().unwrap() {
        let name = unit["unit"].as_str().unwrap();
        // 50 mm in this unit, over a viewBox of 10: a square of 5 is 25 mm.
        let side = 50.0 * number(&unit["denominator"]) / number(&unit["numerator"]);
        let svg = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='{side:.12}{name}' height='{side:.12}{name}' \
             viewBox='0 0 10 10'><path d='M1 1h5v5h-5z'/></svg>"
        );
        let pattern = ghostchalk::drawing::read::svg::parse(svg.as_bytes()).unwrap();
        let b = Region::new(pattern.pieces[0].cut.clone()).bounds().unwrap();
        assert!(
            (b.width() - 25.0).abs() < 1e-9 && (b.height() - 25.0).abs() < 1e-9,
            "{name}: {b:?}"
        );
    }
}

/// SVG 2, 8.3: the y axis points down. Piece space has it up, about the outline's middle.
#[test]
fn what_stands_upper_left_in_svg_stands_so_in_the_piece() {
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='100mm' \
               viewBox='0 0 100 100'><path d='M10 20H50V80z'/></svg>";
    let pattern = ghostchalk::drawing::read::svg::parse(svg.as_bytes()).unwrap();
    let mut is: Vec<[f64; 2]> = Vec::new();
    for ring in &pattern.pieces[0].cut {
        is.extend(ring.iter().map(|p| p.to_array().map(f64::round)));
    }
    // The right angle, upper right in the picture, is 20 mm to the right and 30 mm up.
    for corner in [[-20.0, 30.0], [20.0, 30.0], [20.0, -30.0]] {
        assert!(is.contains(&corner), "{corner:?} in {is:?}");
    }
    assert_eq!(is.len(), 3, "{is:?}");
}
