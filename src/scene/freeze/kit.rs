//! Panels and flashes, and who or what holds them.

use super::bodies::Worker;
use super::error::FreezeError;
use super::stage::Build;
use super::targets::{Places, half_rise};
use crate::document::{self, Flash, Output, Panel, PanelShape, ResolvedFinish, Support};
use crate::geometry::body::Posture;
use crate::geometry::shape::{Shape, azimuth_elevation, direction};
use crate::light::colour::Rgb;
use crate::light::stage::{self, Finish, FlashForm, Kind, Surface};
use crate::snapshot;
use glam::DVec3;

/// A stand's tube, metres, and its finish: common practice.
const STAND_RADIUS_M: f64 = 0.0125;
const STAND_ALBEDO: f64 = 0.1;
/// How far a stand's tube is behind what it carries, metres.
const STAND_GAP_M: f64 = 0.04;
/// Depth of a softbox behind its front, metres: common practice.
const BOX_DEPTH_M: f64 = 0.35;
/// From the middle of a body to hands held forward, as a share of stature.
const REACH: f64 = 0.26;

fn finish(finish: &document::Finish) -> Finish {
    let rgb = |[r, g, b]: [f64; 3]| Rgb::new(r, g, b);
    match finish.resolve() {
        ResolvedFinish::Matt { albedo } => Finish::Matt {
            albedo: rgb(albedo),
        },
        ResolvedFinish::Metal { alpha, reflectance } => Finish::Metallic {
            alpha,
            reflectance: rgb(reflectance),
        },
        ResolvedFinish::Translucent {
            transmittance,
            reflectance,
        } => Finish::Translucent {
            transmittance: Rgb::grey(transmittance),
            reflectance: Rgb::grey(reflectance),
        },
    }
}

fn sheet(shape: PanelShape, centre: DVec3, normal: DVec3) -> Shape {
    match shape {
        PanelShape::Rectangle { width_m, height_m } => {
            let (azimuth, elevation) = azimuth_elevation(normal);
            Shape::rectangle(centre, width_m, height_m, azimuth, elevation)
        }
        PanelShape::Disc { diameter_m } => Shape::Disc {
            centre,
            normal,
            radius: diameter_m / 2.0,
        },
    }
}

/// A plan point behind a tilted sheet, clear of its back by `gap` at every height.
fn behind(centre: DVec3, normal: DVec3, height_m: f64, gap: f64) -> glam::DVec2 {
    let (azimuth, elevation) = azimuth_elevation(normal);
    let lean = height_m / 2.0 * elevation.to_radians().sin().abs();
    (centre - direction(azimuth, 0.0) * (gap + lean)).truncate()
}

fn stand(name: &str, foot: glam::DVec2, top_m: f64, build: &mut Build) -> Vec<usize> {
    if top_m <= 0.1 {
        return Vec::new();
    }
    let tube = Shape::Cylinder {
        base: foot.extend(0.0),
        radius: STAND_RADIUS_M,
        height: top_m,
    };
    let dark = Finish::Matt {
        albedo: Rgb::grey(STAND_ALBEDO),
    };
    let own = build.name(format!("stand of {name}"));
    vec![build.solid(&own, Kind::Stand, tube, dark)]
}

pub(super) fn panel(
    panel: &Panel,
    (centre, normal): (DVec3, DVec3),
    build: &mut Build,
) -> snapshot::Panel {
    let size = panel.shape.size_m();
    let (azimuth, elevation) = azimuth_elevation(normal);
    let surface = build.add(Surface {
        name: panel.name.clone(),
        kind: Kind::Panel,
        shape: sheet(panel.shape, centre, normal),
        front: finish(&panel.front),
        back: finish(panel.back()),
    });
    let (support, support_surfaces) = match panel.held_by {
        Support::Holder(stature) => {
            let holder = Worker {
                name: build.name(format!("holder of {}", panel.name)),
                stature: Some(stature),
                posture: Posture::Standing,
                position: behind(centre, normal, size.y, REACH * stature),
                floor: 0.0,
                azimuth,
            };
            (snapshot::Support::Holder, holder.enter(build))
        }
        Support::Stand => {
            let foot = behind(centre, normal, size.y, STAND_GAP_M);
            let tube = stand(&panel.name, foot, centre.z, build);
            (snapshot::Support::Stand, tube)
        }
        Support::Ground => (snapshot::Support::Ground, Vec::new()),
        Support::Nothing => (snapshot::Support::Nothing, Vec::new()),
    };
    snapshot::Panel {
        name: panel.name.clone(),
        surface,
        front: panel.front.label().to_owned(),
        back: panel.back().label().to_owned(),
        centre,
        size,
        is_disc: matches!(panel.shape, PanelShape::Disc { .. }),
        azimuth_deg: azimuth,
        elevation_deg: elevation,
        lower_edge_m: centre.z - half_rise(panel, normal),
        support,
        support_surfaces,
    }
}

/// Half-angles of the beam. A honeycomb lets less through the further from the axis, down to
/// nothing at its own angle: its fall is taken as even from the axis outwards.
fn beam(flash: &Flash) -> (f64, f64) {
    let beam = flash.beam;
    match (&flash.softbox, flash.grid) {
        (Some(_), _) => (0.0, 90.0),
        (None, None) => (beam.even_half_angle_deg, beam.zero_half_angle_deg),
        (None, Some(grid)) => (0.0, beam.zero_half_angle_deg.min(grid.half_angle_deg)),
    }
}

pub(super) fn flash(
    flash: &Flash,
    places: &Places,
    build: &mut Build,
) -> Result<snapshot::Flash, FreezeError> {
    let invalid = |what: &str| FreezeError::Invalid {
        name: flash.name.clone(),
        what: what.to_owned(),
    };
    let axis = places.aim(&flash.name, &flash.aim, flash.position_m)?;
    let lux_s = flash
        .axis_lux_s_at_1m()
        .filter(|v| v.is_finite() && *v >= 0.0)
        .ok_or_else(|| invalid("its output or power cannot be read"))?;
    let power = flash
        .power
        .share()
        .ok_or_else(|| invalid("its power cannot be read"))?;
    let (even, zero) = beam(flash);
    let (form, foot, top) = match &flash.softbox {
        Some(softbox) => {
            let black = Finish::Matt { albedo: Rgb::BLACK };
            let shape = sheet(softbox.shape, flash.position_m, axis);
            let surface = build.solid(&flash.name, Kind::Softbox, shape, black);
            let height = softbox.shape.size_m().y;
            let foot = behind(flash.position_m, axis, height, BOX_DEPTH_M);
            (FlashForm::Area { surface }, foot, flash.position_m.z)
        }
        None => {
            let form = FlashForm::Point {
                position: flash.position_m,
                axis,
                even_half_angle_deg: even,
                zero_half_angle_deg: zero,
            };
            let foot = flash.position_m.truncate();
            (form, foot, flash.position_m.z - 0.06)
        }
    };
    let stand = if flash.stand {
        stand(&flash.name, foot, top, build)
    } else {
        Vec::new()
    };
    build.stage.flashes.push(stage::Flash {
        name: flash.name.clone(),
        form,
        axis_lux_s_at_1m: lux_s,
        rgb: Rgb::from_cct(flash.gelled_cct_k()),
    });
    Ok(snapshot::Flash {
        name: flash.name.clone(),
        position: flash.position_m,
        axis,
        even_half_angle_deg: even,
        zero_half_angle_deg: zero,
        power,
        least_power: flash.least_power.share().unwrap_or(1.0 / 128.0),
        guide_number_m: match flash.output {
            Output::GuideNumber(metres) => Some(metres),
            _ => None,
        },
        gel: flash.gel.map(|gel| (gel.label(), gel.shift_and_loss().0)),
        softbox: flash.softbox.map(|softbox| softbox.shape.size_m()),
        recycle_s: flash.recycle_s,
        duration_full_s: flash.duration_t01_s,
        duration_least_s: flash.duration_least_t01_s,
        battery_flashes: flash.battery.map(|b| f64::from(b.full_power_flashes)),
        heat: flash
            .heat
            .map(|h| (f64::from(h.full_power_flashes), h.pause_s)),
        stand,
    })
}

/// Minutes that a group gives, with children in it and without: common practice.
const PATIENCE_MIN: (f64, f64) = (5.0, 15.0);

/// The bag, with what it does not tell by common practice.
pub(super) fn bag(
    document: &crate::document::Document,
    people: &[snapshot::Person],
) -> snapshot::Kit {
    let kit = &document.kit;
    let camera = document.camera.clone().unwrap_or_default();
    let children = people.iter().any(snapshot::Person::is_child);
    snapshot::Kit {
        aperture_range: kit
            .lens
            .map(|lens| (lens.widest, lens.narrowest))
            .or_else(|| from_the_bag(kit, camera.focal_length_mm)),
        iso_range: (kit.lowest_iso.is_some() || kit.highest_iso.is_some()).then(|| {
            (
                kit.lowest_iso.unwrap_or(camera.iso.min(100.0)),
                kit.highest_iso.unwrap_or(camera.iso.max(3200.0)),
            )
        }),
        fastest_s: kit.fastest.as_ref().and_then(|t| t.exact_s()),
        filters: kit.filters_stops.clone(),
        trigger_delay_s: kit.trigger_delay_s,
        pace_s: kit.pace_s,
        patience_min: kit.patience_min.unwrap_or(if children {
            PATIENCE_MIN.0
        } else {
            PATIENCE_MIN.1
        }),
        shots: kit
            .shots
            .iter()
            .map(|shot| snapshot::Shot {
                name: shot.name.clone(),
                frames: shot.frames,
                must: shot.must,
            })
            .collect(),
        wind_m_s: kit.wind.map(crate::document::Wind::speed_m_s),
        stand_kg: kit.stand.mass_kg,
        stand_foot_m: kit.stand.foot_m,
        lacks: crate::document::lacks(document),
    }
}

/// Narrowest f-number of a lens of which only the widest is listed: common practice.
const NARROWEST: f64 = 16.0;

/// Widest and narrowest f-number of the fastest lens in the bag that has the focal length.
fn from_the_bag(kit: &crate::document::Kit, focal_mm: f64) -> Option<(f64, f64)> {
    kit.lenses
        .iter()
        .filter(|lens| lens.shortest_mm * 0.99 <= focal_mm && focal_mm <= lens.longest_mm * 1.01)
        .map(|lens| lens.widest)
        .reduce(f64::min)
        .map(|widest| (widest, NARROWEST.max(widest)))
}

/// How far a flash and a finish may lie from what the file says, stops, one standard deviation:
/// printed guide numbers flatter, watt-seconds say little; cloth and foil age (common practice).
fn flash_stops(flash: &Flash) -> f64 {
    let output = match flash.output {
        Output::GuideNumber(_) => 1.0 / 3.0,
        Output::Reading { .. } | Output::Axis(_) => 0.15,
        Output::WattSeconds { .. } => 2.0 / 3.0,
    };
    // A box's, grid's or gel's loss is known to a sixth or so.
    let parts = [
        flash.softbox.is_some(),
        flash.grid.is_some(),
        flash.gel.is_some(),
    ];
    let losses = parts.iter().filter(|part| **part).count() as f64;
    (output * output + losses / 36.0).sqrt()
}

fn panel_stops(panel: &Panel) -> f64 {
    match panel.front.resolve() {
        ResolvedFinish::Matt { .. } => 0.2,
        ResolvedFinish::Metal { .. } | ResolvedFinish::Translucent { .. } => 0.35,
    }
}

/// Of a ground or a wall by a typical surface's reflectance: wet or dry, worn or fresh (common
/// practice).
const GROUND_STOPS: f64 = 0.3;
const WALL_STOPS: f64 = 0.3;

pub(super) fn doubt(
    document: &crate::document::Document,
    (sun_stops, sky_stops): (f64, f64),
) -> snapshot::Doubt {
    snapshot::Doubt {
        sun_stops,
        sky_stops,
        flash_stops: document.flashes.iter().map(flash_stops).collect(),
        panel_stops: document.panels.iter().map(panel_stops).collect(),
        wall_stops: WALL_STOPS,
        ground_stops: GROUND_STOPS,
    }
}
