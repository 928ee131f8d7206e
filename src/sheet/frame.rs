//! The whole frame as the camera sees it at its setting.
//!
//! Faces come from the light on their vertices, everything else (people's clothes and hair, kit,
//! walls, backdrops, ground, water, sky) from its own computed luminance along each look.

use super::likeness::colour;
use super::portrait::{Marks, Portrait, SAMPLES, Sitter, Sitting, Solid, View, draw};
use super::subject::Subject;
use crate::light::stage::{Finish, Kind};
use glam::DVec3;
use std::f64::consts::PI;

/// The frame, `width` by `height` pixels: lost highlights hatched everywhere, lost shadows on
/// skin. None where it cannot be drawn.
#[must_use]
pub fn frame(subject: &Subject, width: usize, height: usize) -> Option<Portrait> {
    let snapshot = subject.snapshot;
    let camera = &snapshot.camera;
    let view = View {
        position: camera.position,
        forward: camera.forward,
        right: camera.right,
        up: camera.up,
        half_field: camera.frame_mm / (2.0 * camera.focal_length_mm),
        width,
        height,
        samples: SAMPLES,
    };
    let stage = &snapshot.stage;
    let solids: Vec<Solid> = stage
        .surfaces
        .iter()
        .filter(|s| !matches!(s.kind, Kind::Glasses | Kind::Head))
        .filter(|s| !matches!(s.front, Finish::Gap { .. }))
        .map(|s| Solid {
            shape: &s.shape,
            colour: colour(s),
            lamps: &[],
        })
        .collect();
    let sitters: Vec<Sitter> = snapshot
        .people
        .iter()
        .zip(&stage.heads)
        .zip(&subject.readings.faces)
        .map(|((person, head), face)| {
            let skin = head.skin.to_array().map(|v| v as f32);
            let brows = person.hair.first();
            Sitter {
                shape: &head.shape,
                pose: head.pose,
                rendered: &face.rendered,
                skin,
                brows: brows.map_or(skin.map(|v| v * 0.35), |&i| colour(&stage.surfaces[i])),
                gaze: person.gaze,
                glints: &[],
            }
        })
        .collect();
    let glasses: Vec<_> = snapshot
        .people
        .iter()
        .flat_map(|p| p.glasses.iter().cloned())
        .collect();
    let beyond = |ray: DVec3| luminance(subject, ray);
    let sitting = Sitting {
        sitters: &sitters,
        solids: &solids,
        glasses: &glasses,
        beyond: Some(&beyond),
    };
    draw(&view, &sitting, &Marks::default()).ok()
}

/// What the camera records along a unit direction, linear RGB in units of saturation: a white
/// surface of the same luminance gets pi times as much light.
#[must_use]
pub fn luminance(subject: &Subject, ray: DVec3) -> [f32; 3] {
    let setting = &subject.setting;
    let (ambient, flash) = subject
        .engine
        .luminance_along(subject.snapshot.camera.position, ray);
    let (a, f) = (ambient.to_array(), flash.to_array());
    std::array::from_fn(|k| (setting.exposure(a[k], f[k]) * PI / setting.saturating) as f32)
}
