use super::*;
use crate::shape::intersection;
use crate::space::Point;

fn oblong(w: f64, h: f64) -> StripPart {
    let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
    StripPart {
        outline: Region::ring(corners.map(|[x, y]| Point::new(x, y)).to_vec()),
        turns_deg: vec![0.0, 90.0],
    }
}

/// What would fill 40 × 60 with no gap; the strip is a little wider, as touching is crossing.
fn filling() -> Vec<StripPart> {
    let sizes = [
        [25.0, 15.0],
        [35.0, 15.0],
        [10.0, 25.0],
        [20.0, 25.0],
        [30.0, 10.0],
        [30.0, 15.0],
    ];
    sizes.iter().map(|&[w, h]| oblong(w, h)).collect()
}

const WIDTH: f64 = 40.2;

const SHORT: Effort = Effort {
    seed: 1,
    passes: 400,
    workers: 2,
};

#[test]
fn oblongs_that_would_fill_a_strip_nearly_do_and_never_overlap() {
    let parts = filling();
    let mut first = None;
    let lay = strip(&parts, WIDTH, &SHORT, &mut |p| {
        first.get_or_insert(p.density);
        true
    });
    let lay = lay.unwrap();
    assert!((88.0..=100.0).contains(&lay.density), "{}", lay.density);
    assert!(lay.density >= first.unwrap());
    let laid: Vec<Region<Cloth>> = (parts.iter().zip(&lay.poses))
        .map(|(p, pose)| p.outline.moved(pose))
        .collect();
    assert_eq!(laid.len(), parts.len());
    for (k, a) in laid.iter().enumerate() {
        let b = a.bounds().unwrap();
        let within = b.min.x > -1e-4 && b.max.x < lay.length + 1e-4;
        assert!(within && b.min.y > -1e-4 && b.max.y < WIDTH + 1e-4);
        for other in &laid[..k] {
            assert!(intersection(a, other).area() < 1e-3);
        }
    }
    let again = strip(&parts, WIDTH, &SHORT, &mut |_| true).unwrap();
    assert_eq!(again.poses, lay.poses);
}

#[test]
fn what_is_wider_than_the_strip_is_named() {
    let parts = [oblong(5.0, 5.0), oblong(50.0, 45.0)];
    let fault = strip(&parts, WIDTH, &SHORT, &mut |_| true).unwrap_err();
    assert!(fault.to_string().starts_with("part 1 is wider"), "{fault}");
    let flat = [oblong(5.0, 0.0)];
    assert!(strip(&flat, 40.0, &SHORT, &mut |_| true).is_err());
}
