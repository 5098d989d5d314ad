use super::*;
use crate::pattern::{EdgeStart, Line, PatternPiece};
use crate::raster::Raster;
use crate::space::{Bounds, Cloth, Piece, Point, Rigid, Vector};

/// 100 × 60 mm net, 6 mm of allowance round it; edges: toe to the right, then upper,
/// heel, lower.
fn upper() -> PatternPiece {
    let ring = |w: f64, h: f64| {
        [(w, -h), (w, h), (-w, h), (-w, -h)].map(|(x, y)| Point::<Piece>::new(x, y))
    };
    let mut piece = PatternPiece::named("upper");
    piece.cut = vec![ring(56.0, 36.0).to_vec()];
    let net = ring(50.0, 30.0);
    piece.net = vec![Line {
        points: net.to_vec(),
        closed: true,
    }];
    let named = ["toe", "top", "heel", "sole"].into_iter().zip(net);
    let edge = |(name, at): (&str, Point<Piece>)| EdgeStart {
        at,
        name: name.to_owned(),
        allowance: None,
    };
    piece.edges = named.map(edge).collect();
    piece
}

fn edge(name: &str) -> Option<Part> {
    Some(Part::Edge(name.to_owned()))
}

fn fade(lighter: Option<Part>, darker: Option<Part>) -> Wish {
    Wish::Fade { lighter, darker }
}

fn at(x: f64, y: f64, deg: f64) -> Rigid<Piece, Cloth> {
    Rigid::new(false, f64::to_radians(deg), Vector::new(x, y))
}

/// What a wish comes to where the shade is a function of the place.
fn amount(
    wish: &Wish,
    known: &Known,
    pose: &Rigid<Piece, Cloth>,
    light: impl Fn(Point<Cloth>) -> f64,
) -> Kept {
    let wishes = [Wished::new("upper", wish.clone())];
    let terms = Terms::settle(&upper(), &wishes, known, 6000).unwrap();
    let see = |p: &Point<Piece>| {
        let l = light(pose.point(*p)) as f32;
        if l.is_nan() {
            [0.0; 4]
        } else {
            [l, 0.0, 0.0, 1.0]
        }
    };
    let shade: Vec<Shade> = terms.points().iter().map(see).collect();
    let kept = terms.kept(pose, &shade).remove(0);
    assert_eq!(terms.score(pose, &shade), kept.amount.worth());
    kept
}

fn lighter(wish: &Wish, light: impl Fn(Point<Cloth>) -> f64) -> (f64, String) {
    let kept = amount(wish, &Known::default(), &at(10.0, 20.0, 90.0), light);
    let Amount::Lighter { by } = kept.amount else {
        panic!("{kept:?}");
    };
    (by, kept.to_string())
}

#[test]
fn a_fade_is_told_inside_the_net_lines() {
    // At 90° the toe lies up. The quarters' middles are 75 mm from each other.
    let up = |p: Point<Cloth>| 50.0 + p.y / 10.0;
    let (by, said) = lighter(&fade(edge("toe"), edge("heel")), up);
    assert!((by - 7.5).abs() < 0.05, "{by}");
    assert_eq!(said, "lighter at the toe than at the heel by 7.5");
    let (by, said) = lighter(&fade(edge("heel"), edge("toe")), up);
    assert!((by + 7.5).abs() < 0.05, "{by}");
    assert_eq!(said, "darker at the heel than at the toe by 7.5");
    // A quarter against the rest: 37.5 and 12.5 mm from the middle.
    for (wish, by, words) in [
        (fade(edge("toe"), None), 5.0, "lighter at the toe by 5.0"),
        (fade(None, edge("toe")), -5.0, "lighter at the toe by 5.0"),
        (fade(edge("heel"), None), -5.0, "darker at the heel by 5.0"),
        (fade(None, edge("heel")), 5.0, "darker at the heel by 5.0"),
        (
            fade(Some(Part::TowardsDeg(0.0)), None),
            5.0,
            "lighter towards the right by 5.0",
        ),
        (
            fade(Some(Part::TowardsDeg(-180.0)), None),
            -5.0,
            "darker towards the left by 5.0",
        ),
    ] {
        let (found, said) = lighter(&wish, up);
        assert!((found - by).abs() < 0.05, "{wish:?} {found}");
        assert_eq!(said, words);
    }
    // The tenth of 6000 mm² about a point is a disc of 13.8 mm. Piece (20, 10) lies at
    // cloth (0, 40): what is light there alone is all within it.
    let spot = fade(Some(Part::PointMm([20.0, 10.0])), None);
    let (by, said) = lighter(&spot, |p| {
        if (p - Point::new(0.0, 40.0)).length() < 13.8 {
            70.0
        } else {
            60.0
        }
    });
    assert!((by - 10.0).abs() < 0.3, "{by}");
    assert!(said.starts_with("lighter at (20, 10) by"), "{said}");
    // What lies in the allowance alone is not seen.
    let (by, _) = lighter(&fade(edge("toe"), None), |p| {
        if p.y > 20.0 + 50.5 { 0.0 } else { 60.0 }
    });
    assert_eq!(by, 0.0);
}

#[test]
fn evenness_is_a_standard_deviation() {
    let even = Wish::Even {};
    let (known, pose) = (Known::default(), at(0.0, 0.0, 0.0));
    let spread = |light: &dyn Fn(Point<Cloth>) -> f64| {
        let kept = amount(&even, &known, &pose, light);
        match kept.amount {
            Amount::Uneven { spread } => (spread, kept.amount.is_met()),
            other => panic!("{other:?}"),
        }
    };
    // Of a ramp over a length l: slope · l / √12.
    let (ramp, met) = spread(&|p| 50.0 + p.x / 5.0);
    assert!((ramp - 20.0 / 12f64.sqrt()).abs() < 0.02 && !met, "{ramp}");
    assert_eq!(spread(&|_| 63.0), (0.0, true));
    // Half of it unknown: told by the rest; all but a little: not told.
    let (half, _) = spread(&|p| if p.x < -0.5 { f64::NAN } else { 50.0 });
    assert_eq!(half, 0.0);
    let kept = amount(&even, &known, &pose, |p| {
        if p.x < 20.0 { f64::NAN } else { 50.0 }
    });
    assert_eq!(kept.amount, Amount::ShadeUnknown);
    assert_eq!(kept.to_string(), "the shade is not known there");
}

#[test]
fn a_partner_is_like_point_by_point() {
    let bounds = Bounds::new(Point::new(-200.0, -200.0), Point::new(200.0, 200.0));
    let light = |p: Point<Cloth>| 60.0 + p.x / 10.0;
    let shade = Raster::over(bounds, 1.0, |_, _, p| [light(p) as f32, 0.0, 0.0]);
    // Face down at the mirrored place, the shade mirrored: the same all over.
    let down: Rigid<Piece, Cloth> = Rigid::new(true, 0.0, Vector::new(100.0, 0.0));
    let known = Known {
        partner: Some(Partner {
            pose: down,
            shade: &shade,
        }),
        ..Known::default()
    };
    let like = Wish::LikePartner {};
    let here = at(-100.0, 0.0, 0.0);
    let kept = amount(&like, &known, &here, |p| light(Point::new(-p.x, p.y)));
    let Amount::Unlike { mean, most } = kept.amount else {
        panic!("{kept:?}");
    };
    assert!(mean < 0.05 && most < 0.2, "{kept:?}");
    // On the fade itself it runs the other way: |20 + x/5| over x of −50 to 50 is 20.
    let kept = amount(&like, &known, &here, light);
    let Amount::Unlike { mean, most } = kept.amount else {
        panic!("{kept:?}");
    };
    assert!(
        (mean - 20.0).abs() < 0.1 && (most - 30.0).abs() < 0.3,
        "{kept:?}"
    );
    assert!(
        kept.to_string()
            .starts_with("like its partner within 20.0, at most ")
    );
    let none = amount(&like, &Known::default(), &here, light);
    assert_eq!(none.to_string(), "its partner is not laid");
    assert_eq!(none.amount.worth(), 0.0);
}

#[test]
fn a_mirrored_place_is_near_by_mm_and_degrees() {
    let known = Known {
        mirrored: Some(at(30.0, 40.0, 179.0)),
        ..Known::default()
    };
    let kept = |pose| amount(&Wish::MirroredPlace {}, &known, &pose, |_| 50.0);
    let far = kept(at(33.0, 44.0, -179.0));
    assert_eq!(far.to_string(), "5.0 mm and 2.0° off the mirrored place");
    assert!((far.amount.worth() + 2.5).abs() < 1e-9 && !far.amount.is_met());
    let there = kept(at(30.0, 40.0, 179.0));
    assert_eq!(there.to_string(), "at the mirrored place");
    assert!(there.amount.is_met());
}

const STRIPES: Stripes = Stripes {
    period_mm: 24.0,
    runs_deg: 90.0,
    at_mm: [6.0, 0.0],
    same_both_ways: false,
};

#[test]
fn a_stripe_runs_on_across_a_seam() {
    let piece = upper();
    // The neighbour lies to the right, its heel at this one's toe, on cloth of its own.
    let neighbour = |x: f64| Neighbour {
        piece: &piece,
        pose: at(x, 0.0, 0.0),
        stripes: Stripes {
            runs_deg: 0.0,
            at_mm: [0.0, 0.0],
            ..STRIPES
        },
    };
    let wish = Wish::StripeRunsOn {
        edge: "toe".to_owned(),
        of: "upper".to_owned(),
        to: "heel".to_owned(),
    };
    let runs = Stripes {
        runs_deg: 0.0,
        at_mm: [0.0, 0.0],
        ..STRIPES
    };
    let off = |y: f64, turn: f64, both: bool| {
        let known = Known {
            stripes: Some(Stripes {
                same_both_ways: both,
                ..runs
            }),
            neighbours: vec![neighbour(500.0)],
            ..Known::default()
        };
        let kept = amount(&wish, &known, &at(0.0, y, turn), |_| 50.0);
        match kept.amount {
            Amount::OffSeam { mm } => (mm, kept.to_string()),
            other => panic!("{other:?}"),
        }
    };
    // Stripes run along x on both: they meet if both lie as high, or a repeat higher.
    assert!(off(0.0, 0.0, false).0 < 1e-9 && off(48.0, 0.0, false).0 < 1e-9);
    let (mm, said) = off(25.5, 0.0, false);
    assert!((mm - 1.5).abs() < 1e-9, "{mm}");
    assert_eq!(said, "stripe 1.5 mm off upper's at the toe");
    // Half round, the seam's points lie in reverse: alike only if the repeat reads the
    // same from both sides.
    assert!(off(0.0, 180.0, true).0 < 1e-9);
    assert!(off(0.0, 180.0, false).0 > 3.0);
    let none = amount(&wish, &Known::default(), &at(0.0, 0.0, 0.0), |_| 50.0);
    assert_eq!(
        none.to_string(),
        "upper is not laid, or its stripes are not known"
    );
}

#[test]
fn a_stripe_off_centre_is_told_in_mm() {
    let known = Known {
        stripes: Some(STRIPES),
        ..Known::default()
    };
    let wish = Wish::StripeCentred { at_mm: [10.0, 0.0] };
    let kept = amount(&wish, &known, &at(21.2, 7.0, 0.0), |_| 50.0);
    assert_eq!(kept.to_string(), "stripe 1.2 mm off centre");
    assert!(kept.amount.is_met());
}

#[test]
fn wishes_are_written_as_a_person_would() {
    #[derive(Debug, PartialEq, Serialize, Deserialize)]
    struct Job {
        wish: Vec<Wished>,
    }
    let text = r#"
[[wish]]
piece = "upper"
wish = { is = "fade", lighter = { edge = "toe" }, darker = { towards_deg = 180 } }

[[wish]]
piece = "upper"
article = "2"
wish = { is = "stripe-centred" }
weight = 2

[[wish]]
piece = "upper"
wish = { is = "stripe-runs-on", edge = "toe", of = "heel", to = "2" }

[[wish]]
piece = "upper"
wish = { is = "nap", way = "against" }

[[wish]]
piece = "upper"
wish = { is = "fade", darker = { point_mm = [3, 4.5] } }

[[wish]]
piece = "sole"
wish = { is = "even" }
"#;
    let job: Job = toml::from_str(text).unwrap();
    assert_eq!(
        job.wish[0].wish,
        fade(edge("toe"), Some(Part::TowardsDeg(180.0)))
    );
    assert_eq!(job.wish[0].weight, 1.0);
    assert_eq!(job.wish[1].wish, Wish::StripeCentred { at_mm: [0.0; 2] });
    assert_eq!(nap_way(&job.wish), Some(NapWay::Against));
    assert!(job.wish[1].is_for("upper", "2") && !job.wish[1].is_for("upper", "1"));
    assert!(job.wish[5].is_for("sole", "1") && !job.wish[5].is_for("upper", "1"));
    let again: Job = toml::from_str(&toml::to_string(&job).unwrap()).unwrap();
    assert_eq!(again, job);
    for wrong in [
        r#"{ is = "even", much = 3 }"#,
        r#"{ is = "stripey" }"#,
        r#"{ is = "fade", lighter = { corner = 3 } }"#,
    ] {
        let text = format!("piece = \"a\"\nwish = {wrong}\n");
        assert!(toml::from_str::<Wished>(&text).is_err(), "{wrong}");
    }
}

#[test]
fn wishes_that_cant_be_worked_out_say_so() {
    let said = |wish: Wish, weight: f64, known: &Known| {
        let wished = Wished {
            weight,
            ..Wished::new("upper", wish)
        };
        let settled = Terms::settle(&upper(), [&wished], known, 100);
        settled.unwrap_err().to_string()
    };
    let none = Known::default();
    assert_eq!(
        said(fade(edge("nose"), None), 1.0, &none),
        "upper has no edge \"nose\"; name one of its edges: toe, top, heel, sole."
    );
    assert!(said(fade(None, None), 1.0, &none).contains("neither lighter nor darker"));
    for weight in [0.0, -1.0, f64::NAN, 101.0] {
        assert!(said(Wish::Even {}, weight, &none).contains("weight"));
    }
    let far = Some(Part::PointMm([f64::INFINITY, 0.0]));
    assert!(said(fade(far, None), 1.0, &none).contains("not a number"));
    let known = Known {
        stripes: Some(Stripes {
            period_mm: 0.0,
            ..STRIPES
        }),
        ..Known::default()
    };
    let centred = Wish::StripeCentred { at_mm: [0.0; 2] };
    assert!(said(centred, 1.0, &known).contains("can't be used"));
}
