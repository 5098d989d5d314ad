//! From setting the table to its page of light.

use super::pen::{Line, Pen};
use crate::calibration::vernier::{lit, pixel_along};
use crate::fault::Outcome;
use crate::light::Letters;
use crate::light::setting as page;
use crate::light::setting::{CodeRaster, Page};
use crate::projection::{Mapping, Upright};
use crate::render::{Drawn, draw};
use crate::scene::Level;
use crate::shape::Region;
use crate::space::{Bounds, Point, Table, Vector};
use crate::stand::Side;
use crate::work::setting::{Pace, Setting, Step};

/// Height of a capital on the check picture, mm.
const LETTERS: f64 = 14.0;

/// Width of a board's outline, mm: the board's lower edge lies along its middle.
const OUTLINE: f64 = 1.6;

/// From a vernier mark's middle to the words about it, mm: clear of its sheet.
const ASIDE: f64 = 90.0;

/// What the projector shows: pixels, and over them figures.
#[derive(Debug, Clone)]
pub struct Lit {
    pub raster: Option<CodeRaster>,
    pub drawn: Vec<Drawn>,
}

/// The page of light for the step that setting is at, `minutes` after first
/// light. The machine is told how many pages its words take.
///
/// # Errors
/// If the bundled font can't be read.
pub fn setting_page(setting: &mut Setting, minutes: u32) -> Outcome<Lit> {
    let on = setting.upright();
    let one = match setting.step() {
        Step::Cautions => return words(setting, page::cautions(&on)?),
        Step::SwitchOff => return words(setting, page::first_words(&on)?),
        Step::HowToRead => return words(setting, page::how_to_read(&on)?),
        Step::Stripes => page::stripes(&on, page::Stripes::Look)?,
        Step::Count(axis) => page::stripes(&on, page::Stripes::Count(run(setting, axis)))?,
        Step::Pairs(axis) => page::stripes(&on, page::Stripes::Pairs(run(setting, axis)))?,
        Step::Wedge => page::wedge(&on)?,
        Step::Colours => page::colour_lines(&on)?,
        Step::Focus => page::focus(&on)?,
        Step::Read => page::reading_grid(&on)?,
        Step::Fine | Step::More => {
            let (mark, at, pace) = setting.cross();
            if let Some(aim) = setting.scales() {
                return scales(setting, aim, mark, pace);
            }
            page::cross(&on, at, mark, step(pace))?
        }
        Step::Check => return check(setting, &on),
        Step::Tape => {
            let lines = sentences(setting, minutes);
            let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
            page::mark_places(&on, near_left(setting.stands()), &lines)?
        }
        Step::Board if setting.board_corner().is_none() => {
            return board(setting, &on, minutes);
        }
        Step::Board => {
            let (corner, at, pace) = setting.cross();
            page::cross(&on, at, corner, step(pace))?
        }
        Step::Done => return done(setting, &on, minutes),
        Step::Stand | Step::Mirror | Step::Verdict => said(setting, &on, minutes)?,
    };
    setting.takes_sheets(1);
    Ok(drawn(&one))
}

fn run(setting: &Setting, axis: usize) -> page::Run {
    if setting.counted_across(axis) {
        page::Run::Away
    } else {
        page::Run::Across
    }
}

fn step(pace: Pace) -> page::Step {
    match pace {
        Pace::Ten => page::Step::Ten,
        Pace::One => page::Step::One,
        Pace::Tenth => page::Step::Tenth,
    }
}

/// A page of words, and its number if there are more.
fn words(setting: &mut Setting, pages: Vec<Page>) -> Outcome<Lit> {
    setting.takes_sheets(pages.len());
    Ok(pages.get(setting.sheet()).map_or(
        Lit {
            raster: None,
            drawn: Vec::new(),
        },
        drawn,
    ))
}

/// What the panel asks, in light at the person's own edge.
fn said(setting: &Setting, on: &Upright, minutes: u32) -> Outcome<Page> {
    let lines = sentences(setting, minutes);
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    page::say(&lines, on)
}

/// What the panel asks, as sentences, and how long the light has been on.
fn sentences(setting: &Setting, minutes: u32) -> Vec<String> {
    let ask = setting.asks();
    let mut lines = vec![ask.title.to_owned()];
    let warm = page::warm_up_words(minutes);
    lines.extend(ask.words.iter().chain([&warm]).map(|w| sentence(w)));
    lines
}

/// With a capital and a full stop.
fn sentence(words: &str) -> String {
    let mut chars = words.chars();
    let first = chars.next().into_iter().flat_map(char::to_uppercase);
    let stop = if words.ends_with(['?', '.']) { "" } else { "." };
    format!("{}{}{stop}", first.collect::<String>(), chars.as_str())
}

/// The mark at the near left of whoever stands at this side: marks count
/// counter-clockwise from the front left.
fn near_left(stands: Side) -> u32 {
    match stands {
        Side::Front => 1,
        Side::Right => 2,
        Side::Back => 3,
        Side::Left => 4,
    }
}

fn drawn(page: &Page) -> Lit {
    let [width, height] = page.picture;
    Lit {
        raster: page.raster.clone(),
        drawn: vec![draw(&page.figure(), &Mapping::pixels(), width, height)],
    }
}

/// The lit scales of a vernier mark, through the mapping of the marks so far.
fn scales(setting: &mut Setting, aim: Point<Table>, mark: u32, pace: Pace) -> Outcome<Lit> {
    setting.takes_sheets(1);
    let Some(mapping) = setting.mapping() else {
        return Ok(Lit {
            raster: None,
            drawn: Vec::new(),
        });
    };
    let mut pen = Pen::default();
    for stroke in pixel_along(&mapping, aim).map_or(Vec::new(), |px| lit(aim, px)) {
        pen.lit(Region::ring(stroke.corners().to_vec()), Level::FULL);
    }
    let words = [format!("mark {mark}"), format!("step {} px", pace.px())];
    let side = setting.stands();
    let beside = aim + side.to_table(Vector::new(0.0, ASIDE));
    pen.words(&mut Letters::new(LETTERS)?, &words, beside, side);
    Ok(through(&mapping, pen, setting.picture()))
}

/// What setting came to, and how true light is, on the table itself.
fn done(setting: &mut Setting, on: &Upright, minutes: u32) -> Outcome<Lit> {
    setting.takes_sheets(1);
    let mut all = drawn(&said(setting, on, minutes)?);
    let Some(mapping) = setting.mapping() else {
        return Ok(all);
    };
    let side = setting.stands();
    let errors = setting.true_to();
    // The words stand at the person's edge: figures beyond the middle only.
    let far = |p: Point<Table>| side.to_person(p.to_vector()).y;
    let (low, high) = errors.iter().fold((f64::MAX, f64::MIN), |(l, h), (p, _)| {
        (l.min(far(*p)), h.max(far(*p)))
    });
    let mut pen = Pen::default();
    let mut letters = Letters::new(LETTERS)?;
    for (p, mm) in errors.iter().filter(|(p, _)| far(*p) > (low + high) / 2.0) {
        let words = [setting.show_error(*mm)];
        pen.words(&mut letters, &words, *p, side);
    }
    all.drawn
        .extend(through(&mapping, pen, setting.picture()).drawn);
    Ok(all)
}

/// What is asked of the board, and its outline on the table.
fn board(setting: &mut Setting, on: &Upright, minutes: u32) -> Outcome<Lit> {
    setting.takes_sheets(1);
    let mut all = drawn(&said(setting, on, minutes)?);
    if let (Some(mapping), Some(outline)) = (setting.mapping(), setting.board_outline()) {
        let mut pen = Pen::default();
        pen.ring(&outline, Line::Solid, OUTLINE, Level::FULL);
        all.drawn
            .extend(through(&mapping, pen, setting.picture()).drawn);
    }
    Ok(all)
}

fn through(mapping: &Mapping, pen: Pen, [width, height]: [u32; 2]) -> Lit {
    let figure = pen.finish(0.0);
    Lit {
        raster: None,
        drawn: figure
            .iter()
            .map(|f| draw(f, mapping, width, height))
            .collect(),
    }
}

/// The check picture, through the mapping that it checks.
fn check(setting: &mut Setting, on: &Upright) -> Outcome<Lit> {
    setting.takes_sheets(1);
    let (Ok(square), Some(mapping)) = (setting.square(), setting.mapping()) else {
        // What is wrong is in the panel's words.
        let words: Vec<String> = setting.asks().words.iter().map(|w| sentence(w)).collect();
        let lines: Vec<&str> = words.iter().map(String::as_str).collect();
        return Ok(drawn(&page::say(&lines, on)?));
    };
    let bounds = Bounds::from_points(square.corners);
    let made = page::check_picture(bounds, setting.unit(), setting.stands(), LETTERS)?;
    let [width, height] = setting.picture();
    Ok(Lit {
        raster: None,
        drawn: vec![draw(&made.figure, &mapping, width, height)],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::Rect;
    use crate::space::{Table, Vector};
    use crate::stand::Hand;
    use crate::work::setting::{SettingAct, Start};

    #[test]
    fn the_mark_at_the_near_left_is_the_one_that_is_there() {
        // Marks 1 to 4 from the middle of the table.
        let marks: [Vector<Table>; 4] =
            [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(x, y)| Vector::new(x, y));
        for side in Side::ALL {
            let seen = side.to_person(marks[near_left(side) as usize - 1]);
            assert!(seen.x < 0.0 && seen.y < 0.0, "{side:?} {seen:?}");
        }
    }

    #[test]
    fn every_step_lights_something_and_no_page_of_words_is_passed_over() {
        let start = Start {
            picture: [640, 360],
            output: "HDMI-1".to_owned(),
            inches: false,
            stands: Side::Left,
            cuts: Hand::Left,
            mirror_rig: false,
            first_time: true,
        };
        let mut setting = Setting::new(start, None);
        let lit = |setting: &mut Setting| {
            let lit = setting_page(setting, 3).unwrap();
            let dark = lit.drawn.iter().all(|d| d.rect() == Rect::default());
            assert!(!dark || lit.raster.is_some(), "{:?}", setting.step());
        };
        let typed = |text: &str| SettingAct::Typed(text.to_owned());
        let mut cautions = 0;
        while setting.step() == Step::Cautions {
            lit(&mut setting);
            setting.answer(SettingAct::GoOn);
            cautions += 1;
        }
        let pages = page::cautions(&setting.upright()).unwrap();
        assert_eq!(cautions, pages.len());
        assert!(cautions > 1);
        let mut steps = Vec::new();
        let mut walk = |setting: &mut Setting, all: &[&[SettingAct]]| {
            for acts in all {
                acts.iter().for_each(|a| drop(setting.answer(a.clone())));
                lit(setting);
                steps.push(setting.step());
            }
        };
        // Nine columns and sixteen rows; the order is that of a mirror.
        let readings = ["B15 5 5", "B2 5 5", "H2 5 5", "H15 5 5"];
        walk(
            &mut setting,
            &[
                &[SettingAct::GoOn],
                &[SettingAct::Choose(1)],
                &[typed("9")],
                &[SettingAct::Choose(2)],
                &[typed("9")],
                &[SettingAct::Choose(2)],
                &[typed("8")],
                &[SettingAct::Choose(0)],
                &[SettingAct::GoOn],
                &[SettingAct::GoOn],
                &["600", "300", "670.8", "670.8"].map(typed),
                &[SettingAct::GoOn],
                &[SettingAct::GoOn],
                &readings.map(typed),
                &[SettingAct::GoOn],
                &[SettingAct::Choose(0)],
                &[SettingAct::GoOn],
            ],
        );
        let side = typed(&setting.square().unwrap().side.to_string());
        walk(
            &mut setting,
            &[
                &[side.clone(), side],
                &[SettingAct::GoOn],
                &[SettingAct::GoOn],
                &[SettingAct::Choose(0)],
                &[SettingAct::Back, SettingAct::Choose(1)],
            ],
        );
        let missed = Step::ALL.iter().filter(|s| !steps.contains(s));
        let missed: Vec<&Step> = missed.collect();
        assert_eq!(missed, [&Step::Cautions, &Step::SwitchOff], "{steps:?}");
    }
}
