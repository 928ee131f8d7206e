//! Eyes: catchlights by mirroring the camera in each cornea, squint, and glare in glasses.

use super::lights::Face;
use super::types::Catchlight;
use crate::geometry::head::Eye;
use crate::geometry::shape::Shape;
use crate::light::stage::{FlashForm, Kind};
use crate::light::transport::Engine;
use crate::snapshot::{Person, Snapshot};
use glam::DVec3;

/// Half-angle of the cornea as a cap of its own sphere, degrees: an 11.7 mm disc on a radius of
/// 7.8 mm (from memory: mean corneal diameter).
const CORNEA_HALF_DEG: f64 = 48.6;
/// How far above and below the gaze the lids leave the cornea open, degrees (from memory).
const LID_ABOVE_DEG: f64 = 30.0;
const LID_BELOW_DEG: f64 = 40.0;
/// A glaring light this near the gaze makes people squint, degrees (common practice).
const SQUINT_DEG: f64 = 35.0;
/// A panel brighter than this glares, cd/m2 (common practice: sunlit paper is about 25,000).
const GLARING: f64 = 20_000.0;
/// What one uncoated lens sends back at small angles: two surfaces of 4 % (Fresnel, index 1.5).
const LENS_REFLECTANCE: f64 = 0.08;

/// The middle of a cornea in the world and the unit vector of the gaze.
fn cornea(person: &Person, eye: &Eye) -> (DVec3, DVec3) {
    let pose = &person.head;
    let centre = pose.world_from_local(eye.centre);
    let gaze = (person.gaze - centre).normalize_or(pose.turn * DVec3::Y);
    let out = (eye.cornea_centre - eye.centre).length() * pose.scale;
    (centre + gaze * out, gaze)
}

/// Something bright enough to be seen mirrored: where it is and what it is called.
struct Bright {
    name: String,
    toward: DVec3,
    distance: f64,
    /// Index of its surface, to look through when asking whether the way is free.
    strength: f64,
}

fn bright(snapshot: &Snapshot, engine: &Engine, from: DVec3) -> Vec<Bright> {
    let mut list = Vec::new();
    if let Some(sun) = &snapshot.stage.sun {
        let strength = sun.direct_normal_lux * engine.sees_sun(from);
        if strength > 0.0 {
            let toward = sun.toward;
            list.push(Bright {
                name: "sun".into(),
                toward,
                distance: f64::INFINITY,
                strength,
            });
        }
    }
    let mut add = |name: &str, place: DVec3, strength: f64| {
        let offset = place - from;
        let distance = offset.length();
        let toward = offset / distance;
        // The sheet itself ends the way: stop short of it.
        if strength > 0.0 && engine.sees(from, place - toward * 0.02) > 0.5 {
            list.push(Bright {
                name: name.to_owned(),
                toward,
                distance,
                strength,
            });
        }
    };
    for flash in &snapshot.stage.flashes {
        match &flash.form {
            FlashForm::Point {
                position,
                axis,
                zero_half_angle_deg,
                ..
            } => {
                let offset = from - *position;
                if offset.angle_between(*axis).to_degrees() < *zero_half_angle_deg {
                    add(&flash.name, *position, flash.axis_lux_s_at_1m);
                }
            }
            FlashForm::Area { surface } => {
                let shape = &snapshot.stage.surfaces[*surface].shape;
                if let Shape::Rectangle { centre, normal, .. } | Shape::Disc { centre, normal, .. } =
                    shape
                    && (from - *centre).dot(*normal) > 0.0
                {
                    add(&flash.name, *centre, flash.axis_lux_s_at_1m);
                }
            }
        }
    }
    list
}

/// Catchlights that the camera sees in both eyes.
pub(super) fn catchlights(
    snapshot: &Snapshot,
    engine: &Engine,
    face: &Face,
    person: &Person,
) -> Vec<Catchlight> {
    let camera = &snapshot.camera;
    let marks = &face.shape.landmarks;
    let mut list = Vec::new();
    // Luminance of the skin, against which a mirrored light has to stand out.
    let mean = face.mean(&face.total);
    for (eye_name, eye) in [
        ("own left", &marks.eye_own_left),
        ("own right", &marks.eye_own_right),
    ] {
        let (middle, gaze) = cornea(person, eye);
        let to_camera = (camera.position - middle).normalize();
        let up = (person.head.turn * DVec3::Z)
            .reject_from(gaze)
            .normalize_or(DVec3::Z);
        let mut look = |name: &str, toward: DVec3| {
            let normal = (toward + to_camera).normalize_or(gaze);
            let angle = normal.angle_between(gaze).to_degrees();
            let lift = normal.dot(up).clamp(-1.0, 1.0).asin().to_degrees();
            if normal.dot(to_camera) <= 0.2
                || angle > CORNEA_HALF_DEG
                || !(-LID_BELOW_DEG..LID_ABOVE_DEG).contains(&lift)
            {
                return;
            }
            // Hour of the spot as the camera sees the eye.
            let offset = normal - gaze;
            let (x, y) = (offset.dot(camera.right), offset.dot(camera.up));
            let hour = (x.atan2(y).to_degrees() / 30.0).round().rem_euclid(12.0) as u8;
            list.push(Catchlight {
                eye: eye_name.into(),
                source: name.to_owned(),
                clock: if hour == 0 { 12 } else { hour },
                normal,
            });
        };
        let from = middle + gaze * (0.02 * person.head.scale);
        for light in bright(snapshot, engine, from) {
            if light.strength > 0.0 && light.distance > 0.05 {
                look(&light.name, light.toward);
            }
        }
        for panel in &snapshot.panels {
            let shape = &snapshot.stage.surfaces[panel.surface].shape;
            let (Shape::Rectangle { normal, .. } | Shape::Disc { normal, .. }) = shape else {
                continue;
            };
            let offset = panel.centre - from;
            let side = if offset.dot(*normal) < 0.0 {
                *normal
            } else {
                -*normal
            };
            let toward = offset.normalize();
            let (ambient, flash) = engine.luminance_along(from, toward);
            let light = ambient.luminance() * snapshot.camera.shutter_s + flash.luminance();
            // A mirrored panel is seen when it is brighter than the skin around the eye.
            let skin = mean * person.skin_reflectance / std::f64::consts::PI;
            let free = engine.sees(from, panel.centre + side * 0.02) > 0.5;
            if free && light > skin {
                look(&panel.name, toward);
            }
        }
    }
    list
}

/// Squint and glare, in plain words.
pub(super) fn cautions(
    snapshot: &Snapshot,
    engine: &Engine,
    face: &Face,
    person: &Person,
) -> Vec<String> {
    let mut list = Vec::new();
    let marks = &face.shape.landmarks;
    let (middle, gaze) = cornea(person, &marks.eye_own_left);
    let from = middle + gaze * (0.03 * person.head.scale);
    if let Some(sun) = &snapshot.stage.sun {
        let angle = gaze.angle_between(sun.toward).to_degrees();
        if angle < SQUINT_DEG && engine.sees_sun(from) > 0.1 && sun.direct_normal_lux > 5000.0 {
            list.push(format!(
                "{} looks within {angle:.0}\u{b0} of the sun and will squint: eyes closed until \
                 the count, or turn the gaze away from it",
                person.name
            ));
        }
    }
    for panel in &snapshot.panels {
        let toward = (panel.centre - from).normalize();
        let angle = gaze.angle_between(toward).to_degrees();
        if angle > SQUINT_DEG {
            continue;
        }
        let (ambient, _) = engine.luminance_along(from, toward);
        if ambient.luminance() > GLARING {
            list.push(format!(
                "{} has {} at {:.0} thousand cd/m\u{b2} within {angle:.0}\u{b0} of the gaze and \
                 will squint: bring it in from off the face, or take a matt white one",
                person.name,
                panel.name,
                ambient.luminance() / 1000.0
            ));
        }
    }
    let skin = face.mean(&face.total) * person.skin_reflectance / std::f64::consts::PI;
    for lens in &person.glasses {
        if let Some((what, stops)) = glare(snapshot, engine, lens, skin) {
            list.push(format!(
                "glasses of {} mirror {what} into the camera, {stops:.1} stops against the skin: \
                 tip the frame down a little or turn the nose",
                person.name
            ));
            break;
        }
    }
    list
}

/// What a lens mirrors into the camera, if it veils the eye: more than half the skin's luminance.
fn glare(snapshot: &Snapshot, engine: &Engine, lens: &Shape, skin: f64) -> Option<(String, f64)> {
    let (Shape::Rectangle { centre, normal, .. } | Shape::Disc { centre, normal, .. }) = lens
    else {
        return None;
    };
    let incoming = (*centre - snapshot.camera.position).normalize();
    if incoming.dot(*normal) >= 0.0 {
        return None;
    }
    let mirrored = incoming - *normal * (2.0 * incoming.dot(*normal));
    let from = *centre + *normal * 0.01;
    let (ambient, flash) = engine.luminance_along(from, mirrored);
    let setting = super::exposure::Setting::new(&snapshot.camera);
    let light = setting.exposure(ambient.luminance(), flash.luminance()) * LENS_REFLECTANCE;
    let what = match engine.what_is_along(from, mirrored) {
        None => "the sky".into(),
        Some((name, Kind::Ground | Kind::Water, _)) if name.is_empty() => "the ground".into(),
        Some((name, _, _)) => name,
    };
    let ratio = light / skin.max(1e-12);
    (ratio > 0.5).then(|| (what, ratio.log2()))
}
