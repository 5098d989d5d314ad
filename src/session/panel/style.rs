//! How the panel looks: lamp-black ground, chalk, and as little else as can be.
//!
//! Read from a metre and a half by eyes used to light on a dark table: letters
//! are the same as on the table, 18 pt and more, key facts 26. Colour never says
//! anything alone: a warning has its sign, what is chosen its bar, what has the
//! keyboard its doubled frame.

use crate::light;
use egui::{
    Color32, Context, CornerRadius, FontData, FontFamily, FontId, FontInsert, FontPriority,
    InsertFontFamily, Margin, Stroke, TextStyle, Theme, Visuals, vec2,
};

pub const GROUND: Color32 = Color32::from_rgb(0x12, 0x14, 0x16);
pub const RAISED: Color32 = Color32::from_rgb(0x1f, 0x22, 0x25);
pub const RULE: Color32 = Color32::from_rgb(0x45, 0x4a, 0x4e);
pub const CHALK: Color32 = Color32::from_rgb(0xf2, 0xee, 0xe3);
/// Of second rank; 7 : 1 on the ground.
pub const DIM: Color32 = Color32::from_rgb(0xaa, 0xa5, 0x99);
pub const WARN: Color32 = Color32::from_rgb(0xf4, 0xbb, 0x52);
/// Where the keyboard is.
pub const HERE: Color32 = Color32::from_rgb(0x8f, 0xc4, 0xff);

/// Sizes of letters, pt at scale 1.
pub const BODY: f32 = 18.0;
pub const FACT: f32 = 26.0;
/// Keys beside a control: they are told in full size on the key sheet.
pub const CAP: f32 = 15.0;

/// Letters of a size.
pub fn letters(size: f32) -> FontId {
    FontId::new(size, FontFamily::Proportional)
}

/// Dresses a window's context; once, before the panel is first shown.
pub fn dress(ctx: &Context) {
    let family = |family| InsertFontFamily {
        family,
        priority: FontPriority::Highest,
    };
    ctx.add_font(FontInsert::new(
        "table",
        FontData::from_static(light::FONT),
        vec![family(FontFamily::Proportional)],
    ));
    ctx.set_theme(Theme::Dark);
    ctx.all_styles_mut(|style| {
        style.text_styles = [
            (TextStyle::Small, letters(BODY)),
            (TextStyle::Body, letters(BODY)),
            (TextStyle::Button, letters(BODY)),
            (TextStyle::Monospace, letters(BODY)),
            (TextStyle::Heading, letters(FACT)),
        ]
        .into();
        style.visuals = visuals();
        // Still when idle: nothing fades or slides.
        style.animation_time = 0.0;
        style.interaction.selectable_labels = false;
        let s = &mut style.spacing;
        s.item_spacing = vec2(10.0, 8.0);
        s.interact_size.y = 26.0;
        s.slider_width = 190.0;
        s.slider_rail_height = 4.0;
        s.scroll.floating = false;
        s.scroll.bar_width = 8.0;
        s.scroll.bar_inner_margin = 8.0;
        s.window_margin = Margin::same(12);
    });
}

fn visuals() -> Visuals {
    let mut v = Visuals::dark();
    v.override_text_color = Some(CHALK);
    v.panel_fill = GROUND;
    v.window_fill = GROUND;
    v.extreme_bg_color = RAISED;
    v.selection.bg_fill = Color32::from_rgb(0x2f, 0x4a, 0x66);
    v.selection.stroke = Stroke::new(2.0, HERE);
    v.slider_trailing_fill = true;
    let states = [
        (&mut v.widgets.noninteractive, RULE, 1.0),
        (&mut v.widgets.inactive, DIM, 1.0),
        (&mut v.widgets.hovered, CHALK, 1.5),
        (&mut v.widgets.active, HERE, 2.0),
        (&mut v.widgets.open, CHALK, 1.5),
    ];
    for (w, line, width) in states {
        w.bg_fill = RAISED;
        w.weak_bg_fill = RAISED;
        w.bg_stroke = Stroke::new(width, line);
        w.fg_stroke = Stroke::new(width, line);
        w.corner_radius = CornerRadius::ZERO;
        w.expansion = 0.0;
    }
    v.widgets.noninteractive.bg_fill = GROUND;
    // The knob of a slider.
    v.widgets.inactive.bg_fill = DIM;
    v.widgets.hovered.bg_fill = CHALK;
    v.widgets.active.bg_fill = HERE;
    v
}
