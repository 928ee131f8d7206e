//! Colour of the picture as a whole: the white balance to set, flash against ambient and the gel
//! that brings them together, faces against background.

use super::background::Look;
use super::exposure::Setting;
use super::types::FaceReading;
use crate::light::colour::{Gel, Rgb, mired};
use crate::light::table::Solution;
use crate::snapshot::Snapshot;

/// What the colours of a picture ask for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tint {
    /// White balance that makes the mean light on the faces neutral, kelvin.
    pub white_balance_k: Option<f64>,
    /// The white balance in use against it, mired; positive renders the faces too warm. None on
    /// automatic.
    pub set_warms_mired: Option<f64>,
    /// Colour temperature of the flash and of all other light, as they arrive on the faces.
    pub flash_k: Option<f64>,
    pub ambient_k: Option<f64>,
    /// The gel to add to the flash to meet the ambient light, and how much warmer (positive) the
    /// ambient light still is after it, mired.
    pub gel: Option<Gel>,
    pub remains_mired: Option<f64>,
    /// Light on the faces against the background as the lens sees it, mired; positive where the
    /// faces are warmer. None where the background has a colour of its own.
    pub faces_warmer_mired: Option<f64>,
    pub background_k: Option<f64>,
}

/// Less apart than this and nobody sees it, mired (common practice).
const ALIKE_MIRED: f64 = 15.0;
/// Further from the locus than this a background is coloured, not warm or cool.
const COLOURED_DUV: f64 = 0.02;

/// Reads the colours.
#[must_use]
pub fn read(
    snapshot: &Snapshot,
    solution: &Solution,
    setting: &Setting,
    faces: &[FaceReading],
    looks: &[Look],
) -> Tint {
    let mean_mired = mean(faces.iter().filter_map(|f| f.cct_k).map(mired));
    let white_balance_k = mean_mired.map(|m| 1e6 / m);
    let (ambient, flash) = on_faces(snapshot, solution);
    let kelvin = |rgb: Rgb| rgb.cct().map(|c| c.kelvin);
    let (ambient_k, flash_k) = (kelvin(ambient), kelvin(flash));
    let apart = ambient_k.zip(flash_k).map(|(a, f)| mired(a) - mired(f));
    let gel = apart
        .filter(|m| m.abs() >= ALIKE_MIRED)
        .and_then(Gel::nearest);
    let sum = looks.iter().fold(Rgb::BLACK, |sum, look| {
        sum + look.ambient_rgb * setting.time + look.flash_rgb * setting.flash
    });
    let background_k = sum
        .cct()
        .filter(|c| c.duv.abs() < COLOURED_DUV)
        .map(|c| c.kelvin);
    Tint {
        white_balance_k,
        // Set higher than the light's own, a camera renders it warmer.
        set_warms_mired: snapshot
            .camera
            .white_balance_k
            .zip(mean_mired)
            .map(|(set, light)| light - mired(set)),
        flash_k,
        ambient_k,
        gel: gel.map(|g| g.0),
        remains_mired: apart.map(|a| gel.map_or(a, |g| g.1)),
        faces_warmer_mired: mean_mired.zip(background_k).map(|(f, b)| f - mired(b)),
        background_k,
    }
}

/// Ambient and flash light on the fronts of all faces, linear RGB.
fn on_faces(snapshot: &Snapshot, solution: &Solution) -> (Rgb, Rgb) {
    let (mut ambient, mut flash) = (Rgb::BLACK, Rgb::BLACK);
    for (head, light) in snapshot.stage.heads.iter().zip(&solution.heads) {
        for channel in &light.channels {
            let mut sum = [0.0; 3];
            for (vertex, rgb) in channel.light.iter().enumerate() {
                if head.shape.front[vertex] {
                    (0..3).for_each(|k| sum[k] += f64::from(rgb[k]) * head.shape.areas[vertex]);
                }
            }
            let sum = Rgb::new(sum[0], sum[1], sum[2]);
            if solution.sources[channel.source].is_flash {
                flash += sum;
            } else {
                ambient += sum;
            }
        }
    }
    (ambient, flash)
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    (count > 0.0).then(|| sum / count)
}
