//! What lies behind the people in the picture, against the setting and against the faces.

use super::exposure::Setting;
use super::types::{Background, FaceReading};
use crate::light::colour::Rgb;
use crate::light::stage::Kind;
use crate::light::transport::Engine;
use crate::snapshot::{Camera, Snapshot};
use glam::{DVec2, DVec3};
use rayon::prelude::*;
use std::f64::consts::PI;

/// Looks across and up the picture.
const LOOKS: (usize, usize) = (36, 24);

/// One look through the lens at what lies behind.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// Luminance, cd/m2, and that of the flash in cd s/m2.
    pub ambient: f64,
    pub flash: f64,
    /// The same as linear RGB.
    pub ambient_rgb: Rgb,
    pub flash_rgb: Rgb,
    /// Along the ray, metres; infinite for the sky.
    pub distance_m: f64,
    /// Where in the picture: x to the right, y up, each -1 to 1.
    pub at: DVec2,
}

/// Looks past everybody and everything that is held.
#[must_use]
pub fn looks(snapshot: &Snapshot, engine: &Engine) -> Vec<Look> {
    let camera = &snapshot.camera;
    let look = |i: usize| {
        let x = ((i % LOOKS.0) as f64 + 0.5) / LOOKS.0 as f64 - 0.5;
        let y = ((i / LOOKS.0) as f64 + 0.5) / LOOKS.1 as f64 - 0.5;
        let ray = ray(camera, DVec2::new(x, y) * 2.0);
        let what = engine.what_is_along(camera.position, ray);
        let behind = match what {
            None => true,
            Some((_, kind, _)) => is_behind(kind),
        };
        if !behind {
            return None;
        }
        let (ambient, flash) = engine.luminance_along(camera.position, ray);
        Some(Look {
            ambient: ambient.luminance(),
            flash: flash.luminance(),
            ambient_rgb: ambient,
            flash_rgb: flash,
            distance_m: what.map_or(f64::INFINITY, |(_, _, distance)| distance),
            at: DVec2::new(x, y) * 2.0,
        })
    };
    (0..LOOKS.0 * LOOKS.1)
        .into_par_iter()
        .filter_map(look)
        .collect()
}

/// Unit vector through a point of the picture, x to the right and y up, each -1 to 1.
#[must_use]
pub fn ray(camera: &Camera, at: DVec2) -> DVec3 {
    (camera.forward * camera.focal_length_mm
        + camera.right * (at.x / 2.0 * camera.frame_mm.x)
        + camera.up * (at.y / 2.0 * camera.frame_mm.y))
        .normalize()
}

/// Whether a kind of surface is scenery rather than a person or kit.
#[must_use]
pub fn is_behind(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::Ground | Kind::Water | Kind::Wall | Kind::Canopy | Kind::Solid
    )
}

/// Mean rendered exposure of looks against a mid-tone, stops, and the share beyond saturation;
/// `gain` scales the flash. None where fewer than four looks are left.
#[must_use]
pub fn level(looks: &[Look], setting: &Setting, gain: f64) -> Option<(f64, f64)> {
    if looks.len() < 4 {
        return None;
    }
    let (mut stops, mut clipped) = (0.0, 0.0);
    for look in looks {
        // A white surface of this luminance would get pi times as much light.
        let white = setting.exposure(look.ambient, look.flash * gain) * PI;
        stops += super::exposure::rendered(setting.stops(white), 1.0);
        clipped += f64::from(u8::from(white > setting.saturating));
    }
    let count = looks.len() as f64;
    Some((stops / count, clipped / count))
}

/// What the background does at the camera's setting. None where no look is left.
#[must_use]
pub fn read(looks: &[Look], setting: &Setting, faces: &[FaceReading]) -> Option<Background> {
    let (exposure_stops, clipped_share) = level(looks, setting, 1.0)?;
    let mean = faces.iter().map(|f| f.rendered_stops).sum::<f64>() / faces.len().max(1) as f64;
    Some(Background {
        exposure_stops,
        clipped_share,
        against_faces_stops: exposure_stops - mean,
    })
}
