//! Light against the camera's setting: ambient and flash apart, then together.
//!
//! Incident: E t = C N2 / S with C = 250 for a flat receptor (ISO 2720). Rendered: the same with
//! the object's own reflectance against 18 %, the reflectance that common practice takes for a
//! mid-tone. Saturation: H = q L t / N2 with q = 0.65 against 78 / S (ISO 12232).

use super::types::{CameraReading, EyeFocus, Sync};
use super::{depth, sync};
use crate::light::photometry::{C_FLAT, Q_LENS, SATURATION};
use crate::snapshot::{Camera, Shutter, Snapshot};
use crate::units::Metres;
use std::f64::consts::PI;

/// Reflectance of the mid-tone that rendered exposure is told against (common practice).
pub const MID_TONE: f64 = 0.18;

/// A setting turned into factors.
#[derive(Clone, Copy, Debug)]
pub struct Setting {
    /// Exposure time, s.
    pub time: f64,
    /// What is left of a flash, 0 to 1.
    pub flash: f64,
    pub sync: Sync,
    /// Luminous exposure on the subject that reads 0 stops, lux-seconds.
    pub wanted: f64,
    /// Luminous exposure on a white surface that saturates the sensor, lux-seconds.
    pub saturating: f64,
}

impl Setting {
    #[must_use]
    pub fn new(camera: &Camera) -> Self {
        // A hair of slack, so that 1/200 set is not faster than 1/200 allowed.
        let slow_enough = camera.shutter_s >= camera.sync_s * 0.97;
        let (sync, flash) = match (slow_enough, camera.shutter) {
            (true, Shutter::Electronic) => (Sync::Electronic, 1.0),
            (true, _) => (Sync::Ok, 1.0),
            (false, Shutter::Mechanical) if camera.high_speed_sync => (
                Sync::HighSpeed,
                sync::pulsed_share(camera.shutter_s, camera.sync_s),
            ),
            (false, _) => (Sync::TooFast, 0.0),
        };
        let n2 = camera.aperture * camera.aperture;
        let filter = camera.nd_stops.exp2();
        Self {
            time: camera.shutter_s,
            flash,
            sync,
            wanted: C_FLAT * n2 / camera.iso * filter,
            saturating: SATURATION / camera.iso * n2 / Q_LENS * PI * filter,
        }
    }

    /// Luminous exposure on the subject, lux-seconds: lux by the time, and what counts of the
    /// flash's lux-seconds.
    #[must_use]
    pub fn exposure(&self, lux: f64, flash_lux_s: f64) -> f64 {
        lux * self.time + flash_lux_s * self.flash
    }

    /// Stops of a luminous exposure over the setting, flat incident.
    #[must_use]
    pub fn stops(&self, exposure: f64) -> f64 {
        (exposure.max(1e-12) / self.wanted).log2()
    }
}

/// Stops of a surface's rendering over a mid-tone.
#[must_use]
pub fn rendered(incident_stops: f64, reflectance: f64) -> f64 {
    incident_stops + (reflectance / MID_TONE).log2()
}

/// The setting and what it makes sharp.
#[must_use]
pub fn camera(snapshot: &Snapshot, setting: &Setting) -> CameraReading {
    let camera = &snapshot.camera;
    let n2 = camera.aperture * camera.aperture;
    let ev100 = (n2 / camera.shutter_s).log2() - (camera.iso / 100.0).log2() + camera.nd_stops;
    let circle_um = depth::circle_um(camera);
    let circle = Metres::new(circle_um * 1e-6);
    let focus = depth::focus_at(camera, camera.aperture, camera.focus_distance_m);
    let (near_m, far_m) = focus.map_or((0.0, f64::INFINITY), |f| {
        (f.near(circle).value(), f.far(circle).value())
    });
    let mut eyes = Vec::new();
    for (person, head) in snapshot.people.iter().zip(&snapshot.stage.heads) {
        let marks = &head.shape.landmarks;
        for (eye, at) in [
            ("own left", marks.eye_own_left),
            ("own right", marks.eye_own_right),
        ] {
            let place = head.pose.world_from_local(at.centre);
            let distance_m = (place - camera.position).dot(camera.forward);
            let blur_um = match &focus {
                Some(focus) if distance_m > 0.0 => {
                    focus.blur(Metres::new(distance_m)).value() * 1e6
                }
                _ => f64::INFINITY,
            };
            let sharp = blur_um <= circle_um;
            eyes.push(EyeFocus {
                person: person.name.clone(),
                eye,
                distance_m,
                blur_um,
                sharp,
            });
        }
    }
    CameraReading {
        ev100,
        lux: C_FLAT * ev100.exp2() / 100.0,
        sync: setting.sync,
        flash_factor: setting.flash,
        near_m,
        far_m,
        circle_um,
        eyes,
    }
}

/// Where a point falls in the picture: x to the right, y up, each -1 to 1 inside the frame; none
/// behind the camera.
#[must_use]
pub fn in_picture(camera: &Camera, point: glam::DVec3) -> Option<glam::DVec2> {
    let offset = point - camera.position;
    let depth = offset.dot(camera.forward);
    if depth <= 1e-6 {
        return None;
    }
    let scale = 2.0 * camera.focal_length_mm / depth;
    Some(glam::DVec2::new(
        offset.dot(camera.right) * scale / camera.frame_mm.x,
        offset.dot(camera.up) * scale / camera.frame_mm.y,
    ))
}
