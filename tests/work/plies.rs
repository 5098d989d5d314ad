//! Two plies cut at once: what is sought and told for a piece is so for both.

use crate::jobs::{AtTable, STRAP, TONGUE, coat_in_plies};
use ghostchalk::cloth::shade::{Doubt, Ground, ShadeMap, Shading};
use ghostchalk::colour::{Lab, ciede2000};
use ghostchalk::lay::wish::{Part, Wish, Wished};
use ghostchalk::look::{Shades, held_shade, sought};
use ghostchalk::raster::Raster;
use ghostchalk::space::{Bounds, Cloth, Point};
use ghostchalk::work::{Act, Doing, Finding, Offered, Offering, Query, Seek};

/// The box that both halves of the coat lie in, cloth space.
fn bounds() -> Bounds<Cloth> {
    Bounds::new(Point::zero(), Point::new(500.0, 400.0))
}

/// The upper ply as light everywhere; the lower one as light as asked.
fn shades(lower: impl Fn(Point<Cloth>) -> f32) -> Shades {
    let of = |light: &dyn Fn(Point<Cloth>) -> f32| {
        Raster::over(bounds(), 2.0, |_, _, p| [light(p), 0.0, 0.0])
    };
    [
        ("left".to_owned(), of(&|_| 60.0)),
        ("right".to_owned(), of(&lower)),
    ]
    .into()
}

fn wished(table: &mut AtTable, piece: &str, wish: Wish) {
    let to = Some(Box::new(Wished::new(piece, wish)));
    table.done(Act::Wish { at: 0, to });
}

fn offers(query: &Query, shades: &Shades, calls: usize) -> Vec<Offered> {
    let mut told = 0;
    let found = sought(query, shades, &mut |_, _| {
        told += 1;
        query.seek != Seek::Open || told < calls
    });
    match found.unwrap() {
        Finding::Offers(offers) if !offers.is_empty() => offers,
        none => panic!("{none:?}"),
    }
}

#[test]
fn a_place_for_the_piece_and_its_partner_is_one_place_in_two_plies() {
    let mut table = AtTable::new(coat_in_plies());
    let lighter = Some(Part::TowardsDeg(0.0));
    let fade = Wish::Fade {
        lighter,
        darker: None,
    };
    wished(&mut table, "tongue", fade);
    table.done(Act::Hold(TONGUE));
    table.done(Act::Seek(Seek::Pair));
    let Doing::Offering(o) = table.bench.doing() else {
        panic!("nothing is sought");
    };
    let Offering { seek, name, .. } = &**o;
    assert_eq!((*seek, name.as_str()), (Seek::Hand, "tongue 1"));
    let query = table.bench.query().unwrap();
    // The lower ply gets lighter from 200 to 280 mm; 10 mm further right in the upper one's space.
    let slope = shades(|p| 50.0 + (p.x as f32 - 200.0).clamp(0.0, 80.0) / 4.0);
    let offers = offers(&query, &slope, 0);
    let [best] = &offers[0].placed[..] else {
        panic!("{:?}", offers[0]);
    };
    assert_eq!(best.id, Some(TONGUE));
    assert!((best.x_mm - 250.0).abs() < 15.0, "{best:?}");
    let why = &offers[0].why;
    assert!(
        why.contains("; the ply beneath lighter towards the right by"),
        "{why}"
    );
    let number = query.number;
    let found = Box::new(Finding::Offers(offers.clone()));
    table.done(Act::Found { number, found });
    table.done(Act::Finish);
    assert_eq!(table.bench.state().placed[&TONGUE].x_mm, best.x_mm);
}

#[test]
fn a_whole_lay_weighs_both_plies() {
    // The lower ply is stained in its left half, or in its right: there no tongue is like its
    // partner.
    for left in [true, false] {
        let mut table = AtTable::new(coat_in_plies());
        wished(&mut table, "tongue", Wish::LikePartner {});
        table.done(Act::Seek(Seek::Open));
        let query = table.bench.query().unwrap();
        let stained = shades(|p| match (p.x < 230.0) == left {
            true => 30.0,
            false => 60.0,
        });
        let offers = offers(&query, &stained, 60);
        let new = offers[0].placed.iter();
        let new: Vec<f64> = new
            .filter(|p| p.piece == "tongue" && p.panel == "left")
            .map(|p| p.x_mm)
            .collect();
        // Of four tongues an article two lie there already, cut from both plies.
        assert_eq!(new.len(), 2, "{:?}", offers[0]);
        // The stain ends at 240 mm in the upper ply's space; half a tongue is 30 to 40 mm.
        let clear = |x: &f64| if left { *x > 265.0 } else { *x < 215.0 };
        assert!(new.iter().all(clear), "{left}: {new:?}");
    }
}

#[test]
fn the_shade_under_the_hand_is_told_of_both_plies() {
    let table = AtTable::new(coat_in_plies());
    let state = table.bench.state();
    let shading = |light: &dyn Fn(Point<Cloth>) -> f64| {
        let grey = |p: Point<Cloth>| {
            let y = Lab::new(light(p), 0.0, 0.0).to_xyz().y;
            [y as f32; 3]
        };
        let light = Raster::over(bounds(), 1.0, |_, _, p| grey(p));
        let map = ShadeMap::measure(&light, [1.0; 3], 2.0, Doubt::NONE, |_, _| Ground::Cloth);
        Shading::new(map.unwrap(), None)
    };
    let upper = shading(&|_| 70.0);
    let lower = shading(&|p| 40.0 + 0.1 * p.x);
    let known = [("left".to_owned(), upper), ("right".to_owned(), lower)].into();
    // Its middle is at 250, 250: at 240, 265 in the lower ply.
    let strap = &state.placed[&STRAP];
    let stock = table.bench.goods.stock();
    let told = held_shade(&stock, strap, None, &state.panels, &known).unwrap();
    assert!((told.under.mean.l - 70.0).abs() < 0.05, "{told:?}");
    let beneath = told.beneath.as_ref().unwrap();
    // 120 mm long: from 58 to 70. Light is what is averaged, L* is its cube root: of a slope of
    // variance 12 about 80 / 116 that is 80 (1 + 3 · 12 / 80²)^⅓ − 16.
    let mean = 80.0 * (1.0 + 3.0 * 12.0 / 6400.0f64).cbrt() - 16.0;
    assert!((beneath.mean.l - mean).abs() < 0.02, "{}", beneath.mean.l);
    // All of it is darker than the upper one.
    let partner = told.partner.as_ref().unwrap();
    let apart = ciede2000(Lab::new(70.0, 0.0, 0.0), Lab::new(64.0, 0.0, 0.0));
    assert!((partner.mean - apart).abs() < 0.2, "{}", partner.mean);
    let short = told.short();
    assert!(short.contains("; the ply beneath 64: "), "{short}");
    let said = told.sentences();
    assert!(said[1].starts_with("in the ply beneath: "), "{said:?}");
    assert!(said[2].starts_with("both plies: "), "{said:?}");
}
