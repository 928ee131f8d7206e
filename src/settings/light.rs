//! The light that the dials share out: what reaches faces and lens, once, before any setting.
//!
//! Light is linear: a shutter scales the ambient part by its time, a power scales the flash part,
//! so every setting is arithmetic over these numbers and nothing is lit again.

use crate::light::colour::Rgb;
use crate::light::table::Solution;
use crate::light::transport::Engine;
use crate::reading::background::{self, Look};
use crate::reading::exposure::{self, Setting, rendered};
use crate::snapshot::Snapshot;

/// What one face gets.
#[derive(Clone, Debug)]
pub struct FaceLight {
    pub name: String,
    /// Photopic reflectance of the skin.
    pub reflectance: f64,
    /// Means over the front at the scene's power: lux, and lux-seconds before any sync loss.
    pub ambient_lux: f64,
    pub flash_lux_s: f64,
    /// The same as linear RGB.
    pub ambient_rgb: Rgb,
    pub flash_rgb: Rgb,
    /// The same per vertex of the front, with its share of the front's area.
    vertices: Vec<(f64, f64, f64)>,
}

impl FaceLight {
    /// Incident exposure of the front against a setting, stops; `gain` scales the flash.
    #[must_use]
    pub fn incident(&self, setting: &Setting, gain: f64) -> f64 {
        setting.stops(setting.exposure(self.ambient_lux, self.flash_lux_s * gain))
    }

    /// Share of the front beyond the sensor's saturation, 0 to 1.
    #[must_use]
    pub fn clipped(&self, setting: &Setting, gain: f64) -> f64 {
        self.vertices
            .iter()
            .filter(|(lux, lux_s, _)| {
                setting.exposure(*lux, lux_s * gain) * self.reflectance > setting.saturating
            })
            .fold(0.0, |sum, (_, _, area)| sum + area)
    }
}

/// Faces and background of a lit scene.
#[derive(Clone, Debug)]
pub struct SceneLight {
    pub faces: Vec<FaceLight>,
    pub background: Vec<Look>,
}

impl SceneLight {
    /// From a lit scene.
    #[must_use]
    pub fn of(snapshot: &Snapshot, engine: &Engine, solution: &Solution) -> Self {
        let faces = snapshot
            .people
            .iter()
            .zip(&snapshot.stage.heads)
            .zip(&solution.heads)
            .map(|((person, head), light)| {
                let shape = &head.shape;
                let count = shape.areas.len();
                let is_flash = |source: usize| solution.sources[source].is_flash;
                let ambient = light.per_vertex(count, |c| !is_flash(c.source));
                let flash = light.per_vertex(count, |c| is_flash(c.source));
                let front = |v: &usize| shape.front[*v];
                let whole: f64 = (0..count).filter(front).map(|v| shape.areas[v]).sum();
                let vertices: Vec<(f64, f64, f64)> = (0..count)
                    .filter(front)
                    .map(|v| {
                        let area = shape.areas[v] / whole.max(1e-12);
                        (f64::from(ambient[v]), f64::from(flash[v]), area)
                    })
                    .collect();
                let colour = |flash: bool| {
                    let mut sum = [0.0; 3];
                    for channel in light
                        .channels
                        .iter()
                        .filter(|c| is_flash(c.source) == flash)
                    {
                        for v in (0..count).filter(front) {
                            let share = shape.areas[v] / whole.max(1e-12);
                            (0..3).for_each(|k| sum[k] += f64::from(channel.light[v][k]) * share);
                        }
                    }
                    Rgb::new(sum[0], sum[1], sum[2])
                };
                FaceLight {
                    ambient_rgb: colour(false),
                    flash_rgb: colour(true),
                    name: person.name.clone(),
                    reflectance: person.skin_reflectance,
                    ambient_lux: vertices.iter().map(|(lux, _, area)| lux * area).sum(),
                    flash_lux_s: vertices.iter().map(|(_, lux_s, area)| lux_s * area).sum(),
                    vertices,
                }
            })
            .collect();
        Self {
            faces,
            background: background::looks(snapshot, engine),
        }
    }

    /// Mean incident and mean rendered exposure of the faces, stops; none without people.
    #[must_use]
    pub fn faces_at(&self, setting: &Setting, gain: f64) -> Option<(f64, f64)> {
        let count = self.faces.len() as f64;
        if self.faces.is_empty() {
            return None;
        }
        let (mut incident, mut skin) = (0.0, 0.0);
        for face in &self.faces {
            let stops = face.incident(setting, gain);
            incident += stops / count;
            skin += rendered(stops, face.reflectance) / count;
        }
        Some((incident, skin))
    }

    /// Rendered exposure of the darkest and of the lightest face, stops; none without people.
    #[must_use]
    pub fn ends_at(&self, setting: &Setting, gain: f64) -> Option<(f64, f64)> {
        let all = || {
            self.faces
                .iter()
                .map(|face| rendered(face.incident(setting, gain), face.reflectance))
        };
        all().reduce(f64::min).zip(all().reduce(f64::max))
    }

    /// Mean rendered exposure of the background against a mid-tone, stops, and its clipped share;
    /// none where nothing is behind.
    #[must_use]
    pub fn background_at(&self, setting: &Setting, gain: f64) -> Option<(f64, f64)> {
        background::level(&self.background, setting, gain)
    }

    /// Colour temperature of all light on the faces at a setting, kelvin.
    #[must_use]
    pub fn faces_k(&self, setting: &Setting, gain: f64) -> Option<f64> {
        let sum = self.faces.iter().fold(Rgb::BLACK, |sum, face| {
            sum + face.ambient_rgb * setting.time + face.flash_rgb * (setting.flash * gain)
        });
        sum.cct().map(|c| c.kelvin)
    }

    /// The same light with the flash changed by a factor.
    #[must_use]
    pub fn with_flash(&self, factor: f64) -> Self {
        let mut light = self.clone();
        for face in &mut light.faces {
            face.flash_lux_s *= factor;
            face.flash_rgb = face.flash_rgb * factor;
            for vertex in &mut face.vertices {
                vertex.1 *= factor;
            }
        }
        for look in &mut light.background {
            look.flash *= factor;
            look.flash_rgb = look.flash_rgb * factor;
        }
        light
    }

    /// This light with so much of another's flash added; none where the two do not see the same.
    #[must_use]
    pub fn plus_flash_of(&self, other: &Self, share: f64) -> Option<Self> {
        let alike = self.background.len() == other.background.len()
            && self.faces.len() == other.faces.len();
        let mut light = self.clone();
        for (face, more) in light.faces.iter_mut().zip(&other.faces) {
            face.flash_lux_s += share * more.flash_lux_s;
            face.flash_rgb += more.flash_rgb * share;
            for (vertex, more) in face.vertices.iter_mut().zip(&more.vertices) {
                vertex.1 += share * more.1;
            }
        }
        for (look, more) in light.background.iter_mut().zip(&other.background) {
            look.flash += share * more.flash;
            look.flash_rgb += more.flash_rgb * share;
        }
        alike.then_some(light)
    }

    /// Whether any flash reaches a face.
    #[must_use]
    pub fn has_flash(&self) -> bool {
        self.faces.iter().any(|face| face.flash_lux_s > 0.0)
    }

    /// Stops by which a camera's own setting leaves the background over the faces, as rendered.
    #[must_use]
    pub fn against_faces(&self, camera: &crate::snapshot::Camera, gain: f64) -> Option<f64> {
        let setting = exposure::Setting::new(camera);
        let (_, faces) = self.faces_at(&setting, gain)?;
        let (level, _) = self.background_at(&setting, gain)?;
        Some(level - faces)
    }
}
