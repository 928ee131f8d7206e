//! The light that the dials share out: what reaches faces and lens, once, before any setting.
//!
//! Light is linear: a shutter scales the ambient part by its time, a power scales the flash part,
//! so every setting is arithmetic over these numbers and nothing is lit again.

use crate::light::colour::Rgb;
use crate::light::stage::Head;
use crate::light::table::{HeadLight, Solution};
use crate::light::transport::Engine;
use crate::reading::background::{self, Look};
use crate::reading::exposure::{self, Setting, rendered};
use crate::snapshot::{Person, Snapshot};

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
    /// What each flash brings of it, in the scene's order.
    by_flash: Vec<FlashOnFace>,
}

/// One flash on one face.
#[derive(Clone, Debug)]
pub struct FlashOnFace {
    /// Mean over the front, lux-seconds before any sync loss.
    pub lux_s: f64,
    /// Mean over the whole head: more than on the front for a light from behind.
    pub whole_lux_s: f64,
    rgb: Rgb,
    /// Per vertex of the front.
    vertices: Vec<f64>,
}

impl FaceLight {
    /// Incident exposure of the front against a setting, stops; `gain` scales the flash.
    #[must_use]
    pub fn incident(&self, setting: &Setting, gain: f64) -> f64 {
        setting.stops(setting.exposure(self.ambient_lux, self.flash_lux_s * gain))
    }

    /// Flash by flash.
    #[must_use]
    pub fn by_flash(&self) -> &[FlashOnFace] {
        &self.by_flash
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

impl FaceLight {
    fn of(
        person: &Person,
        head: &Head,
        light: &HeadLight,
        solution: &Solution,
        sources: &[Option<usize>],
    ) -> Self {
        let shape = &head.shape;
        let front: Vec<usize> = (0..shape.areas.len()).filter(|v| shape.front[*v]).collect();
        let all: f64 = shape.areas.iter().sum();
        let whole: f64 = front.iter().map(|v| shape.areas[*v]).sum();
        let share = |v: usize| shape.areas[v] / whole.max(1e-12);
        let is_flash = |source: usize| solution.sources[source].is_flash;
        let per_vertex =
            |keep: &dyn Fn(usize) -> bool| light.per_vertex(shape.areas.len(), |c| keep(c.source));
        let colour = |keep: &dyn Fn(usize) -> bool| {
            let mut sum = [0.0; 3];
            for channel in light.channels.iter().filter(|c| keep(c.source)) {
                for v in &front {
                    (0..3).for_each(|k| sum[k] += f64::from(channel.light[*v][k]) * share(*v));
                }
            }
            Rgb::new(sum[0], sum[1], sum[2])
        };
        let ambient = per_vertex(&|source| !is_flash(source));
        let by_flash = sources
            .iter()
            .map(|source| {
                let is_own = |other: usize| Some(other) == *source;
                let own = per_vertex(&is_own);
                let on_all = own.iter().zip(&shape.areas);
                FlashOnFace {
                    lux_s: 0.0,
                    whole_lux_s: on_all.map(|(v, a)| f64::from(*v) * a).sum::<f64>() / all,
                    rgb: colour(&is_own),
                    vertices: front.iter().map(|v| f64::from(own[*v])).collect(),
                }
            })
            .collect();
        let vertices: Vec<(f64, f64, f64)> = front
            .iter()
            .map(|v| (f64::from(ambient[*v]), 0.0, share(*v)))
            .collect();
        let mut face = Self {
            ambient_rgb: colour(&|source| !is_flash(source)),
            flash_rgb: Rgb::BLACK,
            name: person.name.clone(),
            reflectance: person.skin_reflectance,
            ambient_lux: vertices.iter().map(|(lux, _, area)| lux * area).sum(),
            flash_lux_s: 0.0,
            vertices,
            by_flash,
        };
        for flash in &mut face.by_flash {
            let parts = flash.vertices.iter().zip(&face.vertices);
            flash.lux_s = parts.map(|(v, (_, _, area))| v * area).sum();
        }
        face.sum_up();
        face
    }

    /// All flashes together from each alone.
    fn sum_up(&mut self) {
        self.flash_lux_s = self.by_flash.iter().map(|f| f.lux_s).sum();
        self.flash_rgb = (self.by_flash.iter()).fold(Rgb::BLACK, |sum, flash| sum + flash.rgb);
        for (index, vertex) in self.vertices.iter_mut().enumerate() {
            vertex.1 = self.by_flash.iter().map(|f| f.vertices[index]).sum();
        }
    }
}

/// Faces and background of a lit scene.
#[derive(Clone, Debug)]
pub struct SceneLight {
    pub faces: Vec<FaceLight>,
    pub background: Vec<Look>,
    /// Flash by flash what each look gets of it, cd s/m2.
    pub flash_looks: Vec<Vec<f64>>,
}

impl SceneLight {
    /// From a lit scene.
    #[must_use]
    pub fn of(snapshot: &Snapshot, engine: &Engine, solution: &Solution) -> Self {
        // Which source each flash of the scene is.
        let sources: Vec<Option<usize>> = snapshot
            .flashes
            .iter()
            .map(|flash| {
                solution
                    .sources
                    .iter()
                    .position(|s| s.is_flash && s.name == flash.name)
            })
            .collect();
        let faces = snapshot
            .people
            .iter()
            .zip(&snapshot.stage.heads)
            .zip(&solution.heads)
            .map(|((person, head), light)| FaceLight::of(person, head, light, solution, &sources))
            .collect();
        let background = background::looks(snapshot, engine);
        let flash_looks = sources
            .iter()
            .map(|source| {
                let own = |look: &Look| {
                    let parts = look.parts.iter().filter(|part| Some(part.0) == *source);
                    parts.map(|part| part.2).sum()
                };
                background.iter().map(own).collect()
            })
            .collect();
        Self {
            faces,
            background,
            flash_looks,
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

    /// The same light with every flash changed by a factor.
    #[must_use]
    pub fn with_flash(&self, factor: f64) -> Self {
        self.with_powers(&vec![factor; self.flash_looks.len()])
    }

    /// The same light with each flash changed by its own factor; a flash without one stays.
    #[must_use]
    pub fn with_powers(&self, factors: &[f64]) -> Self {
        let factor = |flash: usize| factors.get(flash).copied().unwrap_or(1.0);
        let mut light = self.clone();
        for face in &mut light.faces {
            for (flash, own) in face.by_flash.iter_mut().enumerate() {
                let factor = factor(flash);
                own.lux_s *= factor;
                own.whole_lux_s *= factor;
                own.rgb = own.rgb * factor;
                own.vertices.iter_mut().for_each(|v| *v *= factor);
            }
            face.sum_up();
        }
        for (flash, looks) in light.flash_looks.iter_mut().enumerate() {
            looks.iter_mut().for_each(|v| *v *= factor(flash));
        }
        for (index, look) in light.background.iter_mut().enumerate() {
            let before = look.flash;
            look.flash = light.flash_looks.iter().map(|looks| looks[index]).sum();
            look.flash_rgb = look.flash_rgb * (look.flash / before.max(1e-30));
        }
        light
    }

    /// The same light with everything but the flashes changed by a factor.
    #[must_use]
    pub fn with_ambient(&self, factor: f64) -> Self {
        self.with_ambient_each(&vec![factor; self.faces.len()], factor)
    }

    /// The same light with the ambient light of each face and of the background changed by their
    /// own factors; a face without one stays.
    #[must_use]
    pub fn with_ambient_each(&self, faces: &[f64], background: f64) -> Self {
        let mut light = self.clone();
        for (face, factor) in light.faces.iter_mut().zip(faces) {
            face.ambient_lux *= factor;
            face.ambient_rgb = face.ambient_rgb * *factor;
            face.vertices.iter_mut().for_each(|v| v.0 *= factor);
        }
        for look in &mut light.background {
            look.ambient *= background;
            look.ambient_rgb = look.ambient_rgb * background;
        }
        light
    }

    /// This light with so much of another's flashes added; none where the two do not see the same.
    #[must_use]
    pub fn plus_flash_of(&self, other: &Self, share: f64) -> Option<Self> {
        let alike = self.background.len() == other.background.len()
            && self.faces.len() == other.faces.len();
        let other = other.with_flash(share);
        let mut light = self.clone();
        for (face, more) in light.faces.iter_mut().zip(other.faces) {
            face.by_flash.extend(more.by_flash);
            face.sum_up();
        }
        for (look, more) in light.background.iter_mut().zip(other.background) {
            look.flash += more.flash;
            look.flash_rgb += more.flash_rgb;
        }
        light.flash_looks.extend(other.flash_looks);
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
