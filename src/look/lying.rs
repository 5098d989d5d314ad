//! Where a panel lies in a photo that shows it otherwise than the job has it: the lower ply,
//! turned over and alone. It is placed by its own marks.

use crate::cloth::Panel;
use crate::fault::{Fault, Outcome};
use crate::lay::{Carried, Pointing, Sighting, carried};
use crate::photo::{Picture, Pose, snap};
use crate::space::{Cloth, Photo, Point, Rigid, Table, Vector};

/// A click's mark is looked for so far round it, px. What is no cross or disc (a stitch hole, a
/// patch's corner) is where it was clicked.
const REACH: f64 = 14.0;

/// Marks that are further from each other than the job has them than this, mm (root mean
/// square), are not the panel's.
const MOST: f64 = 10.0;

/// Marks of one panel, by their names, and about where they are in the photo.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OwnMarks {
    pub panel: String,
    pub clicks: Vec<(String, Point<Photo>)>,
}

/// How a panel lies by its own marks.
#[derive(Debug, Clone)]
pub struct Lying {
    /// From the panel's cloth space, mirrored where it was turned over.
    pub pose: Rigid<Cloth, Table>,
    pub turned_over: bool,
    /// What the marks say of it, without a full stop.
    pub says: String,
    carried: Carried,
}

impl Lying {
    /// By the marks that were clicked on, `height` mm above the table.
    ///
    /// # Errors
    /// If the panel has no such marks, fewer than two were clicked on, or they don't lie as the
    /// panel's.
    pub fn of(
        panel: &Panel,
        own: &OwnMarks,
        (picture, pose): (&Picture, &Pose),
        height: f64,
    ) -> Outcome<Self> {
        let here = |f: Fault| f.at(format!("panel \"{}\"", panel.name));
        let mut sightings = Vec::new();
        for (name, px) in &own.clicks {
            let mark = panel.marks.iter().find(|m| m.name == *name);
            let mark = mark.ok_or_else(|| here(unknown(panel, name)))?;
            let found = snap(picture, *px, REACH, None).map_or(*px, |s| s.px);
            let table = pose.place(found, height).ok_or_else(|| {
                let what = format!("its mark \"{name}\" is shown beyond the table");
                here(Fault::input(what, "click on it again"))
            })?;
            sightings.push(Sighting {
                name: name.clone(),
                cloth: Point::new(mark.x_mm, mark.y_mm),
                table,
            });
        }
        let over = sightings.iter().map(|s| Sighting {
            cloth: Point::new(-s.cloth.x, s.cloth.y),
            ..s.clone()
        });
        let over = carried(over.collect(), Pointing::default()).map_err(here);
        let plain = carried(sightings, Pointing::default());
        // Two marks, or three in a line, lie either way alike: it is the face that is wanted.
        let plainly = match (&over, &plain) {
            (Ok(over), Ok(plain)) => !over.fits() && plain.rms() < over.rms(),
            (Err(_), Ok(_)) => true,
            _ => false,
        };
        let carried = match plainly {
            true => plain?,
            false => over?,
        };
        if carried.rms() > MOST {
            let what = format!("its marks lie {:.0} mm off each other", carried.rms());
            let remedy = "see that each was clicked on by its own name, and that it is this panel";
            return Err(here(Fault::input(what, remedy)));
        }
        let mirror: Rigid<Cloth, Cloth> = Rigid::new(!plainly, 0.0, Vector::zero());
        let side = match plainly {
            true => "it is shown as it lies, its face as on the table",
            false => "it is shown turned over",
        };
        Ok(Self {
            pose: mirror.then(&carried.pose),
            turned_over: !plainly,
            says: format!("{side}; {carried}"),
            carried,
        })
    }

    /// Standard error of a place of the panel by its marks, mm on each axis.
    pub fn error_at(&self, p: Point<Cloth>) -> f64 {
        let x = if self.turned_over { -p.x } else { p.x };
        self.carried.error_at(Point::new(x, p.y)) / std::f64::consts::SQRT_2
    }
}

fn unknown(panel: &Panel, name: &str) -> Fault {
    let all: Vec<&str> = panel.marks.iter().map(|m| m.name.as_str()).collect();
    match all.is_empty() {
        true => Fault::input(
            "it has no marks of its own",
            "give it two or more at the table while it lies, then photograph it",
        ),
        false => Fault::input(
            format!("it has no mark \"{name}\""),
            format!("name one of {}", all.join(", ")),
        ),
    }
}
