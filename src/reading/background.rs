//! What lies behind the people in the picture, against the setting and against the faces.

use super::exposure::Setting;
use super::types::{Background, FaceReading};
use crate::light::stage::Kind;
use crate::light::transport::Engine;
use crate::snapshot::Snapshot;
use std::f64::consts::PI;

/// Looks across and up the picture.
const LOOKS: (usize, usize) = (36, 24);

/// Looks through the lens past everybody and everything that is held. None where no such look is
/// left.
#[must_use]
pub fn read(
    snapshot: &Snapshot,
    engine: &Engine,
    setting: &Setting,
    faces: &[FaceReading],
) -> Option<Background> {
    let camera = &snapshot.camera;
    let (mut stops, mut clipped, mut count) = (0.0, 0.0, 0.0);
    for i in 0..LOOKS.0 * LOOKS.1 {
        let x = ((i % LOOKS.0) as f64 + 0.5) / LOOKS.0 as f64 - 0.5;
        let y = ((i / LOOKS.0) as f64 + 0.5) / LOOKS.1 as f64 - 0.5;
        let ray = (camera.forward * camera.focal_length_mm
            + camera.right * (x * camera.frame_mm.x)
            + camera.up * (y * camera.frame_mm.y))
            .normalize();
        let what = engine.what_is_along(camera.position, ray);
        let behind = match what {
            None => true,
            Some((_, kind, _)) => matches!(
                kind,
                Kind::Ground | Kind::Water | Kind::Wall | Kind::Canopy | Kind::Solid
            ),
        };
        if !behind {
            continue;
        }
        let (ambient, flash) = engine.luminance_along(camera.position, ray);
        // A white surface of this luminance would get pi times as much light.
        let white = setting.exposure(ambient.luminance(), flash.luminance()) * PI;
        stops += super::exposure::rendered(setting.stops(white), 1.0);
        clipped += f64::from(u8::from(white > setting.saturating));
        count += 1.0;
    }
    if count < 4.0 {
        return None;
    }
    let exposure_stops = stops / count;
    let mean = faces.iter().map(|f| f.rendered_stops).sum::<f64>() / faces.len().max(1) as f64;
    Some(Background {
        exposure_stops,
        clipped_share: clipped / count,
        against_faces_stops: exposure_stops - mean,
    })
}
