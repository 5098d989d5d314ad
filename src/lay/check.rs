//! What is wrong with a lay: pieces on each other, off the cloth, over a place
//! to keep out of.

use super::Laid;
use crate::shape::{Region, difference, intersection, near};
use crate::space::{Bounds, Table};

/// Areas up to this, mm², are rounding, not cloth.
const NOTHING: f64 = 0.5;

/// A panel as it lies on the table.
#[derive(Debug)]
pub struct Ground<'a> {
    pub name: &'a str,
    pub outline: Region<Table>,
    pub keep_outs: Vec<(&'a str, Region<Table>)>,
}

/// What is wrong, a sentence each.
pub fn check(laid: &[Laid], grounds: &[Ground]) -> Vec<String> {
    let inside: Vec<Region<Table>> = laid.iter().map(inside).collect();
    let boxes: Vec<Option<Bounds<Table>>> = inside.iter().map(Region::bounds).collect();
    let mut wrong = Vec::new();
    for (k, l) in laid.iter().enumerate() {
        for j in 0..k {
            let meet = match (boxes[k], boxes[j]) {
                (Some(a), Some(b)) => a.intersects(&b) && near(&inside[k], &inside[j], 1e-6),
                _ => false,
            };
            let shared = if meet {
                intersection(&inside[k], &inside[j]).area()
            } else {
                0.0
            };
            if shared > NOTHING {
                wrong.push(format!(
                    "{l} and {} lie on each other ({shared:.0} mm²)",
                    laid[j]
                ));
            }
        }
        let Some(ground) = grounds.iter().find(|g| g.name == l.panel) else {
            continue;
        };
        let off = difference(&inside[k], &ground.outline).area();
        if off > NOTHING {
            wrong.push(format!(
                "{l} lies {off:.0} mm² off the panel \"{}\"",
                ground.name
            ));
        }
        for (name, place) in &ground.keep_outs {
            let over = intersection(&inside[k], place).area();
            if over > NOTHING {
                wrong.push(format!("{l} lies over \"{name}\" ({over:.0} mm²)"));
            }
        }
    }
    wrong
}

/// The area inside a laid piece's cut line.
fn inside(l: &Laid) -> Region<Table> {
    let rings = l.piece.cut.iter().chain(&l.piece.cutouts).cloned();
    Region::new(rings.collect()).moved(&l.pose)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lay::Face;
    use crate::pattern::PatternPiece;
    use crate::space::{Point, Rigid, Vector};

    #[test]
    fn each_fault_is_named_and_a_good_lay_has_none() {
        let mut piece = PatternPiece::named("patch");
        let corners = [(-10.0, -10.0), (10.0, -10.0), (10.0, 10.0), (-10.0, 10.0)];
        piece.cut = vec![corners.map(|(x, y)| Point::new(x, y)).to_vec()];
        let at = |x: f64, y: f64| Laid {
            piece: &piece,
            article: "1",
            cloth: "canvas",
            panel: "sling",
            cut_note: String::new(),
            face: Face::Up,
            pose: Rigid::new(false, 0.3, Vector::new(x, y)),
            height: 0.0,
        };
        let ground = |hole: f64| Ground {
            name: "sling",
            outline: Region::disc(Point::new(50.0, 50.0), 60.0),
            keep_outs: vec![("hole", Region::disc(Point::new(50.0, hole), 5.0))],
        };
        let good = [at(30.0, 50.0), at(70.0, 50.0)];
        assert_eq!(check(&good, &[ground(80.0)]), Vec::<String>::new());
        let said = check(
            &[at(30.0, 50.0), at(45.0, 50.0), at(50.0, 105.0)],
            &[ground(50.0)],
        );
        assert_eq!(said.len(), 3, "{said:?}");
        assert!(said[0].contains("on each other") && said[1].contains("\"hole\""));
        assert!(said[2].contains("off the panel"));
    }
}
