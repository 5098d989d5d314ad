//! Pieces by article and cloth: what is laid, what is still to lay, and a way to
//! lay it or take it in hand.

use super::press::press;
use super::style::{BODY, CHALK, DIM, WARN, letters};
use super::view::{PanelView, Wish};
use crate::cloth::Panel;
use crate::lay::Count;
use crate::lay::Face;
use crate::lay::Placement;
use crate::work::Act;
use crate::work::Id;
use crate::work::Seek;
use egui::{RichText, Role, Sense, Stroke, Ui, WidgetInfo, vec2};

/// More dots than this are told in figures only.
const DOTS: u32 = 10;

/// The leaf.
pub fn leaf(ui: &mut Ui, view: &PanelView, wishes: &mut Vec<Wish>) {
    let counts = view.bench.counts();
    if counts.is_empty() {
        let words =
            "The job orders nothing yet: name its articles and their parts in the job file.";
        ui.label(RichText::new(words).color(DIM));
        return;
    }
    let open: u32 = counts.iter().map(Count::open).sum();
    let wrong = counts.iter().any(|c| c.too_much().is_some());
    let words = match open {
        0 if wrong => "laid otherwise than ordered".to_owned(),
        0 => "all is laid".to_owned(),
        n => format!("{n} still to lay"),
    };
    ui.heading(words);
    if open > 0 {
        let free = view.bench.doing().is_laying();
        let all = press("find places for all still to lay")
            .key("Shift+N")
            .wide();
        if all.off(!free).show(ui) {
            wishes.push(Wish::Act(Act::Seek(Seek::Open)));
        }
    }
    let mut article = "";
    for count in &counts {
        if count.article != article {
            article = count.article;
            ui.add_space(8.0);
            ui.label(RichText::new(format!("article {article}")).color(DIM));
            ui.separator();
        }
        part(ui, view, count, wishes);
        ui.add_space(4.0);
    }
}

fn part(ui: &mut Ui, view: &PanelView, count: &Count, wishes: &mut Vec<Wish>) {
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(&count.part.piece));
        ui.label(RichText::new(&count.part.cloth).color(DIM));
        dots(ui, count);
    });
    if let Some((what, remedy)) = count.too_much() {
        ui.label(RichText::new(format!("{what}; {remedy}")).color(WARN));
    }
    let panels = &view.bench.state().panels;
    let laid: Vec<(Id, &Placement, &Panel)> = view
        .bench
        .state()
        .placed
        .iter()
        .filter(|(_, p)| p.article == count.article && p.piece == count.part.piece)
        .filter_map(|(id, p)| Some((*id, p, panels.iter().find(|q| q.name == p.panel)?)))
        .filter(|(_, _, q)| q.cloth == count.part.cloth)
        .collect();
    ui.horizontal_wrapped(|ui| {
        for (k, (id, p, panel)) in laid.iter().enumerate() {
            let n = k + 1;
            let shown = match (p.face, panel.spread) {
                (Face::Up, true) => format!("{n} as drawn"),
                (Face::Down, true) => format!("{n} mirrored"),
                (_, false) => format!("{n} put away"),
            };
            let name = format!(
                "hold {} {} in {}, the {} laid ({shown})",
                p.piece,
                p.article,
                panel.cloth,
                ordinal(n)
            );
            let chip = press(&shown)
                .named(name)
                .chosen(Role::RadioButton, view.bench.held() == Some(*id))
                .warns(view.wrong.iter().any(|w| w.id == *id))
                .off(!panel.spread);
            if chip.show(ui) {
                wishes.push(Wish::Act(Act::Hold(*id)));
            }
        }
        if count.open() == 0 {
            return;
        }
        let spread = panels
            .iter()
            .filter(|q| q.cloth == count.part.cloth && q.spread);
        for panel in spread {
            let shown = format!("+ on {}", panel.name);
            let name = format!(
                "lay {} {} on {}",
                count.part.piece, count.article, panel.name
            );
            if press(&shown).named(name).show(ui) {
                wishes.push(Wish::Act(Act::Lay {
                    article: count.article.to_owned(),
                    piece: count.part.piece.clone(),
                    panel: panel.name.clone(),
                }));
            }
        }
    });
}

/// One dot for each that is ordered: filled if it is laid; then in figures.
fn dots(ui: &mut Ui, count: &Count) {
    let (all, of) = (count.all(), count.part.count);
    let laid = all.sum();
    let mut words = format!("{laid} of {of}");
    if count.part.pair {
        words += &format!(", {} as drawn, {} mirrored", all.up, all.down);
    }
    if of <= DOTS {
        let (rect, response) = ui.allocate_exact_size(vec2(14.0 * of as f32, BODY), Sense::hover());
        let name = format!("{laid} laid of {of}");
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &name));
        for k in 0..of {
            let at = rect.left_center() + vec2(7.0 + 14.0 * k as f32, 1.0);
            if k < laid {
                ui.painter().circle_filled(at, 4.5, CHALK);
            } else {
                let ring = Stroke::new(1.5, DIM);
                ui.painter().circle_stroke(at, 4.0, ring);
            }
        }
    }
    ui.label(RichText::new(words).font(letters(BODY)).color(DIM));
}

fn ordinal(n: usize) -> String {
    let end = match (n % 10, n % 100) {
        (1, r) if r != 11 => "st",
        (2, r) if r != 12 => "nd",
        (3, r) if r != 13 => "rd",
        _ => "th",
    };
    format!("{n}{end}")
}

#[cfg(test)]
mod tests {
    use super::ordinal;

    #[test]
    fn the_first_and_the_eleventh() {
        let all = [1, 2, 3, 4, 11, 12, 13, 21, 112].map(ordinal);
        assert_eq!(all.join(" "), "1st 2nd 3rd 4th 11th 12th 13th 21st 112th");
    }
}
