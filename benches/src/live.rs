//! From the hand to the picture at the live table: 40 pieces, one dragged over
//! its neighbours. Timed from the mouse's event to the frame that is ready to be
//! shown: the bench's answer, the checks, the light, the picture, the painting
//! of the whole window.

use crate::drivers::texture;
use crate::report::{Report, Subject};
use crate::scenes;
use crate::timing::{Laps, Plan};
use ghostchalk::cloth::Cloth;
use ghostchalk::fault::Outcome;
use ghostchalk::glow::{Glow, Notice};
use ghostchalk::lay::{Face, Placement};
use ghostchalk::order::{Article, Part};
use ghostchalk::pattern::PatternPiece;
use ghostchalk::render::{Canvas, Device, Painter};
use ghostchalk::space::{Point, Vector};
use ghostchalk::work::{Act, Bench, Goods, History, State, Touched, Ways};

/// Pieces in a row, rows, and from one to the next, mm.
const ROWS: [usize; 2] = [10, 4];
const PITCH: [f64; 2] = [115.0, 190.0];

/// Steps of the drag, there and back, and their length, mm.
const STEPS: usize = 40;
const STEP: f64 = 2.0;

/// A bench with forty pieces on one panel.
fn bench(pieces: Vec<PatternPiece>) -> Bench {
    let names: Vec<String> = pieces.iter().map(|p| p.name.clone()).collect();
    let part = |name: &String| Part {
        piece: name.clone(),
        cloth: "canvas".to_owned(),
        count: 10,
        pair: false,
        inside: None,
    };
    let panel = scenes::panel("sling", "canvas", [1200.0, 800.0]);
    let placed = (0..ROWS[0] * ROWS[1]).map(|k| Placement {
        id: None,
        piece: names[k % names.len()].clone(),
        article: "1".to_owned(),
        panel: "sling".to_owned(),
        x_mm: 70.0 + PITCH[0] * (k % ROWS[0]) as f64,
        y_mm: 110.0 + PITCH[1] * (k / ROWS[0]) as f64,
        turn_deg: 0.0,
        face: Face::Up,
        locked: false,
    });
    let state = State::new(vec![panel], placed, Ways::default());
    let goods = Goods {
        cloths: vec![Cloth {
            name: "canvas".to_owned(),
            thickness_mm: 0.8,
            no_face: false,
        }],
        articles: vec![Article {
            name: "1".to_owned(),
            parts: names.iter().map(part).collect(),
            ..Article::default()
        }],
        pieces,
    };
    Bench::new(goods, state, History::default())
}

/// Times a drag.
pub fn drag(
    device: &Device,
    size: [u32; 2],
    plan: Plan,
    at: Subject,
    report: &mut Report,
) -> Outcome<()> {
    let mut bench = bench(scenes::pattern());
    let mut glow = Glow::new(&scenes::profile(size)?)?;
    let mut canvas = Canvas::new(device, size[0], size[1])?;
    let format = wgpu::TextureFormat::Bgra8Unorm;
    let mut painter = Painter::new(device, format);
    let window = texture(device, size, format, wgpu::TextureUsages::RENDER_ATTACHMENT);
    let notice = Notice::default();
    let rect = glow.show(&bench, &Touched::All, &notice)?;
    canvas.redraw(rect, glow.drawn());
    let home = Point::new(70.0 + PITCH[0] * 4.0, 110.0 + PITCH[1]);
    let mut now = 0.0;
    for act in [Act::Point(home), Act::Press] {
        let touched = bench.act(act, now).touched;
        let rect = glow.show(&bench, &touched, &notice)?;
        canvas.redraw(rect, glow.drawn());
    }
    device.wait()?;
    let parts = plan.repeat(|k| {
        now += 0.016;
        let phase = k % (2 * STEPS);
        let off = STEP * phase.min(2 * STEPS - phase) as f64;
        let mut laps = Laps::start();
        let touched = bench
            .act(Act::Point(home + Vector::new(off, 0.4 * off)), now)
            .touched;
        let answer = laps.lap();
        let rect = glow.show(&bench, &touched, &notice)?;
        let light = laps.lap();
        canvas.redraw(rect, glow.drawn());
        painter.paint(&canvas, &window);
        device.wait()?;
        let picture = laps.lap();
        Ok([answer, light, picture, answer + light + picture])
    })?;
    let names = [
        "bench",
        "light and checks",
        "picture and window",
        "hand to frame",
    ];
    for (name, samples) in names.iter().zip(&parts) {
        report.time(at, &format!("40 pieces, one dragged: {name}"), samples);
    }
    Ok(())
}
