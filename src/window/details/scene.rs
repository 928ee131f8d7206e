//! Rows of the scene itself: words, place and time, sun and sky, ground, what is wanted.

use super::lists;
use super::places::surface;
use super::sink::Sink;
use crate::document::limits as l;
use crate::document::marks::ExposureTime;
use crate::document::{Condition, Document, Kit, Lens, Pattern, Sky, Sun, Surface, Wind};
use bevy_egui::egui::{Grid, Ui};

pub fn rows(ui: &mut Ui, sink: &mut Sink, x: &mut Document) {
    Grid::new("scene")
        .num_columns(2)
        .spacing([8.0, 4.0])
        .show(ui, |ui| {
            sink.text(ui, "title", &mut x.title, 1);
            sink.text(ui, "note", &mut x.note, 4);
            place(ui, sink, x);
            sink.choice(
                ui,
                "sky is",
                &mut x.condition,
                &[
                    (Condition::Clear, "clear"),
                    (Condition::PartlyCloudySunOut, "partly cloudy, sun out"),
                    (
                        Condition::PartlyCloudySunCovered,
                        "partly cloudy, sun covered",
                    ),
                    (Condition::Overcast, "overcast"),
                ],
            );
            sun(ui, sink, &mut x.sun);
            sky(ui, sink, x);
            let metered = &mut x.metered;
            sink.maybe(
                ui,
                "sun metered",
                &mut metered.direct_normal_lux,
                (&l::LUX, 60_000.0),
                "no",
            );
            sink.maybe(
                ui,
                "sky metered",
                &mut metered.horizontal_lux,
                (&l::LUX, 12_000.0),
                "no",
            );
            let mut there = x.ground.is_some();
            sink.tick(ui, "ground", &mut there);
            match (&mut x.ground, there) {
                (None, true) => x.ground = Some(Surface::Grey(0.2)),
                (Some(_), false) => x.ground = None,
                (Some(ground), true) => surface(ui, sink, ground, true),
                (None, false) => {}
            }
            wanted(ui, sink, x);
            bag(ui, sink, &mut x.kit);
            lists::readings(ui, sink, x);
        });
}

fn place(ui: &mut Ui, sink: &mut Sink, x: &mut Document) {
    let Some(place) = &mut x.place else {
        return;
    };
    sink.text(ui, "place", &mut place.name, 1);
    sink.number(
        ui,
        "latitude, north +",
        &mut place.latitude_deg,
        &l::LATITUDE,
    );
    sink.number(
        ui,
        "longitude, east +",
        &mut place.longitude_deg,
        &l::LONGITUDE,
    );
    sink.number(
        ui,
        "above the sea",
        &mut place.elevation_m,
        &l::SITE_ELEVATION,
    );
    sink.text(ui, "time zone", &mut place.zone, 1);
    sink.number(ui, "north on the plan", &mut place.north_deg, &l::AZIMUTH);
}

fn sun(ui: &mut Ui, sink: &mut Sink, x: &mut Sun) {
    let given = match x {
        Sun::Given { .. } => x.clone(),
        _ => Sun::Given {
            azimuth_deg: 30.0,
            elevation_deg: 35.0,
            direct_normal_lux: 80_000.0,
            cct_k: None,
            disc: true,
        },
    };
    sink.choice(
        ui,
        "sun",
        x,
        &[
            (Sun::Automatic, "by place and time"),
            (given, "as told"),
            (Sun::None, "none"),
        ],
    );
    if let Sun::Given {
        azimuth_deg,
        elevation_deg,
        direct_normal_lux,
        cct_k,
        disc,
    } = x
    {
        sink.number(ui, "  azimuth", azimuth_deg, &l::AZIMUTH);
        sink.number(ui, "  high", elevation_deg, &l::SUN_ELEVATION);
        sink.number(ui, "  across the beam", direct_normal_lux, &l::LUX);
        sink.maybe(
            ui,
            "  colour",
            cct_k,
            (&l::COLOUR_TEMPERATURE, 5000.0),
            "by its height",
        );
        sink.tick(ui, "  a disc", disc);
    }
}

fn sky(ui: &mut Ui, sink: &mut Sink, x: &mut Document) {
    let given = match &x.sky {
        Sky::Given { .. } => x.sky.clone(),
        _ => Sky::Given {
            cie_type: 12,
            horizontal_lux: 15_000.0,
            sun_azimuth_deg: None,
            sun_elevation_deg: None,
            cct_k: None,
        },
    };
    sink.choice(
        ui,
        "sky light",
        &mut x.sky,
        &[
            (Sky::Automatic, "by place and time"),
            (given, "as told"),
            (Sky::None, "none"),
        ],
    );
    match &mut x.sky {
        Sky::Given {
            cie_type,
            horizontal_lux,
            sun_azimuth_deg,
            sun_elevation_deg,
            cct_k,
        } => {
            let mut kind = f64::from(*cie_type);
            sink.number(ui, "  CIE type", &mut kind, &l::SKY_TYPE);
            *cie_type = kind.round() as u8;
            sink.number(ui, "  on level ground", horizontal_lux, &l::LUX);
            sink.maybe(
                ui,
                "  its sun\u{2019}s azimuth",
                sun_azimuth_deg,
                (&l::AZIMUTH, 0.0),
                "the sun\u{2019}s",
            );
            sink.maybe(
                ui,
                "  its sun high",
                sun_elevation_deg,
                (&l::SUN_ELEVATION, 45.0),
                "the sun\u{2019}s",
            );
            sink.maybe(
                ui,
                "  colour",
                cct_k,
                (&l::COLOUR_TEMPERATURE, 6500.0),
                "by its type",
            );
        }
        _ => {
            let mut kind = x.sky_type.map(f64::from);
            sink.maybe(
                ui,
                "CIE sky type",
                &mut kind,
                (&l::SKY_TYPE, 12.0),
                "by the weather",
            );
            x.sky_type = kind.map(|k| k.round() as u8);
        }
    }
}

fn wanted(ui: &mut Ui, sink: &mut Sink, x: &mut Document) {
    let wanted = &mut x.wanted;
    sink.choice(
        ui,
        "wanted pattern",
        &mut wanted.pattern,
        &[
            (None, "none"),
            (Some(Pattern::Flat), "flat"),
            (Some(Pattern::Butterfly), "butterfly"),
            (Some(Pattern::Loop), "loop"),
            (Some(Pattern::Rembrandt), "Rembrandt"),
            (Some(Pattern::Split), "split"),
            (Some(Pattern::FromBelow), "from below"),
            (Some(Pattern::EdgeOnly), "edge only"),
        ],
    );
    sink.maybe(
        ui,
        "lit to shadow",
        &mut wanted.lit_to_shadow_stops,
        (&l::RATIO, 1.5),
        "no wish",
    );
    sink.maybe(
        ui,
        "key to fill",
        &mut wanted.key_to_fill_stops,
        (&l::RATIO, 1.0),
        "no wish",
    );
    sink.maybe(
        ui,
        "background",
        &mut wanted.background_stops,
        (&l::BACKGROUND, -1.0),
        "no wish",
    );
}

/// What the bag holds, how long people will stand, and the wind.
fn bag(ui: &mut Ui, sink: &mut Sink, x: &mut Kit) {
    let mut lens = x.lens.is_some();
    sink.tick(ui, "lens known", &mut lens);
    match (&mut x.lens, lens) {
        (None, true) => {
            x.lens = Some(Lens {
                widest: 2.8,
                narrowest: 16.0,
            });
        }
        (Some(_), false) => x.lens = None,
        (Some(lens), true) => {
            sink.number(ui, "  widest, f/", &mut lens.widest, &l::F_NUMBER);
            sink.number(ui, "  narrowest, f/", &mut lens.narrowest, &l::F_NUMBER);
        }
        (None, false) => {}
    }
    let mut filters = x.filters_stops.as_ref().map_or(String::new(), |list| {
        let words: Vec<String> = list.iter().map(f64::to_string).collect();
        words.join(" ")
    });
    let before = filters.clone();
    sink.text(ui, "ND filters, stops", &mut filters, 1);
    if filters != before {
        let list: Option<Vec<f64>> = filters
            .split([' ', ',', ';'])
            .filter(|w| !w.is_empty())
            .map(|w| w.parse().ok())
            .collect();
        // what is no list of numbers leaves the old one
        if let Some(list) = list {
            x.filters_stops = (!list.is_empty()).then_some(list);
        }
    }
    sink.maybe(ui, "lowest ISO", &mut x.lowest_iso, (&l::ISO, 100.0), "any");
    sink.maybe(
        ui,
        "highest ISO",
        &mut x.highest_iso,
        (&l::ISO, 1600.0),
        "any",
    );
    let mut fastest = x.fastest.clone().map_or(String::new(), |t| t.0);
    let before = fastest.clone();
    sink.text(ui, "fastest shutter, s", &mut fastest, 1);
    if fastest != before {
        x.fastest = (!fastest.trim().is_empty()).then(|| ExposureTime(fastest.trim().to_owned()));
    }
    sink.number(ui, "trigger delay", &mut x.trigger_delay_s, &l::DELAY);
    sink.number(ui, "pace, frame to frame", &mut x.pace_s, &l::PACE);
    sink.maybe(
        ui,
        "group stays",
        &mut x.patience_min,
        (&l::PATIENCE, 15.0),
        "by age",
    );
    lists::shots(ui, sink, &mut x.shots);
    wind(ui, sink, &mut x.wind);
    sink.number(ui, "stand with panel", &mut x.stand.mass_kg, &l::MASS);
    sink.number(ui, "stand\u{2019}s foot", &mut x.stand.foot_m, &l::FOOT);
}

fn wind(ui: &mut Ui, sink: &mut Sink, x: &mut Option<Wind>) {
    let speed = match x {
        Some(Wind::Speed(v)) => Wind::Speed(*v),
        _ => Wind::Speed(4.0),
    };
    let beaufort = match x {
        Some(Wind::Beaufort(n)) => Wind::Beaufort(*n),
        _ => Wind::Beaufort(3),
    };
    sink.choice(
        ui,
        "wind",
        x,
        &[
            (None, "not known"),
            (Some(speed), "in m/s"),
            (Some(beaufort), "Beaufort"),
        ],
    );
    match x {
        Some(Wind::Speed(v)) => sink.number(ui, "  speed", v, &l::SPEED),
        Some(Wind::Beaufort(n)) => {
            let mut number = f64::from(*n);
            sink.number(ui, "  number", &mut number, &l::BEAUFORT);
            *n = number.round() as u8;
        }
        None => {}
    }
}
