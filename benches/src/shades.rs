//! How long the shade under a piece takes, which is asked while the piece moves, and how true
//! its stated errors are.

use crate::table::Table;
use crate::timing::median;
use ghostchalk::cloth::shade::{CELL, Doubt, Fading, Ground, Half, ShadeMap, Shading, partners};
use ghostchalk::colour::{Lab, ciede2000};
use ghostchalk::raster::Raster;
use ghostchalk::shape::Region;
use ghostchalk::space::{Bounds, Cloth, Piece, Point, Rigid, Vector};
use std::hint::black_box;

/// `times` leaves the errors out.
pub fn run(words: &[String]) {
    times();
    if !words.iter().any(|w| w == "times") {
        errors();
    }
}

fn times() {
    let light = lit(
        [600.0, 400.0],
        0.5,
        0.0,
        |p| 60.0 + 0.03 * p.x + 0.02 * p.y,
        1,
    );
    println!("1200 by 800 mm of cloth, light every 0.5 mm, cells of {CELL} mm; median, ms\n");
    let mut table = Table::new(["what"], ["ms"]);
    let measure = || {
        ShadeMap::measure(&light, [1.0; 3], CELL, Doubt::default(), |_, _| {
            Ground::Cloth
        })
        .expect("sound light")
    };
    let map = measure();
    let mut row = |what: &str, runs: usize, run: &mut dyn FnMut()| {
        table.row([what.to_owned(), format!("{:.3}", median(runs, run))]);
    };
    row("light averaged into cells", 7, &mut || {
        black_box(measure());
    });
    row("made ready: lightness, low pass, noise", 7, &mut || {
        black_box(Shading::new(map.clone(), Some(24.0)));
    });
    let kept = map.write().expect("it can be kept");
    row("kept as two files", 7, &mut || {
        black_box(map.write().expect("it can be kept"));
    });
    row("read from them", 7, &mut || {
        black_box(ShadeMap::<Cloth>::read(&kept.picture, &kept.about).expect("just written"));
    });
    let shading = Shading::new(map, None);
    for (name, [x, y]) in [
        ("250 by 110", [125.0, 55.0]),
        ("600 by 400", [300.0, 200.0]),
    ] {
        let piece = oval(x, y);
        let mut turn = 0.0;
        row(
            &format!("under a piece of {name} mm, moving"),
            101,
            &mut || {
                turn += 0.01;
                let pose = Rigid::new(false, turn, Vector::new(40.0 * turn, 10.0));
                black_box(
                    shading
                        .under(&piece.moved(&pose), &pose)
                        .expect("cloth is there"),
                );
            },
        );
        row(
            &format!("partners of {name} mm, one moving"),
            101,
            &mut || {
                turn += 0.01;
                let half = |mirrored: bool, turn: f64| Half {
                    shading: &shading,
                    pose: Rigid::new(mirrored, turn, Vector::new(20.0, 10.0)),
                };
                let found = partners(&half(false, 0.3), &half(true, turn), &piece);
                black_box(found.expect("cloth is there"));
            },
        );
    }
    table.print();
    println!(
        "\nthe two files: {} kB and {} bytes",
        kept.picture.len() / 1000,
        kept.about.len()
    );
}

/// Even cloth with noise, many times: what is stated against what is.
fn errors() {
    println!("\nEven cloth, every sample of 1 mm off by so much: over 200 seeds\n");
    let numbers = [
        "noise",
        "chi² of a slope (2)",
        "said to fade",
        "colour² / stated² (1)",
    ];
    let mut table = Table::new([], numbers);
    let plain: Rigid<Piece, Cloth> = Rigid::new(false, 0.0, Vector::zero());
    let net = oval(55.0, 125.0).moved(&plain);
    for noise in [0.02, 0.1, 0.3, 0.6] {
        let (mut chi2, mut fades, mut squares, mut stated) = (0.0, 0, 0.0, 0.0);
        let seeds = 200;
        for seed in 0..seeds {
            let light = lit([80.0, 150.0], 1.0, noise, |_| 60.0, seed);
            let map = ShadeMap::measure(&light, [1.0; 3], CELL, Doubt::NONE, |_, _| Ground::Cloth);
            let shading = Shading::new(map.expect("sound light"), None);
            let under = shading.under(&net, &plain).expect("cloth is there");
            if let Some(slope) = under.slope {
                chi2 += (slope.per_100 / slope.error).powi(2);
            }
            fades += u32::from(under.fading == Fading::Fades);
            for y in [-100.0, -50.0, 0.0, 50.0, 100.0] {
                let p = Point::new(0.0, y);
                let (Some(found), Some(noise)) = (shading.at(p), shading.noise(p)) else {
                    continue;
                };
                squares += ciede2000(found, Lab::new(60.0, 0.0, 0.0)).powi(2);
                stated += noise * noise;
            }
        }
        table.row([
            noise.to_string(),
            format!("{:.2}", chi2 / f64::from(seeds)),
            fades.to_string(),
            format!("{:.2}", squares / stated),
        ]);
    }
    table.print();
}

/// Grey cloth of a lightness by place, red, green and blue each with even noise of their own.
pub fn lit(
    half: [f64; 2],
    side: f64,
    noise: f64,
    l: impl Fn(Point<Cloth>) -> f64,
    seed: u32,
) -> Raster<[f32; 3], Cloth> {
    let corner = Vector::new(half[0], half[1]);
    let mut x = u64::from(seed) ^ 0x9e37_79b9_7f4a_7c15;
    Raster::over(
        Bounds::new((-corner).to_point(), corner.to_point()),
        side,
        |_, _, p| {
            let y = Lab::new(l(p), 0.0, 0.0).to_xyz().y;
            std::array::from_fn(|_| {
                // xorshift64* (Vigna 2016).
                x ^= x >> 12;
                x ^= x << 25;
                x ^= x >> 27;
                let even = (x.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 11) as f64 / 2f64.powi(52);
                (y * (1.0 + (even - 1.0) * 3f64.sqrt() * noise)) as f32
            })
        },
    )
}

pub fn oval(x: f64, y: f64) -> Region<Piece> {
    // As many corners as a flattened pattern piece has.
    let ring = (0..400).map(|k| {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / 400.0).sin_cos();
        Point::new(x * cos, y * sin)
    });
    Region::ring(ring.collect())
}
