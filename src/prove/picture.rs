//! The report as a picture: all pieces side by side, their edges by name, and what was
//! found marked where it is, numbered as in the list below. SVG; black on white, each
//! severity by its own shape too.

use super::Proof;
use super::room::{Room, Word};
use crate::drawing::write::row::Spread;
use crate::measure::{Unit, xml_text};
use crate::pattern::{Edge, PatternPiece, edges};
use crate::pattern::{Finding, Severity};
use crate::shape::{along, bounds};
use crate::space::{Piece, Point, Vector};
use std::fmt::{self, Write};

/// Between pieces, and round them, mm of the pattern.
const GAP: f64 = 40.0;
/// Rows are filled up to 900 mm.
const SPREAD: Spread = Spread {
    gap: GAP,
    head: LARGE,
    widest: 900.0,
};
/// Letters of an edge's name, of a piece's, and in the list.
const SMALL: f64 = 7.0;
const LARGE: f64 = 12.0;
const LIST: f64 = 11.0;
/// Radius of a number's mark.
const MARK: f64 = 7.0;
/// Letters in a line of the list, at most.
const ACROSS: usize = 130;
/// An edge's name stands beside its middle, or beside one of these shares of it, at one of
/// these distances inside it, in letters' sizes, wherever there is room first.
const ALONG: [f64; 7] = [0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9];
const INSIDE: [f64; 4] = [1.2, 2.6, 4.0, 5.4];

/// Where a piece stands in the picture: its origin, y down.
struct Stand<'a> {
    piece: &'a PatternPiece,
    x: f64,
    y: f64,
}

impl Stand<'_> {
    fn at(&self, p: Point<Piece>) -> [f64; 2] {
        [self.x + p.x, self.y - p.y]
    }

    /// The piece's name, over it.
    fn name(&self) -> Word {
        let b = bounds(self.piece.cut.iter().flatten().copied());
        let top = b.map_or(Point::origin(), |b| Point::new(b.center().x, b.max.y));
        let [x, y] = self.at(top);
        Word {
            at: [x, y - LARGE / 2.0],
            anchor: "middle",
            size: LARGE,
            text: self.piece.name.clone(),
        }
    }
}

/// The picture; the largest pattern gives a picture of its own size, so it is to be seen
/// on a screen or printed to fit.
pub fn svg(proof: &Proof, pieces: &[PatternPiece], unit: Unit) -> String {
    let mut out = String::new();
    // Writing to a string can't fail.
    let _ = write_all(&mut out, proof, pieces, unit);
    out
}

fn write_all(out: &mut String, proof: &Proof, pieces: &[PatternPiece], unit: Unit) -> fmt::Result {
    let (places, [wide, deep]) = SPREAD.places(pieces);
    let width = wide.max(ACROSS as f64 * LIST * 0.5);
    let stand = |(piece, by): (_, &Vector<Piece>)| Stand {
        piece,
        x: by.x,
        y: deep - by.y,
    };
    let stands: Vec<Stand> = pieces.iter().zip(&places).map(stand).collect();
    let list: Vec<String> = proof
        .findings
        .iter()
        .enumerate()
        .flat_map(|(k, f)| lines(k + 1, f, unit))
        .collect();
    let list_top = deep + 2.0 * LIST;
    let height = list_top + (list.len() + 2) as f64 * LIST * 1.5;
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.0}\" height=\"{height:.0}\" \
         viewBox=\"0 0 {width:.0} {height:.0}\" font-family=\"sans-serif\" fill=\"none\" \
         stroke=\"#000\">\n<!-- Written by Ghostchalk. Not full size. -->\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\" stroke=\"none\"/>"
    )?;
    let mut room = Room::default();
    for s in &stands {
        drawn(out, s)?;
        room.take(s.name().covers());
    }
    let marks = marks(proof, &stands, &mut room);
    for s in &stands {
        let name = s.name();
        words(out, name.at, name.size, name.anchor, &name.text)?;
        for edge in edges(s.piece) {
            // One that finds no room is told in the report all the same.
            if let Some(w) = room.find(edge_names(s, &edge, unit)) {
                words(out, w.at, w.size, w.anchor, &w.text)?;
            }
        }
    }
    for (at, k, severity) in marks {
        numbered(out, at, k + 1, severity)?;
    }
    let head = match proof.findings.len() {
        // Only drawn, and not proven.
        0 if proof.pieces.is_empty() => String::new(),
        0 => "Nothing was found wrong.".to_owned(),
        _ => "Filled: would spoil the work. Ring: to be looked at. Dashed: advice.".to_owned(),
    };
    let all = std::iter::once(head).chain(list);
    for (k, line) in all.enumerate() {
        let y = list_top + k as f64 * LIST * 1.5;
        words(out, [GAP, y], LIST, "start", &line)?;
    }
    writeln!(out, "</svg>")
}

/// Where each finding that has a place is marked, and its place in the list.
fn marks(proof: &Proof, stands: &[Stand], room: &mut Room) -> Vec<([f64; 2], usize, Severity)> {
    let mut marks: Vec<([f64; 2], usize, Severity)> = Vec::new();
    for (k, f) in proof.findings.iter().enumerate() {
        let Some(mut at) = place(f, stands) else {
            continue;
        };
        // Several at one place stand beside each other.
        let near = |a: &[f64; 2], b: &[f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]) < 2.0 * MARK;
        while marks.iter().any(|(t, ..)| near(t, &at)) {
            at[0] += 2.0 * MARK + 1.0;
        }
        room.take([at[0] - MARK, at[1] - MARK, at[0] + MARK, at[1] + MARK]);
        marks.push((at, k, f.severity));
    }
    marks
}

/// Where an edge's name and length may stand, the best first.
fn edge_names(s: &Stand, edge: &Edge, unit: Unit) -> Vec<Word> {
    let text = format!("{} ({})", edge.name, unit.show(edge.length));
    let at = |(inside, share): (f64, f64)| {
        // The piece is on the edge's left.
        let st = along(&edge.line, edge.length * share)?;
        let inward = euclid::vec2(-st.along.y, st.along.x);
        let [x, y] = s.at(st.at + inward * (SMALL * inside));
        let anchor = match inward.x {
            x if x > 0.7 => "start",
            x if x < -0.7 => "end",
            _ => "middle",
        };
        Some(Word {
            at: [x, y + SMALL / 3.0],
            anchor,
            size: SMALL,
            text: text.clone(),
        })
    };
    let all = INSIDE
        .iter()
        .flat_map(|&i| ALONG.iter().map(move |&s| (i, s)));
    all.filter_map(at).collect()
}

fn drawn(out: &mut String, s: &Stand) -> fmt::Result {
    let piece = s.piece;
    for ring in piece.cut.iter().chain(&piece.cutouts) {
        path(out, s, ring, true, "stroke-width=\"1.2\"")?;
    }
    for line in &piece.net {
        path(
            out,
            s,
            &line.points,
            line.closed,
            "stroke-width=\".6\" stroke-dasharray=\"5 3\"",
        )?;
    }
    for line in &piece.folds {
        path(out, s, line, false, "stroke-width=\"1.6\" stroke=\"#fff\"")?;
    }
    for line in piece.folds.iter().chain(&piece.darts) {
        path(
            out,
            s,
            line,
            false,
            "stroke-width=\".8\" stroke-dasharray=\"9 2 2 2\"",
        )?;
    }
    for line in &piece.lines {
        path(
            out,
            s,
            &line.points,
            line.closed,
            "stroke-width=\".5\" stroke-dasharray=\"2 2\"",
        )?;
    }
    for &d in &piece.drills {
        let [x, y] = s.at(d);
        writeln!(
            out,
            "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"1.5\" stroke-width=\".6\"/>"
        )?;
    }
    for n in &piece.notches {
        let tip = n.at + n.inward * n.depth;
        path(out, s, &[n.at, tip], false, "stroke-width=\"1\"")?;
    }
    if let Some([tail, head]) = piece.grain {
        path(out, s, &[tail, head], false, "stroke-width=\".8\"")?;
        let way = (head - tail).normalize();
        let side = euclid::vec2(-way.y, way.x);
        let barb = |sign: f64| head - way * 8.0 + side * (3.5 * sign);
        path(
            out,
            s,
            &[barb(1.0), head, barb(-1.0)],
            false,
            "stroke-width=\".8\"",
        )?;
    }
    Ok(())
}

fn path(
    out: &mut String,
    s: &Stand,
    line: &[Point<Piece>],
    closed: bool,
    style: &str,
) -> fmt::Result {
    write!(out, "<path {style} d=\"")?;
    for (k, &p) in line.iter().enumerate() {
        let [x, y] = s.at(p);
        write!(out, "{}{x:.2} {y:.2}", if k == 0 { "M" } else { "L" })?;
    }
    writeln!(out, "{}\"/>", if closed { "Z" } else { "" })
}

/// Where a finding is marked: at its point, else the middle of its edge, else its piece.
fn place(f: &Finding, stands: &[Stand]) -> Option<[f64; 2]> {
    let name = f.spot.piece.as_ref()?;
    let s = stands.iter().find(|s| s.piece.name == *name)?;
    if let Some([x, y]) = f.spot.at_mm {
        return Some(s.at(Point::new(x, y)));
    }
    if let Some(named) = &f.spot.edge {
        let all = edges(s.piece);
        let edge = all.iter().find(|e| e.name == *named)?;
        return along(&edge.line, edge.length / 2.0).map(|st| s.at(st.at));
    }
    Some(s.at(Point::origin()))
}

fn numbered(out: &mut String, [x, y]: [f64; 2], number: usize, severity: Severity) -> fmt::Result {
    let (fill, ink, dash) = match severity {
        Severity::Spoils => ("#000", "#fff", ""),
        Severity::Check => ("#fff", "#000", ""),
        Severity::Advice => ("#fff", "#000", " stroke-dasharray=\"2.5 2\""),
    };
    writeln!(
        out,
        "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{MARK}\" fill=\"{fill}\" stroke-width=\"1.2\"{dash}/>\
         <text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"{LARGE}\" font-weight=\"bold\" \
         text-anchor=\"middle\" fill=\"{ink}\" stroke=\"none\">{number}</text>",
        y + LARGE / 3.0
    )
}

/// A finding in the list: number, words, remedy.
fn lines(number: usize, f: &Finding, unit: Unit) -> Vec<String> {
    let of = |part: &Option<String>| part.clone().map(|p| format!("{p}: ")).unwrap_or_default();
    let text = format!(
        "{number}.  {}{}{}{}; {}.",
        of(&f.spot.seam),
        of(&f.spot.piece),
        of(&f.spot.edge),
        unit.in_sentence(&f.what),
        unit.in_sentence(&f.remedy)
    );
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let full = lines
            .last()
            .is_some_and(|l| l.chars().count() + word.chars().count() > ACROSS);
        if full {
            lines.push("      ".to_owned());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

fn words(out: &mut String, [x, y]: [f64; 2], size: f64, anchor: &str, text: &str) -> fmt::Result {
    let safe = xml_text(text);
    writeln!(
        out,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size}\" text-anchor=\"{anchor}\" \
         fill=\"#000\" stroke=\"#fff\" stroke-width=\"3\" paint-order=\"stroke\" xml:space=\"preserve\">{safe}</text>"
    )
}
