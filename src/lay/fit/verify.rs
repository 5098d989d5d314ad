//! Whether a lay keeps its rules, in f64, by the same calls as the lay's own check: the
//! search's word does not count.

use super::{FitPlace, Rules, Task};
use crate::shape::{Region, difference, intersection, near_boxed};
use crate::space::{Bounds, Cloth, Piece, Rigid, Vector};

/// Areas up to this are rounding, mm²: Clipper2's grid of 1e-6 mm along a metre.
const NOTHING: f64 = 1e-3;

/// A part that breaks a rule is shifted by so many mm in eight directions to see whether
/// it keeps it there.
const SHIFTS: [f64; 4] = [0.02, 0.1, 0.3, 1.0];

/// What lies on one panel, as far as it was verified.
struct Verified<'a> {
    task: &'a Task<'a>,
    /// Panel, area, box.
    kept: Vec<(usize, Region<Cloth>, Bounds<Cloth>)>,
}

impl Verified<'_> {
    /// The part's area where it lies, if that is allowed.
    fn keeps(&self, place: &FitPlace) -> Option<(Region<Cloth>, Bounds<Cloth>)> {
        let spread = &self.task.spreads[place.spread];
        let own = self.task.parts[place.part].outline.moved(&place.pose);
        let at = own.bounds()?;
        let between = self.task.rules.between;
        let is_off = difference(&own, &spread.outline).area() > NOTHING;
        let is_over = |k: &Region<Cloth>| intersection(&own, k).area() > NOTHING;
        // Apart by less than nothing: they lie on each other.
        let crowds = |other: &Region<Cloth>, b: &Bounds<Cloth>| {
            near_boxed((&own, &at), (other, b), between)
                || (between <= 0.0 && intersection(&own, other).area() > NOTHING)
        };
        if is_off || spread.keep_outs.iter().any(is_over) {
            return None;
        }
        let taken = spread.taken.iter().filter_map(|t| Some((t, t.bounds()?)));
        let here = self.kept.iter().filter(|(s, ..)| *s == place.spread);
        let bad = taken.into_iter().any(|(t, b)| crowds(t, &b))
            || here.into_iter().any(|(_, o, b)| crowds(o, b));
        (!bad).then_some((own, at))
    }
}

/// The places that keep all rules, those of the large parts first; a part that breaks one is
/// shifted a little if that helps, and left out if not.
pub(super) fn verified(task: &Task, places: Vec<FitPlace>) -> Vec<FitPlace> {
    let mut places = places;
    let area = |p: &FitPlace| task.parts[p.part].outline.area();
    places.sort_by(|a, b| area(b).total_cmp(&area(a)).then(a.part.cmp(&b.part)));
    let mut done = Verified {
        task,
        kept: Vec::new(),
    };
    let mut good: Vec<FitPlace> = Vec::new();
    for place in places {
        let tries = std::iter::once(place).chain(shifted(place, &task.rules));
        for place in tries {
            if let Some((own, at)) = done.keeps(&place) {
                done.kept.push((place.spread, own, at));
                good.push(place);
                break;
            }
        }
    }
    good.sort_by_key(|p| p.part);
    good
}

fn shifted(place: FitPlace, rules: &Rules) -> impl Iterator<Item = FitPlace> + use<> {
    let most = rules.between.max(1.0);
    let steps = SHIFTS.into_iter().filter(move |s| *s <= most);
    steps.flat_map(move |step| {
        (0..8).map(move |k| {
            let (sin, cos) = (f64::from(k) * std::f64::consts::FRAC_PI_4).sin_cos();
            let way = Vector::new(cos, sin) * step;
            let p = place.pose;
            let pose: Rigid<Piece, Cloth> = Rigid::new(p.mirrored, p.turn, p.shift + way);
            FitPlace { pose, ..place }
        })
    })
}
