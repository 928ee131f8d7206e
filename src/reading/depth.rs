//! Depth of field against every eye: the circle of confusion, blur circles, and what would help.

use crate::light::lens::Focus;
use crate::snapshot::{Camera, Snapshot};
use crate::units::Metres;
use glam::DVec3;

/// Circle of confusion for a frame, micrometres: 30 on a diagonal of 43.27 mm, in proportion on
/// others (common practice).
#[must_use]
pub fn circle_um(camera: &Camera) -> f64 {
    30.0 * camera.frame_mm.length() / 43.27
}

/// The lens of a camera at an aperture and a focused distance; none closer than its focal length.
#[must_use]
pub fn focus_at(camera: &Camera, aperture: f64, distance_m: f64) -> Option<Focus> {
    Focus::new(
        Metres::new(camera.focal_length_mm / 1000.0),
        aperture,
        Metres::new(distance_m),
    )
}

/// Middle of an eye in the world, own left then own right, person by person.
#[must_use]
pub fn eyes(snapshot: &Snapshot) -> Vec<[DVec3; 2]> {
    snapshot
        .stage
        .heads
        .iter()
        .map(|head| {
            let marks = &head.shape.landmarks;
            [marks.eye_own_left, marks.eye_own_right]
                .map(|eye| head.pose.world_from_local(eye.centre))
        })
        .collect()
}

/// Distances of all eyes along the optical axis, metres; those behind the lens are left out.
fn depths(snapshot: &Snapshot) -> Vec<f64> {
    let camera = &snapshot.camera;
    eyes(snapshot)
        .into_iter()
        .flatten()
        .map(|eye| (eye - camera.position).dot(camera.forward))
        .filter(|depth| *depth > 0.0)
        .collect()
}

/// Largest blur circle of any eye at an aperture with the scene's focus, micrometres; 0 without
/// people.
#[must_use]
pub fn worst_blur_um(snapshot: &Snapshot, aperture: f64) -> f64 {
    let camera = &snapshot.camera;
    let Some(focus) = focus_at(camera, aperture, camera.focus_distance_m) else {
        return 0.0;
    };
    depths(snapshot)
        .into_iter()
        .map(|depth| focus.blur(Metres::new(depth)).value() * 1e6)
        .fold(0.0, f64::max)
}
