//! What the camera sees at its setting, and how bright everything in it is.

use super::desk::Desk;
use super::faces::shown;
use super::theme::{Inks, bold};
use crate::reading::frame::SunInLens;
use crate::reading::{FaceReading, Readings};
use crate::settings::Wish;
use crate::sheet::words;
use bevy_egui::egui::{self, Color32, RichText, ScrollArea, Sense, Stroke, Ui, Vec2};

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
            ui.label(RichText::new("What the camera sees at its setting").font(bold(13.0)));
            ScrollArea::vertical()
                .auto_shrink([false, false])
                .show(ui, |ui| words_ui(ui, desk, readings));
        });
    });
}

/// Figures beside the picture, what is in the way first.
fn words_ui(ui: &mut Ui, desk: &Desk, readings: &Readings) {
    let inks = desk.paper.inks();
    ui.spacing_mut().item_spacing.y = 2.0;
    let camera = &readings.camera;
    if let Some(background) = &readings.background {
        let against = background.against_faces_stops;
        ui.label(
            RichText::new(format!(
                "background {} against the faces: {}",
                words::stops(against),
                Wish::mood(against)
            ))
            .font(bold(13.0)),
        );
        let (rect, response) = ui.allocate_exact_size(Vec2::new(280.0, 36.0), Sense::hover());
        scale(ui, rect, background.exposure_stops, &readings.faces, &inks);
        let told = format!(
            "background {}, faces around {}, against a mid-tone",
            words::stops(background.exposure_stops),
            words::stops(background.exposure_stops - against)
        );
        response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Label, true, &told));
    }
    let mut warn = |what: String| ui.label(RichText::new(what).color(inks.warn));
    for hidden in &readings.frame.hidden {
        warn(format!(
            "{} hides {:.0} % of the face of {}",
            hidden.by,
            hidden.share * 100.0,
            hidden.person
        ));
    }
    for (name, share) in &readings.frame.kit {
        warn(format!(
            "{name} is in the picture, {:.1} % of it",
            share * 100.0
        ));
    }
    if readings.frame.sun.as_ref().is_some_and(SunInLens::flares) {
        warn("the sun shines into the lens: shade it".into());
    }
    for eye in camera.eyes.iter().filter(|e| !e.sharp) {
        warn(format!("{}: {} eye is not sharp", eye.person, eye.eye));
    }
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
    ui.label(
        RichText::new(
            "Strokes in the picture: rising (red) where it clips, falling (blue) where skin is lost. \
             Click it, or F4, for large and small.",
        )
        .size(11.5)
        .color(inks.faint),
    );
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
    let y = rect.top() + 21.0;
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
    // which mark is which
    let small = egui::FontId::proportional(10.0);
    let word = |stops: f64, align, ink, word| {
        painter.text(
            egui::pos2(x(stops), y - 9.0),
            align,
            word,
            small.clone(),
            ink,
        );
    };
    let faces_at = faces.iter().map(|f| f.rendered_stops);
    let (low, high) = faces_at.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| {
        (l.min(s), h.max(s))
    });
    if background <= low {
        word(
            background + 0.1,
            egui::Align2::RIGHT_BOTTOM,
            inks.light,
            "background",
        );
        word(high - 0.1, egui::Align2::LEFT_BOTTOM, inks.ink, "faces");
    } else {
        word(
            background - 0.1,
            egui::Align2::LEFT_BOTTOM,
            inks.light,
            "background",
        );
        word(low + 0.1, egui::Align2::RIGHT_BOTTOM, inks.ink, "faces");
    }
}
