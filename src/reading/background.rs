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
#[derive(Clone, Debug)]
pub struct Look {
    /// What it meets: a name, "the ground", "the sky".
    pub what: String,
    /// Luminance, cd/m2, and that of the flash in cd s/m2.
    pub ambient: f64,
    pub flash: f64,
    /// The same as linear RGB.
    pub ambient_rgb: Rgb,
    pub flash_rgb: Rgb,
    /// The same by source and surface, as luminance: indices of the solution.
    pub parts: Vec<(usize, usize, f64)>,
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
        if what.as_ref().is_some_and(|w| !is_behind(w.1)) {
            return None;
        }
        let seen = engine.seen(camera.position, ray);
        let (ambient, flash) = (seen.ambient(engine.sources()), seen.flash(engine.sources()));
        Some(Look {
            parts: seen
                .shares
                .iter()
                .map(|s| (s.source, s.route, s.rgb.luminance()))
                .collect(),
            ambient: ambient.luminance(),
            flash: flash.luminance(),
            ambient_rgb: ambient,
            flash_rgb: flash,
            distance_m: what.as_ref().map_or(f64::INFINITY, |w| w.2),
            what: match what {
                None => "the sky".into(),
                Some((name, _, _)) if name.is_empty() => "the ground".into(),
                Some((name, _, _)) => name,
            },
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
    (looks.len() >= 4).then(|| mean(looks.iter(), setting, gain))
}

fn mean<'a>(looks: impl Iterator<Item = &'a Look>, setting: &Setting, gain: f64) -> (f64, f64) {
    let (mut stops, mut clipped, mut count) = (0.0, 0.0, 0.0);
    for look in looks {
        // A white surface of this luminance would get pi times as much light.
        let white = setting.exposure(look.ambient, look.flash * gain) * PI;
        stops += super::exposure::rendered(setting.stops(white), 1.0);
        clipped += f64::from(u8::from(white > setting.saturating));
        count += 1.0;
    }
    (stops / f64::max(count, 1.0), clipped / f64::max(count, 1.0))
}

/// How the sun strikes what lies behind, as the camera sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lit {
    Front,
    Side,
    Back,
    Shade,
}

impl Lit {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Front => "front-lit",
            Self::Side => "side-lit",
            Self::Back => "back-lit",
            Self::Shade => "in shade",
        }
    }
}

/// One thing behind the people.
#[derive(Clone, Debug, PartialEq)]
pub struct Behind {
    pub name: String,
    /// Share of the background, 0 to 1.
    pub share: f64,
    /// None for the sky.
    pub lit: Option<Lit>,
    /// Mean as rendered against a mid-tone, and against the faces; stops.
    pub exposure_stops: f64,
    pub against_faces_stops: f64,
    pub clipped_share: f64,
}

/// Smaller parts of the background are not told, share.
const WORTH_TELLING: f64 = 0.03;
/// Sun nearer to the camera's side than this is in front, farther than the other behind, degrees
/// on the plan (common practice: quarters of the clock).
const FRONT_DEG: f64 = 50.0;
const BACK_DEG: f64 = 115.0;

/// Everything behind the people by name, greatest first.
#[must_use]
pub fn things(
    snapshot: &Snapshot,
    engine: &Engine,
    looks: &[Look],
    setting: &Setting,
    faces: &[FaceReading],
) -> Vec<Behind> {
    let faces = faces.iter().map(|f| f.rendered_stops).sum::<f64>() / faces.len().max(1) as f64;
    let mut names: Vec<&str> = Vec::new();
    for look in looks {
        if !names.contains(&look.what.as_str()) {
            names.push(&look.what);
        }
    }
    let mut list: Vec<Behind> = names
        .into_iter()
        .filter_map(|name| {
            let own: Vec<&Look> = looks.iter().filter(|l| l.what == name).collect();
            let share = own.len() as f64 / looks.len() as f64;
            let (exposure_stops, clipped_share) = mean(own.iter().copied(), setting, 1.0);
            (share >= WORTH_TELLING).then(|| Behind {
                name: name.to_owned(),
                share,
                lit: lit(snapshot, engine, &own),
                exposure_stops,
                against_faces_stops: exposure_stops - faces,
                clipped_share,
            })
        })
        .collect();
    list.sort_by(|a, b| b.share.total_cmp(&a.share));
    list
}

/// How the sun strikes it: shade where it does not reach half of some looks.
fn lit(snapshot: &Snapshot, engine: &Engine, looks: &[&Look]) -> Option<Lit> {
    let camera = &snapshot.camera;
    let solid: Vec<DVec3> = looks
        .iter()
        .step_by((looks.len() / 12).max(1))
        .filter(|look| look.distance_m.is_finite())
        .map(|look| {
            let ray = ray(camera, look.at);
            // A hair before the surface, so that it does not shade itself.
            camera.position + ray * (look.distance_m - 0.03).max(0.0)
        })
        .collect();
    if solid.is_empty() {
        return None;
    }
    let Some(sun) = snapshot.stage.sun.filter(|s| s.direct_normal_lux > 0.0) else {
        return Some(Lit::Shade);
    };
    let to_camera = (-camera.forward).truncate();
    let angle = sun.toward.truncate().angle_to(to_camera).to_degrees().abs();
    if angle > BACK_DEG {
        // Its far side has the sun, whatever its own shade.
        return Some(Lit::Back);
    }
    let seen: f64 = solid.iter().map(|p| engine.sees_sun(*p)).sum::<f64>() / solid.len() as f64;
    Some(match seen {
        s if s < 0.5 => Lit::Shade,
        _ if angle < FRONT_DEG => Lit::Front,
        _ => Lit::Side,
    })
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
