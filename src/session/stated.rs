//! What the ledger says of what is cut: when, by which table, and the error that was stated.

use crate::calibration::Profile;
use crate::calibration::budget::{Setup, Stack, Tool};
use crate::calibration::fit::{Fit, Sighted};
use crate::calibration::raised::{LensFound, PLUMBED, from_plumb};
use crate::space::Point;
use crate::work::{Bench, Id, Stamp};
use std::collections::BTreeMap;
use time::OffsetDateTime;

/// The table as it was set.
#[derive(Debug)]
pub struct Stated {
    marks: Vec<Sighted>,
    fit: Fit,
    lens: Option<LensFound>,
}

impl Stated {
    /// `None` if the profile does not keep what it was made from.
    pub fn of(profile: &Profile) -> Option<Self> {
        let (marks, _, fit) = profile.refit()?;
        let lens = profile.lens_place.as_ref();
        let lens = lens.and_then(|p| from_plumb(Point::from(p.foot_mm), p.height_mm, PLUMBED).ok());
        Some(Self { marks, fit, lens })
    }

    /// The standard error of a piece's shape, mm, where it lies: of the table, and of hand and
    /// tool as is common practice.
    fn error(&self, bench: &Bench, id: Id) -> Option<f64> {
        let setup = Setup {
            fit: &self.fit,
            marks: &self.marks,
            lens: self.lens.as_ref(),
            tool: Tool::default(),
        };
        let (ids, laid) = bench.laid();
        let at = ids.iter().position(|other| *other == id)?;
        let l = &laid[at];
        let ring = l.piece.cut.first()?;
        let outline: Vec<_> = ring.iter().map(|&p| l.pose.point(p)).collect();
        let stack = Stack {
            thick: l.height,
            plies: bench.goods.stock().plies(l.panel, bench.panels()),
        };
        setup.piece(&outline, stack).map(|b| b.shape())
    }
}

/// What is noted of what is cut now: `profile` is the table's, by its file.
pub fn stamp(stated: Option<&Stated>, bench: &Bench, profile: Option<&String>) -> Stamp {
    let error = |id: Id| Some((id, stated?.error(bench, id)?));
    let errors: BTreeMap<Id, f64> = bench.held().and_then(error).into_iter().collect();
    Stamp {
        when: now(),
        profile: profile.cloned(),
        errors,
    }
}

/// The time, UTC, as RFC 3339 writes it.
fn now() -> String {
    let t = OffsetDateTime::now_utc();
    let (date, time) = (t.date(), t.time());
    format!(
        "{date}T{:02}:{:02}:{:02}Z",
        time.hour(),
        time.minute(),
        time.second()
    )
}
