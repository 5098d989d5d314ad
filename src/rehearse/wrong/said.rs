//! What the program's own checks say of what has gone wrong.

use super::stage::{DIMMED, Stage, laid_on};
use super::{MARKS, Wrong};
use crate::calibration::still::{self, POINTING, Seen, judge};
use crate::cloth::seen::{Guide, Seeing, Sight, advise};
use crate::colour::{Tint, decode_srgb};
use crate::fault::{Fault, Outcome};
use crate::hang::told;
use crate::job::Job;
use crate::lay::{Pointing, Sighting, carried};
use crate::measure::Unit;
use crate::projection::Mapping;
use crate::projection::wedge::CODES;
use crate::raster::Raster;
use crate::space::{Bounds, Cloth, Point, Table, Vector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::TAU;

/// The seed of the hand that points, so that a picture can be made again.
const HAND_SEED: u64 = 20;

/// The room's light where the projector dims: a lamp is on. The projector's white = 1.
pub(super) const LAMP_ON: f64 = 0.35;

/// The first dark square that is seen of a projector that does not dim (an estimate).
const SEEN_CODE: u8 = 6;

/// What is said.
#[derive(Debug, Clone)]
pub(super) struct Said {
    pub sentences: Vec<String>,
    /// Whether a check finds it.
    pub noticed: bool,
    /// In a few words, for the picture: as it was set, and now. Where it is a length, the
    /// picture says what it shows.
    pub brief: Option<[String; 2]>,
}

/// What each check says.
///
/// # Errors
/// If the job's cloth can't be used.
pub(super) fn said(wrong: Wrong, now: &Stage, job: &Job, mapping: &Mapping) -> Outcome<Said> {
    match wrong {
        Wrong::Dimming => dimming(),
        Wrong::Shadow => shadow(now),
        Wrong::Cloth => {
            let marks = marks(now, mapping)?;
            let cloth = cloth(now, job)?;
            Ok(Said {
                sentences: [marks.sentences, cloth.sentences].concat(),
                ..cloth
            })
        }
        Wrong::Overscan => {
            let mut said = marks(now, mapping)?;
            let [w, _] = now.rig.optics().size.map(f64::from);
            // Of the picture 1/1.03 is stretched over all of the projector's pixels.
            said.sentences.push(format!(
                "The page of stripes: about {:.0} bands from left to right.",
                w - w / 1.03
            ));
            Ok(said)
        }
        _ => marks(now, mapping),
    }
}

/// Where a place is pointed at by an unsteady hand.
struct Hand(ChaCha8Rng);

impl Hand {
    fn new() -> Self {
        Self(ChaCha8Rng::seed_from_u64(HAND_SEED))
    }

    /// A draw with a standard deviation of `sigma` on each axis (Box and Muller).
    fn slip<S>(&mut self, sigma: f64) -> Vector<S> {
        let radius = sigma * (-2.0 * (1.0 - self.0.random::<f64>()).ln()).sqrt();
        let (sin, cos) = (TAU * self.0.random::<f64>()).sin_cos();
        Vector::new(radius * cos, radius * sin)
    }
}

/// *Is the light still true?* The table's marks are pointed at where they are now.
pub(super) fn marks(now: &Stage, mapping: &Mapping) -> Outcome<Said> {
    let mut hand = Hand::new();
    let mut seen = Vec::new();
    for (k, place) in MARKS.into_iter().enumerate() {
        let sent = now.sent(now.mark(place), now.raised[k]);
        let shown = sent.and_then(|q| mapping.place(q)).ok_or_else(|| {
            Fault::mistake(format!("the rehearsed light does not reach mark {}", k + 1))
        })?;
        seen.push(Seen {
            number: k + 1,
            meant: Point::from(place),
            seen: shown + hand.slip(POINTING),
        });
    }
    let judged = judge(&seen, POINTING, Unit::Mm)?;
    Ok(Said {
        sentences: vec![format!("Is the light still true (V): {judged}.")],
        noticed: judged.finding != still::Finding::Still,
        brief: None,
    })
}

/// *The cloth moved*: two of its own marks are pointed at where they are now.
fn cloth(now: &Stage, job: &Job) -> Outcome<Said> {
    let panel = laid_on(job)?;
    let outline = panel.outline()?;
    let b = outline.bounds().ok_or_else(|| {
        Fault::input("the cloth's outline is empty", "draw it")
            .at(format!("panel \"{}\"", panel.name))
    })?;
    let (dx, dy) = (b.width() / 10.0, b.height() / 10.0);
    let marks: [(&str, Point<Cloth>); 2] = [
        ("chalk cross", Point::new(b.min.x + dx, b.min.y + dy)),
        ("stitch hole", Point::new(b.max.x - dx, b.max.y - dy)),
    ];
    let before = panel.on_table.pose();
    let lies = before.then(&now.moved(&panel.name));
    let mut hand = Hand::new();
    let pointing = Pointing::default();
    let sightings = marks.map(|(name, cloth)| Sighting {
        name: name.to_owned(),
        cloth,
        table: lies.point(cloth) + hand.slip(pointing.again),
    });
    let found = carried(sightings.to_vec(), pointing)?;
    let steps = marks.map(|(_, p)| (found.pose.point(p) - before.point(p)).length());
    let [a, b] = steps;
    let sure = marks
        .map(|(_, p)| found.error_at(p))
        .into_iter()
        .fold(0.0, f64::max);
    Ok(Said {
        sentences: vec![
            format!("The cloth moved (C): {found}."),
            format!("The chalk cross was carried by {a:.1} mm, the stitch hole by {b:.1} mm."),
        ],
        // Beyond two standard errors it is no slip of the hand.
        noticed: found.fits() && a.max(b) > 2.0 * sure,
        brief: None,
    })
}

/// *Is the guide lost on this cloth?* and the page of dark squares.
fn dimming() -> Outcome<Said> {
    let at: Point<Table> = Point::new(50.0, 50.0);
    let contrast = |share: f64| -> Outcome<(f64, Sight, Option<String>)> {
        let area: Bounds<Table> = Bounds::new(Point::new(0.0, 0.0), Point::new(100.0, 100.0));
        // Plain cloth that gives back a third.
        let even = |light: f64| Raster::over(area, 2.0, |_, _, _| [(light / 3.0) as f32; 3]);
        let seeing = Seeing::of(even(LAMP_ON), even(LAMP_ON + share))?;
        let guide = Guide {
            brightness: 1.0,
            work_light: 0.0,
            tint: Tint::White,
            band: 3.0,
            widest: 10.0,
            waste: 40.0,
        };
        let along = [at];
        let on: (&Seeing, &[Point<Table>]) = (&seeing, &along);
        let advice = advise(&[on], &guide);
        let seen = advice.measured().next().copied();
        let seen = seen.ok_or_else(|| Fault::mistake("the rehearsed photos don't measure"))?;
        let remedy = advice.enough().map(|r| r.to_string());
        Ok((seen.contrast, seen.sight(), remedy))
    };
    let (full, _, _) = contrast(1.0)?;
    let (dimmed, sight, remedy) = contrast(DIMMED)?;
    let how = match sight {
        Sight::Seen => "still seen",
        Sight::Hard => "hard to see",
        Sight::Lost => "lost",
    };
    let mut sentences = vec![format!(
        "Contrast of the guide with a lamp on: {full:.1} to 1 beside a bright page, {dimmed:.1} \
         to 1 once it is alone in the dark: {how}."
    )];
    if let Some(remedy) = remedy {
        sentences.push(format!(
            "What helps first, after switching it off: {remedy}."
        ));
    }
    // Light that is just told from darkness.
    let light = |code: u8| decode_srgb(f64::from(code) / 255.0);
    let first = CODES
        .into_iter()
        .find(|&c| light(c) * DIMMED >= light(SEEN_CODE));
    sentences.push(match first {
        Some(code) => format!(
            "The page of dark squares: the first that is seen is {code}, where {SEEN_CODE} was seen \
             before."
        ),
        None => format!(
            "The page of dark squares: none is seen, where {SEEN_CODE} was seen before."
        ),
    });
    Ok(Said {
        sentences,
        noticed: sight != Sight::Seen && first != Some(SEEN_CODE),
        brief: Some([format!("{full:.1} to 1"), format!("{dimmed:.1} to 1")]),
    })
}

/// Where the lens hangs, as `ghostchalk hang` says it.
fn shadow(now: &Stage) -> Outcome<Said> {
    let hang = now
        .head
        .as_ref()
        .ok_or_else(|| Fault::mistake("no one stands at the rehearsed table"))?;
    let dark = hang.hidden();
    let of_shadow = |s: &String| s.contains("shadow");
    Ok(Said {
        sentences: told(hang, Unit::Mm).into_iter().filter(of_shadow).collect(),
        noticed: dark.is_some(),
        brief: dark.map(|[from, to]| {
            [
                "nobody there".to_owned(),
                format!("dark from {from:.0} to {to:.0} mm"),
            ]
        }),
    })
}
