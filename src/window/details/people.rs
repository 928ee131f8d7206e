//! Rows of a person, and of targets.

use super::pane::Names;
use super::sink::{Sink, press};
use crate::document::limits as l;
use crate::document::{Build, Hair, Hat, Moves, Person, Posture, Target};
use bevy_egui::egui::{Button, Ui};
use glam::DVec2;

/// Place on the plan.
pub fn place(ui: &mut Ui, sink: &mut Sink, at: &mut DVec2) {
    sink.number(ui, "x, right of plan", &mut at.x, &l::COORDINATE);
    sink.number(ui, "y, up the plan", &mut at.y, &l::COORDINATE);
}

/// What something points at.
pub fn target(ui: &mut Ui, sink: &mut Sink, word: &str, value: &mut Target, names: &Names, z: f64) {
    let mut options = vec![(Target::Camera, "the camera".to_owned())];
    for name in &names.people {
        options.push((
            Target::Person(name.clone()),
            format!("{name}\u{2019}s eyes"),
        ));
    }
    for name in &names.things {
        options.push((Target::Thing(name.clone()), name.clone()));
    }
    let (point, azimuth) = match value {
        Target::Point(..) => (value.clone(), Target::Azimuth(180.0)),
        Target::Azimuth(_) => (Target::Point(0.0, 0.0, z), value.clone()),
        _ => (Target::Point(0.0, 0.0, z), Target::Azimuth(180.0)),
    };
    options.push((point, "a place".to_owned()));
    options.push((azimuth, "a direction".to_owned()));
    let list: Vec<(Target, &str)> = options
        .iter()
        .map(|(t, w)| (t.clone(), w.as_str()))
        .collect();
    sink.choice(ui, word, value, &list);
    match value {
        Target::Point(x, y, z) => {
            sink.number(ui, "  x", x, &l::COORDINATE);
            sink.number(ui, "  y", y, &l::COORDINATE);
            sink.number(ui, "  height", z, &l::COORDINATE);
        }
        Target::Azimuth(azimuth) => sink.number(ui, "  azimuth", azimuth, &l::AZIMUTH),
        _ => {}
    }
}

/// Linear RGB that may be absent.
pub fn tint(
    ui: &mut Ui,
    sink: &mut Sink,
    word: &str,
    value: &mut Option<(f64, f64, f64)>,
    start: (f64, f64, f64),
) {
    match value {
        None => {
            sink.word(ui, word);
            if ui
                .button("mean tint")
                .on_hover_text("Click to set red, green and blue")
                .clicked()
            {
                *value = Some(start);
                sink.touch();
            }
            ui.end_row();
        }
        Some((r, g, b)) => {
            sink.number(ui, &format!("{word}, red"), r, &l::SHARE);
            sink.number(ui, "  green", g, &l::SHARE);
            sink.number(ui, "  blue", b, &l::SHARE);
            ui.label("");
            if ui.small_button("mean tint again").clicked() {
                *value = None;
                sink.touch();
            }
            ui.end_row();
        }
    }
}

pub fn person(ui: &mut Ui, sink: &mut Sink, x: &mut Person, names: &Names) {
    place(ui, sink, &mut x.position_m);
    sink.number(ui, "floor", &mut x.floor_m, &l::FLOOR);
    let seat = match x.posture {
        Posture::Seated(h) => Posture::Seated(h),
        _ => Posture::Seated(0.45),
    };
    sink.choice(
        ui,
        "posture",
        &mut x.posture,
        &[
            (Posture::Standing, "standing"),
            (seat, "seated"),
            (Posture::Crouching, "crouching"),
            (Posture::Kneeling, "kneeling"),
        ],
    );
    if let Posture::Seated(seat) = &mut x.posture {
        sink.number(ui, "  seat", seat, &l::SEAT);
    }
    target(ui, sink, "nose towards", &mut x.nose, names, 1.5);
    sink.number(ui, "nose up", &mut x.pitch_deg, &l::TILT);
    sink.number(ui, "head tipped to own right", &mut x.roll_deg, &l::TILT);
    sink.maybe(
        ui,
        "body faces",
        &mut x.body_azimuth_deg,
        (&l::AZIMUTH, 180.0),
        "as the nose",
    );
    gaze(ui, sink, x, names);
    sink.number(ui, "age", &mut x.age_years, &l::AGE);
    sink.choice(
        ui,
        "build",
        &mut x.build,
        &[
            (Build::Average, "average"),
            (Build::Male, "male"),
            (Build::Female, "female"),
        ],
    );
    sink.maybe(
        ui,
        "stature",
        &mut x.stature_m,
        (&l::STATURE, 1.7),
        "by age and build",
    );
    sink.number(ui, "skin reflectance", &mut x.skin_reflectance, &l::SKIN);
    tint(ui, sink, "skin tint", &mut x.skin_rgb, (0.5, 0.35, 0.28));
    sink.choice(
        ui,
        "hair",
        &mut x.hair,
        &[
            (Hair::Bald, "none"),
            (Hair::Short, "short"),
            (Hair::Long, "long"),
        ],
    );
    sink.number(
        ui,
        "hair reflectance",
        &mut x.hair_reflectance,
        &l::REFLECTANCE,
    );
    sink.choice(
        ui,
        "hat",
        &mut x.hat,
        &[
            (Hat::None, "none"),
            (Hat::Brim, "a brim all round"),
            (Hat::Peaked, "a peak in front"),
            (Hat::Beanie, "close-fitting"),
        ],
    );
    sink.tick(ui, "glasses", &mut x.glasses);
    sink.number(
        ui,
        "clothing reflectance",
        &mut x.clothing_reflectance,
        &l::REFLECTANCE,
    );
    let own = match x.moves {
        Moves::Speed(speed) => Moves::Speed(speed),
        _ => Moves::Speed(2.0),
    };
    sink.choice(
        ui,
        "moves",
        &mut x.moves,
        &[
            (Moves::No, "holds still"),
            (Moves::Walk, "walks"),
            (Moves::Run, "runs"),
            (own, "so fast"),
        ],
    );
    if let Moves::Speed(speed) = &mut x.moves {
        sink.number(ui, "  across the frame", speed, &l::MOVES);
    }
}

fn gaze(ui: &mut Ui, sink: &mut Sink, x: &mut Person, names: &Names) {
    match &mut x.gaze {
        None => {
            sink.word(ui, "eyes look");
            if press(ui, Button::new("where the nose points"))
                .on_hover_text("Click to aim them elsewhere")
                .clicked()
            {
                x.gaze = Some(Target::Camera);
                sink.touch();
            }
            ui.end_row();
        }
        Some(gaze) => {
            target(ui, sink, "eyes look at", gaze, names, 1.5);
            ui.label("");
            if press(ui, Button::new("with the nose again").small()).clicked() {
                x.gaze = None;
                sink.touch();
            }
            ui.end_row();
        }
    }
}
