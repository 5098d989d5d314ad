//! A suggested lay is never one that the lay's own check refuses: for random cloth, pieces,
//! keep-outs and laid pieces, and for the demo job.

use ghostchalk::job::Job;
use ghostchalk::lay::fit::{Effort, NoWishes, Part, Rules, Spread, Suggestion, Task, fit};
use ghostchalk::lay::{Along, Checked, Face, Ground, Laid, grounds, inside_of};
use ghostchalk::pattern::PatternPiece;
use ghostchalk::shape::Region;
use ghostchalk::space::{Cloth, Piece, Point, Rigid, Table, Vector};
use proptest::prelude::*;
use std::path::Path;

const BAND: f64 = 3.0;

/// A smooth outline, or a star of so many points.
fn blob(r: f64, seed: usize) -> Region<Table> {
    let s = seed as f64;
    let radius = |a: f64| r * (1.0 + 0.18 * (2.0 * a + s).sin() + 0.07 * (3.0 * a + 2.3 * s).cos());
    polar(180, radius)
}

fn star(n: usize, outer: f64, inner: f64) -> Region<Table> {
    let is_out = |a: f64| (a * n as f64 / std::f64::consts::PI).round() % 2.0 == 0.0;
    polar(2 * n, |a| if is_out(a) { outer } else { inner })
}

fn polar(n: usize, radius: impl Fn(f64) -> f64) -> Region<Table> {
    let at = |k: usize| {
        let a = std::f64::consts::TAU * k as f64 / n as f64;
        Point::new(radius(a) * a.cos(), radius(a) * a.sin())
    };
    Region::ring((0..n).map(at).collect())
}

fn suggested(parts: &[Part], pairs: &[[usize; 2]], spreads: &[Spread], seed: u64) -> Suggestion {
    let task = Task {
        parts,
        pairs,
        spreads,
        rules: Rules {
            between: BAND,
            ..Rules::default()
        },
        wishes: &NoWishes,
    };
    let effort = Effort {
        seed,
        passes: 40,
        workers: 2,
    };
    fit(&task, &effort, &mut |_| true).unwrap()
}

fn laid<'a>(piece: &'a PatternPiece, panel: &'a str, pose: Rigid<Piece, Table>) -> Laid<'a> {
    let face = if pose.mirrored { Face::Down } else { Face::Up };
    Laid {
        piece,
        article: "1",
        cloth: "canvas",
        panel,
        cut_note: String::new(),
        is_cut: false,
        trim: 0.0,
        face,
        pose,
        height: 0.0,
    }
}

fn said(laid: &[Laid], grounds: &[Ground]) -> Vec<String> {
    let checked = Checked::new(laid, grounds, None, BAND);
    checked.all().iter().map(|w| checked.sentence(w)).collect()
}

fn as_piece(region: &Region<Table>, grain: f64) -> PatternPiece {
    let mut piece = PatternPiece::named("piece");
    let rings = region.rings.iter();
    let ring = |r: &Vec<Point<Table>>| r.iter().map(|p| Point::new(p.x, p.y)).collect();
    piece.cut = rings.map(ring).collect();
    piece.grain = Some([Point::zero(), Point::new(grain.cos(), grain.sin())]);
    piece
}

fn part(piece: &PatternPiece, face: Face, along: Along) -> Part {
    Part {
        outline: inside_of(piece),
        cloth: 0,
        grain: piece.grain,
        along,
        face,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(5))]
    #[test]
    fn the_check_refuses_no_suggested_lay(
        seed in 0usize..1000,
        (warp, turn) in (-180.0..180.0f64, -3.0..3.0f64),
        (x, y) in (-400.0..400.0f64, -400.0..400.0f64),
        size in 90.0..160.0f64,
        one_way in any::<bool>(),
    ) {
        let on_table: Rigid<Cloth, Table> = Rigid::new(false, turn, Vector::new(x, y));
        let cloth_of = |r: Region<Table>| r.moved(&Rigid::<Table, Cloth>::new(false, 0.0, Vector::new(x, -y)));
        let outline = cloth_of(blob(size, seed));
        let centre = Vector::<Cloth>::new(x, -y);
        let keep_out = Region::disc((centre + Vector::new(0.4 * size, 0.1 * size)).to_point(), 9.0);
        let pieces: Vec<PatternPiece> = (0..9)
            .map(|k| {
                let s = 12.0 + 4.0 * k as f64;
                let grain = k as f64 + seed as f64;
                match k % 3 {
                    0 => as_piece(&star(5 + k % 4, s, s / 2.0), grain),
                    _ => as_piece(&blob(s, seed + k), grain),
                }
            })
            .collect();
        let first = as_piece(&blob(22.0, seed + 5), 0.0);
        let first_at: Rigid<Piece, Cloth> = Rigid::new(true, warp.to_radians() + std::f64::consts::PI, centre);
        let taken = inside_of(&first).moved(&first_at);
        let spread = Spread {
            cloth: 0,
            outline: outline.clone(),
            keep_outs: vec![keep_out.clone()],
            taken: vec![taken],
            warp_deg: warp,
            one_way,
        };
        let parts: Vec<Part> = pieces
            .iter()
            .enumerate()
            .map(|(k, p)| {
                let face = [Face::Up, Face::Down][k % 2];
                part(p, face, [Along::Warp, Along::Bias][k / 2 % 2])
            })
            .collect();
        let got = suggested(&parts, &[[0, 1]], &[spread], seed as u64);
        prop_assert!(got.places.len() > 3, "{} of 9 laid", got.places.len());
        let mut all = vec![laid(&first, "sling", first_at.then(&on_table))];
        all.extend(got.places.iter().map(|p| laid(&pieces[p.part], "sling", p.pose.then(&on_table))));
        let ground = Ground {
            name: "sling",
            under: None,
            outline: outline.moved(&on_table),
            keep_outs: vec![("hole", keep_out.moved(&on_table))],
            warp: warp.to_radians() + turn,
        };
        prop_assert_eq!(said(&all, &[ground]), Vec::<String>::new());
    }
}

/// The demo's own order on the demo's own cloth. (Its half bands go on a fold; where cloth is
/// folded, no panel says, so they are fitted here as what they are drawn as.)
#[test]
fn all_pieces_of_the_demo_fit_on_its_cloth() {
    let job = Job::open(Path::new("demo-data/job.toml")).unwrap();
    let cloth = |name: &str| job.file.cloths.iter().position(|c| c.name == name).unwrap();
    let (mut parts, mut pairs, mut names) = (Vec::new(), Vec::new(), Vec::new());
    for article in &job.file.articles {
        for ordered in &article.parts {
            let piece = job.pieces.iter().find(|p| p.name == ordered.piece).unwrap();
            let (up, down) = ordered.hands();
            let first = parts.len();
            for face in std::iter::repeat_n(Face::Up, up as usize)
                .chain(std::iter::repeat_n(Face::Down, down as usize))
            {
                parts.push(Part {
                    cloth: cloth(&ordered.cloth),
                    ..part(piece, face, Along::Warp)
                });
                names.push(piece);
            }
            if ordered.pair {
                pairs.push([first, first + 1]);
            }
        }
    }
    assert_eq!((parts.len(), job.file.panels.len()), (14, 3));
    let spreads: Vec<Spread> = job
        .file
        .panels
        .iter()
        .map(|panel| Spread {
            cloth: cloth(&panel.cloth),
            outline: panel.outline().unwrap(),
            keep_outs: panel
                .keep_out
                .iter()
                .map(|k| k.outline().unwrap())
                .collect(),
            taken: Vec::new(),
            warp_deg: panel.grain_deg,
            // The flannel has a nap.
            one_way: panel.cloth == "flannel",
        })
        .collect();
    let got = suggested(&parts, &pairs, &spreads, 1);
    let left: Vec<_> = got
        .left
        .iter()
        .map(|(k, why)| (&names[*k].name, why))
        .collect();
    assert!(left.is_empty(), "{left:?}");
    let all: Vec<Laid> = got
        .places
        .iter()
        .map(|p| {
            let panel = &job.file.panels[p.spread];
            laid(
                names[p.part],
                &panel.name,
                p.pose.then(&panel.on_table.pose()),
            )
        })
        .collect();
    assert_eq!(all.len(), 14);
    assert_eq!(
        said(&all, &grounds(&job.file.panels).unwrap()),
        Vec::<String>::new()
    );
    assert!(
        got.yields.iter().all(|y| (20.0..95.0).contains(y)),
        "{:?}",
        got.yields
    );
}
