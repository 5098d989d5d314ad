//! Scenes made here: cloth times light, as a camera with noise and eight bits sees it.

use super::*;
use crate::colour::{Lab, Tint, ciede2000};
use crate::space::Bounds;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A cloth's reflectance at a place, mm.
type Cloth = fn(f64, f64) -> f64;

const CLOTHS: [(&str, Cloth); 4] = [
    ("light", |_, _| 0.72),
    ("dark", |_, _| 0.09),
    ("striped", |x, _| {
        if x.rem_euclid(36.0) < 18.0 {
            0.62
        } else {
            0.21
        }
    }),
    ("printed", |x, y| {
        let dots = (x / 3.1).sin() * (y / 2.7).cos() + 0.6 * (x / 1.9 + y / 5.3).sin();
        if dots > 0.35 { 0.12 } else { 0.5 }
    }),
];

struct Scene {
    cloth: Cloth,
    /// lx in the middle.
    room: f64,
    projector: f64,
}

impl Scene {
    /// The room's light falls from the window; the projector's towards the edges.
    fn room(&self, p: Point<Table>) -> f64 {
        self.room * (1.15 - p.x / 1000.0)
    }

    fn projector(&self, p: Point<Table>) -> f64 {
        let off = (p - Point::new(150.0, 100.0)).square_length();
        self.projector / (1.0 + off / 1e6)
    }

    fn contrast(&self, p: Point<Table>, guide: f64, work: f64) -> f64 {
        let (r, l) = (self.room(p), self.projector(p));
        (guide * l + r) / (work * l + r)
    }

    /// Both photos at the exposure that brings the brightest place of the white one to 0.9.
    fn photos(&self, seed: u64) -> [Raster<[f32; 3], Table>; 2] {
        let bounds = Bounds::new(Point::zero(), Point::new(300.0, 200.0));
        let light = |white: f64, p: Point<Table>| {
            (self.cloth)(p.x, p.y) * (self.room(p) + white * self.projector(p))
        };
        let bright = Raster::over(bounds, 1.0, |_, _, p| light(1.0, p));
        let most = bright.values().iter().copied().fold(0.0, f64::max);
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        [0.0, 1.0].map(|white| {
            Raster::over(bounds, 1.0, |_, _, p| {
                let v = 0.9 * light(white, p) / most;
                std::array::from_fn(|_| {
                    // Shot and read noise, then eight bits of sRGB (IEC 61966-2-1).
                    let noise: f64 = (0..12).map(|_| rng.random::<f64>()).sum::<f64>() - 6.0;
                    let v = (v + noise * (v * 2e-4 + 1e-6).sqrt()).clamp(0.0, 1.0);
                    let code = match v <= 0.003_130_8 {
                        true => 12.92 * v,
                        false => 1.055 * v.powf(1.0 / 2.4) - 0.055,
                    };
                    let code = (255.0 * code).round() / 255.0;
                    let back = match code <= 0.040_45 {
                        true => code / 12.92,
                        false => ((code + 0.055) / 1.055).powf(2.4),
                    };
                    back as f32
                })
            })
        })
    }
}

/// Lit tables: lumens over 1.2 by 0.8 m, lux of the room.
fn scenes() -> impl Iterator<Item = (&'static str, Scene)> {
    CLOTHS.into_iter().flat_map(|(name, cloth)| {
        [200.0, 500.0].into_iter().flat_map(move |lumens| {
            [50.0, 200.0, 800.0].map(move |room| {
                let projector = lumens / 0.96;
                (
                    name,
                    Scene {
                        cloth,
                        room,
                        projector,
                    },
                )
            })
        })
    })
}

fn places() -> Vec<Point<Table>> {
    let along = (0..40).map(|k| f64::from(k) * std::f64::consts::TAU / 40.0);
    along
        .map(|t| Point::new(150.0 + 95.0 * t.cos(), 100.0 + 60.0 * t.sin()))
        .collect()
}

#[test]
fn contrast_is_the_scenes_within_a_tenth() {
    let mut worst: f64 = 0.0;
    for (k, (name, scene)) in scenes().enumerate() {
        let [dark, white] = scene.photos(k as u64);
        let seeing = Seeing::of(dark, white).unwrap();
        for p in places() {
            for (guide, work) in [(1.0, 0.0), (1.0, 0.3), (0.6, 0.1)] {
                let truth = scene.contrast(p, guide, work);
                let told = seeing.contrast(p, guide, work).unwrap();
                let off = (told / truth - 1.0).abs();
                worst = worst.max(off);
                assert!(
                    off < 0.1,
                    "{name}, {} lx, {:.0} lx of projector: {told} for {truth} at {p:?}",
                    scene.room,
                    scene.projector
                );
            }
        }
    }
    println!("worst {:.1} %", 100.0 * worst);
}

/// What the cloth has of contrast at a size, from its reflectance alone: the same
/// definition, worked out place by place.
fn spread(cloth: Cloth, at: Point<Table>, size: f64) -> f64 {
    let mean = |cx: f64, cy: f64| {
        let n = size.round() as i32;
        let cells = (0..n).flat_map(|i| (0..n).map(move |j| (i, j)));
        let sum: f64 = cells
            .map(|(i, j)| {
                let off = |k: i32| f64::from(k) - 0.5 * f64::from(n - 1);
                cloth((cx + off(i)).floor() + 0.5, (cy + off(j)).floor() + 0.5)
            })
            .sum();
        (sum / f64::from(n * n)).ln()
    };
    let steps = (-8..=8).flat_map(|i| (-8..=8).map(move |j| (i, j)));
    let all: Vec<f64> = steps
        .map(|(i, j)| {
            (
                at.x + f64::from(i) * size / 2.0,
                at.y + f64::from(j) * size / 2.0,
            )
        })
        .filter(|&(x, y)| (0.0..300.0).contains(&x) && (0.0..200.0).contains(&y))
        .map(|(x, y)| mean(x, y))
        .collect();
    let n = all.len() as f64;
    let middle = all.iter().sum::<f64>() / n;
    (all.iter().map(|v| (v - middle).powi(2)).sum::<f64>() / n).sqrt()
}

#[test]
fn what_helps_first_is_what_the_scene_says() {
    let mut seen = std::collections::BTreeMap::new();
    let mut spreads = std::collections::BTreeMap::new();
    for (k, (name, scene)) in scenes().enumerate() {
        for size in SIZES {
            let of = || {
                places()
                    .iter()
                    .map(|&p| spread(scene.cloth, p, size))
                    .collect()
            };
            spreads.entry((name, size as u32)).or_insert_with(of);
        }
        let [dark, white] = scene.photos(100 + k as u64);
        let seeing = Seeing::of(dark, white).unwrap();
        for work_light in [0.0, 0.3] {
            let guide = Guide {
                brightness: 1.0,
                work_light,
                tint: Tint::White,
                band: 3.0,
                widest: 12.0,
                waste: 30.0,
            };
            let advice = advise(&[(&seeing, &places())], &guide);
            assert_eq!(advice.places(), places().len());
            // With every threshold a little to either side: near ones may go both ways.
            let [strict, lax] = [1.12, 0.89].map(|slack| {
                let lost = |room: f64, work: f64, size: f64| {
                    let own: &Vec<f64> = &spreads[&(name, size as u32)];
                    let at = places().into_iter().zip(own).filter(|&(p, own)| {
                        let (r, l) = (room * scene.room(p), scene.projector(p));
                        let contrast: f64 = (l + r) / (work * l + r);
                        let wanted = PLAIN.max((TIMES * own).exp());
                        contrast.ln() < slack * wanted.ln()
                    });
                    at.count()
                };
                let mut list = vec![lost(1.0, work_light, 3.0) == 0];
                list.extend(DIM.map(|d| lost(d, work_light, 3.0) == 0));
                list.push(work_light > 0.0 && lost(1.0, 0.0, 3.0) == 0);
                list.push(lost(1.0, work_light, 30.0) == 0);
                list.extend(WIDER.map(|s| lost(1.0, work_light, s) == 0));
                list.iter().position(|&ok| ok)
            });
            let told = match (advice.tried.is_empty(), advice.enough()) {
                (true, _) => Some(0),
                (_, Some(Remedy::DimRoom(to))) => DIM.iter().position(|&d| d == to).map(|k| k + 1),
                (_, Some(Remedy::NoWorkLight)) => Some(4),
                (_, Some(Remedy::LightWaste)) => Some(5),
                (_, Some(Remedy::WiderBand(mm))) => Some(match mm {
                    4.5 => 6,
                    6.0 => 7,
                    9.0 => 8,
                    _ => 9,
                }),
                _ => None,
            };
            let far = |v: Option<usize>| v.unwrap_or(99);
            assert!(
                (far(lax)..=far(strict)).contains(&far(told)),
                "{name}, {} lx, {:.0} lx of projector, work light {work_light}: told {told:?}, \
                 the scene says {lax:?} to {strict:?}; {:?}",
                scene.room,
                scene.projector,
                advice.tried
            );
            *seen.entry(told).or_insert(0) += 1;
        }
    }
    // Not one answer for all.
    assert!(seen.len() >= 4, "{seen:?}");
}

const DIM: [f64; 3] = [0.5, 0.25, 0.1];
const WIDER: [f64; 4] = [4.5, 6.0, 9.0, 12.0];
const SIZES: [f64; 6] = [3.0, 30.0, 4.5, 6.0, 9.0, 12.0];

#[test]
fn photos_that_do_not_measure_are_told() {
    let (_, scene) = scenes().next().unwrap();
    let [dark, white] = scene.photos(1);
    let said = |d: &Raster<[f32; 3], Table>, w: &Raster<[f32; 3], Table>| {
        Seeing::of(d.clone(), w.clone()).unwrap_err().to_string()
    };
    assert!(said(&white, &dark).contains("no brighter"));
    let blown = white.map(|_| [1.0f32; 3]);
    assert!(said(&dark, &blown).contains("too bright"));
    let black = dark.map(|_| [0.0f32; 3]);
    assert!(said(&black, &white).contains("too dark"));
    let bounds = Bounds::new(Point::zero(), Point::new(30.0, 20.0));
    let small = Raster::over(bounds, 1.0, |_, _, _| [0.5f32; 3]);
    assert!(said(&small, &white).contains("same part"));
}

/// On print, white light is lost in light and dark of the cloth's own; a colour is not.
#[test]
fn a_colour_is_judged_with_the_room_s_light_in_it() {
    let (_, cloth) = CLOTHS[3];
    for (room, projector) in [(150.0, 450.0), (700.0, 250.0)] {
        let scene = Scene {
            cloth,
            room,
            projector,
        };
        let [dark, white] = scene.photos(7);
        let seeing = Seeing::of(dark, white).unwrap();
        let own: Vec<f64> = places().iter().map(|&p| spread(cloth, p, 3.0)).collect();
        for tint in Tint::ALL.into_iter().skip(1) {
            let guide = Guide {
                brightness: 1.0,
                work_light: 0.0,
                tint,
                band: 3.0,
                widest: 3.0,
                waste: 3.0,
            };
            let advice = advise(&[(&seeing, &places())], &guide);
            // By hand: the cloth is grey, and so is the light that falls on it, so the eye's
            // white is room and projector together, and a place's own darkness is in both.
            for ((p, own), told) in places().into_iter().zip(&own).zip(&advice.seen[0]) {
                let (r, l) = (scene.room(p), scene.projector(p));
                let lab = |on: [bool; 3]| {
                    let channel = |on| (if on { r + l } else { r }) / (r + l);
                    Lab::from_xyz(Xyz::from_linear_srgb(on.map(channel)))
                };
                let more = r * (TIMES * own).exp() / (r + l);
                let more = Lab::from_xyz(Xyz::from_linear_srgb([more; 3]));
                let unlit = lab([false; 3]);
                // L* 50 in 1.5 times the light is 59.5: CIEDE2000 9.0 (Sharma, Wu & Dalal).
                let wanted = ciede2000(unlit, more).max(9.0);
                let share = ciede2000(unlit, lab(tint.channels())) / wanted;
                let told = told.unwrap();
                assert!(
                    (told.share / share).ln().abs() < 0.12,
                    "{tint:?}, {room} lx: {} for {share}",
                    told.share
                );
                // Its luminance is its channels' of the white's (IEC 61966-2-1).
                let weights = [0.2126, 0.7152, 0.0722].into_iter().zip(tint.channels());
                let part: f64 = weights.map(|(w, on)| if on { w } else { 0.0 }).sum();
                assert!((told.contrast / (1.0 + part * l / r) - 1.0).abs() < 0.1);
            }
        }
    }
}

#[test]
fn what_is_no_cloth_does_not_count() {
    let (_, scene) = scenes().next().unwrap();
    let [dark, white] = scene.photos(3);
    let whole = Seeing::of(dark.clone(), white.clone()).unwrap();
    // All but the middle is NaN: a quarter is left, and measures as before.
    let masked = |of: &Raster<[f32; 3], Table>| {
        Raster::over(of.bounds(), of.cell(), |c, r, p| {
            let inside = (p.x - 150.0).abs() < 75.0 && (p.y - 100.0).abs() < 50.0;
            match of.get(c, r) {
                Some(l) if inside => *l,
                _ => [f32::NAN; 3],
            }
        })
    };
    let part = Seeing::of(masked(&dark), masked(&white)).unwrap();
    let at = Point::new(150.0, 100.0);
    let both = [&part, &whole].map(|s| s.projector_to_room(at).unwrap());
    assert!((both[0] / both[1] - 1.0).abs() < 1e-9, "{both:?}");
    assert_eq!(part.projector_to_room(Point::new(20.0, 20.0)), None);
    // All of the cloth that is there is blown, whatever lies beside it.
    let blown = masked(&white.map(|_| [1.0f32; 3]));
    let said = Seeing::of(masked(&dark), blown).unwrap_err().to_string();
    assert!(said.contains("100 % of the cloth is too bright"), "{said}");
    let nothing = dark.map(|_| [f32::NAN; 3]);
    let said = Seeing::of(nothing.clone(), nothing)
        .unwrap_err()
        .to_string();
    assert!(said.contains("nothing of this cloth"), "{said}");
}
