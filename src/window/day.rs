//! Time: typed, stepped, and a table of the coming hours.

use super::desk::Desk;
use super::hours::{self, HourFace};
use super::keys::refused;
use super::same::Same;
use super::theme::bold;
use crate::document::{Document, Place, Sky, Sun};
use crate::geometry::shape::azimuth_elevation;
use crate::scene::edit::{apply, set_time};
use crate::scene::freeze::freeze;
use crate::sheet::words;
use crate::snapshot::Snapshot;
use bevy::prelude::World;
use bevy_egui::egui::{Color32, Grid, RichText, ScrollArea, TextEdit, Ui};

/// What the pane of hours knows.
#[derive(Default)]
pub struct Day {
    typed: Option<String>,
    rows: Vec<Row>,
    rows_of: Same<Snapshot>,
    /// What the faces do in them.
    pub known: hours::Known,
}

/// One time of the day.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    pub minute: i32,
    pub clock: String,
    pub elevation_deg: f64,
    /// "front light", "back light from camera-left" and so on.
    pub from: String,
    /// Length of the shadow of a metre, metres; none under a low sun.
    pub shadow: Option<f64>,
}

impl Day {
    /// Times that the table shows, minutes after midnight.
    pub fn minutes(&self) -> impl Iterator<Item = i32> {
        self.rows.iter().map(|row| row.minute)
    }

    /// Minutes after midnight of the scene's time.
    #[must_use]
    pub fn minute_of(&self, document: &Document) -> Option<i32> {
        let (_, clock) = parts(document)?;
        let (hour, minute) = clock.split_once(':')?;
        let (hour, minute): (i32, i32) = (hour.parse().ok()?, minute.parse().ok()?);
        Some(hour * 60 + minute)
    }
}

fn parts(document: &Document) -> Option<(&str, &str)> {
    document.place.as_ref()?;
    let mut words = document.time.as_deref()?.split_whitespace();
    Some((words.next()?, words.next()?))
}

/// The scene's date with another clock.
#[must_use]
pub fn with_clock(document: &Document, clock: &str) -> Option<String> {
    let (date, _) = parts(document)?;
    Some(format!("{date} {clock}"))
}

/// The scene's time, so many minutes on.
#[must_use]
pub fn stepped(document: &Document, minutes: i64) -> Option<String> {
    let (date, clock) = parts(document)?;
    let time = format!("{date}T{clock}");
    let time: jiff::civil::DateTime = time.parse().ok()?;
    let span = jiff::Span::new().try_minutes(minutes).ok()?;
    let time = time.checked_add(span).ok()?;
    Some(time.strftime("%Y-%m-%d %H:%M").to_string())
}

/// From where the sun comes to the group, as the camera sees it.
#[must_use]
pub fn light_from(snapshot: &Snapshot, toward: glam::DVec3) -> String {
    let twelve = crate::sheet::view::twelve(snapshot);
    let off = azimuth_elevation(toward).0 - azimuth_elevation(twelve.extend(0.0)).0;
    let off = (off + 180.0).rem_euclid(360.0) - 180.0;
    let side = if off > 0.0 {
        "camera-right"
    } else {
        "camera-left"
    };
    match off.abs() {
        a if a < 22.5 => "back light".into(),
        a if a < 67.5 => format!("back light from {side}"),
        a if a < 112.5 => format!("side light from {side}"),
        a if a < 157.5 => format!("front light from {side}"),
        _ => "front light".into(),
    }
}

/// The hours from the scene's time on, each half hour while the sun is up.
#[must_use]
pub fn rows(minute: i32, now: &Snapshot) -> Vec<Row> {
    let mut list = Vec::new();
    let start = (minute / 30) * 30;
    for at in (start..=start + 360).step_by(30) {
        let clock = format!("{:02}:{:02}", at / 60, at % 60);
        if at >= 24 * 60 {
            break;
        }
        let Some(hour) = now.day.iter().find(|h| h.minute == at) else {
            continue;
        };
        let (_, elevation_deg) = azimuth_elevation(hour.toward);
        let tall = elevation_deg.to_radians().tan();
        list.push(Row {
            minute: at,
            clock,
            elevation_deg,
            from: light_from(now, hour.toward),
            shadow: (tall > 0.03).then_some(1.0 / tall),
        });
    }
    list
}

/// The pane.
pub fn day_ui(ui: &mut Ui, world: &mut World, desk: &mut Desk) {
    let inks = desk.paper.inks();
    let Some(minute) = desk.day.minute_of(&desk.document) else {
        ui.label(
            "The sun of this scene is given by angles. To let place and time say where it stands:",
        );
        if ui.button("Give it a place and a time").clicked() {
            give_place(world, desk);
        }
        return;
    };
    let Some(snapshot) = desk.snapshot.clone() else {
        return;
    };
    let key = Same::of(&snapshot);
    if desk.day.rows_of != key {
        desk.day.rows = rows(minute, &snapshot);
        desk.day.rows_of = key;
    }
    let mut wanted: Option<String> = None;
    ui.horizontal_top(|ui| {
        ui.vertical(|ui| {
            ui.set_width(216.0);
            let label = ui.label(RichText::new("Date and local time").font(bold(13.0)));
            let now = desk.document.time.clone().unwrap_or_default();
            let mut typed = desk.day.typed.clone().unwrap_or_else(|| now.clone());
            let field = ui
                .add(TextEdit::singleline(&mut typed).desired_width(150.0))
                .labelled_by(label.id);
            if field.changed() {
                desk.day.typed = Some(typed.clone());
            }
            if field.lost_focus() {
                desk.day.typed = None;
                if typed != now {
                    wanted = Some(typed.trim().to_owned());
                }
            }
            ui.horizontal(|ui| {
                for (words, by) in [
                    ("\u{2212}day", -1440),
                    ("\u{2212}10 min", -10),
                    ("+10 min", 10),
                    ("+day", 1440),
                ] {
                    if ui.button(words).clicked() {
                        wanted = stepped(&desk.document, by);
                    }
                }
            });
            ui.label(
                RichText::new(
                    "T and Shift T step it; or drag the shadow\u{2019}s tip on the plan.",
                )
                .size(11.0)
                .color(inks.faint),
            );
        });
        ui.separator();
        ScrollArea::both()
            .auto_shrink([false, true])
            .show(ui, |ui| {
                Grid::new("hours")
                    .striped(true)
                    .spacing([14.0, 2.0])
                    .show(ui, |ui| {
                        for head in [
                            "from",
                            "sun high",
                            "1 m casts",
                            "sun on the group",
                            "faces show",
                            "their level",
                        ] {
                            ui.label(RichText::new(head).size(11.5).color(inks.faint));
                        }
                        ui.end_row();
                        for row in &desk.day.rows {
                            if ui
                                .button(&row.clock)
                                .on_hover_text("Set the scene to this time")
                                .clicked()
                            {
                                wanted = with_clock(&desk.document, &row.clock);
                            }
                            ui.label(words::degrees(row.elevation_deg));
                            ui.label(row.shadow.map_or("long".into(), words::metres));
                            ui.label(&row.from);
                            faces(ui, desk.day.known.at(row.minute), inks.faint);
                            ui.end_row();
                        }
                    });
            });
    });
    if let Some(time) = wanted {
        let mut document = (*desk.document).clone();
        set_time(&mut document, &time);
        // a time that the place's clock leaves out is refused here and changes nothing
        match freeze(&document, None) {
            Err(error) => desk.warn(error.to_string()),
            Ok(_) => {
                let change = apply(world, "set the time", document);
                refused(desk, change);
            }
        }
    }
}

/// What the faces show at a time: two cells.
fn faces(ui: &mut Ui, known: Option<&Option<Vec<HourFace>>>, faint: Color32) {
    match known {
        Some(Some(list)) => {
            for words in [hours::patterns(list), hours::levels(list)] {
                ui.label(words).on_hover_text(hours::each(list));
            }
        }
        Some(None) => {
            ui.label(RichText::new("cannot be lit").color(faint));
            ui.label("");
        }
        None => {
            ui.label(RichText::new("being lit").color(faint));
            ui.label("");
        }
    }
}

/// A place and a time for a scene that has none: mid-northern, an invented garden at midsummer.
fn give_place(world: &mut World, desk: &mut Desk) {
    let mut document = (*desk.document).clone();
    document.place = Some(Place {
        name: String::new(),
        latitude_deg: 48.0,
        longitude_deg: 9.0,
        elevation_m: 0.0,
        zone: "Europe/Berlin".into(),
        north_deg: 0.0,
    });
    document.time = Some("2026-06-21 18:00".into());
    document.sun = Sun::Automatic;
    document.sky = Sky::Automatic;
    let change = apply(world, "give a place and a time", document);
    refused(desk, change);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By the calendar: steps go over midnight and month ends.
    #[test]
    fn time_steps_over_midnight() {
        let text = include_str!("../../scenes/rowing-crew.ron");
        let mut document = Document::parse(text, "demo").expect("a demo scene");
        document.time = Some("2026-06-30 23:55".into());
        assert_eq!(stepped(&document, 10).as_deref(), Some("2026-07-01 00:05"));
        assert_eq!(
            stepped(&document, -1440).as_deref(),
            Some("2026-06-29 23:55")
        );
        assert_eq!(Day::default().minute_of(&document), Some(1435));
    }
}
