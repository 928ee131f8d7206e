//! Rows of lists that grow: frames wanted of the shoot, readings taken on site.

use super::sink::Sink;
use crate::document::limits as l;
use crate::document::reading::SiteReading;
use crate::document::{Document, Shot};
use bevy_egui::egui::{Response, RichText, TextEdit, Ui};

/// Kinds of frames with how many of each.
pub fn shots(ui: &mut Ui, sink: &mut Sink, list: &mut Vec<Shot>) {
    let mut gone = None;
    for (index, shot) in list.iter_mut().enumerate() {
        sink.text(
            ui,
            &format!("frames, kind {}", index + 1),
            &mut shot.name,
            1,
        );
        let mut frames = f64::from(shot.frames);
        sink.number(
            ui,
            &format!("  how many of {}", shot.name),
            &mut frames,
            &l::FRAMES,
        );
        shot.frames = frames.round() as u32;
        sink.tick(ui, "  must have", &mut shot.must);
        if take_away(ui, &format!("take away {}", shot.name)).clicked() {
            gone = Some(index);
        }
    }
    if let Some(index) = gone {
        list.remove(index);
        sink.touch();
    }
    if more(ui, "frames wanted", "add a kind of frame").clicked() && list.len() < l::MAX_SHOTS {
        let free = |name: &str| list.iter().all(|shot| shot.name != name);
        let mut names =
            std::iter::once("group".to_owned()).chain((2..).map(|i| format!("group {i}")));
        let name = names.find(|name| free(name)).unwrap_or_default();
        list.push(Shot {
            name,
            frames: 5,
            must: false,
        });
        sink.touch();
    }
}

/// Readings in the words in which they are called out.
pub fn readings(ui: &mut Ui, sink: &mut Sink, document: &mut Document) {
    let mut gone = None;
    for (index, reading) in document.readings.iter_mut().enumerate() {
        let word = format!("reading {}", index + 1);
        let id = ui
            .label(RichText::new(&word).size(12.0).color(sink.faint))
            .id;
        let key = ui.id().with(("reading", index));
        let mut typed = ui
            .data(|d| d.get_temp::<String>(key))
            .unwrap_or_else(|| reading.clone());
        let field = ui
            .add(
                TextEdit::multiline(&mut typed)
                    .desired_rows(2)
                    .desired_width(130.0),
            )
            .labelled_by(id)
            .on_hover_text(HOW);
        ui.end_row();
        if field.changed() {
            ui.data_mut(|d| d.insert_temp(key, typed.clone()));
        }
        // what is not understood yet stays as it was typed, with what is missing
        let line = typed.split_whitespace().collect::<Vec<_>>().join(" ");
        match SiteReading::parse(&line) {
            Ok(_) if field.lost_focus() => {
                ui.data_mut(|d| d.remove::<String>(key));
                if line != *reading {
                    *reading = line;
                    sink.touch();
                }
            }
            Ok(_) => {}
            Err(error) => {
                ui.label("");
                let warn = ui.visuals().error_fg_color;
                ui.label(
                    RichText::new(format!("{}; not taken yet", error.what))
                        .size(11.5)
                        .color(warn),
                );
                ui.end_row();
            }
        }
        if take_away(ui, &format!("take away {word}")).clicked() {
            ui.data_mut(|d| d.remove::<String>(key));
            gone = Some(index);
        }
    }
    if let Some(index) = gone {
        document.readings.remove(index);
        sink.touch();
    }
    let many = document.readings.len() >= l::MAX_READINGS;
    if more(ui, "readings on site", "add a reading")
        .on_hover_text(HOW)
        .clicked()
        && !many
        && let Some(start) = first(document)
    {
        document.readings.push(start);
        sink.touch();
    }
}

const HOW: &str = "As it is called out: \u{201c}f/2.8 1/200 ISO 100 dome at stroke\u{201d}; also \
                   flat, spot, flash, both, shade, towards NAME. `umbrette correct` puts the model \
                   right by them.";

/// A reading to start from: the camera's own dials at the first person or thing.
fn first(document: &Document) -> Option<String> {
    let camera = document.camera.clone().unwrap_or_default();
    let people = document.people.iter().map(|p| &p.name);
    let names = people.chain(document.meters.iter().map(|m| &m.name));
    names
        .map(|name| {
            format!(
                "f/{} {} ISO {} dome at \"{name}\"",
                camera.aperture, camera.shutter.0, camera.iso
            )
        })
        .find(|text| SiteReading::parse(text).is_ok())
}

fn take_away(ui: &mut Ui, label: &str) -> Response {
    ui.label("");
    let button = ui.small_button(label);
    ui.end_row();
    button
}

fn more(ui: &mut Ui, word: &str, label: &str) -> Response {
    ui.label(RichText::new(word).size(12.0));
    let button = ui.button(label);
    ui.end_row();
    button
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: what the form starts from is a reading of the format, at that person.
    #[test]
    fn a_form_starts_from_a_valid_reading() {
        let text = include_str!("../../../scenes/rowing-crew.ron");
        let document = Document::parse(text, "demo").expect("a demo scene");
        let start = first(&document).expect("somebody is there");
        let reading = SiteReading::parse(&start).expect("is understood");
        assert_eq!(reading.at, document.people[0].name);
    }
}
