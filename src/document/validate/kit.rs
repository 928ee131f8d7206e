//! Panels and flashes.

use super::check::Check;
use crate::document::limits as l;
use crate::document::marks::Power;
use crate::document::schema::{
    Document, Facing, Finish, Flash, Gel, Output, Panel, PanelShape, ResolvedFinish, Support,
};

pub(super) fn check(document: &Document, check: &mut Check) {
    for (index, panel) in document.panels.iter().enumerate() {
        check_panel(&format!("panels[{index}]"), panel, check);
    }
    for (index, flash) in document.flashes.iter().enumerate() {
        check_flash(&format!("flashes[{index}]"), flash, check);
    }
    super::bag::check(document, check);
}

fn check_panel(path: &str, panel: &Panel, check: &mut Check) {
    let at = |field: &str| format!("{path}.{field}");
    check_shape(&at("shape"), panel.shape, check);
    if panel.place().is_none() {
        check.add(
            path,
            "its place is given in part or twice".into(),
            "give either `centre_m`, or `position_m` with `lower_edge_m`".into(),
        );
    }
    if let Some(centre) = panel.centre_m {
        check.above_ground(&at("centre_m"), centre);
        if let Facing::At(target) = &panel.facing {
            check.apart(&at("facing"), target, centre);
        }
    }
    if let Some(position) = panel.position_m {
        check.place(&at("position_m"), position);
    }
    check.option(&at("lower_edge_m"), panel.lower_edge_m, l::FLOOR);
    check.facing(&at("facing"), &panel.facing, &panel.name);
    check_finish(&at("front"), &panel.front, check);
    if let Some(back) = &panel.back {
        check_finish(&at("back"), back, check);
        let thin = |f: &Finish| matches!(f.resolve(), ResolvedFinish::Translucent { .. });
        if (thin(&panel.front) || thin(back)) && panel.front.resolve() != back.resolve() {
            check.add(
                &at("back"),
                "differs from the front, but a translucent panel is one cloth".into(),
                "leave `back` out".into(),
            );
        }
    }
    if let Support::Holder(stature_m) = panel.held_by {
        check.range(&at("held_by"), stature_m, l::STATURE);
    }
}

pub(super) fn check_shape(path: &str, shape: PanelShape, check: &mut Check) {
    match shape {
        PanelShape::Rectangle { width_m, height_m } => {
            check.range(&format!("{path}.width_m"), width_m, l::PANEL_SIZE);
            check.range(&format!("{path}.height_m"), height_m, l::PANEL_SIZE);
        }
        PanelShape::Disc { diameter_m } => {
            check.range(&format!("{path}.diameter_m"), diameter_m, l::PANEL_SIZE);
        }
    }
}

pub(super) fn check_finish(path: &str, finish: &Finish, check: &mut Check) {
    match *finish {
        Finish::MattWhite | Finish::Silver | Finish::Warm | Finish::Black | Finish::Translucent => {
        }
        Finish::Matt(albedo) => {
            check.range(path, albedo, l::REFLECTANCE);
        }
        Finish::MattRgb(r, g, b) => {
            check.numbers(path, &[r, g, b], l::REFLECTANCE);
        }
        Finish::Metal {
            alpha,
            reflectance,
            rgb,
        } => {
            check.range(&format!("{path}.alpha"), alpha, l::ALPHA);
            check.range(&format!("{path}.reflectance"), reflectance, l::REFLECTANCE);
            if let Some((r, g, b)) = rgb
                && tint(&format!("{path}.rgb"), [r, g, b], check)
                && let ResolvedFinish::Metal { reflectance, .. } = finish.resolve()
                && reflectance.iter().any(|v| *v > 1.0)
            {
                check.add(
                    &format!("{path}.rgb"),
                    "sends back more than it gets in one colour".into(),
                    "lower the reflectance or use a weaker tint".into(),
                );
            }
        }
        Finish::Scrim {
            transmittance,
            reflectance,
        } => {
            let t = check.range(&format!("{path}.transmittance"), transmittance, l::SHARE);
            let r = check.range(&format!("{path}.reflectance"), reflectance, l::SHARE);
            if t && r && transmittance + reflectance > 1.0 + 1e-12 {
                check.add(
                    path,
                    format!(
                        "transmittance {transmittance} and reflectance {reflectance} give {:.3}, more light than arrives",
                        transmittance + reflectance
                    ),
                    "their sum is at most 1".into(),
                );
            }
        }
    }
}

/// A tint: three shares, not all of them zero.
pub(super) fn tint(path: &str, rgb: [f64; 3], check: &mut Check) -> bool {
    if !check.numbers(path, &rgb, l::SHARE) {
        return false;
    }
    if rgb.iter().sum::<f64>() < 0.01 {
        let what = "is black, which is no tint".into();
        check.add(path, what, "raise at least one of the three".into());
        return false;
    }
    true
}

fn check_flash(path: &str, flash: &Flash, check: &mut Check) {
    let at = |field: &str| format!("{path}.{field}");
    check.above_ground(&at("position_m"), flash.position_m);
    check.aim(&at("aim"), &flash.aim, &flash.name, flash.position_m);
    check_output(&at("output"), &flash.output, check);
    check_power(&at("power"), &flash.power, check);
    check_power(&at("least_power"), &flash.least_power, check);
    if let (Some(set), Some(least)) = (flash.power.share(), flash.least_power.share())
        && set < least * 0.999
    {
        check.add(
            &at("power"),
            format!("\"{}\" is less than the flash can give", flash.power.0),
            format!(
                "give \"{}\" or more, or lower `least_power`",
                flash.least_power.0
            ),
        );
    }
    let beam = flash.beam;
    let even = check.range(
        &at("beam.even_half_angle_deg"),
        beam.even_half_angle_deg,
        l::BEAM,
    );
    let zero = check.range(
        &at("beam.zero_half_angle_deg"),
        beam.zero_half_angle_deg,
        l::BEAM,
    );
    if even && zero && beam.even_half_angle_deg > beam.zero_half_angle_deg {
        check.add(
            &at("beam"),
            format!(
                "is even up to {} deg but ends at {} deg",
                beam.even_half_angle_deg, beam.zero_half_angle_deg
            ),
            "`zero_half_angle_deg` is the larger of the two".into(),
        );
    }
    if let Some(softbox) = &flash.softbox {
        check_shape(&at("softbox.shape"), softbox.shape, check);
        check.range(&at("softbox.loss_stops"), softbox.loss_stops, l::LOSS);
    }
    if let Some(grid) = flash.grid {
        check.range(&at("grid.half_angle_deg"), grid.half_angle_deg, l::GRID);
        check.range(&at("grid.loss_stops"), grid.loss_stops, l::LOSS);
    }
    let cct = check.range(&at("cct_k"), flash.cct_k, l::COLOUR_TEMPERATURE);
    if let Some(Gel::Shift {
        shift_mired,
        loss_stops,
    }) = flash.gel
    {
        check.range(&at("gel.shift_mired"), shift_mired, l::MIRED);
        check.range(&at("gel.loss_stops"), loss_stops, l::LOSS);
    }
    let limit = l::COLOUR_TEMPERATURE;
    let gelled = flash.gelled_cct_k();
    if cct && flash.gel.is_some() && !(gelled >= limit.low && gelled <= limit.high) {
        check.add(
            &at("gel"),
            "shifts the light beyond any colour temperature".into(),
            format!("stay between {} and {} k", limit.low, limit.high),
        );
    }
    check.option(&at("duration_t01_s"), flash.duration_t01_s, l::DURATION);
    check.option(
        &at("duration_least_t01_s"),
        flash.duration_least_t01_s,
        l::DURATION,
    );
    if let Some(heat) = flash.heat {
        let flashes = f64::from(heat.full_power_flashes);
        check.range(&at("heat.full_power_flashes"), flashes, l::CHARGE);
        check.range(&at("heat.pause_s"), heat.pause_s, l::PAUSE);
    }
    check.option(&at("recycle_s"), flash.recycle_s, l::RECYCLE);
    if let Some(battery) = flash.battery {
        let flashes = f64::from(battery.full_power_flashes);
        check.range(&at("battery.full_power_flashes"), flashes, l::CHARGE);
    }
}

pub(super) fn check_output(path: &str, output: &Output, check: &mut Check) {
    match output {
        Output::GuideNumber(guide_m) => {
            check.range(path, *guide_m, l::GUIDE_NUMBER);
        }
        Output::Reading {
            f_number,
            iso,
            distance_m,
            power,
        } => {
            check.range(&format!("{path}.f_number"), *f_number, l::F_NUMBER);
            check.range(&format!("{path}.iso"), *iso, l::ISO);
            check.range(
                &format!("{path}.distance_m"),
                *distance_m,
                l::READING_DISTANCE,
            );
            check_power(&format!("{path}.power"), power, check);
        }
        Output::WattSeconds {
            energy_ws,
            efficacy_lm_per_w,
        } => {
            check.range(&format!("{path}.energy_ws"), *energy_ws, l::ENERGY);
            check.range(
                &format!("{path}.efficacy_lm_per_w"),
                *efficacy_lm_per_w,
                l::EFFICACY,
            );
        }
        Output::Axis(lux_s) => {
            check.range(path, *lux_s, l::AXIS);
        }
    }
}

pub(super) fn check_power(path: &str, power: &Power, check: &mut Check) {
    if power.share().is_none() {
        check.add(
            path,
            format!("\"{}\" is no power", power.0),
            "write \"1/1\" to \"1/256\", with \" +1/3\" or \" +2/3\" for thirds of a stop".into(),
        );
    }
}
