//! The corner target: a sheet to print, whose four crosses stand a known distance
//! apart until they are cut apart and pasted near the table's corners.

use crate::sheet::{Page, Paper, TextAt};

/// Distance of the crosses' middles, mm, across and along the sheet: a whole
/// number that leaves a printer's margin on the paper.
pub fn spacing(paper: Paper) -> (f64, f64) {
    match paper {
        Paper::A4 => (180.0, 240.0),
        Paper::Letter => (180.0, 220.0),
    }
}

/// Draws the target. Everything that matters is thin lines; the 100 mm check
/// line tells whether the printer kept the size.
pub fn corner_target(paper: Paper) -> Page {
    let (width, height) = paper.size_mm();
    let (across, along) = spacing(paper);
    let mut page = Page::new(paper);
    let (left, bottom) = ((width - across) / 2.0, (height - along) / 2.0);
    let corners = [
        (left, bottom, "1"),
        (left + across, bottom, "2"),
        (left + across, bottom + along, "3"),
        (left, bottom + along, "4"),
    ];
    for (x, y, name) in corners {
        page.line((x - 10.0, y), (x + 10.0, y), 0.25);
        page.line((x, y - 10.0), (x, y + 10.0), 0.25);
        page.circle((x, y), 5.0, 0.25);
        // Names stand inside the rectangle, clear of the cross.
        let inward = if x < width / 2.0 { 7.0 } else { -11.0 };
        let up = if y < height / 2.0 { 7.0 } else { -11.0 };
        page.text(&TextAt {
            x: x + inward,
            y: y + up,
            size: 5.0,
            text: name.to_owned(),
        });
    }
    let (cx, cy) = (width / 2.0, height / 2.0);
    page.line((cx - 50.0, cy), (cx + 50.0, cy), 0.35);
    for x in [cx - 50.0, cx + 50.0] {
        page.line((x, cy - 3.0), (x, cy + 3.0), 0.35);
    }
    for k in 1..10 {
        let x = cx - 50.0 + 10.0 * f64::from(k);
        page.line((x, cy), (x, cy + 2.0), 0.25);
    }
    let lines = [
        (18.0, 4.5, "Ghostchalk corner target".to_owned()),
        (
            9.0,
            3.5,
            "This line is 100 mm. Measure it: if it is not, print at 100 %, \"actual size\"."
                .to_owned(),
        ),
        (
            -10.0,
            3.5,
            format!(
                "Crosses 1, 2, 3, 4: {across} mm across, {along} mm along, each from middle to middle."
            ),
        ),
        (
            -16.0,
            3.5,
            "Then cut the four crosses apart, each with its number and some white round it. Paste them"
                .to_owned(),
        ),
        (
            -22.0,
            3.5,
            "flat near the table's corners: 1 front left, 2 front right, 3 back right, 4 back left."
                .to_owned(),
        ),
    ];
    for (dy, size, text) in lines {
        page.text_centred(cx, cy + dy, size, &text);
    }
    page
}
