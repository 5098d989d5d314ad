//! Marks by tape: against SciPy, and what a slip of the tape looks like.

use super::over_seeds::Noise;
use super::references::{list, load, number, place};
use ghostchalk::calibration::network::{Network, Reading, one_more};
use ghostchalk::space::{Point, Table};

fn network(marks: usize, readings: Vec<Reading>) -> Network {
    Network {
        names: (1..=marks).map(|k| format!("mark {k}")).collect(),
        readings,
        lines: Vec::new(),
    }
}

#[test]
fn places_covariance_and_reliability_are_scipys() {
    let all = load();
    assert!(list(&all["network"]).len() >= 5);
    for case in list(&all["network"]) {
        let readings = list(&case["readings"]).iter().map(|r| Reading {
            from: number(&r[0]) as usize,
            to: number(&r[1]) as usize,
            mm: number(&r[2]),
            sigma: 0.5,
        });
        let want = list(&case["marks"]);
        let net = network(want.len(), readings.collect());
        let got = net.adjust().unwrap();
        // Ours puts the third mark beyond the line; theirs keeps the truth's side.
        let side = list(&case["marks"])[2..].iter().map(|m| number(&m[1]));
        let flip = side.clone().find(|y| y.abs() > 1.0).unwrap().signum();
        for (m, w) in got.marks.iter().zip(want) {
            let w: Point<Table> = place(w);
            let off = (m.x - w.x).hypot(m.y * flip - w.y);
            assert!(off < 1e-6, "{}: {off}", case["name"]);
        }
        for (r, w) in got.residuals.iter().zip(list(&case["residuals"])) {
            assert!((r - number(w)).abs() < 1e-6);
        }
        for (c, (r, mds)) in got
            .checks
            .iter()
            .zip(list(&case["redundancy"]).iter().zip(list(&case["mds"])))
        {
            assert!((c.redundancy - number(r)).abs() < 1e-8);
            assert!((c.least * net.sigma() - number(mds)).abs() < 1e-5);
        }
        for (r, row) in list(&case["cov_free"]).iter().enumerate() {
            for (c, w) in list(row).iter().enumerate() {
                let sign = if (r % 2 == 1) == (c % 2 == 1) {
                    1.0
                } else {
                    flip
                };
                assert!((got.covariance[(r, c)] * sign - number(w)).abs() < 1e-8);
            }
        }
    }
}

/// Corners and one inside, each read from every other.
fn five() -> Vec<Point<Table>> {
    [
        (0.0, 0.0),
        (1200.0, 0.0),
        (1190.0, 805.0),
        (5.0, 790.0),
        (420.0, 330.0),
    ]
    .map(|(x, y)| Point::new(x, y))
    .to_vec()
}

fn read(marks: &[Point<Table>], noise: &mut Noise) -> Vec<Reading> {
    let mut all = Vec::new();
    for a in 0..marks.len() {
        for b in a + 1..marks.len() {
            let [e, _] = noise.pair();
            all.push(Reading {
                from: a,
                to: b,
                mm: (marks[a] - marks[b]).length() + 0.5 * e,
                sigma: 0.5,
            });
        }
    }
    all
}

#[test]
fn a_slip_of_ten_mm_is_noticed_and_narrowed_to_a_short_list() {
    let marks = five();
    let (mut noticed, mut listed, mut length) = (0, 0, 0);
    for seed in 0..1000 {
        let mut noise = Noise::new(seed);
        let mut readings = read(&marks, &mut noise);
        let slip = seed as usize % readings.len();
        readings[slip].mm += if seed % 3 == 0 { -10.0 } else { 10.0 };
        let got = network(5, readings).adjust().unwrap();
        noticed += usize::from(got.has_slip());
        listed += usize::from(got.again.contains(&slip));
        length += got.again.len();
    }
    let mean = f64::from(length as u32) / f64::from(noticed as u32);
    println!("noticed {noticed}, listed {listed} of 1000, mean list {mean:.2}");
    assert!(noticed >= 990 && listed >= 950 && mean <= 2.0);
}

#[test]
fn among_many_readings_the_list_stays_short() {
    let marks: Vec<Point<Table>> = (0..12)
        .map(|k| Point::new(380.0 * f64::from(k % 4), 390.0 * f64::from(k / 4)))
        .collect();
    let (mut listed, mut length, mut noticed) = (0, 0, 0);
    for seed in 0..60 {
        let mut readings = read(&marks, &mut Noise::new(80_000 + seed));
        let slip = seed as usize % readings.len();
        readings[slip].mm += 4.0;
        let got = network(12, readings).adjust().unwrap();
        noticed += usize::from(got.has_slip());
        listed += usize::from(got.again.contains(&slip));
        length += got.again.len();
    }
    println!(
        "12 marks: noticed {noticed} of 60, listed {listed}, mean list {:.1}",
        length as f64 / noticed as f64
    );
    assert!(noticed >= 55 && listed >= 54 && length <= 3 * noticed);
}

#[test]
fn sound_readings_are_rarely_called_a_slip() {
    let marks = five();
    let called = (0..1000).filter(|seed| {
        let readings = read(&marks, &mut Noise::new(50_000 + seed));
        network(5, readings).adjust().unwrap().has_slip()
    });
    // Ten readings at 0.1 % each, tied by three to spare: at most 10 in 1000 expected.
    let called = called.count();
    println!("called {called} of 1000");
    assert!(called <= 20);
}

#[test]
fn four_marks_notice_a_slip_and_cannot_say_where_and_one_more_would() {
    let marks = five()[..4].to_vec();
    let mut noise = Noise::new(7);
    let mut readings = read(&marks, &mut noise);
    readings[2].mm += 10.0;
    let net = network(4, readings);
    let got = net.adjust().unwrap();
    assert!(got.has_slip());
    assert_eq!(got.freedom, 1);
    assert_eq!(got.again.len(), 6, "any of the six");
    let least = got.least_slip(net.sigma()).unwrap();
    let more = one_more(&net, &got).unwrap();
    println!("{least:.1} {more:?}");
    assert!(more.least_slip < least);
    assert!(more.in_doubt < 2.5);
    // Its prediction is what a survey with that mark gives.
    let mut five = marks.clone();
    five.push(more.place);
    let got = network(5, read(&five, &mut noise)).adjust().unwrap();
    assert!((got.least_slip(0.5).unwrap() - more.least_slip).abs() < 0.1);
}

#[test]
fn what_fixes_no_marks_is_refused_in_words() {
    let marks = five();
    let mut noise = Noise::new(1);
    let mut long = read(&marks, &mut noise);
    long[0].mm = 2500.0;
    let said = network(5, long).adjust().unwrap_err().to_string();
    assert!(
        said.contains("no triangle has such sides: mark 1 to mark 2"),
        "{said}"
    );
    let mut few = read(&marks, &mut noise);
    few.retain(|r| r.to != 4 || r.from < 2);
    let said = network(5, few).adjust().unwrap_err().to_string();
    assert!(said.contains("mark 5 may lie on either side"), "{said}");
    let three = read(&marks[..3], &mut noise);
    assert!(network(3, three).adjust().is_err());
    let mut short = read(&marks, &mut noise);
    short[3].mm = 1.2;
    let said = network(5, short).adjust().unwrap_err().to_string();
    assert!(
        said.contains("mark 1 to mark 5 is given as 1.2 mm"),
        "{said}"
    );
}
