//! Rows of walls, trees, solids, backdrops and patches of ground.

use super::kit::point;
use super::people::place;
use super::sink::Sink;
use crate::document::limits as l;
use crate::document::{
    Backdrop, BackdropKind, Canopy, NamedSurface, Solid, SolidShape, Surface, Wall, WallShape, Zone,
};
use bevy_egui::egui::{ComboBox, RichText, Ui};
use glam::DVec3;

/// What a surface sends back; water lies on the ground only.
pub fn surface(ui: &mut Ui, sink: &mut Sink, x: &mut Surface, ground: bool) {
    let id = ui
        .label(RichText::new("surface").size(12.0).color(sink.faint))
        .id;
    let now = match x {
        Surface::Named(name) => name.label(),
        Surface::Grey(_) => "grey",
        Surface::Rgb(..) => "coloured",
        Surface::Water { .. } => "water",
    };
    let mut new = None;
    ComboBox::from_id_salt("surface")
        .selected_text(now)
        .width(120.0)
        .show_ui(ui, |ui| {
            for name in NamedSurface::ALL {
                let words = format!("{} ({:.2})", name.label(), name.reflectance());
                if ui
                    .selectable_label(*x == Surface::Named(*name), words)
                    .clicked()
                {
                    new = Some(Surface::Named(*name));
                }
            }
            if ui
                .selectable_label(matches!(x, Surface::Grey(_)), "grey")
                .clicked()
            {
                new = Some(Surface::Grey(0.3));
            }
            if ui
                .selectable_label(matches!(x, Surface::Rgb(..)), "coloured")
                .clicked()
            {
                new = Some(Surface::Rgb(0.3, 0.3, 0.3));
            }
            let wet = matches!(x, Surface::Water { .. });
            if ground && ui.selectable_label(wet, "water").clicked() {
                new = Some(Surface::Water {
                    wind_m_s: Some(2.0),
                    roughness: None,
                    body_reflectance: 0.05,
                });
            }
        })
        .response
        .labelled_by(id);
    ui.end_row();
    if let Some(new) = new.filter(|n| n != x) {
        *x = new;
        sink.touch();
    }
    match x {
        Surface::Named(_) => {}
        Surface::Grey(v) => sink.number(ui, "  reflectance", v, &l::REFLECTANCE),
        Surface::Rgb(r, g, b) => {
            sink.number(ui, "  red", r, &l::REFLECTANCE);
            sink.number(ui, "  green", g, &l::REFLECTANCE);
            sink.number(ui, "  blue", b, &l::REFLECTANCE);
        }
        Surface::Water {
            wind_m_s,
            roughness,
            body_reflectance,
        } => {
            sink.maybe(ui, "  wind", wind_m_s, (&l::WIND, 2.0), "calm");
            sink.maybe(
                ui,
                "  roughness",
                roughness,
                (&l::ROUGHNESS, 0.1),
                "by the wind",
            );
            sink.number(ui, "  body", body_reflectance, &l::REFLECTANCE);
        }
    }
}

fn sizes(ui: &mut Ui, sink: &mut Sink, x: &mut DVec3, words: [&str; 3]) {
    sink.number(ui, words[0], &mut x.x, &l::SIZE);
    sink.number(ui, words[1], &mut x.y, &l::SIZE);
    sink.number(ui, words[2], &mut x.z, &l::SIZE);
}

pub fn wall(ui: &mut Ui, sink: &mut Sink, x: &mut Wall) {
    match &mut x.shape {
        WallShape::Box {
            centre_m,
            size_m,
            azimuth_deg,
        } => {
            sizes(ui, sink, size_m, ["width", "depth", "height"]);
            point(ui, sink, centre_m);
            sink.number(ui, "azimuth", azimuth_deg, &l::AZIMUTH);
        }
        WallShape::Rectangle {
            centre_m,
            width_m,
            height_m,
            azimuth_deg,
            elevation_deg,
        } => {
            sink.number(ui, "width", width_m, &l::SIZE);
            sink.number(ui, "height", height_m, &l::SIZE);
            point(ui, sink, centre_m);
            sink.number(ui, "azimuth", azimuth_deg, &l::AZIMUTH);
            sink.number(ui, "leans", elevation_deg, &l::TILT);
        }
    }
    surface(ui, sink, &mut x.surface, false);
}

pub fn canopy(ui: &mut Ui, sink: &mut Sink, x: &mut Canopy) {
    point(ui, sink, &mut x.centre_m);
    sizes(
        ui,
        sink,
        &mut x.radii_m,
        ["half-width x", "half-width y", "half-height"],
    );
    sink.number(ui, "gaps", &mut x.gap_fraction, &l::GAP);
    surface(ui, sink, &mut x.surface, false);
}

pub fn solid(ui: &mut Ui, sink: &mut Sink, x: &mut Solid) {
    match &mut x.shape {
        SolidShape::Sphere { centre_m, radius_m } => {
            point(ui, sink, centre_m);
            sink.number(ui, "radius", radius_m, &l::SIZE);
        }
        SolidShape::Cylinder {
            base_m,
            radius_m,
            height_m,
        }
        | SolidShape::Capsule {
            base_m,
            radius_m,
            height_m,
        } => {
            point(ui, sink, base_m);
            sink.number(ui, "radius", radius_m, &l::SIZE);
            sink.number(ui, "tall", height_m, &l::SIZE);
        }
        SolidShape::Box {
            centre_m,
            size_m,
            azimuth_deg,
        } => {
            point(ui, sink, centre_m);
            sizes(ui, sink, size_m, ["width", "depth", "tall"]);
            sink.number(ui, "azimuth", azimuth_deg, &l::AZIMUTH);
        }
        SolidShape::Ellipsoid {
            centre_m,
            radii_m,
            azimuth_deg,
        } => {
            point(ui, sink, centre_m);
            sizes(
                ui,
                sink,
                radii_m,
                ["half-width", "half-depth", "half-height"],
            );
            sink.number(ui, "azimuth", azimuth_deg, &l::AZIMUTH);
        }
    }
    surface(ui, sink, &mut x.surface, false);
}

pub fn backdrop(ui: &mut Ui, sink: &mut Sink, x: &mut Backdrop) {
    sink.choice(
        ui,
        "kind",
        &mut x.kind,
        &[
            (BackdropKind::Hedge, "hedge"),
            (BackdropKind::Wall, "wall"),
            (BackdropKind::Water, "water"),
            (BackdropKind::Cloth, "cloth"),
            (BackdropKind::Other, "other"),
        ],
    );
    place(ui, sink, &mut x.position_m);
    sink.number(ui, "foot", &mut x.base_m, &l::FLOOR);
    sink.number(ui, "width", &mut x.width_m, &l::SIZE);
    sink.number(ui, "height", &mut x.height_m, &l::SIZE);
    sink.number(ui, "azimuth", &mut x.azimuth_deg, &l::AZIMUTH);
    surface(ui, sink, &mut x.surface, false);
    sink.number(ui, "lets through", &mut x.transmittance, &l::SHARE);
}

pub fn zone(ui: &mut Ui, sink: &mut Sink, x: &mut Zone) {
    surface(ui, sink, &mut x.surface, true);
    for (i, corner) in x.corners_m.iter_mut().enumerate() {
        sink.number(
            ui,
            &format!("corner {}, x", i + 1),
            &mut corner.x,
            &l::COORDINATE,
        );
        sink.number(ui, "  y", &mut corner.y, &l::COORDINATE);
    }
}
