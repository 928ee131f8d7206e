//! Rows of camera, panels, flashes and meters.

use super::pane::Names;
use super::people::{place, target};
use super::sink::Sink;
use crate::document::limits as l;
use crate::document::marks::{ExposureTime, Power};
use crate::document::{
    Aim, Battery, BounceFrom, Camera, Facing, Finish, Flash, Gel, Grid, Heat, Meter, Orientation,
    Output, Panel, PanelShape, Photographer, Receptor, ShutterKind, Softbox, Support, Target,
};
use crate::units::{FNumber, Iso, Power as PowerMark, ShutterTime};
use bevy_egui::egui::Ui;
use glam::DVec3;

/// The mark so many thirds on, by its name.
fn time_after(time: &ExposureTime, thirds: i32) -> Option<ExposureTime> {
    // a wheel turned away gives more light
    let now = ShutterTime::nearest(time.exact_s()?)?;
    ShutterTime::from_thirds(now.thirds() - thirds).map(|t| ExposureTime(t.nominal().to_owned()))
}

fn time(ui: &mut Ui, sink: &mut Sink, word: &str, value: &mut ExposureTime) {
    let steps = sink.thirds(ui, word, &format!("{} s", value.0));
    if steps != 0
        && let Some(new) = time_after(value, steps)
    {
        *value = new;
        sink.touch();
    }
}

/// A power so many thirds on, as the file writes it.
#[must_use]
pub fn power_after(power: &Power, thirds: i32) -> Option<Power> {
    let now = PowerMark::nearest(power.share()?)?;
    let new = PowerMark::from_thirds(now.thirds() - thirds)?;
    // thirds count up from the next weaker whole stop
    let below = (new.thirds() + 2) / 3;
    let plus = below * 3 - new.thirds();
    let whole = 1_u32 << below;
    Some(Power(match plus {
        0 => format!("1/{whole}"),
        n => format!("1/{whole} +{n}/3"),
    }))
}

fn power(ui: &mut Ui, sink: &mut Sink, word: &str, value: &mut Power) {
    let steps = sink.thirds(ui, word, &value.0);
    if steps != 0
        && let Some(new) = power_after(value, steps)
    {
        *value = new;
        sink.touch();
    }
}

fn f_number(ui: &mut Ui, sink: &mut Sink, word: &str, value: &mut f64) {
    // a wheel turned away gives more light: a smaller number
    let steps = sink.thirds(ui, word, &format!("f/{value}"));
    let now = FNumber::nearest(*value).filter(|_| steps != 0);
    if let Some(new) = now.and_then(|n| FNumber::from_thirds(n.thirds() - steps))
        && let Ok(marked) = new.nominal().parse()
    {
        *value = marked;
        sink.touch();
    }
}

fn iso(ui: &mut Ui, sink: &mut Sink, word: &str, value: &mut f64) {
    let steps = sink.thirds(ui, word, &format!("{value}"));
    let now = Iso::nearest(*value).filter(|_| steps != 0);
    if let Some(new) = now.and_then(|n| Iso::from_thirds(n.thirds() + steps))
        && let Ok(marked) = new.nominal().parse()
    {
        *value = marked;
        sink.touch();
    }
}

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

fn size(ui: &mut Ui, sink: &mut Sink, shape: &mut PanelShape) {
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

fn aim(ui: &mut Ui, sink: &mut Sink, x: &mut Aim, names: &Names, z: f64) {
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
    sink.tick(ui, "back is another", &mut two);
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

#[cfg(test)]
mod tests {
    use super::*;

    /// By construction: a third on and a third back is the same mark, and the marks are those
    /// that the file's own reader knows.
    #[test]
    fn thirds_go_there_and_back() {
        let mut power = Power("1/1".into());
        for step in 1..=24 {
            let weaker = power_after(&power, -1).expect("on the scale");
            let share = weaker.share().expect("a power of the format");
            assert!((share - f64::exp2(-f64::from(step) / 3.0)).abs() < 1e-12);
            assert_eq!(power_after(&weaker, 1), Some(power));
            power = weaker;
        }
        assert_eq!(power, Power("1/256".into()));
        assert_eq!(power_after(&power, -1), None);
        let time = ExposureTime("1/200".into());
        assert_eq!(time_after(&time, -1), Some(ExposureTime("1/250".into())));
        let slower = time_after(&time, 3).and_then(|t| t.exact_s());
        assert!((slower.unwrap_or(0.0) / time.exact_s().unwrap_or(1.0) - 2.0).abs() < 1e-9);
    }
}
