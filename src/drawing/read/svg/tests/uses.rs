//! Shapes, groups and symbols used again.

use super::{in_square, page, parse, pattern, piece, refused, square};
use crate::space::Point;

#[test]
fn a_shape_used_stands_where_the_use_puts_it() {
    let piece = in_square(
        "<defs><circle id='hole' cx='1' cy='1' r='1'/></defs>\
         <use class='drill' xlink:href='#hole' x='9' y='19'/>\
         <use class='drill' href='#hole' transform='scale(2)' x='9' y='19'/>",
    );
    assert_eq!(
        piece.drills,
        [Point::new(-40.0, 30.0), Point::new(-30.0, 10.0)]
    );
}

#[test]
fn the_role_of_the_use_stands_before_that_of_the_shape() {
    let piece = in_square(
        "<path id='line1' d='M10 10h5'/><use href='#line1' data-role='fold' y='-10'/>\
         <g class='net'><use href='#line1' y='9'/></g>",
    );
    assert_eq!(
        (piece.lines.len(), piece.folds.len(), piece.net.len()),
        (2, 1, 0)
    );
}

#[test]
fn a_symbol_fits_its_viewbox_into_the_uses_size() {
    let piece = in_square(
        "<symbol id='s' viewBox='0 0 10 10'><path class='drill' d='M5 5z'/></symbol>\
         <use href='#s' x='20' y='40' width='20' height='40'/>",
    );
    assert_eq!(piece.drills, [Point::new(-20.0, -10.0)]);
    // Without a size it takes that of the page.
    let whole = in_square(
        "<symbol id='s' viewBox='0 0 10 10'><path class='drill' d='M1 1z'/></symbol>\
         <use href='#s'/>",
    );
    assert_eq!(whole.drills, [Point::new(0.0, 0.0)]);
}

#[test]
fn a_piece_group_can_be_used_and_a_plain_use_names_its_piece() {
    let body = format!(
        "<defs>{}</defs><use href='#p'/>",
        square("").replacen("<g", "<g id='p'", 1)
    );
    assert_eq!(piece(&body).name, "a");
    let body = "<defs><rect id='r' width='9' height='9'/></defs>\
        <use href='#r' id='left'/><use href='#r' id='right' x='20'/>";
    let names: Vec<_> = pattern(body).pieces.into_iter().map(|p| p.name).collect();
    assert_eq!(names, ["left", "right"]);
}

#[test]
fn a_use_of_itself_is_a_fault() {
    for body in [
        "<use id='a' href='#a'/>",
        "<g id='a'><use href='#a'/></g>",
        "<defs><g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g></defs><use href='#a'/>",
    ] {
        assert!(refused(body).what.contains("repeats itself"), "{body}");
    }
}

#[test]
fn uses_of_uses_that_multiply_are_refused() {
    let mut body = "<path id='u0' d='M0 0h1'/>".to_owned();
    for level in 1..20 {
        let under = level - 1;
        body += &format!("<g id='u{level}'><use href='#u{under}'/><use href='#u{under}'/></g>");
    }
    assert!(refused(&body).what.contains("too often"));
    let mut deep = "<path id='u0' d='M0 0h1'/><defs>".to_owned();
    for level in 1..40 {
        deep += &format!("<use id='u{level}' href='#u{}'/>", level - 1);
    }
    assert!(
        refused(&(deep + "</defs><use href='#u39'/>"))
            .what
            .contains("too deep")
    );
}

#[test]
fn a_large_shape_used_over_and_over_runs_out_of_points() {
    let path = format!("<path id='p' d='M0 0{}'/>", "h1".repeat(100_000));
    let body = path + &"<use href='#p'/>".repeat(1000);
    assert!(refused(&body).what.contains("4 million points"));
    let blank = format!("<path id='p' d='{}'/>", " ".repeat(1_000_000));
    let body = blank + &"<use href='#p'/>".repeat(1000);
    assert!(refused(&body).what.contains("5 million elements"));
}

#[test]
fn what_is_elsewhere_or_missing_is_listed_and_never_followed() {
    let pattern = pattern(&square(
        "<use href='other.svg#a'/><use href='file:///etc/passwd'/><use href='#none'/><use/>",
    ));
    assert_eq!(pattern.left_out.len(), 4, "{:?}", pattern.left_out);
    assert!(pattern.left_out[1].contains("file:///etc/passwd"));
}

#[test]
fn a_switch_draws_its_first_choice_that_can_be_drawn() {
    let body = "<switch><foreignObject requiredExtensions='x'/><g>CUT</g><g>CUT</g></switch>";
    let body = body.replace("CUT", "<rect width='9' height='9'/>");
    assert!(parse(page(&body).as_bytes()).is_ok_and(|p| p.pieces.len() == 1));
}
