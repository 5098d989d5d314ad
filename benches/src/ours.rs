//! What our own frames cost.

use crate::report::{Report, Subject};
use crate::scenes::{Lay, reach};
use crate::timing::{Laps, Plan, Samples};
use ghostchalk::fault::Outcome;
use ghostchalk::projection::Mapping;
use ghostchalk::render::{Canvas, Device, Drawn, Rect, decode_srgb, draw};
use ghostchalk::space::{Table, Vector};

/// How far a moving piece goes between frames, mm.
const STEP: f64 = 0.7;
/// Frames out before it turns back: 1.4 mm keeps clear of the neighbours,
/// 21 mm goes over them.
const SHORT: usize = 2;
const LONG: usize = 30;

/// Light alone: what no driver has a part in.
pub fn light(lay: &mut Lay, plan: Plan, at: Subject, report: &mut Report) -> Outcome<()> {
    let home: Vec<_> = lay.laid.iter().map(|l| l.pose.shift).collect();
    let [again] = plan.repeat(|k| {
        for (l, home) in lay.laid.iter_mut().zip(&home) {
            l.pose.shift = *home + offset(k, SHORT);
        }
        let mut laps = Laps::start();
        lay.lamp.light(&lay.laid, &reach());
        Ok([laps.lap()])
    })?;
    report.time(at, "all moving: light anew", &again);
    for (l, home) in lay.laid.iter_mut().zip(home) {
        l.pose.shift = home;
    }
    lay.lamp.light(&lay.laid, &reach());
    Ok(())
}

/// Everything that is drawn on one device, in one size.
pub fn frames(
    device: &Device,
    lay: &mut Lay,
    map: &Mapping,
    size: [u32; 2],
    plan: Plan,
    at: Subject,
    report: &mut Report,
) -> Outcome<()> {
    let mut canvas = Canvas::new(device, size[0], size[1])?;
    device.wait()?;
    let whole = whole(device, &mut canvas, lay, map, plan)?;
    for (part, samples) in WHOLE.iter().zip(&whole) {
        report.time(at, &format!("whole frame: {part}"), samples);
    }
    let clear = clear_mover(lay);
    for (what, mover, frames) in [
        ("one moving, clear", clear, SHORT),
        ("one moving, over others", Some(lay.mover), LONG),
    ] {
        let Some(mover) = mover else { continue };
        let parts = one(device, &mut canvas, lay, map, plan, mover, frames)?;
        for (part, samples) in ONE.iter().zip(&parts) {
            report.time(at, &format!("{what}: {part}"), samples);
        }
    }
    gpu(device, lay, map, size, clear, plan, at, report)
}

const WHOLE: [&str; 4] = ["project", "redraw call", "CPU before submit", "wall"];

/// Projects all, redraws all, waits.
fn whole(
    device: &Device,
    canvas: &mut Canvas,
    lay: &Lay,
    map: &Mapping,
    plan: Plan,
) -> Outcome<[Samples; 4]> {
    let (width, height) = canvas.size();
    plan.repeat(|_| {
        let mut laps = Laps::start();
        let drawn = lay.drawn(map, [width, height]);
        let project = laps.lap();
        canvas.redraw(Rect::of_size(width, height), &drawn);
        let redraw = laps.lap();
        device.wait()?;
        let wait = laps.lap();
        Ok([project, redraw, project + redraw, project + redraw + wait])
    })
}

const ONE: [&str; 5] = [
    "light",
    "project",
    "redraw call",
    "CPU before submit",
    "wall",
];

/// One piece goes a step and back again and again.
fn one(
    device: &Device,
    canvas: &mut Canvas,
    lay: &mut Lay,
    map: &Mapping,
    plan: Plan,
    mover: usize,
    frames: usize,
) -> Outcome<[Samples; 5]> {
    let (width, height) = canvas.size();
    let mut drawn = lay.drawn(map, [width, height]);
    canvas.redraw(Rect::of_size(width, height), &drawn);
    device.wait()?;
    let home = lay.laid[mover].pose.shift;
    let samples = plan.repeat(|k| {
        let mut laps = Laps::start();
        lay.laid[mover].pose.shift = home + offset(k, frames);
        let changed = lay.lamp.moved(&lay.laid, mover);
        let light = laps.lap();
        let rect = redrawn(lay, map, [width, height], &changed, &mut drawn);
        let project = laps.lap();
        canvas.redraw(rect, &drawn);
        let redraw = laps.lap();
        device.wait()?;
        let wait = laps.lap();
        let cpu = light + project + redraw;
        Ok([light, project, redraw, cpu, cpu + wait])
    })?;
    lay.laid[mover].pose.shift = home;
    lay.lamp.moved(&lay.laid, mover);
    Ok(samples)
}

/// Projects the changed figures; returns what must be redrawn for them.
fn redrawn(
    lay: &Lay,
    map: &Mapping,
    [width, height]: [u32; 2],
    changed: &[usize],
    drawn: &mut [Drawn],
) -> Rect {
    let mut rect = Rect::of_size(0, 0);
    for &k in changed {
        rect = rect.union(&drawn[k].rect());
        drawn[k] = draw(&lay.lamp.scene().figures[k], map, width, height);
        rect = rect.union(&drawn[k].rect());
    }
    rect
}

/// The device's own time, where it can tell.
#[expect(clippy::too_many_arguments, reason = "one caller, which has them all")]
fn gpu(
    device: &Device,
    lay: &mut Lay,
    map: &Mapping,
    size: [u32; 2],
    mover: Option<usize>,
    plan: Plan,
    at: Subject,
    report: &mut Report,
) -> Outcome<()> {
    let mut canvas = Canvas::new(device, size[0], size[1])?;
    canvas.start_stopwatch();
    let mut drawn = lay.drawn(map, size);
    canvas.redraw(Rect::of_size(size[0], size[1]), &drawn);
    if canvas.seconds()?.is_none() {
        return Ok(());
    }
    let ms =
        |canvas: &Canvas| -> Outcome<f64> { Ok(canvas.seconds()?.map_or(f64::NAN, |s| s * 1e3)) };
    let [whole] = plan.repeat(|_| {
        canvas.redraw(Rect::of_size(size[0], size[1]), &drawn);
        Ok([ms(&canvas)?])
    })?;
    report.time(at, "whole frame: device", &whole);
    let Some(mover) = mover else { return Ok(()) };
    let home = lay.laid[mover].pose.shift;
    let [one] = plan.repeat(|k| {
        lay.laid[mover].pose.shift = home + offset(k, SHORT);
        let changed = lay.lamp.moved(&lay.laid, mover);
        let rect = redrawn(lay, map, size, &changed, &mut drawn);
        canvas.redraw(rect, &drawn);
        Ok([ms(&canvas)?])
    })?;
    report.time(at, "one moving, clear: device", &one);
    lay.laid[mover].pose.shift = home;
    lay.lamp.moved(&lay.laid, mover);
    Ok(())
}

/// Where a piece is in a frame: `frames` steps out, then back.
fn offset(frame: usize, frames: usize) -> Vector<Table> {
    let phase = (frame + 1) % (2 * frames);
    let steps = phase.min(2 * frames - phase) as f64;
    Vector::new(0.8, 0.6) * (STEP * steps)
}

/// A piece near the middle of the lay that can go its short way without
/// changing another's light.
fn clear_mover(lay: &mut Lay) -> Option<usize> {
    let count = lay.laid.len();
    (0..count).map(|k| (k + lay.mover) % count).find(|&k| {
        let home = lay.laid[k].pose.shift;
        let mut alone = true;
        // The last of these is home.
        for frame in 0..2 * SHORT {
            lay.laid[k].pose.shift = home + offset(frame, SHORT);
            alone &= lay.lamp.moved(&lay.laid, k) == [k];
        }
        alone
    })
}

/// Our frame's linear light, read back.
pub fn linear(device: &Device, lay: &Lay, map: &Mapping, size: [u32; 2]) -> Outcome<Vec<f64>> {
    let mut canvas = Canvas::new(device, size[0], size[1])?;
    canvas.redraw(Rect::of_size(size[0], size[1]), &lay.drawn(map, size));
    let codes = canvas.read()?.codes;
    let light = codes.iter().map(|c| decode_srgb(f64::from(*c) / 255.0));
    Ok(light.collect())
}
