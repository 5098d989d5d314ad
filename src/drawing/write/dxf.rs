//! Pieces as DXF: ASCII, R12, in the layers of ASTM D6673, one block a piece.

use std::fmt::Display;

use super::counted;
use super::row::Spread;
use crate::pattern::{NotchKind, PatternPiece};
use crate::space::{Piece, Point};

/// How wide a notch that is clipped as a wedge is at the edge, mm.
const VEE: f64 = 3.0;
/// Half of what lies between the two clips of a double notch, mm.
const HALF: f64 = 3.0;
/// The outline turns by more than this at a turn point, degrees; less is a curve.
const TURN: f64 = 25.0;
/// Height of texts, mm.
const TEXT: f64 = 5.0;

/// The drawing of `pieces`, side by side, in millimetres to a millionth. Darts go to the
/// layer of internal lines, a double notch becomes two slits, and names of edges and
/// allowances are not in it: the layers have no place for them.
pub fn dxf(pieces: &[PatternPiece]) -> String {
    let mut out = Groups::default();
    out.group(999, "Written by Ghostchalk");
    out.kind("SECTION").group(2, "HEADER");
    out.group(9, "$ACADVER").group(1, "AC1009");
    out.kind("ENDSEC");
    out.kind("SECTION").group(2, "TABLES");
    layers(&mut out);
    out.kind("ENDSEC");
    out.kind("SECTION").group(2, "BLOCKS");
    for (k, piece) in pieces.iter().enumerate() {
        block(&mut out, piece, k);
    }
    out.kind("ENDSEC");
    out.kind("SECTION").group(2, "ENTITIES");
    out.text("1", Point::new(0.0, -2.0 * TEXT), "Units: METRIC");
    let (places, _) = Spread::ROW.places(pieces);
    for (k, by) in places.iter().enumerate() {
        out.kind("INSERT").group(8, "1").group(2, name(k));
        out.point(10, Point::origin() + *by, 0.0);
    }
    out.kind("ENDSEC").kind("EOF");
    out.0
}

/// The name of a block: R12 lets no other letters in. The piece's own name is a text.
fn name(k: usize) -> String {
    format!("PIECE_{}", k + 1)
}

fn layers(out: &mut Groups) {
    const LAYERS: [u8; 11] = [1, 2, 3, 4, 6, 7, 8, 11, 13, 14, 15];
    out.kind("TABLE").group(2, "LTYPE").group(70, 1);
    out.kind("LTYPE")
        .group(2, "CONTINUOUS")
        .group(70, 0)
        .group(3, "Solid line");
    out.group(72, 65).group(73, 0).group(40, "0.0");
    out.kind("ENDTAB");
    out.kind("TABLE").group(2, "LAYER").group(70, LAYERS.len());
    for layer in LAYERS {
        out.kind("LAYER").group(2, layer).group(70, 0);
        out.group(62, 7).group(6, "CONTINUOUS");
    }
    out.kind("ENDTAB");
}

fn block(out: &mut Groups, piece: &PatternPiece, k: usize) {
    out.kind("BLOCK")
        .group(8, "1")
        .group(2, name(k))
        .group(70, 0);
    out.point(10, Point::origin(), 0.0).group(3, name(k));
    for ring in &piece.cut {
        out.polyline("1", ring, true);
        vertices(out, ring);
    }
    for ring in &piece.cutouts {
        out.polyline("11", ring, true);
    }
    for line in &piece.net {
        out.polyline("14", &line.points, line.closed);
    }
    for fold in &piece.folds {
        out.polyline("6", fold, false);
    }
    for line in &piece.lines {
        out.polyline("8", &line.points, line.closed);
    }
    for dart in &piece.darts {
        out.polyline("8", dart, false);
    }
    for notch in &piece.notches {
        let aside = crate::space::Vector::new(-notch.inward.y, notch.inward.x) * HALF;
        let places = match notch.kind {
            NotchKind::Double => vec![notch.at - aside, notch.at + aside],
            _ => vec![notch.at],
        };
        let turn = notch.inward.y.atan2(notch.inward.x).to_degrees();
        for at in places {
            out.kind("POINT").group(8, "4").point(10, at, notch.depth);
            if notch.kind == NotchKind::Vee {
                out.number(39, VEE);
            }
            out.number(50, turn.rem_euclid(360.0));
        }
    }
    if let Some([tail, head]) = piece.grain {
        out.kind("LINE")
            .group(8, "7")
            .point(10, tail, 0.0)
            .point(11, head, 0.0);
    }
    for &drill in &piece.drills {
        out.kind("POINT").group(8, "13").point(10, drill, 0.0);
    }
    let at = piece.label_at.unwrap_or_default();
    out.text("15", at, &format!("Piece Name: {}", piece.name));
    let below = Point::new(at.x, at.y - 1.5 * TEXT);
    let quantity = match counted(piece) {
        (count, true) => format!("Quantity: {},{}", count / 2, count / 2),
        (count, false) => format!("Quantity: {count}"),
    };
    out.text("15", below, &quantity);
    out.kind("ENDBLK").group(8, "1");
}

/// The outline's own points: turn points, where it has corners, and curve points.
fn vertices(out: &mut Groups, ring: &[Point<Piece>]) {
    let n = ring.len();
    for k in 0..n {
        let (before, after) = (ring[k] - ring[(k + n - 1) % n], ring[(k + 1) % n] - ring[k]);
        let turn = before.cross(after).atan2(before.dot(after)).abs();
        let layer = if turn > TURN.to_radians() { "2" } else { "3" };
        out.kind("POINT").group(8, layer).point(10, ring[k], 0.0);
    }
}

/// A file's groups, as they are written.
#[derive(Default)]
struct Groups(String);

impl Groups {
    fn group(&mut self, code: u16, value: impl Display) -> &mut Self {
        self.0.push_str(&format!("{code:>3}\n{value}\n"));
        self
    }

    fn kind(&mut self, kind: &str) -> &mut Self {
        self.group(0, kind)
    }

    fn number(&mut self, code: u16, value: f64) -> &mut Self {
        self.group(code, format_args!("{value:.6}"))
    }

    fn point(&mut self, x: u16, at: Point<Piece>, z: f64) -> &mut Self {
        self.number(x, at.x).number(x + 10, at.y).number(x + 20, z)
    }

    fn polyline(&mut self, layer: &str, points: &[Point<Piece>], closed: bool) {
        self.kind("POLYLINE").group(8, layer).group(66, 1);
        self.point(10, Point::origin(), 0.0)
            .group(70, u8::from(closed));
        for &p in points {
            self.kind("VERTEX").group(8, layer).point(10, p, 0.0);
        }
        self.kind("SEQEND").group(8, layer);
    }

    fn text(&mut self, layer: &str, at: Point<Piece>, words: &str) {
        self.kind("TEXT").group(8, layer).point(10, at, 0.0);
        self.number(40, TEXT).group(1, ascii(words));
    }
}

/// `words` in ASCII, other letters as `\U+` and four hexadecimal digits (DXF reference).
fn ascii(words: &str) -> String {
    let mut out = String::new();
    for c in words.chars() {
        match c {
            ' '..='~' => out.push(c),
            c if c.is_control() => out.push(' '),
            c => {
                let mut units = [0; 2];
                for unit in c.encode_utf16(&mut units) {
                    out.push_str(&format!("\\U+{unit:04X}"));
                }
            }
        }
    }
    out
}
