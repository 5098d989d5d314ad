//! Photos by a camera model that is not ours (`tests/reference/tags.py`): corners against the
//! truth, and against OpenCV's on the same photos.

use super::*;
use serde_json::Value;

const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference");

pub(super) fn photo(name: &str) -> Picture {
    let path = format!("{ROOT}/tags/{name}");
    Picture::read(&std::fs::read(path).unwrap()).unwrap()
}

fn corners(value: &Value) -> [Point<Photo>; 4] {
    std::array::from_fn(|k| Point::new(value[k][0].as_f64().unwrap(), value[k][1].as_f64().unwrap()))
}

#[test]
fn first_look() {
    let text = std::fs::read_to_string(format!("{ROOT}/tags.json")).unwrap();
    let all: Value = serde_json::from_str(&text).unwrap();
    for p in all["photos"].as_array().unwrap() {
        let file = p["file"].as_str().unwrap();
        let found = find(&photo(file));
        println!("{file}: doubts {:?}", found.doubts);
        for t in p["tags"].as_array().unwrap() {
            let id = t["id"].as_u64().unwrap() as u16;
            let truth = corners(&t["corners_px"]);
            for tag in found.tags.iter().filter(|t| t.id == id) {
                let e: Vec<_> = (0..4).map(|k| {
                    let d = tag.corners[k] - truth[k];
                    format!("{:.3},{:.3} (σ {:.3})", d.x, d.y, tag.sigma_px[k])
                }).collect();
                println!("{id} wrong {} margin {:.2} scatter {:.3} blur {:.2}: {}", tag.wrong_bits, tag.margin, tag.scatter_px, tag.blur_px, e.join(" "));
            }
        }
    }
}
