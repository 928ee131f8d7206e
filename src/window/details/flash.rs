//! Rows of a flash: power and output, beam, softbox, grid, gel, what it can keep up.

use super::kit::{aim, point, size};
use super::marks::{f_number, iso, power};
use super::pane::Names;
use super::sink::Sink;
use crate::document::limits as l;
use crate::document::marks::Power;
use crate::document::{Battery, Flash, Gel, Grid, Heat, Output, PanelShape, Softbox};
use bevy_egui::egui::Ui;

pub fn flash(ui: &mut Ui, sink: &mut Sink, x: &mut Flash, names: &Names, z: f64) {
    power(ui, sink, "power", &mut x.power);
    output(ui, sink, &mut x.output);
    point(ui, sink, &mut x.position_m);
    aim(ui, sink, &mut x.aim, names, z);
    if x.softbox.is_none() {
        sink.number(
            ui,
            "beam even to",
            &mut x.beam.even_half_angle_deg,
            &l::BEAM,
        );
        sink.number(
            ui,
            "beam ends at",
            &mut x.beam.zero_half_angle_deg,
            &l::BEAM,
        );
    }
    let square = Softbox {
        shape: PanelShape::Rectangle {
            width_m: 0.6,
            height_m: 0.6,
        },
        loss_stops: 1.5,
    };
    if optional(ui, sink, "softbox", &mut x.softbox, square)
        && let Some(softbox) = &mut x.softbox
    {
        size(ui, sink, &mut softbox.shape);
        sink.number(ui, "  loss", &mut softbox.loss_stops, &l::LOSS);
    }
    let grid = Grid {
        half_angle_deg: 20.0,
        loss_stops: 1.0,
    };
    if optional(ui, sink, "grid", &mut x.grid, grid)
        && let Some(grid) = &mut x.grid
    {
        sink.number(ui, "  half-angle", &mut grid.half_angle_deg, &l::GRID);
        sink.number(ui, "  loss", &mut grid.loss_stops, &l::LOSS);
    }
    gel(ui, sink, &mut x.gel);
    sink.number(
        ui,
        "colour without gel",
        &mut x.cct_k,
        &l::COLOUR_TEMPERATURE,
    );
    sink.tick(ui, "on a stand", &mut x.stand);
    sink.maybe(
        ui,
        "duration t0.1",
        &mut x.duration_t01_s,
        (&l::DURATION, 0.002),
        "not known",
    );
    sink.maybe(
        ui,
        "  at least power",
        &mut x.duration_least_t01_s,
        (&l::DURATION, 0.0002),
        "not known",
    );
    power(ui, sink, "least power", &mut x.least_power);
    let heat = Heat {
        full_power_flashes: 30,
        pause_s: 300.0,
    };
    if optional(ui, sink, "heat limit known", &mut x.heat, heat)
        && let Some(heat) = &mut x.heat
    {
        let mut count = f64::from(heat.full_power_flashes);
        sink.number(ui, "  full flashes", &mut count, &l::CHARGE);
        heat.full_power_flashes = count.round() as u32;
        sink.number(ui, "  then rests", &mut heat.pause_s, &l::PAUSE);
    }
    sink.maybe(
        ui,
        "recycle",
        &mut x.recycle_s,
        (&l::RECYCLE, 2.0),
        "not known",
    );
    let battery = Battery {
        full_power_flashes: 300,
    };
    if optional(ui, sink, "battery known", &mut x.battery, battery)
        && let Some(battery) = &mut x.battery
    {
        let mut count = f64::from(battery.full_power_flashes);
        sink.number(ui, "  full flashes", &mut count, &l::CHARGE);
        battery.full_power_flashes = count.round() as u32;
    }
}

/// A part that may be there; whether it is.
fn optional<T>(ui: &mut Ui, sink: &mut Sink, word: &str, value: &mut Option<T>, start: T) -> bool {
    let mut there = value.is_some();
    sink.tick(ui, word, &mut there);
    match (value.is_some(), there) {
        (false, true) => *value = Some(start),
        (true, false) => *value = None,
        _ => {}
    }
    there
}

fn output(ui: &mut Ui, sink: &mut Sink, x: &mut Output) {
    let own = |x: &Output, like: Output| {
        if std::mem::discriminant(x) == std::mem::discriminant(&like) {
            x.clone()
        } else {
            like
        }
    };
    let reading = Output::Reading {
        f_number: 8.0,
        iso: 100.0,
        distance_m: 2.0,
        power: Power::default(),
    };
    let energy = Output::WattSeconds {
        energy_ws: 200.0,
        efficacy_lm_per_w: 30.0,
    };
    let options = [
        (own(x, Output::GuideNumber(50.0)), "guide number"),
        (own(x, reading), "a meter\u{2019}s reading"),
        (own(x, energy), "watt-seconds"),
        (own(x, Output::Axis(6000.0)), "lux-seconds at 1 m"),
    ];
    sink.choice(ui, "output by", x, &options);
    match x {
        Output::GuideNumber(guide) => sink.number(ui, "  at ISO 100", guide, &l::GUIDE_NUMBER),
        Output::Reading {
            f_number: f,
            iso: s,
            distance_m,
            power: p,
        } => {
            f_number(ui, sink, "  reads", f);
            iso(ui, sink, "  at ISO", s);
            sink.number(ui, "  from", distance_m, &l::READING_DISTANCE);
            power(ui, sink, "  at power", p);
        }
        Output::WattSeconds {
            energy_ws,
            efficacy_lm_per_w,
        } => {
            sink.number(ui, "  energy", energy_ws, &l::ENERGY);
            sink.number(ui, "  efficacy", efficacy_lm_per_w, &l::EFFICACY);
        }
        Output::Axis(lux_s) => sink.number(ui, "  on the axis", lux_s, &l::AXIS),
    }
}

fn gel(ui: &mut Ui, sink: &mut Sink, x: &mut Option<Gel>) {
    let own = match x {
        Some(gel @ Gel::Shift { .. }) => *gel,
        _ => Gel::Shift {
            shift_mired: 0.0,
            loss_stops: 0.0,
        },
    };
    sink.choice(
        ui,
        "gel",
        x,
        &[
            (None, "none"),
            (Some(Gel::FullWarming), "full warming"),
            (Some(Gel::HalfWarming), "half warming"),
            (Some(Gel::QuarterWarming), "quarter warming"),
            (Some(Gel::EighthWarming), "eighth warming"),
            (Some(Gel::FullCooling), "full cooling"),
            (Some(Gel::HalfCooling), "half cooling"),
            (Some(Gel::QuarterCooling), "quarter cooling"),
            (Some(Gel::EighthCooling), "eighth cooling"),
            (Some(own), "by numbers"),
        ],
    );
    if let Some(Gel::Shift {
        shift_mired,
        loss_stops,
    }) = x
    {
        sink.number(ui, "  shift", shift_mired, &l::MIRED);
        sink.number(ui, "  loss", loss_stops, &l::LOSS);
    }
}
