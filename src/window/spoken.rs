//! The sentences beside a face: words that speak of something light it up, on the plan or on the
//! picture, while they are pointed at or reached by Tab; a click holds it.

use super::desk::Desk;
use crate::reading::{About, Sentence};
use crate::sheet::portrait::View;
use bevy_egui::egui::text::{LayoutJob, TextFormat};
use bevy_egui::egui::{FontId, Label, Rect, RichText, Sense, Stroke, Ui, vec2};
use glam::DVec3;

/// A sentence whose words can be pointed at.
pub fn sentence_ui(ui: &mut Ui, desk: &mut Desk, face: usize, sentence: &Sentence, font: FontId) {
    if sentence.is_empty() {
        return;
    }
    let inks = desk.paper.inks();
    // rows as high as their type
    let high = std::mem::take(&mut ui.spacing_mut().interact_size.y);
    let apart = std::mem::replace(&mut ui.spacing_mut().item_spacing, vec2(0.0, 1.0));
    ui.horizontal_wrapped(|ui| {
        let pieces = sentence.pieces();
        let count = pieces.len();
        for (i, (words, about)) in pieces.into_iter().enumerate() {
            let stop = i + 1 == count && !words.ends_with('.');
            let words = format!("{words}{}", if stop { "." } else { "" });
            let Some(about) = about else {
                let text = RichText::new(words).font(font.clone());
                ui.add(Label::new(text.color(inks.faint)));
                continue;
            };
            let spoken = Some((face, about.clone()));
            let lit = desk.held_word == spoken;
            // a line under what can be pressed: colour alone would not tell it
            let form = TextFormat {
                font_id: font.clone(),
                color: if lit { inks.route } else { inks.light },
                underline: Stroke::new(1.0, inks.rule),
                ..TextFormat::default()
            };
            let job = LayoutJob::single_section(words, form);
            let response = ui.add(Label::new(job).sense(Sense::click()).selectable(false));
            if response.hovered() || response.has_focus() {
                desk.spoken = spoken.clone();
                let line = Stroke::new(1.2, inks.route);
                let rect = response.rect;
                ui.painter().hline(rect.x_range(), rect.bottom(), line);
            }
            if response.clicked() {
                desk.held_word = if lit { None } else { spoken };
            }
        }
    });
    ui.spacing_mut().interact_size.y = high;
    ui.spacing_mut().item_spacing = apart;
}

/// What is lit now: what is pointed at, else what is held.
#[must_use]
pub fn lit(desk: &Desk) -> Option<&(usize, About)> {
    desk.spoken.as_ref().or(desk.held_word.as_ref())
}

/// What words speak of, in words.
#[must_use]
pub fn say(about: &About) -> String {
    match about {
        About::Light { source, route } if route == "direct" => {
            format!("shows the light of {source}")
        }
        About::Light { source, route } => format!("shows the light of {source} {route}"),
        About::Fill { .. } => "shows all light but the key".into(),
        About::Thing(name) => format!("shows {name} on the plan"),
        About::Part(_) => "shows the place on the face".into(),
    }
}

/// A ring on the picture of a face round the part that is spoken of.
pub fn ring(ui: &Ui, desk: &Desk, face: usize, picture: Rect) {
    let Some((index, About::Part(region))) = lit(desk) else {
        return;
    };
    let Some(lit) = desk.lit.as_ref().filter(|_| *index == face) else {
        return;
    };
    let snapshot = &lit.solved.snapshot;
    let Some(head) = snapshot.stage.heads.get(face) else {
        return;
    };
    let (width, height) = (lit.portrait * 4 / 5, lit.portrait);
    let camera = &snapshot.camera;
    let Some(view) = View::of_head(camera.position, camera.up, &head.pose, width, height) else {
        return;
    };
    let shape = &head.shape;
    let points: Vec<DVec3> = shape
        .regions
        .iter()
        .zip(&shape.mesh.positions)
        .filter(|(r, _)| *r == region)
        .map(|(_, &p)| head.pose.world_from_local(p))
        .collect();
    let count = points.len().max(1) as f64;
    let middle = points.iter().sum::<DVec3>() / count;
    let far = points.iter().map(|p| p.distance(middle)).sum::<f64>() / count;
    let scale = f64::from(picture.height()) / height as f64;
    let (Some((at, _)), Some((edge, _))) = (
        view.pixel_of(middle),
        view.pixel_of(middle + camera.up * far * 1.5),
    ) else {
        return;
    };
    let centre = picture.min + vec2((at.x * scale) as f32, (at.y * scale) as f32);
    let radius = (at.distance(edge) * scale) as f32;
    let painter = ui.painter_at(picture);
    let inks = desk.paper.inks();
    painter.circle_stroke(centre, radius, Stroke::new(4.0, inks.paper));
    painter.circle_stroke(centre, radius, Stroke::new(2.0, inks.route));
}
