//! Ink on paper: the sheet's own colours and type for everything that the window shows.

use crate::sheet::font;
use crate::sheet::style::PAPER;
use bevy_egui::egui::{
    self, Color32, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin, Stroke,
    TextStyle, Vec2,
};
use std::sync::Arc;

/// Which paper lies on the table.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    #[default]
    Light,
    /// The same inks turned over in lightness, hue kept.
    Dark,
}

/// Millimetres of the sheet to points of the screen at text scale 1.
pub const POINTS_PER_MM: f64 = 4.3;

/// "#rrggbb" as a colour on a paper.
#[must_use]
pub fn colour(hex: &str, paper: Paper) -> Color32 {
    let value = u32::from_str_radix(hex.trim_start_matches('#'), 16).unwrap_or(0);
    let [_, r, g, b] = value.to_be_bytes();
    match paper {
        Paper::Light => Color32::from_rgb(r, g, b),
        Paper::Dark => turned_over([r, g, b]),
    }
}

/// Lightness turned over in Oklab (B. Ottosson 2020), so that contrast stays and hues keep their
/// meaning; the paper itself becomes a warm near-black.
fn turned_over(rgb: [u8; 3]) -> Color32 {
    let linear = |v: u8| {
        let v = f64::from(v) / 255.0;
        if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        }
    };
    let [r, g, b] = rgb.map(linear);
    let l = (0.412_221_470_8 * r + 0.536_332_536_3 * g + 0.051_445_992_9 * b).cbrt();
    let m = (0.211_903_498_2 * r + 0.680_699_545_1 * g + 0.107_396_956_6 * b).cbrt();
    let s = (0.088_302_461_9 * r + 0.281_718_837_6 * g + 0.629_978_700_5 * b).cbrt();
    let light = 0.210_454_255_3 * l + 0.793_617_785_0 * m - 0.004_072_046_8 * s;
    let a = 1.977_998_495_1 * l - 2.428_592_205_0 * m + 0.450_593_709_9 * s;
    let hue_b = 0.025_904_037_1 * l + 0.782_771_766_2 * m - 0.808_675_766_0 * s;
    // ink at 0.24 becomes 0.91, paper at 0.97 becomes 0.23
    let light = 1.13 - 0.925 * light;
    let l = (light + 0.396_337_777_4 * a + 0.215_803_757_3 * hue_b).powi(3);
    let m = (light - 0.105_561_345_8 * a - 0.063_854_172_8 * hue_b).powi(3);
    let s = (light - 0.089_484_177_5 * a - 1.291_485_548_0 * hue_b).powi(3);
    let coded = |v: f64| {
        let v = v.clamp(0.0, 1.0);
        let v = if v <= 0.003_130_8 {
            v * 12.92
        } else {
            1.055 * v.powf(1.0 / 2.4) - 0.055
        };
        (v * 255.0).round() as u8
    };
    Color32::from_rgb(
        coded(4.076_741_662_1 * l - 3.307_711_591_3 * m + 0.230_969_929_2 * s),
        coded(-1.268_438_004_6 * l + 2.609_757_401_1 * m - 0.341_319_396_5 * s),
        coded(-0.004_196_086_3 * l - 0.703_418_614_7 * m + 1.707_614_701_0 * s),
    )
}

/// The inks that panels use.
#[derive(Clone, Copy, Debug)]
pub struct Inks {
    pub paper: Color32,
    /// A shade of the paper: fields, what is pointed at.
    pub shade: Color32,
    /// Behind what is chosen.
    pub chosen: Color32,
    /// A box to tick, a rail.
    pub hollow: Color32,
    pub rule: Color32,
    pub ink: Color32,
    pub faint: Color32,
    pub light: Color32,
    pub sun: Color32,
    pub route: Color32,
    pub warn: Color32,
}

impl Paper {
    #[must_use]
    pub fn inks(self) -> Inks {
        let c = |hex| colour(hex, self);
        Inks {
            paper: c(PAPER),
            shade: c("#efe8d6"),
            chosen: c("#d3dfe0"),
            hollow: c("#e0d8c3"),
            rule: c("#b9b2a0"),
            ink: c("#1f1e1b"),
            faint: c("#66625a"),
            light: c("#1c6487"),
            sun: c("#a8560c"),
            route: c("#7a1f5c"),
            warn: c("#8c2f1b"),
        }
    }
}

/// Bold cut at a size in points.
#[must_use]
pub fn bold(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name("bold".into()))
}

/// Oblique cut at a size in points.
#[must_use]
pub fn oblique(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name("oblique".into()))
}

/// The sheet's type in its three cuts.
#[must_use]
pub fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    let fallback = fonts
        .families
        .get(&FontFamily::Proportional)
        .cloned()
        .unwrap_or_default();
    for (name, bytes) in ["regular", "bold", "oblique"]
        .into_iter()
        .zip(font::files())
    {
        fonts
            .font_data
            .insert(name.into(), Arc::new(FontData::from_static(bytes)));
        let mut list = vec![name.to_owned()];
        list.extend(fallback.iter().cloned());
        fonts.families.insert(FontFamily::Name(name.into()), list);
    }
    let regular = fonts.families[&FontFamily::Name("regular".into())].clone();
    fonts
        .families
        .insert(FontFamily::Proportional, regular.clone());
    fonts.families.insert(FontFamily::Monospace, regular);
    fonts
}

/// Sets type and colours of the whole window.
pub fn dress(ctx: &egui::Context, paper: Paper) {
    let inks = paper.inks();
    ctx.set_theme(match paper {
        Paper::Light => egui::Theme::Light,
        Paper::Dark => egui::Theme::Dark,
    });
    // a press that does not move is a click, however long a slow frame makes it last
    ctx.options_mut(|o| o.input_options.max_click_duration = f64::INFINITY);
    ctx.all_styles_mut(|style| {
        style.text_styles = [
            (TextStyle::Small, FontId::proportional(11.0)),
            (TextStyle::Body, FontId::proportional(13.0)),
            (TextStyle::Button, FontId::proportional(13.0)),
            (TextStyle::Monospace, FontId::proportional(13.0)),
            (TextStyle::Heading, bold(16.0)),
        ]
        .into();
        style.spacing.item_spacing = Vec2::new(7.0, 4.0);
        style.spacing.button_padding = Vec2::new(6.0, 2.0);
        style.spacing.interact_size = Vec2::new(30.0, 20.0);
        style.spacing.menu_margin = Margin::same(8);
        // nothing moves or flashes by itself
        style.animation_time = 0.0;
        style.scroll_animation = egui::style::ScrollAnimation::none();
        // Half-transparent colours are premultiplied as coded values and blended as linear ones, so
        // paper laid half over paper comes out grey: nothing here is half transparent.
        style.spacing.scroll.fade.strength = 0.0;
        style.spacing.scroll.floating = false;
        // the handle is a line of ink
        style.spacing.scroll.bar_width = 3.0;
        style.interaction.tooltip_delay = 0.6;
        style.interaction.selectable_labels = true;
        let v = &mut style.visuals;
        v.dark_mode = paper == Paper::Dark;
        v.panel_fill = inks.paper;
        v.window_fill = inks.paper;
        v.extreme_bg_color = inks.shade;
        v.faint_bg_color = inks.shade;
        v.override_text_color = Some(inks.ink);
        v.window_stroke = Stroke::new(1.2, inks.ink);
        v.window_corner_radius = CornerRadius::ZERO;
        v.menu_corner_radius = CornerRadius::ZERO;
        v.window_shadow = egui::Shadow::NONE;
        v.popup_shadow = egui::Shadow::NONE;
        v.selection.bg_fill = inks.chosen;
        v.selection.stroke = Stroke::new(1.0, inks.ink);
        v.hyperlink_color = inks.light;
        v.weak_text_color = Some(inks.faint);
        v.error_fg_color = inks.warn;
        v.warn_fg_color = inks.sun;
        v.text_cursor.blink = false;
        v.button_frame = true;
        let w = &mut v.widgets;
        for (visuals, fill, line) in [
            (&mut w.noninteractive, inks.paper, inks.rule),
            // what can be pressed or filled in has a thin line round it
            (&mut w.inactive, inks.paper, inks.rule),
            (&mut w.hovered, inks.shade, inks.faint),
            (&mut w.active, inks.shade, inks.ink),
            (&mut w.open, inks.shade, inks.ink),
        ] {
            visuals.bg_fill = fill;
            visuals.weak_bg_fill = fill;
            visuals.bg_stroke = Stroke::new(1.0, line);
            visuals.fg_stroke = Stroke::new(1.0, inks.ink);
            visuals.corner_radius = CornerRadius::ZERO;
            visuals.expansion = 0.0;
        }
        // what is off fades, and paper that fades goes grey: words to press have no ground
        w.inactive.weak_bg_fill = Color32::TRANSPARENT;
        // boxes to tick, and what a handle slides along
        w.inactive.bg_fill = inks.hollow;
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast of words on paper by WCAG 2.1 (published), both papers: at least 4.5 for words.
    #[test]
    fn words_can_be_read_on_both_papers() {
        let luminance = |c: Color32| {
            let [r, g, b] = [c.r(), c.g(), c.b()].map(|v| {
                let v = f64::from(v) / 255.0;
                if v <= 0.04045 {
                    v / 12.92
                } else {
                    ((v + 0.055) / 1.055).powf(2.4)
                }
            });
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        for paper in [Paper::Light, Paper::Dark] {
            let inks = paper.inks();
            let ground = luminance(inks.paper);
            for ink in [
                inks.ink, inks.faint, inks.light, inks.sun, inks.route, inks.warn,
            ] {
                let (a, b) = (luminance(ink), ground);
                let contrast = (a.max(b) + 0.05) / (a.min(b) + 0.05);
                assert!(contrast >= 4.5, "{paper:?} {ink:?}: {contrast:.2}");
            }
        }
    }
}
