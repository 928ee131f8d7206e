//! The faces as the camera sees them, beside the plan: picture, name of the light, figures, why.

use super::desk::{Before, Desk};
use super::jobs::subject_now;
use super::room::hold_before;
use super::spoken;
use super::theme::{Inks, bold, oblique};
use crate::reading::FaceReading;
use crate::reading::words::caption;
use crate::sheet::plan::routes;
use crate::sheet::words;
use bevy_egui::egui::{
    self, ColorImage, FontId, Label, RichText, ScrollArea, Sense, Stroke, StrokeKind,
    TextureHandle, TextureOptions, Ui, Vec2,
};

/// The whole column.
pub fn faces_ui(ui: &mut Ui, desk: &mut Desk) {
    let inks = desk.paper.inks();
    ui.horizontal(|ui| {
        ui.label(RichText::new("Faces, from the camera").font(bold(14.0)));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let held = desk.before.is_some();
            let word = if held {
                "let go of before"
            } else {
                "hold as before"
            };
            let tip = "Holds these faces still beside the ones that change (B)";
            if ui
                .add(egui::Button::selectable(held, word))
                .on_hover_text(tip)
                .clicked()
            {
                hold_before(desk);
            }
        });
    });
    let Some(lit) = desk.lit.clone() else {
        ui.label(RichText::new("The light is being computed.").color(inks.faint));
        return;
    };
    if let Some(before) = &mut desk.before
        && before.textures.is_empty()
    {
        before.textures = copies(ui.ctx(), before);
    }
    let faces = &lit.solved.readings.faces;
    if faces.is_empty() {
        ui.label(
            RichText::new("Nobody is here yet. Add a person: 1, or the word Add above.")
                .color(inks.faint),
        );
        return;
    }
    if let Some(background) = &lit.solved.readings.background {
        let line = format!(
            "background {}, {} against the faces",
            words::stops(background.exposure_stops),
            words::stops(background.against_faces_stops)
        );
        ui.label(RichText::new(line).size(12.0));
    }
    // as large as the column lets all of them be, and the words beside them still be read
    let share = if ui.available_width() > 400.0 {
        0.42
    } else {
        0.30
    };
    let each = ui.available_height() * 0.75 / (1.25 * faces.len() as f32);
    desk.card_wide = each
        .clamp(96.0, (ui.available_width() * share).max(96.0))
        .round();
    let mut pointed = None;
    let mut in_sight: Option<std::ops::Range<usize>> = None;
    let spoken = desk.spoken.take();
    ScrollArea::vertical()
        .auto_shrink([false, false])
        .show(ui, |ui| {
            for (index, face) in faces.iter().enumerate() {
                let shown = ui.push_id(index, |ui| {
                    if card(ui, desk, index, face, &inks) {
                        pointed = Some(index);
                    }
                });
                if ui.is_rect_visible(shown.response.rect) {
                    let first = in_sight.as_ref().map_or(index, |range| range.start);
                    in_sight = Some(first..index + 1);
                }
                ui.add_space(6.0);
            }
            for caution in &lit.solved.readings.cautions {
                ui.add(
                    Label::new(RichText::new(caution).size(11.5).color(inks.warn)).selectable(true),
                );
            }
        });
    desk.in_sight = in_sight.unwrap_or(0..0);
    if desk.routes_of != pointed || desk.spoken != spoken {
        desk.routes_of = pointed;
        ui.ctx().request_repaint();
    }
}

fn copies(ctx: &egui::Context, before: &Before) -> Vec<Option<TextureHandle>> {
    before
        .portraits
        .iter()
        .enumerate()
        .map(|(i, portrait)| {
            portrait.as_ref().map(|p| {
                let image = ColorImage::from_rgba_unmultiplied([p.width, p.height], &p.pixels);
                ctx.load_texture(format!("before {i}"), image, TextureOptions::LINEAR)
            })
        })
        .collect()
}

pub fn shown(
    ui: &mut Ui,
    texture: Option<&TextureHandle>,
    size: Vec2,
    inks: &Inks,
    what: &str,
) -> egui::Response {
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    match texture {
        Some(texture) => {
            egui::Image::new((texture.id(), size))
                .alt_text(what)
                .paint_at(ui, rect);
        }
        None => {
            ui.painter().rect_filled(rect, 0.0, inks.shade);
            ui.painter().text(
                rect.center(),
                egui::Align2::CENTER_CENTER,
                "not seen",
                egui::FontId::proportional(11.0),
                inks.faint,
            );
        }
    }
    ui.painter()
        .rect_stroke(rect, 0.0, Stroke::new(1.0, inks.ink), StrokeKind::Inside);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Image, true, what));
    response
}

/// Which of two pictures of a face it is, in its lower corner.
fn tag(ui: &Ui, picture: egui::Rect, word: &str, inks: &Inks) {
    let painter = ui.painter();
    let galley = painter.layout_no_wrap(word.into(), FontId::proportional(11.0), inks.ink);
    let size = galley.size() + Vec2::new(8.0, 2.0);
    let rect = egui::Rect::from_min_size(picture.left_bottom() - Vec2::new(0.0, size.y), size);
    let line = Stroke::new(1.0, inks.ink);
    painter.rect(rect, 0.0, inks.paper, line, StrokeKind::Inside);
    painter.galley(rect.min + Vec2::new(4.0, 1.0), galley, inks.ink);
}

/// The face as it was, where one is held, and as it is: whether one was clicked, and where the
/// latter lies.
fn pair(
    ui: &mut Ui,
    before: Option<&Option<TextureHandle>>,
    now: Option<&TextureHandle>,
    size: Vec2,
    inks: &Inks,
    name: &str,
) -> (bool, egui::Rect) {
    let mut clicked = false;
    if let Some(before) = before {
        let what = format!("{name} before");
        let shown = shown(ui, before.as_ref(), size, inks, &what);
        tag(ui, shown.rect, "before", inks);
        clicked |= shown.clicked();
    }
    let shown = shown(ui, now, size, inks, name);
    if before.is_some() {
        tag(ui, shown.rect, "now", inks);
    }
    (clicked | shown.clicked(), shown.rect)
}

/// One face; whether the pointer is on it.
fn card(ui: &mut Ui, desk: &mut Desk, index: usize, face: &FaceReading, inks: &Inks) -> bool {
    let large = desk.large == Some(index);
    let wide = ui.available_width();
    let old = desk.before.as_ref().and_then(|b| {
        let i = b.faces.iter().position(|f| f.name == face.name)?;
        Some((b.faces[i].clone(), b.textures.get(i).cloned().flatten()))
    });
    let small = desk.card_wide;
    let texture = desk.textures.get(index).cloned().flatten();
    let before = old.as_ref().map(|(_, picture)| picture);
    let mut now = (false, egui::Rect::NOTHING);
    let rect = ui
        .scope(|ui| {
            if large {
                let count = if old.is_some() { 2.0 } else { 1.0 };
                let gap = ui.spacing().item_spacing.x;
                let each = ((wide - gap * (count - 1.0)) / count).floor().min(330.0);
                let size = Vec2::new(each, each * 1.25);
                ui.horizontal(|ui| {
                    now = pair(ui, before, texture.as_ref(), size, inks, &face.name);
                });
                say(ui, desk, index, face, old.as_ref().map(|o| &o.0), inks);
            } else {
                ui.horizontal_top(|ui| {
                    let each = if old.is_some() { 0.69 * small } else { small };
                    let size = Vec2::new(each, each * 1.25);
                    now = pair(ui, before, texture.as_ref(), size, inks, &face.name);
                    ui.vertical(|ui| {
                        say(ui, desk, index, face, old.as_ref().map(|o| &o.0), inks);
                    });
                });
            }
        })
        .response
        .rect;
    let (clicked, picture) = now;
    if clicked {
        desk.large = if large { None } else { Some(index) };
    }
    spoken::ring(ui, desk, index, picture);
    let pointed = ui.rect_contains_pointer(rect.expand2(Vec2::new(4.0, 2.0)));
    if pointed {
        ui.painter().line_segment(
            [
                rect.left_top() - Vec2::new(5.0, 0.0),
                rect.left_bottom() - Vec2::new(5.0, 0.0),
            ],
            Stroke::new(2.0, inks.route),
        );
    }
    pointed
}

/// The words of one face.
fn say(
    ui: &mut Ui,
    desk: &mut Desk,
    index: usize,
    face: &FaceReading,
    old: Option<&FaceReading>,
    inks: &Inks,
) {
    ui.spacing_mut().item_spacing.y = 1.0;
    let name = RichText::new(&face.name).font(bold(14.0));
    if ui
        .add(Label::new(name).sense(Sense::click()))
        .on_hover_text("Click to choose on the plan")
        .clicked()
    {
        desk.selection = vec![crate::scene::edit::ThingId::Named(face.name.clone())];
    }
    let of = |f: &FaceReading| {
        caption(
            f.pattern,
            f.between.then_some(f.runner_up),
            f.broad_or_short,
        )
    };
    ui.label(RichText::new(of(face)).font(bold(13.0)).color(inks.light));
    if !face.in_frame {
        ui.label(
            RichText::new("outside the picture")
                .font(bold(12.0))
                .color(inks.warn),
        );
    }
    // a figure stays with its name where the line is broken
    let whole = |text: String| text.replace(' ', "\u{a0}");
    let line = |f: &FaceReading| {
        [
            whole(format!("face {}", words::stops(f.exposure_stops))),
            whole(format!(
                "lit to shadow {}",
                words::stops(f.lit_to_shadow_stops)
            )),
            whole(format!("key to fill {}", words::stops(f.key_to_fill_stops))),
        ]
        .join(", ")
    };
    ui.label(RichText::new(line(face)).size(12.0));
    if let Some(old) = old
        && (of(old) != of(face) || line(old) != line(face))
    {
        let words = format!("before: {}; {}", of(old), line(old));
        ui.label(RichText::new(words).font(oblique(11.5)).color(inks.faint));
    }
    spoken::sentence_ui(ui, desk, index, &face.why, FontId::proportional(11.5));
    spoken::sentence_ui(ui, desk, index, &face.change, oblique(11.5));
    if face.clipped_share > 0.005 || face.blocked_share > 0.05 {
        let words = format!(
            "{:.0} % clipped, {:.0} % lost in shadow",
            face.clipped_share * 100.0,
            face.blocked_share * 100.0
        );
        ui.label(RichText::new(words).size(11.5).color(inks.warn));
    }
    if desk.routes_of == Some(index)
        && let (Some(snapshot), Some(lit)) = (&desk.snapshot, &desk.lit)
    {
        let subject = subject_now(snapshot, &lit.solved);
        for way in routes::ways(&subject, index).iter().take(5) {
            let words = format!(
                "{}  {} ({:.0} %)",
                words::stops(way.stops),
                routes::name(way),
                way.share * 100.0
            );
            ui.label(RichText::new(words).size(11.5).color(inks.route));
        }
    }
}
