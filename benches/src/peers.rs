//! The same polygons by other rasterisers, on one thread of the processor.
//! Their scenes are made once and kept, which is to their advantage.

use crate::report::{Report, Subject};
use crate::scenes::Patch;
use crate::timing::{Laps, Plan};
use ghostchalk::fault::{Fault, Outcome};
use std::fmt::Write;
use vello_cpu::kurbo::BezPath;

/// Coverage as a share of each pixel, row by row.
pub struct Drawn {
    pub name: &'static str,
    pub light: Vec<f64>,
}

pub const NAMES: [&str; 3] = ["tiny-skia", "resvg", "vello_cpu"];
/// The same, filling all patches as one path, so that none is blended over
/// another where they share a pixel.
pub const NAMES_MERGED: [&str; 3] = [
    "tiny-skia, one path",
    "resvg, one path",
    "vello_cpu, one path",
];

/// Times all peers, and returns what they drew.
pub fn all(
    names: [&'static str; 3],
    patches: &[Patch],
    size: [u32; 2],
    plan: Plan,
    at: Subject,
    report: &mut Report,
) -> Outcome<Vec<Drawn>> {
    Ok(vec![
        tiny(patches, size, plan, at.by(names[0]), report)?,
        resvg(patches, size, plan, at.by(names[1]), report)?,
        vello(patches, size, plan, at.by(names[2]), report)?,
    ])
}

fn broken(peer: &str) -> Fault {
    Fault::ours(format!("{peer} can't draw the scene"), "correct the bench")
}

fn tiny(
    patches: &[Patch],
    [width, height]: [u32; 2],
    plan: Plan,
    at: Subject,
    report: &mut Report,
) -> Outcome<Drawn> {
    use tiny_skia::{Color, FillRule, Paint, Path, PathBuilder, Pixmap, Transform};
    let name = at.by;
    let build = || -> Vec<Path> {
        let path = |patch: &Patch| {
            let mut b = PathBuilder::new();
            for ring in patch {
                for (k, p) in ring.iter().enumerate() {
                    let (x, y) = (p.x as f32, p.y as f32);
                    if k == 0 {
                        b.move_to(x, y);
                    } else {
                        b.line_to(x, y);
                    }
                }
                b.close();
            }
            b.finish()
        };
        patches.iter().filter_map(path).collect()
    };
    let mut pixmap = Pixmap::new(width, height).ok_or_else(|| broken(name))?;
    let mut paint = Paint {
        anti_alias: true,
        ..Paint::default()
    };
    paint.set_color(Color::WHITE);
    let paths = build();
    let [frame] = plan.repeat(|_| {
        let mut laps = Laps::start();
        pixmap.fill(Color::TRANSPARENT);
        for path in &paths {
            pixmap.fill_path(path, &paint, FillRule::Winding, Transform::identity(), None);
        }
        Ok([laps.lap()])
    })?;
    report.time(at, "whole frame, paths kept", &frame);
    Ok(Drawn {
        name,
        light: pixmap.pixels().iter().map(|p| share(p.alpha())).collect(),
    })
}

fn resvg(
    patches: &[Patch],
    [width, height]: [u32; 2],
    plan: Plan,
    at: Subject,
    report: &mut Report,
) -> Outcome<Drawn> {
    use resvg::tiny_skia::{Color, Pixmap, Transform};
    use resvg::usvg::{Options, Tree};
    let name = at.by;
    let mut svg =
        format!("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\">");
    for patch in patches {
        svg += "<path fill=\"white\" d=\"";
        for ring in patch {
            for (k, p) in ring.iter().enumerate() {
                let verb = if k == 0 { 'M' } else { 'L' };
                // f32, as it will be kept.
                let (x, y) = (p.x as f32, p.y as f32);
                write!(svg, "{verb}{x} {y}").map_err(|_| broken(name))?;
            }
            svg += "Z";
        }
        svg += "\"/>";
    }
    svg += "</svg>";
    let tree = Tree::from_str(&svg, &Options::default()).map_err(|_| broken(name))?;
    let mut pixmap = Pixmap::new(width, height).ok_or_else(|| broken(name))?;
    let [frame] = plan.repeat(|_| {
        let mut laps = Laps::start();
        pixmap.fill(Color::TRANSPARENT);
        resvg::render(&tree, Transform::identity(), &mut pixmap.as_mut());
        Ok([laps.lap()])
    })?;
    report.time(at, "whole frame, tree kept", &frame);
    Ok(Drawn {
        name,
        light: pixmap.pixels().iter().map(|p| share(p.alpha())).collect(),
    })
}

fn vello(
    patches: &[Patch],
    [width, height]: [u32; 2],
    plan: Plan,
    at: Subject,
    report: &mut Report,
) -> Outcome<Drawn> {
    use vello_cpu::color::palette::css;
    use vello_cpu::{Pixmap, RenderContext, Resources};
    let name = at.by;
    let (Ok(w), Ok(h)) = (u16::try_from(width), u16::try_from(height)) else {
        return Err(broken(name));
    };
    let paths: Vec<BezPath> = patches.iter().map(curve).collect();
    let mut context = RenderContext::new(w, h);
    let mut resources = Resources::new();
    let mut pixmap = Pixmap::new(w, h);
    // Filling a path already finds its coverage; `render` lays it down.
    let [frame, kept] = plan.repeat(|_| {
        let mut laps = Laps::start();
        context.reset();
        context.set_paint(css::WHITE);
        for path in &paths {
            context.fill_path(path);
        }
        context.flush();
        let filled = laps.lap();
        context.render(&mut pixmap, &mut resources);
        let kept = laps.lap();
        Ok([filled + kept, kept])
    })?;
    report.time(at, "whole frame, paths kept", &frame);
    report.time(at, "whole frame, scene kept", &kept);
    Ok(Drawn {
        name,
        light: pixmap.data().iter().map(|p| share(p.a)).collect(),
    })
}

/// A patch as a path: both libraries that fill one take it from the same third.
pub fn curve(patch: &Patch) -> BezPath {
    let mut path = BezPath::new();
    for ring in patch {
        for (k, p) in ring.iter().enumerate() {
            if k == 0 {
                path.move_to((p.x, p.y));
            } else {
                path.line_to((p.x, p.y));
            }
        }
        path.close_path();
    }
    path
}

fn share(alpha: u8) -> f64 {
    f64::from(alpha) / 255.0
}
