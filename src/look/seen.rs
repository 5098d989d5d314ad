//! From two photos, the projector dark and white, to where the guides of a lay are seen.

use super::photo::{Asked, marks};
use crate::cloth::Panel;
use crate::cloth::seen::{Advice, Guide, Seeing, Sight, Sighted, advise};
use crate::fault::{Fault, Outcome};
use crate::lay::Laid;
use crate::photo::warn::{banding, moved};
use crate::photo::{Beforehand, Layout, Picture, Pose, ortho};
use crate::raster::Raster;
use crate::shape::{along, length, nearest};
use crate::space::{Bounds, Piece, Point, Table};

/// Side of the cells in which light is compared, mm.
const CELL: f64 = 1.0;

/// Between places that are looked at along a guide, mm.
const EVERY: f64 = 5.0;

/// What lies nearer to a fold edge than this, mm, is on it: it is not cut, and has no guide.
const ON_FOLD: f64 = 0.05;

/// Exposures that differ by more than this are not one; cameras note them roundly.
const SAME: f64 = 0.03;

/// Cloth that lies further off in the other photo has moved, mm.
const MOVED: f64 = 2.0;

/// One piece's guides.
#[derive(Debug, Clone)]
pub struct SeenPiece {
    /// `upper 1 (canvas, mirrored)`.
    pub name: String,
    /// Outline by outline, in order, about 5 mm apart: each place, and how its guide is
    /// seen; `None` where the photos don't measure.
    pub rings: Vec<Vec<(Point<Table>, Option<Sighted>)>>,
}

/// A part of a guide that is not plainly seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    pub sight: Sight,
    /// mm along the cut line.
    pub length: f64,
    /// Its middle.
    pub at: Point<Table>,
    /// The least contrast in it.
    pub contrast: f64,
}

impl SeenPiece {
    /// Where its guide is lost or hard to see, along its outlines.
    pub fn stretches(&self) -> Vec<Stretch> {
        let mut all = Vec::new();
        for ring in &self.rings {
            let sight = |k: usize| ring[k].1.map(|s| s.sight());
            // A stretch over an outline's beginning is one, unless it is all round.
            let apart = |k: usize| {
                let before = (k + ring.len() - 1) % ring.len();
                let gap = (ring[k].0 - ring[before].0).length() > 2.0 * EVERY;
                gap || sight(k) != sight(before)
            };
            let Some(first) = (0..ring.len()).find(|&k| apart(k)).or(Some(0)) else {
                continue;
            };
            let mut run: Vec<usize> = Vec::new();
            let turn = (0..ring.len()).map(|k| (first + k) % ring.len());
            for k in turn {
                if apart(k) {
                    all.extend(stretch(ring, &run));
                    run.clear();
                }
                run.push(k);
            }
            all.extend(stretch(ring, &run));
        }
        all
    }

    /// How much of its guide is seen so, mm.
    pub fn length(&self, sight: Option<Sight>) -> f64 {
        let all = self.rings.iter().flatten();
        EVERY * all.filter(|(_, s)| s.map(|s| s.sight()) == sight).count() as f64
    }
}

fn stretch(ring: &[(Point<Table>, Option<Sighted>)], run: &[usize]) -> Option<Stretch> {
    let sight = ring[*run.first()?].1?.sight();
    let contrasts = run.iter().filter_map(|&k| ring[k].1).map(|s| s.contrast);
    (sight != Sight::Seen).then(|| Stretch {
        sight,
        length: EVERY * run.len() as f64,
        at: ring[run[run.len() / 2]].0,
        contrast: contrasts.fold(f64::INFINITY, f64::min),
    })
}

/// What two photos say of a lay's guides.
#[derive(Debug)]
pub struct SeenLay {
    pub pieces: Vec<SeenPiece>,
    pub advice: Advice,
    /// The table straight from above, the projector white, in linear light.
    pub above: Raster<[f32; 3], Table>,
    pub notes: Vec<String>,
}

/// Looks where the guides of a lay are seen, by two photos at one locked exposure: the
/// projector dark, then white. `panels` are those that lie open on the table. `watch` is told
/// the share done and stops it by `false`: then there is nothing.
///
/// # Errors
/// If a photo can't be read or placed, the two are not at one exposure, or they show none of
/// what is laid.
pub fn seen(
    [dark, white]: [&[u8]; 2],
    asked: &Asked,
    laid: &[Laid],
    panels: &[&Panel],
    guide: &Guide,
    watch: &mut dyn FnMut(f64) -> bool,
) -> Outcome<Option<SeenLay>> {
    let which = ["projector dark", "projector white"];
    let mut photos = Vec::new();
    let mut notes = Vec::new();
    for (bytes, which) in [dark, white].into_iter().zip(which) {
        let placed = placed(bytes, asked).map_err(|f| f.at(which))?;
        let more = placed.notes.iter().map(|n| format!("{which}: {n}"));
        notes.extend(more);
        photos.push(placed);
        if !watch(0.15 * photos.len() as f64) {
            return Ok(None);
        }
    }
    let [dark, white] = photos.as_slice() else {
        return Ok(None);
    };
    one_exposure(&dark.picture, &white.picture)?;
    notes.extend(banding(&white.picture).map(|w| format!("{}: {}", which[1], w.text)));
    let mut cloths: Vec<(&Panel, Seeing)> = Vec::new();
    let mut area: Option<Bounds<Table>> = None;
    for (k, panel) in panels.iter().enumerate() {
        let Some(first) = laid.iter().find(|l| l.panel == panel.name) else {
            continue;
        };
        let lies = panel.outline()?.moved(&panel.on_table.pose());
        let Some(bounds) = lies.bounds() else {
            continue;
        };
        area = Some(area.map_or(bounds, |a| a.union(&bounds)));
        let mut rasters = Vec::new();
        for (half, photo) in [dark, white].into_iter().enumerate() {
            let done = |s: f64| (k as f64 + (half as f64 + s) / 2.0) / panels.len() as f64;
            let layout = Layout {
                bounds,
                cell: CELL,
                height: match photo.pose.camera.is_some() {
                    true => first.height,
                    false => 0.0,
                },
            };
            let raster = ortho(&photo.picture, &photo.pose, &layout, &mut |s| {
                watch(0.3 + 0.5 * done(s))
            })
            .map_err(|f| f.at(&panel.name).at(which[half]))?;
            let Some(raster) = raster else {
                return Ok(None);
            };
            rasters.push(raster);
        }
        let Ok([mut dark, mut white]) = <[_; 2]>::try_from(rasters) else {
            continue;
        };
        if let Some(w) = moved(&dark, &white, MOVED) {
            notes.push(format!("{}: {}", panel.name, w.text));
        }
        // What lies beside the cloth is none of its texture.
        for row in 0..dark.height() {
            for column in 0..dark.width() {
                if lies.contains(dark.centre(column, row)) {
                    continue;
                }
                for raster in [&mut dark, &mut white] {
                    if let Some(light) = raster.get_mut(column, row) {
                        *light = [f32::NAN; 3];
                    }
                }
            }
        }
        let seeing = Seeing::of(dark, white).map_err(|f| f.at(&panel.name))?;
        cloths.push((panel, seeing));
    }
    let Some(area) = area else {
        return Err(Fault::input(
            "nothing is laid on cloth that lies open on the table, so there is no guide",
            "lay a piece first, or spread its panel",
        ));
    };
    let unseen: Vec<String> = laid
        .iter()
        .filter(|l| !cloths.iter().any(|(p, _)| p.name == l.panel))
        .map(ToString::to_string)
        .collect();
    if !unseen.is_empty() {
        notes.push(format!(
            "not looked at, for its cloth lies under another: {}",
            unseen.join(", ")
        ));
    }
    let (pieces, advice) = judged(&cloths, laid, guide);
    let layout = Layout {
        bounds: area,
        cell: CELL,
        height: 0.0,
    };
    let above = ortho(&white.picture, &white.pose, &layout, &mut |s| {
        watch(0.8 + 0.2 * s)
    })?;
    Ok(above.map(|above| SeenLay {
        pieces,
        advice,
        above,
        notes,
    }))
}

/// Places outline by outline.
type Rings = Vec<Vec<Point<Table>>>;

/// Each piece's places and how they are seen, and what helps all of them.
fn judged(cloths: &[(&Panel, Seeing)], laid: &[Laid], guide: &Guide) -> (Vec<SeenPiece>, Advice) {
    // Cloth by cloth, for texture is worked out once a cloth.
    let on =
        |panel: &Panel| -> Vec<&Laid> { laid.iter().filter(|l| l.panel == panel.name).collect() };
    let guides: Vec<Vec<(String, Rings)>> = cloths
        .iter()
        .map(|(p, _)| on(p).iter().map(|l| (l.to_string(), places(l))).collect())
        .collect();
    let flat: Vec<Vec<Point<Table>>> = guides
        .iter()
        .map(|of| of.iter().flat_map(|(_, r)| r).flatten().copied().collect())
        .collect();
    let pairs: Vec<(&Seeing, &[Point<Table>])> = cloths
        .iter()
        .zip(&flat)
        .map(|((_, seeing), along)| (seeing, along.as_slice()))
        .collect();
    let advice = advise(&pairs, guide);
    let mut pieces = Vec::new();
    for (of, seen) in guides.into_iter().zip(&advice.seen) {
        let mut seen = seen.iter().copied();
        for (name, rings) in of {
            let with = |ring: Vec<Point<Table>>| {
                let all = ring.into_iter();
                all.map(|p| (p, seen.next().flatten())).collect()
            };
            pieces.push(SeenPiece {
                name,
                rings: rings.into_iter().map(with).collect(),
            });
        }
    }
    (pieces, advice)
}

/// Places along a piece's cut lines, outline by outline, but for its fold edges.
fn places(l: &Laid) -> Rings {
    let rings = l.piece.cut.iter().chain(&l.piece.cutouts);
    let ring = |ring: &Vec<Point<Piece>>| {
        let mut line = ring.clone();
        line.extend(ring.first().copied());
        let whole = length(&line);
        let n = (whole / EVERY).round().max(1.0);
        let at = |k: usize| along(&line, (k as f64 + 0.5) / n * whole).map(|s| s.at);
        let on_fold = |p: &Point<Piece>| {
            let mut folds = l.piece.folds.iter();
            folds.any(|f| nearest(f, *p).is_some_and(|(_, off)| off < ON_FOLD))
        };
        let all = (0..n as usize).filter_map(at).filter(|p| !on_fold(p));
        all.map(|p| l.pose.point(p)).collect()
    };
    rings.map(ring).collect()
}

/// A photo and where it was taken from.
struct Placed {
    picture: Picture,
    pose: Pose,
    notes: Vec<String>,
}

fn placed(bytes: &[u8], asked: &Asked) -> Outcome<Placed> {
    let picture = Picture::read(bytes)?;
    let (marks, mut notes) = marks(&picture, asked)?;
    let known = Beforehand {
        focal: picture.focal,
        height: asked.camera_height,
    };
    let pose = Pose::fit(&marks, picture.size(), &known)?;
    notes.extend(pose.notes());
    Ok(Placed {
        picture,
        pose,
        notes,
    })
}

/// Refuses two photos whose cameras noted different exposures.
fn one_exposure(dark: &Picture, white: &Picture) -> Outcome<()> {
    let of = |p: &Picture| {
        let n = &p.notes;
        let light = n.exposure_s? * n.iso? / n.f_number?.powi(2);
        (light > 0.0).then_some(light)
    };
    let (Some(d), Some(w)) = (of(dark), of(white)) else {
        return Ok(());
    };
    if (d / w).ln().abs() <= SAME {
        return Ok(());
    }
    Err(Fault::input(
        format!(
            "the photo with the projector dark was exposed {:.1} times as much as the other",
            d / w
        ),
        "lock exposure and white balance with the projector white, and take both again",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_go_over_an_outline_s_beginning() {
        let at = |k: usize| {
            let a = std::f64::consts::TAU * k as f64 / 40.0;
            Point::new(31.8 * a.cos(), 31.8 * a.sin())
        };
        let spot = |k: usize, share: f64| Sighted {
            at: at(k),
            contrast: 1.0 + share,
            wanted: 1.5,
            share,
        };
        let share = |k: usize| match k {
            38.. | 0..=1 => 0.1,
            10..=12 => 0.7,
            _ => 2.0,
        };
        let ring: Vec<_> = (0..40)
            .map(|k| (at(k), (k != 20).then(|| spot(k, share(k)))))
            .collect();
        let piece = SeenPiece {
            name: "a disc".to_owned(),
            rings: vec![ring],
        };
        let all = piece.stretches();
        assert_eq!(all.len(), 2, "{all:?}");
        let lost = all.iter().find(|s| s.sight == Sight::Lost).unwrap();
        assert_eq!((lost.length, lost.at, lost.contrast), (20.0, at(0), 1.1));
        let hard = all.iter().find(|s| s.sight == Sight::Hard).unwrap();
        assert_eq!((hard.length, hard.at), (15.0, at(11)));
        assert_eq!(piece.length(None), 5.0);
        // Lost all round is one stretch.
        let ring = (0..40).map(|k| (at(k), Some(spot(k, 0.1)))).collect();
        let piece = SeenPiece {
            name: String::new(),
            rings: vec![ring],
        };
        let all = piece.stretches();
        assert_eq!((all.len(), all[0].length), (1, 200.0));
    }
}
