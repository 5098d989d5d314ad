//! What our own frames cost.

use crate::report::{Report, Subject};
use crate::scenes::Lay;
use crate::timing::{Laps, Plan, Samples};
use ghostchalk::colour::decode_srgb;
use ghostchalk::fault::Outcome;
use ghostchalk::projection::Mapping;
use ghostchalk::render::{Canvas, Device, Drawn, Rect, draw};
use ghostchalk::space::{Piece, Rigid, Table, Vector};

/// How far a moving piece goes between frames, mm; how far a turning one, °.
const STEP: f64 = 0.7;
const TURN: f64 = 0.5;

/// How a piece moves: so many steps out, then back.
#[derive(Debug, Clone, Copy)]
pub enum Motion {
    /// 1.4 mm, which keeps clear of neighbours 8 mm off.
    Clear,
    /// 21 mm, on to neighbours.
    Over,
    /// 1°, on the spot.
    Turn,
}

impl Motion {
    /// Where a piece that began at `home` is in a frame.
    fn pose(self, home: Rigid<Piece, Table>, frame: usize) -> Rigid<Piece, Table> {
        let frames = match self {
            Motion::Clear | Motion::Turn => 2,
            Motion::Over => 30,
        };
        let phase = (frame + 1) % (2 * frames);
        let steps = phase.min(2 * frames - phase) as f64;
        let mut pose = home;
        match self {
            // Never the same turn twice: what was kept for one is no help.
            Motion::Turn => pose.turn += TURN.to_radians() * steps + 1e-7 * frame as f64,
            _ => pose.shift += Vector::new(0.8, 0.6) * (STEP * steps),
        }
        pose
    }
}

/// Light alone: what no driver has a part in.
pub fn light(lay: &mut Lay, plan: Plan, at: Subject, report: &mut Report) -> Outcome<()> {
    let home: Vec<_> = lay.laid.iter().map(|l| l.pose).collect();
    let reach = lay.reach();
    let [again] = plan.repeat(|k| {
        for (l, home) in lay.laid.iter_mut().zip(&home) {
            l.pose = Motion::Clear.pose(*home, k);
        }
        let mut laps = Laps::start();
        lay.lamp.light(&lay.laid, &reach);
        Ok([laps.lap()])
    })?;
    report.time(at, "all moving: light anew", &again);
    for (l, home) in lay.laid.iter_mut().zip(home) {
        l.pose = home;
    }
    lay.lamp.light(&lay.laid, &reach);
    Ok(())
}

/// One device, one mapping, one size of picture.
pub struct Stage<'a> {
    pub device: &'a Device,
    pub map: &'a Mapping,
    pub size: [u32; 2],
    pub plan: Plan,
}

pub const WHOLE: [&str; 4] = ["project", "redraw call", "CPU before submit", "wall"];

pub const ONE: [&str; 5] = [
    "light",
    "project",
    "redraw call",
    "CPU before submit",
    "wall",
];

impl Stage<'_> {
    /// Everything that is timed here.
    pub fn frames(&self, lay: &mut Lay, at: Subject, report: &mut Report) -> Outcome<()> {
        let mut canvas = self.canvas()?;
        self.device.wait()?;
        let whole = self.whole(&mut canvas, lay)?;
        for (part, samples) in WHOLE.iter().zip(&whole) {
            report.time(at, &format!("whole frame: {part}"), samples);
        }
        let clear = clear_mover(lay);
        for (what, mover, motion) in [
            ("one moving, clear", clear, Motion::Clear),
            ("one moving, over others", Some(lay.mover), Motion::Over),
            ("one turning", Some(lay.mover), Motion::Turn),
        ] {
            let Some(mover) = mover else { continue };
            let parts = self.one(&mut canvas, lay, mover, motion)?;
            for (part, samples) in ONE.iter().zip(&parts) {
                report.time(at, &format!("{what}: {part}"), samples);
            }
        }
        self.on_device(lay, clear, at, report)
    }

    /// Until the device is done. A card is asked over and over: what counts is when
    /// the picture is finished, not when the system wakes whoever slept on it. A
    /// software driver needs the core itself.
    fn done(&self) -> Outcome<()> {
        if self.device.is_software() {
            return self.device.wait();
        }
        while !self.device.is_idle()? {
            std::hint::spin_loop();
        }
        Ok(())
    }

    pub fn canvas(&self) -> Outcome<Canvas> {
        Canvas::new(self.device, self.size[0], self.size[1])
    }

    fn all(&self) -> Rect {
        Rect::of_size(self.size[0], self.size[1])
    }

    /// Projects all, redraws all, waits: the times that [`WHOLE`] names.
    pub fn whole(&self, canvas: &mut Canvas, lay: &Lay) -> Outcome<[Samples; 4]> {
        self.plan.repeat(|_| {
            let mut laps = Laps::start();
            let drawn = lay.drawn(self.map, self.size);
            let project = laps.lap();
            canvas.redraw(self.all(), &drawn);
            let redraw = laps.lap();
            self.done()?;
            let wait = laps.lap();
            let cpu = project + redraw;
            Ok([project, redraw, cpu, cpu + wait])
        })
    }

    /// One piece goes its way again and again: the times that [`ONE`] names.
    pub fn one(
        &self,
        canvas: &mut Canvas,
        lay: &mut Lay,
        mover: usize,
        motion: Motion,
    ) -> Outcome<[Samples; 5]> {
        let mut drawn = lay.drawn(self.map, self.size);
        canvas.redraw(self.all(), &drawn);
        self.device.wait()?;
        let home = lay.laid[mover].pose;
        let samples = self.plan.repeat(|k| {
            let mut laps = Laps::start();
            lay.laid[mover].pose = motion.pose(home, k);
            let changed = lay.lamp.moved(&lay.laid, mover);
            let light = laps.lap();
            let rect = self.project(lay, &changed, &mut drawn);
            let project = laps.lap();
            canvas.redraw(rect, &drawn);
            let redraw = laps.lap();
            self.done()?;
            let wait = laps.lap();
            let cpu = light + project + redraw;
            Ok([light, project, redraw, cpu, cpu + wait])
        })?;
        lay.laid[mover].pose = home;
        lay.lamp.moved(&lay.laid, mover);
        Ok(samples)
    }

    /// Projects the changed figures; returns what must be redrawn for them.
    fn project(&self, lay: &Lay, changed: &[usize], drawn: &mut [Drawn]) -> Rect {
        let mut rect = Rect::of_size(0, 0);
        for &k in changed {
            rect = rect.union(&drawn[k].rect());
            let figure = &lay.lamp.scene().figures[k];
            drawn[k] = draw(figure, self.map, self.size[0], self.size[1]);
            rect = rect.union(&drawn[k].rect());
        }
        rect
    }

    /// The device's own time, where it can tell.
    fn on_device(
        &self,
        lay: &mut Lay,
        mover: Option<usize>,
        at: Subject,
        report: &mut Report,
    ) -> Outcome<()> {
        let mut canvas = self.canvas()?;
        canvas.start_stopwatch();
        let mut drawn = lay.drawn(self.map, self.size);
        canvas.redraw(self.all(), &drawn);
        if canvas.seconds()?.is_none() {
            return Ok(());
        }
        let ms = |canvas: &Canvas| -> Outcome<f64> {
            Ok(canvas.seconds()?.map_or(f64::NAN, |s| s * 1e3))
        };
        let [whole] = self.plan.repeat(|_| {
            canvas.redraw(self.all(), &drawn);
            Ok([ms(&canvas)?])
        })?;
        report.time(at, "whole frame: device", &whole);
        let Some(mover) = mover else { return Ok(()) };
        let home = lay.laid[mover].pose;
        let [one] = self.plan.repeat(|k| {
            lay.laid[mover].pose = Motion::Clear.pose(home, k);
            let changed = lay.lamp.moved(&lay.laid, mover);
            let rect = self.project(lay, &changed, &mut drawn);
            canvas.redraw(rect, &drawn);
            Ok([ms(&canvas)?])
        })?;
        report.time(at, "one moving, clear: device", &one);
        lay.laid[mover].pose = home;
        lay.lamp.moved(&lay.laid, mover);
        Ok(())
    }

    /// A frame's linear light, read back.
    pub fn linear(&self, lay: &Lay) -> Outcome<Vec<f64>> {
        let mut canvas = self.canvas()?;
        canvas.redraw(self.all(), &lay.drawn(self.map, self.size));
        let codes = canvas.read()?.codes;
        let light = codes.iter().map(|c| decode_srgb(f64::from(*c) / 255.0));
        Ok(light.collect())
    }
}

/// A piece near the middle of the lay whose way changes no other's light.
fn clear_mover(lay: &mut Lay) -> Option<usize> {
    let count = lay.laid.len();
    (0..count).map(|k| (k + lay.mover) % count).find(|&k| {
        let home = lay.laid[k].pose;
        let before = lay.lamp.scene().clone();
        // The last of these is home.
        (0..4).fold(true, |alone, frame| {
            lay.laid[k].pose = Motion::Clear.pose(home, frame);
            let changed = lay.lamp.moved(&lay.laid, k);
            let figures = &lay.lamp.scene().figures;
            let same = |&j: &usize| j == k || figures[j] == before.figures[j];
            changed.iter().all(same) && alone
        })
    })
}
