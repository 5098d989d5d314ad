//! Files whose streams say in a roundabout way how they are packed.

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;

use super::*;

const SQUARE: &str = "100 100 200 200 re S";

fn deflated(data: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::new(6));
    encoder.write_all(data).unwrap();
    encoder.finish().unwrap()
}

fn stream(head: &str, data: &[u8]) -> Vec<u8> {
    let mut object = format!("{head}/Length {}>>stream\n", data.len()).into_bytes();
    object.extend_from_slice(data);
    object.extend(b"\nendstream endobj\n");
    object
}

/// A PDF of one page: what it draws, packed as `said`, and more objects; 5 is its picture.
fn drawing(said: &str, content: &[u8], more: &[Vec<u8>]) -> Vec<u8> {
    let mut file = b"%PDF-1.5\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n\
        2 0 obj<</Type/Pages/Kids[3 0 R]/Count 1>>endobj\n\
        3 0 obj<</Type/Page/Parent 2 0 R/MediaBox[0 0 1000 1000]/Contents 4 0 R\
        /Resources<</XObject<</I 5 0 R>>>>>>endobj\n"
        .to_vec();
    file.extend(stream(&format!("4 0 obj<<{said}"), content));
    file.extend(more.concat());
    file.extend(b"trailer<</Root 1 0 R>>\n");
    file
}

fn read(file: &[u8]) -> Outcome<Pattern> {
    parse(file, &Options::default())
}

/// `SQUARE` in rows of five bytes, each after a byte that says: as it is.
fn rows() -> Vec<u8> {
    let rows = SQUARE.as_bytes().chunks(5);
    deflated(
        &rows
            .map(|row| [&[0_u8][..], row].concat())
            .collect::<Vec<_>>()
            .concat(),
    )
}

/// Objects that are packed: the parser would divide by what 7 says.
fn hidden() -> Vec<u8> {
    let objects = deflated(b"7 0 <</Predictor 2/Columns 0>>");
    let head = "8 0 obj<</Type/ObjStm/N 1/First 4/Filter/FlateDecode";
    stream(head, &objects)
}

#[test]
fn parameters_at_another_place_are_followed_where_they_can_be_seen() {
    let parms = b"7 0 obj<</Predictor 15/Columns 5>>endobj\n".to_vec();
    for said in [
        "/Filter/FlateDecode/DecodeParms 7 0 R",
        "/Filter[/FlateDecode]/DecodeParms[7 0 R]",
    ] {
        let found = read(&drawing(said, &rows(), std::slice::from_ref(&parms))).unwrap();
        let bounds = crate::space::Bounds::from_points(&found.pieces[0].cut[0]);
        let mm = crate::measure::MM_PER_PT;
        assert!((bounds.width() - 200.0 * mm).abs() < 1e-6, "{said}");
        let fault = read(&drawing(said, &rows(), &[hidden()])).unwrap_err();
        assert!(fault.to_string().contains("unusual way"), "{fault}");
    }
    let zero = b"7 0 obj<</Predictor 2/Columns 0>>endobj\n".to_vec();
    let by = "/Filter/FlateDecode/DecodeParms 7 0 R";
    let fault = read(&drawing(by, &rows(), &[zero])).unwrap_err();
    assert!(fault.to_string().contains("unusual way"), "{fault}");
}

/// A form that was packed itself, which the parser reads: it would divide by what it says.
#[test]
fn what_a_packed_object_says_of_itself_is_looked_at() {
    let form = |columns: &str| {
        let head = format!(
            "<</Subtype/Form/BBox[0 0 900 900]/Filter/FlateDecode\
             /DecodeParms<</Predictor 2/Columns {columns}>>"
        );
        let object = [&b"5 0 "[..], &stream(&head, &deflated(&[0; 8]))[..]].concat();
        let head = "8 0 obj<</Type/ObjStm/N 1/First 4/Filter/FlateDecode";
        let content = format!("{SQUARE} /I Do");
        drawing("", content.as_bytes(), &[stream(head, &deflated(&object))])
    };
    let found = read(&form("8")).unwrap();
    assert!(found.left_out.is_empty(), "{:?}", found.left_out);
    let fault = read(&form("0")).unwrap_err();
    assert!(fault.to_string().contains("unusual way"), "{fault}");
}

#[test]
fn a_picture_is_passed_over_wherever_its_parameters_are() {
    let parms = b"7 0 obj<</K -1/Columns 8>>endobj\n".to_vec();
    for filter in ["CCITTFaxDecode", "DCTDecode", "FlateDecode"] {
        let head =
            format!("5 0 obj<</Subtype/Image/Width 8/Height 1/Filter/{filter}/DecodeParms 7 0 R");
        let content = format!("{SQUARE} /I Do");
        for other in [parms.clone(), hidden()] {
            let more = [stream(&head, b"\x00\x01"), other];
            let found = read(&drawing("", content.as_bytes(), &more)).unwrap();
            assert_eq!(found.pieces.len(), 1);
            holds(&found.left_out, "page 1, picture: it is a picture, no line");
        }
    }
}

/// More than 26 kB of LZW, and as much in runs: as old programs pack drawings.
#[test]
fn long_drawings_are_read_however_they_are_packed() {
    let content = format!("{SQUARE} {}", "% nothing more is drawn\n".repeat(5000));
    // In pieces of 128 as they are, and the end.
    let chunks = content.as_bytes().chunks(128);
    let mut runs = chunks
        .map(|some| [&[some.len() as u8 - 1][..], some].concat())
        .collect::<Vec<_>>()
        .concat();
    runs.push(128);
    // Codes of nine bits, begun anew before they grow.
    let mut codes = Vec::new();
    for some in content.as_bytes().chunks(200) {
        codes.push(256);
        codes.extend(some.iter().map(|&b| u16::from(b)));
    }
    codes.push(257);
    let mut lzw = vec![0_u8; codes.len() * 9 / 8 + 1];
    for (k, code) in codes.iter().enumerate() {
        for b in (0..9_usize).filter(|b| code >> (8 - b) & 1 == 1) {
            lzw[(k * 9 + b) / 8] |= 128 >> ((k * 9 + b) % 8);
        }
    }
    let letters: String = runs.iter().map(|b| format!("{b:02x}")).collect();
    for (said, data) in [
        ("/Filter/RunLengthDecode", &runs),
        ("/Filter/LZWDecode", &lzw),
        ("/Filter[/AHx/RL]", &format!("{letters}>").into_bytes()),
    ] {
        let found = read(&drawing(said, data, &[])).unwrap();
        assert_eq!(found.pieces.len(), 1, "{said}");
        assert!(found.left_out.is_empty(), "{said}");
    }
}
