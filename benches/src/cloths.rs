use ghostchalk::twin::cloths::{cloth, Shot};
fn main() {
    for seed in std::env::args().skip(1).map(|a| a.parse().unwrap()) {
        let c = cloth(seed);
        let t = std::time::Instant::now();
        let s = Shot::of(&c, 0.3, 2);
        let t1 = t.elapsed();
        let a = s.above(c.table, 0.5);
        println!("{seed} {} {}x{} {:?} {:?} tilt {}", c.kind, s.width, s.height, t1, t.elapsed(), c.tilt_deg);
        let mut px = vec![];
        for r in (0..a.height).rev() { for x in 0..a.width { px.extend(a.light[r*a.width+x].map(|v| (255.0*ghostchalk::colour::encode(if v.is_finite() {v.clamp(0.0,1.0) as f64} else {0.0})).round() as u8)); } }
        std::fs::write(format!("/tmp/h-find-mini/s{seed}.png"), ghostchalk::disk::png(&px, a.width as u32, a.height as u32, image::ExtendedColorType::Rgb8).unwrap()).unwrap();
    }
}
