//! The column of details: which thing, and the rows of its kind.

use super::sink::Sink;
use super::{flash, kit, people, places, scene};
use crate::scene::edit::{Marks, Sort, Thing, ThingId, ThingMut, find, find_mut, height, rename};
use crate::sheet::plan::meters;
use crate::window::desk::Desk;
use crate::window::keys::{Command, run};
use crate::window::theme::bold;
use bevy::prelude::World;
use bevy_egui::egui::{Grid, RichText, ScrollArea, Ui};

/// The column.
pub fn details_ui(ui: &mut Ui, world: &mut World, desk: &mut Desk) {
    let Some(id) = desk.selection.last().cloned() else {
        head(ui, "The scene", "");
        let mut document = (*desk.document).clone();
        let mut sink = Sink::new(desk);
        ScrollArea::vertical().show(ui, |ui| {
            scene::rows(ui, &mut sink, &mut document);
        });
        sink.finish(world, desk, document, "details of the scene");
        return;
    };
    let Some(sort) = find(&desk.document, &id).map(|t| t.sort()) else {
        return;
    };
    head(ui, id.label(), sort.word());
    if desk.selection.len() > 1 {
        ui.label(format!(
            "and {} more: drags and keys move them together",
            desk.selection.len() - 1
        ));
    }
    let mut order = None;
    ui.horizontal_wrapped(|ui| {
        let marks = world.get_resource::<Marks>().cloned().unwrap_or_default();
        let locked = marks.locked.contains(id.label());
        let hidden = marks.hidden.contains(id.label());
        for (word, command) in [
            (if locked { "unlock" } else { "lock" }, Command::Lock),
            (if hidden { "show" } else { "hide" }, Command::Hide),
            ("duplicate", Command::Duplicate),
            ("take away", Command::Delete),
        ] {
            if ui.small_button(word).clicked() {
                order = Some(command);
            }
        }
    });
    if let Some(command) = order {
        run(ui.ctx(), world, desk, command);
        return;
    }
    ui.separator();
    if sort == Sort::Meter {
        reading(ui, desk, id.label());
    }
    let mut document = (*desk.document).clone();
    let mut sink = Sink::new(desk);
    let mut renamed = None;
    ScrollArea::vertical()
        .auto_shrink([false, true])
        .show(ui, |ui| {
            Grid::new(("details", id.label()))
                .num_columns(2)
                .spacing([8.0, 4.0])
                .show(ui, |ui| {
                    if let ThingId::Named(name) = &id {
                        let mut new = name.clone();
                        sink.text(ui, "name", &mut new, 1);
                        if new != *name {
                            renamed = Some(new);
                        }
                    }
                    let names = Names::of(&document, &id);
                    let aim = aim_height(&document, &id);
                    match find_mut(&mut document, &id) {
                        Some(ThingMut::Camera(x)) => kit::camera(ui, &mut sink, x, &names),
                        Some(ThingMut::Person(x)) => people::person(ui, &mut sink, x, &names),
                        Some(ThingMut::Panel(x)) => kit::panel(ui, &mut sink, x, &names, aim),
                        Some(ThingMut::Flash(x)) => flash::flash(ui, &mut sink, x, &names, aim),
                        Some(ThingMut::Wall(x)) => places::wall(ui, &mut sink, x),
                        Some(ThingMut::Canopy(x)) => places::canopy(ui, &mut sink, x),
                        Some(ThingMut::Solid(x)) => places::solid(ui, &mut sink, x),
                        Some(ThingMut::Backdrop(x)) => places::backdrop(ui, &mut sink, x),
                        Some(ThingMut::Meter(x)) => kit::meter(ui, &mut sink, x, &names, aim),
                        Some(ThingMut::Zone(x)) => places::zone(ui, &mut sink, x),
                        None => {}
                    }
                });
        });
    if let Some(new) = renamed {
        let mut document = (*desk.document).clone();
        if rename(&mut document, &id, &new) {
            desk.selection = vec![ThingId::Named(new.trim().to_owned())];
            sink.finish(world, desk, document, &format!("name of {}", id.label()));
        } else {
            desk.warn(format!(
                "\u{201c}{new}\u{201d} is taken or empty; give another name"
            ));
        }
        return;
    }
    sink.finish(world, desk, document, &format!("details of {}", id.label()));
}

/// What a meter shows, as the light was computed last.
fn reading(ui: &mut Ui, desk: &Desk, name: &str) {
    let inks = desk.paper.inks();
    let known = desk.lit.as_ref().and_then(|lit| {
        let meters = &lit.solved.readings.meters;
        meters.iter().find(|m| m.name == name)
    });
    let camera = desk.document.camera.clone().unwrap_or_default();
    ui.label(
        RichText::new(format!("at {} s and ISO {}", camera.shutter.0, camera.iso))
            .size(12.0)
            .color(inks.faint),
    );
    match known {
        Some(reading) => {
            for (i, line) in meters::lines(reading).into_iter().enumerate() {
                let text = RichText::new(line);
                ui.label(if i == 0 { text.font(bold(15.0)) } else { text });
            }
        }
        None => {
            ui.label(RichText::new("being lit").color(inks.faint));
        }
    }
    ui.separator();
}

fn head(ui: &mut Ui, name: &str, sort: &str) {
    ui.horizontal(|ui| {
        ui.label(RichText::new(name).font(bold(15.0)));
        if name != sort {
            ui.label(RichText::new(sort).weak());
        }
    });
}

/// Height at which a new target lies: that of the thing itself.
fn aim_height(document: &crate::document::Document, id: &ThingId) -> f64 {
    find(document, id)
        .and_then(|t: Thing| height(t))
        .map_or(1.4, |h| h.0)
}

/// Names that a target can have.
pub struct Names {
    pub people: Vec<String>,
    pub things: Vec<String>,
    pub flashes: Vec<String>,
}

impl Names {
    fn of(document: &crate::document::Document, own: &ThingId) -> Self {
        let others = |list: Vec<&String>| -> Vec<String> {
            list.into_iter()
                .filter(|n| n.as_str() != own.label())
                .cloned()
                .collect()
        };
        let mut things: Vec<&String> = document.panels.iter().map(|p| &p.name).collect();
        things.extend(document.flashes.iter().map(|f| &f.name));
        things.extend(document.solids.iter().map(|s| &s.name));
        Self {
            people: others(document.people.iter().map(|p| &p.name).collect()),
            things: others(things),
            flashes: others(document.flashes.iter().map(|f| &f.name).collect()),
        }
    }
}
