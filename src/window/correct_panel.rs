//! Readings from the place: entered as they are called out, or from a test frame; what they say of
//! sun, sky, flashes, panels, walls and ground, and one step that puts the scene right.

use super::desk::Desk;
use super::keys::refused;
use super::newest::{Newest, Post};
use super::same::Same;
use super::settings_panel::column;
use super::theme::bold;
use crate::advise::frame::{TestFrame, region};
use crate::advise::{Correction, correct, put_correction, tell};
use crate::document::reading::SiteReading;
use crate::scene::Solved;
use crate::scene::edit::apply;
use crate::snapshot::Snapshot;
use bevy::prelude::World;
use bevy_egui::egui::{Key, RichText, TextEdit, Ui};
use std::path::Path;
use std::sync::Arc;

pub struct Ask {
    solved: Arc<Solved>,
    readings: Vec<SiteReading>,
}

/// The scene that was asked about, and what came of it.
pub type News = (Arc<Snapshot>, Result<Correction, String>);

/// The pane's own state.
#[derive(Default)]
pub struct Putting {
    /// Readings that were entered here, beside those in the scene.
    pub readings: Vec<SiteReading>,
    pub line: String,
    pub frame: String,
    /// Whose face, or who holds the card; empty is who is in focus.
    pub at: String,
    /// "+0.7", or a card's region "0.4,0.5,0.1,0.1".
    pub shows: String,
    pub wrong: Option<String>,
    pub told: Option<News>,
    thread: Option<Newest<Ask, News>>,
    asked: Option<(Same<Solved>, Vec<String>)>,
}

/// The pane.
pub fn correct_ui(ui: &mut Ui, world: &mut World, desk: &mut Desk) {
    hear(desk);
    ask(ui, desk);
    let mut put = false;
    let wide = ui.available_width();
    ui.horizontal_top(|ui| {
        column(ui, "readings", wide * 0.36, |ui| entries(ui, desk));
        column(ui, "model", (wide * 0.6).max(80.0), |ui| {
            put = result(ui, desk)
        });
    });
    if put && let Some((snapshot, Ok(correction))) = &desk.putting.told {
        let document = put_correction(&desk.document, snapshot, correction);
        let change = apply(world, "put right by readings", document);
        // They were taken of the scene as it was.
        desk.putting.readings.clear();
        refused(desk, change);
    }
}

/// Fields for a reading and for a frame, and the readings so far.
fn entries(ui: &mut Ui, desk: &mut Desk) {
    let warn = desk.paper.inks().warn;
    let in_scene = desk.document.readings.clone();
    let putting = &mut desk.putting;
    let label = ui.label("a reading, as it is called out");
    let field = ui
        .add(
            TextEdit::singleline(&mut putting.line)
                .hint_text("shade f/5.6 1/200 ISO 100 dome at stroke")
                .desired_width(f32::INFINITY),
        )
        .labelled_by(label.id);
    let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
    let pressed = ui.button("Enter the reading").clicked();
    if (pressed || entered) && !putting.line.trim().is_empty() {
        match SiteReading::parse(&putting.line) {
            Ok(reading) => {
                putting.readings.push(reading);
                putting.line.clear();
                putting.wrong = None;
            }
            Err(error) => putting.wrong = Some(error.to_string()),
        }
    }
    ui.collapsing("a test frame", |ui| {
        for (word, hint, value) in [
            ("file", "a JPEG or TIFF from the camera", &mut putting.frame),
            ("of whom", "who is in focus", &mut putting.at),
            (
                "face reads, or the card\u{2019}s place",
                "+0.7 or 0.4,0.5,0.1,0.1",
                &mut putting.shows,
            ),
        ] {
            let label = ui.label(word);
            ui.add(
                TextEdit::singleline(value)
                    .hint_text(hint)
                    .desired_width(f32::INFINITY),
            )
            .labelled_by(label.id);
        }
        if ui.button("Enter the frame").clicked() {
            let people = desk.snapshot.as_ref().map_or(Vec::new(), |s| {
                let focus = s.camera.focus_person.unwrap_or(0);
                let names = s.people.iter().skip(focus);
                names.map(|p| p.name.clone()).collect()
            });
            let at = match putting.at.trim() {
                "" => people.first().cloned().unwrap_or_default(),
                name => name.to_owned(),
            };
            match framed(&putting.frame, &at, &putting.shows) {
                Ok(reading) => {
                    putting.readings.push(reading);
                    putting.wrong = None;
                }
                Err(what) => putting.wrong = Some(what),
            }
        }
    });
    if let Some(what) = &putting.wrong {
        ui.label(RichText::new(what).color(warn));
    }
    for text in &in_scene {
        ui.label(format!("in the scene: {text}"));
    }
    let mut away = None;
    for (index, reading) in putting.readings.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            if ui.small_button("take away").clicked() {
                away = Some(index);
            }
            ui.label(&reading.text);
        });
    }
    if let Some(index) = away {
        putting.readings.remove(index);
    }
}

/// A frame's observation: a card's region where there are commas, else a face's stops.
fn framed(file: &str, at: &str, shows: &str) -> Result<SiteReading, String> {
    let frame = TestFrame::read(Path::new(file.trim())).map_err(|e| e.to_string())?;
    if shows.contains(',') {
        let region = region(shows).map_err(|e| e.to_string())?;
        return frame.grey_card(at, region).map_err(|e| e.to_string());
    }
    let stops = shows.trim().parse::<crate::units::Stops>().map_err(
        |_| "say what the face reads, as +0.7, or where the card is, as 0.4,0.5,0.1,0.1",
    )?;
    Ok(frame.face(at, stops.value()))
}

/// What the readings say; whether the scene shall be put right.
fn result(ui: &mut Ui, desk: &Desk) -> bool {
    let inks = desk.paper.inks();
    match &desk.putting.told {
        None => {
            ui.label("Enter what a meter or a test frame says: sun, sky, flashes, panels, walls and ground are scaled to it, each within its doubt.");
            false
        }
        Some((_, Err(what))) => {
            ui.label(RichText::new(what).color(inks.warn));
            false
        }
        Some((_, Ok(correction))) => {
            let put = ui
                .button("Put the scene right")
                .on_hover_text("One step; Ctrl Z takes it back")
                .clicked();
            for reading in &correction.readings {
                let ink = if reading.contradicts.is_some() {
                    inks.warn
                } else {
                    inks.ink
                };
                ui.label(RichText::new(tell::reading(reading)).color(ink));
            }
            if let Some(warning) = &correction.implausible {
                ui.label(RichText::new(warning).color(inks.warn));
            }
            ui.label(RichText::new("The model").font(bold(13.0)));
            for factor in &correction.factors {
                ui.label(format!("{}: {}", factor.name, tell::factor(factor)));
            }
            ui.label(RichText::new("The faces").font(bold(13.0)));
            for face in &correction.faces {
                ui.label(format!("{}: {}", face.name, tell::face(face)));
            }
            put
        }
    }
}

fn hear(desk: &mut Desk) {
    let Some(thread) = &desk.putting.thread else {
        return;
    };
    for news in thread.news() {
        match news {
            Some(told) => desk.putting.told = Some(told),
            None => desk.warn("these readings could not be fitted; take the last one away"),
        }
    }
}

/// Asks for the fit of all readings to the scene as it is lit, if it was not asked for last.
fn ask(ui: &Ui, desk: &mut Desk) {
    if !desk.is_current() {
        return;
    }
    let Some(lit) = desk.lit.clone() else {
        return;
    };
    let own = desk.document.readings.iter();
    let mut readings: Vec<SiteReading> = own
        .filter_map(|text| SiteReading::parse(text).ok())
        .collect();
    readings.extend(desk.putting.readings.iter().cloned());
    let texts = readings.iter().map(|r| r.text.clone()).collect();
    let what = (Same::of(&lit.solved), texts);
    if desk.putting.asked.as_ref() == Some(&what) {
        return;
    }
    if readings.is_empty() {
        desk.putting.told = None;
        desk.putting.asked = Some(what);
        return;
    }
    if desk.putting.thread.is_none() {
        let ctx = ui.ctx().clone();
        match Newest::start("readings", Box::new(move || ctx.request_repaint()), work) {
            Ok(thread) => desk.putting.thread = Some(thread),
            Err(error) => {
                desk.warn(format!("no thread for the readings: {error}"));
                return;
            }
        }
    }
    if let Some(thread) = &desk.putting.thread {
        thread.ask(Ask {
            solved: lit.solved.clone(),
            readings,
        });
        desk.putting.asked = Some(what);
    }
}

fn work(ask: Ask, post: &Post<Ask, News>) {
    let solved = &ask.solved;
    let told = correct(
        &solved.snapshot,
        &solved.engine,
        &solved.solution,
        &ask.readings,
    );
    post.send((
        solved.snapshot.clone(),
        told.map_err(|error| error.to_string()),
    ));
}
