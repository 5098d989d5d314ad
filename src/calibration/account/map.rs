//! The map of errors, as numbers and as a picture.

use super::{Account, CELLS, Map};
use crate::calibration::fit::{Fit, Sighted};
use crate::measure::{lines, xml_text};
use crate::space::{Point, Table};
use std::fmt::Write;

/// What is left at a mark is drawn so many times as long.
const ENLARGED: f64 = 50.0;

/// Errors that are told apart by shade and by figure, mm.
const STEPS: [f64; 6] = [0.15, 0.25, 0.4, 0.6, 1.0, 2.0];

pub(super) fn of(fit: &Fit, marks: &[Sighted], [from, to]: [Point<Table>; 2]) -> Map {
    let field = fit.field(marks);
    let mut map = Map {
        from_mm: from.to_array(),
        to_mm: to.to_array(),
        cells: CELLS,
        error_mm: Vec::new(),
    };
    let widened = fit.widened();
    let all = (0..CELLS[0] * CELLS[1]).map(|k| Some(field.across(map.place(k))? * widened));
    map.error_mm = all.collect();
    map
}

/// The account as a picture: the table seen from above, the person's edge below, the
/// error in shades with figures, the marks with what is left at each, enlarged. SVG,
/// true to scale at 1 : 4 when printed.
pub fn svg(account: &Account) -> String {
    let map = &account.map;
    let [w, h] = [map.to_mm[0] - map.from_mm[0], map.to_mm[1] - map.from_mm[1]];
    let margin = 60.0;
    let text = 22.0;
    let (width, height) = (w + 2.0 * margin, h + 2.0 * margin + 220.0);
    let x = |mm: f64| mm - map.from_mm[0] + margin;
    let y = |mm: f64| map.to_mm[1] - mm + margin;
    let mut s = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.1}mm\" height=\"{:.1}mm\" \
         viewBox=\"0 0 {width:.1} {height:.1}\" font-family=\"sans-serif\" font-size=\"{text}\">\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n",
        width / 4.0,
        height / 4.0
    );
    let [cw, ch] = [w / map.cells[0] as f64, h / map.cells[1] as f64];
    for (k, error) in map.error_mm.iter().enumerate() {
        let p = map.place(k);
        let _ = writeln!(
            s,
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"{}\"/>",
            x(p.x) - cw / 2.0,
            y(p.y) - ch / 2.0,
            cw + 0.5,
            ch + 0.5,
            error.map_or("#fff".to_owned(), shade)
        );
        // A figure in every fourth cell.
        let (c, r) = (k % map.cells[0], k / map.cells[0]);
        if let (Some(e), true) = (error, c % 4 == 1 && r % 4 == 1) {
            let _ = writeln!(
                s,
                "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\" fill=\"{}\">{e:.2}</text>",
                x(p.x),
                y(p.y) + text / 3.0,
                if *e > STEPS[3] { "#fff" } else { "#000" }
            );
        }
    }
    let _ = writeln!(
        s,
        "<rect x=\"{margin}\" y=\"{margin}\" width=\"{w:.1}\" height=\"{h:.1}\" fill=\"none\" \
         stroke=\"#000\" stroke-width=\"2\"/>"
    );
    for m in &account.marks {
        let ([mx, my], [lx, ly]) = (m.table_mm, m.left_mm);
        let ring = if m.slip { 16.0 } else { 7.0 };
        let _ = writeln!(
            s,
            "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{ring}\" fill=\"#fff\" stroke=\"#000\" \
             stroke-width=\"2\"/><line x1=\"{0:.1}\" y1=\"{1:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" \
             stroke=\"#000\" stroke-width=\"3\"/><text x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            x(mx),
            y(my),
            x(mx + lx * ENLARGED),
            y(my + ly * ENLARGED),
            x(mx) + 12.0,
            y(my) - 12.0,
            xml_text(&m.name)
        );
    }
    if let Some(next) = account.next_mark {
        let [nx, ny] = next.table_mm;
        let _ = writeln!(
            s,
            "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"14\" fill=\"none\" stroke=\"#000\" \
             stroke-width=\"3\" stroke-dasharray=\"6 5\"/>",
            x(nx),
            y(ny)
        );
    }
    let [rms, worst] = account.error_mm;
    let sentences = [
        format!(
            "Typical miss of the light across a line, mm: {rms:.2} over the table, {worst:.2} at \
             worst. {}.",
            account.bends()
        ),
        format!(
            "Lines at the marks: what is left there, {ENLARGED:.0} times as long. Dashed ring: \
             where one more mark would help most."
        ),
        format!("What would improve it most: {}.", account.improve),
    ];
    let room = (w / 10.5) as usize;
    let lines: Vec<String> = sentences
        .iter()
        .flat_map(|s| lines(s, room.max(20)))
        .collect();
    for (k, line) in lines.iter().enumerate() {
        let _ = writeln!(
            s,
            "<text x=\"{margin}\" y=\"{:.1}\">{}</text>",
            h + 2.0 * margin + 5.0 + 30.0 * k as f64,
            xml_text(line)
        );
    }
    s + "</svg>\n"
}

/// From white to dark, in steps.
fn shade(error: f64) -> String {
    let step = STEPS.iter().filter(|s| error > **s).count();
    let grey = 250 - 34 * step as i32;
    format!("#{grey:02x}{grey:02x}{grey:02x}")
}
