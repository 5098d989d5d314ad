//! The drawn grid in which a place is read: what is lit and what a reading says are the same.

use ghostchalk::calibration::reading::Grid;
use ghostchalk::light::setting::reading_grid;
use ghostchalk::projection::Upright;
use ghostchalk::space::Point;
use ghostchalk::stand::Side;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn the_page_and_the_parser_name_the_same_cell_and_lines(
        w in 640..1400u32, h in 400..1100u32, side in 0..4usize, mirror in any::<bool>(),
        places in prop::collection::vec((0.0..1.0f64, 0.0..1.0f64), 1..25),
    ) {
        let on = Upright::new([w, h], Side::ALL[side], mirror);
        let page = reading_grid(&on).unwrap();
        let raster = page.raster.as_ref().unwrap();
        // Codes of the page as the reader sees it.
        let seen = |column: u32, row: u32| {
            let (x, y) = on.cell(column, row);
            raster.get(x, y)[0]
        };
        let [across, down] = on.size();
        let coarse_column = |c: u32| (0..down).all(|r| seen(c, r) == 255);
        let coarse_row = |r: u32| (0..across).all(|c| seen(c, r) == 255);
        for (u, v) in places {
            let p = Point::new(u * f64::from(w), v * f64::from(h));
            let text = Grid::over(on).format(p).unwrap();
            let parts: Vec<&str> = text.split(' ').collect();
            // The last pixel whose middle it has passed, as the reader sees it.
            let r = on.reader(Grid::over(on).parse(&text).unwrap());
            let passed = |v: f64| (v - 0.5 + 1e-6).floor() as u32;
            let (column, row) = (passed(r.x), passed(r.y));
            let left = (0..=column).rev().find(|c| coarse_column(*c)).unwrap();
            let far = (0..=row).rev().find(|y| coarse_row(*y)).unwrap();
            // Ten fine lines on is the next cell's line: the same place.
            let left = if parts[1] == "10.0" { left - 40 } else { left };
            let far = if parts[2] == "10.0" { far - 40 } else { far };
            // The name that is drawn between this cell's lines.
            let named = page.words.iter().find(|words| {
                let middle = on.reader(words.room.center());
                let (x, y) = (f64::from(left), f64::from(far));
                (x..x + 40.0).contains(&middle.x) && (y..y + 40.0).contains(&middle.y)
            });
            match named {
                Some(words) => prop_assert_eq!(&words.text, parts[0], "{:?} {:?}", text, on),
                // Cells that the edge cuts have no name.
                None => prop_assert!(left + 40 > across || far + 40 > down, "{} {:?}", text, on),
            }
            // Lit lines from the cell's own to the mark, counted along a row and
            // a column below the name.
            let (below, beside) = (far + 33, left + 2);
            if below < down && beside < across {
                let lines = (left + 1..=column).filter(|c| seen(*c, below) > 0).count();
                let read: f64 = parts[1].parse().unwrap();
                prop_assert_eq!(lines, read.floor() as usize, "{} {:?}", text, on);
            }
        }
    }
}
