use super::*;

/// The shoelace formula.
fn area(ring: &[Point<Table>]) -> f64 {
    let n = ring.len();
    let cross = |k: usize| ring[k].to_vector().cross(ring[(k + 1) % n].to_vector());
    (0..n).map(cross).sum::<f64>() / 2.0
}

/// Its outline encloses what it says is cloth: counted on a grid.
#[test]
fn what_is_cloth_is_inside_its_outline_and_not_in_its_holes() {
    for seed in [1, 5, 11] {
        let c = cloth(seed);
        let mut count = 0;
        let step = 1.0;
        let size = c.table.size();
        for j in 0..size.height as usize {
            for i in 0..size.width as usize {
                let by = Vector::new(i as f64 + 0.5, j as f64 + 0.5) * step;
                count += usize::from(c.is_cloth(c.table.min + by));
            }
        }
        let holes: f64 = c.holes().iter().map(|h| area(h)).sum();
        let whole = area(&c.outline()) - holes;
        assert!(whole > 10_000.0);
        assert!((count as f64 / whole - 1.0).abs() < 0.01, "{count} {whole}");
    }
}

#[test]
fn a_seed_is_a_cloth() {
    let (a, b, other) = (cloth(3), cloth(3), cloth(8));
    assert_eq!(a.outline(), b.outline());
    assert_ne!(a.outline(), other.outline());
    assert_eq!(Shot::of(&a, 4.0, 1).codes, Shot::of(&b, 4.0, 1).codes);
}

/// A sheet of paper gives back what paper does, wherever the camera stands; seen from above it
/// is where it lies.
#[test]
fn what_the_camera_saw_is_laid_out_where_it_was() {
    let c = cloth(6);
    assert!(c.tilt_deg > 2.0, "a tilted one: {}", c.tilt_deg);
    let above = Shot::of(&c, 1.0, 2).above(c.table, 1.0);
    let at = |p: Point<Table>| {
        let by = (p - above.bounds.min) / above.cell;
        above.light[by.y as usize * above.width + by.x as usize]
    };
    for sheet in &c.sheets {
        for v in at(sheet.center()) {
            let v = f64::from(v);
            assert!(v > PAPER * 0.93 && v < PAPER * 1.03, "{v}");
        }
        // 4 mm beside its edge there is none.
        let beside = Point::new(sheet.center().x, sheet.min.y - 3.0);
        let under = Point::new(sheet.center().x, sheet.min.y + 3.0);
        let off = |p: Point<Table>| {
            let v = c.light(p);
            let seen = at(p);
            (0..3)
                .map(|k| (f64::from(seen[k]) - v[k]).abs())
                .fold(0.0, f64::max)
        };
        assert!(off(beside) < 0.05 && off(under) < 0.05);
    }
}

/// Stripes are the same one repeat on, square to the warp.
#[test]
fn stripes_repeat_across_the_warp() {
    let mut c = cloth(10);
    let repeat = c.repeat().expect("stripes");
    c.dye.fade.1 = 0.0;
    c.dye.weave.depth = 0.0;
    let turn = c.grain_deg.to_radians();
    let across = Vector::new(turn.sin(), -turn.cos()) * repeat;
    let (mut same, mut all) = (0, 0);
    for k in 0..400 {
        let by = Vector::new((k % 20) as f64, (k / 20) as f64) * 4.1 - Vector::new(40.0, 40.0);
        let p = c.table.center() + by;
        let (a, b) = (c.dye.at(p), c.dye.at(p + across));
        all += 1;
        same += usize::from((0..3).all(|k| (a[k] / b[k] - 1.0).abs() < 0.1));
    }
    assert!(same * 100 > all * 95, "{same} of {all}");
}
