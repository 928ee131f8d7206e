//! The report for programs. A number that does not exist (no light, no focus limit) is null.

use super::scene::Lit;
use super::text::meter_rows;
use crate::geometry::shape::azimuth_elevation;
use crate::light::photometry;
use crate::light::stage::Receptor;
use crate::light::table::{Solution, Table};
use crate::reading::FaceReading;
use crate::reading::doubt::{FaceBand, verdict};
use crate::units::LuxSeconds;
use serde_json::{Value, json};

/// Decimals that are kept: far more than the model knows.
pub(super) fn number(value: f64) -> Value {
    if !value.is_finite() {
        return Value::Null;
    }
    let rounded = (value * 1e6).round() / 1e6;
    // a huge value loses nothing by staying as it is
    json!(if rounded.is_finite() {
        rounded + 0.0
    } else {
        value
    })
}

/// The f-number that an incident meter shows at the camera's time and ISO, flash included.
pub(super) fn f_number(lit: &Lit, receptor: Receptor, lux: f64, lux_s: f64) -> Option<f64> {
    let camera = &lit.solved.snapshot.camera;
    let constant = match receptor {
        Receptor::Flat => photometry::Receptor::Flat,
        Receptor::Dome => photometry::Receptor::Dome,
    };
    let exposure = lux * camera.shutter_s + lux_s;
    (exposure > 0.0).then(|| constant.f_number(LuxSeconds::new(exposure), camera.iso))
}

/// Ambient lux and flash lux-seconds of a meter.
pub(super) fn totals(table: &Table, solution: &Solution) -> (f64, f64) {
    (
        table.ambient(&solution.sources).luminance(),
        table.flash(&solution.sources).luminance(),
    )
}

pub(super) fn report(lit: &Lit) -> Value {
    let solved = &lit.solved;
    let (snapshot, readings) = (&solved.snapshot, &solved.readings);
    let stage = &snapshot.stage;
    let camera = lit.document.camera.clone().unwrap_or_default();
    json!({
        "title": snapshot.title,
        "date": snapshot.moment.as_ref().map(|m| m.date.clone()),
        "time": snapshot.moment.as_ref().map(|m| m.clock.clone()),
        "sun": stage.sun.map(|sun| {
            let (azimuth, elevation) = azimuth_elevation(sun.toward);
            json!({
                "azimuth_deg": number(azimuth),
                "elevation_deg": number(elevation),
                "direct_normal_lux": number(sun.direct_normal_lux),
            })
        }),
        "sky": {
            "horizontal_lux": number(stage.sky.as_ref().map_or(0.0, |s| s.horizontal_lux)),
            "cie_type": stage.sky.as_ref().map(|s| s.cie_type),
        },
        "daylight_uncertainty_stops": snapshot.daylight_uncertainty_stops.map(number),
        "faces": readings.faces.iter().zip(&readings.bands.faces)
            .map(|(reading, band)| face(reading, band)).collect::<Vec<_>>(),
        "meters": stage.meters.iter().zip(&solved.solution.meters).zip(&readings.bands.meters)
            .map(|((meter, table), band)| {
            let (lux, lux_s) = totals(table, &solved.solution);
            json!({
                "name": meter.name,
                "receptor": match meter.receptor {
                    Receptor::Flat => "flat",
                    Receptor::Dome => "dome",
                },
                "ambient_lux": number(lux),
                "flash_lux_s": number(lux_s),
                "f_number": f_number(lit, meter.receptor, lux, lux_s).map(number),
                "band_stops": number(*band),
                "by_source": meter_rows(table, &solved.solution).into_iter()
                    .map(|(source, route, lux, lux_s)| json!({
                        "source": source, "route": route,
                        "lux": number(lux), "lux_s": number(lux_s),
                    }))
                    .collect::<Vec<_>>(),
            })
        }).collect::<Vec<_>>(),
        "background": readings.background.as_ref().map(|b| json!({
            "exposure_stops": number(b.exposure_stops),
            "band_stops": readings.bands.background_stops.map(number),
            "clipped_share": number(b.clipped_share),
            "against_faces_stops": number(b.against_faces_stops),
            "things": readings.behind.iter().map(|thing| json!({
                "name": thing.name,
                "share": number(thing.share),
                "lit": thing.lit.map(crate::reading::background::Lit::word),
                "exposure_stops": number(thing.exposure_stops),
                "against_faces_stops": number(thing.against_faces_stops),
                "clipped_share": number(thing.clipped_share),
            })).collect::<Vec<_>>(),
        })),
        "camera": {
            "aperture": number(camera.aperture),
            "shutter_s": camera.shutter.nominal_s().map(number),
            "iso": number(camera.iso),
            "sync": readings.camera.sync.word(),
            "flash_factor": number(readings.camera.flash_factor),
            "ev100": number(readings.camera.ev100),
            "near_m": number(readings.camera.near_m),
            "far_m": number(readings.camera.far_m),
        },
        "picture": super::picture_json::picture(readings),
        "kit": super::picture_json::kit(&readings.kit),
        "cautions": readings.cautions,
    })
}

fn face(face: &FaceReading, band: &FaceBand) -> Value {
    json!({
        "name": face.name,
        "pattern": face.pattern.word(),
        "runner_up": face.runner_up.word(),
        "confidence": number(face.confidence),
        "between": face.between,
        "broad_or_short": face.broad_or_short.word(),
        "why": face.why.as_str(),
        "change": face.change.as_str(),
        "key": face.key.as_ref().map(|key| json!({
            "source": key.source,
            "route": key.route,
            "azimuth_deg": number(key.azimuth_deg),
            "elevation_deg": number(key.elevation_deg),
            "share": number(key.share),
            "ground_clock": key.ground_clock,
        })),
        "lit_to_shadow_stops": number(face.lit_to_shadow_stops),
        "key_to_fill_stops": number(face.key_to_fill_stops),
        "ambient_lux": number(face.ambient_lux),
        "flash_lux_s": number(face.flash_lux_s),
        "exposure_stops": number(face.exposure_stops),
        "rendered_stops": number(face.rendered_stops),
        "band_stops": {
            "exposure": number(band.exposure_stops),
            "lit_to_shadow": number(band.lit_to_shadow_stops),
            "key_to_fill": number(band.key_to_fill_stops),
        },
        "verdict": verdict(band.exposure_stops),
        "flash_share": number(face.flash_share),
        "clipped_share": number(face.clipped_share),
        "blocked_share": number(face.blocked_share),
        "eye_sockets_stops": {
            "own_left": number(face.eye_sockets_stops[0]),
            "own_right": number(face.eye_sockets_stops[1]),
        },
        "edge_lights": face.edge_lights.iter().map(|edge| json!({
            "kind": edge.kind.word(),
            "source": edge.source,
            "side": edge.side,
            "stops_over_front": number(edge.stops_over_front),
        })).collect::<Vec<_>>(),
        "catchlights": face.catchlights.iter().map(|light| json!({
            "eye": light.eye, "source": light.source, "clock": light.clock,
        })).collect::<Vec<_>>(),
        "vector_scalar_ratio": number(face.vector_scalar_ratio),
        "cct_k": face.cct_k.map(number),
        "duv": face.duv.map(number),
        "key_warmer_mired": face.key_warmer_mired.map(number),
        "in_frame": face.in_frame,
        "by_source": face.by_source.iter().map(|share| json!({
            "source": share.source, "route": share.route,
            "lux": number(share.lux), "lux_s": number(share.lux_s),
        })).collect::<Vec<_>>(),
        "cautions": face.cautions,
    })
}
