use super::*;
use crate::fault::Kind;
use crate::measure::Unit;

/// A table, a projector and a person.
pub(super) fn wanted() -> Wanted {
    Wanted {
        table: [1200.0, 800.0],
        picture: [1920, 1080],
        throw: 1.2,
        height: None,
        offset: 0.0,
        side: None,
        person: 1700.0,
        table_height: 900.0,
        thick: 5.0,
        ceiling: None,
    }
}

pub(super) fn hung(change: impl Fn(&mut Wanted)) -> Hang {
    let mut w = wanted();
    change(&mut w);
    hang(&w).unwrap()
}

fn at_height(mm: f64) -> Hang {
    hung(|w| w.height = Some(mm))
}

pub(super) fn near(a: f64, b: f64, by: f64) {
    assert!((a - b).abs() <= by, "{a} {b}");
}

#[test]
fn the_throw_ratio_is_distance_over_width() {
    // 1440 / 1.2 = 1200 wide, 9/16 of that high; 1200 / 1920 = 0.625 a pixel.
    let h = at_height(1440.0);
    near(h.size[0], 1200.0, 1e-9);
    near(h.size[1], 675.0, 1e-9);
    near(h.pixel()[0], 0.625, 1e-12);
    near(h.pixel()[1], 0.625, 1e-12);
    for (mm, by_hand) in h.beyond().into_iter().zip([0.0, 0.0, -62.5, -62.5]) {
        near(mm, by_hand, 1e-9);
    }
    assert!(!h.proposed && told(&h, Unit::Mm)[2].contains("near 63 mm, far 63 mm"));
}

#[test]
fn a_height_is_proposed_that_covers_the_table_and_five_in_a_hundred() {
    // 800 deep takes 800 · 16/9 of width: 1.2 · 1.05 · 1422.2 = 1792.
    let h = hung(|_| ());
    near(h.lens.height, 1792.0, 1e-9);
    near(h.size[1], 840.0, 1e-9);
    assert!(h.proposed && h.beyond().iter().all(|mm| *mm > 19.9));
    assert_eq!(h.lens.foot, Point::new(600.0, 400.0));
    // A table that is deeper than long: the picture's width runs away from the person.
    let h = hung(|w| w.table = [800.0, 1200.0]);
    assert_eq!(h.side, Side::Right);
    near(h.lens.height, 1792.0, 1e-9);
    near(h.lit.height(), h.size[0], 1e-9);
    near(h.pixel()[0], h.pixel()[1], 1e-12);
}

#[test]
fn an_offset_moves_the_foot_and_not_the_picture() {
    let straight = hung(|_| ());
    for (side, x, y) in [(Side::Far, 600.0, 820.0), (Side::Near, 600.0, -20.0)] {
        let h = hung(|w| (w.offset, w.side) = (0.5, Some(side)));
        // Half of 840 beside the middle.
        near(h.lens.foot.x, x, 1e-9);
        near(h.lens.foot.y, y, 1e-9);
        assert_eq!(h.lit, straight.lit);
    }
    let h = hung(|w| (w.offset, w.side) = (0.5, Some(Side::Left)));
    near(h.lens.foot.x, 600.0 - 0.5 * h.size[1], 1e-9);
    near(h.lens.foot.y, 400.0, 1e-9);
    let said = told(&hung(|w| w.offset = 0.5), Unit::Mm).join(" ");
    assert!(
        said.contains("820 mm from the near edge (beyond the far edge)"),
        "{said}"
    );
}

#[test]
fn straight_below_the_lens_the_shadow_is_a_circle() {
    let head = Head {
        at: Point::new(600.0, 400.0),
        height: 700.0,
        radius: 100.0,
    };
    let lens = LensPlace {
        foot: head.at,
        height: 1900.0,
    };
    // H · r / √(d² − r²), with the head 1200 below.
    let radius = 1900.0 * 100.0 / (1200.0f64.powi(2) - 100.0f64.powi(2)).sqrt();
    let oval = head.oval(&lens).unwrap();
    near(oval.half[0], radius, 1e-9);
    near(oval.half[1], radius, 1e-9);
    for p in head.outline(&lens, 90) {
        near((p - head.at).length(), radius, 1e-9);
        assert!(head.hides(&lens, head.at + (p - head.at) * 0.999));
        assert!(!head.hides(&lens, head.at + (p - head.at) * 1.001));
    }
}

#[test]
fn an_oblique_shadow_is_the_ellipse_by_hand() {
    let head = Head {
        at: Point::new(400.0, 0.0),
        height: 700.0,
        radius: 140.0,
    };
    let lens = LensPlace {
        foot: Point::new(0.0, 0.0),
        height: 1000.0,
    };
    // 300 down and 400 out is 500: tan θ = 4/3, sin α = 0.28, tan α = 7/24, so that
    // tan(θ − α) = 3/4 and tan(θ + α) = 117/44; the eccentricity is 0.8 / 0.96 = 5/6.
    let (from, to) = (750.0, 117_000.0 / 44.0);
    let oval = head.oval(&lens).unwrap();
    near(oval.middle.x, (from + to) / 2.0, 1e-9);
    near(oval.half[0], (to - from) / 2.0, 1e-9);
    near(oval.half[1], oval.half[0] * 11f64.sqrt() / 6.0, 1e-9);
    let reach = head.reach(&lens).unwrap();
    near(reach.min.x, from, 1e-9);
    near(reach.max.x, to, 1e-9);
    near(reach.max.y, oval.half[1], 1e-6);
}

#[test]
fn cone_ellipse_box_and_rays_tell_the_same_shadow() {
    let head = hung(|_| ()).head;
    for (x, y, height) in [
        (600.0, 400.0, 1792.0),
        (100.0, 1300.0, 1200.0),
        (1500.0, -300.0, 820.0),
        (600.0, 250.0, 3000.0),
    ] {
        let lens = LensPlace {
            foot: Point::new(x, y),
            height,
        };
        let (oval, reach) = (head.oval(&lens).unwrap(), head.reach(&lens).unwrap());
        let outline = head.outline(&lens, 720);
        for p in &outline {
            let out = *p - oval.middle;
            let (u, v) = (out.dot(oval.along), oval.along.cross(out));
            near((u / oval.half[0]).hypot(v / oval.half[1]), 1.0, 1e-9);
            assert!(head.hides(&lens, oval.middle + out * 0.999));
            assert!(!head.hides(&lens, oval.middle + out * 1.001));
            assert!(reach.inflate(1e-6, 1e-6).contains_inclusive(*p));
        }
        let most = outline.iter().map(|p| p.y).fold(f64::MIN, f64::max);
        near(most, reach.max.y, 1e-3 * oval.half[0]);
    }
    // A lens at the head's height: no shadow that ends, and that is said.
    let low = at_height(790.0);
    assert!(low.head.oval(&low.lens).is_none() && low.head.outline(&low.lens, 9).is_empty());
    assert!(warnings(&low, Unit::Mm)[0].contains("no higher than the head's top"));
}

#[test]
fn the_shift_that_frees_the_hands_is_the_tangents() {
    let h = hung(|_| ());
    let [first, last] = h.hidden().unwrap();
    assert_eq!(first, 100.0);
    near(last, h.head.reach(&h.lens).unwrap().max.y, 1.0);
    // From 100 mm in, the line that touches the head (150 further in, 700 up) on its far side
    // leans by both angles, and reaches the lens' height there.
    let lean = 150f64.atan2(700.0) + (100.0 / 150f64.hypot(700.0)).asin();
    let freed = h.freed().unwrap();
    near(freed.foot.y, 100.0 + 1792.0 * lean.tan(), 0.02);
    near(freed.shift, freed.foot.y - 400.0, 1e-9);
    near(freed.offset.unwrap(), freed.shift / 840.0, 1e-9);
    near(freed.tilt.tan(), freed.shift / 1792.0, 1e-9);
    // From there it is free, by an offset that brings the picture back.
    let moved = hung(|w| w.offset = freed.offset.unwrap() + 1e-4);
    assert_eq!(moved.hidden(), None);
    assert_eq!(moved.freed().unwrap().shift, 0.0);
    let less = hung(|w| w.offset = freed.offset.unwrap() - 1e-3);
    assert!(less.hidden().is_some());
    let said = told(&h, Unit::Mm).join(" ");
    assert!(
        said.contains("from 100 mm to 318 mm") && said.contains("357 mm further"),
        "{said}"
    );
    assert!(
        told(&moved, Unit::Mm)
            .join(" ")
            .contains("is clear of the head's shadow")
    );
}

#[test]
fn height_errors_are_similar_triangles() {
    // The trade's own example: 1500 up, 600 out, 5 thick is 2 mm.
    let h = at_height(1500.0);
    near(h.lands_short(600.0, 5.0), 2.0, 1e-12);
    // Believed 30 nearer and 30 lower: (600 + 630 · 5/1465)(1 − 5/1500) − 600.
    near(h.left(600.0, 5.0), 0.14300, 1e-4);
    near(h.left(600.0, 0.0), 0.0, 1e-12);
    // The corner is 600 out and 400 along.
    near(h.corner().1, 600f64.hypot(400.0), 1e-9);
    let errors = |mm: f64| {
        let h = at_height(mm);
        [h.lands_short(600.0, 5.0), h.left(600.0, 5.0)]
    };
    for k in 3..100 {
        let (low, high) = (
            errors(100.0 * f64::from(k)),
            errors(100.0 * f64::from(k + 1)),
        );
        assert!(low[0] > high[0] && low[1] > high[1], "{k}");
    }
}

#[test]
fn one_degree_turns_the_rays_by_one_degree() {
    for offset in [0.0, 0.5] {
        let h = hung(|w| w.offset = offset);
        let up = h.lens.height;
        let middle = offset * h.size[1];
        // A ray to (x, s) on the table, turned about the picture's width through the lens.
        let turned = |x: f64, s: f64| {
            let angle = (s / up).atan() + 1f64.to_radians();
            let long = up.hypot(s);
            (x * up / (long * angle.cos()), up * angle.tan())
        };
        let edge = |s: f64| 2.0 * turned(h.size[0] / 2.0, s).0;
        let half = h.size[1] / 2.0;
        let [moved, differs] = h.one_degree().unwrap();
        near(moved, turned(0.0, middle).1 - middle, 1e-9);
        near(differs, edge(middle + half) - edge(middle - half), 1e-9);
    }
}

#[test]
fn what_is_too_high_or_dark_is_warned_of() {
    let h = hung(|w| w.ceiling = Some(2400.0));
    // 1500 from table to ceiling: 1.2 · 1500 / 1792 = 1.004.
    let said = warnings(&h, Unit::Mm);
    assert!(
        said.len() == 1 && said[0].contains("below 1.00"),
        "{said:?}"
    );
    assert!(warnings(&hung(|w| w.ceiling = Some(2700.0)), Unit::Mm).is_empty());
    let dark = warnings(&at_height(1440.0), Unit::Inch);
    assert!(
        dark.len() == 1 && dark[0].contains("near 2 7/16 in"),
        "{dark:?}"
    );
}

#[test]
fn numbers_that_nothing_has_are_refused_with_a_remedy() {
    let refused = |flag: &str, change: &dyn Fn(&mut Wanted)| {
        let mut w = wanted();
        change(&mut w);
        let fault = hang(&w).unwrap_err();
        assert_eq!(fault.kind, Kind::Input);
        assert!(
            fault.place == [flag] && !fault.remedy.is_empty(),
            "{flag}: {fault}"
        );
    };
    for mm in [0.0, -1200.0, 150.0, 1e5, f64::NAN] {
        refused("--table", &|w| w.table[0] = mm);
        refused("--table", &|w| w.table[1] = mm);
    }
    for px in [0, 63, 16_385] {
        refused("--picture", &|w| w.picture[1] = px);
    }
    for throw in [0.0, -1.0, 0.09, 10.1, f64::INFINITY, f64::NAN] {
        refused("--throw", &|w| w.throw = throw);
    }
    for mm in [1.9, 299.0, 10_001.0, f64::NAN] {
        refused("--height", &|w| w.height = Some(mm));
    }
    refused("--offset", &|w| w.offset = -0.1);
    refused("--offset", &|w| w.offset = 2.1);
    refused("--person", &|w| w.person = 1.7);
    // A head that would be in the table.
    refused("--person", &|w| w.person = 1050.0);
    refused("--table-height", &|w| w.table_height = 1600.0);
    refused("--thick", &|w| w.thick = 201.0);
    refused("--ceiling", &|w| w.ceiling = Some(1000.0));
    // Sound each, and nothing together: 12.6 m up; a picture 30 m wide.
    refused("--throw", &|w| (w.throw, w.table) = (10.0, [1200.0, 500.0]));
    refused("--throw", &|w| (w.throw, w.height) = (0.1, Some(3000.0)));
}
