//! What the camera sees at its setting, and how bright everything in it is.

use super::desk::Desk;
use super::faces::shown;
use super::theme::{Inks, bold};
use crate::reading::FaceReading;
use crate::sheet::words;
use bevy_egui::egui::{self, Color32, RichText, Sense, Stroke, Ui, Vec2};

/// The pane.
pub fn frame_ui(ui: &mut Ui, desk: &mut Desk) {
    let inks = desk.paper.inks();
    let Some(lit) = desk.lit.clone() else {
        return;
    };
    let readings = &lit.solved.readings;
    ui.horizontal_top(|ui| {
        let frame = lit.solved.snapshot.camera.frame_mm;
        let shape = (frame.x / frame.y) as f32;
        // room for the words beside it
        let wide = (ui.available_width() - 310.0).max(120.0);
        let tall = ui.available_height().min(wide / shape);
        desk.frame_tall = tall;
        let size = Vec2::new(tall * shape, tall);
        let what = "what the camera sees";
        if shown(ui, desk.frame.as_ref(), size, &inks, what).clicked() {
            desk.frame_large = !desk.frame_large;
        }
        ui.vertical(|ui| {
            let camera = &readings.camera;
            ui.label(RichText::new("What the camera sees at its setting").font(bold(13.0)));
            ui.label(
                RichText::new("Red strokes: clipped. Blue strokes: lost in shadow, on skin. Click it (F4): larger, smaller.")
                    .size(11.5)
                    .color(inks.faint),
            );
            ui.label(format!(
                "exposes for {} incident, EV {:.1} at ISO 100",
                words::lux(camera.lux),
                camera.ev100
            ));
            ui.label(format!(
                "sharp from {} to {}",
                desk.length(camera.near_m),
                if camera.far_m.is_finite() {
                    desk.length(camera.far_m)
                } else {
                    "the horizon".into()
                }
            ));
            for eye in camera.eyes.iter().filter(|e| !e.sharp) {
                let words = format!("{}: {} eye is not sharp", eye.person, eye.eye);
                ui.label(RichText::new(words).color(inks.warn));
            }
            if let Some(background) = &readings.background {
                let stops = background.exposure_stops;
                let word = match stops {
                    s if s > 0.7 => "bright",
                    s if s > -0.7 => "natural",
                    s if s > -1.7 => "subdued",
                    _ => "dramatic",
                };
                ui.label(
                    RichText::new(format!("background {}: {word}", words::stops(stops)))
                        .font(bold(13.0)),
                );
                let (rect, _) = ui.allocate_exact_size(Vec2::new(280.0, 26.0), Sense::hover());
                scale(ui, rect, stops, &readings.faces, &inks);
            }
        });
    });
}

/// A scale of stops with the background as a bar and the faces as marks.
fn scale(ui: &Ui, rect: egui::Rect, background: f64, faces: &[FaceReading], inks: &Inks) {
    let painter = ui.painter();
    let x = |stops: f64| {
        egui::lerp(
            rect.left() + 8.0..=rect.right() - 8.0,
            ((stops.clamp(-3.0, 3.0) + 3.0) / 6.0) as f32,
        )
    };
    let y = rect.center().y;
    painter.line_segment(
        [egui::pos2(x(-3.0), y), egui::pos2(x(3.0), y)],
        Stroke::new(1.0, inks.ink),
    );
    for stop in -3..=3 {
        let at = x(f64::from(stop));
        painter.line_segment(
            [egui::pos2(at, y - 3.0), egui::pos2(at, y + 3.0)],
            Stroke::new(1.0, inks.ink),
        );
        painter.text(
            egui::pos2(at, y + 4.0),
            egui::Align2::CENTER_TOP,
            words::thirds(f64::from(stop)),
            egui::FontId::proportional(10.0),
            inks.faint,
        );
    }
    let mark = |stops: f64, ink: Color32, wide: f32| {
        let at = x(stops);
        painter.line_segment(
            [egui::pos2(at, y - 9.0), egui::pos2(at, y - 1.0)],
            Stroke::new(wide, ink),
        );
    };
    mark(background, inks.light, 5.0);
    for face in faces {
        mark(face.rendered_stops, inks.ink, 1.5);
    }
}
