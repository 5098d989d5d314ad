//! The shade under a lay as a picture: each panel from above in its low-passed lightness, its
//! pieces on it by number, which way each fades, where it is lightest and darkest. SVG.

use crate::cloth::Panel;
use crate::cloth::shade::{Fading, Shading};
use crate::colour::encode_srgb;
use crate::lay::Stock;
use crate::look::{ShadeOf, Shaded};
use crate::measure::{lines, xml_text};
use crate::shape::{Region, bounds};
use crate::space::{Cloth, Point, Vector};
use crate::work::State;
use std::collections::BTreeMap;
use std::fmt::{self, Write};

/// Round each panel and between them, mm of the cloth.
const GAP: f64 = 40.0;
/// Letters, mm.
const SMALL: f64 = 11.0;
const LARGE: f64 = 15.0;
/// Letters in a line of the list, at most.
const ACROSS: usize = 118;
/// An arrow of this length is 10 of lightness in 100 mm, mm; none is longer than the next.
const TEN: f64 = 60.0;
const LONGEST: f64 = 110.0;
/// One that its number does not hide.
const SHORTEST: f64 = 56.0;
/// Radius of the marks for the lightest and the darkest place, mm.
const PLACE: f64 = 5.0;

/// What is drawn.
pub struct Drawn<'a> {
    pub stock: &'a Stock<'a>,
    pub state: &'a State,
    pub known: &'a BTreeMap<String, Shading<Cloth>>,
    pub shaded: &'a Shaded,
}

/// The picture, 1 mm of cloth to a unit.
pub fn svg(of: &Drawn) -> String {
    let mut out = String::new();
    // Writing to a string can't fail.
    let _ = write_all(&mut out, of);
    out
}

/// From a panel's cloth space to the picture, y down.
struct Stand {
    left: f64,
    top: f64,
    min: Point<Cloth>,
    max: Point<Cloth>,
}

impl Stand {
    fn at(&self, p: Point<Cloth>) -> [f64; 2] {
        [self.left + p.x - self.min.x, self.top + self.max.y - p.y]
    }

    fn path(&self, region: &Region<Cloth>) -> String {
        let mut d = String::new();
        for ring in &region.rings {
            for (k, p) in ring.iter().enumerate() {
                let [x, y] = self.at(*p);
                let _ = write!(d, "{}{x:.1} {y:.1}", if k == 0 { "M" } else { "L" });
            }
            d.push('Z');
        }
        d
    }
}

fn write_all(out: &mut String, of: &Drawn) -> fmt::Result {
    let panels: Vec<(&Panel, &Shading<Cloth>)> = of
        .state
        .panels
        .iter()
        .filter_map(|p| Some((p, of.known.get(&p.name)?)))
        .collect();
    let (mut top, mut widest): (f64, f64) = (GAP, ACROSS as f64 * SMALL * 0.52);
    let mut stands = Vec::new();
    for (panel, _) in &panels {
        let Some(b) = bounds(panel.outline_mm.iter().map(|&c| Point::from(c))) else {
            continue;
        };
        stands.push(Stand {
            left: GAP,
            top: top + 2.0 * LARGE,
            min: b.min,
            max: b.max,
        });
        top += b.height() + 2.0 * LARGE + GAP;
        widest = widest.max(b.width());
    }
    let list = list(of.shaded);
    let width = widest + 2.0 * GAP;
    let height = top + (list.len() as f64 + 2.0) * SMALL * 1.6;
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.0}\" height=\"{height:.0}\" \
         viewBox=\"0 0 {width:.0} {height:.0}\" font-family=\"sans-serif\" fill=\"none\" \
         stroke=\"#000\">\n<!-- Written by Ghostchalk. 1 mm of cloth to a unit. -->\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\" stroke=\"none\"/>"
    )?;
    for ((panel, shading), stand) in panels.iter().zip(&stands) {
        let name = format!("{} ({})", panel.name, panel.cloth);
        words(
            out,
            [stand.left, stand.top - LARGE * 0.6],
            LARGE,
            "start",
            &name,
        )?;
        ground(out, panel, shading, stand)?;
        for (k, piece) in of.shaded.pieces.iter().enumerate() {
            if piece.panel == panel.name {
                drawn(out, of.stock, (k + 1, piece), stand)?;
            }
        }
    }
    for (k, line) in list.iter().enumerate() {
        let y = top + (k as f64 + 1.0) * SMALL * 1.6;
        words(out, [GAP, y], SMALL, "start", line)?;
    }
    writeln!(out, "</svg>")
}

/// The cloth in greys of its low-passed lightness, runs of a row in one.
fn ground(out: &mut String, panel: &Panel, shading: &Shading<Cloth>, stand: &Stand) -> fmt::Result {
    let shade = shading.shade();
    let cell = shade.cell();
    writeln!(out, "<g stroke=\"none\">")?;
    for row in 0..shade.height() {
        let mut column = 0;
        while column < shade.width() {
            let code = |c: usize| {
                let l = f64::from((*shade.get(c, row)?)?);
                Some(grey(l))
            };
            let Some(here) = code(column) else {
                column += 1;
                continue;
            };
            let from = column;
            while column < shade.width() && code(column) == Some(here) {
                column += 1;
            }
            let middle = shade.centre(from, row);
            let corner = middle + Vector::new(-cell / 2.0, cell / 2.0);
            let [x, y] = stand.at(corner);
            // A hair wider and higher, so that no seam shows between two.
            writeln!(
                out,
                "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"#{here:02x}{here:02x}{here:02x}\"/>",
                (column - from) as f64 * cell + 0.3,
                cell + 0.3
            )?;
        }
    }
    writeln!(out, "</g>")?;
    let outline = panel.outline().unwrap_or_default();
    writeln!(
        out,
        "<path d=\"{}\" stroke-width=\"1.2\"/>",
        stand.path(&outline)
    )?;
    for out_of in &panel.keep_out {
        if let Ok(region) = out_of.outline() {
            writeln!(
                out,
                "<path d=\"{}\" fill=\"#fff\" stroke-width=\"1\" stroke-dasharray=\"3 3\"/>",
                stand.path(&region)
            )?;
        }
    }
    Ok(())
}

/// sRGB code of a lightness, in steps of two.
fn grey(l: f64) -> u8 {
    let l = (l / 2.0).round() * 2.0;
    let y = ((l + 16.0) / 116.0).powi(3).clamp(0.0, 1.0);
    (255.0 * encode_srgb(y)).round() as u8
}

fn drawn(
    out: &mut String,
    stock: &Stock,
    (number, of): (usize, &ShadeOf),
    stand: &Stand,
) -> fmt::Result {
    let Some(piece) = stock.piece(&of.piece) else {
        return Ok(());
    };
    let pose = of.pose;
    let cut = Region::new(piece.cut.clone()).moved(&pose);
    // White under black shows on any grey.
    for (colour, width) in [("#fff", 3.2), ("#000", 1.4)] {
        writeln!(
            out,
            "<path d=\"{}\" stroke=\"{colour}\" stroke-width=\"{width}\"/>",
            stand.path(&cut)
        )?;
    }
    let middle = pose.shift.to_point();
    if let Ok(under) = &of.under {
        if let (Fading::Fades, Some(slope)) = (under.fading, &under.slope) {
            let half = (slope.per_100 / 10.0 * TEN).clamp(SHORTEST, LONGEST) / 2.0;
            arrow(out, stand, middle, slope.towards * half)?;
        }
        let places = [(&under.lightest, "#fff"), (&under.darkest, "#000")];
        for (place, fill) in places {
            if let Some(place) = place {
                let [x, y] = stand.at(place.at);
                writeln!(
                    out,
                    "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{PLACE}\" fill=\"{fill}\" stroke=\"{}\" stroke-width=\"1.5\"/>",
                    if fill == "#fff" { "#000" } else { "#fff" }
                )?;
            }
        }
    }
    let [x, y] = stand.at(middle);
    writeln!(
        out,
        "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"22\" height=\"18\" rx=\"3\" fill=\"#fff\" stroke-width=\"1\"/>",
        x - 11.0,
        y - 9.0
    )?;
    words(
        out,
        [x, y + 0.36 * SMALL],
        SMALL,
        "middle",
        &number.to_string(),
    )
}

/// An arrow through a place, to where it is lighter.
fn arrow(out: &mut String, stand: &Stand, at: Point<Cloth>, half: Vector<Cloth>) -> fmt::Result {
    let along = half.normalize();
    let side = Vector::new(-along.y, along.x);
    let tip = at + half;
    let barb = |s: f64| tip - along * 12.0 + side * s;
    let [a, b] = [stand.at(at - half), stand.at(tip)];
    let [l, r] = [stand.at(barb(6.0)), stand.at(barb(-6.0))];
    let d = format!(
        "M{:.1} {:.1}L{:.1} {:.1}M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}",
        a[0], a[1], b[0], b[1], l[0], l[1], b[0], b[1], r[0], r[1]
    );
    for (colour, width) in [("#fff", 5.5), ("#000", 2.6)] {
        writeln!(
            out,
            "<path d=\"{d}\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-linecap=\"round\"/>"
        )?;
    }
    Ok(())
}

/// What is told, in lines.
fn list(shaded: &Shaded) -> Vec<String> {
    let mut all = vec![
        "Greys: lightness without stripes and weave. Arrow: to where a piece is lighter. White dot: its lightest \
         place; black: its darkest."
            .to_owned(),
    ];
    for (k, p) in shaded.pieces.iter().enumerate() {
        let says = match &p.under {
            Ok(under) => under.to_string(),
            Err(fault) => fault.to_string(),
        };
        all.push(format!("{}  {}: {says}", k + 1, p.name));
    }
    for p in &shaded.pairs {
        let says = match &p.apart {
            Ok(apart) => apart.to_string(),
            Err(fault) => fault.to_string(),
        };
        all.push(format!(
            "left and right of {} in {}: {says}",
            p.name, p.cloth
        ));
    }
    for (name, one) in &shaded.articles {
        all.push(format!("article {name}: {one}"));
    }
    let told = all.iter().flat_map(|one| {
        let own = lines(one, ACROSS).into_iter().enumerate();
        // What goes on stands further in.
        own.map(|(k, line)| match k {
            0 => line,
            _ => format!("      {line}"),
        })
    });
    told.collect()
}

fn words(out: &mut String, [x, y]: [f64; 2], size: f64, anchor: &str, text: &str) -> fmt::Result {
    let safe = xml_text(text);
    writeln!(
        out,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size}\" text-anchor=\"{anchor}\" fill=\"#000\" \
         stroke=\"none\" xml:space=\"preserve\">{safe}</text>"
    )
}
