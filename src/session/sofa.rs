//! The simulated table, so that everything can be tried without a projector:
//! cloth, boards and marks as they lie under each pixel of the picture.

use crate::calibration::Profile;
use crate::fault::Outcome;
use crate::job::Job;
use crate::rehearse::seen::cloths_where;
use crate::render::{Pixels, Screen};
use crate::space::{Bounds, Point, Table};
use crate::twin::beneath::Beneath;
use crate::twin::rig::Rig;
use crate::work::Bench;

/// Light of the simulated room, the projector's white = 1: dusk, curtains drawn.
const ROOM: f32 = 0.16;

/// The simulated marks, mm.
pub const MARKS: [[f64; 2]; 4] = [[20.0, 20.0], [1180.0, 20.0], [1180.0, 780.0], [20.0, 780.0]];

/// The simulated table.
pub struct Sofa {
    rig: Rig,
    beneath: Beneath,
}

impl Sofa {
    pub fn new() -> Self {
        let rig = Rig::workshop();
        let table: Bounds<Table> = Bounds::new(Point::new(0.0, 0.0), Point::new(1200.0, 800.0));
        let beneath = Beneath::new(&rig, &table, &MARKS.map(Point::from));
        Self { rig, beneath }
    }

    /// The simulated projector's picture, px.
    pub fn picture(&self) -> [u32; 2] {
        self.rig.optics().size
    }

    /// A profile without error: the table as if it had been set.
    ///
    /// # Errors
    /// None that a simulated table has.
    pub fn profile(&self) -> Outcome<Profile> {
        let rows = MARKS.map(|[x, y]| crate::calibration::MarkRow {
            table: Point::new(x, y),
            projector: self.rig.project(x, y, 0.0),
        });
        Profile::of_four(&rows, self.picture(), false)
    }

    /// Puts the table behind the light, with cloth where it lies now.
    ///
    /// # Errors
    /// If a cloth's photo can't be read.
    pub fn show(&self, job: &Job, bench: &Bench, screen: &mut Screen) -> Outcome<()> {
        let cloths = cloths_where(job, &bench.state().panels)?;
        let rgb = self.beneath.with(&cloths);
        let [width, height] = self.picture();
        screen.set_table(
            Some(Pixels {
                width,
                height,
                rgb: &rgb,
            }),
            ROOM,
        );
        Ok(())
    }
}
