//! Pieces as SVG, in the words that our own reader takes.

use std::fmt::Write;

use super::counted;
use super::row::Spread;
use crate::measure::xml_attribute;
use crate::pattern::{NotchKind, PatternPiece};
use crate::space::{Piece, Point, Vector};

/// How large a mark for a drill point is drawn, mm.
const DRILL: f64 = 1.0;

/// The drawing of `pieces`, side by side at full size: one unit is one millimetre, y
/// down, to a millionth of a millimetre. Names of edges and allowances have no place in
/// a drawing and are not in it.
pub fn svg(pieces: &[PatternPiece]) -> String {
    let (places, [width, height]) = Spread::ROW.places(pieces);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.3}mm\" height=\"{height:.3}mm\" \
         viewBox=\"0 0 {width:.3} {height:.3}\">\n\
         <!-- Written by Ghostchalk. Full size: print or project at 100 %. -->\n\
         <style>path, circle {{ fill: none; stroke: #000; stroke-width: .3 }} \
         .net {{ stroke-dasharray: 3 1.5 }}</style>\n"
    );
    for (piece, &by) in pieces.iter().zip(&places) {
        let mut draw = Draw {
            out: &mut out,
            by,
            height,
        };
        draw.piece(piece);
    }
    out.push_str("</svg>\n");
    out
}

struct Draw<'o> {
    out: &'o mut String,
    by: Vector<Piece>,
    height: f64,
}

impl Draw<'_> {
    fn page(&self, p: Point<Piece>) -> (f64, f64) {
        let p = p + self.by;
        (p.x, self.height - p.y)
    }

    /// Writing to a string can't fail.
    fn put(&mut self, text: std::fmt::Arguments) {
        let _ = self.out.write_fmt(text);
    }

    fn path(&mut self, role: &str, more: &str, points: &[Point<Piece>], closed: bool) {
        self.put(format_args!("<path class=\"{role}\"{more} d=\""));
        for (k, &p) in points.iter().enumerate() {
            let (x, y) = self.page(p);
            let pen = if k == 0 { 'M' } else { 'L' };
            self.put(format_args!("{pen}{x:.6} {y:.6}"));
        }
        self.put(format_args!("{}\"/>\n", if closed { "Z" } else { "" }));
    }

    fn piece(&mut self, piece: &PatternPiece) {
        let (count, pair) = counted(piece);
        let pair = if pair { " data-pair=\"yes\"" } else { "" };
        let name = xml_attribute(&piece.name);
        self.put(format_args!(
            "<g data-piece=\"{name}\" data-cut=\"{count}\"{pair}>\n"
        ));
        for ring in &piece.cut {
            self.path("cut", "", ring, true);
        }
        for ring in &piece.cutouts {
            self.path("cutout", "", ring, true);
        }
        for line in &piece.net {
            self.path("net", "", &line.points, line.closed);
        }
        for fold in &piece.folds {
            self.path("fold", "", fold, false);
        }
        for line in &piece.lines {
            self.path("line", "", &line.points, line.closed);
        }
        for dart in &piece.darts {
            self.path("dart", "", dart, false);
        }
        for notch in &piece.notches {
            let kind = match notch.kind {
                NotchKind::Slit => "slit",
                NotchKind::Double => "double",
                NotchKind::Vee => "vee",
            };
            let ends = [notch.at, notch.at + notch.inward * notch.depth];
            self.path("notch", &format!(" data-notch=\"{kind}\""), &ends, false);
        }
        if let Some(grain) = &piece.grain {
            self.path("grain", "", grain, false);
        }
        for &drill in &piece.drills {
            let (x, y) = self.page(drill);
            self.put(format_args!(
                "<circle class=\"drill\" cx=\"{x:.6}\" cy=\"{y:.6}\" r=\"{DRILL}\"/>\n"
            ));
        }
        if let Some(label) = piece.label_at {
            let (x, y) = self.page(label);
            self.put(format_args!(
                "<text class=\"label\" x=\"{x:.6}\" y=\"{y:.6}\" font-size=\"10\">{name}</text>\n"
            ));
        }
        self.put(format_args!("</g>\n"));
    }
}
