//! Title and words of command above, one line of state below.

use super::desk::{Desk, Foot, Leaving, Lengths, Over};
use super::files;
use super::keys::{Command, run};
use super::spoken;
use super::theme::{Paper, bold};
use crate::scene::edit::{History, NewThing};
use crate::sheet::plan;
use crate::sheet::words;
use bevy::prelude::World;
use bevy_egui::egui::{self, Button, RichText, Stroke, Ui};

/// The upper line.
pub fn bar_ui(ui: &mut Ui, world: &mut World, desk: &mut Desk) {
    let inks = desk.paper.inks();
    let mut order = None;
    // a line of words, each of which can be pressed
    ui.visuals_mut().widgets.inactive.bg_stroke = Stroke::NONE;
    ui.horizontal(|ui| {
        ui.menu_button("Scene", |ui| {
            for (words, command) in [
                ("New\u{2026}", Command::New),
                ("Open\u{2026}   Ctrl O", Command::Open),
                ("Save   Ctrl S", Command::Save),
                ("Save as\u{2026}   Ctrl Shift S", Command::SaveAs),
                ("Sheet as SVG or PNG\u{2026}   Ctrl E", Command::Export),
            ] {
                if ui.button(words).clicked() {
                    order = Some(command);
                }
            }
            let recent = files::recent(desk);
            if !recent.is_empty() {
                ui.separator();
            }
            for path in recent {
                let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
                if ui
                    .button(name.unwrap_or_default())
                    .on_hover_text(path.display().to_string())
                    .clicked()
                {
                    order = Some(Command::OpenPath(path));
                }
            }
            ui.separator();
            if ui.button("Quit   Ctrl Q").clicked() {
                order = Some(Command::Quit);
            }
        });
        ui.menu_button("Add", |ui| {
            for (i, new) in NewThing::ALL.into_iter().enumerate() {
                let key = if i < 9 {
                    format!("   {}", i + 1)
                } else {
                    String::new()
                };
                if ui.button(format!("{}{key}", new.word())).clicked() {
                    order = Some(Command::Add(new));
                }
            }
        });
        ui.menu_button("Show", |ui| show_menu(ui, desk));
        let (last, next) = world.get_resource::<History>().map_or((None, None), |h| {
            (h.last().map(str::to_owned), h.next().map(str::to_owned))
        });
        let undo = Button::new("Undo");
        if ui
            .add_enabled(last.is_some(), undo)
            .on_hover_text(format!("{} (Ctrl Z)", last.unwrap_or_default()))
            .clicked()
        {
            order = Some(Command::Undo);
        }
        if ui
            .add_enabled(next.is_some(), Button::new("Redo"))
            .on_hover_text(format!("{} (Ctrl Shift Z)", next.unwrap_or_default()))
            .clicked()
        {
            order = Some(Command::Redo);
        }
        if ui
            .button("Fit")
            .on_hover_text("Everything into view, 12 o\u{2019}clock up (F)")
            .clicked()
        {
            order = Some(Command::Fit);
        }
        if ui
            .add(Button::selectable(desk.measuring, "Measure"))
            .on_hover_text("Draw a line to measure along (M)")
            .clicked()
        {
            order = Some(Command::Measure);
        }
        ui.separator();
        let title = match desk.document.title.as_str() {
            "" => "Untitled scene",
            title => title,
        };
        ui.add(egui::Label::new(RichText::new(title).font(bold(15.0))).truncate());
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            if ui.button("?").on_hover_text("All keys").clicked() {
                order = Some(Command::Keys);
            }
            let (name, state) = desk.file.state(&desk.document);
            ui.label(RichText::new(state).color(if state.is_empty() {
                inks.faint
            } else {
                inks.sun
            }));
            ui.label(RichText::new(name).color(inks.faint));
        });
    });
    if let Some(command) = order {
        run(ui.ctx(), world, desk, command);
    }
}

fn show_menu(ui: &mut Ui, desk: &mut Desk) {
    ui.checkbox(&mut desk.scene_details, "Details of the scene");
    ui.checkbox(&mut desk.choice.contours, "Contours of light   C");
    ui.indent("heights", |ui| {
        for (height, words) in [
            (None, "at the faces"),
            (Some(1.6), "standing, 1.6 m"),
            (Some(1.2), "seated, 1.2 m"),
            (Some(0.95), "a child\u{2019}s face, 0.95 m"),
        ] {
            if ui.radio(desk.contour_height == height, words).clicked() {
                desk.contour_height = height;
            }
        }
    });
    ui.checkbox(&mut desk.choice.shadows, "Shadows on the ground");
    ui.checkbox(&mut desk.choice.tape, "Distances for a tape");
    ui.checkbox(&mut desk.choice.names, "Names");
    ui.separator();
    for (foot, words) in [
        (Foot::Side, "Side view below"),
        (Foot::Day, "Hours below"),
        (Foot::Frame, "Frame below"),
        (Foot::Dials, "Settings below"),
        (Foot::Readings, "Readings below"),
    ] {
        if ui.radio(desk.foot == foot, words).clicked() {
            desk.foot = foot;
        }
    }
    ui.separator();
    for (paper, words) in [(Paper::Light, "Light paper"), (Paper::Dark, "Dark paper")] {
        if ui.radio(desk.paper == paper, words).clicked() {
            desk.paper = paper;
        }
    }
    for (lengths, words) in [(Lengths::Metric, "Metres"), (Lengths::Feet, "Feet")] {
        if ui.radio(desk.lengths == lengths, words).clicked() {
            desk.lengths = lengths;
        }
    }
    ui.horizontal(|ui| {
        ui.label("Type");
        for scale in [0.85, 1.0, 1.2, 1.5, 2.0] {
            let words = format!("{:.0} %", scale * 100.0);
            let now = (desk.text_scale - scale).abs() < 0.01;
            if ui.add(Button::selectable(now, words)).clicked() {
                desk.text_scale = scale;
                desk.fit = true;
            }
        }
    });
}

/// The lowest line: what happened, or the sun; what the pointer is over; whether the light is
/// that of the scene as it stands.
pub fn line_ui(ui: &mut Ui, world: &World, desk: &mut Desk) {
    let _ = world;
    // what stands at the right comes first: what is left of the line is for the words, and those
    // that find no room are read by pointing at them
    ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
        state_ui(ui, desk);
        ui.with_layout(egui::Layout::left_to_right(egui::Align::Center), |ui| {
            news_ui(ui, desk);
        });
    });
}

fn news_ui(ui: &mut Ui, desk: &Desk) {
    let inks = desk.paper.inks();
    let spoken = spoken::lit(desk).map(|(_, about)| spoken::say(about));
    let text = match (&desk.message, spoken) {
        (_, Some(words)) => RichText::new(words).color(inks.route),
        // what is wrong is told apart without colour too
        (Some((true, what)), None) => RichText::new(what).font(bold(13.0)).color(inks.warn),
        (Some((false, what)), None) => RichText::new(what),
        (None, None) => {
            let Some((snapshot, lit)) = desk.snapshot.as_ref().zip(desk.lit.as_ref()) else {
                return;
            };
            let subject = super::jobs::subject_now(snapshot, &lit.solved);
            let words = match plan::sun_words(&subject) {
                Some([a, b]) => format!("{a}, {b}"),
                None => "no direct sun".into(),
            };
            let moment = snapshot.moment.as_ref().map_or(String::new(), |m| {
                format!("{}, {} \u{b7} ", words::date(&m.date), m.clock)
            });
            RichText::new(moment + &words).color(inks.faint)
        }
    };
    ui.add(egui::Label::new(text).truncate());
}

fn state_ui(ui: &mut Ui, desk: &Desk) {
    let inks = desk.paper.inks();
    let state = if desk.refused {
        "not lit"
    } else if desk.is_current() {
        "light of this moment"
    } else if desk.lit.as_ref().is_some_and(|lit| lit.is_sketch()) {
        "sketched; the whole light follows\u{2026}"
    } else {
        "light follows\u{2026}"
    };
    let took = desk.lit.as_ref().map_or(0.0, |l| l.took_ms);
    ui.label(RichText::new(state).color(inks.faint))
        .on_hover_text(format!("computed in {took:.0} ms"));
    // what is wrong needs the room more than where the pointer is
    if matches!(desk.message, Some((true, _))) {
        return;
    }
    if let Some(id) = &desk.hovered {
        ui.label(RichText::new(id.label()).color(inks.light));
    }
    if let Some(pos) = desk.pointer {
        let at = super::canvas::Plan::of(desk, desk.plan_rect).world(pos);
        ui.label(RichText::new(format!("{:.2}, {:.2} m", at.x, at.y)).color(inks.faint));
    }
}

/// Asks before something would be lost.
pub fn leave(desk: &mut Desk, leaving: Leaving) -> Option<Leaving> {
    if desk.file.is_changed(&desk.document) {
        desk.over = Over::Unsaved(leaving);
        None
    } else {
        Some(leaving)
    }
}
