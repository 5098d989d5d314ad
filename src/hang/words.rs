//! What follows from where the lens hangs, in sentences.
//!
//! Lengths that one hangs and drills by are told in the person's unit; pixels and errors, which
//! are parts of a millimetre, in millimetres.

use super::{HEAD, HELD, Hang, KNOWN, LEAN};
use crate::measure::Unit;
use crate::space::{Point, Table};

/// The length by which the error of a piece's size is told, mm.
const PIECE: f64 = 300.0;

/// A length that one hangs or drills by.
pub(super) fn long(unit: Unit, mm: f64) -> String {
    match unit {
        // Adding zero takes the sign off a zero.
        Unit::Mm => format!("{:.0} mm", mm.round() + 0.0),
        _ => unit.show(mm),
    }
}

/// An error or a pixel: never in inches, of which a sixteenth is too coarse for it.
fn fine(mm: f64) -> String {
    format!("{mm:.2} mm")
}

/// A distance from an edge of the table, `whole` being how far the one across from it is.
fn from_edge(unit: Unit, mm: f64, whole: f64, [edge, across]: [&str; 2]) -> String {
    if mm < 0.0 {
        return format!("{} outside the {edge} edge", long(unit, -mm));
    }
    let beyond = match mm > whole {
        true => format!(" (beyond the {across} edge)"),
        false => String::new(),
    };
    format!("{} from the {edge} edge{beyond}", long(unit, mm))
}

/// Where a place of the table is.
pub(super) fn place(h: &Hang, unit: Unit, p: Point<Table>) -> String {
    let [along, away] = h.wanted.table;
    let y = from_edge(unit, p.y, away, ["near", "far"]);
    let x = from_edge(unit, p.x, along, ["left", "right"]);
    format!("{y} and {x}")
}

/// All of it, a sentence or a few each.
pub fn told(h: &Hang, unit: Unit) -> Vec<String> {
    let mut all = vec![lens(h, unit), picture(h, unit), covered(h, unit)];
    all.extend(shadow(h, unit));
    all.push(work(h, unit));
    all.push(thickness(h, unit));
    all.extend(tilted(h));
    all.push(mount(h, unit));
    all
}

fn lens(h: &Hang, unit: Unit) -> String {
    let up = long(unit, h.lens.height);
    let floor = long(unit, h.above_floor());
    let hang = match h.proposed {
        true => format!(
            "Proposed: hang the lens {up} above the table, {floor} above the floor; the picture \
             covers the table from there with 5 % to spare."
        ),
        false => format!("The lens hangs {up} above the table, {floor} above the floor."),
    };
    let foot = place(h, unit, h.lens.foot);
    let off = match h.wanted.offset > 0.0 {
        true => format!(
            ", which lies {} to the {} side of the picture's middle by the lens offset",
            long(unit, h.wanted.offset * h.size[1]),
            h.side.word()
        ),
        false => String::new(),
    };
    format!(
        "{hang} Its foot, the place straight below it{off}, is {foot}: then the picture's middle \
         is the table's."
    )
}

fn picture(h: &Hang, unit: Unit) -> String {
    let [wide, high] = h.size.map(|mm| long(unit, mm));
    let way = match h.side.is_across() {
        true => "its width along the near edge",
        false => "its width away from you",
    };
    let [x, y] = h.pixel();
    format!(
        "The picture is {wide} by {high}, {way}; a pixel is {} along the near edge by {} away from \
         you, half a pixel {}.",
        fine(x),
        fine(y),
        fine(x.max(y) / 2.0)
    )
}

fn covered(h: &Hang, unit: Unit) -> String {
    let beyond = h.beyond();
    let names = ["left", "right", "near", "far"];
    let missing = missing(h, unit);
    if missing.is_empty() {
        let each = names.iter().zip(beyond);
        let each: Vec<String> = each
            .map(|(name, mm)| format!("{} {name}", long(unit, mm)))
            .collect();
        return format!(
            "It covers the table and reaches beyond it by {}.",
            each.join(", ")
        );
    }
    format!("It does not cover the table's {}.", missing.join(", "))
}

/// Stretches of the table that aren't covered; less than can be seen is not told.
fn missing(h: &Hang, unit: Unit) -> Vec<String> {
    let names = ["left", "right", "near", "far"];
    let each = names.iter().zip(h.beyond()).filter(|(_, mm)| *mm < -0.5);
    each.map(|(name, mm)| format!("{name} {}", long(unit, -mm)))
        .collect()
}

/// The oval that the head takes the light from.
fn shadow(h: &Hang, unit: Unit) -> Option<String> {
    let reach = h.head.reach(&h.lens)?;
    let oval = h.head.oval(&h.lens)?;
    let long = |mm: f64| long(unit, mm);
    let edge = |mm: f64| match mm < 0.0 {
        true => format!("{} outside the near edge", long(-mm)),
        false => format!("{} from it", long(mm)),
    };
    Some(format!(
        "A head whose top is {} above the floor, {} across, that leans over the near edge by {} \
         throws an oval shadow of {} by {}: from {} to {}.",
        long(h.wanted.person),
        long(2.0 * HEAD),
        long(LEAN),
        long(2.0 * oval.half[0]),
        long(2.0 * oval.half[1]),
        edge(reach.min.y),
        edge(reach.max.y)
    ))
}

/// Whether hands work in the light, and what would give it to them.
fn work(h: &Hang, unit: Unit) -> String {
    let long = |mm: f64| long(unit, mm);
    let [from, to] = h.work();
    let here = format!(
        "The place where hands work, {} to {} from the near edge in its middle,",
        long(from),
        long(to)
    );
    let hand = format!(
        "What is held {} above the cloth there throws its shadow {} beside itself, away from the \
         lens' foot.",
        long(HELD),
        long(h.held())
    );
    let Some([first, last]) = h.hidden() else {
        return format!("{here} is clear of the head's shadow. {hand}");
    };
    let dark = match first <= from && last >= to {
        true => "lies wholly in the head's shadow".to_owned(),
        false => format!(
            "lies in the head's shadow from {} to {}",
            long(first),
            long(last)
        ),
    };
    let Some(freed) = h.freed() else {
        return format!("{here} {dark}, and no lens further to the far edge frees it. {hand}");
    };
    let offset = freed.offset.map_or(String::new(), |share| {
        let side = if share < 0.0 { "near" } else { "far" };
        format!(
            "by a lens offset of {:.0} % with the lens on the {side} side, if its optics have \
             that, or ",
            share.abs() * 100.0
        )
    });
    format!(
        "{here} {dark}. A lens {} further to the far edge, its foot {}, frees it. The picture is \
         then brought back {offset}by a tilt of {:.0} degrees, if there is no other way: a tilted \
         picture is a trapezoid, and sharp at one end only. {hand}",
        long(freed.shift),
        place(h, unit, freed.foot),
        freed.tilt.to_degrees()
    )
}

fn thickness(h: &Hang, unit: Unit) -> String {
    let (_, far) = h.corner();
    let thick = h.wanted.thick;
    let stack = Unit::Mm.show(thick);
    format!(
        "Thick cloth: at the table's corner farthest from the foot, {} away, light lands {} short \
         on cloth of 1 mm and {} short on {stack}. A length of {PIECE:.0} mm comes out {} short on \
         {stack}, anywhere. Corrected, with the lens' place known to {KNOWN:.0} mm, at most {} is left \
         at that corner.",
        long(unit, far),
        fine(h.lands_short(far, 1.0)),
        fine(h.lands_short(far, thick)),
        fine(h.lands_short(PIECE, thick)),
        fine(h.left(far, thick)),
    )
}

fn tilted(h: &Hang) -> Option<String> {
    let [moved, differs] = h.one_degree()?;
    Some(format!(
        "One degree of tilt moves the picture's middle by {moved:.1} mm and makes one edge \
         {differs:.1} mm longer than the one across from it: let the mount hold it fast, and \
         set the table anew after every touch."
    ))
}

/// What is for the makers of mount and projector to say; none of it is known here.
fn mount(h: &Hang, unit: Unit) -> String {
    let room = h.wanted.ceiling.map(|mm| mm - h.above_floor());
    let room = match room.filter(|mm| *mm >= 0.0) {
        Some(mm) => format!("From the lens to the ceiling are {}. ", long(unit, mm)),
        None => String::new(),
    };
    format!(
        "{room}What the mount and what it is fixed to must carry, and what room they take above \
         the lens, is in their makers' data sheets; it is not known here."
    )
}

/// What speaks against hanging it so, a sentence each.
pub fn warnings(h: &Hang, unit: Unit) -> Vec<String> {
    let long = |mm: f64| long(unit, mm);
    let mut all = Vec::new();
    if let Some(ceiling) = h.wanted.ceiling.filter(|mm| *mm < h.above_floor()) {
        let most = ceiling - h.wanted.table_height;
        // From the ceiling it would be as large if the throw ratio were less by as much; told
        // a little smaller, never larger.
        let throw = (h.wanted.throw * most / h.lens.height * 100.0).floor() / 100.0;
        all.push(format!(
            "the lens would hang {} above the floor, and the ceiling is {} above it: the same \
             picture takes a throw ratio below {throw:.2}",
            long(h.above_floor()),
            long(ceiling)
        ));
    }
    if !h.head.is_below(&h.lens) {
        all.push(format!(
            "the lens hangs {} above the floor, no higher than the head's top: its light meets \
             the eyes, and the head's shadow has no end; hang it higher",
            long(h.above_floor())
        ));
    }
    let missing = missing(h, unit);
    if !missing.is_empty() {
        all.push(format!(
            "the table is not covered: {} stays dark",
            missing.join(", ")
        ));
    }
    all
}
