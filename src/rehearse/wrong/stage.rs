//! The table after something has gone wrong: where its light falls now.

use super::Wrong;
use crate::cloth::{OnTable, Panel};
use crate::colour::decode_srgb;
use crate::fault::{Fault, Outcome};
use crate::frame::Lit;
use crate::hang::{Hang, Wanted, hang};
use crate::job::Job;
use crate::projection::{Homography, LensPlace, Mapping};
use crate::render::Picture;
use crate::space::{Point, Projector, Rigid, Table, Vector};
use crate::twin::picture::Picture as Light;
use crate::twin::rig::Rig;

/// How the workshop's picture is turned on the table, radians: see [`Rig::workshop`].
const ROLL: f64 = 0.012;

/// The share of its light that a projector keeps that dims itself.
pub(super) const DIMMED: f64 = 0.15;

/// A cut line that turns by more than this at a point has a corner there: cosine.
const STRAIGHT: f64 = 0.94;

/// A place of a cut line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Beside {
    /// Where it belongs, on the cloth as that lies now.
    pub belongs: Point<Table>,
    /// How far beside that its light falls, mm.
    pub off: Vector<Table>,
    /// The part of it across the cut line, mm; nought at corners.
    pub across: f64,
}

/// What has changed since the table was set. Places are the table's mm of that day.
#[derive(Debug, Clone)]
pub(super) struct Stage {
    pub rig: Rig,
    /// What the projector makes of the picture that it is sent: sent px to its own.
    warp: Homography<Projector, Projector>,
    /// The share of its light that is left.
    pub share: f64,
    /// Where all that lies on the table has gone.
    table: Rigid<Table, Table>,
    /// The panel that slid on it, and where to.
    pub slid: Option<(String, Rigid<Table, Table>)>,
    /// How high each mark stands above the table, mm.
    pub raised: [f64; 4],
    /// A person under the lens.
    pub head: Option<Hang>,
}

impl Stage {
    /// Nothing has changed.
    pub fn before() -> Outcome<Self> {
        let rows = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let warp = Homography::from_rows(rows).ok_or_else(|| Fault::mistake("no identity"))?;
        Ok(Self {
            rig: Rig::workshop(),
            warp,
            share: 1.0,
            table: Rigid::new(false, 0.0, Vector::zero()),
            slid: None,
            raised: [0.0; 4],
            head: None,
        })
    }

    /// This has gone wrong.
    ///
    /// # Errors
    /// If a panel's outline can't be used.
    pub fn of(wrong: Wrong, job: &Job) -> Outcome<Self> {
        let mut stage = Self::before()?;
        let [w, h] = stage.rig.optics().size.map(f64::from);
        let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
        match wrong {
            Wrong::Keystone => {
                stage.warp = warped(corners, [[8.0, 5.0], [w - 8.0, 5.0], [w, h], [0.0, h]])?;
            }
            Wrong::Overscan => {
                let larger = corners.map(|[x, y]| {
                    let away = |v: f64, side: f64| side / 2.0 + 1.03 * (v - side / 2.0);
                    [away(x, w), away(y, h)]
                });
                stage.warp = warped(corners, larger)?;
            }
            Wrong::Dimming => stage.share = DIMMED,
            Wrong::WarmUp => stage.rig = warmed(&stage.rig, 1.0025, Vector::new(0.8, -0.6))?,
            Wrong::Table => {
                let middle = Point::new(600.0, 400.0);
                stage.table = slid(middle, 0.35, Vector::new(4.0, -2.5));
            }
            Wrong::Cloth => {
                let panel = laid_on(job)?;
                let outline = panel.outline()?;
                let middle = outline.bounds().map_or(Point::origin(), |b| b.center());
                let middle = panel.on_table.pose().point(middle);
                let by = slid(middle, 0.4, Vector::new(3.0, -2.0));
                stage.slid = Some((panel.name.clone(), by));
            }
            Wrong::Mark => stage.raised[2] = 7.0,
            Wrong::Shadow => stage.head = Some(under(&stage.rig)?),
        }
        Ok(stage)
    }

    /// Where a panel has gone.
    pub fn moved(&self, panel: &str) -> Rigid<Table, Table> {
        match &self.slid {
            Some((name, by)) if name == panel => self.table.then(by),
            _ => self.table,
        }
    }

    /// The panels where they lie now.
    pub fn panels(&self, job: &Job) -> Vec<Panel> {
        let moved = |panel: &Panel| {
            let pose = panel.on_table.pose().then(&self.moved(&panel.name));
            Panel {
                on_table: OnTable {
                    x_mm: pose.shift.x,
                    y_mm: pose.shift.y,
                    turn_deg: pose.turn.to_degrees(),
                },
                ..panel.clone()
            }
        };
        job.file.panels.iter().map(moved).collect()
    }

    /// Where a mark lies now that was set at `place`.
    pub fn mark(&self, place: [f64; 2]) -> Point<Table> {
        self.table.point(Point::from(place))
    }

    /// Where the light of a sent pixel falls now, on the plane of the table.
    pub fn falls(&self, sent: Point<Projector>) -> Option<Point<Table>> {
        self.falls_at(sent, 0.0)
    }

    /// The same on what stands `height` mm above the table.
    pub fn falls_at(&self, sent: Point<Projector>, height: f64) -> Option<Point<Table>> {
        self.rig.land(self.warp.point(sent)?, height)
    }

    /// The pixel to send so that its light falls on a place now, `height` mm up.
    pub fn sent(&self, p: Point<Table>, height: f64) -> Option<Point<Projector>> {
        let own = self.rig.project(p.x, p.y, height);
        self.warp.inverse()?.point(own)
    }

    /// All places of the lay's cut lines, on the plane of the table.
    pub fn lay(&self, lit: &Lit, mapping: &Mapping) -> Vec<Beside> {
        let mut all = Vec::new();
        for (k, laid) in lit.laid.iter().enumerate() {
            let moved = self.moved(laid.panel);
            for ring in &lit.lamp.inside(k).rings {
                let n = ring.len();
                for (i, &p) in ring.iter().enumerate() {
                    let before = (p - ring[(i + n - 1) % n]).normalize();
                    let after = (ring[(i + 1) % n] - p).normalize();
                    let Some(falls) = mapping.pixel(p, 0.0).and_then(|q| self.falls(q)) else {
                        continue;
                    };
                    let belongs = moved.point(p);
                    let off = falls - belongs;
                    let along = moved.vector(before + after).normalize();
                    let straight = before.dot(after) > STRAIGHT;
                    all.push(Beside {
                        belongs,
                        off,
                        across: if straight {
                            along.cross(off).abs()
                        } else {
                            0.0
                        },
                    });
                }
            }
        }
        all
    }

    /// The light that the projector makes of a frame that it is sent, pixel by pixel of its own.
    /// A picture that it warps is mixed from neighbours, as projectors do.
    pub fn light(&self, frame: &Picture) -> Option<Light> {
        let back = self.warp.inverse()?;
        let linear: [f64; 256] = std::array::from_fn(|c| decode_srgb(c as f64 / 255.0));
        let (w, h) = (frame.width as usize, frame.height as usize);
        let at = |x: f64, y: f64| {
            if x >= 0.0 && y >= 0.0 && x < w as f64 && y < h as f64 {
                linear[usize::from(frame.codes[y as usize * w + x as usize])]
            } else {
                0.0
            }
        };
        let mut light = Vec::with_capacity(w * h);
        for row in 0..h {
            for column in 0..w {
                let own = Point::new(column as f64 + 0.5, row as f64 + 0.5);
                let sent = back.point(own)? - Vector::new(0.5, 0.5);
                let (x, y) = (sent.x.floor(), sent.y.floor());
                let (s, t) = (sent.x - x, sent.y - y);
                let line = |y: f64| at(x, y) * (1.0 - s) + at(x + 1.0, y) * s;
                let emitted = line(y) * (1.0 - t) + line(y + 1.0) * t;
                let share = if self.hides(own) { 0.0 } else { self.share };
                light.push((emitted * share) as f32);
            }
        }
        Light::from_light(frame.width, frame.height, light)
    }

    /// Whether the person's head keeps the light of this pixel of the projector's own off the
    /// table.
    fn hides(&self, own: Point<Projector>) -> bool {
        let Some(hang) = &self.head else {
            return false;
        };
        let falls = self.rig.land(own, 0.0);
        falls.is_some_and(|p| hang.head.hides(&lens(&self.rig), p))
    }
}

/// Where a rig's lens hangs.
pub(super) fn lens(rig: &Rig) -> LensPlace {
    let [x, y, height] = rig.lens();
    LensPlace {
        foot: Point::new(x, y),
        height,
    }
}

/// The panel that the first piece is laid on.
pub(super) fn laid_on(job: &Job) -> Outcome<&Panel> {
    let laid = job.laid();
    let name = laid.first().map(|l| l.panel);
    let panel = job
        .file
        .panels
        .iter()
        .find(|p| Some(p.name.as_str()) == name);
    panel.ok_or_else(|| {
        Fault::input(
            "no piece is laid on cloth that is spread",
            "lay its pieces with `ghostchalk light` or `ghostchalk lay --take`",
        )
    })
}

fn warped(from: [[f64; 2]; 4], to: [[f64; 2]; 4]) -> Outcome<Homography<Projector, Projector>> {
    Homography::through(from.map(Point::from), to.map(Point::from))
        .ok_or_else(|| Fault::mistake("a picture can't be warped so"))
}

/// A rig in its place whose lens enlarges `times`, and shifts the picture by so many px.
pub(super) fn warmed(rig: &Rig, times: f64, by: Vector<Projector>) -> Outcome<Rig> {
    let mut optics = *rig.optics();
    let aim = rig.land(optics.centre, 0.0);
    // A projector of a longer focal length has a smaller picture.
    optics.focal = optics.focal.map(|f| f / times);
    optics.centre += by;
    aim.and_then(|aim| Rig::looking(rig.lens(), aim, ROLL, optics))
        .ok_or_else(|| Fault::mistake("the rehearsed projector can't be warmed"))
}

/// Turned about `middle`, degrees counter-clockwise, then shifted.
fn slid(middle: Point<Table>, degrees: f64, by: Vector<Table>) -> Rigid<Table, Table> {
    let turn = degrees.to_radians();
    let turned: Rigid<Table, Table> = Rigid::new(false, turn, Vector::zero());
    Rigid::new(false, turn, middle - turned.point(middle) + by)
}

/// The rig as `ghostchalk hang` is told of it, with a person at the table.
fn under(rig: &Rig) -> Outcome<Hang> {
    let optics = rig.optics();
    let [_, _, height] = rig.lens();
    let mut hung = hang(&Wanted {
        table: [1200.0, 800.0],
        picture: optics.size,
        throw: optics.focal[0] / f64::from(optics.size[0]),
        height: Some(height),
        offset: 0.0,
        side: None,
        person: 1700.0,
        table_height: 900.0,
        thick: 5.0,
        ceiling: None,
    })?;
    // The picture is brought on to the table by a tilt: the lens' foot is not its middle.
    hung.lens = lens(rig);
    Ok(hung)
}
