//! Bad drawings, each a fault that says where and what to do.

use std::path::Path;

use super::{pattern, read, refused, sample, square};
use crate::fault::Fault;

fn file(name: &str) -> Fault {
    let path = sample(name);
    let fault = read(&path).unwrap_err();
    assert_eq!(fault.place[0], path.display().to_string());
    fault
}

fn cut(data: &str) -> Fault {
    refused(&format!(
        "<g data-piece='a'><path class='cut' id='c' d='{data}'/></g>"
    ))
}

#[test]
fn every_bad_sample_says_what_is_wrong() {
    for (name, what) in [
        ("bad_truncated.svg", "ends before the drawing does"),
        ("bad_not_svg.svg", "its root element is \"html\""),
        ("bad_no_outline.svg", "no closed outline"),
        (
            "bad_crossing.svg",
            "crosses or touches itself at x 50 mm, y 50 mm",
        ),
        ("bad_bomb.svg", "one abbreviation within another"),
        ("bad_number.svg", "position 10"),
        ("bad_size.svg", "no size of its own"),
        ("bad_notch.svg", "its nearer end is 3 mm away"),
        ("bad_name_twice.svg", "two pieces are named \"sole\""),
    ] {
        let fault = file(name);
        assert!(fault.what.contains(what), "{name}: {fault}");
    }
}

#[test]
fn a_file_that_is_not_there_is_named() {
    let fault = read(Path::new("/no/such.svg")).unwrap_err();
    assert!(
        fault
            .to_string()
            .starts_with("/no/such.svg: reading failed")
    );
    assert!(read(Path::new(env!("CARGO_MANIFEST_DIR"))).is_err());
}

#[test]
fn a_fault_is_placed_by_piece_line_and_id() {
    assert_eq!(cut("M0 0h9v9").place, ["piece \"a\"", "line 2, path \"c\""]);
}

#[test]
fn an_open_outline_names_its_ends() {
    let what = cut("M10 10h9v9").what;
    assert!(
        what.contains("from x 10 mm, y 10 mm to x 19 mm, y 19 mm"),
        "{what}"
    );
    assert!(
        cut("M0 0h9v9h-9v-8.94")
            .what
            .contains("open: it has a gap of 0.06 mm at x 0 mm, y 0.03 mm")
    );
    assert!(cut("M0 0h9v9z M2 2h1").what.contains("open"));
}

#[test]
fn an_outline_that_touches_itself_or_another_names_the_place() {
    assert!(cut("M0 0L40 40V0L0 40Z").what.contains("x 20 mm, y 20 mm"));
    assert!(
        cut("M0 0h40v40L20 0L0 40z")
            .what
            .contains("x 20 mm, y 0 mm")
    );
    assert!(cut("M0 0h40v40h20v-40h-40v40h-20z").what.contains("itself"));
    assert!(
        cut("M0 0h40v40h-40z M30 30h40v40h-40z")
            .what
            .contains("another")
    );
    assert!(
        cut("M0 0h40v40h-40z M40 10h9v9h-9z")
            .what
            .contains("another")
    );
}

#[test]
fn nothing_and_next_to_nothing_is_no_outline() {
    assert!(cut("M0 0h0.05v0.05z").what.contains("0.05 mm by 0.05 mm"));
    assert!(cut("M0 0h50z").what.contains("encloses nothing"));
    assert!(cut("M5 5z").what.contains("no length"));
    assert!(
        refused("<rect width='0' height='50'/>")
            .what
            .contains("encloses nothing")
    );
    assert!(
        refused("<circle r='9' transform='scale(0)'/>")
            .what
            .contains("no length")
    );
    assert!(refused("").what.contains("no closed outline"));
    assert!(refused("<g data-piece='a'/>").what.contains("no cut line"));
}

#[test]
fn what_is_too_large_is_refused_wherever_it_is() {
    assert!(cut("M0 0h1e9v1z").what.contains("100 m"));
    assert!(
        refused("<rect width='9' height='9' transform='scale(1e6)'/>")
            .what
            .contains("100 m")
    );
    assert!(
        refused("<rect width='9' height='9' transform='skewX(90)'/>")
            .what
            .contains("100 m")
    );
    for far in [
        "M0 0Q9 2e5 9 0z",
        "M0 0C2e5 0 9 9 9 0z",
        "M0 0C9 9 2e5 0 9 0z",
    ] {
        assert!(cut(far).what.contains("100 m"), "{far}");
    }
    let huge = "<rect width='9' height='9' transform='scale(1e300) scale(1e300)'/>";
    assert!(refused(huge).what.contains("100 m"));
    let twice = "<path d='M0 0h1e308h1e308v1z'/>";
    assert!(refused(twice).what.contains("100 m"));
}

#[test]
fn a_bad_transform_is_a_fault() {
    for transform in ["turn(3)", "rotate(a)", "scale(1", "translate(NaN)"] {
        let body = format!("<rect width='9' height='9' transform='{transform}'/>");
        assert!(refused(&body).what.contains("transform"), "{transform}");
    }
    assert!(
        refused("<g transform='translate(5' />")
            .what
            .contains("transform")
    );
}

#[test]
fn a_cutout_must_lie_in_its_piece_and_in_no_other_cutout() {
    let hole = |x: i32| format!("<circle class='cutout' cx='{x}' cy='50' r='9'/>");
    assert_eq!(pattern(&square(&hole(50))).pieces[0].cutouts.len(), 1);
    assert!(
        refused(&square(&hole(150)))
            .what
            .contains("outside its piece")
    );
    assert!(
        refused(&square(&hole(100)))
            .what
            .contains("crosses or touches another")
    );
    let within = hole(50) + "<circle class='cutout' cx='50' cy='50' r='3'/>";
    assert!(refused(&square(&within)).what.contains("within a cutout"));
    assert!(
        cut("M0 0h90v90h-90z M9 9h50v50h-50z M19 19h9v9h-9z")
            .what
            .contains("within")
    );
    let second = "<circle class='cut' cx='50' cy='50' r='3'/>";
    assert!(refused(&square(second)).what.contains("within another"));
}

#[test]
fn a_notch_must_be_a_straight_stroke_at_the_line() {
    let notch = |data: &str| refused(&square(&format!("<path class='notch' d='{data}'/>"))).what;
    assert!(notch("M1.1 50h5").contains("1.1 mm away"));
    assert!(notch("M0 50h0").contains("no length"));
    assert!(notch("M0 50z").contains("not one straight"));
    assert!(notch("M0 50h5v5").contains("not one straight"));
    assert!(notch("M0 50l5 2l-5 2z").contains("not one straight"));
}

#[test]
fn pieces_do_not_nest_and_do_not_share_a_name() {
    let nested = square("").replace("<rect", "<g id='piece-b'/><rect");
    assert!(
        refused(&nested)
            .what
            .contains("\"b\" is within the piece \"a\"")
    );
    assert!(refused(&square("").repeat(2)).what.contains("two pieces"));
    assert!(
        refused("<g class='piece'/>")
            .what
            .contains("without a name")
    );
    assert!(
        refused("<g data-piece='a' data-cut='two'/>")
            .what
            .contains("data-cut")
    );
}
