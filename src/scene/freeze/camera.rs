//! The camera as it looks, and who stands behind it.

use super::bodies::{Worker, between_eyes};
use super::error::FreezeError;
use super::stage::Build;
use super::targets::Places;
use crate::document::marks::{exact_f_number, exact_iso};
use crate::document::{Document, Orientation, Photographer, ShutterKind, Target};
use crate::geometry::body::Posture;
use crate::geometry::shape::azimuth_elevation;
use crate::snapshot::{Camera, Shutter};
use glam::{DVec2, DVec3};

/// From the front of the lens back to between the photographer's ears, metres: a portrait lens and
/// a body are about 0.2 m, the eye sits 0.09 m before the ears.
const BEHIND_LENS_M: f64 = 0.3;
/// Nearest distance that a lens can be focused at here, metres.
const NEAREST_M: f64 = 0.1;

pub(super) fn camera(document: &Document, places: &Places) -> Result<Camera, FreezeError> {
    let camera = &places.camera;
    let position = places.lens;
    let forward = places.toward("camera", &camera.target, position)?;
    let right = forward.cross(DVec3::Z).try_normalize().unwrap_or(DVec3::X);
    let invalid = |what: &str| FreezeError::Invalid {
        name: "camera".into(),
        what: what.into(),
    };
    let (long, short) = (camera.sensor_width_mm, camera.sensor_height_mm);
    let along = |index: usize| (between_eyes(&places.bodies[index]) - position).dot(forward);
    let focus_person = focus_person(document, places).filter(|_| camera.focus_m.is_none());
    let focus_distance_m = match (camera.focus_m, focus_person) {
        (Some(distance), _) => distance,
        (None, Some(index)) => along(index),
        (None, None) => (places.point("camera", &camera.target, position)? - position).dot(forward),
    };
    Ok(Camera {
        position,
        forward,
        right,
        up: right.cross(forward),
        focal_length_mm: camera.focal_length_mm,
        frame_mm: match camera.orientation {
            Orientation::Landscape => DVec2::new(long, short),
            Orientation::Portrait => DVec2::new(short, long),
        },
        aperture: exact_f_number(camera.aperture),
        shutter_s: camera
            .shutter
            .exact_s()
            .ok_or_else(|| invalid("its shutter is no time"))?,
        iso: exact_iso(camera.iso),
        nd_stops: camera.nd_stops,
        sync_s: camera
            .sync
            .exact_s()
            .ok_or_else(|| invalid("its sync is no time"))?,
        shutter: match camera.shutter_kind {
            ShutterKind::Mechanical => Shutter::Mechanical,
            ShutterKind::Leaf => Shutter::Leaf,
            ShutterKind::Electronic => Shutter::Electronic,
        },
        high_speed_sync: camera.high_speed_sync,
        focus_person,
        focus_distance_m: focus_distance_m.max(NEAREST_M),
        white_balance_k: camera.white_balance_k,
    })
}

/// Who is in focus: the one named, the target if it is a person, else the nearest.
fn focus_person(document: &Document, places: &Places) -> Option<usize> {
    let camera = &places.camera;
    let named = |name: &str| document.people.iter().position(|p| p.name == name);
    let target = match &camera.target {
        Target::Person(name) => Some(name.as_str()),
        _ => None,
    };
    let away = |index: &usize| between_eyes(&places.bodies[*index]).distance(places.lens);
    camera
        .focus
        .as_deref()
        .and_then(named)
        .or_else(|| target.and_then(named))
        .or_else(|| (0..places.bodies.len()).min_by(|a, b| away(a).total_cmp(&away(b))))
}

/// The photographer's body; one that stands on something where the camera is above their eyes.
pub(super) fn photographer(document: &Document, camera: &Camera, build: &mut Build) {
    let posture = match document.camera.as_ref().map(|c| c.photographer) {
        None | Some(Photographer::None) => return,
        Some(Photographer::Standing) => Posture::Standing,
        Some(Photographer::Kneeling) => Posture::Kneeling,
    };
    let (azimuth, _) = azimuth_elevation(camera.forward);
    let flat = crate::geometry::shape::direction(azimuth, 0.0);
    let mut worker = Worker {
        name: build.name("photographer".into()),
        stature: None,
        posture,
        position: (camera.position - flat * BEHIND_LENS_M).truncate(),
        floor: 0.0,
        azimuth,
    };
    let eyes = between_eyes(&worker.body()).z;
    worker.floor = (camera.position.z - eyes).max(0.0);
    worker.enter(build);
}
