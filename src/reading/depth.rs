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

/// What depth of field asks for, and how far the people are from it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Depth {
    /// Nearest and farthest eye along the optical axis, metres.
    pub eyes_m: (f64, f64),
    /// Focus distance at which nearest and farthest eye are equally soft, and their blur circle
    /// there at the aperture in use, micrometres.
    pub fair_focus_m: f64,
    pub fair_blur_um: f64,
    /// f-numbers that would hold every eye within the circle: at the focus in use, and there.
    pub aperture_here: f64,
    pub aperture_fair: f64,
    /// With the near limit on the nearest eye: how far behind it the last row may stand at the
    /// aperture in use, metres (infinite beyond the hyperfocal distance), and where to focus.
    pub rows_may_span_m: f64,
    pub rows_focus_m: f64,
}

/// Reads the depth that the eyes take up; none without people before the lens.
#[must_use]
pub fn read(snapshot: &Snapshot) -> Option<Depth> {
    let camera = &snapshot.camera;
    let depths = depths(snapshot);
    let near = depths.iter().copied().fold(f64::INFINITY, f64::min);
    let far = depths.iter().copied().fold(0.0, f64::max);
    let focal = camera.focal_length_mm / 1000.0;
    if !near.is_finite() || near <= 2.0 * focal {
        return None;
    }
    let circle = circle_um(camera) * 1e-6;
    // Equal blur: (s - near) / near = (far - s) / far.
    let fair = fair_focus_m(snapshot)?;
    let blur_at = |focus_m: f64, depth: f64| {
        focus_at(camera, camera.aperture, focus_m)
            .map_or(f64::INFINITY, |f| f.blur(Metres::new(depth)).value())
    };
    let worst = |focus_m: f64| blur_at(focus_m, near).max(blur_at(focus_m, far));
    // Blur goes with 1 / N.
    let holds = |focus_m: f64| camera.aperture * worst(focus_m) / circle;
    let lens = focus_at(camera, camera.aperture, fair)?;
    let beyond = lens.hyperfocal(Metres::new(circle)).value() - focal;
    // near = s beyond / (beyond + s - f), solved for s.
    let rows_focus_m = near * (beyond - focal) / (beyond - near).max(1e-9);
    let rows_far = if near >= beyond / 2.0 {
        f64::INFINITY
    } else {
        focus_at(camera, camera.aperture, rows_focus_m)
            .map_or(near, |f| f.far(Metres::new(circle)).value())
    };
    Some(Depth {
        eyes_m: (near, far),
        fair_focus_m: fair,
        fair_blur_um: worst(fair) * 1e6,
        aperture_here: holds(camera.focus_distance_m),
        aperture_fair: holds(fair),
        rows_may_span_m: rows_far - near,
        rows_focus_m: if rows_far.is_infinite() {
            beyond + focal
        } else {
            rows_focus_m
        },
    })
}

/// Focus distance at which the nearest and the farthest eye are equally soft, metres along the
/// optical axis: their harmonic mean, whatever the aperture; none without people before the lens.
#[must_use]
pub fn fair_focus_m(snapshot: &Snapshot) -> Option<f64> {
    let depths = depths(snapshot);
    let near = depths.iter().copied().reduce(f64::min)?;
    let far = depths.iter().copied().reduce(f64::max)?;
    Some(2.0 * near * far / (near + far))
}

/// Largest blur circle of any eye at an aperture and a focus distance, micrometres; 0 without
/// people.
#[must_use]
pub fn worst_blur_um(snapshot: &Snapshot, aperture: f64, focus_m: f64) -> f64 {
    let camera = &snapshot.camera;
    let Some(focus) = focus_at(camera, aperture, focus_m) else {
        return 0.0;
    };
    depths(snapshot)
        .into_iter()
        .map(|depth| focus.blur(Metres::new(depth)).value() * 1e6)
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::snapshot::Shutter;
    use glam::DVec2;

    fn camera(aperture: f64, focus: f64) -> Camera {
        Camera {
            position: DVec3::ZERO,
            forward: DVec3::Y,
            right: DVec3::X,
            up: DVec3::Z,
            focal_length_mm: 85.0,
            frame_mm: DVec2::new(36.0, 24.0),
            aperture,
            shutter_s: 0.005,
            iso: 100.0,
            nd_stops: 0.0,
            sync_s: 0.005,
            shutter: Shutter::Mechanical,
            high_speed_sync: false,
            focus_person: None,
            focus_distance_m: focus,
            white_balance_k: None,
        }
    }

    /// Definition: at the harmonic mean two depths are equally blurred; the circle is 30
    /// micrometres on 36 x 24 mm and scales with the frame's diagonal.
    #[test]
    fn the_fair_focus_is_fair() {
        let (near, far) = (2.0, 3.0);
        let fair = 2.0 * near * far / (near + far);
        let lens = focus_at(&camera(4.0, fair), 4.0, fair).expect("a lens");
        let (a, b) = (lens.blur(Metres::new(near)), lens.blur(Metres::new(far)));
        assert!((a / b - 1.0).abs() < 1e-12, "{a:?} {b:?}");
        assert!((circle_um(&camera(4.0, 3.0)) - 30.0).abs() < 0.01);
    }
}
