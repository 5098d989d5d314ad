//! dev
use ghostchalk::cloth::find::{Seeds, find, Found, Grain, Kind};
use ghostchalk::colour::{Lab, Xyz};
use ghostchalk::photo::{Ground, Light, Patch};
use ghostchalk::raster::Raster;
use ghostchalk::shape::{Region, difference, intersection};
use ghostchalk::space::{Bounds, Point, Table};
use ghostchalk::twin::cloths::{Above, Cloth, Shot, cloth};

fn raster(a: &Above) -> Raster<[f32; 3], Table> {
    Raster::over(a.bounds, a.cell, |c, r, _| if c < a.width && r < a.height { a.light[r * a.width + c] } else { [f32::NAN; 3] })
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let seeds: Vec<u64> = args.iter().flat_map(|a| match a.split_once("..") { Some((a,b)) => (a.parse().unwrap()..b.parse().unwrap()).collect::<Vec<u64>>(), None => vec![a.parse().unwrap()]}).collect();
    for seed in seeds {
        let c = cloth(seed);
        let path = format!("/tmp/h-find-mini/cache/{seed}.bin");
        let (bounds, cell) = (c.table, 0.5);
        let a; let mut shot = None;
        if let Ok(b) = std::fs::read(&path) {
            let w = (bounds.width() / cell).round() as usize; let h = (bounds.height() / cell).round() as usize;
            a = Above { bounds: Bounds::new(bounds.min, bounds.min + ghostchalk::space::Vector::new(w as f64, h as f64) * cell), cell, width: w, height: h, light: b.chunks(12).map(|c| [0,4,8].map(|k| f32::from_le_bytes(c[k..k+4].try_into().unwrap()))).collect() };
        } else {
            let s = Shot::of(&c, 0.3, 2);
            a = s.above(bounds, cell); shot = Some(s.clone());
            std::fs::create_dir_all("/tmp/h-find-mini/cache").unwrap();
            std::fs::write(&path, a.light.iter().flatten().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>()).unwrap();
        }
        let mut r = raster(&a);
        let patches: Vec<Patch> = c.sheets.iter().map(|b| Patch { bounds: b.inflate(-2.0, -2.0), ground: Ground::White }).collect();
        let light = Light::fit(&r, &patches).unwrap();
        light.even(&mut r);
        let masked = { let mut m = r.clone(); let (w, n) = (m.width(), m.values().len()); for k in 0..n { let p = m.centre(k % w, k / w); if c.sheets.iter().any(|s| s.inflate(2.0, 2.0).contains(p)) { m.values_mut()[k] = [f32::NAN; 3]; } } m };
        let mut asked = "";
        let cpath = format!("/tmp/h-find-mini/cache/{seed}c.bin");
        let m = c.table.center(); let cb = Bounds::new(m - ghostchalk::space::Vector::new(80.0, 80.0), m + ghostchalk::space::Vector::new(80.0, 80.0)); let cc = 0.25;
        let close = if let Ok(b) = std::fs::read(&cpath) {
            Above { bounds: cb, cell: cc, width: 640, height: 640, light: b.chunks(12).map(|c| [0,4,8].map(|k| f32::from_le_bytes(c[k..k+4].try_into().unwrap()))).collect() }
        } else {
            let s = shot.take().unwrap_or_else(|| Shot::of(&c, 0.3, 2));
            let a = s.above(cb, cc);
            std::fs::write(&cpath, a.light.iter().flatten().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>()).unwrap();
            a
        };
        let close = raster(&close);
        let t = std::time::Instant::now();
        let mut f = find(&masked, Some(&close), &Seeds::default());
        if let Err(e) = &f { println!("   {e}"); asked = "asked";
            let o = c.outline(); let m = o.iter().fold(ghostchalk::space::Vector::zero(), |a, p| a + p.to_vector()).to_point() / o.len() as f64;
            let q = Point::new(c.table.min.x + 20.0, m.y);
            f = find(&masked, Some(&close), &Seeds { cloth: vec![m], table: vec![q] });
        }
        let el = t.elapsed().as_secs_f64();
        match f { Err(e) => { println!("{seed:5} {:15} {e}", c.kind); draw(&r, None, &c, seed) }
            Ok(f) => {
                let truth = Region::ring(c.outline());
                let own = Region::ring(f.outline.clone());
                let both = intersection(&truth, &own).area();
                let iou = both / (truth.area() + own.area() - both);
                let mut hits = 0; let mut n = 0;
                let th: Vec<Region<Table>> = c.holes().into_iter().map(Region::ring).collect();
                let fh: Vec<Region<Table>> = f.holes.iter().map(|h| Region::ring(h.outline.clone())).collect();
                let iou_of = |a: &Region<Table>, b: &Region<Table>| { let i = intersection(a, b).area(); i / (a.area() + b.area() - i) };
                let mut worst: f64 = 1.0;
                for h in &th { if 2.0 * (h.area() / 3.14159).sqrt() >= 10.0 { n += 1; let best = fh.iter().map(|f| iou_of(h, f)).fold(0.0, f64::max); if best > 0.7 { hits += 1; } worst = worst.min(best); } }
                let falses = fh.iter().filter(|f| !th.iter().any(|h| iou_of(h, f) > 0.3)).count();
                let mut good = own.clone();
                for h in &fh { good = difference(&good, h); }
                let (mut sum, mut m) = ([0.0; 3], 0.0);
                for k in 0..r.values().len() { let p = r.centre(k % r.width(), k / r.width()); if good.contains(p) { let v = r.values()[k]; for j in 0..3 { sum[j] += v[j] as f64; } m += 1.0; } }
                let l = |v: [f64; 3]| Lab::from_xyz(Xyz::from_linear_srgb(v)).l;
                let dl = l(sum.map(|v| v / m)) - l(c.mean());
                println!("{seed:5} {:15} iou {iou:.4} corners {} holes {hits}/{n} worst {worst:.2} false {falses} dL {dl:+.2} {el:.2}s {asked}", c.kind, f.outline.len());
                let g = match &f.grain { Grain::Told { deg, error, by } => format!("off {:+.2} se {error:.2} {by:?}", (deg - c.grain_deg + 90.0).rem_euclid(180.0) - 90.0), Grain::CantTell { why } => why.clone() };
                let rep = f.stripes.map(|s| (s.repeat.map(|r| (r.period, r.same_both_ways)), s.checked));
                let stains: Vec<Region<Table>> = c.stains().into_iter().map(Region::ring).collect();
                let mid = |r: &Vec<Point<Table>>| (r.iter().fold(ghostchalk::space::Vector::zero(), |a, p| a + p.to_vector()) / r.len() as f64).to_point();
                let (mut fs, mut gs, mut gh, mut gr) = (0, 0, 0, 0);
                for k in &f.candidates { let m = mid(&k.outline); match k.kind {
                    Kind::Stain => if stains.iter().any(|s| s.contains(m)) { gs += 1 } else { fs += 1; println!("        false stain at {m:?} sure {:.2}", k.sure) },
                    Kind::Hardware => if c.eyelets.iter().any(|e| (e.at - m).length() < 5.0) { gh += 1 } else { fs += 1; println!("        false hardware at {m:?}") },
                    Kind::Ridge => if c.ridge.is_some_and(|r| { let mm = r.from.lerp(r.to, 0.5); (mm - m).length() < 25.0 }) { gr += 1 } else { fs += 1; println!("        false ridge at {m:?}") },
                } }
                println!("      grain {g} | stripes {rep:?} true {:?} | stains {gs}/{} hardware {gh}/{} ridge {gr}/{} false {fs}", c.repeat(), stains.len(), c.eyelets.len(), c.ridge.is_some() as u8);
                draw(&r, Some(&f), &c, seed);
            } }
    }
}

fn draw(r: &Raster<[f32; 3], Table>, f: Option<&Found>, c: &Cloth, seed: u64) {
    let (w, h) = (r.width(), r.height());
    let mut px = vec![0u8; w * h * 3];
    for k in 0..w * h { let row = h - 1 - k / w; for j in 0..3 { let v = r.values()[k][j]; px[3 * (row * w + k % w) + j] = (255.0 * ghostchalk::colour::encode(if v.is_finite() { v.clamp(0.0, 1.0) as f64 } else { 0.0 })).round() as u8; } }
    let mut line = |ring: &[Point<Table>], col: [u8; 3]| for i in 0..ring.len() { let (a, b) = (ring[i], ring[(i + 1) % ring.len()]); let n = ((b - a).length() / 0.25) as usize + 1; for k in 0..=n { let p = a.lerp(b, k as f64 / n as f64); if let Some((x, y)) = r.cell_at(p) { let at = 3 * ((h - 1 - y) * w + x); px[at..at + 3].copy_from_slice(&col); } } };
    line(&c.outline(), [255, 255, 0]);
    if let Some(f) = f { line(&f.outline, [255, 0, 255]); for h in &f.holes { line(&h.outline, [255, 0, 255]); } for h in &f.candidates { line(&h.outline, [0, 255, 255]); } }
    std::fs::write(format!("/tmp/h-find-mini/out/{seed}.png"), ghostchalk::disk::png(&px, w as u32, h as u32, image::ExtendedColorType::Rgb8).unwrap()).unwrap();
}
