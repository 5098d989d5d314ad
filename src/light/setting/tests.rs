//! What holds for every page, and closed forms for those of whole pixels.

use super::*;
use crate::fault::Outcome;
use crate::projection::grid;
use crate::projection::wedge::CODES;
use crate::projection::{Reader, Upright};
use crate::stand::Side;
use proptest::prelude::*;

/// Every page that has words, but for the grid's small ones.
fn worded(on: &Upright) -> Vec<Page> {
    let at = Point::new(
        f64::from(on.picture[0]) * 0.37,
        f64::from(on.picture[1]) * 0.61,
    );
    let mut all = Vec::new();
    for many in [first_words(on), cautions(on), how_to_read(on)] {
        all.extend(many.unwrap());
    }
    let runs = [Run::Away, Run::Across];
    let counts = runs
        .map(|r| [Stripes::Count(r), Stripes::Pairs(r)])
        .concat();
    for which in counts.into_iter().chain([Stripes::Look]) {
        all.push(stripes(on, which).unwrap());
    }
    let faults = [
        "another window has the keyboard",
        "no projector: plug it in, or choose another output in the panel",
    ];
    let one: [Outcome<Page>; 7] = [
        wedge(on),
        colour_lines(on),
        focus(on),
        cross(on, at, 3, Step::Tenth),
        cross(on, Point::new(3.0, 5.0), 1, Step::Ten),
        say(&faults, on),
        warm_up(on, 12),
    ];
    all.extend(one.map(Result::unwrap));
    all
}

fn ways() -> impl Strategy<Value = Upright> {
    let side = (0..4usize).prop_map(|k| Side::ALL[k]);
    (640..=3840u32, 360..=2160u32, side, any::<bool>())
        .prop_map(|(w, h, side, mirror)| Upright::new([w, h], side, mirror))
}

fn fits(page: &Page, on: &Upright, capital: f64) -> Result<(), TestCaseError> {
    let [w, h] = page.picture.map(f64::from);
    let inner = Bounds::new(
        Point::new(MARGIN, MARGIN),
        Point::new(w - MARGIN, h - MARGIN),
    );
    for (k, a) in page.words.iter().enumerate() {
        prop_assert!(
            inner.inflate(1e-6, 1e-6).contains_box(&a.room),
            "{:?} of {:?}",
            a,
            page.picture
        );
        let high = match on.side {
            Side::Front | Side::Back => a.room.height(),
            Side::Right | Side::Left => a.room.width(),
        };
        prop_assert!(high >= capital - 1e-6, "{a:?}");
        for b in &page.words[k + 1..] {
            prop_assert!(!a.room.intersects(&b.room), "{a:?} {b:?}");
        }
        // No other light in the words' room: bars, stars and crosses keep off.
        let others = page.light.iter().filter_map(|s| s.region.bounds());
        let hits = others.filter(|b| a.room.intersects(b)).count();
        prop_assert_eq!(hits, usize::from(a.text != " "), "{:?}", a);
        let Some(raster) = &page.raster else { continue };
        let (x0, x1) = (a.room.min.x as u32, a.room.max.x.ceil() as u32);
        for y in a.room.min.y as u32..a.room.max.y.ceil() as u32 {
            for x in x0..x1 {
                prop_assert_eq!(raster.get(x, y), [0; 3], "{:?} at {} {}", a, x, y);
            }
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4))]
    #[test]
    fn words_stand_in_the_picture_and_clear_of_all_other_light(on in ways()) {
        for page in worded(&on) {
            fits(&page, &on, LEAST_CAPITAL)?;
        }
    }

    #[test]
    fn a_cross_anywhere_keeps_its_words_in_the_picture(
        on in ways(), x in -0.2..1.2f64, y in -0.2..1.2f64,
    ) {
        let [w, h] = on.picture.map(f64::from);
        let page = cross(&on, Point::new(x * w, y * h), 4, Step::Tenth).unwrap();
        fits(&page, &on, LEAST_CAPITAL)?;
    }

    #[test]
    fn whatever_is_said_fits(
        on in ways(), words in prop::collection::vec("[a-z/]{1,60}( [a-z]{1,9}){0,30}", 1..4),
    ) {
        let lines: Vec<&str> = words.iter().map(String::as_str).collect();
        let page = say(&lines, &on).unwrap();
        fits(&page, &on, 0.0)?;
        let said: String = page.words.iter().map(|w| w.text.replace(' ', "")).collect();
        prop_assert_eq!(said, words.concat().replace(' ', ""));
    }
}

#[test]
fn the_smallest_and_largest_pictures_fit_on_every_side() {
    let pictures = [[640, 360], [3840, 2160], [640, 2160], [1024, 768]];
    for (k, picture) in pictures.into_iter().enumerate() {
        // Of the largest, one side of each way that its words can run.
        let sides = Side::ALL.into_iter().enumerate();
        for (n, side) in sides.filter(|(n, _)| k != 1 || *n < 2) {
            // A mirror flips what is laid out, and no more: each in turn will do.
            let on = Upright::new(picture, side, (k + n) % 2 == 1);
            for page in worded(&on) {
                fits(&page, &on, LEAST_CAPITAL).unwrap();
            }
        }
    }
}

#[test]
fn the_marks_are_numbered_round_the_table_from_where_one_stands() {
    for picture in [[640, 360], [1920, 1080]] {
        for (side, first) in Side::ALL.into_iter().zip(1..) {
            let on = Upright::new(picture, side, side == Side::Back);
            let words = "Put four marks on the table, near the corners of the light.";
            let page = mark_places(&on, first, &[words; 3]).unwrap();
            fits(&page, &on, 0.0).unwrap();
            let [w, h] = on.size().map(f64::from);
            let number = |x: f64, y: f64| {
                let all = page.words.iter().filter(|t| t.text.len() == 1);
                let near = all.min_by(|a, b| {
                    let far = |t: &Words| {
                        let at = on.reader(t.room.center());
                        (at - Point::new(x * w, y * h)).length()
                    };
                    far(a).total_cmp(&far(b))
                });
                near.unwrap().text.parse::<u32>().unwrap()
            };
            // Near left, near right, far right, far left.
            let seen = [
                number(0.0, 1.0),
                number(1.0, 1.0),
                number(1.0, 0.0),
                number(0.0, 0.0),
            ];
            let follow = |k: u32| (first + k - 1) % 4 + 1;
            assert_eq!(seen, [0, 1, 2, 3].map(follow), "{side:?}");
            // The outermost pixels are lit.
            let all = page.light.iter().filter_map(|s| s.region.bounds());
            let all = all.reduce(|a, b| a.union(&b)).unwrap();
            let [w, h] = picture.map(f64::from);
            assert_eq!(all, Bounds::new(Point::origin(), Point::new(w, h)));
        }
    }
}

#[test]
fn outlines_have_positive_area_on_every_side() {
    // Or they would take light away.
    for side in Side::ALL {
        for mirror in [false, true] {
            let on = Upright::new([640, 360], side, mirror);
            for page in worded(&on) {
                for shape in &page.light {
                    assert!(shape.region.area() > 0.0, "{on:?}");
                }
            }
        }
    }
}

#[test]
fn letters_read_the_right_way_round_on_every_side() {
    for side in Side::ALL {
        for mirror in [false, true] {
            let on = Upright::new([1280, 720], side, mirror);
            let page = say(&["F"], &on).unwrap();
            let lit = &page.light[0].region;
            let b = lit.bounds().unwrap();
            let (p, q) = (on.reader(b.min), on.reader(b.max));
            let seen: Bounds<Reader> = Bounds::new(p.min(q), p.max(q));
            let at = |x: f64, y: f64| {
                let x = seen.min.x + x * seen.width();
                let y = seen.min.y + y * seen.height();
                lit.contains(on.pixel(Point::new(x, y)))
            };
            // Stem at the reader's left, down to the foot; the long arm far.
            assert!(at(0.1, 0.95) && at(0.9, 0.05), "{on:?}");
            assert!(!at(0.9, 0.95) && !at(0.9, 0.7), "{on:?}");
        }
    }
}

#[test]
fn grid_lines_are_whole_pixels_at_their_places() {
    let on = Upright::new([200, 120], Side::Front, false);
    let page = reading_grid(&on).unwrap();
    let raster = page.raster.unwrap();
    let row = |y: u32| (0..44).map(|x| raster.get(x, y)[0]).collect::<Vec<u8>>();
    let mut want = vec![0u8; 44];
    for (x, v) in want.iter_mut().enumerate() {
        *v = match x {
            0 | 40 => 255,
            20 => 160,
            x if x % 4 == 0 => 97,
            _ => 0,
        };
    }
    // Above the names and below them.
    assert_eq!(row(1), want);
    assert_eq!(row(41), want);
    assert_eq!(row(31), want);
    // Through a name: no brighter than 48 under it, coarse lines as they are.
    let through = row(10);
    assert_eq!([through[0], through[20], through[40]], [255, 48, 255]);
    assert_eq!(row(40), [255; 44]);
    // A coarse line's middle is what a reading of 0.0 means.
    let middle = grid::coordinate(1, 0.0);
    assert_eq!(raster.get(middle as u32, 1), [255; 3]);
    assert_eq!(middle.fract(), 0.5);
    // 5 columns, 3 rows.
    let names: Vec<&str> = page.words.iter().map(|w| w.text.as_str()).collect();
    assert_eq!(names.len(), 15);
    assert_eq!((names[0], names[4], names[14]), ("A1", "E1", "E3"));
}

#[test]
fn grid_names_keep_inside_their_cells_on_every_side() {
    // The largest picture has five thousand names: from one side it is enough.
    for (picture, sides) in [([640, 360], 4), ([1366, 768], 2), ([3840, 2160], 1)] {
        for side in Side::ALL.into_iter().take(sides) {
            for mirror in [false, true] {
                let on = Upright::new(picture, side, mirror);
                let page = reading_grid(&on).unwrap();
                let [w, h] = on.size();
                assert_eq!(page.words.len() as u32, (w / 40) * (h / 40));
                for (k, words) in page.words.iter().enumerate() {
                    let (column, row) = (k as u32 % (w / 40), k as u32 / (w / 40));
                    assert_eq!(words.text, grid::cell_name(column, row));
                    let (p, q) = (on.reader(words.room.min), on.reader(words.room.max));
                    let (low, high) = (p.min(q), p.max(q));
                    let (x, y) = (f64::from(column * 40), f64::from(row * 40));
                    assert!(low.x > x + 1.0 && high.x < x + 40.0, "{words:?}");
                    // Above the brighter line in the cell's middle.
                    assert!(low.y > y + 1.0 && high.y < y + 20.5, "{words:?} {y}");
                }
            }
        }
    }
}

/// A row of N pixels, each the mean of what it covers of `row`.
fn boxed(row: &[f64], n: usize) -> Vec<f64> {
    let scale = row.len() as f64 / n as f64;
    let sum = |x: f64| {
        let whole = (x as usize).min(row.len());
        let part = row.get(whole).map_or(0.0, |v| v * (x - whole as f64));
        row[..whole].iter().sum::<f64>() + part
    };
    let edge = |j: usize| sum(j as f64 * scale);
    (0..n).map(|j| (edge(j + 1) - edge(j)) / scale).collect()
}

/// The picture's top row, as light.
fn top_row(page: &Page) -> Vec<f64> {
    let raster = page.raster.as_ref().unwrap();
    let lit = |x| f64::from(raster.get(x, 0)[0]) / 255.0;
    (0..raster.width).map(lit).collect()
}

#[test]
fn one_pixel_stripes_beat_as_often_as_pixels_are_added_or_left_out() {
    let on = Upright::new([640, 360], Side::Front, false);
    let row = top_row(&stripes(&on, Stripes::Count(Run::Away)).unwrap());
    assert!(row.chunks(2).all(|p| p == [1.0, 0.0]));
    for n in 1..=20usize {
        let count = |wide: usize| {
            let seen = boxed(&row, wide);
            // Stripes fade out where neighbours hardly differ.
            let faint: Vec<bool> = seen.windows(2).map(|p| (p[0] - p[1]).abs() < 0.4).collect();
            usize::from(faint[0]) + faint.windows(2).filter(|f| !f[0] && f[1]).count()
        };
        assert_eq!((count(640 + n), count(640 - n)), (n, n));
    }
}

#[test]
fn paired_stripes_tell_repeated_pixels_from_those_left_out() {
    let on = Upright::new([640, 360], Side::Front, false);
    let row = top_row(&stripes(&on, Stripes::Pairs(Run::Away)).unwrap());
    // The nearest pixel is taken; lengths of the runs that result.
    let runs = |n: usize| {
        let take = |j: usize| row[((j as f64 + 0.5) * 640.0 / n as f64) as usize];
        let seen: Vec<f64> = (0..n).map(take).collect();
        let lengths: Vec<usize> = seen.chunk_by(|a, b| a == b).map(<[f64]>::len).collect();
        [1, 2, 3].map(|l| lengths.iter().filter(|r| **r == l).count())
    };
    assert_eq!(runs(648), [0, 320 - 8, 8]);
    assert_eq!(runs(632), [8, 320 - 8, 0]);
    assert_eq!(runs(640), [0, 320, 0]);
}

#[test]
fn stripes_run_as_the_reader_sees_them() {
    for (side, along_row) in [(Side::Front, true), (Side::Right, false)] {
        let on = Upright::new([640, 360], side, true);
        let raster = stripes(&on, Stripes::Count(Run::Away))
            .unwrap()
            .raster
            .unwrap();
        // In a corner that no words reach, whatever the side.
        let (far_x, far_y) = on.cell(0, 0);
        let step = |d: u32, far: u32| if far == 0 { d } else { far - d };
        let along = |d| raster.get(step(d, far_x), far_y)[0];
        let down = |d| raster.get(far_x, step(d, far_y))[0];
        let seen = |f: &dyn Fn(u32) -> u8| (0..6).map(f).collect::<Vec<u8>>();
        let (across, still) = if along_row {
            (seen(&along), seen(&down))
        } else {
            (seen(&down), seen(&along))
        };
        assert_eq!(across, [255, 0, 255, 0, 255, 0]);
        assert_eq!(still, [255; 6]);
    }
}

#[test]
fn the_wedge_holds_each_step_once_and_its_number_is_its_code() {
    for picture in [[640, 360], [1920, 1080]] {
        let page = wedge(&Upright::new(picture, Side::Left, false)).unwrap();
        let raster = page.raster.as_ref().unwrap();
        let mut areas = [0usize; 256];
        for p in raster.rgb.chunks(3) {
            assert!(p[0] == p[1] && p[1] == p[2]);
            areas[usize::from(p[0])] += 1;
        }
        for (code, area) in areas.into_iter().enumerate().skip(1) {
            let step = code <= 32 && code % 2 == 0;
            // Squares, but for rounding, all alike and worth looking at.
            assert_eq!(area > 400, step, "{code}: {area}");
        }
        let numbers: Vec<String> = CODES.iter().map(u8::to_string).collect();
        let count = |n: &String| page.words.iter().filter(|w| w.text == *n).count();
        assert!(numbers.iter().all(|n| count(n) == 1));
    }
}

#[test]
fn colour_lines_are_one_pixel_of_pure_colour() {
    let page = colour_lines(&Upright::new([640, 360], Side::Front, false)).unwrap();
    let raster = page.raster.unwrap();
    let codes = |y: u32| (0..640).map(|x| raster.get(x, y)).collect::<Vec<[u8; 3]>>();
    // The far field: each lit pixel stands alone, five apart, on odd and even.
    let row = codes(30);
    for want in [[255, 255, 255], [255, 0, 0], [0, 0, 255]] {
        let at: Vec<usize> = (0..640).filter(|&x| row[x] == want).collect();
        assert!(at.len() > 20 && at.windows(2).all(|w| w[1] - w[0] == 5));
    }
    let lit = row.iter().filter(|c| **c != [0; 3]).count();
    assert_eq!(
        lit,
        row.iter().filter(|c| c[0] == 255 || c[2] == 255).count()
    );
}

#[test]
fn the_verniers_pointer_moves_ten_pixels_for_a_tenth() {
    let on = Upright::new([1920, 1080], Side::Front, false);
    let lowest = |x: f64| {
        let page = cross(&on, Point::new(x, 500.5), 2, Step::Tenth).unwrap();
        // The pointer for x: the first bar of its size.
        let bounds = page.light.iter().filter_map(|s| s.region.bounds());
        let mut pointers =
            bounds.filter(|b| (b.width() - 5.0).abs() < 1e-9 && (b.height() - 12.0).abs() < 1e-9);
        let mut ticks = page.light.iter().filter_map(|s| s.region.bounds());
        let zero = ticks
            .find(|b| (b.width() - 1.0).abs() < 1e-9)
            .unwrap()
            .center()
            .x;
        pointers.next().unwrap().center().x - zero
    };
    for tenths in 0..10u32 {
        let part = lowest(700.0 + f64::from(tenths) / 10.0);
        assert!((part - 10.0 * f64::from(tenths)).abs() < 1e-6, "{part}");
    }
}

#[test]
fn the_fonts_letters_draw_every_word_of_ours() {
    let letters = crate::light::Letters::new(20.0).unwrap();
    let on = Upright::new([1920, 1080], Side::Front, false);
    for page in worded(&on) {
        for words in page.words {
            assert_eq!(letters.lacks(&words.text), "", "{}", words.text);
        }
    }
    assert_eq!(letters.lacks("600 mm × 400 mm · 1 3/8 in"), "");
}
