//! Rows of camera, panels and meters.

use super::marks::{f_number, iso, time};
use super::pane::Names;
use super::people::{place, target};
use super::sink::Sink;
use crate::document::limits as l;
use crate::document::{
    Aim, BounceFrom, Camera, Facing, Finish, Meter, Orientation, Panel, PanelShape, Photographer,
    Receptor, ShutterKind, Support, Target,
};
use bevy_egui::egui::Ui;
use glam::DVec3;

pub fn camera(ui: &mut Ui, sink: &mut Sink, x: &mut Camera, names: &Names) {
    f_number(ui, sink, "aperture", &mut x.aperture);
    time(ui, sink, "shutter", &mut x.shutter);
    iso(ui, sink, "ISO", &mut x.iso);
    sink.number(ui, "ND filter", &mut x.nd_stops, &l::ND);
    sink.number(ui, "focal length", &mut x.focal_length_mm, &l::FOCAL_LENGTH);
    sink.choice(
        ui,
        "held",
        &mut x.orientation,
        &[
            (Orientation::Landscape, "landscape"),
            (Orientation::Portrait, "portrait"),
        ],
    );
    target(ui, sink, "looks at", &mut x.target, names, 1.4);
    place(ui, sink, &mut x.position_m);
    sink.number(ui, "lens height", &mut x.height_m, &l::LENS_HEIGHT);
    let mut options = vec![(None, "by the target")];
    options.extend(names.people.iter().map(|n| (Some(n.clone()), n.as_str())));
    sink.choice(ui, "in focus", &mut x.focus, &options);
    sink.maybe(
        ui,
        "focused at",
        &mut x.focus_m,
        (&l::FOCUS, 3.0),
        "that person",
    );
    sink.choice(
        ui,
        "shutter kind",
        &mut x.shutter_kind,
        &[
            (ShutterKind::Mechanical, "two curtains"),
            (ShutterKind::Leaf, "leaf"),
            (ShutterKind::Electronic, "electronic"),
        ],
    );
    time(ui, sink, "flash sync", &mut x.sync);
    sink.tick(ui, "high-speed sync", &mut x.high_speed_sync);
    sink.maybe(
        ui,
        "white balance",
        &mut x.white_balance_k,
        (&l::COLOUR_TEMPERATURE, 5600.0),
        "automatic",
    );
    sink.number(ui, "sensor, long side", &mut x.sensor_width_mm, &l::SENSOR);
    sink.number(
        ui,
        "sensor, short side",
        &mut x.sensor_height_mm,
        &l::SENSOR,
    );
    sink.choice(
        ui,
        "photographer",
        &mut x.photographer,
        &[
            (Photographer::Standing, "standing"),
            (Photographer::Kneeling, "kneeling"),
            (Photographer::None, "nobody"),
        ],
    );
}

pub fn size(ui: &mut Ui, sink: &mut Sink, shape: &mut PanelShape) {
    let side = shape.size_m();
    let (rectangle, disc) = match *shape {
        PanelShape::Rectangle { .. } => (*shape, PanelShape::Disc { diameter_m: side.x }),
        PanelShape::Disc { .. } => (
            PanelShape::Rectangle {
                width_m: side.x,
                height_m: side.y,
            },
            *shape,
        ),
    };
    sink.choice(
        ui,
        "shape",
        shape,
        &[(rectangle, "rectangle"), (disc, "disc")],
    );
    match shape {
        PanelShape::Rectangle { width_m, height_m } => {
            sink.number(ui, "width", width_m, &l::PANEL_SIZE);
            sink.number(ui, "height", height_m, &l::PANEL_SIZE);
        }
        PanelShape::Disc { diameter_m } => {
            sink.number(ui, "diameter", diameter_m, &l::PANEL_SIZE);
        }
    }
}

fn finish(ui: &mut Ui, sink: &mut Sink, word: &str, x: &mut Finish) {
    let own = |x: &Finish, like: Finish| {
        if std::mem::discriminant(x) == std::mem::discriminant(&like) {
            x.clone()
        } else {
            like
        }
    };
    let options = [
        (Finish::MattWhite, "matt white"),
        (Finish::Silver, "silver"),
        (Finish::Warm, "warm"),
        (Finish::Black, "black"),
        (Finish::Translucent, "translucent"),
        (own(x, Finish::Matt(0.5)), "matt, by its albedo"),
        (own(x, Finish::MattRgb(0.5, 0.5, 0.5)), "matt, coloured"),
        (
            own(
                x,
                Finish::Metal {
                    alpha: 0.3,
                    reflectance: 0.75,
                    rgb: None,
                },
            ),
            "metal, by numbers",
        ),
        (
            own(
                x,
                Finish::Scrim {
                    transmittance: 0.5,
                    reflectance: 0.35,
                },
            ),
            "cloth, by numbers",
        ),
    ];
    sink.choice(ui, word, x, &options);
    match x {
        Finish::Matt(albedo) => sink.number(ui, "  albedo", albedo, &l::REFLECTANCE),
        Finish::MattRgb(r, g, b) => {
            sink.number(ui, "  red", r, &l::REFLECTANCE);
            sink.number(ui, "  green", g, &l::REFLECTANCE);
            sink.number(ui, "  blue", b, &l::REFLECTANCE);
        }
        Finish::Metal {
            alpha,
            reflectance,
            rgb,
        } => {
            sink.number(ui, "  roughness", alpha, &l::ALPHA);
            sink.number(ui, "  reflectance", reflectance, &l::REFLECTANCE);
            super::people::tint(ui, sink, "  tint", rgb, (0.9, 0.8, 0.6));
        }
        Finish::Scrim {
            transmittance,
            reflectance,
        } => {
            sink.number(ui, "  lets through", transmittance, &l::SHARE);
            sink.number(ui, "  sends back", reflectance, &l::SHARE);
        }
        _ => {}
    }
}

fn angles(ui: &mut Ui, sink: &mut Sink, azimuth: &mut f64, elevation: &mut f64) {
    sink.number(ui, "  azimuth", azimuth, &l::AZIMUTH);
    sink.number(ui, "  up", elevation, &l::TILT);
}

pub fn aim(ui: &mut Ui, sink: &mut Sink, x: &mut Aim, names: &Names, z: f64) {
    let by_angles = match x {
        Aim::Direction { .. } => x.clone(),
        Aim::At(_) => Aim::Direction {
            azimuth_deg: 180.0,
            elevation_deg: 0.0,
        },
    };
    let at = match x {
        Aim::At(_) => x.clone(),
        Aim::Direction { .. } => Aim::At(Target::Point(0.0, 0.0, z)),
    };
    sink.choice(
        ui,
        "aimed",
        x,
        &[(at, "at a target"), (by_angles, "by angles")],
    );
    match x {
        Aim::At(t) => target(ui, sink, "  target", t, names, z),
        Aim::Direction {
            azimuth_deg,
            elevation_deg,
        } => angles(ui, sink, azimuth_deg, elevation_deg),
    }
}

pub fn panel(ui: &mut Ui, sink: &mut Sink, x: &mut Panel, names: &Names, z: f64) {
    finish(ui, sink, "front", &mut x.front);
    let mut two = x.back.is_some();
    sink.tick(ui, "two-sided", &mut two);
    match (&mut x.back, two) {
        (None, true) => x.back = Some(Finish::Black),
        (Some(_), false) => x.back = None,
        (Some(back), true) => finish(ui, sink, "back", back),
        (None, false) => {}
    }
    size(ui, sink, &mut x.shape);
    if let Some(at) = &mut x.position_m {
        place(ui, sink, at);
    }
    if let Some(edge) = &mut x.lower_edge_m {
        sink.number(ui, "lower edge", edge, &l::FLOOR);
    }
    if let Some(centre) = &mut x.centre_m {
        point(ui, sink, centre);
    }
    facing(ui, sink, x, names, z);
    let holder = match x.held_by {
        Support::Holder(h) => Support::Holder(h),
        _ => Support::default(),
    };
    sink.choice(
        ui,
        "held by",
        &mut x.held_by,
        &[
            (holder, "a person"),
            (Support::Stand, "a stand"),
            (Support::Ground, "the ground"),
            (Support::Nothing, "nothing drawn"),
        ],
    );
    if let Support::Holder(stature) = &mut x.held_by {
        sink.number(ui, "  stature", stature, &l::STATURE);
    }
}

fn facing(ui: &mut Ui, sink: &mut Sink, x: &mut Panel, names: &Names, z: f64) {
    let now = x.facing.clone();
    let to = match &now {
        Facing::At(t) | Facing::Bounce { to: t, .. } => t.clone(),
        Facing::Direction { .. } => Target::Point(0.0, 0.0, z),
    };
    let pick = |wanted: bool, other: Facing| if wanted { now.clone() } else { other };
    let mut options = vec![
        (
            pick(matches!(now, Facing::At(_)), Facing::At(to.clone())),
            "at a target".to_owned(),
        ),
        (
            pick(
                matches!(now, Facing::Direction { .. }),
                Facing::Direction {
                    azimuth_deg: 180.0,
                    elevation_deg: 0.0,
                },
            ),
            "by angles".to_owned(),
        ),
    ];
    let mut sources = vec![(BounceFrom::Sun, "bounces the sun".to_owned())];
    for name in &names.flashes {
        sources.push((BounceFrom::Flash(name.clone()), format!("bounces {name}")));
    }
    for (source, word) in sources {
        let same = matches!(&now, Facing::Bounce { from, .. } if *from == source);
        options.push((
            pick(
                same,
                Facing::Bounce {
                    from: source,
                    to: to.clone(),
                },
            ),
            word,
        ));
    }
    let list: Vec<(Facing, &str)> = options
        .iter()
        .map(|(f, w)| (f.clone(), w.as_str()))
        .collect();
    sink.choice(ui, "front faces", &mut x.facing, &list);
    match &mut x.facing {
        Facing::At(t) => target(ui, sink, "  target", t, names, z),
        Facing::Bounce { to, .. } => target(ui, sink, "  to", to, names, z),
        Facing::Direction {
            azimuth_deg,
            elevation_deg,
        } => angles(ui, sink, azimuth_deg, elevation_deg),
    }
}

/// A world point.
pub fn point(ui: &mut Ui, sink: &mut Sink, at: &mut DVec3) {
    sink.number(ui, "x, right of plan", &mut at.x, &l::COORDINATE);
    sink.number(ui, "y, up the plan", &mut at.y, &l::COORDINATE);
    sink.number(ui, "height", &mut at.z, &l::COORDINATE);
}
pub fn meter(ui: &mut Ui, sink: &mut Sink, x: &mut Meter, names: &Names, z: f64) {
    point(ui, sink, &mut x.position_m);
    aim(ui, sink, &mut x.facing, names, z);
    sink.choice(
        ui,
        "receptor",
        &mut x.receptor,
        &[(Receptor::Dome, "dome"), (Receptor::Flat, "flat")],
    );
}
