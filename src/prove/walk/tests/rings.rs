//! Rings in closed form.

use super::*;

#[test]
fn rings_in_closed_form() {
    // 2πt at t = 1.5: 9.4248; πt: 4.7124.
    assert!((thickness_ease(1.5, FitsAt::Outside) - 9.424_777_960_769_38).abs() < 1e-12);
    assert!((thickness_ease(1.5, FitsAt::MidWall) - 4.712_388_980_384_69).abs() < 1e-12);
    let on = |deg: f64| {
        let mut a = cloth("a", &straight(300.0), 50.0, &[]);
        let mut b = cloth("b", &straight(100.0), 50.0, &[]);
        let (sin, cos) = deg.to_radians().sin_cos();
        a.grain = Some([Point::origin(), Point::new(50.0 * cos, 50.0 * sin)]);
        b.grain = Some([Point::origin(), Point::new(50.0, 0.0)]);
        [a, b]
    };
    let told = |deg: f64, girth: f64, sewn: Option<f64>| {
        let pieces = on(deg);
        let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
        let all: Vec<_> = pieces.iter().flat_map(|p| grain::of(p).unwrap()).collect();
        let declared = Ring {
            name: "r".into(),
            edges: ["a: e", "b: e"]
                .map(|n| EdgeName::parse(n).unwrap())
                .to_vec(),
            girth,
            ease: 0.0,
            cloth: 1.5,
            at: FitsAt::Outside,
            tolerance: 3.0,
            sewn,
        };
        let (result, found) = ring(&laid, &all, &declared);
        (result.unwrap(), found)
    };
    let wants = 400.0 - thickness_ease(1.5, FitsAt::Outside);
    assert_eq!(told(0.0, wants + 2.9, None).0.verdict, RingVerdict::Fits);
    assert_eq!(told(0.0, wants + 3.1, None).0.verdict, RingVerdict::Short);
    assert_eq!(told(45.0, wants + 3.1, None).0.verdict, RingVerdict::Short);
    let (long, found) = told(0.0, wants - 5.0, None);
    assert_eq!(
        (long.verdict, found[0].severity),
        (RingVerdict::Long, Severity::Spoils)
    );
    // On the bias it is an amount to ease in, up to 5 % of 300 mm.
    let (ease, found) = told(45.0, wants - 5.0, None);
    assert_eq!(
        (ease.verdict, found[0].severity),
        (RingVerdict::EaseIn, Severity::Advice)
    );
    assert_eq!(
        found[0].remedy,
        "ease 5.0 mm in onto a stay tape of 395.0 mm: the stay tape decides"
    );
    let (_, found) = told(45.0, wants - 17.0, None);
    assert_eq!(found[0].severity, Severity::Check);
    assert!(
        found[0].remedy.starts_with("shorten it by 2.0 mm"),
        "{found:?}"
    );

    // Sewn 8 mm longer: what is straight on the grain did not grow.
    let (result, found) = told(45.0, wants, Some(408.0));
    let sewn = result.sewn.unwrap();
    let grew: Vec<f64> = sewn.likely.iter().map(|g| g.by_mm).collect();
    assert!((grew[0] - 8.0).abs() < 1e-9 && grew[1].abs() < 1e-9);
    assert!(
        found[0]
            .remedy
            .starts_with("next time make \"a: e\" 8.0 mm shorter")
    );
    // With no bias anywhere, by length: 3 : 1.
    let (result, _) = told(0.0, wants, Some(408.0));
    let grew: Vec<f64> = result
        .sewn
        .unwrap()
        .likely
        .iter()
        .map(|g| g.by_mm)
        .collect();
    assert!((grew[0] - 6.0).abs() < 1e-9 && (grew[1] - 2.0).abs() < 1e-9);
}
