//! What people type and read: lengths, sentences and numbers, readings of the grid.

use ghostchalk::calibration::reading::Grid;
use ghostchalk::measure::{LONGEST, Unit, lines, numbers, parse_length};
use ghostchalk::projection::Upright;
use ghostchalk::stand::Side;

use super::Target;
use super::bytes::Bytes;

pub const LENGTH: Target = Target {
    name: "length",
    run: a_length,
    seeds: &["fuzz/seeds/length/*"],
};

pub const WORDS: Target = Target {
    name: "words",
    run: some_words,
    seeds: &["fuzz/seeds/words/*"],
};

pub const READING: Target = Target {
    name: "reading",
    run: a_reading,
    seeds: &["fuzz/seeds/reading/*"],
};

const UNITS: [Unit; 4] = [Unit::Mm, Unit::Cm, Unit::Metre, Unit::Inch];

/// A length that is read is shown in every unit, and read again it is the nearest that the unit
/// can tell.
fn a_length(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    for default in UNITS {
        let Ok(mm) = parse_length(&text, default) else {
            continue;
        };
        assert!(mm.abs() <= LONGEST, "{mm} mm");
        for unit in UNITS {
            let shown = unit.show(mm);
            let back = parse_length(&shown, Unit::Mm);
            let back = back.unwrap_or_else(|fault| panic!("{shown:?}: {fault}"));
            let off = (back - mm).abs();
            assert!(
                off <= unit.step() / 2.0 + 1e-9 * LONGEST,
                "{shown:?} is {mm}"
            );
            assert_eq!(unit.show(back), shown);
        }
    }
}

/// Sentences told in another unit keep their names, and broken into lines their words.
fn some_words(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let most = bytes.below(100);
    let text = String::from_utf8_lossy(bytes.rest());
    assert_eq!(Unit::Mm.in_sentence(&text), text);
    let names = |text: &str| -> Vec<String> {
        let parts = text.split('"').skip(1).step_by(2);
        parts.map(str::to_owned).collect()
    };
    for unit in UNITS {
        assert_eq!(names(&unit.in_sentence(&text)), names(&text));
    }

    let broken = lines(&text, most);
    let words: Vec<&str> = text.split_whitespace().collect();
    assert_eq!(broken.join(" "), words.join(" "));
    for line in &broken {
        assert!(line.chars().count() <= most || !line.contains(' '));
    }
    for counts in [&[1][..], &[2, 4], &[0]] {
        if let Ok(read) = numbers("a place", &text, counts) {
            assert!(counts.contains(&read.len()));
            assert!(read.iter().all(|v| v.is_finite()));
        }
    }
}

/// A reading names a place of the picture, and the place's own reading is beside it.
fn a_reading(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let size = [
        1 + u32::from(bytes.word() % 4096),
        1 + u32::from(bytes.word() % 4096),
    ];
    let on = Upright::new(size, Side::ALL[bytes.below(4)], bytes.flag());
    let grid = Grid::over(on);
    let text = String::from_utf8_lossy(bytes.rest());
    let Ok(at) = grid.parse(&text) else { return };
    let [w, h] = size.map(f64::from);
    let inside = (-1e-9..=w + 1e-9).contains(&at.x) && (-1e-9..=h + 1e-9).contains(&at.y);
    assert!(inside, "{text:?} is at {at:?}, outside of {size:?}");
    // A place on the very edge may lie outside by its last digit.
    let Some(told) = grid.format(at) else { return };
    let back = grid.parse(&told);
    let back = back.unwrap_or_else(|fault| panic!("{told:?}: {fault}"));
    let off = back - at;
    // A tenth of a fine line, and the pixel before the middle of the first line.
    assert!(
        off.x.abs() <= 1.0 && off.y.abs() <= 1.0,
        "{text:?}, {told:?}"
    );
}
