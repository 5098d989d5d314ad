use super::*;

fn table() -> Bounds<Table> {
    Bounds::new(Point::zero(), Point::new(600.0, 400.0))
}

fn patch(x: f64, y: f64, ground: Ground) -> Patch {
    let bounds = Bounds::new(Point::new(x, y), Point::new(x + 60.0, y + 85.0));
    Patch { bounds, ground }
}

fn sheets() -> Vec<Patch> {
    [
        [5.0, 5.0],
        [530.0, 5.0],
        [5.0, 310.0],
        [530.0, 310.0],
        [270.0, 312.0],
        [265.0, 3.0],
    ]
    .map(|[x, y]| patch(x, y, Ground::White))
    .to_vec()
}

/// Light over the table as a lamp and a window give it, not of the surface's form.
fn lit(p: Point<Table>) -> [f64; 3] {
    let far = |x: f64, y: f64, h: f64| {
        let d2 = (p.x - x).powi(2) + (p.y - y).powi(2) + h * h;
        h * h * h * h / (d2 * d2)
    };
    let (lamp, window) = (far(150.0, 320.0, 900.0), far(900.0, 100.0, 700.0));
    [
        0.75 * lamp + 0.25 * window,
        0.6 * lamp + 0.35 * window,
        0.4 * lamp + 0.5 * window,
    ]
}

/// What is really there: sheets, cloth, table.
fn there(p: Point<Table>, patches: &[Patch]) -> [f64; 3] {
    let on = patches
        .iter()
        .find(|s| s.bounds.contains(p))
        .map(|s| s.ground);
    match on {
        Some(Ground::White) => [SHEET; 3],
        Some(Ground::Other(_)) => [0.3, 0.25, 0.2],
        None => [0.35, 0.2, 0.1 + p.x / 3000.0],
    }
}

fn photo(patches: &[Patch], of: impl Fn(Point<Table>) -> [f64; 3]) -> Raster<[f32; 3], Table> {
    let mut seed = 1u32;
    Raster::over(table(), 4.0, |_, _, p| {
        let there = there(p, patches);
        let lit = of(p);
        std::array::from_fn(|k| {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = f64::from(seed >> 8) / f64::from(1u32 << 24) - 0.5;
            (there[k] * lit[k] * (1.0 + 0.02 * noise)) as f32
        })
    })
}

#[test]
fn evened_light_gives_what_is_there() {
    let sheets = sheets();
    let mut raster = photo(&sheets, lit);
    let light = Light::fit(&raster, &sheets).unwrap();
    assert!(light.knows_white() && light.notes().len() == 1);
    let percent = format!(
        "{:.1} %",
        100.0 * light.residual.iter().fold(0.0, |a, b| b.max(a))
    );
    assert!(light.notes()[0].contains(&percent), "{:?}", light.notes());
    assert!(
        light.residual.iter().all(|r| *r < 0.01),
        "{:?}",
        light.residual
    );
    let before = raster.clone();
    light.even(&mut raster);
    let (mut squares, mut stated, mut count, mut uneven) = (0.0, 0.0, 0.0, 0.0f64);
    for row in 0..raster.height() {
        for column in 0..raster.width() {
            let p = raster.centre(column, row);
            let truth = there(p, &sheets);
            let own = raster.get(column, row).unwrap();
            let was = before.get(column, row).unwrap();
            for k in 0..3 {
                squares += (f64::from(own[k]) / truth[k] - 1.0).powi(2);
                stated += light.error(p)[k].powi(2);
                uneven = uneven.max((f64::from(was[k]) / truth[k] - 1.0).abs());
                count += 1.0;
            }
        }
    }
    let (off, stated) = (f64::sqrt(squares / count), f64::sqrt(stated / count));
    println!(
        "evened to {:.2} %, stated {:.2} %, before {:.0} %",
        100.0 * off,
        100.0 * stated,
        100.0 * uneven
    );
    assert!(
        uneven > 0.3 && off < 0.02 && off < 2.0 * stated,
        "{off} {stated}"
    );
}

#[test]
fn without_white_the_colour_stays() {
    let bare: Vec<Patch> = sheets()
        .iter()
        .map(|s| Patch {
            ground: Ground::Other(0),
            ..*s
        })
        .collect();
    let mut raster = photo(&bare, lit);
    let light = Light::fit(&raster, &bare).unwrap();
    assert!(light.white(Point::zero()).is_none() && !light.knows_white());
    assert!(light.notes()[1].contains("No white sheet"));
    light.even(&mut raster);
    let each = bare.iter().map(|b| *raster.at(b.bounds.center()).unwrap());
    let each: Vec<[f32; 3]> = each.collect();
    for v in &each {
        for k in 0..3 {
            assert!((v[k] / each[0][k] - 1.0).abs() < 0.03, "{each:?}");
        }
    }
    // Redder than blue, as the lamp is: not white.
    assert!(each[0][0] > 1.5 * each[0][2]);
}

#[test]
fn grounds_of_two_kinds_share_one_light() {
    let mut patches = sheets();
    for k in [1, 2, 4] {
        patches[k].ground = Ground::Other(3);
    }
    let raster = photo(&patches, lit);
    let light = Light::fit(&raster, &patches).unwrap();
    for at in [[300.0, 200.0], [100.0, 100.0], [500.0, 300.0]] {
        let p = Point::from(at);
        let (white, truth) = (light.white(p).unwrap(), lit(p));
        for k in 0..3 {
            let off = white[k] / (SHEET * truth[k]) - 1.0;
            assert!(
                off.abs() < 3.0 * light.error(p)[k].max(0.01),
                "{off} {:?}",
                light.error(p)
            );
        }
    }
}

#[test]
fn far_from_the_patches_it_is_less_sure() {
    let two = [
        patch(5.0, 5.0, Ground::White),
        patch(80.0, 5.0, Ground::White),
    ];
    let light = Light::fit(&photo(&two, lit), &two).unwrap();
    let near = light.error(Point::new(75.0, 40.0))[1];
    let far = light.error(Point::new(500.0, 350.0))[1];
    assert!(near < 0.02 && far > 0.2, "{near} {far}");
}

#[test]
fn a_patch_in_shadow_is_told_and_does_not_pull() {
    let sheets = sheets();
    let shadow = sheets[4].bounds;
    let raster = photo(&sheets, |p| {
        let dim = if shadow.contains(p) { 0.85 } else { 1.0 };
        lit(p).map(|v| v * dim)
    });
    let light = Light::fit(&raster, &sheets).unwrap();
    let off = light.patches[4].unwrap();
    assert!((off + 0.15).abs() < 0.06, "{:?}", light.patches);
    let others = [0, 1, 2, 3, 5].map(|k| light.patches[k].unwrap().abs());
    assert!(others.iter().all(|o| *o < 0.05), "{:?}", light.patches);
}

#[test]
fn what_can_t_be_read_is_said() {
    let sheets = sheets();
    let said = |raster: &Raster<[f32; 3], Table>, patches: &[Patch]| {
        Light::fit(raster, patches).unwrap_err().to_string()
    };
    let sound = photo(&sheets, lit);
    assert!(said(&sound, &[]).contains("no white sheet or bare table"));
    let blown = sound.map(|_| [1.0; 3]);
    assert!(said(&blown, &sheets).contains("blown out"));
    let none = sound.map(|_| [f32::NAN; 3]);
    assert!(said(&none, &sheets).contains("not in the photo"));
    let many = vec![sheets[0]; 101];
    assert!(said(&sound, &many).contains("100 at most"));
    let outside = [patch(5000.0, 0.0, Ground::White)];
    assert!(said(&sound, &outside).contains("not in the photo"));
}
