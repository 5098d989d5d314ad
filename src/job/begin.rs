//! A first job from a pattern alone: one cloth, one article, every part laid
//! in rows, grain up, to be moved to where it belongs.

use super::{JOB_VERSION, JobFile, PatternFile};
use crate::cloth::{Cloth, Panel};
use crate::fault::{Fault, Outcome};
use crate::lay::{Face, Placement};
use crate::order::{Article, Part};
use crate::pattern::PatternPiece;
use crate::shape::bounds;
use crate::space::{Cloth as ClothSpace, Rigid, Vector};

/// Dark cloth left between pieces and at the panel's edge, mm: two bands and
/// room for the blade.
const BETWEEN: f64 = 12.0;

/// A job that lays all of `pieces` on a panel as wide as `table` (mm), in rows
/// from the operator's edge. The panel is as deep as the rows need, at least
/// as deep as the table.
///
/// # Errors
/// If a piece is wider than the table.
pub fn first_job(
    name: &str,
    pattern: &str,
    pieces: &[PatternPiece],
    cloth: &str,
    [width, depth]: [f64; 2],
) -> Outcome<JobFile> {
    let panel = "panel";
    let article = "1";
    let mut placed = Vec::new();
    let (mut x, mut y, mut row) = (BETWEEN, BETWEEN, 0.0f64);
    for piece in pieces {
        // The grain turned to run up the panel.
        let turn = piece.grain.map_or(0.0, |[tail, head]| {
            std::f64::consts::FRAC_PI_2 - (head.y - tail.y).atan2(head.x - tail.x)
        });
        let part = part(piece, cloth);
        let (up, down) = part.hands();
        let faces = (0..up)
            .map(|_| Face::Up)
            .chain((0..down).map(|_| Face::Down));
        for face in faces {
            // Mirroring turns the grain's lean round.
            let turn = if face == Face::Down { -turn } else { turn };
            let about: Rigid<_, ClothSpace> = Rigid::new(face == Face::Down, turn, Vector::zero());
            let outline = piece.cut.iter().flatten().map(|&p| about.point(p));
            let Some(b) = bounds(outline) else { continue };
            if b.width() + 2.0 * BETWEEN > width {
                return Err(Fault::input(
                    format!(
                        "\"{}\" is {:.0} mm wide, grain up, and a table {width:.0} mm wide has no \
                         room for that and {BETWEEN:.0} mm on either side",
                        piece.name,
                        b.width()
                    ),
                    format!(
                        "give a --table at least {:.0} mm wide, and lay elsewhere what yours has no room for",
                        (b.width() + 2.0 * BETWEEN).ceil()
                    ),
                ));
            }
            if x + b.width() + BETWEEN > width {
                (x, y, row) = (BETWEEN, y + row + BETWEEN, 0.0);
            }
            placed.push(Placement {
                id: None,
                locked: false,
                piece: piece.name.clone(),
                article: article.to_owned(),
                panel: panel.to_owned(),
                x_mm: rounded(x - b.min.x),
                y_mm: rounded(y - b.min.y),
                turn_deg: rounded(turn.to_degrees()),
                face,
            });
            x += b.width() + BETWEEN;
            row = row.max(b.height());
        }
    }
    let top = (y + row + BETWEEN).max(depth);
    let file = JobFile {
        ghostchalk_job: JOB_VERSION,
        name: name.to_owned(),
        profile: None,
        patterns: vec![PatternFile::named(pattern)],
        derived: Vec::new(),
        makes: Vec::new(),
        orders: Vec::new(),
        cloths: vec![Cloth {
            name: cloth.to_owned(),
            thickness_mm: 0.0,
            no_face: false,
        }],
        articles: vec![Article {
            name: article.to_owned(),
            parts: pieces.iter().map(|p| part(p, cloth)).collect(),
            ..Article::default()
        }],
        panels: vec![Panel::new(
            panel,
            cloth,
            vec![[0.0, 0.0], [width, 0.0], [width, top], [0.0, top]],
        )],
        placed,
        light: None,
        trims: Vec::new(),
        wishes: Vec::new(),
        cutting: None,
    };
    file.check_counts()?;
    Ok(file)
}

fn part(piece: &PatternPiece, cloth: &str) -> Part {
    Part {
        piece: piece.name.clone(),
        cloth: cloth.to_owned(),
        count: piece.cut_count.max(1),
        pair: piece.pair,
        inside: None,
    }
}

/// To 0.001, so that a person can read the file.
fn rounded(v: f64) -> f64 {
    (v * 1000.0).round() / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::{Region, near};
    use crate::space::{Piece, Point};

    fn piece(name: &str, w: f64, h: f64) -> PatternPiece {
        let mut p = PatternPiece::named(name);
        p.cut = vec![vec![
            Point::new(-w / 2.0, -h / 2.0),
            Point::new(w / 2.0, -h / 2.0),
            Point::new(w / 2.0, h / 2.0),
            Point::new(-w / 2.0, h / 2.0),
        ]];
        p
    }

    #[test]
    fn all_parts_are_laid_apart_with_their_grain_up() {
        let mut a = piece("a", 300.0, 120.0);
        (a.cut_count, a.pair) = (4, true);
        a.grain = Some([Point::new(-50.0, 0.0), Point::new(50.0, 30.0)]);
        let pieces = [a, piece("b", 500.0, 90.0)];
        let job = first_job("j", "p.svg", &pieces, "canvas", [1200.0, 800.0]).unwrap();
        assert_eq!(job.placed.len(), 5);
        assert_eq!(
            job.placed.iter().filter(|p| p.face == Face::Down).count(),
            2
        );
        let laid: Vec<Region<ClothSpace>> = job
            .placed
            .iter()
            .map(|l| {
                let of = pieces.iter().find(|p| p.name == l.piece).unwrap();
                if let Some([tail, head]) = of.grain {
                    let up = l.pose().vector(head - tail).normalize();
                    assert!((up.y - 1.0).abs() < 1e-6, "{up:?}");
                }
                Region::<Piece>::new(of.cut.clone()).moved(&l.pose())
            })
            .collect();
        for (k, r) in laid.iter().enumerate() {
            let b = r.bounds().unwrap();
            assert!(b.min.x > 10.0 && b.max.x < 1190.0 && b.min.y > 10.0 && b.max.y < 790.0);
            assert!(
                laid[..k]
                    .iter()
                    .all(|other| !near(r, other, BETWEEN - 0.01))
            );
        }
        let narrow = |width: f64| first_job("j", "p.svg", &pieces, "canvas", [width, 800.0]);
        let said = narrow(400.0).unwrap_err().to_string();
        assert!(
            said.contains("has no room for that and 12 mm on either side"),
            "{said}"
        );
        // What it asks for is enough.
        assert!(said.contains("at least 524 mm wide"), "{said}");
        assert!(narrow(523.0).is_err() && narrow(524.0).is_ok());
    }
}
