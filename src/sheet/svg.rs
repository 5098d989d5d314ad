//! A page as SVG (W3C SVG 1.1): the user unit is 1 mm, y is turned down.

use super::{Item, Paper};
use crate::measure::xml_text;
use std::fmt::Write;

pub(super) fn written(paper: Paper, items: &[Item]) -> String {
    let (wide, high) = paper.size_mm();
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}mm\" height=\"{high}mm\" \
         viewBox=\"0 0 {wide} {high}\">\n\
         <g fill=\"none\" stroke=\"black\" font-family=\"Helvetica, Arial, sans-serif\">\n"
    );
    for item in items {
        // Writing to a string does not fail.
        let _ = match item {
            Item::Line { from, to, width } => writeln!(
                out,
                "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke-width=\"{}\"/>",
                mm(from.0),
                mm(high - from.1),
                mm(to.0),
                mm(high - to.1),
                mm(*width)
            ),
            Item::Circle {
                centre,
                radius,
                width,
            } => writeln!(
                out,
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" stroke-width=\"{}\"/>",
                mm(centre.0),
                mm(high - centre.1),
                mm(*radius),
                mm(*width)
            ),
            Item::Area(rings) => writeln!(
                out,
                "<path d=\"{}\" fill=\"black\" fill-rule=\"evenodd\" stroke=\"none\"/>",
                path(rings, high)
            ),
            Item::Path(p) => {
                let dash = p.dash.map_or(String::new(), |(on, off)| {
                    format!(" stroke-dasharray=\"{} {}\"", mm(on), mm(off))
                });
                writeln!(
                    out,
                    "<path d=\"{}\" stroke-width=\"{}\"{dash}/>",
                    stretches(&p.points, p.closed, high),
                    mm(p.width)
                )
            }
            Item::Text(t) => writeln!(
                out,
                "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"black\" stroke=\"none\">{}</text>",
                mm(t.x),
                mm(high - t.y),
                mm(t.size),
                xml_text(&t.text)
            ),
        };
    }
    out.push_str("</g>\n</svg>\n");
    out
}

fn path(rings: &[Vec<(f64, f64)>], high: f64) -> String {
    rings.iter().map(|r| stretches(r, true, high)).collect()
}

fn stretches(points: &[(f64, f64)], closed: bool, high: f64) -> String {
    let corners = points
        .iter()
        .map(|&(x, y)| format!("{} {}", mm(x), mm(high - y)));
    let end = if closed { "Z" } else { "" };
    format!("M{}{end}", corners.collect::<Vec<_>>().join("L"))
}

/// To a tenth of a micrometre, without idle noughts.
fn mm(value: f64) -> String {
    let text = format!("{value:.4}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    match short {
        "-0" => "0".to_owned(),
        _ => short.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Page, TextAt};
    use super::*;

    #[test]
    fn an_area_is_one_path_of_rings() {
        let mut page = Page::new(Paper::A4);
        page.area(vec![
            vec![(1.0, 7.0), (4.5, 7.0), (4.5, 9.0)],
            vec![(2.0, 7.5), (3.0, 7.5), (3.0, 8.0)],
        ]);
        let svg = page.into_svg();
        let path = "d=\"M1 290L4.5 290L4.5 288ZM2 289.5L3 289.5L3 289Z\" fill=\"black\" \
                    fill-rule=\"evenodd\"";
        assert!(svg.contains(path), "{svg}");
    }

    #[test]
    fn a_page_is_in_millimetres_with_y_turned_down() {
        let mut page = Page::new(Paper::Letter);
        page.line((10.0, 20.0), (30.0, 20.5), 0.2);
        page.circle((100.0, 9.4), 5.0, 0.25);
        let text = "a < b & c".to_owned();
        page.text(&TextAt {
            x: 1.0 / 3.0,
            y: 279.4,
            size: 4.5,
            text,
        });
        let svg = page.into_svg();
        let read = roxmltree::Document::parse(&svg).unwrap();
        let root = read.root_element();
        for (name, value) in [
            ("width", "215.9mm"),
            ("height", "279.4mm"),
            ("viewBox", "0 0 215.9 279.4"),
        ] {
            assert_eq!(root.attribute(name), Some(value));
        }
        let drawn: Vec<_> = read
            .descendants()
            .filter(|n| ["line", "circle", "text"].contains(&n.tag_name().name()))
            .collect();
        let of = |k: usize, name: &str| drawn[k].attribute(name).unwrap().to_owned();
        assert_eq!(["y1", "y2"].map(|a| of(0, a)), ["259.4", "258.9"]);
        assert_eq!(["cx", "cy", "r"].map(|a| of(1, a)), ["100", "270", "5"]);
        assert_eq!(
            ["x", "y", "font-size"].map(|a| of(2, a)),
            ["0.3333", "0", "4.5"]
        );
        assert_eq!(drawn[2].text(), Some("a < b & c"));
    }
}
