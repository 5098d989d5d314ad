//! A piece longer than the light is cut in stretches: how far beside the first
//! stretch may the second begin?

use super::bench::Bench;
use crate::lay::{Pointing, Position, worst_step};
use crate::measure::Unit;
use crate::shape::{Region, difference, intersection};
use crate::space::{Cloth, Point, Rigid, Table};

/// Areas up to this, mm², are rounding, not cloth.
const NOTHING: f64 = 0.5;

impl Bench {
    /// The pieces on a panel by name and article, with their cut lines in
    /// cloth space.
    pub(super) fn cut_lines(&self, panel: &str) -> Vec<(String, Region<Cloth>)> {
        let stock = self.goods.stock();
        let on = self.state.placed.values().filter(|p| p.panel == panel);
        let lines = on.filter_map(|p| {
            let cut = Region::new(stock.piece(&p.piece)?.cut.clone());
            let name = format!("{} {}", p.piece, p.article);
            Some((name, cut.moved(&p.pose())))
        });
        lines.collect()
    }

    /// What to expect of the joins of pieces that reach beyond the light, in
    /// words, after a panel has been carried from where it is to `to` by the
    /// marks that are being pointed at. `None` if no piece needs a join.
    ///
    /// A join lies where the piece is lit both before and after. The step is
    /// the greatest expected there, by the pointing errors: its square is
    /// convex, so that is at a corner of what is lit both times.
    pub(super) fn join_after(&self, name: &str, to: &Rigid<Cloth, Table>) -> Option<String> {
        let reach = self.lit.reach()?;
        let panel = self.state.panel(name)?;
        let lit = [panel.on_table.pose(), *to].map(|p| reach.moved(&p.inverse()));
        let both = intersection(&lit[0], &lit[1]);
        let marks: Vec<Point<Cloth>> = panel
            .marks
            .iter()
            .map(|m| Point::new(m.x_mm, m.y_mm))
            .collect();
        let numbers = |names: &[String]| -> Vec<usize> {
            let number = |n: &String| panel.marks.iter().position(|m| m.name == *n);
            names.iter().filter_map(number).collect()
        };
        let before = numbers(&panel.carried_by);
        let now: Vec<String> = self.sightings().into_iter().map(|s| s.name).collect();
        let now = numbers(&now);
        let first = if before.len() >= 2 {
            Position::Carried(&before)
        } else {
            Position::AsGiven
        };
        let mut worst: Option<f64> = None;
        for (piece, cut) in self.cut_lines(name) {
            let dark = |lit| difference(&cut, lit).area() > NOTHING;
            if !lit.iter().any(dark) {
                continue;
            }
            let join = intersection(&cut, &both);
            if join.area() <= NOTHING {
                return Some(format!(
                    "{piece} can't be joined: no part of it lay in the light before the cloth moved"
                ));
            }
            for p in join.rings.into_iter().flatten() {
                let second = Position::Carried(&now);
                let step = worst_step(&marks, first, second, Pointing::default(), [p, p]);
                worst = Some(worst.unwrap_or(0.0).max(step.ok()?));
            }
        }
        worst.map(|mm| format!("expected step at a join {}", Unit::Mm.show(mm)))
    }
}
