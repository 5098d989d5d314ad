//! What is wrong with a lay, and where on the table it shows: pieces on each
//! other or in each other's band, off the cloth, over a place to keep out of,
//! off the grain, beyond the light.

use super::{Laid, off_grain};
use crate::cloth::Panel;
use crate::fault::Outcome;
use crate::shape::{Region, difference, intersection, near_boxed, offset, trimmed};
use crate::space::{Bounds, Table};
use rayon::prelude::*;
use std::fmt;

/// Areas up to this, mm², are rounding, not cloth.
const NOTHING: f64 = 0.5;

/// How far a piece's grain may lie off the warp before it is said, degrees
/// (common practice: by eye one sees about this much against a stripe).
pub const GRAIN_TOLERANCE: f64 = 2.0;

/// A panel as it lies on the table.
#[derive(Debug, Clone)]
pub struct Ground<'a> {
    pub name: &'a str,
    /// The panel on top, if this one is slipped under it.
    pub under: Option<&'a str>,
    pub outline: Region<Table>,
    pub keep_outs: Vec<(&'a str, Region<Table>)>,
    /// Warp direction on the table, radians counter-clockwise from +x.
    pub warp: f64,
}

/// The panels that are spread, where they lie on the table.
///
/// # Errors
/// If an outline encloses nothing, which opening the job would have found.
pub fn grounds(panels: &[Panel]) -> Outcome<Vec<Ground<'_>>> {
    let mut grounds = Vec::new();
    for panel in panels.iter().filter(|p| p.spread) {
        let pose = panel.on_table.pose();
        let mut keep_outs = Vec::new();
        for k in &panel.keep_out {
            keep_outs.push((k.name.as_str(), k.outline()?.moved(&pose)));
        }
        grounds.push(Ground {
            name: &panel.name,
            under: panel.under.as_deref(),
            outline: panel.outline()?.moved(&pose),
            keep_outs,
            warp: panel.grain_deg.to_radians() + pose.turn,
        });
    }
    Ok(grounds)
}

/// What can be wrong.
#[derive(Debug, Clone, PartialEq)]
pub enum Trouble<'a> {
    /// On another piece (its index), mm².
    On { other: usize, area: f64 },
    /// In another piece's band: too close to cut either cleanly.
    Crowds { other: usize },
    /// Off a panel: its own, or the ply beneath; mm².
    Off { panel: &'a str, area: f64 },
    /// Over a place to keep out of, mm²; `under` if it is in the ply beneath.
    Over {
        place: &'a str,
        under: Option<&'a str>,
        area: f64,
    },
    /// Off the grain, degrees, neither along the warp nor on the bias.
    Grain { degrees: f64 },
    /// Beyond the light, mm² (all of it, or a part).
    Beyond { area: f64, all: bool },
}

/// Something that is wrong with a piece.
#[derive(Debug, Clone)]
pub struct Wrong<'a> {
    /// The piece: its index in the lay.
    pub index: usize,
    pub what: Trouble<'a>,
    /// Where it shows; empty for the grain.
    pub place: Region<Table>,
}

/// A lay with its outlines worked out, so that one piece can be checked
/// against all others while it moves.
#[derive(Debug)]
pub struct Checked<'a> {
    laid: &'a [Laid<'a>],
    inside: Vec<Region<Table>>,
    boxes: Vec<Option<Bounds<Table>>>,
    grounds: &'a [Ground<'a>],
    reach: Option<&'a Region<Table>>,
    band: f64,
}

impl<'a> Checked<'a> {
    /// `band` is the width lit outside a piece, mm; `reach` is what the
    /// projector lights, if that is known.
    pub fn new(
        laid: &'a [Laid<'a>],
        grounds: &'a [Ground<'a>],
        reach: Option<&'a Region<Table>>,
        band: f64,
    ) -> Self {
        let inside: Vec<Region<Table>> = laid.iter().map(inside).collect();
        Self {
            boxes: inside.iter().map(Region::bounds).collect(),
            laid,
            inside,
            grounds,
            reach,
            band,
        }
    }

    /// What is wrong with the whole lay; two pieces in trouble with each other
    /// are told once, of the later.
    pub fn all(&self) -> Vec<Wrong<'a>> {
        let mut all = self.of_some(&(0..self.laid.len()).collect::<Vec<_>>());
        all.retain(|w| match w.what {
            Trouble::On { other, .. } | Trouble::Crowds { other } => {
                other < w.index || self.laid[other].is_cut
            }
            _ => true,
        });
        all
    }

    /// What is wrong with some pieces, in their order, looked for on all cores.
    pub fn of_some(&self, which: &[usize]) -> Vec<Wrong<'a>> {
        if let [one] = which {
            // A drag asks for one at every step: no other core need be woken for it.
            return self.of(*one);
        }
        which.par_iter().flat_map_iter(|&k| self.of(k)).collect()
    }

    /// What is wrong with one piece; with what is cut, nothing any more.
    pub fn of(&self, index: usize) -> Vec<Wrong<'a>> {
        let mut found = Vec::new();
        let Some(at) = self.boxes[index].filter(|_| !self.laid[index].is_cut) else {
            return found;
        };
        let mut say = |what, place| found.push(Wrong { index, what, place });
        let own = &self.inside[index];
        for (other, theirs) in self.inside.iter().enumerate() {
            let Some(b) = self.boxes[other].filter(|_| other != index) else {
                continue;
            };
            if !near_boxed((own, &at), (theirs, &b), self.band - 1e-6) {
                continue;
            }
            let shared = intersection(own, theirs);
            let area = shared.area();
            if area > NOTHING {
                say(Trouble::On { other, area }, shared);
            } else if !self.laid[other].is_cut {
                // The band may fall into a hole.
                let about = at.inflate(self.band, self.band);
                let band = offset(&trimmed(theirs, &about), self.band);
                say(Trouble::Crowds { other }, intersection(own, &band));
            }
        }
        let l = &self.laid[index];
        let grounds = self.grounds.iter();
        for ground in grounds.filter(|g| g.name == l.panel || g.under == Some(l.panel)) {
            let beneath = (ground.name != l.panel).then_some(ground.name);
            let off = difference(own, &ground.outline);
            let area = off.area();
            if area > NOTHING {
                let panel = ground.name;
                say(Trouble::Off { panel, area }, off);
            }
            for (place, region) in &ground.keep_outs {
                let over = intersection(own, region);
                let area = over.area();
                if area > NOTHING {
                    let what = Trouble::Over {
                        place,
                        under: beneath,
                        area,
                    };
                    say(what, over);
                }
            }
            if let (None, Some(degrees)) = (beneath, astray(l, ground.warp)) {
                say(Trouble::Grain { degrees }, Region::default());
            }
        }
        if let Some(reach) = self.reach {
            let dark = difference(own, reach);
            let area = dark.area();
            if area > NOTHING {
                let all = own.area() - area <= NOTHING;
                say(Trouble::Beyond { area, all }, dark);
            }
        }
        found
    }

    /// A trouble as a sentence.
    pub fn sentence(&self, wrong: &Wrong) -> String {
        let l = &self.laid[wrong.index];
        match &wrong.what {
            Trouble::On { other, area } if self.laid[*other].is_cut => format!(
                "{l} lies on a hole ({area:.0} mm²): {} is cut from there",
                self.laid[*other]
            ),
            Trouble::On { other, area } => format!(
                "{l} and {} lie on each other ({area:.0} mm²)",
                self.laid[*other]
            ),
            Trouble::Crowds { other } => format!(
                "{l} and {} lie closer than the band is wide",
                self.laid[*other]
            ),
            Trouble::Beyond { all: true, .. } => format!("{l} lies beyond the projector's light"),
            what => format!("{l} lies {what}"),
        }
    }
}

impl fmt::Display for Trouble<'_> {
    /// In few words, to be read in light or after "lies".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Trouble::On { area, .. } => write!(f, "on another piece ({area:.0} mm²)"),
            Trouble::Crowds { .. } => f.write_str("in another's band"),
            Trouble::Off { panel, area } => write!(f, "{area:.0} mm² off the panel \"{panel}\""),
            Trouble::Over { place, under, area } => {
                write!(f, "over the bad place \"{place}\" ({area:.0} mm²)")?;
                under.map_or(Ok(()), |ply| write!(f, " in the ply beneath, \"{ply}\""))
            }
            Trouble::Grain { degrees } => write!(f, "{degrees:.1}° off the grain"),
            Trouble::Beyond { all: true, .. } => f.write_str("beyond the light"),
            Trouble::Beyond { .. } => f.write_str("partly beyond the projector's light"),
        }
    }
}

/// How far a piece's grain lies off the warp, degrees in (0, 90], unless it is
/// within tolerance of the warp or of the bias.
fn astray(l: &Laid, warp: f64) -> Option<f64> {
    let turn = l.pose.turn.to_degrees();
    let off = off_grain(l.piece.grain?, l.face, turn, warp.to_degrees(), false)?;
    let on_bias = (off - 45.0).abs() <= GRAIN_TOLERANCE;
    (off > GRAIN_TOLERANCE && !on_bias).then_some(off)
}

/// The area inside a laid piece's cut line.
pub fn inside(l: &Laid) -> Region<Table> {
    let rings = l.piece.cut.iter().chain(&l.piece.cutouts).cloned();
    Region::new(rings.collect()).moved(&l.pose)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lay::Face;
    use crate::pattern::PatternPiece;
    use crate::space::{Point, Rigid, Vector};

    fn patch() -> PatternPiece {
        let mut piece = PatternPiece::named("patch");
        let corners = [(-10.0, -10.0), (10.0, -10.0), (10.0, 10.0), (-10.0, 10.0)];
        piece.cut = vec![corners.map(|(x, y)| Point::new(x, y)).to_vec()];
        piece.grain = Some([Point::new(0.0, -5.0), Point::new(0.0, 5.0)]);
        piece
    }

    fn at(piece: &PatternPiece, x: f64, y: f64, turn: f64) -> Laid<'_> {
        Laid {
            piece,
            article: "1",
            cloth: "canvas",
            panel: "sling",
            cut_note: String::new(),
            is_cut: false,
            trim: 0.0,
            face: Face::Up,
            pose: Rigid::new(false, turn, Vector::new(x, y)),
            height: 0.0,
        }
    }

    fn ground(hole: f64) -> Ground<'static> {
        Ground {
            name: "sling",
            under: None,
            outline: Region::disc(Point::new(50.0, 50.0), 60.0),
            keep_outs: vec![("hole", Region::disc(Point::new(50.0, hole), 5.0))],
            warp: 0.3 + std::f64::consts::FRAC_PI_2,
        }
    }

    fn said(laid: &[Laid], grounds: &[Ground], reach: Option<&Region<Table>>) -> Vec<String> {
        let checked = Checked::new(laid, grounds, reach, 3.0);
        checked.all().iter().map(|w| checked.sentence(w)).collect()
    }

    #[test]
    fn each_fault_is_named_and_a_good_lay_has_none() {
        let piece = patch();
        let at = |x, y| at(&piece, x, y, 0.3);
        let good = [at(30.0, 50.0), at(70.0, 50.0)];
        assert_eq!(said(&good, &[ground(80.0)], None), Vec::<String>::new());
        let bad = [at(30.0, 50.0), at(45.0, 50.0), at(50.0, 105.0)];
        let said = said(&bad, &[ground(50.0)], None);
        assert_eq!(said.len(), 3, "{said:?}");
        assert!(said[0].contains("on each other") && said[1].contains("\"hole\""));
        assert!(said[2].contains("off the panel"));
    }

    #[test]
    fn what_is_cut_is_a_hole_and_no_more_in_trouble() {
        let piece = patch();
        let cut = |x, y| Laid {
            is_cut: true,
            ..at(&piece, x, y, 0.3)
        };
        // On a hole, whichever was laid first; two holes are none of the lay's.
        for laid in [
            [at(&piece, 45.0, 50.0, 0.3), cut(30.0, 50.0)],
            [cut(30.0, 50.0), at(&piece, 45.0, 50.0, 0.3)],
        ] {
            let heard = said(&laid, &[ground(80.0)], None);
            assert_eq!(heard.len(), 1, "{heard:?}");
            assert!(heard[0].contains("lies on a hole"), "{heard:?}");
        }
        let holes = [cut(30.0, 50.0), cut(45.0, 50.0), cut(50.0, 105.0)];
        assert_eq!(said(&holes, &[ground(50.0)], None), Vec::<String>::new());
        // The band may fall into it.
        let near = [at(&piece, 50.5, 50.0, 0.3), cut(27.0, 50.0)];
        assert_eq!(said(&near, &[ground(80.0)], None), Vec::<String>::new());
    }

    #[test]
    fn a_band_crowded_grain_askew_and_light_out_of_reach_are_told() {
        let piece = patch();
        let crowd = [at(&piece, 30.0, 50.0, 0.0), at(&piece, 52.5, 50.0, 0.0)];
        let mut g = ground(80.0);
        g.warp = std::f64::consts::FRAC_PI_2;
        let heard = said(&crowd, &[g.clone()], None);
        assert_eq!(heard.len(), 1, "{heard:?}");
        assert!(heard[0].contains("closer than the band"));
        for (turn, off) in [
            (1.5, None),
            (44.0, None),
            (-135.0, None),
            (20.0, Some("20.0°")),
            (90.0, Some("90.0°")),
        ] {
            let laid = [at(&piece, 50.0, 40.0, f64::to_radians(turn))];
            let heard = said(&laid, &[g.clone()], None);
            match off {
                None => assert!(heard.is_empty(), "{turn}: {heard:?}"),
                Some(off) => assert!(heard[0].contains(off), "{turn}: {heard:?}"),
            }
        }
        let reach = Region::disc(Point::new(40.0, 40.0), 12.0);
        let laid = [at(&piece, 50.0, 40.0, 0.0), at(&piece, 80.0, 40.0, 0.0)];
        let heard = said(&laid, &[g], Some(&reach));
        assert!(heard[0].contains("partly beyond"), "{heard:?}");
        assert!(
            heard[1].ends_with("beyond the projector's light"),
            "{heard:?}"
        );
    }

    #[test]
    fn the_ply_beneath_counts_too() {
        let piece = patch();
        let mut beneath = ground(50.0);
        beneath.name = "lining";
        beneath.under = Some("sling");
        let laid = [at(&piece, 50.0, 50.0, 0.3)];
        let heard = said(&laid, &[ground(80.0), beneath], None);
        assert_eq!(heard.len(), 1, "{heard:?}");
        assert!(heard[0].contains("ply beneath, \"lining\""));
    }
}
