//! Which pieces straight cuts part, as another program finds it by looking in
//! every direction: `tests/reference/rough.py`.

use crate::lays::ring;
use ghostchalk::lay::rough_cuts;
use ghostchalk::shape::Region;
use ghostchalk::space::Table;
use serde_json::Value;

fn region(v: &Value) -> Region<Table> {
    let points = v.as_array().unwrap().iter();
    ring(points.map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap())))
}

#[test]
fn the_same_pieces_stay_together() {
    let path = format!("{}/tests/reference/rough.json", env!("CARGO_MANIFEST_DIR"));
    let all: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let cases = all["cases"].as_array().unwrap();
    assert!(cases.len() >= 20);
    for case in cases {
        let kept: Vec<_> = case["kept"]
            .as_array()
            .unwrap()
            .iter()
            .map(region)
            .collect();
        let clear = case["clear"].as_f64().unwrap();
        let plan = rough_cuts(&region(&case["sheet"]), &kept, clear);
        let mut parts = plan.parts;
        parts.sort();
        let want: Vec<Vec<usize>> = serde_json::from_value(case["parts"].clone()).unwrap();
        assert_eq!(parts, want, "{}", case["name"]);
    }
}
